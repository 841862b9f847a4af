"""What was prepared holds for as long as nothing has moved: neither the catalogue nor the site."""

from collections.abc import Callable

import pytest
from sqlalchemy.orm import Session

from service.errors import Moved
from service.operations import prints, progress
from service.operations.basis import check_basis, read_basis
from service.operations.lists import ListRequest
from service.store import reports, revisions
from tests.operations.pot import STOCK, TUE, clock, prepare

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


@pytest.mark.parametrize("prepared", [prepared_print, prepared_report])
@pytest.mark.parametrize("scope", [revisions.CATALOGUE, revisions.site(SITE)])
def test_what_was_planned_before_a_change_is_not_kept_after_it(session: Session, prepared: Callable[[Session], Keep], scope: str) -> None:
    prepare(session)
    keep = prepared(session)
    revisions.bump(session, scope)
    with pytest.raises(Moved):
        keep()
    assert prints.print_page(session, SITE, TUE, 0, 10) == []
    assert (reports.of_work(session, SITE, STOCK), reports.fixed(session, SITE, [STOCK])) == ([], [])
    prepared(session)()
