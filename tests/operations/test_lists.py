"""Lists as they are asked for: what their tag follows (P7, P14)."""

from datetime import UTC, date, datetime

import pytest
from sqlalchemy.orm import Session

from service.operations.lists import ListRequest, prep_list, prep_list_tag
from tests.operations.pot import TUE, WED, clock, listed, prepare
from tests.stockpot import SITE


def tags(session: Session, on: date, *moments: datetime) -> int:
    """How many tags the list of a date has at some moments."""
    return len({prep_list_tag(session, ListRequest(site=SITE, on=on, first=TUE), moment) for moment in moments})


@pytest.fixture
def kitchen(session: Session) -> Session:
    prepare(session)
    return session


def test_p7_the_list_of_the_current_date_changes_its_tag_each_quarter_hour(kitchen: Session) -> None:
    assert tags(kitchen, WED, clock(WED, 9), clock(WED, 9, 14)) == 1
    assert tags(kitchen, WED, clock(WED, 9, 14), clock(WED, 9, 15), clock(WED, 9, 30)) == 3


def test_p7_no_other_list_does(kitchen: Session) -> None:
    assert tags(kitchen, WED, clock(TUE, 9), clock(TUE, 9, 15)) == 1
    assert tags(kitchen, TUE, clock(WED, 9), clock(WED, 9, 15)) == 1


def test_p7_the_list_tells_what_is_overdue_by_then(kitchen: Session) -> None:
    def overdue(now: datetime) -> int:
        return sum(entry["overdue"] for entry in listed(kitchen, WED, now).values())

    assert overdue(clock(TUE, 23)) == 0
    assert 0 < overdue(clock(WED, 10)) < overdue(clock(WED, 23))
    warned = prep_list(kitchen, ListRequest(site=SITE, on=WED), datetime(2026, 12, 2, 23, tzinfo=UTC))["warnings"]
    assert {"overdue", "last_start_over"} <= {warning["code"] for warning in warned}
