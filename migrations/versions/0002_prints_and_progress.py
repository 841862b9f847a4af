"""Prints, progress, and the work that they fix."""

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

CODE = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
WORK = sa.String(320).with_variant(sa.String(320, collation="C"), "postgresql")


def upgrade() -> None:
    op.create_table(
        "fixed_work",
        sa.Column("site", CODE, nullable=False),
        sa.Column("work", WORK, nullable=False),
        sa.Column("kind", sa.String(length=8), nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_fixed_work_site_sites")),
        sa.PrimaryKeyConstraint("site", "work", name=op.f("pk_fixed_work")),
    )
    op.create_index(op.f("ix_fixed_work_site_date"), "fixed_work", ["site", "date"])
    op.create_index(op.f("ix_fixed_work_site_until"), "fixed_work", ["site", "until"])
    op.create_table(
        "printed_work",
        sa.Column("site", CODE, nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("work", WORK, nullable=False),
        sa.Column("kind", sa.String(length=8), nullable=False),
        sa.Column("printed_at", types.Moment(), nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_printed_work_site_sites")),
        sa.PrimaryKeyConstraint("site", "date", "number", "work", name=op.f("pk_printed_work")),
    )
    op.create_index(op.f("ix_printed_work_site_work_printed_at"), "printed_work", ["site", "work", "printed_at"])
    op.create_table(
        "prints",
        sa.Column("site", CODE, nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("printed_at", types.Moment(), nullable=False),
        sa.Column("printed_by", sa.String(length=64)),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_prints_site_sites")),
        sa.PrimaryKeyConstraint("site", "date", "number", name=op.f("pk_prints")),
    )
    op.create_table(
        "progress",
        sa.Column("site", CODE, nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("task", WORK, nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_progress_site_sites")),
        sa.PrimaryKeyConstraint("site", "date", "task", name=op.f("pk_progress")),
    )
    op.create_index(op.f("ix_progress_site_task"), "progress", ["site", "task"], unique=True)


def downgrade() -> None:
    for table in ("progress", "prints", "printed_work", "fixed_work"):
        op.drop_table(table)
