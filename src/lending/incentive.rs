//! Money from a programme: tiers, caps, and the years in which it is to be had.

use super::{amount, share};
use crate::error::{Issue, IssueCode};

/// Tiers that one incentive may have.
pub const MOST_TIERS: usize = 20;
/// Months after which an incentive may still be paid.
const MOST_MONTHS: u16 = 120;

/// A share of the part of the price that lies above the tier before and up to an amount.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tier {
    /// Up to this much of the price; `None` for the rest of it.
    pub up_to: Option<f64>,
    /// Share that is paid of this part.
    pub share: f64,
}

/// An incentive beside the rebate and the tax credit of the house.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Incentive {
    /// What it is called.
    pub name: String,
    /// A fixed amount.
    pub amount: f64,
    /// Shares of the price, from the lowest tier up.
    pub tiers: Vec<Tier>,
    /// The most that it can be.
    pub cap: Option<f64>,
    /// First calendar year of work that it is paid for.
    pub from_year: Option<u16>,
    /// Last calendar year.
    pub to_year: Option<u16>,
    /// Months after signing at which the money is there; 0 takes it off the price at once.
    pub paid_after_months: u16,
}

impl Incentive {
    /// The same once everything in it can be.
    ///
    /// # Errors
    /// An [`Issue`] that names the first value that cannot.
    pub fn checked(self) -> Result<Self, Issue> {
        let fault = |field: &str, value: String, reason: &str| {
            Err(Issue::new(IssueCode::OutOfRange, field, value, reason))
        };
        amount("amount", self.amount)?;
        if let Some(cap) = self.cap {
            amount("cap", cap)?;
        }
        if self.tiers.len() > MOST_TIERS {
            let reason = format!("an incentive has at most {MOST_TIERS} tiers");
            return fault("tiers", format!("{} tiers", self.tiers.len()), &reason);
        }
        let mut before = 0.0;
        for (place, tier) in self.tiers.iter().enumerate() {
            let within = |issue: Issue| issue.within(&format!("tiers[{place}]"));
            share("share", tier.share).map_err(within)?;
            match tier.up_to {
                Some(up_to) => {
                    amount("up_to", up_to).map_err(within)?;
                    if up_to <= before {
                        let reason = "must be above that of the tier before";
                        return fault("up_to", up_to.to_string(), reason).map_err(within);
                    }
                    before = up_to;
                }
                None if place + 1 < self.tiers.len() => {
                    let reason = "must be given for every tier but the last";
                    return Err(within(Issue::new(IssueCode::Missing, "up_to", "", reason)));
                }
                None => {}
            }
        }
        if let (Some(from), Some(to)) = (self.from_year, self.to_year)
            && from > to
        {
            return fault("to_year", to.to_string(), "must not be before from_year");
        }
        for (field, year) in [("from_year", self.from_year), ("to_year", self.to_year)] {
            if let Some(year) = year.filter(|year| !(1900..=2200).contains(year)) {
                return fault(field, year.to_string(), "allowed is whole number, 1900 to 2200");
            }
        }
        if self.paid_after_months > MOST_MONTHS {
            let reason = format!("allowed is whole number, 0 to {MOST_MONTHS}");
            return fault("paid_after_months", self.paid_after_months.to_string(), &reason);
        }
        Ok(self)
    }

    /// Whether it depends on the year of the work.
    pub fn has_years(&self) -> bool {
        self.from_year.is_some() || self.to_year.is_some()
    }

    /// Whether it is paid for work of this calendar year.
    pub fn holds_in(&self, year: u16) -> bool {
        self.from_year.is_none_or(|from| from <= year) && self.to_year.is_none_or(|to| year <= to)
    }

    /// What it comes to for a price: each tier's share of its part of the price, and the fixed
    /// amount; at most the cap, and at most the price.
    pub fn of(&self, price: f64) -> f64 {
        let (mut sum, mut before) = (self.amount, 0.0);
        for tier in &self.tiers {
            let end = tier.up_to.unwrap_or(f64::INFINITY).min(price);
            sum += tier.share * (end - before).max(0.0);
            before = tier.up_to.unwrap_or(f64::INFINITY);
        }
        sum.min(self.cap.unwrap_or(f64::INFINITY)).min(price)
    }
}
