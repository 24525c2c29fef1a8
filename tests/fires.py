"""What fires: every check, notice, need and closure by a name, and whether it does for given answers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from recover.asked.answers import Answers
from recover.asked.compiled import questionnaire
from recover.asked.questions import Check
from recover.base.addresses import Address
from recover.base.conditions import Condition, holds
from recover.judged.admissible import lacking
from recover.profiles import profile
from recover.rules.gates import Closure, Need, Notice, closures, hold_points, notices

COUNTRY = profile("uk")


@dataclass(frozen=True)
class Firing:
    """Something that fires: its name, the conditions behind it, and whether it certainly does."""

    name: str
    when: Condition
    fires: Callable[[Answers], bool]


@cache
def firings() -> dict[str, Firing]:
    """Return everything that must fire on one job and not on its neighbour; not what is always printed."""
    return {one.name: one for one in _all()}


def _all() -> Iterator[Firing]:
    for check in questionnaire().check:
        yield Firing(f"check {check.id}", check.when, lambda answers, check=check: _misfits(answers, check))
    for notice in notices():
        if notice.when:
            yield Firing(f"notice {notice.id}", notice.when, lambda answers, notice=notice: _printed(answers, notice))
    for card in closures().closure:
        yield Firing(f"shut {card.id}", card.clear_when, lambda answers, card=card: _shut(answers, card))
    for point in hold_points():
        for need in point.needs:
            name = f"need {point.id}: {need.say}"
            yield Firing(name, need.when, lambda answers, need=need, per=point.per: _unmet(answers, need, per))


def _misfits(answers: Answers, check: Check) -> bool:
    return any(one.id == check.id for one, _ in answers.misfits())


def _printed(answers: Answers, notice: Notice) -> bool:
    return any(_certain(answers, notice.when, at) for at in answers.components(notice.per))


def _certain(answers: Answers, when: Condition, at: Address) -> bool:
    return holds(when, lambda name: answers.look(name, at), answers.limits) is True


def _shut(answers: Answers, card: Closure) -> bool:
    return any(lacking(answers, COUNTRY, card.clear_when, at, dated=False) is not None for at in answers.kilns)


def _unmet(answers: Answers, need: Need, per: str) -> bool:
    places: list[Any] = [at for one in answers.components(per) for at in _of(answers, need, one)]
    return any(lacking(answers, COUNTRY, need.when, at) is not None for at in places)


def _of(answers: Answers, need: Need, at: Address) -> list[Address]:
    return answers.near(need.every, at) if need.every else [at]
