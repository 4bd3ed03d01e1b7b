"""A small program as a user would write it: one house, its options, a list of houses, its doubt.

`make check-client` reads it with mypy under its strictest rules against the installed wheel, and
then runs it. The houses are invented.
"""

from __future__ import annotations

from collections.abc import Iterable

import studbay
from studbay.errors import InputError
from studbay.typing import HouseFields


def houses() -> Iterable[HouseFields]:
    """Three invented houses, the last of them with a fault."""
    for house_id, area in (("lot-1", 1200.0), ("lot-2", 1800.0), ("lot-3", -5.0)):
        yield {
            "house_id": house_id,
            "wall_area_ft2": area,
            "series_r": 3.06,
            "batt_thickness_in": 1.5,
            "heating_degree_days_f": 5600,
            "heating_efficiency": 0.8,
            "fuel": "natural_gas",
            "fuel_price": 1.5,
            "installed_cost": 2400,
        }


def told(house: studbay.House) -> str:
    """One line about a house."""
    figures: studbay.Assessment = house.assess()
    years: float | None = figures.simple_payback_years
    paid = "never" if years is None else f"{years:.1f} years, modelled"
    findings: list[str] = [finding.code for finding in figures.findings]
    return f"{house.house_id}: {figures.readiness}, {paid}, {', '.join(findings)}"


def main() -> int:
    """Assesses, compares, draws; returns how many houses were refused."""
    refused = 0
    for fields in houses():
        try:
            house = studbay.House(**fields)
        except InputError as error:
            reasons: list[str] = [f"{issue.field}: {issue.reason}" for issue in error.issues]
            print("refused:", "; ".join(reasons))
            refused += 1
            continue
        print(told(house))
        comparison: studbay.Comparison = studbay.compare_options(house)
        print("  options:", ", ".join(row.name for row in comparison.rows))
        doubt: studbay.Doubt = studbay.doubt(house, draws=200)
        low, middle, high = doubt.band("npv")
        worth: list[float | None] = [low, middle, high]
        print("  worth:", ", ".join("none" if value is None else f"{value:.0f}" for value in worth))
    return refused


if __name__ == "__main__":
    assert main() == 1
