//! The cash of a house that pays for its fill, month 1 first.

use super::{Incentive, Inflation, Loan, LoanTerms, NominalRate, RealRate, amount, bounded};
use crate::error::{InputError, Issue, IssueCode};
use crate::house::{Assessment, Field, House, assess, money_of};
use crate::tables::CREDIT_MONTH_DEFAULT;

/// What a plan needs beside the house, the loan and the incentives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circumstances {
    /// How fast prices in general rise.
    pub inflation: Inflation,
    /// Calendar year of the work; needed where an incentive holds in some years only.
    pub work_year: Option<u16>,
    /// Months after signing at which the tax credit of the house is there.
    pub credit_month: u16,
}

impl Default for Circumstances {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the table of constants holds a month"
    )]
    fn default() -> Self {
        Self {
            inflation: Inflation::usual(),
            work_year: None,
            credit_month: CREDIT_MONTH_DEFAULT.value as u16,
        }
    }
}

/// Money from a programme, and when.
#[derive(Clone, Debug, PartialEq)]
pub struct Paid {
    /// From what.
    pub name: String,
    /// How much.
    pub amount: f64,
    /// Months after signing; 0 at signing.
    pub month: u16,
}

/// The first twelve months, at today's prices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FirstYear {
    /// Saved on the bills.
    pub savings: f64,
    /// Paid on the loan.
    pub payments: f64,
    /// Incentives that come in after signing.
    pub incentives: f64,
    /// What is left of it: savings and incentives less payments.
    pub net: f64,
}

/// One year of cash, in the money of its day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct YearOfCash {
    /// The year, counted from 1; 0 is signing.
    pub year: u8,
    /// Saved on the bills: the savings of the method in constant money, times inflation.
    pub savings: f64,
    /// Paid: at signing, then on the loan.
    pub payments: f64,
    /// Incentives that come in.
    pub incentives: f64,
    /// Savings and incentives less payments.
    pub net: f64,
    /// The sum of it so far.
    pub cumulative: f64,
    /// The sum so far of each year's net in the money of today.
    pub cumulative_real: f64,
}

/// How a house pays for its fill, and what that does to its cash. Modelled, not measured.
#[derive(Clone, Debug)]
pub struct Funding {
    /// The way to pay.
    pub name: String,
    /// The price of the job.
    pub price: f64,
    /// All incentives, those at signing first; the rebate and tax credit of the house among them.
    pub incentives: Vec<Paid>,
    /// Incentives that do not hold in the year of the work.
    pub not_in_force: Vec<String>,
    /// Paid at signing, fees included.
    pub at_signing: f64,
    /// The loan; `None` where all is paid at signing.
    pub loan: Option<Loan>,
    /// Saved in a month of the first year, on even bills and at today's prices.
    pub monthly_savings: f64,
    /// Paid on the loan in a month.
    pub monthly_payment: f64,
    /// Whether a month of the first year saves at least what the loan takes.
    pub covers_payment: bool,
    /// Whether it does so with nothing paid at signing: cash-positive from month 1.
    pub cash_positive_from_month_1: bool,
    /// The first twelve months.
    pub first_year: FirstYear,
    /// Signing, then each year until the savings end or the loan is paid, whichever is later.
    pub years: Vec<YearOfCash>,
    /// Net present value of this way to pay, at the discount rate of the house made nominal.
    pub npv: f64,
    /// The discount rate of the house with inflation in it.
    pub discount_rate: NominalRate,
    /// Incentives that would be gone for work a year later, what they are worth now; `None` where
    /// the year of the work is not given.
    pub lost_by_waiting: Option<f64>,
    /// Inflation that was taken.
    pub inflation: Inflation,
    /// The figures of the house.
    pub assessment: Assessment,
}

/// Lays a way to pay over a house. Without terms of a loan, all is paid at signing.
///
/// # Errors
/// [`InputError`] where an incentive holds in some years only and the year of the work is not
/// known, where the down payment is more than there is to pay, and for numbers out of range.
pub fn pay_for(
    house: &House,
    terms: Option<&LoanTerms>,
    incentives: &[Incentive],
    circumstances: Circumstances,
) -> Result<Funding, InputError> {
    let Circumstances { inflation, work_year, credit_month } = circumstances;
    bounded("credit_month", f64::from(credit_month), 0.0, 120.0, "whole number, 0 to 120")?;
    if let Some(incentive) = incentives.iter().find(|i| i.has_years() && work_year.is_none()) {
        let reason = format!("must be given: {} holds in some years only", incentive.name);
        return Err(Issue::new(IssueCode::Missing, "work_year", "", reason).into());
    }
    let assessment = assess(house);
    let price = house.offer().installed_cost;
    let (paid, not_in_force) = incentives_of(house, &assessment, incentives, circumstances);
    let at_once: f64 = paid.iter().filter(|p| p.month == 0).map(|p| p.amount).sum();
    let to_pay = (price - at_once).max(0.0);
    let loan = match terms {
        None => None,
        Some(terms) => {
            if amount("down_payment", terms.down_payment)? > to_pay {
                let reason = format!("must not exceed what there is to pay, {to_pay}");
                let value = terms.down_payment.to_string();
                return Err(Issue::new(IssueCode::OutOfRange, "down_payment", value, reason).into());
            }
            Some(terms.lend(to_pay - terms.down_payment)?)
        }
    };
    let at_signing = match (&loan, terms) {
        (Some(loan), Some(terms)) => terms.down_payment + loan.fee_at_signing,
        _ => to_pay,
    };
    let monthly_payment = loan.as_ref().map_or(0.0, |loan| loan.payment);
    let monthly_savings = assessment.annual_savings / 12.0;
    let covers_payment = monthly_savings > 0.0 && monthly_savings >= monthly_payment;
    let payments = payments_by_year(loan.as_ref());
    let incentive_in = |year: u16| -> f64 {
        let of_year = |p: &&Paid| p.month > 0 && (p.month - 1) / 12 + 1 == year;
        // An empty sum would be a minus nothing.
        paid.iter().filter(of_year).map(|p| p.amount).fold(0.0, |sum, amount| sum + amount)
    };
    let first = FirstYear {
        savings: assessment.annual_savings,
        payments: payments.first().copied().unwrap_or(0.0),
        incentives: incentive_in(1),
        net: assessment.annual_savings + incentive_in(1) - payments.first().copied().unwrap_or(0.0),
    };
    let discount_rate = RealRate::of_house(house).nominal(inflation);
    let lost_by_waiting = work_year.map(|year| {
        let later = Circumstances { work_year: Some(year + 1), ..circumstances };
        let (then, _) = incentives_of(house, &assessment, incentives, later);
        let worth = |paid: &[Paid]| -> f64 {
            paid.iter().map(|p| p.amount * discount_rate.worth_after(f64::from(p.month))).sum()
        };
        worth(&paid) - worth(&then)
    });
    let (years, npv) = years(house, &assessment, &payments, &incentive_in, at_signing, inflation);
    let npv = npv
        + paid
            .iter()
            .filter(|p| p.month > 0)
            .map(|p| p.amount * discount_rate.worth_after(f64::from(p.month)))
            .sum::<f64>()
        - loan.iter().flat_map(Loan::schedule).fold(0.0, |sum, month| {
            sum + month.payment * discount_rate.worth_after(f64::from(month.month))
        });
    Ok(Funding {
        name: terms.map_or_else(|| "pay at once".to_owned(), |terms| terms.name.clone()),
        price,
        at_signing,
        monthly_savings,
        monthly_payment,
        covers_payment,
        cash_positive_from_month_1: covers_payment && at_signing <= 0.0,
        first_year: first,
        years,
        npv,
        discount_rate,
        lost_by_waiting,
        inflation,
        incentives: paid,
        not_in_force,
        loan,
        assessment,
    })
}

/// The rebate and tax credit of the house, then each incentive on what those before it leave.
fn incentives_of(
    house: &House,
    assessment: &Assessment,
    incentives: &[Incentive],
    circumstances: Circumstances,
) -> (Vec<Paid>, Vec<String>) {
    let offer = house.offer();
    let credit = offer.installed_cost - offer.rebate - assessment.net_cost;
    let mut paid = vec![
        Paid { name: Field::Rebate.def().ip.to_owned(), amount: offer.rebate, month: 0 },
        Paid { name: "tax_credit".to_owned(), amount: credit, month: circumstances.credit_month },
    ];
    paid.retain(|paid| paid.amount > 0.0);
    let mut left = assessment.net_cost;
    let mut idle = Vec::new();
    for incentive in incentives {
        if circumstances.work_year.is_some_and(|year| !incentive.holds_in(year)) {
            idle.push(incentive.name.clone());
            continue;
        }
        let amount = incentive.of(left);
        left -= amount;
        let (name, month) = (incentive.name.clone(), incentive.paid_after_months);
        paid.push(Paid { name, amount, month });
    }
    paid.sort_by_key(|paid| paid.month);
    (paid, idle)
}

fn payments_by_year(loan: Option<&Loan>) -> Vec<f64> {
    let Some(loan) = loan else { return Vec::new() };
    loan.schedule().chunks(12).map(|year| year.iter().map(|month| month.payment).sum()).collect()
}

/// Signing and each year, in the money of its day; and the worth today of savings less what is paid
/// at signing. The savings of a year are those of the method, at the end of it.
fn years(
    house: &House,
    a: &Assessment,
    payments: &[f64],
    incentive_in: &dyn Fn(u16) -> f64,
    at_signing: f64,
    inflation: Inflation,
) -> (Vec<YearOfCash>, f64) {
    let life = house.offer().life_years;
    let last = usize::from(life).max(payments.len());
    let discount = RealRate::of_house(house).nominal(inflation);
    let begun = 0.0 - at_signing;
    let (mut cumulative, mut cumulative_real, mut npv) = (begun, begun, begun);
    let mut prices = 1.0;
    let mut years = vec![YearOfCash {
        year: 0,
        savings: 0.0,
        payments: at_signing,
        incentives: 0.0,
        net: begun,
        cumulative,
        cumulative_real,
    }];
    for year in 1..=u8::try_from(last).unwrap_or(u8::MAX) {
        prices *= 1.0 + inflation.share();
        let savings = if year <= life {
            let constant = money_of(house, a.fuel_saved, a.electricity_saved_kwh, 0.0, year);
            constant.annual_savings * prices
        } else {
            0.0
        };
        npv += savings * discount.worth_after(12.0 * f64::from(year));
        let payments = payments.get(usize::from(year) - 1).copied().unwrap_or(0.0);
        let incentives = incentive_in(u16::from(year));
        let net = savings + incentives - payments;
        cumulative += net;
        cumulative_real += net / prices;
        years.push(YearOfCash {
            year,
            savings,
            payments,
            incentives,
            net,
            cumulative,
            cumulative_real,
        });
    }
    (years, npv)
}
