"""Days that were lived once are remembered on this machine, so that an update runs the newest day alone.

What is remembered can be lost at any time: it is made again from journal and plan. It is kept outside the job, and its
name says by what it was made, so that what was made by anything else is never taken for it.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from tempfile import NamedTemporaryFile
from zipfile import BadZipFile

import numpy as np

from recover.physics.drying import Numbers

MOST = 200
"""So many days are remembered, of all jobs; of more, those that were not asked for longest are forgotten."""


def folder() -> Path:
    """Return where days are remembered: the folder that this machine has for what can be made again."""
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "recover" / "days"


def name_of(*by: object) -> str:
    """Return the name of what is made by all this."""
    return sha256("\n".join(map(repr, by)).encode()).hexdigest()


def remembered(name: str) -> dict[str, Numbers] | None:
    """Return the arrays of a name; None where there are none, or they cannot be read whole."""
    path = folder() / f"{name}.npz"
    with suppress(OSError, ValueError, BadZipFile, KeyError, EOFError):
        with np.load(BytesIO(path.read_bytes()), allow_pickle=False) as held:
            arrays = {one: held[one] for one in held.files}
        path.touch()
        return arrays
    return None


def remember(name: str, arrays: Mapping[str, Numbers]) -> None:
    """Remember arrays by a name, where this machine lets us: whole, or not at all."""
    with suppress(OSError):
        folder().mkdir(parents=True, exist_ok=True)
        with NamedTemporaryFile(dir=folder(), suffix=".new", delete=False) as file:
            np.savez(file, **arrays)  # type: ignore[arg-type]  # none of them is called allow_pickle
        Path(file.name).replace(folder() / f"{name}.npz")
        _forget()


def _forget() -> None:
    kept = sorted(folder().glob("*.npz"), key=lambda one: one.stat().st_mtime, reverse=True)
    for one in kept[MOST:]:
        one.unlink(missing_ok=True)
