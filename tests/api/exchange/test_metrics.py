"""Metrics: what is counted, under names that do not grow with what callers send."""

from collections.abc import Callable, Iterator

import pytest
from flask import Flask
from prometheus_client.parser import text_string_to_metric_families

from service import __version__
from service.api.exchange.interior import Interior
from service.operations.tokens import write
from tests.api.caller import Caller
from tests.api.reaching import LIST, OWN, Kitchens, open_kitchens

Numbers = dict[tuple[str, frozenset[tuple[str, str]]], float]


@pytest.fixture(scope="module")
def kitchens() -> Iterator[Kitchens]:
    with open_kitchens() as opened:
        yield opened


def read(caller: Caller) -> Numbers:
    page = caller.get("/metrics").get_data(as_text=True)
    return {
        (sample.name, frozenset(sample.labels.items())): sample.value
        for family in text_string_to_metric_families(page)
        for sample in family.samples
    }


def number(numbers: Numbers, name: str, **labels: str) -> float:
    return numbers.get((f"kitchen_prep_{name}", frozenset(labels.items())), 0.0)


def test_the_page_is_text_that_every_scraper_reads(anybody: Caller) -> None:
    asked = "application/openmetrics-text;version=1.0.0;q=0.5,text/plain;version=0.0.4;q=0.3,*/*;q=0.1"
    for accept in (asked, "text/plain;version=0.0.4", "text/plain", ""):
        page = anybody.get("/metrics", Accept=accept)
        assert (page.status_code, page.headers["Content-Type"]) == (200, "text/plain; version=0.0.4; charset=utf-8")
    assert anybody.get("/metrics", Accept="application/json").status_code == 406


def test_requests_are_counted_by_rule_method_and_status_with_their_seconds(director: Caller, anybody: Caller) -> None:
    for code in ("veg", "meat", "fish"):
        director.get(f"/v1/stations/{code}")
    anybody.get("/v1/stations/veg")
    rule = {"route": "/v1/stations/<code:code>", "method": "GET"}
    numbers = read(anybody)
    assert number(numbers, "requests_total", **rule, status="404") == 3
    assert number(numbers, "requests_total", **rule, status="401") == 1
    assert number(numbers, "request_seconds_count", **rule) == 4
    assert number(numbers, "request_seconds_bucket", **rule, le="+Inf") == 4
    assert 0 < number(numbers, "request_seconds_sum", **rule) < 4


def test_paths_and_methods_that_there_are_not_are_counted_as_one(anybody: Caller) -> None:
    before = len(read(anybody))
    for name in ("a", "b", "c"):
        anybody.get(f"/nowhere/{name}")
        anybody.send(f"X{name.upper()}", f"/nowhere/{name}")
    numbers = read(anybody)
    assert number(numbers, "requests_total", route="none", method="GET", status="404") == 3
    assert number(numbers, "requests_total", route="none", method="other", status="404") == 3
    # Two counters, and two histograms with their buckets, sums, counts and moments of creation; the page itself is one more.
    assert len(numbers) - before < 80
    for name in ("d", "e"):
        anybody.get(f"/nowhere/{name}")
    assert len(read(anybody)) == len(numbers)


def test_nothing_on_the_page_is_of_a_callers_choice(kitchens: Kitchens) -> None:
    kitchens.kitchen.get(LIST, X_Request_Id="chosen-by-me")
    page = kitchens.director.get("/metrics").get_data(as_text=True)
    assert OWN not in page
    assert "chosen-by-me" not in page
    assert "kp_" not in page.replace("kitchen_prep_", "")


def test_planning_is_measured_and_a_304_is_none(kitchens: Kitchens) -> None:
    before = number(read(kitchens.director), "planning_seconds_count", route="/v1/sites/{site}/prep-lists/{date}")
    # Another asker may have been sent the list of this state already: a print makes a new one.
    assert kitchens.director.post(f"{LIST}/prints", None).status_code == 201
    tag = kitchens.kitchen.get(LIST).headers["ETag"]
    assert kitchens.kitchen.get(LIST, If_None_Match=tag).status_code == 304
    numbers = read(kitchens.director)
    assert number(numbers, "planning_seconds_count", route="/v1/sites/{site}/prep-lists/{date}") == before + 1
    assert number(numbers, "planning_seconds_sum", route="/v1/sites/{site}/prep-lists/{date}") > 0


def test_entries_of_pushes_are_counted_by_what_became_of_them(kitchens: Kitchens) -> None:
    before = read(kitchens.director)
    entry = {"site": OWN, "date": "2027-02-03", "period": "lunch", "count": 3}
    entries = [{**entry, "till_code": "1042"}, {**entry, "till_code": "never-seen"}, {**entry, "menu_item": "no-such-thing"}]
    for as_of, count in (("11:00", 3), ("11:01", 3), ("10:00", 9)):
        body = {"source": "till-east", "as_of": f"2026-12-02T{as_of}:00Z", "entries": [{**each, "count": count} for each in entries]}
        assert kitchens.till.post("/v1/forecasts", body).status_code == 200
    after = read(kitchens.director)
    grown = {
        outcome: number(after, "forecast_entries_total", outcome=outcome) - number(before, "forecast_entries_total", outcome=outcome)
        for outcome in ("stored", "unchanged", "superseded", "refused", "unmapped")
    }
    assert grown == {"stored": 2, "unchanged": 2, "superseded": 2, "refused": 3, "unmapped": 3}


def test_a_push_that_is_refused_whole_counts_no_entry(director: Caller, anybody: Caller) -> None:
    assert director.post("/v1/forecasts", {"source": "till-east", "as_of": "2030-01-01T00:00:00Z", "entries": []}).status_code == 422
    assert sum(number(read(anybody), "forecast_entries_total", outcome=outcome) for outcome in ("stored", "refused")) == 0


def test_the_age_of_a_source_is_that_of_its_newest_push_at_any_worker(
    app: Flask, director: Caller, anybody: Caller, kitchens: Kitchens
) -> None:
    assert not [name for name, _ in read(anybody) if "newest_forecast" in name]
    now = Interior.of(kitchens.director.client.application).config.now()
    entry = {"site": OWN, "date": "2026-12-03", "period": "lunch", "menu_item": "soup-bowl", "count": 3}
    for as_of in (now.replace(minute=0, second=0), now.replace(hour=now.hour - 1)):
        kitchens.director.post("/v1/forecasts", {"source": "app", "as_of": write(as_of), "entries": [entry]})
    age = (now - now.replace(minute=0, second=0)).total_seconds()
    assert number(read(kitchens.director), "newest_forecast_age_seconds", source="app") == age


def test_the_build_is_told(anybody: Caller, caller_of: Callable[..., Caller]) -> None:
    [labels] = [dict(labels) for name, labels in read(anybody) if name == "kitchen_prep_build_info"]
    assert labels["version"] == __version__
