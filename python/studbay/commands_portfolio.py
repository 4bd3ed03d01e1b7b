"""The commands for many scored houses: what they come to, and which to treat first."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import Annotated, NoReturn

import typer
from rich.console import Console
from rich.text import Text

import studbay
from studbay._wide import fit
from studbay.errors import StudbayError

#: Says what is wrong with a file and ends the command.
Refuse = Callable[[str, Exception], NoReturn]


class Rank(StrEnum):
    """What houses are ranked by."""

    sir = "sir"
    cost_per_tonne = "cost_per_tonne"


Scored = Annotated[
    Path,
    typer.Argument(
        help="What `score` wrote: CSV, packed or not, or Parquet; - for standard input.",
        show_default=False,
    ),
]
CurrencyOption = Annotated[
    str, typer.Option(help="Label in front of amounts; nothing is converted.")
]


def register(app: typer.Typer, refuse: Refuse) -> None:
    """Adds the commands to the command line."""

    @app.command()
    def overview(
        scored: Scored,
        by: Annotated[
            str | None,
            typer.Option(help="Column to group by, as in county.", show_default=False),
        ] = None,
        rejects: Annotated[
            Path | None,
            typer.Option(
                help="The rows that could not be scored; without it, the file of rejects beside "
                "SCORED, if there is one.",
                show_default=False,
            ),
        ] = None,
        as_json: Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")] = False,
        currency: CurrencyOption = "$",
    ) -> None:
        """Sum up a scored list: counts, holds, money, carbon, payback, rejects."""
        try:
            summary = studbay.summarize_file(scored, by, rejects=rejects)
        except (StudbayError, OSError) as error:
            refuse(named(scored, error), error)
        if as_json:
            print_json(summary.to_dict())
        else:
            show(summary.text(currency=currency))

    @app.command()
    def shortlist(
        scored: Scored,
        budget: Annotated[
            float, typer.Option(help="What may be spent, after rebates and tax credits.")
        ],
        by: Annotated[
            Rank,
            typer.Option(
                help="sir: savings over cost, the highest first. cost_per_tonne: cost of a tonne "
                "of CO2e, the lowest first."
            ),
        ] = Rank.sir,
        output: Annotated[
            Path | None,
            typer.Option(
                "--output",
                "-o",
                help="Write the whole list here too: CSV, packed or not, or Parquet by its ending.",
                show_default=False,
            ),
        ] = None,
        left_out: Annotated[
            bool, typer.Option("--left-out", help="Print every house left out and why.")
        ] = False,
        rows: Annotated[
            int, typer.Option(min=0, help="Houses of the list that are printed, at most.")
        ] = 20,
        force: Annotated[
            bool, typer.Option("--force", help="Replace an output that is there already.")
        ] = False,
        as_json: Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")] = False,
        currency: CurrencyOption = "$",
    ) -> None:
        """List the houses to treat first under a budget. No house on hold is on it.

        Houses are taken in the order of rank; one that costs more than is left is passed over.
        Those marked check must be looked at before the work starts.
        """
        try:
            selection = studbay.select_file(scored, budget, by.value)
        except (StudbayError, OSError) as error:
            refuse(named(scored, error), error)
        if output is not None:
            if str(scored) != "-" and output.exists() and output.samefile(scored):
                refuse(str(output), ValueError("this file is also the input"))
            try:
                selection.write(output, force=force)
            except (StudbayError, OSError) as error:
                refuse(str(output), error)
            if str(output) == "-":
                return
        if as_json:
            print_json(selection.to_dict())
            return
        show(selection.text(currency=currency, rows=rows))
        if left_out:
            print()
            for house in selection.to_dict()["left_out"]:
                name = house["house_id"] or f"row {house['row']}"
                print(f"{printable(name)}\t{house['reason']}\t{printable(house['why'])}")
        if output is not None:
            print(f"\nWritten: {output}")


def named(scored: Path, error: Exception) -> str:
    """The file that an error is about."""
    if isinstance(error, OSError) and error.filename:
        return str(error.filename)
    return str(scored)


def print_json(document: dict[str, object]) -> None:
    """Prints what a program reads."""
    print(json.dumps(document, indent=2, ensure_ascii=False))


def printable(text: str) -> str:
    """The text without control characters, which would garble a terminal or a column."""
    return "".join("\ufffd" if c < " " or "\x7f" <= c <= "\x9f" else c for c in text)


def show(report: str) -> None:
    """Prints a report; on a terminal, titles stand out and nothing is wider than it is."""
    if not sys.stdout.isatty():
        print(report)
        return
    console = Console(highlight=False)
    for number, part in enumerate(report.split("\n\n")):
        title, _, rest = part.partition("\n")
        style = "bold red" if "on hold: no fibre" in title else "bold"
        heading = "\n".join(fit([title], console.width))
        console.print(Text("\n" * (number > 0) + heading, style=style), soft_wrap=True)
        if rest:
            lines = fit(rest.split("\n"), console.width)
            console.print(Text("\n".join(lines)), soft_wrap=True)
