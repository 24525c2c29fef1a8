"""A chamber that is hot while nothing of its own is to be on: off at once, whatever band its day has."""

from dataclasses import replace
from datetime import timedelta

import pytest

from recover.commands.log_command import heat_waited
from recover.interview.logbook import LogBook
from recover.job.folder import open_job
from recover.job.journal import Journal, utc_now
from recover.plan.kinds import Typed, kinds
from recover.plan.whole import Expected
from recover.report.today import KilnNow
from tests import logs, sample_plan
from tests.command import run
from tests.sample_plan import ELEMENTS, moment, nth
from tests.status_job import at, glance, opened, own, own_round, read, suspended
from tests.test_plan_papers import found

FIRST = sample_plan.by_own().days[0]
AT_OPENING = Expected(what="insulation", place=ELEMENTS, at=FIRST.attended_from, unit="MΩ", low=1.0)
DAY = replace(FIRST, readings=(AT_OPENING, *FIRST.readings))
OWN = sample_plan.by_own(days=(DAY, *sample_plan.by_own().days[1:]))
ENTRY = ("insulation", 2.0, "MΩ", 8.0)


@pytest.fixture
def job(tmp_path):
    return logs.write(tmp_path / "job", OWN)


def answered(job, *lines, plan=OWN, waits=False):
    """Write lines of the log, each of an hour of the first day; return what was said of the last."""
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", plan, by="A", waits=lambda _: waits)
        for what, value, unit, hour in lines:
            kept = book.write(kinds()[what], Typed(value=value, unit=unit), at=moment(nth(1), hour))
    return kept.answer


def chamber(degc, hour=12.0):
    return "chamber", degc, "°C", hour


def test_a_hot_chamber_on_a_day_that_waits_is_off_now_at_its_switch(job):
    said = answered(job, ENTRY, chamber(60), waits=True)
    assert said.stops
    assert said.lines[0].startswith("STOP, hands off. 60 °C: nothing of its own is to be on now")
    assert said.lines[1].startswith(f"Off: {DAY.off_switch.rstrip('.')}")


def test_on_a_day_that_waits_for_nothing_it_is_what_was_set(job):
    assert not answered(job, ENTRY, chamber(60)).stops


@pytest.mark.parametrize("before", [(), (("insulation", 0.5, "MΩ", 8.0),)])
def test_own_heat_before_its_insulation_is_at_the_entry_is_off_now(job, before):
    assert answered(job, *before, chamber(60)).stops


def test_insulation_that_was_read_again_at_the_entry_opens_it_and_a_dip_while_it_warms_shuts_nothing(job):
    assert not answered(job, ("insulation", 0.5, "MΩ", 7.9), ENTRY, chamber(60)).stops
    assert not answered(job, ("insulation", 0.6, "MΩ", 11.0), chamber(60, 12.1)).stops


def test_a_chamber_as_warm_as_its_room_is_no_heat(job):
    assert not answered(job, chamber(18), waits=True).stops


def test_what_a_way_from_outside_makes_of_it_is_no_heat_of_its_own(job):
    before = replace(sample_plan.planned().days[0], top_degc=55.0, attended_from=None)
    warm = replace(OWN, days=(before, *OWN.days))
    assert not answered(job, chamber(60), plan=warm, waits=True).stops


def test_a_chamber_that_cools_after_a_stop_is_none_again_and_one_that_climbs_is(job):
    """The first reading after it tells how hot it is, and the others are held against that."""
    assert answered(job, ENTRY, chamber(50, 10), ("insulation", 0.05, "MΩ", 10.5)).stops
    assert not answered(job, chamber(52, 10.6), waits=True).stops
    assert not answered(job, chamber(45, 11.5), waits=True).stops
    assert answered(job, chamber(57, 12.5), waits=True).stops


def test_its_own_elements_wait_for_a_hold_point_a_plan_that_is_overtaken_and_one_that_was_made_before():
    def waits(of, plan=None, **more):
        look = glance(of, plan or own(), at(1, 10), *own_round(), **more)
        return KilnNow(look=look, plan=look.plan, kiln=look.plan.kilns[0], given=look.plan.kilns[0].days[0]).heat_waits

    assert not waits(opened())
    assert waits(suspended())
    assert waits(found())
    assert waits(opened(), changed=["the wall"])
    assert waits(opened(), own(gate_open=False))


def test_the_screen_says_it_before_anything_else():
    hot = read("chamber", 60.0, at(1, 12), details={"unheated": 35.0})
    look = glance(opened(), own(), at(1, 12.1), hot)
    assert look.kilns[0].stopped.stop.why == "unheated"
    assert not look.kilns[0].goes


def test_the_command_says_it_of_a_job_whose_own_heat_nobody_released(job):
    done = run("log", job, "--read", "chamber=60", "--at", logs.TEN)
    assert "STOP, hands off. 60 °C: nothing of its own is to be on now" in done.stdout
    assert "Stop, hands off: Chamber 60 °C" in " ".join(done.stdout.split())


def test_whichever_of_a_round_is_typed_first_its_stop_closes_no_heat_for_the_others(job, monkeypatch):
    """Of one minute nothing tells which was read first; a reading ten minutes later comes after the stop."""
    ten = utc_now() + timedelta(minutes=10)
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", OWN, by="A")
        book.write(kinds()["stopped"], Typed(word="rcd_trip"), at=ten)
    seen = []

    def waits(look):
        seen.append([one.what for one in look.log])
        return bool(look.log)

    monkeypatch.setattr(KilnNow, "heat_waits", property(waits))
    assert not heat_waited(job, "kiln/1", ten)
    assert heat_waited(job, "kiln/1", ten + timedelta(minutes=10))
    assert seen == [[], ["stopped"]]
