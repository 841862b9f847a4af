"""Entries of a forecast push: what each is for, and what is wrong with it.

Responsible for checking one entry against the catalogue and for entries that say the same twice.
Refuses to know what is stored already and which count wins.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any, NamedTuple

from service.errors import Fault
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import MenuItem
from service.limits import FORECAST_DAYS_AHEAD, FORECAST_DAYS_BACK
from service.store.forecasts import MENU_ITEM, TILL_CODE, ForecastKey, ForecastRow

# The entries that can be read, and the faults of the others, both by index.
Loaded = tuple[dict[int, dict[str, Any]], dict[int, Sequence[Fault]]]
LoadEntries = Callable[[Sequence[Any]], Loaded]


class Entry(NamedTuple):
    """One entry of a push that can be stored, and where in the body it stands."""

    index: int  # type: ignore[assignment] # Nobody looks for a value in it.
    row: ForecastRow


class Intake:
    """Takes in the entries of one push: by one source, true at one moment, limited to some sites (None: to none)."""

    def __init__(self, catalogue: Catalogue, source: str, as_of: datetime, now: datetime, sites: Collection[str] | None) -> None:
        self.catalogue = catalogue
        self.source = source
        self.as_of = as_of
        self.now = now
        self.sites = sites
        self._spans: dict[str, tuple[date, date]] = {}
        # Thousands of entries are for the same few sites, periods and dates.
        self._faults: dict[tuple[str, str, str], list[Fault]] = {}
        self._dates: dict[str, date] = {}
        self._periods = {code: {period.code for period in site.periods} for code, site in catalogue.sites.items()}

    def read(self, raw: Sequence[Any], load_entries: LoadEntries) -> tuple[list[Entry], dict[int, list[Fault]]]:
        """The entries that can be stored, and the faults of each of the others by its index, with pointers into the body."""
        loaded, found = load_entries(raw)
        rows = {index: self.row(loaded[index]) for index in sorted(loaded)}
        found |= {index: faults for index, entry in loaded.items() if (faults := self.faults(entry))}
        refused = {index: [fault.below(f"/entries/{index}") for fault in faults] for index, faults in found.items()}
        for index, fault in repetitions(rows):
            refused.setdefault(index, []).append(fault)
        return [Entry(index, row) for index, row in rows.items() if index not in refused], refused

    def faults(self, entry: dict[str, Any]) -> list[Fault]:
        """What is wrong with a well-shaped entry; pointers start at the entry."""
        menu_item, place = entry["menu_item"], (entry["site"], entry["period"], entry["date"])
        if place not in self._faults:
            self._faults[place] = list(self.place_faults(*place))
        if menu_item is None or menu_item in self.catalogue.menu_items:
            return [*self._faults[place], *self.menu_faults(entry)]
        return [Fault("/menu_item", "unknown_reference", f"there is no menu item {menu_item}"), *self._faults[place]]

    def menu_faults(self, entry: dict[str, Any]) -> Iterator[Fault]:
        """That an entry is for a date on which its menu item is not sold; what was expected of it may be taken back (P1)."""
        code = self.catalogue.sold_as(self.source, entry["menu_item"], entry["till_code"])
        if code is not None and entry["count"] > 0 and not self.catalogue.menu_items[code].sold_on(self.date(entry["date"])):
            yield not_on_menu(self.catalogue.menu_items[code], entry["date"], "/till_code" if entry["menu_item"] is None else "/menu_item")

    def place_faults(self, site: str, period: str, on: str) -> Iterator[Fault]:
        """What is wrong with the site, period and date of an entry."""
        if site not in self._periods or (self.sites is not None and site not in self.sites):
            yield Fault("/site", "unknown_site", f"there is no site {site} here")
            return
        if period not in self._periods[site]:
            known = ", ".join(each.code for each in self.catalogue.sites[site].periods)
            yield Fault("/period", "unknown_reference", f"{site} has no period {period}; it has {known}")
        first, last = self.span(site)
        if not first <= self.date(on) <= last:
            yield Fault("/date", "out_of_range", f"a forecast is for a date from {first} to {last}")

    def span(self, site: str) -> tuple[date, date]:
        """The dates that may be forecast, counted from the site's today."""
        if site not in self._spans:
            today = self.now.astimezone(self.catalogue.sites[site].calendar().zone).date()
            self._spans[site] = (today - timedelta(FORECAST_DAYS_BACK), today + timedelta(FORECAST_DAYS_AHEAD))
        return self._spans[site]

    def date(self, text: str) -> date:
        """The date that a text names, read once."""
        if text not in self._dates:
            self._dates[text] = date.fromisoformat(text)
        return self._dates[text]

    def row(self, entry: dict[str, Any]) -> ForecastRow:
        """The row that an entry would be."""
        event = entry["event"] or {}
        buffer = event.get("buffer")
        by_till_code = entry["till_code"] is not None
        return ForecastRow(
            site=entry["site"],
            date=self.date(entry["date"]),
            period=entry["period"],
            source=self.source,
            event=event.get("code") or "",
            key_kind=TILL_CODE if by_till_code else MENU_ITEM,
            key=entry["till_code"] if by_till_code else entry["menu_item"],
            count=entry["count"],
            serve_at=event.get("serve_at"),
            event_buffer=None if buffer is None else Decimal(buffer),
            as_of=self.as_of,
        )


def not_on_menu(item: MenuItem, on: object, pointer: str) -> Fault:
    """The fault of a count for a date on which a menu item is not sold; it says when it is (P1)."""
    first, last = item.sold_from, item.sold_until
    spans = [f"from {first}" if first else "", f"until {last}" if last else ""]
    return Fault(pointer, "not_on_menu", f"{item.code} is not on the menu on {on}: it is sold {' '.join(span for span in spans if span)}")


def read_moment(text: str) -> datetime:
    """The moment of an RFC 3339 text, in UTC."""
    return datetime.fromisoformat(text).astimezone(UTC)


def repetitions(rows: dict[int, ForecastRow]) -> Iterator[tuple[int, Fault]]:
    """A fault for every entry whose key another entry of the same push has too."""
    if len({row.identity for row in rows.values()}) == len(rows):
        return
    places: dict[ForecastKey, list[int]] = defaultdict(list)
    for index, row in rows.items():
        places[row.identity].append(index)
    for indexes in places.values():
        if len(indexes) > 1:
            first, second, *rest = indexes
            more = f" (and {len(rest)} more)" if rest else ""
            for index in indexes:
                other = second if index == first else first
                yield (
                    index,
                    Fault(f"/entries/{index}", "duplicate", f"entry {other} of this push is for the same count{more}: send one of them"),
                )
