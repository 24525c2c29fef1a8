"""Heat, vapour, air and liquid in a kiln wall, cut into cells: three ordinary differential equations a cell.

    water   d/dt( w + phi rho_v )                              = -d/dx( J_v + J_l )                         kg/m3 s
    air     d/dt( phi rho_a )                                  = -d/dx( J_a )
    energy  d/dt( rho_s (c0 T + c1 T^2/2) + w h_l + phi rho_v h_v + phi rho_a h_a )
                                                               = -d/dx( -k dT/dx + h_v J_v + h_l J_l + h_a J_a )

The unknowns of a cell are its temperature T, the log-odds z of its water activity, z = ln(a_w / (1 - a_w)), and its
pressure P. With a_w = 1 - exp(-w/w_h) the log-odds give w = w_h ln(1 + e^z): wet, z follows the water; dry, its
logarithm. So water never turns negative, and its last trace is solved as well as the bulk. What is stiff is the flow
that levels the pressure; being linear in P it costs the integrator nothing, where the partial pressure of the air as
the unknown took ten times the steps.

Nothing here comes from the program's solver, nor goes into it: only the balances are shared.
"""

from dataclasses import asdict, dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.sparse import csc_array
from scipy.special import expit

R, M_W, M_A = 8.314462618, 0.018015, 0.028965  # J/mol K, kg/mol
P_ATM = 101325.0  # Pa
C_L, C_V, C_A, H_V0 = 4186.0, 1880.0, 1005.0, 2.501e6  # J/kg K; J/kg of vapour at 0 °C
SIGMA = 5.670374419e-8  # W/m2 K4
RHO_W = 1000.0  # kg/m3
KELVIN = 273.15
HOUR = 3600.0


@dataclass(frozen=True)
class Layer:
    """One material. k = k0 + k1 T + k_wet S, c = c0 + c1 T with T in °C; w_h is the width of the sorption curve."""

    thickness_m: float
    density_kg_m3: float
    porosity: float
    k0_w_mk: float
    k1_w_mk2: float
    k_wet_w_mk: float
    c0_j_kgk: float
    c1_j_kgk2: float
    permeability_m2: float
    tortuosity: float
    w_h_kg_m3: float
    d0_m2_s: float
    b: float
    water_kg_m3: float


@dataclass(frozen=True)
class Faces:
    """The chamber at the hot face, the room at the cold one. Openness 0 is a gas-tight casing."""

    openness: float
    h_hot_w_m2k: float = 40.0
    h_cold_w_m2k: float = 1.6  # times |T_s - T_room|^0.3
    emissivity: float = 0.8
    film_m_s: float = 0.0111
    room_degc: float = 20.0
    room_vapour_pa: float = 1170.0
    chamber_vapour_pa: float = 1170.0


@dataclass(frozen=True)
class Case:
    layers: tuple[Layer, ...]
    faces: Faces
    schedule_h_degc: tuple[tuple[float, float], ...]


# IAPWS SR1-86(1992), Wagner and Pruß: ln(p/p_c) = (T_c/T) Σ a_i (1 - T/T_c)^n_i.
T_C, P_C = 647.096, 22.064e6
SATURATION = ((-7.85951783, 1.0), (1.84408259, 1.5), (-11.7866497, 3.0), (22.6807411, 3.5), (-15.9618719, 4.0),
              (1.80122502, 7.5))  # fmt: skip
T_LINE_END = 370 + KELVIN  # above it ln p goes on straight over 1/T


def saturation(t_k: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Pressure [Pa] over water and its slope [Pa/K]."""
    on_line = np.minimum(t_k, T_LINE_END)
    root = np.sqrt(1 - on_line / T_C)
    series = sum(a * root ** (2 * n) for a, n in SATURATION)
    slope = sum(a * n * root ** (2 * n - 2) for a, n in SATURATION)
    ln_p = T_C / on_line * series
    steepness_k = -on_line * (ln_p + slope)  # -d ln p / d(1/T)
    pressure = P_C * np.exp(ln_p + steepness_k * (1 / on_line - 1 / t_k))
    return pressure, pressure * steepness_k / t_k**2


class Grid:
    """The cells: their thickness, the layer each belongs to, and that layer's properties as arrays over the cells.

    Those at the outer faces are `first_m` thick, and grow inwards by one ratio: the water retreats from both faces.
    """

    def __init__(self, layers: tuple[Layer, ...], cells: tuple[int, ...], first_m: float) -> None:
        sizes = [np.full(count, layer.thickness_m / count) for layer, count in zip(layers, cells, strict=True)]
        if len(layers) == 1:
            half = graded(layers[0].thickness_m / 2, cells[0] // 2, first_m)
            sizes = [np.concatenate([half, half[::-1]])]
        else:
            sizes[0] = graded(layers[0].thickness_m, cells[0], first_m)
            sizes[-1] = graded(layers[-1].thickness_m, cells[-1], first_m)[::-1]
        self.dx = np.concatenate(sizes)
        self.half = self.dx / 2
        belongs = np.repeat(np.arange(len(layers)), cells)
        self.joint = np.diff(belongs) > 0
        self.of = {name: np.array([asdict(layers[at])[name] for at in belongs]) for name in asdict(layers[0])}


def graded(thickness_m: float, cells: int, first_m: float) -> np.ndarray:
    """Cells that fill a layer, each larger than the one before by one ratio."""
    if first_m * cells >= thickness_m:
        return np.full(cells, thickness_m / cells)
    ratio = brentq(lambda r: first_m * (r**cells - 1) / (r - 1) - thickness_m, 1 + 1e-9, 2)
    return first_m * ratio ** np.arange(cells)


class Cells:
    """What follows in each cell from T [°C], z and P [Pa]."""

    def __init__(self, grid: Grid, t: np.ndarray, z: np.ndarray, p: np.ndarray) -> None:
        of = grid.of
        self.t, self.t_k = t, t + KELVIN
        self.a_w = expit(z)
        self.w = of["w_h_kg_m3"] * np.logaddexp(0, z)
        self.p_sat, self.p_sat_slope = saturation(self.t_k)
        self.p, self.p_v = p, self.a_w * self.p_sat
        self.p_a = p - self.p_v
        self.y = self.p_v / self.p
        self.s = self.w / (RHO_W * of["porosity"])
        space, floor = of["porosity"] - self.w / RHO_W, 0.02 * of["porosity"]
        self.floored = space < floor
        self.phi = np.where(self.floored, floor, space)
        self.rho_v, self.rho_a = self.p_v * M_W / (R * self.t_k), self.p_a * M_A / (R * self.t_k)
        self.h_l, self.h_v, self.h_a = C_L * t, H_V0 + C_V * t, C_A * t
        self.k = of["k0_w_mk"] + of["k1_w_mk2"] * t + of["k_wet_w_mk"] * self.s
        self.mobility = (self.phi / of["porosity"]) ** 2 / (9.0e-6 + 3.6e-8 * t)  # k_rg / mu
        self.d_eff = of["tortuosity"] * self.phi * 2.5e-5 * (self.t_k / 298) ** 1.8 * P_ATM / self.p
        self.molar = self.p / (R * self.t_k)  # mol/m3
        self.d_l = of["d0_m2_s"] * np.exp(of["b"] * self.s) * RHO_W * of["porosity"]  # kg/m s

    def stored(self, grid: Grid) -> np.ndarray:
        """Water, condensed water, air [kg/m2] and energy [J/m2] in the wall."""
        of = grid.of
        vapour, air = self.phi * self.rho_v, self.phi * self.rho_a
        solid = of["density_kg_m3"] * (of["c0_j_kgk"] * self.t + of["c1_j_kgk2"] * self.t**2 / 2)
        energy = solid + self.w * self.h_l + vapour * self.h_v + air * self.h_a
        return np.array([self.w + vapour, self.w, air, energy]) @ grid.dx


def in_series(half: np.ndarray, conductivity: np.ndarray) -> np.ndarray:
    """Conductance between the middles of neighbours."""
    resistance = half / conductivity
    return 1 / (resistance[:-1] + resistance[1:])


def between(half: np.ndarray, value: np.ndarray) -> np.ndarray:
    """Value at the faces, on the line between the middles of neighbours."""
    return (value[:-1] * half[1:] + value[1:] * half[:-1]) / (half[:-1] + half[1:])


def carried_by(flow: np.ndarray, spread: np.ndarray, value: np.ndarray) -> np.ndarray:
    """Value at the faces that a flow carries against a diffusive conductance: exact for the steady flow between two
    middles. The mean of both sides where diffusion prevails, the upstream side where the flow does."""
    peclet = flow / (2 * spread)
    near = np.abs(peclet) < 1e-3
    far = np.where(near, 1.0, peclet)
    lean = np.where(near, peclet / 3, 1 / np.tanh(far) - 1 / far)
    return (value[:-1] * (1 + lean) + value[1:] * (1 - lean)) / 2


def inner_fluxes(grid: Grid, c: Cells) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Water, air [kg/m2 s] and energy [W/m2] across the faces inside the wall, towards the cold face."""
    v = -in_series(grid.half, grid.of["permeability_m2"]) * between(grid.half, c.mobility) * np.diff(c.p)
    spread = in_series(grid.half, c.d_eff)
    j = -spread * between(grid.half, c.molar) * np.diff(c.y)
    j_v, j_a = carried_by(v, spread, c.rho_v) * v + M_W * j, carried_by(v, spread, c.rho_a) * v - M_A * j
    # Inside a layer the flux of an exponential diffusivity is exact: the difference of its integral.
    smooth = -np.diff(c.d_l / grid.of["b"]) / (grid.half[:-1] + grid.half[1:])
    j_l = np.where(grid.joint, -in_series(grid.half, c.d_l) * np.diff(c.s), smooth)
    heat = -in_series(grid.half, c.k) * np.diff(c.t)
    carried = between(grid.half, c.h_v) * j_v + between(grid.half, c.h_l) * j_l + between(grid.half, c.h_a) * j_a
    return j_v + j_l, j_a, heat + carried


def outer_gas(
    grid: Grid, c: Cells, at: int, film_m_s: float, degc: float, vapour_pa: float
) -> tuple[float, float, float]:
    """Vapour, air [kg/m2 s] and their energy [W/m2] that leave cell `at` through its open face."""
    half, t_k = grid.half[at], degc + KELVIN
    v = grid.of["permeability_m2"][at] * c.mobility[at] / half * (c.p[at] - P_ATM)
    rho_v, rho_a = (
        (c.rho_v[at], c.rho_a[at]) if v > 0 else (vapour_pa * M_W / (R * t_k), (P_ATM - vapour_pa) * M_A / (R * t_k))
    )
    conductance = 1 / (half / c.d_eff[at] + 1 / film_m_s)
    j = conductance * P_ATM / (R * c.t_k[at]) * (c.y[at] - vapour_pa / P_ATM)
    j_v, j_a = rho_v * v + M_W * j, rho_a * v - M_A * j
    from_v, from_a = c.t[at] if j_v > 0 else degc, c.t[at] if j_a > 0 else degc
    return j_v, j_a, (H_V0 + C_V * from_v) * j_v + C_A * from_a * j_a


def cold_surface_degc(faces: Faces, conductance: float, degc: float) -> float:
    """Temperature at which the casing loses what reaches it through the last half cell."""
    surface, room_k = degc, faces.room_degc + KELVIN
    for _ in range(50):  # of Newton's steps; a handful is enough
        excess, kelvin = surface - faces.room_degc, surface + KELVIN
        convection = faces.h_cold_w_m2k * abs(excess) ** 0.3
        radiation = faces.emissivity * SIGMA * (kelvin**4 - room_k**4)
        surplus = conductance * (surface - degc) + convection * excess + radiation
        step = surplus / (conductance + 1.3 * convection + 4 * faces.emissivity * SIGMA * kelvin**3)
        surface -= step
        if abs(step) < 1e-11:
            return surface
    return np.nan  # beside a cell that the integrator only tries, and will not take


class Wall:
    """The ordinary differential equations of one case on one grid. The state: T, z, P of each cell, then the sums
    of what has left at the hot face, and at the cold face: water, air [kg/m2], energy [J/m2]."""

    def __init__(self, case: Case, cells: tuple[int, ...], first_m: float) -> None:
        self.case, self.grid = case, Grid(case.layers, cells, first_m)
        self.n = len(self.grid.dx)
        self.rows, self.columns = self.neighbours()
        self.hours, self.degc = np.array(case.schedule_h_degc).T

    def start(self) -> np.ndarray:
        """Everything at the room's temperature, the gas at the pressure of the atmosphere."""
        t = np.full(self.n, self.case.faces.room_degc)
        wetness = self.grid.of["water_kg_m3"] / self.grid.of["w_h_kg_m3"]
        z = wetness + np.log1p(-np.exp(-wetness))
        return np.concatenate([t, z, np.full(self.n, P_ATM), np.zeros(6)])

    def cells(self, state: np.ndarray) -> Cells:
        return Cells(self.grid, *state[:-6].reshape(3, self.n))

    def cold_surface_degc(self, c: Cells) -> float:
        return cold_surface_degc(self.case.faces, c.k[-1] / self.grid.half[-1], c.t[-1])

    def hot_face(self, c: Cells, time_s: float) -> tuple[float, float, float]:
        """Water, air and energy that leave into the chamber."""
        faces, chamber = self.case.faces, float(np.interp(time_s / HOUR, self.hours, self.degc))
        j_v, j_a, carried = outer_gas(self.grid, c, 0, faces.film_m_s, chamber, faces.chamber_vapour_pa)
        heat = (c.t[0] - chamber) / (1 / faces.h_hot_w_m2k + self.grid.half[0] / c.k[0])
        return j_v, j_a, heat + carried

    def cold_face(self, c: Cells) -> tuple[float, float, float]:
        """Water, air and energy that leave through the casing."""
        faces = self.case.faces
        heat = c.k[-1] / self.grid.half[-1] * (c.t[-1] - self.cold_surface_degc(c))
        if faces.openness == 0:
            return 0.0, 0.0, heat
        film = faces.openness * faces.film_m_s
        j_v, j_a, carried = outer_gas(self.grid, c, -1, film, faces.room_degc, faces.room_vapour_pa)
        return j_v, j_a, heat + carried

    def rates(self, time_s: float, state: np.ndarray) -> np.ndarray:
        c = self.cells(state)
        hot, cold = self.hot_face(c, time_s), self.cold_face(c)
        fluxes = [np.concatenate([[-h], f, [o]]) for h, f, o in zip(hot, inner_fluxes(self.grid, c), cold, strict=True)]
        gains = [-np.diff(flux) / self.grid.dx for flux in fluxes]
        return np.concatenate([*self.unknowns(c, *gains), hot, cold])

    def unknowns(self, c: Cells, water: np.ndarray, air: np.ndarray, energy: np.ndarray) -> tuple[np.ndarray, ...]:
        """Rates of T, z and P from those of the balances.

        Taking h_v times the water and h_a times the air from the energy leaves  C dT/dt - (h_v - h_l) dw/dt,  so that
        only the row of the air holds its pressure p_a, and two unknowns remain.
        """
        of = self.grid.of
        w_z = of["w_h_kg_m3"] * c.a_w
        phi_z = np.where(c.floored, 0, -w_z / RHO_W)
        per_pa = c.phi * M_W / (R * c.t_k)
        water_t = per_pa * c.a_w * (c.p_sat_slope - c.p_sat / c.t_k)
        water_z = w_z + phi_z * c.rho_v + per_pa * c.p_v * (1 - c.a_w)
        solid = of["density_kg_m3"] * (of["c0_j_kgk"] + of["c1_j_kgk2"] * c.t)
        capacity = solid + c.w * C_L + c.phi * (c.rho_v * C_V + c.rho_a * C_A)
        latent = (c.h_v - c.h_l) * w_z
        heat = energy - c.h_v * water - c.h_a * air
        t = (heat * water_z + latent * water) / (capacity * water_z + latent * water_t)
        z = (water - water_t * t) / water_z
        p_a = (air - phi_z * c.rho_a * z + c.phi * c.rho_a / c.t_k * t) * R * c.t_k / (c.phi * M_A)
        return t, z, p_a + c.a_w * c.p_sat_slope * t + c.p_v * (1 - c.a_w) * z

    def jacobian(self, time_s: float, state: np.ndarray) -> csc_array:
        """By differences, every third cell at once.

        scipy's own widens its step without end for the sums, on which nothing depends.
        """
        unknowns, n = np.arange(3 * self.n), self.n
        step = 1e-6 * np.concatenate([np.full(n, 100.0), 1 + np.abs(state[n : 2 * n]), np.full(n, P_ATM)])
        base, change = self.rates(time_s, state), np.empty((len(state), 3 * n))
        for group in range(9):
            moved = unknowns[unknowns // n * 3 + unknowns % n % 3 == group]
            there = state.copy()
            there[moved] += step[moved]
            change[:, moved] = (self.rates(time_s, there) - base)[:, None]
        slopes = change[self.rows, self.columns] / step[self.columns]
        return csc_array((slopes, (self.rows, self.columns)), shape=(len(state), len(state)))

    def neighbours(self) -> tuple[np.ndarray, np.ndarray]:
        """Which rates depend on which unknowns: of the same cell and those beside it; the sums on an end."""
        pattern = np.tile(np.eye(self.n) + np.eye(self.n, k=1) + np.eye(self.n, k=-1), (3, 3))
        ends = np.tile(np.eye(self.n)[[0, 0, 0, -1, -1, -1]], 3)
        return np.concatenate([pattern, ends]).nonzero()
