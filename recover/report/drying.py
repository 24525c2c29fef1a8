"""The dry-out as a report prints it: water, weights, energy and hours, each with its span; stages of practice."""

from __future__ import annotations

from recover.assessment import Assessment
from recover.dryout import DRAWS, Drying, DryOut, Held, dry_outs
from recover.measures import show_number, show_quantity
from recover.physics.draws import Spread
from recover.physics.materials import Band
from recover.physics.stages import Stage
from recover.report.paper import Numbered, View, capital, say
from recover.report.words import words
from recover.sources import BASIS_WORDS, Citation

TOO_WIDE = 30
"""How many times its low end the high end of a band may be before the figure means nothing."""


def dryings(found: Assessment, numbered: Numbered) -> list[View]:
    """Return the first estimate of the dry-out, kiln by kiln."""
    return [_drying(found, one, numbered) for one in dry_outs(found)]


def weights(found: Assessment) -> list[View]:
    """Return what each kiln, its lid and one ring weigh wet: to be read before anybody lifts."""
    return [
        {"kiln": found.answers.label(one.kiln), "rows": _weights(found, one.held)}
        for one in dry_outs(found)
        if one.held
    ]


def advice(found: Assessment) -> list[str]:
    """Return what practice says of drying, as far as it concerns this loss."""
    return [say(applied) for applied in found.group("drying")]


def band(value: Band, unit: str, *, imperial: bool = False) -> str:
    """Print a band: likeliest, and in brackets its span. `34 kg (22 to 65)`; in other units the likeliest as well.

    A span of more than `TOO_WIDE` times says that something must be known first.
    """
    likeliest = show_quantity(value.mid, unit)
    if value.low == value.high:
        return likeliest
    if value.low <= 0 or value.high / value.low > TOO_WIDE:
        return str(words()["drying"]["too_wide"])
    other = f"; {show_quantity(value.mid, unit, imperial=True).split(' (')[0]}" if imperial else ""
    return f"{likeliest} ({show_number(value.low)} to {show_number(value.high)}){other}"


def drawn(value: Spread, unit: str) -> str:
    """Print what was reckoned by draws: the median, and in brackets the tenth and the ninetieth percentile."""
    return band(Band(value.p10, value.p50, value.p90), unit)


def _drying(found: Assessment, one: DryOut, numbered: Numbered) -> View:
    return {
        "kiln": found.answers.label(one.kiln), "missing": list(one.missing), "assumed": list(one.assumed),
        "pan": _pan(one), "spans": words()["drying"]["spans"].format(draws=show_number(DRAWS)),
        "water": _water(found, one.held) if one.held else [],
        "figures": _figures(found, one.held, one.drying) if one.held and one.drying else [],
        "stages": [_stage(stage, one.drying.thickness_mm, numbered) for stage in one.drying.stages]
        if one.drying and one.drying.reckoned else [],
        "nothing": words()["drying"]["nothing"] if one.drying and one.drying.reckoned is None else "",
        "lining": words()["lining_class"][one.drying.lining] if one.drying else "",
    }  # fmt: skip


def _pan(one: DryOut) -> str:
    return words()["drying"]["pan"].format(litres=show_number(one.pan_litres)) if one.pan_litres is not None else ""


def _water(found: Assessment, held: Held) -> list[View]:
    return [
        {
            "part": capital(found.answers.questions.questions["lining.parts"].label(row.part)),
            "material": row.layer.material.label, "thickness": show_quantity(row.layer.thickness_mm, "mm"),
            "state": words()["held"][row.layer.wet], "dry": band(row.dry_kg, "kg"), "water": drawn(water, "kg"),
        }
        for row, water in zip(held.rows, held.drawn.layers, strict=True)
    ]  # fmt: skip


def _weights(found: Assessment, held: Held) -> list[View]:
    imperial = found.profile.imperial
    shown = [("lid", held.lid), ("ring", held.ring), ("door", held.door), ("kiln", held.kiln)]
    return [
        {"label": words()["weights"][name], "value": band(value, "kg", imperial=imperial)}
        for name, value in shown if value is not None
    ]  # fmt: skip


def _figures(found: Assessment, held: Held, drying: Drying) -> list[View]:
    told = words()["drying"]
    water = held.drawn
    rows = [("water", drawn(water.water, "kg"))]
    rows += [("leaving", drawn(water.leaving, "kg"))] if water.leaving else []
    rows += [("salt", drawn(water.salt, "kg"))] if water.salt else []
    if drying.reckoned and drying.air_days and drying.room_m3h:
        rows += [
            ("air_days", band(drying.air_days, "day")),
            ("hours", band(drying.reckoned.hours, "hour")),
            ("energy", band(drying.reckoned.energy.total_kwh, "kWh")),
            ("vapour", band(drying.reckoned.peak_vapour_kg_h, "kg")),
            ("room", band(drying.room_m3h, "m3/h")),
        ]
    heated = show_quantity(drying.chamber_degc, "degC", imperial=found.profile.imperial)
    return [{"label": told[name].format(chamber=heated), "value": value} for name, value in rows]


def _stage(stage: Stage, thickness_mm: float, numbered: Numbered) -> View:
    low, high = show_number(stage.from_degc), show_number(stage.to_degc)
    ramps = [show_number(one) for one in (stage.ramp_min_k_h, stage.ramp_max_k_h) if one is not None]
    hours = stage.hours(thickness_mm)
    return {
        "name": words()["stage"][stage.name], "chamber": f"{low} °C" if low == high else f"{low} to {high} °C",
        "ramp": " to ".join(dict.fromkeys(ramps)) + " K/h" if ramps else "",
        "hold": " to ".join(dict.fromkeys(map(show_number, (hours.low, hours.high)))) + " h", "note": stage.note,
        "basis": BASIS_WORDS[stage.basis],
        "published": [
            {"says": one.says, "cites": numbered.cites([Citation(one.source, one.clause)])} for one in stage.published
        ],
    }  # fmt: skip
