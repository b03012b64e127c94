"""What a study shows: how results depend on each factor, on pairs of them, and on shape; with intervals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from overlapsim.basics.frames import Bools, Floats
from overlapsim.questions.study import StudyResult
from overlapsim.questions.study_columns import SHAPE
from overlapsim.questions.study_indices import indices_of

MOST_LEVELS = 12
"""Values of a factor that are told one by one; more are put into classes of equal numbers of cases."""

CLASSES = 6
"""Such classes, for numbers (this program's choice)."""

CONFIDENCE = 0.95
"""Of intervals of medians."""

PAIRS = 3
"""Factors whose pairs are told: those that move a result most."""

RESPONSES = {
    "as_set_share": ("as_set_combined_m2", "combined error as entered, share of the field"),
    "best_share": ("best_combined_m2", "combined error at the best offset, share of the field"),
    "stagger_share": ("stagger_combined_m2", "what stagger adds at the best offset, share of the field"),
    "best_offset_m": ("best_reference_offset_m", "best reference offset, m behind the hitch pin"),
}
"""Results that effects are told of: column, and words; all but the last are divided by the plantable area."""


@dataclass(frozen=True)
class Sorted:
    """Cases that went well, with the class of each for every factor.

    Attributes
    ----------
    responses : dict of str to ndarray, shape (cases,)
        By the names of :data:`RESPONSES`: shares (no unit) and metres.
    levels : dict of str to tuple
        For each factor or measure of shape the labels of its classes, and each case's class from 0.
    good : ndarray of bool, shape (all cases,)
        Which cases went well.
    """

    responses: dict[str, Floats]
    levels: dict[str, tuple[list[str], np.ndarray]]
    good: Bools


def sort_cases(result: StudyResult) -> Sorted:
    """Sort the cases of a study by its factors.

    Parameters
    ----------
    result : StudyResult
        Finished study.

    Returns
    -------
    Sorted
        With several fields their shape counts as a factor too, in classes.
    """
    study = result.study
    factors = [study.column_of(one) for one in study.design.factors]
    known = {column.name: column for column in study.columns}
    shape = [name for name in SHAPE if study.fields is not None]
    columns = [name for name, _ in RESPONSES.values() if name in known]
    read = result.take([*dict.fromkeys([*factors, *shape, *columns, "plantable_m2", "error"])])
    good = np.array([not why for why in read["error"]], dtype=bool)
    responses = {}
    for name, (column, _) in RESPONSES.items():
        if column in read:
            values = read[column].astype(float)
            responses[name] = (values / read["plantable_m2"] if name.endswith("share") else values)[good]
    levels = {name: classes_of(read[name][good]) for name in dict.fromkeys([*factors, *shape])}
    return Sorted(responses, levels, good)


def classes_of(values: np.ndarray) -> tuple[list[str], np.ndarray]:
    """Sort values into classes: one for each value where there are few, else of equal numbers of cases.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Numbers in any unit, or texts.

    Returns
    -------
    labels : list of str
        Of the classes, in order.
    class : ndarray of int, shape (n,)
        From 0.

    Examples
    --------
    >>> classes_of(np.array([1.0, 2.0, 1.0]))[0]
    ['1', '2']
    """
    if values.dtype == object:
        texts = list(dict.fromkeys(values.tolist()))
        place = {text: i for i, text in enumerate(texts)}
        return texts, np.array([place[text] for text in values], dtype=np.int64)
    unique, which = np.unique(values, return_inverse=True)
    if len(unique) <= MOST_LEVELS:
        return [f"{one:.6g}" for one in unique], which
    cuts = np.quantile(values, np.linspace(0, 1, CLASSES + 1)[1:-1], method="inverted_cdf")
    which = np.searchsorted(cuts, values, side="left")
    labels = []
    for i in range(CLASSES):
        own = values[which == i]
        labels.append(f"{own.min():.3g} to {own.max():.3g}" if len(own) else "none")
    return labels, which


def quartiles(values: Floats) -> dict[str, float]:
    """Say where the middle of some values lies, and how surely.

    Parameters
    ----------
    values : ndarray, shape (n,)
        In any unit.

    Returns
    -------
    dict
        `n`, `q1`, `median`, `q3`, and `low` and `high`, the ends of the 95 % percentile bootstrap interval of
        the median, in the values' unit.

    Notes
    -----
    The bootstrap (Efron 1979, Annals of Statistics 7:1-26) is taken to its limit of ever more resamples:
    of n ranks drawn evenly with replacement the middle one, over n, is distributed as Beta((n + 1)/2,
    (n + 1)/2) (exactly for odd n). So nothing is drawn, and the same cases give the same interval.

    Examples
    --------
    >>> quartiles(np.arange(9.0))
    {'n': 9, 'q1': 2.0, 'median': 4.0, 'q3': 6.0, 'low': 1.0, 'high': 7.0}
    """
    from scipy.stats import beta

    ordered = np.sort(values)
    n = len(ordered)
    q1, middle, q3 = (float(one) for one in np.quantile(ordered, (0.25, 0.5, 0.75)))
    spare = (1 - CONFIDENCE) / 2
    ranks = n * beta.ppf([spare, 1 - spare], (n + 1) / 2, (n + 1) / 2)
    low, high = ordered[np.clip(ranks.astype(np.int64), 0, n - 1)].tolist()
    return {"n": n, "q1": q1, "median": middle, "q3": q3, "low": low, "high": high}


def main_effects(cases: Sorted) -> list[dict[str, Any]]:
    """Tell each result for each value of each factor, all others as they come.

    Parameters
    ----------
    cases : Sorted
        Of a study.

    Returns
    -------
    list of dict
        `response`, `factor`, `level`, and what `quartiles` gives.
    """
    rows = []
    for response, values in cases.responses.items():
        for factor, (labels, which) in cases.levels.items():
            if len(labels) < 2 or len(labels) > 2 * MOST_LEVELS:
                continue
            for i, label in enumerate(labels):
                own = values[which == i]
                own = own[np.isfinite(own)]
                if len(own):
                    rows.append(
                        {"response": response, "factor": factor, "level": label, **quartiles(own)}
                    )
    return rows


def interactions(cases: Sorted, effects: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Tell each result for pairs of values of the factors that move it most.

    Parameters
    ----------
    cases : Sorted
        Of a study.
    effects : sequence of dict
        Of `main_effects`.

    Returns
    -------
    list of dict
        `response`, `factor_a`, `level_a`, `factor_b`, `level_b`, and what `quartiles` gives.
    """
    rows = []
    for response, values in cases.responses.items():
        spread: dict[str, list[float]] = {}
        for one in effects:
            if one["response"] == response and one["factor"] not in SHAPE:
                spread.setdefault(one["factor"], []).append(one["median"])
        moving = sorted(spread, key=lambda name: min(spread[name]) - max(spread[name]))[:PAIRS]
        for a, b in combinations(moving, 2):
            (labels_a, in_a), (labels_b, in_b) = cases.levels[a], cases.levels[b]
            for i, j in np.ndindex(len(labels_a), len(labels_b)):
                own = values[(in_a == i) & (in_b == j)]
                own = own[np.isfinite(own)]
                if len(own):
                    rows.append(
                        {
                            "response": response,
                            "factor_a": a, "level_a": labels_a[i],
                            "factor_b": b, "level_b": labels_b[j],
                            **quartiles(own),
                        }
                    )  # fmt: skip
    return rows


def shape_correlations(result: StudyResult, cases: Sorted) -> list[dict[str, Any]]:
    """Hold results against the shape of fields.

    Parameters
    ----------
    result : StudyResult
        Finished study.
    cases : Sorted
        Its cases.

    Returns
    -------
    list of dict
        `response`, `measure`, `factor` and `level` (empty: all settings), `r2` (of a straight line) and
        `rank_correlation` (Spearman's), no units. Each field counts once, with the mean over its settings.
        Empty without several fields.
    """
    from scipy.stats import spearmanr

    if result.study.fields is None or len(result.study.fields) < 3:
        return []
    read = result.take(["field", *SHAPE])
    _, first, which = np.unique(read["field"][cases.good].astype(str), return_index=True, return_inverse=True)
    groups: list[tuple[str, str, Bools]] = [("", "", np.ones(len(which), dtype=bool))]
    for factor, (labels, level) in cases.levels.items():
        if factor not in ("field", *SHAPE) and 1 < len(labels) <= MOST_LEVELS:
            groups += [(factor, label, level == i) for i, label in enumerate(labels)]
    rows = []
    for response, values in cases.responses.items():
        for measure in SHAPE:
            shape = read[measure][cases.good][first]
            for factor, label, chosen in groups:
                count = np.bincount(which[chosen], minlength=len(first))
                total = np.bincount(which[chosen], values[chosen], minlength=len(first))
                mean, own = total[count > 0] / count[count > 0], shape[count > 0]
                if len(own) > 2 and np.ptp(own) > 0 and np.ptp(mean) > 0:
                    r2 = float(np.corrcoef(own, mean)[0, 1] ** 2)
                    rank = float(spearmanr(own, mean).statistic)
                    one = {"response": response, "measure": measure, "factor": factor, "level": label}
                    rows.append({**one, "r2": r2, "rank_correlation": rank})
    return rows


def told_of(result: StudyResult) -> dict[str, Any]:
    """Gather all that a study shows.

    Parameters
    ----------
    result : StudyResult
        Finished study.

    Returns
    -------
    dict
        `responses`, `effects`, `interactions`, `indices` (and `indices_from`, in words), `shape`.
    """
    cases = sort_cases(result)
    if not cases.good.any():
        nothing: dict[str, Any] = {"responses": {}, "effects": [], "interactions": [], "indices": []}
        return {**nothing, "indices_from": "No case went well.", "shape": []}
    effects = main_effects(cases)
    indices, origin = indices_of(result.study, result.take(["case"])["case"], cases.responses, cases.good)
    return {
        "responses": {name: words for name, (_, words) in RESPONSES.items() if name in cases.responses},
        "effects": effects,
        "interactions": interactions(cases, effects),
        "indices": indices,
        "indices_from": origin,
        "shape": shape_correlations(result, cases),
    }
