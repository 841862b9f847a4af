"""Food-safety figures against the FDA Food Code (H1, H2), through the interface.

`seen` means that the figure was read in the source; the edition of 2022 itself was not, but state adoptions of earlier editions, and
where these differ from what is kept here it stands beside the figure. `computed` means that it follows from a rule that was seen. A
house publishes one recipe with a step of each kind and reads its list; a step that is laxer is refused.
"""

from typing import Any

import pytest

from service.kitchen.measures.calendar import parse_duration
from tests.published.house import House, Json, line

F = "degF"


def recipe(house: House, *steps: Json, **fields: Any) -> None:
    house.ingredient("meat")
    house.recipe("dish", "1 kg", [line("meat", "1.2 kg")], steps=[{"text": "Do it.", "safety": each} for each in steps], **fields)
    house.menu_items.append({"code": "dish", "name": "dish", "components": [{"recipe": "dish", "quantity": {"amount": 100, "unit": "g"}}]})


def shown(house: House, *steps: Json) -> list[Json]:
    """What the list of a day says of the safety of some steps, in degrees Fahrenheit."""
    recipe(house, *steps)
    house.open().expect({1: 5}, "dish")
    document = house.done(house.director.get(f"/v1/sites/house/prep-lists/{house.day(1)}?units=us"), 200)
    (task,) = [task for station in document["stations"] for task in station["tasks"]]
    return [step["safety"] for step in task["steps"]]


def refused(house: House, *steps: Json, **fields: Any) -> set[tuple[str, str]]:
    """Where and why an import of a recipe with some steps is refused."""
    recipe(house, *steps, **fields)
    body = {"stations": [{"code": "bench", "name": "Bench"}], "ingredients": house.ingredients, "recipes": house.recipes}
    answer = house.director.post("/v1/imports?dry_run=true", body)
    return {(fault["pointer"].removeprefix("/recipes/0"), fault["code"]) for fault in answer.get_json().get("errors", [])}


def limits(safety: Json) -> tuple[str, int, str | None]:
    assert safety["temperature"]["unit"] == F
    return safety["section"], safety["temperature"]["amount"], safety["time"]


def cook(food: str | None, degrees: float | None = None, time: str | None = None) -> Json:
    temperature = None if degrees is None else {"amount": degrees, "unit": F}
    return {"kind": "cook", "class": food, "temperature": temperature, "time": time}


def test_h1_cooking_by_class_of_food(house: House) -> None:
    found = shown(house, cook("whole_cut"), cook("fish"), cook("ground"), cook("egg"), cook("poultry"))
    assert [limits(each) for each in found] == [
        # 3-401.11(A)(1): 145 F for 15 s (F01, seen).
        ("3-401.11(A)(1)", 145, "PT15S"),
        ("3-401.11(A)(1)", 145, "PT15S"),
        # 3-401.11(A)(2): 155 F (F02, seen); 17 s in 2017 and 2022 from memory, 15 s in the adoptions seen, which 17 s also fulfils.
        ("3-401.11(A)(2)", 155, "PT17S"),
        ("3-401.11(A)(2)", 155, "PT17S"),
        # 3-401.11(A)(3): 165 F (F03, seen); under 1 s from 2017 on, that 2022 keeps it from memory; 15 s up to 2013.
        ("3-401.11(A)(3)", 165, "PT0S"),
    ]
    assert all("15 s" in each["note"] for each in found[2:])


def test_h1_ground_meat_has_alternatives(house: House) -> None:
    # 3-401.11(A)(2): 145 F for 3 min, 150 F for 1 min, 158 F under 1 s (F02, seen).
    found = shown(house, cook("ground", 145), cook("ground", 150), cook("ground", 158))
    assert [each["time"] for each in found] == ["PT3M", "PT1M", "PT0S"]


# 3-401.11(B)(2), whole roasts, temperature in F and holding time in seconds (F04, seen in state adoptions).
ROASTS = {
    130: 112 * 60,
    131: 89 * 60,
    133: 56 * 60,
    135: 36 * 60,
    136: 28 * 60,
    138: 18 * 60,
    140: 12 * 60,
    142: 8 * 60,
    144: 5 * 60,
    145: 4 * 60,
    147: 134,
    149: 85,
    151: 54,
    155: 22,
    157: 14,
    158: 0,
}


def test_h1_roasts_go_by_the_table(house: House) -> None:
    found = shown(house, *(cook("roast", degrees) for degrees in ROASTS))
    times = {each["temperature"]["amount"]: parse_duration(each["time"]).total_seconds() for each in found}
    assert times == ROASTS
    assert {each["section"] for each in found} == {"3-401.11(B)(2)"}


def test_h1_a_second_less_than_the_table_of_roasts_is_refused(house: House) -> None:
    steps = [cook("roast", degrees, f"PT{seconds - 1}S") for degrees, seconds in ROASTS.items() if seconds]
    assert refused(house, *steps) == {(f"/steps/{index}/safety/time", "safety_laxer") for index in range(len(steps))}


def test_h1_reheating_for_hot_holding(house: House) -> None:
    # 3-403.11(A) and (D): 165 F for 15 s, within 2 h (F05, seen).
    (found,) = shown(house, {"kind": "reheat"})
    assert limits(found) == ("3-403.11(A)", 165, "PT15S")
    assert [each["within"] for each in found["stages"]] == ["PT2H"]


def test_h1_thawing(house: House) -> None:
    # 3-501.13: refrigerated at most 41 F, running water at most 70 F, raw food of animals above 41 F at most 4 h (F06, seen).
    found = shown(house, {"kind": "thaw"}, {"kind": "thaw", "temperature": {"amount": 70, "unit": F}})
    assert [limits(each) for each in found] == [("3-501.13(A)", 41, None), ("3-501.13(B)", 70, "PT4H")]


def test_h1_thawing_in_warmer_water_is_refused(house: House) -> None:
    assert refused(house, {"kind": "thaw", "temperature": {"amount": 71, "unit": F}}) == {("/steps/0/safety/temperature", "safety_laxer")}


def test_h1_cooling_in_two_stages(house: House) -> None:
    # 3-501.14(A): 135 to 70 F within 2 h, to 41 F within 6 h in all; (B): from room temperature within 4 h (F07, seen).
    (found,) = shown(house, {"kind": "cool"})
    assert limits(found) == ("3-501.14(A)", 41, "PT6H")
    stages = [(each["from"]["amount"], each["to"]["amount"], each["within"]) for each in found["stages"]]
    assert stages == [(135, 70, "PT2H"), (135, 41, "PT6H")]
    assert "within 4 h by 3-501.14(B)" in found["note"]


def test_h1_holding(house: House) -> None:
    # 3-501.16(A): hot at least 135 F, cold at most 41 F, roasts at least 130 F (F09, seen).
    found = shown(house, {"kind": "hold_hot"}, {"kind": "hold_cold"}, {"kind": "hold_hot", "class": "roast"})
    assert [each["temperature"]["amount"] for each in found] == [135, 41, 130]
    assert all(each["section"].startswith("3-501.16(A)") for each in found)


def test_h1_plant_food_for_hot_holding(house: House) -> None:
    # 3-401.13: 135 F; the section is from memory, the temperature is that of hot holding (F09, seen).
    (found,) = shown(house, cook("plant"))
    assert limits(found) == ("3-401.13", 135, None)


def test_h1_time_as_control(house: House) -> None:
    # 3-501.19(B): 4 h; (C): 6 h where it never rises above 70 F (F14, seen).
    found = shown(house, {"kind": "time_control"}, {"kind": "time_control", "temperature": {"amount": 70, "unit": F}})
    assert [(each["section"], each["time"]) for each in found] == [("3-501.19(B)", "PT4H"), ("3-501.19(C)", "PT6H")]


@pytest.mark.parametrize(("keeps", "faults"), [("P6D", set()), ("P7D", {("/keeps", "safety_laxer")})])
def test_h2_date_marking_is_seven_days_with_that_of_preparation(house: House, keeps: str, faults: set[tuple[str, str]]) -> None:
    # 3-501.17(A): at most 7 days, the day of preparation is day 1 (F10, seen).
    assert refused(house, {"kind": "hold_cold"}, keeps=keeps, ready_to_eat=True, storage="cold") == faults


def test_h2_combined_food_keeps_the_date_of_its_earliest_part(house: House) -> None:
    # 3-501.17, combined food (F12, computed): prepared on the 1st and combined on the 4th, it is discarded after the 7th. Ours: a filling
    # of day 1 that keeps P6D goes into a pie of day 4, which would keep P6D by itself.
    house.ingredient("meat")
    house.recipe("filling", "1 kg", [line("meat", "1.2 kg")], keeps="P6D", ready_to_eat=True, storage="cold")
    house.recipe("pie", "1 each", [line("=filling", "100 g")], keeps="P6D", ready_to_eat=True, storage="cold")
    house.sold("pie")
    house.open().expect({4: 5}, "pie")
    house.count({"=filling": "2 kg"})
    (task,) = [task for station in house.lists(4)[3]["stations"] for task in station["tasks"] if task["kind"] == "make"]
    assert house.number(task["ready_by"]) == 4
    # The business date of day 7 ends at 04:00 of day 8.
    assert task["use_by"] == f"{house.day(8)}T04:00:00+00:00"
