"""Frozen work: runs, pulls and uses of a plan as documents that a print or a report keeps.

Responsible for writing them out and reading them back unchanged, whatever is published afterwards
(domain P15 a). Refuses to know when that happens.
"""

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, time
from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.lines import LineAmount
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Par
from service.kitchen.measures.batches import Batch
from service.kitchen.measures.calendar import FOREVER, UseBy
from service.kitchen.measures.units import Quantity, write_amount
from service.kitchen.planning.demand import Need, Outlet, Share
from service.kitchen.planning.plan import Use
from service.kitchen.planning.pulls import Pull
from service.kitchen.planning.reported import FixedUse, Report, Served
from service.kitchen.planning.runs import Draw, Output, Run, RunKey, Stage, TimedStep
from service.kitchen.safety.allergens import Allergens

Json = dict[str, Any]
AMOUNTS = ("need", "have", "asked", "for_pars", "quantity", "surplus")


def freeze_run(run: Run, allergens: Allergens) -> Json:
    """Everything of a run that its tasks show and that later plans need."""
    return {
        "item": run.item.reference(),
        "on": run.on.isoformat(),
        "at": _write(run.at),
        "ordinal": run.ordinal,
        "version": run.version.number if run.version else None,
        "outputs": [_freeze_output(output) for output in run.outputs],
        "stages": [_freeze_stage(stage) for stage in run.stages],
        "batches": [[batch.count, batch.quantity, factor] for batch, factor in run.batches],
        "draws": [_freeze_draw(draw, run.version) for draw in run.draws],
        "gives": [[item.reference(), amount] for item, amount in run.gives],
        "pars": [_freeze_par(par) for par in run.pars_behind],
        "fed": [
            [_freeze_outlet(need.outlet), _freeze_key(need.drawn_by), need.item.reference(), _write(need.at), amount]
            for need, amount in run.fed
        ],
        "allergens": allergens.document(),
    }


def thaw_run(document: Mapping[str, Any], catalogue: Catalogue) -> Run:
    """The run that was frozen, its version looked up among the immutable ones."""
    item = Item.read(document["item"])
    version = None
    if document["version"] is not None:
        version = next(each for each in catalogue.versions[item.code] if each.number == document["version"])
    run = Run(
        item,
        date.fromisoformat(document["on"]),
        _read(document["at"]),
        int(document["ordinal"]),
        [_thaw_output(each) for each in document["outputs"]],
        tuple(_thaw_stage(each, version) for each in document["stages"]),
        version,
        tuple((Batch(int(count), float(quantity)), float(factor)) for count, quantity, factor in document["batches"]),
        [_thaw_draw(each, version) for each in document["draws"]],
        [(Item.read(given), float(amount)) for given, amount in document["gives"]],
    )
    run.pars = [_thaw_par(each) for each in document["pars"]]
    run.known_allergens = (frozenset(document["allergens"]["contains"]), frozenset(document["allergens"]["may_contain"]))
    run.fed = [
        (Need(Item.read(fed), _read(at), float(amount), outlet=_thaw_outlet(outlet), drawn_by=_thaw_key(consumer)), float(amount))
        for outlet, consumer, fed, at, amount in document["fed"]
    ]
    return run


def freeze_pull(pull: Pull) -> Json:
    """Everything of a pull that its entry shows and that later plans need."""
    return {
        "item": pull.item.reference(),
        "on": pull.on.isoformat(),
        "at": _write(pull.at),
        "starts": _write(pull.starts),
        "ordinal": pull.ordinal,
        "amount": pull.amount,
        "shares": _freeze_shares(pull.shares),
        "pars": [_freeze_par(par) for par in pull.pars],
    }


def thaw_pull(document: Mapping[str, Any]) -> Pull:
    """The pull that was frozen."""
    return Pull(
        Item.read(document["item"]),
        date.fromisoformat(document["on"]),
        _read(document["at"]),
        _read(document["starts"]),
        int(document["ordinal"]),
        float(document["amount"]),
        list(_thaw_shares(document["shares"])),
        [_thaw_par(each) for each in document["pars"]],
    )


def freeze_use(uses: Sequence[Use]) -> Json:
    """What the lots of one use-by gave of an item for a date, and what of it went to guests without another run between."""
    return {
        "item": uses[0].lot.item.reference(),
        "guests": [
            [_freeze_outlet(use.need.outlet), _write(use.need.at), use.amount, _freeze_key(use.lot.source)]
            for use in uses
            if use.need.outlet
        ],
        "amount": sum(use.amount for use in uses),
    }


def thaw_use(document: Mapping[str, Any], report: Report | None = None) -> FixedUse:
    """The use that was frozen, as what it gave to guests, with what was reported of it."""
    item = Item.read(document["item"])
    guests = [
        Served(Need(item, _read(at), float(amount), outlet=_thaw_outlet(outlet), settled=True), _thaw_key(source))
        for outlet, at, amount, source in document["guests"]
    ]
    return FixedUse(item, float(document["amount"]), tuple(guests), report)


def usable_until(document: Mapping[str, Any], on: date) -> date:
    """A date after which nothing that a frozen run makes is used any more; of a pull or use for ``on``, that date.

    What keeps for ever is as-purchased and soon counted, so that it does not keep old work alive.
    """
    moments = [_read(output["use_by"][0]) for output in document.get("outputs", ()) if output["use_by"] is not None]
    return max([on, *(moment.date() for moment in moments)])


def _freeze_key(run: object) -> list[Any] | None:
    """The run that made a lot or draws a need, if one does."""
    key = run.key if isinstance(run, Run) else run
    return [key.item.reference(), key.on.isoformat(), key.ordinal] if isinstance(key, RunKey) else None


def _thaw_key(document: list[Any] | None) -> RunKey | None:
    return None if document is None else RunKey(Item.read(document[0]), date.fromisoformat(document[1]), int(document[2]))


def _freeze_par(par: Par) -> Json:
    level = {"amount": write_amount(par.level.amount), "unit": par.level.unit}
    return {"item": par.item.reference(), "level": level, "weekdays": sorted(par.weekdays), "by": par.by.isoformat()}


def _thaw_par(document: Mapping[str, Any]) -> Par:
    weekdays = frozenset(int(each) for each in document["weekdays"])
    return Par(Item.read(document["item"]), Quantity.read(document["level"]), weekdays, time.fromisoformat(document["by"]))


def _freeze_output(output: Output) -> Json:
    use_by = None if output.use_by == FOREVER else [_write(output.use_by.moment), output.use_by.included]
    amounts = {name: getattr(output, name) for name in AMOUNTS}
    return {"item": output.item.reference(), **amounts, "use_by": use_by, "shares": _freeze_shares(output.shares)}


def _thaw_output(document: Mapping[str, Any]) -> Output:
    use_by = FOREVER if document["use_by"] is None else UseBy(_read(document["use_by"][0]), included=bool(document["use_by"][1]))
    amounts = {name: float(document[name]) for name in AMOUNTS}
    return Output(Item.read(document["item"]), **amounts, use_by=use_by, shares=_thaw_shares(document["shares"]))


def _freeze_stage(stage: Stage) -> Json:
    return {
        "number": stage.number,
        "station": stage.station,
        "on": stage.on.isoformat(),
        "starts": _write(stage.starts),
        "ready": _write(stage.ready),
        "steps": [[step.number, _write(step.starts)] for step in stage.steps],
    }


def _thaw_stage(document: Mapping[str, Any], version: Version | None) -> Stage:
    steps = version.steps if version else ()
    return Stage(
        int(document["number"]),
        document["station"],
        date.fromisoformat(document["on"]),
        _read(document["starts"]),
        _read(document["ready"]),
        tuple(TimedStep(int(number), steps[int(number) - 1], _read(starts)) for number, starts in document["steps"]),
    )


def _freeze_draw(draw: Draw, version: Version | None) -> Json:
    line = None
    if draw.line is not None and version is not None:
        amounts = draw.line
        index = version.lines.index(amounts.line)
        line = [index, amounts.stock, amounts.stock_kind, amounts.shown, amounts.shown_kind]
    return {"item": draw.item.reference(), "amount": draw.amount, "at": _write(draw.at), "line": line}


def _thaw_draw(document: Mapping[str, Any], version: Version | None) -> Draw:
    line = None
    if document["line"] is not None and version is not None:
        index, stock, stock_kind, shown, shown_kind = document["line"]
        line = LineAmount(version.lines[int(index)], float(stock), stock_kind, float(shown), shown_kind)
    return Draw(Item.read(document["item"]), float(document["amount"]), _read(document["at"]), line)


def _freeze_outlet(outlet: Outlet | None) -> list[str | None] | None:
    return None if outlet is None else [outlet.menu_item, outlet.on.isoformat(), outlet.period, outlet.event]


def _thaw_outlet(document: list[Any] | None) -> Outlet | None:
    return None if document is None else Outlet(document[0], date.fromisoformat(document[1]), document[2], document[3])


def _freeze_shares(shares: Any) -> list[Any]:
    return [[_freeze_outlet(share.outlet), share.amount, share.portions] for share in shares]


def _thaw_shares(document: list[Any]) -> tuple[Share, ...]:
    return tuple(Share(_thaw_outlet(outlet), float(amount), float(portions)) for outlet, amount, portions in document)


def _write(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat()


def _read(text: str) -> datetime:
    return datetime.fromisoformat(text)
