"""Numbers as people write them."""

from datetime import UTC, date, datetime
from math import isfinite
from zoneinfo import ZoneInfo

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.asked.compiled import questionnaire
from recover.asked.said import read_value
from recover.base.errors import AnswerError
from recover.base.measures import (
    convert,
    read_moment,
    read_quantity,
    read_whole,
    show_hours,
    show_moment,
    show_quantity,
    units,
)
from recover.interview.typed import by_word, places, read_role, slate_in
from tests.conftest import cases

pytestmark = pytest.mark.quick

QUESTIONS = questionnaire().questions

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
        ("5 ft 8 in", "mm", 1727.2),
        ("5 ft 11 3/4 in", "mm", 1822.45),
        ("5' 8 1/2\"", "mm", 1739.9),
        ("5'8\"", "mm", 1727.2),
        ("17½ in", "mm", 444.5),
        ("1 h 30 min", "hour", 1.5),
        ("1h30min", "hour", 1.5),
        ("2 days 6 h", "day", 2.25),
        ("about 3 l", "litre", 3),
        ("~ 430 mm", "mm", 430),
        ("approx. 43 cm", "mm", 430),
        ("50 mohm", "ohm", 0.05),
        ("50 mΩ", "ohm", 0.05),
        ("200 megohm", "Mohm", 200),
        ("180 M", "Mohm", 180),
        ("1 GΩ", "Mohm", 1000),
        ("1\u202f500 mm", "mm", 1500),
        ("80", "percent", 80),
        ("80%", "percent", 80),
        ("400V", "V", 400),
        ("-5", "degC", -5),
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
        ("4 mm or 5", "mm", False, "is more than one number; write the one that you trust"),
        ("430 mm (guess", "mm", False, "goes on after '430 mm' with '(guess'; write '430 mm', and the rest in a note"),
        ('17" (on the door', "mm", False, "goes on after"),
        ("1/0", "mm", False, "is not a number"),
        ("1/0 mm", "mm", False, "is not a number"),
        ("10 9**9**9**9", "mm", False, "is not a unit"),
        ("9**9", "mm", False, "is not a unit"),
        ("0.4 mohm", "Mohm", True, "may be milliohm or megohm"),
        ("0,4 mΩ", "Mohm", True, "may be milliohm or megohm"),
        ("8 in 5 ft", "mm", False, "is not a number"),
        ("9" * 400, "mm", False, "is not a"),
        ("1e99 mm", "mm", False, "is not a number"),
        ("nan", "mm", False, "is not a number"),
        ("inf mm", "mm", False, "is not a number"),
        ("5 mm", "", False, "is not a unit of this question (a bare number)"),
        ("__import__('os')", "mm", False, "is not a number"),
    ],
)
def test_what_cannot_be_read_gets_a_sentence(said, unit, needed, message):
    with pytest.raises(AnswerError, match=r".*") as refused:
        read_quantity(said, unit, unit_needed=needed)

    assert message in str(refused.value)


def number_or_sentence(text, unit):
    try:
        return read_quantity(text, unit)
    except AnswerError as refused:
        return str(refused)


PINT = {
    "hour": "hour", "degC": "degC", "degF": "degF", "percent": "percent", "uS/cm": "uS/cm", "mS/cm": "mS/cm",
    "m3": "m**3", "m3/h": "m**3/hour", "cfm": "foot**3/min", "second": "second", "Mohm": "megaohm", "mohm": "milliohm",
    "kohm": "kiloohm", "Gohm": "gigaohm", "lb": "pound", "t": "tonne", "share": "dimensionless",
}  # fmt: skip


@pytest.mark.parametrize("unit", [unit for unit in units() if unit != "mg/l"])
def test_every_unit_of_the_table_is_what_a_general_library_of_units_says(unit):
    """Against pint, an independent table: every unit in every other of its dimension."""
    registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    for other in (one for one in units().values() if one.of == units()[unit].of):
        theirs = registry.Quantity(3.7, PINT.get(unit, unit)).to(PINT.get(other.id, other.id)).magnitude

        assert convert(3.7, unit, other.id) == pytest.approx(theirs, rel=1e-9, abs=1e-9)


@given(st.text(st.sampled_from("0123456789 .,/*+-eE°\"'()mMΩokhlinftCV%½>^_a")) | st.text(max_size=80))
@cases(300)
def test_whatever_is_typed_is_a_number_or_a_sentence(text):
    for unit in ("mm", "Mohm", "hour", "degC", ""):
        read = number_or_sentence(text, unit)

        assert isfinite(read) if isinstance(read, float) else 10 < len(read) < 300


def test_a_whole_number_takes_no_fraction():
    assert read_whole(" 2 ") == 2
    with pytest.raises(AnswerError, match="not a whole number"):
        read_whole("2.5")


LONG = "9" * 5000


@pytest.mark.parametrize(
    "read",
    [
        read_whole, lambda typed: slate_in(f"slate {typed}"),
        lambda typed: places(typed, 3, several=True), lambda typed: by_word(QUESTIONS["event.salt"], typed),
        lambda typed: read_role(typed, [("owner", "Owner")]),
        lambda typed: read_value(QUESTIONS["scope.kilns"], typed, ZoneInfo("UTC")),
    ],
)  # fmt: skip
def test_a_number_longer_than_anybody_counts_to_is_refused_in_a_short_sentence(read):
    with pytest.raises(AnswerError, match="expected") as refused:
        read(LONG)

    assert len(str(refused.value)) < 250


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
        ("2026-11-27 18:00", "2026-11-27 18:00"), ("27 Nov 6 pm", "2026-11-27 18:00"), ("6pm", "2026-11-28 18:00"),
        ("27th November 2026, 18:00", "2026-11-27 18:00"), ("Nov 27 6:30 p.m.", "2026-11-27 18:30"),
        ("27.11. 18:00", "2026-11-27 18:00"), ("27/11 12am", "2026-11-27 00:00"), ("12 pm", "2026-11-28 12:00"),
        ("about 8:00", "2026-11-28 08:00"), ("29 November 8:00", "2025-11-29 08:00"),
    ],
)  # fmt: skip
def test_a_moment_is_read_as_people_write_it(said, expected):
    assert f"{read_moment(said, BERLIN, date(2026, 11, 28)):%Y-%m-%d %H:%M}" == expected


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ("03/04/2026 09:00", "can be read in two ways: day or month first; write it as '2026-MM-DD'"),
        ("31.02.2026 09:00", "is not a moment"), ("27.11.2026", "has no clock time"), ("1.12", "is not a moment"),
        ("25:00", "is not a moment"), ("13 pm", "is not a moment"), ("0am", "is not a moment"),
        ("8", "is not a moment"), ("27 Nov", "has no clock time"), ("yesterday", "has no clock time"),
        ("3/4 9:00", "can be read in two ways"),
        ("27 Nonsense 8:00", "is not a moment"), ("31 Nov 8:00", "is not a moment"),
    ],
)  # fmt: skip
def test_a_moment_that_could_be_another_is_refused_with_the_reason(said, message):
    with pytest.raises(AnswerError, match=message):
        read_moment(said, BERLIN, date(2026, 11, 28))


@pytest.mark.parametrize("said", ["0001-01-01T00:00+05:00", "9999-12-31T23:59-12:00"])
def test_a_moment_that_no_calendar_holds_in_the_jobs_zone_is_refused(said):
    with pytest.raises(AnswerError, match="is not a moment"):
        read_moment(said, BERLIN)


def told(question, said):
    asked = questionnaire().questions[question]
    return read_value(asked, by_word(asked, said), BERLIN, date(2026, 11, 28))


@pytest.mark.parametrize("said", ["OL", "o.l.", "0L", "over range", "over-range", "off scale", "infinity"])
def test_a_meter_that_shows_no_figure_counts_as_little_as_it_may_be(said):
    assert told("zone.insulation", said) == questionnaire().questions["zone.insulation"].over_range


@pytest.mark.parametrize(
    "said", [">200 Mohm", "> 200 MΩ", "at least 200 Mohm", "more than 200 megohm", "over 0.2 Gohm"]
)
def test_a_reading_beyond_the_range_counts_as_at_least_that(said):
    assert told("zone.insulation", said) == pytest.approx(200)


@pytest.mark.parametrize("said", ["40", "about 40", "9.5", "40½"])
def test_a_height_so_small_is_asked_again_with_its_unit(said):
    with pytest.raises(AnswerError, match="would be little here; write the unit, as in '430 mm', '43 cm' or '17 in'"):
        told("event.water_line", said)


@pytest.mark.parametrize(("said", "mm"), [("40 mm", 40), ("40 cm", 400), ("16 in", 406.4), ("0", 0), ("100", 100)])
def test_a_height_with_its_unit_or_of_some_size_is_taken(said, mm):
    assert told("event.water_line", said) == pytest.approx(mm)


@pytest.mark.parametrize(
    ("question", "said", "choice"),
    [
        ("safe.water_gone", "y", "yes"), ("safe.water_gone", "NO", "no"), ("safe.water_gone", "2", "no"),
        ("safe.upstream", "yes", "locked"), ("safe.upstream", "switched off", "off"), ("safe.upstream", "n", "no"),
        ("scope.fuel", "electric", "electric"),
    ],
)  # fmt: skip
def test_a_choice_is_named_by_its_number_or_its_first_words(question, said, choice):
    assert told(question, said) == choice


@pytest.mark.parametrize("said", ["yesterday", "no idea", "s", "9", "yes no"])
def test_words_that_no_choice_begins_with_name_none(said):
    with pytest.raises(AnswerError, match="is none of these lines; expected"):
        told("safe.upstream", said)


NOON = datetime(2026, 11, 28, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize("day", ["0001-01-01", "1962-12-31", "2016-11-26", "2026-11-29", "2031-01-01", "9999-12-31"])
@pytest.mark.parametrize("question", ["event.water_in", "event.water_out"])
def test_water_that_is_still_to_come_or_that_nobody_can_tell_of_is_refused(question, day):
    asked, today = questionnaire().questions[question], NOON.date()

    with pytest.raises(AnswerError, match=r"has not come yet; it is 2026-11-28|cannot be right here; expected a day"):
        read_value(asked, f"{day} 09:00", BERLIN, today, now=NOON)
    assert read_value(asked, "2026-11-28 13:05", BERLIN, today, now=NOON)


@pytest.mark.parametrize(("said", "minutes"), [("13:05", 5), ("13:10", 10), ("13:11", 0), ("23:30", 0)])
def test_a_time_later_today_has_not_come_but_for_what_clocks_differ(said, minutes):
    """It is one o'clock in Berlin; ten minutes are this project's own."""
    asked = questionnaire().questions["event.water_out"]

    if minutes:
        assert read_value(asked, said, BERLIN, NOON.date(), now=NOON)
    else:
        with pytest.raises(AnswerError, match=f"{said} CET has not come yet; it is 2026-11-28 13:00 CET"):
            read_value(asked, said, BERLIN, NOON.date(), now=NOON)


@pytest.mark.parametrize(
    ("said", "taken"), [("2026", True), ("1920", True), ("2027", False), ("2062", False), ("1895", False)]
)
def test_a_kiln_is_built_in_a_year_that_has_come(said, taken):
    asked = questionnaire().questions["identity.year"]

    if taken:
        assert read_value(asked, said, BERLIN, now=NOON) == int(said)
    else:
        with pytest.raises(AnswerError, match="expected a year from 1920 to 2026"):
            read_value(asked, said, BERLIN, now=NOON)


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


@pytest.mark.parametrize("text", ["3 ft 14 in", "3 ft 12 in", "1 h 60 min", "1 m 120 cm"])
def test_as_much_of_the_smaller_unit_as_makes_one_of_the_greater_is_a_slip(text):
    with pytest.raises(AnswerError):
        read_quantity(text, "hour" if "min" in text else "mm")
