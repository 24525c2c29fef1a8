"""Hold points judged: what is missing before named people may release one, who has signed, what ended a signature.

A hold point is ready when those before it are released and still hold, and each of its own needs certainly holds on
evidence that is admissible: read or attested in the right way and role, after the water, and not too long ago. A
signature rests on every answer that its needs looked at. It ends for good when one of them changes, when one outlives
its validity, or when a hold point before it ends. Nothing here releases anything; people do.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from recover.asked.answers import Answers
from recover.asked.possible import WATER_OUT
from recover.asked.told import (
    BY_LOG,
    COVERS,
    ELEMENT_LOGGED,
    FIRINGS_SHOWN,
    STOP_SINCE,
    Answer,
    Release,
    Withdrawal,
    key_of,
    same_person,
    seen_at,
    seen_since,
    split_key,
    to_the_minute,
)
from recover.base.addresses import JOB, Address, holder_of, holds_address, kind_of, within
from recover.base.conditions import alternatives
from recover.judged.admissible import Lack, failing, lacking, unlisted
from recover.judged.dry import told_against, told_uncovered
from recover.judged.entry import low_lines, told_low
from recover.judged.fired import told_unshown
from recover.judged.live import HEATED, SWITCHED_ON, heatings, shown_on, signs
from recover.judged.signatures import Ending, Ground, Signature, lasts, renewable, signatures
from recover.judged.standing import ALL, Hold, Unmet, Witnesses
from recover.judged.stops import first_stop, lines_against, told_open, told_unmended
from recover.profiles import Duty, Profile, profile
from recover.rules.gates import HoldPoint, Need, duties, hold_points

ENERGISED = "safe.energised"
FIRST_POWER = "energise"
"""The hold point after whose release a kiln may be live."""
NO_RELEASE = "it is said to have been on under a release, and none stood then"
"""Said of an answer that leans on a release of first power that the journal does not hold, or that had ended."""


def hold_states(answers: Answers, profile_name: str) -> tuple[Hold, ...]:
    """Return every hold point of every component, in the order in which they are reached."""
    context = _Context(
        answers=answers,
        profile=profile(profile_name),
        contradictions=tuple(_contradictions(answers, profile_name)),
        done={},
    )
    _judge(context)
    if signs(answers):
        context = replace(context, done={}, under=_first_power(context))
        _judge(context)
    return tuple(replace(hold, suspended=_suspended(context, hold)) for hold in context.done.values())


def _judge(context: _Context) -> None:
    for point in hold_points():
        for at in context.answers.components(point.per):
            context.done[point.id, at] = _hold(context, point, at)


@dataclass(frozen=True)
class _Contradiction:
    """Answers that do not fit together: their keys, and what is said of them."""

    keys: frozenset[str]
    say: str


@dataclass(frozen=True, kw_only=True)
class _Context:
    """What the hold points of a job are judged by.

    `under`: since when first power stands released at a kiln, for those where it does. None where all that was read on
    a kiln that was on is taken to be of a heating that goes on: only then is known what stands.
    """

    answers: Answers
    profile: Profile
    contradictions: tuple[_Contradiction, ...]
    done: dict[tuple[str, Address], Hold]
    under: Mapping[Address, datetime] | None = None

    def before(self, point: HoldPoint, at: Address) -> list[Hold]:
        """Return the hold points that one requires: its component's own, the whole loss's, or those of all within."""
        found = []
        for name in point.requires:
            same = [hold for (one, _), hold in self.done.items() if one == name]
            holder = within(at, kind_of(same[0].at)) if same else None
            found += [hold for hold in same if holder is None or hold.at == holder]
        return found


# ---------------------------------------------------------------------------------------- a kiln that may be live


def _suspended(context: _Context, hold: Hold) -> str:
    """Return what is said of a hold point that would open work at a dead kiln, where one may be live since; or that
    would switch one on whose stop waits to be mended."""
    if hold.point.stopped and hold.state != "closed" and (told := told_unmended(context.answers, hold.at)):
        return hold.point.stopped.format(stop=told[0])
    point, kilns = hold.point, context.answers.places("kiln", hold.at)
    if hold.state == "closed" or not point.suspended_by or (hold.state != "released" and point.id == point.lifted_by):
        return ""
    return point.suspended if any(_may_be_live(context, point, kiln) for kiln in kilns) else ""


def _may_be_live(context: _Context, point: HoldPoint, kiln: Address) -> bool:
    """Whether first power was ever released at a kiln since it was locked off, proven dead, and signed for as dead.

    A signature given anew on the lock or the proof of before says nothing since.
    """
    line, dead = _last_released(context.answers, point.suspended_by, kiln), context.done[point.lifted_by, kiln]
    signed = max((one.line for one in dead.signed), default=0) if dead.state == "released" else 0
    if not line or signed < line:
        return bool(line)
    since = to_the_minute(context.answers.moment_of(line))
    off = (one for hold in (dead, *context.before(dead.point, kiln)) for one in _off(context.answers, hold))
    return any(one.line < line or to_the_minute(seen_since(one)) < since for one in off)


def _off(answers: Answers, hold: Hold) -> Iterator[Answer]:
    """Yield each answer under a hold point by which the kiln is off: its lock, its proofs of death."""
    for key in hold.rests_on:
        question, answer = answers.questions.questions.get(split_key(key)[0]), answers.given.get(key)
        if answer and question and SWITCHED_ON in question.undone_by:
            yield answer


def _last_released(answers: Answers, name: str, at: Address) -> int:
    """Return the line since which all had signed who must, whatever ended their signatures; 0 where never."""
    point = next(one for one in hold_points() if one.id == name)
    given = [one for one in answers.releases if (one.hold_point, one.at) == (name, at)]
    return min(max((one.line for one in given if one.duty == duty), default=0) for duty in point.signatures)


def _first_power(context: _Context) -> dict[Address, datetime]:
    """Return since when first power stands released at each kiln where it does."""
    stands = [hold for (name, _), hold in context.done.items() if name == FIRST_POWER and hold.state == "released"]
    return {hold.at: max(one.since for one in hold.signatures if one.stands) for hold in stands}


def _on_since(context: _Context, read: Iterable[str]) -> list[Unmet]:
    """Return the locks and proofs of death that were read, of before a kiln was on without the release that stands."""
    found = {}
    for key in sorted(read) if context.under is not None else ():
        question, answer = context.answers.questions.questions.get(split_key(key)[0]), context.answers.given.get(key)
        given = question and answer and answer.state == "given"
        shown = shown_on(context.answers, question, answer) if question and answer and given else ()
        if since := [one for one in shown if not _is_under(context, one)]:
            found[key] = _switched_on(context.answers, key, since[0])
    return [Unmet("locked and proven dead since the kiln was last on", tuple(found.values()), anew=tuple(found))
            ] if found else []  # fmt: skip


def _is_under(context: _Context, sign: Answer) -> bool:
    """Whether a reading is of a heating under the release of first power that stands."""
    since = (context.under or {}).get(within(sign.at, "kiln") or "")
    return since is not None and to_the_minute(since) <= to_the_minute(seen_since(sign))


def _switched_on(answers: Answers, key: str, sign: Answer) -> Lack:
    heated, sign_of = (answers.questions.questions[name] for name in (HEATED, sign.question))
    when = answers.by_clock(sign.measured or seen_at(sign))
    says = "was on" if sign_of.live == "then" else f"had been on (if before that, say when: slate {heated.slate})"
    said = f"slate {sign_of.slate} ({answers.in_words(sign)}, {when})"
    return Lack(answers.slate_of(*split_key(key)), f"{said} says that the kiln {says}, after it; do it again")


# ---------------------------------------------------------------------------------------- one hold point


def _hold(context: _Context, point: HoldPoint, at: Address) -> Hold:
    answers, before = context.answers, context.before(point, at)
    unmet, read = _own(answers, context.profile, point, at)
    unmet += _contradicted(context.contradictions, read)
    unmet += _on_since(context, read)
    waits = tuple(_wait(context, hold, at) for hold in before if hold.state != "released")
    after = tuple(release.line for hold in before for release in hold.signed)
    witnesses = _witnesses(answers, context.profile, read, before, at)
    ground = Ground(
        answers=answers,
        profile=context.profile,
        point=point,
        read=read,
        unmet=tuple(need.say for need in unmet),
        witnesses=witnesses,
        gone=lambda release: _gone(release, before),
        at_line=lambda line: _at_line(answers, context.profile, point, at, line),
        stopped=first_stop(answers, at) if _reads(point, STOP_SINCE) else 0,
        closing=_closing(answers, point, at, read),
    )
    given = tuple(signatures(ground, at))
    signed = {one.release.duty for one in given if one.stands}
    wanted = tuple(duty for duty in point.signatures if duty not in signed)
    everybody, still = (_signers(context.profile, some) for some in (point.signatures, wanted))
    until = None if waits or unmet or wanted else _until(ground, given, before)
    rests_on = {key: _line(answers, key) for key in sorted(read)}
    return Hold(
        point=point,
        at=at,
        label=answers.label(at),
        waits=waits,
        unmet=tuple(unmet),
        signatures=given,
        wanted=wanted,
        released_by=everybody,
        still=still,
        rests_on=rests_on,
        after=after,
        witnesses=witnesses,
        until=until,
        renewable=() if waits or unmet else renewable(ground, given, rests_on),
        taken_back=_taken_back(answers, given, wanted),
    )


def _closing(answers: Answers, point: HoldPoint, at: Address, read: Iterable[str]) -> frozenset[int]:
    """Return the lines of the log that may have closed a hold point: insulation below the entry, and what speaks
    against a proof that it reads."""
    low = low_lines(answers, at) if _reads(point, ELEMENT_LOGGED) else frozenset()
    return low | lines_against(answers, at, {split_key(key)[0] for key in read})


def _reads(point: HoldPoint, fact: str) -> bool:
    """Whether a need of a hold point reads a fact."""
    return any(fact in way for need in point.needs for way in alternatives(need.when))


def _taken_back(answers: Answers, given: Iterable[Signature], wanted: Collection[Duty]) -> Withdrawal | None:
    last = {one.release.duty: answers.withdrawn.get(one.release.line) for one in given}
    found = [one for duty, one in last.items() if one and duty in wanted]
    return max(found, key=lambda one: one.line, default=None)


def _own(answers: Answers, country: Profile, point: HoldPoint, at: Address) -> tuple[list[Unmet], frozenset[str]]:
    """Return which needs of its own a hold point lacks, and the key of every answer that they look at."""
    with answers.reading() as read:
        unmet = [found for need in point.needs if (found := _unmet(answers, country, need, at))]
        answers.answer(WATER_OUT, JOB)
        _look_who_is_named(answers, point, at)
    return unmet, frozenset(read)


def _at_line(
    answers: Answers, country: Profile, point: HoldPoint, at: Address, line: int
) -> tuple[tuple[str, ...], frozenset[str]]:
    """Return what a hold point lacked of its own when a line had just been written, in words, and what it looked at.

    What was so then stays so: it is looked at once for each journal up to a line.
    """
    key = answers.hash_at(line), country.id, point.id, at
    if key not in _PAST:
        then = answers.at_line(line)
        unmet, read = _own(then, country, point, at)
        of = frozenset(split_key(key)[0] for key in read)
        unmet += _contradicted(_contradictions(then, country.id, of), read)
        _PAST[key] = tuple(need.say for need in unmet), read
    return _PAST[key]


_PAST: dict[tuple[str, str, str, Address], tuple[tuple[str, ...], frozenset[str]]] = {}


def _until(ground: Ground, given: Iterable[Signature], before: Iterable[Hold]) -> datetime | None:
    signed = (one.release for one in given if one.stands)
    own = (moment for release in signed for moment, _ in lasts(ground.answers, release, ground.judged_from))
    first = min((*own, *(hold.until for hold in before if hold.until)), default=None)
    return first.astimezone(ground.answers.zone) if first else None


def _gone(release: Release, before: Iterable[Hold]) -> Iterator[Ending]:
    """Yield each hold point before a signature of which a signature ended that it came after, with when that was."""
    for hold in before:
        stand = (one for one in hold.signatures if one.stands)
        if hold.state != "released" or any(one.lines.isdisjoint(release.after) for one in stand):
            ends = [one.ended_at for one in hold.ended if one.ended_at and not one.lines.isdisjoint(release.after)]
            yield min(ends, default=None), f"“{hold.point.title}” before it ended"


def _witnesses(
    answers: Answers, country: Profile, read: Iterable[str], before: Iterable[Hold], at: Address
) -> Witnesses:
    """Return who has attested what was read in a role that may, by duty, with the witnesses of the hold points before.

    Whoever took a reading has a hand in what the electrics are passed on. Of those who attested for a duty, whoever did
    so of the component itself: who proved the kiln dead, not who proved it of a supply.
    """
    found: dict[str, dict[str, str]] = {}
    for hold in before:
        for duty, names in hold.witnesses.items():
            found[duty] = {**found.get(duty, {}), **names}
    said = list(_attested(answers, country, read))
    for duty in dict.fromkeys(one.duty for one in said):
        everybody = {one.who: one.role for one in said if one.duty == duty}
        own = {one.who: one.role for one in said if one.duty == duty and holds_address(at, one.at)}
        found[duty] = {**found.get(duty, {}), **(own or everybody)}
    for duty, words in _named(answers, read):
        attested = found.get(duty, {})
        found[duty] = {name: role for name, role in attested.items() if _is_named(words, name)} or {words: ""}
    return found


@dataclass(frozen=True)
class _Attested:
    """That somebody attested something of a component for a duty, or read it, in a role that may."""

    duty: str
    who: str
    role: str
    at: Address


def _attested(answers: Answers, country: Profile, read: Iterable[str]) -> Iterator[_Attested]:
    for key in sorted(read):
        question, answer = answers.questions.questions.get(split_key(key)[0]), answers.given.get(key)
        if question and question.duty and answer and answer.state == "given" and answer.who:
            for duty in dict.fromkeys([question.duty, *(["pass_electrics"] if question.kind == "reading" else [])]):
                if country.may(answer.role, duty):
                    yield _Attested(duty, answer.who, answer.role, answer.at)


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


def _signers(country: Profile, wanted: Iterable[Duty]) -> str:
    """Return who may sign for duties in a country: `whoever proved it dead (registered electrician)`."""
    titles = {duty: " or ".join(role.title for role in country.roles_for(duty)) for duty in wanted}
    return "; ".join(f"{duties()[duty]} ({title})" for duty, title in titles.items())


def _wait(context: _Context, hold: Hold, at: Address) -> str:
    where = context.answers.where(hold.at) if hold.at != at else ""
    ended = f": {hold.ended[-1].ended}" if hold.ended and not hold.signed else ""
    return f"the hold point before it, “{hold.point.title}”{f' ({where})' if where else ''}, is not released{ended}"


def _line(answers: Answers, key: str) -> int:
    answer = answers.given.get(key)
    return answer.line if answer else 0


# ---------------------------------------------------------------------------------------- needs


def _unmet(answers: Answers, country: Profile, need: Need, at: Address) -> Unmet | None:
    places = answers.each(need.every, at)
    found = {place: lacking(answers, country, need.when, place) for place in places}
    short = {place: lacks for place, lacks in found.items() if lacks is not None}
    if not short:
        return None
    lacks = tuple(dict.fromkeys(lack for each in short.values() for lack in each))
    open_at = [place for place, each in short.items() if not each]
    fails = dict.fromkeys(one for place in open_at for one in _failing(answers, country, need, place))
    still = [answers.label_in_kiln(place) for place in open_at] if need.every else []
    return Unmet(need.say, lacks, (ALL,) if len(still) == len(places) > 1 else tuple(still), tuple(fails))


def _failing(answers: Answers, country: Profile, need: Need, place: Address) -> list[str]:
    """Return what was given and fails a need; where the log is judged too, each stop that is open, each kind of
    evidence that does not agree, what contradicts first, or each reading below the entry."""
    by_log = BY_LOG.intersection(name for way in alternatives(need.when) for name in way)
    if not by_log:
        return failing(answers, need.when, place)
    if ELEMENT_LOGGED in by_log:
        return [*told_low(answers, place), *failing(answers, need.when, place)]
    if FIRINGS_SHOWN in by_log:
        return told_unshown(answers, place, country) or failing(answers, need.when, place)
    if COVERS in by_log:
        return told_uncovered(answers, place, country)
    return told_open(answers, place) if STOP_SINCE in by_log else told_against(answers, place, country)


# ---------------------------------------------------------------------------------------- contradictions


def without_release(answers: Answers, profile_name: str) -> list[Answer]:
    """Return each answer that ever said of a kiln that it was on under a release, where none stood then.

    Whoever says that it was switched on without one has said how it was; so has who gave it and says the true time.
    """
    said = (one for one in heatings(answers) if answers.word(ENERGISED, one.at) != "on")
    none = [one for one in said if not _stood(answers, one, profile_name)]
    return [one for one in none if not _timed_anew(answers, one, profile_name)]


def _timed_anew(answers: Answers, slip: Answer, profile_name: str) -> bool:
    """Whether who gave an answer has given it again, of a time at which a release stood by what the journal held when
    the slip was written. A heating of after that is another one, and covers nothing."""
    told = answers.history[key_of(slip.question, slip.at)]
    anew = (one for one in told if one.line > slip.line and one.value == "yes" and one.measured)
    return any(
        slip.who and slip.moment and same_person(one.who, slip.who) and seen_at(one) <= slip.moment
        and _stood(answers, replace(one, line=slip.line), profile_name) for one in anew
    )  # fmt: skip


def no_release(answers: Answers, answer: Answer) -> str:
    """Say of an answer that no release stood then: of which slate and time it is, and whose it is to time anew."""
    slate, by = answers.questions.questions[answer.question].slate, answer.who or answer.by
    return f"{NO_RELEASE} (slate {slate}, of {answers.by_clock(seen_at(answer))}, by {by})"


def what_to_do(answers: Answers, answer: Answer) -> str:
    """Say what is done about an answer that leans on a release which did not stand."""
    slate, on = (answers.questions.questions[name].slate for name in (answer.question, ENERGISED))
    again = f"if the hour is a slip, {answer.who or answer.by} answers slate {slate} again with the true one"
    return f"{again}; if it was on without one, say so at slate {on}: switched on"


def when_released(answers: Answers, at: Address, profile_name: str) -> str:
    """Say from when to when first power was released at a kiln: `one stood from … to …`."""
    (hold,) = (one for one in hold_states(answers, profile_name) if (one.point.id, one.at) == (FIRST_POWER, at))
    spans = [(one.since, one.ended_at or hold.until) for one in hold.signatures if not one.renewed]
    said = [f"from {answers.by_clock(begin)}" + (f" to {answers.by_clock(end)}" if end else "")
            for begin, end in spans]  # fmt: skip
    return f"one stood {', and '.join(said)}" if said else "none was ever given"


def _stood(answers: Answers, answer: Answer, profile_name: str) -> bool:
    """Whether first power was released at a kiln when an answer is from, by what was written down until then."""
    then = hold_states(answers.before(answer), profile_name)
    return any(hold.state == "released" for hold in then if (hold.point.id, hold.at) == (FIRST_POWER, answer.at))


def _contradictions(answers: Answers, profile_name: str, of: Collection[str] = ()) -> Iterator[_Contradiction]:
    """Yield what does not fit together and closes; of some questions, only where one of them is spoken of."""
    if not of or HEATED in of:
        for answer in without_release(answers, profile_name):
            say = f"{no_release(answers, answer)}; {what_to_do(answers, answer)}"
            yield _Contradiction(frozenset({key_of(answer.question, answer.at)}), say)
    for check, at in answers.misfits(of):
        keys = [key_of(*about) for about in answers.speaks_of(check, at) if about[0] in check.closing]
        yield _Contradiction(frozenset(keys), check.say)
    for stray in unlisted(answers, profile(profile_name)):
        family = answers.questions.families.get(kind_of(stray.at))
        if family:
            about = key_of(family.listed_by, holder_of(stray.at))
            yield _Contradiction(frozenset({about}), f"{stray.at} was answered about and is not listed")


def _contradicted(contradictions: Iterable[_Contradiction], read: Collection[str]) -> list[Unmet]:
    found = [one.say for one in contradictions if not one.keys.isdisjoint(read)]
    return [Unmet("answers that fit together", tuple(Lack("", say) for say in dict.fromkeys(found)))] if found else []
