"""What no workbook can take over from the people on site; printed wherever results are acted upon."""

CAUTIONS = (
    "Your local code and your building inspector decide; the limits in here are only the published ones.",
    "No strength was worked out here: posts and their fastening are for a licensed design professional to judge.",
    "Fit bought railing systems by their maker's instructions, also where this workbook says otherwise.",
    "Cut one section, try it dry in its place, and only then cut the rest.",
    "Support boards on both sides of the cut, and wear eye and hearing protection.",
    "Block off or guard every open edge for as long as the work is under way.",
)
