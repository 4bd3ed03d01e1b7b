"""What the documents say a command prints is what it prints.

A block of text in `docs/` under a line `<!-- printed by: studbay ... -->` is held to the command,
run where the repository begins. A line `...` in it stands for lines that are left out.
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
MARKED = re.compile(r"<!-- printed by: studbay (.+?) -->\n+```text\n(.*?)```", re.DOTALL)
#: Pages whose every block of output is held in another place, or whose blocks are no output.
ELSEWHERE = {
    "BILLS.md": "tests/python/test_meters.py",
    "COMFORT.md": "tests/suite/comfort.rs",
    "DOUBT.md": "tests/suite/readme.rs",
    "EVIDENCE.md": "tests/suite/evidence.rs",
    "JOB.md": "tests/suite/jobsheet.rs",
    "METHOD.md": "tests/suite/readme.rs",
    "PAGE.md": "tests/suite/pages.rs",
}


def weather_file() -> Path:
    """A year of weather that a package carries; nothing of it is kept here."""
    pvlib = pytest.importorskip("pvlib")
    return Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"


def blocks() -> list[tuple[str, str, str]]:
    return [
        (path.name, command, text)
        for path in sorted((ROOT / "docs").glob("*.md"))
        for command, text in MARKED.findall(path.read_text(encoding="utf-8"))
    ]


@pytest.mark.parametrize(("page", "command", "text"), blocks())
def test_a_quoted_output_is_printed(
    page: str, command: str, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    words = shlex.split(command)
    done = subprocess.run(
        [sys.executable, "-m", "studbay.cli"]
        + [str(weather_file()) if word == "723170TYA.CSV" else word for word in words],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=60,
    )
    assert done.returncode in {0, 1}, done.stderr
    printed = [line.rstrip() for line in done.stdout.splitlines()]
    place = 0
    for piece in text.split("\n  ...\n"):
        lines = [line.rstrip() for line in piece.strip("\n").splitlines()]
        found = (
            at
            for at in range(place, len(printed) - len(lines) + 1)
            if printed[at : at + len(lines)] == lines
        )
        at = next(found, None)
        assert at is not None, f"{page}: {command} prints\n{done.stdout}\nand not\n{piece}"
        place = at + len(lines)


def test_every_block_of_output_is_held() -> None:
    loose = []
    for path in sorted((ROOT / "docs").glob("*.md")):
        text = path.read_text(encoding="utf-8")
        if path.name not in ELSEWHERE:
            quoted, held = text.count("\n```text\n"), len(MARKED.findall(text))
            loose += [f"{path.name}: {quoted - held} of {quoted}"] if held < quoted else []
    assert not loose, loose
