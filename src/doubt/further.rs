//! Figures of the draws that may not exist, and that take a search each: worked out when they are
//! first asked for.

use super::quantile::{Band, quantile};
use super::run::Doubt;
use crate::house::{RESULTS, ResultDef, returns};

/// A figure of return on the money, which a draw may not have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Return {
    /// When the discounted savings reach the net cost. A draw in which they do not within its life
    /// is beyond every number.
    DiscountedPayback,
    /// Present value of the savings over the net cost; a draw that costs nothing has none.
    Sir,
    /// The rate at which the savings are just worth the cost; a draw that costs nothing or saves
    /// nothing has none.
    Irr,
}

/// How many they are.
const COUNT: usize = 3;

/// Every figure of return.
pub const RETURNS: [Return; COUNT] = [Return::DiscountedPayback, Return::Sir, Return::Irr];

/// Every draw's figures of return.
pub(super) type Columns = [Vec<f64>; COUNT];

impl Return {
    /// Its name among the results.
    pub const fn name(self) -> &'static str {
        match self {
            Self::DiscountedPayback => "discounted_payback_years",
            Self::Sir => "sir",
            Self::Irr => "irr",
        }
    }

    /// The figure of this name.
    pub fn from_name(name: &str) -> Option<Self> {
        RETURNS.into_iter().find(|figure| figure.name() == name)
    }

    /// Its definition among the results.
    pub fn def(self) -> Option<&'static ResultDef> {
        RESULTS.iter().find(|def| def.ip == self.name())
    }

    /// A figure as it is kept: a discounted payback that does not exist is later than every other.
    fn kept(self, value: f64) -> f64 {
        match self {
            Self::DiscountedPayback if value.is_nan() => f64::INFINITY,
            _ => value,
        }
    }
}

impl Doubt {
    fn columns_of_returns(&self) -> &Columns {
        self.returns.get_or_init(|| {
            let mut columns: Columns = std::array::from_fn(|_| Vec::with_capacity(self.draws()));
            self.each_house(|house| {
                for ((column, figure), value) in columns.iter_mut().zip(RETURNS).zip(returns(house))
                {
                    column.push(figure.kept(value));
                }
            });
            columns
        })
    }

    /// A figure of return in every draw, in their order: a discounted payback that does not exist
    /// is infinite, a ratio or a rate that does not exist is NaN.
    ///
    /// Worked out for all draws when it is first asked for.
    pub fn returns(&self, figure: Return) -> &[f64] {
        &self.columns_of_returns()[figure as usize]
    }

    /// A figure of return of the house as it stands; `None` where it has none.
    pub fn return_point(&self, figure: Return) -> Option<f64> {
        let value = returns(self.house())[figure as usize];
        value.is_finite().then_some(value)
    }

    /// The share of draws in which a figure of return does not exist.
    pub fn share_without(&self, figure: Return) -> f64 {
        let values = self.returns(figure);
        let many = values.iter().filter(|value| !value.is_finite()).count();
        #[expect(clippy::cast_precision_loss, reason = "far fewer than 2^53 draws")]
        let share = many as f64 / values.len() as f64;
        share
    }

    /// The draws that a quantile is taken among.
    fn ranked(&self, figure: Return) -> Vec<f64> {
        self.returns(figure).iter().copied().filter(|value| !value.is_nan()).collect()
    }

    /// The quantile of a figure of return at a share from 0 to 1. Of the discounted payback it is
    /// among all draws, and `None` where it is not reached within the life; of the others it is among
    /// the draws that have the figure, and `None` where no draw has: see
    /// [`share_without`](Self::share_without).
    pub fn return_quantile(&self, figure: Return, share: f64) -> Option<f64> {
        quantile(&mut self.ranked(figure), share)
    }

    /// P10, P50 and P90 of a figure of return, as [`return_quantile`](Self::return_quantile) has
    /// them.
    pub fn return_band(&self, figure: Return) -> Band {
        Band::of(&mut self.ranked(figure))
    }
}
