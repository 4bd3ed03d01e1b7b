"""The table of checks in docs/CHECKS.md, from what the tests wrote down while they ran.

    STUDBAY_CHECKS=$PWD/target/checks.csv cargo test --test suite published
    STUDBAY_CHECKS=$PWD/target/checks.csv python -m pytest tests/python/test_checks.py
    python tests/generate/make_checks.py target/checks.csv            # writes docs/CHECKS.md
    python tests/generate/make_checks.py --check target/checks.csv    # 1 where it is stale

A line: topic, quantity, unit, ours, theirs, greatest difference allowed, source, place, mark. Ours
and theirs are printed to six significant digits and the difference only where those digits show
one, so that the last bits of another machine do not move the table. Lines that stand twice are one.
"""

from __future__ import annotations

import csv
import sys
from collections import defaultdict
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "CHECKS.md"
TOPICS = [
    "Walls and layers",
    "Fibre and bags",
    "Air",
    "Climate",
    "Fuels and carbon",
    "Money",
    "Bills of a real house",
    "Doubt and shares",
]
MARKS = {
    "S": "seen",
    "S2": "seen quoted",
    "M": "from memory",
    "C": "computed from a public file",
    "L": "computed by a library",
}
HEAD = """<!-- Made by tests/generate/make_checks.py from a run of the tests: do not edit. -->

# Checks against the outside

What studbay computes beside what somebody else printed or computes. The tests assert every row and
write it down while they run; this page is made of what they wrote. Numbers are printed to six
significant digits. *Allowed* is the difference at which the test fails: half of the last digit that
the source prints, or what the test says. A difference of 0 is none within the printed digits.

These are the checks that a number can stand for. Whole series checked against other libraries
(random houses, schedules, draws) are in the tests; so are laws and properties.

Not every row is independent: the curve of squeezed batts was fitted to such a chart, and constants
taken from a document agree with it as they must.
"""


def digits(value: float) -> str:
    """Six significant digits."""
    text = f"{value:.6g}"
    return text.replace("e-0", "e-").replace("e+0", "e")


def table(rows: set[tuple[str, ...]]) -> str:
    topics: dict[str, list[tuple[str, ...]]] = defaultdict(list)
    for row in rows:
        topics[row[0]].append(row)
    unknown = set(topics) - set(TOPICS)
    if unknown:
        raise SystemExit(f"make_checks: topics without a place: {', '.join(sorted(unknown))}")
    page = [HEAD, f"{len(rows)} values.\n"]
    for topic in (topic for topic in TOPICS if topics[topic]):
        page.append(f"## {topic}\n")
        page.append(
            "| quantity | ours | theirs | difference | allowed | unit | source | place | mark |"
        )
        page.append("|---|---:|---:|---:|---:|---|---|---|---|")
        for _, quantity, unit, ours, theirs, within, source, place, mark in sorted(topics[topic]):
            difference = float(digits(float(ours))) - float(digits(float(theirs)))
            cells = [
                quantity,
                digits(float(ours)),
                digits(float(theirs)),
                digits(float(f"{difference:.2g}")),
                digits(float(f"{float(within):.2g}")),
                unit,
                source,
                place,
                MARKS[mark],
            ]
            page.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
        page.append("")
    return "\n".join(page)


def main() -> None:
    check = "--check" in sys.argv
    paths = [argument for argument in sys.argv[1:] if argument != "--check"]
    if not paths:
        raise SystemExit(__doc__)
    rows: set[tuple[str, ...]] = set()
    quantities: dict[str, str] = {}
    for path in paths:
        with open(path, encoding="utf-8", newline="") as file:
            for row in csv.reader(file):
                # The last bits may differ between two runs: the quantity decides.
                if quantities.setdefault(row[1], row[3]) == row[3]:
                    rows.add(tuple(row))
    page = table(rows)
    if not check:
        PAGE.write_text(page, encoding="utf-8")
        print(f"{PAGE.name}: {len(rows)} values")
    elif PAGE.read_text(encoding="utf-8") != page:
        raise SystemExit(f"docs/{PAGE.name} is stale: see {Path(__file__).name}")


if __name__ == "__main__":
    main()
