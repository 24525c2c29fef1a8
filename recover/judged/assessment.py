"""Answers and rules brought together: what is to be done with each component, what is held, what is not known.

Pure: the same answers, rules and profile give the same assessment. Nothing here is said to be free of danger, and no
hold point is released; both are for named people.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from itertools import chain

from recover.asked.answers import Answers
from recover.asked.compiled import questionnaire
from recover.asked.possible import WATER_IN
from recover.asked.questions import Question, Questionnaire, Section
from recover.asked.replay import DOUBTFUL
from recover.asked.told import Answer, AnswerState, key_of, seen_at
from recover.base.addresses import Address, is_listed, kind_of, within
from recover.base.conditions import all_of
from recover.base.errors import Problem
from recover.base.fingerprint import fingerprint
from recover.base.measures import is_ahead, show_moment
from recover.engineering.sums import sums
from recover.job.folder import Job
from recover.job.journal import utc_now
from recover.job.kept import Kept, left_beside, proved, unproved
from recover.job.torn import cut_off
from recover.judged.admissible import Lack, lacking, unlisted, why_not
from recover.judged.dry import told_wet
from recover.judged.entry import told_low
from recover.judged.holds import hold_states, no_release, what_to_do, without_release
from recover.judged.outcomes import acts, outcome, renewal
from recover.judged.readings import reckoning
from recover.judged.risen import RISES, risen_from
from recover.judged.signatures import Signature
from recover.judged.standing import Hold
from recover.judged.wetmap import Wet, wet_map, wetness
from recover.profiles import Profile, limits, profile
from recover.rules.gates import Closure, Notice, ReferralLine, closures, notices, referral
from recover.rules.table import COMPONENT_TABLES, Outcome, Table, outcome_of, table


@dataclass(frozen=True, kw_only=True)
class Finding:
    """A component, the table that speaks of it, and the outcome as a range.

    It is of the visit and stays. `done`: the answer by which what it asks is done; None while it is not.
    """

    at: Address
    label: str
    table: Table
    outcome: Outcome
    country: Profile
    done: Answer | None = None

    @property
    def words(self) -> str:
        """The outcome as it is printed: one word, or the two ends of the range."""
        return self.outcome.words

    @property
    def to_do(self) -> bool:
        """Whether something is still to be done: it asks for more than to be kept, and nobody has done it."""
        return self.words != self.table.scale[0] and self.done is None

    @property
    def who(self) -> tuple[str, ...]:
        """Everybody that a cited card names; the electrician for the repairer where the country has it so."""
        return _merged(acts(self.country, self.table, self.at, reason.card) for reason in self.outcome.reasons)

    @property
    def consent(self) -> tuple[str, ...]:
        """Whose consent a cited card asks for."""
        return _merged([reason.card.consent for reason in self.outcome.reasons])

    @property
    def tasks(self) -> tuple[str, ...]:
        """The tasks of the cards that can decide."""
        return _merged([reason.card.tasks for reason in self.outcome.reasons if reason.decides])


@dataclass(frozen=True)
class Applied:
    """A notice, the components that it applies to (none named where it is all of them), and whether that is certain."""

    notice: Notice
    where: tuple[str, ...]
    certain: bool


@dataclass(frozen=True)
class _Shut:
    """A way to dry that is shut at a kiln, by its id: by what, in a word each, and why, in sentences."""

    kiln: Address
    way: str
    by: tuple[str, ...]
    because: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Open:
    """A question without a value: why, and which outcomes hang on it."""

    question: Question
    at: Address
    state: AnswerState | None
    reason: str
    matters: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Assessment:
    """All that the rules say of a job at one line of its journal."""

    job: str
    head: str
    rules: str
    profile: Profile
    answers: Answers
    wet: tuple[Wet, ...]
    calls: tuple[Finding, ...]
    findings: tuple[Finding, ...]
    ladder: tuple[Finding, ...]
    holds: tuple[Hold, ...]
    shut: tuple[_Shut, ...]
    notices: tuple[Applied, ...]
    referral: tuple[ReferralLine, ...]
    open: tuple[Open, ...]
    problems: tuple[Problem, ...]

    @property
    def of_journal(self) -> list[Problem]:
        """What is wrong with the journal itself, so that not all of this is proved."""
        return [problem for problem in self.problems if problem.where.startswith("journal")]

    @property
    def of_files(self) -> list[Problem]:
        """What is wrong with the job's files: photographs that show nothing, lines that lie beside the journal."""
        return [problem for problem in self.problems if problem.where.startswith(("photographs", "set-aside"))]

    def hold(self, point: str, at: Address) -> Hold:
        """Return a hold point of one component."""
        return next(hold for hold in self.holds if hold.point.id == point and hold.at == at)

    def group(self, name: str) -> list[Applied]:
        """Return the notices of a group that apply, in their order."""
        return [applied for applied in self.notices if applied.notice.group == name]


def as_signed(found: Assessment, point: str) -> Assessment:
    """Return how a job stood when everybody had signed under a hold point, of each component, where that has ended
    since, by age alone, and nothing was written but that papers were issued; else how it stands."""
    holds = [hold for hold in found.holds if hold.point.id == point]
    last = max((one.release.line for hold in holds for one in hold.signatures), default=0)
    signed, ended = all(hold.once_signed for hold in holds), any(hold.ended for hold in holds)
    if last < found.answers.last_told or not (signed and ended):
        return found
    then = assess_answers(found.answers.at_line(last), found.job, found.profile.id, found.head)
    return then if all(_has_aged(hold.signatures, then.hold(point, hold.at)) for hold in holds) else found


def out_of_use(found: Assessment, hold: Hold) -> list[str]:
    """Return what contradicts that a kiln is dry, or lies below the entry, after everybody had signed a hold point that
    stands no more; where nothing does, what ended it, but for age alone."""
    if not hold.once_signed or hold.state == "released":
        return []
    low = (told_low(found.answers, at) for at in found.answers.components("zone", of=hold.at))
    against = [*told_wet(found.answers, hold.at, found.profile), *chain.from_iterable(low)]
    return against or _ended_early(found, hold)


def _ended_early(found: Assessment, hold: Hold) -> list[str]:
    """Return what ended the last signatures under a hold point before what they rest on was out of date."""
    signed = {one.release.duty: one for one in hold.signatures}.values()
    last = max(one.release.line for one in signed)
    then = assess_answers(found.answers.at_line(last), found.job, found.profile.id, found.head)
    aged = _has_aged(signed, then.hold(hold.point.id, hold.at))
    return [] if aged else [one.ended for one in signed if one.ended][:1]


def _has_aged(signed: Iterable[Signature], then: Hold) -> bool:
    """Whether what was released then stood, by its signatures as they are now, for as long as what it rests on is good
    for."""
    until, ended = then.until, [one.ended_at for one in signed if one.ended]
    return then.stands == "released" and all(at and until and until <= at for at in ended)


def stood_at(found: Assessment, line: int) -> Assessment:
    """Return how hold points stood, and what shut ways to dry, when a line had just been written; the rest as it is."""
    then = found.answers.at_line(line)
    shut = (one for kiln in then.kilns for one in _shut(then, kiln, found.profile))
    return replace(found, answers=then, holds=hold_states(then, found.profile.id), shut=tuple(shut))


def answers_of(job: Job, questions: Questionnaire | None = None, now: datetime | None = None) -> Answers:
    """Replay a job's journal against the program's questions and the limits of the job's profile, as of a moment."""
    country = job.settings.profile
    numbers, zone = limits(country), job.settings.tz
    asked = questions or questionnaire()
    judges = wetness, reckoning(country), sums(country), now or utc_now(), outcome

    @cache
    def is_there(one: Kept) -> bool:
        return isinstance(proved(job.folder, one), bytes)

    return Answers(asked, numbers, zone, job.events, *judges, is_there)


def assess(job: Job, now: datetime | None = None) -> Assessment:
    """Assess a job as of a moment, which is now where none is named: readings and signatures do not hold for ever."""
    found = assess_answers(answers_of(job, now=now), job.settings.job, job.settings.profile, job.head)
    of_files = *cut_off(job.torn), *_lost_pictures(job), *left_beside(job.folder)
    return replace(found, problems=(*of_files, *found.problems))


def _lost_pictures(job: Job) -> list[Problem]:
    """Return what is wrong with photographs: missing, or not what was taken in."""
    of_pictures = [event for event in job.events if event.kind in ("photograph", "set_aside")]
    return [found for found in unproved(job.folder, of_pictures) if found.where.startswith("photographs")]


def assess_answers(answers: Answers, job: str, profile_name: str, head: str) -> Assessment:
    """Assess answers. `head` names the journal line that they rest on."""
    country = profile(profile_name)
    findings = tuple(finding for name in COMPONENT_TABLES for finding in _findings(answers, table(name), country))
    return Assessment(
        job=job, head=head, rules=fingerprint(), profile=country, answers=answers,
        wet=wet_map(answers),
        calls=tuple(_findings(answers, table("call"), country)),
        findings=findings,
        ladder=tuple(_findings(answers, table("ladder"), country)),
        holds=hold_states(answers, profile_name),
        shut=tuple(shut for kiln in answers.kilns for shut in _shut(answers, kiln, country)),
        notices=tuple(_notices(answers)),
        referral=tuple(line for line in referral().line if answers.holds(line.when, "job") is not False),
        open=tuple(_open(answers, findings)),
        problems=tuple(_problems(answers, profile_name)),
    )  # fmt: skip


def _findings(answers: Answers, found: Table, country: Profile) -> Iterator[Finding]:
    for at in answers.components(found.component):
        if (kiln := within(at, "kiln")) and not is_listed(kiln):
            continue  # a kiln that nobody counted has hold points, and no parts to speak of
        if answers.holds(found.applies_if, at) is False:
            continue
        possible = tuple((name, _values(answers, name, at)) for name in found.inputs)
        label, result = _finding_label(answers, found, at), outcome_of(found.id, possible)
        asks = result.high != found.scale[0]
        yield Finding(
            at=at,
            label=label,
            table=found,
            outcome=result,
            country=country,
            done=_done(answers, found, at, country) if asks else None,
        )


def _done(answers: Answers, found: Table, at: Address, country: Profile) -> Answer | None:
    """Return the answer by which a finding is done: one that a hold point may rest on, or none."""
    done = renewal(answers, found, at)
    return done if done and not why_not(answers, answers.questions.questions[done.question], done, country) else None


def _finding_label(answers: Answers, found: Table, at: Address) -> str:
    """Return what a finding is about: a table that speaks of a kiln as a whole speaks of its own matter in it."""
    if found.component != "kiln" or found.id == "call":
        return answers.label(at)
    where = answers.where(at)
    return f"{where}, {found.title.lower()}" if where else found.title


def _values(answers: Answers, fact: str, at: Address) -> frozenset[str]:
    return answers.look(fact, at) or frozenset(answers.questions.facts[fact].values)


def closed_before(answers: Answers, section: Section, profile_name: str) -> list[Hold]:
    """Return the hold points that lie before a section of the interview and lack something, or are suspended."""
    if not section.behind:
        return []
    before = [hold for hold in hold_states(answers, profile_name) if hold.point.id == section.behind]
    return [hold for hold in before if hold.missing or hold.suspended]


def _notices(answers: Answers) -> Iterator[Applied]:
    for notice in notices():
        places = answers.components(notice.per)
        results = {at: answers.holds(notice.when, at) for at in places}
        where = [at for at, result in results.items() if result or (result is None and not notice.only_certain)]
        if where:
            labels = () if len(where) == len(places) else tuple(answers.label(at) for at in where)
            yield Applied(notice, labels, certain=any(results.values()))


def _shut(answers: Answers, kiln: Address, country: Profile) -> Iterator[_Shut]:
    """Find each way to dry a kiln that something shuts: hazards, standing water, what nobody has ruled out."""
    found = closures()
    lacks = {one.id: _not_clear(answers, one, kiln, country) for one in found.closure}
    for way in found.ways:
        by = [one for one in found.closure if way in found.shut_by(one) and lacks[one.id] is not None]
        unknown = [one for one in by if _is_clear(answers, one, kiln) is None]
        because = [_says(answers, one, kiln, lacks[one.id] or ()) for one in by if one not in unknown]
        if unknown:
            because.append(found.not_known.format(what=", ".join(_merged([one.label] for one in unknown))))
        if by:
            yield _Shut(kiln, way, _merged([one.label] for one in by), tuple(because))


def _not_clear(answers: Answers, closure: Closure, kiln: Address, country: Profile) -> tuple[Lack, ...] | None:
    """Return None where a closure is certainly clear, else what is not admissible of the evidence for it."""
    places = answers.each(closure.every, kiln)  # air and people move in the room
    found = [lacking(answers, country, closure.clear_when, place, dated=False) for place in places]
    short = [lacks for lacks in found if lacks is not None]
    return tuple(dict.fromkeys(lack for lacks in short for lack in lacks)) if short else None


def _is_clear(answers: Answers, closure: Closure, kiln: Address) -> bool | None:
    return all_of(answers.holds(closure.clear_when, place) for place in answers.each(closure.every, kiln))


def _says(answers: Answers, closure: Closure, kiln: Address, lacks: tuple[Lack, ...]) -> str:
    """Return what is said of a closure; where it is said to be clear, why that is not proven."""
    clear = _is_clear(answers, closure, kiln)
    return closures().not_proven.format(say=closure.say, why="; ".join(map(str, lacks))) if clear else closure.say


def _open(answers: Answers, findings: tuple[Finding, ...]) -> Iterator[Open]:
    for question in answers.questions.question:
        for at in answers.instances(question):
            answer = answers.answer(question.id, at)
            if answer is None or answer.state != "given":
                state, reason = (answer.state, answer.reason) if answer else (None, "")
                yield Open(
                    question=question,
                    at=at,
                    state=state,
                    reason=reason,
                    matters=tuple(_matters(answers, question, at, findings)),
                )


def _matters(answers: Answers, question: Question, at: Address, findings: tuple[Finding, ...]) -> Iterator[str]:
    for finding in findings:
        place = within(finding.at, kind_of(at))
        grounds = frozenset().union(*map(answers.questions.grounds, finding.outcome.depends_on))
        if place in (at, None) and question.id in grounds:
            yield f"{finding.label}: {finding.words}"


def _problems(answers: Answers, profile_name: str) -> Iterator[Problem]:
    for check, at in answers.misfits():
        values = ", ".join(
            filter(None, (_said(answers, *about, profile(profile_name)) for about in answers.speaks_of(check, at)))
        )
        yield Problem(f"{answers.label(at)} ({values})", check.say, check.remedy)
    for answer in without_release(answers, profile_name):
        where = f"{answers.label(answer.at)} ({_slate(answers, answer)})"
        yield Problem(where, no_release(answers, answer), what_to_do(answers, answer))
    yield from _out_of_date(answers)
    yield from _of_another_time(answers)
    yield from _broken(answers)
    yield from _before_the_water(answers)
    yield from _strays(answers, profile_name)


def _said(answers: Answers, question: str, at: Address, country: Profile) -> str:
    """Return an answer with its slate; of one that was taken back, what it was before as well. Empty if unanswered."""
    answer, before = answers.answer(question, at), answers.last_given(key_of(question, at))
    if answer is None:
        return ""
    was = f", was: {answers.in_words(before)}" if before and answer.state != "given" else ""
    if risen := next((one for fact, (name, _) in RISES.items() if name == question
                      and (one := risen_from(answers, fact, at, country))), None):  # fmt: skip
        was = f", after {answers.in_words(risen)} at {answers.by_clock(risen.measured or seen_at(risen))}"
    return f"{_slate(answers, answer)}: {answers.in_words(answer)}{was}"


def _strays(answers: Answers, profile_name: str) -> Iterator[Problem]:
    """Find answers about components that are no longer listed: what was said of them still stands."""
    for stray in unlisted(answers, profile(profile_name)):
        question = answers.questions.questions.get(stray.question)
        what = f"was answered about ({f'slate {question.slate}' if question else stray.question}), and is not listed"
        yield Problem(stray.at, what, _NEVER_THERE)


_NEVER_THERE = (
    "list it again; if it was never there, whoever answered it says so then with 'not applicable' and the reason "
    "(anybody else who may, with a paper), and shortens the list after that"
)


def _broken(answers: Answers) -> Iterator[Problem]:
    """Say of a job whose journal was broken that nothing proves what stands on its older lines."""
    if answers.unproved:
        asked = answers.questions.questions  # an older version may have asked more
        broken = (one for one in answers.given.values() if one.reason == DOUBTFUL and one.question in asked)
        doubtful = [_slate(answers, one) for one in broken]
        slates = ", ".join(dict.fromkeys(slate.removeprefix("slate ") for slate in doubtful))
        again = f"; not known until given again: slate {slates}" if slates else ""
        what = f"nothing proves its lines {_lines(answers.unproved)}: {answers.unproved_why}{again}"
        remedy = "none of them opens a hold point: look and measure again, and tell whoever reads the papers"
        yield Problem("journal", what, remedy)


def _lines(unproved: Iterable[range]) -> str:
    """Print lines that nothing proves: up to one, or from one to another."""
    told = (f"up to {of[-1]}" if of[0] == 1 else f"{of[0]} to {of[-1]}" for of in unproved if of)
    return ", ".join(dict.fromkeys(told))


def _of_another_time(answers: Answers) -> Iterator[Problem]:
    """Find what is said to be of a time that has not come."""
    for answer in answers.given.values():
        latest = answer.value if isinstance(answer.value, datetime) else answer.measured
        if latest and is_ahead(latest, answers.now) and answer.question in answers.questions.questions:
            where = f"{answers.label(answer.at)} ({_slate(answers, answer)})"
            yield Problem(where, f"is said to be of {show_moment(latest)}, which has not come yet", "correct the date")


def _before_the_water(answers: Answers) -> Iterator[Problem]:
    """Find what was seen or measured before the water came: it says nothing of what the water did."""
    came = answers.latest(WATER_IN)
    for answer in answers.given.values():
        if came and answer.measured and answer.measured < came and answer.question in answers.questions.questions:
            where = f"{answers.label(answer.at)} ({_slate(answers, answer)})"
            what = f"is of {show_moment(answer.measured)}, before the water came"
            yield Problem(where, what, "correct the time; if it is right, look or measure again")


def _out_of_date(answers: Answers) -> Iterator[Problem]:
    """Find each instrument whose calibration had run out when something was read with it."""
    for instrument in answers.instruments.values():
        read = [
            reading for reading in answers.given.values()
            if reading.instrument == instrument.id
            and instrument.in_date(seen_at(reading).astimezone(answers.zone).date()) is False
        ]  # fmt: skip
        if read:
            slates = ", ".join(dict.fromkeys(_slate(answers, one).removeprefix("slate ") for one in read))
            what = f"calibrated until {instrument.calibrated}, and read with after that (slate {slates})"
            remedy = "read again with an instrument in date, or say in a note how this one was proved"
            yield Problem(f"instrument {instrument.id} ({instrument.what})", what, remedy)


def _slate(answers: Answers, answer: Answer) -> str:
    return f"slate {answers.questions.questions[answer.question].slate}"


def _merged(lists: Iterable[Iterable[str]]) -> tuple[str, ...]:
    """Return every word of the lists once, in the order of first mention."""
    return tuple(dict.fromkeys(word for words in lists for word in words))
