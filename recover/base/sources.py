"""On whose word things stand: the bibliography, and a proof that every number of the program's data has its authority.

`sources.toml` holds one card a source. A card says how the source was seen, because a figure that was read in the
document itself weighs more than one that was quoted by somebody or remembered.

The proof walks over all data files, whatever they mean. A number stands in a table that says its `basis`, or below one
that does. What is cited is in the bibliography, what is published names its clause, a span is in order, and no source
stands there for nothing.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any, Literal

from recover.base.datafile import data_files, load
from recover.base.errors import Problem

Basis = Literal["document", "from_memory", "common_practice", "own_limit"]
"""Where a statement comes from: read in a document (or an excerpt), remembered of a named document, practice of the
trade without a source, or a choice of this project."""

BASIS_WORDS: dict[Basis, str] = {
    "document": "published, as cited",
    "from_memory": "from memory of the document named, not checked against it",
    "common_practice": "common practice of the trade, no published source",
    "own_limit": "this project's own limit",
}


@dataclass(frozen=True, kw_only=True)
class _Source:
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
class Grounds:
    """Why a card says what it says, and on whose word."""

    basis: Basis
    because: str
    sources: list[Citation] = field(default_factory=list)


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
    source: list[_Source]


@cache
def bibliography() -> dict[str, _Source]:
    """Return every source by its key, in the order of the file. Raises DataError on a faulty file."""
    return {source.id: source for source in load("base/sources.toml", "recover-sources", _File).source}


# ---------------------------------------------------------------------------------------- the proof


_BY_NUMBERS = ("profiles", "rules", "judged", "engineering", "physics", "plan")
"""Rooms whose data decides by numbers; in the others they say what may be typed, how units are made, how wide a column
is."""

_NO_FIGURES = frozenset({"version", "k_from_degc", "k_to_degc", "conservative"})
"""What is no figure of its own: the range of a line whose ends have their authority; what is taken of a controller
until somebody knows better, where every field has a card with its reason."""


@dataclass(frozen=True)
class _Table:
    """A table of a data file: where it stands, what it holds, and whether it or one above it says its basis."""

    where: str
    content: dict[str, Any]
    has_basis: bool


def authority_problems(package: Traversable | None = None) -> list[Problem]:
    """Return every number without an authority, citation that leads nowhere, span out of order, and unused source."""
    found: list[Problem] = []
    cited: set[str] = set()
    for name, text in data_files(package or files("recover")):
        decides = name.split("/")[0] in _BY_NUMBERS
        content = tomllib.loads(text)
        for table in _tables(_Table(name, content, "basis" in content)):
            cited |= {str(table.content["source"])} if "clause" in table.content else set()
            found += [*_citations(table), *_spans(table), *(_numbers(table) if decides else ())]
    for one in sorted(set(bibliography()) - cited):
        found.append(Problem(f"base/sources.toml [{one}]", "is cited by nobody", "cite it, or remove it"))
    return found


def _tables(table: _Table) -> Iterator[_Table]:
    """Yield a table and every one within it."""
    yield table
    for key, value in table.content.items():
        for one in value if isinstance(value, list) else [value]:
            if isinstance(one, dict) and key not in _NO_FIGURES:
                name = one.get("id") or key
                yield from _tables(_Table(f"{table.where} [{name}]", one, table.has_basis or "basis" in one))


def _numbers(table: _Table) -> Iterator[Problem]:
    for key, value in table.content.items():
        numbers = [one for one in (value if isinstance(value, list) else [value]) if _is_number(one)]
        if numbers and key not in _NO_FIGURES and not table.has_basis:
            yield Problem(table.where, f"{key} = {value} has no authority", "say its `basis`, and source and clause")


def _citations(table: _Table) -> Iterator[Problem]:
    source, clause = table.content.get("source"), table.content.get("clause")
    if "clause" in table.content and source and source not in bibliography():
        yield Problem(table.where, f"the source {source!r} is not known", "add it to base/sources.toml")
    lists = [one for one in table.content.get("sources", ()) if isinstance(one, dict) and one.get("clause")]
    if table.content.get("basis") == "document" and not (source and clause) and not lists:
        what = "says it is published and names no clause"
        yield Problem(table.where, what, "name source and clause, or another basis")


def _spans(table: _Table) -> Iterator[Problem]:
    ends = [table.content[key] for key in ("low", "mid", "high") if _is_number(table.content.get(key))]
    if ends != sorted(ends):
        yield Problem(table.where, f"its span {ends} is not in order", "write low, mid and high from least to most")


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
