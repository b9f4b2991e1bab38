"""Property and formula of every calculated column agree, row by row, on random jobs.

The formula is computed by `formulas`, in words: a word of the row is the row's value, any other word is
a name for a setting, a limit, or the whole column of another tab as the workbook shows it.
"""

import random
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any, NamedTuple

import formulas
import numpy as np
import pytest
import schedula
from formulas.ranges import Ranges
from hypothesis import HealthCheck, Phase, given, settings
from openpyxl.utils import get_column_letter

from railbook.basics.double_entry import Column, Tab, in_cells, stale_rows
from railbook.basics.kinds import INCH, JOB_UNITS
from railbook.estimate import Estimate
from railbook.tabs import INPUT_TABS, TABS
from tests.conftest import CELLS
from tests.recalculation import Value, same
from tests.strategies import computed, random_job, typed_rows

SEEDS = (*range(10), 40, 51, 64, 75, 76, 86)  # enough for every column to show more than blanks; the last test tells
