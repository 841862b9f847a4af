"""Who and what is taken when: the cooks and machines of a site, as work is given to them (K7, K10).

Responsible for what is free and for which of the free ones a load gets. Refuses to know which load comes first, and why it
stands where it does.
"""

from collections.abc import Sequence

from service.kitchen.schedule.answer import Cook, Hands, Stay
from service.kitchen.schedule.chain import Chain, Occupied
from service.kitchen.schedule.gaps import Gaps, Room
from service.kitchen.schedule.hours import Hours
from service.kitchen.schedule.place import Times
from service.kitchen.schedule.problem import WHOLE, Equipment, LoadStep, Minute, Problem, Shift


class Board:
    """All cooks and machines, with what they have. A copy is taken from separately."""

    def __init__(self, problem: Problem, hours: Hours) -> None:
        self.hours = hours
        self.kinds: dict[str, Equipment] = {kind.code: kind for kind in problem.equipment}
        self.machines = {kind.code: [Gaps() for _ in range(kind.count)] for kind in problem.equipment if not kind.shared}
        self.rooms = {kind.code: Room(kind.count * WHOLE) for kind in problem.equipment if kind.shared}
        self.rows: dict[Cook, Gaps] = {}
        self.cooks: dict[str, tuple[Cook, ...]] = dict.fromkeys(hours.rows, ())
        for shift in sorted(problem.shifts, key=_stations):
            cooks = [Cook(shift.name, number) for number in range(1, shift.cooks + 1)]
            self.rows.update((cook, Gaps(shift.hours)) for cook in cooks)
            for station in dict.fromkeys(shift.stations):
                self.cooks[station] = (*self.cooks[station], *cooks)
        self.at = {station: [self.rows[cook] for cook in cooks] for station, cooks in self.cooks.items()}

    def copy(self) -> "Board":
        """The same cooks and machines with the same work."""
        twin = Board.__new__(Board)
        twin.hours, twin.kinds, twin.cooks = self.hours, self.kinds, self.cooks
        twin.machines = {code: [row.copy() for row in rows] for code, rows in self.machines.items()}
        twin.rooms = {code: room.copy() for code, room in self.rooms.items()}
        twin.rows = {cook: row.copy() for cook, row in self.rows.items()}
        twin.at = {station: [twin.rows[cook] for cook in cooks] for station, cooks in self.cooks.items()}
        return twin

    def hands(self, station: str) -> Sequence[Gaps] | None:
        """The free time of each cook of a station; None where it has no limit."""
        return self.at.get(station)

    def on_shift(self, station: str) -> Sequence[Gaps] | None:
        """The hours of each shift of a station; None where it has no limit."""
        return self.hours.on_shift(station)

    def room(self, equipment: str, share: int) -> Sequence[Gaps] | None:
        """The free time of each machine, or when there is room for a share of one (at most all of it)."""
        if equipment in self.rooms:
            return (self.rooms[equipment].free(min(share, WHOLE)),)
        return self.machines[equipment]

    def take(self, steps: Sequence[LoadStep], chain: Chain, times: Times) -> tuple[tuple[Hands, ...], tuple[Stay, ...]]:
        """Give a load who and what it needs where it stands (K10); only of begun work may some of it not be free."""
        moments = (*times.starts, times.ready)
        hands: list[Hands] = []
        for number, step in enumerate(steps):
            if step.active:
                start, end = moments[number], moments[number] + step.active
                cook = self._cook(step.station, start, end, [piece.cook for piece in hands])
                hands.append(Hands(number, start, end, cook))
        # All machines are chosen before any is taken: between two stays of one load there is no turn-round to wait for (K7).
        lasting = [(stay, moments[stay.step], moments[stay.until]) for stay in chain.stays]
        stays = [self._stay(stay, start, end) for stay, start, end in lasting if start < end]
        for each in stays:
            self._put_in(each)
        return tuple(hands), tuple(stays)

    def _cook(self, station: str, start: Minute, end: Minute, before: Sequence[Cook | None]) -> Cook | None:
        """Of the free cooks the one who already works on the load; else of fewest stations, as stated, by number (K10)."""
        cooks = self.cooks.get(station, ())
        for cook in (*(cook for cook in cooks if cook in before), *cooks) if before else cooks:
            row = self.rows[cook]
            if row.around(start, end):
                row.take(start, end)
                return cook
        return None

    def _stay(self, stay: Occupied, start: Minute, end: Minute) -> Stay:
        """Of the free machines the one that is wanted soonest afterwards, then by number (K10)."""
        rows = self.machines.get(stay.equipment, ())
        free = [(around[1], number) for number, row in enumerate(rows, 1) if (around := row.around(start, end))]
        return Stay(stay.step, start, end, stay.equipment, min(free)[1] if free else None, min(stay.share, WHOLE))

    def _put_in(self, stay: Stay) -> None:
        code = stay.equipment
        if code in self.rooms:
            self.rooms[code].take(stay.starts, stay.ends, stay.share)
        elif stay.number is not None:
            self.machines[code][stay.number - 1].take(stay.starts, stay.ends, self.kinds[code].turn_round)


def _stations(shift: Shift) -> int:
    return len(set(shift.stations))
