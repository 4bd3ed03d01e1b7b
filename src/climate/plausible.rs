//! Whether a series can be what it says: its unit, and whether its days are real ones.

use super::remark::{Gravity, Remark};
use super::weather::{Day, TemperatureUnit, Weather};
use chrono::Datelike;

/// Days that show a whole year.
const YEAR_SHOWN: usize = 300;
/// Days of a summer that show it.
const SUMMER_SHOWN: usize = 30;
/// No place that people heat houses in stays below this all year (judgement of this project).
const COOLEST_SUMMER_F: f64 = 50.0;
/// Air is hardly ever hotter than this, 50 °C.
const HOTTEST_F: f64 = 122.0;
/// From day to day real means differ by more than this: 1.2 °F or so on mild coasts, 6 °F inland.
/// Averages over many years differ by 0.1 to 0.2 °F (judgement from public series).
const STEADY_F: f64 = 0.6;
/// Where summers and winters are this far apart, real days differ by 3 °F and more, and raw
/// averages over thirty years by about 1 °F.
const SEASONAL_F: f64 = 25.0;
const STEADY_SEASONAL_F: f64 = 1.5;
/// Pairs of days that show it.
const PAIRS_SHOWN: usize = 60;

/// Doubts about the series as a whole.
pub(super) fn remarks(weather: &Weather) -> Vec<Remark> {
    unit(weather).into_iter().chain(averaged(weather)).chain(stuck(weather)).collect()
}

fn hottest(day: &Day) -> f64 {
    day.max_f.max(day.best_mean_f())
}

fn unit(weather: &Weather) -> Option<Remark> {
    let days: Vec<&Day> = weather.days.iter().filter(|day| day.has_value()).collect();
    let above = |limit: f64| days.iter().filter(|day| hottest(day) > limit).count();
    let summer = days.iter().filter(|day| (6..=8).contains(&day.date.month())).count();
    let shown = days.len() >= YEAR_SHOWN || summer >= SUMMER_SHOWN;
    let highest = days.iter().map(|day| hottest(day)).fold(f64::NAN, f64::max);
    match weather.unit {
        TemperatureUnit::Fahrenheit if shown && above(COOLEST_SUMMER_F) == 0 => {
            let text = format!(
                "read as degrees Fahrenheit, but the warmest day of the year has {highest:.1} °F: \
                 these look like degrees Celsius"
            );
            Some(Remark::new("unit_doubt", Gravity::Grave, 1, text))
        }
        TemperatureUnit::Celsius if above(HOTTEST_F) >= 3 => {
            let celsius = (highest - 32.0) / 1.8;
            let text = format!(
                "read as degrees Celsius, but the warmest day has {celsius:.1} °C: these look \
                 like degrees Fahrenheit"
            );
            Some(Remark::new("unit_doubt", Gravity::Grave, above(HOTTEST_F), text))
        }
        _ if !shown => {
            let text = "no whole summer in the series: degrees Celsius taken for Fahrenheit, or \
                        the reverse, could not be noticed";
            Some(Remark::new("unit_not_checked", Gravity::Note, 1, text))
        }
        _ => None,
    }
}

/// Days that are averages over many years: they never stray, so that too few degree-days add up.
fn averaged(weather: &Weather) -> Option<Remark> {
    let mut squares = 0.0;
    let mut pairs = 0_u32;
    for pair in weather.days.windows(2) {
        let [one, next] = pair else { continue };
        let step = next.best_mean_f() - one.best_mean_f();
        if step.is_finite() {
            squares += step * step;
            pairs += 1;
        }
    }
    if (pairs as usize) < PAIRS_SHOWN {
        return None;
    }
    let steps = libm::sqrt(squares / f64::from(pairs));
    let means: Vec<f64> =
        super::monthly::of_calendar(weather).iter().map(|month| month.mean_f).collect();
    let span = means.iter().copied().fold(f64::NAN, f64::max)
        - means.iter().copied().fold(f64::NAN, f64::min);
    let limit = if span > SEASONAL_F { STEADY_SEASONAL_F } else { STEADY_F };
    if steps >= limit {
        return None;
    }
    let text = format!(
        "from day to day the mean differs by only {steps:.2} °F: these are averages over many \
         years and not days that happened; degree-days of averaged days are too few"
    );
    Some(Remark::new("averaged_days", Gravity::Grave, 1, text))
}

/// A thermometer that has stopped: the same value to the last digit for long.
fn stuck(weather: &Weather) -> Option<Remark> {
    const HOURS: usize = 48;
    const DAYS: usize = 7;
    let longest = |values: &mut dyn Iterator<Item = f64>| {
        let (mut longest, mut run, mut before) = (0, 0, f64::NAN);
        for value in values {
            let same = value.to_bits() == before.to_bits() && value.is_finite();
            run = if same { run + 1 } else { 1 };
            longest = longest.max(run);
            before = value;
        }
        longest
    };
    let (run, limit, what) = if weather.is_hourly() {
        (longest(&mut weather.hours.iter().copied()), HOURS, "hours")
    } else {
        (longest(&mut weather.days.iter().map(Day::best_mean_f)), DAYS, "days")
    };
    if run < limit {
        return None;
    }
    let text =
        format!("the same value stands for {run} {what} on end: has the thermometer stopped?");
    Some(Remark::new("stuck", Gravity::Warning, run, text))
}
