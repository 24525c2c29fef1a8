"""Numbers as people write them."""

from datetime import date
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.errors import AnswerError
from recover.measures import read_moment, read_quantity, read_whole, show_hours, show_moment, show_quantity

BERLIN = ZoneInfo("Europe/Berlin")


@pytest.mark.parametrize(
    ("said", "unit", "expected"),
    [
        ("430 mm", "mm", 430),
        ("430", "mm", 430),
        ("43 cm", "mm", 430),
        ("17 in", "mm", 431.8),  # the inch is 25.4 mm exactly (international yard and pound agreement, 1959)
        ('17"', "mm", 431.8),
        ("1 1/2 in", "mm", 38.1),
        ("0.4 Mohm", "Mohm", 0.4),
        ("0,4 MΩ", "Mohm", 0.4),
        ("400 kOhm", "Mohm", 0.4),
        ("1 1/2 h", "hour", 1.5),
        ("90 min", "hour", 1.5),
        ("52 °F", "degC", 100 / 9),  # (52 - 32) / 1.8
        ("7.2 kW", "kW", 7.2),
        ("30 m³/h", "m3/h", 30),
        ("500 l/min", "m3/h", 30),
        ("120 m3/h", "m3/h", 120),
        ("20 l/d", "l/day", 20),
        ("2 weeks", "day", 14),
        ("7200 W", "kW", 7.2),
        ("1e3 mm", "mm", 1000),
        ("−5 °C", "degC", -5),
    ],
)
def test_numbers_are_read_as_people_write_them(said, unit, expected):
    assert read_quantity(said, unit) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("said", "unit", "needed", "message"),
    [
        ("about knee high", "mm", False, "is not a number"),
        ("430 V", "mm", False, "is not a unit of this question (mm)"),
        ("430 furries", "mm", False, "is not a unit"),
        ("0.4", "Mohm", True, "has no unit; expected a number and a unit"),
        ("1,000 mm", "mm", False, "can be read in two ways"),
        ("", "mm", False, "is not a number"),
        ("4 mm or 5", "mm", False, "is not a unit"),
    ],
)
def test_what_cannot_be_read_gets_a_sentence(said, unit, needed, message):
    with pytest.raises(AnswerError, match=r".*") as refused:
        read_quantity(said, unit, unit_needed=needed)

    assert message in str(refused.value)


def test_a_whole_number_takes_no_fraction():
    assert read_whole(" 2 ") == 2
    with pytest.raises(AnswerError, match="not a whole number"):
        read_whole("2.5")


def test_a_moment_is_local_to_the_job_and_survives_the_change_of_clocks():
    """Clocks in Berlin went from 02:00 to 03:00 on 2026-03-29 (EU directive 2000/84/EC: last Sunday of March)."""
    before, after = read_moment("2026-03-29 01:30", BERLIN), read_moment("2026-03-29 03:30", BERLIN)

    assert (after.timestamp() - before.timestamp()) / 3600 == 1
    assert show_moment(before) == "2026-03-29 01:30 CET"


@pytest.mark.parametrize(("said", "message"), [("yesterday", "is not a moment"), ("2026-03-07", "has no clock time")])
def test_a_moment_needs_date_and_clock(said, message):
    with pytest.raises(AnswerError, match=message):
        read_moment(said, BERLIN)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("27.11.2026 18:00", "2026-11-27 18:00"), ("27/11/2026 18:00", "2026-11-27 18:00"),
        ("11/27/2026 18:00", "2026-11-27 18:00"), ("18:00", "2026-11-28 18:00"), ("9:05", "2026-11-28 09:05"),
        ("today 18:00", "2026-11-28 18:00"), ("yesterday 18:00", "2026-11-27 18:00"),
        ("2026-11-27 18:00", "2026-11-27 18:00"),
    ],
)  # fmt: skip
def test_a_moment_is_read_as_people_write_it(said, expected):
    assert f"{read_moment(said, BERLIN, date(2026, 11, 28)):%Y-%m-%d %H:%M}" == expected


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ("03/04/2026 09:00", "can be read in two ways: day or month first; write it as '2026-MM-DD'"),
        ("31.02.2026 09:00", "is not a moment"), ("27.11.2026", "has no clock time"), ("1.12", "is not a moment"),
        ("25:00", "is not a moment"),
    ],
)  # fmt: skip
def test_a_moment_that_could_be_another_is_refused_with_the_reason(said, message):
    with pytest.raises(AnswerError, match=message):
        read_moment(said, BERLIN, date(2026, 11, 28))


def test_without_a_day_that_is_today_a_clock_time_alone_is_no_moment():
    """A file is read in on any day."""
    with pytest.raises(AnswerError, match="is not a moment"):
        read_moment("18:00", BERLIN)


def test_numbers_are_printed_with_their_unit():
    assert show_quantity(1500, "mm") == "1\u202f500 mm"
    assert show_quantity(431.8, "mm", imperial=True) == "17 in (432 mm)"
    assert show_quantity(0.4, "Mohm") == "0.4 MΩ"
    assert show_hours(38.2) == "38.2 h"
    assert show_hours(75) == "3 days 3 h"


@given(st.floats(0.001, 1e6), st.sampled_from(["mm", "V", "kW", "Mohm"]))
def test_what_is_printed_reads_back(value, unit):
    printed = show_quantity(value, unit).replace("\u202f", "")

    assert read_quantity(printed, unit) == pytest.approx(value, rel=0.006)
