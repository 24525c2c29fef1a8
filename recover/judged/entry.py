"""Insulation of the elements by the log: what was logged low since it was measured shuts what the measurement opened.

The log opens nothing: it can only be worse than the answer. Whatever was joined, a low reading is one; what settles it
was read as an answer has to be, all lives joined and at the test voltage of a mains circuit. A lining that its own
elements warm dips, and is held against the floor of its day; every other reading counts, and every cold one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from functools import cache

from recover.asked.answers import Answers
from recover.asked.told import Logged, known_at, to_the_minute
from recover.base.addresses import Address, within
from recover.base.conditions import Possible
from recover.base.datafile import load
from recover.base.measures import show_quantity
from recover.judged.dry import MEGOHMS, is_full, is_late
from recover.judged.failed import COLD

ENTRY = "entry"
"""The detail beside insulation that tells what opens own heat, where its day did not expect it of a lining that its own
elements warm."""

AT_ENTRY = "at_entry"


@dataclass(frozen=True)
class _Step:
    """A step below the entry, and the own limit below which it is."""

    value: str
    below: str


@dataclass(frozen=True)
class _Entry:
    steps: tuple[_Step, ...]
    low: str


@cache
def _entry() -> _Entry:
    return load("judged/entry.toml", "recover-entry", _Entry)


def element_logged(answers: Answers, zone: Address) -> Possible:
    """Return how the worst reading of the log lies that stands below the entry since a zone was measured."""
    worst = min(_standing(answers, zone), key=_megohm, default=None)
    if worst is None:
        return frozenset({AT_ENTRY})
    return frozenset({next(step.value for step in _entry().steps if _megohm(worst) < answers.limits[step.below])})


def told_low(answers: Answers, zone: Address) -> list[str]:
    """Return each low reading of the log that stands since a zone was measured, in words, the last first."""
    slate, limit = answers.questions.questions[COLD].slate, show_quantity(_limit(answers), "Mohm")
    return [
        _entry().low.format(value=show_quantity(_megohm(one), "Mohm", figures=4), at=answers.by_clock(one.measured),
                            line=one.line, limit=limit, slate=slate)
        for one in sorted(_standing(answers, zone), key=lambda one: -one.line)
    ]  # fmt: skip


def low_lines(answers: Answers, kiln: Address) -> frozenset[int]:
    """Return every line of a kiln's log that ever may have shut own heat: a low reading, and what was taken back."""
    gone = {one.taken_back.line for one in answers.unlogged if one.kiln == kiln and one.taken_back}
    read = (one for one in (*answers.logged, *answers.unlogged) if one.kiln == kiln and _is_low(answers, one))
    return frozenset({one.line for one in read} | gone)


def _standing(answers: Answers, zone: Address) -> list[Logged]:
    """Return each low reading of a kiln since its zone was measured, or of the hour before it, that nothing of the log
    settles. One that was taken back without a reason counts as well."""
    measured, kiln = answers.answer(COLD, zone), within(zone, "kiln") or zone
    gone = (one for one in answers.unlogged if one.line not in answers.struck)
    log = [one for one in (*answers.logged, *gone) if one.kiln == kiln and not answers.is_line_unproved(one.line)]
    hour = timedelta(hours=answers.limits["rise_hours"])
    since = to_the_minute(known_at(measured)) - hour if measured and measured.state == "given" else None
    low = [one for one in log if _is_low(answers, one) and (since is None or to_the_minute(one.measured) > since)]
    return [one for one in low if not _is_settled(answers, one, log)]


def _is_settled(answers: Answers, low: Logged, log: Iterable[Logged]) -> bool:
    """Whether the same was read at the entry since a low reading: an hour or more later, or twice some minutes apart,
    with none below it in between."""
    of = sorted((one for one in log if _tells_of(answers, one, low)), key=lambda one: one.measured.timestamp())
    good = [one.measured for one in of if one not in answers.unlogged]
    if not good:
        return False
    later = good[-1] - low.measured > timedelta(hours=answers.limits["rise_hours"])
    return later or good[-1] - good[0] >= timedelta(minutes=answers.limits["agree_minutes"])


def _tells_of(answers: Answers, one: Logged, low: Logged) -> bool:
    """Whether a reading is good, was written and measured after a low one, and is of the same place or of all."""
    since = one.line > low.line and one.measured.timestamp() > low.measured.timestamp()
    return since and one.place in ("", low.place) and _is_good(answers, one)


def _is_good(answers: Answers, one: Logged) -> bool:
    """Whether insulation was read at the entry as an answer has to be, and typed in as it was read."""
    read = one.what == "insulation" and one.unit in MEGOHMS and _megohm(one) >= _limit(answers)
    volts = one.details.get("test_volts", 0.0) >= answers.limits["insulation_test_volts"]
    return read and volts and is_full(one) and not is_late(answers, one)


def _is_low(answers: Answers, one: Logged) -> bool:
    """Whether a line tells insulation below the entry of a lining that is cold, or that its own elements did not warm
    by its day."""
    if one.what != "insulation" or one.unit not in MEGOHMS or one.value is None:
        return False
    cold = one.details.get("lining_degc", float("-inf")) < answers.limits["cold_lining_degc"]
    return (cold or ENTRY in one.details) and one.value < _limit(answers) and not one.at_least


def _megohm(one: Logged) -> float:
    return one.value or 0.0


def _limit(answers: Answers) -> float:
    return answers.limits["element_entry_megohm"]
