"""What goes with each run of a programme: before the start, its steps, how it ends and what then, what to see."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from recover.base.measures import show_hours_minutes, show_number
from recover.controller.capability import Controller
from recover.controller.programme import Instructions, Programme, ProgrammeRun, shown, shown_k, shown_k_h, words
from recover.physics.wall import Step


def instructions(programme: Programme) -> tuple[Instructions, ...]:
    """Return what is said of every run of a programme, in order."""
    return tuple(_of_run(programme, run) for run in programme.runs)


def _of_run(programme: Programme, run: ProgrammeRun) -> Instructions:
    controller = programme.controller
    return Instructions(
        before=_before(run, controller),
        steps=step_lines(run, controller),
        cutout=_cutout(run, controller),
        ends=tuple(_ends(run, controller)),
        then=tuple(_then(programme, run)),
        see=tuple(_see(programme, run)),
        power_cut=_power_cut(controller),
        change=words().run["change"],
    )


def step_lines(run: ProgrammeRun, controller: Controller | None = None) -> tuple[str, ...]:
    """Return every step as it is to be read back, in the controller's degrees; without one, as it is done by hand."""
    said = words().run
    befores = [run.begins_degc, *(step.to_degc for step in run.steps)]
    return tuple(
        said["step"].format(
            number=number, ramp=_ramp(step, before, controller, first=number == 1),
            degc=shown(step.to_degc, controller.degrees if controller else "C"),
            hold=said["hold"].format(hold=show_hours_minutes(step.hold_h)) if step.hold_h else "",
        )
        for number, (step, before) in enumerate(zip(run.steps, befores, strict=False), start=1)
    )  # fmt: skip


def _ramp(step: Step, before_degc: float, controller: Controller | None, *, first: bool) -> str:
    """Return a ramp with the time it takes; first the one by which this controller is set.

    A first step to where the kiln is has its ramp all the same: the kiln may be cooler.
    """
    ramp = shown_k_h(step.ramp_k_h, controller.degrees if controller else "C")
    if step.to_degc <= before_degc:
        return words().run["no_climb" if step.ramp_k_h == inf or not first else "ramp_cooler"].format(ramp=ramp)
    hours = show_hours_minutes((step.to_degc - before_degc) / step.ramp_k_h)
    by_time = controller is not None and controller.ramps.entry == "time"
    return words().run["ramp_by_time" if by_time else "ramp"].format(ramp=ramp, hours=hours)


# ---------------------------------------------------------------------------------------- before, during, after


def _before(run: ProgrammeRun, controller: Controller) -> str:
    """Say when it may start; up to what a room may have, a day begins cold, else by how warm the kiln is.

    A kiln that is hotter than the ramp was searched from waits until that ramp would have passed its temperature.
    """
    said, by = words().run, _climbs_by(run, controller)
    if run.number == 1 and run.begins_degc <= words().warm_degc.value:
        return said["cold"]
    each_k = words().each_k.value
    figures = {
        "begins": shown(run.begins_degc, controller.degrees), "each": shown_k(each_k, controller.degrees),
        "minutes": show_number(round(60 * each_k / run.steps[0].ramp_k_h)),
    }  # fmt: skip
    lines = ("hot" if run.number > 1 else "warm", "at", f"hotter{by}", f"cooler{by}")
    return " ".join(said[line].format(**figures) for line in lines)


def _climbs_by(run: ProgrammeRun, controller: Controller) -> str:
    """Return which sentences speak of its first ramp: none to speak of, set by time, set by its rate."""
    if run.steps[0].to_degc <= run.begins_degc or run.steps[0].ramp_k_h == inf:
        return "_no_climb"
    return "_by_time" if controller.ramps.entry == "time" else ""


def _cutout(run: ProgrammeRun, controller: Controller) -> str:
    """Say what the cut-out is set to for this run; by its overshoot above the top where its margin is not known."""
    fault, margin_k, above_k = (
        controller.margin_fault(run.top_degc), controller.cutout_margin_k, controller.cutout_above_k(run.top_degc)
    )  # fmt: skip
    says = words().run["cutout_unknown" if margin_k is None or fault else "cutout_known"].format(
        cutout=shown(run.top_degc + above_k, controller.degrees),
        top=shown(run.top_degc, controller.degrees), above=shown_k(above_k, controller.degrees),
    )  # fmt: skip
    if margin_k is None or fault is None:
        return says
    return f"{says} {words().run[f'margin_{fault}'].format(margin=shown_k(margin_k, controller.degrees))}"


def _ends(run: ProgrammeRun, controller: Controller) -> Iterator[str]:
    """Say when a run ends by itself; what a wait for the kiln adds is nobody's to say beforehand."""
    yield words().run["ends"].format(hours=show_hours_minutes(run.hours))
    if controller.waits_for_kiln:
        yield words().run["ends_later"]
    yield words().run["stopped"]


def _then(programme: Programme, run: ProgrammeRun) -> Iterator[str]:
    """Say what is done when a run has ended: readings and a start again, the next run at once, or the day's end."""
    said, last = words().run, run.number == len(programme.runs)
    if last or not run.reads:
        yield said["leave" if last else "next"].format(next=run.number + 1)
        return
    yield said["reads"].format(run=run.number)
    yield words().restart[programme.controller.after_power_cut].format(next=run.number + 1)
    yield said["again"].format(next=run.number + 1)


def _see(programme: Programme, run: ProgrammeRun) -> Iterator[str]:
    controller, said, degrees = programme.controller, words().run, programme.controller.degrees
    apart = shown_k(words().apart_k.value, degrees)
    yield said["waits" if controller.waits_for_kiln else "no_waits"].format(apart=apart)
    if controller.delays_start:
        yield said["delay"]
    cycle_degc, cycle_s = words().cycle_degc.value, words().cycle_s.value
    if run.begins_degc < cycle_degc and (controller.cycle_s is None or controller.cycle_s > cycle_s):
        yield said["cycle"].format(cycle=shown(cycle_degc, degrees), cycle_s=show_number(cycle_s))
    if len(programme.runs) > controller.programmes:
        yield said["type_in"].format(programmes=controller.programmes)


def _power_cut(controller: Controller) -> tuple[str, str]:
    """Say what it does after a power cut, and what never resumes."""
    gone, cooled = show_number(words().gone_min.value), shown_k(words().cooled_k.value, controller.degrees)
    rule = words().power_cut_rule["say"].format(gone_min=gone, cooled=cooled)
    return words().power_cut[controller.after_power_cut], rule
