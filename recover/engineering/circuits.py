"""How elements are connected, and what a meter shows of their circuits: ohms by power, and power by ohms."""

from __future__ import annotations

from typing import Literal

Connection = Literal["single", "star", "star_neutral", "delta"]
"""How elements are connected: across two conductors, three-phase star without or with neutral, delta."""


def phases_of(connection: Connection) -> Literal[1, 3]:
    """Return how many lines feed a connection."""
    return 1 if connection == "single" else 3


def circuit_ohm(connection: Connection, volts: float, kw: float) -> float:
    """Return the resistance [ohm] that a meter shows between the two conductors of a circuit, hot as on the plate.

    Single: R = U²/P. Star: two phases in series, 2 U²/P. Star with neutral: one phase, line to neutral, U²/P. Delta:
    one branch beside the two others, 2/3 of 3 U²/P. Star and delta of the same power show the same between lines.

    >>> [round(circuit_ohm(kind, 400, 18), 2) for kind in ("star", "star_neutral", "delta")]
    [17.78, 8.89, 17.78]
    """
    return (2 if connection in ("star", "delta") else 1) * volts**2 / (kw * 1000)


def inferred_kw(connection: Connection, volts: float, ohms: list[float]) -> float | None:
    """Return the power [kW] that measured circuits draw together at a measured voltage; None where it is ambiguous.

    Single: P = sum U²/R over circuits in parallel. One three-phase circuit, or one phase of it to neutral: the inverse
    of `circuit_ohm`. Three circuits: with neutral each is one phase, P = sum (U/sqrt 3)²/R; in delta each is one branch
    measured alone, P = sum U²/R. Cold ohms: iron-chromium-aluminium is 4 to 5 per cent higher when hot.

    >>> round(inferred_kw("star_neutral", 409, [9.3, 9.3, 9.3]) or 0, 1), inferred_kw("star", 400, [20.0, 20.0])
    (18.0, None)
    """
    conductance = sum(1 / ohm for ohm in ohms)
    shares = {("single", len(ohms)): 1.0, ("star", 1): 2.0, ("delta", 1): 2.0, ("star_neutral", 1): 1.0,
              ("star_neutral", 3): 1 / 3, ("delta", 3): 1.0}  # fmt: skip
    share = shares.get((connection, len(ohms)))
    return None if share is None else share * volts**2 * conductance / 1000
