"""Equipment: the kinds of machines and places that steps need."""

from service.api.fields import Code, Document, Text, WholeNumber
from service.limits import Span


class EquipmentBody(Document):
    """A kind of machine or place, shown in order of position."""

    name = Text(required=True)
    position = WholeNumber(Span(0, 1_000_000), load_default=1)


class Equipment(EquipmentBody):
    """An equipment with its code."""

    code = Code(required=True)
