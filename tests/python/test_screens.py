"""A terminal: no line is wider, nothing is lost. A pipe: no marks of a terminal."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import struct
import subprocess
import sys
import termios
from pathlib import Path

import pytest

from studbay._wide import fit

DEMO = Path(__file__).parents[2] / "demo-data"
#: Colours, weights, and the like.
MARKS = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


def command(*words: str | Path) -> list[str]:
    return [sys.executable, "-m", "studbay.cli", *map(str, words)]


def screen(columns: int, *words: str | Path) -> str:
    """What a terminal of so many columns gets, with its marks."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
    setting = {name: value for name, value in os.environ.items() if name != "COLUMNS"}
    process = subprocess.Popen(
        command(*words),
        stdin=theirs,
        stdout=theirs,
        stderr=subprocess.DEVNULL,
        env={**setting, "TERM": "xterm-256color"},
    )
    os.close(theirs)
    got = b""
    while True:
        try:
            piece = os.read(ours, 65_536)
        except OSError:  # Linux says so at the end.
            break
        if not piece:
            break
        got += piece
    os.close(ours)
    assert process.wait() == 0
    return got.decode().replace("\r\n", "\n")


def piped(*words: str | Path) -> str:
    done = subprocess.run(command(*words), capture_output=True, text=True, check=True)
    return done.stdout


@pytest.fixture(scope="module")
def scored(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("scored") / "scored.csv"
    done = subprocess.run(
        command("score", DEMO / "portfolio.csv", "-o", path), capture_output=True, check=False
    )
    assert done.returncode == 1, "done, with rejects"
    return path


WORDS: dict[str, list[str | Path]] = {
    "assess": ["assess", DEMO / "house.toml"],
    "overview": ["overview", "SCORED", "--by", "county"],
    "shortlist": ["shortlist", "SCORED", "--budget", "50000"],
    "options": ["options", DEMO / "choices.toml"],
    "doubt": ["doubt", DEMO / "house.toml"],
    "fields": ["fields"],
}


@pytest.mark.parametrize("columns", [80, 120])
@pytest.mark.parametrize("name", WORDS)
def test_nothing_is_wider_than_the_screen_or_lost(name: str, columns: int, scored: Path) -> None:
    words = [scored if word == "SCORED" else word for word in WORDS[name]]
    shown, plain = MARKS.sub("", screen(columns, *words)), piped(*words)
    wide = [line for line in shown.splitlines() if len(line) > columns]
    assert not wide
    assert "\x1b" not in plain
    # Every figure of the pipe is on the screen.
    figures = re.compile(r"[−-]?\$?\d[\d,.]*\d")
    on_screen = set(figures.findall(shown))
    missing = [figure for figure in figures.findall(plain) if figure not in on_screen]
    # A long figure may be broken where a sentence is wrapped; none of a table may be.
    assert len(missing) <= 2, missing


@pytest.mark.parametrize("columns", [60, 80])
def test_no_title_is_cut_off(columns: int) -> None:
    """The end of the title of the payback is "not measured"."""
    drawn = re.compile("[╭╮╰╯│─┏┓┗┛┃━]")
    shown = drawn.sub(" ", MARKS.sub("", screen(columns, *WORDS["assess"])))
    assert "(modelled, not measured)" in " ".join(shown.split())


def test_a_table_is_cut_between_its_columns() -> None:
    lines = [
        "  name       first col  second  third",
        "  --------------------------------",
        "  long name          1      22   3.50",
        "  b              1,000       2  40.00",
    ]
    assert fit(lines, 40) == lines
    cut = fit(lines, 28)
    assert cut == [
        "  name       first col",
        "  --------------------",
        "  long name          1",
        "  b              1,000",
        "",
        "  name       second  third",
        "  ------------------------",
        "  long name      22   3.50",
        "  b               2  40.00",
    ]
    assert max(map(len, cut)) <= 28


def test_a_sentence_is_wrapped_under_its_indent() -> None:
    assert fit(["  one two three four"], 10) == ["  one two", "  three", "  four"]
    assert fit(["a b", "  c"], 10) == ["a b", "  c"]
    assert fit(["  One two", "  three four."], 30) == ["  One two", "  three four."], "it fits"
    assert fit(["  One two", "  three.", "  Four five six"], 14) == [
        "  One two",
        "  three.",
        "  Four five",
        "  six",
    ]
    # What cannot be cut stays whole.
    assert fit(["x" * 30], 10) == ["x" * 10] * 3
