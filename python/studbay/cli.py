"""The command line: a thin face on the library. It computes nothing."""

from __future__ import annotations

import json
import signal
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, NoReturn

import typer
from rich.console import Console, Group
from rich.progress import (
    BarColumn,
    Progress,
    TaskProgressColumn,
    TextColumn,
    TimeRemainingColumn,
)
from rich.table import Table
from rich.text import Text

import studbay
from studbay import (
    Field,
    House,
    commands_bills,
    commands_choices,
    commands_climate,
    commands_comfort,
    commands_doubt,
    commands_evidence,
    commands_job,
    commands_meters,
    commands_page,
    commands_portfolio,
)
from studbay._screen import (
    DONE,
    UNUSABLE,
    WITH_REJECTS,
    plain,
    read_house,
    refuse,
    tell,
    tell_house,
    written,
)
from studbay.errors import SchemaError, StudbayError

#: What a shell says of a command that a signal has stopped: 128 and the signal's number.
INTERRUPTED, TERMINATED = 130, 143

app = typer.Typer(
    name="studbay",
    help="Figures for filling the walls of older houses with dense-packed cellulose.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    # Lines of help longer than 100 columns are hard to follow.
    context_settings={"max_content_width": 100},
)


class Units(StrEnum):
    """The unit system of the output."""

    ip = "ip"
    si = "si"


@app.command()
def assess(
    file: Annotated[Path, typer.Argument(help="A house file, TOML or JSON.", show_default=False)],
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")] = False,
    explain: Annotated[
        bool, typer.Option("--explain", help="Print the derivation of every figure, line by line.")
    ] = False,
    units: Annotated[Units, typer.Option(help="Unit system of the output.")] = Units.ip,
    currency: Annotated[
        str, typer.Option(help="Label in front of amounts; nothing is converted.")
    ] = "$",
    weather: commands_climate.WeatherOption = None,
    place: commands_climate.PlaceOption = None,
    base: commands_climate.BaseOption = 65.0,
    rule: commands_climate.RuleOption = None,
    degree: commands_climate.DegreeOption = None,
    column: commands_climate.ColumnOption = None,
    only: commands_climate.OnlyOption = None,
) -> None:
    """Assess one house: what it loses, what the fill saves, what must be cleared first."""
    if weather is None:
        commands_climate.only_with_weather(base, rule, degree, column, only)
        days = None
    else:
        days = commands_climate.read_weather(weather, degree, column, only, refuse)
    try:
        house, climate = commands_climate.read_house(file, days, place, base, rule)
    except (StudbayError, OSError) as error:
        refuse(str(file), error)
    if as_json:
        document = as_document(house, units, explain)
        if climate is not None:
            document["climate"] = commands_climate.sentences(climate)
        print(json.dumps(document, indent=2, ensure_ascii=False))
        return
    blocks = house.account(units=units.value, currency=currency)
    heading = f"{house.house_id}, {written(date.today())}, studbay {studbay.__version__}"
    tell(heading, commands_climate.placed(blocks, climate))
    if explain:
        print()
        print(house.explain())
        if days is not None:
            print(plain("", days.explain(base, rule.value if rule else None)).strip())


def as_document(house: House, units: Units, explain: bool) -> dict[str, object]:
    """What ``--json`` prints."""
    assessment = house.assess()
    document: dict[str, object] = {
        "house_id": house.house_id,
        "studbay_version": studbay.__version__,
        "units": units.value,
        "modelled": True,
        **assessment.to_dict(units=units.value),
        "finding_texts": [
            {
                "code": finding.code,
                "weight": finding.weight,
                "reason": finding.reason,
                "cleared_by": finding.cleared_by,
                "source": finding.source,
            }
            for finding in assessment.findings
        ],
    }
    looks = studbay.walk_through(house).to_dict()["looks"]
    if looks:
        document["looks"] = looks
    if explain:
        document["derivation"] = house.explain().to_dicts()
    return document


@app.command()
def score(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="IN",
            help="A table of houses, a row each: .csv, .csv.gz, .csv.zst or .parquet; - is CSV on "
            "standard input.",
            show_default=False,
        ),
    ],
    output: Annotated[
        Path,
        typer.Option(
            "-o",
            "--output",
            metavar="OUT",
            help="Where the scored rows go, by the same endings; - is CSV on standard output.",
            show_default=False,
        ),
    ],
    rejects: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Where rows go that cannot be scored; by default beside OUT, with the ending "
            ".rejects.csv.",
            show_default=False,
        ),
    ] = None,
    units: Annotated[Units, typer.Option(help="Unit system of the output.")] = Units.ip,
    force: Annotated[bool, typer.Option("--force", help="Replace files that are there.")] = False,
    quiet: Annotated[
        bool, typer.Option("--quiet", "-q", help="Say nothing but what goes wrong.")
    ] = False,
) -> None:
    """Score a table of houses. Status 0: done, 1: done with rejects, 2: the input is no use."""
    signal.signal(signal.SIGTERM, terminated)
    try:
        with progress_bar(shown=sys.stderr.isatty() and not quiet) as progress:
            report = studbay.score_file(
                file, output, rejects=rejects, units=units.value, force=force, progress=progress
            )
    except KeyboardInterrupt:
        print("studbay: stopped", file=sys.stderr)
        raise typer.Exit(INTERRUPTED) from None
    except BrokenPipeError:
        raise typer.Exit(DONE) from None
    except (StudbayError, OSError) as error:
        refuse_file(file, error)
    if not quiet:
        for line in told(report, str(output) == "-"):
            print(line, file=sys.stderr)
    if report.counts.rejected:
        raise typer.Exit(WITH_REJECTS)


def terminated(*_: object) -> NoReturn:
    """Ends the run as if by Ctrl-C, so that no half file is left."""
    raise SystemExit(TERMINATED)


def refuse_file(file: Path, error: Exception) -> NoReturn:
    """Says on one line of standard error what is wrong, and ends."""
    if isinstance(error, OSError) and error.filename is not None:
        where, reason = str(error.filename), error.strerror or str(error)
    elif isinstance(error, SchemaError):
        where, reason = str(file), "; ".join(error.faults)
    else:
        where, reason = "", "; ".join(str(error).splitlines())
    hint = "; --force replaces it" if isinstance(error, FileExistsError) else ""
    print(f"studbay: {where + ': ' if where else ''}{reason}{hint}", file=sys.stderr)
    raise typer.Exit(UNUSABLE)


def told(report: studbay.FileReport, streamed: bool) -> Iterator[str]:
    """What became of a file: the first rejects where they are kept nowhere, then the counts."""
    counts = report.counts
    where = f"; rejects in {report.rejects}" if report.rejects else ""
    if counts.rejected and not report.rejects:
        for row, line, faults in report.first_rejects:
            yield f"row {row}{f' (line {line})' if line else ''}: {faults}"
        more = counts.rejected - len(report.first_rejects)
        if more:
            yield f"... and {more:,} more"
        where = "; --rejects FILE keeps the rejects" if streamed else ""
    yield (
        f"read {counts.read:,}, scored {counts.scored:,}, rejected {counts.rejected:,}, "
        f"on hold {counts.on_hold:,}{where}"
    )


@contextmanager
def progress_bar(shown: bool) -> Iterator[Any]:
    """A function to be told how far the run is; it draws a bar where there is a terminal."""
    if not shown:
        yield None
        return
    bar = Progress(
        BarColumn(),
        TaskProgressColumn(),
        TextColumn("{task.fields[rows]:,} rows"),
        TextColumn("{task.fields[rate]:,.0f}/s"),
        TimeRemainingColumn(compact=True),
        TextColumn("{task.fields[rejects]:,} rejects"),
        console=Console(stderr=True),
        transient=True,
    )
    task = bar.add_task("", total=None, rows=0, rate=0.0, rejects=0)
    start = time.monotonic()

    def advance(rows: int, rejects: int, done: int, total: int | None) -> None:
        rate = rows / max(time.monotonic() - start, 1e-9)
        bar.update(task, completed=done, total=total, rows=rows, rate=rate, rejects=rejects)

    with bar:
        yield advance


@app.command()
def fields(
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")] = False,
    markdown: Annotated[
        bool, typer.Option("--markdown", help="Print a Markdown table, for documents.")
    ] = False,
    materials: Annotated[
        bool, typer.Option("--materials", help="Print the materials table instead.")
    ] = False,
) -> None:
    """Print the field reference: names in both unit systems, range, default, meaning, source."""
    columns, rows = material_rows() if materials else field_rows(studbay.fields())
    if as_json:
        named = [dict(zip(columns, row, strict=True)) for row in rows]
        print(json.dumps(named, indent=2, ensure_ascii=False))
    elif markdown:
        print("\n".join(markdown_table(columns, rows)))
    elif sys.stdout.isatty():
        console = Console(highlight=False)
        for row in rows:
            console.print(entry(columns, row))
    else:
        print("\n".join("\t".join(row) for row in [columns, *rows]))


def entry(columns: list[str], row: list[str]) -> Group:
    """One row of a reference for a terminal: its name, and below it what is known of it."""
    pairs = Table.grid(padding=(0, 2))
    pairs.add_column(min_width=10)
    pairs.add_column(overflow="fold")
    for column, cell in zip(columns[1:], row[1:], strict=True):
        if cell:
            pairs.add_row(Text(f"  {column}", style="dim"), Text(cell))
    return Group(Text(row[0], style="bold"), pairs, "")


def field_rows(known: list[Field]) -> tuple[list[str], list[list[str]]]:
    """The field reference as text."""
    columns = ["name", "SI name", "default", "range", "SI range", "where", "meaning", "source"]
    rows = [
        [
            field.name_ip,
            field.name_si or "",
            field.default,
            field.range_ip,
            field.range_si if field.name_si else "",
            field.where,
            field.help,
            field.source,
        ]
        for field in known
    ]
    return columns, rows


def material_rows() -> tuple[list[str], list[list[str]]]:
    """The materials table as text."""
    columns = ["key", "material", "role", "R, h·ft²·°F/Btu", "source"]
    rows = [
        [
            material.key,
            material.label,
            material.role,
            f"{material.r_h_ft2_f_btu:g}",
            material.source,
        ]
        for material in studbay.materials()
    ]
    return columns, rows


def markdown_table(columns: list[str], rows: list[list[str]]) -> list[str]:
    """A Markdown table; a bar inside a cell is escaped."""
    lines = [columns, ["---"] * len(columns), *rows]
    return ["| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines]


def full_version() -> str:
    """The version, and the commit where it was built from one."""
    commit = studbay.__commit__
    return f"{studbay.__version__} ({commit})" if commit else studbay.__version__


def version(wanted: bool) -> None:
    """Prints the version and ends."""
    if wanted:
        print(f"studbay {full_version()}")
        raise typer.Exit(DONE)


commands_portfolio.register(app, refuse)
commands_bills.register(app, refuse)
commands_choices.register(app, refuse, tell)
commands_climate.register(app, refuse, tell)
commands_comfort.register(app, refuse, tell_house)
commands_doubt.register(app, refuse)
commands_evidence.register(app, refuse, tell)
commands_job.register(app, refuse, read_house, tell)
commands_meters.register(app, refuse)
commands_page.register(app, refuse)


@app.callback()
def common(
    _: Annotated[
        bool,
        typer.Option("--version", callback=version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    """Options that stand before a command."""


def main() -> None:
    """Runs the command line; a pipe that closes early ends it without a word."""
    try:
        app()
    except BrokenPipeError:
        # Python would flush standard output once more on the way out, and complain.
        sys.stdout = None
        raise SystemExit(DONE) from None


if __name__ == "__main__":
    main()
