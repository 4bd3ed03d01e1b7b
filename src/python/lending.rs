//! Rates, loans and ways to pay.

use super::account::{Block, html};
use super::errors::{input_error, unreadable};
use super::house::House;
use super::keywords::list;
use crate::error::Issue;
use crate::house::{Raw, beside};
use crate::lending::{
    self, Circumstances, Incentive, LoanTerms, blocks, incentives_of, loans_of, pay_for,
};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList, PyTuple};

fn one(issue: Issue) -> PyErr {
    input_error(issue.into())
}

macro_rules! rate {
    ($(#[$doc:meta])* $name:ident, $python:literal) => {
        $(#[$doc])*
        #[pyclass(frozen, eq, module = "studbay.lending", name = $python)]
        #[derive(Clone, Copy, PartialEq)]
        pub(crate) struct $name(lending::$name);

        impl $name {
            fn shown(self) -> String {
                format!("{}({})", $python, self.0.share())
            }
        }
    };
}

rate!(
    /// A yearly rate in the money of the day, inflation in it, as a share: 0.05 is 5 %.
    ///
    /// It is not a `RealRate` and cannot stand in its place; `real` makes one of it.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For a share outside -0.9 to 2.
    NominalRate, "NominalRate"
);
rate!(
    /// A yearly rate in constant money, without inflation, as a share: that of `discount_rate`.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For a share outside -0.9 to 2.
    RealRate, "RealRate"
);
rate!(
    /// How fast prices in general rise, as a share a year.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For a share outside -0.5 to 1.
    Inflation, "Inflation"
);
rate!(
    /// The yearly rate of a loan as it is quoted: twelve times that of a month.
    ///
    /// Raises:
    ///     studbay.errors.InputError: For a share outside 0 to 1.
    LoanRate, "LoanRate"
);

#[pymethods]
impl NominalRate {
    #[new]
    fn new(share: f64) -> PyResult<Self> {
        lending::NominalRate::new(share).map(Self).map_err(one)
    }

    /// The share a year.
    #[getter]
    fn share(&self) -> f64 {
        self.0.share()
    }

    /// The same without inflation, by Fisher's equation.
    ///
    /// Args:
    ///     inflation: How fast prices rise.
    ///
    /// Returns:
    ///     `(1 + nominal) / (1 + inflation) - 1`.
    fn real(&self, inflation: &Inflation) -> RealRate {
        RealRate(self.0.real(inflation.0))
    }

    fn __repr__(&self) -> String {
        self.shown()
    }
}

#[pymethods]
impl RealRate {
    #[new]
    fn new(share: f64) -> PyResult<Self> {
        lending::RealRate::new(share).map(Self).map_err(one)
    }

    /// The share a year.
    #[getter]
    fn share(&self) -> f64 {
        self.0.share()
    }

    /// The same with inflation in it, by Fisher's equation.
    ///
    /// Args:
    ///     inflation: How fast prices rise.
    ///
    /// Returns:
    ///     `(1 + real) * (1 + inflation) - 1`.
    fn nominal(&self, inflation: &Inflation) -> NominalRate {
        NominalRate(self.0.nominal(inflation.0))
    }

    fn __repr__(&self) -> String {
        self.shown()
    }
}

#[pymethods]
impl Inflation {
    #[new]
    #[pyo3(signature = (share = None))]
    fn new(share: Option<f64>) -> PyResult<Self> {
        let inflation = share.map(lending::Inflation::new).transpose().map_err(one)?;
        Ok(Self(inflation.unwrap_or_else(lending::Inflation::usual)))
    }

    /// The share a year.
    #[getter]
    fn share(&self) -> f64 {
        self.0.share()
    }

    fn __repr__(&self) -> String {
        self.shown()
    }
}

#[pymethods]
impl LoanRate {
    #[new]
    fn new(share: f64) -> PyResult<Self> {
        lending::LoanRate::new(share).map(Self).map_err(one)
    }

    /// The share a year, as quoted.
    #[getter]
    fn share(&self) -> f64 {
        self.0.share()
    }

    /// The rate of a month.
    #[getter]
    fn monthly(&self) -> f64 {
        self.0.monthly()
    }

    /// What it comes to over a whole year, month on month.
    ///
    /// Returns:
    ///     `(1 + share / 12) ** 12 - 1`, a nominal rate.
    fn effective(&self) -> NominalRate {
        NominalRate(self.0.effective())
    }

    fn __repr__(&self) -> String {
        self.shown()
    }
}

/// A loan over an amount, paid back in equal months.
#[pyclass(frozen, eq, module = "studbay.lending", name = "Loan")]
#[derive(PartialEq)]
pub(crate) struct Loan(lending::Loan);

#[pymethods]
impl Loan {
    /// What it pays for.
    #[getter]
    fn amount(&self) -> f64 {
        self.0.amount
    }

    /// All fees.
    #[getter]
    fn fees(&self) -> f64 {
        self.0.fees
    }

    /// The part of the fees that is paid at signing.
    #[getter]
    fn fee_at_signing(&self) -> f64 {
        self.0.fee_at_signing
    }

    /// What is owed at the start.
    #[getter]
    fn borrowed(&self) -> f64 {
        self.0.borrowed
    }

    /// The yearly rate as quoted.
    #[getter]
    fn rate(&self) -> LoanRate {
        LoanRate(self.0.rate)
    }

    /// Months in which it is paid back.
    #[getter]
    fn months(&self) -> u16 {
        self.0.months
    }

    /// Paid at the end of each month.
    #[getter]
    fn payment(&self) -> f64 {
        self.0.payment
    }

    /// All that is paid for the loan, fees at signing included.
    #[getter]
    fn total_paid(&self) -> f64 {
        self.0.total_paid()
    }

    /// All that is paid beyond the amount.
    #[getter]
    fn cost_of_credit(&self) -> f64 {
        self.0.cost_of_credit()
    }

    /// The yearly rate with every fee in it.
    ///
    /// `None` where nothing is lent, or fees eat all of it. The lender's own disclosure governs.
    #[getter]
    fn rate_with_fees(&self) -> Option<LoanRate> {
        self.0.rate_with_fees().map(LoanRate)
    }

    /// The loan month by month, as columns.
    ///
    /// Returns:
    ///     Lists of one length: `month`, `payment`, `interest`, `principal`, `balance`.
    fn schedule<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let months = self.0.schedule();
        let dict = PyDict::new(py);
        dict.set_item("month", months.iter().map(|m| m.month).collect::<Vec<_>>())?;
        dict.set_item("payment", months.iter().map(|m| m.payment).collect::<Vec<_>>())?;
        dict.set_item("interest", months.iter().map(|m| m.interest).collect::<Vec<_>>())?;
        dict.set_item("principal", months.iter().map(|m| m.principal).collect::<Vec<_>>())?;
        dict.set_item("balance", months.iter().map(|m| m.balance).collect::<Vec<_>>())?;
        Ok(dict)
    }

    fn __repr__(&self) -> String {
        format!(
            "<Loan {:.2} over {} months: {:.2} a month>",
            self.0.borrowed, self.0.months, self.0.payment
        )
    }
}

/// A loan over an amount.
///
/// Args:
///     amount: What it pays for, 0 or more.
///     annual_rate: The yearly rate as quoted, 0 for a programme loan without interest.
///     months: Whole number, 1 to 600.
///     fee: Fee, whatever the amount.
///     fee_share: Fee as a share of the amount.
///     fee_in_loan: Whether the fees are added to the loan, and not paid at signing.
///
/// Returns:
///     The loan, with its payment and schedule.
///
/// Raises:
///     studbay.errors.InputError: For a number out of range.
#[pyfunction]
#[pyo3(signature = (amount, annual_rate, months, *, fee = 0.0, fee_share = 0.0, fee_in_loan = false))]
pub(crate) fn lend(
    amount: f64,
    annual_rate: &LoanRate,
    months: i64,
    fee: f64,
    fee_share: f64,
    fee_in_loan: bool,
) -> PyResult<Loan> {
    let months = u16::try_from(months.clamp(0, i64::from(u16::MAX))).unwrap_or(u16::MAX);
    let terms = LoanTerms {
        name: String::new(),
        rate: annual_rate.0,
        months,
        fee,
        fee_share,
        fee_in_loan,
        down_payment: 0.0,
    };
    terms.checked().and_then(|terms| terms.lend(amount)).map(Loan).map_err(one)
}

/// How a house pays for its fill, and what that does to its cash. Modelled, not measured.
#[pyclass(frozen, module = "studbay.lending", name = "Funding")]
pub(crate) struct Funding {
    funding: lending::Funding,
    house_id: String,
}

#[pymethods]
impl Funding {
    /// The way to pay.
    #[getter]
    fn name(&self) -> &str {
        &self.funding.name
    }

    /// The price of the job.
    #[getter]
    fn price(&self) -> f64 {
        self.funding.price
    }

    /// Name, amount and month of each incentive, 0 for signing.
    ///
    /// The rebate and the tax credit of the house are among them.
    #[getter]
    fn incentives<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        let paid = self.funding.incentives.iter();
        PyTuple::new(py, paid.map(|p| (p.name.clone(), p.amount, p.month)))
    }

    /// Incentives that do not hold in the year of the work.
    #[getter]
    fn not_in_force<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, &self.funding.not_in_force)
    }

    /// Paid at signing, fees included.
    #[getter]
    fn at_signing(&self) -> f64 {
        self.funding.at_signing
    }

    /// The loan; `None` where all is paid at signing.
    #[getter]
    fn loan(&self) -> Option<Loan> {
        self.funding.loan.clone().map(Loan)
    }

    /// Saved in a month of the first year, on even bills and at today's prices.
    #[getter]
    fn monthly_savings(&self) -> f64 {
        self.funding.monthly_savings
    }

    /// Paid on the loan in a month.
    #[getter]
    fn monthly_payment(&self) -> f64 {
        self.funding.monthly_payment
    }

    /// Whether a month of the first year saves at least what the loan takes.
    #[getter]
    fn covers_payment(&self) -> bool {
        self.funding.covers_payment
    }

    /// Whether it does so with nothing paid at signing.
    #[getter]
    fn cash_positive_from_month_1(&self) -> bool {
        self.funding.cash_positive_from_month_1
    }

    /// Savings, payments, incentives and what is left, of the first twelve months.
    #[getter]
    fn first_year<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let first = self.funding.first_year;
        let dict = PyDict::new(py);
        dict.set_item("savings", first.savings)?;
        dict.set_item("payments", first.payments)?;
        dict.set_item("incentives", first.incentives)?;
        dict.set_item("net", first.net)?;
        Ok(dict)
    }

    /// Net present value of this way to pay, at the house's discount rate made nominal.
    #[getter]
    fn npv(&self) -> f64 {
        self.funding.npv
    }

    /// The house's discount rate with inflation in it.
    #[getter]
    fn discount_rate(&self) -> NominalRate {
        NominalRate(self.funding.discount_rate)
    }

    /// Inflation that was taken.
    #[getter]
    fn inflation(&self) -> Inflation {
        Inflation(self.funding.inflation)
    }

    /// What of the incentives would be gone for work a year later.
    ///
    /// `None` where the year of the work is not given.
    #[getter]
    fn lost_by_waiting(&self) -> Option<f64> {
        self.funding.lost_by_waiting
    }

    /// Signing, then each year, in the money of its day, as columns.
    ///
    /// Returns:
    ///     Lists of one length: `year` (0 is signing), `savings`, `payments`, `incentives`, `net`,
    ///     `cumulative`, and `cumulative_real` in the money of today.
    fn years<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let years = &self.funding.years;
        let dict = PyDict::new(py);
        let column = |get: fn(&lending::YearOfCash) -> f64| years.iter().map(get).collect();
        let (savings, payments): (Vec<f64>, Vec<f64>) =
            (column(|y| y.savings), column(|y| y.payments));
        let (incentives, net): (Vec<f64>, Vec<f64>) = (column(|y| y.incentives), column(|y| y.net));
        let (cumulative, real): (Vec<f64>, Vec<f64>) =
            (column(|y| y.cumulative), column(|y| y.cumulative_real));
        dict.set_item("year", years.iter().map(|y| u32::from(y.year)).collect::<Vec<_>>())?;
        dict.set_item("savings", savings)?;
        dict.set_item("payments", payments)?;
        dict.set_item("incentives", incentives)?;
        dict.set_item("net", net)?;
        dict.set_item("cumulative", cumulative)?;
        dict.set_item("cumulative_real", real)?;
        Ok(dict)
    }

    /// The way to pay as a dict.
    ///
    /// Returns:
    ///     Its attributes under their names, the loan as a dict of its own, `years` as columns.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let f = &self.funding;
        let dict = PyDict::new(py);
        dict.set_item("house_id", &self.house_id)?;
        dict.set_item("name", &f.name)?;
        dict.set_item("price", f.price)?;
        dict.set_item("incentives", self.incentives(py)?)?;
        dict.set_item("not_in_force", &f.not_in_force)?;
        dict.set_item("at_signing", f.at_signing)?;
        let loan = f.loan.as_ref().map(|loan| {
            let dict = PyDict::new(py);
            dict.set_item("amount", loan.amount)?;
            dict.set_item("fees", loan.fees)?;
            dict.set_item("borrowed", loan.borrowed)?;
            dict.set_item("annual_rate", loan.rate.share())?;
            dict.set_item("rate_with_fees", loan.rate_with_fees().map(lending::LoanRate::share))?;
            dict.set_item("months", loan.months)?;
            dict.set_item("payment", loan.payment)?;
            dict.set_item("total_paid", loan.total_paid())?;
            PyResult::Ok(dict)
        });
        dict.set_item("loan", loan.transpose()?)?;
        dict.set_item("monthly_savings", f.monthly_savings)?;
        dict.set_item("monthly_payment", f.monthly_payment)?;
        dict.set_item("covers_payment", f.covers_payment)?;
        dict.set_item("cash_positive_from_month_1", f.cash_positive_from_month_1)?;
        dict.set_item("first_year", self.first_year(py)?)?;
        dict.set_item("npv", f.npv)?;
        dict.set_item("nominal_discount_rate", f.discount_rate.share())?;
        dict.set_item("inflation", f.inflation.share())?;
        dict.set_item("lost_by_waiting", f.lost_by_waiting)?;
        dict.set_item("readiness", f.assessment.readiness().as_str())?;
        dict.set_item("years", self.years(py)?)?;
        Ok(dict)
    }

    /// The way to pay in words, for a person to read.
    ///
    /// Args:
    ///     currency: The sign of the user's money.
    ///
    /// Returns:
    ///     Blocks to print one after the other, a hold first.
    #[pyo3(signature = (currency = "$"))]
    fn account(&self, currency: &str) -> Vec<Block> {
        blocks(&self.funding, currency).into_iter().map(Block::from).collect()
    }

    fn __repr__(&self) -> String {
        let word = if self.funding.cash_positive_from_month_1 { "" } else { "not " };
        format!("<Funding {:?}: {word}cash-positive from month 1, modelled>", self.funding.name)
    }

    fn _repr_html_(&self) -> String {
        html(&self.house_id, &self.account("$"))
    }
}

/// The ways to pay for a fill: at once, and with each loan.
///
/// Args:
///     house: The house.
///     loans: A dict for each loan: `name`, `annual_rate` (0 for a programme loan without
///         interest), `months` or `years`, `fee`, `fee_share`, `fee_in_loan`, `down_payment`. Left
///         out, those of the house file.
///     incentives: A dict for each, beside the rebate and the tax credit of the house: `name`,
///         `amount`, `share` or `tiers` (each `up_to` and `share`), `cap`, `from_year`, `to_year`,
///         `paid_after_months`. Left out, those of the house file.
///     inflation: How fast prices rise; the longer-run goal of the Federal Reserve where left out.
///     work_year: Calendar year of the work, needed where an incentive holds in some years only.
///     credit_month: Months after signing at which the house's tax credit is there; 12 where left
///         out.
///
/// Returns:
///     A `Funding` for paying at once, then one for each loan.
///
/// Raises:
///     studbay.errors.InputError: With the faults of every loan and incentive.
#[pyfunction]
#[pyo3(signature = (house, loans = None, incentives = None, *, inflation = None, work_year = None, credit_month = None))]
pub(crate) fn ways_to_pay(
    py: Python<'_>,
    house: &House,
    loans: Option<Bound<'_, PyAny>>,
    incentives: Option<Bound<'_, PyAny>>,
    inflation: Option<&Inflation>,
    work_year: Option<u16>,
    credit_month: Option<u16>,
) -> PyResult<Vec<Funding>> {
    let document = house.document(py)?;
    let loans = match loans {
        Some(loans) => {
            let raw = Raw::Table(vec![("loans".to_owned(), list("loans", &loans)?)]);
            beside(&raw, "loans", LoanTerms::from_raw)
        }
        None => loans_of(&document),
    }
    .map_err(input_error)?;
    let incentives = match incentives {
        Some(incentives) => {
            let list = list("incentives", &incentives)?;
            let raw = Raw::Table(vec![("incentives".to_owned(), list)]);
            beside(&raw, "incentives", Incentive::from_raw)
        }
        None => incentives_of(&document),
    }
    .map_err(input_error)?;
    let usual = Circumstances::default();
    let circumstances = Circumstances {
        inflation: inflation.map_or(usual.inflation, |inflation| inflation.0),
        work_year,
        credit_month: credit_month.unwrap_or(usual.credit_month),
    };
    let house_id = house.house.house_id();
    let ways = std::iter::once(None).chain(loans.iter().map(Some));
    ways.map(|terms| {
        let funding = pay_for(&house.house, terms, &incentives, circumstances);
        let funding = funding.map_err(input_error)?;
        Ok(Funding { funding, house_id: house_id.to_owned() })
    })
    .collect()
}

/// One way to pay for a fill: at once, or with one loan.
///
/// Args:
///     house: The house.
///     loan: A dict as for `ways_to_pay`; left out, all is paid at once.
///     incentives: As for `ways_to_pay`.
///     inflation: As for `ways_to_pay`.
///     work_year: As for `ways_to_pay`.
///     credit_month: As for `ways_to_pay`.
///
/// Returns:
///     What is paid when, and the cash of each year.
///
/// Raises:
///     studbay.errors.InputError: With the faults of the loan and of every incentive.
#[pyfunction(name = "pay_for")]
#[pyo3(signature = (house, loan = None, incentives = None, *, inflation = None, work_year = None, credit_month = None))]
pub(crate) fn pay_for_house(
    py: Python<'_>,
    house: &House,
    loan: Option<Bound<'_, PyAny>>,
    incentives: Option<Bound<'_, PyAny>>,
    inflation: Option<&Inflation>,
    work_year: Option<u16>,
    credit_month: Option<u16>,
) -> PyResult<Funding> {
    let loans = match loan {
        Some(loan) => PyList::new(py, [loan])?,
        None => PyList::empty(py),
    };
    let ways = ways_to_pay(
        py,
        house,
        Some(loans.into_any()),
        incentives,
        inflation,
        work_year,
        credit_month,
    )?;
    // At once, and with the loan where there is one.
    ways.into_iter().last().ok_or_else(|| unreadable("loan", "no way to pay"))
}
