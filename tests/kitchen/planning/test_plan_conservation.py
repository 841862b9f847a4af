"""Conservation in a plan: rule P10 as a property, over kitchens with batches, cuts, by-products, lots and pars."""

from collections import defaultdict
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.explained.shares import Shares
from service.kitchen.planning.counted import Counted
from service.kitchen.planning.guests import Forecast
from service.kitchen.planning.plan import Plan
from tests.kitchen.larder import MON, TUE, at, form, ingredient, item, kitchen, line, menu_item, near, par, recipe, site, step
from tests.kitchen.plans import counted, forecast, plan_forecasts

AMOUNTS = st.sampled_from(["0.3", "1", "2.75", "6"])
KEEPS = st.sampled_from([None, "PT3H", "P1D", "P4D"])


@st.composite
def kitchens(draw: st.DrawFn) -> Catalogue:
    """A stew that draws a stock, both cuts of a bird and onions; the bird gives bones to the stock, the stew fat to a roast."""
    keeps, makes_for = draw(KEEPS), draw(st.integers(1, 3))
    multiple = draw(st.sampled_from([None, "0.7 kg", "2 kg"]))
    batch = {"largest": draw(st.sampled_from(["3 kg", "5 kg"])), **({"multiple": multiple} if multiple else {})}
    power = {"rule": "power", "exponent": "0.6"}
    return kitchen(
        ingredient(
            "hen",
            form(
                "breast", "0.30", cut="jointed", whole=draw(st.booleans()), gives={"bones": "0.2"}, keeps=draw(KEEPS), makes_for=makes_for
            ),
            form("thigh", "0.25", cut="jointed", keeps=draw(KEEPS)),
            piece="1.6 kg",
        ),
        ingredient("bones", keeps=draw(KEEPS)),
        ingredient("fat"),
        ingredient("onion", form("dice", "0.88", keeps=draw(KEEPS))),
        recipe("stock", "4 L", line("bones", "2 kg"), line("onion", "300 g"), keeps=draw(KEEPS), steps=[step(None, "PT5H")]),
        recipe(
            "stew",
            "2 kg",
            line("hen/thigh", "800 g", 1),
            line("recipe stock", "1 L", 1),
            line("onion/dice", "150 g", 2, power),
            gives={"fat": "90 g"},
            batch=batch,
            keeps=keeps,
            makes_for=makes_for,
            steps=[step("PT30M"), step(None, draw(st.sampled_from(["PT1H", "PT14H"])))],
        ),
        recipe("roast", "1 kg", line("hen/breast", "1.1 kg"), line("fat", "50 g"), keeps=keeps),
        menu_item("bowl", ("stew", "250 g")),
        menu_item("plate", ("roast", "180 g", "0.7"), ("stew", "60 g")),
        site(pars=[par("recipe stew", f"{draw(AMOUNTS)} kg", "09:00"), par("onion/dice", "400 g", "08:00", [2, 4])]),
    )


@st.composite
def orders(draw: st.DrawFn) -> list[Forecast]:
    periods = st.sampled_from(["lunch", "dinner"])
    rows = draw(st.lists(st.tuples(st.integers(0, 3), st.sampled_from(["bowl", "plate"]), st.integers(0, 40), periods), max_size=5))
    return [forecast(TUE + timedelta(days=days), sold, count, period) for days, sold, count, period in rows]


STOCK = st.lists(
    st.builds(
        lambda words, amount, days: counted(words, f"{amount} kg", at(MON, "22:00"), MON - timedelta(days=days)),
        st.sampled_from(["hen", "bones", "fat", "onion/dice", "hen/thigh", "recipe stew", "recipe roast"]),
        AMOUNTS,
        st.integers(0, 2),
    ),
    max_size=4,
)


def sides(planned: Plan) -> tuple[dict[Item, float], dict[Item, float]]:
    """Of every item: lots on hand, given, made or pulled; and drawn, demand met, left."""
    comes: dict[Item, float] = defaultdict(float)
    goes: dict[Item, float] = defaultdict(float)
    for each in planned.lots:
        if each.source is None:
            comes[each.item] += each.amount
        goes[each.item] += each.left
    for run in planned.runs:
        for output in run.outputs:
            comes[output.item] += output.quantity
        for given_item, amount in run.gives:
            comes[given_item] += amount
    for pull in planned.pulls:
        comes[pull.item] += pull.amount
    for need in planned.needs:
        # A par takes nothing, and what it asked for is left or taken by another need.
        if need.par is None:
            goes[need.item] += need.amount
    for need, short in planned.left_out:
        goes[need.item] -= short
    return comes, goes


@given(kitchens(), orders(), STOCK)
def test_p10_what_comes_of_every_item_goes(catalogue: Catalogue, forecasts: list[Forecast], stock: list[Counted]) -> None:
    comes, goes = sides(plan_forecasts(catalogue, forecasts, stock, on=TUE + timedelta(days=3)))
    assert set(comes) >= {each for each, amount in goes.items() if amount > 0}
    for each, amount in comes.items():
        assert goes[each] == near(amount), each.label


def test_p10_a_kitchen_with_lots_surplus_and_by_products_balances_by_hand() -> None:
    # 1.2 kg of breast wanted at 0.3 is 4 kg of hen, 2.5 pieces of 1.6 kg: 3 pieces, 4.8 kg, 1.44 kg of breast, 0.96 kg of bones.
    catalogue = kitchen(
        ingredient("hen", form("breast", "0.30", whole=True, gives={"bones": "0.2"}, keeps="P1D"), piece="1.6 kg"),
        ingredient("bones"),
        recipe("roast", "1 kg", line("hen/breast", "1 kg")),
        menu_item("plate", ("roast", "200 g")),
    )
    comes, goes = sides(plan_forecasts(catalogue, [forecast(TUE, "plate", 8)], [counted("hen/breast", "0.4 kg", at(TUE, "05:00"))]))
    assert comes == {
        item("recipe roast"): near(1600),
        item("hen/breast"): near(400 + 1440),
        item("bones"): near(960),
        item("hen"): near(4800),
    }
    assert goes == {
        item("recipe roast"): near(1600),
        item("hen/breast"): near(1600 + 240),
        item("bones"): near(960),
        item("hen"): near(4800),
    }


@given(kitchens(), orders(), STOCK)
def test_p11_shares_of_every_run_and_pull_sum_to_its_quantity(
    catalogue: Catalogue, forecasts: list[Forecast], stock: list[Counted]
) -> None:
    planned = plan_forecasts(catalogue, forecasts, stock, on=TUE + timedelta(days=3))
    shares = Shares(planned)
    for run in planned.runs:
        for output in run.outputs:
            assert sum(share.amount for share in shares.of_output(run, output.item)) == near(output.quantity)
    for pull in planned.pulls:
        assert sum(share.amount for share in shares.of_pull(pull)) == near(pull.amount)


@given(kitchens(), orders(), STOCK)
def test_p9_need_is_have_and_quantity_without_surplus_for_everything_made(
    catalogue: Catalogue, forecasts: list[Forecast], stock: list[Counted]
) -> None:
    for run in plan_forecasts(catalogue, forecasts, stock, on=TUE + timedelta(days=3)).runs:
        for output in run.outputs:
            assert output.need == near(output.have + output.quantity - output.surplus) or abs(output.need) < 1e-6
