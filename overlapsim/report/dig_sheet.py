"""The recording sheet of a plan of digs, as a table to fill in; `overlapsim correct` reads it back."""

from __future__ import annotations

from typing import Any

import numpy as np

from overlapsim.report.rounding import plain
from overlapsim.report.values import csv_text
from overlapsim.report.words import Words

HOW_TO_READ = (
    "# past line: farther along the way of travel than what it is measured from = plus, less far = minus;",
    '# "4 1/2 late" or "3 early" at starts, "2 over" or "3 short" at stops are read too. Leave blank what',
    "# was not dug. should show: with the settings entered now; it is not read.",
)


def sheet_text(plan: Any, words: Words) -> str:
    """Write the sheet.

    Parameters
    ----------
    plan : DigPlan
        Finished plan.
    words : Words
        Units.

    Returns
    -------
    str
        Comment lines, names of columns, a line for each dig with the distance left blank.
    """
    count, short = len(plan.digs), words.short_unit
    texts = {
        "dig": [dig.line for dig in plan.digs],
        "end": [dig.end for dig in plan.digs],
        "rank": [dig.rank for dig in plan.digs],
        "row": [dig.row for dig in plan.digs],
        "direction": [dig.direction for dig in plan.digs],
        f"speed ({words.speed_unit})": [speed_number(dig.speed, words) for dig in plan.digs],
        f"past line ({short})": [""] * count,
        "from": [dig.origin for dig in plan.digs],
        f"should show ({short})": [words.short_number(one) for one in plan.should_show],
    }
    columns = {name: np.array(column, dtype=object) for name, column in texts.items()}
    title = f"# {' '.join(plan.scenario.title.split())}"
    return "\n".join((title, *HOW_TO_READ, csv_text(columns)))


def speed_number(speed: float, words: Words) -> str:
    """Write a speed without its unit, as it is driven.

    Parameters
    ----------
    speed : float
        In m/s.
    words : Words
        Units.

    Returns
    -------
    str
        To a hundredth of a mile or kilometre an hour.
    """
    return plain(speed / words.speed_step, 2)
