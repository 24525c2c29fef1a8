"""What energy costs: money is decimal, one currency a job, rounded once for each line."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from recover.asked.answers import Answers
from recover.base.addresses import JOB
from recover.base.errors import QuantityError
from recover.physics.materials import Band

_CENT = Decimal("0.01")


@dataclass(frozen=True)
class Cost:
    """Money in the job's currency, as a band."""

    low: Decimal
    mid: Decimal
    high: Decimal


def price_kwh(answers: Answers) -> Decimal | None:
    """Return the price of a kilowatt-hour, exactly as it was written; None where it is not known."""
    price = answers.number("plan.price_kwh", JOB)
    return None if price is None else Decimal(repr(price))


def rate_hour(answers: Answers) -> Decimal | None:
    """Return what an hour of somebody's attendance costs, exactly as it was written; None where it is not known."""
    rate = answers.number("plan.rate_hour", JOB)
    return None if rate is None else Decimal(repr(rate))


def money(answers: Answers) -> str:
    """Return in which money prices are, as it was written; empty where nobody said."""
    return answers.word("plan.money", JOB)


def cost(energy_kwh: Band, price_kwh: Decimal | None) -> Cost | None:
    """Return what energy [kWh] costs at a price for each of them; None where no price is known.

    Raises QuantityError for a price below nought.
    """
    if price_kwh is None:
        return None
    if not price_kwh >= 0:
        raise QuantityError("price of a kWh", str(price_kwh), "0 or more")
    low, mid, high = (
        (Decimal(repr(kwh)) * price_kwh).quantize(_CENT, ROUND_HALF_UP)
        for kwh in (energy_kwh.low, energy_kwh.mid, energy_kwh.high)
    )
    return Cost(low, mid, high)
