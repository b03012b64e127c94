"""What to type in where the times were searched as well, and what one speed cannot tell apart."""

from __future__ import annotations

from typing import Any

from overlapsim.basics.units import format_time
from overlapsim.report.advice import offset_of, part, saving_words
from overlapsim.report.phrases import and_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import behind_what, measured_from, offset_words, typed
from overlapsim.report.words import Words

# Half of the last digit of a time that is printed, seconds: nearer to one another they read the same.
_SEEN_S = 0.005

TENTH_S = 0.1
"""Step of a time in words, seconds."""


def type_in_with_times(result: Any, words: Words) -> list[dict[str, Any]]:
    """Say what to type in: reference offset and both times, what they save, and what is equal to them.

    Parameters
    ----------
    result : TuneResult
        Finished search over both times as well.
    words : Words
        Units.

    Returns
    -------
    list of dict
        Three parts: the numbers, what belongs to them, and what one speed cannot tell apart.
    """
    new, now = result.recommended, result.as_set
    scenario = new.scenario
    wanted, entered = (offset_words(scenario, offset_of(run), words) for run in (new, now))
    value = typed(scenario, offset_of(new))
    many = "s" if isinstance(value, dict) else ""
    same = wanted == entered and times_of(new) == times_of(now)
    said = "as entered now" if wanted == entered else f"now {entered}"
    headline = [f"reference offset{many} {wanted} {behind_what(scenario)}  ({said})", _times(new, now)]
    if isinstance(value, dict):
        ways = [f"{rank} {' = '.join(words.ways(one))}" for rank, one in value.items()]
    else:
        ways = [f"= {' = '.join(words.ways(value)[1:])}"]
    gap = f"longest gap in a row {words.short(new.areas['longest_gap_m'])}"
    if not same:
        gap += f", now {words.short(now.areas['longest_gap_m'])}; {saving_words(result, words)}"
    lines = [*ways, gap, _as_good(result, words), *_box(result, words)]
    return [
        part("LEAVE IT" if same else "TYPE IN", headline, "strong"),
        part("", lines, inset=True),
        part("ONE SPEED", one_speed(result, words)),
    ]


def times_of(run: Any) -> tuple[float, float]:
    """Tell the times of a run.

    Parameters
    ----------
    run : Simulation
        Any simulation.

    Returns
    -------
    tuple of float
        Turn-on and turn-off time, seconds.
    """
    switching = run.scenario.switching
    return switching.turn_on_time, switching.turn_off_time


def _times(new: Any, now: Any) -> str:
    """Write both times, each with what is entered now where that differs."""
    said = []
    for name, wanted, entered in zip(("turn-on", "turn-off"), times_of(new), times_of(now), strict=True):
        differs = abs(wanted - entered) >= _SEEN_S
        said.append(f"{name} time {format_time(wanted)}" + (f" (now {format_time(entered)})" * differs))
    if times_of(new) == times_of(now):
        said[-1] += ": as entered now"
    return ", ".join(said)


def _as_good(result: Any, words: Words) -> str:
    """Tell the stretch of offsets that is as good at the times that are typed in."""
    scenario, good = result.recommended.scenario, result.joint.typed_found.as_good
    more, said = measured_from(scenario), []
    for rank, (low, high) in (good if isinstance(good, dict) else {"": good}).items():
        first, last = words.inside(low + more, high + more)
        ends = first if first == last else f"{first} to {last}"
        said.append(f"{rank} {ends} {words.short_unit}".strip())
    return f"with these times {and_words(said)} {'are' if len(said) > 1 else 'is'} just as good in area"


def _box(result: Any, words: Words) -> list[str]:
    """Tell the box of equals where it is wide enough to be seen."""
    box = result.joint.box
    if isinstance(box.offset, dict) or min(box.on[1] - box.on[0], box.off[1] - box.off[0]) < 2 * _SEEN_S:
        return []
    more = measured_from(result.scenario)
    low, high = words.inside(box.offset[0] + more, box.offset[1] + more)
    on, off = (f"{_up(ends[0])} to {_down(ends[1])}" for ends in (box.on, box.off))
    return [
        f"any mix of {low} to {high} {words.short_unit}, turn-on {on} and turn-off {off} leaves the same "
        "ground: the middle of it is the best"
    ]


def _up(seconds: float) -> str:
    """Round a time up to a hundredth, so that it still lies inside."""
    return format_time(-(-(seconds - 1e-9) * 100 // 1) / 100).removesuffix(" s")


def _down(seconds: float) -> str:
    return format_time((seconds + 1e-9) * 100 // 1 / 100)


def one_speed(result: Any, words: Words) -> list[str]:
    """Say what one speed cannot tell apart, and what would.

    Parameters
    ----------
    result : TuneResult
        Finished search over both times as well.
    words : Words
        Units.

    Returns
    -------
    list of str
        Sentences.
    """
    speed, lines = result.scenario.speed, result.joint.lines
    on = TENTH_S
    off = TENTH_S * speed.at_on / speed.at_off
    further = words.short(speed.at_on * TENTH_S)
    if abs(on - off) < 1e-9:
        more, at = f"{plain(on)} s more on both times", words.speed(speed.at_on)
    else:
        more = f"{format_time(on)} more turn-on and {format_time(off)} more turn-off time"
        at = f"{words.speed(speed.at_on)} at starts and {words.speed(speed.at_off)} at stops"
    said = [
        f"cannot tell reference offset and times apart: with {further} more offset and {more} the same "
        f"ground is planted at {at}. A second speed at the same end can: dig at two."
    ]
    near = result.scenario.controller.time_step / 2 + 1e-9
    if all(abs(t - m) <= near for t, m in zip(times_of(result.recommended), lines.matched, strict=True)):
        said.append("Of all that is equal here, times that match the latencies hold at other speeds too.")
    if result.scenario.switching.deliberate_overlap.boundary:
        said.append("These times undo the deliberate overlap; to keep it, search without times.")
    return said
