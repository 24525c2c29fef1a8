"""A run of the drying model without a paper: as one plain document, as lines for a terminal, as a table for a sheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import isfinite
from typing import Any

import numpy as np

from recover.physics.around import Around
from recover.physics.drying import Discretisation, Numbers, Run, WallRun, hours_gone
from recover.physics.figures import figures
from recover.physics.sensitivity import Sensitivity
from recover.physics.wall import Change, Course, Wall, WallLayer
from recover.physics.wallfile import LONGEST_MEAN_H, Study
from recover.plan.walls import Beside
from recover.report.decides import decides
from recover.report.paper import View
from recover.report.words import words

GONE_PERCENT = (50, 90, 95, 99)
LEAST_KG = 1e-3
"""Less than this is what a dry wall takes from the air, and no water that could be said to leave."""


def view(study: Study, run: Run, missed: Discretisation | None = None, decided: Sensitivity | None = None) -> View:
    """Return what was run and what came of it, in plain values; what has no end or did not happen is None."""
    word, rows = words().simulate, _rows(study, run)
    return {
        "title": study.title, "hours": study.hours, "every_h": study.every_h, "closure": study.setup.closure,
        "water_stays": study.setup.water_stays,
        "walls": [_wall(one.wall) for one in run.walls],
        "changes": [_change(one) for one in study.setup.changes],
        "around": [_around(hour, one) for hour, one in study.around],
        "rows": [_row(study, run, row, before) for before, row in pairwise([0, *rows])],
        "gone_h": _gone(run.hours, run.water_kg), "walls_gone_h": [_gone(run.hours, one.water_kg) for one in run.walls],
        "heater_kwh": _ended(run.heater_kwh), "vented_kg": _ended(run.vented_kg),
        "walls_heat_in_kwh": [_ended(one.heat_in_kwh) for one in run.walls],
        "walls_heat_out_kwh": [_ended(one.heat_out_kwh) for one in run.walls],
        "audit": {"water_error": run.water_error, "heat_error": run.heat_error, "steps": run.steps},
        "note": word.note, "cautions": word.cautions,
        **({"discretisation": _missed(missed)} if missed else {}),
        **({"decides": decides(decided)} if decided else {}),
    }  # fmt: skip


def shown_hours(run: Run) -> list[float]:
    """Return the moments whose profiles tell a run: its ends, and when each quarter of the water had gone."""
    gone = (run.hours_gone(share) for share in (0.25, 0.5, 0.75))
    moments = {0, len(run.hours) - 1, *(int(np.abs(run.hours - hour).argmin()) for hour in gone if hour is not None)}
    return [float(run.hours[moment]) for moment in sorted(moments)]


def text_lines(shown: View) -> list[str]:
    """Return a run as lines for a terminal."""
    lines = [shown["title"], f"{'run':18} {shown['hours']:g} h, {shown['closure'].replace('_', ' ')}"]
    for wall in shown["walls"]:
        lines += [f"{'wall':18} {_described(wall)}", *(f"{'layer':18} {_layer_line(one)}" for one in wall["layers"])]
    lines += [f"{'change':18} {_change_line(one)}" for one in shown["changes"]]
    if stretches := len(shown["around"]):
        lines.append(f"{'around':18} {words().simulate.around(number=stretches)}")
    lines += ["", *_table(_whole_head(shown), [_whole_cells(row) for row in shown["rows"]])]
    for number, wall in enumerate(shown["walls"]):
        cells = [_wall_cells(row, row["walls"][number]) for row in shown["rows"]]
        lines += ["", wall["name"], *_table(_wall_head(wall, shown), cells)]
    said = [*_gone_lines(shown), *_energy_lines(shown), _audit_line(shown), _missed_line(shown)]
    said.append(f"{'note':18} {shown['note']}")
    decided = [f"{'what decides':18} {line}" for line in shown.get("decides", {}).get("lines", [])]
    return [*lines, "", *said, *decided, *(f"{'caution':18} {one}" for one in shown["cautions"])]


def beside_line(of: Beside) -> str:
    """Say how near a run of a plan's wall file comes to the plan."""
    return words().simulate.beside(
        water=_percent(of.water), kelvin=f"{of.casing_k:.1f}", demand=_percent(of.demand),
        planned=_percent(of.planned_demand),
    )  # fmt: skip


def csv_text(shown: View) -> str:
    """Return the table of a run as CSV: a row for each moment, walls and layers numbered as in the file, from 1."""
    written = io.StringIO(newline="")
    table = [dict(_flat(row)) for row in shown["rows"]]
    writer = csv.DictWriter(written, list(table[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(table)
    return written.getvalue()


# ---------------------------------------------------------------------------------------- values


def _rows(study: Study, run: Run) -> list[int]:
    """Return the numbers of the moments that have a row: every so many, and the last."""
    last = len(run.hours) - 1
    return sorted({*range(0, last + 1, study.finer), last})


def _row(study: Study, run: Run, at: int, before: int) -> View:
    """Return one row; what peaks, peaks since the row before, and the vapour is a mean over at least 15 minutes."""
    over_h, around_degc = max(study.every_h, LONGEST_MEAN_H), float(run.around_degc[at])
    return {
        "hours": float(run.hours[at]), "chamber_degc": float(run.chamber_degc[at]),
        "chamber_vapour_share": float(run.chamber_vapour[at]),
        "heater_kw": float(run.heater_kw[at]), "heater_kwh": float(run.heater_kwh[at]),
        "water_kg": float(run.water_kg[at]), "water_share": _share(run.water_kg, at),
        "vapour_kg_h": None if study.setup.water_stays else float(run.vapour_kg_h(over_h)[at]),
        "walls": [_wall_row(one, around_degc, at, before) for one in run.walls],
    }  # fmt: skip


def _wall_row(run: WallRun, around_degc: float, at: int, before: int) -> View:
    """Return a wall's part of a row; a closed box on the casing is between it and its air by `terminal_share`."""
    since = slice(min(before + 1, at), at + 1)
    peak = since.start + int(run.overpressure_kpa[since].argmax())
    terminal_degc = around_degc + figures().terminal_share.mid * (float(run.casing_degc[at]) - around_degc)
    return {
        "hot_face_degc": float(run.hot_face_degc[at]), "casing_degc": float(run.casing_degc[at]),
        "outside_degc": float(run.outside_degc[at]), "terminal_degc": terminal_degc,
        "to_chamber_kg": float(run.to_chamber_kg[at]), "to_room_kg": float(run.to_room_kg[at]),
        "water_kg": float(run.water_kg[at]), "water_share": _share(run.water_kg, at),
        "layers": [{"water_kg": float(kg[at]), "water_share": _share(kg, at)} for kg in run.layer_kg.T],
        "overpressure_kpa": float(run.overpressure_kpa[peak]), "overpressure_at_mm": float(run.peak_mm[peak]),
        "share_of_strength": float(run.demand[since].max()),
    }  # fmt: skip


def _wall(wall: Wall) -> View:
    return {
        "name": wall.name, "area_m2": wall.area_m2, "inner_radius_mm": wall.inner_radius_mm,
        "thickness_mm": wall.thickness_mm,
        "layers": [_layer(one) for one in wall.layers],
    }  # fmt: skip


def _layer(layer: WallLayer) -> View:
    return {
        "name": layer.name, "thickness_mm": layer.thickness_mm, "water_kg_m3": layer.water_kg_m3,
        "pores_full_share": layer.water_kg_m3 / (1000 * layer.matter.porosity),
        "tensile_mpa": layer.matter.tensile_mpa if isfinite(layer.matter.tensile_mpa) else None,
    }  # fmt: skip


def _missed(by: Discretisation) -> View:
    return {"water_share": by.water, "casing_k": by.casing_k, "overpressure_share": by.overpressure,
            "finest": by.finest}  # fmt: skip


def _change(change: Change) -> View:
    return {
        "at_h": change.at_h, "wall": change.wall, "layers_kept": change.keeps,
        "layers_added": [_layer(one) for one in change.adds], "hot_face": change.hot is not None,
        "cold_face": change.cold is not None,
    }  # fmt: skip


def _around(hour: float, one: Around) -> View:
    heated = one.chamber_degc is not None
    return {
        "at_h": hour, "room_degc": _knots(one.room_degc), "room_vapour_share": float(one.room_vapour),
        "chamber_degc": _knots(one.chamber_degc) if one.chamber_degc else None,
        "power_kw": one.power_kw if heated and isfinite(one.power_kw) else None,
        "vent_m3_h": one.vent_m3_h if one.vent_m3_h is not None and isfinite(one.vent_m3_h) else None,
        "enclosed_m3_h": one.enclosed_m3_h,
    }  # fmt: skip


def _knots(course: Course) -> list[list[float]]:
    return [[hour, degc] for hour, degc in zip(course.hours, course.degc, strict=True)]


def _share(kg: Numbers, at: int) -> float | None:
    """Return what is left of the first; None where there was none to speak of."""
    return float(kg[at] / kg[0]) if kg[0] > LEAST_KG else None


def _gone(hours: Numbers, kg: Numbers) -> dict[str, float | None] | None:
    return {str(one): hours_gone(hours, kg, one / 100) for one in GONE_PERCENT} if kg[0] > LEAST_KG else None


def _ended(course: Numbers) -> float:
    return float(course[-1])


def _flat(row: Any, prefix: str = "") -> Iterable[tuple[str, Any]]:
    """Return the pairs of a nested row, its lists numbered from 1: `wall_2_layer_1_water_kg`."""
    for key, value in row.items():
        if not isinstance(value, list):
            yield prefix + key, value
            continue
        for number, one in enumerate(value, start=1):
            yield from _flat(one, f"{prefix}{key.removesuffix('s')}_{number}_")


# ---------------------------------------------------------------------------------------- lines


def _described(wall: View) -> str:
    bent = f"inner radius {wall['inner_radius_mm']:g} mm" if wall["inner_radius_mm"] else "flat"
    return f"{wall['name']}: {wall['area_m2']:g} m², {bent}, {wall['thickness_mm']:g} mm"


def _layer_line(layer: View) -> str:
    wet = f"{layer['water_kg_m3']:g} kg/m³ of water, {100 * layer['pores_full_share']:.0f} % of its pores"
    return f"{layer['name'] or 'layer'}: {layer['thickness_mm']:g} mm, {wet if layer['water_kg_m3'] else 'dry'}"


def _change_line(change: View) -> str:
    word, said = words().simulate, []
    if change["layers_kept"] is not None:
        said.append(word.keeps(number=change["layers_kept"]))
    said += [word.comes(layer=_layer_line(one)) for one in change["layers_added"]]
    said += [word.hot_face] if change["hot_face"] else []
    said += [word.cold_face] if change["cold_face"] else []
    return f"at {change['at_h']:g} h, {change['wall']}: {'; '.join(said) or word.nothing}"


def _left(shown: View) -> str:
    return words().simulate.frozen if shown["water_stays"] else words().simulate.left


def _whole_head(shown: View) -> list[str]:
    leaves = [] if shown["water_stays"] else ["vapour kg/h"]
    return ["hour", "chamber °C", "heater kW", f"{_left(shown)} kg", "share", *leaves]


def _whole_cells(row: View) -> list[str]:
    leaves = [] if row["vapour_kg_h"] is None else [f"{row['vapour_kg_h']:.2f}"]
    return [f"{row['hours']:g}", _whole(row["chamber_degc"]), f"{row['heater_kw']:.2f}", f"{row['water_kg']:.2f}",
            _percent(row["water_share"]), *leaves]  # fmt: skip


def _wall_head(wall: View, shown: View) -> list[str]:
    layers = [f"{one['name'] or f'layer {n}'} kg" for n, one in enumerate(wall["layers"], start=1)]
    degrees = ["hot face °C", "casing °C", "terminal space °C"]
    return ["hour", *layers, _left(shown), *degrees, "overpressure kPa", "of strength"]


def _wall_cells(row: View, wall: View) -> list[str]:
    layers = [f"{one['water_kg']:.2f}" for one in wall["layers"]]
    return [f"{row['hours']:g}", *layers, _percent(wall["water_share"]), _whole(wall["hot_face_degc"]),
            _whole(wall["casing_degc"]), _whole(wall["terminal_degc"]), f"{wall['overpressure_kpa']:.1f}",
            _percent(wall["share_of_strength"])]  # fmt: skip


def _percent(share: float | None) -> str:
    return "-" if share is None else f"{100 * share:.1f} %"


def _whole(degc: float) -> str:
    return f"{round(degc)}"  # which, unlike a format, has no minus nought


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows with their numbers one under the other."""
    widths = [max(map(len, column)) for column in zip(head, *rows, strict=True)]
    return ["  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)) for row in (head, *rows)]


def _gone_lines(shown: View) -> list[str]:
    if shown["water_stays"]:
        return []
    word = words().simulate
    named = [("gone", shown["gone_h"])]
    if len(shown["walls"]) > 1:
        each = zip(shown["walls"], shown["walls_gone_h"], strict=True)
        named += [(f"gone, {wall['name']}", gone) for wall, gone in each]
    never = word.not_within(hours=f"{shown['hours']:g}")
    lines = []
    for label, gone in named:
        found = [f"{percent} %: {never if hour is None else f'{hour:.1f} h'}" for percent, hour in (gone or {}).items()]
        lines.append(f"{label:18} {'; '.join(found) or word.no_water}")
    return lines


def _energy_lines(shown: View) -> list[str]:
    walls = zip(shown["walls"], shown["walls_heat_in_kwh"], shown["walls_heat_out_kwh"], strict=True)
    each = (f"{wall['name']} {into:.2f} in, {out:.2f} out" for wall, into, out in walls)
    return [f"{'energy kWh':18} heater {shown['heater_kwh']:.2f}; by its faces: {'; '.join(each)}"]


def _missed_line(shown: View) -> str:
    missed = shown["discretisation"]
    return f"{'cut in cells':18} " + (words().simulate.finest if missed["finest"] else words().simulate.missed)(
        water=_percent(missed["water_share"]), kelvin=f"{missed['casing_k']:.1f}",
        pressure=_percent(missed["overpressure_share"]),
    )  # fmt: skip


def _audit_line(shown: View) -> str:
    audit = shown["audit"]
    return (
        f"{'balances':18} water missed by {audit['water_error']:.0e} of it, heat by {audit['heat_error']:.0e}, "
        f"in {audit['steps']} steps"
    )
