"""Plans of one catalogue one after the other: what it keeps between them changes none (P12, S3)."""

from datetime import date, timedelta

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.lists.scaling import Scaler
from service.kitchen.planning.demand import Demand, Need
from service.kitchen.planning.plan import Plan, plan
from tests.kitchen.larder import MON, SITE, TUE, ingredient, kitchen, line, near, recipe, site, step
from tests.kitchen.plans import drawn, only_run, wanted

ELSEWHERE = "harbour"


def planned_at(catalogue: Catalogue, code: str, need: Need, first: date = TUE) -> Plan:
    """The plan of one of a catalogue's sites for one need."""
    return plan(catalogue, catalogue.sites[code], Demand((need,), (), {}), (), first, first + timedelta(days=7))


def pulled(planned: Plan) -> dict[str, float]:
    """How much is pulled of each ingredient."""
    return {pull.item.code: pull.amount for pull in planned.pulls}


def test_p7_and_s5_a_scaling_of_today_hides_no_version_that_late_work_goes_by() -> None:
    # Scaled on Tuesday, bread takes the wheat of today's dough; Tuesday's own was mixed on Sunday, of rye.
    bread = recipe("bread", "1 each", line("recipe dough", "1 kg"), steps=[step(None, "P2D")])
    catalogue = kitchen(
        ingredient("rye"),
        ingredient("wheat"),
        recipe("dough", "1 kg", line("rye", "600 g")),
        recipe("dough", "1 kg", line("wheat", "600 g"), number=2, starts_on=MON),
        bread,
    )
    assert pulled(Scaler(catalogue, catalogue.sites[SITE], bread, TUE).run_to(1)) == {"wheat": near(600)}
    assert pulled(planned_at(catalogue, SITE, wanted("recipe bread", 1, TUE, "12:00"))) == {"rye": near(600)}


def test_p12_a_plan_of_another_site_hides_no_line_of_a_pilot() -> None:
    catalogue = kitchen(
        ingredient("lentil"),
        ingredient("rice"),
        recipe("soup", "1 L", line("lentil", "200 g")),
        recipe("soup", "1 L", line("rice", "300 g"), number=2, starts_on=TUE, sites=[SITE]),
        site(),
        site(ELSEWHERE),
    )
    need = wanted("recipe soup", 1000, TUE, "12:00")
    assert [pulled(planned_at(catalogue, code, need)) for code in (ELSEWHERE, SITE)] == [{"lentil": near(200)}, {"rice": near(300)}]


def test_p12_each_site_converts_lines_by_its_own_version_and_each_date_by_that_dates() -> None:
    # A portion of sauce is 50 mL, 60 mL where the pilot is tried, and 80 mL everywhere from Wednesday on.
    catalogue = kitchen(
        recipe("sauce", "5 L", portion="50 mL"),
        recipe("sauce", "5 L", portion="60 mL", number=2, starts_on=MON, sites=[SITE]),
        recipe("sauce", "5 L", portion="80 mL", number=3, starts_on=TUE + timedelta(days=1)),
        recipe("plate", "10 each", line("recipe sauce", "10 portion")),
        site(),
        site(ELSEWHERE),
    )
    amounts = [
        drawn(only_run(planned_at(catalogue, code, wanted("recipe plate", 10, on, "12:00")), "recipe plate"), "recipe sauce")
        for code in (ELSEWHERE, SITE)
        for on in (TUE, TUE + timedelta(days=1))
    ]
    assert amounts == [near(500), near(800), near(600), near(800)]


def test_s3_each_site_cooks_in_its_own_vessel() -> None:
    # 60 L are three kettles of 20 L here and two of 30 L there.
    catalogue = kitchen(
        recipe("soup", "20 L", batch={"largest": "60 L"}),
        site(vessels={"soup": "20 L"}),
        site(ELSEWHERE, vessels={"soup": "30 L"}),
    )
    need = wanted("recipe soup", 60_000, TUE, "12:00")
    runs = [only_run(planned_at(catalogue, code, need), "recipe soup") for code in (SITE, ELSEWHERE)]
    assert [[batch.count for batch, _ in run.batches] for run in runs] == [[3], [2]]
