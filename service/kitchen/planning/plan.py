"""The plan of one site: from a first business date on, every run, use and pull that its demand asks for.

Responsible for domain P2 to P6 and P12, P13, P16, item by item, consumers before suppliers. It is
written to be read: one site, plain numbers, values in and values out. Refuses to know dates' lists,
rounding for display, storage and the clock.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from service.errors import PlanTooLarge, RecipeLoop
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.site import Site
from service.kitchen.measures.calendar import FOREVER, UseBy
from service.kitchen.planning.demand import Demand, Need
from service.kitchen.planning.names import Names
from service.kitchen.planning.openrun import OpenRun, Taken
from service.kitchen.planning.pulls import Pull, pull_for, supply_of
from service.kitchen.planning.reported import NOTHING_REPORTED, Reported
from service.kitchen.planning.runs import Run
from service.kitchen.planning.sequence import LOOK_BACK, Edges, active_between, edges, in_order, lead_of_cut
from service.kitchen.planning.settling import Settling
from service.kitchen.planning.staffing import Staffing
from service.kitchen.planning.stock import NIL, Lot, Shelf
from service.kitchen.planning.warned import Warned
from service.limits import NEEDS_OF_A_PLAN


class Use(NamedTuple):
    """What a lot gave to a need."""

    lot: Lot
    need: Need
    amount: float


@dataclass(frozen=True, slots=True, weakref_slot=True, eq=False, kw_only=True)
class Plan:
    """Everything that planning decided; lists of dates are slices of it (P14).

    Of every item, lots, by-products and what is made or pulled equal what is drawn, served and left (P10).
    ``left_out`` holds needs of items without a version in force, ``lacking`` what reported work took and no lot had (P15 c);
    ``staffing`` is in whose hours work begins (K3).
    """

    first: date
    until: date
    runs: tuple[Run, ...]
    uses: tuple[Use, ...]
    pulls: tuple[Pull, ...]
    lots: tuple[Lot, ...]
    needs: tuple[Need, ...]
    left_out: tuple[tuple[Need, float], ...]
    lacking: tuple[tuple[Need, float], ...]
    warnings: tuple[Warned, ...]
    demand: Demand
    reported: Reported = NOTHING_REPORTED
    staffing: Staffing | None = None

    @property
    def all_runs(self) -> tuple[Run, ...]:
        """Its runs, and those that reports have fixed (P15 a)."""
        return (*self.runs, *(fixed.run for fixed in self.reported.runs))

    def sources(self) -> dict[str, list[Lot | Run]]:
        """The lots and runs that each run draws from, by its id."""
        found: dict[str, list[Lot | Run]] = defaultdict(list)
        drawn: list[tuple[Need, Lot | Run]] = [(use.need, use.lot) for use in self.uses]
        drawn += ((need, run) for run in self.runs for need, _ in run.fed)
        for need, source in drawn:
            if need.drawn_by is not None:
                found[need.drawn_by.id].append(source)
        return found


def plan(
    catalogue: Catalogue,
    site: Site,
    demand: Demand,
    lots: Iterable[Lot],
    first: date,
    until: date,
    *,
    one_run: bool = False,
    reported: Reported = NOTHING_REPORTED,
    moments: Mapping[Item, datetime] | None = None,
    staffing: Staffing | None = None,
) -> Plan:
    """The plan of a site for a demand from business date ``first`` on; ``lots`` are what is on hand (stock in store excepted).

    What was ``reported`` stays as it is and is not asked for again (P15). With ``one_run`` every need of an item joins one
    run, whatever its date, of the version in force on ``first`` (S5). From its moment of ``moments`` on, a need of an item (of a
    cut, its first form) cannot change the list, and is left out (P14). Work begins in the hours of ``staffing`` (K3).
    Raises PlanTooLarge, and RecipeLoop of versions in a loop.
    """
    return _Planner(catalogue, site, demand, lots, (first, until), one_run, reported, moments, staffing).plan()


class _Planner:
    """The state of planning one site: needs still to be met, what is on the shelves, and what was decided."""

    def __init__(
        self,
        catalogue: Catalogue,
        site: Site,
        demand: Demand,
        lots: Iterable[Lot],
        window: tuple[date, date],
        one_run: bool,  # noqa: FBT001 - the only caller is above.
        reported: Reported,
        moments: Mapping[Item, datetime] | None,
        staffing: Staffing | None,
    ) -> None:
        self.catalogue, self.site, self.calendar, self.staffing = catalogue, site, site.calendar(), staffing
        self.demand, self.window, self.one_run = demand, window, one_run
        self.reported, self.moments = reported, moments or {}
        self.settling = Settling()
        self.names = Names(site.code, self.calendar, reported.ids)
        self.lots: list[Lot] = [*lots, *reported.lots]
        self.shelves: dict[Item, Shelf] = defaultdict(Shelf)
        for lot in self.lots:
            self.shelves[lot.item].add(lot)
        self.waiting: dict[Item, list[Need]] = defaultdict(list)
        self.needs: list[Need] = []
        self.runs: list[Run] = []
        self.uses: list[Use] = []
        self.pulls: list[Pull] = []
        self.left_out: list[tuple[Need, float]] = []
        self.warnings: list[Warned] = list(demand.warnings)
        self.floor = window[0] if one_run else window[0] - LOOK_BACK

    def plan(self) -> Plan:
        for need in (*self.reported.unserved(self.demand.needs), *self.reported.needs):
            self.ask(need)
        for item in (each for each in self._order() if each in self.waiting):
            needs = self.settling.first(self.waiting.pop(item), self.shelves, self._short)
            if item.raw:
                self._pull(item, needs)
            else:
                self._make(needs)
        return Plan(
            first=self.window[0],
            until=self.window[1],
            runs=tuple(self.runs),
            uses=tuple(self.uses),
            pulls=tuple(self.pulls),
            lots=tuple(self.lots),
            needs=tuple(self.needs),
            left_out=tuple(self.left_out),
            lacking=tuple(self.settling.lacking),
            warnings=tuple(dict.fromkeys(self.warnings)),
            demand=self.demand,
            reported=self.reported,
            staffing=self.staffing,
        )

    def ask(self, need: Need) -> None:
        """Let a need wait for its item's turn, if it counts."""
        lead = lead_of_cut(self.catalogue, need.item)
        counting = self.moments.get(lead)
        if counting is None or need.at < counting:
            self.needs.append(need)
            self.waiting[lead].append(need)
            if len(self.needs) > NEEDS_OF_A_PLAN:
                raise PlanTooLarge

    def _order(self) -> list[Item]:
        """Consumers before suppliers, over every version that the plan can meet.

        Only versions in force from today on are checked for loops when they are published, so late work whose old
        versions close a loop is planned by the versions in force on the first date instead.
        """
        key, wanted = (self.catalogue.audience(self.site.code), self.catalogue.last_turn(self.floor)), list(self.waiting)
        try:
            order = self.catalogue.once(("order", *key), lambda: in_order(self._edges(())))
            known = self.catalogue.once(("in order", *key), lambda: frozenset(order))
            return order if known.issuperset(wanted) else in_order(self._edges(wanted))
        except RecipeLoop:
            if self.floor == self.window[0]:
                raise
            self.floor = self.window[0]
            return self._order()

    def _edges(self, wanted: Iterable[Item]) -> Edges:
        return edges(self.catalogue, active_between(self.catalogue, self.site.code, self.floor), wanted)

    def _make(self, needs: list[Need]) -> None:
        """Meet the needs of a recipe, or of the forms of a cut, from lots and runs (P4, P5, P16)."""
        run: OpenRun | None = None
        for need in needs:
            if need.settled:
                self.settling.take(need, self._short)
                continue
            if run is not None and not run.takes(need):
                self._close(run)
                run = None
            taken = self._count(need, run) if need.par else self._take(need)
            if taken.short == 0:
                # It takes nothing of the run and still counts in what the run's task tells: need = have + quantity − surplus (P9).
                if run is not None and need.par is None:
                    run.add(taken)
                continue
            if run is None:
                run = self._open(taken)
            if run is None:
                self.left_out.append((need, taken.short))
                continue
            run.add(taken)
        if run is not None:
            self._close(run)

    def _count(self, need: Need, run: OpenRun | None) -> Taken:
        """What a par still lacks: its level less the lots usable then and what the open run makes for earlier pars (P16)."""
        made = run.for_pars[need.item] if run is not None else 0.0
        return Taken(need, 0.0, _unless_nil(need.amount - self.shelves[need.item].usable(need.at) - made, need))

    def _take(self, need: Need) -> Taken:
        """Take what lots can give to a need, first expired first (P3)."""
        have = 0.0
        for lot, amount in self.shelves[need.item].take(need.amount, need.at):
            have += amount
            self.uses.append(Use(lot, need, amount))
        return Taken(need, have, _unless_nil(need.amount - have, need) if have else need.amount)

    def _short(self, need: Need) -> float:
        """What lots leave short of a need after they gave to it."""
        return self._take(need).short

    def _open(self, taken: Taken) -> OpenRun | None:
        """Open a run at the first need not wholly met; None, with a warning, where no version is in force then (P12)."""
        need, on = taken.need, self._date(taken.need)
        if not need.item.is_recipe:
            return OpenRun.of_cut(self.catalogue, need.item, self.calendar, (on, need.at), one_run=self.one_run)
        version = self.catalogue.in_force(need.item.code, self.site.code, max(on, self.floor))
        if version is None:
            user = self.catalogue.menu_items[need.outlet.menu_item].name if need.outlet else need.label
            title = self.catalogue.title(need.item, self.site.code or None)
            detail = f"{title} has no version in force on {on}; left out for {user}"
            self.warnings.append(Warned(on, "no_version", detail, item=need.item, period=need.outlet and need.outlet.period))
            return None
        return OpenRun.of_recipe(version, self.calendar, (on, need.at), self.staffing, one_run=self.one_run)

    def _date(self, need: Need) -> date:
        return need.on or self.calendar.business_date(need.at)

    def _close(self, opened: OpenRun) -> None:
        """Round the run once, put what nobody asked for on the shelf, and let its draws wait (P4, P5, P6)."""
        id_ = self.names.run(opened.lead, opened.on, opened.at)
        run, warnings = opened.closed(self.catalogue, self.site, self.calendar, id_, max(opened.on, self.floor))
        self.warnings += warnings
        self.runs.append(run)
        for output in run.outputs:
            self._shelve(output.item, output.surplus + output.for_pars, output.quantity, run, output.use_by)
        for item, amount in run.gives:
            keeps = self.catalogue.ingredients[item.code].keeps
            self._shelve(item, amount, amount, run, FOREVER if keeps is None else self.calendar.use_by(run.ready, keeps))
        for draw in run.draws:
            # A draw is a need of its item, with the shares of its run in proportion (P6, P11).
            if draw.amount > 0:
                self.ask(run.need(draw, draw.amount, self.calendar))

    def _shelve(self, item: Item, amount: float, whole: float, run: Run, use_by: UseBy) -> None:
        """A lot of what a run makes beyond its needs, unless it is nil (P2, P5)."""
        if amount <= NIL * whole or amount <= 0:
            return
        number = run.version.number if run.version and item.is_recipe else None
        lot = Lot(item=item, amount=amount, ready=run.ready, use_by=use_by, version=number, made=run.on, source=run.key)
        self.lots.append(lot)
        self.shelves[item].add(lot)
        self.settling.supply(lot, self._short)

    def _pull(self, item: Item, needs: list[Need]) -> None:
        """What by-products and what is already in the kitchen do not meet of an ingredient, by business date of need (P13, T7)."""
        fed: dict[date, list[tuple[Need, float]]] = defaultdict(list)
        supply = supply_of(self.catalogue, self.site, item, self.reported.store)
        for need in needs:
            if need.settled:
                self.settling.take(need, self._short)
                continue
            taken = self._take(need)
            if taken.short == 0:
                continue
            fed[self._date(need)].append((need, taken.short))
        for on, parts in fed.items():
            pull, outside = pull_for(parts, on, self.names.pull(item, on, parts[0][0].names), supply, self.staffing)
            if outside:
                detail = f"{self.catalogue.title(item)}: nobody is on shift to pull it in the 14 days before {on}, when it is needed"
                self.warnings.append(Warned(self.calendar.business_date(pull.starts), "outside_hours", detail, item=item))
            self.pulls.append(pull)


def _unless_nil(short: float, need: Need) -> float:
    """What is left of a need; at or under 1e-9 of it that is nil (P2)."""
    return short if short > NIL * need.amount else 0.0
