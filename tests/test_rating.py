"""What a kiln is rated for, which readings its power still waits for, which of several like elements is odd, and
what counts of a reading by when it was taken.
"""

from datetime import datetime

import pytest

from recover.judged.readings import power_missing, rating, reckoning
from tests.conftest import SEEN, answers_from, events_of
from tests.gates import answers_at, said

K, KILN = "@kiln/1", "kiln/1"
WORKED_OUT = reckoning("uk")
PLATE = {
    "scope.kilns": 1, f"identity.volts{K}": 230.0, f"identity.kw{K}": 9.0, f"identity.phases{K}": "single",
    f"element.count{K}": 4, f"element.alloy{K}": "fecral", f"element.connection{K}": "single",
    f"element.strings{K}": 2, f"element.alike{K}": "yes", f"supply.volts{K}": 230.0, f"scope.zones{K}": 1,
}  # fmt: skip


def less(*names):
    return {key: value for key, value in PLATE.items() if key.partition("@")[0] not in names}


def ohms(*values):
    return {f"element.ohm{K}/element/{place}": value for place, value in enumerate(values, 1) if value}


# ---------------------------------------------------------------------------------------- rating


def test_a_plate_that_can_be_read_is_the_rating():
    found = rating(answers_from({**PLATE, f"zone.ohm{K}/zone/1": 1.0}), KILN)

    assert (found.volts, found.kw, found.inferred) == (230.0, 9.0, False)


@pytest.mark.parametrize("name", ["identity.volts", "identity.kw"])
def test_half_a_plate_is_none_and_the_ohms_say_what_it_is(name):
    """230 V over 5.29 ohm: 10 kW."""
    found = rating(answers_from({**less(name), f"zone.ohm{K}/zone/1": 5.29}), KILN)

    assert (found.volts, found.inferred) == (230.0, True)
    assert found.kw == pytest.approx(10.0)


@pytest.mark.parametrize(
    "known",
    [
        less("identity.kw"),  # no circuit was measured
        {**less("identity.kw"), f"scope.zones{K}": 2, f"zone.ohm{K}/zone/1": 5.29},
        {**less("identity.kw", "supply.volts"), f"zone.ohm{K}/zone/1": 5.29},
        {**less("identity.kw", "element.connection", "identity.phases"), f"zone.ohm{K}/zone/1": 5.29},
    ],
)  # fmt: skip
def test_nothing_is_inferred_from_readings_that_are_not_all_there(known):
    assert rating(answers_from(known), KILN) is None


# ---------------------------------------------------------------------------------------- what is missing


def missing(known):
    return {name for name, _ in power_missing(answers_from(known), KILN)}


def test_power_waits_for_every_element_and_every_circuit():
    assert missing(PLATE) == {"element.ohm", "zone.ohm"}
    assert missing({**PLATE, **ohms(2.9, 2.9, 2.9, 2.9)}) == {"zone.ohm"}
    assert missing({**PLATE, **ohms(2.9, 2.9, 2.9, 2.9), f"zone.ohm{K}/zone/1": 2.9}) == set()
    assert missing({**PLATE, f"element.singly{K}": "no"}) == {"zone.ohm"}


def test_elements_that_come_out_even_on_their_strings_speak_for_themselves():
    """Two on two strings come out even, one on two does not: then only the circuit tells."""
    assert "element.ohm" in missing({**PLATE, f"element.count{K}": 2})
    assert "element.ohm" not in missing({**PLATE, f"element.count{K}": 1})


@pytest.mark.parametrize("name", ["identity.volts", "identity.kw", "element.strings", "supply.volts"])
def test_power_waits_for_what_it_is_worked_out_from(name):
    assert name in missing({**less(name), **ohms(2.9, 2.9, 2.9, 2.9), f"zone.ohm{K}/zone/1": 2.9})


def test_the_power_of_rods_waits_for_the_electrician_alone():
    rods = {**PLATE, f"element.alloy{K}": "carbide"}

    assert missing(rods) == {"energise.power_found"}
    assert missing({**rods, f"energise.power_found{K}": "yes"}) == set()


@pytest.mark.parametrize(("ohm", "fit"), [(7.5, "under"), (5.6, "within"), (4.5, "over")])
def test_elements_say_the_power_also_against_a_circuit_that_fits(ohm, fit):
    """5.65 ohm each would make 9 kW at 230 V, hot; a fifth less and 15 per cent more are let pass (own limits)."""
    known = {**PLATE, **ohms(ohm, ohm, ohm, ohm), f"zone.ohm{K}/zone/1": 5.65}

    assert WORKED_OUT(answers_from(known), "power_fit", KILN) == {fit}


# ---------------------------------------------------------------------------------------- the odd one


@pytest.mark.parametrize(
    ("read", "odd"),
    [
        ((3.0, 3.0, 3.0, 3.0), {"no"}), ((3.9, 3.0, 3.0, 3.0), {"yes"}), ((2.1, 3.0, 3.0, 3.0), {"yes"}),
        ((3.9, 3.0, None, None), {"yes", "no"}), ((3.0, None, 3.0, 3.0), {"no"}),
        ((0.5, 0.4, None, None), {"yes", "no"}),
    ],
)  # fmt: skip
def test_an_element_is_odd_against_the_middle_of_all(read, odd):
    """One that was not measured may lie anywhere."""
    assert WORKED_OUT(answers_from({**PLATE, **ohms(*read)}), "odd", "kiln/1/element/1") == odd


@pytest.mark.parametrize(
    ("given", "off"),
    [
        ({"probe.off_boiling": 2.0}, {2.0}), ({}, None), ({"probe.in_boiling": 97.0}, None),
        ({"probe.in_boiling": 97.0, "site.altitude": 0.0}, {3.0}),
        ({"probe.in_boiling": 97.0, "site.altitude": 0.0, "probe.off_boiling": 5.0}, {5.0}),
        ({"probe.in_boiling": 97.0, "site.altitude": 0.0, "probe.off_boiling": 1.0}, {3.0}),
        ({"site.altitude": 0.0}, None), ({"probe.in_boiling": None, "probe.off_boiling": 2.0}, {2.0}),
    ],
)  # fmt: skip
def test_of_two_reports_on_boiling_water_the_worse_counts(given, off):
    """Water boils at 100 °C at sea level."""
    probe = {"scope.kilns": 1, f"scope.probes{K}": 1}
    told = {name if name.startswith("site") else f"{name}{K}/probe/1": value for name, value in given.items()}
    found = WORKED_OUT(answers_from({**probe, **told}), "off_boiling", "kiln/1/probe/1")

    assert (found and {round(one, 1) for one in found}) == off


@pytest.mark.parametrize(
    ("ohm", "phases", "share"), [(5.88, "single", 1.0), (None, "single", None), (5.88, "three", None)]
)
def test_an_element_is_held_against_the_plate_where_both_are_known(ohm, phases, share):
    """Four in two strings of two: 230²/9000 ohm each. Four come out on no three phases, so no plate speaks of them."""
    wired = {f"element.connection{K}": "single" if phases == "single" else "star"}
    found = WORKED_OUT(answers_from({**PLATE, **wired, **ohms(ohm)}), "plate_ratio", "kiln/1/element/1")

    assert (found and {round(one, 2) for one in found}) == (share and {share})


# ---------------------------------------------------------------------------------------- when it was taken

ZONE, SHELL = "kiln/1/zone/1", "kiln/1/bond/shell"
BEFORE, AFTER = "2026-03-10T08:00:00+00:00", "2026-03-10T09:30:00+00:00"
READ = {"scope.kilns": 1, f"scope.zones{K}": 1, f"zone.insulation@{ZONE}": 4.2, f"safe.upstream{K}": "locked",
        f"safe.dead{K}": "proven"}  # fmt: skip


@pytest.mark.parametrize(
    ("key", "told", "read"),
    [
        ("", {}, {"dead"}), (f"safe.dead{K}", {"measured": BEFORE}, {"dead"}),
        (f"safe.dead{K}", {"measured": AFTER}, {"live"}), (f"safe.dead{K}", {"value": "no"}, {"live"}),
        (f"safe.upstream{K}", {"value": "off"}, {"live"}), (f"safe.dead{K}", {"state": "unknown"}, None),
        (f"zone.insulation@{ZONE}", {"measured": ""}, None), (f"zone.insulation@{ZONE}", {"state": "unknown"}, None),
    ],
)  # fmt: skip
def test_a_reading_is_of_a_dead_kiln_where_it_was_locked_off_and_proven_dead_by_then(key, told, read):
    """In the same minute is soon enough; of a reading that nobody dated, or took, there is nothing to say."""
    assert WORKED_OUT(answers_from(READ, told={key: told}), "zone_read", ZONE) == read


@pytest.mark.parametrize(("ohm", "since"), [(0.05, {datetime.fromisoformat(SEEN)}), (3.0, None), (None, None)])
def test_the_earth_passes_since_its_reading_within_the_limit(ohm, since):
    """0.1 ohm where nobody knows the conductor (BS 7671 and others, by the profiles)."""
    known = {"scope.kilns": 1, f"earth.points{K}": ["shell"], f"earth.ohm@{SHELL}": ohm}

    assert WORKED_OUT(answers_from(known), "earth_since", SHELL) == since


def test_a_reading_after_a_heating_that_is_taken_back_shows_nothing():
    key = f"dried.insulation@{ZONE}"
    shown = tuple(events_of({**READ, key: 4.2}))
    back = said(shown, key, state="unknown", value=None, instrument="")

    assert WORKED_OUT(answers_at(shown), "insulation_shown", ZONE) == {4.2}
    assert WORKED_OUT(answers_at(back), "insulation_shown", ZONE) is None
