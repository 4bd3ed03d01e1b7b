"""Random valid houses, as the fields that a person would write."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any, TypeAlias

import pytest

Fields: TypeAlias = dict[str, Any]

Range: TypeAlias = tuple[str, float, float]
#: Name and range in inch-pound units, name and range in SI where it has its own, chance of being
#: given. The ranges lie inside the registry's, so that fields cannot contradict each other.
Table: TypeAlias = list[tuple[Range, Range | None, float]]

WALL: Table = [
    (("framing_fraction", 0.0, 0.6), None, 0.7),
    (("cavity_depth_in", 3.0, 16.0), ("cavity_depth_mm", 77.0, 406.0), 0.7),
    (("framing_r_per_in", 0.3, 3.0), ("framing_k_w_mk", 0.05, 0.48), 0.5),
    (("series_r", 0.3, 60.0), ("series_rsi", 0.06, 10.0), 1.0),
    (("batt_thickness_in", 0.0, 3.0), ("batt_thickness_mm", 0.0, 76.0), 0.7),
    (("batt_r_per_in", 1.5, 5.0), ("batt_k_w_mk", 0.03, 0.09), 0.5),
    (("batt_missing_fraction", 0.0, 1.0), None, 0.5),
    (("fill_r_per_in", 2.0, 5.0), ("fill_k_w_mk", 0.03, 0.07), 0.5),
    (("missed_fraction", 0.0, 1.0), None, 0.5),
]
PACKED: Table = [
    (("air_space_r", 0.0, 3.0), ("air_space_rsi", 0.0, 0.5), 0.4),
    (("fill_density_lb_ft3", 3.0, 6.0), ("fill_density_kg_m3", 48.1, 96.0), 0.6),
    (("batt_compression", 0.0, 0.45), None, 0.5),
]
HOUSE: Table = [
    (("heating_degree_days_f", 0.0, 25_000.0), ("heating_degree_days_c", 0.0, 13_800.0), 1.0),
    (("cooling_degree_days_f", 0.0, 12_000.0), ("cooling_degree_days_c", 0.0, 6_600.0), 0.5),
    (("heating_efficiency", 0.2, 6.0), None, 1.0),
    (("fuel_price", 0.0, 8.0), None, 1.0),
    (("cooling_seer", 5.0, 40.0), ("cooling_scop", 1.5, 11.7), 0.5),
    (("electricity_price", 0.0, 0.6), None, 0.6),
    (("cfm50_before", 0.0, 9_000.0), ("m3h50_before", 0.0, 15_000.0), 0.5),
    (("cfm50_after", 0.0, 9_000.0), ("m3h50_after", 0.0, 15_000.0), 0.5),
    (("leakage_divisor", 8.0, 40.0), None, 0.5),
    (("elevation_ft", -1_500.0, 15_000.0), ("elevation_m", -457.0, 4_570.0), 0.4),
    (("billed_heating_fuel", 1.0, 5_000.0), None, 0.3),
    (("realization_rate", 0.0, 1.5), None, 0.4),
    (("installed_cost", 3_000.0, 30_000.0), None, 1.0),
    (("rebate", 0.0, 3_000.0), None, 0.4),
    (("tax_credit_fraction", 0.0, 1.0), None, 0.3),
    (("tax_credit_cap", 0.0, 3_000.0), None, 0.3),
    (("discount_rate", -0.2, 0.5), None, 0.7),
    (("fuel_escalation", -0.2, 0.5), None, 0.5),
    (("electricity_escalation", -0.2, 0.5), None, 0.5),
    (("grid_decline", 0.0, 0.5), None, 0.4),
    (("fill_embodied_kg_per_kg", 0.0, 10.0), None, 0.4),
    (("bag_weight_lb", 5.0, 100.0), ("bag_weight_kg", 2.3, 45.0), 0.5),
]
FUELS = ["natural_gas", "fuel_oil_2", "propane", "kerosene", "electricity"]
ANSWERS = ["no", "yes", "unknown"]


def some(rng: random.Random, table: Table) -> Fields:
    """Numbers for the fields of a table, each under one of its names."""
    given: Fields = {}
    for ip, si, chance in table:
        if rng.random() < chance:
            name, low, high = si if si and rng.random() < 0.5 else ip
            given[name] = rng.uniform(low, high)
    return given


def head(rng: random.Random, place: int) -> Fields:
    """The fields that belong to the house and not to a surface."""
    given: Fields = {"house_id": f"house {place}", "fuel": rng.choice(FUELS)} | some(rng, HOUSE)
    if rng.random() < 0.8:
        given["life_years"] = rng.randint(1, 100)
    if rng.random() < 0.7:
        given["year_built"] = rng.randint(1600, 2100)
    for name in ("knob_and_tube", "vermiculite", "moisture_problem", "loose_interior_finish"):
        if rng.random() < 0.7:
            given[name] = rng.choice([*ANSWERS, True, False])
    if rng.random() < 0.5:
        given["spillage_test"] = rng.choice(["passed", "failed", "not_done", "none_needed"])
    if rng.random() < 0.5:
        given["grid_kg_per_kwh"] = rng.uniform(0.0, 2.0)
    elif rng.random() < 0.5:
        given["grid_region"] = rng.choice(["NEWE", "NYUP", "US"])
        given["grid_rate"] = rng.choice(["average", "non_baseload"])
    return given


def wall(rng: random.Random) -> Fields:
    """A wall, but for its area."""
    given = some(rng, WALL) | some(rng, PACKED)
    if rng.random() < 0.5:
        given["air_gap_level"] = rng.randint(0, 2)
    return given


def layer(rng: random.Random) -> object:
    """A layer, in one of the ways in which it can be written."""
    name = {"name": "a layer"} if rng.random() < 0.5 else {}
    return rng.choice(
        [
            rng.uniform(0.0, 10.0),
            "plaster_wood_lath_3_4in",
            {"material": "plaster_wood_lath_3_4in", **name},
            {"r": rng.uniform(0.0, 60.0), **name},
            {"rsi": rng.uniform(0.0, 10.0)},
            {"thickness_in": rng.uniform(0.1, 4.0), "r_per_in": rng.uniform(0.1, 7.0), **name},
            {"thickness_mm": rng.uniform(2.0, 90.0), "k_w_mk": rng.uniform(0.02, 2.0)},
        ]
    )


def surface(rng: random.Random) -> Fields:
    """A surface of a list, of any kind."""
    given = some(rng, WALL)
    given["kind"] = rng.choice(["wall", "slope", "floor", "attic_floor"])
    given[rng.choice(["area_ft2", "area_m2"])] = rng.uniform(1.0, 5_000.0)
    if rng.random() < 0.5:
        given["name"] = "a surface"
    if rng.random() < 0.5:
        given["temperature_factor"] = rng.uniform(0.0, 1.0)
    if given["kind"] == "attic_floor":
        given["fill_depth_in"] = rng.uniform(0.1, 36.0)
    else:
        given |= some(rng, PACKED)
    if rng.random() < 0.5:
        given.pop("series_r", None)
        given.pop("series_rsi", None)
        given["layers"] = [layer(rng) for _ in range(rng.randint(1, 6))]
    return given


def flat_house(rng: random.Random, place: int) -> Fields:
    """A house with one wall."""
    area = (rng.choice(["wall_area_ft2", "wall_area_m2"]), rng.uniform(1.0, 9_000.0))
    return head(rng, place) | wall(rng) | dict([area])


def nested_house(rng: random.Random, place: int) -> Fields:
    """A house with a list of surfaces."""
    return head(rng, place) | {"surfaces": [surface(rng) for _ in range(rng.randint(1, 4))]}


def both(count: int, seed: int) -> Iterator[Fields]:
    """Houses of both sorts, always the same for a seed."""
    rng = random.Random(seed)
    for place in range(count):
        yield rng.choice([flat_house, nested_house])(rng, place)


@pytest.fixture
def flat_houses() -> list[Fields]:
    """Houses with one wall."""
    rng = random.Random(1)
    return [flat_house(rng, place) for place in range(400)]


@pytest.fixture
def any_houses() -> list[Fields]:
    """Houses of both sorts."""
    return list(both(400, 2))


@pytest.fixture
def demo() -> Fields:
    """One house that answers every question of hazards."""
    return {
        "house_id": "two-family",
        "wall_area_ft2": 1200,
        "series_r": 3.06,
        "batt_thickness_in": 0,
        "heating_degree_days_f": 5600,
        "heating_efficiency": 0.8,
        "fuel": "natural_gas",
        "fuel_price": 1.5,
        "installed_cost": 2400,
        "knob_and_tube": "no",
        "vermiculite": "no",
        "moisture_problem": "no",
        "loose_interior_finish": "no",
        "year_built": 1985,
    }
