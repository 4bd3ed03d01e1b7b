//! Loans and incentives as a house file states them.

use super::{Incentive, LoanRate, LoanTerms, Tier, bounded};
use crate::error::{InputError, Issue, IssueCode, nearest};
use crate::house::{INCENTIVES, LOANS, Raw, beside};

/// A table whose keys are taken out one by one.
struct Table<'r> {
    entries: &'r [(String, Raw)],
    issues: Vec<Issue>,
}

impl<'r> Table<'r> {
    /// The table, its keys checked against those that there are.
    fn new(raw: &'r Raw, known: &[&'static str]) -> Result<Self, Vec<Issue>> {
        let Raw::Table(entries) = raw else {
            let reason = "must be a table of named values";
            return Err(vec![Issue::new(IssueCode::WrongType, "", "", reason)]);
        };
        let mut issues = Vec::new();
        for (place, (key, _)) in entries.iter().enumerate() {
            if entries[..place].iter().any(|(before, _)| before == key) {
                issues.push(Issue::new(IssueCode::GivenTwice, key, "", "given twice"));
            }
            if !known.contains(&key.as_str()) {
                let hint = nearest(key, known.iter().copied())
                    .map(|near| format!("; is {near} meant?"))
                    .unwrap_or_default();
                let reason = format!("must be one of {}{hint}", known.join(", "));
                issues.push(Issue::new(IssueCode::UnknownName, key, "", reason));
            }
        }
        Ok(Self { entries, issues })
    }

    fn get(&self, key: &str) -> Option<&'r Raw> {
        let found = self.entries.iter().find(|(known, _)| known == key).map(|(_, value)| value);
        found.filter(|value| !matches!(value, Raw::Null))
    }

    fn number(&mut self, key: &str) -> Option<f64> {
        match self.get(key)? {
            Raw::Number(number) => Some(*number),
            Raw::Text(text) if text.trim().parse::<f64>().is_ok() => text.trim().parse().ok(),
            Raw::Text(text) => {
                let hint = if text.trim().ends_with('%') { " (write 7 % as 0.07)" } else { "" };
                let reason = format!("is not a number{hint}");
                self.issues.push(Issue::new(IssueCode::NotANumber, key, text.as_str(), reason));
                None
            }
            _ => {
                self.issues.push(Issue::new(IssueCode::WrongType, key, "", "must be a number"));
                None
            }
        }
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole and bounded"
    )]
    fn whole(&mut self, key: &str, low: f64, high: f64) -> Option<u16> {
        let number = self.number(key)?;
        let allowed = format!("whole number, {low} to {high}");
        match bounded(key, number, low, high, &allowed) {
            Ok(number) if number.fract() == 0.0 => Some(number as u16),
            Ok(number) => {
                let reason = format!("allowed is {allowed}");
                self.issues.push(Issue::new(
                    IssueCode::OutOfRange,
                    key,
                    number.to_string(),
                    reason,
                ));
                None
            }
            Err(issue) => {
                self.issues.push(issue);
                None
            }
        }
    }

    fn yes_or_no(&mut self, key: &str) -> bool {
        match self.get(key) {
            None => false,
            Some(Raw::Bool(value)) => *value,
            Some(Raw::Text(text)) if text == "yes" => true,
            Some(Raw::Text(text)) if text == "no" => false,
            Some(_) => {
                let reason = "must be true or false";
                self.issues.push(Issue::new(IssueCode::WrongType, key, "", reason));
                false
            }
        }
    }

    fn text(&mut self, key: &str) -> String {
        match self.get(key) {
            Some(Raw::Text(text)) if (1..=100).contains(&text.trim().chars().count()) => {
                text.trim().to_owned()
            }
            None => {
                let reason = "must be given: 1 to 100 characters";
                self.issues.push(Issue::new(IssueCode::Missing, key, "", reason));
                String::new()
            }
            Some(_) => {
                let reason = "must be text of 1 to 100 characters";
                self.issues.push(Issue::new(IssueCode::NotText, key, "", reason));
                String::new()
            }
        }
    }

    fn done<T>(mut self, made: Result<T, Issue>) -> Result<T, Vec<Issue>> {
        match (made, self.issues.is_empty()) {
            (Ok(made), true) => Ok(made),
            (Ok(_), false) => Err(self.issues),
            (Err(issue), first) => {
                // What follows from a fault that is told already is not told again.
                if first || !self.issues.iter().any(|known| known.field == issue.field) {
                    self.issues.push(issue);
                }
                Err(self.issues)
            }
        }
    }
}

impl LoanTerms {
    /// Reads a loan from a table of named values: `name`, `annual_rate`, `months` or `years`,
    /// `fee`, `fee_share`, `fee_in_loan`, `down_payment`.
    ///
    /// # Errors
    /// Every fault, each under its name.
    pub fn from_raw(raw: &Raw) -> Result<Self, Vec<Issue>> {
        const KNOWN: [&str; 8] = [
            "name",
            "annual_rate",
            "months",
            "years",
            "fee",
            "fee_share",
            "fee_in_loan",
            "down_payment",
        ];
        let mut table = Table::new(raw, &KNOWN)?;
        let name = table.text("name");
        let missing = |key: &str, reason: &str| Issue::new(IssueCode::Missing, key, "", reason);
        let rate = table.number("annual_rate");
        if rate.is_none() && table.get("annual_rate").is_none() {
            table
                .issues
                .push(missing("annual_rate", "must be given: 0 for a loan without interest"));
        }
        let rate = LoanRate::new(rate.unwrap_or(0.0));
        let months = match (table.get("months").is_some(), table.get("years").is_some()) {
            (true, false) => table.whole("months", 1.0, f64::from(super::MOST_MONTHS)),
            (false, true) => table.whole("years", 1.0, 50.0).map(|years| 12 * years),
            (both, _) => {
                let code = if both { IssueCode::GivenTwice } else { IssueCode::Missing };
                let reason = "give months or years, one of them";
                table.issues.push(Issue::new(code, "months", "", reason));
                None
            }
        };
        let mut or_nothing = |key| table.number(key).unwrap_or(0.0);
        let (fee, fee_share) = (or_nothing("fee"), or_nothing("fee_share"));
        let down_payment = or_nothing("down_payment");
        let fee_in_loan = table.yes_or_no("fee_in_loan");
        let made = rate.and_then(|rate| {
            let months = months.unwrap_or(1);
            Self { name, rate, months, fee, fee_share, fee_in_loan, down_payment }.checked()
        });
        table.done(made)
    }
}

impl Incentive {
    /// Reads an incentive from a table of named values: `name`, `amount`, `share` or `tiers` (each
    /// `up_to` and `share`), `cap`, `from_year`, `to_year`, `paid_after_months`.
    ///
    /// # Errors
    /// Every fault, each under its name.
    pub fn from_raw(raw: &Raw) -> Result<Self, Vec<Issue>> {
        const KNOWN: [&str; 8] = [
            "name",
            "amount",
            "share",
            "tiers",
            "cap",
            "from_year",
            "to_year",
            "paid_after_months",
        ];
        let mut table = Table::new(raw, &KNOWN)?;
        let name = table.text("name");
        let amount = table.number("amount");
        let cap = table.number("cap");
        let share = table.number("share");
        let (from_year, to_year) =
            (table.whole("from_year", 1900.0, 2200.0), table.whole("to_year", 1900.0, 2200.0));
        let paid_after_months = table.whole("paid_after_months", 0.0, 120.0).unwrap_or(0);
        let mut tiers: Vec<Tier> =
            share.map(|share| Tier { up_to: None, share }).into_iter().collect();
        match table.get("tiers") {
            None => {}
            Some(_) if share.is_some() => {
                let reason = "give share or tiers, one of them";
                table.issues.push(Issue::new(IssueCode::GivenTwice, "tiers", "", reason));
            }
            Some(Raw::List(items)) => {
                for (place, item) in items.iter().enumerate() {
                    let within = |issue: Issue| issue.within(&format!("tiers[{place}]"));
                    match tier(item) {
                        Ok(tier) => tiers.push(tier),
                        Err(issues) => table.issues.extend(issues.into_iter().map(within)),
                    }
                }
            }
            Some(_) => {
                let reason = "must be a list of tiers";
                table.issues.push(Issue::new(IssueCode::WrongType, "tiers", "", reason));
            }
        }
        if amount.is_none() && tiers.is_empty() && table.issues.is_empty() {
            let reason = "give amount, share or tiers";
            table.issues.push(Issue::new(IssueCode::Missing, "amount", "", reason));
        }
        let amount = amount.unwrap_or(0.0);
        let made = Self { name, amount, tiers, cap, from_year, to_year, paid_after_months };
        table.done(made.checked())
    }
}

fn tier(raw: &Raw) -> Result<Tier, Vec<Issue>> {
    let mut table = Table::new(raw, &["up_to", "share"])?;
    let up_to = table.number("up_to");
    let share = table.number("share");
    let missing = || Issue::new(IssueCode::Missing, "share", "", "must be given: 0 to 1");
    let made = share.map(|share| Tier { up_to, share }).ok_or_else(missing);
    table.done(made)
}

/// The loans that a house document states under `loans`.
///
/// # Errors
/// [`InputError`] with every fault of every loan under its path.
pub fn loans_of(raw: &Raw) -> Result<Vec<LoanTerms>, InputError> {
    beside(raw, LOANS, LoanTerms::from_raw)
}

/// The incentives that a house document states under `incentives`.
///
/// # Errors
/// [`InputError`] with every fault of every incentive under its path.
pub fn incentives_of(raw: &Raw) -> Result<Vec<Incentive>, InputError> {
    beside(raw, INCENTIVES, Incentive::from_raw)
}
