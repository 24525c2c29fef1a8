"""Hold points: what is missing before named people may release one, who has signed, and what ended a signature.

A hold point is ready when those before it are released and still hold, and each of its own needs certainly holds on
evidence that is admissible: read or attested in the right way and role, after the water, and not too long ago. A
signature rests on every answer that its needs looked at. It ends for good when one of them changes, when one outlives
its validity, or when a hold point before it ends. Nothing here releases anything; people do.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Literal

from recover.asked.answers import WATER_OUT, Answer, Answers, Release, key_of, seen_at, split_key
from recover.base.addresses import JOB, Address, holds_address, kind_of, within
from recover.base.conditions import alternatives
from recover.base.errors import command
from recover.base.measures import show_moment
from recover.judged.admissible import Lack, good_until, grounds, is_evidence, lacking, undoing
from recover.profiles import Duty, Profile, profile
from recover.rules.sheets import HoldPoint, Need, duties, hold_points

HoldState = Literal["closed", "ready for release", "released"]

ALL = "all of them"
"""Said where a need holds of no member of a family, so that a reader is spared the list."""

ENERGISED, HEATED = "safe.energised", "dried.heated"
NO_RELEASE = "it is said to have been on under a release, and none stood then"
"""Said of an answer that leans on a release of first power that the journal does not hold, or that had ended."""


@dataclass(frozen=True)
class Unmet:
    """A need that does not certainly hold on admissible evidence: what lacks of it, and of which components still."""

    say: str
    lacks: tuple[Lack, ...] = ()
    still: tuple[str, ...] = ()

    def __str__(self) -> str:
        still = [f"still: {', '.join(self.still)}"] if self.still else []
        because = "; ".join([*by_reason(self.lacks), *still])
        return f"{self.say} ({because})" if because else self.say


def by_reason(lacks: Iterable[Lack]) -> Iterator[str]:
    """Yield each reason once, behind all that it is said of."""
    of: dict[str, list[str]] = {}
    for lack in lacks:
        of.setdefault(lack.why, []).append(lack.of)
    for why, heads in of.items():
        yield str(Lack(", ".join(dict.fromkeys(filter(None, heads))), why))


@dataclass(frozen=True)
class Signature:
    """A signature and, where it no longer holds, what ended it."""

    release: Release
    ended: str


@dataclass(frozen=True)
class Hold:
    """A hold point of a component: what is missing, who has signed and who has still to sign.

    `witnesses` names, by duty, who has attested what this hold point and those before it rest on: who proved it dead
    signs for that, and nobody else.
    `released_by` says who must sign, `still` who has not, each with the roles that may.
    `rests_on` is every answer that its needs look at: key, then its line of the journal, 0 where there is none; `after`
    the lines of the signatures under the hold points before it. `until`: when the first answer that its signatures and
    those before it rest on is out of date; None where all of it keeps, or it is not released.
    """

    point: HoldPoint
    at: Address
    label: str
    waits: tuple[str, ...]
    unmet: tuple[Unmet, ...]
    signatures: tuple[Signature, ...]
    wanted: tuple[Duty, ...]
    released_by: str
    still: str
    rests_on: Mapping[str, int]
    after: tuple[int, ...]
    witnesses: Mapping[str, tuple[str, ...]]
    until: datetime | None = None

    @property
    def missing(self) -> tuple[str, ...]:
        """What keeps it closed, in sentences: the hold points before it, then its own needs."""
        return (*self.waits, *map(str, self.unmet))

    @property
    def state(self) -> HoldState:
        """Closed while anything is missing, released once everybody has signed who must."""
        if self.missing:
            return "closed"
        return "ready for release" if self.wanted else "released"

    @property
    def signed(self) -> tuple[Release, ...]:
        """The signatures that hold."""
        return tuple(one.release for one in self.signatures if not one.ended)

    @property
    def signers(self) -> str:
        """Who has signed, each with role and licence: `E. Lectrician, electrician, 1234; A. Tendant, attendant`."""
        return "; ".join(one.signer for one in self.signed)

    @property
    def ended(self) -> tuple[Signature, ...]:
        """The signatures that ended, each with what ended it."""
        return tuple(one for one in self.signatures if one.ended)


def hold_states(answers: Answers, profile_name: str) -> tuple[Hold, ...]:
    """Return every hold point of every component, in the order in which they are reached."""
    context = _Context(answers, profile(profile_name), tuple(_contradictions(answers, profile_name)), {})
    for point in hold_points():
        for at in answers.components(point.per):
            context.done[point.id, at] = _hold(context, point, at)
    return tuple(context.done.values())


@dataclass(frozen=True)
class _Contradiction:
    """Answers that do not fit together: their keys, and what is said of them."""

    keys: frozenset[str]
    say: str


@dataclass(frozen=True)
class _Context:
    """What the hold points of a job are judged by."""

    answers: Answers
    profile: Profile
    contradictions: tuple[_Contradiction, ...]
    done: dict[tuple[str, Address], Hold]

    def before(self, point: HoldPoint, at: Address) -> list[Hold]:
        """Return the hold points that one requires: its component's own, the whole loss's, or those of all within."""
        found = []
        for name in point.requires:
            same = [hold for (one, _), hold in self.done.items() if one == name]
            holder = within(at, kind_of(same[0].at)) if same else None
            found += [hold for hold in same if holder is None or hold.at == holder]
        return found


# ---------------------------------------------------------------------------------------- one hold point


def _hold(context: _Context, point: HoldPoint, at: Address) -> Hold:
    answers, before = context.answers, context.before(point, at)
    with answers.reading() as read:
        unmet = [found for need in point.needs if (found := _unmet(context, need, at))]
        answers.answer(WATER_OUT, JOB)
        _look_who_is_named(answers, point, at)
    unmet += _contradicted(context, read)
    waits = tuple(_wait(context, hold, at) for hold in before if hold.state != "released")
    after = tuple(release.line for hold in before for release in hold.signed)
    witnesses = _witnesses(answers, context.profile, read, before, at)
    signatures = tuple(_signatures(context, point, at, frozenset(read), unmet, before, witnesses))
    signed = {one.release.duty for one in signatures if not one.ended}
    wanted = tuple(duty for duty in point.signatures if duty not in signed)
    everybody, still = (_signers(context.profile, some) for some in (point.signatures, wanted))
    until = None if waits or unmet or wanted else _until(answers, signatures, before)
    return Hold(
        point, at, answers.label(at), waits, tuple(unmet), signatures, wanted, everybody, still,
        {key: _line(answers, key) for key in sorted(read)}, after, witnesses, until,
    )  # fmt: skip


def _until(answers: Answers, signatures: Iterable[Signature], before: Iterable[Hold]) -> datetime | None:
    own = (moment for one in signatures if not one.ended for moment, _ in _lasts(answers, one.release))
    first = min((*own, *(hold.until for hold in before if hold.until)), default=None)
    return first.astimezone(answers.zone) if first else None


def _witnesses(
    answers: Answers, country: Profile, read: Iterable[str], before: Iterable[Hold], at: Address
) -> dict[str, tuple[str, ...]]:
    """Return who has attested what was read in a role that may, by duty, with the witnesses of the hold points before.

    Whoever took a reading has a hand in what the electrics are passed on. Of those who attested for a duty, whoever did
    so of the component itself: who proved the kiln dead, not who proved it of a supply.
    """
    found: dict[str, list[str]] = {}
    for hold in before:
        for duty, names in hold.witnesses.items():
            found.setdefault(duty, []).extend(names)
    said = list(_attested(answers, country, read))
    for duty in dict.fromkeys(duty for duty, _, _ in said):
        own = [who for one, who, place in said if one == duty and holds_address(at, place)]
        found.setdefault(duty, []).extend(own or [who for one, who, _ in said if one == duty])
    for duty, words in _named(answers, read):
        found[duty] = [name for name in found.get(duty, []) if _is_named(words, name)] or [words]
    return {duty: tuple(dict.fromkeys(names)) for duty, names in found.items()}


def _attested(answers: Answers, country: Profile, read: Iterable[str]) -> Iterator[tuple[str, str, Address]]:
    """Yield each duty for which somebody attested something, or read it, in a role that may: duty, name, component."""
    for key in sorted(read):
        question, answer = answers.questions.questions.get(split_key(key)[0]), answers.given.get(key)
        if question and question.duty and answer and answer.state == "given" and answer.who:
            for duty in dict.fromkeys([question.duty, *(["pass_electrics"] if question.kind == "reading" else [])]):
                if country.may(answer.role, duty):
                    yield duty, answer.who, answer.at


def _named(answers: Answers, read: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Yield each duty that an answer names somebody for, and its words."""
    for key in sorted(read):
        question, answer = answers.questions.questions.get(split_key(key)[0]), answers.given.get(key)
        if question and question.names and answer and answer.state == "given":
            yield question.names, str(answer.value)


def _look_who_is_named(answers: Answers, point: HoldPoint, at: Address) -> None:
    """Look at each answer whose words name who signs under a hold point: a signature rests on it."""
    for question in answers.questions.question:
        if question.names in point.signatures:
            for place in answers.places(question.per, at):
                answers.answer(question.id, place)


def _is_named(words: str, name: str) -> bool:
    """Whether a name is one of those that somebody wrote: `A. Bell and C. Dorn; E. Fahy`."""
    return any(same_person(one, name) for one in (words, *re.split(r",|;|/|&|\band\b", words)))


def may_sign(hold_witnesses: Mapping[str, tuple[str, ...]], duty: str, name: str) -> bool:
    """Whether a person may sign for a duty: somebody who attested it, where anybody had to."""
    names = hold_witnesses.get(duty, ())
    return not names or any(same_person(one, name) for one in names)


def _signers(country: Profile, wanted: Iterable[Duty]) -> str:
    """Return who may sign for duties in a country: `whoever proved it dead (registered electrician)`."""
    titles = {duty: " or ".join(role.title for role in country.roles_for(duty)) for duty in wanted}
    return "; ".join(f"{duties()[duty]} ({title})" for duty, title in titles.items())


def to_sign(folder: Path, hold: Hold, country: Profile) -> str:
    """Return the command by which the next signature under a hold point is given, whole but for the person's name."""
    role = country.roles_for(hold.wanted[0])[0]
    component = f" --component {hold.at}" if hold.at != JOB else ""
    licence = " --licence NUMBER" if role.licence else ""
    signed = f'{hold.point.id}{component} --by "NAME" --as {role.id}{licence}'
    return command("log", folder, "--release", signed)


def _wait(context: _Context, hold: Hold, at: Address) -> str:
    where = context.answers.where(hold.at) if hold.at != at else ""
    ended = f": {hold.ended[-1].ended}" if hold.ended and not hold.signed else ""
    return f"the hold point before it, “{hold.point.title}”{f' ({where})' if where else ''}, is not released{ended}"


def _line(answers: Answers, key: str) -> int:
    answer = answers.given.get(key)
    return answer.line if answer else 0


# ---------------------------------------------------------------------------------------- needs


def _unmet(context: _Context, need: Need, at: Address) -> Unmet | None:
    places = context.answers.beside(need.every, at) if need.every else [at]
    found = {place: lacking(context.answers, context.profile, need.when, place) for place in places}
    short = {place: lacks for place, lacks in found.items() if lacks is not None}
    if not short:
        return None
    lacks = tuple(dict.fromkeys(lack for each in short.values() for lack in each))
    still = [context.answers.label_in_kiln(place) for place, each in short.items() if not each] if need.every else []
    return Unmet(need.say, lacks, (ALL,) if len(still) == len(places) > 1 else tuple(still))


# ---------------------------------------------------------------------------------------- contradictions


def without_release(answers: Answers, profile_name: str) -> list[Answer]:
    """Return each answer that ever said of a kiln that it was on under a release, where none stood then.

    Whoever says that it was switched on without one has said how it was.
    """
    told = (one for key, all_of in answers.history.items() if split_key(key)[0] == HEATED for one in all_of)
    said = (one for one in told if one.value == "yes" and answers.word(ENERGISED, one.at) != "on")
    return [one for one in said if not _stood(answers, one, profile_name)]


def _stood(answers: Answers, answer: Answer, profile_name: str) -> bool:
    """Whether first power was released at a kiln when an answer is from, by what was written down until then."""
    then = hold_states(answers.before(answer), profile_name)
    return any(hold.state == "released" for hold in then if (hold.point.id, hold.at) == ("energise", answer.at))


def _contradictions(answers: Answers, profile_name: str) -> Iterator[_Contradiction]:
    for answer in without_release(answers, profile_name):
        yield _Contradiction(frozenset({key_of(answer.question, answer.at)}), NO_RELEASE)
    for check, at in answers.misfits():
        if check.closes:
            yield _Contradiction(frozenset(key_of(*about) for about in answers.speaks_of(check, at)), check.say)
    for stray in answers.strays():
        family = answers.questions.families.get(kind_of(stray.at))
        if family:
            holder = stray.at.rsplit("/", 2)[0] if stray.at.count("/") > 1 else JOB
            about = key_of(family.listed_by, holder)
            yield _Contradiction(frozenset({about}), f"{stray.at} was answered about and is not listed")


def _contradicted(context: _Context, read: set[str]) -> list[Unmet]:
    found = [one.say for one in context.contradictions if one.keys & read]
    return [Unmet("answers that fit together", tuple(Lack("", say) for say in dict.fromkeys(found)))] if found else []


# ---------------------------------------------------------------------------------------- signatures


def _signatures(
    context: _Context, point: HoldPoint, at: Address, read: frozenset[str], unmet: list[Unmet], before: list[Hold],
    witnesses: Mapping[str, tuple[str, ...]],
) -> Iterator[Signature]:  # fmt: skip
    """Return every signature under a hold point, in the order of the journal, with what ended it."""
    signed: dict[str, str] = {}
    for release in context.answers.releases:
        if (release.hold_point, release.at) != (point.id, at):
            continue
        ended = next(_ends(context, point, release, read, unmet, before), "")
        if not ended and any(duty != release.duty and same_person(name, release.by) for duty, name in signed.items()):
            ended = f"{release.by} has signed for something else already; two people sign"
        if not ended and not may_sign(witnesses, release.duty, release.by):
            ended = f"{release.by} did not attest it; {' or '.join(witnesses[release.duty])} did"
        if not ended:
            signed[release.duty] = release.by
        yield Signature(release, ended)


def same_person(one: str, other: str) -> bool:
    """Whether two written names are those of one person, as far as writing tells: `E. Fahy`, `Fahy, E.`."""
    first, second = (re.findall(r"\w+", unicodedata.normalize("NFKC", name).casefold()) for name in (one, other))
    return sorted(first) == sorted(second)


def _ends(
    context: _Context, point: HoldPoint, release: Release, read: frozenset[str], unmet: list[Unmet], before: list[Hold]
) -> Iterator[str]:
    """Say what ended a signature, the surest reason first; nothing where it still holds."""
    if release.rests_on is None:
        yield "an older version wrote it down, without what it rested on"
        return
    if release.line <= context.answers.unproved:
        yield "it stands on a journal line that nothing proves"
    if release.duty not in point.signatures or not context.profile.may(release.role, release.duty):
        yield f"{release.role} may not sign for this"
    changed = _changed(context.answers, release, _judged_from(context.answers, point))
    first = min((*changed, *_outlived(context.answers, release)), default=None)
    if first:
        yield first[1]
    if read - set(release.rests_on):
        yield "more is asked now than it rested on"
    yield from (f"it no longer holds: {need.say}" for need in unmet)
    yield from _without(release, before)


def _judged_from(answers: Answers, point: HoldPoint) -> frozenset[str]:
    """Return every question that the needs of a hold point are judged from."""
    return frozenset().union(*(grounds(answers, way) for need in point.needs for way in alternatives(need.when)))


def _changed(answers: Answers, release: Release, judged_from: frozenset[str]) -> Iterator[tuple[datetime, str]]:
    """Yield each answer that a signature rests on and that was given anew since, with the moment that was written.

    One that can only undo evidence, and no need is judged from, ends it where it does.
    """
    for key, then in _rested(answers, release):
        name = split_key(key)[0]
        since = [one for one in answers.history.get(key, ()) if one.line > release.line]
        only_undoes = name not in judged_from and any(name in one.by for one in answers.questions.undoing)
        stood = () if only_undoes else (one for one in since if one.line in answers.stood)
        anew = (one for one in stood if not _is_said_again(answers, then, one))
        undone = _undone_by(answers, release, key) if since else ()
        later = min((*anew, *undone), key=lambda one: one.line, default=None)
        if later is not None and later.moment:
            slate, said = answers.questions.questions[later.question].slate, answers.in_words(later)
            yield later.moment, f"slate {slate} was answered anew: {said} (journal line {later.line})"


def _rested(answers: Answers, release: Release) -> Iterator[tuple[str, Answer | None]]:
    """Yield each key that a signature rests on, with the answer that stood there then; None where there was none."""
    for key, line in (release.rests_on or {}).items():
        yield key, next((one for one in answers.history.get(key, ()) if one.line == line), None)


def _undone_by(answers: Answers, release: Release, key: str) -> Iterator[Answer]:
    """Yield each answer to a question, written since a signature, that undoes evidence which that rests on."""
    for other, evidence in _rested(answers, release):
        asked = answers.questions.questions.get(split_key(other)[0])
        for name, values in answers.questions.undoes(asked) if asked and evidence else ():
            if evidence and name == split_key(key)[0]:
                told = undoing(answers.history[key], values, seen_at(evidence))
                yield from (one for one in told if one.line > release.line)


def _is_said_again(answers: Answers, then: Answer | None, answer: Answer) -> bool:
    """Whether an answer says once more what a signature rests on: a lock that is looked at, what a kiln is made of.

    Of evidence it must be by the same person, in the same way, and of no earlier time.
    """
    if then is None:
        return False
    if not is_evidence(answers.questions.questions[answer.question]):
        return (then.state, then.value, then.at_least) == (answer.state, answer.value, answer.at_least)
    later = answer.measured and then.measured and answer.measured >= then.measured
    fresh = later and not answers.doubts(answer)
    return (replace(answer, measured=then.measured) if fresh else answer).matter == then.matter


def _outlived(answers: Answers, release: Release) -> Iterator[tuple[datetime, str]]:
    """Yield each answer that a signature rests on and that is out of date, with the moment since which it is."""
    for until, answer in _lasts(answers, release):
        if until <= answers.judged_at:
            slate, ended = answers.questions.questions[answer.question].slate, until.astimezone(answers.zone)
            yield until, f"slate {slate} ({answers.in_words(answer)}) held until {show_moment(ended)}"


def _lasts(answers: Answers, release: Release) -> Iterator[tuple[datetime, Answer]]:
    """Yield each answer that a signature rests on and that does not keep, with the moment when it is out of date."""
    for key, answer in _rested(answers, release):
        question = answers.questions.questions.get(split_key(key)[0])
        until = good_until(answers, question, answer) if question and answer else None
        if answer and until:
            yield until, answer


def _without(release: Release, before: Iterable[Hold]) -> Iterator[str]:
    for hold in before:
        if hold.state != "released" or not {one.line for one in hold.signed} <= set(release.after):
            yield f"“{hold.point.title}” before it ended"
