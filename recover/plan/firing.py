"""What a firing takes: the energy of an empty or loaded kiln over ramps and holds, by steady sums on the dry lining."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import ceil

from recover.base.errors import QuantityError
from recover.physics.estimate import SteadyHold, energy
from recover.physics.lining import Lining
from recover.physics.materials import Band
from recover.physics.uptake import layer_water
from recover.physics.wall import Step


def firing_kwh(
    lining: Lining, steps: Sequence[Step], room_degc: float, load_kg: Band, heat_j_kgk: Band, slice_k: float
) -> Band:
    """Return the energy [kWh] of a firing: heat of the lining and of the load, and steady losses on the way.

    E = Σ m cp ΔT + Σ A q t, with climbs cut into slices at their mean temperature. Steady losses are more than a
    lining gives off while it still warms up. Vent, wiring and what the elements store are left out. Where the lining is
    hotter than its conductivity is published for (1000 °C), the straight line is extended: at least ±40 % in all.
    Raises QuantityError.
    """
    if not steps:
        raise QuantityError("firing", "no step", "at least one")
    dry = replace(
        lining,
        stacks=tuple(
            replace(stack, layers=tuple(replace(layer, wet="dry") for layer in stack.layers)) for stack in lining.stacks
        ),
    )
    holds = [hold for hold in _holds(room_degc, steps, slice_k) if hold.chamber_degc > room_degc]
    kiln = energy(dry, layer_water(dry), holds, room_degc, extended=True).total_kwh
    rise_k = max(step.to_degc for step in steps) - room_degc
    return kiln + load_kg * heat_j_kgk * (rise_k / 3.6e6)


def _holds(start_degc: float, steps: Sequence[Step], slice_k: float) -> Iterator[SteadyHold]:
    """Cut ramps and holds into times at one temperature each."""
    here = start_degc
    for step in steps:
        count = max(1, ceil(abs(step.to_degc - here) / slice_k))
        rise_k = (step.to_degc - here) / count
        for number in range(count):
            yield SteadyHold(here + rise_k * (number + 0.5), Band.exactly(abs(rise_k) / step.ramp_k_h))
        if step.hold_h:
            yield SteadyHold(step.to_degc, Band.exactly(step.hold_h))
        here = step.to_degc
