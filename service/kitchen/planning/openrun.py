"""A run while it is open: which needs it still takes, and what it becomes when it closes.

Responsible for the inside of domain P4, P5 and Y7: the window of a run, one rounding at its close, and
the amounts drawn and given. Refuses to know lots and other items.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import NamedTuple

from service.errors import KitchenError, ServiceError
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import Form
from service.kitchen.book.item import Item
from service.kitchen.book.lines import LineAmount, trimmings
from service.kitchen.book.recipe import Line, Version
from service.kitchen.book.site import Site
from service.kitchen.measures.batches import Batch, in_batches, round_up
from service.kitchen.measures.calendar import FOREVER, Calendar, UseBy
from service.kitchen.planning.demand import Need
from service.kitchen.planning.makings import making_of, sizes_of
from service.kitchen.planning.runs import Draw, Output, Run, Stage, stages_of, times_of
from service.kitchen.planning.staffing import Staffing
from service.kitchen.planning.stock import NIL
from service.kitchen.planning.warned import Warned


class Taken(NamedTuple):
    """A need with what lots gave to it and what they left short."""

    need: Need
    have: float
    short: float


class Window(NamedTuple):
    """Until when a run serves needs of one item: up to a business date, and not past its use-by (P4)."""

    before: date
    use_by: UseBy


class Made(NamedTuple):
    """How a run is made: stages, what it gives, what must be said, batches with their factors, and its lines or what else it draws."""

    stages: tuple[Stage, ...]
    gives: list[tuple[Item, float]]
    warnings: list[Warned]
    batches: tuple[tuple[Batch, float], ...] = ()
    lines: tuple[LineAmount, ...] = ()
    drawn: tuple[Draw, ...] = ()


@dataclass(slots=True, kw_only=True)
class OpenRun:
    """A run that opened at its first unmet need; ``windows`` holds one window per item that it makes.

    ``times`` are the starts of a recipe's steps and when it is ready, ``outside`` the stations in whose hours these have no place (K3).
    """

    lead: Item
    on: date
    at: datetime
    windows: dict[Item, Window]
    version: Version | None = None
    forms: tuple[Form, ...] = ()
    times: Sequence[datetime] = ()
    outside: Sequence[str] = ()
    parts: list[Taken] = field(default_factory=list)
    for_pars: dict[Item, float] = field(default_factory=lambda: defaultdict(float))

    @classmethod
    def of_recipe(
        cls, version: Version, calendar: Calendar, opened: tuple[date, datetime], staffing: Staffing | None, *, one_run: bool
    ) -> "OpenRun":
        """A run of a recipe by the version in force on its first date, at the times of T2 or, by the hours of a site, of K3."""
        on, at = opened
        limiting = staffing.bound(version).limiting if staffing else ()
        placed = staffing.times(version, at) if staffing and limiting else None
        times = placed or times_of(version, at)
        window = _forever() if one_run else Window(on + timedelta(days=version.makes_for), calendar.use_by(times[-1], version.keeps))
        outside = limiting if placed is None else ()
        return cls(lead=version.item, on=on, at=at, windows={version.item: window}, version=version, times=times, outside=outside)

    @classmethod
    def of_cut(cls, catalogue: Catalogue, item: Item, calendar: Calendar, opened: tuple[date, datetime], *, one_run: bool) -> "OpenRun":
        """A run of the forms that share a cut; each form has a window of its own (P5)."""
        on, at = opened
        form = catalogue.form(item)
        if form is None:
            raise KitchenError(f"{item.label} is not in the catalogue")
        forms = catalogue.ingredients[item.code].cut_of(form)
        windows = {
            each.item: _forever() if one_run else Window(on + timedelta(days=each.makes_for), calendar.use_by(at, each.keeps))
            for each in forms
        }
        return cls(lead=next(iter(windows)), on=on, at=at, windows=windows, version=None, forms=forms)

    def takes(self, need: Need) -> bool:
        """Whether a following need is inside: before the run's last date, and the run still usable at its time (P4)."""
        window = self.windows[need.item]
        return need.on is not None and need.on < window.before and window.use_by.covers(need.at)

    def add(self, taken: Taken) -> None:
        """Let a need join, with what lots already gave to it."""
        self.parts.append(taken)
        if taken.need.par is not None:
            self.for_pars[taken.need.item] += taken.short

    def closed(self, catalogue: Catalogue, site: Site, calendar: Calendar, id_: str, on: date) -> tuple[Run, list[Warned]]:
        """The run as it is made, rounded once (P4, S3, Y6, Y7), and what must be said about it; versions are those of ``on``."""
        outputs = [self._output(item, calendar) for item in self.windows]
        if self.version is None:
            made = self._trim(outputs, catalogue, calendar)
        else:
            made = self._cook(outputs[0], self.version, catalogue, site, calendar, on)
        own = [taken.need.par for taken in self.parts if taken.need.par is not None]
        fed = [(taken.need, taken.short) for taken in self.parts if taken.short > 0]
        run = Run(
            item=self.lead,
            on=self.on,
            at=self.at,
            id=id_,
            outputs=tuple(outputs),
            stages=made.stages,
            version=self.version,
            batches=made.batches,
            lines=made.lines,
            times=self.times,
            drawn=made.drawn,
            gives=tuple(made.gives),
            pars=tuple(dict.fromkeys([*own, *(par for need, _ in fed for par in need.pars)])),
            fed=tuple(fed),
        )
        return run, made.warnings

    def _output(self, item: Item, calendar: Calendar) -> Output:
        output = Output(item=item)
        for need, have, short in self.parts:
            if need.item != item:
                continue
            # Lots are not taken for a par: its part of the need is what it lacks (P16).
            output.need += short if need.par else need.amount
            if have:
                output.have += have
            output.asked += short
        output.for_pars = self.for_pars.get(item, 0.0)
        output.use_by = self._use_by(item, calendar)
        return output

    def _use_by(self, item: Item, calendar: Calendar) -> UseBy:
        keeps = self.version.keeps if self.version else next(form.keeps for form in self.forms if form.item == item)
        return calendar.use_by(self.times[-1] if self.times else self.at, keeps)

    def _finish(self, output: Output, quantity: float) -> None:
        """The quantity made and what it leaves beyond the needs (S4); at or under 1e-9 of it that is nil (P2)."""
        output.quantity = quantity
        surplus = quantity - output.asked
        output.surplus = surplus if surplus > NIL * quantity else 0.0

    def _trim(self, outputs: list[Output], catalogue: Catalogue, calendar: Calendar) -> Made:
        """Make forms ready: AP for the form that needs most of it, in whole pieces where one is drawn whole (Y1, Y6, Y7)."""
        ingredient = catalogue.ingredients[self.lead.code]
        # Every piece gives all forms of the cut: the one that needs most decides, and of the others something is left.
        drawn = max(output.asked / float(form.trim_yield) for output, form in zip(outputs, self.forms, strict=True))
        piece = ingredient.piece_amount
        if piece is not None and any(form.whole for form in self.forms):
            drawn = round_up(drawn / piece) * piece
        gives: list[tuple[Item, float]] = []
        for output, form in zip(outputs, self.forms, strict=True):
            self._finish(output, drawn * float(form.trim_yield))
            gives += [(Item(code), drawn * trimmings(catalogue, ingredient.code, fraction, code)) for code, fraction in form.by_products]
        starts = self.at - max(ingredient.lead(form, output.quantity) for output, form in zip(outputs, self.forms, strict=True))
        stage = Stage(number=1, station=self.forms[0].station, on=calendar.business_date(starts), starts=starts, ready=self.at)
        return Made(stages=(stage,), drawn=(Draw(ingredient.item, drawn, starts),), gives=gives, warnings=[])

    def _cook(self, output: Output, version: Version, catalogue: Catalogue, site: Site, calendar: Calendar, on: date) -> Made:
        """Cook a recipe in batches: what each takes by each line, at the time of its step, and what it gives (S1 to S3, T2, P6)."""
        sizes, vessel_left_out = sizes_of(catalogue, site, version)
        making = making_of(catalogue, site.code, version, on)
        stages = stages_of(version, self.times, calendar)
        batches = tuple((batch, batch.quantity / making.authored) for batch in in_batches(output.asked, sizes))
        self._finish(output, sum(batch.count * batch.quantity for batch, _ in batches))
        factor = sum(batch.count * each for batch, each in batches)
        gives = [(item, amount * factor) for item, amount in making.gives]
        made = Made(stages=stages, batches=batches, lines=making.amounts, gives=gives, warnings=[])
        title = version.title
        if vessel_left_out:
            detail = f"{title}: the site's vessel does not fit the batch rule and is left out"
            made.warnings.append(Warned(stages[0].on, "vessel_too_small", detail, item=version.item))
        if self.outside:
            made.warnings.append(_outside_hours(title, self, stages[0], catalogue, calendar))
        for line, amount in making.lines:
            # Better a run without the line, and a warning, than no run.
            if isinstance(amount, ServiceError):
                on_list = calendar.business_date(self.times[line.step - 1 if line.step else 0])
                made.warnings.append(Warned(on_list, "no_version", f"{title}: {amount.detail}; left out", item=line.item))
            elif any(line.scaling.beyond(each) for _, each in batches):
                made.warnings.append(_beyond_tested(stages, line, version, catalogue.title(line.item, site.code or None)))
        return made


def _forever() -> Window:
    return Window(date.max, FOREVER)


def _beyond_tested(stages: Sequence[Stage], line: Line, version: Version, item: str) -> Warned:
    """A batch larger than the kitchen tried: the last slope holds beyond the last point (S2)."""
    stage = next(stage for stage in stages if stage.holds(line.step))
    detail = f"{version.title}: {item} is beyond what was tested for a batch of this size; taste it"
    return Warned(stage.on, "seasoning_out_of_range", detail, item=version.item)


def _outside_hours(title: str, run: OpenRun, first: Stage, catalogue: Catalogue, calendar: Calendar) -> Warned:
    """Nobody is there when a run would have to be made (K3)."""
    stations = " and ".join(map(catalogue.station_name, run.outside))
    by = run.at.astimezone(calendar.zone)
    detail = f"{title} has no place in the hours of {stations} in the 14 days before it is needed, on {by:%Y-%m-%d at %H:%M}"
    return Warned(first.on, "outside_hours", f"{detail}; it is listed as if somebody were there", item=run.lead)
