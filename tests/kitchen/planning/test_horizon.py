"""How far the list of a date looks (P14): Tuesday's, whose business date ends on Wednesday at 04:00."""

from collections.abc import Iterable
from datetime import date, time, timedelta

import pytest

from service.errors import RecipeLoop
from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.ingredient import Ingredient
from service.kitchen.book.item import Item
from service.kitchen.book.recipe import Version
from service.kitchen.planning.demand import Need
from service.kitchen.planning.horizon import Outlook
from tests.kitchen.larder import (
    FRI,
    MON,
    SAT,
    SITE,
    THU,
    TUE,
    WED,
    Document,
    at,
    form,
    ingredient,
    item,
    kitchen,
    line,
    menu_item,
    only_site,
    par,
    reading,
    recipe,
    site,
    step,
    with_things,
)
from tests.kitchen.plans import forecast, list_of, plan_forecasts, tasks_of


def selling(words: str, *things: Ingredient | Version, pars: Iterable[Document] = ()) -> Catalogue:
    """A kitchen that sells some of a recipe for lunch by 12:00 and dinner by 18:00."""
    return kitchen(*things, menu_item("plate", (words, "100 g")), site(pars=pars))


def before(catalogue: Catalogue, code: str, *events: tuple[date, str], reported: Iterable[Need] = (), on: date = TUE) -> str:
    """Before which moment needs of a recipe count for the list of a date."""
    times = [(day, time.fromisoformat(clock)) for day, clock in events]
    horizon = Outlook(catalogue, only_site(catalogue), TUE, on, reported).horizon(times)
    return reading(horizon.moments[Item.recipe(code)], only_site(catalogue))


def until(catalogue: Catalogue, *events: tuple[date, str]) -> date:
    """The last date that counts for Tuesday's list."""
    times = [(day, time.fromisoformat(clock)) for day, clock in events]
    return Outlook(catalogue, only_site(catalogue), TUE, TUE).horizon(times).until


def test_p14_short_work_however_deep_reaches_no_further_date() -> None:
    # Four levels of half an hour each: the first work for Wednesday's lunch begins at 10:00.
    half = [step("PT30M")]
    catalogue = selling(
        "a",
        ingredient("salt"),
        recipe("a", "1 kg", line("recipe b", "1 kg"), steps=half, keeps="P6D"),
        recipe("b", "1 kg", line("recipe c", "1 kg"), steps=half, keeps="P6D"),
        recipe("c", "1 kg", line("recipe d", "1 kg"), steps=half, keeps="P6D"),
        recipe("d", "1 kg", line("salt", "1 kg"), steps=half, keeps="P6D"),
    )
    assert (until(catalogue), before(catalogue, "a")) == (TUE, "2026-12-02 04:00")


def test_p14_what_begins_before_the_dates_end_counts_and_what_joins_it_on_its_date() -> None:
    # 9 h before Wednesday's lunch are 03:00, still Tuesday; that run takes dinner's needs too. 7 h before are 05:00.
    assert before(selling("stew", recipe("stew", "1 kg", steps=[step("PT9H")])), "stew") == "2026-12-03 04:00"
    assert before(selling("stew", recipe("stew", "1 kg", steps=[step("PT7H")])), "stew") == "2026-12-02 04:00"


def test_p14_each_recipe_looks_as_far_as_it_must() -> None:
    catalogue = kitchen(
        recipe("bread", "1 kg", steps=[step("PT18H")]), recipe("salad", "1 kg"), menu_item("plate", ("bread", "100 g"), ("salad", "100 g"))
    )
    assert (before(catalogue, "bread"), before(catalogue, "salad")) == ("2026-12-03 04:00", "2026-12-02 04:00")


def test_p14_an_early_event_counts_where_a_period_would_not() -> None:
    catalogue = selling("stew", recipe("stew", "1 kg", steps=[step("PT7H")]))
    assert until(catalogue, (WED, "10:00")) == WED
    assert until(catalogue, (WED, "11:30")) == TUE
    assert until(catalogue, (THU, "10:00")) == TUE


@pytest.mark.parametrize(
    ("makes_for", "keeps", "counting"),
    [
        (1, "P6D", "2026-12-02 04:00"),
        (3, "P6D", "2026-12-04 04:00"),
        (3, "P1D", "2026-12-03 04:00"),
        (3, None, "2026-12-02 04:00"),
        (3, "PT20H", "2026-12-03 00:00"),
    ],
)
def test_p14_needs_count_that_a_run_of_the_date_is_open_for(makes_for: int, keeps: str | None, counting: str) -> None:
    # A run of Tuesday is ready before 04:00, and keeps 20 hours from then.
    assert before(selling("stew", recipe("stew", "1 kg", makes_for=makes_for, keeps=keeps)), "stew") == counting


def test_p14_what_counts_of_a_sub_recipe_counts_of_what_calls_it() -> None:
    # Tuesday's stock is made for two dates, and stews of both draw it an hour before they are ready.
    catalogue = selling(
        "stew",
        recipe("stew", "1 kg", line("recipe stock", "1 kg"), steps=[step("PT1H")]),
        recipe("stock", "1 kg", makes_for=2, keeps="P2D"),
    )
    assert before(catalogue, "stew") == "2026-12-03 04:00"


def test_p14_a_line_is_drawn_when_its_step_begins() -> None:
    # Onions are drawn 9 h before lunch, at 03:00, the herbs half an hour before it.
    steps = [step("PT8H30M"), step("PT30M")]
    onions, herbs = form("dice", makes_for=2), form("leaves", makes_for=2)
    stew = recipe("stew", "1 kg", line("onion/dice", "1 kg", step=1), line("herb/leaves", "1 kg", step=2), steps=steps)
    catalogue = selling("stew", ingredient("onion", onions), ingredient("herb", herbs), stew)
    assert before(catalogue, "stew") == "2026-12-04 04:00"
    of_herbs = recipe("stew", "1 kg", line("herb/leaves", "1 kg", step=2), steps=steps)
    assert before(selling("stew", ingredient("herb", herbs), of_herbs), "stew") == "2026-12-03 04:00"


def test_p14_the_moments_of_needs_lie_between_the_nearest_and_the_farthest_from_the_guests() -> None:
    # A stock of two hours is drawn 7 h and 9 h before lunch, at 05:00 and at 03:00: what is ready at 05:00 begins at 03:00.
    def drawn(hours: int) -> Version:
        return recipe(f"stew-{hours}", "1 kg", line("recipe stock", "1 kg"), steps=[step(f"PT{hours}H")], makes_for=2, keeps="P1D")

    stock, sold = recipe("stock", "1 kg", steps=[step("PT2H")]), ("stock", "1 g")
    both = kitchen(stock, drawn(7), drawn(9), menu_item("plate", ("stew-7", "1 g"), ("stew-9", "1 g"), sold))
    assert before(both, "stock") == "2026-12-03 04:00"
    early = kitchen(stock, drawn(9), menu_item("plate", ("stew-9", "1 g")), menu_item("side", sold), site(periods={"lunch": "12:00"}))
    assert before(early, "stock") == "2026-12-03 04:00"
    soon = kitchen(stock, drawn(7), menu_item("plate", ("stew-7", "1 g")), menu_item("side", sold))
    assert before(soon, "stock") == "2026-12-03 04:00"


def test_t4_what_is_needed_as_a_date_begins_is_of_that_date() -> None:
    # Wednesday begins at 04:00, and so does breakfast: it is cooked on Tuesday, with all that is needed on Wednesday.
    catalogue = kitchen(
        recipe("stew", "1 kg", steps=[step("PT1H")]),
        menu_item("plate", ("stew", "1 g")),
        site(periods={"breakfast": "04:00", "dinner": "18:00"}),
    )
    assert before(catalogue, "stew") == "2026-12-03 04:00"


def test_p14_many_dates_of_one_run_are_looked_at() -> None:
    # Stock of Tuesday is made until Monday the 14th; a stew of Tuesday's lunch draws it 9 h before that, at 03:00, still Monday.
    stock = recipe("stock", "1 kg", makes_for=14, keeps="P14D")
    catalogue = selling("stew", stock, recipe("stew", "1 kg", line("recipe stock", "1 kg"), steps=[step("PT9H")]))
    assert before(catalogue, "stew") == "2026-12-16 04:00"


def test_p14_thaw_reaches_back_and_a_pull_is_of_a_whole_date() -> None:
    # What thaws for two days and is needed on Thursday, at noon or later, leaves store on Tuesday; for Friday nothing does.
    catalogue = selling("roast", ingredient("hen", thaw="P2D"), recipe("roast", "1 kg", line("hen", "1 kg")))
    assert before(catalogue, "roast") == "2026-12-04 04:00"
    # One hour more, and Friday's first need of 04:00 would; nobody is served so early.
    longer = selling("roast", ingredient("hen", thaw="P2DT1H"), recipe("roast", "1 kg", line("hen", "1 kg")))
    assert before(longer, "roast") == "2026-12-04 04:00"


def test_y7_every_form_of_a_cut_counts_while_its_run_is_open_for_any() -> None:
    hen = ingredient("hen", form("breast", "0.3", cut="joint"), form("leg", "0.3", cut="joint", makes_for=3, keeps="P3D"))
    catalogue = selling("grill", hen, recipe("grill", "1 kg", line("hen/breast", "1 kg")))
    assert before(catalogue, "grill") == "2026-12-04 04:00"


def test_y7_the_lead_of_a_cut_is_its_longest() -> None:
    hen = ingredient("hen", form("breast", "0.3", cut="joint", lead="PT9H"), form("leg", "0.3", cut="joint"))
    catalogue = selling("grill", hen, recipe("grill", "1 kg", line("hen/leg", "1 kg")))
    assert before(catalogue, "grill") == "2026-12-03 04:00"


def test_y4_what_counts_of_a_by_product_counts_of_what_gives_it() -> None:
    # Bones thaw for a day, so that what the roasts of Wednesday give is not pulled on Tuesday.
    roast = recipe("roast", "1 kg", gives={"bones": "100 g"})
    stock = recipe("stock", "1 kg", line("bones", "1 kg"))
    bones, plate = ingredient("bones", thaw="P1D"), menu_item("plate", ("roast", "100 g"), ("stock", "1 g"))
    assert before(kitchen(bones, roast, stock, plate), "roast") == "2026-12-03 04:00"
    hen = ingredient("hen", form("jointed", "0.7", gives={"bones": "0.3"}))
    jointed = recipe("roast", "1 kg", line("hen/jointed", "1 kg"))
    assert before(kitchen(bones, hen, jointed, stock, plate), "roast") == "2026-12-03 04:00"


def test_p16_pars_count_at_their_time_on_their_weekdays() -> None:
    # Bread begins 22 h before it is ready: of Wednesday's 09:00 on Tuesday, of Thursday's on Wednesday.
    bread = recipe("bread", "1 kg", steps=[step("PT22H")])
    assert until(kitchen(bread, site(pars=[par("recipe bread", "1 kg", "09:00")]))) == WED
    assert until(kitchen(bread, site(pars=[par("recipe bread", "1 kg", "09:00", [2, 4])]))) == TUE


def test_p12_what_a_run_contains_counts_whenever_that_is_drawn() -> None:
    # The pie of Friday begins on Tuesday, and says already whether the glaze of Friday 10:00 has nuts in it.
    pie = recipe("pie", "1 kg", line("recipe glaze", "100 g", step=2), steps=[step(None, "P2DT20H"), step("PT2H")])
    catalogue = kitchen(pie, recipe("glaze", "1 kg"), menu_item("plate", ("pie", "100 g")), menu_item("side", ("glaze", "10 g")))
    assert before(catalogue, "glaze") == "2026-12-05 04:00"


def test_p15_whatever_is_needed_before_reported_work_took_of_it_counts() -> None:
    catalogue = selling("stew", recipe("stew", "1 kg"), recipe("stock", "1 kg"), pars=[par("recipe stock", "1 kg", "09:00")])
    took = Need(item=item("recipe stock"), at=at(THU, "15:00"), amount=100.0, settled=True)
    assert before(catalogue, "stock", reported=[took]) == "2026-12-03 15:00"
    assert took.at < Outlook(catalogue, only_site(catalogue), TUE, TUE, [took]).horizon([]).moments[took.item]
    asked = Need(item=item("recipe stock"), at=at(THU, "15:00"), amount=100.0)
    assert before(catalogue, "stock", reported=[asked]) == "2026-12-02 04:00"


def test_p15_work_that_was_begun_asks_at_its_own_times() -> None:
    # Glaze is needed for guests at noon; a reported pie asks for it on Wednesday at 05:00, and that run begins on Tuesday.
    catalogue = selling("glaze", recipe("glaze", "1 kg", steps=[step("PT2H")]))
    asked = Need(item=item("recipe glaze"), at=at(WED, "05:00"), amount=100.0)
    assert before(catalogue, "glaze", reported=[asked]) == "2026-12-03 04:00"
    assert before(catalogue, "glaze") == "2026-12-02 04:00"


def test_p12_a_version_counts_while_it_is_in_force() -> None:
    old = recipe("stew", "1 kg", makes_for=3, keeps="P6D")

    def changed(on: date) -> str:
        return before(selling("stew", old, recipe("stew", "1 kg", number=2, starts_on=on)), "stew")

    # Monday's run is still made for Wednesday; one of Sunday no longer. From Wednesday on it makes no difference.
    assert changed(TUE) == "2026-12-03 04:00"
    assert changed(MON) == "2026-12-02 04:00"
    assert changed(WED) == "2026-12-04 04:00"


def test_p12_what_a_version_of_the_past_drew_when_does_not_count() -> None:
    # Only until Monday stock was drawn 7 h before lunch, so that two hours of work on it began at 03:00.
    stock, drawn, side = recipe("stock", "1 kg", steps=[step("PT2H")]), line("recipe stock", "1 kg"), menu_item("side", ("stock", "1 g"))
    catalogue = with_things(selling("stew", stock, recipe("stew", "1 kg", drawn, steps=[step("PT7H")])), side)
    assert before(catalogue, "stock") == "2026-12-03 04:00"
    assert before(with_things(catalogue, recipe("stew", "1 kg", drawn, number=2, starts_on=TUE)), "stock") == "2026-12-02 04:00"


def test_p12_a_version_that_begins_later_counts_for_what_begins_before_it() -> None:
    # By the version of Friday the dough rests for three days.
    newer = recipe("dough", "1 kg", number=2, starts_on=FRI, steps=[step(None, "P3D")])
    assert before(selling("dough", recipe("dough", "1 kg"), newer), "dough") == "2026-12-05 04:00"
    later = recipe("dough", "1 kg", number=2, starts_on=SAT, steps=[step(None, "P3D")])
    assert before(selling("dough", recipe("dough", "1 kg"), later), "dough") == "2026-12-02 04:00"


def test_p12_a_pilot_counts_at_its_own_sites() -> None:
    pilot = recipe("stew", "1 kg", number=2, sites=[SITE], makes_for=2, keeps="P1D")
    assert before(selling("stew", recipe("stew", "1 kg"), pilot), "stew") == "2026-12-03 04:00"
    elsewhere = recipe("stew", "1 kg", number=2, sites=["harbour"], makes_for=2, keeps="P1D")
    assert before(selling("stew", recipe("stew", "1 kg"), elsewhere), "stew") == "2026-12-02 04:00"


def loop(second: date | None = None) -> Catalogue:
    """Two recipes that need each other by their first versions; from a date on the second one is made by itself, for three dates."""
    newer = [] if second is None else [recipe("b", "1 kg", number=2, starts_on=second, makes_for=3, keeps="P6D")]
    begun = TUE - timedelta(days=600)
    a = recipe("a", "1 kg", line("recipe b", "1 kg"), starts_on=begun)
    b = recipe("b", "1 kg", line("recipe a", "1 kg"), line("salt", "1 g"), starts_on=begun)
    return selling("a", ingredient("salt"), a, b, *newer)


@pytest.mark.parametrize("days", [0, 1, 500])
def test_p4_a_loop_among_versions_of_the_past_leaves_them_out(days: int) -> None:
    assert before(loop(TUE - timedelta(days=days)), "a") == "2026-12-04 04:00"


def test_p4_a_loop_of_long_ago_leaves_no_newer_version_out() -> None:
    # Monday's run by the second version is made for Wednesday too, Sunday's is not.
    long_ago = loop(TUE - timedelta(days=500))
    assert before(with_things(long_ago, recipe("b", "1 kg", number=3, starts_on=TUE)), "a") == "2026-12-03 04:00"
    assert before(with_things(long_ago, recipe("b", "1 kg", number=3, starts_on=MON)), "a") == "2026-12-02 04:00"


def test_p4_a_loop_among_versions_in_force_is_an_error() -> None:
    with pytest.raises(RecipeLoop):
        until(loop())


def through(on: date, day_starts: str, periods: dict[str, str], makes_for: int = 1, rests: str | None = None) -> str:
    """Before which moment needs count for the list of a date before Sunday, the 14th of March, on which clocks go forward at 02:00."""
    place = site(periods=periods, day_starts=day_starts)
    catalogue = kitchen(
        recipe("stew", "1 kg", makes_for=makes_for, keeps="P6D", steps=[step(None, rests)]), menu_item("plate", ("stew", "1 g")), place
    )
    return reading(Outlook(catalogue, place, on, on).horizon([]).moments[item("recipe stew")])


SATURDAY = date(2027, 3, 13)


def test_t3_a_clock_time_that_is_left_out_may_lie_behind_the_end_of_its_date() -> None:
    # Sunday begins at 03:00, and 02:30 of Saturday's date, which is left out, is 03:30.
    assert through(SATURDAY - timedelta(days=3), "03:00", {"night": "02:30"}, makes_for=4) == "2027-03-14 04:00"


def test_t3_a_clock_time_may_lie_before_the_beginning_of_its_date_that_is_left_out() -> None:
    # Sunday's date would begin at 02:30, which is left out and is 03:30: breakfast at 03:00 is Sunday's, cooked on Saturday's date.
    periods = {"breakfast": "03:00", "dinner": "18:00"}
    assert through(SATURDAY, "02:30", periods) == "2027-03-15 02:30"
    assert through(SATURDAY - timedelta(days=3), "02:30", periods, rests="P3D") == "2027-03-15 02:30"


def test_t2_prep_whose_lead_follows_its_quantity_counts_as_long_as_it_can_take() -> None:
    # Dice takes two days of hands at most: what is ready before Friday 04:00 may begin on Tuesday, and so may what joins it.
    active = {"set_up": "PT5M", "per": {"amount": 1, "unit": "kg"}, "time": "PT6M"}
    stew = recipe("stew", "1 kg", line("onion/dice", "1 kg"), steps=[step("PT1H")])
    assert before(selling("stew", ingredient("onion", form("dice", active=active)), stew), "stew") == "2026-12-04 04:00"
    assert before(selling("stew", ingredient("onion", form("dice")), stew), "stew") == "2026-12-02 04:00"


def test_p14_a_large_run_of_prep_stands_on_the_list_of_the_date_on_which_it_begins() -> None:
    # 200 kg take 20 h 5 min, to be ready by Thursday noon: from Wednesday at 15:55. 20 kg take 2 h 5 min on Thursday.
    active = {"set_up": "PT5M", "per": {"amount": 1, "unit": "kg"}, "time": "PT6M"}
    salad = recipe("salad", "1 kg", line("onion/dice", "1 kg"))
    catalogue = kitchen(ingredient("onion", form("dice", active=active)), salad, menu_item("plate", ("salad", "100 g")))

    def starts(guests: int, on: date) -> list[str]:
        planned = plan_forecasts(catalogue, [forecast(THU, "plate", guests)], on=on)
        return [task["start_by"] for task in tasks_of(list_of(planned, catalogue, on), "prep")]

    assert starts(2000, WED) == ["2026-12-02T15:55:00-05:00"]
    assert starts(200, WED) == []
    assert starts(200, THU) == ["2026-12-03T09:55:00-05:00"]
