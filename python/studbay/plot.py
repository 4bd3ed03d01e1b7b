"""Pictures, with matplotlib, which is loaded only when one is drawn.

Each function takes the axes that it is to draw on, or makes them, and gives them back; those of
several axes give a figure. Nothing is computed here: the data are those of the objects, and any
other tool can draw them. No setting of matplotlib is changed for the person who draws.

The colours are those of Okabe and Ito; a series differs in dash or marker too. For pictures of your
own beside them, `new_axes` makes axes, `series` gives the look of a series, and `furnish` puts on
title, axes and the note at the foot.

Examples:
    >>> import studbay  # doctest: +SKIP
    >>> house = studbay.House.from_file("demo-data/house.toml")  # doctest: +SKIP
    >>> ax = studbay.plot.payback_curve(studbay.payback_curve(house))  # doctest: +SKIP
    >>> ax.figure.savefig("curve.png")  # doctest: +SKIP
"""

from studbay._style import COLOURS, DASHES, MARKERS, furnish, new_axes, series
from studbay.plot_bills import saving, use_against_temperature
from studbay.plot_choices import cash, options, payback_curve
from studbay.plot_comfort import monthly_condensation, wall_profile
from studbay.plot_doubt import cash_range, picture, swing_bars
from studbay.plot_evidence import draw_machine_chart, machine_charts_figure, save_machine_charts
from studbay.plot_portfolio import payback_spread

__all__ = [
    "COLOURS",
    "DASHES",
    "MARKERS",
    "cash",
    "cash_range",
    "draw_machine_chart",
    "furnish",
    "machine_charts_figure",
    "monthly_condensation",
    "new_axes",
    "options",
    "payback_curve",
    "payback_spread",
    "picture",
    "save_machine_charts",
    "saving",
    "series",
    "swing_bars",
    "use_against_temperature",
    "wall_profile",
]
