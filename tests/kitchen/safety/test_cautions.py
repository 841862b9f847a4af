"""Cautions: rule H3 on scalings, for allergens and for steps that something is to be kept to, at every level."""

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.lists.scaling import Scaler, scaling_document
from service.kitchen.safety.cautions import ALLERGEN_CAUTION, SAFETY_CAUTION
from tests.kitchen.larder import TUE, Document, ingredient, kitchen, line, only_site, recipe, safety, step


def scaled(catalogue: Catalogue, code: str) -> Document:
    scaler = Scaler(catalogue, only_site(catalogue), catalogue.versions[code][-1], TUE)
    return dict(scaling_document(scaler, scaler.run_to(1000), "metric"))


def bakery(contains: list[str], guard: Document | None) -> Catalogue:
    """A pie of a filling, which is where the allergen and the safety step are."""
    return kitchen(
        ingredient("cream", contains=contains),
        recipe("filling", "1 kg", line("cream", "1 kg"), steps=[step("PT10M", safety=guard)]),
        recipe("pie", "1 kg", line("recipe filling", "1 kg")),
    )


def test_h3_a_scaling_says_nothing_where_nothing_is_to_be_minded() -> None:
    assert scaled(bakery([], None), "pie")["cautions"] == []


def test_h3_a_scaling_warns_of_allergens_of_a_sub_recipe() -> None:
    assert scaled(bakery(["milk"], None), "pie")["cautions"] == [ALLERGEN_CAUTION, SAFETY_CAUTION]


def test_h3_a_scaling_with_a_safety_step_at_any_level_says_to_follow_the_local_code() -> None:
    assert scaled(bakery([], safety("cool")), "pie")["cautions"] == [SAFETY_CAUTION]
