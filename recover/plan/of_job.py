"""What a plan takes from a job: its answers and its assessment, read for the rooms of the plan.

What is not known closes a way to dry rather than opening it, or is None (empty, for words), so that a paper leaves a
blank and no sum is made with a guess.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from math import ceil

from recover.asked.answers import Answers
from recover.base.addresses import JOB, Address
from recover.controller.capability import Controller
from recover.engineering.thermocouples import Letter
from recover.judged.assessment import Assessment
from recover.judged.dryout import OUTDOORS, heatings, linings
from recover.judged.readings import rating
from recover.physics.lining import Lining
from recover.physics.staged import Heating
from recover.plan.installed import controller_of
from recover.plan.prices import price_kwh
from recover.plan.strategies import Circumstances
from recover.schedule.limits import Limits, RoomCare, limits_of
from recover.schedule.spells import Attendance

GATE = "own_heat"
"""The hold point before a kiln is heated with its own elements."""


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What planning takes of one kiln: a plan that rests on other than this is overtaken. Not known is None, or empty.

    `limits` and `circumstances` are None where its lining is not planned for. `probe` and `setting` are the letters of
    the probe and of what the controller is set to, the replacement's if there is one; `ware_mm` is the thickest piece
    of the first ware, `top_degc` the hottest that it is to fire: what the ware needs, `plate_degc` what its plate says;
    `looks` are the firings after which it was agreed to look again.
    """

    kiln: Address
    lining: Lining | None
    circumstances: Circumstances | None
    limits: Limits | None
    gate_open: bool
    controller: Controller
    probe: Letter | None
    setting: Letter | None
    ware_mm: float | None
    top_degc: float | None
    plate_degc: float | None
    looks: tuple[int, ...]
    price_kwh: Decimal | None

    @property
    def heating(self) -> Heating | None:
        """How its lining is heated to dry it."""
        return self.circumstances.heating if self.circumstances else None


def taken(found: Assessment, there: Attendance, start: date) -> tuple[Taken, ...]:
    """Return what planning takes of each kiln, with who is there when, and the day of the first opening."""
    dries, whole = heatings(found), linings(found)
    return tuple(_taken(found, kiln, dries.get(kiln), whole.get(kiln), there, start) for kiln in found.answers.kilns)


def _taken(
    found: Assessment, kiln: Address, heating: Heating | None, lining: Lining | None, there: Attendance, start: date
) -> Taken:
    answers, looks = found.answers, found.answers.number("handover.recheck", kiln)
    return Taken(
        kiln=kiln, lining=lining,
        circumstances=_circumstances(found, kiln, heating, there, start) if heating else None,
        limits=_limits(found, kiln, heating, there) if heating else None,
        gate_open=gate_open(found, kiln), controller=controller_of(answers, kiln),
        probe=_letter(answers, "control.probe_type", kiln), setting=_letter(answers, "control.set_type", kiln),
        ware_mm=answers.number("plan.ware_mm", kiln), top_degc=answers.number("plan.top_degc", kiln),
        plate_degc=answers.number("identity.max_c", kiln), looks=() if looks is None else (int(looks),),
        price_kwh=price_kwh(answers),
    )  # fmt: skip


def gate_open(found: Assessment, kiln: Address) -> bool:
    """Whether nothing is missing before heating with a kiln's own elements. It is still for named people to release."""
    return any((hold.point.id, hold.at) == (GATE, kiln) and not hold.missing for hold in found.holds)


def _letter(answers: Answers, question: str, kiln: Address) -> Letter | None:
    """Return a letter that was read off; None where there is none, or nobody knows."""
    said = answers.recorded(question, kiln)
    return None if said in (None, "none") else said


# ---------------------------------------------------------------------------------------- ways to dry, and limits


def _circumstances(
    found: Assessment, kiln: Address, heating: Heating, attendance: Attendance, start: date
) -> Circumstances:
    """Return what decides which ways to dry a kiln are open."""
    answers, said = found.answers, _as_last_said(found.answers)
    lead_days = answers.number("plan.lead_days", kiln)
    return Circumstances(
        heating=heating, build=answers.word("casing.build", kiln), salt=_salt(answers),
        gate_open=gate_open(found, kiln), sections=int(answers.number("identity.sections", kiln) or 1),
        workshop=answers.word("plan.workshop", kiln) == "yes", supply_kw=said.number("plan.supply_kw", JOB),
        attendance=attendance, start=start, lead_days=None if lead_days is None else ceil(lead_days),
        price_kwh=price_kwh(answers),
        shut=tuple((one.way, one.because) for one in found.shut if one.kiln == kiln),
    )  # fmt: skip


def _as_last_said(answers: Answers) -> Answers:
    """Return the same with what was taken back still said: a limit that nobody knows any more is no limit lifted."""
    return answers.as_last_given or answers


def _salt(answers: Answers) -> str:
    """Return how salt the water is: fresh, brackish or sea; the mildest that is certain, empty where none is.

    Water that is brackish or sea is brackish at least; what may be fresh, and may not, is not known.
    """
    possible = answers.look("salinity", JOB) or frozenset()
    if len(possible) == 1:
        return str(next(iter(possible)))
    return "brackish" if possible == {"brackish", "sea"} else ""


def _limits(found: Assessment, kiln: Address, heating: Heating, attendance: Attendance) -> Limits:
    """Return what a kiln's schedule keeps to: its power by plate or ohms, attendance, what the room takes up."""
    rated = rating(found.answers, kiln)
    power_kw = heating.power_kw or (rated.kw if rated else None)
    care, pest = room_care(found.answers), _may_crumble(found.answers, kiln)
    return limits_of(heating.stages, power_kw, attendance.hours, care, OUTDOORS.at(heating.height_m), pest=pest)


def _may_crumble(answers: Answers, kiln: Address) -> bool:
    """Whether a kiln's elements are, or may be, of molybdenum disilicide: what nobody named may be."""
    alloys = answers.look("element.alloy", kiln)
    return alloys is None or "disilicide" in alloys


def room_care(answers: Answers) -> RoomCare | None:
    """Return what takes vapour out of the room; None where that is not known: one that does nothing tells nothing."""
    said = _as_last_said(answers)
    air_m3_h, litres = said.number("plan.exhaust", JOB), said.number("plan.dehumidifier", JOB)
    return None if None in (air_m3_h, litres) and not (air_m3_h or litres) else RoomCare(air_m3_h, litres)


# ---------------------------------------------------------------------------------------- money
