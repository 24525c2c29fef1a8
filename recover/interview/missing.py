"""Which questions are still to be answered, or to be answered anew, before a hold point can be signed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from recover.asked.answers import Answers
from recover.asked.possible import WATER_OUT
from recover.asked.questions import Question
from recover.asked.told import key_of, split_key
from recover.base.addresses import Address, holds_address, is_listed
from recover.base.conditions import OF_TABLE, Condition, alternatives
from recover.interview.engine import Item
from recover.judged.admissible import NO_WATER_OUT, grounds, inadmissible, is_evidence, lacking, water_out
from recover.judged.holds import hold_states
from recover.judged.standing import Hold
from recover.profiles import Profile, profile
from recover.rules.gates import Need


@dataclass(frozen=True)
class Gap:
    """A hold point whose own needs keep it closed, and the questions that would have to be answered (anew)."""

    hold: Hold
    items: tuple[Item, ...]


def gaps(answers: Answers, profile_name: str) -> list[Gap]:
    """Return the hold points that come next: each lacks something, and those before it nothing but names."""
    near = (hold for hold in _next(hold_states(answers, profile_name)) if is_listed(hold.at))
    found = (Gap(hold, missing(answers, profile(profile_name), hold)) for hold in near)
    return [gap for gap in found if gap.items]


def _next(holds: Iterable[Hold]) -> Iterator[Hold]:
    stuck: list[Hold] = []
    for hold in holds:
        before = [one for one in stuck if one.point.id in hold.point.requires and _touch(one.at, hold.at)]
        if hold.unmet and not before:
            yield hold
        stuck += [hold] if hold.unmet or before else []


def _touch(one: Address, other: Address) -> bool:
    return holds_address(one, other) or holds_address(other, one)


def missing(answers: Answers, country: Profile, hold: Hold) -> tuple[Item, ...]:
    """Return what a hold point lacks, not given, not admissible, or failed: in the order of the questions, and what
    would undo another answer before that."""
    keys = {key for need in hold.point.needs for key in _of_need(answers, country, need, hold.at)}
    keys |= {key for need in hold.unmet for key in need.anew}
    keys |= {key for key in _misfits(answers) if key in hold.rests_on}
    items = [
        Item(question, at)
        for question in answers.questions.question
        for at in answers.instances(question)
        if key_of(question.id, at) in keys
    ]
    return tuple(_in_order(answers, items))


def _in_order(answers: Answers, items: list[Item]) -> list[Item]:
    """Return items, each behind those whose answer may undo its own, renew its part, or mend what it showed: tried once
    the box is dry."""
    done: list[Item] = []
    entered: list[Item] = []

    def take(item: Item) -> None:
        entered.append(item)
        before = {name for name, _ in answers.questions.undoes(item.question)} | {*item.question.proves}
        for one in items:
            first = one.question.id in before or item.question.id in one.question.mends
            if first and one not in entered and _touch(one.at, item.at):
                take(one)
        done.append(item)

    for item in items:
        if item not in entered:
            take(item)
    return done


def _of_need(answers: Answers, country: Profile, need: Need, at: Address) -> Iterator[str]:
    with answers.reading() as read:
        places = answers.each(need.every, at)
    if not all(map(is_listed, places)):
        yield from (key for key in read if _absent(answers, country, key))
    for place in filter(is_listed, places):
        if lacking(answers, country, need.when, place) is not None:
            yield from _of_place(answers, country, need.when, place)


def _of_place(answers: Answers, country: Profile, when: Condition, at: Address) -> list[str]:
    """Return what the way lacks that lacks least; of ways that all failed, what failed in the one of least.

    Of those first a way of evidence, which can come out otherwise: whether there is a claim does not, consent does.
    """
    ways = [[_of_part(answers, country, {name: test}, at) for name, test in way.items()] for way in alternatives(when)]
    still_open = [way for way in ways if all(part.absent or part.holds for part in way)]
    lists = [_keys(way) for way in still_open or ways]
    named = [keys for way, keys in zip(alternatives(when), lists, strict=False) if not still_open and _names(way, keys)]
    of_evidence = [keys for keys in named if any(is_evidence(_question(answers, key)) for key in keys)]
    return min((keys for keys in of_evidence or named or lists if keys), key=len, default=[])


def _question(answers: Answers, key: str) -> Question:
    return answers.questions.questions[split_key(key)[0]]


def _names(way: Iterable[str], keys: Iterable[str]) -> bool:
    """Whether a way itself names one of the questions that it failed on: a plain answer is what leads on."""
    return not {split_key(key)[0] for key in keys}.isdisjoint(way)


@dataclass(frozen=True)
class _Part:
    """One test of a need: whether it holds, what it lacks, and what was given and fails it."""

    holds: bool
    absent: tuple[str, ...] = ()
    failed: tuple[str, ...] = ()


def _keys(way: Iterable[_Part]) -> list[str]:
    return list(dict.fromkeys(key for part in way if not part.holds for key in part.absent or part.failed))


def _of_part(answers: Answers, country: Profile, part: Condition, at: Address) -> _Part:
    with answers.reading() as read:
        lacks = lacking(answers, country, part, at)
    if lacks is None:
        return _Part(holds=True)
    judged_from = frozenset({WATER_OUT}).union(*(grounds(answers, way) for way in alternatives(part)))
    keys = sorted(key for key in read if split_key(key)[0] in judged_from)
    absent = tuple(key for key in keys if _absent(answers, country, key))
    failed = tuple(key for key in keys if _decides(answers, part, key))
    return _Part(False, absent, (*failed, *_mending(answers, failed)))


def _mending(answers: Answers, failed: Iterable[str]) -> Iterator[str]:
    """Yield the key of what tells that the cause of what failed is mended: until then no better reading counts."""
    for name, at in map(split_key, failed):
        for question in answers.questions.question:
            if name in question.mends:
                yield from (key_of(question.id, place) for place in answers.places(question.per, at))


def _absent(answers: Answers, country: Profile, key: str) -> bool:
    """Whether a question that is asked waits for an answer that counts."""
    name, at = split_key(key)
    question, answer = answers.questions.questions.get(name), answers.given.get(key)
    if question is None:
        return False
    if answer is None or answer.state != "given":
        return not question.optional and answers.asked(question, at)
    lacks = {lack.why for lack in inadmissible(answers, key, country)}
    return bool(lacks - {NO_WATER_OUT} if water_out(answers) is None else lacks)  # which is asked first


def _decides(answers: Answers, part: Condition, key: str) -> bool:
    """Whether a given answer is what a test failed on: what the test itself asks for, else evidence.

    What a rule table makes of a component hangs on many answers; of those only a reading can be taken again.
    """
    name, _ = split_key(key)
    question = answers.questions.questions.get(name)
    if question is None or key not in answers.given:
        return False
    ways = alternatives(part)
    by_table = any(one.startswith(OF_TABLE) for way in ways for one in way)
    return any(name in way for way in ways) or (question.kind == "reading" if by_table else is_evidence(question))


def _misfits(answers: Answers) -> Iterator[str]:
    """Yield the keys of answers that do not fit together."""
    for check, at in answers.misfits():
        yield from (key_of(name, place) for name, place in answers.speaks_of(check, at))
