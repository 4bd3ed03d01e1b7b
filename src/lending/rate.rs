//! Rates that cannot be mistaken for one another.

use super::bounded;
use crate::error::Issue;
use crate::house::House;
use crate::tables::INFLATION_DEFAULT;

macro_rules! rate {
    ($(#[$doc:meta])* $name:ident, $field:literal, $low:literal, $high:literal, $allowed:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// From a share a year: 0.05 is 5 %.
            ///
            /// # Errors
            /// An [`Issue`] for a number that is not finite or out of range.
            pub fn new(share: f64) -> Result<Self, Issue> {
                bounded($field, share, $low, $high, $allowed).map(Self)
            }

            /// The share a year.
            pub const fn share(self) -> f64 {
                self.0
            }
        }
    };
}

rate!(
    /// A rate in the money of the day, inflation in it: what a bank pays or asks over a whole year.
    ///
    /// It cannot stand where a real rate is wanted:
    /// ```compile_fail
    /// use studbay::lending::{NominalRate, RealRate};
    /// let nominal = NominalRate::new(0.05).unwrap();
    /// let real: RealRate = nominal;
    /// ```
    NominalRate, "nominal_rate", -0.9, 2.0, "-0.9 to 2, as a share a year"
);
rate!(
    /// A rate in constant money, without inflation: that of [`Offer::discount_rate`].
    ///
    /// [`Offer::discount_rate`]: crate::house::Offer::discount_rate
    RealRate, "real_rate", -0.9, 2.0, "-0.9 to 2, as a share a year"
);
rate!(
    /// How fast prices in general rise.
    Inflation, "inflation", -0.5, 1.0, "-0.5 to 1, as a share a year"
);
rate!(
    /// The yearly rate of a loan as it is quoted: twelve times that of a month.
    LoanRate, "annual_rate", 0.0, 1.0, "0 to 1, as a share a year: 0.07 is 7 %"
);

impl Inflation {
    /// What is taken where nothing is said: the longer-run goal of the Federal Reserve, 2 % (seen).
    /// A goal and no forecast.
    pub const fn usual() -> Self {
        Self(INFLATION_DEFAULT.value)
    }
}

impl NominalRate {
    /// The same without inflation.
    ///
    /// # Formula
    /// `(1 + nominal)/(1 + inflation) − 1`, Fisher's equation.
    ///
    /// # Source
    /// `fisher_1930`: Fisher, The Theory of Interest (seen quoted).
    pub fn real(self, inflation: Inflation) -> RealRate {
        RealRate((1.0 + self.0) / (1.0 + inflation.0) - 1.0)
    }

    /// The worth today of 1 after so many months.
    pub(super) fn worth_after(self, months: f64) -> f64 {
        libm::pow(1.0 + self.0, -months / 12.0)
    }
}

impl RealRate {
    /// The same with inflation in it.
    ///
    /// # Formula
    /// `(1 + real)(1 + inflation) − 1`, Fisher's equation.
    ///
    /// # Examples
    /// ```
    /// use studbay::lending::{Inflation, RealRate};
    /// let nominal = RealRate::new(0.03)?.nominal(Inflation::new(0.02)?);
    /// assert!((nominal.share() - 0.0506).abs() < 1e-15);
    /// # Ok::<(), studbay::error::Issue>(())
    /// ```
    pub fn nominal(self, inflation: Inflation) -> NominalRate {
        NominalRate((1.0 + self.0) * (1.0 + inflation.0) - 1.0)
    }

    /// The discount rate of a house, which is real.
    pub fn of_house(house: &House) -> Self {
        Self(house.offer().discount_rate)
    }
}

impl LoanRate {
    /// The rate of a month.
    ///
    /// # Source
    /// `reg_z_appendix_j`, 12 CFR 1026 appendix J (b)(1): the annual rate is that of the unit period times their number
    /// in a year (seen).
    pub fn monthly(self) -> f64 {
        self.0 / 12.0
    }

    /// What it comes to over a whole year, month on month.
    pub fn effective(self) -> NominalRate {
        let mut grown = 1.0;
        for _ in 0..12 {
            grown *= 1.0 + self.monthly();
        }
        NominalRate(grown - 1.0)
    }
}
