"""Pictures of the evidence, with matplotlib; nothing is computed here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_machine_chart", "machine_charts_figure", "save_machine_charts"]

#: What stands out, in words, and how it is marked.
SIGNALS = {
    "outside": ("outside the limits", "o"),
    "jump": ("jump", "^"),
    "one_side": ("run on one side", "s"),
    "trend": ("trend", "D"),
}
INK, LIMIT, STOP = "#1b1b1b", "#7a7a7a", "#b00020"


def draw_machine_chart(chart: Mapping[str, Any], axes: Axes, ranges: Axes) -> None:
    """Draws the densities of a machine and their steps.

    Args:
        chart: One of `AsBuilt.to_dict()["machines"]` or `JobsReview.to_dict()["charts"]`.
        axes: For the densities, lb/ft³.
        ranges: For the step from each box to the next, lb/ft³.
    """
    days: Any = [date.fromisoformat(day) for day in chart["dates"]]
    values: list[float] = chart["values"]
    name = ", ".join(part for part in (chart["machine"], chart["setting"]) if part) or "machine"
    axes.plot(days, values, "-o", color=INK, markersize=4, linewidth=1)
    ranges.plot(days[1:], chart["ranges"], "-o", color=INK, markersize=4, linewidth=1)
    limits = chart["limits"]
    least = chart["least_lb_ft3"]
    if least is not None and min(values) < least:
        axes.axhline(least, color=STOP, linewidth=1, linestyle=":")
        axes.annotate(
            f"least for a wall {least:.2f}",
            (0.01, least),
            xycoords=("axes fraction", "data"),
            va="bottom",
            fontsize=8,
            color=STOP,
        )
    if limits is not None:
        lines = [
            (axes, limits["centre"], "mean", "-"),
            (axes, limits["high"], "upper limit", "--"),
            (axes, limits["low"], "lower limit", "--"),
            (ranges, limits["range_mean"], "mean", "-"),
            (ranges, limits["range_high"], "limit", "--"),
        ]
        for where, height, label, style in lines:
            where.axhline(height, color=LIMIT, linewidth=1, linestyle=style)
            where.annotate(
                f"{label} {height:.2f}",
                (1.01, height),
                xycoords=("axes fraction", "data"),
                va="center",
                fontsize=8,
                color=LIMIT,
            )
    # One mark for each sort; it is filled with white, so that the value under it is seen.
    for signal, (label, marker) in SIGNALS.items():
        places = [place for place, found in chart["signals"] if found == signal]
        if not places:
            continue
        where, heights = axes, values
        if signal == "jump":
            where, heights = ranges, [0.0, *chart["ranges"]]
        where.plot(
            [days[place] for place in places],
            [heights[place] for place in places],
            marker,
            color=STOP,
            markersize=11,
            fillstyle="none",
            label=label,
        )
        where.legend(loc="lower left", fontsize=8, frameon=False)
    stop = any(finding["weight"] == "hold" for finding in chart["findings"])
    title = f"{name}: do not work until adjusted" if stop else name
    axes.set_title(title, loc="left", color=STOP if stop else INK)
    axes.set_ylabel("density in the box, lb/ft³")
    ranges.set_ylabel("step, lb/ft³")
    # Room for the mark round the highest step.
    ranges.set_ylim(0, 1.15 * ranges.get_ylim()[1])
    for where in (axes, ranges):
        where.spines[["top", "right"]].set_visible(False)


def machine_charts_figure(charts: Sequence[Mapping[str, Any]]) -> Figure:
    """Draws every machine of a log.

    Args:
        charts: `AsBuilt.to_dict()["machines"]` or `JobsReview.to_dict()["charts"]`.

    Returns:
        A figure of its own, which needs no closing.

    Raises:
        ValueError: Where there is no chart.
    """
    from matplotlib.figure import Figure

    if not charts:
        raise ValueError("there is no box to draw")
    figure = Figure(figsize=(8, 4.6 * len(charts)), layout="constrained")
    grid = figure.add_gridspec(2 * len(charts), 1, height_ratios=[2, 1] * len(charts))
    for place, chart in enumerate(charts):
        above = figure.add_subplot(grid[2 * place])
        below = figure.add_subplot(grid[2 * place + 1], sharex=above)
        above.tick_params(labelbottom=False)
        draw_machine_chart(chart, above, below)
        below.tick_params(axis="x", rotation=30)
    return figure


def save_machine_charts(charts: Sequence[Mapping[str, Any]], path: Path | str) -> None:
    """Draws every machine of a log into a file.

    Args:
        charts: As for `machine_charts_figure`.
        path: PNG, SVG or PDF by its ending.

    Raises:
        ValueError: Where there is no chart, or the ending is none of a picture.
        OSError: What the system says about the file.
    """
    machine_charts_figure(charts).savefig(path, dpi=150)
