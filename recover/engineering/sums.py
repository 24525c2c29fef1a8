"""The sums that judged facts ask for, by name: what a sum may come to, for all that the answers may be.

The door by which arithmetic reaches the answers: a fact of facts.toml names a sum and the answers that it is made `of`;
those come in that order, each as the set of values that remain possible (None for any, empty where an optional one was
not taken).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from itertools import product
from typing import Any, Literal

from recover.base.conditions import Possible
from recover.engineering.earth import EarthLimit, limit_ohm
from recover.engineering.leakage import entry_ma
from recover.engineering.supply import CopperClass, bears_a, current_a, next_rating_a, plate_power_kw
from recover.profiles import own_limits, profile

Sum = Callable[[Sequence[Possible]], Possible]

OTHER = "other"
"""The answer of a conductor whose size no table here has."""


def sums(profile_name: str) -> Mapping[str, Sum]:
    """Return each sum that a fact may name, with the limits of a country."""
    return {
        "power_mismatch": _power_mismatch,
        "leakage_entry_ma": partial(_leakage_entry_ma, profile_name),
        "device_fit": partial(_device_fit, profile_name),
        "earth_limit_ohm": partial(_earth_limit_ohm, profile_name),
        "total": _total,
        "difference": _difference,
        "over_plate": _over_plate,
    }


def _total(of: Sequence[Possible]) -> Possible:
    """Return what numbers come to together; None where one is not known."""
    return frozenset(map(sum, product(*(one or () for one in of)))) if all(of) else None


def _difference(of: Sequence[Possible]) -> Possible:
    """Return what is left of the first of two numbers without the second; None where one is not known."""
    return frozenset(one - other for one, other in product(*(each or () for each in of))) if all(of) else None


def _over_plate(of: Sequence[Possible]) -> Possible:
    """Return by how much a set-point lies above what a kiln may be fired to [K]: the highest temperature of its plate,
    and no less than the top of a schedule that dries, which stands where no plate tells."""
    tops, plates = of
    if not tops:
        return None
    dries = own_limits()["plan_top_degc"].value
    return frozenset(top - max(dries, plate) for top, plate in product(tops, plates or (dries,)))


def _power_mismatch(of: Sequence[Possible]) -> Possible:
    """Say whether a plate's power [kW] fits its volts, amperes and phases (`single` or `three`)."""
    if not all(of):
        return None
    plate: list[Any] = [next(iter(possible or ())) for possible in of]
    kw, volts, amps, phases = plate
    expected = plate_power_kw(volts, amps, 3 if phases == "three" else 1)
    return frozenset({"yes" if abs(kw - expected) > own_limits()["power_tolerance"].value * kw else "no"})


def _leakage_entry_ma(profile_name: str, of: Sequence[Possible]) -> Possible:
    """Return the leakage that is let pass [mA] at a power [kW]; of an unknown power both ends of the country's rule."""
    (kws,) = of
    if kws:
        return frozenset(entry_ma(profile_name, kw) for kw in kws)
    rule = profile(profile_name).leakage
    most = own_limits()["leakage_ma"].value
    return frozenset({entry_ma(profile_name, None), most if rule is None else min(most, rule.most_ma)})


def _earth_limit_ohm(profile_name: str, of: Sequence[Possible]) -> Possible:
    """Return the limit of earth continuity [ohm] for length [m], cross-section [mm²] and kind of connection.

    A cord is of fine wire; whatever else, or not known, counts as fixed wiring, whose copper earns less.
    """
    lengths, areas, connections = of
    ways = product(lengths or {0.0}, areas or {OTHER}, connections or {"fixed"})
    return frozenset(earth_limit(profile_name, *way).ohm for way in ways)


def earth_limit(profile_name: str, length_m: float, area: str, connection: str) -> EarthLimit:
    """Return the limit of earth continuity, printed and own, for answers as they are given."""
    area_mm2 = None if area == OTHER else float(area)
    copper: CopperClass = "flexible" if connection == "plug" else "solid_or_stranded"
    return limit_ohm(profile_name, length_m, area_mm2, copper)


def _device_fit(profile_name: str, of: Sequence[Possible]) -> Possible:
    """Say whether a breaker or fuse [A] suits rated current and cable; no value where nobody read it.

    At a plug the conductor may be the cord's or that of the wiring before the socket: what bears less counts.
    """
    devices, areas, *plate, connections = of
    if devices is not None and not devices:
        return frozenset()
    if devices is None or not all(plate):
        return None
    ways = product(devices, areas or {OTHER}, *(possible or () for possible in plate), connections or {"plug", "fixed"})
    return frozenset(_one_fit(profile_name, *way) for way in ways)


def _one_fit(
    profile_name: str, device_a: float, area: str, kw: float, volts: float, phases: str, connection: str
) -> str:
    lines: Literal[1, 3] = 3 if phases == "three" else 1
    amps, limits = current_a(kw, volts, lines), own_limits()
    borne = None if area == OTHER else bears_a(area, 3 if lines == 3 else 2, cord=connection == "plug")
    most = max(next_rating_a(amps, profile_name) or 0.0, limits["device_most_ratio"].value * amps)
    if device_a > most or (borne is not None and device_a > borne):
        return "over"
    least = limits["device_least_ratio"].value * profile(profile_name).figure("load_factor") * amps
    return "under" if device_a < least else "within"
