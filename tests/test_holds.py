"""Hold points from near: what is read, what counts, what a signature says, beside what gates must never do."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from recover.asked.told import Answer
from recover.job.journal import Event
from recover.judged.admissible import NO_WATER_OUT, UNPROVED, failing, inadmissible, lacking, refusal, undoing, why_not
from recover.judged.holds import hold_states
from recover.profiles import profile
from tests.conftest import NOW as VISIT
from tests.conftest import SEEN, answers_from, events_of
from tests.gates import ENDS, LATER, answers_at, assessed_at, completed, said, unsigned
from tests.test_gates import states

pytestmark = pytest.mark.quick

K = "@kiln/1"
NOW = LATER.isoformat(timespec="seconds")
ONE = {"scope.kilns": 1, f"scope.control{K}": ["electronic"]}
OUT = "2026-03-09T08:00:00+00:00"


def unmet(point, **given):
    """Return what the hold point of the first kiln needs and has not, with why, for answers alone."""
    found = {hold.point.id: hold for hold in reversed(hold_states(answers_from(given), "uk"))}
    return " ".join(map(str, found[point].unmet))


# ---------------------------------------------------------------------------------------- what is read


@pytest.mark.parametrize(
    ("more", "needed"),
    [
        ({f"control.replacement{K}": "no", f"fitting.cable{K}": "beyond"}, False),
        ({f"control.replacement{K}": "fitted", f"fitting.cable{K}": "beyond"}, True),
        ({f"control.replacement{K}": "fitted"}, True),
        ({}, True),
    ],
)  # fmt: skip
def test_a_table_that_does_not_speak_of_a_kiln_keeps_nothing_closed_there(more, needed):
    """How a replacement controller is fitted matters where there is one, or may be one; the school's suits."""
    assert states(unsigned())["energise"].unmet == ()
    assert ("a replacement controller is fitted" in unmet("energise", **ONE, **more)) == needed


def test_what_a_kiln_is_made_of_is_no_evidence_and_needs_no_time():
    answers = answers_from({"scope.fuel": "electric"}, told={"scope.fuel": {"measured": "", "who": ""}})

    assert inadmissible(answers, "scope.fuel", profile("uk")) == ()


LOCK = f"safe.upstream{K}"


def test_of_an_answer_that_was_not_given_nothing_is_said():
    answers = answers_from({"event.water_out": OUT, "safe.water_gone": None})

    assert inadmissible(answers, "safe.water_gone", profile("uk")) == ()
    assert inadmissible(answers, f"safe.dead{K}", profile("uk")) == ()


@pytest.mark.parametrize(("seen", "before"), [(OUT, False), ("2026-03-09T07:59:00+00:00", True)])
def test_what_was_seen_as_the_water_went_is_after_it(seen, before):
    given = {"event.water_out": OUT, "claim.evidence": "kept"}
    answers = answers_from(given, told={"claim.evidence": {"measured": seen}})
    says = " ".join(map(str, inadmissible(answers, "claim.evidence", profile("uk"))))

    assert ("before the water was out" in says) == before


@pytest.mark.parametrize(("hour", "old"), [(11, True), (13, False)])
def test_what_is_out_of_date_opens_nothing_but_where_how_old_it_is_is_judged_elsewhere(hour, old):
    """Proven dead counts for 24 hours (own limit); all is asked at noon of the tenth."""
    dead, seen = f"safe.dead{K}", f"2026-03-09T{hour}:00:00+00:00"
    given, told = {"scope.kilns": 1, "event.water_out": OUT, LOCK: "locked", dead: "proven"}, {"measured": seen}
    answers = answers_from(given, told={dead: told, LOCK: told})
    country, question, answer = profile("uk"), answers.questions.questions["safe.dead"], answers.given[dead]

    def whys(**dated):
        return [
            lacking(answers=answers, country=country, when={"safe.dead": "proven"}, at="kiln/1", **dated) or (),
            inadmissible(answers=answers, key=dead, country=country, **dated),
            refusal(answers=answers, key=dead, country=country, **dated)[1],
            why_not(answers=answers, question=question, answer=answer, country=country, **dated),
        ]

    assert [any("holds for 24 h" in str(why) for why in each) for each in whys()] == [old] * 4
    assert whys(dated=False) == [()] * 4


@pytest.mark.parametrize(
    ("by", "told", "undone"),
    [
        (["off", "no"], ["off"], ["off"]), (["off", "no"], ["locked", "off", "locked", "no"], ["off", "no"]),
        (["off", "no"], ["locked"], []), (["off", "no"], [None], [None]),
        (["not the first", "on"], ["on"], []), (["not the first", "on"], ["no", "on"], ["on"]),
        (["not the first", "on"], ["on", "on"], ["on"]),
        (["other than before"], ["a hook"], []), (["other than before"], ["a hook", "A hook."], []),
        (["other than before"], ["a hook", "a board"], ["a board"]),
        (["higher than before"], [700], []), (["higher than before"], [200, 200], []),
        (["higher than before"], [200, 700, 100, 300], [700, 300]),
        (["other than before"], ["a", "b", "a", "a"], ["b", "a"]),
        (["higher than before"], [200, 700, 300, 500, None], [700, 500, None]),
    ],
)  # fmt: skip
def test_what_undoes_evidence_is_one_of_some_answers_or_another_than_before(by, told, undone):
    """A kiln that was on when the water came was so before it was proven dead; nobody's knowing may be any of them."""
    noon = datetime(2026, 3, 10, 12, tzinfo=UTC)
    answers = [
        Answer(
            question="of.it",
            at="job",
            state="unknown" if value is None else "given",
            value=value,
            measured=noon + timedelta(hours=hour),
            line=hour,
        )
        for hour, value in enumerate(told, 1)
    ]

    proof, later = (
        Answer(question="dead", at="job", state="given", value="proven", measured=noon + timedelta(hours=at), line=at)
        for at in (0, len(told))
    )

    assert [one.value for one in undoing(answers, by, proof)] == undone
    assert list(undoing(answers, by, later)) == []


def test_up_to_the_last_line_that_nothing_proves_nothing_counts_also_what_a_kiln_is_made_of():
    """The lines of five answers, each on the next one: nothing up to the fourth is proved."""
    told = tuple(events_of({"event.water_out": OUT, "scope.kilns": 1, LOCK: "locked", "safe.water_gone": "yes",
                            "scope.fuel": "electric"}))  # fmt: skip
    why = {"why": "broken", "files": {}, "unproved": 4}
    answers = answers_at((*told, Event(7, SEEN, "A. Repairer", "check", "set_aside", why, "")), VISIT)
    keys = ("scope.kilns", LOCK, "safe.water_gone", "scope.fuel")

    assert [[lack.why for lack in inadmissible(answers, key, profile("uk"))] for key in keys] == [
        [UNPROVED], [UNPROVED], [], []
    ]  # fmt: skip
    (lack,) = lacking(answers, profile("uk"), {"scope.kilns": {"at_least": 1}}, "kiln/1")
    assert str(lack) == f"slate 2 (1): {UNPROVED}"


@pytest.mark.parametrize(
    ("water_out", "known"),
    [({}, False), ({"event.water_out": None}, False), ({"event.water_out": "2026-03-11T08:00:00+00:00"}, False),
     ({"event.water_out": OUT}, True)],
)  # fmt: skip
def test_nothing_is_known_to_be_after_water_of_which_nobody_knows_when_it_was_out(water_out, known):
    """Not asked, not known, said to be out on the day to come."""
    answers = answers_from({**water_out, "claim.evidence": "kept"})
    whys = [lack.why for lack in inadmissible(answers, "claim.evidence", profile("uk"))]

    assert whys == ([] if known else [NO_WATER_OUT])


READ = f"zone.insulation{K}/zone/1"
ENTRY = {"element_insulation": "at_entry", "joined": "full"}
LOCKED = {"safe.upstream": "locked"}
LOW, OPEN, LOST = "slate 154, Zone 1 (0.3 MΩ: below 1 MΩ, the entry)", "slate 7 (no, or only tripped)", "slate 51 (no)"


@pytest.mark.parametrize(
    ("when", "fails"),
    [
        (ENTRY, [LOW]), ({**LOCKED, "claim.evidence": "kept"}, [LOST, OPEN]), ({"safe.upstream": "no"}, []),
        ([{**ENTRY, **LOCKED}, {"claim.evidence": "kept"}], [LOST]), ([{"claim.evidence": "partly"}, LOCKED], [LOST]),
        ({"safe.water_gone": "yes"}, []), ({"outcome:switching": ["keep"]}, []),
    ],
)  # fmt: skip
def test_what_fails_is_named_of_the_way_that_fails_least_and_nothing_that_nobody_knows(when, fails):
    """A reading that falls short, and what a need asks for itself; not how it was joined, nor what a table rests on."""
    given = {"scope.kilns": 1, f"scope.zones{K}": 1, READ: 0.3, f"zone.joined{K}/zone/1": "full", LOCK: "no",
             "claim.evidence": "lost", "safe.water_gone": None, f"gear.devices{K}": ["rcd"]}  # fmt: skip
    found = failing(answers_from(given), when, "kiln/1/zone/1")

    assert [one.replace("\u202f", " ").replace("\u00a0", " ") for one in found] == fails


@pytest.mark.parametrize(("renewed", "older"), [("08:59", False), ("09:00", False), ("09:01", True)])
@pytest.mark.parametrize(("device", "is_of_it"), [("rcd", True), ("door_switch", False)])
def test_a_test_is_older_than_what_was_renewed_after_it_and_no_other_part(renewed, older, device, is_of_it):
    """Both at once, as a form tells it: it was tested with the new part. A door switch is no part of the supply, and of
    another device, renewed an hour before, it is a test as well."""
    fitted, other, rcd = f"gear.replaced{K}/device/{device}", f"gear.replaced{K}/device/fuse", f"energise.rcd{K}"
    given = {"event.water_out": OUT, "scope.kilns": 1, f"gear.devices{K}": [device, "fuse"], rcd: "yes",
             other: "yes", fitted: "yes"}  # fmt: skip
    seen = {other: {"measured": "2026-03-10T08:00:00+00:00"}, fitted: {"measured": f"2026-03-10T{renewed}:00+00:00"}}
    answers = answers_from(given, told=seen)
    says = " ".join(lack.why for lack in inadmissible(answers, rcd, profile("uk")))

    assert ("older than what was renewed" in says) is (older and is_of_it)


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"value": "alternative", "role": "repairer"}, "said so as repairer; expected"),
        ({"value": "yes", "role": "repairer"}, ""),
        ({"value": "yes", "role": "attendant"}, "said so as attendant"),
        ({"value": "alternative", "role": "electrician", "document": ""}, "no paper or photograph is named"),
        ({"value": "yes", "role": "electrician", "document": ""}, ""),
        ({"value": "yes", "role": ""}, "nobody put a name and a capacity to it"),
        ({"value": "yes", "who": ""}, "nobody put a name and a capacity to it"),
    ],
)
def test_why_somebodys_word_opens_nothing_is_said_in_one_sentence(told, says):
    """That a device works a repairer may say; that none is called for here, the electrician alone, in writing."""
    rcd = f"energise.rcd{K}"
    answers = answers_from({"event.water_out": OUT, "scope.kilns": 1, rcd: told["value"]}, told={rcd: told})
    whys = [lack.why for lack in inadmissible(answers, rcd, profile("uk"))]

    assert len(whys) == bool(says)
    assert says in " ".join(whys)


# ---------------------------------------------------------------------------------------- what does not fit


def test_what_does_not_fit_closes_what_rests_on_it_and_nothing_else():
    """More elements wet than there are: of no matter to whoever looks from outside."""
    found = states(said(unsigned(), f"element.reached_count{K}", value=9, measured=NOW))

    assert any("answers that fit together" in str(need) for need in found["energise"].unmet)
    assert found["hands_off"].unmet == ()


def test_a_supply_that_is_no_longer_listed_still_speaks():
    found = states(said(unsigned(), "scope.supplies", value=["shared"], measured=NOW))

    assert "feed/solar was answered about and is not listed" in " ".join(map(str, found["isolated"].unmet))


# ---------------------------------------------------------------------------------------- what a signature says


@pytest.mark.parametrize(("more", "looked_at"), [({}, False), ({f"element.reached_count{K}": 0}, True)])
def test_a_signature_is_looked_at_again_at_each_line_that_may_have_closed_it_and_at_no_other(
    more, looked_at, monkeypatch
):
    """How many elements the water reached is of no matter to hands off, but where that was signed for as well."""
    looked = set()

    def look(_answers, _country, point, _at, line):
        looked.add((point.id, line))
        return (), frozenset()

    monkeypatch.setattr("recover.judged.holds._at_line", look)
    events = tuple(
        replace(one, data={**one.data, "rests_on": {**one.data["rests_on"], **more}})
        if one.data.get("hold_point") == "hands_off" else one
        for one in completed()
    )  # fmt: skip
    line = said(events, f"element.reached_count{K}", measured=NOW)[-1].n
    states(said(events, f"element.reached_count{K}", measured=NOW))

    assert ("energise", line) in looked
    assert (("hands_off", line) in looked) is looked_at


def test_who_has_signed_is_said_and_who_has_still_to_sign():
    done, open_yet = states(completed(), ENDS)["own_heat"], states(unsigned())["own_heat"]

    assert len(done.signed) == 2
    assert done.ended == ()
    assert done.still == ""
    assert done.signers.count(";") == 1
    assert all(one.by in done.signers for one in done.signed)
    assert open_yet.signed == ()
    assert open_yet.still == open_yet.released_by
    assert "whoever passes the electrics" in open_yet.still
    assert "whoever attends" in open_yet.still


def test_the_hold_point_before_is_named_and_its_own_kiln_goes_without_saying():
    one = states(unsigned())["own_heat"].waits
    two = {hold.point.id: hold for hold in hold_states(answers_from({"scope.kilns": 2}), "uk")}["own_heat"].waits

    assert one == ("the hold point before it, “Energising”, is not released",)
    assert two == ("the hold point before it, “Energising”, is not released",)  # its own kiln goes without saying


def test_a_signature_rests_on_each_answer_by_its_line_also_where_there_is_none_yet():
    rests_on = states(unsigned())["energise"].rests_on

    assert rests_on[f"energise.earth{K}"] == 0
    assert rests_on[f"energise.supply{K}"] > 0
    assert states(completed(), ENDS)["own_heat"].after == tuple(
        release.line for release in states(completed(), ENDS)["energise"].signed
    )


def test_what_ended_a_signature_is_said_a_day_later():
    """Proven dead counts for 24 hours (own limit)."""
    found = states(completed(), ENDS + timedelta(hours=26))

    assert "held until" in found["isolated"].ended[0].ended
    assert "is not released: slate" in " ".join(found["energise"].waits)


def test_evidence_that_is_said_again_without_its_time_ends_the_signature_that_rests_on_it():
    again = states(said(completed(), f"safe.upstream{K}", measured=""))["hands_off"]
    later = states(said(completed(), f"safe.upstream{K}", measured=NOW))["hands_off"]

    assert "was answered anew" in again.ended[0].ended
    assert later.ended == ()


@pytest.mark.parametrize(("unsigned_for", "said_so"), [(("energise", "own_heat"), True), (("own_heat",), False)])
def test_a_heating_leans_on_the_release_of_first_power_and_on_no_other(unsigned_for, said_so):
    """Dead and touched is released; that is no release to switch it on."""
    events = tuple(one for one in completed() if one.data.get("hold_point") not in unsigned_for)
    heated = said(events, f"dried.heated{K}", who="A. Tendant", role="attendant", value="yes", measured=NOW)

    assert any("on under a release" in one.what for one in assessed_at(heated).problems) is said_so


def test_a_signature_holds_that_rests_on_a_question_which_is_no_longer_asked():
    chain = f"safe.chain{K}"
    told = {"question": chain, "state": "given", "value": "yes"}
    events = [Event(1, completed()[0].at, "E. Lectrician", "test", "answer", told, "")]
    for one in completed():
        data = dict(one.data)
        if one.kind == "release":
            lines = {key: line + 1 if line else 0 for key, line in data["rests_on"].items()}
            data |= {"rests_on": {chain: 1, **lines}, "after": [line + 1 for line in data["after"]]}
        events.append(replace(one, n=one.n + 1, data=data))
    told = said(tuple(events), f"safe.upstream{K}", measured=NOW)

    assert states(told)["hands_off"].state == "released"
    assert states(told)["own_heat"].ended == ()
