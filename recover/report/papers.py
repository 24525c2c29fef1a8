"""Papers on disk: drafts that the next draft replaces, and issued revisions that nothing replaces."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from recover.base.errors import DataError, JobError, Problem, QuantityError, command
from recover.base.fingerprint import parts
from recover.base.measures import show_moment
from recover.job.anchor import anchor
from recover.job.folder import Job, open_job
from recover.job.journal import Journal
from recover.job.kept import left_beside, listed, next_number, unproved
from recover.job.writing import keep
from recover.judged.assessment import Assessment
from recover.plan.store import newest, overtaken
from recover.plan.whole import JobPlan
from recover.report import pdf
from recover.report.annex import annex
from recover.report.call_sheets import bring_list, first_days, tag
from recover.report.handover import handed_over, handover
from recover.report.kiln_room import kiln_room
from recover.report.paper import View, issued
from recover.report.record import record
from recover.report.recovery import recovery
from recover.report.words import words

_Make = Callable[[Job, Assessment, datetime], View]


def _recovery(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the report with the newest plan of the job."""
    try:
        plan = newest(job)
    except DataError as error:
        return recovery(job, found, made, no_plan=str(error))
    return recovery(job, found, made, plan, changed=overtaken(found, plan) if plan else ())


_VIEWS: dict[str, _Make] = {
    "recovery": _recovery, "record": record, "first-days": first_days, "bring-list": bring_list, "tag": tag,
    "handover": handover, "annex": annex,
}  # fmt: skip
REPORT = ("recovery", "record")
"""The report, and the record of answers, readings and photographs that it rests on."""
HANDOVER = ("handover", "annex")
"""The certificate of the hand-over, and the log of the drying that it rests on."""


def report(folder: Path, found: Assessment, now: datetime) -> View:
    """Return the view of the recovery report as a draft."""
    return _recovery(open_job(folder), found, now)


def certificate(folder: Path, found: Assessment, now: datetime) -> View:
    """Return the view of the hand-over certificate as a draft."""
    return handover(open_job(folder), found, now)


def draft(folder: Path, found: Assessment, kind: str, now: datetime) -> list[Path]:
    """Write a paper as a draft, over the draft before it; return the files."""
    job = open_job(folder)
    return pdf.write(_VIEWS[kind](job, found, now), job.papers, f"{kind}-draft")


def kiln_rooms(folder: Path, found: Assessment, plan: JobPlan, day: int, now: datetime) -> list[Path]:
    """Write the sheet of each kiln for a day of a plan, beside those of other days; return the files.

    A kiln for which no day is planned has none, nor has one that is done by then. Raises QuantityError where all are
    done.
    """
    job, changed = open_job(folder), bool(overtaken(found, plan))
    views: dict[int, View] = {}
    done: list[QuantityError] = []
    for number, kiln in ((number, kiln) for number, kiln in enumerate(plan.kilns, start=1) if kiln.days):
        try:
            views[number] = kiln_room(job, found, plan, now, kiln.kiln, day, changed=changed)
        except QuantityError as error:
            done.append(error)
    if done and not views:
        raise done[0]
    return [
        file for number, view in views.items()
        for file in pdf.write(pdf.fitted(view), job.papers, f"kiln-room-{number}-day-{day:02d}-draft")
    ]  # fmt: skip


def issue(
    folder: Path, found: Assessment, by: str, capacity: str, now: datetime, kinds: tuple[str, ...] = REPORT
) -> list[Path]:
    """Issue papers together, report and record where no others are named: each view as numbered JSON, its print beside
    it, all of it recorded in the journal. A certificate of a kiln that is not handed over is not issued."""
    if "handover" in kinds and not handed_over(found):
        raise JobError(words().handover.not_issued(command=command("log", folder)))
    job = open_job(folder)
    with Journal(job.journal) as journal:
        if job.head != found.head:
            raise JobError(f"{folder}: the journal has grown since it was assessed; run the command again")
        if changed_files := [*unproved(folder, journal.events), *left_beside(folder)]:
            raise DataError([*changed_files, Problem(str(folder), "nothing was issued", f"{command('check', folder)}")])
        revision = max(next_number(journal.events, kind) for kind in kinds)
        files: dict[str, bytes] = {}
        for kind in kinds:
            at = show_moment(now.astimezone(job.settings.tz))
            view = issued(_VIEWS[kind](job, found, now), revision=revision, by=by, capacity=capacity, at=at)
            files |= _files(view, f"{kind}-{revision:02d}")
        keep(journal, files, "issue", {
            "papers": kinds, "revision": revision, "files": listed(files),
            "record": found.head, "rules": found.rules, "capacity": capacity, "parts": parts(),
        }, by=by, source="report")  # fmt: skip
    return [folder / name for name in files]


def to_send(found: Assessment, files: list[Path]) -> str:
    """Return what is written into the mail that sends issued papers: a copy of the anchor in other hands."""
    sent = [file for file in files if file.suffix == files[0].suffix]
    names = ", ".join(f"{file.name} (SHA-256 {sha256(file.read_bytes()).hexdigest()[:16]})" for file in sent)
    code, at = anchor(found.answers.lines, found.head), show_moment(found.answers.now)
    return f"For the mail that sends them: {names} of job {found.job}, {at}; journal {code}"


def _files(view: View, name: str) -> dict[str, bytes]:
    """Return the files of an issued paper by their name within the job: its prints, and itself as JSON."""
    stored = json.dumps(view, ensure_ascii=False, indent=1, sort_keys=True) + "\n"
    printed = {**pdf.printed(view, name), f"{name}.json": stored.encode()}
    return {f"papers/{file}": content for file, content in printed.items()}
