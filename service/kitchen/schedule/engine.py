"""The attempts at placing all loads of a site: by the hours alone, then service date by service date (K9, K11).

Responsible for what is tried again, with what eased, and for which attempt counts. Refuses to know how one load finds its
place, and what is told of it.
"""

from collections import Counter
from collections.abc import Hashable
from dataclasses import dataclass

from service.kitchen.schedule.answer import Hands, Stay
from service.kitchen.schedule.attempt import Attempt, Chains
from service.kitchen.schedule.board import Board
from service.kitchen.schedule.easing import Easings
from service.kitchen.schedule.gaps import PAST
from service.kitchen.schedule.hours import Hours
from service.kitchen.schedule.place import Bounds, Times, latest_place
from service.kitchen.schedule.problem import Draw, Load, Minute, Problem
from service.kitchen.schedule.usable import usable_until

ROUNDS = 6
ORDERS = ((False, 4), (True, 8))
"""How often all is tried by the hours alone; whether what is due first is placed first, and how often each is tried (K11)."""
PLACED = 10_000
"""How many loads all attempts at a problem may place together: above 833 it is tried less often, so that it ends in seconds (K11)."""

Given = tuple[tuple[Hands, ...], tuple[Stay, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What the attempts came to: the one that counts, who and what is given to each load, and how many attempts it took."""

    attempt: Attempt
    board: Board
    given: dict[str, Given]
    attempts: int


class Engine:
    """The state of finding places for one problem."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.hours = Hours(problem.shifts)
        self.chains = Chains(problem)
        self.most = max(1, PLACED // max(1, len(problem.loads)))

    def find(self) -> Found:
        """A place for every load that finds one."""
        by_hours = self._by_hours()
        standing = {**by_hours.standing, **by_hours.placed}
        trial = _Trial(Attempt(self.problem, self.chains, by_hours.easings, standing), Board(self.problem, self.hours), {})
        self._begin(trial)
        attempts = 0
        for service in sorted({load.service for load in self.problem.loads}):
            loads = self._of(service, trial.attempt)
            if loads:
                trial, tried = self._try_all(loads, trial, frozenset(by_hours.left))
                attempts += tried
        return Found(attempt=trial.attempt, board=trial.board, given=trial.given, attempts=attempts)

    def _by_hours(self) -> Attempt:
        """Where all loads stand by the hours alone, and what of them is eased so that they do (K3, K11)."""
        counts = Counter[str]()
        easings = Easings()
        best = attempt = self._round(easings)
        for _ in range(ROUNDS - 1):
            counts.update(attempt.left)
            eased = easings.copy()
            self._ease(attempt, {id_: counts[id_] for id_ in attempt.left}, eased)
            if eased == easings and all(counts[id_] > 1 for id_ in attempt.left):
                break
            easings, attempt = eased, self._round(eased)
            best = min(best, attempt, key=_left_out)
        return best

    def _round(self, easings: Easings) -> Attempt:
        standing: dict[str, Times] = {}
        attempt = Attempt(self.problem, self.chains, easings, standing)

        def place(load: Load) -> Times | None:
            times = attempt.place(load, self.hours, self.problem.release)
            if times is None:
                late = attempt.place(load, self.hours, PAST)
                if late is not None:
                    standing[load.id] = late
                elif load.planned is not None:
                    standing[load.id] = _as_given(load, load.planned)
            return times

        attempt.placed.update((load.id, _as_given(load, load.begun)) for load in self.problem.loads if load.begun is not None)
        attempt.place_all([load.id for load in self.problem.loads if load.begun is None], place, {})
        return attempt

    def _begin(self, trial: "_Trial") -> None:
        """Give work under way who and what it has, before anything else (K17)."""
        for load in self.problem.loads:
            if load.begun is not None:
                trial.keep(load, _as_given(load, load.begun))

    def _of(self, service: int, attempt: Attempt) -> list[str]:
        """The loads of a service date that are not done with, and all that they work for."""
        done = {*attempt.placed, *attempt.left}
        loads = dict.fromkeys(load.id for load in self.problem.loads if load.service == service and load.id not in done)
        return [id_ for id_ in self.problem.served(loads) if id_ not in done]

    def _try_all(self, loads: list[str], before: "_Trial", hopeless: frozenset[str]) -> tuple["_Trial", int]:
        """The attempt at a service date that leaves out fewest, of those alike the first, and how many there were (K11)."""
        hopeful = set(loads) - hopeless
        trials: list[_Trial] = []
        for due_first, most in ORDERS:
            trials += self._tried(loads, before, hopeful, due_first=due_first, most=min(most, self.most - len(trials)))
            if len(trials) == self.most or hopeful.isdisjoint(trials[-1].attempt.left):
                break
        return min(trials, key=lambda trial: _left_out(trial.attempt)), len(trials)

    def _tried(self, loads: list[str], before: "_Trial", hopeful: set[str], *, due_first: bool, most: int) -> list["_Trial"]:
        """Attempts, each with what the one before left out eased and placed earlier, until nothing hopeful is left out (K11)."""
        easings, counts = before.attempt.easings.copy(), Counter[str]()
        trials: list[_Trial] = []
        known: dict[Hashable, _Trial] = {}
        while len(trials) < most:
            favour = self._favour(counts)
            key = easings.key(), tuple(sorted(favour.items()))
            if key not in known:
                known[key] = before.again(easings.copy())
                known[key].attempt.place_all(loads, known[key].place, favour, due_first=due_first)
            trials.append(known[key])
            left = known[key].attempt.left
            again = [id_ for id_ in left if id_ in hopeful]
            if not again:
                break
            counts.update(again)
            self._ease(known[key].attempt, {id_: counts[id_] - 1 for id_ in again}, easings)
        return trials

    def _favour(self, counts: Counter[str]) -> dict[str, int]:
        """By load the place among the numbers of times that it, or one that works for it, was left out: the more, the earlier."""
        place = {count: place for place, count in enumerate(sorted(set(counts.values())), 1)}
        favour: dict[str, int] = {}
        for id_, count in counts.items():
            for served in self.problem.served([id_]):
                favour[served] = max(place[count], favour.get(served, 0))
        return favour

    def _ease(self, attempt: Attempt, left: dict[str, int], easings: Easings) -> None:
        """Ease what asks for loads left out: the first time its rests, from the second on its draws."""
        for id_, times in left.items():
            if times == 1:
                easings.shorten_rests(self.problem, id_, attempt.drawn)
            elif times > 1:
                easings.draw_earlier(self.problem, id_, attempt.drawn, self._usable)

    def _usable(self, first: Minute, draw: Draw) -> Minute:
        """Until when what is made by the hours as late as a first draw allows may be used at another (K11)."""
        load = self.problem.load[draw.supply]
        chain = self.chains.of(load, Easings())
        times = latest_place(chain, self.hours, Bounds(first, PAST, self.problem.release, chain.earliest, chain.latest))
        return usable_until(times.ready if times else first, draw.keeps, self.problem.day_starts)


class _Trial:
    """An attempt with the cooks and machines that it takes."""

    def __init__(self, attempt: Attempt, board: Board, given: dict[str, Given]) -> None:
        self.attempt, self.board, self.given = attempt, board, given

    def again(self, easings: Easings) -> "_Trial":
        """Another one from what is taken now."""
        return _Trial(self.attempt.again(easings), self.board.copy(), dict(self.given))

    def place(self, load: Load) -> Times | None:
        """Place a load and give it who and what it needs."""
        times = self.attempt.place(load, self.board, self.attempt.problem.release)
        if times is not None:
            self.keep(load, times)
        return times

    def keep(self, load: Load, times: Times) -> None:
        """Give a load who and what it needs where it stands."""
        self.attempt.placed[load.id] = times
        self.given[load.id] = self.board.take(load.steps, self.attempt.chains.of(load, self.attempt.easings), times)


def _as_given(load: Load, starts: tuple[Minute, ...]) -> Times:
    last = load.steps[-1]
    return Times(starts, starts[-1] + last.active + last.rest.target)


def _left_out(attempt: Attempt) -> int:
    return len(attempt.left)
