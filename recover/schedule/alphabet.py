"""What can be set on a controller, or by hand: what a schedule is written in."""

from __future__ import annotations

from typing import Protocol


class Alphabet(Protocol):
    """What can be set: temperatures, ramps, holds; how far it overshoots; how many steps a run has.

    A controller that `starts_hot` runs a second programme on a day, from where the chamber is by then.
    """

    @property
    def overshoot_k(self) -> float:
        """How far the chamber may run past a set-point [K]."""

    @property
    def hold_step_h(self) -> float:
        """What holds are whole multiples of [h]."""

    @property
    def least_degc(self) -> float:
        """The lowest set-point [°C]."""

    @property
    def steps(self) -> int:
        """How many steps one run has at most."""

    @property
    def starts_hot(self) -> bool:
        """Whether a second run can be started in a chamber that is hot from the first."""

    def set_degc(self, degc: float) -> float:
        """Return the highest set-point [°C] that is no hotter."""

    def ramp_k_h(self, wanted_k_h: float, rise_k: float) -> float | None:
        """Return the steepest ramp [K/h] over a rise that is no steeper than wanted; None where all are steeper."""
