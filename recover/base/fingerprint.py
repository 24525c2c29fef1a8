"""One fingerprint over all that decides: printed on every paper, kept with every plan and every issue."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

import recover
from recover.base.datafile import data_files

ONLY_SAID = ("report", "commands")
"""Rooms whose data is words on paper and screen: nothing is decided by it."""


@cache
def fingerprint() -> str:
    """Return the SHA-256 over every data file that decides and the program's version, as hexadecimal digits.

    It changes with any number and any sentence of these files. Comments and blank lines do not count, nor the order of
    the files, nor how lines end.
    """
    return fingerprint_of(files("recover"))


def fingerprint_of(package: Traversable) -> str:
    """Return the fingerprint of the data of a package that lies anywhere."""
    found = hashlib.sha256(recover.__version__.encode())
    for name, text in data_files(package):
        if name.split("/")[0] not in ONLY_SAID:
            found.update(b"\0" + name.encode() + b"\0" + _without_comments(text).encode())
    return found.hexdigest()


def _without_comments(text: str) -> str:
    lines = (line.strip() for line in text.splitlines())
    return "\n".join(line for line in lines if line and not line.startswith("#"))
