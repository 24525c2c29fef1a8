"""What the meter readings say: elements beside plate, papers and neighbours; and the coil of a new one."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

from recover.base.addresses import Address, kind_of
from recover.base.errors import QuantityError
from recover.base.measures import show_number, show_quantity
from recover.engineering import elements
from recover.engineering.banks import diagnose, joint_w, odd_ones
from recover.engineering.circuits import circuit_ohm, inferred_kw, phases_of
from recover.engineering.supply import current_a
from recover.judged.readings import (
    ALLOYS,
    RODS,
    connection,
    element_readings,
    plate_bank,
    power_drawn,
    power_missing,
)
from recover.report.paper import View, capital, runs
from recover.report.words import words

if TYPE_CHECKING:
    from recover.judged.assessment import Assessment


def resistances(found: Assessment) -> list[View]:
    """Return, for each kiln, what was read beside what was to be expected, and what follows in a line each."""
    return [
        {"kiln": found.answers.label(kiln), "rows": _circuits(found, kiln) + _elements(found, kiln),
         "lines": [*_diagnosis(found, kiln), *_power(found, kiln)]}
        for kiln in found.answers.kilns
    ]  # fmt: skip


# ---------------------------------------------------------------------------------------- elements


def _circuits(found: Assessment, kiln: Address) -> list[View]:
    """Return each zone's reading beside the plate, and the power that the readings come to, cold and hot."""
    zones = found.answers.components("zone", of=kiln)
    read = [found.answers.recorded("zone.ohm", zone) for zone in zones]
    connected, volts, kw = (connection(found.answers, kiln), *_plate(found, kiln))
    if connected is None or not (volts and kw) or not any(read):
        return []
    called = _span(found, circuit_ohm(connected, volts, kw) * len(zones))
    rows = [_row(words().ohms.zone(zone=found.answers.label_in_kiln(zone)), show_quantity(ohm, "ohm"), called)
            for zone, ohm in zip(zones, read, strict=True) if ohm]  # fmt: skip
    drawn = inferred_kw(connected, volts, [ohm for ohm in read if ohm]) if all(read) else None
    return rows + (
        [_row(words().ohms.power_read, _cold_and_hot(found, kiln, drawn), show_quantity(kw, "kW"))] if drawn else []
    )


def _cold_and_hot(found: Assessment, kiln: Address, cold_kw: float) -> str:
    alloy = _alloy(found, kiln)
    hot = f", {show_quantity(cold_kw / elements.plate_factor(alloy), 'kW')} hot" if alloy else ""
    return f"{show_quantity(cold_kw, 'kW')} cold{hot}"


def _elements(found: Assessment, kiln: Address) -> list[View]:
    read = element_readings(found.answers, kiln)
    if not any(read):
        return []
    known = [f"{place}: {show_number(ohm) if ohm else words().ohms.unread}" for place, ohm in enumerate(read, 1)]
    papers, whole = found.answers.recorded("element.expected_ohm", kiln), plate_bank(found.answers, kiln)
    called = [words().ohms.papers(ohm=show_quantity(papers, "ohm"))] if papers else []
    called += [words().ohms.by_plate(ohm=_span(found, whole.element_hot_ohm))] if whole else []
    return [_row(words().ohms.elements, "; ".join(known), "; ".join(called) or words().ohms.nothing)]


def _diagnosis(found: Assessment, kiln: Address) -> list[str]:
    """Name the elements that are open, odd or worn, with what that means; by their like where nothing else is known."""
    if found.answers.recorded("element.alloy", kiln) in RODS:  # they do not age as wire does
        return []
    read = {place: ohm for place, ohm in enumerate(element_readings(found.answers, kiln), 1) if ohm}
    if len(read) < 2:
        return _totals(found, kiln)
    ohms, expected = list(read.values()), _yardstick(found, kiln, list(read.values()))
    if expected is None:
        odd = [list(read)[at] for at in odd_ones(ohms)]
        return [words().ohms.odd(elements=_numbers(odd)) if odd else words().ohms.alike]
    said: dict[str, list[int]] = {}
    for place, circuit in zip(read, diagnose(ohms, expected).circuits, strict=True):
        said.setdefault(circuit.because, []).append(place)
    return [f"{_numbers(places)}: {says}" for says, places in said.items()]


def _power(found: Assessment, kiln: Address) -> list[str]:
    """Say how power by ohms, connection and supply lies beside the plate, or by slate number what it waits for."""
    fits = found.answers.fact("power_fit", kiln) or frozenset()
    if fits == {"within"}:
        return [_within(found, kiln)]
    if len(fits) == 1:
        return [words().ohms.power[next(iter(fits))]]
    if not any(element_readings(found.answers, kiln)) and not _circuits(found, kiln):
        return []
    missing = power_missing(found.answers, kiln)
    return [words().ohms.power_open(missing=_waits(found, missing)) if missing else words().ohms.power_contrary]


def _within(found: Assessment, kiln: Address) -> str:
    """Say whether a power that is let pass is that of the plate, or how far below or above, and what is let pass."""
    drawn, limits, said = power_drawn(found.answers, kiln), found.answers.limits, words().ohms
    if drawn is None or found.answers.recorded("element.alloy", kiln) in RODS:
        return said.power_found
    kw, plate_kw = show_quantity(drawn.kw, "kW"), show_quantity(drawn.plate_kw, "kW")
    if drawn.lies not in ("under", "over"):
        return said.power_within
    let = limits["power_low_ratio" if drawn.lies == "under" else "power_high_ratio"]
    word = said.power_within_under if drawn.lies == "under" else said.power_within_over
    return word(kw=kw, plate=plate_kw, passes=show_quantity(drawn.plate_kw * let, "kW"))


def _waits(found: Assessment, missing: list[tuple[str, Address]]) -> str:
    """Return slate numbers, each with the components of the kiln that it is open of."""
    places: dict[str, list[str]] = {}
    for name, at in missing:
        own = [] if kind_of(at) == "kiln" else [found.answers.own_label(at)]
        places.setdefault(name, []).extend(own)
    questions = found.answers.questions.questions
    slates = {name: words().ohms.power_waits(slate=questions[name].slate) for name in places}
    return ", ".join(f"{slates[name]} ({', '.join(runs(own)).lower()})" if own else slates[name]
                     for name, own in places.items())  # fmt: skip


def _totals(found: Assessment, kiln: Address) -> list[str]:
    """Return what the zones' totals say where the elements were not measured alone, and that a total may hide one."""
    connected, strings = connection(found.answers, kiln), found.answers.recorded("element.strings", kiln) or 1
    rated, zones = _plate(found, kiln), found.answers.components("zone", of=kiln)
    ohm = found.answers.recorded("zone.ohm", zones[0]) if len(zones) == 1 else None
    if connected is None or None in rated or not ohm or not _alloy(found, kiln):
        return []
    expected = circuit_ohm(connected, *rated) / elements.plate_factor(_alloy(found, kiln))  # type: ignore[arg-type]
    total = diagnose([ohm], expected, int(strings) if connected == "single" else 1)
    return ([] if total.circuits[0].finding == "as_expected" else [total.circuits[0].because]) + (
        [words().ohms.measure_each] if total.measure_each else []
    )


def _yardstick(found: Assessment, kiln: Address, ohms: list[float]) -> float | None:
    """Return what elements are compared with: papers; their own middle where the plate allows it; else the plate."""
    papers, whole = found.answers.recorded("element.expected_ohm", kiln), plate_bank(found.answers, kiln)
    if papers or whole is None:
        return float(papers) if papers else None
    low, high = (whole.element_hot_ohm * found.answers.limits[name] for name in ("plate_ohm_low", "plate_ohm_high"))
    return median(ohms) if low <= median(ohms) <= high else whole.element_cold_ohm


def _cold_ohm(found: Assessment, kiln: Address) -> float | None:
    """Return the cold ohms of one element: by its papers, else by the plate."""
    papers, whole = found.answers.recorded("element.expected_ohm", kiln), plate_bank(found.answers, kiln)
    return float(papers) if papers else whole.element_cold_ohm if whole else None


def new_coil(found: Assessment, kiln: Address) -> str:
    """Return wire, turns and surface load of an element that replaces one of these; empty where they do not follow."""
    alloy, ohm = _alloy(found, kiln), _cold_ohm(found, kiln)
    wire, coil, count = (found.answers.recorded(f"element.{name}", kiln) for name in ("wire_mm", "coil_mm", "count"))
    _, kw = _plate(found, kiln)
    if not (alloy and ohm and wire and coil and count and kw and coil > 2 * wire):
        return ""
    made = elements.coil(ohm, wire, coil, alloy)
    load = made.load_w_cm2(kw * 1000 / count)
    said = words().ohms.coil(
        ohm=show_quantity(ohm, "ohm"), length=show_number(made.length_m), turns=show_number(made.turns),
        load=show_number(load), most=show_number(load * elements.figures().load_over_first.value),
    )  # fmt: skip
    return said + _load_advice(found, kiln)


def _load_advice(found: Assessment, kiln: Address) -> str:
    top = found.answers.recorded("identity.max_c", kiln)
    try:
        low, high = elements.surface_load_guidance(top) if top else (0.0, 0.0)
    except QuantityError:  # hotter than any point of the guidance
        return ""
    if not high:
        return ""
    return words().ohms.load(low=show_number(low), high=show_number(high), top=show_quantity(top, "degC"))


def joint(found: Assessment, kiln: Address) -> str:
    """Return what a joint may have, and the heat in it and in a poor one at the kiln's current; empty without one."""
    connected, volts, kw = (connection(found.answers, kiln), *_plate(found, kiln))
    if connected is None or not (volts and kw):
        return ""
    amps, most = current_a(kw, volts, phases_of(connected)), elements.figures().joint_ohm.value
    heat, poor = show_number(joint_w(most, amps)), show_number(joint_w(10 * most, amps))
    return words().ohms.joint(most=show_number(most * 1000), amps=show_quantity(amps, "A"), heat=heat, poor=poor)


# ---------------------------------------------------------------------------------------- small things


def _plate(found: Assessment, kiln: Address) -> tuple[float | None, float | None]:
    return found.answers.recorded("identity.volts", kiln), found.answers.recorded("identity.kw", kiln)


def _span(found: Assessment, ohm: float) -> str:
    """Print the ohms of a plate with the span that they may show cold."""
    limits = found.answers.limits
    low, high = ohm * limits["plate_ohm_low"], ohm * limits["plate_ohm_high"]
    return f"{show_quantity(ohm, 'ohm')} ({words().span(first=show_number(low), last=show_number(high))})"


def _row(what: str, read: str, called: str) -> View:
    return {"what": capital(what), "read": read, "called": called}


def _alloy(found: Assessment, kiln: Address) -> str:
    return ALLOYS.get(found.answers.recorded("element.alloy", kiln) or "", "")


def _numbers(places: list[int]) -> str:
    return ", ".join(runs([f"Element {place}" for place in places]))
