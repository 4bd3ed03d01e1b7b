"""Pictures of fits to metered use."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from studbay import _style as style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from studbay import BillFit, Table

__all__ = ["saving", "use_against_temperature"]


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


@style.drawn
def use_against_temperature(
    fit: BillFit,
    ax: Axes | None = None,
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
        ax: Where to draw; new axes where left out.
        units: `"ip"` or `"si"`, of the temperature.
        label: Words for the legend.
        place: Which colour, marker and dash of the package: 0 for the first series, 1 for the next.

    Returns:
        The axes.

    Raises:
        ImportError: Without matplotlib, or without pyarrow or polars.
        ValueError: For other words for `units`.
    """
    ax = _draw(fit, ax, units, label or "readings", place)
    return _finish(ax, fit, units, "Metered use against the weather")


@style.drawn
def saving(before: BillFit, after: BillFit, ax: Axes | None = None, *, units: str = "ip") -> Axes:
    """Draws the bills before and after the work in one picture.

    Args:
        before: The fit of the bills before.
        after: The fit of the bills after.
        ax: Where to draw; new axes where left out.
        units: `"ip"` or `"si"`, of the temperature.

    Returns:
        The axes.

    Raises:
        ImportError: Without matplotlib, or without pyarrow or polars.
        ValueError: For other words for `units`.
    """
    ax = _draw(before, ax, units, "before", style.COLOURS.index(style.BEFORE))
    ax = _draw(after, ax, units, "after", style.COLOURS.index(style.AFTER))
    return _finish(ax, after, units, "Metered use before and after the work")


def _draw(fit: BillFit, ax: Axes | None, units: str, words: str, place: int) -> Axes:
    """Points, line, band and change point of one fit."""
    if units not in ("ip", "si"):
        message = f"units must be ip or si, not {units!r}"
        raise ValueError(message)
    ax = style.new_axes(ax)
    points, curve = _columns(fit.points), _columns(fit.curve())
    shown = _celsius if units == "si" else list
    look = style.series(place, points=True, line=False)
    ax.plot(shown(points["mean_f"]), points["use_per_day"], **look, label=words)
    temperature = shown(curve["temperature_f"])
    line = style.series(place)
    ax.plot(temperature, curve["use_per_day"], **line, label=f"{words}, fit")
    if curve["low"][0] is not None:
        band = f"{words}, {fit.level:.0%} band"
        ax.fill_between(
            temperature,
            curve["low"],
            curve["high"],
            color=look["color"],
            alpha=style.FILL_ALPHA,
            linewidth=0,
            label=band,
        )
    if fit.change_point_f is not None:
        change = shown([fit.change_point_f])[0]
        ax.axvline(change, color=look["color"], linestyle=":", linewidth=style.THIN)
    return ax


def _finish(ax: Axes, fit: BillFit, units: str, title: str) -> Axes:
    ax.set_ylim(bottom=min(0.0, ax.get_ylim()[0]))
    ax.legend()
    return style.furnish(
        ax,
        title=title,
        x=f"mean outdoor temperature, {'°C' if units == 'si' else '°F'}",
        y=f"use, {fit.unit} a day",
        foot="Metered. Points are readings, the line is the use of a day by the fit; the dotted "
        "line is where heating begins.",
    )
