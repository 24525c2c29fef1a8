"""A drying that is under way goes on from today by what was read; what was planned for days behind it stands."""

import json
import tempfile
from dataclasses import replace
from datetime import timedelta
from functools import cache
from pathlib import Path

import pytest

from recover.base.fingerprint import fingerprint
from recover.job.folder import open_job
from recover.job.journal import Journal
from recover.judged.assessment import assess
from recover.plan import planning, store
from recover.plan.inputs import inputs
from recover.plan.request import request
from recover.plan.under_way import under_way
from recover.plan.whole import JobPlan
from recover.report import calendar, plan_json, plan_section
from recover.report.day import dated, shut_by
from recover.report.paper import Numbered
from recover.report.plan_days import dates
from tests.plan_job import SMALL, say, write
from tests.small_kiln import one_path
from tests.test_planning import MONEY

LEAST_K = 60.0
"""So much hotter no draw of a small kiln is, whatever it is made of."""


def silent(_what, _share):
    """Say nothing of the progress."""


class Dried:
    """A job with its plan, dried day by day: what is logged, and the plan that is made next."""

    def __init__(self):
        self.job = write(Path(tempfile.mkdtemp(prefix="recover-drying-")) / "job", {**SMALL, **MONEY})
        found = assess(self.job)
        self.asks = request(found, None).request
        self.first = self.plan = self.kept(found, planning.kiln_plans(found, self.asks, silent))

    def kept(self, found, kilns) -> JobPlan:
        return JobPlan(
            number=1, made=found.answers.now.isoformat(), program="recover", head=found.head, inputs=inputs(found),
            fingerprint=fingerprint(), seed=1, draws=64, zone="Europe/London", request=self.asks, kilns=kilns,
        )  # fmt: skip

    @property
    def kiln(self):
        return self.plan.kilns[0]

    def logs(self, *lines, at):
        with Journal(self.job.journal, lambda: at) as journal:
            for data in lines:
                journal.append("logged", {"kiln": "kiln/1", **data}, by="A. Ttendant", source="log")
        self.job = open_job(self.job.folder)

    def day_as_expected(self, number, *, casing_k=0.0):
        """Log a day's middle figures, its casing so much beside them."""
        day = self.kiln.days[number - 1]
        self.logs(*(
            {"what": one.what, "place": one.place, "unit": one.unit,
             "measured": (one.at or day.attended_to).isoformat(),
             "value": round(one.mid + (casing_k if one.what == "casing" else 0.0), 2)}
            for one in day.readings if one.mid is not None
        ), at=day.attended_to)  # fmt: skip
        return day

    def goes_on(self, now):
        found = assess(self.job, now)
        current = planning.has_taken_in(found, self.plan)
        self.plan = self.kept(found, planning.kiln_plans(found, self.asks, silent, self.plan))
        assert planning.has_taken_in(found, self.plan)
        return current


@cache
def after_two_days():
    drying = Dried()
    for number in (1, 2):
        day = drying.day_as_expected(number)
        drying.goes_on(day.attended_to + timedelta(hours=1))
    return drying


@cache
def of_another_kiln():
    drying = Dried()
    day = drying.day_as_expected(1, casing_k=LEAST_K)
    drying.goes_on(day.attended_to + timedelta(hours=1))
    return drying


# ---------------------------------------------------------------------------------------- it goes on


def test_days_behind_it_stand_as_they_were_planned_and_the_others_are_new():
    first, now = after_two_days().first.kilns[0], after_two_days().kiln
    assert now.days[0] == first.days[0]
    assert now.days[2].left != first.days[2].left
    assert [day.number for day in now.days] == list(range(1, len(now.days) + 1))
    assert [day.date - now.days[0].date for day in now.days] == [timedelta(days=n) for n in range(len(now.days))]


def test_what_was_learnt_stands_beside_what_was_assumed_and_what_the_first_plan_told():
    drying, learnt = after_two_days(), after_two_days().kiln.learnt
    assert learnt.goes_on == 3
    assert learnt.at_first == drying.first.kilns[0].path.first_firing
    assert learnt.readings > 0
    assert learnt.not_run == ()
    assert learnt.left.p90 - learnt.left.p10 < learnt.assumed.p90 - learnt.assumed.p10
    assert drying.kiln.because.startswith("Goes on from day 3")


def test_the_share_left_goes_on_referring_to_the_first_water():
    learnt, next_day = after_two_days().kiln.learnt, after_two_days().kiln.days[2]
    assert next_day.left.p50 < learnt.left.p50 < 1


def test_a_plan_is_made_again_only_where_something_was_read_or_a_day_went_by():
    drying = after_two_days()
    last = drying.kiln.days[1].attended_to
    assert planning.has_taken_in(assess(drying.job, last + timedelta(hours=3)), drying.plan)
    assert not planning.has_taken_in(assess(drying.job, last + timedelta(days=1)), drying.plan)
    assert not planning.has_taken_in(assess(drying.job, last), drying.first)


def test_what_ended_after_it_was_worked_by_takes_no_date_from_the_days_to_come(monkeypatch):
    """Boards came out on day 1 by a consent that has ended since: nothing that is still to be done waits for it."""
    drying = after_two_days()
    found = assess(drying.job, drying.kiln.days[1].attended_to + timedelta(hours=1))
    monkeypatch.setattr("recover.report.day.forbidden", lambda _found, _kiln, day: day.number == 1)
    assert dated(found, drying.kiln, drying.kiln.days[2])
    monkeypatch.setattr("recover.report.day.forbidden", lambda _found, _kiln, day: day.number == 3)
    assert not dated(found, drying.kiln, drying.kiln.days[2])
    before = assess(drying.job, drying.kiln.days[0].attended_from - timedelta(days=1))
    monkeypatch.setattr("recover.report.day.forbidden", lambda _found, _kiln, day: day.number == 1)
    assert not dated(before, drying.kiln, drying.kiln.days[2])


def test_it_can_be_stored_and_read_back():
    plan = after_two_days().plan
    assert store.parse(store.written(plan), "plan").kilns[0].learnt.goes_on == 3


def test_a_day_without_a_line_was_not_run_and_what_is_to_come_is_later():
    drying = Dried()
    day = drying.day_as_expected(1)
    drying.goes_on(day.attended_to + timedelta(days=1, hours=1))
    learnt = drying.kiln.learnt
    assert (learnt.goes_on, learnt.not_run) == (3, (2,))
    assert drying.kiln.path.first_firing.p90 >= after_two_days().kiln.path.first_firing.p90


def test_begun_anew_it_forgets_what_was_read():
    drying = after_two_days()
    found = assess(drying.job, drying.kiln.days[1].attended_to + timedelta(hours=1))
    anew = request(found, drying.plan, start="2026-04-20").request
    assert under_way(found, drying.plan, planning.of_job.taken(found)[0], anew) is None


def test_readings_of_a_day_that_contradict_each_other_are_named_by_the_plan():
    """The piece is heavier than expected, and the casing as warm as over a drier wall; the day after they agree."""
    drying = Dried()
    drying.day_as_expected(1)
    day = drying.kiln.days[1]
    high = {"piece": 4.0, "casing": 1.5}
    drying.logs(*(
        {"what": one.what, "place": one.place, "unit": one.unit, "measured": (one.at or day.attended_to).isoformat(),
         "value": round(one.high + high[one.what], 2)}
        for one in day.readings if one.what in high and one.high is not None
    ), at=day.attended_to)  # fmt: skip
    drying.goes_on(day.attended_to + timedelta(hours=1))
    assert "The piece and the casing contradict each other" in drying.kiln.because
    drying.goes_on(drying.day_as_expected(3).attended_to + timedelta(hours=1))
    assert "contradict" not in drying.kiln.because


# ---------------------------------------------------------------------------------------- of another kiln


def test_readings_that_no_draw_shows_are_said_and_shut_what_is_to_come():
    drying, learnt = of_another_kiln(), of_another_kiln().kiln.learnt
    found = assess(drying.job, drying.kiln.days[0].attended_to + timedelta(hours=1))
    assert learnt.shut
    assert drying.kiln.because.endswith(" ".join(learnt.misfits))
    assert any("the casing was read" in line and "hotter" in line for line in learnt.misfits)
    first, *later = drying.kiln.days
    assert not {*learnt.misfits} & {*shut_by(found, drying.kiln, first)}
    assert all({*learnt.misfits} <= {*shut_by(found, drying.kiln, day)} for day in later)
    assert not any(dated(found, drying.kiln, day) for day in later)


def test_once_somebody_has_looked_it_goes_on_with_a_kiln_that_is_doubted():
    shut = of_another_kiln()
    drying = Dried.__new__(Dried)
    drying.__dict__.update(shut.__dict__)
    evening = shut.kiln.days[0].attended_to + timedelta(hours=2)
    drying.logs({"what": "looked", "said": "the meter was set to °F", "measured": evening.isoformat()}, at=evening)
    drying.goes_on(evening + timedelta(minutes=5))
    assert drying.kiln.learnt.misfits
    assert not drying.kiln.learnt.shut


def test_rain_in_mid_drying_shuts_every_day_from_then_on_and_a_plan_begun_anew_is_open():
    drying = Dried()
    day = drying.day_as_expected(1)
    noon = drying.kiln.days[1].attended_from + timedelta(hours=4)
    drying.logs({"what": "rain", "word": "rain", "measured": noon.isoformat()}, at=noon)
    found = assess(drying.job, noon + timedelta(minutes=5))
    first, *later = drying.kiln.days
    assert day == first
    assert not any("came to the kiln again" in line for line in shut_by(found, drying.kiln, first))
    assert all("came to the kiln again" in shut_by(found, drying.kiln, one)[0] for one in later)
    assert not any(dated(found, drying.kiln, one) for one in later)
    moved = replace(drying.kiln, days=tuple(replace(one, date=one.date + timedelta(days=30)) for one in later))
    assert "came to the kiln again" in shut_by(found, moved, moved.days[0])[0]
    (refused,) = request(found, drying.plan, start="2026-04-20")
    assert "water came again while it dried" in str(refused)
    say(drying.job.folder, {"event.water_out": "2026-03-13T18:00:00+00:00"}, noon + timedelta(days=2))
    anew = assess(open_job(drying.job.folder))
    assert request(anew, drying.plan, start="2026-04-20").request.opens.day == 20
    assert not any("came to the kiln again" in line for line in shut_by(anew, moved, moved.days[0]))


@pytest.mark.parametrize("word", ["water", "rcd_trip"])
def test_what_shuts_a_plan_in_mid_drying_takes_back_by_when_it_can_be_fired(word):
    """Nothing that is printed, or read by a program, holds the date of before."""
    drying = Dried()
    day = drying.day_as_expected(1)
    before = assess(drying.job, day.attended_to)
    noon = drying.kiln.days[1].attended_from + timedelta(hours=4)
    drying.logs({"what": "stopped", "word": word, "measured": noon.isoformat()}, at=noon)
    after = assess(drying.job, noon + timedelta(minutes=5))

    def told(found):
        (written,) = json.loads(plan_json.json_text(found, drying.plan))["kilns"]
        (kiln,) = plan_section.plan_section(found, drying.plan, Numbered())["kilns"]
        return written, [row["fires"] for row in kiln["paths"]]

    path = drying.kiln.path
    (now, row), (then, row_then) = told(after), told(before)
    assert "withdrawn" not in then
    assert any(one["first_firing"] for one in then["paths"])
    assert any(dates(path.first_firing.p50, path.first_firing.p90) in fires for fires in row_then)
    assert now["withdrawn"]
    assert not any(one["first_firing"] for one in now["paths"])
    assert not any(dates(path.first_firing.p50, path.first_firing.p90) in fires for fires in row)


def test_water_after_the_last_day_takes_the_first_firing_out_of_the_calendar():
    drying = Dried()
    drying.day_as_expected(1)
    last = drying.kiln.days[-1]
    morning = (last.attended_to or drying.kiln.days[-2].attended_to) + timedelta(days=1)

    dry = assess(drying.job, morning)

    def fired(found):
        blocks = calendar.of_job(found, drying.plan, stood=lambda _: (dry,)).split("BEGIN:VEVENT")
        return [block for block in blocks if "earliest normal firing" in block]

    drying.logs({"what": "rain", "word": "rain", "measured": morning.isoformat()}, at=morning)
    found = assess(drying.job, morning + timedelta(minutes=5))
    assert not any("TENTATIVE" in block for block in fired(found))
    assert any("CANCELLED" in block for block in fired(found))


def test_what_is_taken_in_after_somebody_looked_had_been_seen_by_nobody():
    """Rows of before it, out of a logger that was read out late."""
    drying = Dried()
    day = drying.day_as_expected(1)
    evening = day.attended_to + timedelta(hours=2)
    drying.logs({"what": "looked", "said": "nothing found", "measured": evening.isoformat()}, at=evening)
    drying.logs(*(
        {"what": one.what, "place": one.place, "unit": one.unit, "measured": one.at.isoformat(), "value": 140.0}
        for one in day.readings if one.what == "casing"
    ), at=evening + timedelta(minutes=1))  # fmt: skip
    drying.goes_on(evening + timedelta(minutes=5))
    assert drying.kiln.learnt.shut


def test_water_that_stopped_a_day_shuts_as_rain_does():
    drying = Dried()
    drying.day_as_expected(1)
    noon = drying.kiln.days[1].attended_from + timedelta(hours=4)
    drying.logs({"what": "stopped", "word": "water", "measured": noon.isoformat()}, at=noon)
    found = assess(drying.job, noon + timedelta(minutes=5))
    assert "came to the kiln again" in shut_by(found, drying.kiln, drying.kiln.days[1])[0]


def test_a_slip_that_is_taken_back_shuts_nothing():
    drying = Dried()
    day = drying.day_as_expected(1)
    at = day.attended_to.isoformat()
    place = next(one.place for one in day.readings if one.what == "casing")
    slip = {"what": "casing", "place": place, "unit": "°C", "value": 460.0, "measured": at}
    drying.logs(slip, at=day.attended_to)
    line = open_job(drying.job.folder).events[-1].n
    drying.logs({"what": "casing", "measured": at, "takes_back": line}, at=day.attended_to)
    drying.goes_on(day.attended_to + timedelta(hours=1))
    assert drying.kiln.learnt.misfits == ()


@pytest.fixture(autouse=True, scope="module")
def _paths_run_once():
    """Every drying here begins with the same plan: the path that is followed is run once."""
    kept = planning.kiln_plans
    with one_path() as patch:
        first: dict[str, tuple] = {}

        def once(found, asks, told, before=None):
            if before is not None:
                return kept(found, asks, told, before)
            if "plans" not in first:
                first["plans"] = kept(found, asks, told)
            return first["plans"]

        patch.setattr(planning, "kiln_plans", once)
        yield
