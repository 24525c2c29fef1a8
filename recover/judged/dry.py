"""Whether a lining is dry: five kinds of evidence from log and answers, each agreeing, contradicting or not known.

Enough of them must agree, and none contradict (dry.toml). What is logged is judged first, and what is attested only
adds to it: saying nothing is never milder. Of each kind the last reading decides, and a bad one shortly before it
unless a third one settles that; a worse, older or missing one agrees with nothing. One that was taken back leaves its
kind unknown until it is read again, and stays against it where it was and no reason was said. Nothing of before the
water, or of before it came again, counts; what was typed in long after its moment speaks for nothing, but for what a
logger wrote down itself. Until the log tells that the chamber was as hot since as the last water asks, nothing is
enough.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cache
from typing import Literal

from recover.asked.answers import Answers
from recover.asked.told import NEEDS_REASON, Answer, Logged, key_of, seen_at
from recover.base.addresses import Address
from recover.base.conditions import Possible
from recover.base.datafile import load
from recover.base.measures import as_read, show_hours, show_quantity, to_the_gram
from recover.base.sources import Authority
from recover.engineering.insulation import fallen_by_course, falling
from recover.judged.admissible import refusal, water_logged, water_out
from recover.judged.failed import cold_readings
from recover.judged.risen import outvoted
from recover.physics.air import saturation_line
from recover.profiles import Profile, own_limits

EvidenceName = Literal["weight", "vapour", "casing", "insulation", "air"]
EvidenceLies = Literal["agrees", "contradicts", "not_known"]
Why = str

CUTOUT, DAY_TOP, WARE = "energise.cutout_set", "energise.day_top", "plan.top_degc"
"""What the cut-out is set to, the top of the day that it is set for, and what the owner's ware needs."""

COLD, WEIGHED = "zone.insulation", ("dried.mass_first", "dried.mass_again")
SAID: Mapping[EvidenceName, str] = {"vapour": "dried.vapour", "casing": "dried.casing"}
"""What is attested rather than logged, by its question."""

MEGOHMS, PERCENT = ("Mohm", "MΩ"), ("percent", "%", "% of its wet weight")
HEATED, LOW, STOP = ("chamber", "casing"), "low", "stop"
"""What is read of a heated kiln; and what a logged reading keeps of the band that it was held against."""


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """One of the five: how it lies, why in words, and the journal lines that it rests on."""

    what: EvidenceName
    lies: EvidenceLies
    why: str
    lines: tuple[int, ...] = ()


@dataclass(frozen=True)
class Heat:
    """How hot a chamber or lining was read [°C], and the line of the log that tells it."""

    degc: float
    one: Logged


@dataclass(frozen=True)
class _Course:
    """Insulation of a lining at a moment [MΩ], how warm that was [°C], and the line of the journal that tells it. Cold
    ones are alike: they stand at 0."""

    at: datetime
    megohm: float
    degc: float
    line: int


@dataclass(frozen=True, kw_only=True)
class EvidenceCard(Authority):
    """One of the five in words."""

    id: EvidenceName
    say: str
    short: str


@dataclass(frozen=True, kw_only=True)
class _Enough(Authority):
    value: int


@dataclass(frozen=True, kw_only=True)
class _Share(Authority):
    value: float


@dataclass(frozen=True, kw_only=True)
class _First(Authority):
    value: tuple[EvidenceName, ...]


@dataclass(frozen=True)
class _Wet:
    """What is seen or happens where water leaves still, or came again, and how that is told."""

    what: str
    words: tuple[str, ...]
    why: str


@dataclass(frozen=True, kw_only=True)
class _Dry:
    agree: _Enough
    first: _First
    cooling_share: _Share
    against: Mapping[EvidenceLies, str]
    evidence: tuple[EvidenceCard, ...]
    at: str
    joined: tuple[str, ...]
    by_logger: tuple[str, ...]
    wet: tuple[_Wet, ...]
    why: Mapping[Why, str]


@cache
def _dry() -> _Dry:
    return load("judged/dry.toml", "recover-dry", _Dry)


def evidence_cards() -> tuple[EvidenceCard, ...]:
    """Return the five in words, in their order."""
    return _dry().evidence


def least_for_dry() -> tuple[int, float]:
    """Return how many of the five must agree, and how hot [°C] the chamber must have been since the water."""
    return _dry().agree.value, own_limits()["dry_heated_degc"].value


def dry_evidence(answers: Answers, at: Address, country: Profile) -> frozenset[str]:
    """Return what the five say together of a kiln: that they `agree`, that too `few` do, or that one `contradicts`."""
    judge = _judge(answers, at, country)
    found = _evidence(judge)
    if any(one.lies == "contradicts" for one in found):
        return frozenset({"contradicts"})
    agree = {one.what for one in found if one.lies == "agrees"}
    enough = len(agree) >= _dry().agree.value and not agree.isdisjoint(_dry().first.value)
    return frozenset({"agree" if enough and judge.was_heated() else "few"})


def told_against(answers: Answers, at: Address, country: Profile) -> list[str]:
    """Return each of the five that does not agree, in words, what contradicts first; then whether it was never as hot
    as the last water asks."""
    judge, against = _judge(answers, at, country), _dry().against
    short = {card.id: card.short for card in evidence_cards()}
    found = sorted(_evidence(judge), key=lambda one: one.lies)
    told = [(one.lies, against[one.lies].format(short=short[one.what], why=one.why))
            for one in found if one.lies in against]  # fmt: skip
    worse, open_ = ([say for lies, say in told if (lies == "contradicts") is bad] for bad in (True, False))
    return [*worse, *judge.told_cold(), *open_]


def told_wet(answers: Answers, at: Address, country: Profile) -> list[str]:
    """Return, in words, each of the five that contradicts that a kiln is dry."""
    against = _dry().against["contradicts"]
    short = {card.id: card.short for card in evidence_cards()}
    return [against.format(short=short[one.what], why=one.why)
            for one in evidence(answers, at, country) if one.lies == "contradicts"]  # fmt: skip


def hottest(answers: Answers, at: Address, country: Profile) -> Heat | None:
    """Return the hottest that a kiln was ever read since the water, as it counts against: also what was typed in late,
    or was taken back in silence; None where nobody read it."""
    return max(_judge(answers, at, country).heats(against=True), key=lambda heat: heat.degc, default=None)


def heats(answers: Answers, at: Address, country: Profile) -> list[Heat]:
    """Return how hot a chamber was read since the water, by the clock, of what speaks for it."""
    return [heat for heat in _judge(answers, at, country).heats(against=False) if heat.one.what == "chamber"]


def cutout_covers(answers: Answers, at: Address, country: Profile) -> Possible:
    """Return whether the cut-out that was proved last is set as high as every heat of the log, and above what the ware
    needs: what was hotter was fired under no cut-out that anybody proved. Where none is set, nothing is to be covered.
    """
    set_to, needs = answers.look(CUTOUT, at), answers.look(WARE, at)
    if not set_to:
        return None if set_to is None else frozenset({"yes"})
    heat = hottest(answers, at, country)
    covers = (heat is None or heat.degc <= min(set_to)) and all(need < min(set_to) for need in needs or ())
    return frozenset({"yes" if covers else "no"})


def told_uncovered(answers: Answers, at: Address, country: Profile) -> list[str]:
    """Return what the cut-out that was proved last does not cover, in words, of its setting and of the day it was set
    for."""
    if cutout_covers(answers, at, country) != frozenset({"no"}):
        return []
    why = "; ".join(_uncovered(answers, at, country))
    given = (answers.answer(name, at) for name in (CUTOUT, DAY_TOP))
    return [f"{answers.slate_of(one.question, at)} ({answers.in_words(one)}, {why})" for one in given if one]


def _uncovered(answers: Answers, at: Address, country: Profile) -> Iterator[str]:
    """Yield what is hotter than the cut-out is set: the log, what the ware needs."""
    set_to, heat = min(answers.look(CUTOUT, at) or (0.0,)), hottest(answers, at, country)
    if heat and heat.degc > set_to:
        yield _dry().why["uncovered"].format(value=show_quantity(heat.degc, "degC"), line=heat.one.line)
    for need in answers.look(WARE, at) or ():
        if need >= set_to:
            yield _dry().why["uncovered_ware"].format(value=show_quantity(need, "degC"))


def too_light(answers: Answers, at: Address, country: Profile, one: Logged) -> str:
    """Return, in words, that a weighing is of less than a piece weighs oven-dry; empty where it is not."""
    judge = _judge(answers, at, country)
    return judge.too_light(one) if one.what == "piece" and one.value else ""


def evidence(answers: Answers, at: Address, country: Profile) -> tuple[Evidence, ...]:
    """Return each of the five as it stands, in their order."""
    return _evidence(_judge(answers, at, country))


def _evidence(judge: _Judge) -> tuple[Evidence, ...]:
    silent = replace(judge, kept=frozenset(one.line for one in judge.log if judge.was_dropped(one)))
    found = judge.all()
    return tuple(map(_still_against, found, silent.all() if silent.kept else found))


def _judge(answers: Answers, at: Address, country: Profile) -> _Judge:
    return _Judge(answers, at, country, tuple(_counting(answers, at)))


def _still_against(one: Evidence, kept: Evidence) -> Evidence:
    """Return one of the five as it stands; against it still where what was against it was taken back in silence."""
    if kept.lies != "contradicts" or one.lies == "contradicts":
        return one
    return replace(kept, why=_dry().why["dropped"].format(why=kept.why))


def _counting(answers: Answers, at: Address) -> Iterator[Logged]:
    """Yield what was logged of a kiln since the water was out, or came again, and nothing of a time to come, in the
    order of its moments; what was taken back as well."""
    out = water_out(answers)
    own = [
        one for one in (*answers.logged, *answers.unlogged) if one.kiln == at and not answers.is_line_unproved(one.line)
    ]
    own.sort(key=_order)
    wetted = max(map(_order, water_logged(answers, at)), default=(0.0, 0))
    if out is not None:
        yield from (one for one in own if _order(one) > wetted and out <= one.measured <= answers.judged_at)


def _order(one: Logged) -> tuple[float, int]:
    return one.measured.timestamp(), one.line


@dataclass(frozen=True)
class _Judge:
    """What the five are judged by: answers, kiln, whose word counts there, and what counts of the log."""

    answers: Answers
    at: Address
    country: Profile
    log: tuple[Logged, ...]
    kept: frozenset[int] = frozenset()
    """What was taken back, by its lines, and is judged as if it stood."""

    def all(self) -> tuple[Evidence, ...]:
        """Return each of the five."""
        return self.weight(), self.vapour(), self.casing(), self.insulation(), self.air()

    def was_dropped(self, one: Logged) -> bool:
        """Whether a line was taken back without a reason, and nothing of it was read since: silence mends nothing."""
        return not self._stands(one) and one.line not in self.answers.struck and not self._read_again(one)

    # ------------------------------------------------------------------------------------------------ its heat

    def was_heated(self) -> bool:
        """Whether the chamber was as hot as the last water asks, since the water was out or came again."""
        top = self._came_to()
        return top is not None and top.degc >= self._limit("dry_heated_degc")

    def told_cold(self) -> list[str]:
        """Return, in words, that it was not as hot, and how hot it was; nothing where it was."""
        if self.was_heated():
            return []
        limit, top = self._limit("dry_heated_degc"), self._came_to()
        shown = {"limit": show_quantity(limit, "degC"), "value": show_quantity(top.degc, "degC") if top else ""}
        return [_dry().why["never_so_hot" if top else "never_heated"].format(**shown)]

    def _came_to(self) -> Heat | None:
        return max(self.heats(against=False), key=lambda heat: heat.degc, default=None)

    def heats(self, *, against: bool) -> Iterator[Heat]:
        """Yield each temperature that was read of chamber or lining: as it counts against, also what was typed in late,
        or was taken back in silence; else what speaks for it alone."""
        for one in self.log:
            bad = against and (self._stands(one) or self.was_dropped(one))
            if bad or self._is_timely(one):
                yield from (Heat(degc, one) for degc in _heat_degc(one))

    # ------------------------------------------------------------------------------------------------ weight

    def weight(self) -> Evidence:
        """Judge each piece that was weighed: one that contradicts decides, then one of which nothing is known."""
        pieces = list(self._pieces().values())
        told = [one for one in pieces if not self._weighed_anew(one, pieces)]
        found = [*map(self._piece, told), *self._weighed_twice()]
        order: tuple[EvidenceLies, ...] = ("contradicts", "not_known", "agrees")
        return min(found, key=lambda one: order.index(one.lies), default=self._lies("weight", "not_known", "none"))

    def _pieces(self) -> Mapping[tuple[str, str], Sequence[Logged]]:
        """Return the weighings of each piece: by place and unit; without a place, of the only one that is weighed so.

        What is told as a share is judged by itself: nobody knows that it is of the same piece.
        """
        weighed = [one for one in self.log if one.what == "piece" and one.value]
        places = {one.place for one in weighed if one.place}
        only = next(iter(places)) if len(places) == 1 else ""
        pieces: dict[tuple[str, str], list[Logged]] = {}
        for one in weighed:
            pieces.setdefault((one.place or only, _unit(one)), []).append(one)
        return pieces

    def _weighed_anew(self, told: Sequence[Logged], pieces: Iterable[Sequence[Logged]]) -> bool:
        """Whether all weighings of a piece were taken back, and a piece was weighed since."""
        gone = not any(map(self._stands, told))
        return gone and any(self._stands(one[-1]) and _order(one[-1]) >= _order(told[-1]) for one in pieces)

    def _settled(self, told: Sequence[Logged]) -> list[Logged]:
        """Return weighings without the heaviest of an hour that two more of that hour contradict."""
        return [one for one in told if not self._stands(one)
                or _value(one) <= sorted(map(_value, self._beside(one, told)))[-2:][0]
                or len(self._beside(one, told)) < 3]  # fmt: skip

    def _heaviest(self, told: Sequence[Logged]) -> list[Logged]:
        """Return the weighings that count: of those of one hour the heaviest, until a third has settled which is
        wrong."""
        return [one for one in told if _value(one) >= max(map(_value, self._beside(one, told)), default=0.0)]

    def _beside(self, one: Logged, told: Iterable[Logged]) -> list[Logged]:
        near = timedelta(hours=self._limit("rise_hours"))
        return [each for each in told if self._stands(each) and abs(each.measured - one.measured) <= near]

    def _piece(self, told: Sequence[Logged]) -> Evidence:
        last, since = told[-1], timedelta(hours=self._limit("weighed_apart_hours"))
        if bad := self._unfit("weight", last):
            return bad
        target = self._target(told)
        if target is not None and (heavy := self._against(told, lambda one: _value(one) > target)):
            return self._weighing("contradicts", "over_target", heavy, limit=target)
        least = self._least(told)
        if least is not None and (light := self._against(told, lambda one: _value(one) < least)):
            return self._weighing("contradicts", "under_dry", light, limit=least)
        told = self._settled(told)
        counts = list(filter(self._is_timely, self._heaviest(told)))
        late = self._typed_late("weight", last)
        last = counts[-1] if counts else last
        before = [one for one in counts if one.measured <= last.measured - since]
        if not before:
            return late or self._weighing("not_known", "once", last)
        found = self._across_heat(before, last, told, target)
        return late if late and found.lies == "agrees" else found

    def _across_heat(
        self, before: Sequence[Logged], last: Logged, told: Sequence[Logged], target: float | None
    ) -> Evidence:
        """Judge the last weighing beside those of a day or more before it: alike tells something only where it was
        heated in between. Of a kiln that is left cold nothing leaves."""
        found = self._two(before[-1], last, told, target)
        if found.lies != "agrees" or self._heated_between(before[-1], last):
            return found
        across = (self._two(one, last, told, target) for one in before if self._heated_between(one, last))
        left_cold = self._weighing("not_known", "left_cold", last, before[-1])
        return next((one for one in across if one.lies == "agrees"), left_cold)

    def _heated_between(self, one: Logged, last: Logged) -> bool:
        return any(one.measured < each.measured < last.measured for each in self._heated())

    def _heated(self) -> list[Logged]:
        """Return what shows that a kiln was heated; nothing that was typed in late."""
        return [one for one in self.log if self._is_heat(one) and not self._is_late(one)]

    def _is_heat(self, one: Logged) -> bool:
        """Whether a reading that stands is of a kiln, or of the air around it, that was heated."""
        warm = self._limit("warm_air_degc")
        read = one.what in HEATED and _unit(one) == "degC" and _value(one) >= warm
        beside = (one.what == "exhaust" and one.details.get("degc", 0.0) >= warm) or (
            one.what == "insulation" and self._is_hot(one))  # fmt: skip
        return self._stands(one) and (read or beside)

    def _two(self, one: Logged, last: Logged, told: Sequence[Logged], target: float | None) -> Evidence:
        """Judge two weighings of a piece that lie far enough apart, and all between them."""
        wet = self._wet(last, told)
        lost = 0.0 if wet is None else wet - _value(last)
        if lost < self._limit("weighed_lost_share") * _value(last):
            return self._weighing("not_known", "no_loss", last, one)
        same = lost * self._limit("weighed_alike_share")
        between = [_value(each) for each in told if self._stands(each) and one.measured <= each.measured]
        if _value(last) > min(between) + same:
            return self._weighing("contradicts", "rising", last, one, same)
        if target is not None:
            at_target = max(between) <= target
            return self._weighing("agrees" if at_target else "not_known", "at_target", last, one, target)
        alike = max(between) - _value(last) <= same
        return self._weighing(*(("agrees", "constant") if alike else ("contradicts", "falling_still")), last, one, same)

    def _target(self, read: Iterable[Logged]) -> float | None:
        """Return the least weight that is a target of a piece: what the log said last with it, or what wet and oven-dry
        weights of a brick leave with the share of water that a drying may end with."""
        *_, one = stand = [each for each in read if self._stands(each)]
        told = [each.details["target"] for each in stand if "target" in each.details][-1:]
        wet, dry = self._brick()
        if one.unit == "kg" and dry and any(dry * 0.9 <= _value(each) <= wet * 1.1 for each in stand):
            told.append(to_the_gram(dry + self._limit("plan_water_left") * (wet - dry)))
        return min(told, default=None)

    def _least(self, read: Iterable[Logged]) -> float | None:
        """Return the least that a piece can weigh, in its unit: oven-dry, less what a scale and a firing take off it;
        None where nobody dried one, or it is another piece."""
        *_, one = stand = [each for each in read if self._stands(each)]
        (wet, dry), less = self._brick(), 1 - self._limit("weighed_under_share")
        if not dry or (one.unit not in PERCENT and self._target(stand) is None):
            return None
        return (100.0 * dry / wet if one.unit in PERCENT else dry) * less

    def too_light(self, one: Logged) -> str:
        """Return, in words, that one is lighter than its piece is oven-dry; empty where it is not."""
        of = next((told for (_, unit), told in self._pieces().items() if unit == _unit(one)), [])
        least = self._least([*of, one])
        bad = least is not None and _value(one) < least
        return self._weighing("contradicts", "under_dry", one, limit=least).why if bad else ""

    def _brick(self) -> tuple[float, float]:
        """Return what the brick weighed wet and oven-dry [kg]; 0 where both are not known."""
        wet, dry = (self.answers.recorded(name, self.at) for name in ("lining.brick_wet", "lining.brick_dry"))
        return (wet, dry) if wet and dry and wet > dry else (0.0, 0.0)

    def _wet(self, last: Logged, told: Sequence[Logged]) -> float | None:
        if last.unit in PERCENT:
            return 100.0
        first = next((_value(one) for one in told if self._stands(one) and not self._is_late(one)), None)
        wet = self.answers.recorded("lining.brick_wet", self.at)
        alike = wet is not None and self._target(told) is not None
        return max(first, wet) if alike and first is not None else first

    def _weighed_twice(self) -> Iterator[Evidence]:
        """Yield that two weighings that were answered differ: what they were of nobody knows, so they agree with
        nothing."""
        first, again = (self.answers.recorded(name, self.at) for name in WEIGHED)
        if first and again and abs(first - again) > (most := first * self._limit("weighed_alike_share")):
            slates = " and ".join(str(self.answers.questions.questions[name].slate) for name in WEIGHED)
            shown = {"value": _kg(again), "other": _kg(first), "limit": _kg(most), "slate": slates}
            lines = tuple(one.line for name in WEIGHED if (one := self.answers.answer(name, self.at)))
            yield self._lies("weight", "contradicts", "differs", lines, **shown)

    def _weighing(
        self, lies: EvidenceLies, why: Why, last: Logged, one: Logged | None = None, limit: float | None = None
    ) -> Evidence:
        shown = {"value": _shown(last)} | ({"other": _shown(one)} if one else {})
        shown |= (
            {} if limit is None else {"limit": show_quantity(limit, _unit(last), figures=as_read(limit, _unit(last)))}
        )
        return self._lies("weight", lies, why, tuple(each.line for each in (one, last) if each), **shown)

    # ------------------------------------------------------------------------------------------------ what is attested

    def vapour(self) -> Evidence:
        """Judge what was caught, seen and happened through the last hold and since, then what was said of it."""
        since = self._hold_from("vapour")
        seen = [(one, why) for one in self._logged_since(since) if (why := _wet_why(one))]
        for one, why in seen:
            if self._stands(one):
                return self._lies("vapour", "contradicts", why, (one.line,), value=_shown(one))
        gone = next((one for one, _ in seen if not self._read_again(one)), None)
        said = self._said("vapour")
        if gone and said.lies == "agrees":
            return self._lies("vapour", "not_known", "taken_back", (gone.line,))
        return self._held_through(said)

    def _held_through(self, said: Evidence) -> Evidence:
        """Return what was said of the last hold; nothing is known of one that was stopped and not heated on."""
        broken = [one for one in self.log if one.what == "stopped" and self._stands(one) and self._broke_off(one)]
        if broken and said.lies == "agrees":
            return self._lies(said.what, "not_known", "broken_off", (broken[0].line,))
        return said

    def _broke_off(self, stop: Logged) -> bool:
        """Whether a stop ended a hold: it was hot within the day before, had not begun to cool, and nothing read since
        is as hot again. A kiln that cools already loses no hold by a power cut, and cooling on is no heat."""
        day = timedelta(hours=self._limit("day_hours"))
        heat = [one for one in self.log if self._stands(one) and self._is_heat(one)]
        told = [(one.measured, degc) for one in heat for degc in _heat_degc(one)]
        told = told or [(one.measured, 0.0) for one in heat]  # a casing alone tells that it was on, and not how hot
        before = [degc for at, degc in told if stop.measured - day <= at <= stop.measured]
        hottest = (1.0 - _dry().cooling_share.value) * max(before, default=0.0)
        was_on = bool(before) and before[-1] >= hottest
        again = (degc for one in self._heated() if one.measured > stop.measured for degc in _heat_degc(one))
        return was_on and not any(degc >= hottest for degc in again)

    def casing(self) -> Evidence:
        """Judge what was read of each place through the last hold and since beside the band that it was held against,
        then what was said of it: with no such reading that is a word and no evidence."""
        read = [one for one in self._logged_since(self._hold_from("casing")) if one.what == "casing" and _is_read(one)]
        banded = [one for one in read if LOW in one.details or _off_band(one)]
        said = self._held_through(self._said("casing"))
        for place in dict.fromkeys(one.place for one in banded):
            if bad := self._against([one for one in banded if one.place == place], _off_band):
                return self._off_band(bad)
        if said.lies != "agrees":
            return said
        return self._unheld(read, banded) or self._held(said, banded)

    def _unheld(self, read: Sequence[Logged], banded: Sequence[Logged]) -> Evidence | None:
        """Return that nothing is known of a casing: what was off its band was taken back, or no band stands beside what
        was read of a place, so that nobody knows what a dry wall would have there."""
        gone = (one for one in banded if _off_band(one) and not self._stands(one) and not self._read_again(one))
        if one := next(gone, None):
            return self._lies("casing", "not_known", "taken_back", (one.line,))
        held = {one.place for one in banded if self._stands(one)}
        bare = next((one for one in reversed(read) if self._stands(one) and one.place not in held), None)
        if bare is None:
            return None
        shown = {"value": _shown(bare), "place": bare.place or bare.what, "enough": f"{_dry().agree.value}"}
        why: Why = "no_band" if STOP in bare.details else "beyond_plan"  # every hour of a day has a stop, not a band
        return self._lies("casing", "not_known", why, (bare.line,), **shown)

    def _held(self, said: Evidence, banded: Sequence[Logged]) -> Evidence:
        """Return what was said of a casing with the last reading of each place that bears it out; nothing is known
        where there is none."""
        timely = list(filter(self._is_timely, banded))
        if not timely:
            return self._lies("casing", "not_known", "said_alone", said.lines, value=said.why)
        last = {one.place: one.line for one in timely}
        return replace(said, lines=(*said.lines, *last.values()))

    def _off_band(self, one: Logged) -> Evidence:
        cooler = LOW in one.details and _value(one) < one.details[LOW]
        limit = show_quantity(one.details[LOW if cooler else STOP], _unit(one))
        why = "cooler" if cooler else "beyond_stop"
        return self._lies("casing", "contradicts", why, (one.line,), value=_shown(one), limit=limit, place=one.place)

    def _hold_from(self, what: EvidenceName) -> datetime:
        """Return from when on a log tells of the last hold: a day before the last reading of a heated kiln, or before
        what was attested, whichever is earlier. What was typed in late makes it no shorter."""
        answer = self.answers.given.get(key_of(SAID[what], self.at))
        said = [answer.measured] if answer and answer.state == "given" and answer.measured else []
        hot = [one.measured for one in self._heated() or filter(self._is_heat, self.log)][-1:]
        last = [one.measured for one in self.log][-1:] or [self.answers.judged_at]
        return min([*said, *hot] or last) - timedelta(hours=self._limit("day_hours"))

    def _logged_since(self, since: datetime) -> list[Logged]:
        """Return what was logged from a moment on, also that water came again."""
        return [one for one in (*water_logged(self.answers, self.at), *self.log) if one.measured >= since]

    def _read_again(self, gone: Logged) -> bool:
        """Whether something that was taken back was read or looked at again since, or is none: for a reason alone."""
        if gone.what in NEEDS_REASON:
            return True
        of = (one for one in self.log if (one.what, one.place) == (gone.what, gone.place) and self._stands(one))
        since = (one for one in of if _order(one) > _order(gone) and one.line > gone.line)
        return any(LOW in one.details or LOW not in gone.details for one in since)

    def _said(self, what: EvidenceName) -> Evidence:
        name = SAID[what]
        question, answer = self.answers.questions.questions[name], self.answers.answer(name, self.at)
        slate = str(question.slate)
        last = self.answers.last_given(key_of(name, self.at))  # saying nothing takes no contradiction back
        if last is not None and last.value != question.choices[0].id:
            return self._of_answer(what, "contradicts", "said_wet", last)
        if answer is None or answer.state != "given":
            return self._lies(what, "not_known", "not_said", slate=slate)
        if worse := outvoted(self.answers, name, self.at, self.country):
            return self._of_answer(what, "contradicts", "outvoted", worse)
        _, whys = refusal(self.answers, key_of(name, self.at), self.country)
        if whys:
            return self._lies(what, "not_known", "not_counted", (answer.line,), slate=slate, value="; ".join(whys))
        return self._of_answer(what, "agrees", "said_dry", answer)

    def _of_answer(self, what: EvidenceName, lies: EvidenceLies, why: Why, answer: Answer) -> Evidence:
        slate = str(self.answers.questions.questions[answer.question].slate)
        return self._lies(what, lies, why, (answer.line,), slate=slate, value=self.answers.in_words(answer))

    # ------------------------------------------------------------------------------------------------ insulation

    def insulation(self) -> Evidence:
        """Judge what was read low anywhere, the last reading on a hot lining, and the cold ones of every zone after
        it."""
        entry = self._limit("element_entry_megohm")
        read = [one for one in self.log if one.what == "insulation" and one.unit in MEGOHMS and one.value is not None]
        cold_low = not self._cold_at_entry(datetime.min.replace(tzinfo=self.answers.zone), known=False)
        if cold_low:
            return self._lies("insulation", "contradicts", "cold_low")
        hot = [one for one in read if is_full(one) and self._is_hot(one)]
        if low := self._read_low(read, entry):
            return self._reading("insulation", "contradicts", "hot_low" if low in hot else "read_low", low, entry)
        if fell := self._fallen_by_course(read):
            return fell
        if not hot:
            return self._lies("insulation", "not_known", "no_hot")
        if bad := self._unfit("insulation", hot[-1]) or self._unfit("insulation", read[-1]):
            return bad
        return self._hot(hot, entry)

    def _hot(self, hot: Sequence[Logged], entry: float) -> Evidence:
        """Judge the last reading on a hot lining by how it was read, those of the day before it, and what follows."""
        last, volts = hot[-1], self._limit("insulation_test_volts")
        timely = [one for one in hot if not self._is_late(one)]
        if fallen := self._fallen(hot) or (self._fallen(timely) if timely else None):
            return fallen
        if late := self._typed_late("insulation", last):
            return late
        if last.details.get("test_volts", 0.0) < volts:
            limit = show_quantity(volts, "V")
            return self._lies("insulation", "not_known", "low_volts", (last.line,), value=_shown(last), limit=limit)
        since = self._cold_at_entry(last.measured + timedelta(hours=self._limit("rise_hours")), known=True)
        lies: EvidenceLies = "agrees" if since else "not_known"
        return self._reading("insulation", lies, "hot_and_cold" if since else "cold_not_since", last, entry)

    def _fallen(self, hot: Sequence[Logged]) -> Evidence | None:
        """Return that the last reading on a hot lining lies clearly below one of the day before it. From a cooler
        lining on it may be the dip of one that warms: nobody knows."""
        last, day = hot[-1], timedelta(hours=self._limit("day_hours"))
        fell = [one for one in hot[:-1] if self._stands(one) and last.measured - one.measured <= day
                and falling([_value(one), _value(last)])]  # fmt: skip
        as_hot = [one for one in fell if one.details["lining_degc"] >= last.details["lining_degc"]]
        if not fell:
            return None
        lies: EvidenceLies = "contradicts" if as_hot else "not_known"
        one = max(as_hot or fell, key=_value)
        return self._lies("insulation", lies, "fell", (one.line, last.line), value=_shown(last), other=_shown(one))

    def _fallen_by_course(self, read: Sequence[Logged]) -> Evidence | None:
        """Return that insulation lies clearly below its best since the kiln was heated through: hot or cold, as the log
        has it of a place, or as a zone was read cold."""
        through = [heat.one.measured for heat in self.heats(against=True)
                   if heat.degc >= self._limit("dry_heated_degc")]  # fmt: skip
        if not through:
            return None
        for course in (*self._courses(read), *self._of_zones()):
            since = [one for one in course if one.at >= min(through)]
            hours = [(one.at.timestamp() / 3600, one.megohm, one.degc) for one in since]
            if since and (best := fallen_by_course(hours)):
                value, other = (show_quantity(megohm, "Mohm", figures=4) for megohm in (since[-1].megohm, best))
                return self._lies("insulation", "contradicts", "fell_by_course", (since[-1].line,), value=value,
                                  other=other)  # fmt: skip
        return None

    def _courses(self, read: Sequence[Logged]) -> Iterator[list[_Course]]:
        """Yield what the log has of each place of all lives joined, hot and cold apart."""
        told = [one for one in read if is_full(one) and (self._stands(one) or self.was_dropped(one))]
        cold = self._limit("cold_lining_degc")
        for place in dict.fromkeys(one.place for one in told):
            of = [_Course(one.measured, _value(one), one.details["lining_degc"], one.line) for one in told
                  if one.place == place and "lining_degc" in one.details]  # fmt: skip
            yield [one for one in of if one.degc >= self._limit("hot_lining_degc")]
            yield [replace(one, degc=0.0) for one in of if one.degc < cold]

    def _of_zones(self) -> Iterator[list[_Course]]:
        for zone in self.answers.components("zone", of=self.at):
            told = [_Course(seen_at(one), one.value, 0.0, one.line) for one in cold_readings(self.answers, zone)]
            yield sorted(told, key=lambda one: (one.at.timestamp(), one.line))

    def _read_low(self, read: Sequence[Logged], entry: float) -> Logged | None:
        """Return a reading below the entry that stands against it, of whatever was joined at whichever place; one of
        the whole kiln speaks of every place."""
        for place in dict.fromkeys(one.place for one in read):
            told = [one for one in read if one.place == place or (not one.place and is_full(one))]
            if low := self._against(told, lambda one: _value(one) < entry):
                return low
        return None

    def _is_hot(self, one: Logged) -> bool:
        return one.details.get("lining_degc", 0.0) >= self._limit("hot_lining_degc")

    def _cold_at_entry(self, after: datetime, *, known: bool) -> bool:
        """Whether every zone was last read cold at the entry or above, not falling, after a moment; where that need not
        be `known`, whether it may be so."""
        zones = self.answers.components("zone", of=self.at)
        return bool(zones) and all(self._zone(zone, after, known) for zone in zones)

    def _zone(self, zone: Address, after: datetime, known: bool) -> bool:
        may = [(self.answers.look(name, zone), good) for name, good in
               (("element_insulation", "at_entry"), ("element_course", "steady"))]  # fmt: skip
        answer = self.answers.answer(COLD, zone)
        if not known:
            return all(values is None or good in values for values, good in may)
        read = answer and answer.state == "given" and answer.measured and answer.measured >= after
        return bool(read) and all(values == frozenset({good}) for values, good in may)

    # ------------------------------------------------------------------------------------------------ air

    def air(self) -> Evidence:
        """Judge air that leaves beside the air that enters, by the vapour that both hold: the last of it, or damper air
        of shortly before."""
        out = [one for one in self.log if one.what == "exhaust" and one.value is not None]
        if not out:
            return self._lies("air", "not_known", "none")
        if damp := self._against(out, self._is_damper):
            return self._pair(damp)
        return self._unfit("air", out[-1]) or self._typed_late("air", out[-1]) or self._pair(out[-1])

    def _inlet(self, out: Logged) -> Logged | None:
        """Return the air that enters as it was read beside air that leaves, within the hour."""
        hour = timedelta(hours=1)
        near = [one for one in self.log if one.what == "inlet" and self._stands(one)
                and abs(one.measured - out.measured) <= hour]  # fmt: skip
        return near[-1] if near else None

    def _more_pa(self, out: Logged) -> float | None:
        """Return how much more vapour leaves than enters [Pa]; None where either was not read in full."""
        inlet = self._inlet(out)
        leaves, enters = _vapour_pa(out), _vapour_pa(inlet) if inlet else None
        return None if leaves is None or enters is None else leaves - enters

    def _is_damper(self, out: Logged) -> bool:
        return (self._more_pa(out) or 0.0) > self._limit("air_more_pa")

    def _pair(self, out: Logged) -> Evidence:
        inlet, more_pa = self._inlet(out), self._more_pa(out)
        if inlet is None or more_pa is None:
            return self._lies("air", "not_known", "no_pair", (out.line,), value=_shown(out))
        most, warm, lines = self._limit("air_more_pa"), self._limit("warm_air_degc"), (inlet.line, out.line)
        shown = {"value": _warm(out), "other": _warm(inlet)}
        if more_pa > most:
            return self._lies("air", "contradicts", "damper", lines, **shown, limit=f"{most:g} Pa")
        if out.details["degc"] < warm:
            limit = show_quantity(warm, "degC")
            return self._lies("air", "not_known", "too_cold", lines, value=shown["value"], limit=limit)
        return self._lies("air", "agrees", "as_dry", lines, **shown)

    # ------------------------------------------------------------------------------------------------ what all share

    def _against(self, told: Iterable[Logged], bad: Callable[[Logged], bool]) -> Logged | None:
        """Return the reading that counts against: the last one, or one of shortly before it where no two of after it,
        some minutes apart, say otherwise; what was typed in late says nothing good."""
        stand = [one for one in told if self._stands(one) and (bad(one) or not self._is_late(one))]
        low = next((n for n in reversed(range(len(stand))) if bad(stand[n])), None)
        if low is None:
            return None
        since, last = stand[low + 1 :], stand[-1]
        later = last.measured - stand[low].measured > timedelta(hours=self._limit("rise_hours"))
        agree = since and last.measured - since[0].measured >= timedelta(minutes=self._limit("agree_minutes"))
        return None if since and (later or agree) else stand[low]

    def _unfit(self, what: EvidenceName, one: Logged) -> Evidence | None:
        """Return that the last reading of a kind tells nothing: it was taken back, or is too old."""
        if not self._stands(one):
            return self._lies(what, "not_known", "taken_back", (one.line,))
        if one.measured < self.answers.judged_at - timedelta(hours=self._limit("week_hours")):
            limit = show_hours(self._limit("week_hours"))
            return self._lies(what, "not_known", "old", (one.line,), value=_shown(one), limit=limit)
        return None

    def _typed_late(self, what: EvidenceName, one: Logged) -> Evidence | None:
        """Return that the last reading of a kind agrees with nothing: it was typed in long after its moment."""
        if not self._is_late(one):
            return None
        limit = show_hours(self._limit("typed_late_hours"))
        return self._lies(what, "not_known", "typed_late", (one.line,), value=_shown(one), limit=limit)

    def _reading(self, what: EvidenceName, lies: EvidenceLies, why: Why, one: Logged, limit: float) -> Evidence:
        shown = {"value": _shown(one), "limit": show_quantity(limit, _unit(one))}
        cold = [answer.line for zone in self.answers.components("zone", of=self.at)
                if (answer := self.answers.answer(COLD, zone))]  # fmt: skip
        return self._lies(what, lies, why, (one.line, *(cold if lies == "agrees" else ())), **shown)

    def _is_late(self, one: Logged) -> bool:
        return is_late(self.answers, one)

    def _is_timely(self, one: Logged) -> bool:
        return self._stands(one) and not self._is_late(one)

    def _stands(self, one: Logged) -> bool:
        return one.line in self.kept or one not in self.answers.unlogged

    def _limit(self, name: str) -> float:
        return self.answers.limits[name]

    def _lies(
        self, what: EvidenceName, lies: EvidenceLies, why: Why, lines: tuple[int, ...] = (), **shown: str
    ) -> Evidence:
        return Evidence(what=what, lies=lies, why=_dry().why[why].format(**shown), lines=lines)


def is_late(answers: Answers, one: Logged) -> bool:
    """Whether a reading was typed in so long after its moment that nothing shows it was read then; a logger keeps the
    moment itself, whenever its file is read in, of what a logger reads."""
    if one.by_logger and one.what in _dry().by_logger:
        return False
    late = timedelta(hours=answers.limits["typed_late_hours"])
    return one.written is not None and one.written - one.measured > late


def is_full(one: Logged) -> bool:
    """Whether all lives were joined, as somebody writes that."""
    return one.joined.strip().casefold() in _dry().joined


def _heat_degc(one: Logged) -> Iterator[float]:
    """Yield how hot a line tells that the chamber, or the lining itself, was [°C]."""
    if one.what == "chamber" and one.value is not None and _unit(one) == "degC":
        yield one.value
    if one.what == "insulation" and "lining_degc" in one.details:
        yield one.details["lining_degc"]


def _wet_why(one: Logged) -> Why:
    """Return how is told that water left still, or came again; empty where a line says no such thing."""
    if one.what == "litres":
        return "caught" if _value(one) > 0 else ""
    return next((wet.why for wet in _dry().wet if wet.what == one.what and one.word in wet.words), "")


def _is_read(one: Logged) -> bool:
    return one.value is not None


def _off_band(one: Logged) -> bool:
    """Whether a reading lies below its band or beyond its stop, as far as the log keeps them."""
    value, none = _value(one), float("inf")
    return value < one.details.get(LOW, -none) or value > one.details.get(STOP, none)


def _vapour_pa(one: Logged) -> float | None:
    """Return the pressure of the vapour in air by its humidity and its temperature; None where that was not read."""
    if one.value is None or "degc" not in one.details or one.unit not in PERCENT:
        return None
    return float(one.value / 100.0 * saturation_line(one.details["degc"])[0])


def _value(one: Logged) -> float:
    return one.value or 0.0


def _unit(one: Logged) -> str:
    if one.unit in PERCENT:
        return "percent"
    return {"MΩ": "Mohm", "l": "litre", "°C": "degC"}.get(one.unit, one.unit)


def _warm(one: Logged) -> str:
    """Return the humidity of air with its temperature, since neither tells anything alone."""
    return _dry().at.format(value=_shown(one), degc=show_quantity(one.details["degc"], "degC"))


def _kg(value: float) -> str:
    return show_quantity(value, "kg", figures=as_read(value, "kg"))


def _shown(one: Logged) -> str:
    return show_quantity(_value(one), _unit(one), figures=4)
