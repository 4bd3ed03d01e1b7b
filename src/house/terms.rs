//! Reads a house for the arithmetic: each input once, with where it came from.

use super::fields::{Field, FieldSet};
use super::surface::{Fill, LayerBody, Series, Surface};
use super::{GridRate, GridSource, House};
use crate::assembly::{OpenAttic, PackedCavity, fill_resistivity};
use crate::carbon::CarbonTerms;
use crate::energy::EnergyTerms;
use crate::money::MoneyTerms;
use crate::numeric::{Basis, Calc, Input, Label, Num, Origin, Read};
use crate::source::Citation;
use crate::tables::{AIR_GAP_LEVELS, ATTIC_FILL_R_PER_IN, ATTIC_SETTLED_DENSITY, Film, Material};
use crate::units::Quantity;
use crate::units::factor::USI_PER_U;

/// A surface as the arithmetic needs it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Terms<N: Num> {
    pub(crate) area_ft2: N,
    pub(crate) temperature_factor: N,
    pub(crate) fill_density_lb_ft3: N,
    pub(crate) body: Body<N>,
}

/// Packed or open.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Body<N: Num> {
    Packed(PackedCavity<N>),
    Open(OpenAttic<N>),
}

/// Reads fields, knowing which of them were given.
struct Reader<'c, C> {
    cx: &'c C,
    given: FieldSet,
    given_si: FieldSet,
}

impl<C: Read> Reader<'_, C> {
    /// A field under its registry name.
    #[inline]
    fn field(&self, field: Field, value: f64) -> C::N {
        let def = field.def();
        let origin = if self.given_si.contains(field) {
            Origin::GivenSi
        } else if self.given.contains(field) {
            Origin::Given
        } else {
            Origin::Default
        };
        let basis = match origin {
            Origin::Default => Basis::Said(def.source),
            _ => Basis::User,
        };
        self.cx.input(
            Input { symbol: def.ip, what: def.help, quantity: def.quantity, origin, basis },
            value,
        )
    }

    /// A number from a table.
    #[inline]
    fn table(
        &self,
        symbol: &'static str,
        what: &'static str,
        quantity: Quantity,
        citation: Citation,
        value: f64,
    ) -> C::N {
        let input =
            Input { symbol, what, quantity, origin: Origin::Table, basis: Basis::Cited(citation) };
        self.cx.input(input, value)
    }

    fn film(&self, film: &'static Film, what: &'static str) -> C::N {
        self.table(film.key, what, Quantity::Resistance, film.citation, film.r_h_ft2_f_btu)
    }

    fn material(&self, material: &'static Material) -> C::N {
        let r = material.r_h_ft2_f_btu;
        self.table(material.key, material.label, Quantity::Resistance, material.citation, r)
    }
}

static SERIES_R: Label = Label::new(
    "series_r",
    "resistance of all layers outside the cavity and both films",
    Quantity::Resistance,
);

impl<N: Num> Terms<N> {
    #[inline]
    pub(crate) fn read<C: Read<N = N>>(cx: &C, s: &Surface) -> Self {
        let reader = Reader { cx, given: s.given, given_si: s.given_si };
        let area = if s.given.contains(Field::WallArea) { Field::WallArea } else { Field::Area };
        let area_ft2 = reader.field(area, s.area.ip());
        let temperature_factor = reader.field(Field::TemperatureFactor, s.temperature_factor.ip());
        let series_r = series_r(&reader, s);
        let framing_fraction = reader.field(Field::FramingFraction, s.framing.fraction.ip());
        let depth_in = reader.field(Field::CavityDepth, s.framing.depth.ip());
        let framing_r_per_in = reader.field(Field::FramingR, s.framing.resistivity.ip());
        let batt_thickness_in = reader.field(Field::BattThickness, s.batt.thickness.ip());
        let batt_r_per_in = reader.field(Field::BattR, s.batt.resistivity.ip());
        let batt_missing_fraction = reader.field(Field::BattMissing, s.batt.missing.ip());
        let (gap_si, gap_citation) = AIR_GAP_LEVELS[s.batt.air_gap_level as usize];
        let gap_delta_u = reader.table(
            "gap_delta_u",
            "correction for gaps round the batt, by its level",
            Quantity::Transmittance,
            gap_citation,
            gap_si / USI_PER_U,
        );
        let (fill_density_lb_ft3, body) = match s.fill {
            Fill::Packed(fill) => {
                let density = reader.field(Field::FillDensity, fill.density.ip());
                let fill_r_per_in = match fill.resistivity {
                    Some(r) => reader.field(Field::FillR, r.ip()),
                    None => fill_resistivity(cx, density),
                };
                let air_r = match fill.air_space {
                    Some(r) => reader.field(Field::AirSpaceR, r.ip()),
                    None => cx.lit(0.0),
                };
                let packed = PackedCavity {
                    heat_flow: s.kind.heat_flow(),
                    framing_fraction,
                    depth_in,
                    framing_r_per_in,
                    series_r,
                    batt_thickness_in,
                    batt_r_per_in,
                    batt_missing_fraction,
                    gap_delta_u,
                    air_r_given: mask(cx, fill.air_space.is_some()),
                    air_r,
                    fill_r_per_in,
                    batt_compression: reader
                        .field(Field::BattCompression, fill.batt_compression.ip()),
                    missed_fraction: reader.field(Field::Missed, fill.missed.ip()),
                };
                (density, Body::Packed(packed))
            }
            Fill::Open(fill) => {
                let fill_r_per_in = match fill.resistivity {
                    Some(r) => reader.field(Field::FillR, r.ip()),
                    None => reader.table(
                        "fill_r_per_in",
                        "resistance of the settled fill for each inch",
                        Quantity::Resistivity,
                        ATTIC_FILL_R_PER_IN.citation,
                        ATTIC_FILL_R_PER_IN.value,
                    ),
                };
                let open = OpenAttic {
                    framing_fraction,
                    joist_height_in: depth_in,
                    framing_r_per_in,
                    series_r,
                    batt_thickness_in,
                    batt_r_per_in,
                    batt_missing_fraction,
                    gap_delta_u,
                    fill_depth_in: reader.field(Field::FillDepth, fill.depth.ip()),
                    fill_r_per_in,
                    missed_fraction: reader.field(Field::Missed, fill.missed.ip()),
                };
                let density = if s.given.contains(Field::FillDensity) {
                    reader.field(Field::FillDensity, fill.settled_density.ip())
                } else {
                    reader.table(
                        Field::FillDensity.def().ip,
                        "density of the blown layer once settled",
                        Quantity::Density,
                        ATTIC_SETTLED_DENSITY.citation,
                        ATTIC_SETTLED_DENSITY.value,
                    )
                };
                (density, Body::Open(open))
            }
        };
        Self { area_ft2, temperature_factor, fill_density_lb_ft3, body }
    }
}

/// A mask that holds everywhere or nowhere.
#[inline]
fn mask<C: Calc>(cx: &C, holds: bool) -> <C::N as Num>::Mask {
    cx.lit(0.0).less(cx.lit(f64::from(u8::from(holds))))
}

/// What is outside the cavity, layer by layer where it is known so.
fn series_r<C: Read>(reader: &Reader<'_, C>, s: &Surface) -> C::N {
    if let Series::Total(r) = &s.series {
        return reader.field(Field::SeriesR, r.ip());
    }
    let [inside, outside] = s.kind.films();
    let far = if inside.key == outside.key { "film_far_side" } else { outside.key };
    let films = reader.film(inside, "surface film on the room side")
        + reader.table(
            far,
            "surface film on the far side",
            Quantity::Resistance,
            outside.citation,
            outside.r_h_ft2_f_btu,
        );
    let sum = match &s.series {
        Series::Total(_) => films,
        Series::Materials(places) => {
            Series::materials(*places).fold(films, |sum, material| sum + reader.material(material))
        }
        Series::Layers(layers) => layers.iter().enumerate().fold(films, |sum, (place, layer)| {
            let symbol = LAYER_SYMBOLS[place.min(LAYER_SYMBOLS.len() - 1)];
            let r = match layer.body {
                LayerBody::Material(material) => reader.table(
                    symbol,
                    material.label,
                    Quantity::Resistance,
                    material.citation,
                    material.r_h_ft2_f_btu,
                ),
                LayerBody::Resistance(_) | LayerBody::Slab(..) => reader.cx.input(
                    Input {
                        symbol,
                        what: "layer as given",
                        quantity: Quantity::Resistance,
                        origin: Origin::Given,
                        basis: Basis::User,
                    },
                    layer.r().ip(),
                ),
            };
            sum + r
        }),
    };
    reader.cx.named(&SERIES_R, sum)
}

#[cfg(any(feature = "arrow", feature = "csv"))]
/// Resistance of materials by name and the films of a wall, in the order of [`series_r`].
pub(crate) fn materials_r(places: [Option<usize>; 3]) -> f64 {
    let [inside, outside] = super::SurfaceKind::Wall.films();
    Series::materials(places)
        .fold(inside.r_h_ft2_f_btu + outside.r_h_ft2_f_btu, |sum, m| sum + m.r_h_ft2_f_btu)
}

/// How the derivation names the layers of a list; a surface has at most this many.
pub(crate) static LAYER_SYMBOLS: &[&str] = &[
    "layers[0]",
    "layers[1]",
    "layers[2]",
    "layers[3]",
    "layers[4]",
    "layers[5]",
    "layers[6]",
    "layers[7]",
    "layers[8]",
    "layers[9]",
    "layers[10]",
    "layers[11]",
    "layers[12]",
    "layers[13]",
    "layers[14]",
    "layers[15]",
];

/// The house as the arithmetic needs it, surfaces apart.
#[derive(Clone, Copy, Debug)]
pub(crate) struct HouseTerms<N: Num> {
    pub(crate) energy: EnergyTerms<N>,
    pub(crate) money: MoneyTerms<N>,
    pub(crate) carbon: CarbonTerms<N>,
    pub(crate) bag_weight_lb: N,
}

impl<N: Num> HouseTerms<N> {
    #[inline]
    pub(crate) fn read<C: Read<N = N>>(cx: &C, house: &House) -> Self {
        let reader = Reader { cx, given: house.given, given_si: house.given_si };
        let r = |field, value| reader.field(field, value);
        let House { climate, leakage, plant, offer, carbon, .. } = house;
        let fuel = plant.fuel.row();
        let electric = plant.fuel.is_electricity();
        let life_years = r(Field::LifeYears, f64::from(offer.life_years));
        // An input that plays no part is not read, so that the derivation does not show it.
        let optional = |field, value: Option<f64>, otherwise: f64| {
            value.map_or(cx.lit(otherwise), |value| r(field, value))
        };
        let both = leakage.before.zip(leakage.after);
        let energy = EnergyTerms {
            heating_degree_days_f: r(Field::HeatingDegreeDays, climate.heating_degree_days.ip()),
            cooling_degree_days_f: r(Field::CoolingDegreeDays, climate.cooling_degree_days.ip()),
            elevation_ft: r(Field::Elevation, climate.elevation.ip()),
            leakage_tested: mask(cx, both.is_some()),
            cfm50_before: optional(Field::Cfm50Before, both.map(|(b, _)| b.ip()), 0.0),
            cfm50_after: optional(Field::Cfm50After, both.map(|(_, a)| a.ip()), 0.0),
            leakage_divisor: r(Field::LeakageDivisor, leakage.divisor),
            heating_efficiency: r(Field::HeatingEfficiency, plant.heating_efficiency),
            mmbtu_per_unit: reader.table(
                "mmbtu_per_unit",
                "heat content of a unit of the fuel",
                Quantity::HeatContent,
                fuel.citation,
                fuel.mmbtu_per_unit,
            ),
            cooled: mask(cx, plant.cooling_seer.is_some()),
            cooling_seer: optional(Field::CoolingSeer, plant.cooling_seer, 1.0),
            realization_rate: r(Field::RealizationRate, plant.realization_rate),
            billed: mask(cx, plant.billed_heating_fuel.is_some()),
            billed_heating_fuel: optional(
                Field::BilledHeatingFuel,
                plant.billed_heating_fuel,
                f64::INFINITY,
            ),
        };
        let electricity_escalation = r(Field::ElectricityEscalation, offer.electricity_escalation);
        let fuel_price = if house.given.contains(Field::FuelPrice) {
            Field::FuelPrice
        } else {
            Field::ElectricityPrice
        };
        let money = MoneyTerms {
            installed_cost: r(Field::InstalledCost, offer.installed_cost),
            rebate: r(Field::Rebate, offer.rebate),
            tax_credit_fraction: r(Field::TaxCreditFraction, offer.tax_credit_fraction),
            tax_credit_cap: optional(Field::TaxCreditCap, offer.tax_credit_cap, f64::INFINITY),
            fuel_price: r(fuel_price, plant.fuel_price),
            fuel_escalation: if electric {
                electricity_escalation
            } else {
                r(Field::FuelEscalation, offer.fuel_escalation)
            },
            electricity_price: r(Field::ElectricityPrice, plant.electricity_price),
            electricity_escalation,
            discount_rate: r(Field::DiscountRate, offer.discount_rate),
            life_years,
        };
        let grid = match carbon.grid {
            GridSource::Factor(factor) => r(Field::GridFactor, factor),
            GridSource::Region(row, rate) => reader.table(
                "grid_kg_per_kwh",
                match rate {
                    GridRate::Average => "average rate of the grid subregion",
                    GridRate::NonBaseload => "non-baseload rate of the grid subregion",
                },
                Quantity::GridFactor,
                row.citation,
                carbon.grid.kg_per_kwh(),
            ),
        };
        let carbon = CarbonTerms {
            electric_heat: mask(cx, electric),
            kg_co2e_per_mmbtu: match fuel.kg_co2e_per_mmbtu {
                Some(factor) => reader.table(
                    "kg_co2e_per_mmbtu",
                    "emissions of a million Btu of the fuel",
                    Quantity::FuelFactor,
                    fuel.citation,
                    factor,
                ),
                None => cx.lit(0.0),
            },
            grid_kg_per_kwh: grid,
            grid_decline: r(Field::GridDecline, carbon.grid_decline),
            fill_embodied_kg_per_kg: r(Field::FillEmbodied, carbon.fill_embodied_kg_per_kg),
            life_years,
        };
        let bag_weight_lb = r(Field::BagWeight, house.bag_weight.ip());
        Self { energy, money, carbon, bag_weight_lb }
    }
}
