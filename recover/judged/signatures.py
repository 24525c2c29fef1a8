"""Which signatures under a hold point still hold, and what ended the others, and when.

A signature rests on every answer that the needs of its hold point looked at, as it stood. It ends for good when one of
them is given anew, when one that a need is judged from outlives its validity, or when a signature before it ends. What
was out of date already when somebody signed is nothing that the signature rests on.

A signature that stands is given anew when what was said again since lasts longer. The later one counts then, and what
comes after goes on; without it the older one lapses as if nothing had been said.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property

from recover.asked.answers import Answers
from recover.asked.questions import Question
from recover.asked.told import (
    ELEMENT_LOGGED,
    STOP_SINCE,
    Answer,
    Release,
    may_be_after,
    same_person,
    seen_at,
    split_key,
    to_the_minute,
)
from recover.base.conditions import alternatives
from recover.judged.admissible import good_until, grounds, is_evidence, undoing
from recover.judged.live import shown_on
from recover.profiles import Profile
from recover.rules.gates import HoldPoint

Ending = tuple[datetime | None, str]
"""When something ended a signature (None where that has no moment of its own), and what."""


@dataclass(frozen=True)
class Signature:
    """A signature and, where it no longer holds, what ended it, and when where that is known; `aged`: what it rests on
    is out of date, and nothing else has ended it, then or since.

    `renews`: the signatures for the same duty that this one goes on from, each of which stood still when the next was
    given; `renewed`: a later one goes on from this, and counts in its place.
    """

    release: Release
    ended: str = ""
    ended_at: datetime | None = None
    aged: bool = False
    renews: tuple[Release, ...] = ()
    renewed: bool = False

    @property
    def stands(self) -> bool:
        """Whether it counts: nothing ended it, and nobody has signed anew since."""
        return not self.ended and not self.renewed

    @property
    def since(self) -> datetime:
        """Since when it has been signed for without a break."""
        return min(one.moment for one in (self.release, *self.renews))

    @property
    def lines(self) -> frozenset[int]:
        """The lines of the journal that signed for it without a break."""
        return frozenset(one.line for one in (self.release, *self.renews))


@dataclass(frozen=True, kw_only=True)
class Ground:
    """What signatures under a hold point of a component are held against: who may sign, what is read now, what is not
    met, what of the hold points before it ended (`gone`), and what was not met, and was read, at a line (`at_line`).
    `stopped`: from which line on the log may have closed it by a stop; 0 where none can. `closing`: the lines
    of the log that may have closed it otherwise."""

    answers: Answers
    profile: Profile
    point: HoldPoint
    read: frozenset[str]
    unmet: tuple[str, ...]
    witnesses: Mapping[str, Mapping[str, str]]
    gone: Callable[[Release], Iterable[Ending]]
    at_line: Callable[[int], tuple[tuple[str, ...], frozenset[str]]]
    stopped: int = 0
    closing: frozenset[int] = frozenset()

    @cached_property
    def judged_from(self) -> frozenset[str]:
        """Every question that the needs of the hold point are judged from."""
        ways = (way for need in self.point.needs for way in alternatives(need.when))
        return frozenset().union(*(grounds(self.answers, way) for way in ways))


def signatures(ground: Ground, at: str) -> Iterator[Signature]:
    """Return every signature under a hold point of a component, in the order of the journal, with what ended it."""
    signed: dict[str, str] = {}
    renewed: dict[str, tuple[Release, ...]] = {}
    given = [one for one in ground.answers.releases if (one.hold_point, one.at) == (ground.point.id, at)]
    for release in given:
        ends, renews = [*_ends(ground, release)], renewed.pop(release.duty, ())
        whom = next(_of_whom(ground, release, signed), None)
        if whom is None and _goes_on(ground, ends, _given_anew(ground, release, given)):
            renewed[release.duty] = (*renews, release)
            yield Signature(release, renews=renews, renewed=True)
            continue
        moment, ended = next(iter(ends), None) or whom or (None, "")
        if not ended:
            signed[release.duty] = release.by
        aged = whom is None and _has_only_aged(ground, release, ends)
        yield Signature(release, ended, moment, aged=aged, renews=renews)


def _given_anew(ground: Ground, release: Release, given: Iterable[Release]) -> Release | None:
    """Return the next signature for the same duty, by whoever may sign; None where there is none."""
    later = (one for one in given if one.line > release.line and one.duty == release.duty)
    return next((one for one in later if one.rests_on is not None and _may(ground, one)), None)


def _goes_on(ground: Ground, ends: Iterable[Ending], anew: Release | None) -> bool:
    """Whether a signature goes on in a later one: all that ended it, but for what is lacking now, came after that."""
    own = {*ends} - {*_unmet_now(ground)}
    return anew is not None and all(moment and moment > anew.moment for moment, _ in own)


def _may(ground: Ground, release: Release) -> bool:
    return release.duty in ground.point.signatures and ground.profile.may(release.role, release.duty)


def renewable(ground: Ground, given: Iterable[Signature], rests_on: Mapping[str, int]) -> tuple[Release, ...]:
    """Return the signatures that stand and would last longer if they were given anew, on what stands now."""
    found = []
    for one in (each.release for each in given if each.stands):
        anew = replace(one, rests_on=dict(rests_on), moment=ground.answers.judged_at)
        then, now = (_first(ground, release) for release in (one, anew))
        if then and (now is None or now > then):
            found.append(one)
    return tuple(found)


def _first(ground: Ground, release: Release) -> datetime | None:
    """Return when the first answer that a signature rests on is out of date; None where all of it keeps."""
    return min((until for until, _ in lasts(ground.answers, release, ground.judged_from)), default=None)


def _has_only_aged(ground: Ground, release: Release, ends: Iterable[Ending]) -> bool:
    """Whether age ended a signature and nothing else did; what is out of date is no need that is met any more."""
    aged = {*_outlived(ground.answers, release, ground.judged_from)} if ends else set()
    return bool(aged) and {*ends} <= {*aged, *_unmet_now(ground)}


def _of_whom(ground: Ground, release: Release, signed: Mapping[str, str]) -> Iterator[Ending]:
    """Yield what ends a signature because of who gave it, beside who else has signed."""
    if any(duty != release.duty and same_person(name, release.by) for duty, name in signed.items()):
        yield None, f"{release.by} has signed for something else already; two people sign"
    if not may_sign(ground.witnesses, release.duty, release.by):
        yield None, f"{release.by} did not attest it; {' or '.join(ground.witnesses[release.duty])} did"


def may_sign(witnesses: Mapping[str, Mapping[str, str]], duty: str, name: str) -> bool:
    """Whether a person may sign for a duty: somebody who attested it, where anybody had to."""
    names = witnesses.get(duty, ())
    return not names or any(same_person(one, name) for one in names)


# ---------------------------------------------------------------------------------------- what ends one


def _ends(ground: Ground, release: Release) -> Iterator[Ending]:
    """Yield what ended a signature: what it never was, then all that has a moment, the first first, then the rest."""
    if release.rests_on is None:
        yield None, "an older version wrote it down, without what it rested on"
        return
    if ground.answers.is_line_unproved(release.line):
        yield None, "it stands on a journal line that nothing proves"
    if not _may(ground, release):
        yield None, f"{release.role} may not sign for this"
    judged_from, gone = ground.judged_from, list(ground.gone(release))
    own = [*_changed(ground, release, judged_from), *_outlived(ground.answers, release, judged_from),
           *_closed_since(ground, release), *_withdrawn(ground.answers, release)]  # fmt: skip
    timed = [(moment, why) for moment, why in (*own, *gone) if moment]
    yield from sorted(timed, key=lambda ending: ending[0])
    yield from _unmet_now(ground)
    if more := ground.read - set(release.rests_on):
        yield None, f"more is asked now than it rested on: {_asked_more(ground.answers, more)}"
    yield from gone


def _unmet_now(ground: Ground) -> Iterator[Ending]:
    yield from ((None, f"it no longer holds: {need}") for need in ground.unmet)


def _withdrawn(answers: Answers, release: Release) -> Iterator[Ending]:
    """Yield that somebody took a signature back, by whom and when; it can only close."""
    if one := answers.withdrawn.get(release.line):
        yield one.moment, str(one)


def _closed_since(ground: Ground, release: Release) -> Iterator[Ending]:
    """Yield the first line since a signature at which its needs were not met, or more was asked, with its moment."""
    rests_on = {*(release.rests_on or {})}
    for line in _lines_to_look_at(ground, release):
        unmet, read = ground.at_line(line)
        if unmet:
            yield ground.answers.moment_of(line), f"it did not hold (journal line {line}): {unmet[0]}"
            return
        if more := read - rests_on:
            what = f"more was asked than it rested on (journal line {line}): {_asked_more(ground.answers, more)}"
            yield ground.answers.moment_of(line), what
            return


def _asked_more(answers: Answers, keys: Iterable[str]) -> str:
    """Return the questions of which a signature knew nothing, each once: `“Rust?” (slate 98, base, and 3 more)`."""
    of: dict[str, list[str]] = {}
    for name, at in map(split_key, sorted(keys)):
        of.setdefault(name, []).append(answers.where(at))
    said = [_asked_of(answers.questions.questions[name], where) for name, where in of.items()]
    return "; ".join(said[:_MOST_NAMED]) + ("; and more" if len(said) > _MOST_NAMED else "")


def _asked_of(question: Question, where: list[str]) -> str:
    more = [f"and {len(where) - 1} more"] if len(where) > 1 else []
    return f"“{question.ask}” ({', '.join(filter(None, [f'slate {question.slate}', where[0], *more]))})"


_MOST_NAMED = 3


def _lines_to_look_at(ground: Ground, release: Release) -> list[int]:
    """Return every line since a signature that may have closed it, also what was said of a member not listed."""
    answers = ground.answers
    listed = {*answers.components()}
    told = (one for each in answers.history.values() for one in each if one.at not in listed)
    strays = {one.line for one in _since(release, told)}
    touched = answers.lines_since(release.line, _touching(ground, release) - {STOP_SINCE, ELEMENT_LOGGED})
    stops = answers.lines_since(max(release.line, ground.stopped - 1), {STOP_SINCE}) if ground.stopped else ()
    closing = {line for line in ground.closing if line > release.line}
    return sorted({*touched, *stops, *strays, *closing})


def _touching(ground: Ground, release: Release) -> frozenset[str]:
    """Return every question whose answers can close what a signature rests on: what its needs are judged from or look
    at, what is renewed and undoes that, what must fit with it, and what may show a hazard beside what it says."""
    questions = ground.answers.questions
    read = {split_key(key)[0] for key in {*(release.rests_on or {}), *ground.read}} | ground.judged_from
    asked = [questions.questions[name] for name in read if name in questions.questions]
    renewed = {name for one in asked for name in one.proves}
    undone = {name for one in asked for name, _ in questions.undoes(one)}
    checks = (check for check in questions.check if read & {*check.closing})
    beside = {name for check in checks for name in check.questions}
    signs = {name for fact in questions.fact if fact.id in read for name in questions.signs[fact.id]}
    return frozenset(read | renewed | undone | beside | signs)


def _changed(ground: Ground, release: Release, judged_from: frozenset[str]) -> Iterator[tuple[datetime, str]]:
    """Yield each answer that a signature rests on and that was given anew since, with the moment that was written.

    One that can only undo evidence, and no need is judged from, ends it where it does. The first answer to a question
    says nothing else than before: whatever it might be, the needs were met.
    """
    answers = ground.answers
    for key, then in _rested(answers, release):
        name = split_key(key)[0]
        since = list(_since(release, answers.history.get(key, ())))
        only_undoes = name not in judged_from and any(name in one.by for one in answers.questions.undoing)
        anew = () if only_undoes else _said_anew(ground, then, since)
        undone = _undone_by(answers, release, key) if since else ()
        later = min((*anew, *undone), key=lambda one: one.line, default=None)
        if later is not None and later.moment:
            slate, said = answers.questions.questions[later.question].slate, answers.in_words(later)
            yield later.moment, f"slate {slate} was answered anew: {said} (journal line {later.line})"


def _since(release: Release, told: Iterable[Answer]) -> Iterator[Answer]:
    """Yield those answers that were written after a signature."""
    return (one for one in told if one.line > release.line)


def _said_anew(ground: Ground, then: Answer | None, since: list[Answer]) -> list[Answer]:
    """Return what was said since and is another answer than the one that stood; the first one ever is none."""
    if then is None:
        return since[1:]
    stood = (one for one in since if one.line in ground.answers.stood)
    return [one for one in stood if _is_new_proof(ground, then, one) or not _is_said_again(ground.answers, then, one)]


def _is_new_proof(ground: Ground, then: Answer, answer: Answer) -> bool:
    """Whether what is locked or proven dead again was, or may have been, on in between: it is no longer the same.

    Of a proof of death also where first power was released since.
    """
    question, by = ground.answers.questions.questions[answer.question], ground.point.suspended_by
    between = (one for one in ground.answers.releases if one.hold_point == by and then.line < one.line < answer.line)
    released = any(to_the_minute(one.moment) <= to_the_minute(seen_at(answer)) for one in between)
    was_on = any(not may_be_after(one, answer) for one in shown_on(ground.answers, question, then))
    return was_on or (bool(question.behind) and released)


def _rested(answers: Answers, release: Release) -> Iterator[tuple[str, Answer | None]]:
    """Yield each key that a signature rests on, with the answer that stood there then; None where there was none."""
    for key, line in (release.rests_on or {}).items():
        yield key, next((one for one in answers.history.get(key, ()) if one.line == line), None)


def _undone_by(answers: Answers, release: Release, key: str) -> Iterator[Answer]:
    """Yield each answer to a question, written since a signature, that undoes evidence which that rests on."""
    for other, evidence in _rested(answers, release):
        asked = answers.questions.questions.get(split_key(other)[0])
        if asked and evidence:
            by_it = [values for name, values in answers.questions.undoes(asked) if name == split_key(key)[0]]
            for values in by_it:
                yield from _since(release, undoing(answers.history[key], values, evidence))


def _is_said_again(answers: Answers, then: Answer, answer: Answer) -> bool:
    """Whether an answer says once more what a signature rests on: a lock that is looked at, what a kiln is made of.

    Of evidence it must be by the same person, in the same way, and of no earlier time.
    """
    if not is_evidence(answers.questions.questions[answer.question]):
        return (then.state, then.value, then.at_least) == (answer.state, answer.value, answer.at_least)
    if answer.measured and then.measured and not answers.doubts(answer):
        answer = replace(answer, measured=min(answer.measured, then.measured))
    return answer.matter == then.matter


def _outlived(answers: Answers, release: Release, judged_from: frozenset[str]) -> Iterator[tuple[datetime, str]]:
    """Yield each answer that a signature rests on and that is out of date, with the moment since which it is."""
    for until, answer in lasts(answers, release, judged_from):
        if until <= answers.judged_at:
            slate = answers.questions.questions[answer.question].slate
            yield until, f"slate {slate} ({answers.in_words(answer)}) held until {answers.by_clock(until)}"


def lasts(answers: Answers, release: Release, judged_from: frozenset[str]) -> Iterator[tuple[datetime, Answer]]:
    """Yield each answer that a signature rests on and that does not keep, with the moment when it is out of date.

    Of those that a need is judged from, what was in date when it was signed: the others opened nothing.
    """
    for key, answer in _rested(answers, release):
        question = answers.questions.questions.get(split_key(key)[0])
        if question and answer and question.id in judged_from:
            until = good_until(answers, question, answer)
            if until and until > release.moment:
                yield until, answer
