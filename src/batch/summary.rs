//! What an analyst reports of many houses: how many, on hold, rejected and why, what it costs,
//! saves and avoids, when it pays back. For the whole table and by any column of it.

use super::arrow::FAULTS;
use super::exact::ExactSum;
use super::plan::SchemaError;
use super::reason::Reason;
use super::scored::{
    Places, find, findings, must_find, readiness, some, text, unreadable, unusable, words,
};
use crate::error::nearest;
use crate::readiness::{FINDINGS, Finding, Readiness, Weight};
use arrow_array::cast::AsArray;
use arrow_array::types::{Float64Type, Int64Type};
use arrow_array::{
    Array, ArrayRef, BooleanArray, Float64Array, Int64Array, RecordBatch, StringArray,
};
use arrow_cast::cast;
use arrow_schema::{ArrowError, DataType, Field, Schema};
use std::cmp::Ordering;
use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;

/// The results that are added up, in the order of [`Sums`].
const SUMMED: [&str; 5] =
    ["net_cost", "annual_savings", "lifetime_savings", "lifetime_co2e_kg", "bags"];
const PAYBACK: &str = "simple_payback_years";

/// The quantiles of the payback that are reported, in hundredths.
pub const QUANTILES: [u8; 5] = [10, 25, 50, 75, 90];

/// What a group of rows is called: a value of the column that the table is grouped by.
#[derive(Clone, Debug)]
pub enum Key {
    /// A whole number.
    Whole(i64),
    /// A number.
    Number(f64),
    /// True or false.
    Flag(bool),
    /// Text, or whatever else has a text.
    Text(Box<str>),
    /// Nothing is given: null, NaN, blank text.
    Nothing,
}

impl Key {
    /// In the order in which groups are listed: numbers by size, text that reads as a number by
    /// size before other text by its bytes, what has no value last.
    fn compare(&self, other: &Self) -> Ordering {
        let number = |text: &str| text.trim().parse().ok().filter(|number: &f64| !number.is_nan());
        match (self, other) {
            (Self::Whole(a), Self::Whole(b)) => a.cmp(b),
            (Self::Number(a), Self::Number(b)) => a.total_cmp(b),
            (Self::Flag(a), Self::Flag(b)) => a.cmp(b),
            (Self::Text(a), Self::Text(b)) => match (number(a), number(b)) {
                (Some(x), Some(y)) => x.total_cmp(&y).then_with(|| a.cmp(b)),
                (Some(_), None) => Ordering::Less,
                (None, Some(_)) => Ordering::Greater,
                (None, None) => a.cmp(b),
            },
            (a, b) => a.sort().cmp(&b.sort()),
        }
    }

    fn sort(&self) -> u8 {
        match self {
            Self::Whole(_) => 0,
            Self::Number(_) => 1,
            Self::Flag(_) => 2,
            Self::Text(_) => 3,
            Self::Nothing => 4,
        }
    }
}

impl PartialEq for Key {
    fn eq(&self, other: &Self) -> bool {
        self.compare(other) == Ordering::Equal
    }
}

impl Eq for Key {}

impl std::hash::Hash for Key {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        self.sort().hash(state);
        match self {
            Self::Whole(whole) => whole.hash(state),
            Self::Number(number) => number.to_bits().hash(state),
            Self::Flag(flag) => flag.hash(state),
            Self::Text(text) => text.hash(state),
            Self::Nothing => {}
        }
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Whole(whole) => write!(f, "{whole}"),
            Self::Number(number) => write!(f, "{number}"),
            Self::Flag(flag) => write!(f, "{flag}"),
            Self::Text(text) => f.write_str(text),
            Self::Nothing => f.write_str("not given"),
        }
    }
}

/// The keys of a batch, of one sort for the whole table.
enum Keys {
    Whole(Int64Array),
    Number(Float64Array),
    Flag(BooleanArray),
    Text(StringArray),
}

/// The sort of key that a column of this type has.
fn key_type(data_type: &DataType) -> DataType {
    match data_type {
        DataType::Int8
        | DataType::Int16
        | DataType::Int32
        | DataType::Int64
        | DataType::UInt8
        | DataType::UInt16
        | DataType::UInt32 => DataType::Int64,
        DataType::Float16 | DataType::Float32 | DataType::Float64 => DataType::Float64,
        DataType::Boolean => DataType::Boolean,
        DataType::Dictionary(_, values) => match key_type(values) {
            DataType::Boolean => DataType::Utf8,
            other => other,
        },
        _ => DataType::Utf8,
    }
}

impl Keys {
    /// The keys of a column, as those of a type that [`key_type`] gives.
    fn new(array: &ArrayRef, to: &DataType, name: &str) -> Result<Self, SchemaError> {
        let cast = || cast(array, to).map_err(|error| unreadable(&error));
        Ok(match to {
            DataType::Int64 => Self::Whole(cast()?.as_primitive::<Int64Type>().clone()),
            DataType::Float64 => Self::Number(cast()?.as_primitive::<Float64Type>().clone()),
            DataType::Boolean => Self::Flag(cast()?.as_boolean().clone()),
            _ => Self::Text(words(array, name)?),
        })
    }

    fn at(&self, row: usize) -> Key {
        match self {
            Self::Whole(array) if array.is_valid(row) => Key::Whole(array.value(row)),
            // −0 is 0.
            Self::Number(array) => some(array, row).map_or(Key::Nothing, |n| Key::Number(n + 0.0)),
            Self::Flag(array) if array.is_valid(row) => Key::Flag(array.value(row)),
            Self::Text(array) => text(array, row).map_or(Key::Nothing, |t| Key::Text(t.into())),
            Self::Whole(_) | Self::Flag(_) => Key::Nothing,
        }
    }
}

/// The names of the groups as a column.
fn key_array(data_type: &DataType, groups: &[(Key, Figures)]) -> ArrayRef {
    let keys = groups.iter().map(|(key, _)| key);
    match data_type {
        DataType::Int64 => Arc::new(
            keys.map(|key| match key {
                Key::Whole(whole) => Some(*whole),
                _ => None,
            })
            .collect::<Int64Array>(),
        ),
        DataType::Float64 => Arc::new(
            keys.map(|key| match key {
                Key::Number(number) => Some(*number),
                _ => None,
            })
            .collect::<Float64Array>(),
        ),
        DataType::Boolean => Arc::new(
            keys.map(|key| match key {
                Key::Flag(flag) => Some(*flag),
                _ => None,
            })
            .collect::<BooleanArray>(),
        ),
        _ => Arc::new(
            keys.map(|key| match key {
                Key::Text(text) => Some(&**text),
                _ => None,
            })
            .collect::<StringArray>(),
        ),
    }
}

/// Sums over houses.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sums {
    /// Houses that are added up here.
    pub houses: u64,
    /// Cost after rebates and tax credits.
    pub net_cost: f64,
    /// Saved in the first year.
    pub annual_savings: f64,
    /// Saved over the lives, not discounted.
    pub lifetime_savings: f64,
    /// Avoided over the lives, tonnes CO2e.
    pub lifetime_co2e_t: f64,
    /// Bags of fibre.
    pub bags: f64,
}

/// [`Sums`] under way.
#[derive(Clone, Debug, Default)]
struct Adding {
    houses: u64,
    sums: [ExactSum; SUMMED.len()],
}

impl Adding {
    fn merge(&mut self, other: &Self) {
        self.houses += other.houses;
        for (sum, more) in self.sums.iter_mut().zip(&other.sums) {
            sum.merge(more);
        }
    }

    fn sums(&self) -> Sums {
        let [net_cost, annual_savings, lifetime_savings, co2e_kg, bags] =
            self.sums.each_ref().map(ExactSum::value);
        Sums {
            houses: self.houses,
            net_cost,
            annual_savings,
            lifetime_savings,
            lifetime_co2e_t: co2e_kg / 1000.0,
            bags,
        }
    }
}

/// The figures of a group under way.
#[derive(Clone, Debug, Default)]
struct Tally {
    read: u64,
    rejected: u64,
    /// Of the houses that are clear, to be checked, on hold.
    by_readiness: [Adding; 3],
    paybacks: Vec<f64>,
    /// Scored, but one of the summed figures is missing in the table.
    incomplete: u64,
}

impl Tally {
    fn merge(&mut self, other: &Self) {
        self.read += other.read;
        self.rejected += other.rejected;
        self.incomplete += other.incomplete;
        self.paybacks.extend_from_slice(&other.paybacks);
        for (adding, more) in self.by_readiness.iter_mut().zip(&other.by_readiness) {
            adding.merge(more);
        }
    }

    fn figures(mut self) -> Figures {
        self.paybacks.sort_unstable_by(f64::total_cmp);
        let [clear, check, hold] = self.by_readiness.each_ref().map(|adding| adding.houses);
        let on_hold = self.by_readiness[Readiness::Hold as usize].sums();
        let mut all = Adding::default();
        self.by_readiness.iter().for_each(|adding| all.merge(adding));
        let scored = all.sums();
        let with_payback = self.paybacks.len() as u64;
        Figures {
            read: self.read,
            rejected: self.rejected,
            hold,
            check,
            clear,
            scored,
            on_hold,
            incomplete: self.incomplete,
            with_payback,
            without_payback: scored.houses - with_payback,
            payback_years: QUANTILES.map(|percent| quantile(&self.paybacks, percent)),
        }
    }
}

/// The figures of a group of rows, or of all.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Figures {
    /// Rows in the table.
    pub read: u64,
    /// Rows that could not be scored.
    pub rejected: u64,
    /// Scored houses where the work must not start.
    pub hold: u64,
    /// Scored houses where someone must look before the work starts.
    pub check: u64,
    /// Scored houses where nothing that was asked about stands in the way.
    pub clear: u64,
    /// Sums over every scored house, those on hold included.
    pub scored: Sums,
    /// Sums over the houses on hold: of this nothing is to be had until they are cleared.
    pub on_hold: Sums,
    /// Scored houses of which the table lacks a figure that is added up: it counts as nothing.
    pub incomplete: u64,
    /// Scored houses that have a simple payback.
    pub with_payback: u64,
    /// Scored houses that have none, because the fill saves nothing there.
    pub without_payback: u64,
    /// The simple payback at each of [`QUANTILES`], over the scored houses that have one.
    pub payback_years: [Option<f64>; QUANTILES.len()],
}

/// A quantile of sorted numbers, by linear interpolation between the two nearest ranks: rank
/// (n − 1) × p from 0, Hyndman and Fan's type 7. The rank is reckoned in whole numbers.
pub(super) fn quantile(sorted: &[f64], percent: u8) -> Option<f64> {
    let hundredths = sorted.len().checked_sub(1)? * usize::from(percent);
    let (rank, rest) = (hundredths / 100, hundredths % 100);
    let low = sorted[rank];
    match sorted.get(rank + 1) {
        // Infinite ones have no difference.
        Some(high) if rest > 0 && *high > low => {
            let rest = u8::try_from(rest).map_or(0.0, f64::from);
            Some(low + rest / 100.0 * (high - low))
        }
        _ => Some(low),
    }
}

/// What many scored houses come to, reckoned batch by batch.
///
/// Counts and sums do not depend on the order of rows, batches or threads: sums are exact, in
/// whole numbers, and rounded once at the end. Quantiles are exact too, so the paybacks are kept:
/// eight bytes for each house that has one, and some kilobytes for each group.
///
/// A row without a readiness could not be scored. Its reason is the first fault of the column
/// `faults`, where the table has it.
#[derive(Clone, Debug)]
pub struct Summary {
    places: Places,
    by: Option<(String, usize, DataType)>,
    read: u64,
    groups: HashMap<Key, Tally>,
    reasons: HashMap<Reason, u64>,
    findings: [u64; FINDINGS_COUNT],
}

const FINDINGS_COUNT: usize = FINDINGS.len();

impl Summary {
    /// A summary of tables with this schema: the columns `readiness`, `net_cost`,
    /// `annual_savings`, `lifetime_savings`, `lifetime_co2e_kg`, `bags` and
    /// `simple_payback_years`, and any others, of which `by` names one to group by.
    ///
    /// # Errors
    /// [`SchemaError`] with every fault of the columns.
    pub fn new(schema: &Schema, by: Option<&str>) -> Result<Self, SchemaError> {
        let mut faults = Vec::new();
        let mut names = SUMMED.to_vec();
        names.push(PAYBACK);
        let places = Places::new(schema, &names, &mut faults);
        let by = by.and_then(|name| {
            let Some(place) = find(schema, name, &mut faults) else {
                let known = schema.fields().iter().map(|field| field.name().trim());
                let hint = nearest(name, known.clone()).map_or_else(
                    || format!("; there are {}", known.collect::<Vec<_>>().join(", ")),
                    |near| format!("; is {near} meant?"),
                );
                faults.push(format!("there is no column {name} to group by{hint}"));
                return None;
            };
            if Figures::default().named().iter().any(|(figure, _)| *figure == name) {
                let reason = "is also the name of a figure of the summary; rename the column";
                faults.push(format!("{name} {reason}"));
            }
            Some((name.to_owned(), place, key_type(schema.field(place).data_type())))
        });
        if !faults.is_empty() {
            return Err(SchemaError { faults });
        }
        Ok(Self {
            places,
            by,
            read: 0,
            groups: HashMap::new(),
            reasons: HashMap::new(),
            findings: [0; FINDINGS_COUNT],
        })
    }

    /// The column that the houses are grouped by.
    pub fn by(&self) -> Option<&str> {
        self.by.as_ref().map(|(name, ..)| name.as_str())
    }

    /// Adds a batch of the schema.
    ///
    /// # Errors
    /// [`SchemaError`] where a cell cannot be what its column is: the batch is then not counted.
    pub fn push(&mut self, batch: &RecordBatch) -> Result<(), SchemaError> {
        let before = self.read;
        let readiness = readiness(batch.column(self.places.readiness), before)?;
        let numbers = self.places.numbers(batch, before)?;
        let keys = match &self.by {
            Some((name, place, to)) => Some(Keys::new(batch.column(*place), to, name)?),
            None => None,
        };
        let read = |place: Option<usize>, name| {
            place.map(|place| words(batch.column(place), name)).transpose()
        };
        let codes = read(self.places.findings, "findings")?;
        let faults = read(self.places.faults, FAULTS)?;
        self.read += batch.num_rows() as u64;
        for (row, readiness) in readiness.into_iter().enumerate() {
            let key = keys.as_ref().map_or(Key::Nothing, |keys| keys.at(row));
            let Some(readiness) = readiness else {
                self.reject(key, faults.as_ref().and_then(|faults| text(faults, row)));
                continue;
            };
            let tally = self.groups.entry(key).or_default();
            tally.read += 1;
            let adding = &mut tally.by_readiness[readiness as usize];
            adding.houses += 1;
            let mut complete = true;
            for (sum, numbers) in adding.sums.iter_mut().zip(&numbers) {
                match some(numbers, row) {
                    Some(number) => sum.add(number),
                    None => complete = false,
                }
            }
            tally.incomplete += u64::from(!complete);
            tally.paybacks.extend(numbers.last().and_then(|paybacks| some(paybacks, row)));
            // Only what holds the work is counted, and that makes a hold.
            let held = readiness == Readiness::Hold;
            if let Some(codes) = codes.as_ref().filter(|_| held).and_then(|codes| text(codes, row))
            {
                for finding in findings(codes).iter() {
                    self.findings[finding as usize] += 1;
                }
            }
        }
        Ok(())
    }

    /// Adds rows that could not be scored, from a table of rejects: each counts as read and
    /// rejected, by the column `faults`, and in the group of its own column of the same name.
    ///
    /// # Errors
    /// [`SchemaError`] for a table without the column `faults`.
    pub fn push_rejects(&mut self, batch: &RecordBatch) -> Result<(), SchemaError> {
        let mut missing = Vec::new();
        let place = must_find(batch.schema_ref(), FAULTS, &mut missing);
        if !missing.is_empty() {
            missing.push("a table of rejects is expected".to_owned());
            return Err(SchemaError { faults: missing });
        }
        let faults = words(batch.column(place), FAULTS)?;
        let keys = match &self.by {
            Some((name, _, to)) => find(batch.schema_ref(), name, &mut missing)
                .map(|place| Keys::new(batch.column(place), to, name))
                .transpose()?,
            None => None,
        };
        self.read += batch.num_rows() as u64;
        for row in 0..batch.num_rows() {
            let key = keys.as_ref().map_or(Key::Nothing, |keys| keys.at(row));
            self.reject(key, text(&faults, row));
        }
        Ok(())
    }

    fn reject(&mut self, key: Key, faults: Option<&str>) {
        let tally = self.groups.entry(key).or_default();
        tally.read += 1;
        tally.rejected += 1;
        *self.reasons.entry(faults.map_or(Reason::unknown(), Reason::of)).or_default() += 1;
    }

    /// Adds what another summary of the same schema, by the same column, has counted.
    ///
    /// # Errors
    /// [`SchemaError`] when they are not by the same column.
    pub fn merge(&mut self, other: Self) -> Result<(), SchemaError> {
        if self.by != other.by {
            return Err(unusable("the two summaries are not by the same column"));
        }
        self.read += other.read;
        for (key, tally) in other.groups {
            self.groups.entry(key).or_default().merge(&tally);
        }
        for (reason, count) in other.reasons {
            *self.reasons.entry(reason).or_default() += count;
        }
        for (count, more) in self.findings.iter_mut().zip(other.findings) {
            *count += more;
        }
        Ok(())
    }

    /// The figures of all rows.
    pub fn total(&self) -> Figures {
        let mut total = Tally::default();
        self.groups.values().for_each(|tally| total.merge(tally));
        total.figures()
    }

    /// The figures of each group, in order: numbers by size, text by its bytes, and last the rows
    /// that have nothing in the column. A single one, without a name, where none is named.
    pub fn groups(&self) -> Vec<(Key, Figures)> {
        if self.by.is_none() {
            return vec![(Key::Nothing, self.total())];
        }
        let mut groups: Vec<(Key, Figures)> =
            self.groups.iter().map(|(key, tally)| (key.clone(), tally.clone().figures())).collect();
        groups.sort_by(|(a, _), (b, _)| a.compare(b));
        groups
    }

    /// Why rows were rejected, each row by its first fault, the most frequent first.
    pub fn reasons(&self) -> Vec<(Reason, u64)> {
        let mut reasons: Vec<(Reason, u64)> =
            self.reasons.iter().map(|(reason, count)| (reason.clone(), *count)).collect();
        reasons.sort_by(|(a, m), (b, n)| n.cmp(m).then_with(|| a.cmp(b)));
        reasons
    }

    /// How many scored houses have each of the findings that hold the work, the gravest first. A
    /// house may have several. Empty where the table has no column `findings`.
    pub fn holds(&self) -> Vec<(Finding, u64)> {
        let counted = FINDINGS.iter().zip(self.findings);
        counted
            .filter(|(def, count)| def.weight == Weight::Hold && *count > 0)
            .map(|(def, count)| (def.finding, count))
            .collect()
    }

    /// The groups as a table, one row each: the column that the houses are grouped by, then the
    /// figures under the names of [`Figures::named`].
    ///
    /// # Errors
    /// [`ArrowError`] never in practice.
    pub fn table(&self) -> Result<RecordBatch, ArrowError> {
        let groups = self.groups();
        let mut fields = Vec::new();
        let mut columns: Vec<ArrayRef> = Vec::new();
        if let Some((name, _, data_type)) = &self.by {
            fields.push(Field::new(name, data_type.clone(), true));
            columns.push(key_array(data_type, &groups));
        }
        for (place, (name, sort)) in Figures::default().named().into_iter().enumerate() {
            let values = groups.iter().map(|(_, figures)| figures.named()[place].1);
            let column: ArrayRef = match sort {
                Figure::Count(_) => Arc::new(values.map(Figure::count).collect::<Int64Array>()),
                Figure::Amount(_) => Arc::new(values.map(Figure::amount).collect::<Float64Array>()),
            };
            fields.push(Field::new(name, column.data_type().clone(), true));
            columns.push(column);
        }
        RecordBatch::try_new(Arc::new(Schema::new(fields)), columns)
    }

    /// Why rows were rejected, as a table: `field`, `code`, `rows`.
    ///
    /// # Errors
    /// [`ArrowError`] never in practice.
    pub fn reason_table(&self) -> Result<RecordBatch, ArrowError> {
        let reasons = self.reasons();
        let field = reasons.iter().map(|(reason, _)| Some(reason.field.as_str()));
        let code = reasons.iter().map(|(reason, _)| Some(reason.code));
        let houses = reasons.iter().map(|(_, count)| i64::try_from(*count).ok());
        let columns: [(&str, ArrayRef, bool); 3] = [
            ("field", Arc::new(field.collect::<StringArray>()), true),
            ("code", Arc::new(code.collect::<StringArray>()), true),
            ("rows", Arc::new(houses.collect::<Int64Array>()), true),
        ];
        RecordBatch::try_from_iter_with_nullable(columns)
    }
}

/// A figure of a group: a count, or an amount that may not exist.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Figure {
    /// How many.
    Count(u64),
    /// How much.
    Amount(Option<f64>),
}

impl Figure {
    fn count(self) -> Option<i64> {
        match self {
            Self::Count(count) => i64::try_from(count).ok(),
            Self::Amount(_) => None,
        }
    }

    fn amount(self) -> Option<f64> {
        match self {
            Self::Amount(amount) => amount,
            Self::Count(_) => None,
        }
    }
}

impl Figures {
    /// Every figure under its name in tables: counts, sums, sums over the houses on hold, payback.
    pub fn named(&self) -> [(&'static str, Figure); 24] {
        let count = |count| Figure::Count(count);
        // A sum beyond the range of numbers is no figure.
        let amount = |amount: f64| Figure::Amount(Some(amount).filter(|amount| amount.is_finite()));
        let [p10, p25, p50, p75, p90] = self.payback_years.map(Figure::Amount);
        [
            ("houses_read", count(self.read)),
            ("houses_scored", count(self.scored.houses)),
            ("houses_rejected", count(self.rejected)),
            ("houses_hold", count(self.hold)),
            ("houses_check", count(self.check)),
            ("houses_clear", count(self.clear)),
            ("houses_incomplete", count(self.incomplete)),
            ("net_cost_sum", amount(self.scored.net_cost)),
            ("annual_savings_sum", amount(self.scored.annual_savings)),
            ("lifetime_savings_sum", amount(self.scored.lifetime_savings)),
            ("lifetime_co2e_t_sum", amount(self.scored.lifetime_co2e_t)),
            ("bags_sum", amount(self.scored.bags)),
            ("net_cost_on_hold", amount(self.on_hold.net_cost)),
            ("annual_savings_on_hold", amount(self.on_hold.annual_savings)),
            ("lifetime_savings_on_hold", amount(self.on_hold.lifetime_savings)),
            ("lifetime_co2e_t_on_hold", amount(self.on_hold.lifetime_co2e_t)),
            ("bags_on_hold", amount(self.on_hold.bags)),
            ("houses_with_payback", count(self.with_payback)),
            ("houses_without_payback", count(self.without_payback)),
            ("payback_years_p10", p10),
            ("payback_years_p25", p25),
            ("payback_years_p50", p50),
            ("payback_years_p75", p75),
            ("payback_years_p90", p90),
        ]
    }
}
