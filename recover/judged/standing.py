"""How a hold point stands: what keeps it closed, who has signed, who has still to sign, and how that is done."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Literal

from recover.asked.told import Release, Withdrawal, same_person
from recover.base.addresses import JOB, Address
from recover.base.errors import command
from recover.judged.admissible import Lack
from recover.judged.signatures import Signature
from recover.profiles import Duty, Profile
from recover.rules.gates import HoldPoint, duties

HoldState = Literal["closed", "ready for release", "released"]

ALL = "all of them"
"""Said where a need holds of no member of a family, so that a reader is spared the list."""

Witnesses = Mapping[str, Mapping[str, str]]
"""By duty, who has attested it: the name, with the role in which it was said; empty where somebody else named them."""


@dataclass(frozen=True)
class Unmet:
    """A need that does not certainly hold on admissible evidence: what lacks of it, what was given and fails it, and of
    which components it still is to be met."""

    say: str
    lacks: tuple[Lack, ...] = ()
    still: tuple[str, ...] = ()
    fails: tuple[str, ...] = ()
    anew: tuple[str, ...] = ()
    """The keys of what is to be answered anew, where no need itself says so."""

    def __str__(self) -> str:
        more = ["and more"] if len(self.fails) > _MOST_NAMED else []
        fails = [f"not met by {', '.join([*self.fails[:_MOST_NAMED], *more])}"] if self.fails else []
        still = [f"still: {', '.join(self.still)}"] if self.still else []
        because = "; ".join([*by_reason(self.lacks), *fails, *still])
        return f"{self.say} ({because})" if because else self.say


_MOST_NAMED = 4


def by_reason(lacks: Iterable[Lack]) -> Iterator[str]:
    """Yield each reason once, behind all that it is said of."""
    of: dict[str, list[str]] = {}
    for lack in lacks:
        of.setdefault(lack.why, []).append(lack.of)
    for why, heads in of.items():
        yield str(Lack(", ".join(dict.fromkeys(filter(None, heads))), why))


@dataclass(frozen=True, kw_only=True)
class Hold:
    """A hold point of a component: what is missing, who has signed and who has still to sign.

    `witnesses` names, by duty, who has attested what this hold point and those before it rest on: who proved it dead
    signs for that, and nobody else.
    `released_by` says who must sign, `still` who has not, each with the roles that may.
    `rests_on` is every answer that its needs look at: key, then its line of the journal, 0 where there is none; `after`
    the lines of the signatures under the hold points before it. `until`: when the first answer that its signatures and
    those before it rest on is out of date; None where all of it keeps, or it is not released.
    `suspended` says, of one that opens work at a dead kiln, that the kiln may be live since, or of one that switches it
    on, what stopped it and is not mended: it opens nothing then, and counts as released for those after it alone. Empty
    where it is not.
    """

    point: HoldPoint
    at: Address
    label: str
    waits: tuple[str, ...]
    unmet: tuple[Unmet, ...]
    signatures: tuple[Signature, ...]
    wanted: tuple[Duty, ...]
    released_by: str
    still: str
    rests_on: Mapping[str, int]
    after: tuple[int, ...]
    witnesses: Witnesses
    until: datetime | None = None
    suspended: str = ""
    renewable: tuple[Release, ...] = ()
    """The signatures that hold and would last longer if they were given anew."""
    taken_back: Withdrawal | None = None
    """Who took back the last signature for what nobody has signed for since, and why."""

    @property
    def missing(self) -> tuple[str, ...]:
        """What keeps it closed, in sentences: the hold points before it, then its own needs."""
        return (*self.waits, *map(str, self.unmet))

    @property
    def state(self) -> HoldState:
        """Closed while anything is missing, released once everybody has signed who must."""
        if self.missing:
            return "closed"
        return "ready for release" if self.wanted else "released"

    @property
    def stands(self) -> HoldState | Literal["suspended"]:
        """How it stands in a word for people: its state, unless that would open what is suspended."""
        return "suspended" if self.suspended else self.state

    @property
    def signed(self) -> tuple[Release, ...]:
        """The signatures that hold."""
        return tuple(one.release for one in self.signatures if one.stands)

    @property
    def aged(self) -> bool:
        """Whether everybody had signed, and what that rests on is out of date since and nothing else: what was locked
        and proven dead is so still, as far as anybody has said."""
        last = {one.release.duty: one for one in self.signatures}.values()
        ended = [one for one in last if one.ended]
        alone = not (self.waits or self.suspended or self.taken_back)
        return self.once_signed and bool(ended) and alone and all(one.aged for one in ended)

    @property
    def signers(self) -> str:
        """Who has signed, each with role and licence: `E. Lectrician, electrician, 1234; A. Tendant, attendant`."""
        return "; ".join(one.signer for one in self.signed)

    @property
    def once_signed(self) -> bool:
        """Whether everybody had signed once, whatever ended it."""
        return {one.release.duty for one in self.signatures} >= {*self.point.signatures}

    @property
    def signed_on(self) -> date | None:
        """The date on which the last had signed, whatever ended it since; None where not everybody had."""
        return max(one.release.moment.date() for one in self.signatures) if self.once_signed else None

    @property
    def ended(self) -> tuple[Signature, ...]:
        """The signatures that ended, each with what ended it."""
        return tuple(one for one in self.signatures if one.ended)


def to_sign(folder: Path, hold: Hold, country: Profile) -> str:
    """Return the command by which the next signature under a hold point is given, by whom where the answers tell.

    Two people sign: where the answers name one person alone for two duties, what is to be done about that. Where the
    last signature was taken back, why: that is looked at before anybody is asked to sign.
    """
    if hold.taken_back:
        return f"{hold.taken_back}; look at that first, it is signed again when that is settled"
    free = {duty: _free_for(hold, duty) for duty in hold.wanted}
    if stuck := [duty for duty in hold.wanted if hold.witnesses.get(duty) and not free[duty]]:
        names, duty = " or ".join(hold.witnesses[stuck[0]]), duties()[stuck[0]]
        return f"two people sign; by the answers {names} is {duty} as well: somebody else takes that over, and says so"
    duty = min(hold.wanted, key=lambda one: (not free[one], len(free[one])))
    name, said = next(iter(free[duty].items()), ("NAME", ""))
    role = next((role for role in country.roles_for(duty) if role.id == said), country.roles_for(duty)[0])
    component = ("--component", hold.at) if hold.at != JOB else ()
    licence = ("--licence", "NUMBER") if role.licence else ()
    return command("log", folder, "--release", hold.point.id, *component, "--by", name, "--as", role.id, *licence)


def _free_for(hold: Hold, duty: str) -> dict[str, str]:
    """Return who may still sign for a duty by the answers: nobody who has signed, or whom another duty needs alone."""
    alone = [next(iter(names)) for one in hold.wanted if one != duty and len(names := hold.witnesses.get(one, {})) == 1]
    taken = [*alone, *(release.by for release in hold.signed)]
    names = hold.witnesses.get(duty, {})
    return {name: role for name, role in names.items() if not any(same_person(name, one) for one in taken)}
