"""Where a post stands and what it is: kind, state, mount, length below the surface, whether it gets a sleeve."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from railbook.basics.blank import or_zero
from railbook.basics.double_entry import Column
from railbook.basics.joins import through
from railbook.basics.kinds import BOX, CHOICE, COUNT, TAPE
from railbook.basics.rounding import round_to
from railbook.geometry.lines import Line
from railbook.geometry.post_top_words import JOINS as TOP_JOINS
from railbook.geometry.post_top_words import PROUD_EXCEL
from railbook.geometry.post_tops import PostTop
from railbook.job.assemblies import ON_CONCRETE, ON_SURFACE, RIM_MOUNTS, USUAL_ROUGH, Assembly
from railbook.job.settings import Settings, or_usual
from railbook.job.supports import NEW, POST, Support

NOT_TOLD = "not told"  # how a post is held, where its assembly cannot say it


@dataclass(frozen=True)
class PostStand:
    """One support, without its top; lengths in the job's unit, plumb, above the surface it stands on.

    Attributes:
        post: its mark.
        runs: marks of the runs that it carries.
        worked: its top as worked out.
        chosen_kind: kind and state that the cut list was made for.
        like_row: the first post cut exactly like this one, counted from 1.
        first: that post; None when it is this one.
        framed: 1 where the rim of a frame may be beside it: not on a tread, nor at the foot of a flight alone.
        rough: 1 where it was counted as sawn longer than it ends up.
        turned: how it is set where a run meets it askew, in words.
    """

    post: str
    runs: str
    worked: PostTop
    chosen_kind: str
    settings: Settings
    like_row: int
    framed: int
    rough: int
    turned: str = ""
    first: "Any" = None

    @property
    def stands(self) -> str:
        """Which place on its run sets its height."""
        return self.worked.stands

    @property
    def line(self) -> Line:
        """The run that sets its height."""
        return self.worked.line

    @property
    def line_row(self) -> int:
        """Row of that run on Working runs."""
        return self.worked.line_row

    @property
    def typed(self) -> Support | None:
        """Its row on tab Supports."""
        return self.worked.typed

    @property
    def proud(self) -> float | None:
        """How far it stands above the rails, cut square; None: under the cap."""
        return self.worked.proud

    @cached_property
    def assembly(self) -> Assembly:
        """The assembly that sets its height."""
        return self.line.measures.assembly

    @cached_property
    def assembly_row(self) -> int:
        """Row of that assembly on tab Assemblies."""
        return self.line.assembly_row

    @cached_property
    def kind(self) -> str:
        """Post, Wall or Column."""
        return POST if self.typed is None else self.typed.kind or POST

    @cached_property
    def state(self) -> str:
        """New or Existing; empty for a wall or a column."""
        if self.kind != POST:
            return ""
        return NEW if self.typed is None else self.typed.state or NEW

    @property
    def box(self) -> str:
        """A box to tick for what is cut."""
        return BOX if self.kind == POST else ""

    @cached_property
    def cut(self) -> int:
        """1 for a new post, which is bought and cut; 0 for a wall or what already stands."""
        return int(self.kind == POST and self.state == NEW)

    @property
    def sleeved(self) -> int:
        """1 for a post that gets a sleeve; an existing post with a face width of its own is finished."""
        finished = self.state != NEW and self.typed is not None and self.typed.face_width is not None
        return int(self.kind == POST and self.assembly.sleeve_width is not None and not finished)

    @property
    def mount(self) -> str:
        """How it meets the frame; empty for a wall or a column, and for a post that stands already.

        Where there is no rim, an assembly that is held by one does not say how.
        """
        if not self.cut:
            return ""
        own, usual = None if self.typed is None else self.typed.mount, self.assembly.mount or ""
        return own or (NOT_TOLD if usual in RIM_MOUNTS and not self.framed else usual)

    @cached_property
    def below(self) -> float | None:
        """Post below the surface; None for a support that is not cut."""
        if not self.cut:
            return None
        if self.typed is not None and self.typed.below_surface is not None:
            return self.typed.below_surface
        stands_on_it = self.typed is not None and self.typed.mount in (ON_SURFACE, ON_CONCRETE)
        return 0.0 if stands_on_it else self.assembly.below_surface or 0.0

    @property
    def other_kind(self) -> bool:
        """Whether it is another kind of support than was counted."""
        return self.chosen_kind != f"{self.kind}|{self.state}"

    @cached_property
    def allowance(self) -> float:
        """How much longer it is sawn than it ends up."""
        return self.assembly.allowance(self.settings.unit)

    @property
    def is_rough(self) -> int:
        """1 when it is sawn longer than it ends up."""
        return int(self.cut == 1 and self.allowance > 0)

    @property
    def other_rough(self) -> bool:
        """Whether it is now sawn to length but was counted as rough, or the other way round."""
        return self.is_rough != self.rough

    def _tape(self, length: float | None) -> float | None:
        return None if length is None or self.kind != POST else round_to(self.settings.tape_step, length)


_OWN = 'IF({support_row}=0,USUAL,IF({support.COLUMN}="",USUAL,{support.COLUMN}))'
_ON_RIM = ",".join('{assembly.mount}="MOUNT"'.replace("MOUNT", mount) for mount in RIM_MOUNTS)
_USUAL_MOUNT = 'IF({framed}=1,{assembly.mount}&"",IF(OR(RIM),"' + NOT_TOLD + '",{assembly.mount}&""))'


def _own(column: str, usual: str) -> str:
    """Formula part: a word of tab Supports, or the usual one where nothing is said there."""
    return _OWN.replace("COLUMN", column).replace("USUAL", usual)


JOINS = through("worked", TOP_JOINS)
TERMS = {
    "allowance": or_usual("assembly.rough_allowance", USUAL_ROUGH),
    "proud": PROUD_EXCEL,
    "is_proud": '{proud}<>""',
    "on_slope": 'AND({stands}="Ramp",{proud}="")',
    "evenly": "{number}*(({line.clear}-({line.sections}-1)*{line.post_face})/{line.sections}+{line.post_face})"
    "-{line.post_face}",
    "on_tread": or_zero("{line.lower_setback}") + "+{tread}*" + or_zero("{line.tread}")
    + "+{assembly.line_post_setback}",
    "usual_below": or_zero("{assembly.below_surface}"),
    "usual_mount": _USUAL_MOUNT.replace("RIM", _ON_RIM),
    "lower_by": "IF({sleeved}=0,0," + or_zero("{assembly.post_below_sleeve}") + ")",
}  # fmt: skip
KIND = Column("kind", "Kind", CHOICE, "=" + _own("kind", '"Post"'), width=7)
STATE = Column("state", "State", CHOICE, '=IF({kind}<>"Post","",' + _own("state", '"New"') + ")", width=8)
BELOW = Column(
    "below",
    "Below surface",
    TAPE,
    '=IF({cut}=0,"",IF({support_row}=0,{usual_below},IF({support.below_surface}<>"",{support.below_surface},'
    'IF(OR({support.mount}="On surface",{support.mount}="On concrete"),0,{usual_below}))))',
)
MOUNT = Column("mount", "Mount", CHOICE, '=IF({cut}=0,"",' + _own("mount", "{usual_mount}") + ")", width=9)
IS_CUT = Column("cut", "Cut", COUNT, '=IF(AND({kind}="Post",{state}="New"),1,0)')
SLEEVED = Column(
    "sleeved",
    "Gets a sleeve",
    COUNT,
    '=IF(OR({kind}<>"Post",{assembly.sleeve_width}="",'
    'IF({support_row}=0,FALSE,AND({state}<>"New",{support.face_width}<>""))),0,1)',
)
