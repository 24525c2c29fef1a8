"""Dryings that were logged, played again: the plan holds what is left of a kiln that it does not see, or is shut."""

from __future__ import annotations

import json
import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from shutil import copytree

import pytest

from examples.drying import VISIT, Event, drying, happens, last_visit, moment, play
from recover.interview.logbook import LogBook
from recover.job.folder import open_job
from recover.job.journal import Journal
from recover.judged.assessment import assess
from recover.judged.stops import UNHEATED
from recover.plan import planning, store
from recover.plan.inputs import inputs
from recover.plan.lived import done_days
from recover.plan.log import halted, log_of, stops
from recover.plan.walk import most_left
from recover.plan.whole import KilnPlan
from recover.report.acts import acts
from recover.report.day import awaited, dated, own_heat, shut_by
from recover.report.dried import not_fired, not_run
from recover.report.papers import HANDOVER, issue
from recover.report.status_view import look_at
from recover.rules.gates import duties
from tests.command import run
from tests.small_kiln import one_path


@dataclass(frozen=True)
class Played:
    """A drying that was played: its plans with what the kiln really had left, what was said, and how it stands."""

    folder: Path
    plans: tuple[tuple[float, KilnPlan], ...]
    says: dict[tuple[int, str], str]
    ends: datetime

    @property
    def last(self) -> KilnPlan:
        """The newest plan."""
        return self.plans[-1][1]

    def found(self, later: timedelta = timedelta()):
        """Return how the job stands so long after its end."""
        return assess(open_job(self.folder), self.ends + later)


_MADE: dict[tuple, tuple[KilnPlan, ...]] = {}


def planned_once(found, asks, told, before=None):
    """Plan, but for what was planned in another drying from the same answers, log and moment."""
    read = tuple((one.what, one.place, one.value, one.word, one.measured) for one in found.answers.logged)
    key = (repr(sorted(inputs(found).items())), asks, read, found.answers.now if before else None)
    if key not in _MADE:
        with one_path():
            _MADE[key] = planning.kiln_plans(found, asks, told, before)
    return _MADE[key]


@cache
def played(which: str) -> Played:
    """Play a drying from its first event to its last."""
    folder = Path(tempfile.mkdtemp(prefix="recover-drying-")) / "job"
    plans, says = [], {}
    for event, at, said in play(folder, drying(which).event, VISIT, plans=planned_once):
        says[event.day, event.happened or event.at] = "\n".join(said)
        made = store.newest(open_job(folder)) if event.plan else None
        plans += [(event.left, made.kilns[0])] if made else []
        ends = at
    return Played(folder, tuple(plans), says, ends)


# ---------------------------------------------------------------------------------------- to the end


def test_what_is_left_of_the_kiln_lies_where_each_plan_has_it():
    """Nine draws in ten and one in ten of what readings teach have the truth between them, at every plan."""
    goes_on = [(left, kiln.learnt.left) for left, kiln in played("handed-over").plans if kiln.learnt]

    assert len(goes_on) > 2
    for left, told in goes_on:
        assert told.p10 <= left <= told.p90


def test_the_day_on_which_it_is_dry_lies_in_the_span_of_the_first_plan():
    first, last = played("handed-over").plans[0][1].path, played("handed-over").last.path

    assert first.first_firing.p50 <= last.first_firing.p50 <= first.first_firing.p90


def test_it_ends_dry_by_the_plan_and_in_truth():
    left, kiln = played("handed-over").plans[-1]

    assert kiln.learnt.goes_on > len(kiln.days)
    assert kiln.learnt.left.p90 <= most_left()
    assert left <= most_left()
    assert not kiln.learnt.misfits


def test_it_is_handed_over_by_three_people_and_for_no_longer_than_what_that_rests_on():
    hold = played("handed-over").found().hold("handover", "kiln/1")
    later = played("handed-over").found(timedelta(days=2)).hold("handover", "kiln/1")

    assert hold.stands == "released"
    assert later.stands != "released"


def test_two_days_after_it_was_handed_over_its_certificate_is_issued_as_it_was_signed(tmp_path):
    job = tmp_path / "job"
    copytree(played("handed-over").folder, job)
    found = assess(open_job(job), played("handed-over").ends + timedelta(days=2))
    files = issue(job, found, "A. Repairer", "repairer", found.answers.now, HANDOVER)
    (view,) = (json.loads(one.read_text()) for one in files if one.name == "handover-01.json")

    assert view["boxes"][0]["title"] == "Handed over"
    assert "It tells what was found on that day" in " ".join(view["boxes"][0]["lines"])


def test_its_own_heat_is_lived_under_a_plan_that_was_made_once_it_was_released():
    events = drying("handed-over").event
    released = next(number for number, one in enumerate(events) if one.sign == "own_heat" and one.role == "attendant")
    made = [kiln for _, kiln in played("handed-over").plans]

    assert events[released + 1].plan
    assert [kiln.gate_open for kiln in made] == [False, False, False, True, True]


def test_no_heat_of_its_own_was_on_while_it_waited():
    assert not [one for one in played("handed-over").found().answers.logged if UNHEATED in one.details]


def test_the_firings_of_its_proof_stand_in_the_log_and_no_reading_of_them_is_a_stop():
    job, last = played("handed-over"), played("handed-over").last
    found = job.found()
    plan = store.newest(open_job(job.folder))

    assert not_fired(found, "kiln/1", plan) == []
    assert [*not_run(found, "kiln/1", plan)] == []
    assert not stops(found.answers, "kiln/1", last)


def test_nothing_was_ever_read_hotter_than_the_cut_out_of_its_release_was_set():
    """Each firing of its proof was released on what was fired."""
    events = drying("handed-over").event
    set_to = 0.0
    for one in events:
        set_to = float(one.cutout.split()[0]) if one.cutout else set_to
        for read in (read for read in one.read if read.startswith("chamber=")):
            assert float(read.partition("=")[2]) <= set_to


def test_planned_again_after_its_proof_it_has_no_more_days_and_no_stop(tmp_path):
    """Each firing was fired by the plan of its moment: what is planned after it turns no reading of it into a stop."""
    job, last = played("handed-over"), played("handed-over").last
    found, plan = job.found(timedelta(hours=2)), store.newest(open_job(job.folder))
    with one_path():
        (again,) = planning.kiln_plans(found, plan.request, lambda _what, _share: None, plan)

    assert len(again.days) == len(last.days)
    assert not stops(found.answers, "kiln/1", again)


def test_asked_to_plan_after_its_hand_over_it_says_in_one_sentence_that_nothing_is_left(tmp_path, monkeypatch):
    folder, now = tmp_path / "job", played("handed-over").ends + timedelta(hours=2)
    copytree(played("handed-over").folder, folder)
    monkeypatch.setattr("recover.job.journal.utc_now", lambda: now)
    monkeypatch.setattr("recover.judged.assessment.utc_now", lambda: now)
    done = run("plan", folder)

    assert done.returncode == 0
    assert "Nothing is left to plan" in done.stdout
    assert store.newest(open_job(folder)).number == store.newest(open_job(played("handed-over").folder)).number


# ---------------------------------------------------------------------------------------- aborted


def test_below_the_floor_and_at_the_trip_it_says_what_is_next():
    says = "\n".join(played("aborted").says.values())

    assert "0.08 MΩ: below 0.1 MΩ, the floor at which a heating ends" in says
    assert "It is never reset, bridged or exchanged" in played("aborted").says[_day_of_trip(), "rcd_trip"]


def test_after_the_trip_nothing_goes_on():
    """Whatever the readings make of the days that would come: none has a date, and the plan says why first."""
    found, kiln = played("aborted").found(timedelta(days=1)), played("aborted").last
    to_come = [day for day in kiln.days if day.number > _day_of_trip()]

    assert kiln.because.startswith("Stopped on")
    assert "residual-current device tripped" in kiln.because
    assert to_come
    assert not any(dated(found, kiln, day) for day in to_come)
    assert all(any("residual-current" in line for line in shut_by(found, kiln, day)) for day in to_come)
    assert all(awaited(found, kiln, day) for day in to_come if own_heat(day))


def test_a_trip_of_own_heat_is_not_for_whoever_attends_to_clear(tmp_path):
    """A word of the log that it goes on gives no day a date, in plan and status alike; who may say so is named."""
    folder, day = tmp_path / "job", _day_of_trip()
    copytree(played("aborted").folder, folder)
    again = Event(day=day, at="23:50", by="A. Tendant", happened="again", note="Reset it; it holds.")
    happens(folder, again, moment(again, VISIT))
    found, kiln = assess(open_job(folder), moment(again, VISIT) + timedelta(hours=9)), played("aborted").last
    told = halted(kiln, found.answers, found.answers.now.date())
    (act, *_) = acts(look_at(found, store.newest(open_job(folder)), found.answers.now))

    assert any("residual-current" in line and "slate 329" in line for line in told)
    assert not any(dated(found, kiln, day) for day in kiln.days if day.number > _day_of_trip())
    assert act.by == duties()["pass_electrics"]
    assert "not for whoever attends" in act.say
    assert "happened again" not in act.do


def _day_of_trip() -> int:
    return next(one.day for one in drying("aborted").event if one.happened == "rcd_trip")


# ---------------------------------------------------------------------------------------- another wall


def test_a_wall_that_is_another_one_is_said_and_shuts_the_plan():
    kiln = played("another-wall").plans[-2][1]

    assert any("This is not the kiln that was assumed: wall" in line for line in kiln.learnt.misfits)
    assert kiln.learnt.shut


def test_once_somebody_has_looked_it_goes_on_doubted():
    kiln = played("another-wall").last

    assert kiln.learnt.misfits
    assert not kiln.learnt.shut
    assert kiln.because.startswith("Goes on from day")


def test_the_day_itself_was_ended_by_its_stop():
    assert any("this is not the wall that was assumed" in said for said in played("another-wall").says.values())


# ---------------------------------------------------------------------------------------- how they are kept


@pytest.mark.parametrize("which", ["handed-over", "aborted", "another-wall"])
def test_it_ends_within_the_last_day_whenever_it_is_played(which):
    events = drying(which).event
    for hour in (0, 7, 12, 23):
        now = datetime(2027, 1, 5, hour, 10, tzinfo=UTC)
        ends = moment(events[-1], last_visit(events, now))

        assert timedelta() <= now - ends < timedelta(days=1)


def test_nothing_is_halted_before_the_trip():
    job = played("aborted")
    answers = job.found().answers
    on = next(one.measured.date() for one in answers.logged if one.word == "rcd_trip")

    assert any("residual-current" in line for line in halted(job.last, answers, on))
    assert not any("residual-current" in line for line in halted(job.last, answers, on - timedelta(days=1)))


# ---------------------------------------------------------------------------------------- what happens in mid-drying


@cache
def _until(day: int, at: str) -> Path:
    """Play the first events of a drying, up to a time of a day."""
    folder = Path(tempfile.mkdtemp(prefix="recover-drying-")) / "job"
    events = [one for one in drying("handed-over").event if (one.day, one.at) <= (day, at)]
    list(play(folder, events, VISIT, plans=planned_once))
    return folder


class Meanwhile:
    """A drying in which something happens after so many of its events: what is said, and what a plan makes of it."""

    def __init__(self, tmp_path: Path, day: int, at: str) -> None:
        """Take a copy of the job as it stands after its round at a time of a day."""
        self.folder, self.day = tmp_path / "job", day
        copytree(_until(day, at), self.folder)

    def happens(self, at: str, days: int = 0, **said) -> str:
        """Let something happen on the day, or so many days later, and return what is said of it."""
        event = Event(day=self.day + days, at=at, by="A. Tendant", **said)
        return "\n".join(happens(self.folder, event, moment(event, VISIT)))

    @property
    def kiln(self) -> KilnPlan:
        """The plan that it is dried by."""
        return store.newest(open_job(self.folder)).kilns[0]

    def found(self, days: int = 0):
        """Return how the job stands that evening, or so many days later."""
        evening = moment(Event(day=self.day + days, at="20:30"), VISIT)
        return assess(open_job(self.folder), evening)

    def on_h(self, days: int = 0) -> float:
        """Return for how long the day is taken to have been on, that evening or so many days later."""
        found = self.found(days)
        return done_days(self.kiln.days, log_of(found.answers, "kiln/1"), found.answers.now)[self.day - 1].on_h

    def shut(self, later: int) -> list[str]:
        """Return what shuts a day that comes so many days later."""
        return shut_by(self.found(), self.kiln, self.kiln.days[self.day - 1 + later])


def test_hours_of_a_power_cut_are_lost_and_the_rest_of_the_day_counts(tmp_path):
    drying = Meanwhile(tmp_path, 2, "10:00")
    planned_h = 11.5

    says = drying.happens("11:30", happened="power_cut")
    assert "Heater and fan unplugged before power is back" in says
    assert drying.on_h() == pytest.approx(3.5)

    drying.happens("13:30", happened="again", note="Power back at 13:10; leads looked at, cut-outs tried.")
    drying.happens("18:00", read=["casing@wall=44"])
    assert drying.on_h() == pytest.approx(planned_h - 2.0)
    assert drying.shut(1) == []


def test_a_stop_of_which_it_is_logged_next_morning_that_it_goes_on_costs_the_rest_of_its_day_and_no_more(tmp_path):
    drying = Meanwhile(tmp_path, 2, "10:00")
    drying.happens("11:30", happened="power_cut")
    drying.happens("07:30", days=1, happened="again", note="Power back in the night; leads looked at.")
    assert drying.on_h(1) == pytest.approx(3.5)


def test_once_the_attendant_is_gone_heat_is_off_and_the_day_is_no_longer_than_that(tmp_path):
    drying = Meanwhile(tmp_path, 2, "10:00")
    says = drying.happens("11:30", happened="attendant_gone")

    assert says.startswith("STOP, hands off.")
    assert "Heat is off now: The switch of the socket in the hall" in says
    assert "Nothing goes on today" in says
    assert drying.on_h() == pytest.approx(3.5)
    assert drying.shut(1) == []


def test_a_probe_that_is_off_ends_own_heat_until_it_is_put_back_and_proved(tmp_path):
    first = next(one.day for one in drying("handed-over").event if one.sign == "own_heat")
    own = Meanwhile(tmp_path, first, "12:00")
    says = own.happens("13:00", happened="probe_off")

    assert "No heat of its own without the independent probe" in says
    assert own.on_h() == pytest.approx(4.0)  # begun an hour after the opening
    assert "a probe was off, broken or out of its place" in own.shut(1)[0]

    own.happens("19:30", happened="looked", note="Cold: its tip had slipped; put back, read beside another meter.")
    assert own.shut(1) == []


def test_after_a_trip_no_day_comes_before_somebody_has_found_why_and_said_so(tmp_path):
    drying = Meanwhile(tmp_path, 2, "10:00")
    says = drying.happens("11:00", happened="rcd_trip")

    assert "never reset, bridged or exchanged for a coarser one" in says
    assert drying.on_h() == pytest.approx(3.0)
    assert "residual-current device tripped. Nothing goes on before" in drying.shut(1)[0]

    drying.happens("17:00", happened="again", note="E. Lectrician: a wet plug of the fan, exchanged; tested.")
    assert drying.shut(1) == []


def test_rain_again_ends_the_plan_and_asks_for_another(tmp_path):
    drying = Meanwhile(tmp_path, 2, "10:00")
    says = drying.happens("16:00", happened="rain")

    assert "No reading from before it opens anything any more" in says
    assert "recover plan JOB --start" in says
    for later in (1, 2, 5):
        assert "Rain or water came to the kiln again" in drying.shut(later)[0]
        assert not dated(drying.found(later), drying.kiln, drying.kiln.days[1 + later])


# ---------------------------------------------------------------------------------------- the cut-out and the sheet


def _own(day: int) -> int:
    """The day of the drying that is so many days after the first of its own elements."""
    return next(one.day for one in drying("handed-over").event if one.sign == "own_heat") + day


def _set(drying: Meanwhile, top: str, cutout: str) -> tuple[str, frozenset[str]]:
    """Set the cut-out on the morning of a day; return what is said of it, and how it is set by the answers."""
    says = drying.happens("07:20", answers="tests.toml", insulation="8 Mohm", top=top, cutout=cutout)
    return says, drying.found().answers.fact("cutout_setting", "kiln/1")


@pytest.mark.parametrize(("top", "cutout"), [("1063 °C", "1103 °C"), ("252 °C", "257 °C"), ("90 °C", "130 °C")])
def test_a_cut_out_above_the_sheet_of_its_day_keeps_own_heat_closed_and_says_what_the_sheet_sets(tmp_path, top, cutout):
    """Also where it is what a later run of that day sets: the run that comes first decides."""
    says, set_so = _set(Meanwhile(tmp_path, _own(1), "06:45"), top, cutout)

    assert set_so == {"off"}
    assert "above the sheet of that day, which sets the cut-out to 100 °C for the run that comes" in says


@pytest.mark.parametrize(("top", "cutout"), [("90 °C", "95 °C"), ("80 °C", "90 °C")])
def test_a_cut_out_as_the_sheet_sets_it_or_lower_is_set_for_the_day(tmp_path, top, cutout):
    says, set_so = _set(Meanwhile(tmp_path, _own(1), "06:45"), top, cutout)

    assert set_so == {"within"}
    assert "sheet of that day" not in says


def test_on_no_day_of_the_plan_no_sheet_is_asked():
    ends = played("handed-over").found()
    assert ends.answers.fact("over_sheet", "kiln/1") == {"no"}


def test_each_run_of_the_drying_was_fired_with_its_cut_out_as_the_sheet_sets_it():
    kiln, job = played("handed-over").last, played("handed-over").found().answers
    sheets = [(run.top_degc, run.cutout_degc) for run in job.sheets["kiln/1"]]
    told = [(float(one.top.split()[0]), float(one.cutout.split()[0])) for one in drying("handed-over").event
            if one.cutout and one.day <= kiln.days[-1].number]  # fmt: skip

    assert len(told) > len([day for day in kiln.days if own_heat(day)])
    assert told == sheets


def test_a_cut_out_that_is_set_anew_between_two_runs_takes_two_signatures_anew(tmp_path):
    drying = Meanwhile(tmp_path, _own(1), "11:29")
    noon = moment(Event(day=drying.day, at="11:30"), VISIT)

    assert assess(open_job(drying.folder), noon).hold("own_heat", "kiln/1").stands != "released"
    assert Meanwhile(tmp_path / "later", _own(1), "11:33").found().hold("own_heat", "kiln/1").stands == "released"


# ---------------------------------------------------------------------------------------- what is no stop


def test_insulation_that_was_answered_and_signed_opens_the_day_though_the_log_has_it_not_again(tmp_path):
    drying = Meanwhile(tmp_path, _own(0), "07:50")
    assert "STOP" not in drying.happens("12:00", read=["chamber=91"])


def test_a_chamber_told_in_the_wrong_unit_is_taken_back_and_read_in_again_and_leaves_no_stop(tmp_path):
    """As what it says itself asks for. First power is signed for anew, and own heat behind it: the stop that was told
    spoke against what was tried, and ended both releases."""
    drying = Meanwhile(tmp_path, _own(0), "08:00")
    says = drying.happens("12:10", read=["chamber=196"])
    assert "Told as °F it would fit" in says

    job, at = open_job(drying.folder), moment(Event(day=drying.day, at="12:12"), VISIT)
    with Journal(job.journal, lambda: at) as journal:
        book = LogBook(job, journal, "kiln/1", drying.kiln, by="A. Tendant", clock=lambda: at)
        book.take_back(book.lines[-1], "a slip: the meter told it in °F")

    assert drying.happens("12:13", read=["chamber=196 F"]).startswith("91.11 °C: within")
    energise, own_heat = (drying.found().hold(name, "kiln/1") for name in ("energise", "own_heat"))
    assert (energise.stands, energise.missing) == ("ready for release", ())
    assert [missing.count("Energising") for missing in own_heat.missing] == [1]
