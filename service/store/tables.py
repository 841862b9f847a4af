"""The tables, for both databases.

Responsible for what is stored under which key. Refuses to know who reads it. Every change here
comes with a migration; a test compares the two.
"""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Date,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    false,
)

from service.store.types import SAID, Code, Document, Exact, ItemKey, Moment, Packed, ShortText, WorkKey

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def site_code() -> Column[str]:
    """The first part of the key of whatever belongs to one site."""
    return Column("site", Code, ForeignKey("sites.code"), primary_key=True)


def revision_of_site() -> Column[int]:
    """The revision that a row gave its site: of two rows, which one was said first, whatever their clocks read."""
    return Column("revision", BigInteger, nullable=False, server_default="0")


# What every answer's ETag is made of: a number that grows with each change of the scope.
revisions = Table(
    "revisions",
    metadata,
    Column("scope", String(80), primary_key=True),
    Column("number", BigInteger, nullable=False),
    Column("sequence", BigInteger, nullable=False, server_default="0"),
)

stations = Table("stations", metadata, Column("code", Code, primary_key=True), Column("document", Document("stations"), nullable=False))
equipment = Table("equipment", metadata, Column("code", Code, primary_key=True), Column("document", Document("equipment"), nullable=False))
ingredients = Table(
    "ingredients", metadata, Column("code", Code, primary_key=True), Column("document", Document("ingredients"), nullable=False)
)
menu_items = Table(
    "menu_items", metadata, Column("code", Code, primary_key=True), Column("document", Document("menu_items"), nullable=False)
)
sites = Table("sites", metadata, Column("code", Code, primary_key=True), Column("document", Document("sites"), nullable=False))

recipes = Table("recipes", metadata, Column("code", Code, primary_key=True), Column("draft", Document("recipes")))

# Versions are insert-only; "in force" is a question of date.
recipe_versions = Table(
    "recipe_versions",
    metadata,
    Column("recipe", Code, ForeignKey("recipes.code"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("starts_on", Date, nullable=False),
    Column("sites", Document),
    Column("note", Text, nullable=False),
    Column("document", Document("recipes"), nullable=False),
    Column("warnings", Document, nullable=False),
    Column("published_at", Moment, nullable=False),
    Column("published_by", String(64)),
)

recipe_withdrawals = Table(
    "recipe_withdrawals",
    metadata,
    Column("recipe", Code, ForeignKey("recipes.code"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("starts_on", Date, nullable=False),
    Column("note", Text, nullable=False),
    Column("recorded_at", Moment, nullable=False),
)

tokens = Table(
    "tokens",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("name", ShortText, nullable=False),
    Column("role", String(16), nullable=False),
    Column("token_hash", String(64), nullable=False, unique=True),
    Column("sites", Document),
    Column("source", Code),
    Column("created_at", Moment, nullable=False),
    Column("expires_at", Moment, nullable=False),
    Column("revoked_at", Moment),
)

# A count of 0 stays: it keeps the moment at which the count was taken back.
forecasts = Table(
    "forecasts",
    metadata,
    site_code(),
    Column("date", Date, primary_key=True),
    Column("period", Code, primary_key=True),
    Column("source", Code, primary_key=True),
    Column("event", Code, primary_key=True),
    Column("key_kind", String(16), primary_key=True),
    Column("key", Code, primary_key=True),
    Column("count", Integer, nullable=False),
    Column("serve_at", String(5)),
    Column("event_buffer", Exact),
    Column("as_of", Moment, nullable=False),
    sqlite_with_rowid=False,
)

# The newest moment at which each source said anything; what tells a silent source from one with nothing new.
forecast_sources = Table(
    "forecast_sources",
    metadata,
    Column("source", Code, primary_key=True),
    Column("as_of", Moment, nullable=False),
)

overrides = Table(
    "overrides",
    metadata,
    site_code(),
    Column("date", Date, primary_key=True),
    Column("period", Code, primary_key=True),
    Column("menu_item", Code, ForeignKey("menu_items.code"), primary_key=True),
    # Empty for the count without event.
    Column("event", Code, primary_key=True),
    Column("document", Document("overrides"), nullable=False),
)

# What is different of a site's shifts and machines on one date.
capacity = Table(
    "capacity",
    metadata,
    site_code(),
    Column("date", Date, primary_key=True),
    Column("document", Document("capacity"), nullable=False),
)

stock_counts = Table(
    "stock_counts",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("site", Code, ForeignKey("sites.code"), nullable=False),
    Column("counted_at", Moment, nullable=False),
    Column("recorded_at", Moment, nullable=False),
    revision_of_site(),
    # A deleted count stays as a row without lots: its id is never another's.
    Column("deleted_at", Moment),
    Column("content", Packed("counts"), nullable=False),
)
Index(None, stock_counts.c.site, stock_counts.c.counted_at)
Index(None, stock_counts.c.site, stock_counts.c.revision)

# Which items a site ever counted, with the newest count of each and its moment, however long the history.
counted_items = Table(
    "counted_items",
    metadata,
    site_code(),
    Column("item", ItemKey, primary_key=True),
    Column("stock_count", Integer, nullable=False),
    Column("counted_at", Moment, nullable=False),
)

# Texts that prints of a site are like: each print is kept as what differs from one of them.
print_patterns = Table(
    "print_patterns",
    metadata,
    site_code(),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("content", LargeBinary, nullable=False),
)

# Prints never change: what the kitchen held is what is kept. With each list goes the work that it showed, as planning needs it.
prints = Table(
    "prints",
    metadata,
    site_code(),
    Column("date", Date, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("printed_at", Moment, nullable=False),
    Column("printed_by", String(64)),
    revision_of_site(),
    # The runs, pulls and uses, kinds by id, in the order of the content's lines.
    Column("works", Packed, nullable=False),
    Column("pattern", Integer, nullable=False),
    # The list's document and, each on a line of its own, those of the works, packed like the pattern.
    Column("content", LargeBinary, nullable=False),
    ForeignKeyConstraint(["site", "pattern"], ["print_patterns.site", "print_patterns.number"]),
)
Index(None, prints.c.site, prints.c.printed_at)

sheet_links = Table(
    "sheet_links",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("site", Code, nullable=False, index=True),
    Column("stations", Document),
    Column("secret_hash", String(64), nullable=False, unique=True),
    Column("created_by", String(64)),
    Column("created_at", Moment, nullable=False),
    Column("expires_at", Moment, nullable=False),
    Column("revoked_at", Moment),
)

# Each run, pull and use of which kitchens reported anything, with all reports of it. ``until`` is the last date that any of
# them is about: nothing of it counts later. A run or pull that a report fixed counts from the date ``since`` on, and stands as
# on a print, or, where no print has it so, as it is ``fixed`` here.
work_reports = Table(
    "work_reports",
    metadata,
    site_code(),
    Column("work", WorkKey, primary_key=True),
    Column("until", Date, nullable=False),
    Column("kind", String(8)),
    Column("since", Date),
    Column("printed_for", Date),
    Column("print_number", Integer),
    Column("fixed", Packed),
    Column("said", Packed("reports", many=True, like=SAID), nullable=False),
    sqlite_with_rowid=False,
)
Index(None, work_reports.c.site, work_reports.c.until)

# The same of dates that are closed, by the date of the need: one row takes a tenth of what its works would. Where work has a row
# of its own too, that is newer and tells all. ``until`` is the last of theirs; they stand on no print of before ``printed_since``.
gathered_reports = Table(
    "gathered_reports",
    metadata,
    site_code(),
    Column("date", Date, primary_key=True),
    Column("until", Date, nullable=False),
    Column("printed_since", Date),
    # By the id of the work all but its reports, of which it says how many there are.
    Column("works", Packed, nullable=False),
    Column("said", Packed("reports", many=True, like=SAID), nullable=False),
)
Index(None, gathered_reports.c.site, gathered_reports.c.until)

# What business dates that are over left behind, up to the moment at which each ended; made again wherever one is missing.
closed_days = Table(
    "closed_days",
    metadata,
    site_code(),
    Column("date", Date, primary_key=True),
    Column("ended_at", Moment, nullable=False),
    # Whether what was said of earlier dates was removed, so that this one can never be closed anew.
    Column("final", Boolean, nullable=False, server_default=false()),
    Column("content", Packed, nullable=False),
)

# How many requests a token, or failed authentications an address, made in a clock minute; old minutes are removed.
request_windows = Table(
    "request_windows",
    metadata,
    Column("subject", String(80), primary_key=True),
    Column("minute", BigInteger, primary_key=True, autoincrement=False),
    Column("number", BigInteger, nullable=False),
)

# What was answered under an Idempotency-Key, of which only the hash is kept; no content where the answer held a secret, and where
# it was a thing that is kept itself, at the Location among the headers.
idempotency_keys = Table(
    "idempotency_keys",
    metadata,
    Column("token", String(32), primary_key=True),
    Column("route_hash", String(64), primary_key=True),
    Column("key_hash", String(64), primary_key=True),
    Column("request_hash", String(64), nullable=False),
    Column("answered_at", Moment, nullable=False),
    Column("status", Integer, nullable=False),
    Column("headers", Document, nullable=False),
    Column("answer", Packed),
)
Index(None, idempotency_keys.c.answered_at)
