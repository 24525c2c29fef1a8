"""What is asked of a plan: read from what people write, as in the plan before where it is left out, refused at once."""

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.base.errors import Problem
from recover.plan.clock import is_closed
from recover.plan.request import WEEKDAYS, Requested, request
from recover.plan.ways import ways
from tests import sample_plan
from tests.conftest import assessed, cases

pytestmark = pytest.mark.quick

FOUND = assessed({"scope.kilns": 1})
"""Every line of it was written on 10 March 2026, a Tuesday."""


def asked(before=None, found=FOUND, **words):
    read = request(found, before, **words)
    assert isinstance(read, Requested), read
    return read


def problems(before=None, found=FOUND, **words):
    read = request(found, before, **words)
    assert isinstance(read, tuple)
    assert all(isinstance(one, Problem) for one in read)
    return [str(one) for one in read]


def before(**words):
    """Return a plan that was made for this."""
    return replace(sample_plan.job_plan(), request=asked(**words).request)


# ---------------------------------------------------------------------------------------- what is left out


def test_at_first_somebody_comes_every_day_from_eight_to_eight_from_the_day_after_the_last_line():
    of = asked().request

    assert (f"{of.opens:%Y-%m-%d %H:%M}", str(of.attendance)) == ("2026-03-11 08:00", "08:00-20:00")
    assert (of.closed, of.path) == ((), "")


def test_what_is_left_out_is_as_in_the_plan_before():
    words = {"path": "enclosure", "attend": "06:00-18:00", "start": "2026-03-16", "closed": "sat,sun"}
    last = before(**words)

    assert asked(last).request == last.request
    assert asked(last, closed="sun").request == replace(last.request, closed=("sun",))
    assert asked(last, path="own").request == replace(last.request, path="own")


def test_the_recommended_path_and_no_closed_day_are_asked_for_by_their_words():
    of = asked(before(path="enclosure", closed="sat,sun"), path="recommended", closed="none").request

    assert (of.path, of.closed) == ("", ())


# ---------------------------------------------------------------------------------------- closed days


@pytest.mark.parametrize(
    ("written", "closed"),
    [
        ("sat,sun", ("sat", "sun")),
        ("Sun, SAT", ("sat", "sun")),
        ("sat,sat", ("sat",)),
        ("2026-12-25", ("2026-12-25",)),
        ("2026-12-24/2027-01-02,sun", ("sun", "2026-12-24/2027-01-02")),
        ("2026-12-24 / 2027-01-02", ("2026-12-24/2027-01-02",)),
        ("2026-12-25/2026-12-25", ("2026-12-25",)),
        ("2027-01-01,2026-12-25", ("2026-12-25", "2027-01-01")),
        ("none", ()),
        ("", ()),
    ],
)
def test_closed_days_are_read_in_order_each_once(written, closed):
    assert asked(closed=written).request.closed == closed


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("caturday", ["closed: 'caturday' is no day; expected a weekday (mon, tue"]),
        ("2026-02-30", ["closed: '2026-02-30' is no day"]),
        ("2026-12-24/", ["closed: '2026-12-24/' is no day"]),
        ("2026-01-01/2026-01-02/2026-01-03", ["is no day"]),
        ("2027-01-02/2026-12-24", ["is no span; expected its first day first"]),
        ("2026-01-01/2028-01-01", ["is no span; expected its first day first, its last within a year"]),
        ("mon,tue,wed,thu,fri,sat,sun", ["closed: every day of the week is closed; expected one"]),
        ("caturday,2026-02-30,sun", ["'2026-02-30' is no day", "'caturday' is no day"]),
    ],
)
def test_days_that_are_none_are_told_all_at_once(written, said):
    told = problems(closed=written)

    assert len(told) == len(said)
    for sentence, words in zip(sorted(told), sorted(said), strict=True):
        assert words in sentence


@pytest.mark.parametrize(
    ("start", "closed", "opens", "said"),
    [
        ("2026-03-14", "sat,sun", "2026-03-16", "2026-03-14 is closed; the first opening is Monday 2026-03-16."),
        ("2026-03-13", "2026-03-13/2026-03-20,sat,sun", "2026-03-23", "the first opening is Monday 2026-03-23."),
        (None, "wed", "2026-03-12", "2026-03-11 is closed; the first opening is Thursday 2026-03-12."),
        ("2026-03-13", "sat,sun", "2026-03-13", ""),
    ],
)
def test_a_start_on_a_closed_day_moves_to_the_next_open_one_and_that_is_said(start, closed, opens, said):
    """14 March 2026 is a Saturday (any calendar)."""
    read = asked(start=start, closed=closed)

    assert f"{read.request.opens:%Y-%m-%d %H:%M}" == f"{opens} 08:00"
    assert said in " ".join(read.says)
    assert bool(read.says) == bool(said)


@given(st.sets(st.sampled_from(WEEKDAYS), max_size=6), st.integers(0, 400), st.integers(0, 30), st.integers(1, 60))
@cases(100)
def test_a_first_opening_is_the_first_open_day_there_is(days, span_from, span_days, start):
    first = date(2026, 3, 10) + timedelta(days=span_from)
    span = f"{first}/{first + timedelta(days=span_days)}"
    wanted = date(2026, 3, 10) + timedelta(days=start)
    of = asked(start=str(wanted), closed=",".join([*days, span])).request

    assert not is_closed(of, of.opens.date())
    assert wanted <= of.opens.date()
    for day in range((of.opens.date() - wanted).days):
        assert is_closed(of, wanted + timedelta(days=day))


# ---------------------------------------------------------------------------------------- paths, and all the rest


@pytest.mark.parametrize("shifts", ["", "_shifts"])
@pytest.mark.parametrize("way", [one.id for one in ways().way])
def test_every_path_can_be_asked_for_also_in_shifts(way, shifts):
    assert asked(path=f"{way}{shifts}").request.path == f"{way}{shifts}"


def test_everything_that_is_wrong_is_said_at_once():
    told = problems(path="sun", attend="words", start="soon", closed="caturday")

    assert [sentence.partition(":")[0] for sentence in told] == ["path", "attendance", "start", "closed"]


def test_a_first_opening_that_is_not_when_attendance_begins_is_a_problem():
    (late,) = problems(start="2026-06-10 10:00")
    (offset,) = problems(start="2026-06-10 08:00+00:00")

    assert late == "opens: 10:00 is not when attendance 08:00-20:00 begins; expected 08:00"
    assert "names an offset" in offset


def test_an_honest_no_is_planned_with_as_what_nobody_knows_is():
    """No fan and no dehumidifier was once refused, and *unknown* planned."""
    for said in ({"plan.exhaust": 0.0, "plan.dehumidifier": 0.0}, {"plan.exhaust": 0.0}, {"plan.exhaust": 30.0}):
        assert asked(found=assessed({"scope.kilns": 1, **said}))


# ---------------------------------------------------------------------------------------- a plan that is under way


def begun(day):
    """Return a plan whose first opening is on a day of March 2026."""
    return replace(before(), request=replace(before().request, opens=datetime(2026, 3, day, 8)))  # noqa: DTZ001


def test_what_is_read_while_a_kiln_dries_begins_no_plan_anew_and_that_is_said_in_one_line():
    """The last line is of 10 March: on the tenth day of this drying."""
    read = asked(begun(1))

    assert read.request == begun(1).request
    assert read.says == (
        "The plan goes on from its first opening on 2026-03-01, and what was read since is not in it; "
        "it is begun anew with --start DATE.",
    )


@pytest.mark.parametrize("day", [10, 11])
def test_of_a_first_opening_that_has_nothing_read_after_its_day_nothing_is_said(day):
    assert asked(begun(day)).says == ()
    assert asked(begun(day)).request.opens.day == day


def test_a_plan_that_is_under_way_keeps_its_first_day_where_somebody_comes_at_another_hour_of_it():
    assert f"{asked(begun(1), attend='06:00-18:00').request.opens:%Y-%m-%d %H:%M}" == "2026-03-01 06:00"


def test_only_a_start_that_is_asked_for_may_not_lie_before_the_last_line():
    (said,) = problems(begun(1), start="2026-03-01")

    assert said.startswith("start: 2026-03-01 lies before the journal's last entry; expected 2026-03-10 or later")
    assert f"{asked(begun(1), start='2026-03-12').request.opens:%Y-%m-%d}" == "2026-03-12"
