"""The end of every page: how it was computed and checked, limits, all inputs with their basis, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape
from typing import Any

from overlapsim.basics.units import format_angle, format_time
from overlapsim.report.cautions import DIG_CAUTIONS
from overlapsim.report.limits import LIMITS
from overlapsim.report.page.markup import Section, pair, said
from overlapsim.report.rounding import plain
from overlapsim.report.words import Words

_COORDINATES = ("polygon", "polygons", "exclusions", "parts")


def closing(result: Any, checked: list[str]) -> list[Section]:
    """Write the sections with which every page ends.

    Parameters
    ----------
    result : object
        Finished result.
    checked : list of str
        How it was computed and how well that agrees, sentences.

    Returns
    -------
    list of Section
        Checks, limits, inputs, cautions.
    """
    told = result.to_dict()
    return [
        Section("computed", "How it was computed", _computed(told, checked), "Computed"),
        Section("limits", "What the model does not know", list_html(LIMITS), "Limits"),
        Section("inputs", "What went in", inputs_html(told["inputs"]), "Inputs"),
        Section("cautions", "Before anybody digs", caution_html(), "Cautions"),
    ]


def caution_html() -> str:
    """Write the cautions for everybody who works behind a planter.

    Returns
    -------
    str
        HTML.
    """
    return f'<div class="caution">{list_html(DIG_CAUTIONS)}</div>'


def list_html(lines: Iterable[str]) -> str:
    """Set sentences as a list.

    Parameters
    ----------
    lines : iterable of str
        Plain text; marks of code in it are left out.

    Returns
    -------
    str
        HTML.
    """
    return "<ul>" + "".join(f"<li>{escape(line).replace('`', '')}</li>" for line in lines) + "</ul>"


def _computed(told: dict[str, Any], checked: list[str]) -> str:
    versions = ", ".join(f"{name} {number}" for name, number in told["versions"].items())
    marks = (
        ("overlapsim", told["overlapsim"]), ("with", versions),
        ("inputs, SHA-256", told["inputs_sha256"]), ("field, SHA-256", told["field_sha256"]),
    )  # fmt: skip
    rows = "".join(
        f'<tr><th scope="row">{escape(name)}</th><td class="code">{escape(str(value))}</td></tr>'
        for name, value in marks
    )
    return list_html(checked) + f'<table class="left"><caption>What made this page</caption>{rows}</table>'


def tune_checks(result: Any) -> list[str]:
    """Say how a search was computed and how well its ways of counting agree.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    list of str
        Sentences.
    """
    runs = {id(r) for r in (result.as_set, result.best, result.recommended, result.floor)}
    runs |= {id(run) for run in result.alternatives.values()}
    difference, area = result.ledger_relative_difference, result.as_set.plantable_m2
    said = [
        f"{len(result.curve.offset_m):,} reference offsets were read from the ledger, running totals of "
        "planted and bare ground along every row's track; the machine is driven once for all of them.",
        f"What is reported as best, recommended or alternative is a full simulation each ({len(runs)} of "
        f"them). Ledger and full simulation differ by {difference:.0e} of the combined error at the best.",
        run_check(result.largest_witness_difference),
        f"In every run planted, skipped and double-planted ground balance to 1e-6 of {area:,.0f} m².",
    ]
    if not result.bracketed:
        said.append("The least area lies at the end of the range that was searched: look at the settings.")
    return said


def run_check(difference: float) -> str:
    """Say how well the second witness agrees.

    Parameters
    ----------
    difference : float
        Largest relative difference, no unit.

    Returns
    -------
    str
        One sentence.
    """
    return (
        "A second witness, which counts along scan lines and shares no code with the account, agrees to "
        f"{difference:.0e} of the plantable ground."
    )


def inputs_html(inputs: dict[str, Any]) -> str:
    """Set all inputs as a table: key, value in the reader's units, basis.

    Parameters
    ----------
    inputs : dict
        As `result.json` holds them: texts with SI units.

    Returns
    -------
    str
        HTML. Coordinates are counted, not written.
    """
    basis, assumed = inputs.get("basis", {}), set(inputs.get("assumed", ()))
    rows = []
    for key, value in _flat(inputs):
        if key.split(".")[0] in ("basis", "assumed", "units", "name"):
            continue
        told = basis.get(key) or basis.get(key.replace("behind_pin", "behind_front"), "")
        guessed = any(key == one or key.startswith(f"{one}.") for one in assumed)
        # A latency given once for all ranks has its basis under the shorter key.
        told = told or next((t for k, t in basis.items() if key.startswith(f"{k}.")), "")
        told = "ASSUMED" if guessed else told
        mark = ' class="assumed"' if guessed or told.lower() == "assumed" else ""
        rows.append(f'<tr{mark}><th scope="row" class="code">{escape(key)}</th><td>{_shown(value)}</td>'
                    f"<td>{escape(told)}</td></tr>")  # fmt: skip
    return (
        '<div class="wide" role="region" tabindex="0" aria-label="All inputs"><table class="left inputs">'
        "<caption>Every key as it was resolved, defaults too; without a word in the last column a number is "
        "as the scenario has it or its default</caption>"
        '<thead><tr><th scope="col">key</th><th scope="col">value</th><th scope="col">from</th></tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def _flat(value: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    """Every value with its dotted key; coordinates as their number."""
    if isinstance(value, dict):
        for name, one in value.items():
            path = f"{key}.{name}" if key else str(name)
            if name in _COORDINATES:
                yield path, f"{_corners(one)} corners, in result.json"
            else:
                yield from _flat(one, path)
    elif isinstance(value, list | tuple) and any(isinstance(one, dict) for one in value):
        for place, one in enumerate(value, 1):
            yield from _flat(one, f"{key}.{place}")
    else:
        yield key, value


def _corners(value: Any) -> int:
    if isinstance(value, dict):
        return sum(_corners(one) for one in value.values())
    if not isinstance(value, list | tuple):
        return 0
    if value and all(isinstance(one, int | float) for one in value):
        return 1
    return sum(_corners(one) for one in value)


def _shown(value: Any) -> str:
    return said(lambda words: _value(value, words))


def _value(value: Any, words: Words) -> str:
    """Write a value in the reader's units."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return ", ".join(_value(one, words) for one in value) or "none"
    if not isinstance(value, str):
        return plain(value, 6) if isinstance(value, float) else str(value)
    figure, _, unit = value.rpartition(" ")
    try:
        size = float(figure)
    except ValueError:
        return value
    if unit == "m":
        return words.short(size)
    if unit == "m/s":
        return words.speed(size)
    if unit in ("s", "rad"):
        return format_time(size) if unit == "s" else format_angle(size)
    return f"{size:.6g} {unit}"


def links(written: list[str], about: dict[str, str]) -> str:
    """List the files beside a page.

    Parameters
    ----------
    written : list of str
        Their names.
    about : dict of str to str
        What each holds, plain text, by name.

    Returns
    -------
    str
        HTML.
    """
    rows = "".join(
        f'<li><a href="{escape(name, quote=True)}">{escape(name)}</a>: {pair(about[name], about[name])}</li>'
        for name in written
        if name in about
    )
    return f"<ul>{rows}</ul>"
