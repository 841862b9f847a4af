"""How loads find their places, rule by rule (K8 to K11, K14, K15, K17)."""

from dataclasses import replace

import pytest

from service.kitchen.schedule import engine
from service.kitchen.schedule.answer import Cook
from service.kitchen.schedule.problem import Equipment, Keeps, LoadStep, Problem, Rest, Serves
from service.kitchen.schedule.schedule import schedule
from tests.kitchen.schedule.days import day
from tests.kitchen.schedule.kitchens import DAY, hands, load, problem, resting, shift

EARLY = shift("Early", 0, 400)


def starts(asked: Problem) -> dict[str, int]:
    return {placed.load: placed.starts[0] for placed in schedule(asked).placed}


def test_k9_what_is_due_last_is_placed_first_and_of_those_alike_the_first_by_order() -> None:
    asked = problem(load("soup", hands(30), due=100), load("mash", hands(30), due=100), load("peas", hands(30), due=120), shifts=(EARLY,))
    assert starts(asked) == {"peas": 90, "mash": 60, "soup": 30}


def test_the_nearest_service_date_is_placed_first_though_it_is_due_first() -> None:
    asked = problem(
        load("today", hands(30), due=100), load("tomorrow", hands(30), due=110, service=1, not_ready_after=100), shifts=(EARLY,)
    )
    assert starts(asked) == {"today": 70, "tomorrow": 40}


def test_a_consumer_of_a_later_date_is_placed_before_what_supplies_it() -> None:
    asked = problem(
        load("stock", hands(30), serves=(Serves("today", 0), Serves("tomorrow", 0))),
        load("today", hands(10), due=200),
        load("tomorrow", hands(10), due=100, service=1),
        shifts=(EARLY,),
    )
    assert starts(asked) == {"today": 190, "tomorrow": 90, "stock": 60}


def test_k8_no_load_is_due_after_the_end_of_the_business_date_of_its_run() -> None:
    asked = problem(load("stock", hands(30), serves=(Serves("soup", 0),), not_ready_after=80), load("soup", hands(10), due=200))
    placed = schedule(asked).place["stock"]
    assert (placed.starts, placed.due, placed.held) == ((50,), 80, 110)


def test_a_supply_is_ready_no_earlier_than_it_keeps_for_its_last_draw() -> None:
    """Onion for 100 and 180 keeps 100 minutes: from 80 on, so that leek makes way for it in a new attempt.

    Where its cook leaves at 75, the last draw is at 175.
    """
    onion = load("onion", hands(20), serves=(Serves("stew", 0, Keeps("h", 100)), Serves("soup", 0, Keeps("h", 100))))
    stew, soup = load("stew", hands(10, "line"), due=110), load("soup", hands(10, "line"), due=190)
    open_late = problem(onion, stew, soup, load("leek", hands(25), due=100), shifts=(shift("Early", 0, 400),))
    assert starts(open_late) == {"soup": 180, "stew": 100, "leek": 55, "onion": 80}
    assert starts(problem(onion, stew, soup, shifts=(shift("Early", 20, 75),))) == {"soup": 175, "stew": 100, "onion": 55}


def test_a_step_does_not_draw_so_early_that_its_supply_would_not_keep_for_the_others() -> None:
    """Dough keeps an hour. Rolls for 300 are placed first; the oven would have bread at 100, but then no dough keeps for both."""
    dough = load("dough", hands(5), serves=(Serves("rolls", 0, Keeps("h", 60)), Serves("bread", 0, Keeps("h", 60))))
    rolls = load("rolls", resting(50, "oven"), due=300)
    bread = load("bread", resting(50, "oven"), due=290)
    placed = schedule(problem(dough, rolls, bread, equipment=(Equipment("oven", 1, 0),))).place
    assert (placed["rolls"].starts, placed["bread"].starts, placed["dough"].ready) == ((250,), (200,), 200)
    short = replace(dough, serves=tuple(serves._replace(keeps=Keeps("h", 40)) for serves in dough.serves))
    answer = schedule(problem(short, rolls, bread, equipment=(Equipment("oven", 1, 0),)))
    assert [conflict.load for conflict in answer.left_out] == ["bread"]
    assert answer.place["dough"].ready == 250


def test_nothing_begins_before_the_release() -> None:
    asked = problem(load("soup", hands(30), due=100), load("mash", hands(30), due=100), shifts=(EARLY,), release=50)
    answer = schedule(asked)
    assert (list(answer.place), [conflict.load for conflict in answer.left_out]) == (["mash"], ["soup"])


def test_k10_a_cook_stays_with_a_load_else_the_one_of_fewest_stations_has_it() -> None:
    all_round = shift("All round", 0, 400, stations=("veg", "line"))
    asked = problem(load("soup", hands(10, "line"), hands(10, "veg"), due=100), shifts=(all_round, shift("Veg", 0, 400)))
    assert [piece.cook for piece in schedule(asked).place["soup"].hands] == [Cook("All round", 1), Cook("All round", 1)]
    asked = problem(load("peas", hands(10, "veg"), due=100), shifts=(all_round, shift("Veg", 0, 400)))
    assert [piece.cook for piece in schedule(asked).place["peas"].hands] == [Cook("Veg", 1)]


def test_k10_of_free_machines_the_one_wanted_soonest_afterwards_is_taken() -> None:
    oven = Equipment("oven", 2, 0)
    asked = problem(
        load("a", resting(100, "oven"), due=400),
        load("b", resting(140, "oven"), due=390),
        load("c", resting(20, "oven"), due=250),
        equipment=(oven,),
    )
    assert {placed.load: placed.stays[0].number for placed in schedule(asked).placed} == {"a": 1, "b": 2, "c": 2}


def test_k7_between_two_stays_of_one_load_there_is_no_turn_round_to_wait_for() -> None:
    kettle = Equipment("kettle", 1, 30)
    asked = problem(load("soup", resting(20, "kettle"), hands(5, "line"), resting(20, "kettle"), due=100), equipment=(kettle,))
    assert [(stay.starts, stay.ends, stay.number) for stay in schedule(asked).place["soup"].stays] == [(55, 75, 1), (80, 100, 1)]


def test_k11_what_was_left_out_is_placed_first_in_a_new_attempt() -> None:
    """Mash is first by order and takes the only hour in which soup could be made."""
    asked = problem(
        load("mash", hands(60), due=160),
        load("soup", hands(60), due=160, not_ready_before=150),
        shifts=(shift("Early", 0, 160),),
    )
    answer = schedule(asked)
    assert (answer.left_out, answer.attempts) == ((), 2)
    assert starts(asked) == {"mash": 40, "soup": 100}


def test_k11_attempts_end_with_twelve_and_the_first_of_those_that_leave_out_fewest_counts() -> None:
    asked = problem(load("mash", hands(60), due=60), load("soup", hands(60), due=60), shifts=(shift("Early", 0, 60),), release=0)
    answer = schedule(asked)
    assert (list(answer.place), answer.attempts) == (["mash"], 12)


@pytest.mark.parametrize(("placed", "attempts"), [(1, 1), (2, 1), (7, 3), (8, 4), (10, 5), (23, 11), (24, 12), (1000, 12)])
def test_all_attempts_place_no_more_loads_than_they_may(placed: int, attempts: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "PLACED", placed)
    asked = problem(load("mash", hands(60), due=60), load("soup", hands(60), due=60), shifts=(shift("Early", 0, 60),), release=0)
    assert schedule(asked).attempts == attempts


def test_of_833_loads_there_are_all_attempts() -> None:
    assert engine.PLACED // sum(most for _, most in engine.ORDERS) == 833


def test_a_supply_that_hours_leave_no_place_gets_its_consumer_with_shorter_rests() -> None:
    """Dough rests 8 h at best, 4 h at least. Flour is weighed from 360 to 420 only and keeps an hour."""
    dough = load("dough", LoadStep(active=0, rest=Rest(240, 480, 600), station="line"), hands(10, "line"), due=730)
    flour = load("flour", hands(20), serves=(Serves("dough", 0, Keeps("h", 60)),))
    asked = problem(dough, flour, shifts=(shift("Early", 360, 420),), release=0)
    answer = schedule(asked)
    assert answer.left_out == ()
    assert answer.place["dough"].starts == (480, 720)
    assert answer.place["flour"].ready == 420


def test_a_supply_that_hours_leave_no_place_is_drawn_on_while_it_keeps() -> None:
    """Stock is made until 200 and keeps 100 minutes; soup for 500 draws on it by 300."""
    asked = problem(
        load("stock", hands(20), serves=(Serves("soup", 0, Keeps("h", 100)),)),
        load("soup", hands(20, "line"), due=500),
        shifts=(shift("Early", 0, 200),),
        release=0,
    )
    assert starts(asked) == {"stock": 180, "soup": 300}


def test_each_of_those_that_draw_on_a_supply_draws_while_it_keeps() -> None:
    """Stock is made until 100 and keeps an hour; those who would draw on it at 300, 400 and 500 draw by 160."""
    users = [load(name, hands(20, "line"), due=due) for name, due in (("soup", 320), ("stew", 420), ("roast", 520))]
    stock = load("stock", hands(20), serves=tuple(Serves(user.id, 0, Keeps("h", 60)) for user in users))
    asked = problem(stock, *users, shifts=(shift("Early", 0, 100),), release=0)
    assert starts(asked) == {"stock": 80, "soup": 160, "stew": 160, "roast": 160}


def test_what_is_left_out_once_is_placed_earlier_and_nothing_is_eased_for_it() -> None:
    """Peas take the cook's only minutes in which flour would keep. Placed first, flour has them, and the dough rests as before."""
    dough = load("dough", LoadStep(active=0, rest=Rest(20, 100, 200), station="line"), hands(10, "line"), due=410)
    flour = load("flour", hands(20), serves=(Serves("dough", 0, Keeps("h", 5)),))
    peas = load("peas", hands(30), due=310)
    answer = schedule(problem(dough, flour, peas, shifts=(shift("Early", 0, 330),), release=0))
    assert (answer.left_out, answer.attempts) == ((), 2)
    assert answer.place["dough"].starts == (300, 400)
    assert answer.place["peas"].ready == 280


def test_after_four_attempts_what_is_due_first_is_placed_first() -> None:
    answer = schedule(day(186))
    assert answer.left_out == ()
    assert answer.attempts > 4


def test_no_place_is_looked_for_more_than_14_days_before_a_load_is_due() -> None:
    soup = load("soup", hands(10), due=14 * DAY + 10)
    assert starts(problem(soup, shifts=(shift("Once", 0, 20),))) == {"soup": 10}
    assert schedule(problem(replace(soup, due=14 * DAY + 11), shifts=(shift("Once", 0, 10),))).place == {}


def test_a_step_does_not_draw_so_early_that_its_supply_would_not_keep_for_guests() -> None:
    """Guests have sauce at 300 and it keeps 100 minutes; the cook of the pasta goes home at 150."""
    sauce = load("sauce", hands(10), due=300, not_ready_before=200, serves=(Serves("pasta", 0, Keeps("h", 100)),))
    pasta = load("pasta", hands(10, "line"), due=290)
    answer = schedule(problem(sauce, pasta, shifts=(EARLY, shift("Line", 0, 150, stations=("line",)))))
    assert [conflict.load for conflict in answer.left_out] == ["pasta"]
    assert answer.place["sauce"].ready >= 200


def test_a_load_takes_at_most_one_machine_of_shared_equipment() -> None:
    prover = Equipment("prover", 2, 0, shared=True)
    large = resting(60, "prover", share=1_500_000)
    assert starts(problem(load("a", large, due=100), load("b", large, due=100), equipment=(prover,))) == {"a": 40, "b": 40}


def test_k14_held_is_from_ready_to_the_first_use_by_whomever() -> None:
    asked = problem(
        load("stock", hands(20), due=250, serves=(Serves("soup", 0), Serves("stew", 0))),
        load("soup", hands(10), due=300),
        load("stew", hands(10), due=280),
        shifts=(shift("Early", 0, 200),),
        release=0,
    )
    assert {placed.load: placed.held for placed in schedule(asked).placed} == {"soup": 100, "stew": 90, "stock": 0}


def test_work_under_way_keeps_its_place_its_cook_and_its_machine() -> None:
    oven = Equipment("oven", 1, 10)
    asked = problem(
        load("pie", hands(10, equipment="oven"), resting(40, "oven"), due=80, begun=(60, 70)),
        load("tart", hands(10, equipment="oven"), resting(40, "oven"), due=200),
        load("gravy", hands(10), due=175, serves=()),
        shifts=(EARLY,),
        equipment=(oven,),
        release=60,
    )
    placed = schedule(asked).place
    assert (placed["pie"].starts, placed["pie"].ready, placed["pie"].stays[0].number, placed["pie"].slack) == ((60, 70), 110, 1, 0)
    assert placed["tart"].starts == (150, 160)
    assert placed["tart"].slack == 30
    assert placed["gravy"].starts == (165,)


def test_work_under_way_that_nobody_could_do_takes_nobody() -> None:
    asked = problem(load("pie", hands(10), due=900, begun=(800,)), shifts=(EARLY,), release=800)
    (piece,) = schedule(asked).place["pie"].hands
    assert piece.cook is None


def test_what_draws_on_work_under_way_waits_for_it_and_uses_it_while_it_keeps() -> None:
    sauce = load("sauce", hands(30), begun=(50,), serves=(Serves("pasta", 0, Keeps("h", 60)),))
    assert starts(problem(sauce, load("pasta", hands(10, "line"), due=400), release=50))["pasta"] == 140
    late = schedule(problem(sauce, load("pasta", hands(10, "line"), due=85), release=50))
    assert [conflict.load for conflict in late.left_out] == ["pasta"]


def test_what_is_on_shelves_bounds_when_a_step_begins() -> None:
    assert starts(problem(load("soup", hands(10, not_after=40), due=100))) == {"soup": 40}
    assert schedule(problem(load("soup", hands(10, not_before=95), due=100))).place == {}


def test_k15_slack_keeps_the_scheduled_draw_of_what_keeps_days() -> None:
    """Onion keeps to the end of its date: it could not be ready on the date before, though the cook was there."""
    asked = problem(
        load("onion", hands(20), serves=(Serves("soup", 0, Keeps("d", 0)),)),
        load("soup", hands(10, "line"), due=100),
        shifts=(shift("Early", -300, 400),),
        release=-DAY,
    )
    assert {placed.load: placed.slack for placed in schedule(asked).placed} == {"onion": 90, "soup": 90}


def test_equal_problems_have_equal_schedules() -> None:
    loads = [load(name, hands(30), due=100) for name in ("soup", "mash", "peas")]
    one, other = problem(*loads, shifts=(EARLY,)), problem(*reversed(loads), shifts=(EARLY,))
    assert schedule(one).place == schedule(other).place
