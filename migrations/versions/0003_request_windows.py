"""Requests a minute over all workers, and the newest moment of each source."""

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

CODE = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")


def upgrade() -> None:
    op.create_table(
        "request_windows",
        sa.Column("subject", sa.String(length=80), nullable=False),
        sa.Column("minute", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("number", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("subject", "minute", name=op.f("pk_request_windows")),
    )
    op.create_table(
        "forecast_sources",
        sa.Column("source", CODE, nullable=False),
        sa.Column("as_of", types.Moment(), nullable=False),
        sa.PrimaryKeyConstraint("source", name=op.f("pk_forecast_sources")),
    )
    op.execute("INSERT INTO forecast_sources (source, as_of) SELECT source, max(as_of) FROM forecasts GROUP BY source")


def downgrade() -> None:
    for table in ("forecast_sources", "request_windows"):
        op.drop_table(table)
