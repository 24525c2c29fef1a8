"""The matcher: what is not known makes a test depend, and never makes it hold."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recover.base.conditions import all_of, certain, holds, malformed, references, thresholds, timed_wrongly

pytestmark = pytest.mark.quick

ANSWERS = {
    "fuel": frozenset({"electric"}),
    "line": frozenset({430.0}),
    "top": frozenset({1500.0}),
    "supplies": frozenset({frozenset({"solar", "network"})}),
    "unasked": frozenset(),
    "either": frozenset({"a", "b"}),
    "unknown": None,
}


def look(name):
    return ANSWERS[name]


@pytest.mark.parametrize(
    ("condition", "expected"),
    [
        ({}, True),
        ({"fuel": "electric"}, True),
        ({"fuel": ["gas", "solid"]}, False),
        ({"unknown": "gas"}, None),
        ({"unknown": "gas", "fuel": "gas"}, False),
        ([{"unknown": "gas"}, {"fuel": "electric"}], True),
        ([{"unknown": "gas"}, {"fuel": "gas"}], None),
        ({"supplies": "solar"}, True),
        ({"supplies": {"lacks": ["battery"]}}, True),
        ({"supplies": {"lacks": ["network"]}}, False),
        ({"line": {"below": 430}}, False),
        ({"line": {"at_least": 430}}, True),
        ({"line": {"below": "@limit"}}, True),
        ({"line": {"above_answer": "top"}}, False),
        ({"line": {"at_most_answer": "top"}}, True),
        ({"line": {"above_answer": "line"}}, False),
        ({"line": {"at_most_answer": "line"}}, True),
        ({"line": {"above": 430}}, False),
        ({"line": {"above": 429}}, True),
        ({"line": {"below": 431, "above": 429}}, True),
        ({"line": {"below": 431, "above": 430}}, False),
        ({"line": {"above_answer": "unknown"}}, None),
        ({"either": ["a", "b"]}, True),
        ({"either": "a"}, None),
        ({"unasked": "anything"}, False),
        ({"unasked": {"lacks": ["anything"]}}, True),
    ],
)
def test_a_condition_holds_fails_or_depends(condition, expected):
    assert holds(condition, look, {"limit": 431.0}) is expected
    assert certain(condition, look, {"limit": 431.0}) is (expected is True)


def test_a_condition_names_everything_it_refers_to():
    condition = [{"a": "x", "b": {"below": 1}}, {"c": {"above_answer": "d"}}]

    assert references(condition) == {"a", "b", "c", "d"}
    assert thresholds(condition) == {("b", 1)}


def test_a_test_of_another_form_is_named():
    assert malformed({"a": {"over": 1}}) == ["the test 'over' of 'a' is not known"]
    assert malformed({"a": []}) == ["the test of 'a' is empty"]


@pytest.mark.parametrize(
    ("test", "wrongly"),
    [({"above_answer": "measured:b"}, []), ({"above_answer": "measured:b", "at_most_answer": "measured:c"}, []),
     ({"above": 3}, ["measured:a"]), ({"above_answer": "measured:b", "above": 3}, ["measured:a"]),
     ("x", ["measured:a"])],
)  # fmt: skip
def test_the_moment_of_an_answer_is_compared_with_answers_alone(test, wrongly):
    assert timed_wrongly({"measured:a": test, "a": {"above": 3}}) == wrongly


KLEENE = st.sampled_from([True, False, None])


def one_of(results):
    """Return whether one of several alternatives holds, of which so much is known."""
    known = {str(at): None if result is None else frozenset({result}) for at, result in enumerate(results)}
    return holds([{name: True} for name in known], known.__getitem__)


@given(st.lists(KLEENE), st.integers(0, 20))
def test_learning_more_never_turns_a_settled_result(results, place):
    """Replacing one None by True or False leaves a result that was already settled as it was."""
    if None not in results:
        return
    at = results.index(None)
    for combine in (all_of, one_of):
        before = combine(results)
        after = {combine([*results[:at], learnt, *results[at + 1 :]]) for learnt in (True, False)}
        assert before is None or after == {before}
