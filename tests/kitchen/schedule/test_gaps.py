"""Free time as it is taken."""

import random

import pytest

from service.kitchen.schedule.gaps import FUTURE, PAST, Gaps, Room, earliest, latest

LAST = 40


def free_minutes(gaps: Gaps) -> set[int]:
    return {minute for start, end in zip(gaps.starts, gaps.ends, strict=True) for minute in range(max(start, 0), min(end, LAST))}


@pytest.mark.parametrize("seed", range(50))
def test_what_is_taken_with_its_turn_round_is_free_no_more(seed: int) -> None:
    dice = random.Random(seed)
    gaps, free = Gaps([(2, 15), (18, 38)]), {*range(2, 15), *range(18, 38)}
    for _ in range(4):
        start = dice.randrange(LAST)
        end, turn = start + dice.randint(1, 6), dice.choice([0, 2])
        gaps.take(start, end, turn)
        free -= set(range(start - turn, end + turn))
        assert free_minutes(gaps) == free
        assert all(end < start for end, start in zip(gaps.ends, gaps.starts[1:], strict=False)), "stretches do not touch"


@pytest.mark.parametrize("seed", range(50))
def test_the_latest_and_earliest_free_minutes_are_those_counted_out(seed: int) -> None:
    dice = random.Random(seed)
    rows = [Gaps([(2, 15), (18, 38)]), Gaps([(0, 30)])]
    for row in rows:
        for _ in range(3):
            start = dice.randrange(LAST)
            row.take(start, start + dice.randint(1, 5))
    minutes = dice.randint(0, 6)
    starts = [at for at in range(LAST) if any(row.around(at, at + minutes) for row in rows)]
    for moment in range(LAST):
        assert latest(rows, moment, minutes) == max((at for at in starts if at <= moment), default=PAST)
        assert earliest(rows, moment, minutes) == min((at for at in starts if at >= moment), default=FUTURE)


def test_there_is_room_for_a_share_where_all_others_leave_it() -> None:
    room = Room(10)
    room.take(100, 200, 6)
    room.take(150, 250, 4)
    assert (room.free(4).starts, room.free(4).ends) == ([PAST, 200], [150, FUTURE])
    assert (room.free(5).starts, room.free(5).ends) == ([PAST, 200], [100, FUTURE])
    assert (room.free(7).starts, room.free(7).ends) == ([PAST, 250], [100, FUTURE])
    assert room.free(11).starts == []


def test_a_copy_is_taken_from_by_itself() -> None:
    room, gaps = Room(1), Gaps([(0, 10)])
    room.copy().take(0, 5, 1)
    gaps.copy().take(0, 5)
    assert (room.free(1).starts, gaps.starts) == ([PAST], [0])
