"""Readings judged by arithmetic: elements, circuits and power by plate and neighbours, a probe by the boiling point.

Facts are judged by conditions over numbers. The numbers that need a sum of `engineering` are made here, out of the
answers; None where a figure is missing, so that the fact stands for everything it could be.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import product
from math import ceil, inf
from statistics import median

from recover.asked.answers import Answers, Judge
from recover.asked.told import (
    BY_LOG,
    COVERS,
    ELEMENT_LOGGED,
    FIRINGS_SHOWN,
    RENEWED,
    STOP_SINCE,
    Answer,
    SheetRun,
    key_of,
    known_at,
    known_order,
    seen_at,
    seen_since,
    to_the_minute,
)
from recover.base.addresses import JOB, Address, within
from recover.base.conditions import Possible
from recover.engineering.banks import Bank, bank
from recover.engineering.circuits import Connection, inferred_kw, phases_of
from recover.engineering.elements import figures, plate_factor
from recover.judged.admissible import good_until, undone_by
from recover.judged.dry import CUTOUT, DAY_TOP, cutout_covers, dry_evidence
from recover.judged.entry import element_logged
from recover.judged.failed import cold_readings, fallen_from
from recover.judged.fired import firings_shown
from recover.judged.risen import RISES, risen_from
from recover.judged.stops import stop_since
from recover.physics.air import boiling_degc, pressure_at_pa
from recover.profiles import Profile, profile

CONNECTIONS: tuple[Connection, ...] = ("single", "star", "star_neutral", "delta")

ALLOYS = {"fecral": "fecral_22_58", "nicr": "nicr_80_20"}
"""The wire that an answer stands for."""

RODS = frozenset({"carbide", "disilicide"})
"""Elements that are no wire: they change too much with heat to be judged cold, and do not age as wire does."""


POWER_OF = ("identity.volts", "identity.kw", "identity.phases", "supply.volts", "scope.zones", "element.connection",
            "element.alloy", "element.alike", "element.count", "element.strings")  # fmt: skip
"""What the power of every kiln with wire elements is worked out from, before its ohms."""

READ_BY = {"bond_read": "earth.ohm", "wiring_read": "wire.insulation", "zone_read": "zone.insulation",
           "circuit_read": "zone.ohm", "element_read": "element.ohm"}  # fmt: skip
"""Facts that say whether the kiln was dead when something was read, each with its reading."""

SHOWN_AFTER = {"insulation_shown": "dried.insulation", "amps_shown": "dried.amps", "hottest_shown": "dried.hottest"}
"""Facts that say the worst that heatings showed, each with its reading."""

FITS = ("within", "under", "over")
"""How power by ohms lies beside the plate, mildest first."""


@dataclass(frozen=True)
class _Plate:
    """A plate that goes with its connection, and what its wire gains in resistance when hot."""

    volts: float
    kw: float
    connection: Connection
    hot: float


@dataclass(frozen=True)
class _Share:
    """Least and most power, hot and at the plate's voltage, over rated power, by one set of ohms."""

    least: float
    most: float


@dataclass(frozen=True)
class _PowerDrawn:
    """Power by ohms and connection, hot, beside rated power: how it lies by the span of a plate, and both in kW.

    Of several sets of ohms the one furthest off; what is not under, at the measured supply where that is higher.
    """

    lies: str
    kw: float
    plate_kw: float


@dataclass(frozen=True)
class Rating:
    """What a kiln is rated for: by its plate, or inferred from measured ohms and measured supply."""

    volts: float
    kw: float
    inferred: bool


def reckoning(profile_name: str) -> Judge:
    """Return what works readings out by the law of a country: it says who may attest what explains one."""
    country = profile(profile_name)
    return lambda answers, what, at: _reckoned(answers, what, at, country)


def _reckoned(answers: Answers, what: str, at: Address, country: Profile) -> Possible:
    """Return what a reading comes to beside its yardstick: a number, or `yes` and `no`; None where it is not known.

    `plate_ratio`: ohms of an element over those its plate calls for. `odd`: whether an element differs from its like.
    `off_boiling`: kelvins by which a probe misses the boiling point. `zone_ratio`: ohms of all circuits over those of
    the plate. `papers_fit` and `power_fit`: how power by ohms and connection lies beside the plate.
    `over_sheet`: whether cut-out or highest set-point lie above the sheet of the day, `sheet_cutout` what
    that sets. `course`: whether readings of a zone fall. `earth_since`: since when the earth of a part is within its
    limit. Those of READ_BY: whether the kiln was dead when something was read. Those of SHOWN_AFTER: the worst that
    heatings showed.
    Those of RISES: whether insulation rose several times within the hour, and nobody who may in a country tells why.
    Those of BY_LOG: what log and answers say together of whether a lining is dry, of what stopped a heating, of
    insulation logged low since it was measured, of which firings are shown, and of whether the cut-out covers what was
    fired.
    """
    judges = {"plate_ratio": _plate_ratio, "odd": _odd, "off_boiling": _off_boiling, "zone_ratio": _zone_ratio,
              "papers_fit": _papers_fit, "power_fit": _power_fit, "course": _course,
              "earth_since": _earth_since, "over_sheet": _over_sheet, "sheet_cutout": _sheet_cutout}  # fmt: skip
    if what in BY_LOG:
        return _by_log(answers, what, at, country)
    if what in RISES:
        return frozenset({"yes" if risen_from(answers, what, at, country) else "no"})
    if what in SHOWN_AFTER:
        return _shown(answers, SHOWN_AFTER[what], at)
    return _read_while(answers, READ_BY[what], at) if what in READ_BY else judges[what](answers, at)


def _over_sheet(answers: Answers, at: Address) -> Possible:
    """Return whether the cut-out, or the highest set-point that it is set for, may lie above what the sheet of the day
    has for the run that is on then, or comes next. Sheets print whole degrees."""
    run = _sheet_run(answers, at)
    if run is None:
        return frozenset({"no"})
    most = {CUTOUT: inf if run.cutout_degc is None else ceil(run.cutout_degc), DAY_TOP: ceil(run.top_degc)}
    return frozenset(
        {"yes" if any(max(answers.look(name, at) or (inf,)) > degc for name, degc in most.items()) else "no"}
    )


def _sheet_cutout(answers: Answers, at: Address) -> Possible:
    """Return what the cut-out is set to by the sheet of the day, for the run that is on then or comes next [°C]."""
    run = _sheet_run(answers, at)
    return None if run is None or run.cutout_degc is None else frozenset({float(ceil(run.cutout_degc))})


def _sheet_run(answers: Answers, at: Address) -> SheetRun | None:
    """Return the run by the sheets of the newest plan that the cut-out was set for: that was on when it was read back,
    or came next within the day."""
    answer = answers.answer(CUTOUT, at)
    if answer is None:
        return None
    then, day = seen_at(answer), timedelta(hours=answers.limits["day_hours"])
    runs = (run for run in answers.sheets.get(at, ()) if run.ends > then)
    return next((run for run in runs if run.begins - then <= day), None)


def _by_log(answers: Answers, what: str, at: Address, country: Profile) -> Possible:
    """Return what a fact of BY_LOG comes to."""
    if what in (STOP_SINCE, ELEMENT_LOGGED):
        return (stop_since if what == STOP_SINCE else element_logged)(answers, at)
    judges = {COVERS: cutout_covers, FIRINGS_SHOWN: firings_shown}
    return judges.get(what, dry_evidence)(answers, at, country)


def connection(answers: Answers, kiln: Address) -> Connection | None:
    """Return how the elements are connected, as answered; single where the plate says single phase."""
    said = answers.recorded("element.connection", kiln)
    known = next((one for one in CONNECTIONS if one == said), None)
    return known or ("single" if answers.recorded("identity.phases", kiln) == "single" else None)


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
    volts, kw = answers.recorded("identity.volts", kiln), answers.recorded("identity.kw", kiln)
    connected, strings = connection(answers, kiln), answers.recorded("element.strings", kiln)
    count, alloy = answers.recorded("element.count", kiln), ALLOYS.get(answers.recorded("element.alloy", kiln) or "")
    if not (volts and kw and connected and strings and count and alloy) or not _alike(answers, kiln):
        return None
    series, left_over = divmod(int(count), int(strings) * (1 if connected == "single" else 3))
    return None if left_over or not series else bank(connected, volts, kw, int(strings), series, alloy=alloy)


def element_readings(answers: Answers, kiln: Address) -> list[float | None]:
    """Return the measured ohms of each element of a kiln, from the floor; None where one was not measured."""
    return [answers.recorded("element.ohm", at) for at in answers.components("element", of=kiln)]


def _plate_ratio(answers: Answers, at: Address) -> Possible:
    kiln = within(at, "kiln") or at
    if answers.recorded("element.expected_ohm", kiln):  # papers go before the plate
        return frozenset()
    ohm, whole = answers.recorded("element.ohm", at), plate_bank(answers, kiln)
    return frozenset({ohm / whole.element_hot_ohm}) if ohm and whole else None


def _odd(answers: Answers, at: Address) -> Possible:
    """Say whether an element is odd among all: one that was not measured may lie anywhere."""
    kiln = within(at, "kiln") or at
    if answers.recorded("element.expected_ohm", kiln):
        return frozenset({"no"})
    ohm = answers.recorded("element.ohm", at)
    if ohm is None or not _alike(answers, kiln):
        return None
    readings = element_readings(answers, kiln)
    low, high = (median(other if one is None else one for one in readings) for other in (0.0, inf))
    least, most = round(ohm / high, 9), round(ohm / low if low else inf, 9)
    spread = figures().spread.value
    may = {"yes": least < 1 - spread or most > 1 + spread, "no": least <= 1 + spread and most >= 1 - spread}
    return frozenset(value for value, possible in may.items() if possible)


def _course(answers: Answers, at: Address) -> Possible:
    """Say whether the last reading of a zone lies clearly below any of the day before."""
    if not cold_readings(answers, at):
        return None
    return frozenset({"falling" if fallen_from(answers, at) else "steady"})


def _earth_since(answers: Answers, at: Address) -> Possible:
    """Return the moment of the first reading within the limit that none over it follows; None while it is over.

    Of all that was ever said of it: what was not looked at, or is not known any more, takes no reading back.
    """
    answers.answer("earth.ohm", at)
    limits = answers.look("earth_limit_ohm", at)
    since: datetime | None = None
    for one in sorted(answers.history.get(key_of("earth.ohm", at), []), key=seen_at):
        read = one.state == "given" and bool(limits) and one.value <= min(limits or ())
        within_limit = read and not answers.doubts(one)
        since = (since or one.measured) if within_limit else None
    return None if since is None else frozenset({since})


def _read_while(answers: Answers, name: str, at: Address) -> Possible:
    """Say whether the kiln was locked off, and proven dead in a way that still held, when the reading that stands was
    taken."""
    read, kiln = answers.answer(name, at), within(at, "kiln") or at
    if read is None or read.state != "given" or read.measured is None:
        return None
    lock, dead = (_then(answers, question, kiln, read) for question in ("safe.upstream", "safe.dead"))
    if lock.value in ("off", "no") if lock else answers.recorded("safe.upstream", kiln):
        return frozenset({"live"})
    if dead is None and not answers.recorded("safe.dead", kiln):
        return None
    proven = dead is not None and dead.value == "proven" and _still_held(answers, dead, read)
    return frozenset({"dead" if proven else "live"})


def _then(answers: Answers, name: str, at: Address, read: Answer) -> Answer | None:
    """Return what was last seen by the time of a reading; None where nothing was, or nobody wrote down when."""
    answers.answer(name, at)
    told = [one for one in answers.history.get(key_of(name, at), []) if one.state == "given" and one.measured]
    by_then = [one for one in told if to_the_minute(seen_at(one)) <= to_the_minute(seen_since(read))]
    return max(by_then, key=lambda one: (to_the_minute(seen_at(one)), one.line), default=None)


def _still_held(answers: Answers, proof: Answer, read: Answer) -> bool:
    """Whether a proof was in date and not undone when something was read: a lock that is on again proves nothing."""
    question = answers.questions.questions[proof.question]
    until = good_until(answers, question, proof)
    cut = answers.is_line_unproved(proof.line) and not answers.is_line_unproved(read.line)
    if cut or (until and read.measured and read.measured >= until):
        return False
    undone = (to_the_minute(known_at(one)) for one in undone_by(answers, question, proof))
    return not any(moment <= to_the_minute(seen_at(read)) for moment in undone)


def _alike(answers: Answers, kiln: Address) -> bool:
    return bool(answers.recorded("element.alike", kiln) == "yes")


def _shown(answers: Answers, question: str, at: Address) -> Possible:
    """Return the worst that was read of heatings since somebody mended what they had shown; no value where nothing was.

    What was read before that is settled, by whatever meter it was read.
    """
    asked, key = answers.questions.questions[question], key_of(question, at)
    mended = answers.answer("dried.mended", within(at, "kiln") or at)
    settled = known_order(mended) if mended and mended.value in RENEWED else None
    told = [one for one in answers.history.get(key, ()) if settled is None or known_order(one) > settled]
    if not told and not settled:
        answers.answer(question, at)  # what rests on nothing read says so, and a first good reading is nothing new
    if not told:
        return frozenset()
    stands = answers.answer(question, at)
    values = [one.value for one in told if one.state == "given"]
    if not values or not stands or stands.state != "given":
        return None
    return frozenset({min(values) if asked.worse == "less" else max(values)})


def _off_boiling(answers: Answers, at: Address) -> Possible:
    """Return the larger of what was said and what follows from the reading and the height."""
    shown, altitude_m = answers.recorded("probe.in_boiling", at), answers.recorded("site.altitude", JOB)
    if shown is None and answers.last_given(key_of("probe.in_boiling", at)):
        return None  # taken back: nobody knows
    found = [answers.recorded("probe.off_boiling", at)]
    if shown is not None and altitude_m is not None:
        found.append(abs(shown - boiling_degc(pressure_at_pa(altitude_m))))
    known = [one for one in found if one is not None]
    return frozenset({max(known)}) if known else None


def air_of_room_degc(answers: Answers) -> float | None:
    """Return the temperature of the room's air as it was last read [°C]; None where nobody read it."""
    reading = answers.answer("event.air", JOB)
    degc = reading.details.get("air_c") if reading else None
    return None if degc is None else float(degc)


# ---------------------------------------------------------------------------------------- power


def plate(answers: Answers, kiln: Address) -> _Plate | None:
    """Return the plate; None where a figure is missing, its phases contradict the connection, or there is no wire."""
    volts, kw = answers.recorded("identity.volts", kiln), answers.recorded("identity.kw", kiln)
    alloy = ALLOYS.get(answers.recorded("element.alloy", kiln) or "")
    connected = _agreed_connection(answers, kiln)
    return _Plate(volts, kw, connected, plate_factor(alloy)) if volts and kw and alloy and connected else None


def _agreed_connection(answers: Answers, kiln: Address) -> Connection | None:
    """Return the connection that was answered, where the phases of the plate go with it; neither stands for both."""
    said = answers.recorded("element.connection", kiln)
    known = next((one for one in CONNECTIONS if one == said), None)
    phases = answers.recorded("identity.phases", kiln)
    return known if known and phases == ("single" if phases_of(known) == 1 else "three") else None


def power_missing(answers: Answers, kiln: Address) -> list[tuple[str, Address]]:
    """Return each question and component that judging the power of a kiln still waits for."""
    waits = [(name, kiln) for name in POWER_OF]
    known = plate(answers, kiln)
    for name, kind in _read_by(answers, kiln, known) if known else ():
        waits += [(name, at) for at in answers.components(kind, of=kiln)]
    if answers.recorded("element.alloy", kiln) in RODS or (known and not _shares(answers, kiln, known)):
        waits = [("energise.power_found", kiln)]
    return [(name, at) for name, at in waits if not answers.recorded(name, at)]


def _read_by(answers: Answers, kiln: Address, known: _Plate) -> list[tuple[str, str]]:
    """Return the readings that can tell the power, each with the family that it is taken of."""
    elements = [("element.ohm", "element")] if _each_tells(answers, kiln) else []
    return elements + ([("zone.ohm", "zone")] if _zones_tell(answers, kiln, known) else [])


def _power_fit(answers: Answers, kiln: Address) -> Possible:
    """Return the worst of what papers, circuits and elements say; the electrician's word where none of them can."""
    found = answers.recorded("energise.power_found", kiln)
    if found == "no":
        return frozenset({"over"})
    known, rods = plate(answers, kiln), answers.recorded("element.alloy", kiln) in RODS
    if known is None and not (rods and _agreed_connection(answers, kiln)):
        return None
    shares = _shares(answers, kiln, known) if known else []
    if not shares or known is None:
        return frozenset({"within"}) if found == "yes" else None
    volts = answers.recorded("supply.volts", kiln)
    gain = (volts / known.volts) ** 2 if volts else None
    return _worst(_fit(answers, share, gain) for share in shares)


def _papers_fit(answers: Answers, kiln: Address) -> Possible:
    if not answers.recorded("element.expected_ohm", kiln):
        return frozenset()
    papers, whole = answers.recorded("element.expected_ohm", kiln), plate_bank(answers, kiln)
    if whole is None or plate(answers, kiln) is None:
        return None
    return frozenset({_beside_plate(answers, papers / whole.element_hot_ohm)})


def _beside_plate(answers: Answers, ohms: float) -> str:
    """Return how power lies by cold ohms over those of a plate, which does not say whether it means hot or cold."""
    if round(ohms, 9) > answers.limits["plate_ohm_high"]:
        return "under"
    return "over" if round(ohms, 9) < answers.limits["plate_ohm_low"] else "within"


def power_drawn(answers: Answers, kiln: Address) -> _PowerDrawn | None:
    """Return the power that ohms and connection give beside the plate; None where it is open, or no ohms tell it."""
    known = plate(answers, kiln)
    shares = _shares(answers, kiln, known) if known else []
    volts, told = answers.recorded("supply.volts", kiln), [share for share in shares if share]
    if not (known and told and volts) or len(told) < len(shares):
        return None
    least, most = min(share.least for share in told), max(share.most for share in told)
    most *= max(1.0, (volts / known.volts) ** 2)
    lies = max((_beside_plate(answers, 1 / (share * known.hot)) for share in (least, most)), key=FITS.index)
    return _PowerDrawn(lies, (least if lies == "under" else most) * known.kw, known.kw)


def _shares(answers: Answers, kiln: Address, known: _Plate) -> list[_Share | None]:
    """Return what each set of ohms that can tell the power of this kiln says; None where it is not all measured."""
    shares = []
    if _arranged(answers, kiln) and answers.recorded("element.expected_ohm", kiln):
        shares.append(_by_papers(answers, kiln, known))
    if _each_tells(answers, kiln):
        shares.append(_by_elements(answers, kiln, known))
    if _zones_tell(answers, kiln, known):
        shares.append(_by_zones(answers, kiln, known))
    return shares


def _each_tells(answers: Answers, kiln: Address) -> bool:
    return _arranged(answers, kiln) and answers.recorded("element.singly", kiln) != "no"


def _zones_tell(answers: Answers, kiln: Address, known: _Plate) -> bool:
    """Say whether readings of the circuits give a power: not of several circuits of a star."""
    zones = answers.recorded("scope.zones", kiln)
    return zones is None or inferred_kw(known.connection, known.volts, [1.0] * int(zones)) is not None


def _arranged(answers: Answers, kiln: Address) -> bool:
    """Say whether one element may stand for all: not where they are unlike, or do not come out even on the phases."""
    connected, strings = answers.recorded("element.connection", kiln), answers.recorded("element.strings", kiln)
    count = answers.recorded("element.count", kiln)
    uneven = bool(strings and count and connected) and int(count) % (int(strings) * (1 if connected == "single" else 3))
    return answers.recorded("element.alike", kiln) != "no" and not uneven


def _by_papers(answers: Answers, kiln: Address, known: _Plate) -> _Share | None:
    ohm, whole = answers.recorded("element.expected_ohm", kiln), plate_bank(answers, kiln)
    share = whole.element_hot_ohm / (ohm * known.hot) if whole and ohm else None
    return None if share is None else _Share(share, share)


def _by_elements(answers: Answers, kiln: Address, known: _Plate) -> _Share | None:
    """Return the share by every element: least as if all lay in a row, most as if all lay side by side."""
    whole, read = plate_bank(answers, kiln), element_readings(answers, kiln)
    ohms = [ohm for ohm in read if ohm]
    if whole is None or not ohms or len(ohms) < len(read):
        return None
    called = whole.element_hot_ohm / known.hot
    return _Share(called * len(ohms) / sum(ohms), called * sum(1 / ohm for ohm in ohms) / len(ohms))


def _by_zones(answers: Answers, kiln: Address, known: _Plate) -> _Share | None:
    cold_kw = _zones_kw(answers, kiln, known)
    return None if cold_kw is None else _Share(*[cold_kw / known.hot / known.kw] * 2)


def _zones_kw(answers: Answers, kiln: Address, known: _Plate) -> float | None:
    """Return the power of all circuits, cold, at the plate's voltage; None where one was not measured."""
    zones = answers.components("zone", of=kiln)
    ohms = [ohm for zone in zones if (ohm := answers.recorded("zone.ohm", zone))]
    if answers.recorded("scope.zones", kiln) is None or not ohms or len(ohms) < len(zones):
        return None
    return inferred_kw(known.connection, known.volts, ohms)


def _zone_ratio(answers: Answers, at: Address) -> Possible:
    kiln = within(at, "kiln") or at
    known = plate(answers, kiln)
    cold_kw = _zones_kw(answers, kiln, known) if known else None
    return frozenset({known.kw / cold_kw}) if known and cold_kw else None


def _fit(answers: Answers, share: _Share | None, gain: float | None) -> frozenset[str]:
    """Return how a share of rated power lies, `gain` being what the supply makes of it (None: not known)."""
    if share is None:
        return frozenset(FITS)
    most, least = answers.limits["power_high_ratio"], answers.limits["power_low_ratio"]
    if round(share.most * max(1.0, gain or 1.0), 9) > most:
        return frozenset({"over"})
    fit = "under" if round(share.least, 9) < least else "within"
    return frozenset({fit}) if gain else frozenset({fit, "over"})


def _worst(found: Iterable[frozenset[str]]) -> frozenset[str]:
    return frozenset(max(one, key=FITS.index) for one in product(*found))
