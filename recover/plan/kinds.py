"""What can be logged while a kiln dries, as data: its unit, what can be right of it, what it means, what is done next.

And one reader of what somebody types of it: `46`, `115 F`, `>200 Mohm`, `31; 46 C`, `drips running`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from math import floor
from typing import TYPE_CHECKING, Literal

from recover.asked.said import beyond_range
from recover.base.datafile import load
from recover.base.errors import AnswerError
from recover.base.measures import SYMBOLS, as_read, quoted, read_quantity, show_number, show_quantity
from recover.base.sources import Authority, Figure

if TYPE_CHECKING:
    from recover.asked.told import Logged

LogSort = Literal["reading", "seen", "event"]
SaidOfIt = Literal["", "above"]

OF_ITS_WET_WEIGHT = "% of its wet weight"
"""The unit of a piece that nobody weighed dry, as days of a plan call it."""

_WHOLE, _COARSE = ("°C", "%"), ("l",)
"""Units in which what is expected is told whole, or by two figures."""

_LEAST_LITRES = 0.1
"""Less water than this is not measured in a vessel: what is expected then is told as less."""


COLUMNS = "columns"
"""How the log calls the line that keeps how the columns of a logger are read."""

NOT_READ = "not_read"
"""The word of a reading that somebody could not take."""


@dataclass(frozen=True)
class LogWord:
    """A word of what is seen or happened: how grave it is short of a stop, and what is done next, in its order.

    `own_next` on a day of its own elements or on none, `outside_next` on one from outside, `next` on every one;
    `shut_next` in place of `own_next` while own heat is not released; `asks`
    are the questions whose slates are named there, with all that it `undoes`.
    """

    id: str
    label: str
    lies: SaidOfIt = ""
    note: bool = False
    next: list[str] = field(default_factory=list)
    own_next: list[str] = field(default_factory=list)
    outside_next: list[str] = field(default_factory=list)
    shut_next: list[str] = field(default_factory=list)
    asks: list[str] = field(default_factory=list)
    undoes: str = ""


@dataclass(frozen=True)
class LogDetail:
    """What is read at once with a reading: a condition of it."""

    id: str
    label: str
    unit: str
    least: float
    most: float


@dataclass(frozen=True, kw_only=True)
class LogKind(Authority):
    """One kind of what is logged; see the head of `log.toml` for each key."""

    id: str
    label: str
    sort: LogSort
    names: list[str] = field(default_factory=list)
    unit: str = ""
    or_unit: str = ""
    or_least: float = 0.0
    or_most: float = 0.0
    needs_unit: Literal["", "always", "degrees"] = ""
    least: float = 0.0
    most: float = 0.0
    differs: float = 0.0
    slip: str = ""
    rises: float = 0.0
    falls: float = 0.0
    leapt: str = ""
    chilled: str = ""
    meters: list[str] = field(default_factory=list)
    same: list[str] = field(default_factory=list)
    compared: list[str] = field(default_factory=list)
    other_meter: str = ""
    beside: str = ""
    decides: bool = False
    inside: bool = False
    joined: bool = False
    details: list[LogDetail] = field(default_factory=list)
    below: str = ""
    above: str = ""
    stop: str = ""
    word: list[LogWord] = field(default_factory=list)

    def of_word(self, word: str) -> LogWord | None:
        """Return one of its words by its id; None where it has none of that name."""
        return next((one for one in self.word if one.id == word), None)

    def names_meter(self, note: str) -> bool:
        """Whether a note names with what something was read: `Küchenwaage`, `the scale of the kitchen`."""
        return any(meter in note.casefold() for meter in self.meters)

    def names_other_meter(self, note: str, before: str = "") -> bool:
        """Whether a note names a meter that need not be the one of before: it neither says that it is the same nor
        names it as the note of before did."""
        said = " ".join(note.casefold().split())
        alike = said == " ".join(before.casefold().split()) or any(word in said for word in self.same)
        return self.names_meter(note) and (not alike or any(word in said for word in log_data().unlike))

    def teaches(self, note: str, before: str) -> bool:
        """Whether what was read beside a note is of the meter of before, or of one that was compared with it."""
        return not self.names_other_meter(note, before) or any(word in note.casefold() for word in self.compared)


@dataclass(frozen=True)
class LogAcross:
    """Two readings of one day that contradict each other where both lie so to their bands, and what is looked at."""

    what: str
    lies: str
    other: str
    other_lies: str
    say: str


@dataclass(frozen=True)
class _LogShuts:
    """What is said where the log shuts a plan."""

    rain: str
    halted: str
    tripped: str


@dataclass(frozen=True)
class _LogAsked:
    """How a round is asked. `quick` are the words of one question for all that is seen, each as kind.word."""

    who: str
    row: str
    at: str
    band: str
    before: str
    stop: str
    condition: str
    joined: str
    as_before: str
    more: str
    seen: str
    note: str
    help: str
    head: str
    sheet: str
    no_day: str
    broken: str
    stands: str
    off: str
    mistyped: str
    why: str
    hands_off: str
    kept: str
    quick: list[str]


@dataclass(frozen=True)
class _Log:
    due_h: Figure
    thin_min: Figure
    share_below: Figure
    hotter_k: Figure
    cools_h: Figure
    falls_k: Figure
    chills_k: Figure
    under_room_k: Figure
    late_min: Figure
    unlike: list[str]
    say: dict[str, str]
    shuts: _LogShuts
    lies: dict[str, str]
    across: list[LogAcross]
    ask: _LogAsked
    kind: list[LogKind]


@cache
def log_data() -> _Log:
    """Return what can be logged, the figures of the log, and its sentences."""
    return load("plan/log.toml", "recover-log", _Log)


@cache
def kinds() -> Mapping[str, LogKind]:
    """Return what can be logged by its id, in the order of the file."""
    return {kind.id: kind for kind in log_data().kind}


def kind_named(said: str) -> LogKind:
    """Return the kind that somebody names, by its id, its label or a word of the trade. Raises AnswerError."""
    wanted = said.strip().casefold()
    for kind in kinds().values():
        if wanted in {one.casefold() for one in (kind.id, kind.label, *kind.names)}:
            return kind
    read = (kind.id for kind in kinds().values() if kind.sort != "event")
    raise AnswerError(f"{quoted(said)} is nothing that is logged; expected one of {', '.join(read)}")


# ---------------------------------------------------------------------------------------- how finely it is told


def as_told(value: float | None, unit: str, *, down: bool = False) -> float | None:
    """Return what is expected of a meter as every paper and the prompt tell it; `down`: never above what it is, as
    the figure beyond which a day ends."""
    if value is None:
        return None
    if unit in _WHOLE:
        return float(floor(value + 1e-6) if down else round(value))
    return float(f"{value:.{_figures(value, unit)}g}") if abs(value) < 100 else float(round(value))


def figure(value: float | None, unit: str) -> str:
    """Print what is expected of a meter, as finely as it is read; nothing where nothing is expected."""
    if value is None:
        return ""
    if unit in _COARSE and value < _LEAST_LITRES:
        return log_data().say["less"].format(value=show_number(_LEAST_LITRES))
    return show_number(as_told(value, unit) or 0.0, _figures(value, unit))


def edges(low: float | None, high: float | None, unit: str) -> tuple[float | None, float | None]:
    """Return the edges of a band as they are told: a reading that is printed like one of them lies within."""
    if unit not in _COARSE:
        return as_told(low, unit), as_told(high, unit)
    least = None if low is None or low >= _LEAST_LITRES else 0.0
    most = None if high is None else max(high, _LEAST_LITRES)
    return as_told(low, unit) if least is None else least, as_told(most, unit)


def _figures(value: float, unit: str) -> int:
    return 2 if unit in _COARSE else as_read(value, unit)


def word_of(one: Logged) -> str:
    """Return what was seen or happened by the label of its word; one that only a later version knows as it is."""
    if one.word == NOT_READ:
        return log_data().say[NOT_READ]
    kind = kinds().get(one.what)
    word = kind.of_word(one.word) if kind else None
    return word.label if word else one.word.replace("_", " ")


# ---------------------------------------------------------------------------------------- what somebody types


@dataclass(frozen=True)
class Typed:
    """What was read out of what somebody typed: a value in the unit of the log, or a word, with its conditions."""

    value: float | None = None
    unit: str = ""
    at_least: bool = False
    word: str = ""
    details: Mapping[str, float] = field(default_factory=dict)
    joined: str = ""


def logged_unit(unit: str, kind: LogKind) -> str:
    """Return how the log and the days of a plan write a unit."""
    return OF_ITS_WET_WEIGHT if unit == "percent" and kind.or_unit == "percent" else SYMBOLS[unit]


READ_KG, READ_PERCENT = "read_kg", "read_percent"
"""The details beside a weight that tell what was read, where the plan tells it in the other unit."""


def by_wet_weight(typed: Typed, kind: LogKind, wet_kg: float) -> Typed:
    """Return a weight in the other of its units, by what the piece weighed wet, with what was read beside it.

    What no piece of that weight can have come to stays as it was read: it is of another piece, or of another scale.
    """
    if typed.value is None or not kind.or_unit:
        return typed
    in_kg = typed.unit == SYMBOLS[kind.unit]
    value = 100 * typed.value / wet_kg if in_kg else typed.value * wet_kg / 100
    least, most = (kind.or_least, kind.or_most) if in_kg else (kind.least, kind.most)
    if not least <= value <= most:
        return typed
    read = {READ_KG if in_kg else READ_PERCENT: typed.value}
    unit = logged_unit(kind.or_unit if in_kg else kind.unit, kind)
    return replace(typed, value=round(value, 4), unit=unit, details={**typed.details, **read})


def read_typed(kind: LogKind, said: str, *, expected: str = "", fahrenheit: bool = False) -> Typed:
    """Read what was typed of a kind: its number, and what is read with it behind semicolons; or its word.

    A bare number is in the unit in which the day expects it. Raises AnswerError with what was expected.
    """
    if said.strip() == "?":
        return Typed(word=NOT_READ)
    if kind.sort != "reading":
        return Typed(word=_word(kind, said).id)
    number, *more = (part.strip() for part in said.split(";"))
    joined, details = _conditions(kind, more)
    value, unit, at_least = _number(kind, number, expected, fahrenheit=fahrenheit)
    return Typed(value, unit, at_least, details=details, joined=joined)


def _word(kind: LogKind, said: str) -> LogWord:
    """Return the word that was typed, or begun so that no other can be meant. Raises AnswerError."""
    wanted = said.strip().casefold().replace(" ", "_").replace("-", "_")
    whole = [one for one in kind.word if wanted in (one.id, one.label.casefold().replace(" ", "_"))]
    begun = [one for one in kind.word if wanted and one.id.startswith(wanted)]
    for found in (whole, begun):
        if len(found) == 1:
            return found[0]
    raise AnswerError(f"{quoted(said)} is no word for it; expected one of {', '.join(one.id for one in kind.word)}")


def _number(kind: LogKind, said: str, expected: str, *, fahrenheit: bool) -> tuple[float, str, bool]:
    """Return the value in the unit of the log, that unit, and whether the meter ended there."""
    units = [unit for unit in (kind.unit, kind.or_unit) if unit]
    units.sort(key=lambda unit: logged_unit(unit, kind) != expected)
    needed = kind.needs_unit == "always" or (kind.needs_unit == "degrees" and fahrenheit)
    refused: list[AnswerError] = []
    for unit in units:
        try:
            return _in_unit(kind, said, unit, needed=needed)
        except AnswerError as error:
            refused.append(error)
    raise refused[0]


def _in_unit(kind: LogKind, said: str, unit: str, *, needed: bool) -> tuple[float, str, bool]:
    beyond = beyond_range(said)
    if beyond and not kind.joined:
        raise AnswerError(f"{quoted(said)} cannot stand here; expected a number, as the meter showed it")
    if said.strip().upper() == "OL":
        raise AnswerError("'OL' does not tell how far the meter reaches; write that, as in '>200 Mohm'")
    value = read_quantity(said.strip().removeprefix(">"), unit, unit_needed=needed)
    own = unit == kind.unit
    _bounded(value, kind.least if own else kind.or_least, kind.most if own else kind.or_most, unit)
    return round(value, 6), logged_unit(unit, kind), beyond


def _bounded(value: float, least: float, most: float, unit: str) -> None:
    if not least <= value <= most:
        bounds = f"{show_quantity(least, unit)} to {show_quantity(most, unit)}"
        raise AnswerError(f"{show_quantity(value, unit)} cannot be right here; expected {bounds}")


def _conditions(kind: LogKind, parts: Iterable[str]) -> tuple[str, dict[str, float]]:
    """Read what was typed behind the number: each part by its unit, and what was joined in words."""
    told: dict[str, float] = {}
    joined = ""
    for part in filter(None, parts):
        needed = len(kind.details) > 1
        found = next((one for one in kind.details if one.id not in told and _fits(one, part, needed=needed)), None)
        if found:
            told[found.id] = read_condition(found, part, needed=needed)
        elif kind.joined and not joined and not part[0].isdecimal():
            joined = part
        else:
            behind = [f"{one.label} ({SYMBOLS[one.unit]})" for one in kind.details] + ["what was joined"] * kind.joined
            raise AnswerError(f"{quoted(part)} cannot be read behind it; expected {', '.join(behind) or 'nothing'}")
    return joined, told


def _fits(detail: LogDetail, said: str, *, needed: bool) -> bool:
    try:
        read_condition(detail, said, needed=needed)
    except AnswerError:
        return False
    return True


def read_condition(detail: LogDetail, said: str, *, needed: bool = False) -> float:
    """Read one condition of a reading; its unit is `needed` where others could be meant. Raises AnswerError."""
    value = read_quantity(said, detail.unit, unit_needed=needed)
    _bounded(value, detail.least, detail.most, detail.unit)
    return round(value, 6)
