"""Answers read as people write them, and held against one another and against the machine they make."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from overlapsim.basics.errors import Fault, FieldError
from overlapsim.basics.units import exact
from overlapsim.files.asked import BY_KEY, QUESTIONS
from overlapsim.files.asked_answers import Answers, Question, length_text
from overlapsim.files.asked_doubts import doubt
from overlapsim.files.asked_texts import machine_text, scenario_text, which
from overlapsim.files.sheets import with_unit
from overlapsim.files.toml_text import nearest
from overlapsim.scenario.field import Field
from overlapsim.scenario.kinds import Slip
from overlapsim.scenario.plain import Choice, Count
from overlapsim.scenario.quantities import Measure, PerName
from overlapsim.scenario.resolve import resolve
from overlapsim.scenario.scenario import Scenario
from overlapsim.scenario.tables import Path as Keys

__all__ = ["Taken", "faults_of", "read_answer", "scenario_of", "take_all", "unit_of"]

_UNITS = {"length": ("in", "cm"), "speed": ("mph", "km/h"), "time": ("s", "s"), "angle": ("deg", "deg")}
_FARTHEST_APART = 2.0  # metres between ranks, more than any that are built (common practice, no source)
_STAND_IN = {"us": ("84 in", "119 in"), "metric": ("210 cm", "300 cm")}
"""Distances to draw rows with while nobody has taped them."""


def unit_of(question: Question, us: bool) -> str:
    """Tell the unit that a bare number takes.

    Parameters
    ----------
    question : Question
        Any question.
    us : bool
        Whether the tape reads inches.

    Returns
    -------
    str
        Empty where the answer has no unit.
    """
    kind = question.kind.each if isinstance(question.kind, PerName) else question.kind
    return _UNITS[kind.dimension][0 if us else 1] if isinstance(kind, Measure) else ""


def read_answer(question: Question, text: str, answers: Answers) -> str:
    """Read one answer by itself.

    Parameters
    ----------
    question : Question
        What was asked.
    text : str
        As typed.
    answers : Answers
        Those before it: they tell the unit of a bare number, and where files stand.

    Returns
    -------
    str
        As it is kept: with its unit.

    Raises
    ------
    Slip
        If it is no answer to this question.
    """
    text = " ".join(text.split())
    kind = question.kind.each if isinstance(question.kind, PerName) else question.kind
    if isinstance(kind, Choice):
        found = [one for one in kind.options if one.startswith(text.lower())]
        if len(found) != 1:
            raise Slip("is none of these", f"Write {' or '.join(kind.options)}.")
        return found[0]
    if isinstance(kind, Count):
        # Tables write 16 as 16.0 or 16,0.
        whole = re.fullmatch(r"([+-]?[0-9]{1,9})(?:[.,]0*)?", text)
        kind.read(int(whole[1]) if whole else text, False)
        return str(int(whole[1] if whole else text))
    if isinstance(kind, Measure):
        if text.lower() in dict(kind.words):
            return text.lower()
        written = _plain_marks(with_unit(text, kind.dimension, unit_of(question, answers.us)), kind.dimension)
        kind.read(written, False)
        return written
    if question.key == "sections":
        parts = re.sub(r"[\[\],]", " ", text).split() or [""]
        if text.lower().replace(" ", "-") != "each-row" and not all(
            re.fullmatch("[1-9][0-9]?", p) for p in parts
        ):
            raise Slip("are no sections", "Write each-row, a number, or the rows of each, as in 8 8 8 8.")
        return " ".join(parts) if parts[0].isdigit() else "each-row"
    if question.key == "field":
        path = answers.base / text.replace("\\", "/")
        if not path.exists():
            raise Slip("no such file", nearest(path))
    if question.key == "which-field":
        # As a scenario has it, too: where = {name = "Home 80"}, all = true.
        bare = re.sub(r"^where\s*=\s*|[{}\"]", "", text).strip()
        return "all" if re.fullmatch(r"all(\s*=\s*true)?", bare, re.IGNORECASE) else bare
    return text


def _plain_marks(text: str, dimension: str) -> str:
    """Write inch and foot marks as words: a quote mark ends a text in the file."""
    if dimension != "length":
        return text
    worded = re.sub(r"\s*(?:\"|″|”|“|''|′′|’’)", " in", text)
    worded = " ".join(re.sub(r"\s*['′’‘]\s*-?\s*", " ft ", worded).split())
    return worded if exact(worded, dimension) == exact(text, dimension) else text


def scenario_of(
    answers: Answers, lost: Iterable[Keys] = (), field: bool = True
) -> tuple[Scenario | None, list[Fault]]:
    """Make the scenario that the written files will hold.

    Parameters
    ----------
    answers : Answers
        So far; what nobody has taped yet stands in.
    lost : iterable of tuple of str
        Keys whose faults are known already.
    field : bool
        Whether the field's file is read; else a textbook field stands in.

    Returns
    -------
    tuple
        The scenario, and faults by the scenario's keys.
    """
    stand_in = dict(zip(("front", "rear"), _STAND_IN[answers.text("units")], strict=True))
    taped = {key: text for key, text in stand_in.items() if not answers.has(key)}
    filled = Answers(answers.questions, {**answers.given, **taped}, answers.base)
    machine = tomllib.loads(machine_text(filled))
    data: dict[str, Any] = tomllib.loads(scenario_text(filled, "", Path()))
    data["machine"] = {**machine, **{k: v for k, v in data["machine"].items() if k != "file"}}
    data.pop("field", None)
    ground: Field | None = None
    found: list[Fault] = []
    if field and answers.has("field"):
        ground, found = _ground(answers)
    scenario, faults = resolve(data, field=ground or Field.textbook_80() if found else ground, lost=lost)
    return scenario, [*found, *faults]


def _ground(answers: Answers) -> tuple[Field | None, list[Fault]]:
    from overlapsim.files.fields import read_field

    chosen = tomllib.loads("\n".join(f"{key} = {value}" for key, value in which(answers).items()))
    try:
        return read_field(answers.path("field"), **chosen), []
    except FieldError as error:
        # Which of its fields, or the file itself? Alone it may be fine.
        key = "which-field"
        if not chosen:
            try:
                read_field(answers.path("field"), all=True)
            except FieldError:
                key = "field"
        return None, [Fault(f.rule, f.remedy, BY_KEY[key].home[0]) for f in error.faults]


def faults_of(answers: Answers, lost: Iterable[str] = (), field: bool = True) -> list[tuple[str, Slip]]:
    """List what is wrong with answers taken together, by question.

    Parameters
    ----------
    answers : Answers
        Each of them read by itself.
    lost : iterable of str
        Keys of questions whose faults are known already.
    field : bool
        Whether the field's file is read.

    Returns
    -------
    list of (str, Slip)
        Key of the question, and what is wrong.
    """
    away = set(lost)
    if not {"rows", "rear-rows"} & away and abs(answers.rear_rows - answers.rows) > 1 and answers.rear_rows:
        rule = f"does not go between {answers.rows} rows in front"
        near = f"{answers.rows - 1}, {answers.rows} or {answers.rows + 1}"
        return [("rear-rows", Slip(rule, f"Write {near}; other machines are written in a machine file."))]
    gone = [tuple(home.split(".")) for key in away for home in (*BY_KEY[key].home, *BY_KEY[key].shared)]
    _, faults = scenario_of(answers, gone, field)
    by_home = {home: key for key, one in BY_KEY.items() for home in one.home}
    found = []
    for one in faults:
        parts = one.key.split(".")
        heads = [".".join(parts[:n]) for n in range(len(parts), 0, -1)]
        key = next((by_home[head] for head in heads if head in by_home), "")
        # What the rows make of a row setup was said about their ranks.
        key = key or ("spacing" if parts[:2] == ["machine", "setups"] else "title")
        remedy = one.remedy
        if key == "rear" and answers.has("front") and answers.length("rear") <= _FARTHEST_APART:
            total = length_text(answers.length("front") + answers.length("rear"), answers.us)
            remedy = f"{remedy} Or taped from the front rank? Then it is {total}."
        if key not in away:
            found.append((key, Slip(one.rule, remedy)))
    return found


@dataclass
class Taken:
    """Answers that came all at once.

    Attributes
    ----------
    answers : Answers
        Those that could be read.
    slips : list of (str, str, Slip)
        Key, text and what is wrong, in the order of the questions.
    doubts : list of (str, str, str)
        Key, text and what is odd about it.
    """

    answers: Answers
    slips: list[tuple[str, str, Slip]]
    doubts: list[tuple[str, str, str]]


def take_all(given: Mapping[str, str], base: Path = Path()) -> Taken:
    """Read answers that come all at once, and find everything that is wrong with them.

    Parameters
    ----------
    given : mapping of str to str
        As typed, by key; what is missing or empty takes what stands in.
    base : Path
        Folder that names of files are counted from.

    Returns
    -------
    Taken
        Sound where there are no slips.
    """
    answers, slips = Answers(BY_KEY, {}, base), {}
    for question in QUESTIONS:
        text = given.get(question.key, "").strip()
        if text:
            try:
                answers.given[question.key] = read_answer(question, text, answers)
            except Slip as slip:
                slips[question.key] = slip
    for question in QUESTIONS:
        key = question.key
        if key in slips or (key != "front" and {"rows", "rear-rows"} & set(slips)):
            continue
        if answers.has(key) and not answers.applies(key):
            why = (
                "there is no rear rank" if not answers.rear_rows else "there is nothing that it could change"
            )
            slips[key] = Slip(why, "Leave it out.")
        elif question.default is None and answers.applies(key) and not answers.has(key):
            slips[key] = Slip("is missing", f'Tape it, and write it as in "{question.kind.example}".')  # type: ignore[union-attr]
    for key, wrong in faults_of(answers, slips):
        slips.setdefault(key, wrong)
    listing = [(q.key, given.get(q.key, "").strip(), slips[q.key]) for q in QUESTIONS if q.key in slips]
    doubts = []
    for key, text in answers.given.items() if not slips else ():
        if odd := doubt(key, answers):
            doubts.append((key, text, odd))
    return Taken(answers, listing, doubts)
