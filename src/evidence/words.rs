//! The evidence in words: what stops the work first, then what was promised and what was built.

use super::built::{Missing, Proof};
use super::finding::{Found, ProofFinding};
use super::jobs::{JobGroup, JobStanding, JobsReview};
use super::receipt::{RULE, Receipt};
use super::scan::{ScanStanding, Tally};
use super::table::Row;
use crate::doubt::words::within;
use crate::doubt::{Figure, Sampling, doubt};
use crate::holds::holds;
use crate::house::House;
use crate::readiness::{Readiness, Weight};
use crate::tables::MISSED_LIMIT;
use crate::units::{Length, Mass, Quantity, RValue, UnitSystem};
use crate::words::{Block, LOCAL_CODE, Tone, decimals, grouped, percent, plural, years};
use std::fmt::Write as _;

/// How figures are written.
#[derive(Clone, Copy, Debug)]
pub struct Manner<'a> {
    /// The unit system.
    pub units: UnitSystem,
    /// A label in front of amounts; nothing is converted.
    pub currency: &'a str,
}

impl Manner<'_> {
    fn amount(self, value: f64) -> String {
        let sign = if value < 0.0 { "−" } else { "" };
        format!("{sign}{}{}", self.currency, grouped(value.abs(), decimals(value)))
    }

    fn quantity(self, quantity: Quantity, ip: f64) -> String {
        let value = quantity.express(ip, self.units);
        let si = self.units == UnitSystem::Si;
        let places = match quantity {
            Quantity::Density | Quantity::Heat if si => 0,
            Quantity::Density | Quantity::Length if !si => 2,
            Quantity::Heat | Quantity::Volume => 1,
            Quantity::Resistance => 1 + usize::from(si),
            Quantity::Transmittance => 4 - usize::from(si),
            _ => 0,
        };
        format!("{} {}", grouped(value, places), quantity.unit(self.units))
    }

    fn density(self, ip: f64) -> String {
        self.quantity(Quantity::Density, ip)
    }

    fn cell(self, row: &Row, fuel_unit: &str, value: f64) -> String {
        match (row.name, row.quantity) {
            ("missed_fraction", _) => tenths(value),
            ("bags", _) => bags(value),
            ("fuel_saved", _) => format!("{} {}", grouped(value, 0), plural(fuel_unit)),
            (_, Quantity::Money) => self.amount(value),
            (_, Quantity::Years) => years(value),
            (_, Quantity::Co2e) => format!("{} kg CO2e", grouped(value, 0)),
            (_, quantity) => self.quantity(quantity, value),
        }
    }
}

/// Bags, with the half of an open one.
fn bags(value: f64) -> String {
    grouped(value, usize::from((value - libm::trunc(value)).abs() > 0.0))
}

/// A share in per cent with one decimal: a bay in a hundred is a bay.
fn tenths(share: f64) -> String {
    format!("{} %", grouped(share * 100.0, 1))
}

fn sentence(found: &Found) -> String {
    let def = found.finding.def();
    let place = if found.place.is_empty() { String::new() } else { format!("{}: ", found.place) };
    let detail =
        if found.detail.is_empty() { String::new() } else { format!(" ({})", found.detail) };
    let source = def.citation.map(|citation| format!(" [{citation}]")).unwrap_or_default();
    format!("{place}{}{detail}.{source}", def.reason)
}

fn of_weight(proof: &Proof, weight: Weight) -> impl Iterator<Item = &Found> {
    proof.findings.iter().filter(move |found| found.weight() == weight)
}

/// The evidence as blocks: a hold on the house or on the machine first, then what to look at, then
/// promised, as built and measured, missed bays, the scan, the machine.
pub fn proof_account(proof: &Proof, manner: Manner<'_>) -> Vec<Block> {
    let mut blocks = Vec::new();
    let standing = proof.built.as_ref().unwrap_or(&proof.promised);
    blocks.extend(holds(standing));
    if proof.weight() == Weight::Hold {
        let mut block = Block::new(Tone::Hold, "DO NOT WORK until the machine is adjusted");
        for found in of_weight(proof, Weight::Hold) {
            block.line("", sentence(found));
            block.line("What to do", found.finding.def().look);
        }
        blocks.push(block);
    }
    if of_weight(proof, Weight::Check).next().is_some() {
        let mut block =
            Block::new(Tone::Check, "LOOK: what the evidence does not show, or shows wrong");
        for found in of_weight(proof, Weight::Check) {
            block.line("", sentence(found));
            block.line("Look", found.finding.def().look);
        }
        blocks.push(block);
    }
    blocks.push(answer(proof));
    blocks.push(table(proof, manner));
    blocks.extend(missed_bays(proof, manner));
    blocks.extend(scan(proof));
    blocks.extend(machines(proof, manner));
    let mut notes = Block::new(Tone::Plain, "Worth knowing");
    of_weight(proof, Weight::Note).for_each(|found| notes.line("", sentence(found)));
    notes.line("", LOCAL_CODE);
    blocks.push(notes);
    blocks
}

/// The payback of a house with its range.
fn payback(house: &House, payback: Option<f64>) -> String {
    match payback {
        Some(value) if value > 0.0 => {
            let band = doubt(house, &Sampling::default()).band(Figure::SimplePayback);
            format!("about {}, likely {}", years(value), within(band))
        }
        Some(_) => "at once, nothing is left to pay".to_owned(),
        None => "none, nothing is saved".to_owned(),
    }
}

fn answer(proof: &Proof) -> Block {
    let promised = payback(&proof.promised, proof.promised_figures.simple_payback_years);
    let Some((house, figures)) = proof.built.as_ref().zip(proof.built_figures.as_ref()) else {
        let mut block = Block::new(Tone::Answer, "No figures as built");
        let why = if proof.missed.is_empty() {
            "Nothing is written down of the work."
        } else {
            "A wall that is not packed will not stay as it is, so it has no figures. Fill it first."
        };
        block.line("", why);
        block.line("Payback promised", format!("{promised} (modelled, not measured)"));
        return block;
    };
    let built = payback(house, figures.simple_payback_years);
    let mut block =
        Block::new(Tone::Answer, format!("Payback as built {built} (modelled, not measured)"));
    block.line("Payback promised", format!("{promised} (modelled, not measured)"));
    if let Some(measured) = &proof.measured {
        let ends = [measured.high.as_ref(), measured.low.as_ref()].map(|end| {
            end.map(|end| end.simple_payback_years.map_or("no payback".to_owned(), years))
        });
        let at = measured.figures.simple_payback_years.map_or("none".to_owned(), years);
        let range = match ends {
            [Some(short), Some(long)] => format!("range {short} to {long}"),
            _ => "without a range, since none was given".to_owned(),
        };
        block.line(
            "Payback by the bills",
            format!(
                "{at}, {range}: the measured fuel at the prices of the offer, cooling left out; {} of the modelled saving",
                percent(measured.share_of_modelled)
            ),
        );
    }
    block
}

fn table(proof: &Proof, manner: Manner<'_>) -> Block {
    let mut block = Block::new(Tone::Plain, "Promised, as built, measured");
    let unit = proof.promised_figures.fuel.row().unit;
    for row in proof.table() {
        let value = |value: Option<f64>| {
            value.map_or("–".to_owned(), |value| manner.cell(&row, unit, value))
        };
        let mut text = format!("{} | {}", value(row.promised), value(row.built));
        if row.measured.is_some() || row.measured_range.is_some() {
            let _ = write!(text, " | {}", value(row.measured));
            if let Some((low, high)) = row.measured_range {
                let _ = write!(text, " ({} to {})", value(low), value(high));
            }
        }
        let surface =
            if row.surface.is_empty() { String::new() } else { format!("{}, ", row.surface) };
        block.line(format!("{surface}{}", row.label), text);
    }
    block.line("", "Savings and paybacks are modelled but for those measured, which are the bills' fuel saved, valued by the same model.");
    block
}

fn missing(cost: Missing, manner: Manner<'_>) -> String {
    let payback = match cost.payback_added_years {
        Some(years) => format!("{} months of payback", grouped(years * 12.0, 1)),
        None => "a payback that does not exist".to_owned(),
    };
    format!(
        "{payback}, {} a year; going back is worth up to {} (modelled)",
        manner.amount(cost.annual_savings_lost),
        manner.amount(cost.worth_of_going_back)
    )
}

fn missed_bays(proof: &Proof, manner: Manner<'_>) -> Option<Block> {
    let cost = proof.going_back.as_ref()?;
    let mut block = Block::new(Tone::Plain, "What missed bays cost");
    for share in &proof.missed {
        let shown = if share.shown { "by the scan" } else { "not shown by a scan that counts" };
        block.line(
            share.label.clone(),
            format!(
                "{} missed ({} to {}), promised {}; {shown}",
                tenths(share.used),
                tenths(share.range.low),
                tenths(share.range.high),
                tenths(share.promised)
            ),
        );
    }
    block.line("Costs", missing(cost.whole, manner));
    if cost.low != cost.high {
        block.line("At the low end", missing(cost.low, manner));
        block.line("At the high end", missing(cost.high, manner));
    }
    if cost.surfaces.len() > 1 {
        for (label, cost) in &cost.surfaces {
            block.line(format!("{label} alone"), missing(*cost, manner));
        }
    }
    block.line(
        "",
        "The worth is the present value of what every missed bay would save over the life, for nothing: going back pays where it costs less.",
    );
    Some(block)
}

fn tally(tally: &Tally, confidence: f64) -> String {
    let seen = tally.cold_after.seen();
    let mut text = format!(
        "{} of {seen} bays seen are cold after the work, {}",
        tally.cold_after.found(),
        tenths(tally.share())
    );
    if let Some(before) = tally.cold_before {
        let _ = write!(text, " (before it {before})");
    }
    if tally.complete() {
        text.push_str("; every bay was seen");
        return text;
    }
    let _ = write!(
        text,
        "; {} interval {} to {} (Wilson), {} to {} (exact)",
        percent(confidence),
        tenths(tally.wilson.low),
        tenths(tally.wilson.high),
        tenths(tally.exact.low),
        tenths(tally.exact.high)
    );
    if let (Some((low, high)), Some(bays)) = (tally.of_all, tally.bays) {
        let _ = write!(text, "; of all {bays} bays {low} to {high}");
    }
    text
}

fn scan(proof: &Proof) -> Option<Block> {
    let standing = proof.scan.as_ref()?;
    let mut block = Block::new(Tone::Plain, "The scan");
    for seen in &proof.tallies {
        block.line(seen.label.clone(), tally(seen, proof.confidence.share()));
    }
    let counts = match standing {
        ScanStanding::Valid => "yes, by what was written down of it".to_owned(),
        ScanStanding::Unknown(what) => {
            format!("nobody can say: not written down are {}", what.join(", "))
        }
        ScanStanding::NotValid(why) => format!("no: {}", why.join("; ")),
    };
    block.line("Does it count", counts);
    Some(block)
}

fn machines(proof: &Proof, manner: Manner<'_>) -> Option<Block> {
    if proof.machines.is_empty() {
        return None;
    }
    let mut block = Block::new(Tone::Plain, "The machine");
    for machine in &proof.machines {
        let boxes = machine.chart.values.len();
        let last = machine.chart.values.last().copied().unwrap_or_default();
        let mut text = format!(
            "{boxes} {}, last {}",
            if boxes == 1 { "box" } else { "boxes" },
            manner.density(last)
        );
        if let Some(limits) = machine.chart.limits {
            let _ = write!(
                text,
                "; mean {}, limits {} to {}",
                manner.density(limits.centre),
                manner.density(limits.low),
                manner.density(limits.high)
            );
        }
        block.line(machine.label(), text);
        for (place, signal) in &machine.chart.signals {
            let day = machine.dates.get(*place).map(ToString::to_string).unwrap_or_default();
            let value = machine.chart.values.get(*place).copied().unwrap_or_default();
            block.line(day, format!("{}: {}", manner.density(value), signal.words()));
        }
    }
    if proof.findings.iter().all(|found| found.finding > ProofFinding::MachineDrift) {
        block.line("", "The last box gives no reason to stop.");
    }
    Some(block)
}

/// What a receipt for loose-fill must say by the rule as it was seen, part by part.
pub fn receipt_account(receipt: &Receipt, manner: Manner<'_>) -> Vec<Block> {
    let mut head = Block::new(Tone::Plain, format!("Receipt for insulation, {}", receipt.house_id));
    let blank = || "______________________".to_owned();
    head.line("Date of the work", receipt.date.map_or_else(blank, |date| date.to_string()));
    head.line("Installer", blank());
    head.line("Signature of the installer", blank());
    let mut blocks = vec![head];
    for part in &receipt.parts {
        let mut block = Block::new(Tone::Plain, part.part.clone());
        let number = |quantity, value: Option<f64>| {
            value.map_or_else(blank, |value| manner.quantity(quantity, value))
        };
        block.line("Coverage area", manner.quantity(Quantity::Area, part.coverage.ip()));
        let initial = part.initial_thickness.map(Length::ip);
        let settled = part.settled_thickness.map(Length::ip);
        block.line("Initial installed thickness", number(Quantity::Length, initial));
        block.line("Minimum settled thickness", number(Quantity::Length, settled));
        let r = part.r_by_maker.map(RValue::ip);
        block.line("R-value, by the maker's data", number(Quantity::Resistance, r));
        let weight = manner.quantity(Quantity::Mass, receipt.bag_weight.ip());
        let used = part.bags.map_or_else(blank, |count| format!("{} of {weight}", bags(count)));
        block.line("Bags used", used);
        block.line("Weight", number(Quantity::Mass, part.mass.map(Mass::ip)));
        blocks.push(block);
    }
    let mut rule = Block::new(Tone::Check, "Check the current rule before you hand this over");
    rule.line(
        "",
        format!(
            "The entries follow {RULE}; the rule may have changed, and a state may ask for more."
        ),
    );
    rule.line("", "Areas and R-values of different parts are not added up. The R-value is read from the maker's chart, not worked out from an inch.");
    rule.line("", "Thicknesses that were not written down are those of the house file: packed fibre fills the cavity beside what is there.");
    let missing = receipt.missing();
    if !missing.is_empty() {
        rule.line("Still to be filled in", missing.join("; "));
    }
    blocks.push(rule);
    blocks
}

/// What many jobs come to: crews and machines first, then the jobs that lie outside the limits.
pub fn jobs_account(review: &JobsReview, most: usize) -> Vec<Block> {
    let listed = review.listed();
    let outside = listed.iter().filter(|job| job.standing() == JobStanding::Outside).count();
    let mut head = Block::new(
        if outside > 0 { Tone::Check } else { Tone::Answer },
        format!(
            "{outside} of {} jobs outside the limits of density or coverage, {} more not shown to be within",
            review.jobs.len(),
            listed.len() - outside
        ),
    );
    head.line(
        "Limits",
        format!(
            "density 3.5 lb/ft³ and what the finish bears; bays missed {} at most [judgement of this project, no source]",
            percent(MISSED_LIMIT.value)
        ),
    );
    let to_fill = review.jobs.iter().filter(|job| job.to_fill()).count();
    if to_fill > 0 {
        head.line(
            "Still to fill",
            format!("{to_fill} jobs with cold bays, within the limit or not"),
        );
    }
    if !review.rejects.is_empty() {
        head.line("Not read", format!("{} rows, with their faults below", review.rejects.len()));
    }
    let mut blocks = vec![head];
    for chart in &review.charts {
        let stops: Vec<Found> =
            chart.findings().into_iter().filter(|f| f.weight() == Weight::Hold).collect();
        if !stops.is_empty() {
            let title = format!("DO NOT WORK with {} until it is adjusted", chart.label());
            let mut block = Block::new(Tone::Hold, title);
            for found in stops {
                block.line("", sentence(&found));
            }
            blocks.insert(0, block);
        }
    }
    for (title, groups) in [("By crew", &review.crews), ("By machine", &review.machines)] {
        let mut block = Block::new(Tone::Plain, title);
        for group in groups {
            block.line(if group.name.is_empty() { "(none named)" } else { &group.name }, of(group));
        }
        blocks.push(block);
    }
    let mut jobs = Block::new(Tone::Plain, "Outside, then not shown");
    for job in listed.iter().take(most) {
        let density = job.density_lb_ft3.map_or("no bags counted".to_owned(), |density| {
            format!("{density:.2} lb/ft³ (promised {:.2})", job.promised_density_lb_ft3)
        });
        let cold = job.cold.map_or("no scan that counts".to_owned(), |cold| {
            format!("{} of {} bays cold", cold.found(), cold.seen())
        });
        let hold = if job.readiness == Readiness::Hold { "; the house was ON HOLD" } else { "" };
        jobs.line(
            format!("row {}, {}", job.row, job.house_id),
            format!(
                "{}: {density}; {cold}; {}{hold}",
                job.standing().as_str().replace('_', " "),
                job.codes().replace(';', ", ")
            ),
        );
    }
    let more = listed.len().saturating_sub(most);
    if more > 0 {
        jobs.line("", format!("and {more} more"));
    }
    if listed.is_empty() {
        jobs.line("", "None.");
    }
    blocks.push(jobs);
    if !review.rejects.is_empty() {
        let mut block = Block::new(Tone::Check, "Rows that are no jobs");
        for reject in review.rejects.iter().take(most) {
            let issues: Vec<String> = reject.issues.iter().map(ToString::to_string).collect();
            block.line(format!("row {}, {}", reject.row, reject.house_id), issues.join("; "));
        }
        let more = review.rejects.len().saturating_sub(most);
        if more > 0 {
            block.line("", format!("and {more} more"));
        }
        blocks.push(block);
    }
    blocks
}

fn of(group: &JobGroup) -> String {
    let mut text = format!(
        "{} {}: {} outside by density, {} by coverage, {} not shown",
        group.jobs,
        if group.jobs == 1 { "job" } else { "jobs" },
        group.density_outside,
        group.coverage_outside,
        group.not_shown
    );
    if let Some(mean) = group.mean_density_lb_ft3 {
        let _ = write!(text, "; mean density {mean:.2} lb/ft³");
    }
    if let Some((cold, interval)) = group.cold.zip(group.interval) {
        let _ = write!(
            text,
            "; {} of {} bays cold, {} ({} to {})",
            cold.found(),
            cold.seen(),
            tenths(cold.share()),
            tenths(interval.low),
            tenths(interval.high)
        );
    }
    text
}
