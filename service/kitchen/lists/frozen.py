"""Frozen work: runs and pulls of a plan as documents that a print or a report keeps.

Responsible for writing them out and reading them back unchanged, whatever is published afterwards
(domain P15 a). Refuses to know when that happens.
"""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, time
from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.json import Json
from service.kitchen.book.lines import LineAmount
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Par
from service.kitchen.explained.shares import Shares
from service.kitchen.measures.amounts import write_amount
from service.kitchen.measures.batches import Batch
from service.kitchen.measures.calendar import FOREVER, UseBy, parse_duration, write_duration
from service.kitchen.measures.units import Quantity
from service.kitchen.planning.demand import Need, Share
from service.kitchen.planning.guests import Outlet
from service.kitchen.planning.names import RunKey
from service.kitchen.planning.pulls import Pull
from service.kitchen.planning.runs import Draw, Output, Run, Stage, TimedStep
from service.kitchen.safety.allergens import Allergens

AMOUNTS = ("need", "have", "asked", "for_pars", "quantity", "surplus")


def freeze_run(run: Run, allergens: Allergens, shares: Shares) -> Json:
    """Everything of a run that its tasks show and that later plans need."""
    return {
        "item": run.item.reference(),
        "on": run.on.isoformat(),
        "at": write_moment(run.at),
        "id": run.id,
        "version": run.version.number if run.version else None,
        "outputs": [_freeze_output(output, shares.of_output(run, output.item)) for output in run.outputs],
        "stages": [_freeze_stage(stage) for stage in run.stages],
        "batches": [[batch.count, batch.quantity, factor] for batch, factor in run.batches],
        "draws": [_freeze_draw(draw, run.version) for draw in run.draws],
        "gives": [[item.reference(), amount] for item, amount in run.gives],
        "pars": [_freeze_par(par) for par in run.pars],
        "fed": [
            [_freeze_outlet(need.outlet), _freeze_key(need.drawn_by), need.item.reference(), write_moment(need.at), amount]
            for need, amount in run.fed
        ],
        "allergens": allergens.document(),
    }


def thaw_run(document: Mapping[str, Any], catalogue: Catalogue, id_: str) -> Run:
    """The run that was frozen under an id, its version looked up among the immutable ones."""
    item = Item.read(document["item"])
    version = None
    if document["version"] is not None:
        version = next(each for each in catalogue.versions[item.code] if each.number == document["version"])
    return Run(
        item=item,
        on=date.fromisoformat(document["on"]),
        at=read_moment(document["at"]),
        id=id_,
        outputs=tuple(_thaw_output(each) for each in document["outputs"]),
        stages=tuple(_thaw_stage(each, version) for each in document["stages"]),
        version=version,
        batches=tuple((Batch(int(count), float(quantity)), float(factor)) for count, quantity, factor in document["batches"]),
        drawn=tuple(_thaw_draw(each, version) for each in document["draws"]),
        gives=tuple((Item.read(given), float(amount)) for given, amount in document["gives"]),
        pars=tuple(_thaw_par(each) for each in document["pars"]),
        fed=tuple(_thaw_fed(each) for each in document["fed"]),
        shares={Item.read(each["item"]): _thaw_shares(each["shares"]) for each in document["outputs"]},
        allergens=(frozenset(document["allergens"]["contains"]), frozenset(document["allergens"]["may_contain"])),
    )


def _thaw_fed(row: list[Any]) -> tuple[Need, float]:
    outlet, consumer, item, at, amount = row
    return Need(
        item=Item.read(item), at=read_moment(at), amount=float(amount), outlet=_thaw_outlet(outlet), drawn_by=_thaw_key(consumer)
    ), float(amount)


def freeze_pull(pull: Pull, shares: Shares) -> Json:
    """Everything of a pull that its entry shows and that later plans need."""
    return {
        "item": pull.item.reference(),
        "on": pull.on.isoformat(),
        "at": write_moment(pull.at),
        "starts": write_moment(pull.starts),
        "thaw": write_duration(pull.thaw),
        "id": pull.id,
        "amount": pull.amount,
        "shares": _freeze_shares(shares.of_pull(pull)),
        "pars": [_freeze_par(par) for par in pull.pars],
        "stations": list(shares.stations_of_pull(pull)),
    }


def thaw_pull(document: Mapping[str, Any], id_: str) -> Pull:
    """The pull that was frozen under an id."""
    at, starts = read_moment(document["at"]), read_moment(document["starts"])
    return Pull(
        item=Item.read(document["item"]),
        on=date.fromisoformat(document["on"]),
        at=at,
        starts=starts,
        id=id_,
        # As long as pulls knew no hours, it lay between them.
        thaw=parse_duration(document["thaw"]) if "thaw" in document else at - starts,
        amount=float(document["amount"]),
        pars=tuple(_thaw_par(each) for each in document["pars"]),
        shares=_thaw_shares(document["shares"]),
        # The first release did not tell them.
        stations=tuple(document.get("stations", ())),
    )


def _freeze_key(run: RunKey | None) -> list[Any] | None:
    """The run that draws a need, if one does."""
    return None if run is None else [run.item.reference(), run.id]


def _thaw_key(document: list[Any] | None) -> RunKey | None:
    """The run that draws a need; the first release named it by date and ordinal, which no id of today can be."""
    return None if document is None else RunKey(Item.read(document[0]), ".".join(str(part) for part in document[1:]))


def _freeze_par(par: Par) -> Json:
    level = {"amount": write_amount(par.level.amount), "unit": par.level.unit}
    return {"item": par.item.reference(), "level": level, "weekdays": sorted(par.weekdays), "by": par.by.isoformat()}


def _thaw_par(document: Mapping[str, Any]) -> Par:
    weekdays = frozenset(int(each) for each in document["weekdays"])
    return Par(Item.read(document["item"]), Quantity.read(document["level"]), weekdays, time.fromisoformat(document["by"]))


def _freeze_output(output: Output, shares: Iterable[Share]) -> Json:
    amounts = {name: getattr(output, name) for name in AMOUNTS}
    return {"item": output.item.reference(), **amounts, "use_by": freeze_use_by(output.use_by), "shares": _freeze_shares(shares)}


def _thaw_output(document: Mapping[str, Any]) -> Output:
    amounts = {name: float(document[name]) for name in AMOUNTS}
    return Output(item=Item.read(document["item"]), **amounts, use_by=thaw_use_by(document["use_by"]))


def _freeze_stage(stage: Stage) -> Json:
    return {
        "number": stage.number,
        "station": stage.station,
        "on": stage.on.isoformat(),
        "starts": write_moment(stage.starts),
        "ready": write_moment(stage.ready),
        "steps": [[step.number, write_moment(step.starts)] for step in stage.steps],
    }


def _thaw_stage(document: Mapping[str, Any], version: Version | None) -> Stage:
    steps = version.steps if version else ()
    return Stage(
        number=int(document["number"]),
        station=document["station"],
        on=date.fromisoformat(document["on"]),
        starts=read_moment(document["starts"]),
        ready=read_moment(document["ready"]),
        steps=tuple(TimedStep(int(number), steps[int(number) - 1], read_moment(starts)) for number, starts in document["steps"]),
    )


def _freeze_draw(draw: Draw, version: Version | None) -> Json:
    line = None
    if draw.line is not None and version is not None:
        amounts = draw.line
        index = version.lines.index(amounts.line)
        line = [index, amounts.stock, amounts.stock_kind, amounts.shown, amounts.shown_kind]
    return {"item": draw.item.reference(), "amount": draw.amount, "at": write_moment(draw.at), "line": line}


def _thaw_draw(document: Mapping[str, Any], version: Version | None) -> Draw:
    line = None
    if document["line"] is not None and version is not None:
        index, stock, stock_kind, shown, shown_kind = document["line"]
        line = LineAmount(
            line=version.lines[int(index)], stock=float(stock), stock_kind=stock_kind, shown=float(shown), shown_kind=shown_kind
        )
    return Draw(Item.read(document["item"]), float(document["amount"]), read_moment(document["at"]), line)


def _freeze_outlet(outlet: Outlet | None) -> list[str | None] | None:
    return None if outlet is None else [outlet.menu_item, outlet.on.isoformat(), outlet.period, outlet.event]


def _thaw_outlet(document: list[Any] | None) -> Outlet | None:
    return None if document is None else Outlet(document[0], date.fromisoformat(document[1]), document[2], document[3])


def _freeze_shares(shares: Any) -> list[Any]:
    return [[_freeze_outlet(share.outlet), share.amount, share.portions] for share in shares]


def _thaw_shares(document: list[Any]) -> tuple[Share, ...]:
    return tuple(Share(_thaw_outlet(outlet), float(amount), float(portions)) for outlet, amount, portions in document)


def freeze_use_by(use_by: UseBy) -> list[Any] | None:
    """A last moment of use, and whether that moment itself still serves; None where the thing keeps."""
    return None if use_by == FOREVER else [write_moment(use_by.moment), use_by.included]


def thaw_use_by(document: list[Any] | None) -> UseBy:
    """The last moment of use that was frozen."""
    return FOREVER if document is None else UseBy(read_moment(document[0]), included=bool(document[1]))


def write_moment(moment: datetime) -> str:
    """A moment as text in UTC, whole."""
    return moment.astimezone(UTC).isoformat()


def read_moment(text: str) -> datetime:
    """The moment of a text."""
    return datetime.fromisoformat(text)
