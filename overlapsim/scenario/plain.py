"""Kinds of values without a unit: numbers, counts, texts, choices."""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass
from typing import Any

from overlapsim.scenario.kinds import Kind, Slip
from overlapsim.scenario.slips import limits, shown

__all__ = ["Choice", "Count", "Number", "Text", "Words"]


@dataclass(frozen=True)
class Number(Kind):
    """A plain number without a unit.

    Attributes
    ----------
    low, high : float
        No unit; both ends are allowed.
    """

    low: float = -math.inf
    high: float = math.inf

    def _read(self, value: Any, si: bool) -> float:
        """Read a number."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise Slip("is not a plain number", f"Write it without quotes or unit, as in {self.example}.")
        if not abs(value) <= sys.float_info.max:
            raise Slip("is not a finite number", f"Write it as in {self.example}.")
        broken = limits(value, self.low, self.high, "{:g}".format)
        if broken:
            span = (
                f"from {self.low:g} to {self.high:g}" if self.high < math.inf else f"from {self.low:g} upward"
            )
            raise Slip(broken, f"Write a number {span}.")
        return float(value)

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        limits = {"minimum": self.low, "maximum": self.high}
        return {"type": "number", **{name: limit for name, limit in limits.items() if math.isfinite(limit)}}


@dataclass(frozen=True)
class Count(Kind):
    """A whole number.

    Attributes
    ----------
    low, high : int
        Both ends are allowed.
    """

    low: int = 0
    high: int = 10**9

    def _read(self, value: Any, si: bool) -> int:
        """Read a whole number."""
        if isinstance(value, bool) or not isinstance(value, int):
            raise Slip("is not a whole number", f"Write it without quotes or point, as in {self.example}.")
        if not self.low <= value <= self.high:
            side = f"less than {self.low}" if value < self.low else f"more than {self.high}"
            raise Slip(side, f"Write a whole number from {self.low} to {self.high}.")
        return value

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


@dataclass(frozen=True)
class Text(Kind):
    """Any text that is not empty."""

    def _read(self, value: Any, si: bool) -> str:
        """Read a text."""
        if not isinstance(value, str):
            raise Slip("is not a text", f'Write it in quotes, as in "{self.example or "text"}".')
        if not value.strip():
            raise Slip("is empty", f'Write it as in "{self.example}".' if self.example else "")
        return value

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        return {"type": "string", "pattern": r"\S"}


@dataclass(frozen=True)
class Words(Kind):
    """A list of texts, none twice."""

    def _read(self, value: Any, si: bool) -> tuple[str, ...]:
        """Read a list of texts."""
        if not isinstance(value, list | tuple) or not all(isinstance(word, str) for word in value):
            raise Slip("is not a list of texts", f"Write it as in {shown(self.example)}.")
        twice = next((word for word in value if list(value).count(word) > 1), None)
        if twice is not None:
            raise Slip(f'"{twice}" stands in it twice', "Write it once.")
        return tuple(value)

    def _write(self, value: tuple[str, ...]) -> list[str]:
        """Write the texts as a list."""
        return list(value)

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        return {"type": "array", "items": {"type": "string"}, "uniqueItems": True}


@dataclass(frozen=True)
class Choice(Kind):
    """One of a few words.

    Attributes
    ----------
    options : tuple of str
        The words.
    """

    options: tuple[str, ...]

    def _read(self, value: Any, si: bool) -> str:
        """Read one of the words."""
        if value not in self.options or not isinstance(value, str):
            raise Slip(
                "is not one of the choices", "Write " + " or ".join(f'"{o}"' for o in self.options) + "."
            )
        return value

    def _schema(self) -> dict[str, Any]:
        """Describe the values; see `Kind.schema`."""
        return {"enum": list(self.options)}
