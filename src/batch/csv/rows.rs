//! The rows of a table as plain structs, for programs that write or read such tables themselves.
//!
//! Scoring does not go this way: it reads cells as bytes. A test holds the names to the registries.

use serde::{Deserialize, Serialize};
use std::io::Read;

macro_rules! row {
    ($(#[$doc:meta])* $row:ident { $($name:ident: $type:ty;)* }) => {
        $(#[$doc])*
        #[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
        #[serde(default)]
        pub struct $row {
            $(
                #[doc = concat!("The cell of the column `", stringify!($name), "`.")]
                pub $name: $type,
            )*
        }

        impl $row {
            /// The names of the columns, in order.
            pub const NAMES: &'static [&'static str] = &[$(stringify!($name)),*];
        }
    };
}

row! {
    /// A house as a flat row in inch-pound units; a column that is missing or empty is `None`.
    ///
    /// ```
    /// use studbay::batch::csv::HouseRow;
    ///
    /// let mut table = csv::Writer::from_writer(Vec::new());
    /// table.serialize(HouseRow {
    ///     house_id: "two-family".to_owned(),
    ///     wall_area_ft2: 1200.0,
    ///     series_r: Some(3.06),
    ///     heating_degree_days_f: 5600.0,
    ///     heating_efficiency: 0.8,
    ///     fuel: "natural_gas".to_owned(),
    ///     fuel_price: Some(1.5),
    ///     installed_cost: 2400.0,
    ///     ..HouseRow::default()
    /// })?;
    /// let written = table.into_inner()?;
    /// let read: Vec<HouseRow> =
    ///     studbay::batch::csv::read_rows(written.as_slice()).collect::<Result<_, _>>()?;
    /// assert_eq!(read[0].series_r, Some(3.06));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    HouseRow {
        house_id: String;
        wall_area_ft2: f64;
        framing_fraction: Option<f64>;
        framing_material: Option<String>;
        cavity_depth_in: Option<f64>;
        framing_r_per_in: Option<f64>;
        series_r: Option<f64>;
        cladding: Option<String>;
        sheathing: Option<String>;
        interior_finish: Option<String>;
        batt_thickness_in: Option<f64>;
        batt_r_per_in: Option<f64>;
        batt_missing_fraction: Option<f64>;
        air_gap_level: Option<f64>;
        air_space_r: Option<f64>;
        fill_density_lb_ft3: Option<f64>;
        fill_r_per_in: Option<f64>;
        batt_compression: Option<f64>;
        missed_fraction: Option<f64>;
        heating_degree_days_f: f64;
        cooling_degree_days_f: Option<f64>;
        heating_efficiency: f64;
        fuel: String;
        fuel_price: Option<f64>;
        cooling_seer: Option<f64>;
        electricity_price: Option<f64>;
        cfm50_before: Option<f64>;
        cfm50_after: Option<f64>;
        leakage_divisor: Option<f64>;
        elevation_ft: Option<f64>;
        billed_heating_fuel: Option<f64>;
        realization_rate: Option<f64>;
        installed_cost: f64;
        rebate: Option<f64>;
        tax_credit_fraction: Option<f64>;
        tax_credit_cap: Option<f64>;
        life_years: Option<f64>;
        discount_rate: Option<f64>;
        fuel_escalation: Option<f64>;
        electricity_escalation: Option<f64>;
        grid_kg_per_kwh: Option<f64>;
        grid_decline: Option<f64>;
        grid_region: Option<String>;
        grid_rate: Option<String>;
        fill_embodied_kg_per_kg: Option<f64>;
        bag_weight_lb: Option<f64>;
        knob_and_tube: Option<String>;
        vermiculite: Option<String>;
        moisture_problem: Option<String>;
        loose_interior_finish: Option<String>;
        spillage_test: Option<String>;
        recessed_lights_or_flues: Option<String>;
        year_built: Option<f64>;
    }
}

row! {
    /// The results of a scored row in inch-pound units; the other columns of the table are passed
    /// over.
    ScoredRow {
        house_id: String;
        u_before_btu_h_ft2_f: Option<f64>;
        u_after_btu_h_ft2_f: Option<f64>;
        heat_saved_mmbtu: Option<f64>;
        fuel_saved: Option<f64>;
        electricity_saved_kwh: Option<f64>;
        saved_share: Option<f64>;
        annual_savings: Option<f64>;
        net_cost: Option<f64>;
        simple_payback_years: Option<f64>;
        discounted_payback_years: Option<f64>;
        npv: Option<f64>;
        sir: Option<f64>;
        airr: Option<f64>;
        irr: Option<f64>;
        lifetime_savings: Option<f64>;
        annual_co2e_kg: Option<f64>;
        lifetime_co2e_kg: Option<f64>;
        embodied_co2e_kg: Option<f64>;
        carbon_payback_years: Option<f64>;
        cost_per_tonne: Option<f64>;
        fill_mass_lb: Option<f64>;
        bags: i64;
        readiness: String;
        findings: String;
    }
}

/// Reads the rows of a CSV table one by one, as [`HouseRow`], [`ScoredRow`] or a struct of your own.
pub fn read_rows<T, R>(input: R) -> impl Iterator<Item = Result<T, csv::Error>>
where
    T: serde::de::DeserializeOwned,
    R: Read,
{
    csv::Reader::from_reader(input).into_deserialize()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::{FIELDS, RESULTS, Scope};

    #[test]
    fn rows_have_the_names_of_the_registries() {
        let flat = FIELDS.iter().filter(|def| def.scope != Scope::SurfaceOnly).map(|def| def.ip);
        assert_eq!(HouseRow::NAMES, flat.collect::<Vec<_>>());
        let results = std::iter::once("house_id").chain(RESULTS.iter().map(|def| def.ip));
        assert_eq!(ScoredRow::NAMES, results.collect::<Vec<_>>());
    }
}
