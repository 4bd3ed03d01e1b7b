//! Summaries and selections in words and figures, for a person to read.

use super::selection::{Chosen, Selection};
use super::summary::{Figures, Key, QUANTILES, Summary, Sums};
use crate::words::{Tone, grouped};

/// A titled part of a report: a small table, and sentences below it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// How it is to be taken.
    pub tone: Tone,
    /// Its title.
    pub title: String,
    /// The heads of the columns, and whether a column holds figures; heads may be all empty.
    pub columns: Vec<(String, bool)>,
    /// The rows, with a cell for each column.
    pub rows: Vec<Vec<String>>,
    /// Sentences.
    pub notes: Vec<String>,
}

impl Part {
    fn new(tone: Tone, title: impl Into<String>, columns: &[(&str, bool)]) -> Self {
        Self {
            tone,
            title: title.into(),
            columns: columns.iter().map(|(head, figures)| ((*head).to_owned(), *figures)).collect(),
            rows: Vec::new(),
            notes: Vec::new(),
        }
    }

    fn row<const N: usize>(&mut self, cells: [&str; N]) {
        self.rows.push(cells.map(str::to_owned).to_vec());
    }

    /// Whether its columns have heads.
    pub fn has_heads(&self) -> bool {
        self.columns.iter().any(|(head, _)| !head.is_empty())
    }
}

/// A report as plain text: columns in line, nothing wider than its content.
pub fn text(parts: &[Part]) -> String {
    let parts: Vec<String> = parts.iter().map(part_text).collect();
    parts.join("\n\n")
}

fn part_text(part: &Part) -> String {
    let heads: Vec<String> = part.columns.iter().map(|(head, _)| head.clone()).collect();
    let lines: Vec<&Vec<String>> =
        part.has_heads().then_some(&heads).into_iter().chain(&part.rows).collect();
    let length = |cell: &str| cell.chars().count();
    let width = |column: usize| {
        lines.iter().map(|line| line.get(column).map_or(0, |cell| length(cell))).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..part.columns.len()).map(width).collect();
    let mut out = part.title.clone();
    for line in lines {
        let cells = line.iter().zip(&part.columns).zip(&widths).map(|((cell, (_, figures)), w)| {
            let blank = " ".repeat(w - length(cell));
            if *figures { format!("{blank}{cell}") } else { format!("{cell}{blank}") }
        });
        let line = cells.collect::<Vec<_>>().join("  ");
        out.push_str("\n  ");
        out.push_str(line.trim_end());
    }
    for note in &part.notes {
        out.push_str("\n  ");
        out.push_str(note);
    }
    out
}

/// Groups that a report prints, at most; the table has them all.
const MOST_GROUPS: usize = 100;

fn count(number: u64) -> String {
    #[expect(clippy::cast_precision_loss, reason = "a count of rows, for reading")]
    grouped(number as f64, 0)
}

#[expect(clippy::cast_precision_loss, reason = "counts of rows, for reading")]
fn share(part: u64, whole: u64) -> String {
    if whole == 0 {
        return String::new();
    }
    format!("{} %", grouped(100.0 * part as f64 / whole as f64, 1))
}

fn houses(number: u64) -> String {
    format!("{} {}", count(number), if number == 1 { "house" } else { "houses" })
}

/// An amount in whole units; what is no figure is none.
fn amount(currency: &str, value: f64) -> String {
    if !value.is_finite() {
        return "none".to_owned();
    }
    let text = grouped(value, 0);
    match text.strip_prefix('−') {
        Some(text) => format!("−{currency}{text}"),
        None => format!("{currency}{text}"),
    }
}

fn figure(value: Option<f64>, decimals: usize) -> String {
    value.filter(|value| value.is_finite()).map_or("none".to_owned(), |v| grouped(v, decimals))
}

/// Text of a table without what would garble a terminal or a column.
fn printable(text: &str) -> String {
    const MOST: usize = 40;
    let mut out: String = text
        .chars()
        .take(MOST)
        .map(|letter| if letter.is_control() { '\u{fffd}' } else { letter })
        .collect();
    if text.chars().count() > MOST {
        out.push('…');
    }
    out
}

impl Summary {
    /// The summary for a person to read, the holds first. `currency` is a label in front of
    /// amounts; it converts nothing.
    pub fn report(&self, currency: &str) -> Vec<Part> {
        let total = self.total();
        let mut parts = Vec::new();
        parts.extend(self.held(&total));
        parts.push(counted(&total));
        parts.push(sums(&total, currency));
        parts.push(paybacks(&total));
        parts.extend(self.rejected(&total));
        if let Some(name) = self.by() {
            parts.push(self.grouped_by(name, currency));
        }
        parts
    }

    fn held(&self, total: &Figures) -> Option<Part> {
        if total.hold == 0 {
            return None;
        }
        let title = format!(
            "{} of {} scored houses are on hold: no fibre until each hold is cleared",
            count(total.hold),
            count(total.scored.houses)
        );
        let mut part = Part::new(Tone::Hold, title, &[("", false), ("", true)]);
        let holds = self.holds();
        for (finding, number) in &holds {
            part.row([finding.code(), &count(*number)]);
        }
        if holds.iter().map(|(_, number)| number).sum::<u64>() > total.hold {
            part.notes.push("A house may have several.".to_owned());
        }
        Some(part)
    }

    fn rejected(&self, total: &Figures) -> Option<Part> {
        if total.rejected == 0 {
            return None;
        }
        let title =
            format!("{} could not be scored: the first fault of each row", count(total.rejected));
        let columns = [("field", false), ("fault", false), ("rows", true)];
        let mut part = Part::new(Tone::Check, title, &columns);
        for (reason, number) in self.reasons() {
            let field = if reason.field.is_empty() { "-" } else { &reason.field };
            let code = match (reason.code, reason.field.is_empty()) {
                ("", true) => "no reason in the table",
                ("", false) => "other",
                (code, _) => code,
            };
            part.row([&printable(field), code, &count(number)]);
        }
        Some(part)
    }

    fn grouped_by(&self, name: &str, currency: &str) -> Part {
        let name = printable(name);
        let columns = [
            (name.as_str(), false),
            ("scored", true),
            ("rejected", true),
            ("hold", true),
            ("check", true),
            ("clear", true),
            ("net cost", true),
            ("saved a year", true),
            ("t CO2e", true),
            ("P10", true),
            ("median", true),
            ("P90", true),
        ];
        let title = format!("By {name}; payback in years, modelled");
        let mut part = Part::new(Tone::Plain, title, &columns);
        let groups = self.groups();
        for (key, figures) in groups.iter().take(MOST_GROUPS) {
            let [p10, _, median, _, p90] = figures.payback_years.map(|years| figure(years, 1));
            let key = match key {
                Key::Text(text) => printable(text),
                other => other.to_string(),
            };
            part.row([
                &key,
                &count(figures.scored.houses),
                &count(figures.rejected),
                &count(figures.hold),
                &count(figures.check),
                &count(figures.clear),
                &amount(currency, figures.scored.net_cost),
                &amount(currency, figures.scored.annual_savings),
                &figure(Some(figures.scored.lifetime_co2e_t), 0),
                &p10,
                &median,
                &p90,
            ]);
        }
        if groups.len() > MOST_GROUPS {
            let more = count((groups.len() - MOST_GROUPS) as u64);
            part.notes.push(format!("And {more} more; the table has them all."));
        }
        part
    }
}

fn counted(total: &Figures) -> Part {
    let scored = total.scored.houses;
    let columns = [("", false), ("", true), ("", false)];
    let mut part = Part::new(Tone::Answer, format!("{} read", houses(total.read)), &columns);
    let mut row = |label: &str, number: u64, whole: u64, of: &str| {
        let of = match share(number, whole) {
            share if share.is_empty() => share,
            share => format!("{share} of {of}"),
        };
        part.row([label, &count(number), &of]);
    };
    row("scored", scored, total.read, "those read");
    row("could not be scored", total.rejected, total.read, "those read");
    row("hold: the work must not start", total.hold, scored, "those scored");
    row("check: someone must look first", total.check, scored, "those scored");
    row("clear, by the answers given", total.clear, scored, "those scored");
    part
}

fn sums(total: &Figures, currency: &str) -> Part {
    let columns = [("", false), ("all scored", true), ("on hold", true), ("not on hold", true)];
    let title = "Money and carbon, modelled, not measured, in today's prices";
    let mut part = Part::new(Tone::Plain, title, &columns);
    let money = |value: f64| amount(currency, value);
    let plain = |value: f64| figure(Some(value), 0);
    let mut row = |label: &str, of: fn(&Sums) -> f64, text: &dyn Fn(f64) -> String| {
        let (all, held) = (of(&total.scored), of(&total.on_hold));
        part.row([label, &text(all), &text(held), &text(all - held)]);
    };
    row("net cost, after rebates and tax credits", |sums| sums.net_cost, &money);
    row("saved in the first year", |sums| sums.annual_savings, &money);
    row("saved over the lives, not discounted", |sums| sums.lifetime_savings, &money);
    row("tonnes CO2e avoided over the lives", |sums| sums.lifetime_co2e_t, &plain);
    row("bags of fibre", |sums| sums.bags, &plain);
    if total.incomplete > 0 {
        let lacking = houses(total.incomplete);
        part.notes
            .push(format!("{lacking} without one of these figures in the table: it adds nothing."));
    }
    part
}

fn paybacks(total: &Figures) -> Part {
    let title = format!(
        "Simple payback in years, modelled, not measured, of the {} that have one",
        houses(total.with_payback)
    );
    let heads = QUANTILES.map(|percent| match percent {
        50 => "median".to_owned(),
        _ => format!("P{percent}"),
    });
    let columns: Vec<(&str, bool)> = heads.iter().map(|head| (head.as_str(), true)).collect();
    let mut part = Part::new(Tone::Answer, title, &columns);
    part.rows.push(total.payback_years.map(|years| figure(years, 1)).to_vec());
    if total.without_payback > 0 {
        part.notes.push(format!(
            "No payback: {}, where the fill saves nothing.",
            houses(total.without_payback)
        ));
    }
    let doubt = "The spread is between houses; the doubt about each comes on top.";
    part.notes.push(doubt.to_owned());
    part
}

/// Why the list is as it is; every report says so.
const GREEDY: [&str; 2] = [
    "Taken in the order of rank; a house that costs more than is left is passed over. So each choice",
    "can be told by its rank and the money left, but another list might use the money up better.",
];

impl Selection {
    /// The list for a person to read, with the first so many houses. `currency` is a label in front
    /// of amounts; it converts nothing.
    pub fn report(&self, currency: &str, most: usize) -> Vec<Part> {
        let mut parts = vec![self.outcome(currency)];
        parts.extend(self.look_first());
        parts.push(self.list(currency, most));
        parts.extend(self.reasons());
        parts
    }

    fn outcome(&self, currency: &str) -> Part {
        let total = self.total();
        let title = format!(
            "{} for {} of {}; {} left",
            houses(total.houses),
            amount(currency, total.net_cost),
            amount(currency, self.budget()),
            amount(currency, total.left)
        );
        let mut part = Part::new(Tone::Answer, title, &[("", false), ("", true)]);
        part.row(["saved in the first year, modelled", &amount(currency, total.annual_savings)]);
        part.row([
            "saved over the lives, not discounted, modelled",
            &amount(currency, total.lifetime_savings),
        ]);
        part.row([
            "tonnes CO2e avoided over the lives, modelled",
            &figure(Some(total.lifetime_co2e_t), 0),
        ]);
        if total.below_one > 0 {
            part.row([
                "houses that do not return their cost (SIR under 1)",
                &count(total.below_one),
            ]);
        }
        if total.repeated_ids > 0 {
            part.row([
                "rows of the table whose house_id stood before: one house twice?",
                &count(total.repeated_ids),
            ]);
        }
        part.notes.push(format!("Ranked by {}.", self.by().words()));
        part.notes.extend(GREEDY.map(str::to_owned));
        part
    }

    fn look_first(&self) -> Option<Part> {
        let number = self.total().look_first;
        let title = format!(
            "{} on the list must be looked at before the work starts; each is marked check",
            houses(number)
        );
        (number > 0).then(|| Part::new(Tone::Check, title, &[]))
    }

    fn list(&self, currency: &str, most: usize) -> Part {
        let columns = [
            ("rank", true),
            ("house_id", false),
            ("readiness", false),
            ("net cost", true),
            ("running cost", true),
            ("saved a year", true),
            ("SIR", true),
            ("cost per tonne", true),
        ];
        let mut part = Part::new(Tone::Plain, "The list", &columns);
        for chosen in self.chosen().iter().take(most) {
            let Chosen { rank, row, net_cost, running_cost, look_first, .. } = chosen;
            let id = self.house_id(*row).map_or_else(|| format!("row {row}"), printable);
            part.row([
                &count(*rank),
                &id,
                if *look_first { "check" } else { "clear" },
                &amount(currency, *net_cost),
                &amount(currency, *running_cost),
                &amount(currency, chosen.annual_savings),
                &figure(chosen.sir, 2),
                &chosen.cost_per_tonne.map_or("none".to_owned(), |cost| amount(currency, cost)),
            ]);
        }
        if self.chosen().len() > most {
            let more = count((self.chosen().len() - most) as u64);
            part.notes.push(format!("And {more} more; the table has them all."));
        }
        if self.chosen().is_empty() {
            part.notes.push("No house.".to_owned());
        }
        part
    }

    fn reasons(&self) -> Option<Part> {
        let counts = self.counts();
        if counts.is_empty() {
            return None;
        }
        let title = format!("{} left out", houses(self.left_out().len() as u64));
        let mut part = Part::new(Tone::Plain, title, &[("", false), ("", false), ("", true)]);
        for (reason, number) in counts {
            part.row([reason.code(), reason.words(), &count(number)]);
        }
        Some(part)
    }
}
