"""What cases of a study read without simulating: areas from a ledger, sides from a rectangle."""

from __future__ import annotations

import numpy as np
import shapely

from overlapsim.basics.errors import Fault, InputError
from overlapsim.basics.frames import Floats
from overlapsim.control.ledger import Ledger
from overlapsim.control.run import simulate
from overlapsim.questions.search import with_offset
from overlapsim.questions.targets import row_targets
from overlapsim.scenario.field import Field
from overlapsim.scenario.scenario import Scenario


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
        Of this scenario; offsets beyond its range are simulated.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        By the names of :data:`AREAS`, m² and metres.
    """
    read, planted = ledger.curve.at(offsets), ledger.planted.at(offsets)[:, 0]
    target = row_targets(scenario).target
    half = len(target) // 2
    late, early = offsets - target[:half].min(), target[half:].max() - offsets
    found = {
        "skip_m2": read[:, 0],
        "overlap_m2": read[:, 1],
        "off_field_m2": read[:, 2],
        "combined_m2": ledger.combined.at(offsets)[:, 0],
        "planted_m2": planted,
        "worst_row_error_m": np.maximum(offsets - target.min(), target.max() - offsets),
        "longest_gap_m": np.maximum(np.maximum(late, early), 0.0),
    }
    knots = ledger.curve.knot
    for i in np.flatnonzero((offsets < knots[0]) | (offsets > knots[-1])):
        run = simulate(with_offset(scenario, float(offsets[i])))
        for name in found:
            found[name][i] = run.areas[name]
    return found
