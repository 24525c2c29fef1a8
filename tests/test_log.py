"""A reading of the log beside the day that is stored: whose day it is, and how it lies to its band."""

from dataclasses import replace
from datetime import timedelta

import pytest

from recover.asked.told import Logged
from recover.judged.stops import STOP, Powered
from recover.plan.log import BESIDE, against, day_at, expected_at
from recover.plan.whole import Expected, TimedStep
from recover.profiles import own_limits
from tests import sample_plan
from tests.status_job import under_way

KILN = sample_plan.by_own()
DAY = next(day for day in KILN.days if any(read.what == "casing" for read in day.readings))
CASING = [read for read in DAY.readings if read.what == "casing" and read.place == sample_plan.CASING]


def read(what, value, at, place="", unit="°C", **more):
    return Logged(line=9, by="A", kiln=KILN.kiln, what=what, measured=at, place=place, value=value, unit=unit, **more)


def casing(value, at=CASING[0].at):
    return read("casing", value, at, sample_plan.CASING)


def test_a_reading_belongs_to_the_day_that_is_open_and_in_the_night_to_the_one_before():
    assert day_at(KILN, casing(20, DAY.attended_from)) == DAY
    assert day_at(KILN, casing(20, DAY.attended_from + timedelta(hours=20))) == DAY
    assert day_at(KILN, casing(20, KILN.days[0].attended_from - timedelta(hours=2))) is None
    assert day_at(KILN, casing(20, KILN.days[-1].attended_from + timedelta(days=3))) is None


@pytest.mark.parametrize(("end", "lies"), [("low", "below"), ("mid", "within"), ("high", "above"), ("stop", "stop")])
def test_it_lies_within_its_band_outside_of_it_or_where_the_day_ends(end, lies):
    first = CASING[0]
    value = getattr(first, end) + {"low": -0.1, "mid": 0, "high": 0.1, "stop": 0.1}[end]
    assert against(casing(value), KILN).lies == lies


def test_between_two_hours_its_band_lies_between_theirs():
    first, second = CASING[:2]
    half = first.at + (second.at - first.at) / 2
    found = expected_at(casing(30, half), DAY)
    assert found.mid == pytest.approx((first.mid + second.mid) / 2)
    assert found.high == pytest.approx((first.high + second.high) / 2)


def chambers(*asked):
    """Return a day whose chamber is to be 90, then 195 °C two hours later, by steps: begins, ends [h] and held at."""
    opens = DAY.attended_from
    rows = [Expected(what="chamber", place="probe", at=opens + timedelta(hours=hour), unit="°C", low=degc - 4, mid=degc,
                     high=degc + 5, stop=degc + 9) for hour, degc in ((2, 90.0), (4, 195.0))]  # fmt: skip
    steps = [
        TimedStep(run=1, begins=opens + timedelta(hours=begins), hold_from=opens + timedelta(hours=held),
                  ends=opens + timedelta(hours=ends), ramp_k_h=60.0, to_degc=195.0, reads=False)
        for begins, held, ends in asked
    ]  # fmt: skip
    return replace(DAY, readings=tuple(rows), steps=tuple(steps), runs=(), cutout_degc=None)


@pytest.mark.parametrize(("steps", "band"), [
    ([(1, 6, 7)], (138.0, 148.0, 151.0)),  # it climbs all the time
    ([(1, 2, 3), (3, 3.8, 5)], (86.0, 200.0, 204.0)),  # a hold ends: nobody reads off a line between both
    ([(1, 2, 2.5), (3, 3.8, 5)], (None, None, 204.0)),  # off in between, isolated for readings: it cools
])  # fmt: skip
def test_where_the_programme_turns_between_two_hours_no_line_is_drawn_between_them(steps, band):
    found = expected_at(read("chamber", 42.0, DAY.attended_from + timedelta(hours=3)), chambers(*steps))
    assert (found.low, found.high, found.stop) == band


def test_half_an_hour_before_the_first_hour_it_still_has_a_band_and_no_longer():
    first = CASING[0]
    assert expected_at(casing(30, first.at - BESIDE), DAY) == first
    assert expected_at(casing(30, first.at - BESIDE - timedelta(minutes=1)), DAY).high is None
    assert against(casing(30, first.at - BESIDE - timedelta(minutes=1)), KILN).lies == "unexpected"


def test_at_an_hour_for_which_nothing_is_expected_the_highest_stop_of_the_day_holds():
    early, hottest = CASING[0].at - BESIDE - timedelta(minutes=1), max(one.stop for one in CASING)
    assert against(casing(hottest + 1, early), KILN).lies == "stop"
    assert against(casing(hottest - 1, early), KILN).lies == "unexpected"


def test_the_first_proof_firing_meets_no_stop_of_the_day_before_it():
    """It may be lit on the day after the last: then its chamber, and the casing over it, are hotter than on any day."""
    last = next(day for day in reversed(KILN.days) if any(one.stop for one in day.readings if one.what == "casing"))
    kiln = replace(KILN, days=KILN.days[: KILN.days.index(last) + 1])
    warm = max(one.stop for one in last.readings if one.what == "casing" and one.place == sample_plan.CASING) + 5
    hot = max(one.stop for day in kiln.days for one in day.readings if one.what == "chamber" and one.stop) + 100
    night, next_day = last.attended_to + timedelta(hours=2), last.attended_from + timedelta(hours=26)

    assert against(casing(warm, night), kiln).lies == "stop"
    assert against(casing(warm, next_day), kiln).lies == "unexpected"
    assert against(read("chamber", hot, next_day), kiln).lies == "unexpected"
    assert day_at(kiln, read("litres", 1.0, next_day, unit="l")) == last


def test_no_hour_of_a_plan_asks_a_chamber_for_more_than_the_highest_stop_of_its_days():
    """Also on a day, and before one, that expects nothing of a chamber; what is fired after it is no day of it."""
    kiln = sample_plan.planned()
    most = max(one.stop for day in kiln.days for one in day.readings if one.what == "chamber" and one.stop)
    bare = next(
        day for day in kiln.days if day.attended_from and not any(one.what == "chamber" for one in day.readings)
    )
    last = kiln.days[-1].attended_from

    for at in (bare.attended_from + timedelta(hours=2), kiln.days[0].attended_from - timedelta(days=1)):
        assert against(read("chamber", most + 1, at), kiln).lies == "stop"
        assert against(read("chamber", most - 1, at), kiln).lies == "unexpected"
    assert against(read("chamber", most + 300, last + timedelta(days=3)), kiln).lies == "unexpected"


@pytest.mark.parametrize(("taken_in", "details", "lies"), [
    (True, {}, "unexpected"), (False, {}, "stop"), (True, {STOP: 300.0}, "stop"),
])  # fmt: skip
def test_days_of_a_later_plan_judge_nothing_that_was_read_before_it(taken_in, details, lies):
    """A proof firing after the last day, and days that were put behind it by a plan that was made after it."""
    kiln = sample_plan.planned()
    most = max(one.stop for day in kiln.days for one in day.readings if one.what == "chamber" and one.stop)
    fired = read("chamber", most + 300, kiln.days[-2].attended_from + timedelta(hours=2), details=details)
    learnt = replace(under_way(3, 1).kilns[0].learnt, lines=1 if taken_in else 0)

    assert against(fired, replace(kiln, learnt=learnt), [fired]).lies == lies


@pytest.mark.parametrize(("hours", "lies"), [(20, "stop"), (25, "unexpected")])
def test_a_firing_of_the_proof_on_the_morning_after_the_last_day_is_no_run_of_it(hours, lies):
    last = sample_plan.planned().days[-1]
    fired = read("chamber", 500.0, last.attended_from + timedelta(hours=hours))

    assert last.phase == "own"
    assert against(fired, sample_plan.planned()).lies == lies


def test_without_a_plan_a_chamber_hotter_than_any_plan_makes_it_is_a_stop():
    """So it is read, before anything was planned, by somebody who switched a wet kiln on."""
    most, at = own_limits()["plan_top_degc"].value, CASING[0].at
    assert against(read("chamber", most + 100, at), None).lies == "stop"
    assert against(read("chamber", most, at), None).lies == "unexpected"
    assert against(read("exhaust", most + 100, at, unit="%"), None).lies == "unexpected"
    assert against(read("chamber", most + 100, at), None, since=Powered(line=1)).lies == "unexpected"  # a proof firing


def test_after_water_came_again_a_reading_has_no_band_and_its_stop_stands():
    first = CASING[0]
    rain = Logged(line=8, by="A", kiln=KILN.kiln, what="rain", word="rain", measured=first.at - timedelta(minutes=9))
    after = Logged(line=8, by="A", kiln=KILN.kiln, what="rain", word="rain", measured=first.at + timedelta(minutes=9))

    assert against(casing(first.low - 1), KILN).lies == "below"
    held = against(casing(first.low - 1), KILN, [rain])
    assert (held.lies, held.expected.low) == ("unexpected", None)
    assert against(casing(first.low - 1), KILN, [after]).lies == "below"
    assert against(casing(first.stop + 1), KILN, [rain]).lies == "stop"


def test_another_unit_is_held_against_nothing():
    assert expected_at(read("casing", 100, CASING[0].at, sample_plan.CASING, "°F"), DAY) is None


@pytest.mark.parametrize("place", ["behind the moon", ""])
def test_at_a_place_that_no_day_names_the_lowest_stop_of_those_that_it_does_ends_the_day(place):
    """It has no band: 1 K below the stop of the lid, the lower one, nothing is said of it; 1 K above it is a stop."""
    lid = [replace(one, place="lid", stop=one.stop - 5) for one in CASING]
    day = replace(DAY, readings=(*DAY.readings, *lid))
    kiln = replace(KILN, days=tuple(day if one == DAY else one for one in KILN.days))
    stop = expected_at(read("casing", 30, CASING[0].at, "lid"), day).stop

    lies = [against(read("casing", stop + k, CASING[0].at, place), kiln).lies for k in (-1, 1)]
    assert lies == ["unexpected", "stop"]
    assert expected_at(read("casing", 30, CASING[0].at, place), day).low is None


def test_insulation_ends_a_day_below_its_floor_and_not_where_the_meter_ended_above_it():
    """Read with the kiln isolated between two runs: 0.5 MΩ ends the day."""
    at = DAY.attended_from + timedelta(hours=4)
    floor = Expected(what="insulation", place=sample_plan.ELEMENTS, at=at, unit="MΩ", stop=0.5)
    kiln = replace(KILN, days=tuple(replace(day, readings=(floor,)) if day == DAY else day for day in KILN.days))
    for value, more, lies in ((0.49, {}, "stop"), (0.51, {}, "within"), (0.4, {"at_least": True}, "within")):
        assert against(read("insulation", value, at, unit="MΩ", **more), kiln).lies == lies


@pytest.mark.parametrize(("minutes", "lies"), [(0, "below"), (10, "below"), (55, "below"), (600, "stop")])
def test_insulation_is_held_to_the_entry_until_heat_is_on_and_to_the_floor_from_then_on(minutes, lies):
    """0.05 MΩ is under the floor at every hour; 0.5 MΩ is under the entry before the first step alone."""
    entry = Expected(what="insulation", place=sample_plan.ELEMENTS, at=DAY.attended_from, unit="MΩ", low=1.0)
    floor = replace(entry, at=DAY.attended_from + timedelta(hours=5), low=None, stop=0.1)
    begins = DAY.attended_from + timedelta(hours=1)
    steps = (replace(DAY.steps[0], begins=begins), *DAY.steps[1:])
    day = replace(DAY, readings=(entry, floor), steps=steps)
    kiln = replace(KILN, days=tuple(day if one == DAY else one for one in KILN.days))
    at = DAY.attended_from + timedelta(minutes=minutes)
    assert against(read("insulation", 0.05, at, unit="MΩ"), kiln).lies == "stop"
    assert against(read("insulation", 0.5, at, unit="MΩ"), kiln).lies == ("below" if lies == "below" else "within")
