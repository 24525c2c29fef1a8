"""Which input decides how long a kiln takes to dry, and which measurement would narrow that most.

Both are read off one ensemble: correlations of ranks between what was drawn and what came of it, and draws weighted by
how well they agree with readings that were made up from each of them in turn. No kiln was measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import log
from typing import TYPE_CHECKING, Literal

from recover.physics.draws import MOVES, NORMAL_HIGH, Spread, spread, standard
from recover.physics.figures import Knowledge, figures, known
from recover.physics.materials import Band, material_data

if TYPE_CHECKING:
    from recover.physics.draws import Values
    from recover.physics.ensemble import Ensemble

GONE = 0.9
LEAST_AGREEING = 30.0
"""How many draws at least must share the weight: with fewer a reading would seem to teach what is chance."""

LOOKS = 6
"""How often casing, pan and catch are read until half of the water has gone."""

BISECTIONS, LEAST_POWER = 20, 1e-6
"""How a power is found, and one at which all draws weigh alike."""

LEAST_KG = 0.05
"""Less than this is not measured in a bucket."""

Decided = Literal["hours", "left"]
Reading = Literal["piece", "casing", "pan", "litres"]


@dataclass(frozen=True)
class Influence:
    """How an input goes with the outcome: the correlation of their ranks, -1 to 1."""

    input: str
    correlation: float


@dataclass(frozen=True)
class Narrowing:
    """What a measurement leaves of the width from p10 to p90: 1 is all of it."""

    reading: Reading
    share: float


@dataclass(frozen=True, kw_only=True)
class Sensitivity:
    """What decides an outcome, most first: hours until nine tenths have gone, or the share left where few get there.

    `inputs` are those whose correlation is beyond chance, `chance` what chance alone would give one in a
    hundred.
    """

    draws: int
    outcome: Decided
    spread: Spread
    chance: float
    inputs: tuple[Influence, ...]
    readings: tuple[Narrowing, ...]


def sensitivity(did: Ensemble, shares: Mapping[str, Values], knowledge: Knowledge = "assumed") -> Sensitivity:
    """Return what decides the outcome of an ensemble; `shares` are each draw's share in every input, by its name.

    A piece is weighed once: where it was, that is no longer among the readings.
    """
    import numpy as np

    hours = did.hours_gone(GONE)
    within = bool(np.mean(np.isfinite(hours)) > GONE)
    values = np.minimum(hours, did.hours[-1]) if within else did.left[:, -1]
    chance = 2.58 / (len(values) - 1) ** 0.5
    found = [Influence(name, _correlation(share, values)) for name, share in shares.items()]
    narrowed = [Narrowing(name, _narrowed(seen, error, values)) for name, seen, error in _readings(did)]
    if knowledge == "assumed":
        narrowed += [Narrowing("piece", _narrowed(*piece, values)) for piece in _piece(did, shares)]
    return Sensitivity(
        draws=len(values), outcome="hours" if within else "left", spread=spread(values), chance=chance,
        inputs=tuple(
            sorted((one for one in found if abs(one.correlation) > chance), key=lambda one: -abs(one.correlation))
        ),
        readings=tuple(sorted(narrowed, key=lambda one: one.share)),
    )  # fmt: skip


def _correlation(one: Values, other: Values) -> float:
    """Return Spearman's correlation; where all are alike there is none."""
    import numpy as np

    if np.ptp(other) == 0:
        return 0.0
    ranks = np.array([np.argsort(np.argsort(values, kind="stable")) for values in (one, other)], np.float64)
    return float(np.asarray(np.corrcoef(ranks))[0, 1])


# ---------------------------------------------------------------------------------------- readings


def _readings(did: Ensemble) -> Iterator[tuple[Reading, Values, Values]]:
    """Yield each measurement: what every draw would show (n_draw, n_look), and the covariance of its errors."""
    import numpy as np

    looks, names = _looks(did), [wall.name.partition(",")[0] for wall in did.setups[0].walls]
    degrees = _covariance(figures().casing_offset_k.mid, figures().casing_look_k.mid)
    yield "casing", did.casing_degc[:, looks, 0], degrees
    if "floor" in names:
        yield "pan", did.casing_degc[:, looks, names.index("floor")], degrees
    gone = np.maximum(did.water_kg[:, :1] - did.water_kg[:, looks], LEAST_KG)
    caught = _covariance(deviation(figures().catch_share), deviation(figures().catch_look_times))
    yield "litres", np.log(gone), caught


def _piece(did: Ensemble, shares: Mapping[str, Values]) -> Iterator[tuple[Values, Values]]:
    """Yield what a weighed piece of the hot face shows: its water and, as far as our rule has it, how fast it moves.

    An error of e deviations makes a span r times as wide, with e² = r² / (1 - r²).
    """
    import numpy as np

    water = np.array([one.walls[0].layers[0].water_kg_m3 for one in did.setups])
    if water.min() <= 0:
        return
    assumed, weighed = (deviation(known(one).moves_times) for one in ("assumed", "weighed"))
    narrower = (weighed / assumed) ** 2
    errors = deviation(material_data().weighed_brick) ** 2, narrower / (1 - narrower)
    yield np.stack([np.log(water), standard(shares[MOVES])], axis=1), np.diag(errors)


def _looks(did: Ensemble) -> list[int]:
    """Return the moments of the readings, equally far from one another until half of the water has gone."""
    import numpy as np

    half = np.flatnonzero(np.median(did.left, axis=0) <= 0.5)
    last = int(half[0]) if half.size else len(did.hours) - 1
    return [round(last * (number + 1) / LOOKS) for number in range(LOOKS)]


def deviation(span: Band) -> float:
    """Return the standard deviation of the logarithm of a span."""
    return log(span.high / span.low) / (2 * NORMAL_HIGH)


def _covariance(offset: float, look: float) -> Values:
    """Return the covariance of errors that stay for all looks, and come anew with each."""
    import numpy as np

    return offset**2 * np.ones((LOOKS, LOOKS)) + look**2 * np.eye(LOOKS)


def _narrowed(seen: Values, covariance: Values, values: Values) -> float:
    """Return the width from p10 to p90 of draws that agree with a reading, over that of all, as a mean over readings.

    Each draw in turn is the kiln: its reading, with errors drawn, weighs all others by their likelihood, which is
    raised to a power where fewer than `LEAST_AGREEING` of them, or a quarter, would carry the weight.
    """
    import numpy as np

    unit = np.linalg.inv(np.linalg.cholesky(covariance))
    shown = seen @ unit.T
    read = shown + np.random.default_rng(1).standard_normal(shown.shape)
    against = 0.5 * ((read[:, None, :] - shown[None, :, :]) ** 2).sum(axis=2)
    np.fill_diagonal(against, np.inf)
    against -= against.min(axis=1, keepdims=True)
    weights = tempered(against, min(LEAST_AGREEING, len(values) / 4))
    order = np.argsort(values)
    below = np.cumsum(weights[:, order], axis=1)
    ends = [values[order][np.minimum((below < share).sum(axis=1), len(values) - 1)] for share in (0.1, 0.9)]
    whole = np.ptp(np.quantile(values, (0.1, 0.9)))
    return float(np.mean(ends[1] - ends[0]) / whole) if whole > 0 else 1.0


def tempered(against: Values, least: float) -> Values:
    """Return weights exp(-p against) by rows, with the most p up to 1 by which so many draws of a row carry the weight.

    `against` is half the squared distance; without end where a draw may not speak.
    """
    import numpy as np

    low, high = np.zeros((len(against), 1)), np.full((len(against), 1), 2.0)  # so that 1 is tried first
    for _ in range(BISECTIONS):
        power = (low + high) / 2
        weights = np.exp(-power * against)
        enough = weights.sum(axis=1, keepdims=True) ** 2 / (weights**2).sum(axis=1, keepdims=True) >= least
        low, high = np.where(enough, power, low), np.where(enough, np.minimum(high, 1.0), power)
    weights = np.exp(-np.maximum(low, LEAST_POWER) * against)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))
