"""Until when own heat may be on: while its release stands, and for a run that was begun under one some hours more.

A firing through the night outlives the release of its morning, whose evidence holds for a day: it goes on to its end.
A release that anything else ended than age carries no run on.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from recover.asked.answers import Answers
from recover.asked.told import key_of, known_order, seen_at
from recover.base.addresses import Address
from recover.judged.dry import CUTOUT
from recover.judged.signatures import Signature
from recover.judged.standing import Hold
from recover.profiles import own_limits


@dataclass(frozen=True)
class HeatRelease:
    """A release by everybody who signs: since when, until when (None: it stands), and whether age alone ended it."""

    since: datetime
    until: datetime | None
    aged: bool

    def stood(self, at: datetime) -> bool:
        """Whether it stood at a moment."""
        return self.since <= at and (self.until is None or at < self.until)

    def held(self, at: datetime) -> bool:
        """Whether it stood at a moment, or has only grown old since: nothing of what it rested on ended it."""
        return self.since <= at and (self.aged or self.stood(at))

    @property
    def runs_until(self) -> datetime | None:
        """Until when a run that was begun under it may go on; None while it stands."""
        longest = self.since + timedelta(hours=own_limits()["run_hours"].value)
        if self.until is None:
            return None
        return max(self.until, longest) if self.aged else self.until


def releases(hold: Hold, written: Collection[datetime], now: datetime) -> Iterator[HeatRelease]:
    """Yield each release of a hold point; `written` are the moments of the lines of its journal: what ended a signature
    at another moment was age."""
    by: dict[str, Signature] = {}
    for one in (each for each in hold.signatures if not each.renewed):
        by[one.release.duty] = one
        if by.keys() >= {*hold.point.signatures}:
            ends = [each.ended_at or now for each in by.values() if each.ended]
            until = min(ends, default=None)
            since = max(each.since for each in by.values())
            yield HeatRelease(since, until, until is not None and until not in written)
            by = {}


def on_until(found: Iterable[HeatRelease], hot: Collection[datetime], at: datetime) -> datetime | None:
    """Return until when own heat may have been on by a moment: None while a release stands. `hot` are the moments at
    which a run that goes on was read hot: it goes on under the release under which any of them was."""
    before = [one for one in found if one.since <= at]
    if any(one.stood(at) for one in before):
        return None
    ends = [one.runs_until if any(map(one.stood, hot)) else one.until for one in before]
    return max((end for end in ends if end), default=datetime.min.replace(tzinfo=at.tzinfo))


def most_degc(answers: Answers, at: Address, moment: datetime) -> float | None:
    """Return how hot a chamber may be fired at a moment of no day of a plan [°C]: up to where the cut-out was proved to
    open by then, and to what its plate says; None where nobody knows either."""
    told = [one for one in answers.history.get(key_of(CUTOUT, at), ()) if one.state == "given"]
    proved = sorted((one for one in told if seen_at(one) <= moment), key=known_order)[-1:]
    return min((*(one.value for one in proved), *(answers.look("identity.max_c", at) or ())), default=None)
