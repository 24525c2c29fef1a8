"""Draws of what is not known: strata, bands, percentiles, each against scipy or a count by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from recover.base.errors import QuantityError
from recover.physics.draws import CONFIDENCE, Spread, from_band, shares, spread
from recover.physics.materials import Band

BAND = Band(
    270, 400, 560
)  # kg/m³, what soaked insulating brick holds: own limit, read from the materials' file elsewhere

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


@pytest.mark.parametrize(
    "band", [BAND, Band(-3, -1, -0.5), Band(-1, 0, 5), Band(0, 100, 200), Band(1e-12, 1e-11, 1e-10)]
)
def test_a_band_is_the_tenth_the_fiftieth_and_the_ninetieth_percentile(band):
    values = from_band(band, np.array([0.1, 0.5, 0.9]))
    assert values == pytest.approx([band.low, band.mid, band.high], rel=1e-9, abs=1e-9)


def test_a_positive_band_is_two_halves_of_normal_distributions_of_the_logarithm():
    """Against scipy, on either side of the middle."""
    below, above = np.array([1e-4, 0.05, 0.3]), np.array([0.7, 0.95, 1 - 1e-4])
    for share, end in ((below, 270), (above, 560)):
        deviation = abs(np.log(end / 400)) / stats.norm.ppf(0.9)
        assert from_band(BAND, share) == pytest.approx(stats.lognorm(deviation, scale=400).ppf(share), rel=1e-9)


def test_percentiles_of_stratified_draws_are_those_of_the_band():
    """A stratum is 1 in 1000: the percentiles lie within two of them."""
    values = from_band(BAND, shares("water", 1000, 3))
    assert [np.mean(values <= end) for end in (270, 400, 560)] == pytest.approx([0.1, 0.5, 0.9], abs=0.002)
    found = spread(values)
    assert (found.p10, found.p50, found.p90) == pytest.approx((270, 400, 560), rel=0.003)


def test_tails_go_on_beyond_the_band_and_are_cut_where_matter_ends():
    values = from_band(BAND, shares("water", 1000, 3), most=600.0)
    assert values.min() < 250
    assert values.max() == 600
    assert np.quantile(values, 0.9) == pytest.approx(560, rel=0.003)
    assert from_band(Band(0, 100, 200), np.array([0.01])) == 0


@given(bands)
def test_what_is_drawn_rises_with_its_share(band):
    values = from_band(band, np.linspace(0.001, 0.999, 50))
    assert np.all(np.diff(values) >= -1e-9 * values[1:])


@given(bands, st.floats(1, 3))
def test_a_spread_is_widened_about_its_middle_to_a_factor_and_never_narrowed(band, factor):
    own = Spread(band.low, band.mid, band.high, band)
    found = own.at_least(Band(1 / factor, 1, factor))
    assert found.p10 <= min(own.p10, own.p50 / factor * (1 + 1e-9))
    assert found.p90 >= max(own.p90, own.p50 * factor)
    assert found.p50 == own.p50
    assert found.p90_error.low <= found.p90 <= found.p90_error.high


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
    true = BAND.high
    errors = [spread(from_band(BAND, generator.random(200))).p90_error for _ in range(2000)]
    held = sum(error.low <= true <= error.high for error in errors) / 2000
    assert 0.94 < held < 0.985


def test_stratified_draws_settle_the_p90_better_than_the_interval_says():
    found = [spread(from_band(BAND, shares("water", 200, seed))) for seed in range(100)]
    assert all(one.p90_error.low <= BAND.high <= one.p90_error.high for one in found)
    assert np.std([one.p90 for one in found]) < 0.1 * (found[0].p90_error.high - found[0].p90_error.low)


@pytest.mark.parametrize(
    ("refused", "expected"),
    [
        (lambda: shares("water", 0, 1), "1 draw or more"),
        (lambda: shares("water", 10, -1), "seed from 0"),
        (lambda: from_band(BAND, np.array([1.5])), "share of a band: 1.5 to 1.5; expected between 0 and 1"),
        (lambda: from_band(BAND, np.array([0.5]), 500), "high end 560; expected 500 or less"),
        (lambda: spread(np.array([])), "at least one"),
        (lambda: spread(np.array([1.0, np.nan])), "not all of them numbers"),
    ],
)
def test_what_cannot_be_drawn_is_refused(refused, expected):
    with pytest.raises(QuantityError, match=expected):
        refused()
