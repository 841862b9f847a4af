"""Demand: rules P1, T5 and the levels of P16."""

from datetime import date, time, timedelta
from fractions import Fraction

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.site import Site
from service.kitchen.planning.demand import Demand, Need, foresee
from service.kitchen.planning.guests import Event, Forecast, Outlet, Override, OverrideKey
from tests.kitchen.larder import (
    EVERY_DAY,
    MON,
    THU,
    TUE,
    WED,
    Document,
    at,
    form,
    ingredient,
    item,
    kitchen,
    menu_item,
    par,
    reading,
    recipe,
    site,
)
from tests.kitchen.plans import forecast

SOUP = recipe("soup", "20 L", portion="250 mL")
BOWL = menu_item("bowl", ("soup", "1 portion"))
BANQUET = Event("banquet-12", time(19, 30))


def foreseen(
    forecasts: list[Forecast],
    overrides: dict[OverrideKey, Override] | None = None,
    catalogue: Catalogue | None = None,
    where: Site | None = None,
    until: date = WED,
) -> Demand:
    """The demand from Tuesday on, of the kitchen of bowls unless another is given."""
    place = where or site()
    return foresee(catalogue or kitchen(SOUP, BOWL), place, place.calendar(), forecasts, overrides or {}, TUE, until)


def amounts(demand: Demand) -> dict[tuple[date, str, str | None], float]:
    """The amount of each need by date, period and event."""
    return {(need.outlet.on, need.outlet.period, need.outlet.event): need.amount for need in demand.needs if need.outlet is not None}


def bowls(demand: Demand) -> float:
    """How many bowls of 250 mL the only need is for."""
    (need,) = demand.needs
    return need.amount / 250


def test_p1_a_need_is_count_times_uptake_times_quantity() -> None:
    # 40 guests × 0.35 × 1.5 portions × 250 mL = 5250 mL.
    catalogue = kitchen(SOUP, menu_item("lunch-deal", ("soup", "1.5 portion", "0.35")))
    (need,) = foreseen([forecast(TUE, "lunch-deal", 40)], catalogue=catalogue).needs
    assert need.item == item("recipe soup")
    assert need.amount == pytest.approx(5250, rel=1e-12)


def test_t5_a_component_is_needed_at_its_periods_ready_by_time() -> None:
    demand = foreseen([forecast(TUE, "bowl", 4), forecast(TUE, "bowl", 4, "dinner")])
    assert {need.outlet.period: need.at for need in demand.needs if need.outlet} == {"lunch": at(TUE, "12:00"), "dinner": at(TUE, "18:00")}


def test_t4_a_period_before_day_starts_is_on_the_next_civil_day_and_on_its_own_business_date() -> None:
    late = site(periods={"late": "00:30"})
    (need,) = foreseen([forecast(TUE, "bowl", 4, "late")], where=late).needs
    assert need.at == at(WED, "00:30")
    assert need.on == TUE


def test_t5_an_event_with_its_own_time_is_needed_then() -> None:
    (need,) = foreseen([forecast(TUE, "bowl", 4, "dinner", event=BANQUET)]).needs
    assert need.at == at(TUE, "19:30")
    assert need.outlet == Outlet("bowl", TUE, "dinner", "banquet-12")
    (untimed,) = foreseen([forecast(TUE, "bowl", 4, "dinner", event=Event("banquet-12"))]).needs
    assert untimed.at == at(TUE, "18:00")


def counted(demand: Demand) -> dict[str | None, float]:
    """How many are wanted, by event."""
    return {count.outlet.event: count.count for count in demand.counts}


def test_p1_counts_of_all_sources_and_keys_of_one_menu_item_add_up() -> None:
    catalogue = kitchen(SOUP, menu_item("bowl", ("soup", "1 portion"), codes=[("till-east", "1042"), ("till-east", "1043")]))
    demand = foreseen(
        [
            forecast(TUE, "bowl", 10, source="planner"),
            Forecast(date=TUE, period="lunch", count=7, source="till-east", till_code="1042"),
            Forecast(date=TUE, period="lunch", count=5, source="till-east", till_code="1043"),
        ],
        catalogue=catalogue,
    )
    assert bowls(demand) == pytest.approx(22, rel=1e-12)


def test_p1_a_till_code_that_no_menu_item_has_is_warned_of_and_left_out() -> None:
    demand = foreseen([Forecast(date=TUE, period="lunch", count=7, source="till-east", till_code="9999")])
    assert demand.needs == ()
    (warning,) = demand.warnings
    assert (warning.on, warning.code) == (TUE, "unmapped_till_code")
    assert warning.number == 1
    assert warning.detail == "1 till code that no menu item has counts once one has it: 7 of 9999 from till-east (lunch)"


def test_p1_all_till_codes_of_a_date_that_no_menu_item_has_are_one_warning_with_a_count_and_the_first_twenty() -> None:
    unknown = [
        Forecast(date=TUE, period=period, count=2, source="till-east", till_code=str(code))
        for code in range(10, 33)
        for period in ("lunch", "dinner")
    ]
    (warning,) = foreseen(unknown).warnings
    assert warning.number == 23
    named = [f"4 of {code} from till-east (dinner, lunch)" for code in range(10, 30)]
    assert warning.detail == f"23 till codes that no menu item has count once one has them: {', '.join(named)}, and 3 more"


def test_p1_a_till_code_belongs_to_its_source() -> None:
    catalogue = kitchen(SOUP, menu_item("bowl", ("soup", "1 portion"), codes=[("till-east", "1042")]))
    demand = foreseen([Forecast(date=TUE, period="lunch", count=7, source="till-west", till_code="1042")], catalogue=catalogue)
    assert demand.needs == ()


def test_p1_forecasts_before_the_first_date_and_past_the_window_do_not_count() -> None:
    demand = foreseen([forecast(MON, "bowl", 4), forecast(TUE, "bowl", 5), forecast(WED, "bowl", 6), forecast(THU, "bowl", 7)])
    assert amounts(demand) == {(TUE, "lunch", None): 1250, (WED, "lunch", None): 1500}


@pytest.mark.parametrize(
    ("site_buffer", "item_buffer", "event_buffer", "plain", "at_event"),
    [
        # 100 guests without event and 40 at it, by the site's buffer of 10 %: 110 and 44.
        ("0.1", None, None, 110, 44),
        # The menu item's 5 % goes before the site's, for the event too: 105 and 42.
        ("0.1", "0.05", None, 105, 42),
        # The event's own 25 % goes before both, for the event alone: 105 and 50.
        ("0.1", "0.05", Fraction(1, 4), 105, 50),
        # A buffer of nothing is a buffer: 100 and 40.
        ("0.1", "0", Fraction(0), 100, 40),
        ("0.1", None, Fraction(0), 110, 40),
    ],
)
def test_p1_the_nearest_buffer_counts_the_events_then_the_menu_items_then_the_sites(
    site_buffer: str, item_buffer: str | None, event_buffer: Fraction | None, plain: float, at_event: float
) -> None:
    catalogue = kitchen(SOUP, menu_item("bowl", ("soup", "1 portion"), buffer=item_buffer))
    demand = foreseen(
        [forecast(TUE, "bowl", 100), forecast(TUE, "bowl", 40, event=Event("banquet-12", None, event_buffer))],
        catalogue=catalogue,
        where=site(buffer=site_buffer),
    )
    found = amounts(demand)
    assert found[TUE, "lunch", None] == pytest.approx(plain * 250, rel=1e-12)
    assert found[TUE, "lunch", "banquet-12"] == pytest.approx(at_event * 250, rel=1e-12)


def test_p1_an_override_replaces_the_count_without_event_and_leaves_the_banquet_alone() -> None:
    demand = foreseen(
        [forecast(TUE, "bowl", 100, "dinner"), forecast(TUE, "bowl", 40, "dinner", event=BANQUET)],
        {(TUE, "dinner", "bowl", None): Override(count=60)},
        where=site(buffer="0.1"),
    )
    assert counted(demand) == {None: 60, "banquet-12": pytest.approx(44)}


def test_p1_an_override_of_an_event_is_of_that_event_alone_and_at_its_time() -> None:
    demand = foreseen(
        [forecast(TUE, "bowl", 100, "dinner"), forecast(TUE, "bowl", 40, "dinner", event=BANQUET)],
        {(TUE, "dinner", "bowl", "banquet-12"): Override(count=30, add=5)},
        where=site(buffer="0.1"),
    )
    assert counted(demand) == {None: pytest.approx(110), "banquet-12": 35}
    (banquet,) = [count for count in demand.counts if count.outlet.event]
    assert (banquet.at, banquet.overridden) == (at(TUE, "19:30"), True)


def test_p1_an_event_that_nobody_forecast_is_at_ready_by() -> None:
    demand = foreseen([], {(TUE, "dinner", "bowl", "party"): Override(add=9)})
    assert counted(demand) == {"party": 9}
    assert demand.needs[0].at == at(TUE, "18:00")


def test_p1_an_event_that_nobody_pushed_is_warned_of_with_those_that_somebody_has() -> None:
    pushed = [
        forecast(TUE, "bowl", 4, "dinner", event=BANQUET),
        Forecast(date=TUE, period="lunch", count=7, source="till-east", till_code="9999", event=Event("choir")),
        forecast(WED, "bowl", 4, event=Event("banquett")),
    ]
    own = {(TUE, "dinner", "bowl", event): Override(add=9) for event in ("banquett", "choir", "banquet-12", None)}
    (warning,) = (each for each in foreseen(pushed, own).warnings if each.code != "unmapped_till_code")
    assert (warning.on, warning.code, warning.period, warning.number) == (TUE, "unknown_event", "dinner", 9)
    told = "nobody has pushed guests of the event banquett for 2026-12-01, but of banquet-12, choir"
    assert warning.detail == f"Bowl: 9 in dinner by the site's word alone: {told}"


def test_p1_an_event_that_nobody_pushed_and_that_adds_nobody_is_not_warned_of() -> None:
    assert foreseen([], {(TUE, "dinner", "bowl", "party"): Override(count=0)}).warnings == ()


@pytest.mark.parametrize(("override", "left"), [(Override(add=-30), 80), (Override(add=-200), None), (Override(count=20, add=-5), 15)])
def test_p1_an_addition_may_take_off_and_together_they_are_no_less_than_nothing(override: Override, left: float | None) -> None:
    # 100 and 10 % are 110.
    demand = foreseen([forecast(TUE, "bowl", 100)], {(TUE, "lunch", "bowl", None): override}, where=site(buffer="0.1"))
    assert counted(demand).get(None) == (None if left is None else pytest.approx(left))


def test_p1_what_is_taken_off_an_event_with_two_times_goes_on_from_the_first() -> None:
    early, late = Event("gala", time(18)), Event("gala", time(20))
    wants = [forecast(TUE, "bowl", 20, "dinner", event=early), forecast(TUE, "bowl", 30, "dinner", event=late)]

    def told(override: Override) -> list[tuple[str, float]]:
        demand = foreseen(wants, {(TUE, "dinner", "bowl", "gala"): override})
        return [(reading(count.at)[-5:], count.count) for count in demand.counts]

    assert told(Override(add=-25)) == [("20:00", 25)]
    assert told(Override(add=10)) == [("18:00", 30), ("20:00", 30)]
    assert told(Override(count=12)) == [("18:00", 12)]


def test_p1_an_addition_joins_the_count_without_event_and_takes_no_buffer() -> None:
    # 100 × 1.1 + 8 = 118; the event keeps its 40 × 1.1 = 44.
    demand = foreseen(
        [forecast(TUE, "bowl", 100), forecast(TUE, "bowl", 40, event=BANQUET)],
        {(TUE, "lunch", "bowl", None): Override(add=8)},
        where=site(buffer="0.1"),
    )
    found = amounts(demand)
    assert found[TUE, "lunch", None] == pytest.approx(118 * 250, rel=1e-12)
    assert found[TUE, "lunch", "banquet-12"] == pytest.approx(44 * 250, rel=1e-12)


def test_p1_an_override_may_state_a_count_and_an_addition() -> None:
    assert bowls(foreseen([forecast(TUE, "bowl", 100)], {(TUE, "lunch", "bowl", None): Override(count=60, add=5)})) == 65


def test_p1_an_override_needs_no_forecast() -> None:
    assert bowls(foreseen([], {(TUE, "lunch", "bowl", None): Override(add=5)})) == 5
    assert bowls(foreseen([], {(TUE, "lunch", "bowl", None): Override(count=7)})) == 7


def test_p1_an_override_of_nothing_takes_the_forecast_back() -> None:
    assert foreseen([forecast(TUE, "bowl", 100)], {(TUE, "lunch", "bowl", None): Override(count=0)}).needs == ()


def test_p1_an_override_is_of_its_own_date_period_and_menu_item() -> None:
    demand = foreseen([forecast(TUE, "bowl", 4), forecast(WED, "bowl", 4)], {(TUE, "dinner", "bowl", None): Override(count=2)})
    assert amounts(demand) == {(TUE, "lunch", None): 1000, (TUE, "dinner", None): 500, (WED, "lunch", None): 1000}


def test_p1_a_need_of_nothing_is_no_need() -> None:
    assert foreseen([forecast(TUE, "bowl", 0)]).needs == ()


def test_p1_events_of_one_code_with_other_times_or_buffers_are_needs_of_their_own() -> None:
    demand = foreseen(
        [
            forecast(TUE, "bowl", 10, event=BANQUET),
            forecast(TUE, "bowl", 20, event=Event("banquet-12", time(20))),
            forecast(TUE, "bowl", 40, event=Event("banquet-12", time(20), Fraction(1, 2))),
        ]
    )
    # 10, 20 and 40 × 1.5 = 60 guests.
    assert sorted(need.amount / 250 for need in demand.needs) == [10, 20, 60]


def test_p1_needs_of_a_counted_yield_are_rounded_up_to_whole_each_on_its_own() -> None:
    # 7 × 1.1 = 7.7 scones for lunch and 3 × 1.1 = 3.3 for dinner: 8 and 4, not 11.
    catalogue = kitchen(recipe("scone", "12 each"), menu_item("tea", ("scone", "1 each")))
    demand = foreseen([forecast(TUE, "tea", 7), forecast(TUE, "tea", 3, "dinner")], catalogue=catalogue, where=site(buffer="0.1"))
    assert amounts(demand) == {(TUE, "lunch", None): 8, (TUE, "dinner", None): 4}


def test_p1_each_component_is_rounded_up_after_uptake_and_quantity() -> None:
    # 5 guests × 0.3 × 2 scones = 3 scones exactly, and 5 × 0.3 × 1 = 1.5, which is 2.
    catalogue = kitchen(recipe("scone", "12 each"), menu_item("tea", ("scone", "2 each", "0.3"), ("scone", "1 each", "0.3")))
    demand = foreseen([forecast(TUE, "tea", 5)], catalogue=catalogue)
    assert [need.amount for need in demand.needs] == [3, 2]


def test_p1_a_hair_over_a_whole_count_is_that_count() -> None:
    # 10 × 0.7 is 7.000000000000001 in floats and 7 scones on the tray.
    catalogue = kitchen(recipe("scone", "12 each"), menu_item("tea", ("scone", "1 each", "0.7")))
    assert [need.amount for need in foreseen([forecast(TUE, "tea", 10)], catalogue=catalogue).needs] == [7]


def test_p1_the_portion_is_that_of_the_version_in_force_on_the_service_date() -> None:
    catalogue = kitchen(SOUP, recipe("soup", "20 L", portion="300 mL", number=2, starts_on=WED), BOWL)
    demand = foreseen([forecast(TUE, "bowl", 4), forecast(WED, "bowl", 4)], catalogue=catalogue)
    assert amounts(demand) == {(TUE, "lunch", None): 1000, (WED, "lunch", None): 1200}


def test_p12_a_component_without_a_version_in_force_is_left_out_with_a_warning_that_names_item_and_user() -> None:
    demand = foreseen([forecast(TUE, "bowl", 4)], catalogue=kitchen(recipe("soup", "20 L", portion="250 mL", starts_on=THU), BOWL))
    assert demand.needs == ()
    (warning,) = demand.warnings
    assert (warning.on, warning.code) == (TUE, "no_version")
    assert "soup" in warning.detail
    assert "Bowl" in warning.detail


def test_p12_a_component_that_the_version_in_force_cannot_give_is_left_out_with_a_warning() -> None:
    demand = foreseen([forecast(TUE, "bowl", 4)], catalogue=kitchen(recipe("soup", "20 L"), BOWL))
    assert demand.needs == ()
    assert [warning.code for warning in demand.warnings] == ["no_version"]
    assert "portion" in demand.warnings[0].detail


def test_p1_a_period_that_the_site_no_longer_has_is_warned_of_and_left_out() -> None:
    demand = foreseen([forecast(TUE, "bowl", 4, "brunch"), forecast(TUE, "bowl", 2)])
    assert amounts(demand) == {(TUE, "lunch", None): 500}
    assert [(warning.on, warning.code) for warning in demand.warnings] == [(TUE, "unknown_period")]


def test_p7_the_portions_of_an_outlet_are_its_guests_with_the_highest_uptake() -> None:
    catalogue = kitchen(SOUP, recipe("roll", "20 each"), menu_item("deal", ("soup", "1 portion", "0.5"), ("roll", "1 each", "0.8")))
    demand = foreseen([forecast(TUE, "deal", 10)], catalogue=catalogue)
    assert demand.portions == {Outlet("deal", TUE, "lunch", None): 8}


def par_needs(*pars: Document, until: date = THU, catalogue: Catalogue | None = None) -> list[Need]:
    """The needs of the pars of a site from Tuesday on."""
    return list(foreseen([], catalogue=catalogue, where=site(pars=pars), until=until).needs)


def test_p16_a_par_is_a_need_of_its_level_on_its_weekdays() -> None:
    # Tuesday to Thursday are weekdays 2, 3 and 4.
    needs = par_needs(par("recipe soup", "5 L", "09:00", [2, 4, 7]))
    assert [(need.on, need.at, need.amount) for need in needs] == [
        (TUE, at(TUE, "09:00"), 5000),
        (THU, at(THU, "09:00"), 5000),
    ]
    assert all(need.outlet is None and need.portions == 0 and need.par is not None for need in needs)


def test_p16_weekdays_are_those_of_the_business_date_and_by_is_a_time_as_any_other() -> None:
    # By 01:00 of Tuesday's business date is Wednesday on the calendar.
    (need,) = par_needs(par("recipe soup", "5 L", "01:00", [2]))
    assert need.on == TUE
    assert need.at == at(WED, "01:00")


def test_p16_a_par_of_a_form_is_in_its_ingredients_stock_kind() -> None:
    onion = ingredient("onion", form("dice", equivalents=["1 cup = 160 g"]))
    (need,) = par_needs(par("onion/dice", "10 cup", "09:00"), until=TUE, catalogue=kitchen(onion))
    assert need.item == item("onion/dice")
    assert need.amount == pytest.approx(1600, rel=1e-12)


def test_p16_a_par_without_a_version_in_force_is_left_out_with_a_warning() -> None:
    demand = foreseen(
        [],
        catalogue=kitchen(recipe("soup", "20 L", starts_on=WED)),
        where=site(pars=[par("recipe soup", "5 L", "09:00", EVERY_DAY)]),
    )
    assert [need.on for need in demand.needs] == [WED]
    assert [(warning.on, warning.code) for warning in demand.warnings] == [(TUE, "no_version")]


def test_p1_a_buffer_is_exact() -> None:
    # 30 × 1.1 is 33.000000000000004 in floats; the count is exact, so a counted yield makes 33.
    catalogue = kitchen(recipe("scone", "12 each"), menu_item("tea", ("scone", "1 each")))
    demand = foreseen([forecast(TUE, "tea", 30)], catalogue=catalogue, where=site(buffer="0.1"), until=TUE + timedelta(days=1))
    assert [need.amount for need in demand.needs] == [33]


@pytest.mark.parametrize(
    ("sold", "counted"),
    [
        ((None, None), {TUE, WED, THU}),
        ((WED, None), {WED, THU}),
        ((None, WED), {TUE, WED}),
        ((WED, WED), {WED}),
    ],
)
def test_p1_what_is_not_on_the_menu_on_a_date_is_expected_by_nobody_and_warned_of(sold: tuple[date, date], counted: set[date]) -> None:
    catalogue = kitchen(SOUP, menu_item("bowl", ("soup", "1 portion"), codes=[("till", "7")], sold=sold))
    pushed = [forecast(on, "bowl", 4) for on in (TUE, WED)] + [Forecast(date=THU, period="lunch", count=4, source="till", till_code="7")]
    demand = foreseen([*pushed, forecast(MON, "bowl", 4)], catalogue=catalogue, until=THU)
    assert {need.on for need in demand.needs} == counted
    assert {(each.on, each.code) for each in demand.warnings} == {(on, "not_on_menu") for on in {TUE, WED, THU} - counted}


def test_p1_nobody_is_told_of_what_is_off_the_menu_and_not_expected() -> None:
    catalogue = kitchen(SOUP, menu_item("bowl", ("soup", "1 portion"), sold=(None, MON)))
    assert foreseen([forecast(TUE, "bowl", 0)], catalogue=catalogue) == foreseen([], catalogue=catalogue)
    added = foreseen([], {(TUE, "lunch", "bowl", None): Override(add=3)}, catalogue)
    assert added.needs == ()
    (told,) = added.warnings
    assert told.detail == "Bowl is not on the menu on 2026-12-01: what is expected of it for lunch is left out"
