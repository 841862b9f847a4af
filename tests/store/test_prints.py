from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from service.store import collections, prints
from service.store.documents import Document

DAY = date(2026, 12, 2)
SIX = datetime(2026, 12, 2, 6, tzinfo=UTC)
HOUR = timedelta(hours=1)
SOUP = "make.mill-street.soup.2026-12-02"
ONION = "pull.mill-street.onion.2026-12-02"
Work = list[tuple[str, str, Document]]


@pytest.fixture
def session(session: Session) -> Session:
    for code in ("mill-street", "harbour"):
        collections.save(session, "sites", code, {"name": code})
    return session


def add(session: Session, row: prints.PrintRow, work: Work) -> None:
    """Print a list with the work that it shows."""
    head = prints.PrintHead(**{name: getattr(row, name) for name in prints.PrintHead.__dataclass_fields__})
    prints.add(session, head, prints.pack(session, row.site, row.date, row.document, work))


def row(number: int, on: date = DAY, at: datetime = SIX, site: str = "mill-street") -> prints.PrintRow:
    return prints.PrintRow(site=site, date=on, number=number, printed_at=at, printed_by=None, document={"print": number, "date": str(on)})


def soup(litres: int, *stages: int) -> Work:
    tasks = [f"{SOUP}.{stage}" for stage in stages or (1,)]
    return [(SOUP, "run", {"tasks": tasks, "frozen": {"quantity": litres}})]


def litres(work: prints.WorkRow | None) -> int | None:
    return None if work is None else work.document["frozen"]["quantity"]


def test_a_print_comes_back_as_it_was_added(session: Session) -> None:
    added = replace(row(1), printed_by="a-token", document={"amount": Decimal("2.50"), "title": "Crème 🥣"})
    add(session, added, [])
    assert prints.read(session, "mill-street", DAY, 1) == added
    assert [prints.read(session, *key) for key in (("harbour", DAY, 1), ("mill-street", DAY + HOUR * 24, 1), ("mill-street", DAY, 2))] == [
        None
    ] * 3


def test_the_newest_number_is_that_of_the_date_and_site(session: Session) -> None:
    assert prints.newest_number(session, "mill-street", DAY) == 0
    for number in (1, 2, 3):
        add(session, row(number), [])
    add(session, row(1, DAY + timedelta(1)), [])
    assert prints.newest_number(session, "mill-street", DAY) == 3
    assert prints.newest_number(session, "mill-street", DAY + timedelta(1)) == 1
    assert prints.newest_number(session, "harbour", DAY) == 0


def test_a_number_is_used_once(session: Session) -> None:
    add(session, row(1), [])
    with pytest.raises(IntegrityError):
        add(session, row(1), [])


def test_prints_of_a_date_are_paged_by_number(session: Session) -> None:
    for number in (2, 1, 3):
        add(session, row(number), [])
    add(session, row(4, site="harbour"), [])
    assert [each.number for each in prints.page(session, "mill-street", DAY, 0, 2)] == [1, 2]
    assert [each.number for each in prints.page(session, "mill-street", DAY, 2, 2)] == [3]


def test_the_newest_work_is_that_of_the_newest_print_of_each_date(session: Session) -> None:
    add(session, row(1), [*soup(10), (ONION, "pull", {"tasks": [ONION], "frozen": {}})])
    add(session, row(2, at=SIX + HOUR), soup(20))
    tomorrow = DAY + timedelta(1)
    add(session, row(1, tomorrow, SIX + HOUR), soup(30))
    add(session, row(1, site="harbour"), soup(40))
    found = prints.newest_work(session, "mill-street", DAY, tomorrow)
    # The pull was on the first print alone: the newer one no longer asks for it.
    assert [(each.date, each.number, each.work, each.kind, litres(each)) for each in found] == [(DAY, 2, SOUP, "run", 20)]
    both = prints.newest_work(session, "mill-street", DAY, tomorrow + timedelta(1))
    assert [(each.date, litres(each)) for each in both] == [(DAY, 20), (tomorrow, 30)]
    assert prints.newest_work(session, "mill-street", tomorrow + timedelta(1), tomorrow + timedelta(9)) == []


def test_work_as_printed_last_is_that_of_the_newest_print_of_any_date(session: Session) -> None:
    yesterday = DAY - timedelta(1)
    add(session, row(1, DAY, SIX), soup(10, 2))
    add(session, row(1, yesterday, SIX + HOUR), soup(20, 1))
    assert litres(prints.printed_last(session, "mill-street", SOUP)) == 20
    add(session, row(2, yesterday, SIX + 2 * HOUR), [])
    # A newer print that has not got it says nothing of it.
    assert litres(prints.printed_last(session, "mill-street", SOUP)) == 20
    add(session, row(2, DAY, SIX + 3 * HOUR), soup(30, 2))
    assert litres(prints.printed_last(session, "mill-street", SOUP)) == 30
    assert prints.printed_last(session, "harbour", SOUP) is None
    assert prints.printed_last(session, "mill-street", f"{SOUP}-2") is None


def test_work_of_a_date_is_that_of_each_of_its_prints_that_shows_it(session: Session) -> None:
    add(session, row(1), soup(10, 1))
    add(session, row(2, at=SIX + HOUR), [])
    add(session, row(3, at=SIX + HOUR), soup(30, 1, 2))
    assert [each["tasks"] for each in prints.of_date(session, "mill-street", DAY, SOUP)] == [
        [f"{SOUP}.1"],
        [f"{SOUP}.1", f"{SOUP}.2"],
    ]
    assert prints.of_date(session, "mill-street", DAY + timedelta(1), SOUP) == []
    assert prints.of_date(session, "harbour", DAY, SOUP) == []


def test_a_print_like_another_takes_what_differs_and_its_date_is_no_difference(session: Session) -> None:
    sizes = []
    for on in (DAY + timedelta(days) for days in range(4)):
        steps = [{"at": f"{on}T{hour:02}:00", "use_by": f"{on + timedelta(hour % 3 - 1)}", "amount": hour**5} for hour in range(24)]
        printed = replace(row(1, on), document={"date": f"{on}", "far": "1999-12-31", "steps": steps})
        work = (SOUP, "run", {"tasks": [f"{SOUP}.1"], "frozen": {"on": f"{on}"}})
        packed = prints.pack(session, "mill-street", on, printed.document, [work])
        head = prints.PrintHead(site="mill-street", date=on, number=1, printed_at=SIX, printed_by=None)
        prints.add(session, head, packed)
        assert prints.read(session, "mill-street", on, 1) == printed
        assert prints.of_date(session, "mill-street", on, SOUP) == [work[2]]
        sizes.append(len(packed.content))
    assert max(sizes[1:]) < 80
