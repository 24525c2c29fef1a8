"""Whether a bad reading of insulation is followed, within the hour, by a good one that nothing explains; and whether
what was attested against dry is outvoted within the day."""

from __future__ import annotations

from datetime import timedelta

from recover.asked.answers import Answers
from recover.asked.told import RENEWED, Answer, key_of, known_order, seen_at, seen_since, to_the_minute
from recover.base.addresses import Address
from recover.engineering.insulation import falling
from recover.judged.admissible import why_not
from recover.judged.live import HEATED
from recover.profiles import Profile

RISES = {"zone_rose": ("zone.insulation", "element_entry_megohm"),
         "wiring_rose": ("wire.insulation", "wiring_insulation_megohm")}  # fmt: skip
"""Facts that say whether insulation rose without a reason: each with its reading, and what that must reach."""


def risen_from(answers: Answers, fact: str, at: Address, country: Profile) -> Answer | None:
    """Return the bad reading shortly before the good one that stands, where nothing tells why it rose several times.

    Done in between by whoever may say so in a country, or read once more some minutes later with the same result, it is
    explained; None then, and where it did not rise.
    """
    name, limit = RISES[fact]
    last, bound = answers.answer(name, at), answers.limits[limit]
    if last is None or last.state != "given" or last.value < bound:
        return None
    read = [one for one in answers.history[key_of(name, at)] if one.state == "given"]
    low = [one for one in read if one.value < bound and _shortly_before(answers, one, last)]
    rose = (one for one in low if _rose(answers, one, last, read))
    return next((one for one in rose if not _tells_why(answers, one, last, country)), None)


def outvoted(answers: Answers, name: str, at: Address, country: Profile) -> Answer | None:
    """Return what was attested worse in the day before the better that stands, where nothing tells why it is better.

    As with a reading: something was heated or renewed in between, or it was looked at once more, some minutes later.
    """
    last, asked = answers.answer(name, at), answers.questions.questions[name]
    if last is None or last.state != "given":
        return None
    told = sorted(_told(answers, name, at), key=known_order)
    day = timedelta(hours=answers.limits["day_hours"])
    worse = [one for one in told if asked.is_worse(one.value, last.value) and known_order(one) < known_order(last)
             and to_the_minute(seen_at(last)) - to_the_minute(seen_at(one)) <= day]  # fmt: skip
    open_still = (one for one in worse if not _looked_again(answers, one, last, told))
    return next((one for one in open_still if not _tells_why(answers, one, last, country)), None)


def _looked_again(answers: Answers, worse: Answer, last: Answer, told: list[Answer]) -> bool:
    """Whether what stands was seen twice after something worse, some minutes apart."""
    since = [one for one in told if known_order(one) > known_order(worse) and one.value == last.value]
    apart = to_the_minute(seen_at(last)) - to_the_minute(seen_at(since[0]))
    return apart >= timedelta(minutes=answers.limits["agree_minutes"])


def _shortly_before(answers: Answers, one: Answer, last: Answer) -> bool:
    since = to_the_minute(seen_at(last)) - to_the_minute(seen_at(one))
    return known_order(one) < known_order(last) and since <= timedelta(hours=answers.limits["rise_hours"])


def _rose(answers: Answers, low: Answer, last: Answer, read: list[Answer]) -> bool:
    """Whether what was read since a low reading stands at several times of it, and no two readings of it agree.

    They must lie some minutes apart: a meter that is left clamped as it was agrees with itself.
    """
    since = [one for one in read if known_order(low) < known_order(one) <= known_order(last)]
    until = to_the_minute(seen_at(last)) - timedelta(minutes=answers.limits["agree_minutes"])
    others = (one for one in since if to_the_minute(seen_at(one)) <= until)
    agrees = any(not falling([max(one.value, last.value), min(one.value, last.value)]) for one in others)
    return max(one.value for one in since) >= answers.limits["rise_times"] * low.value and not agrees


def _tells_why(answers: Answers, low: Answer, last: Answer, country: Profile) -> bool:
    """Whether somebody who may say so attests that something was heated or renewed between two readings of it.

    How it was dried (slate 182) is free text, and explains nothing.
    """
    asked = answers.questions.questions
    done = [
        answer for name in (HEATED, *asked[last.question].proves)
        for place in answers.places(asked[name].per, last.at)
        for answer in _told(answers, name, place)
        if answer.value in RENEWED and not why_not(answers, asked[name], answer, country, dated=False)
    ]  # fmt: skip
    since = ((to_the_minute(seen_since(one)), one) for one in done)  # at its early end, where clocks contradict
    return any((at, one.line) > known_order(low) and known_order(one) < known_order(last) for at, one in since)


def _told(answers: Answers, name: str, at: Address) -> list[Answer]:
    answers.answer(name, at)
    return [one for one in answers.history.get(key_of(name, at), []) if one.state == "given"]
