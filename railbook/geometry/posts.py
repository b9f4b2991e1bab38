"""Posts: the height of every support's cut, at both faces, and the length of the post to start from.

Heights stand on the surface that the post itself stands on. On a rake the cap's underside crosses the
post at the slope: the sleeve is cut there, the post inside parallel to it and a little lower. A post that
stands proud is cut square, above the highest edge of the rails or caps that meet it.

A new post is sawn rough, square and longer by the allowance of its assembly, and trimmed on site to these heights.
Its stock follows the rough length, what is checked the final one. Sleeves are sawn to length.
"""

from dataclasses import dataclass
from functools import cache, cached_property

from railbook.basics.blank import if_known, most, or_zero, when_known
from railbook.basics.double_entry import STATUS, Column, Part, Tab
from railbook.basics.joins import Join, Rests, through, written
from railbook.basics.kinds import BOX, CHOICE, COUNT, CUT, LENGTH, MARK, TAPE, TEXT, TICK, VERDICT
from railbook.basics.rounding import round_to, round_to_excel
from railbook.geometry import post_tops
from railbook.geometry.lines import Line
from railbook.geometry.post_tops import ON_LEVEL, ON_RAMP, PROUD_EXCEL, PostTop, rise_excel
from railbook.job.assemblies import ON_CONCRETE, ON_SURFACE, RIM_MOUNTS, USUAL_ROUGH, Assembly
from railbook.job.settings import Settings, or_usual
from railbook.job.supports import NEW, POST, Support

TOPS = {ON_LEVEL: "level"}
PROUD = "square, proud"
HALF_LEVEL, RIDGE, VALLEY, BENT = "half level", "ridge", "valley", "bent"
NOT_TOLD = "not told"  # how a post is held, where its assembly cannot say it


@dataclass(frozen=True)
class Post:
    """One support; lengths in the job's unit, plumb, above the surface it stands on.

    Attributes:
        post: its mark.
        runs: marks of the runs that it carries.
        worked: its top as worked out.
        chosen_kind: kind and state that the cut list was made for.
        like_row: the first post cut exactly like this one, counted from 1.
        first: that post; None when it is this one.
        framed: 1 where the rim of a frame may be beside it: not on a tread, nor at the foot of a flight alone.
        rough: 1 where it was counted as sawn longer than it ends up.
    """

    post: str
    runs: str
    worked: PostTop
    chosen_kind: str
    settings: Settings
    like_row: int
    framed: int
    rough: int
    first: "Post | None" = None

    @property
    def like(self) -> "Post":
        """The first post cut exactly like this one."""
        return self.first or self

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

    @property
    def position(self) -> float | None:
        """Level distance from the run's From face to the near face of a post between sections, to the tape."""
        return self._tape(self.worked.position)

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
    def top(self) -> str:
        """How its top is shaped: at a bend, where the two caps cross over it."""
        if self.kind != POST:
            return ""
        if self.proud is not None:
            return PROUD
        return self._bent_top if self.worked.is_bent else TOPS.get(self.stands, "sloped")

    @property
    def _bent_top(self) -> str:
        """Ridge or valley, or neither; level on one side of a ridge where a level cap goes on."""
        if not self.worked.is_ridge:
            return VALLEY if self.worked.is_valley else BENT
        return HALF_LEVEL if any(each.arm.is_level for each in self.worked.bent or ()) else RIDGE

    @property
    def bent_top_excel(self) -> str:
        """Formula part of the same."""
        if self.worked.bent is None:
            return '"sloped"'
        down, up = self.worked.bent
        ridge = HALF_LEVEL if down.arm.is_level or up.arm.is_level else RIDGE
        return f'IF(MIN({self._rises})>=0,"{VALLEY}",IF(MAX({self._rises})<=0,"{ridge}","{BENT}"))'

    @property
    def _rises(self) -> str:
        """Formula part: what each of two caps that bend gains, walked away from the post."""
        if self.worked.bent is None:
            return ""
        down, up = self.worked.bent
        return f"{rise_excel('cover', down.end)},{rise_excel('bend', up.end)}"

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

    @property
    def _inside(self) -> float:
        """From the face of the sleeve to that of the post inside it, level."""
        if not self.sleeved or self.assembly.sleeve_width is None:
            return 0.0
        return (self.assembly.sleeve_width - (self.assembly.post_width or 0.0)) / 2

    @cached_property
    def _slope(self) -> float:
        if self.proud is not None:
            return -self.line.tangent if self.stands == ON_RAMP else 0.0
        return 0.0 if self.stands in (ON_LEVEL, ON_RAMP) else self.line.tangent

    @cached_property
    def _bent_insets(self) -> tuple[float, float]:
        """What the post inside gains on its sleeve at both faces; in a valley it is level, as high as the joint."""
        if self.worked.bent is None or self.proud is not None:
            return 0.0, 0.0
        down, up = self.worked.bent
        if not self.worked.is_valley:
            return -self._inside * down.arm.rise, -self._inside * up.arm.rise
        if not self.sleeved or self.worked.crest is None:
            return 0.0, 0.0
        return self.worked.crest - down.arm.face, self.worked.crest - up.arm.face

    @property
    def inset_excel(self) -> str:
        """Formula part of `inset`."""
        return _INSET if self.worked.bent is None else self._bent_inset_excel("cover", 0, "{downhill}")

    @property
    def inset_up_excel(self) -> str:
        """Formula part of what the post inside gains on its sleeve uphill."""
        return "-{inset}" if self.worked.bent is None else "+" + self._bent_inset_excel("bend", 1, "{uphill}")

    def _bent_inset_excel(self, way: str, number: int, face: str) -> str:
        end = self.worked.bent[number].end if self.worked.bent is not None else ""
        ridge = f"-IF({{sleeved}}=0,0,({{assembly.sleeve_width}}-{{assembly.post_width}})/2)*{rise_excel(way, end)}"
        valley = f'IF(OR({{sleeved}}=0,{{crest}}=""),0,{{crest}}-{face})'
        return _in_words(f"IF({{is_proud}},0,IF(MIN({self._rises})>=0,{valley},{ridge}))")

    @cached_property
    def _lower(self) -> float:
        return (self.assembly.post_below_sleeve or 0.0) if self.sleeved else 0.0

    @cached_property
    def post_downhill(self) -> float | None:
        """Post at its downhill face, rounded to the tape."""
        return self._tape(when_known(lambda height: height + self.inset - self._lower, self.worked.trim_downhill))

    @cached_property
    def post_uphill(self) -> float | None:
        """Post at its uphill face, rounded to the tape."""
        gained = self._bent_insets[1] if self.worked.is_bent else -self.inset
        return self._tape(when_known(lambda height: height + gained - self._lower, self.worked.trim_uphill))

    @cached_property
    def below(self) -> float | None:
        """Post below the surface; None for a support that is not cut."""
        if not self.cut:
            return None
        if self.typed is not None and self.typed.below_surface is not None:
            return self.typed.below_surface
        stands_on_it = self.typed is not None and self.typed.mount in (ON_SURFACE, ON_CONCRETE)
        return 0.0 if stands_on_it else self.assembly.below_surface or 0.0

    @cached_property
    def post_length(self) -> float | None:
        """Length that it ends up with: its longest side."""
        high = most(self.post_downhill, self.post_uphill, self._ridge)
        return when_known(lambda top, below: top + below, high, self.below)

    @property
    def ridge_excel(self) -> str:
        """Formula part: the post at a ridge among what is compared; nothing where no caps bend."""
        if self.worked.bent is None:
            return ""
        return self._ridge_excel("({crest}-{lower_by})")

    @property
    def sleeve_ridge_excel(self) -> str:
        """Formula part: the same of its sleeve."""
        return "" if self.worked.bent is None else self._ridge_excel("({crest}+0)")

    def _ridge_excel(self, height: str) -> str:
        low = f'OR({{is_proud}},MAX({self._rises})>0,{{crest}}="")'
        return _in_words(f",IF({low},0,{round_to_excel(height)})")

    @property
    def _ridge(self) -> float | None:
        """Post at the joint of two caps that fall away from it."""
        crest = self.worked.crest if self.worked.is_ridge and self.proud is None else None
        return self._tape(when_known(lambda height: height - self._lower, crest))

    @property
    def joint_at(self) -> float | None:
        """Level distance from the downhill face to where two caps bend over it, to the tape."""
        return self._tape(self.worked.crossing)

    @property
    def joint_height(self) -> float | None:
        """Underside of both caps there, to the tape."""
        return self._tape(self.worked.crest)

    @property
    def _point(self) -> float:
        """What the stock must hold beyond a side: the point of the foot of a post that stands on a ramp."""
        return self.line.tangent if self.stands == ON_RAMP and self.proud is None else 0.0

    @cached_property
    def allowance(self) -> float:
        """How much longer it is sawn than it ends up."""
        return self.assembly.allowance(self.settings.unit)

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
        """Tip to tip of the sleeve."""
        width = self.assembly.sleeve_width or 0.0
        return when_known(lambda length: length + width * self._point, self.sleeve_length)

    @cached_property
    def sleeve_length(self) -> float | None:
        """Long side of the sleeve."""
        return most(self.sleeve_downhill, self.sleeve_uphill, self.joint_height if self._is_ridged else None)

    @property
    def _is_ridged(self) -> bool:
        """Whether a sleeve is highest at the joint of two caps over it."""
        return bool(self.sleeved) and self.worked.is_ridge and self.proud is None

    @cached_property
    def top_angle(self) -> float | None:
        """Cut of its top at the saw, from square; a bent top is shaped by hand. None for what is no post [degrees]."""
        if self.kind != POST:
            return None
        square = self.stands == ON_LEVEL or self.proud is not None or self.worked.is_bent
        return 0.0 if square else self.line.measures.slope_angle

    @property
    def slopes(self) -> str:
        """Along which run its top slopes, or bends; empty where it is level or square."""
        if self.kind != POST or self.stands == ON_LEVEL or self.proud is not None:
            return ""
        return self.line.run if self.worked.bent is None else " to ".join(each.run for each in self.worked.bent)

    @cached_property
    def foot_angle(self) -> float | None:
        """Cut of its foot, from square: posts on a ramp stand on the slope [degrees]."""
        if self.kind != POST:
            return None
        return self.line.measures.slope_angle if self.stands == ON_RAMP else 0.0

    @cached_property
    def needed(self) -> float | None:
        """Height that an existing post must have; None for any other support."""
        return (
            None if self.kind != POST or self.state == NEW else most(self.post_downhill, self.post_uphill, self._ridge)
        )

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

    def _tape(self, length: float | None) -> float | None:
        return None if length is None or self.kind != POST else round_to(self.settings.tape_step, length)

    @property
    def other_kind(self) -> bool:
        """Whether it is another kind of support than was counted."""
        return self.chosen_kind != f"{self.kind}|{self.state}"

    @property
    def is_rough(self) -> int:
        """1 when it is sawn longer than it ends up."""
        return int(self.cut == 1 and self.allowance > 0)

    @property
    def other_rough(self) -> bool:
        """Whether it is now sawn to length but was counted as rough, or the other way round."""
        return self.is_rough != self.rough

    @cached_property
    def status(self) -> str:
        """Asks for another run when its run does, or when it is no longer the post that was counted."""
        return TAB.status_of(self)


_OWN = 'IF({support_row}=0,USUAL,IF({support.COLUMN}="",USUAL,{support.COLUMN}))'
_TRIMMED = '=IF({kind}<>"Post","",IF({trim_FACE}="","",' + round_to_excel(f"({or_zero('{trim_FACE}')}CHANGE)") + "))"
_ON_RIM = ",".join('{assembly.mount}="MOUNT"'.replace("MOUNT", mount) for mount in RIM_MOUNTS)
_USUAL_MOUNT = 'IF({framed}=1,{assembly.mount}&"",IF(OR(RIM),"' + NOT_TOLD + '",{assembly.mount}&""))'


def _own(column: str, usual: str) -> str:
    """Formula part: a word of tab Supports, or the usual one where nothing is said there."""
    return _OWN.replace("COLUMN", column).replace("USUAL", usual)


def _trimmed(face: str, change: str = "") -> str:
    """Formula: where one face is trimmed, with what changes it, rounded to the tape."""
    return _TRIMMED.replace("FACE", face).replace("CHANGE", change)


def _sleeve(face: str) -> str:
    """Formula: the sleeve at one face."""
    return '=IF({sleeved}=0,"",' + _trimmed(face)[1:] + ")"


def _told(figure: str) -> str:
    """Formula: a figure of the joint of two caps, to the tape."""
    return f'=IF(OR({{kind}}<>"Post",{{{figure}}}=""),"",' + round_to_excel(or_zero(f"{{{figure}}}")) + ")"


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
        Column("kind", "Kind", CHOICE, "=" + _own("kind", '"Post"'), width=7),
        Column("state", "State", CHOICE, '=IF({kind}<>"Post","",' + _own("state", '"New"') + ")", width=8),
        Column("stands", "Stands", TEXT, path="worked.stands", width=9),
        Column("position", "From face to near face", TAPE,
            '=IF({kind}<>"Post","",IF({tread}="",' + round_to_excel("{evenly}")
            + ',IF(COUNT({line.lower_setback},{line.tread})<2,"",' + round_to_excel("{on_tread}") + ")))",
            when="worked.number", width=9),
        Column("top", "Top", TEXT,
            '=IF({kind}<>"Post","",IF({is_proud},"square, proud",IF({stands}="Level","level",[bent_top_excel])))',
            width=9),
        Column("slopes", "Slopes along", TEXT, width=8),
        Column("rough_length", "Rough length", TAPE,
            "=" + if_known(round_to_excel(f"({_pointed('post')}+{{allowance}})"), "post_length")),
        Column("post_length", "Final length", TAPE,
            '=IF(OR(COUNT({post_downhill},{post_uphill})=0,{below}=""),"",'
            "MAX({post_downhill},{post_uphill}[ridge_excel])+{below})"),
        Column("below", "Below surface", TAPE,
            '=IF({cut}=0,"",IF({support_row}=0,{usual_below},IF({support.below_surface}<>"",{support.below_surface},'
            'IF(OR({support.mount}="On surface",{support.mount}="On concrete"),0,{usual_below}))))'),
        Column("mount", "Mount", CHOICE, '=IF({cut}=0,"",' + _own("mount", "{usual_mount}") + ")", width=9),
        Column("post_downhill", "Post, downhill face", TAPE,
            _trimmed("downhill", "+{inset}-{lower_by}"), width=9),
        Column("post_uphill", "Post, uphill face", TAPE,
            _trimmed("uphill", "[inset_up_excel]-{lower_by}"), width=9),
        Column("sleeve_downhill", "Sleeve, downhill face", TAPE, _sleeve("downhill"), width=9),
        Column("sleeve_uphill", "Sleeve, uphill face", TAPE, _sleeve("uphill"), width=9),
        Column("joint_at", "Joint, from downhill face", TAPE, _told("crossing"), when="worked.is_bent", width=9),
        Column("joint_height", "Height at the joint", TAPE, _told("crest"), when="worked.is_bent", width=9),
        Column("sleeve_length", "Sleeve length", TAPE,
            '=IF(COUNT({sleeve_downhill},{sleeve_uphill})=0,"",MAX({sleeve_downhill},{sleeve_uphill}[sleeve_ridge_excel]))'),
        Column("saw_off", "Saw off", TAPE,
            '=IF(COUNT({standing},{needed})<2,"",IF({standing}-{needed}<=0,"",'
            + round_to_excel("({standing}-{needed})") + "))", width=8),
        Column("top_angle", "Top cut", CUT,
            '=IF({kind}<>"Post","",IF(OR({stands}="Level",{stands}="Bend",{is_proud}),0,{line.slope_angle}))'),
        Column("foot_angle", "Foot cut", CUT,
            '=IF({kind}<>"Post","",IF({stands}="Ramp",{line.slope_angle},0))'),
        Column("box", "Done", TICK),
        Column("sleeve_tip", "Sleeve tip to tip", LENGTH, "=" + if_known(_pointed("sleeve"), "sleeve_length")),
        Column("inset", "Rise to the post inside", LENGTH,
            "=[inset_excel]"),
        Column("needed", "Existing post needs", LENGTH,
            '=IF(OR({kind}<>"Post",{state}="New",COUNT({post_downhill},{post_uphill})=0),"",'
            "MAX({post_downhill},{post_uphill}[ridge_excel]))"),
        Column("standing", "Stands", LENGTH, of="support.standing_height"),
        Column("gap_beyond", "Gap beyond", LENGTH, of="support"),
        Column("cut", "Cut", COUNT, '=IF(AND({kind}="Post",{state}="New"),1,0)'),
        Column("sleeved", "Gets a sleeve", COUNT,
            '=IF(OR({kind}<>"Post",{assembly.sleeve_width}="",'
            'IF({support_row}=0,FALSE,AND({state}<>"New",{support.face_width}<>""))),0,1)'),
        Column("chosen_kind", "Chosen for", TEXT),
        Column("framed", "Rim beside it", COUNT),
        Column("rough", "Sawn rough", COUNT),
        Column("rough_top", "Rough top", CUT),
        Column("like_row", "Like row", COUNT),
    ),
    joins=through("worked", post_tops.JOINS),
    terms={
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
    },
)  # fmt: skip

_INSET = written(
    'IF(OR({sleeved}=0,{stands}="Level",{on_slope},AND({stands}<>"Ramp",{is_proud})),0,'
    "IF({is_proud},-1,1)*({assembly.sleeve_width}-{assembly.post_width})/2*{line.tangent})",
    FIGURES.joins, FIGURES.terms,
)  # fmt: skip


@cache
def _in_words(formula: str) -> str:
    """A formula with its joined words and terms written out."""
    return written(formula, FIGURES.joins, FIGURES.terms)


TAB = Tab(
    "posts",
    "Post schedule",
    Post,
    (*FIGURES.columns, Column(STATUS, "Status", VERDICT)),
    purpose="Posts are sawn to the rough length, tip to tip, and sleeves to theirs. Once they stand, trim each to the "
    "heights at its two faces: that leaves the final length. Half level: sloped at the downhill face, level "
    "from the joint on. Inside a sleeve the post's own downhill face lies further uphill, so it may stand higher.",
    crew=True,
    paper_to="box",
    key="post",
    parts={"worked": post_tops.PART},
    joins={**FIGURES.joins, "like": Join(FIGURES, "like_row", "like")},
    rests=Rests(
        on=("line", "cover_cap", "bend_cap", "proud_line"),
        free=("like", "cover_line", "bend_line"),
        kept={"rough_length": "like.rough_length", "sleeve_length": "like.sleeve_length"},
        unless={
            "other_kind": '{kind}&"|"&{state}<>{chosen_kind}',
            "other_rough": written("IF({cut}=1,IF({allowance}>0,1,0),0)<>{rough}", FIGURES.joins, FIGURES.terms),
        },
    ),
)
