"""Kinds of values with a unit: one quantity, a pair of them, one per rank.

Text is read with its unit. A bare number is refused, unless the caller says that it is SI already.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from overlapsim.basics.unit_patterns import quantity_ref
from overlapsim.basics.units import EXAMPLES, UnitError, parse, si_text
from overlapsim.scenario.kinds import FrozenDict, Kind, Slip
from overlapsim.scenario.slips import bare_number, likely_slip, limit_text, limits, shown

__all__ = ["Measure", "Pair", "PerName"]


@dataclass(frozen=True)
class Measure(Kind):
    """A quantity with a unit.

    Attributes
    ----------
    dimension : str
        As in `overlapsim.basics.units`.
    low, high : float
        SI; values outside are refused because no machine has them.
    likely : tuple of float
        SI; where a slip of unit or point probably wanted to go.
    words : tuple of (str, value)
        Words that stand for a value.
    searched : float
        SI; numbers that are no text may go as far as this on both sides of zero.
    """

    dimension: str
    low: float = -math.inf
    high: float = math.inf
    likely: tuple[float, float] | None = field(default=None, kw_only=True)
    words: tuple[tuple[str, Any], ...] = field(default=(), kw_only=True)
    searched: float = field(default=0.0, kw_only=True)

    @property
    def shown_example(self) -> str:
        """How such a quantity is written, for a remedy."""
        return str(self.example or EXAMPLES[self.dimension])

    def _read(self, value: Any, si: bool) -> Any:
        """Read a quantity."""
        number = self._number(value, si)
        if not isinstance(number, float):
            return number[0]
        likely = self.likely or (max(self.low, -self.high), self.high)
        typed = isinstance(value, str)
        low, high = self.low, self.high
        if self.searched and not typed:
            low, high = -self.searched, self.searched
        broken = limits(number, low, high, lambda limit: limit_text(limit, self.dimension))
        if broken:
            raise Slip(broken, likely_slip(value, number, self.dimension, likely) if typed else "")
        return number

    def _number(self, value: Any, si: bool) -> float | tuple[Any]:
        """Find the SI number, or the value of a word wrapped in a tuple."""
        for word, meaning in self.words:
            if (value == word and isinstance(value, str)) or (si and value is meaning):
                return (meaning,)
        if isinstance(value, str):
            try:
                return parse(value, self.dimension)
            except UnitError as error:
                others = "".join(f', or "{word}"' for word, _ in self.words)
                remedy = error.remedy.replace(
                    f'"{EXAMPLES[self.dimension]}"', f'"{self.shown_example}"{others}'
                )
                raise Slip(error.rule, remedy) from None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise Slip("is not a quantity", f'Write it as in "{self.shown_example}".')
        if not abs(value) <= sys.float_info.max:
            raise Slip("is not a finite number", f'Write it as in "{self.shown_example}".')
        if not si:
            raise Slip("needs a unit", f'Write "{bare_number(value, self.dimension, self.likely)}".')
        return float(value)

    def _write(self, value: Any) -> Any:
        """Write a quantity in SI with its unit."""
        for word, meaning in self.words:
            if value is meaning or (isinstance(value, str) and value == meaning):
                return word
        return si_text(value, self.dimension)

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        text = {"$ref": quantity_ref(self.dimension)}
        return {"anyOf": [{"enum": [word for word, _ in self.words]}, text]} if self.words else text


@dataclass(frozen=True)
class Pair(Kind):
    """Two quantities: east and north.

    Attributes
    ----------
    each : Measure
        What either of them is.
    """

    each: Measure

    def _read(self, value: Any, si: bool) -> tuple[float, float]:
        """Read two quantities."""
        if not isinstance(value, list | tuple) or len(value) != 2:
            raise Slip("is not a pair of quantities (east, north)", f"Write it as in {shown(self.example)}.")
        slips, read = [], []
        for part in value:
            try:
                read.append(self.each.read(part, si))
            except Slip as slip:
                slips.append(Slip(slip.rule, slip.remedy, value=shown(part)))
        if slips:
            Slip.several(slips)
        return read[0], read[1]

    def _write(self, value: tuple[float, float]) -> list[str]:
        """Write two quantities in SI with their unit."""
        return [self.each.write(part) for part in value]

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        return {"type": "array", "items": self.each.schema(), "minItems": 2, "maxItems": 2}


@dataclass(frozen=True)
class PerName(Kind):
    """One quantity for all, or a table with one per name (rank).

    Attributes
    ----------
    each : Measure
        What each of them is.
    """

    each: Measure

    def _read(self, value: Any, si: bool) -> float | FrozenDict:
        """Read one quantity or a table of them."""
        if not isinstance(value, Mapping):
            return float(self.each.read(value, si))
        if not value:
            raise Slip(
                "is an empty table", f'Write one figure, as in "{self.each.shown_example}", or one per rank.'
            )
        slips, read = [], {}
        for name, part in value.items():
            try:
                read[str(name)] = self.each.read(part, si)
            except Slip as slip:
                slips.append(Slip(slip.rule, slip.remedy, at=(str(name),), value=shown(part)))
        if slips:
            Slip.several(slips)
        return FrozenDict(read)

    def _write(self, value: float | Mapping[str, float]) -> Any:
        """Write one quantity or a table of them, in SI with the unit."""
        if isinstance(value, Mapping):
            return {name: self.each.write(part) for name, part in value.items()}
        return self.each.write(value)

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        each = self.each.schema()
        return {"anyOf": [each, {"type": "object", "minProperties": 1, "additionalProperties": each}]}
