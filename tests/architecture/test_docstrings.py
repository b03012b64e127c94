"""Every public signature is described: each parameter, what comes back, what is raised, in which unit.

There is no list of exceptions. What should not be described should not be public.
"""

from __future__ import annotations

import importlib
from dataclasses import dataclass

import pytest

import overlapsim
from tests.architecture.docstrings import faults, public_modules, public_objects, raised

MODULES = public_modules(overlapsim)


@pytest.mark.parametrize("name", MODULES)
def test_public_signatures_are_described(name: str) -> None:
    found = [f for item in public_objects(importlib.import_module(name)) for f in faults(*item)]
    assert not found, "\n".join(found)


@pytest.mark.parametrize("name", sorted(overlapsim.__all__))
def test_public_names_have_an_example(name: str) -> None:
    if name.startswith("__"):
        pytest.skip("a constant")
    text = getattr(overlapsim, name).__doc__ or ""
    assert ">>> " in text, f"overlapsim.{name} has no example"


# The reader itself, on pages with one thing wrong each: it must find that one.


def _good(length: float, name: str = "") -> float:
    """Halve a length.

    Parameters
    ----------
    length : float
        Along the way, m.
    name : str
        What it is called.

    Returns
    -------
    float
        Half of it, m.

    Raises
    ------
    ValueError
        When it is negative.
    """
    if length < 0:
        raise ValueError(name)
    return length / 2


def _page(old: str, new: str) -> list[str]:
    page = _good.__doc__ or ""
    assert old in page
    _good.__doc__ = page.replace(old, new)
    try:
        return faults("f", _good, "function")
    finally:
        _good.__doc__ = page


def test_a_good_page_passes() -> None:
    assert faults("f", _good, "function") == []
    assert raised(_good) == {"ValueError"}


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("    name : str\n        What it is called.\n", "", "f: parameter name is not described"),
        (
            "name : str\n        What it is called.",
            "name : str",
            "f: parameter name: type or description is missing",
        ),
        ("Along the way, m.", "Along the way.", "f: parameter length: no unit is said"),
        ("Half of it, m.", "Half of it.", "f: Returns: no unit is said"),
        ("    Raises\n    ------\n    ValueError\n", "", "f: raises ValueError, not under Raises"),
        ("    Returns\n    -------\n    float\n        Half of it, m.\n", "", "f: no Returns"),
        (
            "    name : str",
            "    title : str\n        Gone.\n    name : str",
            "f: parameter title is described but does not exist",
        ),
    ],
)
def test_a_page_with_one_fault_is_found(old: str, new: str, fault: str) -> None:
    assert fault in _page(old, new)


def test_fields_of_classes_are_held_against_their_page() -> None:
    @dataclass
    class Thing:
        """A thing.

        Attributes
        ----------
        width : float
            Across.
        """

        width: float
        depth: float

    assert faults("Thing", Thing, "class") == [
        "Thing: attribute depth is not described",
        "Thing: attribute width: no unit is said",
    ]
