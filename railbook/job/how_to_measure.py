"""The page "How to measure" of the measurement workbook: what to tape, between which faces."""

from railbook.basics.drawing import Page, Passage
from railbook.job.cautions import CAUTIONS
from railbook.job.how_to_corner import corner
from railbook.job.how_to_edge import edge
from railbook.job.how_to_handrail import handrail
from railbook.job.how_to_heights import heights
from railbook.job.how_to_level import drop, level_run, plan, supports
from railbook.job.how_to_stairs import flight, ramp, setbacks, stair_run

PAGE = Page(
    "How to measure",
    (
        "Measure what stands there, not what the plans say. "
        "The words in bold are columns of this workbook, or stand on the drawing above them.",
        "The drawings are not to scale with your job. Leave blank what you did not measure.",
    ),
    (
        level_run(),
        drop(),
        stair_run(),
        flight(),
        setbacks(),
        ramp(),
        plan(),
        corner(),
        supports(),
        edge(),
        heights(),
        handrail(),
    ),
    (
        Passage(
            "Before you leave the site",
            (
                "Tape everything twice, and a third time where the two readings differ.",
                "On the level tape both clears, low and high.",
                "Hold a level against posts that stand already. Where one leans, write down its lean.",
                "Write lengths as 90 3/8, as 7' 6-3/8\" or as 2296 mm. All three are understood.",
                "A blank means not measured. Never type 0 for what you did not measure: 0 is a measurement.",
                "You need not measure everything: any set that settles the shape is enough. On a slope that is two "
                "of Clear, Rise, Slope length and Angle, or Clear with the flight's Riser and Tread. Stair posts also "
                "need both setbacks and the riser.",
                "Extra measurements are checked against the rest, and you are told where they disagree.",
                "Give every support a mark, and use that mark on every run that ends there.",
            ),
        ),
        Passage("Before you cut and build", CAUTIONS),
    ),
)
