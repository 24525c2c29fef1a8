"""What is written without saying anything: a dash, blanks, a bare `none`. It opens no more than silence does."""

import pytest

from recover.base.nothing_said import says_nothing
from tests.gates import answers_at, assessed_at, said
from tests.test_dry import ALL, NOW, journal, logged

LIMITS, EXPLAINED = "handover.limits@kiln/1", "handover.explained@kiln/1"
NOTHING = ("-", "–", "  ", "none", "None.", "no limits", "N/A", "n.a.", "as before", "x", "?", "...")


def unmet(limits):
    """Return what the hand-over lacks where limits are written so, and were explained and accepted after that."""
    events = said(journal(*ALL), LIMITS, at=NOW, value=limits)
    events = said(events, EXPLAINED, at=NOW, value="yes", who="O. Wner", role="owner", measured=NOW.isoformat())
    (hold,) = (one for one in assessed_at(events, NOW).holds if one.point.id == "handover")
    return [str(one) for one in hold.unmet if one.say.startswith("limits on use")]


@pytest.mark.parametrize("nothing", NOTHING)
def test_limits_on_use_that_say_nothing_are_not_agreed(nothing):
    (lack,) = unmet(nothing)

    assert says_nothing(nothing)
    assert "slate 195" in lack
    assert "it says nothing; write it as a sentence" in lack


@pytest.mark.parametrize("limits", ["1,000 °C", "None: fired as the plate says", "No limits; the manual holds."])
def test_limits_on_use_in_words_are_agreed_also_that_there_are_none(limits):
    assert not unmet(limits)


@pytest.mark.parametrize(("why", "stands"), [("-", 1), ("none", 1), ("it was another kiln's", 0)])
def test_water_that_is_taken_back_for_a_dash_came_all_the_same(why, stands):
    rain = {"what": "rain", "word": "rain", "measured": "2026-03-10T08:30:00+00:00"}
    events = logged(journal(*ALL), rain)
    events = logged(events, {**rain, "word": "", "takes_back": events[-1].n, "said": why})

    assert sum(one.what == "rain" for one in answers_at(events, NOW).logged) == stands
