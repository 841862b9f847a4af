"""Who writes at the same time, and what the order of changes tells whoever asks for it meanwhile."""

import random
import threading
import time
from contextlib import suppress

import pytest
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from service.store import collections, idempotency, revisions
from service.store.engine import AT_ONCE_SECONDS, SITE, make_engine, session_factory
from tests.store.test_reports import NOON

SITES = ("annex", "harbour", "mill-street", "quay")
ALL = None


def begun(engine: Engine, site: str | None, wait: float | None = 0.2) -> Session:
    """A writer whose turn has come, for one site or for the whole group; raises OperationalError where it does not come."""
    session = session_factory(engine, wait=wait)()
    try:
        session.connection(execution_options={SITE: site})
    except OperationalError:
        session.close()
        raise
    return session


@pytest.mark.parametrize("second", ["harbour", "quay", ALL])
@pytest.mark.parametrize("first", ["quay", ALL])
def test_two_write_at_once_where_each_writes_for_a_site_of_its_own_on_postgresql(
    engine: Engine, first: str | None, second: str | None
) -> None:
    together = engine.dialect.name == "postgresql" and ALL not in (first, second) and first != second
    with begun(engine, first) as one:
        revisions.bump(one, f"scope of {first}")
        if together:
            with begun(engine, second) as other:
                revisions.bump(other, f"scope of {second}")
                other.commit()
        else:
            with pytest.raises(OperationalError):
                begun(engine, second)
        one.commit()
    with begun(engine, second):
        pass


def test_who_writes_for_the_whole_group_is_not_kept_waiting_by_ever_more_sites(postgresql_url: str) -> None:
    engine, over = make_engine(postgresql_url), threading.Event()

    def write(site: str) -> None:
        while not over.is_set():
            with begun(engine, site, wait=10) as session:
                time.sleep(0.01)
                session.commit()

    threads = [threading.Thread(target=write, args=(site,)) for site in SITES for _ in range(2)]
    for thread in threads:
        thread.start()
    try:
        for _ in range(5):
            begun(engine, ALL, wait=1).close()
    finally:
        over.set()
        for thread in threads:
            thread.join()
        engine.dispose()


def test_who_asks_for_the_order_of_changes_misses_none_while_sites_and_the_group_write(engine: Engine) -> None:
    """After each answer it knows every number as of that answer, whoever commits first and whether changes could be placed or not."""
    over, failures = threading.Event(), list[Exception]()

    def write(site: str | None, seed: int) -> None:
        dice, scopes = random.Random(seed), SITES if site is ALL else (site,)
        try:
            while not over.is_set():
                with begun(engine, site, wait=10) as session:
                    for scope in scopes:
                        revisions.bump(session, revisions.site(scope))
                    time.sleep(dice.uniform(0, 0.004))
                    session.commit()
                time.sleep(dice.uniform(0, 0.02 if site is ALL else 0.004))
        except Exception as error:  # noqa: BLE001 - a thread hands its failure to the test
            failures.append(error)

    threads = [threading.Thread(target=write, args=(site, seed)) for seed, site in enumerate([*SITES, ALL])]
    for thread in threads:
        thread.start()
    known, asked, places = dict[str, int](), 0, set[int]()
    try:
        for _ in range(60):
            with suppress(OperationalError), begun(engine, ALL, wait=AT_ONCE_SECONDS) as session:
                revisions.place(session)
                session.commit()
            with session_factory(engine, read_only=True)() as reader:
                every = revisions.every(reader)
            known |= {scope: revision.number for scope, revision in every.items() if revision.after(asked)}
            assert known == {scope: revision.number for scope, revision in every.items()}
            asked = revisions.last_place(every.values())
            places.add(asked)
            time.sleep(0.003)
    finally:
        over.set()
        for thread in threads:
            thread.join()
    assert failures == []
    assert len(places) > 5, "changes were placed now and then"


def test_what_has_changed_and_was_placed_since_is_told_no_more(session: Session) -> None:
    for site in SITES[:2]:
        revisions.bump(session, revisions.site(site))
    assert revisions.any_unplaced(session)
    revisions.place(session)
    assert not revisions.any_unplaced(session)
    before = revisions.every(session)
    revisions.bump(session, revisions.site(SITES[0]))
    revisions.place(session)
    assert before == {f"site:{site}": (1, 1) for site in SITES[:2]}
    assert revisions.every(session) == {"site:annex": (2, 2), "site:harbour": (1, 1)}
    revisions.place(session)
    assert revisions.every(session) == {"site:annex": (2, 2), "site:harbour": (1, 1)}, "nothing new, no new place"


def test_two_sites_that_let_go_of_the_same_old_answers_do_not_wait_for_each_other(postgresql_url: str) -> None:
    engine = make_engine(postgresql_url)
    kept = idempotency.Kept(request_hash="r", answered_at=NOON, status=201, headers={}, answer=None)
    with begun(engine, ALL) as session:
        collections.save(session, "sites", "quay", {"name": "Quay"})
        for number in range(3):
            idempotency.keep(session, idempotency.KeptUnder("token", "route", str(number)), kept)
        session.commit()
    with begun(engine, "quay") as one, begun(engine, "harbour") as other:
        idempotency.forget(one, NOON)
        other.connection().exec_driver_sql("SET LOCAL lock_timeout = 100")
        idempotency.forget(other, NOON)
        other.rollback()
        one.commit()
    with begun(engine, ALL) as session:
        assert idempotency.find(session, idempotency.KeptUnder("token", "route", "0"), NOON.replace(year=2000)) is None
    engine.dispose()
