"""Read the layers of a field's file, and say what each format leaves unsaid."""

from __future__ import annotations

import io
import json
import re
import warnings
from typing import Any

from overlapsim.basics.errors import FieldError
from overlapsim.files.features import Features, features_of
from overlapsim.files.geojson import read_geojson
from overlapsim.files.sources import GEOJSON, PARQUET, Source
from overlapsim.scenario.rings import refuse


def layer_names(source: Source) -> list[tuple[str, str]]:
    """List the layers that have shapes.

    Parameters
    ----------
    source : Source
        Where.

    Returns
    -------
    list of (name, kind)
        Kind as the format states it, as `Polygon` or `Unknown`.

    Raises
    ------
    FieldError
        The file cannot be read.
    """
    if not source.in_parts:
        source.must_be_small()
    if source.kind in PARQUET:
        return [(source.stem, "Unknown")]
    if plain := _plain(source):
        return [(plain[0] or source.stem, "Unknown")]
    import pyogrio

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            _no_network()
            found = pyogrio.list_layers(source.address)
    except Exception as error:
        raise unreadable(source, error) from None
    if source.kind == ".fgb" and not len(found):
        # The format has one layer always; a file of which a part is there passes for one without.
        raise refuse("cannot be read: it is damaged or breaks off", "Ask for it again", file=source.name)
    return [(str(name), str(kind)) for name, kind in found if kind is not None]


def _plain(source: Source) -> tuple[str, Features] | None:
    """Read it if it is plain GeoJSON; None where it is not."""
    return read_geojson(source.read_bytes()) if source.kind in GEOJSON else None


def read_table(source: Source, layer: str) -> Features:
    """Read one layer.

    Parameters
    ----------
    source : Source
        Where.
    layer : str
        Which layer.

    Returns
    -------
    Features
        Shapes and attributes as they stand in the file; open rings closed.

    Raises
    ------
    FieldError
        The file cannot be read.
    """
    if plain := _plain(source):
        # Its layers have been listed before it is read; nobody asks a third time.
        read_geojson.cache_clear()
        return plain[1]
    import geopandas

    source.must_be_small()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if source.kind in PARQUET:
            try:
                import pyarrow  # noqa: F401
            except ImportError:
                raise refuse(
                    "GeoParquet needs pyarrow",
                    'Install it: pip install "overlapsim[study]"',
                    file=source.name,
                ) from None
            try:
                return features_of(geopandas.read_parquet(io.BytesIO(source.read_bytes())))
            except Exception as error:
                raise unreadable(source, error) from None
        try:
            _no_network()
            table = geopandas.read_file(source.address, layer=layer, engine="pyogrio", on_invalid="fix")
        except Exception as error:
            raise unreadable(source, error) from None
    if not isinstance(table, geopandas.GeoDataFrame):
        raise refuse("holds a table without shapes", "Ask for the boundary as a polygon", file=source.name)
    found = features_of(table)
    if source.kind == ".shp" and not found.columns:
        return found.noted("no sound .dbf beside it: names and other attributes are lost")
    return found


def _no_network() -> None:
    """Keep the reader from fetching what a file names: a boundary is read where nobody has a network."""
    import pyogrio

    pyogrio.set_gdal_config_options({"GML_DOWNLOAD_SCHEMA": "NO", "GML_SKIP_RESOLVE_ELEMS": "ALL"})


def unreadable(source: Source, error: Exception) -> FieldError:
    """Say that a file cannot be read: in our words where the reader's are its own affair.

    Parameters
    ----------
    source : Source
        Which.
    error : Exception
        What the reader said.

    Returns
    -------
    FieldError
        To be raised by the caller.
    """
    if isinstance(error, FieldError):
        return error
    if isinstance(error, MemoryError):
        return refuse(
            "needs more memory than there is", "Ask for the fields that are wanted alone", file=source.name
        )
    if source.kind in (*GEOJSON, ".kml", ".gml") and (wrong := _not_utf8(source)):
        return refuse(wrong, "Ask for it in UTF-8, or without accents in the names", file=source.name)
    said = str(error).splitlines()[0] if str(error) else type(error).__name__
    said = re.split(r";|, It might help", said)[0].replace(source.address, source.name).strip(" .")
    said = next((words for sign, words in _WORDS if re.search(sign, said)), said)
    if "not recognized" in said:
        said = "not a format that holds areas, or damaged"
        if source.kind in (".kml", ".gml") and _says_otherwise(source.read_bytes()):
            said = _MISSAID
        if source.kind in GEOJSON:
            said = "its text breaks off or is no GeoJSON"
    return refuse(f"cannot be read: {said}", "Ask for it again, or as GeoJSON or .zip", file=source.name)


_MISSAID = "its text is in another encoding than it says"

#: What readers say of broken files, by a sign of it, and what that means to whoever holds the file.
_WORDS = (
    (r"sqlite3?_|malformed|database disk", "it is damaged or breaks off"),
    (r"gpkg_contents", "a database, but no GeoPackage"),
    (r"Missing geo metadata", "a table without areas, or its geometry column is not declared"),
    (r"[Pp]arquet", "it is damaged or breaks off, or is no GeoParquet"),
    (r"Failed to read (Geo|Topo|ESRI)JSON", "its text breaks off or is no GeoJSON"),
    (r"parsing aborted", "it uses entities of its own, which are not followed"),
    (r"unclosed token|no element found|no root element", "its text breaks off"),
    (r"codec can't decode|Invalid base64", "it is damaged"),
    (r"encoding specified in XML declaration", _MISSAID),
    (r"[Ff]atal error parsing feature", "it is damaged or breaks off"),
)  # fmt: skip


def _not_utf8(source: Source) -> str:
    """Say where a text is not what its format asks for; empty where it is."""
    content = source.read_bytes()
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return ""
    try:
        content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        return f"is not UTF-8 text: byte {content[error.start]:#04x} in line {line} cannot be read"
    return ""


def _says_otherwise(content: bytes) -> bool:
    """Whether text in UTF-16 says of itself that it is UTF-8; older readers just do not know it then."""
    if content[:2] not in (b"\xff\xfe", b"\xfe\xff"):
        return False
    begins = content[:400].decode("utf-16", errors="replace")
    return bool(re.search(r"encoding\s*=\s*.utf-?8", begins, re.IGNORECASE))


def crs_member(source: Source) -> Any:
    """Give what a GeoJSON file says of its coordinate system.

    Parameters
    ----------
    source : Source
        A file in any format.

    Returns
    -------
    object
        The content of its `crs` member, as older files have it; None where there is none: longitude and
        latitude by the standard alone.

    References
    ----------
    Butler, H. et al. (2016), The GeoJSON format, RFC 7946, section 4. Howard, B. et al. (2008), The GeoJSON
    format specification, section 3.
    """
    if source.kind not in GEOJSON:
        return None
    try:
        whole = json.loads(source.read_bytes())
    except (ValueError, RecursionError):
        return None
    return whole.get("crs") if isinstance(whole, dict) else None
