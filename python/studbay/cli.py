"""The command line: a thin face on the library. It computes nothing."""

from __future__ import annotations

import json
import sys
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Annotated, NoReturn

import typer
from rich import box
from rich.console import Console, Group
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

import studbay
from studbay import Block, Field, House
from studbay.errors import InputError, StudbayError

DONE, UNUSABLE = 0, 2

app = typer.Typer(
    name="studbay",
    help="Figures for filling the walls of older houses with dense-packed cellulose.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


class Units(StrEnum):
    """The unit system of the output."""

    ip = "ip"
    si = "si"


UnitsOption = Annotated[Units, typer.Option(help="Unit system of the output.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")]


def refuse(where: str, error: Exception) -> NoReturn:
    """Says on standard error what is wrong and ends with the status of unusable input."""
    if isinstance(error, InputError):
        count = len(error.issues)
        print(f"studbay: {where}: {count} {'fault' if count == 1 else 'faults'}", file=sys.stderr)
        for line in str(error).splitlines():
            print(f"  {line}", file=sys.stderr)
    else:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        print(f"studbay: {where}: {reason}", file=sys.stderr)
    raise typer.Exit(UNUSABLE)


def read_house(file: Path) -> House:
    """The house of a file, or an end with every fault of it."""
    try:
        return House.from_file(file)
    except (StudbayError, OSError) as error:
        refuse(str(file), error)


@app.command()
def assess(
    file: Annotated[Path, typer.Argument(help="A house file, TOML or JSON.", show_default=False)],
    as_json: JsonOption = False,
    explain: Annotated[
        bool, typer.Option("--explain", help="Print the derivation of every figure, line by line.")
    ] = False,
    units: UnitsOption = Units.ip,
    currency: Annotated[
        str, typer.Option(help="Label in front of amounts; nothing is converted.")
    ] = "$",
) -> None:
    """Assess one house: what it loses, what the fill saves and costs, what must be cleared first."""
    house = read_house(file)
    if as_json:
        print(json.dumps(as_document(house, units, explain), indent=2, ensure_ascii=False))
        return
    blocks = house.account(units=units.value, currency=currency)
    heading = f"{house.house_id}, {written(date.today())}, studbay {studbay.__version__}"
    if sys.stdout.isatty():
        show(heading, blocks)
    else:
        print(plain(heading, blocks))
    if explain:
        print()
        print(house.explain())


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
    if explain:
        document["derivation"] = house.explain().to_dicts()
    return document


def written(day: date) -> str:
    """A date as a person writes it."""
    return f"{day.day} {day:%B %Y}"


def plain(heading: str, blocks: list[Block]) -> str:
    """The account without any marks of a terminal."""
    parts = [heading]
    for block in blocks:
        lines = [block.title]
        lines += [f"  {label}: {text}" if label else f"  {text}" for label, text in block.lines]
        parts.append("\n".join(lines))
    return "\n\n".join(parts)


#: Border and title of a block; the words carry the meaning, colour only helps to find them.
STYLES = {"hold": "bold red", "check": "yellow", "answer": "bold cyan", "plain": "dim"}


def show(heading: str, blocks: list[Block]) -> None:
    """The account on a terminal."""
    console = Console(highlight=False)
    console.print(Text(heading, style="dim"))
    for block in blocks:
        style = STYLES[block.tone]
        console.print(
            Panel(
                body(block),
                title=Text(block.title, style="bold" if block.tone == "plain" else style),
                title_align="left",
                border_style=style,
                box=box.HEAVY if block.tone == "hold" else box.ROUNDED,
                width=min(console.width, 100),
            )
        )


def body(block: Block) -> Group:
    """Pairs as two columns, sentences across both."""
    parts: list[Table | Text] = []
    pairs: Table | None = None
    for label, text in block.lines:
        if not label:
            pairs = None
            parts.append(Text(text))
            continue
        if pairs is None:
            pairs = Table.grid(padding=(0, 2))
            pairs.add_column(min_width=18)
            pairs.add_column(overflow="fold")
            parts.append(pairs)
        pairs.add_row(Text(label, style="dim"), Text(text))
    return Group(*parts)


@app.command()
def fields(
    as_json: JsonOption = False,
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
        table = Table(*columns, box=box.SIMPLE_HEAD, show_lines=True)
        for row in rows:
            table.add_row(*(Text(cell) for cell in row))
        Console(highlight=False).print(table)
    else:
        print("\n".join("\t".join(row) for row in [columns, *rows]))


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


def version(wanted: bool) -> None:
    """Prints the version and ends."""
    if wanted:
        print(f"studbay {studbay.__version__}")
        raise typer.Exit(DONE)


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
        sys.stdout = None  # type: ignore[assignment]
        raise SystemExit(DONE) from None


if __name__ == "__main__":
    main()
