"""Plans on disk: JOB/plans/plan-01.json and on, never overwritten, each recorded in the journal with its hash.

A plan is stored as the values that it is made of, so that every paper reads it and none computes it again. It says what
it was made from: when that has changed since, papers say so.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import recover
from recover.base.datafile import check_format
from recover.base.errors import DataError, JobError, Problem, command
from recover.base.fingerprint import parts
from recover.job.folder import Job
from recover.job.journal import Journal
from recover.job.kept import ever, known, listed, next_number, papers_of, proved, rescued
from recover.job.writing import keep
from recover.judged.assessment import Assessment
from recover.judged.dryout import SEED
from recover.plan import of_job
from recover.plan.whole import JobPlan, KilnPlan, Request
from recover.schedule.limits import figures
from recover.schedule.spells import Attendance

FORMAT, VERSION = "recover-plan", 1
FOLDER = "plans"


def inputs(found: Assessment) -> str:
    """Return the SHA-256 of what a plan is made from: what each kiln's planning takes from answers and limits.

    A reading that is logged meanwhile changes it only where it opens or shuts the gate to own elements, or the lining.
    """
    taken = of_job.taken(found, Attendance(), date.min)
    return hashlib.sha256(repr([found.profile.id, *taken]).encode()).hexdigest()


def changed(found: Assessment, plan: JobPlan) -> bool:
    """Whether what a plan was made from, or the rules, have changed since."""
    return (plan.inputs, plan.rules) != (inputs(found), found.rules)


def store(
    job: Job, found: Assessment, request: Request, kilns: tuple[KilnPlan, ...], *, made: str, by: str
) -> tuple[JobPlan, Path]:
    """Store the plans of a job's kilns under the next number and record them in the journal. Raises JobError.

    `made` is the moment at which they were made, in ISO form.
    """
    with Journal(job.journal) as journal:
        if journal.head != found.head:
            raise JobError(f"{job.folder}: the journal has grown since the plan was begun; run the command again")
        plan = JobPlan(
            number=next_number(journal.events, "plan"), made=made, program=f"recover {recover.__version__}",
            head=found.head, inputs=inputs(found), rules=found.rules, seed=SEED, draws=int(figures().least_draws.value),
            zone=job.settings.zone, request=request, kilns=kilns,
        )  # fmt: skip
        name = f"{FOLDER}/plan-{plan.number:02d}.json"
        content = json.dumps(as_plain(plan), ensure_ascii=False, indent=1, sort_keys=True) + "\n"
        files = {name: content.encode()}
        keep(journal, files, "issue", {
            "papers": ["plan"], "revision": plan.number, "files": listed(files),
            "record": plan.head, "rules": plan.rules, "capacity": "", "parts": parts(),
        }, by=by, source="plan")  # fmt: skip
    return plan, job.folder / name


def newest(job: Job) -> JobPlan | None:
    """Return the newest plan of a job, None where there is none.

    Raises DataError where the file is not the one that was stored, or cannot be read.
    """
    plans = ever(event for event in job.events if "plan" in papers_of(event))
    if not plans:
        return None
    newest = plans[-1]  # as it was issued: one that was lost and found is no newer for it
    tells = f"{command('check', job.folder)} tells when and by whom"
    gone = Problem(newest.file, "was set aside, or is missing", tells)
    content = proved(job.folder, newest) if newest.file in known(job.events) else gone
    if newest.line <= rescued(job.events)[0]:
        content = Problem(newest.file, f"stands on journal line {newest.line}, which nothing proves", tells)
    if isinstance(content, Problem):
        raise DataError([replace(content, remedy=f"{content.remedy}; or plan again: {command('plan', job.folder)}")])
    return parse(content, newest.file)


def parse(content: bytes, name: str) -> JobPlan:
    """Read a stored plan. Raises DataError naming the file."""
    from pydantic import ValidationError

    try:
        found = json.loads(content)
    except (ValueError, RecursionError) as error:
        raise DataError([Problem(name, f"cannot be read ({error})", "put back the file from a copy")]) from error
    check_format(found, name, FORMAT, VERSION)
    plan = {key: value for key, value in found.items() if key not in ("format", "version")}
    try:
        read_plan: JobPlan = _adapter().validate_json(json.dumps(plan))
    except ValidationError as error:
        what = f"is not a plan as this program stores it ({error.error_count()} places)"
        remedy = "plan again: recover plan JOB; the file is left as it is"
        raise DataError([Problem(name, what, remedy)]) from error
    return read_plan


def as_plain(plan: JobPlan) -> dict[str, Any]:
    """Return a plan as plain values, its format and version first. What has no end is written "Infinity"."""
    from pydantic_core import to_jsonable_python

    return {"format": FORMAT, "version": VERSION, **to_jsonable_python(plan, inf_nan_mode="strings")}


@cache
def _adapter() -> Any:
    from pydantic import TypeAdapter

    return TypeAdapter(JobPlan)
