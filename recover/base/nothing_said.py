"""Text that says nothing (nothing_said.toml): a dash, blanks, a bare `none`. It opens no more than silence does."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from recover.base.datafile import load

LEAST_LETTERS = 2
"""A word has so many letters: one alone says nothing, where a figure does."""


@dataclass(frozen=True)
class _Words:
    words: frozenset[str]
    why: str


@cache
def _words() -> _Words:
    return load("base/nothing_said.toml", "recover-nothing-said", _Words)


def says_nothing(text: str) -> bool:
    """Whether a text has no word of its own.

    >>> says_nothing(" - "), says_nothing("None."), says_nothing("no limits"), says_nothing("none: as the plate says")
    (True, True, True, False)
    """
    words = (one for one in re.findall(r"\w+", text.casefold()) if len(one) >= LEAST_LETTERS or one.isdigit())
    return not any(one not in _words().words for one in words)


def why_nothing() -> str:
    """Return why a text that says nothing opens nothing, in words."""
    return _words().why
