"""Insulation that is logged low after it was measured shuts own heat: the later and lower of both counts."""

from dataclasses import replace
from datetime import timedelta

import pytest

from recover.judged.dry import is_late
from tests.gates import ENDS, LATER, answers_at, completed, said
from tests.test_gates import states
from tests.test_stops import logged

ZONE = "zone.insulation@kiln/1/zone/1"
MEASURED = ENDS + timedelta(hours=1, minutes=5)


def low(megohm=0.3, *, volts=500, degc=16.0, joined="all joined", entry=None, **more):
    details = {"test_volts": volts, "lining_degc": degc, **({} if entry is None else {"entry": entry})}
    return {"what": "insulation", "value": megohm, "unit": "MΩ", "joined": joined, "details": details, **more}


def own_heat(events, now=LATER):
    return states(events, now)["own_heat"]


def minutes(number):
    return (ENDS + timedelta(minutes=number)).isoformat()


@pytest.mark.parametrize(
    ("one", "state"),
    [
        (low(), "closed"),
        (low(0.99), "closed"),
        (low(joined="one element"), "closed"),
        (low(volts=250), "closed"),
        (low(degc=150.0, entry=1.0), "closed"),
        (low(1.0), "released"),
        (low(9.0), "released"),
        (low(0.3, degc=150.0), "released"),
        (low(0.5, at_least=True), "released"),
        (low(0.3) | {"details": {}}, "closed"),
    ],
)
def test_what_is_logged_below_the_entry_ends_own_heat_but_for_the_dip_of_a_lining_that_it_warms(one, state):
    assert own_heat(completed()).state == "released"
    assert own_heat(logged(completed(), one)).state == state


def test_the_reading_that_shuts_it_is_named_with_its_line_and_the_slate_that_opens_it_again():
    found = states(logged(completed(), low()), LATER)
    assert not found["energise"].signed
    assert not found["own_heat"].signed
    told = " ".join(found["energise"].missing)
    assert "0.3 MΩ in the log" in told
    assert f"journal line {len(completed()) + 1}" in told
    assert "slate 154" in told


GOOD = [low(), low(5, measured=minutes(3)), low(5, measured=minutes(9))]


@pytest.mark.parametrize("change", [{}, {"volts": 250}, {"joined": "one element"}, {"megohm": 0.9}])
def test_what_settles_a_low_reading_is_read_twice_as_an_answer_has_to_be(change):
    after = [low(**{"megohm": 5, **change}) | {"measured": minutes(at)} for at in (3, 9)]
    told = " ".join(states(logged(completed(), low(), *after), ENDS + timedelta(minutes=9))["energise"].missing)
    assert ("in the log" in told) is bool(change)


def test_one_good_reading_a_minute_later_settles_nothing():
    told = logged(completed(), low(), low(5))
    assert "in the log" in " ".join(states(told, LATER)["energise"].missing)


def test_readings_that_settle_it_bring_no_signature_back():
    found = own_heat(logged(completed(), *GOOD), ENDS + timedelta(minutes=9))
    assert not found.signed


def test_measured_anew_more_than_an_hour_after_it_counts_and_sooner_does_not():
    shut = logged(completed(), low())
    soon, later = (said(shut, ZONE, at, value=5.0, measured=at.isoformat()) for at in (LATER, MEASURED))
    assert "in the log" in " ".join(states(soon, LATER)["energise"].missing)
    assert "in the log" not in " ".join(states(later, MEASURED)["energise"].missing)


@pytest.mark.parametrize(("why", "shut"), [({}, True), ({"said": "the scale was read wrong"}, False)])
def test_taken_back_without_a_reason_it_counts_still(why, shut):
    events = logged(completed(), low())
    events = logged(events, {"what": "insulation", "takes_back": events[-1].n, **why})
    assert ("in the log" in " ".join(states(events, LATER)["energise"].missing)) is shut


def test_what_was_low_before_it_was_measured_says_nothing_of_after():
    before = low(0.05, measured=(ENDS - timedelta(days=2)).isoformat())
    assert "in the log" not in " ".join(states(logged(completed(), before), LATER)["energise"].missing)


@pytest.mark.parametrize(
    ("what", "late"), [("chamber", False), ("casing", False), ("piece", True), ("insulation", True)]
)
def test_a_row_of_a_file_is_timely_by_a_loggers_clock_only_of_what_a_logger_reads(what, late):
    row = {"what": what, "value": 5.0, "measured": (ENDS - timedelta(days=2)).isoformat()}
    one = answers_at(logged(completed(), row)).logged[-1]
    assert is_late(answers_at(completed()), replace(one, source="file week1.csv", written=ENDS)) is late
