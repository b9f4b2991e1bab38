"""Assemblies: the parts of a railing, their sizes and how they fit together; one row per railing."""

from dataclasses import dataclass

from railbook.basics.double_entry import Tab, asked
from railbook.basics.kinds import ALLOWANCE, ANGLE, CHOICE, MARK, MEASURED, MILLIMETRE, TEXT, YES_NO
from railbook.basics.problem import Origin
from railbook.basics.rounding import PLACES

SQUARE, RAKE = "Square", "Rake"
YES, NO = "Yes", "No"
ON_SURFACE, INSIDE_RIM, ON_FASCIA = "On surface", "Inside rim", "On fascia"
ON_STRINGER, ON_CONCRETE = "On stringer", "On concrete"
MOUNTS = (ON_SURFACE, INSIDE_RIM, ON_FASCIA, ON_STRINGER, ON_CONCRETE)
RIM_MOUNTS = (INSIDE_RIM, ON_FASCIA)  # beside the rim of a frame, which no foot of a flight and no tread has
BETWEEN, ON_FACE = "Between rails", "On the face"
USUAL_ROUGH = (1.0, 25.0)  # what a blank rough allowance stands for [in, mm]: common practice, no source
USUAL_RAIL_WIDTH = (1.5, 38.0)  # a board on edge [in, mm]: common practice, no source
USUAL_BRACKET_SKEW = 5.0  # degrees: common practice, no source


@dataclass(frozen=True)
class Assembly:
    """One railing; lengths in the job's unit, None for a part that it does not have.

    Attributes:
        post_width: side of the square structural post.
        sleeve_width: outside width of the sleeve over it; None when the post stands bare.
        post_below_sleeve: how much lower the post is cut than its sleeve, plumb.
        post_proud: how far posts stand above the rails, cut square; None: under the cap board.
        post_cap_item: cap of a post that stands proud; `skirt_item` the trim round its foot.
        below_surface: length of the post below the walking surface.
        line_post_setback: on stairs, nosing to the downhill face of a post between sections.
        cap_thickness: of the cap board; None when there is none.
        cap_overhang: of the cap past the last post's outer face.
        top_rail_depth: measured square to the rail, in elevation; the bottom rail alike.
        bracket_fit: level gap that a bracket takes at each rail end.
        relief_cut: raked rails, upper end: measured up along the plumb cut, then back at 45 degrees.
        baluster_least_width: width where the gap is checked; None: the baluster is straight.
        let_in_top: how far a baluster enters the top rail, plumb; `let_in_bottom` alike.
        baluster_place: between the rails, or on their face with the overlaps.
        overlap_top: how far a baluster on the face laps the top rail, plumb; `overlap_bottom` alike.
        baluster_level_length: length of balusters bought ready made, used uncut on the level; None: cut to fit.
        baluster_stair_length: the same on stairs and ramps.
        baluster_pitch: centre to centre along the rail where the maker drills the rails; None: equal gaps.
        least_end_gap: with a fixed pitch, least level gap beside a post: room for the bracket.
        seat_top: how far a connector holds it off the top rail, plumb; `seat_bottom` alike.
        block_spacing: greatest distance between support blocks, along the rail; None: no blocks.
        greatest_spacing: greatest level distance between post centres.
        greatest_rail: greatest length of a rail, tip to tip.
        greatest_rake: steepest slope the assembly is made for [degrees].
        level_height: guard height on the level and on ramps, top of cap above the surface.
        stair_height: guard height on stairs, top of cap above the nosing line, plumb.
        level_clearance: under the bottom rail, plumb; `stair_clearance` above the nosing line.
        handrail_height: top of a handrail of its own above the nosing line, plumb.
        handrail_return: length of the piece that turns each end of it to the wall; None: no returns.
        handrail_past_top: level length past the top nosing; `handrail_past_bottom` along the slope, level.
        handrail_bracket_spacing: greatest distance between its brackets, along the rail.
        rough_allowance: how much longer posts are sawn than they end up; None: `allowance`, the usual one.
        top_rail_width: across the rail, seen from above; None: the usual one. The bottom rail alike.
        baluster_thickness: across the rail; None: as wide as along it.
        bracket_skew: how far off square a rail may come to the face that its bracket is made for [degrees]; None: the
            usual one.
        spacer: between the fascia and posts on it; None: they stand against it.
    """

    assembly: str = ""
    description: str | None = None
    post_item: str | None = None
    post_width: float | None = None
    sleeve_item: str | None = None
    sleeve_width: float | None = None
    post_below_sleeve: float | None = None
    post_proud: float | None = None
    post_cap_item: str | None = None
    skirt_item: str | None = None
    mount: str | None = None
    below_surface: float | None = None
    line_post_setback: float | None = None
    cap_item: str | None = None
    cap_width: float | None = None
    cap_thickness: float | None = None
    cap_overhang: float | None = None
    cap_graspable: str | None = None
    top_rail_item: str | None = None
    top_rail_depth: float | None = None
    bottom_rail_item: str | None = None
    bottom_rail_depth: float | None = None
    bracket_fit: float | None = None
    relief_cut: float | None = None
    baluster_item: str | None = None
    baluster_width: float | None = None
    baluster_least_width: float | None = None
    baluster_ends: str | None = None
    baluster_place: str | None = None
    overlap_top: float | None = None
    overlap_bottom: float | None = None
    baluster_level_length: float | None = None
    baluster_stair_length: float | None = None
    baluster_pitch: float | None = None
    least_end_gap: float | None = None
    let_in_top: float | None = None
    let_in_bottom: float | None = None
    seat_top: float | None = None
    seat_bottom: float | None = None
    block_item: str | None = None
    block_width: float | None = None
    block_spacing: float | None = None
    greatest_spacing: float | None = None
    greatest_rail: float | None = None
    greatest_rake: float | None = None
    level_height: float | None = None
    stair_height: float | None = None
    level_clearance: float | None = None
    stair_clearance: float | None = None
    handrail_item: str | None = None
    handrail_height: float | None = None
    handrail_return: float | None = None
    handrail_past_top: float | None = None
    handrail_past_bottom: float | None = None
    handrail_bracket_spacing: float | None = None
    rough_allowance: float | None = None
    top_rail_width: float | None = None
    bottom_rail_width: float | None = None
    baluster_thickness: float | None = None
    bracket_skew: float | None = None
    spacer: float | None = None
    origin: Origin = Origin()

    def allowance(self, unit: str) -> float:
        """How much longer its posts are sawn than they end up; the usual length where none was typed [job unit].

        >>> Assembly().allowance("in"), Assembly().allowance("mm"), Assembly(rough_allowance=0.0).allowance("in")
        (1.0, 25.0, 0.0)
        """
        return _or_usual(self.rough_allowance, USUAL_ROUGH, unit)

    def top_wide(self, unit: str) -> float:
        """Width of its top rail, seen from above; the usual one where none was typed [job unit].

        >>> Assembly(top_rail_width=2.5).top_wide("in"), Assembly().top_wide("mm")
        (2.5, 38.0)
        """
        return _or_usual(self.top_rail_width, USUAL_RAIL_WIDTH, unit)

    def bottom_wide(self, unit: str) -> float:
        """The same of its bottom rail [job unit]."""
        return _or_usual(self.bottom_rail_width, USUAL_RAIL_WIDTH, unit)

    @property
    def bracket_turns(self) -> float:
        """How far off square its rail brackets go; the usual angle where none was typed [degrees]."""
        return USUAL_BRACKET_SKEW if self.bracket_skew is None else self.bracket_skew

    def turns_too_far(self, skew: float) -> bool:
        """Whether its rail brackets do not go so far off square [degrees].

        >>> Assembly().turns_too_far(22.5), Assembly(bracket_skew=22.5).turns_too_far(-22.5)
        (True, False)
        """
        return round(abs(skew) - self.bracket_turns, PLACES) > 0


def _or_usual(typed: float | None, usual: tuple[float, float], unit: str) -> float:
    return usual[unit == MILLIMETRE] if typed is None else typed


TAB = Tab(
    "assemblies",
    "Assemblies",
    Assembly,
    (
        asked(
            "assembly",
            "Assembly",
            MARK,
            "Your mark for this railing; tab Runs uses it",
            needed=True,
            width=15,
        ),
        asked("description", "Description", TEXT, "What it is; check every size against your supplier", width=30),
        asked("post_item", "Post", MARK, "Item on tab Prices", width=13),
        asked("post_width", "Post width", MEASURED, "Real width of the post itself", needed=True),
        asked("sleeve_item", "Sleeve", MARK, "Item on tab Prices; blank: no sleeve", width=13),
        asked("sleeve_width", "Sleeve width", MEASURED, "Outside of the sleeve; blank: no sleeve"),
        asked(
            "post_below_sleeve",
            "Post below sleeve",
            ALLOWANCE,
            "Post is cut this much lower than its sleeve, plumb",
        ),
        asked(
            "post_proud",
            "Posts proud by",
            ALLOWANCE,
            "Posts cut square, this far above the rails or the cap; blank: cap boards run over the posts",
        ),
        asked("post_cap_item", "Post cap", MARK, "Item on tab Prices, for posts that stand proud", width=13),
        asked("skirt_item", "Post skirt", MARK, "Item on tab Prices: trim round the foot of a post", width=13),
        asked("mount", "Mount", CHOICE, "How the post meets the frame", choices=MOUNTS, needed=True),
        asked(
            "below_surface",
            "Below surface",
            ALLOWANCE,
            "Post length below the walking surface; 0 on the surface",
            needed=True,
        ),
        asked(
            "line_post_setback",
            "Line post setback",
            ALLOWANCE,
            "Stairs: nosing to the downhill face of a post between sections",
        ),
        asked("cap_item", "Cap board", MARK, "Item on tab Prices; blank: no cap board", width=13),
        asked("cap_width", "Cap width", MEASURED, "Real width"),
        asked("cap_thickness", "Cap thickness", MEASURED, "Real thickness; blank: no cap board"),
        asked("cap_overhang", "Cap overhang", ALLOWANCE, "Past the outer face of an end post"),
        asked(
            "cap_graspable",
            "Cap graspable",
            YES_NO,
            "Can a hand close round it? A flat 2x6 or 5/4x6 cannot",
            needed=True,
        ),
        asked("top_rail_item", "Top rail", MARK, "Item on tab Prices", needed=True, width=13),
        asked("top_rail_depth", "Top rail depth", MEASURED, "Height of the rail as it stands", needed=True),
        asked("bottom_rail_item", "Bottom rail", MARK, "Item on tab Prices", needed=True, width=13),
        asked("bottom_rail_depth", "Bottom rail depth", MEASURED, "Height of the rail as it stands", needed=True),
        asked(
            "bracket_fit",
            "Bracket fit",
            ALLOWANCE,
            "Level gap that the bracket takes at each rail end; 0 is allowed",
            needed=True,
        ),
        asked(
            "relief_cut",
            "Relief cut",
            MEASURED,
            "Raked rails, upper end: up along the plumb cut, then back at 45 degrees; blank: none",
        ),
        asked("baluster_item", "Baluster", MARK, "Item on tab Prices", needed=True, width=13),
        asked("baluster_width", "Baluster width", MEASURED, "Real width along the rail", needed=True),
        asked(
            "baluster_least_width",
            "Least width",
            MEASURED,
            "Turned balusters: width where the gap is widest; blank: straight",
        ),
        asked(
            "baluster_ends",
            "Baluster ends",
            CHOICE,
            "On stairs: cut square, or to the rake",
            choices=(SQUARE, RAKE),
            needed=True,
        ),
        asked(
            "baluster_place",
            "Baluster place",
            CHOICE,
            "Between the rails (blank), or on their face",
            choices=(BETWEEN, ON_FACE),
        ),
        asked("overlap_top", "Overlap at top", ALLOWANCE, "On the face: how far it laps the top rail, plumb"),
        asked("overlap_bottom", "Overlap at bottom", ALLOWANCE, "On the face: how far it laps the bottom rail, plumb"),
        asked(
            "baluster_level_length",
            "Bought length, level",
            MEASURED,
            "Balusters bought ready made and used uncut: the guard height follows; blank: cut to fit",
        ),
        asked("baluster_stair_length", "Bought length, stairs", MEASURED, "The same on stairs and ramps"),
        asked(
            "baluster_pitch",
            "Fixed pitch",
            MEASURED,
            "Rails drilled by the maker: centre to centre along the rail; blank: equal gaps",
        ),
        asked(
            "least_end_gap", "Least end gap", ALLOWANCE, "Fixed pitch: least level gap beside a post, for the bracket"
        ),
        asked("let_in_top", "Let in at top", ALLOWANCE, "How far it enters the top rail, plumb"),
        asked("let_in_bottom", "Let in at bottom", ALLOWANCE, "How far it enters the bottom rail, plumb"),
        asked("seat_top", "Seat at top", ALLOWANCE, "How far a connector holds it off the top rail, plumb"),
        asked("seat_bottom", "Seat at bottom", ALLOWANCE, "How far a connector holds it off the bottom rail, plumb"),
        asked("block_item", "Support block", MARK, "Item on tab Prices; blank: no blocks", width=13),
        asked("block_width", "Block width", MEASURED, "Along the rail"),
        asked(
            "block_spacing",
            "Block spacing",
            MEASURED,
            "Greatest distance between blocks along the rail; blank: no blocks",
        ),
        asked("greatest_spacing", "Greatest post spacing", MEASURED, "Level, centre to centre", needed=True),
        asked("greatest_rail", "Greatest rail length", MEASURED, "Tip to tip; blank: no limit of its own"),
        asked(
            "greatest_rake",
            "Greatest rake",
            ANGLE,
            "Steepest slope it is made for; blank: no limit of its own",
        ),
        asked(
            "level_height",
            "Level guard height",
            MEASURED,
            "Top of cap above the surface; ramps too",
            needed=True,
        ),
        asked(
            "stair_height",
            "Stair guard height",
            MEASURED,
            "Top of cap above the nosing line, plumb",
            needed=True,
        ),
        asked(
            "level_clearance",
            "Level clearance",
            MEASURED,
            "Surface to the underside of the bottom rail",
            needed=True,
        ),
        asked(
            "stair_clearance",
            "Stair clearance",
            ALLOWANCE,
            "Nosing line to the underside of the bottom rail, plumb",
            needed=True,
        ),
        asked("handrail_item", "Handrail", MARK, "Item on tab Prices, for runs of kind Handrail", width=13),
        asked("handrail_height", "Handrail height", MEASURED, "Top of the handrail above the nosing line, plumb"),
        asked("handrail_return", "Handrail return", MEASURED, "Piece that turns each end to the wall; blank: none"),
        asked("handrail_past_top", "Past the top nosing", ALLOWANCE, "Handrail: level length past the top nosing"),
        asked(
            "handrail_past_bottom", "Past the bottom nosing", ALLOWANCE, "Handrail: level length past the lowest nosing"
        ),
        asked("handrail_bracket_spacing", "Bracket spacing", MEASURED, "Handrail: greatest distance between brackets"),
        asked(
            "rough_allowance",
            "Rough allowance",
            ALLOWANCE,
            "Posts are sawn this much longer than they end up, and trimmed on site as Post schedule says; "
            "blank: 1 in or 25 mm, 0: sawn to length",
        ),
        asked(
            "top_rail_width",
            "Top rail width",
            MEASURED,
            "Across it, seen from above: counts where a run meets a post askew; blank: 1 1/2 in or 38 mm",
        ),
        asked("bottom_rail_width", "Bottom rail width", MEASURED, "The same of the bottom rail"),
        asked("baluster_thickness", "Baluster thickness", MEASURED, "Across the rail; blank: as its width along it"),
        asked(
            "bracket_skew",
            "Greatest bracket skew",
            ANGLE,
            "How far off square its rail brackets may meet a post's face, degrees; blank: 5",
        ),
        asked("spacer", "Fascia spacer", ALLOWANCE, "On fascia: between fascia and posts; blank: none"),
    ),
    purpose="The railings of this job. The first three are starting points: check every size against your supplier.",
    key="assembly",
)
