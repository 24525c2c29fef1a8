"""The dry-out as a report prints it: water, weights, energy and hours, each with its span; what staged holds do."""

from __future__ import annotations

from typing import Any

from recover.base.measures import show_number, show_quantity
from recover.base.sources import BASIS_WORDS, Citation
from recover.judged.assessment import Assessment
from recover.judged.dryout import DRAWS, Drying, DryOut, Held, dry_outs, to_weigh
from recover.physics.draws import Spread
from recover.physics.figures import casing, opening, pans
from recover.physics.staged import At, Staged, middle_run
from recover.physics.stages import Stage
from recover.profiles import own_limits
from recover.report.decides import decides
from recover.report.paper import Numbered, View, band, capital, drawn, say, share, span
from recover.report.words import words


def lining_water(found: Assessment, numbered: Numbered) -> View:
    """Return the dry-out as far as it can be said, and what each kiln, its lid and one ring weigh before drying.

    The weights are to be read before anybody lifts; the advice is what practice says, as far as it concerns this loss.
    """
    outs = dry_outs(found)
    return {
        "dryings": [_drying(found, one, numbered) for one in outs],
        "drying_spans": words().drying.spans(draws=show_number(DRAWS)) if any(one.held for one in outs) else "",
        "weights": [
            {"kiln": found.answers.label(one.kiln), "rows": _weights(found, one.held)} for one in outs if one.held
        ],
        "drying_advice": [say(applied) for applied in found.group("drying")],
    }


def _drying(found: Assessment, one: DryOut, numbered: Numbered) -> View:
    return {
        "kiln": found.answers.label(one.kiln), "missing": list(one.missing), "assumed": list(one.assumed),
        "pan": _pan(one), "weigh": words().drying.weigh if to_weigh(found, one.kiln) else "",
        "water": _water(found, one.held) if one.held else [],
        "figures": _figures(found, one.held, one.drying) if one.held and one.drying else [],
        "stages": _stages(one.drying, numbered) if one.drying else [],
        "run": _run(one.drying) if one.drying else "",
        "disagrees": words().drying.disagrees[one.drying.disagrees]
        if one.drying and one.drying.disagrees else "",
        "decides": decides(one.drying.run.decides)["lines"][:2] if one.drying and one.drying.run else [],
        "curves": _curves(one.drying.run) if one.drying and one.drying.run else [],
        "nothing": _nothing(one.drying) if one.drying else "",
        "lining": words().stage_class[one.drying.lining] if one.drying else "",
    }  # fmt: skip


def _nothing(drying: Drying) -> str:
    """Say why nothing is dried: it is frozen, or dry; nothing where it is."""
    if drying.reckoned:
        return ""
    return words().drying.frozen if drying.frozen else words().drying.nothing


def _pan(one: DryOut) -> str:
    return words().drying.pan(litres=show_number(one.pan_litres)) if one.pan_litres is not None else ""


def _water(found: Assessment, held: Held) -> list[View]:
    return [
        {
            "part": capital(found.answers.questions.questions["lining.parts"].label(row.part)),
            "material": row.layer.material.label, "thickness": show_quantity(row.layer.thickness_mm, "mm"),
            "state": words().held[row.layer.wet], "dry": band(row.dry_kg, "kg"), "water": drawn(water, "kg"),
        }
        for row, water in zip(held.rows, held.layers, strict=True)
    ]  # fmt: skip


def _weights(found: Assessment, held: Held) -> list[View]:
    imperial = found.profile.imperial
    named = words().weights
    shown = [
        (named["lid"], held.lid),
        (named["ring"], held.ring),
        (named["door"], held.door),
        (named["kiln"], held.kiln),
    ]
    return [
        {"label": label, "value": band(value, "kg", imperial=imperial)}
        for label, value in shown if value is not None
    ]  # fmt: skip


def _figures(found: Assessment, held: Held, drying: Drying) -> list[View]:
    told = words().drying
    heated = show_quantity(drying.chamber_degc, "degC", imperial=found.profile.imperial)
    rows = [(told.water, drawn(held.water, "kg"))]
    rows += [(told.leaving, drawn(held.leaving, "kg"))] if held.leaving else []
    rows += [(told.salt, drawn(held.salt, "kg"))] if held.salt else []
    if drying.run and drying.reckoned and drying.air_days and drying.room_m3h:
        rise = show_quantity(own_limits()["room_rise_g_kg"].value, "g")
        by_hand = band(drying.reckoned.hours, "hour"), band(drying.reckoned.energy_kwh, "kWh")
        rows += [
            (told.air_days, band(drying.air_days, "day")),
            (told.staged, _nine_tenths(drying.run)),
            (told.energy, drawn(drying.run.energy_kwh, "kWh")),
            (told.vapour, drawn(drying.run.vapour_kg_h, "kg")),
            (told.room(rise=rise), band(drying.room_m3h, "m3/h")),
            (told.by_hand(chamber=heated), "; ".join(dict.fromkeys(by_hand))),
        ]
    return [{"label": label, "value": value} for label, value in rows]


def _nine_tenths(run: Staged) -> str:
    """Print the hours to nine tenths, or how much of the water is left when the stages are over."""
    if run.hours_to_nine_tenths:
        return drawn(run.hours_to_nine_tenths, "hour")
    left = run.held[-1].left
    return words().drying.not_by_end(hours=show_quantity(round(run.ends_h), "hour"), left=share(left))


def _run(drying: Drying) -> str:
    """Say what the run was made with, and how far its draws settle the last p90."""
    if not drying.run:
        return ""
    own, error = drying.run.heating, drying.run.held[-1].left.p90_error
    low, high = (show_number(round(100 * end)) for end in (error.low, error.high))
    return words().drying.run(
        draws=own.draws, casing=casing(own.casing).label, chamber=opening(own.opening).label,
        pan=pans(own.pan)[0].label if own.pan else words().drying.any_pan,
        power=show_quantity(own.power_kw, "kW") if own.power_kw else words().drying.any_power,
        error=f"{words().span(first=low, last=high)} %",
    )  # fmt: skip


def _curves(run: Staged) -> list[str]:
    """Return the curves of the stages as drawings: water left, casing wet and dry, through the wet wall."""
    import numpy as np

    from recover.report.plots import casing_figure, left_figure, profile_figure

    hours, middle = np.array(run.curve_h), middle_run(run)
    low, mid, high = (np.array([getattr(one, name) for one in run.curve]) for name in ("p10", "p50", "p90"))
    casing_wet, casing_dry = np.array([one.p50 for one in run.casing_curve]), np.array(run.dry_casing_curve)
    return [
        left_figure(hours, mid, low, high),
        casing_figure(hours, casing_wet, casing_dry),
        profile_figure(middle, run.wall, [float(hour) for hour in middle.hours]),
    ]


def stage_lines(found: Assessment) -> list[str]:
    """Return what the stages do as lines for a terminal, kiln by kiln."""
    lines = []
    for one in dry_outs(found):
        if one.drying and one.drying.run:
            lines += [found.answers.label(one.kiln), *_held_lines(one.drying.run), _run(one.drying)]
            lines += [words().drying.disagrees[one.drying.disagrees]] if one.drying.disagrees else []
        elif one.drying:
            lines += [found.answers.label(one.kiln), _nothing(one.drying)]
    return lines


def _held_lines(run: Staged) -> list[str]:
    told = words().drying
    return [
        told.held(
            hour=show_number(round(held.ends_h)), chamber=show_quantity(held.stage.to_degc, "degC"),
            left=share(held.left), casing=_degrees(held.casing_degc), dry=show_number(round(held.dry_casing_degc.mid)),
        )
        for held in run.held
    ]  # fmt: skip


def stage_values(found: Assessment) -> list[dict[str, Any]]:
    """Return what the stages do as plain numbers, kiln by kiln."""
    runs = [(one.kiln, one.drying.run) for one in dry_outs(found) if one.drying and one.drying.run]
    return [
        {
            "component": kiln, "draws": run.heating.draws, "nine_tenths_by_end": run.nine_tenths_by_end,
            "energy_kwh": _percentiles(run.energy_kwh), "vapour_kg_h": _percentiles(run.vapour_kg_h),
            "demand": _percentiles(run.demand), "stages": [_held_values(held) for held in run.held],
        }
        for kiln, run in runs
    ]  # fmt: skip


def _held_values(held: At) -> dict[str, Any]:
    return {
        "stage": held.stage.name, "chamber_degc": held.stage.to_degc, "ends_h": held.ends_h,
        "left": _percentiles(held.left), "casing_degc": _percentiles(held.casing_degc),
        "dry_casing_degc": held.dry_casing_degc.mid,
    }  # fmt: skip


def _percentiles(value: Spread) -> dict[str, float]:
    """Return a spread as plain numbers, with the interval that holds its p90."""
    bounds = {"p90_from": value.p90_error.low, "p90_to": value.p90_error.high}
    return {"p10": value.p10, "p50": value.p50, "p90": value.p90, **bounds}


def _degrees(value: Spread) -> str:
    low, mid, high = (show_number(round(one)) for one in (value.p10, value.p50, value.p90))
    return f"{mid} °C" if low == high else f"{mid} °C ({words().span(first=low, last=high)})"


def _stages(drying: Drying, numbered: Numbered) -> list[View]:
    """Return the stages of practice, each with what the run finds at its end."""
    if not drying.run:
        return []
    return [
        {
            **_stage(held.stage, drying.run.heating.thickness_mm, numbered),
            "ends": show_quantity(round(held.ends_h), "hour"), "left": share(held.left),
            "casing": _degrees(held.casing_degc), "dry": f"{show_number(round(held.dry_casing_degc.mid))} °C",
        }
        for held in drying.run.held
    ]  # fmt: skip


def _stage(stage: Stage, thickness_mm: float, numbered: Numbered) -> View:
    low, high = show_number(stage.from_degc), show_number(stage.to_degc)
    ramps = [show_number(one) for one in (stage.ramp_min_k_h, stage.ramp_max_k_h) if one is not None]
    hours = stage.hours(thickness_mm)
    return {
        "name": words().stage[stage.name], "chamber": f"{span(low, high)} °C",
        "ramp": f"{span(ramps[0], ramps[-1])} K/h" if ramps else "",
        "hold": f"{span(show_number(hours.low), show_number(hours.high))} h", "note": stage.note,
        "basis": BASIS_WORDS[stage.basis],
        "published": [
            {"says": one.says, "cites": numbered.cites([Citation(one.source, one.clause)])} for one in stage.published
        ],
    }  # fmt: skip
