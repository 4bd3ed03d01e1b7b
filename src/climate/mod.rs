//! Temperatures of real days, and what is made of them.
//!
//! [`Weather`] reads a weather file and says what it found. [`Weather::degree_days`] counts
//! degree-days at any base by a named [`DayRule`]; [`Weather::usual_year`] is what a house is
//! assessed with.

mod assemble;
mod balance;
mod base;
mod columns;
mod daily;
mod degree_days;
mod epw;
mod error;
#[cfg(feature = "house-file")]
mod fill;
mod monthly;
mod options;
mod places;
mod plausible;
mod read;
mod readings;
mod remark;
mod stamp;
mod table;
mod tmy3;
mod typical;
mod weather;
pub mod words;
mod zone;

pub use assemble::LEAST_HOURS;
pub use balance::{BalanceSaving, CountedSaving, WholeHouse, saving};
pub use base::{
    Conversion, convert, hitchin_degree_days, hitchin_k_f, months_from_means, normal_degree_days,
    usual_deviation_f,
};
pub use columns::Role;
pub use daily::DailyMeans;
pub use degree_days::{Count, DayRule, DegreeDaySums, Sum, USUAL_BASE_F, UsualYear, YearBasis};
pub use error::ClimateError;
#[cfg(feature = "house-file")]
pub use fill::{Filled, fill_from_place, fill_from_weather};
pub use monthly::MonthStats;
pub use options::ReadOptions;
pub use places::{FROM_MEMORY, place, places};
pub use read::MOST_WEATHER_BYTES;
pub use remark::{Gravity, Remark};
pub use weather::{Day, Format, Site, TemperatureUnit, Weather, YearDays};
pub use zone::{ClimateZone, ZONE_CAVEAT};
