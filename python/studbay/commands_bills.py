"""The commands for bills: what a house burns by its meter, and what the work has saved."""

from __future__ import annotations

import json
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

import studbay
from studbay import BillFit, House
from studbay.commands_portfolio import Refuse
from studbay.errors import StudbayError


class Form(StrEnum):
    """The shape of the fit."""

    heating = "heating"
    heating_cooling = "heating_cooling"
    straight = "straight"


class TemperatureUnits(StrEnum):
    """The unit system of temperatures."""

    ip = "ip"
    si = "si"


Weather = Annotated[
    Path,
    typer.Option(help="Daily weather: date and mean_f or mean_c.", show_default=False),
]
Normal = Annotated[
    Path | None,
    typer.Option(help="Weather of the usual year; by default WEATHER.", show_default=False),
]
Fuel = Annotated[str, typer.Option(help="The fuel, by its name in house files, as in natural_gas.")]
FormOption = Annotated[
    Form, typer.Option(help="heating_cooling where cooling is on the same meter.")
]
Level = Annotated[float, typer.Option(help="Confidence of the intervals.")]
Resamples = Annotated[int, typer.Option(min=0, help="Resamples of the bootstrap.")]
Seed = Annotated[int, typer.Option(min=0, help="Where its random numbers begin.")]
UnitsOption = Annotated[TemperatureUnits, typer.Option(help="Unit system of temperatures.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")]
Explain = Annotated[
    bool, typer.Option("--explain", help="Print how each figure came about, line by line.")
]


def told(blocks: list[studbay.Block]) -> str:
    """Blocks as text."""
    parts = []
    for block in blocks:
        lines = [block.title]
        lines += [f"  {label}: {text}" if label else f"  {text}" for label, text in block.lines]
        parts.append("\n".join(lines))
    return "\n\n".join(parts)


def register(app: typer.Typer, refuse: Refuse) -> None:
    """Adds the commands to the command line."""

    def fitted(bills: Path, weather: Path, normal: Path | None, **how: object) -> BillFit:
        try:
            return studbay.fit_bills(bills, weather, normal=normal, **how)  # type: ignore[arg-type]
        except (StudbayError, OSError) as error:
            refuse(named(bills, error), error)

    def house_of(file: Path) -> House:
        try:
            return House.from_file(file)
        except (StudbayError, OSError) as error:
            refuse(str(file), error)

    @app.command()
    def metered(
        bills: Annotated[
            Path,
            typer.Argument(
                help="The bills: start, end, use; unit and estimated where wanted. CSV or Parquet.",
                show_default=False,
            ),
        ],
        weather: Weather,
        fuel: Fuel = "natural_gas",
        form: FormOption = Form.heating,
        normal: Normal = None,
        house: Annotated[
            Path | None,
            typer.Option(help="A house file, to be laid beside its bills.", show_default=False),
        ] = None,
        level: Level = 0.9,
        resamples: Resamples = 1000,
        seed: Seed = 1,
        units: UnitsOption = TemperatureUnits.ip,
        explain: Explain = False,
        as_json: AsJson = False,
    ) -> None:
        """Fit the bills of one house over the weather; with a house file, check its model."""
        how = {"fuel": fuel, "form": form.value, "level": level}
        fit = fitted(bills, weather, normal, resamples=resamples, seed=seed, **how)
        calibration = None
        if house is not None:
            try:
                calibration = studbay.calibrate(house_of(house), fit)
            except StudbayError as error:
                refuse(str(house), error)
        if as_json:
            document = fit.to_dict()
            if calibration is not None:
                document["walls_share"] = calibration.walls_share
                document["factor"] = calibration.factor
                document["fuel_saved"] = calibration.fuel_saved
            print(json.dumps(document, indent=2, ensure_ascii=False))
            return
        blocks = fit.account(units.value)
        if calibration is not None:
            blocks += calibration.account(units.value)
        print(told(blocks))
        if explain:
            print()
            print(fit.explain())

    @app.command()
    def realised(
        before: Annotated[Path, typer.Argument(help="Bills before.", show_default=False)],
        after: Annotated[Path, typer.Argument(help="Bills after.", show_default=False)],
        weather: Weather,
        fuel: Fuel = "natural_gas",
        form: FormOption = Form.heating,
        normal: Normal = None,
        house: Annotated[
            Path | None,
            typer.Option(help="The house file that the promise came from.", show_default=False),
        ] = None,
        promised: Annotated[
            str | None,
            typer.Option(
                help="Fuel a year that was promised: low,figure,high.", show_default=False
            ),
        ] = None,
        level: Level = 0.9,
        resamples: Resamples = 1000,
        seed: Seed = 1,
        units: UnitsOption = TemperatureUnits.ip,
        explain: Explain = False,
        as_json: AsJson = False,
    ) -> None:
        """Prove a saving: bills before and after, in a usual year, beside what was promised."""
        how = {"fuel": fuel, "form": form.value, "level": level}
        fits = [
            fitted(bills, weather, normal, resamples=resamples, seed=seed, **how)
            for bills in (before, after)
        ]
        promise: House | tuple[float, float, float] | None = None
        if promised is not None:
            try:
                low, figure, high = (float(part) for part in promised.split(","))
            except ValueError as error:
                refuse("--promised", ValueError(f"{promised!r} is not low,figure,high ({error})"))
            promise = (low, figure, high)
        elif house is not None:
            promise = house_of(house)
        try:
            proof = studbay.prove_saving(fits[0], fits[1], promised=promise)
        except StudbayError as error:
            refuse(str(after), error)
        if as_json:
            print(json.dumps(proof.to_dict(), indent=2, ensure_ascii=False))
            return
        print(told(proof.account(units.value)))
        if explain:
            for fit in fits:
                print()
                print(fit.explain())


def named(file: Path, error: Exception) -> str:
    """The file that an error is about."""
    if isinstance(error, OSError) and error.filename:
        return str(error.filename)
    return str(file)
