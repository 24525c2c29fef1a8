"""That every firing of the proof was made is shown by log or answer: a yes alone hands nothing over.

Each is shown by a heating of its own, in their order, for the hold point and the certificate alike.
"""

from datetime import timedelta

import pytest

from recover.asked.told import Logged
from recover.judged.dry import Heat
from recover.judged.fired import _heatings, shown_by_heat, tops_degc, unshown
from recover.plan.cards import cards
from recover.profiles import profile
from recover.report.words import words
from tests.gates import LATER, answers_at, completed, dried, said
from tests.test_gates import states
from tests.test_stops import logged

DONE, CONES = "handover.done@kiln/1", "dried.cones@kiln/1"
ALL = ["drying_firing", "oxide_firing", "test_firing"]


COLD = 20
THREE = (600, COLD, 1050, COLD, 1060)


def answered(value, *heats, cones=None):
    """A kiln that is dried, what is said of its firings, and what else was read of its chamber or looked at."""
    ago = [timedelta(minutes=len(heats) - number) for number in range(len(heats))]
    read = [{"what": "chamber", "value": degc, "unit": "degC", "measured": (LATER - before).isoformat()}
            for degc, before in zip(heats, ago, strict=True)]  # fmt: skip
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
        ("yes", THREE, None, True),
        ("yes", (1060,), None, False),
        ("yes", (600, COLD, 1060), None, False),
        ("yes", (600, COLD, 1050), None, False),
        ("yes", (600, COLD, 1050), "even", True),
        ("yes", (600, COLD, 1050), "off", False),
        ("yes", (600, COLD, 1060), "even", False),
        ("yes", (1050, COLD, 600, COLD, 1060), None, False),
        ("yes", (600, 1050, 1060), None, False),
        ("yes", (600, COLD, 1050, COLD, 1037), None, False),
        ("yes", (600, COLD, 1050, COLD, 1037), "half", True),
        ("yes", (), "even", False),
        ("unfired", (), None, True),
        ("no", THREE, None, False),
    ],
)
def test_each_firing_is_shown_by_heat_or_by_what_was_looked_at_or_is_named_as_not_made(value, heats, cones, opens):
    assert ("firings of its proof made" not in missing(answered(value, *heats, cones=cones))) is opens


def test_the_certificate_and_the_hold_point_know_the_same_firings_by_the_tops_of_their_cards():
    tops = {card.id: max(step.to_degc for step in card.steps) for card in cards() if card.id in ALL}
    assert tops_degc() == tops
    assert set(words().handover.firings) == set(tops)


@pytest.mark.parametrize(
    ("heats", "not_made"),
    [
        ((), ALL),
        ((1030,), ["drying_firing", "test_firing"]),
        ((1060,), ["drying_firing", "oxide_firing"]),
        ((600, COLD, 1060), ["oxide_firing"]),
        ((600, COLD, 1050), ["test_firing"]),
        ((1050, COLD, 600, COLD, 1060), ["drying_firing"]),
        (THREE, []),
        ((600, COLD, 1055, COLD, 1055), []),
        ((600, COLD, 700, COLD, 1050, COLD, 1060, COLD, 900), []),
    ],
)
def test_each_heating_stands_for_one_firing_the_nearest_of_its_order(heats, not_made):
    assert unshown(answers_at(answered("yes", *heats)), "kiln/1", profile("uk")) == not_made


def chamber(hours, degc):
    """Return how hot a chamber was read, so many hours after the first of it."""
    at = LATER + timedelta(hours=hours)
    return Heat(degc, Logged(line=1, by="A. Tendant", kiln="kiln/1", what="chamber", measured=at, value=degc))


@pytest.mark.parametrize(
    ("read", "tops"),
    [
        ([(0, 600), (5, 301), (8, 600)], [600]),
        ([(0, 600), (5, 299), (8, 600)], [600, 600]),
        ([(0, 148), (25, 601), (37.2, 1050)], [1050]),  # one climb, however early its cold kiln was read
        ([(0, 600), (36, 600)], [600]),
        ([(0, 600), (36.1, 600)], [600, 600]),
    ],
)
def test_a_heating_is_over_at_half_of_its_heat_or_where_nothing_was_read_for_longer_than_a_run_lasts(read, tops):
    assert [heat.degc for heat in _heatings(chamber(*one) for one in read)] == tops


def test_heat_that_was_typed_in_late_shows_no_firing():
    (*before, last) = answered("yes")
    day = timedelta(hours=13)
    read = {"kiln": "kiln/1", "what": "chamber", "value": 600, "unit": "degC", "measured": (LATER - day).isoformat()}
    typed_late = logged((*before, last), read, at=LATER)
    assert "drying_firing" in unshown(answers_at(typed_late, LATER), "kiln/1", profile("uk"))


def test_heat_above_the_cut_out_that_was_typed_in_late_is_covered_by_nothing():
    assert "1\u202f200 °C" not in missing(answered("unfired"))
    day = timedelta(hours=13)
    read = {"kiln": "kiln/1", "what": "chamber", "value": 1200, "unit": "degC", "measured": (LATER - day).isoformat()}
    assert "1\u202f200 °C (journal line" in missing(logged(answered("unfired"), read, at=LATER))


def test_what_shows_a_firing_is_its_own_top():
    shown = shown_by_heat(answers_at(answered("yes", *THREE)), "kiln/1", profile("uk"))
    assert [(firing, heat.degc) for firing, heat in shown.items()] == list(zip(ALL, (600, 1050, 1060), strict=True))
