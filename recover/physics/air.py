"""Where water boils, by height, and where it goes then: how much vapour air holds, and what air takes it away.

The pressure of saturated vapour is the IAPWS equation (Wagner and Pruß, 1993), from memory and checked against the
steam tables in the tests.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, inf, log

from recover.base.errors import QuantityError

ATMOSPHERE_PA = 101_325.0
LOWEST_M, HIGHEST_M = -450.0, 5000.0
"""Between which heights above the sea kilns stand."""

STEFAN_BOLTZMANN_W_M2K4 = 5.670374419e-8
GAS_CONSTANT_VAPOUR_J_KGK = 461.5
GAS_CONSTANT_AIR_J_KGK = 287.05
VAPOUR_BY_AIR = GAS_CONSTANT_AIR_J_KGK / GAS_CONSTANT_VAPOUR_J_KGK
"""A mole of vapour by a mole of air, in mass."""
_WAGNER_PRUSS = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)


@dataclass(frozen=True)
class Air:
    """Air by temperature [°C], relative humidity [%] and pressure [Pa].

    Raises QuantityError outside 0 to 60 °C and 0 to 100 %.
    """

    degc: float
    humidity_percent: float
    pressure_pa: float = ATMOSPHERE_PA

    def __post_init__(self) -> None:
        if not (0 <= self.degc <= 60 and 0 <= self.humidity_percent <= 100):
            raise QuantityError("air", f"{self.degc:g} °C, {self.humidity_percent:g} %", "0 to 60 °C, 0 to 100 %")

    @property
    def vapour_pa(self) -> float:
        """The pressure of the vapour in it [Pa]."""
        return self.humidity_percent / 100 * saturation_line(self.degc)[0]

    @property
    def vapour_share(self) -> float:
        """The vapour in it, as a mole fraction."""
        return self.vapour_pa / self.pressure_pa

    @property
    def humidity_ratio(self) -> float:
        """Vapour by dry air [kg/kg]: W = 0.622 p / (P - p)."""
        return VAPOUR_BY_AIR * self.vapour_pa / (self.pressure_pa - self.vapour_pa)

    @property
    def dry_kg_m3(self) -> float:
        """Dry air in a cubic metre [kg/m³]."""
        return (self.pressure_pa - self.vapour_pa) / (GAS_CONSTANT_AIR_J_KGK * (self.degc + 273.15))

    def at(self, height_m: float | None) -> Air:
        """Return air as warm and as damp at a height above the sea [m]; not known, at the sea. Raises QuantityError."""
        return replace(self, pressure_pa=pressure_at_pa(height_m))

    def carries_kg_m3(self, outside: Air) -> float:
        """Return the vapour [kg/m³] that this air carries out of a room as damp as it, replaced by air from outside.

        ρ (W - W_outside), ρ its dry air in a cubic metre. Raises QuantityError where air from outside takes none away.
        """
        taken = self.dry_kg_m3 * (self.humidity_ratio - outside.humidity_ratio)
        if taken <= 0:
            raise QuantityError("air from outside", f"{outside.degc:g} °C, {outside.humidity_percent:g} %", "drier air")
        return taken


def saturation_line(degc: float) -> tuple[float, float]:
    """Return the pressure of saturated vapour [Pa] and its slope [Pa/K] at any temperature that a wall can have.

    ln(p / 22.064 MPa) = Tc/T (a1 τ + a2 τ^1.5 + a3 τ³ + a4 τ^3.5 + a5 τ⁴ + a6 τ^7.5), τ = 1 - T/Tc, Tc = 647.096 K.
    Beyond 370 °C, where there is soon no liquid, ln p goes on as a straight line over 1/T: what is dry needs a number
    there, and no more. Below 0 °C it is the vapour over liquid that has not frozen.
    """
    kelvin = min(degc, 370.0) + 273.15
    relative = kelvin / 647.096
    series = sum(a * float((1 - relative) ** power) for a, power in _WAGNER_PRUSS)
    by_tau = sum(a * power * float((1 - relative) ** (power - 1)) for a, power in _WAGNER_PRUSS)
    slope = -(by_tau + series / relative) / relative / 647.096  # d ln p / dT [1/K]
    beyond = max(degc - 370.0, 0.0)
    pressure = 22.064e6 * exp(series / relative + slope * kelvin * beyond / (kelvin + beyond))
    return pressure, pressure * slope * (kelvin / (kelvin + beyond)) ** 2


def boiling_degc(pressure_pa: float) -> float:
    """Return where water boils under a pressure [°C], by Newton's method on ln p. Raises QuantityError.

    Weather moves the pressure by 3 000 Pa, and the boiling point by 0.8 K, either way.
    """
    if not 611.2 <= pressure_pa <= 2e7:
        raise QuantityError("boiling", f"{pressure_pa:g} Pa", "611.2 Pa to 20 MPa")
    degc, change = 100.0, inf
    while abs(change) > 1e-9:
        level, slope = saturation_line(degc)
        change = log(pressure_pa / level) * level / slope
        degc += change
    return degc


def pressure_at_pa(height_m: float | None) -> float:
    """Return the pressure of the air at a height above the sea [Pa]: 101 325 (1 - 2.25577e-5 z)^5.25588.

    The standard atmosphere of ISO 2533, from memory; a height that is not known counts as the sea. Raises
    QuantityError outside -450 to 5000 m.
    """
    height_m = height_m or 0.0
    if not LOWEST_M <= height_m <= HIGHEST_M:
        raise QuantityError("height above the sea", f"{height_m:g} m", f"{LOWEST_M:g} to {HIGHEST_M:g} m")
    return float(ATMOSPHERE_PA * (1 - 2.25577e-5 * height_m) ** 5.25588)


def diffusivity_m2_s(degc: float) -> float:
    """Return the diffusivity of vapour in air [m²/s] at the pressure of the atmosphere: 2.5e-5 (T / 298 K)^1.8."""
    return 2.5e-5 * float(((degc + 273.15) / 298) ** 1.8)
