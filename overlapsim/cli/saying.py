"""Sentences for whoever sits at the terminal; results have their own place."""

from __future__ import annotations

import sys


def say(text: str) -> None:
    """Print a sentence on standard error, in signs that it knows.

    Parameters
    ----------
    text : str
        What to say.
    """
    from overlapsim.report.phrases import printable

    print(printable(text, getattr(sys.stderr, "encoding", None)), file=sys.stderr, flush=True)
