"""Supplies: what lots give and what store must give, as entries of a list.

Responsible for the documents of use tasks and of pulls (domain P9, P13). Refuses to choose which of
them stand on a date's list.
"""

from collections.abc import Sequence
from datetime import date, datetime

from service.kitchen.book.item import Item
from service.kitchen.lists.documents import PullEntry, Shared, Trace, UseTask
from service.kitchen.lists.parts import Portion
from service.kitchen.lists.tasks import Task
from service.kitchen.lists.telling import Begin, Telling
from service.kitchen.lists.wording import Words
from service.kitchen.measures.calendar import ZERO, Calendar, write_duration
from service.kitchen.planning.names import Names
from service.kitchen.planning.plan import Use
from service.kitchen.planning.pulls import Pull


def use_task(uses: Sequence[Use], on: date, telling: Telling) -> Task:
    """What lots of one use-by supply of an item for one business date (P9)."""
    words = telling.words
    starts = telling.timing.first(use.need for use in uses)
    item, use_by = uses[0].lot.item, uses[0].lot.use_by
    amount = sum(use.amount for use in uses)
    versions = {use.lot.version for use in uses}
    allergens = telling.rollup.of_item(item, on)
    for use in uses:
        allergens = allergens.union(telling.rollup.of_lot(use.lot))
    id_ = use_id(words.site.code, words.calendar, on, uses)
    progress = telling.progress(id_, item)
    trace: Trace = {}
    if telling.trace:
        trace = {"feeds": _use_feeds(uses, words), "shares": telling.share_rows(telling.shares.of_uses(uses), item)}
    document: UseTask = {
        "id": id_,
        "kind": "use",
        "item": words.item(item),
        "version": versions.pop() if len(versions) == 1 else None,
        "quantity": words.of(item, amount),
        "start_by": words.calendar.write(starts),
        "ready_by": words.calendar.write(starts),
        **words.kept(use_by),
        "active": write_duration(ZERO),
        **telling.standing(Begin(on, starts, starts), lambda: telling.shares.of_uses(uses), progress),
        "for": words.purposes(telling.shares.outlets_of_uses(uses), [par for use in uses for par in use.need.pars], max(on, telling.first)),
        "allergens": allergens.document(),
        "progress": progress,
        **trace,
    }
    return Task(station=_station_of(item, on, uses[0], words), late=document["late"], starts=starts, item=item, document=document)


def _use_feeds(uses: Sequence[Use], words: Words) -> list[Portion]:
    fed: dict[Item, float] = {}
    for use in uses:
        if use.need.drawn_by is not None:
            fed[use.need.drawn_by.item] = fed.get(use.need.drawn_by.item, 0.0) + use.amount
    return [{"item": words.item(consumer), "quantity": words.of(uses[0].lot.item, amount)} for consumer, amount in fed.items()]


def use_id(site: str, calendar: Calendar, on: date, uses: Sequence[Use]) -> str:
    """The id of what lots of one use-by supply of an item for one business date (P15 f)."""
    first = min(uses, key=lambda use: use.need.order).need
    return Names(site, calendar).use(first.item, on, first.at, uses[0].lot.use_by)


def _station_of(item: Item, on: date, use: Use, words: Words) -> str:
    """The station of an item: a form's own, a recipe's by the version in force, else by the one that made the lot."""
    catalogue, site = words.catalogue, words.site
    form = catalogue.form(item)
    if form is not None:
        return site.station(form.station)
    version = catalogue.in_force(item.code, site.code, on)
    if version is None:
        versions = catalogue.versions[item.code]
        version = next((each for each in versions if each.number == use.lot.version), versions[-1])
    return site.station(version.station)


def pull_document(pull: Pull, telling: Telling) -> tuple[bool, datetime, tuple[str, bool], PullEntry]:
    """A pull with what decides its place: late ones first, then by start, then by item (P13)."""
    words = telling.words
    on = words.calendar.business_date(pull.starts)
    ingredient = words.catalogue.ingredients[pull.item.code]
    progress = telling.progress(pull.id, pull.item)
    trace: Shared = {"shares": telling.share_rows(telling.shares.of_pull(pull), pull.item)} if telling.trace else {}
    document: PullEntry = {
        "id": pull.id,
        "item": words.item(pull.item),
        "quantity": words.of(pull.item, pull.amount, up=True),
        "pieces": words.pieces(pull.item, pull.amount),
        "need_by": words.calendar.write(pull.at),
        "start_by": words.calendar.write(pull.starts),
        "thaw": write_duration(ingredient.thaw) if ingredient.thaw else None,
        "storage": ingredient.storage,
        "stations": list(dict.fromkeys(map(words.site.station, telling.shares.stations_of_pull(pull)))),
        **telling.standing(Begin(on, pull.starts, pull.starts), lambda: telling.shares.of_pull(pull), progress),
        "for": words.purposes(telling.shares.outlets_of_pull(pull), pull.pars, max(on, telling.first)),
        "progress": progress,
        **trace,
    }
    return (not document["late"], pull.starts, pull.item.order, document)
