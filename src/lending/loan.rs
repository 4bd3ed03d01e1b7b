//! A loan that is paid back in equal months.

use super::{LoanRate, amount, bounded, share};
use crate::error::Issue;
use crate::money::{internal_rate_of_return, net_present_value};

/// Months that a loan may run.
pub const MOST_MONTHS: u16 = 600;

/// What a lender offers, whatever the amount.
#[derive(Clone, Debug, PartialEq)]
pub struct LoanTerms {
    /// What it is called.
    pub name: String,
    /// The yearly rate as quoted; 0 for a programme loan without interest.
    pub rate: LoanRate,
    /// Months in which it is paid back.
    pub months: u16,
    /// Fee, whatever the amount.
    pub fee: f64,
    /// Fee as a share of the amount.
    pub fee_share: f64,
    /// Whether the fees are added to the loan, and not paid at signing.
    pub fee_in_loan: bool,
    /// Part of the price that is paid at signing.
    pub down_payment: f64,
}

impl LoanTerms {
    /// Terms without fees.
    ///
    /// # Errors
    /// An [`Issue`] for months out of range.
    pub fn new(name: impl Into<String>, rate: LoanRate, months: u16) -> Result<Self, Issue> {
        let terms = Self {
            name: name.into(),
            rate,
            months,
            fee: 0.0,
            fee_share: 0.0,
            fee_in_loan: false,
            down_payment: 0.0,
        };
        terms.checked()
    }

    /// The same once every number is in range.
    ///
    /// # Errors
    /// An [`Issue`] that names the first number that is not.
    pub fn checked(self) -> Result<Self, Issue> {
        let most = f64::from(MOST_MONTHS);
        let allowed = format!("whole number, 1 to {MOST_MONTHS}");
        bounded("months", f64::from(self.months), 1.0, most, &allowed)?;
        amount("fee", self.fee)?;
        share("fee_share", self.fee_share)?;
        amount("down_payment", self.down_payment)?;
        Ok(self)
    }

    /// The loan over an amount.
    ///
    /// # Errors
    /// An [`Issue`] for an amount out of range.
    ///
    /// # Examples
    /// ```
    /// use studbay::lending::{LoanRate, LoanTerms};
    ///
    /// // numpy-financial documentation, pmt: 200,000 at 7.5 % over 15 years.
    /// let loan = LoanTerms::new("bank", LoanRate::new(0.075)?, 180)?.lend(200_000.0)?;
    /// assert!((loan.payment - 1854.024_720_005).abs() < 1e-8);
    /// # Ok::<(), studbay::error::Issue>(())
    /// ```
    pub fn lend(&self, amount: f64) -> Result<Loan, Issue> {
        let amount = super::amount("amount", amount)?;
        let fees = if amount > 0.0 { self.fee + self.fee_share * amount } else { 0.0 };
        let borrowed = if self.fee_in_loan { amount + fees } else { amount };
        let monthly = self.rate.monthly();
        Ok(Loan {
            amount,
            fees,
            fee_at_signing: if self.fee_in_loan { 0.0 } else { fees },
            borrowed,
            rate: self.rate,
            months: self.months,
            payment: borrowed / annuity(monthly, self.months),
        })
    }
}

/// Worth today of 1 at the end of each month: the present value of the money functions.
fn annuity(monthly: f64, months: u16) -> f64 {
    let mut flows = vec![1.0; usize::from(months) + 1];
    flows[0] = 0.0;
    net_present_value(monthly, &flows)
}

/// A loan over an amount, paid back in equal months.
#[derive(Clone, Debug, PartialEq)]
pub struct Loan {
    /// What it pays for.
    pub amount: f64,
    /// All fees.
    pub fees: f64,
    /// The part of the fees that is paid at signing.
    pub fee_at_signing: f64,
    /// What is owed at the start: the amount, and the fees where they are in the loan.
    pub borrowed: f64,
    /// The yearly rate as quoted.
    pub rate: LoanRate,
    /// Months in which it is paid back.
    pub months: u16,
    /// Paid at the end of each month.
    pub payment: f64,
}

/// One month of a loan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Installment {
    /// The month, counted from 1.
    pub month: u16,
    /// Paid.
    pub payment: f64,
    /// Of it, interest.
    pub interest: f64,
    /// Of it, paid back.
    pub principal: f64,
    /// Still owed.
    pub balance: f64,
}

impl Loan {
    /// Month by month, until nothing is owed. The last payment clears what rounding has left.
    pub fn schedule(&self) -> Vec<Installment> {
        let monthly = self.rate.monthly();
        let mut balance = self.borrowed;
        (1..=self.months)
            .map(|month| {
                let interest = balance * monthly;
                let last = month == self.months;
                let principal = if last { balance } else { self.payment - interest };
                let payment = if last { balance + interest } else { self.payment };
                balance = if last { 0.0 } else { balance - principal };
                Installment { month, payment, interest, principal, balance }
            })
            .collect()
    }

    /// All that is paid for the loan over its months, fees at signing included.
    pub fn total_paid(&self) -> f64 {
        self.payment * f64::from(self.months) + self.fee_at_signing
    }

    /// What borrowing costs: all that is paid beyond the amount.
    pub fn cost_of_credit(&self) -> f64 {
        self.total_paid() - self.amount
    }

    /// The yearly rate with every fee in it; `None` where nothing is lent, or fees eat all of it.
    ///
    /// # Formula
    /// Twelve times the monthly rate at which the payments are worth what the borrower has in hand.
    ///
    /// # Source
    /// 12 CFR 1026 appendix J (b)(1) (seen). A lender's own disclosure governs: which charges count
    /// as fees is for the law.
    pub fn rate_with_fees(&self) -> Option<LoanRate> {
        let in_hand = self.amount - self.fee_at_signing;
        if in_hand <= 0.0 {
            return None;
        }
        let mut flows = vec![self.payment; usize::from(self.months) + 1];
        flows[0] = -in_hand;
        // Without interest and fees the rate is 0 but for a rounding.
        let rate = internal_rate_of_return(&flows)? * 12.0;
        LoanRate::new(if rate.abs() < 1e-12 { 0.0 } else { rate }).ok()
    }
}
