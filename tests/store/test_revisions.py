from sqlalchemy.orm import Session

from service.store import revisions


def test_each_bump_counts_one_up_in_its_own_scope(session: Session) -> None:
    assert [revisions.bump(session, revisions.CATALOGUE) for _ in range(3)] == [1, 2, 3]
    assert revisions.bump(session, revisions.site("mill-street")) == 1
    assert revisions.current(session, ["catalogue", "site:mill-street", "site:harbour"]) == {
        "catalogue": 3,
        "site:mill-street": 1,
        "site:harbour": 0,
    }
    assert [revisions.number(session, scope) for scope in ("catalogue", "site:mill-street", "site:harbour")] == [3, 1, 0]
