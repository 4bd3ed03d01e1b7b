"""Writes `jobs.csv`: invented jobs with what was counted of each, mistakes included.

    python demo-data/make_jobs.py

Nobody lives in these houses; crews and machines are invented. The seed is fixed, so the same bytes
come out.
"""

from __future__ import annotations

import csv
import random
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import TextIO

FIRST_DAY, WEEKS = date(2026, 9, 1), 12
CREWS = ["crew 1", "crew 2", "crew 3"]
MACHINES = {"crew 1": "blower A", "crew 2": "blower B", "crew 3": "blower A"}
#: What a crew packs, lb/ft³, and the share of bays that it misses.
DENSITY = {"crew 1": 4.1, "crew 2": 3.75, "crew 3": 4.05}
MISSED = {"crew 1": 0.015, "crew 2": 0.07, "crew 3": 0.03}


def rows() -> list[dict[str, object]]:
    """The jobs, three a week."""
    rng = random.Random(7)
    found: list[dict[str, object]] = []
    for week in range(WEEKS):
        for place, crew in enumerate(CREWS):
            area = rng.randrange(900, 2100, 50)
            depth = rng.choice([3.5, 3.625, 3.75])
            batt = rng.choice([0, 0, 1.5])
            gaps = 0.2 if batt else 0
            volume = area * 0.75 * ((1 - gaps) * (depth - batt) + gaps * depth) / 12
            bays = round(area / 16)
            seen = rng.choice([bays, bays, round(bays * 0.8)])
            cold = sum(rng.random() < MISSED[crew] for _ in range(seen))
            # One machine wears out from the fifth week on.
            worn = -0.035 * max(0, week - 4) if MACHINES[crew] == "blower B" else 0.0
            box = rng.gauss(DENSITY[crew], 0.06) + worn
            packed = rng.gauss(DENSITY[crew], 0.08) + worn
            bags = round(volume * (1 - cold / seen) * packed / 25 * 2) / 2
            day = FIRST_DAY + timedelta(7 * week + place)
            found.append(
                {
                    "house_id": f"lot-{len(found) + 1:03}",
                    "wall_area_ft2": area,
                    "cavity_depth_in": depth,
                    "cladding": rng.choice(
                        ["wood_bevel_siding_1_2in", "hollow_backed_siding", "wood_shingles"]
                    ),
                    "sheathing": "board_sheathing_3_4in",
                    "interior_finish": rng.choice(
                        ["plaster_wood_lath_3_4in", "gypsum_board_1_2in"]
                    ),
                    "batt_thickness_in": batt,
                    "batt_missing_fraction": gaps,
                    "heating_degree_days_f": 5650,
                    "heating_efficiency": 0.8,
                    "fuel": "natural_gas",
                    "fuel_price": 1.45,
                    "installed_cost": round(area * 2.3 / 50) * 50,
                    "year_built": rng.randint(1895, 1960),
                    "knob_and_tube": "no",
                    "vermiculite": "no",
                    "moisture_problem": "no",
                    "loose_interior_finish": "no",
                    "crew": crew,
                    "machine": MACHINES[crew],
                    "work_date": day,
                    "bags_delivered": int(bags) + rng.randint(2, 6),
                    "bags_used": bags,
                    "bays": bays,
                    "bays_scanned": seen,
                    "cold_before": round(seen * 0.3),
                    "cold_after": cold,
                    "scan_date": day + timedelta(60),
                    "inside_f": 68,
                    "outside_f": rng.randint(25, 44),
                    "wind_mph": rng.randint(0, 12),
                    "sun_free_hours": rng.randint(3, 9),
                    "box_date": day - timedelta(1),
                    "box_setting": "wall",
                    "box_volume_ft3": 1.5,
                    "box_mass_lb": round(box * 1.5, 2),
                }
            )
    for place, mistake in MISTAKES.items():
        found[place] |= mistake
    return found


#: What goes wrong in such lists, by the place of the row.
MISTAKES: dict[int, dict[str, object]] = {
    4: {"bags_used": ""},
    9: {"outside_f": 58},  # too warm outside for a camera
    13: {"bays_scanned": 1000},  # more than there are
    17: {"cold_after": ""},
    20: {"bags_delivered": 10},  # fewer than were used
    25: {"wind_mph": ""},
    28: {"scan_date": "2026-10-05"},  # before the work
    31: {"bags_used": 95, "bags_delivered": 98},  # more than a wall should hold
}


def write(out: TextIO) -> None:
    """Writes the list."""
    found = rows()
    writer = csv.DictWriter(out, list(found[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(found)


if __name__ == "__main__":
    if sys.argv[1:] == ["-"]:
        write(sys.stdout)
    else:
        with (Path(__file__).parent / "jobs.csv").open("w", encoding="utf-8", newline="") as file:
            write(file)
