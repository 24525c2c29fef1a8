"""What a rule table makes of a component, as a reference that conditions may name.

    {"outcome:wiring" = ["keep"]}                             the outcomes that remain possible
    {"outcome:wiring since wire.replaced" = ["keep"]}         the same, by what was seen of the new part alone

A finding is of the visit and stays: what was done about it is another fact. Since a part was renewed, only what was
seen or measured of it later speaks of it; so a new part that fails is not excused by having been replaced.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from recover.asked.answers import Answers
from recover.asked.told import RENEWED, Answer, is_later
from recover.base.addresses import JOB, Address, holds_address, is_listed, within
from recover.base.conditions import OF_TABLE, SINCE, Possible
from recover.profiles import Profile
from recover.rules.table import COMPONENT_TABLES, Card, Outcome, Table, input_values, outcome_of, table

NEW_MAY_BE = frozenset({"keep", "treat"})
"""What a table may come to for a part since it was renewed, so that its finding is done."""


def outcome(answers: Answers, name: str, at: Address) -> Possible:
    """Return the outcomes that a table may come to for a component, or for all of its family beside it."""
    table_name, _, renewed = name.removeprefix(OF_TABLE).partition(SINCE)
    found = table(table_name)
    places = answers.places(found.component, at)
    return frozenset(word for place in places for word in _of(answers, found, renewed, place))


def inputs_of(name: str) -> list[str]:
    """Return the facts that a reference to an outcome rests on; since a renewal, also the answer that tells of it."""
    table_name, _, renewed = name.removeprefix(OF_TABLE).partition(SINCE)
    return [*table(table_name).inputs, *([renewed] if renewed else [])]


def renewal(answers: Answers, found: Table, at: Address) -> Answer | None:
    """Return the answer by which what a table asks of a component is done, where nothing seen since says otherwise."""
    return next((done for name in found.done_by if (done := _renewed(answers, found, name, at))), None)


def asking(answers: Answers, question: str, at: Address) -> Iterator[tuple[Table, Outcome]]:
    """Yield each table that asks for what a question says is done, with what it asks of the component."""
    for found in map(table, COMPONENT_TABLES):
        for place in answers.places(found.component, at) if question in found.done_by else ():
            if is_listed(place) and answers.holds(found.applies_if, place) is not False:
                decided = outcome_of(found.id, tuple(_possible(answers, found, place, {}).items()))
                if decided.high != found.scale[0]:
                    yield found, decided


def acts(country: Profile, found: Table, at: Address, card: Card) -> list[str]:
    """Return everybody that a card names; the electrician for the repairer where the country has it so."""
    reserved = country.reserves(found.trade_at(at), found.id, card.outcome)
    return ["electrician" if reserved and name == "repairer" else name for name in card.who]


def _renewed(answers: Answers, found: Table, name: str, at: Address) -> Answer | None:
    place = within(at, answers.questions.questions[name].per) or at
    said = answers.look(name, place)
    if not said or not said <= RENEWED:
        return None
    since = outcome(answers, f"{OF_TABLE}{found.id}{SINCE}{name}", at)
    return answers.answer(name, place) if since and since <= NEW_MAY_BE else None


def _of(answers: Answers, found: Table, renewed: str, at: Address) -> Iterator[str]:
    if not is_listed(at):
        yield from found.scale
        return
    if answers.holds(found.applies_if, at) is False:
        yield found.scale[0]
        return
    new = _as_new(answers, found, renewed, at) if renewed else {}
    decided = outcome_of(found.id, tuple(_possible(answers, found, at, new).items()))
    yield from found.scale[found.scale.index(decided.low) : found.scale.index(decided.high) + 1]


def _possible(
    answers: Answers, found: Table, at: Address, new: Mapping[str, frozenset[str]]
) -> dict[str, frozenset[str]]:
    """Return what each input of a table may be: as new, as it was found, or any value it can have."""
    known = input_values(answers.questions.facts, found)
    return {fact: new.get(fact) or answers.look(fact, at) or frozenset(known[fact]) for fact in found.inputs}


def _as_new(answers: Answers, found: Table, renewed: str, at: Address) -> dict[str, frozenset[str]]:
    """Return the facts of which nothing was seen since a component was renewed, each at its mildest."""
    answer = answers.answer(renewed, within(at, answers.questions.questions[renewed].per) or at)
    if answer is None or answer.value not in RENEWED:
        return {}
    return {
        fact: frozenset({answers.questions.facts[fact].values[0]})
        for fact in found.inputs
        if answers.questions.facts[fact].order == "scale" and not _seen_since(answers, fact, at, answer)
    }


def _seen_since(answers: Answers, fact: str, at: Address, renewal: Answer) -> bool:
    """Say whether anything that a fact rests on was seen or measured of this very component after it was renewed."""
    for name in answers.questions.grounds(fact):
        for one in answers.by_question.get(name, ()):
            if one.at != JOB and holds_address(at, one.at) and is_later(one, renewal):
                answers.answer(name, one.at)
                return True
    return False
