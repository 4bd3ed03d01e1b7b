"""The commands for weather: what a file says, places for a first guess, balance points."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, NoReturn

import typer

import studbay
from studbay import Block, House, Weather, climate
from studbay.errors import StudbayError

#: Says what is wrong with a file and ends the command.
Refuse = Callable[[str, Exception], NoReturn]
#: Prints a heading and blocks.
Tell = Callable[[str, Sequence[Block]], None]


class Units(StrEnum):
    """The unit system of the output."""

    ip = "ip"
    si = "si"


class Rule(StrEnum):
    """What a day counts."""

    max_min = "max_min"
    mean = "mean"
    hours = "hours"


class Degree(StrEnum):
    """The unit of the temperatures of a table."""

    f = "f"
    c = "c"


class By(StrEnum):
    """What is listed."""

    month = "month"
    year = "year"


WeatherFile = Annotated[
    Path,
    typer.Argument(
        help="A weather file: TMY3, EPW, or a table with named columns; .gz is unpacked.",
        show_default=False,
    ),
]
WeatherOption = Annotated[
    Path | None,
    typer.Option(
        "--weather",
        metavar="FILE",
        help="A weather file whose degree-days take the place of those of the house file.",
        show_default=False,
    ),
]
PlaceOption = Annotated[
    str | None,
    typer.Option(
        "--place",
        metavar="KEY",
        help="A place of `studbay places`, for what the house file leaves out: a first guess.",
        show_default=False,
    ),
]
BaseOption = Annotated[
    float, typer.Option("--base", help="Base temperature of heating degree-days, °F.")
]
RuleOption = Annotated[
    Rule | None,
    typer.Option(
        "--rule",
        help="What a day counts: (maximum + minimum) / 2, its mean, or its hours; by default what "
        "fits the file.",
        show_default=False,
    ),
]
DegreeOption = Annotated[
    Degree | None,
    typer.Option(
        "--degree",
        help="Unit of the temperatures of a table whose columns do not say it.",
        show_default=False,
    ),
]
ColumnOption = Annotated[
    list[str] | None,
    typer.Option(
        "--column",
        metavar="ROLE=NAME",
        help="Which column of a table is the date, year, month, day, hour, mean, max or min.",
        show_default=False,
    ),
]
OnlyOption = Annotated[
    str | None,
    typer.Option(
        "--only",
        metavar="COLUMN=TEXT",
        help="Only rows of a table with this text: one station of several.",
        show_default=False,
    ),
]
UnitsOption = Annotated[Units, typer.Option(help="Unit system of the output.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")]


def pair(option: str, text: str) -> tuple[str, str]:
    """The two sides of `left=right`."""
    left, sign, right = text.partition("=")
    if not (sign and left and right):
        raise typer.BadParameter(f"{text!r} has not the form left=right", param_hint=option)
    return left, right


def read_weather(
    file: Path,
    degree: Degree | None,
    column: list[str] | None,
    only: str | None,
    refuse: Refuse,
) -> Weather:
    """The weather of a file, or an end that says what is wrong with it."""
    columns = dict(pair("--column", text) for text in column or [])
    try:
        return Weather.from_file(
            file,
            unit=degree.value if degree else None,
            columns=columns or None,
            only=pair("--only", only) if only else None,
        )
    except (StudbayError, OSError) as error:
        refuse(str(file), error)


def only_with_weather(base: float, *others: object) -> None:
    """Refuses what would be left unused where no weather file is given."""
    if base != 65.0 or any(others):
        raise typer.BadParameter(
            "--base, --rule, --degree, --column and --only say how a weather file is read: they "
            "need --weather"
        )


def read_house(
    file: Path, weather: Weather | None, place: str | None, base: float, rule: Rule | None
) -> tuple[House, Block | None]:
    """A house file with the climate of the weather, else of the place, else its own.

    Returns:
        The house, and where its degree-days come from where not from the house file.
    """
    if weather is not None:
        if place is not None:
            print(f"studbay: --place {place} is not used: the weather file wins", file=sys.stderr)
        return weather.house(file, base_f=base, rule=rule.value if rule else None)
    if place is not None:
        return climate.place(place).house(file)
    return House.from_file(file), None


def placed(blocks: Sequence[Block], climate_block: Block | None) -> list[Block]:
    """The account with the origin of its degree-days behind the answer."""
    blocks = list(blocks)
    if climate_block is not None:
        answers = [at for at, block in enumerate(blocks) if block.tone == "answer"]
        blocks.insert(answers[-1] + 1 if answers else len(blocks), climate_block)
    return blocks


def sentences(block: Block | None) -> list[str]:
    """The lines of a block as plain text."""
    return [] if block is None else [text for _, text in block.lines]


def weather_document(
    weather: Weather, base: float, rule: str | None, whole_degrees: bool
) -> dict[str, Any]:
    """What `weather --json` prints."""
    sums = weather.degree_days(base, rule, whole_degrees)
    document: dict[str, Any] = {
        "studbay_version": studbay.__version__,
        "name": weather.name,
        "format": weather.format,
        "unit": weather.unit,
        "hourly": weather.is_hourly,
        "typical": weather.is_typical,
        "first": weather.first.isoformat(),
        "last": weather.last.isoformat(),
        "days": weather.days,
        "days_with_value": weather.days_with_value,
        "readings": weather.readings,
        "elevation_ft": weather.elevation_ft,
        "gaps": [[first.isoformat(), last.isoformat()] for first, last in weather.gaps],
        "remarks": [
            {"code": r.code, "gravity": r.gravity, "count": r.count, "text": r.text}
            for r in weather.remarks
        ],
        "base_f": sums.base_f,
        "rule": sums.rule,
        "whole_degrees": sums.whole_degrees,
        "by_month": sums.by_month,
        "by_year": sums.by_year,
    }
    try:
        year = weather.usual_year(base, rule, whole_degrees)
    except StudbayError as error:
        document["usual_year"] = None
        document["no_usual_year"] = str(error)
    else:
        document["usual_year"] = {
            "heating": year.heating,
            "cooling": year.cooling,
            "basis": year.basis,
            "missing": year.missing,
            "missing_at_most": year.missing_at_most,
        }
        document["climate_zone"] = weather.climate_zone(rule)
    return document


def register(app: typer.Typer, refuse: Refuse, tell: Tell) -> None:
    """Adds the commands to the command line."""

    @app.command()
    def weather(
        file: WeatherFile,
        base: BaseOption = 65.0,
        rule: RuleOption = None,
        whole_degrees: Annotated[
            bool,
            typer.Option(
                "--whole-degrees",
                help="Round temperatures to whole °F, as the National Weather Service does.",
            ),
        ] = False,
        by: Annotated[
            By | None,
            typer.Option(
                help="List months or years; by default months of one year, else years.",
                show_default=False,
            ),
        ] = None,
        degree: DegreeOption = None,
        column: ColumnOption = None,
        only: OnlyOption = None,
        units: UnitsOption = Units.ip,
        as_json: JsonOption = False,
        explain: Annotated[
            bool, typer.Option("--explain", help="Print how the degree-days come about.")
        ] = False,
    ) -> None:
        """Read a weather file: what it holds, what is odd about it, its degree-days."""
        found = read_weather(file, degree, column, only, refuse)
        day_rule = rule.value if rule else None
        try:
            if as_json:
                document = weather_document(found, base, day_rule, whole_degrees)
                print(json.dumps(document, indent=2, ensure_ascii=False))
                return
            blocks = found.report(
                base, day_rule, whole_degrees, by.value if by else None, units.value
            )
            if explain:
                blocks += found.explain(base, day_rule, whole_degrees)
        except StudbayError as error:
            refuse(str(file), error)
        tell(f"{file.name}, studbay {studbay.__version__}", blocks)

    @app.command()
    def places(
        word: Annotated[
            str,
            typer.Argument(help="Part of a key, name or region.", show_default=False),
        ] = "",
        units: UnitsOption = Units.ip,
        as_json: JsonOption = False,
    ) -> None:
        """List places with degree-days for a first guess, each value with its source."""
        found = climate.places(word)
        if as_json:
            rows = [
                {
                    "key": place.key,
                    "name": place.name,
                    "region": place.region,
                    "country": place.country,
                    "elevation_ft": place.elevation_ft,
                    "base_f": place.base_f,
                    "heating": place.heating,
                    "cooling": place.cooling,
                    "zone": place.zone,
                    "from_memory_check_locally": place.is_from_memory,
                    "sources": place.sources,
                }
                for place in found
            ]
            print(json.dumps(rows, indent=2, ensure_ascii=False))
            return
        count = "no place" if not found else f"{len(found)} place{'s' if len(found) > 1 else ''}"
        tell(f"{count}, studbay {studbay.__version__}", climate.report_places(word, units.value))

    @app.command()
    def balance(
        file: Annotated[
            Path, typer.Argument(help="A house file, TOML or JSON.", show_default=False)
        ],
        weather: Annotated[
            Path,
            typer.Option("--weather", metavar="FILE", help="A weather file.", show_default=False),
        ],
        loss: Annotated[
            float,
            typer.Option(
                help="Loss coefficient of the whole house, Btu/h·°F: from bills.",
                show_default=False,
            ),
        ],
        indoor: Annotated[float, typer.Option(help="Set point, °F.", show_default=False)],
        gains: Annotated[
            float | None,
            typer.Option(
                help="Gains of people, lights, appliances and sun over the heating season, Btu/h.",
                show_default=False,
            ),
        ] = None,
        point: Annotated[
            float | None,
            typer.Option(
                help="Balance point that the bills show, °F, instead of gains.",
                show_default=False,
            ),
        ] = None,
        rule: RuleOption = None,
        degree: DegreeOption = None,
        column: ColumnOption = None,
        only: OnlyOption = None,
        units: UnitsOption = Units.ip,
        currency: Annotated[
            str, typer.Option(help="Label in front of amounts; nothing is converted.")
        ] = "$",
        as_json: JsonOption = False,
    ) -> None:
        """Count the saving with a balance point that falls, beside that at a fixed base."""
        found = read_weather(weather, degree, column, only, refuse)
        day_rule = rule.value if rule else None
        try:
            house, origin = found.house(file, rule=day_rule)
            saving = found.balance_saving(
                house,
                indoor_f=indoor,
                loss_btu_h_f=loss,
                gains_btu_h=gains,
                balance_point_f=point,
                rule=day_rule,
            )
        except (StudbayError, OSError) as error:
            refuse(str(file), error)
        if as_json:
            document = {
                "house_id": house.house_id,
                "studbay_version": studbay.__version__,
                "modelled": True,
                "balance_point_before_f": saving.balance_point_before_f,
                "balance_point_after_f": saving.balance_point_after_f,
                "gains_btu_h": saving.gains_btu_h,
                "loss_before_btu_h_f": saving.loss_before_btu_h_f,
                "loss_after_btu_h_f": saving.loss_after_btu_h_f,
                "degree_days_before": saving.degree_days_before,
                "degree_days_after": saving.degree_days_after,
                "falling": saving.falling,
                "held": saving.held,
                "fixed": saving.fixed,
                "climate": sentences(origin),
            }
            print(json.dumps(document, indent=2, ensure_ascii=False))
            return
        blocks = [*holds(house, units, currency), *saving.account(units.value, currency), origin]
        tell(f"{house.house_id}, studbay {studbay.__version__}", blocks)


def holds(house: House, units: Units, currency: str) -> list[Block]:
    """What must be cleared first: it stands before every saving."""
    return [b for b in house.account(units.value, currency) if b.tone in ("hold", "check")]
