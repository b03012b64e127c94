"""A field: plantable ground as sound polygons in metres, and where it came from."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from overlapsim.basics.units import FOOT
from overlapsim.scenario.boundary import sound_polygons
from overlapsim.scenario.placing import place, spot_on
from overlapsim.scenario.plane import Plane
from overlapsim.scenario.rings import must_be_area, refuse, rings_of, spot_in_metres

#: Ends tilted farther than this are no ends any more, rad.
_STEEPEST_END = math.radians(80)


@dataclass(frozen=True, eq=False)
class Field:
    """Plantable ground in the ground frame.

    Two fields are equal when their coordinates are, bit for bit.

    Parameters
    ----------
    parts : tuple of shapely.Polygon
        x east, y north, m; valid, shells counter-clockwise, exclusions as holes.
    name : str
        What people call it.
    origin : dict
        Where it came from, JSON-able: file, layer, where, crs, middle (longitude, latitude in degrees).
    plane : Plane or None
        The way back to the source's coordinates; None for fields in metres.
    notes : tuple of str
        What was repaired, one sentence each.
    textbook : bool
        Whether it stands in for a field that was not given.
    part_names : tuple of str
        Where several fields are taken together: the name of the field that each part belongs to. Else empty.

    Examples
    --------
    >>> Field.rectangle(400, 800).plantable_m2
    320000.0
    """

    parts: tuple[Polygon, ...]
    name: str = ""
    origin: dict[str, Any] = field(default_factory=dict)
    plane: Plane | None = None
    notes: tuple[str, ...] = ()
    textbook: bool = False
    part_names: tuple[str, ...] = ()

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Field) and self.sha256() == other.sha256()

    def __hash__(self) -> int:
        return hash(self.sha256())

    @property
    def plantable_m2(self) -> float:
        """Area of the field less its exclusions, m2."""
        return float(sum(part.area for part in self.parts))

    def sha256(self) -> str:
        """Hash the coordinates.

        Returns
        -------
        str
            64 hexadecimal digits; the same for the same rings in the same order, whatever the name.
        """
        digest = hashlib.sha256()
        for part in self.parts:
            rings = [part.exterior, *part.interiors]
            digest.update(np.array([len(r.coords) for r in rings] + [0], dtype="<i8").tobytes())
            for ring in rings:
                # Adding 0.0 turns a minus zero into a zero.
                digest.update((shapely.get_coordinates(ring) + 0.0).astype("<f8").tobytes())
        return digest.hexdigest()

    @classmethod
    def from_geometry(
        cls,
        polygon: BaseGeometry,
        crs: Any = None,
        name: str = "",
        *,
        origin: dict[str, Any] | None = None,
        key: str = "",
        file: str = "",
    ) -> Field:
        """Make a field of a shapely polygon.

        Parameters
        ----------
        polygon : shapely.Geometry
            Polygon or MultiPolygon; holes are exclusions. x is longitude or easting, y latitude or northing.
        crs : str or pyproj.CRS, optional
            Coordinate system; None means metres in the ground frame.
        name : str
            What people call it.
        origin : dict, optional
            Where it came from, JSON-able.
        key, file : str
            Where it stands, for faults.

        Returns
        -------
        Field
            With a plane through its middle, if it has a coordinate system.

        Raises
        ------
        FieldError
            The geometry is no area or has no single reading; the coordinate system is unknown or does not
            fit.

        Examples
        --------
        >>> square = shapely.box(12.0, 48.0, 12.01, 48.005)
        >>> round(Field.from_geometry(square, "EPSG:4326").plantable_m2 / 1e4, 1)
        41.5
        """
        must_be_area(polygon, key, file)
        origin = dict(origin or {})
        if crs is None:
            sound = sound_polygons(rings_of(polygon), spot_in_metres, key, file)
            return cls(sound.parts, name, origin, None, sound.notes)
        plane, words, notes = place(polygon, crs, key, file)
        origin |= words
        ground = plane.to_ground(shapely.force_2d(polygon))
        sound = sound_polygons(rings_of(ground), spot_on(plane), key, file)
        return cls(sound.parts, name, origin, plane, notes + sound.notes)

    @classmethod
    def rectangle(
        cls,
        east_m: float,
        north_m: float,
        end_angle_rad: float = 0.0,
        exclusions: Sequence[Sequence[Sequence[float]]] = (),
        name: str = "",
    ) -> Field:
        """Make a rectangle round the ground frame's origin, or a parallelogram with both ends tilted.

        Parameters
        ----------
        east_m, north_m : float
            Width east and length north (along the sides), m.
        end_angle_rad : float
            Tilt of the north and the south end against square-on, rad; positive ends lie farther north on the
            east side. The area stays east times north.
        exclusions : sequence of rings
            Points (x, y) in m, per exclusion.
        name : str
            What people call it.

        Returns
        -------
        Field
            Sides along north, centred on (0, 0).

        Raises
        ------
        FieldError
            Lengths that are not positive, ends tilted by more than 80 degrees, unsound exclusions.

        Examples
        --------
        >>> Field.rectangle(100, 200, math.radians(45)).parts[0].bounds
        (-50.0, -150.0, 50.0, 150.0)
        """
        if not (0 < east_m < math.inf and 0 < north_m < math.inf):
            raise refuse(
                "both lengths must be more than nothing", 'Write ["400 m", "800 m"]', "field.rectangle"
            )
        if not abs(end_angle_rad) <= _STEEPEST_END:
            raise refuse(
                "more than 80 degrees off square-on", 'Write an angle like "30 deg"', "field.end_angle"
            )
        half, end = east_m / 2, north_m / 2
        rise = half * math.tan(end_angle_rad)
        corners = [(-half, -end - rise), (half, -end + rise), (half, end + rise), (-half, end - rise)]
        return cls.polygon(corners, exclusions, name=name, key="field.rectangle")

    @classmethod
    def polygon(
        cls,
        points: Sequence[Sequence[float]],
        exclusions: Sequence[Sequence[Sequence[float]]] = (),
        name: str = "",
        *,
        origin: dict[str, Any] | None = None,
        key: str = "field.polygon",
        file: str = "",
    ) -> Field:
        """Make a field of points in metres.

        Parameters
        ----------
        points : sequence of (x, y)
            Boundary in the ground frame, m; closed or not, either way round.
        exclusions : sequence of rings
            Likewise, per exclusion.
        name : str
            What people call it.
        origin : dict, optional
            Where it came from. With crs and middle in it the plane back to the source is laid again.
        key, file : str
            Where it stands, for faults.

        Returns
        -------
        Field
            In the ground frame.

        Raises
        ------
        FieldError
            The points make no sound polygon.

        Examples
        --------
        >>> Field.polygon([[0, 0], [400, 0], [400, 800]]).plantable_m2
        160000.0
        """
        rings = [_pairs(points, "the boundary", key, file)]
        rings += [
            _pairs(ring, f"exclusion {i}", "field.exclusions", file) for i, ring in enumerate(exclusions, 1)
        ]
        sound = sound_polygons([(rings[0], tuple(rings[1:]))], spot_in_metres, key, file)
        origin = dict(origin or {})
        plane = None
        if "crs" in origin and "middle" in origin:
            plane = Plane.through(origin["crs"], *origin["middle"])
        return cls(sound.parts, name, origin, plane, sound.notes)

    @classmethod
    def textbook_80(cls) -> Field:
        """Make the field that stands in where none is given: 1320 ft east by 2640 ft north, 80 acres.

        Returns
        -------
        Field
            Half of a quarter section (common practice), marked as a textbook field.

        Examples
        --------
        >>> round(Field.textbook_80().plantable_m2 / 4046.8564224, 6)
        80.0
        """
        made = cls.rectangle(1320 * FOOT, 2640 * FOOT)
        return cls(made.parts, "Textbook 80 acres", {"textbook": True}, textbook=True)


def _pairs(points: Sequence[Sequence[float]], what: str, key: str, file: str) -> np.ndarray:
    try:
        ring = np.array([[float(x), float(y)] for x, y in points], dtype=float)
    except (TypeError, ValueError, OverflowError):
        raise refuse(
            f"{what} is not a list of points",
            "Write [[0, 0], [400, 0], [400, 800]], in metres",
            key,
            file,
        ) from None
    if len(ring) < 3:
        raise refuse(f"{what} has {len(ring)} points, an area needs three", "Add points", key, file)
    return ring
