"""Options, break-even and lending from Python: other packages, the command line, pictures."""

from __future__ import annotations

import json
import math
import random
import subprocess
import sys
from pathlib import Path
from typing import Any

import matplotlib

matplotlib.use("Agg")

import numpy as np
import numpy_financial as npf
import pytest
import pyxirr
from matplotlib.figure import Figure
from scipy.optimize import brentq

import studbay
from studbay import House, lending, plot_choices
from studbay.errors import InputError

ROOT = Path(__file__).resolve().parents[2]
FILE = ROOT / "demo-data" / "choices.toml"
SEED = 20_260_511

WALL: dict[str, Any] = {
    "house_id": "choices-1",
    "wall_area_ft2": 1200,
    "series_r": 3.06,
    "batt_thickness_in": 1.0,
    "heating_degree_days_f": 5600,
    "heating_efficiency": 0.8,
    "fuel": "natural_gas",
    "fuel_price": 1.5,
    "installed_cost": 2400,
    "knob_and_tube": "no",
    "vermiculite": "no",
    "moisture_problem": "no",
    "loose_interior_finish": "no",
}


@pytest.fixture
def house() -> House:
    return House(**WALL)


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "studbay.cli", *words],
        capture_output=True,
        encoding="utf-8",
        check=False,
    )


# Lending: numpy-financial and pyxirr.


def test_payments_and_schedules_against_numpy_financial() -> None:
    rng = random.Random(SEED)
    for _ in range(300):
        amount, share = rng.uniform(1.0, 1e5), rng.uniform(0.001, 0.4)
        months = rng.randint(1, 600)
        loan = lending.lend(amount, lending.LoanRate(share), months)
        monthly = share / 12.0
        assert loan.payment == pytest.approx(-npf.pmt(monthly, months, amount), rel=1e-10)
        schedule = loan.schedule()
        periods = np.arange(1, months + 1)
        interest = -npf.ipmt(monthly, periods, months, amount)
        principal = -npf.ppmt(monthly, periods, months, amount)
        # Theirs grows a rounding by (1 + i) ** n on the way.
        room = 1e-12 * amount * (1.0 + monthly) ** months
        assert np.allclose(schedule["interest"], interest, rtol=1e-9, atol=room)
        assert np.allclose(schedule["principal"], principal, rtol=1e-9, atol=room)
        assert schedule["balance"][-1] == 0.0
        assert math.fsum(schedule["principal"]) == pytest.approx(amount, rel=1e-12)


def test_the_documented_payment() -> None:
    """numpy-financial documentation, pmt (seen): 200,000 at 7.5 % over 15 years."""
    loan = lending.lend(200_000, lending.LoanRate(0.075), 180)
    assert loan.payment == pytest.approx(1854.0247200054619, rel=1e-13)


def test_the_rate_with_fees_against_pyxirr_and_numpy_financial() -> None:
    rng = random.Random(SEED)
    for _ in range(200):
        amount, months = rng.uniform(100.0, 1e5), rng.randint(2, 240)
        fee = rng.uniform(0.0, 0.05) * amount
        inside = rng.random() < 0.5
        rate = lending.LoanRate(rng.choice([0.0, rng.uniform(0.0, 0.3)]))
        loan = lending.lend(amount, rate, months, fee=fee, fee_in_loan=inside)
        in_hand = amount - (0.0 if inside else fee)
        with_fees = loan.rate_with_fees
        assert with_fees is not None
        assert with_fees.share >= rate.share - 1e-12
        theirs = pyxirr.rate(months, -loan.payment, in_hand, 0.0)
        if theirs is not None:
            assert with_fees.monthly == pytest.approx(theirs, abs=1e-9)
        # Its equation, whatever they say.
        worth = npf.npv(with_fees.monthly, [0.0, *[loan.payment] * months])
        assert worth == pytest.approx(in_hand, rel=1e-9)


def test_a_loan_without_interest() -> None:
    loan = lending.lend(2400, lending.LoanRate(0.0), 48)
    assert (loan.payment, loan.cost_of_credit) == (50.0, 0.0)
    assert loan.payment == pytest.approx(-npf.pmt(0.0, 48, 2400))
    assert loan.rate_with_fees == lending.LoanRate(0.0)


def test_nominal_and_real_rates_do_not_mix(house: House) -> None:
    real, inflation = lending.RealRate(0.03), lending.Inflation(0.02)
    nominal = real.nominal(inflation)
    assert nominal.share == pytest.approx(0.0506, rel=1e-14)
    assert nominal.real(inflation).share == pytest.approx(0.03, rel=1e-13)
    assert nominal != lending.RealRate(nominal.share)
    assert lending.Inflation().share == 0.02
    wrong: Any = nominal
    with pytest.raises(TypeError):
        lending.lend(100, wrong, 12)
    with pytest.raises(TypeError):
        lending.ways_to_pay(house, inflation=wrong)
    with pytest.raises(TypeError):
        real.nominal(wrong)
    with pytest.raises(TypeError):
        _ = wrong + real
    for share in (math.nan, math.inf, -2.0, 7.0):
        with pytest.raises(InputError):
            lending.NominalRate(share)
    with pytest.raises(InputError) as caught:
        lending.LoanRate(7.9)
    assert caught.value.issues[0].field == "annual_rate"


def test_cash_of_a_loan_against_numpy_financial(house: House) -> None:
    """Month by month from the outside: nominal savings, payments, discounting at Fisher's rate."""
    inflation, quoted, months = 0.025, 0.07, 84
    loan = {"name": "bank", "annual_rate": quoted, "months": months, "fee": 60.0}
    way = lending.pay_for(house, loan, inflation=lending.Inflation(inflation))
    figures = house.assess()
    payment = -npf.pmt(quoted / 12, months, 2400.0)
    assert way.monthly_payment == pytest.approx(payment, rel=1e-12)
    assert way.monthly_savings == pytest.approx(figures.annual_savings / 12, rel=1e-14)
    assert way.covers_payment == (figures.annual_savings / 12 >= payment)
    assert way.first_year["net"] == pytest.approx(figures.annual_savings - 12 * payment, rel=1e-10)
    nominal = 1.03 * (1 + inflation) - 1
    savings = [figures.annual_savings * (1 + inflation) ** t for t in range(1, 31)]
    monthly = (1 + nominal) ** (1 / 12) - 1
    worth = npf.npv(nominal, [-60.0, *savings]) - npf.npv(monthly, [0.0, *[payment] * months])
    assert way.npv == pytest.approx(worth, rel=1e-9)
    years = way.years()
    net = np.array([-60.0, *savings])
    net[1:8] -= 12 * payment
    assert np.allclose(years["net"], net, rtol=1e-9)
    assert np.allclose(years["cumulative"], np.cumsum(net), rtol=1e-9)


def test_paid_at_once_is_the_assessment(house: House) -> None:
    for inflation in (0.0, 0.02, 0.1):
        way = lending.pay_for(house, inflation=lending.Inflation(inflation))
        assert way.loan is None
        assert way.npv == pytest.approx(house.assess().npv, rel=1e-10)


def test_incentives_and_their_years(house: House) -> None:
    programme = {
        "name": "programme",
        "tiers": [{"up_to": 1000, "share": 0.4}, {"share": 0.1}],
        "cap": 500,
        "to_year": 2026,
    }
    with pytest.raises(InputError) as caught:
        lending.pay_for(house, incentives=[programme])
    assert caught.value.issues[0].field == "work_year"
    now = lending.pay_for(house, incentives=[programme], work_year=2026)
    assert now.incentives == (("programme", 500.0, 0),)
    assert now.at_signing == 1900.0
    assert now.lost_by_waiting == pytest.approx(500.0)
    later = lending.pay_for(house, incentives=[programme], work_year=2027)
    assert later.incentives == ()
    assert later.not_in_force == ("programme",)
    with pytest.raises(InputError) as caught:
        lending.ways_to_pay(
            house,
            [{"name": "a", "annual_rate": "7%", "years": 5}, {"name": "b", "months": 0}],
        )
    assert {issue.field for issue in caught.value.issues} == {
        "loans[0].annual_rate",
        "loans[1].annual_rate",
        "loans[1].months",
    }
    for bad in (3, "loan", {"name": "x"}):
        wrong: Any = bad
        with pytest.raises(InputError):
            lending.ways_to_pay(house, wrong)


# Break-even: an independent root finder over the package's own door.


@pytest.mark.parametrize(
    ("field", "low", "high"),
    [
        ("batt_thickness_in", 0.0, 3.0),
        ("fuel_price", 0.1, 5.0),
        ("heating_degree_days_f", 500.0, 9000.0),
        ("heating_efficiency", 0.3, 4.0),
        ("installed_cost", 100.0, 20_000.0),
    ],
)
@pytest.mark.parametrize("goal", ["npv", "sir", "payback"])
def test_break_even_against_scipy(
    house: House, field: str, low: float, high: float, goal: str
) -> None:
    years = 14.0 if goal == "payback" else None

    def margin(value: float) -> float:
        figures = House(**{**WALL, field: value}).assess()
        if goal == "payback":
            return 14.0 * figures.annual_savings - figures.net_cost
        return figures.npv

    root = brentq(margin, low, high, xtol=1e-13, rtol=1e-14)
    found = studbay.break_even(house, field, goal, years=years)
    assert len(found.values) == 1
    assert found.values[0] == pytest.approx(root, rel=1e-9)
    back = House(**{**WALL, field: found.values[0]}).assess()
    if goal == "npv":
        assert abs(back.npv) < 1e-9 * max(back.net_cost, 1.0)
    elif goal == "sir":
        assert back.sir == pytest.approx(1.0, abs=1e-9)
    else:
        assert back.simple_payback_years == pytest.approx(14.0, rel=1e-9)


def test_no_such_value(house: House) -> None:
    found = studbay.break_even(house, "batt_missing_fraction")
    assert found.values == ()
    assert found.spans == ((0.0, 1.0),)
    assert "no such value" in found.account()[0].title
    assert found.now == 0.0
    assert found.met_now is True
    cases: list[tuple[dict[str, Any], str]] = [
        ({"field": "batt_thicknes_in"}, "unknown_name"),
        ({"field": "fuel"}, "wrong_type"),
        ({"field": "fuel_price", "goal": "profit"}, "not_a_choice"),
        ({"field": "fuel_price", "goal": "payback"}, "missing"),
        ({"field": "fuel_price", "low": 5.0, "high": 2.0}, "out_of_range"),
        ({"field": "fuel_price", "high": math.nan}, "out_of_range"),
    ]
    for keywords, code in cases:
        with pytest.raises(InputError) as caught:
            studbay.break_even(house, **keywords)
        assert caught.value.issues[0].code == code, keywords


def test_the_curve_is_assessed_point_by_point(house: House) -> None:
    curve = studbay.payback_curve(house, points=36)
    columns = curve.columns()
    assert len(curve) == 36
    assert columns["value"][-1] == 3.5
    for value, years, npv in zip(
        columns["value"], columns["simple_payback_years"], columns["npv"], strict=True
    ):
        figures = House(**{**WALL, "batt_thickness_in": value}).assess()
        assert (figures.simple_payback_years, figures.npv) == (years, npv)
    assert curve.break_even == studbay.break_even(house, "batt_thickness_in").values


# Options.


def test_options_are_assessments_of_changed_houses(house: House) -> None:
    comparison = studbay.compare_options(
        house,
        [
            {"name": "fill"},
            {"name": "dense", "fill_density_lb_ft3": 5.0, "installed_cost": 2600},
            {"name": "out", "work": "remove_and_fill", "removal_cost": 1000.0},
        ],
    )
    rows = {row.name: row for row in comparison.rows}
    assert next(iter(rows)) == "leave it as it is"
    assert rows["fill"].npv == house.assess().npv
    dense = House(**{**WALL, "fill_density_lb_ft3": 5.0, "installed_cost": 2600}).assess()
    assert rows["dense"].npv == dense.npv
    # The batt out: from the wall as it is to an empty one that is filled.
    empty = House(**{**WALL, "batt_thickness_in": 0.0}).assess()
    now = house.assess()
    saved = now.u_before_btu_h_ft2_f - empty.u_after_btu_h_ft2_f
    heat = 24 * 5600 * 1200 * saved / 1e6
    assert rows["out"].to_dict()["heat_saved_mmbtu"] == pytest.approx(heat, rel=1e-12)
    # Each step is the difference of two rows, by numpy-financial's present value.
    for row in comparison.rows[1:]:
        step = row.step
        assert step is not None
        under = rows[step.over]
        extra = row.annual_savings - under.annual_savings
        cost = row.net_cost - under.net_cost
        assert step.npv == pytest.approx(-npf.pv(0.03, 30, extra) - cost, rel=1e-9, abs=1e-9)
        if cost > 0 and extra > 0:
            assert step.sir == pytest.approx(-npf.pv(0.03, 30, extra) / cost, rel=1e-9)
            assert step.simple_payback_years == pytest.approx(cost / extra, rel=1e-9)
        else:
            assert extra > 0 or step.simple_payback_years is None
    assert comparison.annual_cost == pytest.approx(
        24 * 5600 * 1200 * now.u_before_btu_h_ft2_f / 1e6 / 0.8 / 0.1 * 1.5, rel=1e-12
    )


def test_the_options_of_a_file_and_of_keywords() -> None:
    from_file = studbay.compare_options(House.from_file(FILE))
    assert [row.name for row in from_file.rows][:2] == ["leave it as it is", "fill over the batt"]
    out = next(row for row in from_file.rows if row.work == "remove_and_fill")
    assert out.assumptions
    assert "judgement" in out.assumptions[0][2]
    given = House(**WALL, options=[{"name": "mine", "installed_cost": 2000}])
    assert [row.name for row in studbay.compare_options(given).rows] == [
        "leave it as it is",
        "mine",
    ]
    assert given == House(**WALL)
    with pytest.raises(InputError) as caught:
        studbay.compare_options(given, [{"name": "x", "fuel_price": 3}, {"work": "demolish"}])
    assert {issue.field for issue in caught.value.issues} == {
        "options[0].fuel_price",
        "options[1].work",
        "options[1].name",
    }
    with pytest.raises(InputError):
        House(**{**WALL, "options": 3})


def test_a_hold_rules_out() -> None:
    held = House(**{**WALL, "knob_and_tube": "yes"})
    comparison = studbay.compare_options(held)
    assert comparison.best == "leave it as it is"
    assert all(row.ruled_out == ("knob_and_tube",) for row in comparison.rows[1:])
    assert comparison.account()[0].tone == "hold"


# The command line.


def test_every_command_answers() -> None:
    for words, wanted in [
        (["options", str(FILE)], "Least cost over 40 years"),
        (["options", str(FILE), "--details"], "Heat still costs"),
        (["break-even", str(FILE), "fuel_price"], "the goal is met from"),
        (["break-even", str(FILE), "cost_per_ft2", "--goal", "payback", "--years", "10"], "up to"),
        (["batt-curve", str(FILE)], "the turn at"),
        (["batt-curve", str(FILE), "--units", "si"], " mm, the turn"),
        (["pay-for", str(FILE), "--work-year", "2026"], "month 1"),
        (["pay-for", str(FILE), "--rate", "0", "--work-year", "2026"], "loan without interest"),
    ]:
        done = run(*words)
        assert done.returncode == 0, done.stderr
        assert wanted in done.stdout, (words, done.stdout)
        assert "modelled" in done.stdout
        assert "nan" not in done.stdout.lower()


def test_json_of_every_command() -> None:
    for words, key in [
        (["options", str(FILE)], "options"),
        (["break-even", str(FILE), "fuel_price"], "values"),
        (["batt-curve", str(FILE)], "simple_payback_years"),
        (["pay-for", str(FILE), "--work-year", "2026"], "ways"),
    ]:
        done = run(*words, "--json")
        assert done.returncode == 0, done.stderr
        assert json.loads(done.stdout)[key]


def test_unusable_input_ends_with_status_2(tmp_path: Path) -> None:
    broken = tmp_path / "house.toml"
    broken.write_text(FILE.read_text(encoding="utf-8") + '\n[[options]]\nname = "x"\nfuell = 3\n')
    for words, said in [
        (["options", str(broken)], "options[4].fuell = 3"),
        (["options", str(tmp_path / "none.toml")], "No such file"),
        (["break-even", str(FILE), "house_id"], "no number"),
        (["break-even", str(FILE), "fuel_price", "--years", "3"], "years are for the goal payback"),
        (["break-even", str(FILE), "fuel_price", "--low", "9", "--high", "3"], "above low"),
        (["pay-for", str(FILE)], "work_year: must be given"),
        (["pay-for", str(FILE), "--rate", "7", "--work-year", "2026"], "annual_rate = 7"),
        (["pay-for", str(FILE), "--inflation", "9"], "inflation = 9"),
        (["batt-curve", str(FILE), "--picture", str(tmp_path / "a.txt")], "ends in .png or .svg"),
    ]:
        done = run(*words)
        assert done.returncode == 2, (words, done.stdout)
        assert said in done.stderr, (words, done.stderr)
        assert "Traceback" not in done.stderr


def test_pictures_are_drawn(tmp_path: Path) -> None:
    house = House.from_file(FILE)
    figure = Figure()
    axes = plot_choices.payback_curve(studbay.payback_curve(house), figure.subplots())
    assert "modelled" in axes.get_ylabel()
    assert "worth its cost" in axes.get_title(loc="left")
    held = House(**{**WALL, "knob_and_tube": "yes"})
    axes = plot_choices.payback_curve(studbay.payback_curve(held), Figure().subplots())
    assert axes.get_title(loc="left").startswith("HOLD")
    axes = plot_choices.options(studbay.compare_options(held), Figure().subplots())
    assert any("HOLD" in text.get_text() for text in axes.texts)
    axes = plot_choices.cash(lending.ways_to_pay(house, work_year=2026), Figure().subplots())
    assert len(axes.get_lines()) == 4
    for command, name in [
        (["batt-curve", str(FILE)], "curve.png"),
        (["options", str(FILE)], "options.svg"),
        (["pay-for", str(FILE), "--work-year", "2026"], "cash.png"),
    ]:
        done = run(*command, "--picture", str(tmp_path / name))
        assert done.returncode == 0, done.stderr
        assert (tmp_path / name).stat().st_size > 5000
