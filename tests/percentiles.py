"""How often the percentiles of an ensemble hold for kilns drawn afresh: `python -m tests.percentiles`.

Truths are drawn from the same spans, what one kiln shares included, with a seed of their own; ensembles of the usual
size with others. A drying is proven on the draws it was searched with: for 20 seeds it is lived by 500 other draws,
of which nine in ten are to be dry as well. What was found: recover/physics/model.md, recover/schedule/search.md.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from recover.physics.ensemble import simulate_many
from recover.physics.materials import Band
from recover.physics.staged import Heating, setups_of
from recover.profiles import own_limits
from recover.schedule.heated import live
from tests.plans import BRICK_AND_FIBRE, DENSE, THIN_FIBRE_BEHIND, begin, found, kiln, under

TRUTHS, TRUTH_SEED = 500, 10_000
ENSEMBLES = 12
PRACTICE = 32
"""How many draws an assessment takes."""

SEEDS = 20

WEIGHED = {"held": (("ifb_23", Band(340, 400, 460)),), "knowledge": "weighed"}
KILNS = {
    "brick": kiln(),
    "brick and fibre": kiln(BRICK_AND_FIBRE),
    "thin fibre, opened": kiln(THIN_FIBRE_BEHIND, casing="loosened"),
    "dense": kiln(DENSE),
    "brick, weighed": replace(kiln(), **WEIGHED),
}

DRIED = ("brick", "brick and fibre", "brick, weighed")
"""Those that twelve hours a day dry in three weeks."""


def left(heating: Heating, draws: int, seed: int) -> np.ndarray:
    """Return the water left [share] of each draw when the cold side has been hot, the last hold but the proof."""
    setups = setups_of(replace(heating, draws=draws, seed=seed))
    until_h = 0.7 * setups[0].course.end_h
    return simulate_many(setups, np.linspace(0.0, until_h, 40)).left[:, -1]


def held(heating: Heating, truths: int, ensembles: int, draws: int = PRACTICE) -> tuple[float, float]:
    """Return the shares of truths above the p10 and below the p90 of an ensemble, as means over ensembles."""
    true = left(heating, truths, TRUTH_SEED)
    ends = [np.quantile(left(heating, draws, seed), (0.1, 0.9)) for seed in range(1, ensembles + 1)]
    return float(np.mean([np.mean(true >= low) for low, _ in ends])), float(
        np.mean([np.mean(true <= high) for _, high in ends])
    )


def left_p90(heating: Heating, seed: int, truths: int) -> float:
    """Return the p90 of the water left of draws drawn afresh that live a drying searched with draws of a seed."""
    searched = found(replace(heating, seed=seed))
    assert searched.dry
    fresh = begin(replace(heating, seed=TRUTH_SEED), truths)
    standing, did = fresh.standing, None
    for spell in searched.spells:
        lived = live(fresh.draws, standing, under(heating), spell, lambda run, *_: run)
        standing, did = lived.ends, lived.did
    return float(np.quantile(did.water_kg[:, -1] / fresh.first_kg, 0.9))


def kept(heating: Heating, seeds: int, truths: int = TRUTHS) -> tuple[int, float]:
    """Return for how many seeds nine fresh draws in ten are dry, and the most that their p90 leaves."""
    left = [left_p90(heating, seed, truths) for seed in range(1, seeds + 1)]
    return sum(one <= own_limits()["plan_water_left"].value for one in left), max(left)


def rows() -> Iterator[str]:
    """Yield the table, kiln by kiln."""
    yield f"| kiln | above p10 | below p90 | of {SEEDS} dryings hold on {TRUTHS} fresh draws | the worst p90 left |"
    yield "| --- | --- | --- | --- | --- |"
    for name, heating in KILNS.items():
        low, high = held(heating, TRUTHS, ENSEMBLES)
        dries = kept(heating, SEEDS) if name in DRIED else ("", float("nan"))
        yield f"| {name} | {low:.1%} | {high:.1%} | {dries[0]} | {dries[1]:.2%} |"


if __name__ == "__main__":
    for row in rows():
        print(row, flush=True)  # noqa: T201
