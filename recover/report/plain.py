"""An assessment without a paper: as lines for a terminal, and as one plain document for another program."""

from __future__ import annotations

from collections import Counter
from typing import Any

from recover.asked.told import STATE_WORDS, Answer, key_of
from recover.base.addresses import kind_of
from recover.base.measures import show_moment
from recover.judged.assessment import Assessment
from recover.judged.signatures import Signature
from recover.judged.standing import Hold
from recover.report.groups import LIKE_ANOTHER
from recover.report.lining_water import stage_lines, stage_values
from recover.report.paper import depends_words, done_words, headline, referral_line, say, span, who_words
from recover.report.words import words


def text_lines(found: Assessment) -> list[str]:
    """Return an assessment as lines for a terminal."""
    lines = [*headline(found)["lines"], ""]
    told = Counter(finding.label for finding in found.findings)
    for finding in found.findings:
        of_part = told[finding.label] == 1 and kind_of(finding.at) not in LIKE_ANOTHER
        matter = "" if of_part else f", {finding.table.title.lower()}"
        rests = depends_words(found, finding)
        depends = f"; depends on {rests}" if rests else ""
        done = f"; {done_words(finding.done)}" if finding.done else ""
        who = ", ".join(who_words(found, name) for name in finding.who)
        lines.append(f"{finding.words:18} {finding.label}{matter} ({who}){depends}{done}")
    lines.append("")
    for wet in found.wet:
        states = span(wet.states[0], wet.states[-1])
        terminal = f"{words().wet.terminal}: " if wet.kind == "terminal" else ""
        lines.append(f"{states:18} {terminal}{found.answers.label(wet.at)}: {wet.reason}")
    lines.append("")
    for hold in found.holds:
        lines += [f"{hold.stands:18} {hold.point.title} {found.answers.where(hold.at)}", *hold_lines(hold)]
    lines.append("")
    for shut in found.shut:
        way = f"{shut.way.replace('_', ' ')} {found.answers.where(shut.kiln)}".strip()
        lines.append(f"{'way shut':18} {way}: {', '.join(shut.by)}")
    lines += ["", *(f"{'dry-out':18} {line}" for line in stage_lines(found))]
    lines += ["", *(f"{'does not fit':18} {problem}" for problem in found.problems)]
    lines += ["", *(f"{'caution':18} {say(applied)}" for applied in found.group("caution")), "", referral_line(found)]
    return lines


def hold_lines(hold: Hold) -> list[str]:
    """Return what stands under a hold point: what is missing, who has signed, what ended that, until when it holds."""
    told = [hold.suspended] if hold.suspended else []
    told += [f"missing: {missing}" for missing in hold.missing]
    told += [_signed_line(one) for one in hold.signatures]
    told += [f"holds until {show_moment(hold.until)} at the latest"] if hold.until and not hold.suspended else []
    return [f"{'':18} {line}" for line in told]


def _signed_line(one: Signature) -> str:
    said = f"signed {show_moment(one.release.moment)} by {one.release.signer}"
    then = "; signed anew since" if one.renewed else ""
    return f"{said}; ended: {one.ended}" if one.ended else f"{said}{then}"


def _signature(one: Signature) -> dict[str, Any]:
    release = one.release
    return {
        "by": release.by, "role": release.role, "licence": release.licence, "for": release.duty,
        "at": release.moment.isoformat(), "ended": one.ended or None,
    }  # fmt: skip


def _done(done: Answer | None) -> dict[str, str] | None:
    return {"date": done.measured.date().isoformat(), "by": done.who} if done and done.measured else None


def as_json(found: Assessment) -> dict[str, Any]:
    """Return an assessment as one plain document."""
    return {
        "job": found.job, "record": found.head, "rules": found.rules, "profile": found.profile.id,
        "findings": [
            {"component": one.at, "table": one.table.id, "low": one.outcome.low, "high": one.outcome.high,
             "depends_on": list(one.outcome.depends_on), "who": list(one.who), "consent": list(one.consent),
             "tasks": list(one.tasks), "cards": [reason.card.id for reason in one.outcome.reasons],
             "done": _done(one.done)}
            for one in found.findings
        ],
        "holds": [
            {"id": hold.point.id, "component": hold.at, "state": hold.state, "missing": list(hold.missing),
             "suspended": hold.suspended or None,
             "until": hold.until.isoformat() if hold.until else None,
             "to_sign": list(hold.wanted), "signatures": [_signature(one) for one in hold.signatures]}
            for hold in found.holds
        ],
        "ways_shut": [
            {"component": shut.kiln, "way": shut.way, "by": list(shut.by), "because": list(shut.because)}
            for shut in found.shut
        ],
        "open": [
            {"question": key_of(one.question.id, one.at), "state": STATE_WORDS[one.state] if one.state else None}
            for one in found.open
        ],
        "cautions": [say(applied) for applied in found.group("caution")],
        "referral": referral_line(found),
        "problems": [vars(problem) for problem in found.problems],
        "wet": [
            {"component": one.at, "kind": one.kind, "states": list(one.states), "reason": one.reason}
            for one in found.wet
        ],
        "drying": stage_values(found),
        "ladder": [{"component": one.at, "low": one.outcome.low, "high": one.outcome.high} for one in found.ladder],
    }  # fmt: skip
