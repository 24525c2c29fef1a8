"""What was seen stays seen: a hazard's sign, a worse sighting that is told late, a test that failed, a slip of a clock.

Each is said of the school's job, completed honestly to a released first heating. Common practice (no source): what was
under water can look dry weeks later, and a switch that failed once is not trusted because it worked the next time.
"""

from dataclasses import replace
from datetime import timedelta

import pytest

from recover.asked.told import same_person
from recover.base.measures import show_moment
from recover.interview.no_use import NoUse
from recover.job.journal import Event
from recover.judged.admissible import Lack, inadmissible
from recover.judged.standing import to_sign
from recover.judged.wetmap import line_mm
from recover.profiles import profile
from tests.conftest import ZONE
from tests.gates import ENDS, LATER, answers_at, assessed_at, completed, said, unsigned
from tests.test_gates import K, is_opened, states
from tests.test_undone import ELECTRICIAN, again, at, lacks, of

STAND = f"casing.rust{K}/casing/stand"
CUTOUT = f"gear.works{K}/device/cutout"


def taken_back(events, key, state="unknown"):
    return said(events, key, state=state, value=None, measured=at(0.07), instrument="", details={})


# ---------------------------------------------------------------------------------------- hazards


@pytest.mark.parametrize("then", ["unknown", "not_inspected", "light"])
def test_a_hazard_that_was_found_by_its_signs_is_not_ended_by_another_look_or_by_silence(then):
    found = again((STAND, "through", 0.02))
    after = again((STAND, then, 0.05), events=found) if then == "light" else taken_back(found, STAND, then)

    for events in (found, after):
        assert answers_at(events).fact("structure_hazard", "job") == frozenset({"open"})
        assert {shut.way for shut in assessed_at(events).shut} >= {"strip", "enclosure", "own"}
    assert answers_at(unsigned()).fact("structure_hazard", "job") == frozenset({"none"})


def test_a_poison_stays_found_where_it_is_taken_off_the_list():
    wet = again((f"contents.kinds{K}", ["toxic"], 0.01), (f"contents.reached{K}/contents/toxic", "submerged", 0.02))
    shortened = again((f"contents.kinds{K}", ["none"], 0.05), events=wet)

    assert answers_at(wet).fact("lead_hazard", "job") == frozenset({"open"})
    assert answers_at(shortened).fact("lead_hazard", "job") == frozenset({"open"})


def test_nothing_is_lifted_before_the_hazards_are_cleared_and_every_supply_is_isolated():
    positive = again((f"safe.asbestos{K}", "tested_positive", 0.02))
    live = again(("feed.isolated@feed/solar", "no", 0.02))

    assert not states(completed())["lift"].missing
    assert any("Hazards cleared" in waits for waits in states(positive)["lift"].waits)
    assert lacks(live, "lift", "isolated from every other supply")


# ---------------------------------------------------------------------------------------- told late


@pytest.mark.parametrize(
    ("key", "worse", "milder"),
    [
        (f"safe.energised{K}", "on", "no"), (f"gear.reached{K}", "submerged", "dry"), ("event.salt", "sea", "fresh"),
        (f"event.reach{K}", "over", "base"), (f"event.water_line{K}", 1500, 90), (f"event.inside{K}", 900, 0),
        (f"event.above{K}", ["box"], ["none"]),
    ],
)  # fmt: skip
def test_a_worse_sighting_of_what_happened_counts_though_it_is_told_after_a_later_look(key, worse, milder):
    """The owner remembers in June what was seen in March; a milder memory takes nothing back."""
    looked = again((key, milder, -1))
    told = again((key, worse, -2), events=looked)
    remembered = again((key, milder, -2), events=again((key, worse, -1)))

    assert answers_at(told).given[key].value == (frozenset(worse) if isinstance(worse, list) else worse)
    assert answers_at(remembered).given[key].value == (frozenset(worse) if isinstance(worse, list) else worse)


def test_of_several_what_is_told_late_is_added():
    told = again((f"event.above{K}", ["box", "casing"], -1), (f"event.above{K}", ["lid"], -2))

    assert answers_at(told).given[f"event.above{K}"].value == frozenset({"box", "casing", "lid"})


def test_a_sign_of_a_hazard_that_is_told_late_counts_as_if_it_had_been_told_then():
    told = again((STAND, "light", -0.2), (STAND, "through", -0.4))

    assert answers_at(told).fact("structure_hazard", "job") == frozenset({"open"})


def test_a_line_that_was_typed_in_the_wrong_unit_leaves_wet_what_the_words_reached():
    """64 for 640: the water is said to have reached the control gear, with none from above."""
    slip = again((f"event.above{K}", ["none"], 0.01), (f"event.water_line{K}", 64, 0.02))
    right = again((f"event.above{K}", ["none"], 0.01))

    assert answers_at(slip).fact("control_reached", "kiln/1/controller/electronic") != frozenset({"dry"})
    assert line_mm(answers_at(slip), "kiln/1") == answers_at(slip).number("identity.box_bottom", "kiln/1")
    assert line_mm(answers_at(right), "kiln/1") == 640


def test_of_a_state_the_later_look_counts_whenever_it_was_told():
    told = again((f"casing.drained{K}", "drained", -1), (f"casing.drained{K}", "no", -2))

    assert answers_at(told).given[f"casing.drained{K}"].value == "drained"


def test_an_older_answer_that_does_not_take_the_place_of_a_later_one_ends_no_signature():
    older = said(completed(), f"safe.upstream{K}", value="locked", measured=at(-200))

    assert states(older)["hands_off"].state == "released"
    assert states(older)["own_heat"].state == "released"


# ---------------------------------------------------------------------------------------- how a reading was taken


@pytest.mark.parametrize(
    ("joined", "bad", "good", "begins"),
    [
        (f"zone.joined{K}/zone/1", "reduced", "full", "insulation resistance of the elements"),
        (f"wire.joined{K}/wiring/power", "other", "wiring_alone", "insulation resistance of every length"),
        (f"element.leads_nulled{K}", "no", "yes", "every element measures"),
    ],
)
def test_another_way_of_joining_that_is_told_later_makes_no_other_reading_of_the_old_one(joined, bad, good, begins):
    told = again((joined, bad, -0.2), (joined, good, 0.05))

    assert lacks(told, "energise", begins)
    assert not lacks(again((joined, good, 0.05)), "energise", begins)


def test_a_reading_taken_anew_is_of_what_was_joined_then():
    zone = f"zone.insulation{K}/zone/1"
    bad = again((f"zone.joined{K}/zone/1", "reduced", -0.2), (f"zone.joined{K}/zone/1", "full", 0.05))
    anew = said(bad, zone, value=4.2, measured=at(0.06), who="E. Lectrician", role="electrician")

    assert not lacks(anew, "energise", "insulation resistance of the elements")


# ---------------------------------------------------------------------------------------- failed once


@pytest.mark.parametrize(
    ("key", "failed", "passed", "begins"),
    [
        (CUTOUT, "fails", "works", "every door switch"),
        (f"energise.cuts{K}", "failed", "yes", "everything that is there to switch it off"),
        (f"energise.rcd{K}", "failed", "yes", "residual-current device"),
        (f"energise.self_test{K}", "failed", "yes", "the controller reads the room"),
    ],
)
def test_what_failed_a_test_is_not_passed_before_something_was_mended(key, failed, passed, begins):
    point = "own_heat" if "self_test" in key else "energise"
    failing = again((key, failed, 0.02))
    passing = again((key, passed, 0.05), events=failing)
    shown = said(
        failing, key, **ELECTRICIAN, value=passed, measured=at(0.05), document="Job sheet 12: contact replaced"
    )

    assert lacks(failing, point, begins)
    assert lacks(passing, point, begins)
    assert not lacks(shown, point, begins)
    assert not lacks(again((key, passed, 0.05)), point, begins)


@pytest.mark.parametrize(
    ("told", "lacking"),
    [
        ([("yes", "sheet 4"), ("failed", ""), ("yes", "")], True),
        ([("failed", ""), ("yes", "sheet 4"), ("failed", ""), ("yes", "")], True),
        ([("failed", ""), ("yes", ""), ("yes", "sheet 4"), ("yes", "")], False),
        ([("failed", ""), ("yes", "sheet 4")], False), ([("failed", ""), ("failed", ""), ("yes", "")], True),
    ],
)  # fmt: skip
def test_a_paper_shows_what_was_mended_after_the_last_failure_and_no_other(told, lacking):
    """A test an hour; the last failure is the one that is named."""
    events, key = unsigned(), f"energise.cuts{K}"
    for hour, (value, document) in enumerate(told):
        events = said(events, key, **{**ELECTRICIAN, "value": value, "measured": at(hour - 5), "document": document})
    whys = [lack.why for lack in inadmissible(answers_at(events), key, profile("uk"))]

    failed = max(hour for hour, (value, _) in enumerate(told) if value == "failed")
    when = show_moment((ENDS + timedelta(hours=failed - 5)).astimezone(ZONE))
    says = f"it failed at {when}; name the paper, or a photograph since, that shows what was mended"
    assert whys == ([says] if lacking else [])


@pytest.mark.parametrize(
    ("value", "hours", "lacking"), [("yes", 0.03, False), ("no", 0.03, True), ("yes", -0.1, True), ("yes", 0.06, True)]
)
def test_a_device_that_failed_and_was_replaced_before_it_was_tried_again_works(value, hours, lacking):
    """Failed and tried again within minutes; fitted later it is a new one, and older than no test of it."""
    replaced = again(
        (CUTOUT, "fails", 0.01), (CUTOUT, "works", 0.05), (f"gear.replaced{K}/device/cutout", value, hours)
    )

    assert lacks(replaced, "energise", "every door switch") is lacking


def test_a_new_device_that_failed_as_well_is_not_mended_by_having_been_new():
    fitted = (f"gear.replaced{K}/device/cutout", "yes", 0.03)
    failed_again = again((CUTOUT, "fails", 0.01), fitted, (CUTOUT, "fails", 0.04), (CUTOUT, "works", 0.06))

    assert lacks(failed_again, "energise", "every door switch")


def test_what_a_heating_showed_is_answered_by_what_was_mended_and_not_by_whoever_reads_better():
    gun = {"id": "I8", "what": "infrared thermometer", "maker": "", "serial": "", "calibrated": "2031-12-31"}
    met = (*unsigned(), Event(unsigned()[-1].n + 1, LATER.isoformat(), "A", "test", "instrument", gun, ""))
    read = {"state": "given", "value": 200.0, "instrument": "I8", "who": "A. Tendant", "role": "attendant"}
    hot = said(met, f"dried.hottest{K}", **read, measured=at(0.01))
    cold = said(hot, f"dried.hottest{K}", value=20.0, measured=at(0.03))
    by_nobody = said(hot, f"dried.hottest{K}", value=20.0, measured=at(0.03), who="", role="", instrument="")
    mended = said(cold, f"dried.mended{K}", **ELECTRICIAN, value="yes", measured=at(0.05), document="Job sheet 14")
    again_hot = said(mended, f"dried.hottest{K}", value=210.0, measured=at(0.07))

    for events in (hot, cold, by_nobody, again_hot):
        assert lacks(events, "own_heat", "what a heating showed")
    assert not lacks(mended, "own_heat", "what a heating showed")


@pytest.mark.parametrize(("key", "bad"), [(f"probe.in_boiling{K}/probe/1", 1500.0), (f"dried.amps{K}", 500.0)])
def test_an_optional_measurement_that_was_bad_is_not_undone_by_unknown(key, bad):
    measured = said(unsigned(), key, state="given", value=bad, measured=at(0.02), instrument="I1", **{
        name: ELECTRICIAN[name] for name in ("who", "role")})  # fmt: skip

    assert is_opened(states(measured), states(taken_back(measured, key))) == []


# ---------------------------------------------------------------------------------------- wet again, switched on


@pytest.mark.parametrize("bad", [("safe.water_gone", "no"), (f"energise.clean_dry{K}", "no")])
@pytest.mark.parametrize(
    ("point", "begins"),
    [
        ("isolated", "proven dead at"),
        ("energise", "insulation resistance of the elements"),
        ("energise", "insulation resistance of every length"),
        ("energise", "residual-current device"),
        ("energise", "everything that is there"),
        ("energise", "every door switch"),
        ("own_heat", "the controller reads the room"),
    ],
)
def test_water_that_came_back_undoes_every_test_also_where_it_is_gone_again(bad, point, begins):
    key, value = bad

    assert lacks(again((key, value, 0.02), (key, "yes", 0.05)), point, begins)


def test_a_kiln_that_is_switched_on_is_not_locked_off_any_more():
    on = again((f"safe.energised{K}", "on", 0.02))

    assert lacks(on, "hands_off", "isolated and locked off")
    assert not lacks(unsigned(), "hands_off", "isolated and locked off")


@pytest.mark.parametrize("change", [(f"safe.isolation{K}", "breaker"), ("feed.point@feed/shared", "Another board")])
def test_a_lock_that_is_moved_is_proven_dead_anew(change):
    key, value = change
    begins = "proven dead with" if "feed" in key else "proven dead at"

    assert lacks(again((key, value, 0.05)), "isolated", begins)


HEATED = {"state": "given", "who": "A. Tendant", "role": "attendant", "value": "yes"}


def test_a_heating_under_a_release_that_stood_is_no_energising_while_wet():
    """Before the release it contradicts; after it the kiln is locked off and proven dead anew for the next."""
    key = f"dried.heated{K}"
    before = said(unsigned(), key, **HEATED, measured=at(0))
    under = said(completed(), key, **HEATED, measured=at(0.05))
    on = said(completed(), f"safe.energised{K}", **ELECTRICIAN, value="on", measured=at(0))

    assert "on under a release" in str(states(before)["isolated"].unmet)
    assert any("on under a release" in one.what for one in assessed_at(before).problems)
    assert "on under a release" not in str(states(under)["isolated"].unmet)
    assert answers_at(under).fact("energised_wet", "kiln/1") != frozenset({"yes"})
    assert answers_at(on).fact("energised_wet", "kiln/1") == frozenset({"yes"})
    for name, begins in (("hands_off", "isolated and locked off"), ("isolated", "proven dead at")):
        assert lacks(under, name, begins)


def test_a_heating_that_was_not_released_is_not_covered_by_one_that_was():
    key = f"dried.heated{K}"
    false = said(unsigned(), key, **HEATED, measured=at(-3))
    events = (*false, *(one for one in completed() if one.kind == "release"))
    true = said(tuple(replace(one, n=n) for n, one in enumerate(events, 1)), key, **HEATED, measured=at(0.05))

    assert any("on under a release" in one.what for one in assessed_at(true).problems)


SLIP = said(completed(), f"dried.heated{K}", **HEATED, measured=at(-30))
TOLD = LATER + timedelta(minutes=9)


@pytest.mark.parametrize(
    ("change", "mended"),
    [
        ({"measured": at(0.05)}, True), ({"measured": at(-30)}, False), ({"measured": ""}, False),
        ({"measured": at(0.05), "who": "E. Lectrician"}, False), ({"measured": at(0.05), "who": ""}, False),
        ({"measured": at(0.05), "value": "no"}, False),
        ({"measured": (LATER + timedelta(minutes=7)).isoformat()}, False),
    ],
)  # fmt: skip
def test_the_hour_of_a_heating_is_mended_by_who_told_it_and_of_a_time_before_it_was_told(change, mended):
    """What was heated after the slip was written is another heating, and covers nothing."""
    again = said(SLIP, f"dried.heated{K}", TOLD, **{**HEATED, **change})
    (told,) = [one for one in assessed_at(SLIP).problems if "on under a release" in one.what]

    assert f"slate 330, of {show_moment((ENDS - timedelta(hours=30)).astimezone(ZONE))}, by A. Tendant" in told.what
    assert "A. Tendant answers slate 330 again with the true one; if it was on without one" in told.remedy
    assert any("on under a release" in one.what for one in assessed_at(again, TOLD).problems) is not mended
    assert ("on under a release" in str(states(again)["isolated"].unmet)) is not mended


def test_that_no_release_stood_is_said_as_the_heating_is_told_and_when_one_did():
    key = f"dried.heated{K}"

    def told_at_once(events):
        told: list[str] = []
        NoUse(profile("uk"), told.append, on_the_spot=False, all_in_sum=True).of(answers_at(events), key, events[-1].n)
        return told

    (told,) = told_at_once(SLIP)
    assert "none stood then (slate 330" in told
    assert "; one stood from " in told
    assert "none was ever given" in told_at_once(said(unsigned(), key, **HEATED, measured=at(-30)))[0]
    assert told_at_once(said(completed(), key, **HEATED, measured=at(0.05))) == []


def test_no_hour_mends_a_heating_that_no_release_ever_covered():
    never = said(unsigned(), f"dried.heated{K}", **HEATED, measured=at(-30))
    again = said(never, f"dried.heated{K}", TOLD, **HEATED, measured=at(0.05))

    assert any("on under a release" in one.what for one in assessed_at(again, TOLD).problems)


def test_connected_again_after_the_proof_undoes_it_and_what_was_so_at_the_flood_does_not():
    key = f"safe.energised{K}"

    assert lacks(again((key, "connected", 0.05)), "isolated", "proven dead at")
    assert not lacks(unsigned(), "isolated", "proven dead at")  # connected when the water came, told after the proof


# ---------------------------------------------------------------------------------------- clocks and names


def test_a_clock_that_runs_ahead_holds_up_no_worse_reading():
    """Nothing is seen after it was written down: within the doubt of two clocks the one written later counts."""
    zone = f"zone.insulation{K}/zone/1"
    ahead = said(unsigned(), zone, LATER, value=4.2, measured=(LATER + timedelta(minutes=9)).isoformat())
    bad = said(
        ahead, zone, LATER + timedelta(minutes=3), value=0.05, measured=(LATER + timedelta(minutes=3)).isoformat()
    )

    assert answers_at(bad).given[zone].value == 0.05


def test_an_answer_of_a_time_to_come_does_not_come_alive_when_that_time_comes():
    ahead = said(unsigned(), f"safe.dead{K}", **ELECTRICIAN, value="proven", measured=at(1))

    assert lacks(ahead, "isolated", "proven dead at")
    assert any("not come" in str(need) or "had come" in str(need)
               for need in states(ahead, ENDS + timedelta(hours=2))["isolated"].unmet)  # fmt: skip


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("E. Lectrician", "Lectrician, E.", True),
        ("E. Lectrician", "e lectrician", True),
        ("E. Lectrician", "F. Lectrician", False),
        ("E. Lectrician", "M. Orr, not E. Lectrician", False),
    ],
)
def test_a_name_is_its_words_in_any_order(one, other, same):
    assert same_person(one, other) is same


@pytest.mark.parametrize(
    ("held_by", "may"),
    [("E. Lectrician", True), ("A. Bell and E. Lectrician", True), ("M. Orr, not E. Lectrician", False)],
)
def test_whoever_holds_the_key_is_named_whole(held_by, may):
    named = said(completed(), f"safe.key{K}", state="given", value=held_by, measured=at(-2))

    assert ("E. Lectrician" in states(named)["hands_off"].witnesses["hold_key"]) is may


def test_the_same_lock_looked_at_again_ends_nothing_and_another_person_or_an_earlier_time_does():
    key = f"safe.upstream{K}"
    same = {"value": "locked", "who": "E. Lectrician", "role": "electrician"}

    assert states(said(completed(), key, **same, measured=at(0.05)))["own_heat"].state == "released"
    assert states(said(completed(), key, **{**same, "who": "O. Ther"}, measured=at(0.05)))["own_heat"].state == "closed"


def test_what_a_kiln_is_made_of_said_again_ends_nothing():
    assert (
        states(said(completed(), "scope.fuel", value="electric", who="X", measured=at(0.05)))["own_heat"].state
        == "released"
    )


def test_the_reason_for_which_a_signature_ended_stays_the_first():
    """Off, locked again, and proven dead anew by somebody else: it was the lock."""
    off = again((f"safe.upstream{K}", "off", 0.02), events=completed())
    locked = again((f"safe.upstream{K}", "locked", 0.04), events=off)
    proven = said(locked, f"safe.dead{K}", **{**ELECTRICIAN, "who": "C. Second"}, value="proven", measured=at(0.06))
    stamped = tuple(
        replace(one, at=(LATER + timedelta(minutes=number - len(completed()))).isoformat())
        if number >= len(completed())
        else one
        for number, one in enumerate(proven)
    )

    assert "switched off" in states(stamped, LATER + timedelta(minutes=5))["isolated"].ended[-1].ended


@pytest.mark.parametrize(("means", "isolates"), [("plug", True), ("not", False)])
def test_a_kiln_on_a_plug_is_isolated_by_its_plug_and_by_nothing_less(means, isolates):
    plugged = again((f"scope.connection{K}", "plug", -0.6), (f"safe.isolation{K}", means, -0.6))

    assert lacks(plugged, "isolated", "isolated by a means") is not isolates


# ---------------------------------------------------------------------------------------- who reads, which country


@pytest.mark.parametrize(
    ("country", "key", "may"),
    [("au_nz", f"supply.volts{K}", False), ("uk", f"supply.volts{K}", False), ("au_nz", f"energise.rcd_ms{K}", False)],
)
def test_live_readings_are_taken_by_whoever_the_country_lets(country, key, may):
    read = said(unsigned(), key, who="A. Repairer", role="repairer", measured=at(-0.1))

    assert bool(states(read, profile=country)["energise"].unmet) is not may


@pytest.mark.parametrize("country", ["uk", "eu", "us", "au_nz"])
def test_a_kiln_on_a_plug_gets_no_alternative_to_its_residual_current_device(country):
    """BS 7671, 411.3.3 (32 A), AS/NZS 3000, 2.6 (32 A), NEC 210.8 (50 A), all from memory."""
    none = said(
        unsigned(), f"energise.rcd{K}", **ELECTRICIAN, value="alternative", document="Letter 7", measured=at(0.02)
    )
    earthed = said(none, f"supply.earthing{K}", **ELECTRICIAN, value="tn_s", measured=at(0.02))
    plugged = said(earthed, f"scope.connection{K}", value="plug")

    assert not lacks(earthed, "energise", "residual-current device")
    assert lacks(plugged, "energise", "residual-current device")


@pytest.mark.parametrize(
    ("device", "voids"), [("door_switch", False), ("cutout", False), ("rcd", True), ("breaker", True)]
)
def test_a_new_part_of_the_kiln_itself_voids_no_paper_on_the_supply(device, voids):
    fitted = again((f"gear.replaced{K}/device/{device}", "yes", 0.05))

    assert lacks(fitted, "energise", "supply side passed") is voids
    assert lacks(fitted, "energise", "residual-current device") is voids
    assert lacks(fitted, "energise", "everything that is there to switch it off")


def test_whoever_proved_the_kiln_dead_signs_and_not_whoever_proved_it_of_a_supply():
    """E. Lectrician found it live today; another proved it dead, and E. Lectrician's older proof is of the feeds."""
    other = {**ELECTRICIAN, "who": "C. Second"}
    proved = said(unsigned(), f"safe.dead{K}", **other, value="proven", measured=at(0.05))

    assert states(proved)["isolated"].witnesses["prove_dead"] == {"C. Second": "electrician"}


def test_a_list_that_was_shortened_and_is_unknown_now_is_still_short():
    short = said(unsigned(), f"casing.parts{K}", value=["shell"], measured=at(0.02))

    for events in (short, taken_back(short, f"casing.parts{K}")):
        assert "was answered about and is not listed" in str(states(events)["own_heat"].unmet)


def test_a_failure_without_a_time_or_mended_by_another_part_is_still_a_failure():
    """A photograph of before it shows nothing either."""
    timeless = said(unsigned(), f"energise.rcd{K}", **ELECTRICIAN, value="failed", measured="")
    passed = again((f"energise.rcd{K}", "yes", 0.06), events=timeless)
    other = again((f"energise.rcd{K}", "failed", 0.01), (f"gear.replaced{K}/device/contactor", "yes", 0.03),
                  (f"energise.rcd{K}", "yes", 0.06))  # fmt: skip

    assert lacks(passed, "energise", "residual-current device")
    assert lacks(other, "energise", "residual-current device")


def test_a_failure_that_was_mended_with_its_paper_asks_for_none_at_the_next_test():
    failed = again((f"energise.rcd{K}", "failed", 0.01))
    mended = said(failed, f"energise.rcd{K}", **ELECTRICIAN, value="yes", measured=at(0.03), document="Job sheet 12")
    next_day = said(mended, f"energise.rcd{K}", **ELECTRICIAN, value="yes", measured=at(0.06), document="")

    assert not lacks(mended, "energise", "residual-current device")
    assert not lacks(next_day, "energise", "residual-current device")


def test_a_signature_that_ended_by_what_was_told_late_does_not_come_alive_when_the_proof_is_taken_again():
    told_late = again(("feed.isolated@feed/solar", "off", -0.55), events=completed())
    proven = again(("feed.dead@feed/solar", "proven", 0.06), events=told_late)

    assert states(told_late)["isolated"].state != "released"
    assert states(proven)["isolated"].state != "released"


@pytest.mark.parametrize(("key", "value"), [(f"safe.upstream{K}", "off"), (f"event.moved{K}", ["hosed"])])
def test_what_undoes_and_is_dated_ahead_undoes_as_of_when_it_was_written(key, value):
    """Afterwards everything is done again, and counts: nobody waits for the year that was typed."""
    ahead = said(unsigned(), key, **ELECTRICIAN, value=value, measured="2027-06-02T11:35:00+00:00")
    point, begins, evidence = (
        ("isolated", "proven dead at", f"safe.dead{K}") if "upstream" in key
        else ("energise", "control box clean", f"energise.clean_dry{K}")
    )  # fmt: skip
    value_again = "proven" if "dead" in evidence else "yes"
    again_at = {"measured": (LATER + timedelta(minutes=2)).isoformat()}
    locked = said(ahead, key, LATER + timedelta(minutes=4), **ELECTRICIAN, **again_at, value="locked")
    done = said(locked if "upstream" in key else ahead, evidence, LATER + timedelta(minutes=4), **ELECTRICIAN,
                value=value_again, measured=(LATER + timedelta(minutes=3)).isoformat())  # fmt: skip

    assert lacks(ahead, point, begins)
    assert not any(need.say.startswith(begins) for need in states(done, LATER + timedelta(minutes=5))[point].unmet)


@pytest.mark.parametrize(
    ("slip", "told", "stands"),
    [("yes", "yes", "yes"), ("yes", "no", "no"), ("no", "no", "no"), ("no", "yes", "no")],
)
def test_what_is_said_to_be_of_a_year_to_come_gives_way_to_its_true_time_and_to_what_is_worse(slip, told, stands):
    """Seen before the slip was written. What is milder waits for a look of after that: no slip opens anything."""
    key, seen = "safe.water_gone", (LATER - timedelta(minutes=2)).isoformat()
    ahead = said(unsigned(), key, value=slip, measured="2036-11-29T10:00:00+00:00")
    now = LATER + timedelta(minutes=1)
    corrected = answers_at(said(ahead, key, now, value=told, measured=seen), now).given[key]
    assert corrected.value == stands
    assert (corrected.measured.year == 2026) is (told == stands)

    again = said(ahead, key, now, value=told, measured=seen)
    last = said(again, key, now, value="yes", measured=(LATER + timedelta(seconds=70)).isoformat())
    assert answers_at(last, now + timedelta(minutes=1)).given[key].value == "yes"


def test_a_box_that_is_dry_and_dirty_undoes_no_proof_of_death():
    assert not lacks(again((f"energise.clean_dry{K}", "dirty", 0.05)), "isolated", "proven dead at")
    assert lacks(again((f"energise.clean_dry{K}", "dirty", 0.05)), "energise", "control box clean")


def test_elements_that_cannot_be_measured_alone_ask_for_no_nulled_leads_of_theirs():
    read = again((f"element.leads_nulled{K}", "no", -0.01))
    joined = again((f"element.singly{K}", "no", 0.02), events=read)

    assert "leads were not nulled" in str(states(read)["energise"].unmet)
    assert "leads were not nulled" not in str(states(joined)["energise"].unmet)


def test_the_next_signature_is_named_as_a_whole_command():
    found = states(unsigned())
    country = profile("uk")

    assert to_sign("job", found["hands_off"], country) == (
        "recover log job --release hands_off --component kiln/1 --by 'E. Lectrician' --as electrician --licence NUMBER"
    )
    assert to_sign("job", found["hazards"], country) == "recover log job --release hazards --by NAME --as owner"
    assert to_sign("job", states(completed()[:-1])["own_heat"], country).endswith("--by 'A. Tendant' --as attendant")
    assert "--as electrician" in to_sign("job", states(_without_release("isolated"))["isolated"], country)
    assert to_sign("job", states(_without_release("energise"))["energise"], country).endswith(
        "--as electrician --licence NUMBER"
    )


def _without_release(point):
    return tuple(one for one in completed() if one.data.get("hold_point") != point)


def test_a_release_says_until_when_it_holds_and_what_is_not_released_says_nothing():
    found = states(completed())

    assert found["own_heat"].until == found["energise"].until == found["isolated"].until
    assert ENDS < found["isolated"].until < ENDS + timedelta(hours=24)
    assert found["hands_off"].until > ENDS + timedelta(hours=24)
    assert found["consent"].until is None
    assert found["lift"].until is None
    assert states(again((f"safe.upstream{K}", "off", 0.02), events=completed()))["energise"].until is None


def test_whoever_took_a_reading_may_sign_for_the_electrics_and_a_second_person_for_what_is_left():
    other = {"who": "C. Second", "role": "electrician"}
    read = said(unsigned(), f"zone.insulation{K}/zone/1", **other, measured=at(-0.1))

    assert "C. Second" in states(read)["energise"].witnesses["pass_electrics"]
    assert "C. Second" not in states(read)["isolated"].witnesses["prove_dead"]
    one = tuple(replace(event, by="E. Lectrician") if event.kind == "release" else event for event in completed())
    twice = states(one)["own_heat"]
    assert twice.wanted == ("attend",)
    assert "two people sign" in twice.ended[-1].ended


def test_the_key_handed_on_ends_the_signature_of_whoever_held_it():
    handed = said(completed(), f"safe.key{K}", state="given", value="E. Lectrician and M. Orr", measured=at(0.05))

    assert states(handed)["hands_off"].state == "ready for release"
    assert "slate 325 was answered anew" in states(handed)["hands_off"].ended[-1].ended


def test_a_lack_is_said_of_what_lacks_it():
    assert str(Lack("slate 16 (yes)", "it is too old")) == "slate 16 (yes): it is too old"
    assert str(Lack("", "they do not fit")) == "they do not fit"


def test_what_was_so_at_the_very_moment_of_a_proof_does_not_undo_it():
    """A form gives all its answers one time: off, and locked with the proof."""
    lock = f"safe.upstream{K}"
    same = again((lock, "off", -0.3), (lock, "locked", -0.3), (f"safe.dead{K}", "proven", -0.3))

    assert not lacks(same, "isolated", "proven dead at")


def test_a_failure_that_is_told_after_the_pass_and_was_before_it_counts():
    told_late = again((CUTOUT, "works", 0.05), (CUTOUT, "fails", 0.02))

    assert answers_at(told_late).given[CUTOUT].value == "works"
    assert lacks(told_late, "energise", "every door switch")


def test_a_lock_that_stays_where_it_was_moved_to_undoes_nothing_more():
    isolation = f"safe.isolation{K}"
    moved = again((isolation, "breaker", 0.01), (f"safe.dead{K}", "proven", 0.03))
    looked = again((isolation, "breaker", 0.05), events=moved)

    assert not lacks(moved, "isolated", "proven dead at")
    assert not lacks(looked, "isolated", "proven dead at")


@pytest.mark.parametrize(("said_again", "undoes"), [("Plant room; key: M. Orr.", False), ("Another board", True)])
def test_a_full_stop_moves_no_lock(said_again, undoes):
    point = "feed.point@feed/shared"
    named = again((point, "Plant room, key M. Orr", 0.01), ("feed.dead@feed/shared", "proven", 0.02))

    assert lacks(again((point, said_again, 0.05), events=named), "isolated", "proven dead with") is undoes


@pytest.mark.parametrize(("taken", "shows"), [(at(0.03), True), (at(-1), False), (None, False)])
def test_a_picture_of_before_a_failure_shows_nothing_of_what_was_mended(taken, shows):
    passed = again((CUTOUT, "fails", 0.02), (CUTOUT, "works", 0.05))

    assert lacks((*passed, of(CUTOUT, taken)), "energise", "every door switch") is not shows


@pytest.mark.parametrize(("taken", "shows"), [(0.025, False), (0.04, False), (0.045, True)])
def test_a_picture_between_two_failures_shows_nothing_of_what_was_mended_after_the_last(taken, shows):
    passed = again((CUTOUT, "fails", 0.02), (CUTOUT, "fails", 0.04), (CUTOUT, "works", 0.05))

    assert lacks((*passed, of(CUTOUT, at(taken))), "energise", "every door switch") is not shows
