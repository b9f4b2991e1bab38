"""Saw, prices and payments of random jobs, each figure sometimes left blank."""

from collections.abc import Iterator, Sequence
from typing import Any

from railbook.basics.kinds import INCH
from railbook.job.paid import Paid
from railbook.job.prices import Price
from tests.taper import Taper


def drawn_saw_and_rates(taper: Taper) -> dict[str, Any]:
    """The settings that the cutting plan and the cost rest on."""
    length, either = taper.length, taper.either
    rates: dict[str, Any] = {
        "saw_kerf": either(None, 0.0, length(1 / 16, 1 / 4)),
        "end_trim": either(None, 0.0, length(1 / 8, 1)),
        "shortest_offcut": either(None, 0.0, length(12, 36)),
        "currency": either(None, "USD", "=1+1"),
        "tax": either(None, 0.0, 0.075),
        "markup_materials": either(None, 0.0, 0.15),
        "markup_labour": either(None, 0.0, 0.2),
        "labour_rate": either(None, 0.0, 65.0),
        "hours_per_post": either(None, 0.0, 1.5),
        "hours_per_level": either(None, 0.25 if taper.unit == INCH else 0.8),
        "hours_per_stair": either(None, 0.4 if taper.unit == INCH else 1.3),
        "cost_permit": either(None, 0.0, 150.0),
        "cost_delivery": either(None, 85.0),
        "cost_tear_out": either(None, 400.0),
        "cost_dump": either(None, 60.0),
    }
    by_foot = 0.2 if taper.unit == INCH else 0.6  # not drawn, so that the jobs of all seeds stay what they were
    return rates | {"hours_handrail": None if rates["cost_dump"] is None else by_foot}


def drawn_payments(taper: Taper, prices: Sequence[Price]) -> Iterator[Paid]:
    """What was paid for some of the things on sale, and for something else."""
    for price in prices:
        if taper.chance(0.3):
            yield Paid(item=price.item, length=price.length, paid=taper.either(None, 0.0, 12.5), notes=taper.text())
    if taper.chance(0.5):
        yield Paid(item="NOT ON SALE", paid=1.0)
