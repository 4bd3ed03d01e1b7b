//! Paying for it: a loan with its fees, a programme loan without interest, incentives with tiers,
//! caps and years, and the cash of each year.
//!
//! Rates that count inflation and rates that do not are different types ([`NominalRate`],
//! [`RealRate`]): one becomes the other only through [`Inflation`], by Fisher's equation. A loan is
//! paid in the money of its day, the savings of [`assess`](crate::house::assess) are in constant
//! money: [`pay_for`] brings the savings to the money of their day and then compares.

mod incentive;
mod loan;
mod plan;
mod rate;
#[cfg(feature = "house-file")]
mod read;
pub(crate) mod words;

pub use incentive::{Incentive, MOST_TIERS, Tier};
pub use loan::{Installment, Loan, LoanTerms, MOST_MONTHS};
pub use plan::{Circumstances, FirstYear, Funding, Paid, YearOfCash, pay_for};
pub use rate::{Inflation, LoanRate, NominalRate, RealRate};
#[cfg(feature = "house-file")]
pub use read::{incentives_of, loans_of};
pub use words::blocks;

use crate::error::{Issue, IssueCode};

/// No amount of money is larger in any currency.
const MOST_MONEY: f64 = 1e15;

/// A number that must lie in a range.
fn bounded(name: &str, value: f64, low: f64, high: f64, allowed: &str) -> Result<f64, Issue> {
    if value.is_finite() && (low..=high).contains(&value) {
        return Ok(value);
    }
    let code = if value.is_finite() { IssueCode::OutOfRange } else { IssueCode::NotANumber };
    Err(Issue::new(code, name, value.to_string(), format!("allowed is {allowed}")))
}

fn amount(name: &str, value: f64) -> Result<f64, Issue> {
    bounded(name, value, 0.0, MOST_MONEY, "0 or more")
}

fn share(name: &str, value: f64) -> Result<f64, Issue> {
    bounded(name, value, 0.0, 1.0, "0 to 1")
}
