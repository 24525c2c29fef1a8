"""Many walls of any kind, run one after the other: each is sound, or refused with a sentence that says where.

    python -m tests.many_walls [ORDINARY [EXTREME [SEED]]]

Ordinary walls are of the table's materials, as thick as kilns have them, heated as kilns are; extreme ones have numbers
of any size that a wall file accepts. The suite runs some dozens; what a longer run finds becomes a test.
"""

from __future__ import annotations

import sys
from collections import Counter
from math import inf

import numpy as np

from recover.base.errors import QuantityError, SimulationError
from recover.physics import kernel
from recover.physics.drying import QUICK, Run, simulate
from recover.physics.grid import COARSE
from recover.physics.materials import ENDS, materials
from recover.physics.matter import cold_face, hot_face, matter
from recover.physics.wall import Chamber, Course, Face, Matter, Room, Setup, Step, Wall, WallLayer

HOURS = np.arange(0.0, 73.0, 12.0)


def ordinary(rng: np.random.Generator) -> Setup:
    """Return a kiln of one wall as they are built, wet somehow, and heated somehow."""
    known = list(materials().values())

    def layer() -> WallLayer:
        end = ENDS[rng.integers(3)]
        numbers = matter(known[rng.integers(len(known))], lambda _, quantity: float(getattr(quantity, end)))
        water = 1000 * numbers.porosity * float(rng.choice([0.0, 0.3, 0.6, 0.95]))
        return WallLayer(float(rng.choice([10, 25, 50, 64, 76, 114])), numbers, water)

    openness = float(rng.choice([0.0, 0.0001, 0.03, 0.3, 1.0]))
    wall = Wall(tuple(layer() for _ in range(rng.integers(1, 4))), hot_face(), cold_face("wall", openness))
    tops = np.sort(rng.choice([60, 95, 150, 200, 400, 600], rng.integers(1, 4), replace=False))
    steps = tuple(Step(float(to), float(rng.choice([15, 30, 60, 150])), float(rng.choice([0, 4, 12]))) for to in tops)
    return Setup(
        (wall,), Course.of(20.0, steps), room=Room(height_m=float(rng.choice([0, 500, 2000]))),
        chamber=Chamber(vent_m3_h=float(rng.choice([0.5, 15, inf])), power_kw=float(rng.choice([2.0, inf]))),
        closure="leaves_freely" if rng.random() < 0.3 else "coupled",
    )  # fmt: skip


def extreme(rng: np.random.Generator) -> Setup:
    """Return a wall whose numbers are of any size. Raises QuantityError where they are refused at once."""

    def of(low: float, high: float) -> float:
        return float(10 ** rng.uniform(low, high))

    def layer() -> WallLayer:
        porosity = float(rng.uniform(0.02, 0.98))
        k0, k1 = of(-2, 1.5), float(rng.normal(0, 3e-4))
        numbers = Matter(
            of(1, 3.7), porosity, k0, of(2, 3.7), k1_w_mk2=k1, cp1_j_kgk2=of(-3, 0.5), wet_k_w_mk=of(-2, 0.7),
            permeability_m2=of(-19, -8), vapour_tortuosity=of(-4, 0), hygroscopic_kg_m3=of(-2, 2.5),
            liquid0_m2_s=of(-16, -7) if rng.random() < 0.8 else 0.0, liquid_exponent=float(rng.uniform(0, 12)),
            tensile_mpa=of(-2, 1.5),
        )  # fmt: skip
        return WallLayer(of(0, 2.7), numbers, 1000 * porosity * float(rng.choice([0, rng.random(), 1])))

    cold = Face(film_w_m2k=of(-1, 2), natural_w_m2k13=of(-1, 0.7), emissivity=float(rng.random()),
                wrap_m2k_w=of(-2, 1), openness=float(rng.choice([0, of(-5, 0)])))  # fmt: skip
    wall = Wall(tuple(layer() for _ in range(rng.integers(1, 5))), Face(film_w_m2k=of(0, 3), openness=1.0), cold)
    steps = tuple(Step(float(rng.uniform(5, 1300)), of(0.5, 3), of(-1, 1.5)) for _ in range(rng.integers(1, 4)))
    return Setup(
        (wall,), Course.of(20.0, steps), closure="leaves_freely" if rng.random() < 0.3 else "coupled",
        room=Room(Course.steady(float(rng.uniform(0, 45))), float(rng.uniform(0, 0.08)), float(rng.uniform(0, 5000))),
        chamber=Chamber(vent_m3_h=of(-2, 3), power_kw=of(-1, 2), vapour_share=float(rng.uniform(0, 0.2))),
    )  # fmt: skip


def unsound(run: Run) -> str:
    """Say what of a run cannot be; empty where nothing is found."""
    share = run.water_kg / max(run.water_kg[0], 1e-9)
    given = (run.setup.start_degc, *run.setup.course.degc, *run.setup.room.degc.degc)
    for wall in run.walls:
        numbers = (wall.layer_kg, wall.profile_degc, wall.profile_kg_m3, wall.overpressure_kpa, wall.casing_degc)
        if not all(np.isfinite(one).all() for one in numbers):
            return "a number that is none"
        if wall.profile_degc.min() < min(*given, 0.0) - 1.1 or wall.profile_degc.max() > max(given) + (
            20.1 if run.setup.closure == "coupled" else 1.1
        ):
            return f"{wall.profile_degc.min():.1f} to {wall.profile_degc.max():.1f} °C"
        full = wall.profile_kg_m3.max(axis=0) / 1000
        if (full > max(layer.matter.porosity for layer in wall.wall.layers) * kernel.MOST_FULL * 1.001).any():
            return f"{full.max():.2f} of the volume is water"
    if share.min() < -1e-9 or (share.max() > 2.0 and run.water_kg.max() > 5):
        return f"{share.min():.3f} to {share.max():.3f} of the first water"
    return ""


def outcome(setup: Setup) -> str:
    """Run a setup; return empty for a sound run, the sentence of a refusal, or `UNSOUND` with what was found."""
    try:
        found = unsound(simulate(setup, HOURS, COARSE, QUICK, profiles=True))
    except SimulationError as refusal:
        return str(refusal)
    return f"UNSOUND: {found}" if found else ""


def many(make, number: int, seed: int) -> Counter[str]:  # type: ignore[no-untyped-def]
    """Return how many of so many walls were sound, refused by what, or unsound with their seeds."""
    found: Counter[str] = Counter()
    for one in range(number):
        try:
            setup = make(np.random.default_rng([seed, one]))
        except QuantityError:
            found["refused before it ran"] += 1
            continue
        said = outcome(setup)
        found[f"{one}: {said}" if said.startswith("UNSOUND") else said.split(". ")[-1] if said else "sound"] += 1
    return found


if __name__ == "__main__":
    wanted = [int(one) for one in sys.argv[1:]] + [10_000, 1_000, 1][len(sys.argv) - 1 :]
    for name, make, number in (("ordinary", ordinary, wanted[0]), ("extreme", extreme, wanted[1])):
        for said, times in many(make, number, wanted[2]).most_common():
            sys.stdout.write(f"{name}: {times} {said}\n")
