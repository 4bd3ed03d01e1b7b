"""Pictures of fits, with matplotlib, which is imported only when one is drawn.

Every picture takes the axes that it is to be drawn on, or makes them, and gives them back. The
colours are those of Okabe and Ito, told apart with any kind of colour vision (from memory); lines
and points differ in shape too.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from studbay import BillFit, Table

__all__ = ["COLOURS", "MARKERS", "saving", "use_against_temperature"]

#: Blue, vermilion, bluish green, orange, reddish purple, sky blue.
COLOURS = ("#0072B2", "#D55E00", "#009E73", "#E69F00", "#CC79A7", "#56B4E9")
#: The shape of the points of each series, so that no picture rests on colour alone.
MARKERS = ("o", "s", "^", "D", "v", "P")
#: The dashes of each series.
DASHES = ("-", "--", "-.", ":", "-", "--")
#: What every picture of the package has in common.
STYLE: dict[Any, Any] = {
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "grid.alpha": 0.25,
    "legend.frameon": False,
    "font.size": 10,
}


def _axes(axes: Axes | None) -> Axes:
    """The axes given, or new ones."""
    if axes is not None:
        return axes
    try:
        import matplotlib.pyplot as plt
    except ImportError as error:
        message = "pictures need matplotlib: pip install matplotlib"
        raise ImportError(message) from error
    with plt.rc_context(STYLE):
        return plt.subplots(figsize=(7.0, 4.5), layout="constrained")[1]


def _columns(table: Table) -> dict[str, list[float]]:
    """The columns of a table as lists, by whichever reader of Arrow is there."""
    try:
        import pyarrow as pa

        return dict(pa.table(table).to_pydict())
    except ImportError:
        import polars as pl

        return pl.DataFrame(table).to_dict(as_series=False)


def _celsius(values: Sequence[float]) -> list[float]:
    return [(value - 32.0) / 1.8 for value in values]


def use_against_temperature(
    fit: BillFit,
    axes: Axes | None = None,
    *,
    units: str = "ip",
    label: str | None = None,
    place: int = 0,
) -> Axes:
    """Draws metered use a day against the mean temperature, with the fit and its band.

    A point is a reading; the line is the use of a day. Near the change point the points of long
    periods lie above the line, because their days differ: the fit itself counts the degree-days of
    each day.

    Args:
        fit: What `fit_bills` or `fit_means` gave.
        axes: Where to draw; new ones where left out.
        units: `"ip"` or `"si"`, of the temperature.
        label: Words for the legend.
        place: Which colour, marker and dash of the package: 0 for the first series, 1 for the next.

    Returns:
        The axes.

    Raises:
        ImportError: Without matplotlib, or without pyarrow or polars.
        ValueError: For other words for `units`.
    """
    if units not in ("ip", "si"):
        message = f"units must be ip or si, not {units!r}"
        raise ValueError(message)
    axes = _axes(axes)
    points, curve = _columns(fit.points), _columns(fit.curve())
    shown = _celsius if units == "si" else list
    colour = COLOURS[place % len(COLOURS)]
    words = label or "readings"
    axes.plot(
        shown(points["mean_f"]),
        points["use_per_day"],
        linestyle="",
        marker=MARKERS[place % len(MARKERS)],
        color=colour,
        markeredgecolor="white",
        label=words,
    )
    temperature = shown(curve["temperature_f"])
    axes.plot(
        temperature,
        curve["use_per_day"],
        color=colour,
        linestyle=DASHES[place % len(DASHES)],
        label=f"{words}, fit",
    )
    if curve["low"][0] is not None:
        band = f"{words}, {fit.level:.0%} band"
        axes.fill_between(
            temperature, curve["low"], curve["high"], color=colour, alpha=0.18, lw=0, label=band
        )
    if fit.change_point_f is not None:
        axes.axvline(shown([fit.change_point_f])[0], color=colour, linestyle=":", linewidth=1)
    axes.set_xlabel(f"Mean outdoor temperature, {'°C' if units == 'si' else '°F'}")
    axes.set_ylabel(f"Use, {fit.unit} a day")
    axes.set_ylim(bottom=min(0.0, axes.get_ylim()[0]))
    axes.legend()
    return axes


def saving(before: BillFit, after: BillFit, axes: Axes | None = None, *, units: str = "ip") -> Axes:
    """Draws the bills before and after the work in one picture.

    Args:
        before: The fit of the bills before.
        after: The fit of the bills after.
        axes: Where to draw; new ones where left out.
        units: `"ip"` or `"si"`, of the temperature.

    Returns:
        The axes.

    Raises:
        ImportError: Without matplotlib, or without pyarrow or polars.
        ValueError: For other words for `units`.
    """
    axes = use_against_temperature(before, axes, units=units, label="before", place=0)
    return use_against_temperature(after, axes, units=units, label="after", place=1)
