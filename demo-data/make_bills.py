"""Writes invented bills before and after, of one house and of many, and their invented weather.

    python demo-data/make_bills.py

Nobody lives in these houses, and the weather is of no place. Mistakes are put in on purpose. The
seed is fixed, so the same bytes come out.
"""

from __future__ import annotations

import csv
import io
import itertools
import math
import random
import sys
from datetime import date, timedelta
from pathlib import Path

FIRST = date(2023, 7, 1)
WORK = date(2024, 7, 1)
DAYS = 731
HOUSES = 24
UNTREATED = 12

Row = list[object]


def weather(rng: random.Random) -> list[float]:
    """Daily means, °F, a front after the other."""
    front, means = 0.0, []
    for day in range(DAYS):
        front = 0.7 * front + rng.gauss(0, 5)
        turn = math.cos(
            2 * math.pi * ((FIRST + timedelta(days=day)).timetuple().tm_yday - 20) / 365
        )
        means.append(round(51 - 23 * turn + front, 1))
    return means


def months(first: date) -> list[tuple[date, date]]:
    """Twelve calendar months."""
    starts = [
        date(first.year + (first.month - 1 + n) // 12, (first.month - 1 + n) % 12 + 1, 1)
        for n in range(13)
    ]
    return list(itertools.pairwise(starts))


def bills(
    rng: random.Random, means: list[float], first: date, base: float, slope: float, change: float
) -> list[Row]:
    """Twelve bills in therms."""
    rows: list[Row] = []
    for start, end in months(first):
        days = means[(start - FIRST).days : (end - FIRST).days]
        use = sum(base + slope * max(0.0, change - mean) for mean in days)
        rows.append([start, end, f"{max(0.0, use * (1 + rng.gauss(0, 0.04))):.1f}"])
    return rows


def files() -> dict[str, str]:
    """Every file by its name."""
    rng = random.Random(11)
    means = weather(rng)
    days: list[Row] = [[FIRST + timedelta(days=n), mean] for n, mean in enumerate(means)]
    one = ["start", "end", "use"]
    before = bills(rng, means, FIRST, 0.6, 0.125, 62.0)
    after = bills(rng, means, WORK, 0.6, 0.098, 61.0)
    many = ["house_id", *one]
    all_before: list[Row] = []
    all_after: list[Row] = []
    houses: list[Row] = []
    for number in range(1, HOUSES + 1):
        house = f"M-{number:02}"
        untreated = number > HOUSES - UNTREATED
        base, slope = rng.uniform(0.4, 0.9), rng.uniform(0.09, 0.16)
        change = rng.uniform(59, 65)
        # Everyone burnt a little less in the second year; the treated houses much less.
        kept = 0.97 * (1.0 if untreated else rng.uniform(0.70, 0.85))
        all_before += [[house, *row] for row in bills(rng, means, FIRST, base, slope, change)]
        all_after += [[house, *row] for row in bills(rng, means, WORK, base, slope * kept, change)]
        promised = ["", "", ""] if untreated else ["80", "150", "220"]
        houses.append([house, "yes" if untreated else "no", *promised])
    # Mistakes: a number that is none, and a house that moved away after the work.
    all_before[12 + 4][3] = "see note"
    all_after = [row for row in all_after if row[0] != "M-05"]
    tables: dict[str, tuple[list[str], list[Row]]] = {
        "bills-weather.csv": (["date", "mean_f"], days),
        "bills-before.csv": (one, before),
        "bills-after.csv": (one, after),
        "meters-before.csv": (many, all_before),
        "meters-after.csv": (many, all_after),
        "meters-houses.csv": (
            ["house_id", "untreated", "promised_low", "promised", "promised_high"],
            houses,
        ),
    }
    written = {}
    for name, (header, rows) in tables.items():
        text = io.StringIO()
        csv.writer(text, lineterminator="\n").writerows([header, *rows])
        written[name] = text.getvalue()
    return written


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    for name, text in files().items():
        (folder / name).write_text(text, encoding="utf-8", newline="")
