"""Why a total is not complete: each reason in words, whether it holds, and both again as formula parts.

Every part of the sentence begins with ", " where it holds and is empty where it does not.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from railbook.fastening.bare_joints import BareJoints

MOST_NAMED = 20  # assemblies by their mark, the others together
OTHERS = ", fasteners of other assemblies"


@dataclass(frozen=True)
class Gaps:
    """What is in no figure of the money, beside prices that are missing.

    Attributes:
        bare: for each assembly the joints into which nothing goes.
        orphans: rows of tab Fastenings that name no assembly.
        unsized_posts: new posts and sleeves whose length is not known, so that the cut list lacks them.
        refused_caps: cap boards that are not laid out, as they clash with another.
        unheld_posts: new posts of which nobody has said how they are held.
        spares_unknown: 1 when fasteners need spares and nobody said how many.
        runs_left_out: rows of tab Runs that were not laid out.
        runs_counted: runs on that tab when the job was computed; `runs_now` those that it shows now.
    """

    bare: Sequence[BareJoints] = field(repr=False)
    orphans: int
    unsized_posts: int
    refused_caps: int
    unheld_posts: int
    spares_unknown: int
    runs_left_out: int
    runs_counted: int
    runs_now: int

    @property
    def runs_added(self) -> int:
        """Runs typed into the result since."""
        return self.runs_now - self.runs_counted


class Reason(NamedTuple):
    """One reason.

    Attributes:
        lacks: what the total lacks, in words, of the row of tab Cost.
        holds: whether it does.
        lacks_excel: the words as a formula part; `holds_excel` the condition.
    """

    lacks: Callable[[Any], str]
    holds: Callable[[Any], bool]
    lacks_excel: str
    holds_excel: str


def _when(what: str, holds: Callable[[Any], bool], holds_excel: str) -> Reason:
    """Something of which the number is no matter."""
    return Reason(lambda _: what, holds, f'"{what}"', holds_excel)


def _blank(setting: str, what: str, needed: Callable[[Any], float] | None = None, needed_excel: str = "") -> Reason:
    """A setting that is blank or could not be read; where told, only when the job has what it is for."""
    excel = f"COUNT({{{setting}}})=0"
    return _when(
        what,
        lambda cost: getattr(cost.settings, setting) is None and (needed is None or needed(cost) > 0),
        f"AND({excel},{needed_excel}>0)" if needed else excel,
    )


def _runs(number: Callable[[Any], int], number_excel: str, what: str) -> Reason:
    """So many runs."""
    return Reason(
        lambda cost: f"{number(cost)} run{'' if number(cost) == 1 else 's'} {what}",
        lambda cost: number(cost) > 0,
        f'({number_excel})&IF({number_excel}=1," run"," runs")&" {what}"',
        f"{number_excel}>0",
    )


BEFORE = (  # fasteners are named by assembly between these
    _when("prices", lambda cost: cost.missing_prices > 0, "{missing_prices}>0"),
    _when("boards", lambda cost: cost.uncut_parts > 0, "{uncut_parts}>0"),
    _when("lengths of posts", lambda cost: cost.unsized_posts > 0, "{unsized_posts}>0"),
    _when("cap boards that clash", lambda cost: cost.gaps.refused_caps > 0, "SUM({caps_refused})>0"),
    _when("what holds some posts", lambda cost: cost.unheld_posts > 0, "{unheld_posts}>0"),
)
AFTER = (  # and these
    _when("fasteners without an assembly", lambda cost: cost.gaps.orphans > 0,
        "SUMIFS({joint_counts_left_out},{joint_counts_assembly_row},0)>0"),
    _when("spares of fasteners", lambda cost: cost.spares_unknown > 0, "{spares_unknown}>0"),
    _blank("tax", "tax"),
    _blank("markup_materials", "mark-up on materials"),
    _blank("markup_labour", "mark-up on labour"),
    _blank("labour_rate", "labour"),
    _blank("hours_per_post", "hours for posts", lambda cost: cost.posts_set, "{posts_set}"),
    _blank("hours_per_level", "hours for level guard", lambda cost: cost.level_length, "{level_length}"),
    _blank("hours_per_stair", "hours for stair guard", lambda cost: cost.stair_length + cost.ramp_length,
        "{stair_length}+{ramp_length}"),
    _blank("hours_handrail", "hours for handrails", lambda cost: cost.handrail_length, "{handrail_length}"),
    _blank("cost_permit", "permit"),
    _blank("cost_delivery", "delivery"),
    _blank("cost_tear_out", "tear-out"),
    _blank("cost_dump", "dump"),
    _runs(lambda cost: cost.runs_unpriced, "{runs_unpriced}", "left out"),
    _runs(lambda cost: cost.gaps.runs_added, "COUNTA({runs_run})-{runs_counted}", "added since"),
)  # fmt: skip


def lacking(cost: Any) -> str:
    """What the total lacks, in words; nothing when it is complete.

    Args:
        cost: the row of tab Cost.
    """
    bare: Sequence[BareJoints] = cost.gaps.bare
    named = "".join(each.lacks for each in bare[:MOST_NAMED])
    others = OTHERS if any(each.lacks for each in bare[MOST_NAMED:]) else ""
    return f"{_told(cost, BEFORE)}{named}{others}{_told(cost, AFTER)}".removeprefix(", ")


def _told(cost: Any, reasons: Sequence[Reason]) -> str:
    return "".join(f", {each.lacks(cost)}" for each in reasons if each.holds(cost))


def lacking_excel(assemblies: int) -> str:
    """Formula part: the same.

    Args:
        assemblies: how many rows tab Working bare joints has.
    """
    named = [f"INDEX({{bare_joints_lacks}},{row})" for row in range(1, min(assemblies, MOST_NAMED) + 1)]
    if assemblies > MOST_NAMED:
        bare = "+".join(
            f'SUMIFS({{bare_joints_{column}}},{{bare_joints_assembly_row}},">{MOST_NAMED}")'
            for column in ("bare", "brackets")
        )
        named.append(f'IF({bare}>0,"{OTHERS}","")')
    return f"MID({'&'.join((*_excel(BEFORE), *named, *_excel(AFTER)))},3,2000)"


def _excel(reasons: Sequence[Reason]) -> Iterator[str]:
    return (f'IF({each.holds_excel},", "&{each.lacks_excel},"")' for each in reasons)
