//! The climate zone that degree-days point to.

use super::degree_days::{Count, DayRule};
use super::error::ClimateError;
use super::weather::Weather;
use crate::tables::{
    ZONE_1_CDD50_MOST, ZONE_2_CDD50_MOST, ZONE_3_CDD50_MOST, ZONE_3_MARINE_HDD65_MOST,
    ZONE_4_CDD50_MOST, ZONE_4_HDD65_MOST, ZONE_5_HDD65_MOST, ZONE_6_HDD65_MOST, ZONE_7_HDD65_MOST,
};

/// A climate zone of the International Energy Conservation Code, by its limits in degree-days.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClimateZone {
    /// 0 (hottest) to 8 (coldest).
    pub number: u8,
    /// Whether it is 3 instead, were the climate marine: mild all year with dry summers, which
    /// temperatures alone do not show.
    pub marine_is_3: bool,
}

/// What stands beside every zone that is told from degree-days.
pub const ZONE_CAVEAT: &str = "Zones are assigned by county, whatever the weather of a year: look \
    the county up in the code that is in force. Which letter goes with the number depends on rain.";

impl ClimateZone {
    /// The zone by heating degree-days at 65 °F and cooling degree-days at 50 °F, °F·day a year.
    ///
    /// # Source
    /// International Energy Conservation Code, table C301.3(2): `iecc_climate_zones` (seen quoted).
    pub fn of(hdd65: f64, cdd50: f64) -> Self {
        let number = if hdd65 > ZONE_7_HDD65_MOST.value {
            8
        } else if hdd65 > ZONE_6_HDD65_MOST.value {
            7
        } else if hdd65 > ZONE_5_HDD65_MOST.value {
            6
        } else if hdd65 > ZONE_4_HDD65_MOST.value {
            5
        } else if cdd50 > ZONE_1_CDD50_MOST.value {
            0
        } else if cdd50 > ZONE_2_CDD50_MOST.value {
            1
        } else if cdd50 > ZONE_3_CDD50_MOST.value {
            2
        } else if cdd50 > ZONE_4_CDD50_MOST.value {
            3
        } else {
            4
        };
        let marine_is_3 = number == 4 && hdd65 <= ZONE_3_MARINE_HDD65_MOST.value;
        Self { number, marine_is_3 }
    }

    /// The zone in words: `4`, or `4 (3 if marine)`.
    pub fn words(self) -> String {
        let marine = if self.marine_is_3 { " (3 if marine)" } else { "" };
        format!("{}{marine}", self.number)
    }
}

impl Weather {
    /// The climate zone that the usual year points to; see [`ZONE_CAVEAT`].
    ///
    /// # Errors
    /// As for [`Weather::usual_year`].
    pub fn climate_zone(&self, rule: DayRule) -> Result<ClimateZone, ClimateError> {
        let hdd65 = self.usual_year(Count::usual(rule))?.heating;
        let cdd50 = self.usual_year(Count::usual(rule).at(50.0)?)?.cooling;
        Ok(ClimateZone::of(hdd65, cdd50))
    }
}
