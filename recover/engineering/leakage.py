"""Leakage to earth: what a reading allows for, what is published, and what a residual-current device sees of it.

A device sees the sum of the currents through it and nothing else. Leakage that balances over the lines, or along an
element between two lines, leaves it silent: its silence says nothing about dryness.
"""

from __future__ import annotations

from math import inf
from typing import Literal

from recover.base.errors import QuantityError
from recover.engineering.insulation import bound_ma
from recover.engineering.supply import checked, figure
from recover.profiles import own_limits
from recover.profiles import profile as country

SupplyConnection = Literal["line_neutral", "line_line", "star", "star_neutral", "delta"]
LoadState = Literal["all_on", "return_open", "line_open", "one_leg_open", "one_phase_off"]
Response = Literal["silent", "may_trip", "must_trip"]

SHARE: dict[tuple[SupplyConnection, LoadState], float] = {
    ("line_neutral", "all_on"): 1 / 2,  # the element's volts fall from all to none along it
    ("line_neutral", "return_open"): 1.0,  # a single pole that switches the neutral leaves all of it at the line
    ("line_neutral", "line_open"): 0.0,
    ("line_line", "all_on"): 0.0,  # one half leaks against the other
    ("line_line", "one_leg_open"): 1.0,
    ("star", "all_on"): 0.0,
    ("star_neutral", "all_on"): 0.0,
    ("delta", "all_on"): 0.0,
    ("star_neutral", "one_phase_off"): 1 / 6,  # two of three equal banks, each V / (6 R), 120° apart
}
"""Residual current as a share of V/R, for leakage spread evenly along the elements and equal banks."""


def residual_ma(connection: SupplyConnection, volts: float, kohm: float, state: LoadState = "all_on") -> float:
    """Return the residual current [mA] that a device sees, for V [V] between line and earth and R [kohm] of all lives.

    It explains a trip or a silence and opens nothing: for that there is `bound_ma`. Leakage is taken as even along the
    elements and real wet patches are not, so that a silence here is no promise. Raises QuantityError for a state that
    the connection cannot be in, or whose share is not known.
    """
    if (connection, state) not in SHARE:
        known = ", ".join(known for of, known in SHARE if of == connection)
        raise QuantityError("switching state", f"{state} of {connection}", f"one of {known or 'another connection'}")
    share = SHARE[connection, state]
    return share * bound_ma(volts, kohm) if share else 0.0


# ---------------------------------------------------------------------------------------- devices


def response(leakage_ma: float, rating_ma: float | None) -> Response:
    """Return what a device of a rating [mA] does at a residual current [mA]; None for a class A interrupter.

    A residual-current device stays silent up to half its rating and must trip at it; between, either is in order. A
    class A ground-fault interrupter stays silent below 4 mA and must trip at 6 mA. Raises QuantityError.
    """
    leakage = leakage_ma if leakage_ma == inf else checked("residual current", leakage_ma, "mA", zero=True)
    if rating_ma is None:
        silent, must = leakage < figure("gfci_silent_ma"), figure("gfci_must_ma")
    else:
        rating = checked("rating", rating_ma, "mA")
        silent, must = leakage <= figure("device_silent_share") * rating, figure("device_must_share") * rating
    return "silent" if silent else "must_trip" if leakage >= must else "may_trip"


# ---------------------------------------------------------------------------------------- limits


def printed_ma(profile: str, kw: float | None) -> float | None:
    """Return what a country prints for a kiln of this power [mA]; None where it prints none.

    One of unknown power is allowed the least. Raises QuantityError.
    """
    rule = country(profile).leakage
    if rule is None:
        return None
    if kw is None or checked("power", kw, "kW") <= rule.above_kw:
        return rule.least_ma
    return min(max(rule.least_ma, rule.ma_per_kw * kw), rule.most_ma)


def entry_ma(profile: str, kw: float | None) -> float:
    """Return the leakage above which nothing is entered [mA]: the stricter of what is printed and our own figure."""
    printed, own = printed_ma(profile, kw), own_limits()["leakage_ma"].value
    return own if printed is None else min(printed, own)
