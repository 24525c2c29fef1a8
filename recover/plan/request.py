"""What is asked of a plan, read from what people write; what is left out is as in the plan before, or as usual."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from math import floor

from recover.base.errors import Problem
from recover.judged.assessment import Assessment
from recover.plan import of_job
from recover.plan.of_job import last_entry
from recover.plan.schedule import Attendance, attendance
from recover.plan.strategies import cards
from recover.plan.verify import Objective
from recover.plan.whole import JobPlan, Request
from recover.profiles import own_limits

USUAL = Attendance(8.0, 20.0)
_LONG = timedelta(days=3653)


def request(
    found: Assessment,
    before: JobPlan | None,
    *,
    way: str | None = None,
    objective: Objective | None = None,
    attend: str | None = None,
    start: str | None = None,
) -> Request | tuple[Problem, ...]:
    """Return what is asked for, or everything that is wrong with it and with the place, all at once."""
    last = before.request if before else None
    there = attendance(attend) if attend else last.attendance if last else USUAL
    opens = _opens(found, last, there if isinstance(there, Attendance) else USUAL, start)
    followed = (last.way if last else "") if way is None else _way(way)
    problems = [one for one in (followed, there, opens) if isinstance(one, Problem)]
    problems += of_job.problems(found, opens.date() if isinstance(opens, datetime) else None)
    if isinstance(there, Problem) or isinstance(opens, Problem):
        return tuple(problems)
    wanted = objective or (last.objective if last else "elapsed")
    read = Request(opens, there, wanted, followed if isinstance(followed, str) else "")
    return tuple(problems) if (problems := [*problems, *_ill_timed(read)]) else read


def _way(way: str) -> str | Problem:
    """Read the name of a way to dry; empty is the recommended one."""
    names = [one.id for one in cards().strategy]
    known = way in ("", *names)
    return way if known else Problem("way", f"{way!r} is no way to dry", f"expected one of {', '.join(names)}")


def _opens(found: Assessment, last: Request | None, there: Attendance, start: str | None) -> datetime | Problem:
    """Return the first opening: what is written, that of the plan before while it can still be, or the next day."""
    written = last_entry(found)
    if start:
        return _plannable(_moment(start, there), written)
    if last and not (written and last.opens.date() < written):
        return datetime.combine(last.opens.date(), _clock(there))
    return datetime.combine((written or date.min) + timedelta(days=1), _clock(there))


def _moment(start: str, there: Attendance) -> datetime | Problem:
    """Read `2026-03-12` or `2026-03-12 09:00`; a day alone opens when somebody comes."""
    try:
        read = datetime.fromisoformat(start.strip())
    except ValueError:
        return Problem("start", f"{start!r} is no day", "expected one as 2026-03-12, or 2026-03-12 09:00")
    return read if len(start.strip()) > len("2026-03-12") else datetime.combine(read.date(), _clock(there))


def _plannable(opens: datetime | Problem, written: date | None) -> datetime | Problem:
    """Refuse an opening so far from the journal's last entry that its year is a slip, and no calendar may hold it."""
    if isinstance(opens, Problem) or not written or abs(opens.date() - written) < _LONG:
        return opens
    expected = f"expected one within ten years of the journal's last entry, {written.isoformat()}"
    return Problem("start", f"{opens.date().isoformat()} is no day to plan for", expected)


def _ill_timed(request: Request) -> tuple[Problem, ...]:
    """Return what is wrong with a first opening: it is local, and lies where attendance begins."""
    opens, there = request.opens, request.attendance
    if opens.tzinfo:
        return (Problem("opens", f"{opens.isoformat()} names an offset", "expected the local time of the job alone"),)
    if there.always or 60 * opens.hour + opens.minute == round(60 * there.from_h):
        return ()
    begins = str(there).partition("-")[0]
    return (Problem("opens", f"{opens:%H:%M} is not when attendance {there} begins", f"expected {begins}"),)


def _clock(there: Attendance) -> time:
    """Return when a day opens: when somebody comes; where somebody is there day and night, in the morning."""
    opens_h = own_limits()["plan_opens_h"].value if there.always else there.from_h
    return time(floor(opens_h), round(60 * (opens_h % 1)))
