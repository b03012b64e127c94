"""What can go wrong, and how it is said: one line per fault, all faults at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = [
    "BalanceError",
    "Fault",
    "FieldError",
    "FolderError",
    "InputError",
    "OverlapsimError",
    "ScenarioError",
]


@dataclass(frozen=True)
class Fault:
    """One thing wrong with the input, with its place and its remedy.

    Parameters
    ----------
    rule : str
        What is wrong, in words, without a full stop at the end.
    remedy : str
        What to do about it; a sentence of its own. May be empty.
    key : str
        Dotted key, as in ``switching.turn_on_time``. May be empty.
    value : str
        The value as it stands in the file, quotes included. May be empty.
    file : str
        Name of the file. May be empty.
    line : int or None
        Line in the file, counted from 1.

    Examples
    --------
    >>> print(Fault("needs a unit", 'Write "84 in".', "ranks.front.behind_pin", "84", "home.toml", 14))
    home.toml:14  ranks.front.behind_pin = 84  needs a unit. Write "84 in".
    """

    rule: str
    remedy: str = ""
    key: str = ""
    value: str = ""
    file: str = ""
    line: int | None = None

    def __str__(self) -> str:
        """Say the fault in one line, ``file:line  key = value  rule. remedy``.

        Returns
        -------
        str
            The line, without a line break.
        """
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        what = f"{self.key} = {self.value}" if self.key and self.value else self.key or self.value
        rule = self.rule if self.rule.endswith((".", "?", "!")) else self.rule + "."
        said = f"{rule} {self.remedy}".strip()
        return " ".join("  ".join(part for part in (place, what, said) if part).splitlines())


class OverlapsimError(Exception):
    """Base of every error that this package raises on purpose.

    Examples
    --------
    >>> issubclass(InputError, OverlapsimError), issubclass(BalanceError, OverlapsimError)
    (True, True)
    """


class InputError(OverlapsimError):
    """The input is at fault; exit status 2.

    Parameters
    ----------
    faults : Fault, str or iterable of them
        Everything that is wrong. A text counts as a fault without a place.

    Examples
    --------
    >>> InputError("needs a field").faults[0].rule
    'needs a field'
    """

    def __init__(self, faults: Fault | str | Iterable[Fault | str]) -> None:
        if isinstance(faults, Fault | str):
            faults = (faults,)
        self.faults: tuple[Fault, ...] = tuple(
            fault if isinstance(fault, Fault) else Fault(fault) for fault in faults
        )
        super().__init__("\n".join(str(fault) for fault in self.faults))

    def __reduce__(self) -> tuple[type[InputError], tuple[tuple[Fault, ...]]]:
        """Let worker processes hand the error over whole.

        Returns
        -------
        tuple
            Class and arguments, as pickle wants them.
        """
        return type(self), (self.faults,)


class ScenarioError(InputError):
    """A scenario or machine description is at fault.

    Examples
    --------
    >>> print(ScenarioError(Fault("is missing", 'Write working = "5 mph".', "speed.working")))
    speed.working  is missing. Write working = "5 mph".
    """


class FieldError(InputError):
    """A field's boundary, or the file that holds it, is at fault.

    Examples
    --------
    >>> print(FieldError(Fault("holds a line, not an area", "Ask for a polygon.", file="home.kml")))
    home.kml  holds a line, not an area. Ask for a polygon.
    """


class FolderError(InputError):
    """A folder for results cannot be used as it stands.

    Examples
    --------
    >>> print(FolderError(Fault("holds other files", "Choose another with --out.", file="reports/home")))
    reports/home  holds other files. Choose another with --out.
    """


class BalanceError(OverlapsimError):
    """The program's own arithmetic does not balance; exit status 1.

    Examples
    --------
    >>> str(BalanceError("areas differ by 2 m2"))
    'areas differ by 2 m2'
    """
