"""Forecasts: the latest count of each key that a source pushed.

Responsible for finding and replacing rows. Refuses to know which of two counts wins and what a
till code stands for.
"""

from collections.abc import Collection, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any, NamedTuple

from sqlalchemy import Select, case, func, select, tuple_
from sqlalchemy.orm import Session

from service.store.portions import remove
from service.store.tables import forecast_sources, forecasts
from service.store.upserts import insert_into, pour

TILL_CODE = "till_code"
MENU_ITEM = "menu_item"


class ForecastKey(NamedTuple):
    """What a count is for; ``event`` is empty where there is none, ``key`` a till code of the source or a menu item."""

    site: str
    date: date
    period: str
    source: str
    event: str
    key_kind: str
    key: str


KEY_COLUMNS = len(ForecastKey._fields)


class ForecastRow(NamedTuple):
    """One count: its key, the number, the event's own time (HH:MM) and buffer, and the moment at which it was true.

    Its fields are the columns in their order: a push makes ten thousand of them.
    """

    site: str
    date: date
    period: str
    source: str
    event: str
    key_kind: str
    key: str
    count: int  # type: ignore[assignment] # Nobody counts values in a row.
    serve_at: str | None
    event_buffer: Decimal | None
    as_of: datetime

    @property
    def identity(self) -> ForecastKey:
        """The key alone."""
        return ForecastKey._make(self[:KEY_COLUMNS])


def of_source(session: Session, site: str, source: str, dates: Collection[date]) -> list[ForecastRow]:
    """Every count of one source for one site on some dates, in one read."""
    wanted = select(forecasts).where(forecasts.c.site == site, forecasts.c.source == source, forecasts.c.date.in_(sorted(dates)))
    return rows(session, wanted)


def of_site(session: Session, site: str, first: date, last: date | None = None) -> list[ForecastRow]:
    """Every count of one site from one date to another (without ``last``: to the end), ordered by key."""
    wanted = select(forecasts).where(forecasts.c.site == site, forecasts.c.date >= first).order_by(*forecasts.primary_key)
    return rows(session, wanted if last is None else wanted.where(forecasts.c.date <= last))


def event_times(session: Session, site: str, first: date, last: date) -> list[tuple[date, str]]:
    """The dates and own times (HH:MM) of a site's events from one date to another, each once."""
    columns = (forecasts.c.date, forecasts.c.serve_at)
    wanted = select(*columns).where(forecasts.c.site == site, forecasts.c.date.between(first, last), forecasts.c.serve_at.is_not(None))
    return [(on, serve_at) for on, serve_at in session.execute(wanted.distinct().order_by(*columns))]


def events_of(session: Session, site: str, on: date) -> list[str]:
    """The codes of the events of which guests were pushed to a site for a date, each once."""
    wanted = select(forecasts.c.event).where(
        forecasts.c.site == site, forecasts.c.date == on, forecasts.c.event != "", forecasts.c.count > 0
    )
    return list(session.scalars(wanted.distinct().order_by(forecasts.c.event)))


def page(
    session: Session,
    *,
    sites: Collection[str] | None,
    source: str | None,
    first: date,
    last: date,
    after: ForecastKey | None,
    limit: int,
) -> list[ForecastRow]:
    """Up to ``limit`` counts behind a key, ordered by key, of some sites (None: all) and one source (None: all)."""
    wanted = select(forecasts).where(forecasts.c.date.between(first, last)).order_by(*forecasts.primary_key).limit(limit)
    if sites is not None:
        wanted = wanted.where(forecasts.c.site.in_(sorted(sites)))
    if source is not None:
        wanted = wanted.where(forecasts.c.source == source)
    if after is not None:
        wanted = wanted.where(tuple_(*forecasts.primary_key) > tuple_(*after))
    return rows(session, wanted)


def save(session: Session, changed: Sequence[ForecastRow]) -> None:
    """Create or replace counts, many in one statement."""
    pour(session, forecasts, changed)


def forget(session: Session, site: str, before: date, limit: int) -> int:
    """Remove up to ``limit`` counts of dates before one; returns how many."""
    return remove(session, forecasts, (forecasts.c.site == site) & (forecasts.c.date < before), limit)


def hear(session: Session, source: str, as_of: datetime) -> None:
    """Note the moment of what a source pushed; the newest one stays."""
    statement = insert_into(session, forecast_sources).values(source=source, as_of=as_of)
    known, said = forecast_sources.c.as_of, statement.excluded.as_of
    session.execute(statement.on_conflict_do_update(index_elements=["source"], set_={"as_of": case((said > known, said), else_=known)}))


def heard(session: Session) -> dict[str, datetime]:
    """The newest moment of each source that ever pushed a count, by source."""
    return dict(session.execute(select(forecast_sources).order_by(forecast_sources.c.source)).all())


class SeenCode(NamedTuple):
    """A till code of a source at a site: the moments of its oldest and its newest count, and how many counts there are."""

    source: str
    till_code: str
    site: str
    first: datetime
    last: datetime
    entries: int


def till_codes(session: Session, source: str | None, sites: Collection[str] | None) -> list[SeenCode]:
    """The till codes that were pushed, by one source (None: all) for some sites (None: all), ordered by source, code and site."""
    place = (forecasts.c.source, forecasts.c.key, forecasts.c.site)
    wanted = select(*place, func.min(forecasts.c.as_of), func.max(forecasts.c.as_of), func.count()).where(forecasts.c.key_kind == TILL_CODE)
    if source is not None:
        wanted = wanted.where(forecasts.c.source == source)
    if sites is not None:
        wanted = wanted.where(forecasts.c.site.in_(sorted(sites)))
    return [SeenCode(*row) for row in session.execute(wanted.group_by(*place).order_by(*place))]


def sites_naming(session: Session, menu_item: str) -> list[str]:
    """The sites where guests are forecast under this menu item's own code, ordered by code."""
    wanted = select(forecasts.c.site).where(forecasts.c.key == menu_item, forecasts.c.key_kind == MENU_ITEM, forecasts.c.count > 0)
    return list(session.execute(wanted.distinct().order_by(forecasts.c.site)).scalars())


def rows(session: Session, wanted: Select[*tuple[Any, ...]]) -> list[ForecastRow]:
    """The rows of a selection of the whole table."""
    return [ForecastRow._make(row) for row in session.execute(wanted).all()]
