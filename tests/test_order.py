"""What is later than what: clocks that were wrong, times that nobody wrote down, proofs that no longer held.

No document says how a wrong clock is to be judged. That the order in which lines were written tells more than a clock
that contradicts it is this project's own limit, and so is that what is worse and not timed is not undone by what was
seen before it was written.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from recover.asked.told import is_later, known_at, may_be_after, seen_at, seen_since, to_the_minute
from recover.job.journal import Event
from recover.job.rescue import Legible, _renumbered
from tests.conftest import NOW, answers_from, events_of
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


def test_a_meter_and_an_answer_of_before_a_clock_ran_ahead_count_on_and_an_older_line_voids_all_up_to_its_last():
    """Of a line that names no first one, as older versions wrote it, all before the last is meant."""
    told, now = completed(), ENDS + HOUR / 2
    key = f"safe.upstream{K}"
    last = next(one for one in reversed(told) if one.data.get("question") == "scope.kilns").n
    why = {"why": "a clock had run ahead", "files": {}, "unproved": len(told)}
    apart, whole = (
        answers_at((*told, Event(len(told) + 1, now.isoformat(), "A", "check", "set_aside", data, "")), now)
        for data in (why | {"unproved_from": len(told)}, why)
    )

    assert not apart.is_line_unproved(last)
    assert apart.is_line_unproved(len(told))
    assert apart.instruments == answers_at(told, now).instruments != {}
    assert not apart.is_unproved(key)
    assert whole.is_unproved(key)
    assert whole.instruments == {}


def test_a_journal_that_is_chained_anew_keeps_from_which_line_to_which_a_clock_was_wrong():
    """Behind the first line stands the one that tells of the rescue: every other is one further on."""
    told = completed()[:4]
    data = {"why": "a clock had run ahead", "files": {}, "unproved": 4, "unproved_from": 3}
    rows = [Legible(b"", one, False) for one in (*told, Event(5, told[-1].at, "A", "check", "set_aside", data, ""))]
    *_, mended = _renumbered(rows)

    assert (mended.data["unproved_from"], mended.data["unproved"]) == (4, 5)


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


# ---------------------------------------------------------------------------------------- a small journal

NINE, KNOWN = NOW - 3 * HOUR, tuple(events_of({"scope.kilns": 1}))
SIGHTINGS = [
    (f"event.reach{K}", "base", "over", "over"), (f"event.water_line{K}", 90, 1500, 1500),
    (f"event.above{K}", ["box"], ["lid"], frozenset({"box", "lid"})),
]  # fmt: skip


def noted(key, *told, events=KNOWN):
    """Return a journal with further answers to a key: minutes after nine when it was written and seen, and its value.

    A value of None is that nobody knows, a time of None that nobody wrote it down.
    """
    for written, seen, value in told:
        state = "unknown" if value is None else "given"
        measured = "" if seen is None else (NINE + seen * MINUTE).isoformat()
        events = said(events, key, NINE + written * MINUTE, **{**ELECTRICIAN, "state": state}, value=value,
                      measured=measured)  # fmt: skip
    return events


def stands(events, key):
    return answers_at(events, NOW).given[key].value


@pytest.mark.parametrize(("key", "milder", "worse", "together"), SIGHTINGS)
@pytest.mark.parametrize("seen", [50, 120], ids=["before it", "after it"])
def test_a_time_added_to_what_happened_takes_no_worse_sighting_back(key, milder, worse, together, seen):
    """The water line of a passer-by, seen at ten and told after the owner's; the owner adds when theirs was."""
    told = noted(key, (130, None, milder), (131, 60, worse))
    timed = noted(key, (132, seen, milder), events=told)

    assert stands(told, key) == stands(timed, key) == together


def test_a_milder_word_that_was_of_before_a_look_takes_the_place_of_nothing_that_was_added_to_it():
    """Base at noon; over the base, seen at ten; base, no time, and then: that was at half past nine."""
    key = f"event.reach{K}"
    told = noted(key, (170, 170, "base"), (171, 60, "over"), (172, None, "base"))

    assert stands(told, key) == "base"
    assert stands(noted(key, (173, 30, "base"), events=told), key) == "over"
    assert stands(noted(key, (174, 174, "base"), events=told), key) == "base"


def broken(events, **what):
    """Return a journal that was broken up to its last line."""
    data = {"why": "chained anew", "files": {}, "unproved": events[-1].n, **what}
    return (*events, Event(events[-1].n + 1, events[-1].at, "A", "check", "set_aside", data, ""))


@pytest.mark.parametrize("what", [{"doubtful": [3]}, {"lost": [LOCK]}], ids=str)
@pytest.mark.parametrize(("before", "since"), [("locked", "no"), ("no", "locked")])
def test_what_may_have_been_altered_does_not_come_back_with_a_time_that_is_added_later(what, before, since):
    """It decides nothing, to either side; nor does what a line may have corrected that can be read no more."""
    told = broken(noted(LOCK, (90, 90, before)), **what)
    given_again = noted(LOCK, (100, None, since), events=told)

    assert stands(told, LOCK) is None
    assert stands(noted(LOCK, (101, 60, since), events=given_again), LOCK) == since


SAYS_NOTHING_ELSE = [
    (LOCK, "locked", "no"), ("event.salt", "fresh", "sea"), (f"zone.insulation{K}/zone/1", 4.2, 0.4),
]  # fmt: skip


@pytest.mark.parametrize(("key", "good", "bad"), SAYS_NOTHING_ELSE)
def test_of_two_words_of_one_minute_what_is_worse_stands_whichever_was_written_first(key, good, bad):
    """Forty seconds past, and then twenty seconds past: people tell minutes."""
    for first, then in ((good, bad), (bad, good)):
        assert stands(noted(key, (2, 40 / 60, first), (3, 20 / 60, then)), key) == bad
    assert stands(noted(key, (2, 40 / 60, good), (3, 20 / 60, None)), key) is None
    assert stands(noted(key, (2, 40 / 60, good), (3, 20 / 60, bad), (4, 30 / 60, good)), key) == bad
    assert stands(noted(key, (2, 20 / 60, bad), (3, 40 / 60, good)), key) == good


def test_of_two_words_of_one_second_a_time_that_is_added_is_that_of_the_last():
    """Off, and locked at once, neither with its time: it was locked a quarter of an hour before."""
    assert stands(noted(LOCK, (60, None, "no"), (60, None, "locked"), (61, 45, "locked")), LOCK) == "no"


def test_what_was_said_to_be_of_a_time_to_come_gives_way_to_what_takes_its_place_and_to_nothing_else():
    """Locked, in ten years; off at ten to ten. What was seen between those two is later than the last alone."""
    ten_years = 10 * 365 * 24 * 60
    off = noted(LOCK, (60, ten_years, "locked"), (61, 50, "no"))
    locked = noted(LOCK, (60, 60, "no"), (61, ten_years, "locked"), (62, 50, "locked"), (63, 55, "locked"))

    assert stands(off, LOCK) == "no"
    assert stands(noted(LOCK, (62, 55, "locked"), events=off), LOCK) == "locked"
    assert stands(noted(LOCK, (62, 45, "locked"), events=off), LOCK) == "no"
    assert answers_at(locked, NOW).given[LOCK].line == 4


@pytest.mark.parametrize("key", ["scope.fuel", "another.version"])
def test_of_two_words_of_one_minute_of_which_none_is_worse_the_last_written_stands(key):
    known = noted(key, (2, 40 / 60, "gas"), (3, 20 / 60, "electric"))

    assert stands(known, key) == ("electric" if key == "scope.fuel" else "gas")


@pytest.mark.parametrize(
    ("key", "known", "then"),
    [
        ("event.salt", "fresh", "fresh"),
        (LOCK, "locked", None),
        (f"probe.loop{K}/probe/1", 2, None),
        (f"casing.level{K}", "yes", None),
    ],
)
def test_that_nobody_knows_is_a_word_of_its_own_time_of_evidence_and_readings_alone(key, known, then):
    """Not known at ten; a form of nine is typed after that."""
    assert stands(noted(key, (60, 60, None), (61, 0, known)), key) == then


def test_no_answer_is_later_than_itself():
    one = answers_at(noted(LOCK, (60, 60, "locked")), NOW).given[LOCK]

    assert not is_later(one, one)
    assert not may_be_after(one, one)


@pytest.mark.parametrize(
    ("key", "value", "other"),
    [(f"event.above{K}", ["box", "lid", "casing"], ["box", "lid"]), (f"zone.insulation{K}/zone/1", 4.2, 4.3),
     (LOCK, "locked", "no")],
)  # fmt: skip
def test_the_same_of_the_same_time_and_person_is_the_same_matter_whenever_it_is_written(key, value, other):
    turned = value[::-1] if isinstance(value, list) else value
    told = noted(key, (60, 60, value), (90, 60, turned), (91, 60, other), (92, 61, value))
    first, again, another, later = (one.matter for one in answers_at(told, NOW).history[key])

    assert first == again
    assert first not in (another, later)


def test_a_moment_is_told_to_the_minute():
    assert to_the_minute(NINE + timedelta(seconds=40, milliseconds=500)) == NINE


@pytest.mark.parametrize(("ahead", "since"), [(10, 10), (11, 0)])
def test_a_clock_that_wrote_more_than_ten_minutes_ahead_of_a_later_line_was_ahead(ahead, since):
    """Ten minutes are this project's own: of two machines no farther apart each is right."""
    events = noted("event.salt", (30, 30, "fresh"), events=noted(LOCK, (30 + ahead, 30 + ahead, "locked")))

    assert seen_since(answers_at(events, NOW).given[LOCK]) == NINE + (30 + since) * MINUTE


def test_what_a_clock_wrote_that_stood_behind_may_be_of_any_time_from_what_it_says_to_the_line_before():
    one = answers_at(noted(LOCK, (30, 20, "locked"), events=noted("event.salt", (60, 60, "fresh"))), NOW).given[LOCK]

    assert (seen_since(one), seen_at(one)) == (NINE + 20 * MINUTE, NINE + 50 * MINUTE)
    assert known_at(one) == seen_at(one)


def test_nothing_was_so_later_than_it_was_written():
    late, slip = (answers_at(noted(LOCK, (30, seen, "locked")), NOW).given[LOCK] for seen in (20, 35))

    assert (known_at(late), seen_at(late)) == (NINE + 20 * MINUTE, NINE + 20 * MINUTE)
    assert (known_at(slip), seen_at(slip)) == (NINE + 30 * MINUTE, NINE + 35 * MINUTE)


def test_what_a_clock_wrote_that_was_ahead_of_what_is_said_of_it_is_of_no_later_time():
    told = answers_at(broken(noted(LOCK, (30, 90, "locked"), events=noted("event.salt", (20, 20, "fresh")))), NOW)

    assert seen_at(told.given[LOCK]) == seen_at(told.history[LOCK][0]) == NINE + 30 * MINUTE
    assert seen_since(told.given[LOCK]) <= NINE + 30 * MINUTE
    assert seen_at(told.given["event.salt"]) == NINE + 20 * MINUTE


def test_a_need_is_looked_at_again_at_each_line_that_may_change_it():
    """Answers it asks for, a member taken out, a meter, a picture, what was set aside, a clock that was wrong."""
    events = noted(LOCK, (60, 60, "locked"), events=noted("event.salt", (50, 50, "fresh")))
    events = said(events, "scope.zones" + K, NINE + HOUR, state="not_applicable", value=None)
    for kind in ("instrument", "photograph", "set_aside", "note", "issue"):
        events = (*events, Event(events[-1].n + 1, events[-1].at, "A", "test", kind, LINES[kind], ""))
    events = noted("event.silt@kiln/1", (50, 50, "none"), (49, 49, "none"), events=events)
    looked_at = answers_at(events, NOW).lines_since

    assert list(looked_at(2, {"safe.upstream"})) == [4, 5, 6, 7, 8, 12]
    assert list(looked_at(4, {"safe.upstream", "event.salt"})) == [5, 6, 7, 8, 12]
    assert list(looked_at(2, {"event.salt"})) == [3, 5, 6, 7, 8, 12]
    assert answers_at(events, NOW).moment_of(12) == NINE + 49 * MINUTE


def test_what_is_issued_is_no_entry_in_the_record_of_the_kiln():
    issue = Event(3, (NINE + HOUR).isoformat(), "A", "test", "issue", LINES["issue"], "")

    assert answers_at((*KNOWN, issue), NOW).last_entry == NINE


LINES = {
    "instrument": {"id": "I2", "what": "multimeter", "maker": "", "serial": "", "calibrated": ""},
    "photograph": {"id": "P1", "file": "photographs/p.jpg", "sha256": "0" * 64, "taken": None, "question": "",
                   "bound_by": "", "printable": True},
    "set_aside": {"why": "lost", "files": {}}, "note": {"question": LOCK, "text": "x"},
    "issue": {"papers": ["recovery"], "revision": 1, "record": "", "capacity": "", "files": {}},
}  # fmt: skip


def test_the_role_in_which_somebody_spoke_or_signed_last_comes_first():
    told = noted(LOCK, (60, 60, "locked"), events=said(KNOWN, "event.salt", value="fresh", who="Lectrician, E.",
                                                       role="owner"))  # fmt: skip

    assert answers_at(told, NOW).roles_of("E. Lectrician") == ["electrician", "owner"]
    assert answers_at(told, NOW).roles_of("O. Ther") == []


# ---------------------------------------------------------------------------------------- the hour that comes twice

TWICE = datetime(2026, 10, 25, 0, 50, tzinfo=UTC)
"""Ten to two by summer time, ten minutes before the clocks go back to one."""


def twenty_minutes_apart(first, then):
    """Return a journal with two words of the lock: ten to two by summer time, ten past one by winter time."""
    for moment, value in ((TWICE, first), (TWICE + 20 * MINUTE, then)):
        yield said(KNOWN, LOCK, moment, **ELECTRICIAN, value=value, measured=moment.isoformat())[-1]


@pytest.mark.parametrize(("first", "then"), [("locked", "no"), ("no", "locked")])
def test_what_was_seen_after_the_clocks_went_back_is_later(first, then):
    told = [replace(one, n=line) for line, one in enumerate(twenty_minutes_apart(first, then), start=3)]
    late = [replace(told[1], n=3), replace(told[0], n=4, at=told[1].at)]

    for lines in (told, late):
        known = answers_at((*KNOWN, *lines), TWICE + HOUR)
        assert known.given[LOCK].value == then
        assert {one.behind for one in known.history[LOCK]} == {one.ahead for one in known.history[LOCK]} == {0 * HOUR}


def test_water_stood_an_hour_longer_in_the_night_in_which_the_clocks_went_back():
    water = {"event.water_in": "2026-10-24T23:00:00+01:00", "event.water_out": "2026-10-25T09:00:00+00:00"}

    assert answers_from(water, now=TWICE + 24 * HOUR).fact("hours_wet", "job") == {11}


# ---------------------------------------------------------------------------------------- readings


def test_a_reading_that_is_not_known_any_more_is_no_reading_of_its_zone():
    zone = f"zone.insulation{K}/zone/1"
    read = noted(zone, (60, 60, 4.2), (70, 70, 4.4))
    now = answers_at(noted(zone, (80, 80, None), events=read), NOW).readings[zone]
    late = answers_at(noted(zone, (80, 65, None), events=read), NOW).readings[zone]

    assert [one.value for one in now] == [4.2]
    assert [one.value for one in late] == [4.2, 4.4]
    assert answers_at(noted(LOCK, (60, 60, "locked")), NOW).readings[LOCK] == []


def test_what_was_last_given_is_remembered_where_it_is_not_known_any_more():
    known = answers_at(noted(LOCK, (60, 60, "no"), (70, 70, "locked"), (80, 80, None)), NOW)

    assert known.last_given(LOCK).value == "locked"
    assert known.last_given("event.salt") is None


def test_a_meter_that_is_registered_twice_is_one_and_an_id_that_two_have_is_neithers():
    meter, other = ({**LINES["instrument"], "serial": serial} for serial in ("1", "2"))

    def registered(*told):
        lines = [Event(line, NINE.isoformat(), "A", "test", "instrument", one, "") for line, one in enumerate(told, 3)]
        return [*answers_at((*KNOWN, *lines), NOW).instruments]

    assert registered(meter, meter) == registered(meter) == ["I1", "I2"]
    assert registered(meter, other) == registered(meter, other, meter) == ["I1"]


def test_a_detail_that_a_reading_cannot_have_is_not_known():
    key, details = f"zone.insulation{K}/zone/1", {"test_volts": 500, "air_c": 900, "colour": 3}
    events = said(KNOWN, key, NINE, value=4.2, measured=NINE.isoformat(), details=details)
    events = said(events, "another.version", NINE, value=4.2, details=details)
    known = answers_at(events, NOW).given

    assert known[key].details == {"test_volts": 500}
    assert known["another.version"].details == details


def test_of_a_journal_that_is_whole_nothing_is_unproved_and_of_a_broken_one_all_up_to_there():
    whole = answers_at(KNOWN, NOW)
    known = answers_at(noted(LOCK, (60, 60, "locked"), events=broken(KNOWN)), NOW)

    assert whole.unproved == ()
    assert not whole.is_unproved("scope.kilns")
    assert [known.is_unproved(key) for key in ("scope.kilns", LOCK, "event.salt")] == [True, False, False]


@pytest.mark.parametrize("stood", ["before them", "behind them"])
def test_a_meter_of_a_line_after_those_that_nothing_proves_is_registered(stood):
    """What is said of the lines up to one holds once that one is read, wherever it is written."""
    meter, answer = KNOWN
    until = broken(KNOWN)[-1]
    order = [meter, replace(until, data={**until.data, "unproved": 3}), answer] if stood == "before them" else [
        meter, answer, until]  # fmt: skip
    lines = [replace(one, n=line) for line, one in enumerate(order, start=1)]
    new = Event(4, NINE.isoformat(), "A", "test", "instrument", LINES["instrument"], "")
    known = answers_at((*lines, new), NOW)

    assert list(known.instruments) == ["I2"]
    assert known.is_unproved("scope.kilns")
