"""Draws of what is not known, and what they spread to.

A span of assumptions becomes a triangle between low and high with its peak at mid: the choice of this project, since no
more is known of most spans than their ends and the likeliest. It is no measured distribution, and the percentiles of
what is computed from it are a spread of assumed inputs, not an error of measurement.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import exp, lgamma, log
from typing import TYPE_CHECKING

from recover.base.errors import QuantityError
from recover.physics.materials import Band

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Values = NDArray[np.float64]

CONFIDENCE = 0.95
"""How often the interval about a percentile holds it."""


def shares(name: str, draws: int, seed: int) -> Values:
    """Return numbers between 0 and 1, exactly one in each of `draws` equal strata, in a random order.

    They depend on the seed, the name of the quantity and the number of draws alone, so that another quantity does not
    move them and two jobs are compared draw by draw. Stratified: McKay, Beckman and Conover, Technometrics 21 (1979)
    239, from memory. Raises QuantityError.
    """
    import numpy as np

    if draws < 1 or seed < 0:
        raise QuantityError(f"draws of {name}", f"{draws} with seed {seed}", "1 draw or more, a seed from 0 upwards")
    generator = np.random.default_rng([seed, draws, *name.encode()])
    drawn = (generator.permutation(draws) + generator.random(draws)) / draws
    return np.clip(drawn, 2.0**-60, 1 - 2.0**-53)


def from_band(band: Band, share: Values, *, log: bool = False) -> Values:
    """Return the values below which the given shares of a band's triangle lie; `log`: a triangle of the logarithm.

    F(x) = (x - a)² / ((b - a)(m - a)) up to the peak m, 1 - (b - x)² / ((b - a)(b - m)) beyond, solved for x. The
    logarithm suits what is known to an order of magnitude: permeability, liquid diffusivity, hygroscopic width.
    Raises QuantityError for shares outside 0 to 1, or the logarithm of a band that reaches 0.
    """
    import numpy as np

    if np.any((share < 0) | (share > 1)):
        raise QuantityError("share of a band", f"{share.min():g} to {share.max():g}", "0 to 1")
    if log:
        if not band.low > 0:
            raise QuantityError("logarithm of a band", f"low end {band.low:g}", "more than 0")
        return np.exp(from_band(Band(*np.log([band.low, band.mid, band.high])), share))
    width, rise, fall = band.high - band.low, band.mid - band.low, band.high - band.mid
    before = share * width < rise
    return np.where(
        before,
        band.low + np.sqrt(share * width * rise),
        band.high - np.sqrt((1 - share) * width * fall),
    )


@dataclass(frozen=True)
class Spread:
    """The percentiles of what was computed for many draws; `p90_error` is how far so few draws settle the p90."""

    p10: float
    p50: float
    p90: float
    p90_error: Band


def spread(values: Values) -> Spread:
    """Return the tenth, fiftieth and ninetieth percentile of computed values, and the interval that holds the p90.

    The interval runs between two of the sorted values, whatever their distribution: of n draws the number below the
    true p90 is binomial (n, 0.9), and the ranks cut 2.5 % off either end (David and Nagaraja, Order Statistics, 7.1,
    from memory). It is exact or wide for independent draws; stratified ones settle it better. With too few draws an end
    is the least or largest value itself. Raises QuantityError where there are no values, or one is not a number.
    """
    import numpy as np

    if not values.size or not np.all(np.isfinite(values)):
        raise QuantityError("values of the draws", f"{values.size}, not all of them numbers", "numbers, at least one")
    p10, p50, p90 = (float(value) for value in np.quantile(values, (0.1, 0.5, 0.9)))
    ordered = np.sort(values)
    low, high = (float(ordered[rank]) for rank in _ranks(values.size, 0.9))
    return Spread(p10, p50, p90, Band(min(low, p90), p90, max(high, p90)))


@cache
def _ranks(draws: int, percentile: float) -> tuple[int, int]:
    """Return the places (from 0) of the sorted values between which a percentile lies with `CONFIDENCE`."""
    tail, below = (1 - CONFIDENCE) / 2, 0.0
    low = high = 0
    for count in range(draws + 1):
        below += exp(_log_binomial(count, draws, percentile))
        low += below <= tail
        high += below < 1 - tail
    return max(low - 1, 0), min(high, draws - 1)


def _log_binomial(count: int, draws: int, chance: float) -> float:
    ways = lgamma(draws + 1) - lgamma(count + 1) - lgamma(draws - count + 1)
    return ways + count * log(chance) + (draws - count) * log(1 - chance)
