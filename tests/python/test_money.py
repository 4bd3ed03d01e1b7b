"""Money against two other packages, and against flows written out by hand."""

from __future__ import annotations

import math
import random
from itertools import count
from typing import Any

import numpy as np
import numpy_financial as npf
import pytest
import pyxirr

import studbay
from studbay import finance

Fields = dict[str, Any]
RNG_SEED = 20


def rising(escalation: float, years: int) -> list[float]:
    """1 at the end of each year at today's prices, and what it has become."""
    return [(1.0 + escalation) ** t for t in range(1, years + 1)]


def flows_of(fields: Fields, figures: studbay.Assessment) -> list[float]:
    """The cost now and the savings of each year, from the yearly saving of each fuel."""
    electric = fields["fuel"] == "electricity"
    electricity_escalation = fields.get("electricity_escalation", 0.0)
    fuel_escalation = electricity_escalation if electric else fields.get("fuel_escalation", 0.0)
    years = fields.get("life_years", 30)
    fuel = figures.fuel_saved * fields["fuel_price"]
    electricity = figures.electricity_saved_kwh * fields.get("electricity_price", 0.0)
    return [
        -figures.net_cost,
        *(
            fuel * f + electricity * e
            for f, e in zip(
                rising(fuel_escalation, years), rising(electricity_escalation, years), strict=True
            )
        ),
    ]


def test_npv_of_random_houses_against_flows_by_hand(flat_houses: list[Fields]) -> None:
    for fields in flat_houses:
        figures = studbay.assess(**fields)
        flows = flows_of(fields, figures)
        rate = fields.get("discount_rate", 0.03)
        size = sum(abs(flow) / (1.0 + rate) ** t for t, flow in enumerate(flows))
        for other in (npf.npv(rate, flows), pyxirr.npv(rate, flows)):
            assert figures.npv == pytest.approx(other, abs=1e-11 * size)
        assert figures.annual_savings == pytest.approx(
            figures.fuel_saved * fields["fuel_price"]
            + figures.electricity_saved_kwh * fields.get("electricity_price", 0.0),
            rel=1e-12,
        )
        assert figures.lifetime_savings == pytest.approx(sum(flows[1:]), rel=1e-11, abs=1e-9)


def test_rates_of_random_houses_against_flows_by_hand(flat_houses: list[Fields]) -> None:
    solved = 0
    for fields in flat_houses:
        figures = studbay.assess(**fields)
        flows = flows_of(fields, figures)
        if figures.net_cost <= 0.0 or figures.annual_savings <= 0.0:
            assert figures.irr is None
            continue
        assert figures.irr is not None
        # The rate is right when it makes the flows worth nothing; a saving of next to nothing
        # comes near -1, where a rounding of the rate is a great part of 1 + rate.
        worth = [flow * (1.0 + figures.irr) ** -t for t, flow in enumerate(flows)]
        assert math.fsum(worth) == pytest.approx(0.0, abs=1e-9 * figures.net_cost)
        # The other packages look for a root near 0.1 and miss some that lie far off.
        if -0.5 < figures.irr < 1.0 and len(flows) <= 41:
            assert npf.irr(flows) == pytest.approx(figures.irr, rel=1e-7, abs=1e-9)
            assert pyxirr.irr(flows) == pytest.approx(figures.irr, rel=1e-7, abs=1e-9)
            solved += 1
        if figures.sir is not None and figures.airr is not None:
            years, rate = len(flows) - 1, fields.get("discount_rate", 0.03)
            assert figures.sir == pytest.approx(1.0 + figures.npv / figures.net_cost, rel=1e-9)
            # Savings put by at the discount rate until the end of the life.
            end = math.fsum(f * (1.0 + rate) ** (years - t) for t, f in enumerate(flows) if t > 0)
            by_hand = (end / figures.net_cost) ** (1.0 / years) - 1.0
            assert figures.airr == pytest.approx(by_hand, rel=1e-9, abs=1e-11)
            again = finance.adjusted_internal_rate(rate, figures.sir, years)
            assert again == pytest.approx(figures.airr, rel=1e-12)
    assert solved > 100


def test_payback_of_random_houses_year_by_year(flat_houses: list[Fields]) -> None:
    found = 0
    for fields in flat_houses:
        figures = studbay.assess(**fields)
        cost, *flows = flows_of(fields, figures)
        rate = fields.get("discount_rate", 0.03)
        if figures.annual_savings <= 0.0:
            assert figures.simple_payback_years is None
            assert figures.discounted_payback_years is None
            continue
        simple = figures.simple_payback_years
        assert simple is not None
        assert simple * figures.annual_savings == pytest.approx(figures.net_cost, rel=1e-12)
        reached: float | None = 0.0 if cost >= 0.0 else None
        left = -cost
        for year, flow in enumerate(flows, start=1):
            worth = flow / (1.0 + rate) ** year
            if reached is None and worth >= left:
                reached = year - 1 + left / worth
            left -= worth
        if reached is None or figures.discounted_payback_years is None:
            assert abs(left) < 1e-9 * -cost or reached is figures.discounted_payback_years
        else:
            assert figures.discounted_payback_years == pytest.approx(reached, rel=1e-9, abs=1e-9)
            found += 1
    assert found > 50


def test_annuities_against_both_packages() -> None:
    rng = random.Random(RNG_SEED)
    for _ in range(2000):
        rate, escalation = rng.uniform(-0.5, 1.0), rng.uniform(-0.5, 1.0)
        years = rng.randint(0, 127)
        value = finance.growing_annuity(rate, escalation, years)
        by_hand = math.fsum(((1.0 + escalation) / (1.0 + rate)) ** t for t in range(1, years + 1))
        assert value == pytest.approx(by_hand, rel=1e-12, abs=0.0)
        level = finance.growing_annuity(rate, 0.0, years)
        if abs(rate) > 1e-3:  # nearer to nothing their closed form loses digits
            assert level == pytest.approx(-npf.pv(rate, years, 1.0), rel=1e-10, abs=1e-12)
            assert level == pytest.approx(
                -(pyxirr.pv(rate, years, 1.0, 0.0) or 0.0), rel=1e-10, abs=1e-12
            )
        # The payment that pays a loan back is what the present value of 1 goes into.
        if years and abs(rate) > 1e-3:
            assert 1e4 / level == pytest.approx(-npf.pmt(rate, years, 1e4), rel=1e-9)
            assert 1e4 / level == pytest.approx(-(pyxirr.pmt(rate, years, 1e4) or 0.0), rel=1e-9)
        assert finance.growing_annuity(rate, rate, years) == years


def test_npv_against_both_packages() -> None:
    rng = random.Random(RNG_SEED)
    for _ in range(2000):
        rate = rng.uniform(-0.5, 1.0)
        flows = [rng.uniform(-1000.0, 1000.0) for _ in range(rng.randint(1, 60))]
        value = finance.net_present_value(rate, flows)
        size = math.fsum(abs(flow) / (1.0 + rate) ** t for t, flow in enumerate(flows))
        assert value == pytest.approx(npf.npv(rate, flows), abs=1e-12 * size)
        assert value == pytest.approx(pyxirr.npv(rate, flows), abs=1e-12 * size)
    assert finance.net_present_value(0.1, []) == 0.0
    for run in (np.array([-1.0, 2.0]), (-1, 2), iter([-1.0, 2.0]), range(-1, 3, 3)):
        assert finance.net_present_value(0.0, run) == 1.0


def test_internal_rate_against_both_packages() -> None:
    """The rate is drawn first, uniformly and with negative ones, and the outlay made to fit it."""
    rng = random.Random(RNG_SEED)
    for _ in range(2000):
        rate = rng.uniform(-0.6, 1.5)
        quiet = rng.choice([0, 0, 0, rng.randint(1, 5)])
        savings = [0.0] * quiet + [rng.uniform(0.0, 1000.0) for _ in range(rng.randint(1, 40))]
        worth = math.fsum(flow / (1.0 + rate) ** t for t, flow in enumerate(savings, start=1))
        flows = [-worth, *savings]
        value = finance.internal_rate_of_return(flows)
        assert value == pytest.approx(rate, rel=1e-9, abs=1e-11)
        others = [float(npf.irr(flows)), pyxirr.irr(flows)]
        # Each of them misses some; where one answers with a root, it is the same.
        for other in others:
            if other is None or math.isnan(other):
                continue
            rest = finance.net_present_value(other, flows) / worth if other > -1.0 else 1.0
            if abs(rest) < 1e-9:
                assert value == pytest.approx(other, rel=1e-6, abs=1e-8)


def test_other_packages_answer_often_enough_to_be_a_check() -> None:
    rng = random.Random(RNG_SEED)
    answered = [0, 0]
    for _ in range(300):
        rate = rng.uniform(-0.4, 0.8)
        savings = [rng.uniform(10.0, 1000.0) for _ in range(rng.randint(2, 30))]
        worth = math.fsum(flow / (1.0 + rate) ** t for t, flow in enumerate(savings, start=1))
        flows = [-worth, *savings]
        value = finance.internal_rate_of_return(flows)
        for place, other in zip(count(), (float(npf.irr(flows)), pyxirr.irr(flows)), strict=False):
            answered[place] += other == pytest.approx(value, rel=1e-6, abs=1e-8)
    assert min(answered) > 290


@pytest.mark.parametrize(
    "flows", [[], [0.0], [-1.0], [1.0, 2.0], [1.0, -2.0], [-1.0, 2.0, -0.5], [0.0, 0.0, 1.0]]
)
def test_no_rate_or_more_than_one_is_none(flows: list[float]) -> None:
    assert finance.internal_rate_of_return(flows) is None


def test_no_adjusted_rate_without_a_saving() -> None:
    assert finance.adjusted_internal_rate(0.03, 0.0, 10) is None
    assert finance.adjusted_internal_rate(0.03, 1.0, 10) == pytest.approx(0.03, rel=1e-14)
