"""Question: a plan as a problem for the schedule's room.

Responsible for all that a schedule is asked with (domain K1, K8, K9, K17).
Refuses to find places.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Final

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.capacity.bounds import latest
from service.kitchen.capacity.purposes import Purposes
from service.kitchen.capacity.scheduled import Fed, LoadKey
from service.kitchen.capacity.staff import Capacities, Turn, dates_between, kinds_of, turns_of
from service.kitchen.capacity.work import Piece, RunWork, work_of
from service.kitchen.measures.calendar import ONE_DAY, Calendar
from service.kitchen.planning.minutes import minute_of, minute_up, moment_of
from service.kitchen.planning.plan import Plan
from service.kitchen.schedule.problem import Load, LoadStep, Minute, Problem, Serves

AFTER: Final = timedelta(days=2)
"""How long after the last run somebody's hours may still matter: to what is due at the end of its date, and to a help (K13)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A problem with what its names mean.

    ``works`` are by the ids of runs, ``pieces`` by those of the problem's loads, ``turns`` by the names of its shifts. ``given`` are
    the parts of needs that each load meets.
    """

    problem: Problem
    works: dict[str, RunWork]
    pieces: dict[str, Piece]
    turns: dict[str, Turn]
    given: dict[LoadKey, Fed]
    services: dict[str, date]


def question_of(plan: Plan, catalogue: Catalogue, site: Site, capacities: Capacities, at: datetime | None) -> Question:
    """What a schedule of a plan is asked with, ``at`` being the moment before which nothing unreported begins (K9 e).

    Raises TooManyLoads.
    """
    calendar = site.calendar()
    start = calendar.start(plan.first)
    release = minute_up(start if at is None else max(start, at))
    works = work_of(plan, catalogue, site, release)
    purposes = Purposes(plan, works, catalogue, calendar)
    loads = [load for work in works.values() for load in _loads(plan, work, purposes, calendar)]
    begins = min([release, *(load.begun[0] for load in loads if load.begun is not None)])
    dates = _dates(begins, [calendar.business_date(moment_of(release)), *(work.run.on for work in works.values())], calendar)
    turns, kinds = turns_of(site, capacities, dates), kinds_of(site, capacities, dates)
    problem = Problem(
        release=release,
        day_starts=tuple(minute_up(calendar.start(on)) for on in dates),
        equipment=kinds.equipment,
        shifts=tuple(turn.shift() for turn in turns),
        # What is out of order takes its machines before anything else does.
        loads=(*kinds.out_of_order, *loads),
    )
    return Question(
        problem=problem,
        works=works,
        pieces={piece.id: piece for work in works.values() for pieces in work.pieces.values() for piece in pieces},
        turns={turn.id: turn for turn in turns},
        given={key: tuple(purpose.given) for key, purpose in purposes.of.items()},
        services={id_: purposes.service(work.run) for id_, work in works.items()},
    )


def _loads(plan: Plan, work: RunWork, purposes: Purposes, calendar: Calendar) -> Iterator[Load]:
    """The loads of a run as a schedule knows them, one for each piece (K8)."""
    run = work.run
    service = (purposes.service(run) - plan.first).days
    order = (*run.item.order, run.on.toordinal(), minute_of(run.at), run.id)
    ends = minute_of(calendar.end(max(run.on, plan.first)))
    for load in work.loads:
        purpose = purposes.of[LoadKey(run.id, load.number)]
        for piece in work.pieces[load.number]:
            due = purposes.due.get(run.id) if piece.gives else None
            serves = tuple(purpose.serves) if piece.gives else ()
            if piece.then is not None:
                serves = (Serves(piece.then, 0),)
            elif due is None and not serves:
                # Nobody takes of it, or what follows it is done already: it is due as planned.
                due = minute_of(run.at) if piece.gives else piece.ends
            yield Load(
                id=piece.id,
                service=service,
                order=(*order, -load.number),
                steps=tuple(_limited(piece, purposes)),
                due=due,
                not_ready_before=purpose.not_ready_before if piece.gives else None,
                not_ready_after=ends,
                run=run.id,
                serves=serves,
                planned=tuple(each.planned for each in piece.steps),
                begun=piece.begun,
            )


def _limited(piece: Piece, purposes: Purposes) -> Iterator[LoadStep]:
    """The steps of a piece, held to the lots that they draw on."""
    for place, each in enumerate(piece.steps):
        limit = purposes.limits.get((piece.id, place))
        if limit is None:
            yield each.step
        else:
            not_before = latest(each.step.not_before, limit.not_before)
            yield replace(each.step, not_before=not_before, not_after=limit.not_after)


def _dates(begins: Minute, ends: Sequence[date], calendar: Calendar) -> list[date]:
    """The business dates from the one before anything begins until everything is over, and some more that a help may need."""
    return dates_between(calendar.business_date(moment_of(begins)) - ONE_DAY, max(ends) + AFTER)
