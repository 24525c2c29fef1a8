"""The bibliography: every published source that a rule, a limit or a sentence may cite.

`sources.toml` holds one card a source. A card says how the source was seen, because a figure that was read in the
document itself weighs more than one that was quoted by somebody or remembered.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from recover.base.datafile import load

Basis = Literal["document", "from_memory", "common_practice", "own_limit"]
"""Where a statement comes from: read in a document (or an excerpt), remembered of a named document, practice of the
trade without a source, or a choice of this project."""

BASIS_WORDS: dict[Basis, str] = {
    "document": "published, as cited",
    "from_memory": "from memory of the document named, not checked against it",
    "common_practice": "common practice of the trade, no published source",
    "own_limit": "this project's own limit",
}


@dataclass(frozen=True)
class Source:
    """A published document: who, when, what, and how it was seen (`read`, `excerpt`, `quoted`, `memory`)."""

    id: str
    author: str
    title: str
    year: str
    seen: Literal["read", "excerpt", "quoted", "memory"]
    note: str = ""

    def __str__(self) -> str:
        return ", ".join(part for part in (self.author, self.title, self.year, self.note) if part)


@dataclass(frozen=True)
class Citation:
    """A place in a source: the key of the source and the clause, table, page or list in it."""

    source: str
    clause: str


@dataclass(frozen=True, kw_only=True)
class Authority:
    """On whose word something stands."""

    basis: Basis
    source: str = ""
    clause: str = ""
    edition: str = ""
    because: str = ""


@dataclass(frozen=True, kw_only=True)
class Figure(Authority):
    """A single number with its authority."""

    value: float


@dataclass(frozen=True)
class _File:
    source: list[Source]


@cache
def bibliography() -> dict[str, Source]:
    """Return every source by its key, in the order of the file. Raises DataError on a faulty file."""
    return {source.id: source for source in load("base/sources.toml", "recover-sources", _File).source}


def cite(citation: Citation) -> str:
    """Return a citation as a phrase: author, year, clause."""
    source = bibliography()[citation.source]
    return ", ".join(part for part in (source.author, source.year, citation.clause) if part)
