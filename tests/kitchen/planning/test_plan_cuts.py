"""Whole pieces and cuts in a plan: rules Y2, Y6, Y7 and the part of P5 on cuts."""

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.book.item import Item
from service.kitchen.measures.calendar import UseBy
from service.kitchen.planning.demand import Need
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.runs import Run
from service.kitchen.planning.stock import Lot
from tests.kitchen.larder import THU, TUE, WED, Document, at, form, ingredient, item, kitchen, near, site
from tests.kitchen.plans import drawn, list_of, lot, only_run, plan_needs, pulls_of, runs_of, tasks_of, uses_of, wanted

YOLK, WHITE = item("egg/yolk"), item("egg/white")


def eggs(yolk: Document | None = None, white: Document | None = None) -> Catalogue:
    """Eggs of 60 g whose yolk (0.30) and white (0.55) come out of the same shells; the rest is shell."""
    return kitchen(
        ingredient(
            "egg",
            form("yolk", "0.30", cut="separated", **(yolk or {})),
            form("white", "0.55", cut="separated", whole=True, **(white or {})),
            piece="1 each",
            equivalents=["1 each = 60 g"],
        )
    )


def made(run: Run) -> dict[Item, tuple[float, float]]:
    """Quantity and surplus of every form of a run."""
    return {output.item: (output.quantity, output.surplus) for output in run.outputs}


def lots_of(planned: Plan, wanted_item: Item) -> list[Lot]:
    return [each for each in planned.lots if each.item == wanted_item]


def test_y6_a_form_that_draws_whole_pieces_is_rounded_up_to_them() -> None:
    # 14 kg EP leg at 0.62 from pieces of 2.9 kg: 22.5806 kg AP = 7.79 pieces, so 8: 23.2 kg AP and 23.2 × 0.62 = 14.384 kg EP.
    leg = ingredient("leg", form("boned", "0.62", whole=True, keeps="P2D"), piece="2.9 kg")
    planned = plan_needs(kitchen(leg), [wanted("leg/boned", 14_000, TUE, "12:00")])
    run = only_run(planned, "leg/boned")
    assert drawn(run, "leg") == near(23_200)
    assert made(run) == {item("leg/boned"): (near(14_384), near(384))}
    (over,) = planned.lots
    assert (over.item, over.amount, over.ready) == (item("leg/boned"), near(384), at(TUE, "12:00"))
    assert over.use_by == UseBy(site().calendar().end(THU), included=False)


def test_y6_whole_pieces_are_counted_once_over_the_run_and_not_for_each_need() -> None:
    # Two needs of 0.9 kg EP at 0.5 take 3.6 kg AP: two pieces of 2 kg, not one and one and a bit.
    leg = ingredient("leg", form("boned", "0.5", whole=True), piece="2 kg")
    planned = plan_needs(kitchen(leg), [wanted("leg/boned", 900, TUE, "12:00"), wanted("leg/boned", 900, TUE, "18:00")])
    assert drawn(only_run(planned, "leg/boned"), "leg") == near(4000)


def test_y6_a_need_of_exactly_whole_pieces_takes_no_further_one() -> None:
    # 3 pieces of 2.9 kg at 0.62 give 5.394 kg.
    leg = ingredient("leg", form("boned", "0.62", whole=True), piece="2.9 kg")
    run = only_run(plan_needs(kitchen(leg), [wanted("leg/boned", 5394, TUE, "12:00")]), "leg/boned")
    assert drawn(run, "leg") == near(8700)
    assert run.main.surplus == 0


def test_y6_a_hair_over_whole_pieces_takes_no_further_one() -> None:
    # 5,394 g and a millionth are 3.0000000006 pieces, which are 3 by S3.
    leg = ingredient("leg", form("boned", "0.62", whole=True), piece="2.9 kg")
    run = only_run(plan_needs(kitchen(leg), [wanted("leg/boned", 5394.000001, TUE, "12:00")]), "leg/boned")
    assert drawn(run, "leg") == near(8700)


def test_y6_a_form_not_marked_whole_draws_what_it_needs() -> None:
    leg = ingredient("leg", form("boned", "0.62"), piece="2.9 kg")
    assert drawn(only_run(plan_needs(kitchen(leg), [wanted("leg/boned", 6200, TUE, "12:00")]), "leg/boned"), "leg") == near(10_000)


def test_y7_one_run_serves_the_forms_of_a_cut_by_the_largest_need_of_ap() -> None:
    # 1.08 kg yolk ÷ 0.30 = 3600 g and 2.97 kg white ÷ 0.55 = 5400 g: 5400 g AP are 90 eggs, which give 1620 g yolk, 540 g over.
    planned = plan_needs(eggs(), [wanted("egg/yolk", 1080, TUE, "12:00"), wanted("egg/white", 2970, TUE, "12:00")])
    run = only_run(planned, "egg/yolk")
    assert drawn(run, "egg") == near(5400)
    assert made(run) == {YOLK: (near(1620), near(540)), WHITE: (near(2970), 0)}
    (over,) = planned.lots
    assert (over.item, over.amount) == (YOLK, near(540))
    # The pull is in grams, the eggs' stock kind: 90 eggs of 60 g.
    assert pulls_of(planned, "egg")[0].amount / 60 == near(90)


def test_y7_pieces_are_whole_if_any_form_of_the_cut_is() -> None:
    # 1 kg yolk ÷ 0.30 = 3333.3 g = 55.6 eggs: 56 eggs, 3360 g, although only the white is marked whole.
    run = only_run(plan_needs(eggs(), [wanted("egg/yolk", 1000, TUE, "12:00")]), "egg/yolk")
    assert drawn(run, "egg") == near(3360)


def test_y7_a_form_nobody_needs_is_wholly_a_lot() -> None:
    # 5400 g AP for the white alone give 1620 g yolk.
    planned = plan_needs(eggs(), [wanted("egg/white", 2970, TUE, "12:00")])
    run = only_run(planned, "egg/yolk")
    assert made(run)[YOLK] == (near(1620), near(1620))
    assert [(each.item, each.amount) for each in planned.lots] == [(YOLK, near(1620))]


def test_y7_all_forms_of_the_cut_count_and_forms_outside_it_do_not() -> None:
    egg = ingredient("egg", form("yolk", "0.3", cut="separated"), form("boiled"), form("white", "0.55", cut="separated"))
    planned = plan_needs(kitchen(egg), [wanted("egg/white", 550, TUE, "12:00"), wanted("egg/boiled", 100, TUE, "12:00")])
    assert [output.item.form for output in only_run(planned, "egg/yolk").outputs] == ["yolk", "white"]
    assert drawn(only_run(planned, "egg/boiled"), "egg") == near(100)


def test_y7_the_lead_of_a_cut_is_the_longest_and_its_station_that_of_the_first_form() -> None:
    bird = ingredient(
        "hen",
        form("breast", "0.3", cut="jointed", station="butchery", lead="PT1H"),
        form("thigh", "0.25", cut="jointed", station="hot-line", lead="PT3H"),
    )
    run = only_run(plan_needs(kitchen(bird), [wanted("hen/breast", 300, TUE, "12:00")]), "hen/breast")
    (stage,) = run.stages
    assert (stage.station, stage.starts, stage.ready) == ("butchery", at(TUE, "09:00"), at(TUE, "12:00"))
    assert [draw.at for draw in run.draws] == [at(TUE, "09:00")]


def test_y2_by_products_of_every_form_of_a_cut_are_fractions_of_the_ap_drawn() -> None:
    # 1000 g AP: 0.2 bones by the breast, 0.1 by the thigh, and 0.05 skin: 300 g and 50 g.
    bird = ingredient(
        "hen",
        form("breast", "0.3", cut="jointed", gives={"bones": "0.2"}),
        form("thigh", "0.25", cut="jointed", gives={"bones": "0.1", "skin": "0.05"}),
    )
    planned = plan_needs(kitchen(bird, ingredient("bones"), ingredient("skin")), [wanted("hen/breast", 300, TUE, "12:00")])
    assert sum(each.amount for each in lots_of(planned, item("bones"))) == near(300)
    assert [each.amount for each in lots_of(planned, item("skin"))] == [near(50)]


def test_p5_needs_of_all_forms_join_in_time_order_each_forms_own_lots_first() -> None:
    # White at 10:00 opens the run. The yolk of 12:00 finds 300 g on hand and asks the run for 60 g.
    planned = plan_needs(
        eggs(),
        [wanted("egg/yolk", 360, TUE, "12:00"), wanted("egg/white", 330, TUE, "10:00")],
        [lot("egg/yolk", 300)],
    )
    run = only_run(planned, "egg/yolk")
    assert run.at == at(TUE, "10:00")
    # 330 ÷ 0.55 = 600 g against 60 ÷ 0.3 = 200 g: 10 eggs, 180 g yolk, 120 g of it over.
    assert made(run) == {YOLK: (near(180), near(120)), WHITE: (near(330), 0)}
    yolk = run.output(YOLK)
    assert (yolk.need, yolk.have) == (360, 300)
    assert [use.amount for use in uses_of(planned, "egg/yolk")] == [300]


def test_p5_makes_for_is_that_of_the_needs_own_form() -> None:
    # White is made for two dates, yolk for one: Wednesday's white is inside Tuesday's run, Wednesday's yolk closes it.
    catalogue = eggs({"keeps": "P3D", "makes_for": 1}, {"keeps": "P3D", "makes_for": 2})

    def dates(*needs: Need) -> list[object]:
        return [run.on for run in runs_of(plan_needs(catalogue, needs), "egg/yolk")]

    assert dates(wanted("egg/white", 330, TUE, "10:00"), wanted("egg/white", 330, WED, "10:00")) == [TUE]
    assert dates(wanted("egg/yolk", 180, TUE, "10:00"), wanted("egg/yolk", 180, WED, "10:00")) == [TUE, WED]
    # 180 g of yolk are ten eggs, which give 330 g of white; Wednesday's 660 g of white join them, whichever form opened the run.
    assert dates(wanted("egg/yolk", 180, TUE, "10:00"), wanted("egg/white", 660, WED, "10:00")) == [TUE]
    # 330 g of white are ten eggs too, with 180 g of yolk; Wednesday's 360 g of yolk find those 180 g, and a run of their own.
    assert dates(wanted("egg/white", 330, TUE, "10:00"), wanted("egg/yolk", 360, WED, "10:00")) == [TUE, WED]


def test_p5_the_first_need_outside_its_own_use_by_closes_the_run_for_all_forms() -> None:
    # Yolk keeps 2 h. The yolk of 13:00 is past it: the run of 10:00 closes, and the white of 14:00 joins the second run.
    catalogue = eggs({"keeps": "PT2H"}, {"keeps": "P1D"})
    planned = plan_needs(
        catalogue,
        [wanted("egg/yolk", 180, TUE, "10:00"), wanted("egg/yolk", 180, TUE, "13:00"), wanted("egg/white", 660, TUE, "14:00")],
    )
    first, second = runs_of(planned, "egg/yolk")
    assert (first.at, second.at) == (at(TUE, "10:00"), at(TUE, "13:00"))
    # The first run of 10 eggs leaves 330 g white, a lot for the 660 g of 14:00; the second makes the other 330 g.
    assert second.output(WHITE).have == near(330)
    assert second.output(WHITE).quantity == near(330)


def test_p5_a_need_past_the_use_by_of_another_form_is_still_inside() -> None:
    # Yolk keeps 2 h and white a day: the white of 16:00 is inside the run of 10:00, though its yolk is past use by then.
    catalogue = eggs({"keeps": "PT2H"}, {"keeps": "P1D"})
    planned = plan_needs(catalogue, [wanted("egg/yolk", 180, TUE, "10:00"), wanted("egg/white", 660, TUE, "16:00")])
    assert [run.at for run in runs_of(planned, "egg/yolk")] == [at(TUE, "10:00")]
    # 660 ÷ 0.55 = 1200 g: twenty eggs.
    assert drawn(only_run(planned, "egg/yolk"), "egg") == near(1200)


def test_p5_what_a_form_gets_beyond_its_need_keeps_as_that_form_does() -> None:
    catalogue = eggs({"keeps": "PT2H"}, {"keeps": "P1D"})
    planned = plan_needs(catalogue, [wanted("egg/white", 330, TUE, "10:00")])
    (yolk,) = lots_of(planned, YOLK)
    assert yolk.use_by == UseBy(at(TUE, "12:00"), included=True)


def test_p8_a_cuts_run_is_one_task_named_by_its_first_form_and_gives_tells_every_form() -> None:
    catalogue = eggs()
    planned = plan_needs(catalogue, [wanted("egg/white", 2970, TUE, "12:00")])
    (task,) = tasks_of(list_of(planned, kitchen(*catalogue.ingredients.values())))
    assert task["item"] == {"ingredient": "egg", "form": "yolk", "title": "Egg, yolk"}
    assert task["id"] == "prep.mill-street.egg.yolk.2026-12-01T1200.1"
    assert [(row["item"]["form"], row["need"]["amount"], row["quantity"]["amount"], row["surplus"]["amount"]) for row in task["gives"]] == [
        ("yolk", 0, near(1620), near(1620)),
        ("white", 2970, near(2970), 0),
    ]
    # The task itself has the numbers of its first form.
    assert (task["need"]["amount"], task["surplus"]["amount"]) == (0, near(1620))
