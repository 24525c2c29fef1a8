"""That every firing of the proof was made is shown by log or answer: a yes alone hands nothing over."""

import pytest

from recover.judged.fired import tops_degc, unshown
from recover.plan.cards import cards
from recover.profiles import profile
from recover.report.words import words
from tests.gates import LATER, answers_at, completed, dried, said
from tests.test_gates import states
from tests.test_stops import logged

DONE, CONES = "handover.done@kiln/1", "dried.cones@kiln/1"
ALL = ["drying_firing", "oxide_firing", "test_firing"]


def answered(value, *heats, cones=None):
    """A kiln that is dried, what is said of its firings, and what else was read of its chamber or looked at."""
    read = [{"what": "chamber", "value": degc, "unit": "degC", "measured": LATER.isoformat()} for degc in heats]
    events = said(dried(completed()), CONES, state="unknown", value=None)
    events = said(events, CONES, value=cones, state="given") if cones else events
    at = {"who": "A. Repairer", "role": "repairer", "measured": LATER.isoformat()}
    return said(logged(events, *read), DONE, value=value, **at)


def missing(events):
    return " ".join(states(events, LATER)["handover"].missing)


def test_a_yes_with_345_degrees_the_hottest_logged_hands_nothing_over_and_names_each_firing():
    told = missing(answered("yes"))
    assert "firings of its proof made" in told
    assert "1\u202f063 °C" in told
    assert "600 °C" in told
    assert "slate 349" in told


@pytest.mark.parametrize(
    ("value", "heats", "cones", "opens"),
    [
        ("yes", (1060,), None, True),
        ("yes", (1037,), None, False),
        ("yes", (1037,), "even", True),
        ("yes", (), "even", False),
        ("unfired", (), None, True),
        ("no", (1060,), None, False),
    ],
)
def test_each_firing_is_shown_by_heat_or_by_what_was_looked_at_or_is_named_as_not_made(value, heats, cones, opens):
    assert ("firings of its proof made" not in missing(answered(value, *heats, cones=cones))) is opens


def test_the_certificate_and_the_hold_point_know_the_same_firings_by_the_tops_of_their_cards():
    tops = {card.id: max(step.to_degc for step in card.steps) for card in cards() if card.id in ALL}
    assert tops_degc() == tops
    assert set(words().handover.firings) == set(tops)


def test_what_is_not_shown_is_told_by_name():
    uk = profile("uk")
    assert unshown(answers_at(answered("yes")), "kiln/1", uk) == ALL
    assert unshown(answers_at(answered("yes", 1030)), "kiln/1", uk) == ["test_firing"]
