"""What a kiln is rated for, which readings its power still waits for, and which of several like elements is odd."""

import pytest

from recover.judged.bench import bench_value, power_missing, rating
from tests.conftest import answers_from

K, KILN = "@kiln/1", "kiln/1"
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

    assert bench_value(answers_from(known), "power_fit", KILN) == {fit}


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
    assert bench_value(answers_from({**PLATE, **ohms(*read)}), "odd", "kiln/1/element/1") == odd


@pytest.mark.parametrize(
    ("given", "off"),
    [
        ({"probe.off_boiling": 2.0}, {2.0}), ({}, None), ({"probe.in_boiling": 97.0}, None),
        ({"probe.in_boiling": 97.0, "site.altitude": 0.0}, {3.0}),
        ({"probe.in_boiling": 97.0, "site.altitude": 0.0, "probe.off_boiling": 5.0}, {5.0}),
        ({"probe.in_boiling": 97.0, "site.altitude": 0.0, "probe.off_boiling": 1.0}, {3.0}),
        ({"site.altitude": 0.0}, None),
    ],
)  # fmt: skip
def test_of_two_reports_on_boiling_water_the_worse_counts(given, off):
    """Water boils at 100 °C at sea level."""
    probe = {"scope.kilns": 1, f"scope.probes{K}": 1}
    told = {name if name.startswith("site") else f"{name}{K}/probe/1": value for name, value in given.items()}
    found = bench_value(answers_from({**probe, **told}), "off_boiling", "kiln/1/probe/1")

    assert (found and {round(one, 1) for one in found}) == off
