"""What a journal tells, line by line, as values: answers, instruments, photographs, notes, signatures, issues.

And what is later than what: by when it was seen, where no clock contradicts the order in which it was written.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import cache, lru_cache
from typing import Any, Literal
from zoneinfo import ZoneInfo

from recover.asked.questions import Question
from recover.base.addresses import JOB, Address
from recover.base.measures import is_ahead

AnswerState = Literal["given", "unknown", "not_inspected", "not_applicable"]

STATE_WORDS: dict[AnswerState, str] = {
    "given": "answered",
    "unknown": "unknown",
    "not_inspected": "not inspected",
    "not_applicable": "not applicable",
}


FILE = "file "
"""How the source of all that was read from a file begins: no name of a file passes for another way."""

RENEWED = frozenset({"yes", "fitted"})
"""The answers by which a part was renewed, or mended as its finding asks."""


STOP_SINCE = "stop_since"
"""The fact that says what stopped a heating: of the log it is judged from stops alone."""

ELEMENT_LOGGED = "element_logged"
"""The fact that says whether the elements were logged below the entry since they were measured."""

FIRINGS_SHOWN = "firings_shown"
"""The fact that says whether log and answers show every firing of the proof."""

COVERS = "cutout_covers"
"""The fact that says whether the cut-out that was proved last covers what the log has of heat."""

BY_LOG = frozenset({"dry_evidence", STOP_SINCE, ELEMENT_LOGGED, FIRINGS_SHOWN, COVERS})
"""The facts that are judged from what is logged as well as from answers."""
NEEDS_REASON = frozenset({"rain", "stopped"})
"""What is taken back from the log for a reason alone: saying nothing more makes nothing dry."""


@dataclass(frozen=True, kw_only=True)
class Answer:
    """The latest answer to a question: the value in the question's unit, or a state with its reason.

    `by` wrote it at `moment`. `who` saw, measured or says so, in a `role`, at `measured`; None and empty where nobody
    wrote that down, as in journals of older versions. `document` names the paper that shows it. `at_least` marks a
    reading beyond the instrument's range: the value is the least that it can be. `line` is its line of the journal.
    """

    question: str
    at: Address
    state: AnswerState
    value: Any = None
    said: str = ""
    reason: str = ""
    instrument: str = ""
    details: Mapping[str, float] = field(default_factory=dict)
    at_least: bool = False
    measured: datetime | None = None
    who: str = ""
    role: str = ""
    document: str = ""
    by: str = ""
    moment: datetime | None = None
    line: int = field(kw_only=True)
    behind: timedelta = timedelta()
    """How far the clock that wrote it stood behind an earlier line's: it was not written before that."""
    ahead: timedelta = timedelta()
    """How far it stood ahead of a later line's: it was not written after that."""

    @property
    def matter(self) -> tuple[Any, ...]:
        """What makes an answer another answer: what was said of the kiln, when and by whom; not when it was written."""
        given = sorted(self.value) if isinstance(self.value, frozenset) else self.value
        known = tuple(sorted(self.details.items())), self.instrument, self.measured, self.who, self.role, self.document
        return (self.state, str(given), self.at_least, *known)


@dataclass(frozen=True)
class Instrument:
    """A measuring instrument: registered once, named with each reading. `calibrated` until a date, as written."""

    id: str
    what: str
    maker: str = ""
    serial: str = ""
    calibrated: str = ""

    def in_date(self, on: date) -> bool | None:
        """Say whether its calibration had not run out on a day; None where no date is written (`not known`)."""
        try:
            return date.fromisoformat(self.calibrated) >= on
        except ValueError:
            return None


@dataclass(frozen=True, kw_only=True)
class Photograph:
    """A picture of the job and the question it belongs to, if any."""

    id: str
    file: str
    sha256: str
    taken: datetime | None
    question: str
    bound_by: str
    printable: bool
    length: int | None = None
    """Of the file in bytes; older versions did not write it down."""
    name: str = ""
    """What the file was called where it came from, where no such name is kept on every system."""


@dataclass(frozen=True)
class Note:
    """A note at a question, and its line of the journal."""

    line: int
    text: str


@dataclass(frozen=True, kw_only=True)
class TakenBack:
    """That a line of the log was taken back: by whom, when, on which line of the journal, and why; empty where that
    was not said."""

    by: str
    moment: datetime
    line: int
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class Logged:
    """One thing that was read, seen or done while a kiln dries, at a moment by the clock of the job.

    `what` is one of `plan/log.toml`, `place` as a day of the plan calls it; a `value` in its `unit` (`at_least` where
    the meter ended), or a `word`. `details` are conditions of a reading, with units in their names.
    """

    line: int
    by: str
    kiln: Address
    what: str
    measured: datetime
    place: str = ""
    value: float | None = None
    unit: str = ""
    at_least: bool = False
    word: str = ""
    said: str = ""
    details: Mapping[str, float] = field(default_factory=dict)
    joined: str = ""
    instrument: str = ""
    written: datetime | None = field(default=None, compare=False)
    """When its line was written; None of one that is not in a journal."""
    source: str = field(default="", compare=False)
    """How it came into the journal."""
    taken_back: TakenBack | None = None

    @property
    def by_logger(self) -> bool:
        """Whether a logger wrote down itself when it read: its file was read in."""
        return self.source.startswith(FILE)

    @property
    def is_water(self) -> bool:
        """Whether it says that water came to the kiln again."""
        return logs_water(self.what, self.word)


def logs_water(what: str, word: str) -> bool:
    """Whether a line of the log says that water came to the kiln again."""
    return what == "rain" or (what, word) == ("stopped", "water")


@dataclass(frozen=True, kw_only=True)
class Release:
    """A named person's signature under a hold point, as the journal holds it.

    `role` is one of the profile's. It rests on the answers of `rests_on`, each as it stood (key, then line of the
    journal, 0 for none), and on the signatures `after` (lines) of the hold points before it. Both are None in journals
    of older versions, which did not write them down.
    """

    hold_point: str
    at: Address
    by: str
    duty: str
    role: str
    licence: str
    moment: datetime
    line: int
    rests_on: Mapping[str, int] | None
    after: tuple[int, ...]

    @property
    def signer(self) -> str:
        """Name, role and licence, as they are printed."""
        return ", ".join(part for part in (self.by, self.role.replace("_", " "), self.licence) if part)


@dataclass(frozen=True, kw_only=True)
class Withdrawal:
    """That a named person took a signature back, its line of the journal, and why: empty in older journals."""

    by: str
    role: str
    moment: datetime
    line: int
    reason: str = ""

    def __str__(self) -> str:
        because = f": {self.reason}" if self.reason else ""
        return f"taken back by {self.by}, {self.role.replace('_', ' ')} (journal line {self.line}){because}"


@dataclass(frozen=True, kw_only=True)
class SheetRun:
    """A run of its own elements as the sheet of its day has it: from when to when, its highest set-point, and what the
    cut-out is set to for it; None where the sheet has no figure."""

    begins: datetime
    ends: datetime
    top_degc: float
    cutout_degc: float | None = None


@dataclass(frozen=True, kw_only=True)
class Issued:
    """What was issued together: kinds of papers, revision, and the journal line it rests on."""

    papers: tuple[str, ...]
    revision: int
    record: str
    by: str
    capacity: str
    moment: datetime


def key_of(question: str, at: Address) -> str:
    """Return the key under which the journal holds an answer: `gear.reached@kiln/1`; the bare id for the whole job."""
    return question if at == JOB else f"{question}@{at}"


@cache
def split_key(key: str) -> tuple[str, Address]:
    """Return question and component of a key."""
    question, _, at = key.partition("@")
    return question, at or JOB


def is_of_a_time_to_come(answer: Answer) -> bool:
    """Say whether an answer was said to be of a time that had not come when it was written: nobody knows of which."""
    return bool(answer.measured and answer.moment and is_ahead(answer.measured, answer.moment))


def known_at(answer: Answer) -> datetime:
    """Return when what an answer tells was so at the latest: when it was seen; nothing is seen after it is written."""
    return min(_said(answer), answer.moment or _said(answer)).astimezone(UTC) + answer.behind


def seen_at(answer: Answer) -> datetime:
    """Return when an answer is from at the latest: when it was seen or measured; where nobody wrote that down, written.

    Where clocks contradict the order in which lines were written, it may be from any time since `seen_since`.
    """
    return _said(answer) + answer.behind


def seen_since(answer: Answer) -> datetime:
    """Return when an answer is from at the earliest: the same as `seen_at` where no clock contradicts another."""
    return _said(answer) + min(answer.behind, timedelta()) - answer.ahead


def may_be_after(one: Answer, other: Answer) -> bool:
    """Say whether an answer may tell of a later time than another, as far as their times and clocks say.

    Of the same minute is later what was written later: people tell minutes.
    """
    return known_order(one) > (to_the_minute(seen_since(other)), other.line)


def known_order(answer: Answer) -> tuple[datetime, int]:
    """Return what puts answers in the order in which they were so: of the same minute, that of their lines."""
    return to_the_minute(known_at(answer)), answer.line


def is_later(one: Answer, other: Answer) -> bool:
    """Say whether an answer is from a later time than another; of the same minute, from a later line."""
    return (to_the_minute(seen_at(one)), one.line) > (to_the_minute(seen_at(other)), other.line)


def to_the_minute(moment: datetime) -> datetime:
    """Return a moment without its seconds: some times come from a clock, some are told, and people tell minutes."""
    return moment.replace(second=0, microsecond=0)


def _said(answer: Answer) -> datetime:
    """Return when an answer is said to be from, in universal time: by local time an hour comes twice in autumn."""
    said = answer.measured or answer.moment
    return said.astimezone(UTC) if said else datetime.min.replace(tzinfo=UTC)


def decode(question: Question, value: Any, zone: ZoneInfo) -> Any:
    """Turn a value as the journal holds it into the value that conditions compare."""
    if question.kind == "several":
        return frozenset(value)
    return datetime.fromisoformat(value).astimezone(zone) if question.kind == "moment" else value


def same_person(one: str, other: str) -> bool:
    """Whether two written names are those of one person, as far as writing tells: `E. Fahy`, `Fahy, E.`."""
    return _words_of(one) == _words_of(other)


@lru_cache(maxsize=4096)
def _words_of(name: str) -> list[str]:
    return sorted(re.findall(r"\w+", unicodedata.normalize("NFKC", name).casefold()))
