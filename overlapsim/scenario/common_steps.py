"""Steps of a changeover that any machine with a second rank has: common practice, no source.

They say what to think of, not how it is done on one machine: that is in its operator's manual.
"""

from __future__ import annotations

from overlapsim.scenario.steps import Step

__all__ = ["COMMON", "COMMON_ADDED", "COMMON_REMOVED"]


def _step(
    category: str, name: str, text: str, needs: tuple[str, ...] = (), look_for: str | None = None
) -> Step:
    return Step.model_construct(
        text=text, name=name, direction=None, needs=needs, look_for=look_for, category=category
    )


COMMON = (
    _step("first", "manual", "Read what the operator's manual says on changing row setups."),
    _step(
        "first", "stop", "Stop on level, firm ground: engine off, key out, brakes on, everybody clear.",
        ("manual",),
    ),
    _step(
        "first", "block", "Lower the machine or block what is raised; let pressure out of oil and air as the "
        "manual says, and know where springs are under load.", ("stop",),
    ),
    _step("first", "write down", "Write down what is entered now, and what is set on the row units."),
    _step(
        "transport locks", "locks", "Take out transport locks and put them where they are found again.",
        ("block",), "none left in a row unit or a wing",
    ),
    _step(
        "crop and plate", "plates", "Change crop, plates and what belongs to them where the crop changes; "
        "gloves for treated seed.", ("block",), "same plate in every row, seed of one lot",
    ),
    _step(
        "controller", "enter", "Enter what is listed, and read it back from the screen.", ("write down",),
        "rows, width, sections, reference offset, times: each as on this sheet",
    ),
    _step(
        "after the first pass", "look", "Look at every row: closed, as deep as its neighbours, seed in it; "
        "measure a start and a stop of each rank.", ("enter",), "row by row, not rank by rank",
    ),
)  # fmt: skip
"""Steps whichever way one changes."""

COMMON_ADDED = (
    _step(
        "seed supply", "supply on", "Open the seed supply to the added rank, row by row; fill it and prime "
        "its meters.", ("block",), "seed at every meter of the added rank",
    ),
    _step(
        "raise or lower", "lower", "Lower the row units of the added rank and secure each one in its working "
        "place.", ("block",), "every latch and pin, from both ends",
    ),
    _step(
        "down pressure", "pressure on", "Set the down pressure of the added rank: it carries less weight "
        "than the front one.", ("lower",),
    ),
    _step(
        "depth", "depth on", "Set the depth of the added rank by what is dug, not by the number on the "
        "handle; it is often set a little deeper.", ("lower",),
    ),
    _step(
        "row monitor", "monitor on", "Switch the added rows on in the row monitor and let each one show seed "
        "once.", ("supply on",), "as many rows as work",
    ),
    _step(
        "after ditches", "look back", "After ditches and waterways look back along the added rank: a row "
        "unit can stay locked up, and its row is missing until somebody looks.", ("look",),
    ),
)  # fmt: skip
"""Steps where a rank is added."""

COMMON_REMOVED = (
    _step(
        "seed supply", "supply off", "Shut the seed supply to the rank that is raised, and empty what would "
        "leak or spoil; cover or clean up spilt treated seed.", ("block",), "no seed drips from it",
    ),
    _step(
        "raise or lower", "raise", "Raise the row units of the rank that rests and secure each one up.",
        ("block", "supply off"), "every latch and pin, from both ends",
    ),
    _step(
        "down pressure", "pressure off", "Set the down pressure of the rows that stay: the resting rank's "
        "weight is now on the frame.", ("raise",),
    ),
    _step("depth", "depth off", "Dig and check the depth of the rows that stay.", ("raise",)),
    _step(
        "row monitor", "monitor off", "Switch the resting rows off in the row monitor, so that its alarms "
        "mean something.", ("supply off",), "as many rows as work",
    ),
    _step(
        "after ditches", "look down", "After ditches and waterways look whether a resting row unit has "
        "dropped.", ("look",),
    ),
)  # fmt: skip
"""Steps where a rank is raised."""
