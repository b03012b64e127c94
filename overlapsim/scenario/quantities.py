"""Kinds of values in a scenario: how each is read from text, checked, and written back.

A kind stands in the annotation of a model's field, ``behind_pin: Annotated[float, Measure("length", 0, 10)]``.
Text is read with its unit. A bare number is refused, unless the caller says that it is SI already
(validation context ``{"si": True}``).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, NoReturn

from pydantic import GetCoreSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, core_schema

from overlapsim.basics.units import EXAMPLES, UnitError, parse, si_text
from overlapsim.scenario.slips import bare_number, likely_slip, shown

__all__ = [
    "Choice",
    "Count",
    "FrozenDict",
    "Kind",
    "Measure",
    "Number",
    "Pair",
    "PerName",
    "Slip",
    "Text",
    "Words",
]


class Slip(ValueError):
    """Something wrong with one value, or with several inside one value.

    Parameters
    ----------
    rule : str
        What is wrong.
    remedy : str
        What to do.
    at : tuple of str
        Where inside the value, as keys.
    value : str, optional
        The faulty part as written; None = the whole value.
    more : iterable of Slip
        Further slips inside the same value.
    """

    def __init__(
        self,
        rule: str,
        remedy: str = "",
        at: tuple[str, ...] = (),
        value: str | None = None,
        more: Iterable[Slip] = (),
    ) -> None:
        self.rule, self.remedy, self.at, self.value, self.more = rule, remedy, at, value, tuple(more)
        super().__init__(f"{rule}. {remedy}".strip())

    @classmethod
    def several(cls, slips: list[Slip]) -> NoReturn:
        """Raise several slips as one.

        Parameters
        ----------
        slips : list of Slip
            At least one.

        Raises
        ------
        Slip
            The first, which carries the others.
        """
        first = slips[0]
        raise cls(first.rule, first.remedy, first.at, first.value, slips[1:])


class FrozenDict(dict[str, Any]):
    """A dictionary that can not be changed, so that a frozen model is frozen all through."""

    def _refuse(self, *_: Any, **__: Any) -> NoReturn:
        raise TypeError("a scenario is frozen: make another one with with_()")

    __setitem__ = __delitem__ = clear = pop = popitem = setdefault = update = __ior__ = _refuse  # type: ignore[assignment]

    def __hash__(self) -> int:  # type: ignore[override]
        """Hash by content.

        Returns
        -------
        int
            The hash.
        """
        return hash(frozenset(self.items()))

    def __reduce__(self) -> tuple[type[FrozenDict], tuple[dict[str, Any]]]:
        """Pickle by content, since the usual way sets items.

        Returns
        -------
        tuple
            Class and arguments.
        """
        return type(self), (dict(self),)


@dataclass(frozen=True)
class Kind:
    """Base of all kinds.

    Attributes
    ----------
    example : Any
        How such a value is written.
    optional : bool
        Whether Python may say None for "not given".
    """

    example: Any = field(default=None, kw_only=True)
    optional: bool = field(default=False, kw_only=True)

    def read(self, value: Any, si: bool) -> Any:
        """Check a value as written and turn it into what the model holds.

        Parameters
        ----------
        value : Any
            As written.
        si : bool
            Bare numbers are SI already.

        Returns
        -------
        Any
            What the model holds.
        """
        raise NotImplementedError

    def write(self, value: Any) -> Any:
        """Write a value so that `read` gives it back.

        Parameters
        ----------
        value : Any
            What the model holds.

        Returns
        -------
        Any
            Text, number, list or dict, fit for JSON.
        """
        return value

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Tell pydantic to read values by this kind.

        Parameters
        ----------
        source : Any
            Annotated type; not used.
        handler : GetCoreSchemaHandler
            Next in line; not used.

        Returns
        -------
        CoreSchema
            A plain function schema.
        """

        def validate(value: Any, info: ValidationInfo) -> Any:
            if value is None and self.optional:
                return None
            return self.read(value, bool(info.context and info.context.get("si")))

        return core_schema.with_info_plain_validator_function(validate)


def _limits(value: float, low: float, high: float, write: Callable[[float], str]) -> str:
    """Say which limit a value breaks, or nothing."""
    if value < low:
        return "may not be negative" if low == 0 else f"less than {write(low)}"
    return f"more than {write(high)}" if value > high else ""


@dataclass(frozen=True)
class Measure(Kind):
    """A quantity with a unit.

    Attributes
    ----------
    dimension : str
        As in `overlapsim.basics.units`.
    low, high : float
        SI; values outside are refused because no machine has them.
    low_text, high_text : str
        The limits in words people use; empty = SI.
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
    high_text: str = field(default="", kw_only=True)
    low_text: str = field(default="", kw_only=True)
    likely: tuple[float, float] | None = field(default=None, kw_only=True)
    words: tuple[tuple[str, Any], ...] = field(default=(), kw_only=True)
    searched: float = field(default=0.0, kw_only=True)

    @property
    def shown_example(self) -> str:
        """How such a quantity is written, for a remedy."""
        return str(self.example or EXAMPLES[self.dimension])

    def read(self, value: Any, si: bool) -> Any:
        """Read a quantity; see `Kind.read`.

        Parameters
        ----------
        value : Any
            Text with a unit, one of the words, or an SI number.
        si : bool
            Bare numbers are SI already.

        Returns
        -------
        float or Any
            SI, or what the word stands for.

        Raises
        ------
        Slip
            If it is not such a quantity, or no machine has it.
        """
        number = self._number(value, si)
        if not isinstance(number, float):
            return number[0]
        likely = self.likely or (max(self.low, -self.high), self.high)
        typed = isinstance(value, str)
        far = 0.0 if typed else self.searched
        broken = _limits(number, min(self.low, -far), max(self.high, far), self._limit)
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
        if not math.isfinite(value):
            raise Slip("is not a finite number", f'Write it as in "{self.shown_example}".')
        if not si:
            raise Slip("needs a unit", f'Write "{bare_number(value, self.dimension, self.likely)}".')
        return float(value)

    def _limit(self, value: float) -> str:
        """Word a limit."""
        text = self.low_text if value == self.low else self.high_text
        return text or si_text(value, self.dimension).replace(".0 ", " ")

    def write(self, value: Any) -> Any:
        """Write a quantity in SI with its unit.

        Parameters
        ----------
        value : float or Any
            SI, or what a word stands for.

        Returns
        -------
        str
            As in ``"2.1336 m"``, or the word.
        """
        for word, meaning in self.words:
            if value is meaning or (isinstance(value, str) and value == meaning):
                return word
        return si_text(value, self.dimension)


@dataclass(frozen=True)
class Number(Kind):
    """A plain number without a unit.

    Attributes
    ----------
    low, high : float
        Both ends are allowed.
    """

    low: float = -math.inf
    high: float = math.inf

    def read(self, value: Any, si: bool) -> float:
        """Read a number; see `Kind.read`.

        Parameters
        ----------
        value : Any
            As written.
        si : bool
            Not used: it has no unit.

        Returns
        -------
        float
            The number.

        Raises
        ------
        Slip
            If it is no number, or outside.
        """
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise Slip("is not a plain number", f"Write it without quotes or unit, as in {self.example}.")
        if not math.isfinite(value):
            raise Slip("is not a finite number", f"Write it as in {self.example}.")
        broken = _limits(value, self.low, self.high, "{:g}".format)
        if broken:
            span = (
                f"from {self.low:g} to {self.high:g}" if self.high < math.inf else f"from {self.low:g} upward"
            )
            raise Slip(broken, f"Write a number {span}.")
        return float(value)


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

    def read(self, value: Any, si: bool) -> int:
        """Read a whole number; see `Kind.read`.

        Parameters
        ----------
        value : Any
            As written.
        si : bool
            Not used: it has no unit.

        Returns
        -------
        int
            The number.

        Raises
        ------
        Slip
            If it is no whole number, or outside.
        """
        if isinstance(value, bool) or not isinstance(value, int):
            raise Slip("is not a whole number", f"Write it without quotes or point, as in {self.example}.")
        if not self.low <= value <= self.high:
            side = f"less than {self.low}" if value < self.low else f"more than {self.high}"
            raise Slip(side, f"Write a whole number from {self.low} to {self.high}.")
        return value


@dataclass(frozen=True)
class Text(Kind):
    """Any text that is not empty."""

    def read(self, value: Any, si: bool) -> str:
        """Read a text; see `Kind.read`.

        Parameters
        ----------
        value : Any
            As written.
        si : bool
            Not used: it has no unit.

        Returns
        -------
        str
            The text.

        Raises
        ------
        Slip
            If it is no text, or empty.
        """
        if not isinstance(value, str):
            raise Slip("is not a text", f'Write it in quotes, as in "{self.example or "text"}".')
        if not value.strip():
            raise Slip("is empty", f'Write it as in "{self.example}".' if self.example else "")
        return value


@dataclass(frozen=True)
class Words(Kind):
    """A list of texts, none twice."""

    def read(self, value: Any, si: bool) -> tuple[str, ...]:
        """Read a list of texts; see `Kind.read`.

        Parameters
        ----------
        value : Any
            As written.
        si : bool
            Not used: it has no unit.

        Returns
        -------
        tuple of str
            The texts.

        Raises
        ------
        Slip
            If it is no such list, or a text stands in it twice.
        """
        if not isinstance(value, list | tuple) or not all(isinstance(word, str) for word in value):
            raise Slip("is not a list of texts", f"Write it as in {shown(self.example)}.")
        twice = next((word for word in value if list(value).count(word) > 1), None)
        if twice is not None:
            raise Slip(f'"{twice}" stands in it twice', "Write it once.")
        return tuple(value)

    def write(self, value: tuple[str, ...]) -> list[str]:
        """Write the texts as a list.

        Parameters
        ----------
        value : tuple of str
            The texts.

        Returns
        -------
        list of str
            The same.
        """
        return list(value)


@dataclass(frozen=True)
class Choice(Kind):
    """One of a few words.

    Attributes
    ----------
    options : tuple of str
        The words.
    """

    options: tuple[str, ...]

    def read(self, value: Any, si: bool) -> str:
        """Read one of the words; see `Kind.read`.

        Parameters
        ----------
        value : Any
            As written.
        si : bool
            Not used: it has no unit.

        Returns
        -------
        str
            The word.

        Raises
        ------
        Slip
            If it is none of them.
        """
        if value not in self.options or not isinstance(value, str):
            raise Slip(
                "is not one of the choices", "Write " + " or ".join(f'"{o}"' for o in self.options) + "."
            )
        return value


@dataclass(frozen=True)
class Pair(Kind):
    """Two quantities: east and north.

    Attributes
    ----------
    each : Measure
        What either of them is.
    """

    each: Measure

    def read(self, value: Any, si: bool) -> tuple[float, float]:
        """Read two quantities; see `Kind.read`.

        Parameters
        ----------
        value : Any
            As written.
        si : bool
            Bare numbers are SI already.

        Returns
        -------
        tuple of float
            SI.

        Raises
        ------
        Slip
            If they are not two such quantities.
        """
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

    def write(self, value: tuple[float, float]) -> list[str]:
        """Write two quantities in SI with their unit.

        Parameters
        ----------
        value : tuple of float
            SI.

        Returns
        -------
        list of str
            Their texts.
        """
        return [self.each.write(part) for part in value]


@dataclass(frozen=True)
class PerName(Kind):
    """One quantity for all, or a table with one per name (rank).

    Attributes
    ----------
    each : Measure
        What each of them is.
    """

    each: Measure

    def read(self, value: Any, si: bool) -> float | FrozenDict:
        """Read one quantity or a table of them; see `Kind.read`.

        Parameters
        ----------
        value : Any
            As written.
        si : bool
            Bare numbers are SI already.

        Returns
        -------
        float or dict of float
            SI.

        Raises
        ------
        Slip
            If any is not such a quantity.
        """
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

    def write(self, value: float | Mapping[str, float]) -> Any:
        """Write one quantity or a table of them, in SI with the unit.

        Parameters
        ----------
        value : float or dict of float
            SI.

        Returns
        -------
        str or dict of str
            Their texts.
        """
        if isinstance(value, Mapping):
            return {name: self.each.write(part) for name, part in value.items()}
        return self.each.write(value)
