"""What the documents quote of the command line is what it prints."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from studbay import cli

ROOT = Path(__file__).parents[2]
WIDTH = "120"

#: Document, section, the command that prints it.
QUOTED = [
    ("CHOICES", "options", "options demo-data/choices.toml"),
    ("CHOICES", "options table", "options demo-data/choices.toml"),
    (
        "CHOICES",
        "break-even",
        "break-even demo-data/choices.toml cost_per_ft2 --goal payback --years 12",
    ),
    ("CHOICES", "batt-curve", "batt-curve demo-data/choices.toml"),
    ("CHOICES", "pay-for", "pay-for demo-data/choices.toml --work-year 2026"),
    ("DOUBT", "doubt", "doubt demo-data/house.toml"),
    ("COMFORT", "comfort", "comfort demo-data/house.toml --outdoor 5"),
    (
        "COMFORT",
        "moisture",
        "moisture demo-data/house.toml --months demo-data/months.csv "
        "--exterior-coat exterior_oil_old --indoor-class normal",
    ),
]


def quoted(document: str, section: str) -> list[str]:
    """The lines of the block under the mark of a section, without the empty ones."""
    text = (ROOT / "docs" / f"{document}.md").read_text(encoding="utf-8")
    found = re.search(rf"<!-- {section} -->\n```text\n(.*?)\n```\n", text, re.DOTALL)
    assert found is not None, f"{document}.md has no section {section}"
    return [line for line in found.group(1).splitlines() if line]


@pytest.mark.parametrize(
    ("document", "section", "command"), QUOTED, ids=[f"{d}, {s}" for d, s, _ in QUOTED]
)
def test_a_quoted_line_is_printed(
    document: str, section: str, command: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every quoted line is printed, whole but for where it is broken, in the document's order."""
    monkeypatch.chdir(ROOT)
    done = CliRunner().invoke(cli.app, command.split(), env={"COLUMNS": WIDTH})
    assert done.exit_code == 0, done.output
    # A terminal breaks lines where a document does not.
    printed = " ".join(done.stdout.split())
    wanted = quoted(document, section)
    assert wanted
    place = 0
    for line in wanted:
        words = " ".join(line.split())
        found = printed.find(words, place)
        assert found >= 0, f"not printed, or not here: {line!r}"
        place = found + len(words)


@pytest.mark.parametrize("document", ["CHOICES", "DOUBT", "COMFORT"])
def test_every_text_block_is_held(document: str) -> None:
    """No output is quoted outside a section that a test looks at."""
    text = (ROOT / "docs" / f"{document}.md").read_text(encoding="utf-8")
    held = sum(1 for known, _, _ in QUOTED if known == document)
    assert text.count("```text\n") == held
