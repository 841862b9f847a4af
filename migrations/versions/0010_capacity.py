"""Equipment, and what is different at a site on one date."""

import sqlalchemy as sa
from alembic import op

from service.store import types

CODE = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "equipment",
        sa.Column("code", CODE, nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_equipment")),
    )
    op.create_table(
        "capacity",
        sa.Column("site", CODE, nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_capacity_site_sites")),
        sa.PrimaryKeyConstraint("site", "date", name=op.f("pk_capacity")),
    )


def downgrade() -> None:
    op.drop_table("capacity")
    op.drop_table("equipment")
