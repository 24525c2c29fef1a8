"""Where things are: components and their addresses; and what a connection makes of volts and ohms.

An address is a path of pairs, kind and name: `kiln/2`, `kiln/2/device/rcd`, `kiln/1/probe/3`. `job` is the whole loss.
The name `unlisted` stands for the members of a family that nobody has named yet.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Literal

Address = str
JOB: Address = "job"
UNLISTED = "unlisted"


_PAIRS = re.compile(r"[a-z_]+/[a-z0-9_]{1,40}(?:/[a-z_]+/[a-z0-9_]{1,40})*")


def is_address(text: str) -> bool:
    """Say whether a text has the shape of an address: the whole loss, or pairs of kind and name."""
    return text == JOB or bool(_PAIRS.fullmatch(text))


def child(parent: Address, kind: str, name: str | int) -> Address:
    """Return the address of the component `name` of family `kind` within `parent`."""
    return f"{kind}/{name}" if parent == JOB else f"{parent}/{kind}/{name}"


def holder_of(address: Address) -> Address:
    """Return what holds a component: `kiln/2` of `kiln/2/device/rcd`; the job of a kiln."""
    return address.rsplit("/", 2)[0] if address.count("/") > 1 else JOB


def kind_of(address: Address) -> str:
    """Return the family that an address belongs to: `device` for kiln/2/device/rcd."""
    return JOB if address == JOB else address.split("/")[-2]


def name_of(address: Address) -> str:
    """Return the last word of an address: `rcd` for kiln/2/device/rcd."""
    return address.rsplit("/", 1)[-1]


@cache
def within(address: Address, kind: str) -> Address | None:
    """Return the component of family `kind` that holds `address` (or is it); None where there is none."""
    words = [] if address == JOB else address.split("/")
    for end in range(len(words), 0, -2):
        if words[end - 2] == kind:
            return "/".join(words[:end])
    return JOB if kind == JOB else None


def is_listed(address: Address) -> bool:
    """Say whether a component, and all that it lies in, was named by somebody."""
    return UNLISTED not in address.split("/")


def holds_address(whole: Address, part: Address) -> bool:
    """Say whether `part` is `whole` or lies in it."""
    return whole == JOB or part == whole or part.startswith(f"{whole}/")


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
