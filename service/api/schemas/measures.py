"""Measures that several nouns share: equivalents, hands-on times that grow with what is made, temperatures and money."""

from service.api.fields import Currency, DegreeUnit, Document, Duration, MoneyText, Number, QuantityField, Text
from service.limits import Span


class Equivalent(Document):
    """A stated pair that leads from one unit or own measure to another."""

    a = QuantityField(portion=False, required=True)
    b = QuantityField(portion=False, required=True)
    source = Text(load_default=None)


class HandsOnTime(Document):
    """How long making a form ready takes: set_up once, and time for each per of EP."""

    set_up = Duration(load_default=None)
    per = QuantityField(portion=False, required=True)
    time = Duration(required=True)


class Temperature(Document):
    """A temperature in degrees Celsius or Fahrenheit."""

    amount = Number(Span(-100, 500), required=True)
    unit = DegreeUnit(required=True)


class Money(Document):
    """A decimal text and an ISO 4217 currency. Answers to kitchens and viewers leave out every field of this shape."""

    amount = MoneyText(required=True)
    currency = Currency(required=True)
