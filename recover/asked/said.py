"""Reads what a person said to a question as the plain value that the journal holds; refuses with what was expected."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from recover.asked.questions import Detail, Question
from recover.base.errors import AnswerError
from recover.base.measures import (
    AT_STAKE,
    SYMBOLS,
    is_ahead,
    quoted,
    read_moment,
    read_quantity,
    read_whole,
    show_moment,
    show_quantity,
)


def read_value(
    question: Question, said: Any, zone: ZoneInfo, today: date | None = None, now: datetime | None = None
) -> Any:
    """Read what a person said, on the day `today`, as the plain value that the journal holds.

    Nothing that is told of can have happened after `now`, but for what clocks differ. Raises AnswerError.
    """
    if question.kind == "several":
        return _several(question, [said] if isinstance(said, str) else list(said))
    text = str(said).strip()
    if not text:
        raise AnswerError("nothing was said; answer, or say unknown, not inspected, or not applicable")
    if question.kind == "choice":
        return _choice(question, text)
    if question.kind == "moment":
        return _happened(read_moment(text, zone, today), now).isoformat()
    if question.kind in ("number", "reading"):
        return _year(question, text, now) if question.year and now else _number(question, text)
    return text


def read_details(question: Question, said: Mapping[str, Any]) -> dict[str, float]:
    """Read the details of a reading, each in its unit. One that nobody knows is left out; then it opens nothing.

    Raises AnswerError naming what is out of bounds, or no detail of it.
    """
    unknown = sorted(set(said) - {detail.id for detail in question.details})
    if unknown:
        raise AnswerError(f"{question.id} has no detail {', '.join(unknown)}; expected {_detail_names(question)}")
    told = [detail for detail in question.details if str(said.get(detail.id, "")).strip()]
    return {detail.id: read_detail(detail, str(said[detail.id])) for detail in told}


def read_detail(detail: Detail, said: str) -> float:
    """Read one detail of a reading in its unit. Raises AnswerError."""
    value = read_quantity(said, detail.unit, bounds=_bounds(detail.at_least, detail.at_most, detail.unit))
    _bounded(value, detail.at_least, detail.at_most, detail.unit)
    return value


def _detail_names(question: Question) -> str:
    return ", ".join(detail.id for detail in question.details) or "none"


def person(said: str) -> str:
    """Return the name of a person. Raises AnswerError for what has no letter: a reading that went to the wrong line."""
    if not any(one.isalpha() for one in said):
        raise AnswerError(f"{quoted(said)} is no name; type who it is, as in 'A. Attendant'")
    return said.strip()


def come(moment: datetime, now: datetime) -> datetime:
    """Return a moment that has come. Raises AnswerError for one that is still to come, or that nobody alive saw."""
    if moment.year < _LONG_GONE:
        raise AnswerError(f"{moment:%Y-%m-%d} cannot be right here; expected a day since {_LONG_GONE}")
    if is_ahead(moment, now):
        raise AnswerError(f"{show_moment(moment)} has not come yet; it is {show_moment(now.astimezone(moment.tzinfo))}")
    return moment


def _happened(moment: datetime, now: datetime | None) -> datetime:
    """Return a moment that can have been: none that is still to come, none so long ago that it is another matter."""
    if now and come(moment, now) < now - _LONG_AGO:
        raise AnswerError(f"{show_moment(moment)} cannot be right here; expected a day of the last ten years")
    return moment


_LONG_GONE = 1950
_LONG_AGO = timedelta(days=3653)


def _year(question: Question, text: str, now: datetime) -> int:
    """Read a year that has come."""
    year = read_whole(text)
    if not (question.at_least or 0) <= year <= now.year:
        raise AnswerError(f"{year} cannot be right here; expected a year from {question.at_least or 0:g} to {now.year}")
    return year


def _choice(question: Question, text: str) -> str:
    if text in {choice.id for choice in question.choices}:
        return text
    raise AnswerError(f"{text!r} is no choice of {question.id}; expected one of {_choice_names(question)}")


def _several(question: Question, names: list[str]) -> list[str]:
    if not names:
        raise AnswerError(f"{question.id} names nothing; expected at least one of {_choice_names(question)}")
    for name in names:
        _choice(question, name)
    alone = [name for name in names if name in question.alone]
    if alone and len(set(names)) > 1:
        raise AnswerError(f"{question.label(alone[0])!r} cannot stand beside another choice; take one or the other")
    return [choice.id for choice in question.choices if choice.id in names]


def _number(question: Question, text: str) -> float:
    if question.whole:
        number: float = read_whole(text)
    elif beyond_range(text):
        return _over_range(question, text)
    else:
        needed = question.kind == "reading" and question.unit in AT_STAKE
        bounds = _bounds(question.at_least, question.at_most, question.unit)
        number = read_quantity(text, question.unit, unit_needed=needed, bounds=bounds)
        if 0 < number < question.bare_from:
            _unit_stands(text, question.unit)
    _bounded(number, question.at_least, question.at_most, question.unit)
    return number


def _unit_stands(text: str, unit: str) -> None:
    """Raise AnswerError where a length so short has no unit: 40 may be millimetres or centimetres."""
    try:
        read_quantity(text, unit, unit_needed=True)
    except AnswerError as error:
        asks = (
            f"{quoted(text)} {SYMBOLS[unit]} would be little here; write the unit, as in '430 mm', '43 cm' or '17 in'"
        )
        raise AnswerError(asks) from error


_OFF_SCALE = ("ol", "0l", "overrange", "overload", "offscale", "outofrange", "infinity", "infinite", "∞")
"""How people write that a meter shows no figure, without blanks, points and hyphens."""

_MORE = re.compile(r"^(?:>=?|≥|over|more than|at least|above|greater than)\s*(?=[\d.,])", re.IGNORECASE)


def beyond_range(said: str) -> bool:
    """Say whether a reading is written as beyond the instrument's range: `>200 Mohm`, `more than 200 Mohm`, `OL`."""
    return _off_scale(said) or bool(_MORE.match(said.strip()))


def _off_scale(said: str) -> bool:
    return re.sub(r"[\s.\-]", "", said).lower() in _OFF_SCALE


def _over_range(question: Question, text: str) -> float:
    """Return what a reading beyond the range counts as: at least what is written, or the worst where more is worse."""
    if question.over_range is None:
        raise AnswerError(f"{text!r} cannot stand here; expected a number, as the instrument showed it")
    if question.worse != "less" or _off_scale(text):
        return question.over_range
    number = read_quantity(_MORE.sub("", text.strip()), question.unit, unit_needed=question.unit in AT_STAKE)
    _bounded(number, question.at_least, question.at_most, question.unit)
    return number


def _bounded(number: float, at_least: float | None, at_most: float | None, unit: str) -> None:
    low, high = (float("-inf") if at_least is None else at_least), (float("inf") if at_most is None else at_most)
    if not low <= number <= high:
        bounds = _bounds(low, high, unit)
        raise AnswerError(f"{show_quantity(number, unit)} cannot be right here; expected {bounds}")


def _bounds(at_least: float | None, at_most: float | None, unit: str) -> str:
    """Return what can be right, as `0 % to 100 %`; empty where an end of it is open."""
    if at_least is None or at_most is None:
        return ""
    return f"{show_quantity(at_least, unit)} to {show_quantity(at_most, unit)}"


def _choice_names(question: Question) -> str:
    return ", ".join(choice.id for choice in question.choices)
