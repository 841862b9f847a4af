"""Ways: where a sheet that stands at an address of its own leads.

Responsible for the words and queries of its links. Refuses to know the address.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from service.api.sheets.clock import date_of
from service.kitchen.lists.documents import PrepList
from service.kitchen.lists.wording import day
from service.kitchen.measures.calendar import ONE_DAY

Way = tuple[str, Mapping[str, object]]
"""What a way says, and what of the query it changes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """Where a sheet that stands at an address of its own leads: other dates, its stations (None: all), the prints of its date."""

    stations: Collection[str] | None = None
    station: str | None = None
    prints: Sequence[int] = ()
    cards: bool = True

    def from_sheet(self, document: PrepList) -> list[list[tuple[str, str]]]:
        """Rows of ways from a list's sheet, each with its words and its query; the query of where one is, is empty."""
        on, number = date_of(document["date"]), document["print"]
        here = {"date": on.isoformat(), "station": self.station, "print": number, "cards": None if self.cards else "false"}
        near = (on - ONE_DAY, on, on + ONE_DAY)
        dates: list[Way] = [(day(each), {"date": each.isoformat(), "print": None}) for each in near]
        reachable = [each for each in document["stations"] if self.stations is None or each["code"] in self.stations]
        stations: list[Way] = [("all stations", {"station": None}), *((each["name"], {"station": each["code"]}) for each in reachable)]
        prints: list[Way] = [("as it is now", {"print": None}), *((f"print {each}", {"print": each}) for each in self.prints)]
        cards: list[Way] = [("with cards", {"cards": None}), ("without cards", {"cards": "false"})]
        rows = [row for row in (dates, stations, prints, cards) if len(row) > 1]
        return [[(words, _query(here, change)) for words, change in row] for row in rows]


def _query(here: Mapping[str, object], change: Mapping[str, object]) -> str:
    """The query of a way; nothing where it leads nowhere else."""
    there = {**here, **change}
    return "" if there == here else "?" + urlencode({key: value for key, value in there.items() if value is not None})
