"""The commands for what was done: stages of a file, evidence, the machine, receipt, many jobs."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, NoReturn

import typer

import studbay
from studbay import AsBuilt, Block, HouseFile
from studbay.errors import SchemaError, StudbayError

#: Says what is wrong with a file and ends the command.
Refuse = Callable[[str, Exception], NoReturn]
#: Prints a heading and blocks.
Show = Callable[[str, list[Block]], None]

#: Exit status where rows of a list could not be read, as for `score`.
WITH_REJECTS = 1


class UnitSystem(StrEnum):
    """The unit system of the output."""

    ip = "ip"
    si = "si"


class StageName(StrEnum):
    """A stage of a job."""

    survey = "survey"
    offer = "offer"
    job = "job"
    as_built = "as_built"
    follow_up = "follow_up"


FileArgument = Annotated[
    Path, typer.Argument(help="A house file, TOML or JSON.", show_default=False)
]
Json = Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")]
UnitsOption = Annotated[UnitSystem, typer.Option(help="Unit system of the output.")]
Confidence = Annotated[float, typer.Option(help="Confidence of the intervals, 0.5 to 0.999.")]


def register(app: typer.Typer, refuse: Refuse, show: Show) -> None:
    """Adds the commands to the command line."""

    def read(file: Path) -> HouseFile:
        try:
            return HouseFile.from_file(file)
        except (StudbayError, OSError) as error:
            refuse(str(file), error)

    def proved(file: Path, confidence: float = 0.95) -> AsBuilt:
        try:
            return HouseFile.from_file(file).prove(confidence=confidence)
        except (StudbayError, OSError) as error:
            refuse(str(file), error)

    @app.command()
    def stages(file: FileArgument, as_json: Json = False) -> None:
        """Print the stages that a house file has, with their days."""
        house_file = read(file)
        try:
            version, found = house_file.schema_version, house_file.stages()
        except StudbayError as error:
            refuse(str(file), error)
        if as_json:
            print_json({"schema_version": version, "stages": dict(found)})
            return
        print(f"{file}: version {version}")
        for stage, day in found:
            print(f"  {stage.replace('_', ' ')}: {day or 'no day'}")

    @app.command()
    def stamp(
        file: FileArgument,
        stage: Annotated[StageName, typer.Argument(help="The stage.", show_default=False)],
        day: Annotated[
            str | None,
            typer.Option("--date", help="Its day, as in 2026-10-02.", show_default=False),
        ] = None,
        values: Annotated[
            list[str] | None,
            typer.Option(
                "--set",
                metavar="KEY=VALUE",
                help="A value of the stage, as in crew='crew 2'. May be given again.",
                show_default=False,
            ),
        ] = None,
        box: Annotated[
            list[str] | None,
            typer.Option(
                "--box",
                metavar="KEY=VALUE",
                help="A value of a weighed box, added as one row to the machine's log, as in "
                "box_mass_lb=6.0. May be given again.",
                show_default=False,
            ),
        ] = None,
        dry_run: Annotated[
            bool, typer.Option("--dry-run", help="Say what would change and write nothing.")
        ] = False,
    ) -> None:
        """Write a stage of a house file: its day and its values. Every other line stays."""
        before = read(file)
        try:
            after = before.upgraded()
            if day is not None:
                after = after.with_value("date", as_day(day), stage=stage.value)
            for key, value in pairs(values or []):
                after = after.with_value(key, value, stage=stage.value)
            if box:
                row = dict(pairs(box))
                row.setdefault("date", date.today() if day is None else as_day(day))
                after = after.with_row(stage.value, "calibration", row)
            after.stages()
            if not dry_run:
                after.save(file)
        except (StudbayError, ValueError, OSError) as error:
            refuse(str(file), error)
        changed = before.changes(after)
        for path, old, new in changed:
            print(f"{path}: {old or '(nothing)'} -> {new or '(nothing)'}")
        if not changed:
            print("nothing to change")

    @app.command()
    def compare(
        before: FileArgument,
        after: Annotated[Path, typer.Argument(help="The other file.", show_default=False)],
        as_json: Json = False,
    ) -> None:
        """Print every value that differs between two house files."""
        changed = read(before).changes(read(after))
        if as_json:
            print_json([{"path": p, "before": b, "after": a} for p, b, a in changed])
            return
        for path, old, new in changed:
            print(f"{path}: {old or '(nothing)'} -> {new or '(nothing)'}")
        if not changed:
            print("no value differs")

    @app.command(name="as-built")
    def as_built(
        file: FileArgument,
        as_json: Json = False,
        units: UnitsOption = UnitSystem.ip,
        currency: Annotated[
            str, typer.Option(help="Label in front of amounts; nothing is converted.")
        ] = "$",
        confidence: Confidence = 0.95,
    ) -> None:
        """Put the evidence in the place of the assumptions: promised, as built, measured."""
        proof = proved(file, confidence)
        if as_json:
            print_json(proof.to_dict(units=units.value))
            return
        heading = f"{proof.house_id}, as built, studbay {studbay.__version__}"
        show(heading, proof.account(units=units.value, currency=currency))

    @app.command(name="machine-log")
    def machine_log(
        file: FileArgument,
        picture: Annotated[
            Path | None,
            typer.Option(
                "--picture",
                help="Draw the charts into this file, PNG or SVG; needs matplotlib.",
                show_default=False,
            ),
        ] = None,
        as_json: Json = False,
    ) -> None:
        """Say whether the machine may go on, by the boxes that were filled and weighed."""
        charts = proved(file).to_dict()["machines"]
        if picture is not None:
            try:
                from studbay.plot_evidence import save_machine_charts

                save_machine_charts(charts, picture)
            except (ImportError, ValueError, OSError) as error:
                refuse(str(picture), error)
        if as_json:
            print_json(charts)
            return
        if not charts:
            print("no box is written down: weigh one before the next house")
        for chart in charts:
            tell_machine(chart)
        if picture is not None:
            print(f"\nDrawn: {picture}")

    @app.command()
    def receipt(
        file: FileArgument, as_json: Json = False, units: UnitsOption = UnitSystem.ip
    ) -> None:
        """Print what a receipt for loose-fill has to say; check the current rule."""
        proof = proved(file)
        entries = proof.receipt_account(units=units.value)
        if entries is None:
            refuse(str(file), ValueError("there is no table [as_built]: nothing was installed yet"))
        if as_json:
            print_json(proof.receipt(units=units.value))
            return
        show(f"{proof.house_id}, studbay {studbay.__version__}", entries)

    @app.command()
    def jobs(
        file: Annotated[
            Path, typer.Argument(help="CSV of jobs with evidence, a row each.", show_default=False)
        ],
        output: Annotated[
            Path | None,
            typer.Option(
                "--output", "-o", help="Write the list here too, as CSV.", show_default=False
            ),
        ] = None,
        force: Annotated[
            bool, typer.Option("--force", help="Replace an output that is there already.")
        ] = False,
        rows: Annotated[int, typer.Option(min=0, help="Jobs that are printed, at most.")] = 25,
        confidence: Confidence = 0.95,
        as_json: Json = False,
    ) -> None:
        """List the jobs outside the limits of density or coverage, by crew and machine.

        Status 0: done, 1: done with rows that are no jobs, 2: the input is no use.
        """
        try:
            review = studbay.review_jobs(file, confidence=confidence)
        except SchemaError as error:
            refuse(str(file), ValueError("; ".join(error.faults)))
        except (StudbayError, OSError) as error:
            refuse(str(file), error)
        if output is not None:
            if output.exists() and not force:
                refuse(str(output), ValueError("is there already; --force replaces it"))
            if output.exists() and output.samefile(file):
                refuse(str(output), ValueError("this file is also the input"))
            try:
                output.write_text(review.csv, encoding="utf-8", newline="")
            except OSError as error:
                refuse(str(output), error)
        if as_json:
            print_json(review.to_dict())
        else:
            show(f"{file.name}, studbay {studbay.__version__}", review.account(rows=rows))
        if review.rejected:
            raise typer.Exit(WITH_REJECTS)


def pairs(given: list[str]) -> list[tuple[str, object]]:
    """Keys and values from `key=value`; a number is a number, yes and no stay words."""
    found: list[tuple[str, object]] = []
    for item in given:
        key, sign, value = item.partition("=")
        if not sign or not value.strip():
            raise ValueError(f"{item}: must be KEY=VALUE, as in crew='crew 2'")
        text = value.strip()
        try:
            found.append((key.strip(), float(text)))
        except ValueError:
            found.append((key.strip(), text))
    return found


def as_day(text: str) -> date:
    """The day, or an error that says how one is written."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{text}: must be a day, as in 2026-10-02") from None


def tell_machine(chart: dict[str, Any]) -> None:
    """Prints a chart as a table, a stop first."""
    name = ", ".join(part for part in (chart["machine"], chart["setting"]) if part) or "machine"
    for finding in chart["findings"]:
        if finding["weight"] == "hold":
            print(f"{name}: {finding['reason']} ({finding['detail']}).")
            print(f"  {finding['look'][0].upper()}{finding['look'][1:]}.")
    print(f"{name}, lb/ft³")
    limits = chart["limits"]
    if limits is not None:
        firm = "" if limits["firm"] else f", provisional: {limits['from']} boxes"
        print(
            f"  mean {limits['centre']:.2f}, limits {limits['low']:.2f} to {limits['high']:.2f}; "
            f"step at most {limits['range_high']:.2f}{firm}"
        )
    signals: dict[int, list[str]] = {}
    for place, signal in chart["signals"]:
        signals.setdefault(place, []).append(signal.replace("_", " "))
    for place, (day, value) in enumerate(zip(chart["dates"], chart["values"], strict=True)):
        print(f"  {day}  {value:5.2f}  {', '.join(signals.get(place, []))}".rstrip())


def print_json(document: object) -> None:
    """Prints what a program reads."""
    print(json.dumps(document, indent=2, ensure_ascii=False))
