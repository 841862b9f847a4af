"""Shapes of the published document that stand in no schema: quantities, item references, and unions.

Responsible for their JSON Schema. Refuses to read values: the fields do.
"""

from decimal import Decimal
from typing import Any

from service import limits
from service.api.fields import AllergenName, Choice, Duration, Field, Keeps, TimeOfDay, Zone
from service.api.fields.texts import legal
from service.api.schemas.prep_lists import TASK
from service.api.schemas.scaling import scaling
from service.api.schemas.schedules import HELPS, REASONS
from service.kitchen.measures.units import KINDS, TEMPERATURES
from service.limits import AMOUNT, CODE_PATTERN, DECIMALS, TOLD_AMOUNT, Span

AMOUNT_TEXT = r"^([0-9]+(\.[0-9]{1,9})?|([0-9]+ )?[0-9]{1,7}/[0-9]{1,7})$"
UNIT = {
    "type": "string",
    "maxLength": 40,
    "pattern": legal(lines=False, blank=False),
    "description": "A unit of the kitchen vocabulary (mg g kg oz lb, mL cL dL L tsp tbsp fl_oz cup pint quart gallon, metric_ and "
    "imperial_ measures, scoop_N, each dozen, portion), a common spelling of one, or a measure that the item names in an equivalent.",
    "examples": ["kg"],
}
CODE = {"type": "string", "pattern": f"^{CODE_PATTERN}$"}
IGNORED = {"type": "string", "pattern": legal(lines=True, blank=True)}


def quantity(span: Span, detail: str, **ignored: dict[str, Any]) -> dict[str, Any]:
    """The shape of a quantity whose amount lies within a span, perhaps with fields that are ignored."""
    least, most = float(span.least), int(span.most)
    return {
        "type": "object",
        "description": detail,
        "required": ["amount", "unit"],
        "additionalProperties": False,
        "properties": {
            "amount": {
                "anyOf": [
                    {"type": "number", "minimum": least, "maximum": most},
                    {"type": "string", "pattern": AMOUNT_TEXT, "examples": ["2 1/2"]},
                ]
            },
            "unit": {"$ref": "#/components/schemas/Unit"},
            **ignored,
        },
        "examples": [{"amount": 2.5, "unit": "kg"}],
    }


def reference(detail: str, *, raw: bool, told: bool = False) -> dict[str, Any]:
    """The shape of an item's name, of ingredients as purchased too where they are ``raw``, with a title where it is ``told``.

    It is one object with optional keys and no union of three: a generated reader takes the first alternative that it can make of a
    value, and would read a form as its ingredient.
    """
    # A title alone names nothing.
    named = {"if": {"required": ["recipe"]}, "else": {"required": ["ingredient"]}} if told else {"minProperties": 1}
    return {
        "type": "object",
        "description": detail,
        **named,
        "dependentRequired": {"form": ["ingredient"]} if raw else {"form": ["ingredient"], "ingredient": ["form"]},
        "not": {"required": ["ingredient", "recipe"]},
        "additionalProperties": False,
        "properties": dict.fromkeys(("ingredient", "form", "recipe"), CODE) | ({"title": IGNORED} if told else {}),
        "examples": [{"ingredient": "onion", "form": "small-dice"}, {"recipe": "lentil-soup"}],
    }


WORDS: dict[tuple[str, ...], str] = {
    limits.STORAGE: "Storage",
    limits.UNIT_SYSTEMS: "Units",
    limits.ROLES: "Role",
    limits.SPLITS: "Split",
    limits.LOT_PLACES: "LotPlace",
    limits.PROGRESS_STATES: "ProgressState",
    limits.EXPECTED_FROM: "ExpectedFrom",
    limits.TASK_KINDS: "TaskKind",
    limits.SAFETY_KINDS: "SafetyKind",
    limits.SAFETY_CLASSES: "SafetyClass",
    HELPS: "HelpKind",
    REASONS: "LoadReason",
    KINDS: "Kind",
    TEMPERATURES: "TemperatureUnit",
}
"""The names of closed lists of words."""

NAMED: dict[type[Field], str] = {AllergenName: "Allergen", Duration: "Duration", Keeps: "Keeps", TimeOfDay: "TimeOfDay", Zone: "TimeZone"}
"""The names of values that fields of one class take."""

SHARED: dict[str, dict[str, Any]] = {
    **{name: Choice(words).describe() for words, name in WORDS.items()},
    **{name: kind().describe() for kind, name in NAMED.items()},
    "Unit": UNIT,
    "Quantity": quantity(Span(Decimal(1).scaleb(-DECIMALS), AMOUNT.most), "An amount, given back exactly as written, and its unit."),
    "ToldQuantity": quantity(
        TOLD_AMOUNT, "An amount, which may be 0, and its unit: a quantity of an answer, too, whose display is ignored.", display=IGNORED
    ),
    "ItemReference": reference("An ingredient, a form of one, or a recipe.", raw=True),
    "MadeItemReference": reference("A form of an ingredient, or a recipe: what a kitchen makes.", raw=False),
    "ToldItemReference": reference(
        "An ingredient, a form of one, or a recipe: an item of an answer, too, whose title is ignored.", raw=True, told=True
    ),
    "Task": TASK.describe_kinds(),
    "Scaling": scaling().describe_kinds(),
}
