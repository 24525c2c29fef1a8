"""Papers on disk: drafts that the next draft replaces, and issued revisions that nothing replaces."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from recover.assessment import Assessment
from recover.errors import JobError, QuantityError
from recover.job import Job, open_job, store_paper
from recover.journal import Journal
from recover.measures import show_moment
from recover.plan.store import changed, newest
from recover.plan.whole import JobPlan
from recover.report import pdf
from recover.report.kiln_room import kiln_room
from recover.report.paper import View, issued
from recover.report.record import record
from recover.report.recovery import recovery
from recover.report.sheets import bring_list, first_days, tag

_Make = Callable[[Job, Assessment, datetime], View]


def _recovery(job: Job, found: Assessment, made: datetime) -> View:
    """Return the view of the report with the newest plan of the job."""
    plan = newest(job.folder)
    return recovery(job, found, made, plan, changed=plan is not None and changed(found, plan))


_VIEWS: dict[str, _Make] = {
    "recovery": _recovery, "record": record, "first-days": first_days, "bring-list": bring_list, "tag": tag,
}  # fmt: skip
REPORT = ("recovery", "record")
"""The report, and the record of answers, readings and photographs that it rests on."""


def report(folder: Path, found: Assessment, now: datetime) -> View:
    """Return the view of the recovery report as a draft."""
    return _recovery(open_job(folder), found, now)


def draft(folder: Path, found: Assessment, kind: str, now: datetime) -> list[Path]:
    """Write a paper as a draft, over the draft before it; return the files."""
    job = open_job(folder)
    return pdf.write(_VIEWS[kind](job, found, now), job.papers, f"{kind}-draft")


def kiln_rooms(folder: Path, found: Assessment, plan: JobPlan, day: int, now: datetime) -> list[Path]:
    """Write the sheet of each kiln for a day of a plan, over the sheet before it; return the files.

    A kiln that is done by then has none. Raises QuantityError where all are.
    """
    job, overtaken = open_job(folder), changed(found, plan)
    views: dict[int, View] = {}
    done: list[QuantityError] = []
    for number, kiln in enumerate(plan.kilns, start=1):
        try:
            views[number] = kiln_room(job, found, plan, now, kiln.kiln, day, changed=overtaken)
        except QuantityError as error:
            done.append(error)
    if done and not views:
        raise done[0]
    return [
        file for number, view in views.items()
        for file in pdf.write(pdf.fitted(view), job.papers, f"kiln-room-{number}-draft")
    ]  # fmt: skip


def issue(folder: Path, found: Assessment, by: str, capacity: str, now: datetime) -> list[Path]:
    """Issue report and record: each view as numbered JSON, its print beside it, all of it recorded in the journal."""
    job = open_job(folder)
    with Journal(job.journal) as journal:
        if job.head != found.head:
            raise JobError(f"{folder}: the journal has grown since it was assessed; run the command again")
        at = show_moment(now.astimezone(job.settings.tz))
        views = [_VIEWS[kind](job, found, now) for kind in REPORT]
        revision = 1 + sum(event.kind == "issue" and event.data["paper"] == REPORT[0] for event in journal.events)
        numbered = [issued(one, revision=revision, by=by, capacity=capacity, at=at) for one in views]
        for one in numbered:
            pdf.html(one)  # a paper that cannot be printed is not issued
        return [file for one in numbered for file in _issue(job, journal, found, one, by, capacity)]


def _issue(job: Job, journal: Journal, found: Assessment, content: View, by: str, capacity: str) -> list[Path]:
    kind, revision = content["paper"]["kind"], content["paper"]["revision"]
    stored, sha256 = store_paper(job.papers, kind, revision, content)
    printed = pdf.write(content, job.papers, stored.stem)
    journal.append("issue", {
        "paper": kind, "revision": revision, "file": f"papers/{stored.name}", "sha256": sha256,
        "record": found.head, "rules": found.rules, "capacity": capacity,
        "printed": {f"papers/{file.name}": hashlib.sha256(file.read_bytes()).hexdigest() for file in printed},
    }, by=by, source="report")  # fmt: skip
    return [*printed, stored]
