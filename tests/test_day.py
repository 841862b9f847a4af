"""One day of the canteen at the quay, over the interface, on one database file; its clock is moved by hand.

Thursday's soup and Friday's fish pie, seen from Wednesday. Every number is worked out beside it from the catalogue of the
scenario: what the plan must be, whatever computed it.
"""

import pytest

from service.resources import folder
from tests.api.caller import Caller, faults
from tests.canteen import LIST, WEDNESDAY, Day, about, amount, balance, batches, by_item, codes, named, push, sold, tasks

THURSDAY, FRIDAY = "2026-12-03", "2026-12-04"
POUND = 453.59237


def test_a_day_of_the_canteen(sqlite_url: str) -> None:
    day = Day(sqlite_url)
    the_director_opens_the_kitchens(day)
    the_director_publishes_a_soup_with_mustard(day)
    the_tills_push_what_they_expect(day)
    the_site_knows_better_than_its_tills(day)
    last_nights_stock_is_counted(day)
    thursdays_list_is_pulled(day)
    the_pulls_of_thursday_thaw_for_friday(day)
    a_later_push_changes_the_list_and_a_repeated_one_does_not(day)
    a_till_code_is_mapped_and_counts(day)
    the_afternoon_count_saves_a_tray(day)
    the_visiting_cook_reads_pounds(day)
    fridays_list_is_a_slice_of_the_same_plan(day)
    at_midnight_an_integrator_gets_clear_answers(day)
    day.close()


def the_director_opens_the_kitchens(day: Day) -> None:
    raw = (folder("seeds") / "catalogue.json").read_bytes()
    answer = day.director.send("POST", "/v1/imports", raw=raw)
    assert answer.status_code == 200, answer.get_json()
    assert (answer.get_json()["published"], answer.get_json()["unchanged"]) == (35, 0)
    assert answer.get_json()["created"] == 136
    again = day.director.send("POST", "/v1/imports", raw=raw)
    assert again.get_json() == {"created": 0, "replaced": 0, "unchanged": 136, "published": 0}


def the_director_publishes_a_soup_with_mustard(day: Day) -> None:
    """From Thursday on the soup takes 2.6 kg of lentils in place of 2.4 kg, and 100 g of mustard per 20 L."""
    address = "/v1/recipes/lentil-soup"
    kept = day.director.get(f"{address}/draft")
    draft = kept.get_json()
    draft["lines"][6]["quantity"] = {"amount": 2.6, "unit": "kg"}
    draft["lines"].append({"item": {"ingredient": "mustard-dijon"}, "quantity": {"amount": 100, "unit": "g"}, "step": 3})
    assert day.director.put(f"{address}/draft", draft).status_code == 428
    assert day.director.put(f"{address}/draft", draft, If_Match=kept.headers["ETag"]).status_code == 200
    request = {"from": THURSDAY, "note": "winter soup", "acknowledge": ["mustard", "sulphite"]}
    published = day.director.post(f"{address}/versions", request)
    assert published.status_code == 201, published.get_json()
    assert (published.get_json()["version"], published.get_json()["from"]) == (2, THURSDAY)
    assert day.director.get(published.headers["Location"]).get_json()["lines"][6]["quantity"] == {"amount": 2.6, "unit": "kg"}
    assert day.director.post(f"{address}/versions", request).status_code == 409
    assert day.director.get(address).get_json()["version"] == 1
    assert day.director.get(f"{address}?on={THURSDAY}&site=quayside").get_json()["version"] == 2


def the_tills_push_what_they_expect(day: Day) -> None:
    day.strike("09:00")
    expected = [sold(THURSDAY, "2010", 80), sold(THURSDAY, "2099", 20), sold(FRIDAY, "2044", 120)]
    first = push(day, "till-east", "08:30", *expected, sold(THURSDAY, "2010", 9, "tea"))
    assert (first["stored"], first["unchanged"], first["superseded"]) == (3, 0, 0)
    assert first["unmapped"] == [{"index": 1, "till_code": "2099"}]
    ((refused),) = first["refused"]
    assert refused["index"] == 3
    assert [(fault["pointer"], fault["code"]) for fault in refused["errors"]] == [("/entries/3/period", "unknown_reference")]
    # A push that was true earlier and arrives later changes nothing, and neither does the same count again.
    late = push(day, "till-east", "07:15", sold(THURSDAY, "2010", 75))
    assert (late["stored"], late["superseded"]) == (0, 1)
    again = push(day, "till-east", "08:45", sold(THURSDAY, "2010", 80))
    assert (again["stored"], again["unchanged"]) == (0, 1)
    assert push(day, "till-west", "08:40", sold(THURSDAY, "3010", 34))["stored"] == 1
    rows = day.director.get(f"/v1/sites/quayside/forecasts?from={THURSDAY}&to={THURSDAY}").get_json()["items"]
    (soup,) = [row for row in rows if row["menu_item"] == "canteen-soup"]
    # 80 + 34 from two tills, and the site's buffer of 8 %: 123.12.
    assert (soup["forecast"], soup["sources"]) == (114, ["till-east", "till-west"])
    assert soup["count"] == pytest.approx(123.12, rel=1e-9)
    document = day.list_of(THURSDAY)
    make = tasks(document, "make")
    # 300 mL each are 36.936 L. A roll for 80 % is 98.496, so 99; yesterday's par left 60, the other 39 take two trays of 30.
    assert balance(make["lentil-soup"]) == about(36_936, 0, 36_936, 0)
    assert balance(make["soft-roll"]) == about(99, 60, 60, 21)
    assert codes(document) == ["clock_pinned", "unmapped_till_code"]


def the_site_knows_better_than_its_tills(day: Day) -> None:
    """A count that replaces the tills' is taken as it is, without a buffer."""
    answer = day.director.put(f"/v1/sites/quayside/overrides/{THURSDAY}/lunch/canteen-soup", {"count": 120, "note": "the ferry's crew"})
    assert answer.status_code == 201, answer.get_json()
    make = tasks(day.list_of(THURSDAY), "make")
    # 120 x 300 mL are 36 L in a recipe of at most 30 L a batch: two of 18 L. 96 rolls, 60 of them there, 36 in two trays.
    assert balance(make["lentil-soup"]) == about(36_000, 0, 36_000, 0)
    assert batches(make["lentil-soup"]) == [(2, 18_000, pytest.approx(0.9))]
    assert balance(make["soft-roll"]) == about(96, 60, 60, 24)


def last_nights_stock_is_counted(day: Day) -> None:
    lots = [
        {"item": {"recipe": "lentil-soup"}, "quantity": {"amount": 6, "unit": "L"}, "made_on": "2026-12-01"},
        {"item": {"ingredient": "cod-frozen"}, "quantity": {"amount": 20, "unit": "kg"}, "in": "store"},
    ]
    answer = day.director.post("/v1/sites/quayside/counts", {"counted_at": "2026-12-01T21:30:00Z", "lots": lots})
    assert answer.status_code == 201, answer.get_json()


def thursdays_list_is_pulled(day: Day) -> None:
    document = day.list_of(THURSDAY)
    assert (document["from"], document["units"], document["print"]) == (WEDNESDAY, "metric", None)
    assert [station["code"] for station in document["stations"]] == ["veg", "bakery", "hot-line", "cold-line"]
    soup = tasks(document, "make")["lentil-soup"]
    # 36 L less the 6 L of Tuesday, good until the end of Thursday, are one batch of 30 L, 1.5 times the recipe, of the new version.
    assert (soup["version"], soup["stage"]) == (2, {"number": 1, "of": 1})
    assert balance(soup) == about(36_000, 6_000, 30_000, 0)
    assert batches(soup) == [(1, 30_000, pytest.approx(1.5))]
    # Steps of 25, 10 + 60, 15 and 5 minutes before 11:45; hands are needed for 55 of them. P2D would be until the end of Saturday,
    # but the onions diced on Wednesday for the par are good until the end of Thursday, 03:00 (H2); there is no surplus to warn of.
    assert (soup["start_by"], soup["ready_by"]) == (f"{THURSDAY}T09:50:00+00:00", f"{THURSDAY}T11:45:00+00:00")
    assert (soup["active"], soup["use_by"]) == ("PT55M", "2026-12-04T03:00:00+00:00")
    assert "keeps_exceeded" not in codes(document)
    # Linear 2.6 kg x 1.5; to the power 0.8, 40 g x 1.3832; bay leaves by the batch; salt 1.3 % of 16 L of stock at 1 kg/L; parsley as
    # tried, 1.5 times 80 g.
    lines = by_item(soup["batches"][0]["lines"])
    assert lines["lentils-red"] == pytest.approx(3_900)
    assert lines["cumin"] == pytest.approx(55.326, abs=0.001)
    assert lines["bay-leaf"] == 3
    assert lines["salt"] == pytest.approx(312)
    assert lines["parsley/chopped"] == pytest.approx(120)
    assert lines["mustard-dijon"] == pytest.approx(150)
    assert by_item(soup["draw"])["vegetable-stock"] == pytest.approx(24_000)
    assert {"celery", "mustard", "sulphite"} <= set(soup["allergens"]["contains"])
    used = tasks(document, "use")
    assert {name: amount(task["quantity"]) for name, task in used.items()} == {
        "lentil-soup": 6_000,  # the lot of Tuesday
        "onion/small-dice": pytest.approx(3_000),  # of the 4 kg that stand ready from Wednesday, 2 kg x 1.5
        "soft-roll": 60,  # Wednesday's par
        "egg/shelled": pytest.approx(5 * 56.8 * 0.88 - 216),  # five whole eggs for Wednesday's 126 g in dough and 90 g of wash
    }
    assert (used["lentil-soup"]["version"], used["lentil-soup"]["use_by"]) == (1, "2026-12-04T03:00:00+00:00")
    # 1.2 kg x 1.5 of carrot at 0.82; 5 minutes to set up and 8 for each kilo are 19.4, up to 20.
    carrot = tasks(document, "prep")["carrot/small-dice"]
    assert amount(carrot["quantity"]) == pytest.approx(1_800)
    assert by_item(carrot["draw"]) == {"carrot": pytest.approx(1_800 / 0.82)}
    assert by_item(carrot["gives"])["veg-trim"] == pytest.approx(1_800 / 0.82 * 0.12)
    assert carrot["active"] == "PT20M"
    # The stock takes 1 kg of trimmings per 15 L, 1.6 kg at 06:45: what Wednesday's onions gave (4 kg / 0.9 x 0.05), the rest from store.
    pulls = by_item(document["pulls"])
    assert pulls["veg-trim"] == pytest.approx(1_600 - 4_000 / 0.9 * 0.05)
    # What Thursday's carrots and celery give comes too late for it and is left, with a kilo of diced onion and 24 rolls.
    left = by_item(document["left_over"])
    assert left["veg-trim"] == pytest.approx(1_800 / 0.82 * 0.12 + 1_200 / 0.73 * 0.18)
    assert left["onion/small-dice"] == pytest.approx(1_000)
    assert left["soft-roll"] == 24
    assert "lentil-soup" not in left
    assert codes(document) == ["clock_pinned", "unmapped_till_code"]
    assert len(document["cautions"]) == 2


def the_pulls_of_thursday_thaw_for_friday(day: Day) -> None:
    """120 fish pies and 5 % are 126 of 400 g, 50.4 kg, in 9 trays of 6 kg three times the recipe."""
    pulls = {named(pull["item"]): pull for pull in day.list_of(THURSDAY)["pulls"]}
    cod, prawns = pulls["cod-frozen"], pulls["prawns-frozen"]
    # Steps of 15, 20, 20, 55 and 13 minutes before 11:45 begin at 09:42, for 4 of the trays. While the rolls have the other oven, the
    # first 5 go before them: out at 10:27, since the oven is turned round for 10 minutes before 10:37, and begun at 08:37. Cod keeps
    # 94 % of its weight, and is diced before that: 15 kg take 10 minutes and 5 a kilo, from 07:12 on. It thaws a day, prawns 16 hours.
    assert amount(cod["quantity"]) == pytest.approx(3 * 5_000 / 0.94)
    assert (cod["thaw"], cod["start_by"], cod["need_by"]) == ("P1D", f"{THURSDAY}T07:12:00+00:00", f"{FRIDAY}T07:12:00+00:00")
    assert amount(prawns["quantity"]) == pytest.approx(3 * 1_500)
    assert (prawns["thaw"], prawns["start_by"]) == ("PT16H", f"{THURSDAY}T16:37:00+00:00")
    assert not cod["late"]


def a_later_push_changes_the_list_and_a_repeated_one_does_not(day: Day) -> None:
    day.strike("11:00")
    before = day.tag(THURSDAY)
    assert day.director.get(f"{LIST}/{THURSDAY}", If_None_Match=before).status_code == 304
    assert push(day, "till-west", "10:30", sold(FRIDAY, "3044", 30))["stored"] == 1
    changed = day.director.get(f"{LIST}/{THURSDAY}", If_None_Match=before)
    assert changed.status_code == 200
    after = changed.headers["ETag"]
    assert after != before
    # 150 and 5 % are 157.5, 63 kg, 10.5 trays: 11 trays of 6 kg, 66 kg.
    assert by_item(changed.get_json()["pulls"])["cod-frozen"] == pytest.approx(66 / 18 * 5_000 / 0.94)
    assert push(day, "till-west", "10:45", sold(FRIDAY, "3044", 30))["unchanged"] == 1
    assert push(day, "till-west", "10:00", sold(FRIDAY, "3044", 99))["superseded"] == 1
    same = day.director.get(f"{LIST}/{THURSDAY}", If_None_Match=after)
    assert (same.status_code, same.headers["ETag"], same.get_data()) == (304, after, b"")


def a_till_code_is_mapped_and_counts(day: Day) -> None:
    address = "/v1/menu-items/roll-and-butter"
    kept = day.director.get(address)
    item = kept.get_json()
    item["codes"].append({"source": "till-east", "till_code": "2099"})
    assert day.director.put(address, item, If_Match=kept.headers["ETag"]).status_code == 200
    document = day.list_of(THURSDAY)
    # 20 and 8 % are 21.6, 22 rolls, at the same time as the 96 of the soup: 118, 60 of them there, 58 in two trays.
    assert balance(tasks(document, "make")["soft-roll"]) == about(118, 60, 60, 2)
    assert codes(document) == ["clock_pinned"]


def the_afternoon_count_saves_a_tray(day: Day) -> None:
    """Wednesday's bakers made a tray more than the par asked for."""
    day.strike("16:00")
    assert "soft-roll" in tasks(day.list_of(WEDNESDAY), "make")
    lot = {"item": {"recipe": "soft-roll"}, "quantity": {"amount": 3, "unit": "tray"}, "made_on": WEDNESDAY}
    assert day.director.post("/v1/sites/quayside/counts", {"counted_at": f"{WEDNESDAY}T15:50:00Z", "lots": [lot]}).status_code == 201
    assert "soft-roll" not in tasks(day.list_of(WEDNESDAY), "make")
    # 118 less 90 are 28, one tray; its dough is 70 g a roll, made in batches of at least 2.5 kg.
    make = tasks(day.list_of(THURSDAY), "make")
    assert balance(make["soft-roll"]) == about(118, 90, 30, 2)
    assert balance(make["milk-dough"]) == about(2_100, 0, 2_500, 400)


def the_visiting_cook_reads_pounds(day: Day) -> None:
    metric, us = day.list_of(THURSDAY), day.list_of(THURSDAY, "?units=us")
    assert us["units"] == "us"
    assert by_item(us["pulls"]) == by_item(metric["pulls"])
    cod = next(pull["quantity"] for pull in us["pulls"] if pull["item"]["ingredient"] == "cod-frozen")
    # 19.5035 kg are 42 lb 15.97 oz, above 10 lb to the ounce; 30 L are 7.93 gallons, in quarters 8; 3 kg are 6 lb 9.8 oz, by halves 10.
    assert cod["amount"] / POUND == pytest.approx(42.998, abs=0.001)
    assert cod["display"] == "43 lb"
    assert tasks(us, "make")["lentil-soup"]["quantity"]["display"] == "8 gallon"
    assert tasks(us, "use")["onion/small-dice"]["quantity"]["display"] == "6 lb 10 oz"


def fridays_list_is_a_slice_of_the_same_plan(day: Day) -> None:
    thursday, friday = day.list_of(THURSDAY), day.list_of(FRIDAY)
    assert friday["from"] == WEDNESDAY
    make = tasks(friday, "make")
    # The canteen's oven holds 6 trays: 6 and 5, twice the recipe and 5/3 of it; 3 kg are over.
    assert balance(make["fish-pie"]) == about(63_000, 0, 66_000, 3_000)
    assert batches(make["fish-pie"]) == [(1, 36_000, pytest.approx(2)), (1, 30_000, pytest.approx(5 / 3))]
    # What Thursday pulls is what Friday dices.
    assert by_item(tasks(friday, "prep")["cod-frozen/diced"]["draw"])["cod-frozen"] == pytest.approx(
        by_item(thursday["pulls"])["cod-frozen"]
    )
    # Two of Thursday's rolls count towards Friday's par of 60; a plan that began on Friday would know of none.
    assert by_item(thursday["left_over"])["soft-roll"] == 2
    assert balance(make["soft-roll"]) == about(58, 0, 60, 2)
    assert balance(tasks(day.list_of(FRIDAY, f"?from={FRIDAY}"), "make")["soft-roll"]) == about(60, 0, 60, 0)


def at_midnight_an_integrator_gets_clear_answers(day: Day) -> None:
    """Half past midnight on Thursday is still Wednesday's business, and whatever is wrong is said in one shape."""
    day.strike("00:30", THURSDAY)
    assert day.list_of(THURSDAY)["from"] == WEDNESDAY
    good = {"source": "till-east", "as_of": f"{THURSDAY}T00:10:00Z", "entries": [sold(THURSDAY, "2010", 81)]}
    stranger = Caller(day.director.client, None)
    till = day.director
    problems = {
        "no token": (stranger.post("/v1/forecasts", good), 401, set()),
        "not a visitor's business": (day.visitor.post("/v1/forecasts", good), 403, set()),
        "no such site": (day.director.get(f"/v1/sites/atlantis/prep-lists/{THURSDAY}"), 404, set()),
        "no such method": (till.put("/v1/forecasts", good), 405, set()),
        "broken JSON": (till.send("POST", "/v1/forecasts", raw=b'{"source": "till-east",'), 400, set()),
        "two faults at once": (
            till.post("/v1/forecasts", {"source": "till-east", "entries": [], "sauce": 1}),
            422,
            {("/as_of", "required"), ("/sauce", "unknown_field")},
        ),
        "a count from tomorrow": (
            till.post("/v1/forecasts", good | {"as_of": f"{THURSDAY}T00:36:00Z"}),
            422,
            {("/as_of", "as_of_in_future")},
        ),
        "no such date": (day.director.get(f"{LIST}/2026-13-03"), 404, set()),
        "a list before its plan": (day.director.get(f"{LIST}/{THURSDAY}?from={FRIDAY}"), 422, {("from", "out_of_range")}),
    }
    for name, (answer, status, expected) in problems.items():
        body = answer.get_json()
        assert (answer.status_code, answer.mimetype) == (status, "application/problem+json"), (name, body)
        assert (body["status"], bool(body["title"]), bool(body["detail"])) == (status, True, True), name
        assert expected <= (faults(answer) if "errors" in body else set()), (name, body)
    assert problems["no token"][0].headers["WWW-Authenticate"].startswith("Bearer")
    assert "POST" in problems["no such method"][0].headers["Allow"]
    # Nothing of it was stored.
    assert till.post("/v1/forecasts", good).get_json()["stored"] == 1
