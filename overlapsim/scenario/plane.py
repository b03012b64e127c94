"""The field's own plane: transverse Mercator through its middle, and the way back."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

if TYPE_CHECKING:
    from pyproj import CRS, Transformer


@dataclass(frozen=True)
class Plane:
    """A transverse Mercator plane (scale 1) through one field, on the datum of the field's source.

    Parameters
    ----------
    crs_wkt : str
        The source's horizontal coordinate system, as WKT.
    longitude, latitude : float
        The plane's origin, degrees east of Greenwich and north, on the source's own datum.

    Notes
    -----
    The plane's scale is 1 + (x / R)**2 / 2 with x the distance east of the origin and R the earth's radius:
    below 1e-7 within 2 km. Vertices are moved, edges stay straight between them. No datum shift is made.
    Where that comes from: the leading term of the projection's series, with Karney's series computed.

    References
    ----------
    Karney, C. F. F. (2011), Transverse Mercator with an accuracy of a few nanometers, Journal of Geodesy 85,
    475-485.

    Examples
    --------
    >>> plane = Plane.through("EPSG:4326", 12.0, 48.0)
    >>> point = plane.to_ground(shapely.Point(12.001, 48.0))
    >>> round(point.x, 2), round(point.y, 5)
    (74.63, 0.00048)
    """

    crs_wkt: str
    longitude: float
    latitude: float

    @classmethod
    def through(cls, crs: Any, longitude: float, latitude: float) -> Plane:
        """Lay the plane through a place.

        Parameters
        ----------
        crs : str or pyproj.CRS
            The source's coordinate system; a height part is dropped.
        longitude, latitude : float
            The place, degrees east of Greenwich and north, on the source's datum.

        Returns
        -------
        Plane
            The plane.

        Raises
        ------
        ValueError
            The coordinate system is unknown.
        """
        return cls(horizontal(crs).to_wkt(), float(longitude), float(latitude))

    def to_ground(self, geometries: Any) -> Any:
        """Move geometries from the source's coordinates to the ground frame.

        Parameters
        ----------
        geometries : shapely.Geometry or array of them
            Source coordinates, x first (longitude or easting), then y. Heights are dropped.

        Returns
        -------
        shapely.Geometry or ndarray
            The same in the ground frame: x east, y north of the plane's origin, m.
        """
        datum, mercator = _datum(self.crs_wkt), _mercator(self)

        def moved(xy: np.ndarray) -> np.ndarray:
            return np.column_stack(mercator.transform(*datum.to_degrees.transform(*xy.T)))

        return shapely.transform(geometries, moved)

    def to_source(self, geometries: Any) -> Any:
        """Move geometries from the ground frame back to the source's coordinates.

        Parameters
        ----------
        geometries : shapely.Geometry or array of them
            Ground frame, m.

        Returns
        -------
        shapely.Geometry or ndarray
            Source coordinates, x first (longitude or easting), then y.
        """
        datum, mercator = _datum(self.crs_wkt), _mercator(self)

        def moved(xy: np.ndarray) -> np.ndarray:
            degrees_xy = mercator.transform(xy[:, 0], xy[:, 1], direction="INVERSE")
            return np.column_stack(datum.from_degrees.transform(*degrees_xy))

        return shapely.transform(geometries, moved)

    def ground_place(self, longitude: float, latitude: float) -> tuple[float, float]:
        """Give the place on the ground of a longitude and latitude.

        Parameters
        ----------
        longitude, latitude : float
            Degrees east of Greenwich and north, on the source's datum.

        Returns
        -------
        tuple of float
            x and y in the ground frame, m.
        """
        from_own = longitude - _datum(self.crs_wkt).prime_meridian
        x, y = _mercator(self).transform(from_own, latitude)
        return float(x), float(y)

    def longitude_latitude(self, x: float, y: float) -> tuple[float, float]:
        """Give the longitude and latitude of a place on the ground.

        Parameters
        ----------
        x, y : float
            Ground frame, m.

        Returns
        -------
        tuple of float
            Degrees east of Greenwich and north, on the source's datum.
        """
        place = self.to_source(shapely.Point(x, y))
        return degrees(self.crs_wkt, place.x, place.y)


def horizontal(crs: Any) -> CRS:
    """Keep the horizontal part of a coordinate system.

    Parameters
    ----------
    crs : str or pyproj.CRS
        Anything that pyproj reads.

    Returns
    -------
    pyproj.CRS
        Without a vertical part, and without a built-in datum shift.

    Raises
    ------
    ValueError
        The coordinate system is unknown.
    """
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        found = CRS.from_user_input(crs)
    except CRSError:
        raise ValueError(f"unknown coordinate system {str(crs)!r}") from None
    while found.is_compound or found.is_bound:
        inner = found.sub_crs_list[0] if found.is_compound else found.source_crs
        if inner is None:
            break
        found = inner
    return found.to_2d()


def degrees(crs: Any, x: float, y: float) -> tuple[float, float]:
    """Give longitude and latitude of a place in any coordinate system.

    Parameters
    ----------
    crs : str or pyproj.CRS
        The coordinate system.
    x, y : float
        The place in the coordinate system's own unit (degrees, m, ft), x first (longitude or easting).

    Returns
    -------
    tuple of float
        Degrees east of Greenwich and north, on the coordinate system's own datum; infinite where its
        projection has no such place.

    Examples
    --------
    >>> longitude, latitude = degrees("EPSG:32633", 500000.0, 0.0)
    >>> round(longitude, 9), round(latitude, 9)
    (15.0, 0.0)
    """
    datum = _datum(horizontal(crs).to_wkt())
    longitude, latitude = datum.to_degrees.transform(x, y)
    return float(longitude) + datum.prime_meridian, float(latitude)


def counts_degrees(system: CRS) -> bool:
    """Tell whether a system's coordinates are degrees: not metres or feet, and not gons either.

    Parameters
    ----------
    system : pyproj.CRS
        The system.

    Returns
    -------
    bool
        Whether they are.
    """
    return all(math.isclose(axis.unit_conversion_factor, math.radians(1)) for axis in system.axis_info)


def _in_degrees(system: CRS) -> CRS:
    """Give longitude and latitude in degrees on a system's own datum."""
    from pyproj.crs import GeographicCRS

    own = system.geodetic_crs
    if own is not None and counts_degrees(own):
        return own
    return GeographicCRS(datum=system.datum if system.datum is not None else system.geodetic_crs)


def _prime_meridian(system: CRS) -> float:
    """Give a system's prime meridian, degrees east of Greenwich."""
    meridian = system.prime_meridian
    return (
        0.0 if meridian is None else math.degrees(meridian.longitude * float(meridian.unit_conversion_factor))
    )


@dataclass(frozen=True)
class _Datum:
    """How a source's coordinates become degrees on its own datum, and back."""

    to_degrees: Transformer
    from_degrees: Transformer
    prime_meridian: float
    semi_major_m: float
    semi_minor_m: float


@functools.lru_cache(maxsize=16)
def _datum(crs_wkt: str) -> _Datum:
    from pyproj import CRS, Transformer

    system = CRS.from_wkt(crs_wkt)
    geographic, ellipsoid = _in_degrees(system), system.ellipsoid
    if ellipsoid is None:
        raise ValueError(f"{system.name} has no place on the earth")
    return _Datum(
        Transformer.from_crs(system, geographic, always_xy=True),
        Transformer.from_crs(geographic, system, always_xy=True),
        _prime_meridian(system),
        ellipsoid.semi_major_metre,
        ellipsoid.semi_minor_metre,
    )


@functools.lru_cache(maxsize=16)
def _mercator(plane: Plane) -> Transformer:
    """Turn degrees on the source's datum, from its own prime meridian, into metres on the plane."""
    from pyproj import Transformer

    datum = _datum(plane.crs_wkt)
    return Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        f"+step +proj=tmerc +lat_0={plane.latitude!r} +lon_0={plane.longitude - datum.prime_meridian!r} +k=1 "
        f"+a={datum.semi_major_m!r} +b={datum.semi_minor_m!r}"
    )
