"""The figures that the README of the worked studies prints, from running the studies on the open fields.

What they are held against, with its sources, stands in that README and in `test_sections_and_shape.py`.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import overlapsim
from tests.closed_form.test_studies_told import printed

pytestmark = [pytest.mark.registry, pytest.mark.slow]
STUDIES = Path(__file__).resolve().parents[2] / "scenarios" / "studies"
README = (STUDIES / "README.md").read_text(encoding="utf-8")
INCH = 0.0254


def table_of(name: str, data: Path, folder: Path) -> dict[str, np.ndarray]:
    """Run a study on the open fields, wherever they were put."""
    text = (STUDIES / f"{name}.toml").read_text(encoding="utf-8")
    assert "fetched/" in text
    text = text.replace("fetched/", f"{data.as_posix()}/").replace('"bases/', f'"{STUDIES.as_posix()}/bases/')
    path = folder / f"{name}.toml"
    path.write_text(text, encoding="utf-8")
    table = overlapsim.run_study(overlapsim.load_study(path)).table
    assert not any(table["error"])
    return table


def said(words: str) -> None:
    assert words in README, f"the README does not say: {words}"


def test_boom(open_data: Path, tmp_path: Path) -> None:
    table = table_of("boom", open_data, tmp_path)
    area = table["plantable_m2"]
    assert len(area) == 400
    said(f"{area.min() / 1e4:.2f} to {area.max() / 1e4:.0f} ha")
    assert (table["as_set_skip_m2"] <= 1e-9 * area).all()
    lost = table["as_set_combined_m2"] / area
    by = {n: lost[table["switching_sections"] == n] for n in (1, 7, 56)}
    one = table["switching_sections"] == 1
    edge, ha = table["field_perimeter_per_area_per_m"][one], table["field_area_m2"][one] / 1e4
    saved = by[1] - by[7]
    groups = [(ha > 2) & (edge >= a) & (edge < b) for a, b in ((0, 0.015), (0.015, 0.025), (0.025, 9))]
    said(", ".join(f"{100 * np.median(saved[g]):.1f}" for g in groups) + " %")
    said("({}, {} and {} fields above 2 ha)".format(*(int(g.sum()) for g in groups)))
    farm, large = ha > 2, ha > 5
    said(", ".join(f"{np.corrcoef(edge[farm], v[farm])[0, 1] ** 2:.2f}" for v in (by[1], by[7], saved)))
    wide, narrow = 100 * by[1][large], 100 * by[56][large]
    widest = f"{wide.min():.1f} to {wide.max():.0f} %, median {np.median(wide):.1f} %"
    said(f"{widest}; at most {narrow.max():.2f} %")


def test_real_fields(open_data: Path, tmp_path: Path) -> None:
    table = table_of("real-fields", open_data, tmp_path)
    area, distance = table["plantable_m2"], table["machine_ranks_rear_behind_front_m"]
    single, late = table["switching_sections"] == "each-row", table["response_on_latency_s"] > 0.5
    stagger = 100 * table["stagger_combined_m2"] / area
    share = table["stagger_combined_m2"] / table["best_combined_m2"]
    usual = np.isclose(distance, 35 * INCH)
    own, four = single & usual & ~late, ~single & usual & ~late
    assert len(table["case"]) == 1200
    quarters, share = np.quantile(stagger[own], (0.25, 0.5, 0.75)), 100 * share
    assert printed(7) == [
        str(len(set(table["field"]))), "35", *(f"{quarters[i]:.3f}" for i in (1, 0, 2)),
        f"{np.median(share[own]):.0f}", f"{np.median(stagger[four]):.3f}", f"{np.median(share[four]):.0f}",
    ]  # fmt: skip
    near, far = single & ~late & (distance < 0.5), single & ~late & (distance > 1.2)
    edge, best = table["field_perimeter_per_area_per_m"], table["best_combined_m2"] / area
    assert printed(8) == [
        "0.3", "1.5", *(f"{np.median(stagger[which]):.3f}" for which in (near, far)),
        f"{np.corrcoef(edge[far], stagger[far])[0, 1] ** 2:.2f}", "1.5",
        f"{np.corrcoef(edge[own], best[own])[0, 1] ** 2:.2f}", "35",
    ]  # fmt: skip
    midway = 101.5 * INCH
    low, high = table["as_good_low_m"][own], table["as_good_high_m"][own]
    assert ((low <= midway + 1e-9) & (midway <= high + 1e-9)).all()
    excess = 100 * (table["as_set_combined_m2"] / table["best_combined_m2"] - 1)[own].max()
    assert printed(9) == [f"{excess:.2f}", f"{np.median(high - low) / INCH:.1f}"]
    tardy = single & usual & late
    moved = np.median(table["best_reference_offset_m"][own] - table["best_reference_offset_m"][tardy])
    lost = 100 * table["as_set_combined_m2"] / area
    cost = np.median(lost[tardy] - lost[own])
    assert printed(10) == ["0.2", f"{moved / INCH:.1f}", f"{cost:.3f}"]
    # "A twentieth of what the stagger costs".
    assert round(quarters[1] / cost) == 20
