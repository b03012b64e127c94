"""The shape of a field, in the few numbers that studies of section control use."""

from __future__ import annotations

import math

import numpy as np
import shapely

from overlapsim.scenario.field import Field


def shape_of(field: Field, heading: float) -> dict[str, float]:
    """Measure a field's shape.

    Parameters
    ----------
    field : Field
        Ground less its exclusions.
    heading : float
        Of the passes, radians clockwise from north.

    Returns
    -------
    dict of str to float
        `field_area_m2`; `field_perimeter_per_area_per_m`, 1/m, borders of exclusions included;
        `field_convexity`, area over area of the convex hull, summed over parts, no unit; and
        `field_edge_angle_rad`, the mean angle between the boundary and square-on to the passes, each piece
        weighted by its extent across the passes (what a row meets at a pass end), radians, 0 = square ends.

    Examples
    --------
    A rectangle with ends tilted by 30 degrees; its sides, along the passes, are no ends.

    >>> found = shape_of(Field.rectangle(100, 200, math.radians(30)), 0.0)
    >>> round(math.degrees(found["field_edge_angle_rad"]), 9), found["field_convexity"]
    (30.0, 1.0)
    """
    area = field.plantable_m2
    hull = sum(float(part.convex_hull.area) for part in field.parts)
    across, weighted, length = 0.0, 0.0, 0.0
    for part in field.parts:
        for ring in (part.exterior, *part.interiors):
            step = np.diff(shapely.get_coordinates(ring), axis=0)
            # Along and across the passes; the angle is the edge's own against the line square to them.
            along = step @ np.array([math.sin(heading), math.cos(heading)])
            beside = step @ np.array([math.cos(heading), -math.sin(heading)])
            extent = np.abs(beside)
            weighted += float((extent * np.arctan2(np.abs(along), extent)).sum())
            across += float(extent.sum())
            length += float(np.hypot(along, beside).sum())
    return {
        "field_area_m2": area,
        "field_perimeter_per_area_per_m": length / area,
        "field_convexity": area / hull,
        "field_edge_angle_rad": weighted / across,
    }
