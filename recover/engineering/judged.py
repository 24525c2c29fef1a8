"""The sums that judged facts ask for, by name: what a sum may come to, for all that the answers may be.

The door by which arithmetic reaches the answers: a fact of facts.toml names a sum and the answers that it is made `of`;
those come in that order, each as the set of values that remain possible (None for any, empty where an optional one was
not taken).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from itertools import product
from typing import Any

from recover.conditions import Possible
from recover.engineering.earth import CopperClass, EarthLimit, limit_ohm
from recover.engineering.leakage import gate_ma
from recover.engineering.supply import plate_power_kw
from recover.profiles import own_limits, profile

Sum = Callable[[Sequence[Possible]], Possible]

OTHER = "other"
"""The answer of a conductor whose size no table here has."""


def sums(profile_name: str) -> Mapping[str, Sum]:
    """Return each sum that a fact may name, with the limits of a country."""
    return {
        "power_mismatch": _power_mismatch,
        "leakage_gate_ma": partial(_leakage_gate_ma, profile_name),
        "earth_limit_ohm": partial(_earth_limit_ohm, profile_name),
    }


def _power_mismatch(of: Sequence[Possible]) -> Possible:
    """Say whether a plate's power [kW] fits its volts, amperes and phases (`single` or `three`)."""
    if not all(of):
        return None
    plate: list[Any] = [next(iter(possible or ())) for possible in of]
    kw, volts, amps, phases = plate
    expected = plate_power_kw(volts, amps, 3 if phases == "three" else 1)
    return frozenset({"yes" if abs(kw - expected) > own_limits()["power_tolerance"].value * kw else "no"})


def _leakage_gate_ma(profile_name: str, of: Sequence[Possible]) -> Possible:
    """Return the leakage that is let pass [mA] at a power [kW]; of an unknown power both ends of the country's rule."""
    (kws,) = of
    if kws:
        return frozenset(gate_ma(profile_name, kw) for kw in kws)
    rule = profile(profile_name).leakage
    most = own_limits()["leakage_ma"].value
    return frozenset({gate_ma(profile_name, None), most if rule is None else min(most, rule.most_ma)})


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
