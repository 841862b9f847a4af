"""Explosion of demand through levels against published worked examples of requirements planning (P2 to P6, S3, P13).

The examples are of workshops that plan in weekly buckets. Their words in ours: a part with parts is a recipe that yields one,
a bought part is an ingredient, a week is a business date, a lead time is the length of a recipe's steps or the thaw of an
ingredient, lot-for-lot is a recipe without a batch rule, a lot size is a batch multiple, a minimum order is a smallest batch, a
period order quantity is `makes_for`, a planned receipt is the run of a date and its planned release the list it stands on.

What does not apply: scheduled receipts. An open order that arrives in a later week is no lot of ours (a counted lot is on hand from
the start), so each is counted with what is on hand. That is the same plan wherever, as in these examples, nothing needs the part before
it arrives; where a test compares what is on hand, it says from which week on that holds. And a run that serves several dates
(`makes_for`) owes the later ones their part from the start: it is on hand in the workshop's record and left over in no list of ours.

`computed` means that the inputs were read in the source and the answer recomputed, `verified` that both were read.
"""

from collections.abc import Mapping
from typing import NamedTuple

import pytest

from tests.published.house import House, Json, amounts, line, measure, named

Weeks = dict[int, float]


class Schedule(NamedTuple):
    """What lists say of each part: when work or pulls start, when they are ready, and what is left at the end of each week."""

    releases: dict[str, Weeks]
    receipts: dict[str, Weeks]
    left: list[dict[str, float]]


def schedule(house: House, weeks: int) -> Schedule:
    """Read the lists of so many weeks."""
    releases: dict[str, Weeks] = {}
    receipts: dict[str, Weeks] = {}
    left: list[dict[str, float]] = []
    for week, document in enumerate(house.lists(weeks), start=1):
        for entry, ready in entries(document):
            part, quantity = named(entry), entry["quantity"]["amount"]
            assert not entry["late"]
            releases.setdefault(part, {})[week] = quantity
            receipts.setdefault(part, {})[house.number(ready)] = quantity
        left.append(amounts(document["left_over"]))
    return Schedule(releases, receipts, left)


def entries(document: Json) -> list[tuple[Json, str]]:
    """What is made and pulled, with the moment it is ready."""
    tasks = [task for station in document["stations"] for task in station["tasks"] if task["kind"] == "make"]
    return [(task, task["ready_by"]) for task in tasks] + [(pull, pull["need_by"]) for pull in document["pulls"]]


def made_in(days: int) -> list[Json]:
    """Steps that take so many days."""
    return [{"text": "Make it, and let it stand.", "passive": f"P{days}D"}]


def part(house: House, code: str, parts: Mapping[str, int], lead: int, **batch: int) -> None:
    """A recipe that yields one, of other parts; those that were put as ingredients are bought."""
    bought = {each["code"] for each in house.ingredients}
    lines = [line(each if each in bought else f"={each}", f"{count} each") for each, count in parts.items()]
    rule = {name: measure(f"{size} each") for name, size in batch.items()}
    house.recipe(code, "1 each", lines, batch=rule, keeps="P30D", steps=made_in(lead))


def test_p6_a_matrix_of_parts_explodes_level_by_level(house: House) -> None:
    # Z = 2 A + 3 B, A = 4 C + 4 D, D = 2 E, demand 59 Z: x = (I - N)^-1 d (the matrix method of Vazsonyi 1954 and Giffler; computed).
    for code in "bce":
        house.ingredient(code, "count")
    for code, parts in {"z": {"a": 2, "b": 3}, "a": {"c": 4, "d": 4}, "d": {"e": 2}}.items():
        part(house, code, parts, 0)
    house.sold("z")
    house.open().expect({1: 59}, "z")
    answer = house.scaled("z", "59 each")
    assert amounts(answer["ingredients"]) == {"b": 177, "c": 472, "e": 944}
    (found, _, _) = schedule(house, 1)
    assert {code: weeks[1] for code, weeks in found.items()} == {"z": 59, "a": 118, "b": 177, "c": 472, "d": 472, "e": 944}


# A teaching deck of operations management (computed): seats of a chair, gross requirements by week, 37 on hand and 230 that arrive in
# week 1, lead time 2 weeks, under three lot-sizing rules; receipts, releases, and what is on hand at the end of each week. Weeks without a
# receipt or release are left out.
GROSS = {1: 150, 4: 120, 6: 150, 7: 120}
NOTHING: Weeks = dict.fromkeys(range(1, 9), 0)
RULES: dict[str, tuple[Json, Weeks, Weeks, list[int], Weeks]] = {
    "fixed order quantity 230": (
        {"batch": {"multiple": measure("230 each")}},
        {4: 230, 7: 230},
        {2: 230, 5: 230},
        [117, 117, 117, 227, 227, 77, 187, 187],
        NOTHING,
    ),
    "lot for lot": ({}, {4: 3, 6: 150, 7: 120}, {2: 3, 4: 150, 5: 120}, [117, 117, 117, 0, 0, 0, 0, 0], NOTHING),
    # The 150 of week 6 are made in week 4 and owed until then.
    "period order quantity, 3 weeks": (
        {"makes_for": 3},
        {4: 153, 7: 120},
        {2: 153, 5: 120},
        [117, 117, 117, 150, 150, 0, 0, 0],
        NOTHING | {4: 150, 5: 150},
    ),
}


@pytest.mark.parametrize("rule", RULES)
def test_p4_requirements_are_netted_and_sized_as_in_the_record_of_the_seats(house: House, rule: str) -> None:
    fields, receipts, releases, on_hand, owed = RULES[rule]
    house.ingredient("rush", "count")
    house.recipe("seat", "1 each", [line("rush", "1 each")], keeps="P30D", steps=made_in(2), **fields)
    house.sold("seat")
    house.open().expect(GROSS, "seat")
    house.count({"=seat": f"{37 + 230} each"})
    found = schedule(house, 8)
    assert found.receipts["seat"] == receipts
    assert found.releases["seat"] == releases
    assert [left.get("seat", 0) + owed[week] for week, left in enumerate(found.left, start=1)] == on_hand


def test_s3_a_minimum_order_is_a_smallest_batch(house: House) -> None:
    # A worked answer on a homework site (verified, and recomputed): lead time 3 weeks, at least 500 an order, nothing on hand, 500 to
    # arrive in week 2 and 600 in week 3. On hand from week 3 on, when all of it has arrived; before that, our count already holds it.
    house.ingredient("blank", "count")
    part(house, "piece", {"blank": 1}, 3, smallest=500)
    house.sold("piece")
    house.open().expect({2: 250, 3: 300, 4: 300, 5: 300, 6: 300}, "piece")
    house.count({"=piece": f"{500 + 600} each"})
    found = schedule(house, 6)
    assert found.receipts["piece"] == {5: 500}
    assert found.releases["piece"] == {2: 500}
    assert [left.get("piece", 0) for left in found.left[2:]] == [550, 250, 450, 150]


def test_p4_low_level_coding_with_lots_and_stock_at_every_level(house: House) -> None:
    # A text book problem of operations management (computed, by script and by hand): A of B and C, B of 3 D and F, C of 3 B, D and 4 E,
    # D of E; lots A 20, B 40, D 160. B stands under A and under C, so it must wait for both before it is netted. 20 A in week 10.
    for code, lead in {"e": 2, "f": 2}.items():
        house.ingredient(code, "count", thaw=f"P{lead}D")
    part(house, "d", {"e": 1}, 3, multiple=160)
    part(house, "b", {"d": 3, "f": 1}, 2, multiple=40)
    part(house, "c", {"b": 3, "d": 1, "e": 4}, 1)
    part(house, "a", {"b": 1, "c": 1}, 2, multiple=20)
    house.sold("a")
    house.open().expect({10: 20}, "a")
    # On hand and, second, to arrive before the first need of it: A 10 in week 3, B 20 in week 7, F 40 in week 5, E 60 in week 2.
    house.count({"=a": f"{5 + 10} each", "=b": f"{10 + 20} each", "=d": "100 each", "e": f"{100 + 60} each", "f": f"{0 + 40} each"})
    found = schedule(house, 10)
    assert found.receipts == {"a": {10: 20}, "c": {8: 20}, "b": {7: 40, 8: 40}, "d": {5: 160}, "f": {6: 40}, "e": {7: 80}}
    assert found.releases == {"a": {8: 20}, "c": {7: 20}, "b": {5: 40, 6: 40}, "d": {2: 160}, "f": {4: 40}, "e": {5: 80}}
    assert found.left[-1] == {"a": 15, "b": 30}


def test_p4_low_level_coding_where_stock_covers_the_bottom(house: House) -> None:
    # Another problem of the same family (computed): A of 3 B, C and 2 D, B of 2 D, C of B and 2 E, E of F; lots C 50, E 200, D in multiples
    # of 50. 30 A in week 8. E and F are on hand for all of it, so nothing is made or pulled of either.
    house.ingredient("f", "count", thaw="P1D")
    house.ingredient("stock", "count")
    part(house, "d", {"stock": 1}, 2, multiple=50)
    part(house, "e", {"f": 1}, 1, multiple=200)
    part(house, "b", {"d": 2}, 1)
    part(house, "c", {"b": 1, "e": 2}, 1, multiple=50)
    part(house, "a", {"b": 3, "c": 1, "d": 2}, 2)
    house.sold("a")
    house.open().expect({8: 30}, "a")
    # On hand and, second, to arrive before the first need of it: A 10 in week 2, E 50 and F 50 in week 1.
    house.count({"=a": f"{0 + 10} each", "=c": "10 each", "=e": f"{50 + 50} each", "f": f"{150 + 50} each"})
    found = schedule(house, 8)
    # The stock that D is made of is ours, since a recipe is made of something; the problem buys D.
    del found.receipts["stock"], found.releases["stock"]
    assert found.receipts == {"a": {8: 20}, "c": {6: 50}, "b": {5: 50, 6: 60}, "d": {4: 100, 5: 150, 6: 50}}
    assert found.releases == {"a": {6: 20}, "c": {5: 50}, "b": {4: 50, 5: 60}, "d": {2: 100, 3: 150, 4: 50}}
    assert found.left[-1] == {"c": 40, "d": 40, "f": 200}
