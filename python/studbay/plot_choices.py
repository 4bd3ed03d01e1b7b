"""Pictures of choices: payback against the batt, options side by side, cash by way to pay.

Each function draws on axes of matplotlib and gives them back; the data are those of the objects
themselves (`Curve.columns`, `Comparison.to_dicts`, `Funding.years`), so that any other tool can
draw them too. A picture never shows a payback without the word modelled, and says when the work is
held.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from studbay import Comparison, Curve
    from studbay.lending import Funding

__all__ = ["cash", "options", "payback_curve"]

# Told apart in grey and by the colour-blind too: a dark line, a mid bar, a light band.
DARK, MID, LIGHT, GOOD, BAD = "#1b3a4b", "#5f8a8b", "#d5e3e4", "#2e6f40", "#a4452c"


def _own_axes(axes: Axes | None) -> Axes:
    if axes is not None:
        return axes
    from matplotlib import pyplot

    _, made = pyplot.subplots(figsize=(8.0, 5.0), layout="constrained")
    return made


def _column(values: Sequence[float | None], top: float) -> list[float]:
    return [float("nan") if value is None else min(value, top) for value in values]


def payback_curve(curve: Curve, axes: Axes | None = None) -> Axes:
    """Answers "is my batt too thick for this to pay?" in one picture.

    Args:
        curve: From `studbay.payback_curve`.
        axes: Where to draw; new axes where left out.

    Returns:
        The axes: the payback with its range, the years counted, where the fill stops paying, and
        where the house is.
    """
    axes = _own_axes(axes)
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
        axes.axvspan(start, end, color=GOOD, alpha=0.10, linewidth=0)
    short = _column(columns["payback_short"], beyond)
    axes.fill_between(values, short, long, color=LIGHT, label="its range, every doubt together")
    simple = _column(columns["simple_payback_years"], beyond)
    axes.plot(values, simple, color=DARK, linewidth=2, label="simple payback, modelled")
    discounted = _column(columns["discounted_payback_years"], beyond)
    words = "discounted payback, modelled"
    axes.plot(values, discounted, color=DARK, linewidth=1, linestyle="--", label=words)
    axes.axhline(life, color=MID, linewidth=1)
    _note(axes, f"years counted: {life:g}", (values[-1], life), right=True, color=MID)
    unit = f" {curve.unit}" if curve.unit else ""
    up_to = len(curve.break_even) == 1 and worth[0]
    for turn in curve.break_even:
        axes.axvline(turn, color=BAD, linestyle=":", linewidth=1.5)
        words = f"worth its cost\nup to {turn:.3g}{unit}" if up_to else f"turn: {turn:.3g}{unit}"
        _note(axes, words, (turn, 0.0), right=False, color=BAD)
    if curve.now is not None and curve.payback_now is not None:
        words = f"this house: {curve.now:.3g}{unit}, {curve.payback_now:.1f} years"
        place = [curve.now], [min(curve.payback_now, top)]
        axes.plot(*place, "o", color=DARK, markersize=9, markeredgecolor="white", label=words)
    axes.set_ylim(0.0, top)
    axes.set_xlim(values[0], values[-1])
    name = curve.field.removesuffix("_in").removesuffix("_mm").replace("_", " ")
    axes.set_xlabel(f"{name}{',' + unit if unit else ''}")
    axes.set_ylabel("payback, years (modelled)")
    answer = "is" if curve.worth_now else "is not"
    hold = "HOLD: the work must not start. " if curve.readiness == "hold" else ""
    title = f"As it is, the fill {answer} worth its cost over {life:g} years (modelled)"
    axes.set_title(hold + title, loc="left")
    axes.legend(loc="upper left", frameon=False)
    _bare(axes)
    return axes


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


def options(comparison: Comparison, axes: Axes | None = None, currency: str = "$") -> Axes:
    """What each option costs in all over the years counted, at today's worth.

    Args:
        comparison: From `studbay.compare_options`.
        axes: Where to draw; new axes where left out.
        currency: Label in front of amounts.

    Returns:
        The axes: a bar for each option, the job and then the heat that is still lost.
    """
    axes = _own_axes(axes)
    rows = list(reversed(comparison.rows))
    places = list(range(len(rows)))
    job = [row.net_cost for row in rows]
    heat = [row.life_cycle_cost - row.net_cost for row in rows]
    axes.barh(places, job, color=DARK, height=0.55, label="the job, net of incentives")
    axes.barh(places, heat, left=job, color=MID, height=0.55, label="heat still lost")
    most = max((row.life_cycle_cost for row in rows), default=1.0)
    for place, row in zip(places, rows, strict=True):
        words = f" {currency}{row.life_cycle_cost:,.0f}"
        if row.ruled_out:
            words += "  HOLD: not now"
        elif row.best:
            words += "  least cost"
        axes.text(
            row.life_cycle_cost, place, words, va="center", ha="left",
            color=BAD if row.ruled_out else DARK, fontweight="bold" if row.best else "normal",
        )  # fmt: skip
    axes.set_yticks(places, [row.name for row in rows])
    axes.set_xlim(0.0, 1.3 * most)
    axes.set_xlabel(f"cost over the years counted, at today's worth, {currency} (modelled)")
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    axes.set_title("What each choice costs in all (modelled, not measured)", loc="left")
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.14), ncols=2, frameon=False)
    _bare(axes)
    return axes


def cash(ways: Sequence[Funding], axes: Axes | None = None, currency: str = "$") -> Axes:
    """The cash of each way to pay, summed from signing, in the money of its day.

    Args:
        ways: From `studbay.lending.ways_to_pay`.
        axes: Where to draw; new axes where left out.
        currency: Label in front of amounts.

    Returns:
        The axes: a line for each way; above 0 the fill has brought more than it took.
    """
    axes = _own_axes(axes)
    styles: list[Any] = ["-", "--", "-.", ":"]
    colours = [DARK, BAD, MID, GOOD]
    for place, way in enumerate(ways):
        years = way.years()
        word = "cash-positive from month 1" if way.cash_positive_from_month_1 else ""
        if way.loan is not None and not word:
            word = "not cash-positive from month 1"
        axes.plot(
            years["year"], years["cumulative"], linestyle=styles[place % 4],
            color=colours[place % 4], linewidth=2,
            label=f"{way.name}{': ' + word if word else ''}",
        )  # fmt: skip
    axes.axhline(0.0, color="#777777", linewidth=1)
    axes.set_xlim(left=0)
    axes.set_xlabel("years after signing")
    axes.set_ylabel(f"savings less payments so far, {currency} (modelled)")
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    axes.set_title("Cash so far by way to pay, in the money of its day (modelled)", loc="left")
    axes.legend(loc="upper left", frameon=False)
    _bare(axes)
    return axes


def _note(axes: Axes, words: str, place: tuple[float, float], *, right: bool, color: str) -> None:
    """Words a little beside a place."""
    ha: Literal["left", "right"] = "right" if right else "left"
    off = (-4 if right else 5, 4)
    axes.annotate(words, place, xytext=off, textcoords="offset points", ha=ha, color=color)


def _bare(axes: Axes) -> None:
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
