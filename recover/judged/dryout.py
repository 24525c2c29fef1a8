"""The dry-out before there is a plan: what a kiln's lining holds and weighs, and what staged holds make of it.

It joins an assessment with `physics`. Layers that are to be replaced are left out of the drying, since they leave with
their water; everything else counts as wet as it may be. The stages of practice are run through the drying model; the
closed-form estimate stands beside it as the check by hand. What had to be assumed is said beside the figures, and what
is missing instead of them.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal, cast

from recover.asked.answers import Answers
from recover.base.addresses import JOB, Address, name_of, within
from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.measures import show_hours, show_quantity
from recover.judged.readings import air_of_room_degc
from recover.judged.wetmap import STATES, line_mm
from recover.physics.air import Air, boiling_degc, pressure_at_pa
from recover.physics.draws import Ranks, Spread, spread
from recover.physics.estimate import DryingEstimate, estimate
from recover.physics.figures import Knowledge
from recover.physics.lining import ChamberShape, Layer, LayerStack, Lining, Part, PartWet
from recover.physics.materials import Band, material, material_data
from recover.physics.staged import Heating, Staged, setups_of, staged
from recover.physics.stages import (
    StageClass,
    air_drying_days,
    below_boiling_degc,
    stage_class,
    stages,
    unknown_height_m,
)
from recover.physics.uptake import (
    LayerWater,
    calibrated,
    drawn_water,
    dry_kg,
    layer_water,
    part_kg,
    salt_kg,
    water_kg,
)
from recover.physics.wallfile import Study, write
from recover.profiles import own_limits

if TYPE_CHECKING:
    from recover.judged.assessment import Assessment

HELD: dict[str, PartWet] = {"submerged": "soaked", "splashed": "splashed", "damp": "damp", "dry": "dry"}
"""How the sums call what the wet map calls."""

CASING = {"framed": "loosened", "welded": "sealed", "jacket": "seams"}
"""How open a casing can be made while it dries, by what holds the lining; unknown counts as open at its seams."""

BRICK = ("ifb_23", "ifb_26", "ifb_28")
"""What a weighed piece of insulating brick speaks for."""

OUTDOORS = Air(10, 80)
"""The air that comes in where a room is aired: a cool, damp day, for a figure of the right size."""

OPENING = "plugs_out"
"""How the chamber stands open while it is heated: what can be done without lifting a lid."""

Disagreement = Literal["longer", "shorter", "not_within"]
TWICE = 2.0
"""How many times apart run and check by hand may be before it is explained."""

DRAWS, SEED = 1000, 1
"""How many draws the water is reckoned with, and from which seed: the same answers give the same paper."""


@dataclass(frozen=True, kw_only=True)
class Held:
    """What the lining holds and weighs [kg], layer by layer and in what somebody lifts.

    Water is by draws: of each of the `rows`, in all, what leaves with old layers (None where nothing does), and the
    salt it leaves behind (None where it is fresh, or how salt it is is not known). What is lifted must not be reckoned
    too light: those bands take every low assumption together and every high one.
    """

    rows: tuple[LayerWater, ...]
    layers: tuple[Spread, ...]
    water: Spread
    leaving: Spread | None
    salt: Spread | None
    kiln: Band
    lid: Band | None
    ring: Band | None
    door: Band | None


@dataclass(frozen=True, kw_only=True)
class Drying:
    """What it takes to dry the layers that stay: the stages of practice run, and one hold reckoned by hand as a check.

    The last five are None where nothing is wet, or the room is `frozen`: no drying is counted before it has thawed.
    """

    lining: StageClass
    chamber_degc: float
    run: Staged | None = None
    reckoned: DryingEstimate | None = None
    disagrees: Disagreement | None = None
    air_days: Band | None = None
    room_m3h: Band | None = None
    frozen: bool = False


@dataclass(frozen=True, kw_only=True)
class DryOut:
    """The dry-out of one kiln: water in the pan [l], and figures, or what is missing for them."""

    kiln: Address
    pan_litres: float | None
    missing: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    held: Held | None = None
    drying: Drying | None = None


def dry_outs(found: Assessment) -> tuple[DryOut, ...]:
    """Return the dry-out of each kiln of a job."""
    return tuple(_dry_out(found, kiln) for kiln in found.answers.kilns)


@dataclass(frozen=True)
class _Wet:
    """A kiln's lining as found, what of it stays, and what its soaked layers hold [kg/m³] where that is known."""

    whole: Lining
    staying: Lining
    known: dict[str, Band]
    knowledge: Knowledge

    @property
    def dries(self) -> bool:
        """Whether anything that stays holds water."""
        return water_kg(layer_water(self.staying, self.known)).high > 0


def _dry_out(found: Assessment, kiln: Address) -> DryOut:
    answers, assumed = found.answers, _Assumed()
    pan = answers.number("casing.pan_litres", kiln)
    missing = lacking(found, kiln)
    if missing:
        return DryOut(kiln=kiln, pan_litres=pan, missing=missing)
    wet = _wet_lining(found, kiln, assumed)
    return DryOut(
        kiln=kiln, pan_litres=pan, assumed=tuple(assumed.lines),
        held=_held(answers, kiln, wet), drying=_drying(answers, kiln, wet),
    )  # fmt: skip


def _wet_lining(found: Assessment, kiln: Address, assumed: _Assumed) -> _Wet:
    chamber = _chamber(found.answers, kiln, assumed)
    whole = Lining(chamber, _stacks(found, kiln, chamber, assumed))
    soaked, weighed = _soaked(found.answers, whole, assumed), _weighed(found.answers, kiln, assumed)
    if any(stack.part == "floor" for stack in whole.stacks) and not found.answers.word("casing.pan", kiln):
        assumed.add("pan")
    staying = replace(whole, stacks=_staying(found, kiln, whole))
    if staying != whole:
        assumed.add("replaced")
    _say_height(_height_m(found.answers), assumed)
    if found.answers.fact("frost_hazard", JOB) == frozenset({"open"}):
        assumed.add("frost")
    return _Wet(whole, staying, soaked | weighed, "weighed" if weighed else "assumed")


def to_weigh(found: Assessment, kiln: Address) -> bool:
    """Whether weighing a brick would tell more: insulating brick that stays holds water, and none was weighed."""
    if lacking(found, kiln):
        return False
    wet = _wet_lining(found, kiln, _Assumed())
    layers = (layer for stack in wet.staying.stacks for layer in stack.layers)
    return wet.knowledge == "assumed" and any(one.wet != "dry" and one.material.id in BRICK for one in layers)


def _held(answers: Answers, kiln: Address, wet: _Wet) -> Held:
    rows, drawn = layer_water(wet.whole, wet.known), drawn_water(wet.whole, Ranks(DRAWS, SEED), wet.known)
    water, grams = drawn.sum(axis=0), _salt_g_l(answers)
    leaving = water - drawn_water(wet.staying, Ranks(DRAWS, SEED), wet.known).sum(axis=0)
    sections = int(answers.number("identity.sections", kiln) or 1)
    lifted = answers.word("identity.opening", kiln) != "front"
    return Held(
        rows=rows, layers=tuple(map(spread, drawn)), water=spread(water),
        leaving=spread(leaving) if leaving.max() > 0 else None,
        salt=spread(salt_kg(water, grams, SEED)) if grams else None,
        kiln=_kiln_kg(answers, rows), lid=_part_kg(rows, "lid") if lifted else None,
        ring=part_kg(rows, "wall", sections) if lifted else None, door=_part_kg(rows, "door"),
    )  # fmt: skip


def _kiln_kg(answers: Answers, rows: tuple[LayerWater, ...]) -> Band:
    """Return the wet mass [kg] of a kiln: lining, its water, and a shell by its share; without water in the pan."""
    low, high = answers.limits["shell_share_low"], answers.limits["shell_share_high"]
    dry = dry_kg(rows)
    return dry + water_kg(rows) + dry * Band(low, (low + high) / 2, high)


def _part_kg(rows: tuple[LayerWater, ...], part: Part) -> Band | None:
    return part_kg(rows, part) if any(row.part == part for row in rows) else None


# ---------------------------------------------------------------------------------------- drying


def _drying(answers: Answers, kiln: Address, wet: _Wet) -> Drying:
    """Return what it takes to dry what stays, staged by the kind of its wall."""
    heating = _heating(answers, kiln, wet)
    kind = stage_class(wet.staying.wall)
    chamber_degc = next(stage.to_degc for stage in heating.stages if stage.name == "cold_side")
    if not wet.dries or frozen(answers):
        return Drying(lining=kind, chamber_degc=chamber_degc, frozen=wet.dries)
    run = staged(heating)
    reckoned = estimate(wet.staying, chamber_degc, heating.casing, heating.room_degc, wet.known)
    vapour = run.vapour_kg_h
    return Drying(
        lining=kind, chamber_degc=chamber_degc, run=run, reckoned=reckoned, disagrees=_disagreement(run, reckoned),
        air_days=air_drying_days(kind, heating.room_degc, heated=False),
        room_m3h=Band(vapour.p10, vapour.p50, vapour.p90) * ventilation_m3_h(1.0, OUTDOORS.at(heating.height_m)),
    )  # fmt: skip


def ventilation_m3_h(vapour_kg_h: float, outside: Air) -> float:
    """Return the air that must leave a room [m³/h] to take up so much vapour: V = m / (ρ ΔW), ΔW an own limit."""
    return vapour_kg_h / (outside.dry_kg_m3 * own_limits()["room_rise_g_kg"].value / 1000)


def linings(found: Assessment) -> dict[Address, Lining]:
    """Return the lining that stays of each kiln of which enough is known."""
    return {kiln: wet.staying for kiln, wet in _wet_linings(found).items()}


def heatings(found: Assessment) -> dict[Address, Heating]:
    """Return how each kiln that has something to dry is heated: its lining, casing, chamber, power and room.

    None is before a frozen room has thawed.
    """
    if frozen(found.answers):
        return {}
    return {kiln: _heating(found.answers, kiln, wet) for kiln, wet in _wet_linings(found).items() if wet.dries}


def going(found: Assessment, kiln: Address) -> tuple[tuple[Part, int], ...]:
    """Return the layers behind the hot face that are still to be replaced, by part and number from 0."""
    replaced = _replaced(found)
    parts = found.answers.components("part", of=kiln)
    done = {part for part in parts if found.answers.word("lining.done", part) == "yes"}
    return tuple(
        (cast(Part, name_of(part)), number)
        for part in parts
        for number, at in enumerate(found.answers.components("layer", of=part))
        if number and at in replaced and part not in done
    )


def hot_faces_go(found: Assessment, kiln: Address) -> bool:
    """Whether a hot face is still to be replaced: the plan takes it as new, and dry."""
    replaced = _replaced(found)
    return any(
        at in replaced and found.answers.word("lining.done", part) != "yes"
        for part in found.answers.components("part", of=kiln)
        for at in list(found.answers.components("layer", of=part))[:1]
    )


def frozen(answers: Answers) -> bool:
    """Whether a reading below freezing is not cleared as frost, or the room's air was below freezing when last read.

    One mild reading thaws nothing: a kiln takes days.
    """
    fact, air_degc = answers.questions.facts["frost_hazard"], air_of_room_degc(answers)
    is_open = answers.fact(fact.id, JOB) == frozenset({"open"})
    was_read = any(answers.below(fact, one) for one in answers.sightings(fact))
    return (is_open and was_read) or (air_degc is not None and air_degc < 0)


def _wet_linings(found: Assessment) -> dict[Address, _Wet]:
    kilns = [kiln for kiln in found.answers.kilns if not lacking(found, kiln)]
    return {kiln: _wet_lining(found, kiln, _Assumed()) for kiln in kilns}


def walls(found: Assessment, folder: Path) -> list[Path]:
    """Write the walls of each kiln that has something to dry, at the middle draw, and return the files."""
    written = []
    for one in dry_outs(found):
        if one.drying and (run := one.drying.run):
            path = folder / f"{one.kiln.replace('/', '-')}.toml"
            title = f"{found.job}, {found.answers.label(one.kiln)}"
            write(Study(title, setups_of(run.heating)[run.middle], run.ends_h), path)
            written.append(path)
    return written


def _heating(answers: Answers, kiln: Address, wet: _Wet) -> Heating:
    air, height_m = room(answers), _height_m(answers)
    casing = CASING.get(answers.word("casing.build", kiln), "seams")
    return Heating(
        lining=wet.staying, stages=stages(stage_class(wet.staying.wall), height_m), casing=casing, opening=OPENING,
        room_degc=air.degc, room_vapour=air.at(height_m).vapour_share,
        power_kw=answers.number("identity.kw", kiln), held=tuple(sorted(wet.known.items())),
        pan=answers.word("casing.pan", kiln), height_m=height_m, knowledge=wet.knowledge,
    )  # fmt: skip


def _disagreement(run: Staged, reckoned: DryingEstimate) -> Disagreement | None:
    """Say how the run and the check by hand differ, where they are more than twice apart."""
    if run.hours_to_nine_tenths is None:
        return "not_within"
    times = run.hours_to_nine_tenths.p50 / reckoned.hours.mid
    return "longer" if times > TWICE else "shorter" if times < 1 / TWICE else None


def _height_m(answers: Answers) -> float | None:
    """Return how high above the sea the kilns stand [m]; None where nobody said."""
    return answers.number("site.altitude", JOB)


def room(answers: Answers) -> Air:
    """Return the air of the room as it was read; unread, and outside what the sums hold for, a cool and damp room."""
    air_degc, percent = air_of_room_degc(answers), answers.number("event.air", JOB)
    if air_degc is None or percent is None or not 0 <= air_degc <= 60:
        return Air(15, 70)
    return Air(air_degc, percent)


def _replaced(found: Assessment) -> set[Address]:
    """Return the layers that are to be replaced."""
    return {finding.at for finding in found.findings if finding.table.id == "lining" and finding.words == "replace"}


def _staying(found: Assessment, kiln: Address, whole: Lining) -> tuple[LayerStack, ...]:
    """Return the stacks with every layer that is to be replaced taken as new: dry, and in its place from the start."""
    replaced = _replaced(found)
    return tuple(
        replace(stack, layers=tuple(
            replace(layer, wet="dry") if f"{kiln}/part/{stack.part}/layer/{number}" in replaced else layer
            for number, layer in enumerate(stack.layers, start=1)
        ))
        for stack in whole.stacks
    )  # fmt: skip


# ---------------------------------------------------------------------------------------- what is there


def lacking(found: Assessment, kiln: Address) -> tuple[str, ...]:
    """Return what is not known of a kiln, and without which nothing can be said of its lining."""
    answers, words = found.answers, _words().missing
    depth = answers.word("identity.shape", kiln) in ("oval", "rectangular")
    needed = [name for name in words if name != "identity.inside_depth" or depth]
    return tuple(words[name] for name in needed if not answers.look(name, kiln))


def _chamber(answers: Answers, kiln: Address, assumed: _Assumed) -> ChamberShape:
    width = answers.number("identity.inside_width", kiln) or 0.0
    depth = answers.number("identity.inside_depth", kiln) or width
    floor = answers.number("identity.floor_face", kiln)
    if floor is None:
        assumed.add("floor")
    shape = cast(Literal["round", "oval", "polygon", "rectangular"], answers.word("identity.shape", kiln))
    return ChamberShape(
        shape, width, depth, answers.number("identity.inside_height", kiln) or 0.0, floor_mm=floor or 0.0
    )


def _stacks(found: Assessment, kiln: Address, chamber: ChamberShape, assumed: _Assumed) -> tuple[LayerStack, ...]:
    answers = found.answers
    parts = list(answers.components("part", of=kiln))
    if chamber.shape != "rectangular" and any(name_of(at) == "door" for at in parts):
        assumed.add("door")
        parts = [at for at in parts if name_of(at) != "door"]
    return tuple(
        LayerStack(cast(Part, name_of(part)), tuple(
            _layer(found, at, chamber, assumed) for at in answers.components("layer", of=part)
        ))
        for part in parts
    )  # fmt: skip


def _layer(found: Assessment, at: Address, chamber: ChamberShape, assumed: _Assumed) -> Layer:
    answers, where = found.answers, found.answers.label(at)
    known = answers.word("layer.material", at)
    thickness = answers.number("layer.thickness", at)
    if not known:
        assumed.add("material", where=where)
    if thickness is None:
        thickness = answers.limits["assumed_layer_mm"]
        assumed.add("thickness", where=where, thickness=show_quantity(thickness, "mm"))
    wet = _wet(found, at, where, assumed)
    top = _wet_to_mm(answers, at, wet, chamber, assumed)
    return Layer(known or "unknown", thickness, wet, top)


def _wet(found: Assessment, at: Address, where: str, assumed: _Assumed) -> PartWet:
    states = next(one.states for one in found.wet if (one.at, one.kind) == (at, "layer"))
    worst = max(states, key=STATES.index)
    if len(states) > 1:
        assumed.add("state", where=where, state=worst)
    return HELD[worst]


def _wet_to_mm(answers: Answers, at: Address, wet: PartWet, chamber: ChamberShape, assumed: _Assumed) -> float:
    """Return how high a layer is wet: to the water line where it soaked, over all its height where it was splashed."""
    top = chamber.floor_mm + chamber.height_mm
    if wet != "soaked" or name_of(within(at, "part") or "") in ("floor", "lid"):
        return top
    kiln = within(at, "kiln") or at
    line, inside = line_mm(answers, kiln), answers.number("event.inside", kiln)
    reach = answers.look("event.reach", kiln)
    if reach == frozenset({"over"}):
        return top
    if reach is None or (line is None and not inside):
        assumed.add("line")
        return top
    return max(line or 0.0, chamber.floor_mm + inside if inside else 0.0, 1.0)


def _say_height(height_m: float | None, assumed: _Assumed) -> None:
    """Say what a height that nobody told counts as, or by which boiling point holds are lowered."""
    if height_m is None:
        hold = show_quantity(below_boiling_degc(None), "degC")
        assumed.add("height", height=show_quantity(unknown_height_m(), "m"), hold=hold)
    elif (highest := below_boiling_degc(height_m)) < below_boiling_degc(0.0):
        boils, hold = round(boiling_degc(pressure_at_pa(height_m)), 1), show_quantity(highest, "degC")
        assumed.add("high", height=show_quantity(height_m, "m"), boils=show_quantity(boils, "degC"), hold=hold)


def _soaked(answers: Answers, lining: Lining, assumed: _Assumed) -> dict[str, Band]:
    """Return what soaked layers hold [kg/m³] by the hours that they lay under water and the days since."""
    soaked = {layer.material_id for stack in lining.stacks for layer in stack.layers if layer.wet == "soaked"}
    hours, days = _hours_under_water(answers), _days_drained(answers)
    if soaked:
        assumed.add("soaked", under=_hours_said(hours), drained=_days_said(days))
    return {name: material(name).soaked_for(hours, days or 0.0) for name in soaked}


def _hours_under_water(answers: Answers) -> float | None:
    """Return the hours under water, as far as they are counted; None where they are not known."""
    hours = answers.number("hours_wet", JOB)
    return None if hours is None or hours < 0 else min(hours, material_data().counted_hours.mid)


def _days_drained(answers: Answers) -> float | None:
    """Return the days from when the water was out until somebody first saw how the lining is, as counted.

    None where either is not known: no draining is counted then.
    """
    out = answers.answer("event.water_out", JOB)
    about = [one for one in answers.given.values() if one.question.startswith(("lining.", "layer."))]
    looked = [moment for one in about if (moment := one.measured or one.moment)]
    if out is None or out.state != "given" or not looked:
        return None
    days = float((min(looked) - out.value).total_seconds() / 86400)
    return min(max(days, 0.0), material_data().counted_days.mid)


def _hours_said(hours: float | None) -> str:
    told = _words().soaked
    if hours is None:
        return told["hours_unknown"]
    return told["or_more" if hours == material_data().counted_hours.mid else "exactly"].format(time=show_hours(hours))


def _days_said(days: float | None) -> str:
    told = _words().soaked
    if days is None:
        return told["days_unknown"]
    return told["or_more" if days == material_data().counted_days.mid else "exactly"].format(
        time=show_quantity(days, "day")
    )


def _weighed(answers: Answers, kiln: Address, assumed: _Assumed) -> dict[str, Band]:
    """Return what insulating brick holds [kg/m³] by a weighed piece; empty where there is none, or it cannot be."""
    names = ("lining.brick_wet", "lining.brick_dry", "lining.brick_volume")
    wet, dry, litres = (answers.number(name, kiln) for name in names)
    bricks = {
        name for at in answers.components("layer", of=kiln) if (name := answers.word("layer.material", at)) in BRICK
    }
    if wet is None or dry is None or litres is None or not bricks:
        return {}
    try:
        held = {name: calibrated(material(name), wet, dry, litres / 1000) for name in bricks}
    except QuantityError as error:
        assumed.add("weighing", why=str(error))
        return {}
    assumed.add("weighed")
    return held


def _salt_g_l(answers: Answers) -> Band | None:
    """Return the salt in the water [g/l]: by the meter, or as sea water; None where it is not known to be salt."""
    salinity, reading = answers.fact("salinity", JOB), answers.number("event.conductivity", JOB)
    if salinity is not None and not salinity - {"fresh"}:
        return None
    if reading is not None:
        low, high = answers.limits["salt_g_per_us_low"], answers.limits["salt_g_per_us_high"]
        return Band(low * reading, (low + high) / 2 * reading, high * reading)
    return material_data().sea_salt_g_l if salinity == frozenset({"sea"}) else None


# ---------------------------------------------------------------------------------------- small things


@dataclass
class _Assumed:
    """What had to be assumed, each line once, in the order in which it came up."""

    lines: list[str] = field(default_factory=list)

    def add(self, name: str, **values: str) -> None:
        line = _words().assumed[name].format(**values)
        if line not in self.lines:
            self.lines.append(line)


@dataclass(frozen=True)
class _Words:
    soaked: dict[str, str]
    missing: dict[str, str]
    assumed: dict[str, str]


@cache
def _words() -> _Words:
    return load("judged/dryout.toml", "recover-dryout", _Words)
