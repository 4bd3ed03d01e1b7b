"""Pictures: told apart by every eye, nothing cut off, no setting of the person changed."""

from __future__ import annotations

import itertools
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text
from numpy.typing import NDArray

import studbay
from studbay import House, HouseFile, lending, plot
from studbay import _style as style

mpl.use("Agg")

DEMO = Path(__file__).parents[2] / "demo-data"
Vector = NDArray[np.float64]

#: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, A physiologically-based model for simulation
#: of color vision deficiency, IEEE Trans. Visualization and Computer Graphics 15(6), 2009, severity
#: 1.0, on linear RGB. S2: seen quoted, alike in several places.
EYES = {
    "all cones": np.eye(3),
    "no long-wave cones": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "no middle-wave cones": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
}
#: From linear sRGB to CIE XYZ under D65, IEC 61966-2-1 (M).
XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
#: Least distance of two colours in CIELAB 1976; about 2.3 is just seen (M). J: ten times that.
LEAST_DISTANCE = 23.0
#: Least contrast with white: of words, of lines and marks (WCAG 2.2, 1.4.3 and 1.4.11, S2).
WORDS, MARKS = 4.5, 3.0


def linear(colour: str) -> Vector:
    """The amounts of light of a colour written #rrggbb (IEC 61966-2-1)."""
    coded = np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)]) / 255
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def lab(light: Vector) -> Vector:
    """CIELAB of 1976."""
    x, y, z = XYZ @ light.clip(0, 1) / XYZ.sum(axis=1)
    x, y, z = (t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116 for t in (x, y, z))
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def distance(one: str, other: str, eye: Vector) -> float:
    return float(np.linalg.norm(lab(eye @ linear(one)) - lab(eye @ linear(other))))


def contrast(colour: str) -> float:
    """Contrast with white, as WCAG counts it."""
    return 1.05 / (float(linear(colour) @ [0.2126, 0.7152, 0.0722]) + 0.05)


@pytest.mark.parametrize("eye", EYES)
def test_any_two_series_are_told_apart(eye: str) -> None:
    together = [*itertools.combinations(style.COLOURS, 2), (style.BLUE, style.SKY)]
    for one, other in together:
        assert distance(one, other, EYES[eye]) > LEAST_DISTANCE, (one, other)


def test_the_measure_finds_colours_that_some_eyes_confuse() -> None:
    """Red and green of equal lightness, and two of the palette that are left alone here."""
    assert distance("#CC0000", "#4E7A00", EYES["all cones"]) > 90
    assert distance("#CC79A7", style.GREEN, EYES["no middle-wave cones"]) < LEAST_DISTANCE
    # L*a*b* of the red primary, by hand from the published white and primaries.
    assert lab(linear("#FF0000")) == pytest.approx([53.24, 80.09, 67.20], abs=0.02)
    assert contrast("#777777") == pytest.approx(4.48, abs=0.01)
    for eye in EYES.values():
        assert eye @ np.ones(3) == pytest.approx(np.ones(3), abs=1e-5), "white stays white"


def test_lines_and_words_stand_out_from_white() -> None:
    assert min(map(contrast, style.COLOURS)) >= MARKS
    assert min(map(contrast, (style.BLACK, style.MUTED, style.ALERT))) >= WORDS


def test_no_two_series_have_the_same_look() -> None:
    looks = [str(sorted(plot.series(place, points=True).items(), key=str)) for place in range(12)]
    assert len(set(looks)) == len(looks)
    dashes = [str(plot.series(place)["linestyle"]) for place in range(6)]
    assert len(set(dashes)) == 6, "without colour too"


def house() -> House:
    return House.from_file(DEMO / "house.toml")


def held() -> House:
    return House(
        house_id="held", wall_area_ft2=1200, series_r=3.06, heating_degree_days_f=5600,
        heating_efficiency=0.8, fuel="natural_gas", fuel_price=1.5, installed_cost=12_000,
        knob_and_tube="yes", life_years=30,
    )  # fmt: skip


def fits() -> list[studbay.BillFit]:
    """Twelve months each, about straight lines; invented."""
    import polars as pl

    temperature = [28.0, 30, 38, 48, 58, 67, 72, 71, 63, 52, 42, 32]
    wiggle = [0.1, -0.1, 0.05, -0.05, 0.1, 0.02, -0.02, 0.03, -0.1, 0.05, -0.05, 0.1]
    return [
        studbay.fit_means(
            pl.DataFrame(
                {
                    "mean_f": temperature,
                    "use": [slope * (80 - t) + w for t, w in zip(temperature, wiggle, strict=True)],
                }
            ),
            fuel="natural_gas",
            resamples=60,
        )
        for slope in (0.12, 0.08)
    ]


def moisture() -> studbay.Moisture:
    return studbay.moisture(
        house(),
        outdoor_c=[20.0 - 24 * abs(6 - month) / 6 for month in range(12)],
        outdoor_rh=[0.75] * 12,
        exterior_coat="exterior_oil_old",
        indoor_class="normal",
    )


def portfolio() -> studbay.Summary:
    return studbay.summarize(studbay.score(table()), by="county")


def table() -> Any:
    import polars as pl

    return pl.read_csv(DEMO / "portfolio.csv", infer_schema=False).head(400)


def charts(name: str) -> Any:
    return HouseFile.from_file(DEMO / name).prove().to_dict()["machines"]


PICTURES: dict[str, Callable[[], Any]] = {
    "use_against_temperature": lambda: plot.use_against_temperature(fits()[0]),
    "saving": lambda: plot.saving(fits()[0], fits()[1], units="si"),
    "payback_curve": lambda: plot.payback_curve(studbay.payback_curve(house())),
    "payback_curve held": lambda: plot.payback_curve(studbay.payback_curve(held())),
    "options": lambda: plot.options(studbay.compare_options(house())),
    "options held": lambda: plot.options(studbay.compare_options(held())),
    "cash": lambda: plot.cash(lending.ways_to_pay(house(), work_year=2026)),
    "cash_range": lambda: plot.cash_range(studbay.doubt(house(), draws=200)),
    "swing_bars": lambda: plot.swing_bars(house()),
    "picture": lambda: plot.picture(house(), studbay.doubt(house(), draws=200)),
    "wall_profile": lambda: plot.wall_profile(studbay.comfort(house(), outdoor_f=5)),
    "wall_profile si": lambda: plot.wall_profile(
        studbay.comfort(house(), outdoor_c=-15), units="si"
    ),
    "monthly_condensation": lambda: plot.monthly_condensation(moisture()),
    "machine_charts_figure": lambda: plot.machine_charts_figure(charts("house-as-built.toml")),
    "payback_spread": lambda: plot.payback_spread(portfolio()),
}
every_picture = pytest.mark.parametrize("name", PICTURES)


@pytest.fixture
def figure(name: str) -> Any:
    import matplotlib.pyplot as plt

    drawn = PICTURES[name]()
    shown = drawn if isinstance(drawn, Figure) else drawn.figure
    yield shown
    plt.close("all")


def words(figure: Figure) -> list[Text]:
    """All words that are seen."""
    found: list[Any] = figure.findobj(Text)
    return [text for text in found if text.get_visible() and text.get_text().strip()]


@every_picture
def test_no_words_are_cut_off_or_pale(name: str, figure: Figure) -> None:
    figure.set_dpi(100)
    figure.draw_without_rendering()
    # Labels of ticks beyond the ends of an axis stay on record, and are not drawn.
    ticks = {
        id(label)
        for ax in figure.axes
        for axis in (ax.xaxis, ax.yaxis)
        for label in axis.get_ticklabels(which="both")
    }
    seen = [text for text in words(figure) if id(text) not in ticks]
    assert any(word in text.get_text().lower() for text in seen for word in ("modelled", "metered"))
    frame = figure.bbox
    for text in seen:
        box = text.get_window_extent()
        inside = box.x0 >= -1 and box.y0 >= -1 and box.x1 <= frame.x1 + 1 and box.y1 <= frame.y1 + 1
        assert inside, (text.get_text(), box, frame)
        assert float(text.get_fontsize()) >= 8, text.get_text()
        assert contrast(mpl.colors.to_hex(text.get_color())) >= WORDS, text.get_text()


@every_picture
def test_no_legend_lies_on_a_title(name: str, figure: Figure) -> None:
    figure.draw_without_rendering()
    legends = [*figure.legends, *(ax.get_legend() for ax in figure.axes)]
    titles = [title for ax in figure.axes for title in (ax.title, ax._left_title)]  # type: ignore[attr-defined]
    for legend in filter(None, legends):
        for title in titles:
            if title.get_text():
                lies = legend.get_window_extent().overlaps(title.get_window_extent())
                assert not lies, title.get_text()


@every_picture
def test_named_lines_differ_in_more_than_colour(name: str, figure: Figure) -> None:
    for ax in figure.axes:
        named = [line for line in ax.get_lines() if not str(line.get_label()).startswith("_")]
        # The dashes as they are drawn: a dash pattern of one's own is called "--" by its name.
        looks = [(str(line._dash_pattern), line.get_marker()) for line in named]  # type: ignore[attr-defined]
        assert len(set(looks)) == len(looks), [line.get_label() for line in named]
        for axis in (ax.xaxis, ax.yaxis):
            label = axis.get_label_text()
            if "temperature" in label:
                assert label.endswith(("°F", "°C"))


def test_settings_of_the_person_stay_and_theirs_axes_are_taken() -> None:
    before = dict(mpl.rcParams)
    for name in ("options", "wall_profile", "swing_bars"):
        PICTURES[name]()
    with pytest.raises(ValueError, match="ip or si"):
        plot.use_against_temperature(fits()[0], units="kelvin")
    assert dict(mpl.rcParams) == before
    own = Figure().subplots()
    assert plot.options(studbay.compare_options(house()), ax=own) is own
    assert plot.cash_range(studbay.doubt(house(), draws=50), ax=own) is own


def test_every_public_picture_is_drawn_here() -> None:
    tools = {"COLOURS", "DASHES", "MARKERS", "furnish", "new_axes", "series"}
    through_others = {"draw_machine_chart", "save_machine_charts"}
    drawn = {name.partition(" ")[0] for name in PICTURES}
    assert set(plot.__all__) - tools - through_others == drawn


def test_groups_come_in_the_order_asked_for() -> None:
    summary = portfolio()
    names = sorted(group["county"] for group in summary.to_dict()["groups"])
    ax = plot.payback_spread(summary, key=lambda name: -names.index(name))
    labels = [label.get_text().partition(" (")[0] for label in ax.get_yticklabels()]
    assert labels == names[::-1]


def test_matplotlib_is_loaded_only_to_draw() -> None:
    code = (
        "import sys, studbay; studbay.plot.payback_curve; "
        "assert 'matplotlib' not in sys.modules; "
        "sys.modules['matplotlib'] = None\n"
        "try: studbay.plot.swing_bars(None)\n"
        "except ImportError as error: assert 'pip install matplotlib' in str(error)\n"
        "else: raise SystemExit('drawn without it')"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
