"""Wording: quantities, dates and purposes as the cook reads them.

Responsible for the texts and quantity documents of a list in the site's units (domain D, P11, P16).
Refuses to decide what stands on a list.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item, ItemWithTitle
from service.kitchen.book.site import Par, Site
from service.kitchen.lists.documents import Kept
from service.kitchen.lists.parts import ComputedQuantity, WarningRow
from service.kitchen.measures.batches import TOLERANCE, round_up
from service.kitchen.measures.calendar import FOREVER, Calendar, UseBy
from service.kitchen.measures.display import Displayed, display, total
from service.kitchen.measures.units import CANONICAL, Kind, System
from service.kitchen.planning.guests import Outlet
from service.kitchen.planning.warned import Warned
from service.limits import DECIMALS


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """How one site's list is worded: its catalogue, calendar and unit system."""

    catalogue: Catalogue
    site: Site
    calendar: Calendar
    system: System
    _items: dict[Item, ItemWithTitle] = field(default_factory=dict, repr=False, compare=False)
    _outlets: dict[tuple[Outlet, bool], str] = field(default_factory=dict, repr=False, compare=False)

    def kind(self, item: Item) -> Kind:
        """The stock kind of an item (Y1: a form is counted in its ingredient's)."""
        if item.is_recipe:
            return self.catalogue.versions[item.code][-1].kind
        return self.catalogue.ingredients[item.code].kind

    def item(self, item: Item) -> ItemWithTitle:
        """An item with its title; one document for the many entries of a list that name it."""
        known = self._items.get(item)
        if known is None:
            known = self._items[item] = self.catalogue.titled(item, self.site.code or None)
        return known

    def title(self, item: Item) -> str:
        """What a cook of the site calls an item."""
        return self.catalogue.title(item, self.site.code or None)

    def quantity(self, amount: float, kind: Kind, *, up: bool = False) -> ComputedQuantity:
        """A computed quantity with its display text (D1)."""
        return written(amount, kind, display(amount, kind, self.system, up=up))

    def of(self, item: Item, amount: float, *, up: bool = False) -> ComputedQuantity:
        """A computed quantity of an item in its stock kind, in pieces too where it comes in such (D3)."""
        return written(amount, self.kind(item), display(amount, self.kind(item), self.system, up=up), self.pieces(item, amount))

    def sum(self, amount: float, kind: Kind, parts: Sequence[tuple[int, Displayed]], pieces: int | None = None) -> ComputedQuantity:
        """A total that is shown as the sum of its batches as displayed (D3)."""
        return written(amount, kind, total(parts, kind, self.system), pieces)

    def pieces(self, item: Item, amount: float) -> int | None:
        """The whole pieces that hold an amount in the stock kind; None where the item does not come in pieces, or is counted (Y6)."""
        if not item.raw or amount <= 0:
            return None
        ingredient = self.catalogue.ingredients[item.code]
        piece = None if ingredient.kind == "count" else ingredient.piece_amount
        return None if piece is None else round_up(amount / piece)

    def kept(self, use_by: UseBy) -> Kept:
        """Until when something may be used; nothing where it keeps for the whole window (T6)."""
        if use_by == FOREVER:
            return {"use_by": None, "use_by_date": None}
        on = self.calendar.last_date(use_by)
        return {"use_by": self.calendar.write(use_by.moment), "use_by_date": None if on is None else on.isoformat()}

    def moment(self, at: datetime) -> str:
        """A moment as a cook says it."""
        local = at.astimezone(self.calendar.zone)
        return f"{day(local.date())} {local:%H:%M}"

    def purposes(self, outlets: Iterable[Outlet], pars: Iterable[Par], on: date) -> list[str]:
        """What a task is for: menu items with their period or event, then pars; the date where it is another one."""
        texts = [self._outlet(each, dated=each.on != on) for each in outlets]
        return list(dict.fromkeys(texts + [self._par(par) for par in pars]))

    def _outlet(self, outlet: Outlet, *, dated: bool) -> str:
        """A menu item with its period or event, and its date where that is another one; worded once a list, where many tasks name it."""
        known = self._outlets.get((outlet, dated))
        if known is None:
            worded = self._worded(outlet)
            known = self._outlets[outlet, dated] = f"{worded}, {day(outlet.on)}" if dated else worded
        return known

    def _worded(self, outlet: Outlet) -> str:
        period = self.site.period(outlet.period)
        when = outlet.event or (_uncapitalised(period.name) if period else outlet.period)
        # Work that was printed or reported may be for what is sold no more.
        item = self.catalogue.menu_items.get(outlet.menu_item)
        name = item.name if item is not None else outlet.menu_item
        return f"{name}, {when}"

    def _par(self, par: Par) -> str:
        conversions = self.catalogue.conversions(par.item)
        if conversions is None:
            return f"par by {par.by:%H:%M}"
        level = display(float(conversions.to_stock(par.level)), conversions.stock_kind, self.system)
        return f"par {level.text} by {par.by:%H:%M}"


def written(amount: float, kind: Kind, shown: Displayed, pieces: int | None = None) -> ComputedQuantity:
    """A computed quantity as the interface writes it: 47 lb 10 oz, 12 each. Its amount has at most nine decimals (U4)."""
    beside = "" if pieces is None or kind == "count" else f", {pieces} {CANONICAL['count']}"
    # What rounds to nothing from below is nothing, too, and no -0.0.
    return {"amount": round(amount, DECIMALS) + 0.0, "unit": CANONICAL[kind], "display": shown.text + beside}


def as_read(quantity: ComputedQuantity, other: ComputedQuantity) -> ComputedQuantity:
    """A quantity of a task, which reads as another of the same kind where both are the same amount (D3)."""
    if math.isclose(quantity["amount"], other["amount"], rel_tol=TOLERANCE):
        return {**quantity, "display": other["display"]}
    return quantity


def warning_rows(warned: Iterable[Warned], words: Words) -> list[WarningRow]:
    """Warnings as the interface writes them, by code and sentence."""
    return [_warning(each, words) for each in sorted(warned, key=lambda each: (each.code, each.detail))]


def _warning(warned: Warned, words: Words) -> WarningRow:
    row: WarningRow = {"code": warned.code, "detail": warned.detail}
    if warned.task is not None:
        row["task"] = warned.task
    if warned.item is not None:
        row["item"] = words.item(warned.item)
    if warned.period is not None:
        row["period"] = warned.period
    if warned.number is not None:
        row["count"] = warned.number
    return row


def clock_pinned(calendar: Calendar, now: datetime) -> WarningRow:
    """The warning of an answer whose clock stands still."""
    return {"code": "clock_pinned", "detail": f"the service's clock is pinned at {calendar.write(now)}"}


def day(on: date) -> str:
    """A date as a cook says it.

    >>> day(date(2026, 12, 3))
    'Thu 3 Dec'
    """
    return f"{WEEKDAYS[on.weekday()]} {on.day} {MONTHS[on.month - 1]}"


def end_of(on: date) -> str:
    """The last moment of a business date as a cook says it, never the next day's small hours (D3).

    >>> end_of(date(2026, 12, 3))
    'the end of Thu 3 Dec'
    """
    return f"the end of {day(on)}"


WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def _uncapitalised(name: str) -> str:
    """A period's name within a sentence: "Lunch" is lunch, "VIP lunch" stays."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name
