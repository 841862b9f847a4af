"""Measures that several nouns share: equivalents, and hands-on times that grow with what is made."""

from service.api.fields import Document, Duration, QuantityField, Text


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
