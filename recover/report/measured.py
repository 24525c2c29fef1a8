"""What was measured on the dead kiln beside what its country prints and what this project asks for, never as one.

A printed limit permits nothing here and our own entry releases nothing; both are shown, with what an older edition or
another document has. What a residual-current device sees of the leakage is said for the kiln's own connection.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from math import isinf

from recover.asked.told import Answer, Logged, key_of
from recover.base.addresses import Address, name_of
from recover.base.measures import show_number, show_quantity
from recover.base.sources import Authority, Citation
from recover.engineering import insulation, leakage
from recover.engineering.earth import EarthLimit
from recover.engineering.sums import OTHER, earth_limit
from recover.engineering.supply import line_to_earth_volts
from recover.judged import readings
from recover.judged.assessment import Assessment
from recover.judged.dry import MEGOHMS, is_full
from recover.plan.log import log_of
from recover.profiles import Elsewhere
from recover.report.paper import Numbered, View
from recover.report.words import words

LEAST_MA = 0.1
"""Below this a reckoned leakage is not printed in figures."""

CIRCUITS: dict[insulation.CircuitKind, str] = {
    "mains": "wiring_insulation_megohm",
    "extra_low": "extra_low_insulation_megohm",
}
"""The limit of a circuit."""

SERIES = 2
"""Readings of one point from which they are a series."""


def measured(found: Assessment, numbered: Numbered) -> list[View]:
    """Return, kiln by kiln, each reading beside limit and entry, the course of repeated ones, what a device sees."""
    return [
        {
            "kiln": found.answers.label(kiln),
            "rows": [
                *_elements(found, kiln, numbered), *_wiring(found, kiln, numbered),
                _leakage(found, kiln, numbered), _earth(found, kiln, numbered),
            ],
            "series": _courses(found, kiln),
            "device": _device(found, kiln),
            "beside": _elsewhere(found, numbered),
        }
        for kiln in found.answers.kilns
    ]  # fmt: skip


# ---------------------------------------------------------------------------------------- reading, limit, entry


def _row(what: str, value: str, printed: str, entry: str, *, rule: Authority | None, numbered: Numbered,
         note: str = "") -> View:  # fmt: skip
    cites = numbered.cites([Citation(rule.source, rule.clause)]) if rule and rule.source else []
    basis = words().measured.basis[rule.basis] if rule else ""
    return {"what": what, "value": value, "printed": printed, "gate": entry, "basis": basis, "cites": cites,
            "note": note}  # fmt: skip


def _elements(found: Assessment, kiln: Address, numbered: Numbered) -> list[View]:
    """Return a row a zone: insulation resistance of the elements to the casing."""
    return [_zone(found, kiln, zone, numbered) for zone in found.answers.components("zone", of=kiln)]


def _zone(found: Assessment, kiln: Address, zone: Address, numbered: Numbered) -> View:
    named, reading = words().measured, _given(found, "zone.insulation", zone)
    kw = found.answers.number("identity.kw", kiln)
    limit, entry = insulation.published_limit(kw, found.profile.id), found.answers.limits["element_entry_megohm"]
    printed, note = named.none_printed, ""
    if limit:
        printed = show_quantity(limit.value, limit.unit)
    if reading and "test_volts" in reading.details:
        volts = _volts_to_earth(found, kiln)
        judged = insulation.judge(
            reading.value, reading.details["test_volts"], kw, found.profile.id, volts_to_earth=volts
        )
        printed += f": {_verdict(judged)}" if limit else ""
        note = named.bound(ma=_ma(judged.leakage_bound_ma), volts=show_number(volts))
    return _row(
        f"{named.elements}, {found.answers.own_label(zone).lower()}", _said(reading), printed,
        _at_least(reading, entry), rule=limit, numbered=numbered, note=note,
    )  # fmt: skip


def _verdict(judged: insulation.Judgement) -> str:
    if judged.open_because:
        return insulation.sentence(judged.open_because)
    return words().measured.reached if judged.passes_limit else words().measured.missed


def _wiring(found: Assessment, kiln: Address, numbered: Numbered) -> list[View]:
    """Return the row of the lowest reading of the wiring alone, and one of extra-low voltage where some was read."""
    read = _all_given(found, "wire.insulation", kiln, "wiring")
    apart = [reading for reading in read if _extra_low(found, reading)]
    mains = [reading for reading in read if reading not in apart]
    rows = [_circuit(found, "mains", mains, numbered)]
    return rows + ([_circuit(found, "extra_low", apart, numbered)] if apart else [])


def _extra_low(found: Assessment, reading: Answer) -> bool:
    """Say whether a reading is of control wiring that an isolating transformer feeds; what is not known is mains."""
    return name_of(reading.at) == "control" and found.answers.word("wire.circuit", reading.at) == "extra_low"


def _circuit(found: Assessment, circuit: insulation.CircuitKind, read: list[Answer], numbered: Numbered) -> View:
    named, limit_id = words().measured, CIRCUITS[circuit]
    lowest, limit = min(read, key=_value, default=None), found.profile.find(limit_id)
    printed = named.none_printed
    if limit:
        printed = show_quantity(limit.value, limit.unit)
    if limit and lowest and "test_volts" in lowest.details:
        passes = insulation.judge_circuit(lowest.value, lowest.details["test_volts"], found.profile.id, circuit)
        verdict = {True: named.reached, False: named.missed, None: insulation.sentence("not_shown")}
        printed += f": {verdict[passes]}"
    entry = _at_least(lowest, found.answers.limits[limit_id])
    what = named.wiring if circuit == "mains" else named.extra_low_wiring
    return _row(what, _said(lowest), printed, entry, rule=limit, numbered=numbered)


def _leakage(found: Assessment, kiln: Address, numbered: Numbered) -> View:
    """Return the row of leakage: by the country's rule for the kiln's power, and by our own figure."""
    named, reading = words().measured, _given(found, "energise.leakage", kiln)
    kw, country = found.answers.number("identity.kw", kiln), found.profile.id
    allowed = leakage.printed_ma(country, kw)
    printed = named.none_printed if allowed is None else _at_most(reading, allowed, "mA")
    rule = found.profile.leakage
    note = named.power_unknown if rule and rule.ma_per_kw and kw is None else ""
    return _row(named.leakage, _said(reading), printed, _at_most(reading, leakage.entry_ma(country, kw), "mA"),
                rule=rule, numbered=numbered, note=note)  # fmt: skip


def _earth(found: Assessment, kiln: Address, numbered: Numbered) -> View:
    """Return the row of the highest earth continuity: beside what the country prints, and beside the lesser figure."""
    named, limit = words().measured, _earth_limit(found, kiln)
    highest = max(_all_given(found, "earth.ohm", kiln, "bond"), key=_value, default=None)
    length = found.answers.number("earth.length", kiln)
    printed = named.none_printed if limit.printed_ohm is None else _at_most(highest, limit.printed_ohm, "ohm")
    note = named.conductor(length=show_quantity(length, "m")) if length else ""
    return _row(named.earth, _said(highest), printed, _at_most(highest, limit.ohm, "ohm"), rule=found.profile.earth,
                numbered=numbered, note=note)  # fmt: skip


def _earth_limit(found: Assessment, kiln: Address) -> EarthLimit:
    """Return the limit for the conductor in the reading, as far as it is known, as the fact judges it."""
    length, area = found.answers.number("earth.length", kiln), found.answers.word("earth.area", kiln)
    connection = found.answers.word("scope.connection", kiln)
    return earth_limit(found.profile.id, length or 0.0, area or OTHER, connection or "fixed")


def _given(found: Assessment, question: str, at: Address) -> Answer | None:
    answer = found.answers.given.get(key_of(question, at))
    return answer if answer and answer.state == "given" else None


def _all_given(found: Assessment, question: str, kiln: Address, kind: str) -> list[Answer]:
    places = found.answers.components(kind, of=kiln)
    return [answer for at in places if (answer := _given(found, question, at))]


def _value(answer: Answer) -> float:
    return float(answer.value)


def _said(reading: Answer | None) -> str:
    if reading is None:
        return words().measured.open
    unit = {"zone.insulation": "Mohm", "wire.insulation": "Mohm", "earth.ohm": "ohm"}.get(reading.question, "mA")
    volts = reading.details.get("test_volts")
    return show_quantity(reading.value, unit) + (f" at {show_quantity(volts, 'V')}" if volts else "")


def _at_least(reading: Answer | None, entry: float) -> str:
    named, figure = words().measured, show_quantity(entry, "Mohm")
    return figure if reading is None else f"{figure}: {named.reached if reading.value >= entry else named.missed}"


def _at_most(reading: Answer | None, most: float, unit: str) -> str:
    named, figure = words().measured, show_quantity(most, unit)
    return figure if reading is None else f"{figure}: {named.within if reading.value <= most else named.over}"


def _ma(value: float) -> str:
    """Print a reckoned leakage; less than a tenth of a milliampere is no figure."""
    if isinf(value):
        return words().measured.unbounded
    return (
        show_quantity(value, "mA")
        if value >= LEAST_MA
        else words().measured.next_to_nothing(ma=show_quantity(LEAST_MA, "mA"))
    )


def _elsewhere(found: Assessment, numbered: Numbered) -> list[View]:
    """Return what is superseded or contrary for the figures of the rows."""
    shown = ("wiring_insulation_megohm", "appliance_insulation_megohm", "heating_allowance_kw", "leakage", "earth")
    return [_one_elsewhere(one, numbered) for name in shown for one in found.profile.printed_elsewhere(name)]


def _one_elsewhere(one: Elsewhere, numbered: Numbered) -> View:
    named = words().measured
    edition = f" ({one.edition})" if one.edition else ""
    unit = {"Mohm": "MΩ", "ohm": "Ω"}.get(one.unit, one.unit)
    cites = numbered.cites([Citation(one.source, one.clause)]) if one.source else []
    say = f"{named.elsewhere[one.status]}{edition}, {one.what}: {one.value} {unit}".rstrip()
    return {"say": say, "basis": named.basis[one.basis], "cites": cites}


# ---------------------------------------------------------------------------------------- repeated readings


def _courses(found: Assessment, kiln: Address) -> list[str]:
    """Return the course of insulation zone by zone; where all zones were joined, what the log has is a course of its
    own, and with one zone alone it is of that."""
    zones = found.answers.components("zone", of=kiln)
    if len(zones) == 1:
        return _with_log(found, kiln, zones[0]) or _series(found, zones[0])
    return [*(line for zone in zones for line in _series(found, zone)), *_with_log(found, kiln, None)]


def _series(found: Assessment, zone: Address) -> list[str]:
    """Return the course of the readings of one zone at one test voltage, and each stop in it; none of a single one."""
    read = _series_readings(found, zone)
    if len(read) < SERIES:
        return []
    course, named = insulation.shape(read), words().measured
    said = named.series(
        zone=found.answers.own_label(zone), number=len(read), hours=show_number(read[-1][0]),
        first=show_quantity(read[0][1], "Mohm"), least=show_quantity(course.minimum_megohm, "Mohm"),
        last=show_quantity(read[-1][1], "Mohm"), state=insulation.sentence(course.state),
    )  # fmt: skip
    stops = [named.stop(hours=show_number(stop.hours), say=insulation.sentence(stop.sentence)) for stop in course.stops]
    return [" ".join([said, *stops])]


def _with_log(found: Assessment, kiln: Address, zone: Address | None) -> list[str]:
    """Return the course of what was answered of a zone, if any, with what the log has of all lives joined; none where
    the log has nothing of it. Its state is told of what was answered: a log goes through many heats."""
    named, answered = words().measured, _dated_readings(found, zone) if zone else []
    logged = [_Read(one.measured, one.value or 0.0, one.details["test_volts"], one.details["lining_degc"])
              for one in log_of(found.answers, kiln) if _is_whole(one)]  # fmt: skip
    last = max((*answered, *logged), key=lambda one: one.at.timestamp(), default=None)
    own, by_log = ([one for one in of if last and one.volts == last.volts] for of in (answered, logged))
    read = sorted((*own, *by_log), key=lambda one: one.at.timestamp())
    if not by_log or len(read) < SERIES:
        return []
    said = named.logged_series(
        zone=found.answers.own_label(zone) if zone else named.all_zones, number=len(read), logged=len(by_log),
        hours=show_number((read[-1].at - read[0].at).total_seconds() / 3600), first=_at_degc(read[0]),
        least=_at_degc(min(read, key=lambda one: one.megohm)), last=_at_degc(read[-1]),
        warmest=_at_degc(max(read, key=lambda one: one.degc)),
    )  # fmt: skip
    return [" ".join([said, *_state(found, zone)])]


def _state(found: Assessment, zone: Address | None) -> list[str]:
    """Return what the answered readings of a zone come to, and each stop in them; nothing of a single one."""
    read, named = _series_readings(found, zone) if zone else [], words().measured
    if len(read) < SERIES:
        return []
    course = insulation.shape(read)
    stops = [named.stop(hours=show_number(stop.hours), say=insulation.sentence(stop.sentence)) for stop in course.stops]
    return [named.state(number=len(read), state=insulation.sentence(course.state)), *stops]


@dataclass(frozen=True)
class _Read:
    """One reading of a course."""

    at: datetime
    megohm: float
    volts: float
    degc: float


def _at_degc(one: _Read) -> str:
    value, degc = show_quantity(one.megohm, "Mohm"), show_quantity(one.degc, "degC")
    return words().measured.at_degc(value=value, degc=degc)


def _dated_readings(found: Assessment, zone: Address) -> list[_Read]:
    """Return what was answered of a zone, of the moment at which it was measured."""
    taken = [one for one in found.answers.readings.get(key_of("zone.insulation", zone), []) if _dated(one)]
    told = ((one.measured or one.moment, one) for one in taken)
    return [_Read(at, one.value, one.details["test_volts"], one.details["lining_c"]) for at, one in told if at]


def _is_whole(one: Logged) -> bool:
    """Whether a line of the log is insulation of all lives joined, with what it is compared by."""
    told = one.what == "insulation" and one.unit in MEGOHMS and one.value is not None
    return told and is_full(one) and {"test_volts", "lining_degc"} <= set(one.details)


def _series_readings(found: Assessment, zone: Address) -> list[tuple[float, float, float]]:
    """Return the readings of one zone (hours since the first, Mohm, °C of the lining), all at the last one's volts."""
    taken = [one for one in found.answers.readings.get(key_of("zone.insulation", zone), []) if _dated(one)]
    alike = [one for one in taken if one.details["test_volts"] == taken[-1].details.get("test_volts")]
    moments = [one.moment for one in alike if one.moment]
    hours = [(moment - moments[0]).total_seconds() / 3600 for moment in moments]
    return insulation.without_corrections(
        [(hour, one.value, one.details["lining_c"]) for hour, one in zip(hours, alike, strict=True)]
    )


def _dated(answer: Answer) -> bool:
    return answer.moment is not None and {"test_volts", "lining_c"} <= set(answer.details)


# ---------------------------------------------------------------------------------------- what a device sees


def _device(found: Assessment, kiln: Address) -> str:
    """Say what a residual-current device sees of leakage at this connection, with figures where all zones were read."""
    named, lies = words().measured.device, _lies(found, kiln)
    said = [found.profile.terms.rcd + ": " + (named.sees[lies] if lies else named.open)]
    zones = found.answers.components("zone", of=kiln)
    read = _all_given(found, "zone.insulation", kiln, "zone")
    if lies and read and len(read) == len(zones):
        said.append(_device_figures(found, kiln, lies, [_value(one) for one in read]))
    return " ".join([*said, named.always])


def _device_figures(found: Assessment, kiln: Address, lies: leakage.SupplyConnection, megohms: Sequence[float]) -> str:
    """Return what a device sees in each switching state, reckoned from all zones side by side."""
    named, volts = words().measured.device, _volts_to_earth(found, kiln)
    kohm = 0.0 if 0 in megohms else 1000 / sum(1 / megohm for megohm in megohms)
    states = [state for of, state in leakage.SHARE if of == lies]
    seen = {state: leakage.residual_ma(lies, volts, kohm, state) for state in states}
    parts = [f"{named.state[state]} {_ma(ma)} ({_response(found, kiln, ma)})" for state, ma in seen.items()]
    return named.figures(parts="; ".join(parts), rating=_rating_words(found, kiln))


def _response(found: Assessment, kiln: Address, ma: float) -> str:
    return words().measured.device.response[leakage.response(ma, _device_ma(found, kiln))]


def _rating_words(found: Assessment, kiln: Address) -> str:
    rating_ma = _device_ma(found, kiln)
    return words().measured.device.class_a if rating_ma is None else show_quantity(rating_ma, "mA")


def _device_ma(found: Assessment, kiln: Address) -> float | None:
    """Return the rating of the device: as answered, else as usual in the country; None for a class A interrupter."""
    said, usual = found.answers.number("energise.rcd_ma", kiln), found.profile.find("rcd_ma")
    return said or (usual.value if usual else None)


def _lies(found: Assessment, kiln: Address) -> leakage.SupplyConnection | None:
    """Return how the elements lie between lines and neutral; where a line has 120 V, one of 208 V lies across two."""
    connected, rated = readings.connection(found.answers, kiln), readings.rating(found.answers, kiln)
    if connected != "single":
        return connected
    if rated is None:
        return None
    return "line_line" if rated.volts > found.profile.figure("volts_to_earth") * (3**0.5) * 0.9 else "line_neutral"


def _volts_to_earth(found: Assessment, kiln: Address) -> float:
    rated = readings.rating(found.answers, kiln)
    return line_to_earth_volts(found.profile.id, rated.volts if rated else None)
