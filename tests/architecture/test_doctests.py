"""The examples in docstrings run, and print what they say."""

from __future__ import annotations

import contextlib
import doctest
import importlib
import io

import pytest

import overlapsim
from tests.architecture.docstrings import public_modules

OPTIONS = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS | doctest.IGNORE_EXCEPTION_DETAIL


@pytest.mark.parametrize("name", public_modules(overlapsim))
def test_examples_run(name: str) -> None:
    report = io.StringIO()
    with contextlib.redirect_stdout(report):
        result = doctest.testmod(importlib.import_module(name), optionflags=OPTIONS)
    assert result.failed == 0, report.getvalue()


def test_the_package_has_examples() -> None:
    finder = doctest.DocTestFinder()
    modules = [importlib.import_module(name) for name in public_modules(overlapsim)]
    assert sum(len(test.examples) for module in modules for test in finder.find(module)) >= 50
