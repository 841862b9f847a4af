"""Fixed work as documents: what is frozen, stored and read again is the same run or pull (P15 a)."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.explained.shares import Shares
from service.kitchen.lists.frozen import freeze_pull, freeze_run, thaw_pull, thaw_run
from service.kitchen.lists.keeping import Keeping
from service.kitchen.lists.tasks import run_task
from service.kitchen.lists.telling import Telling
from service.kitchen.lists.timing import Timing
from service.kitchen.lists.wording import Words
from service.kitchen.planning.plan import Plan
from service.kitchen.planning.runs import Run
from service.kitchen.safety.allergens import Allergens, Rollup
from tests.kitchen.larder import (
    SITE,
    TUE,
    WED,
    at,
    form,
    ingredient,
    kitchen,
    line,
    menu_item,
    near,
    only_site,
    par,
    recipe,
    safety,
    site,
    step,
    with_things,
)
from tests.kitchen.plans import counted, forecast, only_run, plan_forecasts, pulled_for, pulls_of, runs_of, shares_of
from tests.kitchen.reports import stored


def full() -> Catalogue:
    """A kitchen in which a run has everything that a run can have: cuts, by-products, pars, batches, windows, seasonings, allergens."""
    window = {"min": "PT1H", "target": "PT2H", "max": "PT3H"}
    return kitchen(
        site(pars=[par("recipe brine", "1 L", "09:00")], station_map={"cold-line": "veg"}),
        ingredient("bones"),
        ingredient("salt", equivalents=["1 tbsp = 18 g"]),
        ingredient("cod", thaw="P1D", contains=["fish:cod"], may_contain=["crustacean"]),
        ingredient(
            "bird",
            form("breast", "1/3", cut="bird", gives={"bones": "0.2"}, lead="PT30M"),
            form("leg", "0.4", cut="bird", whole=True),
            piece="1.7 kg",
            may_contain=["milk"],
        ),
        recipe("brine", "3 L", line("salt", "2 tbsp", critical=True), keeps="P3D", steps=[step("PT5M", window)]),
        recipe(
            "pie",
            "20 each",
            line("bird/breast", "1 kg", 1),
            line("bird/leg", "1 1/3 kg", 2),
            line("recipe brine", "500 mL", 2, {"rule": "power", "exponent": "0.7"}),
            line("cod", "700 g", 2),
            line("cod", "1/3 kg", 1),
            steps=[
                step("PT1H", window, safety=safety("cook", "poultry")),
                step("PT10M", "PT20H"),
                step("PT15M", station="cold-line"),
            ],
            batch={"largest": "24 each"},
            gives={"bones": "50 g"},
            keeps="PT30H",
        ),
        menu_item("slice", ("pie", "1 each", "0.7")),
    )


FULL = full()


def plan_full(catalogue: Catalogue = FULL) -> Plan:
    stock = [counted("recipe brine", "1 L", at(TUE, "06:00"), TUE), counted("recipe pie", "7 each", at(TUE, "06:00"), TUE)]
    return plan_forecasts(catalogue, [forecast(WED, "slice", 77), forecast(TUE, "slice", 3, "dinner")], stock, on=WED)


def frozen(run: Run, catalogue: Catalogue = FULL) -> dict[str, Any]:
    return freeze_run(run, Rollup(catalogue, SITE).of_run(run), shares_of(run))


def thawed(run: Run, catalogue: Catalogue = FULL) -> Run:
    return thaw_run(stored(frozen(run)), catalogue, run.id)


def everything(run: Run) -> Iterable[Any]:
    """All that a run is, but the needs and lots behind it."""
    yield from (
        run.item,
        run.on,
        run.at,
        run.id,
        run.outputs,
        run.stages,
        run.version,
        run.batches,
        run.draws,
        run.gives,
        run.pars,
    )


def test_p15_a_run_that_was_stored_is_the_same_run() -> None:
    runs = plan_full().runs
    assert {run.item.label for run in runs} == {"brine", "pie", "bird/breast"}
    for run in runs:
        assert list(everything(thawed(run))) == list(everything(run)), run.item


def test_p15_freezing_what_was_thawed_gives_the_same_document() -> None:
    for run in plan_full().runs:
        document = frozen(run)
        assert freeze_run(thawed(run), Allergens(*thawed(run).allergens or ()), shares_of(thawed(run))) == document
        assert frozen(thawed(run)) == document


def test_p15_a_task_reads_the_same_after_its_run_was_stored() -> None:
    place = only_site(FULL)
    for system in ("metric", "us"):
        planned = plan_full()
        words, rollup = Words(catalogue=FULL, site=place, calendar=place.calendar(), system=system), Rollup(FULL, SITE)
        for run in planned.runs:
            for stage, again in zip(run.stages, thawed(run).stages, strict=True):
                now, later = (
                    Telling(
                        words=words,
                        rollup=rollup,
                        first=TUE,
                        trace=True,
                        shares=Shares(planned),
                        keeping=Keeping(FULL),
                        timing=Timing(planned),
                    )
                    for _ in range(2)
                )
                assert run_task(thawed(run), again, later).document == run_task(run, stage, now).document


def test_p15_a_stored_run_is_read_by_the_version_that_it_was_cooked_by() -> None:
    run = only_run(plan_full(), "recipe pie")
    newer = with_things(FULL, recipe("pie", "10 each", line("cod", "1 kg"), number=2, starts_on=TUE))
    again = thawed(run, newer)
    assert again.version == run.version
    assert [draw.line for draw in again.draws] == [draw.line for draw in run.draws]


def test_p15_a_stored_run_knows_whom_it_feeds() -> None:
    planned = plan_full()
    pie = only_run(planned, "recipe pie")
    brines = [thawed(run) for run in runs_of(planned, "recipe brine")]
    assert {need.drawn_by for brine in brines for need, _ in brine.fed if need.drawn_by is not None} == {pie.key}
    fed = [(need.outlet, need.at, amount) for need, amount in thawed(pie).fed]
    # 77 × 0.7 are 53.9, 54 pies, less the 7 counted and 3 × 0.7, so 3, eaten on Tuesday.
    assert [(outlet.menu_item, outlet.on, when, amount) for outlet, when, amount in fed if outlet] == [
        ("slice", WED, at(WED, "12:00"), near(50))
    ]


def test_p15_a_stored_pull_is_the_same_pull() -> None:
    pulls = plan_full().pulls
    assert {pull.item.label for pull in pulls} == {"salt", "cod", "bird"}
    assert [thaw_pull(stored(freeze_pull(pull, shares_of(pull))), pull.id) for pull in pulls] == [
        replace(pull, shares=tuple(pulled_for(pull)), stations=shares_of(pull).stations_of_pull(pull)) for pull in pulls
    ]
    old = {key: value for key, value in stored(freeze_pull(pulls[0], shares_of(pulls[0]))).items() if key != "stations"}
    assert thaw_pull(old, pulls[0].id).stations == ()
    (cod,) = pulls_of(plan_full(), "cod")
    # As long as no hours were known, how long a pull thaws lay between start and need.
    before_hours = {key: value for key, value in stored(freeze_pull(cod, shares_of(cod))).items() if key != "thaw"}
    assert thaw_pull(before_hours, cod.id).thaw == cod.thaw == at(WED, "12:00") - at(TUE, "12:00")
    assert cod.at - cod.starts == at(WED, "12:00") - at(TUE, "12:00")
