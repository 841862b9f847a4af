"""When a count was deleted."""

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("stock_counts", sa.Column("deleted_at", types.Moment()))


def downgrade() -> None:
    op.drop_column("stock_counts", "deleted_at")
