"""Choose one field of many: by layer, by attributes, or say which there are."""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping, Sequence
from typing import Any

from overlapsim.files.areas import only_fields
from overlapsim.files.features import Features
from overlapsim.files.reading import layer_names
from overlapsim.files.sources import Source
from overlapsim.scenario.rings import refuse

#: Names of columns that people name fields by, most telling first (common practice, no source).
_NAMING = ("name", "field", "field_name", "fieldname", "field_id", "id", "label", "title")
#: Key in `where` that counts features from 1, for files whose attributes cannot tell them apart.
COUNT = "feature"
_MOST_NAMES = 20


def choose_layer(sources: Sequence[Source], layer: str | None) -> tuple[Source, str, bool]:
    """Choose the source and the layer in it.

    Parameters
    ----------
    sources : sequence of Source
        What the file holds.
    layer : str or None
        As asked for: a layer's name, or the name of a file in an archive.

    Returns
    -------
    source : Source
        Where it is.
    layer : str
        Its name.
    several : bool
        Whether there was anything to choose from.

    Raises
    ------
    FieldError
        No layer, or several to choose from, or none of that name.
    """
    file = sources[0].name
    found = [(source, name, kind) for source in sources for name, kind in layer_names(source)]
    if not found:
        raise refuse("holds no layer with shapes", "Ask for the boundary as a polygon", file=file)
    if layer is not None:
        exact = [(s, n) for s, n, _ in found if layer in (n, s.member, s.stem)]
        if len(exact) == 1:
            return *exact[0], len(found) > 1
        names = [n for _, n, _ in found]
        near = difflib.get_close_matches(layer, names, 1)
        hint = f"Did you mean {near[0]}?" if near else f"It has: {_listed(names)}"
        raise refuse(f'no layer "{layer}"' if not exact else f'several layers "{layer}"', hint, file=file)
    areas = [(s, n) for s, n, kind in found if "Polygon" in kind]
    if len(found) == 1 or len(areas) == 1:
        source, name = (areas or [(found[0][0], found[0][1])])[0]
        return source, name, len(found) > 1
    names = [n for _, n, _ in found]
    raise refuse(
        f"holds {len(found)} layers",
        f'Choose layer = "{names[0]}" or another of: {_listed(names)}',
        file=file,
    )


def choose_rows(
    table: Features, where: Mapping[str, Any] | None, take_all: bool, file: str
) -> tuple[Features, str]:
    """Choose features by their attributes.

    Parameters
    ----------
    table : Features
        All features.
    where : mapping or None
        Attributes that the field has; numbers and texts are compared as people write them.
    take_all : bool
        Whether all that fit are taken together.
    file : str
        Name for faults.

    Returns
    -------
    rows : Features
        One, or several with `take_all`.
    name : str
        What the field is called; empty if nothing names it.

    Raises
    ------
    FieldError
        None or several fit, or there is no such attribute.
    """
    if not len(table):
        raise refuse("holds no feature at all", "Ask for the boundary as a polygon", file=file)
    rows = table
    if where:
        rows = table.chosen(_fits(table, where, file))
        if not len(rows):
            raise _none_fits(table, where, file)
    shaped = [shape is not None and not shape.is_empty for shape in rows.shapes]
    if not any(shaped):
        raise refuse("holds an empty shape, not an area", "Ask for the boundary as a polygon", file=file)
    rows = rows.chosen(shaped)
    if take_all and not all(shaped):
        rows = rows.noted(f"{shaped.count(False)} without a shape left out: ask whether a field is missing")
    rows = only_fields(rows, file)
    naming = _naming_column(rows)
    if len(rows) > 1 and not take_all:
        raise _several(rows, naming, where, file)
    if where and set(where) <= set(table.columns):
        return rows, ", ".join(_text(v) for v in where.values())
    named = len(rows) == 1 and naming is not None and naming.lower() in _NAMING
    return rows, _text(rows.columns[naming][0]) if named and naming else ""


def names_of(rows: Features) -> list[str]:
    """Name each of several fields.

    Parameters
    ----------
    rows : Features
        Those that were chosen.

    Returns
    -------
    list of str
        By the column that tells them apart by texts or bears a name for names; else ``"field 3"``, counted
        from 1 in the file.
    """
    naming = _naming_column(rows)
    if naming is not None:
        values = rows.columns[naming]
        if naming.lower() in _NAMING or all(isinstance(value, str) for value in values):
            return [_text(value) for value in values]
    return [f"field {number}" for number in rows.numbers]


def _fits(table: Features, where: Mapping[str, Any], file: str) -> list[bool]:
    fits = [True] * len(table)
    for key, wanted in where.items():
        if key in table.columns:
            values: Sequence[Any] = table.columns[key]
        elif key == COUNT:
            values = table.numbers
        else:
            columns = list(table.columns)
            near = difflib.get_close_matches(key.lower(), [c.lower() for c in columns], 1)
            meant = next((c for c in columns if near and c.lower() == near[0]), None)
            hint = f"Did you mean {meant}?" if meant else f"It has: {_listed(columns) or 'none'}"
            raise refuse(f'no attribute "{key}"', hint, "field.where", file)
        fits = [fit and _same(value, wanted) for fit, value in zip(fits, values, strict=True)]
    return fits


def _none_fits(table: Features, where: Mapping[str, Any], file: str) -> Exception:
    key, value = next(iter(where.items()))
    known = [_text(v) for v in dict.fromkeys(table.columns.get(key, ()))]
    near = difflib.get_close_matches(_text(value), known, 1)
    hint = (
        f'Did you mean "{near[0]}"?'
        if near
        else (f"There are: {_listed(known)}" if known else "Count from 1")
    )
    asked = " and ".join(f"{k} = {_quoted(v)}" for k, v in where.items())
    return refuse(f"no field where {asked}", hint, "field.where", file)


def _several(rows: Features, naming: str | None, where: Mapping[str, Any] | None, file: str) -> Exception:
    if naming is None:
        choose = f"Choose where = {{{COUNT} = {rows.numbers[0]}}} (counted from 1; nothing in it names them)"
    else:
        values = rows.columns[naming]
        choose = f"Choose where = {{{naming} = {_quoted(values[0])}}} ({_listed([_text(v) for v in values])})"
    rule = f"holds {len(rows)} fields" + (" that fit where" if where else "")
    return refuse(rule, f"{choose}, or all = true", "field.where" if where else "", file)


def _naming_column(rows: Features) -> str | None:
    """Pick the column whose values tell all rows apart and read most like names."""
    telling = []
    for name, values in rows.columns.items():
        texts = [_text(value) for value in values]
        if all(texts) and len(set(texts)) == len(texts):
            telling.append(name)
    by_name = [c for name in _NAMING for c in telling if c.lower() == name]
    worded = [c for c in telling if all(isinstance(value, str) for value in rows.columns[c])]
    return next(iter(by_name + worded + telling), None)


def _same(value: Any, wanted: Any) -> bool:
    """Compare an attribute with what was typed: 7, 7.0 and "7" are one thing."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return False
    if isinstance(wanted, bool) or isinstance(value, bool):
        return str(value).lower() == str(wanted).lower()
    try:
        return float(value) == float(wanted)
    except (TypeError, ValueError):
        return str(value).strip() == str(wanted).strip()


def _text(value: Any) -> str:
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return "" if value is None else str(value).strip()


def _quoted(value: Any) -> str:
    return _text(value) if isinstance(value, int | float) else f'"{_text(value)}"'


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
    return ", ".join(names[:_MOST_NAMES]) + more
