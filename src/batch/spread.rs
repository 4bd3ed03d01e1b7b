//! How the figures of many scored houses are spread: counts in bins with round edges, and quantiles.

use super::plan::SchemaError;
use super::scored::{Places, readiness, some};
use super::summary::{QUANTILES, quantile};
use arrow_array::RecordBatch;
use arrow_schema::Schema;

/// The results whose spread is drawn, in the order of [`Spread::figures`].
pub const SPREAD: [&str; 4] =
    ["simple_payback_years", "annual_savings", "net_cost", "lifetime_co2e_kg"];

/// Bins between the first hundredth and the last twentieth of the houses, about.
const BINS: f64 = 16.0;

/// Houses in a range of a figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bin {
    /// From here on; none in the first bin, which takes all that is less.
    pub from: Option<f64>,
    /// Up to here, this not among them; none in the last bin, which takes all that is more.
    pub to: Option<f64>,
    /// How many.
    pub houses: u64,
}

/// How one figure is spread over the houses.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureSpread {
    /// Its name in tables.
    pub name: &'static str,
    /// Scored houses that have it.
    pub with: u64,
    /// Scored houses that have none.
    pub without: u64,
    /// The figure at each of [`QUANTILES`].
    pub quantiles: [Option<f64>; QUANTILES.len()],
    /// The houses that have it, each in one bin.
    pub bins: Vec<Bin>,
}

/// The spread of the figures of many scored houses, reckoned batch by batch.
///
/// The figures are kept until the end, eight bytes each, so that quantiles are exact; they are those of [`Summary`](super::summary::Summary),
/// to the bit. Houses on hold are among them; houses that could not be scored are not.
#[derive(Clone, Debug)]
pub struct Spread {
    places: Places,
    read: u64,
    values: [Vec<f64>; SPREAD.len()],
    without: [u64; SPREAD.len()],
}

impl Spread {
    /// A spread of tables with this schema.
    ///
    /// # Errors
    /// [`SchemaError`] with every fault of the columns.
    pub fn new(schema: &Schema) -> Result<Self, SchemaError> {
        let mut faults = Vec::new();
        let places = Places::new(schema, &SPREAD, &mut faults);
        if !faults.is_empty() {
            return Err(SchemaError { faults });
        }
        Ok(Self { places, read: 0, values: Default::default(), without: Default::default() })
    }

    /// Adds a batch of the schema.
    ///
    /// # Errors
    /// [`SchemaError`] where a cell cannot be what its column is.
    pub fn push(&mut self, batch: &RecordBatch) -> Result<(), SchemaError> {
        let readiness = readiness(batch.column(self.places.readiness), self.read)?;
        let numbers = self.places.numbers(batch, self.read)?;
        self.read += batch.num_rows() as u64;
        let slots = self.values.iter_mut().zip(&mut self.without);
        for ((values, without), numbers) in slots.zip(&numbers) {
            let scored = readiness.iter().enumerate().filter(|(_, readiness)| readiness.is_some());
            for (row, _) in scored {
                match some(numbers, row) {
                    Some(number) => values.push(number),
                    None => *without += 1,
                }
            }
        }
        Ok(())
    }

    /// The spread of each figure.
    pub fn figures(mut self) -> Vec<FigureSpread> {
        let each = SPREAD.iter().zip(&mut self.values).zip(self.without);
        each.map(|((name, values), without)| {
            values.sort_unstable_by(f64::total_cmp);
            FigureSpread {
                name,
                with: values.len() as u64,
                without,
                quantiles: QUANTILES.map(|percent| quantile(values, percent)),
                bins: bins(values),
            }
        })
        .collect()
    }
}

/// Bins of sorted numbers: round edges over all but the first hundredth and the last twentieth, for costs and paybacks have a long tail; what
/// lies beyond stands in a bin of its own at either end.
fn bins(sorted: &[f64]) -> Vec<Bin> {
    let (Some(low), Some(high)) = (quantile(sorted, 1), quantile(sorted, 95)) else {
        return Vec::new();
    };
    let (low, high) = (low.clamp(-MOST, MOST), high.clamp(-MOST, MOST));
    let step = step((high - low) / BINS);
    // Numbers too large for the step stand in one bin.
    let first = libm::floor(low / step);
    let count = libm::floor(high / step) - first + 1.0;
    let mut edges = Vec::new();
    let mut at = 0.0;
    while at <= count.min(MOST_BINS) {
        edges.push((first + at) * step);
        at += 1.0;
    }
    edges.dedup();
    let below = |edge: f64| sorted.partition_point(|value| *value < edge) as u64;
    let mut out = Vec::with_capacity(edges.len() + 1);
    let mut so_far = 0;
    let mut from = None;
    for edge in edges {
        let reached = below(edge);
        if from.is_some() || reached > 0 {
            out.push(Bin { from, to: Some(edge), houses: reached - so_far });
        }
        so_far = reached;
        from = Some(edge);
    }
    let all = sorted.len() as u64;
    if all > so_far {
        out.push(Bin { from, to: None, houses: all - so_far });
    }
    out
}

/// Larger numbers fall into the last bins.
const MOST: f64 = 1e15;
const MOST_BINS: f64 = 40.0;

/// 1, 2 or 5 times a power of ten, not under a size; 1 for no size.
fn step(size: f64) -> f64 {
    if size.is_nan() || size <= 1e-9 {
        return 1.0;
    }
    let mut unit = 1e-9;
    while unit * 10.0 <= size {
        unit *= 10.0;
    }
    // Powers of ten from 1 up are exact only as such.
    let unit = if unit >= 0.5 { libm::round(unit) } else { unit };
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * unit)
        .find(|step| *step >= size)
        .unwrap_or(size)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn edges_are_round_and_what_lies_beyond_is_kept() {
        let mut values: Vec<f64> = (0..1000).map(|at| f64::from(at) / 10.0).collect();
        values.push(5_000.0);
        let found = bins(&values);
        assert_eq!(found.first().map(|bin| (bin.from, bin.to)), Some((Some(0.0), Some(10.0))));
        assert_eq!(found.last(), Some(&Bin { from: Some(100.0), to: None, houses: 1 }));
        assert_eq!(found.iter().map(|bin| bin.houses).sum::<u64>(), 1001);
        assert_eq!(found[3], Bin { from: Some(30.0), to: Some(40.0), houses: 100 });
    }

    #[test]
    fn one_value_has_one_bin() {
        assert_eq!(bins(&[3.5]), [Bin { from: Some(3.0), to: Some(4.0), houses: 1 }]);
        assert!(bins(&[]).is_empty());
    }

    proptest! {
        /// Every house is in one bin, and the bins follow one another.
        #[test]
        fn no_house_is_lost(mut values in prop::collection::vec(
            prop_oneof![-1e4..1e6_f64, Just(0.0), Just(1e300), Just(f64::INFINITY), Just(-1e200), 1e-12..1e-6_f64], 1..200)) {
            values.sort_unstable_by(f64::total_cmp);
            let found = bins(&values);
            prop_assert_eq!(found.iter().map(|bin| bin.houses).sum::<u64>(), values.len() as u64);
            prop_assert!(found.len() <= 43);
            for pair in found.windows(2) {
                prop_assert_eq!(pair[0].to, pair[1].from);
                prop_assert!(pair[0].from.is_none_or(|from| from < pair[0].to.unwrap()));
            }
        }
    }
}
