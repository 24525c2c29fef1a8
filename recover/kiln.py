"""Where things are: components and their addresses; and the one sum that a kiln's plate allows.

An address is a path of pairs, kind and name: `kiln/2`, `kiln/2/device/rcd`, `kiln/1/probe/3`. `job` is the whole loss.
The name `unlisted` stands for the members of a family that nobody has named yet.
"""

from __future__ import annotations

from typing import Literal

Address = str
JOB: Address = "job"
UNLISTED = "unlisted"


def child(parent: Address, kind: str, name: str | int) -> Address:
    """Return the address of the component `name` of family `kind` within `parent`."""
    return f"{kind}/{name}" if parent == JOB else f"{parent}/{kind}/{name}"


def kind_of(address: Address) -> str:
    """Return the family that an address belongs to: `device` for kiln/2/device/rcd."""
    return JOB if address == JOB else address.split("/")[-2]


def name_of(address: Address) -> str:
    """Return the last word of an address: `rcd` for kiln/2/device/rcd."""
    return address.rsplit("/", 1)[-1]


def within(address: Address, kind: str) -> Address | None:
    """Return the component of family `kind` that holds `address` (or is it); None where there is none."""
    words = [] if address == JOB else address.split("/")
    for end in range(len(words), 0, -2):
        if words[end - 2] == kind:
            return "/".join(words[:end])
    return JOB if kind == JOB else None


def holds_address(whole: Address, part: Address) -> bool:
    """Say whether `part` is `whole` or lies in it."""
    return whole == JOB or part == whole or part.startswith(f"{whole}/")


def plate_power_kw(volts: float, amps: float, phases: Literal["single", "three"]) -> float:
    r"""Return the power that voltage and line current call for, resistive load.

    P = U I (single phase), P = sqrt(3) U I (three phase, U between lines), in kW for U [V] and I [A].

    >>> round(plate_power_kw(230, 31.3, "single"), 1), round(plate_power_kw(400, 21.65, "three"), 1)
    (7.2, 15.0)
    """
    factor = 3**0.5 if phases == "three" else 1.0
    return factor * volts * amps / 1000
