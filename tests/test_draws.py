"""Draws of what is not known: strata, triangles, percentiles, each against scipy or a count by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from recover.base.errors import QuantityError
from recover.physics.draws import CONFIDENCE, from_band, shares, spread
from recover.physics.materials import Band

BAND = Band(
    270, 400, 560
)  # kg/m³, what soaked insulating brick holds: own limit, read from the materials' file elsewhere
TRIANGLE = stats.triang((400 - 270) / 290, loc=270, scale=290)

bands = st.lists(st.floats(1e-3, 1e6), min_size=3, max_size=3).map(lambda three: Band(*sorted(three)))


@given(st.text(min_size=1, max_size=30), st.integers(1, 500), st.integers(0, 2**32))
def test_every_stratum_holds_exactly_one_draw(name, draws, seed):
    drawn = shares(name, draws, seed)
    assert np.array_equal(np.sort(np.floor(drawn * draws)), np.arange(draws))
    assert drawn.min() > 0
    assert drawn.max() < 1


def test_a_draw_depends_on_seed_name_and_number_of_draws_alone():
    alone = shares("water held by ifb_23", 100, 7)
    shares("another quantity", 100, 7)
    assert np.array_equal(alone, shares("water held by ifb_23", 100, 7))
    for other in (shares("water held by ifb_26", 100, 7), shares("water held by ifb_23", 100, 8)):
        assert not np.array_equal(alone, other)


def test_two_quantities_are_drawn_apart():
    """Of 1000 independent pairs the rank correlation stays below 3.3 / sqrt(1000), in 999 of 1000 cases."""
    assert abs(stats.spearmanr(shares("one", 1000, 1), shares("other", 1000, 1)).statistic) < 3.3 / 1000**0.5


@pytest.mark.parametrize("share", [1e-6, 0.1, 0.25, 130 / 290, 0.5, 0.9, 1 - 1e-6])
def test_the_triangle_is_that_of_scipy(share):
    assert from_band(BAND, np.array([share]))[0] == pytest.approx(TRIANGLE.ppf(share), rel=1e-12)


def test_mean_and_percentiles_of_stratified_draws_are_those_of_the_triangle():
    """A stratum is 1 in 1000: the percentiles lie within two of them, the mean far closer than chance would have it."""
    values = from_band(BAND, shares("water", 1000, 3))
    found = spread(values)
    assert values.mean() == pytest.approx(TRIANGLE.mean(), rel=1e-4)
    assert values.std() == pytest.approx(TRIANGLE.std(), rel=2e-3)
    for percentile, value in ((0.1, found.p10), (0.5, found.p50), (0.9, found.p90)):
        assert abs(TRIANGLE.cdf(value) - percentile) < 0.002


def test_orders_of_magnitude_are_drawn_by_their_logarithm():
    """Permeability from 1e-12 to 1e-10 m² with its peak at 1e-11: the median is the peak, the decades weigh alike."""
    values = from_band(Band(1e-12, 1e-11, 1e-10), shares("permeability", 1000, 1), log=True)
    assert np.median(values) == pytest.approx(1e-11, rel=0.01)
    logarithms = stats.triang(0.5, loc=-12, scale=2)
    assert np.quantile(np.log10(values), 0.9) == pytest.approx(logarithms.ppf(0.9), abs=0.005)


@given(bands, st.booleans())
def test_what_is_drawn_stays_within_the_band_and_rises_with_its_share(band, log):
    values = from_band(band, np.linspace(0, 1, 50), log=log)
    assert np.all(np.diff(values) >= -1e-9 * band.high)
    assert values[0] == pytest.approx(band.low)
    assert values[-1] == pytest.approx(band.high)


def test_what_is_known_is_drawn_as_itself():
    assert set(from_band(Band.exactly(400), shares("known", 50, 1))) == {400}


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=300).map(np.array))
def test_percentiles_stand_in_their_order(values):
    found = spread(values)
    assert found.p10 <= found.p50 <= found.p90
    assert found.p90_error.low <= found.p90 <= found.p90_error.high


@pytest.mark.parametrize("draws", [60, 200, 1000])
def test_the_interval_about_the_p90_runs_between_the_ranks_of_the_binomial(draws):
    """Ranks r and s (from 1) with P(B < r) and P(B >= s) at most 2.5 %, B binomial (n, 0.9): scipy."""
    found = spread(np.arange(1.0, draws + 1))
    rank, upper = stats.binom.ppf((1 - CONFIDENCE) / 2, draws, 0.9), stats.binom.ppf((1 + CONFIDENCE) / 2, draws, 0.9)
    assert (found.p90_error.low, found.p90_error.high) == (rank, upper + 1)


def test_the_interval_holds_the_true_p90_as_often_as_it_says():
    """2000 samples of 200 independent draws: 95 to 97.5 % of the intervals, give or take chance."""
    generator = np.random.default_rng(5)
    true = TRIANGLE.ppf(0.9)
    errors = [spread(from_band(BAND, generator.random(200))).p90_error for _ in range(2000)]
    held = sum(error.low <= true <= error.high for error in errors) / 2000
    assert 0.94 < held < 0.985


def test_stratified_draws_settle_the_p90_better_than_the_interval_says():
    found = [spread(from_band(BAND, shares("water", 200, seed))) for seed in range(100)]
    assert all(one.p90_error.low <= TRIANGLE.ppf(0.9) <= one.p90_error.high for one in found)
    assert np.std([one.p90 for one in found]) < 0.1 * (found[0].p90_error.high - found[0].p90_error.low)


@pytest.mark.parametrize(
    ("refused", "expected"),
    [
        (lambda: shares("water", 0, 1), "1 draw or more"),
        (lambda: shares("water", 10, -1), "seed from 0"),
        (lambda: from_band(BAND, np.array([1.5])), "share of a band: 1.5 to 1.5; expected 0 to 1"),
        (lambda: from_band(Band(0, 1, 2), np.array([0.5]), log=True), "low end 0; expected more than 0"),
        (lambda: spread(np.array([])), "at least one"),
        (lambda: spread(np.array([1.0, np.nan])), "not all of them numbers"),
    ],
)
def test_what_cannot_be_drawn_is_refused(refused, expected):
    with pytest.raises(QuantityError, match=expected):
        refused()
