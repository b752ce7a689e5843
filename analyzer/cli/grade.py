"""The command ``grade``."""

from __future__ import annotations

import dataclasses
import gc
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.cli.interrupt import ended_at_once
from analyzer.cli.options import AirOfTheDay, Judging, LimitsOfLog, Reading, folder_of, line_of, read_options, with_groups
from analyzer.errors import GradeError, printable
from analyzer.frozen import dataclass

if TYPE_CHECKING:
    from analyzer.grade.worker_pool import WorkerPool

__all__ = ["grade"]

_MEGABYTE = 1e6
# Environment of the workers, unless set: one thread of linear algebra each, as they share the cores; and memory that is kept
# for the next log, since returning and requesting it again (glibc) costs a twentieth of the time.
_FOR_WORKERS = {
    "OPENBLAS_NUM_THREADS": "1",
    "MALLOC_MMAP_THRESHOLD_": "33554432",
    "MALLOC_TRIM_THRESHOLD_": "67108864",
}


@dataclass(frozen=True)
class _LimitsOfClass(LimitsOfLog):
    """The limits on a log of a class, with other defaults than elsewhere."""

    max_bytes: Annotated[
        int | None, typer.Option("--max-bytes", metavar="N", help="Refuse logs larger than this once unpacked. Default: 64 MiB")
    ] = None
    max_samples: Annotated[
        int | None, typer.Option("--max-samples", metavar="N", help="Refuse logs of more samples. Default: 400,000")
    ] = None


@with_groups
def grade(
    logs: Annotated[str, typer.Argument(metavar="FOLDER|GLOB", help="Folder of logs, or a pattern in quotes.")],
    *,
    procedure: Annotated[Path | None, typer.Option("--procedure", "-p", metavar="FILE", help="Procedure file (TOML).")] = None,
    procedures: Annotated[
        Path | None,
        typer.Option(
            "--procedures",
            metavar="DIR|FILE",
            help="Procedure files, or coded ones; each log is graded by the one that fits best.",
        ),
    ] = None,
    output: Annotated[
        str, typer.Option("-o", "--output", metavar="DIR", help="Folder for the results, and to resume from.")
    ] = "reports/grades",
    roster: Annotated[
        Path | None,
        typer.Option("--roster", metavar="FILE", help="CSV of file and pilot; also date, aircraft, flown as, remark."),
    ] = None,
    judging: Judging,
    rubric: Annotated[str, typer.Option("--rubric", metavar="NAME|FILE", help="What each check weighs.")] = "protection",
    formats: Annotated[
        str, typer.Option("--format", metavar="NAME,...", help="What to write: csv, html, parquet, xlsx.")
    ] = "csv,html",
    pages: Annotated[bool, typer.Option("--pages", help="Write a page for each log too.")] = False,
    sheets: Annotated[bool, typer.Option("--sheets", help="Write a sheet for each student, as page and PDF.")] = False,
    paper: Annotated[
        str | None, typer.Option("--paper", metavar="NAME", help="Paper of the sheets: a4 or letter. Default: a4")
    ] = None,
    workers: Annotated[int | None, typer.Option("--workers", metavar="N", help="Processes. Default: one per core.")] = None,
    cluster: Annotated[
        str | None, typer.Option("--cluster", metavar="ADDRESS", help="Dask scheduler to work on, like tcp://host:8786.")
    ] = None,
    largest: Annotated[
        float | None, typer.Option("--largest", metavar="MB", help="Logs larger than this are not read. Default: 33.5")
    ] = None,
    reading: Reading,
    air: AirOfTheDay,
    limits: _LimitsOfClass,
) -> None:
    """Grade a class: every log judged and marked alike. Writes a table, a page and files; run again, it resumes."""
    run = _Run(output)
    with ended_at_once(run.words, run.give_up):
        for name, value in _FOR_WORKERS.items():
            os.environ.setdefault(name, value)
        gc.enable()  # many logs leave cycles that matter
        from analyzer.checks.excuse_file import read_excuses
        from analyzer.cli.terminal import whole_width
        from analyzer.grade.grading import grade as grade_class
        from analyzer.grade.logs import skipped
        from analyzer.gradebook.roster import read_roster
        from analyzer.gradebook.settings import LARGEST_BYTES, LIMITS, read_settings
        from analyzer.report.paper.sizes import SHEETS, paper_named
        from analyzer.report.words.class_text import class_text

        if "://" not in output:  # an address of storage elsewhere
            folder_of(output)
        if cluster is not None and workers is not None:
            raise GradeError("--workers and --cluster: the cluster has workers of its own; leave out one")
        if largest is not None and not 0.0 < largest <= 1e6:
            raise GradeError(f"--largest {largest:g}: must be more than 0, in MB")
        if paper is not None and not sheets:
            raise GradeError("--paper is that of the students' sheets: give --sheets too, or leave it out")
        settings = read_settings(
            procedure,
            procedures,
            judging.standard,
            rubric,
            read_options(reading, limits, air, LIMITS),
            largest_bytes=LARGEST_BYTES if largest is None else round(largest * _MEGABYTE),
            pages=pages,
            sheets=paper_named(paper or SHEETS[0].name, SHEETS).name if sheets else None,
            cleared=judging.cleared or (),
            line=line_of(judging.line),
        )
        named = read_roster(roster) if roster is not None else None
        excuses = read_excuses(judging.excused) if judging.excused is not None else ()
        leave_out = frozenset(map(os.path.realpath, filter(None, (roster, judging.excused))))
        chosen = tuple(name.strip().lower() for name in formats.split(",") if name.strip())
        with _worker_pool(workers, cluster) as pool, _progress(logs, leave_out) as advance:
            run.pool = pool
            graded = grade_class(logs, settings, pool, output, named, chosen, run.counting(advance), leave_out, excuses)
        sys.stdout.write(class_text(graded.published.tally, graded.published.index, settings, named, whole_width()))
        others, such_as = skipped(logs, leave_out | {os.path.realpath(output)})
        if others:
            noun = "file is no log" if others == 1 else "files are no logs"
            sys.stdout.write(f"\n{others:,} {noun} by name: {such_as}{' and so on' if others > 1 else ''}\n")
        reused = graded.logs - graded.graded_anew
        again = f" {reused:,} of {graded.logs:,} logs were graded before and used again." if reused else ""
        written = "".join(f"  {output}/{name}\n" for name in graded.published.files)
        sys.stdout.write(f"\nWritten:{again}\n{written}")


@dataclasses.dataclass
class _Run:
    """The state of a run, for ending it early."""

    output: str
    done: int = 0
    pool: WorkerPool | None = None

    def counting(self, advance: Callable[[int], None]) -> Callable[[int], None]:
        """Wrap a progress function to count the logs that are done."""

        def count(logs: int) -> None:
            self.done += logs
            advance(logs)

        return count

    def give_up(self) -> None:
        if self.pool is not None:
            self.pool.give_up()

    def words(self) -> str:
        if not self.done:
            return "interrupted before any log was graded; the same command begins again"
        graded = "1 log graded so far is" if self.done == 1 else f"{self.done:,} logs graded so far are"
        return f"interrupted; the {graded} kept in {printable(self.output)}: run the same command again to go on"


def _worker_pool(workers: int | None, cluster: str | None) -> WorkerPool:
    from analyzer.grade.worker_pool import cluster_pool, local_pool

    return local_pool(workers) if cluster is None else cluster_pool(cluster)


@contextmanager
def _progress(logs: str, leave_out: frozenset[str]) -> Iterator[Callable[[int], None]]:
    """Show progress and the remaining time, if standard error is a terminal."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    from analyzer.grade.logs import find_logs

    columns = (TextColumn("grading"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("grading", total=sum(1 for _ in find_logs(logs, leave_out)))
        yield lambda done: progress.advance(task, done)
