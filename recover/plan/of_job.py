"""What a plan takes from a job: its answers and its assessment, read for the rooms of the plan.

What is not known closes a way to dry rather than opening it, or is None (empty, for words), so that a paper leaves a
blank and no sum is made with a guess.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from math import ceil

from recover.asked.answers import Answers
from recover.base.addresses import JOB, Address
from recover.controller.capability import Controller
from recover.engineering.thermocouples import Letter
from recover.judged.admissible import lacking
from recover.judged.assessment import Assessment
from recover.judged.dryout import OUTDOORS, going, heatings, hot_faces_go, linings, room
from recover.judged.readings import rating
from recover.physics.figures import figures
from recover.physics.lining import Lining, Part
from recover.physics.room import RoomAir
from recover.physics.staged import Heating
from recover.plan.installed import controller_of
from recover.plan.piece import Piece, piece_of
from recover.plan.prices import price_kwh, rate_hour
from recover.schedule.limits import RoomCare

GATE = "own_heat"
"""The hold point before a kiln is heated with its own elements."""

HANDED_OVER = "handover"
"""The hold point after which the owner uses a kiln again."""

Boards = tuple[tuple[Part, int], ...]
"""Layers by part and number from 0, hot face first."""


@dataclass(frozen=True)
class ShutWay:
    """A way to dry that the place shuts: by what, in a word each, and the sentences."""

    way: str
    by: tuple[str, ...]
    because: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What planning takes of one kiln: a plan that rests on other than this is overtaken. Not known is None, or empty.

    `heating` is None where its lining is not planned for. `going` are the layers that are to be replaced, `strippable`
    those behind the hot face that are soaked and stay; `boards_can_go` says that they come out from outside while the
    brick stays; `hot_faces_go`, that bricks of a hot face are to be replaced. `gate_open`: nothing is missing before
    heating with its own elements; it is still for named people to release. `supply_kw` is what a supply that may be
    used gives. `shut` are the ways that the place shuts. `crumbles`: its elements are, or may be, of molybdenum
    disilicide. `probe` and `setting` are the letters of the probe and of what the controller is set to, the
    replacement's if there is one; `ware_mm` is the thickest piece of the first ware, `top_degc` the hottest that it is
    to fire: what the ware needs, `plate_degc` what its plate says; `looks` are the firings after which it was agreed to
    look again.
    """

    kiln: Address
    lining: Lining | None
    heating: Heating | None
    room: RoomAir
    care: RoomCare | None
    going: Boards
    strippable: Boards
    boards_can_go: bool
    hot_faces_go: bool
    salt: str
    sections: int
    workshop: bool
    supply_kw: float | None
    movers_alone: bool
    enclosure_alone: bool
    shut: tuple[ShutWay, ...]
    gate_open: bool
    piece: Piece | None
    power_kw: float | None
    crumbles: bool
    controller: Controller
    probe: Letter | None
    setting: Letter | None
    isolator: str
    heater_off: str
    lead_days: int | None
    price_kwh: Decimal | None
    rate_hour: Decimal | None
    ware_mm: float | None
    top_degc: float | None
    plate_degc: float | None
    looks: tuple[int, ...]

    @property
    def room_degc(self) -> float:
        """The kiln room's temperature by day."""
        return self.room.day_degc

    def why_shut(self, way: str) -> tuple[str, ...]:
        """Return the sentences that shut a way; none where the place leaves it open."""
        return next((one.because for one in self.shut if one.way == way), ())


def taken(found: Assessment) -> tuple[Taken, ...]:
    """Return what planning takes of each kiln; of one assessment it is read once."""
    if not (_LAST and _LAST[0][0] is found):
        dries, whole = heatings(found), linings(found)
        _LAST[:] = [(found, tuple(_taken(found, at, dries.get(at), whole.get(at)) for at in found.answers.kilns))]
    return _LAST[0][1]


_LAST: list[tuple[Assessment, tuple[Taken, ...]]] = []
"""What was taken of the last assessment: whether a plan holds, took in its log and how it goes on, all ask for it."""


def _taken(found: Assessment, kiln: Address, heating: Heating | None, lining: Lining | None) -> Taken:
    answers, said = found.answers, _as_last_said(found.answers)
    looks, lead_days = answers.number("handover.recheck", kiln), answers.number("plan.lead_days", kiln)
    return Taken(
        kiln=kiln, lining=lining, heating=heating, room=_room(found), care=room_care(answers),
        going=going(found, kiln) if lining else (), strippable=_strippable(lining) if lining else (),
        boards_can_go=answers.word("casing.build", kiln) == "framed",
        hot_faces_go=hot_faces_go(found, kiln), salt=_salt(answers),
        sections=int(answers.number("identity.sections", kiln) or 1),
        workshop=answers.word("plan.workshop", kiln) == "yes", supply_kw=said.number("plan.supply_kw", JOB),
        movers_alone=_agreed(found, "plan.movers_alone"), enclosure_alone=_agreed(found, "plan.enclosure_alone"),
        shut=tuple(ShutWay(one.way, one.by, one.because) for one in found.shut if one.kiln == kiln),
        gate_open=gate_open(found, kiln), piece=_piece(answers, kiln, lining), power_kw=_power_kw(found, kiln, heating),
        crumbles=_may_crumble(answers, kiln), controller=controller_of(answers, kiln),
        probe=_letter(answers, "control.probe_type", kiln), setting=_letter(answers, "control.set_type", kiln),
        isolator=answers.word("plan.isolator", kiln), heater_off=answers.word("plan.heater_off", JOB),
        lead_days=None if lead_days is None else ceil(lead_days), price_kwh=price_kwh(answers),
        rate_hour=rate_hour(answers),
        ware_mm=answers.number("plan.ware_mm", kiln), top_degc=answers.number("plan.top_degc", kiln),
        plate_degc=answers.number("identity.max_c", kiln), looks=() if looks is None else (int(looks),),
    )  # fmt: skip


def gate_open(found: Assessment, kiln: Address) -> bool:
    """Whether nothing is missing before heating with a kiln's own elements. It is still for named people to release."""
    return any((hold.point.id, hold.at) == (GATE, kiln) and not hold.missing for hold in found.holds)


def _agreed(found: Assessment, question: str) -> bool:
    """Whether something was agreed to by whoever may, in writing; not known, or not shown, is no."""
    return lacking(found.answers, found.profile, {question: "yes"}, JOB) is None


def _strippable(lining: Lining) -> Boards:
    """Return the layers behind the hot face that are soaked and stay."""
    return tuple(
        (stack.part, number) for stack in lining.stacks for number, layer in enumerate(stack.layers)
        if number and layer.wet == "soaked"
    )  # fmt: skip


def _letter(answers: Answers, question: str, kiln: Address) -> Letter | None:
    """Return a letter that was read off; None where there is none, or nobody knows."""
    said = answers.recorded(question, kiln)
    return None if said in (None, "none") else said


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


def _power_kw(found: Assessment, kiln: Address, heating: Heating | None) -> float | None:
    """Return the power of its elements, by plate or ohms."""
    rated = rating(found.answers, kiln)
    return (heating.power_kw if heating else None) or (rated.kw if rated else None)


def _may_crumble(answers: Answers, kiln: Address) -> bool:
    """Whether a kiln's elements are, or may be, of molybdenum disilicide: what nobody named may be."""
    alloys = answers.look("element.alloy", kiln)
    return alloys is None or "disilicide" in alloys


def room_care(answers: Answers) -> RoomCare | None:
    """Return what takes vapour out of the room; None where that is not known: one that does nothing tells nothing.

    A room without a fan, or with a weak one, still lets out what leaves any room by itself.
    """
    said = _as_last_said(answers)
    air_m3_h, litres = said.number("plan.exhaust", JOB), said.number("plan.dehumidifier", JOB)
    if None in (air_m3_h, litres) and not (air_m3_h or litres):
        return None
    leaves_m3_h = None if air_m3_h is None else max(air_m3_h, figures().room_air_m3_h.mid)
    return RoomCare(leaves_m3_h, litres)


def _room(found: Assessment) -> RoomAir:
    """Return the air of the room as it was read; without a fan that is known, what doors and windows let through."""
    height_m, care = found.answers.number("site.altitude", JOB), room_care(found.answers) or RoomCare()
    read = room(found.answers)
    return RoomAir.of(read.at(height_m), OUTDOORS.at(height_m), care.air_m3_h, care.dehumidifier_l_day)


def _piece(answers: Answers, kiln: Address, lining: Lining | None) -> Piece | None:
    """Return the piece that is weighed; None where no lining is known."""
    wet_kg, dry_kg = (answers.number(name, kiln) for name in ("lining.brick_wet", "lining.brick_dry"))
    return piece_of(lining, wet_kg, dry_kg) if lining else None
