"""Reports of dates that are over in one row a date, no second copy of the lots of counts, and prints that say dates by signs."""

from datetime import date
from itertools import islice
from typing import Any

import sqlalchemy as sa
from alembic import op

from service.store import packing, types
from service.store.counts import item_key

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

CODE = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
ITEM = sa.String(140).with_variant(sa.String(140, collation="C"), "postgresql")
SAID = types.Packed(like=types.SAID)

GATHERED = sa.table("gathered_reports", sa.column("site"), sa.column("works", types.Packed()), sa.column("said", SAID))
REPORTS = sa.table(
    "work_reports",
    sa.column("site"),
    sa.column("work"),
    sa.column("until", sa.Date()),
    sa.column("kind"),
    sa.column("since", sa.Date()),
    sa.column("printed_for", sa.Date()),
    sa.column("print_number"),
    sa.column("fixed", types.Packed()),
    sa.column("said", SAID),
)
COUNTS = sa.table(
    "stock_counts",
    sa.column("id"),
    sa.column("site"),
    sa.column("counted_at", types.Moment()),
    sa.column("deleted_at", types.Moment()),
    sa.column("content", types.Packed()),
)
LOTS = sa.table(
    "stock_lots",
    sa.column("stock_count"),
    sa.column("position"),
    sa.column("site"),
    sa.column("item"),
    sa.column("counted_at", types.Moment()),
    sa.column("document", types.Document()),
)
PRINTS = sa.table(
    "prints",
    sa.column("site"),
    sa.column("date", sa.Date()),
    sa.column("number"),
    sa.column("pattern"),
    sa.column("content", sa.LargeBinary()),
)
PATTERNS = sa.table("print_patterns", sa.column("site"), sa.column("number"), sa.column("content", sa.LargeBinary()))

# Of each item that a site ever counted the newest count; of two at one moment the later recorded.
NEWEST = """
INSERT INTO counted_items
SELECT lots.site, lots.item, max(lots.stock_count), lots.counted_at
FROM stock_lots AS lots
JOIN (SELECT site, item, max(counted_at) AS counted_at FROM stock_lots GROUP BY site, item) AS newest
ON newest.site = lots.site AND newest.item = lots.item AND newest.counted_at = lots.counted_at
GROUP BY lots.site, lots.item, lots.counted_at
"""


def upgrade() -> None:
    op.create_table(
        "gathered_reports",
        sa.Column("site", CODE, nullable=False),
        sa.Column("date", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=False),
        sa.Column("printed_since", sa.Date()),
        sa.Column("works", types.Packed(), nullable=False),
        sa.Column("said", types.Packed(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_gathered_reports_site_sites")),
        sa.PrimaryKeyConstraint("site", "date", name=op.f("pk_gathered_reports")),
    )
    op.create_index(op.f("ix_gathered_reports_site_until"), "gathered_reports", ["site", "until"])
    # Reports that are there already are gathered by the service, a thousand works of a site with each day that it closes.
    op.drop_table("counted_items")
    op.create_table(
        "counted_items",
        sa.Column("site", CODE, nullable=False),
        sa.Column("item", ITEM, nullable=False),
        sa.Column("stock_count", sa.Integer(), nullable=False),
        sa.Column("counted_at", types.Moment(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_counted_items_site_sites")),
        sa.PrimaryKeyConstraint("site", "item", name=op.f("pk_counted_items")),
    )
    op.execute(NEWEST)
    op.drop_table("stock_lots")


def downgrade() -> None:
    connection = op.get_bind()
    op.create_table(
        "stock_lots",
        sa.Column("stock_count", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("site", CODE, nullable=False),
        sa.Column("item", ITEM, nullable=False),
        sa.Column("counted_at", types.Moment(), nullable=False),
        sa.Column("document", types.Document(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_stock_lots_site_sites")),
        sa.ForeignKeyConstraint(["stock_count"], ["stock_counts.id"], name=op.f("fk_stock_lots_stock_count_stock_counts")),
        sa.PrimaryKeyConstraint("stock_count", "position", name=op.f("pk_stock_lots")),
    )
    op.create_index(op.f("ix_stock_lots_site_item_counted_at_stock_count"), "stock_lots", ["site", "item", "counted_at", "stock_count"])
    write_lots(connection)
    for name in ("stock_count", "counted_at"):
        op.drop_column("counted_items", name)
    scatter_reports(connection)
    op.drop_table("gathered_reports")
    restore_dates(connection)


def write_lots(connection: sa.Connection) -> None:
    """Write each lot of each count that was not deleted as a row of its own."""
    for number in connection.execute(sa.select(COUNTS.c.id).where(COUNTS.c.deleted_at.is_(None))).scalars().all():
        count = connection.execute(sa.select(COUNTS).where(COUNTS.c.id == number)).one()
        shared = {"stock_count": count.id, "site": count.site, "counted_at": count.counted_at}
        for position, lot in enumerate(count.content["lots"]):
            connection.execute(sa.insert(LOTS).values(**shared, position=position, item=item_key(lot["item"]), document=lot))


def scatter_reports(connection: sa.Connection) -> None:
    """Write each run, pull and use with its reports as a row of its own, where it has none that is newer."""
    for row in connection.execute(sa.select(GATHERED)).all():
        own = set(connection.execute(sa.select(REPORTS.c.work).where(REPORTS.c.site == row.site)).scalars())
        said = iter(row.said)
        for work, (until, kind, since, printed, fixed, number) in row.works.items():
            values: dict[str, Any] = {"until": date.fromisoformat(until), "kind": kind, "since": since and date.fromisoformat(since)}
            values |= {"said": list(islice(said, number)), "fixed": fixed}
            if printed is not None:
                values |= {"printed_for": date.fromisoformat(printed[0]), "print_number": printed[1]}
            if work not in own:
                connection.execute(sa.insert(REPORTS).values(site=row.site, work=work, **values))


def restore_dates(connection: sa.Connection) -> None:
    """Pack each print as it reads, also one that is its pattern; that may stay as it is."""
    for site, number in connection.execute(sa.select(*PATTERNS.c["site", "number"])).all():
        which = (PATTERNS.c.site == site) & (PATTERNS.c.number == number)
        like = packing.unpack(connection.execute(sa.select(PATTERNS.c.content).where(which)).scalar_one())
        prints = (PRINTS.c.site == site) & (PRINTS.c.pattern == number)
        for key in connection.execute(sa.select(*PRINTS.c["date", "number"]).where(prints)).all():
            this = prints & (PRINTS.c.date == key.date) & (PRINTS.c.number == key.number)
            content = connection.execute(sa.select(PRINTS.c.content).where(this)).scalar_one()
            text = packing.unpack(content, like) if content else like
            restored = packing.restore(text, key.date)
            if restored != text:
                connection.execute(sa.update(PRINTS).where(this).values(content=packing.pack(restored, like)))
