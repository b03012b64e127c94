"""A command that learns its options when somebody asks for them, so that others start without waiting."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import click

from overlapsim.cli.options import Option

__all__ = ["LateCommand", "made"]


def made(options: Sequence[Option]) -> list[click.Parameter]:
    """Make options as click has them.

    Parameters
    ----------
    options : sequence of Option
        Lines of a table.

    Returns
    -------
    list of click.Parameter
        In the same order.
    """
    return [click.Option([one.flag, one.name], help=one.help, **one.more) for one in options]


class LateCommand(click.Command):
    """A command with further options that take long to import.

    Parameters
    ----------
    name : str
        As it is typed.
    late : callable
        Gives the further options.
    **more : Any
        As for any command.
    """

    def __init__(self, name: str, late: Callable[[], Sequence[Option]], **more: Any) -> None:
        super().__init__(name, **more)
        self._late: Callable[[], Sequence[Option]] | None = late

    def get_params(self, ctx: click.Context) -> list[click.Parameter]:
        """Give all parameters.

        Parameters
        ----------
        ctx : click.Context
            Of this command.

        Returns
        -------
        list of click.Parameter
            Its own and the further ones.
        """
        if self._late:
            self.params += made(self._late())
            self._late = None
        return super().get_params(ctx)
