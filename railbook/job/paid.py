"""Paid: what was really paid, filled in by the bookkeeper in a result and kept when it is computed again."""

from dataclasses import dataclass

from railbook.basics.double_entry import Tab, asked
from railbook.basics.kinds import MARK, MEASURED, PAYMENT, TEXT
from railbook.basics.problem import Origin


@dataclass(frozen=True)
class Paid:
    """One payment, or a share of one.

    Attributes:
        item: the item of tab Prices that it was for.
        length: of boards, their length [job unit].
        paid: what was paid, tax included; what was paid back is negative.
    """

    item: str | None = None
    length: float | None = None
    paid: float | None = None
    notes: str | None = None
    origin: Origin = Origin()


TAB = Tab(
    "paid",
    "Paid",
    Paid,
    (
        asked("item", "Item", MARK, "The item as tab Materials has it", needed=True, width=16),
        asked("length", "Length", MEASURED, "Boards: their length; blank for everything else"),
        asked("paid", "Paid", PAYMENT, "What was paid for it in all, tax included; a refund with a minus"),
        asked("notes", "Notes", TEXT, "Number of the bill, the day, what was returned", width=36),
    ),
    purpose="For the bookkeeper: what was really paid. Several rows of an item are added up. Tab Materials shows the "
    "difference; these rows are kept when the job is computed again.",
    none="Nothing was paid yet",
    optional=True,
)
