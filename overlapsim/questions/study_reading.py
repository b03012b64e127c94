"""What cases of a study read without simulating: areas from a ledger, sides from a rectangle."""

from __future__ import annotations

import numpy as np
import shapely

from overlapsim.basics.errors import Fault, InputError
from overlapsim.basics.frames import Floats
from overlapsim.control.ledger import Ledger, build_ledger
from overlapsim.questions.targets import row_targets
from overlapsim.scenario.field import Field
from overlapsim.scenario.scenario import Scenario

WIDER = 1.0
"""Metres by which a ledger is widened at both ends, as often as it takes, for offsets beyond its range."""


def sides_of(field: Field) -> tuple[float, float]:
    """Read the sides of an upright rectangle, its ends tilted or not.

    Parameters
    ----------
    field : Field
        Made by `Field.rectangle`.

    Returns
    -------
    east, north : float
        Metres.

    Raises
    ------
    InputError
        It is another shape.
    """
    corners = shapely.get_coordinates(field.parts[0].exterior)[:-1]
    west, _, east, _ = field.parts[0].bounds
    upright = len(field.parts) == 1 and len(corners) == 4 and not field.parts[0].interiors
    if not upright or not np.isin(corners[:, 0], (west, east)).all():
        raise InputError(Fault("the base's field is no rectangle", "Write rectangle = […] in its [field]."))
    return east - west, field.plantable_m2 / (east - west)


def areas_read(scenario: Scenario, offsets: Floats, ledger: Ledger) -> dict[str, Floats]:
    """Read the areas of many reference offsets from one ledger, without headland laps.

    Parameters
    ----------
    scenario : Scenario
        All but the offset.
    offsets : ndarray, shape (n,)
        Metres behind the hitch pin.
    ledger : Ledger
        Of this scenario.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        By the names of :data:`AREAS`, m² and metres.
    """
    read = read_ledger(scenario, offsets, ledger)
    target = row_targets(scenario).target
    half = len(target) // 2
    late, early = offsets - target[:half].min(), target[half:].max() - offsets
    return {
        "skip_m2": read[:, 0],
        "overlap_m2": read[:, 1],
        "off_field_m2": read[:, 2],
        "combined_m2": read[:, 3],
        "planted_m2": read[:, 4],
        "worst_row_error_m": np.maximum(offsets - target.min(), target.max() - offsets),
        "longest_gap_m": np.maximum(np.maximum(late, early), 0.0),
    }


def read_ledger(scenario: Scenario, offsets: Floats, ledger: Ledger) -> Floats:
    """Read reference offsets from a ledger, and from wider ones where it does not reach.

    Parameters
    ----------
    scenario : Scenario
        All but the offset.
    offsets : ndarray, shape (n,)
        Metres behind the hitch pin.
    ledger : Ledger
        Of this scenario.

    Returns
    -------
    ndarray, shape (n, 5)
        Skip, overlap, off-field, combined error and planted area, m². Each depends on its own offset only,
        not on what else is read.
    """
    low, high = float(ledger.curve.knot[0]), float(ledger.curve.knot[-1])
    beyond = np.ceil(np.maximum(np.maximum(low - offsets, offsets - high), 0.0) / WIDER)
    found = np.empty((len(offsets), 5))
    for steps in np.unique(beyond).tolist():
        own = beyond == steps
        by = steps * WIDER
        one = build_ledger(scenario, low - by, high + by) if steps else ledger
        at = offsets[own]
        found[own] = np.hstack([one.curve.at(at), one.combined.at(at), one.planted.at(at)])
    return found
