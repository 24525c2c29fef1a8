"""Readings judged by arithmetic: an element by its plate and its neighbours, a probe by the boiling point up there.

Facts are judged by conditions over numbers. The numbers that need a sum of `engineering` are made here, out of the
answers; None where a figure is missing, so that the fact stands for everything it could be.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from statistics import median
from typing import Any

from recover.answers import Answers, key_of
from recover.conditions import Possible
from recover.engineering.banks import Bank, bank
from recover.engineering.boiling import boiling
from recover.engineering.elements import figures
from recover.engineering.insulation import falling, without_corrections
from recover.kiln import JOB, Address, Connection, inferred_kw, within

CONNECTIONS: tuple[Connection, ...] = ("single", "star", "star_neutral", "delta")

ALLOYS = {"fecral": "fecral_22_58", "nicr": "nicr_80_20"}
"""The wire that an answer stands for. Rods of carbide and disilicide change too much with heat to be judged cold."""

NOT_WIRE = frozenset({"carbide", "disilicide"})
"""Elements that are no wire: what wire teaches of wear and open strings does not hold for them."""


@dataclass(frozen=True)
class Rating:
    """What a kiln is rated for: by its plate, or inferred from measured ohms and measured supply."""

    volts: float
    kw: float
    inferred: bool


def bench_value(answers: Answers, what: str, at: Address) -> Possible:
    """Return what a reading comes to beside its yardstick: a number, or `yes` and `no`; None where it is not known.

    `plate_ratio`: ohms of an element over those its plate calls for. `odd`: whether an element differs from its like.
    `off_boiling`: kelvins by which a probe misses the boiling point.
    """
    return {"plate_ratio": _plate_ratio, "odd": _odd, "off_boiling": _off_boiling,
            "course": _course}[what](answers, at)


def given(answers: Answers, name: str, at: Address) -> Any:
    """Return what was answered about a component, also where the question is no longer asked; None if nothing was."""
    return answers.recorded(name, at)


def connection(answers: Answers, kiln: Address) -> Connection | None:
    """Return how the elements are connected, as answered; single where the plate says single phase."""
    said = given(answers, "element.connection", kiln)
    known = next((one for one in CONNECTIONS if one == said), None)
    return known or ("single" if given(answers, "identity.phases", kiln) == "single" else None)


def rating(answers: Answers, kiln: Address) -> Rating | None:
    """Return the rating of a kiln: the plate's where it is known, else inferred and called so, else None."""
    volts, kw = answers.number("identity.volts", kiln), answers.number("identity.kw", kiln)
    if volts is not None and kw is not None:
        return Rating(volts, kw, inferred=False)
    measured, connected = answers.number("supply.volts", kiln), connection(answers, kiln)
    ohms = [answers.number("zone.ohm", zone) for zone in answers.components("zone", of=kiln)]
    known = [ohm for ohm in ohms if ohm]
    if measured is None or connected is None or not ohms or len(known) < len(ohms):
        return None
    kw = inferred_kw(connected, measured, known)
    return None if kw is None else Rating(measured, kw, inferred=True)


def plate_bank(answers: Answers, kiln: Address) -> Bank | None:
    """Return the bank of like wire elements that plate and arrangement call for; None where they do not say."""
    volts, kw = given(answers, "identity.volts", kiln), given(answers, "identity.kw", kiln)
    connected, strings = connection(answers, kiln), given(answers, "element.strings", kiln)
    count, alloy = given(answers, "element.count", kiln), ALLOYS.get(given(answers, "element.alloy", kiln) or "")
    if not (volts and kw and connected and strings and count and alloy) or not _alike(answers, kiln):
        return None
    series, left_over = divmod(int(count), int(strings) * (1 if connected == "single" else 3))
    return None if left_over or not series else bank(connected, volts, kw, int(strings), series, alloy=alloy)


def element_readings(answers: Answers, kiln: Address) -> list[float | None]:
    """Return the measured ohms of each element of a kiln, from the floor; None where one was not measured."""
    return [given(answers, "element.ohm", at) for at in answers.components("element", of=kiln)]


def _plate_ratio(answers: Answers, at: Address) -> Possible:
    kiln = within(at, "kiln") or at
    if given(answers, "element.expected_ohm", kiln):  # papers go before the plate
        return frozenset()
    ohm, whole = given(answers, "element.ohm", at), plate_bank(answers, kiln)
    return frozenset({ohm / whole.element_hot_ohm}) if ohm and whole else None


def _odd(answers: Answers, at: Address) -> Possible:
    """Say whether an element is odd among all: one that was not measured may lie anywhere."""
    kiln = within(at, "kiln") or at
    if given(answers, "element.expected_ohm", kiln):
        return frozenset({"no"})
    ohm = given(answers, "element.ohm", at)
    if ohm is None or not _alike(answers, kiln):
        return None
    readings = element_readings(answers, kiln)
    low, high = (median(other if one is None else one for one in readings) for other in (0.0, inf))
    least, most = round(ohm / high, 9), round(ohm / low if low else inf, 9)
    spread = figures().spread.value
    may = {"yes": least < 1 - spread or most > 1 + spread, "no": least <= 1 + spread and most >= 1 - spread}
    return frozenset(value for value, possible in may.items() if possible)


def _course(answers: Answers, at: Address) -> Possible:
    """Say whether the readings of a zone that count are on their way down: those of one sitting correct each other."""
    answers.answer("zone.insulation", at)
    read = [one for one in answers.readings.get(key_of("zone.insulation", at), []) if not answers.doubts(one)]
    timed = [(one.measured or one.moment or answers.now, one.value) for one in read]
    series = [(moment.timestamp() / 3600, value, 0.0) for moment, value in timed]
    kept = [value for _, value, _ in without_corrections(series)]
    return frozenset({"falling" if falling(kept) else "steady"}) if kept else None


def _alike(answers: Answers, kiln: Address) -> bool:
    return bool(given(answers, "element.alike", kiln) == "yes")


def _off_boiling(answers: Answers, at: Address) -> Possible:
    """Return the larger of what was said and what follows from the reading and the height."""
    shown, altitude_m = given(answers, "probe.in_boiling", at), given(answers, "site.altitude", JOB)
    found = [given(answers, "probe.off_boiling", at)]
    if shown is not None and altitude_m is not None:
        found.append(abs(shown - boiling(altitude_m).degc))
    known = [one for one in found if one is not None]
    return frozenset({max(known)}) if known else None
