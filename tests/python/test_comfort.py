"""Surface temperatures and the vapour check, from Python and from the command line.

The vapour profile is checked against scipy: among all profiles that nowhere exceed saturation, the
true one has the least sum of squared flow (an obstacle problem); the library draws a string.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy
import pytest
from scipy.optimize import lsq_linear
from typer.testing import CliRunner

import studbay
from studbay import House
from studbay.cli import app
from studbay.errors import InputError

DEMO = Path(__file__).parents[2] / "demo-data"
#: An invented cold town.
MONTHS_C = [-8.0, -6.5, -1.0, 6.0, 12.5, 17.5, 20.5, 19.5, 15.0, 9.0, 3.0, -4.5]
MONTHS_RH = [0.78, 0.75, 0.72, 0.66, 0.65, 0.67, 0.68, 0.71, 0.74, 0.74, 0.78, 0.80]
FRAME: dict[str, Any] = {
    "house_id": "framed",
    "wall_area_ft2": 1200,
    "cladding": "wood_bevel_siding_1_2in",
    "sheathing": "board_sheathing_3_4in",
    "interior_finish": "plaster_wood_lath_3_4in",
    "batt_thickness_in": 1.5,
    "batt_missing_fraction": 0.2,
    "heating_degree_days_f": 5600,
    "heating_efficiency": 0.8,
    "fuel": "natural_gas",
    "fuel_price": 1.5,
    "installed_cost": 2400,
}


def framed(**changes: Any) -> House:
    return House(**{**FRAME, **changes})


def check(**changes: Any) -> studbay.Moisture:
    asked: dict[str, Any] = {
        "outdoor_c": MONTHS_C,
        "outdoor_rh": MONTHS_RH,
        "indoor_c": 20,
        "indoor_class": "class_3",
        "exterior_coat": "exterior_oil_old",
    }
    return studbay.moisture(framed(), **{**asked, **changes})


def test_the_mean_surface_follows_from_the_transmittance_of_the_assessment() -> None:
    house = framed(missed_fraction=0.05, air_gap_level=2)
    data = studbay.comfort(house, outdoor_f=0, indoor_f=70).to_dict()["surfaces"][0]
    figures = house.assess()
    film = data["before"][0]["layers"][0]["r"]
    assert film == 0.68
    for when, u in (
        ("before", figures.u_before_btu_h_ft2_f),
        ("after", figures.u_after_btu_h_ft2_f),
    ):
        assert data[f"mean_{when}_f"] == pytest.approx(70 - 70 * film * u, abs=1e-9)


def test_a_missed_bay_is_as_cold_as_before() -> None:
    data = studbay.comfort(framed(), outdoor_c=-15, indoor_rh=0.4).to_dict()["surfaces"][0]
    surface = {(p["place"], p["state"]): p["surface_c"] for p in data["before"] + data["after"]}
    assert surface["bay", "missed"] == surface["bay", "found"]
    assert surface["bare_bay", "found"] < surface["framing", "found"] < surface["bay", "filled"]
    assert all(path["surface_rh"] is not None for path in data["after"])


def by_scipy(sd: Any, saturation: Any, inside: float, outside: float) -> Any:
    """The profile of least flow that nowhere exceeds saturation, ends given."""
    steps = numpy.diff(sd)
    count = len(sd) - 2
    matrix = numpy.zeros((len(steps), count))
    right = numpy.zeros(len(steps))
    for k, step in enumerate(steps):
        root = math.sqrt(1 / step)
        if k > 0:
            matrix[k, k - 1] = -root
        else:
            right[k] += root * inside
        if k < count:
            matrix[k, k] = root
        else:
            right[k] -= root * outside
    found = lsq_linear(
        matrix, right, bounds=(-numpy.inf, saturation[1:-1]), tol=1e-14, method="bvls"
    )
    return found.x


@pytest.mark.parametrize("interior", ["none", "interior_oil_old", "retarder_paint"])
@pytest.mark.parametrize("exterior", ["none", "exterior_oil_old", "exterior_latex"])
def test_the_string_is_the_profile_of_least_flow(interior: str, exterior: str) -> None:
    """The first month of the year begins dry: no water is held that would fix a pressure."""
    data = check(interior_coat=interior, exterior_coat=exterior).to_dict()
    bays = data["before"] + data["after"]
    assert bays
    for bay in bays:
        sd = [node["sd_m"] for node in bay["nodes"]]
        month = bay["months"][0]
        theirs = by_scipy(sd, month["saturation_pa"], month["indoor_pa"], month["outdoor_pa"])
        assert month["pressure_pa"][1:-1] == pytest.approx(theirs, rel=1e-6)
        # The flow into each node less that out of it is what it gained.
        flow = -2e-10 * numpy.diff([month["indoor_pa"], *theirs, month["outdoor_pa"]])
        rate = -numpy.diff(flow / numpy.diff(sd))
        days = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31][month["month"] - 1]
        assert month["gained_kg_m2"][1:-1] == pytest.approx(
            list(rate * days * 86400), abs=1e-6, rel=1e-4
        )


def test_mass_is_kept_through_the_year() -> None:
    for bay in check().to_dict()["after"]:
        into = sum(month["vapour_in_kg_m2"] for month in bay["months"])
        out = sum(month["vapour_out_kg_m2"] for month in bay["months"])
        assert into - out == pytest.approx(bay["left_kg_m2"], abs=1e-12)


def test_a_typical_year_from_its_file() -> None:
    """Greensboro, TMY3, read from pvlib: the hours give twelve months that the check takes."""
    pvlib = pytest.importorskip("pvlib")
    file = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    data, _ = pvlib.iotools.read_tmy3(file, map_variables=True)
    means = studbay.monthly_air(data.index.month, data["temp_air"], data["relative_humidity"] / 100)
    by_month = data.groupby(data.index.month)["temp_air"].mean()
    assert means["outdoor_c"] == pytest.approx(list(by_month), abs=1e-9)
    assert 0.5 < min(means["outdoor_rh"]) < max(means["outdoor_rh"]) < 0.9
    given: dict[str, Any] = dict(means)
    found = studbay.moisture(
        framed(),
        **given,
        indoor_class="normal",
        exterior_coat="exterior_oil_old",
    )
    assert found.findings


def test_saturation_pressures() -> None:
    """ISO 13788 (from memory): 2337, 610.5 and 259.3 Pa."""
    for celsius, pascal in ((20, 2337), (0, 610.5), (-10, 259.3)):
        assert studbay.saturation_pressure(celsius) == pytest.approx(pascal, abs=0.5)
    with pytest.raises(InputError):
        studbay.saturation_pressure(200)


def test_every_fault_is_an_input_error() -> None:
    with pytest.raises(InputError) as refused:
        studbay.moisture(framed(), outdoor_c=[5] * 11, outdoor_rh=[55] * 12, exterior_coat="paint")
    fields = [issue.field for issue in refused.value.issues]
    assert {"outdoor_c", "outdoor_rh[0]", "exterior_coat", "indoor_rh"} <= set(fields)
    for wrong in (
        {"outdoor_c": ["warm"] * 12},
        {"outdoor_c": 5},
        {"indoor_rh": "damp", "indoor_class": None},
        {"surface": -1},
        {"surface": 10**30},
        {"batt_side": "left"},
        {"exterior_coat": 5},
        {"outdoor_c": iter(lambda: 1.0, 2.0)},
    ):
        with pytest.raises(InputError):
            check(**wrong)
    with pytest.raises(InputError):
        studbay.comfort(framed(), outdoor_f="cold")  # type: ignore[arg-type]
    with pytest.raises(InputError):
        studbay.monthly_air([1, 2], [0.0], [0.5])
    with pytest.raises(InputError):
        studbay.monthly_air([1] * 24, [0.0] * 24, [0.5] * 24)


def test_limits_stand_with_every_result_and_nothing_passes() -> None:
    for found in (check(), check(indoor_class=None, indoor_rh=0.2, exterior_coat="none")):
        assert found.findings
        assert found.limits
        blocks = found.account()
        assert [text for _, text in blocks[-1].lines] == found.limits
        told = " ".join(text for block in blocks for _, text in block.lines).lower()
        assert "pass" not in told.split()
        assert "no result of it is a certificate" in told


def test_pictures_are_drawn(tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    from studbay import plot_comfort

    for units in ("ip", "si"):
        figure = plot_comfort.wall_profile(
            studbay.comfort(framed(), outdoor_c=-15),
            units=units,
        )
        figure.savefig(tmp_path / f"profile-{units}.png")
        figure = plot_comfort.monthly_condensation(check(), units=units)
        figure.savefig(tmp_path / f"months-{units}.png")
    assert all(path.stat().st_size > 10_000 for path in tmp_path.iterdir())
    with pytest.raises(ValueError, match="counted from 0"):
        plot_comfort.wall_profile(studbay.comfort(framed(), outdoor_c=-15), surface=4)


def run(*arguments: str) -> Any:
    return CliRunner().invoke(app, arguments)


def test_the_commands(tmp_path: Path) -> None:
    house, months = str(DEMO / "house.toml"), str(DEMO / "months.csv")
    shown = run("comfort", house, "--outdoor", "5")
    assert shown.exit_code == 0, shown.output
    assert "Inside surface temperature" in shown.output
    assert "Missed bay" in shown.output
    asked = ("--months", months, "--exterior-coat", "exterior_oil_old", "--indoor-class", "class_2")
    shown = run("moisture", house, *asked)
    assert shown.exit_code == 0, shown.output
    assert "What this check leaves out" in shown.output
    document = json.loads(run("moisture", house, *asked, "--json").output)
    assert document["modelled"] is True
    assert document["limits"]
    picture = tmp_path / "wall.png"
    assert run("comfort", house, "--outdoor", "5", "--picture", str(picture)).exit_code == 0
    assert picture.exists()
    assert "exterior_oil_old\t" in run("permeances").output


def test_the_commands_refuse(tmp_path: Path) -> None:
    house = str(DEMO / "house.toml")
    assert run("comfort", house, "--outdoor", "500").exit_code == 2
    for text in ("", "a,b\n1,2\n", "outdoor_f,outdoor_rh\nwarm,0.5\n", "outdoor_f,outdoor_rh\n1\n"):
        months = tmp_path / "months.csv"
        months.write_text(text)
        shown = run(
            "moisture", house, "--months", str(months), "--exterior-coat", "none",
            "--indoor-rh", "0.4",
        )  # fmt: skip
        assert shown.exit_code == 2, text
        assert "Traceback" not in shown.output
    missing = run(
        "moisture", house, "--months", str(tmp_path / "no.csv"), "--exterior-coat", "none"
    )
    assert missing.exit_code == 2
