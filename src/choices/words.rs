//! Options in words, for a person at a table. What holds the work comes first; every payback is
//! called modelled and has its range.

use super::{Comparison, Row, Work};
use crate::house::Assessment;
use crate::readiness::Finding;
use crate::words::{
    Block, LOCAL_CODE, REALISED, Tone, amount, cautions, figure, grouped, or_none, sentence, years,
};

/// The comparison as blocks: holds, the answer, each option, what was taken for it.
///
/// `currency` is a label in front of amounts; it converts nothing.
pub fn blocks(comparison: &Comparison, currency: &str) -> Vec<Block> {
    let teller = Teller { comparison, currency };
    let mut blocks: Vec<Block> = teller.holds().into_iter().collect();
    blocks.push(teller.answer());
    blocks.extend(comparison.rows.iter().map(|row| teller.option(row)));
    blocks.extend(teller.assumptions());
    blocks.push(cautions());
    blocks
}

/// The options as columns: their names, then each figure with its label and a cell for each option.
pub fn side_by_side(
    comparison: &Comparison,
    currency: &str,
) -> (Vec<String>, Vec<(String, Vec<String>)>) {
    let teller = Teller { comparison, currency };
    let rows = &comparison.rows;
    let named = |(place, row): (usize, &Row)| format!("{}. {}", place + 1, row.choice.name);
    let names = rows.iter().enumerate().map(named).collect();
    let life = comparison.house.offer().life_years;
    let line = |label: String, cell: &dyn Fn(&Row) -> String| {
        (label, rows.iter().map(cell).collect::<Vec<_>>())
    };
    let money = |value: f64| teller.money(value);
    let filled = |row: &Row, cell: &dyn Fn(&Row) -> String| {
        if row.choice.work == Work::Nothing { "–".to_owned() } else { cell(row) }
    };
    let step = |row: &Row, cell: &dyn Fn(&super::Step) -> String| {
        row.step.as_ref().map_or("–".to_owned(), cell)
    };
    let table = vec![
        line("may be done".to_owned(), &may_be_done),
        line("price".to_owned(), &|row| money(row.choice.house.offer().installed_cost)),
        line("net cost".to_owned(), &|row| money(row.assessment.net_cost)),
        line("saved a year".to_owned(), &|row| money(row.assessment.annual_savings)),
        line("heat still costs a year".to_owned(), &|row| money(row.running_cost)),
        line(format!("and over {life} years"), &|row| money(row.lifetime_running_cost)),
        line(format!("all costs, {life} years, today's worth"), &|row| money(row.life_cycle_cost)),
        line("payback, modelled".to_owned(), &|row| filled(row, &|row| payback(&row.assessment))),
        line("likely payback".to_owned(), &|row| filled(row, &range)),
        line("net present value".to_owned(), &|row| money(row.assessment.npv)),
        line("savings to investment".to_owned(), &|row| {
            or_none(row.assessment.sir, |sir| figure(sir, 2))
        }),
        line("carbon over the life".to_owned(), &|row| {
            format!("{} t", grouped(row.assessment.lifetime_co2e_kg / 1000.0, 1))
        }),
        line("bags".to_owned(), &|row| filled(row, &|row| grouped(row.assessment.bags, 0))),
        line("a step over".to_owned(), &|row| {
            step(row, &|step| format!("option {}", step.over + 1))
        }),
        line("  costs more".to_owned(), &|row| step(row, &|step| money(step.net_cost))),
        line("  saves more a year".to_owned(), &|row| {
            step(row, &|step| money(step.annual_savings))
        }),
        line("  its payback, modelled".to_owned(), &|row| {
            step(row, &|step| or_none(step.simple_payback_years, years))
        }),
        line("  its savings to investment".to_owned(), &|row| {
            step(row, &|step| or_none(step.sir, |sir| figure(sir, 2)))
        }),
        line("waiting a year costs".to_owned(), &|row| {
            filled(row, &|row| money(row.cost_of_waiting))
        }),
    ];
    (names, table)
}

struct Teller<'c> {
    comparison: &'c Comparison,
    currency: &'c str,
}

impl Teller<'_> {
    fn money(&self, value: f64) -> String {
        amount(value, self.currency)
    }

    fn name(&self, place: usize) -> String {
        self.comparison.rows.get(place).map(|row| row.choice.name.clone()).unwrap_or_default()
    }

    fn holds(&self) -> Option<Block> {
        let mut found: Vec<(Finding, Vec<&str>)> = Vec::new();
        for row in &self.comparison.rows {
            for finding in &row.ruled_out {
                match found.iter_mut().find(|(known, _)| known == finding) {
                    Some((_, names)) => names.push(&row.choice.name),
                    None => found.push((*finding, vec![&row.choice.name])),
                }
            }
        }
        if found.is_empty() {
            return None;
        }
        found.sort_by_key(|(finding, _)| *finding);
        let mut block = Block::new(Tone::Hold, "HOLD: this work must not start");
        for (finding, names) in found {
            let def = finding.def();
            let source = def.citation.map(|c| format!(" [{c}]")).unwrap_or_default();
            block.line("", format!("{}{source}", sentence(def.reason)));
            block.line("Rules out", names.join("; "));
            block.line("May be cleared by", def.cleared_by);
        }
        block.line("", "The figures below hold only once this is cleared; what clearing it costs is in none of them, unless an option says so.");
        block.line("", LOCAL_CODE);
        Some(block)
    }

    fn answer(&self) -> Block {
        let c = self.comparison;
        let life = c.house.offer().life_years;
        let best = c.rows.get(c.best);
        let name = best.map_or("", |row| row.choice.name.as_str());
        let title = format!("Least cost over {life} years of what may be done: {name} (modelled)");
        let mut block = Block::new(Tone::Answer, title);
        let idle = &c.idle;
        block.line(
            "Doing nothing",
            format!(
                "costs about {} a year at today's prices for the heat that these surfaces lose, {} \
                 over {life} years",
                self.money(idle.annual_cost),
                self.money(idle.lifetime_cost)
            ),
        );
        if let Some(row) = best.filter(|row| row.choice.work != Work::Nothing) {
            block.line(
                name,
                format!(
                    "costs {} once and leaves {} a year: in all {} less at today's worth than \
                     doing nothing",
                    self.money(row.assessment.net_cost),
                    self.money(row.running_cost),
                    self.money(row.assessment.npv)
                ),
            );
            block.line(
                "Payback",
                format!("modelled {}, likely {}", payback(&row.assessment), range(row)),
            );
            block.line("Waiting a year", self.waiting(row));
        }
        block.line("", REALISED);
        block
    }

    fn waiting(&self, row: &Row) -> String {
        if row.cost_of_waiting >= 0.0 {
            format!(
                "costs {}: the first year's saving, less what the money earns meanwhile; a price \
                 that rises or a programme that ends comes on top",
                self.money(row.cost_of_waiting)
            )
        } else {
            format!(
                "brings {}: the money earns more meanwhile than the work would save",
                self.money(-row.cost_of_waiting)
            )
        }
    }

    fn option(&self, row: &Row) -> Block {
        let a = &row.assessment;
        let choice = &row.choice;
        let nothing = choice.work == Work::Nothing;
        let life = self.comparison.house.offer().life_years;
        let hold = if row.ruled_out.is_empty() { "" } else { ", on HOLD" };
        let title = format!("{}{hold}, modelled", choice.name);
        let mut block = Block::new(Tone::Plain, title);
        let extra = choice.repair_cost + choice.removal_cost;
        if !nothing {
            let price = self.money(choice.house.offer().installed_cost);
            let parts = format!(
                ": the fill {}, drilling and making good {}, taking the batt out {}",
                self.money(choice.fill_cost),
                self.money(choice.repair_cost),
                self.money(choice.removal_cost)
            );
            block.line("Price", if extra == 0.0 { price } else { price + &parts });
            block.line("Net cost", self.money(a.net_cost));
            block.line("Saved a year", self.money(a.annual_savings));
        }
        block.line(
            "Heat still costs",
            format!(
                "{} a year, {} over {life} years",
                self.money(row.running_cost),
                self.money(row.lifetime_running_cost)
            ),
        );
        block.line("All costs, at today's worth", self.money(row.life_cycle_cost));
        if !nothing {
            block.line("Payback", format!("{}, likely {}", payback(a), range(row)));
            block.line("Net present value", self.money(a.npv));
            block.line("Savings to investment", or_none(a.sir, |sir| figure(sir, 2)));
            block.line("Waiting a year", self.waiting(row));
        }
        if let Some(by) = row.outdone_by {
            block.line("Outdone", format!("{} costs no more and saves no less", self.name(by)));
        }
        if let Some(step) = &row.step {
            let worth = match (step.simple_payback_years, step.sir) {
                (Some(payback), Some(sir)) => format!(
                    "the step alone pays back in {} and returns {} for each 1 spent",
                    years(payback),
                    figure(sir, 2)
                ),
                (Some(payback), None) => format!("the step alone pays back in {}", years(payback)),
                (None, _) => "the step alone never pays back".to_owned(),
            };
            block.line(
                format!("Over “{}”", self.name(step.over)),
                format!(
                    "{} more to pay, {} more saved a year: {worth}",
                    self.money(step.net_cost),
                    self.money(step.annual_savings)
                ),
            );
        }
        if nothing {
            block.line(
                "",
                "Doing nothing leaves wiring, water and whatever else is in the wall as it is.",
            );
        }
        block
    }

    fn assumptions(&self) -> Option<Block> {
        let mut block =
            Block::new(Tone::Plain, "Taken because nothing was said; a quote takes its place");
        for row in &self.comparison.rows {
            for assumption in &row.choice.assumptions {
                let money =
                    assumption.amount.map(|a| format!("{}, ", self.money(a))).unwrap_or_default();
                let text = format!("{money}{} [{}]", assumption.what, assumption.citation);
                block.line(row.choice.name.clone(), text);
            }
        }
        (!block.lines.is_empty()).then_some(block)
    }
}

fn may_be_done(row: &Row) -> String {
    match (row.choice.work, row.ruled_out.is_empty()) {
        (Work::Nothing, _) => "yes".to_owned(),
        (_, false) => "HOLD: not now".to_owned(),
        (_, true) => row.assessment.readiness().as_str().to_owned(),
    }
}

fn payback(a: &Assessment) -> String {
    match a.simple_payback_years {
        Some(0.0) => "at once".to_owned(),
        other => or_none(other, years),
    }
}

/// Longer paybacks are all the same to a reader.
const LONG: f64 = 200.0;

fn range(row: &Row) -> String {
    match row.payback_range {
        Some((short, Some(long))) if long < LONG => {
            format!("{} to {}", grouped(short, 1), years(long))
        }
        Some((short, Some(long))) => format!("{} to {}", years(short), years(long)),
        Some((short, None)) => format!("{} to never", years(short)),
        None => "none".to_owned(),
    }
}
