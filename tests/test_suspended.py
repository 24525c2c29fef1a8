"""What opens work at a dead kiln opens nothing once the kiln may be live, until it is proven dead and signed anew."""

from dataclasses import replace
from datetime import timedelta

import pytest

from recover.interview.missing import gaps
from recover.job.folder import open_job
from recover.job.journal import Journal
from recover.judged.release import release
from recover.report import electrical
from recover.report.paper import headline
from recover.report.plain import as_json, text_lines
from tests.gates import ENDS, LATER, answers_at, assessed_at, completed, said
from tests.school import school
from tests.test_gates import K, states
from tests.test_plan_papers import opened, sheet

SUSPENDED = ("hazards", "isolated", "consent")
"""What the completed school has released of what opens work at a dead kiln; nobody has signed for a lift."""


def without(events, *points):
    """Return a journal without the signatures under some hold points."""
    return tuple(one for one in events if one.data.get("hold_point") not in points)


def proven_again(events, at=LATER):
    """Return a journal with kiln and feeds proven dead once more, by the same person and in the same words."""
    now = at.isoformat(timespec="seconds")
    for key in (f"safe.dead{K}", "feed.dead@feed/solar", "feed.dead@feed/shared"):
        events = said(events, key, at, measured=now)
    return events


def locked_again(events, at=LATER):
    """Return a journal with kiln and feeds locked off once more, by the same person and in the same words."""
    now = at.isoformat(timespec="seconds")
    for key in (f"safe.upstream{K}", "feed.isolated@feed/solar", "feed.isolated@feed/shared"):
        events = said(events, key, at, measured=now)
    return events


def signed_again(events, point, minutes):
    """Return a journal with the last signature under a hold point given once more, on what stands then."""
    when = LATER + timedelta(minutes=minutes)
    hold = states(events, when)[point]
    last_one = next(one for one in reversed(events) if one.data.get("hold_point") == point and one.kind == "release")
    data = {**last_one.data, "rests_on": dict(hold.rests_on), "after": list(hold.after)}
    return (*events, replace(last_one, n=events[-1].n + 1, at=when.isoformat(timespec="seconds"), data=data))


# ---------------------------------------------------------------------------------------- a release of first power


def test_no_hand_goes_inside_a_kiln_whose_energising_is_released():
    found = states(completed(), ENDS)

    assert {name for name, hold in found.items() if hold.suspended} == {*SUSPENDED, "lift"}
    assert "nothing inside is touched" in found["isolated"].suspended
    assert {found[name].state for name in (*SUSPENDED, "energise", "own_heat")} == {"released"}


def test_before_energising_is_signed_a_hand_may_go_inside():
    found = states(without(completed(), "energise", "own_heat"), ENDS)

    assert found["isolated"].state == "released"
    assert not any(hold.suspended for hold in found.values())


def test_it_stays_suspended_after_that_release_has_ended():
    """The control box is wet again: first power has ended, and nobody has locked the kiln off since it was on."""
    found = states(said(completed(), f"energise.clean_dry{K}", value="dirty", measured=LATER.isoformat()))

    assert found["energise"].state != "released"
    assert found["isolated"].state == "released"
    assert found["isolated"].suspended


def test_a_proof_of_death_in_the_same_words_is_signed_for_anew_and_ends_first_power():
    found = states(proven_again(completed()))

    assert found["isolated"].state == "ready for release"
    assert "was answered anew" in found["isolated"].ended[-1].ended
    assert found["energise"].state == "closed"


def test_a_proof_of_before_first_power_that_is_typed_in_late_lifts_nothing():
    energised = next(one for one in completed() if one.data.get("hold_point") == "energise").moment
    before = (energised - timedelta(minutes=2)).isoformat(timespec="seconds")
    found = states(said(completed(), f"safe.dead{K}", measured=before))

    assert found["isolated"].suspended


def test_signed_anew_on_the_proof_of_before_first_power_it_stays_suspended():
    """The signature was taken back for a slip in the licence; nobody has locked it off or proven it dead since."""
    signature = next(one for one in completed() if one.data.get("hold_point") == "isolated")
    back = {"role": "electrician", "releases": [signature.n], "reason": "another licence number"}
    taken = replace(completed()[-1], n=completed()[-1].n + 1, at=LATER.isoformat(), kind="withdrawal",
                    by="E. Lectrician", data=back)  # fmt: skip
    found = states(signed_again((*completed(), taken), "isolated", 1), LATER + timedelta(minutes=2))

    assert found["isolated"].state == "released"
    assert all(found[name].suspended for name in SUSPENDED)


def test_proven_dead_behind_the_lock_of_before_first_power_it_stays_suspended():
    """The lock came off for it."""
    found = states(signed_again(proven_again(completed()), "isolated", 1), LATER + timedelta(minutes=2))

    assert found["isolated"].state == "released"
    assert all(found[name].suspended for name in SUSPENDED)


def test_lock_and_proof_of_before_first_power_typed_in_late_and_signed_for_lift_nothing():
    energised = next(one for one in completed() if one.data.get("hold_point") == "energise").moment
    before = energised - timedelta(minutes=2)
    events = completed()
    for key in (f"safe.upstream{K}", f"safe.dead{K}", *(f"feed.{what}@feed/{feed}" for what in ("isolated", "dead")
                                                        for feed in ("solar", "shared"))):  # fmt: skip
        events = said(events, key, measured=before.isoformat(timespec="seconds"))
    found = states(signed_again(events, "isolated", 1), LATER + timedelta(minutes=2))

    assert found["isolated"].suspended or found["isolated"].state == "closed"
    assert found["hazards"].suspended


def test_locked_proven_dead_and_signed_anew_a_hand_may_go_inside(tmp_path):
    job = school(tmp_path / "job", ENDS)
    with Journal(job / "journal.jsonl", lambda: LATER) as journal:
        for event in proven_again(locked_again(open_job(job).events))[len(completed()) :]:
            journal.append(event.kind, event.data, by="E. Lectrician", source="test")
    later = LATER + timedelta(minutes=1)
    release(job, "isolated", "", by="E. Lectrician", role="electrician", licence="1", clock=lambda: later)
    found = states(open_job(job).events, later)

    assert found["isolated"].state == "released"
    assert not any(hold.suspended for hold in found.values())


# ---------------------------------------------------------------------------------------- what people read


def test_every_view_says_so_in_place_of_what_it_opens():
    found = assessed_at(completed(), ENDS)
    told = "\n".join(text_lines(found))
    inside = next(one for one in as_json(found)["holds"] if one["id"] == "isolated")

    assert "suspended          A hand inside" in told
    assert "touching what is in it" not in told
    assert any("A hand inside" in line for line in headline(found)["lines"])
    assert inside["state"] == "released"
    assert "nothing inside is touched" in inside["suspended"]
    assert next(one for one in as_json(found)["holds"] if one["id"] == "energise")["suspended"] is None


# ---------------------------------------------------------------------------------------- what is read on a live kiln

ON = [
    (f"dried.amps{K}", {"value": 20, "instrument": "I7"}),
    (f"dried.hottest{K}", {"value": 60, "instrument": "I7"}),
    (f"dried.insulation{K}/zone/1", {"value": 5, "instrument": "I1", "details": {"test_volts": 500}}),
    (f"dried.cones{K}", {"value": "even"}),
]
"""Each can only be read on a kiln that is on, or was."""

HOT = (f"zone.insulation{K}/zone/1", {"details": {"test_volts": 500, "lining_c": 220}})
READ = {"who": "E. Lectrician", "role": "electrician"}
SHUT = f"energise.clean_dry{K}"


def at(minutes):
    """Return a moment, so many minutes after the end of the story, as a journal writes it."""
    return (ENDS + timedelta(minutes=minutes)).isoformat(timespec="seconds")


def read(events, key, told, minutes):
    """Return a journal with one more reading, taken and written so many minutes after the end of the story."""
    return said(events, key, ENDS + timedelta(minutes=minutes), **READ, **told, measured=at(minutes))


@pytest.mark.parametrize(("key", "told"), [*ON, HOT], ids=lambda one: one if isinstance(one, str) else "")
def test_a_reading_of_a_kiln_that_was_on_says_that_its_lock_and_its_proof_of_death_are_of_before(key, told):
    """Nobody released it, or that release has ended: neither lets a hand in, nor first power come back to life."""
    day = ENDS + timedelta(hours=6)
    nobody = states(read(without(completed(), "energise", "own_heat"), key, told, 300), day)
    ended = states(said(read(completed(), key, told, 300), SHUT, day, value="dirty", measured=day.isoformat()), day)

    for found in (nobody, ended):
        assert {found[name].state for name in ("hands_off", "isolated", "energise", "own_heat")} == {"closed"}
        assert "since the kiln was last on" in " ".join(found["isolated"].missing)


def test_a_first_good_reading_ends_no_release_of_the_heating_in_which_it_is_taken():
    key, told = ON[0]

    assert states(read(completed(), key, told, 2))["own_heat"].state == "released"
    assert states(read(completed(), key, {**told, "value": 400}, 2))["own_heat"].state == "closed"


def test_insulation_that_reads_low_after_a_heating_is_measured_again_before_first_power():
    """Not the 1.4 megohms of before the heating; also where somebody says that the cause is mended."""
    low = read(completed(), ON[2][0], {**ON[2][1], "value": 0.2}, 2)
    mended = said(low, f"dried.mended{K}", ENDS + timedelta(minutes=3), **READ, value="yes", document="report 12",
                  measured=at(3))  # fmt: skip

    for events in (low, mended):
        assert "were not measured again since" in " ".join(states(events)["energise"].missing)


@pytest.mark.parametrize(("days", "opens"), [(1, True), (5, False)])
def test_what_is_hot_long_after_a_heating_was_heated_since(days, opens):
    """Heated, locked off and proven dead days later; the lining reads 220 degC that evening. Three days: own limit."""
    heated = said(completed(), f"dried.heated{K}", who="A. Tendant", role="attendant", value="yes", measured=at(1))
    morning = ENDS + timedelta(days=days)
    found = states(read(proven_again(locked_again(heated, morning), morning), *HOT, days * 24 * 60 + 300), morning)

    assert ("since the kiln was last on" not in " ".join(found["isolated"].missing)) is opens


@pytest.mark.parametrize(("key", "told"), ON, ids=lambda one: one if isinstance(one, str) else "")
def test_a_heating_that_goes_on_is_not_ended_by_what_is_read_in_it(key, told):
    """What it shows may still be too much for another day of own heat: that is a need of its own."""
    found = states(read(completed(), key, told, 2))

    assert {found[name].state for name in ("isolated", "energise")} == {"released"}
    said_of = [*found["own_heat"].missing, *(one.ended for one in found["own_heat"].ended)]
    assert not any("last on" in one for one in said_of)
    assert found["isolated"].suspended


def test_first_power_that_ended_is_not_signed_again_on_the_proof_of_before_the_heating():
    """The box is clean again; the kiln was on since it was proven dead, so it is locked and proven dead anew."""
    heated = read(completed(), *ON[0], 2)
    wet = said(heated, SHUT, value="dirty", measured=at(4))
    dry = said(wet, SHUT, value="yes", measured=at(5))
    locked = dry
    for key in (f"safe.upstream{K}", "feed.isolated@feed/solar", "feed.isolated@feed/shared"):
        locked = said(locked, key, measured=at(5))
    again = proven_again(locked, ENDS + timedelta(minutes=6))

    assert states(dry)["energise"].state == "closed"
    assert states(dry)["isolated"].unmet
    assert not states(locked)["hands_off"].unmet
    assert states(locked)["isolated"].unmet
    assert states(again)["hands_off"].state == states(again)["isolated"].state.replace("closed", "ready for release")
    assert states(again)["isolated"].unmet == ()
    assert states(again)["isolated"].signed == states(again)["hands_off"].signed == ()


def test_a_reading_of_after_the_firing_says_nothing_of_a_proof_of_after_that_heating():
    """Fired under a release, locked, proven dead, and only then measured: as long as the heating itself is told of."""
    heated = said(completed(), f"dried.heated{K}", who="A. Tendant", role="attendant", value="yes", measured=at(1))
    both = [heated, completed()]
    for number, events in enumerate(both):
        for key in (f"safe.upstream{K}", "feed.isolated@feed/solar", "feed.isolated@feed/shared"):
            events = said(events, key, measured=at(3))
        both[number] = read(proven_again(events, ENDS + timedelta(minutes=4)), *ON[2], 5 + 61)

    told, silent = both
    assert states(told)["isolated"].unmet == ()
    assert "slate 330" in " ".join(states(silent)["isolated"].missing)
    assert states((*silent[:-1], read(silent[:-1], *ON[2], 5 + 57)[-1]))["isolated"].unmet == ()


def test_what_is_missing_then_is_asked_for():
    found = read(without(completed(), "energise", "own_heat"), *ON[0], 2)
    asked = {(gap.hold.point.id, item.question.id) for gap in gaps(answers_at(found), "uk") for item in gap.items}

    assert ("hands_off", "safe.upstream") in asked


def test_the_electricians_papers_and_the_sheet_by_the_kiln_say_so_too():
    found = assessed_at(completed(), ENDS)
    held = replace(opened(), holds=tuple(one for one in found.holds if one.point.id != "own_heat") + opened().holds)

    assert all("A hand inside" in " ".join(form["suspended"]) for form in electrical.forms(found))
    assert any("nothing inside is touched" in line for line in sheet("own", held)["box"]["lines"])
