"""What stands on the settings card that is left in the cab, as data, before anything is drawn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from overlapsim.basics.errors import Fault, InputError
from overlapsim.questions.options import digging
from overlapsim.questions.search import find_best
from overlapsim.questions.tuned import Tuned
from overlapsim.report.amiss import amiss
from overlapsim.report.card_lines import Row, check_rows, enter_rows, entry_words, lettered, machine_rows
from overlapsim.report.card_tape import Tape, tape_of
from overlapsim.report.cautions import CHANGE_CAUTIONS
from overlapsim.report.phrases import and_words
from overlapsim.report.setting import CAUTION, entered_words, field_words
from overlapsim.report.sources import sources
from overlapsim.report.symptoms import SYMPTOMS, shown_by
from overlapsim.report.words import Words, choose
from overlapsim.scenario.rows import row_layout

MOST_SETUPS = 4
"""Row setups that stand side by side on one page: more would leave no room for what is typed in."""

BLANKS = (
    "entered by", "date", "found when dug or checked", "corrected to: reference offset",
    "corrected to: times",
)  # fmt: skip
"""Lines to be filled in by hand, for each row setup."""

HOW_TO_TAPE = (
    "Tape from the middle of the hitch pin straight back to where the seed meets the ground; machine in the "
    "ground and level, each rank by itself."
)
"""Where the tape goes (what `behind_pin` stands for)."""

HOW_TO_TAPE_MOUNTED = (
    "Tape from midway between the lower-link ends straight back to where the seed meets the ground; machine "
    "in the ground and level, each rank by itself."
)
"""The same on a mounted machine, which has no hitch pin."""

_FOUND = {
    "offset": "reference offset", "turn_on": "turn-on time", "turn_off": "turn-off time",
    "position": "position",
}  # fmt: skip


@dataclass(frozen=True)
class Card:
    """All that stands on one card.

    Attributes
    ----------
    title : str
        Of the scenario.
    about : tuple of (str, str)
        Customer, farm and the like: name and text, as the scenario has them.
    job : tuple of str
        Machine and field, a sentence each.
    setups : tuple of str
        Row setups that stand side by side.
    entry : str
        From where and in which steps is typed in.
    enter, machine, check : tuple of Row
        What to type in, to set on the machine and to look at; a cell for each row setup.
    digging : tuple of Row
        Where seed should start and stop, rank by rank: two cells for each row setup.
    where_dug : str
        Where that holds, and what half a seed spacing adds to it.
    tape : Tape
        The machine with its distances.
    symptoms : tuple of (str, str)
        What one sees, and what it means.
    cautions : tuple of str
        Before anybody goes near the machine.
    notes : tuple of str
        What to beware of.
    source : str
        What was taped, dug or assumed.
    units : {"us", "metric"}
        The reader's.
    """

    title: str
    about: tuple[tuple[str, str], ...]
    job: tuple[str, ...]
    setups: tuple[str, ...]
    entry: str
    enter: tuple[Row, ...]
    machine: tuple[Row, ...]
    check: tuple[Row, ...]
    digging: tuple[Row, ...]
    where_dug: str
    tape: Tape
    symptoms: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    source: str
    units: str


def card_of(result: Any, others: Iterable[Tuned] = (), units: str | None = None) -> Card:
    """Gather what stands on the card of a result.

    Parameters
    ----------
    result : TuneResult, ChangeoverResult or CorrectResult
        Finished result. Of a changeover both row setups are on the card; of digs the machine as they show it.
    others : iterable of Tuned
        Further row setups of the same machine.
    units : {"us", "metric"}, optional
        The reader's. Default: the scenario's own.

    Returns
    -------
    Card
        Row setups in the order in which the machine has them.

    Raises
    ------
    InputError
        Where digs do not tell what is to be typed in.

    Examples
    --------
    >>> from overlapsim import Scenario, tune
    >>> card = card_of(tune(Scenario.from_dict({
    ...     "machine": {"ranks": {"bar": {"rows": 8, "spacing": "30 in", "behind_pin": "84 in"}}},
    ...     "field": {"rectangle": ["60.96 m", "100 m"]},
    ...     "speed": {"working": "5 mph"},
    ...     "switching": {"reference_offset": "70 in", "turn_on_time": "0.4 s", "turn_off_time": "0.4 s"},
    ... })))
    >>> card.enter[0].name, card.enter[0].cells
    ('reference offset', ('84.0 in',))
    """
    scenario = result.scenario
    words = choose(units, scenario)
    tuned, run = _tuned_of(result)
    columns, left_out = _side_by_side([*tuned, *others], list(scenario.machine.setups))
    machine = scenario.machine
    return Card(
        title=scenario.title,
        about=tuple((key, text) for key, text in scenario.about.items() if text),
        job=(machine.title, field_words(scenario, run.drive.heading, words)),
        setups=tuple(one.scenario.machine.setup for one in columns),
        entry=entry_words(scenario),
        enter=enter_rows(columns, words),
        machine=machine_rows(columns, words),
        check=check_rows(columns, words),
        digging=_digging_rows(columns, words),
        where_dug=_where_dug(columns, words),
        tape=tape_of(machine, columns, words),
        symptoms=tuple((one.seen, one.means) for one in SYMPTOMS),
        cautions=(*CHANGE_CAUTIONS, f"Digging: {CAUTION}"),
        notes=(*_notes(result, columns, words), *left_out),
        source=sources(scenario.basis, scenario.assumed),
        units=words.units,
    )


def _tuned_of(result: Any) -> tuple[list[Tuned], Any]:
    """Row setups that a result has settings for, and a run of the field."""
    if hasattr(result, "forgotten"):
        return [result.old, result.new], result.base
    if hasattr(result, "estimates"):
        run = result.after
        if run is None:
            rule = "no card: these digs do not tell what is to be typed in"
            raise InputError(Fault(rule, "Dig as the report says, or tune."))
        return [Tuned(run.scenario, find_best(run.scenario, run))], run
    found = result.joint.typed_found if result.joint else result.found
    return [Tuned(result.recommended.scenario, found)], result.recommended


def _side_by_side(tuned: Sequence[Tuned], order: list[str]) -> tuple[list[Tuned], list[str]]:
    """Take as many row setups as a page holds, and name the others."""
    kept = sorted(tuned[:MOST_SETUPS], key=lambda one: order.index(one.scenario.machine.setup))
    names = [one.scenario.machine.setup for one in tuned[MOST_SETUPS:]]
    said = [f"Not on this card: row setup{'s' * (len(names) > 1)} {and_words(names)}."] if names else []
    return kept, said


def _digging_rows(columns: Sequence[Tuned], words: Words) -> tuple[Row, ...]:
    """Starts and stops of each rank that works in any of the row setups, foremost first."""
    shown: list[dict[str, Any]] = []
    places: dict[str, float] = {}
    for one in columns:
        layout, offset = row_layout(one.scenario), one.scenario.switching.reference_offset
        shown.append({str(dig["rank"]): dig for dig in digging(one.scenario, layout, offset)})
        places |= {rank: layout.behind_pin_of(rank) for rank in layout.working_ranks}
    rows = []
    for rank in sorted(places, key=lambda name: places[name]):
        cells = [
            words.late(float(digs[rank][f"{end}_m"]), end) if rank in digs else "-"
            for digs in shown
            for end in ("on", "off")
        ]
        rows.append(Row(rank, lettered(columns[0].scenario.machine, rank), tuple(cells)))
    return tuple(rows)


def _where_dug(columns: Sequence[Tuned], words: Words) -> str:
    halves = {
        one.scenario.machine.setup: words.short(one.scenario.seed.spacing / 2)
        for one in columns
        if one.scenario.seed.spacing
    }
    if not halves:
        return "On ends square to the passes; what is found is written beside it."
    alone = len(set(halves.values())) == 1 and len(halves) == len(columns)
    said = next(iter(halves.values())) if alone else ", ".join(f"{k} {text}" for k, text in halves.items())
    return (
        "On ends square to the passes; what is found is written beside it. On average first seeds lie half a "
        f"seed spacing farther along, last seeds half a spacing less far: {said}."
    )


def _notes(result: Any, columns: Sequence[Tuned], words: Words) -> list[str]:
    said = []
    if hasattr(result, "estimates"):
        shown, count = shown_by(result, words), len(result.digs)
        found = "; ".join(f"{name} {shown[key]}" for key, name in _FOUND.items() if key in shown)
        before = entered_words(result.scenario, words)
        said.append(f"Corrected by {count} dig{'s' * (count > 1)}. Entered before: {before}.")
        said += [f"Found: {found}."] if found else []
        said += list(result.warnings)
    for one in columns:
        own = amiss(one.scenario, row_layout(one.scenario), words)
        if not one.found.bracketed:
            own.append("The least area lies at the end of the range that was searched: look at the settings.")
        before = f"{one.scenario.machine.setup}: " if len(columns) > 1 else ""
        said += [f"{before}{note}" for note in own]
    return [*said, *result.scenario.warnings]

