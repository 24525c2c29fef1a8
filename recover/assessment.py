"""Answers and rules brought together: what is to be done with each component, what is held, what is not known.

Pure: the same answers, rules and profile give the same assessment. Nothing here is said to be free of danger, and no
hold point is released; both are for named people.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

from recover.answers import Answer, Answers, Release, State
from recover.bench import bench_value
from recover.conditions import Condition, all_of, holds
from recover.engineering.judged import sums
from recover.errors import Problem
from recover.job import Job
from recover.kiln import Address, kind_of, within
from recover.profiles import Profile, limits, profile
from recover.questions import Question, Questionnaire, Section, questionnaire
from recover.rules.sheets import HoldPoint, Need, Notice, ReferralLine, hold_points, notices, referral
from recover.rules.table import COMPONENT_TABLES, Outcome, Table, evaluate, fingerprint, table
from recover.wetmap import Wet, wet_map, wetness

HoldState = Literal["closed", "ready for release", "released"]


@dataclass(frozen=True)
class Finding:
    """A component, the table that speaks of it, and the outcome as a range."""

    at: Address
    label: str
    table: Table
    outcome: Outcome

    @property
    def words(self) -> str:
        """The outcome as it is printed: one word, or the two ends of the range."""
        return self.outcome.low if self.outcome.closed else f"{self.outcome.low} to {self.outcome.high}"

    @property
    def who(self) -> tuple[str, ...]:
        """Everybody that a cited card names."""
        return _merged([reason.card.who for reason in self.outcome.reasons])

    @property
    def consent(self) -> tuple[str, ...]:
        """Whose consent a cited card asks for."""
        return _merged([reason.card.consent for reason in self.outcome.reasons])

    @property
    def tasks(self) -> tuple[str, ...]:
        """The tasks of the cards that can decide."""
        return _merged([reason.card.tasks for reason in self.outcome.reasons if reason.decides])


@dataclass(frozen=True)
class Hold:
    """A hold point of a component: what is missing before a named person may release it, and who did."""

    point: HoldPoint
    at: Address
    label: str
    missing: tuple[str, ...]
    release: Release | None

    @property
    def state(self) -> HoldState:
        """Closed while anything is missing, even where somebody released it earlier."""
        if self.missing:
            return "closed"
        return "released" if self.release else "ready for release"


@dataclass(frozen=True)
class Applied:
    """A notice, the components that it applies to (none named where it is all of them), and whether that is certain."""

    notice: Notice
    where: tuple[str, ...]
    certain: bool


@dataclass(frozen=True)
class Open:
    """A question without a value: why, and which outcomes hang on it."""

    question: Question
    at: Address
    state: State | None
    reason: str
    matters: tuple[str, ...]


@dataclass(frozen=True)
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
    notices: tuple[Applied, ...]
    referral: tuple[ReferralLine, ...]
    open: tuple[Open, ...]
    problems: tuple[Problem, ...]

    def group(self, name: str) -> list[Applied]:
        """Return the notices of a group that apply, in their order."""
        return [applied for applied in self.notices if applied.notice.group == name]


def answers_of(job: Job, questions: Questionnaire | None = None) -> Answers:
    """Replay a job's journal against the program's questions and the limits of the job's profile."""
    country = job.settings.profile
    numbers, zone = limits(country), job.settings.tz
    return Answers(questions or questionnaire(), numbers, zone, job.events, wetness, bench_value, sums(country))


def assess(job: Job) -> Assessment:
    """Assess a job."""
    return assess_answers(answers_of(job), job.settings.job, job.settings.profile, job.head)


def assess_answers(answers: Answers, job: str, profile_name: str, head: str) -> Assessment:
    """Assess answers. `head` names the journal line that they rest on."""
    findings = tuple(finding for name in COMPONENT_TABLES for finding in _findings(answers, table(name)))
    return Assessment(
        job, head, fingerprint(), profile(profile_name), answers,
        wet=wet_map(answers),
        calls=tuple(_findings(answers, table("call"))),
        findings=findings,
        ladder=tuple(_findings(answers, table("ladder"))),
        holds=tuple(_holds(answers)),
        notices=tuple(_notices(answers)),
        referral=tuple(line for line in referral() if _may(answers, line.when, "job") is not False),
        open=tuple(_open(answers, findings)),
        problems=tuple(_problems(answers)),
    )  # fmt: skip


def _findings(answers: Answers, found: Table) -> Iterator[Finding]:
    for at in answers.components(found.component):
        if _may(answers, found.applies_if, at) is False:
            continue
        possible = {name: _values(answers, name, at) for name in found.inputs}
        yield Finding(at, _finding_label(answers, found, at), found, evaluate(found, possible))


def _finding_label(answers: Answers, found: Table, at: Address) -> str:
    """Return what a finding is about: a table that speaks of a kiln as a whole speaks of its own matter in it."""
    if found.component != "kiln" or found.id == "call":
        return answers.label(at)
    where = answers.where(at)
    return f"{where}, {found.title.lower()}" if where else found.title


def _values(answers: Answers, fact: str, at: Address) -> frozenset[str]:
    return answers.look(fact, at) or frozenset(answers.questions.facts[fact].values)


def _may(answers: Answers, when: Condition, at: Address) -> bool | None:
    return holds(when, lambda name: answers.look(name, at), answers.limits)


def _holds(answers: Answers) -> Iterator[Hold]:
    for point in hold_points():
        for at in answers.components(point.per):
            missing = tuple(need.say for need in point.needs if _met(answers, need, at) is not True)
            yield Hold(point, at, answers.label(at), missing, _released(answers, point, at))


def _met(answers: Answers, need: Need, at: Address) -> bool | None:
    places = answers.components(need.every, of=at) if need.every else [at]
    return all_of(_may(answers, need.when, place) for place in places)


def closed_before(answers: Answers, section: Section) -> list[Hold]:
    """Return the hold points that lie before a section of the interview and are closed."""
    return [hold for hold in _holds(answers) if hold.point.id == section.behind and hold.missing]


def _released(answers: Answers, point: HoldPoint, at: Address) -> Release | None:
    found = [release for release in answers.releases if (release.hold_point, release.at) == (point.id, at)]
    return found[-1] if found else None


def _notices(answers: Answers) -> Iterator[Applied]:
    for notice in notices():
        places = answers.components(notice.per)
        results = {at: _may(answers, notice.when, at) for at in places}
        where = [at for at, result in results.items() if result or (result is None and not notice.only_certain)]
        if where:
            labels = () if len(where) == len(places) else tuple(answers.label(at) for at in where)
            yield Applied(notice, labels, certain=any(results.values()))


def _open(answers: Answers, findings: tuple[Finding, ...]) -> Iterator[Open]:
    for question in answers.questions.question:
        for at in answers.instances(question):
            answer = answers.answer(question.id, at)
            if answer is None or answer.state != "given":
                state, reason = (answer.state, answer.reason) if answer else (None, "")
                yield Open(question, at, state, reason, tuple(_matters(answers, question, at, findings)))


def _matters(answers: Answers, question: Question, at: Address, findings: tuple[Finding, ...]) -> Iterator[str]:
    for finding in findings:
        place = within(finding.at, kind_of(at))
        if place in (at, None) and any(question.id in grounds(answers, fact) for fact in finding.outcome.depends_on):
            yield f"{finding.label}: {finding.words}"


def grounds(answers: Answers, fact: str) -> set[str]:
    """Return every question that a fact is judged from, through the facts between."""
    found: set[str] = set()
    ahead = [fact]
    while ahead:
        name = ahead.pop()
        if name in answers.questions.facts:
            ahead += (answers.questions.facts[name].rests_on | _listing(answers, name)) - found
        found.add(name)
    return found


def _listing(answers: Answers, fact: str) -> set[str]:
    """Return the question that lists the family of which a fact is the worst: whom nobody listed may be the worst."""
    worst_of = answers.questions.facts[fact].worst_of
    if not worst_of:
        return set()
    family = answers.questions.families[answers.questions.facts[worst_of].per]
    return {family.members or family.count}


def _problems(answers: Answers) -> Iterator[Problem]:
    for check, at in answers.misfits():
        said = [
            answers.answer(name, within(at, answers.questions.questions[name].per) or at) for name in check.questions
        ]
        values = ", ".join(f"{_slate(answers, one)}: {answers.in_words(one)}" for one in said if one)
        yield Problem(f"{answers.label(at)} ({values})", check.say, check.remedy)
    yield from _out_of_date(answers)


def _out_of_date(answers: Answers) -> Iterator[Problem]:
    """Find each instrument whose calibration had run out when something was read with it."""
    for instrument in answers.instruments.values():
        read = [
            reading for reading in answers.given.values()
            if reading.instrument == instrument.id and reading.moment
            and _expired(instrument.calibrated, reading.moment.date())
        ]  # fmt: skip
        if read:
            slates = ", ".join(dict.fromkeys(_slate(answers, one).removeprefix("slate ") for one in read))
            what = f"calibrated until {instrument.calibrated}, and read with after that (slate {slates})"
            remedy = "read again with an instrument in date, or say in a note how this one was proved"
            yield Problem(f"instrument {instrument.id} ({instrument.what})", what, remedy)


def _slate(answers: Answers, answer: Answer) -> str:
    return f"slate {answers.questions.questions[answer.question].slate}"


def _expired(calibrated: str, read: date) -> bool:
    """Say whether a calibration had run out; a date that is no date (`not known`) is printed and not judged."""
    try:
        return date.fromisoformat(calibrated) < read
    except ValueError:
        return False


def _merged(lists: Iterable[Iterable[str]]) -> tuple[str, ...]:
    """Return every word of the lists once, in the order of first mention."""
    return tuple(dict.fromkeys(word for words in lists for word in words))
