"""A day of a path is one object: by the clock, with every number that was set or assumed, and what is expected."""

from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from recover.controller.compile import programmes
from recover.controller.programme import Programme
from recover.physics.stages import below_boiling_degc
from recover.plan.days import days_of, place_of
from recover.plan.piece import Piece
from recover.plan.whole import Request
from recover.profiles import own_limits
from recover.schedule.spells import Attendance
from tests.small_kiln import ran, taken, weekdays
from tests.test_programmes import controller

OPENS = datetime(2026, 4, 14, 8, 0)  # noqa: DTZ001 - by the job's own clock
ZONE = ZoneInfo("Europe/London")
STARTS_AFTER = timedelta(hours=own_limits()["plan_starts_after_h"].value)
ENDS_BEFORE = timedelta(hours=own_limits()["plan_ends_before_h"].value)
ALWAYS_SET = ("room by day", "room by night, at its coldest", "air that leaves the room by itself")


@pytest.fixture(scope="module")
def days():
    return days_of(ran(), taken(), Request(OPENS, Attendance(8, 20)), ZONE, Piece(2.0, 1.5, 0.25))


def test_there_is_a_day_for_every_date_of_the_path(days):
    assert [one.number for one in days] == list(range(1, len(ran().days) + 1))
    assert [one.date for one in days] == [OPENS.date() + timedelta(days=n) for n in range(len(days))]


def test_no_programme_runs_when_attendance_ends(days):
    heated = [one for one in days if one.source_of_heat]
    assert heated
    for one in heated:
        assert one.attended_from <= one.programme_ends <= one.attended_to - ENDS_BEFORE + timedelta(minutes=1)
        assert all(step.ends <= one.programme_ends for step in one.steps)


def test_a_day_that_heats_says_where_its_own_source_of_heat_is_switched_off(days):
    assert all(one.off_switch for one in days if one.source_of_heat)
    outside = {one.off_switch for one in days if one.phase == "outside" and one.source_of_heat}
    own = {one.off_switch for one in days if one.phase == "own"}
    assert not outside & own


def test_the_top_of_a_day_is_that_of_its_own_steps_and_the_cutout_lies_above_it(days):
    for one in days:
        if one.steps:
            assert one.top_degc == max(step.to_degc for step in one.steps)
        if one.cutout_degc is not None:
            assert one.cutout_degc > one.top_degc


def test_own_elements_wait_for_their_hold_point_and_past_boiling_for_a_reading(days):
    hottest = below_boiling_degc(0.0)
    for one in days:
        if one.phase == "own" and one.attended_from:
            assert one.waits_for == ("boiling" if one.top_degc > hottest else "own_heat")
        else:
            assert one.waits_for == ""


def test_every_number_that_was_assumed_of_equipment_and_room_stands_on_the_day(days):
    for one in days:
        names = {number.what for number in one.numbers}
        assert names >= set(ALWAYS_SET)
        if one.phase == "outside" and one.source_of_heat:
            assert {"air in the enclosure", "heater of the enclosure, at most", "the heater's own cut-out",
                    "air taken out of the enclosure, to the open"} <= names  # fmt: skip
        if one.steps:
            assert {"power of the elements", "overshoot of a hold, at most", "air through the chamber"} <= names


def test_what_is_expected_is_what_the_draws_do(days):
    for one, run in zip(days, ran().days, strict=True):
        for reading in (reading for reading in one.readings if reading.what == "casing"):
            assert reading.low <= reading.mid <= reading.high <= reading.stop + 1e-9
            assert reading.high < reading.stop <= run.did.casing_degc.max() + 12  # meter, place and room: 10 K or so


def test_every_wall_that_began_wet_has_a_casing_reading_under_a_name_of_its_own(days):
    """Walls that are run as one are called by all their parts; one that has no name stops the plan."""
    read = {reading.place for one in days for reading in one.readings if reading.what == "casing"}
    assert read == {"wall, low down, below the water line", "under the floor"}
    assert place_of("wall, wet and door, wet") == "wall and door, low down, below the water line"
    assert place_of("wall, edges, wet") == place_of("door, dry") == ""
    with pytest.raises(KeyError):
        place_of("chimney")


def test_a_casing_that_only_one_draw_in_a_hundred_passes_ends_the_day_not_a_figure_for_all_days(days):
    stops = {reading.stop for one in days for reading in one.readings if reading.what == "casing"}
    assert len(stops) > 3
    assert max(stops) < own_limits()["plan_casing_degc"].value


def test_insulation_is_read_cold_before_own_heat_and_must_open_the_entry(days):
    entry = own_limits()["element_entry_megohm"].value
    for one in (one for one in days if one.phase == "own"):
        first = next(reading for reading in one.readings if reading.what == "insulation")
        assert (first.at, first.low) == (one.attended_from, entry)


def test_the_piece_is_lighter_from_day_to_day(days):
    weighs = [next(reading.mid for reading in one.readings if reading.what == "piece") for one in days]
    assert weighs.pop(0) is None
    assert all(later <= earlier + 0.005 for earlier, later in pairwise(weighs))  # 5 g is no reading


def test_its_own_elements_are_switched_on_after_what_is_read_and_signed_at_the_opening(days):
    own = [one for one in days if one.steps]
    assert own
    for one in own:
        assert one.steps[0].begins == one.attended_from + STARTS_AFTER
        assert all(read.at in (None, one.attended_from) or read.at > one.steps[0].begins for read in one.readings)


def test_a_day_across_a_change_of_clocks_ends_by_the_clock_on_the_wall():
    opens = datetime(2026, 3, 28, 8, 0)  # noqa: DTZ001 - the clocks go forward in the night after it
    found = days_of(ran(), taken(), Request(opens, Attendance(8, 20)), ZONE, Piece(2.0, 1.5, 0.25))
    assert {one.attended_from.strftime("%H:%M") for one in found} == {"08:00"}
    assert {one.attended_to.strftime("%H:%M") for one in found} == {"20:00"}


def test_a_controller_that_cannot_run_it_leaves_days_that_are_heated_by_hand():
    assert ran().own.refusal.reasons
    assert not any(one.programme for one in ran().days)


# ---------------------------------------------------------------------------------------- what a day may not do


@pytest.mark.parametrize("opens", [OPENS, datetime(2026, 3, 24, 8, 0)], ids=["spring", "clocks put forward"])  # noqa: DTZ001
def test_in_shifts_no_programme_runs_when_the_next_day_opens(opens):
    """Between two openings lie 23 h where clocks are put forward."""
    run = ran(shifts=True)
    made = days_of(run, taken(), Request(opens, Attendance(8, 20)), ZONE, Piece(2.0, 1.5, 0.25))
    own = [one for one in made if one.phase == "own" and one.source_of_heat]

    assert any(one.attended_to - one.attended_from > timedelta(hours=12) for one in own)
    for one, after in pairwise(made):
        if one.source_of_heat and not one.runs_on:
            assert one.programme_ends.timestamp() < one.attended_to.timestamp()
        if one.attended_to and after.attended_from:
            assert one.attended_to.timestamp() <= after.attended_from.timestamp()


def test_in_shifts_nobody_stays_into_a_day_on_which_nobody_comes():
    run = ran(attended=weekdays, shifts=True)
    for number, one in enumerate(run.days):
        if one.phase == "own" and one.attended_h and not weekdays(number + 1):
            assert one.attended_h == 12.0
    assert any(one.attended_h == 24.0 for one in run.days)


def test_the_probe_stops_a_day_by_what_it_should_read_at_its_hour(days):
    """What the chamber is set to within half an hour, with all overshoot: long before the top of the day."""
    ramping = 0
    for one, of in zip(days, ran().days, strict=True):
        for read in (read for read in one.readings if read.what == "chamber"):
            assert read.mid - read.low >= 3.5  # √2 × 2.5 K: IEC 60584-1, class 2 of type K, of both probes
            assert read.high < read.stop <= one.top_degc + of.overshoot_k + 6 + 1  # both probes: 6 K up to 500 °C
            ramping += read.stop < one.top_degc
    assert ramping


def test_no_reading_has_a_band_without_a_width(days):
    """Soaked, the piece weighs the same in every draw: its first weighing is held against nothing."""
    bands = [(one.what, one.low, one.high) for day in days for one in day.readings if one.high is not None]
    (first,) = (one for one in days[0].readings if one.what == "piece")

    assert [one for one in bands if not one[1] < one[2]] == []
    assert (first.low, first.mid, first.high) == (None, None, None)


def test_a_piece_is_weighed_only_where_it_can_be_handled(days):
    for one, of in zip(days, ran().days, strict=True):
        weighed = any(read.what == "piece" for read in one.readings)
        assert weighed == (one.attended_from is not None and bool((of.did.chamber_degc[:, 0] <= 50).mean() >= 0.9))


def test_steps_have_the_numbers_of_the_runs_that_are_typed(days):
    """A controller of two steps and holds of two hours takes several runs for one that was searched."""
    run = ran()
    number, one = next((n, one) for n, one in enumerate(run.days) if one.spell)
    searched = [(begun.from_degc, begun.steps) for begun in one.spell.runs]
    typed = programmes(
        one.spell.runs[0].from_degc, [steps for _, steps in searched],
        controller(cutout_margin_k=25.0, longest_hold_h=2, steps=2), "K", "K", [degc for degc, _ in searched[1:]],
    )  # fmt: skip
    if not isinstance(typed, Programme):
        pytest.fail(str(typed))
    asked = Request(OPENS, Attendance(8, 20))
    by_controller = replace(run, days=(*run.days[:number], replace(one, programme=typed), *run.days[number + 1 :]))
    made = days_of(by_controller, taken(), asked, ZONE, Piece(2.0, 1.5, 0.25))[number]

    assert len(typed.runs) > len(searched)
    assert {step.run for step in made.steps} == {part.number for part in typed.runs}
    for part in typed.runs:
        assert max(step.to_degc for step in made.steps if step.run == part.number) == part.top_degc
    assert made.programme_ends == days[number].programme_ends
    assert all(step.ends - step.hold_from <= timedelta(hours=2) for step in made.steps)
