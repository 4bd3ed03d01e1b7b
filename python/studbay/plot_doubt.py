"""Pictures of doubt: money over the years with its range, what would change the payback most.

Each function draws into axes that are given, or into new ones, and gives them back. matplotlib is
no dependency of studbay: install it to use this module.

Examples:
    >>> import studbay  # doctest: +SKIP
    >>> from studbay import plot_doubt  # doctest: +SKIP
    >>> house = studbay.House.from_file("demo-data/house.toml")  # doctest: +SKIP
    >>> plot_doubt.cash_range(studbay.doubt(house)).figure.savefig("cash.png")  # doctest: +SKIP
"""

from __future__ import annotations

import textwrap
from typing import Any

import matplotlib.pyplot as plt
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

import studbay

__all__ = ["cash_range", "picture", "swing_bars"]

#: Dark enough to be told apart in grey, and by people who see red and green alike.
LINE, BAND, POINT = "#1f4e79", "#9dbdd9", "#8a5a00"
LOW, HIGH = "#b4762c", "#3f6f9f"
#: Bars of the picture of swings, at most.
MOST_BARS = 10


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
    ax = axes(ax)
    before = "discounted_" if discounted else ""
    cash = doubt.cash()
    years = [entry["year"] for entry in cash]
    low, middle, high, point = (
        [entry[before + name] for entry in cash] for name in ("p10", "p50", "p90", "point")
    )
    ax.axhline(0.0, color="0.4", linewidth=0.8)
    ax.fill_between(years, low, high, color=BAND, label="eight draws of ten (P10 to P90)")
    ax.plot(years, middle, color=LINE, linewidth=2, label="middle of the draws (P50)")
    ax.plot(years, point, color=POINT, linestyle="--", label="the house as it stands")
    ax.set_xlim(0, max(years))
    ax.set_xlabel("years after the work")
    ax.set_ylabel(f"come back so far, less the cost ({currency or 'money'})")
    ax.yaxis.set_major_formatter(lambda value, _: amount(value, currency))
    kind = "discounted" if discounted else "not discounted"
    ax.set_title(f"{doubt.house_id}: modelled, not measured; {kind}", fontsize=10, loc="left")
    ax.legend(loc="upper left", frameon=False, fontsize=9)
    tidy(ax)
    return ax


def swing_bars(house: studbay.House, ax: Axes | None = None, *, most: int = MOST_BARS) -> Axes:
    """Draws what would change the payback most: a bar for each thing that may be off, moved alone.

    Args:
        house: The house.
        ax: Where to draw; new axes where left out.
        most: Bars, at most.

    Returns:
        The axes. A bar that ends in an arrow goes on to no payback at all.
    """
    ax = axes(ax)
    swings = studbay.swings(house)[:most]
    point = house.assess().simple_payback_years
    known = [
        end for swing in swings for end in (swing["at_low"], swing["at_high"]) if end is not None
    ]
    if point is not None:
        known.append(point)
    if not known:
        ax.text(0.5, 0.5, "no payback", ha="center", va="center", transform=ax.transAxes)
        return ax
    middle = point if point is not None else max(known)
    beyond = max(known) * 1.25 or 1.0
    for row, swing in enumerate(reversed(swings)):
        for name, side in (("at_low", LOW), ("at_high", HIGH)):
            end = swing[name]
            reach = beyond if end is None else end
            ax.barh(row, reach - middle, left=middle, color=side, height=0.6)
            if end is None:
                ax.annotate("no payback →", (reach, row), va="center", ha="left", fontsize=8)
    labels = [f"{wrapped(swing['words'])}\n{wrapped(moved(swing))}" for swing in reversed(swings)]
    ax.set_yticks(range(len(swings)), labels, fontsize=8)
    ax.axvline(middle, color="0.2", linewidth=1)
    ax.set_xlabel("simple payback, years (modelled)")
    title = f"{house.house_id}: as it stands {middle:.1f} years"
    ax.set_title(title if point is not None else house.house_id, fontsize=10, loc="left")
    handles = [Rectangle((0, 0), 1, 1, color=color) for color in (LOW, HIGH)]
    names = ["at its low end", "at its high end"]
    ax.legend(handles, names, frameon=False, fontsize=8, loc="lower right")
    tidy(ax)
    return ax


def picture(house: studbay.House, doubt: studbay.Doubt, *, currency: str = "$") -> Figure:
    """Both pictures, one above the other.

    Args:
        house: The house.
        doubt: Its draws.
        currency: Label of the amounts; nothing is converted.

    Returns:
        A figure of its own, for `savefig`.
    """
    figure = Figure(figsize=(8, 9), layout="constrained")
    above, below = figure.subplots(2, 1)
    cash_range(doubt, above, currency=currency)
    swing_bars(house, below)
    return figure


def axes(ax: Axes | None) -> Axes:
    """The axes given, or new ones."""
    return ax if ax is not None else plt.subplots(figsize=(8, 4.5), layout="constrained")[1]


def tidy(ax: Axes) -> None:
    """Takes off the frame where nothing is read from it."""
    ax.spines[["top", "right"]].set_visible(False)


def amount(value: float, currency: str) -> str:
    """An amount of the axis."""
    sign = "−" if value < 0 else ""
    return f"{sign}{currency}{abs(value):,.0f}"


def wrapped(text: str) -> str:
    """The text on lines that leave room for the bars."""
    return "\n".join(textwrap.wrap(text, 34))


def moved(swing: dict[str, Any]) -> str:
    """From where to where it is moved."""
    text = str(swing["text"]).split(" [")[0]
    return text.split(", moving")[0]
