"""What is asked of a plan, read from what people write; what is left out is as in the plan before, or as usual."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from math import floor
from typing import TYPE_CHECKING

from recover.asked.possible import WATER_OUT
from recover.base.errors import Problem
from recover.judged.stops import is_answered_anew
from recover.plan.clock import WEEKDAYS, is_closed
from recover.plan.ways import SHIFTS, ways
from recover.plan.whole import JobPlan, Request
from recover.profiles import own_limits
from recover.schedule.spells import Attendance

if TYPE_CHECKING:
    from recover.asked.answers import Answers
    from recover.judged.assessment import Assessment


USUAL = Attendance(8.0, 20.0)
RECOMMENDED, NONE = "recommended", "none"
"""What is written to follow the recommended path again, and to have no day closed any more."""

_LONG, _LONGEST_CLOSED = timedelta(days=3653), timedelta(days=366)


@dataclass(frozen=True)
class Requested:
    """What is asked for, and what is said of how it was read."""

    request: Request
    says: tuple[str, ...] = ()


def request(
    found: Assessment,
    before: JobPlan | None,
    *,
    path: str | None = None,
    attend: str | None = None,
    start: str | None = None,
    closed: str | None = None,
) -> Requested | tuple[Problem, ...]:
    """Return what is asked for, or everything that is wrong with it and with the place, all at once."""
    last = before.request if before else None
    followed = (last.path if last else "") if path is None else _path(path)
    there = _attendance(attend) if attend else last.attendance if last else USUAL
    days = (last.closed if last else ()) if closed is None else _closed(closed)
    opens = _opens(found, last, there if isinstance(there, Attendance) else USUAL, start)
    problems = [one for one in (followed, there, opens, *days) if isinstance(one, Problem)]
    problems += _ill_timed(opens, there) if isinstance(opens, datetime) and isinstance(there, Attendance) else ()
    problems += _too_soon(found, opens.date()) if start and isinstance(opens, datetime) else ()
    problems += _water_again(found.answers) if start else ()
    if problems or isinstance(followed, Problem) or isinstance(there, Problem) or isinstance(opens, Problem):
        return tuple(problems)
    wanted = Request(opens, there, tuple(one for one in days if isinstance(one, str)), followed)
    return _with_what_passed(found, _on_an_open_day(wanted))


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


def _path(path: str) -> str | Problem:
    """Read the id of a path: the way that it begins with, in shifts or not. The recommended one is empty."""
    ids = [f"{one.id}{shifts}" for one in ways().way for shifts in ("", SHIFTS)]
    if path in ("", RECOMMENDED):
        return ""
    return path if path in ids else Problem("path", f"{path!r} is no path", f"expected one of {', '.join(ids)}")


# ---------------------------------------------------------------------------------------- days on which nobody comes


def _closed(text: str) -> tuple[str | Problem, ...]:
    """Read weekdays, dates and spans of them, as `sat,sun,2026-12-24/2027-01-02`; in order, each once."""
    words = [word.strip().lower() for word in text.split(",")]
    read = {_closed_word(word) for word in words if word not in ("", NONE)}
    if read.issuperset(WEEKDAYS):
        read = {Problem("closed", "every day of the week is closed", "expected one on which somebody comes")}
    return tuple(sorted(read, key=_in_order))


def _in_order(one: str | Problem) -> tuple[int, str]:
    """Put weekdays first, as a week has them."""
    return (WEEKDAYS.index(one), "") if isinstance(one, str) and one in WEEKDAYS else (len(WEEKDAYS), str(one))


def _closed_word(word: str) -> str | Problem:
    """Read one of the days, or spans, on which nobody comes; a span of one date is that date."""
    if word in WEEKDAYS:
        return word
    dates = [_date(one.strip()) for one in word.split("/")]
    if not 1 <= len(dates) <= 2 or None in dates:
        form = f"a weekday ({', '.join(WEEKDAYS)}), a date as 2026-12-25, or a span as 2026-12-24/2027-01-02"
        return Problem("closed", f"{word!r} is no day", f"expected {form}")
    first, last = dates[0] or date.min, dates[-1] or date.min
    if not first <= last <= first + min(_LONGEST_CLOSED, date.max - first):
        return Problem("closed", f"{word!r} is no span", "expected its first day first, its last within a year of it")
    return first.isoformat() if first == last else f"{first.isoformat()}/{last.isoformat()}"


def _date(text: str) -> date | None:
    try:
        return datetime.strptime(text, "%Y-%m-%d").date()  # noqa: DTZ007 - a date has no zone
    except ValueError:
        return None


def _on_an_open_day(wanted: Request) -> Requested:
    """Move a first opening off the days on which nobody comes, and say so."""
    opens = wanted.opens
    while is_closed(wanted, opens.date()):
        opens += timedelta(days=1)
    if opens == wanted.opens:
        return Requested(wanted)
    moved = f"{wanted.opens:%Y-%m-%d} is closed; the first opening is {opens:%A %Y-%m-%d}."
    return Requested(replace(wanted, opens=opens), (moved,))


# ---------------------------------------------------------------------------------------- the first opening


def last_entry(found: Assessment) -> date | None:
    """Return the day of the journal's last line that tells of the kiln, by the job's own clock; None where none does.

    A report or a plan that was issued tells nothing new, so that neither is an entry that a plan begins after.
    """
    written = found.answers.last_entry
    return written.date() if written else None


def _opens(found: Assessment, last: Request | None, there: Attendance, start: str | None) -> datetime | Problem:
    """Return the first opening: what is written, that of the plan before though it has passed, or the next day.

    A plan that is under way is begun anew by whoever asks for it, and never by what was read on one of its days.
    """
    written = last_entry(found)
    if start:
        return _plannable(_moment(start, there), written)
    if last:
        return datetime.combine(last.opens.date(), _clock(there))
    return datetime.combine((written or date.min) + timedelta(days=1), _clock(there))


def _with_what_passed(found: Assessment, read: Requested) -> Requested:
    """Say of a first opening before the journal's last entry that the plan goes on from it."""
    written, opens = last_entry(found), read.request.opens.date()
    if written is None or opens >= written or found.answers.logged:
        return read
    goes_on = f"The plan goes on from its first opening on {opens.isoformat()}, and what was read since is not in it"
    return replace(read, says=(*read.says, f"{goes_on}; it is begun anew with --start DATE."))


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


def _ill_timed(opens: datetime, there: Attendance) -> tuple[Problem, ...]:
    """Return what is wrong with a first opening: it is local, and lies where attendance begins."""
    if opens.tzinfo:
        return (Problem("opens", f"{opens.isoformat()} names an offset", "expected the local time of the job alone"),)
    if there.always or 60 * opens.hour + opens.minute == round(60 * there.from_h):
        return ()
    begins = str(there).partition("-")[0]
    return (Problem("opens", f"{opens:%H:%M} is not when attendance {there} begins", f"expected {begins}"),)


def _water_again(answers: Answers) -> tuple[Problem, ...]:
    """Find water that came to a kiln while it dried, and that nobody has answered anew since."""
    if all(is_answered_anew(one, answers) for one in answers.logged if one.is_water):
        return ()
    slate = answers.questions.questions[WATER_OUT].slate
    expected = f"expected slate {slate} answered since, and with it where the water came from and how high it stood"
    return (Problem("start", "water came again while it dried, and was not answered anew", expected),)


def _too_soon(found: Assessment, start: date) -> tuple[Problem, ...]:
    """Find a plan that is asked to begin before the last line of the journal."""
    written = last_entry(found)
    if written and start < written:
        expected = f"expected {written.isoformat()} or later: what was found then decides the plan"
        return (Problem("start", f"{start.isoformat()} lies before the journal's last entry", expected),)
    return ()
