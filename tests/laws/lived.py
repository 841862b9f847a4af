"""A week as it is lived: the acts of ``tests/laws/weeks.py`` in a session, with a clock that they move.

Responsible for saying what an act says through the operations, and for asking for lists. Refuses to know what they should be.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import singledispatchmethod
from typing import Any

from sqlalchemy import delete
from sqlalchemy.orm import Session

from service.api.nouns.forecasts import load_entries
from service.api.schemas.counts import CountBody
from service.api.schemas.imports import ImportBody
from service.api.wire.json import parse, render
from service.kitchen.measures.calendar import Calendar
from service.kitchen.planning.plan import Plan
from service.operations import prints, progress
from service.operations.counts import prepare_count, record_count
from service.operations.forecasts import push, read_push
from service.operations.imports import import_catalogue, prepare_import
from service.operations.lists import ListRequest, plan_site, prep_list
from service.operations.loading import load_catalogue
from service.operations.past import closed_while_reading, keep_closed
from service.store.prints import newest_number
from service.store.tables import closed_days
from tests.laws.corner import SITE
from tests.laws.listed import tasks
from tests.laws.weeks import FIRST, Act, Count, Print, Push, Report, Week, When

DAY_STARTS = 4
Json = dict[str, Any]
AS_PLANNED: Json = {"made": None, "begun": None, "drawn": None, "at": None, "note": ""}


class Lived:
    """A kitchen at some moment of its week."""

    def __init__(self, session: Session, week: Week) -> None:
        self.session, self.week = session, week
        self.now = datetime.fromisoformat("2026-10-01T08:00:00Z")
        self.held: dict[date, list[Json]] = {}
        body = ImportBody().load(parse(render(week.corner.body)))
        import_catalogue(session, prepare_import(session, body, self.now, None))
        self.calendar: Calendar = load_catalogue(session).sites[SITE].calendar()

    def strike(self, when: When) -> None:
        """Move the clock to an hour of a day, never back."""
        self.now = max(self.now, self.calendar.moment(FIRST + timedelta(when.day), when.hour))

    def sit_up(self) -> None:
        """Move the clock to the end of the night that belongs to today."""
        self.strike(When((self.today - FIRST).days, time(3, 30)))

    def wake_up(self) -> None:
        """Move the clock to the beginning of the next day."""
        self.now = self.calendar.end(self.today)

    @property
    def today(self) -> date:
        return self.calendar.business_date(self.now)

    def live(self) -> Iterator[Act]:
        """Each act of the week, once it is done."""
        for act in self.week.acts:
            self.strike(act.when)
            self.do(act)
            yield act

    def ask(self, on: date, first: date | None = None) -> Json:
        """The list of a date, and what it closes is kept, as the service does."""
        listed = dict(prep_list(self.session, ListRequest(site=SITE, on=on, first=first), self.now))
        self.keep()
        return listed

    def keep(self) -> None:
        keep_closed(self.session, closed_while_reading(self.session), self.now)

    def plan(self, first: date, on: date) -> Plan:
        """The plan behind the list of a date."""
        catalogue = load_catalogue(self.session)
        planned = plan_site(self.session, catalogue, catalogue.sites[SITE], first, on)
        self.keep()
        return planned

    @contextmanager
    def nothing_closed(self) -> Iterator[None]:
        """For a while no closed day is there, and none that is made is kept."""
        with self.session.begin_nested() as savepoint:
            self.session.execute(delete(closed_days))
            yield
            closed_while_reading(self.session)
            savepoint.rollback()

    @singledispatchmethod
    def do(self, act: Act) -> None:
        raise TypeError(f"nobody knows how to do {act}")

    @do.register
    def _(self, act: Push) -> None:
        corner = self.week.corner
        entry = {
            "site": SITE,
            "date": (self.today + timedelta(act.ahead)).isoformat(),
            "period": corner.periods[act.period % len(corner.periods)],
            "menu_item": corner.dishes[act.dish % len(corner.dishes)],
            "count": act.guests,
        }
        self.now += timedelta(seconds=1)
        body = {"source": "till", "as_of": self.now.isoformat(), "entries": [entry]}
        answer = push(self.session, read_push(body, load_catalogue(self.session), self.now, load_entries))
        assert answer["refused"] == []

    @do.register
    def _(self, act: Count) -> None:
        counted_at = self.now - timedelta(hours=act.hours_ago)
        made_on = None
        if act.made_days_ago is not None:
            made_on = (self.calendar.business_date(counted_at) - timedelta(act.made_days_ago)).isoformat()
        lots = []
        for place in act.items:
            item, unit = self.week.corner.countable[place]
            raw = set(item) == {"ingredient"}
            where = {"in": "store" if act.in_store else "kitchen"} if raw else {}
            lots.append({"item": item, "quantity": {"amount": act.amount, "unit": unit}, "made_on": made_on, **where})
        self.count(counted_at, lots)

    def count(self, counted_at: datetime, lots: list[Json]) -> None:
        body = CountBody().load(parse(render({"counted_at": counted_at.isoformat(), "lots": lots})))
        record_count(self.session, prepare_count(SITE, body, load_catalogue(self.session), self.now), self.now)

    @do.register
    def _(self, act: Print) -> None:
        self.print(self.today + timedelta(act.ahead))

    def print(self, on: date) -> Json:
        prepared = prints.prepare(self.session, ListRequest(site=SITE, on=on), self.now)
        self.keep()
        return prints.keep(self.session, prepared, self.now, None)

    @do.register
    def _(self, act: Report) -> None:
        on = self.today + timedelta(act.ahead)
        number = newest_number(self.session, SITE, on) if act.of_print else 0
        listed = dict(prints.get_print(self.session, SITE, on, number)) if number else self.ask(on)
        shown = entries(listed)
        if not shown:
            return
        self.held.setdefault(on, []).append(listed)
        self.say(on, shown[act.entry % len(shown)], act)

    def say(self, on: date, entry: Json, word: Report) -> None:
        """Say of an entry what a word says, in its amounts."""
        said: dict[str, Any] = {}
        for name, share in (("made", word.made), ("begun", word.begun)):
            if share is not None:
                amount = share * Decimal(f"{entry['quantity']['amount']:.6f}")
                said[name] = {"amount": amount, "unit": entry["quantity"]["unit"]}
        if word.hours_ago is not None:
            said["at"] = (self.now - timedelta(hours=word.hours_ago)).isoformat()
        self.report(on, entry["id"], word.state, **said)

    def report(self, on: date, task: str, state: str = "done", **said: Any) -> None:
        body = {"state": state, **AS_PLANNED, **said}
        prepared = progress.prepare(self.session, ListRequest(site=SITE, on=on), task, body, self.now)
        self.keep()
        progress.keep(self.session, prepared)


def asked(listed: Json) -> list[Json]:
    """The tasks and pulls of a list of which nothing is reported, or that they are open; what lots give is there anyhow."""
    return [each for each in entries(listed) if each.get("kind") != "use" and (each["progress"] or {"state": "open"})["state"] == "open"]


def entries(listed: Json) -> list[Json]:
    """The tasks and pulls of a list or print, as they stand on it."""
    return [*tasks(listed), *listed["pulls"]]
