"""What a reading is held against, and why one keeps a hold point closed, with what comes next (failed.toml).

The interview says it at once, the hold point as long as it is so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from functools import cache

from recover.asked.answers import Answers
from recover.asked.told import Answer, key_of, seen_at, to_the_minute
from recover.base.addresses import Address
from recover.base.conditions import Condition
from recover.base.datafile import load
from recover.base.measures import show_quantity
from recover.engineering.insulation import falling

COLD = "zone.insulation"
"""The reading of which a fall counts."""


@dataclass(frozen=True, kw_only=True)
class _FailedReading:
    """What is said of a reading where a condition holds; `limit` is one of the limits (`@name`), or a fact; `shown` a
    fact. A card of a `fall` is said beside the first of the others."""

    question: str
    when: Condition
    because: str
    do: str
    limit: str = ""
    shown: str = ""
    fall: bool = False


@dataclass(frozen=True, kw_only=True)
class _Beside:
    """What a reading is held against where a condition holds: a `limit`, as of a card that fails, told by `say`; in
    its own `unit` where that is not the reading's."""

    question: str
    say: str
    of: Condition = field(default_factory=dict)
    limit: str = ""
    unit: str = ""


@dataclass(frozen=True)
class _Cards:
    card: list[_FailedReading]
    beside: list[_Beside]


@cache
def _file() -> _Cards:
    return load("judged/failed.toml", "recover-failed-readings", _Cards)


@cache
def cards() -> tuple[_FailedReading, ...]:
    """Return the cards in their order."""
    return tuple(_file().card)


def held_against() -> tuple[_Beside, ...]:
    """Return what readings are held against, in the order of the file."""
    return tuple(_file().beside)


def said_of(answers: Answers, answer: Answer) -> str:
    """Return what is said at once of a reading that fails; empty where none does, or none is known to fail."""
    value = answers.in_words(answer)
    return " ".join(f"{value}: {because}. {card.do}" for card, because in _failed(answers, answer))


def because_of(answers: Answers, answer: Answer) -> str:
    """Return the limits that a reading misses, in words, and from what it has fallen; empty where it misses none."""
    return ", ".join(because for _, because in _failed(answers, answer))


def _failed(answers: Answers, answer: Answer) -> Iterator[tuple[_FailedReading, str]]:
    """Yield the first card whose condition holds, then that of a fall, each with its reason in words."""
    of = [card for card in cards() if card.question == answer.question and answer.state == "given"]
    hold = [card for card in of if answers.holds(card.when, answer.at) is True]
    unit = answers.questions.questions[answer.question].unit
    for card in [one for one in hold if not one.fall][:1]:
        figures = {"limit": _limit(answers, card.limit, answer.at), "shown": _least(answers, card.shown, answer.at)}
        told = {of: show_quantity(value, unit) for of, value in figures.items() if value is not None}
        if all(of in told for of in figures if f"{{{of}}}" in card.because):
            yield card, card.because.format(**told)
    before = fallen_from(answers, answer.at) if answer.question == COLD else None
    if before is not None:
        yield from ((card, _fall(answers, card, before)) for card in hold if card.fall)


def beside(answers: Answers, answer: Answer) -> str:
    """Return what a reading is held against, in words, whether it passes or not: `entry 1 MΩ`; empty where nothing, or
    where the limit is not known."""
    of = (card for card in held_against() if card.question == answer.question)
    card = next((card for card in of if answers.holds(card.of, answer.at) is True), None)
    if card is None:
        return ""
    limit = _limit(answers, card.limit, answer.at) if card.limit else None
    unit = card.unit or answers.questions.questions[answer.question].unit
    shown = "" if limit is None else show_quantity(limit, unit)
    return card.say.format(limit=shown) if shown or not card.limit else ""


def _limit(answers: Answers, limit: str, at: Address) -> float | None:
    """Return the limit; the least of those that it may be, where what it rests on is not known."""
    if limit.startswith("@"):
        return answers.limits[limit.removeprefix("@")]
    return _least(answers, limit, at)


def _least(answers: Answers, fact: str, at: Address) -> float | None:
    """Return the least that a fact may be; None of none, or where nothing is known of it."""
    return min(answers.look(fact, at) or (), default=None) if fact else None


def _fall(answers: Answers, card: _FailedReading, before: Answer) -> str:
    seen = seen_at(before)
    until = answers.by_clock(seen + timedelta(hours=answers.limits["day_hours"]))
    return card.because.format(before=answers.in_words(before), seen=answers.by_clock(seen), until=until)


# ---------------------------------------------------------------------------------------- a fall


def cold_readings(answers: Answers, zone: Address) -> list[Answer]:
    """Return every reading of the elements of a zone that was ever written, also one that somebody took back.

    Also one of before an element or a wire was renewed: the lining is in every reading, and it may have got wetter.
    """
    answers.answer(COLD, zone)
    told = answers.history.get(key_of(COLD, zone), ())
    return [one for one in told if one.state == "given" and not answers.doubts(one)]


def fallen_from(answers: Answers, zone: Address) -> Answer | None:
    """Return the highest reading of the day before the last one, where that lies clearly below it; None where not.

    Of several of the last moment the least counts.
    """
    read = cold_readings(answers, zone)
    if not read:
        return None
    last, day = to_the_minute(max(map(seen_at, read))), timedelta(hours=answers.limits["day_hours"])
    least = min(one.value for one in read if to_the_minute(seen_at(one)) == last)
    highest = max((one for one in read if last - day <= seen_at(one)), key=lambda one: one.value)
    return highest if falling([highest.value, least]) else None
