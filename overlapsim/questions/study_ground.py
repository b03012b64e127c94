"""Fields of a study, one at a time; reading files is somebody else's business: it is handed in."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from overlapsim.basics.errors import FieldError
from overlapsim.questions.study_shape import shape_of
from overlapsim.scenario.field import Field

STRATA = 3
"""Classes by area, and within each by shape, of which a stratified sample takes equal shares."""


class Fields(ABC):
    """Fields by number, from 0; `names` tells what people call them."""

    names: Sequence[str]

    def __len__(self) -> int:
        return len(self.names)

    def get(self, number: int) -> Field:
        """Give one.

        Parameters
        ----------
        number : int
            From 0.

        Returns
        -------
        Field
            In metres.
        """
        return self._get(number)

    def fingerprint(self, number: int) -> str:
        """Give what tells one from all others.

        Parameters
        ----------
        number : int
            From 0.

        Returns
        -------
        str
            Of what it is read from, or of its coordinates.
        """
        return self._fingerprint(number)

    @abstractmethod
    def _get(self, number: int) -> Field: ...

    @abstractmethod
    def _fingerprint(self, number: int) -> str: ...


class KnownFields(Fields):
    """Fields that are at hand.

    Parameters
    ----------
    fields : iterable of Field
        At least one.

    Examples
    --------
    >>> fields = KnownFields([Field.rectangle(100, 200)])
    >>> len(fields), fields.names, fields.get(0).plantable_m2
    (1, ('field 1',), 20000.0)
    """

    def __init__(self, fields: Iterable[Field]) -> None:
        self.fields = tuple(fields)
        self.names = tuple(one.name or f"field {i}" for i, one in enumerate(self.fields, 1))

    def _get(self, number: int) -> Field:
        return self.fields[number]

    def _fingerprint(self, number: int) -> str:
        return self.fields[number].sha256()


class Listed(Fields):
    """Fields of several sources, or some of them, in a row.

    Parameters
    ----------
    places : iterable of (Fields, int)
        Source and number in it of each.
    """

    def __init__(self, places: Iterable[tuple[Fields, int]]) -> None:
        self.places = tuple(places)
        self.names = tuple(source.names[number] for source, number in self.places)

    def _get(self, number: int) -> Field:
        source, own = self.places[number]
        return source.get(own)

    def _fingerprint(self, number: int) -> str:
        source, own = self.places[number]
        return source.fingerprint(own)


def stratified(source: Fields, size: int, seed: int) -> Listed:
    """Draw fields so that small and large, compact and ragged ones are all there.

    Parameters
    ----------
    source : Fields
        All fields; each is read once.
    size : int
        Number to draw; all where there are no more.
    seed : int
        The same seed draws the same fields.

    Returns
    -------
    Listed
        In the order of the source; fields that cannot be read are in no class and are left out.

    Notes
    -----
    Thirds by area; within each, thirds by perimeter over the perimeter of the circle of that area. The
    classes give one field each in turn, in an order drawn at random.

    Examples
    --------
    >>> long = [Field.rectangle(10 * n, 1000) for n in range(1, 10)]
    >>> stratified(KnownFields(long), 3, 0).names == stratified(KnownFields(long), 3, 0).names
    True
    """
    measured = []
    for number in range(len(source)):
        try:
            shape = shape_of(source.get(number), 0.0)
        except FieldError:
            continue
        area = shape["field_area_m2"]
        ragged = shape["field_perimeter_per_area_per_m"] * area / (2 * math.sqrt(math.pi * area))
        measured.append((area, ragged, number))
    classes: list[list[int]] = []
    random = np.random.default_rng(seed)
    for some in _thirds(sorted(measured)):
        for own in _thirds(sorted(some, key=lambda one: one[1:])):
            classes.append([own[i][2] for i in random.permutation(len(own))])
    # Neighbouring classes do not follow one another, so that few fields are not all small ones.
    classes = [classes[(i * 4) % len(classes)] for i in range(len(classes))]
    drawn: list[int] = []
    for turn in range(max(len(one) for one in classes)):
        drawn += [one[turn] for one in classes if turn < len(one)]
    return Listed((source, number) for number in sorted(drawn[:size]))


def _thirds(values: list[Any]) -> list[list[Any]]:
    cuts = [round(i * len(values) / STRATA) for i in range(STRATA + 1)]
    return [values[a:b] for a, b in pairwise(cuts)]
