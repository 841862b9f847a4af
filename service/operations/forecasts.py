"""Forecasts: taking in what sources push, and reading it back.

Responsible for which of two counts holds and for what a push answers. Refuses to know what a count
makes a kitchen do.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy.orm import Session

from service.errors import Fault, ForeignSource, Invalid, NotFound, Room
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import exact
from service.kitchen.book.site import MenuItem, Site
from service.kitchen.planning.guests import UNSAID, Event, Forecast, Override, OverrideKey, Place, by_place, default_buffer, guests
from service.limits import MINUTES_AHEAD
from service.operations.basis import check_catalogue
from service.operations.entries import Entry, Intake, LoadEntries, read_moment
from service.operations.tokens import write
from service.store import closed_days, forecasts, overrides, revisions
from service.store.forecasts import TILL_CODE, ForecastKey, ForecastRow

STORED, UNCHANGED, SUPERSEDED = "stored", "unchanged", "superseded"


@dataclass(frozen=True, slots=True, kw_only=True)
class Push:
    """The entries of a push that can be stored, those whose period was over by then, and when, and the faults of the others."""

    entries: Sequence[Entry]
    past: Sequence[tuple[Entry, datetime]]
    refused: dict[int, list[Fault]]
    catalogue: Catalogue


def read_push(
    body: dict[str, Any],
    catalogue: Catalogue,
    now: datetime,
    load_entries: LoadEntries,
    sites: Collection[str] | None = None,
    source: str | None = None,
) -> Push:
    """Read what a source pushes: ``{"source", "as_of", "entries"}``, the entries still raw.

    ``load_entries`` gives the entries by index, each with every field, one of ``till_code`` and ``menu_item`` null, and the
    faults of the others, with pointers that start at the entry; anything wrong in one entry refuses that entry alone.
    ``sites`` are those that the caller may write (None: all), ``source`` the one that it pushes as (None: any).
    Raises ForeignSource where the push is of another source, and Invalid where ``as_of`` is too far ahead.
    """
    if source is not None and body["source"] != source:
        raise ForeignSource(f"This token pushes as {source}, no other source: write that.")
    as_of = read_moment(body["as_of"])
    if as_of > now + timedelta(minutes=MINUTES_AHEAD):
        raise Invalid([Fault("/as_of", "as_of_in_future", f"as_of is ahead of the service's clock, which reads {write(now)}")])
    entries, refused = Intake(catalogue, body["source"], as_of, now, sites).read(body["entries"], load_entries)
    places = [(entry.row.site, entry.row.period, entry.row.date) for entry in entries]
    over = {place: ended_at for place in set(places) if as_of > (ended_at := _ended_at(catalogue, *place))}
    # Hardly any push has one.
    past = [(entry, over[place]) for entry, place in zip(entries, places, strict=True) if place in over] if over else []
    held = [entry for entry, place in zip(entries, places, strict=True) if place not in over] if over else entries
    return Push(entries=held, past=past, refused=refused, catalogue=catalogue)


def _ended_at(catalogue: Catalogue, code: str, period_code: str, on: date) -> datetime:
    """When a period of a date is over at a site (P1)."""
    site = catalogue.sites[code]
    period = next(each for each in site.periods if each.code == period_code)
    return period.ended_at(site.calendar(), on)


def push(session: Session, read: Push) -> dict[str, Any]:
    """Store what a source pushed, as far as it holds, and tell what became of each entry; raises Moved.

    Dates that are over, of which an earlier word arrives late, are closed anew.
    """
    check_catalogue(session, read.catalogue)
    outcomes = settle(session, read.entries)
    return {
        "accepted": sum(outcomes.values()),
        **{outcome: outcomes[outcome] for outcome in (STORED, UNCHANGED, SUPERSEDED)},
        **show_refused(read.refused),
        "unmapped": [
            {"index": entry.index, "till_code": entry.row.key}
            for entry in read.entries
            if entry.row.key_kind == TILL_CODE and (entry.row.source, entry.row.key) not in read.catalogue.till_codes
        ],
        "past": [
            {
                "index": entry.index,
                "period": entry.row.period,
                "ended": read.catalogue.sites[entry.row.site].calendar().write(ended_at),
            }
            for entry, ended_at in read.past
        ],
    }


def settle(session: Session, entries: Sequence[Entry]) -> dict[str, int]:
    """Store the counts that hold against what is stored already; how many were stored, unchanged, superseded."""
    known = read_known(session, entries)
    outcomes = dict.fromkeys((STORED, UNCHANGED, SUPERSEDED), 0)
    written: list[ForecastRow] = []
    changed: dict[str, date] = {}
    for entry in entries:
        old = known.get(entry.row.identity)
        outcome = outcome_of(old, entry.row)
        outcomes[outcome] += 1
        if outcome == STORED:
            changed[entry.row.site] = min(entry.row.date, changed.get(entry.row.site, date.max))
        if outcome == STORED or (outcome == UNCHANGED and (old is None or entry.row.as_of > old.as_of)):
            written.append(entry.row)
    forecasts.save(session, written)
    if written:
        forecasts.hear(session, written[0].source, written[0].as_of)
    for site, first in sorted(changed.items()):
        revisions.bump(session, revisions.site(site))
        closed_days.drop(session, site, first)
    return outcomes


def read_known(session: Session, entries: Sequence[Entry]) -> dict[ForecastKey, ForecastRow]:
    """What is stored for the sites and dates of the entries: one read a site."""
    dates: dict[tuple[str, str], set[date]] = defaultdict(set)
    for entry in entries:
        dates[entry.row.site, entry.row.source].add(entry.row.date)
    return {row.identity: row for (site, source), days in dates.items() for row in forecasts.of_source(session, site, source, days)}


def outcome_of(old: ForecastRow | None, new: ForecastRow) -> str:
    """What becomes of a count where another may be stored: the later ``as_of`` holds, of two at one moment the larger count.

    Equal counts at one moment go on by the event's time and buffer, so that the order of arrival never decides.
    """
    if old is None:
        return STORED
    if content(new) == content(old):
        return UNCHANGED if new.as_of >= old.as_of else SUPERSEDED
    return STORED if rank(new) > rank(old) else SUPERSEDED


def content(row: ForecastRow) -> tuple[int, str, Decimal]:
    """What a list is made of, comparable."""
    return (row.count, row.serve_at or "", Decimal(-1) if row.event_buffer is None else row.event_buffer)


def rank(row: ForecastRow) -> tuple[datetime, tuple[int, str, Decimal]]:
    """Of two rows of one key the one with the higher rank holds."""
    return (row.as_of, content(row))


def show_refused(refused: Mapping[int, Sequence[Fault]]) -> dict[str, Any]:
    """The entries that were refused, as many as an answer has room for, and how many more there are; of each its first faults."""
    room = Room()
    told: list[dict[str, Any]] = []
    for index, faults in sorted(refused.items()):
        shown = room.shown(faults)
        if not shown:
            return {"refused": told, "more_refused": len(refused) - len(told)}
        more = {"more": len(faults) - len(shown)} if len(faults) > len(shown) else {}
        told.append({"index": index, "errors": [show(fault) for fault in shown], **more})
    return {"refused": told}


def show(fault: Fault) -> dict[str, str]:
    """A fault as an answer shows it."""
    return {"pointer": fault.pointer, "code": fault.code, "detail": fault.detail}


def entries(
    session: Session,
    first: date,
    last: date,
    after: ForecastKey | None,
    limit: int,
    *,
    sites: Collection[str] | None = None,
    source: str | None = None,
) -> list[dict[str, Any]]:
    """Up to ``limit`` counts behind a key, as pushed: of the dates from ``first`` to ``last``, of some sites and one source (None: all)."""
    rows = forecasts.page(session, sites=sites, source=source, first=first, last=last, after=after, limit=limit)
    return [describe(row) for row in rows]


def key_of(entry: dict[str, Any]) -> ForecastKey:
    """The key of a count as ``entries`` gives it: what the next page goes on behind."""
    event = entry["event"]["code"] if entry["event"] else ""
    kind = TILL_CODE if entry["till_code"] is not None else forecasts.MENU_ITEM
    day = date.fromisoformat(entry["date"])
    return ForecastKey(
        site=entry["site"],
        date=day,
        period=entry["period"],
        source=entry["source"],
        event=event,
        key_kind=kind,
        key=entry["till_code"] or entry["menu_item"],
    )


def describe(row: ForecastRow) -> dict[str, Any]:
    """A count as it was pushed."""
    event = {"code": row.event, "serve_at": row.serve_at, "buffer": row.event_buffer} if row.event else None
    return {
        "site": row.site,
        "date": row.date.isoformat(),
        "period": row.period,
        "source": row.source,
        "till_code": row.key if row.key_kind == TILL_CODE else None,
        "menu_item": row.key if row.key_kind == forecasts.MENU_ITEM else None,
        "count": row.count,
        "event": event,
        "as_of": write(row.as_of),
    }


def site_rows(session: Session, catalogue: Catalogue, site: str, first: date, last: date) -> list[dict[str, Any]]:
    """What a site reckons with, a row a date, period and menu item.

    ``forecast`` is the sum as pushed by all ``sources``, events included, null where none pushed;
    ``override`` and ``add`` are the site's own on what has no event; ``count`` is the guests that the kitchen plans for,
    those of events and the site's word on them included (P1).
    Till codes that no menu item has are no rows. Raises NotFound.
    """
    kitchen = catalogue.sites.get(site)
    if kitchen is None:
        raise NotFound("site", site)
    pushed: dict[Place, list[Forecast]] = defaultdict(list)
    for row in forecasts.of_site(session, site, first, last):
        forecast = forecast_of(row)
        menu_item = catalogue.sold_as(row.source, forecast.menu_item, forecast.till_code)
        if menu_item is not None:
            pushed[row.date, row.period, menu_item].append(forecast)
    own = by_place(overrides_of(session, site, first, last))
    places = {period.code: place for place, period in enumerate(kitchen.periods)}
    keys = sorted(pushed.keys() | own.keys(), key=lambda key: (key[0], places.get(key[1], len(places)), key[1], key[2]))
    return [
        site_row(key, pushed[key], own.get(key, {}), kitchen, catalogue.menu_items[key[2]])
        for key in keys
        if key[2] in catalogue.menu_items
    ]


def forecast_of(row: ForecastRow) -> Forecast:
    """A stored count as the kitchen's value."""
    event = None
    if row.event:
        serve_at = None if row.serve_at is None else time.fromisoformat(row.serve_at)
        event = Event(row.event, serve_at, None if row.event_buffer is None else exact(row.event_buffer))
    by_item = row.key_kind == forecasts.MENU_ITEM
    return Forecast(
        date=row.date,
        period=row.period,
        count=row.count,
        source=row.source,
        menu_item=row.key if by_item else None,
        till_code=None if by_item else row.key,
        event=event,
    )


def overrides_of(session: Session, site: str, first: date, last: date) -> dict[OverrideKey, Override]:
    """A site's own word on counts, by date, period, menu item and event."""
    found = overrides.of_site(session, site, first, last)
    return {(key.date, key.period, key.menu_item, key.event or None): Override(each["count"], each["add"]) for key, each in found.items()}


def site_row(key: Place, pushed: Sequence[Forecast], own: Mapping[str | None, Override], site: Site, item: MenuItem) -> dict[str, Any]:
    """One row of ``site_rows``; of what is not on the menu on its date nobody is reckoned with (P1)."""
    sums: dict[Event | None, int] = defaultdict(int)
    for each in pushed:
        sums[each.event] += each.count
    counts = guests(sums, own, default_buffer(site, item)) if item.sold_on(key[0]) else []
    count = sum((number for _, number in counts), Fraction(0))
    plain = own.get(None, UNSAID)
    return {
        "date": key[0].isoformat(),
        "period": key[1],
        "menu_item": key[2],
        "forecast": sum(sums.values()) if pushed else None,
        "override": plain.count,
        "add": plain.add,
        "count": int(count) if count == int(count) else Decimal(count.numerator) / Decimal(count.denominator),
        "sources": sorted({each.source for each in pushed}),
    }
