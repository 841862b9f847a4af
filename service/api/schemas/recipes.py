"""Recipe drafts: yield, lines, steps and the rules that their shape alone can break."""

from collections.abc import Mapping
from typing import Any, ClassVar, TypeGuard

from service.api.fields import (
    Choice,
    Code,
    Document,
    Duration,
    Field,
    Flag,
    ItemReference,
    Keeps,
    Many,
    Object,
    QuantityField,
    Text,
    WholeNumber,
)
from service.api.fields.faults import flaws_at
from service.api.fields.objects import reader_of
from service.api.fields.shape import expect_text
from service.api.fields.times import read_duration
from service.api.schemas.measures import Equivalent, HandsOnTime, Temperature
from service.api.schemas.scaling import scaling
from service.limits import (
    BY_PRODUCTS,
    CRITICAL_SCALING_RULES,
    EQUIVALENTS,
    LINES,
    MAKES_FOR,
    NOTE_LENGTH,
    SAFETY_CLASSES,
    SAFETY_KINDS,
    SPLITS,
    STEPS,
    STORAGE,
    Span,
)

Places = list[tuple[tuple[str | int, ...], str, str]]
LINEAR = {"rule": "linear"}
TIME = Duration()


class Batch(Document):
    """How a run is cut into batches."""

    multiple = QuantityField(load_default=None)
    smallest = QuantityField(load_default=None)
    largest = QuantityField(load_default=None)
    split = Choice(SPLITS, load_default="equal")


ONE_BATCH: dict[str, Any] = Batch().load({})


class Line(Document):
    """One line: an item, how much of it an authored batch takes, and how that follows the batch."""

    item = ItemReference(required=True)
    quantity = QuantityField(percent=True, required=True)
    scaling = scaling(load_default=lambda: dict(LINEAR))
    step = WholeNumber(Span(1, STEPS), load_default=None)
    critical = Flag(load_default=False)
    note = Text(NOTE_LENGTH, lines=True, blank=True, load_default="")

    def check(self, read: dict[str, Any]) -> None:
        """Percent as unit and as rule go together; a critical line takes the rules that keep its proportion."""
        rule, unit = read["scaling"]["rule"], read["quantity"]["unit"]
        places: Places = []
        if rule == "percent" and unit != "percent":
            places.append((("quantity", "unit"), "wrong_kind", "the rule percent needs the unit percent"))
        if unit == "percent" and rule != "percent":
            places.append(
                (
                    ("scaling", "rule"),
                    "rule_not_allowed",
                    'a quantity in percent needs the rule percent with "of": the numbers of its base lines',
                )
            )
        if read["critical"] and rule not in CRITICAL_SCALING_RULES:
            places.append(
                (("scaling", "rule"), "rule_not_allowed", f"a critical line takes one of the rules {', '.join(CRITICAL_SCALING_RULES)}")
            )
        if places:
            raise flaws_at(places)


class CookedByProduct(Document):
    """What cooking gives besides, per authored batch."""

    ingredient = Code(required=True)
    quantity = QuantityField(portion=False, required=True)


class Window(Document):
    """A passive duration that helps up to a point and then harms."""

    least = Duration(attribute="min", data_key="min", required=True)
    target = Duration(required=True)
    most = Duration(attribute="max", data_key="max", required=True)

    def check(self, read: dict[str, Any]) -> None:
        """Check that min ≤ target ≤ max."""
        least, target, most = (read_duration(read[key]) for key in ("min", "target", "max"))
        if not least <= target <= most:
            raise flaws_at([(("target",), "out_of_range", "write min, target and max in rising order")])


class Passive(Field):
    """A time without hands: a duration, or a window of min, target and max."""

    shape: ClassVar[dict[str, Any]] = {"anyOf": [{"$ref": "#/components/schemas/Window"}, Duration.shape]}
    document = Window

    def read(self, value: Any) -> Any:
        """The value for the document; raises ValidationError."""
        if isinstance(value, dict):
            return reader_of(self.document).load(value)
        return TIME.read(expect_text(value, "a duration such as PT1H, or a window as an object of min, target and max,"))


class StepTime(HandsOnTime):
    """How long hands are needed for a step: set_up once, and time for each per of what the recipe makes."""

    per = QuantityField(required=True)


class Active(Field):
    """Hands-on time of a step: a duration, which is what one batch takes, or one that grows with what is made."""

    shape: ClassVar[dict[str, Any]] = {"anyOf": [{"$ref": "#/components/schemas/StepTime"}, Duration.shape]}
    document = StepTime

    def read(self, value: Any) -> Any:
        """The value for the document; raises ValidationError."""
        if isinstance(value, dict):
            return reader_of(self.document).load(value)
        return TIME.read(expect_text(value, "a duration such as PT15M, or an object of set_up, per and time,"))


class Safety(Document):
    """What a step must keep to; defaults come from the published food code."""

    kind = Choice(SAFETY_KINDS, required=True)
    food = Choice(SAFETY_CLASSES, attribute="class", data_key="class", load_default=None)
    temperature = Object(Temperature, load_default=None)
    time = Duration(load_default=None)
    reason = Text(NOTE_LENGTH, lines=True, load_default=None)


class Step(Document):
    """One step: hands-on time, then time without hands, at the recipe's station or another; all of it in its equipment."""

    text = Text(NOTE_LENGTH, lines=True, required=True)
    why = Text(NOTE_LENGTH, lines=True, blank=True, load_default=None)
    active = Active(load_default=None)
    passive = Passive(load_default=None)
    station = Code(load_default=None)
    safety = Object(Safety, load_default=None)
    set_to = Object(Temperature, load_default=None)
    equipment = Code(load_default=None)


class DraftBody(Document):
    """A recipe as it is being written; checked for shape, published as a version."""

    title = Text(required=True)
    station = Code(required=True)
    ready_to_eat = Flag(load_default=False)
    storage = Choice(STORAGE, load_default=None)
    makes = QuantityField(portion=False, attribute="yield", data_key="yield", required=True)
    portion = QuantityField(portion=False, load_default=None)
    equivalents = Many(Object(Equivalent), most=EQUIVALENTS, load_default=list)
    gains_water = Flag(load_default=False)
    keeps = Keeps(load_default=None)
    makes_for = WholeNumber(MAKES_FOR, load_default=1)
    batch = Object(Batch, load_default=lambda: dict(ONE_BATCH))
    lines = Many(Object(Line), most=LINES, load_default=list)
    by_products = Many(Object(CookedByProduct), most=BY_PRODUCTS, unique=("ingredient",), load_default=list)
    steps = Many(Object(Step), most=STEPS, load_default=list)
    keeps_reason = Text(NOTE_LENGTH, lines=True, load_default=None)
    hold = Duration(load_default=None)

    def check_sent(self, sent: dict[str, Any]) -> None:
        """A line's step is one of the steps, its base lines are other lines of the recipe."""
        lines, steps = sent.get("lines") or [], sent.get("steps") or []
        if not isinstance(lines, list) or not isinstance(steps, list):
            return
        places = [
            place
            for index, line in enumerate(lines)
            if isinstance(line, Mapping)
            for place in _number_faults(index, line, len(lines), len(steps))
        ]
        if places:
            raise flaws_at(places)


def _number_faults(index: int, line: Mapping[str, Any], lines: int, steps: int) -> Places:
    places: Places = []
    step = line.get("step")
    if _whole(step) and steps < step <= STEPS:
        places.append((("lines", index, "step"), "out_of_range", f"there are {steps} steps, counted from 1"))
    scaling = line.get("scaling")
    bases = scaling.get("of") if isinstance(scaling, Mapping) and scaling.get("rule") == "percent" else None
    for position, base in enumerate(bases if isinstance(bases, list) else ()):
        if not _whole(base) or not 1 <= base <= LINES:
            continue
        if base > lines:
            places.append((("lines", index, "scaling", "of", position), "out_of_range", f"there are {lines} lines, counted from 1"))
        elif base == index + 1:
            places.append((("lines", index, "scaling", "of", position), "out_of_range", "a line is no base of itself"))
    return places


def _whole(value: Any) -> TypeGuard[int]:
    return isinstance(value, int) and not isinstance(value, bool)


class Draft(DraftBody):
    """A draft with its code."""

    code = Code(required=True)
