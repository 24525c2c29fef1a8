"""What the thermocouple's circuit does to the temperature that is shown, in degrees, and how a controller is proved."""

from __future__ import annotations

from recover.base.addresses import JOB, Address
from recover.base.measures import show_quantity
from recover.engineering.thermocouples import (
    ASSUMED_TOP_DEGC,
    BENCH_DEGC,
    Fault,
    Letter,
    Mismatch,
    cable_fault,
    emf_mv,
    loop_ohm,
    loop_wires,
    mismatch,
    range_degc,
    tolerance_class,
)
from recover.judged.assessment import Assessment
from recover.physics.air import boiling_degc, pressure_at_pa
from recover.report.paper import View, capital
from recover.report.words import words

HOLD_DEGC = 200.0
"""A temperature to speak of: a hold of a dry-out."""

HEAD_DEGC = 60.0
"""Temperature of a probe's head beside a hot kiln, for cables at fault."""

BENCH_JUNCTIONS_DEGC = (20.0, 25.0)
"""Columns of the table that proves a controller."""


def thermocouple(found: Assessment, kiln: Address) -> list[str]:
    """Return what letter, cable and probe come to, a sentence each; nothing where nothing is to be said."""
    probe = _letter(found, "probe_type", kiln)
    of_letter = [*_letters(found, kiln, probe), *_cable(found, kiln, probe)] if probe else []
    return [*of_letter, *_loops(found, kiln, probe), *_boiling(found, kiln)]


def _letters(found: Assessment, kiln: Address, probe: Letter) -> list[str]:
    """Return what a wrong letter does, at a hold of the dry-out and at the kiln's top; or where the class ends."""
    setting, top = _letter(found, "set_type", kiln), _top_degc(found, kiln)
    if setting is None or probe == setting:
        return _class_end(found, kiln, probe)
    made = [mismatch(probe, setting, shown_degc=degc) for degc in (HOLD_DEGC, min(top, range_degc(setting)[1]))]
    told = words().thermocouple
    verdict = told.overfires if any(one.overfires for one in made) else told.underfires
    head = words().thermocouple.mismatch(probe=probe, setting=setting)
    return [" ".join([head, *(_kiln_is(found, one, probe) for one in made), verdict])]


def _kiln_is(found: Assessment, one: Mismatch, probe: Letter) -> str:
    told, shown = words().thermocouple, _degrees(found, one.shown_degc or 0)
    if one.true_degc is None:
        low, high = (_degrees(found, end) for end in range_degc(probe))
        return (
            told.past_below(shown=shown, low=low)
            if one.out_of_range == "below"
            else told.past_above(shown=shown, high=high)
        )
    return told.kiln_is(shown=shown, true=_degrees(found, one.true_degc))


def _class_end(found: Assessment, kiln: Address, probe: Letter) -> list[str]:
    """Return where the tolerance of new wire ends, if the kiln's plate is hotter than that."""
    top, end = found.answers.recorded("identity.max_c", kiln), tolerance_class(probe, "2").to_degc
    return [words().thermocouple.class_end(letter=probe, end=_degrees(found, end))] if top and top > end else []


def _cable(found: Assessment, kiln: Address, probe: Letter) -> list[str]:
    """Return what the faults that were found come to in degrees: another cable, or a reversed one."""
    lines, told, head = [], words().thermocouple, _degrees(found, HEAD_DEGC)
    if found.answers.recorded("control.cable", kiln) == "mismatch":
        lines.append(f"{told.copper(letter=probe, head=head)} {_fault(found, kiln, probe, 'copper')}")
        if probe in ("R", "S", "N"):
            lines.append(f"{told.wrong_cable(cable='K', head=head)} {_fault(found, kiln, probe, 'wrong_cable', 'K')}")
    if found.answers.recorded("control.polarity", kiln) == "reversed":
        lines.append(f"{told.reversed(letter=probe, head=head)} {_fault(found, kiln, probe, 'reversed')}")
    return lines


def _fault(found: Assessment, kiln: Address, probe: Letter, fault: Fault, cable: Letter | None = None) -> str:
    trues = (HOLD_DEGC, min(_top_degc(found, kiln), range_degc(probe)[1]))
    made = [cable_fault(probe, fault, HEAD_DEGC, true, cable=cable) for true in trues]
    return f"{'; '.join(_shown(found, one) for one in made)}."


def _shown(found: Assessment, one: Mismatch) -> str:
    true = _degrees(found, one.true_degc or 0)
    if one.shown_degc is None:
        return words().thermocouple.shown_out(true=true)
    return words().thermocouple.shown(true=true, shown=_degrees(found, one.shown_degc))


def _loops(found: Assessment, kiln: Address, letter: Letter | None) -> list[str]:
    """Return the ohms that the loop of each probe should have, beside those that were read."""
    lines = []
    for at in found.answers.components("probe", of=kiln):
        length, wire, read = (found.answers.recorded(f"probe.{name}", at) for name in ("length_mm", "wire_mm", "loop"))
        if letter is not None and letter in loop_wires() and length and wire and read is not None:
            ohm = show_quantity(loop_ohm(letter, length / 1000, wire), "ohm", figures=2)
            name, said = capital(found.answers.label_in_kiln(at)), show_quantity(read, "ohm")
            lines.append(words().thermocouple.loop(probe=name, letter=letter, ohm=ohm, read=said))
    return lines


def _boiling(found: Assessment, kiln: Address) -> list[str]:
    """Return where water boils at the job's height, and what each probe read in it."""
    altitude, probes = found.answers.recorded("site.altitude", JOB), found.answers.components("probe", of=kiln)
    if altitude is None or not probes:
        return []
    degc = _tenths(found, boiling_degc(pressure_at_pa(altitude)))
    read = {at: found.answers.recorded("probe.in_boiling", at) for at in probes}
    said = [words().thermocouple.in_boiling(probe=capital(found.answers.label_in_kiln(at)), degc=_tenths(found, one))
            for at, one in read.items() if one is not None]  # fmt: skip
    return [" ".join([words().thermocouple.boiling(altitude=show_quantity(altitude, "m"), degc=degc), *said])]


def proving(found: Assessment) -> View | None:
    """Return the millivolts for the letters that are there, with how a controller is proved; None without a letter."""
    kilns = found.answers.kilns
    letters = dict.fromkeys(one for kiln in kilns if (one := _letter(found, "probe_type", kiln)))
    rows = [
        {"letter": letter, "degc": _degrees(found, degc),
         "mv": [f"{emf_mv(letter, degc, junction):.3f}" for junction in BENCH_JUNCTIONS_DEGC]}
        for letter in letters for degc in BENCH_DEGC
    ]  # fmt: skip
    junctions = [_degrees(found, junction) for junction in BENCH_JUNCTIONS_DEGC]
    return {"rows": rows, "steps": words().thermocouple.proving, "junctions": junctions} if rows else None


def _top_degc(found: Assessment, kiln: Address) -> float:
    return float(found.answers.recorded("identity.max_c", kiln) or ASSUMED_TOP_DEGC)


def _letter(found: Assessment, name: str, kiln: Address) -> Letter | None:
    said = found.answers.recorded(f"control.{name}", kiln)
    return None if said in (None, "none") else said


def _degrees(found: Assessment, degc: float) -> str:
    return show_quantity(degc, "degC", imperial=found.profile.imperial)


def _tenths(found: Assessment, degc: float) -> str:
    return _degrees(found, degc) if found.profile.imperial else f"{degc:.1f} °C"
