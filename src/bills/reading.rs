//! Dated readings: from what a bill prints to periods that can be fitted.

use super::finding::Finding;
use super::unit::fuel_units_in;
use crate::error::{InputError, Issue, IssueCode};
use crate::house::Fuel;
use chrono::{Days, NaiveDate};

/// More readings than this are not the bills of a house.
const MOST_READINGS: usize = 20_000;
/// A bill spans no more days than this.
const MOST_DAYS: i64 = 800;
/// No house uses more in a day than this, in any unit.
const MOST_USE: f64 = 1e12;

/// One line of the bills.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The day of the reading that begins the period; its own use belongs to the period.
    pub start: NaiveDate,
    /// The day of the reading that ends the period; its own use belongs to the next one.
    pub end: NaiveDate,
    /// What was used, in `unit`.
    pub amount: f64,
    /// A word for the unit; `None` is the unit that the fuel is sold in.
    pub unit: Option<String>,
    /// Whether the meter was estimated at the end of the period and not read.
    pub estimated: bool,
}

/// A stretch between two actual readings of the meter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Period {
    /// Its first day.
    pub start: NaiveDate,
    /// The day after its last.
    pub end: NaiveDate,
    /// Use in the fuel's own unit.
    pub amount: f64,
}

impl Period {
    /// Days in the period.
    pub fn days(&self) -> i64 {
        self.end.signed_duration_since(self.start).num_days()
    }
}

/// The periods of one meter in order, and what was found on the way to them.
#[derive(Clone, Debug, PartialEq)]
pub struct Meter {
    /// The fuel that it measures.
    pub fuel: Fuel,
    /// Periods that do not overlap, the first first; never empty.
    pub periods: Vec<Period>,
    /// What was mended or left out.
    pub findings: Vec<Finding>,
}

impl Meter {
    /// Checks readings and makes periods of them: in order of time, in the fuel's own unit, every
    /// estimated reading merged with the next actual one.
    ///
    /// # Errors
    /// [`InputError`] with every fault: a period of no or too many days, a use that is no number,
    /// a unit that does not measure this fuel, periods that overlap, a negative use that no merging
    /// explains, and nothing left to fit.
    pub fn new(fuel: Fuel, readings: &[Reading]) -> Result<Self, InputError> {
        let mut issues = Vec::new();
        if readings.len() > MOST_READINGS {
            let reason = format!("at most {MOST_READINGS} readings of one meter");
            return Err(issue(IssueCode::OutOfRange, "readings", readings.len(), reason).into());
        }
        let mut findings = Vec::new();
        let mut rows = Vec::with_capacity(readings.len());
        for (place, reading) in readings.iter().enumerate() {
            match checked(fuel, place, reading) {
                Ok(row) => rows.push(row),
                Err(faults) => issues.extend(faults),
            }
        }
        in_order(&mut rows, &mut findings);
        unit_changes(fuel, readings, &mut findings);
        ends_included(&mut rows, &mut findings);
        for pair in rows.windows(2) {
            let [one, next] = pair else { continue };
            if next.period.start < one.period.end {
                let same = one.period == next.period;
                let reason = if same {
                    format!("the same as readings[{}]: taken once too often", one.place)
                } else {
                    format!(
                        "begins before readings[{}] ends on {}: periods may not overlap",
                        one.place, one.period.end
                    )
                };
                let field = format!("readings[{}].start", next.place);
                issues.push(issue(IssueCode::Conflict, &field, next.period.start, reason));
            }
        }
        if !issues.is_empty() {
            return Err(InputError { issues });
        }
        let periods = merged(&rows, &mut findings, &mut issues);
        if issues.is_empty() && periods.is_empty() {
            let reason = "no period between two actual readings is left".to_owned();
            issues.push(issue(IssueCode::Missing, "readings", "", reason));
        }
        if !issues.is_empty() {
            return Err(InputError { issues });
        }
        Ok(Self { fuel, periods, findings })
    }
}

/// A reading that is in order by itself, in the fuel's unit.
#[derive(Clone, Copy, Debug)]
struct Row {
    place: usize,
    period: Period,
    estimated: bool,
}

fn issue(code: IssueCode, field: &str, value: impl std::fmt::Display, reason: String) -> Issue {
    Issue::new(code, field, value.to_string(), reason)
}

fn checked(fuel: Fuel, place: usize, reading: &Reading) -> Result<Row, Vec<Issue>> {
    let at = |name: &str| format!("readings[{place}].{name}");
    let mut issues = Vec::new();
    let days = reading.end.signed_duration_since(reading.start).num_days();
    if days <= 0 {
        let reason = if days == 0 {
            format!("a period of no days: it began on {} too", reading.start)
        } else {
            format!("before the period begins, on {}", reading.start)
        };
        issues.push(issue(IssueCode::OutOfRange, &at("end"), reading.end, reason));
    } else if days > MOST_DAYS {
        let reason = format!("a period of {days} days: allowed is up to {MOST_DAYS}");
        issues.push(issue(IssueCode::OutOfRange, &at("end"), reading.end, reason));
    }
    let factor = match reading.unit.as_deref() {
        None => 1.0,
        Some(unit) => fuel_units_in(unit, fuel).unwrap_or_else(|reason| {
            issues.push(issue(IssueCode::NotAChoice, &at("unit"), unit, reason));
            1.0
        }),
    };
    if !reading.amount.is_finite() {
        let reason = "is not a number".to_owned();
        issues.push(issue(IssueCode::NotANumber, &at("use"), reading.amount, reason));
    } else if reading.amount.abs() > MOST_USE {
        let reason = format!("allowed is up to {MOST_USE:e}");
        issues.push(issue(IssueCode::OutOfRange, &at("use"), reading.amount, reason));
    }
    if !issues.is_empty() {
        return Err(issues);
    }
    let amount = reading.amount * factor;
    let period = Period { start: reading.start, end: reading.end, amount };
    Ok(Row { place, period, estimated: reading.estimated })
}

fn in_order(rows: &mut [Row], findings: &mut Vec<Finding>) {
    let key = |row: &Row| (row.period.start, row.period.end);
    if !rows.is_sorted_by_key(key) {
        rows.sort_by_key(key);
        findings
            .push(Finding::note("sorted", "The readings were not in order of time; they are now."));
    }
}

fn unit_changes(fuel: Fuel, readings: &[Reading], findings: &mut Vec<Finding>) {
    let words = |reading: &Reading| match reading.unit.as_deref() {
        None => fuel.row().unit.to_ascii_lowercase(),
        Some(unit) => unit.trim().trim_end_matches(['s', 'S']).to_ascii_lowercase(),
    };
    for (place, pair) in readings.windows(2).enumerate() {
        let [one, next] = pair else { continue };
        if words(one) != words(next) {
            let text = format!(
                "The unit changes from {} to {} at readings[{}], on {}; all of it was brought to {}.",
                words(one),
                words(next),
                place + 1,
                next.start,
                fuel.row().unit
            );
            findings.push(Finding::note("unit_changed", text));
        }
    }
}

/// Where every period ends the day before the next one begins, the last day was meant to belong to
/// the period.
fn ends_included(rows: &mut [Row], findings: &mut Vec<Finding>) {
    let gap = |pair: &[Row]| match pair {
        [one, next] => next.period.start.signed_duration_since(one.period.end).num_days(),
        _ => 0,
    };
    if rows.len() < 3 || rows.windows(2).any(|pair| gap(pair) != 1) {
        return;
    }
    for row in rows {
        row.period.end = row.period.end.checked_add_days(Days::new(1)).unwrap_or(row.period.end);
    }
    let text = "Every period ends the day before the next begins: the last day was taken into it.";
    findings.push(Finding::note("ends_included", text));
}

/// Joins every run of estimated readings with the actual one that follows without a gap.
fn merged(rows: &[Row], findings: &mut Vec<Finding>, issues: &mut Vec<Issue>) -> Vec<Period> {
    let mut periods: Vec<Period> = Vec::with_capacity(rows.len());
    let mut open: Option<(Period, usize, bool)> = None;
    let drop_open = |open: &mut Option<(Period, usize, bool)>, findings: &mut Vec<Finding>| {
        if let Some((period, count, _)) = open.take() {
            let text = format!(
                "{count} estimated {} from {} to {} with no actual reading after: left out.",
                if count == 1 { "reading" } else { "readings" },
                period.start,
                period.end
            );
            findings.push(Finding::note("estimated_left_out", text));
        }
    };
    for row in rows {
        let before = open.as_ref().map(|(period, ..)| period.end);
        let before = before.or_else(|| periods.last().map(|period| period.end));
        if let Some(end) = before
            && row.period.start > end
        {
            drop_open(&mut open, findings);
            let days = row.period.start.signed_duration_since(end).num_days();
            let text = format!(
                "No reading covers the {days} {} from {end} to {}.",
                if days == 1 { "day" } else { "days" },
                row.period.start
            );
            findings.push(Finding::note("gap", text));
        }
        let (mut period, count, credit) = match open.take() {
            Some((period, count, credit)) => (
                Period {
                    start: period.start,
                    end: row.period.end,
                    amount: period.amount + row.period.amount,
                },
                count,
                credit || row.period.amount < 0.0,
            ),
            None => (row.period, 0, row.period.amount < 0.0),
        };
        if row.estimated {
            open = Some((period, count + 1, credit));
            continue;
        }
        if period.amount < 0.0 {
            let reason = if count == 0 {
                "negative use: a credit needs the estimated readings that it corrects, marked as \
                 such, before it; a meter that runs backwards cannot be fitted"
                    .to_owned()
            } else {
                format!("with the {count} estimated readings before it, the use is still negative")
            };
            let field = format!("readings[{}].use", row.place);
            issues.push(issue(IssueCode::OutOfRange, &field, row.period.amount, reason));
            period.amount = 0.0;
        }
        if count > 0 {
            let credit = if credit { ", a credit among them" } else { "" };
            let text = format!(
                "{count} estimated {} merged with the actual one of {}{credit}: one period of {} days.",
                if count == 1 { "reading was" } else { "readings were" },
                period.end,
                period.days()
            );
            findings.push(Finding::note("estimated_merged", text));
        }
        periods.push(period);
    }
    drop_open(&mut open, findings);
    periods
}
