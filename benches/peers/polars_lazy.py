"""Polars: one lazy query, layer on layer, so that nothing is computed twice."""

from __future__ import annotations

from collections.abc import Collection
from functools import reduce

import polars as pl

from . import data
from .data import RESULTS

NAN = pl.lit(float("nan"))
col = pl.col

#: A saving of the first year at today's price, by name, with the factor by which it grows.
Saving = tuple[str, str]


def air_r(gap: pl.Expr) -> pl.Expr:
    pieces = [(gap - start).clip(0, width) * slope for start, width, slope in data.AIR_PIECES]
    return reduce(pl.Expr.add, pieces)


def where(mask: pl.Expr, yes: pl.Expr, no: pl.Expr = NAN) -> pl.Expr:
    return pl.when(mask).then(yes).otherwise(no)


def annuity(x: pl.Expr, n: pl.Expr) -> pl.Expr:
    e = 1 - x
    series = x * n * (1 - (n - 1) / 2 * e * (1 - (n - 2) / 3 * e))
    return where(e.abs() < 1e-6, series, x * (1 - x**n) / e)


def by_fuel(table: dict[str, float]) -> pl.Expr:
    fuels = list(table.items())
    chain = pl.when(col("fuel") == fuels[0][0]).then(fuels[0][1])
    for fuel, value in fuels[1:-1]:
        chain = chain.when(col("fuel") == fuel).then(value)
    return chain.otherwise(fuels[-1][1])


def wall(houses: pl.LazyFrame) -> pl.LazyFrame:
    phi, depth, r_s = col("framing_fraction"), col("cavity_depth_in"), col("series_r")
    batt, m = col("batt_thickness_in"), col("batt_missing_fraction")
    level, zero = col("air_gap_level"), data.GAP_DELTA_U[0]
    houses = houses.with_columns(
        r_batt=batt * data.BATT_R_PER_IN,
        kept=1 - col("batt_compression"),
        fill_r=3.6 - 0.2 * (col("fill_density_lb_ft3") - 3.5),
        delta_u=pl.when(level == 0)
        .then(zero)
        .when(level == 1)
        .then(data.GAP_DELTA_U[1])
        .otherwise(data.GAP_DELTA_U[2]),
        filled=(1 - phi) * (1 - col("missed_fraction")),
    ).with_columns(
        r_batt_path=r_s + col("r_batt") + air_r(depth - batt),
        beside=depth - batt * col("kept"),
    )
    k0, k1, k2 = data.BATT_K
    kept = col("kept")
    r_batt_after = col("r_batt") * kept * (data.BATT_K_1 / (k0 + k1 / kept + k2 * kept))
    share = col("r_batt") / col("r_batt_path")
    u_batt = 1 / col("r_batt_path") + col("delta_u") * share * share
    u_filled = (1 - m) / (r_s + r_batt_after + col("beside") * col("fill_r")) + m / (
        r_s + depth * col("fill_r")
    )
    return houses.with_columns(
        u_cavity=(1 - m) * u_batt + m / (r_s + air_r(depth)), u_filled=u_filled
    ).with_columns(
        u_before=phi / (r_s + depth * data.FRAMING_R_PER_IN) + (1 - phi) * col("u_cavity"),
        u_saved=col("filled") * (col("u_cavity") - col("u_filled")),
        mass=col("wall_area_ft2")
        * (col("filled") * ((1 - m) * col("beside") + m * depth))
        / 12
        * col("fill_density_lb_ft3"),
    )


def energy(houses: pl.LazyFrame, cooled: bool) -> pl.LazyFrame:
    density = (1 - 6.8754e-6 * col("elevation_ft")) ** 5.2559
    air = (col("cfm50_before") - col("cfm50_after")) / data.LEAKAGE_DIVISOR
    houses = houses.with_columns(
        conductance=col("wall_area_ft2") * col("u_saved") + 1.08 * density * air,
        content=by_fuel({fuel: content for fuel, (content, _) in data.FUELS.items()}),
        factor=by_fuel({fuel: factor for fuel, (_, factor) in data.FUELS.items()}),
        n=col("life_years").cast(pl.Float64),
        d1=1 + col("discount_rate"),
        cost=col("installed_cost") - col("rebate"),
    )
    kwh = 0.024 * col("cooling_degree_days_f") * col("conductance") / col("cooling_seer")
    houses = houses.with_columns(
        heat=24e-6 * col("heating_degree_days_f") * col("conductance"),
        kwh=kwh if cooled else pl.lit(0.0),
    )
    modelled = col("heat") / (col("heating_efficiency") * col("content"))
    power_rise = col("electricity_escalation") if cooled else pl.lit(0.0)
    rise = where(col("fuel") == "electricity", power_rise, col("fuel_escalation"))
    return houses.with_columns(
        fuel_saved=pl.min_horizontal(modelled, col("billed_heating_fuel")),
        growth=1 + rise,
    ).with_columns(
        fuel_money=col("fuel_saved") * col("fuel_price"),
        **(
            {
                "power_money": col("kwh") * col("electricity_price"),
                "power_growth": 1 + col("electricity_escalation"),
            }
            if cooled
            else {}
        ),
    )


def payback_of_one(houses: pl.LazyFrame) -> pl.LazyFrame:
    """By a logarithm: exact for one growing saving."""
    a, q, cost = col("fuel_money"), col("q_fuel_money"), col("cost")
    e = 1 - q
    whole = where(e == 0, cost / a, (-cost * e / (a * q)).log1p() / q.log())
    houses = houses.with_columns(year=(whole.ceil() - 1).clip(lower_bound=0))
    year = col("year")
    out = year + (cost - a * annuity(q, year)) / (a * q ** (year + 1))
    return houses.with_columns(paid_back=where(year < col("n"), out))


def payback_of_two(houses: pl.LazyFrame, savings: list[Saving]) -> pl.LazyFrame:
    """The last year below the cost, bit by bit: there is no formula for two."""
    start: dict[str, pl.Expr] = {"year": pl.lit(0.0), "paid": pl.lit(0.0)}
    for a, _ in savings:
        start |= {f"{a}_flow": col(a) * col(f"q_{a}"), f"{a}_sum0": pl.lit(1.0)}
        start[f"{a}_power0"] = col(f"q_{a}")
    houses = houses.with_columns(**start)
    for bit in range(1, data.LIFE_BITS):
        rungs = {}
        for a, _ in savings:
            power, total = col(f"{a}_power{bit - 1}"), col(f"{a}_sum{bit - 1}")
            rungs |= {f"{a}_power{bit}": power * power, f"{a}_sum{bit}": total * (1 + power)}
        houses = houses.with_columns(**rungs)
    for bit in reversed(range(data.LIFE_BITS)):
        more = [col(f"{a}_flow") * col(f"{a}_sum{bit}") for a, _ in savings]
        houses = houses.with_columns(
            total=reduce(pl.Expr.add, more, col("paid")), next=col("year") + (1 << bit)
        ).with_columns(take=(col("next") <= col("n")) & (col("total") < col("cost")))
        take = col("take")
        houses = houses.with_columns(
            year=where(take, col("next"), col("year")),
            paid=where(take, col("total"), col("paid")),
            **{
                f"{a}_flow": where(
                    take, col(f"{a}_flow") * col(f"{a}_power{bit}"), col(f"{a}_flow")
                )
                for a, _ in savings
            },
        )
    flow = reduce(pl.Expr.add, [col(f"{a}_flow") for a, _ in savings])
    out = col("year") + (col("cost") - col("paid")) / flow
    return houses.with_columns(paid_back=where(col("year") < col("n"), out))


def internal_rate(houses: pl.LazyFrame, savings: list[Saving]) -> pl.LazyFrame:
    """Newton's method for `v = 1/(1 + rate)`, unrolled."""
    n, cost = col("n"), col("cost")
    growths = [col(g) for _, g in savings]
    houses = houses.with_columns(
        p=cost / col("annual"),
        least=pl.min_horizontal(growths) if len(growths) > 1 else growths[0],
        most=pl.max_horizontal(growths) if len(growths) > 1 else growths[0],
    )
    p = col("p")
    houses = houses.with_columns(
        low=p / (1 + p) / col("most"),
        high=(pl.max_horizontal(p, n) / n) ** (2 / (n + 1)) / col("least"),
    ).with_columns(v=where(p > n, col("high"), col("low")))
    for _ in range(data.IRR_STEPS):
        houses = houses.with_columns(**{f"x_{a}": col(g) * col("v") for a, g in savings})
        houses = houses.with_columns(**{f"power_{a}": col(f"x_{a}") ** n for a, _ in savings})
        steps = {}
        for a, _ in savings:
            x, power = col(f"x_{a}"), col(f"power_{a}")
            e = 1 - x
            series = n * (1 - (n - 1) / 2 * e * (1 - (n - 2) / 3 * e))
            steps[f"s_{a}"] = where(e.abs() < 1e-5, series, (1 - power) / e)
        houses = houses.with_columns(**steps)
        worth, rise = [], []
        for a, g in savings:
            x, power, s = col(f"x_{a}"), col(f"power_{a}"), col(f"s_{a}")
            e = 1 - x
            series = n * (n + 1) / 2 * (1 - (n - 1) * 2 / 3 * e)
            slope = where(e.abs() < 1e-5, series, s + (x * s - n * power) / e)
            worth.append(col(a) * x * s)
            rise.append(col(a) * col(g) * slope)
        step = (reduce(pl.Expr.add, worth) - cost) / reduce(pl.Expr.add, rise)
        houses = houses.with_columns(v=(col("v") - step).clip(col("low"), col("high")))
    solvable = (cost > 0) & (col("annual") > 0)
    return houses.with_columns(irr=where(solvable, 1 / col("v") - 1))


def query(houses: pl.LazyFrame, names: Collection[str]) -> pl.LazyFrame:
    """The table of results of a table with columns of these names."""
    cooled = "cooling_seer" in names
    savings: list[Saving] = [("fuel_money", "growth")]
    if cooled:
        savings.append(("power_money", "power_growth"))
    houses = energy(wall(houses), cooled)
    houses = houses.with_columns(
        annual=reduce(pl.Expr.add, [col(a) for a, _ in savings]),
        **{f"q_{a}": col(g) / col("d1") for a, g in savings},
    )
    n, cost = col("n"), col("cost")
    houses = houses.with_columns(
        worth=reduce(pl.Expr.add, [col(a) * annuity(col(f"q_{a}"), n) for a, _ in savings]),
        lifetime=reduce(pl.Expr.add, [col(a) * annuity(col(g), n) for a, g in savings]),
    )
    houses = payback_of_two(houses, savings) if cooled else payback_of_one(houses)
    houses = internal_rate(houses, savings)
    houses = houses.with_columns(
        sir=where(cost > 0, col("worth") / cost),
        annual_kg=col("fuel_saved") * col("content") * col("factor")
        + col("kwh") * data.GRID_KG_PER_KWH,
        embodied=col("mass") * (data.KG_PER_LB * data.EMBODIED_KG_PER_KG),
    ).with_columns(lifetime_kg=col("annual_kg") * n - col("embodied"))
    saves, avoids, tonnes = col("annual") > 0, col("annual_kg") > 0, col("lifetime_kg") > 0
    hold = col("spillage_test") == "failed"
    check = (col("spillage_test") == "not_done") | (col("fill_density_lb_ft3") < 3.5)
    for name in data.HAZARDS:
        hold |= col(name) == "yes"
        check |= col(name) == "unknown"
    figures = [
        col("u_before"),
        col("u_before") - col("u_saved"),
        col("heat"),
        col("fuel_saved"),
        col("kwh"),
        col("fuel_saved") / col("billed_heating_fuel"),
        col("annual"),
        cost,
        where(saves, cost / col("annual")),
        where(saves, col("paid_back")),
        col("worth") - cost,
        col("sir"),
        col("d1") * col("sir") ** (1 / n) - 1,
        col("irr"),
        col("lifetime"),
        col("annual_kg"),
        col("lifetime_kg"),
        col("embodied"),
        where(avoids, col("embodied") / col("annual_kg")),
        where(tonnes, cost / (col("lifetime_kg") / 1000)),
        col("mass"),
        (col("mass") / data.BAG_WEIGHT_LB * (1 - 1e-12)).ceil(),
    ]
    ready = pl.when(hold).then(pl.lit("hold")).when(check).then(pl.lit("check"))
    return houses.select(
        "house_id",
        "county",
        *[figure.alias(name) for name, figure in zip(RESULTS, figures, strict=True)],
        ready.otherwise(pl.lit("clear")).alias("readiness"),
    )


def score(houses: pl.DataFrame, engine: str = "streaming") -> pl.DataFrame:
    """The table of results, from Polars' own table."""
    return query(houses.lazy(), houses.columns).collect(engine=engine)
