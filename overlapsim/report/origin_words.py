"""What stands behind each cause of the error in one scenario, in a sentence."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from overlapsim.basics.units import format_time
from overlapsim.report.advice import offset_of
from overlapsim.report.phrases import and_words, times_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import offset_words
from overlapsim.report.words import Words
from overlapsim.scenario.rows import RowLayout
from overlapsim.scenario.switching import SwitchFractions

NAMES = {
    "geometry": "edges",
    "setup": "row setup",
    "sections": "sections",
    "stagger": "stagger",
    "timing": "times",
    "offset": "reference offset",
    "updates": "updates and drift",
}
"""What people read for each cause."""

# Half a millimetre: a middle nearer than this to the planned line is not worth a word.
_SEEN = 5e-4


def meanings(result: Any, words: Words, layout: RowLayout, area: Callable[[float], str]) -> dict[str, str]:
    """Say what each line stands for.

    Parameters
    ----------
    result : CausesResult
        Finished result.
    words : Words
        Units.
    layout : RowLayout
        Rows and sections.
    area : callable
        Writes an area in m² as the table does, without its unit.

    Returns
    -------
    dict of str
        By cause; without a full stop.
    """
    scenario, runs = result.scenario, result.runs
    best = {key: offset_words(scenario, offset_of(runs[key]), words) for key in runs}
    entered = times_words(scenario.switching.turn_on_time, scenario.switching.turn_off_time)
    many = "s" if isinstance(offset_of(runs["timing"]), dict) else ""
    corners = ", nor rounds their corners" if scenario.plan.headland_laps else ""
    return {
        "geometry": "every row switched alone and at once where it crosses an edge: strips fit no slanted "
        f"ends and seldom the sides{corners}",
        "setup": _setup_words(result, words, layout),
        "sections": _sections_words(result, layout),
        "stagger": _stagger_words(result, words, layout, area),
        "timing": f"{entered} entered for latencies of {_latencies(result, layout)}, with the best "
        f"number{many} for that: {best['timing']}",
        "offset": f"offset{many} {best['offset']} instead of {best['timing']}",
        "updates": _updates_words(result, words),
    }


def _setup_words(result: Any, words: Words, layout: RowLayout) -> str:
    scenario = result.scenario
    said = []
    if abs(layout.middle) > _SEEN:
        side = "right" if layout.middle > 0 else "left"
        said.append(f"the middle of the machine {words.short(abs(layout.middle))} to the {side}")
    off = int(layout.off.sum())
    if off:
        said.append(f"{off} row{'s' if off > 1 else ''} off")
    entered = scenario.switching.entered_setup
    if entered != scenario.machine.setup:
        said.append(f"{entered} entered while {scenario.machine.setup} runs")
    wanted = scenario.switching.deliberate_overlap
    boundary, planted = words.short(wanted.boundary), words.short(wanted.planted)
    if wanted.planted or wanted.boundary:
        at = boundary if boundary == planted else f"{boundary} at the boundary, {planted} at planted ground"
        said.append(f"deliberate overlap of {at}")
    return and_words(said) if said else "as it should be"


def _sections_words(result: Any, layout: RowLayout) -> str:
    switching = result.scenario.switching
    count, fraction = len(layout.section_edges) - 1, switching.switch_fraction
    rows = "every row for itself"
    if switching.sections != "each-row":
        many = "s, in each of which" if count > 1 else ", in which"
        rows = f"{count} section{many} the rows of a rank switch together"
    if isinstance(fraction, SwitchFractions):
        inside, unplanted = plain(fraction.boundary, 2), plain(fraction.planted, 2)
        return f"{rows}, at switch fractions {inside} inside the boundary and {unplanted} unplanted"
    return rows if fraction == 0.5 else f"{rows}, at switch fraction {plain(fraction, 2)}"


def _stagger_words(result: Any, words: Words, layout: RowLayout, area: Callable[[float], str]) -> str:
    """Tell what one number for all ranks costs, at its best and as it is entered."""
    if not result.compromised:
        return "no two ranks share a number that is not their own"
    runs, unit = result.runs, words.area_scale(max(_sizes(result)))[0]
    apart = words.short(float(np.ptp(layout.behind_pin[~layout.off])))
    said = []
    for key, run in (("at_best", runs["stagger"]), ("as_set", result.as_set)):
        lost = result.stagger[key]
        kinds = [
            f"{name} {area(lost[part])}"
            for name, part in (
                ("skip", "skip_m2"),
                ("double-planted", "overlap_m2"),
                ("off-field", "off_field_m2"),
            )
            if area(lost[part]).strip("-0.")
        ]
        at = offset_words(result.scenario, offset_of(run), words)
        said.append(f"at {at} {area(lost['combined_m2'])} {unit} ({', '.join(kinds) or 'nothing'})")
    best, now = said
    return (
        f"one number for ranks {apart} apart, latencies left out: {best} at the best; {now} as entered"
        if best != now
        else f"one number for ranks {apart} apart, latencies left out: {best} at the best, as entered"
    )


def _sizes(result: Any) -> list[float]:
    names = ("skip_m2", "overlap_m2", "off_field_m2")
    runs = [run.areas for run in result.runs.values()]
    return [sum(areas[name] for name in names) for areas in runs] + [a["combined_m2"] for a in runs]


def _latencies(result: Any, layout: RowLayout) -> str:
    response = result.scenario.response
    by_rank = {
        rank: times_words(response.on_latency[rank], response.off_latency[rank])
        for rank in layout.working_ranks
    }
    if len(set(by_rank.values())) == 1:
        return next(iter(by_rank.values()))
    return ", ".join(f"{rank} {text}" for rank, text in by_rank.items())


def _updates_words(result: Any, words: Words) -> str:
    controller = result.scenario.controller
    said = []
    if controller.update_rate is not None:
        said.append(f"{plain(controller.update_rate, 2)} updates per second")
    if controller.position_delay:
        said.append(f"a position delay of {format_time(controller.position_delay)}")
    drift = float(np.hypot(*controller.drift))
    if drift:
        said.append(f"drift of {words.short(drift)}")
    for name, least in (("on", controller.minimum_on_time), ("off", controller.minimum_off_time)):
        if least:
            said.append(f"{name} for {format_time(least)} at least")
    return and_words(said) if said else "nothing amiss"
