"""What differs between two states of a recipe, told as a cook would tell it."""

from copy import deepcopy
from decimal import Decimal
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from service.kitchen.book.changes import FIELDS, differences, same
from tests.kitchen.larder import draft, line, step

Json = dict[str, Any]
SOUP = draft(
    "20 L",
    line("onion/diced", "2 kg", 1),
    line("cumin", "40 g", 1, {"rule": "power", "exponent": Decimal("0.8")}),
    line("salt", "2 percent", 2, {"rule": "percent", "of": [1, 2]}),
    steps=[step("PT15M", text="Sweat."), step("PT10M", "PT1H", text="Simmer.")],
    gives={"trim": "200 g"},
    title="Soup",
)


def edited(**changes: Any) -> Json:
    return deepcopy(SOUP) | changes


def numbers(rows: list[Json]) -> list[int]:
    return [row["number"] for row in rows]


def changed(rows: Json) -> list[tuple[int, int]]:
    return [(row["old"]["number"], row["new"]["number"]) for row in rows["changed"]]


def nothing(rows: Json) -> bool:
    return rows == {"added": [], "dropped": [], "changed": []}


def test_a_recipe_does_not_differ_from_itself() -> None:
    told = differences(SOUP, edited())
    assert told.pop("fields") == []
    assert all(nothing(rows) for rows in told.values())


def test_without_an_older_state_everything_is_added() -> None:
    told = differences(None, SOUP)
    assert [numbers(told[name]["added"]) for name in ("lines", "steps", "by_products")] == [[1, 2, 3], [1, 2], [1]]
    assert {"field": "title", "old": None, "new": "Soup"} in told["fields"]
    assert all(each["new"] is not None for each in told["fields"])


def test_a_field_that_changed_shows_old_and_new() -> None:
    told = differences(SOUP, edited(**{"yield": {"amount": 25, "unit": "L"}, "keeps": "P2D", "portion": {"amount": 240, "unit": "mL"}}))
    assert told["fields"] == [
        {"field": "yield", "old": SOUP["yield"], "new": {"amount": 25, "unit": "L"}},
        {"field": "portion", "old": None, "new": {"amount": 240, "unit": "mL"}},
        {"field": "keeps", "old": None, "new": "P2D"},
    ]
    batch = {**SOUP["batch"], "split": "full"}
    assert differences(SOUP, edited(batch=batch))["fields"] == [{"field": "batch", "old": SOUP["batch"], "new": batch}]


def test_every_field_of_a_draft_is_compared() -> None:
    assert {*FIELDS, "lines", "steps", "by_products"} == SOUP.keys()


def test_lines_are_known_by_their_item() -> None:
    onion, cumin, salt = deepcopy(SOUP["lines"])
    more = {**onion, "quantity": {"amount": 3, "unit": "kg"}}
    told = differences(SOUP, edited(lines=[more, line("leek", "1 kg", 1), {**salt, "scaling": {"rule": "percent", "of": [1]}}]))["lines"]
    assert (numbers(told["added"]), numbers(told["dropped"]), changed(told)) == ([2], [2], [(1, 1), (3, 3)])
    assert told["changed"][0] == {"old": {"number": 1, **onion}, "new": {"number": 1, **more}}
    assert told["dropped"] == [{"number": 2, **cumin}]


def test_numbers_that_only_shifted_are_no_change() -> None:
    onion, cumin, salt = deepcopy(SOUP["lines"])
    shifted = [
        line("oil", "100 g", 1),
        {**onion, "step": 2},
        {**cumin, "step": 2},
        {**salt, "step": 3, "scaling": {"rule": "percent", "of": [2, 3]}},
    ]
    told = differences(SOUP, edited(lines=shifted, steps=[step(text="Heat the oil."), *SOUP["steps"]]))
    assert (numbers(told["lines"]["added"]), told["lines"]["dropped"], changed(told["lines"])) == ([1], [], [])
    assert (numbers(told["steps"]["added"]), told["steps"]["dropped"], changed(told["steps"])) == ([1], [], [])


def test_a_line_that_goes_to_another_step_or_to_other_base_lines_changed() -> None:
    onion, cumin, salt = deepcopy(SOUP["lines"])
    assert changed(differences(SOUP, edited(lines=[{**onion, "step": 2}, cumin, salt]))["lines"]) == [(1, 1)]
    assert changed(differences(SOUP, edited(lines=[onion, cumin, {**salt, "scaling": {"rule": "percent", "of": [2]}}]))["lines"]) == [
        (3, 3)
    ]
    swapped = [cumin, onion, salt]
    assert changed(differences(SOUP, edited(lines=swapped))["lines"]) == []


def test_of_two_lines_of_one_item_the_one_that_stayed_is_no_change() -> None:
    twice = edited(lines=[line("salt", "10 g", 1), line("salt", "20 g", 2)])
    once = edited(lines=[line("salt", "20 g", 2)])
    assert numbers(differences(twice, once)["lines"]["dropped"]) == [1]
    assert changed(differences(twice, once)["lines"]) == []
    assert numbers(differences(once, twice)["lines"]["added"]) == [1]


def test_a_step_is_known_by_its_text_or_by_what_it_follows() -> None:
    sweat, simmer = deepcopy(SOUP["steps"])
    longer = {**simmer, "passive": "PT2H"}
    assert changed(differences(SOUP, edited(steps=[sweat, longer]))["steps"]) == [(2, 2)]
    reworded = differences(SOUP, edited(steps=[{**sweat, "text": "Sweat slowly."}, simmer]))["steps"]
    assert (changed(reworded), reworded["added"]) == ([(1, 1)], [])
    dropped = differences(SOUP, edited(steps=[simmer]))["steps"]
    assert (numbers(dropped["dropped"]), changed(dropped)) == ([1], [])


def test_steps_that_change_places_are_changed() -> None:
    assert changed(differences(SOUP, edited(steps=SOUP["steps"][::-1]))["steps"]) == [(1, 2), (2, 1)]


def test_by_products_are_known_by_their_ingredient() -> None:
    told = differences(SOUP, edited(by_products=[{"ingredient": "trim", "quantity": {"amount": 1, "unit": "kg"}}]))["by_products"]
    assert changed(told) == [(1, 1)]
    assert numbers(differences(SOUP, edited(by_products=[]))["by_products"]["dropped"]) == [1]


def test_an_amount_is_the_same_however_it_is_written() -> None:
    assert same({"amount": "1 1/2", "unit": "kg"}, {"amount": Decimal("1.500"), "unit": "kg"})
    assert not same({"amount": "1 1/2", "unit": "kg"}, {"amount": "1 1/2", "unit": "lb"})
    assert same({"a": None, "b": [1]}, {"b": [Decimal("1.0")]})
    assert same({"temperature": {"amount": -18, "unit": "degC"}}, {"temperature": {"amount": Decimal("-18.0"), "unit": "degC"}})


ANY_LINE = st.builds(line, st.sampled_from(["salt", "oil"]), st.sampled_from(["1 g", "2 g"]), st.sampled_from([None, 1, 2]))
LINES = st.lists(ANY_LINE, max_size=5)
STEPS = st.permutations([step(text=text) for text in ("Cut.", "Cook.", "Cool.")])


@given(LINES, LINES, STEPS, STEPS)
def test_every_line_and_step_is_told_of_at_most_once_and_what_is_not_told_stayed(
    first: list[Json], second: list[Json], early: list[Json], late: list[Json]
) -> None:
    told = differences(edited(lines=first, steps=early), edited(lines=second, steps=late))
    for name, old, new in (("lines", first, second), ("steps", early, late)):
        rows = told[name]
        gone = numbers(rows["dropped"]) + [a for a, _ in changed(rows)]
        come = numbers(rows["added"]) + [b for _, b in changed(rows)]
        assert (len(gone), len(come)) == (len(set(gone)), len(set(come)))
        assert len(old) - len(gone) == len(new) - len(come)
        assert len(rows["added"]) - len(rows["dropped"]) == len(new) - len(old)
