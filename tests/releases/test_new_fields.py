"""Tomorrow's service on yesterday's database: an optional field joins a document, and nothing that was stored is broken by it.

The field joins every schema that a stored document is made of, one after the other, in the middle of those that it has.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any

import pytest
from marshmallow import Schema
from sqlalchemy import Engine, select

from service.api.exchange.interior import Interior
from service.api.fields import Field, Flag, Many, Object
from service.api.fields.objects import reader_of
from service.api.schemas import capacity, counts, ingredients, prints, recipes, sites
from service.api.schemas.stored import STORED, completions
from service.app import create_app
from service.kitchen.book import changes, ingredient, recipe
from service.operations import loading
from service.store import counts as stored_counts
from service.store import reports
from service.store.documents import complete_by
from service.store.engine import session_factory
from service.store.tables import stock_counts
from tests.api.caller import Caller
from tests.releases.conftest import Release
from tests.releases.keep import LISTS, PRINT, THINGS
from tests.releases.test_releases import all_unchanged, answer_of, imported

NAME = "joined"
CHANGES = "/v1/recipes/chowder/versions/2/changes"
PUT = ("stations", "ingredients", "menu_items", "sites", "recipes", "overrides")


def within(schema: type[Schema]) -> Iterator[type[Schema]]:
    """A schema and those of the documents in its documents."""
    yield schema
    for field in schema().fields.values():
        entry = field.inner if isinstance(field, Many) else field
        if isinstance(entry, Object):
            yield from within(type(entry.schema))
        elif isinstance(entry, Field) and entry.document is not None:
            yield from within(entry.document)


# What no release that is kept could store yet; once one is that could, its line goes.
LATER = {capacity.Machines, capacity.Shift, recipes.StepTime}
GROWING = list(dict.fromkeys(schema for noun in PUT for schema in within(STORED[noun]) if schema not in LATER))


def grow(schema: type[Schema], patch: pytest.MonkeyPatch) -> None:
    """Let an optional field join a schema and those made of it, as the next release's code would."""
    first, *others = schema._declared_fields.items()
    patch.setattr(schema, "_declared_fields", dict([first, (NAME, Flag(load_default=False)), *others]))
    for each in schema.__subclasses__():
        grow(each, patch)


@pytest.fixture
def patch(monkeypatch: pytest.MonkeyPatch) -> Iterator[pytest.MonkeyPatch]:
    """What is patched counts for processes that start from then on, and not after the test."""
    yield monkeypatch
    monkeypatch.undo()
    reader_of.cache_clear()
    complete_by(completions())


@contextmanager
def serving(url: str, release: Release) -> Iterator[Caller]:
    """A director of the service as it starts now, by a token of that time."""
    reader_of.cache_clear()
    app = create_app(release.config(url))
    yield Caller(app.test_client(), release.kept["secrets"]["director"])
    Interior.of(app).engine.dispose()


@pytest.fixture
def database_url(sqlite_database: str) -> str:
    """The kind of database makes no difference to schemas."""
    return sqlite_database


def places(document: Any) -> int:
    """How often the field stands in a document."""
    if isinstance(document, dict):
        return (NAME in document) + sum(map(places, document.values()))
    return sum(map(places, document)) if isinstance(document, list) else 0


@pytest.mark.parametrize("schema", GROWING, ids=lambda schema: schema.__name__)
def test_a_field_that_joins_a_schema_leaves_what_is_stored_as_it_was(
    director: Caller, release: Release, database_url: str, patch: pytest.MonkeyPatch, schema: type[Schema]
) -> None:
    lists = {path: answer_of(director, path) for path in LISTS}
    tags = {path: director.get(path).headers["ETag"] for path in THINGS}
    grow(schema, patch)
    if schema is recipes.Batch:
        # The next release's code makes this default of the schema as it is then.
        patch.setattr(recipes, "ONE_BATCH", recipes.Batch().load({}))
    with serving(database_url, release) as tomorrow:
        assert {path: answer_of(tomorrow, path) for path in LISTS} == lists
        assert imported(tomorrow, release.kept["catalogue"]) == all_unchanged(release.kept["catalogue"])
        grown = 0
        for path in THINGS:
            got = tomorrow.get(path)
            found = places(got.get_json())
            grown += found
            # What is shown as before is tagged as before, what shows the field is tagged anew, and so from then on.
            assert (got.headers["ETag"] == tags[path]) == (found == 0)
            put = tomorrow.send("PUT", path, raw=got.get_data(), headers={"If-Match": got.headers["ETag"]})
            assert (put.status_code, put.headers["ETag"], put.get_data()) == (200, got.headers["ETag"], got.get_data())
        assert grown > 0
        [changed] = answer_of(tomorrow, CHANGES)["fields"]
        assert changed == {"field": "keeps", "old": None, "new": "P1D"}


def test_the_kitchen_finds_the_field_wherever_it_reads_it(
    director: Caller, release: Release, database_url: str, patch: pytest.MonkeyPatch
) -> None:
    lists = {path: answer_of(director, path) for path in LISTS}
    for schema in (ingredients.Form, recipes.Step, recipes.DraftBody, sites.SiteBody):
        grow(schema, patch)
    read: list[Any] = []
    for module, name in ((ingredient, "read_form"), (recipe, "read_step")):
        patch.setattr(module, name, reading_the_field(getattr(module, name), read))
    patch.setitem(loading.READERS, "sites", reading_the_field(loading.READERS["sites"], read))
    patch.setattr(changes, "FIELDS", (*changes.FIELDS, NAME))
    with serving(database_url, release) as tomorrow:
        assert {path: answer_of(tomorrow, path) for path in LISTS} == lists
        assert [each["field"] for each in answer_of(tomorrow, CHANGES)["fields"]] == ["keeps"]
    assert len(read) > 10
    assert set(read) == {False}


def reading_the_field(reader: Callable[..., Any], read: list[Any]) -> Callable[..., Any]:
    """A reader of the next release's kitchen."""

    def reads(*arguments: Any) -> Any:
        [document] = [each for each in arguments if isinstance(each, dict)]
        read.append(document[NAME])
        return reader(*arguments)

    return reads


def test_counts_and_reports_have_the_field_too(
    director: Caller, release: Release, engine: Engine, database_url: str, patch: pytest.MonkeyPatch
) -> None:
    lists = {path: answer_of(director, path) for path in LISTS}
    for schema in (counts.CountBody, counts.Lot, prints.ReportBody):
        grow(schema, patch)
    with serving(database_url, release) as tomorrow, session_factory(engine, read_only=True)() as session:
        assert {path: answer_of(tomorrow, path) for path in LISTS} == lists
        assert answer_of(tomorrow, PRINT.removesuffix("/prints/1"))
        lots = stored_counts.newest_lots(session, "hill")
        [counted] = session.execute(select(stock_counts.c.content).where(stock_counts.c.site == "hill")).scalars()
        said = reports.since(session, "quay", date.min, [])
        rows: list[Any] = [*lots, *said]
        assert [each.document[NAME] for each in rows] == [False] * (2 + 2)
        assert [each[NAME] for each in (counted, *counted["lots"])] == [False] * (1 + 2)
