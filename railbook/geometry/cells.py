"""Formula parts that look one run up on the tabs before, for tabs with a row per run or section."""


def of_measures(column: str, at: str = "line_row") -> str:
    """A figure of the run's working measures.

    >>> of_measures("clear")
    'INDEX({lines_clear},{line_row})'
    """
    return f"INDEX({{lines_{column}}},{{{at}}})"


def of_guard(column: str, at: str = "line_row") -> str:
    """A figure of the run's working guard."""
    return f"INDEX({{lines_{column}}},{{{at}}})"


def of_assembly(column: str) -> str:
    """A size of the run's assembly; a part that it lacks counts as 0.

    >>> of_assembly("cap_width")
    'INDEX({assemblies_cap_width},{assembly_row})'
    """
    return f"INDEX({{assemblies_{column}}},{{assembly_row}})"


def of_run(column: str) -> str:
    """A cell of the run on tab Runs."""
    return f"INDEX({{runs_{column}}},{of_measures('run_row')})"
