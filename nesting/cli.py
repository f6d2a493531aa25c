"""The command line: the only module that prints or exits."""

from __future__ import annotations

import atexit
import gc
import json
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting import __version__
from nesting.errors import CheckFailedError, JobError, NestingError, NoPlanError

if TYPE_CHECKING:
    from nesting.check import CheckedPlan
    from nesting.drawing.drawings import Drawings
    from nesting.job.job import Job
    from nesting.packing.instance import Settings
    from nesting.work.files import Written
    from nesting.work.planner import Progress

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="From measured walls to a proved cutting plan for sheet goods.",
    epilog="Exit codes: 0 done; 1 a fault in the job; 2 wrong use, or a file or folder that cannot be "
    "read or written; 3 no plan; 4 a plan failed its check.",
)


GRACE = 4.5  # seconds after the limit on the search until which a plan's files are made; 5 are promised


class PaperName(StrEnum):
    """Papers of the packet."""

    LETTER = "letter"
    A4 = "a4"


class LabelName(StrEnum):
    """Sheets of labels, by paper and number of labels."""

    LETTER_30 = "letter-30"
    LETTER_10 = "letter-10"
    A4_21 = "a4-21"
    A4_14 = "a4-14"


JobPath = Annotated[Path, typer.Argument(metavar="JOB", help="The job file (YAML).", show_default=False)]
PlanPath = Annotated[Path, typer.Argument(metavar="PLAN", help="A plan.json.", show_default=False)]
Folder = Annotated[Path, typer.Option("-o", "--output", metavar="FOLDER", help="Where the files go.")]
Seconds = Annotated[float, typer.Option(min=0.1, max=86_400, help="Wall-clock limit on the search.")]
Seed = Annotated[int, typer.Option(min=0, max=2**31 - 1, help="Another seed can find another plan.")]
Paper = Annotated[
    PaperName | None,
    typer.Option(help="Of the packet; left out, letter for a plan in inches, a4 for one in millimetres."),
]
Labels = Annotated[
    LabelName | None,
    typer.Option(help="labels.pdf too, for a sheet of labels: letter-30 is 2 5/8 x 1 in, letter-10 4 x 2 in, "
                      "a4-21 63.5 x 38.1 mm, a4-14 99.1 x 38.1 mm."),
]  # fmt: skip
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]


@app.command()
def start(job: JobPath) -> None:
    """Ask for an opening's measures and the rest, and write a job file, or add to one."""
    from nesting.asking.start import Start

    Start(job, _ask, _say).run()


@app.command()
def forms(
    output: Folder,
    job: Annotated[Path | None, typer.Option(metavar="JOB", help="Put this job's names on them.")] = None,
) -> None:
    """Make measuring forms to print and fill in: measuring-letter.pdf and measuring-a4.pdf."""
    from nesting.work.files import write_forms
    from nesting.work.folder import prepare

    read = _read(job) if job else None
    prepare(output)
    _say(_listed(write_forms(output, read), output))


@app.command()
def parts(
    job: JobPath,
    as_json: AsJson = False,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Write them as CSV too.")] = None,
) -> None:
    """Show the parts, how proud they stand at each station, and the warnings."""
    from nesting.packing.instance import Settings
    from nesting.report.fitting import fitting_data, fitting_text
    from nesting.work.record import plan_of
    from nesting.work.wanted import wanted

    read = _read(job)
    draft = plan_of(read, wanted(read), [], Settings())
    if csv:
        from nesting.work.files import write_parts
        from nesting.work.folder import prepare

        prepare(csv.parent)
        write_parts(draft, csv)
    _say(_json(fitting_data(draft)) if as_json else fitting_text(draft))


@app.command()
def plan(
    job: JobPath,
    output: Folder,
    seconds: Seconds = 20.0,
    seed: Seed = 1,
    paper: Paper = None,
    labels: Labels = None,
) -> None:
    """Plan the cuts: plan.json, a drawing for each sheet, packet, report and waste figures."""
    latest = time.monotonic() + seconds + GRACE
    with _interrupt_before("a plan was found"):
        from nesting.work.comparing import plan_and_draw
        from nesting.work.folder import prepare

        read = _read(job)
        _warn(read.warnings)
        prepare(output)
        with _progress() as tell:
            checked, drawn = plan_and_draw(read, _settings(seconds, seed), tell, latest)
    written = _put_away(checked, drawn, output, (paper, labels), latest)
    from nesting.report.summary import summary_text

    _warn([text for text in checked.plan.warnings if text not in read.warnings])
    _say(summary_text(checked))
    _say(_listed(written.paths, output))
    if written.left_out:
        again = f"nesting draw {output / 'plan.json'} -o {output}"
        _warn([f"left out, so as to end: {written.left_out}; this makes all of it: {again}"])


def _put_away(
    checked: CheckedPlan, drawn: Drawings | None, output: Path,
    wishes: tuple[str | None, str | None], latest: float,
) -> Written:  # fmt: skip
    """Write a plan's files; after an interrupt, whenever it comes, no more than the plan needs."""
    try:
        from nesting.work.files import Wishes, write_plan

        return write_plan(checked, drawn, output, Wishes(*wishes), latest)
    except KeyboardInterrupt:
        from nesting.work.files import write_plan

        return write_plan(checked, None, output)


@app.command()
def compare(
    job: JobPath,
    seconds: Seconds = 20.0,
    seed: Seed = 1,
    as_json: AsJson = False,
    chart: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="CHART", help="Draw it too, as an SVG file.")
    ] = None,
) -> None:
    """Compare each stock size alone and the best mix."""
    from nesting.report.compare import compare_data, compare_text
    from nesting.work.comparing import compare_job
    from nesting.work.files import write_chart
    from nesting.work.folder import prepare

    read = _read(job)
    _warn(read.warnings)
    if chart:
        prepare(chart.parent)
    comparison = compare_job(read, _settings(seconds, seed))
    if chart:
        write_chart(comparison, chart)
    _say(_json(compare_data(comparison)) if as_json else compare_text(comparison))
    if comparison.cheapest() is None:
        raise NoPlanError("no plan was found out of any stock size, alone or mixed")


@app.command()
def check(
    plan: PlanPath,
    job: Annotated[Path | None, typer.Option(metavar="JOB", help="Judge it against this job too.")] = None,
) -> None:
    """Judge a plan file: every hard rule, each cut replayed, areas and money recomputed."""
    from nesting.check import check_plan
    from nesting.plan import read_plan
    from nesting.work.judging import against_job

    read = read_plan(plan)
    found = check_plan(read)
    if job:
        found += against_job(read, _read(job))
    if found:
        raise CheckFailedError("\n".join(map(str, found)))
    cuts = sum(len(sheet.cuts) for sheet in read.sheets)
    _say(f"{plan}: good. {len(read.parts)} parts on {len(read.sheets)} sheets, {cuts} cuts replayed.")


@app.command()
def draw(
    plan: PlanPath,
    output: Folder,
    paper: Paper = None,
    labels: Labels = None,
    dxf: Annotated[
        bool, typer.Option("--dxf", help="Each sheet as DXF too, real size (needs ezdxf).")
    ] = False,
) -> None:
    """Make all drawings and reports again from a plan file."""
    from nesting.check import checked
    from nesting.plan import read_plan
    from nesting.work.files import Wishes, write_drawings
    from nesting.work.folder import prepare

    good = checked(read_plan(plan))
    prepare(output)
    _say(_listed(write_drawings(good, output, Wishes(paper, labels, dxf)), output))


def _version(value: bool) -> None:
    if value:
        typer.echo(f"nesting {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """From measured walls to a proved cutting plan for sheet goods."""


def _read(path: Path) -> Job:
    from nesting.job.reading import read_job

    return read_job(path)


def _settings(seconds: float, seed: int) -> Settings:
    from nesting.packing.instance import Settings

    usual = Settings()
    more = max(1.0, seconds / usual.seconds)  # who gives more time is given more tries
    return Settings(seconds=seconds, seed=seed, effort=round(usual.effort * more))


def _listed(written: list[Path], folder: Path) -> str:
    return f"{len(written)} files in {folder}: {', '.join(path.name for path in written)}"


def _say(text: str) -> None:
    typer.echo(text.rstrip("\n"))


def _ask(question: str) -> str:
    """Show a question and read a line; what comes from a file or pipe is shown as if typed."""
    if sys.stdin.isatty():
        import readline  # noqa: F401 - with it a line can be edited

        return input(question)
    line = sys.stdin.readline()
    if not line:
        raise EOFError
    typer.echo(question + line.rstrip("\n"))
    return line


def _warn(warnings: Any) -> None:
    for text in warnings:
        typer.echo(f"warning: {text}", err=True)


def _json(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, indent=1)


@contextmanager
def _interrupt_before(what: str) -> Iterator[None]:
    """Say what an interrupt has ended; left to itself Typer ends without a word."""
    try:
        yield
    except KeyboardInterrupt:
        raise NoPlanError(f"interrupted before {what}") from None


class _progress:  # noqa: N801 - used like a function, with `with`
    """A line on a terminal for each better plan or bound; nothing in a pipe."""

    def __enter__(self) -> Callable[[Progress], None] | None:
        return self._line if sys.stderr.isatty() else None

    def __exit__(self, *_: object) -> None:
        return None

    def _line(self, news: Progress) -> None:
        found = "no plan yet" if news.cost is None else f"{news.sheets} sheets, {news.cost / 100:.2f}"
        proved = f"no plan below {news.bound / 100:.2f}"
        typer.echo(f"{news.seconds:6.1f} s  {news.material}: {found}; proved: {proved}", err=True)


def main() -> None:
    """Run, and end with the exit code that fits; never with a traceback for what a user did."""
    gc.set_threshold(50_000)  # modules and plans stay: looking for rings in them took a twentieth of the time
    atexit.register(gc.freeze)  # nor are they taken apart at the end, which took half a second
    try:
        app(standalone_mode=True)
    except JobError as error:
        for fault in error.faults:
            typer.echo(str(fault), err=True)
        sys.exit(error.exit_code)
    except NestingError as error:
        typer.echo(str(error), err=True)
        sys.exit(error.exit_code)
    except KeyboardInterrupt:
        typer.echo("interrupted before a plan was found", err=True)
        sys.exit(NoPlanError.exit_code)
    except BrokenPipeError:
        sys.exit(0)
