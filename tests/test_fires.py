"""Everything that can fire does, on some job, and not on its neighbour: a check that never fires guards nothing."""

import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from recover.asked.answers import Answers
from recover.asked.compiled import _problems_of, questionnaire
from recover.judged.assessment import assess_answers
from tests.conftest import NOW, SEEN, answers_from, assessed, events_of
from tests.fires import firings
from tests.gates import answers_at
from tests.kilns import KILNS, complete, states

FILE = tomllib.loads((Path(__file__).parent / "vectors" / "fires.toml").read_text())
BASES = {base["id"]: {**KILNS[base["of"]], **base.get("answers", {})} for base in FILE["base"]}
ROWS = {row["name"]: row for row in FILE["fires"]}
ZONE, LID = "zone.insulation@kiln/1/zone/1", "earth.ohm@kiln/1/bond/lid"
BAD, GOOD = "2026-03-10T09:20:00+00:00", "2026-03-10T09:21:00+00:00"
EARLIER, LATER = "2026-03-10T08:00:00+00:00", "2026-03-10T10:00:00+00:00"


@cache
def base(name):
    """Return the answers of a base and what is said beside them."""
    return complete(BASES[name])


LOGS = {base["id"]: base.get("log", ()) for base in FILE["base"]}


@cache
def at_base(name) -> Answers:
    return answers_from(base(name)[0], told=base(name)[1], log=LOGS[name])


def changed(row):
    """Return the answers of a row's base with its one change."""
    values, told = base(row["base"])
    key, value = row["key"], row.get("value")
    if "before" in row:
        return told_later(row["base"], (key, row["before"], BAD), (key, value, GOOD))
    beside = {name: more for name, more in told.items() if name != key}
    if "measured" in row:
        beside[key] = {"measured": row["measured"]}
    return answers_from({**values, key: value}, told=beside, log=LOGS[row["base"]])


def test_everything_that_can_fire_has_a_row_and_no_row_speaks_of_nothing():
    assert sorted(set(firings()) - set(ROWS)) == []
    assert sorted(set(ROWS) - set(firings())) == []
    assert len(ROWS) == len(FILE["fires"])


@pytest.mark.parametrize("name", ROWS)
def test_it_fires_on_one_job_and_not_on_its_neighbour(name):
    row = ROWS[name]
    fires = firings()[name].fires

    assert fires(at_base(row["base"])) != fires(changed(row))


@pytest.mark.parametrize(
    ("of", "key", "value", "check"),
    [
        ("rotary", "lining.parts", ["floor", "lid"], "lining"), ("rotary", "lining.parts", ["wall", "lid"], "lining"),
        ("rotary", "lining.parts", ["wall", "floor", "door"], "lining"),
        ("rotary", "identity.opening", "front", "lining"), ("rotary", "identity.opening", "other", ""),
        ("rotary", "casing.parts", ["shell", "stand", "hinge"], "casing"),
        ("rotary", "casing.parts", ["base", "stand", "hinge"], "casing"),
        ("floor", "casing.parts", ["shell", "base", "hinge"], "casing"),
        ("rotary", "earth.points", ["shell", "lid", "box", "base", "bare_stand"], ""),
        ("rotary", "safe.isolation", "breaker", ""), ("rotary", "safe.isolation", "head", ""),
        ("rotary", "gear.devices", ["rcd", "isolator", "rotary_switch"], "breaker"),
        ("rotary", "gear.devices", ["fuse", "rcd", "isolator", "rotary_switch"], ""),
        ("plugged", "gear.devices", ["rcd", "socket"], "breaker"),
        ("plugged", "gear.devices", ["fuse", "rcd", "socket"], ""),
        ("rotary", "gear.devices", ["breaker", "rcd", "isolator", "rotary_switch", "contactor"], "control-wiring"),
        ("rotary", "gear.devices", ["breaker", "rcd", "isolator", "rotary_switch", "timer"], "control"),
        ("rotary", "gear.devices", ["breaker", "rcd", "isolator", "rotary_switch", "shutoff"], "control"),
        ("plugged", "gear.devices", ["breaker", "rcd"], "isolation"),
        ("plugged", "wire.runs", ["power", "control", "terminals"], "cord"),
        ("rotary", "wire.runs", ["power", "supply_cord", "terminals"], ""),  # a flex from a fused spur
        ("rotary", "wire.runs", ["power", "terminals"], "cable"),
        ("rotary", "scope.zones", 4, "elements"), ("rotary", "element.strings", 4, "elements"),
        ("rotary", "contents.kinds", ["glazes"], ""),
    ],
)  # fmt: skip
def test_a_register_that_was_too_short_from_the_first_day_does_not_fit(of, key, value, check):
    """What other answers speak of and no register lists is judged by nothing."""
    values, told = base(of)
    found = misfits(answers_from({**values, f"{key}@kiln/1": value}, told=told))

    assert {one.partition("-not-")[0] for one in found} == ({check} if check else set())


@pytest.mark.parametrize(
    ("build", "part", "closed"),
    [("framed", "hinge", True), ("framed", "base", True), ("framed", "stand", True), ("jacket", "shell", True),
     ("framed", "shell", False), ("welded", "shell", False), (None, "shell", True)],
)  # fmt: skip
def test_nothing_is_lifted_by_a_part_that_gives(build, part, closed):
    """A panel that unscrews holds no bricks; a jacket does (own limit)."""
    values, told = base("rotary")
    jacket = {
        "casing.build@kiln/1": build,
        "casing.bands@kiln/1": "tight",
        f"casing.rust@kiln/1/casing/{part}": "through",
    }
    found = answers_from({**values, **jacket, f"casing.done@kiln/1/casing/{part}": "no"}, told=told)

    assert any(one.startswith("hinges, base, stand") for one in missing(found, "lift")) is closed


# ---------------------------------------------------------------------------------------- order of testing


def told_later(base_of, *more, country="uk"):
    """Return the answers of a kiln with further answers: a key, a value, when it was measured, what else is said."""
    values, told = base(base_of)
    events = list(events_of(values, told))
    for key, value, measured, *said in more:
        event = next(one for one in events_of({key: value}) if one.kind != "instrument")
        at = {
            "n": len(events) + 1,
            "at": max(measured, SEEN),
            "data": {**event.data, "measured": measured, **(said or [{}])[0]},
        }
        events.append(type(event)(**{**vars(event), **at}))
    return answers_at(tuple(events), NOW, country)


def misfits(answers):
    return {check.id for check, _ in answers.misfits()}


def missing(answers, point="energise"):
    return [str(one) for hold in states(answers) if hold.point.id == point for one in hold.unmet]


@pytest.mark.parametrize(
    ("readings", "fires"),
    [
        ([(LID, 0.05, LATER)], False),  # passed before, and measured again
        ([(LID, 3, EARLIER), (LID, 0.05, LATER)], False),  # passed at the time of the insulation, by the base's reading
        ([(LID, 3, SEEN), (LID, 0.05, LATER)], True),  # mended after the insulation was measured
        ([(LID, 3, SEEN), (LID, 0.05, LATER), (ZONE, 4.2, LATER)], False),  # and the insulation measured again
        ([(LID, 3, LATER)], True),
    ],
)
def test_earth_passes_before_insulation_is_measured(readings, fires):
    """Common practice: what is not bonded to earth shows no leak to it. One part of the kiln is enough."""
    found = told_later("rotary", *readings)

    assert ("earth-before-insulation" in misfits(found)) == fires
    assert not fires or missing(found)


WIRING, LEAKAGE = "wire.insulation@kiln/1/wiring/power", "energise.leakage@kiln/1"
AFTER = "dried.insulation@kiln/1/zone/1"


@pytest.mark.parametrize(
    ("key", "value", "check"),
    [(WIRING, 180, "earth-before-wiring"), (LEAKAGE, 1, "earth-before-leakage"),
     (AFTER, 5, "earth-before-insulation-after")],
)  # fmt: skip
def test_whatever_insulation_is_rested_on_is_of_after_the_earth_had_passed(key, value, check):
    """Common practice: earth continuity first, for the wiring too; why a good value is read again is said."""
    mended = [(key, value, SEEN), (LID, 0.9, SEEN), (LID, 0.05, LATER)]
    cable = WIRING.replace("power", "supply_cable")
    others = [one for one in ((WIRING, 180, LATER), (cable, 180, LATER), (ZONE, 4.2, LATER)) if one[0] != key]
    early, again = told_later("rotary", *mended, *others), told_later("rotary", *mended, *others, (key, value, LATER))
    point = "own_heat" if key == AFTER else "energise"

    assert check in misfits(early)
    assert check not in misfits(again)
    assert any("any value passes" in one for one in missing(early, point))
    assert not any("any value passes" in one for one in missing(again, point))


SOON, LATE = "2026-03-10T09:30:00+00:00", "2026-03-10T10:20:00+00:00"
"""Some minutes after the good reading; an hour after the bad one, and the last minute that is within it."""


@pytest.mark.parametrize("key", [ZONE, WIRING])
@pytest.mark.parametrize(
    ("told", "fires"),
    [
        ([(0.3, BAD), (1.5, GOOD)], True),
        ([(0.3, BAD), (1.5, LATE)], True),
        ([(0.3, BAD), (1.5, "2026-03-10T10:21:00+00:00")], False),  # a series, beyond the hour (own limit)
        ([(0.5, BAD), (1.49, GOOD)], False),  # less than threefold (own limit)
        ([(0.5, BAD), (1.5, GOOD)], True),
        ([(1.0, BAD), (4.2, GOOD)], False),  # both good: it opens nothing that was closed
        ([(0.3, BAD), (0.95, GOOD)], False),  # both bad
        ([(0.3, BAD), (1.5, GOOD), (1.6, LATE)], False),  # read once more, and it agrees
        ([(0.3, BAD), (1.5, GOOD), (1.5, GOOD)], True),  # typed once more
        ([(0.3, BAD), (9.0, GOOD), (1.5, LATE)], True),  # read once more, and it does not agree
        ([(0.15, BAD), (1.5, BAD)], True),  # a slip of the decimal point: a third reading shows which it was
        ([(0.15, BAD), (1.5, BAD), (1.5, SOON)], False),
        ([(0.3, BAD), (1.5, GOOD), (1.5, "2026-03-10T09:25:00+00:00")], True),  # four minutes later: the same contact
        ([(0.3, BAD), (1.5, GOOD), (1.5, "2026-03-10T09:26:00+00:00")], False),  # five minutes (own limit)
    ],
)  # fmt: skip
def test_insulation_does_not_rise_threefold_within_the_hour_by_itself(key, told, fires):
    """Own limits: what nothing explains is another contact, range or circuit, and a third reading tells."""
    found = told_later("rotary", *((key, value, measured) for value, measured in told))

    assert any(one.endswith("insulation-rose") for one in misfits(found)) == fires
    assert any("risen several times" in one for one in missing(found)) == fires


WIRED, HEATED, METHOD = "wire.replaced@kiln/1/wiring/power", "dried.heated@kiln/1", "dried.method@kiln/1"


@pytest.mark.parametrize(
    ("done", "value", "moment", "said", "explains"),
    [
        (WIRED, "yes", GOOD, {}, True), (WIRED, "yes", BAD.replace("09:20", "09:10"), {}, False),
        (WIRED, "no", GOOD, {}, False), (WIRED, "yes", GOOD, {"role": "attendant"}, False),
        (WIRED, "yes", GOOD, {"who": "", "role": ""}, False), (HEATED, "yes", GOOD, {}, True),
        (HEATED, "no", GOOD, {}, False), (HEATED, "yes", GOOD, {"who": "", "role": ""}, False),
        (METHOD, "A fan under the open lid", GOOD, {}, False), (METHOD, "nothing was done", GOOD, {}, False),
        (METHOD, "-", GOOD, {"who": "", "role": ""}, False),
    ],
)  # fmt: skip
def test_what_whoever_may_attests_was_done_in_between_explains_the_rise_and_no_free_text_does(
    done, value, moment, said, explains
):
    """Own limits: free text is anybody's word for anything, and within the hour no fan dries brick threefold."""
    found = told_later("rotary", (ZONE, 0.3, BAD), (done, value, moment, said), (ZONE, 1.5, LATE))

    assert ("zone-insulation-rose" in misfits(found)) is not explains


@pytest.mark.parametrize(("country", "explains"), [("uk", True), ("au_nz", False)])
def test_wiring_that_a_repairer_renewed_explains_the_rise_where_he_may(country, explains):
    """AS/NZS: the electrician does the wiring of the kiln as well (by the profile)."""
    renewed = (WIRED, "yes", GOOD, {"who": "A. Repairer", "role": "repairer"})
    found = told_later("rotary", (ZONE, 0.3, BAD), renewed, (ZONE, 1.5, LATE), country=country)

    assert ("zone-insulation-rose" in misfits(found)) is not explains


@pytest.mark.parametrize(
    ("devices", "fits"), [(["breaker", "rcd", "isolator", "rotary_switch"], True),
                          (["breaker", "rcd", "isolator", "rotary_switch", "timer"], False)],
)  # fmt: skip
def test_the_timer_of_a_vents_fan_is_left_to_the_fan_as_the_remedy_says(devices, fits):
    vented = {"gear.devices@kiln/1": devices, "vent.parts@kiln/1": ["fan"]}
    found = answers_from({**base("rotary")[0], **vented}, told=base("rotary")[1])

    assert ("control-not-listed" in misfits(found)) is not fits
    assert fits or any("slate 163" in check.remedy for check, _ in found.misfits())


def test_both_readings_are_named_where_one_does_not_explain_the_other():
    found = assess_answers(told_later("rotary", (ZONE, 0.3, BAD), (ZONE, 1.5, GOOD)), "test", "uk", "0" * 64)
    (rose,) = (one for one in found.problems if "risen several times" in one.what)

    assert "1.5 MΩ" in rose.where
    assert "after 0.3 MΩ at 2026-03-10 09:20" in rose.where


def test_insulation_that_was_measured_an_hour_before_the_earth_closes():
    values, told = base("rotary")
    then = {key: {"measured": EARLIER} for key in (ZONE, "safe.upstream@kiln/1", "safe.dead@kiln/1")}
    found = answers_from(values, told={**told, **then})

    assert misfits(found) == {"earth-before-insulation"}
    assert missing(found)


@pytest.mark.parametrize("key", [ZONE, LID, "element.ohm@kiln/1/element/2", "zone.ohm@kiln/1/zone/1",
                                 "wire.insulation@kiln/1/wiring/power"])  # fmt: skip
def test_nothing_is_measured_before_the_kiln_is_proven_dead(key):
    value = base("rotary")[0][key]
    value = value[0] if isinstance(value, tuple) else value
    early = told_later("rotary", (key, value, LATER))
    order = {one for one in misfits(early) if one.endswith("-read-before-dead")}
    assert order == set()

    opened = told_later("rotary", ("safe.dead@kiln/1", "no", "2026-03-10T09:30:00+00:00"), (key, value, LATER),
                        ("safe.dead@kiln/1", "proven", "2026-03-10T11:00:00+00:00"))  # fmt: skip
    assert {one for one in misfits(opened) if one.endswith("-read-before-dead")}
    assert any("before the kiln was locked off" in one for one in missing(opened))
    assert missing(opened, "isolated") == []


def test_a_misfit_that_a_worse_answer_would_mend_keeps_nothing_closed_by_itself():
    """Fresh water against a salt meter: brackish would fit, so the outcomes count it already."""
    found = told_later("rotary", ("event.conductivity", 5000, SEEN))

    assert "salt-and-meter" in misfits(found)
    assert not any("fit together" in one for one in missing(found))


def test_a_moment_is_compared_with_a_moment():
    whole = questionnaire()
    check = replace(whole.check[0], when={"measured:earth.ohm": {"above": 3}})
    nobody = replace(whole.check[0], id="other", when={"measured:nobody": {"above_answer": "event.water_out"}})
    problems = [str(one) for one in _problems_of(replace(whole, check=[check, nobody]))]

    assert any("compared with no answer" in one for one in problems)
    assert any("there is no question or fact 'measured:nobody'" in one for one in problems)


def test_what_was_seen_before_the_water_is_said():
    told = {"event.silt@kiln/1": {"measured": "2026-03-01T09:00:00+00:00"}}
    found = assessed({"scope.kilns": 1, "event.water_in": "2026-03-07T18:00:00+00:00", "event.silt@kiln/1": "none"},
                     told=told)  # fmt: skip

    assert any("before the water came" in str(one) for one in found.problems)
    assert not assessed({"scope.kilns": 1, "event.silt@kiln/1": "none"}).problems
