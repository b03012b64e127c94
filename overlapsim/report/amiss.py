"""What is amiss with a row setup as it is entered, which no reference offset cures."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from overlapsim.report.phrases import and_words
from overlapsim.report.words import Words
from overlapsim.scenario.rows import RowLayout

if TYPE_CHECKING:
    from overlapsim.scenario.scenario import Scenario

# Half a millimetre: a middle nearer than this to the planned line is not worth a word.
_SEEN = 5e-4


def amiss(scenario: Scenario, layout: RowLayout, words: Words) -> list[str]:
    """Say what no reference offset cures.

    Parameters
    ----------
    scenario : Scenario
        As it is entered.
    layout : RowLayout
        Its rows.
    words : Words
        Units.

    Returns
    -------
    list of str
        Sentences; empty where nothing is amiss.
    """
    said = []
    entered, real = scenario.switching.entered_setup, scenario.machine.setup
    if entered != real:
        said.append(
            f"The controller is set up for {entered} while the machine runs {real}: its sections and the "
            f"distance between passes ({words.long(layout.believed_width)}) are those of {entered}."
        )
    if abs(layout.middle) > _SEEN:
        side = "right" if layout.middle > 0 else "left"
        said.append(
            f"The middle of the machine runs {words.short(abs(layout.middle))} to the {side} of the planned "
            f"line: joints {words.short(2 * abs(layout.middle))} too wide and too narrow in turn. Only hitch "
            "shift or lateral offset cures that."
        )
    off = [f"{layout.rank[i]} {layout.number[i]}" for i in np.flatnonzero(layout.off)]
    if off:
        many = len(off) > 1
        said.append(
            f"Row{'s' if many else ''} {and_words(off)} {'are' if many else 'is'} off: "
            f"{'their strips stay' if many else 'its strip stays'} bare, whatever is entered."
        )
    east, north = scenario.controller.drift
    if east or north:
        said.append(f"Drift of {words.short(float(np.hypot(east, north)))}: no reference offset cures it.")
    return said
