"""A drying in short, at the head of its annex: its days, what was caught and weighed, stops, plans, who logged it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from recover.base.measures import show_moment
from recover.plan.kinds import COLUMNS
from recover.plan.log import log_of
from recover.report.day import HANDOVER_POINT
from recover.report.paper import View
from recover.report.reading_words import logged_figure
from recover.report.words import words

if TYPE_CHECKING:
    from recover.asked.told import Logged
    from recover.base.addresses import Address
    from recover.judged.assessment import Assessment
    from recover.plan.whole import Day, JobPlan


def in_short(
    found: Assessment, kiln: Address, log: Sequence[Logged], *, opened: Sequence[Day], stops: Sequence[Logged],
    plans: Sequence[JobPlan],
) -> list[View]:  # fmt: skip
    """Return the figures that are asked first of a drying, each with its label.

    `log` is in the order of its moments, `opened` the days of plans that it speaks of, `plans` the newest first.
    """
    stand = [one for one in log if one not in found.answers.unlogged]
    values = {
        **_days(found, log, opened), **_read(stand), **_plans(log, plans),
        "stops": _listed([_stop(one) for one in stops]),
        "columns": _columns(found, kiln), "until": _until(found, kiln),
        "attended": ", ".join(dict.fromkeys(one.by for one in log)),
    }  # fmt: skip
    return [{"label": label, "value": values[name]} for name, label in words().annex.short.items()]


def _days(found: Assessment, log: Sequence[Logged], opened: Sequence[Day]) -> dict[str, str]:
    say = words().annex
    begins = [day.attended_from for day in opened if day.attended_from]
    ends = [day.attended_to for day in opened if day.attended_to]
    return {
        "days": say.days(number=len({one.measured.date() for one in log})),
        "opening": found.answers.by_clock(min(begins)) if begins else say.none_logged,
        "last": found.answers.by_clock(max(ends)) if ends else say.none_logged,
    }


def _read(stand: Sequence[Logged]) -> dict[str, str]:
    """Return what was caught in all, and what the piece weighed first and last."""
    say = words().annex
    caught = [one for one in stand if one.what == "litres" and one.value is not None]
    weighed = [one for one in stand if one.what == "piece" and one.value is not None]
    return {
        "caught": logged_figure(sum(one.value or 0.0 for one in caught), "l") if caught else say.none_logged,
        "weighed": say.weights(first=_weight(weighed[0]), last=_weight(weighed[-1])) if weighed else say.none_logged,
    }


def _columns(found: Assessment, kiln: Address) -> str:
    """Say how the columns of a logger were read, each way with its line."""
    of = [one for one in log_of(found.answers, kiln) if one.what == COLUMNS]
    said = [words().annex.columns(said=one.said, by=one.by, line=one.line) for one in of]
    return "; ".join(said) or words().annex.none_logged


def _weight(one: Logged) -> str:
    return words().annex.weight(value=logged_figure(one.value, one.unit), on=show_moment(one.measured))


def _plans(log: Sequence[Logged], plans: Sequence[JobPlan]) -> dict[str, str]:
    """Return the plans that were made since the drying began."""
    since = [one for one in reversed(plans) if datetime.fromisoformat(one.made) > log[0].measured]
    return {"replans": _listed([words().annex.plan(plan=one.number) for one in since])}


def _until(found: Assessment, kiln: Address) -> str:
    """Say until when the hand-over stands, or that it does not."""
    hold = next((one for one in found.holds if (one.point.id, one.at) == (HANDOVER_POINT, kiln)), None)
    return found.answers.by_clock(hold.until) if hold and hold.until else words().annex.not_standing


def _stop(one: Logged) -> str:
    """Print a stop by its moment and line; with that it was taken back, since it was one when it was logged."""
    stop = f"{show_moment(one.measured)} [{one.line}]"
    return words().annex.gone_stop(stop=stop) if one.taken_back else stop


def _listed(names: Iterable[str]) -> str:
    """Print how many there are, and which."""
    named = list(names)
    return ": ".join(filter(None, (str(len(named)), ", ".join(named))))
