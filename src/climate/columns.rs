//! Which column of a table is what: by the names that a user gives, else by the usual ones.

use super::error::ClimateError;
use super::weather::TemperatureUnit;
use crate::error::nearest;

/// What a column can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// The day, with or without a time.
    Date,
    /// Year, where the date stands in parts.
    Year,
    /// Month.
    Month,
    /// Day of the month.
    Day,
    /// Hour of the day, beside a date or its parts.
    Hour,
    /// Mean temperature of a day, or the temperature of an hour.
    Mean,
    /// Maximum of a day.
    Max,
    /// Minimum of a day.
    Min,
}

impl Role {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Date,
        Self::Year,
        Self::Month,
        Self::Day,
        Self::Hour,
        Self::Mean,
        Self::Max,
        Self::Min,
    ];

    /// The word that a user writes.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Date => "date",
            Self::Year => "year",
            Self::Month => "month",
            Self::Day => "day",
            Self::Hour => "hour",
            Self::Mean => "mean",
            Self::Max => "max",
            Self::Min => "min",
        }
    }

    /// Whether it is a temperature.
    const fn is_temperature(self) -> bool {
        matches!(self, Self::Mean | Self::Max | Self::Min)
    }

    /// Names that such a column usually has, without the unit.
    const fn usual(self) -> &'static [&'static str] {
        match self {
            Self::Date => &[
                "date",
                "datetime",
                "date_time",
                "timestamp",
                "time",
                "valid",
                "valid_time",
                "day",
                "dt",
                "when",
            ],
            Self::Year => &["year", "yr"],
            Self::Month => &["month", "mo"],
            Self::Day => &["day", "dom", "day_of_month"],
            Self::Hour => &["hour", "hr", "hour_of_day"],
            Self::Mean => &[
                "temp",
                "temperature",
                "mean",
                "tmean",
                "tavg",
                "avg",
                "mean_temp",
                "temp_mean",
                "avg_temp",
                "temp_avg",
                "mean_temperature",
                "temperature_mean",
                "average_temperature",
                "air_temperature",
                "air_temp",
                "outdoor_temperature",
                "outdoor_temp",
                "outside_temperature",
                "outside_temp",
                "dry_bulb",
                "drybulb",
                "dry_bulb_temperature",
                "t_mean",
                "t_avg",
                "tmp",
                "t",
            ],
            Self::Max => &[
                "max",
                "tmax",
                "t_max",
                "temp_max",
                "max_temp",
                "temperature_max",
                "max_temperature",
                "maximum",
                "maximum_temperature",
                "high",
                "tx",
            ],
            Self::Min => &[
                "min",
                "tmin",
                "t_min",
                "temp_min",
                "min_temp",
                "temperature_min",
                "min_temperature",
                "minimum",
                "minimum_temperature",
                "low",
                "tn",
            ],
        }
    }
}

/// A column of the table with the role it has.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Columns {
    places: [Option<usize>; 8],
    /// The unit that names of temperature columns say.
    pub(super) unit: Option<TemperatureUnit>,
    /// Names of the columns that are used, with their roles.
    pub(super) used: Vec<(&'static str, String)>,
}

impl Columns {
    pub(super) fn place(&self, role: Role) -> Option<usize> {
        self.places.get(role as usize).copied().flatten()
    }

    /// Finds the columns of a header.
    pub(super) fn find(header: &[String], wanted: &[(Role, String)]) -> Result<Self, ClimateError> {
        let plain: Vec<(String, Option<TemperatureUnit>)> =
            header.iter().map(|name| plain(name)).collect();
        let mut columns = Self::default();
        let take = |columns: &mut Self, role: Role, place: usize| {
            if let Some(slot) = columns.places.get_mut(role as usize) {
                *slot = Some(place);
            }
            let name = header.get(place).cloned().unwrap_or_default();
            columns.used.push((role.as_str(), name));
        };
        for (role, name) in wanted {
            let place = header.iter().position(|column| column == name).ok_or_else(|| {
                let known = header.iter().map(String::as_str);
                let hint = nearest(name, known)
                    .map_or(String::new(), |near| format!("; is {near} meant?"));
                ClimateError::unreadable(format!("the table has no column {name}{hint}"))
            })?;
            take(&mut columns, *role, place);
        }
        let usual = |role: Role| {
            // In the order of the usual names: `date` before `time`.
            role.usual().iter().find_map(|usual| plain.iter().position(|(name, _)| name == usual))
        };
        let given = |role: Role| wanted.iter().any(|(wanted, _)| *wanted == role);
        if !given(Role::Date) {
            let parts = [Role::Year, Role::Month, Role::Day];
            // Parts of a date are the place's own time; a column beside them may be another's.
            let all: Vec<usize> = parts
                .iter()
                .filter_map(|role| columns.place(*role).or_else(|| usual(*role)))
                .collect();
            if all.len() == parts.len() {
                for (role, place) in parts.into_iter().zip(all) {
                    if !given(role) {
                        take(&mut columns, role, place);
                    }
                }
            } else if let Some(place) = usual(Role::Date) {
                take(&mut columns, Role::Date, place);
            } else {
                return Err(lacking(header, "date", "date"));
            }
        }
        if !given(Role::Hour)
            && let Some(place) = usual(Role::Hour)
        {
            take(&mut columns, Role::Hour, place);
        }
        let temperatures = [Role::Mean, Role::Max, Role::Min];
        // Who names one temperature column means that one; else all that are there.
        if !temperatures.into_iter().any(given) {
            for role in temperatures {
                if let Some(place) = usual(role) {
                    take(&mut columns, role, place);
                }
            }
        }
        let [mean, max, min] = temperatures.map(|role| columns.place(role));
        match (mean, max, min) {
            (None, None, None) => return Err(lacking(header, "temperature", "mean, max or min")),
            (_, Some(_), None) => return Err(lacking(header, "minimum beside the maximum", "min")),
            (_, None, Some(_)) => return Err(lacking(header, "maximum beside the minimum", "max")),
            _ => {}
        }
        let units: Vec<TemperatureUnit> = Role::ALL
            .into_iter()
            .filter(|role| role.is_temperature())
            .filter_map(|role| plain.get(columns.place(role)?)?.1)
            .collect();
        columns.unit = units.first().copied();
        if units.iter().any(|unit| Some(*unit) != columns.unit) {
            return Err(ClimateError::unreadable(
                "the temperature columns are in different units, by their names",
            ));
        }
        Ok(columns)
    }
}

fn lacking(header: &[String], what: &str, role: &str) -> ClimateError {
    let names: Vec<&str> = header.iter().map(String::as_str).take(20).collect();
    ClimateError::unreadable(format!(
        "no column for the {what}; say which one it is (as {role}). The table has {}",
        names.join(", ")
    ))
}

/// A column's name without case, signs and unit, and the unit that it says.
fn plain(name: &str) -> (String, Option<TemperatureUnit>) {
    let mut words: Vec<String> = Vec::new();
    for word in name.split(|letter: char| !letter.is_ascii_alphanumeric()) {
        if !word.is_empty() {
            words.push(word.to_ascii_lowercase());
        }
    }
    let unit = match words.last().map(String::as_str) {
        Some("f" | "degf" | "fahrenheit") if words.len() > 1 => Some(TemperatureUnit::Fahrenheit),
        Some("c" | "degc" | "celsius" | "centigrade") if words.len() > 1 => {
            Some(TemperatureUnit::Celsius)
        }
        _ => None,
    };
    if unit.is_some() {
        words.pop();
        if words.last().is_some_and(|word| word == "deg" || word == "degrees") {
            words.pop();
        }
    }
    (words.join("_"), unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn header(names: &[&str]) -> Vec<String> {
        names.iter().map(|name| (*name).to_owned()).collect()
    }

    #[test]
    fn names_lose_case_signs_and_unit() {
        use TemperatureUnit::{Celsius, Fahrenheit};
        assert_eq!(plain("TempMax_F"), ("tempmax".to_owned(), Some(Fahrenheit)));
        assert_eq!(plain("Max Temp (°C)"), ("max_temp".to_owned(), Some(Celsius)));
        assert_eq!(plain("dry bulb [deg F]"), ("dry_bulb".to_owned(), Some(Fahrenheit)));
        assert_eq!(plain("c"), ("c".to_owned(), None));
    }

    #[test]
    fn parts_of_a_date_come_before_a_column_of_another_clock() {
        let header = header(&["year", "month", "day", "hour", "temp", "time_hour"]);
        let columns = Columns::find(&header, &[]).unwrap();
        assert_eq!(columns.place(Role::Date), None);
        assert_eq!(columns.place(Role::Day), Some(2));
        assert_eq!(columns.place(Role::Hour), Some(3));
        assert_eq!(columns.place(Role::Mean), Some(4));
    }

    #[test]
    fn a_named_temperature_is_the_only_one() {
        let header = header(&["date", "temp", "max", "min"]);
        let wanted = [(Role::Mean, "temp".to_owned())];
        let columns = Columns::find(&header, &wanted).unwrap();
        assert_eq!(columns.place(Role::Max), None);
        let columns = Columns::find(&header, &[]).unwrap();
        assert_eq!(columns.place(Role::Max), Some(2));
    }

    #[test]
    fn a_wrong_name_offers_the_near_one_and_a_lone_maximum_is_refused() {
        let names = header(&["date", "temp_max", "temp_min"]);
        let wanted = [(Role::Max, "tempmax".to_owned()), (Role::Min, "temp_min".to_owned())];
        let error = Columns::find(&names, &wanted).unwrap_err().to_string();
        assert!(error.contains("is temp_max meant?"), "{error}");
        let error = Columns::find(&header(&["date", "tmax"]), &[]).unwrap_err().to_string();
        assert!(error.contains("minimum"), "{error}");
        let units = header(&["date", "tmax_f", "tmin_c"]);
        assert!(Columns::find(&units, &[]).unwrap_err().to_string().contains("units"));
    }
}
