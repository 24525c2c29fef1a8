"""How a table decides, on one small enough to be worked out by hand: what is cited, what decides, what is open."""

import pytest

from recover.base.errors import DataError
from recover.rules.table import Card, Table, evaluate

pytestmark = pytest.mark.quick


def card(name, when, outcome, because=""):
    return Card(id=name, when=when, outcome=outcome, because=because, basis="own_limit")


UNDER = [
    card("rest", {}, "keep", "nothing speaks against it"),
    card("damp", {"reached": "damp"}, "treat", "it dries"),
    card("fresh", {"reached": "under", "salt": "no"}, "treat", "it dries"),
    card("salt", {"reached": "under", "salt": "yes"}, "replace", "salt eats it"),
    card("look", {"look": ["stained", "cracked"]}, "treat", "it was touched"),
]
KNOWN = {"reached": ["under"], "salt": ["yes"], "look": ["good"]}


def table(*cards, inputs=("reached", "salt", "look"), **more):
    return Table(
        id="board",
        title="A board",
        component="part",
        inputs=list(inputs),
        scale=["keep", "treat", "replace"],
        card=list(cards),
        **more,
    )


def judged(**possible):
    """Return the outcome, what it depends on, and each cited card with whether it is certain and can decide."""
    found = evaluate(table(*UNDER), {**KNOWN, **possible})
    cited = {reason.card.id: (reason.certain, reason.decides) for reason in found.reasons}
    return found.low, found.high, found.depends_on, cited


def test_the_most_severe_card_that_matches_decides_and_the_milder_is_cited():
    assert judged() == ("replace", "replace", (), {"salt": (True, True), "rest": (True, False)})


def test_the_most_severe_is_cited_first():
    assert [reason.card.id for reason in evaluate(table(*UNDER), KNOWN).reasons] == ["salt", "rest"]


def test_a_card_that_only_may_match_can_decide_and_is_not_certain():
    assert judged(reached=["damp", "under"]) == (
        "treat", "replace", ("reached",), {"salt": (False, True), "damp": (False, True), "rest": (True, False)}
    )  # fmt: skip


def test_what_changes_nothing_is_nothing_that_it_depends_on():
    """Stained or good: a board under salt water is replaced, one that was damp is treated."""
    low, high, depends_on, _ = judged(reached=["damp", "under"], look=["good", "stained"])

    assert (low, high, depends_on) == ("treat", "replace", ("reached",))


def test_two_open_facts_that_each_matter_are_both_named():
    low, high, depends_on, cited = judged(reached=["dry", "under"], salt=["yes", "no"])

    assert (low, high, depends_on) == ("keep", "replace", ("reached", "salt"))
    assert cited["rest"] == (True, True)
    assert "damp" not in cited


def test_where_no_open_fact_alone_settles_it_all_of_them_are_named():
    either = [
        card("rest", {}, "keep", ""),
        card("one", {"reached": "under", "salt": "yes"}, "replace", ""),
        card("other", {"reached": "dry", "salt": "no"}, "replace", ""),
    ]
    found = evaluate(table(*either), {"reached": ["under", "dry"], "salt": ["yes", "no"], "look": ["good"]})

    assert (found.low, found.high, found.depends_on) == ("keep", "replace", ("reached", "salt"))


def test_a_combination_without_a_card_is_a_gap_and_no_outcome():
    with pytest.raises(DataError, match="has no card for"):
        evaluate(table(*UNDER[1:]), {**KNOWN, "reached": ["dry", "damp"]})


@pytest.mark.parametrize(
    ("of", "at", "trade"),
    [
        ([], "kiln/1/vent/duct", "electrical"), (["fan"], "kiln/1/vent/fan", "electrical"),
        (["fan"], "kiln/1/vent/duct", ""), (["fan"], "kiln/1/vent/unlisted", "electrical"),
    ],
)  # fmt: skip
def test_work_on_what_is_named_is_the_trades_and_what_nobody_has_listed_may_be(of, at, trade):
    assert table(*UNDER, trade="electrical", trade_of=of).trade_at(at) == trade
