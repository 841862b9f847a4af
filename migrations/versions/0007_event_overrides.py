"""Overrides of an event, beside those of the count without event.

What was stored is of the count without event. Before, its ``count`` replaced the counts of events, too: from now on they count
beside it, as they were pushed.
"""

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

CODE = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
KEY = ("site", "date", "period", "menu_item")


def upgrade() -> None:
    rows = taken_out(*KEY, "document")
    table = made(*KEY, "event")
    if rows:
        op.bulk_insert(table, [{**row, "event": ""} for row in rows])


def downgrade() -> None:
    rows = taken_out(*KEY, "event", "document")
    table = made(*KEY)
    if kept := [row for row in rows if row.pop("event") == ""]:
        op.bulk_insert(table, kept)


def taken_out(*columns: str) -> list[dict[str, object]]:
    """The rows of the table, which is dropped: SQLite changes no key of a table that stands."""
    table = sa.table("overrides", *(sa.column(name, KINDS.get(name, CODE)) for name in columns))
    rows = [dict(row) for row in op.get_bind().execute(sa.select(table)).mappings()]
    op.drop_table("overrides")
    return rows


def made(*key: str) -> sa.Table:
    """The table anew, with some columns as its key."""
    return op.create_table(
        "overrides",
        *(sa.Column(name, KINDS.get(name, CODE), nullable=False) for name in (*key, "document")),
        sa.ForeignKeyConstraint(["menu_item"], ["menu_items.code"], name=op.f("fk_overrides_menu_item_menu_items")),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_overrides_site_sites")),
        sa.PrimaryKeyConstraint(*key, name=op.f("pk_overrides")),
    )


KINDS: dict[str, sa.types.TypeEngine[object]] = {"date": sa.Date(), "document": types.Document()}
