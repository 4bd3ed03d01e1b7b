"""The command for pages: the report of a house, or of many, as one file; or a page for each."""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Callable
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, NoReturn

import typer

import studbay
from studbay.commands_portfolio import Rank, named, printable
from studbay.errors import StudbayError

#: Says what is wrong with a file and ends the command.
Refuse = Callable[[str, Exception], NoReturn]


class Units(StrEnum):
    """The unit system of the page."""

    ip = "ip"
    si = "si"


class Language(StrEnum):
    """The languages that come with the package."""

    en = "en"
    es = "es"


MONTHS = {
    "en": "January February March April May June July August September October November December",
    "es": "enero febrero marzo abril mayo junio "
    "julio agosto septiembre octubre noviembre diciembre",
}
TEMPLATES = ("page.html", "letterhead.html", "page.css", "portfolio.html", "portfolio.css")
#: How the names of files of many houses end.
LISTS = (".csv", ".csv.gz", ".csv.zst", ".parquet")
#: Houses without a page that are told, at most.
MOST_TOLD = 10


def register(app: typer.Typer, refuse: Refuse) -> None:
    """Adds the command to the command line."""

    @app.command()
    def report(
        files: Annotated[
            list[Path],
            typer.Argument(
                metavar="FILE...",
                help="A house file, TOML or JSON; or a list that `score` wrote, CSV, packed or "
                "not, or Parquet. With --each also several house files, or a list not yet scored.",
                show_default=False,
            ),
        ],
        output: Annotated[
            Path,
            typer.Option(
                "-o",
                "--output",
                metavar="PAGE",
                help="Where the page goes; - is standard output. With --each a new folder, or a "
                "zip where the name ends in .zip.",
                show_default=False,
            ),
        ],
        each: Annotated[
            bool,
            typer.Option("--each", help="A still page for each house, into a folder or a zip."),
        ] = False,
        by: Annotated[
            str | None,
            typer.Option(
                help="Of a list: the column to group by, as in county.", show_default=False
            ),
        ] = None,
        budget: Annotated[
            float | None,
            typer.Option(
                help="Of a list: what may be spent; the page says which houses to treat first.",
                show_default=False,
            ),
        ] = None,
        rank: Annotated[
            Rank, typer.Option(help="Of a list: what the houses to treat first are ranked by.")
        ] = Rank.sir,
        rejects: Annotated[
            Path | None,
            typer.Option(
                help="Of a list: the rows that could not be scored; without it, the file of "
                "rejects beside it, if there is one.",
                show_default=False,
            ),
        ] = None,
        units: Annotated[
            Units, typer.Option(help="Unit system of the page of a house.")
        ] = Units.ip,
        currency: Annotated[
            str, typer.Option(help="Label in front of amounts; nothing is converted.")
        ] = "$",
        language: Annotated[Language, typer.Option(help="Language of the page.")] = Language.en,
        words: Annotated[
            Path | None,
            typer.Option(
                metavar="FILE",
                help="A JSON object of texts that take the place of the language's own.",
                show_default=False,
            ),
        ] = None,
        templates: Annotated[
            Path | None,
            typer.Option(
                metavar="FOLDER",
                help=f"A folder with templates of your own: {', '.join(TEMPLATES)}.",
                show_default=False,
            ),
        ] = None,
        still: Annotated[
            bool, typer.Option("--still", help="No sliders: a small page without any script.")
        ] = False,
        force: Annotated[
            bool, typer.Option("--force", help="Replace an output that is there already.")
        ] = False,
    ) -> None:
        """Make the page of one house: to show, to keep, to print on two sheets, to play with.

        Of a scored list, one page of all its houses. With --each, a page for each house.
        """
        file = files[0]
        of_list = is_list(file)
        wrong = misused(
            several=len(files) > 1,
            of_list=any(is_list(file) for file in files),
            each=each,
            asked=[by, budget, rejects],
        )
        if wrong:
            refuse(str(file), ValueError(wrong))
        try:
            how: Any = {
                "currency": currency,
                "language": language.value,
                "words": read_words(words) if words else None,
                "templates": read_templates(templates) if templates else None,
                "date": written(date.today(), language.value),
            }
        except (OSError, ValueError) as error:
            refuse(str(templates or words), error)
        if each:
            pages_each(files, output, {**how, "units": units.value, "force": force}, refuse)
            return
        try:
            if of_list:
                page = studbay.report_portfolio_file(
                    file, by=by, budget=budget, rank=rank.value, rejects=rejects, **how
                )
            else:
                house = studbay.House.from_file(file)
                page = studbay.report(house, units=units.value, live=not still, **how)
        except (StudbayError, OSError, ValueError) as error:
            refuse(named(file, error), error)
        if str(output) == "-":
            sys.stdout.write(page)
            return
        if output.exists() and any(output.samefile(file) for file in files if file.exists()):
            refuse(str(output), ValueError("this file is also the input"))
        if output.exists() and not force:
            refuse(str(output), FileExistsError("exists already; --force replaces it"))
        try:
            put(output, page)
        except OSError as error:
            refuse(str(output), error)


def is_list(file: Path) -> bool:
    """Whether a file holds many houses, by its name."""
    return str(file) == "-" or file.name.lower().endswith(LISTS)


def misused(*, several: bool, of_list: bool, each: bool, asked: list[object]) -> str | None:
    """What is wrong with arguments that do not go together."""
    if several and of_list:
        return "a list goes alone: one page, or with --each a page for each of its rows"
    if several and not each:
        return "several houses are several pages: give --each and a folder or zip"
    if any(one is not None for one in asked) and (each or not of_list):
        return "--by, --budget and --rejects are for the one page of a list that score wrote"
    return None


def pages_each(files: list[Path], output: Path, how: Any, refuse: Refuse) -> None:
    """Makes a page for each house and says what has none; the status is then 1."""
    if str(output) == "-":
        refuse("-", ValueError("many pages need a folder or a zip"))
    faults: list[tuple[str, str]] = []
    try:
        if is_list(files[0]):
            names, rows = studbay.write_reports_file(files[0], output, **how)
            faults = [(f"row {row}", reason) for row, reason in rows]
        else:
            houses = []
            for file in files:
                try:
                    houses.append(studbay.House.from_file(file))
                except (StudbayError, OSError) as error:
                    faults.append((str(file), str(error)))
            if not houses:
                raise ValueError(f"no house: {'; '.join(reason for _, reason in faults)}")
            names = studbay.write_reports(houses, output, **how)
    except FileExistsError as error:
        refuse(str(output), FileExistsError(f"{error.strerror}; --force replaces it"))
    except (StudbayError, OSError, ValueError) as error:
        refuse(named(files[0], error), error)
    pages = "1 page" if len(names) == 1 else f"{len(names):,} pages"
    print(f"{pages} in {output}", file=sys.stderr)
    if not faults:
        return
    for place, reason in faults[:MOST_TOLD]:
        print(f"  {place}: {printable(reason)}", file=sys.stderr)
    if len(faults) > MOST_TOLD:
        print(f"  and {len(faults) - MOST_TOLD:,} more", file=sys.stderr)
    where = f"; they stand in {output}, rejects.csv" if is_list(files[0]) else ""
    print(f"{len(faults):,} without a page{where}", file=sys.stderr)
    raise typer.Exit(1)


def read_words(file: Path) -> dict[str, str]:
    """The texts of a file of words."""
    texts = json.loads(file.read_text(encoding="utf-8"))
    if not isinstance(texts, dict) or not all(isinstance(text, str) for text in texts.values()):
        raise ValueError(f"{file.name}: must be a JSON object of texts")
    return texts


def read_templates(folder: Path) -> dict[str, str]:
    """The templates that a folder holds."""
    found = {
        name: (folder / name).read_text(encoding="utf-8")
        for name in TEMPLATES
        if (folder / name).is_file()
    }
    if not found:
        raise ValueError(f"holds none of {', '.join(TEMPLATES)}")
    return found


def written(day: date, language: str) -> str:
    """The day as a person writes it."""
    month = MONTHS[language].split()[day.month - 1]
    return (
        f"{day.day} de {month} de {day.year}"
        if language == "es"
        else (f"{day.day} {month} {day.year}")
    )


def put(output: Path, page: str) -> None:
    """Writes beside the final name and renames, so that a page stands there whole or not."""
    handle, draft = tempfile.mkstemp(dir=output.parent, prefix=f".{output.name}.", suffix=".draft")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(page)
        # What a new file would have been allowed: mkstemp gives the owner alone.
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(draft, 0o666 & ~mask)
        os.replace(draft, output)
    except BaseException:
        Path(draft).unlink(missing_ok=True)
        raise
