"""Ways to drive a field laid side by side: headland laps, their order, headings."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import shapely

from overlapsim.basics.errors import Fault, InputError
from overlapsim.basics.units import UnitError, parse
from overlapsim.drive.plan import plan_drive
from overlapsim.scenario.scenario import Scenario

NOW = "now"
"""Key of the pattern that is driven today."""

LAPS = (0, 1, 2, 3, 4)
"""Numbers of headland laps that are tried (common practice: two to four passes wide)."""

FINEST = math.radians(1.0)
"""Finest sweep of headings: a degree, which is 180 of them."""

SAME = 6
"""Digits behind the point of a degree to which headings are held against each other."""

_RESULT_TABLES = (
    "machine", "plan", "speed", "switching", "controller", "response", "weights", "tune",
)  # fmt: skip


@dataclass(frozen=True)
class Pattern:
    """One way to drive a field.

    Attributes
    ----------
    key : str
        Its name in results.
    laps : int
        Headland laps.
    order : str
        ``"first"`` or ``"last"``: whether the headland is planted before or after the passes.
    heading : float or "auto"
        Of the first pass, radians clockwise from north; the word only as it stands in a scenario.
    """

    key: str
    laps: int
    order: str
    heading: float | str


def with_pattern(scenario: Scenario, pattern: Pattern) -> Scenario:
    """The same scenario, driven another way.

    Parameters
    ----------
    scenario : Scenario
        As it is driven today.
    pattern : Pattern
        How to drive it.

    Returns
    -------
    Scenario
        A new one.
    """
    return scenario.with_(
        {
            "plan.heading": pattern.heading,
            "plan.headland_laps": pattern.laps,
            "plan.headland_order": pattern.order,
        }
    )


def lay_out(
    scenario: Scenario,
    headings: Sequence[float | str] = (),
    step: float | str | None = None,
    laps: Sequence[int] = LAPS,
) -> list[Pattern]:
    """List the patterns: today's first, then laps by order by heading.

    Parameters
    ----------
    scenario : Scenario
        As it is driven today.
    headings : sequence of float or str
        Headings to try, radians or text with a unit; ``"auto"`` = along the long side of the interior's
        smallest rectangle.
    step : float or str, optional
        Step of a sweep of headings from 0 to below 180 degrees, radians or text with a unit.
    laps : sequence of int
        Numbers of headland laps to try.

    Returns
    -------
    list of Pattern
        No two alike; without laps there is no order. Today's heading is among the headings; where none are
        given, the long side and square to today's are the others.

    Raises
    ------
    InputError
        A heading, a step or a number of laps that cannot be read.

    Examples
    --------
    >>> from overlapsim import Scenario
    >>> scenario = Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "30 in", "behind_pin": "84 in"}}},
    ...     "field": {"rectangle": ["200 m", "400 m"]},
    ...     "speed": {"working": "5 mph"},
    ...     "switching": {"reference_offset": "84 in", "turn_on_time": "0.4 s", "turn_off_time": "0.4 s"},
    ... })
    >>> [pattern.key for pattern in lay_out(scenario, ["90 deg"], laps=[0, 2])]
    ['now', '0-laps-90-deg', '2-laps-first-0-deg', '2-laps-first-90-deg', '2-laps-last-0-deg',
    '2-laps-last-90-deg']
    """
    wanted = [_angle("heading", heading) for heading in headings]
    swept = _swept(step)
    counts = _counts(laps)
    plan = scenario.plan
    today = float(plan_drive(scenario).heading)
    if not wanted and not swept:
        wanted = ["auto", today + math.pi / 2]
    known = [_long_side(scenario) if one == "auto" else float(one) for one in wanted]
    found = [Pattern(NOW, plan.headland_laps, plan.headland_order, plan.heading)]
    seen = {_likeness(plan.headland_laps, plan.headland_order, today)}
    for count in sorted(set(counts)):
        for order in ("first", "last"):
            for heading in [today, *known, *swept]:
                likeness = _likeness(count, order, heading)
                if likeness not in seen:
                    seen.add(likeness)
                    found.append(Pattern(_key(*likeness), count, order, math.radians(likeness[2])))
    return found


def _likeness(laps: int, order: str, heading: float) -> tuple[int, str, float]:
    """What makes two patterns alike: laps, order where there are any, heading in degrees from 0 to 360."""
    degrees = round(math.degrees(heading) % 360.0, SAME) % 360.0
    return laps, order if laps else "first", degrees


def _key(laps: int, order: str, degrees: float) -> str:
    plural = "lap" if laps == 1 else "laps"
    return f"{laps}-{plural}-" + (f"{order}-" if laps else "") + f"{degrees:.10g}-deg"


def _angle(key: str, given: float | str) -> float | str:
    """Read one angle in radians, or the one word that stands for one."""
    if not isinstance(given, str):
        if not math.isfinite(given):
            raise InputError(Fault("is not a finite number", 'Write "12 deg".', key, repr(given)))
        return float(given)
    if given.strip() == "auto" and key == "heading":
        return "auto"
    try:
        return parse(given, "angle")
    except UnitError as error:
        raise InputError(Fault(error.rule, error.remedy, key, f'"{given}"')) from None


def _swept(step: float | str | None) -> list[float]:
    """Headings from 0 to below half a turn: the other half only begins on the other side of the field."""
    if step is None:
        return []
    width = float(_angle("headings-step", step))
    if not FINEST * (1 - 1e-9) <= width <= math.pi:
        rule = "is not between 1 and 180 degrees"
        raise InputError(Fault(rule, 'Write "15 deg".', "headings-step", f"{math.degrees(width):.6g} deg"))
    return [n * width for n in range(math.ceil(math.pi / width - 1e-9))]


def _counts(laps: Iterable[Any]) -> list[int]:
    counts = list(laps)
    for count in counts:
        if isinstance(count, bool) or not isinstance(count, int) or not 0 <= count <= 6:
            raise InputError(Fault("is not a number from 0 to 6", "Write 2.", "laps", repr(count)))
    return counts


def _long_side(scenario: Scenario) -> float:
    return float(plan_drive(scenario.with_({"plan.heading": "auto"})).heading)


def hashes(scenario: Scenario, patterns: Sequence[Pattern]) -> list[str]:
    """Take the fingerprint of everything that bears on each pattern's result.

    Parameters
    ----------
    scenario : Scenario
        As it is driven today.
    patterns : sequence of Pattern
        Ways to drive it.

    Returns
    -------
    list of str
        SHA-256, hexadecimal; titles and names have no part in it.
    """
    ground = [shapely.__version__, shapely.geos_version_string, scenario.field.sha256()]
    found = []
    for pattern in patterns:
        one = with_pattern(scenario, pattern)
        inputs: dict[str, Any] = {name: getattr(one, name).to_text() for name in _RESULT_TABLES}
        if one.value.said:
            inputs["value"] = one.value.to_text()
        # Ranks and setups are tables of their own.
        inputs["ranks"] = {name: rank.to_text() for name, rank in one.machine.ranks.items()}
        inputs["setups"] = {name: setup.to_text() for name, setup in one.machine.setups.items()}
        inputs["machine"] = {k: v for k, v in inputs["machine"].items() if k not in ("ranks", "setups")}
        text = json.dumps([ground, inputs], sort_keys=True, ensure_ascii=False, allow_nan=False)
        found.append(hashlib.sha256(text.encode()).hexdigest())
    return found
