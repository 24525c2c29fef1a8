"""What a plan was made from, by name: so that a plan that is overtaken says by what.

Names are those of the values in code, which carry their units: `kiln/1, lining, wall, layer 2, thickness [mm]`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal
from functools import cache
from math import isinf
from typing import TYPE_CHECKING, Any

from recover.base.datafile import load
from recover.base.sources import Authority

if TYPE_CHECKING:
    from recover.base.addresses import Address
    from recover.judged.assessment import Assessment
    from recover.plan.of_job import Taken

_FIGURES = 6
"""Numbers that differ by less than one part in a million are the same input."""

COMES_AFTER = ("looks", "gate_open")
"""What planning takes of a kiln and what comes after its days, or with them: after which firings it is looked at again,
agreed at the hand-over; whether the entry to its own elements is open, which its hold point says at every moment. A
plan is made anew for them when it is asked for, and followed until then."""


@dataclass(frozen=True)
class _Words:
    """How names and values are written: names that code says too shortly, units by how one ends, values, changes."""

    name: dict[str, str]
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
    told: dict[str, str] = {}
    for one in fields(taken):
        if one.name == "lining" and taken.heating and taken.heating.lining == taken.lining:
            continue  # it is named with how it is heated
        for name, value in _flat(f"{taken.kiln}, {_in_words(one.name)}", getattr(taken, one.name)):
            told[name] = f"{told[name]}; {value}" if name in told else value
    del told[f"{taken.kiln}, {_in_words('kiln')}"]
    return told


def differences(then: Mapping[str, str], now: Mapping[str, str]) -> list[str]:
    """Return what is another now than then, each in words: the name, what it was, what it is."""
    say, gone = _words().change["input"], _words().value["absent"]
    names = [name for name in {**then, **now} if then.get(name) != now.get(name)]
    return [say.format(name=name, then=then.get(name, gone), now=now.get(name, gone)) for name in names]


def overtaking(told: Mapping[str, str], kilns: Iterable[Address]) -> dict[str, str]:
    """Return inputs by name without those that overtake no plan (`COMES_AFTER`)."""
    after = {f"{kiln}, {_in_words(name)}" for kiln in kilns for name in COMES_AFTER}
    return {name: value for name, value in told.items() if name not in after}


def program_changed() -> str:
    """Return what is said where not the inputs are others, but the rules or the program."""
    return _words().change["program"]


def _flat(name: str, value: Any) -> Iterator[tuple[str, str]]:
    """Yield the name and the text of each single value within a value; of a row of our own data its name alone."""
    if is_dataclass(value) and not isinstance(value, Authority):
        yield from _fields(name, value)
    elif isinstance(value, tuple | list) and not all(map(_is_single, value)):
        for number, one in enumerate(value, start=1):
            yield from _member(name.removesuffix("s"), number, one)
    else:
        yield name, _text(value)


def _fields(name: str, value: Any) -> Iterator[tuple[str, str]]:
    """Yield what the fields of a value hold, but for the one that it is named by already."""
    for one in fields(value):
        held = getattr(value, one.name)
        if one.name not in _NAMES or not name.endswith(f" {held}"):
            yield from _flat(f"{name}, {_in_words(one.name)}", held)


_NAMES = ("part", "way", "id", "name")
"""Fields by which a thing is named among others of its kind."""


def _id_of(one: Any) -> str:
    return next((str(getattr(one, key)) for key in _NAMES if getattr(one, key, "")), "")


def _is_single(one: Any) -> bool:
    """Whether something is one value, a row of our own data, or a few that stand together: a part, a layer's number."""
    single = isinstance(one, str | int | float | Authority)
    return single or (isinstance(one, tuple) and all(map(_is_single, one)))


def _member(name: str, number: int, one: Any) -> Iterator[tuple[str, str]]:
    """Yield a member of a list: what stands after a word by that word, else by its own name or its number."""
    match one:
        case (str(word), of):
            yield from _flat(f"{name} {word}", of)
        case _:
            yield from _flat(f"{name} {_id_of(one) or number}", one)


def _in_words(name: str) -> str:
    """Return a name of code as people write it, its unit in brackets: `thickness [mm]`."""
    if name in _words().name:
        return _words().name[name]
    unit = next((end for end in sorted(_words().unit, key=len, reverse=True) if name.endswith(f"_{end}")), "")
    said = name.removesuffix(f"_{unit}") if unit else name
    return f"{said} [{_words().unit[unit]}]".replace("_", " ") if unit else said.replace("_", " ")


def _text(value: Any) -> str:
    """Return a single value as text: what is not known in a word, a number by its first figures."""
    if value is None or value == "" or value == ():
        return _words().value["unknown"]
    if isinstance(value, bool):
        return _words().value["yes" if value else "no"]
    if isinstance(value, tuple | list):
        return ", ".join(" ".join(map(_text, one)) if isinstance(one, tuple) else _text(one) for one in value)
    if isinstance(value, float | Decimal):
        return _words().value["endless"] if isinf(value) else f"{float(value):.{_FIGURES}g}"
    said = _id_of(value) if isinstance(value, Authority) else str(value)
    return said.replace("_", " ") if said.isidentifier() else said
