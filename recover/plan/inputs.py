"""What a plan was made from, by name: so that a plan that is overtaken says by what.

Names are those of the values in code, which carry their units: `kiln/1, lining, wall, layer 2, thickness [mm]`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from recover.base.datafile import load
from recover.profiles import Limit

if TYPE_CHECKING:
    from recover.judged.assessment import Assessment
    from recover.plan.of_job import Taken

_FIGURES = 6
"""Numbers that differ by less than one part in a million are the same input."""


@dataclass(frozen=True)
class _Words:
    """How names and values are written: units by how a name ends, what is not known, and what is no input."""

    unit: dict[str, str]
    value: dict[str, str]
    change: dict[str, str]


@cache
def _words() -> _Words:
    return load("plan/inputs.toml", "recover-plan-inputs", _Words)


def inputs(found: Assessment) -> dict[str, str]:
    """Return what the plans of a job's kilns are made from: what each one's planning takes, by name.

    A reading that is logged meanwhile is among it only where it opens or shuts the gate to own elements, or the lining.
    """
    from recover.plan.of_job import taken

    named_inputs = {"profile": found.profile.id}
    for one in taken(found):
        named_inputs |= named(one)
    return named_inputs


def named(taken: Taken) -> dict[str, str]:
    """Return every value that a kiln's planning takes, as text by its name."""
    return {f"{taken.kiln}, {name}": value for name, value in _flat("", taken) if name != "kiln"}


def differences(then: Mapping[str, str], now: Mapping[str, str]) -> list[str]:
    """Return what is another now than then, each in words: the name, what it was, what it is."""
    say, gone = _words().change["input"], _words().value["absent"]
    names = [name for name in {**then, **now} if then.get(name) != now.get(name)]
    return [say.format(name=name, then=then.get(name, gone), now=now.get(name, gone)) for name in names]


def program_changed() -> str:
    """Return what is said where not the inputs are others, but the rules or the program."""
    return _words().change["program"]


def _flat(name: str, value: Any) -> Iterator[tuple[str, str]]:
    """Yield the name and the text of each single value within a value."""
    if isinstance(value, Limit):
        yield name, f"{value} {value.unit}"
    elif is_dataclass(value):
        for one in fields(value):
            yield from _flat(_within(name, _in_words(one.name)), getattr(value, one.name))
    elif isinstance(value, Mapping):
        for key, one in value.items():
            yield from _flat(_within(name, str(key)), one)
    elif isinstance(value, tuple | list) and not all(isinstance(one, str | int | float) for one in value):
        for number, one in enumerate(value, start=1):
            yield from _flat(_member(name, number, one), one)
    else:
        yield name, _text(value)


def _within(name: str, part: str) -> str:
    return f"{name}, {part}" if name else part


def _member(name: str, number: int, one: Any) -> str:
    """Name a member of a list: by the part of the kiln, its own id, the first of a pair, or else by its number."""
    own = next((str(getattr(one, key)) for key in ("part", "id") if getattr(one, key, "")), "")
    first = one[0] if isinstance(one, tuple | list) and one and isinstance(one[0], str) else ""
    return f"{name} {own or first or number}"


def _in_words(name: str) -> str:
    """Return a name of code as people write it, its unit in brackets: `thickness [mm]`."""
    unit = next((end for end in sorted(_words().unit, key=len, reverse=True) if name.endswith(f"_{end}")), "")
    said = name.removesuffix(f"_{unit}").strip("_").replace("_", " ") if unit else name.replace("_", " ")
    return f"{said} [{_words().unit[unit]}]" if unit else said


def _text(value: Any) -> str:
    """Return a single value as text: what is not known in a word, a number by its first figures."""
    if value is None or value == "" or value == ():
        return _words().value["unknown"]
    if isinstance(value, bool):
        return _words().value["yes" if value else "no"]
    if isinstance(value, tuple | list):
        return ", ".join(_text(one) for one in value)
    return f"{value:.{_FIGURES}g}" if isinstance(value, float) else str(value)
