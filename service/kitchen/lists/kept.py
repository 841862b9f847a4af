"""Kept dates: a business date that is over as a document, and back.

Responsible for writing out what a closed date leaves and reading it back unchanged (domain P15). Refuses to know how a
date is closed, and where the documents are kept.
"""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.json import Json
from service.kitchen.lists.frozen import freeze_use_by, read_moment, thaw_use_by, write_moment
from service.kitchen.planning.names import RunKey
from service.kitchen.planning.past import Closed
from service.kitchen.planning.stock import Lot, PastRun


def freeze_closed(closed: Closed) -> Json:
    """Everything of a closed date but the date itself."""
    return {
        "lots": [_freeze_lot(lot) for lot in closed.lots],
        "store": [_freeze_lot(lot) for lot in closed.store],
        "expired": [_freeze_lot(lot) for lot in closed.expired],
        "counted": [[item.reference(), write_moment(moment)] for item, moment in closed.counted.items()],
    }


def thaw_closed(document: Mapping[str, Any], on: date, catalogue: Catalogue) -> Closed:
    """The closed date that was frozen, without what the catalogue no longer knows."""
    counted = {Item.read(item): read_moment(moment) for item, moment in document["counted"]}
    return Closed(
        on=on,
        lots=tuple(_thaw_lots(document["lots"], catalogue)),
        store=tuple(_thaw_lots(document["store"], catalogue)),
        # Dates that an older release closed do not tell.
        expired=tuple(_thaw_lots(document.get("expired", ()), catalogue)),
        counted=counted,
    )


def _freeze_lot(lot: Lot) -> Json:
    return {
        "item": lot.item.reference(),
        "amount": lot.amount,
        "ready": write_moment(lot.ready),
        "use_by": freeze_use_by(lot.use_by),
        "version": lot.version,
        "made": None if lot.made is None else lot.made.isoformat(),
        "source": _freeze_source(lot.source),
        "done": write_moment(lot.done),
    }


def _freeze_source(source: RunKey | PastRun | None) -> Json | None:
    """What is known of the run that made a lot; only fixed runs have made what a closed date holds."""
    if not isinstance(source, PastRun):
        return None
    contains, may_contain = (sorted(names) for names in source.allergens)
    return {"id": source.id, "feeds": sorted(source.feeds), "contains": contains, "may_contain": may_contain}


def _thaw_lots(documents: Iterable[Mapping[str, Any]], catalogue: Catalogue) -> Iterable[Lot]:
    for document in documents:
        item = Item.read(document["item"])
        if catalogue.conversions(item) is not None:
            yield _thaw_lot(document, item)


def _thaw_lot(document: Mapping[str, Any], item: Item) -> Lot:
    source = document["source"]
    return Lot(
        item=item,
        amount=float(document["amount"]),
        ready=read_moment(document["ready"]),
        use_by=thaw_use_by(document["use_by"]),
        version=document["version"],
        made=None if document["made"] is None else date.fromisoformat(document["made"]),
        source=None if source is None else _thaw_source(source),
        done=read_moment(document["done"]),
    )


def _thaw_source(document: Mapping[str, Any]) -> PastRun:
    allergens = (frozenset(document["contains"]), frozenset(document["may_contain"]))
    return PastRun(document["id"], frozenset(document["feeds"]), allergens)
