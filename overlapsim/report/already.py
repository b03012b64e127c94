"""Whether there is anything to gain at all."""

from __future__ import annotations

from typing import Any


def already_as_good(result: Any) -> bool:
    """Tell whether what is entered lies in the stretch that is just as good.

    Parameters
    ----------
    result : TuneResult
        Finished search.

    Returns
    -------
    bool
        With a stretch for each rank, whether it does so for all of them.
    """
    stretch, entered = result.as_good_m, result.as_set.scenario.switching.reference_offset
    for rank, (low, high) in (stretch if isinstance(stretch, dict) else {"": stretch}).items():
        one = entered[rank] if rank and isinstance(entered, dict) else entered
        # A nanometre: an offset that stands on an end of the stretch lies in it.
        if isinstance(one, dict) or not low - 1e-9 <= one <= high + 1e-9:
            return False
    return True
