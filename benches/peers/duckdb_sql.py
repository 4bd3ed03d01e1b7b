"""DuckDB: one statement, layer on layer, so that nothing is computed twice."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import duckdb
import pyarrow as pa

from . import data
from .data import RESULTS

NAN = "'NaN'::DOUBLE"

#: A saving of the first year at today's price, by name, with the factor by which it grows.
Saving = tuple[str, str]


def number(value: float) -> str:
    """A literal that is a double and no decimal."""
    return f"{value!r}::DOUBLE" if "e" not in repr(value) else repr(value)


def air_r(gap: str) -> str:
    pieces = (
        f"least(greatest({gap} - {number(start)}, 0e0), {number(width)}) * {number(slope)}"
        for start, width, slope in data.AIR_PIECES
    )
    return " + ".join(pieces)


def annuity(x: str, n: str) -> str:
    e = f"(1e0 - {x})"
    series = f"{x} * {n} * (1e0 - ({n} - 1e0) / 2e0 * {e} * (1e0 - ({n} - 2e0) / 3e0 * {e}))"
    closed = f"{x} * (1e0 - pow({x}, {n})) / {e}"
    return f"CASE WHEN abs({e}) < 1e-6 THEN {series} ELSE {closed} END"


def choose(key: str, table: dict[object, float]) -> str:
    cases = list(table.items())
    whens = " ".join(f"WHEN {name!r} THEN {number(value)}" for name, value in cases[:-1])
    return f"CASE {key} {whens} ELSE {number(cases[-1][1])} END"


class Layers:
    """A select over a select: each layer sees the names of the one below."""

    def __init__(self, source: str) -> None:
        self.text = source
        self.known: set[str] = set()

    def add(self, **columns: str) -> None:
        again = self.known & set(columns)
        new = {name: text for name, text in columns.items() if name not in again}
        replace = ", ".join(f"({columns[name]}) AS {name}" for name in sorted(again))
        star = f"* REPLACE ({replace})" if again else "*"
        rest = "".join(f", {text} AS {name}" for name, text in new.items())
        self.text = f"(SELECT {star}{rest} FROM {self.text})"
        self.known |= set(columns)


def wall(layers: Layers) -> None:
    layers.add(
        r_batt=f"batt_thickness_in * {number(data.BATT_R_PER_IN)}",
        kept="1e0 - batt_compression",
        fill_r="3.6e0 - 0.2e0 * (fill_density_lb_ft3 - 3.5e0)",
        delta_u=choose("air_gap_level", dict(enumerate(data.GAP_DELTA_U))),
        filled="(1e0 - framing_fraction) * (1e0 - missed_fraction)",
    )
    layers.add(
        r_batt_path=f"series_r + r_batt + {air_r('(cavity_depth_in - batt_thickness_in)')}",
        r_void=f"series_r + {air_r('cavity_depth_in')}",
        beside="cavity_depth_in - batt_thickness_in * kept",
    )
    k0, k1, k2 = (number(k) for k in data.BATT_K)
    k = f"({k0} + {k1} / kept + {k2} * kept)"
    layers.add(
        share="r_batt / r_batt_path",
        r_batt_after=f"r_batt * kept * ({number(data.BATT_K_1)} / {k})",
        m="batt_missing_fraction",
    )
    layers.add(
        u_cavity="(1e0 - m) * (1e0 / r_batt_path + delta_u * share * share) + m / r_void",
        u_filled="(1e0 - m) / (series_r + r_batt_after + beside * fill_r)"
        " + m / (series_r + cavity_depth_in * fill_r)",
    )
    frame = f"(series_r + cavity_depth_in * {number(data.FRAMING_R_PER_IN)})"
    layers.add(
        u_before=f"framing_fraction / {frame} + (1e0 - framing_fraction) * u_cavity",
        u_saved="filled * (u_cavity - u_filled)",
        mass="wall_area_ft2 * (filled * ((1e0 - m) * beside + m * cavity_depth_in)) / 12e0"
        " * fill_density_lb_ft3",
    )


def energy(layers: Layers, cooled: bool) -> None:
    layers.add(
        conductance="wall_area_ft2 * u_saved"
        " + 1.08e0 * pow(1e0 - 6.8754e-6 * elevation_ft, 5.2559e0)"
        f" * (cfm50_before - cfm50_after) / {number(data.LEAKAGE_DIVISOR)}",
        content=choose("fuel", {fuel: content for fuel, (content, _) in data.FUELS.items()}),
        factor=choose("fuel", {fuel: factor for fuel, (_, factor) in data.FUELS.items()}),
        n="life_years::DOUBLE",
        d1="1e0 + discount_rate",
        cost="installed_cost - rebate",
    )
    power_rise = "electricity_escalation" if cooled else "0e0"
    layers.add(
        heat="24e-6 * heating_degree_days_f * conductance",
        kwh="0.024e0 * cooling_degree_days_f * conductance / cooling_seer" if cooled else "0e0",
        growth=f"1e0 + CASE fuel WHEN 'electricity' THEN {power_rise} ELSE fuel_escalation END",
    )
    layers.add(
        fuel_saved="least(heat / (heating_efficiency * content), billed_heating_fuel)",
    )
    layers.add(fuel_money="fuel_saved * fuel_price")
    if cooled:
        layers.add(
            power_money="kwh * electricity_price", power_growth="1e0 + electricity_escalation"
        )


def payback_of_one(layers: Layers) -> None:
    """By a logarithm: exact for one growing saving. The argument stays in its range, for DuckDB
    refuses it otherwise; what never pays back is sorted out by the years."""
    layers.add(spent="1e0 - cost * (1e0 - q_fuel_money) / (fuel_money * q_fuel_money)")
    layers.add(
        year="greatest(ceil(CASE WHEN q_fuel_money = 1e0 THEN cost / fuel_money"
        " WHEN spent <= 0e0 THEN 1e6"
        " ELSE ln(spent) / ln(q_fuel_money) END) - 1e0, 0e0)"
    )
    layers.add(
        paid_back="CASE WHEN year < n THEN year + (cost - fuel_money * ("
        f"{annuity('q_fuel_money', 'year')})) / (fuel_money * pow(q_fuel_money, year + 1e0))"
        f" ELSE {NAN} END"
    )


def payback_of_two(layers: Layers, savings: Sequence[Saving]) -> None:
    """The last year below the cost, bit by bit: there is no formula for two."""
    start = {"year": "0e0", "paid": "0e0"}
    for a, _ in savings:
        start |= {f"{a}_flow": f"{a} * q_{a}", f"{a}_sum0": "1e0", f"{a}_power0": f"q_{a}"}
    layers.add(**start)
    for bit in range(1, data.LIFE_BITS):
        rungs = {}
        for a, _ in savings:
            power, total = f"{a}_power{bit - 1}", f"{a}_sum{bit - 1}"
            rungs |= {
                f"{a}_power{bit}": f"{power} * {power}",
                f"{a}_sum{bit}": f"{total} * (1e0 + {power})",
            }
        layers.add(**rungs)
    for bit in reversed(range(data.LIFE_BITS)):
        more = " + ".join(f"{a}_flow * {a}_sum{bit}" for a, _ in savings)
        layers.add(total=f"paid + {more}")
        layers.add(take=f"year + {1 << bit}e0 <= n AND total < cost")
        layers.add(
            year=f"CASE WHEN take THEN year + {1 << bit}e0 ELSE year END",
            paid="CASE WHEN take THEN total ELSE paid END",
            **{
                f"{a}_flow": f"CASE WHEN take THEN {a}_flow * {a}_power{bit} ELSE {a}_flow END"
                for a, _ in savings
            },
        )
    flow = " + ".join(f"{a}_flow" for a, _ in savings)
    layers.add(paid_back=f"CASE WHEN year < n THEN year + (cost - paid) / ({flow}) ELSE {NAN} END")


def internal_rate(layers: Layers, savings: Sequence[Saving]) -> None:
    """Newton's method for `v = 1/(1 + rate)`, unrolled."""
    growths = ", ".join(g for _, g in savings)
    layers.add(p="cost / annual", least_g=f"least({growths})", most_g=f"greatest({growths})")
    layers.add(
        low="p / (1e0 + p) / most_g",
        high="pow(greatest(p, n) / n, 2e0 / (n + 1e0)) / least_g",
    )
    layers.add(v="CASE WHEN p > n THEN high ELSE low END")
    for _ in range(data.IRR_STEPS):
        layers.add(**{f"x_{a}": f"{g} * v" for a, g in savings})
        powers = {f"power_{a}": f"pow(x_{a}, n)" for a, _ in savings}
        layers.add(**powers, **{f"e_{a}": f"1e0 - x_{a}" for a, _ in savings})
        steps, slopes = {}, {}
        for a, _ in savings:
            e, x, power, s = f"e_{a}", f"x_{a}", f"power_{a}", f"s_{a}"
            series = f"n * (1e0 - (n - 1e0) / 2e0 * {e} * (1e0 - (n - 2e0) / 3e0 * {e}))"
            steps[s] = f"CASE WHEN abs({e}) < 1e-5 THEN {series} ELSE (1e0 - {power}) / {e} END"
            series = f"n * (n + 1e0) / 2e0 * (1e0 - (n - 1e0) * 2e0 / 3e0 * {e})"
            closed = f"{s} + ({x} * {s} - n * {power}) / {e}"
            slopes[f"slope_{a}"] = f"CASE WHEN abs({e}) < 1e-5 THEN {series} ELSE {closed} END"
        layers.add(**steps)
        layers.add(**slopes)
        worth = " + ".join(f"{a} * x_{a} * s_{a}" for a, _ in savings)
        rise = " + ".join(f"{a} * {g} * slope_{a}" for a, g in savings)
        layers.add(v=f"least(greatest(v - ({worth} - cost) / ({rise}), low), high)")
    layers.add(irr=f"CASE WHEN cost > 0e0 AND annual > 0e0 THEN 1e0 / v - 1e0 ELSE {NAN} END")


def query(source: str, names: Collection[str]) -> str:
    """The statement for a table (or what stands for one) with columns of these names."""
    cooled = "cooling_seer" in names
    savings: list[Saving] = [("fuel_money", "growth")]
    if cooled:
        savings.append(("power_money", "power_growth"))
    layers = Layers(source)
    wall(layers)
    energy(layers, cooled)
    layers.add(
        annual=" + ".join(a for a, _ in savings), **{f"q_{a}": f"{g} / d1" for a, g in savings}
    )
    layers.add(
        worth=" + ".join(f"{a} * ({annuity(f'q_{a}', 'n')})" for a, _ in savings),
        lifetime=" + ".join(f"{a} * ({annuity(g, 'n')})" for a, g in savings),
    )
    if cooled:
        payback_of_two(layers, savings)
    else:
        payback_of_one(layers)
    internal_rate(layers, savings)
    embodied = number(data.KG_PER_LB * data.EMBODIED_KG_PER_KG)
    layers.add(
        sir=f"CASE WHEN cost > 0e0 THEN worth / cost ELSE {NAN} END",
        annual_kg=f"fuel_saved * content * factor + kwh * {number(data.GRID_KG_PER_KWH)}",
        embodied=f"mass * {embodied}",
    )
    layers.add(lifetime_kg="annual_kg * n - embodied")

    def only(mask: str, value: str) -> str:
        return f"CASE WHEN {mask} THEN {value} ELSE {NAN} END"

    figures = [
        "u_before",
        "u_before - u_saved",
        "heat",
        "fuel_saved",
        "kwh",
        "fuel_saved / billed_heating_fuel",
        "annual",
        "cost",
        only("annual > 0e0", "cost / annual"),
        only("annual > 0e0", "paid_back"),
        "worth - cost",
        "sir",
        "d1 * pow(sir, 1e0 / n) - 1e0",
        "irr",
        "lifetime",
        "annual_kg",
        "lifetime_kg",
        "embodied",
        only("annual_kg > 0e0", "embodied / annual_kg"),
        only("lifetime_kg > 0e0", "cost / (lifetime_kg / 1000e0)"),
        "mass",
        f"ceil(mass / {number(data.BAG_WEIGHT_LB)} * (1e0 - 1e-12))",
    ]
    hold = " OR ".join(["spillage_test = 'failed'", *(f"{h} = 'yes'" for h in data.HAZARDS)])
    check = " OR ".join(
        [
            "spillage_test = 'not_done'",
            "fill_density_lb_ft3 < 3.5e0",
            *(f"{hazard} = 'unknown'" for hazard in data.HAZARDS),
        ]
    )
    columns = [
        *(f"{text} AS {name}" for name, text in zip(RESULTS, figures, strict=True)),
        f"CASE WHEN {hold} THEN 'hold' WHEN {check} THEN 'check' ELSE 'clear' END AS readiness",
    ]
    return f"SELECT house_id, county, {', '.join(columns)} FROM {layers.text}"


def connect(threads: int) -> duckdb.DuckDBPyConnection:
    """A database in memory."""
    return duckdb.connect(config={"threads": threads})


def score(connection: duckdb.DuckDBPyConnection, houses: pa.Table) -> pa.Table:
    """The table of results, from and to Arrow."""
    connection.register("houses", houses)
    return connection.sql(query("houses", houses.column_names)).to_arrow_table()
