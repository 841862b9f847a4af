"""What was prepared holds for as long as nothing has moved: a print until its site does, a report until more is known of its work."""

from collections.abc import Callable

import pytest
from sqlalchemy.orm import Session

from service.errors import Moved
from service.operations import prints, progress
from service.operations.basis import check_basis, read_basis
from service.operations.lists import ListRequest
from service.store import reports, revisions
from tests.operations.pot import PULL, STOCK, TUE, WED, clock, expect, prepare, print_on, report

SITE = "quay"
EIGHT = clock(TUE, 8)
DOING = {"state": "doing", "made": None, "begun": None, "drawn": None, "at": None, "note": ""}

Keep = Callable[[], object]


def prepared_print(session: Session) -> Keep:
    made = prints.prepare(session, ListRequest(site=SITE, on=TUE), EIGHT)
    return lambda: prints.keep(session, made, EIGHT, None)


def prepared_report(session: Session) -> Keep:
    made = progress.prepare(session, ListRequest(site=SITE, on=TUE), f"{STOCK}.1", DOING, EIGHT)
    return lambda: progress.keep(session, made)


def test_a_basis_holds_until_one_of_its_scopes_moves(session: Session) -> None:
    basis = read_basis(session, [revisions.CATALOGUE, revisions.site(SITE)])
    revisions.bump(session, revisions.site("pier"))
    check_basis(session, basis)
    revisions.bump(session, revisions.site(SITE))
    with pytest.raises(Moved):
        check_basis(session, basis)


@pytest.mark.parametrize(
    ("prepared", "scope"),
    [(prepared_print, revisions.CATALOGUE), (prepared_print, revisions.site(SITE)), (prepared_report, revisions.CATALOGUE)],
)
def test_what_was_planned_before_a_change_is_not_kept_after_it(session: Session, prepared: Callable[[Session], Keep], scope: str) -> None:
    prepare(session)
    keep = prepared(session)
    revisions.bump(session, scope)
    with pytest.raises(Moved):
        keep()
    assert prints.print_page(session, SITE, TUE, 0, 10) == []
    assert (reports.of_work(session, SITE, STOCK), reports.fixed(session, SITE, [STOCK])) == ([], [])
    prepared(session)()


def another_report(session: Session) -> None:
    report(session, WED, f"{STOCK}.2", EIGHT)


def a_print_that_shows_it(session: Session) -> None:
    print_on(session, TUE, EIGHT)


@pytest.mark.parametrize("more", [another_report, a_print_that_shows_it])
def test_a_report_is_not_kept_once_more_is_known_of_its_work(session: Session, more: Callable[[Session], None]) -> None:
    prepare(session)
    keep = prepared_report(session)
    more(session)
    said = reports.of_work(session, SITE, STOCK)
    with pytest.raises(Moved):
        keep()
    assert reports.of_work(session, SITE, STOCK) == said
    prepared_report(session)()


def test_a_report_is_kept_as_it_was_prepared_whatever_else_the_site_reports_counts_and_forecasts_meanwhile(session: Session) -> None:
    prepare(session)
    keep = prepared_report(session)
    expect(session, WED, 60)
    report(session, TUE, PULL, EIGHT)
    keep()
    [fixed] = reports.fixed(session, SITE, [STOCK])
    # As it was listed when it was reported, for 24 bowls and not for 60.
    assert float(fixed.document["outputs"][0]["quantity"]) / 1000 == 10
