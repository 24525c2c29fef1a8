"""Where things are: components and their addresses; and what a connection makes of volts and ohms.

An address is a path of pairs, kind and name: `kiln/2`, `kiln/2/device/rcd`, `kiln/1/probe/3`. `job` is the whole loss.
The name `unlisted` stands for the members of a family that nobody has named yet.
"""

from __future__ import annotations

import re
from functools import cache

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
