"""One fingerprint over all that decides: printed on every paper, kept with every plan and every issue."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

import recover
from recover.base.datafile import data_files

ONLY_SAID = ("report", "commands")
"""Rooms whose data is words on paper and screen: nothing is decided by it."""

PROGRAM = "program"
"""The part that is no room: the version of the program, and so of the code that judges and reckons."""

KERNEL = "kernel"
"""The part that is the source of what is compiled: the drying model, by which every plan is reckoned."""

COMPILED = ("physics/kernel.py",)
"""The modules that are compiled."""


@cache
def fingerprint() -> str:
    """Return the SHA-256 over every data file that decides, the kernel's source and the program's version, in hex.

    It changes with any number and any sentence of these files. Comments and blank lines do not count, nor the order of
    the files, nor how lines end.
    """
    return _hash("\0".join(f"{room}\0{part}" for room, part in parts().items()))


@cache
def parts() -> dict[str, str]:
    """Return the fingerprint of each room's data, the kernel and the program, of which the one over all is made."""
    return _parts_of(files("recover"))


def _parts_of(package: Traversable) -> dict[str, str]:
    """Return the parts of a package that lies anywhere."""
    rooms: dict[str, list[str]] = {}
    for name, text in data_files(package):
        if (room := name.split("/")[0]) not in ONLY_SAID:
            rooms.setdefault(room, []).append(f"{name}\0{_without_comments(text)}")
    kernel = [_without_comments(package.joinpath(name).read_text("utf-8")) for name in COMPILED]
    found = {room: _hash("\0".join(texts)) for room, texts in rooms.items()}
    return found | {KERNEL: _hash("\0".join(kernel)), PROGRAM: _hash(recover.__version__)}


def changed_since(then: Mapping[str, str]) -> list[str]:
    """Return the rooms whose part is another now than then, `kernel` and `program` among them."""
    return [room for room in {**then, **parts()} if then.get(room) != parts().get(room)]


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _without_comments(text: str) -> str:
    lines = (line.strip() for line in text.splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("#"))
