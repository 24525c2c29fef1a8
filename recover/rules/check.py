"""Proves rule tables by enumeration: every combination of answers that the interview can give has a card.

Found and named, with file and card: gaps, contradictions, cards that can never decide, answers that are worse and get
a milder outcome, words that nobody defined, sources that do not exist or that nobody cites.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from itertools import product

from recover.asked.compiled import condition_problems
from recover.asked.questions import Fact, Questionnaire
from recover.base.conditions import OF_TABLE, SINCE, Condition, holds, named_values, references, thresholds
from recover.base.datafile import data_files
from recover.base.errors import Problem
from recover.base.sources import Citation, Grounds, authority_problems, bibliography
from recover.profiles import PROFILES, limits, profile
from recover.rules.gates import HoldPoint, Notice, closures, hold_points, notices, referral
from recover.rules.table import TABLES, Card, Table, input_values, table, tasks

MOST_COMBINATIONS = 200_000
GAPS_SHOWN = 3


@dataclass(frozen=True)
class TableReport:
    """What the checker found in one table."""

    table: Table
    combinations: int
    by_basis: Mapping[str, int]
    problems: tuple[Problem, ...]


def check_table(found: Table, facts: Mapping[str, Fact]) -> TableReport:
    """Enumerate a table. Words are checked first: a table with unknown words is not enumerated."""
    problems = list(_word_problems(found, facts))
    combinations = 0
    if not problems:
        values = input_values(facts, found)
        combinations = _count(values)
        problems += [*_contradictions(found), *_enumerated(found, values, facts)]
    by_basis: Counter[str] = Counter(card.basis for card in found.card)
    return TableReport(found, combinations, dict(by_basis), tuple(problems))


def check_everything(questions: Questionnaire) -> tuple[list[TableReport], list[Problem]]:
    """Check every table, fact, sheet and source of the program; a limit that is lacking first, since all name some."""
    if unknown := [*_unknown_limits()]:
        return [], unknown
    reports = [check_table(table(name), questions.facts) for name in TABLES]
    return reports, [*_fact_problems(questions), *_sheet_problems(questions), *authority_problems()]


# ---------------------------------------------------------------------------------------- tables


def _count(values: Mapping[str, list[str]]) -> int:
    total = 1
    for choices in values.values():
        total *= len(choices)
    return total


def _where(found: Table, card: Card) -> str:
    return f"{found.id}.toml [{card.id}]"


def _word_problems(found: Table, facts: Mapping[str, Fact]) -> Iterator[Problem]:
    for name in found.inputs:
        if name not in facts:
            yield Problem(f"{found.id}.toml", f"the input {name!r} is no fact", "name one of facts.toml")
    if _count({name: facts[name].values for name in found.inputs if name in facts}) > MOST_COMBINATIONS:
        yield Problem(f"{found.id}.toml", f"has more than {MOST_COMBINATIONS} combinations", "split the table")
    for name, times in Counter(card.id for card in found.card).items():
        if times > 1:
            yield Problem(f"{found.id}.toml [{name}]", f"the id stands {times} times", "give each card its own")
    for card in found.card:
        yield from _card_words(found, card, facts)


def _card_words(found: Table, card: Card, facts: Mapping[str, Fact]) -> Iterator[Problem]:
    where = _where(found, card)
    for outcome in [card.outcome, *(row.outcome for row in card.contrary)]:
        if outcome not in found.scale:
            yield Problem(where, f"the outcome {outcome!r} is not known", f"expected one of {', '.join(found.scale)}")
    for name, test in card.when.items():
        known = facts[name].values if name in found.inputs and name in facts else []
        for value in named_values(test):
            if value not in known:
                yield Problem(where, f"tests {name} = {value!r}, which cannot be", f"expected one of {known}")
    for task in card.tasks:
        if task not in tasks():
            yield Problem(where, f"the task {task!r} is not known", "add its sentence to tasks.toml")
    yield from _ground_problems(where, card, card.contrary)


def _ground_problems(where: str, of: Grounds, beside: Iterable[Citation] = ()) -> Iterator[Problem]:
    cited, published = [*of.sources, *beside], of.basis == "document"
    for citation in cited:
        if citation.source not in bibliography():
            yield Problem(where, f"the source {citation.source!r} is not known", "add it to sources.toml")
    if published and not any(citation.clause for citation in cited):
        yield Problem(where, "says it is published and names no clause", "name source and clause, or another basis")
    seen = {bibliography()[citation.source].seen for citation in cited if citation.source in bibliography()}
    if published and seen == {"memory"}:
        yield Problem(where, "says it is published; its sources are from memory only", 'set basis = "from_memory"')
    if not of.because.strip() and not isinstance(of, Notice):
        yield Problem(where, "gives no reason", "say why, in a sentence")


def _contradictions(found: Table) -> Iterator[Problem]:
    seen: dict[object, Card] = {}
    for card in found.card:
        condition = frozenset((name, frozenset(named_values(test))) for name, test in card.when.items())
        twin = seen.setdefault(condition, card)
        if twin.outcome != card.outcome:
            what = f"contradicts {twin.id}: the same condition, {card.outcome} and {twin.outcome}"
            yield Problem(_where(found, card), what, "keep one, and print the other as contrary")


def _enumerated(found: Table, values: Mapping[str, list[str]], facts: Mapping[str, Fact]) -> Iterator[Problem]:
    worst: dict[tuple[str, ...], int] = {}
    deciding = 0
    for combination in product(*values.values()):
        mask = -1
        for name, value in zip(found.inputs, combination, strict=True):
            mask &= found.masks[name][value]
        mask &= (1 << len(found.card)) - 1
        worst[combination] = found.worst(mask)
        deciding |= mask & found.by_severity[worst[combination]] if mask else 0
    yield from _gaps(found, worst)
    for place, card in enumerate(found.card):
        if not deciding >> place & 1:
            yield Problem(_where(found, card), "can never decide: another card is always as severe or more so where "
                          "it matches, or it never matches", "remove it, or mend its condition or outcome")  # fmt: skip
    yield from _not_monotone(found, values, facts, worst)


def _gaps(found: Table, worst: Mapping[tuple[str, ...], int]) -> Iterator[Problem]:
    gaps = [combination for combination, place in worst.items() if place < 0]
    for combination in gaps[:GAPS_SHOWN]:
        what = f"has a gap: no card for {_words(found, combination)}"
        more = f" ({len(gaps)} combinations in all)" if len(gaps) > 1 else ""
        yield Problem(f"{found.id}.toml", what + more, "add a card, or widen one")


def _words(found: Table, combination: tuple[str, ...]) -> str:
    return ", ".join(f"{name} = {value}" for name, value in zip(found.inputs, combination, strict=True))


def _not_monotone(found: Table, values: Mapping[str, list[str]], facts: Mapping[str, Fact],
                  worst: Mapping[tuple[str, ...], int]) -> Iterator[Problem]:  # fmt: skip
    """Compare each combination with the one in which one scale answer is the next worse; name the card that is lost."""
    named = set()
    for combination, place in worst.items():
        for at, name in enumerate(found.inputs):
            order = values[name]
            here = order.index(combination[at])
            if facts[name].order != "scale" or here + 1 == len(order):
                continue
            worse = (*combination[:at], order[here + 1], *combination[at + 1 :])
            if worst[worse] >= place:
                continue
            card = _decider(found, combination)
            if (card.id, name) not in named:
                named.add((card.id, name))
                what = f"is not monotone: {name} = {order[here + 1]} is worse and gets {found.scale[worst[worse]]}, "
                what += f"not {card.outcome} (at {_words(found, combination)})"
                yield Problem(_where(found, card), what, "let it match the worse answer too")


def _decider(found: Table, combination: tuple[str, ...]) -> Card:
    mask = -1
    for name, value in zip(found.inputs, combination, strict=True):
        mask &= found.masks[name][value]
    return found.cards(mask & (1 << len(found.card)) - 1)[0]


# ---------------------------------------------------------------------------------------- facts, sheets, sources


def _fact_problems(questions: Questionnaire) -> Iterator[Problem]:
    """Find facts that get milder when one of the answers they are judged from gets worse, in any profile."""
    for name in PROFILES:
        for fact in questions.fact:
            if fact.order == "scale" and fact.cases:
                yield from _fact_not_monotone(questions, fact, limits(name), name)


def _fact_not_monotone(questions: Questionnaire, fact: Fact, numbers: Mapping[str, float],
                       name: str) -> Iterator[Problem]:  # fmt: skip
    domains = {ref: _domain(questions, ref, fact, numbers) for ref in sorted(fact.rests_on | {"component"})}
    scales = {ref for ref in domains if _is_scale(questions, ref)}
    judged = {
        combination: fact.values.index(_judged(fact, dict(zip(domains, combination, strict=True)), numbers))
        for combination in product(*domains.values())
    }
    for combination, place in judged.items():
        for at, ref in enumerate(domains):
            step = domains[ref].index(combination[at]) + 1
            if ref in scales and step < len(domains[ref]):
                worse = (*combination[:at], domains[ref][step], *combination[at + 1 :])
                if judged[worse] < place:
                    what = f"is not monotone: {ref} = {domains[ref][step]} is worse and makes it milder ({name})"
                    yield Problem(f"facts.toml [{fact.id}]", what, "mend the order of its cases")
                    return


def _judged(fact: Fact, values: Mapping[str, object], numbers: Mapping[str, float]) -> str:
    for case in fact.cases:
        if holds(case.when, lambda name: frozenset({values[name]}), numbers):
            return case.value
    return fact.otherwise


def _is_scale(questions: Questionnaire, ref: str) -> bool:
    known = questions.questions.get(ref) or questions.facts.get(ref)
    return known is not None and known.order == "scale"


def _domain(questions: Questionnaire, ref: str, fact: Fact, numbers: Mapping[str, float]) -> list[object]:
    """Return the values to try for a reference: each choice, each set of one, points around each threshold."""
    question = questions.questions.get(ref)
    if ref == "component":
        family = questions.families.get(fact.per)
        members = questions.questions[family.members].choices if family and family.members else []
        return [choice.id for choice in members] or [fact.per]
    if question and question.kind == "several":
        return [frozenset({choice.id}) for choice in question.choices]
    if question and question.choices:
        return [choice.id for choice in question.choices]
    if ref in questions.facts and questions.facts[ref].values:
        return list(questions.facts[ref].values)
    found = {bound for case in fact.cases for name, bound in thresholds(case.when) if name == ref}
    points = sorted(numbers[bound.removeprefix("@")] if isinstance(bound, str) else bound for bound in found)
    return [point + step for point in points for step in (-0.01, 0.0, 0.01)] or [0.0]


def _sheet_problems(questions: Questionnaire) -> Iterator[Problem]:
    for point in hold_points():
        where = f"hold_points.toml [{point.id}]"
        yield from _order_problems(point, where)
        for need in point.needs:
            yield from condition_problems(questions, need.when, where)
            yield from _outcome_problems(questions, need.when, where)
            if need.every and need.every not in questions.families:
                yield Problem(where, f"the family {need.every!r} is not known", "name one that is")
        yield from _ground_problems(where, point)
    for name in TABLES:
        for question in table(name).done_by:
            if question not in questions.questions:
                yield Problem(f"{name}.toml", f"is done by {question!r}, which is no question", "name one that is")
    for notice in notices():
        where = f"notices.toml [{notice.id}]"
        yield from condition_problems(questions, notice.when, where)
        yield from _ground_problems(where, notice)
    for line in referral().line:
        yield from condition_problems(questions, line.when, f"referral.toml [{line.id}]")
    for section in questions.section:
        if section.behind and section.behind not in {point.id for point in hold_points()}:
            yield Problem(f"components.toml [{section.id}]", f"lies behind {section.behind!r}", "name a hold point")
    for card in questions.cards:
        for name in sorted({one.table for one in card.printed} - {"", *TABLES}):
            yield Problem(f"questionnaire [{card.id}]", f"is needed to order by {name!r}", "name a table that exists")
    yield from _closure_problems(questions)
    ids = [item.id for group in (hold_points(), notices(), referral().line, closures().closure) for item in group]
    for name in sorted({name for name in ids if ids.count(name) > 1}):
        yield Problem("rules", f"the id {name!r} stands more than once", "give each its own")


def _closure_problems(questions: Questionnaire) -> Iterator[Problem]:
    for closure in closures().closure:
        where = f"shut.toml [{closure.id}]"
        yield from condition_problems(questions, closure.clear_when, where)
        yield from _ground_problems(where, closure)
        for way in closures().shut_by(closure):
            if way not in closures().ways:
                yield Problem(where, f"shuts {way!r}, which is no way to dry", "name one of `ways`, or all")


def _unknown_limits() -> Iterator[Problem]:
    """Find limits that a condition names by `@` and a country does not have."""
    for name, text in data_files(files("recover")):
        lines = (line for line in text.splitlines() if not line.startswith("#"))
        named = {limit for line in lines for limit in re.findall(r'"@(\w+)"', line)}
        for limit, country in product(sorted(named), PROFILES):
            if limit not in limits(country):
                what = f"names the limit {limit!r}, which profiles/{country}.toml lacks"
                yield Problem(name, what, "give it to every country, or to own_limits.toml")


def _outcome_problems(questions: Questionnaire, condition: Condition, where: str) -> Iterator[Problem]:
    """Find references to outcomes of tables, or to renewals, that there are none of."""
    for name in sorted(one for one in references(condition) if one.startswith(OF_TABLE)):
        table_name, _, renewed = name.removeprefix(OF_TABLE).partition(SINCE)
        if table_name not in TABLES or (renewed and renewed not in questions.questions):
            yield Problem(where, f"there is no {name!r}", "name a table, and a question that tells of the renewal")
        elif renewed and renewed not in table(table_name).done_by:
            yield Problem(where, f"{name!r} is not how {table_name}.toml is done", "name the question in its `done_by`")


def _suspension_problems(point: HoldPoint, where: str) -> Iterator[Problem]:
    """Find a hold point that is suspended by none of a kiln, never lifted again, or without its sentence."""
    told = point.suspended_by, point.lifted_by, point.suspended
    of_kiln = {one.id for one in hold_points() if one.per == "kiln"}
    if any(told) and not (all(told) and {*told[:2]} <= of_kiln):
        what = f"is suspended by {point.suspended_by!r} and lifted by {point.lifted_by!r}, with or without a sentence"
        yield Problem(where, what, "name two hold points of a kiln, and say what is not done")


def _order_problems(point: HoldPoint, where: str) -> Iterator[Problem]:
    before = [one.id for one in hold_points()][: [one.id for one in hold_points()].index(point.id)]
    for name in point.requires:
        if name not in before:
            yield Problem(where, f"requires {name!r}, which is no hold point before it", "name an earlier one")
    yield from _suspension_problems(point, where)
    if not point.signatures:
        yield Problem(where, "is signed by nobody", "name what is signed for")
    for name, duty in product(PROFILES, point.signatures):
        if not profile(name).roles_for(duty):
            yield Problem(f"profiles/{name}.toml", f"has no role that signs for {duty!r}", "add one, or name the duty")
