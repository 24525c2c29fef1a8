"""Rule tables and how they decide.

A table is a list of cards over named facts. Every card that matches is cited and the most severe outcome decides, so
that adding a card can only make a result stricter, and the order of cards means nothing. A fact that is not known
stands for every value it could have: the table is evaluated over all of them, and the outcome is a range.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property, lru_cache
from pathlib import Path
from typing import Literal

from recover.asked.questions import Fact
from recover.base.addresses import UNLISTED, Address, name_of
from recover.base.conditions import Condition, named_values
from recover.base.datafile import load, read_own
from recover.base.errors import DataError, Problem
from recover.base.sources import Citation, Grounds
from recover.profiles import Trade

Who = Literal["repairer", "electrician", "laboratory", "builder", "gas_engineer"]
Consent = Literal["owner", "insurer"]

COMPONENT_TABLES = (
    "casing", "lining", "slab", "element", "tail", "probe", "cable", "controller", "fitting", "switching", "protection",
    "wiring", "bonding", "supply", "vent", "furniture", "contents",
)  # fmt: skip
TABLES = ("call", *COMPONENT_TABLES, "ladder")


@dataclass(frozen=True)
class Contrary(Citation):
    """A published row that is milder than the card: printed beside it, never deciding."""

    outcome: str
    says: str


@dataclass(frozen=True, kw_only=True)
class Card(Grounds):
    """One rule: when its facts hold, this outcome, these tasks, who must act, why, on whose authority."""

    id: str
    when: dict[str, str | list[str]]
    outcome: str
    tasks: list[str] = field(default_factory=list)
    who: list[Who] = field(default_factory=list)
    consent: list[Consent] = field(default_factory=list)
    contrary: list[Contrary] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
class Table:
    """The cards for one family of components, over the facts named as inputs; outcomes from mildest to most severe.

    It speaks of those components only for which `applies_if` holds or cannot be excluded. `trade`: whose work it is
    where a country leaves work of a trade to its own people; extra-low voltage belongs to none.
    `done_by`: the questions of the register of which any tells that what a finding of the table asks is done.
    """

    id: str
    title: str
    component: str
    inputs: list[str]
    scale: list[str]
    card: list[Card]
    applies_if: Condition = field(default_factory=dict)
    trade: Trade = ""
    trade_of: list[str] = field(default_factory=list)
    done_by: list[str] = field(default_factory=list)

    def trade_at(self, at: Address) -> Trade:
        """Return the trade that work on a component belongs to; empty where it is anybody's who knows kilns.

        Where `trade_of` names members of the family, only those; one that nobody has named may be any of them.
        """
        return self.trade if not self.trade_of or name_of(at) in (*self.trade_of, UNLISTED) else ""

    def severity(self, card: Card) -> int:
        """Return the place of a card's outcome on the table's scale, 0 the mildest."""
        return self.scale.index(card.outcome)

    @cached_property
    def masks(self) -> Mapping[str, Mapping[str, int]]:
        """For each input and value that some card names, the cards (as bits) that the value leaves in play."""
        return {name: _Masks(name, self.card) for name in self.inputs}

    @cached_property
    def by_severity(self) -> list[int]:
        """The cards (as bits) of each outcome, in the order of the scale."""
        bits = [0] * len(self.scale)
        for place, card in enumerate(self.card):
            bits[self.severity(card)] |= 1 << place
        return bits

    def worst(self, matching: int) -> int:
        """Return the most severe outcome among matching cards (bits) as a place on the scale; -1 if none matches."""
        return max((place for place, bits in enumerate(self.by_severity) if bits & matching), default=-1)

    def cards(self, bits: int) -> list[Card]:
        """Return the cards of a set of bits, most severe first."""
        found = [card for place, card in enumerate(self.card) if bits >> place & 1]
        return sorted(found, key=self.severity, reverse=True)


class _Masks(dict[str, int]):
    """Value -> bits of the cards that accept it; a value that no card names leaves the cards that do not ask."""

    def __init__(self, name: str, cards: list[Card]) -> None:
        super().__init__()
        self._indifferent = sum(1 << place for place, card in enumerate(cards) if name not in card.when)
        for place, card in enumerate(cards):
            for value in named_values(card.when[name]) if name in card.when else ():
                self[value] = self.get(value, self._indifferent) | 1 << place

    def __missing__(self, value: str) -> int:
        return self._indifferent


@dataclass(frozen=True)
class Reason:
    """A cited card: whether it matches whatever the open facts turn out to be, and whether it can decide."""

    card: Card
    certain: bool
    decides: bool


@dataclass(frozen=True)
class Outcome:
    """What a table says of one component: a range from `low` to `high`, what it depends on, and why."""

    low: str
    high: str
    depends_on: tuple[str, ...]
    reasons: tuple[Reason, ...]

    @property
    def closed(self) -> bool:
        """Whether the outcome is one word: nothing that is open could change it."""
        return self.low == self.high

    @property
    def words(self) -> str:
        """The outcome as it is printed: one word, or the two ends of the range."""
        return self.low if self.closed else f"{self.low} to {self.high}"


def evaluate(table: Table, possible: Mapping[str, Iterable[str]]) -> Outcome:
    """Evaluate a table over every combination of the values that its inputs may have.

    Raises DataError if some combination matches no card: a gap, which the checker finds beforehand.
    """
    values = {name: frozenset(possible[name]) for name in table.inputs}
    matches = _matches(table, values)
    if 0 in matches:
        raise DataError([Problem(f"{table.id}.toml", f"has no card for {values}", "add one: recover check names it")])
    worst = {mask: table.worst(mask) for mask in matches}
    certain = _intersection(matches)
    deciding = 0
    for mask, place in worst.items():
        deciding |= mask & table.by_severity[place]
    reasons = tuple(
        Reason(card, bool(certain >> at & 1), bool(deciding >> at & 1))
        for card in table.cards(certain | deciding)
        for at in [table.card.index(card)]
    )
    low, high = table.scale[min(worst.values())], table.scale[max(worst.values())]
    return Outcome(low, high, _depends_on(table, values) if low != high else (), reasons)


@lru_cache(maxsize=1 << 14)
def outcome_of(name: str, possible: tuple[tuple[str, frozenset[str]], ...]) -> Outcome:
    """Evaluate one of the program's tables; the same facts are asked again and again for the hold points."""
    return evaluate(table(name), dict(possible))


def _matches(table: Table, values: Mapping[str, Iterable[str]]) -> set[int]:
    """Return the sets of matching cards (as bits) over all combinations; equal sets once, which keeps it fast."""
    found = {(1 << len(table.card)) - 1}
    for name in values:
        found = {mask & table.masks[name][value] for mask in found for value in values[name]}
    return found


def _intersection(masks: Iterable[int]) -> int:
    result = -1
    for mask in masks:
        result &= mask
    return result


def _depends_on(table: Table, values: Mapping[str, frozenset[str]]) -> tuple[str, ...]:
    """Return the open inputs of which some value would change which outcomes remain possible; if none alone, all."""

    worst = cache(table.worst)  # the same cards match again and again

    def matters(name: str) -> bool:
        others = _matches(table, {other: values[other] for other in table.inputs if other != name})
        found = {frozenset(worst(mask & table.masks[name][value]) for mask in others) for value in values[name]}
        return len(found) > 1

    open_inputs = [name for name in table.inputs if len(values[name]) > 1]
    return tuple(filter(matters, open_inputs)) or tuple(open_inputs)


def load_table(path: Path) -> Table:
    """Read a table from a file of one's own. Raises DataError."""
    return read_own(path, "recover-rules", Table)


@cache
def table(name: str) -> Table:
    """Return one of the program's tables by its name."""
    return load(f"rules/{name}.toml", "recover-rules", Table)


@dataclass(frozen=True)
class _Task:
    id: str
    say: str


@dataclass(frozen=True)
class _Tasks:
    task: list[_Task]


@cache
def tasks() -> dict[str, str]:
    """Return the sentence of each task by id."""
    return {task.id: task.say for task in load("rules/tasks.toml", "recover-tasks", _Tasks).task}


def input_values(facts: Mapping[str, Fact], table: Table) -> dict[str, list[str]]:
    """Return the values of each of a table's inputs in their order."""
    return {name: facts[name].values for name in table.inputs}
