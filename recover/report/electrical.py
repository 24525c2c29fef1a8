"""What an electrician is given: the connection, the ohms and amperes to expect, and three forms to fill in and sign."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from recover.asked.told import key_of
from recover.base.addresses import JOB, Address, name_of, within
from recover.base.measures import show_number, show_quantity
from recover.engineering.circuits import Connection, circuit_ohm, phases_of
from recover.engineering.supply import Conductor, Division, Supply, supply, supply_data
from recover.judged import readings
from recover.judged.readings import Rating
from recover.profiles import Profile
from recover.report.paper import View, runs, suspended
from recover.report.resistances import joint, new_coil
from recover.report.sketch import connection_sketch
from recover.report.words import words
from recover.rules.gates import ReferralLine, referral

if TYPE_CHECKING:
    from recover.judged.assessment import Assessment, Finding

NO_PARTS = frozenset({"protection", "bonding", "supply", "contents", "fitting"})
"""Tables that speak of work, of what is not the kiln's, or of a part that another table orders."""

CONTACTORS = ("contactor", "safety_contactor")
"""Devices that carry the current of the elements and are ordered by their AC-1 rating."""


def _supply(found: Assessment, kiln: Address) -> Supply | None:
    """Return what the kiln draws with all elements on, and what is put before it; None without rating or connection."""
    rated, connected = readings.rating(found.answers, kiln), readings.connection(found.answers, kiln)
    return supply(rated.kw, rated.volts, phases_of(connected), found.profile.id) if rated and connected else None


def _expected(found: Assessment, kiln: Address) -> View:
    """Return the sketch of the connection, and what rating and connection call for: amperes, ohms, their band."""
    rated, connected = readings.rating(found.answers, kiln), readings.connection(found.answers, kiln)
    named = words().electrical
    strings = int(found.answers.number("element.strings", kiln) or 1) * (1 if connected == "single" else 3)
    view: View = {
        "kiln": found.answers.label(kiln), "sketch": "", "points": "", "rows": [],
        "connection": named.connection[connected] if connected else named.open,
        "note": named.no_rating if rated is None else "",
    }  # fmt: skip
    if connected:
        view["sketch"] = connection_sketch(connected, strings, _terminals(found, rated))
        view["points"] = named.points[connected]
    if rated:
        view["rows"] = _expected_rows(found, kiln, rated, connected)
        view["note"] = named.inferred if rated.inferred else named.plate
    return view


def _terminals(found: Assessment, rated: Rating | None) -> dict[str, str]:
    """Return the words of a sketch; where a line has 120 V to neutral, a kiln of 208 V or more is across two lines."""
    named = words().electrical.sketch
    two_lines = rated is not None and 120 in found.profile.nominal.volts and rated.volts > 150
    return {**named, "L": named["L1"], "N": named["L2"]} if two_lines else {**named}


def _expected_rows(found: Assessment, kiln: Address, rated: Rating, connected: Connection | None) -> list[View]:
    named, limits = words().electrical, found.answers.limits
    rows = [(named.rating, f"{show_quantity(rated.volts, 'V')}, {show_quantity(rated.kw, 'kW')}")]
    if drawn := _supply(found, kiln):
        rows.append((named.current, show_quantity(drawn.current_a, "A")))
    if connected and not rated.inferred:  # what was inferred from ohms says nothing about ohms
        ohm, zones = circuit_ohm(connected, rated.volts, rated.kw), len(found.answers.components("zone", of=kiln))
        rows.append((named.circuit, _ohms(ohm, limits)))
        rows += [(named.zone, _ohms(ohm * zones, limits))] if zones > 1 else []
    measured = [found.answers.number("zone.ohm", zone) for zone in found.answers.components("zone", of=kiln)]
    known = "; ".join(show_quantity(ohm, "ohm") for ohm in measured if ohm)
    rows += [(named.measured, known)] if known else []
    element = found.answers.number("element.expected_ohm", kiln)
    rows += [(named.element, show_quantity(element, "ohm"))] if element else []
    heat = joint(found, kiln)
    rows += [(named.joint, heat)] if heat else []
    return [{"label": label, "value": value} for label, value in rows]


def _ohms(ohm: float, limits: Mapping[str, float]) -> str:
    """Print the ohms of a plate with the span that a cold circuit may show."""
    low, high = ohm * limits["plate_ohm_low"], ohm * limits["plate_ohm_high"]
    return f"{show_quantity(ohm, 'ohm')} ({words().span(first=show_number(low), last=show_number(high))})"


# ---------------------------------------------------------------------------------------- the three forms


def forms(found: Assessment) -> list[View]:
    """Return three referral forms for each kiln: its supply, the kiln as repaired equipment, the first energising."""
    return [
        {
            "title": form.title, "where": found.answers.where(kiln), "intro": form.intro,
            "to": found.profile.terms.electrician, "expected": _expected(found, kiln),
            "aids": _aids(found, kiln, form.id), "suspended": suspended(found, kiln),
            "lines": [_line(line) for line in found.referral if line.form == form.id],
            "items": _theirs(found, kiln, form.tables), "blanks": words().referral_blanks,
        }
        for kiln in found.answers.kilns
        for form in referral().form
    ]  # fmt: skip


def _aids(found: Assessment, kiln: Address, form: str) -> View:
    """Return what helps the talk about the supply, and about contactors that are replaced; nothing else."""
    drawn = _supply(found, kiln)
    if drawn and form == "supply":
        cords = found.answers.recorded("scope.connection", kiln) != "fixed"
        return _supply_aids(found.profile, drawn, cords=cords)
    replaced = any(within(one.at, "kiln") == kiln and _is_contactor(one) and one.outcome.high == "replace" and one.to_do
                   for one in found.findings)  # fmt: skip
    return _contactor_aids(drawn) if drawn and form == "kiln" and replaced else {"rows": [], "caution": ""}


def _is_contactor(finding: Finding) -> bool:
    return finding.table.id == "switching" and name_of(finding.at) in CONTACTORS


def _line(line: ReferralLine) -> View:
    return {"say": line.say, "result": line.result}


def _theirs(found: Assessment, kiln: Address, tables: list[str]) -> list[str]:
    findings = [
        one for one in found.findings
        if one.table.id in tables and one.to_do and "electrician" in one.who and within(one.at, "kiln") == kiln
    ]  # fmt: skip
    labels = [one.label for one in found.findings]
    return [f"{_told_apart(one, labels)}: {one.words}" for one in findings]


def _told_apart(finding: Finding, labels: list[str]) -> str:
    """Return what a finding is about; with its table where several speak of it: the tails of an element, its wire."""
    return finding.label if labels.count(finding.label) == 1 else f"{finding.label}, {finding.table.title.lower()}"


# ---------------------------------------------------------------------------------------- what helps the talk


def _supply_aids(country: Profile, drawn: Supply, *, cords: bool) -> View:
    """Return the rows of the form about the supply, with those of cords where they may carry it; what to beware of."""
    rows = [_next_rating(country, drawn), *_subdivide(drawn.division)]
    if drawn.rating_a is None:
        return {"rows": rows, "caution": supply_data().sentence["beyond_list"]}
    named = words().aids
    rows.append(_thinnest(named.cable, [one for one in drawn.conductors if one.cable.copper != "flexible"]))
    if cords:
        rows.append(_thinnest(named.cord, [one for one in drawn.conductors if one.cable.copper == "flexible"]))
    said = supply_data().sentence
    return {"rows": rows, "caution": " ".join([said["cable"], *([said["together"]] if drawn.circuits > 1 else [])])}


def _contactor_aids(drawn: Supply) -> View:
    """Return the row about a contactor that is replaced."""
    named, rating, amps = words().aids, drawn.contactor_a, show_quantity(drawn.circuit_a, "A")
    value = named.contactor_value(rating=show_quantity(rating, "A"), amps=amps) if rating else named.beyond_steps
    return {
        "rows": [{"label": named.contactor(load=_load(drawn)), "value": value}],
        "caution": supply_data().sentence["contactor"],
    }


def _contactor_order(drawn: Supply) -> str:
    """Return what an order for a contactor says of its rating."""
    named, rating = words().aids, drawn.contactor_a
    return named.contactor_order(rating=show_quantity(rating, "A"), load=_load(drawn)) if rating else named.beyond_steps


def _load(drawn: Supply) -> str:
    """Return what a contactor carries where a rule divides the elements, and where none does."""
    return words().aids.one_of(circuits=drawn.circuits) if drawn.circuits > 1 else words().aids.whole


def _next_rating(country: Profile, drawn: Supply) -> View:
    named = words().aids
    return {"label": named.rating, "value": _rating(country, drawn) if drawn.rating_a else named.beyond_steps}


def _rating(country: Profile, drawn: Supply) -> str:
    """Return the device before the kiln, or before each circuit where a rule divides its elements."""
    named, rating = words().aids, show_quantity(drawn.rating_a or 0.0, "A")
    amps = show_quantity(drawn.circuit_a, "A")
    factor = named.factor if country.figure("load_factor") > 1 else named.no_factor
    if drawn.circuits == 1:
        return named.rating_value(rating=rating, factor=factor, amps=amps)
    return named.rating_each(rating=rating, factor=factor, amps=amps, circuits=drawn.circuits)


def _subdivide(found: Division | None) -> list[View]:
    """Return whether a printed rule divides the elements; nothing where no such rule is printed."""
    if found is None:
        return []
    named, limit = words().aids, show_quantity(found.rule.value, "A")
    value = named.undivided(limit=limit)
    if found.called_for:
        value = named.divided(limit=limit, circuits=found.circuits, device=show_quantity(found.device_a, "A"))
    return [{"label": named.subdivide, "value": value}]


def _thinnest(label: str, conductors: list[Conductor]) -> View:
    """Return the thinnest conductor for a device by each table, in air of 30 °C."""
    return {"label": label, "value": "; ".join(f"{one.cable.label}: {conductor(one)}" for one in conductors)}


def conductor(one: Conductor) -> str:
    """Return a conductor: size, the device that a code lets it have at most, what drops in it over a known length."""
    named = words().aids
    if one.size is None or one.carries_a is None or one.bears_a is None:
        return named.beyond_tables
    size = f"{one.size:g} AWG" if one.cable.unit == "AWG" else f"{show_number(one.size)} mm²"
    if one.bears_a < one.carries_a:
        size = named.protected(size=size, most=show_quantity(one.bears_a, "A"))
    if one.begins:
        size = named.begins(size=size)
    if one.drop_v is None or one.drop_percent is None:
        return size
    if one.drop_percent >= 100:
        return named.too_long(size=size)
    return named.dropping(size=size, volts=show_number(one.drop_v, 2), percent=show_number(one.drop_percent, 2))


# ---------------------------------------------------------------------------------------- what an order needs


def orders(found: Assessment) -> list[View]:
    """Return what is to be obtained: each part that is replaced or repaired, with what an order for it needs."""
    replaced = [
        one
        for one in found.findings
        if one.to_do and one.outcome.high in ("repair", "replace") and one.table.id not in NO_PARTS
    ]
    rows: dict[tuple[str, str, str], list[Finding]] = {}
    for finding in replaced:
        rows.setdefault((finding.table.title, finding.words, _needs(found, [finding], read=False)), []).append(finding)
    return [
        {"table": title, "outcome": outcome, "needs": _needs(found, group), "count": len(group),
         "components": runs([one.label for one in group])}
        for (title, outcome, _), group in rows.items()
    ]  # fmt: skip


def _needs(found: Assessment, group: list[Finding], *, read: bool = True) -> str:
    """Return what is known of parts that are ordered alike, by the questions named for their table; open stands so.

    What was read of each differs and makes no order of its own within a kiln: it is left out where `read` is False.
    """
    first, kiln = group[0], within(group[0].at, "kiln") or JOB
    named = found.answers.questions.printed("order", first.table.id)
    values = [f"{label} {_order_values(found, name, group, read=read)}" for name, label in named.items()]
    coil = new_coil(found, kiln) if first.table.id == "element" else ""
    drawn = _supply(found, kiln) if _is_contactor(first) else None
    return "; ".join([*values, *([coil] if coil else []), *([_contactor_order(drawn)] if drawn else [])])


def _order_values(found: Assessment, name: str, group: list[Finding], *, read: bool) -> str:
    """Return what the parts of a group are by one question, in their order, what is alike once."""
    kilns = {one.at: within(one.at, "kiln") or JOB for one in group}
    if found.answers.questions.questions[name].kind == "reading" and not read:
        return kilns[group[0].at]
    return ", ".join(dict.fromkeys(_order_value(found, name, at, kiln) for at, kiln in kilns.items()))


def _order_value(found: Assessment, name: str, at: Address, kiln: Address) -> str:
    question = found.answers.questions.questions[name]
    place = within(at, question.per) or (kiln if question.per == "kiln" else at)
    answer = found.answers.given.get(key_of(name, place))
    if answer is None or answer.state != "given":
        return words().open[answer.state if answer else "unanswered"]
    return found.answers.in_words(answer, imperial=found.profile.imperial)
