"""The converse of the gates: kilns of every day, completed honestly, reach own heat; nothing bars them for good."""

import pytest

from tests.conftest import NOW, answers_from, events_of
from tests.gates import answers_at
from tests.kilns import KILNS, completed, signed, states, told

OWN_HEAT = ("hands_off", "hazards", "isolated", "consent", "lift", "energise", "own_heat")


def journal(name):
    """Return the journal of a kiln, completed and not signed."""
    return tuple(events_of(completed(name), told(name)))


@pytest.mark.parametrize("name", KILNS)
def test_a_kiln_of_every_day_completed_honestly_is_released_to_own_heat(name):
    found = states(answers_at(signed(journal(name)), NOW))

    assert {hold.point.id: hold.state for hold in found if hold.point.id in OWN_HEAT} == dict.fromkeys(
        OWN_HEAT, "released"
    )


@pytest.mark.parametrize("name", KILNS)
def test_its_evidence_lacks_nothing_and_its_answers_fit_together(name):
    answers = answers_from(completed(name), told=told(name))

    assert {hold.point.id: hold.unmet for hold in states(answers) if hold.point.id in OWN_HEAT} == dict.fromkeys(
        OWN_HEAT, ()
    )
    assert answers.misfits() == []


@pytest.mark.parametrize("name", KILNS)
def test_nobody_signs_for_it_as_long_as_nobody_has_signed_before(name):
    found = {hold.point.id: hold.state for hold in states(answers_at(journal(name), NOW))}

    assert found["energise"] == found["own_heat"] == "closed"


def test_they_are_what_they_are_said_to_be():
    rotary, plugged = (completed(name) for name in KILNS)

    assert rotary["scope.control@kiln/1"] == ["rotary"]
    assert not any(key.startswith(("probe.", "control.probe_type", "gear.contactors")) for key in (*rotary,))
    assert not {"contactor", "door_switch"} & set(plugged["gear.devices@kiln/1"])
    assert "energise.leakage@kiln/1" not in plugged
    assert told("small and plugged")["zone.insulation@kiln/1/zone/1"]["at_least"]
