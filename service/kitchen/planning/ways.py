"""Ways: how every item of a catalogue comes about, in plain numbers.

Responsible for how long before it is ready a run of anything draws what it is made of, what it gives besides, how long it is open,
and by which versions that goes when (P3 to P6, P12). Compiled once a catalogue. Refuses to know amounts, lots and dates of demand.

Times are whole seconds, dates their ordinals.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from typing import NamedTuple

from service.errors import RecipeLoop
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.measures.calendar import ONE_DAY, ZERO, Keeps
from service.kitchen.planning.sequence import LOOK_BACK, active_between, edges, form_targets, in_order, lead_of_cut
from service.kitchen.planning.staffing import Staffing
from service.kitchen.planning.waits import DAY, Waits, seconds, without_hours

EVER = date.max.toordinal()
# How much further hours are known than things can be needed.
FURTHER = 7 * ONE_DAY


class Open(NamedTuple):
    """How long a run takes further needs: so many dates, and where its use-by is a matter of hours, so many seconds (P4, T6)."""

    dates: int
    seconds: int | None = None


class Way(NamedTuple):
    """One way in which an item comes about: by a recipe's version while that is in force, as the forms of a cut, or from store.

    ``draws`` and ``gives`` are places of items; what is drawn with how many seconds before the run is ready. Where that follows how
    much is made (T2), or the hours of a site (K3), it is drawn twice, the latest and the earliest that it can be, and ``lead`` is the
    longest. ``open`` has a row for each thing that is made. By hours it may be ready ``early``: at most so long before it is needed.
    """

    lead: int
    draws: tuple[tuple[int, int], ...] = ()
    gives: tuple[int, ...] = ()
    open: tuple[Open, ...] = (Open(1),)
    begins: int = 0
    ends: int = EVER
    early: int = 0


@dataclass(frozen=True, slots=True)
class Ways:
    """The ways of all items, consumers and givers first; the first form of a cut stands for it (Y7).

    ``reach`` is how long before a need, at most, something of it or of what joins it can begin.
    """

    items: tuple[Item, ...]
    places: Mapping[Item, int]
    of: tuple[tuple[Way, ...], ...]
    reach: timedelta


def ways(catalogue: Catalogue, site: Site, first: date, waits: Waits | None = None) -> Ways:
    """How every item comes about that a plan of a site from a date can meet, in whose hours it ``waits``.

    Raises RecipeLoop where versions in force need each other.
    """
    audience, forms = catalogue.audience(site.code), frozenset(par.item for par in site.pars if par.item.form)
    for floor in (date.min, catalogue.last_turn(first - LOOK_BACK)):
        try:
            compiled = partial(_compile, catalogue, audience, floor, forms, waits)
            # Hours are those of some dates, which many catalogues would be compiled for.
            return catalogue.once(("ways", audience, floor, forms), compiled) if waits is None else compiled()
        except RecipeLoop:
            # Versions of the past may close a loop. At last a plan goes by those in force from its first date on.
            continue
    return _compile(catalogue, audience, first, forms, waits)


def ways_by_hours(catalogue: Catalogue, site: Site, first: date, since: date, staffing: Staffing | None) -> Ways:
    """The ways of all items by the hours of a site, for what is needed from a date on, as far as its lists reach (K3)."""
    found = ways(catalogue, site, first)
    known = ZERO
    # Longer ways reach further dates, whose hours may make them longer still.
    while staffing is not None and found.reach + FURTHER > known:
        known = found.reach + 2 * FURTHER
        found = ways(catalogue, site, first, Waits(staffing, since, since + known))
    return found


def _compile(catalogue: Catalogue, audience: str | None, floor: date, forms: Iterable[Item], waits: Waits | None) -> Ways:
    """The ways of all items by the versions in force from a date on, and of some forms that no recipe need call."""
    items = in_order(edges(catalogue, active_between(catalogue, audience, floor), forms))
    places = {item: place for place, item in enumerate(items)}
    all_ways = tuple(tuple(_ways_of(catalogue, audience, item, floor, places, waits)) for item in items)
    chains = [0] * len(all_ways)
    for place in reversed(range(len(all_ways))):
        for way in all_ways[place]:
            below = max((chains[part] for part in (*(part for part, _ in way.draws), *way.gives)), default=0)
            chains[place] = max(chains[place], below + way.lead + max(each.dates for each in way.open) * DAY)
    longest_lead = max((way.lead for each in all_ways for way in each), default=0)
    return Ways(tuple(items), places, all_ways, timedelta(seconds=max(chains, default=0) + longest_lead))


def _ways_of(
    catalogue: Catalogue, audience: str | None, item: Item, floor: date, places: Mapping[Item, int], waits: Waits | None
) -> Iterator[Way]:
    if item.is_recipe:
        timeline = catalogue.timeline(item.code, audience)
        ends = [*(begins for begins, _ in timeline[1:]), date.max]
        for (begins, version), end in zip(timeline, ends, strict=True):
            if version is not None and end > floor:
                yield _cooking(catalogue, version, (begins.toordinal(), end.toordinal()), places, waits)
        return
    ingredient, form = catalogue.ingredients.get(item.code), catalogue.form(item)
    if ingredient is not None and form is not None:
        forms = ingredient.cut_of(form)
        shortest, longest = (seconds(max(leads)) for leads in zip(*(ingredient.leads(each) for each in forms), strict=True))
        drawn, *given = (places[target] for target in form_targets(catalogue, item))
        yield Way(
            lead=longest,
            draws=((drawn, shortest), (drawn, longest)),
            gives=tuple(given),
            open=tuple(_open(each.makes_for, each.keeps) for each in forms),
        )
    elif ingredient is not None:
        yield Way(lead=waits.of_pull(ingredient.thaw) if waits else seconds(ingredient.thaw))


def _cooking(catalogue: Catalogue, version: Version, in_force: tuple[int, int], places: Mapping[Item, int], waits: Waits | None) -> Way:
    """Cooking by a version: its lines are drawn when their steps begin, those without a step at the start (T2)."""
    early, before = waits.of_version(version) if waits else without_hours(version)
    draws = dict.fromkeys(
        (places[lead_of_cut(catalogue, line.item)], each) for line in version.lines for each in before[line.step - 1 if line.step else 0]
    )
    begins, ends = in_force
    return Way(
        lead=before[0][1],
        draws=tuple(draws),
        gives=tuple(places[Item(code)] for code, _ in version.by_products),
        open=(_open(version.makes_for, version.keeps),),
        begins=begins,
        ends=ends,
        early=early,
    )


def _open(makes_for: int, keeps: Keeps) -> Open:
    """What keeps a run open; a use-by at the end of a date that is not before its last one limits nothing."""
    if keeps.elapsed is not None:
        return Open(makes_for, seconds=seconds(keeps.elapsed))
    return Open(min(makes_for, keeps.days + 1))
