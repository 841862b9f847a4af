"""History in few bytes: prints as what differs from one like them, each run and pull with all that was said of it, documents packed."""

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

from service.store import documents, packing, types

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

CODE = sa.String(64).with_variant(sa.String(64, collation="C"), "postgresql")
WORK = sa.String(320).with_variant(sa.String(320, collation="C"), "postgresql")
UNLIKE = 0.5
SAID = types.Packed(like=types.SAID)
DOCUMENTS = {"closed_days": ("site", "date"), "stock_counts": ("id",)}
"""Tables whose documents are packed as they are, with their keys."""
ANSWERS = ("token", "route_hash", "key_hash")
Named = tuple[str, sa.types.TypeEngine[Any]]

PRINTS = sa.table(
    "prints",
    sa.column("site"),
    sa.column("date", sa.Date()),
    sa.column("number"),
    sa.column("printed_at", types.Moment()),
    sa.column("document", sa.Text()),
    sa.column("works", types.Packed()),
    sa.column("pattern"),
    sa.column("content", sa.LargeBinary()),
)
PATTERNS = sa.table("print_patterns", sa.column("site"), sa.column("number"), sa.column("content", sa.LargeBinary()))
PRINTED = sa.table(
    "printed_work",
    sa.column("site"),
    sa.column("date", sa.Date()),
    sa.column("number"),
    sa.column("work"),
    sa.column("kind"),
    sa.column("printed_at", types.Moment()),
    sa.column("document", sa.Text()),
)
REPORTS = sa.table(
    "reports",
    sa.column("site"),
    sa.column("task"),
    sa.column("number"),
    sa.column("work"),
    sa.column("date", sa.Date()),
    sa.column("recorded_at", types.Moment()),
    sa.column("revision"),
    sa.column("document", types.Document()),
)
FIXED = sa.table(
    "reported_work",
    sa.column("site"),
    sa.column("work"),
    sa.column("kind"),
    sa.column("since", sa.Date()),
    sa.column("document", types.Document()),
)
WORK_REPORTS = sa.table(
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


def upgrade() -> None:
    connection = op.get_bind()
    op.create_table(
        "print_patterns",
        sa.Column("site", CODE, nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_print_patterns_site_sites")),
        sa.PrimaryKeyConstraint("site", "number", name=op.f("pk_print_patterns")),
    )
    for column in (sa.Column("works", types.Packed()), sa.Column("pattern", sa.Integer()), sa.Column("content", sa.LargeBinary())):
        op.add_column("prints", column)
    pack_prints(connection)
    with op.batch_alter_table("prints") as prints:
        prints.drop_column("document")
        for name in ("works", "pattern", "content"):
            prints.alter_column(name, nullable=False)
        prints.create_foreign_key(op.f("fk_prints_site_pattern_print_patterns"), "print_patterns", ["site", "pattern"], ["site", "number"])
    op.create_index(op.f("ix_prints_site_printed_at"), "prints", ["site", "printed_at"])
    op.create_table(
        "work_reports",
        sa.Column("site", CODE, nullable=False),
        sa.Column("work", WORK, nullable=False),
        sa.Column("until", sa.Date(), nullable=False),
        sa.Column("kind", sa.String(length=8)),
        sa.Column("since", sa.Date()),
        sa.Column("printed_for", sa.Date()),
        sa.Column("print_number", sa.Integer()),
        sa.Column("fixed", types.Packed()),
        sa.Column("said", types.Packed(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.code"], name=op.f("fk_work_reports_site_sites")),
        sa.PrimaryKeyConstraint("site", "work", name=op.f("pk_work_reports")),
        sqlite_with_rowid=False,
    )
    op.create_index(op.f("ix_work_reports_site_until"), "work_reports", ["site", "until"])
    gather_reports(connection)
    op.drop_table("reported_work")
    op.drop_table("reports")
    op.drop_table("printed_work")
    op.add_column("closed_days", sa.Column("final", sa.Boolean(), server_default=sa.false(), nullable=False))
    for name, keys in DOCUMENTS.items():
        turn(connection, name, keys, ("document", types.Document()), ("content", types.Packed()), nullable=False)
    behind_its_counts(connection)
    turn(connection, "idempotency_keys", ANSWERS, ("content", sa.Text()), ("answer", types.Packed()), nullable=True)


def downgrade() -> None:
    connection = op.get_bind()
    # Of a repetition whose answer is kept as a print, no text is known.
    connection.execute(sa.text("DELETE FROM idempotency_keys WHERE answer IS NULL AND headers LIKE '%/prints/%'"))
    turn(connection, "idempotency_keys", ANSWERS, ("answer", types.Packed()), ("content", sa.Text()), nullable=True)
    for name, keys in DOCUMENTS.items():
        turn(connection, name, keys, ("content", types.Packed()), ("document", types.Document()), nullable=False)
    behind_its_counts(connection)
    op.drop_column("closed_days", "final")
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
    op.add_column("prints", sa.Column("document", sa.Text()))
    unpack_prints(connection)
    op.create_table(
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
    scatter_reports(connection)
    op.drop_table("work_reports")
    op.drop_index(op.f("ix_prints_site_printed_at"), "prints")
    with op.batch_alter_table("prints") as prints:
        prints.drop_constraint(op.f("fk_prints_site_pattern_print_patterns"), type_="foreignkey")
        for name in ("works", "pattern", "content"):
            prints.drop_column(name)
        prints.alter_column("document", nullable=False)
    op.drop_table("print_patterns")


def pack_prints(connection: sa.Connection) -> None:
    """Pack each print, the older ones first, with the work that it shows."""
    place, number, like, size = None, 0, b"", 0
    keys = sa.select(*PRINTS.c["site", "date", "number"]).order_by(PRINTS.c.site, PRINTS.c.printed_at, PRINTS.c.date, PRINTS.c.number)
    for key in connection.execute(keys).all():
        if key.site != place:
            place, number, like, size = key.site, 0, b"", 0
        document = connection.execute(sa.select(PRINTS.c.document).where(of(PRINTS, key))).scalar_one()
        work = connection.execute(sa.select(*PRINTED.c["work", "kind", "document"]).where(of(PRINTED, key)).order_by(PRINTED.c.work)).all()
        text = "\n".join((document, *(each.document for each in work))).encode()
        content = packing.pack(text, like)
        if number == 0 or len(content) > UNLIKE * size:
            pattern = packing.pack(text)
            number, like, size = number + 1, text, len(pattern)
            connection.execute(sa.insert(PATTERNS).values(site=key.site, number=number, content=pattern))
            content = b""
        values = {"works": {each.work: each.kind for each in work}, "pattern": number, "content": content}
        connection.execute(sa.update(PRINTS).where(of(PRINTS, key)).values(**values))


def unpack_prints(connection: sa.Connection) -> None:
    """Write each print and the work that it shows as texts."""
    for key in connection.execute(sa.select(*PRINTS.c["site", "date", "number"])).all():
        row = connection.execute(sa.select(PRINTS).where(of(PRINTS, key))).one()
        which = (PATTERNS.c.site == key.site) & (PATTERNS.c.number == row.pattern)
        pattern = connection.execute(sa.select(PATTERNS.c.content).where(which)).scalar_one()
        like = packing.unpack(pattern)
        text = packing.unpack(row.content, like) if row.content else like
        document, *lines = text.decode().split("\n")
        connection.execute(sa.update(PRINTS).where(of(PRINTS, key)).values(document=document))
        shared = {**key._mapping, "printed_at": row.printed_at}  # noqa: SLF001 - a row's own name for its columns
        for (work, kind), line in zip(row.works.items(), lines, strict=True):
            connection.execute(sa.insert(PRINTED).values(**shared, work=work, kind=kind, document=line))


def gather_reports(connection: sa.Connection) -> None:
    """Keep the reports of each run, pull and use with it, and fixed work by the print that shows it, where one does."""
    works = sa.union(sa.select(*REPORTS.c["site", "work"]), sa.select(*FIXED.c["site", "work"])).order_by("site", "work")
    for site, work in connection.execute(works).all():
        wanted = sa.select(REPORTS).where(REPORTS.c.site == site, REPORTS.c.work == work).order_by(REPORTS.c.task, REPORTS.c.number)
        said = connection.execute(wanted).all()
        fixed = connection.execute(sa.select(FIXED).where(FIXED.c.site == site, FIXED.c.work == work)).one_or_none()
        values: dict[str, Any] = {"said": [told(row) for row in said], "until": max(row.date for row in said) if said else date.min}
        if fixed is not None:
            shown = print_of(connection, site, work, fixed.document)
            values |= {"kind": fixed.kind, "since": fixed.since, "until": max(values["until"], fixed.since)}
            values |= {"fixed": fixed.document} if shown is None else {"printed_for": shown.date, "print_number": shown.number}
        connection.execute(sa.insert(WORK_REPORTS).values(site=site, work=work, **values))


def scatter_reports(connection: sa.Connection) -> None:
    """Write each report and each fixed work as a row of its own; prints are unpacked already."""
    for row in connection.execute(sa.select(WORK_REPORTS)).all():
        for said in row.said:
            rest, number, on, recorded_at, revision = said.pop("row")
            values = {"site": row.site, "task": f"{row.work}{rest}", "number": number, "work": row.work, "revision": revision}
            values |= {"date": date.fromisoformat(on), "recorded_at": datetime.fromisoformat(recorded_at), "document": said}
            connection.execute(sa.insert(REPORTS).values(**values))
        if row.since is None:
            continue
        document = row.fixed
        if document is None:
            shown = (PRINTED.c.site == row.site) & (PRINTED.c.work == row.work)
            shown &= (PRINTED.c.date == row.printed_for) & (PRINTED.c.number == row.print_number)
            document = documents.decode(connection.execute(sa.select(PRINTED.c.document).where(shown)).scalar_one())["frozen"]
        values = {"site": row.site, "work": row.work, "kind": row.kind, "since": row.since, "document": document}
        connection.execute(sa.insert(FIXED).values(**values))


def told(row: sa.Row[Any]) -> dict[str, Any]:
    """A report as it is kept with its work."""
    rest = row.task.removeprefix(row.work)
    return {**row.document, "row": [rest, row.number, row.date.isoformat(), row.recorded_at.isoformat(), row.revision]}


def print_of(connection: sa.Connection, site: str, work: str, document: Any) -> sa.Row[Any] | None:
    """The newest print that shows work as it was fixed."""
    wanted = sa.select(*PRINTED.c["date", "number", "document"]).where(PRINTED.c.site == site, PRINTED.c.work == work)
    rows = connection.execute(wanted.order_by(PRINTED.c.printed_at.desc()))
    return next((row for row in rows if documents.decode(row.document)["frozen"] == document), None)


def of(table: sa.TableClause, key: sa.Row[Any]) -> sa.ColumnElement[bool]:
    """The rows of a print."""
    return (table.c.site == key.site) & (table.c.date == key.date) & (table.c.number == key.number)


def turn(connection: sa.Connection, name: str, keys: tuple[str, ...], old: Named, new: Named, *, nullable: bool) -> None:
    """Put what a column holds into one of another name and type, row by row."""
    (was, old_type), (now, new_type) = old, new
    op.add_column(name, sa.Column(now, new_type))
    typed = {key: sa.Date() if key == "date" else None for key in keys}
    table = sa.table(name, *(sa.column(key, kind) for key, kind in typed.items()), sa.column(was, old_type), sa.column(now, new_type))
    for key in connection.execute(sa.select(*table.c[keys])).all():
        which = sa.and_(*(table.c[part] == value for part, value in zip(keys, key, strict=True)))
        value = connection.execute(sa.select(table.c[was]).where(which)).scalar_one()
        connection.execute(sa.update(table).where(which).values({now: value}))
    with op.batch_alter_table(name) as changed:
        changed.drop_column(was)
        changed.alter_column(now, nullable=nullable)


def behind_its_counts(connection: sa.Connection) -> None:
    """SQLite makes a table anew to change it: let that of the lots come behind that of their counts again, as a dump is read back."""
    if connection.dialect.name == "sqlite":
        with op.batch_alter_table("stock_lots", recreate="always"):
            pass
