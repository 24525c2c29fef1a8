"""What is later than what: clocks that were wrong, times that nobody wrote down, proofs that no longer held.

No document says how a wrong clock is to be judged. That the order in which lines were written tells more than a clock
that contradicts it is this project's own limit, and so is that what is worse and not timed is not undone by what was
seen before it was written.
"""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from recover.job.journal import Event
from tests.conftest import NOW
from tests.gates import ENDS, LATER, answers_at, assessed_at, completed, last, said, unsigned
from tests.test_gates import K, opens, states
from tests.test_hazards import CLEAR, EVERY, shut
from tests.test_undone import ELECTRICIAN

HOUR = timedelta(hours=1)
DAY_BEGINS = ENDS - 6 * HOUR

WORSE = {
    f"safe.dead{K}": {"value": "no"}, f"safe.upstream{K}": {"value": "no"}, "safe.water_gone": {"value": "no"},
    f"zone.insulation{K}/zone/1": {"value": 0.02}, f"earth.ohm{K}/bond/lid": {"value": 4},
    f"energise.rcd{K}": {"value": "no"}, f"energise.attended{K}": {"value": "no"}, f"supply.volts{K}": {"value": 480},
}  # fmt: skip


def by_a_clock_ahead(events, ahead):
    """Return a journal whose last day was written by a clock that stood ahead: lines and what was seen."""

    def moved(event):
        if event.moment < DAY_BEGINS:
            return event
        data = dict(event.data)
        if data.get("measured"):
            data["measured"] = (datetime.fromisoformat(data["measured"]) + ahead).isoformat(timespec="seconds")
        return replace(event, at=(event.moment + ahead).isoformat(timespec="seconds"), data=data)

    return tuple(map(moved, events))


@pytest.mark.parametrize("key", WORSE)
@pytest.mark.parametrize("ahead", [HOUR, 3 * HOUR, timedelta(days=1)], ids=str)
def test_what_is_worse_counts_after_a_clock_ran_ahead_and_was_set_right(key, ahead):
    now = ENDS + HOUR / 2
    told = said(by_a_clock_ahead(completed(), ahead), key, now, **ELECTRICIAN, **WORSE[key], measured=now.isoformat())

    for moment in (now, now + ahead):
        assert answers_at(told, moment).given[key].line == told[-1].n
        assert {states(told, moment)[point].state for point in ("energise", "own_heat")} == {"closed"}


@pytest.mark.parametrize("key", WORSE)
def test_what_is_worse_counts_also_by_a_clock_that_stands_behind(key):
    behind = ENDS - 5 * HOUR
    told = said(completed(), key, behind, **ELECTRICIAN, **WORSE[key], measured=behind.isoformat())

    assert answers_at(told, behind).given[key].line == told[-1].n
    assert {states(told, behind)[point].state for point in ("energise", "own_heat")} == {"closed"}


def test_what_is_told_late_of_an_earlier_time_still_changes_nothing():
    """The clock was right all along: a form of the morning is typed in the evening."""
    key, morning = f"zone.insulation{K}/zone/1", (ENDS - 20 * HOUR).isoformat()
    told = said(completed(), key, LATER, **ELECTRICIAN, value=3, measured=morning)

    assert answers_at(told).given[key].line < told[-1].n


def test_a_hazard_that_is_found_again_by_the_right_clock_is_open():
    """Cleared by a clock three hours fast, and found again after it was set right."""
    cleared, found = "hazard.cleared@hazard/fuel", "safe.hazards"
    of_cleared, of_found = (
        {"measured": moment.isoformat(), "written": moment.isoformat()} for moment in (NOW, NOW - 3 * HOUR)
    )
    known = {**CLEAR, found: ["fuel"], cleared: "cleared"}
    in_order = {key: known[key] for key in [*(one for one in known if one not in (cleared, found)), cleared, found]}

    assert set(shut(in_order, told={cleared: of_cleared, found: of_found}, now=NOW)) == EVERY


@pytest.mark.parametrize("key", WORSE)
def test_what_is_worse_counts_though_it_is_typed_a_while_after_it_was_seen(key):
    """Nobody knows how long ago the fast clock wrote: what is worse stands, and what is milder does not."""
    seen, typed = ENDS + HOUR / 2, ENDS + 3 * HOUR / 2
    told = said(
        by_a_clock_ahead(completed(), 3 * HOUR), key, typed, **ELECTRICIAN, **WORSE[key], measured=seen.isoformat()
    )

    assert answers_at(told, typed).given[key].line == told[-1].n
    assert {states(told, typed)[point].state for point in ("energise", "own_heat")} == {"closed"}


# ---------------------------------------------------------------------------------------- times nobody wrote down

UNTIMED = [
    (f"earth.ohm{K}/bond/lid", 4, 0.06), (f"safe.dead{K}", "no", "proven"), (f"safe.upstream{K}", "no", "locked"),
    ("safe.water_gone", "no", "yes"), (f"energise.rcd{K}", "no", "yes"), (f"energise.supply{K}", "no", "yes"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "bad", "good"), UNTIMED)
def test_what_is_worse_and_not_timed_is_not_undone_by_what_was_seen_before_it_was_written(key, bad, good):
    told = said(completed(), key, LATER, value=bad, measured="")
    told = said(told, key, LATER, **ELECTRICIAN, value=good, measured=(ENDS - HOUR / 2).isoformat())

    assert answers_at(told).given[key].value == bad
    assert states(told)["energise"].state == "closed"


@pytest.mark.parametrize(("key", "bad", "good"), UNTIMED)
@pytest.mark.parametrize("timed", [True, False])
def test_a_good_word_without_a_time_that_is_given_one_is_past_what_was_worse_since(key, bad, good, timed):
    told = said(completed(), key, LATER, **ELECTRICIAN, value=bad, measured=LATER.isoformat() if timed else "")
    told = said(told, key, LATER + HOUR / 60, **ELECTRICIAN, value=good, measured="")
    told = said(told, key, LATER + HOUR / 30, **ELECTRICIAN, value=good, measured=(ENDS - 3 * HOUR).isoformat())

    assert states(told, LATER + HOUR)["energise"].state == "closed"
    assert not opens(states(told, LATER + HOUR))["energise"]


@pytest.mark.parametrize(("key", "bad", "good"), UNTIMED)
def test_what_is_worse_counts_from_the_time_that_was_added_and_not_from_when_it_was_written(key, bad, good):
    told = said(unsigned(), key, LATER, **ELECTRICIAN, value=good, measured="")
    told = said(told, key, LATER + HOUR / 60, **ELECTRICIAN, value=good, measured=(LATER - HOUR).isoformat())
    told = said(told, key, LATER + HOUR / 30, **ELECTRICIAN, value=bad, measured=(LATER - HOUR / 2).isoformat())

    assert answers_at(told, LATER + HOUR).given[key].value == bad


@pytest.mark.parametrize("key", WORSE)
def test_a_good_word_by_a_slow_clock_does_not_beat_a_worse_one_of_a_later_time(key):
    """The right clock wrote a line, one that is forty minutes slow a good answer, the right one the worse."""
    good = {**last(completed(), key).data}
    right = said(completed(), "event.salt", LATER + HOUR, value="fresh", measured=(LATER + HOUR).isoformat())
    slow = said(right, key, LATER + HOUR / 5, **{**good, "measured": (LATER + HOUR / 6).isoformat()})
    seen = (LATER + HOUR / 3).isoformat()
    worse = said(slow, key, LATER + 1.2 * HOUR, **ELECTRICIAN, **WORSE[key], measured=seen)

    assert answers_at(worse, LATER + 2 * HOUR).given[key].line == worse[-1].n


def test_whoever_adds_the_time_to_what_they_said_is_heard():
    key = f"safe.dead{K}"
    told = said(unsigned(), key, LATER, value="proven", measured="")
    timed = said(told, key, LATER, **ELECTRICIAN, value="proven", measured=(ENDS - HOUR / 2).isoformat())

    assert "when it was seen or measured is not written down" in str(states(told)["isolated"].unmet)
    assert "not written down" not in str(states(timed)["isolated"].unmet)


def test_a_reading_that_is_not_known_any_more_is_not_known_by_an_older_one():
    """Also one that no gate puts a time on: the ohms of a probe."""
    key, at = "probe.loop@kiln/1/probe/1", LATER.isoformat()
    told = said(unsigned(), key, LATER, state="unknown", value=None, instrument="", details={}, measured=at)
    told = said(told, key, LATER, **last(unsigned(), key).data)

    assert answers_at(told).given[key].state == "unknown"


# ---------------------------------------------------------------------------------------- after what nothing proves


def test_after_a_clock_was_said_to_be_wrong_new_answers_count_at_once():
    """By hand or by `check --mend`: nothing up to there is evidence, and nothing of it is later than what follows."""
    ahead, now = by_a_clock_ahead(completed(), timedelta(days=1)), ENDS + HOUR / 2
    why = {"why": "a clock had run ahead", "files": {}, "unproved": len(ahead)}
    mended = (*ahead, Event(len(ahead) + 1, now.isoformat(), "A", "check", "set_aside", why, ""))
    for key, value in ((f"safe.upstream{K}", "locked"), (f"safe.dead{K}", "proven")):
        told = said(mended, key, now + HOUR, **ELECTRICIAN, value=value, measured=(now + HOUR).isoformat())
        known = answers_at(told, now + HOUR)

        assert known.given[key].line == told[-1].n
        assert not known.is_unproved(key)


# ---------------------------------------------------------------------------------------- a proof that no longer held


def read_again(events, moment):
    """Return a journal in which every reading is taken again at a moment."""
    keys = dict.fromkeys(one.data["question"] for one in events if one.kind == "reading")
    for key in keys:
        events = said(events, key, moment, measured=moment.isoformat())
    return events


def off_and_on(events):
    """The lock was off for a while."""
    for hours, value in ((1, "off"), (2, "locked")):
        moment = ENDS + hours * HOUR
        events = said(events, f"safe.upstream{K}", moment, **ELECTRICIAN, value=value, measured=moment.isoformat())
    return events


@pytest.mark.parametrize(
    ("before", "read", "says"),
    [(off_and_on, ENDS + 3 * HOUR, True), (lambda events: events, ENDS + 3 * HOUR, False),
     (lambda events: events, ENDS + 96 * HOUR, True)],
    ids=["a lock that was off", "a proof that held", "a proof of four days ago"],
)  # fmt: skip
def test_what_is_read_on_a_proof_that_was_undone_or_out_of_date_was_read_on_a_kiln_that_may_be_live(before, read, says):
    told = read_again(before(unsigned()), read)
    proven = read + HOUR
    told = said(told, f"safe.dead{K}", proven, **ELECTRICIAN, value="proven", measured=proven.isoformat())
    problems = " ".join(map(str, assessed_at(told, proven).problems))

    assert ("before the kiln was locked off and proven dead" in problems) is says


# ---------------------------------------------------------------------------------------- several words of one thing

LOCK, MINUTE, SECOND = f"safe.upstream{K}", timedelta(minutes=1), timedelta(seconds=1)


def lock(events, written, value, seen=None):
    return said(
        events, LOCK, LATER + written, **ELECTRICIAN, value=value, measured=(LATER + seen).isoformat() if seen else ""
    )


def test_a_time_added_to_a_good_word_forgets_no_worse_one_of_a_later_time():
    """Locked, no time; off at 60; locked, that was at 30; and once more at 36."""
    told = said(unsigned(), LOCK, LATER + 120 * MINUTE, **ELECTRICIAN, value="locked", measured="")
    told = lock(told, 121 * MINUTE, "no", 60 * MINUTE)
    for at, seen in ((122, 30), (123, 36)):
        told = lock(told, at * MINUTE, "locked", seen * MINUTE)

    assert answers_at(told, LATER + 3 * HOUR).given[LOCK].value == "no"


def test_after_a_fast_clock_an_older_good_word_does_not_beat_a_worse_one():
    told = lock(unsigned(), 120 * MINUTE, "locked", 120 * MINUTE)
    told = lock(told, 60 * MINUTE, "no", 55 * MINUTE)
    told = lock(told, 61 * MINUTE, "locked", 50 * MINUTE)

    assert answers_at(told, LATER + 2 * HOUR).given[LOCK].value == "no"


def test_two_machines_a_few_seconds_apart_disturb_no_order():
    """A slip and its correction of the same minute, and a note by a machine that is two seconds slow."""
    told = lock(unsigned(), 20 * SECOND, "no", SECOND)
    told = lock(told, 30 * SECOND, "locked", SECOND)
    note = Event(
        told[-1].n + 1, (LATER + 28 * SECOND).isoformat(), "B", "test", "note", {"question": LOCK, "text": "x"}, ""
    )

    assert answers_at((*told, note), LATER + HOUR).given[LOCK].value == "locked"
