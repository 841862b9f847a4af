"""What holds of every schedule, over days by chance (K2, K4 to K10, and the guarantees of capacity)."""

import random
from collections import defaultdict
from dataclasses import replace
from itertools import pairwise

import pytest

from service.kitchen.schedule.answer import Placed, Schedule
from service.kitchen.schedule.problem import WHOLE, Load, Problem
from service.kitchen.schedule.schedule import schedule
from service.kitchen.schedule.usable import usable_until
from tests.kitchen.schedule.days import day

SEEDS = range(150)


@pytest.fixture(scope="module", params=SEEDS)
def found(request: pytest.FixtureRequest) -> tuple[Problem, Schedule]:
    problem = day(request.param)
    return problem, schedule(problem)


def test_every_load_is_placed_or_left_out(found: tuple[Problem, Schedule]) -> None:
    problem, answer = found
    assert sorted([*answer.place, *(conflict.load for conflict in answer.left_out)]) == sorted(problem.load)


def test_steps_follow_one_another_with_rests_between_least_and_most(found: tuple[Problem, Schedule]) -> None:
    problem, answer = found
    for placed in answer.placed:
        moments = pairwise((*placed.starts, placed.ready))
        for step, (start, end) in zip(problem.load[placed.load].steps, moments, strict=True):
            assert step.rest.least <= end - start - step.active <= step.rest.most


def test_nothing_begins_before_the_release_or_is_ready_too_early_or_late(found: tuple[Problem, Schedule]) -> None:
    problem, answer = found
    for placed in answer.placed:
        load = problem.load[placed.load]
        assert placed.starts[0] >= problem.release
        assert load.due is None or placed.ready <= load.due
        assert load.not_ready_before is None or placed.ready >= load.not_ready_before


def test_each_piece_has_a_cook_of_its_station_in_one_shift(found: tuple[Problem, Schedule]) -> None:
    problem, answer = found
    shifts = {shift.name: shift for shift in problem.shifts}
    staffed = {station for shift in problem.shifts for station in shift.stations}
    for placed in answer.placed:
        hands = {piece.step: piece for piece in placed.hands}
        for number, step in enumerate(problem.load[placed.load].steps):
            if not step.active:
                assert number not in hands
                continue
            piece = hands[number]
            assert (piece.starts, piece.ends) == (placed.starts[number], placed.starts[number] + step.active)
            if step.station not in staffed:
                assert piece.cook is None
                continue
            assert piece.cook is not None
            shift = shifts[piece.cook.shift]
            assert step.station in shift.stations
            assert 1 <= piece.cook.number <= shift.cooks
            assert any(begins <= piece.starts and piece.ends <= ends for begins, ends in shift.hours)


def test_no_cook_does_two_things_at_once(found: tuple[Problem, Schedule]) -> None:
    _, answer = found
    work = defaultdict(list)
    for placed in answer.placed:
        for piece in placed.hands:
            if piece.cook:
                work[piece.cook].append((piece.starts, piece.ends))
    for pieces in work.values():
        assert all(end <= start for (_, end), (start, _) in pairwise(sorted(pieces)))


def test_each_stay_has_a_machine_and_is_put_in_and_taken_out_on_shift(found: tuple[Problem, Schedule]) -> None:
    problem, answer = found
    kinds = {kind.code: kind for kind in problem.equipment}
    hours: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for shift in problem.shifts:
        for station in shift.stations:
            hours[station] += shift.hours
    for placed in answer.placed:
        load = problem.load[placed.load]
        wanted = [number for number, step in enumerate(load.steps) if step.equipment in kinds]
        first = [number for number in wanted if number == 0 or load.steps[number - 1].equipment != load.steps[number].equipment]
        edges = {number: (placed.starts[number], out(load, placed, number)) for number in first}
        assert {stay.step: (stay.starts, stay.ends) for stay in placed.stays} == {n: edge for n, edge in edges.items() if edge[0] < edge[1]}
        for stay in placed.stays:
            assert (stay.number is None) == kinds[stay.equipment].shared
            station = load.steps[stay.step].station
            for edge in (stay.starts, stay.ends):
                assert station not in hours or any(begins <= edge <= ends for begins, ends in hours[station])


def out(load: Load, placed: Placed, number: int) -> int:
    """When what a step puts into equipment is taken out."""
    steps = load.steps
    after = next((later for later in range(number, len(steps)) if steps[later].equipment != steps[number].equipment), None)
    return placed.ready if after is None else placed.starts[after]


def test_a_machine_has_one_load_at_a_time_and_its_turn_round_between(found: tuple[Problem, Schedule]) -> None:
    problem, answer = found
    kinds = {kind.code: kind for kind in problem.equipment}
    work = defaultdict(list)
    for placed in answer.placed:
        for stay in placed.stays:
            if stay.number is not None:
                assert 1 <= stay.number <= kinds[stay.equipment].count
                work[stay.equipment, stay.number].append((stay.starts, stay.ends, placed.load))
    for (code, _), stays in work.items():
        for (_, end, before), (start, _, after) in pairwise(sorted(stays)):
            assert end + (kinds[code].turn_round if before != after else 0) <= start


def test_shared_equipment_never_holds_more_than_there_is(found: tuple[Problem, Schedule]) -> None:
    problem, answer = found
    for kind in problem.equipment:
        if kind.shared:
            stays = [stay for placed in answer.placed for stay in placed.stays if stay.equipment == kind.code]
            for at in {stay.starts for stay in stays}:
                assert sum(stay.share for stay in stays if stay.starts <= at < stay.ends) <= kind.count * WHOLE


def test_nothing_draws_on_what_is_not_ready_or_past_its_use(found: tuple[Problem, Schedule]) -> None:
    problem, answer = found
    for draw in (draw for draws in problem.draws_on.values() for draw in draws):
        if draw.supply in answer.place and draw.load in answer.place:
            moment, ready = answer.place[draw.load].starts[draw.step], answer.place[draw.supply].ready
            assert ready <= moment <= usable_until(ready, draw.keeps, problem.day_starts)


def earlier(problem: Problem, answer: Schedule) -> list[Placed]:
    """All placed loads, each earlier by its slack."""
    moved = []
    for placed in answer.placed:
        by = placed.slack
        hands = tuple(piece._replace(starts=piece.starts - by, ends=piece.ends - by) for piece in placed.hands)
        stays = tuple(stay._replace(starts=stay.starts - by, ends=stay.ends - by) for stay in placed.stays)
        starts = tuple(start - by for start in placed.starts)
        moved.append(replace(placed, starts=starts, ready=placed.ready - by, hands=hands, stays=stays))
    return moved


def test_k15_all_could_begin_earlier_by_their_slack_together(found: tuple[Problem, Schedule]) -> None:
    problem, answer = found
    moved = problem, replace(answer, placed=tuple(earlier(problem, answer)))
    for holds in (
        test_nothing_begins_before_the_release_or_is_ready_too_early_or_late,
        test_each_piece_has_a_cook_of_its_station_in_one_shift,
        test_no_cook_does_two_things_at_once,
        test_each_stay_has_a_machine_and_is_put_in_and_taken_out_on_shift,
        test_a_machine_has_one_load_at_a_time_and_its_turn_round_between,
        test_shared_equipment_never_holds_more_than_there_is,
    ):
        holds(moved)
    for draw in (draw for draws in problem.draws_on.values() for draw in draws):
        if draw.supply in answer.place and draw.load in answer.place:
            moment, ready = moved[1].place[draw.load].starts[draw.step], moved[1].place[draw.supply].ready
            assert ready <= moment
            if draw.keeps and draw.keeps.unit == "h":
                assert moment <= ready + draw.keeps.amount
            elif draw.keeps:
                assert answer.place[draw.load].starts[draw.step] <= usable_until(ready, draw.keeps, problem.day_starts)


def shuffled(problem: Problem, seed: int) -> Problem:
    def mixed(loads: tuple[Load, ...]) -> tuple[Load, ...]:
        return tuple(random.Random(seed).sample(loads, len(loads)))

    return replace(problem, loads=mixed(problem.loads))


@pytest.mark.parametrize("seed", range(30))
def test_a_schedule_does_not_hang_on_the_order_in_which_loads_are_told(seed: int) -> None:
    problem = day(seed)
    one, other = schedule(problem), schedule(shuffled(problem, seed))
    assert other.place == one.place
    assert {conflict.load: conflict for conflict in other.left_out} == {conflict.load: conflict for conflict in one.left_out}


def test_days_by_chance_leave_some_loads_out_and_most_not() -> None:
    answers = [schedule(day(seed)) for seed in SEEDS]
    left, placed = sum(len(each.left_out) for each in answers), sum(len(each.placed) for each in answers)
    assert 0.05 < left / (left + placed) < 0.5
    assert sum(1 for each in answers if not each.left_out) > 20
    assert sum(len(stay) for each in answers for stay in [[s for p in each.placed for s in p.stays]]) > 100
    assert any(load.slack for each in answers for load in each.placed)
