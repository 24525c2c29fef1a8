"""Draws of what is not known, and what they spread to.

A span of assumptions is what nine draws in ten lie above and nine in ten below, with half on either side of mid; its
tails go on beyond it. It is no measured distribution, and the percentiles of what is computed from it are a spread of
assumed inputs, not an error of measurement.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from math import exp, inf, lgamma, log
from statistics import NormalDist
from typing import TYPE_CHECKING

from recover.base.errors import QuantityError
from recover.physics.materials import Band

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Values = NDArray[np.float64]

CONFIDENCE = 0.95
"""How often the interval about a percentile holds it."""

HIGH_SHARE = 0.9
"""Share of a quantity that lies below the high end of its span, and above the low end."""

MOVES = "moves"
"""The input by which all movement of water in a kiln is drawn, beside the numbers of its materials."""

_NORMAL = NormalDist()
NORMAL_HIGH = _NORMAL.inv_cdf(HIGH_SHARE)
"""Standard deviations from the middle of a normal distribution to `HIGH_SHARE`."""


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


@dataclass(frozen=True)
class Ranks:
    """The shares of so many draws in each input, by its name; `drawn` are those that were asked for."""

    draws: int
    seed: int
    drawn: dict[str, Values] = field(default_factory=dict, compare=False, repr=False)

    def of(self, name: str) -> Values:
        """Return the share of each draw in an input. Raises QuantityError."""
        if name not in self.drawn:
            self.drawn[name] = shares(name, self.draws, self.seed)
        return self.drawn[name]


def from_band(band: Band, share: Values, most: float = inf) -> Values:
    """Return the values below which the given shares of a quantity lie, of which a band is p10, p50 and p90.

    Two halves of normal distributions that meet at mid, x = mid + (mid - low, high - mid) z / 1.2816 with z the normal
    quantile of the share; of the logarithm where the band is positive, so that nothing falls below nought. Of a band
    that begins at nought, what lies below is nought; what lies above `most`, the end that matter sets, is `most`:
    neither moves p10, p50 or p90. Raises QuantityError for shares that are not between 0 and 1, or a band beyond
    `most`.
    """
    import numpy as np

    if np.any((share <= 0) | (share >= 1)):
        raise QuantityError("share of a band", f"{share.min():g} to {share.max():g}", "between 0 and 1")
    if band.high > most:
        raise QuantityError("band", f"high end {band.high:g}", f"{most:g} or less")
    if band.low == band.high:
        return np.full(share.shape, band.mid)
    z = standard(share) / NORMAL_HIGH
    ends = np.array([band.low, band.mid, band.high])
    if band.low > 0:
        values = np.exp(_halves(np.log(ends), z))
    elif band.high < 0:
        values = -np.exp(_halves(np.log(-ends[::-1]), -z))
    else:
        values = np.maximum(_halves(ends, z), 0.0 if band.low == 0 else -inf)
    return np.asarray(np.minimum(values, most))


def standard(share: Values) -> Values:
    """Return the values of a standard normal distribution below which the shares lie."""
    import numpy as np

    return np.array([_NORMAL.inv_cdf(one) for one in share])


def _halves(ends: Values, z: Values) -> Values:
    import numpy as np

    low, mid, high = ends
    return np.asarray(mid + np.where(z < 0, mid - low, high - mid) * z)


@dataclass(frozen=True)
class Spread:
    """The percentiles of what was computed for many draws; `p90_error` is how far so few draws settle the p90."""

    p10: float
    p50: float
    p90: float
    p90_error: Band

    def at_least(self, factor: Band) -> Spread:
        """Return it, widened where needed to a factor about p50."""
        p10, p90 = min(self.p10, self.p50 * factor.low), max(self.p90, self.p50 * factor.high)
        error = self.p90_error
        return Spread(p10, self.p50, p90, Band(min(error.low, p90), p90, max(error.high, p90)))


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
