"""The temperature that needs no thermometer: boiling water, by altitude or pressure.

Saturation is IAPWS-IF97, region 4, from memory; it gives the published check values. Air pressure is the standard
atmosphere, from memory; weather moves it by 30 hPa, and the boiling point by 0.8 K, either way.
"""

from __future__ import annotations

from math import sqrt

from recover.base.errors import QuantityError

_N = (
    0.0,
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
"""The coefficients n1 to n10 of IF97 region 4, at their own numbers."""


def air_hpa(altitude_m: float) -> float:
    """Return the pressure of the air at an altitude, -500 to 5000 m: p = 1013.25 hPa (1 - 2.25577e-5 h)^5.25588.

    Raises QuantityError.
    """
    if not -500 <= altitude_m <= 5000:
        raise QuantityError("altitude", f"{altitude_m:g} m", "-500 to 5000 m")
    return 1013.25 * float((1 - 2.25577e-5 * altitude_m) ** 5.25588)


def boiling_degc(hpa: float) -> float:
    """Return where water boils [°C] at a pressure, 7 to 220 000 hPa: IF97 region 4, backward. Raises QuantityError.

    β = p^(1/4) in MPa, E = β² + n3 β + n6, F = n1 β² + n4 β + n7, G = n2 β² + n5 β + n8,
    D = 2 G / (-F - √(F² - 4 E G)), T = (n10 + D - √((n10 + D)² - 4 (n9 + n10 D))) / 2.
    """
    if not 7 <= hpa <= 220_000:
        raise QuantityError("pressure", f"{hpa:g} hPa", "7 to 220 000 hPa")
    beta = float((hpa / 10_000) ** 0.25)
    e = beta**2 + _N[3] * beta + _N[6]
    f = _N[1] * beta**2 + _N[4] * beta + _N[7]
    g = _N[2] * beta**2 + _N[5] * beta + _N[8]
    d = 2 * g / (-f - sqrt(f**2 - 4 * e * g))
    return (_N[10] + d - sqrt((_N[10] + d) ** 2 - 4 * (_N[9] + _N[10] * d))) / 2 - 273.15
