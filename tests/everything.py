"""A job with one of everything, and every figure of its cost known: what the tests of its total take away from."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from railbook.estimate import Estimate
from railbook.job.assemblies import INSIDE_RIM, Assembly
from railbook.job.fastenings import (
    BALUSTER_END,
    BLOCK,
    BOLT,
    BRACKET,
    CAP_TO_POST,
    CAP_TO_RAIL,
    HANDRAIL_BRACKET,
    HOLD_DOWN,
    RAIL_TO_POST,
    RAIL_TO_WALL,
    SCREW,
    Fastening,
    post_joint,
)
from railbook.job.flights import Flight
from railbook.job.prices import BOARD, EACH, KIT, PACK, YARD_BOARD, Price
from railbook.job.runs import HANDRAIL, Run
from railbook.job.settings import Settings
from railbook.job.supports import POST, WALL, Support
from railbook.money.cost import COMPLETE, SEE_RUNS
from railbook.money.run_costs import INCOMPLETE
from tests.small_jobs import PLAIN, WOOD, flight, level, stair, tabs
from tests.strategies import computed

Rows = Mapping[str, Sequence[Any]]


# One of everything: a level guard from a wall, with cap boards and blocks; a stair guard whose sleeved posts stand
# proud, with caps and skirts; a handrail alone; things sold as boards, singly, in packs and in kits.
CAPPED = replace(
    WOOD, assembly="CAPPED", post_item="POST", top_rail_item="RAIL", bottom_rail_item="LOWER RAIL",
    baluster_item="BALUSTER", cap_item="CAP", block_item="BLOCK", mount=INSIDE_RIM,
)  # fmt: skip
PROUD = replace(
    WOOD, assembly="PROUD", post_item="POST", sleeve_item="SLEEVE", sleeve_width=4.5, post_proud=1.0,
    post_cap_item="POST CAP", skirt_item="SKIRT", cap_item=None, cap_thickness=None, cap_width=None, cap_overhang=None,
    top_rail_item="RAIL", bottom_rail_item="LOWER RAIL", baluster_item="BALUSTER", block_spacing=None,
    mount=INSIDE_RIM, handrail_item="HANDRAIL", handrail_height=36.0, handrail_bracket_spacing=32.0,
)  # fmt: skip
RUNS = (
    level(60.0, assembly="CAPPED", from_support="W1"),
    stair(67.0, 47.0625, assembly="PROUD", from_support="P4", to_support="P5", lower_setback=2.25, upper_setback=1.75),
    Run(run="H", kind=HANDRAIL, assembly="PROUD", flight="F1"),
)
SIDE = post_joint(INSIDE_RIM)
JOINTS = {
    "CAPPED": (SIDE, BALUSTER_END, RAIL_TO_POST, RAIL_TO_WALL, BLOCK, CAP_TO_POST, CAP_TO_RAIL),
    "PROUD": (SIDE, BALUSTER_END, RAIL_TO_POST, HANDRAIL_BRACKET),
}
ITEMS = {SIDE: (BOLT, "BOLT"), HANDRAIL_BRACKET: (BRACKET, "BRACKET"), RAIL_TO_WALL: (SCREW, "ANCHOR")}
FASTENINGS = (
    *(
        Fastening(assembly, joint, *ITEMS.get(joint, (SCREW, "SCREW")), 2, 16.0 if joint == CAP_TO_RAIL else None)
        for assembly, joints in JOINTS.items()
        for joint in joints
    ),
    Fastening("CAPPED", SIDE, HOLD_DOWN, "HOLD-DOWN", 1),
)
PRICES = (
    Price(item="POST", sold_as=BOARD, length=96.0, price=14.0),
    Price(item="RAIL", sold_as=BOARD, length=144.0, price=9.0),
    Price(item="LOWER RAIL", sold_as=YARD_BOARD, length=120.0, price=5.0, on_hand=6),
    Price(item="BALUSTER", sold_as=EACH, price=2.0),
    Price(item="CAP", sold_as=BOARD, length=144.0, price=17.0, on_hand=1),
    Price(item="BLOCK", sold_as=EACH, price=0.0),
    Price(item="SLEEVE", sold_as=BOARD, length=144.0, price=30.0),
    Price(item="POST CAP", sold_as=PACK, pack_of=2, price=8.0),
    Price(item="SKIRT", sold_as=EACH, price=6.0, on_hand=1),
    Price(item="HANDRAIL", sold_as=BOARD, length=192.0, price=40.0),
    Price(item="BOLT", sold_as=EACH, price=2.5),
    Price(item="HOLD-DOWN", sold_as=EACH, price=14.5),
    Price(item="SCREW", sold_as=PACK, pack_of=100, price=9.5),
    Price(item="ANCHOR", sold_as=EACH, price=1.9, on_hand=40),
    Price(item="BRACKET", sold_as=KIT, price=22.0, taxable="No"),
)
RATES = replace(
    PLAIN, tax=0.07, markup_materials=0.15, markup_labour=0.1, labour_rate=55.0, hours_per_post=1.25,
    hours_per_level=0.4, hours_per_stair=0.6, hours_handrail=0.3, cost_permit=85.0, cost_delivery=60.0,
    cost_tear_out=0.0, cost_dump=45.0,
)  # fmt: skip
FLIGHT = flight(7.375, 10.5)
SUPPORTS = (  # somebody looked at the foot of the flight: there is a rim
    Support(support="W1", kind=WALL), Support(support="P4", kind=POST, mount=INSIDE_RIM),
)  # fmt: skip


def typed(
    *,
    runs: Sequence[Run] = RUNS,
    fastenings: Sequence[Fastening] = FASTENINGS,
    prices: Sequence[Price] = PRICES,
    settings: Settings = RATES,
    assemblies: Sequence[Assembly] = (CAPPED, PROUD),
    flights: Sequence[Flight] = (FLIGHT,),
    supports: Sequence[Support] = SUPPORTS,
) -> dict[str, tuple[Any, ...]]:
    """The job of above with something else in one of its tabs."""
    rows: Rows = tabs(*runs, assemblies=assemblies, flights=flights, supports=supports, settings=settings,
                      prices=prices)  # fmt: skip
    return {**{tab: tuple(those) for tab, those in rows.items()}, "fastenings": tuple(fastenings)}


def job(**changed: Any) -> Estimate:
    return computed(typed(**changed))


def without(row: Any, *columns: str) -> Any:
    """A row with those cells blank."""
    return replace(row, **dict.fromkeys(columns))


@cache
def whole() -> Estimate:
    return job()


def lacks(made: Estimate) -> list[str]:
    """What the total says that it lacks."""
    says: str = made.rows["cost"][0].total_says
    return says.removeprefix("incomplete, without: ").split(", ") if says != COMPLETE else []


def incomplete_runs(made: Estimate) -> str:
    """Marks of the runs whose own total says that it lacks something."""
    runs = made.rows["run_costs"]
    assert {each.says for each in runs} <= {INCOMPLETE, ""}
    marks = "".join(each.run for each in runs if each.says)
    assert made.rows["cost"][0].lengths_say == (SEE_RUNS if marks else COMPLETE)
    return marks


SETTINGS = {
    "tax": "tax", "markup_materials": "mark-up on materials", "markup_labour": "mark-up on labour",
    "labour_rate": "labour", "hours_per_post": "hours for posts", "hours_per_level": "hours for level guard",
    "hours_per_stair": "hours for stair guard", "hours_handrail": "hours for handrails", "cost_permit": "permit",
    "cost_delivery": "delivery", "cost_tear_out": "tear-out", "cost_dump": "dump",
    "fastener_spares": "spares of fasteners",
}  # fmt: skip
