"""NumPy in blocks that stay in the cache, on several threads.

Strings become codes once, by PyArrow; everything else is plain arithmetic on blocks. NumPy leaves
the interpreter's lock inside each operation, so that two threads help where blocks are long enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from . import data
from .data import RESULTS

Block = dict[str, np.ndarray]

#: The fastest here on two threads; from 32768 on every temporary is a new piece of memory.
BLOCK_ROWS = 24_576

_CONTENT, _FACTOR = (np.array(column) for column in zip(*data.FUELS.values(), strict=True))
_FUELS = pa.array(list(data.FUELS))
_ELECTRICITY = len(data.FUELS) - 1
_GAPS, _AIR_R = np.array(data.AIR_GAPS_IN), np.array(data.AIR_R)
_DELTA_U = np.array(data.GAP_DELTA_U)


def annuity(x: np.ndarray, n: np.ndarray) -> np.ndarray:
    """`x + ... + x^n`; near 1 by the first terms of its series."""
    e = 1 - x
    near = np.abs(e) < 1e-6
    out = x * (1 - x**n) / np.where(near, 1, e)
    if near.any():
        series = x * n * (1 - (n - 1) / 2 * e * (1 - (n - 2) / 3 * e))
        out = np.where(near, series, out)
    return out


def annuity_and_slope(x: np.ndarray, n: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The same with its slope by `x`."""
    e = 1 - x
    near = np.abs(e) < 1e-5
    safe = np.where(near, 1, e) if near.any() else e
    power = x**n
    s = (1 - power) / safe
    slope = s + (x * s - n * power) / safe
    if near.any():
        s = np.where(near, n * (1 - (n - 1) / 2 * e * (1 - (n - 2) / 3 * e)), s)
        slope = np.where(near, n * (n + 1) / 2 * (1 - (n - 1) * 2 / 3 * e), slope)
    return x * s, slope


def wall(c: Block) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """U before, U saved, depth of fibre over the whole wall."""
    phi, depth, r_s = c["framing_fraction"], c["cavity_depth_in"], c["series_r"]
    batt, m, x = c["batt_thickness_in"], c["batt_missing_fraction"], c["missed_fraction"]
    r_batt = batt * data.BATT_R_PER_IN
    r_batt_path = r_s + r_batt + np.interp(depth - batt, _GAPS, _AIR_R)
    share = r_batt / r_batt_path
    u_batt = 1 / r_batt_path + _DELTA_U[c["air_gap_level"]] * share * share
    u_void = m / (r_s + np.interp(depth, _GAPS, _AIR_R))
    u_cavity = (1 - m) * u_batt + u_void
    u_before = phi / (r_s + depth * data.FRAMING_R_PER_IN) + (1 - phi) * u_cavity
    kept = 1 - c["batt_compression"]
    k0, k1, k2 = data.BATT_K
    r_batt_after = r_batt * kept * (data.BATT_K_1 / (k0 + k1 / kept + k2 * kept))
    beside = depth - batt * kept
    fill_r = 3.6 - 0.2 * (c["fill_density_lb_ft3"] - 3.5)
    u_filled = (1 - m) / (r_s + r_batt_after + beside * fill_r) + m / (r_s + depth * fill_r)
    filled = (1 - phi) * (1 - x)
    return u_before, filled * (u_cavity - u_filled), filled * ((1 - m) * beside + m * depth)


def payback_of_one(cost: np.ndarray, a: np.ndarray, q: np.ndarray, n: np.ndarray) -> np.ndarray:
    """Discounted payback of one growing saving, by a logarithm."""
    e = 1 - q
    left = -cost * e / (a * q)
    with np.errstate(all="ignore"):
        whole = np.where(e == 0, cost / a, np.log1p(left) / np.log(q))
        year = np.maximum(np.ceil(whole) - 1, 0)
        paid = a * annuity(q, year)
        out = year + (cost - paid) / (a * q ** (year + 1))
        return np.where(year < n, out, np.nan)


def payback_of_two(
    cost: np.ndarray, savings: list[tuple[np.ndarray, np.ndarray]], n: np.ndarray
) -> np.ndarray:
    """Discounted payback of two savings: the last year below the cost, bit by bit."""
    ladders = []
    for a, q in savings:
        rungs = [(q, np.ones_like(q))]
        for _ in range(data.LIFE_BITS - 1):
            power, total = rungs[-1]
            rungs.append((power * power, total * (1 + power)))
        ladders.append((a * q, rungs))
    year, paid = np.zeros_like(cost), np.zeros_like(cost)
    # What a saving brings in the year after: it grows to the power of the years gone.
    flows = [first.copy() for first, _ in ladders]
    for bit in reversed(range(data.LIFE_BITS)):
        total = paid.copy()
        for flow, (_, rungs) in zip(flows, ladders, strict=True):
            total += flow * rungs[bit][1]
        next_year = year + (1 << bit)
        take = (next_year <= n) & (total < cost)
        year = np.where(take, next_year, year)
        paid = np.where(take, total, paid)
        for i, (_, rungs) in enumerate(ladders):
            flows[i] = np.where(take, flows[i] * rungs[bit][0], flows[i])
    out = year + (cost - paid) / sum(flows)
    return np.where(year < n, out, np.nan)


def internal_rate(
    cost: np.ndarray, savings: list[tuple[np.ndarray, np.ndarray]], n: np.ndarray
) -> np.ndarray:
    """Newton's method for `v = 1/(1 + rate)`, a fixed number of steps."""
    total = sum(a for a, _ in savings)
    p = cost / total
    growths = [g for _, g in savings]
    least, most = growths[0], growths[0]
    for g in growths[1:]:
        least, most = np.minimum(least, g), np.maximum(most, g)
    late = p > n
    low = p / (1 + p) / most
    bend = (np.maximum(p, n) / n) ** (2 / (n + 1))
    high = bend / least
    v = np.where(late, high, low)
    for _ in range(data.IRR_STEPS):
        worth, rise = -cost, 0.0
        for a, g in savings:
            value, slope = annuity_and_slope(g * v, n)
            worth = worth + a * value
            rise = rise + a * g * slope
        v = np.minimum(np.maximum(v - worth / rise, low), high)
    return np.where((cost > 0) & (total > 0), 1 / v - 1, np.nan)


def block(c: Block) -> list[np.ndarray]:
    """Every result of a block, in the order of the contract."""
    cooled = "cooling_seer" in c
    electric = c["fuel"] == _ELECTRICITY
    u_before, u_saved, fill_depth = wall(c)
    density = (1 - 6.8754e-6 * c["elevation_ft"]) ** 5.2559
    air = (c["cfm50_before"] - c["cfm50_after"]) / data.LEAKAGE_DIVISOR
    conductance = c["wall_area_ft2"] * u_saved + 1.08 * density * air
    heat = 24e-6 * c["heating_degree_days_f"] * conductance
    content = _CONTENT[c["fuel"]]
    billed = c["billed_heating_fuel"]
    fuel_saved = np.minimum(heat / (c["heating_efficiency"] * content), billed)

    cost = c["installed_cost"] - c["rebate"]
    n = c["life_years"].astype(np.float64)
    d1 = 1 + c["discount_rate"]
    fuel_money = fuel_saved * c["fuel_price"]
    g = 1 + np.where(electric, c.get("electricity_escalation", 0.0), c["fuel_escalation"])
    savings = [(fuel_money, g)]
    kwh = np.zeros_like(cost)
    if cooled:
        kwh = 0.024 * c["cooling_degree_days_f"] * conductance / c["cooling_seer"]
        savings.append((kwh * c["electricity_price"], 1 + c["electricity_escalation"]))
    annual = sum(a for a, _ in savings)
    worth = sum(a * annuity(g / d1, n) for a, g in savings)
    lifetime = sum(a * annuity(g, n) for a, g in savings)
    ratios = [(a, g / d1) for a, g in savings]
    paid_back = payback_of_two(cost, ratios, n) if cooled else payback_of_one(cost, *ratios[0], n)
    sir = np.where(cost > 0, worth / cost, np.nan)

    mass = c["wall_area_ft2"] * fill_depth / 12 * c["fill_density_lb_ft3"]
    annual_kg = fuel_saved * content * _FACTOR[c["fuel"]] + kwh * data.GRID_KG_PER_KWH
    embodied = mass * (data.KG_PER_LB * data.EMBODIED_KG_PER_KG)
    lifetime_kg = annual_kg * n - embodied
    return [
        u_before,
        u_before - u_saved,
        heat,
        fuel_saved,
        kwh,
        fuel_saved / billed,
        annual,
        cost,
        np.where(annual > 0, cost / annual, np.nan),
        np.where(annual > 0, paid_back, np.nan),
        worth - cost,
        sir,
        d1 * sir ** (1 / n) - 1,
        internal_rate(cost, savings, n),
        lifetime,
        annual_kg,
        lifetime_kg,
        embodied,
        np.where(annual_kg > 0, embodied / annual_kg, np.nan),
        np.where(lifetime_kg > 0, cost / (lifetime_kg / 1000), np.nan),
        mass,
        np.ceil(mass / data.BAG_WEIGHT_LB * (1 - 1e-12)),
    ]


def fuel_codes(fuel: pa.Array) -> pa.Array:
    """Places in the list of fuels."""
    if pa.types.is_dictionary(fuel.type):
        return pc.index_in(fuel.dictionary, _FUELS).take(fuel.indices)
    return pc.index_in(fuel, _FUELS)


def readiness(houses: pa.RecordBatch) -> pa.Array:
    """Hold, check or clear."""
    hold = pc.equal(houses["spillage_test"], "failed")
    check = pc.or_(
        pc.equal(houses["spillage_test"], "not_done"), pc.less(houses["fill_density_lb_ft3"], 3.5)
    )
    for name in data.HAZARDS:
        hold = pc.or_(hold, pc.equal(houses[name], "yes"))
        check = pc.or_(check, pc.equal(houses[name], "unknown"))
    return pc.if_else(hold, "hold", pc.if_else(check, "check", "clear"))


def words(houses: pa.Table, pool: ThreadPoolExecutor) -> tuple[np.ndarray, pa.ChunkedArray]:
    """Codes of the fuels, and readiness, batch by batch on every thread."""
    batches = houses.to_batches(data.BATCH_ROWS)
    codes = pool.map(lambda batch: fuel_codes(batch["fuel"]), batches)
    ready = pool.map(readiness, batches)
    return pa.chunked_array(codes).to_numpy(), pa.chunked_array(ready)


def numbers(houses: pa.Table) -> Block:
    """The columns that are numbers; nothing is copied of a table of one batch."""
    return {
        name: column.to_numpy()
        for name, column in zip(houses.column_names, houses.columns, strict=True)
        if pa.types.is_integer(column.type) or pa.types.is_floating(column.type)
    }


def table(houses: pa.Table, results: Sequence[np.ndarray], ready: pa.ChunkedArray) -> pa.Table:
    """What goes out: the columns of the houses that are carried, then the results."""
    out = {"house_id": houses["house_id"], "county": houses["county"]}
    out |= {name: pa.array(column) for name, column in zip(RESULTS, results, strict=True)}
    return pa.table(out | {"readiness": ready})


def score(houses: pa.Table, threads: int, block_rows: int = BLOCK_ROWS) -> pa.Table:
    """The table of results."""
    results = [np.empty(houses.num_rows) for _ in RESULTS]
    columns = numbers(houses)

    def run(first: int) -> None:
        part = slice(first, first + block_rows)
        with np.errstate(all="ignore"):
            figures = block({name: column[part] for name, column in columns.items()})
        for to, figure in zip(results, figures, strict=True):
            to[part] = figure

    with ThreadPoolExecutor(threads) as pool:
        columns["fuel"], ready = words(houses, pool)
        list(pool.map(run, range(0, houses.num_rows, block_rows)))
    return table(houses, results, ready)
