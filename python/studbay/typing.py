"""What the keywords of a house may be: for annotations of your own code.

Written by tests/generate/make_stubs.py from the field registry.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol, SupportsFloat, SupportsIndex, TypeAlias, TypedDict

__all__ = [
    "Answer",
    "ArrowArray",
    "ArrowStream",
    "ArrowTable",
    "HouseFields",
    "LayerFields",
    "Number",
    "SurfaceFields",
    "Text",
    "Word",
]

#: A number, or text that is one; numpy and decimal numbers too.
Number: TypeAlias = SupportsFloat | SupportsIndex | str | None
#: A word of the field's list.
Word: TypeAlias = str | None
#: yes, no or unknown.
Answer: TypeAlias = str | bool | None
#: Free text.
Text: TypeAlias = str | int | None


class ArrowStream(Protocol):
    """Offers its columns as an Arrow stream, by the PyCapsule interface."""

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object:
        """A PyCapsule that holds an ArrowArrayStream."""


class ArrowArray(Protocol):
    """Offers its columns as one Arrow array of structs, by the PyCapsule interface."""

    def __arrow_c_array__(self, requested_schema: object | None = None) -> tuple[object, object]:
        """PyCapsules that hold an ArrowSchema and an ArrowArray."""


#: A table: a DataFrame of pandas or polars, a relation of duckdb, a Table of pyarrow and so on.
ArrowTable: TypeAlias = ArrowStream | ArrowArray


class LayerFields(TypedDict, total=False):
    """A layer outside the cavity."""

    name: Text
    """Your own name for the layer."""
    material: Word
    """A key of the materials table."""
    r: Number
    """Its resistance, h·ft²·°F/Btu."""
    rsi: Number
    """Its resistance, m²K/W."""
    thickness_in: Number
    """Its thickness, in; with a resistivity."""
    thickness_mm: Number
    """Its thickness, mm; with a conductivity."""
    r_per_in: Number
    """Its resistivity, h·ft²·°F/Btu per in."""
    k_w_mk: Number
    """Its conductivity, W/mK."""


class SurfaceFields(TypedDict, total=False):
    """A surface of a house with several."""

    area_ft2: Number
    """Net area of the surface, openings taken off. Allowed: above 0 to 1000000 ft². Required."""
    area_m2: Number
    """Net area of the surface, openings taken off. Allowed: above 0 to 92903 m². Required."""
    kind: Word
    """wall, slope (a sloped ceiling packed between rafters), floor (over an unheated space) or
    attic_floor (open, blown over what is there). Allowed: one of wall, slope, floor,
    attic_floor. Left out: wall.
    """
    name: Text
    """Your own name for the surface, as in front wall. Allowed: 1 to 200 characters. Left out: its
    place in the list.
    """
    temperature_factor: Number
    """Share of the indoor-outdoor temperature difference that stands across the surface: 1 to
    outdoors, less to an unheated space. Allowed: 0 to 1. Left out: 1.
    """
    framing_fraction: Number
    """Share of the area that is studs, plates, sills and headers. A slope, floor or attic floor
    without it takes 0.10. Allowed: 0 to 0.6. Left out: 0.25.
    """
    framing_material: Word
    """What the framing is made of. Metal is refused: heat runs along its flanges and parallel paths
    do not hold. Allowed: one of wood, metal. Left out: wood.
    """
    cavity_depth_in: Number
    """Depth of the cavity between sheathing and interior finish; of an attic floor, the height of
    the joists. Allowed: 0.5 to 16 in. Left out: 3.5.
    """
    cavity_depth_mm: Number
    """Depth of the cavity between sheathing and interior finish; of an attic floor, the height of
    the joists. Allowed: 12.7 to 406.4 mm. Left out: 88.9.
    """
    framing_r_per_in: Number
    """Thermal resistance of the framing for each inch along the heat flow. Allowed: 0.3 to 3
    h·ft²·°F/Btu per in. Left out: 1.25.
    """
    framing_k_w_mk: Number
    """Thermal resistance of the framing for each inch along the heat flow. Allowed: 0.048076 to
    0.48076 W/mK. Left out: 0.115382.
    """
    series_r: Number
    """Resistance of all layers outside the cavity and of both surface films together. Allowed: 0.3
    to 60 h·ft²·°F/Btu. Left out: from cladding, sheathing and interior_finish, or from layers.
    """
    series_rsi: Number
    """Resistance of all layers outside the cavity and of both surface films together. Allowed:
    0.0528331 to 10.5666 m²K/W. Left out: from cladding, sheathing and interior_finish, or from
    layers.
    """
    cladding: Word
    """Cladding by its key in the materials table, instead of series_r. Allowed: one of no_cladding,
    wood_bevel_siding_1_2in, wood_bevel_siding_3_4in, wood_drop_siding_1in, wood_shingles,
    wood_shingles_double, plywood_siding_3_8in, hardboard_siding_7_16in, hollow_backed_siding,
    insulating_backed_siding_3_8in, stucco_3_4in, face_brick_4in, common_brick_4in,
    asbestos_cement_shingle, fibre_cement_siding_5_16in, asphalt_insulating_siding_1_2in,
    asphalt_roll_siding. Left out: see series_r.
    """
    sheathing: Word
    """Sheathing by its key in the materials table, instead of series_r. Allowed: one of
    no_sheathing, board_sheathing_3_4in, plywood_3_8in, plywood_1_2in, plywood_5_8in, osb_7_16in,
    fibreboard_1_2in, fibreboard_25_32in, gypsum_sheathing_1_2in, xps_sheathing_1in,
    eps_sheathing_1in. Left out: see series_r.
    """
    interior_finish: Word
    """Interior finish by its key in the materials table, instead of series_r. Allowed: one of
    no_interior_finish, gypsum_board_3_8in, gypsum_board_1_2in, gypsum_board_5_8in,
    plaster_wood_lath_3_4in, plaster_gypsum_lath_7_8in, plaster_metal_lath_3_4in,
    wood_panelling_1_4in, wood_panelling_3_4in, fibreboard_interior_1_2in. Left out: see
    series_r.
    """
    batt_thickness_in: Number
    """Thickness of the batt that is there now, 0 for an empty cavity; at most the cavity depth,
    except on an attic floor, where it may stand higher than the joists. Allowed: 0 to 24 in.
    Left out: 0.
    """
    batt_thickness_mm: Number
    """Thickness of the batt that is there now, 0 for an empty cavity; at most the cavity depth,
    except on an attic floor, where it may stand higher than the joists. Allowed: 0 to 609.6 mm.
    Left out: 0.
    """
    batt_r_per_in: Number
    """Thermal resistance of the batt for each inch at its own thickness. Allowed: 1.5 to 5
    h·ft²·°F/Btu per in. Left out: 3.14.
    """
    batt_k_w_mk: Number
    """Thermal resistance of the batt for each inch at its own thickness. Allowed: 0.0288456 to
    0.0961519 W/mK. Left out: 0.0459324.
    """
    batt_missing_fraction: Number
    """Share of the cavity area that has no batt at all. Allowed: 0 to 1. Left out: 0."""
    air_gap_level: Number
    """How well the batt fits: 0 no gaps, 1 gaps that reach across it, 2 gaps with air moving round
    it. Allowed: whole number, 0 to 2. Left out: 0.
    """
    air_space_r: Number
    """Resistance of the air left in the cavity beside the batt, and of an empty cavity. Not for an
    attic floor, which is open. Allowed: 0 to 3 h·ft²·°F/Btu. Left out: by the ISO 6946 table.
    """
    air_space_rsi: Number
    """Resistance of the air left in the cavity beside the batt, and of an empty cavity. Not for an
    attic floor, which is open. Allowed: 0 to 0.528331 m²K/W. Left out: by the ISO 6946 table.
    """
    fill_density_lb_ft3: Number
    """Density at which the fibre is packed: not under 3.0 in an enclosed cavity, where loose fibre
    settles. On an attic floor, the density after settling: 1.6 when left out, never above 2.2,
    which open blowing does not reach. Allowed: 1.5 to 6 lb/ft³. Left out: 4.
    """
    fill_density_kg_m3: Number
    """Density at which the fibre is packed: not under 3.0 in an enclosed cavity, where loose fibre
    settles. On an attic floor, the density after settling: 1.6 when left out, never above 2.2,
    which open blowing does not reach. Allowed: 24.0277 to 96.1108 kg/m³. Left out: 64.0739.
    """
    fill_r_per_in: Number
    """Thermal resistance of the fill for each inch. Allowed: 2 to 5 h·ft²·°F/Btu per in. Left out:
    by density: 3.6 − 0.2 × (density − 3.5); attic floor 3.6.
    """
    fill_k_w_mk: Number
    """Thermal resistance of the fill for each inch. Allowed: 0.0288456 to 0.0721139 W/mK. Left out:
    by density: 3.6 − 0.2 × (density − 3.5); attic floor 3.6.
    """
    batt_compression: Number
    """Share of the batt's thickness by which the fill squeezes it. Not for an attic floor. Allowed:
    0 to 0.45. Left out: 0.
    """
    missed_fraction: Number
    """Share of the cavity area that the fill does not reach; it stays as it was. Allowed: 0 to 1.
    Left out: 0.
    """
    fill_depth_in: Number
    """Depth of the blown layer over what is there, after settling. Attic floors only. Allowed:
    above 0 to 36 in. Left out: required for an attic floor, not used elsewhere.
    """
    fill_depth_mm: Number
    """Depth of the blown layer over what is there, after settling. Attic floors only. Allowed:
    above 0 to 914.4 mm. Left out: required for an attic floor, not used elsewhere.
    """
    settling_fraction: Number
    """Share of the depth as blown by which the layer settles. Attic floors only. Allowed: 0 to 0.5.
    Left out: 0.2.
    """
    layers: Sequence[LayerFields | Mapping[str, object] | Number]
    """Everything outside the cavity, outside first, without films: each a table of named values, a
    key of the materials table, or a resistance in h·ft²·°F/Btu.
    """
    ranges: Mapping[str, object] | None
    """How far fields may be off, for `studbay.doubt`: under each name `[low, high]`, `[low, likely,
    high]`, or a table with `distribution` and its numbers, in the unit of the name.
    """


class HouseFields(TypedDict, total=False):
    """The keywords of a house."""

    house_id: Text
    """Your own name for the house; never a person's name. Allowed: 1 to 200 characters. Required.
    """
    wall_area_ft2: Number
    """Net wall area to be filled, windows and doors taken off. Allowed: above 0 to 1000000 ft².
    Required.
    """
    wall_area_m2: Number
    """Net wall area to be filled, windows and doors taken off. Allowed: above 0 to 92903 m².
    Required.
    """
    framing_fraction: Number
    """Share of the area that is studs, plates, sills and headers. A slope, floor or attic floor
    without it takes 0.10. Allowed: 0 to 0.6. Left out: 0.25.
    """
    framing_material: Word
    """What the framing is made of. Metal is refused: heat runs along its flanges and parallel paths
    do not hold. Allowed: one of wood, metal. Left out: wood.
    """
    cavity_depth_in: Number
    """Depth of the cavity between sheathing and interior finish; of an attic floor, the height of
    the joists. Allowed: 0.5 to 16 in. Left out: 3.5.
    """
    cavity_depth_mm: Number
    """Depth of the cavity between sheathing and interior finish; of an attic floor, the height of
    the joists. Allowed: 12.7 to 406.4 mm. Left out: 88.9.
    """
    framing_r_per_in: Number
    """Thermal resistance of the framing for each inch along the heat flow. Allowed: 0.3 to 3
    h·ft²·°F/Btu per in. Left out: 1.25.
    """
    framing_k_w_mk: Number
    """Thermal resistance of the framing for each inch along the heat flow. Allowed: 0.048076 to
    0.48076 W/mK. Left out: 0.115382.
    """
    series_r: Number
    """Resistance of all layers outside the cavity and of both surface films together. Allowed: 0.3
    to 60 h·ft²·°F/Btu. Left out: from cladding, sheathing and interior_finish, or from layers.
    """
    series_rsi: Number
    """Resistance of all layers outside the cavity and of both surface films together. Allowed:
    0.0528331 to 10.5666 m²K/W. Left out: from cladding, sheathing and interior_finish, or from
    layers.
    """
    cladding: Word
    """Cladding by its key in the materials table, instead of series_r. Allowed: one of no_cladding,
    wood_bevel_siding_1_2in, wood_bevel_siding_3_4in, wood_drop_siding_1in, wood_shingles,
    wood_shingles_double, plywood_siding_3_8in, hardboard_siding_7_16in, hollow_backed_siding,
    insulating_backed_siding_3_8in, stucco_3_4in, face_brick_4in, common_brick_4in,
    asbestos_cement_shingle, fibre_cement_siding_5_16in, asphalt_insulating_siding_1_2in,
    asphalt_roll_siding. Left out: see series_r.
    """
    sheathing: Word
    """Sheathing by its key in the materials table, instead of series_r. Allowed: one of
    no_sheathing, board_sheathing_3_4in, plywood_3_8in, plywood_1_2in, plywood_5_8in, osb_7_16in,
    fibreboard_1_2in, fibreboard_25_32in, gypsum_sheathing_1_2in, xps_sheathing_1in,
    eps_sheathing_1in. Left out: see series_r.
    """
    interior_finish: Word
    """Interior finish by its key in the materials table, instead of series_r. Allowed: one of
    no_interior_finish, gypsum_board_3_8in, gypsum_board_1_2in, gypsum_board_5_8in,
    plaster_wood_lath_3_4in, plaster_gypsum_lath_7_8in, plaster_metal_lath_3_4in,
    wood_panelling_1_4in, wood_panelling_3_4in, fibreboard_interior_1_2in. Left out: see
    series_r.
    """
    batt_thickness_in: Number
    """Thickness of the batt that is there now, 0 for an empty cavity; at most the cavity depth,
    except on an attic floor, where it may stand higher than the joists. Allowed: 0 to 24 in.
    Left out: 0.
    """
    batt_thickness_mm: Number
    """Thickness of the batt that is there now, 0 for an empty cavity; at most the cavity depth,
    except on an attic floor, where it may stand higher than the joists. Allowed: 0 to 609.6 mm.
    Left out: 0.
    """
    batt_r_per_in: Number
    """Thermal resistance of the batt for each inch at its own thickness. Allowed: 1.5 to 5
    h·ft²·°F/Btu per in. Left out: 3.14.
    """
    batt_k_w_mk: Number
    """Thermal resistance of the batt for each inch at its own thickness. Allowed: 0.0288456 to
    0.0961519 W/mK. Left out: 0.0459324.
    """
    batt_missing_fraction: Number
    """Share of the cavity area that has no batt at all. Allowed: 0 to 1. Left out: 0."""
    air_gap_level: Number
    """How well the batt fits: 0 no gaps, 1 gaps that reach across it, 2 gaps with air moving round
    it. Allowed: whole number, 0 to 2. Left out: 0.
    """
    air_space_r: Number
    """Resistance of the air left in the cavity beside the batt, and of an empty cavity. Not for an
    attic floor, which is open. Allowed: 0 to 3 h·ft²·°F/Btu. Left out: by the ISO 6946 table.
    """
    air_space_rsi: Number
    """Resistance of the air left in the cavity beside the batt, and of an empty cavity. Not for an
    attic floor, which is open. Allowed: 0 to 0.528331 m²K/W. Left out: by the ISO 6946 table.
    """
    fill_density_lb_ft3: Number
    """Density at which the fibre is packed: not under 3.0 in an enclosed cavity, where loose fibre
    settles. On an attic floor, the density after settling: 1.6 when left out, never above 2.2,
    which open blowing does not reach. Allowed: 1.5 to 6 lb/ft³. Left out: 4.
    """
    fill_density_kg_m3: Number
    """Density at which the fibre is packed: not under 3.0 in an enclosed cavity, where loose fibre
    settles. On an attic floor, the density after settling: 1.6 when left out, never above 2.2,
    which open blowing does not reach. Allowed: 24.0277 to 96.1108 kg/m³. Left out: 64.0739.
    """
    fill_r_per_in: Number
    """Thermal resistance of the fill for each inch. Allowed: 2 to 5 h·ft²·°F/Btu per in. Left out:
    by density: 3.6 − 0.2 × (density − 3.5); attic floor 3.6.
    """
    fill_k_w_mk: Number
    """Thermal resistance of the fill for each inch. Allowed: 0.0288456 to 0.0721139 W/mK. Left out:
    by density: 3.6 − 0.2 × (density − 3.5); attic floor 3.6.
    """
    batt_compression: Number
    """Share of the batt's thickness by which the fill squeezes it. Not for an attic floor. Allowed:
    0 to 0.45. Left out: 0.
    """
    missed_fraction: Number
    """Share of the cavity area that the fill does not reach; it stays as it was. Allowed: 0 to 1.
    Left out: 0.
    """
    heating_degree_days_f: Number
    """Heating degree-days of a usual year at the house's own base temperature; 65 °F (18.3 °C) is
    only the usual start. Allowed: 0 to 25000 °F·day. Required.
    """
    heating_degree_days_c: Number
    """Heating degree-days of a usual year at the house's own base temperature; 65 °F (18.3 °C) is
    only the usual start. Allowed: 0 to 13888.9 K·day. Required.
    """
    cooling_degree_days_f: Number
    """Cooling degree-days of a usual year. Allowed: 0 to 12000 °F·day. Left out: 0."""
    cooling_degree_days_c: Number
    """Cooling degree-days of a usual year. Allowed: 0 to 6666.67 K·day. Left out: 0."""
    heating_efficiency: Number
    """Seasonal efficiency of the heating with its distribution: 0.8 for 80 %; a heat pump is above
    1. Allowed: 0.2 to 6. Required.
    """
    fuel: Word
    """Fuel that heats the house. Allowed: one of natural_gas, fuel_oil_2, propane, kerosene,
    electricity. Required.
    """
    fuel_price: Number
    """Price of one unit of the fuel: a therm of gas, a gallon, a kilowatt-hour. Allowed: 0 or more.
    Left out: required; for electricity, electricity_price where left out.
    """
    cooling_seer: Number
    """Seasonal efficiency of the air conditioning; left out, no cooling is counted. Allowed: 5 to
    40 Btu/Wh. Left out: no cooling is counted.
    """
    cooling_scop: Number
    """Seasonal efficiency of the air conditioning; left out, no cooling is counted. Allowed:
    1.46536 to 11.7228 W/W. Left out: no cooling is counted.
    """
    electricity_price: Number
    """Price of a kilowatt-hour. Allowed: 0 or more. Left out: 0."""
    cfm50_before: Number
    """Air leakage at 50 Pa measured before the work. Allowed: 0 to 50000 ft³/min. Left out: no
    credit for air.
    """
    m3h50_before: Number
    """Air leakage at 50 Pa measured before the work. Allowed: 0 to 84950.5 m³/h. Left out: no
    credit for air.
    """
    cfm50_after: Number
    """Air leakage at 50 Pa measured after the work. Both tests or no credit. Allowed: 0 to 50000
    ft³/min. Left out: no credit for air.
    """
    m3h50_after: Number
    """Air leakage at 50 Pa measured after the work. Both tests or no credit. Allowed: 0 to 84950.5
    m³/h. Left out: no credit for air.
    """
    leakage_divisor: Number
    """Divides leakage at 50 Pa to leakage under natural pressure. Allowed: 8 to 40. Left out: 20.
    """
    elevation_ft: Number
    """Height above sea level; thinner air carries less heat. Allowed: -1500 to 15000 ft. Left out:
    0.
    """
    elevation_m: Number
    """Height above sea level; thinner air carries less heat. Allowed: -457.2 to 4572 m. Left out:
    0.
    """
    billed_heating_fuel: Number
    """Fuel that the bills say heating used in a usual year, in the fuel's own unit. Savings are
    held to at most this. Allowed: above 0. Left out: savings are not held to the bills.
    """
    realization_rate: Number
    """Share of the modelled saving that is expected to appear on the meter. Published evidence
    often finds well under 1. Allowed: 0 to 1.5. Left out: 1.
    """
    installed_cost: Number
    """Price of the whole job. Allowed: 0 or more. Required."""
    rebate: Number
    """Rebate taken off the price; at most installed_cost. Allowed: 0 or more. Left out: 0."""
    tax_credit_fraction: Number
    """Tax credit as a share of the price after the rebate. Allowed: 0 to 1. Left out: 0."""
    tax_credit_cap: Number
    """The most that the tax credit can be. Allowed: 0 or more. Left out: no cap."""
    life_years: Number
    """Years over which savings are counted. Allowed: whole number, 1 to 100 years. Left out: 30."""
    discount_rate: Number
    """Real discount rate, without inflation: 0.03 is 3 % a year. Allowed: -0.2 to 0.5 a year. Left
    out: 0.03.
    """
    fuel_escalation: Number
    """Yearly rise of the fuel price beyond inflation. An electrically heated house uses
    electricity_escalation. Allowed: -0.2 to 0.5 a year. Left out: 0.
    """
    electricity_escalation: Number
    """Yearly rise of the electricity price beyond inflation. Allowed: -0.2 to 0.5 a year. Left out:
    0.
    """
    grid_kg_per_kwh: Number
    """CO2e of a kilowatt-hour. Allowed: 0 to 2 kg CO2e/kWh. Left out: 0.351642, the US average
    rate, unless grid_region is given.
    """
    grid_decline: Number
    """Share by which the grid's emissions fall each year. Allowed: 0 to 0.5 a year. Left out: 0."""
    grid_region: Word
    """eGRID subregion, instead of grid_kg_per_kwh. Allowed: one of US, AKGD, AKMS, AZNM, CAMX,
    ERCT, FRCC, HIMS, HIOA, MROE, MROW, NEWE, NWPP, NYCW, NYLI, NYUP, PRMS, RFCE, RFCM, RFCW,
    RMPA, SPNO, SPSO, SRMV, SRMW, SRSO, SRTV, SRVC. Left out: see grid_kg_per_kwh.
    """
    grid_rate: Word
    """Which rate of the subregion: average, or non_baseload, which the EPA advises for avoided
    emissions. With no grid_region, of the US as a whole. Allowed: one of average, non_baseload.
    Left out: average.
    """
    fill_embodied_kg_per_kg: Number
    """CO2e of making and bringing a kilogram of fibre. Carbon stored in it is not netted. Allowed:
    0 to 10. Left out: 0.3.
    """
    bag_weight_lb: Number
    """Weight of a bag of fibre; bags near 25.5 lb are common (common practice, no source). Allowed:
    5 to 100 lb. Left out: 25.
    """
    bag_weight_kg: Number
    """Weight of a bag of fibre; bags near 25.5 lb are common (common practice, no source). Allowed:
    2.26796 to 45.3592 kg. Left out: 11.3398.
    """
    knob_and_tube: Answer
    """Is there knob-and-tube wiring where the fill would go? Yes holds the work. Allowed: one of
    no, yes, unknown. Left out: unknown.
    """
    vermiculite: Answer
    """Is there vermiculite in the walls or attic? Yes holds the work: treat it as asbestos.
    Allowed: one of no, yes, unknown. Left out: unknown.
    """
    moisture_problem: Answer
    """Is there a leak, damp or rot in the walls? Yes holds the work: water first. Allowed: one of
    no, yes, unknown. Left out: unknown.
    """
    loose_interior_finish: Answer
    """Is the plaster loose, or the finish too weak to pack against? Yes holds the work. Allowed:
    one of no, yes, unknown. Left out: unknown.
    """
    spillage_test: Word
    """Draught and spillage test of natural-draught appliances after tightening. Allowed: one of
    none_needed, passed, failed, not_done. Left out: none_needed.
    """
    recessed_lights_or_flues: Answer
    """Are there recessed lights or flues where the fill would go? Allowed: one of no, yes, unknown.
    Left out: no for walls alone; unknown where a slope, floor or attic is filled.
    """
    year_built: Number
    """Year the house was built; before 1978 calls for lead-safe work. Allowed: whole number, 1600
    to 2100. Left out: treated as not known.
    """
    surfaces: Sequence[SurfaceFields | Mapping[str, object]] | None
    """Surfaces, instead of the one wall of a flat house."""
    options: Sequence[Mapping[str, object]] | None
    """What could be done: see `studbay.compare_options`."""
    loans: Sequence[Mapping[str, object]] | None
    """Loans on offer: see `studbay.lending.ways_to_pay`."""
    incentives: Sequence[Mapping[str, object]] | None
    """Money from programmes: see `studbay.lending.ways_to_pay`."""
    job: Mapping[str, object] | None
    """How the job is to be done: access, fill_by, stud_spacing_in, wall_height_ft, blocking_rows,
    spare_fraction, rates, and surfaces with their own.
    """
    clearances: Sequence[Mapping[str, object]] | None
    """Looks on record: finding, surface, answer, cleared_by (a role), date, evidence."""
    survey: Mapping[str, object] | None
    """The survey; its date is read here."""
    ranges: Mapping[str, object] | None
    """How far fields may be off, for `studbay.doubt`: under each name `[low, high]`, `[low, likely,
    high]`, or a table with `distribution` and its numbers, in the unit of the name.
    """
