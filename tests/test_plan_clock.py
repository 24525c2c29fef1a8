"""Days and steps by the clock of the place, the calendar file and the table.

When clocks change, and by how much, is of the IANA time zone database, by way of zoneinfo: it is the source of every
offset here. What a day by the clock may be is the attendance that a plan was asked for.
"""

import csv
import io
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import partial
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.base.errors import PaperError
from recover.physics.draws import Spread
from recover.physics.materials import Band
from recover.physics.wall import Step
from recover.plan.cards import rechecks
from recover.plan.clock import StepSpan, closing, months_after, opening, spans, timetable
from recover.plan.request import _ill_timed
from recover.plan.strategies import Comparison, Strategy
from recover.plan.strategies import cards as ways
from recover.plan.whole import Followed, JobPlan, KilnPlan, Request
from recover.report import calendar, plan_table
from recover.schedule.spells import Attendance, Day, Schedule
from recover.schedule.verify import Proof, _StepEnd
from tests.conftest import cases

pytestmark = pytest.mark.quick

LONDON, CHICAGO, AUCKLAND = (ZoneInfo(name) for name in ("Europe/London", "America/Chicago", "Pacific/Auckland"))
LORD_HOWE, APIA = ZoneInfo("Australia/Lord_Howe"), ZoneInfo("Pacific/Apia")
ALWAYS, NIGHTS, DAYTIME = Attendance(), Attendance(20.0, 6.0), Attendance(8.0, 20.0)
CAUTIONS = ["Attended throughout.", "Steam; hot faces, and a casing that may be live."]
STOP = ["The casing is above what the plan allows."]
REFERRAL = "Local codes and a licensed electrician go before anything written here."
HOUR = timedelta(hours=1)

written_for = partial(calendar.calendar_text, job="Mill Lane", cautions=CAUTIONS, stop=STOP, referral=REFERRAL)


def spread(middle):
    return Spread(0.9 * middle, middle, 1.1 * middle, Band(middle, 1.1 * middle, 1.2 * middle))


def followed(days, attendance=ALWAYS, rest_h=0.0):
    """A schedule with a made-up proof: of its water a share goes each hour, its casing warms by a kelvin an hour."""
    schedule = Schedule(tuple(days), attendance, rest_h)
    hours = tuple(0.5 * half for half in range(int(2 * schedule.hours) + 2))
    left, casing = (tuple(spread(of(hour)) for hour in hours) for of in (left_at, casing_at))
    ends = tuple(
        _StepEnd(day, step, spread(left_at(ends_h)), spread(casing_at(ends_h)))
        for day, step, ends_h in schedule.steps()
    )
    proof = Proof(
        schedule=schedule, draws=64, left=left[-1], energy_kwh=spread(20.0), vapour_kg_h=spread(0.2), peaks=(),
        broken=(), steps=ends, curve_h=hours, left_curve=left, casing_curve=casing,
    )  # fmt: skip
    return Followed((), proof, (), ())


def left_at(hour):
    return 0.99**hour


def casing_at(hour):
    return 15.0 + hour


def held(hold_h, to_degc=75.0, from_degc=15.0):
    """A day of two hours up to a temperature, and a hold."""
    return Day(from_degc, (Step(to_degc, (to_degc - from_degc) / 2, hold_h),))


def request(opens, attendance=ALWAYS):
    return Request(datetime.fromisoformat(opens), attendance)


def utc(moment):
    return moment.astimezone(UTC)


def shown(moment):
    return f"{moment:%m-%d %H:%M} {moment.utcoffset() / HOUR:+g}"


# ---------------------------------------------------------------------------------------- openings and closings


@pytest.mark.parametrize(
    ("zone", "opens", "apart"),
    [
        (LONDON, "2026-03-28 08:00", 23),  # clocks go from 01:00 to 02:00 on 29 March
        (LONDON, "2026-10-24 08:00", 25),  # from 02:00 back to 01:00 on 25 October
        (CHICAGO, "2026-03-07 08:00", 23),
        (CHICAGO, "2026-10-31 08:00", 25),
        (AUCKLAND, "2026-04-04 08:00", 25),  # the south: back in April
        (AUCKLAND, "2026-09-26 08:00", 23),  # and forward in September
        (LORD_HOWE, "2026-10-03 08:00", 23.5),  # a change of half an hour
        (LONDON, "2026-06-10 08:00", 24),
    ],
)
def test_a_day_opens_at_the_same_local_time_on_the_next_date(zone, opens, apart):
    of = request(opens, DAYTIME)

    first, second = opening(of, zone, 0), opening(of, zone, 1)

    assert (first.hour, second.hour, second.date() - first.date()) == (8, 8, timedelta(days=1))
    assert utc(second) - utc(first) == apart * HOUR


@pytest.mark.parametrize(
    ("zone", "opens", "moment"),
    [
        (LONDON, "2026-03-29 01:30", "03-29 02:00 +1"),  # does not exist: the clock jumps over it at 01:00 UTC
        (LONDON, "2026-03-29 01:00", "03-29 02:00 +1"),
        (LONDON, "2026-03-29 00:59", "03-29 00:59 +0"),
        (LONDON, "2026-10-25 01:30", "10-25 01:30 +1"),  # comes twice: the first, in summer time
        (CHICAGO, "2026-03-08 02:15", "03-08 03:00 -5"),
        (CHICAGO, "2026-11-01 01:15", "11-01 01:15 -5"),
        (AUCKLAND, "2026-09-27 02:45", "09-27 03:00 +13"),
        (AUCKLAND, "2026-04-05 02:45", "04-05 02:45 +13"),
        (LORD_HOWE, "2026-10-04 02:10", "10-04 02:30 +11"),
        (APIA, "2011-12-30 08:00", "12-31 00:00 +14"),  # a date that the place left out
    ],
)
def test_a_time_that_is_missing_is_the_moment_after_the_gap_and_one_that_comes_twice_is_the_first(zone, opens, moment):
    assert shown(opening(request(opens), zone, 0)) == moment


def test_an_opening_at_half_past_one_is_there_again_on_the_day_after_the_change():
    of = request("2026-03-28 01:30", Attendance(1.5, 11.5))

    assert [shown(opening(of, LONDON, day)) for day in range(3)] == [
        "03-28 01:30 +0", "03-29 02:00 +1", "03-30 01:30 +1",
    ]  # fmt: skip
    assert shown(closing(of, LONDON, 1)) == "03-29 11:30 +1"


@pytest.mark.parametrize(
    ("attendance", "opens", "leaves"),
    [
        (DAYTIME, "2026-06-10 08:00", "06-10 20:00 +1"),
        (Attendance(8, 24), "2026-06-10 08:00", "06-11 00:00 +1"),
        (NIGHTS, "2026-06-10 20:00", "06-11 06:00 +1"),
        (Attendance(13.5, 1.5), "2026-03-28 13:30", "03-29 02:00 +1"),  # leaves at a time that does not exist
        (Attendance(13.5, 1.5), "2026-10-24 13:30", "10-25 01:30 +1"),  # or that comes twice: at the first
        (Attendance(9 + 5 / 60, 17 + 10 / 60), "2026-06-10 09:05", "06-10 17:10 +1"),
    ],
)
def test_whoever_attends_leaves_by_the_clock(attendance, opens, leaves):
    of = request(opens, attendance)

    assert _ill_timed(of) == ()
    assert shown(closing(of, LONDON, 0)) == leaves


def test_nobody_leaves_where_somebody_is_there_day_and_night():
    assert closing(request("2026-06-10 08:00"), LONDON, 0) is None


def test_a_first_opening_that_is_not_when_attendance_begins_is_a_problem():
    (late,) = _ill_timed(request("2026-06-10 10:00", DAYTIME))
    (offset,) = _ill_timed(request("2026-06-10 08:00+00:00", DAYTIME))

    assert str(late) == "opens: 10:00 is not when attendance 08:00-20:00 begins; expected 08:00"
    assert "names an offset" in str(offset)


# ---------------------------------------------------------------------------------------- steps


def test_steps_stand_at_the_hours_that_were_planned_with_what_the_proof_has_at_their_end():
    of = followed([Day(15.0, (Step(75.0, 30.0, 3.0), Step(105.0, 20.0, 2.0)))], DAYTIME)

    first, second = timetable(of, request("2026-06-10 08:00", DAYTIME), LONDON, 0)

    assert [shown(at) for at in (first.begins, first.hold_from, first.ends)] == [
        "06-10 08:00 +1", "06-10 10:00 +1", "06-10 13:00 +1",
    ]  # fmt: skip
    assert [shown(at) for at in (second.begins, second.hold_from, second.ends)] == [
        "06-10 13:00 +1", "06-10 14:30 +1", "06-10 16:30 +1",
    ]  # fmt: skip
    assert (first.step, first.number, second.number) == (Step(75.0, 30.0, 3.0), 0, 1)
    assert first.left.p50 == pytest.approx(left_at(5.0), abs=1e-4)
    assert second.casing_degc.p50 == pytest.approx(casing_at(8.5), abs=1e-3)
    assert not first.cut
    assert not second.cut


def test_a_night_that_the_spring_makes_shorter_is_cut_at_its_closing():
    of, asked = followed([held(8.0), held(8.0)], NIGHTS), request("2026-03-28 20:00", NIGHTS)

    (short,), (whole,) = timetable(of, asked, LONDON, 0), timetable(of, asked, LONDON, 1)

    assert (shown(short.ends), short.cut) == ("03-29 06:00 +1", True)
    assert utc(short.ends) - utc(short.begins) == 9 * HOUR
    assert short.left.p50 == pytest.approx(left_at(9.0))  # what the run had then, not what ten hours would leave
    assert (shown(whole.begins), shown(whole.ends), whole.cut) == ("03-29 20:00 +1", "03-30 06:00 +1", False)


def test_a_night_that_the_autumn_makes_longer_ends_after_its_hours_and_not_at_its_closing():
    of, asked = followed([held(8.0)], NIGHTS), request("2026-10-24 20:00", NIGHTS)

    (night,) = timetable(of, asked, LONDON, 0)

    assert shown(night.begins) == "10-24 20:00 +1"
    assert (shown(night.ends), night.cut) == ("10-25 05:00 +0", False)
    assert shown(closing(asked, LONDON, 0)) == "10-25 06:00 +0"


def test_a_step_that_would_begin_at_the_closing_is_left_out_and_the_one_before_says_so():
    tail = Step(105.0, 60.0, 0.5)  # half an hour up and half an hour there: the hour that is missing
    of = followed([Day(15.0, (Step(75.0, 30.0, 7.0), tail))], NIGHTS)

    (only,) = timetable(of, request("2026-03-28 20:00", NIGHTS), LONDON, 0)

    assert (only.number, only.cut, shown(only.ends)) == (0, True, "03-29 06:00 +1")


def test_a_climb_that_is_cut_has_no_hold():
    of = followed([Day(15.0, (Step(65.0, 5.0, 0.0),))], NIGHTS)

    (climb,) = timetable(of, request("2026-03-28 20:00", NIGHTS), LONDON, 0)

    assert climb.hold_from == climb.ends
    assert (utc(climb.ends) - utc(climb.begins), climb.cut) == (9 * HOUR, True)


def test_day_and_night_a_change_of_clocks_moves_the_clock_and_not_the_hours():
    of, asked = followed([held(46.0)], rest_h=12.0), request("2026-03-28 08:00")

    (step,) = timetable(of, asked, LONDON, 0)

    assert (shown(step.ends), step.cut) == ("03-30 09:00 +1", False)


ZONES = st.sampled_from([LONDON, CHICAGO, AUCKLAND, LORD_HOWE])
DATES = ["2026-03-27", "2026-10-23", "2026-03-06", "2026-10-30", "2026-04-03", "2026-09-25", "2026-10-02", "2026-06-10"]


@st.composite
def plans(draw):
    """A schedule and what was asked of it, on dates around changes of clocks and on one without."""
    quarter = st.integers(0, 95)
    from_q, to_q = draw(st.tuples(quarter, quarter).filter(lambda two: (two[1] - two[0]) % 96 >= 16))
    there = Attendance(from_q / 4, to_q / 4)
    days = []
    for _ in range(draw(st.integers(1, 4))):
        shares = draw(st.lists(st.integers(1, 10), min_size=2, max_size=6).filter(lambda many: len(many) % 2 == 0))
        hours = [there.hours * share / max(sum(shares), 12) for share in shares]
        days.append(Day(15.0, tuple(
            Step(45.0 + 30.0 * number, 30.0 / up_h, hold_h)
            for number, (up_h, hold_h) in enumerate(zip(hours[::2], hours[1::2], strict=True))
        )))  # fmt: skip
    opens = datetime.fromisoformat(draw(st.sampled_from(DATES))) + timedelta(minutes=15 * from_q)
    return followed(days, there), Request(opens, there), draw(ZONES)


@given(plans())
@cases(150)
def test_days_open_at_the_same_local_time_wherever_it_exists(plan):
    _, asked, zone = plan
    for day in range(4):
        local = asked.opens + timedelta(days=day)
        exists = any(
            local.replace(tzinfo=zone, fold=fold).astimezone(UTC).astimezone(zone).replace(tzinfo=None) == local
            for fold in (0, 1)
        )
        opens = opening(asked, zone, day)
        assert (opens.replace(tzinfo=None) == local) == exists
        assert opens.replace(tzinfo=None) >= local
        assert utc(opens) < utc(opening(asked, zone, day + 1))


@given(plans())
@cases(150)
def test_no_step_ends_after_closing_and_what_is_not_cut_lasts_as_long_as_was_planned(plan):
    of, asked, zone = plan
    for number, day in enumerate(of.proof.schedule.days):
        entries, before = timetable(of, asked, zone, number), utc(opening(asked, zone, number))
        for entry in entries:
            assert utc(entry.begins) == before
            assert utc(entry.begins) <= utc(entry.hold_from) <= utc(entry.ends) <= utc(closing(asked, zone, number))
            before = utc(entry.ends)
        lost = utc(opening(asked, zone, number)) + day.hours * HOUR - utc(closing(asked, zone, number))
        assert [entry.cut for entry in entries[:-1]] == [False] * (len(entries) - 1)
        if entries[-1].cut:
            assert utc(entries[-1].ends) <= utc(closing(asked, zone, number))
            assert lost > timedelta(0)
            continue
        assert lost <= timedelta(minutes=2)
        assert [entry.step for entry in entries] == list(day.steps)
        for entry, degc in zip(entries, (15.0, *(step.to_degc for step in day.steps)), strict=False):
            ramp_h, minute = (entry.step.to_degc - degc) / entry.step.ramp_k_h, timedelta(minutes=1)
            assert abs(utc(entry.hold_from) - utc(entry.begins) - ramp_h * HOUR) <= minute
            assert abs(utc(entry.ends) - utc(entry.hold_from) - entry.step.hold_h * HOUR) <= minute


# ---------------------------------------------------------------------------------------- later days


def test_days_that_are_alike_are_one_range_until_their_tops_lie_60_k_apart():
    tops = ((90.0, 4.0), (120.0, 6.0), (150.0, 5.0), (151.0, 5.0))
    later = [Day(20.0, (Step(top, 30.0, hold_h),)) for top, hold_h in tops]
    steeper, longer = Day(20.0, (Step(151.0, 40.0, 5.0),)), Day(20.0, (Step(151.0, 40.0, 5.0), Step(181.0, 40.0, 1.0)))

    alike = spans(Schedule((held(8.0), *later, steeper, longer), DAYTIME))

    assert [(one.first, one.last) for one in alike] == [(1, 3), (4, 4), (5, 5), (6, 6)]
    (step,) = alike[0].steps
    assert step == StepSpan(ramp_k_h=30.0, low_degc=90.0, high_degc=150.0, shortest_h=4.0, longest_h=6.0)
    assert alike[0].dates(request("2026-03-28 08:00", DAYTIME), LONDON) == (date(2026, 3, 29), date(2026, 3, 31))


def test_the_first_day_is_in_no_range():
    assert spans(Schedule((held(8.0),), DAYTIME)) == ()


@given(plans())
@cases(50)
def test_ranges_hold_every_later_day_once(plan):
    schedule = plan[0].proof.schedule
    within = [day for one in spans(schedule) for day in range(one.first, one.last + 1)]
    assert within == list(range(1, len(schedule.days)))


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [("2026-01-31", 1, "2026-02-28"), ("2026-11-30", 3, "2027-02-28"), ("2026-08-15", 6, "2027-02-15")],
)
def test_months_are_counted_by_the_calendar(day, months, later):
    assert months_after(date.fromisoformat(day), months) == date.fromisoformat(later)


# ---------------------------------------------------------------------------------------- the calendar file


def kiln_plan(way="own", days=2.5, of=None, fired_again=date(2026, 11, 30), gate_open=True, number=1):
    """A kiln that is dried by a way; the other ways are not looked at."""
    card = next(card for card in ways().strategy if card.id == way)
    chosen = Strategy(card, days=days, fired_again=fired_again)
    of = of if of is not None else followed([held(10.0), held(10.0), held(3.0)], DAYTIME, rest_h=6.0)
    return KilnPlan(
        kiln=f"kiln/{number}", label=f"Kiln {number}", missing=(), gate_open=gate_open, way=way, refused=(),
        comparison=Comparison((chosen,), chosen, "It is the first."), own=None, beside=(), followed=of, match=None,
        match_ways=(), after=(), rechecks=rechecks([5]),
    )  # fmt: skip


def job_plan(*kilns, opens="2026-10-24 08:00", attendance=DAYTIME, zone="Europe/London"):
    asked = request(opens, attendance)
    return JobPlan(
        number=3, made="2026-10-20T09:15:00+00:00", program="recover 1", head="a" * 64, inputs="b", rules="c", seed=1,
        draws=64, zone=zone, request=asked, kilns=kilns,
    )  # fmt: skip


def events(text):
    return icalendar.Calendar.from_ical(text).walk("VEVENT")


def test_every_event_carries_the_cautions_the_stop_rules_and_the_referral():
    read = events(written_for(job_plan(kiln_plan(), kiln_plan("enclosure", number=2), kiln_plan("air", number=3))))

    assert len(read) == 3 * (3 + 1 + 3)  # three days each, the firing, three months
    always = ["Cautions", *CAUTIONS, "", "Stop, heater off and isolated", *STOP, "", REFERRAL]
    for event in read:
        says = str(event["description"])
        assert says.endswith("\n".join(always))
        assert event["status"] == "TENTATIVE"
        assert event.decoded("dtstamp") == datetime(2026, 10, 20, 9, 15, tzinfo=UTC)
        assert "safe" not in f"{event['summary']} {says}".lower()


def test_heated_days_lie_between_opening_and_end_the_first_with_clock_times():
    first, second, third, *_ = events(written_for(job_plan(kiln_plan())))

    assert str(first["summary"]) == "Kiln 1: drying, day 1 (attended)"
    assert [(event.decoded("dtstart"), event.decoded("dtend")) for event in (first, second, third)] == [
        (datetime(2026, 10, 24, 7, tzinfo=UTC), datetime(2026, 10, 24, 19, tzinfo=UTC)),
        (datetime(2026, 10, 25, 8, tzinfo=UTC), datetime(2026, 10, 25, 20, tzinfo=UTC)),  # summer time has ended
        (datetime(2026, 10, 26, 8, tzinfo=UTC), datetime(2026, 10, 26, 13, tzinfo=UTC)),
    ]
    line = next(line for line in str(first["description"]).splitlines() if line.startswith("08:00 BST"))
    assert line == (
        "08:00 BST, hold from 10:00 BST until 20:00 BST: step 1, at 30 K/h to 75 °C, hold 10 h; "
        "water left at its end 89 %, nine in ten at most 98 %; casing about 27 °C"
    )
    assert "\nstep 1, at 30 K/h to 75 °C, hold 10 h;" in str(second["description"])
    assert "no proof that the lining is dry" in str(third["description"])
    assert "no proof that the lining is dry" not in str(second["description"])


def test_a_day_that_is_cut_says_that_the_clocks_change():
    of = followed([held(8.0), held(8.0)], NIGHTS)
    plan = job_plan(kiln_plan(of=of), opens="2026-03-28 20:00", attendance=NIGHTS)

    short, whole, *_ = events(written_for(plan))

    assert "The clocks change: the heater is off at 2026-03-29 06:00 BST" in str(short["description"])
    assert "The clocks change" not in str(whole["description"])


def test_a_schedule_by_day_and_night_is_told_in_days():
    plan = job_plan(kiln_plan(of=followed([held(46.0)])), opens="2026-03-28 08:00", attendance=ALWAYS)

    days = [event for event in events(written_for(plan)) if "drying" in event["summary"]]

    assert [(day.decoded("dtend") - day.decoded("dtstart")) / HOUR for day in days] == [23, 24, 1]
    assert [str(day["summary"])[-16:] for day in days] == [f"day {n} (attended)" for n in (1, 2, 3)]
    assert all("until 2026-03-30 09:00 BST" in str(day["description"]) for day in days[:2])


@pytest.mark.parametrize(("days", "lasts"), [(2.5, 3), (4.0, 4), (None, 28), (40.0, 28)])
def test_an_external_way_has_a_day_for_each_that_nine_in_ten_need_and_four_weeks_at_most(days, lasts):
    all_of_it = events(written_for(job_plan(kiln_plan("enclosure", days))))

    read = [event for event in all_of_it if "(attended)" in event["summary"]]

    assert len(read) == lasts
    assert str(read[0]["summary"]) == "Kiln 1: Warm enclosure around the kiln, day 1 (attended)"
    assert read[0].decoded("dtend") - read[0].decoded("dtstart") == 12 * HOUR


def test_a_way_without_heat_has_whole_days_that_nobody_need_attend():
    first, *_ = events(written_for(job_plan(kiln_plan("workshop"))))

    assert (first.decoded("dtstart"), first.decoded("dtend")) == (date(2026, 10, 24), date(2026, 10, 25))
    assert "attended" not in first["summary"]


def test_the_earliest_firing_and_the_months_after_it_are_whole_days():
    read = {str(event["summary"]): event for event in events(written_for(job_plan(kiln_plan())))}

    assert read["Kiln 1: earliest normal firing"].decoded("dtstart") == date(2026, 11, 30)
    assert [read[f"Kiln 1: look again, month {months}"].decoded("dtstart") for months in (1, 3, 6)] == [
        date(2026, 12, 30), date(2027, 2, 28), date(2027, 5, 30),
    ]  # fmt: skip
    assert "every earth stud" in str(read["Kiln 1: look again, month 1"]["description"])


def test_without_a_known_firing_nothing_after_the_drying_is_dated():
    assert len(events(written_for(job_plan(kiln_plan(fired_again=None))))) == 3


def test_the_same_plan_gives_the_same_file_and_every_event_its_own_identity():
    plan = job_plan(kiln_plan(), kiln_plan(number=2))
    names = [str(event["uid"]) for event in events(written_for(plan))]

    assert written_for(plan) == written_for(plan)
    assert len(set(names)) == len(names)
    assert not set(names) & {str(event["uid"]) for event in events(written_for(replace(plan, number=4)))}


def test_lines_are_ended_and_folded_as_the_standard_wants_them():
    """RFC 5545, 3.1: lines end with CR LF and are no longer than 75 octets without it."""
    lines = written_for(job_plan(kiln_plan())).encode().split(b"\r\n")

    assert (lines[0], lines[-2], lines[-1]) == (b"BEGIN:VCALENDAR", b"END:VCALENDAR", b"")
    assert max(map(len, lines)) <= 75
    assert not any(b"\n" in line for line in lines)


@pytest.mark.parametrize(
    ("without", "named"),
    [({"cautions": []}, "Cautions"), ({"stop": [""]}, "Stop"), ({"referral": " "}, "the referral")],
)
def test_a_calendar_without_its_cautions_is_refused_naming_what_is_missing(without, named):
    with pytest.raises(PaperError, match=f"missing: {named}"):
        written_for(job_plan(kiln_plan()), **without)


def test_no_day_of_own_heat_is_dated_before_its_gate_is_open():
    with pytest.raises(PaperError, match="Kiln 1: The gate for heating with its own elements is not open"):
        written_for(job_plan(kiln_plan(gate_open=False)))


def test_without_a_way_the_calendar_is_refused_with_the_reason():
    salt = replace(kiln_plan(), way="", followed=None, comparison=Comparison((), None, ways().reason["salt"]))
    unknown = replace(salt, label="Kiln 2", comparison=None, missing=("The thickness of its lining is not known.",))

    with pytest.raises(PaperError, match=r"Kiln 1: Salt does not leave.* Kiln 2: The thickness of its lining"):
        written_for(job_plan(salt, unknown))


# ---------------------------------------------------------------------------------------- the table


def rows(plan):
    return list(csv.DictReader(io.StringIO(plan_table.csv_text(plan))))


def test_the_table_has_a_row_for_each_step_and_the_caution_on_the_first_of_each_kiln():
    read = rows(job_plan(kiln_plan(), kiln_plan(number=2)))

    assert [(row["kiln"], row["day"], row["step"]) for row in read] == [
        (f"Kiln {kiln}", str(day), "1") for kiln in (1, 2) for day in (1, 2, 3)
    ]
    caution = "Attended throughout; a hold point is released by a named person only."
    assert [row["note"] for row in read] == [caution, "", ""] * 2
    first, second, third = read[:3]
    assert list(first)[-1] == "note"
    assert (first["begins"], second["begins"]) == ("2026-10-24T08:00+01:00", "2026-10-25T08:00+00:00")
    assert (third["date"], third["hold from"], third["ends"]) == (
        "2026-10-26", "2026-10-26T10:00+00:00", "2026-10-26T13:00+00:00",
    )  # fmt: skip
    assert (third["ramp K/h"], third["to °C"], third["hold h"], third["cut"]) == ("30.0", "75.0", "3.0", "")
    left = 100 * left_at(53.0)
    assert [float(third[f"water left p{share} %"]) for share in (10, 50, 90)] == pytest.approx(
        [0.9 * left, left, 1.1 * left], abs=0.06
    )
    assert float(third["casing p50 °C"]) == casing_at(53.0)


def test_a_step_that_is_cut_says_so_in_the_table():
    plan = job_plan(kiln_plan(of=followed([held(8.0)], NIGHTS)), opens="2026-03-28 20:00", attendance=NIGHTS)

    (row,) = rows(plan)

    assert (row["ends"], row["cut"]) == ("2026-03-29T06:00+01:00", "heater off before it is done")


def test_the_table_says_where_the_gate_is_not_open():
    first, *_ = rows(job_plan(kiln_plan(gate_open=False)))

    assert "The gate for heating with its own elements is not open" in first["note"]


def test_a_kiln_that_is_dried_from_outside_has_no_rows_and_alone_no_table():
    assert {row["kiln"] for row in rows(job_plan(kiln_plan("air"), kiln_plan(number=2)))} == {"Kiln 2"}
    with pytest.raises(PaperError, match="Kiln 1: It is dried from outside"):
        plan_table.csv_text(job_plan(kiln_plan("air")))
