"""Which factor a result owes its spread to: first-order and total sensitivity indices."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from overlapsim.basics.frames import Bools, Floats
from overlapsim.questions.study_plan import Study

CONFIDENCE = 0.95
"""Of the intervals of a Saltelli sample's indices."""

RESAMPLES = 200
"""Bootstrap samples: the ends of a 95 % interval rest on the five outermost of them on each side."""

FLAT = 1e-12
"""Spread below this share of the mean square is rounding: nothing to divide up."""


def indices_of(
    study: Study, number: np.ndarray, responses: Mapping[str, Floats], good: Bools
) -> tuple[list[dict[str, Any]], str]:
    """Share the variance of each result out among the factors.

    Parameters
    ----------
    study : Study
        With its design.
    number : ndarray of int, shape (all cases,)
        Column `case` of the table.
    responses : mapping of str to ndarray, shape (cases,)
        Results of the cases that went well, by name, in any unit.
    good : ndarray of bool, shape (all cases,)
        Which cases went well.

    Returns
    -------
    rows : list of dict
        `response`, `factor`, `first` and `total` (shares of the variance, no unit), with `first_low` and so
        on for a Saltelli sample; empty where there are none.
    words : str
        What they rest on, or why there are none.

    Notes
    -----
    On a full grid the shares are exact for the grid's own values, each as likely as any other: the first
    index is the variance of the means over all other factors, the total index what is left when the variance
    of the means over this factor alone is taken off (Sobol' 1993, Mathematical Modelling and Computational
    Experiment 1:407-414). Of a Saltelli sample they are estimated (Saltelli et al. 2010, Computer Physics
    Communications 181:259-270), with bootstrap intervals.
    """
    method, many = study.design.method, len(study.design.factors)
    if method not in ("grid", "saltelli"):
        return [], f'A {method} sample gives no indices: take a grid or method = "saltelli".'
    if not good.all():
        return [], "Cases failed: the sample has holes, so there are no indices."
    rows: list[dict[str, Any]] = []
    order = np.argsort(number)
    for response, values in responses.items():
        whole = values[order]
        if not np.isfinite(whole).all() or np.var(whole) <= FLAT * np.mean(whole**2):
            continue
        own = on_grid(study, whole) if method == "grid" else _on_pairs(study, whole, many)
        rows += [{"response": response, **one} for one in own]
    return rows, "the full grid, exact for its values" if method == "grid" else "a Saltelli sample"


def on_grid(study: Study, values: Floats) -> list[dict[str, Any]]:
    """Share the variance of a full grid out.

    Parameters
    ----------
    study : Study
        With a grid.
    values : ndarray, shape (cases,)
        A result, in any unit, by number of the case.

    Returns
    -------
    list of dict
        `factor`, `first`, `total`; no units.
    """
    factors = study.design.factors
    cube = values.reshape([len(one.values) for one in factors])
    whole = float(np.var(cube))
    rows = []
    for j, one in enumerate(factors):
        if cube.shape[j] < 2:
            continue
        others = tuple(i for i in range(cube.ndim) if i != j)
        first = float(np.var(cube.mean(axis=others))) / whole
        # Where a factor moves nothing, rounding takes it below zero.
        total = max(0.0, 1.0 - float(np.var(cube.mean(axis=j))) / whole)
        rows.append({"factor": one.key, "first": first, "total": total})
    return rows


def _on_pairs(study: Study, values: Floats, many: int) -> list[dict[str, Any]]:
    """Estimate the shares from A, B, and A with one column of B; intervals from resampled rows."""
    size = study.design.size
    parts = values.reshape(many + 2, size)
    first, total = _estimate(parts)
    random = np.random.default_rng(study.design.seed)
    drawn = np.array([_estimate(parts[:, random.integers(0, size, size)]) for _ in range(RESAMPLES)])
    spare = (1 - CONFIDENCE) / 2
    low, high = np.quantile(drawn, (spare, 1 - spare), axis=0)
    return [
        {
            "factor": one.key,
            "first": float(first[j]), "first_low": float(low[0, j]), "first_high": float(high[0, j]),
            "total": float(total[j]), "total_low": float(low[1, j]), "total_high": float(high[1, j]),
        }
        for j, one in enumerate(study.design.factors)
    ]  # fmt: skip


def _estimate(parts: Floats) -> tuple[Floats, Floats]:
    from scipy.stats import sobol_indices

    given = {"f_A": parts[0][None], "f_B": parts[1][None], "f_AB": parts[2:][:, None]}
    found = sobol_indices(func=given, n=parts.shape[1])
    return np.atleast_2d(found.first_order)[0], np.atleast_2d(found.total_order)[0]
