"""A day that may have no date has none on any paper; one on which nothing is to be set has no hour and no °C either."""

import csv
import io
import json
import re
from dataclasses import replace
from datetime import timedelta
from functools import cache

import pytest

from recover.judged.standing import Unmet
from recover.report import calendar
from recover.report.day import as_it_may_be_set, dated, day_text, day_view, may_be_told, unset
from recover.report.paper import Numbered
from recover.report.plan_json import json_text
from recover.report.plan_section import plan_section
from recover.report.plan_table import csv_text
from recover.report.plan_text import text_lines
from recover.report.words import words
from tests import sample_plan
from tests.printed import folded
from tests.test_plan_papers import closed, events, found, opened, sheet, shut, text_of, unreleased

KILNS = {
    "outside": sample_plan.planned, "own": sample_plan.by_own, "by hand": sample_plan.by_hand,
    "outside, its gate open": lambda: sample_plan.planned(gate_open=True),
    "in shifts": lambda: sample_plan.by_own(days=(in_shifts(),)),
}  # fmt: skip
STATES = {
    "own heat closed": found, "nothing released": unreleased, "all released": opened,
    "own heat ready": lambda: opened(by=()), "not isolated": lambda: closed("isolated"),
    "no consent": lambda: closed("consent"), "sewage": lambda: shut("enclosure"),
    "sewage, all released": lambda: shut("own", opened()),
    "its release ends": lambda: opened(until=sample_plan.moment(sample_plan.nth(1), 12)),
    "live again": lambda: live(opened()),
}  # fmt: skip
EACH = [(kiln, state) for kiln in KILNS for state in STATES]
SHOWN = (1, 3, 5, 10, 12)
"""The days of which the sheet and the terminal are looked at: boards out, from outside, nobody there, own heat."""

CLOCK = re.compile(r"\d\d:\d\d|°[CF]")


def live(of):
    """The kiln may be live since: work inside is suspended."""
    return replace(of, holds=tuple(
        replace(hold, suspended="The kiln may be live.") if hold.point.id == "isolated" else hold for hold in of.holds
    ))  # fmt: skip


def in_shifts():
    """A day of its own heat that is attended until the next one opens."""
    day = sample_plan.own_days()[0]
    later = timedelta(hours=22, minutes=28)
    return replace(day, attended_to=day.attended_from + timedelta(days=1), programme_ends=day.attended_from + later)


def cases():
    for name, state in EACH:
        yield name, KILNS[name](), state, STATES[state]()


@cache
def papers(name, state):
    """All that is printed of a plan: the report, the document, the table, the calendar, each day by the kiln and on a
    terminal."""
    kiln, of = KILNS[name](), STATES[state]()
    plan = sample_plan.job_plan(kiln)
    days = [day.number for day in kiln.days if day.number in SHOWN]
    section = plan_section(of, plan, Numbered())
    return {
        "report": text_of({key: value for key, value in section["kilns"][0].items() if key != "so_far"}),
        "json": json.dumps(json.loads(json_text(of, plan))["kilns"]), "csv": csv_text(of, plan),
        "calendar": dates_of(plan, of),
        **{f"sheet {day}": text_of(sheet(kiln, of, day=day)) for day in days},
        **{f"terminal {day}": folded(" ".join(text_lines(of, plan, day=day))) for day in days},
    }  # fmt: skip


def dates_of(plan, of):
    """The dates of all events, as they are written on paper; nothing where the calendar is refused."""
    try:
        return " ".join(day_text(event.decoded("dtstart")) for event in events(plan, of))
    except calendar.PaperError:
        return ""


def as_written(on):
    """A date as any paper writes it."""
    return re.compile(rf"{on.isoformat()}|\b{on.day} {on:%b}\b|\b{on.day} to \d+ {on:%b}\b")


@pytest.mark.parametrize(("name", "state"), EACH)
def test_no_paper_prints_the_date_of_a_day_that_has_none(name, state):
    kiln, of = KILNS[name](), STATES[state]()
    undated = [day for day in kiln.days if not dated(of, kiln, day)]
    leaks = [(paper, day.number) for paper, text in papers(name, state).items() for day in undated
             if as_written(day.date).search(text)]  # fmt: skip

    assert leaks == []


@pytest.mark.parametrize(("name", "state"), EACH)
def test_no_phase_has_a_date_after_a_day_that_has_none(name, state):
    """The proof is planned by no days of its own; it once was to be fired on the dates of a plan that was closed."""
    kiln, of = KILNS[name](), STATES[state]()
    shown = [phase["dates"] for phase in plan_section(of, sample_plan.job_plan(kiln), Numbered())["kilns"][0]["phases"]]
    (written,) = json.loads(json_text(of, sample_plan.job_plan(kiln)))["kilns"]

    if not all(dated(of, kiln, day) for day in kiln.days):
        assert shown[-1] == ""
    for path in written["paths"]:
        for phase, planned in zip(path["phases"], next(
            one.phases for one in kiln.paths if one.id == path["id"]), strict=True):  # fmt: skip
            assert (phase["last"] is not None) == may_be_told(of, kiln, planned.last)
            assert (phase["first"] is not None) == may_be_told(of, kiln, planned.first)


@pytest.mark.parametrize(("name", "state"), EACH)
def test_no_paper_prints_an_hour_or_a_temperature_of_a_day_on_which_nothing_is_to_be_set(name, state):
    kiln, of = KILNS[name](), STATES[state]()
    plan = sample_plan.job_plan(kiln)
    table = list(csv.DictReader(io.StringIO(csv_text(of, plan))))
    (written,) = json.loads(json_text(of, plan))["kilns"]
    for day in (day for day in kiln.days if day.number in SHOWN and unset(of, kiln, day)):
        view, by_kiln = day_view(of, plan, kiln, day), sheet(kiln, of, day=day.number)
        rows = [text_of([value for key, value in row.items() if key != "note"]) for row in table
                if row["day"] == str(day.number)]  # fmt: skip
        of_json = {key: value for key, value in written["days"][day.number - 1].items() if key != "numbers"}
        text = folded(" ".join(text_lines(of, plan, day=day.number))).split(f"Day {day.number} of")[1]

        assert not CLOCK.search(text_of([one for key, one in view.items() if key not in ("numbers", "beside")]))
        assert not CLOCK.search(" ".join(rows))
        assert not CLOCK.search(json.dumps(of_json))
        assert not CLOCK.search(re.split("own elements |First heating", text)[0])
        assert by_kiln["steps"] == by_kiln["set_today"] == by_kiln["grids"] == by_kiln["once"] == []
        assert not {day.top_degc, day.cutout_degc} & {one.value for one in as_it_may_be_set(of, kiln, day).numbers}


def test_there_is_a_day_without_a_date_and_one_on_which_nothing_is_set_among_these():
    cases_of = [(dated(of, kiln, day), unset(of, kiln, day)) for _, kiln, _, of in cases() for day in kiln.days]

    assert {*cases_of} >= {(True, False), (False, False), (False, True)}
    assert (True, True) not in cases_of


def test_every_paper_tells_alike_what_is_set_on_a_day_that_waits_for_its_lock():
    """It is written down for those who release it, and has no date: the sheet once had figures that no table had."""
    kiln, of = sample_plan.planned(), unreleased()
    row = next(csv.DictReader(io.StringIO(csv_text(of, sample_plan.job_plan(kiln)))))

    assert (row["date"], row["hottest °C"], row["cut-out °C"]) == ("", "50.0", "60.0")
    for paper in ("report", "sheet 1", "terminal 1"):
        assert all(degc in papers("outside", "nothing released")[paper] for degc in ("50 °C", "60 °C"))


def test_the_end_of_a_first_day_that_has_no_date_is_not_told_beside_the_end_of_its_release():
    until = sample_plan.moment(sample_plan.nth(10), 12)
    of = replace(opened(until=until), holds=tuple(
        replace(hold, unmet=(Unmet("a lock"),)) if hold.point.id == "isolated" else hold
        for hold in opened(until=until).holds
    ))  # fmt: skip
    told = plan_section(of, sample_plan.job_plan(sample_plan.planned(gate_open=True)), Numbered())["kilns"][0]["hold"]

    assert "at the latest until" in told
    assert "ends after that" not in told


def test_without_a_date_what_ends_on_the_next_day_says_so():
    """In shifts, 08:00 to 08:00 was once attended for no hour at all."""
    kiln = sample_plan.planned(days=(replace(sample_plan.outside_days()[0], **{
        name: getattr(in_shifts(), name) for name in ("attended_from", "attended_to", "programme_ends")
    }),))  # fmt: skip
    (day,) = json.loads(json_text(unreleased(), sample_plan.job_plan(kiln)))["kilns"][0]["days"]
    row = next(csv.DictReader(io.StringIO(csv_text(unreleased(), sample_plan.job_plan(kiln)))))

    assert (day["attended_from"], day["attended_to"]) == ("08:00", "08:00 next day")
    assert day["programme_ends"] == "06:28 next day"
    assert row["attended to"] == "08:00 next day"


def test_days_that_are_counted_from_their_release_anyway_are_not_numbered_twice():
    outside, own, _ = plan_section(unreleased(), sample_plan.job_plan(), Numbered())["kilns"][0]["phases"]

    assert {(row["day"], row["when"]) for row in outside["days"][:1]} == {("Day 1", "after release")}
    assert own["days"][0]["when"] == "Days 1 to 2 after release"
    assert words().plan.calendar.after_release(days="Day 3") == "Day 3 after release"
