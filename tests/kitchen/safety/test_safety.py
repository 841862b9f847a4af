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


@pytest.mark.parametrize(
    ("words", "metric", "us"),
    [
        (("cook", "poultry"), "at least 74 °C", "at least 165 °F"),
        (("cook", "fish"), "at least 63 °C for 15 s", "at least 145 °F for 15 s"),
        (("cook", "roast"), "at least 62.8 °C for 4 min", "at least 145 °F for 4 min"),
        (("cook", "poultry", "82 degC"), "at least 82 °C", "at least 180 °F"),
        (("reheat",), "at least 74 °C for 15 s, reached within 2 h", "at least 165 °F for 15 s, reached within 2 h"),
        (("hold_cold",), "at most 5 °C", "at most 41 °F"),
        (("hold_cold", None, "-18 degC"), "at most -18 °C", "at most -1 °F"),
        (("cool",), "57 °C to 21 °C within 2 h; 57 °C to 5 °C within 6 h", "135 °F to 70 °F within 2 h; 135 °F to 41 °F within 6 h"),
        (("time_control",), "use or discard within 4 h", "use or discard within 4 h"),
        (("thaw",), "at most 5 °C", "at most 41 °F"),
        (("thaw", None, "70 degF"), "at most 21 °C, within 4 h", "at most 70 °F, within 4 h"),
    ],
)
def test_h1_the_cook_reads_a_line_in_the_scale_of_the_list(words: tuple[str | None, ...], metric: str, us: str) -> None:
    document = safety(*words)  # type: ignore[arg-type]  # The words are those of safety, the first of them is never None.
    assert (effective(document, "metric")["display"], effective(document, "us")["display"]) == (metric, us)


def test_h1_what_is_authored_keeps_its_unit_and_a_default_takes_that_of_the_list() -> None:
    shown = effective(safety("cook", "poultry", "180 degF"), "metric")["temperature"]
    assert shown == {"amount": 180, "unit": "degF", "display": "83 °C"}
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
