"""In which order scopes last changed."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("revisions", sa.Column("sequence", sa.BigInteger(), nullable=False, server_default="0"))


def downgrade() -> None:
    op.drop_column("revisions", "sequence")
