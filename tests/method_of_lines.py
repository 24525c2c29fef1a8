"""An independent solution of heat, vapour, air and liquid in a kiln wall, for the tests: the method of lines.

`wall_balances` cuts the wall into cells; scipy's stiff integrators solve the ordinary differential equations that are
left, to a tolerance of their own.

    python -m tests.method_of_lines [CASE ...]

runs four walls for 72 h, each on two grids, with two tolerances and with two integrators, and writes what it found and
how far these differ into tests/vectors/method_of_lines.json. It takes some ten minutes and is no part of the suite,
which reads that file, and calls `run` on the first hours of a case: run(first_hours(case, 6), QUICK[wall]).
"""

import json
import platform
import sys
import time
from dataclasses import asdict, dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import scipy
from scipy.integrate import BDF, Radau

from tests.wall_balances import HOUR, P_ATM, Case, Faces, Layer, Wall

VECTORS = Path(__file__).parent / "vectors" / "method_of_lines.json"
INTEGRATORS = {"BDF": BDF, "Radau": Radau}
HOLD_H, RAMP_K_H, START_DEGC = 12.0, 60.0, 20.0


@dataclass(frozen=True)
class Settings:
    """Cells of each layer, thickness of those at the outer faces, relative tolerance, integrator."""

    cells: tuple[int, ...]
    first_m: float
    rtol: float
    integrator: str = "BDF"


def held_at(*holds_degc: float) -> tuple[tuple[float, float], ...]:
    """The knots (h, °C) of a schedule that climbs at one rate, and holds equally long at each temperature."""
    knots = [(0.0, START_DEGC)]
    for degc in holds_degc:
        reached_h = knots[-1][0] + (degc - knots[-1][1]) / RAMP_K_H
        knots += [(reached_h, degc), (reached_h + HOLD_H, degc)]
    return tuple(knots)


def first_hours(case: Case, end_h: float) -> Case:
    hours, degc = zip(*case.schedule_h_degc, strict=True)
    knots = [knot for knot in case.schedule_h_degc if knot[0] < end_h]
    return replace(case, schedule_h_degc=(*knots, (end_h, float(np.interp(end_h, hours, degc)))))


INSULATING = (
    Layer(0.064, 490, 0.78, 0.10, 1e-4, 0.35, 942, 0, 1e-12, 0.3, 2, 3.663e-10, 8, 273),
    Layer(0.025, 128, 0.95, 0.035, 1.6e-4, 0.35, 1000, 0, 1e-12, 0.8, 2, 3.663e-10, 8, 237),
)
DENSE = (Layer(0.100, 2200, 0.15, 1.3, 0, 0, 1000, 0, 1e-15, 0.03, 15, 1.83e-12, 8, 90),)
CASES = {
    f"{name}, {casing}": first_hours(Case(layers, Faces(openness), held_at(95, 200, 400, 600)), 72)
    for name, layers in (("dense", DENSE), ("insulating", INSULATING))
    for casing, openness in (("gas-tight", 0.0), ("open", 0.3))
}
FINE = {"dense": Settings((400,), 5e-5, 1e-5), "insulating": Settings((200, 100), 1e-4, 1e-5)}
QUICK = {"dense": Settings((60,), 1e-4, 1e-4), "insulating": Settings((32, 12), 4e-4, 1e-4)}


@dataclass
class Peak:
    """The largest value met, the hour and the depth of it."""

    value: float = -np.inf
    hour: float = 0.0
    depth_mm: float = 0.0

    def meet(self, values: np.ndarray, hour: float, depth_m: np.ndarray) -> None:
        at = int(values.argmax())
        if values[at] > self.value:
            self.value, self.hour, self.depth_mm = float(values[at]), float(hour), float(depth_m[at] * 1000)


@dataclass(frozen=True)
class Result:
    """Hour by hour, and over the whole. Water left is a share of that at the start, vapour in the pores included.

    An audit is what the wall holds at the end, less what it held, plus what has left through its faces: of the water
    and air it held at the start, and of the range of its energy.
    """

    hours: list[float]
    water_left: list[float]
    condensed_left: list[float]
    cold_surface_degc: list[float]
    gone_h: dict[str, float | None]
    overpressure_pa: Peak
    saturation: Peak
    audit_water: float
    audit_air: float
    audit_energy: float
    steps: int
    seconds: float


class Watch:
    """What is seen along the way: every step for peaks and water, every full hour for the rest."""

    def __init__(self, wall: Wall, state: np.ndarray) -> None:
        self.wall, self.hourly, self.path = wall, [state], []
        self.pressure, self.saturation = Peak(), Peak()
        self.depth_m = np.cumsum(wall.grid.dx) - wall.grid.half
        self.see(0.0, state)

    def see(self, hour: float, state: np.ndarray) -> None:
        cells = self.wall.cells(state)
        self.pressure.meet(cells.p - P_ATM, hour, self.depth_m)
        self.saturation.meet(cells.s, hour, self.depth_m)
        self.path.append((hour, cells.stored(self.wall.grid)[0]))

    def after(self, solver: BDF | Radau) -> None:
        hour, between = solver.t / HOUR, solver.dense_output()
        self.see(hour, solver.y)
        while len(self.hourly) <= hour + 1e-9:
            self.hourly.append(between(len(self.hourly) * HOUR))

    def down_to(self, share: float) -> float | None:
        """The hour at which the water last came down to a share of its start, on the line between two steps."""
        hours, water = np.array(self.path).T
        last_above = int(np.flatnonzero(water > share * water[0])[-1])
        if last_above == len(hours) - 1:
            return None
        span = [last_above + 1, last_above]
        return float(np.interp(share * water[0], water[span], hours[span]))

    def result(self, seconds: float) -> Result:
        cells = [self.wall.cells(state) for state in self.hourly]
        water, condensed, air, energy = np.array([each.stored(self.wall.grid) for each in cells]).T
        water_out, air_out, energy_out = self.hourly[-1][-6:-3] + self.hourly[-1][-3:]
        return Result(
            hours=[float(hour) for hour in range(len(cells))],
            water_left=(water / water[0]).tolist(),
            condensed_left=(condensed / condensed[0]).tolist(),
            cold_surface_degc=[float(self.wall.cold_surface_degc(each)) for each in cells],
            gone_h={f"{gone:.0%}": self.down_to(1 - gone) for gone in (0.5, 0.9, 0.95)},
            overpressure_pa=self.pressure,
            saturation=self.saturation,
            audit_water=float((water[-1] - water[0] + water_out) / water[0]),
            audit_air=float((air[-1] - air[0] + air_out) / air[0]),
            audit_energy=float((energy[-1] - energy[0] + energy_out) / np.ptp(energy)),
            steps=len(self.path) - 1,
            seconds=seconds,
        )


def tolerances(wall: Wall, rtol: float) -> np.ndarray:
    """Absolute ones. At the relative 1e-5: 0.0001 K, 0.00001 of z and 0.1 Pa, and as little of what has left."""
    return rtol * np.concatenate([np.repeat([10.0, 1.0, 1e4], wall.n), [0.1, 0.1, 1e5] * 2])


def run(case: Case, settings: Settings) -> Result:
    """The case from its first knot to its last, a full hour; the integrator starts afresh at each knot."""
    wall, began = Wall(case, settings.cells, settings.first_m), time.perf_counter()
    state, atol = wall.start(), tolerances(wall, settings.rtol)
    watch = Watch(wall, state)
    for begin_h, end_h in pairwise(wall.hours):
        solver = INTEGRATORS[settings.integrator](
            wall.rates, begin_h * HOUR, state, end_h * HOUR, rtol=settings.rtol, atol=atol, jac=wall.jacobian
        )
        while solver.status == "running":
            with np.errstate(all="ignore"):  # it tries states that cannot be, and must not take one that is not finite
                complaint = solver.step()
            if solver.status == "failed" or not np.isfinite(solver.y).all():
                raise ArithmeticError(f"the integrator gave up at {solver.t / HOUR:.4f} h: {complaint}")
            watch.after(solver)
        state = solver.y
    return watch.result(time.perf_counter() - began)


def apart(one: Result, other: Result) -> dict[str, float]:
    """How far two results differ: water as a share of the start, the rest relative, the cold face in K before the last
    tenth of the water goes."""
    water, cold = (
        np.abs(np.subtract(getattr(one, of), getattr(other, of))) for of in ("water_left", "cold_surface_degc")
    )
    times = [(a, b) for a, b in zip(one.gone_h.values(), other.gone_h.values(), strict=True) if a and b]
    return {
        "water_left": float(water.max()),
        "gone_h": max((abs(b / a - 1) for a, b in times), default=0.0),
        "overpressure_pa": abs(other.overpressure_pa.value / one.overpressure_pa.value - 1),
        "cold_surface_k": float(cold[np.array(one.water_left) > 0.1].max()),
    }


def campaign(name: str) -> dict[str, Any]:
    """A case on its fine grid, and what coarser cells, a finer tolerance and another integrator change."""
    case, fine = CASES[name], FINE[name.split(",")[0]]
    coarse = replace(fine, cells=tuple(cells // 2 for cells in fine.cells), first_m=2 * fine.first_m)
    best, base = run(case, fine), run(case, coarse)
    others = {"rtol": replace(coarse, rtol=coarse.rtol / 10), "integrator": replace(coarse, integrator="Radau")}
    changes = {"cells": {"from": asdict(coarse), "to": asdict(fine), "apart": apart(best, base)}}
    for what, settings in others.items():
        changes[what] = {"from": asdict(coarse), "to": asdict(settings), "apart": apart(run(case, settings), base)}
    return {"case": asdict(case), "settings": asdict(fine), "result": asdict(best), "refinement": changes}


def main(names: list[str]) -> None:
    stored = json.loads(VECTORS.read_text(encoding="utf-8")) if VECTORS.exists() else {"cases": {}}
    stored["versions"] = {"python": platform.python_version(), "numpy": np.__version__, "scipy": scipy.__version__}
    for name in names or CASES:
        stored["cases"][name] = campaign(name)
        VECTORS.write_text(json.dumps(stored, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
