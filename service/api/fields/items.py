"""Item references and allergens.

Responsible for the shape of a reference and the closed list of allergens. Refuses to know whether
the thing exists.
"""

import re
from typing import Any

from marshmallow import ValidationError

from service.api.fields.faults import Flaw, flaw
from service.api.fields.shape import Field, expect_object, expect_text
from service.api.fields.texts import Code
from service.limits import ALLERGENS

FORM = '{"ingredient": code}, {"ingredient": code, "form": code} or {"recipe": code}'
KEYS = ("ingredient", "form", "recipe")
RAW = ("ingredient",)
SPECIES = re.compile(r"[a-z][a-z0-9_-]{0,63}")
CODE = Code()


class ItemReference(Field):
    """An ingredient, a form of one, or a recipe; ``raw=False`` leaves out ingredients as purchased.

    One that a kitchen has ``told`` may be an item of an answer, whose title is ignored.
    """

    def __init__(self, *, raw: bool = True, told: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.raw = raw
        self.told = told

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        name = "ToldItemReference" if self.told else "ItemReference" if self.raw else "MadeItemReference"
        return {"$ref": f"#/components/schemas/{name}"}

    def read(self, value: Any) -> dict[str, str]:
        """The value for the document; raises ValidationError."""
        fields = expect_object(value, f"an item as {FORM}")
        errors: dict[str, Any] = {}
        named: dict[str, str] = {}
        for key, inner in fields.items():
            if key == "title" and self.told and isinstance(inner, str):
                continue
            if key not in KEYS:
                errors[key] = [Flaw("unknown_field", f"an item is {FORM}")]
            elif inner is not None:
                try:
                    named[key] = CODE.read(inner)
                except ValidationError as error:
                    errors[key] = error.messages
        if errors:
            raise ValidationError(errors)
        reference = {key: named[key] for key in KEYS if key in named}
        keys = tuple(reference)
        if keys not in (RAW, ("ingredient", "form"), ("recipe",)):
            raise flaw("required" if keys in ((), ("form",)) else "wrong_type", f"write {FORM}")
        if keys == RAW and not self.raw:
            raise flaw("required", "name a form of the ingredient, or a recipe: an ingredient as purchased has no place here")
        return reference


class AllergenName(Field):
    """An allergen of the closed list, with the species after a colon where it is known."""

    def describe(self) -> dict[str, Any]:
        """The JSON Schema of the field, without null."""
        return {"type": "string", "pattern": f"^({'|'.join(ALLERGENS)})(:[a-z][a-z0-9_-]{{0,63}})?$", "examples": ["milk", "fish:cod"]}

    def read(self, value: Any) -> str:
        """The value for the document; raises ValidationError."""
        text = expect_text(value, "an allergen")
        name, colon, species = text.partition(":")
        if name not in ALLERGENS:
            raise flaw("not_in_list", f"write one of {', '.join(ALLERGENS)}; a species may follow, as in fish:cod")
        if colon and not SPECIES.fullmatch(species):
            raise flaw("wrong_type", "write the species after the colon in a-z, 0-9, _ and -, as in fish:cod")
        return text
