"""A job whose plan was put together by hand, with its days in April 2026: no wall is run."""

from pathlib import Path

from recover.asked.told import Logged
from recover.job.folder import open_job
from recover.judged.assessment import answers_of, assess
from recover.plan import store
from recover.plan.whole import Request
from tests import plan_job, sample_plan

FIRST, TEN = "2026-04-14", "2026-04-14 10:05"
"""The first day of the plan, and a moment at which readings are due."""


def write(folder: Path, *kilns) -> Path:
    """Write a job with a stored plan: of a kiln in a warm enclosure, where no others are given."""
    job = plan_job.write(folder, plan_job.SMALL | ({"scope.kilns": len(kilns)} if kilns else {}))
    request = Request(sample_plan.OPENS, sample_plan.ATTENDED)
    made = "2026-04-13T17:00:00+00:00"
    store.store(job, assess(job), request, kilns or (sample_plan.planned(),), made=made, by="A. Repairer")
    return folder


def logged(folder: Path) -> list[Logged]:
    """Return what stands in the log of a job."""
    return answers_of(open_job(folder)).logged
