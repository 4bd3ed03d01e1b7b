"""Pictures of the evidence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from studbay import _style as style

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


@style.drawn
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
    axes.plot(days, values, "-o", color=style.BLACK, markersize=4, linewidth=style.THIN)
    ranges.plot(
        days[1:], chart["ranges"], "-o", color=style.BLACK, markersize=4, linewidth=style.THIN
    )
    limits = chart["limits"]
    least = chart["least_lb_ft3"]
    if least is not None and min(values) < least:
        axes.axhline(least, color=style.ALERT, linewidth=style.THIN, linestyle=":")
        axes.annotate(
            f"least for a wall {least:.2f}",
            (0.01, least),
            xycoords=("axes fraction", "data"),
            va="bottom",
            fontsize=style.SMALL,
            color=style.ALERT,
        )
    if limits is not None:
        lines = [
            (axes, limits["centre"], "mean", "-"),
            (axes, limits["high"], "upper limit", "--"),
            (axes, limits["low"], "lower limit", "--"),
            (ranges, limits["range_mean"], "mean", "-"),
            (ranges, limits["range_high"], "limit", "--"),
        ]
        for where, height, label, dashes in lines:
            where.axhline(height, color=style.MUTED, linewidth=style.THIN, linestyle=dashes)
            where.annotate(
                f"{label} {height:.2f}",
                (1.01, height),
                xycoords=("axes fraction", "data"),
                va="center",
                fontsize=style.SMALL,
                color=style.MUTED,
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
            color=style.ALERT,
            markersize=11,
            fillstyle="none",
            label=label,
        )
        where.legend(loc="best", fontsize=style.SMALL, frameon=False)
    stop = any(finding["weight"] == "hold" for finding in chart["findings"])
    title = f"{name}: do not work until adjusted" if stop else name
    style.furnish(axes, title=title, y="density in the box, lb/ft³", foot=None, alert=stop)
    style.furnish(ranges, y="step, lb/ft³", foot="Weighed, not modelled.")
    # Room for the mark round the highest step.
    ranges.set_ylim(0, 1.15 * ranges.get_ylim()[1])


@style.drawn
def machine_charts_figure(charts: Sequence[Mapping[str, Any]]) -> Figure:
    """Draws every machine of a log.

    Args:
        charts: `AsBuilt.to_dict()["machines"]` or `JobsReview.to_dict()["charts"]`.

    Returns:
        A figure of its own, which needs no closing.

    Raises:
        ValueError: Where there is no chart.
    """
    if not charts:
        raise ValueError("there is no box to draw")
    figure = style.new_figure(style.WIDTH, 4.8 * len(charts))
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
