"""Food safety as a list shows it: what a step keeps to, with the section of the food code that asks for it."""

from service.api.fields import Choice, Document, Duration, Flag, Many, Number, Object, Text
from service.kitchen.measures.units import TEMPERATURES
from service.limits import NAME_LENGTH, NOTE_LENGTH, SAFETY_CLASSES, SAFETY_KINDS, Span

DEGREES = Span(-100, 1_000)
STRETCHES = 2


class ShownTemperature(Document):
    """A temperature with its text in the scale of the list."""

    amount = Number(DEGREES, required=True)
    unit = Choice(TEMPERATURES, required=True)
    display = Text(NAME_LENGTH, required=True)


class TemperatureStretch(Document):
    """From one temperature to another within a time of its beginning."""

    start = Object(ShownTemperature, data_key="from", required=True)
    end = Object(ShownTemperature, data_key="to", required=True)
    within = Duration(required=True)


class ShownLimit(Document):
    """A temperature and a time in the scale of the list."""

    temperature = Object(ShownTemperature, allow_none=True, required=True)
    time = Duration(allow_none=True, required=True)


class StepSafety(Document):
    """What a step keeps to: as the recipe states it, else as the food code asks; beside it what the code `asks`."""

    kind = Choice(SAFETY_KINDS, required=True)
    food = Choice(SAFETY_CLASSES, data_key="class", allow_none=True, required=True)
    temperature = Object(ShownTemperature, allow_none=True, required=True)
    time = Duration(allow_none=True, required=True)
    asks = Object(ShownLimit)
    stages = Many(Object(TemperatureStretch), most=STRETCHES, allow_none=True, required=True)
    section = Text(required=True)
    edition = Text(required=True)
    note = Text(NOTE_LENGTH, allow_none=True, required=True)
    reason = Text(NOTE_LENGTH, allow_none=True, required=True)
    laxer = Flag(required=True)
    display = Text(NOTE_LENGTH, required=True)
