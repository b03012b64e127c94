"""Questions at prompts, one at a time: on, back, quit, and on again another day without a loss."""

from __future__ import annotations

import shutil
import sys
from textwrap import wrap
from typing import TYPE_CHECKING

from overlapsim.cli.saying import say

if TYPE_CHECKING:
    from overlapsim.files.asked_answers import Answers, Question
    from overlapsim.files.asked_files import Draft
    from overlapsim.scenario.kinds import Slip

BACK, QUIT, OPEN = "<", "q", "-"
"""What may be typed instead of an answer."""

HOW_TO = (
    f"Enter takes what stands in brackets, and it is marked as assumed until somebody types it. {BACK} goes "
    f"back, {QUIT} stops for today and keeps all answers, {OPEN} takes an answer out again."
)

_FIRST_TAPE = "front"
_DRAWN_AFTER = ("setup", "front", "rear", "hitch-shift")


class Stopped(Exception):
    """Nobody answers any more, for now.

    Parameters
    ----------
    asked_for : bool
        Whether somebody said so; else the input has come to its end.
    """

    def __init__(self, asked_for: bool) -> None:
        self.asked_for = asked_for
        super().__init__()


def ask_all(answers: Answers, draft: Draft, place: str) -> None:
    """Ask until all answers are there and fit together.

    Parameters
    ----------
    answers : Answers
        Those of an earlier round; completed.
    draft : Draft
        Where they are kept after each question.
    place : str
        Key of the question to go on with; empty = the first.

    Raises
    ------
    Stopped
        When somebody quits, or the input ends. The draft is kept.
    """
    from overlapsim.files.asked_reading import faults_of

    keys = list(answers.questions)
    number = keys.index(place) if place else 0
    before: list[int] = []
    while True:
        while number < len(keys) and not answers.applies(keys[number]):
            answers.given.pop(keys[number], None)
            number += 1
        if number == len(keys):
            found = faults_of(answers)
            if not found:
                return
            say(f"{found[0][0]}: {found[0][1]}")
            number = keys.index(found[0][0])
        question = answers.questions[keys[number]]
        if number:
            draft.keep(answers, question.key)
        if _ask(answers, question):
            before = [*before, number]
            _show(answers, question.key)
            number += 1
        else:
            number = before.pop() if before else _earlier(answers, keys, number)


def _earlier(answers: Answers, keys: list[str], number: int) -> int:
    """Find the question before one, where this round has asked none before it."""
    asked = [i for i in range(number) if answers.applies(keys[i])]
    if not asked:
        say("That is the first question.")
    return asked[-1] if asked else number


def _ask(answers: Answers, question: Question) -> bool:
    """Ask one question until it is answered; False = back."""
    doubted = ""
    if question.key == _FIRST_TAPE:
        from overlapsim.report.setting import CAUTION

        tell_lines(f"\nTAPING: {CAUTION}")
    tell_lines(f"\n{question.how}")
    while True:
        offered = doubted or answers.text(question.key)
        text = _line(_prompt(answers, question, offered))
        if text == BACK:
            return False
        if text == OPEN:
            answers.given.pop(question.key, None)
            doubted = ""
            continue
        if not text and not offered and question.default is None:
            say("  Nothing stands in for a tape reading.")
            continue
        if not text and not doubted:
            # What was right before may not go with what was typed since.
            if wrong := _wrong(answers, question.key):
                say(f"  {offered}  {wrong}".replace("    ", "  "))
                continue
            return True
        doubted, odd = _take(answers, question, text or doubted, sure=not text)
        if not doubted and not odd:
            return True


def tell_lines(text: str) -> None:
    """Say something in lines that the terminal has room for.

    Parameters
    ----------
    text : str
        Sentences; a line break before them stays.
    """
    say("\n".join(_wrapped(line) for line in text.split("\n")))


def _wrapped(line: str) -> str:
    from overlapsim.report.terminal import WIDEST

    width = min(shutil.get_terminal_size().columns, WIDEST)
    return "\n".join(wrap(line, width, break_on_hyphens=False))


def _wrong(answers: Answers, key: str) -> Slip | None:
    """Find what is wrong with one answer beside the others."""
    from overlapsim.files.asked_reading import faults_of

    return next((slip for other, slip in faults_of(answers, field="field" in key) if other == key), None)


def _take(answers: Answers, question: Question, text: str, sure: bool) -> tuple[str, bool]:
    """Take an answer; give it back where it is odd, and say whether it was refused."""
    from overlapsim.files.asked_doubts import doubt
    from overlapsim.files.asked_reading import read_answer
    from overlapsim.scenario.kinds import Slip

    old = answers.given.get(question.key)
    try:
        answers.given[question.key] = read_answer(question, text, answers)
        if wrong := _wrong(answers, question.key):
            raise wrong
    except Slip as slip:
        _put_back(answers, question.key, old)
        say(f"  {text}  {slip}")
        return "", True
    odd = "" if sure else doubt(question.key, answers)
    if not odd:
        return "", False
    kept = answers.given[question.key]
    _put_back(answers, question.key, old)
    say(f"  {odd} Enter keeps it.")
    return kept, True


def _put_back(answers: Answers, key: str, old: str | None) -> None:
    if old is None:
        answers.given.pop(key, None)
    else:
        answers.given[key] = old


def _prompt(answers: Answers, question: Question, offered: str) -> str:
    from overlapsim.files.asked_reading import unit_of

    unit = unit_of(question, answers.us)
    hint = f" ({unit})" if unit and not offered.endswith(unit) else ""
    return _wrapped(f"{question.words}{hint}{f' [{offered}]' if offered else ''}:") + " "


def _line(prompt: str) -> str:
    """Read one line; prompts go to standard error, so that standard output holds the answer alone."""
    from overlapsim.report.phrases import printable

    print(printable(prompt, getattr(sys.stderr, "encoding", None)), end="", file=sys.stderr, flush=True)
    line = sys.stdin.readline()
    text = line.strip()
    if not line or text.lower() == QUIT:
        if not line:
            print(file=sys.stderr)
        raise Stopped(bool(line))
    return text


def _show(answers: Answers, key: str) -> None:
    """Draw the machine where an answer has changed it, and say the number once there is one."""
    if key in _DRAWN_AFTER or (key == "rear-rows" and not answers.rear_rows):
        draw(answers)
    if key == ("rear" if answers.rear_rows else "front"):
        from overlapsim.cli.first_answer import tell

        tell(answers, first=True)


def draw(answers: Answers) -> None:
    """Draw the machine as it is known so far, on standard error.

    Parameters
    ----------
    answers : Answers
        So far.
    """
    from overlapsim.files.asked_reading import scenario_of
    from overlapsim.report.machine_text import machine_lines

    scenario, _ = scenario_of(answers, field=False)
    if scenario is not None:
        taped = [rank for rank in ("front", "rear") if answers.has(rank)]
        width, encoding = shutil.get_terminal_size().columns, getattr(sys.stderr, "encoding", None)
        say(
            "\n".join(
                [
                    "",
                    *machine_lines(
                        scenario.machine, answers.us, width, encoding, taped, answers.has("hitch-shift")
                    ),
                    "",
                ]
            )
        )
