"""The first screen: what to type in, what it does to the longest gap, and where the numbers come from."""

from __future__ import annotations

from html import escape
from typing import Any

from overlapsim.basics.units import format_number, format_time
from overlapsim.report.advice import as_good_words, offset_of, type_in
from overlapsim.report.also_words import digs_words
from overlapsim.report.page.markup import METRIC, US, lines_html, number, said, short
from overlapsim.report.page.row_ends import pass_end_figures
from overlapsim.report.phrases import rank_words
from overlapsim.report.row_ends import settings_of
from overlapsim.report.setting import behind_what, field_words, heading_lines, machine_words, typed
from overlapsim.report.sources import sources
from overlapsim.report.times_words import times_of, type_in_with_times
from overlapsim.report.words import Words
from overlapsim.scenario.rows import row_layout

_BAR = 300.0  # units of the drawing that the longer gap takes
_SAME_S, _SAME_M = 5e-4, 5e-5  # settings nearer than this are one and the same in print, seconds and metres

_AS_NOW = "as now"


def under_title(run: Any) -> str:
    """Say below the title for whom, on which field, with which machine.

    Parameters
    ----------
    run : Simulation
        The scenario as set, run.

    Returns
    -------
    str
        HTML.
    """
    scenario, layout = run.scenario, row_layout(run.scenario)
    return "".join([
        *(f'<p class="about">{escape(line)}</p>' for line in heading_lines(scenario)),
        f"<p>{said(lambda w: field_words(scenario, run.drive.heading, w))}</p>",
        f"<p>{said(lambda w: machine_words(scenario, layout, w))}</p>",
    ])  # fmt: skip


def answer(result: Any) -> str:
    """Write the first screen of a search.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    str
        HTML.
    """
    new, now = result.recommended, result.as_set
    label = _told(result, US)[0]["label"]
    entries = "".join(_entries(new, now))
    gaps = [("now", now)] if label == "LEAVE IT" else [("now", now), ("then", new)]
    told = [_told(result, words)[1:] for words in (US, METRIC)]
    # The number, its ways and the gap stand above in their own form: what is left are the sentences.
    if getattr(result, "joint", None):
        us, metric = ([line for one in some for line in one["lines"][_ways(new) + 1 :]] for some in told)
    else:
        us, metric = ([as_good_words(result, words)] for words in (US, METRIC))
    do = "Leave it as it is" if label == "LEAVE IT" else "Type in"
    ends = pass_end_figures(settings_of(result, US), result.scenario)
    lines = lines_html(us, metric)
    dug = lines_html(digs_words(result, US), digs_words(result, METRIC))
    lines += f'<div class="part strong"><div>{dug}</div></div>' if dug else ""
    return _screen(do, entries, _gaps(gaps), lines, result, ends)


def entered(run: Any) -> str:
    """Write the first screen of one simulation.

    Parameters
    ----------
    run : Simulation
        Finished simulation.

    Returns
    -------
    str
        HTML.
    """
    share = run.areas["combined_m2"] / run.plantable_m2 * 100
    lost = [f"lost on this field: {share:.2f} % of the plantable ground, all told"]
    ends = pass_end_figures(settings_of(run, US), run.scenario)
    entries = "".join(_entries(run, run))
    return _screen("Entered", entries, _gaps([("longest gap", run)]), lines_html(lost, lost), run, ends)


def corrected(result: Any) -> str:
    """Write the first screen of a correction by digs, with its simulations before and after.

    Parameters
    ----------
    result : CorrectResult
        Finished result.

    Returns
    -------
    str
        HTML.
    """
    now, new = result.before, result.after
    ends = pass_end_figures([("now", now.square_ends), ("type in", new.square_ends)], result.scenario)
    us, metric = ([as_dug(result, words)] for words in (US, METRIC))
    gaps = _gaps([("now", now), ("then", new)])
    return _screen("Type in", "".join(_entries(new, now)), gaps, lines_html(us, metric), result, ends)


def as_dug(result: Any, words: Words) -> str:
    """Say what typing it in saves.

    Parameters
    ----------
    result : CorrectResult
        Finished result, with its simulations.
    words : Words
        Units.

    Returns
    -------
    str
        One sentence, without a full stop.
    """
    before, after = result.before.areas["combined_m2"], result.after.areas["combined_m2"]
    unit, size, digits = words.area_scale(max(before, after))
    old, new = (format_number(area / size, digits) for area in (before, after))
    return f"{new} instead of {old} {unit} are lost then, both with what the digs say"


def _gaps(runs: list[tuple[str, Any]]) -> list[tuple[str, float]]:
    return [(name, run.areas["longest_gap_m"]) for name, run in runs]


def _screen(do: str, entries: str, gaps: list[tuple[str, float]], lines: str, result: Any, ends: str) -> str:
    from_where = escape(sources(result.scenario.basis, result.scenario.assumed))
    assumed = " assumed" if "ASSUMED" in from_where else ""
    return (
        f'<section id="answer" class="answer" aria-labelledby="answer-title"><div class="enter">'
        f'<h2 id="answer-title">{do}</h2><dl>{entries}</dl>{gap_bars(gaps)}'
        f'<div class="so">{lines}</div><p class="from{assumed}">{from_where}</p></div>'
        f"{ends}</section>"
    )


def _told(result: Any, words: Words) -> list[dict[str, Any]]:
    return (type_in_with_times if getattr(result, "joint", None) else type_in)(result, words)


def _ways(run: Any) -> int:
    offset = offset_of(run)
    return len(offset) if isinstance(offset, dict) else 1


def _entries(new: Any, now: Any) -> list[str]:
    """Every box that is filled in: its name, the number large, other ways to write it, what it is now."""
    scenario = new.scenario
    wanted, entered = (typed(run.scenario, offset_of(run)) for run in (new, now))
    boxes = wanted if isinstance(wanted, dict) else {"": wanted}
    behind, made = behind_what(scenario), []
    for rank, metres in boxes.items():
        before = entered.get(rank) if isinstance(entered, dict) and rank else entered
        same = isinstance(before, float) and abs(before - metres) < _SAME_M
        name = "reference offset" + (f", {rank_words(rank)}" if rank else "")
        was = "" if new is now else _AS_NOW if same else _was(before)
        made.append(_entry(name, short(metres), f"{behind}<br>= {_other_ways(metres)}", was))
    for name, seconds, before in zip(("turn-on", "turn-off"), times_of(new), times_of(now), strict=True):
        same = abs(seconds - before) < _SAME_S
        was = "" if new is now else _AS_NOW if same else f"now {escape(format_time(before))}"
        made.append(_entry(f"{name} time", escape(format_time(seconds)), "", was, small=True))
    return made


def _other_ways(metres: float) -> str:
    return said(lambda words: " = ".join(words.ways(metres)[1:]))


def _was(before: Any) -> str:
    if isinstance(before, dict):
        return "now " + said(lambda w: ", ".join(f"{rank} {w.short(m)}" for rank, m in before.items()))
    return "now " + short(before)


def _entry(name: str, value: str, more: str, was: str, *, small: bool = False) -> str:
    kind = "time" if small else "offset"
    alike = " same" if was == _AS_NOW else ""
    now = f'<span class="was{alike}">{was}</span>' if was else ""
    under = f'<span class="ways">{more}</span>' if more else ""
    return f'<div class="{kind}"><dt>{escape(name)}</dt><dd><b>{value}</b>{now}{under}</dd></div>'


def gap_bars(gaps: list[tuple[str, float]]) -> str:
    """Draw longest gaps as bars at one scale.

    Parameters
    ----------
    gaps : list of (str, float)
        Name and length, metres.

    Returns
    -------
    str
        HTML: the lengths stand beside the bars as text.
    """
    longest = max(max(metres for _, metres in gaps), 1e-9)
    rows = "".join(
        f'<tr><th scope="row">{escape(name)}</th><td><svg viewBox="0 0 {_BAR:.0f} 12" aria-hidden="true" '
        f'preserveAspectRatio="none"><rect class="bar{number_of}" height="12" '
        f'width="{number(_BAR * metres / longest)}"/></svg></td>'
        f"<td>{short(metres)}</td></tr>"
        for number_of, (name, metres) in enumerate(gaps)
    )
    return f'<table class="gaps"><caption>Longest gap in a row</caption>{rows}</table>'
