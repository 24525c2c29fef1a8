"""After the dry-out: the firings that come next as cards, what each top temperature costs, what is looked at again.

Practice of the trade, in `cards.toml`; where a card says so, the owner's own figures go before it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from math import ceil

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Authority
from recover.engineering.elements import relative_life
from recover.physics.estimate import energy_kwh
from recover.physics.lining import Lining
from recover.physics.materials import Band, Quantity
from recover.physics.uptake import layer_water
from recover.physics.wall import Step
from recover.plan.prices import Cost, cost


@dataclass(frozen=True)
class _Top:
    """A top temperature [°C] that a card offers, and what it gives."""

    degc: float
    says: str


@dataclass(frozen=True, kw_only=True)
class FiringCard(Authority):
    """A firing, or what closes the job: what it is for, what it needs, its steps, what to see; with its authority."""

    id: str
    title: str
    purpose: str
    needs: tuple[str, ...]
    see: tuple[str, ...]
    steps: tuple[Step, ...]
    yours: bool = False
    by_thickness: bool = False
    tops: tuple[_Top, ...] = ()
    cone: str = ""

    def to_top(self, degc: float) -> FiringCard:
        """Return the card with another top, its last ramp and hold kept. Raises QuantityError below its other steps."""
        *before, last = self.steps
        if before and degc <= before[-1].to_degc:
            raise QuantityError(self.title, f"{degc:g} °C", f"a top above {before[-1].to_degc:g} °C")
        return replace(self, steps=(*before, replace(last, to_degc=degc)))

    def hours(self, room_degc: float) -> float:
        """Return how long it lasts from a kiln at the room's temperature [h], cooling left out."""
        begins = (room_degc, *(step.to_degc for step in self.steps))
        return sum(abs(step.to_degc - here) / step.ramp_k_h + step.hold_h
                   for here, step in zip(begins, self.steps, strict=False))  # fmt: skip

    @property
    def advice(self) -> tuple[str, ...]:
        """What goes before its figures: the owner's own ones, and the lowest temperature that will do."""
        return (_file().yours, _file().lowest) if self.yours else ()

    def for_ware(self, needs_degc: float | None) -> FiringCard:
        """Return the card with its lowest top that is no cooler than the ware needs.

        With its lowest of all where that is not known, or beyond them all; a card that offers no tops is as it is.
        """
        tops = sorted(top.degc for top in self.tops)
        if not tops:
            return self
        return self.to_top(next((top for top in tops if needs_degc is not None and top >= needs_degc), tops[0]))

    def for_thickness(self, thickness_mm: float) -> FiringCard:
        """Return the card with no early ramp steeper than ware of that thickness [mm] bears. Raises QuantityError."""
        if not self.by_thickness:
            return self
        rows = _file().thickness
        most = next((row.ramp_k_h for row in rows if 0 < thickness_mm <= row.up_to_mm), None)
        if most is None:
            raise QuantityError("thickness of ware", f"{thickness_mm:g} mm", f"above 0 to {rows[-1].up_to_mm:g} mm")
        slow = (
            replace(step, ramp_k_h=min(step.ramp_k_h, most)) if step.to_degc <= _file().slow_to_degc.mid else step
            for step in self.steps
        )
        return replace(self, steps=tuple(slow))


@dataclass(frozen=True, kw_only=True)
class _Thickness(Authority):
    """The ramp [K/h] for ware up to a thickness [mm], while water and quartz are in question."""

    up_to_mm: float
    ramp_k_h: float


@dataclass(frozen=True, kw_only=True)
class _Strain(Authority):
    """What a top temperature does to the elements, in words."""

    up_to_degc: float
    says: str


@dataclass(frozen=True, kw_only=True)
class Recheck(Authority):
    """What is looked at again, and when: after a firing, or `months` after the first one."""

    id: str
    after: str
    look: tuple[str, ...]
    months: int | None = None


@dataclass(frozen=True, kw_only=True)
class TopCost:
    """What a top temperature takes: energy, its cost, the strain in words, and the wire's life beside the lowest top.

    `life` is None where the tops lie further apart than that rule is valid.
    """

    degc: float
    says: str
    kwh: Band
    cost: Cost | None
    strain: str
    life: float | None


@dataclass(frozen=True, kw_only=True)
class _File:
    yours: str
    lowest: str
    caution: str
    heat_loss_slice_k: Quantity
    slow_to_degc: Quantity
    card: list[FiringCard]
    thickness: list[_Thickness]
    strain: list[_Strain]
    recheck: list[Recheck]


@cache
def _file() -> _File:
    return load("plan/cards.toml", "recover-cards", _File)


def cards() -> tuple[FiringCard, ...]:
    """Return the cards in the order in which they are fired. Raises DataError on a faulty file."""
    return tuple(_file().card)


def card(card_id: str) -> FiringCard:
    """Return a card by its id. Raises QuantityError naming those there are."""
    found = {one.id: one for one in cards()}
    if card_id not in found:
        raise QuantityError("card", repr(card_id), f"one of {', '.join(found)}")
    return found[card_id]


def caution() -> str:
    """Return what is printed with every card."""
    return _file().caution


def rechecks(firings: Sequence[int]) -> tuple[Recheck, ...]:
    """Return what is looked at again, the one after the n-th firing once for each n that was agreed."""
    found: list[Recheck] = []
    for one in _file().recheck:
        times = firings if "{firings}" in one.after else [0]
        found += [replace(one, after=one.after.format(firings=number)) for number in times]
    return tuple(found)


# ---------------------------------------------------------------------------------------- what a firing takes


def firing_energy(of: FiringCard, lining: Lining, room_degc: float) -> Band:
    """Return the energy [kWh] that a card's firing of the empty kiln takes, by steady sums on the dry lining.

    E = Σ m cp ΔT + Σ A q t, with climbs cut into slices at their mean temperature. Steady losses are more than a
    lining gives off while it still warms up. Vent, wiring and what the elements store are left out. Where the lining is
    hotter than its conductivity is published for (1000 °C), the straight line is extended: at least ±40 % in all.
    Raises QuantityError.
    """
    return _firing_kwh(lining, of.steps, room_degc, _file().heat_loss_slice_k.mid)


def _firing_kwh(lining: Lining, steps: Sequence[Step], room_degc: float, slice_k: float) -> Band:
    if not steps:
        raise QuantityError("firing", "no step", "at least one")
    dry = replace(
        lining,
        stacks=tuple(
            replace(stack, layers=tuple(replace(layer, wet="dry") for layer in stack.layers)) for stack in lining.stacks
        ),
    )
    holds = [hold for hold in _holds(room_degc, steps, slice_k) if hold[0] > room_degc]
    return energy_kwh(dry, layer_water(dry), holds, room_degc, extended=True)


def _holds(start_degc: float, steps: Sequence[Step], slice_k: float) -> Iterator[tuple[float, Band]]:
    """Cut ramps and holds into times at one temperature each: °C and hours."""
    here = start_degc
    for step in steps:
        count = max(1, ceil(abs(step.to_degc - here) / slice_k))
        rise_k = (step.to_degc - here) / count
        for number in range(count):
            yield here + rise_k * (number + 0.5), Band.exactly(abs(rise_k) / step.ramp_k_h)
        if step.hold_h:
            yield step.to_degc, Band.exactly(step.hold_h)
        here = step.to_degc


def against_top(
    of: FiringCard, lining: Lining, room_degc: float, price_kwh: Decimal | None = None
) -> tuple[TopCost, ...]:
    """Return what each of a card's tops takes, lowest first. Raises QuantityError for a price below nought."""
    tops = sorted(of.tops, key=lambda top: top.degc)
    kwh = [firing_energy(of.to_top(top.degc), lining, room_degc) for top in tops]
    return tuple(
        TopCost(
            degc=top.degc, says=top.says, kwh=takes, cost=cost(takes, price_kwh),
            strain=_strain(top.degc), life=_life(top.degc - tops[0].degc),
        )
        for top, takes in zip(tops, kwh, strict=True)
    )  # fmt: skip


def _strain(top_degc: float) -> str:
    """Return what a top temperature does to the elements. Raises QuantityError beyond the table."""
    rows = _file().strain
    found = next((row.says for row in rows if top_degc <= row.up_to_degc), None)
    if found is None:
        raise QuantityError("top temperature", f"{top_degc:g} °C", f"up to {rows[-1].up_to_degc:g} °C")
    return found


def _life(hotter_k: float) -> float | None:
    try:
        return relative_life(hotter_k)
    except QuantityError:
        return None
