"""Walls for the tests of the drying model: an insulating one and a dense one, with what is before and behind them.

The numbers of the materials are the reference case that an independent program was run with; they are no maker's.
"""

from dataclasses import replace

from recover.physics.drying import STEADY, Run, simulate
from recover.physics.grid import COARSE
from recover.physics.lining import ChamberShape, Layer, LayerStack, Lining, PartWet
from recover.physics.wall import Course, Face, Matter, Setup, Step, Wall, WallLayer

BRICK = Matter(
    490, 0.78, 0.10, 942, k1_w_mk2=1e-4, wet_k_w_mk=0.35, permeability_m2=1e-12, vapour_tortuosity=0.3,
    hygroscopic_kg_m3=2.0, liquid0_m2_s=3.663e-10, liquid_exponent=8.0,
)  # fmt: skip
BLANKET = replace(
    BRICK, density_kg_m3=128, porosity=0.95, k0_w_mk=0.035, cp0_j_kgk=1000, k1_w_mk2=1.6e-4, vapour_tortuosity=0.8
)
CASTABLE = Matter(
    2200, 0.15, 1.3, 1000, permeability_m2=1e-15, vapour_tortuosity=0.03,
    hygroscopic_kg_m3=15.0, liquid0_m2_s=1.83e-12, liquid_exponent=8.0,
)  # fmt: skip

HOT = Face(film_w_m2k=40.0, openness=1.0)
TIGHT = Face(natural_w_m2k13=1.6, emissivity=0.8)
OPEN = replace(TIGHT, openness=0.3, vapour_film_m_s=0.0111)

INSULATING = (WallLayer(64.0, BRICK, 273.0, "brick"), WallLayer(25.0, BLANKET, 237.0, "blanket"))
DENSE = (WallLayer(100.0, CASTABLE, 90.0, "castable"),)


def front_loader(line_mm: float = 5000.0, board: PartWet = "soaked", *, thin_floor: bool = False) -> Lining:
    """Return 500 by 550 by 900 mm inside, its floor at 530 mm, 114 mm of brick and 75 mm of board on every side."""
    brick, back_up = Layer("ifb_26", 114, "soaked", line_mm), Layer("calcium_silicate", 75, board, line_mm)
    stacks = [LayerStack(part, (brick, back_up)) for part in ("wall", "door", "lid")]
    floor = LayerStack("floor", (brick,) if thin_floor else (brick, back_up))
    return Lining(ChamberShape("rectangular", 500, 550, 900, floor_mm=530), (*stacks, floor))


def heating(to_degc: float, ramp_k_h: float = 60.0) -> Course:
    """Return a ramp from 20 °C and a hold without end."""
    return Course.of(20.0, (Step(to_degc, ramp_k_h),))


def dried(wall: Wall | tuple[WallLayer, ...], course: Course, hours, cold=TIGHT, **more) -> Run:
    """Run one wall on the coarse grid, with profiles; layers alone get the usual hot face."""
    one = wall if isinstance(wall, Wall) else Wall(wall, HOT, cold)
    grid, pace = more.pop("grid", COARSE), more.pop("pace", STEADY)
    return simulate(Setup((one,), course, **more), hours, grid, pace, profiles=True)


def share_left(run: Run) -> float:
    """Return the share of the water that is left at the end."""
    return float(run.water_kg[-1] / run.water_kg[0])
