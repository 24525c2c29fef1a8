"""The verdict on one screen: every component named once or counted, the same outcome as the document, what is next."""

import re
from dataclasses import replace
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from zoneinfo import ZoneInfo

import pytest

from recover.base.addresses import kind_of
from recover.interview import sittings
from recover.interview.script import load_answers
from recover.job.folder import Settings, open_job, start
from recover.judged.assessment import assess
from recover.report.acts import acts
from recover.report.groups import groups, told
from recover.report.one_screen import next_blocks
from recover.report.plain import as_json
from recover.report.status import screen
from recover.report.status_view import look_at
from recover.report.verdict import COLUMNS, LINES, NEXT, call_lines, verdict_lines
from recover.report.words import words
from tests.status_job import STATES

EXAMPLES = Path(__file__).parents[1] / "examples"
NAMES = sorted(folder.name for folder in EXAMPLES.iterdir() if (folder / "call.toml").exists())
SIZES = ((COLUMNS, LINES), (80, 23), (60, 19))
"""That of a screen of answers, and of two terminals but for the line of the next command."""


@cache
def seen(name, *, visit=True, said=()):
    """A glance at an example after its call, or two hours after its visit; with other answers, where some are said."""
    given, folder = EXAMPLES / name, Path(mkdtemp()) / "job"
    call, there = load_answers(given / "call.toml"), load_answers(given / "answers.toml")
    visited = datetime.fromisoformat((there if visit else call).measured).replace(tzinfo=ZoneInfo(call.zone))
    clock = (visited + timedelta(hours=1)).replace
    start(folder, Settings(name, call.profile, "A4", call.zone), by=call.by, clock=clock)
    other = [replace(one, value=dict(said).get(one.question, one.value)) for one in call.answer]
    kept = [one for one in other if dict(said).get(one.question, "") is not None]
    for file, source in ((replace(call, answer=kept), "call.toml"), (there, "answers.toml"))[: 2 if visit else 1]:
        sittings.by_file(open_job(folder), file, source, file.by, tell=lambda _: None, clock=clock)
    found = assess(open_job(folder), visited + timedelta(hours=2))
    call_open = sittings.call_asks(open_job(folder))
    return look_at(found, None, visited + timedelta(hours=2), folder=Path(name), call_open=call_open)


def text(lines):
    return " ".join(" ".join(lines).split())


def by_outcome(document):
    """How many components the document has by outcome; what is open or done since by that, each with what is said of
    it: an element may be open for one reason, and its tail for another."""
    of = {}
    for one in document["findings"]:
        name = "done" if one["done"] else one["low"] if one["low"] == one["high"] else "open"
        table = one["table"] if kind_of(one["component"]) == "kiln" else ""
        told_of = (one["low"], one["high"], *one["depends_on"]) if name == "open" else ()
        of.setdefault(name, set()).add((one["component"], table, *told_of))
    return {name: len(ats) for name, ats in of.items()}


def printed(lines):
    """How many components each group says that it has."""
    rows = (re.match(rf"({'|'.join(words().verdict.group.values())}) +(\d+):", line) for line in lines)
    return {row[1]: int(row[2]) for row in rows if row}


# ---------------------------------------------------------------------------------------- one screen


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("columns", "most"), SIZES)
def test_every_example_is_one_screen(name, columns, most):
    lines = verdict_lines(seen(name), columns=columns, most=most)

    assert len(lines) <= most
    assert max(map(len, lines)) <= columns
    assert all(line.isprintable() for line in lines)


@pytest.mark.parametrize("state", STATES)
def test_a_job_in_any_state_is_one_screen(state):
    lines = verdict_lines(STATES[state]())

    assert len(lines) <= LINES
    assert max(map(len, lines)) <= COLUMNS


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("columns", "most"), SIZES)
def test_each_group_has_as_many_components_as_the_document(name, columns, most):
    look = seen(name)

    assert printed(verdict_lines(look, columns=columns, most=most)) == by_outcome(as_json(look.found))


def test_a_finding_that_is_left_out_is_seen_in_the_numbers():
    look = seen("school-art-block")
    less = replace(look, found=replace(look.found, findings=look.found.findings[1:]))

    assert printed(verdict_lines(less)) != by_outcome(as_json(look.found))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("columns", "most"), SIZES)
def test_every_component_is_named_once_or_counted(name, columns, most):
    look = seen(name)
    shown = text(verdict_lines(look, columns=columns, most=most))

    for of in groups(look.found):
        names = [told(of.named[:end]) for end in range(1, len(of.named) + 1)]
        more = [of.number - sum(one.number for one in of.named[:end]) for end in range(1, len(of.named) + 1)]
        rows = [f"{one}; and {left} more: --all" if left else one for one, left in zip(names, more, strict=True)]
        assert any(f"{of.name} {of.number}: {row}" in shown for row in (*rows, words().verdict.all)), of.name


@pytest.mark.parametrize("name", NAMES)
def test_where_there_is_room_every_component_is_named_in_full_once_in_its_group(name):
    look = seen(name)
    shown = text(verdict_lines(look, most=500))

    assert "more: --all" not in shown
    for of in groups(look.found):
        assert len({(one.under, one.name) for one in of.named}) == len(of.named)
        assert f"{of.name} {of.number}: {told(of.named)}" in shown


def test_of_an_element_it_is_said_whether_the_element_or_its_tail():
    named = {of.name: told(of.named) for of in groups(seen("school-art-block").found)}

    assert "element tails and terminals: Element 1" in named["repair"]
    assert "heating elements: Element 1 to 3" in named["treat"]
    assert "; Element 4 to 5;" in named["keep"]
    assert "earth continuity: casing; lid or door" in named["keep"]


def test_what_is_open_says_between_what_and_on_what_that_depends():
    named = {of.name: told(of.named) for of in groups(seen("school-art-block").found)}

    assert "keep to replace, depends on its ohms against papers or plate: heating elements: Element 6" in named["open"]


def test_of_two_kilns_each_name_stands_under_its_kiln():
    named = {of.name: told(of.named) for of in groups(seen("two-kilns-cellar").found)}

    assert re.match(r"Kiln 1: earth continuity: control box; stand; Kiln 2: earth", named["keep"])


def test_what_is_done_since_stands_apart_with_what_was_asked():
    look = seen("school-art-block")
    breaker = next(one for one in look.found.findings if one.label == "circuit breaker")
    answer = next(iter(look.found.answers.given.values()))
    after = tuple(replace(one, done=answer) if one is breaker else one for one in look.found.findings)
    before, now = groups(look.found), groups(replace(look.found, findings=after))

    assert told(now[-1].named) == "replace: circuit breaker"
    assert now[0].number == before[0].number - 1


def test_what_nobody_has_listed_yet_is_counted_and_not_named():
    look = seen("school-art-block", visit=False)

    assert all("not yet listed" not in one.name for of in groups(look.found) for one in of.named)
    assert printed(verdict_lines(look)) == by_outcome(as_json(look.found))


# ---------------------------------------------------------------------------------------- beside the groups


@pytest.mark.parametrize("name", NAMES)
def test_what_is_next_is_what_status_tells_each_with_who_does_it(name):
    look = seen(name)
    shown, status = text(verdict_lines(look)), text(screen(look))

    assert f"next {acts(look)[0].say[:40]}" in shown
    assert f"next {acts(look)[0].say[:40]}" in status
    for act in acts(look)[:NEXT]:
        assert " ".join(act.say.split()[:4]) in shown
        assert act.by
        assert f"By {act.by}" in shown


def test_who_does_it_still_stands_where_the_sentence_is_cut():
    act = {"say": "read again " * 40, "by": "whoever attends", "until": "", "do": ""}
    lines = [line for block in next_blocks([act], first=3) for line in block.lines]

    assert len(lines) == 3
    assert lines[1].endswith("…")
    assert lines[2].strip() == "By whoever attends."


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("columns", "most"), SIZES)
def test_hold_points_the_visit_and_the_first_caution_are_on_it(name, columns, most):
    look = seen(name)
    lines, everything = verdict_lines(look, columns=columns, most=most), f"recover assess {name} --all"
    asked = sum(one.state is None for one in look.found.open)

    assert [line for line in lines if line.startswith("holds ")]
    assert f"not answered {asked}," in text(lines)
    assert "Never switch this kiln on to find out." in text(lines)
    assert text(lines).endswith(everything)


def test_a_hold_point_that_stands_otherwise_at_another_kiln_names_its_kiln():
    look = seen("two-kilns-cellar")
    first = next(one for one in look.found.holds if one.point.id == "hands_off")
    closed = replace(first, waits=("something before it",))
    holds = tuple(closed if one is first else one for one in look.found.holds)
    shown = text(verdict_lines(replace(look, found=replace(look.found, holds=holds)), most=60))

    assert "ready for release: Hands off (Kiln 2)." in shown
    assert "closed: Hands off (Kiln 1);" in shown
    assert "ready for release: Hands off." in text(verdict_lines(look, most=60))


def test_what_does_not_fit_is_told_and_counted():
    look = seen("school-art-block")
    problem = next(iter(seen_wrong().found.problems))
    shown = text(verdict_lines(replace(look, found=replace(look.found, problems=(problem, problem)))))

    assert "misfit 2: " in shown
    assert "misfit" not in text(verdict_lines(look))


def seen_wrong():
    from recover.base.errors import Problem

    look = seen("school-art-block")
    wrong = Problem("Kiln 1", "stands above its top", "measure both again")
    return replace(look, found=replace(look.found, problems=(wrong,)))


# ---------------------------------------------------------------------------------------- after the call


def test_after_a_call_with_nothing_against_it_one_thing_is_next_and_it_is_that_of_status():
    look = seen("school-art-block", visit=False)
    lines = call_lines(look)

    assert [line for line in lines if line.startswith("call     Go and inspect.")]
    assert [line[:40] for line in lines if line.startswith("next")] == [screen(look)[1][:40]]
    assert not [line for line in lines if line.startswith("then")]


UNLOCKED = (("safe.upstream@kiln/1", "off"),)


def test_where_the_electrician_goes_first_nobody_is_sent_to_inspect():
    look = seen("school-art-block", visit=False, said=UNLOCKED)
    shown = text(call_lines(look))

    assert shown.count("The electrician goes first.") == 1
    assert "By the registered electrician." in shown
    assert "recover inspect" not in shown
    assert screen(look)[1].startswith("next     The electrician goes first.")


def test_of_salt_water_it_is_priced_first_until_somebody_has_gone():
    assert "next Price it from the desk" in text(call_lines(seen("harbour-studio", visit=False)))
    assert "Price it from the desk" not in text(verdict_lines(seen("harbour-studio")))


def test_a_gas_kiln_has_the_gas_engineer_next_and_nothing_else():
    look = seen("school-art-block", visit=False, said=(("scope.fuel", "gas"),))

    assert [act.by for act in acts(look)] == ["the gas engineer"]


def test_a_call_that_was_broken_off_is_finished_first():
    look = seen("school-art-block", visit=False, said=(("safe.water_gone", None),))
    lines = call_lines(look)

    assert look.call_open
    assert "next     The call is not finished. By whoever takes the call." in lines
    assert "call The electrician goes first. Not known yet" in text(lines)


@pytest.mark.parametrize("name", NAMES)
def test_what_comes_of_a_call_is_one_screen(name):
    lines = call_lines(seen(name, visit=False))

    assert len(lines) <= LINES
    assert max(map(len, lines)) <= COLUMNS
