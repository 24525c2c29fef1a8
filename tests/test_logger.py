"""A data logger's file as lines of the log: its own columns, decimal commas, times. All of it, or nothing."""

import json
import random
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from recover.base.errors import AnswerError, DataError
from recover.interview.columns import columns
from recover.interview.from_logger import read_clock, read_logger
from tests import logs, sample_plan
from tests.command import run

BAD = Path(__file__).parent / "bad"
ZONE, NOW = ZoneInfo("Europe/London"), datetime(2026, 5, 1, tzinfo=UTC)
COLUMNS = "Zeit=time, T1=casing@wall, RH=exhaust"
HEAD = "Zeit;T1;RH\n"


@pytest.fixture
def job(tmp_path):
    return logs.write(tmp_path / "job")


def written(tmp_path, text, encoding="utf-8"):
    file = tmp_path / "logger.csv"
    file.write_bytes(text.encode(encoding))
    return file


def read(file, said=COLUMNS, *, between=None, fahrenheit=False, now=NOW):
    expected = [day.readings for day in sample_plan.planned().days]
    return read_logger(file, columns(said, expected), zone=ZONE, now=now, between=between, fahrenheit=fahrenheit)


def values(file, said=COLUMNS, **more):
    return [(one.kind.id, f"{one.at:%d %H:%M:%S}", one.typed.value) for one in read(file, said, **more).lines]


# ---------------------------------------------------------------------------------------- how loggers write


@pytest.mark.parametrize(("text", "said"), [
    ("Zeit;T1;RH\n14.04.2026 10:00:05;41,5;21\n", COLUMNS),
    ("Zeit\tT1\tRH\n2026-04-14T10:00:05\t41.5\t21\n", COLUMNS),
    ('"Zeit","T1","RH"\n"2026-04-14 10:00:05","41,5","21"\n', COLUMNS),
    ("Zeit;T1;RH\n2026-04-14T09:00:05+00:00;41,5;21\n", COLUMNS),
    ("Logger 7\nSerial;12;34;56\n\nZeit;T1;RH\n14/04/2026 10:00:05;41,5 °C;21 %\n", COLUMNS),
    ("Date,Time,T1 (°F),RH\n4/14/2026,10:00:05 AM,106.7,21\n",
     "Date=date, Time=clock, T1 (°F)=casing@wall, RH=exhaust"),
    ("T;T;T\n14.04.2026 10:00:05;41,5;21\n", "#1=time, #2=casing, #3=exhaust"),
    ('Zeit;"T1, wall";RH\n04.14.2026 10:00:05;41,5;21\n'.replace("04.14", "14.04"),
     'Zeit=time, "T1, wall=casing@wall", RH=exhaust'),
])  # fmt: skip
def test_rows_are_read_as_the_logger_wrote_them(tmp_path, text, said):
    assert values(written(tmp_path, text), said) == [
        ("casing", "14 10:00:05", pytest.approx(41.5)), ("exhaust", "14 10:00:05", 21.0),
    ]  # fmt: skip


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_text_in_the_ways_that_loggers_write_it(tmp_path, encoding):
    text = "Zeit;T1 (°C);RH\n14.04.2026 10:00:05;41,5;21\n"
    assert len(values(written(tmp_path, text, encoding), "Zeit=time, T1 (°C)=casing, RH=exhaust")) == 2


def test_what_is_read_with_a_reading_stands_in_a_column_of_its_own(tmp_path):
    text = "Zeit;RT;RH\n14.04.2026 10:00:05;46,5;21\n"
    (one,) = read(written(tmp_path, text), "Zeit=time, RT=exhaust.degc, RH=exhaust").lines
    assert (one.typed.value, one.typed.details) == (21.0, {"degc": 46.5})


def test_a_channel_that_told_nothing_is_no_reading_and_it_is_said(tmp_path):
    found = read(written(tmp_path, HEAD + "14.04.2026 10:00:05;---;21\n14.04.2026 10:20:05;;22\n"))
    assert [one.kind.id for one in found.lines] == ["exhaust", "exhaust"]
    assert "1 cells hold no reading: was a probe off?" in found.says


def test_a_clock_that_was_set_back_is_noticed(tmp_path):
    found = read(written(tmp_path, HEAD + "14.04.2026 10:20:00;41,5;21\n14.04.2026 09:00:00;41,5;21\n"))
    assert "line 3: the logger's clock goes back from 2026-04-14 10:20" in found.says[0]


def test_rows_before_and_after_the_days_of_the_plan_are_left_out_and_counted(tmp_path):
    between = datetime(2026, 4, 14, 7, 30, tzinfo=ZONE), datetime(2026, 4, 14, 20, tzinfo=ZONE)
    found = read(
        written(tmp_path, HEAD + "13.04.2026 10:20:00;41,5;21\n14.04.2026 10:00:00;41,5;21\n"), between=between
    )
    assert len(found.lines) == 2
    assert "1 rows lie before or after the days of the plan and are left out." in found.says


def test_of_ten_minutes_the_first_row_is_kept_and_what_rose_in_between(tmp_path):
    rows = [f"14.04.2026 10:{n // 60:02d}:{n % 60:02d};{60 if n == 333 else 41},0;21\n" for n in range(1200)]
    assert values(written(tmp_path, HEAD + "".join(rows)), "Zeit=time, T1=casing") == [
        ("casing", "14 10:00:00", 41.0), ("casing", "14 10:05:33", 60.0), ("casing", "14 10:10:00", 41.0),
    ]  # fmt: skip


def channel(said, *places):
    """Return what a column of a logger is read as, where days expect a casing at these places."""
    casing = next(one for day in sample_plan.planned().days for one in day.readings if one.what == "casing")
    there = [[replace(casing, place=place) for place in day] for day in places]
    (found,) = columns(f"Zeit=time, {said}", there).channels
    return found.place, found.detail, found.unit


@pytest.mark.parametrize(("said", "read"), [
    ("T1=casing@wall", ("wall, low down", "", "")),
    ('"T1=casing@wall, low down"', ("wall, low down", "", "")),
    ('"T1=casing@wall, low down °F"', ("wall, low down", "", "°F")),
    ("T1=casing@lid by the plug deg F", ("lid by the plug", "", "deg F")),
    ("T1=casing@lid by", ("lid by the plug", "", "")),
    ("T1=casing °F", None),
])  # fmt: skip
def test_a_place_of_a_column_may_hold_blanks_and_commas(said, read):
    two = ("wall, low down", "lid by the plug")
    if read is None:
        with pytest.raises(DataError, match="which place"):
            channel(said, two)
    else:
        assert channel(said, two) == read


def test_a_column_needs_no_place_where_each_day_has_one_alone():
    """From outside air is read where it leaves the enclosure, of its own elements where it leaves the kiln."""
    assert channel("T1=casing", ("wall",), ("lid",)) == ("", "", "")
    assert channel("T1=casing", ("wall",), ("wall",)) == ("wall", "", "")
    found = columns("Zeit=time, RT=exhaust@where it leaves.degc F, T1=casing", []).channels[0]
    assert (found.place, found.detail, found.unit) == ("where it leaves", "degc", "F")


# ---------------------------------------------------------------------------------------- what cannot be read


FAULTS = {
    "many-faults": (5, ["line 3: T1: 'warm'", "line 4: ends after 1 of 3 columns", "line 5: '31.04.2026",
                        "line 6: T1: '900,0' cannot be right for casing; expected -30 to 400 °C"]),
    "empty": (1, ["is empty"]),
    "spreadsheet": (1, ["is a spreadsheet and no text; save it as CSV"]),
    "no-text": (1, ["is no text"]),
    "two-ways": (1, ["line 2: '03/04/2026' can be read in two ways; add dmy or mdy"]),
    "column-twice": (1, ["line 1: has the column 't1' twice; name it by its number, as #3"]),
    "to-come": (1, ["line 2: 2036-04-14 10:00 BST has not come yet; is the logger's clock set?"]),
    "comma-two-ways": (1, ["line 2: T1: '1,234' can be read in two ways"]),
    "other-columns": (1, ["has no line with the columns T1; it has Zeit, T9, RH"]),
    "open-quote": (1, ["T1"]),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTS)
def test_a_file_that_cannot_be_read_is_refused_in_sentences(job, name):
    before = (job / "journal.jsonl").read_bytes()
    done = run("log", job, "--csv", BAD / f"logger-{name}.csv", "--columns", COLUMNS)
    assert done.returncode == 1
    for said in FAULTS[name][1]:
        assert said in done.stderr
    assert "nothing was kept" in done.stderr or len(done.stderr.splitlines()) == FAULTS[name][0]
    assert (job / "journal.jsonl").read_bytes() == before


def test_every_bad_file_is_tried():
    assert {file.stem.removeprefix("logger-") for file in BAD.glob("logger-*.csv")} == FAULTS.keys()


@pytest.mark.parametrize(("said", "why"), [
    ("T1=casing", "which column is the time"), ("Zeit=time", "names no reading"), ("Zeit", "as in 'T1=casing@wall'"),
    ("Zeit=time, T1=pressure", "is nothing that is logged"), ("Zeit=time, T1=stopped", "is no reading of a logger"),
    ("Zeit=time ymd, T1=casing", "is no order of a date"), ("Zeit=time, RT=exhaust.volts", "expected exhaust.degc"),
    ("Zeit=date, T1=casing", "which column is the time"),
])  # fmt: skip
def test_what_is_wrong_with_how_columns_are_said(said, why):
    with pytest.raises(DataError, match=why):
        columns(said, [])


@pytest.mark.parametrize(("said", "fahrenheit", "why"), [
    ("Zeit=time, T1=casing bar", False, "'bar' is no unit of casing"),
    ("Zeit=time, T1=casing", True, "does not say in which unit 'T1' is"),
    ("Zeit=time, T1=insulation", False, "does not say in which unit 'T1' is"),
])  # fmt: skip
def test_a_unit_that_is_not_told_or_is_another_is_refused(tmp_path, said, fahrenheit, why):
    with pytest.raises(DataError, match=why):
        read(written(tmp_path, HEAD + "14.04.2026 10:00:05;41,5;21\n"), said, fahrenheit=fahrenheit)
    unit = "Zeit=time, T1=casing °F"
    assert values(written(tmp_path, HEAD + "14.04.2026 10:00:05;104;21\n"), unit, fahrenheit=fahrenheit)[0][2] == 40.0


WHOLE = '\ufeffLogger 7\nZeit;T1;RH\n14.04.2026 10:00:05;41,5;21\n\n14/04/2026 10:10:05;"42,5";---\n'.encode()


def refused(file):
    """Return the sentences in which a file is refused; its name where it is read."""
    try:
        read(file)
    except DataError as error:
        return str(error)
    return str(file)


ROW = "14.04.2026 10:00:05;41,5;21\n"
HOSTILE = {
    "its decimals parted as its columns": ("Zeit,T1,RH\n14.04.2026 10:00:05,41,5,21\n", "are its decimals"),
    "a head alone": (HEAD, "has a head and no rows"),
    "UTF-16 without its mark": ((HEAD + ROW).encode("utf-16-le"), "is no text"),
    "NULs where the card was empty": ((HEAD + ROW).encode() + b"\0" * 4096, "is no text"),
    "nothing but blanks": (" \n\t\n", "is empty"),
    "a quote that is never closed": (HEAD + '"14.04.2026 10:00:05;41,5;21\n', "ends after 1"),
    "a cell without end": (HEAD + '"' + "9" * 200_000 + '";41,5;21\n', "ends after 1"),
    "a head without end": ('"' + "Z" * 200_000 + '";T1;RH\n' + ROW, "has no line with the columns"),
    "a million columns": (";".join(f"c{n}" for n in range(1_000_000)) + "\n", "and 999980 more"),
    "days and months in two orders": ("Zeit;T1;RH\n14/04/2026 10:00;41;21\n04/14/2026 10:10;41;21\n", "is no moment"),
    "a moment that no clock shows": (HEAD + "14.04.2026 25:00:00;41,5;21\n", "is no moment"),
    "the last year that there is": (HEAD + "9999-12-31 23:59:59;41,5;21\n", "has not come yet"),
    "the first year that there was": (HEAD + "0001-01-01 00:00:00;41,5;21\n", "is the logger's clock set?"),
    "a clock without its battery": (HEAD + "1970-01-01 00:00:10;41,5;21\n", "is the logger's clock set?"),
    "a time that was left out in spring": (HEAD + "29.03.2026 01:30:00;41,5;21\n", "the clocks went forward"),
    "thousands parted as decimals": (HEAD + "14.04.2026 10:00:05;1.041,5;21\n", "line 2: T1"),
    "no end to a number": (HEAD + "14.04.2026 10:00:05;1e400;21\n", "line 2: T1"),
    "a probe that is off": (HEAD + "14.04.2026 10:00:05;-999,9;21\n", "cannot be right for casing"),
    "per cent beyond all": (HEAD + "14.04.2026 10:00:05;41,5;210\n", "cannot be right for air that leaves"),
    "lines without end that cannot be read": (HEAD + "x;y;z\n" * 5000, "more"),
    "a web page": ("<html>;T1\n<body>\n", "has no line with the columns"),
    "a column number past all": ("#1;T1;RH\n" + ROW, "has no line with the columns"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_whatever_a_logger_wrote_is_refused_in_a_sentence(tmp_path, name):
    content, why = HOSTILE[name]
    file = tmp_path / "logger.csv"
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    said = refused(file)
    assert why in said
    assert len(said) < 10_000


def test_the_hour_that_comes_twice_in_autumn_is_read_in_its_order(tmp_path):
    """The clocks go back at two, to one, on the 25th of October 2026."""
    rows = ("00:30", "01:00", "01:30", "01:00", "01:30", "02:00")
    text = HEAD + "".join(f"25.10.2026 {clock}:00;41,5;21\n" for clock in rows)
    found = read(written(tmp_path, text), "Zeit=time, T1=casing", now=datetime(2026, 11, 1, tzinfo=UTC))
    hours = [(one.at.timestamp() - found.lines[0].at.timestamp()) / 3600 for one in found.lines]
    assert hours == [0, 0.5, 1, 1.5, 2, 2.5]
    assert "this hour comes twice" in found.says[0]


def test_a_row_that_stands_twice_is_kept_once_and_two_readings_of_a_moment_are_said(tmp_path):
    assert len(read(written(tmp_path, HEAD + ROW + ROW), "Zeit=time, T1=casing").lines) == 1
    found = read(written(tmp_path, HEAD + ROW + ROW.replace("41,5", "61,5")), "Zeit=time, T1=casing")
    assert "T1 tells 41.5 and 61.5 of the same moment" in found.says[0]


def test_the_last_line_that_may_lack_figures_is_left_out_and_that_is_said(tmp_path):
    """21 % that was cut off after its first figure would be 2 %."""
    found = read(written(tmp_path, HEAD + ROW + ROW.replace("10:00", "10:20")[:-2]))
    assert [one.typed.value for one in found.lines] == [41.5, 21.0]
    assert "line 3, the last, has no end" in found.says[0]


@pytest.mark.parametrize("half", ["14.04.2026 10:20:05;41", "14.04.2026 10:2", "14", "14.04.2026 10:20:05;41,5;2;"])
def test_one_half_written_last_row_refuses_no_file(tmp_path, half):
    found = read(written(tmp_path, HEAD + ROW + half))
    assert [one.typed.value for one in found.lines] == [41.5, 21.0]
    assert "line 3, the last, has no end" in found.says[0]


@pytest.mark.parametrize("half", ["14.04.2026 10:20:05;41", "14.04.2026 10:2", "14"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\n\n"])
def test_a_last_row_that_is_cut_short_before_its_line_end_is_left_out_and_said(tmp_path, half, end):
    found = read(written(tmp_path, HEAD + ROW + half + end))
    assert [one.typed.value for one in found.lines] == [41.5, 21.0]
    assert "line 3, the last, ends after" in found.says[0]
    assert "it is left out" in found.says[0]


def test_a_last_row_shorter_than_the_one_before_it_is_left_out_though_its_mapped_columns_are_there(tmp_path):
    """Its last number may lack figures: 41 of 41,5."""
    file = written(tmp_path, HEAD + ROW + "14.04.2026 10:20:05;4\n")
    assert [one.typed.value for one in read(file, "Zeit=time, T1=casing@wall").lines] == [41.5]


def test_an_only_row_that_is_too_short_refuses_the_file(tmp_path):
    with pytest.raises(DataError, match="line 2: ends after 2 of 3 columns"):
        read(written(tmp_path, HEAD + "14.04.2026 10:20:05;41\n"))


def test_a_half_written_row_in_the_middle_does(tmp_path):
    with pytest.raises(DataError, match="line 3: ends after 1 of 3 columns"):
        read(written(tmp_path, HEAD + ROW + "14.04.2026 10:2\n" + ROW.replace("10:00", "10:20")))


def test_where_every_row_is_of_another_time_than_the_plan_the_clock_is_asked_for(job, tmp_path):
    done = run("log", job, "--csv", written(tmp_path, HEAD + "14.04.2025 10:00:00;41,5;21\n"), "--columns", COLUMNS)
    assert "did the logger's clock stand wrong?" in done.stdout


def test_cut_at_any_byte_or_with_any_byte_changed_it_is_read_or_refused_in_a_sentence(tmp_path):
    random.seed(7)
    file = tmp_path / "logger.csv"
    for place in range(len(WHOLE)):
        other = bytes([random.randrange(256)])
        for content in (WHOLE[:place], WHOLE[:place] + other + WHOLE[place + 1 :], WHOLE[:place] + other * 3000):
            file.write_bytes(content)
            assert refused(file).startswith(str(file))


# ---------------------------------------------------------------------------------------- by the command


def test_columns_are_said_once_and_rows_are_taken_once(job, tmp_path):
    file = written(tmp_path, HEAD + "14.04.2026 10:00:00;41,5;21\n14.04.2026 10:10:00;42,0;21\n")
    assert "nobody has said yet which of its columns is what: Zeit, T1, RH" in run("log", job, "--csv", file).stderr
    first = run("log", job, "--csv", file, "--columns", COLUMNS, "--by", "A. Ttendant")
    assert "kept: 4 readings; 0 were here before." in first.stdout
    assert "2 within" in first.stdout
    again = run("log", job, "--csv", file)
    assert "kept: 0 readings; 4 were here before." in again.stdout
    assert len([one for one in logs.logged(job) if one.what != "columns"]) == 4
    assert len([one for one in logs.logged(job) if one.what == "columns"]) == 1


def test_a_row_without_a_place_stands_at_that_of_its_day(tmp_path):
    """The second day reads the air at another place than the first."""
    kiln = sample_plan.planned()
    second = kiln.days[1]
    other = tuple(replace(one, place="out of the lid") if one.what == "exhaust" else one for one in second.readings)
    job = logs.write(
        tmp_path / "job", replace(kiln, days=(kiln.days[0], replace(second, readings=other), *kiln.days[2:3]))
    )
    file = written(tmp_path, HEAD + "14.04.2026 10:00:00;41,5;21\n15.04.2026 10:00:00;42,0;21\n")
    done = run("log", job, "--csv", file, "--columns", "Zeit=time, RH=exhaust")
    assert done.returncode == 0, done.stderr
    assert [one.place for one in logs.logged(job) if one.what == "exhaust"] == [
        "where the air leaves the enclosure", "out of the lid",
    ]  # fmt: skip


def test_a_clock_that_stood_wrong_is_told_once_and_each_line_says_so(job, tmp_path):
    """What was read in by the wrong clock is taken back first; then every row comes again, an hour on."""
    file = written(tmp_path, HEAD + "14.04.2026 10:00:00;41,5;\n14.04.2026 11:00:00;41,5;\n")
    run("log", job, "--csv", file, "--columns", COLUMNS)
    refused = run("log", job, "--csv", file, "--clock", "60 min slow")
    assert "stands in the log by another clock already, with 2 readings" in refused.stderr
    lines = [one.line for one in logs.logged(job) if one.what == "casing"]
    assert f"--take-back {lines[0]}-{lines[-1]} --note WHY" in refused.stderr
    assert run("log", job, "--take-back", f"{lines[0]}-{lines[-1]}", "--note", "Its clock stood slow").returncode == 0
    done = run("log", job, "--csv", file, "--clock", "60 min slow")
    assert "The logger's clock stood 60 min slow" in done.stdout
    assert "kept: 2 readings; 0 were here before." in done.stdout
    kept = [one for one in logs.logged(job) if one.what == "casing"]
    assert [f"{one.measured:%H:%M}" for one in kept] == ["11:00", "12:00"]
    assert {one.said for one in kept} == {"the logger's clock stood 60 min slow: its times are moved on by so much"}
    assert "kept: 0 readings; 2 were here before." in run("log", job, "--csv", file, "--clock", "1 h slow").stdout


@pytest.mark.parametrize(("said", "minutes"), [("60 min slow", 60), ("1 h fast", -60), ("2 days slow", 2880)])
def test_how_a_clock_stood_is_read_with_its_unit(said, minutes):
    assert read_clock(said) == timedelta(minutes=minutes)


@pytest.mark.parametrize("said", ["60", "60 min", "slow", "60 slow", "-5 min slow", "900 weeks slow"])
def test_how_a_clock_stood_is_refused_in_a_sentence(said):
    with pytest.raises(AnswerError, match="expected"):
        read_clock(said)


def test_a_row_that_was_taken_back_does_not_come_again(job, tmp_path):
    file = written(tmp_path, HEAD + "14.04.2026 10:00:00;41,5;\n")
    run("log", job, "--csv", file, "--columns", COLUMNS)
    run("log", job, "--take-back", next(one.line for one in logs.logged(job) if one.what == "casing"))
    assert "kept: 0 readings" in run("log", job, "--csv", file).stdout


def test_a_file_says_at_which_row_the_day_should_have_ended(job, tmp_path):
    file = written(tmp_path, HEAD + "14.04.2026 10:00:00;41,5;\n14.04.2026 12:00:00;57;\n14.04.2026 14:00:00;41,5;\n")
    done = run("log", job, "--csv", file, "--columns", COLUMNS)
    assert "2 within, 1 beyond a stop" in done.stdout
    assert "2026-04-14 12:00 STOP, hands off. 57 °C: beyond 55 °C" in done.stdout


def test_json_tells_each_row(job, tmp_path):
    file = written(tmp_path, HEAD + "14.04.2026 10:00:00;41,5;21\n")
    done = run("log", job, "--csv", file, "--columns", COLUMNS, "--json")
    assert [(one["what"], one["lies"]) for one in json.loads(done.stdout)["kept"]] == [
        ("casing", "within"), ("exhaust", "within"),
    ]  # fmt: skip


def test_a_hundred_thousand_rows_are_thinned_and_taken_in(job, tmp_path):
    random.seed(1)
    first = datetime(2026, 4, 14, 8)  # noqa: DTZ001 - as the logger writes it
    rows = "".join(
        f"{first + timedelta(seconds=5 * n):%d.%m.%Y %H:%M:%S};{41 + random.random():.1f};21\n" for n in range(100_000)
    )
    done = run("log", job, "--csv", written(tmp_path, HEAD + rows), "--columns", COLUMNS)
    assert "200000 readings, " in done.stdout
    assert len(logs.logged(job)) < 2500
