"""How sure one can be of the number to type in, in words and tables."""

from __future__ import annotations

from typing import Any

from overlapsim.basics.units import format_number, format_time
from overlapsim.report.advice import part
from overlapsim.report.money import money_words
from overlapsim.report.phrases import rank_words
from overlapsim.report.rounding import plain
from overlapsim.report.setting import measured_from, offset_words
from overlapsim.report.words import Words

NAMES = {"now": "now", "type_in": "type in", "on_average": "least on average"}
"""What the offsets are called that are looked at."""

_QUANTITIES = {
    "response.on_latency": "on latency",
    "response.off_latency": "off latency",
    "speed.working": "speed",
    "speed.at_on": "speed at starts",
    "speed.at_off": "speed at stops",
    "switching.reference_offset": "reference offset",
    "controller.position_delay": "position delay",
    "controller.drift": "drift east, north",
}


def uncertain_parts(result: Any, words: Words) -> list[dict[str, Any]]:
    """Say what draws of everything that may be off came to.

    Parameters
    ----------
    result : TuneResult
        Finished search.
    words : Words
        Units.

    Returns
    -------
    list of dict
        Text and two tables; none where nothing was drawn.
    """
    sure = getattr(result, "uncertain", None)
    if sure is None:
        return []
    return [
        part("HOW SURE", _said(sure, words)),
        *([part("", [_copy(sure, words)], "warn", inset=True)] if sure.assumed else []),
        {"label": "", **_points(sure, words)},
        {"label": "", **_unknown(sure, words)},
        part("", [_explained(sure)], "quiet", inset=True),
    ]


def quantity(key: str) -> str:
    """Name a quantity that may be off.

    Parameters
    ----------
    key : str
        Dotted key.

    Returns
    -------
    str
        As in ``"tape to the rear rank"``.
    """
    if key.startswith("machine."):
        _, _, rank, written = key.split(".")
        seen = "from the foremost" if written == "behind_front" else ""
        return f"tape to the {rank_words(rank)} {seen}".strip()
    whole = ".".join(key.split(".")[:2])
    rank = key.removeprefix(whole).lstrip(".")
    return _QUANTITIES[whole] + (f" of the {rank_words(rank)}" if rank else "")


def spread_words(key: str, spread: Any, words: Words) -> str:
    """Write one spread.

    Parameters
    ----------
    key : str
        Dotted key.
    spread : Spread
        How far it may be off.
    words : Words
        Units.

    Returns
    -------
    str
        As in ``"on latency 0.05 s"``, or ``"speed within 0.2 mph"``.
    """
    sizes = " and ".join(_size(key, size, words) for size in spread.sizes)
    return f"{quantity(key)} {'within ' if spread.shape == 'even' else ''}{sizes}"


def _size(key: str, size: float, words: Words) -> str:
    if key.startswith("speed."):
        return f"{plain(size / words.speed_step, 2)} {words.speed_unit}"
    if "latency" in key or "delay" in key:
        return format_time(size)
    return f"{plain(size / words.short_size, 2)} {words.short_unit}"


def _said(sure: Any, words: Words) -> list[str]:
    scenario = sure.scenario
    more = measured_from(scenario)
    spreads = "; ".join(spread_words(key, one, words) for key, one in scenario.uncertain.items())
    even = {one.shape for one in scenario.uncertain.values()}
    kind = "one standard deviation" if even == {"normal"} else "one standard deviation, or anywhere within"
    low, high = words.inside(sure.as_good[0] + more, sure.as_good[1] + more)
    best = f"least on average at {words.short(sure.best + more)}"
    if sure.standard_error >= words.short_size / 20:
        best += f", give or take {words.short(sure.standard_error)} for want of more draws"
    q = {share: words.short_number(value + more) for share, value in _quantiles(sure).items()}
    return [
        f"{sure.draws:,} draws of what may be off ({kind}): {spreads}",
        f"{best}; {low} to {high} {words.short_unit} is just as good on average",
        f"if one knew: half of the draws have their own best from {q[0.25]} to {q[0.75]} {words.short_unit}, "
        f"9 of 10 from {q[0.05]} to {q[0.95]} {words.short_unit}",
    ]


def _quantiles(sure: Any) -> dict[float, float]:
    found = sure.to_dict()["best_over_draws"]
    return {share: found[f"q{share * 100:02.0f}_m"] for share in (0.05, 0.25, 0.75, 0.95)}


def _copy(sure: Any, words: Words) -> str:
    """Say that the spreads are assumed, and how to state one's own."""
    key, spread = next(iter(sure.scenario.uncertain.items()))
    line = f'"{key}" = "{_size(key, spread.sizes[0], words)}"'
    return f"These spreads are ASSUMED: state your own below [uncertain], as in {line}."


def _points(sure: Any, words: Words) -> dict[str, Any]:
    scenario = sure.scenario
    told = [one.to_dict(sure.points[0].combined) for one in sure.points]
    unit, size, digits = words.area_scale(max(one["combined"]["q95_m2"] for one in told))
    seen: dict[float, dict[str, Any]] = {}
    for point, one in zip(sure.points, told, strict=True):
        offset = round(one["reference_offset_m"], 4)
        same = seen.get(offset)
        # Times that differ make another setting of the same offset.
        if same and same["times"] == (one["turn_on_time_s"], one["turn_off_time_s"]):
            same["label"] += f" = {NAMES[point.key]}"
            same["strong"] |= point.key == "type_in"
            continue
        total = [
            format_number(one["combined"][key] / size, digits) for key in ("mean_m2", "q05_m2", "q95_m2")
        ]
        shares = [f"{round(one[key] * 100)} %" for key in ("share_less_than_now", "share_as_good")]
        cells = [offset_words(point.run.scenario, one["reference_offset_m"], words).split()[0], *total]
        cells += ["", shares[1]] if point.key == "now" else shares
        if "money" in one:
            cells.append(money_words(one["money"]["mean"], scenario).split()[0])
        seen[offset if offset not in seen else -offset] = {
            "label": NAMES[point.key], "cells": cells, "strong": point.key == "type_in",
            "times": (one["turn_on_time_s"], one["turn_off_time_s"]),
        }  # fmt: skip
    columns = [
        {"head": ["reference", "offset"], "unit": words.short_unit},
        {"head": ["total,", "mean"], "unit": unit},
        {"head": ["1 in 20", "below"], "unit": unit},
        {"head": ["1 in 20", "above"], "unit": unit},
        {"head": ["less", "than now"], "unit": "draws"},
        {"head": ["as good as", "if one knew"], "unit": "draws"},
    ]
    if sure.points[0].money is not None:
        columns.append({"head": ["mean"], "unit": str(scenario.value.currency)})
    rows = [{key: row[key] for key in ("label", "cells", "strong")} for row in seen.values()]
    return {"title": "over all draws", "columns": columns, "rows": rows}


def _unknown(sure: Any, words: Words) -> dict[str, Any]:
    """What being off by an inch or a tenth of a second costs."""
    sizes = [abs(one[key]) for one in sure.unknown for key in ("more_m2", "less_m2") if one[key] is not None]
    unit, size, digits = words.area_scale(max(sizes, default=0.0))
    rows = []
    for one in sure.unknown:
        step = format_time(one["step_s"]) if "step_s" in one else words.short(one["step_m"])
        cells = [_signed(one[key], size, digits) for key in ("more_m2", "less_m2")]
        cells.append(_signed(one.get("unknown_m2"), size, digits).lstrip("+"))
        rows.append({"label": f"{quantity(one['key'])}, {step}", "cells": cells, "strong": False})
        if sure.points[0].money is not None:
            cells += [_money(one.get(f"{name}_money"), sure.scenario) for name in ("more", "less")]
    columns = [
        {"head": ["truly", "more"], "unit": unit},
        {"head": ["truly", "less"], "unit": unit},
        {"head": ["not", "knowing it"], "unit": unit},
    ]
    if sure.points[0].money is not None:
        columns += [
            {"head": ["truly", name], "unit": str(sure.scenario.value.currency)} for name in ("more", "less")
        ]
    return {"title": "being off by", "columns": columns, "rows": rows}


def _signed(value: float | None, size: float, digits: int) -> str:
    if value is None:
        return ""
    text = format_number(value / size, digits)
    return text if text.startswith("-") or not text.strip("0.,") else f"+{text}"


def _money(value: float | None, scenario: Any) -> str:
    return "" if value is None else money_words(value, scenario).split()[0]


def _explained(sure: Any) -> str:
    said = "truly more, truly less: what changes in total where the offset stays as typed in"
    if sure.shared:
        said += "; not knowing it: what of that another offset would save"
    else:
        said += ", for the scenario as it stands"
    return f"{said}. Seed {sure.seed}: the same seed draws the same."
