"""Shares: for whom the work of a plan is, and how much of it hangs on each.

Responsible for domain P11, and for the portions at risk of P7, told when asked: a question reaches every run above the
one that is asked about once. Refuses to know how it is shown.
"""

from collections.abc import Iterable, Mapping, Sequence

from service.kitchen.book.item import Item
from service.kitchen.planning.demand import Need, Share
from service.kitchen.planning.guests import Outlet
from service.kitchen.planning.plan import Plan, Use
from service.kitchen.planning.pulls import Pull
from service.kitchen.planning.runs import Run

Fed = Iterable[tuple[Need, float]]


class Shares:
    """Who the runs, uses and pulls of one plan are for."""

    def __init__(self, plan: Plan) -> None:
        self._runs = {run.id: run for run in plan.all_runs}
        self._outputs: dict[tuple[str, Item], tuple[Share, ...]] = {}
        self._all: dict[str, tuple[Share, ...]] = {}
        self._outlets: dict[str, int] = {}
        self._places: dict[Outlet, int] = {}
        self._placed: list[Outlet] = []

    def of_output(self, run: Run, item: Item) -> tuple[Share, ...]:
        """For whom a run makes one of its items: the needs that it met, then surplus and pars as nobody's; they sum to its quantity."""
        key = (run.id, item)
        if key not in self._outputs:
            self._outputs[key] = self._of_output(run, item) if run.shares is None else run.shares[item]
        return self._outputs[key]

    def of_run(self, run: Run) -> list[Share]:
        """For whom a run works, over all that it makes."""
        return [share for output in run.outputs for share in self.of_output(run, output.item)]

    def of_need(self, need: Need) -> list[Share]:
        """For whom something is needed."""
        return self.of_parts([(need, need.amount)])

    def of_uses(self, uses: Iterable[Use]) -> list[Share]:
        """For whom lots give what they give."""
        return self.of_parts((use.need, use.amount) for use in uses)

    def of_pull(self, pull: Pull) -> Sequence[Share]:
        """For whom something is pulled."""
        return self.of_parts(pull.fed) if pull.shares is None else pull.shares

    def stations_of_pull(self, pull: Pull) -> tuple[str, ...]:
        """The stations whose stages take what is pulled, before the site's map, each once."""
        if pull.shares is not None:
            return pull.stations
        takers = [(need, self._runs[need.drawn_by.id]) for need, _ in pull.fed if need.drawn_by is not None]
        return tuple(dict.fromkeys(station for need, run in takers for station in _takers(run, need)))

    def outlets_of_run(self, run: Run) -> list[Outlet]:
        """The outlets that a run works for, in order of time and name: cheaper than their shares."""
        return self._named(self._mask(run))

    def outlets_of_uses(self, uses: Iterable[Use]) -> list[Outlet]:
        """The outlets that lots give to."""
        return self._named(self._masks((use.need, use.amount) for use in uses))

    def outlets_of_pull(self, pull: Pull) -> list[Outlet]:
        """The outlets that something is pulled for."""
        if pull.shares is not None:
            return _outlets(pull.shares)
        return self._named(self._masks(pull.fed))

    def _of_output(self, run: Run, item: Item) -> tuple[Share, ...]:
        output = run.output(item)
        rows = self.of_parts((need, amount) for need, amount in run.fed if need.item == item and need.par is None)
        return merged(rows, output.surplus + output.for_pars)

    def of_parts(self, fed: Fed) -> list[Share]:
        """The shares of parts of needs; portions hang on a part in proportion, too (P11)."""
        found: list[Share] = []
        for need, part_of_it in fed:
            part = part_of_it / need.amount
            shares, ratio = self._behind(need)
            found += [Share(outlet, amount * ratio * part, portions * part) for outlet, amount, portions in shares]
        return found

    def _behind(self, need: Need) -> tuple[tuple[Share, ...], float]:
        """For whom something is needed: guests themselves, or those of the run that draws it, surplus included, and in which proportion."""
        if need.outlet is not None:
            return (Share(need.outlet, need.amount, need.portions),), 1.0
        if need.drawn_by is None:
            return (), 1.0
        run = self._runs[need.drawn_by.id]
        if run.id not in self._all:
            # Shares of the one thing that a run of today makes are merged already.
            alone = len(run.outputs) == 1 and run.shares is None
            self._all[run.id] = self.of_output(run, run.main.item) if alone else merged(self.of_run(run))
        return self._all[run.id], need.amount / run.quantity

    def _mask(self, run: Run) -> int:
        """The outlets behind a run, a bit each, so that those of thousands of runs are joined in no time."""
        known = self._outlets.get(run.id)
        if known is None:
            if run.shares is None:
                known = self._masks(run.fed)
            else:
                known = sum({self._bit(outlet) for shares in run.shares.values() for outlet in _outlets(shares)})
            self._outlets[run.id] = known
        return known

    def _masks(self, fed: Fed) -> int:
        mask = 0
        for need, _ in fed:
            if need.outlet is not None:
                mask |= self._bit(need.outlet)
            elif need.drawn_by is not None:
                mask |= self._mask(self._runs[need.drawn_by.id])
        return mask

    def _bit(self, outlet: Outlet) -> int:
        place = self._places.get(outlet)
        if place is None:
            place = self._places[outlet] = len(self._placed)
            self._placed.append(outlet)
        return 1 << place

    def _named(self, mask: int) -> list[Outlet]:
        found = []
        while mask:
            lowest = mask & -mask
            found.append(self._placed[lowest.bit_length() - 1])
            mask ^= lowest
        return sorted(found, key=lambda outlet: outlet.order)


def merged(shares: Iterable[Share], rest: float = 0.0) -> tuple[Share, ...]:
    """One share per outlet in a fixed order, and ``rest`` with all that is for nobody as the last (P11)."""
    amounts: dict[Outlet, list[float]] = {}
    for outlet, amount, portions in shares:
        if outlet is None:
            rest += amount
            continue
        known = amounts.setdefault(outlet, [0.0, 0.0])
        known[0] += amount
        known[1] += portions
    rows = [Share(outlet, *amounts[outlet]) for outlet in sorted(amounts, key=lambda each: each.order)]
    return (*rows, Share(None, rest, 0.0)) if rest > 0 else tuple(rows)


def portions_at_risk(shares: Iterable[Share], most: Mapping[Outlet, float]) -> list[tuple[Outlet, float]]:
    """How many portions of each outlet hang on some shares; a portion that hangs on two of them counts once (P7)."""
    portions_of: dict[Outlet, float] = {}
    for outlet, amount, portions in shares:
        if outlet is not None and amount > 0:
            portions_of[outlet] = min(portions_of.get(outlet, 0.0) + portions, most.get(outlet, portions))
    return sorted(portions_of.items(), key=lambda each: each[0].order)


def _takers(run: Run, need: Need) -> list[str]:
    """The stations of the stages of a run that ask for a need."""
    if len(run.stages) == 1 and run.shares is None:
        return [run.stages[0].station]
    asking = [draw for draw in run.draws if draw.item == need.item and draw.at == need.at]
    return [stage.station for stage in run.stages if any(map(stage.takes, asking))]


def _outlets(shares: Iterable[Share]) -> list[Outlet]:
    return sorted({share.outlet for share in shares if share.outlet is not None}, key=lambda outlet: outlet.order)
