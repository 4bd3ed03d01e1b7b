"""Text tables on a terminal that is narrower than they are."""

from __future__ import annotations

import shutil
import sys
import textwrap
from itertools import groupby, pairwise

#: What stands between two columns, at least.
GAP = 2


def fit(lines: list[str], width: int) -> list[str]:
    """Lines that are no wider than a terminal, where that can be had.

    A sentence is wrapped. A table is cut between columns, and its parts stand one below the other,
    each with the first column, so that a row can still be followed.

    Args:
        lines: As they were made for a wide page.
        width: Columns of the terminal.

    Returns:
        The same words in the same order within a line; lines that fit are left alone.
    """
    if all(len(line) <= width for line in lines):
        return lines
    fitted: list[str] = []
    for table, group in groupby(lines, key=_is_row):
        part = list(group)
        if table:
            fitted += _cut(part, width)
        else:
            fitted += [narrow for line in _joined(part) for narrow in _wrap(line, width)]
    return fitted


def on_screen(text: str) -> str:
    """A table cut to the terminal; as it is where the output goes elsewhere."""
    if not sys.stdout.isatty():
        return text
    return "\n".join(fit(text.split("\n"), shutil.get_terminal_size().columns))


def _is_row(line: str) -> bool:
    """Whether a line is one of a table: it has a gap inside, or is a rule under its head."""
    inside = line.strip()
    return " " * GAP in inside or (len(inside) > GAP and set(inside) == {"-"})


def _joined(lines: list[str]) -> list[str]:
    """Sentences that were broken by hand, in one piece: what goes on begins with a small letter."""
    joined: list[str] = []
    for line in lines:
        if joined and line.strip()[:1].islower():
            joined[-1] += " " + line.strip()
        else:
            joined.append(line)
    return joined


def _wrap(line: str, width: int) -> list[str]:
    """A sentence on as many lines as it needs, under its own indent."""
    if len(line) <= width:
        return [line]
    indent = " " * (len(line) - len(line.lstrip()))
    return textwrap.wrap(line.strip(), width, initial_indent=indent, subsequent_indent=indent)


def _cut(rows: list[str], width: int) -> list[str]:
    """A table as several, one below the other."""
    if all(len(row) <= width for row in rows):
        return rows
    columns = _columns([row for row in rows if set(row.strip()) != {"-"}])
    if len(columns) < 2:
        return rows
    first, *others = columns
    head = first[1] + GAP
    groups: list[tuple[int, int]] = []
    for start, end in others:
        if groups and end - groups[-1][0] + head <= width:
            groups[-1] = (groups[-1][0], end)
        else:
            groups.append((start, end))
    cut: list[str] = []
    for place, (start, end) in enumerate(groups):
        if place:
            cut.append("")
        for row in rows:
            line = row[: first[1]].ljust(head) + row[start:end]
            indent = len(row) - len(row.lstrip())
            rule = set(row.strip()) == {"-"}
            dashes = " " * indent + "-" * (head + end - start - indent)
            cut.append(dashes if rule else line.rstrip())
    return cut


def _columns(rows: list[str]) -> list[tuple[int, int]]:
    """Where each column begins and ends: between two of them every row is blank."""
    end = max((len(row) for row in rows), default=0)
    filled = [any(row[at : at + 1].strip() for row in rows) for at in range(end)]
    spans: list[tuple[int, int]] = []
    for used, group in groupby(range(end), key=filled.__getitem__):
        if used:
            places = list(group)
            spans.append((places[0], places[-1] + 1))
    if not spans:
        return []
    # A narrow gap is one between words that happen to stand below each other.
    edges = [spans[0][0]]
    for before, after in pairwise(spans):
        if after[0] - before[1] >= GAP:
            edges += [before[1], after[0]]
    edges.append(spans[-1][1])
    # The first column keeps its indent.
    edges[0] = 0
    return list(zip(edges[::2], edges[1::2], strict=True))
