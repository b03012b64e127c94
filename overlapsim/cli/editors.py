"""For those who write scenarios in an editor and commands in a shell: schemas, completion, versions."""

from __future__ import annotations

from typing import Any

import click

from overlapsim.cli.statuses import DONE, Statuses

SHELLS = ("bash", "zsh", "fish")

_EXAMPLES = {
    "tune": "overlapsim tune home.toml",
    "simulate": "overlapsim simulate home.toml --units metric",
    "causes": "overlapsim causes home.toml",
    "patterns": "overlapsim patterns home.toml --out reports/ways-to-drive",
    "changeover": "overlapsim changeover home.toml --from wide --to narrow",
    "digplan": "overlapsim digplan home.toml --minutes 10",
    "study": "overlapsim study scenarios/studies/stagger.toml --workers 2",
    "correct": "overlapsim correct digs.csv home.toml",
}


def example(command: str) -> str:
    """Give the last line of a command's help.

    Parameters
    ----------
    command : str
        Its name.

    Returns
    -------
    str
        One command as it is typed; empty where there is none.
    """
    return f"Example: {_EXAMPLES[command]}" if command in _EXAMPLES else ""


@click.command("schemas", epilog="Example: overlapsim schemas scenarios")
@click.argument("folder", default=".", type=click.Path(file_okay=False))
def schemas(folder: str) -> int:
    """Write JSON Schemas that an editor checks scenario and machine files with while one types.

    They go into FOLDER (default: here), beside the files that they are for. The first line of such a file
    then says where its schema is; this prints that line.
    """
    statuses = Statuses()
    with statuses.watch(folder):
        from overlapsim.files.schemas import SCHEMAS, schema_line, write_schemas

        written = write_schemas(folder)
        for kind, path in zip(SCHEMAS, written, strict=True):
            print(f"{path}  first line of a {kind} file beside it: {schema_line(kind)}")
    return statuses.all_in_all


@click.command("completion", epilog="Example: overlapsim completion bash >> ~/.bashrc")
@click.argument("shell", type=click.Choice(SHELLS))
def completion(shell: str) -> int:
    """Print what makes a shell complete commands and options at the tab key.

    Add it to what the shell reads when it starts.
    """
    from click.shell_completion import get_completion_class

    from overlapsim.cli import program

    made = get_completion_class(shell)
    assert made is not None
    print(made(program, {}, "overlapsim", "_OVERLAPSIM_COMPLETE").source())
    return DONE


def show_versions(context: click.Context, _: click.Parameter, wanted: Any) -> None:
    """Print the versions and end, where that is asked for.

    Parameters
    ----------
    context : click.Context
        Of the program.
    _ : click.Parameter
        The option.
    wanted : bool
        Whether it was given.
    """
    if wanted and not context.resilient_parsing:
        from overlapsim.files.versions import versions

        print("\n".join(f"{name} {version}" for name, version in versions().items()))
        context.exit()
