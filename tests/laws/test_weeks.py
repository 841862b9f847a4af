"""Weeks (P15): what holds of a kitchen day after day, whatever is announced, counted, printed and reported there.

Uses are not compared where a run may be fixed in between: what it was made for takes it as a lot then, by a use (P9).
"""

from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from shutil import copy
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import assume, settings
from hypothesis.strategies import SearchStrategy
from sqlalchemy.orm import Session

from service.kitchen.book.item import Item
from service.kitchen.measures.calendar import ONE_DAY
from service.kitchen.planning.plan import Plan
from service.operations import prints
from service.operations.lists import ListRequest
from service.operations.tidiness import tidy
from service.store.engine import make_engine, session_factory
from service.store.prints import newest_number
from tests.laws.corner import SITE
from tests.laws.law import Decorator, law, with_settings
from tests.laws.lived import Json, Lived, asked, entries
from tests.laws.weeks import Ending, Print, Week, endings, weeks
from tests.profiles import examples

# What is reported may ask for more, which is reported too.
ROUNDS = 5


@pytest.fixture(scope="module")
def place(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database without anything in it, for each example to copy."""
    return Path(copy(migrated_file, tmp_path_factory.mktemp("weeks") / "empty.sqlite3"))


@contextmanager
def fresh(place: Path) -> Iterator[Session]:
    """A writer's session on a database of its own; nothing of it is ever committed."""
    file = Path(copy(place, place.with_name(f"{uuid4().hex}.sqlite3")))
    engine = make_engine(f"sqlite:///{file}")
    try:
        with session_factory(engine)() as session:
            yield session
    finally:
        engine.dispose()
        for each in file.parent.glob(f"{file.name}*"):
            each.unlink()


class TestClosedDays:
    def test_lists_are_those_of_a_planner_that_never_closes_a_day(self, place: Path) -> None:
        @law(weeks())
        def check(week: Week) -> None:
            with fresh(place) as session:
                lived = Lived(session, week)
                for act in lived.live():
                    for on in (lived.today, lived.today + timedelta(1)):
                        listed = lived.ask(on)
                        with lived.nothing_closed():
                            assert lived.ask(on) == listed, act

        check()


def law_of_a_week(*strategies: SearchStrategy[Any]) -> Decorator:
    """As ``law``, on half as many examples: a week takes as long as some kitchens."""
    return with_settings(settings(max_examples=examples(20)), *strategies)


def live(lived: Lived) -> None:
    """Let the whole week happen."""
    for _ in lived.live():
        pass


class TestTidiness:
    def test_lists_of_dates_that_are_kept_are_those_of_a_kitchen_that_forgets_nothing(self, place: Path) -> None:
        @law_of_a_week(weeks())
        def check(week: Week) -> None:
            with fresh(place) as session:
                lived = Lived(session, week)
                live(lived)
                for first in (lived.today - 2 * ONE_DAY, lived.today):
                    kept = [first + timedelta(days) for days in range(4)]
                    before = [lived.ask(on) for on in kept]
                    with session.begin_nested() as savepoint:
                        list(tidy(lambda: nullcontext(session), lambda: nullcontext(session), SITE, first, lived.now))
                        assert [lived.ask(on) for on in kept] == before, first
                        savepoint.rollback()

        check()


def end_the_day(lived: Lived, ending: Ending) -> None:
    """Live the week, and the last day to its end: all of it is printed, and all is reported as planned, but for what is left to the print.

    Nothing is left to it of what is late, or said to be open, or where something was counted on the day (P15 d, e). What is made
    late after such a count was never there for the guests that it was made for: of that no list can tell.
    """
    live(lived)
    lived.sit_up()
    leave = 0 if ending.counts_at_last else ending.left
    for _ in range(ROUNDS):
        shown = asked(lived.print(lived.today))
        assume(not (ending.counts_at_last and any(each["late"] for each in shown)))
        told = [each for place, each in enumerate(shown) if each["late"] or each["progress"] or leave == 0 or place % leave]
        if not told:
            return
        for each in ending.in_some_order(told):
            lived.report(lived.today, each["id"])
    pytest.fail("whatever is reported, more is asked for")


def asks(listed: Json) -> dict[str, float]:
    """What a list asks for, but for uses, what is left over, and what is to be discarded."""
    work = {
        f"{each['id']} {'late' if each['late'] else ''}": each["quantity"]["amount"]
        for each in entries(listed)
        if each.get("kind") != "use"
    }
    left: dict[str, float] = defaultdict(float)
    for place in ("left_over", "discard"):
        for row in listed[place]:
            left[f"{place} {row['item']} {row['use_by']}"] += row["quantity"]["amount"]
    return work | left


def nearly(amounts: Any) -> Any:
    return pytest.approx(amounts, rel=1e-6, abs=1e-6)


def assert_met(planned: Plan) -> None:
    """Every need of guests and of work that is to be done is met from lots, runs and pulls, or left out with a warning.

    Begun runs ask for what the stages of which nothing is reported draw.
    """
    asking = {(need.drawn_by.id, need.item, need.at) for need in planned.reported.needs if need.drawn_by and not need.settled}
    for each in planned.reported.runs:
        for stage in each.run.stages:
            if stage.number not in each.reports:
                drawn = {(each.run.id, draw.item, draw.at) for draw in each.run.draws if stage.takes(draw) and draw.amount > 0}
                assert drawn <= asking, stage
    met: dict[int, float] = defaultdict(float)
    for use in planned.uses:
        met[id(use.need)] += use.amount
    fed = [*(each for run in planned.runs for each in run.fed), *(each for pull in planned.pulls for each in pull.fed)]
    for need, amount in (*planned.left_out, *fed):
        met[id(need)] += amount
    for need in planned.needs:
        if need.par is None and not need.settled:
            assert met[id(need)] == nearly(need.amount), need


def still_to_be_done(lived: Lived) -> set[str]:
    """The tasks until today of begun runs that nobody reported, that no print of today assumes, and that can be used tomorrow."""
    end = lived.calendar.end(lived.today)
    number = newest_number(lived.session, SITE, lived.today)
    shown = entries(dict(prints.get_print(lived.session, SITE, lived.today, number))) if number else []
    assumed = {each["id"] for each in shown if not each["late"]}
    fixed = lived.plan(lived.today, lived.today).reported.runs
    begun = [each for each in fixed if any(output.use_by.lasts(end) for output in each.run.outputs)]
    waiting = {
        f"{each.run.id}.{stage.number}"
        for each in begun
        for stage in each.run.stages
        if stage.number not in each.reports and stage.on <= lived.today
    }
    return waiting - assumed


class TestNight:
    def test_a_list_is_the_same_the_evening_before_and_the_morning_after(self, place: Path) -> None:
        @law_of_a_week(endings())
        def check(ending: Ending) -> None:
            with fresh(place) as session:
                lived = Lived(session, ending.week)
                end_the_day(lived, ending)
                tomorrow = lived.today + ONE_DAY
                evening = asks(lived.ask(tomorrow))
                lived.wake_up()
                assert lived.today == tomorrow
                assert asks(lived.ask(tomorrow)) == nearly(evening)

        check()

    def test_every_lot_is_in_the_morning_what_was_left_of_it_in_the_evening(self, place: Path) -> None:
        @law_of_a_week(endings())
        def check(ending: Ending) -> None:
            with fresh(place) as session:
                lived = Lived(session, ending.week)
                end_the_day(lived, replace(ending, left=0))
                today, end = lived.today, lived.calendar.end(lived.today)
                evening = lived.plan(today, today + ONE_DAY)
                left: dict[Item, float] = defaultdict(float)
                for lot in evening.reported.lots:
                    taken = sum(use.amount for use in evening.uses if use.lot is lot and use.need.at < end)
                    if lot.use_by.lasts(end):
                        left[lot.item] += lot.amount - taken
                lived.wake_up()
                found: dict[Item, float] = defaultdict(float)
                for lot in lived.plan(lived.today, lived.today).reported.lots:
                    found[lot.item] += lot.amount
                for item in {*left, *found}:
                    assert found[item] == nearly(left[item]), item.label

        check()


class TestReports:
    def test_nothing_is_asked_twice(self, place: Path) -> None:
        @law_of_a_week(endings())
        def check(ending: Ending) -> None:
            with fresh(place) as session:
                lived = Lived(session, ending.week)
                live(lived)
                # Without a print work is fixed as it is asked for at its report, by what is reported of later work: then in order of time.
                printed = ending.left > 0
                shown = asked(lived.print(lived.today) if printed else lived.ask(lived.today))
                order = ending.in_some_order(shown) if printed else sorted(shown, key=lambda each: each.get("start") or each["start_by"])
                # What a count found was made before it, unless the report says when: now.
                said = {"at": lived.now.isoformat()} if ending.counts_at_last else {}
                for each in order:
                    lived.report(lived.today, each["id"], **said)
                assert asked(lived.ask(lived.today)) == []
                for act in (*ending.fewer_and_as_many_again(), *[Print(ending.at_last, 0)] * 2):
                    lived.do(act)
                assert asked(lived.ask(lived.today)) == []

        check()

    def test_a_report_alone_is_no_change_of_a_print(self, place: Path) -> None:
        @law_of_a_week(endings())
        def check(ending: Ending) -> None:
            with fresh(place) as session:
                lived = Lived(session, ending.week)
                live(lived)
                printed = lived.print(lived.today)
                shown = asked(printed)
                for word in ending.words if shown else ():
                    lived.say(lived.today, shown[word.entry % len(shown)], word)
                    told = prints.changes(session, ListRequest(site=SITE, on=lived.today), printed["print"], lived.now)
                    assert (told["added"], told["dropped"], told["changed"]) == ([], [], []), word

        check()

    def test_nothing_asked_for_is_lost(self, place: Path) -> None:
        @law_of_a_week(endings())
        def check(ending: Ending) -> None:
            with fresh(place) as session:
                lived = Lived(session, ending.week)
                for _ in lived.live():
                    assert_met(lived.plan(lived.today, lived.today))
                lived.sit_up()
                waiting = still_to_be_done(lived)
                lived.wake_up()
                assert_met(lived.plan(lived.today, lived.today))
                assert waiting <= {each["id"] for each in asked(lived.ask(lived.today))}

        check()
