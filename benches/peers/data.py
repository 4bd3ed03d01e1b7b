"""Invented houses for the benchmarks, and the constants of the method.

Two shapes of table, both without blanks, so that the peers need not look for any:

- `full`: heating and cooling, two prices, two rises: every figure needs two growing annuities;
- `heat`: heating alone, one rise: the closed forms are at their shortest.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pyarrow as pa

#: Rows of a batch in memory: what DuckDB hands to one thread at a time.
BATCH_ROWS: Final = 122_880

HAZARDS: Final = ("knob_and_tube", "vermiculite", "moisture_problem", "loose_interior_finish")
COOLING: Final = (
    "cooling_degree_days_f",
    "cooling_seer",
    "electricity_price",
    "electricity_escalation",
)

#: The numbers of the results, in the order of the contract.
RESULTS: Final = (
    "u_before_btu_h_ft2_f",
    "u_after_btu_h_ft2_f",
    "heat_saved_mmbtu",
    "fuel_saved",
    "electricity_saved_kwh",
    "saved_share",
    "annual_savings",
    "net_cost",
    "simple_payback_years",
    "discounted_payback_years",
    "npv",
    "sir",
    "airr",
    "irr",
    "lifetime_savings",
    "annual_co2e_kg",
    "lifetime_co2e_kg",
    "embodied_co2e_kg",
    "carbon_payback_years",
    "cost_per_tonne",
    "fill_mass_lb",
    "bags",
)

# What a row without the column takes.
FRAMING_R_PER_IN: Final = 1.25
BATT_R_PER_IN: Final = 3.14
LEAKAGE_DIVISOR: Final = 20.0
EMBODIED_KG_PER_KG: Final = 0.3
BAG_WEIGHT_LB: Final = 25.0
GRID_KG_PER_KWH: Final = 0.351642

KG_PER_LB: Final = 0.45359237
RSI_PER_R: Final = 3600 * 0.3048**2 * (5 / 9) / 1055.05585262

#: The air layer as pieces: from this gap (in), over this width (in), so much R for each inch.
_GAPS_MM: Final = (0.0, 5.0, 7.0, 10.0, 15.0, 25.0)
_RSI: Final = (0.0, 0.11, 0.13, 0.15, 0.17, 0.18)
AIR_GAPS_IN: Final = tuple(gap / 25.4 for gap in _GAPS_MM)
AIR_R: Final = tuple(rsi / RSI_PER_R for rsi in _RSI)
AIR_PIECES: Final = tuple(
    (AIR_GAPS_IN[i], AIR_GAPS_IN[i + 1] - AIR_GAPS_IN[i], slope)
    for i in range(5)
    for slope in [(AIR_R[i + 1] - AIR_R[i]) / (AIR_GAPS_IN[i + 1] - AIR_GAPS_IN[i])]
)
#: By level 0, 1, 2.
GAP_DELTA_U: Final = tuple(w * RSI_PER_R for w in (0.0, 0.01, 0.04))
#: k(1) of a batt.
BATT_K: Final = (0.0829, 0.0341, 0.1982)
BATT_K_1: Final = sum(BATT_K)

#: Million Btu in a unit, kg CO2e for a million Btu (electricity: by the grid).
FUELS: Final = {
    "natural_gas": (0.1, 53.1145),
    "fuel_oil_2": (0.138, 74.203),
    "propane": (0.091, 63.113),
    "kerosene": (0.135, 75.443),
    "electricity": (0.003412, GRID_KG_PER_KWH / 0.003412),
}
#: Least and greatest price of a unit.
_PRICES: Final = ((0.8, 2.4), (2.6, 4.8), (2.0, 4.0), (3.0, 5.0), (0.12, 0.35))

#: Newton steps for the internal rate of return: the fewest that reach 1e-9 on these houses.
IRR_STEPS: Final = 6
#: Bits of the longest life, 40 years.
LIFE_BITS: Final = 6


def columns(rows: int, shape: str, first: int = 0) -> dict[str, pa.Array]:
    """The columns of so many houses; `first` is the number of the first."""
    rng = np.random.default_rng([3, first])

    def uniform(low: float, high: float, digits: int) -> np.ndarray:
        return np.round(rng.uniform(low, high, rows), digits)

    depth = rng.choice([3.5, 3.625, 3.75, 4.0, 5.5], rows)
    batt = np.where(rng.random(rows) < 0.5, 0.0, np.minimum(uniform(0.5, 5.5, 1), depth))
    fuel = rng.choice(len(FUELS), rows, p=[0.48, 0.22, 0.12, 0.03, 0.15])
    electric = fuel == len(FUELS) - 1
    low, high = np.array(_PRICES).T
    cost = uniform(1500, 9000, 2)
    cfm50 = uniform(1500, 6000, 0)
    content = np.array([content for content, _ in FUELS.values()])
    out: dict[str, np.ndarray] = {
        "wall_area_ft2": uniform(400, 3500, 0),
        "framing_fraction": uniform(0.15, 0.3, 2),
        "cavity_depth_in": depth,
        "series_r": uniform(2.4, 6, 2),
        "batt_thickness_in": batt,
        "batt_missing_fraction": uniform(0, 0.5, 2),
        "air_gap_level": rng.integers(0, 3, rows),
        "fill_density_lb_ft3": uniform(3.2, 4.5, 1),
        "batt_compression": uniform(0, 0.45, 2),
        "missed_fraction": uniform(0, 0.1, 3),
        "heating_degree_days_f": uniform(1500, 9000, 0),
        "cooling_degree_days_f": uniform(0, 2500, 0),
        "heating_efficiency": np.where(electric, uniform(0.95, 3.2, 2), uniform(0.6, 0.97, 2)),
        "fuel_price": np.round(rng.uniform(low[fuel], high[fuel]), 3),
        "cooling_seer": uniform(8, 20, 1),
        "electricity_price": uniform(0.1, 0.35, 3),
        "cfm50_before": cfm50,
        "cfm50_after": np.round(cfm50 * rng.uniform(0.7, 1.0, rows)),
        "elevation_ft": uniform(0, 7000, 0),
        "billed_heating_fuel": np.round(rng.uniform(15, 150, rows) / content[fuel], 1),
        "installed_cost": cost,
        "rebate": np.round(cost * rng.uniform(0, 0.6, rows), 2),
        "life_years": rng.choice([20, 25, 30, 40], rows),
        "discount_rate": uniform(0.02, 0.07, 3),
        "fuel_escalation": uniform(0, 0.04, 3),
        "electricity_escalation": uniform(0, 0.03, 3),
    }
    if shape == "heat":
        out = {name: column for name, column in out.items() if name not in COOLING}
    numbers = {name: pa.array(column) for name, column in out.items()}

    def words(choices: list[str], codes: np.ndarray) -> pa.Array:
        return pa.array(choices).take(pa.array(codes))

    places = [f"H{first + row + 1:09d}" for row in range(rows)]
    table: dict[str, pa.Array] = {
        "house_id": pa.array(places),
        "county": words(["Alder", "Birch", "Cedar", "Dogwood", "Elm"], rng.integers(0, 5, rows)),
        "fuel": words(list(FUELS), fuel),
    }
    table |= numbers
    for name in HAZARDS:
        codes = rng.choice(3, rows, p=[0.85, 0.05, 0.1])
        table[name] = words(["no", "yes", "unknown"], codes)
    spillage = ["none_needed", "passed", "failed", "not_done"]
    codes = rng.choice(4, rows, p=[0.6, 0.3, 0.03, 0.07])
    table["spillage_test"] = words(spillage, codes)
    return table


def batches(rows: int, shape: str) -> list[pa.RecordBatch]:
    """Houses, in batches; a shorter table is the beginning of a longer one but for its end."""
    firsts = range(0, rows, BATCH_ROWS)
    return [
        pa.RecordBatch.from_pydict(columns(min(BATCH_ROWS, rows - first), shape, first))
        for first in firsts
    ]


def table(rows: int, shape: str) -> pa.Table:
    """Houses, as strings and numbers."""
    return pa.Table.from_batches(batches(rows, shape))


def with_dictionary(houses: pa.Table, name: str = "fuel") -> pa.Table:
    """The same with one column as a dictionary."""
    place = houses.column_names.index(name)
    return houses.set_column(place, name, houses[name].dictionary_encode())
