"""Pictures of doubt: money over the years with its range, what would change the payback most."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import studbay
from studbay import _style as style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["cash_range", "picture", "swing_bars"]

#: The two ends of a bar: colour, and lines across it.
LOW, HIGH = (style.VERMILION, style.HATCH), (style.BLUE, "")
#: Bars of the picture of swings, at most.
MOST_BARS = 10


@style.drawn
def cash_range(
    doubt: studbay.Doubt, ax: Axes | None = None, *, discounted: bool = False, currency: str = "$"
) -> Axes:
    """Draws what has come back by the end of each year, the cost taken off: P10, P50 and P90.

    Args:
        doubt: The draws of a house.
        ax: Where to draw; new axes where left out.
        discounted: Whether later money counts for less, by the house's discount rate.
        currency: Label of the amounts; nothing is converted.

    Returns:
        The axes.
    """
    ax = style.new_axes(ax)
    before = "discounted_" if discounted else ""
    cash = doubt.cash()
    years = [entry["year"] for entry in cash]
    low, middle, high, point = (
        [entry[before + name] for entry in cash] for name in ("p10", "p50", "p90", "point")
    )
    ax.axhline(0.0, color=style.MUTED, linewidth=style.THIN)
    ax.fill_between(
        years, low, high, color=style.BLUE, alpha=style.FILL_ALPHA, linewidth=0,
        label="eight draws of ten (P10 to P90)",
    )  # fmt: skip
    ax.plot(years, middle, color=style.BLUE, label="middle of the draws (P50)")
    ax.plot(years, point, color=style.VERMILION, linestyle="--", label="the house as it stands")
    ax.set_xlim(0, max(years))
    ax.yaxis.set_major_formatter(lambda value, _: style.amount(value, currency))
    ax.legend(loc="upper left")
    kind = "discounted" if discounted else "not discounted"
    return style.furnish(
        ax,
        title=f"{doubt.house_id}: money back, year by year (modelled)",
        x="years after the work",
        y=f"come back so far, less the cost, {currency or 'money'}",
        foot=f"{style.MODELLED} Later money is {kind}.",
    )


@style.drawn
def swing_bars(house: studbay.House, ax: Axes | None = None, *, most: int = MOST_BARS) -> Axes:
    """Draws what would change the payback most: a bar for each thing that may be off, moved alone.

    Args:
        house: The house.
        ax: Where to draw; new axes where left out.
        most: Bars, at most.

    Returns:
        The axes. A bar that ends in an arrow goes on to no payback at all.
    """
    from matplotlib.patches import Rectangle

    swings = studbay.swings(house)[:most]
    ax = style.new_axes(ax, height=1.6 + 0.46 * max(len(swings), 3))
    point = house.assess().simple_payback_years
    known = [
        end for swing in swings for end in (swing["at_low"], swing["at_high"]) if end is not None
    ]
    if point is not None:
        known.append(point)
    if not known:
        ax.text(0.5, 0.5, "no payback", ha="center", va="center", transform=ax.transAxes)
        return style.furnish(ax, title=f"{house.house_id}: no payback", grid=None)
    middle = point if point is not None else max(known)
    beyond = max(known) * 1.25 or 1.0
    for row, swing in enumerate(reversed(swings)):
        for name, (colour, hatch) in (("at_low", LOW), ("at_high", HIGH)):
            end = swing[name]
            reach = beyond if end is None else end
            ax.barh(row, reach - middle, left=middle, color=colour, hatch=hatch, height=0.6)
            if end is None:
                ax.annotate(
                    "no payback →", (reach, row), va="center", ha="left", fontsize=style.SMALL
                )
    labels = [f"{wrapped(swing['words'])}\n{wrapped(moved(swing))}" for swing in reversed(swings)]
    ax.set_yticks(range(len(swings)), labels, fontsize=style.SMALL)
    ax.axvline(middle, color=style.BLACK, linewidth=style.THIN)
    stands = f"{middle:.1f} years as it stands" if point is not None else "none as it stands"
    handles = [
        Rectangle((0, 0), 1, 1, facecolor=colour, hatch=hatch) for colour, hatch in (LOW, HIGH)
    ]
    ax.legend(handles, ["at its low end", "at its high end"], loc="lower right")
    return style.furnish(
        ax,
        title=f"{house.house_id}: what would change the payback most\n({stands})",
        x="simple payback, years (modelled)",
        foot=f"{style.MODELLED} Each moved alone.",
        grid="x",
    )


@style.drawn
def picture(house: studbay.House, doubt: studbay.Doubt, *, currency: str = "$") -> Figure:
    """Both pictures, one above the other.

    Args:
        house: The house.
        doubt: Its draws.
        currency: Label of the amounts; nothing is converted.

    Returns:
        A figure of its own, for `savefig`.
    """
    figure = style.new_figure(style.WIDTH, 10.0)
    above, below = figure.subplots(2, 1)
    cash_range(doubt, above, currency=currency)
    swing_bars(house, below)
    return figure


def wrapped(text: str) -> str:
    """The text on lines that leave room for the bars."""
    return "\n".join(textwrap.wrap(text, 34))


def moved(swing: dict[str, Any]) -> str:
    """From where to where it is moved."""
    text = str(swing["text"]).split(" [")[0]
    return text.split(", moving")[0]
