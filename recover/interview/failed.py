"""Says at once of a reading that it keeps a hold point closed, with the limit and what comes next (failed.toml)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from recover.asked.answers import Answers
from recover.asked.told import Answer
from recover.base.addresses import Address
from recover.base.conditions import Condition
from recover.base.datafile import load
from recover.base.measures import show_quantity


@dataclass(frozen=True)
class FailedReading:
    """What is said of a reading where a condition holds; `limit` is one of the limits (`@name`), or a fact."""

    question: str
    when: Condition
    limit: str
    say: str


@dataclass(frozen=True)
class _Cards:
    card: list[FailedReading]


@cache
def cards() -> tuple[FailedReading, ...]:
    """Return the cards in their order."""
    return tuple(load("interview/failed.toml", "recover-failed-readings", _Cards).card)


def said_of(answers: Answers, answer: Answer) -> str:
    """Return what is said of a reading that fails its limit; empty where none is, or none is known to fail."""
    of = (card for card in cards() if card.question == answer.question and answer.state == "given")
    card = next((one for one in of if answers.holds(one.when, answer.at) is True), None)
    limit = _limit(answers, card, answer.at) if card else None
    if card is None or limit is None:
        return ""
    unit = answers.questions.questions[answer.question].unit
    return card.say.format(value=answers.in_words(answer), limit=show_quantity(limit, unit))


def _limit(answers: Answers, card: FailedReading, at: Address) -> float | None:
    """Return the limit; the least of those that it may be, where what it rests on is not known."""
    if card.limit.startswith("@"):
        return answers.limits[card.limit.removeprefix("@")]
    return min(answers.look(card.limit, at) or (), default=None)
