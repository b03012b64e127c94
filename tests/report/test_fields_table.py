"""The table of fields: a line for each, and columns that add up to the table of settings."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import shapely

from overlapsim import Scenario, simulate
from overlapsim.report.data import run_report
from overlapsim.report.fields_table import MOST_ROWS, fields_columns, fields_parts
from overlapsim.report.terminal import text_of
from overlapsim.report.words import Words
from overlapsim.report.write import write_results
from overlapsim.scenario.side_by_side import side_by_side
from tests.helpers import BASE, merge, two_ranks


def farm(count: int, **tables: Any) -> Any:
    """Run fields of 40 m by 60, 70, 80... m, passes north."""
    fields = {f"F{i}": shapely.box(100 * i, 0, 100 * i + 40, 60 + 10 * i) for i in range(count)}
    data = merge(BASE, {"machine": two_ranks(4, 4), **tables})
    return simulate(Scenario.from_dict(data, field=side_by_side(fields, name="farm")))


def numbers(rows: list[dict[str, Any]], column: int) -> list[float]:
    return [float(row["cells"][column].replace(",", "")) for row in rows]


@pytest.mark.parametrize("units", ["us", "metric"])
def test_columns_add_up_to_the_table_of_settings(units: str) -> None:
    run = farm(3)
    report = run_report(run, units)
    settings, fields = (part for part in report["parts"] if "rows" in part and part["columns"][0]["unit"])
    assert [row["label"] for row in fields["rows"]] == ["F0", "F1", "F2"]
    whole = settings["rows"][0]["cells"][3:]
    for column, total in enumerate(whole, 1):
        assert sum(numbers(fields["rows"], column)) == pytest.approx(float(total.replace(",", "")))
    assert report["parts"][0]["lines"][0].startswith("farm: 3 fields, ")
    assert "FIELD BY FIELD" in text_of(report)


def test_of_a_search_what_is_lost_now_and_then() -> None:
    now, then = farm(2), farm(2, switching={"reference_offset": "101.5 in"})
    found = SimpleNamespace(as_set=now, recommended=then, scenario=now.scenario)
    (table,) = fields_parts(found, Words("us"))
    assert [" ".join(column["head"]) for column in table["columns"]] == [
        "area",
        "lost now",
        "lost then",
        "saved",
    ]
    before, after, saved = (numbers(table["rows"], column) for column in (1, 2, 3))
    assert [b - a for b, a in zip(before, after, strict=True)] == pytest.approx(saved)
    columns = fields_columns(found)
    assert columns["name"].tolist() == ["F0", "F1"]
    assert sum(columns["skip_m2"]) == pytest.approx(now.areas["skip_m2"])
    assert sum(columns["recommended_skip_m2"]) == pytest.approx(then.areas["skip_m2"])


def test_of_many_fields_those_that_lose_most_get_a_line() -> None:
    run = farm(MOST_ROWS + 3)
    (table,) = fields_parts(run, Words("metric"))
    labels = [row["label"] for row in table["rows"]]
    # A row strip hangs 5 mm over the side of each: longer fields lose more. In the order of the file.
    assert labels == [f"F{i}" for i in range(4, MOST_ROWS + 3)] + ["4 others"]
    total = run.areas["skip_m2"] + run.areas["overlap_m2"] + run.areas["off_field_m2"]
    assert sum(numbers(table["rows"], 4)) == round(total)
    assert len(fields_columns(run)["name"]) == MOST_ROWS + 3


def test_files_tell_fields_too(tmp_path: Path) -> None:
    run = farm(2)
    folder = write_results(run, tmp_path / "farm").folder
    told = json.loads((folder / "result.json").read_text("utf-8"))["fields"]
    with open(folder / "fields.csv", encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["name"] for row in rows] == [one["name"] for one in told] == ["F0", "F1"]
    assert [float(row["skip_m2"]) for row in rows] == [one["skip_m2"] for one in told]


def test_one_field_gets_no_table() -> None:
    run = simulate(Scenario.from_dict(merge(BASE, {"machine": two_ranks(4, 4)})))
    assert fields_parts(run, Words("us")) == []
    assert "fields" not in run.to_dict()
