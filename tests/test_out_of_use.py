"""A kiln that was handed over and shows that it is not dry is not used: that comes first, with its reason."""

from datetime import timedelta

import pytest

from recover.judged.assessment import out_of_use
from recover.report.status_view import status_view
from tests import status_job
from tests.conftest import NOW
from tests.status_job import at, glance, own
from tests.test_handover import dry, found
from tests.test_status import handed_over, opened
from tests.test_stops import logged

AFTER = NOW + timedelta(minutes=20)
LONG_AFTER = NOW + timedelta(days=40)
WET = {
    "the piece is heavier": ({"what": "piece", "value": 1.40, "unit": "kg", "place": "piece"}, "weight of the piece"),
    "water is caught": ({"what": "litres", "value": 0.5, "unit": "l"}, "catch and vapour"),
    "insulation is low": (
        {"what": "insulation", "value": 0.3, "unit": "MΩ", "details": {"test_volts": 500, "lining_degc": 16}},
        "insulation",
    ),
    "water came again": ({"what": "rain", "word": "rain"}, ""),
}
ROOM = {"what": "chamber", "value": 18, "unit": "degC"}


def told(events, now):
    of = found(events, now)
    return out_of_use(of, of.hold("handover", "kiln/1"))


def test_while_it_stands_or_has_only_aged_nothing_is_against_its_use():
    assert told(dry(), NOW) == []
    assert told(dry(), LONG_AFTER) == []
    assert told(logged(dry(), ROOM, at=LONG_AFTER), LONG_AFTER) == []


@pytest.mark.parametrize("name", WET)
@pytest.mark.parametrize("when", [AFTER, LONG_AFTER])
def test_a_reading_against_dry_after_its_hand_over_takes_it_out_of_use(name, when):
    one, says = WET[name]
    of = found(logged(dry(), one, at=when), when)
    assert of.hold("handover", "kiln/1").stands == "closed"
    assert says in " ".join(told(logged(dry(), one, at=when), when))
    assert told(logged(dry(), one, at=when), when)


def test_it_comes_first_on_the_screen_and_no_re_check_is_told(monkeypatch):
    monkeypatch.setattr("recover.report.today.out_of_use", lambda *_: ["against it, catch: 0.5 l was caught"])
    view = status_view(glance(handed_over(opened()), own(), at(5, 11), *status_job.dry()))

    assert view["next"][0]["say"].startswith("Not used any more: its hand-over has ended, against it, catch")
    assert view["next"][0]["do"] == "recover log test --holds"
    assert "re-checks" not in str(view["next"])
    assert "it is not used" in view["kilns"][0]["fires"]["says"]
