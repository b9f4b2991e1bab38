"""Posts: the height of every support's cut, at both faces, and the length of the post to start from.

Heights stand on the surface that the post itself stands on. On a rake the cap's underside crosses the
post at the slope: the sleeve is cut there, the post inside parallel to it and a little lower. A post that
stands proud is cut square, above the highest edge of the rails or caps that meet it.

A new post is sawn rough, square and longer by the allowance of its assembly, and trimmed on site to these heights.
Its stock follows the rough length, what is checked the final one. Sleeves are sawn to length.

Heights of a post that leans are taped along its faces, since a tape is held to them; a sleeve leans with its post. One
that stands already is as high as its higher face asks, wherever the other one ends.
"""

from dataclasses import dataclass
from functools import cache, cached_property

from railbook.basics.blank import if_known, most, or_zero, when_known
from railbook.basics.double_entry import STATUS, Column, Part, Tab
from railbook.basics.joins import Join, Rests, written
from railbook.basics.kinds import COUNT, CUT, LENGTH, MARK, TAPE, TEXT, TICK, VERDICT
from railbook.basics.rounding import round_to_excel
from railbook.geometry import post_tops
from railbook.geometry.post_cuts import PostCut
from railbook.geometry.post_stands import BELOW, IS_CUT, JOINS, KIND, MOUNT, SLEEVED, STATE, TERMS
from railbook.geometry.post_tops import ON_LEVEL, ON_RAMP
from railbook.job.supports import NEW, POST

TOPS = {ON_LEVEL: "level"}
PROUD = "square, proud"


@dataclass(frozen=True)
class Post(PostCut):
    """One support with its heights; lengths in the job's unit, plumb, above the surface it stands on.

    By hand: a post under a level guard of 36 1/2 with a cap of 1 ends at 35 1/2.
    """

    @property
    def like(self) -> "Post":
        """The first post cut exactly like this one."""
        return self.first or self

    @property
    def position(self) -> float | None:
        """Level distance from the run's From face to the near face of a post between sections, to the tape."""
        return self._tape(self.worked.position)

    @property
    def top(self) -> str:
        """How its top is shaped: at a bend, where the two caps cross over it."""
        if self.kind != POST:
            return ""
        if self.proud is not None:
            return PROUD
        return self._bent_top if self.worked.is_bent else TOPS.get(self.stands, "sloped")

    @cached_property
    def sleeve_downhill(self) -> float | None:
        """Sleeve at the downhill face, rounded to the tape; None without a sleeve."""
        return self._tape(self.worked.trim_downhill) if self.sleeved else None

    @cached_property
    def sleeve_uphill(self) -> float | None:
        """Sleeve at the uphill face, rounded to the tape."""
        return self._tape(self.worked.trim_uphill) if self.sleeved else None

    @cached_property
    def inset(self) -> float:
        """How much the cut gains between the downhill faces of the sleeve and of the post inside it."""
        return self._bent_insets[0] if self.worked.is_bent else self._inside * self._slope

    @cached_property
    def _slope(self) -> float:
        """What its top gains on its foot across it, uphill, for each unit of its width."""
        if self.proud is not None:
            return -self.worked.foot_gain
        lean = self.worked.leaning
        gained = 0.0 if self.stands in (ON_LEVEL, ON_RAMP) else self.line.tangent
        return gained * lean.wide * lean.swung * lean.along

    @property
    def inset_excel(self) -> str:
        """Formula part of `inset`."""
        if self.worked.bent is not None:
            return self._bent_inset_excel(self.worked.bent_ends[0], "{downhill}")
        if not self.worked.leans:
            return _INSET + self.worked.over_excel
        return _LEANING_INSET.replace("FOOT", self.worked.words.foot) + self.worked.over_excel

    @property
    def inset_up_excel(self) -> str:
        """Formula part of what the post inside gains on its sleeve uphill."""
        if self.worked.bent is None:
            return "-{inset}"
        return "+" + self._bent_inset_excel(self.worked.bent_ends[1], "{uphill}")

    @cached_property
    def post_downhill(self) -> float | None:
        """Post at its downhill face, rounded to the tape."""
        return self._tape(when_known(lambda height: height + self.inset - self.lower, self.worked.trim_downhill))

    @cached_property
    def post_uphill(self) -> float | None:
        """Post at its uphill face, rounded to the tape."""
        gained = self._bent_insets[1] if self.worked.is_bent else -self.inset
        return self._tape(when_known(lambda height: height + gained - self.lower, self.worked.trim_uphill))

    @cached_property
    def post_length(self) -> float | None:
        """Length that it ends up with: its longest side."""
        high = most(self.post_downhill, self.post_uphill, self._ridge)
        return when_known(lambda top, below: top + below + self.post_corner, high, self.below)

    @property
    def _point(self) -> float:
        """What the stock must hold beyond a side: the point of the foot of a post that stands on a ramp."""
        return self.line.tangent if self.stands == ON_RAMP and self.proud is None else 0.0

    @cached_property
    def post_tip(self) -> float | None:
        """The same tip to tip."""
        width = self.assembly.post_width or 0.0
        return when_known(lambda length: length + width * self._point, self.post_length)

    @cached_property
    def rough_length(self) -> float | None:
        """What is sawn for it, tip to tip, rounded to the tape."""
        return self._tape(when_known(lambda length: length + self.allowance, self.post_tip))

    @property
    def rough_top(self) -> float:
        """Cut of the top of a rough post: square, since its slope is cut on site [degrees]."""
        return 0.0

    @cached_property
    def sleeve_tip(self) -> float | None:
        """Tip to tip of the sleeve; its foot stands on the surface, so that one that leans is cut there too."""
        width = self.assembly.sleeve_width or 0.0
        if not self.worked.leans:
            return when_known(lambda length: length + width * self._point, self.sleeve_length)
        foot, down, up = width * self.worked.foot_gain, self.sleeve_downhill, self.sleeve_uphill
        if self.worked.is_bent:
            return when_known(lambda length: length + abs(foot), self.sleeve_length)
        return when_known(lambda low, high: max(low, high + foot) - min(0.0, foot), down, up)

    @property
    def sleeve_tip_excel(self) -> str:
        """Formula part of the same."""
        if not self.worked.leans:
            return _PLUMB_SLEEVE
        foot = f"SUM({{assembly.sleeve_width}})*{self.worked.words.foot}"
        if self.worked.is_bent:
            return _in_words(f"{{sleeve_length}}+ABS({foot})")
        return _in_words(f"MAX({{sleeve_downhill}},{{sleeve_uphill}}+{foot})-MIN(0,{foot})")

    @cached_property
    def sleeve_length(self) -> float | None:
        """Long side of the sleeve."""
        high = most(self.sleeve_downhill, self.sleeve_uphill, self.joint_height if self._is_ridged else None)
        return when_known(lambda top: top + self.corner_of(self.assembly.sleeve_width), high)

    @cached_property
    def needed(self) -> float | None:
        """Height that an existing post must have; None for any other support."""
        if self.kind != POST or self.state == NEW:
            return None
        high = most(self.post_downhill, self.post_uphill, self._ridge)
        return when_known(lambda top: top + self.post_corner, high)

    @property
    def standing(self) -> float | None:
        """Height of an existing post, as measured."""
        return None if self.typed is None else self.typed.standing_height

    @cached_property
    def saw_off(self) -> float | None:
        """What an existing post is too high, to the tape; None where nothing is sawn off."""
        over = when_known(lambda stands, needs: stands - needs, self.standing, self.needed)
        return None if over is None or over <= 0 else self._tape(over)

    @property
    def gap_beyond(self) -> float | None:
        """Gap between an end post and the wall beside it, as measured."""
        return None if self.typed is None else self.typed.gap_beyond

    @cached_property
    def status(self) -> str:
        """Asks for another run when its run does, or when it is no longer the post that was counted."""
        return TAB.status_of(self)


_TRIMMED = '=IF({kind}<>"Post","",IF({trim_FACE}="","",' + round_to_excel(f"({or_zero('{trim_FACE}')}CHANGE)") + "))"


def _trimmed(face: str, change: str = "") -> str:
    """Formula: where one face is trimmed, with what changes it, rounded to the tape."""
    return _TRIMMED.replace("FACE", face).replace("CHANGE", change)


def _sleeve(face: str) -> str:
    """Formula: the sleeve at one face."""
    return '=IF({sleeved}=0,"",' + _trimmed(face)[1:] + ")"


def _told(figure: str, turned: str = "") -> str:
    """Formula: a figure of the joint of two caps, with what turns it, to the tape."""
    shown = round_to_excel(or_zero(f"{{{figure}}}") + turned)
    return f'=IF(OR({{kind}}<>"Post",{{{figure}}}=""),"",{shown})'


def _pointed(part: str) -> str:
    """Formula part: tip to tip of a post or sleeve of known length."""
    tip = "{PART_length}+IF({on_slope}," + or_zero("{assembly.PART_width}") + "*{line.tangent},0)"
    return tip.replace("PART", part)


FIGURES = Part(
    "posts",
    Post,
    (
        Column("post", "Post", MARK, width=7),
        Column("runs", "Runs", TEXT, width=8),
        KIND,
        STATE,
        Column("stands", "Stands", TEXT, path="worked.stands", width=9),
        Column("position", "From face to near face", TAPE,
            '=IF({kind}<>"Post","",IF({tread}="",' + round_to_excel("{evenly}")
            + ',IF(COUNT({line.lower_setback},{line.tread})<2,"",' + round_to_excel("{on_tread}") + ")))",
            when="worked.number", width=9),
        Column("top", "Top", TEXT,
            '=IF({kind}<>"Post","",IF({is_proud},"square, proud",IF({stands}="Level","level",[bent_top_excel])))',
            width=9),
        Column("slopes", "Slopes along", TEXT, width=8),
        Column("turned", "Set turned", TEXT, width=11),
        Column("rough_length", "Rough length", TAPE,
            "=" + if_known(round_to_excel(f"({_pointed('post')}+{{allowance}})"), "post_length")),
        Column("post_length", "Final length", TAPE,
            '=IF(OR(COUNT({post_downhill},{post_uphill})=0,{below}=""),"",'
            "MAX({post_downhill},{post_uphill}[ridge_excel])+{below}[post_corner_excel])"),
        BELOW,
        MOUNT,
        Column("post_downhill", "Post, downhill face", TAPE,
            _trimmed("downhill", "+{inset}-{lower_by}[lowered_excel]"), width=9),
        Column("post_uphill", "Post, uphill face", TAPE,
            _trimmed("uphill", "[inset_up_excel]-{lower_by}[lowered_excel]"), width=9),
        Column("sleeve_downhill", "Sleeve, downhill face", TAPE, _sleeve("downhill"), width=9),
        Column("sleeve_uphill", "Sleeve, uphill face", TAPE, _sleeve("uphill"), width=9),
        Column("joint_at", "Joint, from downhill face", TAPE, _told("crossing"), when="worked.is_bent", width=9),
        Column("joint_height", "Height at the joint", TAPE, _told("crest", "[along_excel]"),
            when="worked.is_bent", width=9),
        Column("sleeve_length", "Sleeve length", TAPE,
            '=IF(COUNT({sleeve_downhill},{sleeve_uphill})=0,"",MAX({sleeve_downhill},{sleeve_uphill}[sleeve_ridge_excel])[sleeve_corner_excel])'),
        Column("saw_off", "Saw off", TAPE,
            '=IF(COUNT({standing},{needed})<2,"",IF({standing}-{needed}<=0,"",'
            + round_to_excel("({standing}-{needed})") + "))", width=8),
        Column("top_angle", "Top cut", CUT,
            '=IF({kind}<>"Post","",IF(OR([level_excel]{stands}="Bend",{is_proud}),0,[top_angle_excel]))'),
        Column("foot_angle", "Foot cut", CUT,
            '=IF({kind}<>"Post","",IF({stands}="Ramp",{line.slope_angle},0)[uphill_excel])'),
        Column("box", "Done", TICK),
        Column("across_angle", "Cut across, both ends", CUT, "=[across_excel]", when="worked.leans"),
        Column("sleeve_tip", "Sleeve tip to tip", LENGTH, "=" + if_known("[sleeve_tip_excel]", "sleeve_length")),
        Column("inset", "Rise to the post inside", LENGTH,
            "=[inset_excel]"),
        Column("needed", "Existing post needs", LENGTH,
            '=IF(OR({kind}<>"Post",{state}="New",COUNT({post_downhill},{post_uphill})=0),"",'
            "MAX({post_downhill},{post_uphill}[ridge_excel])[post_corner_excel])"),
        Column("standing", "Stands", LENGTH, of="support.standing_height"),
        Column("gap_beyond", "Gap beyond", LENGTH, of="support"),
        IS_CUT,
        SLEEVED,
        Column("chosen_kind", "Chosen for", TEXT),
        Column("framed", "Rim beside it", COUNT),
        Column("rough", "Sawn rough", COUNT),
        Column("rough_top", "Rough top", CUT),
        Column("like_row", "Like row", COUNT),
    ),
    joins=JOINS,
    terms=TERMS,
)  # fmt: skip


@cache
def _in_words(formula: str) -> str:
    """A formula with its joined words and terms written out."""
    return written(formula, FIGURES.joins, FIGURES.terms)


_PLUMB_SLEEVE = written(_pointed("sleeve"), FIGURES.joins, FIGURES.terms)
_LEANING_INSET = written(
    'IF({sleeved}=0,0,({assembly.sleeve_width}-{assembly.post_width})/2*IF({is_proud},-FOOT,'
    'IF(OR({stands}="Level",{stands}="Ramp"),0,{line.tangent}/COS(RADIANS({lean}))*{swung}*{along})))',
    FIGURES.joins, FIGURES.terms,
)  # fmt: skip
_INSET = written(
    'IF(OR({sleeved}=0,{stands}="Level",{on_slope},AND({stands}<>"Ramp",{is_proud})),0,'
    "IF({is_proud},-1,1)*({assembly.sleeve_width}-{assembly.post_width})/2*{line.tangent})",
    FIGURES.joins, FIGURES.terms,
)  # fmt: skip


TAB = Tab(
    "posts",
    "Post schedule",
    Post,
    (*FIGURES.columns, Column(STATUS, "Status", VERDICT)),
    purpose="Posts are sawn to the rough length, tip to tip, and sleeves to theirs. Once they stand, trim each to the "
    "heights at its two faces: that leaves the final length. Half level: sloped at the downhill face, level "
    "from the joint on. Inside a sleeve the post's own downhill face lies further uphill, so it may stand higher. Of a "
    "post that leans every height is taped along its face. Set turned: a face looks, or a corner points, along the "
    "line half way between the directions of the two runs.",
    crew=True,
    paper_to="box",
    key="post",
    parts={"worked": post_tops.PART},
    joins={**FIGURES.joins, "like": Join(FIGURES, "like_row", "like")},
    rests=Rests(
        on=("line", "cover_cap", "bend_cap", "proud_line"),
        free=("like", "cover_line", "bend_line", "side_line"),
        kept={"rough_length": "like.rough_length", "sleeve_length": "like.sleeve_length"},
        unless={
            "other_kind": '{kind}&"|"&{state}<>{chosen_kind}',
            "other_rough": written("IF({cut}=1,IF({allowance}>0,1,0),0)<>{rough}", FIGURES.joins, FIGURES.terms),
        },
    ),
)
