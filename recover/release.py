"""Recording that a named person releases a hold point. The program shows what is missing; it never releases."""

from __future__ import annotations

from pathlib import Path

from recover.assessment import Assessment, Hold, assess
from recover.errors import AnswerError
from recover.job import open_job
from recover.journal import Journal


def release(folder: Path, point: str, at: str, *, by: str, capacity: str) -> str:
    """Write a release to the journal and return what was written. Raises AnswerError while anything is missing."""
    job = open_job(folder)
    with Journal(job.journal) as journal:
        hold = _found(assess(job), point, at)
        if hold.missing:
            missing = "; ".join(hold.missing)
            raise AnswerError(f"{hold.point.title} stays closed; missing: {missing}")
        journal.append("release", {"hold_point": point, "at": hold.at, "capacity": capacity}, by=by, source="log")
    return f"released: {hold.point.title} ({hold.label}), by {by}, {capacity}; this is for: {hold.point.released_by}"


def _found(found: Assessment, point: str, at: str) -> Hold:
    holds = [hold for hold in found.holds if hold.point.id == point and at in ("", hold.at)]
    if not holds:
        known = ", ".join(dict.fromkeys(hold.point.id for hold in found.holds))
        raise AnswerError(f"there is no hold point {point!r}{f' of {at}' if at else ''}; expected one of {known}")
    if len(holds) > 1:
        raise AnswerError(f"{point} stands for {', '.join(hold.at for hold in holds)}; say which with --component")
    return holds[0]
