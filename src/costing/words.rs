//! The build-up in words.

use super::{BuildUp, Line, Part, Used};
use crate::house::Assessment;
use crate::jobsheet::days_words;
use crate::readiness::Readiness;
use crate::words::{Block, Tone, decimals, figure, grouped, percent, sentence, years};

impl BuildUp {
    /// The price and its parts in words. `currency` is a label in front of amounts.
    pub fn account(&self, currency: &str) -> Vec<Block> {
        let amount = |value: f64| format!("{currency}{}", grouped(value, decimals(value)));
        let mut blocks = Vec::new();
        if self.at_quote.readiness() == Readiness::Hold {
            let mut block = Block::new(Tone::Hold, "HOLD: the work must not start");
            let text = "Something holds the work; the walk says what, and who may clear it. Clearing it \
                        is not in this price.";
            block.line("", text);
            blocks.push(block);
        }
        let title = format!("Price built up: {}", amount(self.installed_cost));
        let mut block = Block::new(Tone::Answer, title);
        for part in Part::ALL {
            block.line(name(part), amount(self.part(part)));
        }
        block.line("Price", amount(self.installed_cost));
        let quoted = match self.quoted {
            None => "nothing yet".to_owned(),
            Some(quoted) if self.installed_cost > 0.0 => {
                let share = quoted / self.installed_cost - 1.0;
                let word = if share < 0.0 { "below" } else { "above" };
                format!("{}, {} {word} it", amount(quoted), percent(share.abs()))
            }
            Some(quoted) => amount(quoted),
        };
        block.line("Quoted", quoted);
        let payback = |assessment: &Assessment| {
            let years = match assessment.simple_payback_years {
                Some(0.0) => "at once".to_owned(),
                Some(payback) => years(payback),
                None => "none".to_owned(),
            };
            format!("{years} (modelled, not measured; the assessment has its range)")
        };
        if self.quoted.is_some() {
            block.line("Payback, as quoted", payback(&self.at_quote));
        }
        if let Some(assessment) = &self.at_build_up {
            block.line("Payback, built up", payback(assessment));
        }
        blocks.push(block);
        blocks.push(self.counted(&amount));
        let mut block = Block::new(Tone::Check, "To look at");
        for finding in &self.findings {
            block.line("", sentence(finding.words()));
        }
        if !block.lines.is_empty() {
            blocks.push(block);
        }
        blocks
    }

    fn counted(&self, amount: &dyn Fn(f64) -> String) -> Block {
        let mut block = Block::new(Tone::Plain, "What is counted");
        block.line("Days of the crew", days_words(&self.days));
        for line in &self.lines {
            let Line { what, quantity, unit, rate, amount: sum, .. } = line;
            let text = format!(
                "{} {unit} at {}{} = {}",
                figure(*quantity, 1),
                amount(rate.value),
                told(*rate),
                amount(*sum)
            );
            block.line(format!("{}: {what}", name(line.part)), text);
        }
        let [overhead, margin] = self.shares;
        block.line(
            name(Part::Overhead),
            format!("{} of {}{}", percent(overhead.value), amount(self.direct), told(overhead)),
        );
        block.line(
            name(Part::Margin),
            format!("{} of the price{}", percent(margin.value), told(margin)),
        );
        block.line(
            "",
            "Every rate is your own but where it says otherwise; the crew takes the middle of its days.",
        );
        block
    }
}

/// Says that a rate was not given.
fn told(rate: Used) -> String {
    rate.default.map_or(String::new(), |mark| format!(" [by default: {mark}]"))
}

const fn name(part: Part) -> &'static str {
    match part {
        Part::Labour => "Labour",
        Part::Material => "Material",
        Part::AccessAndRepair => "Access and repair",
        Part::Fixed => "Fixed",
        Part::Overhead => "Overhead",
        Part::Margin => "Margin",
    }
}
