"""An oracle for small days: the rules of capacity as constraints, for a solver that proves.

Responsible for saying what any order of work could do, where the schedule's room says what it found: whether some loads fit
together, and how little they need to be held (K2, K6 to K9, K14). Refuses to know how a kitchen finds its places, and which
of several it likes best. Work under way is no part of it.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from itertools import combinations, groupby
from typing import Literal

from ortools.sat.python import cp_model

from service.kitchen.schedule.answer import Placed
from service.kitchen.schedule.problem import WHOLE, Equipment, Load, Minute, Problem, Serves

DAY = 24 * 60
LONGEST = 14 * DAY
Answer = Literal["yes", "no", "unknown"]
EFFORT = 0.5
"""How long the solver works on one question, in a measure of its own: it counts its steps, so that a busy machine changes nothing."""


class Stay:
    """A load in equipment: from, until and how long as expressions, and the literal that it takes any time at all."""

    def __init__(self, model: cp_model.CpModel, load: str, starts: cp_model.IntVar, ends: cp_model.IntVar) -> None:
        self.load, self.starts, self.ends = load, starts, ends
        self.used = model.new_bool_var("")
        length = model.new_int_var(0, LONGEST, "")
        model.add(starts + length == ends)
        model.add(length >= 1).only_enforce_if(self.used)
        model.add(length == 0).only_enforce_if(~self.used)
        self.interval = model.new_optional_interval_var(starts, length, ends, self.used, "")


class Oracle:
    """The model of some loads of a problem, all of which have to be placed.

    ``moments`` tells where loads stand that are not among them: what only those draw on is due by then all the same.
    """

    def __init__(self, problem: Problem, loads: Collection[str], moments: Mapping[str, tuple[Minute, ...]]) -> None:
        self.problem = problem
        self.model = cp_model.CpModel()
        self.loads = [load for load in problem.loads if load.id in loads]
        self.starts: dict[str, list[cp_model.IntVar]] = {}
        self._kinds = {kind.code: kind for kind in problem.equipment}
        self._stations = {station for shift in problem.shifts for station in shift.stations}
        self._work: dict[str, list[cp_model.IntervalVar]] = {shift.name: [] for shift in problem.shifts}
        self._stays: dict[str, list[tuple[Stay, int]]] = {code: [] for code in self._kinds}
        self._last = max(load.due for load in problem.loads if load.due is not None) + DAY
        for load in self.loads:
            self._steps(load)
            self._hands(load)
            self._equipment(load)
        self._cooks()
        self._machines()
        self._held = [held for load in self.loads for held in self._uses(load, moments)]

    def _steps(self, load: Load) -> None:
        """K6, and the bounds of each step and of the load (K8, K9)."""
        edges = [self._moment() for _ in range(len(load.steps) + 1)]
        for step, starts, ends in zip(load.steps, edges, edges[1:], strict=False):
            self.model.add(starts + step.active + step.rest.least <= ends)
            self.model.add(starts + step.active + step.rest.most >= ends)
            if step.not_before is not None:
                self.model.add(starts >= step.not_before)
            if step.not_after is not None:
                self.model.add(starts <= step.not_after)
        self.starts[load.id] = edges
        for bound in (load.due, load.not_ready_after):
            if bound is not None:
                self.model.add(edges[-1] <= bound)
        if load.not_ready_before is not None:
            self.model.add(edges[-1] >= load.not_ready_before)

    def _moment(self) -> cp_model.IntVar:
        return self.model.new_int_var(self.problem.release, self._last, "")

    def _hands(self, load: Load) -> None:
        """K2: each piece in one shift of a cook of its station."""
        for step, starts in zip(load.steps, self.starts[load.id], strict=False):
            if not step.active or step.station not in self._stations:
                continue
            choices = []
            for shift in self.problem.shifts:
                if shift.cooks and step.station in shift.stations:
                    chosen = self.model.new_bool_var("")
                    choices.append(chosen)
                    hours = [(begins, ends - step.active) for begins, ends in shift.hours if begins + step.active <= ends]
                    self._within(starts, hours, chosen)
                    self._work[shift.name].append(self.model.new_optional_fixed_size_interval_var(starts, step.active, chosen, ""))
            self.model.add_exactly_one(choices)

    def _within(self, moment: cp_model.LinearExprT, hours: Collection[tuple[Minute, Minute]], chosen: cp_model.IntVar) -> None:
        domain = cp_model.Domain.from_intervals([list(each) for each in hours])
        self.model.add_linear_expression_in_domain(moment, domain).only_enforce_if(chosen)

    def _cooks(self) -> None:
        """The cooks of a shift are alike, so that only their number counts."""
        for shift in self.problem.shifts:
            work = self._work[shift.name]
            self.model.add_cumulative(work, [1] * len(work), shift.cooks)

    def _equipment(self, load: Load) -> None:
        """K7: steps in a row in one equipment, put in and taken out while somebody is there (K2)."""
        edges = self.starts[load.id]
        for code, group in groupby(range(len(load.steps)), lambda step: load.steps[step].equipment):
            steps = list(group)
            if code not in self._kinds:
                continue
            stay = Stay(self.model, load.id, edges[steps[0]], edges[steps[-1] + 1])
            self._stays[str(code)].append((stay, min(WHOLE, max(load.steps[step].share for step in steps))))
            station = load.steps[steps[0]].station
            if station in self._stations:
                hours = [each for shift in self.problem.shifts if shift.cooks and station in shift.stations for each in shift.hours]
                self._within(stay.starts, hours, stay.used)
                self._within(stay.ends, hours, stay.used)

    def _machines(self) -> None:
        for code, stays in self._stays.items():
            kind = self._kinds[code]
            intervals = [stay.interval for stay, _ in stays]
            if kind.shared:
                self.model.add_cumulative(intervals, [share for _, share in stays], kind.count * WHOLE)
            elif stays:
                self.model.add_cumulative(intervals, [1] * len(stays), kind.count)
                self._one_at_a_time(kind, [stay for stay, _ in stays])

    def _one_at_a_time(self, kind: Equipment, stays: list[Stay]) -> None:
        """Each stay has a machine; of two loads in one, the turn-round lies between them."""
        chosen = [[self.model.new_bool_var("") for _ in range(kind.count)] for _ in stays]
        for stay, machines in zip(stays, chosen, strict=True):
            self.model.add_exactly_one([*machines, ~stay.used])
        for (one, ones), (other, others) in combinations(zip(stays, chosen, strict=True), 2):
            between = 0 if one.load == other.load else kind.turn_round
            before = self.model.new_bool_var("")
            for machine, other_machine in zip(ones, others, strict=True):
                self.model.add(other.starts >= one.ends + between).only_enforce_if(machine, other_machine, before)
                self.model.add(one.starts >= other.ends + between).only_enforce_if(machine, other_machine, ~before)

    def _uses(self, load: Load, moments: Mapping[str, tuple[Minute, ...]]) -> Iterator[cp_model.IntVar]:
        """K8 and K9 d for all that draws on a load; gives how long it is held (K14)."""
        ready = self.starts[load.id][-1]
        uses: list[cp_model.LinearExprT] = [] if load.due is None else [load.due]
        for serves in load.serves:
            if serves.load in self.starts:
                moment = self.starts[serves.load][serves.step]
                self.model.add(ready <= moment)
                self._keeps(ready, moment, serves)
                uses.append(moment)
        if uses:
            first = self._moment()
            self.model.add_min_equality(first, uses)
            held = self.model.new_int_var(0, LONGEST, "")
            self.model.add(first - ready == held)
            yield held
        else:
            for serves in load.serves:
                if serves.load in moments:
                    self.model.add(ready <= moments[serves.load][serves.step])

    def _keeps(self, ready: cp_model.LinearExprT, moment: cp_model.LinearExprT, serves: Serves) -> None:
        """T6: not past the use-by; in days, for each date: ready on it or later, or drawn before what is older is past its use-by."""
        if serves.keeps is None:
            return
        if serves.keeps.unit == "h":
            self.model.add(moment <= ready + serves.keeps.amount)
            return
        dates = self.problem.day_starts
        for begins, over in zip(dates, dates[serves.keeps.amount :], strict=False):
            kept = self.model.new_bool_var("")
            self.model.add(moment < over).only_enforce_if(kept)
            self.model.add(ready >= begins).only_enforce_if(~kept)

    def take(self, placed: Placed) -> None:
        """Fix a load where a schedule has it."""
        for edge, moment in self._edges(placed):
            self.model.add(edge == moment)

    def fits(self) -> Answer:
        """Whether all the loads find a place together."""
        status = _solver().solve(self.model)
        if status in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            return "yes"
        return "no" if status == cp_model.INFEASIBLE else "unknown"

    def least_held(self, placed: Iterable[Placed]) -> tuple[int, int]:
        """The least minutes that all are held together, looking on from a schedule: what was found, and a bound under all there is.

        Raises ValueError where not even that schedule was found again.
        """
        for each in placed:
            for edge, moment in self._edges(each):
                self.model.add_hint(edge, moment)
        self.model.minimize(sum(self._held))
        solver = _solver()
        if solver.solve(self.model) not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            raise ValueError("the oracle found no schedule of these loads")
        return round(solver.objective_value), round(solver.best_objective_bound)

    def _edges(self, placed: Placed) -> Iterator[tuple[cp_model.IntVar, Minute]]:
        return zip(self.starts[placed.load], (*placed.starts, placed.ready), strict=True)


def _solver() -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = EFFORT
    return solver
