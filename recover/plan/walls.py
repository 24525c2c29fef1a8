"""A plan's stacks as wall files: each wall of a kiln alone with the schedule, for whoever computes it again."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from pathlib import Path

from recover.physics.wallfile import write
from recover.plan.whole import KilnPlan
from recover.schedule.verify import powered


def write_stacks(kiln: KilnPlan, folder: Path) -> list[Path]:
    """Write each stack of a kiln that has a schedule, at the middle draw, and return the files.

    The chamber follows the schedule as if only this stack had to be heated.
    """
    if kiln.own is None:
        return []
    proof, room_degc = kiln.own.proof, kiln.own.heating.room_degc
    whole = powered(replace(kiln.own.heating, draws=proof.draws), kiln.own.limits)[proof.middle]
    course = proof.schedule.course(room_degc)
    written = []
    for stack in kiln.own.heating.lining.stacks:
        walls = tuple(wall for wall in whole.walls if wall.name.split(",")[0] == stack.part)
        alone = replace(whole, walls=walls, course=course, chamber=replace(whole.chamber, power_kw=inf))
        path = folder / f"{kiln.kiln.replace('/', '-')}-{stack.part}.toml"
        write(alone, f"{kiln.label}, {stack.part}", proof.schedule.hours, path)
        written.append(path)
    return written
