"""What a plan takes from a job: its answers and its assessment, read for the rooms of the plan.

What is not known closes a way to dry rather than opening it, or is None (empty, for words), so that a paper leaves a
blank and no sum is made with a guess.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from math import ceil

from recover.asked.answers import Answers
from recover.base.addresses import JOB, Address
from recover.base.errors import Problem
from recover.engineering.thermocouples import Letter
from recover.judged.assessment import Assessment
from recover.judged.bench import given, rating
from recover.judged.dryout import OUTDOORS
from recover.physics.staged import Heating
from recover.plan.limits import Limits, RoomCare, limits_of
from recover.plan.schedule import Attendance
from recover.plan.strategies import Circumstances

GATE = "own_heat"
"""The hold point before a kiln is heated with its own elements."""

# ---------------------------------------------------------------------------------------- ways to dry, and limits


def circumstances(
    found: Assessment, kiln: Address, heating: Heating, attendance: Attendance, start: date
) -> Circumstances:
    """Return what decides which ways to dry a kiln are open."""
    answers, said = found.answers, _as_last_said(found.answers)
    lead_days = answers.number("plan.lead_days", kiln)
    return Circumstances(
        heating=heating, build=answers.word("casing.build", kiln), salt=salt(answers), gate_open=gate_open(found, kiln),
        sections=int(answers.number("identity.sections", kiln) or 1),
        workshop=answers.word("plan.workshop", kiln) == "yes", supply_kw=said.number("plan.supply_kw", JOB),
        attendance=attendance, start=start, lead_days=None if lead_days is None else ceil(lead_days),
        price_kwh=price_kwh(answers),
        shut=tuple((one.way, one.because) for one in found.shut if one.kiln == kiln),
    )  # fmt: skip


def _as_last_said(answers: Answers) -> Answers:
    """Return the same with what was taken back still said: a limit that nobody knows any more is no limit lifted."""
    return answers.as_last_given or answers


def shut(found: Assessment, kiln: Address, way: str) -> bool:
    """Whether the place shuts a way to dry a kiln."""
    return any((one.kiln, one.way) == (kiln, way) for one in found.shut)


def salt(answers: Answers) -> str:
    """Return how salt the water is: fresh, brackish or sea; the mildest that is certain, empty where none is.

    Water that is brackish or sea is brackish at least; what may be fresh, and may not, is not known.
    """
    possible = answers.look("salinity", JOB) or frozenset()
    if len(possible) == 1:
        return str(next(iter(possible)))
    return "brackish" if possible == {"brackish", "sea"} else ""


def gate_open(found: Assessment, kiln: Address) -> bool:
    """Whether nothing is missing before heating with a kiln's own elements. It is still for named people to release."""
    return any((hold.point.id, hold.at) == (GATE, kiln) and not hold.missing for hold in found.holds)


def limits(found: Assessment, kiln: Address, heating: Heating, attendance: Attendance) -> Limits:
    """Return what a kiln's schedule keeps to: its power by plate or ohms, attendance, what the room takes up."""
    rated = rating(found.answers, kiln)
    power_kw = heating.power_kw or (rated.kw if rated else None)
    care, pest = room_care(found.answers), _may_crumble(found.answers, kiln)
    return limits_of(heating.stages, power_kw, attendance.hours, care, OUTDOORS, pest=pest)


def _may_crumble(answers: Answers, kiln: Address) -> bool:
    """Whether a kiln's elements are, or may be, of molybdenum disilicide: what nobody named may be."""
    alloys = answers.look("element.alloy", kiln)
    return alloys is None or "disilicide" in alloys


def room_care(answers: Answers) -> RoomCare | None:
    """Return what takes vapour out of the room; None where that is not known: one that does nothing tells nothing."""
    said = _as_last_said(answers)
    air_m3_h, litres = said.number("plan.exhaust", JOB), said.number("plan.dehumidifier", JOB)
    return None if None in (air_m3_h, litres) and not (air_m3_h or litres) else RoomCare(air_m3_h, litres)


# ---------------------------------------------------------------------------------------- probe and controller


def probe(found: Assessment, kiln: Address) -> Letter | None:
    """Return the letter of a kiln's probe; None where it has none, or nobody knows."""
    return _letter(found.answers, "control.probe_type", kiln)


def setting(found: Assessment, kiln: Address) -> Letter | None:
    """Return the letter that a kiln's controller is set to, the replacement's if there is one; None if not known."""
    return _letter(found.answers, "control.set_type", kiln)


def _letter(answers: Answers, question: str, kiln: Address) -> Letter | None:
    said = given(answers, question, kiln)
    return None if said in (None, "none") else said


# ---------------------------------------------------------------------------------------- firings, money


def ware_mm(found: Assessment, kiln: Address) -> float | None:
    """Return the thickest piece of the first ware [mm]."""
    return found.answers.number("plan.ware_mm", kiln)


def top_degc(found: Assessment, kiln: Address) -> float | None:
    """Return the temperature that the owner's ware needs at the top [°C]."""
    return found.answers.number("plan.top_degc", kiln)


def firings(found: Assessment, kiln: Address) -> tuple[int, ...]:
    """Return after which firings it was agreed to look again; none where nothing was agreed."""
    agreed = found.answers.number("handover.recheck", kiln)
    return () if agreed is None else (int(agreed),)


def price_kwh(answers: Answers) -> Decimal | None:
    """Return the price of a kilowatt-hour, exactly as it was written; None where it is not known."""
    price = answers.number("plan.price_kwh", JOB)
    return None if price is None else Decimal(repr(price))


def money(answers: Answers) -> str:
    """Return in which money prices are, as it was written; empty where nobody said."""
    return answers.word("plan.money", JOB)


# ---------------------------------------------------------------------------------------- who and where


def isolator(found: Assessment, kiln: Address) -> str:
    """Return where the isolator is that whoever attends switches off, as it was written; empty where nobody said."""
    return found.answers.word("plan.isolator", kiln)


def way_out(answers: Answers) -> str:
    """Return where extinguisher and way out are, as it was written; empty where nobody said."""
    return answers.word("plan.way_out", JOB)


def called(answers: Answers) -> str:
    """Return who is called when something is wrong, as it was written; empty where nobody said."""
    return answers.word("plan.called", JOB)


# ---------------------------------------------------------------------------------------- when it may begin


def last_entry(found: Assessment) -> date | None:
    """Return the day of the journal's last line that tells of the kiln, by the job's own clock; None where none does.

    A report or a plan that was issued tells nothing new, so that neither moves a plan that is under way.
    """
    written = found.answers.last_entry
    return written.date() if written else None


def problems(found: Assessment, start: date | None) -> tuple[Problem, ...]:
    """Return what is wrong with a start, None where it is not known, and with a room that takes up no vapour."""
    return (*(_too_soon(found, start) if start else ()), *_no_vent(found.answers))


def _no_vent(answers: Answers) -> tuple[Problem, ...]:
    """Find a room that nothing takes vapour out of: what leaves the kiln would come back to it."""
    care = room_care(answers)
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
