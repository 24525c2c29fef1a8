"""What is asked of a plan, read from what people write; what is left out is as in the plan before, or as usual."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from math import floor

from recover.asked.answers import Answers
from recover.base.errors import Problem
from recover.judged.assessment import Assessment
from recover.plan import of_job
from recover.plan.strategies import cards
from recover.plan.whole import JobPlan, Request
from recover.profiles import own_limits
from recover.schedule.spells import Attendance
from recover.schedule.verify import Objective

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
    there = _attendance(attend) if attend else last.attendance if last else USUAL
    opens = _opens(found, last, there if isinstance(there, Attendance) else USUAL, start)
    followed = (last.way if last else "") if way is None else _way(way)
    problems = [one for one in (followed, there, opens) if isinstance(one, Problem)]
    problems += _too_soon(found, opens.date()) if isinstance(opens, datetime) else ()
    problems += _no_vent(found.answers)
    if isinstance(there, Problem) or isinstance(opens, Problem):
        return tuple(problems)
    wanted = objective or (last.objective if last else "elapsed")
    read = Request(opens, there, wanted, followed if isinstance(followed, str) else "")
    return tuple(problems) if (problems := [*problems, *_ill_timed(read)]) else read


def _attendance(text: str) -> Attendance | Problem:
    """Read `08:00-20:00`; `00:00-24:00` is day and night. What cannot be is returned as a problem."""
    found = re.fullmatch(r"(\d{1,2}):(\d{2})\s*-\s*(\d{1,2}):(\d{2})", text.strip())
    least = own_limits()["least_attendance_h"].value
    expected = f"two different times of the day at least {least:g} h apart, as in 08:00-20:00"
    if not found:
        return Problem("attendance", f"{text!r} is not a span of the day", f"expected {expected}")
    hours = [int(found[1]) + int(found[2]) / 60, int(found[3]) + int(found[4]) / 60]
    if max(hours) > 24 or int(found[2]) > 59 or int(found[4]) > 59 or hours[0] in (24, hours[1]):
        return Problem("attendance", f"{text!r} cannot be attended", f"expected {expected}")
    read = Attendance(*hours)
    if read.hours < least:
        return Problem("attendance", f"{text!r} is {read.hours:g} h a day", f"expected {expected}")
    return read


def _way(way: str) -> str | Problem:
    """Read the name of a way to dry; empty is the recommended one."""
    names = [one.id for one in cards().strategy]
    known = way in ("", *names)
    return way if known else Problem("way", f"{way!r} is no way to dry", f"expected one of {', '.join(names)}")


def last_entry(found: Assessment) -> date | None:
    """Return the day of the journal's last line that tells of the kiln, by the job's own clock; None where none does.

    A report or a plan that was issued tells nothing new, so that neither moves a plan that is under way.
    """
    written = found.answers.last_entry
    return written.date() if written else None


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


def _clock(there: Attendance) -> time:
    """Return when a day opens: when somebody comes; where somebody is there day and night, in the morning."""
    opens_h = own_limits()["plan_opens_h"].value if there.always else there.from_h
    return time(floor(opens_h), round(60 * (opens_h % 1)))


# ---------------------------------------------------------------------------------------- what cannot be


def _ill_timed(request: Request) -> tuple[Problem, ...]:
    """Return what is wrong with a first opening: it is local, and lies where attendance begins."""
    opens, there = request.opens, request.attendance
    if opens.tzinfo:
        return (Problem("opens", f"{opens.isoformat()} names an offset", "expected the local time of the job alone"),)
    if there.always or 60 * opens.hour + opens.minute == round(60 * there.from_h):
        return ()
    begins = str(there).partition("-")[0]
    return (Problem("opens", f"{opens:%H:%M} is not when attendance {there} begins", f"expected {begins}"),)


def _no_vent(answers: Answers) -> tuple[Problem, ...]:
    """Find a room that nothing takes vapour out of: what leaves the kiln would come back to it."""
    care = of_job.room_care(answers)
    if care is None or care.air_m3_h or care.dehumidifier_l_day:
        return ()
    expected = "expected an exhaust to the open air or a dehumidifier: correct slates 230 and 231, or open the room"
    return (Problem("room", "nothing takes vapour out of it", expected),)


def _too_soon(found: Assessment, start: date) -> tuple[Problem, ...]:
    """Find a plan that begins before the last line of the journal."""
    written = last_entry(found)
    if written and start < written:
        expected = f"expected {written.isoformat()} or later: what was found then decides the plan"
        return (Problem("start", f"{start.isoformat()} lies before the journal's last entry", expected),)
    return ()
