"""The commands for the bills of many houses: fits and proofs of long tables."""

from __future__ import annotations

import json
import sys
from collections import Counter
from pathlib import Path
from statistics import quantiles
from typing import Annotated, Any

import typer

import studbay
from studbay import Table
from studbay.commands_bills import Form, FormOption, Fuel, Level, Seed
from studbay.commands_portfolio import Refuse, printable
from studbay.errors import StudbayError

#: Exit status where some house could not be fitted, as for `score`.
WITH_REJECTS = 1
#: Houses with faults that are told one by one; all of them stand in the table.
TOLD = 10

Weather = Annotated[
    list[str],
    typer.Option(
        help="Daily weather: date and mean_f or mean_c. Several by name, as in coast=coast.csv, "
        "the option repeated; --houses says which house has which.",
        show_default=False,
    ),
]
Normal = Annotated[
    list[str] | None,
    typer.Option(
        help="Weather of the usual year, by name where WEATHER is; by default WEATHER.",
        show_default=False,
    ),
]
Resamples = Annotated[int, typer.Option(min=0, help="Resamples of the bootstrap, a meter.")]
Threads = Annotated[
    int | None, typer.Option(min=1, help="Threads; by default all cores.", show_default=False)
]
Houses = Annotated[
    Path | None,
    typer.Option(
        help="What is known of houses: house_id, and weather, a name of --weather.",
        show_default=False,
    ),
]
Output = Annotated[
    Path | None,
    typer.Option(
        "--output",
        "-o",
        help="Write a row for each house: CSV, packed or not, or Parquet by its ending; - is "
        "standard output as CSV.",
        show_default=False,
    ),
]
Force = Annotated[bool, typer.Option("--force", help="Replace an output that is there already.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print the rows as JSON, for programs.")]


def by_name(option: str, given: list[str]) -> str | dict[str, str]:
    """One path, or several by name."""
    if len(given) == 1 and ("=" not in given[0] or Path(given[0]).exists()):
        return given[0]
    parts = {}
    for text in given:
        name, sign, path = text.partition("=")
        if not (name and sign and path):
            raise ValueError(f"{option} {text!r}: several are given by name, as in coast=coast.csv")
        if name in parts:
            raise ValueError(f"{option}: the name {name!r} stands twice")
        parts[name] = path
    return parts


def register(app: typer.Typer, refuse: Refuse) -> None:
    """Adds the commands to the command line."""

    def weather_of(
        weather: list[str], normal: list[str] | None
    ) -> tuple[str | dict[str, str], str | dict[str, str] | None]:
        try:
            return by_name("--weather", weather), by_name("--normal", normal) if normal else None
        except ValueError as error:
            refuse("weather", error)

    def give(
        table: Table, inputs: list[Path], output: Path | None, force: bool, as_json: bool, text: str
    ) -> None:
        rows = table.to_dicts()
        if output is not None:
            if str(output) != "-" and output.exists():
                for read in inputs:
                    if read.exists() and output.samefile(read):
                        refuse(str(output), ValueError("this file is also an input"))
            try:
                table.write(output, force=force)
            except (StudbayError, OSError) as error:
                refuse(str(output), error)
        if as_json and str(output) != "-":
            print(json.dumps(rows, indent=2, ensure_ascii=False))
        elif str(output) != "-":
            print(text)
            if output is not None:
                print(f"Written: {output}")
        faulty = [row for row in rows if row["faults"] is not None]
        for row in faulty[:TOLD]:
            told = f"{row['house_id']}, {row['fuel']}: {row['faults']}"
            print(printable(told), file=sys.stderr)
        if len(faulty) > TOLD:
            more = f"{len(faulty) - TOLD} more houses have faults; the column faults has them all."
            print(more, file=sys.stderr)
        if faulty:
            raise typer.Exit(WITH_REJECTS)

    @app.command()
    def meters(
        bills: Annotated[
            Path,
            typer.Argument(
                help="Bills: house_id, start, end, use; fuel, unit and estimated where wanted. "
                "CSV or Parquet.",
                show_default=False,
            ),
        ],
        weather: Weather,
        fuel: Fuel = "natural_gas",
        form: FormOption = Form.heating,
        houses: Houses = None,
        normal: Normal = None,
        output: Output = None,
        level: Level = 0.9,
        resamples: Resamples = 200,
        seed: Seed = 1,
        threads: Threads = None,
        force: Force = False,
        as_json: AsJson = False,
    ) -> None:
        """Fit the bills of many houses over the weather, a row for each house and fuel.

        A house that cannot be fitted keeps its row, with its faults; the exit status is then 1.
        """
        days, usual = weather_of(weather, normal)
        try:
            table = studbay.fit_meters(
                bills,
                days,
                fuel=fuel,
                form=form.value,
                houses=houses,
                normal=usual,
                level=level,
                resamples=resamples,
                seed=seed,
                threads=threads,
            )
        except (StudbayError, OSError) as error:
            refuse(among([bills], days, usual, houses, error), error)
        text = fits_told(table.to_dicts())
        give(table, [bills], output, force, as_json, text)

    @app.command()
    def proven(
        before: Annotated[
            Path, typer.Argument(help="Bills before, as for meters.", show_default=False)
        ],
        after: Annotated[Path, typer.Argument(help="Bills after.", show_default=False)],
        weather: Weather,
        fuel: Fuel = "natural_gas",
        form: FormOption = Form.heating,
        houses: Annotated[
            Path | None,
            typer.Option(
                help="What is known of houses: house_id; untreated, yes for the comparison group; "
                "promised_low, promised, promised_high; weather, a name of --weather.",
                show_default=False,
            ),
        ] = None,
        normal: Normal = None,
        output: Output = None,
        level: Level = 0.9,
        resamples: Resamples = 200,
        seed: Seed = 1,
        threads: Threads = None,
        force: Force = False,
        as_json: AsJson = False,
    ) -> None:
        """Prove the savings of many houses; what changed for a comparison group is taken out.

        A house with bills on one side only, or with a fault in them, keeps its row, with its
        faults; the exit status is then 1.
        """
        days, usual = weather_of(weather, normal)
        try:
            table = studbay.prove_meters(
                before,
                after,
                days,
                fuel=fuel,
                form=form.value,
                houses=houses,
                normal=usual,
                level=level,
                resamples=resamples,
                seed=seed,
                threads=threads,
            )
        except (StudbayError, OSError) as error:
            refuse(among([before, after], days, usual, houses, error), error)
        text = proofs_told(table.to_dicts(), level)
        give(table, [before, after], output, force, as_json, text)


def among(
    bills: list[Path],
    weather: str | dict[str, str],
    normal: str | dict[str, str] | None,
    houses: Path | None,
    error: Exception,
) -> str:
    """The file that an error is about; where it does not say, all of those that were read."""
    if isinstance(error, OSError) and error.filename:
        return str(error.filename)
    files = [str(file) for file in bills]
    for air in (weather, normal):
        files += air.values() if isinstance(air, dict) else [air] if air else []
    files += [str(houses)] if houses else []
    return "in one of " + ", ".join(dict.fromkeys(files))


def fits_told(rows: list[dict[str, Any]]) -> str:
    """What many fits come to."""
    lines = [counted(rows, "fitted")]
    usable = [row for row in rows if row["verdict"] in ("sound", "doubtful")]
    good = [row["annual_heating"] for row in usable if row["annual_heating"] is not None]
    spread(lines, "Heating of a usual year, unusable fits left out", good, "{:,.0f}", units(rows))
    return "\n".join(lines)


def proofs_told(rows: list[dict[str, Any]], level: float) -> str:
    """What many proofs come to."""
    treated = [row for row in rows if row["untreated"] == "no"]
    lines = ["Treated: " + counted(treated, "proved")]
    others = [row for row in rows if row["untreated"] == "yes"]
    if others:
        lines.append("Not treated: " + counted(others, "compared"))
    good = [row for row in treated if row["verdict"] in ("sound", "doubtful")]
    shares = [100 * row["saved_share"] for row in good]
    spread(lines, "Saved, of the use before", shares, "{:.1f}", "%")
    spread(lines, "Saved a year", [row["saved"] for row in good], "{:,.0f}", units(good))
    told = sum(row["saved_low"] is not None and row["saved_low"] > 0 for row in good)
    lines.append(f"  {told} of {len(good)} savings are told from none at {100 * level:g} %.")
    groups = {row["fuel"]: row for row in good if row["comparison_ratio"] is not None}
    for fuel, row in groups.items():
        interval = ""
        if row["comparison_ratio_low"] is not None:
            low, high = row["comparison_ratio_low"], row["comparison_ratio_high"]
            interval = f" ({low:.3f} to {high:.3f})"
        lines.append(
            f"  Comparison group, {fuel}: {row['comparison_houses']:.0f} houses, use after over "
            f"before {row['comparison_ratio']:.3f}{interval}, taken out."
        )
    if not groups:
        lines.append("  No comparison group: what changed for everyone is still in the savings.")
    return "\n".join(lines)


def counted(rows: list[dict[str, Any]], done: str) -> str:
    """How many, by verdict."""
    verdicts = Counter(row["verdict"] for row in rows if row["faults"] is None)
    parts = ", ".join(f"{verdicts[word]} {word}" for word in ("sound", "doubtful", "unusable"))
    fitted = sum(verdicts.values())
    return f"{len(rows)} meters, {fitted} {done} ({parts}), {len(rows) - fitted} with faults."


def units(rows: list[dict[str, Any]]) -> str:
    """The unit of all rows; nothing where they differ."""
    found = {row["unit"] for row in rows}
    return found.pop() if len(found) == 1 else ""


def spread(lines: list[str], label: str, values: list[float], form: str, unit: str) -> None:
    """A line of median and quartiles; units that differ are not mixed."""
    if len(values) < 2 or not unit:
        return
    low, middle, high = (form.format(value) for value in quantiles(values, n=4))
    lines.append(f"  {label}: median {middle} {unit}, half of them {low} to {high}.")
