//! Tables of many proofs: what is known of each house beside its bills, and what came out.

use super::many_proofs::{HouseNote, PairResult};
use super::table::{Columns, MOST_FAULTS, Numbers, TableError, check_columns, truth};
use super::table::{named_table, numbers};
use super::{Promise, Proof, Ranged, Verdict};
use crate::batch::table::readable;
use crate::error::{InputError, Issue, IssueCode};
use arrow_array::{ArrayRef, RecordBatch, StringArray};
use arrow_schema::{ArrowError, Schema};
use std::collections::HashMap;
use std::sync::Arc;

/// The columns of what is known of houses.
pub const HOUSE_COLUMNS: [&str; 6] =
    ["house_id", "weather", "untreated", "promised_low", "promised", "promised_high"];

/// What is known of each house: `house_id`; `weather`, `untreated` (yes or no), and the three of a
/// promise where they are there.
///
/// # Errors
/// [`TableError`] for the columns and with every fault of the rows; a house that stands twice is one.
pub fn notes(
    schema: &Schema,
    batches: impl Iterator<Item = Result<RecordBatch, ArrowError>>,
) -> Result<HashMap<String, HouseNote>, TableError> {
    check_columns(schema, &["house_id"], &HOUSE_COLUMNS).map_err(TableError::Schema)?;
    let (mut notes, mut faults, mut first) = (HashMap::new(), Vec::new(), 0_usize);
    for batch in batches {
        let batch = readable(batch?)?;
        let columns = Columns { batch: &batch };
        let [houses, weathers, untreated] =
            ["house_id", "weather", "untreated"].map(|name| columns.text(name));
        let (houses, weathers, untreated) = (houses?, weathers?, untreated?);
        let ends = ["promised_low", "promised", "promised_high"]
            .map(|name| columns.find(name).map(|column| Numbers::new(name, column)).transpose());
        let [low, value, high] = ends;
        let ends = [("promised_low", low?), ("promised", value?), ("promised_high", high?)];
        for row in 0..batch.num_rows() {
            let outer = format!("row {}", first + row + 1);
            let house = houses.as_ref().and_then(|column| column.get(row)).unwrap_or_default();
            let one = || {
                if house.is_empty() {
                    return Err(vec![Issue::new(
                        IssueCode::Missing,
                        "house_id",
                        "",
                        "must be given",
                    )]);
                }
                let untreated = match untreated.as_ref().and_then(|column| column.get(row)) {
                    None => false,
                    Some(word) => truth(word).ok_or_else(|| {
                        let reason = "must be yes or no";
                        vec![Issue::new(IssueCode::NotAChoice, "untreated", word, reason)]
                    })?,
                };
                let end = |place: usize| match &ends[place] {
                    (name, Some(column)) => column.get(row, name).map_err(|issue| vec![issue]),
                    _ => Ok(None),
                };
                let promised = match (end(0)?, end(1)?, end(2)?) {
                    (None, None, None) => None,
                    (Some(low), Some(value), Some(high)) => {
                        Some(Promise::new(low, value, high).map_err(|error| error.issues)?)
                    }
                    _ => {
                        let reason = "promised_low, promised and promised_high go together: a \
                                      promise is a range";
                        return Err(vec![Issue::new(IssueCode::Missing, "promised", "", reason)]);
                    }
                };
                let weather =
                    weathers.as_ref().and_then(|column| column.get(row)).map(str::to_owned);
                Ok(HouseNote { weather, untreated, promised })
            };
            match one() {
                Ok(note) => {
                    if notes.insert(house.to_owned(), note).is_some() && faults.len() < MOST_FAULTS
                    {
                        let reason = "stands twice: one row a house";
                        let issue = Issue::new(IssueCode::GivenTwice, "house_id", house, reason);
                        faults.push(issue.within(&outer));
                    }
                }
                Err(issues) if faults.len() < MOST_FAULTS => {
                    faults.extend(issues.into_iter().map(|issue| issue.within(&outer)));
                }
                Err(_) => {}
            }
        }
        first += batch.num_rows();
    }
    if faults.is_empty() { Ok(notes) } else { Err(InputError { issues: faults }.into()) }
}

/// One of the figures of a proof.
type Which = fn(&Proof) -> Option<Ranged>;

/// Many proofs as a table, a row each.
///
/// # Errors
/// [`ArrowError`] where the columns do not make a table, which they always do.
pub fn proofs_table(results: &[PairResult]) -> Result<RecordBatch, ArrowError> {
    let text = |of: &dyn Fn(&PairResult) -> Option<String>| -> ArrayRef {
        Arc::new(results.iter().map(of).collect::<StringArray>())
    };
    let number = |of: &dyn Fn(&Proof) -> Option<f64>| -> ArrayRef {
        let value = |result: &PairResult| result.proof.as_ref().ok().and_then(of);
        numbers(results.iter().map(|result| value(result).unwrap_or(f64::NAN)))
    };
    let word = |of: &dyn Fn(&Proof) -> String| text(&|result| result.proof.as_ref().ok().map(of));
    let mut columns: Vec<(&str, ArrayRef)> = vec![
        ("house_id", text(&|result| Some(result.house_id.clone()))),
        ("fuel", text(&|result| Some(result.fuel.row().key.to_owned()))),
        ("unit", text(&|result| Some(result.fuel.row().unit.to_owned()))),
        ("untreated", text(&|result| Some(if result.untreated { "yes" } else { "no" }.to_owned()))),
        ("readings_before", number(&|proof| Some(proof.before.readings() as f64))),
        ("readings_after", number(&|proof| Some(proof.after.readings() as f64))),
    ];
    let ranged: [([&str; 3], Which); 7] = [
        (["use_before", "use_before_low", "use_before_high"], |proof| Some(proof.use_before)),
        (["use_after", "use_after_low", "use_after_high"], |proof| Some(proof.use_after)),
        (["saved", "saved_low", "saved_high"], |proof| Some(proof.saved)),
        (["saved_share", "saved_share_low", "saved_share_high"], |proof| Some(proof.saved_share)),
        (["heating_saved", "heating_saved_low", "heating_saved_high"], |proof| proof.heating_saved),
        (["realised", "realised_low", "realised_high"], |proof| proof.realised),
        (["comparison_ratio", "comparison_ratio_low", "comparison_ratio_high"], |proof| {
            proof.comparison.map(|group| group.ratio)
        }),
    ];
    for ([name, low, high], of) in ranged {
        columns.push((name, number(&|proof| of(proof).map(|ranged| ranged.value))));
        columns.push((low, number(&|proof| Some(of(proof)?.interval?.0))));
        columns.push((high, number(&|proof| Some(of(proof)?.interval?.1))));
    }
    columns.extend([
        ("promised_low", number(&|proof| proof.promised.map(|promise| promise.low))),
        ("promised", number(&|proof| proof.promised.map(|promise| promise.value))),
        ("promised_high", number(&|proof| proof.promised.map(|promise| promise.high))),
        ("comparison_houses", number(&|proof| proof.comparison.map(|group| group.houses as f64))),
        ("verdict_before", word(&|proof| proof.before.verdict().as_str().to_owned())),
        ("verdict_after", word(&|proof| proof.after.verdict().as_str().to_owned())),
        ("verdict", word(&|proof| Verdict::of(&proof.findings).as_str().to_owned())),
        (
            "findings",
            word(&|proof| {
                let codes: Vec<&str> = proof.findings.iter().map(|found| found.code).collect();
                codes.join(";")
            }),
        ),
        (
            "faults",
            text(&|result| {
                result.proof.as_ref().err().map(|error| error.to_string().replace('\n', "; "))
            }),
        ),
    ]);
    named_table(columns)
}
