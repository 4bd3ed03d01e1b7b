"""The commands for one job: the sheet for the crew, the walk, looks on record, the price."""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Callable
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Annotated, NoReturn

import typer
from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

import studbay
from studbay import Block, House, Rates
from studbay.errors import StudbayError

#: Says what is wrong with a file and ends the command.
Refuse = Callable[[str, Exception], NoReturn]
#: Reads a house file, or ends the command.
Read = Callable[[Path], House]
#: Prints a heading and blocks.
Show = Callable[[str, list[Block]], None]


class Units(StrEnum):
    """The unit system of the output."""

    ip = "ip"
    si = "si"


class Reader(StrEnum):
    """Who reads the walk."""

    contractor = "contractor"
    salesperson = "salesperson"
    owner = "owner"


HouseFile = Annotated[Path, typer.Argument(help="A house file, TOML or JSON.", show_default=False)]
RatesOption = Annotated[
    Path | None,
    typer.Option(
        help="Your own rates, TOML; without it, the file that `rates` in [job] names.",
        show_default=False,
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")]


def register(app: typer.Typer, refuse: Refuse, read_house: Read, show: Show) -> None:
    """Adds the commands to the command line."""

    def read_rates(path: Path) -> Rates:
        try:
            return Rates.from_file(path)
        except (StudbayError, OSError) as error:
            refuse(str(path), error)

    def rates_for(file: Path, house: House, rates: Path | None) -> Rates | None:
        """The rates that were given, or those that the house file names beside itself."""
        if rates is None and house.rates_file is not None:
            rates = file.parent / house.rates_file
        return None if rates is None else read_rates(rates)

    @app.command()
    def jobsheet(
        file: HouseFile,
        rates: RatesOption = None,
        units: Annotated[Units, typer.Option(help="Unit system of the output.")] = Units.ip,
        as_json: Json = False,
    ) -> None:
        """Print the job sheet: bags, ways in, openings, days, checks in order."""
        house = read_house(file)
        sheet = studbay.job_sheet(house, rates_for(file, house, rates))
        if as_json:
            print_json(sheet.to_dict(units=units.value))
        else:
            show(heading("Job sheet", house), sheet.account(units=units.value))

    @app.command()
    def walk(
        file: HouseFile,
        reader: Annotated[
            Reader, typer.Option("--for", help="Who reads it; the substance is the same.")
        ] = Reader.contractor,
        as_json: Json = False,
    ) -> None:
        """Print the walk through the house: what is asked of each surface, and who may clear it."""
        house = read_house(file)
        walked = studbay.walk_through(house)
        if as_json:
            print_json(walked.to_dict())
        else:
            show(heading("Walk", house), walked.account(reader=reader.value))

    @app.command()
    def record(
        file: Annotated[
            Path, typer.Argument(help="A house file, TOML or JSON.", show_default=False)
        ],
        finding: Annotated[
            str, typer.Option(help="What was looked at, as in knob_and_tube.", show_default=False)
        ],
        answer: Annotated[
            str,
            typer.Option(
                help="no where it is cleared, yes where it is there, or unknown.",
                show_default=False,
            ),
        ],
        on: Annotated[
            str, typer.Option(help="The day of the look, as in 2026-03-02.", show_default=False)
        ],
        by: Annotated[
            str,
            typer.Option(
                help="Who looked: a role such as licensed_electrician, never a name.",
                show_default=False,
            ),
        ] = "",
        evidence: Annotated[str, typer.Option(help="What it rests on.", show_default=False)] = "",
        surface: Annotated[
            str,
            typer.Option(
                help="The surface, or all; may be left out where there is one.",
                show_default=False,
            ),
        ] = "",
    ) -> None:
        """Write a look into a house file: what was found, where, by whom, when, on what evidence.

        Only a look with role, day and evidence clears anything. The rest of the file stays.
        """
        read_house(file)
        try:
            with file.open(encoding="utf-8-sig", newline="") as opened:
                old = opened.read()
            text = studbay.record_look(
                old,
                finding=finding,
                answer=answer,
                date=on,
                surface=surface,
                cleared_by=by,
                evidence=evidence,
            )
            replace(file, text)
        except (StudbayError, OSError) as error:
            refuse(str(file), error)
        walked = studbay.walk_through(read_house(file))
        print(f"Recorded in {file}. The walk now says: {walked.readiness}.")

    @app.command()
    def price(
        file: HouseFile,
        rates: RatesOption = None,
        currency: Annotated[
            str, typer.Option(help="Label in front of amounts; nothing is converted.")
        ] = "$",
        as_json: Json = False,
    ) -> None:
        """Build the price up by your own rates, and compare the quoted price with it."""
        house = read_house(file)
        found = rates_for(file, house, rates)
        if found is None:
            refuse(str(file), ValueError("no rates: give --rates FILE, or rates in [job]"))
        try:
            built = studbay.build_up(house, found)
        except StudbayError as error:
            refuse(str(rates or house.rates_file), error)
        if as_json:
            print_json(built.to_dict())
        else:
            show(heading("Price", house), built.account(currency=currency))

    @app.command(name="rates")
    def list_rates(as_json: Json = False) -> None:
        """Print the rates that a file of rates may hold, each with its unit."""
        known = studbay.rate_fields()
        if as_json:
            print(json.dumps(known, indent=2, ensure_ascii=False))
            return
        columns = ["name", "name_si", "range", "default", "help"]
        rows = [[str(field[column] or "") for column in columns] for field in known]
        if not sys.stdout.isatty():
            print("\n".join("\t".join(row) for row in [columns, *rows]))
            return
        table = Table(*columns, box=box.SIMPLE_HEAD, show_lines=True)
        for row in rows:
            table.add_row(*(Text(cell) for cell in row))
        Console(highlight=False).print(table)


def heading(what: str, house: House) -> str:
    """The first line of a print-out."""
    today = date.today()
    return f"{what}, {house.house_id}, {today.day} {today:%B %Y}, studbay {studbay.__version__}"


def print_json(document: dict[str, object]) -> None:
    """Prints what a program reads."""
    print(json.dumps(document, indent=2, ensure_ascii=False))


def replace(file: Path, text: str) -> None:
    """Writes beside the file and renames, so that it is never half written."""
    mode = file.stat().st_mode
    target = file.resolve()
    number, draft = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    try:
        with os.fdopen(number, "w", encoding="utf-8", newline="") as opened:
            opened.write(text)
        os.chmod(draft, mode)
        os.replace(draft, target)
    except BaseException:
        Path(draft).unlink(missing_ok=True)
        raise
