"""Property and formula of every calculated column agree, row by row, on random jobs.

The formula is computed by `formulas`, in words: a word of the row is the row's value, any other word is
a name for a setting, a limit, or the whole column of another tab as the workbook shows it.
"""

SEEDS = (*range(10), 40, 51, 64, 75, 76, 86)  # enough for every column to show more than blanks; the last test tells
