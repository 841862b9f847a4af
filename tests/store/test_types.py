from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from sqlalchemy import Column, Engine, Integer, MetaData, Table, insert, select
from sqlalchemy.exc import StatementError

from service.store import documents
from service.store.documents import NotComposed
from service.store.types import Document, Exact, Moment

things = Table(
    "things",
    MetaData(),
    Column("id", Integer, primary_key=True),
    Column("moment", Moment),
    Column("number", Exact),
    Column("document", Document),
)


@pytest.fixture
def engine(engine: Engine) -> Engine:
    things.create(engine)
    return engine


def test_a_moment_comes_back_in_utc_with_its_microseconds(engine: Engine) -> None:
    moment = datetime(2026, 12, 2, 7, 0, 0, 1, tzinfo=timezone(timedelta(hours=-5)))
    with engine.begin() as connection:
        connection.execute(insert(things).values(moment=moment))
        found = connection.execute(select(things.c.moment)).scalar_one()
    assert found == moment
    assert found.tzinfo is UTC


def test_moments_sort_by_time_whatever_their_offset(engine: Engine) -> None:
    early = datetime(2026, 12, 2, 9, tzinfo=timezone(timedelta(hours=5)))
    late = datetime(2026, 12, 2, 8, 0, 0, 1, tzinfo=UTC)
    with engine.begin() as connection:
        connection.execute(insert(things), [{"moment": late}, {"moment": early}])
        assert list(connection.execute(select(things.c.moment).order_by(things.c.moment)).scalars()) == [early, late]
        assert connection.execute(select(things.c.moment).where(things.c.moment > early)).scalar_one() == late


def test_a_moment_without_a_zone_is_refused(engine: Engine) -> None:
    with engine.begin() as connection, pytest.raises(StatementError, match="no time zone"):
        connection.execute(insert(things).values(moment=datetime(2026, 12, 2, 7)))  # noqa: DTZ001 - the naive moment is the point


@pytest.mark.parametrize(
    "number", [Decimal("0.1"), Decimal("12345678901234567890.123456789"), Decimal("0.030"), Decimal("1E-9"), Decimal(0)]
)
def test_an_exact_number_keeps_every_digit(engine: Engine, number: Decimal) -> None:
    with engine.begin() as connection:
        connection.execute(insert(things).values(number=number))
        found = connection.execute(select(things.c.number)).scalar_one()
    assert type(found) is Decimal
    assert found == number


def test_nothing_comes_back_as_nothing(engine: Engine) -> None:
    with engine.begin() as connection:
        connection.execute(insert(things).values(moment=None, number=None, document=None))
        assert connection.execute(select(things.c.moment, things.c.number, things.c.document)).one() == (None, None, None)


def test_a_document_with_a_noun_comes_back_completed_and_is_stored_as_it_was_given(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    grown = Table("things", MetaData(), Column("id", Integer, primary_key=True), Column("document", Document("things")))
    monkeypatch.setattr(documents, "_completions", {})
    documents.complete_by({"things": lambda stored: {"size": 1, **stored}})
    with engine.begin() as connection:
        connection.execute(insert(grown), [{"document": {"name": "a"}}, {"document": None}])
        assert list(connection.execute(select(grown.c.document).order_by(grown.c.id)).scalars()) == [{"size": 1, "name": "a"}, None]
        assert list(connection.execute(select(things.c.document).order_by(things.c.id)).scalars()) == [{"name": "a"}, None]


def test_nothing_is_read_half_before_anybody_said_how_it_is_completed(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    grown = Table("things", MetaData(), Column("id", Integer, primary_key=True), Column("document", Document("things")))
    monkeypatch.setattr(documents, "_completions", {})
    with engine.begin() as connection:
        connection.execute(insert(grown).values(document={"name": "a"}))
        with pytest.raises(NotComposed, match="documents of things"):
            connection.execute(select(grown.c.document)).all()
