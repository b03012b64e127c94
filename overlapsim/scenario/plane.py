"""The field's own plane: transverse Mercator through its middle, and the way back."""

from __future__ import annotations

import functools
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
        The plane's origin, degrees east and north on the source's own datum, from its own prime meridian.

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
            The place, degrees on the source's datum.

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
        transformer, _ = _transformers(self)
        return shapely.transform(geometries, lambda xy: _moved(transformer, xy))

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
        _, transformer = _transformers(self)
        return shapely.transform(geometries, lambda xy: _moved(transformer, xy))

    def longitude_latitude(self, x: float, y: float) -> tuple[float, float]:
        """Give the longitude and latitude of a place on the ground.

        Parameters
        ----------
        x, y : float
            Ground frame, m.

        Returns
        -------
        tuple of float
            Degrees on the source's datum.
        """
        from pyproj import Transformer

        source = horizontal(self.crs_wkt)
        back = Transformer.from_crs(_plane_crs(self), source.geodetic_crs, always_xy=True)
        longitude, latitude = back.transform(x, y)
        return float(longitude), float(latitude)


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
        The place, x first (longitude or easting).

    Returns
    -------
    tuple of float
        Degrees on the coordinate system's own datum; infinite where its projection has no such place.

    Examples
    --------
    >>> longitude, latitude = degrees("EPSG:32633", 500000.0, 0.0)
    >>> round(longitude, 9), round(latitude, 9)
    (15.0, 0.0)
    """
    from pyproj import Transformer

    system = horizontal(crs)
    longitude, latitude = Transformer.from_crs(system, system.geodetic_crs, always_xy=True).transform(x, y)
    return float(longitude), float(latitude)


def _moved(transformer: Transformer, xy: np.ndarray) -> np.ndarray:
    x, y = transformer.transform(xy[:, 0], xy[:, 1])
    return np.column_stack([x, y])


def _plane_crs(plane: Plane) -> CRS:
    from pyproj.crs import ProjectedCRS
    from pyproj.crs.coordinate_operation import TransverseMercatorConversion

    conversion = TransverseMercatorConversion(
        latitude_natural_origin=plane.latitude, longitude_natural_origin=plane.longitude
    )
    return ProjectedCRS(conversion, geodetic_crs=horizontal(plane.crs_wkt).geodetic_crs)


@functools.lru_cache(maxsize=32)
def _transformers(plane: Plane) -> tuple[Transformer, Transformer]:
    from pyproj import Transformer

    source, ground = horizontal(plane.crs_wkt), _plane_crs(plane)
    return (
        Transformer.from_crs(source, ground, always_xy=True),
        Transformer.from_crs(ground, source, always_xy=True),
    )
