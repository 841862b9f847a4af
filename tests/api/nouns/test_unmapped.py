"""What an integration finds out by itself: the sites and periods that it pushes for, and the codes that nobody has mapped."""

from collections.abc import Iterator
from typing import Any

import pytest

from tests.api.caller import Caller, faults
from tests.api.exchange.test_reach import push
from tests.api.reaching import FOREIGN, MISSING, OWN, SOURCE, Kitchens, open_kitchens

UNMAPPED = "/v1/unmapped-till-codes"


@pytest.fixture(scope="module")
def kitchens() -> Iterator[Kitchens]:
    with open_kitchens() as opened:
        yield opened


def pushed(caller: Caller, site: str, as_of: str, *codes: str, source: str = SOURCE) -> Any:
    entries = [
        {"site": site, "date": f"2026-12-{day:02}", "period": "lunch", "till_code": code, "count": 1} for code in codes for day in (3, 4)
    ]
    return caller.post("/v1/forecasts", {"source": source, "as_of": as_of, "entries": entries}).get_json()


def told(caller: Caller, query: str = "") -> list[tuple[str, str, str, str, list[str], int]]:
    rows = caller.get(f"{UNMAPPED}{query}").get_json()["items"]
    return [(row["source"], row["till_code"], row["first_seen"], row["last_seen"], row["sites"], row["entries"]) for row in rows]


def test_an_integration_reads_of_its_sites_what_a_push_needs(kitchens: Kitchens) -> None:
    shown = {"code", "name", "time_zone", "day_starts", "periods"}
    one = kitchens.counter.get(f"/v1/sites/{OWN}").get_json()
    assert set(one) == shown
    assert one["periods"] == kitchens.director.get(f"/v1/sites/{OWN}").get_json()["periods"]
    assert [row["code"] for row in kitchens.counter.get("/v1/sites").get_json()["items"]] == [OWN]
    assert all(set(row) == shown for row in kitchens.till.get("/v1/sites").get_json()["items"])
    assert {kitchens.counter.get(f"/v1/sites/{site}").status_code for site in (FOREIGN, MISSING)} == {404}


def test_till_codes_that_no_menu_item_has_are_told_once_with_when_and_where(kitchens: Kitchens) -> None:
    assert pushed(kitchens.till, OWN, "2026-12-02T10:00:00Z", "9001", "9002")["stored"] == 4
    assert pushed(kitchens.till, FOREIGN, "2026-12-02T11:00:00Z", "9001")["stored"] == 2
    assert pushed(kitchens.director, OWN, "2026-12-02T11:30:00Z", "9001", source="till-west")["stored"] == 2
    of_the_source = [
        (SOURCE, "9001", "2026-12-02T10:00:00Z", "2026-12-02T11:00:00Z", [OWN, FOREIGN], 4),
        (SOURCE, "9002", "2026-12-02T10:00:00Z", "2026-12-02T10:00:00Z", [OWN], 2),
    ]
    of_the_other = ("till-west", "9001", "2026-12-02T11:30:00Z", "2026-12-02T11:30:00Z", [OWN], 2)
    assert [row for row in told(kitchens.director) if row[1] in ("9001", "9002")] == [*of_the_source, of_the_other]
    assert [row for row in told(kitchens.director, f"?source={SOURCE}") if row[1].startswith("900")] == of_the_source
    assert [row for row in told(kitchens.till) if row[1].startswith("900")] == of_the_source
    assert told(kitchens.till, "?source=till-west") == []
    assert (SOURCE, "9001", "2026-12-02T10:00:00Z", "2026-12-02T10:00:00Z", [OWN], 2) in told(kitchens.counter)


def test_they_are_paged_by_source_and_code_and_a_code_that_is_mapped_leaves(kitchens: Kitchens) -> None:
    pushed(kitchens.till, OWN, "2026-12-02T10:00:00Z", "9001", "9002", "9|3")
    path, seen = f"{UNMAPPED}?limit=1&source={SOURCE}", []
    while path:
        page = kitchens.director.get(path).get_json()
        seen += [row["till_code"] for row in page["items"]]
        path = page["next"]
    assert sorted(seen) == seen
    assert {"9001", "9002", "9|3"} <= set(seen)
    bowl = kitchens.director.get("/v1/menu-items/soup-bowl")
    mapped = {**bowl.get_json(), "codes": [*bowl.get_json()["codes"], {"source": SOURCE, "till_code": "9001"}]}
    assert kitchens.director.put("/v1/menu-items/soup-bowl", mapped, If_Match=bowl.headers["ETag"]).status_code == 200
    left = [row[1] for row in told(kitchens.director, f"?limit=500&source={SOURCE}")]
    assert ("9001" in left, "9002" in left) == (False, True)


def test_a_push_of_which_nothing_is_stored_says_that_nothing_was_accepted(kitchens: Kitchens) -> None:
    refused = kitchens.counter.post("/v1/forecasts", push(FOREIGN))
    assert (refused.status_code, refused.get_json()["accepted"], len(refused.get_json()["refused"])) == (200, 0, 1)
    taken = kitchens.counter.post("/v1/forecasts", push(OWN)).get_json()
    assert (taken["accepted"], taken["stored"]) == (1, 1)
    again = kitchens.counter.post("/v1/forecasts", push(OWN)).get_json()
    assert (again["accepted"], again["unchanged"]) == (1, 1)
    assert faults(kitchens.counter.get(f"{UNMAPPED}?cursor=nonsense")) == {("cursor", "wrong_type")}
