"""The worked examples of Y and S: yields, trim, by-products, scaling and batches."""

from fractions import Fraction

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version, read_scaling
from service.kitchen.checks.recipe import cooking_yield, version_faults, version_notes
from service.kitchen.lists.scaling import Limits, Scaler, needed, scaling_document
from service.kitchen.measures.batches import Batch, BatchSizes, in_batches
from service.kitchen.measures.units import Quantity
from tests.kitchen.larder import TUE, form, ingredient, kitchen, line, near, only_site, recipe
from tests.kitchen.plans import drawn, list_of, only_run, plan_needs, wanted
from tests.rules.page import kilos, number, untold

PEELED = ingredient("onion", form("dice", "0.75", gives={"peel": "0.2"}))


def version_of(catalogue: Catalogue, code: str) -> Version:
    (found,) = catalogue.versions[code]
    return found


def test_y1_ep_divided_by_trim_yield_is_drawn() -> None:
    run = only_run(plan_needs(kitchen(PEELED, ingredient("peel")), [wanted("onion/dice", 6000, TUE, "12:00")]), "onion/dice")
    assert untold("Y1", f"draw {kilos(drawn(run, 'onion'))} of onions") == []


def test_y2_trimming_gives_fractions_of_the_ap() -> None:
    run = only_run(plan_needs(kitchen(PEELED, ingredient("peel")), [wanted("onion/dice", 6000, TUE, "12:00")]), "onion/dice")
    ((_, peel),) = run.gives
    assert untold("Y2", f"{kilos(peel)} of peelings", f"{kilos(drawn(run, 'onion') - run.quantity - peel)} are waste") == []


def test_y3_by_products_grow_with_the_batch() -> None:
    catalogue = kitchen(ingredient("fat"), recipe("stock", "10 L", gives={"fat": "500 g"}))
    run = only_run(plan_needs(catalogue, [wanted("recipe stock", 25_000, TUE, "12:00")]), "recipe stock")
    ((_, fat),) = run.gives
    assert untold("Y3", f"A run of 25 L gives {number(fat)} g") == []


def test_y4_by_products_are_used_first_and_the_rest_is_told() -> None:
    catalogue = kitchen(PEELED, ingredient("peel"), recipe("stock", "10 L", line("peel", "1 kg")))
    wishes = [wanted("onion/dice", 6000, TUE, "10:00"), wanted("recipe stock", 10_000, TUE, "12:00")]
    document = list_of(plan_needs(catalogue, wishes), catalogue)
    assert [pull["item"]["ingredient"] for pull in document["pulls"]] == ["onion"]
    (left,) = [row for row in document["left_over"] if row["item"] == {"ingredient": "peel", "title": "Peel"}]
    assert untold("Y4", f"{number(left['quantity']['amount'])} g stand under `left_over`") == []


def rice_that_makes(amount: str) -> tuple[Catalogue, Version]:
    catalogue = kitchen(
        ingredient("rice"), ingredient("broth"), recipe("pilaf", amount, line("rice", "1 kg"), line("broth", "2 kg"), keeps="P0D")
    )
    return catalogue, version_of(catalogue, "pilaf")


def test_y5_more_out_than_in_is_refused_and_little_is_warned_of() -> None:
    assert untold("Y5", f"make 2.7 kg have a cooking yield of {number(cooking_yield(*rice_that_makes('2.7 kg')) or 0)}") == []
    assert [fault.code for fault in version_faults(*rice_that_makes("3.1 kg"), TUE)] == ["output_exceeds_input"]
    (note,) = version_notes(*rice_that_makes("0.7 kg"))
    assert "23.3%" in note.detail
    assert untold("Y5", "23.3 %") == []


def test_y6_whole_birds_are_drawn() -> None:
    catalogue = kitchen(ingredient("turkey", form("breast", "0.6", whole=True), piece="5 kg"))
    run = only_run(plan_needs(catalogue, [wanted("turkey/breast", 7000, TUE, "12:00")]), "turkey/breast")
    taken = drawn(run, "turkey")
    assert f"{7 / 0.6:.2f}" == "11.67"
    assert untold("Y6", "11.67 kg", f"{number(taken / 5000)} birds", f"{kilos(taken)} as purchased") == []
    assert untold("Y6", f"{kilos(run.quantity)} of breast", f"{kilos(run.main.surplus)} of them over") == []
    three = Quantity(Fraction(3), "each")
    assert untold("Y6", f"A count of {three} is {kilos(float(catalogue.ingredients['turkey'].conversions().to_stock(three)))}") == []


def test_y7_one_run_makes_all_forms_of_a_cut() -> None:
    egg = ingredient("egg", form("yolk", "0.3", cut="egg", whole=True), form("white", "0.6", cut="egg", whole=True), piece="60 g")
    wishes = [wanted("egg/yolk", 1200, TUE, "12:00"), wanted("egg/white", 1800, TUE, "12:00")]
    run = only_run(plan_needs(kitchen(egg), wishes), "egg/yolk")
    yolk, white = run.outputs
    assert untold("Y7", f"ask for {number(1.2 / 0.3)} kg and {number(1.8 / 0.6)} kg of eggs") == []
    assert untold("Y7", f"{number(drawn(run, 'egg') / 60)} eggs are broken, {kilos(drawn(run, 'egg'))}") == []
    assert untold("Y7", f"{number(yolk.quantity)} g of yolk and {number(white.quantity)} g of white") == []
    assert untold("Y7", f"{number(yolk.surplus)} g and {number(white.surplus)} g over") == []


def test_s1_a_factor_is_a_batch_against_the_authored_yield() -> None:
    run = only_run(plan_needs(kitchen(recipe("soup", "20 L")), [wanted("recipe soup", 30_000, TUE, "12:00")]), "recipe soup")
    ((_, factor),) = run.batches
    assert untold("S1", f"A batch of 30 L has the factor {number(factor)}") == []


def test_s2_each_line_grows_by_its_own_rule() -> None:
    def grown(**rule: object) -> float:
        return 100 * read_scaling(rule).multiple(3)

    points = [[1, 1], [2, 2], [10, 6]]
    assert untold("S2", f"{number(grown(rule='linear'))} g if linear", f"{number(grown(rule='per_batch'))} g per batch") == []
    assert untold("S2", f"{grown(rule='power', exponent='0.5'):.1f} g by the power 0.5") == []
    assert untold("S2", f"{number(grown(rule='tested', points=points))} g by the points [1, 1], [2, 2], [10, 6]") == []


def test_s2_a_percentage_is_of_the_mass_of_its_base_lines() -> None:
    percent = {"rule": "percent", "of": [1]}
    bread = recipe("bread", "8 kg", line("flour", "5 kg"), line("salt", "2 percent", scaling=percent))
    catalogue = kitchen(ingredient("flour"), ingredient("salt"), bread)
    amounts = [
        drawn(only_run(plan_needs(catalogue, [wanted("recipe bread", makes, TUE, "12:00")]), "recipe bread"), "salt")
        for makes in (8000, 24_000)
    ]
    assert untold("S2", f"2 % of 5 kg of flour are {number(amounts[0])} g", f"{number(amounts[1])} g in this one") == []


def sizes(batches: tuple[Batch, ...]) -> list[float]:
    return [each.quantity for each in batches for _ in range(each.count)]


def test_s3_a_run_is_cut_into_what_fits_the_vessel() -> None:
    third = in_batches(70, BatchSizes(largest=30))
    assert sizes(third) == [near(70 / 3)] * 3
    assert untold("S3", f"three batches of {third[0].quantity:.3f} L") == []
    assert sizes(in_batches(70, BatchSizes(largest=30, split="full"))) == [30, 30, 10]
    assert sizes(in_batches(70, BatchSizes(largest=30, smallest=15, split="full"))) == [30, 30, 15]
    assert untold("S3", "they are 30, 30 and 10 L", "the last one is 15 L") == []
    rolls = sizes(in_batches(50, BatchSizes(multiple=12, largest=30)))
    assert untold("S3", f"are {number(sum(rolls))} rolls: {number(rolls[0])}, {number(rolls[1])} and {number(rolls[2])}") == []


def test_s4_what_rounding_makes_beyond_the_need_is_a_lot() -> None:
    catalogue = kitchen(recipe("roll", "12 each", batch={"multiple": "12 each", "largest": "30 each"}))
    planned = plan_needs(catalogue, [wanted("recipe roll", 50, TUE, "12:00")])
    (lot,) = planned.lots
    assert only_run(planned, "recipe roll").quantity == 60
    assert untold("S4", f"The other {number(lot.amount)} are a lot") == []


def baker() -> Scaler:
    catalogue = kitchen(ingredient("flour"), recipe("roll", "12 each", line("flour", "600 g"), batch={"multiple": "12 each"}))
    return Scaler(catalogue, only_site(catalogue), version_of(catalogue, "roll"), TUE)


def test_s5_a_recipe_is_scaled_to_what_is_there() -> None:
    rolls = baker().limited_by(Item("flour"), 2000, Limits(1e-4, 1e4)) or 0
    taken = needed(baker().run_to(rolls), Item("flour"))
    assert untold("S5", f"enough for {number(rolls)} rolls, which take {number(taken)} g") == []


def test_s6_times_stay_and_the_answer_says_so() -> None:
    (note, *_) = scaling_document(baker(), baker().run_to(36), "metric")["notes"]
    assert untold("S6", f'"{note}"') == []
