"""How the layers look when a desktop GIS opens them: colours that colour-blind readers tell apart."""

from __future__ import annotations

from xml.sax.saxutils import quoteattr

#: Fill, line and point colours (red, green, blue, opacity of 255), told apart by colour-blind readers.
#: Okabe, M. & Ito, K. (2008), Color universal design.
_BLACK, _GREY = (0, 0, 0, 255), (110, 110, 110, 255)
_GREEN, _VERMILLION = (0, 158, 115, 90), (213, 94, 0, 255)
_BLUE, _PURPLE = (0, 114, 178, 255), (204, 121, 167, 255)
_SKY, _ORANGE = (86, 180, 233, 255), (230, 159, 0, 255)
_CLEAR = (0, 0, 0, 0)
#: Scale (one to) down to which single row ends are drawn: 1 mm on the screen is 1 m, two to three rows.
_NEAR = 1000

_Colour = tuple[int, int, int, int]


def style_of(name: str) -> str | None:
    """Give the style of a layer.

    Parameters
    ----------
    name : str
        Name of the layer.

    Returns
    -------
    str or None
        QML text; None for a layer that has no style of its own.

    Examples
    --------
    >>> "213,94,0,255" in style_of("skip")
    True
    >>> style_of("something else") is None
    True
    """
    styles = {
        "boundary": _single("fill", _fill(_CLEAR, _BLACK, 0.6)),
        "passes": _by_value("kind", "line", {"pass": _line(_GREY, 0.3), "lap": _line(_BLACK, 0.3)}),
        "planted": _single("fill", _fill(_GREEN, _CLEAR, 0.0)),
        "skip": _single("fill", _fill(_VERMILLION, _VERMILLION, 0.1)),
        "overlap": _single("fill", _fill(_BLUE, _BLUE, 0.1)),
        "off_field": _single("fill", _fill(_PURPLE, _PURPLE, 0.1)),
        # From afar hundreds of markers would hide the skips and overlaps under them.
        "row_ends": _by_value(
            "event", "marker", {"on": _marker(_SKY, "triangle"), "off": _marker(_ORANGE, "square")}, _NEAR
        ),
    }
    return styles.get(name)


def _text(colour: _Colour) -> str:
    return ",".join(str(part) for part in colour)


def _properties(values: dict[str, str]) -> str:
    """Write properties in both forms that versions of the format use."""
    options = "".join(
        f'<Option type="QString" name={quoteattr(k)} value={quoteattr(v)}/>' for k, v in values.items()
    )
    props = "".join(f"<prop k={quoteattr(k)} v={quoteattr(v)}/>" for k, v in values.items())
    return f'<Option type="Map">{options}</Option>{props}'


def _fill(colour: _Colour, outline: _Colour, width_mm: float) -> str:
    values = {
        "color": _text(colour),
        "style": "solid" if colour[3] else "no",
        "outline_color": _text(outline),
        "outline_style": "solid" if outline[3] else "no",
        "outline_width": str(width_mm),
        "outline_width_unit": "MM",
        "joinstyle": "bevel",
    }
    return f'<layer class="SimpleFill" enabled="1" locked="0" pass="0">{_properties(values)}</layer>'


def _line(colour: _Colour, width_mm: float) -> str:
    values = {
        "line_color": _text(colour),
        "line_style": "solid",
        "line_width": str(width_mm),
        "line_width_unit": "MM",
        "capstyle": "flat",
    }
    return f'<layer class="SimpleLine" enabled="1" locked="0" pass="0">{_properties(values)}</layer>'


def _marker(colour: _Colour, shape: str) -> str:
    values = {
        "name": shape,
        "color": _text(colour),
        "outline_color": _text(_BLACK),
        "outline_width": "0.1",
        "outline_width_unit": "MM",
        "size": "1.0",
        "size_unit": "MM",
    }
    return f'<layer class="SimpleMarker" enabled="1" locked="0" pass="0">{_properties(values)}</layer>'


def _symbol(kind: str, number: int, layer: str) -> str:
    return f'<symbol type="{kind}" name="{number}" alpha="1" clip_to_extent="1">{layer}</symbol>'


def _single(kind: str, layer: str) -> str:
    return _document(
        f'<renderer-v2 type="singleSymbol" symbollevels="0" enableorderby="0">'
        f"<symbols>{_symbol(kind, 0, layer)}</symbols></renderer-v2>"
    )


def _by_value(column: str, kind: str, layers: dict[str, str], nearer_than: int = 0) -> str:
    categories = "".join(
        f'<category render="true" symbol="{i}" value={quoteattr(value)} label={quoteattr(value)} '
        'type="string"/>'
        for i, value in enumerate(layers)
    )
    symbols = "".join(_symbol(kind, i, layer) for i, layer in enumerate(layers.values()))
    return _document(
        f'<renderer-v2 type="categorizedSymbol" attr={quoteattr(column)} symbollevels="0" enableorderby="0">'
        f"<categories>{categories}</categories><symbols>{symbols}</symbols></renderer-v2>",
        nearer_than,
    )


def _document(renderer: str, nearer_than: int = 0) -> str:
    scale = f' hasScaleBasedVisibilityFlag="1" maxScale="0" minScale="{nearer_than}"' if nearer_than else ""
    return (
        "<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>"
        f'<qgis version="3.22.0" styleCategories="Symbology|Rendering"{scale}>{renderer}</qgis>'
    )
