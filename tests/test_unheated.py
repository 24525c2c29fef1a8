"""A chamber that is hot while nothing of its own is to be on: off at once, whatever band its day has."""

from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace

import pytest

from recover.asked.told import Answer, Logged
from recover.base.errors import AnswerError
from recover.commands.log_command import heat_waited
from recover.controller.programme import ProgrammeRun
from recover.interview.logbook import LogBook, ToLog
from recover.job.folder import open_job
from recover.job.journal import Journal, utc_now
from recover.judged.dry import CUTOUT
from recover.judged.runs import HeatRelease, releases
from recover.judged.signatures import Signature
from recover.plan.kinds import Typed, kinds
from recover.plan.log import expected_at
from recover.plan.whole import Expected, TimedStep
from recover.report.today import KilnNow
from tests import logs, sample_plan
from tests.command import run
from tests.sample_plan import ELEMENTS, moment, nth
from tests.status_job import at, glance, opened, own, own_round, read, suspended
from tests.test_plan_papers import found, signed

FIRST = sample_plan.by_own().days[0]
AT_OPENING = Expected(what="insulation", place=ELEMENTS, at=FIRST.attended_from, unit="MΩ", low=1.0)
DAY = replace(FIRST, readings=(AT_OPENING, *FIRST.readings))
OWN = sample_plan.by_own(days=(DAY, *sample_plan.by_own().days[1:]))
ENTRY = ("insulation", 2.0, "MΩ", 8.0)


@pytest.fixture
def job(tmp_path):
    return logs.write(tmp_path / "job", OWN)


def keep(job, *lines, plan=OWN, waits=False):
    """Write lines of the log of the first day, each its kind, value, unit, hour and details; return the last entry."""
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", plan, by="A", waits=lambda _: waits)
        for what, value, unit, hour, *beside in lines:
            typed = Typed(value=value, unit=unit, details=beside[0] if beside else {})
            kept = book.write(kinds()[what], typed, at=moment(nth(1), hour))
    return kept


def answered(job, *lines, **more):
    """Return what was said of the last of such lines."""
    return keep(job, *lines, **more).answer


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


def test_own_heat_on_a_day_from_outside_is_switched_off_where_the_kiln_is_and_not_at_the_heater(job):
    outside = replace(sample_plan.planned().days[0], off_switch="The plug of the heater.")
    own = replace(OWN.days[1], off_switch="The isolator of the kiln.")
    said = answered(job, chamber(300), plan=replace(OWN, days=(outside, own)))
    assert said.lines[1] == "Off: The isolator of the kiln."


def test_a_chamber_that_cools_after_a_stop_is_none_again_and_one_that_climbs_is(job):
    """The first reading after it tells how hot it is, and the others are held against that."""
    assert answered(job, ENTRY, chamber(50, 10), ("insulation", 0.05, "MΩ", 10.5)).stops
    assert not answered(job, chamber(52, 10.6), waits=True).stops
    assert not answered(job, chamber(45, 11.5), waits=True).stops
    assert answered(job, chamber(57, 12.5), waits=True).stops


TRIP = moment(nth(1), 12.5)


def after(job, word, *readings, again=None):
    """Log a stop at half past twelve on a day whose chamber was at 91 °C, then a chamber by the hour, and `again` that
    it goes on; return what is said of each reading."""
    keep(job, ENTRY, chamber(91, 12))
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", WARM, by="A")
        book.write(kinds()["stopped"], Typed(word=word), at=TRIP)
        if again:
            book.write(kinds()["again"], Typed(word="again"), at=moment(nth(1), again), note="looked at, mended")
        read = [
            book.write(kinds()["chamber"], Typed(value=degc, unit="°C"), at=moment(nth(1), hour))
            for hour, degc in readings
        ]
    return [one.answer for one in read]


BAND = [Expected(what="chamber", place="independent probe", at=moment(nth(1), hour), unit="°C", low=86.0, mid=90.0,
                 high=95.0, stop=99.0) for hour in (11, 13, 15, 17)]  # fmt: skip
WARM = sample_plan.by_own(days=(replace(DAY, readings=(AT_OPENING, *BAND)), *OWN.days[1:]))


@pytest.mark.parametrize("word", ["rcd_trip", "cutout_trip", "probe_off", "power_cut", "attendant_gone"])
def test_after_every_stop_heat_that_goes_on_is_one_however_slowly_it_climbs(job, word):
    """No reading lets the next be hotter: each is held to the lowest since, and that cools."""
    said = after(job, word, (12.6, 60.0), (14.5, 69.0), (15.5, 78.0), (16.5, 87.0))

    assert [one.stops for one in said] == [False, True, True, True]
    assert "nothing of its own is to be on now" in said[-1].lines[0]


def test_a_chamber_that_cools_no_more_hours_after_a_stop_is_heated(job):
    assert [one.stops for one in after(job, "cutout_trip", (12.6, 93.0), (17.0, 94.0))] == [False, True]
    assert [one.stops for one in after(job, "cutout_trip", (17.1, 75.0))] == [False]


def test_after_a_stop_no_band_of_the_running_day_calls_a_reading_within_or_too_cold(job):
    said = after(job, "rcd_trip", (12.6, 60.0), (12.7, 90.0))
    assert [one.against.lies for one in said] == ["unexpected", "stop"]
    assert "lags behind" not in " ".join(said[0].lines)


def test_once_it_is_logged_that_a_day_goes_on_its_band_counts_again(job):
    (said,) = after(job, "power_cut", (15.0, 90.0), again=13.0)
    assert said.lines[0].startswith("90 °C: within")


def test_rows_of_one_file_are_held_against_those_before_them_in_it(job):
    keep(job, ENTRY, chamber(91, 12))
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", WARM, by="A")
        book.write(kinds()["stopped"], Typed(word="rcd_trip"), at=TRIP)
        rows = [ToLog(kinds()["chamber"], Typed(value=degc, unit="°C"), moment(nth(1), hour))
                for hour, degc in ((12.6, 60.0), (14.5, 75.0))]  # fmt: skip
        held = book.write_all(rows)
    assert [one.lies for one in held] == ["unexpected", "stop"]


# ---------------------------------------------------------------------------------------- on no day of the plan

SIGNED = moment(nth(6), 7.75)
"""Own heat is released on the second morning after the days of the plan, for its proof."""


def fired(job, *lines, aged=True, until_h=30.5):
    """Log a chamber at hours of that day, or a word, under the release of that morning, which ended; return what each
    is."""
    release = HeatRelease(SIGNED, moment(nth(6), until_h), aged)
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", OWN, by="A")
        book.__dict__["_releases"] = [release]
        kept = [book.write(*told(what), at=moment(nth(6), hour), note="looked at") for hour, what in lines]
    return [one.answer.stops for one in kept]


def told(what):
    """Return what is written of a chamber's temperature, or of a word."""
    if isinstance(what, float):
        return kinds()["chamber"], Typed(value=what, unit="°C")
    return kinds()["again" if what == "again" else "stopped"], Typed(word=what)


NIGHT = ((19.6, 198.0), (27.6, 400.0), (33.6, 599.0))
"""A firing through the night: its last reading comes three hours after the release has gone out of date."""


def test_a_firing_that_was_begun_under_its_release_runs_to_its_end_and_cools(job):
    assert fired(job, *NIGHT, (38.6, 300.0), (60.0, 20.0)) == [False] * 5


@contextmanager
def book_of(job):
    """Open the log of a kiln under the release of that morning, which has gone out of date at 06:30."""
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", OWN, by="A")
        book.__dict__["_releases"] = [HeatRelease(SIGNED, moment(nth(6), 30.5), True)]
        yield book


def read_on(book, degc, hour):
    return book.write(*told(degc), at=moment(nth(6), hour))


def test_a_firing_that_was_not_typed_in_while_its_release_held_is_told_how_that_is_mended(job):
    """By the log nobody can tell it from one that was switched on without a release."""
    with book_of(job) as book:
        late = read_on(book, 599.0, 33.6)
        assert late.answer.stops
        assert any("begun while its release held" in line and "--take-back" in line for line in late.answer.lines)

        book.take_back(late.one.line, "nothing of the night was typed in before it")
        assert not any(read_on(book, degc, hour).answer.stops for hour, degc in NIGHT)


def test_a_stop_within_a_day_of_the_plan_asks_for_no_firing_of_the_night(job):
    with book_of(job) as book:
        hot = book.write(*told(400.0), at=moment(nth(1), 12.0)).answer

    assert hot.stops
    assert not any("begun while its release held" in line for line in hot.lines)


def test_a_firing_goes_on_after_a_power_cut_once_insulation_was_read(job):
    with book_of(job) as book:
        read_on(book, 400.0, 19.0)
        book.write(kinds()["stopped"], Typed(word="power_cut"), at=moment(nth(6), 19.5))
        with pytest.raises(AnswerError, match="Insulation is read first"):
            book.goes_on(moment(nth(6), 19.6))

        insulation = Typed(value=6.0, unit="Mohm", details={"test_volts": 500.0, "lining_degc": 380.0})
        book.write(kinds()["insulation"], insulation, at=moment(nth(6), 19.7))
        book.goes_on(moment(nth(6), 19.8))


def test_nothing_goes_on_in_the_night_in_which_the_attendant_left_midnight_or_not(job):
    with book_of(job) as book:
        book.write(kinds()["stopped"], Typed(word="attendant_gone"), at=moment(nth(6), 23.8))
        for hour in (23.9, 24.1, 29.0):
            with pytest.raises(AnswerError, match="goes on no more"):
                book.goes_on(moment(nth(6), hour))

        book.goes_on(moment(nth(6), 31.0))


def test_heat_without_a_release_is_a_stop_on_no_day_of_the_plan_as_well(job):
    """Once its run is cold, once the longest run is over, and where something else than age ended the release."""
    assert fired(job, *NIGHT, (42.0, 20.0), (43.0, 150.0)) == [False] * 4 + [True]
    assert fired(job, *NIGHT, (44.5, 1050.0)) == [False] * 3 + [True]
    assert fired(job, (7.0, 300.0)) == [True]


def test_on_a_day_of_its_own_no_chamber_is_read_above_what_its_cut_out_is_set_to_for_that_run(job):
    """The sheet has its last hour at 17:00; the top of the day may come after it, and is no stop below the cut-out."""
    runs = (ProgrammeRun(1, 20.0, (), cutout_degc=95.0), ProgrammeRun(2, 20.0, (), cutout_degc=200.0))
    first = TimedStep(run=1, begins=moment(nth(1), 9), hold_from=moment(nth(1), 10), ends=moment(nth(1), 16),
                      ramp_k_h=80.0, to_degc=90.0)  # fmt: skip
    last = replace(first, run=2, begins=moment(nth(1), 16.5), hold_from=moment(nth(1), 18.5), ends=moment(nth(1), 19))
    day = replace(WARM.days[0], runs=runs, steps=(first, last))
    one = Logged(line=1, by="A", kiln="kiln/1", what="chamber", measured=moment(nth(1), 11), unit="°C", value=1.0)

    assert [expected_at(replace(one, measured=moment(nth(1), hour)), day).stop for hour in (11, 13, 18)] == [
        95,
        95,
        200,
    ]


@pytest.mark.parametrize("word", ["attendant_gone", "power_cut", "probe_off"])
def test_a_firing_that_was_stopped_and_goes_on_is_a_stop_though_its_release_stands(job, word):
    """Of its ramp it may have come some way until then; it goes on once that is logged, but on no day on which its
    attendant left."""
    assert fired(job, (19.6, 600.0), (19.8, word), (20.0, 620.0), (21.9, 941.0)) == [False, True, False, True]
    assert fired(job, (19.6, 600.0), (19.8, word), (19.9, "again"), (21.9, 941.0))[-1] is (word == "attendant_gone")


def test_a_run_that_was_read_cooling_and_is_hot_again_was_switched_on_anew(job):
    assert fired(job, *NIGHT, (38.6, 148.0), (41.0, 500.0)) == [False] * 4 + [True]


def test_a_run_goes_on_under_no_release_that_something_else_than_age_ended(job):
    assert fired(job, (19.6, 198.0), (27.6, 400.0), aged=False, until_h=20.0) == [False, True]


def proved(cutout_degc, **releases):
    """Give a book what is known of a kiln whose cut-out was proved to open at a temperature, and what was released."""
    of = Answer(question=CUTOUT, at="kiln/1", state="given", value=cutout_degc, measured=SIGNED, line=1)
    answers = SimpleNamespace(history={f"{CUTOUT}@kiln/1": [of]}, look=lambda *_: frozenset({1200}))
    return {"_found": SimpleNamespace(answers=answers), "_releases": [], "_handed_over": []} | releases


def in_a_firing(job, *degc, **releases):
    """Log a chamber on the evening of a firing whose cut-out was proved at 640 °C; return what was said of the last."""
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", OWN, by="A")
        book.__dict__ |= proved(640.0, _releases=[HeatRelease(SIGNED, None, aged=False)], **releases)
        for n, one in enumerate(degc):
            said = book.write(kinds()["chamber"], Typed(value=one, unit="°C"), at=moment(nth(6), 19 + n / 4)).answer
    return said


def test_a_firing_is_stopped_above_where_its_cut_out_was_proved_to_open_and_that_proves_nothing_more(job):
    assert not in_a_firing(job, 600.0, 640.0).stops
    said = in_a_firing(job, 600.0, 641.0)
    assert said.lines[0].startswith("STOP, hands off. 641 °C: above 640 °C, where its cut-out was proved to open")
    assert {"energise.cutout", "energise.cutout_off", "energise.weld"} <= {*said.against.stop.contradicts}


def test_a_cut_out_that_is_proved_higher_later_lifts_no_such_stop(job):
    in_a_firing(job, 1000.0)
    (hot,) = (one for one in logs.logged(job) if one.value == 1000.0)
    assert hot.details["stop"] == 640.0


def test_where_heat_is_switched_off_is_said_on_no_day_of_the_plan_as_well(job):
    """There is no sheet for those days: it is where the plan switches its own elements off."""
    assert in_a_firing(job, 900.0).lines[1].startswith(f"Off: {DAY.off_switch.rstrip('.')}")
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", OWN, by="A")
        gone = book.write(kinds()["stopped"], Typed(word="attendant_gone"), at=moment(nth(6), 21)).answer
    assert DAY.off_switch.rstrip(".") in gone.lines[1]
    assert "sheet" not in " ".join(gone.lines)


def test_what_the_owner_fires_after_the_hand_over_is_no_stop_also_once_its_signatures_are_old(job):
    signed_h = HeatRelease(SIGNED, moment(nth(6), 18), aged=True)
    assert not in_a_firing(job, 900.0, _handed_over=[signed_h]).stops
    assert in_a_firing(job, 900.0, _handed_over=[replace(signed_h, aged=False)]).stops


def test_what_is_logged_of_it_says_so(job):
    with Journal(job / "journal.jsonl") as journal:
        book = LogBook(open_job(job), journal, "kiln/1", OWN, by="A")
        said = book.write(kinds()["chamber"], Typed(value=950.0, unit="°C"), at=moment(nth(7), 10)).answer
    assert said.lines[0].startswith("STOP, hands off. 950 °C: nothing of its own is to be on now")


def test_a_release_is_over_where_a_signature_under_it_ended_and_by_age_where_nothing_was_written_then():
    def hold(ended_at):
        of = opened().hold("own_heat", "kiln/1")
        ends = [Signature(replace(signed(duty, 900 + n).release, duty=duty, moment=SIGNED), "ended", ended_at)
                for n, duty in enumerate(of.point.signatures)]  # fmt: skip
        return replace(of, signatures=tuple(ends))

    at_noon, now = moment(nth(6), 12), moment(nth(7), 12)
    assert [*releases(hold(at_noon), {at_noon}, now)] == [HeatRelease(SIGNED, at_noon, aged=False)]
    assert [*releases(hold(at_noon), set(), now)] == [HeatRelease(SIGNED, at_noon, aged=True)]
    assert HeatRelease(SIGNED, at_noon, aged=False).runs_until == at_noon
    assert HeatRelease(SIGNED, at_noon, aged=True).runs_until == SIGNED + timedelta(hours=36)


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
