"""The few draws that steer a search, picked anew from what all draws did: one that dries last, and some by each limit.

The draw that dries last is seldom the one that peaks highest.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from recover.physics.drying import Numbers
from recover.schedule.limits import Limits

WATER_SHARE = 0.95
"""The share of draws that must be dry: so that of other draws nine in ten are."""

KEEPS_SHARE = 0.9
"""The share of draws that must keep a limit."""

NEAR = 0.4
"""The share of a limit that a day must come to for one of its draws to steer by."""


PARTS = 3
"""Into so many parts a day is divided, for each of which the draw that nine in ten keep to is picked."""

MOST = 1.5
"""How far what steers is held beyond a limit, or short of it, where its draws come further than nine in ten of all."""


@dataclass(frozen=True)
class Design:
    """Which draws steer: `wet`, the one that dries last before others; and by limit some that nine in ten keep to.

    `times` is how far those came in the run they were picked from, beside nine draws in ten of all.
    """

    wet: tuple[int, ...]
    by_limit: Mapping[str, tuple[int, ...]]
    times: Mapping[str, float]

    @classmethod
    def by_water(cls, kg: Numbers) -> Design:
        """Return draws by the water that they hold."""
        return cls(tuple(dict.fromkeys(_rank(kg, share) for share in (WATER_SHARE, KEEPS_SHARE, 0.5))), {}, {})

    @classmethod
    def of(cls, left: Numbers, came_to: Mapping[str, Numbers], limits: Limits, before: Design | None = None) -> Design:
        """Return draws by the water left, and by what they came to of each limit that was near; and those before."""
        picked, times = {}, {}
        for name, values in came_to.items():
            over = np.quantile(values, KEEPS_SHARE, axis=0)
            if over.max() > NEAR * limits[name].value:
                own = before.by_limit.get(name, ()) if before else ()
                picked[name] = tuple(dict.fromkeys((*own, *_by_parts(values, over))))
                highest = float(values[list(picked[name])].max())
                times[name] = min(max(highest / float(over.max()), 1 / MOST), MOST)
        return cls((_rank(left, WATER_SHARE), _rank(left, 0.5)), picked, times)

    @property
    def numbers(self) -> tuple[int, ...]:
        """All of them, the one that dries last first."""
        return tuple(dict.fromkeys([*self.wet, *(one for some in self.by_limit.values() for one in some)]))

    def stricter(self, limit_id: str, times: float) -> Design:
        """Return them held to less of a limit."""
        return replace(self, times={**self.times, limit_id: self.times.get(limit_id, 1.0) / times})

    def worst(self, came_to: Mapping[str, Numbers]) -> dict[str, Numbers]:
        """Return what nine draws in ten of all may come to by its own, hour by hour; of a limit without, by any."""
        rows = {name: [self.numbers.index(one) for one in some] for name, some in self.by_limit.items()}
        return {
            name: values[rows.get(name, slice(None))].max(axis=0) / self.times.get(name, 1.0)
            for name, values in came_to.items()
        }


def _by_parts(values: Numbers, over: Numbers) -> list[int]:
    """Return for each part of a day the draw that nine in ten do not exceed when they come furthest."""
    parts = [part for part in np.array_split(np.arange(len(over)), PARTS) if part.size]
    return [_rank(values[:, part[int(np.argmax(over[part]))]], KEEPS_SHARE) for part in parts]


def _rank(values: Numbers, share: float) -> int:
    return int(np.argsort(values, kind="stable")[min(int(share * len(values)), len(values) - 1)])
