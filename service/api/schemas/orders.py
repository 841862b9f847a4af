"""Order lists: what a site must buy for the pulls of a delivery window."""

from service.api.fields import CivilDate, Code, Document, Many, Object, Text, WholeNumber
from service.api.schemas.computed import MANY, NUMBERED, ComputedQuantity, ItemWithTitle
from service.api.schemas.costs import Cost
from service.api.schemas.prep_lists import ListWarning


class OrderedPack(Document):
    """So many of a pack, what one holds, and what they cost together: null where nobody stated a price, left out for kitchens."""

    label = Text(required=True)
    quantity = Object(ComputedQuantity, required=True)
    count = WholeNumber(NUMBERED, required=True)
    cost = Object(Cost, allow_none=True)


class OrderLine(Document):
    """An ingredient: its pulls, what store has for them, and what to order, in whole packs where there are packs."""

    item = Object(ItemWithTitle, required=True)
    pulls = Object(ComputedQuantity, required=True)
    on_hand = Object(ComputedQuantity, required=True)
    order = Object(ComputedQuantity, required=True)
    packs = Many(Object(OrderedPack), most=1, required=True)


class OrderList(Document):
    """What a site must buy for the pulls of a delivery window."""

    site = Code(required=True)
    first = CivilDate(data_key="from", required=True)
    last = CivilDate(data_key="to", required=True)
    lines = Many(Object(OrderLine), most=MANY, required=True)
    warnings = Many(Object(ListWarning), most=MANY, required=True)
