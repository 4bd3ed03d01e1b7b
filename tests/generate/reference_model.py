"""The method once more, by another road, to hold the library to.

Exact fractions where the method is rational (wall, attic, fill, net cost), 50-digit
arithmetic elsewhere, plain loops over the years, bisection for the internal rate of
return. Inputs are flat rows in inch-pound names; a missing key, `None` or a blank
string means "not given". Nothing here is fast and nothing here is a closed form.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Any, Final

from mpmath import mp, mpf

mp.dps = 50

Row = Mapping[str, "str | int | float | Decimal | None"]
Real = Any  # an mpf; the library carries no usable types

# Exact definitions of the units.
MM_PER_IN: Final = Fraction("25.4")
M_PER_FT: Final = Fraction("0.3048")
KG_PER_LB: Final = Fraction("0.45359237")
J_PER_BTU: Final = Fraction("1055.05585262")
SECONDS_PER_HOUR: Final = 3600
K_PER_F: Final = Fraction(5, 9)
RSI_PER_R: Final = SECONDS_PER_HOUR * M_PER_FT**2 * K_PER_F / J_PER_BTU
"""m2 K/W in one h ft2 F/Btu, 0.176110..."""

# Unventilated air layer, horizontal heat flow: (gap in mm, m2 K/W).
AIR_LAYER_RSI: Final = (
    (Fraction(0), Fraction(0)),
    (Fraction(5), Fraction("0.11")),
    (Fraction(7), Fraction("0.13")),
    (Fraction(10), Fraction("0.15")),
    (Fraction(15), Fraction("0.17")),
    (Fraction(25), Fraction("0.18")),
)
AIR_GAP_W_M2K: Final = {0: Fraction(0), 1: Fraction("0.01"), 2: Fraction("0.04")}

# Fuel: (million Btu per unit, kg CO2e per million Btu; None = by the grid).
FUELS: Final[dict[str, tuple[Fraction, Fraction | None]]] = {
    "natural_gas": (Fraction("0.1"), Fraction("53.1145")),
    "fuel_oil_2": (Fraction("0.138"), Fraction("74.203")),
    "propane": (Fraction("0.091"), Fraction("63.113")),
    "kerosene": (Fraction("0.135"), Fraction("75.443")),
    "electricity": (Fraction("0.003412"), None),
}

DEFAULTS: Final = {
    "framing_fraction": "0.25",
    "cavity_depth_in": "3.5",
    "framing_r_per_in": "1.25",
    "batt_thickness_in": "0",
    "batt_r_per_in": "3.14",
    "batt_missing_fraction": "0",
    "air_gap_level": "0",
    "fill_density_lb_ft3": "4.0",
    "batt_compression": "0",
    "missed_fraction": "0",
    "cooling_degree_days_f": "0",
    "electricity_price": "0",
    "leakage_divisor": "20",
    "elevation_ft": "0",
    "realization_rate": "1",
    "rebate": "0",
    "tax_credit_fraction": "0",
    "life_years": "30",
    "discount_rate": "0.03",
    "fuel_escalation": "0",
    "electricity_escalation": "0",
    "grid_kg_per_kwh": "0.351642",
    "grid_decline": "0",
    "fill_embodied_kg_per_kg": "0.3",
    "bag_weight_lb": "25",
    "knob_and_tube": "unknown",
    "vermiculite": "unknown",
    "moisture_problem": "unknown",
    "loose_interior_finish": "unknown",
    "spillage_test": "none_needed",
}
ATTIC_DEFAULTS: Final = {
    "framing_r_per_in": "1.25",
    "batt_thickness_in": "0",
    "batt_r_per_in": "3.14",
    "batt_missing_fraction": "0",
    "air_gap_level": "0",
    "missed_fraction": "0",
    "fill_r_per_in": "3.6",
    "fill_density_lb_ft3": "1.6",
    "settling_fraction": "0.20",
}
HAZARDS: Final = ("knob_and_tube", "vermiculite", "moisture_problem", "loose_interior_finish")

RESULTS: Final = (
    "u_before_btu_h_ft2_f",
    "u_after_btu_h_ft2_f",
    "heat_saved_mmbtu",
    "fuel_saved",
    "electricity_saved_kwh",
    "saved_share",
    "annual_savings",
    "net_cost",
    "simple_payback_years",
    "discounted_payback_years",
    "npv",
    "sir",
    "airr",
    "irr",
    "lifetime_savings",
    "annual_co2e_kg",
    "lifetime_co2e_kg",
    "embodied_co2e_kg",
    "carbon_payback_years",
    "cost_per_tonne",
    "fill_mass_lb",
    "bags",
    "readiness",
)
ATTIC_RESULTS: Final = (
    "u_before_btu_h_ft2_f",
    "u_after_btu_h_ft2_f",
    "fill_mass_lb",
    "blown_depth_in",
)


class Inputs:
    """A row with its defaults filled in, read as text or as an exact number."""

    def __init__(self, row: Row, defaults: Mapping[str, str]) -> None:
        """Keep what is given and fall back on `defaults` for the rest."""
        given = {k: str(v).strip() for k, v in row.items() if v is not None}
        self._cells = {**defaults, **{k: v for k, v in given.items() if v}}

    def has(self, name: str) -> bool:
        """Say whether `name` is given or has a default."""
        return name in self._cells

    def text(self, name: str) -> str:
        """Return the cell as text."""
        return self._cells[name]

    def num(self, name: str) -> Fraction:
        """Return the cell as the exact decimal that it spells."""
        return Fraction(self._cells[name])


def real(value: Fraction | int) -> Real:
    """Return a fraction as a 50-digit number."""
    exact = Fraction(value)
    return mpf(exact.numerator) / exact.denominator


def air_layer_r(gap_in: Fraction) -> Fraction:
    """R of an unventilated air layer, by the table, linear between its points."""
    gap_mm = gap_in * MM_PER_IN
    for (x0, y0), (x1, y1) in pairwise(AIR_LAYER_RSI):
        if gap_mm <= x1:
            return (y0 + (y1 - y0) * (gap_mm - x0) / (x1 - x0)) / RSI_PER_R
    return AIR_LAYER_RSI[-1][1] / RSI_PER_R


def air_gap_u(level: Fraction) -> Fraction:
    """Air-gap correction of ISO 6946 in Btu/h ft2 F."""
    return AIR_GAP_W_M2K[int(level)] * RSI_PER_R


def gappy_u(r_path: Fraction, r_batt: Fraction, level: Fraction) -> Fraction:
    """U of a path with a batt, air gaps round the batt included."""
    return 1 / r_path + air_gap_u(level) * (r_batt / r_path) ** 2


def compressed_batt_r(r_batt: Fraction, share: Fraction) -> Fraction:
    """R of a batt that is squeezed by `share` of its thickness."""

    def k(density_ratio: Fraction) -> Fraction:
        return (
            Fraction("0.0829")
            + Fraction("0.0341") * density_ratio
            + Fraction("0.1982") / density_ratio
        )

    return r_batt * (1 - share) * (k(Fraction(1)) / k(1 / (1 - share)))


def wall_u(row: Inputs) -> tuple[Fraction, Fraction]:
    """U of the wall before and after the fill."""
    phi, depth, r_s = row.num("framing_fraction"), row.num("cavity_depth_in"), row.num("series_r")
    batt, missing = row.num("batt_thickness_in"), row.num("batt_missing_fraction")
    squeeze, missed = row.num("batt_compression"), row.num("missed_fraction")

    def space_r(gap: Fraction) -> Fraction:
        if gap == 0:
            return Fraction(0)  # no space left, so there is none to be given an R
        return row.num("air_space_r") if row.has("air_space_r") else air_layer_r(gap)

    if row.has("fill_r_per_in"):
        fill_r = row.num("fill_r_per_in")
    else:
        excess = row.num("fill_density_lb_ft3") - Fraction("3.5")
        fill_r = Fraction("3.6") - Fraction("0.2") * excess

    r_batt = batt * row.num("batt_r_per_in")
    r_frame = r_s + depth * row.num("framing_r_per_in")
    u_batt = gappy_u(r_s + r_batt + space_r(depth - batt), r_batt, row.num("air_gap_level"))
    u_empty = (1 - missing) * u_batt + missing / (r_s + space_r(depth))
    r_fill_batt = r_s + compressed_batt_r(r_batt, squeeze) + (depth - batt * (1 - squeeze)) * fill_r
    u_filled = (1 - missing) / r_fill_batt + missing / (r_s + depth * fill_r)
    before = phi / r_frame + (1 - phi) * u_empty
    after = phi / r_frame + (1 - phi) * ((1 - missed) * u_filled + missed * u_empty)
    return before, after


def wall_fill_mass_lb(row: Inputs) -> Fraction:
    """Mass of fibre in the wall."""
    depth, missing = row.num("cavity_depth_in"), row.num("batt_missing_fraction")
    left_by_batt = depth - row.num("batt_thickness_in") * (1 - row.num("batt_compression"))
    mean_depth = (1 - missing) * left_by_batt + missing * depth
    filled_area = row.num("wall_area_ft2") * (1 - row.num("framing_fraction"))
    filled_area *= 1 - row.num("missed_fraction")
    return filled_area * mean_depth / 12 * row.num("fill_density_lb_ft3")


def relative_air_density(elevation_ft: Fraction) -> Real:
    """Air density against sea level at the same temperature."""
    return mp.power(real(1 - Fraction("6.8754e-6") * elevation_ft), real(Fraction("5.2559")))


def conductance_saved(row: Inputs, du: Fraction) -> Real:
    """Conductance saved through wall and leaks, Btu/h F."""
    total = real(row.num("wall_area_ft2") * du)
    if row.has("cfm50_before") and row.has("cfm50_after"):
        cfm = (row.num("cfm50_before") - row.num("cfm50_after")) / row.num("leakage_divisor")
        density = relative_air_density(row.num("elevation_ft"))
        total += real(Fraction("1.08") * cfm) * density
    return total


def net_cost(row: Inputs) -> Fraction:
    """Cost after rebate and tax credit."""
    after_rebate = row.num("installed_cost") - row.num("rebate")
    credit = row.num("tax_credit_fraction") * after_rebate
    if row.has("tax_credit_cap"):
        credit = min(credit, row.num("tax_credit_cap"))
    return after_rebate - credit


def escalated(first: Real, rate: Fraction, years: int) -> list[Real]:
    """Flows at the end of years 1 to `years` of what is `first` at today's prices."""
    flows, flow = [], first
    for _ in range(years):
        flow = flow * real(1 + rate)
        flows.append(flow)
    return flows


def discounted(flows: Sequence[Real], growth: Real) -> list[Real]:
    """Present value of each flow when money grows by the factor `growth` a year."""
    values, factor = [], mpf(1)
    for flow in flows:
        factor = factor * growth
        values.append(flow / factor)
    return values


def discounted_payback(values: Sequence[Real], cost: Real) -> Real | None:
    """Years until the discounted flows reach `cost`, linear inside a year."""
    reached = mpf(0)
    for year, value in enumerate(values):
        if reached + value >= cost:
            return year + (cost - reached) / value
        reached += value
    return None


def irr(flows: Sequence[Real], cost: Real) -> Real:
    """Rate at which positive flows are worth `cost`, by bisection."""

    def worth(growth: Real) -> Real:
        return mp.fsum(discounted(flows, growth))

    low, high = mpf(1), mpf(1)
    while worth(low) < cost:
        low /= 2
    while worth(high) > cost:
        high *= 2
    while high - low > high * mpf(10) ** -40:
        middle = (low + high) / 2
        if worth(middle) > cost:
            low = middle
        else:
            high = middle
    return (low + high) / 2 - 1


def airr(sir: Real, rate: Fraction, years: int) -> Real:
    """Adjusted internal rate of return."""
    return real(1 + rate) * mp.power(sir, mpf(1) / years) - 1


def money(row: Inputs, fuel_saved: Real, cooling_kwh: Real) -> dict[str, Any]:
    """Savings over the years against the net cost."""
    years, rate = int(row.num("life_years")), row.num("discount_rate")
    electric = row.text("fuel") == "electricity"
    own_price = "fuel_price" if row.has("fuel_price") or not electric else "electricity_price"
    fuel_value = fuel_saved * real(row.num(own_price))
    cooling_value = cooling_kwh * real(row.num("electricity_price"))
    power_rate = row.num("electricity_escalation")
    fuel_rate = power_rate if electric else row.num("fuel_escalation")
    annual = fuel_value + cooling_value
    cost = real(net_cost(row))
    flows = [
        a + b
        for a, b in zip(
            escalated(fuel_value, fuel_rate, years),
            escalated(cooling_value, power_rate, years),
            strict=True,
        )
    ]
    values = discounted(flows, real(1 + rate))
    worth = mp.fsum(values)

    out: dict[str, Any] = dict.fromkeys(
        ("simple_payback_years", "discounted_payback_years", "sir", "airr", "irr")
    )
    out |= {"annual_savings": annual, "net_cost": cost, "npv": worth - cost}
    out["lifetime_savings"] = mp.fsum(flows)
    if annual > 0:
        out["simple_payback_years"] = cost / annual if cost > 0 else mpf(0)
        out["discounted_payback_years"] = discounted_payback(values, cost) if cost > 0 else mpf(0)
    if cost > 0:
        out["sir"] = worth / cost
        out["airr"] = airr(out["sir"], rate, years) if worth > 0 else None
        out["irr"] = irr(flows, cost) if annual > 0 else None
    return out


def carbon(row: Inputs, fuel_saved: Real, cooling_kwh: Real, mass_lb: Fraction) -> dict[str, Any]:
    """Emissions avoided over the years and spent on the fibre."""
    content, factor = FUELS[row.text("fuel")]
    grid = real(row.num("grid_kg_per_kwh"))
    fuel_kg = mpf(0) if factor is None else fuel_saved * real(content * factor)
    power_kg = (cooling_kwh + (fuel_saved if factor is None else 0)) * grid
    annual = fuel_kg + power_kg
    embodied = real(mass_lb * KG_PER_LB * row.num("fill_embodied_kg_per_kg"))
    lifetime, share = -embodied, mpf(1)
    for _ in range(int(row.num("life_years"))):
        lifetime += fuel_kg + power_kg * share
        share *= real(1 - row.num("grid_decline"))
    return {
        "annual_co2e_kg": annual,
        "lifetime_co2e_kg": lifetime,
        "embodied_co2e_kg": embodied,
        "carbon_payback_years": embodied / annual if annual > 0 else None,
        "cost_per_tonne": real(net_cost(row)) / (lifetime / 1000) if lifetime > 0 else None,
    }


def readiness(row: Inputs) -> str:
    """Say whether the work may start: hold, check or clear."""
    answers = [row.text(name) for name in HAZARDS]
    spillage = row.text("spillage_test")
    if "yes" in answers or spillage == "failed":
        return "hold"
    old = row.has("year_built") and row.num("year_built") < 1978
    thin = row.num("fill_density_lb_ft3") < Fraction("3.5")
    return "check" if "unknown" in answers or spillage == "not_done" or old or thin else "clear"


def evaluate(row: Row) -> dict[str, Any]:
    """All results for one house with wall cavities."""
    cells = Inputs(row, DEFAULTS)
    before, after = wall_u(cells)
    conductance = conductance_saved(cells, before - after)
    hours = 24 * real(cells.num("heating_degree_days_f"))
    heat = hours * conductance / 10**6
    realised = real(cells.num("realization_rate"))
    content, _ = FUELS[cells.text("fuel")]
    fuel = realised * heat / real(cells.num("heating_efficiency")) / real(content)
    share = None
    if cells.has("billed_heating_fuel"):
        billed = real(cells.num("billed_heating_fuel"))
        fuel = min(fuel, billed)
        share = fuel / billed
    cooling = mpf(0)
    if cells.has("cooling_seer"):
        hours = 24 * real(cells.num("cooling_degree_days_f"))
        cooling = realised * hours * conductance / (1000 * real(cells.num("cooling_seer")))
    mass = wall_fill_mass_lb(cells)

    out = {
        "u_before_btu_h_ft2_f": real(before),
        "u_after_btu_h_ft2_f": real(after),
        "heat_saved_mmbtu": heat,
        "fuel_saved": fuel,
        "electricity_saved_kwh": cooling,
        "saved_share": share,
        "fill_mass_lb": real(mass),
        "bags": math.ceil(mass / cells.num("bag_weight_lb")),
        "readiness": readiness(cells),
        **money(cells, fuel, cooling),
        **carbon(cells, fuel, cooling, mass),
    }
    return {name: out[name] for name in RESULTS}


def evaluate_attic(row: Row) -> dict[str, Any]:
    """U before and after, fill mass and blown depth of an open attic floor."""
    cells = Inputs(row, ATTIC_DEFAULTS)
    phi, depth, r_s = (
        cells.num("framing_fraction"),
        cells.num("cavity_depth_in"),
        cells.num("series_r"),
    )
    batt, missing = cells.num("batt_thickness_in"), cells.num("batt_missing_fraction")
    fill, fill_r = cells.num("fill_depth_in"), cells.num("fill_r_per_in")
    batt_r, missed = cells.num("batt_r_per_in"), cells.num("missed_fraction")

    r_joist = r_s + depth * cells.num("framing_r_per_in") + max(Fraction(0), batt - depth) * batt_r
    u_bay = gappy_u(r_s + batt * batt_r, batt * batt_r, cells.num("air_gap_level"))
    before = phi / r_joist + (1 - phi) * ((1 - missing) * u_bay + missing / r_s)

    over_joist = min(fill, max(Fraction(0), batt + fill - depth))
    r_bay = r_s + batt * batt_r + fill * fill_r
    r_void = r_s + (batt + fill) * fill_r
    blown = phi / (r_joist + over_joist * fill_r)
    blown += (1 - phi) * ((1 - missing) / r_bay + missing / r_void)

    mean_depth = (1 - phi) * ((1 - missing) * fill + missing * (batt + fill)) + phi * over_joist
    volume = cells.num("area_ft2") / 12 * (1 - missed) * mean_depth
    return {
        "u_before_btu_h_ft2_f": real(before),
        "u_after_btu_h_ft2_f": real((1 - missed) * blown + missed * before),
        "fill_mass_lb": real(volume * cells.num("fill_density_lb_ft3")),
        "blown_depth_in": real(fill / (1 - cells.num("settling_fraction"))),
    }


def published_heat(kind: str, quantity: str, v: Mapping[str, Fraction]) -> Fraction | None:
    """Work out a published value about walls, layers and wood."""
    match kind, quantity:
        case "wall_u", "cavity_path_r":
            return v["series_r"] + v["cavity_r"]
        case "wall_u", "framing_path_r":
            return v["series_r"] + v["framing_r"]
        case "wall_u", "u":
            phi, r_s = v["framing_fraction"], v["series_r"]
            return phi / (r_s + v["framing_r"]) + (1 - phi) / (r_s + v["cavity_r"])
        case "layers_u", "u":
            return 1 / (v["outside_film_r"] + v["inside_film_r"] + v["insulation_r"])
        case "mean_r", "r":
            return 1 / (v["share_1"] / v["r_1"] + v["share_2"] / v["r_2"])
        case "softwood_k", "k_w_mk":
            per_density = Fraction("0.1941") + Fraction("0.004064") * v["moisture_percent"]
            return v["specific_gravity"] * per_density + Fraction("0.01864")
        case "softwood_k", "k_btu_in_h_ft2_f" | "r_per_in":
            per_density = Fraction("1.34") + Fraction("0.028") * v["moisture_percent"]
            k = v["specific_gravity"] * per_density + Fraction("0.129")
            return 1 / k if quantity == "r_per_in" else k
        case "compression_r", "r":
            return compressed_batt_r(v["r"], 1 - v["squeezed_thickness_in"] / v["thickness_in"])
    return None


def published_energy(kind: str, quantity: str, v: Mapping[str, Fraction]) -> Fraction | None:
    """Work out a published value about air, fuels, the grid and a simple payback."""
    match kind, quantity:
        case "air_constant", "btu_per_h_cfm_f":
            return v["density_lb_ft3"] * v["minutes_per_hour"] * v["specific_heat_btu_lb_f"]
        case "fuel_factor", "kg_co2e_per_mmbtu":
            methane = v["kg_ch4_per_mmbtu"] * v["gwp_ch4"]
            return v["kg_co2_per_mmbtu"] + methane + v["kg_n2o_per_mmbtu"] * v["gwp_n2o"]
        case "fuel_factor", "kg_co2_per_unit":
            return v["mmbtu_per_unit"] * v["kg_co2_per_mmbtu"]
        case "fuel_factor", "price_per_therm":
            return v["price_per_mcf"] / (v["btu_per_cf"] * 1000 / 10**5)
        case "grid_rate", "kg_co2e_per_kwh" | "kg_co2_per_kwh":
            return v["lb_per_mwh"] * KG_PER_LB / 1000
        case "simple_payback", "years":
            du = 1 / v["r_before"] - 1 / v["r_after"]
            therms = 24 * v["heating_degree_days_f"] * du / v["heating_efficiency"] / 10**5
            return v["cost_per_ft2"] / (therms * v["price_per_therm"])
    return None


def published_series(kind: str, v: Mapping[str, Fraction], flows: Sequence[Real]) -> Real | None:
    """Work out a published value that is no fraction: powers, flows over years, rates."""
    match kind:
        case "air_density":
            return relative_air_density(v["elevation_ft"])
        case "annuity":
            ones = escalated(mpf(1), v["escalation"], int(v["life_years"]))
            return mp.fsum(discounted(ones, real(1 + v["discount_rate"])))
        case "irr":
            return irr(flows[1:], -flows[0])
        case "airr":
            return airr(real(v["sir"]), v["discount_rate"], int(v["life_years"]))
    return None


def recompute_published(kind: str, inputs: Mapping[str, str], quantity: str) -> Real:
    """Work out one row of `published.csv` from its inputs."""
    if quantity == "mmbtu_per_unit":
        return real(FUELS[inputs["fuel"]][0])
    words = ("flows", "fuel", "region", "rate")
    v = {name: Fraction(value) for name, value in inputs.items() if name not in words}
    flows = [real(Fraction(flow)) for flow in inputs.get("flows", "").split()]
    exact = published_heat(kind, quantity, v)
    exact = published_energy(kind, quantity, v) if exact is None else exact
    value = published_series(kind, v, flows) if exact is None else real(exact)
    if value is None:
        raise ValueError(f"no calculation for {kind} {quantity}")
    return value
