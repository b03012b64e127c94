"""Answers as a machine file and a scenario file, every line with what it means."""

from __future__ import annotations

import json
import os
from pathlib import Path

from overlapsim.files.asked_answers import Answers
from overlapsim.files.schemas import schema_line

__all__ = [
    "assumed_keys",
    "machine_text",
    "relative",
    "scenario_text",
    "section_value",
    "toml_string",
    "which",
]

_COLUMN = 36
"""Columns before a comment, where the value leaves them."""


def toml_string(text: str) -> str:
    r"""Write a text as TOML has it.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        In double quotes; where it holds backslashes or double quotes and may be, in single ones.

    Examples
    --------
    >>> print(toml_string("12 ft 6 in"), toml_string(r"C:\fields"))
    "12 ft 6 in" 'C:\fields'
    """
    plain = all(sign == "\t" or (ord(sign) >= 32 and ord(sign) != 127) for sign in text)
    if plain and "'" not in text and ('"' in text or "\\" in text):
        return f"'{text}'"
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _line(key: str, value: str, comment: str = "") -> str:
    text = f"{key} = {value}"
    return f"{text.ljust(_COLUMN)} # {comment}" if comment else text


def _quantity(answers: Answers, name: str, key: str, comment: str = "") -> str:
    return _line(name, toml_string(answers.text(key)), comment)


def machine_text(answers: Answers) -> str:
    """Write the machine file.

    Parameters
    ----------
    answers : Answers
        A rear rank is left out until its tape reading is in.

    Returns
    -------
    str
        TOML.
    """
    rear = answers.rear_rows > 0 and answers.has("rear")
    rows = f"{answers.rows} + {answers.rear_rows}" if rear else str(answers.rows)
    lines = [
        schema_line("machine").replace("./", "../"),
        "# Figures as somebody typed them; which of them are assumed stands in the scenario's [basis].",
        _line("title", toml_string(f"{rows} rows, {answers.text('spacing')} apart on a rank")),
        _line("hitch", toml_string(answers.text("hitch")), '"drawn" on a pin, "mounted" on three points'),
        "",
        "[ranks.front]",
        _line("rows", str(answers.rows)),
        _quantity(answers, "spacing", "spacing", "between rows of this rank"),
        _quantity(answers, "behind_pin", "front", "hitch pin back to where the seed meets the ground"),
    ]
    if rear:
        side = answers.text("extra-row")
        lines += [
            "",
            "[ranks.rear]",
            _line("rows", str(answers.rear_rows)),
            _quantity(answers, "spacing", "spacing"),
            _quantity(answers, "behind_pin", "rear"),
        ]
        if answers.rear_right:
            lines.append(_line("right", toml_string(answers.rear_right), f"one extra row on the {side}"))
        lines += [
            "",
            "[setups.wide]",
            'ranks = ["front"]',
            "",
            "[setups.narrow]",
            'ranks = ["front", "rear"]',
            _quantity(
                answers, "hitch_shift", "hitch-shift", "how far the hitch moves the machine to the right"
            ),
        ]
    return "\n".join(lines) + "\n"


def scenario_text(answers: Answers, machine: str, folder: Path) -> str:
    """Write the scenario file.

    Parameters
    ----------
    answers : Answers
        With the tape readings.
    machine : str
        The machine file as the scenario names it.
    folder : Path
        Where the scenario will stand: the field's file is named from there.

    Returns
    -------
    str
        TOML.
    """
    lines = [
        schema_line("scenario"),
        "# overlapsim tune says what to type in. Change what changes, and run it again.",
        _line("title", toml_string(answers.text("title"))),
    ]
    if answers.has("customer"):
        lines += ["", "[about]", _line("customer", toml_string(answers.text("customer")))]
    lines += ["", "[machine]", _line("file", toml_string(machine))]
    if answers.rear_rows > 0 and answers.has("rear"):
        lines.append(_line("setup", toml_string(answers.text("setup")), '"wide" = front rank only'))
    lines += [
        "",
        *_field(answers, folder),
        "",
        *_plan(answers),
        "",
        *_settings(answers),
        "",
        *_basis(answers),
    ]
    return "\n".join(lines).rstrip("\n") + "\n"


def _field(answers: Answers, folder: Path) -> list[str]:
    if not answers.has("field"):
        return [
            "# [field]: none was named, so a textbook field stands in. file = 'fields/home.zip' for yours."
        ]
    name = relative(answers.path("field"), folder)
    return ["[field]", _line("file", toml_string(name)), *(_line(k, v) for k, v in which(answers).items())]


def which(answers: Answers) -> dict[str, str]:
    """Tell how the field is chosen from its file.

    Parameters
    ----------
    answers : Answers
        With a field's file.

    Returns
    -------
    dict of str to str
        Keys of ``[field]`` with their values as TOML has them; empty where the file holds one field.
    """
    text = answers.given.get("which-field", "")
    if not text:
        return {}
    if text.lower() == "all":
        return {"all": "true"}
    if text.isdigit():
        return {"where": f"{{feature = {int(text)}}}"}
    key, sign, value = (part.strip() for part in text.partition("="))
    key, value = (key, value) if sign else ("name", text)
    return {"where": f"{{{toml_string(key)} = {toml_string(value)}}}"}


def relative(path: Path, folder: Path) -> str:
    """Name a file as seen from a folder.

    Parameters
    ----------
    path, folder : Path
        From where the program stands.

    Returns
    -------
    str
        With ``/`` between folders; the whole path where the two stand on different drives.
    """
    try:
        return Path(os.path.relpath(path, folder)).as_posix()
    except ValueError:
        return path.resolve().as_posix()


def _plan(answers: Answers) -> list[str]:
    return [
        "[plan]",
        _quantity(answers, "heading", "heading", "of the first pass, clockwise from north"),
        _line("headland_laps", answers.text("laps"), "rounds along the boundary, before the passes"),
        "# In place of laps: headland_width = '80 ft', or headland = {file = 'headland.zip'} as it came.",
        "",
        "[speed]",
        _quantity(answers, "working", "speed"),
    ]


def section_value(text: str) -> str:
    """Write sections as TOML has them.

    Parameters
    ----------
    text : str
        ``each-row``, a number, or rows of each section with blanks between.

    Returns
    -------
    str
        A text, a number or a list.

    Examples
    --------
    >>> section_value("each-row"), section_value("16"), section_value("8 8 7 8")
    ('"each-row"', '16', '[8, 8, 7, 8]')
    """
    parts = text.split()
    if not all(part.isdigit() for part in parts):
        return toml_string(text)
    return parts[0] if len(parts) == 1 else f"[{', '.join(parts)}]"


def _settings(answers: Answers) -> list[str]:
    lines = [
        "[switching]                          # what is entered today",
        _quantity(answers, "reference_offset", "entered", "behind the hitch pin"),
        _quantity(answers, "turn_on_time", "on-time"),
        _quantity(answers, "turn_off_time", "off-time"),
        _line("sections", section_value(answers.text("sections"))),
    ]
    if answers.applies("lateral-offset") and answers.has("lateral-offset"):
        lines.append(_quantity(answers, "lateral_offset", "lateral-offset", "entered in guidance"))
    known = [(key, key.replace("-", "_")) for key in ("on-latency", "off-latency") if answers.has(key)]
    lines += ["", "[response]                           # what the machine really does"]
    lines += [_quantity(answers, name, key) for key, name in known]
    lines += [
        f"# {key.replace('-', '_')} is not known: taken as equal to the time, and marked ASSUMED."
        for key in ("on-latency", "off-latency")
        if not answers.has(key)
    ]
    return lines


def assumed_keys(answers: Answers) -> list[str]:
    """List the scenario's keys that nobody answered for.

    Parameters
    ----------
    answers : Answers
        So far.

    Returns
    -------
    list of str
        Dotted keys, in the order asked.
    """
    two = answers.rear_rows > 0 and answers.has("rear")
    found = []
    for key, question in answers.questions.items():
        if answers.has(key) or not answers.applies(key) or not answers.text(key):
            continue
        if key in ("heading", "laps") and not answers.has("field"):
            continue  # the field itself is made up
        found += [home for home in question.home if two or not home.startswith("machine.ranks.rear.")]
    return found


def _basis(answers: Answers) -> list[str]:
    two = answers.rear_rows > 0 and answers.has("rear")
    told = {
        f"machine.ranks.{rank}.behind_pin": answers.text("distances") for rank in ("front", "rear")[: 1 + two]
    }
    for key in ("on-latency", "off-latency"):
        if answers.has(key):
            told[f"response.{key.replace('-', '_')}"] = answers.text("latencies")
    told |= dict.fromkeys(assumed_keys(answers), "assumed")
    return [
        "[basis]                              # where numbers come from: taped, dug, logged, assumed",
        *(f"{toml_string(key)} = {toml_string(words)}" for key, words in told.items()),
    ]
