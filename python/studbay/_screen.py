"""What the commands share: a house read or refused, blocks of text on a terminal or in a pipe."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import NoReturn

import typer
from rich import box
from rich.console import Console, Group
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

import studbay
from studbay import Block, House
from studbay.errors import InputError, StudbayError

#: How a command ends.
DONE, WITH_REJECTS, UNUSABLE = 0, 1, 2


def refuse(where: str, error: Exception) -> NoReturn:
    """Says on standard error what is wrong and ends with the status of unusable input."""
    if isinstance(error, InputError):
        count = len(error.issues)
        print(f"studbay: {where}: {count} {'fault' if count == 1 else 'faults'}", file=sys.stderr)
        for line in str(error).splitlines():
            print(f"  {line}", file=sys.stderr)
    else:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        print(f"studbay: {where}: {reason}", file=sys.stderr)
    raise typer.Exit(UNUSABLE)


def read_house(file: Path) -> House:
    """The house of a file, or an end with every fault of it."""
    try:
        return House.from_file(file)
    except (StudbayError, OSError) as error:
        refuse(str(file), error)


def written(day: date) -> str:
    """A date as a person writes it."""
    return f"{day.day} {day:%B %Y}"


def plain(heading: str, blocks: Sequence[Block]) -> str:
    """The account without any marks of a terminal."""
    parts = [heading]
    for block in blocks:
        lines = [block.title]
        lines += [f"  {label}: {text}" if label else f"  {text}" for label, text in block.lines]
        parts.append("\n".join(lines))
    return "\n\n".join(parts)


def tell(heading: str, blocks: Sequence[Block]) -> None:
    """Prints blocks as fits where they go."""
    if sys.stdout.isatty():
        show(heading, blocks)
    else:
        print(plain(heading, blocks) if heading else plain(heading, blocks).lstrip("\n"))


#: Border and title of a block; the words carry the meaning, colour only helps to find them.
STYLES = {"hold": "bold red", "check": "yellow", "answer": "bold cyan", "plain": "dim"}


def show(heading: str, blocks: Sequence[Block]) -> None:
    """The account on a terminal."""
    console = Console(highlight=False)
    if heading:
        console.print(Text(heading, style="dim"))
    for block in blocks:
        style = STYLES[block.tone]
        width = min(console.width, 100)
        title = Text(block.title, style="bold" if block.tone == "plain" else style)
        # The border would cut a long title off, and with it the words "not measured".
        inside = title.cell_len > width - 6
        console.print(
            Panel(
                Group(title, body(block)) if inside else body(block),
                title=None if inside else title,
                title_align="left",
                border_style=style,
                box=box.HEAVY if block.tone == "hold" else box.ROUNDED,
                width=width,
            )
        )


def body(block: Block) -> Group:
    """Pairs as two columns, sentences across both."""
    parts: list[Table | Text] = []
    pairs: Table | None = None
    for label, text in block.lines:
        if not label:
            pairs = None
            parts.append(Text(text))
            continue
        if pairs is None:
            pairs = Table.grid(padding=(0, 2))
            pairs.add_column(min_width=18)
            pairs.add_column(overflow="fold")
            parts.append(pairs)
        pairs.add_row(Text(label, style="dim"), Text(text))
    return Group(*parts)


def tell_house(house_id: str, blocks: list[Block]) -> None:
    """An account under the house's name, the day and the version."""
    tell(f"{house_id}, {written(date.today())}, studbay {studbay.__version__}", blocks)
