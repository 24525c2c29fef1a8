"""What was right and is so no longer: a lock that was off, a box that is wet again, a part fitted after its test.

Each is said of the school's job, completed honestly to a released first heating. No document says how long a proof
outlives its lock: that a proof holds only as long as what it was taken under is common practice (no source).
"""

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from recover.base.conditions import SINCE, alternatives
from recover.base.measures import show_moment
from recover.interview.missing import missing
from recover.job.journal import Event
from recover.judged.admissible import inadmissible
from recover.judged.failed import cards
from recover.judged.outcomes import asking
from recover.judged.signatures import may_sign
from recover.profiles import PROFILES, limits, profile
from recover.rules.gates import hold_points
from tests.gates import ENDS, LATER, answers_at, assessed_at, completed, said, unsigned
from tests.test_gates import K, states

ELECTRICIAN = {"state": "given", "who": "E. Lectrician", "role": "electrician"}


def at(hours):
    """Return a moment so many hours after the story's end; it ends with the signatures of the day."""
    return (ENDS + timedelta(hours=hours)).isoformat(timespec="seconds")


def again(*told, events=None):
    """Return a journal with further answers: key, value, hours after the story's end."""
    events = events or unsigned()
    for key, value, hours in told:
        events = said(events, key, **{**ELECTRICIAN, "value": value, "measured": at(hours)})
    return events


def lacks(events, point, begins):
    return any(need.say.startswith(begins) for need in states(events)[point].unmet)


@pytest.mark.parametrize(
    ("told", "point", "begins"),
    [
        ([(f"safe.upstream{K}", "off", -0.6), (f"safe.upstream{K}", "locked", -0.5)], "isolated", "proven dead at"),
        ([(f"safe.upstream{K}", "no", -0.6), (f"safe.upstream{K}", "locked", -0.5)], "isolated", "proven dead at"),
        ([("feed.isolated@feed/solar", "off", -0.6), ("feed.isolated@feed/solar", "locked", -0.5)],
         "isolated", "proven dead with"),
        ([(f"event.moved{K}", ["powered"], 0.05)], "isolated", "proven dead at"),
        ([(f"event.moved{K}", ["hosed"], 0.05)], "energise", "control box clean"),
        ([(f"event.moved{K}", ["hosed"], 0.05)], "energise", "insulation resistance of the elements"),
        ([(f"event.moved{K}", ["hosed"], 0.05)], "own_heat", "every part of the lining"),
        ([(f"event.above{K}", ["box"], 0.05)], "energise", "every switching"),
        ([(f"gear.reached{K}", "submerged", 0.05)], "energise", "every switching"),
        ([(f"gear.reached{K}", "submerged", 0.02), (f"gear.reached{K}", "dry", 0.05)], "energise", "control box clean"),
        ([(f"safe.supply_reached{K}", "submerged", 0.05)], "energise", "supply side passed"),
        ([(f"gear.replaced{K}/device/breaker", "yes", 0.05)], "energise", "supply side passed"),
        ([(f"gear.replaced{K}/device/rcd", "yes", 0.05)], "energise", "residual-current device"),
        ([(f"lining.done{K}/part/wall", "yes", 0.05)], "energise", "insulation resistance of the elements"),
    ],
)  # fmt: skip
def test_evidence_is_undone_by_what_was_so_after_it_also_where_that_was_put_right(told, point, begins):
    assert not lacks(unsigned(), point, begins)
    assert lacks(again(*told), point, begins)


def test_what_was_so_before_it_undoes_nothing():
    """The box was wet and the kiln hosed before anything was done about it: said now, of that time."""
    before = again((f"gear.reached{K}", "submerged", -600), (f"event.moved{K}", ["hosed"], -600))

    assert not states(before)["energise"].unmet


def test_unknown_after_it_may_be_anything():
    events = said(unsigned(), f"event.moved{K}", state="unknown", value=None, measured=at(0.05))

    assert lacks(events, "energise", "control box clean")


@pytest.mark.parametrize("told", [{"who": "", "role": ""}, {"who": "O. Wner", "role": "owner"}])
@pytest.mark.parametrize("profile", PROFILES)
def test_a_reading_needs_a_name_and_a_capacity(profile, told):
    """Own limit: a repairer, an instructed person or an electrician reads for a gate; an owner does not."""
    events = tuple(replace(one, data={**one.data, **told}) if one.kind == "reading" else one for one in unsigned())

    assert lacks(events, "energise", "insulation resistance of the elements")
    assert states(events, profile=profile)["energise"].unmet


@pytest.mark.parametrize("profile", PROFILES)
def test_a_limit_that_a_warning_names_is_one_of_every_country(profile):
    named = [card.limit.removeprefix("@") for card in cards() if card.limit.startswith("@")]

    assert named
    assert set(named) <= set(limits(profile))


@pytest.mark.parametrize(
    ("key", "value", "ways"),
    [
        (f"casing.rust{K}/casing/stand", "through", {"strip", "enclosure", "small_heater", "workshop", "air", "own"}),
        (f"layer.look{K}/part/lid/layer/1", "soft", {"strip", "enclosure", "workshop", "air"}),
        (f"contents.reached{K}/contents/toxic", "submerged", {"strip", "enclosure", "workshop", "air", "own"}),
    ],
)
def test_what_was_seen_shuts_what_its_hazard_shuts_before_anybody_puts_it_on_the_register(key, value, ways):
    events = said(unsigned(), "safe.fibre" + K, value=["refractory"], **ELECTRICIAN, measured=at(-600))
    events = said(events, f"layer.material{K}/part/lid/layer/1", value="blanket", **ELECTRICIAN, measured=at(-600))
    events = said(events, "contents.kinds" + K, value=["toxic"], **ELECTRICIAN, measured=at(-600))
    sound = {"state": "given", "value": "dry"}
    events = said(events, f"contents.reached{K}/contents/toxic", **{**ELECTRICIAN, **sound, "measured": at(-600)})
    before = {one.way for one in assessed_at(events).shut}
    after = {one.way for one in assessed_at(again((key, value, -500), events=events)).shut}

    assert after - before == ways - before
    assert after >= ways
    assert not ways <= before


@pytest.mark.parametrize(
    ("bound_by", "taken", "counts"),
    [
        ("slate", None, True), ("slate", at(-1), True), ("slate", "2019-05-01T10:00:00+00:00", False),
        ("time", at(-1), False),
    ],
)  # fmt: skip
def test_a_picture_shows_a_paper_where_a_person_bound_it_and_after_the_water(bound_by, taken, counts):
    events = (*said(unsigned(), f"energise.supply{K}", document=""), of(f"energise.supply{K}", taken, bound_by))

    assert lacks(events, "energise", "supply side passed") != counts


def no_paper(*pictures):
    """Return why the passing of the supply lacks its paper, with pictures, all of them in the journal."""
    events = said(unsigned(), f"energise.supply{K}", document="")
    answers = answers_at((*events, *(replace(one, n=events[-1].n + n) for n, one in enumerate(pictures, 1))))
    whys = [lack.why for lack in inadmissible(answers, f"energise.supply{K}", profile("uk"))]
    return "".join(one for one in whys if "no paper" in one)


def test_a_picture_of_something_else_or_that_is_gone_shows_no_paper_and_one_that_is_left_does():
    """Gone, by a line of the journal; the time is that of the very moment in which the water was out."""
    supply, out = f"energise.supply{K}", answers_at(unsigned()).latest("event.water_out").isoformat()
    first, second = (replace(one, data={**one.data, "id": name, "file": f"photographs/{name}.jpg"})
                     for name, one in (("P1", of(supply, out)), ("P2", of(supply, at(-1)))))  # fmt: skip
    missed = {"why": "gone", "files": {}, "missed": [first.data["file"]]}
    gone = Event(0, LATER.isoformat(), "A", "check", "set_aside", missed, "")

    assert no_paper() == no_paper(of(f"energise.cuts{K}", at(-1))) == "no paper or photograph is named that shows it"
    assert no_paper(first) == ""
    assert no_paper(first, gone) == (
        "no paper or photograph is named that shows it (photograph P1 is missing, or not as it was taken in)"
    )
    assert no_paper(first, second, gone) == ""


def test_whoever_took_the_readings_may_sign_for_them_and_who_said_it_in_no_role_may_not():
    read = tuple(
        replace(one, data={**one.data, "who": "T. Ester", "role": "electrician"}) if one.kind == "reading" else one
        for one in unsigned()
    )
    witnesses = states(read)["energise"].witnesses

    assert may_sign(witnesses, "pass_electrics", "T. Ester")
    assert not may_sign(witnesses, "pass_electrics", "A. Repairer")


@pytest.mark.parametrize(
    ("words", "may"), [("E. Lectrician, in a pocket", True), ("M. Orr", False), ("Lectrician", False)]
)
def test_whoever_is_named_as_holder_of_the_key_signs_for_it(words, may):
    """Who said that it is locked and is not who holds the key does not sign; who is named says so, and signs."""
    witnesses = states(said(unsigned(), f"safe.key{K}", value=words))["hands_off"].witnesses

    assert may_sign(witnesses, "hold_key", "E. Lectrician") == may
    assert words in witnesses["hold_key"] or may


def test_another_holder_of_the_key_ends_the_signature():
    events = said(completed(), f"safe.key{K}", value="M. Orr")

    assert states(events)["hands_off"].state != "released"


def test_whoever_says_that_it_is_done_is_shown_what_the_finding_asks():
    answers = answers_at(unsigned())

    def shown(question, at):
        return [(found.id, outcome.low, outcome.high) for found, outcome in asking(answers, question, at)]

    assert shown("gear.replaced", "kiln/1/device/rcd") == [("switching", "replace", "replace")]
    assert all(outcome.reasons for _, outcome in asking(answers, "element.replaced", "kiln/1/element/1"))
    assert {table for table, *_ in shown("element.replaced", "kiln/1/element/1")} <= {"element", "tail"}
    assert shown("gear.works", "kiln/1/device/rcd") == []


@pytest.mark.parametrize(
    "key",
    [
        f"gear.replaced{K}/device/contactor", f"gear.replaced{K}/device/breaker", f"wire.replaced{K}/wiring/power",
        f"element.replaced{K}/element/1", f"probe.replaced{K}/probe/1",
        f"lining.done{K}/part/wall", f"casing.done{K}/casing/shell", f"gear.works{K}/device/cutout",
    ],
)  # fmt: skip
def test_what_was_answered_no_is_walked_again(key):
    """From every no that closes a hold point a way leads on: the menu names the question that has to change."""
    question = key.partition("@")[0]
    worst = {"gear.works": "fails"}.get(question, "no")
    events = said(unsigned(), key, **{**ELECTRICIAN, "value": worst, "measured": at(0.05)})
    answers = answers_at(events)
    (hold,) = [one for one in states(events).values() if one.unmet and one.point.id != "handover"]
    items = missing(answers, profile("uk"), hold)

    assert question in {item.question.id for item in items}, [item.question.id for item in items]


@pytest.mark.parametrize(
    ("device", "role", "counts"),
    [("breaker", "electrician", True), ("breaker", "repairer", False), ("isolator", "repairer", False),
     ("contactor", "repairer", True), ("contactor", "electrician", True)],
)  # fmt: skip
def test_what_a_finding_leaves_to_the_electrician_a_repairer_has_not_done(device, role, counts):
    """Breaker and isolator belong to the supply; in the UK a repairer may fit a contactor in the kiln."""
    told = {**ELECTRICIAN, "role": role, "value": "yes", "measured": at(-100)}
    events = tuple(one for one in unsigned() if one.data.get("question") != f"gear.replaced{K}/device/{device}")
    events = said(events, f"gear.replaced{K}/device/{device}", **told)

    assert lacks(events, "energise", "every switching") != counts


SECONDS = [(0, 0), (40, 0), (0, 40), (20, 40)]
"""When in its minute evidence was written down as seen, and what undoes it: people tell minutes, a clock seconds."""

UNDOES = [
    (f"safe.dead{K}", "proven", f"safe.upstream{K}", "off", "locked", "isolated"),
    (f"safe.dead{K}", "proven", f"energise.clean_dry{K}", "no", "yes", "isolated"),
    (f"energise.rcd{K}", "yes", f"energise.clean_dry{K}", "no", "yes", "energise"),
]


def noted(events, key, value, seconds):
    """Return a journal with an answer that was seen so many seconds after 11:40, and written then."""
    moment = ENDS + timedelta(minutes=10, seconds=seconds)
    told = {**ELECTRICIAN, "value": value, "measured": moment.isoformat(), "document": "test sheet 7"}
    return said(events, key, max(moment, ENDS + timedelta(minutes=11)), **told)


def is_undone(events, point, key, by):
    """Whether a need of a hold point is not met since evidence of a key was undone by an answer to another."""
    later = ENDS + timedelta(minutes=30)
    known = answers_at(events, later).questions.questions
    what, undoing = (known[one.partition("@")[0]].slate for one in (key, by))
    told = [lack for need in states(events, later)[point].unmet for lack in str(need).split("; slate")]
    return any(re.search(rf"slate {what} .*: slate {undoing} .* after it; do it again", one) for one in told)


@pytest.mark.parametrize("seconds", SECONDS)
@pytest.mark.parametrize(("key", "good", "by", "bad", "mended", "point"), UNDOES, ids=[row[2] for row in UNDOES])
def test_what_undoes_evidence_in_its_own_minute_and_is_told_after_it_undoes_it(
    key, good, by, bad, mended, point, seconds
):
    """Proven dead at 09:20, found unlocked at 09:20, locked at 09:21: nobody proved it dead behind this lock."""
    first, second = seconds
    events = noted(noted(noted(unsigned(), key, good, first), by, bad, second), by, mended, 60)

    assert is_undone(events, point, key, by)
    assert not is_undone(noted(events, key, good, 120), point, key, by)


@pytest.mark.parametrize("seconds", SECONDS)
@pytest.mark.parametrize(("key", "good", "by", "bad", "mended", "point"), UNDOES, ids=[row[2] for row in UNDOES])
def test_what_was_put_right_before_in_the_same_minute_undoes_nothing(key, good, by, bad, mended, point, seconds):
    """Found unlocked, locked, then proven dead, all noted as of 09:20 in the order in which it was done."""
    first, second = seconds
    events = noted(noted(noted(unsigned(), by, bad, first), by, mended, first), key, good, second)

    assert not is_undone(events, point, key, by)


PROOFS = [
    (f"safe.dead{K}", f"safe.upstream{K}", ""), ("feed.dead@feed/solar", f"safe.upstream{K}", "between"),
    ("feed.dead@feed/solar", "feed.isolated@feed/solar", "locked"),
]  # fmt: skip


def of_proof(proof, lock, how, *looks, proven=0):
    """Return why a proof of death does not count, of looks at the lock: value, minutes from noon, what else is told."""
    noon = ENDS - timedelta(hours=3)
    kept = [replace(one, data=one.data | {"value": how}) if one.data.get("value") == "between" else one
            for one in unsigned() if one.data.get("question") not in (proof, lock) and one.moment < noon]  # fmt: skip
    events = tuple(kept)
    told = [(minutes, lock, value, more) for value, minutes, more in looks] + [(proven, proof, "proven", {})]
    for minutes, key, value, more in sorted(told, key=lambda one: one[0]):
        moment = noon + timedelta(minutes=minutes)
        by = {"who": "E. Lectrician", "role": "electrician", "state": "given", "measured": moment.isoformat()}
        events = said(events, key, moment + timedelta(seconds=20), **{**by, "value": value, **more})
    answers = answers_at(events, noon + timedelta(minutes=60))
    return " ".join(lack.why for lack in inadmissible(answers, proof, profile("uk")))


@pytest.mark.parametrize(("proof", "lock", "how"), PROOFS)
def test_what_is_proven_dead_before_it_is_locked_off_is_not_proven_dead(proof, lock, how):
    """Common practice, and the order of NFPA 70E, 120.5: lock off, then prove dead. Panels may lie behind that lock."""
    lacking = "had found it locked off by then"

    assert lacking in of_proof(proof, lock, how)
    assert lacking in of_proof(proof, lock, how, ("locked", 1, {}))
    assert lacking in of_proof(proof, lock, how, ("locked", 30, {}))
    for minutes in (-30, -1, -0.2, 0):
        assert lacking not in of_proof(proof, lock, how, ("locked", minutes, {}), ("locked", 30, {}))
    assert lacking in of_proof(proof, lock, how, ("locked", -30, {}), ("off", -20, {}), ("locked", 30, {}))


@pytest.mark.parametrize(("proof", "lock", "how"), PROOFS)
@pytest.mark.parametrize(
    "told", [{"who": "", "role": ""}, {"role": "insurer"}, {"role": "attendant"}, {"measured": ""},
             {"measured": "2025-01-05T09:00:00+00:00"}],
)  # fmt: skip
def test_a_look_at_the_lock_that_counts_for_nothing_is_none_behind_which_anything_is_proven(proof, lock, how, told):
    why = of_proof(proof, lock, how, ("locked", -30, told), ("locked", 30, {}))

    assert "had found it locked off by then" in why


def test_a_lock_that_was_looked_at_in_its_day_is_one_behind_which_is_proven_dead_for_longer():
    """The look counts for a week (own limit): ten days later the proof is of today, and the lock hung then."""
    now = LATER + timedelta(days=10)
    events = said(unsigned(), f"safe.dead{K}", now, measured=now.isoformat())
    answers = answers_at(events, now)

    assert "look or measure again" in str(inadmissible(answers, f"safe.upstream{K}", profile("uk")))
    assert inadmissible(answers, f"safe.dead{K}", profile("uk")) == ()


@pytest.mark.parametrize("seen", [0.02, None])
def test_what_undid_evidence_is_said_once_with_its_time_or_else_when_it_was_written(seen):
    """Off, and off again a minute later: the first of them undid it."""
    key, written = f"safe.upstream{K}", LATER + timedelta(minutes=7)
    measured = at(seen) if seen else ""
    events = said(unsigned(), key, written, **ELECTRICIAN, value="off", measured=measured)
    events = said(events, key, written, **ELECTRICIAN, value="no", measured=written.isoformat())
    answers = answers_at(events, written)
    whys = [lack.why for lack in inadmissible(answers, f"safe.dead{K}", profile("uk"))]

    (why,) = [one for one in whys if "do it again" in one]
    when = show_moment((ENDS + timedelta(hours=seen) if seen else written).astimezone(answers.zone))
    assert why.endswith(f"is of {when}, after it; do it again")


@pytest.mark.parametrize("means", ["not", "plug"])
def test_a_lock_on_nothing_keeps_nobody_away_and_ends_what_was_signed_on_it(means):
    """Said to be locked off upstream, and isolated by nothing, or by the plug of a kiln that has none."""
    fixed = said(completed(), f"scope.connection{K}", **{**ELECTRICIAN, "value": "fixed"})
    told = again((f"safe.isolation{K}", means, -0.5), events=fixed)

    found = states(told)
    assert {found[point].state for point in ("hands_off", "isolated", "lift", "energise", "own_heat")} == {"closed"}
    mended = again((f"safe.isolation{K}", "isolator", -0.4), events=told)
    assert states(mended)["hands_off"].state == "ready for release"


def test_no_renewal_outlives_the_next_water_at_its_place():
    """Whatever was fitted, dried or treated is so no longer where water comes to it again."""
    asked = answers_at(unsigned()).questions
    named = {name.partition(SINCE)[2] for point in hold_points() for need in point.needs
             for way in alternatives(need.when) for name in way if SINCE in name}  # fmt: skip
    renewals = [one for one in asked.question if one.id in named]

    assert len(renewals) > 8
    assert [one.id for one in renewals if not one.undone_by] == []


@pytest.mark.parametrize(
    ("sighting", "value", "undone"), [
        (f"safe.supply_reached{K}", "submerged", ["gear.replaced", "energise.supply"]),
        (f"gear.reached{K}", "submerged", ["gear.replaced", "probe.replaced", "earth.ohm", "energise.rcd"]),
        (f"element.terminals_reached{K}", "submerged", ["element.replaced", "zone.insulation"]),
        (f"event.inside{K}", 900, ["element.replaced", "zone.insulation", "probe.replaced"]),
        (f"element.bleach{K}", "yes", ["element.replaced"]),
        ("safe.water_gone", "no", ["earth.ohm", "zone.insulation", "safe.dead"]),
    ],
)  # fmt: skip
def test_water_that_comes_again_undoes_what_was_fitted_and_measured_there(sighting, value, undone):
    events = said(completed(), sighting, **{**ELECTRICIAN, "value": value, "measured": at(0)})
    asked, slates = answers_at(events).questions.questions, set()
    for need in states(events)["energise"].unmet + states(events)["isolated"].unmet:
        slates |= set(re.findall(r"slate (\d+)[^;]*after it; do it again", str(need)))

    given = {key.partition("@")[0] for key, one in answers_at(events).given.items() if one.state == "given"}
    assert {asked[name].slate for name in undone if name in given} <= {int(slate) for slate in slates}


def of(question, taken, bound_by="slate"):
    """Return a picture of a question, taken at a moment or at no known one."""
    data = {"id": "P9", "file": "photographs/p9.jpg", "sha256": "0" * 64, "taken": taken, "question": question,
            "bound_by": bound_by, "printable": True}  # fmt: skip
    return Event(9000, LATER.isoformat(), "A", "test", "photograph", data, "")


SOAKED, HEATED = "hazard.cleared@hazard/sewage", f"dried.hottest{K}"
PICTURED = [
    ("hazards", "each hazard", SOAKED, [("safe.hazards", ["sewage"], -2), (SOAKED, "cleared", -1)], -2),
    ("hazards", "each hazard", SOAKED,
     [("safe.hazards", ["sewage"], -4), (SOAKED, "cleared", -3), ("safe.hazards", ["sewage"], -2),
      (SOAKED, "cleared", -1)],
     -2),
    ("own_heat", "what a heating showed", f"dried.mended{K}",
     [(HEATED, 190, -4), (f"dried.mended{K}", "yes", -3), (HEATED, 190, -2), (f"dried.mended{K}", "yes", -1)], -2),
    ("energise", "supply side passed", f"energise.supply{K}",
     [(f"safe.supply_reached{K}", "submerged", -2), (f"energise.supply{K}", "yes", -1)], -2),
]  # fmt: skip


@pytest.mark.parametrize(("point", "need", "question", "told", "happened"), PICTURED)
def test_a_picture_shows_nothing_of_what_was_put_right_after_it_was_taken(point, need, question, told, happened):
    """What was found, failed or was wet again is shown to be right by a picture of since then, or a paper."""
    events = unsigned()
    for key, value, hours in told:
        events = said(events, key, **{**ELECTRICIAN, "role": "specialist" if key == SOAKED else "electrician",
                                      "value": value, "measured": at(hours), "document": ""})  # fmt: skip

    for taken, shows in ((None, False), (happened - 40, False), (happened - 0.5, False), (happened + 0.5, True)):
        picture = of(question, None if taken is None else at(taken))
        assert lacks((*events, picture), point, need) is not shows, taken


def test_a_picture_shows_that_a_hazard_is_gone_whatever_other_hazard_was_found_since():
    """Sewage, its picture, then rust through the stand, and that the sewage is cleared."""
    told = [("safe.hazards", ["sewage"], -4), (f"casing.rust{K}/casing/stand", "through", -2), (SOAKED, "cleared", -1)]
    events = unsigned()
    for key, value, hours in told:
        who = {**ELECTRICIAN, "role": "specialist" if key == SOAKED else "electrician"}
        events = said(events, key, **{**who, "value": value, "measured": at(hours), "document": ""})

    for taken, shows in ((-4.5, False), (-3, True)):
        whys = inadmissible(answers_at((*events, of(SOAKED, at(taken)))), SOAKED, profile("uk"))
        assert (whys == ()) is shows


@pytest.mark.parametrize("beside", [f"zone.joined{K}/zone/1", f"wire.joined{K}/wiring/power"])
def test_how_a_reading_was_taken_is_not_told_by_what_was_joined_six_weeks_before(beside):
    """The repairer's "all lives joined" of April says nothing of the electrician's reading of June."""
    day = [one for one in unsigned() if one.data.get("question") == beside and one.moment > ENDS - timedelta(days=30)]
    assert day

    found = states(tuple(one for one in unsigned() if one not in day))["energise"]
    slate = answers_at(unsigned()).questions.questions[beside.partition("@")[0]].slate
    assert any(re.search(rf"slate {slate},.* and holds for .*look or measure again", str(need)) for need in found.unmet)


def test_the_electricians_own_entry_is_given_for_a_reading_and_for_no_lower_one_after_it():
    read, entry = f"zone.insulation{K}/zone/1", f"energise.own_entry{K}"
    events = again((read, 0.9, -0.5), (entry, "yes", -0.4))
    lower = again((read, 0.7, -0.3), events=events)

    def counts(told):
        answers, key = answers_at(told), f"energise.own_entry{K}"
        return not any("do it again" in lack.why for lack in inadmissible(answers, key, profile("uk")))

    assert counts(events)
    assert not counts(lower)
    assert counts(again((entry, "yes", -0.2), events=lower))


@pytest.mark.parametrize(
    ("key", "change"), [
        (f"event.inside{K}", {"value": 900}), (f"event.moved{K}", {"value": ["hosed"]}),
        (f"casing.drained{K}", {"who": "", "role": ""}), (f"casing.level{K}", {"measured": ""}),
    ],
)  # fmt: skip
def test_lifting_rests_on_looks_with_a_name_and_a_time_of_after_the_last_water(key, change):
    assert not states(unsigned())["lift"].unmet

    assert states(said(unsigned(), key, **change))["lift"].unmet


def test_a_good_word_of_a_time_to_come_hides_no_worse_one_that_was_seen_before():
    """Off at 12:00; "locked" said to be of 2031; then "locked" of 11:30: the lock that was found off is off still."""
    key, noon = f"safe.upstream{K}", ENDS + timedelta(minutes=10)
    off = said(unsigned(), key, noon, **{**ELECTRICIAN, "value": "off", "measured": noon.isoformat()})
    ahead = said(off, key, noon + timedelta(minutes=6), **ELECTRICIAN, value="locked",
                 measured="2031-06-02T11:35:00+00:00")  # fmt: skip
    older = said(ahead, key, noon + timedelta(minutes=12), **ELECTRICIAN, value="locked",
                 measured=(noon - timedelta(minutes=5)).isoformat())  # fmt: skip

    for events in (off, ahead, older):
        assert lacks(events, "hands_off", "isolated and locked off")


@pytest.mark.parametrize("least", [200, 50, 10])
def test_a_fall_within_one_minute_is_a_fall(least):
    """200 Mohm by the clock at 13:00:40, then less, told as of 13:00."""
    key = f"zone.insulation{K}/zone/1"
    events = noted(noted(unsigned(), key, 200, 40), key, least, 0)

    assert lacks(events, "energise", "insulation resistance of the elements") == (least < 200)


@pytest.mark.parametrize(
    ("between", "settles"), [({"value": "no", "document": "note"}, False), ({"value": "yes", "document": ""}, False),
                             ({"value": "yes", "document": "note", "role": "insurer"}, False),
                             ({"value": "yes", "document": "sheet 4"}, True)],
)  # fmt: skip
def test_a_failure_is_settled_by_a_pass_that_counts_and_shows_what_was_mended(between, settles):
    key = f"energise.cuts{K}"
    events = again((key, "failed", -3))
    events = said(events, key, **{**ELECTRICIAN, **between, "measured": at(-2)})
    passed = said(events, key, **{**ELECTRICIAN, "value": "yes", "document": "", "measured": at(-1)})

    assert lacks(passed, "energise", "everything that is there to switch it off") is not settles


@pytest.mark.parametrize(("bound_by", "taken"), [("slate", 50000), ("time", -1.5)])
def test_a_picture_of_a_day_to_come_or_bound_by_its_time_shows_no_mending(bound_by, taken):
    events = again((f"gear.works{K}/device/cutout", "fails", -2), (f"gear.works{K}/device/cutout", "works", -1))

    def lacking(event):
        return lacks((*events, event), "energise", "every door switch")

    assert lacking(of(f"gear.works{K}/device/cutout", at(taken), bound_by))
    assert not lacking(of(f"gear.works{K}/device/cutout", at(-1.5)))


def test_the_first_look_at_the_terminals_is_of_the_old_water():
    """Slate 331 stands behind slate 100 in the visit: what the first look finds undoes no look of the same hour."""
    key = f"element.terminals_reached{K}"
    kept = tuple(one for one in unsigned() if one.data.get("question") != key)
    first = said(kept, key, **{**ELECTRICIAN, "value": "submerged", "measured": at(0)})
    again_wet = said(first, key, **{**ELECTRICIAN, "value": "submerged", "measured": at(0.05)})

    assert not lacks(first, "lift", "base, pan and hollow stand")
    assert lacks(again_wet, "lift", "base, pan and hollow stand")
