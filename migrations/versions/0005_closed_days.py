"""Reports as they came, one after the other, the work that they fixed, and what closed days left behind."""

import json
import re
from datetime import UTC, date, datetime, timedelta

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

CODE = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
WORK = sa.String(320).with_variant(sa.String(320, collation="C"), "postgresql")
MOMENT = re.compile(r'"(\d{4}-\d\d-\d\d)T')
WHOLE = ("pull.", "use.")
KEPT = timedelta(days=62)


def upgrade() -> None:
    reports = op.create_table(
        "reports",
        sa.Column("site", CODE, nullable=False),
        sa.Column("task", WORK, nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("work", WORK, nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("recorded_at", types.Moment(), nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=False, server_default="0"),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_reports_site_sites")),
        sa.PrimaryKeyConstraint("site", "task", "number", name=op.f("pk_reports")),
    )
    for column in ("date", "work", "revision"):
        op.create_index(op.f(f"ix_reports_site_{column}"), "reports", ["site", column])
    reported_work = op.create_table(
        "reported_work",
        sa.Column("site", CODE, nullable=False),
        sa.Column("work", WORK, nullable=False),
        sa.Column("kind", sa.String(length=8), nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_reported_work_site_sites")),
        sa.PrimaryKeyConstraint("site", "work", name=op.f("pk_reported_work")),
    )
    op.create_index(op.f("ix_reported_work_site_since"), "reported_work", ["site", "since"])
    op.create_table(
        "closed_days",
        sa.Column("site", CODE, nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("ended_at", types.Moment(), nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_closed_days_site_sites")),
        sa.PrimaryKeyConstraint("site", "date", name=op.f("pk_closed_days")),
    )
    for table in ("prints", "stock_counts"):
        op.add_column(table, sa.Column("revision", sa.BigInteger(), nullable=False, server_default="0"))
    op.create_index(op.f("ix_stock_counts_site_revision"), "stock_counts", ["site", "revision"])
    connection = op.get_bind()
    for row in connection.execute(sa.select(_table("progress"))).mappings().all():
        recorded = datetime.fromisoformat(row["document"]["at"]).astimezone(UTC)
        work = row["task"] if row["task"].startswith(WHOLE) else row["task"].rpartition(".")[0]
        values = {**row, "number": 1, "work": work, "recorded_at": recorded}
        connection.execute(sa.insert(reports).values(values))
    for row in connection.execute(sa.select(_table("fixed_work"))).mappings().all():
        # What was drawn and made counts from the first moment that the document names; that date's eve is early enough.
        moments = [date.fromisoformat(text) for text in MOMENT.findall(json.dumps(row["document"], default=str))]
        if row["kind"] != "use":
            since = min([row["date"], *moments]) - timedelta(days=1)
            values = {name: row[name] for name in ("site", "work", "kind", "document")}
            connection.execute(sa.insert(reported_work).values(**values, since=since))
    op.drop_table("progress")
    op.drop_table("fixed_work")


def downgrade() -> None:
    progress = op.create_table(
        "progress",
        sa.Column("site", CODE, nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("task", WORK, nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_progress_site_sites")),
        sa.PrimaryKeyConstraint("site", "date", "task", name=op.f("pk_progress")),
    )
    op.create_index(op.f("ix_progress_site_task"), "progress", ["site", "task"], unique=True)
    fixed_work = op.create_table(
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
    connection = op.get_bind()
    reports, reported_work = _table("reports"), _table("reported_work")
    last = {}
    for row in connection.execute(sa.select(reports).order_by(reports.c.number)).mappings():
        last[row["site"], row["task"]] = {name: row[name] for name in ("site", "date", "task", "document")}
    if last:
        connection.execute(sa.insert(progress), list(last.values()))
    for row in connection.execute(sa.select(reported_work)).mappings().all():
        document = {"ordinal": 1, **row["document"]}
        on = date.fromisoformat(document["on"])
        values = {"site": row["site"], "work": row["work"], "kind": row["kind"], "date": on, "until": on + KEPT, "document": document}
        connection.execute(sa.insert(fixed_work).values(**values))
    for table in ("closed_days", "reported_work", "reports"):
        op.drop_table(table)
    op.drop_index(op.f("ix_stock_counts_site_revision"), "stock_counts")
    for table in ("prints", "stock_counts"):
        op.drop_column(table, "revision")


def _table(name: str) -> sa.Table:
    """A table as this migration finds it, its documents read as such."""
    moments = {"reports": [sa.Column("recorded_at", types.Moment())]}.get(name, [])
    document = sa.Column("document", types.Document())
    return sa.Table(name, sa.MetaData(), document, *moments, autoload_with=op.get_bind())
