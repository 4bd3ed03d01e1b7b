"""Pictures of choices: payback against the batt, options side by side, cash by way to pay.

The data are those of the objects
themselves (`Curve.columns`, `Comparison.to_dicts`, `Funding.years`), so that any other tool can
draw them too. A picture never shows a payback without the word modelled, and says when the work is
held.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from studbay import _style as style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from studbay import Comparison, Curve
    from studbay.lending import Funding

__all__ = ["cash", "options", "payback_curve"]


def _column(values: Sequence[float | None], top: float) -> list[float]:
    return [float("nan") if value is None else min(value, top) for value in values]


@style.drawn
def payback_curve(curve: Curve, ax: Axes | None = None) -> Axes:
    """Answers "is my batt too thick for this to pay?" in one picture.

    Args:
        curve: From `studbay.payback_curve`.
        ax: Where to draw; new axes where left out.

    Returns:
        The axes: the payback with its range, the years counted, where the fill stops paying, and
        where the house is.
    """
    ax = style.new_axes(ax)
    columns = curve.columns()
    values = [value for value in columns["value"] if value is not None]
    life = float(curve.life_years)
    top, beyond = 1.5 * life, 15.0 * life
    # No end at all is an end above the picture.
    long = [
        float("nan") if short is None else (beyond if end is None else end)
        for short, end in zip(columns["payback_short"], columns["payback_long"], strict=True)
    ]
    worth = [value is not None and value >= 0.0 for value in columns["npv"]]
    for start, end in _stretches(values, worth, list(curve.break_even)):
        words = "" if start > values[0] and worth[0] else "where the fill is worth its cost"
        ax.axvspan(start, end, color=style.GREEN, alpha=0.10, linewidth=0, label=words)
    short = _column(columns["payback_short"], beyond)
    ax.fill_between(
        values, short, long, color=style.BLUE, alpha=style.FILL_ALPHA, linewidth=0,
        label="its range, every doubt together",
    )  # fmt: skip
    simple = _column(columns["simple_payback_years"], beyond)
    ax.plot(values, simple, color=style.BLUE, linewidth=style.LINE, label="simple payback")
    discounted = _column(columns["discounted_payback_years"], beyond)
    ax.plot(
        values, discounted, color=style.BLACK, linewidth=style.THIN, linestyle="--",
        label="discounted payback",
    )  # fmt: skip
    ax.axhline(life, color=style.MUTED, linewidth=style.THIN)
    _note(ax, f"years counted: {life:g}", (values[-1], life), right=True, color=style.MUTED)
    unit = f" {curve.unit}" if curve.unit else ""
    up_to = len(curve.break_even) == 1 and worth[0]
    for turn in curve.break_even:
        ax.axvline(turn, color=style.ALERT, linestyle=":", linewidth=style.LINE)
        words = f"worth its cost\nup to {turn:.3g}{unit}" if up_to else f"turn: {turn:.3g}{unit}"
        _note(ax, words, (turn, 0.0), right=False, color=style.ALERT)
    if curve.now is not None and curve.payback_now is not None:
        words = f"this house: {curve.now:.3g}{unit}, {curve.payback_now:.1f} years"
        place = [curve.now], [min(curve.payback_now, top)]
        ax.plot(*place, "o", color=style.BLUE, markersize=9, markeredgecolor="white", label=words)
    ax.set_ylim(0.0, top)
    ax.set_xlim(values[0], values[-1])
    name = curve.field.removesuffix("_in").removesuffix("_mm").replace("_", " ")
    answer = "is" if curve.worth_now else "is not"
    hold = curve.readiness == "hold"
    title = f"As it is, the fill {answer} worth its cost over {life:g} years (modelled)"
    ax.legend(loc="upper left")
    return style.furnish(
        ax,
        title=f"HOLD: the work must not start.\n{title}" if hold else title,
        x=f"{name}{',' + unit if unit else ''}",
        y="payback, years (modelled)",
        alert=hold,
    )


def _stretches(
    values: list[float], worth: list[bool], turns: list[float]
) -> list[tuple[float, float]]:
    """Where the fill is worth its cost, from turn to turn."""
    ends = [values[0], *(turn for turn in turns if values[0] < turn < values[-1]), values[-1]]
    stretches = []
    for start, end in pairwise(ends):
        inside = [w for value, w in zip(values, worth, strict=True) if start <= value <= end]
        if sum(inside) * 2 > len(inside):
            stretches.append((start, end))
    return stretches


@style.drawn
def options(comparison: Comparison, ax: Axes | None = None, currency: str = "$") -> Axes:
    """What each option costs in all over the years counted, at today's worth.

    Args:
        comparison: From `studbay.compare_options`.
        ax: Where to draw; new axes where left out.
        currency: Label in front of amounts.

    Returns:
        The axes: a bar for each option, the job and then the heat that is still lost.
    """
    ax = style.new_axes(ax)
    rows = list(reversed(comparison.rows))
    places = list(range(len(rows)))
    job = [row.net_cost for row in rows]
    heat = [row.life_cycle_cost - row.net_cost for row in rows]
    ax.barh(places, job, color=style.BLUE, height=0.55, label="the job, net of incentives")
    ax.barh(
        places, heat, left=job, color=style.SKY, edgecolor=style.BLUE, height=0.55,
        label="heat still lost",
    )  # fmt: skip
    most = max((row.life_cycle_cost for row in rows), default=1.0)
    for place, row in zip(places, rows, strict=True):
        words = f" {style.amount(row.life_cycle_cost, currency)}"
        if row.ruled_out:
            words += "  HOLD: not now"
        elif row.best:
            words += "  least cost"
        ax.text(
            row.life_cycle_cost, place, words, va="center", ha="left",
            color=style.ALERT if row.ruled_out else style.BLACK,
            fontweight="bold" if row.best else "normal",
        )  # fmt: skip
    ax.set_yticks(places, [row.name for row in rows])
    ax.set_xlim(0.0, 1.4 * most)
    ax.locator_params(axis="x", nbins=6)
    ax.xaxis.set_major_formatter(lambda value, _: style.amount(value, currency))
    ax.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=2, borderaxespad=0.0)
    style.furnish(
        ax,
        x=f"cost over the years counted, at today's worth, {currency} (modelled)",
        grid="x",
    )
    # Room for the legend between the title and the bars.
    ax.set_title("What each choice costs in all", pad=26)
    return ax


@style.drawn
def cash(ways: Sequence[Funding], ax: Axes | None = None, currency: str = "$") -> Axes:
    """The cash of each way to pay, summed from signing, in the money of its day.

    Args:
        ways: From `studbay.lending.ways_to_pay`.
        ax: Where to draw; new axes where left out.
        currency: Label in front of amounts.

    Returns:
        The axes: a line for each way; above 0 the fill has brought more than it took.
    """
    ax = style.new_axes(ax)
    for place, way in enumerate(ways):
        years = way.years()
        word = "cash-positive from month 1" if way.cash_positive_from_month_1 else ""
        if way.loan is not None and not word:
            word = "not cash-positive from month 1"
        ax.plot(
            years["year"],
            years["cumulative"],
            **style.series(place),
            label=f"{way.name}{': ' + word if word else ''}",
        )
    ax.axhline(0.0, color=style.MUTED, linewidth=style.THIN)
    ax.set_xlim(left=0)
    ax.yaxis.set_major_formatter(lambda value, _: style.amount(value, currency))
    ax.legend(loc="upper left")
    return style.furnish(
        ax,
        title="Cash so far by way to pay, in the money of its day",
        x="years after signing",
        y=f"savings less payments so far, {currency} (modelled)",
    )


def _note(ax: Axes, words: str, place: tuple[float, float], *, right: bool, color: str) -> None:
    """Words a little beside a place."""
    ha: Literal["left", "right"] = "right" if right else "left"
    off = (-4 if right else 5, 4)
    ax.annotate(words, place, xytext=off, textcoords="offset points", ha=ha, color=color)
