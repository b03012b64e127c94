"""What digs can tell apart, which combinations they tell where they cannot, and what would settle it."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from overlapsim.basics.frames import Floats
from overlapsim.questions.digs import BETWEEN, DX, Dig, DigModel
from overlapsim.questions.least_squares import Fit, Known
from overlapsim.questions.loose import loose_directions, settled

OTHER_SPEED = 1.5
"""A second speed as a share of the first, to see whether it would help; any other would do as well."""


@dataclass(frozen=True)
class Together:
    """A combination of unknowns that is known where its parts are not.

    Attributes
    ----------
    row : ndarray, shape (p,)
        Coefficients of all unknowns.
    coefficients : dict of str to float
        Those that are not zero, by name; metres per unit.
    dig : Dig
        A dig that shows it.
    """

    row: Floats
    coefficients: dict[str, float]
    dig: Dig


def tape(model: DigModel, error: float) -> Known:
    """Take the taped distances for data.

    Parameters
    ----------
    model : DigModel
        With its unknowns.
    error : float
        Standard error of each distance, m.

    Returns
    -------
    Known
        The offset has nothing too much, and ranks stand as far apart as described, give or take the error.
    """
    rows = np.eye(len(model.unknowns))
    told = [i for i, name in enumerate(model.unknowns) if name == DX or name.startswith(BETWEEN)]
    return Known(rows[told], np.zeros(len(told)), np.full(len(told), error))


def known_together(model: DigModel, digs: Sequence[Dig], fit: Fit) -> list[Together]:
    """Find combinations that are known where their parts are not.

    Parameters
    ----------
    model : DigModel
        With its unknowns.
    digs : sequence of Dig
        What was dug.
    fit : Fit
        Fitted to them.

    Returns
    -------
    list of Together
        As few as say all that is known: one for each kind of dig that adds something, without what is known
        by itself.
    """
    names = model.unknowns
    alone = np.array([fit.is_known(row) for row in np.eye(len(names))])
    found: list[Together] = []
    rows = np.empty((0, len(names)))
    if not fit.loose.shape[1]:
        return found
    kinds = {(dig.end, dig.speed, dig.rank, dig.direction): dig for dig in digs}
    for dig in kinds.values():
        row = np.where(alone, 0.0, model.design([dig])[0])
        more = np.vstack([rows, row])
        if np.linalg.matrix_rank(more, tol=1e-6) > len(rows):
            rows = more
            shown = {name: float(x) for name, x in zip(names, row, strict=True) if x}
            found.append(Together(row, shown, dig))
    return found


def what_would_settle(
    model: DigModel, digs: Sequence[Dig], tape_error: float | None
) -> list[tuple[str, ...]]:
    """Find the fewest kinds of further digs that would tell everything apart.

    Parameters
    ----------
    model : DigModel
        With its unknowns.
    digs : sequence of Dig
        What was dug.
    tape_error : float or None
        As the digs were fitted, m.

    Returns
    -------
    list of tuple of str
        Each is enough by itself; empty where nothing is missing.
    """
    known = Known.nothing(len(model.unknowns)) if tape_error is None else tape(model, tape_error)
    have = np.vstack([model.design(digs), known.design])
    if not loose_directions(have).shape[1]:
        return []
    offers = _offers(model, digs)
    if tape_error is None:
        offers["distances taped and trusted (--tape-error)"] = tape(model, 1.0).design
    for size in range(1, len(offers) + 1):
        enough = [
            chosen
            for chosen in itertools.combinations(offers, size)
            if not loose_directions(np.vstack([have, *(offers[name] for name in chosen)])).shape[1]
        ]
        if enough:
            return enough
    return []


def _offers(model: DigModel, digs: Sequence[Dig]) -> dict[str, Floats]:
    """Kinds of digs that could be added, with their rows."""
    offers: dict[str, list[Dig]] = {}
    for end, name in (("on", "starts"), ("off", "stops")):
        own = [dig for dig in digs if dig.end == end]
        if own:
            offers[f"{name} at another speed"] = [
                replace(own[0], speed=OTHER_SPEED * max(d.speed for d in own))
            ]
        else:
            offers[name] = [replace(digs[0], end=end)]
    directions = {dig.direction for dig in digs}
    for other, name in (("out", "digs on the way out"), ("back", "digs on the way back")):
        if other not in directions:
            offers[name] = [replace(dig, direction=other) for dig in digs[:1]]
    ranks = {dig.rank for dig in digs}
    for rank in model.scenario.machine.working_ranks:
        if rank not in ranks:
            offers[f"rows of rank {rank}"] = [replace(dig, rank=rank) for dig in digs[:1]]
    return {name: model.design(some) for name, some in offers.items()}


def is_told(name: str, model: DigModel, rows: Floats) -> bool:
    """Tell whether rows of a design settle one unknown.

    Parameters
    ----------
    name : str
        Of the unknown.
    model : DigModel
        With its unknowns.
    rows : ndarray, shape (n, p)
        Rows of digs and of what is known.

    Returns
    -------
    bool
        True if they do.
    """
    row = np.eye(len(model.unknowns))[model.unknowns.index(name)]
    return settled(row, loose_directions(rows))


def not_told_with_fewer(
    model: DigModel, digs: Sequence[Dig], tape_error: float | None
) -> list[dict[str, object]]:
    """Say what could not be told apart if something were left out of a plan.

    Parameters
    ----------
    model : DigModel
        With its unknowns.
    digs : sequence of Dig
        As planned.
    tape_error : float or None
        Standard error of the taped distances, m; None = not trusted.

    Returns
    -------
    list of dict
        `with`: what would be left; `not_told`: names of unknowns that the whole plan tells and this does not.
    """
    first = digs[0]
    left_out: dict[str, list[Dig]] = {
        "one speed only": [dig for dig in digs if dig.speed == first.speed],
        "stops only": [dig for dig in digs if dig.end == "off"],
        "starts only": [dig for dig in digs if dig.end == "on"],
        "one direction only": [dig for dig in digs if dig.direction == first.direction],
        "one rank only": [dig for dig in digs if dig.rank == first.rank],
    }
    known = Known.nothing(len(model.unknowns)) if tape_error is None else tape(model, tape_error)
    rows = np.vstack([model.design(digs), known.design])
    told = [name for name in model.unknowns if is_told(name, model, rows)]
    said: list[dict[str, object]] = []
    for what, some in left_out.items():
        if len(some) == len(digs):
            continue
        rows = np.vstack([model.design(some), known.design])
        untold = [name for name in told if not is_told(name, model, rows)]
        said += [{"with": what, "not_told": untold}] if untold else []
    if tape_error is not None:
        untold = [name for name in told if not is_told(name, model, model.design(digs))]
        said += [{"with": "no tape to trust", "not_told": untold}] if untold else []
    return said
