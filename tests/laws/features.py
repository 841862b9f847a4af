"""Features: what of the domain a generated kitchen's plan actually uses.

Responsible for naming what matters in a plan. Refuses to judge it.
"""

from collections.abc import Iterator, Mapping

from service.kitchen.book.item import Item
from service.kitchen.book.vessels import batch_sizes
from service.kitchen.measures.calendar import FOREVER
from service.kitchen.planning.names import RunKey
from service.kitchen.planning.plan import Plan, Use
from service.kitchen.planning.runs import Run
from tests.laws.kitchens import Kitchen

FEATURES = frozenset(
    {
        "a cut", "whole pieces", "a form's by-product", "a recipe's by-product", "surplus used later",
        "two versions of a recipe", "a version of one site", "a recipe without a version",
        "a lot kept by days", "a lot kept by hours", "a lot in store", "two lots of an item",
        "a run for several dates", "a run for several consumers", "a sub-recipe",
        "thaw", "work that is late", "a clock change", "several periods", "a period after midnight",
        "a vessel", "several batches", "a multiple", "a smallest batch", "full batches and a rest", "a counted yield",
        "percent", "tested", "power", "per_batch", "critical", "beyond what was tested",
        "a par of a recipe", "a par of a form", "an event", "an override", "a till code", "two sources",
        "several stations", "an overnight run", "a window", "kinds crossed", "own measures", "food left over",
    }
)  # fmt: skip


def features(kitchen: Kitchen, planned: Plan) -> set[str]:
    """The features that a plan shows."""
    found = {*_of_demand(kitchen, planned), *_of_lots(kitchen, planned)}
    for run in planned.runs:
        found |= {*_of_run(kitchen, run)} | {*(_of_recipe(kitchen, run) if run.version else _of_cut(kitchen, run))}
    made = {run.id: run for run in planned.runs}
    for use in planned.uses:
        found |= {*_of_use(use, made)}
    for pull in planned.pulls:
        found |= {"thaw"} if pull.starts < pull.at else set()
    return found


def _of_demand(kitchen: Kitchen, planned: Plan) -> Iterator[str]:
    outlets = planned.demand.portions
    dates = {outlet.on for outlet in outlets}
    if any(len({outlet.period for outlet in outlets if outlet.on == on}) > 1 for on in dates):
        yield "several periods"
    if any(outlet.event for outlet in outlets):
        yield "an event"
    if any((on, period, code, event) in kitchen.overrides for code, on, period, event in outlets):
        yield "an override"
    expected = [each for each in kitchen.forecasts if planned.first <= each.date <= planned.until]
    if any(each.till_code and (each.source, each.till_code) in kitchen.catalogue.till_codes for each in expected):
        yield "a till code"
    if len({each.source for each in expected}) > 1:
        yield "two sources"
    starts = kitchen.site.day_starts
    if any(period.ready_by < starts and period.code in {outlet.period for outlet in outlets} for period in kitchen.site.periods):
        yield "a period after midnight"
    if planned.left_out or any(warned.code == "no_version" for warned in planned.warnings):
        yield "a recipe without a version"


def _of_lots(kitchen: Kitchen, planned: Plan) -> Iterator[str]:
    needed = {need.item for need in planned.needs}
    if any(each.in_store and each.item in needed for each in kitchen.counted):
        yield "a lot in store"
    items = [use.lot.item for use in {id(use.lot): use for use in planned.uses if use.lot.source is None}.values()]
    if len(items) > len(set(items)):
        yield "two lots of an item"
    if any(lot.left > 0 and lot.source is not None for lot in planned.lots):
        yield "food left over"
    recipes = [(run.item, run.version.number) for run in planned.runs if run.version]
    if any(len({number for item, number in recipes if item == one}) > 1 for one, _ in recipes):
        yield "two versions of a recipe"


def _of_use(use: Use, made: Mapping[str, Run]) -> Iterator[str]:
    lot = use.lot
    if lot.source is None and lot.use_by != FOREVER:
        yield "a lot kept by hours" if lot.use_by.included else "a lot kept by days"
    if isinstance(lot.source, RunKey):
        if not lot.item.raw:
            yield "surplus used later"
        else:
            yield "a recipe's by-product" if made[lot.source.id].version else "a form's by-product"


def _of_run(kitchen: Kitchen, run: Run) -> Iterator[str]:
    calendar = kitchen.site.calendar()
    if len({need.on for need, _ in run.fed}) > 1:
        yield "a run for several dates"
    if len({need.drawn_by for need, _ in run.fed if need.drawn_by is not None}) > 1:
        yield "a run for several consumers"
    for par in run.pars:
        yield "a par of a recipe" if par.item.is_recipe else "a par of a form"
    if any(stage.on < kitchen.first for stage in run.stages):
        yield "work that is late"
    if len({stage.station for stage in run.stages}) > 1:
        yield "several stations"
    if len({stage.on for stage in run.stages}) > 1:
        yield "an overnight run"
    starts, ready = (moment.astimezone(calendar.zone).utcoffset() for moment in (run.stages[0].starts, run.at))
    if starts != ready:
        yield "a clock change"


def _of_cut(kitchen: Kitchen, run: Run) -> Iterator[str]:
    forms = [kitchen.catalogue.form(output.item) for output in run.outputs]
    if len(forms) > 1:
        yield "a cut"
    if any(form is not None and form.whole for form in forms) and any(output.surplus > 0 for output in run.outputs):
        yield "whole pieces"


def _of_recipe(kitchen: Kitchen, run: Run) -> Iterator[str]:
    version = run.version
    assert version is not None
    if version.sites is not None:
        yield "a version of one site"
    if version.kind == "count":
        yield "a counted yield"
    own, (sizes, left_out) = batch_sizes(version, None)[0], batch_sizes(version, kitchen.site)
    if not left_out and sizes.largest != own.largest:
        yield "a vessel"
    if sum(batch.count for batch, _ in run.batches) > 1:
        yield "several batches"
    if version.batch.multiple is not None and run.main.surplus > 0:
        yield "a multiple"
    if sizes.smallest is not None and any(batch.quantity == sizes.smallest for batch, _ in run.batches) and run.main.surplus > 0:
        yield "a smallest batch"
    if sizes.split == "full" and len(run.batches) > 1:
        yield "full batches and a rest"
    if any(step.step.passive.least is not None for stage in run.stages for step in stage.steps):
        yield "a window"
    yield from _of_lines(run)


def _of_lines(run: Run) -> Iterator[str]:
    for amount in (draw.line for draw in run.draws):
        assert amount is not None
        line = amount.line
        yield line.scaling.rule
        if line.critical:
            yield "critical"
        if line.item.is_recipe:
            yield "a sub-recipe"
        if amount.shown_kind != amount.stock_kind:
            yield "kinds crossed"
        if line.quantity.unit in ("bunch", "jug", "tray"):
            yield "own measures"
        if any(line.scaling.beyond(factor) for _, factor in run.batches):
            yield "beyond what was tested"


def gifts(kitchen: Kitchen) -> set[Item]:
    """The ingredients that some form or recipe gives as a by-product."""
    given = {Item(code) for each in kitchen.catalogue.ingredients.values() for form in each.forms for code, _ in form.by_products}
    versions = [version for found in kitchen.catalogue.versions.values() for version in found]
    return given | {Item(code) for version in versions for code, _ in version.by_products}
