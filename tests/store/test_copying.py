"""A whole database goes into another of the other kind, row for row, or nothing of it does."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from sqlalchemy import Connection, Engine, Table, insert, select
from sqlalchemy.orm import Session

from service.store import capacity, collections, copying, counts, forecasts, revisions, tokens
from service.store.copying import Differs, NotEmpty
from service.store.engine import make_engine, session_factory
from service.store.forecasts import ForecastRow
from service.store.tables import metadata, sites, stations
from service.store.tokens import TokenRow

NOON = datetime(2026, 12, 2, 12, 0, 0, 123456, tzinfo=UTC)
OTHER = {"sqlite": "postgresql_url", "postgresql": "sqlite_url"}


@contextmanager
def opened(url: str) -> Iterator[Engine]:
    engine = make_engine(url)
    yield engine
    engine.dispose()


@pytest.fixture
def target(request: pytest.FixtureRequest, engine: Engine) -> Iterator[Engine]:
    """An empty, migrated database of the other kind."""
    with opened(request.getfixturevalue(OTHER[engine.dialect.name])) as made:
        yield made


def fill(session: Session) -> None:
    """Rows whose keys sort otherwise in a language's order than by bytes, texts outside ASCII, and exact digits."""
    for code in ("a-b", "ab", "a-c"):
        session.execute(insert(sites).values(code=code, document={"name": "Küche №1 ‘a’", "buffer": Decimal("0.30")}))
        revisions.bump(session, f"site:{code}")
    session.execute(insert(stations), [{"code": f"s{number}", "document": {"position": number}} for number in range(2 * copying.CHUNK + 1)])
    row = ForecastRow(
        site="ab",
        date=date(2026, 12, 3),
        period="lunch",
        source="till",
        event="banquet",
        key_kind="menu_item",
        key="soup",
        count=5,
        serve_at="19:30",
        event_buffer=Decimal("0.0300"),
        as_of=NOON,
    )
    forecasts.save(session, [row])
    collections.save(session, "equipment", "a-c", {"name": "Kessel", "position": 1})
    capacity.save(session, "ab", date(2026, 12, 3), {"shifts": [], "equipment": None, "note": "Inventur №1"})
    forecasts.hear(session, "till", NOON)
    lot = {"item": {"ingredient": "onion"}, "quantity": {"amount": Decimal("2.50"), "unit": "kg"}}
    for _ in range(3):
        counts.add(session, "ab", NOON, NOON, {"lots": [lot]})
    for name in ("b", "Ä", "a\n'"):
        token = TokenRow(
            id=f"{name}0", name=name, role="viewer", token_hash=name, sites=("ab",), source=None, created_at=NOON, expires_at=NOON
        )
        tokens.add(session, token)


def everything(engine: Engine) -> dict[str, list[str]]:
    with session_factory(engine, read_only=True)() as session:
        return {table.name: sorted(repr(tuple(row)) for row in session.execute(select(table))) for table in metadata.sorted_tables}


def test_every_row_is_copied_exactly_and_nothing_is_changed_where_it_came_from(engine: Engine, target: Engine, session: Session) -> None:
    fill(session)
    session.commit()
    session.close()
    before, heard = everything(engine), list[tuple[str, int, int]]()
    copied = copying.copy(engine, target, lambda *progress: heard.append(progress))
    assert everything(target) == before == everything(engine)
    assert copied == {name: len(rows) for name, rows in before.items()}
    assert [step[1:] for step in heard if step[0] == "stations"] == [(0, 2001), (1000, 2001), (2000, 2001), (2001, 2001)]


def test_the_copy_goes_on_numbering_where_the_original_stopped(engine: Engine, target: Engine, session: Session) -> None:
    fill(session)
    session.commit()
    session.close()
    copying.copy(engine, target, lambda *_: None)
    with session_factory(target).begin() as writer:
        assert counts.add(writer, "ab", NOON, NOON, {"lots": []}) == 4


def test_a_target_that_holds_anything_is_refused_and_left_alone(engine: Engine, target: Engine, session: Session) -> None:
    fill(session)
    session.commit()
    session.close()
    with session_factory(target).begin() as writer:
        writer.execute(insert(stations).values(code="veg", document={}))
    before = everything(target)
    with pytest.raises(NotEmpty, match="in stations: copy into a new database"):
        copying.copy(engine, target, lambda *_: None)
    assert everything(target) == before


@pytest.mark.parametrize("spoil", ["UPDATE tokens SET name = 'C' WHERE id = 'b0'", "DELETE FROM tokens WHERE id = 'b0'"])
def test_a_copy_that_differs_in_one_row_is_not_kept(
    engine: Engine, target: Engine, session: Session, monkeypatch: pytest.MonkeyPatch, spoil: str
) -> None:
    fill(session)
    session.commit()
    session.close()
    whole = copying.fill

    def lossy(origin: Connection, goal: Connection, table: Table, report: copying.Tell) -> int:
        copied = whole(origin, goal, table, report)
        if table.name == "tokens":
            goal.exec_driver_sql(spoil)
        return copied

    monkeypatch.setattr(copying, "fill", lossy)
    with pytest.raises(Differs, match="of tokens differs"):
        copying.copy(engine, target, lambda *_: None)
    assert all(rows == [] for rows in everything(target).values())
