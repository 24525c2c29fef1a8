"""The words of the papers: each has its sentence, each is asked for, and mypy sees what each is told with.

The other way round, a name that is asked for and is not there, or a place that a call leaves out, fails mypy: the
sections of `words.toml` are types.
"""

import ast
import re
import subprocess
import sys
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import get_args, get_type_hints

import pytest
from babel import Locale

import recover
from recover.asked.compiled import _problems_of, compiled, from_compiled, questionnaire
from recover.asked.questions import _OnPaper
from recover.asked.told import AnswerState
from recover.base import counted
from recover.base.conditions import ANSWER_TESTS, NUMBER_TESTS
from recover.base.counted import any_of, by_number
from recover.base.errors import DataError
from recover.base.measures import show_quantity
from recover.base.sentences import _methods
from recover.judged.readings import FITS
from recover.report import words as home
from recover.report.words import words
from recover.rules.check import check_everything
from recover.rules.gates import notices
from recover.rules.table import Who, table

TEXT = files("recover.report").joinpath("words.toml").read_text("utf-8")
TEMPLATES = sorted((Path(recover.__file__).parents[1] / "templates").glob("*.html.j2"))
TEMPLATE = "".join(one.read_text("utf-8") for one in TEMPLATES)
READERS = sorted((Path(recover.__file__).parent / "report").glob("*.py"))


def ids(shape=home._Words, within=()):
    """Yield the path of each word: `plan clocked ramp`; of texts by key that of all of them."""
    for name, kind in {**get_type_hints(shape), **dict(_methods(shape))}.items():
        if isinstance(kind, type) and kind.__module__ == home.__name__ and "__call__" not in vars(kind):
            yield from ids(kind, (*within, name))
        else:
            yield (*within, name)


def asked_for(text):
    """Return the paths of words that a module asks for: after `words()`, or after a name that was given some."""
    named, found = {}, set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Assign):
            for name, value in _assigned(node):
                named.setdefault(name, set()).update(_paths(value, named))
    for node in ast.walk(ast.parse(text)):
        found |= _paths(node, named)
    return found


def _assigned(node):
    target, value = node.targets[0], node.value
    both = isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple) and len(target.elts) == len(value.elts)
    pairs = zip(target.elts, value.elts, strict=True) if both else [(target, value)]
    return [(one.id, of) for one, of in pairs if isinstance(one, ast.Name)]


def _paths(node, named):
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "words":
        return {()}
    if isinstance(node, ast.Attribute):
        return {(*path, node.attr) for path in _paths(node.value, named)}
    if isinstance(node, ast.IfExp):
        return _paths(node.body, named) | _paths(node.orelse, named)
    return named.get(node.id, set()) if isinstance(node, ast.Name) else set()


def unused(texts):
    """Return the words that neither a module nor a template asks for."""
    in_template = {tuple(path.split(".")) for path in re.findall(r"\bwords\.([\w.]+)", TEMPLATE)}
    used = in_template.union(*map(asked_for, texts))
    return [" ".join(path) for path in ids() if path not in used]


def spoilt(old, new):
    assert TEXT.count(old) == 1
    with pytest.raises(DataError) as caught:
        home._read(TEXT.replace(old, new))
    return str(caught.value)


def test_every_word_is_asked_for():
    assert unused(one.read_text("utf-8") for one in READERS) == []


def test_a_word_that_nothing_asks_for_any_more_is_found():
    texts = [one.read_text("utf-8").replace("words().kiln_room.read_back", "''") for one in READERS]

    assert unused(texts) == ["kiln_room read_back"]


def test_a_sentence_that_is_missing_and_one_too_many_are_both_named():
    said = spoilt('read_back = "Every', 'red_back = "Every')

    assert "[kiln_room]: 'read_back' is missing" in said
    assert "nothing asks for 'red_back'" in said


def test_a_sentence_has_the_places_that_it_is_told_with_and_no_other():
    assert "has the places ['abort', 'terminl']; expected ['abort', 'terminal']" in spoilt(
        "The terminal box at {terminal}.", "The terminal box at {terminl}."
    )
    assert "['abort']" in spoilt("The terminal box at {terminal}.", "The terminal box.")


def test_what_is_printed_as_it_stands_has_no_places():
    assert "which nobody fills" in spoilt("Every step typed in", "Every {step} typed in")


def test_a_sentence_by_number_has_its_other_form_and_in_each_the_same_places():
    assert "is no sentence by number" in spoilt('other = "{who}: {number} comp', 'others = "{who}: {number} comp')
    assert "asked.act.one" in spoilt('one = "{who}: one component', 'one = "One component')


def test_mypy_refuses_a_word_that_is_not_there_and_a_place_that_is_left_out(tmp_path):
    wrong = tmp_path / "wrong.py"
    wrong.write_text(
        "from recover.report.words import words\nwords().plan.followd\nwords().plan.recommended(way='x')\n"
        "words().kiln_room.box['wet']\n"
    )
    run = [sys.executable, "-m", "mypy", "--strict", "--cache-dir", str(tmp_path), str(wrong)]
    said = subprocess.run(
        run, capture_output=True, text=True, check=False, cwd=Path(recover.__file__).parents[1]
    ).stdout

    assert [int(line) for line in re.findall(r"wrong\.py:(\d): error", said)] == [2, 3, 4], said


SCALES = {name: set(table(name).scale) for name in ("call", "ladder")}


@pytest.mark.parametrize(
    ("told", "known"),
    [
        (words().open, {"unanswered", *get_args(AnswerState)} - {"given"}),
        (words().call, SCALES["call"]),
        (words().ladder, SCALES["ladder"]),
        (words().who, {*get_args(Who), "owner", "insurer"} - {"electrician"}),
        (words().form.test, {*NUMBER_TESTS, *ANSWER_TESTS}),
        (words().ohms.power, {*FITS} - {"within"}),
        (words().interest, {"open", *(one.id for one in questionnaire().questions["claim.writer"].choices)}),
    ],
    ids=["open", "call", "ladder", "who", "form.test", "ohms.power", "interest"],
)
def test_what_is_told_by_key_is_told_of_each_and_of_nothing_else(told, known):
    assert set(told) == known


# ---------------------------------------------------------------------------------------- where an answer is printed


def with_card(name, **printed):
    """The questionnaire with one question printed in another place."""
    whole = questionnaire()
    of = {"under": "summary", "place": 99, "label": "a label"} | printed
    cards = [replace(one, printed=[_OnPaper(**of)]) if one.id == name else one for one in whole.question]
    return replace(whole, question=cards)


def test_an_answer_is_printed_under_a_heading_that_exists():
    document = compiled(with_card("scope.fuel", under="sumary"))

    with pytest.raises(DataError, match=r"scope\.fuel.* printed 0 under"):
        from_compiled(document)


def test_two_answers_do_not_stand_in_one_place():
    (problem,) = _problems_of(with_card("scope.fuel", place=1))

    assert "stands where" in problem.what
    assert "summary" in problem.what


@pytest.mark.parametrize("printed", [{"under": "order"}, {"table": "element"}])
def test_what_an_order_needs_names_its_table_and_nothing_else_does(printed):
    assert ["name a table" in problem.remedy for problem in _problems_of(with_card("scope.fuel", **printed))] == [True]


def test_what_an_order_needs_is_of_a_table_that_exists():
    found = check_everything(with_card("scope.fuel", under="order", table="elements"))[1]

    assert [str(problem) for problem in found if "scope.fuel" in problem.where] == [
        "questionnaire [scope.fuel]: is needed to order by 'elements'; name a table that exists"
    ]


def test_the_report_begins_with_where_the_water_came_from():
    assert list(questionnaire().printed("summary").items())[:2] == [
        ("event.source", "Water from"), ("event.water_in", "Water came")
    ]  # fmt: skip


def test_each_group_of_a_sheet_has_its_title():
    assert set(words().group) <= {one.group for one in notices()}


# ---------------------------------------------------------------------------------------- one and more, lists

OWN_PLURALS = r"""['"]e?s['"] if |\(s\)|['"]\w+s['"] if [^\n]* (==|>|!=) 1 else"""
"""How a plural is made by hand: the letter put behind a word, or two words and a comparison with one."""


def plurals_by_hand(text):
    return re.findall(OWN_PLURALS, text)


def test_forms_by_number_have_one_door():
    root = Path(recover.__file__).parent
    files_of = [*root.rglob("*.py"), *root.rglob("*.toml"), *(root.parent / "templates").iterdir()]

    assert [one.name for one in files_of if plurals_by_hand(one.read_text("utf-8"))] == []


@pytest.mark.parametrize(
    "text",
    [
        "kiln{'s' if number != 1 else ''}",
        'outcome{{ "s" if row.more }}',
        '{{ "rules" if n > 1 else "rule" }}',
        "day(s)",
    ],
)
def test_a_plural_that_is_made_by_hand_is_found(text):
    assert plurals_by_hand(text)


@pytest.mark.parametrize(
    ("number", "said"), [(0, "0 lines"), (1, "1 line"), (1.0, "1 line"), (1.5, "1.5 lines"), (2, "2 lines")]
)
def test_a_number_takes_its_form(number, said):
    assert by_number(number, one="1 line", other="{number} lines") == said


def test_a_day_is_one_day():
    assert [show_quantity(days, "day") for days in (1, 1.0, 1.5, 3)] == ["1 day", "1 day", "1.5 days", "3 days"]


def test_a_sentence_by_number_is_told_in_its_form():
    assert [words().kilns(number=number) for number in (0, 1, 12)] == ["0 kilns", "1 kiln", "12 kilns"]
    assert words().asked.act(who="Repairer", number=1) == "Repairer: one component to act on."


def test_another_language_has_other_forms(monkeypatch):
    """Polish tells two in another way than five: so much the file of a language says, and no code."""
    monkeypatch.setattr(counted, "_language", lambda: Locale("pl"))
    told = TEXT.replace(
        'kilns = { one = "{number} kiln", other = "{number} kilns" }',
        'kilns = { one = "{number} piec", few = "{number} piece", many = "{number} pieców", other = "{number} pieca" }',
    )

    assert [home._read(told).kilns(number=number) for number in (1, 2, 5)] == ["1 piec", "2 piece", "5 pieców"]


def test_names_of_which_one_will_do_are_listed_with_or():
    assert [any_of(names) for names in (["a"], ["a", "b"], ["a", "b", "c"])] == ["a", "a or b", "a, b or c"]
