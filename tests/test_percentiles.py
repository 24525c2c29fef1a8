"""Percentiles hold for kilns drawn afresh as often as they say; `python -m tests.percentiles` tries five kilns."""

import pytest

from tests.percentiles import KILNS, held


@pytest.mark.parametrize("name", ["brick and fibre", "brick, weighed"])
def test_nine_truths_in_ten_lie_above_the_p10_and_nine_below_the_p90(name):
    """Means over six ensembles of 32 draws: the share of one alone goes 5 % up and down."""
    above, below = held(KILNS[name], truths=200, ensembles=6)

    assert 0.85 < above < 0.95
    assert 0.85 < below < 0.95
