"""What helps the talk with an electrician: standard rating, division of elements, cable, contactor. Never a sizing."""

from __future__ import annotations

from typing import Literal

from recover.base.measures import show_number, show_quantity
from recover.engineering.supply import (
    Cable,
    contactor_rating_a,
    look_up_cable,
    must_subdivide,
    next_rating_a,
    supply_data,
)
from recover.profiles import Profile
from recover.report.paper import View
from recover.report.words import words


def supply_aids(country: Profile, amps: float, phases: Literal[1, 3]) -> View:
    """Return the rows of the form about the supply, for a line current [A], and what to beware of."""
    rating = next_rating_a(amps, country.id)
    rows = [_rating(country, amps, rating), *_subdivide(country, amps)]
    if rating is None:
        return {"rows": rows, "caution": supply_data().sentence["beyond_list"]}
    return {"rows": [*rows, _cable(country, rating, phases)], "caution": supply_data().sentence["cable"]}


def contactor_aids(amps: float) -> View:
    """Return the row about a contactor that is replaced, for a line current [A]."""
    named, rating = words().aids, contactor_rating_a(amps)
    value = named.beyond_steps
    if rating:
        value = named.contactor_value(rating=show_quantity(rating, "A"), amps=show_quantity(amps, "A"))
    return {"rows": [{"label": named.contactor, "value": value}], "caution": supply_data().sentence["contactor"]}


def contactor_order(amps: float) -> str:
    """Return what an order for a contactor says of its rating, for a line current [A]."""
    named, rating = words().aids, contactor_rating_a(amps)
    return named.contactor_order(rating=show_quantity(rating, "A")) if rating else named.beyond_steps


def _rating(country: Profile, amps: float, rating: float | None) -> View:
    named = words().aids
    factor = named.factor if country.figure("load_factor") > 1 else named.no_factor
    value = named.beyond_steps
    if rating:
        value = named.rating_value(rating=show_quantity(rating, "A"), factor=factor, amps=show_quantity(amps, "A"))
    return {"label": named.rating, "value": value}


def _subdivide(country: Profile, amps: float) -> list[View]:
    """Return whether a printed rule divides the elements; nothing where no such rule is printed."""
    named, rule = words().aids, country.find("subdivide_above_a")
    if rule is None:
        return []
    word = named.divided if must_subdivide(amps, country.id) else named.undivided
    return [{"label": named.subdivide, "value": word(limit=show_quantity(rule.value, rule.unit))}]


def _cable(country: Profile, rating: float, phases: Literal[1, 3]) -> View:
    """Return the thinnest cable for a device by each table that fits, in air of 30 °C."""
    loaded, unit = (2 if phases == 1 else 3), ("AWG" if country.imperial else "mm²")
    tables = [cable for cable in supply_data().cable if cable.unit == unit and cable.loaded in (0, loaded)]
    value = "; ".join(_one_cable(cable, rating) for cable in tables if cable.referral)
    return {"label": words().aids.cable, "value": value}


def _one_cable(cable: Cable, rating: float) -> str:
    look = look_up_cable(cable.id, rating)
    size = words().aids.beyond_tables if look is None else _size(look.size, cable.unit)
    return f"{cable.label}: {size}"


def _size(size: float, unit: str) -> str:
    return f"{size:g} AWG" if unit == "AWG" else f"{show_number(size)} mm²"
