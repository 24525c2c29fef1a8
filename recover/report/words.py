"""The standing words of the papers, out of words.toml."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from recover.base.datafile import VERSION, check_format


@cache
def words() -> dict[str, Any]:
    """Return the words by name. Raises DataError if the file is of another format or newer."""
    found = tomllib.loads(files("recover.report").joinpath("words.toml").read_text("utf-8"))
    check_format(found, "words.toml", "recover-words", VERSION)
    return found
