"""A replacement controller beside the probe that is there: the error if they do not suit, and two ways to make them.

Prices of parts are the caller's: none is known here. Energy is priced by what the caller pays for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Literal

from recover.base.datafile import load
from recover.base.errors import QuantityError
from recover.engineering.thermocouples import Letter, Mismatch, mismatch, tells, tolerance_class
from recover.physics.materials import Band
from recover.physics.wall import BOILING_DEGC
from recover.plan.prices import Cost, cost

_WayName = Literal["controller_to_probe", "probe_to_controller"]


@dataclass(frozen=True)
class Match:
    """How a setting suits a probe: at each temperature shown, the one that the kiln has; and what to say of it."""

    probe: Letter
    setting: Letter
    at: tuple[Mismatch, ...]
    says: str

    @property
    def suits(self) -> bool:
        """Whether both are of one letter."""
        return self.probe == self.setting


@dataclass(frozen=True, kw_only=True)
class Way:
    """One of the two ways: its parts, what speaks against it, the energy to prove it [kWh] and what that costs."""

    title: str
    letter: Letter
    parts: tuple[str, ...]
    against: tuple[str, ...]
    energy_kwh: Band
    energy_cost: Cost | None


@dataclass(frozen=True)
class _Words:
    say: dict[str, str]
    way: dict[_WayName, str]
    parts: dict[_WayName, list[str]]


@cache
def _words() -> _Words:
    return load("plan/replacement.toml", "recover-replacement", _Words)


def match(
    probe: Letter, letters: Sequence[Letter], shown_degc: Sequence[float], setting: Letter | None = None
) -> Match:
    """Return how a controller that can be set to `letters` suits a probe, at the holds and the top of a schedule.

    The probe's own letter is taken where there is one, else `setting` or the first. Raises QuantityError without any.
    """
    if not letters:
        raise QuantityError("controller", "no letter", "at least one that it can be set to")
    chosen = probe if probe in letters else setting or letters[0]
    found = tuple(mismatch(probe, chosen, shown_degc=degc) for degc in shown_degc)
    if probe == chosen:
        says = "suits" if tells(probe, BOILING_DEGC) else "suits_blind"
        return Match(probe, chosen, found, _words().say[says].format(probe=probe))
    errors = "; ".join(_error(one) for one in found)
    return Match(probe, chosen, found, _words().say["differs"].format(setting=chosen, probe=probe, errors=errors))


def ways(
    probe: Letter, letters: Sequence[Letter], top_degc: float, energy_kwh: Band, price_kwh: Decimal | None = None
) -> tuple[Way, ...]:
    """Return both ways, the controller to suit the probe first; the second once for each other letter it can be set to.

    `energy_kwh` is what proves either of them: the test firing with cones. `price_kwh` is what a kWh costs.
    """
    others = [letter for letter in letters if letter != probe]
    pairs: list[tuple[_WayName, Letter]] = [("controller_to_probe", probe)]
    pairs += [("probe_to_controller", letter) for letter in others]
    return tuple(
        Way(
            title=_words().way[name], letter=letter,
            parts=tuple(part.format(probe=probe, letter=letter) for part in _words().parts[name]),
            against=_against(letter, top_degc), energy_kwh=energy_kwh,
            energy_cost=cost(energy_kwh, price_kwh),
        )
        for name, letter in pairs
    )  # fmt: skip


def _against(letter: Letter, top_degc: float) -> tuple[str, ...]:
    """Say what speaks against a letter at this top: no class of tolerance covers it."""
    to_degc = tolerance_class(letter, "2").to_degc
    ceiling = _words().say["ceiling"].format(letter=letter, to_degc=f"{to_degc:.0f}", top_degc=f"{top_degc:.0f}")
    return ((ceiling,) if top_degc > to_degc else ()) + (_words().say["cutout"],)


def _error(found: Mismatch) -> str:
    name = "never" if found.true_degc is None else "error"
    return _words().say[name].format(true=f"{found.true_degc or 0:.0f}", shown=f"{found.shown_degc or 0:.0f}")
