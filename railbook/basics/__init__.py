"""Words that every room uses: units, rounding, problems and the double entry."""
