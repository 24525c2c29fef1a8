"""Heat, vapour, air and liquid in the walls around one chamber, step by step: everything that is compiled.

The equations, symbols and what is left out stand in model.md. Unknowns of a cell are temperature T [°C], condensed
water w [kg/m³ of bulk] and the pressure of the gas P [Pa] (of which the air is what the vapour leaves); those of the
chamber its temperature and the mole fraction of vapour in it. Space is divided into finite volumes, time into backward
Euler steps, and Newton's method solves a step: blocks of three along each wall, all walls joined at the chamber.
`leaves_freely` is the enthalpy problem on the same grid, with the same faces, chamber and audit: one unknown, what a
cell holds beyond its matter at the phase temperature.

Plain arrays come in and go out. All compiled code stands in this file, because the compiled code kept on disk is
renewed when the file that holds a function changes, and not when a file it calls does.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp, inf, log, sqrt
from typing import Any, NamedTuple

import numpy as np
from numba import njit

from recover.physics.air import STEFAN_BOLTZMANN_W_M2K4

not_kept: list[str] = []
"""The functions that are compiled anew in every run, since there is no place on disk where that could be kept."""


def compiled(*, called: bool = False, makes: bool = False) -> Callable[[Callable[..., Any]], Any]:
    """Compile a function, keeping the result on disk where that can be written.

    Only what is `called` from Python gets an entry for that, since entries take half of the time to compile; it lets go
    of Python while it runs, so that threads can run it side by side. Only where it `makes` arrays are those counted
    that somebody holds: counting them at each call of a face took a quarter of a run. All others are put into what
    calls them: to hand over all arrays of a kiln, each with its shape, takes as long as a small function.
    """

    def compile_it(function: Callable[..., Any]) -> Any:
        options: dict[str, Any] = {"error_model": "numpy", "nogil": called}
        if not called:
            options |= {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
        if not (called or makes):
            options |= {"_nrt": False, "forceinline": True}
        try:
            return njit(function, cache=True, **options)
        except RuntimeError:  # no place for it on disk
            not_kept.append(function.__name__)
            return njit(function, **options)

    return compile_it


# ---------------------------------------------------------------------------------------- constants

GAS = 8.314462618  # J/(mol K)
WATER_KG_MOL = 0.018015
AIR_KG_MOL = 0.028965
LIQUID_HEAT, VAPOUR_HEAT, AIR_HEAT = 4186.0, 1880.0, 1005.0  # J/(kg K)
LIGHTER, NEVER_STILL = 0.378, 0.5  # 1 - 18/29: by how much vapour is lighter than air; K
LEWIS = 0.87  # thermal diffusivity of moist air over the diffusivity of vapour in it, 0.85 to 0.9 at 20 to 60 °C
VAPOUR_AT_ZERO = 2.501e6  # J/kg, vapour at 0 °C over liquid at 0 °C
ZERO_K = 273.15
COLDEST, HOTTEST = -50.0, 1400.0  # °C, as far as the numbers of a material have to make sense
DRY = 1.0  # kg/m² of hot face: of less water than this, or the heat that it takes, a millionth may be missed
SLACK_K, TAKEN_UP_K = (
    1.0,
    20.0,
)  # beyond what a run was given: what the method misses, what vapour warms that is taken up
HALF_OPEN = 0.003  # open share of a face through which half flows of what flows through one that is open
MOST_FULL = 1.01  # beyond the pores: what it takes to push on
OVERFLOW, OVERFLOW_RISE = 1e-6, 200.0  # m²/s of liquid in full pores, and how soon that ends where they are not
LEAST_GAS_SHARE = 0.02  # of the pores; water that would fill them leaves so much open
TABLE_FROM, TABLE_STEP = -60.0, 1.0  # of the table by temperature, °C and K

# Columns of a cell.
DX, VOLUME, AREA_IN, AREA_OUT = 0, 1, 2, 3  # m; the rest per m² of hot face
HEAT0, HEAT1, POROSITY, K0, K1, K_WET = 4, 5, 6, 7, 8, 9  # ρ(c0 T + c1 T²/2); k = k0 + k1 T + k_wet S
PERMEABILITY, TAU, WIDTH, D0, B, STRENGTH, RESCALE = 10, 11, 12, 13, 14, 15, 16
LAYER = 17
CELL_COLUMNS = 18

# Columns of a face. A face of prescribed temperature has an endless coefficient.
FILM, NATURAL, EMISSIVITY, WRAP, OPENNESS, VAPOUR_FILM, BY_LEWIS = range(7)
FACE_COLUMNS = 7

# The chamber: power and ventilation without end mean that temperature and vapour follow what is prescribed; without any
# power its temperature floats. Enclosed (1, else 0), the casing stands in the chamber's air.
POWER, VENT, HEAT_CAPACITY, GAS_VOLUME, ENCLOSED = range(5)  # W, mol/s of fresh air, J/K, m³
CHAMBER_COLUMNS = 5

# The control of a run.
# s, K, share of the pores, K of error in a step (nought: of first order); °C, J/kg
LONGEST_STEP, DEGC_STEP, SHARE_STEP, TOLERANCE, PHASE, LATENT, REVERSIBLE = range(7)
CONTROL_COLUMNS = 7

# What a wall shows at one moment; what is summed counts from the beginning, what peaks since the moment before.
HOT_FACE, CASING, OUTSIDE, TO_CHAMBER, TO_ROOM, HEAT_IN, HEAT_OUT, OVERPRESSURE, DEMAND, PEAK_CELL = range(10)
WALL_COLUMNS = 10
CHAMBER_DEGC, CHAMBER_VAPOUR, HEATER_W, HEATER_J, VENTED_KG = range(5)
SHOWN_COLUMNS = 5

# How the chamber is held: by its schedule, by a heater that gives all it has, or by one that is off.
FOLLOWS, FULL, OFF = 0, 1, 2

# What a run tells of itself: relative errors of the balances, steps, rounds of Newton's method, attempts that failed.
# Where it was stopped: the cell, and what it came to.
WATER_ERROR, HEAT_ERROR, STEPS, ROUNDS, REFUSED, STOPPED_CELL, STOPPED_AT = range(7)
AUDIT_COLUMNS = 7

DONE, STEP_TOO_SMALL, TOO_COLD, TOO_HOT, OVERFULL, OVER_PRESSURE = range(6)
CRITICAL_PA = 22.064e6  # beyond it there is no line of saturation
LEAST_STEP = 1e-6  # s
MOST_ROUNDS = 14
MOST_SWITCHES = 4  # of the heater within a step, lest it flutter
FIRST_STEP, SHORTEST_TRY = 1.0, 1e-3  # s
FIRST_SHARE = 1.0 / 20.0  # of the longest step: where all are of first order, a run begins with as much
GROWTH, MOST_GROWTH = 1.6, 3.0  # of a step; the second while hardly anything changes, as after a knot
QUIET = 0.2  # share of what a step may change
STAGE = 1.0 - 0.5 * sqrt(2.0)  # of a step of second order; by it a step is as stiff as backward Euler

# What follows from a cell's unknowns.
_T, _P, _Y, _RV, _RA, _S, _RK, _KRG, _MU, _GD, _DL, _PU, _C = range(13)  # RK: the reciprocal, a resistance by length
_WATER, _AIR, _ENERGY = 13, 14, 15
_DERIVED = 16
_ENERGY_SCALE = 2.5e6  # J/kg: brings the energy balance to the size of the water balance
_BAR = 1e5  # Pa: brings the pressure to the size of the other unknowns


class Kiln(NamedTuple):
    """What does not change while a kiln is run: its walls one after the other, faces, chamber, schedule, control."""

    coupled: Any  # (n_wall,) or `leaves_freely`, and a wall without water, which holds heat alone
    cells: Any  # (n_cell, CELL_COLUMNS)
    first: Any  # (n_wall + 1,) where each wall begins
    areas: Any  # (n_wall,) of hot faces, m²
    hot: Any  # (n_wall, FACE_COLUMNS)
    cold: Any  # (n_wall, FACE_COLUMNS)
    chamber: Any  # (CHAMBER_COLUMNS,)
    control: Any  # (CONTROL_COLUMNS,)
    set_times: Any  # s, of the chamber's schedule
    set_degc: Any
    out_times: Any  # s, of what is around the casing
    out_degc: Any
    supply_vapour: float  # mole fraction in the chamber where its ventilation has no end
    room_vapour: float  # mole fraction around the casing, and in the fresh air
    pressure: float  # of the atmosphere, Pa
    table: Any  # (4, n) saturation pressure [Pa] and its slope, diffusivity times pressure [m² Pa/s] and its slope


class State(NamedTuple):
    """What a step changes. In the enthalpy problem u[:, 0] is heat over that of dry matter, the rest unused."""

    u: Any  # (n_cell, 3) T [°C], w [kg/m³], P [bar]
    water: Any  # (n_cell,) at the beginning of the step, in the enthalpy problem
    total: Any  # (n_cell,) at the beginning of the run
    held: Any  # (2,) the chamber's temperature and vapour


class Shown(NamedTuple):
    """What is shown of one moment; two axes each. Code kept on disk by older releases asks for it by this name."""

    walls: Any  # (n_wall, WALL_COLUMNS)
    layers: Any  # (1, n_layer) water, kg
    whole: Any  # (1, SHOWN_COLUMNS)
    profile: Any  # (n_cell, 3) T [°C], w [kg/m³], P [Pa]


class Work(NamedTuple):
    """Room to work in, and what flowed in the last step."""

    z: Any  # (n_cell, 4, _DERIVED) as it is, and how it changes with each unknown
    bent: Any  # (_DERIVED,) a cell with an unknown nudged
    by_side: Any  # (2, 3, 3) how what passes changes with the unknowns on both sides
    stored: Any  # (n_cell, 3) water, air, energy at the beginning of the step, per m³
    low: Any  # (n_cell, 3, 3); nought at a wall's hot face, and `up` at its cold one
    diag: Any
    up: Any
    rhs: Any  # (n_cell, 3)
    change: Any
    gain: Any  # (n_cell, 3, 3)
    lead: Any  # (n_cell, 3)
    nudged: Any  # (3,) a flow, as it is or nudged
    flow_hot: Any  # (n_wall, 3) into the chamber, per m² of hot face
    flow_cold: Any  # (n_wall, 3) to what is around, per m² of cold face
    by_cell: Any  # (2, n_wall, 3, 3) how what leaves the hot and the cold face changes with the cell there
    by_chamber: Any  # (2, n_wall, 3, 2) and with the chamber
    border: Any  # (n_cell, 3, 2) how the balances of the cells change with the chamber
    trail: Any  # (n_cell, 3, 2) what a cell's update takes of the chamber's
    shown_hot: Any  # (n_wall, 2) °C
    shown_cold: Any
    aside: Any  # (2,)
    into: Any  # (3,) from all walls into the chamber
    slope: Any  # (3, 2)
    chamber_change: Any  # (2,)
    room: Any  # (2,)
    early_hot: Any  # as flow_hot, in the first stage of a step of second order
    early_cold: Any
    kept: Any  # as stored
    held: Any  # (2,)
    first_degc: Any  # (n_cell,) after the first stage
    shown_degc: Any  # (n_cell,) at the beginning of the step


# ---------------------------------------------------------------------------------------- a cell


@compiled()
def _look_up(table, row, degc):
    """Return a value of the table and its slope, by cubics through both: kinks would stop Newton's method."""
    place = (degc - TABLE_FROM) / TABLE_STEP
    node = min(max(int(place), 0), table.shape[1] - 2)
    x = place - node
    a, b = table[row, node], table[row, node + 1]
    da, db = table[row + 1, node] * TABLE_STEP, table[row + 1, node + 1] * TABLE_STEP
    second, third = 3.0 * (b - a) - 2.0 * da - db, 2.0 * (a - b) + da + db
    return a + x * (da + x * (second + x * third)), (da + x * (2.0 * second + 3.0 * x * third)) / TABLE_STEP


@compiled()
def _conducts(degc, full, cell):
    """Return the conductivity [W/mK]: beyond what a wall may come to it stays as it is there, above nought."""
    return cell[K0] + cell[K1] * min(max(degc, COLDEST), HOTTEST) + cell[K_WET] * full


@compiled()
def _moves(full, cell):
    """Return how liquid creeps by a difference in filling [m²/s] and how that changes with it; and how it is pushed.

    Pores that are full are no sponge: what comes in pushes out as much, across a joint too.
    """
    sponge = cell[D0] * exp(cell[B] * full)
    if cell[D0] == 0.0:
        return 0.0, 0.0, 0.0, 0.0
    pushed = OVERFLOW * exp(min(OVERFLOW_RISE * (full - 1.0), 3.0))
    return sponge, cell[B] * sponge, pushed, OVERFLOW_RISE * pushed


@compiled()
def _derive(degc, water, bar, table, cell, z, j):
    """Fill `z[j]` with what follows from the unknowns of a cell, and how it changes with T [°C], w [kg/m³] and P [bar].

    What changes with none of them stays nought in rows 1 to 3.
    """
    eps, kelvin, pressure = cell[POROSITY], degc + ZERO_K, bar * _BAR
    molar, vapour_heat = GAS * kelvin, VAPOUR_AT_ZERO + VAPOUR_HEAT * degc
    saturated, saturated_t = _look_up(table, 0, degc)
    spread, spread_t = _look_up(table, 2, degc)
    dry = exp(-water / cell[WIDTH])
    vapour, vapour_t, vapour_w = (1.0 - dry) * saturated, (1.0 - dry) * saturated_t, dry / cell[WIDTH] * saturated
    gas, gas_w = eps - water / 1000.0, -0.001
    if gas < LEAST_GAS_SHARE * eps:
        gas, gas_w = LEAST_GAS_SHARE * eps, 0.0
    full, full_w = water / (1000.0 * eps), 1.0 / (1000.0 * eps)
    creeps, creeps_by, pushed, pushed_by = _moves(full, cell)
    z[j, 0, _T], z[j, 1, _T] = degc, 1.0
    z[j, 0, _P], z[j, 3, _P] = pressure, _BAR
    z[j, 0, _Y], z[j, 1, _Y], z[j, 2, _Y] = vapour / pressure, vapour_t / pressure, vapour_w / pressure
    z[j, 3, _Y] = -vapour / pressure * _BAR / pressure
    by = WATER_KG_MOL / molar
    rv, rv_t, rv_w = vapour * by, (vapour_t - vapour / kelvin) * by, vapour_w * by
    z[j, 0, _RV], z[j, 1, _RV], z[j, 2, _RV] = rv, rv_t, rv_w
    by = AIR_KG_MOL / molar
    ra, ra_t = (pressure - vapour) * by, -(vapour_t + (pressure - vapour) / kelvin) * by
    ra_w, ra_p = -vapour_w * by, _BAR * by
    z[j, 0, _RA], z[j, 1, _RA], z[j, 2, _RA], z[j, 3, _RA] = ra, ra_t, ra_w, ra_p
    z[j, 0, _S], z[j, 2, _S] = full, full_w
    z[j, 0, _RK] = 1.0 / cell[PERMEABILITY]
    z[j, 0, _KRG], z[j, 2, _KRG] = (gas / eps) ** 2, 2.0 * gas * gas_w / (eps * eps)
    z[j, 0, _MU], z[j, 1, _MU] = 9.0e-6 + 3.6e-8 * degc, 3.6e-8
    by = cell[TAU] / molar  # diffusivity times pressure: the pressure cancels
    z[j, 0, _GD], z[j, 1, _GD] = by * gas * spread, by * gas * (spread_t - spread / kelvin)
    z[j, 2, _GD] = by * gas_w * spread
    z[j, 0, _DL], z[j, 2, _DL] = creeps * 1000.0 * eps, creeps_by
    z[j, 0, _PU], z[j, 2, _PU] = pushed * 1000.0 * eps, pushed_by
    z[j, 0, _C], z[j, 2, _C] = _conducts(degc, full, cell), cell[K_WET] * full_w
    z[j, 1, _C] = cell[K1] if COLDEST < degc < HOTTEST else 0.0
    z[j, 0, _WATER], z[j, 1, _WATER], z[j, 2, _WATER] = water + gas * rv, gas * rv_t, 1.0 + gas_w * rv + gas * rv_w
    air_t, air_w, air_p = gas * ra_t, gas_w * ra + gas * ra_w, gas * ra_p
    z[j, 0, _AIR], z[j, 1, _AIR], z[j, 2, _AIR], z[j, 3, _AIR] = gas * ra, air_t, air_w, air_p
    warm = cell[HEAT0] + cell[HEAT1] * degc + water * LIQUID_HEAT + gas * ra * AIR_HEAT
    z[j, 0, _ENERGY] = warm * degc + gas * rv * vapour_heat
    z[j, 1, _ENERGY] = warm + (cell[HEAT1] + air_t * AIR_HEAT) * degc + gas * (rv_t * vapour_heat + rv * VAPOUR_HEAT)
    z[j, 2, _ENERGY] = (LIQUID_HEAT + air_w * AIR_HEAT) * degc + (gas_w * rv + gas * rv_w) * vapour_heat
    z[j, 3, _ENERGY] = air_p * AIR_HEAT * degc


# ---------------------------------------------------------------------------------------- faces


@compiled()
def _in_series(a, b, da, db):
    """Return what half cells of conductivities `a` and `b` conduct together, and how that changes with either."""
    whole = da * b + db * a
    if whole == 0.0:
        return 0.0, 0.0, 0.0
    easy = 1.0 / whole
    by_a, by_b = a * easy, b * easy
    return by_a * b, da * by_b * by_b, db * by_a * by_a


@compiled()
def _between(z, j, da, db, joint, flow, by_side):
    """Fill `flow` with water, air and energy that pass from one cell to the next [kg/s, kg/s, W, by m²], and
    `by_side` with how each changes with the unknowns of both.

    Conduction, diffusion and permeability in series. The share of the permeability that is left beside water is the
    mean of both sides: in series a saturated neighbour would seal a drying cell and invent pressure.
    """
    k = j + 1
    thin = 1.0 / (z[j, 0, _MU] + z[k, 0, _MU])
    eased = thin / (da * z[j, 0, _RK] + db * z[k, 0, _RK])
    over, free = z[j, 0, _P] - z[k, 0, _P], z[j, 0, _KRG] + z[k, 0, _KRG]
    speed, rise = free * eased * over, z[j, 0, _T] - z[k, 0, _T]
    spread, spread_a, spread_b = _in_series(z[j, 0, _GD], z[k, 0, _GD], da, db)
    damper, fuller = z[j, 0, _Y] - z[k, 0, _Y], z[j, 0, _S] - z[k, 0, _S]
    moles = spread * damper
    # Between the mean of both sides where diffusion rules, and the upstream side where flow does, without a kink; where
    # nothing moves and nothing can spread, a speed too small to matter keeps 0/0 away.
    kelvins, per_pascal = z[j, 0, _T] + z[k, 0, _T] + 2.0 * ZERO_K, 1.0 / (z[j, 0, _P] + z[k, 0, _P])
    per_spread = 2.0 * GAS * kelvins * per_pascal
    per_kelvin = 1.0 / kelvins
    still = per_spread * spread
    level = still * still + 1e-24
    root = 1.0 / sqrt(speed * speed + level)
    from_a, cubed = 0.5 + 0.5 * speed * root, 0.5 * root * root * root
    more_vapour, more_air = z[j, 0, _RV] - z[k, 0, _RV], z[j, 0, _RA] - z[k, 0, _RA]
    rv, ra = z[k, 0, _RV] + from_a * more_vapour, z[k, 0, _RA] + from_a * more_air
    vapour, air = rv * speed + WATER_KG_MOL * moles, ra * speed - AIR_KG_MOL * moles
    pushes = 0.5 / (da + db)
    if joint:
        soaks, soaks_a, soaks_b = _in_series(z[j, 0, _DL], z[k, 0, _DL], da, db)
    else:
        soaks_a = soaks_b = pushes
        soaks = pushes * (z[j, 0, _DL] + z[k, 0, _DL])
    soaks += pushes * (z[j, 0, _PU] + z[k, 0, _PU])
    liquid = soaks * fuller
    conducts, conducts_a, conducts_b = _in_series(z[j, 0, _C], z[k, 0, _C], da, db)
    degc = 0.5 * (z[j, 0, _T] + z[k, 0, _T])
    vapour_heat, air_heat, liquid_heat = VAPOUR_AT_ZERO + VAPOUR_HEAT * degc, AIR_HEAT * degc, LIQUID_HEAT * degc
    flow[0] = vapour + liquid
    flow[1] = air
    flow[2] = conducts * rise + vapour * vapour_heat + air * air_heat + liquid * liquid_heat
    warms = 0.5 * (vapour * VAPOUR_HEAT + air * AIR_HEAT + liquid * LIQUID_HEAT)
    moves_vapour, moves_air = rv + speed * more_vapour * cubed * level, ra + speed * more_air * cubed * level
    back_vapour, back_air = speed * speed * more_vapour * cubed * still, speed * speed * more_air * cubed * still
    for side in range(2):
        at = j + side
        sign, share = (1.0, from_a * speed) if side == 0 else (-1.0, (1.0 - from_a) * speed)
        spread_by, soaks_by = (spread_a, soaks_a) if side == 0 else (spread_b, soaks_b)
        heat_by = (conducts_a if side == 0 else conducts_b) * rise
        speed_u = -speed * thin * z[at, 1, _MU]  # with the temperature
        spread_u = spread_by * z[at, 1, _GD]
        moles_u = spread_u * damper + sign * spread * z[at, 1, _Y]
        still_u = per_spread * spread_u + still * per_kelvin
        vapour_u = moves_vapour * speed_u - back_vapour * still_u + share * z[at, 1, _RV] + WATER_KG_MOL * moles_u
        air_u = moves_air * speed_u - back_air * still_u + share * z[at, 1, _RA] - AIR_KG_MOL * moles_u
        by_side[side, 0, 0], by_side[side, 1, 0] = vapour_u, air_u
        heat_u = heat_by * z[at, 1, _C] + sign * conducts + warms
        by_side[side, 2, 0] = heat_u + vapour_u * vapour_heat + air_u * air_heat
        speed_u = eased * over * z[at, 2, _KRG]  # with the water
        spread_u = spread_by * z[at, 2, _GD]
        moles_u = spread_u * damper + sign * spread * z[at, 2, _Y]
        still_u = per_spread * spread_u
        vapour_u = moves_vapour * speed_u - back_vapour * still_u + share * z[at, 2, _RV] + WATER_KG_MOL * moles_u
        air_u = moves_air * speed_u - back_air * still_u + share * z[at, 2, _RA] - AIR_KG_MOL * moles_u
        wetter = soaks_by * z[at, 2, _DL] + pushes * z[at, 2, _PU]
        liquid_u = wetter * fuller + sign * soaks * z[at, 2, _S]
        by_side[side, 0, 1], by_side[side, 1, 1] = vapour_u + liquid_u, air_u
        heat_u = heat_by * z[at, 2, _C]
        by_side[side, 2, 1] = heat_u + vapour_u * vapour_heat + air_u * air_heat + liquid_u * liquid_heat
        speed_u = sign * free * eased * z[at, 3, _P]  # with the pressure
        moles_u = sign * spread * z[at, 3, _Y]
        still_u = -still * per_pascal * z[at, 3, _P]
        vapour_u = moves_vapour * speed_u - back_vapour * still_u + WATER_KG_MOL * moles_u
        air_u = moves_air * speed_u - back_air * still_u + share * z[at, 3, _RA] - AIR_KG_MOL * moles_u
        by_side[side, 0, 2], by_side[side, 1, 2] = vapour_u, air_u
        by_side[side, 2, 2] = vapour_u * vapour_heat + air_u * air_heat


@compiled()
def _heat_between(z, j, da, db, flow, by_side):
    """Do the same where heat alone passes, with the one unknown of a cell."""
    conducts, by_a, by_b = _in_series(z[j, 0, _C], z[j + 1, 0, _C], da, db)
    rise = z[j, 0, _T] - z[j + 1, 0, _T]
    flow[2] = conducts * rise
    by_side[0, 2, 0] = by_a * z[j, 1, _C] * rise + conducts * z[j, 1, _T]
    by_side[1, 2, 0] = by_b * z[j + 1, 1, _C] * rise - conducts * z[j + 1, 1, _T]


@compiled()
def _power(base, exponent):
    """Return a power of what is not below nought: the library's own takes twice as long."""
    return exp(exponent * log(base)) if base > 0.0 else 0.0


@compiled()
def _surface(degc, resistance, around, face, shown, rounds):
    """Return the heat [W/m²] from a cell to what is around, and show the temperatures of casing and outer surface [°C].

    (T - T_o) / (R + R_wrap) = h (T_o - T_a) + c |T_o - T_a|^0.3 (T_o - T_a) + e s (T_o⁴ - T_a⁴), solved for T_o by
    Newton's method: the right side rises with T_o, the left side falls. It begins from what is shown, where that lies
    between both.
    """
    whole = resistance + face[WRAP]
    outer = around
    if face[FILM] < inf:
        outer, low, high = shown[1], min(degc, around), max(degc, around)
        if not low <= outer <= high:
            outer = low if outer < low else high
        radiates = face[EMISSIVITY] * STEFAN_BOLTZMANN_W_M2K4
        for _ in range(rounds):
            rise = outer - around
            natural = face[NATURAL] * _power(abs(rise), 0.3)
            kelvin, kelvin_around = outer + ZERO_K, around + ZERO_K
            lost = (face[FILM] + natural) * rise + radiates * (kelvin**4 - kelvin_around**4)
            slope = face[FILM] + 1.3 * natural + 4.0 * radiates * kelvin**3 + 1.0 / whole
            change = ((degc - outer) / whole - lost) / slope
            outer += change
            if abs(change) < 1e-10 * (1.0 + abs(outer)):
                break
    heat = (degc - outer) / whole
    shown[0] = degc - heat * resistance
    shown[1] = outer
    return heat


@compiled()
def _vapour_film(degc, vapour, around, vapour_around, pressure, face):
    """Return the film of vapour at a face [m/s]: what is given, or h / (ρ cp Le^(2/3)) of the air that moves there.

    Damp air rises like warm air: T (1 + 0.378 y) counts, and half a kelvin always, since air is never quite still.
    """
    if face[BY_LEWIS] == 0.0:
        return face[VAPOUR_FILM]
    mean = 0.5 * (degc + around) + ZERO_K
    rise = degc - around + LIGHTER * mean * (vapour - vapour_around)
    moving = face[FILM] + face[NATURAL] * _power(rise * rise + NEVER_STILL * NEVER_STILL, 0.15)
    return moving / (pressure * AIR_KG_MOL / (GAS * mean) * AIR_HEAT * LEWIS ** (2.0 / 3.0))


@compiled()
def _stefan(vapour, around):
    """Return what of a film counts when the air in it stands still: ln((1 - y)/(1 - ys)) (1 - ys)/(ys - y).

    What flows carries the share ys with it besides, which makes it the film of Stefan's tube; 1 for little vapour.
    """
    air, damper = max(1.0 - vapour, 1e-4), vapour - around
    if abs(damper) < 1e-6:
        return 1.0
    return air * log(max(1.0 - around, 1e-4) / air) / damper if damper < 1.0 - 1e-4 else 1e-3


@compiled()
def _outward(z, half, around, vapour_around, pressure, face, flow, shown, rounds):
    """Fill `flow` with water, air and energy that leave a cell through a face [kg/s, kg/s, W per m²].

    No liquid crosses. An open face has the pressure of the atmosphere and a film of vapour by its openness; one that is
    gas-tight lets nothing through but heat.
    """
    flow[0] = flow[1] = 0.0
    flow[2] = _surface(z[_T], half / z[_C], around, face, shown, rounds)
    if face[OPENNESS] > 0.0:
        gapes = face[OPENNESS] / (face[OPENNESS] + HALF_OPEN)
        speed = gapes * z[_KRG] / (z[_RK] * z[_MU] * half) * (z[_P] - pressure)
        outside = pressure / (GAS * (around + ZERO_K))
        inside = pressure / (GAS * (z[_T] + ZERO_K))
        film = _vapour_film(shown[1], z[_Y], around, vapour_around, pressure, face)
        film *= _stefan(z[_Y], vapour_around)
        moles = (z[_Y] - vapour_around) / (half / z[_GD] + 1.0 / (inside * face[OPENNESS] * film))
        if speed > 0.0:
            vapour, air = z[_RV] * speed, z[_RA] * speed
        else:
            vapour = vapour_around * WATER_KG_MOL * outside * speed
            air = (1.0 - vapour_around) * AIR_KG_MOL * outside * speed
        vapour += WATER_KG_MOL * moles
        air -= AIR_KG_MOL * moles
        flow[0] = vapour
        flow[1] = air
        flow[2] += vapour * (VAPOUR_AT_ZERO + VAPOUR_HEAT * (z[_T] if vapour > 0.0 else around))
        flow[2] += air * AIR_HEAT * (z[_T] if air > 0.0 else around)


# ---------------------------------------------------------------------------------------- water that leaves freely


@compiled()
def _sensible(degc, water, cell, phase):
    """Return the heat of a cell beyond the same matter at the phase temperature [J/m³]."""
    return (cell[HEAT0] + cell[HEAT1] * (degc + phase) + water * LIQUID_HEAT) * (degc - phase)


@compiled()
def _stays(left, total, control):
    """Return the water whose warmth counts [kg/m³]: what has boiled has left, what has melted or frozen is there."""
    return total if control[REVERSIBLE] > 0.0 else left


@compiled()
def _derive_free(theta, water, total, cell, control, z):
    """Fill `z` with temperature, water left and heat for the enthalpy problem; `theta` is heat over that of dry matter
    [K].

    Beyond the phase temperature the heat goes into what `water` is there before anything warms; taken out again it
    brings back only what is `reversible` (freezing), because vapour has left.
    """
    phase, latent = control[PHASE], control[LATENT]
    heat = theta * cell[HEAT0]
    back = (total - water) * latent if control[REVERSIBLE] > 0.0 else 0.0
    if heat > water * latent:
        left, beyond = 0.0, heat - water * latent
    elif heat < -back:
        left, beyond = water + back / latent, heat + back
    else:
        left, beyond = water - heat / latent, 0.0
    stays = _stays(left, total, control)
    slope = cell[HEAT0] + 2.0 * cell[HEAT1] * phase + stays * LIQUID_HEAT
    rise = beyond / slope
    if cell[HEAT1] != 0.0:
        rise = 2.0 * beyond / (slope + sqrt(max(slope * slope + 4.0 * cell[HEAT1] * beyond, 0.0)))
    z[_T] = phase + rise
    z[_WATER] = left
    z[_ENERGY] = heat
    z[_S] = stays / (1000.0 * cell[POROSITY])
    z[_C] = _conducts(z[_T], z[_S], cell)


@compiled()
def _within_one_kink(theta, change, water, total, cell, control):
    """Shorten an update of the enthalpy problem so that it ends just beyond the first kink it would cross."""
    high = water * control[LATENT] / cell[HEAT0]
    low = -(total - water) * control[LATENT] / cell[HEAT0] if control[REVERSIBLE] > 0.0 else 0.0
    for kink in (low, high):
        beyond = 1e-9 * (1.0 + abs(kink))
        if theta < kink - beyond and theta + change > kink + beyond:
            return kink + beyond - theta
        if theta > kink + beyond and theta + change < kink - beyond:
            return kink - beyond - theta
    return change


# ---------------------------------------------------------------------------------------- one step


@compiled()
def _fill(kiln, state, work):
    """Derive every cell, with its derivatives."""
    u, z = state.u, work.z
    for i in range(kiln.areas.size):
        for j in range(kiln.first[i], kiln.first[i + 1]):
            cell = kiln.cells[j]
            if kiln.coupled[i]:
                _derive(u[j, 0], u[j, 1], u[j, 2], kiln.table, cell, z, j)
                continue
            nudge = 1e-7 * (1.0 + abs(u[j, 0]))
            _derive_free(u[j, 0], state.water[j], state.total[j], cell, kiln.control, z[j, 0])
            _derive_free(u[j, 0] + nudge, state.water[j], state.total[j], cell, kiln.control, work.bent)
            for k in (_T, _S, _C, _ENERGY):
                z[j, 1, k] = (work.bent[k] - z[j, 0, k]) / nudge


@compiled()
def _leave(coupled, z, half, around, vapour, pressure, face, flow, shown, rounds):
    if coupled:
        _outward(z, half, around, vapour, pressure, face, flow, shown, rounds)
    else:
        flow[0] = flow[1] = 0.0
        flow[2] = _surface(z[_T], half / z[_C], around, face, shown, rounds)
    flow[2] /= _ENERGY_SCALE


@compiled()
def _bend(z, q, nudge, bent):
    """Fill `bent` with a cell as it is, unknown `q` (from 1) nudged."""
    for k in range(_DERIVED):
        bent[k] = z[0, k] + nudge * z[q, k]


@compiled()
def _nudge(u, q):
    """Return by how much an unknown (from 1: T, w, P) is nudged for a face."""
    return 1e-4 if q == 1 else 1e-6 * (1e-3 + u[1]) if q == 2 else 1e-6


@compiled()
def _storage(kiln, i, dt, work):
    """Begin the balances of the cells of one wall with what they store; rows are water, air, energy."""
    z = work.z
    for j in range(kiln.first[i], kiln.first[i + 1]):
        share = kiln.cells[j, VOLUME] / dt
        for row in range(0 if kiln.coupled[i] else 2, 3):
            scale = share / _ENERGY_SCALE if row == 2 else share
            work.rhs[j, row] = -scale * (z[j, 0, _WATER + row] - work.stored[j, row])
            work.border[j, row, 0] = work.border[j, row, 1] = 0.0
            for q in range(3):
                work.diag[j, row, q] = scale * z[j, q + 1, _WATER + row]


@compiled()
def _passages(kiln, i, work):
    """Add what passes from cell to cell of one wall, with its derivatives."""
    flow, by_side, cells = work.nudged, work.by_side, kiln.cells
    rows, unknowns = (0, 3) if kiln.coupled[i] else (2, 1)
    for j in range(kiln.first[i], kiln.first[i + 1] - 1):
        da, db, area = 0.5 * cells[j, DX], 0.5 * cells[j + 1, DX], cells[j, AREA_OUT]
        if kiln.coupled[i]:
            _between(work.z, j, da, db, cells[j, LAYER] != cells[j + 1, LAYER], flow, by_side)
        else:
            _heat_between(work.z, j, da, db, flow, by_side)
        for row in range(rows, 3):
            by = area / _ENERGY_SCALE if row == 2 else area
            work.rhs[j, row] -= by * flow[row]
            work.rhs[j + 1, row] += by * flow[row]
            for q in range(unknowns):
                leaves, comes = by * by_side[0, row, q], by * by_side[1, row, q]
                work.diag[j, row, q] += leaves
                work.diag[j + 1, row, q] -= comes
                work.low[j + 1, row, q], work.up[j, row, q] = -leaves, comes


@compiled()
def _face(kiln, state, i, cold, looks, work):
    """Add what leaves a wall by a face, hot (0) or cold (1), to the balances of the cell there; keep derivatives for
    the chamber's own balance. A cold face meets the room, or in an enclosure the chamber's air."""
    inside = cold == 0 or kiln.chamber[ENCLOSED] > 0.0
    j = kiln.first[i + 1] - 1 if cold else kiln.first[i]
    half, area = 0.5 * kiln.cells[j, DX], kiln.cells[j, AREA_OUT if cold else AREA_IN]
    face, flow = (kiln.cold[i], work.flow_cold[i]) if cold else (kiln.hot[i], work.flow_hot[i])
    around, nudged, coupled = state.held if inside else work.room, work.nudged, kiln.coupled[i]
    for c in range(1 if looks else 6 if inside else 4):  # as it is, with the cell's unknowns nudged, with the chamber's
        if not coupled and c in (2, 3):
            continue
        nudge = 0.0 if c == 0 else _nudge(state.u[j], c) if c < 4 else 1e-4 if c == 4 else 1e-7
        _bend(work.z[j], c if c < 4 else 0, nudge if c < 4 else 0.0, work.bent)
        degc, vapour = around[0] + (nudge if c == 4 else 0.0), around[1] + (nudge if c == 5 else 0.0)
        shown = work.aside if c else work.shown_cold[i] if cold else work.shown_hot[i]
        if c:
            work.aside[1] = work.shown_cold[i, 1] if cold else work.shown_hot[i, 1]
        _leave(coupled, work.bent, half, degc, vapour, kiln.pressure, face, nudged, shown, 1 if c else 50)
        for row in range(3):
            if c == 0:
                flow[row] = nudged[row]
                work.rhs[j, row] -= area * flow[row]
            elif c < 4:
                work.by_cell[cold, i, row, c - 1] = (nudged[row] - flow[row]) / nudge
                work.diag[j, row, c - 1] += area * work.by_cell[cold, i, row, c - 1]
            else:
                work.by_chamber[cold, i, row, c - 4] = (nudged[row] - flow[row]) / nudge
                work.border[j, row, c - 4] += area * work.by_chamber[cold, i, row, c - 4]


@compiled()
def _inverse(a):
    """Return the inverse of a block of three by its adjugate, row by row."""
    b00, b01, b02 = (
        a[1, 1] * a[2, 2] - a[1, 2] * a[2, 1],
        a[0, 2] * a[2, 1] - a[0, 1] * a[2, 2],
        a[0, 1] * a[1, 2] - a[0, 2] * a[1, 1],
    )
    b10, b11, b12 = (
        a[1, 2] * a[2, 0] - a[1, 0] * a[2, 2],
        a[0, 0] * a[2, 2] - a[0, 2] * a[2, 0],
        a[0, 2] * a[1, 0] - a[0, 0] * a[1, 2],
    )
    b20, b21, b22 = (
        a[1, 0] * a[2, 1] - a[1, 1] * a[2, 0],
        a[0, 1] * a[2, 0] - a[0, 0] * a[2, 1],
        a[0, 0] * a[1, 1] - a[0, 1] * a[1, 0],
    )
    by = 1.0 / (a[0, 0] * b00 + a[0, 1] * b10 + a[0, 2] * b20)
    return (b00 * by, b01 * by, b02 * by), (b10 * by, b11 * by, b12 * by), (b20 * by, b21 * by, b22 * by)


@compiled()
def _times(rows, a, b, c):
    """Return a block of three, row by row, times a column."""
    first, second, third = rows
    return (
        first[0] * a + first[1] * b + first[2] * c,
        second[0] * a + second[1] * b + second[2] * c,
        third[0] * a + third[1] * b + third[2] * c,
    )


@compiled()
def _eliminate(lo, hi, enclosed, work):
    """Eliminate from the cold face to the hot one, so that the chamber meets what is left of the first cell.

    `gain` becomes what a cell's update takes of the update before it, `trail` what it takes of the chamber's (beyond
    the first cell only where the cold face is `enclosed`), `lead` what it is without both.
    """
    diag, up, low, rhs, border = work.diag, work.up, work.low, work.rhs, work.border
    gain, lead, trail = work.gain, work.lead, work.trail
    for j in range(hi - 1, lo - 1, -1):
        inverse = _inverse(diag[j])
        lead[j, 0], lead[j, 1], lead[j, 2] = _times(inverse, rhs[j, 0], rhs[j, 1], rhs[j, 2])
        for q in range(3):
            gain[j, 0, q], gain[j, 1, q], gain[j, 2, q] = _times(inverse, low[j, 0, q], low[j, 1, q], low[j, 2, q])
        if enclosed or j == lo:
            for q in range(2):
                own = _times(inverse, border[j, 0, q], border[j, 1, q], border[j, 2, q])
                trail[j, 0, q], trail[j, 1, q], trail[j, 2, q] = own
        if j == lo:
            break
        for i in range(3):
            a, b, c = up[j - 1, i, 0], up[j - 1, i, 1], up[j - 1, i, 2]
            rhs[j - 1, i] -= a * lead[j, 0] + b * lead[j, 1] + c * lead[j, 2]
            for q in range(3):
                diag[j - 1, i, q] -= a * gain[j, 0, q] + b * gain[j, 1, q] + c * gain[j, 2, q]
            if enclosed:
                for q in range(2):
                    border[j - 1, i, q] -= a * trail[j, 0, q] + b * trail[j, 1, q] + c * trail[j, 2, q]


@compiled()
def _eliminate_heat(lo, hi, work):
    """Do the same where heat alone is unknown."""
    diag, up, low, rhs, border = work.diag, work.up, work.low, work.rhs, work.border
    for j in range(hi - 1, lo - 1, -1):
        easy = 1.0 / diag[j, 2, 0]
        work.lead[j, 0], work.gain[j, 0, 0] = easy * rhs[j, 2], easy * low[j, 2, 0]
        work.trail[j, 0, 0], work.trail[j, 0, 1] = easy * border[j, 2, 0], easy * border[j, 2, 1]
        if j > lo:
            rhs[j - 1, 2] -= up[j - 1, 2, 0] * work.lead[j, 0]
            diag[j - 1, 2, 0] -= up[j - 1, 2, 0] * work.gain[j, 0, 0]
            for q in range(2):
                border[j - 1, 2, q] -= up[j - 1, 2, 0] * work.trail[j, 0, q]


@compiled()
def _enters(i, cold, area, flow, lead, trail, work):
    """Add what a face of wall `i` gives to what enters the chamber, as it will be after this update, and to how that
    hangs on it: by the update of the cell there without the chamber's, and by what it takes of that."""
    by_cell, by_chamber = work.by_cell[cold, i], work.by_chamber[cold, i]
    for row in range(3):
        work.into[row] += area * flow[row]
        for k in range(3):
            work.into[row] += area * by_cell[row, k] * lead[k]
        for q in range(2):
            work.slope[row, q] += area * by_chamber[row, q]
            for k in range(3):
                work.slope[row, q] -= area * by_cell[row, k] * trail[k, q]


@compiled()
def _follow_through(first, last, unknowns, work):
    """Make `lead` and `trail` those of each cell without the update before it, up to the cold face."""
    gain, lead, trail = work.gain, work.lead, work.trail
    for j in range(first + 1, last + 1):
        for row in range(unknowns):
            for k in range(unknowns):
                lead[j, row] -= gain[j, row, k] * lead[j - 1, k]
                trail[j, row, 0] -= gain[j, row, k] * trail[j - 1, k, 0]
                trail[j, row, 1] -= gain[j, row, k] * trail[j - 1, k, 1]


@compiled()
def _toward_chamber(kiln, i, work):
    """Add wall `i` to what enters the chamber: its hot face, and in an enclosure its cold face too."""
    a, b, area = kiln.first[i], kiln.first[i + 1] - 1, kiln.areas[i]
    _enters(i, 0, area, work.flow_hot[i], work.lead[a], work.trail[a], work)
    if kiln.chamber[ENCLOSED] == 0.0:
        return
    _follow_through(a, b, 3 if kiln.coupled[i] else 1, work)
    _enters(i, 1, area * kiln.cells[b, AREA_OUT], work.flow_cold[i], work.lead[b], work.trail[b], work)


@compiled()
def _mixture_heat(vapour, degc):
    """Return the heat of a mole of air with a share of vapour [J/mol]."""
    return vapour * WATER_KG_MOL * (VAPOUR_AT_ZERO + VAPOUR_HEAT * degc) + (1.0 - vapour) * AIR_KG_MOL * AIR_HEAT * degc


@compiled()
def _chamber_balance(kiln, held, old, mode, dt, work):
    """Fill the update of the chamber's temperature and vapour; return the power that its balance asks for [W].

    C dT/dt = P + walls + what fresh air brings - what leaves; n dy/dt = vapour from the walls + fresh air's - what
    leaves. What leaves is fresh air and all that the walls give, so that the pressure stays; a suction draws room air
    in.
    """
    chamber, room, into, slope, change = kiln.chamber, work.room, work.into, work.slope, work.chamber_change
    vented, fresh = chamber[VENT] < inf, 0.0
    residual_y, y_by_y, y_by_t = 0.0, 1.0, 0.0
    given = VAPOUR_AT_ZERO + VAPOUR_HEAT * held[0]  # what the walls give leaves as warm as the chamber
    carried = into[0] * given + into[1] * AIR_HEAT * held[0]
    by_warmth = into[0] * VAPOUR_HEAT + into[1] * AIR_HEAT + slope[0, 0] * given + slope[1, 0] * AIR_HEAT * held[0]
    if vented:
        fresh = chamber[VENT]
        out = fresh + into[0] / WATER_KG_MOL + into[1] / AIR_KG_MOL
        degc, vapour = (held[0], held[1]) if out > 0.0 else (room[0], room[1])
        stored = kiln.pressure * chamber[GAS_VOLUME] / (GAS * (held[0] + ZERO_K)) / dt
        residual_y = stored * (held[1] - old[1]) - fresh * room[1] - into[0] / WATER_KG_MOL + out * vapour
        other = 1.0 - vapour
        y_by_y = stored + max(out, 0.0) - other * slope[0, 1] / WATER_KG_MOL + vapour * slope[1, 1] / AIR_KG_MOL
        y_by_t = -other * slope[0, 0] / WATER_KG_MOL + vapour * slope[1, 0] / AIR_KG_MOL
        carried = out * _mixture_heat(vapour, degc) - fresh * _mixture_heat(room[1], room[0])
        by_warmth = max(out, 0.0) * (_mixture_heat(vapour, 1.0) - _mixture_heat(vapour, 0.0))
    asked = chamber[HEAT_CAPACITY] * (held[0] - old[0]) / dt - into[2] + carried
    change[0] = 0.0
    if mode == FOLLOWS:
        change[1] = -residual_y / y_by_y
        return asked
    residual_t = asked - (chamber[POWER] if mode == FULL else 0.0)
    t_by_t, t_by_y = chamber[HEAT_CAPACITY] / dt - slope[2, 0] + by_warmth, -slope[2, 1]
    whole = t_by_t * y_by_y - t_by_y * y_by_t
    change[0] = -(residual_t * y_by_y - t_by_y * residual_y) / whole
    change[1] = -(t_by_t * residual_y - y_by_t * residual_t) / whole if vented else 0.0
    return asked


@compiled()
def _update(kiln, state, i, work):
    """Apply the update to wall `i`, held back where it goes too far; return its size in tolerances."""
    u, gain, change, size = state.u, work.gain, work.change, 0.0
    unknowns, enclosed = 3 if kiln.coupled[i] else 1, kiln.chamber[ENCLOSED] > 0.0
    for j in range(kiln.first[i], kiln.first[i + 1]):
        for row in range(unknowns):
            change[j, row] = work.lead[j, row]
            if enclosed or j == kiln.first[i]:
                for q in range(2):
                    change[j, row] -= work.trail[j, row, q] * work.chamber_change[q]
            if j > kiln.first[i] and not enclosed:  # where that has been followed through
                for k in range(unknowns):
                    change[j, row] -= gain[j, row, k] * change[j - 1, k]
        if kiln.coupled[i]:
            own = max(abs(change[j, 0]) / 2e-3, abs(change[j, 1]) / 2e-3, abs(change[j, 2]) / 2e-5)
            u[j, 0] += min(max(change[j, 0], -15.0), 15.0)
            u[j, 1] = max(u[j, 1] + change[j, 1], 0.2 * u[j, 1])
            u[j, 2] += min(max(change[j, 2], -0.3), 0.3)
        else:
            own = abs(change[j, 0]) / 1e-6
            u[j, 0] += _within_one_kink(
                u[j, 0], change[j, 0], state.water[j], state.total[j], kiln.cells[j], kiln.control
            )
        size = own if not own < size else size  # a number that is none must not pass for a small one
    return size


@compiled()
def _advance(kiln, state, old, mode, dt, work):
    """Solve one step of backward Euler by Newton's method, from what is `stored` and from what the chamber held of old;
    return whether it is solved, the power asked for [W], and the rounds taken.

    The last round only looks: what flows, and what is stored, belongs to the unknowns as they are then left.
    """
    solved = False
    for rounds in range(MOST_ROUNDS):
        _fill(kiln, state, work)
        for row in range(3):
            work.into[row] = work.slope[row, 0] = work.slope[row, 1] = 0.0
        for i in range(kiln.areas.size):
            if not solved:
                _storage(kiln, i, dt, work)
                _passages(kiln, i, work)
            _face(kiln, state, i, 1, solved, work)
            _face(kiln, state, i, 0, solved, work)
            if solved:
                cold_m2 = kiln.areas[i] * kiln.cells[kiln.first[i + 1] - 1, AREA_OUT] * kiln.chamber[ENCLOSED]
                for row in range(3):
                    work.into[row] += kiln.areas[i] * work.flow_hot[i, row] + cold_m2 * work.flow_cold[i, row]
            else:
                if kiln.coupled[i]:
                    _eliminate(kiln.first[i], kiln.first[i + 1], kiln.chamber[ENCLOSED] > 0.0, work)
                else:
                    _eliminate_heat(kiln.first[i], kiln.first[i + 1], work)
                _toward_chamber(kiln, i, work)
        work.into[2] *= _ENERGY_SCALE
        work.slope[2, 0] *= _ENERGY_SCALE
        work.slope[2, 1] *= _ENERGY_SCALE
        asked = _chamber_balance(kiln, state.held, old, mode, dt, work)
        if solved:
            return True, asked, rounds
        size = max(abs(work.chamber_change[0]) / 0.02, abs(work.chamber_change[1]) / 1e-4)
        state.held[0] += min(max(work.chamber_change[0], -15.0), 15.0)
        state.held[1] = min(max(state.held[1] + work.chamber_change[1], 0.2 * state.held[1]), 0.5 + 0.5 * state.held[1])
        for i in range(kiln.areas.size):
            own = _update(kiln, state, i, work)
            size = own if not own < size else size
        solved = size < 1.0
        if not size < 1e12:
            break
    return False, 0.0, MOST_ROUNDS


# ---------------------------------------------------------------------------------------- a run


@compiled(makes=True)
def _workplace(n, n_wall):
    return Work(
        np.zeros((n, 4, _DERIVED)), np.zeros(_DERIVED), np.zeros((2, 3, 3)), np.zeros((n, 3)),
        np.zeros((n, 3, 3)), np.zeros((n, 3, 3)), np.zeros((n, 3, 3)), np.zeros((n, 3)), np.zeros((n, 3)),
        np.zeros((n, 3, 3)), np.zeros((n, 3)), np.zeros(3),
        np.zeros((n_wall, 3)), np.zeros((n_wall, 3)), np.zeros((2, n_wall, 3, 3)), np.zeros((2, n_wall, 3, 2)),
        np.zeros((n, 3, 2)), np.zeros((n, 3, 2)),
        np.zeros((n_wall, 2)), np.zeros((n_wall, 2)), np.zeros(2), np.zeros(3),
        np.zeros((3, 2)), np.zeros(2), np.zeros(2), np.zeros((n_wall, 3)), np.zeros((n_wall, 3)), np.zeros((n, 3)),
        np.zeros(2), np.zeros(n), np.zeros(n),
    )  # fmt: skip


@compiled(makes=True)
def _shown(n, n_wall, n_layer):
    walls, layers, whole = np.zeros((n_wall, WALL_COLUMNS)), np.zeros((1, n_layer)), np.zeros((1, SHOWN_COLUMNS))
    return Shown(walls, layers, whole, np.zeros((n, 3)))


@compiled(makes=True)
def _begin(kiln, unknowns, held):
    """Return the state to start from: unknowns (n_cell, 3) T [°C], w [kg/m³], P [Pa]; the chamber's held (2,)."""
    u, water, total = unknowns.copy(), unknowns[:, 1].copy(), unknowns[:, 1].copy()
    u[:, 2] /= _BAR
    for i in range(kiln.areas.size):
        for j in range(kiln.first[i], kiln.first[i + 1] if not kiln.coupled[i] else kiln.first[i]):
            if u[j, 0] > kiln.control[PHASE]:
                water[j] = 0.0
            stays = _stays(water[j], total[j], kiln.control)
            u[j, 0] = _sensible(u[j, 0], stays, kiln.cells[j], kiln.control[PHASE]) / kiln.cells[j, HEAT0]
    return State(u, water, total, held.copy())


@compiled()
def _copy(into, source):
    """Copy one array of two axes into another; an assignment of slices compiles for seconds."""
    for i in range(source.shape[0]):
        for j in range(source.shape[1]):
            into[i, j] = source[i, j]


@compiled()
def _blend(into, was, now, share):
    """Fill an array of two axes between two others."""
    for i in range(now.shape[0]):
        for j in range(now.shape[1]):
            into[i, j] = was[i, j] + share * (now[i, j] - was[i, j])


@compiled()
def _take_stock(kiln, state, work, shown):
    """Store what the cells hold, and show it; return water [kg] and heat [J] in all walls.

    In the enthalpy problem what has become vapour leaves here, and what is left is what the next step begins with.
    """
    water = heat = 0.0
    for i in range(shown.layers.size):
        shown.layers[0, i] = 0.0
    for i in range(kiln.areas.size):
        wall = shown.walls[i]
        wall[OVERPRESSURE] = wall[DEMAND] = 0.0
        for j in range(kiln.first[i], kiln.first[i + 1]):
            cell, z = kiln.cells[j], work.z[j, 0]
            volume = cell[VOLUME] * kiln.areas[i]
            work.shown_degc[j] = z[_T]
            liquid = state.u[j, 1] if kiln.coupled[i] else z[_WATER]
            shown.layers[0, int(cell[LAYER])] += volume * liquid
            shown.profile[j, 0], shown.profile[j, 1], shown.profile[j, 2] = z[_T], liquid, state.u[j, 2] * _BAR
            water += volume * z[_WATER]
            if kiln.coupled[i]:
                for row in range(3):
                    work.stored[j, row] = z[_WATER + row]
                heat += volume * z[_ENERGY]
                over = (z[_P] - kiln.pressure) * cell[RESCALE]
                if over > wall[OVERPRESSURE]:
                    wall[OVERPRESSURE], wall[PEAK_CELL] = over, j
                wall[DEMAND] = max(wall[DEMAND], over / cell[STRENGTH])
            else:
                state.water[j] = liquid
                stays = _stays(liquid, state.total[j], kiln.control)
                sensible = _sensible(z[_T], stays, cell, kiln.control[PHASE])
                state.u[j, 0] = sensible / cell[HEAT0]
                work.stored[j, 2] = sensible
                heat += volume * (sensible - liquid * kiln.control[LATENT])
        wall[HOT_FACE], wall[CASING], wall[OUTSIDE] = work.shown_hot[i, 0], work.shown_cold[i, 0], work.shown_cold[i, 1]
    shown.whole[0, CHAMBER_DEGC], shown.whole[0, CHAMBER_VAPOUR] = state.held[0], state.held[1]
    return water, heat


@compiled()
def _refused(kiln, coldest, hottest, work, audit):
    """Return DONE, or what no wall can come to: then the cell, and what it came to, stand in the audit.

    Nothing is colder or hotter than what the run was given; where water evaporates it cools as far as freezing, and so
    does a dry wall beside it, by the air between them.
    """
    lowest = min(coldest, 0.0) if np.any(kiln.coupled) else coldest
    for i in range(kiln.areas.size):
        highest = hottest + (TAKEN_UP_K if kiln.coupled[i] else SLACK_K)
        for j in range(kiln.first[i], kiln.first[i + 1]):
            z = work.z[j, 0]
            code, value = DONE, z[_T]
            if not z[_T] >= lowest - SLACK_K:
                code = TOO_COLD
            elif not z[_T] <= highest:
                code = TOO_HOT
            elif kiln.coupled[i] and z[_S] > MOST_FULL:
                code, value = OVERFULL, z[_S]
            elif kiln.coupled[i] and not z[_P] <= CRITICAL_PA:
                code, value = OVER_PRESSURE, z[_P]
            if code != DONE:
                audit[STOPPED_CELL], audit[STOPPED_AT] = j, value
                return code
    return DONE


@compiled()
def _account(kiln, work, dt, freed, shown):
    """Add what flowed in a step to what each wall shows; return water [kg], heat [J] that left, heat that passed."""
    water = heat = passed = 0.0
    for i in range(kiln.areas.size):
        cold_area = kiln.areas[i] * kiln.cells[kiln.first[i + 1] - 1, AREA_OUT]
        hot_w, cold_w = kiln.areas[i] * dt * work.flow_hot[i, 0] + freed[i], cold_area * dt * work.flow_cold[i, 0]
        hot_j = kiln.areas[i] * dt * work.flow_hot[i, 2] * _ENERGY_SCALE
        cold_j = cold_area * dt * work.flow_cold[i, 2] * _ENERGY_SCALE
        shown.walls[i, TO_CHAMBER] += hot_w
        shown.walls[i, TO_ROOM] += cold_w
        shown.walls[i, HEAT_IN] -= hot_j
        shown.walls[i, HEAT_OUT] += cold_j
        shown.whole[0, VENTED_KG] += hot_w + kiln.chamber[ENCLOSED] * cold_w
        water += hot_w + cold_w
        heat += hot_j + cold_j
        carried = (abs(hot_w) + abs(cold_w)) * VAPOUR_AT_ZERO  # else what comes as heat and leaves as vapour cancels
        passed += abs(hot_j) + abs(cold_j) + carried
    return water, heat, passed


@compiled()
def _freed(kiln, state, work, freed):
    """Fill what has become vapour in the enthalpy problem, wall by wall [kg]: there it leaves at once."""
    for i in range(kiln.areas.size):
        freed[i] = 0.0
        if not kiln.coupled[i]:
            for j in range(kiln.first[i], kiln.first[i + 1]):
                freed[i] += kiln.areas[i] * kiln.cells[j, VOLUME] * (state.water[j] - work.z[j, 0, _WATER])


@compiled()
def _between_knots(at, times, values):
    """Return the value of a broken line, level beyond its ends."""
    if at <= times[0]:
        return values[0]
    for i in range(1, times.size):
        if at <= times[i]:
            return values[i - 1] + (values[i] - values[i - 1]) * (at - times[i - 1]) / (times[i] - times[i - 1])
    return values[-1]


@compiled()
def _toward_knot(kiln, at, dt, end):
    """Return the step that does not run past a knot of a broken line, nor leave a splinter before it."""
    knot = end
    for times in (kiln.set_times, kiln.out_times):
        for i in range(times.size):
            if times[i] > at + 1e-6:
                knot = min(knot, times[i])
    dt = min(dt, kiln.control[LONGEST_STEP])
    if at + dt > knot - 1e-6:
        return knot - at
    return 0.5 * (knot - at) if at + 1.5 * dt > knot else dt


@compiled()
def _restore(state, before):
    _copy(state.u, before.u)
    state.held[0], state.held[1] = before.held[0], before.held[1]


@compiled()
def _other_mode(kiln, held, goal, mode, asked):
    """Return how the chamber is held, seeing what its schedule asks of the heater or where the heater leaves it."""
    if kiln.chamber[POWER] == inf:
        return FOLLOWS
    if kiln.chamber[POWER] == 0.0:
        return OFF
    if mode == FOLLOWS:
        return FULL if asked > kiln.chamber[POWER] * (1.0 + 1e-9) else OFF if asked < 0.0 else FOLLOWS
    over = held[0] - goal
    return FOLLOWS if (mode == FULL and over > 1e-3) or (mode == OFF and over < -1e-3) else mode


@compiled()
def _at(kiln, state, mode, moment, work):
    """Set what the schedule and the room are at a moment [s]; return what the schedule asks of the chamber [°C]."""
    goal = _between_knots(moment, kiln.set_times, kiln.set_degc)
    work.room[0] = _between_knots(moment, kiln.out_times, kiln.out_degc)
    work.room[1] = kiln.room_vapour
    if mode == FOLLOWS:
        state.held[0] = goal
    return goal


@compiled()
def _first_order(kiln, state, before, mode, t, dt, work):
    """Take a step of backward Euler; return as `_advance` does."""
    _at(kiln, state, mode, t + dt, work)
    return _advance(kiln, state, before.held, mode, dt, work)


@compiled()
def _second_order(kiln, state, before, mode, t, dt, work):
    """Take a step in two stages of backward Euler; return as `_advance` does, and what a first order would miss [K].

    u1 = u0 + g dt f(u1), u2 = u0 + dt ((1 - g) f(u1) + g f(u2)) with g = 1 - 1/√2: of second order, as stiff as
    backward Euler, and what flows is what is stored (Alexander, SIAM J. Numer. Anal. 14, 1977, from memory). Where the
    first stage points to less than no water, as at a front, it is no step.
    """
    _at(kiln, state, mode, t + STAGE * dt, work)
    solved, early, rounds = _advance(kiln, state, before.held, mode, STAGE * dt, work)
    if not solved:
        return False, 0.0, rounds, 0.0
    _copy(work.early_hot, work.flow_hot)
    _copy(work.early_cold, work.flow_cold)
    ahead = (1.0 - STAGE) / STAGE
    for i in range(kiln.areas.size):
        for j in range(kiln.first[i], kiln.first[i + 1]):
            work.first_degc[j] = work.z[j, 0, _T]
            if kiln.coupled[i] and work.stored[j, 0] + ahead * (work.z[j, 0, _WATER] - work.stored[j, 0]) < 0.0:
                return False, 0.0, rounds, 0.0
    _copy(work.kept, work.stored)
    for i in range(kiln.areas.size):
        for j in range(kiln.first[i], kiln.first[i + 1]):
            for row in range(0 if kiln.coupled[i] else 2, 3):
                work.stored[j, row] += ahead * (work.z[j, 0, _WATER + row] - work.stored[j, row])
    for q in range(2):
        work.held[q] = before.held[q] + ahead * (state.held[q] - before.held[q])
    _at(kiln, state, mode, t + dt, work)
    solved, late, more = _advance(kiln, state, work.held, mode, STAGE * dt, work)
    _copy(work.stored, work.kept)
    _blend(work.flow_hot, work.early_hot, work.flow_hot, STAGE)
    _blend(work.flow_cold, work.early_cold, work.flow_cold, STAGE)
    missed = 0.0
    for i in range(kiln.areas.size):
        for j in range(kiln.first[i], kiln.first[i + 1]):
            was = work.shown_degc[j]
            missed = max(missed, abs(work.z[j, 0, _T] - was - (work.first_degc[j] - was) / STAGE))
    return solved, early + STAGE * (late - early), rounds + more, missed


@compiled()
def _one_step(kiln, state, before, mode, t, dt, work, audit):
    """Take the next step, shortened until solved; return its length [s] (0: none), mode, power [W], rounds, and by how
    much the next one may be longer, as far as the error of this one tells."""
    _restore(before, state)
    switches = 0
    while dt >= LEAST_STEP:
        solved, longer, rounds, asked = False, MOST_GROWTH, 0, 0.0
        if kiln.control[TOLERANCE] > 0.0:
            solved, asked, rounds, missed = _second_order(kiln, state, before, mode, t, dt, work)
            audit[ROUNDS] += rounds
            longer = 0.9 * sqrt(kiln.control[TOLERANCE] / max(missed, 1e-9))
            if solved and longer < 0.3:
                audit[REFUSED] += 1
                _restore(state, before)
                dt *= max(longer, 0.1)
                continue
            if not solved:
                _restore(state, before)
                longer = MOST_GROWTH
        if not solved:
            solved, asked, rounds = _first_order(kiln, state, before, mode, t, dt, work)
            audit[ROUNDS] += rounds
        goal = _between_knots(t + dt, kiln.set_times, kiln.set_degc)
        if not solved:
            audit[REFUSED] += 1
            _restore(state, before)
            dt *= 0.3
            continue
        other = _other_mode(kiln, state.held, goal, mode, asked)
        if other == mode or switches == MOST_SWITCHES:
            power = kiln.chamber[POWER] if mode == FULL else 0.0 if mode == OFF else max(asked, 0.0)
            return dt, mode, power, rounds, longer
        switches += 1
        mode = other
        _restore(state, before)
    return 0.0, mode, 0.0, 0, 1.0


@compiled()
def _next_step(kiln, now, was, dt, rounds, longer):
    """Return the step to try next: what changed most is kept near what is allowed in a step."""
    most = 0.1
    for i in range(kiln.areas.size):
        for j in range(kiln.first[i], kiln.first[i + 1]):
            most = max(most, abs(now.profile[j, 0] - was.profile[j, 0]) / kiln.control[DEGC_STEP])
            if kiln.coupled[i]:
                share = abs(now.profile[j, 1] - was.profile[j, 1]) / (1000.0 * kiln.cells[j, POROSITY])
                most = max(most, share / kiln.control[SHARE_STEP])
    grows = 1.0 if rounds >= 8 else MOST_GROWTH if most < QUIET else GROWTH
    return max(dt * min(grows, longer, max(0.3, 1.0 / most)), SHORTEST_TRY)


@compiled()
def _show(moment, moments, t_was, t, was, now, peaks, walls, layers, whole, profiles):
    """Show every moment [s] that lies in the step just taken; return the next one. A peak stands until it was shown."""
    for i in range(peaks.shape[0]):
        peaks[i, 0] = max(peaks[i, 0], now.walls[i, OVERPRESSURE])
        peaks[i, 1] = max(peaks[i, 1], now.walls[i, DEMAND])
    while moment < moments.size and moments[moment] <= t + 1e-6:
        share = 1.0 if t == t_was else min((moments[moment] - t_was) / (t - t_was), 1.0)
        _blend(walls[moment], was.walls, now.walls, share)
        _blend(layers[moment : moment + 1], was.layers, now.layers, share)
        _blend(whole[moment : moment + 1], was.whole, now.whole, share)
        if profiles.shape[0] > 0:
            _blend(profiles[moment], was.profile, now.profile, share)
        for i in range(peaks.shape[0]):
            walls[moment, i, OVERPRESSURE], walls[moment, i, DEMAND] = peaks[i, 0], peaks[i, 1]
            walls[moment, i, PEAK_CELL] = now.walls[i, PEAK_CELL]
            peaks[i, 0], peaks[i, 1] = now.walls[i, OVERPRESSURE], now.walls[i, DEMAND]
        moment += 1
    return moment


@compiled()
def _remember(was, now):
    _copy(was.walls, now.walls)
    _copy(was.layers, now.layers)
    _copy(was.whole, now.whole)
    _copy(was.profile, now.profile)


@compiled(called=True)
def run(kiln, unknowns, chamber, moments, walls, layers, whole, profiles, audit):
    """Run all walls around one chamber to the last of `moments` [s]; return DONE or what stopped it, and the time [s].

    unknowns (n_cell, 3) T [°C], w [kg/m³], P [Pa] and chamber (2,) temperature and vapour are where it starts, and
    where it ends. Filled: walls (n_moment, n_wall, WALL_COLUMNS), layers (n_moment, n_layer) water [kg], whole
    (n_moment, SHOWN_COLUMNS), profiles (n_moment or 0, n_cell, 3), audit (AUDIT_COLUMNS,).
    """
    n, n_wall, n_layer = kiln.cells.shape[0], kiln.areas.size, layers.shape[1]
    state, work = _begin(kiln, unknowns, chamber), _workplace(n, n_wall)
    before = State(state.u.copy(), state.water.copy(), state.total.copy(), state.held.copy())
    now, was = _shown(n, n_wall, n_layer), _shown(n, n_wall, n_layer)
    peaks, freed = np.zeros((n_wall, 2)), np.zeros(n_wall)
    if kiln.chamber[VENT] == inf:
        state.held[1] = kiln.supply_vapour
    work.room[0], work.room[1] = _between_knots(0.0, kiln.out_times, kiln.out_degc), kiln.room_vapour
    _fill(kiln, state, work)
    for i in range(n_wall):
        _face(kiln, state, i, 1, True, work)
        _face(kiln, state, i, 0, True, work)
    begun_water, begun_heat = _take_stock(kiln, state, work, now)
    coldest, hottest = min(chamber[0], min(kiln.set_degc.min(), kiln.out_degc.min())), chamber[0]
    hottest = max(hottest, max(kiln.set_degc.max(), kiln.out_degc.max()))
    for j in range(n):
        coldest, hottest = min(coldest, work.z[j, 0, _T]), max(hottest, work.z[j, 0, _T])
    now_water, now_heat = begun_water, begun_heat
    left_water = left_heat = passed = t = t_was = 0.0
    dt = FIRST_STEP if kiln.control[TOLERANCE] > 0.0 else max(FIRST_STEP, FIRST_SHARE * kiln.control[LONGEST_STEP])
    mode, moment = OFF if kiln.chamber[POWER] == 0.0 else FOLLOWS, 0
    while True:
        moment = _show(moment, moments, t_was, t, was, now, peaks, walls, layers, whole, profiles)
        if moment == moments.size:
            break
        _remember(was, now)
        dt = _toward_knot(kiln, t, dt, moments[-1])
        dt, mode, power, rounds, longer = _one_step(kiln, state, before, mode, t, dt, work, audit)
        audit[STEPS] += 1
        if dt == 0.0:
            return STEP_TOO_SMALL, t
        _freed(kiln, state, work, freed)
        water, heat, both = _account(kiln, work, dt, freed, now)
        left_water, left_heat, passed = left_water + water, left_heat + heat, passed + both
        now.whole[0, HEATER_W] = power
        now.whole[0, HEATER_J] += dt * power
        now_water, now_heat = _take_stock(kiln, state, work, now)
        t_was, t = t, t + dt
        code = _refused(kiln, coldest, hottest, work, audit)
        if code != DONE:
            return code, t
        dt = _next_step(kiln, now, was, dt, rounds, longer)
    most_water = begun_water
    for i in range(n_wall):
        most_water += DRY * kiln.areas[i]
        passed += DRY * kiln.areas[i] * VAPOUR_AT_ZERO
        for j in range(kiln.first[i], kiln.first[i + 1]):
            most_water += state.total[j] * kiln.cells[j, VOLUME] * kiln.areas[i]
    audit[WATER_ERROR] = abs(now_water - begun_water + left_water) / most_water
    audit[HEAT_ERROR] = abs(now_heat - begun_heat + left_heat) / passed
    _copy(unknowns, now.profile)
    chamber[0], chamber[1] = state.held[0], state.held[1]
    return DONE, t
