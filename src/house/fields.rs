//! The field registry: every field's names in both unit systems, quantity, range, default and
//! text, stated once. Parsing, validation, house files, the Python interface and the field
//! reference all read it; nothing else in the crate spells a field's name.

use crate::error::short;
use crate::tables::{
    ATTIC_SETTLING_FRACTION, BAG_WEIGHT_DEFAULT, BATT_COMPRESSION_MAX, BATT_R_PER_IN_DEFAULT,
    Constant, DISCOUNT_RATE_DEFAULT, FILL_DENSITY_DEFAULT, FILL_EMBODIED_KG_PER_KG,
    FRAMING_FRACTION_DEFAULT, FRAMING_R_PER_IN_DEFAULT, LEAKAGE_DIVISOR_DEFAULT,
    LIFE_YEARS_DEFAULT,
};
use crate::units::{Quantity, UnitSystem};
use std::sync::LazyLock;

/// What a field holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A number.
    Number,
    /// A whole number.
    Whole,
    /// One word of a list.
    Choice(Choices),
    /// Free text of 1 to 200 characters.
    Text,
}

/// The lists that a choice is made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Choices {
    /// Fuels, by the table of fuels.
    Fuel,
    /// Claddings, by the table of materials.
    Cladding,
    /// Sheathings, by the table of materials.
    Sheathing,
    /// Interior finishes, by the table of materials.
    InteriorFinish,
    /// Grid subregions, by the table of emission rates.
    GridRegion,
    /// Which emission rate of the subregion.
    GridRate,
    /// yes, no, unknown.
    Answer,
    /// Result of the combustion-safety test after tightening.
    SpillageTest,
    /// Kinds of surface.
    SurfaceKind,
    /// What the framing is made of.
    FramingMaterial,
}

/// What happens when a field is not given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Absent {
    /// The house cannot be assessed.
    Refused,
    /// This number (inch-pound) is taken.
    Number(f64),
    /// This word is taken.
    Word(&'static str),
    /// The field plays no part, or another rule fills it: the text says which.
    Rule(&'static str),
}

/// Where a field may stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    /// In a flat row and at the head of a house file.
    House,
    /// In a flat row, which is a house with one wall, and in a surface of a house file.
    Wall,
    /// Only in a flat row.
    FlatOnly,
    /// Only in a surface of a house file.
    SurfaceOnly,
}

/// The definition of a field.
#[derive(Clone, Copy, Debug)]
pub struct FieldDef {
    /// The field.
    pub field: Field,
    /// Its name, with the inch-pound unit where it has one.
    pub ip: &'static str,
    /// Its name with the SI unit, where SI writes another number.
    pub si: Option<&'static str>,
    /// What kind of number it is.
    pub quantity: Quantity,
    /// What it holds.
    pub kind: Kind,
    /// What happens when it is not given.
    pub absent: Absent,
    /// Least allowed value, inch-pound.
    pub low: f64,
    /// Greatest allowed value, inch-pound.
    pub high: f64,
    /// Whether the least value itself is refused.
    pub low_open: bool,
    /// Where it may stand.
    pub scope: Scope,
    /// What it means, in a sentence.
    pub help: &'static str,
    /// Where its default comes from.
    pub source: &'static str,
}

impl FieldDef {
    const BLANK: Self = Self {
        field: Field::HouseId,
        ip: "",
        si: None,
        quantity: Quantity::Number,
        kind: Kind::Number,
        absent: Absent::Rule("not used"),
        low: f64::NEG_INFINITY,
        high: f64::INFINITY,
        low_open: false,
        scope: Scope::House,
        help: "",
        source: "",
    };

    /// The field's name in a unit system.
    pub fn name(&self, units: UnitSystem) -> &'static str {
        match (units, self.si) {
            (UnitSystem::Si, Some(si)) => si,
            _ => self.ip,
        }
    }

    /// The allowed range in the unit of the name that the user wrote, as in `0.5 to 16 in`.
    pub fn range(&self, units: UnitSystem) -> String {
        match self.kind {
            Kind::Text => return "1 to 200 characters".to_owned(),
            Kind::Choice(choices) => return choices.listed(),
            Kind::Number | Kind::Whole => {}
        }
        let (mut low, mut high) =
            (self.quantity.express(self.low, units), self.quantity.express(self.high, units));
        let reversed = low > high;
        if reversed {
            std::mem::swap(&mut low, &mut high);
        }
        let unit = self.quantity.unit(units);
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        let whole = if self.kind == Kind::Whole { "whole number, " } else { "" };
        let above = if self.low_open { "above " } else { "" };
        if high >= MOST_MONEY {
            let least = if self.low_open { "" } else { " or more" };
            format!("{whole}{above}{}{least}{unit}", short(low))
        } else {
            format!("{whole}{above}{} to {}{unit}", short(low), short(high))
        }
    }

    /// Whether an inch-pound number, given under the name of a unit system, lies in the range.
    pub fn allows(&self, ip: f64, units: UnitSystem) -> bool {
        let (low, high) = self.bounds(units);
        low <= ip && ip <= high
    }

    /// The least and the greatest finite inch-pound number that is taken under the name of a unit
    /// system.
    pub fn bounds(&self, units: UnitSystem) -> (f64, f64) {
        // A range end is printed in SI with six digits; who types the printed limit is let in.
        let slack = match units {
            UnitSystem::Ip => 0.0,
            UnitSystem::Si => 5e-6,
        };
        let (low, high) = (self.low.max(f64::MIN), self.high.min(f64::MAX));
        let low = if self.low_open { low.next_up() } else { low - slack * low.abs() };
        (low.max(f64::MIN), (high + slack * high.abs()).min(f64::MAX))
    }

    /// The default as the field reference prints it, in the unit of the name.
    pub fn default_text(&self, units: UnitSystem) -> String {
        match self.absent {
            Absent::Refused => "required".to_owned(),
            Absent::Number(number) => short(self.quantity.express(number, units)),
            Absent::Word(word) => word.to_owned(),
            Absent::Rule(rule) => rule.to_owned(),
        }
    }
}

macro_rules! registry {
    ($($(#[$doc:meta])* $field:ident { $($key:ident: $value:expr),* $(,)? })*) => {
        /// A field of a house.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[repr(u8)]
        pub enum Field {
            $($(#[$doc])* $field,)*
        }

        /// Every field, in the order of the field reference.
        pub static FIELDS: &[FieldDef] = &[
            $(FieldDef { field: Field::$field, $($key: $value,)* ..FieldDef::BLANK },)*
        ];

        /// How many fields there are.
        pub const FIELD_COUNT: usize = [$(Field::$field),*].len();
    };
}

/// A default that stands in the table of constants.
const fn default(constant: &'static Constant) -> Absent {
    Absent::Number(constant.value)
}

/// No price and no bill is larger in any currency; beyond it sums would overflow.
const MOST_MONEY: f64 = 1e15;

const ANSWER: Kind = Kind::Choice(Choices::Answer);
const UNKNOWN: Absent = Absent::Word("unknown");

registry! {
    /// The user's own name for the house.
    HouseId {
        ip: "house_id", kind: Kind::Text, absent: Absent::Refused,
        help: "Your own name for the house; never a person's name.",
    }
    /// Net area of the one wall of a flat row.
    WallArea {
        ip: "wall_area_ft2", si: Some("wall_area_m2"), quantity: Quantity::Area,
        absent: Absent::Refused, low: 0.0, low_open: true, high: 1e6, scope: Scope::FlatOnly,
        help: "Net wall area to be filled, windows and doors taken off.",
    }
    /// Net area of a surface.
    Area {
        ip: "area_ft2", si: Some("area_m2"), quantity: Quantity::Area,
        absent: Absent::Refused, low: 0.0, low_open: true, high: 1e6, scope: Scope::SurfaceOnly,
        help: "Net area of the surface, openings taken off.",
    }
    /// What kind of surface.
    SurfaceKind {
        ip: "kind", kind: Kind::Choice(Choices::SurfaceKind), absent: Absent::Word("wall"),
        scope: Scope::SurfaceOnly,
        help: "wall, slope (a sloped ceiling packed between rafters), floor (over an unheated \
               space) or attic_floor (open, blown over what is there).",
    }
    /// The surface's name in messages.
    SurfaceName {
        ip: "name", kind: Kind::Text, absent: Absent::Rule("its place in the list"),
        scope: Scope::SurfaceOnly,
        help: "Your own name for the surface, as in front wall.",
    }
    /// Reduction for an unheated space beyond.
    TemperatureFactor {
        ip: "temperature_factor", absent: Absent::Number(1.0), low: 0.0, high: 1.0,
        scope: Scope::SurfaceOnly,
        help: "Share of the indoor-outdoor temperature difference that stands across the surface: \
               1 to outdoors, less to an unheated space.",
        source: "ISO 13789, reduction factor b (from memory)",
    }
    /// Share of the area that is framing.
    FramingFraction {
        ip: "framing_fraction", absent: default(&FRAMING_FRACTION_DEFAULT), low: 0.0, high: 0.6,
        scope: Scope::Wall,
        help: "Share of the area that is studs, plates, sills and headers. A slope, floor or attic \
               floor without it takes 0.10.",
        source: "ASHRAE 90.1 appendix A: 25 % at 16 in., 22 % at 24 in.; joists 10 % (from memory)",
    }
    /// Wood or metal.
    FramingMaterial {
        ip: "framing_material", kind: Kind::Choice(Choices::FramingMaterial),
        absent: Absent::Word("wood"), scope: Scope::Wall,
        help: "What the framing is made of. Metal is refused: heat runs along its flanges and \
               parallel paths do not hold.",
    }
    /// Depth of the cavity, or height of the joists of an attic floor.
    CavityDepth {
        ip: "cavity_depth_in", si: Some("cavity_depth_mm"), quantity: Quantity::Length,
        absent: Absent::Number(3.5), low: 0.5, high: 16.0, scope: Scope::Wall,
        help: "Depth of the cavity between sheathing and interior finish; of an attic floor, the \
               height of the joists.",
        source: "a 2x4 stud",
    }
    /// Resistivity of the framing.
    FramingR {
        ip: "framing_r_per_in", si: Some("framing_k_w_mk"), quantity: Quantity::Resistivity,
        absent: default(&FRAMING_R_PER_IN_DEFAULT), low: 0.3, high: 3.0, scope: Scope::Wall,
        help: "Thermal resistance of the framing for each inch along the heat flow.",
        source: "USDA Wood Handbook eq. 4-15 at G 0.40 and 12 % moisture: 1.25",
    }
    /// Everything but the cavity, films included.
    SeriesR {
        ip: "series_r", si: Some("series_rsi"), quantity: Quantity::Resistance,
        absent: Absent::Rule("from cladding, sheathing and interior_finish, or from layers"),
        low: 0.3, high: 60.0, scope: Scope::Wall,
        help: "Resistance of all layers outside the cavity and of both surface films together.",
    }
    /// Cladding, by the materials table.
    Cladding {
        ip: "cladding", kind: Kind::Choice(Choices::Cladding), absent: Absent::Rule("see series_r"),
        scope: Scope::Wall,
        help: "Cladding by its key in the materials table, instead of series_r.",
    }
    /// Sheathing, by the materials table.
    Sheathing {
        ip: "sheathing", kind: Kind::Choice(Choices::Sheathing),
        absent: Absent::Rule("see series_r"), scope: Scope::Wall,
        help: "Sheathing by its key in the materials table, instead of series_r.",
    }
    /// Interior finish, by the materials table.
    InteriorFinish {
        ip: "interior_finish", kind: Kind::Choice(Choices::InteriorFinish),
        absent: Absent::Rule("see series_r"), scope: Scope::Wall,
        help: "Interior finish by its key in the materials table, instead of series_r.",
    }
    /// Thickness of what insulation is there.
    BattThickness {
        ip: "batt_thickness_in", si: Some("batt_thickness_mm"), quantity: Quantity::Length,
        absent: Absent::Number(0.0), low: 0.0, high: 24.0, scope: Scope::Wall,
        help: "Thickness of the batt that is there now, 0 for an empty cavity; at most the cavity \
               depth, except on an attic floor, where it may stand higher than the joists.",
    }
    /// Resistivity of the batt.
    BattR {
        ip: "batt_r_per_in", si: Some("batt_k_w_mk"), quantity: Quantity::Resistivity,
        absent: default(&BATT_R_PER_IN_DEFAULT), low: 1.5, high: 5.0, scope: Scope::Wall,
        help: "Thermal resistance of the batt for each inch at its own thickness.",
        source: "an R-11 batt of 3.5 in.: 11/3.5",
    }
    /// Share of the cavity area with no batt.
    BattMissing {
        ip: "batt_missing_fraction", absent: Absent::Number(0.0), low: 0.0, high: 1.0,
        scope: Scope::Wall,
        help: "Share of the cavity area that has no batt at all.",
    }
    /// How well the batt fits.
    AirGapLevel {
        ip: "air_gap_level", kind: Kind::Whole, absent: Absent::Number(0.0), low: 0.0, high: 2.0,
        scope: Scope::Wall,
        help: "How well the batt fits: 0 no gaps, 1 gaps that reach across it, 2 gaps with air \
               moving round it.",
        source: "ISO 6946 annex, air-void correction levels (from memory)",
    }
    /// Resistance of the air left in the cavity.
    AirSpaceR {
        ip: "air_space_r", si: Some("air_space_rsi"), quantity: Quantity::Resistance,
        absent: Absent::Rule("by the ISO 6946 table"), low: 0.0, high: 3.0, scope: Scope::Wall,
        help: "Resistance of the air left in the cavity beside the batt, and of an empty cavity. \
               Not for an attic floor, which is open.",
        source: "ISO 6946, unventilated air layers (from memory)",
    }
    /// Density of the fill.
    FillDensity {
        ip: "fill_density_lb_ft3", si: Some("fill_density_kg_m3"), quantity: Quantity::Density,
        absent: default(&FILL_DENSITY_DEFAULT), low: 1.5, high: 6.0, scope: Scope::Wall,
        help: "Density at which the fibre is packed: not under 3.0 in an enclosed cavity, where \
               loose fibre settles. On an attic floor, the density after settling: 1.6 when left \
               out, never above 2.2, which open blowing does not reach.",
        source: "careful crews never pack under 4.0 (common practice, no source)",
    }
    /// Resistivity of the fill.
    FillR {
        ip: "fill_r_per_in", si: Some("fill_k_w_mk"), quantity: Quantity::Resistivity,
        absent: Absent::Rule("by density: 3.6 − 0.2 × (density − 3.5); attic floor 3.6"),
        low: 2.0, high: 5.0, scope: Scope::Wall,
        help: "Thermal resistance of the fill for each inch.",
        source: "ASHRAE Handbook of Fundamentals (from memory); 3.5 at 4.0 lb/ft³ seen quoted",
    }
    /// How far the fill squeezes the batt.
    BattCompression {
        ip: "batt_compression", absent: Absent::Number(0.0), low: 0.0, high: BATT_COMPRESSION_MAX.value,
        scope: Scope::Wall,
        help: "Share of the batt's thickness by which the fill squeezes it. Not for an attic \
               floor.",
    }
    /// Share that the crew misses.
    Missed {
        ip: "missed_fraction", absent: Absent::Number(0.0), low: 0.0, high: 1.0,
        scope: Scope::Wall,
        help: "Share of the cavity area that the fill does not reach; it stays as it was.",
    }
    /// Depth of the blown layer once settled.
    FillDepth {
        ip: "fill_depth_in", si: Some("fill_depth_mm"), quantity: Quantity::Length,
        absent: Absent::Rule("required for an attic floor, not used elsewhere"),
        low: 0.0, low_open: true, high: 36.0, scope: Scope::SurfaceOnly,
        help: "Depth of the blown layer over what is there, after settling. Attic floors only.",
    }
    /// How far the blown layer settles.
    Settling {
        ip: "settling_fraction", absent: default(&ATTIC_SETTLING_FRACTION), low: 0.0, high: 0.5,
        scope: Scope::SurfaceOnly,
        help: "Share of the depth as blown by which the layer settles. Attic floors only.",
        source: "common practice, no source",
    }
    /// Heating degree-days.
    HeatingDegreeDays {
        ip: "heating_degree_days_f", si: Some("heating_degree_days_c"),
        quantity: Quantity::DegreeDays, absent: Absent::Refused, low: 0.0, high: 25_000.0,
        help: "Heating degree-days of a usual year at the house's own base temperature; 65 °F \
               (18.3 °C) is only the usual start.",
    }
    /// Cooling degree-days.
    CoolingDegreeDays {
        ip: "cooling_degree_days_f", si: Some("cooling_degree_days_c"),
        quantity: Quantity::DegreeDays, absent: Absent::Number(0.0), low: 0.0, high: 12_000.0,
        help: "Cooling degree-days of a usual year.",
    }
    /// Seasonal efficiency of the heating.
    HeatingEfficiency {
        ip: "heating_efficiency", absent: Absent::Refused, low: 0.2, high: 6.0,
        help: "Seasonal efficiency of the heating with its distribution: 0.8 for 80 %; a heat pump \
               is above 1.",
    }
    /// The heating fuel.
    Fuel {
        ip: "fuel", kind: Kind::Choice(Choices::Fuel), absent: Absent::Refused,
        help: "Fuel that heats the house.",
    }
    /// Price of the fuel.
    FuelPrice {
        ip: "fuel_price", quantity: Quantity::Money,
        absent: Absent::Rule("required; for electricity, electricity_price where left out"),
        low: 0.0, high: MOST_MONEY,
        help: "Price of one unit of the fuel: a therm of gas, a gallon, a kilowatt-hour.",
    }
    /// Efficiency of the cooling.
    CoolingSeer {
        ip: "cooling_seer", si: Some("cooling_scop"), quantity: Quantity::CoolingEfficiency,
        absent: Absent::Rule("no cooling is counted"), low: 5.0, high: 40.0,
        help: "Seasonal efficiency of the air conditioning; left out, no cooling is counted.",
    }
    /// Price of electricity.
    ElectricityPrice {
        ip: "electricity_price", quantity: Quantity::Money, absent: Absent::Number(0.0), low: 0.0, high: MOST_MONEY,
        help: "Price of a kilowatt-hour.",
    }
    /// Air leakage before.
    Cfm50Before {
        ip: "cfm50_before", si: Some("m3h50_before"), quantity: Quantity::Airflow,
        absent: Absent::Rule("no credit for air"), low: 0.0, high: 50_000.0,
        help: "Air leakage at 50 Pa measured before the work.",
    }
    /// Air leakage after.
    Cfm50After {
        ip: "cfm50_after", si: Some("m3h50_after"), quantity: Quantity::Airflow,
        absent: Absent::Rule("no credit for air"), low: 0.0, high: 50_000.0,
        help: "Air leakage at 50 Pa measured after the work. Both tests or no credit.",
    }
    /// From a 50 Pa test to natural leakage.
    LeakageDivisor {
        ip: "leakage_divisor", absent: default(&LEAKAGE_DIVISOR_DEFAULT), low: 8.0, high: 40.0,
        help: "Divides leakage at 50 Pa to leakage under natural pressure.",
        source: "Sherman 1987, Energy and Buildings 10:81 (numbers from memory)",
    }
    /// Height above sea level.
    Elevation {
        ip: "elevation_ft", si: Some("elevation_m"), quantity: Quantity::Elevation,
        absent: Absent::Number(0.0), low: -1500.0, high: 15_000.0,
        help: "Height above sea level; thinner air carries less heat.",
    }
    /// Heating use by the bills.
    BilledHeatingFuel {
        ip: "billed_heating_fuel", quantity: Quantity::FuelUnits,
        absent: Absent::Rule("savings are not held to the bills"), low: 0.0, high: MOST_MONEY, low_open: true,
        help: "Fuel that the bills say heating used in a usual year, in the fuel's own unit. \
               Savings are held to at most this.",
    }
    /// Measured over modelled savings.
    RealizationRate {
        ip: "realization_rate", absent: Absent::Number(1.0), low: 0.0, high: 1.5,
        help: "Share of the modelled saving that is expected to appear on the meter. Published \
               evidence often finds well under 1.",
        source: "1 is the model as it stands; Fowlie, Greenstone and Wolfram 2018 measured 0.39 \
                 for a mix of measures",
    }
    /// Price of the job.
    InstalledCost {
        ip: "installed_cost", quantity: Quantity::Money, absent: Absent::Refused, low: 0.0, high: MOST_MONEY,
        help: "Price of the whole job.",
    }
    /// Rebate.
    Rebate {
        ip: "rebate", quantity: Quantity::Money, absent: Absent::Number(0.0), low: 0.0, high: MOST_MONEY,
        help: "Rebate taken off the price; at most installed_cost.",
    }
    /// Tax credit share.
    TaxCreditFraction {
        ip: "tax_credit_fraction", absent: Absent::Number(0.0), low: 0.0, high: 1.0,
        help: "Tax credit as a share of the price after the rebate.",
    }
    /// Tax credit cap.
    TaxCreditCap {
        ip: "tax_credit_cap", quantity: Quantity::Money, absent: Absent::Rule("no cap"), low: 0.0, high: MOST_MONEY,
        help: "The most that the tax credit can be.",
    }
    /// Life of the fill.
    LifeYears {
        ip: "life_years", quantity: Quantity::Years, kind: Kind::Whole,
        absent: default(&LIFE_YEARS_DEFAULT), low: 1.0, high: 100.0,
        help: "Years over which savings are counted.",
        source: "thirty to fifty years of life (common practice, no source)",
    }
    /// Real discount rate.
    DiscountRate {
        ip: "discount_rate", quantity: Quantity::Rate, absent: default(&DISCOUNT_RATE_DEFAULT),
        low: -0.2, high: 0.5,
        help: "Real discount rate, without inflation: 0.03 is 3 % a year.",
        source: "NIST Handbook 135 tables are printed for 3 % (from memory)",
    }
    /// Real rise of the fuel price.
    FuelEscalation {
        ip: "fuel_escalation", quantity: Quantity::Rate, absent: Absent::Number(0.0),
        low: -0.2, high: 0.5,
        help: "Yearly rise of the fuel price beyond inflation. An electrically heated house uses \
               electricity_escalation.",
    }
    /// Real rise of the electricity price.
    ElectricityEscalation {
        ip: "electricity_escalation", quantity: Quantity::Rate, absent: Absent::Number(0.0),
        low: -0.2, high: 0.5,
        help: "Yearly rise of the electricity price beyond inflation.",
    }
    /// Emissions of a kilowatt-hour.
    GridFactor {
        ip: "grid_kg_per_kwh", quantity: Quantity::GridFactor,
        absent: Absent::Rule("0.351642, the US average rate, unless grid_region is given"),
        low: 0.0, high: 2.0,
        help: "CO2e of a kilowatt-hour.",
        source: "eGRID2023, US total output emission rate (seen quoted)",
    }
    /// Yearly fall of grid emissions.
    GridDecline {
        ip: "grid_decline", quantity: Quantity::Rate, absent: Absent::Number(0.0),
        low: 0.0, high: 0.5,
        help: "Share by which the grid's emissions fall each year.",
    }
    /// Grid subregion.
    GridRegion {
        ip: "grid_region", kind: Kind::Choice(Choices::GridRegion),
        absent: Absent::Rule("see grid_kg_per_kwh"),
        help: "eGRID subregion, instead of grid_kg_per_kwh.",
    }
    /// Which grid rate.
    GridRate {
        ip: "grid_rate", kind: Kind::Choice(Choices::GridRate), absent: Absent::Word("average"),
        help: "Which rate of the subregion: average, or non_baseload, which the EPA advises for \
               avoided emissions. With no grid_region, of the US as a whole.",
    }
    /// Emissions of making the fibre.
    FillEmbodied {
        ip: "fill_embodied_kg_per_kg", absent: default(&FILL_EMBODIED_KG_PER_KG), low: 0.0, high: 10.0,
        help: "CO2e of making and bringing a kilogram of fibre. Carbon stored in it is not netted.",
        source: "from memory, low confidence",
    }
    /// Weight of a bag.
    BagWeight {
        ip: "bag_weight_lb", si: Some("bag_weight_kg"), quantity: Quantity::Mass,
        absent: default(&BAG_WEIGHT_DEFAULT), low: 5.0, high: 100.0,
        help: "Weight of a bag of fibre; bags near 25.5 lb are common (common practice, no source).",
    }
    /// Knob-and-tube wiring.
    KnobAndTube {
        ip: "knob_and_tube", kind: ANSWER, absent: UNKNOWN,
        help: "Is there knob-and-tube wiring where the fill would go? Yes holds the work.",
        source: "NFPA 70, 394.12(5) (seen quoted)",
    }
    /// Vermiculite.
    Vermiculite {
        ip: "vermiculite", kind: ANSWER, absent: UNKNOWN,
        help: "Is there vermiculite in the walls or attic? Yes holds the work: treat it as asbestos.",
        source: "EPA advice (seen quoted)",
    }
    /// Moisture.
    MoistureProblem {
        ip: "moisture_problem", kind: ANSWER, absent: UNKNOWN,
        help: "Is there a leak, damp or rot in the walls? Yes holds the work: water first.",
        source: "government work specification for weatherization",
    }
    /// Loose interior finish.
    LooseInteriorFinish {
        ip: "loose_interior_finish", kind: ANSWER, absent: UNKNOWN,
        help: "Is the plaster loose, or the finish too weak to pack against? Yes holds the work.",
        source: "state field guide for weatherization (seen quoted)",
    }
    /// Combustion safety test.
    SpillageTest {
        ip: "spillage_test", kind: Kind::Choice(Choices::SpillageTest),
        absent: Absent::Word("none_needed"),
        help: "Draught and spillage test of natural-draught appliances after tightening.",
        source: "building-analyst standard (seen quoted)",
    }
    /// Heat sources in the fill.
    HeatSources {
        ip: "recessed_lights_or_flues", kind: ANSWER,
        absent: Absent::Rule("no for walls alone; unknown where a slope, floor or attic is filled"),
        help: "Are there recessed lights or flues where the fill would go?",
        source: "NFPA 70, 410.116(B); IRC R1003.18 (seen quoted)",
    }
    /// Year built.
    YearBuilt {
        ip: "year_built", quantity: Quantity::Number, kind: Kind::Whole,
        absent: Absent::Rule("treated as not known"), low: 1600.0, high: 2100.0,
        help: "Year the house was built; before 1978 calls for lead-safe work.",
        source: "40 CFR 745 (seen quoted)",
    }
}

impl Field {
    /// The field's definition.
    pub fn def(self) -> &'static FieldDef {
        &FIELDS[self as usize]
    }

    /// The field of this name and the unit system of the name.
    pub fn from_name(name: &str) -> Option<(Self, UnitSystem)> {
        let names = &*NAMES;
        let mut slot = home_slot(name);
        loop {
            let (known, field, units) = names[slot]?;
            if known == name {
                return Some((field, units));
            }
            slot = (slot + 1) % NAME_SLOTS;
        }
    }
}

/// Places for the names of all fields, most of them empty.
const NAME_SLOTS: usize = 256;
const _: () = assert!(4 * FIELD_COUNT <= NAME_SLOTS, "names must stay sparse");

type Names = [Option<(&'static str, Field, UnitSystem)>; NAME_SLOTS];

/// Every name at its home slot, or at the next empty one: every door looks names up, and one of
/// them does so for each house.
static NAMES: LazyLock<Names> = LazyLock::new(|| {
    let mut names = [None; NAME_SLOTS];
    let both = |def: &'static FieldDef| {
        std::iter::once((def.ip, def.field, UnitSystem::Ip))
            .chain(def.si.map(|si| (si, def.field, UnitSystem::Si)))
    };
    for entry in FIELDS.iter().flat_map(both) {
        let mut slot = home_slot(entry.0);
        while names[slot].is_some() {
            slot = (slot + 1) % NAME_SLOTS;
        }
        names[slot] = Some(entry);
    }
    names
});

/// A hash of the name, eight letters at a time.
#[inline]
fn home_slot(name: &str) -> usize {
    const SPREAD: u64 = 0x9e37_79b9_7f4a_7c15;
    let mix = |hash: u64, word: u64| (hash.rotate_left(5) ^ word).wrapping_mul(SPREAD);
    let (words, rest) = name.as_bytes().as_chunks::<8>();
    let hash =
        words.iter().fold(name.len() as u64, |hash, word| mix(hash, u64::from_le_bytes(*word)));
    let rest = rest.iter().fold(0, |word, byte| word << 8 | u64::from(*byte));
    usize::from(mix(hash, rest).to_be_bytes()[0])
}

/// A set of fields.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct FieldSet(u64);

impl FieldSet {
    /// Adds a field.
    pub const fn insert(&mut self, field: Field) {
        self.0 |= 1 << field as u8;
    }

    /// Takes a field out.
    pub const fn remove(&mut self, field: Field) {
        self.0 &= !(1 << field as u8);
    }

    /// Whether the field is in the set.
    pub const fn contains(self, field: Field) -> bool {
        self.0 >> field as u8 & 1 == 1
    }
}

const _: () = assert!(FIELD_COUNT <= 64, "FieldSet holds 64 fields");

impl Choices {
    /// The words that may be written.
    pub fn words(self) -> &'static [&'static str] {
        use crate::tables;
        match self {
            Self::Fuel => tables::FUEL_KEYS,
            Self::Cladding => tables::CLADDING_KEYS,
            Self::Sheathing => tables::SHEATHING_KEYS,
            Self::InteriorFinish => tables::INTERIOR_FINISH_KEYS,
            Self::GridRegion => tables::GRID_REGIONS,
            Self::GridRate => &["average", "non_baseload"],
            Self::Answer => &["no", "yes", "unknown"],
            Self::SpillageTest => &["none_needed", "passed", "failed", "not_done"],
            Self::SurfaceKind => &["wall", "slope", "floor", "attic_floor"],
            Self::FramingMaterial => &["wood", "metal"],
        }
    }

    /// Where in the list the word stands. Case and surrounding space do not matter.
    pub fn find(self, word: &str) -> Option<usize> {
        let word = word.trim();
        self.words().iter().position(|known| known.eq_ignore_ascii_case(word))
    }

    /// The list as a message prints it.
    pub fn listed(self) -> String {
        format!("one of {}", self.words().join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn the_registry_is_in_order_and_names_are_unique() {
        let mut names = HashSet::new();
        for (index, def) in FIELDS.iter().enumerate() {
            assert_eq!(def.field as usize, index);
            assert_eq!(Field::from_name(def.ip), Some((def.field, UnitSystem::Ip)));
            if let Some(si) = def.si {
                assert_eq!(Field::from_name(si), Some((def.field, UnitSystem::Si)));
            }
            assert!(names.insert(def.ip), "{} stands twice", def.ip);
            if let Some(si) = def.si {
                assert!(names.insert(si), "{si} stands twice");
                assert!(!def.quantity.is_shared(), "{} needs no SI name", def.ip);
            } else {
                assert!(def.quantity.is_shared(), "{} needs an SI name", def.ip);
            }
            assert!(def.help.ends_with(['.', '?']), "{} has no help", def.ip);
            if let Absent::Number(default) = def.absent {
                assert!(def.allows(default, UnitSystem::Ip), "{}: default out of range", def.ip);
            }
            if let (Absent::Word(word), Kind::Choice(choices)) = (def.absent, def.kind) {
                assert!(choices.find(word).is_some(), "{}: default not in the list", def.ip);
            }
        }
    }

    #[test]
    fn ranges_read_in_the_unit_of_the_name() {
        assert_eq!(Field::CavityDepth.def().range(UnitSystem::Ip), "0.5 to 16 in");
        assert_eq!(Field::CavityDepth.def().range(UnitSystem::Si), "12.7 to 406.4 mm");
        assert_eq!(Field::FramingR.def().range(UnitSystem::Si), "0.048076 to 0.48076 W/mK");
        assert_eq!(Field::WallArea.def().range(UnitSystem::Ip), "above 0 to 1000000 ft²");
        assert_eq!(Field::FuelPrice.def().range(UnitSystem::Ip), "0 or more");
        assert_eq!(Field::AirGapLevel.def().range(UnitSystem::Ip), "whole number, 0 to 2");
    }
}
