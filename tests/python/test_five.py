"""Two change points against a dense search by numpy, over many invented meters and odd ones."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
import polars as pl
import pytest

import studbay
from studbay import BillFit

Floats = npt.NDArray[np.float64]
FIRST = date(2022, 1, 1)
#: Of the dense search, °F.
STEP = 0.5
HEATING: Floats = np.arange(40, 80.01, STEP)
COOLING: Floats = np.arange(50, 95.01, STEP)


def weather(seed: int, mean: float = 60.0, swing: float = 20.0) -> Floats:
    """Invented daily means of a year."""
    rng = np.random.default_rng(seed)
    turn = np.cos(2 * np.pi * (np.arange(365) - 20) / 365)
    return mean - swing * turn + rng.normal(0, 5, 365)


def meter(
    means: Floats, heat: float, cool: float, slopes: tuple[float, float], noise: float, seed: int
) -> tuple[pl.DataFrame, list[Floats]]:
    """Bills of half a month; the daily means of each."""
    rng = np.random.default_rng(1000 + seed)
    daily = 10 + slopes[0] * np.maximum(0, heat - means) + slopes[1] * np.maximum(0, means - cool)
    starts = list(range(0, 360, 15))
    rows, parts = [], []
    for start in starts:
        use = daily[start : start + 15].sum() + noise * 15 * rng.standard_normal()
        begin = FIRST + timedelta(days=start)
        rows.append({"start": begin, "end": begin + timedelta(days=15), "use": max(use, 0.0)})
        parts.append(means[start : start + 15])
    return pl.DataFrame(rows), parts


def fitted(table: pl.DataFrame, means: Floats, resamples: int = 0) -> BillFit:
    days = [FIRST + timedelta(days=n) for n in range(len(means))]
    air = pl.DataFrame({"date": days, "mean_f": means})
    return studbay.fit_bills(
        table, air, fuel="electricity", form="heating_cooling", resamples=resamples
    )


def squares(rates: Floats, columns: list[Floats]) -> float:
    """Of the errors of the best line through these columns; no slope below nothing."""
    design = np.column_stack([np.ones_like(rates), *columns])
    solved = np.linalg.lstsq(design, rates)[0]
    if np.any(solved[1:] < 0):
        return float(np.inf)
    return float(np.sum((rates - design @ solved) ** 2))


def dense(rates: Floats, parts: list[Floats]) -> float:
    """The least squares on a grid of both change points, the heating one not above the other."""
    heats = [np.array([np.maximum(0, h - part).mean() for part in parts]) for h in HEATING]
    cools = [np.array([np.maximum(0, part - c).mean() for part in parts]) for c in COOLING]
    best = squares(rates, [])
    for change, heat in zip(HEATING, heats, strict=True):
        best = min(best, squares(rates, [heat]))
        for point, cool in zip(COOLING, cools, strict=True):
            if change <= point:
                best = min(best, squares(rates, [heat, cool]))
    return min(best, *(squares(rates, [cool]) for cool in cools))


def our_squares(fit: BillFit) -> float:
    points = pl.DataFrame(fit.points)
    return float((points["error_per_day"] ** 2).sum())


@pytest.mark.parametrize("seed", range(12))
def test_no_point_of_a_dense_grid_is_better(seed: int) -> None:
    rng = np.random.default_rng(seed)
    means = weather(seed, mean=rng.uniform(54, 68))
    heat = rng.uniform(50, 64)
    cool = heat + rng.uniform(2, 14)
    slopes = (rng.uniform(0.3, 1.2), rng.uniform(0.3, 1.5))
    table, parts = meter(means, heat, cool, slopes, rng.uniform(0.2, 2.0), seed)
    fit = fitted(table, means)
    rates = table["use"].to_numpy() / 15
    assert our_squares(fit) <= dense(rates, parts) * (1 + 1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_the_truth_without_noise_is_found(seed: int) -> None:
    means = weather(seed)
    table, _ = meter(means, 57.0, 68.0, (0.8, 1.1), 0.0, seed)
    fit = fitted(table, means)
    assert fit.change_point_f == pytest.approx(57.0, abs=1e-4)
    assert fit.cooling_point_f == pytest.approx(68.0, abs=1e-4)
    assert fit.heating_per_day_f == pytest.approx(0.8, rel=1e-5)
    assert fit.cooling_per_day_f == pytest.approx(1.1, rel=1e-5)


def test_change_points_that_fall_together_are_found() -> None:
    means = weather(3)
    table, parts = meter(means, 63.0, 63.0, (0.8, 1.1), 0.3, 3)
    fit = fitted(table, means)
    assert fit.change_point_f is not None
    assert fit.cooling_point_f is not None
    assert fit.change_point_f <= fit.cooling_point_f
    assert our_squares(fit) <= dense(table["use"].to_numpy() / 15, parts) * (1 + 1e-9)


def test_cooling_of_half_a_month_is_fitted_and_doubted() -> None:
    means = weather(5, mean=50)
    means[200:215] += 18
    table, parts = meter(means, 58.0, 82.0, (0.8, 1.5), 0.2, 5)
    fit = fitted(table, means, resamples=100)
    assert "few_cooling_readings" in [finding.code for finding in fit.findings]
    assert our_squares(fit) <= dense(table["use"].to_numpy() / 15, parts) * (1 + 1e-9)
    assert fit.heating_per_day_f == pytest.approx(0.8, rel=0.05)


def test_no_cooling_at_all_leaves_the_heating_alone() -> None:
    means = weather(6, mean=50)
    table, parts = meter(means, 58.0, 200.0, (0.8, 0.0), 0.2, 6)
    fit = fitted(table, means)
    assert our_squares(fit) <= dense(table["use"].to_numpy() / 15, parts) * (1 + 1e-9)
    assert fit.heating_per_day_f == pytest.approx(0.8, rel=0.05)


def test_a_meter_that_never_moves_has_no_heating() -> None:
    means = weather(7)
    table, _ = meter(means, 0.0, 200.0, (0.0, 0.0), 0.0, 7)
    fit = fitted(table, means)
    assert fit.verdict == "unusable"
    assert "no_heating" in [finding.code for finding in fit.findings]
