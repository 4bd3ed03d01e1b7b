//! The balance point of a house, and what happens to it when the walls are filled.

use super::degree_days::{Count, USUAL_BASE_F, UsualYear};
use super::error::{ClimateError, within};
use super::weather::Weather;
use crate::house::{Assessment, Field, House, assess};
use crate::units::DegreeDays;

/// The whole house as one loss and one gain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WholeHouse {
    indoor_f: f64,
    gains_btu_h: f64,
    loss_btu_h_f: f64,
}

impl WholeHouse {
    /// From the set point, the gains of people, lights, appliances and sun as a mean over the
    /// heating season, and the loss coefficient of the whole house, walls and air.
    ///
    /// # Errors
    /// [`ClimateError::Input`] for a set point outside 40 to 90 °F, gains outside 0 to
    /// 100,000 Btu/h, or a loss coefficient outside 10 to 20,000 Btu/h·°F.
    pub fn new(indoor_f: f64, gains_btu_h: f64, loss_btu_h_f: f64) -> Result<Self, ClimateError> {
        Ok(Self {
            indoor_f: within("indoor_f", indoor_f, 40.0, 90.0, "°F")?,
            gains_btu_h: within("gains_btu_h", gains_btu_h, 0.0, 1e5, "Btu/h")?,
            loss_btu_h_f: within("loss_btu_h_f", loss_btu_h_f, 10.0, 2e4, "Btu/h·°F")?,
        })
    }

    /// From the balance point that bills show (their change point), instead of gains.
    ///
    /// # Errors
    /// As for [`Self::new`], and for a balance point above the set point.
    pub fn from_balance_point(
        indoor_f: f64,
        balance_f: f64,
        loss_btu_h_f: f64,
    ) -> Result<Self, ClimateError> {
        within("indoor_f", indoor_f, 40.0, 90.0, "°F")?;
        within("balance_f", balance_f, -40.0, indoor_f, "°F, the set point at most")?;
        Self::new(indoor_f, (indoor_f - balance_f) * loss_btu_h_f, loss_btu_h_f)
    }

    /// The set point, °F.
    pub const fn indoor_f(&self) -> f64 {
        self.indoor_f
    }

    /// The gains, Btu/h.
    pub const fn gains_btu_h(&self) -> f64 {
        self.gains_btu_h
    }

    /// The loss coefficient, Btu/h·°F.
    pub const fn loss_btu_h_f(&self) -> f64 {
        self.loss_btu_h_f
    }

    /// The outdoor temperature below which the house must be heated, °F.
    ///
    /// # Formula
    /// set point − gains / loss coefficient.
    pub fn balance_point_f(&self) -> f64 {
        self.indoor_f - self.gains_btu_h / self.loss_btu_h_f
    }

    /// The same house with a loss coefficient that is smaller by so much.
    fn tighter(self, less: f64) -> Result<Self, ClimateError> {
        let left = self.loss_btu_h_f - less;
        if left <= 0.0 {
            return Err(ClimateError::refused(format!(
                "the fill would save {less:.0} Btu/h·°F, and the whole house is said to lose only \
                 {:.0}: the area, the model or the loss coefficient is wrong",
                self.loss_btu_h_f
            )));
        }
        Ok(Self { loss_btu_h_f: left, ..self })
    }
}

/// One way to count the saving: the degree-days it was assessed with, and the assessment.
#[derive(Clone, Debug)]
pub struct CountedSaving {
    /// Heating degree-days that the house was assessed with, °F·day.
    pub heating_degree_days: f64,
    /// What came of it.
    pub assessment: Assessment,
}

/// The saving of a house by three counts of the same assessment.
#[derive(Clone, Debug)]
pub struct BalanceSaving {
    /// The whole house before.
    pub before: WholeHouse,
    /// The whole house after.
    pub after: WholeHouse,
    /// What the fill takes off the loss coefficient, Btu/h·°F.
    pub conductance_saved: f64,
    /// Degree-days at the balance point before, and at that after.
    pub years: [UsualYear; 2],
    /// At the fixed base of 65 °F, as if every house had that balance point.
    pub fixed: CountedSaving,
    /// At the balance point that the house has now, as if it stayed.
    pub held: CountedSaving,
    /// With the balance point falling from before to after.
    pub falling: CountedSaving,
}

/// What the fill saves for each degree, walls and air, Btu/h·°F: the heat of one degree-day, over
/// the 24 hours of it, by the one assessment.
fn conductance_saved(house: &House) -> f64 {
    at_degree_days(house, 1.0).heat_saved.ip() * 1e6 / 24.0
}

fn at_degree_days(house: &House, days: f64) -> Assessment {
    let mut house = house.clone();
    house.climate.heating_degree_days = DegreeDays::checked(days);
    assess(&house)
}

/// The saving of a house whose loss as a whole is known, with its balance point before and after
/// the fill, beside the figure at a fixed base.
///
/// The house needs heat `24 L H(b)` before and `24 (L − ΔL) H(b')` after, with `H` the
/// degree-days at the balance points `b` and `b'`. Their difference is the heat that the
/// assessment gives for `(L H(b) − (L − ΔL) H(b')) / ΔL` degree-days, so that fuel, money and
/// carbon follow from the one calculation.
///
/// # Errors
/// [`ClimateError`] where the weather has no whole year, the fill saves nothing, or it would save
/// more than the whole house loses.
pub fn saving(
    house: &House,
    whole: WholeHouse,
    weather: &Weather,
    count: Count,
) -> Result<BalanceSaving, ClimateError> {
    let conductance_saved = conductance_saved(house);
    if conductance_saved.is_nan() || conductance_saved <= 0.0 {
        return Err(ClimateError::refused(
            "the fill saves no heat here, so that no balance point moves",
        ));
    }
    let after = whole.tighter(conductance_saved)?;
    let year = |balance: f64| weather.usual_year(count.at(balance)?);
    let years = [year(whole.balance_point_f())?, year(after.balance_point_f())?];
    let [now, then] = [years[0].heating, years[1].heating];
    let falling = (whole.loss_btu_h_f * now - after.loss_btu_h_f * then) / conductance_saved;
    let counted = |days: f64| -> Result<CountedSaving, ClimateError> {
        let def = Field::HeatingDegreeDays.def();
        let days = within("degree-days", days, def.low, def.high, "°F·day")?;
        Ok(CountedSaving { heating_degree_days: days, assessment: at_degree_days(house, days) })
    };
    Ok(BalanceSaving {
        before: whole,
        after,
        conductance_saved,
        years,
        fixed: counted(weather.usual_year(count.at(USUAL_BASE_F)?)?.heating)?,
        held: counted(now)?,
        falling: counted(falling)?,
    })
}
