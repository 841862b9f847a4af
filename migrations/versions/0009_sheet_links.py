"""Addresses that open a site's sheet."""

import sqlalchemy as sa
from alembic import op

from service.store import types

CODE = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "sheet_links",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("site", CODE, nullable=False),
        sa.Column("stations", types.Document()),
        sa.Column("secret_hash", sa.String(length=64), nullable=False),
        sa.Column("created_by", sa.String(length=64)),
        sa.Column("created_at", types.Moment(), nullable=False),
        sa.Column("expires_at", types.Moment(), nullable=False),
        sa.Column("revoked_at", types.Moment()),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sheet_links")),
        sa.UniqueConstraint("secret_hash", name=op.f("uq_sheet_links_secret_hash")),
    )
    op.create_index(op.f("ix_sheet_links_site"), "sheet_links", ["site"])


def downgrade() -> None:
    op.drop_table("sheet_links")
