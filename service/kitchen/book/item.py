"""Items: what a line, a lot, a par or a task is about.

Responsible for naming an ingredient, a form of one, or a recipe in one value. Refuses to know
what the named thing contains.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple, Required, TypedDict


class Reference(TypedDict, total=False):
    """An item as the interface writes it: an ingredient, perhaps with one of its forms, or a recipe."""

    ingredient: str
    form: str
    recipe: str


class ItemWithTitle(Reference):
    """An item with what a cook calls it."""

    title: Required[str]


class Item(NamedTuple):
    """An ingredient, one of its forms, or a recipe.

    >>> Item.read({"ingredient": "onion", "form": "small-dice"}).label
    'onion/small-dice'
    """

    code: str
    form: str | None = None
    is_recipe: bool = False

    @classmethod
    def recipe(cls, code: str) -> "Item":
        """The item that a recipe makes."""
        return cls(code, is_recipe=True)

    @classmethod
    def read(cls, reference: Mapping[str, Any]) -> "Item":
        """The item that a reference of the interface names (its shape is already checked)."""
        recipe = reference.get("recipe")
        if recipe is not None:
            return cls.recipe(recipe)
        return cls(str(reference["ingredient"]), reference.get("form"))

    @property
    def label(self) -> str:
        """``ingredient``, ``ingredient/form`` or ``recipe``: how items compare and are named in messages."""
        return f"{self.code}/{self.form}" if self.form else self.code

    @property
    def order(self) -> tuple[str, bool]:
        """A total order over items: by label, an ingredient before a recipe of the same code."""
        return (self.label, self.is_recipe)

    @property
    def raw(self) -> bool:
        """True of an ingredient as purchased."""
        return not self.is_recipe and self.form is None

    @property
    def ingredient(self) -> "Item":
        """The ingredient that a form is cut from."""
        return Item(self.code)

    def reference(self) -> Reference:
        """The item as the interface writes it."""
        if self.is_recipe:
            return {"recipe": self.code}
        return {"ingredient": self.code, "form": self.form} if self.form else {"ingredient": self.code}
