"""The commands for one house's choices: what to do, where it turns, how to pay for it."""

from __future__ import annotations

import json
import sys
import textwrap
from collections.abc import Callable, Sequence
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, NoReturn

import typer

import studbay
from studbay import Block, House, lending
from studbay._wide import on_screen
from studbay.errors import InputError, StudbayError

#: Says what is wrong with a file and ends the command.
Refuse = Callable[[str, Exception], NoReturn]
#: Prints a heading and blocks, as `assess` does.
Show = Callable[[str, list[Block]], None]


class Units(StrEnum):
    """The unit system of the output."""

    ip = "ip"
    si = "si"


class Goal(StrEnum):
    """What is to be met."""

    npv = "npv"
    payback = "payback"
    sir = "sir"


HouseFile = Annotated[Path, typer.Argument(help="A house file, TOML or JSON.", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")]
CurrencyOption = Annotated[
    str, typer.Option(help="Label in front of amounts; nothing is converted.")
]
SurfaceOption = Annotated[
    str | None,
    typer.Option(
        help="The surface that a field belongs to, by name or by place counted from 1, where the "
        "house has more than one.",
        show_default=False,
    ),
]
PictureOption = Annotated[
    Path | None,
    typer.Option(
        help="Draw a picture into this file too, .png or .svg; needs matplotlib.",
        show_default=False,
    ),
]


def register(app: typer.Typer, refuse: Refuse, show: Show) -> None:
    """Adds the commands to the command line."""

    def read(file: Path) -> House:
        try:
            return House.from_file(file)
        except (StudbayError, OSError) as error:
            refuse(str(file), error)

    @app.command()
    def options(
        file: HouseFile,
        details: Annotated[
            bool, typer.Option("--details", help="Print every option in full below the table.")
        ] = False,
        as_json: AsJson = False,
        units: Annotated[Units, typer.Option(help="Unit system of the JSON.")] = Units.ip,
        currency: CurrencyOption = "$",
        picture: PictureOption = None,
    ) -> None:
        """Compare what can be done with one house: leave it, fill it, take the batt out first.

        The options are those of the list `options` in the file, or the usual ones.
        """
        house = read(file)
        try:
            comparison = studbay.compare_options(house)
        except InputError as error:
            refuse(str(file), error)
        if picture is not None:
            draw(picture, refuse, lambda plot, axes: plot.options(comparison, axes, currency))
        if as_json:
            print_json(
                {
                    "house_id": house.house_id,
                    "studbay_version": studbay.__version__,
                    "units": units.value,
                    "modelled": True,
                    "best": comparison.best,
                    "annual_cost": comparison.annual_cost,
                    "lifetime_cost": comparison.lifetime_cost,
                    "present_cost": comparison.present_cost,
                    "options": [
                        {**row, "assumptions": list(told.assumptions)}
                        for row, told in zip(
                            comparison.to_dicts(units=units.value), comparison.rows, strict=True
                        )
                    ],
                }
            )
            return
        blocks = comparison.account(currency=currency)
        show(house.house_id, [block for block in blocks if block.tone in {"hold", "answer"}])
        print()
        print(on_screen(table(*comparison.side_by_side(currency=currency))))
        rest = [
            block
            for block in blocks
            if block.tone == "plain" and (details or not block.title.endswith(", modelled"))
        ]
        print()
        show("", rest)

    @app.command("break-even")
    def break_even(
        file: HouseFile,
        field: Annotated[
            str,
            typer.Argument(
                help="Any numeric field of `studbay fields` by either name, or cost_per_ft2 or "
                "cost_per_m2.",
                show_default=False,
            ),
        ],
        goal: Annotated[
            Goal,
            typer.Option(
                help="npv: a net present value of 0. payback: one of --years. sir: a "
                "savings-to-investment ratio of 1."
            ),
        ] = Goal.npv,
        years: Annotated[
            float | None, typer.Option(help="The years of the goal payback.", show_default=False)
        ] = None,
        surface: SurfaceOption = None,
        low: Annotated[
            float | None, typer.Option(help="Where to begin looking.", show_default=False)
        ] = None,
        high: Annotated[
            float | None, typer.Option(help="Where to end.", show_default=False)
        ] = None,
        as_json: AsJson = False,
        currency: CurrencyOption = "$",
    ) -> None:
        """Find the value of one input at which a goal is just met, all else as in the house."""
        house = read(file)
        try:
            found = studbay.break_even(
                house, field, goal.value, years=years, surface=surface, low=low, high=high
            )
        except InputError as error:
            refuse(str(file), error)
        if as_json:
            print_json({**found.to_dict(), "studbay_version": studbay.__version__})
            return
        show(house.house_id, found.account(currency=currency))

    @app.command("batt-curve")
    def batt_curve(
        file: HouseFile,
        surface: SurfaceOption = None,
        units: Annotated[Units, typer.Option(help="Inches or millimetres.")] = Units.ip,
        points: Annotated[int, typer.Option(min=2, max=2000, help="Points of the curve.")] = 71,
        as_json: AsJson = False,
        currency: CurrencyOption = "$",
        picture: PictureOption = None,
    ) -> None:
        """Is the batt too thick for a fill to pay? Payback against the thickness of the batt."""
        house = read(file)
        field = "batt_thickness_in" if units is Units.ip else "batt_thickness_mm"
        try:
            curve = studbay.payback_curve(house, field, surface=surface, points=points)
        except InputError as error:
            refuse(str(file), error)
        if picture is not None:
            draw(picture, refuse, lambda plot, axes: plot.payback_curve(curve, axes))
        if as_json:
            print_json(
                {
                    "house_id": house.house_id,
                    "studbay_version": studbay.__version__,
                    "modelled": True,
                    "field": curve.field,
                    "now": curve.now,
                    "break_even": list(curve.break_even),
                    "life_years": curve.life_years,
                    "readiness": curve.readiness,
                    **curve.columns(),
                }
            )
            return
        show(house.house_id, curve.account(currency=currency))

    @app.command("pay-for")
    def pay_for(
        file: HouseFile,
        rate: Annotated[
            float | None,
            typer.Option(
                help="Yearly rate of a loan as quoted: 0.07 is 7 %, 0 a loan without interest. "
                "Left out, the loans of the file are taken.",
                show_default=False,
            ),
        ] = None,
        months: Annotated[int, typer.Option(help="Months of the loan of --rate.")] = 60,
        fee: Annotated[float, typer.Option(help="Fee of the loan of --rate.")] = 0.0,
        down_payment: Annotated[
            float, typer.Option(help="Paid at signing, with the loan of --rate.")
        ] = 0.0,
        inflation: Annotated[
            float | None,
            typer.Option(
                help="How fast prices rise, a share a year; 0.02 where left out.",
                show_default=False,
            ),
        ] = None,
        work_year: Annotated[
            int | None,
            typer.Option(
                help="Calendar year of the work, for incentives that end.", show_default=False
            ),
        ] = None,
        as_json: AsJson = False,
        currency: CurrencyOption = "$",
        picture: PictureOption = None,
    ) -> None:
        """Lay each way to pay over the savings: is it cash-positive from month 1?"""
        house = read(file)
        loans: list[dict[str, object]] | None = None
        if rate is not None:
            name = "loan without interest" if rate == 0 else "loan"
            loans = [
                {
                    "name": name,
                    "annual_rate": rate,
                    "months": months,
                    "fee": fee,
                    "down_payment": down_payment,
                }
            ]
        try:
            ways = lending.ways_to_pay(
                house,
                loans,
                inflation=lending.Inflation(inflation),
                work_year=work_year,
            )
        except (InputError, OverflowError) as error:
            refuse(str(file), error)
        if picture is not None:
            draw(picture, refuse, lambda plot, axes: plot.cash(ways, axes, currency))
        if as_json:
            print_json(
                {
                    "house_id": house.house_id,
                    "studbay_version": studbay.__version__,
                    "modelled": True,
                    "ways": [way.to_dict() for way in ways],
                }
            )
            return
        for place, way in enumerate(ways):
            if place:
                print()
            show(house.house_id if not place else "", way.account(currency=currency))


def table(names: Sequence[str], rows: Sequence[tuple[str, Sequence[str]]]) -> str:
    """The options as columns of plain text, names wrapped above them."""
    label = max(len(label) for label, _ in rows)
    width = [
        max(10, min(16, len(name)), *(len(cells[place]) for _, cells in rows))
        for place, name in enumerate(names)
    ]
    heads = [textwrap.wrap(name, size) or [""] for name, size in zip(names, width, strict=True)]
    height = max(len(head) for head in heads)
    lines = []
    for line in range(height):
        cells = [
            (head[line - height + len(head)] if line >= height - len(head) else "").rjust(size)
            for head, size in zip(heads, width, strict=True)
        ]
        lines.append(" " * label + "  " + "  ".join(cells))
    lines.append("-" * len(lines[0]))
    for name, texts in rows:
        cells = [text.rjust(size) for text, size in zip(texts, width, strict=True)]
        lines.append(name.ljust(label) + "  " + "  ".join(cells))
    return "\n".join(line.rstrip() for line in lines)


def draw(picture: Path, refuse: Refuse, paint: Callable[[Any, Any], object]) -> None:
    """Paints a picture into a file."""
    if picture.suffix.lower() not in {".png", ".svg"}:
        refuse(str(picture), ValueError("a picture ends in .png or .svg"))
    try:
        from matplotlib.figure import Figure

        from studbay import plot_choices
    except ImportError:
        refuse(str(picture), ValueError("a picture needs matplotlib: pip install matplotlib"))
    figure = Figure(figsize=(8.0, 5.0), layout="constrained")
    paint(plot_choices, figure.subplots())
    try:
        figure.savefig(picture, dpi=150)
    except OSError as error:
        refuse(str(picture), error)
    print(f"drawn: {picture}", file=sys.stderr)


def print_json(document: dict[str, object]) -> None:
    """Prints what a program reads."""
    print(json.dumps(document, indent=2, ensure_ascii=False))
