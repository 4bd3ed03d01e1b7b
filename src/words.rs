//! An assessment in words, for a person at a table. Every English sentence about a house is here.
//!
//! The order never changes: what stands in the way comes first; then the payback, said to be
//! modelled, with what it rests on and what would change it most; then the rest.

use crate::doubt::words::within;
use crate::doubt::{Figure, Input, Sampling, doubt};
use crate::house::{Assessment, Fill, House, Surface, SurfaceKind, assess};
use crate::readiness::{Finding, FindingDef, Readiness, Weight};
use crate::swing::{Swing, swings};
use crate::units::{Quantity, UnitSystem};
use std::fmt::Write as _;

/// The months by name, January first.
pub(crate) const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// How a block is to be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// The work must not start.
    Hold,
    /// Someone must look.
    Check,
    /// The answer to the question that was asked.
    Answer,
    /// Everything else.
    Plain,
}

impl Tone {
    /// `hold`, `check`, `answer` or `plain`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Hold => "hold",
            Self::Check => "check",
            Self::Answer => "answer",
            Self::Plain => "plain",
        }
    }
}

/// A titled part of the account.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    /// How it is to be taken.
    pub tone: Tone,
    /// Its title.
    pub title: String,
    /// Label and text of each line; the label may be empty.
    pub lines: Vec<(String, String)>,
}

impl Block {
    pub(crate) fn new(tone: Tone, title: impl Into<String>) -> Self {
        Self { tone, title: title.into(), lines: Vec::new() }
    }

    pub(crate) fn line(&mut self, label: impl Into<String>, text: impl Into<String>) {
        self.lines.push((label.into(), text.into()));
    }
}

/// The house's account: readiness first, then the payback and what it rests on, then the rest.
///
/// `currency` is a label in front of amounts, `$` or `CA$` or nothing; it converts nothing.
pub fn account(house: &House, units: UnitSystem, currency: &str) -> Vec<Block> {
    let assessment = assess(house);
    let teller = Teller { house, assessment: &assessment, units, currency };
    let mut blocks = teller.readiness();
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

/// Holds, then checks: what comes before any figure of the house.
pub(crate) fn readiness(house: &House, units: UnitSystem, currency: &str) -> Vec<Block> {
    let assessment = assess(house);
    Teller { house, assessment: &assessment, units, currency }.readiness()
}

struct Teller<'h> {
    house: &'h House,
    assessment: &'h Assessment,
    units: UnitSystem,
    currency: &'h str,
}

impl Teller<'_> {
    /// Holds, then checks; a house with neither is still not certified.
    fn readiness(&self) -> Vec<Block> {
        let findings = |weight| {
            let of_weight = move |finding: &Finding| finding.def().weight == weight;
            self.assessment.findings.iter().filter(of_weight).map(Finding::def)
        };
        let mut blocks = Vec::new();
        let readiness = self.assessment.readiness();
        if readiness == Readiness::Hold {
            let mut block = Block::new(Tone::Hold, "HOLD: the work must not start");
            block.line("", "No fibre may be blown until every point here is cleared.");
            findings(Weight::Hold).for_each(|def| finding(&mut block, def));
            block.line("", LOCAL_CODE);
            blocks.push(block);
        }
        let mut checks = findings(Weight::Check).peekable();
        if checks.peek().is_some() {
            let mut block =
                Block::new(Tone::Check, "CHECK: someone must look before the work starts");
            checks.for_each(|def| finding(&mut block, def));
            block.line("", LOCAL_CODE);
            blocks.push(block);
        }
        if readiness == Readiness::Clear {
            let title = "Nothing that was asked about stands in the way";
            let mut block = Block::new(Tone::Plain, title);
            block.line("", "This is no certificate: it repeats the answers that were given.");
            block.line("", LOCAL_CODE);
            blocks.push(block);
        }
        blocks
    }

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

pub(crate) const LOCAL_CODE: &str =
    "Local code and licensed practice decide; a finding here is no certificate.";
pub(crate) const REALISED: &str = "Measured savings often fall short of modelled ones: 39 % of them in one \
    programme with a mix of measures (Fowlie, Greenstone and Wolfram 2018), 30 % less use than \
    rated before any work (Sunikka-Blank and Galvin 2012). The bills afterwards decide.";

const RANGE: &str = "eight draws of ten of all that may be off, together, and with it how much of \
    the modelled saving shows on the meter";
const SPREADS_ARE: &str = "the usual spreads are judgement for the most part, no guarantee";

/// From where to where an input is moved: `1 to 2 in`, or on several surfaces `0.85 to 1.15 times`.
pub(crate) fn extent(input: &Input, units: UnitSystem) -> String {
    use crate::doubt::Origin;
    use crate::tables::SpreadMode;
    let def = input.field().def();
    let unit = def.quantity.unit(units);
    let gap = if unit.is_empty() { "" } else { " " };
    let number = |ip: f64| figure(def.quantity.express(ip, units), 3);
    match (input.places(), input.origin()) {
        ([_, _, ..], Origin::Usual(spread)) if spread.mode == SpreadMode::Factor => {
            format!("{} to {} times what was taken", spread.low, spread.high)
        }
        ([_, _, ..], Origin::Usual(spread)) if spread.mode == SpreadMode::Add => {
            format!("{} to +{}{gap}{unit}", number(spread.low), number(spread.high))
        }
        (places, _) => {
            let [low, high] = input.end_shares();
            let at = |u| places.first().map_or(f64::NAN, |place| place.at(u));
            let (a, b) = (number(at(low)), number(at(high)));
            format!("{a} to {b}{gap}{unit}")
        }
    }
}

fn finding(block: &mut Block, def: &FindingDef) {
    let source = def.citation.map(|citation| format!(" [{citation}]")).unwrap_or_default();
    block.line("", format!("{}{source}", sentence(def.reason)));
    block.line("May be cleared by", def.cleared_by);
}

pub(crate) fn cautions() -> Block {
    let mut block = Block::new(Tone::Plain, "Before anyone blows fibre");
    block.line("", LOCAL_CODE);
    block.line(
        "",
        "Fibre must be made to pass the smouldering test of 16 CFR 1209; installers wear a \
         respirator and eye protection (NIOSH 2001).",
    );
    block.line(
        "",
        "After tightening, draught and carbon monoxide are tested the same day wherever an \
         appliance draws its air from the house.",
    );
    block
}

/// A sentence from a clause without a full stop.
pub(crate) fn sentence(clause: &str) -> String {
    format!("{clause}.")
}

pub(crate) fn or_none(value: Option<f64>, words: impl Fn(f64) -> String) -> String {
    value.map_or("none".to_owned(), words)
}

/// Longer paybacks are all the same to a reader.
const LONG: f64 = 200.0;

/// `3.4 years`; weeks and centuries are said as such.
pub(crate) fn years(value: f64) -> String {
    if value >= LONG {
        return format!("over {LONG} years");
    }
    let text = grouped(value, usize::from(value < 100.0));
    if text == "1.0" { "1 year".to_owned() } else { format!("{text} years") }
}

pub(crate) fn percent(share: f64) -> String {
    format!("{} %", grouped(share * 100.0, 0))
}

pub(crate) fn percent_fine(share: f64) -> String {
    format!("{} %", grouped(share * 100.0, 1))
}

/// Decimals that an amount of this size deserves.
pub(crate) fn decimals(value: f64) -> usize {
    if value.abs() >= 100.0 || value == 0.0 { 0 } else { 2 }
}

/// Money as a person writes it: no cents from a hundred up.
pub(crate) fn amount(value: f64, currency: &str) -> String {
    let sign = if value < 0.0 { "−" } else { "" };
    format!("{sign}{currency}{}", grouped(value.abs(), decimals(value)))
}

/// A fuel's unit in a sentence.
fn singular(unit: &str) -> &str {
    if unit == "gal" { "gallon" } else { unit }
}

pub(crate) fn plural(unit: &str) -> String {
    if unit == "kWh" { unit.to_owned() } else { format!("{}s", singular(unit)) }
}

/// A number with at most so many decimals, no trailing zeros.
pub(crate) fn figure(value: f64, decimals: usize) -> String {
    let text = grouped(value, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A number with so many decimals and its thousands set apart.
pub(crate) fn grouped(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let (whole, rest) = text.find('.').map_or((text.as_str(), ""), |dot| text.split_at(dot));
    let mut out = String::new();
    // −0.00 is 0.
    if value < 0.0 && text.chars().any(|c| ('1'..='9').contains(&c)) {
        out.push('−');
    }
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::samples::any_house;
    use proptest::prelude::*;

    #[test]
    fn numbers_are_written_as_a_person_writes_them() {
        assert_eq!(grouped(1_234_567.0, 0), "1,234,567");
        assert_eq!(grouped(-999.5, 1), "−999.5");
        assert_eq!(grouped(-0.001, 2), "0.00");
        assert_eq!(years(3.44), "3.4 years");
        assert_eq!(years(1e16), "over 200 years");
    }

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
