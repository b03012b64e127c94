"""Results as text that other programs read: JSON and comma-separated values, numbers to the last bit."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from typing import Any

import numpy as np

# A list that holds nothing but numbers, spread over lines by the writer. A line break cannot stand inside
# of a JSON text, so this never matches in one.
_NUMBER = r"-?\d[\d.eE+-]*"
_NUMBERS = re.compile(rf"\[\n\s*({_NUMBER}(?:,\n\s*{_NUMBER})*)\n\s*\]")


def plain_values(value: Any) -> Any:
    """Turn a result into what JSON knows.

    Parameters
    ----------
    value : Any
        Dictionaries, sequences, arrays, numbers, texts.

    Returns
    -------
    Any
        The same with plain Python numbers; a number that is not finite becomes None.

    Examples
    --------
    >>> plain_values({"a": (np.float64(1.5), math.nan)})
    {'a': [1.5, None]}
    """
    if isinstance(value, Mapping):
        return {str(key): plain_values(one) for key, one in value.items()}
    if isinstance(value, np.ndarray):
        return plain_values(value.tolist())
    if isinstance(value, list | tuple):
        return [plain_values(one) for one in value]
    if isinstance(value, np.generic):
        return plain_values(value.item())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def json_text(result: Any) -> str:
    """Write ``result.json``.

    Parameters
    ----------
    result : Simulation or TuneResult
        Finished result.

    Returns
    -------
    str
        Keys in the order of the result, which is the order in which one asks; numbers read back to the same
        bits; lists of numbers on one line.
    """
    return as_json(result.to_dict())


def as_json(values: Any) -> str:
    """Write plain data as JSON.

    Parameters
    ----------
    values : Any
        What `plain_values` takes.

    Returns
    -------
    str
        With a line break at the end.

    Examples
    --------
    >>> print(as_json({"equal_m": [2.0218, 2.9108]}), end="")
    {
      "equal_m": [2.0218, 2.9108]
    }
    """
    text = json.dumps(plain_values(values), indent=2, ensure_ascii=False, allow_nan=False)
    return _NUMBERS.sub(lambda found: f"[{' '.join(found[1].split())}]", text) + "\n"


# A cell that begins so is worked out by spreadsheets, whoever wrote it (known as CSV injection).
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_SIGNED = re.compile(r"[+-]?[\d.,]*\d")  # as lengths with a sign are written


def harmless(text: str) -> str:
    """Keep a text from being taken for a formula.

    Parameters
    ----------
    text : str
        What a cell says.

    Returns
    -------
    str
        The same, with an apostrophe before it where spreadsheets would work it out: numbers with a sign
        are left as they are.

    Examples
    --------
    >>> harmless("=1+1"), harmless("-29.4"), harmless("front")
    ("'=1+1", '-29.4', 'front')
    """
    risky = text.startswith(_FORMULA) and not _SIGNED.fullmatch(text)
    return f"'{text}" if risky else text


def csv_text(columns: Mapping[str, np.ndarray]) -> str:
    """Write a table as comma-separated values.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n,)
        Columns by name, all of one length.

    Returns
    -------
    str
        A line of names, then a line per row; text in quotes where it needs them (RFC 4180), and made
        :func:`harmless`.

    Examples
    --------
    >>> csv_text({"a_m": np.array([0.5]), "b": np.array(['1, 2'], dtype=object)})
    'a_m,b\\n0.5,"1, 2"\\n'
    """
    rows = zip(*(column.tolist() for column in columns.values()), strict=True)
    lines = [columns.keys(), *rows]
    return "".join(",".join(_cell(value) for value in line) + "\n" for line in lines)


def _cell(value: Any) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    text = repr(value) if isinstance(value, float) else str(value)
    if isinstance(value, str):
        text = harmless(value)
    if any(sign in text for sign in ',"\n\r'):
        return '"' + text.replace('"', '""') + '"'
    return text
