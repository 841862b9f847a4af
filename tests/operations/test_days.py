"""Days of a kitchen that announces, prints, cooks and reports in an order of its own (P15): what is asked for then."""

from copy import deepcopy
from datetime import datetime

import pytest
from sqlalchemy.orm import Session

from tests.operations.pot import WED, clock, expect, listed, load, print_on, report
from tests.stockpot import CATALOGUE, Json

LUNCH = {"code": "lunch", "name": "Lunch", "ready_by": "12:00"}
DINNER = {"code": "dinner", "name": "Dinner", "ready_by": "18:00"}


@pytest.fixture
def session(session: Session) -> Session:
    """The stockpot with a dinner, for which lunch's soup keeps too short."""
    catalogue = deepcopy(CATALOGUE)
    next(each for each in catalogue["recipes"] if each["code"] == "soup")["keeps"] = "PT2H"
    catalogue["sites"][0]["periods"] = [LUNCH, DINNER]
    load(session, catalogue)
    return session


def soups(session: Session, now: datetime) -> dict[str, Json]:
    """The soups that Wednesday's list asks for, by the hour at which they must be ready; of which something was reported is not asked."""
    shown = listed(session, WED, now).values()
    return {each["ready_by"][11:16]: each for each in shown if each["id"].startswith("make.quay.soup") and not each["progress"]}


def test_p15_f_dinner_that_was_printed_is_asked_for_when_lunch_that_was_announced_since_is_cooked(session: Session) -> None:
    expect(session, WED, 24, "dinner")
    print_on(session, WED, clock(WED, 6))
    assert list(soups(session, clock(WED, 7))) == ["18:00"]
    expect(session, WED, 40)
    both = soups(session, clock(WED, 8))
    assert list(both) == ["12:00", "18:00"]
    report(session, WED, both["12:00"]["id"], clock(WED, 11, 50))
    # Dinner's 6 L are still to be made, as printed: 10 L.
    (dinner,) = soups(session, clock(WED, 13)).values()
    assert (dinner["ready_by"][11:16], dinner["need"]["amount"], dinner["quantity"]["amount"]) == ("18:00", 6_000, 10_000)
    report(session, WED, dinner["id"], clock(WED, 17, 50))
    assert soups(session, clock(WED, 18)) == {}
