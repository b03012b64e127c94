"""What all kinds of values share: how a value is read, checked and written back.

A kind stands in the annotation of a model's field: ``rows: Annotated[int, Count(1, 72)]``.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, NoReturn

from pydantic import GetCoreSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, core_schema

__all__ = ["FrozenDict", "Kind", "Slip"]


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
    """A dictionary that cannot be changed, so that a frozen model is frozen all through."""

    def _refuse(self, *_: Any, **__: Any) -> NoReturn:
        """Refuse to be changed.

        Parameters
        ----------
        *_, **__ : Any
            Not used.

        Raises
        ------
        TypeError
            Always.
        """
        raise TypeError("a scenario is frozen: make another one with with_()")

    __setitem__ = __delitem__ = clear = pop = popitem = setdefault = update = __ior__ = _refuse

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
class Kind(ABC):
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
        if value is None and self.optional:
            return None
        return self._read(value, si)

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
        return None if value is None and self.optional else self._write(value)

    def schema(self) -> dict[str, Any]:
        """Describe the values as JSON Schema, Draft 4, with quantities by reference.

        Returns
        -------
        dict
            Fits all that `read` takes from a file.
        """
        return self._schema()

    @abstractmethod
    def _read(self, value: Any, si: bool) -> Any:
        """Do the reading: what each kind is there for."""

    def _write(self, value: Any) -> Any:
        """Do the writing."""
        return value

    def _schema(self) -> dict[str, Any]:
        """Do the describing; by default anything fits."""
        return {}

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
            return self.read(value, bool(info.context and info.context.get("si")))

        return core_schema.with_info_plain_validator_function(validate)
