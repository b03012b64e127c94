"""Does a coordinate system fit the coordinates? Then the plane through their middle."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from overlapsim.scenario.plane import Plane, counts_degrees, degrees, horizontal
from overlapsim.scenario.rings import Spot, refuse, spot_in_metres

#: No field lies farther south or north, deg (farmland reaches from about 55 south to 70 north; common
#: knowledge, no source): beyond, longitude and latitude are the wrong way round.
SOUTHERNMOST_DEG, NORTHERNMOST_DEG = -60.0, 75.0
#: A field farther than this outside the area that its coordinate system is made for has the wrong one, deg.
#: (Grids are used some degrees beyond their zone as a matter of course: one zone for a whole country.)
FAR_OUTSIDE_DEG = 3.0


def place(
    geometry: shapely.Geometry, crs: Any, key: str = "", file: str = ""
) -> tuple[Plane, dict[str, Any], tuple[str, ...]]:
    """Lay the plane through a geometry's middle, once its coordinates are seen to fit its coordinate system.

    Parameters
    ----------
    geometry : shapely.Geometry
        Areas in the source's coordinates, x first (longitude or easting).
    crs : str or pyproj.CRS
        The coordinate system.
    key, file : str
        Where it stands, for faults.

    Returns
    -------
    plane : Plane
        Through the middle of the geometry's bounds.
    words : dict
        `crs` (authority code, else WKT) and `middle` (longitude, latitude, degrees), JSON-able.
    notes : tuple of str
        What to tell people.

    Raises
    ------
    FieldError
        Unknown coordinate system, or coordinates that cannot be meant in it.

    Examples
    --------
    >>> plane, words, notes = place(shapely.box(12.0, 48.0, 12.01, 48.01), "EPSG:4326")
    >>> words["crs"], [round(degree, 3) for degree in words["middle"]]
    ('EPSG:4326', [12.005, 48.005])
    """
    try:
        system = horizontal(crs)
    except ValueError as error:
        raise refuse(str(error), 'Write crs = "EPSG:4326" or the like', key, file) from None
    if system.geodetic_crs is None or not (system.is_geographic or system.is_projected):
        raise refuse(
            f"its coordinate system ({system.name}) has no place on the earth",
            'State crs = "EPSG:…"',
            key,
            file,
        )
    xy = shapely.get_coordinates(geometry)
    bad = ~np.isfinite(xy).all(axis=1)
    if bad.any():
        more = f" ({int(bad.sum())} such points)" if bad.sum() > 1 else ""
        first = int(np.flatnonzero(bad)[0]) + 1
        raise refuse(f"point {first} is not a finite number{more}", "Ask for the boundary again", key, file)
    west, south, east, north = xy.min(axis=0).tolist() + xy.max(axis=0).tolist()
    if system.is_geographic and counts_degrees(system):
        _degrees(west, south, east, north, key, file)
    elif system.is_projected and max(abs(west), abs(east)) <= 180 and max(abs(south), abs(north)) <= 90:
        raise refuse(
            f"coordinates like {west:.4f}, {south:.4f} look like degrees, {system.name} is a grid",
            'State crs = "EPSG:4326"',
            key,
            file,
        )
    middle = (west + east) / 2, (south + north) / 2
    longitude, latitude = degrees(system, *middle)
    notes = _inside(system, middle, (longitude, latitude), key, file)
    authority = system.to_authority(min_confidence=100)
    words = {"crs": ":".join(authority) if authority else system.to_wkt(), "middle": [longitude, latitude]}
    return Plane.through(system, longitude, latitude), words, notes


def _degrees(west: float, south: float, east: float, north: float, key: str, file: str) -> None:
    """Refuse coordinates that no longitude and latitude can be."""
    if max(abs(west), abs(east)) > 360 or max(abs(south), abs(north)) > 180:
        raise refuse(
            f"coordinates like {west:.0f}, {south:.0f} are no degrees",
            'State the grid they are in, crs = "EPSG:…"',
            key,
            file,
        )
    if max(abs(south), abs(north)) > 90:
        raise refuse(
            f"latitude {max(south, north, key=abs):.4f} is beyond 90 degrees",
            "Are longitude and latitude swapped? Longitude comes first",
            key,
            file,
        )
    if (far := (south + north) / 2) < SOUTHERNMOST_DEG or far > NORTHERNMOST_DEG:
        raise refuse(
            f"lies at latitude {far:.4f}, where no field is",
            "Are longitude and latitude swapped? Longitude comes first",
            key,
            file,
        )
    if east - west > 180:
        raise refuse(
            "lies on both sides of the 180th meridian", "Give longitudes beyond 180 on one side", key, file
        )


def _inside(
    system: Any, middle: tuple[float, float], at: tuple[float, float], key: str, file: str
) -> tuple[str, ...]:
    """Compare with the area that the coordinate system is made for."""
    area = system.area_of_use
    outside = _degrees_outside(area, at)
    if outside <= 0:
        return ()
    lies = (
        "nowhere on the earth"
        if not np.isfinite(at).all()
        else f"at longitude {at[0]:.3f}, latitude {at[1]:.3f}"
    )
    made_for = f", made for {area.name.split(':')[0]}" if area else ""
    if outside > FAR_OUTSIDE_DEG:
        swapped = degrees(system, middle[1], middle[0])
        hint = "Is crs the right one?"
        if area and _degrees_outside(area, swapped) <= 0:
            hint = "Are the two coordinates swapped? East (longitude) comes first"
        raise refuse(f"lies {lies}, outside of {system.name}{made_for}", hint, key, file)
    return (f"lies {lies}, {outside:.1f} degrees outside of {system.name}{made_for}",)


def _degrees_outside(area: Any, at: tuple[float, float]) -> float:
    """Give by how many degrees a place lies outside of an area of use (0 if there is none)."""
    longitude, latitude = at
    if not (np.isfinite(longitude) and np.isfinite(latitude) and abs(latitude) <= 90):
        return np.inf
    if area is None:
        return 0.0
    width = (area.east - area.west) % 360 or 360.0
    past = (longitude - area.west) % 360
    sideways = 0.0 if past <= width else min(past - width, 360 - past)
    return float(max(sideways, area.south - latitude, latitude - area.north, 0.0))


def spot_on(plane: Plane | None) -> Spot:
    """Name places as whoever drew them can find them.

    Parameters
    ----------
    plane : Plane or None
        The field's plane; None for fields in metres.

    Returns
    -------
    callable
        Turns x, y of the ground frame (m) into words: degrees where there is a plane.
    """
    if plane is None:
        return spot_in_metres

    def spot(x: float, y: float) -> str:
        longitude, latitude = plane.longitude_latitude(x, y)
        return f"longitude {longitude:.7f}, latitude {latitude:.7f}"

    return spot
