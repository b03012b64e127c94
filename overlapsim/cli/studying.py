"""``overlapsim study``: many cases, here or on many machines, taken up where it was broken off."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from overlapsim.cli.comparing import cores
from overlapsim.cli.editors import example
from overlapsim.cli.saying import say
from overlapsim.cli.statuses import Statuses
from overlapsim.cli.waiting import Waiting


class _Part(click.ParamType):
    name = "K/N"

    def convert(self, value: Any, param: Any, context: Any) -> Any:
        if isinstance(value, tuple):
            return value
        number, slash, of = str(value).partition("/")
        if slash and number.isdecimal() and of.isdecimal() and 1 <= int(number) <= int(of):
            return int(number), int(of)
        self.fail(f'{value} is no part. Write "3/40" for the third of forty.', param, context)


@click.command("study", epilog=example("study"))
@click.argument("file", metavar="STUDY.toml", type=click.Path(readable=False))
@click.option("--out", type=click.Path(path_type=Path), metavar="DIR",
              help="Folder for the results. Default: reports/ and the study's name. Finished chunks of cases "
                   "wait in DIR-chunks.")
@click.option("--workers", type=click.IntRange(1, 1024), metavar="N",
              help="Processes that work side by side. Default: one for each core. The results are the same.")
@click.option("--scheduler", metavar="ADDRESS",
              help="Let the workers of a Dask cluster work, as in tcp://10.0.0.5:8786.")
@click.option("--part", type=_Part(), default="1/1", metavar="K/N",
              help="Work out only the K-th of N equal parts, for batch queues that share a folder; whoever "
                   "finishes last, or a run without --part, writes the results.")
@click.option("--bundle", is_flag=True,
              help="Write bundle.zip too: inputs, versions, results and a citation file, in one archive that "
                   "reruns itself (python bundle.zip).")
@click.option("--quiet", is_flag=True, help="Print nothing but faults.")
@click.option("--json", "as_json", is_flag=True,
              help="Print result.json on standard output and nothing else there.")
def study(
    file: str, out: Path | None, workers: int | None, scheduler: str | None, part: tuple[int, int],
    bundle: bool, quiet: bool, as_json: bool,
) -> int:
    """Work out a study: what skip and overlap come to over many machines, fields and settings.

    STUDY.toml names a base scenario, factors by dotted key with their values, machines, fields, and a full
    grid or a sample of them. Leaves a folder with a table (a row for each case), what its columns are, main
    effects, interactions, sensitivity indices, pictures and a page. A study that was broken off goes on where
    it was.
    """
    statuses = Statuses()
    with statuses.watch(file):
        _study(file, out, workers or cores(), scheduler, part, bundle, quiet, as_json, statuses)
    return statuses.all_in_all


def _study(
    file: str, out: Path | None, workers: int, scheduler: str | None, part: tuple[int, int],
    bundle: bool, quiet: bool, as_json: bool, statuses: Statuses,
) -> None:
    import overlapsim
    from overlapsim.cli.running import REPORTS
    from overlapsim.files.folder import must_be_free
    from overlapsim.files.study_chunks import ChunkFolder, chunk_folder

    plan = overlapsim.load_study(file)
    folder = out or REPORTS / plan.name
    must_be_free(folder)
    kept = ChunkFolder(chunk_folder(folder), plan)
    first = True

    def step(done: int, total: int, what: str) -> None:
        nonlocal first
        if first:
            for sentence in kept.notices([plan.key(chunk) for chunk in plan.chunks]):
                say(sentence)
            if done and not quiet:
                say(f"{plan.name}: {done} of {total} {what} were done before an earlier run ended.")
        first = False
        waiting.step(done, total, what)

    with Waiting(plan.name, sys.stderr, quiet) as waiting:
        result = overlapsim.run_study(
            plan, kept, workers=workers, scheduler=scheduler, part=part, progress=step
        )
        if not result.complete:
            if not quiet:
                say(
                    f"{plan.name}: part {part[0]} of {part[1]} is done; {len(result.missing)} of "
                    f"{len(result.keys)} chunks are still to come, so no results are written yet."
                )
            return
        kept.tidy()
        from overlapsim.report.study_write import write_study

        written, report = write_study(
            result, folder, lambda name: waiting.say(f"writing {name}"), bundle
        )
    for warning in written.warnings:
        say(warning)
    ours = [why for _, why in result.errors if why.startswith("a fault of overlapsim itself")]
    if ours:
        statuses.own_up(file, f"{len(ours)} cases: {ours[0]}", "the other cases are written")
    if as_json:
        print((folder / "result.json").read_text(encoding="utf-8"), end="")
    elif not quiet:
        from overlapsim.report.advice import part as part_of
        from overlapsim.report.terminal import show

        report["parts"].append(part_of("RESULTS", [str(folder)]))
        show(report, sys.stdout)
