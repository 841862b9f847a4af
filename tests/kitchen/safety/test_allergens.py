"""Allergens: rule A1 through all levels, and P12 where older lots are used."""

from hypothesis import given
from hypothesis import strategies as st

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.safety.allergens import AllergenNames, Allergens, Rollup
from tests.kitchen.larder import MON, SITE, TUE, WED, at, form, ingredient, item, kitchen, line, menu_item, recipe
from tests.kitchen.plans import counted, forecast, list_of, plan_forecasts, tasks_of

NAMES = st.frozensets(st.sampled_from(["milk", "egg", "wheat", "fish:cod", "hazelnut"]))


def pantry() -> Catalogue:
    """A dish of a sauce of butter and of breaded cod, with all that they may contain besides."""
    return kitchen(
        ingredient("butter", contains=["milk"]),
        ingredient("crumb", contains=["wheat"], may_contain=["egg", "hazelnut"]),
        ingredient("cod", form("fillet", "0.5"), contains=["fish:cod"]),
        ingredient("egg", contains=["egg"]),
        recipe("sauce", "1 L", line("butter", "200 g")),
        recipe("breaded-cod", "1 kg", line("cod/fillet", "900 g"), line("crumb", "200 g")),
        recipe("dish", "10 each", line("recipe sauce", "500 mL"), line("recipe breaded-cod", "1 kg")),
    )


def document(allergens: Allergens) -> AllergenNames:
    return allergens.document()


def test_a1_allergens_roll_up_through_lines_forms_and_sub_recipes_and_keep_the_species() -> None:
    rollup = Rollup(pantry(), SITE)
    assert document(rollup.of_item(item("recipe dish"), TUE)) == {
        "contains": ["fish:cod", "milk", "wheat"],
        "may_contain": ["egg", "hazelnut"],
    }
    assert document(rollup.of_item(item("cod/fillet"), TUE)) == {"contains": ["fish:cod"], "may_contain": []}
    assert document(rollup.of_item(item("recipe sauce"), TUE)) == {"contains": ["milk"], "may_contain": []}


def test_a1_what_is_contained_is_no_longer_only_possible() -> None:
    catalogue = kitchen(
        ingredient("crumb", may_contain=["egg"]),
        ingredient("egg", contains=["egg"]),
        recipe("crust", "1 kg", line("crumb", "500 g"), line("egg", "500 g")),
    )
    assert document(Rollup(catalogue, SITE).of_item(item("recipe crust"), TUE)) == {"contains": ["egg"], "may_contain": []}


def test_a1_sub_recipes_are_those_in_force_on_the_date() -> None:
    catalogue = kitchen(
        ingredient("butter", contains=["milk"]),
        ingredient("oil"),
        recipe("sauce", "1 L", line("oil", "200 g")),
        recipe("sauce", "1 L", line("butter", "200 g"), number=2, starts_on=WED),
        recipe("dish", "10 each", line("recipe sauce", "500 mL")),
    )
    rollup = Rollup(catalogue, SITE)
    assert [rollup.of_item(item("recipe dish"), on).contains for on in (TUE, WED)] == [frozenset(), frozenset({"milk"})]


def test_a1_a_pilot_counts_at_its_sites_alone() -> None:
    catalogue = kitchen(
        ingredient("butter", contains=["milk"]),
        recipe("sauce", "1 L"),
        recipe("sauce", "1 L", line("butter", "200 g"), number=2, starts_on=TUE, sites=[SITE]),
    )
    assert Rollup(catalogue, SITE).of_item(item("recipe sauce"), TUE).contains == {"milk"}
    assert Rollup(catalogue, "harbour").of_item(item("recipe sauce"), TUE).contains == frozenset()


def test_a1_every_task_tells_its_allergens() -> None:
    catalogue = kitchen(
        *pantry().ingredients.values(),
        *(each for versions in pantry().versions.values() for each in versions),
        menu_item("plate", ("dish", "1 each")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "plate", 10)])
    found = {task["item"]["title"]: task["allergens"]["contains"] for task in tasks_of(list_of(planned, catalogue))}
    assert found == {
        "Dish": ["fish:cod", "milk", "wheat"],
        "Sauce": ["milk"],
        "Breaded-cod": ["fish:cod", "wheat"],
        "Cod, fillet": ["fish:cod"],
    }


def older_sauce() -> Catalogue:
    """A sauce that was made with butter until Monday and is made with oil from Tuesday on, in a pie and in a dish."""
    return kitchen(
        ingredient("butter", contains=["milk"]),
        ingredient("oil", may_contain=["soy"]),
        recipe("sauce", "1 L", line("butter", "200 g"), keeps="P3D"),
        recipe("sauce", "1 L", line("oil", "200 g"), number=2, starts_on=TUE, keeps="P3D"),
        recipe("pie", "1 each", line("recipe sauce", "200 mL")),
        menu_item("slice", ("pie", "1 each")),
        menu_item("jug", ("sauce", "100 mL")),
    )


def test_p12_a_use_task_of_an_older_lot_shows_the_union_of_allergens() -> None:
    catalogue = older_sauce()
    planned = plan_forecasts(catalogue, [forecast(TUE, "jug", 5)], [counted("recipe sauce", "1 L", at(TUE, "05:00"), MON)])
    (use,) = tasks_of(list_of(planned, catalogue), "use")
    assert use["version"] == 1
    assert use["allergens"] == {"contains": ["milk"], "may_contain": ["soy"]}


def test_p12_a_task_that_draws_an_older_lot_shows_the_union_of_allergens() -> None:
    catalogue = older_sauce()
    planned = plan_forecasts(catalogue, [forecast(TUE, "slice", 5)], [counted("recipe sauce", "0.5 L", at(TUE, "05:00"), MON)])
    tasks = {task["item"]["title"]: task for task in tasks_of(list_of(planned, catalogue)) if task["kind"] == "make"}
    # The pies take 0.5 L of the butter sauce and 0.5 L of the new one; the sauce made today has no butter in it.
    assert tasks["Pie"]["allergens"] == {"contains": ["milk"], "may_contain": ["soy"]}
    assert tasks["Sauce"]["allergens"] == {"contains": [], "may_contain": ["soy"]}


def test_p12_what_is_made_of_something_made_of_an_older_lot_shows_it_too() -> None:
    catalogue = kitchen(
        *older_sauce().ingredients.values(),
        *older_sauce().versions["sauce"],
        *older_sauce().versions["pie"],
        recipe("buffet", "1 each", line("recipe pie", "1 each")),
        menu_item("spread", ("buffet", "1 each")),
    )
    planned = plan_forecasts(catalogue, [forecast(TUE, "spread", 2)], [counted("recipe sauce", "0.5 L", at(TUE, "05:00"), MON)])
    tasks = {task["item"]["title"]: task for task in tasks_of(list_of(planned, catalogue)) if task["kind"] == "make"}
    assert tasks["Buffet"]["allergens"]["contains"] == ["milk"]


def test_p12_surplus_of_a_run_that_drew_an_older_lot_carries_its_allergens_on() -> None:
    # Monday's butter sauce goes into Tuesday's dish of ten; its surplus is used on Wednesday.
    catalogue = kitchen(
        *older_sauce().ingredients.values(),
        *older_sauce().versions["sauce"],
        recipe("pie", "10 each", line("recipe sauce", "1 L"), batch={"multiple": "10 each"}, keeps="P2D"),
        menu_item("slice", ("pie", "1 each")),
    )
    planned = plan_forecasts(
        catalogue,
        [forecast(TUE, "slice", 5), forecast(WED, "slice", 5)],
        [counted("recipe sauce", "1 L", at(TUE, "05:00"), MON)],
        on=WED,
    )
    (use,) = tasks_of(list_of(planned, catalogue, WED), "use")
    assert (use["item"]["title"], use["allergens"]["contains"]) == ("Pie", ["milk"])


@given(NAMES, NAMES, NAMES, NAMES)
def test_a1_a_union_loses_nothing_and_repeats_nothing(
    one: frozenset[str], maybe: frozenset[str], other: frozenset[str], perhaps: frozenset[str]
) -> None:
    found = Allergens(one, maybe - one).union(Allergens(other, perhaps - other))
    assert found.contains | found.may_contain == one | maybe | other | perhaps
    assert found.contains == one | other
    assert not found.contains & found.may_contain
