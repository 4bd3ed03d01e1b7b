"""The commands for what is not known exactly: the range of a house's figures, and of a table's."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import Annotated, NoReturn

import typer

import studbay
from studbay._screen import read_house, tell
from studbay.errors import StudbayError

#: Says what is wrong with a file and ends the command.
Refuse = Callable[[str, Exception], NoReturn]
WITH_REJECTS = 1


class Units(StrEnum):
    """The unit system of the output."""

    ip = "ip"
    si = "si"


Draws = Annotated[int, typer.Option(min=1, max=1_000_000, help="How many draws.")]
Seed = Annotated[
    int, typer.Option(min=0, help="What the random bits begin from; the same seed, the same bits.")
]


def register(app: typer.Typer, refuse: Refuse) -> None:
    """Adds the commands to the command line."""

    @app.command()
    def doubt(
        file: Annotated[
            Path, typer.Argument(help="A house file, TOML or JSON.", show_default=False)
        ],
        draws: Draws = 10_000,
        seed: Seed = 1,
        own_only: Annotated[
            bool,
            typer.Option(
                "--own-only",
                help="Draw only what the house file gives a range for, not the usual spreads.",
            ),
        ] = False,
        as_json: Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")] = False,
        picture: Annotated[
            Path | None,
            typer.Option(
                help="Draw the money that comes back over the years, and what would change the "
                "payback most, as .png, .svg or .pdf. Needs matplotlib.",
                show_default=False,
            ),
        ] = None,
        units: Annotated[Units, typer.Option(help="Unit system of the output.")] = Units.ip,
        currency: Annotated[
            str, typer.Option(help="Label in front of amounts; nothing is converted.")
        ] = "$",
    ) -> None:
        """Say how sure the figures of one house are: ranges, chances, where the doubt comes from.

        Every field may carry a range under [ranges] in the house file; the others take the usual
        spread of the field. How much of the modelled saving is realised is always among them.
        """
        house = read_house(file)
        drawn = studbay.doubt(house, draws=draws, seed=seed, own_only=own_only)
        if picture is not None:
            draw(house, drawn, picture, currency, refuse)
        if as_json:
            print(json.dumps(as_document(house, drawn), indent=2, ensure_ascii=False))
            return
        heading = f"{house.house_id}, {draws:,} draws, studbay {studbay.__version__}"
        blocks = drawn.account(units=units.value, currency=currency)
        tell(heading, blocks)
        if picture is not None:
            print(f"\nWritten: {picture}")

    @app.command(name="ranges")
    def ranges_of(
        file: Annotated[
            Path,
            typer.Argument(
                metavar="IN",
                help="A table of houses, a row each, as `score` reads it: CSV, packed or not, or "
                "Parquet; - is CSV on standard input.",
                show_default=False,
            ),
        ],
        output: Annotated[
            Path,
            typer.Option("-o", "--output", metavar="OUT", help="Where the ranges go."),
        ],
        draws: Draws = 2000,
        seed: Seed = 1,
        within: Annotated[
            float, typer.Option(min=0, help="Years that the chance of payback is for.")
        ] = 10.0,
        force: Annotated[
            bool, typer.Option("--force", help="Replace a file that is there.")
        ] = False,
    ) -> None:
        """Draw every house of a table: P10, P50 and P90 of each figure beside house_id.

        A row that is no house keeps its place, with its faults. Status 1 where there is one.
        """
        try:
            read, faulty = studbay.score_ranges_file(
                file, output, draws=draws, seed=seed, within=within, force=force
            )
        except (StudbayError, OSError) as error:
            named = isinstance(error, OSError) and error.filename
            refuse(str(named or file), error)
        print(f"read {read:,}, drawn {read - faulty:,}, rejected {faulty:,}", file=sys.stderr)
        if faulty:
            raise typer.Exit(WITH_REJECTS)


def as_document(house: studbay.House, drawn: studbay.Doubt) -> dict[str, object]:
    """What ``--json`` prints: the figures, the years of money, the swings and the shares."""
    document: dict[str, object] = {"studbay_version": studbay.__version__, **drawn.to_dict()}
    assessment = house.assess()
    document["readiness"] = assessment.readiness
    document["cash"] = drawn.cash()
    document["swings"] = studbay.swings(house)
    try:
        found = drawn.shares()
    except StudbayError:
        document["shares"] = None
    else:
        document["shares"] = {
            "figure": found.figure,
            "headline": found.headline,
            "shares": found.shares,
        }
    return document


def draw(
    house: studbay.House, drawn: studbay.Doubt, path: Path, currency: str, refuse: Refuse
) -> None:
    """Writes both pictures into one file."""
    try:
        from studbay import plot_doubt
    except ImportError as error:
        refuse(str(path), ValueError(f"pictures need matplotlib: {error}"))
    try:
        plot_doubt.picture(house, drawn, currency=currency).savefig(path)
    except (OSError, ValueError) as error:
        refuse(str(path), error)
