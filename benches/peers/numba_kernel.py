"""One compiled loop over the rows, on several threads, by numba."""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor

import numba
import numpy as np
import pyarrow as pa

from . import data, numpy_blocks
from .data import RESULTS

_CONTENT, _FACTOR = (np.array(column) for column in zip(*data.FUELS.values(), strict=True))
_ELECTRICITY = len(data.FUELS) - 1
_PIECES = np.array(data.AIR_PIECES)
_DELTA_U = np.array(data.GAP_DELTA_U)
_STEPS = data.IRR_STEPS
_K0, _K1, _K2 = data.BATT_K
_K = data.BATT_K_1
_FRAMING_R, _BATT_R, _DIVISOR = data.FRAMING_R_PER_IN, data.BATT_R_PER_IN, data.LEAKAGE_DIVISOR
_GRID, _BAG = data.GRID_KG_PER_KWH, data.BAG_WEIGHT_LB
_EMBODIED = data.KG_PER_LB * data.EMBODIED_KG_PER_KG

#: Of floats, in the order in which the kernel unpacks them.
FIELDS = (
    "wall_area_ft2",
    "framing_fraction",
    "cavity_depth_in",
    "series_r",
    "batt_thickness_in",
    "batt_missing_fraction",
    "fill_density_lb_ft3",
    "batt_compression",
    "missed_fraction",
    "heating_degree_days_f",
    "heating_efficiency",
    "fuel_price",
    "cfm50_before",
    "cfm50_after",
    "elevation_ft",
    "billed_heating_fuel",
    "installed_cost",
    "rebate",
    "discount_rate",
    "fuel_escalation",
)

inline = numba.njit(inline="always", fastmath=False)


@inline
def air_r(gap):
    r = 0.0
    for i in range(5):
        r += min(max(gap - _PIECES[i, 0], 0.0), _PIECES[i, 1]) * _PIECES[i, 2]
    return r


@numba.njit(fastmath=False)
def annuity(x, n):
    """`x + ... + x^n` for whole `n`: the power by squaring."""
    e = 1.0 - x
    if abs(e) < 1e-6:
        return x * n * (1.0 - (n - 1) / 2.0 * e * (1.0 - (n - 2) / 3.0 * e))
    return x * (1.0 - x**n) / e


@numba.njit(fastmath=False)
def annuity_and_slope(x, n):
    e = 1.0 - x
    if abs(e) < 1e-5:
        s = n * (1.0 - (n - 1) / 2.0 * e * (1.0 - (n - 2) / 3.0 * e))
        return x * s, n * (n + 1) / 2.0 * (1.0 - (n - 1) * 2.0 / 3.0 * e)
    power = x**n
    s = (1.0 - power) / e
    return x * s, s + (x * s - n * power) / e


@numba.njit(fastmath=False)
def payback(cost, a, qa, b, qb, n):
    """Discounted payback: year by year is the quickest where it is soon."""
    flow_a, flow_b, paid = a * qa, b * qb, 0.0
    for year in range(n):
        flow = flow_a + flow_b
        if paid + flow >= cost:
            return year + (cost - paid) / flow
        paid += flow
        flow_a *= qa
        flow_b *= qb
    return math.nan


@numba.njit(fastmath=False)
def internal_rate(cost, a, ga, b, gb, n):
    total = a + b
    if not (cost > 0.0 and total > 0.0):
        return math.nan
    p = cost / total
    low = p / (1.0 + p) / max(ga, gb)
    high = math.inf
    v = low
    if p > n:
        high = (p / n) ** (2.0 / (n + 1.0)) / min(ga, gb)
        v = high
    for _ in range(_STEPS):
        value, slope = annuity_and_slope(ga * v, n)
        worth, rise = a * value, a * ga * slope
        if b > 0.0:
            value, slope = annuity_and_slope(gb * v, n)
            worth += b * value
            rise += b * gb * slope
        last = v
        v = min(max(v - (worth - cost) / rise, low), high)
        if abs(v - last) < 1e-11 * v:
            break
    return 1.0 / v - 1.0


@numba.njit(parallel=True, fastmath=False, error_model="numpy", nogil=True)
def kernel(columns, levels, lives, fuels, cooling, cooled, out):
    (
        areas,
        framing,
        depths,
        series,
        batts,
        missing,
        densities,
        squeezed,
        missed,
        hdd,
        efficiencies,
        prices,
        before,
        after,
        elevations,
        bills,
        costs,
        rebates,
        discounts,
        rises,
    ) = columns
    cdd, seers, power_prices, power_rises = cooling
    for i in numba.prange(len(areas)):
        phi, depth, r_s, m = framing[i], depths[i], series[i], missing[i]
        batt = batts[i]
        r_batt = batt * _BATT_R
        r_batt_path = r_s + r_batt + air_r(depth - batt)
        share = r_batt / r_batt_path
        u_batt = 1.0 / r_batt_path + _DELTA_U[levels[i]] * share * share
        u_cavity = (1.0 - m) * u_batt + m / (r_s + air_r(depth))
        u_before = phi / (r_s + depth * _FRAMING_R) + (1.0 - phi) * u_cavity
        kept = 1.0 - squeezed[i]
        r_batt_after = r_batt * kept * (_K / (_K0 + _K1 / kept + _K2 * kept))
        beside = depth - batt * kept
        fill_r = 3.6 - 0.2 * (densities[i] - 3.5)
        u_filled = (1.0 - m) / (r_s + r_batt_after + beside * fill_r)
        u_filled += m / (r_s + depth * fill_r)
        filled = (1.0 - phi) * (1.0 - missed[i])
        u_saved = filled * (u_cavity - u_filled)
        fill_depth = filled * ((1.0 - m) * beside + m * depth)

        density = (1.0 - 6.8754e-6 * elevations[i]) ** 5.2559
        air = (before[i] - after[i]) / _DIVISOR
        conductance = areas[i] * u_saved + 1.08 * density * air
        heat = 24e-6 * hdd[i] * conductance
        fuel = fuels[i]
        content = _CONTENT[fuel]
        fuel_saved = min(heat / (efficiencies[i] * content), bills[i])
        kwh, power_money, power_growth = 0.0, 0.0, 1.0
        if cooled:
            kwh = 0.024 * cdd[i] * conductance / seers[i]
            power_money = kwh * power_prices[i]
            power_growth = 1.0 + power_rises[i]

        cost, n, d1 = costs[i] - rebates[i], lives[i], 1.0 + discounts[i]
        fuel_money = fuel_saved * prices[i]
        g = power_growth if fuel == _ELECTRICITY else 1.0 + rises[i]
        annual = fuel_money + power_money
        worth = fuel_money * annuity(g / d1, n)
        lifetime = fuel_money * annuity(g, n)
        if cooled:
            worth += power_money * annuity(power_growth / d1, n)
            lifetime += power_money * annuity(power_growth, n)
        mass = areas[i] * fill_depth / 12.0 * densities[i]
        annual_kg = fuel_saved * content * _FACTOR[fuel] + kwh * _GRID
        embodied = mass * _EMBODIED
        lifetime_kg = annual_kg * n - embodied
        sir = worth / cost if cost > 0.0 else math.nan

        out[0][i] = u_before
        out[1][i] = u_before - u_saved
        out[2][i] = heat
        out[3][i] = fuel_saved
        out[4][i] = kwh
        out[5][i] = fuel_saved / bills[i]
        out[6][i] = annual
        out[7][i] = cost
        out[8][i] = cost / annual if annual > 0.0 else math.nan
        paid = payback(cost, fuel_money, g / d1, power_money, power_growth / d1, n)
        out[9][i] = paid if annual > 0.0 else math.nan
        out[10][i] = worth - cost
        out[11][i] = sir
        out[12][i] = d1 * sir ** (1.0 / n) - 1.0
        out[13][i] = internal_rate(cost, fuel_money, g, power_money, power_growth, n)
        out[14][i] = lifetime
        out[15][i] = annual_kg
        out[16][i] = lifetime_kg
        out[17][i] = embodied
        out[18][i] = embodied / annual_kg if annual_kg > 0.0 else math.nan
        out[19][i] = cost / (lifetime_kg / 1000.0) if lifetime_kg > 0.0 else math.nan
        out[20][i] = mass
        out[21][i] = math.ceil(mass / _BAG * (1.0 - 1e-12))


def score(houses: pa.Table, threads: int) -> pa.Table:
    """The table of results."""
    numba.set_num_threads(threads)
    given = numpy_blocks.numbers(houses)
    columns = [given[name] for name in FIELDS]
    cooled = "cooling_seer" in given
    nothing = np.empty(0)
    cooling = tuple(given.get(name, nothing) for name in data.COOLING)
    results = tuple(np.empty(houses.num_rows) for _ in RESULTS)
    with ThreadPoolExecutor(threads) as pool:
        fuels, ready = numpy_blocks.words(houses, pool)
    levels, lives = given["air_gap_level"], given["life_years"]
    kernel(tuple(columns), levels, lives, fuels, cooling, cooled, results)
    return numpy_blocks.table(houses, results, ready)
