"""Supports: only those that are not the assembly's standard new post."""

from dataclasses import dataclass

from railbook.basics.double_entry import Tab, asked
from railbook.basics.kinds import ALLOWANCE, BEARING, CHOICE, MARK, MEASURED, TEXT
from railbook.basics.problem import Origin
from railbook.job.assemblies import MOUNTS

POST, WALL, COLUMN = "Post", "Wall", "Column"
NEW, EXISTING = "New", "Existing"
KEEP, RAISE, LOWER, STAND_PROUD = "Keep", "Raise the lower", "Lower the higher", "Post proud"


@dataclass(frozen=True)
class Support:
    """One support as typed; lengths in the job's unit, None for a blank.

    Attributes:
        face_width: width of the finished support along the run.
        mount: how it meets the frame, where it differs from its assembly.
        below_surface: length of the post below the walking surface.
        standing_height: height of an existing post above the surface.
        gap_beyond: level gap between an end post and the wall beside it.
        heights: what is done where guards of two heights end at it.
        proud: how far it stands above the caps that end at it, cut square.
        bearing: plan bearing in which one of its faces looks [degrees]; None: as little askew to its runs as can be.
        spacer: between the fascia and a post on it; None: as its assembly has it.
        from_corner: along the fascia, its near face to the outside corner of the deck that it guards with another post.
        corner_post: mark of that other post, round the corner; enough at one of the two.
    """

    support: str = ""
    kind: str | None = None
    state: str | None = None
    face_width: float | None = None
    mount: str | None = None
    below_surface: float | None = None
    standing_height: float | None = None
    gap_beyond: float | None = None
    notes: str | None = None
    heights: str | None = None
    proud: float | None = None
    bearing: float | None = None
    spacer: float | None = None
    from_corner: float | None = None
    corner_post: str | None = None
    origin: Origin = Origin()


TAB = Tab(
    "supports",
    "Supports",
    Support,
    (
        asked("support", "Mark", MARK, "The mark used under From and To on tab Runs", needed=True, width=8),
        asked("kind", "Kind", CHOICE, "Post, Wall or Column", choices=(POST, WALL, COLUMN), needed=True, width=9),
        asked(
            "state",
            "State",
            CHOICE,
            "New is bought and cut; existing is not",
            choices=(NEW, EXISTING),
            width=10,
        ),
        asked("face_width", "Face width", MEASURED, "Finished width along the run; blank: the assembly's post"),
        asked("mount", "Mount", CHOICE, "Only where it differs from its assembly", choices=MOUNTS),
        asked(
            "below_surface",
            "Below surface",
            ALLOWANCE,
            "Length of post below the walking surface; blank: the assembly's",
        ),
        asked("standing_height", "Standing height", MEASURED, "Existing post: its height above the surface"),
        asked(
            "gap_beyond",
            "Gap beyond",
            MEASURED,
            "Level gap between this end post and the wall or house beside it",
        ),
        asked("notes", "Notes", TEXT, "Anything the crew should know", width=24),
        asked(
            "heights",
            "Where heights differ",
            CHOICE,
            "Guards of two heights at this post: keep both (blank), raise the lower, lower the higher, or a post that "
            "stands proud of both caps",
            choices=(KEEP, RAISE, LOWER, STAND_PROUD),
            width=15,
        ),
        asked("proud", "Proud by", ALLOWANCE, "Post proud: how far it stands above the higher cap; blank: 0"),
        asked(
            "bearing",
            "Post bearing",
            BEARING,
            "Direction in which a face of the post or wall looks, as under Direction; blank: set so that its runs meet "
            "it as square as can be",
        ),
        asked("spacer", "Spacer", ALLOWANCE, "On fascia: between fascia and post; blank: as its assembly has it"),
        asked(
            "from_corner",
            "From deck corner",
            ALLOWANCE,
            "On fascia, beside an outside corner: this post's near face to the corner, along the fascia",
        ),
        asked(
            "corner_post",
            "Corner post",
            MARK,
            "On fascia: mark of the post that guards that corner with this one, round it",
        ),
    ),
    purpose="Only supports that are not the assembly's standard new post: walls, columns, posts already there.",
    key="support",
    optional=True,
)
