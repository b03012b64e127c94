"""Where the numbers come from: taped, dug, logged, or assumed by nobody in particular."""

from __future__ import annotations

from collections.abc import Iterable

from overlapsim.report.phrases import rank_words


def _key_words(key: str) -> str:
    parts = key.split(".")
    if parts[:2] == ["machine", "ranks"] and len(parts) == 4:
        rank, what = rank_words(parts[2]), parts[3]
        return rank if what in ("behind_pin", "behind_front") else f"{rank} {what}".replace("_", " ")
    if key == "speed.working":
        return "working speed"
    if parts[0] == "response" and len(parts) == 3:
        return f"{parts[1]} of the {rank_words(parts[2])}".replace("_", " ")
    return parts[-1].replace("_", " ")


def sources(basis: dict[str, str], assumed: Iterable[str]) -> str:
    """Say what was taped, dug or assumed.

    Parameters
    ----------
    basis : dict of str
        Where a number comes from, by dotted key.
    assumed : iterable of str
        Dotted keys of numbers that nobody gave.

    Returns
    -------
    str
        As in ``"Taped: front rank, rear rank. Dug: on latency. ASSUMED: off latency."``.

    Examples
    --------
    >>> sources({"machine.ranks.front.behind_pin": "taped"}, [])
    'Taped: front rank. Assumed: nothing.'
    """
    told: dict[str, list[str]] = {}
    for key, source in basis.items():
        told.setdefault(source.strip(), []).append(_key_words(key))
    guesses = [told.pop(source) for source in list(told) if source.lower() == "assumed"]
    names = [name for group in guesses for name in group] + [_key_words(key) for key in assumed]
    said = [
        f"{source[:1].upper()}{source[1:]}: {', '.join(dict.fromkeys(group))}."
        for source, group in told.items()
    ]
    if names:
        return " ".join([*said, f"ASSUMED: {', '.join(dict.fromkeys(names))}."])
    return " ".join([*said, "Assumed: nothing."]) if said else "Not said where the numbers come from."
