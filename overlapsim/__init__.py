"""Overlapsim: how far behind the hitch pin a planter's section controller should look.

Field boundaries and passes are swept by a model of row units in staggered ranks, with the controller's
look-ahead and the machine's latencies; out come skip, double-planted and off-field ground, and the
reference offset with the least combined error. See :mod:`overlapsim.basics.frames` for axes and signs.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from overlapsim.basics.version import __version__

if TYPE_CHECKING:
    from overlapsim.basics.errors import (
        BalanceError,
        FieldError,
        FolderError,
        InputError,
        OverlapsimError,
        ScenarioError,
    )
    from overlapsim.control.run import Simulation, simulate
    from overlapsim.files.digs import load_digs
    from overlapsim.files.study import load_study
    from overlapsim.files.toml import load_scenario
    from overlapsim.questions.asked_besides import together
    from overlapsim.questions.breakdown import CausesResult, causes
    from overlapsim.questions.changing_over import ChangeoverResult, changeover
    from overlapsim.questions.corrected import CorrectResult
    from overlapsim.questions.correction import correct
    from overlapsim.questions.dig_plan import digplan
    from overlapsim.questions.offset import tune
    from overlapsim.questions.outcome import TuneResult
    from overlapsim.questions.pattern_choice import PatternsResult, patterns
    from overlapsim.questions.planned import DigPlan
    from overlapsim.questions.study import StudyResult, run_study
    from overlapsim.questions.study_plan import Study
    from overlapsim.scenario.field import Field
    from overlapsim.scenario.scenario import Scenario

_HOME = {
    "BalanceError": "basics.errors",
    "CausesResult": "questions.breakdown",
    "ChangeoverResult": "questions.changing_over",
    "CorrectResult": "questions.corrected",
    "DigPlan": "questions.planned",
    "Field": "scenario.field",
    "FieldError": "basics.errors",
    "FolderError": "basics.errors",
    "InputError": "basics.errors",
    "OverlapsimError": "basics.errors",
    "PatternsResult": "questions.pattern_choice",
    "Scenario": "scenario.scenario",
    "ScenarioError": "basics.errors",
    "Simulation": "control.run",
    "Study": "questions.study_plan",
    "StudyResult": "questions.study",
    "TuneResult": "questions.outcome",
    "causes": "questions.breakdown",
    "changeover": "questions.changing_over",
    "correct": "questions.correction",
    "digplan": "questions.dig_plan",
    "load_digs": "files.digs",
    "load_scenario": "files.toml",
    "load_study": "files.study",
    "patterns": "questions.pattern_choice",
    "run_study": "questions.study",
    "simulate": "control.run",
    "together": "questions.asked_besides",
    "tune": "questions.offset",
}

__all__ = [
    "BalanceError", "CausesResult", "ChangeoverResult", "CorrectResult", "DigPlan", "Field", "FieldError",
    "FolderError", "InputError", "OverlapsimError", "PatternsResult", "Scenario", "ScenarioError",
    "Simulation", "Study", "StudyResult", "TuneResult", "__version__", "causes", "changeover", "correct",
    "digplan", "load_digs", "load_scenario", "load_study", "patterns", "run_study", "simulate", "together",
    "tune",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    """Load a public name from its module when it is first asked for."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """Public names, loaded or not."""
    return sorted({*globals(), *_HOME})
