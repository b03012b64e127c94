"""Answers about a planter: what was typed, what stands in for the rest, and what follows from both."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from overlapsim.basics.units import UNITS, exact
from overlapsim.scenario.kinds import Kind

__all__ = ["Answers", "Question", "length_text"]


@dataclass(frozen=True)
class Question:
    """One question about the machine or the job.

    Attributes
    ----------
    key : str
        Its name: the option's without dashes before it, and the column's.
    words : str
        The question.
    how : str
        How to find out; a sentence.
    kind : Kind or None
        Reads the answer; None = a reader of its own (see `overlapsim.files.asked_reading`).
    default : callable or None
        Makes the text that stands in; None = nobody can stand in for a tape.
    applies : callable or None
        Tells by the answers so far whether it is asked; None = always.
    home : tuple of str
        Keys of the scenario that it fills.
    shared : tuple of str
        Keys that it fills together with other questions; not marked as assumed.
    """

    key: str
    words: str
    how: str
    kind: Kind | None = None
    default: Callable[[Answers], str] | None = None
    applies: Callable[[Answers], bool] | None = None
    home: tuple[str, ...] = ()
    shared: tuple[str, ...] = ()


@dataclass
class Answers:
    """Answers by the key of their question; an empty one takes what stands in.

    Attributes
    ----------
    questions : mapping of str to Question
        All questions.
    given : dict of str to str
        As typed, with units.
    base : Path
        Folder that names of files are counted from.
    """

    questions: Mapping[str, Question]
    given: dict[str, str] = field(default_factory=dict)
    base: Path = Path()

    def text(self, key: str) -> str:
        """Give an answer, or what stands in for it.

        Parameters
        ----------
        key : str
            Key of a question.

        Returns
        -------
        str
            Empty where nothing stands in.
        """
        default = self.questions[key].default
        return self.given.get(key) or (default(self) if default else "")

    def has(self, key: str) -> bool:
        """Tell whether somebody answered.

        Parameters
        ----------
        key : str
            Key of a question.

        Returns
        -------
        bool
            False where the default stands in.
        """
        return bool(self.given.get(key))

    def applies(self, key: str) -> bool:
        """Tell whether a question is asked.

        Parameters
        ----------
        key : str
            Key of a question.

        Returns
        -------
        bool
            By the answers so far.
        """
        applies = self.questions[key].applies
        return applies is None or applies(self)

    def length(self, key: str) -> float:
        """Give an answer that is a length.

        Parameters
        ----------
        key : str
            Key of a question.

        Returns
        -------
        float
            Metres, with the sign typed.
        """
        return float(exact(self.text(key), "length"))

    @property
    def us(self) -> bool:
        """Whether the tape reads inches."""
        return self.text("units") != "metric"

    @property
    def rows(self) -> int:
        """Rows of the front rank."""
        return int(self.text("rows"))

    @property
    def rear_rows(self) -> int:
        """Rows of the rear rank; 0 = there is none."""
        return int(self.text("rear-rows"))

    @property
    def narrow(self) -> bool:
        """Whether both ranks work."""
        return self.rear_rows > 0 and self.text("setup") == "narrow"

    @property
    def working_rows(self) -> int:
        """Rows of the row setup that works."""
        return self.rows + (self.rear_rows if self.narrow else 0)

    @property
    def rear_right(self) -> str:
        """Middle of the rear rank, right of the front rank's, as text."""
        if self.rear_rows != self.rows:
            return ""
        side = -1 if self.text("extra-row") == "left" else 1
        return length_text(side * self.length("spacing") / 2, self.us)

    @property
    def centring(self) -> float:
        """Hitch shift that centres both ranks' rows on the pin, m; positive to the right."""
        if self.rear_rows != self.rows:
            return 0.0
        return (1 if self.text("extra-row") == "left" else -1) * self.length("spacing") / 4

    @property
    def off_centre(self) -> float:
        """How far the rows' middle runs right of the pin in the row setup that works, m."""
        return self.length("hitch-shift") - self.centring if self.narrow else 0.0

    def path(self, key: str) -> Path:
        """Give an answer that is the name of a file.

        Parameters
        ----------
        key : str
            Key of a question.

        Returns
        -------
        Path
            From where the program stands.
        """
        return self.base / self.text(key).replace("\\", "/")


def length_text(metres: float, us: bool) -> str:
    """Write a length that follows from a typed one.

    Parameters
    ----------
    metres : float
        Length, m, signed.
    us : bool
        In inches, else in centimetres.

    Returns
    -------
    str
        As short as it can be.

    Examples
    --------
    >>> length_text(-0.381, True), length_text(0.1875, False)
    ('-15 in', '18.75 cm')
    """
    unit = "in" if us else "cm"
    number = metres / float(UNITS["length"][unit])
    return f"{float(f'{number:.6g}'):g} {unit}"
