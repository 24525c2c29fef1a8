"""Days by the clock of the place: when each opens and closes, on which somebody comes, and for how long.

When clocks change, and by how much, is of the IANA time zone database, by way of zoneinfo: it is the source of every
offset here.
"""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.plan.clock import attended_h, closing, is_closed, months_after, opening
from recover.plan.whole import Request
from recover.schedule.spells import Attendance
from tests.conftest import cases

pytestmark = pytest.mark.quick

LONDON, CHICAGO, AUCKLAND = (ZoneInfo(name) for name in ("Europe/London", "America/Chicago", "Pacific/Auckland"))
LORD_HOWE, APIA = ZoneInfo("Australia/Lord_Howe"), ZoneInfo("Pacific/Apia")
ALWAYS, NIGHTS, DAYTIME = Attendance(), Attendance(20.0, 6.0), Attendance(8.0, 20.0)
HOUR = timedelta(hours=1)


def request(opens, attendance=ALWAYS, closed=()):
    return Request(datetime.fromisoformat(opens), attendance, closed)


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
    assert shown(closing(request(opens, attendance), LONDON, 0)) == leaves


def test_nobody_leaves_where_somebody_is_there_day_and_night():
    assert closing(request("2026-06-10 08:00"), LONDON, 0) is None


# ---------------------------------------------------------------------------------------- laws


ZONES = st.sampled_from([LONDON, CHICAGO, AUCKLAND, LORD_HOWE])
DATES = ["2026-03-27", "2026-10-23", "2026-03-06", "2026-10-30", "2026-04-03", "2026-09-25", "2026-10-02", "2026-06-10"]


@st.composite
def asked_for(draw):
    """What was asked of a plan, on dates around changes of clocks and on one without, with a weekday closed or none."""
    quarter = st.integers(0, 95)
    from_q, to_q = draw(st.tuples(quarter, quarter).filter(lambda two: (two[1] - two[0]) % 96 >= 16))
    opens = datetime.fromisoformat(draw(st.sampled_from(DATES))) + timedelta(minutes=15 * from_q)
    closed = draw(st.sampled_from([(), ("sun",), ("sat", "sun"), ("2026-03-28/2026-03-29",)]))
    return Request(opens, Attendance(from_q / 4, to_q / 4), closed), draw(ZONES)


@given(asked_for())
@cases(150)
def test_days_open_at_the_same_local_time_wherever_it_exists(of):
    asked, zone = of
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


@given(asked_for())
@cases(150)
def test_nobody_is_there_longer_than_from_opening_to_closing_nor_than_was_asked(of):
    """What a change of clocks takes from a night is off its end; what it adds is not used."""
    asked, zone = of
    for day in range(5):
        opens, leaves = opening(asked, zone, day), closing(asked, zone, day)
        there_h = attended_h(asked, zone, day)

        assert (there_h == 0) == is_closed(asked, opens.date())
        assert there_h <= asked.attendance.hours
        assert utc(opens) + there_h * HOUR <= utc(leaves)
        if utc(leaves) - utc(opens) == asked.attendance.hours * HOUR and there_h:
            assert there_h == pytest.approx(asked.attendance.hours)


# ---------------------------------------------------------------------------------------- days off


@pytest.mark.parametrize(
    ("closed", "days"),
    [
        ((), []),
        (("sat", "sun"), [2, 3]),
        (("2026-12-25",), [1]),
        (("2026-12-24/2026-12-26",), [0, 1, 2]),
        (("sun", "2026-12-25"), [1, 3]),
        (("2027-01-01",), []),
    ],
)
def test_nobody_comes_on_a_closed_weekday_date_or_span(closed, days):
    """24 December 2026 is a Thursday (any calendar)."""
    of = request("2026-12-24 08:00", DAYTIME, closed)

    assert [day for day in range(5) if attended_h(of, LONDON, day) == 0] == days
    assert {attended_h(of, LONDON, day) for day in range(5) if day not in days} == {12.0}


def test_a_night_that_the_spring_makes_shorter_is_attended_an_hour_less_and_one_in_autumn_no_longer():
    """In London an hour lacks in the night to 29 March 2026 and comes twice in that to 25 October."""
    assert attended_h(request("2026-03-28 20:00", NIGHTS), LONDON, 0) == 9.0
    assert attended_h(request("2026-10-24 20:00", NIGHTS), LONDON, 0) == 10.0
    assert attended_h(request("2026-03-28 08:00"), LONDON, 0) == 23.0
    assert attended_h(request("2026-10-24 08:00"), LONDON, 0) == 24.0


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [("2026-01-31", 1, "2026-02-28"), ("2026-11-30", 3, "2027-02-28"), ("2026-08-15", 6, "2027-02-15")],
)
def test_months_are_counted_by_the_calendar(day, months, later):
    assert months_after(date.fromisoformat(day), months) == date.fromisoformat(later)
