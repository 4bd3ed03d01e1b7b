//! Tables of weather, bills and jobs, and bytes that say they are Parquet.

use crate::{BOTH, in_folder, refused, scored};
use std::path::Path;
use studbay::batch::table_file::open;
use studbay::bills::table::{TableError, mean_samples, meters, weather as weather_of_table};
use studbay::bills::{
    Climate, Climates, Fit, NormalYear, Options, Workers, fit_blocks, fit_meters,
};
use studbay::climate::words::{Spans, weather_blocks};
use studbay::climate::{Count, Format, ReadOptions, TemperatureUnit, Weather};
use studbay::evidence::{Confidence, jobs_account, review_jobs};
use studbay::house::Fuel;

fn told_of(weather: &Weather) {
    assert!(!weather.days().is_empty());
    assert!(weather.first() <= weather.last());
    assert!(weather.days_with_value() <= weather.days().len());
    for day in weather.days().iter().filter(|day| day.has_value()) {
        assert!(day.best_mean_f().is_finite(), "{day:?}");
    }
    let count = Count::usual(weather.usual_rule());
    if let Ok(sums) = weather.degree_days(count) {
        for sum in sums.years.iter().chain(&sums.months) {
            let (heating, cooling) = (sum.heating, sum.cooling);
            assert!(heating >= 0.0 && cooling >= 0.0, "{heating} {cooling}");
        }
    }
    for units in BOTH {
        if let Ok(blocks) = weather_blocks(weather, count, Spans::Fitting, units) {
            assert!(!blocks.is_empty());
        }
    }
    let means = weather.daily_means();
    if let Ok(normal) = NormalYear::new(&means) {
        assert!(normal.heating_degree_days_f(65.0) >= 0.0);
    }
}

fn read(data: &[u8], options: &ReadOptions) -> bool {
    match Weather::from_bytes(data, options) {
        Ok(weather) => {
            told_of(&weather);
            true
        }
        Err(error) => {
            assert!(!error.to_string().is_empty());
            false
        }
    }
}

/// Weather files whose form is told by how they begin, and forced to be each form.
pub fn weather(data: &[u8]) -> bool {
    let mut taken = read(data, &ReadOptions::default());
    for format in [Format::Tmy3, Format::Epw] {
        taken |= read(data, &ReadOptions { format: Some(format), ..ReadOptions::default() });
    }
    taken
}

/// Weather in tables, in either unit.
pub fn weather_table(data: &[u8]) -> bool {
    [TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius].iter().fold(false, |taken, unit| {
        let format = Some(Format::Table);
        read(data, &ReadOptions { format, unit: Some(*unit), ..ReadOptions::default() }) | taken
    })
}

fn turned_away(error: &TableError) -> bool {
    match error {
        TableError::Input(error) => refused(error),
        TableError::Schema(error) => assert!(!error.to_string().is_empty()),
        TableError::Arrow(error) => assert!(!error.to_string().is_empty()),
    }
    false
}

/// A table of bills, a blank line, and a table of daily means; or uses beside means alone.
fn of_bills(bills: &Path, days: &Path) -> bool {
    let (Ok(table), Ok(mean_table)) = (open(bills), open(bills)) else { return false };
    let mut taken = false;
    let schema = mean_table.schema();
    match mean_samples(&schema, mean_table) {
        Ok(samples) => {
            if let Some(fuel) = Fuel::from_key("natural_gas")
                && let Ok(fit) = Fit::new(fuel, samples, Vec::new(), &options())
            {
                assert!(!fit_blocks(&fit, None, BOTH[0]).is_empty());
                taken = true;
            }
        }
        Err(error) => {
            turned_away(&error);
        }
    }
    let schema = table.schema();
    let rows = match meters(&schema, table, Fuel::from_key("natural_gas")) {
        Ok(rows) => rows,
        Err(error) => return turned_away(&error) || taken,
    };
    let Ok(table) = open(days) else { return taken };
    let schema = table.schema();
    let mut findings = Vec::new();
    let means = match weather_of_table(&schema, table, &mut findings) {
        Ok(means) => means,
        Err(error) => return turned_away(&error) || taken,
    };
    let Ok(normal) = NormalYear::new(&means) else { return taken };
    let workers = Workers::new(std::num::NonZeroUsize::new(1));
    let climates = Climates::one(Climate { weather: means, normal, findings });
    for result in fit_meters(&rows, &climates, &options(), &workers) {
        match result.figures {
            Ok(figures) => {
                assert!(figures.annual.total.is_finite());
                taken = true;
            }
            Err(error) => refused(&error),
        }
    }
    taken
}

fn options() -> Options {
    Options { resamples: 20, ..Options::default() }
}

/// Bills and days, in one input: the tables stand one after the other with `=====` between.
pub fn bills(data: &[u8]) -> bool {
    const BETWEEN: &[u8] = b"=====\n";
    let cut = data.windows(BETWEEN.len()).position(|window| window == BETWEEN);
    let (bills, days) = match cut {
        Some(at) => (&data[..at], &data[at + BETWEEN.len()..]),
        None => (data, &[][..]),
    };
    in_folder(|folder| {
        let paths = [folder.join("bills.csv"), folder.join("days.csv")];
        std::fs::write(&paths[0], bills).is_ok()
            && std::fs::write(&paths[1], days).is_ok()
            && of_bills(&paths[0], &paths[1])
    })
}

/// A file of jobs: a row is a job or a reject with reasons.
pub fn jobs(data: &[u8]) -> bool {
    match review_jobs(data, Confidence::default()) {
        Ok(review) => {
            for reject in &review.rejects {
                assert!(!reject.issues.is_empty(), "{reject:?}");
            }
            assert!(std::str::from_utf8(review.csv().as_bytes()).is_ok());
            assert!(!jobs_account(&review, 5).is_empty());
            !review.jobs.is_empty()
        }
        Err(error) => {
            assert!(!error.to_string().is_empty());
            false
        }
    }
}

/// Bytes that say they are Parquet: scored, summed up as a table, or turned away.
pub fn parquet(data: &[u8]) -> bool {
    in_folder(|folder| {
        let taken = scored(data, folder, ["in.parquet", "out.csv"]);
        if let Ok(table) = open(&folder.join("in.parquet")) {
            let names = table.schema().fields().len();
            for batch in table {
                match batch {
                    Ok(batch) => assert_eq!(batch.num_columns(), names),
                    Err(error) => {
                        assert!(!error.to_string().is_empty());
                        break;
                    }
                }
            }
        }
        taken
    })
}
