"""Discounted payback, ratio and rate of return of the draws, against numpy and numpy-financial."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import numpy_financial as npf
import pytest
from typer.testing import CliRunner

import studbay
from studbay import cli
from studbay.errors import InputError

FIELDS: dict[str, Any] = {
    "house_id": "returned",
    "wall_area_ft2": 1500,
    "series_r": 3.0,
    "heating_degree_days_f": 5600,
    "heating_efficiency": 0.8,
    "fuel": "natural_gas",
    "fuel_price": 1.5,
    "installed_cost": 3200,
    "life_years": 20,
}
RETURNS = ["discounted_payback_years", "sir", "irr"]


def drawn(**more: Any) -> studbay.Doubt:
    return studbay.doubt(studbay.House(**(FIELDS | more)), draws=300)


def test_rate_and_ratio_of_each_draw_are_those_of_numpy_financial() -> None:
    flat = studbay.doubt(
        studbay.House(**FIELDS, ranges={"installed_cost": [2000, 4500]}), draws=200, own_only=True
    )
    for cost, saving, irr, sir in zip(
        flat.values("net_cost"),
        flat.values("annual_savings"),
        flat.values("irr"),
        flat.values("sir"),
        strict=True,
    ):
        assert irr == pytest.approx(npf.irr([-cost] + [saving] * 20), abs=1e-9)
        assert sir == pytest.approx(-npf.pv(0.03, 20, saving) / cost, rel=1e-12)


@pytest.mark.parametrize("figure", RETURNS)
def test_quantiles_are_those_of_numpy(figure: str) -> None:
    draws = drawn()
    values = np.array(draws.values(figure))
    assert draws.share_without(figure) == np.mean(~np.isfinite(values))
    ranked = values[~np.isnan(values)]
    for share, found in zip((0.1, 0.5, 0.9), draws.band(figure), strict=True):
        assert draws.quantile(figure, share) == found
        with np.errstate(invalid="ignore"):
            wanted = float(np.quantile(ranked, share))
        if np.isfinite(wanted):
            assert found == pytest.approx(wanted, rel=1e-12)
        else:
            assert found is None
    assert draws.point(figure) == getattr(studbay.House(**FIELDS).assess(), figure)


def test_what_does_not_exist_is_counted() -> None:
    free = studbay.doubt(studbay.House(**FIELDS, rebate=3200), draws=50, own_only=True)
    for figure in ["sir", "irr"]:
        found = free.to_dict()["figures"][figure]
        assert found == {"point": None, "p10": None, "p50": None, "p90": None, "share_without": 1.0}
        assert np.isnan(free.values(figure)).all()
    json.dumps(free.to_dict(), allow_nan=False)
    assert free.share_without("npv") == 0.0
    with pytest.raises(InputError, match="discounted_payback_years, sir, irr"):
        free.band("airr")


def test_the_command_says_them() -> None:
    file = str(Path(__file__).parents[2] / "demo-data" / "house.toml")
    done = CliRunner().invoke(cli.app, ["doubt", file, "--draws", "500"])
    assert done.exit_code == 0, done.output
    for label in [
        "Discounted payback: ",
        "Savings-to-investment ratio: ",
        "Internal rate of return: ",
    ]:
        assert label in done.stdout
