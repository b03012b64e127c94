"""result.json and sweep.csv: whole numbers of bits, nothing that other readers choke on."""

from __future__ import annotations

import csv
import io
import json
import math
import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from overlapsim.report.values import as_json, csv_text, json_text
from tests.report.fake import example


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), max_size=5), st.text(max_size=20))
def test_numbers_and_texts_read_back_to_the_last_bit(numbers: list[float], text: str) -> None:
    pairs = [[n, n] for n in numbers]
    values = {"numbers": np.array(numbers), "pairs": pairs, "text": text, "whole": np.int64(7)}
    read = json.loads(as_json(values))
    for one, other in zip(read["numbers"], numbers, strict=True):
        assert struct.pack("<d", one) == struct.pack("<d", other)
    assert read["pairs"] == pairs
    assert read["text"] == text
    assert read["whole"] == 7


def test_what_is_not_finite_is_null() -> None:
    assert json.loads(as_json({"a": [math.nan, np.inf, 1.0], "b": np.float64(-math.inf)})) == {
        "a": [None, None, 1.0],
        "b": None,
    }


def test_lists_of_numbers_stand_on_one_line_and_keys_in_their_order() -> None:
    text = as_json({"b": [[1.5, -2e-9], [3, 4]], "a": ["[", "]"]})
    assert "[1.5, -2e-09]" in text
    assert text.index('"b"') < text.index('"a"')


def test_a_text_that_looks_like_a_list_stays_as_it_is() -> None:
    text = "[\n    1,\n    2\n]"
    assert json.loads(as_json({"a": text}))["a"] == text


def test_a_result_is_written_in_its_own_order() -> None:
    result = example()
    assert list(json.loads(json_text(result))) == list(result.to_dict())


TEXTS = st.text(st.characters(exclude_categories=("Cs",)))


@given(st.lists(st.tuples(st.floats(allow_nan=False), TEXTS), min_size=1))
def test_tables_read_back(rows: list[tuple[float, str]]) -> None:
    numbers = np.array([number for number, _ in rows])
    texts = np.array([text for _, text in rows] + [None], dtype=object)[:-1]
    text = csv_text({"number_m": numbers, 'a "name", with, commas': texts})
    head, *read = csv.reader(io.StringIO(text, newline=""))
    assert head == ["number_m", 'a "name", with, commas']
    for (number, words), (expected, said) in zip(read, rows, strict=True):
        assert float(number) == expected
        assert words in (said, f"'{said}" if said[:1] in tuple("=+-@\t\r") else said)


@pytest.mark.parametrize("said", ["=A1()", "+1+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "-", "=", "--1"])
def test_formulas_stay_text(said: str) -> None:
    text = csv_text({"name": np.array([said], dtype=object), said: np.array([1.5])})
    head, row = csv.reader(io.StringIO(text, newline=""))
    assert head == ["name", f"'{said}"]
    assert row == [f"'{said}", "1.5"]


@pytest.mark.parametrize("said", ["-29.4", "+5.6", "-1,250.5", "front", "3-row", ""])
def test_numbers_with_signs_stay_numbers(said: str) -> None:
    row = list(csv.reader(io.StringIO(csv_text({"a": np.array([said, "x"], dtype=object)}), newline="")))[1]
    assert row == ([said] if said else [])
    assert csv_text({"a": np.array([-0.5])}) == "a\n-0.5\n"


def test_what_is_not_known_is_left_empty() -> None:
    assert csv_text({"a": np.array([math.nan, 0.1 + 0.2])}) == "a\n\n0.30000000000000004\n"
