"""What the pictures of the package have in common: colours, sizes, axes, notes at the foot.

No setting of the person who draws is changed: each picture is drawn inside `drawn`, which puts
every setting back, and takes the axes that it is given or makes its own.

- Quantity and unit stand on the axis, `quantity, unit`; an amount of money has its currency.
- The title says what is seen; the foot says what the figures are: modelled or metered.
- A series has a colour, a dash and a marker of its own, and a name: never colour alone.
"""

from __future__ import annotations

import functools
import sys
import textwrap
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

P = ParamSpec("P")
R = TypeVar("R")

# The colours of M. Okabe and K. Ito, Color Universal Design: how to make figures and presentations
# that are friendly to colourblind people, 2002, revised 2008. S2: seen quoted. Yellow, orange and
# reddish purple are left alone: too pale on white, or too near another one to some eyes.
BLACK, BLUE, VERMILION, GREEN = "#000000", "#0072B2", "#D55E00", "#009E73"
SKY = "#56B4E9"
#: Greys and a dark vermilion for words and lines that are no series. J: judged; the test of the
#: style holds them to a contrast with white.
MUTED, ALERT = "#666666", "#A84A00"

#: The colours of series, in the order in which they are taken. Any two can be told apart.
COLOURS = (BLUE, VERMILION, BLACK, GREEN)
#: The shape of the points of each series.
MARKERS = ("o", "s", "^", "D", "v", "P")
#: The dashes of each series.
DASHES: tuple[Any, ...] = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (8, 2)))
#: What was found, what the fill makes of it: the same in every picture.
BEFORE, AFTER = VERMILION, BLUE
#: A surface of one colour: only inside an edge, or a line, that can be seen by itself.
FILL_ALPHA = 0.18
#: White lines across a bar, where bars of two sorts stand together.
HATCH = "////"

#: Width of a picture, inches, for a notebook and a printed page; its usual height.
WIDTH, HEIGHT = 7.0, 4.5
LINE, THIN = 1.8, 1.0
SMALL = 8.5

MODELLED = "Modelled, not measured."

SETTINGS: dict[Any, Any] = {
    "font.size": 10,
    "axes.titlesize": 11,
    "axes.titlelocation": "left",
    "axes.labelsize": 10,
    "xtick.labelsize": 9,
    "ytick.labelsize": 9,
    "legend.fontsize": 9,
    "legend.title_fontsize": 9,
    "legend.frameon": True,
    "legend.framealpha": 0.85,
    "legend.edgecolor": "none",
    "lines.linewidth": LINE,
    "lines.markersize": 6,
    "hatch.color": "white",
    "hatch.linewidth": 1.0,
    "text.color": BLACK,
    "axes.axisbelow": True,
}


def drawn(draw: Callable[P, R]) -> Callable[P, R]:
    """Draws with the settings of the package, and puts back those that were there."""

    @functools.wraps(draw)
    def inside(*args: P.args, **kwargs: P.kwargs) -> R:
        try:
            import matplotlib
        except ImportError as error:
            message = "pictures need matplotlib: pip install matplotlib"
            raise ImportError(message) from error
        # Not `rc_context`: it would also put back what loading pyplot inside it sets, and a
        # notebook would show no figure any more.
        theirs = {name: matplotlib.rcParams[name] for name in SETTINGS}
        matplotlib.rcParams.update(SETTINGS)
        try:
            return draw(*args, **kwargs)
        finally:
            matplotlib.rcParams.update(theirs)

    return inside


@drawn
def new_axes(ax: Axes | None = None, *, width: float = WIDTH, height: float = HEIGHT) -> Axes:
    """The axes given, or those of a new figure.

    Args:
        ax: Axes that are there already.
        width: Of a new figure, inches.
        height: Of a new figure, inches.

    Returns:
        The axes.

    Raises:
        ImportError: Without matplotlib.
    """
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt

    return plt.subplots(figsize=(width, height), layout="constrained")[1]


def new_figure(width: float = WIDTH, height: float = HEIGHT) -> Figure:
    """A figure of its own, which needs no closing, for pictures of several axes."""
    from matplotlib.figure import Figure

    if "IPython" in sys.modules:
        # A notebook shows a figure only once this is loaded.
        import matplotlib.pyplot  # noqa: F401
    return Figure(figsize=(width, height), layout="constrained")


@drawn
def furnish(
    ax: Axes,
    *,
    title: str | None = None,
    x: str | None = None,
    y: str | None = None,
    foot: str | None = MODELLED,
    grid: str | None = "both",
    alert: bool = False,
) -> Axes:
    """Gives axes what every picture of the package has.

    Args:
        ax: The axes.
        title: What is seen.
        x: Words of the horizontal axis, as `quantity, unit`.
        y: Words of the vertical axis.
        foot: What the figures are, and where they come from; none where it is None.
        grid: Lines across `"x"`, `"y"`, `"both"`, or none where it is None.
        alert: Whether the title is a warning.

    Returns:
        The axes.
    """
    ax.spines[["top", "right"]].set_visible(False)
    ax.spines[["left", "bottom"]].set_color(MUTED)
    ax.tick_params(color=MUTED)
    if grid is not None:
        lines: Any = grid
        ax.grid(visible=True, axis=lines, alpha=0.25, linewidth=0.8)
    if title is not None:
        ax.set_title(title, color=ALERT if alert else BLACK)
    if x is not None:
        ax.set_xlabel(x)
    if y is not None:
        ax.set_ylabel(y)
    if foot:
        note(ax, foot)
    return ax


def note(ax: Axes, words: str, characters: int = 84) -> None:
    """Small words under the label of the horizontal axis."""
    ax.annotate(
        textwrap.fill(words, characters),
        (0.0, 0.0),
        xycoords=("axes fraction", ax.xaxis.label),
        xytext=(0, -4),
        textcoords="offset points",
        va="top",
        fontsize=SMALL,
        color=MUTED,
        annotation_clip=False,
    )


def series(place: int, *, points: bool = False, line: bool = True) -> dict[str, Any]:
    """Colour, dash and marker of a series, as keywords of `Axes.plot`."""
    look: dict[str, Any] = {
        "color": COLOURS[place % len(COLOURS)],
        "linestyle": DASHES[place % len(DASHES)] if line else "",
    }
    if points:
        look |= {"marker": MARKERS[place % len(MARKERS)], "markeredgecolor": "white"}
    return look


def amount(value: float, currency: str = "$") -> str:
    """An amount of money, as an axis has it."""
    sign = "−" if value < 0 else ""
    return f"{sign}{currency}{abs(value):,.0f}"


def column(values: Sequence[float | None]) -> list[float]:
    """Figures to draw; one that does not exist leaves a gap."""
    return [float("nan") if value is None else value for value in values]
