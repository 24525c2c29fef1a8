"""Findings in groups of like outcome: replace, repair, treat, keep, what is open still, and what is done since."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import get_args

from recover.base.addresses import Address, is_listed, kind_of, within
from recover.judged.assessment import Assessment, Finding
from recover.report.paper import counted_runs, depends_words, span
from recover.report.words import GroupName, words

LIKE_ANOTHER = ("bond", "part")
"""Families of which each is called like something that has findings of its own: what is earthed, what has layers."""


@dataclass(frozen=True)
class Named:
    """Neighbours by their name, under what they are of: kiln and table, what is open; how many components that is."""

    under: tuple[str, ...]
    name: str
    number: int


@dataclass(frozen=True)
class Group:
    """The components of one outcome, each named once; what is of a table alone stands after what is whole."""

    name: GroupName
    named: tuple[Named, ...]

    unlisted: int = 0
    """How many more it has that nobody has listed yet: there is no name for what may not be there."""

    @property
    def number(self) -> int:
        """How many components it has; one of which two things are open counts with each."""
        return sum(one.number for one in self.named) + self.unlisted


def group_of(finding: Finding) -> GroupName:
    """Return in which group a finding is told: by its outcome, unless that is open, or done."""
    if finding.done:
        return "done"
    name: GroupName = finding.words if finding.outcome.closed else "open"  # type: ignore[assignment]
    return name


def groups(found: Assessment) -> list[Group]:
    """Return the findings of a job in their groups, the worst first; none that is empty."""
    all_of = [_group(found, name) for name in get_args(GroupName)]
    return [one for one in all_of if one.number]


def _group(found: Assessment, name: GroupName) -> Group:
    here = [one for one in found.findings if group_of(one) == name]
    listed = [one for one in here if is_listed(one.at)]
    unlisted = {(one.at, _head(found, one)) for one in here if one not in listed}
    return Group(name, tuple(_named(found, listed)), len(unlisted))


def _named(found: Assessment, here: Sequence[Finding]) -> Iterator[Named]:
    """Yield what a group names: by what is said of it, kiln by kiln, what is whole before what is of one table."""
    whole = Counter(one.at for one in found.findings)
    for head in dict.fromkeys(_head(found, one) for one in here):
        for kiln in found.answers.kilns:
            mine = [one for one in here if _head(found, one) == head and within(one.at, "kiln") == kiln]
            where = (*head, *filter(None, (found.answers.where(kiln),)))
            for matter, labels in _by_matter(found, mine, whole).items():
                under = (*where, matter) if matter else where
                yield from (Named(under, text, number) for text, number in counted_runs(labels))


def _head(found: Assessment, finding: Finding) -> tuple[str, ...]:
    """Return what is said of a finding before its name: its range and what that depends on; of one done its outcome."""
    name = group_of(finding)
    if name == "done":
        return (finding.words,)
    if name != "open":
        return ()
    ends = span(finding.outcome.low, finding.outcome.high)
    return (words().verdict.depends(span=ends, facts=depends_words(found, finding)),)


def _by_matter(found: Assessment, mine: Sequence[Finding], whole: Counter[Address]) -> dict[str, list[str]]:
    """Return names by what they are of: nothing first, where all that is found of a component is of this group."""
    of: dict[Address, list[Finding]] = {}
    labels: dict[str, list[str]] = {"": []}
    for one in mine:
        if kind_of(one.at) != "kiln":
            of.setdefault(one.at, []).append(one)
    for at, findings in of.items():
        clear = len(findings) == whole[at] and kind_of(at) not in LIKE_ANOTHER
        labels.setdefault("" if clear else _matter(findings), []).append(found.answers.label_in_kiln(at))
    labels[""] += [one.table.title for one in mine if kind_of(one.at) == "kiln"]
    return labels


def _matter(findings: Iterable[Finding]) -> str:
    return ", ".join(one.table.title.lower() for one in findings)


def told(named: Iterable[Named]) -> str:
    """Return names in a row, what they are of said once before those that follow one another under it."""
    parts: list[str] = []
    before: tuple[str, ...] = ()
    for one in named:
        same = next((at for at, (new, old) in enumerate(zip(one.under, before, strict=False)) if new != old),
                    min(len(one.under), len(before)))  # fmt: skip
        parts.append(": ".join((*one.under[same:], one.name)))
        before = one.under
    return "; ".join(parts)
