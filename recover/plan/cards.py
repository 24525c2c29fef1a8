"""After the dry-out: the firings that come next as cards, what each top temperature costs, what is looked at again.

Practice of the trade, in `cards.toml`; where a card says so, the owner's own figures go before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from typing import Literal

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.base.sources import Authority
from recover.engineering.elements import relative_life
from recover.physics.lining import Lining
from recover.physics.materials import ZERO, Band, Quantity
from recover.physics.wall import Step
from recover.plan.firing import firing_kwh
from recover.plan.prices import Cost, cost

CardGroup = Literal["after", "firing", "owner"]


@dataclass(frozen=True)
class Top:
    """A top temperature [°C] that a card offers, and what it gives."""

    degc: float
    says: str


@dataclass(frozen=True, kw_only=True)
class FiringCard(Authority):
    """A firing, or what closes the job: what it is for, what it needs, its steps, what to see; with its authority."""

    id: str
    group: CardGroup
    title: str
    purpose: str
    needs: tuple[str, ...]
    see: tuple[str, ...]
    steps: tuple[Step, ...]
    yours: bool = False
    by_thickness: bool = False
    tops: tuple[Top, ...] = ()
    cone: str = ""

    def to_top(self, degc: float) -> FiringCard:
        """Return the card with another top, its last ramp and hold kept. Raises QuantityError below its other steps."""
        *before, last = self.steps
        if before and degc <= before[-1].to_degc:
            raise QuantityError(self.title, f"{degc:g} °C", f"a top above {before[-1].to_degc:g} °C")
        return replace(self, steps=(*before, replace(last, to_degc=degc)))

    def for_thickness(self, thickness_mm: float) -> FiringCard:
        """Return the card with no early ramp steeper than ware of that thickness bears. Raises QuantityError."""
        if not self.by_thickness:
            return self
        most = ramp_by_thickness(thickness_mm).ramp_k_h
        slow = (
            replace(step, ramp_k_h=min(step.ramp_k_h, most)) if step.to_degc <= _file().slow_to_degc.mid else step
            for step in self.steps
        )
        return replace(self, steps=tuple(slow))


@dataclass(frozen=True, kw_only=True)
class Thickness(Authority):
    """The ramp [K/h] for ware up to a thickness [mm], while water and quartz are in question."""

    up_to_mm: float
    ramp_k_h: float


@dataclass(frozen=True, kw_only=True)
class Strain(Authority):
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


@dataclass(frozen=True)
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


@dataclass(frozen=True)
class _File:
    yours: str
    lowest: str
    caution: str
    heat_of_load_j_kgk: Quantity
    heat_loss_slice_k: Quantity
    slow_to_degc: Quantity
    card: list[FiringCard]
    thickness: list[Thickness]
    strain: list[Strain]
    recheck: list[Recheck]


@cache
def _file() -> _File:
    return load("plan/cards.toml", "recover-cards", _File)


def cards(group: CardGroup | None = None) -> tuple[FiringCard, ...]:
    """Return the cards in the order in which they are fired. Raises DataError on a faulty file."""
    return tuple(card for card in _file().card if group in (None, card.group))


def card(card_id: str) -> FiringCard:
    """Return a card by its id. Raises QuantityError naming those there are."""
    found = {one.id: one for one in cards()}
    if card_id not in found:
        raise QuantityError("card", repr(card_id), f"one of {', '.join(found)}")
    return found[card_id]


def caution() -> str:
    """Return what is printed with every card."""
    return _file().caution


def advice(of: FiringCard) -> tuple[str, ...]:
    """Return what goes before a card's figures: the owner's own ones, and the lowest temperature that will do."""
    return (_file().yours, _file().lowest) if of.yours else ()


def ramp_by_thickness(thickness_mm: float) -> Thickness:
    """Return the ramp for the thickest piece [mm]. Raises QuantityError beyond the table."""
    rows = _file().thickness
    found = next((row for row in rows if 0 < thickness_mm <= row.up_to_mm), None)
    if found is None:
        raise QuantityError("thickness of ware", f"{thickness_mm:g} mm", f"above 0 to {rows[-1].up_to_mm:g} mm")
    return found


def strain(top_degc: float) -> Strain:
    """Return what a top temperature does to the elements. Raises QuantityError beyond the table."""
    rows = _file().strain
    found = next((row for row in rows if top_degc <= row.up_to_degc), None)
    if found is None:
        raise QuantityError("top temperature", f"{top_degc:g} °C", f"up to {rows[-1].up_to_degc:g} °C")
    return found


def firing_energy(of: FiringCard, lining: Lining, room_degc: float, load_kg: Band = ZERO) -> Band:
    """Return what a card's firing takes [kWh], with this mass of ware and shelves. Raises QuantityError."""
    figures = _file()
    return firing_kwh(
        lining, of.steps, room_degc, load_kg, figures.heat_of_load_j_kgk, figures.heat_loss_slice_k.mid
    )  # fmt: skip


def against_top(
    of: FiringCard, lining: Lining, room_degc: float, price_kwh: Decimal | None = None, load_kg: Band = ZERO
) -> tuple[TopCost, ...]:
    """Return what each of a card's tops takes, lowest first. Raises QuantityError for a price below nought."""
    tops = sorted(of.tops, key=lambda top: top.degc)
    return tuple(_top_cost(of, top, tops[0].degc, lining, room_degc, price_kwh, load_kg) for top in tops)


def _top_cost(
    of: FiringCard, top: Top, lowest_degc: float, lining: Lining, room_degc: float, price_kwh: Decimal | None,
    load_kg: Band,
) -> TopCost:  # fmt: skip
    kwh = firing_energy(of.to_top(top.degc), lining, room_degc, load_kg)
    price = None if price_kwh is None else cost(kwh, price_kwh)
    return TopCost(top.degc, top.says, kwh, price, strain(top.degc).says, _life(top.degc - lowest_degc))


def _life(hotter_k: float) -> float | None:
    try:
        return relative_life(hotter_k)
    except QuantityError:
        return None


def lowest_adequate(of: FiringCard, needs_degc: float | None = None) -> Top:
    """Return the lowest top of a card that is no cooler than the ware needs; its lowest where nothing is named.

    Raises QuantityError where none is so hot.
    """
    tops = sorted(of.tops, key=lambda top: top.degc)
    found = next((top for top in tops if needs_degc is None or top.degc >= needs_degc), None)
    if found is None:
        hottest = f"up to {tops[-1].degc:g} °C" if tops else "a card that offers tops"
        raise QuantityError(of.title, f"{needs_degc or 0:g} °C", hottest)
    return found


def rechecks(firings: Sequence[int]) -> tuple[Recheck, ...]:
    """Return what is looked at again, the one after the n-th firing once for each n that was agreed."""
    found: list[Recheck] = []
    for one in _file().recheck:
        times = firings if "{firings}" in one.after else [0]
        found += [replace(one, after=one.after.format(firings=number)) for number in times]
    return tuple(found)
