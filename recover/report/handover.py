"""The hand-over certificate: what was proved of a kiln, by whom, with which reading, and by name what was not.

It is signed by the people who release its hold point. While that is closed the paper says so first, with all that is
missing; nothing on it releases anything.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

from recover.asked.questions import Question
from recover.asked.told import STATE_WORDS, Answer, Logged, key_of
from recover.base.addresses import Address, holds_address, is_listed
from recover.base.measures import show_moment, show_quantity
from recover.job.folder import Job
from recover.judged.admissible import is_evidence, why_not
from recover.judged.assessment import Assessment, as_signed
from recover.judged.dry import evidence, evidence_cards
from recover.judged.failed import because_of, beside
from recover.judged.fired import cold_after
from recover.judged.standing import Hold
from recover.judged.stops import told_open, what_speaks_against
from recover.plan.cards import Recheck, rechecks
from recover.plan.clock import months_after
from recover.report.day import HANDOVER_POINT
from recover.report.dried import by_the_log, dried, not_fired, not_run, planned, still_open
from recover.report.paper import View, capital, in_words, paper, plain_cautions, referral_line
from recover.report.parties import said
from recover.report.reading_words import conditions, typed_late
from recover.report.record import instruments
from recover.report.words import HandoverState, words
from recover.rules.gates import duties, on_the_way

if TYPE_CHECKING:
    from recover.plan.whole import JobPlan

LIMITS = "handover.limits"
"""What was agreed of its use."""

DONE = "handover.done"
"""That what was asked of it is done, its firings made."""

RECEIVER, TAKES_BACK = "handover.receiver", "take_back"
"""Who took a kiln back, as it is asked, and the duty of whoever signs for that."""

METHOD = "dried.method"
"""How a kiln was dried, in words."""

TEST_VOLTS = "test_volts"
"""The condition of a reading that an insulation tester takes."""

READ = ("reading", "number")
"""The kinds of question whose answer is a figure."""

AFTER_FIRING = "dried.insulation"
"""Insulation of the elements, cold, after a firing: what was read cold since one is that too."""

TARGET = ("target",)
"""What stands beside a weight and is told with it already."""


def handover(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the certificate, each kiln in its own part: as it was signed, where it has only aged since."""
    now, found = found, as_signed(found, HANDOVER_POINT)
    holds = [hold for hold in found.holds if hold.point.id == HANDOVER_POINT]
    plan = planned(job, found)
    kilns = [_kiln(found, hold, plan) for hold in holds]
    aged = found is not now
    return {
        "paper": paper(job, now, "handover", made),
        "boxes": [_box(found, hold, kiln["not"], aged=aged) for hold, kiln in zip(holds, kilns, strict=True)],
        "parties": said(found, "certificate"), "kilns": kilns, "instruments": instruments(found),
        "limits": [applied.notice.say for applied in found.group("limit")],
        "cautions": plain_cautions(found), "referral_line": referral_line(found),
    }  # fmt: skip


def handed_over(found: Assessment) -> bool:
    """Whether every kiln stands released to its owner, or did as it was signed and has only aged since: only then a
    certificate is issued."""
    holds = [hold for hold in as_signed(found, HANDOVER_POINT).holds if hold.point.id == HANDOVER_POINT]
    return bool(holds) and all(hold.state == "released" for hold in holds)


# ---------------------------------------------------------------------------------------- head


def _state(hold: Hold) -> HandoverState:
    if hold.state == "released":
        return "released"
    if hold.once_signed:
        return "ended"
    return "closed" if hold.missing else "ready"


def _box(found: Assessment, hold: Hold, unproved: Sequence[View], *, aged: bool) -> View:
    """Return what stands in the black box of a kiln: the stops that are open first; whether it is handed over, by whom,
    until when that stands; within which limits, and what was not proved."""
    box = words().handover.box["aged" if aged else _state(hold)]
    last = max(hold.signatures, key=lambda one: one.release.line, default=None)
    by = "; ".join(one.release.signer for one in hold.signatures if one.stands or hold.state != "released")
    lines = box.lines(
        kiln=hold.label, hold=hold.point.title, still=hold.still, by=by,
        until=found.answers.by_clock(hold.until) if hold.until else "",
        at=show_moment(last.release.moment) if last else "",
        ended=next((one.ended for one in hold.signatures if one.ended), ""),
    )  # fmt: skip
    stops = [words().handover.open_stop(stop=stop) for stop in told_open(found.answers, hold.at)]
    return {"title": box.title, "lines": [*stops, *lines, _limits(found, hold.at), _not_proved(unproved)]}


def _limits(found: Assessment, kiln: Address) -> str:
    """Say within which limits a kiln is used, or that none are agreed."""
    agreed, say = _in_writing(found, LIMITS, kiln), words().handover
    return say.limits(limits=agreed) if agreed else say.no_limits


def _in_writing(found: Assessment, question: str, kiln: Address) -> str:
    """Return what was agreed, in words; empty where nothing was, or what was written says nothing."""
    answer = found.answers.given.get(key_of(question, kiln))
    empty = answer is None or found.answers.questions.questions[question].is_empty(answer.value)
    return "" if empty or answer is None else in_words(found, answer)


def _not_proved(unproved: Sequence[View]) -> str:
    """Say how many things were not proved, and their short names, each once."""
    names = Counter(row["short"] for row in unproved)
    told = (f"{name} ({number})" if number > 1 else name for name, number in names.items())
    say = words().handover
    return say.unproved(number=len(unproved), names="; ".join(told)) if unproved else say.none_not


# ---------------------------------------------------------------------------------------- one kiln


def _kiln(found: Assessment, hold: Hold, plan: JobPlan | None) -> View:
    firings = [words().handover.firings[card.id] for card in not_fired(found, hold.at, plan)]
    rows = [_beside_log(row, firings) for row in _proofs(found, hold)]
    unproved = [*(row for row in rows if row["not"]), *not_run(found, hold.at, plan), *still_open(found, hold.at)]
    return {
        "kiln": hold.label, "missing": _missing(found, hold), "dry": _dry(found, hold.at),
        "dried": dried(found, hold.at, plan),
        "proved": [row for row in rows if not row["not"]], "not": unproved,
        "agreed": _agreed(found, hold, plan), "rechecks": _rechecks(found, hold),
        "sign": list(_sign(found, hold)),
    }  # fmt: skip


def _missing(found: Assessment, hold: Hold) -> list[View]:
    """Return what is missing of the hold points on the way to the hand-over, the first of them first."""
    way = on_the_way(HANDOVER_POINT)
    here = (one for one in found.holds if one.point.id in way and (holds_address(one.at, hold.at)))
    return [{"title": one.point.title, "rows": list(map(str, one.unmet))} for one in here if one.unmet]


def _dry(found: Assessment, kiln: Address) -> list[View]:
    say = {card.id: card.say for card in evidence_cards()}
    return [
        {"say": capital(say[one.what]), "lies": one.lies, "word": words().handover.lies[one.lies], "why": one.why,
         "lines": list(one.lines), "by": _by_lines(found, one.lines)}
        for one in evidence(found.answers, kiln, found.profile)
    ]  # fmt: skip


def _by_lines(found: Assessment, lines: Iterable[int]) -> list[View]:
    """Return who read or said what stands on lines of the journal: in which role, of when, how and with what."""
    told = {one.line: one for each in found.answers.history.values() for one in each if one.measured}
    logged = {one.line: one for one in (*found.answers.unlogged, *found.answers.logged)}
    return [
        _of_log(found, logged[line]) if line in logged else _of_answer(found, told[line])
        for line in lines if line in logged or line in told
    ]  # fmt: skip


def _of_log(found: Assessment, one: Logged) -> View:
    """Return by whom a line of the log was read, of when, and how; that no meter is named with a reading."""
    say, role = words().handover, next(iter(found.answers.roles_of(one.by)), "").replace("_", " ")
    unnamed = say.no_tester if one.what == "insulation" else say.no_meter
    meter = [one.instrument or unnamed] if one.value is not None else []
    at = _of_when(one.measured, one.written, by_logger=one.by_logger)
    return {"line": one.line, "by": f"{one.by}, {role or say.no_role}", "at": at,
            "how": "; ".join((*conditions(one, beside=TARGET), *meter))}  # fmt: skip


def _of_answer(found: Assessment, answer: Answer) -> View:
    by = _by(found, answer)
    return {"line": answer.line, "by": by["by"], "at": by["at"],
            "how": "; ".join(filter(None, (by["conditions"], by["instrument"], by["paper"])))}  # fmt: skip


def _proofs(found: Assessment, hold: Hold) -> Iterator[View]:
    """Yield each thing that is to be proved, of each part of a kiln: how it was, and why that proves nothing."""
    answers = found.answers
    fails = [fail for one in found.holds for unmet in one.unmet for fail in unmet.fails]
    for name, label in answers.questions.printed("proof").items():
        question = answers.questions.questions[name]
        for at in answers.instances(question):
            if is_listed(at) and holds_address(hold.at, at):
                yield _proof(found, question, at, label, fails)


def _beside_log(row: View, firings: Sequence[str]) -> View:
    """Return a row as it stands beside the log: firings that are said to be made, and of which nothing shows some, are
    not proved."""
    if row["question"] != DONE or row["not"] or not firings:
        return row
    return {**row, "not": words().handover.not_shown(value=row["value"], firings="; ".join(firings))}


def _proof(found: Assessment, question: Question, at: Address, label: str, fails: Iterable[str]) -> View:
    answers = found.answers
    answer = answers.answer(question.id, at)
    row = {"question": question.id, "label": label,
           "short": words().handover.short.get(question.id, label.partition(",")[0]),
           "where": answers.label_in_kiln(at) if question.per != "kiln" else ""}  # fmt: skip
    unread = answer is None or answer.state != "given"
    if unread and question.id == AFTER_FIRING and (cold := cold_after(answers, at, found.profile)):
        question, answer = answers.questions.questions[cold.question], cold
    if answer is None or answer.state != "given":
        state = STATE_WORDS[answer.state] if answer else words().open["unanswered"]
        why = f"{state} ({answer.reason})" if answer and answer.reason else state
        return {**row, **_nobody(), "value": "", "held": "", "read": False, "not": why}
    head = answers.slate_of(question.id, at)
    fail = "" if because_of(answers, answer) else next((one for one in fails if one.startswith(f"{head} (")), "")
    why = _unproved(found, question, answer) or fail
    return {**row, **_by(found, answer), "value": in_words(found, answer), "held": _held(found, question, answer, why),
            "read": question.kind in READ, "not": why}  # fmt: skip


def _held(found: Assessment, question: Question, answer: Answer, why: str) -> str:
    """Return what a figure was held against, and that it passes where it does; that nothing is, where nothing is."""
    say, limit = words().handover, beside(found.answers, answer)
    if question.kind not in READ or not limit:
        return say.no_limit if question.kind in READ else ""
    return limit if why else say.passes(limit=limit)


def _unproved(found: Assessment, question: Question, answer: Answer) -> str:
    """Return why an answer proves nothing, in words; empty where it does."""
    if str(answer.value) in question.reserved:
        by = ", ".join(filter(None, (answer.who, answer.document)))
        return words().handover.decided(value=in_words(found, answer), by=by)
    whys = why_not(found.answers, question, answer, found.profile) if is_evidence(question) else ()
    left_out = str(answer.value) in words().handover.left_out.get(question.id, ())
    own = (in_words(found, answer),) if left_out or not question.may_open(answer.value) else ()
    told = what_speaks_against(found.answers, answer), *own, because_of(found.answers, answer), *whys
    return "; ".join(filter(None, dict.fromkeys(told)))


def _nobody() -> View:
    return {"by": "", "at": "", "instrument": "", "paper": "", "conditions": ""}


def _by(found: Assessment, answer: Answer) -> View:
    """Return by whom something was read or said, of when, with what, and under which conditions."""
    read = answer.measured or answer.moment
    question = found.answers.questions.questions[answer.question]
    conditions = (
        f"{detail.ask.lower()} {show_quantity(answer.details[detail.id], detail.unit)}"
        for detail in question.details if detail.id in answer.details
    )  # fmt: skip
    return {
        "by": ", ".join(filter(None, (answer.who or answer.by, answer.role.replace("_", " ")))),
        "at": _of_when(read, answer.moment) if read else "", "instrument": answer.instrument or _unnamed(question),
        "paper": answer.document, "conditions": ", ".join(conditions),
    }  # fmt: skip


def _unnamed(question: Question) -> str:
    """Say of insulation that no tester is named with it: at what voltage it was read is then a word alone."""
    tested = question.kind == "reading" and any(detail.id == TEST_VOLTS for detail in question.details)
    return words().handover.no_tester if tested else ""


def _of_when(read: datetime, written: datetime | None, *, by_logger: bool = False) -> str:
    """Print when something was read; with when it was typed, or read in, where that was long after."""
    return ", ".join(filter(None, (show_moment(read), typed_late(read, written, by_logger=by_logger))))


def _agreed(found: Assessment, hold: Hold, plan: JobPlan | None) -> list[View]:
    """Return what was agreed and written down; what was not is left to be filled in, but for what the log and the
    signatures tell: how it was dried, and who took it back."""
    say = words().handover
    empty = {METHOD: by_the_log(found, hold.at, plan) or say.no_method, RECEIVER: _taken_back(hold)}
    return [
        {"label": label, "value": _in_writing(found, name, hold.at) or empty.get(name, "")}
        for name, label in say.agreed.items()
    ]


def _taken_back(hold: Hold) -> str:
    """Return who signed for taking a kiln back, and when; empty while nobody has."""
    one = next((one for one in hold.signed if one.duty == TAKES_BACK), None)
    return words().handover.signed(by=one.signer, at=show_moment(one.moment)) if one else ""


def _rechecks(found: Assessment, hold: Hold) -> list[View]:
    """Return what is looked at again and when: after a firing that has no date yet, or on a date of the calendar."""
    firings = found.answers.number("handover.recheck", hold.at)
    return [
        {"after": one.after, "when": _when(one, hold.signed_on), "look": list(one.look)}
        for one in rechecks([int(firings)] if firings else [])
    ]  # fmt: skip


def _when(one: Recheck, signed: date | None) -> str:
    if one.months and signed:
        return months_after(signed, one.months).isoformat()
    return words().handover.firing if not one.months else ""


def _sign(found: Assessment, hold: Hold) -> Iterator[View]:
    """Yield who signs for what: by name where it is signed in the job, a ruled line for the hand in any case."""
    signed = {one.duty: one for one in hold.signed}
    for duty in hold.point.signatures:
        one = signed.get(duty)
        told = words().handover.signed(by=one.signer, at=show_moment(one.moment)) if one else ""
        may = " or ".join(role.title for role in found.profile.roles_for(duty))
        yield {"duty": capital(duties()[duty]), "may": may, "signed": told, "blanks": words().handover.blanks}
