"""Ways: how every item of a catalogue comes about, in plain numbers.

Responsible for how long before it is ready a run of anything draws what it is made of, what it gives besides, how long it is open,
and by which versions that goes when (P3 to P6, P12). Compiled once a catalogue. Refuses to know amounts, lots and dates of demand.

Times are whole seconds, dates their ordinals.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from itertools import accumulate
from typing import NamedTuple

from service.errors import RecipeLoop
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import Site
from service.kitchen.measures.calendar import Keeps
from service.kitchen.planning.sequence import LOOK_BACK, active_between, edges, form_targets, in_order, lead_of_cut

EVER = date.max.toordinal()
ONE_SECOND = timedelta(seconds=1)
DAY = 24 * 60 * 60


class Open(NamedTuple):
    """How long a run takes further needs: so many dates, and where its use-by is a matter of hours, so many seconds (P4, T6)."""

    dates: int
    seconds: int | None = None


class Way(NamedTuple):
    """One way in which an item comes about: by a recipe's version while that is in force, as the forms of a cut, or from store.

    ``draws`` and ``gives`` are places of items; what is drawn with how many seconds before the run is ready. Where that follows how
    much is made (T2), it is drawn twice, the latest and the earliest that it can be, and ``lead`` is the longest. ``open`` has a
    row for each thing that is made.
    """

    lead: int
    draws: tuple[tuple[int, int], ...] = ()
    gives: tuple[int, ...] = ()
    open: tuple[Open, ...] = (Open(1),)
    begins: int = 0
    ends: int = EVER


@dataclass(frozen=True, slots=True)
class Ways:
    """The ways of all items, consumers and givers first; the first form of a cut stands for it (Y7).

    ``reach`` is how long before a need, at most, something of it or of what joins it can begin.
    """

    items: tuple[Item, ...]
    places: Mapping[Item, int]
    of: tuple[tuple[Way, ...], ...]
    reach: timedelta


def ways(catalogue: Catalogue, site: Site, first: date) -> Ways:
    """How every item comes about that a plan of a site from a date can meet; raises RecipeLoop where versions in force need each other."""
    audience, forms = catalogue.audience(site.code), frozenset(par.item for par in site.pars if par.item.form)
    for floor in (date.min, first - LOOK_BACK):
        try:
            return catalogue.once(("ways", audience, floor, forms), partial(_compile, catalogue, audience, floor, forms))
        except RecipeLoop:
            # Versions of the past may close a loop. At last a plan goes by those in force from its first date on.
            continue
    return _compile(catalogue, audience, first, forms)


def _compile(catalogue: Catalogue, audience: str | None, floor: date, forms: Iterable[Item]) -> Ways:
    """The ways of all items by the versions in force from a date on, and of some forms that no recipe need call."""
    items = in_order(edges(catalogue, active_between(catalogue, audience, floor), forms))
    places = {item: place for place, item in enumerate(items)}
    all_ways = tuple(tuple(_ways_of(catalogue, audience, item, floor, places)) for item in items)
    chains = [0] * len(all_ways)
    for place in reversed(range(len(all_ways))):
        for way in all_ways[place]:
            below = max((chains[part] for part in (*(part for part, _ in way.draws), *way.gives)), default=0)
            chains[place] = max(chains[place], below + way.lead + max(each.dates for each in way.open) * DAY)
    longest_lead = max((way.lead for each in all_ways for way in each), default=0)
    return Ways(tuple(items), places, all_ways, timedelta(seconds=max(chains, default=0) + longest_lead))


def _ways_of(catalogue: Catalogue, audience: str | None, item: Item, floor: date, places: Mapping[Item, int]) -> Iterator[Way]:
    if item.is_recipe:
        timeline = catalogue.timeline(item.code, audience)
        ends = [*(begins for begins, _ in timeline[1:]), date.max]
        for (begins, version), end in zip(timeline, ends, strict=True):
            if version is not None and end > floor:
                yield _cooking(catalogue, version, (begins.toordinal(), end.toordinal()), places)
        return
    ingredient, form = catalogue.ingredients.get(item.code), catalogue.form(item)
    if ingredient is not None and form is not None:
        forms = ingredient.cut_of(form)
        shortest, longest = (_seconds(max(leads)) for leads in zip(*(ingredient.leads(each) for each in forms), strict=True))
        drawn, *given = (places[target] for target in form_targets(catalogue, item))
        yield Way(
            lead=longest,
            draws=((drawn, shortest), (drawn, longest)),
            gives=tuple(given),
            open=tuple(_open(each.makes_for, each.keeps) for each in forms),
        )
    elif ingredient is not None:
        yield Way(lead=_seconds(ingredient.thaw))


def _cooking(catalogue: Catalogue, version: Version, in_force: tuple[int, int], places: Mapping[Item, int]) -> Way:
    """Cooking by a version: its lines are drawn when their steps begin, those without a step at the start (T2)."""
    before = [0, *accumulate(_seconds(step.duration) for step in version.steps)]
    lead = before[-1]
    draws = dict.fromkeys(
        (places[lead_of_cut(catalogue, line.item)], lead - (before[line.step - 1] if line.step else 0)) for line in version.lines
    )
    gives = tuple(places[Item(code)] for code, _ in version.by_products)
    begins, ends = in_force
    return Way(lead=lead, draws=tuple(draws), gives=gives, open=(_open(version.makes_for, version.keeps),), begins=begins, ends=ends)


def _open(makes_for: int, keeps: Keeps) -> Open:
    """What keeps a run open; a use-by at the end of a date that is not before its last one limits nothing."""
    if keeps.elapsed is not None:
        return Open(makes_for, seconds=_seconds(keeps.elapsed))
    return Open(min(makes_for, keeps.days + 1))


def _seconds(duration: timedelta) -> int:
    """A stated duration, which is whole seconds (T1)."""
    return duration // ONE_SECOND
