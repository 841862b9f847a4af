"""Tidiness: letting go of what was said of dates long past.

Responsible for what may go: forecasts, overrides, capacities, counts, prints and reports of dates that no list of a later date rests on,
once the last of those dates is closed for good. Refuses to know when that is done, and how far it is told.
"""

from collections.abc import Callable, Collection, Generator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from service.errors import Moved
from service.kitchen.measures.calendar import ONE_DAY
from service.kitchen.planning.ways import ways
from service.operations.basis import Basis, check_basis, read_basis
from service.operations.lists import HOURS_BEFORE, known_site
from service.operations.loading import load_catalogue
from service.operations.past import Pending, closed_while_reading, keep_closed, load_reported
from service.store import capacity, closed_days, counts, forecasts, overrides, prints, revisions, work_reports

# Rows removed in one transaction: others wait for their turn to write as long as that takes.
PORTION = 500
TRIES = 20
Sessions = Callable[[], AbstractContextManager[Session]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Boundary:
    """From where on a site's past is kept: the first date and its first moment, and what goes back further.

    Reports may be of late work that has stood on lists since ``reports_since``. What the last closed date before left
    unfinished is ``begun``, and what was closed to get there is ``closed``.
    """

    site: str
    first: date
    start: datetime
    reports_since: date
    begun: Collection[str]
    closed: tuple[Pending, ...]
    basis: Basis


@dataclass(frozen=True, slots=True, kw_only=True)
class Removed:
    """Up to PORTION rows of one kind that were removed of a site."""

    site: str
    kind: str
    rows: int


def tidy(readers: Sessions, writers: Sessions, site: str, first: date, now: datetime) -> Generator[Removed]:
    """Remove what was said of a site's dates before one, portion by portion.

    What ``writers`` give commits at its end, so that each portion is kept before it is told. Whatever ends it, at whichever
    portion, nothing is lost that is needed; begun anew, it goes on. Raises NotFound for an unknown site, Moved where the site
    keeps changing.
    """
    boundary = _draw(readers, writers, site, first, now)
    while boundary is not None:
        with writers() as session:
            removed = _remove(session, boundary)
        if removed is None:
            return
        yield removed


def _draw(readers: Sessions, writers: Sessions, site: str, first: date, now: datetime) -> Boundary | None:
    """Close the last date before one for good; None where more was removed before."""
    for _ in range(TRIES):
        with readers() as session:
            boundary = find_boundary(session, site, first)
        if boundary is None:
            return None
        try:
            with writers() as session:
                check_basis(session, boundary.basis)
                keep_closed(session, boundary.closed, now)
                closed_days.make_final(session, site, first - ONE_DAY)
        # Somebody prints or reports: what was closed may be closed otherwise now.
        except Moved:
            continue
        return boundary
    raise Moved(f"{site} keeps changing; try again when less is going on.")


def find_boundary(session: Session, code: str, first: date) -> Boundary | None:
    """What of a site must be kept, so that every list from a date on stays as it is; None where more was removed before."""
    catalogue = load_catalogue(session)
    site = known_site(catalogue, code)
    known = closed_days.newest(session, code, first)
    if known is not None and known.date >= first:
        return None
    load_reported(session, catalogue, site, first)
    closed = tuple(closed_while_reading(session))
    rows = [row for pending in closed for row in pending.rows if row.date == first - ONE_DAY]
    [last] = rows or [row for row in [known] if row is not None]
    return Boundary(
        site=code,
        first=first,
        start=site.calendar().start(first),
        reports_since=first - ONE_DAY - ways(catalogue, site, first).reach,
        begun=frozenset(each["work"] for each in last.document["unfinished"]),
        closed=closed,
        basis=read_basis(session, [revisions.site(code)]),
    )


def _remove(session: Session, boundary: Boundary) -> Removed | None:
    """Remove the next portion; None where nothing is left to remove. Prints go after the reports that stand on them."""
    site, first = boundary.site, boundary.first
    portions: dict[str, Callable[[], int]] = {
        "forecasts": lambda: forecasts.forget(session, site, first, PORTION),
        "overrides": lambda: overrides.forget(session, site, first, PORTION),
        # Work of the first kept date may have begun in the hours of dates before (K3).
        "capacity": lambda: capacity.forget(session, site, first - HOURS_BEFORE, PORTION),
        "counts": lambda: counts.forget(session, site, boundary.start, PORTION),
        "reported works": lambda: work_reports.forget(session, site, boundary.reports_since, boundary.begun, PORTION),
        "prints": lambda: prints.forget(session, site, first, work_reports.prints_behind(session, site, first), PORTION),
    }
    for kind, remove in portions.items():
        if rows := remove():
            # Whatever was prepared with what is gone now is prepared once more.
            revisions.bump(session, revisions.site(site))
            return Removed(site=site, kind=kind, rows=rows)
    return None
