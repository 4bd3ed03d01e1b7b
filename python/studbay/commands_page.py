"""The command for pages: the report of a house as one file."""

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

import studbay
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
TEMPLATES = ("page.html", "letterhead.html", "page.css")


def register(app: typer.Typer, refuse: Refuse) -> None:
    """Adds the command to the command line."""

    @app.command()
    def report(
        file: Annotated[
            Path, typer.Argument(help="A house file, TOML or JSON.", show_default=False)
        ],
        output: Annotated[
            Path,
            typer.Option(
                "-o",
                "--output",
                metavar="PAGE",
                help="Where the page goes; - is standard output.",
                show_default=False,
            ),
        ],
        units: Annotated[Units, typer.Option(help="Unit system of the page.")] = Units.ip,
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
        """Make the page of one house: to show, to keep, to print on two sheets, to play with."""
        try:
            house = studbay.House.from_file(file)
        except (StudbayError, OSError) as error:
            refuse(str(file), error)
        try:
            page = studbay.report(
                house,
                units=units.value,
                currency=currency,
                language=language.value,
                words=read_words(words) if words else None,
                templates=read_templates(templates) if templates else None,
                date=written(date.today(), language.value),
                live=not still,
            )
        except (StudbayError, OSError, ValueError) as error:
            refuse(str(templates or words or file), error)
        if str(output) == "-":
            sys.stdout.write(page)
            return
        if output.exists() and not force:
            refuse(str(output), FileExistsError("exists already; --force replaces it"))
        try:
            put(output, page)
        except OSError as error:
            refuse(str(output), error)


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
