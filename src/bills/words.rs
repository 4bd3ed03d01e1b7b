//! Fits, calibrations and proofs in words: every English sentence for a reader of bills but the
//! findings.

use super::{Calibration, Finding, Fit, Form, NormalYear, Proof, Ranged, Verdict, Weight};
use crate::house::Fuel;
use crate::units::UnitSystem;
use crate::units::factor::{K_PER_F, W_K_PER_BTU_H_F};
use crate::words::{Block, Tone, grouped, plural};
use std::fmt::Write as _;

/// How temperatures and uses are written.
struct Teller {
    units: UnitSystem,
    fuel: Fuel,
    level: f64,
}

impl Teller {
    fn new(fit: &Fit, units: UnitSystem) -> Self {
        Self { units, fuel: fit.fuel, level: fit.options.level }
    }

    fn temperature(&self, value_f: f64) -> String {
        if !value_f.is_finite() {
            return "none".to_owned();
        }
        match self.units {
            UnitSystem::Ip => format!("{value_f:.1} °F"),
            UnitSystem::Si => format!("{:.1} °C", (value_f - 32.0) * K_PER_F),
        }
    }

    fn difference(&self, value_f: f64) -> f64 {
        match self.units {
            UnitSystem::Ip => value_f,
            UnitSystem::Si => value_f * K_PER_F,
        }
    }

    fn degree(&self) -> &'static str {
        match self.units {
            UnitSystem::Ip => "°F",
            UnitSystem::Si => "K",
        }
    }

    fn slope(&self, value: f64) -> f64 {
        match self.units {
            UnitSystem::Ip => value,
            UnitSystem::Si => value / K_PER_F,
        }
    }

    fn use_of(&self, value: f64) -> String {
        format!("{} {}", amount(value), plural(self.fuel.row().unit))
    }

    fn ranged(&self, ranged: Ranged) -> String {
        match ranged.interval {
            None => self.use_of(ranged.value),
            Some((low, high)) => format!(
                "{}, between {} and {} ({})",
                self.use_of(ranged.value),
                amount(low),
                amount(high),
                self.chances()
            ),
        }
    }

    /// The level as a person says it.
    fn chances(&self) -> String {
        let tenths = self.level * 10.0;
        if (tenths - libm::round(tenths)).abs() < 1e-9 {
            format!("{tenths:.0} chances in 10")
        } else {
            format!("{} chances in 100", grouped(self.level * 100.0, 0))
        }
    }
}

/// A use with as many digits as it can bear.
fn amount(value: f64) -> String {
    let decimals = match value.abs() {
        small if small < 1.0 => 3,
        small if small < 10.0 => 2,
        middle if middle < 100.0 => 1,
        _ => 0,
    };
    grouped(value, decimals)
}

fn percent(share: f64) -> String {
    format!("{} %", grouped(100.0 * share, 1))
}

fn whole_percent(ranged: Ranged) -> String {
    let one = |share: f64| grouped(100.0 * share, 0);
    match ranged.interval {
        None => format!("{} %", one(ranged.value)),
        Some((low, high)) => {
            format!("{} %, between {} and {} %", one(ranged.value), one(low), one(high))
        }
    }
}

fn tone(verdict: Verdict) -> Tone {
    match verdict {
        Verdict::Sound => Tone::Answer,
        Verdict::Doubtful => Tone::Check,
        Verdict::Unusable => Tone::Hold,
    }
}

fn findings(title: &str, findings: &[Finding]) -> Option<Block> {
    let worst = findings.iter().map(|finding| finding.weight).max()?;
    let tone = match worst {
        Weight::Note => Tone::Plain,
        Weight::Doubt => Tone::Check,
        Weight::Refuse => Tone::Hold,
    };
    let mut block = Block::new(tone, title);
    let mut sorted: Vec<&Finding> = findings.iter().collect();
    sorted.sort_by_key(|finding| std::cmp::Reverse(finding.weight));
    for finding in sorted {
        let label = match finding.weight {
            Weight::Note => "Note",
            Weight::Doubt => "Doubt",
            Weight::Refuse => "Not to be used",
        };
        block.line(label, finding.text.clone());
    }
    Some(block)
}

/// The verdict in a sentence.
fn verdict_words(fit: &Fit) -> String {
    let count = fit.readings();
    let within = match fit.verdict() {
        Verdict::Sound => "within the limits for monthly bills (CV(RMSE) 15 %, NMBE 5 %)",
        Verdict::Doubtful => "doubtful: see what was found",
        Verdict::Unusable => "not to be used: see what was found",
    };
    format!("{count} readings, {within}")
}

/// A fit in words; with the use of a usual year.
pub fn fit_blocks(fit: &Fit, normal: Option<&NormalYear>, units: UnitSystem) -> Vec<Block> {
    let teller = Teller::new(fit, units);
    let unit = fit.fuel.row().unit;
    let params = &fit.params;
    let mut blocks = Vec::new();
    if let Some(normal) = normal {
        let year = fit.annual(normal);
        let mut block = Block::new(
            tone(fit.verdict()),
            format!("A usual year takes {} by the meter", teller.ranged(fit.annual_total(normal))),
        );
        if year.heating.is_finite() {
            block.line("Heating", teller.ranged(fit.annual_heating(normal)));
            block.line("Base load", teller.use_of(year.base));
            if fit.options.form == Form::HeatingCooling {
                block.line("Cooling", teller.use_of(year.cooling));
            }
        }
        block.line("", "Measured use brought to a usual year; not what any one year brought.");
        blocks.push(block);
    }
    let mut block = Block::new(
        if normal.is_none() { tone(fit.verdict()) } else { Tone::Plain },
        format!("How the house answers to the weather: {}", verdict_words(fit)),
    );
    let with_error = |value: f64, error: f64, unit: &str| {
        let error = if error.is_finite() {
            format!(" ± {} (standard error)", amount(error))
        } else {
            String::new()
        };
        format!("{}{error} {unit}", amount(value))
    };
    let errors = &fit.errors;
    let per_degree = format!("{unit} a day for each {}", teller.degree());
    let at = |value_f: f64, error_f: f64| {
        let error = if error_f.is_finite() {
            format!(" ± {:.1} {}", teller.difference(error_f), teller.degree())
        } else {
            String::new()
        };
        format!("{}{error}", teller.temperature(value_f))
    };
    if fit.options.form == Form::Straight {
        let at_freezing = params.at(Form::Straight, 32.0);
        block.line("At 32 °F (0 °C)", format!("{} {unit} a day", amount(at_freezing)));
    } else {
        block.line("Base load", with_error(params.base, errors.base, &format!("{unit} a day")));
    }
    block.line(
        "Each degree colder",
        with_error(
            teller.slope(params.heating_slope),
            teller.slope(errors.heating_slope),
            &per_degree,
        ),
    );
    if fit.options.form != Form::Straight {
        block.line("Heating begins below", at(params.heating_change_f, errors.heating_change_f));
    }
    if fit.options.form == Form::HeatingCooling && params.cooling_slope > 0.0 {
        block.line(
            "Each degree warmer",
            with_error(
                teller.slope(params.cooling_slope),
                teller.slope(errors.cooling_slope),
                &per_degree,
            ),
        );
        block.line("Cooling begins above", at(params.cooling_change_f, errors.cooling_change_f));
    }
    block.line("R²", grouped(fit.r2, 4));
    block.line("CV(RMSE)", percent(fit.cv_rmse));
    block.line("NMBE", percent(fit.nmbe));
    blocks.push(block);
    blocks.extend(findings("Found in the bills", &fit.findings));
    blocks
}

/// A calibration in words.
pub fn calibration_blocks(calibration: &Calibration, fit: &Fit, units: UnitSystem) -> Vec<Block> {
    let teller = Teller::new(fit, units);
    let (factor, unit) = match units {
        UnitSystem::Ip => (1.0, "Btu/h·°F"),
        UnitSystem::Si => (W_K_PER_BTU_H_F, "W/K"),
    };
    let title = match calibration.fuel_saved {
        Some(saved) => format!(
            "By its bills the house would save {} a year (modelled, not measured)",
            teller.use_of(saved)
        ),
        None => "The model and the bills do not fit together: nothing was scaled".to_owned(),
    };
    let tone = if calibration.house.is_some() { Tone::Answer } else { Tone::Hold };
    let mut block = Block::new(tone, title);
    let loss = &calibration.house_loss_btu_h_f;
    let ends = loss.interval.map_or_else(String::new, |(low, high)| {
        format!(", between {} and {}", grouped(low * factor, 0), grouped(high * factor, 0))
    });
    block.line(
        "Whole house loses",
        format!("{}{ends} {unit}, by the bills", grouped(loss.value * factor, 0)),
    );
    block.line(
        "Walls as modelled",
        format!(
            "{} {unit}, {} of it",
            grouped(calibration.walls_loss_btu_h_f * factor, 0),
            percent(calibration.walls_share)
        ),
    );
    block.line(
        "Heating use",
        format!("{} a year, by the bills", teller.ranged(calibration.heating_fuel)),
    );
    let days = |value: f64| {
        let sign = match units {
            UnitSystem::Ip => "°F·day",
            UnitSystem::Si => "K·day",
        };
        format!("{} {sign}", grouped(teller.difference(value), 0))
    };
    block.line(
        "Degree-days",
        format!(
            "{} at the bills' change point of {}; the house file has {}",
            days(calibration.degree_days_f),
            teller.temperature(fit.params.heating_change_f),
            days(calibration.house_degree_days_f)
        ),
    );
    block.line(
        "Saving as modelled",
        format!(
            "{} a year by the house file, {} of the billed heating",
            teller.use_of(calibration.modelled_fuel_saved),
            percent(calibration.modelled_share)
        ),
    );
    if let Some(factor) = calibration.factor {
        block.line("Factor", format!("{} on the modelled saving", grouped(factor, 3)));
    }
    block.line(
        "",
        "The model knows only the surfaces to be filled, so its use cannot be laid beside the billed \
         use; what is compared is the loss, the degree-days and the saving.",
    );
    let mut blocks = vec![block];
    blocks.extend(findings("Found in the comparison", &calibration.findings));
    blocks
}

/// What a proof says to the owner, in plain words.
pub fn owner_sentence(proof: &Proof) -> String {
    let teller = Teller::new(&proof.before, UnitSystem::Ip);
    let unit = proof.before.fuel.row().unit;
    let saved = proof.saved.value;
    let spans = proof.saved.interval.is_some_and(|(low, high)| low <= 0.0 && high >= 0.0);
    if proof.findings.iter().any(|finding| finding.weight == Weight::Refuse) {
        return "The bills cannot tell what the work has saved: they, or the weather beside them, \
                are not fit for it."
            .to_owned();
    }
    let mut text = if spans {
        let (low, high) = proof.saved.interval.unwrap_or((saved, saved));
        format!(
            "The bills cannot tell the saving from none: in a usual year it may lie anywhere \
             between {} and {} {} ({})",
            amount(low),
            amount(high),
            plural(unit),
            teller.chances()
        )
    } else if saved > 0.0 {
        format!(
            "By the meter, a usual year now takes about {} less than before, or {} of what it took{}",
            teller.use_of(saved),
            format_args!("{} %", grouped(100.0 * proof.saved_share.value, 0)),
            proof.saved.interval.map_or_else(String::new, |(low, high)| format!(
                "; the true figure lies between {} and {} ({})",
                amount(low),
                amount(high),
                teller.chances()
            ))
        )
    } else {
        format!(
            "By the meter, a usual year now takes about {} more than before",
            teller.use_of(-saved)
        )
    };
    if let (Some(promise), Some(realised)) = (proof.promised, proof.realised) {
        let _ = write!(
            text,
            ". Promised were {}, between {} and {}",
            teller.use_of(promise.value),
            amount(promise.low),
            amount(promise.high)
        );
        if !spans && saved > 0.0 {
            let _ = write!(text, "; {} % of it came", grouped(100.0 * realised.value, 0));
        }
    }
    text.push('.');
    text
}

/// A proof in words.
pub fn proof_blocks(proof: &Proof, units: UnitSystem) -> Vec<Block> {
    let teller = Teller::new(&proof.before, units);
    let refused = proof.findings.iter().any(|finding| finding.weight == Weight::Refuse);
    let title = if refused {
        "The bills cannot tell what was saved".to_owned()
    } else {
        format!("Saved in a usual year: {}", teller.ranged(proof.saved))
    };
    let mut block = Block::new(if refused { Tone::Hold } else { Tone::Answer }, title);
    block.line("In plain words", owner_sentence(proof));
    block.line("Before", teller.ranged(proof.use_before));
    block.line("After", teller.ranged(proof.use_after));
    block.line("Share saved", whole_percent(proof.saved_share));
    if let Some(heating) = proof.heating_saved {
        block.line("Of heating alone", teller.ranged(heating));
    }
    if let Some(promise) = proof.promised {
        block.line(
            "Promised",
            format!(
                "{}, between {} and {}",
                teller.use_of(promise.value),
                amount(promise.low),
                amount(promise.high)
            ),
        );
    }
    if let Some(realised) = proof.realised {
        block.line("Realised", whole_percent(realised));
    }
    if let Some(group) = &proof.comparison {
        block.line(
            "Houses not treated",
            format!(
                "{}, which use {} of what they used before; that is taken out",
                group.houses,
                whole_percent(group.ratio)
            ),
        );
    }
    block.line(
        "",
        "The intervals hold the errors of the readings; another thermostat or family is not in them.",
    );
    let mut blocks = vec![block];
    for (fit, title) in [(&proof.before, "Bills before"), (&proof.after, "Bills after")] {
        let mut block = Block::new(Tone::Plain, format!("{title}: {}", verdict_words(fit)));
        for finding in &fit.findings {
            block.line("", finding.text.clone());
        }
        if fit.options.form != Form::Straight {
            block.line("Heating begins below", teller.temperature(fit.params.heating_change_f));
        }
        block.line(
            "Each degree colder",
            format!(
                "{} {} a day for each {}",
                amount(teller.slope(fit.params.heating_slope)),
                fit.fuel.row().unit,
                teller.degree()
            ),
        );
        blocks.push(block);
    }
    blocks.extend(findings("Found in the comparison", &proof.findings));
    blocks
}
