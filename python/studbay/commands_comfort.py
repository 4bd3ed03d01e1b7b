"""The commands for how warm a wall is inside, and for vapour that condenses in it."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, NoReturn

import typer

import studbay
from studbay import Block, House
from studbay.errors import StudbayError

#: Says what is wrong with a file and ends the command.
Refuse = Callable[[str, Exception], NoReturn]
#: Prints blocks under a heading.
Show = Callable[[str, list[Block]], None]


class System(StrEnum):
    """The unit system of what is typed and printed."""

    ip = "ip"
    si = "si"


class Side(StrEnum):
    """Side of the cavity."""

    inside = "inside"
    outside = "outside"


HouseFile = Annotated[Path, typer.Argument(help="A house file, TOML or JSON.", show_default=False)]
UnitsOption = Annotated[
    System, typer.Option(help="ip: temperatures in °F; si: in °C. For input and output.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")]
IndoorOption = Annotated[
    float | None,
    typer.Option(help="Room temperature, °F or °C; 68 °F where left out.", show_default=False),
]
SideOption = Annotated[Side, typer.Option(help="Side of the cavity on which the batt lies.")]
PictureOption = Annotated[
    Path | None,
    typer.Option(help="Write a picture here too, PNG or SVG by its ending.", show_default=False),
]
PermsOption = Annotated[
    float | None, typer.Option(help="Its permeance where known, US perms.", show_default=False)
]


def register(app: typer.Typer, refuse: Refuse, show: Show) -> None:
    """Adds the commands to the command line."""

    @app.command()
    def comfort(
        file: HouseFile,
        outdoor: Annotated[
            float, typer.Option(help="Design outdoor temperature, °F or °C.", show_default=False)
        ],
        indoor: IndoorOption = None,
        indoor_rh: Annotated[
            float | None,
            typer.Option(help="Relative humidity of the room, 0 to 1.", show_default=False),
        ] = None,
        batt_side: SideOption = Side.inside,
        units: UnitsOption = System.ip,
        picture: PictureOption = None,
        as_json: JsonOption = False,
    ) -> None:
        """Inside surface temperatures before and after: studs, bays, a missed bay."""
        house = read_house(file, refuse)
        suffix = "f" if units is System.ip else "c"
        given: dict[str, Any] = {f"outdoor_{suffix}": outdoor, f"indoor_{suffix}": indoor}
        try:
            found = studbay.comfort(house, **given, indoor_rh=indoor_rh, batt_side=batt_side.value)
        except StudbayError as error:
            refuse(str(file), error)
        if picture is not None:
            from studbay import plot_comfort

            draw(picture, lambda: plot_comfort.wall_profile(found, units=units.value), refuse)
        if as_json:
            document = {"house_id": house.house_id, "modelled": True, **found.to_dict()}
            print(json.dumps(document, indent=2, ensure_ascii=False))
            return
        show(house.house_id, found.account(units=units.value))

    @app.command()
    def moisture(
        file: HouseFile,
        months: Annotated[
            Path,
            typer.Option(
                help="CSV with a row a month, January first: outdoor_f or outdoor_c, and "
                "outdoor_rh from 0 to 1; other columns are passed over.",
                show_default=False,
            ),
        ],
        exterior_coat: Annotated[
            str,
            typer.Option(
                help="Paint on the outside, a coat of `studbay permeances`, or none.",
                show_default=False,
            ),
        ],
        interior_coat: Annotated[
            str, typer.Option(help="Paint or paper on the room side, likewise.")
        ] = "none",
        batt_facing: Annotated[
            str, typer.Option(help="Sheet on the room side of the batt, likewise.")
        ] = "none",
        batt_side: SideOption = Side.inside,
        indoor: IndoorOption = None,
        indoor_rh: Annotated[
            float | None,
            typer.Option(
                help="Relative humidity of the room all year, 0 to 1.", show_default=False
            ),
        ] = None,
        indoor_class: Annotated[
            str | None,
            typer.Option(
                help="Instead: class_1 to class_5 of ISO 13788, normal or crowded of EN 15026.",
                show_default=False,
            ),
        ] = None,
        cladding_perms: PermsOption = None,
        sheathing_perms: PermsOption = None,
        interior_finish_perms: PermsOption = None,
        surface: Annotated[
            int | None,
            typer.Option(
                min=0,
                help="Place of the wall among the surfaces, from 0, where there are several walls.",
                show_default=False,
            ),
        ] = None,
        units: UnitsOption = System.ip,
        picture: PictureOption = None,
        as_json: JsonOption = False,
    ) -> None:
        """Vapour that condenses in the filled wall, month by month. A screen, no certificate."""
        house = read_house(file, refuse)
        try:
            climate: dict[str, Any] = dict(read_months(months))
        except (ValueError, OSError) as error:
            refuse(str(months), error)
        given: dict[str, Any] = {f"indoor_{'f' if units is System.ip else 'c'}": indoor}
        try:
            found = studbay.moisture(
                house,
                **climate,
                **given,
                indoor_rh=indoor_rh,
                indoor_class=indoor_class,
                exterior_coat=exterior_coat,
                interior_coat=interior_coat,
                batt_facing=batt_facing,
                batt_side=batt_side.value,
                cladding_perms=cladding_perms,
                sheathing_perms=sheathing_perms,
                interior_finish_perms=interior_finish_perms,
                surface=surface,
            )
        except StudbayError as error:
            refuse(str(file), error)
        if picture is not None:
            from studbay import plot_comfort

            draw(
                picture, lambda: plot_comfort.monthly_condensation(found, units=units.value), refuse
            )
        if as_json:
            document = {"house_id": house.house_id, "modelled": True, **found.to_dict()}
            print(json.dumps(document, indent=2, ensure_ascii=False))
            return
        show(house.house_id, found.account(units=units.value))

    @app.command()
    def permeances(as_json: JsonOption = False) -> None:
        """Print the table of permeances: layers, coats of paint, facings, with their sources."""
        rows = studbay.permeances()
        if as_json:
            print(json.dumps(rows, indent=2, ensure_ascii=False))
            return
        print("key\tmaterial\tuse\tUS perms\tlow\thigh\tsource")
        for row in rows:
            numbers = "\t".join(f"{row[name]:g}" for name in ("perms", "low", "high"))
            print(f"{row['key']}\t{row['label']}\t{row['use']}\t{numbers}\t{row['source']}")


def read_house(file: Path, refuse: Refuse) -> House:
    """The house of a file, or an end with every fault of it."""
    try:
        return House.from_file(file)
    except (StudbayError, OSError) as error:
        refuse(str(file), error)


def read_months(path: Path) -> dict[str, list[float]]:
    """The columns of a file of months; the library judges their values."""
    with path.open(newline="", encoding="utf-8-sig") as stream:
        table = csv.DictReader(stream)
        columns = [name for name in table.fieldnames or [] if name.startswith("outdoor_")]
        known = {"outdoor_f", "outdoor_c", "outdoor_rh"}
        wrong = [name for name in columns if name not in known]
        if wrong or "outdoor_rh" not in columns or len(columns) != 2:
            raise ValueError(
                "the columns must be outdoor_rh and one of outdoor_f, outdoor_c"
                + (f"; it has {', '.join(table.fieldnames or [])}" if table.fieldnames else "")
            )
        months: dict[str, list[float]] = {name: [] for name in columns}
        for row in table:
            for name in columns:
                try:
                    months[name].append(float(row[name] or ""))
                except ValueError:
                    reason = f"{name} = {row[name] or ''}: is not a number"
                    raise ValueError(f"line {table.line_num}: {reason}") from None
    return months


def draw(path: Path, figure: Callable[[], Any], refuse: Refuse) -> None:
    """Writes a picture."""
    try:
        figure().savefig(path)
    except (ImportError, OSError, ValueError) as error:
        refuse(str(path), error)
