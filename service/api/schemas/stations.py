"""Stations: the work areas of the kitchens."""

from service.api.fields import Code, Document, Text, WholeNumber
from service.limits import Span


class StationBody(Document):
    """A work area, shown in order of position."""

    name = Text(required=True)
    position = WholeNumber(Span(0, 1_000_000), load_default=1)


class Station(StationBody):
    """A station with its code."""

    code = Code(required=True)
