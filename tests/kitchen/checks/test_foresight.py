"""What publishing a version would change: allergens at every level up (A1), hands-on time, costs (C2), and whom it serves."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import Ingredient
from service.kitchen.book.recipe import Version
from service.kitchen.book.site import MenuItem, Site
from service.kitchen.checks.foresight import Foresight, hands_on
from service.kitchen.measures.money import Money
from tests.kitchen.larder import (
    SAT,
    TUE,
    WED,
    form,
    ingredient,
    kitchen,
    line,
    menu_item,
    only_site,
    quantity,
    recipe,
    site,
    step,
    with_things,
)


def priced(code: str, price: str, *forms: Any, **fields: Any) -> Ingredient:
    """An ingredient of which a kilo costs so much."""
    money = {"amount": price, "currency": "EUR"}
    pack = {"label": "bag", "quantity": quantity("1 kg"), "price": money, "from": "2026-01-01", "site": None}
    return ingredient(code, *forms, packs=[pack], **fields)


OIL = priced("oil", "2.00", may_contain=["peanut"])
BUTTER = priced("butter", "10.00", contains=["milk"])
SAUCE = recipe("sauce", "2 kg", line("oil", "1 kg"), portion="200 g")
DISH = recipe("dish", "1 kg", line("recipe sauce", "1 kg"), portion="500 g")
MINUTES = timedelta(minutes=1)


def pantry(*more: Ingredient | Version | MenuItem | Site) -> Catalogue:
    return kitchen(OIL, BUTTER, SAUCE, DISH, menu_item("plate", ("dish", "1 portion")), *more)


def foresee(before: Catalogue, version: Version, older: Version | None = SAUCE) -> Foresight:
    return Foresight(before, with_things(before, version), version, older)


def buttered(**fields: Any) -> Version:
    return recipe("sauce", "2 kg", line("butter", "1 kg"), **{"portion": "200 g", "number": 2, "starts_on": WED, **fields})


def turnovers(foresight: Foresight, first: date = WED) -> dict[tuple[int, str], tuple[list[str], list[str]]]:
    """By level and code: names that come and names that go."""
    return {
        (holder.level, holder.code): (sorted(each.added.names), sorted(each.removed.names))
        for holder, each in foresight.allergens(first).items()
    }


def test_allergens_come_and_go_at_every_level_up() -> None:
    both = (["milk"], ["peanut"])
    assert turnovers(foresee(pantry(), buttered())) == {(0, "sauce"): both, (1, "dish"): both, (2, "plate"): both}
    assert [*turnovers(foresee(pantry(), buttered()))] == [(0, "sauce"), (1, "dish"), (2, "plate")]


def test_where_nothing_changes_nothing_is_told() -> None:
    same = recipe("sauce", "2 kg", line("oil", "2 kg"), portion="200 g", number=2, starts_on=WED)
    assert turnovers(foresee(pantry(), same)) == {}


def test_a_holder_that_has_the_allergen_otherwise_keeps_it() -> None:
    richer = recipe("dish", "1 kg", line("recipe sauce", "1 kg"), line("butter", "1 g"), line("oil", "1 g"), portion="500 g")
    assert turnovers(foresee(with_things(pantry(), richer), buttered())) == {(0, "sauce"): (["milk"], ["peanut"])}


def test_all_of_a_first_version_comes() -> None:
    before = kitchen(OIL, BUTTER, menu_item("plate", ("sauce", "1 portion")))
    assert turnovers(foresee(before, buttered(number=1), None)) == {(0, "sauce"): (["milk"], []), (1, "plate"): (["milk"], [])}


def test_users_that_come_later_are_told_while_the_version_lasts() -> None:
    later = recipe("gravy", "1 kg", line("recipe sauce", "1 kg"), starts_on=SAT)
    assert turnovers(foresee(pantry(later), buttered()))[1, "gravy"] == (["milk"], ["peanut"])
    replaced = recipe("sauce", "2 kg", line("oil", "1 kg"), portion="200 g", number=2, starts_on=SAT)
    assert (1, "gravy") not in turnovers(foresee(pantry(later, replaced), buttered(number=3)))


def test_hands_on_time_is_that_of_the_steps_and_of_the_forms_that_the_lines_name() -> None:
    active = {"set_up": "PT5M", "per": quantity("1 kg"), "time": "PT6M"}
    onion = ingredient("onion", form("diced", "0.5", active=active), form("sliced"))
    version = recipe(
        "soup",
        "10 L",
        line("onion/diced", "2 kg"),
        line("onion/diced", "1 kg"),
        line("onion/sliced", "1 kg"),
        line("recipe sauce", "1 kg"),
        steps=[step("PT15M", "PT1H"), step("PT10M"), step("PT4M", station="cold-line")],
    )
    spent = hands_on(with_things(pantry(), onion, version), version, None, WED)
    # 5 min + 3 kg × 6 min of dice; the sub-recipe has hands-on time of its own.
    assert spent == {"hot-line": 25 * MINUTES, "cold-line": 4 * MINUTES, "veg": 23 * MINUTES}


def test_k5_hands_on_time_at_a_rate_is_that_of_an_authored_batch() -> None:
    by_litre = {"set_up": "PT5M", "per": quantity("1 L"), "time": "PT2M"}
    version = recipe("soup", "10 L", steps=[step(by_litre), step("PT10M")])
    assert hands_on(with_things(pantry(), version), version, None, WED) == {"hot-line": 35 * MINUTES}


def test_stations_are_told_before_and_after() -> None:
    foresight = foresee(pantry(), buttered(steps=[step("PT20M")]), recipe("sauce", "2 kg", steps=[step("PT5M", station="veg")]))
    assert {station: (each.before, each.after) for station, each in foresight.hands_on(None, WED).items()} == {
        "veg": (5 * MINUTES, None),
        "hot-line": (None, 20 * MINUTES),
    }


def test_c2_costs_are_told_before_and_after_for_the_recipe_and_all_above_it() -> None:
    # A portion of sauce is 200 g of 2 kg: a tenth of a kilo of oil at 2.00, then of butter at 10.00. Dish: 500 g of sauce.
    sold = menu_item("plate", ("dish", "1 portion"))
    costs = foresee(pantry(sold), buttered()).recipe_costs(None, WED)
    assert {code: (_portion(each.before), _portion(each.after)) for code, each in costs.items()} == {
        "sauce": (Decimal("0.2"), Decimal(1)),
        "dish": (Decimal("0.5"), Decimal("2.5")),
    }
    items = foresee(pantry(sold), buttered()).menu_item_costs(None, WED)
    assert {code: (_money(each.before), _money(each.after)) for code, each in items.items()} == {"plate": (Decimal("0.5"), Decimal("2.5"))}


def _portion(cost: Any) -> Decimal:
    money: Money = cost.portion
    return money.amount


def _money(cost: Any) -> Decimal:
    money: Money = cost.cost
    return money.amount


def test_without_an_older_version_there_is_no_cost_before() -> None:
    before = kitchen(OIL, BUTTER)
    costs = foresee(before, buttered(number=1), None).recipe_costs(None, WED)["sauce"]
    assert (costs.before, _portion(costs.after)) == (None, Decimal(1))


def test_whom_it_serves_depends_on_the_date_and_the_site() -> None:
    before = pantry()
    until_saturday = recipe("dish", "1 kg", line("oil", "1 kg"), portion="500 g", number=2, starts_on=SAT)
    buttery = foresee(with_things(before, until_saturday), buttered())
    assert [buttery.served(only_site(before).code, on) for on in (TUE, WED, SAT)] == [frozenset(), frozenset({"plate"}), frozenset()]
    pilot = foresee(pantry(site("harbour"), site("mill-street")), buttered(sites=["harbour"]))
    assert [pilot.served(code, WED) for code in ("harbour", "mill-street")] == [frozenset({"plate"}), frozenset()]
