"""The plan of a kiln: paths side by side, the one that is recommended, what closes the others, what would open one."""

import tempfile
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from recover.base.fingerprint import fingerprint
from recover.judged.assessment import assess
from recover.judged.dryout import heatings
from recover.plan import of_job, openers, planning, store
from recover.plan.compared import Calendar, closed_path, recommendation, with_beaten
from recover.plan.inputs import inputs
from recover.plan.moved import moved, runs_as_before
from recover.plan.of_job import ShutWay
from recover.plan.openers import what_opens
from recover.plan.paths import run_in_shifts, run_path
from recover.plan.request import request
from recover.plan.ways import SHIFTS, way, ways
from recover.plan.whole import Dates, JobPlan, Request
from recover.schedule.spells import Attendance
from tests.plan_job import SMALL, write
from tests.sample_plan import path
from tests.small_kiln import taken
from tests.test_wetmap import KILN

MONEY = {"plan.price_kwh": 0.3, "plan.money": "GBP", "plan.rate_hour": 25}


def silent(_what, _share):
    """Say nothing of the progress."""


@cache
def found(more: tuple = ()):
    given = {name: list(said) if isinstance(said, tuple) else said for name, said in more}
    return assess(write(Path(tempfile.mkdtemp(prefix="recover-plan-")) / "job", {**SMALL, **MONEY, **given}))


def asked(more: tuple = (), **options) -> Request:
    return request(found(more), None, **options).request


@pytest.fixture(autouse=True)
def each_path_runs_once(monkeypatch):
    """Which path is asked for changes no run: what another plan of the same kiln and people ran is not run again."""
    monkeypatch.setattr(planning, "run_path", ran)
    monkeypatch.setattr(planning, "run_in_shifts", ran_in_shifts)


def ran(one, of, attended, draws, *, shifts):
    return _ran(one.id, of, tuple(map(attended, range(200))), draws, shifts)


def ran_in_shifts(by_day, of, attended):
    return _ran_in_shifts(by_day.way.id, of, tuple(map(attended, range(200))), len(by_day.stood.draws.setups))


@cache
def _ran(way_id, of, hours, draws, shifts):
    return run_path(way(way_id), of, hours.__getitem__, draws, shifts=shifts)


@cache
def _ran_in_shifts(way_id, of, hours, draws):
    return run_in_shifts(_ran(way_id, of, hours, draws, False), of, hours.__getitem__)


@cache
def planned(more: tuple = (), **options):
    (one,) = planning.kiln_plans(found(more), asked(more, **options), silent)
    return one


def kept(kiln, of, asks) -> JobPlan:
    """Return a plan as it would be stored."""
    return JobPlan(
        number=1, made="2026-03-11T08:00:00+00:00", program="recover", head="0" * 64, inputs=inputs(of),
        fingerprint=fingerprint(), seed=1, draws=64, zone="Europe/London", request=asks, kilns=(kiln,),
    )  # fmt: skip


# ---------------------------------------------------------------------------------------- what is recommended


def test_the_path_that_is_recommended_is_open_and_ends_and_has_its_days():
    one = planned()
    recommended = next(path for path in one.paths if path.id == one.recommended)
    assert recommended.open
    assert recommended.finishes
    assert recommended.first_firing.p50 <= recommended.first_firing.p90
    assert one.followed == one.recommended
    assert one.days
    assert one.days[-1].left.p90 <= 0.05


def test_it_is_the_earliest_of_those_that_end_with_the_attendance_that_was_asked_for():
    one = planned()
    ends = [path for path in one.paths if path.open and path.first_firing and not path.in_shifts]
    earliest = min(path.first_firing.p90 for path in ends)
    assert next(path for path in ends if path.id == one.recommended).first_firing.p90 == earliest


def test_one_sentence_names_it_with_its_dates():
    one = planned()
    recommended = next(path for path in one.paths if path.id == one.recommended)
    assert recommended.title in one.because
    assert f"{recommended.first_firing.p90:%d %b %Y}" in one.because


def test_every_path_says_what_it_comes_to_or_what_closes_it():
    for one in planned().paths:
        assert one.open != bool(one.closed_because)
        if one.open:
            assert None not in (one.finishes, one.attended_hours, one.kwh, one.cost, one.visits)
            assert one.kwh_span.p10 <= one.kwh_span.p90 == pytest.approx(one.kwh, abs=0.1)
        else:
            assert (one.first_firing, one.attended_hours, one.kwh, one.cost) == (None, None, None, None)


def test_attendance_has_a_rate_and_electricity_a_tariff():
    for one in planned().paths:
        if one.open:
            money = Decimal("0.3") * Decimal(one.kwh) + 25 * Decimal(one.attended_hours)
            assert one.with_attendance
            assert float(one.cost) == pytest.approx(float(money), abs=0.1)


def test_its_own_elements_day_and_night_are_offered_beside_it():
    shifts = [one for one in planned().paths if one.in_shifts]
    assert [one.id for one in shifts] == [planned().recommended + SHIFTS]
    assert shifts[0].first_firing.p90 <= next(
        one.first_firing.p90 for one in planned().paths if one.id == planned().recommended
    )


def test_a_path_that_was_asked_for_is_followed_and_the_recommended_one_stays_named():
    one = planned(path="small_heater")
    assert (one.followed, one.recommended) == ("small_heater", planned().recommended)
    assert {day.way for day in one.days if day.phase == "outside"} == {"small_heater"}


def test_a_path_that_is_closed_is_not_followed_and_says_why():
    one = planned(path="workshop")
    assert (one.followed, one.days) == ("", ())
    assert any("no dry workshop" in says for says in one.refused)


# ---------------------------------------------------------------------------------------- which beats which


def told(path_id, days, hours, money, **more):
    fired = datetime(2026, 5, 1).date() + timedelta(days=days)  # noqa: DTZ001 - a date alone
    return path(path_id, first_firing=Dates(fired, fired), attended_hours=hours, cost=Decimal(money), **more)


def test_a_path_that_is_later_longer_and_dearer_is_beaten_and_one_that_is_cheaper_is_not():
    first, slow, cheap = told("enclosure", 10, 100, 500), told("air", 20, 120, 600), told("small_heater", 20, 80, 100)
    assert [one.beaten_by for one in with_beaten([first, slow, cheap])] == ["", "enclosure", ""]


def test_people_who_were_not_asked_for_beat_nobody():
    by_day, by_night = told("own", 10, 100, 500), told("own_shifts", 5, 90, 400, in_shifts=True)
    assert [one.beaten_by for one in with_beaten([by_day, by_night])] == ["", ""]


# ---------------------------------------------------------------------------------------- nothing ends


def test_where_all_is_shut_it_is_said_what_clearing_would_open_and_no_day_is_planned():
    one = planned((("safe.hazards", ("structure",)),))
    assert not any(path.open for path in one.paths)
    assert one.days == ()
    assert "cleared by name" in one.because
    assert "fired from day" in one.because


def test_salt_is_referred_and_nothing_is_recommended(monkeypatch):
    salted = replace(taken(), salt="brackish")
    monkeypatch.setattr(planning.of_job, "taken", lambda _found: (salted,))
    (one,) = planning.kiln_plans(found(), asked(), silent)
    assert (one.recommended, one.days) == ("", ())
    assert "Salt does not leave with the water" in one.because


def test_what_would_let_a_path_end_is_said_only_where_the_path_was_run_with_it():
    """Room air alone for twelve hours a day does not end in four weeks; day and night it may, or nothing is said."""
    of = taken()
    said = what_opens([way("air")], of, calendar(), 16, silent)
    assert said in ("", *ways().opener.values())


def calendar(attend="08:00-20:00", closed="none"):
    return Calendar(request=asked(attend=attend, closed=closed), zone=found().answers.zone)


@pytest.mark.parametrize("closed", ["sat,sun", "none"])
def test_where_only_hours_are_missing_hours_are_asked_for_and_no_lining(closed):
    """For three hours a day this kiln does not end; for eight it does."""
    one = planned(attend="09:00-12:00", closed=closed)
    assert one.recommended == ""
    assert "It would end with somebody there for 8 h a day" in one.because
    assert "replaced" not in one.because


@pytest.mark.parametrize(
    ("enough", "says"),
    [
        ((3, 7), "It would end if somebody came on the closed days as well."),
        ((8, 5), "It would end with somebody there for 8 h a day, on each day that is not closed."),
        ((8, 7), "It would end with somebody there for 8 h a day, on the closed days as well."),
        ((12, 5), "It would end with somebody there for 12 h a day, on each day that is not closed."),
        ((12, 7), "It would end with somebody there for 12 h a day, on the closed days as well."),
    ],
)
def test_of_more_hours_and_open_days_the_least_is_told_that_lets_a_path_end(monkeypatch, enough, says):
    def run(_card, _of, attended, _draws, *, shifts):
        week = [attended(day) for day in range(7)]
        hours, days = enough
        return replace(_never(), dry=not shifts and max(week) >= hours and sum(map(bool, week)) >= days)

    monkeypatch.setattr(openers, "run_path", run)
    assert says == what_opens([way("air")], taken(), calendar("09:00-12:00", "sat,sun"), 16, silent)


def test_who_is_there_day_and_night_on_every_day_is_asked_for_no_more_hours(monkeypatch):
    tried = []
    monkeypatch.setattr(openers, "run_path", lambda *given, **_: tried.append(given[2](0)) or _never())
    assert what_opens([way("air")], taken(), calendar("00:00-24:00"), 16, silent) == ""
    assert len(tried) == len(list(openers._changed(way("air"), taken())))


def test_a_lining_is_asked_about_only_with_the_hours_named_by_which_nothing_ended(monkeypatch):
    monkeypatch.setattr(openers, "run_path", lambda *_, **__: _never())
    monkeypatch.setattr(planning, "run_path", lambda *_, **__: _never())
    (one,) = planning.kiln_plans(found(), asked(attend="09:00-12:00", closed="sat,sun"), silent)
    assert "12 h a day with no day closed among it: ask whether the wet layers are to be replaced." in one.because
    assert "28 days from outside on which something runs, within 70 days by the calendar" in one.because


def _never():
    return replace(_ran("air", taken(), (12.0,) * 200, 8, False), dry=False)


def test_hours_are_tried_of_every_path_and_the_one_that_ends_is_named(monkeypatch):
    """Room air is the driest and ends by no hours, a heater in the chamber by twelve."""

    def run(card, _of, attended, _draws, **_):
        return replace(_never(), dry=card.air != "room" and attended(0) >= 12)

    monkeypatch.setattr(openers, "run_path", run)
    said = what_opens([way("air"), way("small_heater")], taken(), calendar("09:00-12:00"), 16, silent)
    assert said.startswith("Another path would end, small separate heater inside the vented chamber. It would end with")


def test_with_hazards_cleared_hours_are_asked_for_where_only_they_are_missing():
    one = planned((("safe.hazards", ("structure",)),), attend="09:00-12:00")
    assert "cleared by name" in one.because
    assert "8 h a day" in one.because
    assert "replaced" not in one.because


# ---------------------------------------------------------------------------------------- what opens a closed path


@pytest.mark.parametrize("card", [one for one in ways().way if one.air != "own"], ids=lambda one: one.id)
@pytest.mark.parametrize("changed", [{"supply_kw": None}, {"supply_kw": 0.1}, {"workshop": False, "sections": 3}])
def test_what_opens_a_closed_path_promises_no_end(card, changed):
    """No closed path is run: with the supply that opens it an enclosure of soaked fibre does not end."""
    told = closed_path(card, replace(taken(), **changed)).would_open
    assert told == "" or told.lower().endswith("whether it ends then was not reckoned.")


def test_what_opens_a_path_that_something_else_closes_too_is_told_as_a_part():
    shut = ShutWay("enclosure", ("fibre",), ("Loose fibre: it is cleared first.",))
    told = closed_path(way("enclosure"), replace(taken(), supply_kw=0.1, shut=(shut,))).would_open
    assert "gives more" in told
    assert told.endswith("once what else closes it is settled too, and whether it ends then was not reckoned.")


def test_its_own_elements_are_opened_by_paths_that_were_run():
    assert "not reckoned" not in closed_path(way("own"), taken()).would_open


# ---------------------------------------------------------------------------------------- beside it, in shifts


def advised(**shifts):
    """What is recommended beside the same path day and night in shifts."""
    by_day = told("enclosure", 20, 444, 8327)
    return recommendation(taken(), [by_day, told("enclosure_shifts", in_shifts=True, **shifts)], "enclosure")


def test_in_shifts_that_is_less_on_every_count_the_recommendation_says_so_with_the_figures():
    said = advised(days=13, hours=408, money=7650)
    assert "Day and night in shifts it is sooner, with fewer attended hours and less money: from 14 May 2026" in said
    assert "408 hours and not 444, a cost of 7\u202f650 and not 8\u202f327" in said.replace("\u00a0", "\u202f")


def test_in_shifts_that_is_less_but_for_money_nobody_knows_says_only_that():
    said = advised(days=13, hours=408, money=7650, with_attendance=False)
    assert "it is sooner, with fewer attended hours: from 14 May 2026" in said
    assert "money" not in said


@pytest.mark.parametrize(("days", "hours", "money"), [(13, 450, 7650), (13, 408, 9000), (20, 408, 7650)])
def test_in_shifts_that_costs_more_of_anything_is_not_told_as_less_of_all(days, hours, money):
    said = advised(days=days, hours=hours, money=money)
    assert "less money" not in said
    assert f"{hours} " in said


# ---------------------------------------------------------------------------------------- other dates


def test_a_plan_on_other_dates_is_the_same_days_moved_and_no_wall_is_run(monkeypatch):
    before = kept(planned(), found(), asked())
    later = replace(asked(), opens=asked().opens + timedelta(days=9))
    monkeypatch.setattr(planning, "run_path", lambda *_args, **_more: pytest.fail("a wall was run"))
    (one,) = planning.kiln_plans(found(), later, silent, before)

    for old, new in zip(planned().days, one.days, strict=True):
        assert new.date == old.date + timedelta(days=9)
        assert (new.left, new.top_degc, new.kwh) == (old.left, old.top_degc, old.kwh)
        assert new.programme_ends is None or f"{new.programme_ends:%H:%M}" == f"{old.programme_ends:%H:%M}"
    recommended = next(path for path in one.paths if path.id == one.recommended)
    assert f"{recommended.first_firing.p90:%d %b %Y}" in one.because


def test_a_plan_past_midnight_is_not_moved_over_a_change_of_clocks():
    """From 20:00 to 06:00; clocks are put back on 25 October 2026: ten hours after its opening it is 05:00 there."""
    night = replace(asked(), opens=datetime(2026, 10, 1, 20, 0), attendance=Attendance(20, 6))  # noqa: DTZ001
    london = ZoneInfo("Europe/London")
    then, now = (Calendar(request=replace(night, opens=night.opens + timedelta(days=days)), zone=london)
                 for days in (0, 20))  # fmt: skip
    nights = tuple(
        replace(day, date=then.date(number), attended_from=then.opening(number),
                attended_to=then.opening(number) + timedelta(hours=10))
        for number, day in enumerate(planned().days[:10])
    )  # fmt: skip
    plan = replace(planned(), days=nights)

    assert moved(plan, taken(), then, then) is not None
    assert moved(plan, taken(), then, now) is None


def test_a_plan_at_another_price_costs_something_else_and_no_wall_is_run(monkeypatch):
    before, dearer = kept(planned(), found(), asked()), (("plan.price_kwh", 0.6),)
    monkeypatch.setattr(planning, "run_path", lambda *_args, **_more: pytest.fail("a wall was run"))
    (one,) = planning.kiln_plans(found(dearer), asked(dearer), silent, before)

    for old, new in zip(planned().paths, one.paths, strict=True):
        if old.open:
            assert float(new.cost - old.cost) == pytest.approx(0.3 * old.kwh, abs=0.05)


def test_closed_days_and_other_answers_have_walls_run_anew():
    assert runs_as_before("kiln/1", {"kiln/1, price of a kWh": "1"}, {"kiln/1, price of a kWh": "2"})
    assert runs_as_before("kiln/1", {"kiln/2, wall": "1"}, {"kiln/2, wall": "2"})
    assert not runs_as_before("kiln/1", {"kiln/1, wall": "1"}, {"kiln/1, wall": "2"})
    assert not runs_as_before("kiln/1", {}, {"kiln/1, wall": "2"})
    zone = found().answers.zone
    then, now = (
        Calendar(request=Request(datetime(2026, 4, 14, 8), Attendance(8, 20), closed), zone=zone)  # noqa: DTZ001
        for closed in ((), ("sat",))
    )
    assert moved(planned(), taken(), then, now) is None


def test_what_a_plan_is_kept_as_is_what_it_was_made_as():
    before = kept(planned(), found(), asked())
    assert store.parse(store.written(before), "plan").kilns[0].days[0].date == planned().days[0].date
    assert KILN


def test_what_planning_takes_of_a_job_is_read_once_of_an_assessment(monkeypatch):
    """Whether the plan holds, has taken in its log, and what it is made from all ask for it."""
    reads = []
    monkeypatch.setattr(of_job, "heatings", lambda found: reads.append(found) or heatings(found))
    anew = replace(found())
    of_job.taken(anew)
    inputs(anew)
    of_job.taken(anew)
    assert len(reads) == 1
    of_job.taken(replace(anew))
    assert len(reads) == 2
