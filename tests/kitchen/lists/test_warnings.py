"""What the reader of a list must know beside what it asks for (P7, P15 e)."""

from collections.abc import Iterable
from datetime import date
from typing import Any

import pytest

from service.kitchen.book.catalogue import Catalogue
from service.kitchen.planning.counted import Counted
from service.kitchen.planning.reported import AS_PRINTED, Report
from tests.kitchen.larder import MON, THU, TUE, WED, Document, at, form, ingredient, kitchen, line, menu_item, recipe, safety, site, step
from tests.kitchen.plans import counted, forecast, list_of, plan_forecasts, pulls_of, tasks_of
from tests.kitchen.prices import pack
from tests.kitchen.reports import fixed_pull, plan_after, said

BRAISE = recipe("braise", "10 kg", line("meat", "10 kg"), steps=[step("PT20M", {"min": "PT2H", "target": "PT3H", "max": "PT4H"})])
PULL = "pull.mill-street.meat.2026-12-02T0840"


def braises(thaw: str | None = None) -> Catalogue:
    """Meat that is braised from 08:40 to noon."""
    return kitchen(ingredient("meat", thaw=thaw, name="Beef shin"), BRAISE, menu_item("plate", ("braise", "100 g")))


def codes(document: Document) -> list[str]:
    return [warning["code"] for warning in document["warnings"]]


def entries(document: Document) -> list[Document]:
    return [*tasks_of(document), *document["pulls"]]


class TestOverdue:
    """P7: what should have begun by the quarter hour now begun."""

    def test_p7_on_no_list_but_the_current_one_anything_is_overdue(self) -> None:
        document = list_of(plan_forecasts(braises(), [forecast(TUE, "plate", 30)]), braises())
        assert [entry["overdue"] for entry in entries(document)] == [False, False]
        assert codes(document) == []

    def test_p7_what_is_overdue_names_the_portions_at_risk_and_is_counted(self) -> None:
        document = list_of(plan_forecasts(braises(), [forecast(TUE, "plate", 30)]), braises(), quarter=at(TUE, "09:00"))
        for entry in entries(document):
            assert (entry["late"], entry["overdue"]) == (False, True)
            assert [row["portions"] for row in entry["at_risk"]] == [30]
        overdue = {warning["code"]: warning for warning in document["warnings"]}
        assert overdue["overdue"]["count"] == 2
        assert overdue["overdue"]["detail"] == "2 entries should have begun by 09:00; each says which portions hang on it"
        # The pull has no rest to cut short, the braise an hour of it.
        assert overdue["last_start_over"]["count"] == 1

    def test_p7_what_starts_as_the_quarter_begins_is_not_overdue_yet(self) -> None:
        quick = kitchen(recipe("braise", "10 kg", steps=[step("PT30M")]), menu_item("plate", ("braise", "100 g")))
        planned = plan_forecasts(quick, [forecast(TUE, "plate", 30)])
        assert [tasks_of(list_of(planned, quick, quarter=at(TUE, clock)))[0]["overdue"] for clock in ("11:30", "11:45")] == [False, True]

    @pytest.mark.parametrize(("state", "overdue"), [("open", True), ("doing", False), ("done", False)])
    def test_p7_what_was_reported_is_not_overdue(self, state: str, *, overdue: bool) -> None:
        wants = [forecast(TUE, "plate", 30)]
        (pull,) = pulls_of(plan_forecasts(braises(), wants), "meat")
        report = said(at(TUE, "08:50"), state)
        fixed = [] if state == "open" else [fixed_pull(pull, report)]
        document = list_of(plan_after(braises(), wants, *fixed, told={pull.id: report}), braises(), quarter=at(TUE, "09:00"))
        assert [row["overdue"] for row in document["pulls"]] == [overdue]

    def test_p7_what_is_late_on_the_current_list_is_overdue_too(self) -> None:
        late = braises("P1D")
        document = list_of(plan_forecasts(late, [forecast(TUE, "plate", 30)]), late, quarter=at(TUE, "05:00"))
        assert [(row["late"], row["overdue"]) for row in document["pulls"]] == [(True, True)]
        warned = {warning["code"]: warning for warning in document["warnings"]}
        assert {code: warning["count"] for code, warning in warned.items()} == {"late": 1, "overdue": 1, "last_start_over": 1}
        assert warned["late"]["detail"] == "1 entry should have begun before Tue 1 Dec; each says which portions hang on it"


class TestLastStart:
    """P7: the last moment at which work can begin for its run to be ready still."""

    def test_p7_a_later_rest_is_cut_to_its_min_for_each_stage_from_there_on(self) -> None:
        # 30 minutes, rest of 10 h (6 at least), then at the bakery an hour and 30 minutes' rest: ready at noon.
        steps = [step("PT30M", {"min": "PT6H", "target": "PT10H", "max": "PT12H"}), step("PT1H", "PT30M", "bakery")]
        catalogue = kitchen(recipe("bread", "10 kg", steps=steps), menu_item("roll", ("bread", "100 g")))
        planned = plan_forecasts(catalogue, [forecast(WED, "roll", 30)], on=WED)
        dough, baking = (tasks_of(list_of(planned, catalogue, on))[0] for on in (TUE, WED))
        assert (dough["start_by"], dough["last_start"]) == ("2026-12-02T00:00:00-05:00", "2026-12-02T04:00:00-05:00")
        assert (baking["start_by"], baking["last_start"]) == ("2026-12-02T10:30:00-05:00", "2026-12-02T10:30:00-05:00")

    def test_p7_a_pull_has_no_later_start(self) -> None:
        (row,) = list_of(plan_forecasts(braises(), [forecast(TUE, "plate", 30)]), braises())["pulls"]
        assert row["last_start"] == row["start_by"]


class TestThawedLate:
    """P15 (e): a pull that thaws and was reported later than it had to start."""

    def told(self, report: Report, on: date) -> list[str]:
        """What a list says of it; the pull of Wednesday's plates starts on Tuesday at 08:40."""
        frozen = braises("P1D")
        wants = [forecast(WED, "plate", 30)]
        (pull,) = pulls_of(plan_forecasts(frozen, wants, on=WED), "meat")
        document = list_of(plan_after(frozen, wants, fixed_pull(pull, report), on=THU), frozen, on)
        rows = [warning for warning in document["warnings"] if warning["code"] == "thaw_late"]
        assert all((row["task"], row["item"]["ingredient"]) == (PULL, "meat") for row in rows)
        return [row["detail"] for row in rows]

    def test_p15_it_warns_when_it_will_be_thawed_and_what_hangs_on_it_until_then(self) -> None:
        late = said(at(TUE, "14:00"))
        (detail,) = self.told(late, TUE)
        assert detail == (
            "Beef shin came out of store late: it is thawed by Wed 2 Dec 14:00, and was needed by Wed 2 Dec 08:40; "
            "on it hang 30 of Plate, lunch"
        )
        assert self.told(late, WED) == [detail]
        assert self.told(late, THU) == []

    @pytest.mark.parametrize("report", [said(at(TUE, "08:40")), said(at(MON, "20:00")), AS_PRINTED])
    def test_p15_in_time_or_as_printed_it_says_nothing(self, report: Report) -> None:
        assert self.told(report, TUE) == []


class TestWhence:
    """P13: what comes from the tap, and by-products that nobody buys."""

    def stocks(self, **bones: Any) -> Catalogue:
        """Guests' hens give 300 g of bones a kilo at 10:00; a stock takes a kilo of them at noon."""
        stock = recipe("stock", "5 L", line("bones", "1 kg"), line("water", "5 kg"))
        hens = ingredient("hen", form("boned", "0.5", gives={"bones": "0.3"}))
        return kitchen(
            hens,
            ingredient("bones", name="Chicken bones", **bones),
            ingredient("water", on_tap=True),
            stock,
            recipe("breast", "1 kg", line("hen/boned", "1 kg"), steps=[step("PT2H")]),
            menu_item("plate", ("breast", "100 g"), ("stock", "500 mL")),
        )

    def told(self, catalogue: Catalogue, stock: Iterable[Counted] = ()) -> tuple[list[str], list[Document]]:
        document = list_of(plan_forecasts(catalogue, [forecast(TUE, "plate", 10)], stock), catalogue)
        return [row["item"]["ingredient"] for row in document["pulls"]], document["warnings"]

    def test_p13_a_by_product_that_nobody_buys_is_warned_of_and_water_is_not_pulled(self) -> None:
        # 1 kg of breast from 2 kg of hen gives 600 g of bones; the stock lacks 400 g.
        pulled, (warning,) = self.told(self.stocks())
        assert pulled == ["hen"]
        assert (warning["code"], warning["item"]["ingredient"]) == ("by_product_short", "bones")
        assert warning["detail"] == (
            "Chicken bones: 400 g is needed by Tue 1 Dec 12:00 for Plate, lunch beyond what is given of it, and nobody sells it; "
            "make more of what gives it, or cook without"
        )

    def test_p13_a_by_product_with_packs_at_the_site_is_pulled(self) -> None:
        assert self.told(self.stocks(packs=[pack("10 kg", None)])) == (["hen", "bones"], [])
        assert self.told(self.stocks(packs=[pack("10 kg", None, at="elsewhere")]))[0] == ["hen"]

    def test_p13_what_is_in_store_of_it_is_pulled(self) -> None:
        stock = [counted("bones", "2 kg", at(TUE, "05:00"), in_store=True)]
        assert self.told(self.stocks(), stock) == (["hen", "bones"], [])


class TestHeld:
    """P4: hot food without ``keeps`` that one run makes for two services."""

    def told(self, keeps: str | None = None, *, dinner: str = "18:00", kind: str = "cook") -> list[Document]:
        salmon = recipe("salmon", "1 kg", steps=[step("PT20M", safety=safety(kind))], keeps=keeps)
        catalogue = kitchen(salmon, menu_item("plate", ("salmon", "100 g")), site(periods={"lunch": "12:00", "dinner": dinner}))
        wants = [forecast(TUE, "plate", 10), forecast(TUE, "plate", 10, "dinner")]
        return list(list_of(plan_forecasts(catalogue, wants), catalogue)["warnings"])

    def test_p4_it_names_both_services(self) -> None:
        (warning,) = self.told()
        assert (warning["code"], warning["task"]) == ("held_across_services", "make.mill-street.salmon.2026-12-01T1200.1")
        assert warning["item"]["recipe"] == "salmon"
        assert warning["detail"] == (
            "Salmon is made once, to be ready by Tue 1 Dec 12:00, for Plate, lunch, and for Plate, dinner at Tue 1 Dec 18:00; "
            "hold it hot until then, or say how long it keeps"
        )

    def test_p4_what_says_how_long_it_keeps_or_is_cold_or_is_served_soon_again_is_not_warned_of(self) -> None:
        assert self.told("P0D") == []
        assert self.told(kind="hold_cold") == []
        assert self.told(dinner="14:00") == []
