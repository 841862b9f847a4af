"""Allergen lists against the laws that name them (A1), through the interface.

`verified` means that two sources agree on the text, `seen` that it was read in one source, `computed` that it follows from these.
A house keeps one ingredient for every name of the vocabulary and cooks all of them into one dish.
"""

import pytest

from service.limits import ALLERGENS
from tests.published.house import House, Json, line

# FALCPA 2004 and the FASTER Act of 2021, sesame from 2023-01-01 (L01, verified), in our words for them.
US = {"milk", "egg", "fish", "crustacean", "tree_nut", "peanut", "wheat", "soy", "sesame"}
# Regulation (EU) 1169/2011, Annex II (L02, verified).
EU = {
    *("gluten_cereal", "crustacean", "egg", "fish", "peanut", "soy", "milk", "nut", "celery", "mustard", "sesame", "sulphite", "lupin"),
    "mollusc",
}
# Regulation (EU) 1169/2011, Annex II, item 8 (L04, seen).
EU_NUTS = {"almond", "hazelnut", "walnut", "cashew", "pecan", "brazil_nut", "pistachio", "macadamia"}


@pytest.fixture
def everything(house: House) -> Json:
    """The report of a dish that contains every name of the vocabulary."""
    for name in ALLERGENS:
        house.ingredient(name.replace("_", "-"), contains=[name])
    house.recipe("all-of-it", "10 kg", [line(name.replace("_", "-"), "500 g") for name in ALLERGENS])
    house.open()
    return house.done(house.director.get("/v1/recipes/all-of-it/allergens"), 200)


def names(rows: list[Json], allergen: str | None = None) -> set[str]:
    """What was recorded under one entry of a law's list, or under all."""
    return {name for row in rows if allergen in (None, row["allergen"]) for name in row["contains"]}


def test_a1_the_us_names_nine(everything: Json) -> None:
    assert {row["allergen"] for row in everything["us"]} == US
    assert len(everything["us"]) == 9


def test_a1_the_eu_names_fourteen(everything: Json) -> None:
    assert {row["allergen"] for row in everything["eu"]} == EU
    assert len(everything["eu"]) == 14


def test_a1_the_eu_names_eight_nuts_and_not_the_pine_nut(everything: Json) -> None:
    assert names(everything["eu"], "nut") == EU_NUTS
    assert names(everything["us"], "tree_nut") == {*EU_NUTS, "pine_nut"}


def test_a1_the_eu_names_what_the_us_does_not(everything: Json) -> None:
    # L05, computed from L01 and L02: celery, mustard, sulphites, lupin, molluscs, and gluten cereals other than wheat, which spelt is.
    more = names(everything["eu"]) - names(everything["us"])
    assert more == {"celery", "mustard", "sulphite", "lupin", "mollusc", "barley", "rye", "oat"}
    assert names(everything["us"]) - names(everything["eu"]) == {"pine_nut"}


def test_a1_the_entry_of_sulphites_says_from_which_content_on_the_eu_asks_for_it(everything: Json) -> None:
    # Regulation (EU) 1169/2011, Annex II, item 12 (L03, seen): more than 10 mg/kg or 10 mg/L of total SO2.
    (row,) = [row for row in everything["eu"] if row["allergen"] == "sulphite"]
    assert "above 10 mg/kg or 10 mg/L" in row["title"]


def test_a1_coconut_and_chestnut_are_names_outside_both(everything: Json) -> None:
    assert everything["outside"] == ["chestnut", "coconut"]
    assert {"chestnut", "coconut"} <= set(everything["contains"])
