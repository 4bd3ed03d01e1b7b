//! Temperatures of real days, and what is made of them.
//!
//! [`Weather`] reads a weather file and says what it found. [`Weather::degree_days`] counts
//! degree-days at any base by a named [`DayRule`]; [`Weather::usual_year`] is what a house is
//! assessed with.

mod assemble;
mod columns;
mod daily;
mod degree_days;
mod epw;
mod error;
mod monthly;
mod plausible;
mod read;
mod remark;
mod stamp;
mod table;
mod tmy3;
mod typical;
mod weather;

pub use assemble::LEAST_HOURS;
pub use columns::Role;
pub use daily::DailyMeans;
pub use degree_days::{Count, DayRule, DegreeDaySums, Sum, USUAL_BASE_F, UsualYear, YearBasis};
pub use error::ClimateError;
pub use monthly::MonthStats;
pub use read::{MOST_WEATHER_BYTES, ReadOptions};
pub use remark::{Gravity, Remark};
pub use weather::{Day, Format, Site, TemperatureUnit, Weather, YearDays};
