"""The grower's sheet: in plain words what was set, why pass ends look as they do, and what stays."""

from __future__ import annotations

from html import escape
from typing import Any

import numpy as np

from overlapsim.basics.units import format_number, format_time
from overlapsim.report.advice import digging_table, error_words, offset_of
from overlapsim.report.already import already_as_good
from overlapsim.report.page.answer import gap_bars
from overlapsim.report.page.frame import document
from overlapsim.report.page.markup import METRIC, US, Section, said, table_html
from overlapsim.report.page.proof import list_html
from overlapsim.report.page.row_ends import pass_end_figures
from overlapsim.report.phrases import and_words, rank_words
from overlapsim.report.setting import CAUTION, behind_what, field_words, heading_lines, offset_words
from overlapsim.report.sources import sources
from overlapsim.report.times_words import times_of
from overlapsim.report.words import Words, choose
from overlapsim.scenario.rows import row_layout

_SAME_S = 5e-3  # seconds: half of the last digit of a time in print
_NOTHING = 0.005  # m²: less is nought in every unit that is printed
_SEEN = 1.01  # what lies one per cent below is worth a word


def grower_page(result: Any, units: str | None = None) -> str:
    """Write ``grower.html``.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    units : {"us", "metric"}, optional
        What a reader sees who has not chosen. Default: the scenario's own.

    Returns
    -------
    str
        HTML that needs nothing else, one page in print.
    """
    scenario, run = result.scenario, result.as_set
    about = "".join(f'<p class="about">{escape(line)}</p>' for line in heading_lines(scenario))
    under = f"{about}<p>{said(lambda words: field_words(scenario, run.drive.heading, words))}</p>"
    gaps = [("before", run), ("now", result.recommended)]
    ends = pass_end_figures([("as it is set now", result.recommended.square_ends)], scenario)
    first = (
        '<section id="answer" class="answer" aria-labelledby="answer-title"><div class="enter">'
        f'<h2 id="answer-title">What was set</h2><p>{said(lambda words: set_words(result, words))}</p>'
        f"{gap_bars([(name, one.areas['longest_gap_m']) for name, one in gaps])}"
        f"<p>{said(lambda words: field_loss(result, words))}</p></div>{ends}</section>"
    )
    why = "".join(f"<p>{said(make)}</p>" for make in (ranks_makers(result)))
    sections = [
        Section("why", "Why pass ends look as they do", why + _dug(result)),
        Section("stays", "What no setting cures, and what would", _stays(result)),
        Section("sure", "Where the numbers come from", _sure(result)),
    ]
    title = f"How the planter was set: {scenario.title}"
    return document(title, under, first, sections, choose(units, scenario).units, kind="sheet")


def set_words(result: Any, words: Words) -> str:
    """Say what was set, in plain words.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    words : Words
        Units.

    Returns
    -------
    str
        Sentences.
    """
    new, now = result.recommended, result.as_set
    wanted, entered = (offset_words(run.scenario, offset_of(run), words) for run in (new, now))
    told = (
        f"Section control switches rows on and off by one distance, the reference offset: how far "
        f"{behind_what(new.scenario)} the seed falls. It is set to {wanted}"
    )
    told += f"; before, it was {entered}." if wanted != entered else ", as before."
    for name, seconds, before in zip(("on", "off"), times_of(new), times_of(now), strict=True):
        changed = abs(seconds - before) >= _SAME_S
        told += f" Rows are switched {name} {format_time(seconds)} ahead"
        told += f" (before: {format_time(before)})." if changed else ", as before."
    return told


def field_loss(result: Any, words: Words) -> str:
    """Say what is lost on the field now, and what was before.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    words : Words
        Units.

    Returns
    -------
    str
        One sentence.
    """
    now, before = (run.areas["combined_m2"] for run in (result.recommended, result.as_set))
    share = now / result.as_set.plantable_m2 * 100
    told = f"On this field {error_words(now, result, words)} are bare, planted twice or planted outside, "
    told += f"{share:.2f} % of it"
    if before == now:
        return f"{told}, as before."
    told += f"; before it was {error_words(before, result, words)}"
    if already_as_good(result):
        return f"{told}: no more apart than a tape's error is worth."
    return f"{told}: {abs(before - now) / before * 100:.2g} % {'less' if now < before else 'more'} now."


def ranks_makers(result: Any) -> list[Any]:
    """Say why pass ends look as they do.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    list of callable
        Each gives a sentence or two for a `Words`.
    """
    scenario, layout = result.recommended.scenario, row_layout(result.scenario)
    ranks = [rank_words(rank) for rank in layout.working_ranks]
    apart = float(np.ptp(layout.behind_pin))

    def places(words: Words) -> str:
        if len(ranks) == 1 or apart == 0.0:
            return "All rows drop their seed equally far back: they start and stop side by side."
        told = f"The row units stand in {len(ranks)} ranks ({and_words(ranks)}), {words.short(apart)} apart"
        told += " from the foremost to the rearmost" if len(ranks) > 2 else ""
        if isinstance(offset_of(result.recommended), dict):
            return f"{told}, and each of them has a distance of its own."
        return (
            f"{told}, and one distance is set for all of them. What is too far back for one rank is too near "
            "for another: where one starts late, the other starts early. So rows end in a comb, not a line."
        )

    def times(words: Words) -> str:
        told = []
        for name, entered, latency in (
            ("start", scenario.switching.turn_on_time, scenario.response.on_latency),
            ("stop", scenario.switching.turn_off_time, scenario.response.off_latency),
        ):
            needed = sorted(set(latency.values()))
            takes = " to ".join(format_time(one) for one in dict.fromkeys((needed[0], needed[-1])))
            told.append(f"seed takes {takes} to {name}, {format_time(entered)} are set for it")
        return (
            f"Switching takes time, too: {'; '.join(told)}. Each tenth of a second that does not fit moves "
            f"row ends by {words.short(0.1 * scenario.speed.at_on)}."
        )

    return [places, times]


def _dug(result: Any) -> str:
    layout, scenario = row_layout(result.scenario), result.recommended.scenario

    def table(words: Words) -> dict[str, Any]:
        at = offset_words(scenario, offset_of(result.recommended), words)
        return digging_table(result.digging, at, words, layout)

    caption = "What one finds by digging, where ends lie square to the passes"
    return table_html(table(US), table(METRIC), caption)


def _stays(result: Any) -> str:
    """What stays whatever is typed in, and by how much each cure would lessen it."""
    now = result.recommended.areas["combined_m2"]
    cures = [
        ("times that fit how long the seed takes", result.alternatives["times_matched"]),
        ("a distance for each rank, if the controller takes it", result.alternatives["offset_per_rank"]),
        ("both together", result.floor),
    ]
    if len(row_layout(result.scenario).working_ranks) == 1:
        cures = cures[:1]
    lines = "".join(
        f"<li>{escape(name)}: {_left(result, run)}</li>"
        for name, run in cures
        if run.areas["combined_m2"] * _SEEN < now
    )
    least = said(lambda words: error_words(result.floor.areas["combined_m2"], result, words))
    cured = f"<p>These would leave less:</p><ul>{lines}</ul>" if lines else ""
    stays = (
        f"<p>Even with all of that {least} stay: rows that switch together end square to the way, and fields "
        "do not.</p>"
    )
    return (
        "<p>No other number does better by more than a tape's error is worth: what is left is no wrong "
        f"number.</p>{cured}{stays if result.floor.areas['combined_m2'] > _NOTHING else ''}"
    )


def _left(result: Any, run: Any) -> str:
    areas = run.areas
    return said(
        lambda words: f"{error_words(areas['combined_m2'], result, words)} left, longest gap "
        f"{words.short(areas['longest_gap_m'])}"
    )


def _sure(result: Any) -> str:
    scenario = result.scenario
    rows = format_number(len(row_layout(scenario).rank))
    lines = [
        sources(scenario.basis, scenario.assumed),
        f"Reckoned for this field row by row, {rows} rows, with the machine on rails; not measured. Dig at "
        "two pass ends and compare.",
        f"Before anybody digs: {CAUTION}",
    ]
    return list_html(lines)
