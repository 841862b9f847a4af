"""The worked examples of U and D: units, equivalents and display."""

from decimal import Decimal
from fractions import Fraction

import pytest

from service.errors import AmbiguousUnit, UnknownUnit
from service.kitchen.measures.amounts import parse_amount
from service.kitchen.measures.display import display, total
from service.kitchen.measures.equivalents import Conversions, Equivalent, contradictions
from service.kitchen.measures.temperature import setting
from service.kitchen.measures.units import Kind, Quantity, System, canonical_unit, factor
from tests.kitchen.larder import TUE, form, ingredient, kitchen, quantity, recipe
from tests.kitchen.plans import list_of, only_run, plan_needs, tasks_of, wanted
from tests.rules.page import number, untold


def read(text: str) -> Quantity:
    return Quantity.read(quantity(text))


def pairs(*texts: str) -> list[Equivalent]:
    return [Equivalent(read(a), read(b)) for a, b in (text.split(" = ") for text in texts)]


def canonical(text: str) -> str:
    """A quantity in g, mL or each as the page writes it."""
    found = read(text)
    return write(found.amount * factor(found.unit))


def write(exact: Fraction) -> str:
    """An exact number with a finite decimal."""
    return f"{float(exact):.15g}"


def test_u1_every_quantity_is_computed_in_three_units() -> None:
    assert untold("U1", f"{canonical('2 lb')} g", f"{canonical('2 quart')} mL", f"{canonical('2 dozen')} each") == []


def test_u2_usual_spellings_are_read_and_pt_is_refused() -> None:
    for spelling in ("Tablespoons", "fl. oz.", "#8 scoop", "UK pints"):
        assert untold("U2", f'"{spelling}" is {canonical_unit(spelling)}') == []
    with pytest.raises(AmbiguousUnit, match="write pint or imperial_pint"):
        canonical_unit("pt")
    assert untold("U2", 'For "pt" the error asks for pint or imperial_pint') == []
    with pytest.raises(UnknownUnit, match="is kg meant"):
        canonical_unit("kilogam")
    assert untold("U2", 'for "kilogam" whether kg is meant') == []


def test_u3_sizes_are_exact() -> None:
    assert untold("U3", f"3 lb are {canonical('3 lb')} g", f"A quart is {canonical('1 quart')} mL") == []
    assert untold("U3", f"scoop_8 holds {canonical('1 scoop_8')} mL") == []
    assert factor("scoop_8") == factor("cup") / 2


def test_u4_amounts_are_read_exactly() -> None:
    assert 3 * parse_amount("1/3") == 1
    assert untold("U4", f"exactly 1 cup, {canonical('1 cup')} mL") == []
    assert parse_amount(0.1) + parse_amount(0.2) == parse_amount(0.3)
    told, kept = Decimal("3644.9386875000005"), Decimal("3644.9386875")
    assert parse_amount(told, told=True) == parse_amount(kept)
    assert untold("U4", f"A count of {told} g is one of {kept} g") == []


def test_u5_the_nearest_pair_counts_and_a_direct_one_goes_before_a_chain() -> None:
    rings = Conversions("onion/rings", [pairs("1 cup = 100 g"), pairs("1 each = 150 g", "1 cup = 120 g")], "mass")
    volume = rings.convert(read("1 each"), "volume")
    assert untold("U5", f"Two cups of rings weigh {number(rings.to_stock(read('2 cup')))} g") == []
    assert untold("U5", f"{number(rings.to_stock(read('1 each')))} g", f"{write(volume)} mL") == []
    assert volume == factor("cup") * Fraction(3, 2)


def test_u5_pairs_more_than_a_hundredth_apart_are_refused() -> None:
    assert contradictions(pairs("1 cup = 120 g", "1 cup = 121 g")) == []
    ((_, sentence),) = contradictions(pairs("1 cup = 120 g", "1 cup = 122 g"))
    assert "(1.667 % apart)" in sentence
    assert untold("U5", "1.667 %") == []


def test_u6_a_measure_may_be_told_by_another() -> None:
    parsley = Conversions("parsley", [pairs("1 bunch = 60 g", "1 crate = 24 bunch")], "mass")
    assert untold("U6", f"Half a crate is {number(parsley.to_stock(read('1/2 crate')))} g") == []


def test_u7_nothing_is_rounded_but_what_is_shown() -> None:
    catalogue = kitchen(ingredient("onion", form("dice", "0.88")))
    planned = plan_needs(catalogue, [wanted("onion/dice", 10_000, TUE, "12:00")])
    (draw,) = only_run(planned, "onion/dice").draws
    (pull,) = list_of(planned, catalogue)["pulls"]
    assert draw.amount == pytest.approx(125_000 / 11, rel=1e-9)
    assert untold("U7", "125000/11 g", f"{draw.amount!r} g", f'"{pull["quantity"]["display"]}"') == []


def test_d1_an_amount_is_shown_in_the_units_of_the_site() -> None:
    metric, us = (display(23_436, "volume", system).text for system in ("metric", "us"))
    assert untold("D1", f'"{metric}" at a metric site', f'"{us}" in the United States') == []


def text(amount: float, kind: Kind, system: System) -> str:
    return display(amount, kind, system).text


def test_d2_texts_are_in_steps_of_scales_and_measures() -> None:
    assert untold("D2", f'999.9 g read "{text(999.9, "mass", "metric")}"') == []
    assert untold("D2", f'1234 g "{text(1234, "mass", "metric")}" and "{text(1234, "mass", "us")}"') == []
    assert text(20, "mass", "us") == text(20, "mass", "metric")
    assert untold("D2", f'20 g "{text(20, "mass", "us")}" in either system and 65 g "{text(65, "mass", "us")}"') == []
    assert untold("D2", f'80 mL read "{text(80, "volume", "us")}"', f'207 mL "{text(207, "volume", "us")}"') == []
    assert untold("D2", f'1065 mL "{text(1065, "volume", "us")}"', f'11.2 pieces read "{text(11.2, "count", "us")}"') == []
    oven = setting({"amount": 350, "unit": "degF"}).shown("metric")["display"]
    assert untold("D2", f'An oven at 350 °F is set to "{oven}"') == []


def test_d3_a_total_is_the_sum_of_what_is_shown() -> None:
    batch = display(1167, "mass", "metric")
    assert untold("D3", f'read "{batch.text}" each', f'total "{total([(3, batch)], "mass", "metric").text}"') == []
    assert untold("D3", f'3501 g alone would read "{text(3501, "mass", "metric")}"') == []


def test_d3_a_need_of_as_much_as_is_made_reads_like_it() -> None:
    catalogue = kitchen(recipe("dough", "1 kg", batch={"largest": "1.2 kg"}))
    planned = plan_needs(catalogue, [wanted("recipe dough", 3501, TUE, "12:00")])
    (task,) = tasks_of(list_of(planned, catalogue), "make")
    assert task["quantity"]["display"] == task["need"]["display"]
    assert untold("D3", f'a need of 3501 g reads "{task["need"]["display"]}"') == []


def test_d3_a_pull_goes_up_and_is_told_in_pieces() -> None:
    catalogue = kitchen(ingredient("flour"), ingredient("chicken", piece="1.8 kg"))
    planned = plan_needs(catalogue, [wanted("flour", 2510, TUE, "12:00"), wanted("chicken", 21_600, TUE, "12:00")])
    assert untold("D3", f'2510 g reads "{list_of(planned, catalogue)["pulls"][1]["quantity"]["display"]}"') == []
    assert untold("D3", f'1.8 kg read "{list_of(planned, catalogue, system="us")["pulls"][0]["quantity"]["display"]}"') == []


def test_d3_what_is_critical_is_shown_to_a_tenth_of_a_gram() -> None:
    cure, other = (display(12.345, "mass", "metric", critical=critical).text for critical in (True, False))
    assert untold("D3", f'read "{cure}"', f'read "{other}"') == []
