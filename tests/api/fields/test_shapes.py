"""The shape of bodies and queries: every fault has its pointer and its code, all of a body at once."""

from typing import Any

import pytest

from tests.api.bodies import COMPONENT, DRAFT, FORM, INGREDIENT, LINE, MENU_ITEM, PERIOD, SITE, STATION, G, Json, changed
from tests.api.caller import Caller, faults

PATHS = {
    "station": "/v1/stations/veg",
    "ingredient": "/v1/ingredients/onion",
    "draft": "/v1/recipes/soup/draft",
    "menu item": "/v1/menu-items/bowl",
    "site": "/v1/sites/mill-street",
}


def line(**changes: Any) -> Json:
    return changed(DRAFT, lines=[changed(LINE, **changes)])


def step(**changes: Any) -> Json:
    return changed(DRAFT, steps=[changed({"text": "Cook."}, **changes)])


def form(**changes: Any) -> Json:
    return changed(INGREDIENT, forms=[changed(FORM, **changes)])


def amount(value: Any, unit: Any = "g") -> Json:
    return line(quantity={"amount": value, "unit": unit})


def scaled(**scaling: Any) -> Json:
    return line(scaling=scaling)


FAULTS: list[tuple[str, Any, str, str]] = [
    # Required fields, unknown fields, types.
    ("station", {}, "/name", "required"),
    ("station", changed(STATION, name=None), "/name", "wrong_type"),
    ("station", changed(STATION, name=""), "/name", "required"),
    ("station", changed(STATION, name="  "), "/name", "required"),
    ("station", changed(STATION, name=7), "/name", "wrong_type"),
    ("station", changed(STATION, name="x" * 201), "/name", "too_long"),
    ("station", changed(STATION, colour="red"), "/colour", "unknown_field"),
    ("station", changed(STATION, position="10"), "/position", "wrong_type"),
    ("station", changed(STATION, position=True), "/position", "wrong_type"),
    ("station", changed(STATION, position=1.9), "/position", "wrong_type"),
    ("station", changed(STATION, position=-1), "/position", "out_of_range"),
    ("station", [], "", "wrong_type"),
    ("station", None, "", "wrong_type"),
    ("station", 5, "", "wrong_type"),
    ("station", changed(STATION, code="meat"), "/code", "not_in_list"),
    ("ingredient", changed(INGREDIENT, kind=...), "/kind", "required"),
    ("ingredient", changed(INGREDIENT, kind="weight"), "/kind", "not_in_list"),
    ("ingredient", changed(INGREDIENT, storage="attic"), "/storage", "not_in_list"),
    ("ingredient", changed(INGREDIENT, contains=["gluten"]), "/contains/0", "not_in_list"),
    ("ingredient", changed(INGREDIENT, contains=["fish:"]), "/contains/0", "wrong_type"),
    ("ingredient", changed(INGREDIENT, contains=["milk", "milk"]), "/contains/1", "duplicate"),
    ("ingredient", changed(INGREDIENT, contains="milk"), "/contains", "wrong_type"),
    ("ingredient", changed(INGREDIENT, forms=[None]), "/forms/0", "wrong_type"),
    ("ingredient", changed(INGREDIENT, forms=[FORM] * 51), "/forms", "too_many"),
    ("ingredient", changed(INGREDIENT, forms=[FORM, FORM]), "/forms/1/code", "duplicate"),
    ("ingredient", form(trim_yield=...), "/forms/0/trim_yield", "required"),
    ("ingredient", form(trim_yield=0), "/forms/0/trim_yield", "out_of_range"),
    ("ingredient", form(trim_yield=1.01), "/forms/0/trim_yield", "out_of_range"),
    ("ingredient", form(trim_yield="0.88"), "/forms/0/trim_yield", "wrong_type"),
    ("ingredient", form(code="Small Dice"), "/forms/0/code", "wrong_type"),
    ("ingredient", form(code="a" * 65), "/forms/0/code", "too_long"),
    ("ingredient", form(whole="yes"), "/forms/0/whole", "wrong_type"),
    ("ingredient", form(makes_for=15), "/forms/0/makes_for", "out_of_range"),
    ("ingredient", form(keeps="P1W"), "/forms/0/keeps", "wrong_type"),
    ("ingredient", form(keeps="P366D"), "/forms/0/keeps", "out_of_range"),
    ("ingredient", form(keeps="PT8761H"), "/forms/0/keeps", "out_of_range"),
    ("ingredient", form(keeps="P1DT2H"), "/forms/0/keeps", "wrong_type"),
    ("ingredient", form(by_products=[{"ingredient": "trim", "fraction": 1.2}]), "/forms/0/by_products/0/fraction", "out_of_range"),
    ("ingredient", form(active={"per": G}), "/forms/0/active/time", "required"),
    ("ingredient", changed(INGREDIENT, equivalents=[{"a": G}]), "/equivalents/0/b", "required"),
    ("ingredient", changed(INGREDIENT, piece={"amount": 1, "unit": "portion"}), "/piece/unit", "wrong_kind"),
    ("ingredient", changed(INGREDIENT, piece="60 g"), "/piece", "wrong_type"),
    ("ingredient", changed(INGREDIENT, value={"amount": 3, "currency": "USD"}), "/value/amount", "wrong_type"),
    ("ingredient", changed(INGREDIENT, value={"amount": "1.23456", "currency": "USD"}), "/value/amount", "wrong_type"),
    ("ingredient", changed(INGREDIENT, value={"amount": "1000000000.1", "currency": "USD"}), "/value/amount", "out_of_range"),
    ("ingredient", changed(INGREDIENT, value={"amount": "-1", "currency": "USD"}), "/value/amount", "wrong_type"),
    ("ingredient", changed(INGREDIENT, value={"amount": "1", "currency": "usd"}), "/value/currency", "wrong_type"),
    ("ingredient", changed(INGREDIENT, value={"amount": "1"}), "/value/currency", "required"),
    ("ingredient", changed(INGREDIENT, packs=[{"label": "sack", "quantity": G, "from": "2026-11-31"}]), "/packs/0/from", "out_of_range"),
    ("ingredient", changed(INGREDIENT, packs=[{"label": "sack", "quantity": G, "from": "20261101"}]), "/packs/0/from", "wrong_type"),
    ("ingredient", changed(INGREDIENT, packs=[{"label": "sack", "quantity": G, "from": "2100-01-01"}]), "/packs/0/from", "out_of_range"),
    ("ingredient", changed(INGREDIENT, thaw="P15D"), "/thaw", "out_of_range"),
    # Amounts and units (U2, U4).
    ("draft", amount(0), "/lines/0/quantity/amount", "out_of_range"),
    ("draft", amount(-1), "/lines/0/quantity/amount", "out_of_range"),
    ("draft", amount(10_000_001), "/lines/0/quantity/amount", "out_of_range"),
    ("draft", amount("1/0"), "/lines/0/quantity/amount", "out_of_range"),
    ("draft", amount("1/1000001"), "/lines/0/quantity/amount", "out_of_range"),
    ("draft", amount("1,5"), "/lines/0/quantity/amount", "wrong_type"),
    ("draft", amount("1e3"), "/lines/0/quantity/amount", "wrong_type"),
    ("draft", amount("１"), "/lines/0/quantity/amount", "wrong_type"),
    ("draft", amount("1_000"), "/lines/0/quantity/amount", "wrong_type"),
    ("draft", amount(""), "/lines/0/quantity/amount", "wrong_type"),
    ("draft", amount(value=True), "/lines/0/quantity/amount", "wrong_type"),
    ("draft", amount([1]), "/lines/0/quantity/amount", "wrong_type"),
    ("draft", amount(None), "/lines/0/quantity/amount", "wrong_type"),
    ("draft", amount(1, "Stone"), "/lines/0/quantity/unit", "unknown_unit"),
    ("draft", amount(1, ""), "/lines/0/quantity/unit", "unknown_unit"),
    ("draft", amount(1, 5), "/lines/0/quantity/unit", "wrong_type"),
    ("draft", amount(1, None), "/lines/0/quantity/unit", "wrong_type"),
    *(("draft", amount(1, unit), "/lines/0/quantity/unit", "ambiguous_unit") for unit in ("t", "T", "c", "C", "pt")),
    ("draft", amount(1, "degC"), "/lines/0/quantity/unit", "wrong_kind"),
    ("draft", line(quantity={"amount": 1}), "/lines/0/quantity/unit", "required"),
    ("draft", line(quantity={"amount": 1, "unit": "g", "note": ""}), "/lines/0/quantity/note", "unknown_field"),
    ("draft", changed(DRAFT, **{"yield": {"amount": 20, "unit": "percent"}}), "/yield/unit", "wrong_kind"),
    ("draft", changed(DRAFT, **{"yield": {"amount": 20, "unit": "portion"}}), "/yield/unit", "wrong_kind"),
    # Lines, rules and steps (S2).
    ("draft", changed(DRAFT, title=...), "/title", "required"),
    ("draft", changed(DRAFT, lines=[LINE] * 201), "/lines", "too_many"),
    ("draft", line(item=...), "/lines/0/item", "required"),
    ("draft", line(item={}), "/lines/0/item", "required"),
    ("draft", line(item={"form": "dice"}), "/lines/0/item", "required"),
    ("draft", line(item={"recipe": "a", "ingredient": "b"}), "/lines/0/item", "wrong_type"),
    ("draft", line(item={"recipe": "a", "form": "b"}), "/lines/0/item", "wrong_type"),
    ("draft", line(item={"recipe": "A"}), "/lines/0/item/recipe", "wrong_type"),
    ("draft", line(item={"ingredient": "a", "size": "b"}), "/lines/0/item/size", "unknown_field"),
    ("draft", line(item="onion"), "/lines/0/item", "wrong_type"),
    ("draft", line(step=2), "/lines/0/step", "out_of_range"),
    ("draft", line(step=0), "/lines/0/step", "out_of_range"),
    ("draft", line(step=1.5), "/lines/0/step", "wrong_type"),
    ("draft", line(note="x" * 2_001), "/lines/0/note", "too_long"),
    ("draft", scaled(rule="square"), "/lines/0/scaling/rule", "not_in_list"),
    ("draft", scaled(rule="linear", exponent=1), "/lines/0/scaling/exponent", "unknown_field"),
    ("draft", scaled(rule="power"), "/lines/0/scaling/exponent", "required"),
    ("draft", scaled(rule="power", exponent=0), "/lines/0/scaling/exponent", "out_of_range"),
    ("draft", scaled(rule="power", exponent=1.1), "/lines/0/scaling/exponent", "out_of_range"),
    ("draft", scaled(rule="tested", points=[]), "/lines/0/scaling/points", "required"),
    ("draft", scaled(rule="tested", points=[[1]]), "/lines/0/scaling/points/0", "wrong_type"),
    ("draft", scaled(rule="tested", points=[[0, 1]]), "/lines/0/scaling/points/0/0", "out_of_range"),
    ("draft", scaled(rule="tested", points=[[1, "1"]]), "/lines/0/scaling/points/0/1", "wrong_type"),
    ("draft", scaled(rule="tested", points=[[1, 1], [1, 2]]), "/lines/0/scaling/points/1/0", "out_of_range"),
    ("draft", scaled(rule="tested", points=[[1, 2], [2, 1]]), "/lines/0/scaling/points/1/1", "out_of_range"),
    ("draft", scaled(rule="percent", of=[1]), "/lines/0/quantity/unit", "wrong_kind"),
    ("draft", amount(2, "percent"), "/lines/0/scaling/rule", "rule_not_allowed"),
    ("draft", scaled(rule="percent", of=[]), "/lines/0/scaling/of", "required"),
    ("draft", scaled(rule="percent", of=[1]), "/lines/0/scaling/of/0", "out_of_range"),
    ("draft", scaled(rule="percent", of=[2]), "/lines/0/scaling/of/0", "out_of_range"),
    ("draft", scaled(rule="percent", of=[0]), "/lines/0/scaling/of/0", "out_of_range"),
    ("draft", line(critical=True, scaling={"rule": "power", "exponent": 1}), "/lines/0/scaling/rule", "rule_not_allowed"),
    ("draft", line(critical=True, scaling={"rule": "tested", "points": [[1, 1]]}), "/lines/0/scaling/rule", "rule_not_allowed"),
    ("draft", step(text=...), "/steps/0/text", "required"),
    ("draft", step(active="15"), "/steps/0/active", "wrong_type"),
    ("draft", step(active="PT1.5H"), "/steps/0/active", "wrong_type"),
    ("draft", step(active="P1W"), "/steps/0/active", "wrong_type"),
    ("draft", step(active="P1M"), "/steps/0/active", "wrong_type"),
    ("draft", step(active="-PT1H"), "/steps/0/active", "wrong_type"),
    ("draft", step(active="PT"), "/steps/0/active", "wrong_type"),
    ("draft", step(active="P"), "/steps/0/active", "wrong_type"),
    ("draft", step(active="P14DT1S"), "/steps/0/active", "out_of_range"),
    ("draft", step(passive={"min": "PT2H", "target": "PT1H", "max": "PT3H"}), "/steps/0/passive/target", "out_of_range"),
    ("draft", step(passive={"target": "PT1H"}), "/steps/0/passive/min", "required"),
    ("draft", step(passive=60), "/steps/0/passive", "wrong_type"),
    ("draft", step(safety={"kind": "hope"}), "/steps/0/safety/kind", "not_in_list"),
    ("draft", step(safety={"kind": "cook", "class": "beef"}), "/steps/0/safety/class", "not_in_list"),
    (
        "draft",
        step(safety={"kind": "cook", "temperature": {"amount": 74, "unit": "g"}}),
        "/steps/0/safety/temperature/unit",
        "wrong_kind",
    ),
    (
        "draft",
        step(safety={"kind": "cook", "temperature": {"amount": "74", "unit": "C"}}),
        "/steps/0/safety/temperature/amount",
        "wrong_type",
    ),
    ("draft", changed(DRAFT, batch={"split": "half"}), "/batch/split", "not_in_list"),
    # Menu items and sites.
    ("menu item", changed(MENU_ITEM, components=...), "/components", "required"),
    ("menu item", changed(MENU_ITEM, components=[]), "/components", "required"),
    ("menu item", changed(MENU_ITEM, components=[changed(COMPONENT, uptake=0)]), "/components/0/uptake", "out_of_range"),
    ("menu item", changed(MENU_ITEM, components=[COMPONENT] * 31), "/components", "too_many"),
    ("menu item", changed(MENU_ITEM, buffer=1.5), "/buffer", "out_of_range"),
    ("menu item", changed(MENU_ITEM, codes=[{"source": "till", "till_code": "x" * 65}]), "/codes/0/till_code", "too_long"),
    ("menu item", changed(MENU_ITEM, codes=[{"source": "till", "till_code": "1"}] * 2), "/codes/1", "duplicate"),
    ("site", changed(SITE, time_zone=...), "/time_zone", "required"),
    ("site", changed(SITE, time_zone="Mars/Olympus"), "/time_zone", "not_in_list"),
    ("site", changed(SITE, units="imperial"), "/units", "not_in_list"),
    ("site", changed(SITE, day_starts="4:00"), "/day_starts", "wrong_type"),
    ("site", changed(SITE, day_starts="24:00"), "/day_starts", "wrong_type"),
    ("site", changed(SITE, periods=...), "/periods", "required"),
    ("site", changed(SITE, periods=[PERIOD, PERIOD]), "/periods/1/code", "duplicate"),
    ("site", changed(SITE, periods=[changed(PERIOD, ready_by="noon")]), "/periods/0/ready_by", "wrong_type"),
    ("site", changed(SITE, station_map={"Bakery": "cold"}), "/station_map/Bakery", "wrong_type"),
    ("site", changed(SITE, station_map={"bakery": None}), "/station_map/bakery", "wrong_type"),
    ("site", changed(SITE, station_map=[]), "/station_map", "wrong_type"),
    ("site", changed(SITE, vessels=[{"recipe": "soup", "largest": G}] * 2), "/vessels/1/recipe", "duplicate"),
    (
        "site",
        changed(SITE, pars=[{"item": {"ingredient": "onion"}, "level": G, "weekdays": [1], "by": "09:00"}]),
        "/pars/0/item",
        "required",
    ),
    (
        "site",
        changed(SITE, pars=[{"item": {"recipe": "soup"}, "level": G, "weekdays": [8], "by": "09:00"}]),
        "/pars/0/weekdays/0",
        "out_of_range",
    ),
]


@pytest.mark.parametrize(("noun", "body", "pointer", "code"), FAULTS)
def test_a_fault_of_shape_has_its_pointer_and_code(director: Caller, noun: str, body: Any, pointer: str, code: str) -> None:
    answer = director.send("PUT", PATHS[noun], raw=b"null") if body is None else director.put(PATHS[noun], body)
    assert answer.status_code == 422
    assert (pointer, code) in faults(answer)


def test_all_faults_of_shape_come_at_once(director: Caller) -> None:
    lines = [
        changed(LINE, quantity={"amount": -1, "unit": "t"}, step=9),
        changed(LINE, item={"recipe": "Soup"}, scaling={"rule": "power"}),
        changed(LINE, note="\x07"),
    ]
    answer = director.put("/v1/recipes/soup/draft", changed(DRAFT, title=..., lines=lines, extra=1))
    assert faults(answer) == {
        ("/title", "required"),
        ("/extra", "unknown_field"),
        ("/lines/0/quantity/amount", "out_of_range"),
        ("/lines/0/quantity/unit", "ambiguous_unit"),
        ("/lines/0/step", "out_of_range"),
        ("/lines/1/item/recipe", "wrong_type"),
        ("/lines/1/scaling/exponent", "required"),
        ("/lines/2/note", "wrong_type"),
    }


def test_past_a_hundred_faults_the_rest_is_counted(director: Caller) -> None:
    problem = director.put("/v1/stations/veg", {**STATION, **{f"f{number}": 1 for number in range(130)}}).get_json()
    assert (len(problem["errors"]), problem["more"]) == (100, 30)


def test_an_ambiguous_unit_is_told_what_to_write(director: Caller) -> None:
    details = [fault["detail"] for fault in director.put("/v1/recipes/soup/draft", amount(1, "T")).get_json()["errors"]]
    assert "tbsp" in details[0]


def test_what_was_authored_comes_back_exactly_with_aliases_as_canonical_units(director: Caller) -> None:
    quantities = [
        ({"amount": "2 1/2", "unit": "Tbsp"}, {"amount": "2 1/2", "unit": "tbsp"}),
        ({"amount": "1/3", "unit": "cups"}, {"amount": "1/3", "unit": "cup"}),
        ({"amount": 0.1, "unit": "KG"}, {"amount": 0.1, "unit": "kg"}),
        ({"amount": 3, "unit": "bunch"}, {"amount": 3, "unit": "bunch"}),
    ]
    body = changed(DRAFT, lines=[changed(LINE, quantity=sent) for sent, _ in quantities])
    answer = director.put("/v1/recipes/soup/draft", body).get_json()
    assert [each["quantity"] for each in answer["lines"]] == [stored for _, stored in quantities]


def test_every_field_comes_back_with_its_default(director: Caller) -> None:
    stored = director.put("/v1/recipes/soup/draft", DRAFT).get_json()
    assert list(stored) == [
        *("code", "title", "station", "ready_to_eat", "storage", "yield", "portion", "equivalents", "gains_water", "keeps", "makes_for"),
        *("batch", "lines", "by_products", "steps", "keeps_reason", "hold"),
    ]
    assert stored["batch"] == {"multiple": None, "smallest": None, "largest": None, "split": "equal"}
    assert stored["lines"][0] == {**LINE, "scaling": {"rule": "linear"}, "step": None, "critical": False, "note": ""}
    nothing = dict.fromkeys(("why", "active", "passive", "station", "safety", "set_to", "equipment"))
    assert stored["steps"] == [{"text": "Cook.", **nothing}]
    site = director.put("/v1/sites/mill-street", SITE).get_json()
    assert (site["units"], site["day_starts"], site["buffer"], site["station_map"], site["pars"]) == ("metric", "04:00", 0, {}, [])
    assert (site["equipment"], site["equipment_map"], site["shifts"]) == ([], {}, [])


def test_null_means_the_default_wherever_there_is_one(director: Caller) -> None:
    nulls = changed(DRAFT, batch=None, equivalents=None, gains_water=None, makes_for=None, lines=[changed(LINE, scaling=None, note=None)])
    assert director.put("/v1/recipes/nulls/draft", nulls).status_code == 201
    stored = director.put("/v1/recipes/soup/draft", DRAFT).get_json()
    assert director.get("/v1/recipes/nulls/draft").get_json() == {**stored, "code": "nulls"}


QUERIES = [
    ("/v1/stations?limit=0", "limit", "out_of_range"),
    ("/v1/stations?limit=501", "limit", "out_of_range"),
    ("/v1/stations?limit=ten", "limit", "wrong_type"),
    ("/v1/stations?limit=%D9%A1", "limit", "wrong_type"),
    ("/v1/stations?limit=1&limit=2", "limit", "duplicate"),
    ("/v1/stations?cursor=!", "cursor", "wrong_type"),
    ("/v1/stations?cursor=QQ", "cursor", "wrong_type"),
    ("/v1/stations?page=2", "page", "unknown_field"),
    ("/v1/whoami?verbose=1", "verbose", "unknown_field"),
    ("/v1/stations?%00=1", "\x00", "unknown_field"),
    ("/v1/forecasts?from=2026-12-01", "to", "required"),
    ("/v1/forecasts?from=2026-12-01&to=2026-11-30", "to", "out_of_range"),
    ("/v1/forecasts?from=2026-12-01&to=2027-02-02", "to", "out_of_range"),
    ("/v1/forecasts?from=2026-12-01&to=2026-12-02&cursor=YXwyMDI2LTAyLTMwfGJ8Y3x8bWVudV9pdGVtfGQ", "cursor", "wrong_type"),
    ("/v1/recipes/soup?on=tomorrow", "on", "wrong_type"),
    ("/livez?really=1", "really", "unknown_field"),
]


@pytest.mark.parametrize(("path", "parameter", "code"), QUERIES)
def test_a_fault_of_a_query_names_its_parameter(director: Caller, path: str, parameter: str, code: str) -> None:
    director.put("/v1/recipes/soup/draft", DRAFT)
    answer = director.get(path)
    assert answer.status_code == 422
    assert (parameter, code) in faults(answer)


def test_acknowledge_takes_allergens_with_commas_and_in_repeated_keys(director: Caller) -> None:
    assert director.put("/v1/ingredients/onion?acknowledge=milk,egg&acknowledge=fish:cod", INGREDIENT).status_code == 201
    answer = director.put("/v1/ingredients/leek?acknowledge=gluten", INGREDIENT)
    assert faults(answer) == {("acknowledge", "not_in_list")}
