"""The kitchen of ``tests/stockpot.py`` in a session: enough of a site for prints and reports below the interface.

Responsible for storing it and for asking for lists, prints and reports of it. Refuses to know what they should be.
"""

from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from service.api.schemas.counts import CountBody
from service.api.schemas.imports import ImportBody
from service.api.wire.json import parse, render
from service.kitchen.planning.reported import Reported
from service.operations import prints, progress
from service.operations.counts import prepare_count, record_count
from service.operations.imports import import_catalogue, prepare_import
from service.operations.lists import ListRequest, prep_list
from service.operations.loading import load_catalogue
from service.operations.past import closed_while_reading, keep_closed, load_reported
from service.store import overrides
from service.store.overrides import OverrideKey
from tests.laws.listed import Json, tasks
from tests.stockpot import CATALOGUE, SITE

MON, TUE, WED, THU, FRI = (date(2026, 11, 30), *(date(2026, 12, number) for number in (1, 2, 3, 4)))
STOCK, SOUP = "make.quay.stock.2026-12-02T1100", "make.quay.soup.2026-12-02T1200"
DICE, PULL = "prep.quay.onion.dice.2026-12-02T1100", "pull.quay.onion.2026-12-01T2030"


def clock(on: date, hour: int, minute: int = 0) -> datetime:
    """An hour of a date; the site keeps UTC."""
    return datetime(on.year, on.month, on.day, hour, minute, tzinfo=UTC)


def prepare(session: Session) -> None:
    """The kitchen, with 24 bowls on Wednesday."""
    load(session, CATALOGUE)
    expect(session, WED, 24)


def load(session: Session, catalogue: Json) -> None:
    """A kitchen of which nothing is wanted."""
    body = ImportBody().load(parse(render(catalogue)))
    import_catalogue(session, prepare_import(session, body, clock(TUE, 7), None))


def expect(session: Session, on: date, bowls: int, period: str = "lunch") -> None:
    """What the site reckons with, in place of any forecast."""
    overrides.save(session, OverrideKey(SITE, on, period, "bowl"), {"count": bowls, "add": 0, "note": ""})


def print_on(session: Session, on: date, now: datetime) -> dict[str, Any]:
    return prints.keep(session, prints.prepare(session, ListRequest(site=SITE, on=on), now), now, None)


def listed(session: Session, on: date, now: datetime) -> dict[str, Any]:
    """The tasks and pulls of a list by id; what this closes is kept, as after any request."""
    closed_while_reading(session)
    found: Json = dict(prep_list(session, ListRequest(site=SITE, on=on), now))
    keep_closed(session, closed_while_reading(session), now)
    return {each["id"]: each for each in (*tasks(found), *found["pulls"])}


def report(session: Session, on: date, task: str, now: datetime, state: str = "done", **said: Any) -> dict[str, Any]:
    body = {"state": state, "made": None, "begun": None, "drawn": None, "at": None, "note": "", **said}
    return progress.keep(session, progress.prepare(session, ListRequest(site=SITE, on=on), task, body, now))


def count(session: Session, item: dict[str, str], quantity: dict[str, Any], when: datetime) -> None:
    """Count what there is of an item, all of it in the kitchen."""
    where = {} if "recipe" in item else {"in": "kitchen"}
    lots = [{"item": item, "quantity": quantity, **where}]
    body = CountBody().load(parse(render({"counted_at": when.isoformat(), "lots": lots})))
    record_count(session, prepare_count(SITE, body, load_catalogue(session), when), when)


def reported(session: Session, first: date) -> Reported:
    """What stands of prints and reports in a plan from a date, nothing having been counted."""
    catalogue = load_catalogue(session)
    return load_reported(session, catalogue, catalogue.sites[SITE], first)


def states(found: Reported) -> dict[str, dict[int, str]]:
    """What was reported or counts as done of each fixed run, by stage."""
    return {
        f"{each.run.item.label} {each.run.on:%d}": {
            number: report.state if f"{each.run.id}.{number}" in found.said else f"{report.state}, assumed"
            for number, report in sorted(each.reports.items())
        }
        for each in found.runs
    }


def minutes(number: int) -> timedelta:
    return timedelta(minutes=number)
