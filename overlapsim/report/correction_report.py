"""What digs told, as data for a report: what to type in first, then what was found and how surely."""

from __future__ import annotations

from typing import Any

from overlapsim.basics.units import format_time
from overlapsim.questions.digs import OFF, ON, lag
from overlapsim.questions.options import digging
from overlapsim.report.advice import digging_table, offset_of, part
from overlapsim.report.dig_tables import digs_table, found_table, name_words
from overlapsim.report.money import money_parts
from overlapsim.report.phrases import and_words, rank_words
from overlapsim.report.setting import (
    CAUTION,
    behind_what,
    beware,
    field_words,
    heading_lines,
    machine_words,
    offset_words,
    times_entered,
)
from overlapsim.report.sources import sources
from overlapsim.report.symptoms import SYMPTOMS, shown_by
from overlapsim.report.table import Choice, settings_table
from overlapsim.report.words import Words, choose
from overlapsim.scenario.rows import row_layout


def correction_report(result: Any, units: str | None = None) -> dict[str, Any]:
    """Say what digs told.

    Parameters
    ----------
    result : CorrectResult
        Finished result.
    units : {"us", "metric"}, optional
        Default: the scenario's own.

    Returns
    -------
    dict
        Title and parts.
    """
    scenario = result.scenario
    words, layout = choose(units, scenario), row_layout(scenario)
    setting = [*heading_lines(scenario), machine_words(scenario, layout, words)]
    if result.before is not None:
        setting.insert(-1, field_words(scenario, result.before.drive.heading, words))
    notes = [
        *result.warnings,
        *(beware(result.before, layout, words) if result.before else scenario.warnings),
    ]
    assumed = [*scenario.assumed, *(["seed.spacing"] if result.spacing_assumed else [])]
    told = [key.replace("seed.", "seed ") for key in assumed if not key.startswith("response.")]
    parts = [
        part("", setting),
        part("DIGS", [_digs_words(result, words)]),
        *type_in_parts(result, words),
        *_costs(result, words),
        *money_parts(result, words),
        found_table(result, words),
        part("", [_latency_words(result)], inset=True),
        *_not_told(result, words),
        *_outliers(result, words),
        part("SYMPTOMS", symptom_lines(result, words)),
        *_next_digs(result, words),
        digs_table(result, words),
        *([part("BEWARE", notes, "warn")] if notes else []),
        part("FROM", [sources(scenario.basis, told)]),
        *_checked(result),
        part("DIGGING", [CAUTION], "warn"),
    ]
    return {"title": scenario.title, "parts": parts}


def _digs_words(result: Any, words: Words) -> str:
    digs = result.digs
    starts = sum(dig.end == "on" for dig in digs)
    speeds = sorted({round(dig.speed, 6) for dig in digs})
    how_fast = words.speed(speeds[0]) + (f" to {words.speed(speeds[-1])}" if len(speeds) > 1 else "")
    ranks = [rank for rank in row_layout(result.scenario).working_ranks if any(d.rank == rank for d in digs)]
    ways = " and ".join(way for way in ("out", "back") if any(dig.direction == way for dig in digs))
    scatter = words.short(result.fit.sigma)
    given = "" if result.fit.free else ", taken as given: too few digs to tell"
    tape = "not used" if result.tape_error is None else f"trusted to {words.short(result.tape_error)}"
    named = and_words([rank_words(rank) for rank in ranks])
    return (
        f"{starts} starts, {len(digs) - starts} stops, {how_fast}, {named}, {ways}; one dig scatters by "
        f"{scatter}{given}; seeds {words.short(result.model.seed_spacing)} apart; tape {tape}"
    )


def type_in_parts(result: Any, words: Words) -> list[dict[str, Any]]:
    """Say what the digs say one should type in.

    Parameters
    ----------
    result : CorrectResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    list of dict
        Text parts; the first one says what to do, its label what that means.
    """
    scenario, now = result.scenario, times_entered(result.scenario)
    if result.after is None:
        known = {k: v for k, v in result.recommended.items() if v is not None}
        names = {"turn_on_time_s": "turn-on time", "turn_off_time_s": "turn-off time"}
        lines = [f"{names[key]} {format_time(value)}" for key, value in known.items()]
        if lines:
            return [part("TYPE IN", [f"{', '.join(lines)}  (now {now}); the rest cannot be told"], "strong")]
        return [
            part(
                "TYPE IN", ["nothing yet: these digs do not tell what is wrong at the field's speed"], "warn"
            )
        ]
    after = result.after.scenario
    wanted, entered = (offset_words(s, s.switching.reference_offset, words) for s in (after, scenario))
    said = f"reference offset {wanted} {behind_what(scenario)}, {times_entered(after)}"
    if result.after is result.before or (wanted, times_entered(after)) == (entered, now):
        return [part("LEAVE IT", [f"{said}: as entered now"], "strong")]
    lines = [f"now {entered}, {now}"]
    if result.fit.loose.shape[1]:
        speeds = {words.speed(v) for v in (scenario.speed.at_on, scenario.speed.at_off)}
        lines.append(f"right at {' and '.join(sorted(speeds))} only: see what cannot be told")
    return [part("TYPE IN", [said], "strong"), part("", lines, inset=True)]


def _costs(result: Any, words: Words) -> list[dict[str, Any]]:
    if result.before is None:
        return []
    lines = [Choice("as entered now", result.before)]
    if result.after is not result.before:
        lines.append(Choice("type in", result.after, True))
    return [{"label": "", **settings_table(lines, words)}]


def _latency_words(result: Any) -> str:
    own = lag(result.scenario)
    more = f", {format_time(own)} as described," if own else ""
    return (
        "Latencies hold all of it: command, machine, fall of the seed, the controller's position delay and "
        f"half an update period{more} which digs cannot tell apart. Times are typed in as large."
    )


def _not_told(result: Any, words: Words) -> list[dict[str, Any]]:
    if not result.fit.loose.shape[1]:
        return []
    lines = []
    for one in result.together:
        stated = result.stated(one.row)
        terms = "".join(_term(name, x, words) for name, x in one.coefficients.items()).removeprefix(" + ")
        low, value, high = (words.short(stated[key]) for key in ("low", "value", "high"))
        lines.append(f"known only together: {terms} = {value} ({low} to {high})")
    ways = [" and ".join(way) for way in result.settled_by]
    if ways:
        lines.append(f"What would tell them apart: {'; or '.join(ways)}.")
    return [part("NOT TOLD", lines, "warn")]


def _term(name: str, coefficient: float, words: Words) -> str:
    """One part of a sum, as it is spoken."""
    sign = " + " if coefficient > 0 else " - "
    if name in (ON, OFF):
        return f"{sign}{abs(coefficient) / words.speed_step:.3g} {words.speed_unit} x {name_words(name)}"
    return f"{sign}{name_words(name)}"


def _outliers(result: Any, words: Words) -> list[dict[str, Any]]:
    if not result.outliers:
        return []
    said = [
        f"line {result.digs[i].line}: {words.short(abs(result.fit.residual[i]))} "
        f"{'farther' if result.fit.residual[i] > 0 else 'less far'} than the others say"
        for i in result.outliers
    ]
    return [
        part("OUTLIERS", [*said, "They have little say. Look there again: end, rank, sign, unit?"], "warn")
    ]


def symptom_lines(result: Any, words: Words) -> list[str]:
    """Write the table of symptoms, and which of them these digs show.

    Parameters
    ----------
    result : CorrectResult
        Finished result.
    words : Words
        Units.

    Returns
    -------
    list of str
        A sentence for each.
    """
    shown = shown_by(result, words)
    return [
        f"{one.seen}: {one.means}." + (f" HERE: {shown[one.key]}." if one.key in shown else "")
        for one in SYMPTOMS
    ]


def _next_digs(result: Any, words: Words) -> list[dict[str, Any]]:
    if result.after is None:
        return []
    after, layout = result.after.scenario, result.after.layout
    at = offset_words(after, offset_of(result.after), words)
    table = digging_table(digging(after, layout, offset_of(result.after)), at, words, layout)
    half = words.short(result.model.seed_spacing / 2)
    said = f"first seeds lie {half} farther on average, last seeds {half} less far: half a seed spacing"
    return [table, part("", [said], inset=True)]


def _checked(result: Any) -> list[dict[str, Any]]:
    if result.before is None:
        return []
    count = "Two full simulations" if result.after is not result.before else "One full simulation"
    worst = result.largest_witness_difference
    return [part("CHECKED", [f"{count}; areas balance; a second witness agrees to {worst:.0e}."])]
