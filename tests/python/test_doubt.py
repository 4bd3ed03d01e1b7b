"""Doubt: draws against assessments, quantiles against numpy, shares against SALib, distributions
against scipy, and what is refused."""

from __future__ import annotations

import json
import pickle
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
import pytest
from SALib.analyze import sobol
from scipy import stats

import studbay
from studbay.errors import InputError, SchemaError

FIELDS: dict[str, Any] = {
    "house_id": "doubted",
    "wall_area_ft2": 1500,
    "cavity_depth_in": 3.75,
    "series_r": 3.0,
    "batt_thickness_in": 1.5,
    "batt_missing_fraction": 0.2,
    "heating_degree_days_f": 5600,
    "heating_efficiency": 0.8,
    "fuel": "natural_gas",
    "fuel_price": 1.5,
    "installed_cost": 3200,
}
FIGURES = [
    "fuel_saved",
    "annual_savings",
    "net_cost",
    "simple_payback_years",
    "npv",
    "annual_co2e_kg",
    "lifetime_co2e_kg",
]
ROOT = Path(__file__).parents[2]


def house(**more: Any) -> studbay.House:
    return studbay.House(**(FIELDS | more))


def ranged(**ranges: Any) -> studbay.House:
    return house(ranges=ranges)


def drawn(of: studbay.House, draws: int = 20_000, **more: Any) -> studbay.Doubt:
    return studbay.doubt(of, draws=draws, own_only=True, **more)


def test_a_draw_is_the_assessment_of_the_house_that_one_would_write() -> None:
    doubt = studbay.doubt(house(), draws=200, seed=5)
    names = [entry["name"] for entry in doubt.inputs]
    assert {"realization_rate", "fuel_price", "batt_thickness_in"} <= set(names)
    columns = {name: doubt.drawn(name) for name in names}
    for draw in range(0, 200, 13):
        fields = {name: column[draw] for name, column in columns.items()}
        fields["wall_area_ft2"] = fields.pop("area_ft2")
        assessment = studbay.assess(**(FIELDS | fields))
        for figure in FIGURES:
            assert doubt.values(figure)[draw] == getattr(assessment, figure), figure


def test_quantiles_are_those_of_numpy() -> None:
    doubt = studbay.doubt(house(), draws=777)
    for figure in FIGURES:
        values = np.array(doubt.values(figure))
        for share in (0.0, 0.1, 0.25, 0.5, 0.9, 0.999, 1.0):
            wanted = float(np.quantile(values, share))
            assert doubt.quantile(figure, share) == pytest.approx(wanted, rel=1e-13), figure
        assert doubt.band(figure) == tuple(doubt.quantile(figure, q) for q in (0.1, 0.5, 0.9))
        assert doubt.point(figure) == getattr(house().assess(), figure)
    npv = np.array(doubt.values("npv"))
    assert doubt.chance_of_gain == float(np.mean(npv > 0))
    payback = np.array(doubt.values("simple_payback_years"))
    assert doubt.chance_of_payback_within(9.0) == float(np.mean(payback <= 9.0))


#: The range of the fuel price, and the same distribution by scipy.
PRICES: list[tuple[str, Any, Callable[[], Any]]] = [
    ("uniform", [1.0, 2.0], lambda: stats.uniform(1.0, 1.0)),
    ("triangular", [1.0, 1.5, 3.0], lambda: stats.triang(0.25, 1.0, 2.0)),
    (
        "normal",
        {"distribution": "normal", "mean": 1.6, "sd": 0.5, "low": 0.9, "high": 3.0},
        lambda: stats.truncnorm(-1.4, 2.8, 1.6, 0.5),
    ),
    (
        "a tail of the normal",
        {"distribution": "normal", "mean": -2.0, "sd": 0.6, "low": 1.2, "high": 2.0},
        lambda: stats.truncnorm(3.2 / 0.6, 4.0 / 0.6, -2.0, 0.6),
    ),
    (
        "lognormal",
        {"distribution": "lognormal", "median": 1.5, "gsd": 1.4},
        lambda: stats.lognorm(np.log(1.4), scale=1.5),
    ),
]


@pytest.mark.parametrize(("given", "known"), [p[1:] for p in PRICES], ids=[p[0] for p in PRICES])
def test_draws_have_the_distribution_that_scipy_has(given: Any, known: Callable[[], Any]) -> None:
    doubt = drawn(ranged(fuel_price=given))
    prices = np.sort(doubt.drawn("fuel_price"))
    count = len(prices)
    # One draw in each of n equal parts: each lies between the quantiles of its part.
    edges = known().ppf(np.linspace(0, 1, count + 1))
    edges[-1] = min(edges[-1], 1e15)
    slack = 1e-9 * np.abs(prices)
    assert np.all(edges[:-1] <= prices + slack)
    assert np.all(prices <= edges[1:] + slack)
    assert np.mean(prices) == pytest.approx(known().mean(), rel=2e-4)


def test_what_a_price_does_to_the_money_has_a_closed_form() -> None:
    doubt = drawn(ranged(fuel_price=[1.0, 1.5, 3.0]))
    point = house().assess()
    per_price = point.annual_savings / 1.5
    law = stats.triang(0.25, 1.0, 2.0)
    assert np.mean(doubt.values("annual_savings")) == pytest.approx(
        per_price * law.mean(), rel=1e-5
    )
    low, middle, high = doubt.band("annual_savings")
    assert (low, middle, high) == pytest.approx(per_price * law.ppf([0.1, 0.5, 0.9]), rel=1e-3)
    worth = (point.npv + point.net_cost) / 1.5
    assert doubt.chance_of_gain == pytest.approx(law.sf(point.net_cost / worth), abs=1e-4)
    within = law.sf(point.net_cost / per_price / 8.0)
    assert doubt.chance_of_payback_within(8.0) == pytest.approx(within, abs=1e-4)


@pytest.mark.parametrize("figure", ["npv", "annual_savings", "simple_payback_years"])
def test_shares_of_variance_are_those_of_salib_on_the_same_evaluations(figure: str) -> None:
    found = studbay.doubt(house(), seed=11).shares(figure, base=512)
    count = len(found.shares)
    problem = {
        "num_vars": count,
        "names": [str(n) for n in range(count)],
        "bounds": [[0, 1]] * count,
    }
    evaluations = np.array(found.evaluations)
    assert len(evaluations) == 512 * (count + 2)
    theirs = sobol.analyze(problem, evaluations, calc_second_order=False, num_resamples=2, seed=1)
    for share, column in zip(found.shares, found.columns, strict=True):
        assert share["first"] == pytest.approx(theirs["S1"][column], abs=1e-10)
        assert share["total"] == pytest.approx(theirs["ST"][column], abs=1e-10)
    totals = [share["total"] for share in found.shares]
    assert totals == sorted(totals, reverse=True)
    assert found.headline is not None
    assert found.shares[0]["words"] in found.headline
    assert found.shares[0]["advice"] in found.headline


def test_shares_settle_where_more_draws_are_taken() -> None:
    doubt = studbay.doubt(house())
    few, many = (
        {s["names"][0]: s for s in doubt.shares(base=base).shares} for base in (2048, 32_768)
    )
    for name, share in few.items():
        assert abs(share["total"] - many[name]["total"]) < 4 * share["total_error"] + 0.002, name
        assert abs(share["first"] - many[name]["first"]) < 4 * share["first_error"] + 0.002, name
    assert sum(s["first"] for s in many.values()) < 1.02
    assert sum(s["total"] for s in many.values()) > 0.98


def test_the_same_seed_gives_the_same_bits_in_another_process() -> None:
    code = (
        "import json, studbay, sys; "
        f"house = studbay.House(**json.loads({json.dumps(json.dumps(FIELDS))})); "
        "print(json.dumps(studbay.doubt(house, draws=50, seed=9).values('npv')))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    here = studbay.doubt(house(), draws=50, seed=9).values("npv")
    assert json.loads(run.stdout) == here
    assert studbay.doubt(house(), draws=50, seed=10).values("npv") != here


def test_cash_ends_at_the_net_present_value() -> None:
    doubt = studbay.doubt(house(life_years=20), draws=500)
    cash = doubt.cash()
    assert [entry["year"] for entry in cash] == list(range(21))
    last = cash[-1]
    assert (last["discounted_p10"], last["discounted_p50"], last["discounted_p90"]) == doubt.band(
        "npv"
    )
    assert last["discounted_point"] == doubt.point("npv")
    assert cash[0]["point"] == -3200
    for year in cash[1:]:
        assert year["p10"] <= year["p50"] <= year["p90"]


def test_swings_are_sorted_and_come_from_the_ends() -> None:
    own = house(ranges={"fuel_price": [1.0, 1.5, 3.0]})
    swings = studbay.swings(own)
    widths = [abs(s["at_high"] - s["at_low"]) for s in swings]
    assert widths == sorted(widths, reverse=True)
    price = next(s for s in swings if s["name"] == "fuel_price")
    assert price["own"] is True
    assert price["at_low"] == studbay.assess(**(FIELDS | {"fuel_price": 1.0})).simple_payback_years
    assert price["at_high"] == studbay.assess(**(FIELDS | {"fuel_price": 3.0})).simple_payback_years


def test_realised_savings_are_there_with_their_sources_and_narrowed_by_bills() -> None:
    def realised(**more: Any) -> dict[str, Any]:
        inputs = studbay.doubt(house(**more), draws=10).inputs
        return next(entry for entry in inputs if entry["name"] == "realization_rate")

    without = realised()
    assert (without["low"], without["high"]) == (0.39, 1.0)
    assert "Fowlie" in without["source"]
    with_bills = realised(billed_heating_fuel=900)
    assert (with_bills["low"], with_bills["high"]) == (0.7, 1.0)
    assert "rated use before and after" in with_bills["source"]
    text = "\n".join(
        f"{label} {line}" for b in studbay.doubt(house()).account() for label, line in b.lines
    )
    for source in ("Fowlie", "Sunikka-Blank", "Cozza"):
        assert source in text


def test_the_account_puts_a_hold_first_and_calls_itself_modelled() -> None:
    blocks = studbay.doubt(house(knob_and_tube="yes")).account(units="si", currency="CA$")
    assert blocks[0].tone == "hold"
    answer = next(block for block in blocks if block.tone == "answer")
    assert "modelled, not measured" in answer.title
    assert "CA$" in str(answer.lines)
    html = studbay.doubt(house(house_id="<b>"))._repr_html_()
    assert "&lt;b&gt;" in html
    assert "<b>" not in html


def test_a_house_keeps_its_ranges() -> None:
    ranges = {
        "fuel_price": (1.0, 1.5, 3.0),
        "air_gap_level": {"values": [0, 1, 2], "weights": [1, 2, 1]},
        "fuel_escalation": {"low": 0, "high": 0.04, "moves_with": "fuel_price"},
    }
    own = ranged(**ranges)
    assert own == pickle.loads(pickle.dumps(own))
    assert own != house()
    assert own.assess().npv == house().assess().npv
    doubt = drawn(own, 300)
    assert set(doubt.drawn("air_gap_level")) == {0.0, 1.0, 2.0}
    price, rise = np.array(doubt.drawn("fuel_price")), np.array(doubt.drawn("fuel_escalation"))
    assert np.array_equal(np.argsort(price), np.argsort(rise))
    described = {entry["name"]: entry for entry in doubt.inputs}
    assert described["fuel_escalation"]["moves_with"] == "fuel_price"
    assert house(ranges=None) == house()


@pytest.mark.parametrize(
    ("ranges", "field", "reason"),
    [
        ({"fuel_price": [2, 1]}, "ranges.fuel_price", "low = 2 must not be above high = 1"),
        ({"batt_thickness_mm": [10, 900]}, "ranges.batt_thickness_mm", "allowed is 0 to 609.6 mm"),
        (
            {"fuel_price": {"distribution": "gauss"}},
            "ranges.fuel_price.distribution",
            "must be one of",
        ),
        ({"fuel_price": "cheap"}, "ranges.fuel_price", "must be [low, high]"),
        ({"fuel_price": [1, float("nan")]}, "ranges.fuel_price", "is not a finite number"),
        ({"fuel_price": [2, 3]}, "ranges.fuel_price", "must hold the house's own value"),
        ({"no_such": [2, 3]}, "ranges.no_such", "no field has this name"),
    ],
)
def test_a_bad_range_names_field_value_and_range(ranges: Any, field: str, reason: str) -> None:
    with pytest.raises(InputError) as caught:
        ranged(**ranges)
    [issue] = caught.value.issues
    assert issue.field == field
    assert reason in issue.reason


def test_bad_arguments_are_refused() -> None:
    doubt = studbay.doubt(house(), draws=10)
    calls: list[Callable[[], object]] = [
        lambda: studbay.doubt(house(), draws=0),
        lambda: studbay.doubt(house(), draws=2_000_000),
        lambda: doubt.band("payback"),
        lambda: doubt.quantile("npv", 1.5),
        lambda: doubt.quantile("npv", float("nan")),
        lambda: doubt.chance_of_payback_within(-1.0),
        lambda: doubt.drawn("fuel"),
        lambda: doubt.shares("npv", base=1),
        lambda: doubt.shares("irr"),
        lambda: doubt.account(units="metric"),  # type: ignore[arg-type]
        lambda: drawn(house(), 10).shares("npv"),
        lambda: studbay.score_ranges(pl.DataFrame(FIELDS), draws=0),
        lambda: studbay.score_ranges(pl.DataFrame(FIELDS), within=-1),
        lambda: studbay.score_ranges(pl.DataFrame(FIELDS), threads=0),
    ]
    for call in calls:
        with pytest.raises(InputError):
            call()


def rows(count: int) -> pl.DataFrame:
    return pl.DataFrame(
        [
            FIELDS
            | {"house_id": f"h{n}", "county": "Elm", "wall_area_ft2": 900 + n if n != 3 else -1}
            for n in range(count)
        ]
    )


def test_a_row_has_the_numbers_of_its_house() -> None:
    table = rows(40)
    one = studbay.score_ranges(table, draws=300, seed=4, within=12, threads=1).to_polars()
    two = studbay.score_ranges(table, draws=300, seed=4, within=12, threads=2).to_polars()
    assert one.equals(two)
    assert one.columns[:2] == ["house_id", "county"]
    row = one.row(20, named=True)
    doubt = studbay.doubt(house(wall_area_ft2=920), draws=300, seed=4)
    for figure in FIGURES:
        bands = tuple(row[f"{figure}_{end}"] for end in ("p10", "p50", "p90"))
        assert bands == doubt.band(figure)
    assert row["chance_of_payback"] == doubt.chance_of_payback_within(12)
    assert row["chance_of_gain"] == doubt.chance_of_gain
    assert one["faults"].null_count() == 39
    assert one["faults"][3].startswith("wall_area_ft2 = -1")
    with pytest.raises(SchemaError, match="there is no column fuel"):
        studbay.score_ranges(table.drop("fuel"))
    empty = studbay.score_ranges(table.clear()).to_polars()
    assert empty.height == 0
    assert empty.columns == one.columns


def test_draws_as_a_table() -> None:
    doubt = studbay.doubt(house(), draws=100)
    frame = pl.DataFrame(doubt)
    assert frame.height == 100
    assert frame["npv"].to_list() == doubt.values("npv")
    assert frame["fuel_price"].to_list() == doubt.drawn("fuel_price")


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "studbay.cli", *arguments]
    return subprocess.run(command, capture_output=True, text=True, timeout=300)


def test_the_command_line(tmp_path: Path) -> None:
    demo = str(ROOT / "demo-data" / "house.toml")
    told = run("doubt", demo, "--draws", "500")
    assert told.returncode == 0, told.stderr
    assert "Payback" in told.stdout
    assert "Fowlie" in told.stdout
    document = json.loads(run("doubt", demo, "--draws", "500", "--json").stdout)
    assert document["modelled"] is True
    assert document["figures"]["npv"]["p10"] < document["figures"]["npv"]["p90"]
    assert document["shares"]["headline"]
    picture = tmp_path / "doubt.png"
    assert run("doubt", demo, "--draws", "200", "--picture", str(picture)).returncode == 0
    assert picture.stat().st_size > 10_000
    assert run("doubt", demo, "--picture", str(tmp_path / "doubt.xyz")).returncode == 2

    table = tmp_path / "houses.csv"
    rows(6).write_csv(table)
    out = tmp_path / "ranges.csv"
    told = run("ranges", str(table), "-o", str(out), "--draws", "100")
    assert told.returncode == 1
    assert "read 6, drawn 5, rejected 1" in told.stderr
    frame = pl.read_csv(out)
    wanted = studbay.score_ranges(rows(6), draws=100).to_polars()
    assert frame["npv_p50"].to_list() == wanted["npv_p50"].to_list()
    assert run("ranges", str(table), "-o", str(out)).returncode == 2
    bad = tmp_path / "bad.toml"
    bad.write_text("house_id = 'x'\n[ranges]\nfuel_price = [3, 2]\n")
    told = run("doubt", str(bad))
    assert told.returncode == 2
    assert "ranges.fuel_price = 3, 2: low = 3 must not be above high = 2" in told.stderr


def test_pictures() -> None:
    import matplotlib

    matplotlib.use("Agg")
    from studbay import plot_doubt

    ax = plot_doubt.cash_range(studbay.doubt(house(), draws=200))
    assert len(ax.lines) == 3
    assert "modelled" in ax.get_title(loc="left")
    bars = plot_doubt.swing_bars(house(), most=5)
    assert len(bars.patches) == 10
    nothing = plot_doubt.swing_bars(house(missed_fraction=1.0))
    assert len(nothing.patches) == 0
    matplotlib.pyplot.close("all")
