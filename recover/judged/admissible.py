"""Which evidence counts: read or attested as it must be, by whoever may, after the water, in date, not undone since.

What is not admissible opens nothing; why, is said in words. The hold points, the ways to dry and what was done with a
finding all ask here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import chain, islice
from typing import Any

from recover.asked.answers import Answers
from recover.asked.facts import CLEARED
from recover.asked.possible import WATER_OUT
from recover.asked.questions import HIGHER_THAN_BEFORE, NOT_FIRST, OTHER_THAN_BEFORE, THE_FIRST, Fact, Question
from recover.asked.told import (
    RENEWED,
    Answer,
    Logged,
    key_of,
    known_at,
    known_order,
    may_be_after,
    same_person,
    seen_at,
    seen_since,
    split_key,
    to_the_minute,
)
from recover.base.addresses import JOB, Address, is_listed, name_of, within
from recover.base.conditions import OF_TABLE, Condition, alternatives
from recover.base.measures import is_ahead, show_hours, show_moment, show_quantity
from recover.base.nothing_said import says_nothing, why_nothing
from recover.judged.failed import because_of
from recover.judged.outcomes import acts, asking, inputs_of
from recover.judged.stops import is_spoken_against, what_speaks_against
from recover.profiles import Profile

NO_TIME = "when it was seen or measured is not written down; look or measure again"
UNPROVED = "it stands on a journal line that nothing proves; look or measure again"
NO_WATER_OUT = "when the water was out is not known, so nothing is known to come after it"


@dataclass(frozen=True)
class Lack:
    """What is not admissible: which answer it is, in words (empty where it is none), and why it opens nothing."""

    of: str
    why: str

    def __str__(self) -> str:
        return f"{self.of}: {self.why}" if self.of else self.why


def lacking(
    answers: Answers, country: Profile, when: Condition, at: Address, *, dated: bool = True
) -> tuple[Lack, ...] | None:
    """Return None where a condition holds at a component on admissible evidence, else what is said of why it does not.

    With `dated`, evidence must also be in date; without, how long ago it was seen is judged elsewhere.
    """
    if not is_listed(at):
        return (Lack(answers.label_in_kiln(at), "not everything there is has been listed"),)
    ways = [_way(answers, country, table_of, at, dated) for table_of in alternatives(when)]
    if any(result and not lacks for result, lacks in ways):
        return None
    return tuple(dict.fromkeys(lack for result, lacks in ways if result is not False for lack in lacks))


def _way(
    answers: Answers, country: Profile, when: Mapping[str, Any], at: Address, dated: bool
) -> tuple[bool | None, tuple[Lack, ...]]:
    """Say whether one of the ways to meet a need holds, and what is not admissible of the evidence that it rests on."""
    with answers.reading() as read:
        result = answers.holds(dict(when), at)
    rests_on = grounds(answers, when)
    keys = sorted(key for key in read if split_key(key)[0] in rests_on or answers.is_unproved(key))
    return result, tuple(lack for key in keys for lack in inadmissible(answers, key, country, dated=dated))


def grounds(answers: Answers, when: Mapping[str, Any]) -> frozenset[str]:
    """Return every question that a need is judged from; not those that only say whether another one is asked."""
    judged = {name for one in when for name in (inputs_of(one) if one.startswith(OF_TABLE) else [one])}
    return frozenset().union(*map(answers.questions.grounds, judged))


def failing(answers: Answers, when: Condition, at: Address) -> list[str]:
    """Return what was given and fails a condition, in words: readings, and answers that it names itself.

    Of several ways, the one that fails least; of several readings those of which it is known that they fail, where
    there are any. What a rule table makes of a component hangs on too much to be named.
    """
    ways = [[name for name, test in way.items() if answers.holds({name: test}, at) is not True]
            for way in alternatives(when)]  # fmt: skip
    failed = [name for name in min(ways, key=len) if not name.startswith(OF_TABLE)]
    with answers.reading() as read:
        for name in failed:
            answers.look(name, at)
    given = [answers.given[key] for key in sorted(read) if key in answers.given and answers.given[key].state == "given"]
    asked = answers.questions.questions
    judged_from = grounds(answers, dict.fromkeys(failed))
    of = [one for one in given if one.question in asked and (
        one.question in failed or (asked[one.question].kind == "reading" and one.question in judged_from))]  # fmt: skip
    because = {one.line: why for one in of if (why := because_of(answers, one) or _because_empty(answers, one))}
    heads = [_head(answers, one, because.get(one.line, "")) for one in of if one.line in because or not because]
    return [*heads, *(_hazard(answers, fact) for fact in _open_hazards(answers, failed))]


def _because_empty(answers: Answers, answer: Answer) -> str:
    """Return why words open nothing; empty where they say something, or where no words are asked for."""
    return why_nothing() if answers.questions.questions[answer.question].is_empty(answer.value) else ""


def _open_hazards(answers: Answers, failed: Iterable[str]) -> Iterator[Fact]:
    """Yield each hazard among facts that fail which was found and is not cleared."""
    facts = (answers.questions.facts[name] for name in failed if name in answers.questions.facts)
    yield from (fact for fact in facts if fact.hazard and answers.sightings(fact))


def _hazard(answers: Answers, fact: Fact) -> str:
    """Return a hazard with what last showed it: `ice or frost: slate 71 (80 %: air temperature -5 °C)`."""
    sign = max(answers.sightings(fact), key=known_order)
    details = {one.id: one for one in answers.questions.questions[sign.question].details}
    shown = (f"{details[one].ask.lower()} {show_quantity(sign.details[one], details[one].unit)}"
             for one in answers.below(fact, sign))  # fmt: skip
    return f"{fact.label}: {_head(answers, sign, ', '.join(shown))}"


def _head(answers: Answers, answer: Answer, because: str = "") -> str:
    """Return which answer it is: `slate 41, Zone 1 (0.3 MΩ)`, with why it fails where that is known."""
    said = ": ".join(part for part in (answers.in_words(answer), because) if part)
    return f"{answers.slate_of(answer.question, answer.at)} ({said})"


# ---------------------------------------------------------------------------------------- admissible evidence


def inadmissible(answers: Answers, key: str, country: Profile, *, dated: bool = True) -> tuple[Lack, ...]:
    """Say why an answer opens nothing although it was given: not as asked, of the wrong time, by the wrong person.

    Empty for answers that are no evidence (what a kiln is made of), and for those that were not given.
    """
    head, whys = refusal(answers, key, country, dated=dated)
    return tuple(Lack(head, why) for why in whys)


def refusal(answers: Answers, key: str, country: Profile, *, dated: bool = True) -> tuple[str, tuple[str, ...]]:
    """Return which answer it is, in words, and why it opens nothing; no reason where it opens, or is no evidence."""
    return answers.once((refusal, key, country.id, dated), lambda: _refusal(answers, key, country, dated))


def _refusal(answers: Answers, key: str, country: Profile, dated: bool) -> tuple[str, tuple[str, ...]]:
    question, answer = answers.questions.questions.get(split_key(key)[0]), answers.given.get(key)
    if not question or not answer or answer.state != "given":
        return "", ()
    if is_evidence(question):
        return _head(answers, answer), why_not(answers, question, answer, country, dated=dated)
    unproved = (UNPROVED,) if answers.is_unproved(key) else ()
    return _head(answers, answer), unproved or tuple(_undone(answers, question, answer))


def why_not(
    answers: Answers, question: Question, answer: Answer, country: Profile, *, dated: bool = True
) -> tuple[str, ...]:
    """Say why a piece of evidence opens nothing, each reason once."""
    when, whom = _when(answers, question, answer, dated), _by_whom(answers, question, answer, country)
    spoken = (what_speaks_against(answers, answer),) if is_spoken_against(answers, answer) else ()
    of_past = chain(
        spoken, _older_than_its_part(answers, question, answer), _undone(answers, question, answer),
        _failed_before(answers, question, answer, country), _not_behind(answers, question, answer, country),
    )  # fmt: skip
    return tuple(dict.fromkeys([*when, *of_past, *answers.doubts(answer), *whom]))


def is_evidence(question: Question) -> bool:
    """Whether a gate may rest on a question: a reading with a validity, or what somebody attests."""
    return bool(question.holds_for or question.attested)


def good_until(answers: Answers, question: Question, answer: Answer) -> datetime | None:
    """Return when evidence is out of date; None where it keeps, or nobody wrote down when it was measured.

    Hours are counted as they pass: the night the clocks go back gives none away.
    """
    if not question.holds_for or answer.measured is None:
        return None
    return answer.measured.astimezone(UTC) + timedelta(hours=answers.limits[question.holds_for])


def water_out(answers: Answers) -> datetime | None:
    """Return when the water was out for the last time; None where nobody knows, or it was said to be still to come."""
    said = answers.answer(WATER_OUT, JOB)
    if said is None or said.state != "given" or (said.moment and is_ahead(said.value, said.moment)):
        return None
    return answers.latest(WATER_OUT)


def water_logged(answers: Answers, at: Address) -> list[Logged]:
    """Return each time that water came again, by the log of a kiln; of what stands for every kiln, by any log."""
    kiln = within(at, "kiln")
    came = [one for one in answers.logged if one.is_water and kiln in (None, one.kiln)]
    return sorted(came, key=lambda one: (one.measured.timestamp(), one.line))


def _when(answers: Answers, question: Question, answer: Answer, dated: bool) -> Iterator[str]:
    if answers.is_line_unproved(answer.line):
        yield UNPROVED
    if answer.measured is None:
        yield NO_TIME
        return
    out = water_out(answers)
    if out is None:
        yield NO_WATER_OUT
    elif answer.measured < out and not any(answers.before_the_water(answer)):
        yield f"it is of {show_moment(answer.measured)}, before the water was out"
    until = good_until(answers, question, answer)
    if dated and until and until <= answers.judged_at:
        lasts = show_hours(answers.limits[question.holds_for]).removesuffix(" 0 h")
        yield f"it is of {show_moment(answer.measured)} and holds for {lasts}; look or measure again"


def _older_than_its_part(answers: Answers, question: Question, answer: Answer) -> Iterator[str]:
    """Find a test that is older than a part that it speaks of: what was renewed since is tested anew."""
    for name in question.proves:
        renewal = answers.questions.questions[name]
        of = [
            at for at in answers.places(renewal.per, answer.at)
            if renewal.per != "device" or not question.proves_of or name_of(at) in question.proves_of
        ]  # fmt: skip
        done = [answers.answer(name, at) for at in of]
        renewed = [one for one in done if one and one.value in RENEWED]
        if any(seen_at(one) > seen_since(answer) for one in renewed):
            yield f"it is older than what was renewed since (slate {renewal.slate})"
            return


def _not_behind(answers: Answers, question: Question, answer: Answer, country: Profile) -> Iterator[str]:
    """Find a proof of which no look says that the lock hung by then."""
    if question.behind and answer.measured and water_out(answers):  # else nothing counts, which is said already
        for lock, at in _locks(answers, question.behind, answer.at):
            if not _hung(answers, answers.questions.questions[lock], at, answer, country):
                slate = answers.questions.questions[lock].slate
                yield f"nobody who may say so had found it locked off by then (slate {slate}); lock it off, do it again"


def _locks(answers: Answers, lock: str, at: Address) -> list[tuple[str, Address]]:
    """Return what is asked of a lock: of a supply behind the kilns' own locks, of theirs."""
    stands = answers.answer(lock, at)
    if stands and stands.value == "between":
        return [("safe.upstream", kiln) for kiln in answers.components("kiln")]
    return [(lock, at)]


def _hung(answers: Answers, lock: Question, at: Address, proof: Answer, country: Profile) -> bool:
    """Whether the last look at a lock by the time of a proof, of those that count, found it locked."""
    answers.answer(lock.id, at)
    hung = False
    for one in sorted(answers.history.get(key_of(lock.id, at), ()), key=known_order):
        if to_the_minute(known_at(one)) <= to_the_minute(seen_at(proof)):
            hung = one.value == "locked" and (hung or _counted_then(answers, lock, one, country))
    return hung


def _counted_then(answers: Answers, question: Question, answer: Answer, country: Profile) -> bool:
    """Whether an answer that need not stand any more was evidence in its day."""
    whys = (*_when(answers, question, answer, dated=False), *answers.doubts(answer),
            *_by_whom(answers, question, answer, country))  # fmt: skip
    return not whys


def _undone(answers: Answers, question: Question, answer: Answer) -> Iterator[str]:
    """Say what undid evidence since, also where it was mended again: the lock that is on again was not on when the kiln
    was proven dead."""
    for one in undone_by(answers, question, answer):
        slate, when = answers.questions.questions[one.question].slate, one.measured or seen_at(one)
        yield f"slate {slate} ({answers.in_words(one)}) is of {answers.by_clock(when)}, after it; do it again"
    since = to_the_minute(seen_since(answer))
    came = water_logged(answers, answer.at) if answers.questions.undone_by_water(question) else []
    for water in [water for water in came if to_the_minute(water.measured) >= since][-1:]:
        at = answers.by_clock(water.measured)
        yield f"water came again at {at} (journal line {water.line}), after it; do it again"


def unlisted(answers: Answers, country: Profile) -> list[Answer]:
    """Return the answers about components that are not listed, which speak still: but for what was taken out."""
    return [stray for stray in answers.strays() if not _is_taken_out(answers, country, stray)]


def _is_taken_out(answers: Answers, country: Profile, stray: Answer) -> bool:
    """Whether a component that is not listed was said never to have been there, by somebody who may say that of this
    answer: who gave it, or, by a paper, somebody who may attest such a thing."""
    question = answers.questions.questions.get(stray.question)
    stands = answers.given.get(key_of(stray.question, stray.at))
    if stands is None:
        return _is_shortened(answers, country, stray)
    struck = stands.state == "not_applicable" and not says_nothing(stands.reason)
    if not struck or question is None or seen_at(stands) < seen_at(stray):
        return False
    may = not question.duty or country.may(stands.role, question.duty)
    return may and bool(stands.who) and (_has_paper(stands) or same_person(stands.who, stray.who))


def _is_shortened(answers: Answers, country: Profile, named: Answer) -> bool:
    """Whether a member that is named no more was taken out by all who named it, or by who passes the electrics."""
    naming, without = answers.naming(named)
    said_gone = [one for one in answers.given.values() if one.at == named.at and one.state == "not_applicable"]
    reasoned = (one for one in said_gone if not says_nothing(one.reason))
    return any(_may_strike(country, one, naming) for one in (*without, *reasoned))


def _may_strike(country: Profile, one: Answer, naming: list[Answer]) -> bool:
    by = one.who or one.by
    passes = bool(one.who) and country.may(one.role, "pass_electrics")
    return passes or all(same_person(by, other.who or other.by) for other in naming)


def undone_by(answers: Answers, question: Question, answer: Answer) -> Iterator[Answer]:
    """Yield what was said of a later time and undoes evidence, the first of each question and component."""
    for name, values in answers.questions.undoes(question):
        for at in answers.places(answers.questions.questions[name].per, answer.at):
            answers.answer(name, at)  # what was never said of it counts too: a signature rests on that
            told = answers.history.get(key_of(name, at), ())
            yield from islice(undoing(told, values, answer), 1)


def undoing(told: Iterable[Answer], values: list[str], evidence: Answer) -> Iterator[Answer]:
    """Yield each answer that may be of a later time and undoes evidence, in the order in which they were seen."""
    before: list[Answer] = []
    for one in sorted(told, key=known_order):
        plain = _is_one_of(one, values) and (before or NOT_FIRST not in values)
        if may_be_after(one, evidence) and (plain or _changes(one, values, before)):
            yield one
        before.append(one)


def _failed_before(answers: Answers, question: Question, answer: Answer, country: Profile) -> Iterator[str]:
    """Find a test that was passed after it had failed, where nothing tells what was mended in between."""
    told = answers.history[key_of(answer.question, answer.at)]
    before = [one for one in told if one.line < answer.line or known_at(one) <= known_at(answer)]
    failed = [known_order(one) for one in before if one.value == question.mended != ""]
    if not failed or answer.value == question.mended:
        return
    passed = (one for one in before if one.value == answer.value and known_order(one) > max(failed))
    if any(_counted_then(answers, question, one, country) and _shown(answers, one) for one in passed):
        return
    own = [name for name in question.proves if answers.questions.questions[name].per == question.per != "kiln"]
    done = [one for name in own if (one := answers.answer(name, answer.at)) and one.value in RENEWED]
    if not any(max(failed) < known_order(one) < known_order(answer) for one in done) and not _shown(answers, answer):
        last = answers.by_clock(max(failed)[0])
        shown = f"the paper, or a photograph since, that shows what was mended{_lost(answers, answer)}"
        yield f"it failed at {last}; name {shown}"


def _shown(answers: Answers, answer: Answer) -> bool:
    """Whether a paper is named by an answer, or a picture of after the failure is bound to what it answers."""
    question = answers.questions.questions[answer.question]
    return _has_paper(answer) or _pictured(answers, question, answer)


def _has_paper(answer: Answer) -> bool:
    """Whether an answer names a paper that shows it; a dash names none."""
    return not says_nothing(answer.document)


def _changes(answer: Answer, values: list[str], before: list[Answer]) -> bool:
    """Whether an answer is another than the one before it, or higher, or the first, where that undoes evidence."""
    given = [one.value for one in before if one.state == "given"]
    if answer.state != "given":
        return False
    if not given:
        return THE_FIRST in values
    is_higher = HIGHER_THAN_BEFORE in values and answer.value > given[-1]
    return is_higher or (OTHER_THAN_BEFORE in values and _plain(answer.value) != _plain(given[-1]))


def _plain(value: Any) -> Any:
    """Return what was said without case and points: `Plant room; the key with Orr.` is said again without them."""
    return re.findall(r"\w+", value.casefold()) if isinstance(value, str) else value


def _is_one_of(answer: Answer, values: list[str]) -> bool:
    """Whether an answer is one of these, or names one of them; what nobody knows may be."""
    if answer.state in ("unknown", "not_inspected"):
        return True
    named = answer.value if isinstance(answer.value, frozenset) else {answer.value}
    return answer.state == "given" and not named.isdisjoint(values)


def _by_whom(answers: Answers, question: Question, answer: Answer, country: Profile) -> Iterator[str]:
    if not question.duty:
        return
    duty = "pass_electrics" if _is_reserved(answers, question, answer, country) else question.duty
    if not answer.who or not answer.role:
        yield "nobody put a name and a capacity to it"
    elif not country.may(answer.role, duty):
        titles = " or ".join(role.title for role in country.roles_for(duty))
        yield f"{answer.who} said so as {answer.role.replace('_', ' ')}; expected {titles}"
    if str(answer.value) in question.documented and not (_has_paper(answer) or _pictured(answers, question, answer)):
        yield f"no paper or photograph is named that shows it{_lost(answers, answer)}"


def _is_reserved(answers: Answers, question: Question, answer: Answer, country: Profile) -> bool:
    """Whether a choice is the electrician's, or what was done is what a finding leaves to the electrician alone."""
    return str(answer.value) in question.reserved or (
        answer.value in RENEWED
        and any(
            reason.decides and set(acts(country, found, answer.at, reason.card)) == {"electrician"}
            for found, outcome in asking(answers, question.id, answer.at)
            for reason in outcome.reasons
        )
    )


def _pictured(answers: Answers, question: Question, answer: Answer) -> bool:
    """Whether a picture that a person bound to it shows it: of after the water was out, and after all it puts right."""
    key, out = key_of(answer.question, answer.at), water_out(answers)
    bound = [one for one in answers.photographs if one.question == key and one.bound_by not in ("", "time")]
    bound = [one for one in bound if not (out and one.taken and one.taken < out)]
    since = max(_put_right(answers, question, answer), default=None) if bound else None
    if since:
        bound = [one for one in bound if one.taken and one.taken > since and not is_ahead(one.taken, answers.now)]
    return any(map(answers.is_kept, bound))


def _put_right(answers: Answers, question: Question, answer: Answer) -> Iterator[datetime]:
    """Yield when each thing was so that an answer says is right again: it failed, was undone, a hazard was found."""
    at, known = answer.at, answers.questions
    told = [one for one in answers.history[key_of(question.id, at)] if one.value == question.mended != ""]
    for fact in known.facts.values():
        if question.id == CLEARED and fact.hazard == name_of(at):
            told += answers.sightings(fact)
    for name, values in [*known.undoes(question), *((name, []) for name in question.mends)]:
        for place in answers.places(known.questions[name].per, at):
            answers.answer(name, place)
            seen = answers.history.get(key_of(name, place), ())
            told += [one for one in seen if not values or _is_one_of(one, values)]
    yield from (known_at(one) for one in told if known_order(one) < known_order(answer))


def _lost(answers: Answers, answer: Answer) -> str:
    """Return which pictures of an answer can be looked at no more, to be said behind what is missing."""
    key = key_of(answer.question, answer.at)
    names = [one.id for one in answers.photographs if one.question == key and not answers.is_kept(one)]
    return f" (photograph {', '.join(names)} is missing, or not as it was taken in)" if names else ""
