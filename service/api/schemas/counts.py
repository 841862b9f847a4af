"""Overrides and counts: a site's own word on what will be sold and what is on hand."""

from typing import Any

from service.api.fields import Choice, CivilDate, Code, Document, ItemReference, Many, Moment, Object, QuantityField, Text, WholeNumber
from service.api.fields.faults import flaws_at
from service.api.schemas.versions import Warned
from service.limits import ADDITION, COUNT, LOT_PLACES, LOTS, NOTE_LENGTH, Span


class OwnWord(Document):
    """A count that replaces the forecast (null: none does), and what joins it or, below 0, is taken off."""

    count = WholeNumber(COUNT, load_default=None)
    add = WholeNumber(ADDITION, load_default=0)
    note = Text(NOTE_LENGTH, lines=True, blank=True, load_default="")


class OverrideBody(OwnWord):
    """The site's own word; event may repeat that of the query."""

    event = Code(load_default=None)


class Override(OwnWord):
    """An override with its key; event is null for the count without event."""

    site = Code(required=True)
    date = CivilDate(required=True)
    period = Code(required=True)
    menu_item = Code(required=True)
    event = Code(required=True, allow_none=True)


class OverrideAsPut(Override):
    """An override as it was put; warnings where whoever put it should know of something."""

    warnings = Many(Object(Warned), most=1)


class Lot(Document):
    """A quantity on hand; ``in`` is for ingredients as purchased alone."""

    item = ItemReference(told=True, required=True)
    quantity = QuantityField(told=True, required=True)
    made_on = CivilDate(load_default=None)
    place = Choice(LOT_PLACES, attribute="in", data_key="in", load_default=None)

    def check(self, read: dict[str, Any]) -> None:
        """Forms and recipes have no such place."""
        if set(read["item"]) != {"ingredient"} and read["in"] is not None:
            raise flaws_at([(("in",), "unknown_field", "in is for ingredients as purchased alone: leave it out")])

    def load(self, data: Any, **_: Any) -> dict[str, Any]:
        """The lot; an ingredient as purchased is in store unless said."""
        read = super().load(data)
        raw = set(read["item"]) == {"ingredient"}
        return {**read, "in": read["in"] or ("store" if raw else None)}


class CountBody(Document):
    """A stock count: the newest of an item replaces its older lots."""

    counted_at = Moment(required=True)
    lots = Many(Object(Lot), most=LOTS, required=True)


class Count(CountBody):
    """A recorded count."""

    id = WholeNumber(Span(1, 10**15))
    site = Code()
    recorded_at = Moment()
