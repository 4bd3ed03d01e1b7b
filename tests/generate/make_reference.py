"""Write the reference cases that the library is held to.

Run from the top folder of the repository: `python tests/generate/make_reference.py`.
Needs mpmath and nothing else. The draw is seeded, so the files come out the same to the
byte each time. `published.csv` is kept by hand; here it is only recomputed and checked.
"""

from __future__ import annotations

import csv
import random
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

from mpmath import mp, mpf
from reference_model import (
    ATTIC_RESULTS,
    FUELS,
    HAZARDS,
    RESULTS,
    evaluate,
    evaluate_attic,
    recompute_published,
)

OUT: Final = Path(__file__).resolve().parent.parent / "reference"
SEED: Final = 1_917_043
HOUSES: Final = 400
ATTICS: Final = 100
DIGITS: Final = 17
BAG_MARGIN: Final = Fraction(1, 10**6)
"""Bag counts this close to a whole number are drawn again: rounding would decide."""

HOUSE_INPUTS: Final = (
    "house_id",
    "wall_area_ft2",
    "framing_fraction",
    "cavity_depth_in",
    "framing_r_per_in",
    "series_r",
    "batt_thickness_in",
    "batt_r_per_in",
    "batt_missing_fraction",
    "air_gap_level",
    "air_space_r",
    "fill_density_lb_ft3",
    "fill_r_per_in",
    "batt_compression",
    "missed_fraction",
    "heating_degree_days_f",
    "cooling_degree_days_f",
    "heating_efficiency",
    "fuel",
    "fuel_price",
    "cooling_seer",
    "electricity_price",
    "cfm50_before",
    "cfm50_after",
    "leakage_divisor",
    "elevation_ft",
    "billed_heating_fuel",
    "realization_rate",
    "installed_cost",
    "rebate",
    "tax_credit_fraction",
    "tax_credit_cap",
    "life_years",
    "discount_rate",
    "fuel_escalation",
    "electricity_escalation",
    "grid_kg_per_kwh",
    "grid_decline",
    "fill_embodied_kg_per_kg",
    "bag_weight_lb",
    *HAZARDS,
    "spillage_test",
    "year_built",
)
ATTIC_INPUTS: Final = (
    "area_ft2",
    "framing_fraction",
    "cavity_depth_in",
    "framing_r_per_in",
    "series_r",
    "batt_thickness_in",
    "batt_r_per_in",
    "batt_missing_fraction",
    "air_gap_level",
    "missed_fraction",
    "fill_depth_in",
    "fill_r_per_in",
    "fill_density_lb_ft3",
    "settling_fraction",
)

Cells = dict[str, str]


class Draw:
    """Seeded draws of short decimals, on nothing but `random()`."""

    def __init__(self, seed: int) -> None:
        """Start from `seed`."""
        self._random = random.Random(seed).random

    def chance(self, share: float) -> bool:
        """Return true in this share of the draws."""
        return self._random() < share

    def pick(self, options: Sequence[str]) -> str:
        """Return one of the options."""
        return options[int(self._random() * len(options))]

    def num(self, low: str, high: str, step: str = "1") -> str:
        """Return a decimal of the grid `low`, `low` + `step` ... `high`."""
        start, size = Decimal(low), Decimal(step)
        count = int((Decimal(high) - start) / size) + 1
        value = (start + size * int(self._random() * count)).quantize(size)
        return f"{value:f}"


def draw_wall(draw: Draw) -> Cells:
    """Draw a plausible wall, or now and then one from the whole permitted range."""
    wide = draw.chance(0.15)
    depth = draw.pick(("3.5", "3.5", "3.625", "3.75", "4", "5.5", "7.25", "9.5"))
    row = {
        "wall_area_ft2": draw.num("80", "3200", "0.5"),
        "series_r": draw.num("1.2", "9", "0.01"),
        "cavity_depth_in": draw.num("0.5", "16", "0.01") if wide else depth,
    }
    if draw.chance(0.7):
        row["framing_fraction"] = draw.num("0" if wide else "0.1", "0.6" if wide else "0.4", "0.01")
    if draw.chance(0.5):
        row["framing_r_per_in"] = draw.num("0.3" if wide else "0.9", "3" if wide else "1.5", "0.01")
    if wide:
        row["series_r"] = draw.num("0.3", "60", "0.1")
        row["wall_area_ft2"] = draw.num("1", "1000000", "0.25")
    if draw.chance(0.25):
        row["air_space_r"] = draw.num("0", "3" if wide else "1.5", "0.01")
    row["fill_density_lb_ft3"] = draw.num("3", "6", "0.01")
    if draw.chance(0.3):
        del row["fill_density_lb_ft3"]
    if draw.chance(0.4):
        row["fill_r_per_in"] = draw.num("2" if wide else "3.1", "5" if wide else "3.9", "0.01")
    if draw.chance(0.35):
        row["missed_fraction"] = draw.num("0", "0.3", "0.01")
    if draw.chance(0.65):
        row |= draw_batt(draw, row["cavity_depth_in"])
    return row


def draw_batt(draw: Draw, depth: str) -> Cells:
    """Draw an old batt, from none at all to one that fills the cavity."""
    row = {"batt_thickness_in": draw.num("0", depth, "0.01")}
    if draw.chance(0.15):
        row["batt_thickness_in"] = depth
    if draw.chance(0.6):
        row["batt_r_per_in"] = draw.num("1.5", "5", "0.01")
    if draw.chance(0.5):
        row["batt_missing_fraction"] = draw.num("0", "0.6", "0.01")
    if draw.chance(0.6):
        row["air_gap_level"] = draw.pick(("0", "1", "2"))
    if draw.chance(0.5):
        row["batt_compression"] = draw.num("0", "0.45", "0.01")
    return row


def draw_energy(draw: Draw) -> Cells:
    """Draw climate, equipment, fuel, prices, leakage tests and carbon factors."""
    fuel = draw.pick(tuple(FUELS))
    electric = fuel == "electricity"
    row = {
        "heating_degree_days_f": draw.num("300", "14000", "0.1"),
        "heating_efficiency": draw.num("0.9", "4.5", "0.01")
        if electric
        else draw.num("0.45", "0.98", "0.01"),
        "fuel": fuel,
    }
    price = {"natural_gas": ("0.4", "3"), "electricity": ("0.06", "0.5")}.get(fuel, ("1.5", "6"))
    if not electric or draw.chance(0.4):
        row["fuel_price"] = draw.num(*price, "0.001")
    if draw.chance(0.6) or (electric and "fuel_price" not in row):
        row["electricity_price"] = draw.num("0.05", "0.5", "0.001")
    if draw.chance(0.6):
        row["cooling_degree_days_f"] = draw.num("0", "5000", "0.5")
    if draw.chance(0.6):
        row["cooling_seer"] = draw.num("5", "40", "0.1")
    if draw.chance(0.45):
        before = draw.num("900", "6000")
        row["cfm50_before"] = before
        row["cfm50_after"] = f"{int(int(before) * Decimal(draw.num('0.5', '1.1', '0.01')))}"
    elif draw.chance(0.2):
        row[draw.pick(("cfm50_before", "cfm50_after"))] = draw.num("900", "6000")
    if draw.chance(0.4):
        row["leakage_divisor"] = draw.num("8", "40", "0.1")
    if draw.chance(0.5):
        row["elevation_ft"] = draw.num("-1500", "15000")
    if draw.chance(0.3):
        row["realization_rate"] = draw.num("0.2", "1.5", "0.01")
    if draw.chance(0.4):
        row["grid_kg_per_kwh"] = draw.num("0", "2", "0.000001")
    if draw.chance(0.4):
        row["grid_decline"] = draw.num("0", "0.5", "0.005")
    if draw.chance(0.4):
        row["fill_embodied_kg_per_kg"] = draw.num("0", "10", "0.01")
    return row


def draw_money(draw: Draw) -> Cells:
    """Draw cost, support, life and rates."""
    cost = draw.num("400", "9000", "0.01")
    row = {"installed_cost": cost}
    if draw.chance(0.4):
        row["rebate"] = draw.num("0", cost, "0.01")
    if draw.chance(0.4):
        row["tax_credit_fraction"] = draw.num("0", "0.6", "0.01")
    if draw.chance(0.3):
        row["tax_credit_cap"] = draw.num("0", "2000", "0.5")
    if draw.chance(0.7):
        row["life_years"] = draw.num("1", "100") if draw.chance(0.3) else draw.num("10", "50")
    if draw.chance(0.7):
        row["discount_rate"] = draw.num("-0.02", "0.12", "0.0005")
    for name in ("fuel_escalation", "electricity_escalation"):
        if draw.chance(0.5):
            row[name] = draw.num("-0.03", "0.06", "0.0005")
    if draw.chance(0.5):
        row["bag_weight_lb"] = draw.num("5", "100", "0.1")
    return row


def draw_readiness(draw: Draw) -> Cells:
    """Draw the answers on hazards: mostly safe, some open, some not safe."""
    row = {}
    open_share = 0.0 if draw.chance(0.5) else 0.3
    for name in HAZARDS:
        row[name] = "yes" if draw.chance(0.05) else "no"
        if draw.chance(open_share):
            row[name] = "unknown"
        if draw.chance(open_share / 2):
            del row[name]
    if draw.chance(0.6):
        row["spillage_test"] = draw.pick(
            ("passed", "passed", "none_needed", "none_needed", "not_done", "failed")
        )
    if draw.chance(0.6):
        row["year_built"] = draw.num("1880", "2010")
    if draw.chance(0.05):
        row["year_built"] = draw.pick(("1977", "1978"))
    return row


def fill_whole_cavity_with_batt(draw: Draw, row: Cells) -> None:
    """Leave no room for any fibre: nothing is saved and nothing weighed."""
    row["batt_thickness_in"] = row["cavity_depth_in"]
    for name in ("batt_missing_fraction", "batt_compression", "cfm50_before", "cfm50_after"):
        row.pop(name, None)
    row["air_gap_level"] = draw.pick(("0", "0", "1", "2"))


def no_savings(draw: Draw, row: Cells) -> None:
    """Make the yearly saving exactly zero, one way or another."""
    for name in ("cfm50_before", "cfm50_after"):
        row.pop(name, None)
    match draw.pick(("missed", "realization", "climate", "price")):
        case "missed":
            row["missed_fraction"] = "1"
        case "realization":
            row["realization_rate"] = "0"
        case "climate":
            row["heating_degree_days_f"] = "0"
            row.pop("cooling_seer", None)
        case _:
            row["fuel_price"] = "0"
            row.pop("electricity_price", None)


def no_cost(draw: Draw, row: Cells) -> None:
    """Make the net cost exactly zero, one way or another."""
    row.pop("tax_credit_cap", None)
    match draw.pick(("free", "rebate", "credit")):
        case "free":
            row["installed_cost"] = "0"
            row.pop("rebate", None)
        case "rebate":
            row["rebate"] = row["installed_cost"]
        case _:
            row["tax_credit_fraction"] = "1"


def no_savings_no_cost(draw: Draw, row: Cells) -> None:
    """Save nothing for nothing: the paybacks are null, not zero."""
    no_savings(draw, row)
    no_cost(draw, row)


def equal_rates(draw: Draw, row: Cells) -> None:
    """Discount at exactly the rate at which the prices rise."""
    rate = draw.num("-0.05", "0.1", "0.0025")
    row |= {"discount_rate": rate, "fuel_escalation": rate}
    if draw.chance(0.7) or row["fuel"] == "electricity":
        row["electricity_escalation"] = rate


def negative_rates(draw: Draw, row: Cells) -> None:
    """Draw every rate from the whole permitted range below zero."""
    for name in ("discount_rate", "fuel_escalation", "electricity_escalation"):
        row[name] = draw.num("-0.2", "0", "0.005")


def high_rates(draw: Draw, row: Cells) -> None:
    """Draw every rate from the upper end of the permitted range, over a short life."""
    for name in ("discount_rate", "fuel_escalation", "electricity_escalation"):
        row[name] = draw.num("0.1", "0.5", "0.005")
    row["life_years"] = draw.num("1", "40")


def capped_by_bill(draw: Draw, row: Cells) -> None:
    """Bill less fuel than the model would save."""
    bill_from_model(draw, row, "0.2", "0.9")


def within_bill(draw: Draw, row: Cells) -> None:
    """Bill more fuel than the model would save."""
    bill_from_model(draw, row, "1.2", "8")


def bill_from_model(draw: Draw, row: Cells, low: str, high: str) -> None:
    """Bill a multiple of the fuel that the model saves, to two decimals."""
    row.pop("billed_heating_fuel", None)
    saved = Decimal(mp.nstr(evaluate(row)["fuel_saved"], 12))
    billed = saved * Decimal(draw.num(low, high, "0.01"))
    if billed <= Decimal("0.01"):
        billed = Decimal(draw.num("100", "900"))
    row["billed_heating_fuel"] = f"{billed.quantize(Decimal('0.01')):f}"


def life_of(years: str) -> Callable[[Draw, Cells], None]:
    """Return a change that sets the life."""

    def change(_draw: Draw, row: Cells) -> None:
        row["life_years"] = years

    return change


def full_compression(draw: Draw, row: Cells) -> None:
    """Squeeze a thick batt as far as the method allows."""
    row |= draw_batt(draw, row["cavity_depth_in"])
    row |= {"batt_thickness_in": row["cavity_depth_in"], "batt_compression": "0.45"}


def poor_fill(_draw: Draw, row: Cells) -> None:
    """Squeeze a good batt for a poor fill: the wall loses more than before."""
    row |= {"batt_thickness_in": row["cavity_depth_in"], "batt_r_per_in": "5"}
    row |= {"batt_compression": "0.45", "fill_r_per_in": "2"}
    for name in ("air_gap_level", "batt_missing_fraction", "air_space_r"):
        row.pop(name, None)


def empty_cavity(draw: Draw, row: Cells) -> None:
    """Say of an empty cavity what would only matter with a batt."""
    row |= draw_batt(draw, row["cavity_depth_in"]) | {"batt_thickness_in": "0"}


def all_missing(_draw: Draw, row: Cells) -> None:
    """Let the batt be missing from every bay."""
    row |= {"batt_thickness_in": row["cavity_depth_in"], "batt_missing_fraction": "1"}


def no_framing(_draw: Draw, row: Cells) -> None:
    """Leave out the studs."""
    row["framing_fraction"] = "0"


def narrow_gap(draw: Draw, row: Cells) -> None:
    """Leave an air space inside the sloping part of the table."""
    gap = Decimal(draw.num("0.05", "0.45", "0.01"))
    row.pop("air_space_r", None)
    row["batt_thickness_in"] = f"{Decimal(row['cavity_depth_in']) - gap:f}"


def leakier_after(draw: Draw, row: Cells) -> None:
    """Let the second leakage test be the worse one."""
    before = draw.num("900", "3000")
    row |= {"cfm50_before": before, "cfm50_after": f"{int(before) + 400}"}


def high_place(draw: Draw, row: Cells) -> None:
    """Put a tested house high up, or below the sea."""
    row |= {"cfm50_before": draw.num("2000", "6000"), "cfm50_after": draw.num("800", "1900")}
    row["elevation_ft"] = draw.pick(("15000", "-1500", draw.num("5000", "14000")))


def hopeless_cost(draw: Draw, row: Cells) -> None:
    """Cost so much that it is never earned back."""
    for name in ("rebate", "tax_credit_fraction", "tax_credit_cap"):
        row.pop(name, None)
    row["installed_cost"] = draw.num("200000", "900000", "0.01")


def heavy_fibre(draw: Draw, row: Cells) -> None:
    """Let the carbon in the fibre outweigh what little is saved."""
    row |= {"fill_embodied_kg_per_kg": "10", "life_years": "2", "realization_rate": "0.2"}
    row["heating_degree_days_f"] = draw.num("100", "400")


CHANGES: Final[tuple[Callable[[Draw, Cells], None], ...]] = (
    fill_whole_cavity_with_batt,
    no_savings,
    no_cost,
    no_savings_no_cost,
    equal_rates,
    negative_rates,
    high_rates,
    capped_by_bill,
    within_bill,
    life_of("1"),
    life_of("100"),
    full_compression,
    poor_fill,
    empty_cavity,
    all_missing,
    no_framing,
    narrow_gap,
    leakier_after,
    high_place,
    hopeless_cost,
    heavy_fibre,
)


def draw_house(draw: Draw, change: Callable[[Draw, Cells], None] | None) -> Cells:
    """Draw a house, with one special change where asked for."""
    row = draw_wall(draw) | draw_energy(draw) | draw_money(draw) | draw_readiness(draw)
    if change is not None:
        change(draw, row)
    if "billed_heating_fuel" not in row and draw.chance(0.3):
        within_bill(draw, row)
    return row


def draw_attic(draw: Draw) -> Cells:
    """Draw an open attic floor."""
    row = {
        "area_ft2": draw.num("60", "4000", "0.5"),
        "framing_fraction": draw.num("0", "0.2", "0.005"),
        "cavity_depth_in": draw.pick(("3.5", "5.5", "7.25", "9.25", draw.num("3", "12", "0.01"))),
        "series_r": draw.num("0.9", "3", "0.01"),
        "fill_depth_in": draw.num("0.5", "18", "0.05"),
    }
    optional = {
        "framing_r_per_in": ("0.9", "1.5", "0.01"),
        "batt_thickness_in": ("0", "14", "0.05"),
        "batt_r_per_in": ("1.5", "4.5", "0.01"),
        "batt_missing_fraction": ("0", "0.5", "0.01"),
        "air_gap_level": ("0", "2", "1"),
        "missed_fraction": ("0", "0.3", "0.01"),
        "fill_r_per_in": ("2.5", "4", "0.01"),
        "fill_density_lb_ft3": ("1.2", "2.4", "0.01"),
        "settling_fraction": ("0", "0.3", "0.01"),
    }
    for name, (low, high, step) in optional.items():
        if draw.chance(0.65):
            row[name] = draw.num(low, high, step)
    special = {
        "batt_thickness_in": ("0", row["cavity_depth_in"]),
        "batt_missing_fraction": ("0", "1"),
        "missed_fraction": ("0", "1"),
        "settling_fraction": ("0",),
    }
    for name, values in special.items():
        if draw.chance(0.06):
            row[name] = draw.pick(values)
    return row


def near_whole_bag(row: Cells) -> bool:
    """Say whether rounding could decide on the number of bags."""
    weight = Decimal(row.get("bag_weight_lb", "25"))
    bags = evaluate(row)["fill_mass_lb"] / mpf(str(weight))
    return bool(bags > 0 and abs(bags - mp.nint(bags)) < mpf(BAG_MARGIN.numerator) / 10**6)


def cell(value: Any) -> str:
    """Return a result as text; null is blank."""
    if value is None:
        return ""
    if isinstance(value, (int, str)):
        return str(value)
    return str(mp.nstr(value, DIGITS))


def house_rows() -> Iterable[Cells]:
    """Yield the houses with their expected results."""
    draw = Draw(SEED)
    for number in range(1, HOUSES + 1):
        change = CHANGES[number // 2 % len(CHANGES)] if number % 2 == 0 else None
        row = draw_house(draw, change)
        while near_whole_bag(row):
            row = draw_house(draw, change)
        results = evaluate(row)
        row |= {"case_id": f"house_{number:03d}", "house_id": f"house {number:03d}"}
        yield row | {f"expected_{name}": cell(results[name]) for name in RESULTS}


def attic_rows() -> Iterable[Cells]:
    """Yield the attics with their expected results."""
    draw = Draw(SEED + 1)
    for number in range(1, ATTICS + 1):
        row = draw_attic(draw)
        results = evaluate_attic(row)
        row["case_id"] = f"attic_{number:03d}"
        yield row | {f"expected_{name}": cell(results[name]) for name in ATTIC_RESULTS}


def write(name: str, inputs: Sequence[str], results: Sequence[str], rows: Iterable[Cells]) -> None:
    """Write one table; a blank cell is an input not given or a null result."""
    header = ["case_id", *inputs, *(f"expected_{result}" for result in results)]
    with (OUT / name).open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, header, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def check_published() -> int:
    """Recompute every published value; return how many rows there are."""
    with (OUT / "published.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        inputs = dict(pair.split("=", 1) for pair in row["inputs"].split(";"))
        value = recompute_published(row["kind"], inputs, row["quantity"])
        expected = mpf(row["expected"])
        allowed = max(mpf(row["abs_tol"]), mpf(row["rel_tol"]) * abs(expected))
        if abs(value - expected) > allowed:
            raise SystemExit(f"{row['case_id']}: {cell(value)}, published {row['expected']}")
    return len(rows)


def main() -> None:
    """Write both tables and check the published values."""
    OUT.mkdir(parents=True, exist_ok=True)
    write("houses.csv", HOUSE_INPUTS, RESULTS, house_rows())
    write("attics.csv", ATTIC_INPUTS, ATTIC_RESULTS, attic_rows())
    checked = check_published()
    print(f"{HOUSES} houses, {ATTICS} attics written; {checked} published values recomputed")


if __name__ == "__main__":
    main()
