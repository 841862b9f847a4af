"""Measures that several nouns share: equivalents and by-products."""

from service.api.fields import Document, QuantityField, Text


class Equivalent(Document):
    """A stated pair that leads from one unit or own measure to another."""

    a = QuantityField(portion=False, required=True)
    b = QuantityField(portion=False, required=True)
    source = Text(load_default=None)
