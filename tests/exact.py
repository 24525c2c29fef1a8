"""Exact answers of textbook problems of heat, boiling and vapour, from their formulas. SI units, temperatures in °C."""

from dataclasses import dataclass
from math import cos, erf, erfc, exp, log, pi, sin, sqrt

from scipy.optimize import brentq

GAS, WATER_KG_MOL, ATMOSPHERE, ZERO_K = 8.314462618, 0.018015, 101_325.0, 273.15  # CODATA 2018; IUPAC; definitions
STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m² K⁴), CODATA 2018


def slab_roots(bi, terms=60):
    """Return the roots of z tan z = Bi (Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, eq. 5.42c)."""
    return [brentq(lambda z: z * sin(z) - bi * cos(z), n * pi, n * pi + pi / 2, xtol=1e-14) for n in range(terms)]


def slab_share(bi, fo, place):
    """Return what is left of the first excess in a slab with films on both sides, at 0 (middle) to 1 (surface).

    Sum of 4 sin z / (2 z + sin 2z) exp(-z² Fo) cos(z X), z tan z = Bi (Incropera & DeWitt, eq. 5.42).
    """
    return sum(4 * sin(z) / (2 * z + sin(2 * z)) * exp(-z * z * fo) * cos(z * place) for z in slab_roots(bi))


def stefan(number):
    """Return lambda of the one-phase Stefan problem: l exp(l²) erf(l) = St / sqrt(pi) (Alexiades & Solomon, 1993)."""
    return brentq(lambda x: x * exp(x * x) * erf(x) - number / sqrt(pi), 1e-9, 5.0, xtol=1e-14)


@dataclass(frozen=True)
class Neumann:
    """The two-phase problem of Neumann (Carslaw & Jaeger, 2nd ed., 11.2): a half space, its face stepped beyond the
    temperature of the phase change. Conductivities [W/mK], heat capacities [J/m³K], latent heat [J/m³]; `behind` is
    what the front has passed."""

    behind_k: float
    behind_c: float
    ahead_k: float
    ahead_c: float
    latent: float

    def front_m(self, face, phase, start, seconds):
        """Return how deep the front is: s = 2 l sqrt(a t), with l of the balance of heat at the front."""
        a, b = self.behind_k / self.behind_c, self.ahead_k / self.ahead_c
        nu, rise, below = sqrt(a / b), abs(face - phase), abs(phase - start)

        def balance(x):
            came = self.behind_k * rise * exp(-x * x) / (sqrt(pi * a) * erf(x))
            went = self.ahead_k * below * exp(-((x * nu) ** 2)) / (sqrt(pi * b) * erfc(x * nu))
            return came - went - self.latent * x * sqrt(a)

        return 2 * brentq(balance, 1e-6, 3.0 / max(nu, 1.0), xtol=1e-14) * sqrt(a * seconds)


def given_off(surface, room, film=0.0, natural=0.0, emissivity=0.0):
    """Return the heat [W/m²] that a surface gives off: h dT + c dT^1.3 + e s (T⁴ - Ta⁴)."""
    rise = surface - room
    radiated = emissivity * STEFAN_BOLTZMANN * ((surface + ZERO_K) ** 4 - (room + ZERO_K) ** 4)
    return film * rise + natural * rise**1.3 + radiated


def warmer_side(cold, flux, depth_m, k0, k1):
    """Return the temperature `depth_m` towards the heat: q d = k0 (T1 - T2) + k1/2 (T1² - T2²), solved for T1."""
    integral = k0 * cold + k1 / 2 * cold**2 + flux * depth_m
    return 2 * integral / (k0 + sqrt(k0**2 + 2 * k1 * integral))


def steady_layers(layers, hot, room, **face):
    """Return flux [W/m²] and the temperatures at all faces, hot face first; layers (m, k0, k1) from the hot face."""

    def faces(casing):
        found = [casing]
        for depth_m, k0, k1 in reversed(layers):
            found.append(warmer_side(found[-1], given_off(casing, room, **face), depth_m, k0, k1))
        return found[::-1]

    casing = brentq(lambda degc: faces(degc)[0] - hot, room, hot, xtol=1e-11)
    return given_off(casing, room, **face), faces(casing)


def quasi_steady_front_m(seconds, k, film, rise, latent):
    """Return the depth of a boiling front behind a film where dry matter holds no heat.

    t = (w L / dT)(s²/2k + s/h), solved for s: the Stefan problem of a small Stefan number (Alexiades & Solomon, 1993).
    """
    supplied = rise * seconds / latent
    return k * (sqrt(1 / film**2 + 2 * supplied / k) - 1 / film)


def cylinder_front_s(r0_m, depth_m, k, rise, latent):
    """Return the seconds of a quasi-steady front from a prescribed face outwards in a cylinder.

    t = w L / (k dT) (r²/2 ln(r/r0) - (r² - r0²)/4), r = r0 + s: the balance w L r dr/dt = k dT / ln(r/r0) integrated.
    """
    r = r0_m + depth_m
    return latent / (k * rise) * (r * r / 2 * log(r / r0_m) - (r * r - r0_m**2) / 4)


def vapour_front_m(seconds, water_kg_m3, spread_m2_s, degc, saturated, around):
    """Return the depth of an isothermal front whose vapour diffuses out through still air.

    w s²/2 = D' P / (Rv T) ln((P - p) / (P - p_sat)) t: the Stefan tube (Crank, The Mathematics of Diffusion, 2nd ed.;
    Bird, Stewart & Lightfoot, Transport Phenomena, eq. 18.2-14).
    """
    molar = GAS / WATER_KG_MOL * (degc + ZERO_K)
    rate = spread_m2_s * ATMOSPHERE / molar * log((ATMOSPHERE - around) / (ATMOSPHERE - saturated))
    return sqrt(2 * rate * seconds / water_kg_m3)


def darcy_vapour_kg_m2s(permeability_m2, depth_m, degc, pressure, outside=ATMOSPHERE):
    """Return the flow of pure vapour out of a wall: m = K (P1² - P0²) / (2 mu Rv T d), an ideal gas in Darcy's law."""
    viscosity = 9.0e-6 + 3.6e-8 * degc  # the model's own line
    rest = 2 * viscosity * GAS / WATER_KG_MOL * (degc + ZERO_K) * depth_m
    return permeability_m2 * (pressure**2 - outside**2) / rest


def changed_slab_share(bi, changed_fo, later_bi, fo, place):
    """Return what is left of the first excess in a slab whose films change at `changed_fo` from `bi` to `later_bi`.

    What stands there at the change, expanded in the cosines of the later films (Carslaw & Jaeger, 3.11: any start).
    """
    excess = [(4 * sin(z) / (2 * z + sin(2 * z)) * exp(-z * z * changed_fo), z) for z in slab_roots(bi)]

    def weight(y):
        both = sum(a * (sin(z - y) / (z - y) + sin(z + y) / (z + y)) / 2 for a, z in excess)
        return both / (0.5 + sin(2 * y) / (4 * y))

    return sum(weight(y) * exp(-y * y * (fo - changed_fo)) * cos(y * place) for y in slab_roots(later_bi))


def natural_film_w_m2k(face, length_m, rise_k, around_degc=20.0):
    """Return the film of natural convection in air at a `wall`, a `roof` or a `floor` (which looks down).

    Churchill and Chu for the wall (Incropera & DeWitt, eq. 9.26), McAdams for the others (9.31, 9.32, length A / P of
    a square), air by Sutherland's viscosity and k = 0.0241 (T / 273.15 K)^0.81 W/mK.
    """
    kelvin = around_degc + rise_k / 2 + ZERO_K
    density, heat = ATMOSPHERE * 0.028965 / (GAS * kelvin), 1006.0
    viscosity = 1.716e-5 * (kelvin / 273.15) ** 1.5 * (273.15 + 110.4) / (kelvin + 110.4)
    k = 0.0241 * (kelvin / 273.15) ** 0.81
    prandtl, size = viscosity * heat / k, length_m if face == "wall" else length_m / 4
    rayleigh = 9.81 / kelvin * rise_k * size**3 * (density / viscosity) ** 2 * prandtl
    if face == "wall":
        nusselt = (0.825 + 0.387 * rayleigh ** (1 / 6) / (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)) ** 2
    elif face == "roof":
        nusselt = 0.15 * rayleigh ** (1 / 3) if rayleigh > 1e7 else 0.54 * rayleigh**0.25
    else:
        nusselt = 0.27 * rayleigh**0.25
    return nusselt * k / size
