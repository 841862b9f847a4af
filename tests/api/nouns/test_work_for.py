"""Work ahead over the interface (P11, P7)."""

import pytest

from tests.api.caller import Caller
from tests.api.shop import open_shop

WORK = "/v1/sites/east/work-for/2026-12-03"


@pytest.fixture
def shop(director: Caller) -> Caller:
    open_shop(director, {("east", "2026-12-03"): 40})
    return director


def test_it_tells_the_work_of_a_date_as_its_lists_do(shop: Caller) -> None:
    found = shop.get(WORK)
    listed = shop.get("/v1/sites/east/prep-lists/2026-12-03").get_json()
    assert found.status_code == 200
    days = {day["date"]: day for day in found.get_json()["days"]}
    assert (days["2026-12-03"]["stations"], days["2026-12-03"]["pulls"]) == (listed["stations"], listed["pulls"])
    assert shop.get(WORK, If_None_Match=found.headers["ETag"]).status_code == 304


def test_an_event_has_its_own_work_and_its_own_tag(shop: Caller) -> None:
    shop.put("/v1/sites/east/overrides/2026-12-03/lunch/bowl?event=gala", {"count": 10})
    whole, gala, none = (shop.get(path) for path in (WORK, f"{WORK}?event=gala", f"{WORK}?event=wedding"))
    assert len({answer.headers["ETag"] for answer in (whole, gala, none)}) == 3
    assert gala.get_json()["event"] == "gala"
    assert gala.get_json()["days"]
    assert none.get_json()["days"] == []
