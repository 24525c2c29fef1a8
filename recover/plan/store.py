"""Plans on disk: JOB/plans/plan-01.json and on, never overwritten, each recorded in the journal with its hash.

A plan is stored as the values that it is made of, so that every paper reads it and none computes it again. Its bytes
are canonical: keys in order, numbers rounded, no NaN and nothing without end. What is not just as this program writes
it is not read: papers then say so, and go on without a plan. It names what it was made from: when that has changed
since, papers say what.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import asdict, replace
from datetime import date
from decimal import Decimal
from itertools import groupby
from math import isfinite
from typing import TYPE_CHECKING, Any, NoReturn

import recover
from recover.asked.replay import SHEETS
from recover.base.datafile import check_format, shaped
from recover.base.errors import DataError, JobError, Problem, RecoverError, command
from recover.base.fingerprint import fingerprint, parts
from recover.job.journal import Journal, utc_now
from recover.job.kept import ever, known, listed, next_number, papers_of, proved, rescued
from recover.job.writing import keep, put_aside
from recover.judged.assessment import stood_at
from recover.judged.dryout import SEED
from recover.plan.inputs import differences, inputs, overtaking, program_changed
from recover.plan.whole import Day, JobPlan, KilnPlan, Request
from recover.schedule.limits import figures

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from datetime import datetime
    from pathlib import Path

    from recover.job.folder import Job
    from recover.job.kept import Kept
    from recover.judged.assessment import Assessment

FORMAT, VERSION = "recover-plan", 3
FOLDER = "plans"

OPENING = ("answer", "reading", "instrument", "release", "withdrawal")
"""The lines of a journal after which a hold point may be open that was not."""

FIGURES = 7
"""Numbers are kept to one part in a million, so that the last bits of a sum make no other plan."""


def changed(found: Assessment, plan: JobPlan) -> list[str]:
    """Return what a plan was made from that is another now, in words; empty where it would come out the same."""
    return [*differences(plan.inputs, inputs(found)), *_program(plan)]


def overtaken(found: Assessment, plan: JobPlan) -> list[str]:
    """Return what has changed since by which a plan is followed no more, in words; empty where it still holds.

    What comes after it, as the hand-over does, and readings by which its entry opens or shuts, overtake none.
    """
    kilns = [one.kiln for one in plan.kilns]
    then, now = (overtaking(told, kilns) for told in (plan.inputs, inputs(found)))
    return [*differences(then, now), *_program(plan)]


def _program(plan: JobPlan) -> list[str]:
    return [program_changed()] if plan.fingerprint != fingerprint() else []


def store(
    job: Job, found: Assessment, request: Request, kilns: tuple[KilnPlan, ...], *, made: str, by: str,
    clock: Callable[[], datetime] = utc_now,
) -> tuple[JobPlan, Path]:  # fmt: skip
    """Store the plans of a job's kilns under the next number, record them in the journal, and return them as stored.

    `made` is the moment at which they were made, in ISO form. Raises JobError.
    """
    with Journal(job.journal, clock) as journal:
        if journal.head != found.head:
            raise JobError(f"{job.folder}: the journal has grown since the plan was begun; run the command again")
        plan = JobPlan(
            number=next_number(journal.events, "plan"), made=made, program=f"recover {recover.__version__}",
            head=found.head, inputs=inputs(found), fingerprint=fingerprint(), seed=SEED,
            draws=int(figures().least_draws.value), zone=job.settings.zone, request=request, kilns=kilns,
        )  # fmt: skip
        name, content = f"{FOLDER}/plan-{plan.number:02d}.json", written(plan)
        stored = parse(content, name)  # also proves, before anything is kept, that it can be read again
        files = {name: content}
        keep(journal, files, "issue", {
            "papers": ["plan"], "revision": plan.number, "files": listed(files),
            "record": plan.head, "rules": plan.fingerprint, "capacity": "", "parts": parts(), **_sheets(plan),
        }, by=by, source="plan")  # fmt: skip
    return stored, job.folder / name


def _sheets(plan: JobPlan) -> dict[str, dict[str, list[dict[str, Any]]]]:
    """Return what the sheets of a plan set for each run of own elements, which stands in the journal: what is proved
    on the morning of a day is held against it."""
    return {SHEETS: {kiln.kiln: [*_sheet_runs(kiln.days)] for kiln in plan.kilns}}


def _sheet_runs(days: Sequence[Day]) -> Iterator[dict[str, Any]]:
    for day in (day for day in days if day.phase == "own"):
        set_to = {run.number: run.cutout_degc for run in day.runs}
        for number, of in groupby(day.steps, key=lambda step: step.run):
            steps = [*of]
            cutout = set_to.get(number, day.cutout_degc)
            told = {"begins": steps[0].begins, "ends": steps[-1].ends, "top_degc": max(step.to_degc for step in steps)}
            yield _plain(told | ({} if cutout is None else {"cutout_degc": cutout}))


# ---------------------------------------------------------------------------------------- reading


class _NewerError(DataError):
    """A newer program wrote it: update this one. The file is left where it is."""


def newest(job: Job) -> JobPlan | None:
    """Return the newest plan of a job, None where there is none.

    Raises DataError where the file is not the one that was stored, or cannot be read.
    """
    plans = _issued(job)
    return _read(job, plans[-1]) if plans else None


def every(job: Job) -> Iterator[JobPlan]:
    """Yield every plan of a job that can be read, the newest first; none where the newest cannot."""
    with suppress(DataError):
        if plan := newest(job):
            yield plan
            yield from earlier(job, plan)


def earlier(job: Job, plan: JobPlan) -> Iterator[JobPlan]:
    """Yield every plan older than one, of those that can be read, the newest first."""
    for one in reversed(_issued(job)):
        with suppress(DataError):
            if (older := _read(job, one)).number < plan.number:
                yield older


def stood(job: Job, found: Assessment, plan: JobPlan) -> Iterator[Assessment]:
    """Yield how a job stood while a plan was its newest: as it was made, and after each minute of answers, signatures.

    What was logged or issued opens no hold point, nor does age.
    """
    made = [event for event in job.events if "plan" in papers_of(event)]
    first = next((event.n for event in made if event.data["revision"] == plan.number), None)
    if first is None:
        return
    until = next((event.n for event in made if event.n > first), len(job.events) + 1)
    opening = [event for event in job.events if first <= event.n < until and event.kind in OPENING]
    last = {event.moment.replace(second=0, microsecond=0): event.n for event in opening}
    for line in sorted({first, *last.values()}):
        yield stood_at(found, line)


def _issued(job: Job) -> list[Kept]:
    """Return every plan as it was issued, the newest last: one that was lost and found is no newer for it."""
    return ever(event for event in job.events if "plan" in papers_of(event))


def _read(job: Job, one: Kept) -> JobPlan:
    """Read a plan as the journal knows it. Raises DataError."""
    tells = f"{command('check', job.folder)} tells when and by whom"
    gone = Problem(one.file, "was set aside, or is missing", tells)
    content = proved(job.folder, one) if one.file in known(job.events) else gone
    if one.line <= rescued(job.events)[0]:
        content = Problem(one.file, f"stands on journal line {one.line}, which nothing proves", tells)
    if isinstance(content, Problem):
        raise DataError([replace(content, remedy=f"{content.remedy}; or plan again: {command('plan', job.folder)}")])
    return parse(content, one.file)


def set_aside(job: Job, *, by: str) -> list[str]:
    """Set the newest plan aside where it cannot be gone on with, and return that in a sentence. Raises JobError.

    What a newer program wrote is left alone, as is what is missing, or is not the file that was stored.
    """
    plans = _issued(job)
    if not plans or plans[-1].file not in known(job.events):
        return []
    content = proved(job.folder, plans[-1])
    if isinstance(content, Problem) or not (why := _unreadable(content, plans[-1].file)):
        return []
    with Journal(job.journal) as journal:
        return put_aside(journal, [plans[-1].file], why, by=by)


def _unreadable(content: bytes, name: str) -> str:
    """Say why a plan cannot be read; nothing where it can, or where it is a newer program's."""
    try:
        parse(content, name)
    except _NewerError:
        return ""
    except DataError as error:
        return error.problems[0].what
    return ""


def parse(content: bytes, name: str) -> JobPlan:
    """Read a stored plan. Raises DataError naming the file."""
    try:
        found = json.loads(content, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise DataError([Problem(name, f"cannot be read ({error})", "put back the file from a copy")]) from error
    _check_version(found, name)
    try:
        plan = shaped(_unbounded({key: found[key] for key in found if key not in ("format", "version")}), name, JobPlan)
        as_written = written(plan)
    except (RecoverError, ValueError, RecursionError) as error:
        raise _strange(name, f" ({_place(error, name)})") from error
    if as_written != content:
        raise _strange(name, "")
    return plan


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _check_version(found: Any, name: str) -> None:
    """Refuse another format, an older and a newer version. Raises DataError."""
    version = found.get("version") if isinstance(found, dict) else None
    if type(version) is int and version > VERSION and found.get("format") == FORMAT:
        what = f"was written by a newer version (file version {version}, this program knows up to {VERSION})"
        raise _NewerError([Problem(name, what, "update recover; the file is left as it is")])
    check_format(found, name, FORMAT, VERSION)
    if version != VERSION:
        raise DataError([Problem(name, "was made by an older version", "plan again: recover plan JOB")])


def _place(error: Exception, name: str) -> str:
    """Say where the first thing is that is wrong, and what."""
    if not isinstance(error, DataError):
        return str(error)
    first = error.problems[0]
    return f"{first.where.removeprefix(name).strip(' []')}: {first.what}"


def _strange(name: str, place: str) -> DataError:
    what = f"is not a plan as this program stores it{place}"
    return DataError([Problem(name, what, "plan again: recover plan JOB")])


# ---------------------------------------------------------------------------------------- writing


def written(plan: JobPlan) -> bytes:
    """Return a plan as its bytes: canonical JSON, so that one plan has one text. Raises ValueError for NaN."""
    return canonical(as_plain(plan)).encode()


def canonical(plain: dict[str, Any]) -> str:
    """Return plain values as the one text that they have. Raises ValueError for NaN."""
    return json.dumps(plain, ensure_ascii=False, indent=1, sort_keys=True, allow_nan=False) + "\n"


def as_plain(plan: JobPlan) -> dict[str, Any]:
    """Return a plan as plain values with its format and version: moments in ISO form, numbers rounded."""
    return {"format": FORMAT, "version": VERSION, **_plain(asdict(plan))}


_STEP = frozenset({"to_degc", "ramp_k_h", "hold_h"})
"""What a step is written with; its ramp is null where the temperature is there at once."""


def _plain(value: Any) -> Any:
    """Return a value of a plan as JSON has it; an endless ramp is None, money a number with its cents."""
    if isinstance(value, dict):
        endless = value.keys() == _STEP and not isfinite(value["ramp_k_h"])
        return {key: None if endless and key == "ramp_k_h" else _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return _whole(float(value))
    return _whole(float(f"{value:.{FIGURES}g}")) if isinstance(value, float) else value


def _whole(number: float) -> float:
    """Return a whole number without a point, so that 60 and 60.0 are one text. What is no number stays, and is refused
    when it is written."""
    return int(number) if isfinite(number) and number.is_integer() else number


def _unbounded(value: Any) -> Any:
    """Return plain values with the endless ramps that were written as None."""
    if isinstance(value, dict):
        endless = value.keys() == _STEP and value["ramp_k_h"] is None
        return {key: float("inf") if endless and key == "ramp_k_h" else _unbounded(one) for key, one in value.items()}
    return [_unbounded(one) for one in value] if isinstance(value, list) else value
