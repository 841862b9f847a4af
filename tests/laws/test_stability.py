"""A small change of what is expected moves little of the day (K17): who reads a list knows most of the one before."""

from tests.laws.stability import count_moves


def test_few_loads_move_when_one_forecast_changes_by_a_twentieth() -> None:
    moves = count_moves(1, every=4)
    assert moves.changes >= 12
    assert moves.loads > 200 * moves.changes
    assert 0 < moves.moved < 0.04 * moves.loads
