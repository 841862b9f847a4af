"""Safety of a step: rule H1, defaults where it states nothing, stricter free, laxer found."""

import pytest

from service.kitchen.safety.safety import effective, laxer
from service.limits import SAFETY_CLASSES, SAFETY_KINDS
from tests.kitchen.larder import TUE, Document, kitchen, menu_item, recipe, safety, step
from tests.kitchen.plans import forecast, list_of, plan_forecasts, tasks_of


def fields(*words: str | None) -> list[str]:
    """Which fields of a step ask for less than the code."""
    return [each.field for each in laxer(safety(*words))]  # type: ignore[arg-type]  # The words are those of safety, the first of them is never None.


@pytest.mark.parametrize("kind", SAFETY_KINDS)
@pytest.mark.parametrize("food", [None, *SAFETY_CLASSES])
def test_h1_a_step_that_states_nothing_takes_the_default_and_is_never_laxer(kind: str, food: str | None) -> None:
    assert fields(kind, food) == []
    shown = effective(safety(kind, food), "metric")
    assert shown["temperature"] is not None or shown["time"] is not None
    assert shown["edition"] == "FDA Food Code 2022"
    # What is shown, written into the step, is no less than the code either.
    stated = {**safety(kind, food), "temperature": shown["temperature"], "time": shown["time"]}
    assert list(laxer(stated)) == []


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("cook", "poultry", "74 degC"), []),
        (("cook", "poultry", "165 degF"), []),
        (("cook", "poultry", "73.9 degC"), ["temperature"]),
        (("cook", "poultry", "164 degF", "PT1H"), ["temperature"]),
        (("cook", None, "70 degC"), ["temperature"]),
        (("cook", "fish", "63 degC", "PT15S"), []),
        (("cook", "fish", "63 degC", "PT14S"), ["time"]),
        (("cook", "fish", "60 degC", "PT10S"), ["temperature", "time"]),
        (("cook", "ground", "63 degC", "PT3M"), []),
        (("cook", "ground", "63 degC", "PT2M"), ["time"]),
        (("cook", "ground", "62 degC", "PT1H"), ["temperature"]),
        (("cook", "ground", None, "PT15S"), ["time"]),
        (("cook", "ground", "70 degC", "PT0S"), []),
        (("cook", "roast", "54.4 degC", "PT112M"), []),
        (("cook", "roast", "54.4 degC", "PT111M"), ["time"]),
        (("cook", "roast", "54 degC", "PT5H"), ["temperature"]),
        (("cook", "plant", "57 degC"), []),
        (("cook", "plant", "56 degC", "PT1H"), ["temperature"]),
        (("reheat", None, "74 degC", "PT15S"), []),
        (("reheat", None, "74 degC", "PT10S"), ["time"]),
        (("hold_hot", None, "57 degC"), []),
        (("hold_hot", None, "130 degF"), ["temperature"]),
        (("hold_hot", "roast", "130 degF"), []),
        (("hold_cold", None, "5 degC"), []),
        (("hold_cold", None, "3 degC"), []),
        (("hold_cold", None, "8 degC"), ["temperature"]),
        (("cool", None, "5 degC", "PT6H"), []),
        (("cool", None, "3 degC", "PT90M"), []),
        (("cool", None, "8 degC", "PT7H"), ["temperature", "time"]),
        (("time_control", None, None, "PT4H"), []),
        (("time_control", None, None, "PT5H"), ["time"]),
        (("time_control", None, "21 degC", "PT6H"), []),
        (("time_control", None, "22 degC", "PT6H"), ["time"]),
        (("thaw", None, "4 degC", "P3D"), []),
        (("thaw", None, "21 degC", "PT4H"), []),
        (("thaw", None, "21 degC", "PT5H"), ["time"]),
        (("thaw", None, "25 degC"), ["temperature"]),
    ],
)
def test_h1_stricter_is_free_and_laxer_is_found_field_by_field(words: tuple[str | None, ...], expected: list[str]) -> None:
    assert fields(*words) == expected


def test_h1_the_detail_names_the_section_and_what_to_write() -> None:
    (found,) = laxer(safety("cook", "poultry", "70 degC"))
    assert found.detail == "FDA Food Code 2022, 3-401.11(A)(3), asks for at least 74 °C; write that, or record a reason"
    (found,) = laxer(safety("cook", "roast", "140 degF", "PT10M"))
    assert "3-401.11(B)(2)" in found.detail
    assert "at least PT12M at that temperature" in found.detail


COOKED, HELD, COOLED = "Food Code 2022 3-401.11", "Food Code 2022 3-501.16", "Food Code 2022 3-501.14"
TWO_STAGES = "57 °C to 21 °C within 2 h, 57 °C to 5 °C within 6 h"
TWO_STAGES_US = "135 °F to 70 °F within 2 h, 135 °F to 41 °F within 6 h"


@pytest.mark.parametrize(
    ("words", "metric", "us"),
    [
        (("cook", "poultry"), f"at least 74 °C, {COOKED}", f"at least 165 °F, {COOKED}"),
        (("cook", "fish"), f"at least 63 °C for 15 s, {COOKED}", f"at least 145 °F for 15 s, {COOKED}"),
        (("cook", "roast"), f"at least 62.8 °C for 4 min, {COOKED}", f"at least 145 °F for 4 min, {COOKED}"),
        (("hold_cold",), f"at most 5 °C, {HELD}", f"at most 41 °F, {HELD}"),
        (("cool",), f"{TWO_STAGES}, {COOLED}", f"{TWO_STAGES_US}, {COOLED}"),
        (("time_control",), "use or discard within 4 h, Food Code 2022 3-501.19", "use or discard within 4 h, Food Code 2022 3-501.19"),
        (("thaw",), "at most 5 °C, Food Code 2022 3-501.13", "at most 41 °F, Food Code 2022 3-501.13"),
    ],
)
def test_h1_a_step_that_states_nothing_reads_what_the_code_asks_and_its_section(
    words: tuple[str | None, ...], metric: str, us: str
) -> None:
    document = safety(*words)  # type: ignore[arg-type]  # The words are those of safety, the first of them is never None.
    assert (effective(document, "metric")["display"], effective(document, "us")["display"]) == (metric, us)


@pytest.mark.parametrize(
    ("words", "metric", "us"),
    [
        (
            ("cook", "poultry", "82 degC"),
            f"82 °C; the code asks at least 74 °C, {COOKED}",
            f"180 °F; the code asks at least 165 °F, {COOKED}",
        ),
        (
            ("cook", "poultry", None, "PT30S"),
            f"for 30 s; the code asks at least 74 °C, {COOKED}",
            f"for 30 s; the code asks at least 165 °F, {COOKED}",
        ),
        (
            ("reheat", None, "80 degC"),
            "80 °C; the code asks at least 74 °C for 15 s, reached within 2 h, Food Code 2022 3-403.11",
            "176 °F; the code asks at least 165 °F for 15 s, reached within 2 h, Food Code 2022 3-403.11",
        ),
        (
            ("cook", "ground", "82 degC"),
            # The table asks no time from 70 °C on.
            f"82 °C; the code asks at least 70 °C, {COOKED}",
            f"180 °F; the code asks at least 158 °F, {COOKED}",
        ),
        (
            ("hold_cold", None, "-18 degC"),
            f"-18 °C; the code asks at most 5 °C, {HELD}",
            f"-1 °F; the code asks at most 41 °F, {HELD}",
        ),
        (
            ("cool", None, "3 degC", "PT4H"),
            f"57 °C to 21 °C within 2 h, 57 °C to 3 °C within 4 h; the code asks {TWO_STAGES}, {COOLED}",
            f"135 °F to 70 °F within 2 h, 135 °F to 37 °F within 4 h; the code asks {TWO_STAGES_US}, {COOLED}",
        ),
        (
            ("thaw", None, "70 degF"),
            "at most 21 °C, within 4 h, Food Code 2022 3-501.13",
            "at most 70 °F, within 4 h, Food Code 2022 3-501.13",
        ),
    ],
)
def test_h1_what_the_recipe_says_and_what_the_code_asks_are_told_apart(words: tuple[str | None, ...], metric: str, us: str) -> None:
    document = safety(*words)  # type: ignore[arg-type]  # The words are those of safety, the first of them is never None.
    assert (effective(document, "metric")["display"], effective(document, "us")["display"]) == (metric, us)


def test_h1_what_the_code_asks_stands_beside_what_the_step_keeps_to() -> None:
    shown = effective(safety("cook", "poultry", "180 degF", "PT30S"), "us")
    assert (shown["temperature"], shown["time"]) == ({"amount": 180, "unit": "degF", "display": "180 °F"}, "PT30S")
    assert shown["asks"] == {"temperature": {"amount": 165, "unit": "degF", "display": "165 °F"}, "time": "PT0S"}


@pytest.mark.parametrize(
    ("words", "metric", "us"),
    [
        (("cook", "whole_cut", "62.8 degC", None, "Our plan."), "62.8 °C", "145 °F"),
        (("cook", "plant", "73.9 degC"), "73.9 °C", "165 °F"),
        (("cook", "plant", "74 degC"), "74 °C", "165 °F"),
        (("cook", "roast", "130 degF"), "54.4 °C", "130 °F"),
        (("hold_hot", None, "135 degF"), "57 °C", "135 °F"),
        (("hold_hot", "roast", "130 degF"), "54 °C", "130 °F"),
        # What the code does not print goes to whole degrees on the safe side.
        (("cook", "poultry", "180 degF"), "83 °C", "180 °F"),
        (("cook", "poultry", "75.5 degC"), "75.5 °C", "168 °F"),
        (("hold_cold", None, "38 degF"), "3 °C", "38 °F"),
    ],
)
def test_h1_figures_of_the_code_keep_what_it_prints_in_the_other_scale(words: tuple[str | None, ...], metric: str, us: str) -> None:
    document = safety(*words)  # type: ignore[arg-type]  # The words are those of safety, the first of them is never None.
    shown = [effective(document, system)["temperature"] for system in ("metric", "us")]
    assert [each and each["display"] for each in shown] == [metric, us]


def test_h1_a_temperature_is_in_the_scale_of_the_list() -> None:
    assert effective(safety("cook", "poultry", "180 degF"), "metric")["temperature"] == {"amount": 83, "unit": "degC", "display": "83 °C"}
    assert effective(safety("cook", "poultry"), "us")["temperature"] == {"amount": 165, "unit": "degF", "display": "165 °F"}


def test_h1_cooling_goes_in_two_stages_and_a_stricter_step_shortens_both() -> None:
    stages = effective(safety("cool"), "metric")["stages"] or []
    assert [(each["from"]["amount"], each["to"]["amount"], each["within"]) for each in stages] == [(57, 21, "PT2H"), (57, 5, "PT6H")]
    quick = effective(safety("cool", None, "3 degC", "PT90M"), "metric")["stages"] or []
    assert [(each["to"]["amount"], each["within"]) for each in quick] == [(21, "PT1H30M"), (3, "PT1H30M")]


def test_h1_a_laxer_step_with_a_reason_is_shown_as_it_is_with_its_reason() -> None:
    shown = effective(safety("cook", "fish", "50 degC", "PT10M", "Trout by our plan, section 4."), "metric")
    assert shown["temperature"] == {"amount": 50, "unit": "degC", "display": "50 °C"}
    assert (shown["time"], shown["laxer"]) == ("PT10M", True)
    assert (shown["reason"], shown["section"]) == ("Trout by our plan, section 4.", "3-401.11(A)(1)")


def test_h1_a_task_shows_the_effective_safety_of_its_steps() -> None:
    catalogue = kitchen(
        recipe("soup", "20 L", steps=[step("PT10M"), step("PT10M", "PT1H", safety=safety("cook", "poultry"))]),
        menu_item("bowl", ("soup", "1 L")),
    )
    (task,) = tasks_of(list_of(plan_forecasts(catalogue, [forecast(TUE, "bowl", 4)]), catalogue))
    plain, guarded = (each["safety"] for each in task["steps"])
    assert plain is None
    expected: Document = {"kind": "cook", "class": "poultry", "time": "PT0S", "section": "3-401.11(A)(3)", "reason": None, "laxer": False}
    assert guarded.items() >= expected.items()
    assert guarded["temperature"]["display"] == "74 °C"
