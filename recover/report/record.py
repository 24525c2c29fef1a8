"""The record of a visit: every answer, reading, instrument and photograph that a report rests on, and the registers.

The registers are of hazards, of supplies and back-feeds, and of who signed what and what ended it.
"""

from __future__ import annotations

import base64
from collections.abc import Collection
from datetime import datetime
from pathlib import Path
from typing import Literal

from recover.asked.facts import CLEARED
from recover.asked.questions import Fact, Question
from recover.asked.told import Answer, Photograph, key_of, split_key
from recover.base.addresses import JOB, Address, child, is_listed, within
from recover.base.errors import Problem
from recover.base.measures import show_moment, show_quantity
from recover.job.evidence import reduced_copy
from recover.job.folder import Job
from recover.job.kept import Kept, known, proved, rescued
from recover.judged.assessment import Assessment
from recover.judged.signatures import Signature
from recover.report.paper import View, capital, in_words, paper, plain_cautions, referral_line
from recover.report.words import words


def record(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the record: every answer, reading, instrument and photograph behind the report."""
    return {
        "paper": paper(job, found, "record", made),
        "known": _known(found),
        "readings": _readings(found),
        "earlier": _earlier(found),
        "signatures": _signatures(found),
        "instruments": instruments(found),
        "photographs": photographs(job, found),
        "limits": [applied.notice.say for applied in found.group("limit")],
        "cautions": plain_cautions(found),
        "referral_line": referral_line(found),
    }  # fmt: skip


def instruments(found: Assessment) -> list[View]:
    """Return the instruments of a job."""
    return [
        {"id": one.id, "what": ", ".join(part for part in (one.what, one.maker) if part),
         "serial": one.serial or "not noted", "calibrated": one.calibrated or "not noted"}
        for one in found.answers.instruments.values()
    ]  # fmt: skip


def _known(found: Assessment) -> list[View]:
    sections = []
    for section in found.answers.questions.section:
        rows = [
            _known_row(found, question, at)
            for question in found.answers.questions.of_section(section.id)
            for at in found.answers.instances(question)
            if (answer := found.answers.answer(question.id, at)) and answer.state == "given"
        ]
        if rows:
            sections.append({"section": section.title, "rows": rows})
    return sections


def _known_row(found: Assessment, question: Question, at: Address) -> View:
    answers, key = found.answers, key_of(question.id, at)
    answer = answers.given[key]
    return {
        "slate": str(question.slate), "question": question.ask, "where": answers.where(at),
        "answer": in_words(found, answer), "note": answers.noted(key),
        "photos": [photo.id for photo in answers.photographs if photo.question == key],
        "document": answer.document, "by": _by_whom(found, answer, slate=False),
    }  # fmt: skip


def _readings(found: Assessment) -> list[View]:
    """Return every reading with what it was taken with and under."""
    rows, imperial = [], found.profile.imperial
    for answer in found.answers.given.values():
        question = found.answers.questions.questions.get(answer.question)
        if question and question.kind == "reading" and answer.state == "given":
            conditions = [
                f"{detail.ask.lower()} {show_quantity(answer.details[detail.id], detail.unit, imperial=imperial)}"
                for detail in question.details
                if detail.id in answer.details
            ]
            conditions += _how_taken(found, question, answer.at)
            read = answer.measured or answer.moment  # journals of older versions hold only when it was written
            rows.append({
                "where": found.answers.label(answer.at), "what": question.ask, "value": in_words(found, answer),
                "conditions": ", ".join(conditions), "instrument": answer.instrument, "by": answer.who or answer.by,
                "at": show_moment(read) if read else "",
            })  # fmt: skip
    return rows


def photographs(job: Job, found: Assessment) -> list[View]:
    """Return every photograph with its caption and, where it can be printed, a reduced copy."""
    files, rows = known(job.events), []
    until, doubtful = rescued(job.events)
    for photo in found.answers.photographs:
        kept = files.get(photo.file)
        content = _content(job, photo, kept, doubtful)
        unproved = f"; {words().unproved}" if kept and kept.line <= until else ""
        rows.append({
            "id": photo.id, "caption": _caption(found, photo.question),
            "alt": f"Photograph {photo.id}: {_caption(found, photo.question)} ({Path(photo.file).name})",
            "src": _source(content) if photo.printable and isinstance(content, bytes) else "",
            "sha256": photo.sha256[:12], "problem": content.what if isinstance(content, Problem) else "",
            "taken": _taken(found, photo.taken) + unproved,
        })  # fmt: skip
    return rows


def _content(job: Job, photo: Photograph, kept: Kept | None, doubtful: Collection[int]) -> bytes | Problem:
    """Return what a photograph's file holds, or why it is not shown."""
    if kept is None or kept.sha256 != photo.sha256:
        return Problem(photo.file, words().set_aside, "")
    if kept.line in doubtful:
        return Problem(photo.file, words().doubtful, "")
    return proved(job.folder, kept)


def _taken(found: Assessment, taken: datetime | None) -> str:
    """Return when a picture was taken, by its camera, and whether that can be."""
    doubt = found.answers.doubts_camera(taken)
    shown = show_moment(taken) if taken else words().no_time
    return f"{shown} ({doubt})" if doubt else shown


def _caption(found: Assessment, key: str) -> str:
    name, at = split_key(key)
    question = found.answers.questions.questions.get(name)
    if question is None:
        return words().unbound
    where = "" if at == JOB else f"{found.answers.label(at)}: "
    answer = found.answers.given.get(key)
    said = f" {in_words(found, answer)}" if answer else ""
    return f"{where}{question.ask}{said}"


def _source(content: bytes) -> str:
    """Return a reduced copy of a picture as a data address, so that a paper is one file."""
    return "data:image/jpeg;base64," + base64.b64encode(reduced_copy(content)).decode()


def _how_taken(found: Assessment, question: Question, at: Address) -> list[str]:
    """Return the answer that belongs beside a reading: what was joined and disconnected, whether leads were nulled."""
    if not question.told_by:
        return []
    other = found.answers.questions.questions[question.told_by]
    answer = found.answers.answer(other.id, within(at, other.per) or at)
    if answer is None:
        return []
    label = found.answers.questions.printed("reading").get(other.id)
    return [f"{label}: {in_words(found, answer)}" if label else in_words(found, answer)]


def gathered(found: Assessment) -> list[View]:
    """Return readings of one question, taken under the same conditions on one day, in one row with all their values."""
    rows: dict[tuple[str, ...], list[View]] = {}
    for one in _readings(found):
        what, on = one["what"].rstrip("?"), one["at"].split(" ")[0]
        same = (what, one["conditions"], one["instrument"], one["by"], on)
        where = "" if one["where"] == found.answers.label(JOB) else one["where"]
        rows.setdefault(same, []).append({"where": where, "value": one["value"]})
    names = ("what", "conditions", "instrument", "by", "on")
    return [{**dict(zip(names, same, strict=True)), "values": values} for same, values in rows.items()]


# ---------------------------------------------------------------------------------------- the registers


def hazards(found: Assessment) -> list[View]:
    """Return each hazard that was ever found: who found it first, what was noted, who cleared it by which paper."""
    facts = (fact for fact in found.answers.questions.fact if fact.hazard)
    return [_hazard(found, fact, seen) for fact in facts if (seen := found.answers.sightings(fact))]


def _hazard(found: Assessment, fact: Fact, seen: list[Answer]) -> View:
    answers, at = found.answers, child(JOB, "hazard", fact.hazard)
    state: Literal["open", "cleared"] = "cleared" if answers.fact(fact.id, JOB) == frozenset({"cleared"}) else "open"
    cleared = answers.given.get(key_of(CLEARED, at)) if state == "cleared" else None
    notes = dict.fromkeys(filter(None, (answers.noted(key_of(one.question, one.at)) for one in seen)))
    return {
        "hazard": capital(fact.label), "state": words().registers.hazard[state], "found": _by_whom(found, seen[0]),
        "cleared": _by_whom(found, cleared) if cleared else "", "paper": cleared.document if cleared else "",
        "note": " / ".join(notes),
    }  # fmt: skip


def feeds(found: Assessment) -> list[View]:
    """Return each supply or back-feed: where it is isolated, and whether every kiln was proven dead with it present."""
    return [
        {"feed": capital(found.answers.own_label(at)),
         **{name: _told(found, f"feed.{name}", at) for name in ("isolated", "point", "dead")}}
        for at in found.answers.components("feed") if is_listed(at)
    ]  # fmt: skip


def _signatures(found: Assessment) -> list[View]:
    """Return every signature under a hold point, in the order in which they were given, with what ended it."""
    rows = [(one.release.line, hold, one) for hold in found.holds for one in hold.signatures]
    return [
        {"title": hold.point.title, "where": found.answers.where(hold.at), **signature(one)}
        for _, hold, one in sorted(rows, key=lambda row: row[0])
    ]


def signature(one: Signature) -> View:
    """Return a signature under a hold point: by whom, when, what ended it, whether it was given anew since."""
    return {
        "by": one.release.signer, "at": show_moment(one.release.moment), "ended": one.ended, "renewed": one.renewed,
    }  # fmt: skip


def _earlier(found: Assessment) -> list[View]:
    """Return each answer whose place another has taken since, or that came too late to take it, as it was given."""
    rows = []
    for key, told in found.answers.history.items():
        question = found.answers.questions.questions.get(told[0].question)
        for one in told if question else ():
            if question and one is not found.answers.given.get(key):
                rows.append({"line": one.line, "slate": str(question.slate), "where": found.answers.where(one.at),
                             "answer": in_words(found, one), "note": found.answers.noted(key, one),
                             "by": _by_whom(found, one, slate=False)})  # fmt: skip
    return sorted(rows, key=lambda row: int(str(row["line"])))


def _told(found: Assessment, question: str, at: Address) -> str:
    """Return an answer in words, with who said so and when; that it is not answered, where it is not."""
    answer = found.answers.given.get(key_of(question, at))
    if answer is None:
        return words().open["unanswered"]
    return f"{in_words(found, answer)} ({_by_whom(found, answer)})"


def _by_whom(found: Assessment, answer: Answer, *, slate: bool = True) -> str:
    """Return who said something, in which role, and of when it is: not who typed it, nor when."""
    number = found.answers.questions.questions[answer.question].slate
    role = answer.role.replace("_", " ")
    moment = answer.measured or answer.moment
    said = ", ".join(part for part in (answer.who or answer.by, role, show_moment(moment) if moment else "") if part)
    return f"slate {number}: {said}" if slate else said
