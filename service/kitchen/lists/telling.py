"""Telling: what every entry of a list says beside its work: whether it is late, what hangs on it, what was reported, and for whom it is.

Responsible for the parts that tasks and pulls share (domain P7, P11, P15). Refuses to know what is to be done.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import NamedTuple

from service.kitchen.book.item import Item
from service.kitchen.explained.shares import Shares, merged, portions_at_risk
from service.kitchen.lists.documents import ProgressRow, Standing
from service.kitchen.lists.keeping import Keeping
from service.kitchen.lists.parts import AtRisk, ComputedQuantity, OutletRow, ShareRow
from service.kitchen.lists.timing import Timing
from service.kitchen.lists.wording import Words
from service.kitchen.measures.batches import round_up
from service.kitchen.planning.demand import Share
from service.kitchen.planning.guests import Outlet
from service.kitchen.planning.reported import OPEN, Report
from service.kitchen.safety.allergens import Rollup


class Begin(NamedTuple):
    """When work begins: its business date, the moment as planned, and the last one at which it could still be ready (P7)."""

    on: date
    starts: datetime
    last: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """How entries are told: in which words, from which first date a plan begins, and whether shares and feeds are told.

    ``quarter`` is the quarter hour now begun, for the list of the site's current date alone (P7).
    """

    words: Words
    rollup: Rollup
    first: date
    trace: bool
    shares: Shares
    quarter: datetime | None = None
    most: Mapping[Outlet, float] = field(default_factory=dict)
    said: Mapping[str, Report] = field(default_factory=dict)
    keeping: Keeping
    timing: Timing
    _risks: dict[tuple[Outlet, int], AtRisk] = field(default_factory=dict, repr=False, compare=False)

    def late(self, on: date) -> bool:
        """Whether work of a business date should have begun before the first one (P7)."""
        return on < self.first

    def progress(self, id_: str, made: Item, drawn: Item | None = None) -> ProgressRow | None:
        """What was reported of a task or pull (P15)."""
        report = self.said.get(id_)
        if report is None:
            return None
        return {
            "state": report.state,
            "made": None if report.made is None else self.words.of(made, report.made),
            "begun": None if report.begun is None else self.words.of(made, report.begun),
            "drawn": None if report.drawn is None or drawn is None else self.words.of(drawn, report.drawn),
            "at": self.words.calendar.write(report.at),
            "note": report.note,
        }

    def standing(self, begin: Begin, shares: Callable[[], Iterable[Share]], progress: ProgressRow | None = None) -> Standing:
        """Whether unreported work is late or overdue, and then the menu items and portions that it puts at risk (P7)."""
        unreported = progress is None or progress["state"] == OPEN
        late = unreported and self.late(begin.on)
        overdue = unreported and self.quarter is not None and begin.starts < self.quarter
        at_risk = self.at_risk(shares()) if late or overdue else []
        return {"late": late, "overdue": overdue, "last_start": self.words.calendar.write(begin.last), "at_risk": at_risk}

    def at_risk(self, shares: Iterable[Share]) -> list[AtRisk]:
        """The portions of menu items that hang on some shares, up to whole ones (P7)."""
        risks = portions_at_risk(shares, self.most)
        return [self._at_risk(outlet, round_up(portions)) for outlet, portions in risks if portions > 0]

    def _at_risk(self, outlet: Outlet, portions: int) -> AtRisk:
        """Portions at risk; one row for the many entries of a list that put the same at risk."""
        known = self._risks.get((outlet, portions))
        if known is None:
            known = self._risks[outlet, portions] = {**_outlet(outlet), "portions": portions}
        return known

    def share_rows(self, shares: Iterable[Share], item: Item) -> list[ShareRow]:
        """Shares as rows that sum to the quantity; what is for nobody is one row of nulls (P11)."""
        return [_share(share.outlet, self.words.of(item, share.amount)) for share in merged(shares)]


def _share(outlet: Outlet | None, quantity: ComputedQuantity) -> ShareRow:
    if outlet is None:
        return {"menu_item": None, "date": None, "period": None, "event": None, "quantity": quantity}
    return {**_outlet(outlet), "quantity": quantity}


def _outlet(outlet: Outlet) -> OutletRow:
    return {"menu_item": outlet.menu_item, "date": outlet.on.isoformat(), "period": outlet.period, "event": outlet.event}
