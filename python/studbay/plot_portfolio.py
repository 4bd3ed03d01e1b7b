"""Pictures of many scored houses."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from studbay import _style as style

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.axes import Axes

    from studbay import Summary

__all__ = ["payback_spread"]


@style.drawn
def payback_spread(
    summary: Summary,
    ax: Axes | None = None,
    *,
    key: Callable[[str], Any] | None = None,
) -> Axes:
    """Draws how the payback spreads from house to house, group by group.

    Args:
        summary: What `studbay.summarize` gave, grouped by a column.
        ax: Where to draw; new axes where left out.
        key: Order of the groups from the top, as for `sorted`; that of the summary where left out.

    Returns:
        The axes: a thin line from the tenth to the ninetieth of a hundred houses, a thick one over
        the middle half, a point at the median. Groups without any payback are left out.

    Raises:
        ImportError: Without matplotlib.
    """
    document = summary.to_dict()
    by = document["by"] or ""
    groups = [group for group in document["groups"] if group["houses_with_payback"]]
    if key is not None:
        order = key
        groups.sort(key=lambda group: order(group[by] or ""))
    ax = style.new_axes(ax, height=1.6 + 0.4 * max(len(groups), 3))
    for place, group in enumerate(groups):
        p10, p25, p50, p75, p90 = (group[f"payback_years_p{p}"] for p in (10, 25, 50, 75, 90))
        ax.hlines(place, p10, p90, color=style.MUTED, linewidth=1.5)
        ax.hlines(place, p25, p75, color=style.BLUE, linewidth=7)
        ax.plot(p50, place, "o", color="white", markeredgecolor=style.BLACK, markersize=7)
    names = [f"{group[by] or 'not given'} ({group['houses_scored']:,})" for group in groups]
    ax.set_yticks(range(len(groups)), names)
    ax.set_ylim(len(groups) - 0.5, -0.5)
    ax.set_xlim(left=0)
    ax.tick_params(axis="y", length=0)
    style.furnish(
        ax,
        title=f"Payback by {by.replace('_', ' ')}, from house to house",
        x="simple payback, years (modelled)",
        foot="Modelled, not measured. Thin line: 10th to 90th of a hundred houses; thick: the "
        "middle half; point: the median. In brackets: houses scored.",
        grid="x",
    )
    ax.spines["left"].set_visible(False)
    return ax
