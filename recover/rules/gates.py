"""Hold points, notices, closures and the electrician's referral: cards whose conditions read answers and facts.

A hold point stays closed until each of its needs certainly holds, and even then a named person releases it, not the
program. A notice is printed where its condition holds or cannot be excluded; one that says so, only where it holds. A
closure shuts ways to dry until its condition certainly holds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import Literal

from recover.base.conditions import Condition, references
from recover.base.datafile import load
from recover.base.sources import Grounds
from recover.profiles import Duty

NoticeGroup = Literal[
    "do", "dont", "photograph", "keep", "write_down",
    "instrument", "part", "protection",
    "caution", "drying", "betterment", "limit", "interim", "tag",
]  # fmt: skip


@dataclass(frozen=True)
class Need:
    """What must certainly be true; with `every`, of each component of that family."""

    say: str
    when: Condition
    every: str = ""


@dataclass(frozen=True, kw_only=True)
class HoldPoint(Grounds):
    """Work stops here until named people release it; `meanwhile` says what may still be answered behind it.

    `requires` names the hold points before it, `signatures` the duties that are signed for, each by another person.
    One that opens work at a dead kiln is `suspended_by` a later one of the same kiln: once that was released it opens
    nothing, and `suspended` is said in place of what it opens, until the one that it is `lifted_by` is signed after it.
    One that switches it on opens nothing while a stop of the log waits to be mended: `stopped` is said then.
    """

    id: str
    per: str
    title: str
    opens: str
    until_then: str
    needs: list[Need]
    signatures: list[Duty]
    requires: list[str] = field(default_factory=list)
    meanwhile: str = ""
    suspended_by: str = ""
    lifted_by: str = ""
    suspended: str = ""
    stopped: str = ""


@dataclass(frozen=True, kw_only=True)
class Notice(Grounds):
    """A sentence that is printed where it applies; one that is `only_certain`, not where that is merely possible."""

    id: str
    group: NoticeGroup
    say: str
    because: str = ""
    per: str = "job"
    when: Condition = field(default_factory=dict)
    only_certain: bool = False


@dataclass(frozen=True, kw_only=True)
class Closure(Grounds):
    """What shuts ways to dry, named by their ids or `all`, until `clear_when` certainly holds at the kiln.

    Of `every` member of a family where what is there reaches the others.
    """

    id: str
    label: str
    ways: list[str]
    clear_when: Condition
    say: str
    every: str = ""


@dataclass(frozen=True)
class _Closures:
    """Every closure, every way there is, and how is said that what shuts one is not known, or cleared without proof."""

    ways: list[str]
    not_known: str
    not_proven: str
    closure: list[Closure]

    def shut_by(self, closure: Closure) -> list[str]:
        """Return the ways that a closure shuts."""
        return self.ways if closure.ways == ["all"] else closure.ways


@dataclass(frozen=True, kw_only=True)
class ReferralLine:
    """What the electrician is asked to do, on which form, and what there is to write down."""

    id: str
    form: str
    say: str
    result: str = ""
    when: Condition = field(default_factory=dict)


@dataclass(frozen=True)
class _ReferralForm:
    """A form for the electrician: what it is about, and the tables whose findings are theirs to act on."""

    id: str
    title: str
    intro: str
    tables: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class _HoldPoints:
    duty: dict[Duty, str]
    hold_point: list[HoldPoint]


@dataclass(frozen=True)
class _Notices:
    notice: list[Notice]


@dataclass(frozen=True)
class _Referral:
    form: list[_ReferralForm]
    line: list[ReferralLine]


def on_the_way(to: str) -> frozenset[str]:
    """Return a hold point and all before it, by their ids: what stands beside that way is not among them."""
    requires = next((point.requires for point in hold_points() if point.id == to), [])
    return frozenset({to}).union(*map(on_the_way, requires))


@cache
def _hold_points() -> _HoldPoints:
    return load("rules/hold_points.toml", "recover-hold-points", _HoldPoints)


def hold_points() -> list[HoldPoint]:
    """Return the hold points in the order in which they are reached."""
    return _hold_points().hold_point


@cache
def needed() -> frozenset[str]:
    """Return every answer and fact that a need of a hold point names itself."""
    return frozenset().union(*(references(need.when) for point in hold_points() for need in point.needs))


def duties() -> dict[Duty, str]:
    """Return what is signed for and attested, in words."""
    return _hold_points().duty


@cache
def notices() -> list[Notice]:
    """Return every notice in the order of its group."""
    return load("rules/notices.toml", "recover-notices", _Notices).notice


@cache
def closures() -> _Closures:
    """Return what shuts ways to dry."""
    return load("rules/shut.toml", "recover-shut", _Closures)


@cache
def referral() -> _Referral:
    """Return the forms of the electrician's referral, and their lines, in their order."""
    return load("rules/referral.toml", "recover-referral", _Referral)
