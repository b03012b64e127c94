"""The status that a program ends with, and words for whatever goes wrong on the way."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from overlapsim.basics.errors import BalanceError, InputError
from overlapsim.cli.saying import say
from overlapsim.cli.stopping import stoppable

DONE, OUR_FAULT, BAD_INPUT = 0, 1, 2
"""Exit statuses."""


class Statuses:
    """The statuses of several scenarios, and the one that stands for all: a fault of ours comes first.

    `met` holds those that were met, `faults` what was wrong by what was worked on.
    """

    def __init__(self) -> None:
        self.met: set[int] = set()
        self.faults: dict[str, str] = {}

    @property
    def all_in_all(self) -> int:
        """Exit status."""
        return next((status for status in (OUR_FAULT, BAD_INPUT) if status in self.met), DONE)

    @contextmanager
    def watch(self, what: str) -> Iterator[None]:
        """Say in words what goes wrong inside, and go on.

        Parameters
        ----------
        what : str
            What is being worked on.

        Yields
        ------
        None
            Errors end the block, not the program. Ctrl-C ends the program.
        """
        try:
            with stoppable():
                yield
        except InputError as error:
            # What shows only while driving knows its key, and no file.
            placed = [fault if fault.file else replace(fault, file=what) for fault in error.faults]
            self.refuse("\n".join(str(fault) for fault in placed), what)
        except BalanceError as error:
            self.own_up(what, f"the areas do not balance, so there is no result: {error}")
        except BrokenPipeError:
            # Whoever read the words has had enough of them; the folder is written.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        except OSError as error:
            if error.filename is None:
                self.own_up(what, f"{type(error).__name__}: {error}")
            else:
                why = (error.strerror or "no reason given").lower()
                self.refuse(f"{error.filename}  cannot be used: {why}.", what)
        except MemoryError:
            remedy = "Sweep fewer values, or a smaller field."
            self.refuse(f"{what}  needs more memory than there is. {remedy}", what)
        except Exception as error:
            self.own_up(what, f"{type(error).__name__}: {error}")

    def refuse(self, sentence: str, *what: str) -> None:
        """Say that the input is at fault, and take note of it.

        Parameters
        ----------
        sentence : str
            What is wrong; a line for each fault.
        *what : str
            What was worked on.
        """
        self.met.add(BAD_INPUT)
        self.faults |= dict.fromkeys(what, sentence)
        say(sentence)

    def own_up(self, what: str, sentence: str, left: str = "nothing was written") -> None:
        """Say that the program is at fault, and take note of it.

        Parameters
        ----------
        what : str
            What was worked on.
        sentence : str
            What went wrong.
        left : str
            What there is all the same.
        """
        self.met.add(OUR_FAULT)
        self.faults[what] = f"a fault of overlapsim itself: {sentence}"
        say(f"A fault of overlapsim itself, {left}. {what}: {sentence}")
        if os.environ.get("OVERLAPSIM_DEBUG"):
            traceback.print_exc()
        else:
            say("Run it again with OVERLAPSIM_DEBUG=1 in the environment to see where.")
