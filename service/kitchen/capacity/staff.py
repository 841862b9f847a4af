"""Staff: the cooks and machines of a site over some dates, as a schedule counts them.

Responsible for the hours of shifts, date by date as their capacity has it (domain K1, K2), and for how many machines there are
(K7). Refuses to know what they do.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from service.kitchen.book.capacity import Capacity, Shift
from service.kitchen.book.site import Site
from service.kitchen.measures.calendar import ONE_DAY
from service.kitchen.planning.minutes import minute_of, minute_up, whole
from service.kitchen.schedule import problem
from service.kitchen.schedule.problem import Load, LoadStep, Minute, Rest

Capacities = Mapping[date, Capacity]
"""What is different at a site, by business date."""


@dataclass(slots=True, kw_only=True)
class Turn:
    """A shift over all dates: the cooks of one name, with the same stations and as many; its hours by date.

    ``id`` tells it from others of its name, such as one with a cook short.
    """

    id: str
    name: str
    stations: tuple[str, ...]
    cooks: int
    hours: list[tuple[date, Minute, Minute]] = field(default_factory=list)

    def is_free(self, starts: Minute) -> bool:
        """Whether its last hours are over by a moment."""
        return not self.hours or self.hours[-1][2] <= starts

    def shift(self) -> problem.Shift:
        """The shift as a schedule knows it."""
        return problem.Shift(self.id, self.stations, self.cooks, tuple((starts, until) for _, starts, until in self.hours))


def turns_of(site: Site, capacities: Capacities, dates: Sequence[date]) -> list[Turn]:
    """The shifts of a site on some dates in a row, as stated, then those that only a date states (K10).

    A station that no shift of the site names sets no limit, whoever works there on a date (K1).
    """
    calendar, turns = site.calendar(), _Turns()
    usual = [(each, turns.add(each, each.stations)) for each in site.shifts]
    for on in dates:
        for shift in site.shifts_on(on, capacities.get(on)):
            stations = tuple(station for station in shift.stations if station in site.staffed)
            starts, until = shift.hours(calendar, on)
            hours = (on, minute_up(starts), minute_of(until))
            if stations and hours[1] < hours[2]:
                own = next((turn for each, turn in usual if each is shift and turn.is_free(hours[1])), None)
                (own or turns.free(shift, stations, hours[1])).hours.append(hours)
    return turns.all


class _Turns:
    """The shifts found so far."""

    def __init__(self) -> None:
        self.all: list[Turn] = []

    def add(self, shift: Shift, stations: tuple[str, ...]) -> Turn:
        """One more, with a name that no other has."""
        names, number, id_ = {turn.id for turn in self.all}, 1, shift.name
        while id_ in names:
            number += 1
            id_ = f"{shift.name} ({number})"
        self.all.append(Turn(id=id_, name=shift.name, stations=stations, cooks=shift.cooks))
        return self.all[-1]

    def free(self, shift: Shift, stations: tuple[str, ...], starts: Minute) -> Turn:
        """The one that a date's shift is as usual, at perhaps other hours, else a new one."""
        for turn in self.all:
            if (turn.name, turn.stations, turn.cooks) == (shift.name, stations, shift.cooks) and turn.is_free(starts):
                return turn
        return self.add(shift, stations)


@dataclass(frozen=True, slots=True)
class Kinds:
    """The equipment of a site over some dates, and as loads under way what keeps machines out of order on some of them."""

    equipment: tuple[problem.Equipment, ...]
    out_of_order: tuple[Load, ...]


def kinds_of(site: Site, capacities: Capacities, dates: Sequence[date]) -> Kinds:
    """The machines of a site: as many as on the best of some dates in a row; on the others the rest of them is out of order (K7)."""
    kinds, out = [], []
    for code, machines in site.equipment.items():
        counts = {on: _count(site, code, capacities.get(on)) for on in dates}
        most = max(counts.values())
        kinds.append(problem.Equipment(code, most, whole(machines.turn_round), machines.shared))
        for on, count in counts.items():
            out += list(_broken(site, kinds[-1], on, most - count))
    return Kinds(tuple(kinds), tuple(out))


def _count(site: Site, code: str, different: Capacity | None) -> int:
    machines = site.machines(code, different)
    assert machines is not None  # noqa: S101 - the code is one of the site's
    return machines.count


def _broken(site: Site, kind: problem.Equipment, on: date, number: int) -> Iterator[Load]:
    """Loads that are in so many machines of a kind on a date from its start to its end."""
    calendar = site.calendar()
    starts, ends = minute_of(calendar.start(on)), minute_of(calendar.end(on))
    # Whatever comes after it need not wait for a turn-round.
    lasts = max(ends - starts - (0 if kind.shared else kind.turn_round), 0)
    step = LoadStep(active=0, rest=Rest(lasts, lasts, lasts), station="", equipment=kind.code)
    for each in range(1, number + 1):
        yield Load(id=f"{kind.code} out of order {on} {each}", service=0, order=(), steps=(step,), begun=(starts,))


def dates_between(first: date, last: date) -> list[date]:
    """The dates from one to another, both included."""
    return [first + number * ONE_DAY for number in range((last - first).days + 1)]
