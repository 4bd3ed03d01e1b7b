"""Writes the demo portfolio, `demo-data/portfolio.csv`: a housing list as a programme gets it.

Everything in it is invented: towns, counties, houses, prices, and the faults that people make in a
list. Nobody lives there. The same file comes out every time:

    python demo-data/make_portfolio.py

With `--check` it writes nothing and says by its exit status whether the file is up to date.
"""

from __future__ import annotations

import csv
import io
import random
import sys
from collections.abc import Callable
from pathlib import Path

FILE = Path(__file__).with_name("portfolio.csv")
SEED = 20_260_406
HOUSES = 3_000

#: An invented county, its invented towns, heating and cooling degree-days (°F), feet above the sea.
COUNTIES: dict[str, tuple[list[str], int, int, int]] = {
    "Alder Reach": (["Alderfoot", "Millrace", "Saltmarsh End"], 5_350, 780, 60),
    "Brackwater": (["Brackwater Quay", "Teasel Green"], 5_600, 700, 40),
    "Corrie": (["Corrie Head", "Stonebarrow", "Upper Wether"], 7_450, 260, 1_650),
    "Dunmere": (["Dunmere", "Harrow Mills", "Quillhaven", "Osier Bend"], 6_150, 560, 420),
    "Eastlow": (["Eastlow", "Fenwick Cross"], 5_900, 620, 180),
    "Foxtor": (["Foxtor", "Larkrise", "Nether Combe"], 6_850, 390, 980),
}
#: How many of a hundred houses stand in each.
SHARES = [24, 17, 9, 27, 14, 9]

VINTAGES = {
    "before 1900": (1_862, 1_899),
    "1900-1919": (1_900, 1_919),
    "1920-1939": (1_920, 1_939),
    "1940-1959": (1_940, 1_959),
    "1960-1977": (1_960, 1_977),
    "1978 and later": (1_978, 1_991),
}
VINTAGE_SHARES = [12, 20, 30, 20, 13, 5]

#: Fuel, its price for its unit, how much dearer or cheaper at most, efficiency from and to.
FUELS = {
    "natural_gas": (1.42, 0.18, 0.68, 0.92),
    "fuel_oil_2": (3.75, 0.35, 0.64, 0.84),
    "propane": (2.95, 0.30, 0.72, 0.93),
    "kerosene": (4.20, 0.30, 0.66, 0.82),
    "electricity": (0.225, 0.03, 0.95, 2.70),
}
FUEL_SHARES = [48, 30, 9, 3, 10]

CLADDINGS = ["wood_bevel_siding_1_2in", "wood_shingles", "hollow_backed_siding"]
SHEATHINGS = ["board_sheathing_3_4in", "plywood_1_2in"]
FINISHES = ["plaster_wood_lath_3_4in", "gypsum_board_1_2in"]

NOTES = [
    "",
    "",
    "",
    "access by the yard gate only",
    "siding loose at the north corner, nails showing",
    'surveyor wrote "batts slumped"; photo on file',
    "two units, one meter",
    "porch roof hides the lowest course; drill from inside",
    "attic hatch painted shut",
    'sign says "beware of the goose"',
    "half of the rear wall is brick, left out of the area",
    "naïve patching round the café-style window; see photo",
]

COLUMNS = [
    "house_id",
    "county",
    "town",
    "vintage",
    "year_built",
    "wall_area_ft2",
    "wall_area_m2",
    "cavity_depth_in",
    "cavity_depth_mm",
    "cladding",
    "sheathing",
    "interior_finish",
    "batt_thickness_in",
    "batt_thickness_mm",
    "batt_missing_fraction",
    "air_gap_level",
    "missed_fraction",
    "heating_degree_days_f",
    "cooling_degree_days_f",
    "elevation_ft",
    "heating_efficiency",
    "fuel",
    "fuel_price",
    "cooling_seer",
    "electricity_price",
    "billed_heating_fuel",
    "installed_cost",
    "rebate",
    "life_years",
    "knob_and_tube",
    "vermiculite",
    "moisture_problem",
    "loose_interior_finish",
    "spillage_test",
    "surveyor_note",
]

House = dict[str, str]


def pick(rng: random.Random, of: list[str], shares: list[int]) -> str:
    """One of the words, by its share."""
    return rng.choices(of, weights=shares)[0]


def near(rng: random.Random, low: float, high: float, step: float) -> float:
    """A number between two, as a tape measure gives it."""
    return round(rng.uniform(low, high) / step) * step


def text(number: float, decimals: int = 0) -> str:
    """A number as a person types it: no more zeros than needed."""
    typed = f"{number:.{decimals}f}"
    return typed.rstrip("0").rstrip(".") if "." in typed else typed


def answer(rng: random.Random, yes: float, unknown: float) -> str:
    """What the survey says; nothing where nobody looked."""
    drawn = rng.random()
    if drawn < yes:
        return "yes"
    if drawn < yes + unknown:
        return rng.choice(["unknown", ""])
    return "no"


def hazards(rng: random.Random, year: int, fuel: str) -> House:
    """The answers about safety: the older the house, the more stands in the way."""
    old = 0.13 if year < 1_930 else 0.05 if year < 1_950 else 0.0
    if fuel == "electricity":
        test = ""
    else:
        test = pick(rng, ["none_needed", "passed", "not_done", "failed"], [38, 41, 18, 3])
    return {
        "knob_and_tube": answer(rng, old, 0.10 if old else 0.02),
        "vermiculite": answer(rng, 0.035 if year < 1_990 else 0.0, 0.06),
        "moisture_problem": answer(rng, 0.055, 0.08),
        "loose_interior_finish": answer(rng, 0.025 if year < 1_940 else 0.01, 0.07),
        "spillage_test": test,
    }


def wall(rng: random.Random, year: int) -> House:
    """What the surveyor measured, in the units of the surveyor's tape."""
    metric = rng.random() < 0.22
    area = near(rng, 780, 2_900, 10)
    depth = rng.choice([3.5, 3.625, 3.75, 3.75, 4.0] if year < 1_945 else [3.5, 3.5, 3.625])
    batt = 0.0
    if rng.random() < (0.35 if year < 1_940 else 0.75):
        batt = min(depth, rng.choice([1.0, 1.5, 1.5, 2.0, 2.5, 3.5]))
    house = {
        "wall_area_ft2": "" if metric else text(area),
        "wall_area_m2": text(area * 0.09290304, 1) if metric else "",
        "cavity_depth_in": "" if metric else text(depth, 3),
        "cavity_depth_mm": text(depth * 25.4) if metric else "",
        "batt_thickness_in": "" if metric or not batt else text(batt, 2),
        # A millimetre less than the tape shows: it must not come out thicker than the cavity.
        "batt_thickness_mm": text(batt * 25.4 - 1) if metric and batt else "",
        "batt_missing_fraction": text(near(rng, 0.0, 0.45, 0.05), 2) if batt else "",
        "air_gap_level": rng.choice(["0", "1", "1", "2", ""]) if batt else "",
        "missed_fraction": rng.choice(["", "0.02", "0.03", "0.05", "0.1"]),
        "cladding": rng.choice(CLADDINGS),
        "sheathing": rng.choice(SHEATHINGS[:1] if year < 1_945 else SHEATHINGS),
        "interior_finish": rng.choice(FINISHES[:1] if year < 1_930 else FINISHES),
    }
    if rng.random() < 0.10:
        house["cavity_depth_in"] = house["cavity_depth_mm"] = ""
        # Nobody measured: the default depth, and a batt that fits into it.
        if batt > 3.5 or (metric and batt * 25.4 > 88):
            house["batt_thickness_in"] = house["batt_thickness_mm"] = ""
    return house


def offer(rng: random.Random, area: float) -> House:
    """Price and rebate of the work."""
    cost = near(rng, 1.85, 3.35, 0.01) * area + near(rng, 250, 900, 50)
    cost = round(cost / 5) * 5
    rebate = rng.choice([0, 0, 750, 1_200, round(cost * 0.3)])
    return {
        "installed_cost": text(cost),
        "rebate": text(rebate) if rebate else rng.choice(["", "0"]),
        "life_years": rng.choice(["", "", "30", "40"]),
    }


def house(rng: random.Random, place: int) -> House:
    """A house with nothing wrong in its row."""
    county = pick(rng, list(COUNTIES), SHARES)
    towns, heating_days, cooling_days, feet = COUNTIES[county]
    town = rng.choice(towns)
    vintage = pick(rng, list(VINTAGES), VINTAGE_SHARES)
    year = rng.randint(*VINTAGES[vintage])
    fuel = pick(rng, list(FUELS), FUEL_SHARES)
    price, spread, worst, best = FUELS[fuel]
    cooled = rng.random() < 0.35
    row = dict.fromkeys(COLUMNS, "") | wall(rng, year) | hazards(rng, year, fuel)
    area = float(row["wall_area_ft2"] or float(row["wall_area_m2"] or 0) / 0.09290304)
    row |= offer(rng, area)
    row |= {
        "house_id": f"{county[:2].upper()}-{place:04d}",
        "county": county,
        "town": town,
        "vintage": vintage,
        "year_built": "" if rng.random() < 0.06 else str(year),
        "heating_degree_days_f": text(near(rng, heating_days - 150, heating_days + 150, 10)),
        "cooling_degree_days_f": text(near(rng, cooling_days - 60, cooling_days + 60, 10)),
        "elevation_ft": text(near(rng, max(0, feet - 40), feet + 160, 10)),
        "heating_efficiency": text(near(rng, worst, best, 0.01), 2),
        "fuel": fuel,
        "fuel_price": text(near(rng, price - spread, price + spread, 0.005), 3),
        "cooling_seer": text(near(rng, 9, 16, 0.5), 1) if cooled else "",
        "electricity_price": text(near(rng, 0.19, 0.26, 0.005), 3) if cooled else "",
        "surveyor_note": rng.choice(NOTES),
    }
    if rng.random() < 0.25 and fuel != "electricity":
        therms = {"natural_gas": 900, "fuel_oil_2": 780, "propane": 1_100, "kerosene": 760}[fuel]
        row["billed_heating_fuel"] = text(near(rng, 0.6 * therms, 1.5 * therms, 5))
    return row


def filled(row: House, ip: str, si: str) -> str:
    """Whichever of the two names the row uses."""
    return ip if row[ip] else si


def misspell(row: House, rng: random.Random) -> None:
    wrong = {
        "natural_gas": ["natral_gas", "nat gas", "natural-gass"],
        "fuel_oil_2": ["fuel_oil", "oil #2"],
        "propane": ["propain", "LPG"],
        "kerosene": ["kerosine"],
        "electricity": ["electric"],
    }
    row["fuel"] = rng.choice(wrong[row["fuel"]])


def per_cent(row: House, rng: random.Random) -> None:
    row["heating_efficiency"] = f"{float(row['heating_efficiency']) * 100:.0f}%"


def hundred_times(row: House, rng: random.Random) -> None:
    row["heating_efficiency"] = f"{max(0.61, float(row['heating_efficiency'])) * 100:.0f}"


def thousands_comma(row: House, rng: random.Random) -> None:
    row["installed_cost"] = f"{float(row['installed_cost']):,.0f}"


def both_units(row: House, rng: random.Random) -> None:
    feet = float(row["wall_area_ft2"] or float(row["wall_area_m2"]) / 0.09290304)
    row["wall_area_ft2"], row["wall_area_m2"] = text(feet), text(feet * 0.09290304, 1)


def no_cost(row: House, rng: random.Random) -> None:
    row["installed_cost"] = ""


def no_efficiency(row: House, rng: random.Random) -> None:
    row["heating_efficiency"] = rng.choice(["", " ", "?"])


def below_nothing(row: House, rng: random.Random) -> None:
    name = filled(row, "wall_area_ft2", "wall_area_m2")
    row[name] = rng.choice(["0", "-" + row[name]])


def formula(row: House, rng: random.Random) -> None:
    row["fuel_price"] = rng.choice(["=B2*1.1", "#REF!", "#VALUE!"])


def inches_as_millimetres(row: House, rng: random.Random) -> None:
    row["cavity_depth_in"], row["cavity_depth_mm"] = "", "3.5"


def thick_batt(row: House, rng: random.Random) -> None:
    row["cavity_depth_in"], row["cavity_depth_mm"] = "3.5", ""
    row["batt_thickness_in"], row["batt_thickness_mm"] = "5.5", ""


def generous_rebate(row: House, rng: random.Random) -> None:
    row["rebate"] = text(float(row["installed_cost"]) + 500)


def maybe(row: House, rng: random.Random) -> None:
    row["knob_and_tube"] = rng.choice(["maybe", "y?", "n/a"])


def twice_wrong(row: House, rng: random.Random) -> None:
    misspell(row, rng)
    row["heating_degree_days_f"] = rng.choice(["n/a", "-1"])


#: What people do to a row so that it cannot be scored, and how often in ten thousand rows.
FAULTS: list[tuple[Callable[[House, random.Random], None], int]] = [
    (misspell, 85),
    (per_cent, 45),
    (hundred_times, 40),
    (thousands_comma, 50),
    (both_units, 35),
    (no_cost, 45),
    (no_efficiency, 25),
    (below_nothing, 20),
    (formula, 15),
    (inches_as_millimetres, 20),
    (thick_batt, 15),
    (generous_rebate, 10),
    (maybe, 15),
    (twice_wrong, 10),
]

#: Notes that a spreadsheet would run as a formula; the row itself is in order.
FORMULAS = [
    '=HYPERLINK("http://example.invalid/photo","see photo")',
    "=SUM(A1:A9)",
    "+corner of the lane, second house",
    "@surveyor: come back in spring",
    "-- no photo --",
]


def rows(houses: int = HOUSES) -> list[House]:
    """The first houses of the portfolio; a longer list begins with a shorter one."""
    rng = random.Random(SEED)
    out = []
    for place in range(1, houses + 1):
        row = house(rng, place)
        drawn = rng.randrange(10_000)
        for spoil, share in FAULTS:
            if drawn < share:
                spoil(row, rng)
                break
            drawn -= share
        if rng.random() < 0.01:
            row["surveyor_note"] = rng.choice(FORMULAS)
        out.append(row)
    return out


def wanted() -> bytes:
    """The file as it should be: UTF-8, commas, quotes where needed, a line feed after each row."""
    file = io.StringIO()
    writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows())
    return file.getvalue().encode()


def main() -> int:
    """Writes the file, or checks it."""
    text = wanted()
    fresh = FILE.exists() and FILE.read_bytes() == text
    if not fresh and sys.argv[1:] != ["--check"]:
        FILE.write_bytes(text)
        fresh = True
    return 0 if fresh else 1


if __name__ == "__main__":
    raise SystemExit(main())
