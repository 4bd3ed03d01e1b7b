"""Pictures of wall temperatures and of condensing vapour.

Each helper gives a figure; `figure.savefig("name.png")` writes it. The data of the pictures is in
`Comfort.to_dict()` and `Moisture.to_dict()`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from studbay import _style as style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from studbay import Comfort, Moisture

__all__ = ["monthly_condensation", "wall_profile"]

#: How a path is drawn: words, colour, dashes. A bay that was missed keeps the colour of what was
#: found.
STYLES = {
    ("framing", "found"): ("stud", style.BLACK, (0, (1, 1))),
    ("framing", "filled"): ("joist, covered", style.BLACK, (0, (3, 1))),
    ("framing", "missed"): ("joist, missed", style.BLACK, (0, (1, 1))),
    ("bay", "found"): ("bay as found", style.BEFORE, "solid"),
    ("bay", "filled"): ("filled bay", style.AFTER, "solid"),
    ("bay", "missed"): ("missed bay", style.BEFORE, "dashdot"),
    ("bare_bay", "found"): ("bay without its batt", style.BEFORE, (0, (5, 2))),
    ("bare_bay", "filled"): ("filled, had no batt", style.GREEN, (0, (5, 2))),
    ("bare_bay", "missed"): ("missed, had no batt", style.BEFORE, (0, (1, 2))),
}
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
#: Ounces in a square foot for a gram on a square metre.
OZ_FT2_PER_G_M2 = 0.3048**2 / 0.45359237 * 16 / 1000


@style.drawn
def wall_profile(comfort: Comfort, surface: int = 0, units: Literal["ip", "si"] = "ip") -> Figure:
    """The temperature through a surface by path, before and after, side by side.

    The way through the wall is its resistance: a path is a straight line from the room to the
    outdoors, and what matters is where its inside surface lies. Marks show the faces of layers.

    Args:
        comfort: What `studbay.comfort` gives.
        surface: Place of the surface in the house.
        units: `"ip"` for °F, `"si"` for °C.

    Returns:
        The figure.

    Raises:
        ImportError: Where matplotlib is not installed.
        ValueError: For a surface that the house does not have.
    """
    data = comfort.to_dict()
    if not 0 <= surface < len(data["surfaces"]):
        raise ValueError(f"the house has {len(data['surfaces'])} surfaces, counted from 0")
    entry = data["surfaces"][surface]
    figure = style.new_figure(1.35 * style.WIDTH, 5.2)
    axes: Any = figure.subplots(1, 2, sharey=True)
    for axis, when, title in zip(axes, ("before", "after"), ("Now", "After the fill"), strict=True):
        for path in entry[when]:
            draw_path(axis, path, units)
        unit = "h·ft²·°F/Btu" if units == "ip" else "m²K/W"
        style.furnish(axis, title=title, x=f"resistance passed, {unit}", foot=None)
        axis.legend(loc="upper right", fontsize=style.SMALL, title="inside surface")
    widest = max(axis.get_xlim()[1] for axis in axes)
    for axis in axes:
        axis.set_xlim(0, widest)
    unit = "°F" if units == "ip" else "°C"
    suffix = "f" if units == "ip" else "c"
    axes[0].set_ylabel(f"temperature, {unit}")
    figure.suptitle(
        f"Temperature through the {entry['kind'].replace('_', ' ')}: "
        f"{data[f'indoor_{suffix}']:.0f} {unit} inside, {data[f'outdoor_{suffix}']:.0f} {unit} "
        "outdoors",
        x=0.01,
        ha="left",
        fontsize=11,
    )
    _foot(figure, "Modelled, not measured: steady state, no air leaks.")
    return figure


def _foot(figure: Figure, words: str) -> None:
    """What a picture of several axes leaves out, under all of them."""
    figure.supxlabel(words, x=0.01, ha="left", fontsize=style.SMALL, color=style.MUTED)


def shown_share(share: float) -> str:
    """A share of the area in words."""
    if share == 0:
        return "none expected"
    return "under 1 %" if share < 0.01 else f"{share * 100:.0f} %"


def draw_path(axis: Axes, path: dict[str, Any], units: Literal["ip", "si"]) -> None:
    """One path as a line over the resistance that heat has passed."""
    suffix, key = ("f", "r") if units == "ip" else ("c", "rsi")
    passed, temperatures = [0.0], [path["layers"][0][f"from_{suffix}"]]
    for layer in path["layers"]:
        passed.append(passed[-1] + layer[key])
        temperatures.append(layer[f"to_{suffix}"])
    words, colour, dashes = STYLES[path["place"], path["state"]]
    unit = "°F" if units == "ip" else "°C"
    share = shown_share(path["share"])
    axis.plot(
        passed,
        temperatures,
        color=colour,
        linestyle=dashes,
        marker=".",
        markersize=5,
        label=f"{words}, {share}: {path[f'surface_{suffix}']:.1f} {unit}",
    )
    axis.plot(passed[1], temperatures[1], marker="o", color=colour, markersize=7)


@style.drawn
def monthly_condensation(moisture: Moisture, units: Literal["ip", "si"] = "ip") -> Figure:
    """Water that gathers and dries by month, in the bays as found and filled.

    Bars are what comes or dries in a month, the line is what is held at its end.

    Args:
        moisture: What `studbay.moisture` gives.
        units: `"ip"` for ounces in a square foot, `"si"` for grams on a square metre.

    Returns:
        The figure.

    Raises:
        ImportError: Where matplotlib is not installed.
    """
    data = moisture.to_dict()
    bays = data["before"] + data["after"]
    across = 1 if len(bays) == 1 else 2
    down = -(-len(bays) // across)
    figure = style.new_figure(style.WIDTH, 1.6 + 2.6 * down)
    grid: Any = figure.subplots(down, across, sharey=True, squeeze=False)
    axes = list(grid.flat)
    scale, unit = (1000 * OZ_FT2_PER_G_M2, "oz/ft²") if units == "ip" else (1000.0, "g/m²")
    for axis, bay in zip(axes, bays, strict=False):
        labels = [MONTHS[month["month"] - 1] for month in bay["months"]]
        gained = [scale * sum(month["gained_kg_m2"]) for month in bay["months"]]
        held = [scale * sum(month["held_kg_m2"]) for month in bay["months"]]
        places = range(len(labels))
        colours = [style.BEFORE if amount > 0 else style.AFTER for amount in gained]
        axis.bar(places, gained, color=colours, width=0.7)
        axis.plot(places, held, color=style.BLACK, marker="o", markersize=4)
        axis.axhline(0, color=style.BLACK, linewidth=0.8)
        axis.set_xticks(places, labels, rotation=90)
        words = STYLES[bay["place"], bay["state"]][0]
        title = f"{words[0].upper()}{words[1:]}, {shown_share(bay['share'])}"
        style.furnish(axis, title=title, foot=None, grid="y")
        if max(held) <= 0:
            axis.text(
                0.5,
                0.6,
                "none by this method",
                transform=axis.transAxes,
                ha="center",
                color=style.MUTED,
            )
    for axis in axes[len(bays) :]:
        axis.set_visible(False)
    # An empty picture would magnify rounding.
    low, high = axes[0].get_ylim()
    if high - low < 1e-6:
        axes[0].set_ylim(-1, 1)
    for row in grid:
        row[0].set_ylabel(f"condensed water, {unit}")
    # The empty lines of the title keep room for the legend.
    figure.suptitle(
        "Water condensed in the wall, month by month\n\n", x=0.01, ha="left", fontsize=11
    )
    below = 1.0 - 0.27 / figure.get_figheight()
    figure.legend(handles=legend_of(), loc="upper left", bbox_to_anchor=(0.0, below), ncols=3)
    _foot(
        figure,
        "Modelled, not measured: vapour diffusion only, no air leaks, no rain, no storage; no "
        "certificate.",
    )
    return figure


def legend_of() -> list[Any]:
    """What bars and line mean."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    return [
        Patch(color=style.BEFORE, label="gathers in the month"),
        Patch(color=style.AFTER, label="dries in the month"),
        Line2D([], [], color=style.BLACK, marker="o", markersize=4, label="held at its end"),
    ]
