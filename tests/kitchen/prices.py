"""Prices for tests: packs, by-products with a value, and what things cost, from a few words.

Responsible for ingredients with prices and for asking their cost. Refuses to know any rule. Money is "9.00 EUR".
"""

from collections.abc import Mapping
from datetime import date
from typing import Any

from service.kitchen.book.ingredient import Ingredient
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import MenuItem, Site, read_menu_item
from service.kitchen.costs.cost import Cost, MenuItemCost, menu_item_cost, recipe_cost
from service.kitchen.costs.costing import Costings
from service.kitchen.measures.money import Money
from tests.kitchen.larder import LONG_AGO, TUE, form, ingredient, kitchen, line, quantity, recipe

Things = Ingredient | Version | MenuItem | Site


def money(text: str) -> dict[str, str]:
    """Money such as "9.00 EUR"."""
    amount, currency = text.split(" ")
    return {"amount": amount, "currency": currency}


def pack(amount: str, price: str | None, label: str = "case", *, since: date | None = LONG_AGO, at: str | None = None) -> dict[str, Any]:
    """A pack of so much for a price."""
    return {
        "label": label,
        "quantity": quantity(amount),
        "price": None if price is None else money(price),
        "from": None if since is None else since.isoformat(),
        "site": at,
    }


def bought(code: str, *packs: dict[str, Any], forms: tuple[dict[str, Any], ...] = (), **fields: Any) -> Ingredient:
    return ingredient(code, *forms, packs=list(packs), **fields)


def by_product(code: str, value: str | None, **fields: Any) -> Ingredient:
    return ingredient(code, value=None if value is None else money(value), **fields)


def sold(code: str, components: Mapping[str, str], price: str | None, uptake: float = 1) -> MenuItem:
    parts = [{"recipe": each, "quantity": quantity(amount), "uptake": uptake} for each, amount in components.items()]
    return read_menu_item(
        code,
        {
            "name": code,
            "price": None if price is None else money(price),
            "buffer": None,
            "components": parts,
            "codes": [],
            "sold_from": None,
            "sold_until": None,
        },
    )


def cost_of(code: str, *things: Things, at: str | None = None, on: date = TUE) -> Cost:
    catalogue = kitchen(*things)
    version = catalogue.in_force(code, at, on)
    assert version is not None
    return recipe_cost(Costings(catalogue, at, on), version)


def cost_sold(code: str, *things: Things, at: str | None = None) -> MenuItemCost:
    return menu_item_cost(Costings(kitchen(*things), at, TUE), code)


def written(found: Money | None) -> str | None:
    return None if found is None else "{amount} {currency}".format(**found.document())


def missing(cost: Cost | MenuItemCost) -> list[str]:
    return [each.item.label for each in cost.missing]


def credited(trim_yield: str = "0.75", **fields: Any) -> list[Things]:
    """9.00 a kilo; a kilo of AP gives 0.12 kg worth 3.00 a kilo and 0.1 kg worth 1.20 a kilo: credits of 0.36 and 0.12."""
    forms = (form("trimmed", trim_yield, gives={"bones": "0.12", "fat": "0.1"}),)
    return [
        bought("meat", pack("10 kg", "90.00 EUR"), forms=forms, **fields),
        by_product("bones", "3.00 EUR"),
        by_product("fat", "1.20 EUR"),
        recipe("roast", "1 kg", line("meat/trimmed", "1 kg")),
    ]


def flour_and_water(**fields: Any) -> list[Things]:
    return [
        bought("flour", pack("25 kg", "25.00 EUR")),
        bought("butter", pack("1 kg", "8.00 EUR")),
        recipe("dough", "2 kg", line("flour", "1 kg"), line("butter", "250 g"), **fields),
    ]
