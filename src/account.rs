//! The account of a house: an assessment in words, for a person at a table.
//!
//! The order never changes: what stands in the way comes first; then the payback, said to be
//! modelled, with what it rests on and what would change it most; then the rest.

use crate::doubt::words::{extent, within};
use crate::doubt::{Figure, Sampling, doubt};
use crate::holds::holds_and_checks;
use crate::house::{Assessment, Fill, House, Surface, SurfaceKind, assess};
use crate::readiness::{Readiness, Weight};
use crate::swing::{Swing, swings};
use crate::units::{Quantity, UnitSystem};
use crate::words::{
    Block, REALISED, Tone, amount, cautions, decimals, figure, grouped, or_none, percent,
    percent_fine, plural, sentence, singular, years,
};
use std::fmt::Write as _;

const RANGE: &str = "eight draws of ten of all that may be off, together, and with it how much of \
    the modelled saving shows on the meter";
const SPREADS_ARE: &str = "the usual spreads are judgement for the most part, no guarantee";

/// The house's account: readiness first, then the payback and what it rests on, then the rest.
///
/// `currency` is a label in front of amounts, `$` or `CA$` or nothing; it converts nothing.
pub fn account(house: &House, units: UnitSystem, currency: &str) -> Vec<Block> {
    let assessment = assess(house);
    let teller = Teller { house, assessment: &assessment, units, currency };
    let mut blocks = holds_and_checks(&assessment);
    #[cfg(feature = "house-file")]
    if !house.clearances().is_empty() {
        blocks.extend(crate::walk::walk(house).recorded());
    }
    blocks.push(teller.answer());
    blocks.push(teller.money());
    blocks.push(teller.heat());
    blocks.push(teller.carbon());
    blocks.push(teller.job());
    blocks.extend(teller.notes());
    blocks.push(cautions());
    blocks
}

struct Teller<'h> {
    house: &'h House,
    assessment: &'h Assessment,
    units: UnitSystem,
    currency: &'h str,
}

impl Teller<'_> {
    fn answer(&self) -> Block {
        let swings = swings(self.house);
        let drawn = doubt(self.house, &Sampling::default());
        let band = drawn.band(Figure::SimplePayback);
        let modelled = "modelled, not measured";
        let title = match self.assessment.simple_payback_years {
            Some(payback) if payback > 0.0 => {
                format!(
                    "Payback about {} as modelled, likely {} ({modelled})",
                    years(payback),
                    within(band)
                )
            }
            Some(_) => format!("Payback at once: nothing is left to pay ({modelled})"),
            None => format!("No payback: the fill saves nothing here ({modelled})"),
        };
        let mut block = Block::new(Tone::Answer, title);
        if self.assessment.readiness() == Readiness::Hold {
            block.line(
                "",
                "Only once the hold above is cleared: what clearing it costs is not in here.",
            );
        }
        let half = band.p50.map_or_else(String::new, |half| {
            format!("half of all draws pay back within {}; ", years(half))
        });
        block.line("Range", format!("{RANGE}; {half}{SPREADS_ARE}"));
        block.line("Rests on", self.basis());
        for (place, swing) in swings.iter().take(3).enumerate() {
            let label = if place == 0 { "Would change it most" } else { "Then" };
            block.line(label, self.swing(swing));
        }
        block.line("", REALISED);
        block
    }

    fn swing(&self, swing: &Swing) -> String {
        let end = |payback: Option<f64>| payback.map_or("no payback".to_owned(), years);
        let source = swing.input.citation().map(|c| format!(" [{c}]")).unwrap_or_default();
        format!(
            "{} ({}): {} at the low end, {} at the high end{source}",
            swing.input.words(),
            extent(&swing.input, self.units),
            end(swing.at_low),
            end(swing.at_high),
        )
    }

    /// The inputs that a reader can judge at a glance.
    fn basis(&self) -> String {
        let House { climate, plant, offer, .. } = self.house;
        let mut text = String::new();
        for surface in self.house.surfaces() {
            let _ = write!(text, "{}; ", self.surface(surface));
        }
        let days = self.quantity(Quantity::DegreeDays, climate.heating_degree_days.ip(), 0);
        let row = plant.fuel.row();
        let _ = write!(
            text,
            "{days} of heating; {} at {} a {}, {} efficient; a price of {}",
            row.label.to_lowercase(),
            self.price(plant.fuel_price),
            singular(row.unit),
            percent(plant.heating_efficiency),
            self.amount(offer.installed_cost),
        );
        if self.assessment.net_cost < offer.installed_cost {
            let _ = write!(
                text,
                ", {} after rebate and tax credit",
                self.amount(self.assessment.net_cost)
            );
        }
        text
    }

    fn surface(&self, surface: &Surface) -> String {
        let area = self.quantity(Quantity::Area, surface.area().ip(), 0);
        let kind = match surface.kind() {
            SurfaceKind::Wall => "wall",
            SurfaceKind::Slope => "slope",
            SurfaceKind::Floor => "floor",
            SurfaceKind::AtticFloor => "attic floor",
        };
        let thickness = surface.batt().thickness;
        let batt = if thickness.ip() > 0.0 {
            let missing = match surface.batt().missing.ip() {
                0.0 => String::new(),
                share => format!(", {} of it missing", percent(share)),
            };
            format!("a batt of {}{missing}", self.quantity(Quantity::Length, thickness.ip(), 1))
        } else {
            "nothing in it now".to_owned()
        };
        let density = |ip| self.quantity(Quantity::Density, ip, 1);
        let fill = match surface.fill() {
            Fill::Packed(fill) => format!("packed at {}", density(fill.density.ip())),
            Fill::Open(fill) => format!(
                "{} blown over it once settled, at {}",
                self.quantity(Quantity::Length, fill.depth.ip(), 1),
                density(fill.settled_density.ip())
            ),
        };
        let name = surface.name().map(|name| format!("{name}: ")).unwrap_or_default();
        format!("{name}{area} of {kind}, {batt}, {fill}")
    }

    fn money(&self) -> Block {
        let a = self.assessment;
        let life = self.house.offer().life_years;
        let mut block = Block::new(
            Tone::Plain,
            format!("Money, modelled, in today's prices, over {life} years"),
        );
        block.line("Price", self.amount(self.house.offer().installed_cost));
        block.line("Net cost", self.amount(a.net_cost));
        block.line("Saved a year", self.amount(a.annual_savings));
        block.line("Saved over the life", self.amount(a.lifetime_savings));
        block.line("Simple payback", or_none(a.simple_payback_years, years));
        block.line("Discounted payback", or_none(a.discounted_payback_years, years));
        block.line("Net present value", self.amount(a.npv));
        block.line("Savings-to-investment ratio", or_none(a.sir, |sir| figure(sir, 2)));
        block.line("Internal rate of return", or_none(a.irr, percent_fine));
        block.line("Adjusted rate of return", or_none(a.airr, percent_fine));
        block
    }

    fn heat(&self) -> Block {
        let a = self.assessment;
        let mut block = Block::new(Tone::Plain, "Heat, modelled");
        let u = |value: f64| {
            let u = self.quantity(Quantity::Transmittance, value, 3);
            let r = self.quantity(Quantity::Resistance, 1.0 / value, 1);
            format!("U {u} (R {r})")
        };
        block.line("Loses now", u(a.u_before.ip()));
        block.line("After the fill", u(a.u_after.ip()));
        block.line("Heat saved a year", self.quantity(Quantity::Heat, a.heat_saved.ip(), 1));
        let row = a.fuel.row();
        let fuel =
            format!("{} {}", grouped(a.fuel_saved, decimals(a.fuel_saved)), plural(row.unit));
        block.line(format!("{} saved a year", row.label), fuel);
        if a.electricity_saved_kwh != 0.0 {
            let kwh = format!("{} kWh", grouped(a.electricity_saved_kwh, 0));
            block.line("Cooling electricity saved a year", kwh);
        }
        if let Some(share) = a.saved_share {
            block.line("Share of the billed heating", percent(share));
        }
        block
    }

    fn carbon(&self) -> Block {
        let a = self.assessment;
        let mut block = Block::new(Tone::Plain, "Carbon, modelled");
        let kg = |value: f64| format!("{} kg CO2e", grouped(value, 0));
        block.line("Avoided a year", kg(a.annual_co2e_kg));
        let tonnes = format!("{} tonnes CO2e", grouped(a.lifetime_co2e_kg / 1000.0, 1));
        block.line("Avoided over the life", tonnes);
        block.line("Making the fibre", format!("{}, taken off above", kg(a.embodied_co2e_kg)));
        block.line("Cost of a tonne", or_none(a.cost_per_tonne, |cost| self.amount(cost)));
        if a.fuel.is_electricity() || a.electricity_saved_kwh != 0.0 {
            block.line("Grid", a.grid.words());
        }
        block
    }

    fn job(&self) -> Block {
        let a = self.assessment;
        let mut block = Block::new(Tone::Plain, "The job");
        block.line("Fibre", self.quantity(Quantity::Mass, a.fill_mass.ip(), 0));
        let bag = self.quantity(Quantity::Mass, self.house.bag_weight().ip(), 1);
        block
            .line("Bags", format!("{} of {bag}; the chart on the bag governs", grouped(a.bags, 0)));
        for surface in self.house.surfaces() {
            if let Fill::Open(fill) = surface.fill() {
                let blown = self.quantity(Quantity::Length, fill.blown_depth().ip(), 1);
                let settled = self.quantity(Quantity::Length, fill.depth.ip(), 1);
                block.line("Attic floor", format!("blow {blown}, it settles to {settled}"));
            }
        }
        block
    }

    fn notes(&self) -> Option<Block> {
        let mut block = Block::new(Tone::Plain, "Worth knowing");
        for finding in self.assessment.findings.iter() {
            if finding.def().weight == Weight::Note {
                block.line("", sentence(finding.def().reason));
            }
        }
        (!block.lines.is_empty()).then_some(block)
    }

    /// A number with its unit in the wanted system.
    fn quantity(&self, quantity: Quantity, ip: f64, decimals: usize) -> String {
        let value = quantity.express(ip, self.units);
        // A millimetre, a gram per litre: SI needs a decimal less for the same precision.
        let decimals = match (self.units, quantity) {
            (UnitSystem::Si, Quantity::Length | Quantity::Density | Quantity::Heat) => 0,
            (UnitSystem::Si, Quantity::Resistance) => decimals + 1,
            (UnitSystem::Si, Quantity::Transmittance) => 2,
            _ => decimals,
        };
        format!("{} {}", grouped(value, decimals), quantity.unit(self.units))
    }

    fn amount(&self, value: f64) -> String {
        amount(value, self.currency)
    }

    /// A unit price keeps its cents, and what is below them where that matters.
    fn price(&self, value: f64) -> String {
        let cents = (value * 100.0).fract().abs();
        let decimals = if cents > 1e-6 && cents < 1.0 - 1e-6 { 3 } else { 2 };
        format!("{}{}", self.currency, grouped(value, decimals))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::samples::any_house;
    use proptest::prelude::*;

    proptest! {
        // An account draws its house ten thousand times.
        #![proptest_config(ProptestConfig::with_cases(24))]
        #[test]
        fn a_hold_comes_first_and_a_payback_is_always_called_modelled(house in any_house()) {
            let blocks = account(&house, UnitSystem::Si, "$");
            let readiness = assess(&house).readiness();
            if readiness == Readiness::Hold {
                prop_assert_eq!(blocks[0].tone, Tone::Hold);
            }
            for block in &blocks {
                let text = format!("{} {:?}", block.title, block.lines).to_lowercase();
                if text.contains("payback") && text.contains(" years") {
                    prop_assert!(text.contains("modelled"), "{}", text);
                }
            }
        }
    }
}
