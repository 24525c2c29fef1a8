"""How often the percentiles of an ensemble hold for kilns drawn afresh: `python -m tests.percentiles`.

Truths are drawn from the same spans, what one kiln shares included, with a seed of their own; ensembles of the usual
size with others. A plan is proven on draws that it was made with: what its p90 is worth on 500 others stands beside it.
What was found is in recover/physics/model.md.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from recover.schedule.verify import BRISK, moments_h, powered

from recover.physics.ensemble import Draws, resume, simulate_many
from recover.physics.materials import Band
from recover.physics.staged import Heating, setups_of
from recover.profiles import own_limits
from tests.plans import BRICK_AND_FIBRE, DENSE, THIN_FIBRE_BEHIND, kiln, limits, planned

TRUTHS, TRUTH_SEED = 500, 10_000
ENSEMBLES = 12
PRACTICE, PLAN = 32, 64
"""How many draws an assessment and a plan take."""

WEIGHED = {"held": (("ifb_23", Band(340, 400, 460)),), "knowledge": "weighed"}
KILNS = {
    "brick": kiln(),
    "brick and fibre": kiln(BRICK_AND_FIBRE),
    "thin fibre, opened": kiln(THIN_FIBRE_BEHIND, casing="loosened"),
    "dense": kiln(DENSE),
    "brick, weighed": replace(kiln(), **WEIGHED),
}


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


def promised(heating: Heating) -> tuple[float, float, float]:
    """Return the p90 of the water left that a plan promises, that of 500 fresh draws, and the share of them dry."""
    plan = planned(heating, 8.0, 20.0)
    fresh = replace(plan.heating, draws=TRUTHS, seed=TRUTH_SEED)
    draws, schedule = Draws.of(powered(fresh, limits(heating)), pace=BRISK), plan.proof.schedule
    did, _ = resume(draws, draws.begin(), schedule.course(heating.room_degc), moments_h(schedule.hours))
    least = own_limits()["plan_water_left"].value
    return plan.proof.left.p90, float(np.quantile(did.left[:, -1], 0.9)), float(np.mean(did.left[:, -1] <= least))


def rows() -> Iterator[str]:
    """Yield the table, kiln by kiln."""
    yield "| kiln | above p10 | below p90 | p90 of the plan | of 500 fresh draws | of them dry |"
    yield "| --- | --- | --- | --- | --- | --- |"
    for name, heating in KILNS.items():
        low, high = held(heating, TRUTHS, ENSEMBLES)
        own, fresh, dry = promised(heating)
        yield f"| {name} | {low:.1%} | {high:.1%} | {own:.2%} | {fresh:.2%} | {dry:.1%} |"


if __name__ == "__main__":
    for row in rows():
        print(row, flush=True)  # noqa: T201
