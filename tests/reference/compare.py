"""The package's outcome of a case beside the slow reference's."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable

from overlapsim import Scenario, simulate
from tests.reference.case import Case, rotated
from tests.reference.count import count
from tests.reference.stepper import Outcome, drive

# Metres. Lengths of a line on the ground are read to 1e-8 m by either side (rounding, and what is done
# about it); on an edge that runs along the way, off it by as little as 1 in 100, a crossing moves by 100
# times as much. Anything wrong in earnest is larger: the negative controls differ by 1 mm.
EVENT_TOLERANCE = 100 * 1e-8

Key = tuple[int, str, int, str]
Places = dict[Key, list[tuple[float, float]]]


class Disagreement(AssertionError):
    """The two outcomes differ by more than the reference's resolution."""


def gathered(rows: Iterable[tuple[Key, float, float]]) -> Places:
    """Places by leg, rank, row and kind, each list upward along the heading."""
    found: Places = defaultdict(list)
    for key, right, along in rows:
        found[key].append((along, right))
    return {key: sorted(places) for key, places in found.items()}


def package_outcome(case: Case) -> tuple[dict[str, float], Places]:
    """Areas and events of one simulation by the package."""
    simulation = simulate(Scenario.from_dict(case.as_dict()))
    ends = simulation.row_ends
    columns = ends.columns
    places = rotated(tuple((point.x, point.y) for point in ends.geometry), case.heading_deg)
    keys = zip(columns["leg"], columns["rank"], columns["row"], columns["event"], strict=True)
    rows = [
        ((int(leg), str(rank), int(row), str(event)), right, along)
        for (leg, rank, row, event), (right, along) in zip(keys, places, strict=True)
    ]
    return dict(simulation.areas), gathered(rows)


def reference_outcome(case: Case, outcome: Outcome) -> tuple[dict[str, float], Places]:
    """Areas and events of the slow reference."""
    rings = [rotated(ring, case.heading_deg) for ring in (case.shell, *case.holes)]
    events = [((e.leg, e.rank, e.row, e.kind), e.right, e.along) for e in outcome.events]
    return count(rings, outcome.strips), gathered(events)


def require_same_events(package: Places, reference: Places) -> float:
    """Refuse any event that only one of the two has, or that lies elsewhere; return the summed difference."""
    if package.keys() != reference.keys():
        raise Disagreement(f"only one of the two has {sorted(package.keys() ^ reference.keys())[:5]}")
    apart = 0.0
    for key, places in reference.items():
        if len(places) != len(package[key]):
            raise Disagreement(f"{key}: {package[key]} against {places} by steps")
        for mine, theirs in zip(places, package[key], strict=True):
            apart += math.dist(mine, theirs)
            if math.dist(mine, theirs) > EVENT_TOLERANCE:
                raise Disagreement(f"{key}: {theirs} against {mine} by steps")
    return apart


def require_same_areas(package: dict[str, float], reference: dict[str, float], between: float) -> None:
    """Refuse areas that differ by more than what lies `between` the two sets of row ends, and rounding."""
    tolerance = between + 1e-9 * reference["plantable_m2"]
    for key in ("planted_m2", "skip_m2", "overlap_m2", "off_field_m2"):
        if abs(package[key] - reference[key]) > tolerance:
            raise Disagreement(f"{key}: {package[key]!r} against {reference[key]!r} by columns")


def compare(case: Case, outcome: Outcome | None = None) -> None:
    """Run both and refuse any difference."""
    outcome = outcome or drive(case)
    areas, places = package_outcome(case)
    counted, expected = reference_outcome(case, outcome)
    apart = require_same_events(places, expected)
    require_same_areas(areas, counted, apart * max((b - a for a, b, *_ in outcome.strips), default=0.0))
