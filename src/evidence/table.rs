//! Promised, as built and measured, side by side.

use super::built::{Measured, Proof, density_pair};
use super::record::surface_label;
use crate::house::Assessment;
use crate::units::{Airflow, Quantity};

/// One figure in its three stages, inch-pound.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its name, stable for programs.
    pub name: &'static str,
    /// The surface that it is of; empty for the house.
    pub surface: String,
    /// What it is, in words.
    pub label: &'static str,
    /// What kind of number.
    pub quantity: Quantity,
    /// As promised.
    pub promised: Option<f64>,
    /// As built; `None` where there is no evidence of it.
    pub built: Option<f64>,
    /// By the bills.
    pub measured: Option<f64>,
    /// Between what the measured figure lies; `None` at an end: no such figure there.
    pub measured_range: Option<(Option<f64>, Option<f64>)>,
}

type Get = fn(&Assessment) -> Option<f64>;

/// Figures of the assessment, and whether the bills say something of them.
const FIGURES: [(&str, &str, Quantity, bool, Get); 10] = [
    ("u_after_btu_h_ft2_f", "transmittance after", Quantity::Transmittance, false, |a| {
        Some(a.u_after.ip())
    }),
    ("net_cost", "net cost", Quantity::Money, false, |a| Some(a.net_cost)),
    ("fill_mass_lb", "fibre", Quantity::Mass, false, |a| Some(a.fill_mass.ip())),
    ("heat_saved_mmbtu", "heat saved a year, at the room", Quantity::Heat, false, |a| {
        Some(a.heat_saved.ip())
    }),
    ("fuel_saved", "fuel saved a year", Quantity::FuelUnits, true, |a| Some(a.fuel_saved)),
    ("annual_savings", "money saved a year", Quantity::Money, true, |a| Some(a.annual_savings)),
    ("simple_payback_years", "simple payback", Quantity::Years, true, |a| a.simple_payback_years),
    ("discounted_payback_years", "discounted payback", Quantity::Years, true, |a| {
        a.discounted_payback_years
    }),
    ("npv", "net present value", Quantity::Money, true, |a| Some(a.npv)),
    ("lifetime_co2e_kg", "avoided over the life", Quantity::Co2e, true, |a| {
        Some(a.lifetime_co2e_kg)
    }),
];

impl Proof {
    /// Promised, as built and measured: density and missed share of each surface, leakage, cost and
    /// the figures that follow.
    pub fn table(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        let row = |name, surface: String, label, quantity, promised, built| Row {
            name,
            surface,
            label,
            quantity,
            promised,
            built,
            measured: None,
            measured_range: None,
        };
        for index in 0..self.promised.surfaces().len() {
            let label = surface_label(&self.promised, index);
            if let Some((promised, built)) = density_pair(self, index) {
                rows.push(row(
                    "fill_density_lb_ft3",
                    label.clone(),
                    "density of the fill",
                    Quantity::Density,
                    Some(promised),
                    built,
                ));
            }
            if let Some(missed) = self.missed.iter().find(|missed| missed.surface == index) {
                rows.push(row(
                    "missed_fraction",
                    label,
                    "share missed",
                    Quantity::Number,
                    Some(missed.promised),
                    Some(missed.used),
                ));
            }
        }
        rows.push(row(
            "bags",
            String::new(),
            "bags",
            Quantity::Number,
            Some(self.promised_figures.bags),
            self.bags_used,
        ));
        let leakage = |house: &crate::house::House| house.leakage.after.map(Airflow::ip);
        rows.push(row(
            "cfm50_after",
            String::new(),
            "leakage at 50 Pa afterwards",
            Quantity::Airflow,
            leakage(&self.promised),
            self.built.as_ref().and_then(leakage),
        ));
        rows.push(row(
            "installed_cost",
            String::new(),
            "price",
            Quantity::Money,
            Some(self.promised.offer.installed_cost),
            self.built.as_ref().map(|house| house.offer.installed_cost),
        ));
        for (name, label, quantity, by_bills, get) in FIGURES {
            let mut figure = row(
                name,
                String::new(),
                label,
                quantity,
                get(&self.promised_figures),
                self.built_figures.as_ref().and_then(get),
            );
            if let (true, Some(measured)) = (by_bills, &self.measured) {
                figure.measured = get(&measured.figures);
                figure.measured_range = ends(measured, get);
            }
            rows.push(figure);
        }
        rows
    }
}

/// The figure at both ends of the measured saving, the lesser saving first.
fn ends(measured: &Measured, get: Get) -> Option<(Option<f64>, Option<f64>)> {
    Some((get(measured.low.as_ref()?), get(measured.high.as_ref()?)))
}
