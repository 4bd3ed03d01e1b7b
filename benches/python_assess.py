"""What a call from Python costs: a house with 25 fields, and a house that is ready.

    python benches/python_assess.py

Prints nanoseconds, the best of several rounds, and how many times an empty call into the extension
each of them takes: the ratio says more than the figure, which changes with the machine.
"""

from __future__ import annotations

import subprocess
import sys
import timeit
from collections.abc import Callable
from typing import Any

import studbay

ROUNDS = 9
#: Lets every round last some tens of milliseconds.
SECONDS = 0.05

FIELDS: dict[str, Any] = {
    "house_id": "bench",
    "wall_area_ft2": 1850.0,
    "framing_fraction": 0.22,
    "cavity_depth_in": 3.625,
    "series_r": 3.06,
    "batt_thickness_in": 1.5,
    "batt_missing_fraction": 0.1,
    "air_gap_level": 1,
    "fill_density_lb_ft3": 3.8,
    "batt_compression": 0.2,
    "missed_fraction": 0.03,
    "heating_degree_days_f": 5600.0,
    "cooling_degree_days_f": 700.0,
    "heating_efficiency": 0.8,
    "fuel": "natural_gas",
    "fuel_price": 1.5,
    "cooling_seer": 14.0,
    "electricity_price": 0.22,
    "cfm50_before": 3100.0,
    "cfm50_after": 2600.0,
    "elevation_ft": 600.0,
    "installed_cost": 4200.0,
    "rebate": 500.0,
    "fuel_escalation": 0.01,
    "knob_and_tube": "no",
}


def nanoseconds(call: Callable[[], object]) -> float:
    """The least time of one call, the loop round it taken off."""
    timer, empty = timeit.Timer(call), timeit.Timer()
    number, _ = timer.autorange()
    number = max(1, round(number * SECONDS / 0.2))
    best = min(timer.repeat(ROUNDS, number)) / number
    loop = min(empty.repeat(ROUNDS, 100_000)) / 100_000
    return (best - loop) * 1e9


def import_milliseconds() -> float:
    """The least time of a first import, the start of the interpreter not counted."""
    code = "import time; t = time.perf_counter(); import studbay; print(time.perf_counter() - t)"
    times = [
        float(subprocess.run([sys.executable, "-c", code], capture_output=True, check=True).stdout)
        for _ in range(ROUNDS)
    ]
    return min(times) * 1e3


def main() -> None:
    """Measures and prints."""
    assess, fields = studbay.assess, FIELDS
    house = studbay.House(**fields)
    figures = house.assess()
    explained = house.explain()

    def python_keywords(**given: Any) -> dict[str, Any]:
        return given

    empty = nanoseconds(explained.__len__)
    lines: list[tuple[str, float]] = [
        ("an empty call into the extension", empty),
        (f"a Python function with the same {len(fields)} keywords", 0.0),
        (f"studbay.assess(**fields), {len(fields)} fields", 0.0),
        ("house.assess()", nanoseconds(house.assess)),
        ("figures.npv", nanoseconds(lambda: figures.npv)),
        ("figures.to_dict()", nanoseconds(figures.to_dict)),
        ("house.explain()", nanoseconds(house.explain)),
        ("figures.account()", nanoseconds(figures.account)),
    ]
    lines[1] = (lines[1][0], nanoseconds(lambda: python_keywords(**fields)))
    lines[2] = (lines[2][0], nanoseconds(lambda: assess(**fields)))
    for name, time in lines:
        print(f"{name:<48} {time:>10,.0f} ns {time / empty:>9,.1f} x")
    print(f"{'import studbay':<48} {import_milliseconds():>10,.1f} ms")


if __name__ == "__main__":
    main()
