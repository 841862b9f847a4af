"""Warnings: what the reader of a date's list must know beside what it asks for.

Responsible for choosing which warnings of a plan stand on a list, and for those that follow from its entries (domain P7, P15 e, H2).
Refuses to know how an entry reads.
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

from service.kitchen.explained.shares import portions_at_risk
from service.kitchen.lists.documents import PullEntry, TaskEntry
from service.kitchen.lists.listed import listed_on, pulled_on
from service.kitchen.lists.tasks import Task
from service.kitchen.lists.telling import Telling
from service.kitchen.lists.wording import day
from service.kitchen.measures.batches import round_up
from service.kitchen.planning.guests import Outlet
from service.kitchen.planning.names import task_id
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.pulls import Pull, Whence
from service.kitchen.planning.reported import FixedPull
from service.kitchen.planning.warned import Warned

# Services further apart than this are two: what is hot for one is no longer for the other.
HELD = timedelta(hours=2)


def warnings(plan: Plan, on: date, tasks: Sequence[Task], pulls: Sequence[PullEntry], telling: Telling) -> list[Warned]:
    """What the reader of a date's list must know; each warning stands on the list of the date that it concerns."""
    warned = [each for each in plan.warnings if listed_on(each.on, plan.first) == on]
    # Each stage of a run tells of it; the reader wants to hear it once.
    told: dict[Warned, Warned] = {}
    for task in tasks:
        for each in (each._replace(on=on) for each in task.told):
            told.setdefault(each, each._replace(task=task.document["id"]))
    warned += told.values()
    if not any(outlet.on == on for outlet in plan.demand.portions):
        warned.append(Warned(on, "no_forecast", f"no forecast for {on} asks for anything at this site"))
    entries = [*(task.document for task in tasks), *pulls]
    warned += _late(on, entries, plan.first)
    if telling.quarter is not None:
        warned += _overdue(on, entries, telling.quarter, telling)
    warned += _thawed_late(plan, on, telling)
    warned += _held(plan, on, telling)
    warned += [_given_short(pull, on, telling) for pull in pulled_on(plan, on, telling.timing, telling.words.calendar, Whence.NOWHERE)]
    return warned


def _late(on: date, entries: Sequence[TaskEntry | PullEntry], first: date) -> Iterator[Warned]:
    """What should have begun before the plan (P7)."""
    late = sum(entry["late"] for entry in entries)
    if late:
        detail = f"{_entries(late)} should have begun before {day(first)}; each says which portions hang on it"
        yield Warned(on, "late", detail, number=late)


def _overdue(on: date, entries: Sequence[TaskEntry | PullEntry], quarter: datetime, telling: Telling) -> Iterator[Warned]:
    """What should have begun by now, and what of it can no longer be ready in time (P7)."""
    overdue = [entry for entry in entries if entry.get("overdue")]
    if not overdue:
        return
    clock = f"{quarter.astimezone(telling.words.calendar.zone):%H:%M}"
    detail = f"{_entries(len(overdue))} should have begun by {clock}; each says which portions hang on it"
    yield Warned(on, "overdue", detail, number=len(overdue))
    lost = [entry for entry in overdue if datetime.fromisoformat(entry.get("last_start", entry["start_by"])) < quarter]
    if lost:
        detail = f"{_entries(len(lost))} can no longer be ready in time, however short each rest is cut: the last start is over"
        yield Warned(on, "last_start_over", detail, number=len(lost))


def _thawed_late(plan: Plan, on: date, telling: Telling) -> Iterator[Warned]:
    """Pulls that thaw and were reported after they had to start, until they are thawed (P15 e)."""
    words = telling.words
    for fixed in plan.reported.pulls:
        pull, thawed = fixed.pull, fixed.thawed_late
        if thawed is None:
            continue
        dates = (words.calendar.business_date(pull.starts), max(pull.on, words.calendar.business_date(thawed)))
        if dates[0] <= on <= dates[1]:
            detail = (
                f"{words.title(pull.item)} came out of store late: it is thawed by {words.moment(thawed)}, "
                f"and was needed by {words.moment(pull.at)}{_hanging(fixed, telling)}"
            )
            yield Warned(on, "thaw_late", detail, task=pull.id, item=pull.item)


def _held(plan: Plan, on: date, telling: Telling) -> Iterator[Warned]:
    """Hot food that does not say how long it keeps, and is made once for services hours apart (P4)."""
    words = telling.words
    for run in plan.runs:
        last, version = run.stages[-1], run.version
        if version is None or version.keeps_stated or not version.served_hot or listed_on(last.on, plan.first) != on:
            continue
        needs = sorted((need for need, _ in run.fed if need.outlet is not None), key=lambda need: need.order)
        if needs and needs[-1].at - needs[0].at > HELD:
            first, second = (words.purposes([need.outlet], [], on)[0] for need in (needs[0], needs[-1]) if need.outlet)
            detail = (
                f"{version.title} is made once, to be ready by {words.moment(run.at)}, for {first}, "
                f"and for {second} at {words.moment(needs[-1].at)}; hold it hot until then, or say how long it keeps"
            )
            yield Warned(on, "held_across_services", detail, task=task_id(run.id, last.number), item=run.item)


def _given_short(pull: Pull, on: date, telling: Telling) -> Warned:
    """What is needed of a by-product beyond what trimming and cooking give, where nobody buys it (P13)."""
    words = telling.words
    title, amount = words.title(pull.item), words.of(pull.item, pull.amount)["display"]
    outlets = telling.shares.outlets_of_pull(pull)
    whom = f" for {', '.join(words.purposes(outlets, [], on))}" if outlets else ""
    detail = f"{title}: {amount} is needed by {words.moment(pull.at)}{whom} beyond what is given of it, and nobody sells it"
    return Warned(on, "by_product_short", f"{detail}; make more of what gives it, or cook without", item=pull.item)


def _hanging(fixed: FixedPull, telling: Telling) -> str:
    """The portions that hang on a pull, as the end of a sentence."""
    risks = portions_at_risk(telling.shares.of_pull(fixed.pull), telling.most)
    told = [_portions(outlet, portions, telling) for outlet, portions in risks if portions > 0]
    return f"; on it hang {', '.join(told)}" if told else ""


def _portions(outlet: Outlet, portions: float, telling: Telling) -> str:
    (purpose,) = telling.words.purposes([outlet], [], outlet.on)
    return f"{round_up(portions)} of {purpose}"


def _entries(number: int) -> str:
    return f"{number} {'entry' if number == 1 else 'entries'}"
