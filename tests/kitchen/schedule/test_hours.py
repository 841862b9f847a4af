"""The latest moments of steps by the hours of stations alone (K2, K3, K6)."""

from service.kitchen.schedule.hours import Hours, StepTimes, latest_by_hours
from service.kitchen.schedule.problem import LoadStep, Rest, Shift
from tests.kitchen.schedule.worked import CASES, problem_of, step_of

DAY = 24 * 60


def clock(hour: int, minute: int = 0, *, days: int = 0) -> int:
    return days * DAY + hour * 60 + minute


def example(name: str) -> tuple[list[LoadStep], Hours]:
    case = next(case for case in CASES if case["name"].startswith(name))
    return [step_of(step) for step in case["loads"][0]["steps"]], Hours(problem_of(case).shifts)


def starts(times: tuple[StepTimes, ...] | None) -> list[int]:
    assert times is not None
    return [time.starts for time in times]


def test_a_longer_rest_brings_the_shaping_into_the_hours_of_the_bakery() -> None:
    """W3 of the worked examples: retarded 13 h 51 min rather than the 12 h of its target."""
    loaf, hours = example("W4a")
    assert latest_by_hours(loaf, hours, clock(7)) == (
        StepTimes(clock(14, 30, days=-1), clock(15, days=-1), clock(15, 15, days=-1)),
        StepTimes(clock(15, 15, days=-1), clock(15, 15, days=-1), clock(5, 6)),
        StepTimes(clock(5, 6), clock(5, 18), clock(6)),
        StepTimes(clock(6), clock(6), clock(7)),
    )


def test_what_is_in_the_oven_over_night_is_taken_out_when_somebody_is_there() -> None:
    """W4: in at 21:40 of the evening before, out at 05:00 after the longest rest, ready at 06:10."""
    pork, hours = example("W5")
    times = latest_by_hours(pork, hours, clock(7, 30))
    assert starts(times) == [clock(21, 40, days=-1), clock(5)]
    assert times is not None
    assert times[-1].ends == clock(6, 10)


def test_a_piece_lies_in_one_shift_even_where_two_overlap() -> None:
    shifts = [Shift("Night", ("bakery",), 1, ((120, 600),)), Shift("Day", ("bakery",), 1, ((540, 900),))]
    piece = [LoadStep(active=90, station="bakery")]
    assert starts(latest_by_hours(piece, Hours(shifts), 650)) == [560]
    assert starts(latest_by_hours(piece, Hours(shifts), 629)) == [510]


def test_rests_run_on_while_nobody_is_there() -> None:
    step = LoadStep(active=10, rest=Rest(60, 60, 60), station="veg")
    assert starts(latest_by_hours([step], Hours([Shift("Early", ("veg",), 1, ((0, 100),))]), 1000)) == [90]


def test_in_and_out_may_be_at_the_edges_of_a_shift() -> None:
    step = LoadStep(active=0, rest=Rest(60, 60, 60), station="veg", equipment="oven")
    hours = Hours([Shift("Early", ("veg",), 1, ((0, 100), (160, 200)))])
    assert starts(latest_by_hours([step], hours, 199)) == [100]


def test_steps_in_a_row_in_one_equipment_are_not_taken_out_between() -> None:
    step = LoadStep(active=0, rest=Rest(30, 30, 30), station="veg", equipment="oven")
    hours = Hours([Shift("Early", ("veg",), 1, ((0, 100), (160, 200)))])
    assert starts(latest_by_hours([step, step], hours, 199)) == [100, 130]
    assert starts(latest_by_hours([step, LoadStep(active=0, station="veg"), step], hours, 199)) == [40, 70, 70]


def test_the_last_rest_may_last_longer_or_shorter_too() -> None:
    step = LoadStep(active=10, rest=Rest(20, 30, 60), station="veg")
    hours = Hours([Shift("Early", ("veg",), 1, ((0, 100),))])
    assert latest_by_hours([step], hours, 130) == (StepTimes(90, 100, 130),)
    assert latest_by_hours([step], hours, 150) == (StepTimes(90, 100, 150),)
    assert latest_by_hours([step], hours, 170) == (StepTimes(90, 100, 160),)


def test_k6_of_two_rests_as_near_to_the_target_the_longer_counts() -> None:
    steps = [LoadStep(active=0, rest=Rest(0, 50, 90), station="veg"), LoadStep(active=0, station="line")]
    shut = Hours([Shift("Split", ("veg",), 1, ((0, 40), (60, 100)))])
    put = [LoadStep(active=0, rest=Rest(0, 50, 90), station="veg", equipment="oven"), LoadStep(active=0, station="line", equipment="oven")]
    assert starts(latest_by_hours(steps, shut, 100)) == [50, 100]
    assert starts(latest_by_hours(put, shut, 100)) == [40, 100]


def test_there_is_no_place_more_than_14_days_before_it_is_due() -> None:
    steps = [LoadStep(active=10, station="veg")]
    open_once = Hours([Shift("Early", ("veg",), 1, ((0, 10),))])
    assert starts(latest_by_hours(steps, open_once, 14 * DAY)) == [0]
    assert latest_by_hours(steps, open_once, 14 * DAY + 1) is None


def test_a_station_whose_shifts_have_no_cooks_is_shut_and_one_that_none_names_is_always_open() -> None:
    hours = Hours([Shift("Early", ("veg",), 0, ((0, 100),))])
    assert latest_by_hours([LoadStep(active=10, station="veg")], hours, 90) is None
    assert starts(latest_by_hours([LoadStep(active=10, station="hot-line")], hours, 90)) == [80]


def test_someone_is_there_since_the_first_of_shifts_that_touch() -> None:
    names = ("veg",)
    hours = Hours([Shift("One", names, 1, ((0, 100),)), Shift("Two", names, 1, ((100, 200),)), Shift("Three", names, 1, ((250, 300),))])
    assert [hours.staffed_since("veg", moment) for moment in (50, 150, 260)] == [0, 0, 250]
