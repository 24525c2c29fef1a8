"""The small sums of the workshop as commands: plain text with formula, source and caution, or one JSON document.

Nothing is computed here: each command asks `engineering` and prints what it says.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import inf, isinf
from typing import TYPE_CHECKING, Any, cast, get_args

import click

from recover.base.datafile import load
from recover.base.sources import BASIS_WORDS, bibliography
from recover.commands.options import say
from recover.engineering.thermocouples import (
    ASSUMED_TOP_DEGC,
    BENCH_DEGC,
    COLD_JUNCTION_DEGC,
    Mismatch,
    Wire,
    cable_fault,
    diameter_of_area_mm,
    diameter_of_awg_mm,
    emf_mv,
    loop_ohm,
    mismatch,
    temperature_degc,
    tolerance_class,
)
from recover.profiles import PROFILES, Limit
from recover.profiles import profile as country

if TYPE_CHECKING:
    from recover.engineering.supply import Conductor, Division, Supply

_LEAST, _MOST = 1e-9, 1e9


class _Measured(click.ParamType[float]):
    """A number that a meter, a rule or a plate could give: none that sums run away with. `open`: inf may be said."""

    name = "number"

    def __init__(self, *, may_be_open: bool = False) -> None:
        self._open = may_be_open

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read a number, or say what was expected."""
        number = float(click.FLOAT.convert(value, param, ctx))
        if number == 0 or _LEAST <= abs(number) <= _MOST or (self._open and number == inf):
            return number
        expected = f"expected 0, or a size from {_LEAST:g} to {_MOST:g}"
        return self.fail(f"{value} is nothing that is measured; {expected}", param, ctx)


COUNT = click.IntRange(0, 999)
"""Of strings and elements: more has no kiln."""
READING, OPEN_READING = _Measured(), _Measured(may_be_open=True)
LETTER = click.Choice(["R", "S", "K", "N", "B"])
CONNECTIONS = click.Choice(["single", "star", "star-neutral", "delta"])
AS_JSON = click.option("--json", "as_json", is_flag=True, help="One JSON document on standard output.")
PROFILE = click.option("--profile", type=click.Choice(PROFILES), default="eu", show_default=True)
ALLOY = click.option("--alloy", default="fecral_22_58", show_default=True, help="Alloy of the wire.")


@dataclass(frozen=True)
class _Said:
    """What stands beside a result."""

    formula: str
    source: str
    caution: str


@dataclass(frozen=True)
class _File:
    sum: dict[str, _Said]


@cache
def _said_of() -> dict[str, _Said]:
    """Return what stands beside each result, by command."""
    return load("commands/calc.toml", "recover-calc", _File).sum


@click.group("calc")
def calc() -> None:
    """Small sums for meter readings: thermocouples, elements, insulation, earth, supply.

    \b
    Example:  recover calc mismatch --probe S --set R --shown 1250
    """


def _show(name: str, values: Mapping[str, Any], as_json: bool) -> None:
    """Print a result: plain with formula, source and caution, or as one document."""
    if as_json:
        say(json.dumps({key: _finite(value) for key, value in values.items()}, ensure_ascii=False))
        return
    for key, value in values.items():
        say(f"{key:20} {_plain(value)}")
    said = _said_of()[name]
    for label, text in (("formula", said.formula), ("source", said.source), ("caution", said.caution)):
        say(f"{label:20} {text}")


def _finite(value: Any) -> Any:
    """Return a value that JSON has: an open circuit, whose ohms have no end, is null."""
    if isinstance(value, list | tuple):
        return [_finite(one) for one in value]
    return None if isinstance(value, float) and isinf(value) else value


def _plain(value: Any) -> str:
    if value is None:
        return "none"
    if isinstance(value, float) and isinf(value):
        return "open"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return ", ".join(_plain(one) for one in value)
    return f"{value:.5g}" if isinstance(value, float) else str(value)


# ---------------------------------------------------------------------------------------- thermocouples


@calc.command("emf")
@click.option("--type", "letter", type=LETTER, required=True)
@click.option("--at", "degc", type=READING, required=True, help="Temperature of the tip, °C.")
@click.option("--cold-junction", type=READING, default=0.0, show_default=True, help="°C.")
@AS_JSON
def _emf(letter: str, degc: float, cold_junction: float, as_json: bool) -> None:
    """Millivolts of a thermocouple at a temperature.

    \b
    Example:  recover calc emf --type R --at 1000
    """
    _show("emf", {"emf_mv": emf_mv(cast(Any, letter), degc, cold_junction)}, as_json)


@calc.command("temperature")
@click.option("--type", "letter", type=LETTER, required=True)
@click.option("--mv", type=READING, required=True, help="Millivolts at the terminals.")
@click.option("--cold-junction", type=READING, default=0.0, show_default=True, help="°C.")
@AS_JSON
def _temperature(letter: str, mv: float, cold_junction: float, as_json: bool) -> None:
    """Temperature of a thermocouple from its millivolts.

    \b
    Example:  recover calc temperature --type R --mv 10
    """
    _show("temperature", {"temperature_c": temperature_degc(cast(Any, letter), mv, cold_junction)}, as_json)


@calc.command("mismatch")
@click.option("--probe", type=LETTER, required=True, help="The probe's letter.")
@click.option("--set", "setting", type=LETTER, required=True, help="The letter the controller is set to.")
@click.option("--at", "true_c", type=READING, help="What the kiln is, °C.")
@click.option("--shown", "shown_c", type=READING, help="What the display shows, °C.")
@click.option("--cold-junction", type=READING, default=COLD_JUNCTION_DEGC, show_default=True, help="°C.")
@AS_JSON
def _mismatch(probe: str, setting: str, true_c: float | None, shown_c: float | None, cold_junction: float,
              as_json: bool) -> None:  # fmt: skip
    """What a controller shows with a probe of another letter, or what the kiln is when it shows so much.

    \b
    Example:  recover calc mismatch --probe S --set R --shown 1250
    """
    if (true_c is None) == (shown_c is None):
        raise click.UsageError("Give one of --at and --shown.")
    found = mismatch(
        cast(Any, probe), cast(Any, setting), true_degc=true_c, shown_degc=shown_c, cold_junction_degc=cold_junction
    )
    _show("mismatch", _compared(found), as_json)


@calc.command("cable-fault")
@click.option("--probe", type=LETTER, required=True)
@click.option("--fault", required=True,
              type=click.Choice(["copper", "reversed", "double-reversed", "short", "wrong-cable"]))  # fmt: skip
@click.option("--cable", type=LETTER, help="Letter of the cable, for wrong-cable.")
@click.option("--head", "head_c", type=READING, required=True, help="Temperature of the probe's head, °C.")
@click.option("--at", "true_c", type=READING, required=True, help="What the kiln is, °C.")
@click.option("--cold-junction", type=READING, default=COLD_JUNCTION_DEGC, show_default=True, help="°C.")
@AS_JSON
def _cable_fault(probe: str, fault: str, cable: str | None, head_c: float, true_c: float, cold_junction: float,
                 as_json: bool) -> None:  # fmt: skip
    """What a controller shows when the cable from head to controller is at fault.

    \b
    Example:  recover calc cable-fault --probe K --fault copper --head 60 --at 1000
    """
    kind: Any = fault.replace("-", "_")
    found = cable_fault(cast(Any, probe), kind, head_c, true_c, cold_junction, cable=cast(Any, cable))
    _show("cable-fault", _compared(found), as_json)


def _compared(found: Mismatch) -> dict[str, Any]:
    return {"true_c": found.true_degc, "shown_c": found.shown_degc, "error_c": found.error_k,
            "overfires": found.overfires}  # fmt: skip


@calc.command("bench")
@click.option("--type", "letter", type=LETTER, required=True)
@click.option("--cold-junction", type=READING, required=True, help="Temperature of the controller's terminals, °C.")
@click.option("--at", "degrees", type=READING, multiple=True, default=BENCH_DEGC, show_default=True)
@AS_JSON
def _bench(letter: str, cold_junction: float, degrees: tuple[float, ...], as_json: bool) -> None:
    """Millivolts that prove a controller on the bench before it is fitted.

    \b
    Example:  recover calc bench --type R --cold-junction 22
    """
    mv = [emf_mv(cast(Any, letter), degc, cold_junction) for degc in degrees]
    _show("bench", {"shown_c": degrees, "mv": mv}, as_json)


@calc.command("tolerance")
@click.option("--type", "letter", type=LETTER, required=True)
@click.option("--class", "name", default="2", show_default=True, help="1, 2, 3, standard or special.")
@click.option("--at", "degc", type=READING, required=True, help="°C.")
@AS_JSON
def _tolerance(letter: str, name: str, degc: float, as_json: bool) -> None:
    """Tolerance of new thermocouple wire, and where its class ends.

    \b
    Example:  recover calc tolerance --type K --at 1000
    """
    found = tolerance_class(cast(Any, letter), name)
    _show("tolerance", {"tolerance_k": found.at(degc), "from_c": found.from_degc, "to_c": found.to_degc}, as_json)


@calc.command("loop")
@click.option("--type", "wire", type=click.Choice(get_args(Wire)), required=True,
              help="Letter of the probe, or code of its extension or compensating cable.")  # fmt: skip
@click.option("--length", "length_m", type=READING, required=True, help="Tip to head, or head to controller, m.")
@click.option("--wire", "wire_mm", type=READING, help="Diameter of the wire, mm.")
@click.option("--area", "area_mm2", type=READING, help="Or the cross-section of a conductor, mm².")
@click.option("--awg", "gauge", type=READING, help="Or its gauge.")
@AS_JSON
def _loop(wire: str, length_m: float, wire_mm: float | None, area_mm2: float | None, gauge: float | None,
          as_json: bool) -> None:  # fmt: skip
    """Ohms of a thermocouple's loop, or of its cable's, both conductors.

    \b
    Example:  recover calc loop --type R --length 1 --wire 0.5
              recover calc loop --type RCA --length 20 --area 0.5
    """
    by_size = ((wire_mm, float), (area_mm2, diameter_of_area_mm), (gauge, diameter_of_awg_mm))
    sizes = [as_diameter(size) for size, as_diameter in by_size if size is not None]
    if len(sizes) != 1:
        raise click.UsageError("Give one of --wire, --area and --awg.")
    _show("loop", {"loop_ohm": loop_ohm(cast(Any, wire), length_m, sizes[0])}, as_json)


@calc.command("colours")
@click.option("--jacket", default="", help="Colour of the outer jacket.")
@click.option("--positive", default="", help="Colour of the positive conductor.")
@click.option("--negative", default="", help="Colour of the negative conductor.")
@AS_JSON
def _colours(jacket: str, positive: str, negative: str, as_json: bool) -> None:
    """What the colours of a thermocouple cable may mean.

    \b
    Example:  recover calc colours --jacket green --negative white
    """
    from recover.engineering.colours import candidates

    found = candidates(jacket, positive, negative)
    rows = [f"{letter} ({standard})" for letter, standard in found]
    _show("colours", {"may_be": rows, "ambiguous": len({letter for letter, _ in found}) > 1}, as_json)


@calc.command("boiling")
@click.option("--altitude", "altitude_m", type=READING, required=True, help="Height above the sea, m.")
@AS_JSON
def _boiling(altitude_m: float, as_json: bool) -> None:
    """Where water boils at an altitude: one of two points to prove a probe at.

    \b
    Example:  recover calc boiling --altitude 1600
    """
    from recover.physics.air import boiling_degc, pressure_at_pa

    pressure_pa = pressure_at_pa(altitude_m)
    _show("boiling", {"boiling_c": boiling_degc(pressure_pa), "pressure_hpa": pressure_pa / 100}, as_json)


# ---------------------------------------------------------------------------------------- elements


@calc.command("bank")
@click.option("--connection", type=CONNECTIONS, required=True)
@click.option("--volts", type=READING, required=True, help="Between lines, or the two conductors.")
@click.option("--kw", type=READING, required=True, help="By the plate.")
@click.option("--strings", type=COUNT, default=1, show_default=True, help="In parallel, in each phase.")
@click.option("--series", type=COUNT, default=1, show_default=True, help="Elements in a string.")
@click.option("--open", "open_strings", type=COUNT, default=0, show_default=True, help="Open strings.")
@ALLOY
@AS_JSON
def _bank(connection: str, volts: float, kw: float, strings: int, series: int, open_strings: int, alloy: str,
          as_json: bool) -> None:  # fmt: skip
    """What a plate calls for: amperes, ohms of an element, readings at the terminals.

    \b
    Example:  recover calc bank --connection delta --volts 400 --kw 18
    """
    from recover.engineering.banks import bank

    found = bank(cast(Any, connection.replace("-", "_")), volts, kw, strings, series, open_strings, alloy)
    values = {"line_current_a": found.line_current_a, "element_hot_ohm": found.element_hot_ohm,
              "element_cold_ohm": found.element_cold_ohm, "terminal_cold_ohm": list(found.terminal_cold_ohm),
              "power_kw": found.power_kw}  # fmt: skip
    _show("bank", values, as_json)


@calc.command("delta")
@click.option("--readings", type=READING, nargs=3, required=True, help="Ohms between A-B, B-C, C-A.")
@AS_JSON
def _delta(readings: tuple[float, float, float], as_json: bool) -> None:
    """The three branches of a delta from three readings between its lines.

    \b
    Example:  recover calc delta --readings 17.1 17.1 17.1
    """
    from recover.engineering.banks import delta

    _show("delta", {"element_ohm": list(delta(readings))}, as_json)


@calc.command("coil")
@click.option("--ohm", type=READING, required=True, help="Cold.")
@click.option("--wire", "wire_mm", type=READING, required=True, help="Diameter of the wire, mm.")
@click.option("--coil", "coil_mm", type=READING, required=True, help="Outside diameter of the coil, mm.")
@ALLOY
@AS_JSON
def _coil(ohm: float, wire_mm: float, coil_mm: float, alloy: str, as_json: bool) -> None:
    """Length, turns and surface of a coil.

    \b
    Example:  recover calc coil --ohm 20 --wire 2.0 --coil 16
    """
    from recover.engineering.elements import coil

    found = coil(ohm, wire_mm, coil_mm, alloy)
    values = {"length_m": found.length_m, "turns": found.turns, "surface_cm2": found.surface_cm2}
    _show("coil", values, as_json)


@calc.command("readings")
@click.option(
    "--ohm", "ohms", type=OPEN_READING, multiple=True, required=True, help="Cold, one for each; inf where it is open."
)
@click.option("--expected", "expected_ohm", type=READING, required=True, help="Cold, by papers or plate.")
@click.option("--strings", type=COUNT, default=1, show_default=True, help="In parallel, in each that was measured.")
@AS_JSON
def _readings(ohms: tuple[float, ...], expected_ohm: float, strings: int, as_json: bool) -> None:
    """What cold readings of like elements or banks say: the open one, the odd one, wear.

    \b
    Example:  recover calc readings --ohm 8.5 --ohm 8.6 --ohm 12.8 --expected 8.48 --strings 3
    """
    from recover.engineering.banks import diagnose

    found = diagnose(ohms, expected_ohm, strings)
    values = {"findings": [one.finding for one in found.circuits], "open_strings": found.open_strings,
              "odd": [place + 1 for place in found.odd], "common_rise": found.common_rise,
              "measure_each": found.measure_each,
              "says": list(dict.fromkeys(one.because for one in found.circuits))}  # fmt: skip
    _show("readings", values, as_json)


@calc.command("new-element")
@click.option("--ohm", type=READING, required=True, help="Cold.")
@click.option("--watts", type=READING, required=True, help="Of this element.")
@click.option("--wire", "wire_mm", type=READING, required=True, help="Diameter of the wire, mm.")
@click.option("--coil", "coil_mm", type=READING, required=True, help="Outside diameter of the coil, mm.")
@click.option(
    "--chamber", "chamber_c", type=READING, default=ASSUMED_TOP_DEGC, show_default=True, help="Hottest chamber, °C."
)
@click.option("--first", "first_w_cm2", type=READING, help="Surface load of the element that was there, W/cm².")
@ALLOY
@AS_JSON
def _new_element(ohm: float, watts: float, wire_mm: float, coil_mm: float, chamber_c: float, first_w_cm2: float | None,
                 alloy: str, as_json: bool) -> None:  # fmt: skip
    """Wire, turns and surface load of a new element, beside what coils bear.

    \b
    Example:  recover calc new-element --ohm 8.478 --watts 1500 --wire 2.3 --coil 20
    """
    from recover.engineering.elements import coil, judge_load, surface_load_guidance

    made = coil(ohm, wire_mm, coil_mm, alloy)
    load = made.load_w_cm2(watts)
    verdict = judge_load(load, chamber_c, first_w_cm2)
    values = {"length_m": made.length_m, "turns": made.turns, "wire_g": made.wire_g, "load_w_cm2": load,
              "coils_bear_w_cm2": list(surface_load_guidance(chamber_c)), "load": verdict}  # fmt: skip
    _show("new-element", values, as_json)


@calc.command("joint")
@click.option("--milliohm", type=READING, multiple=True, required=True, help="One for each joint.")
@click.option("--amps", type=READING, required=True, help="Through each.")
@AS_JSON
def _joint(milliohm: tuple[float, ...], amps: float, as_json: bool) -> None:
    """Heat in joints, and which of them are to be made again.

    \b
    Example:  recover calc joint --milliohm 2.1 --milliohm 100 --amps 20
    """
    from recover.engineering.banks import joint_w, poor_joints

    ohms = [one / 1000 for one in milliohm]
    values = {"heat_w": [joint_w(ohm, amps) for ohm in ohms], "make_again": [at + 1 for at in poor_joints(ohms)]}
    _show("joint", values, as_json)


# ---------------------------------------------------------------------------------------- electrical


@calc.command("insulation")
@click.option("--megohm", type=READING, required=True)
@click.option("--test-volts", type=READING, required=True)
@click.option("--kw", type=READING, help="Rated power; unknown has no allowance.")
@click.option("--joined", type=click.Choice(["full", "reduced", "other"]), default="full", show_default=True,
              help="All lives joined and electronics disconnected; electronics left in; otherwise.")  # fmt: skip
@click.option("--volts-to-earth", type=READING, help="Line to earth, V; the country's usual one, if not given.")
@PROFILE
@AS_JSON
def _insulation(megohm: float, test_volts: float, kw: float | None, joined: str, volts_to_earth: float | None,
                profile: str, as_json: bool) -> None:  # fmt: skip
    """Insulation resistance of the elements beside the country's limit and this project's own ladder.

    \b
    Example:  recover calc insulation --megohm 0.4 --test-volts 500 --kw 7.2 --profile uk
              recover calc insulation --megohm 0.2 --test-volts 500 --kw 12 --profile us --volts-to-earth 277
    """
    from recover.engineering.insulation import judge, sentence

    found = judge(megohm, test_volts, kw, profile, cast(Any, joined), volts_to_earth)
    because = sentence(found.open_because) if found.open_because else None
    values = {"limit_megohm": found.limit_megohm, "passes_limit": found.passes_limit, "gate_megohm": found.entry_megohm,
              "next_step": sentence(found.next_step), "leakage_bound_ma": found.leakage_bound_ma}  # fmt: skip
    if as_json:
        values["passes_limit_null_because"] = because
    elif because:
        values["passes_limit"] = because
    _show("insulation", values, as_json)


@calc.command("earth")
@click.option("--ohm", type=READING, required=True)
@click.option("--length", "length_m", type=READING, default=0.0, help="Of the conductor, m.")
@click.option("--area", "area_mm2", type=READING, help="Of the conductor, mm².")
@PROFILE
@AS_JSON
def _earth(ohm: float, length_m: float, area_mm2: float | None, profile: str, as_json: bool) -> None:
    """Earth continuity beside the country's limit and our own; the lesser decides.

    \b
    Example:  recover calc earth --ohm 0.12 --length 3 --area 4 --profile uk
    """
    from recover.engineering.earth import limit_ohm

    found = limit_ohm(profile, length_m, area_mm2)
    printed = {"printed_ohm": found.printed_ohm, "passes_printed": found.passes_printed(ohm)}
    _show("earth", {"limit_ohm": found.ohm, "passes": found.passes(ohm), "own_ohm": found.own_ohm, **printed}, as_json)


@calc.command("leakage")
@click.option("--kohm", type=READING, required=True, help="All lives joined, to the casing.")
@click.option("--volts", type=READING, required=True, help="Between line and earth.")
@click.option("--connection", required=True,
              type=click.Choice(["single", "line-neutral", "line-line", "star", "star-neutral", "delta"]))  # fmt: skip
@AS_JSON
def _leakage(kohm: float, volts: float, connection: str, as_json: bool) -> None:
    """The most that can leak, and what a residual-current device sees of it with everything on.

    \b
    Example:  recover calc leakage --kohm 20 --volts 230 --connection line-neutral
    """
    from recover.engineering.insulation import bound_ma
    from recover.engineering.leakage import residual_ma

    lies = {"single": "line_neutral"}.get(connection, connection.replace("-", "_"))
    values = {"bound_ma": bound_ma(volts, kohm), "residual_ma": residual_ma(cast(Any, lies), volts, kohm)}
    _show("leakage", values, as_json)


@calc.command("supply")
@click.option("--kw", type=READING, required=True)
@click.option("--volts", type=READING, required=True)
@click.option("--phases", type=click.Choice(["1", "3"]), default="1", show_default=True)
@click.option("--length", "length_m", type=READING, help="Of cable or cord, m, for its volt drop.")
@PROFILE
@AS_JSON
def _supply(kw: float, volts: float, phases: str, length_m: float | None, profile: str, as_json: bool) -> None:
    """Current of a kiln, the device before it, whether a rule divides its elements, cables and cords.

    \b
    Example:  recover calc supply --kw 2.9 --volts 230 --length 5 --profile uk
              recover calc supply --kw 14.4 --volts 240 --profile us
    """
    from recover.engineering.supply import supply

    found = supply(kw, volts, 3 if phases == "3" else 1, profile, length_m)
    values = {"current_a": found.current_a, **_division(found.division), "circuit_current_a": found.circuit_a,
              "next_rating_a": found.rating_a, "contactor_a": found.contactor_a}  # fmt: skip
    values |= {} if length_m is None else _volt_drop(profile)
    if as_json:
        values["conductors"] = [_conductor(one) for one in found.conductors]
    _show("supply", values if as_json else _in_words(values, found), as_json)


def _in_words(values: Mapping[str, Any], found: Supply) -> dict[str, Any]:
    """Return what is printed of a supply: a word for what no rule or no step is held of, and the conductors."""
    from recover.engineering.supply import supply_data
    from recover.report.electrical import conductor
    from recover.report.words import words

    said, named = supply_data().sentence, words().aids
    absent = {"divided": said["no_division"], "next_rating_a": named.beyond_steps, "contactor_a": named.beyond_steps}
    shown = {key: absent.get(key) if value is None else value for key, value in values.items()}
    if found.circuits == 1:
        del shown["circuit_current_a"]
    else:
        shown["divided_by"] = f"{shown['divided_by']}. {said['together']}"
    return shown | {f"{one.cable.label}:": conductor(one) for one in found.conductors}


def _volt_drop(profile: str) -> dict[str, Any]:
    """Return what a country's standard prints of volt drops, beside which those of the conductors are read."""
    from recover.engineering.supply import supply_data

    rule = country(profile).find("volt_drop_percent")
    if rule is None:
        return {}
    printed = f"{rule.what}; {_authority(rule)}. {supply_data().sentence['volt_drop']}"
    return {"volt_drop_percent": rule.value, "volt_drop_by": printed}


def _authority(rule: Limit) -> str:
    return f"{bibliography()[rule.source]}, {rule.clause}; {BASIS_WORDS[rule.basis]}"


def _division(found: Division | None) -> dict[str, Any]:
    """Return what a country's rule makes of the elements, with its authority; null where it prints none."""
    if found is None:
        return {"divided": None}
    each = {"circuit_device_most_a": found.device_a} if found.called_for else {}
    return {"divided": found.called_for, "divided_above_a": found.rule.value, "circuits_at_least": found.circuits,
            **each, "divided_by": _authority(found.rule)}  # fmt: skip


def _conductor(found: Conductor) -> dict[str, Any]:
    cable = found.cable
    return {"table": cable.id, "label": cable.label, "size": found.size, "unit": cable.unit,
            "carries_a": found.carries_a, "device_at_most_a": found.bears_a, "table_begins": found.begins,
            "drop_v": found.drop_v, "drop_percent": found.drop_percent, "basis": cable.basis}  # fmt: skip
