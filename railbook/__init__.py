"""From site measurements of railings to a checked workbook that one can saw from."""

__version__ = "0.1.0"
