//! Which houses to treat first under a budget, and why the others are left out.

use super::exact::ExactSum;
use super::plan::SchemaError;
use super::scored::{Places, find, findings, readiness, some, text, words};
use crate::readiness::{Readiness, Weight};
use crate::words::grouped;
use arrow_array::{ArrayRef, BooleanArray, Float64Array, Int64Array, RecordBatch, StringArray};
use arrow_schema::{ArrowError, DataType, Field, Schema, SchemaRef};
use arrow_select::interleave::interleave_record_batch;
use std::collections::HashSet;
use std::sync::Arc;

/// What the houses are ranked by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rank {
    /// Savings-to-investment ratio, the highest first. A house that costs nothing has none and
    /// stands before all others.
    Sir,
    /// Net cost of a tonne of CO2e avoided over the life, the lowest first.
    CostPerTonne,
}

impl Rank {
    /// Every way to rank.
    pub const ALL: [Self; 2] = [Self::Sir, Self::CostPerTonne];

    /// The result that it is named after.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Sir => "sir",
            Self::CostPerTonne => "cost_per_tonne",
        }
    }

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Sir => "savings-to-investment ratio, the highest first",
            Self::CostPerTonne => "cost of a tonne of CO2e avoided, the lowest first",
        }
    }

    /// The way of a key.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|rank| rank.key() == key)
    }
}

/// Why a house is not on the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LeftOut {
    /// It could not be scored.
    Rejected,
    /// The work must not start.
    Hold,
    /// The table lacks a figure that is needed, or its cost is not one that can be paid.
    NoFigure,
    /// The fill saves nothing there.
    SavesNothing,
    /// Ranked by the cost of a tonne, and no CO2e is avoided.
    AvoidsNothing,
    /// It costs more than was left when its turn came.
    OverBudget,
}

impl LeftOut {
    /// Every reason, in the order in which they are asked for: the first that holds is given.
    pub const ALL: [Self; 6] = [
        Self::Rejected,
        Self::Hold,
        Self::NoFigure,
        Self::SavesNothing,
        Self::AvoidsNothing,
        Self::OverBudget,
    ];

    /// Its code.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Rejected => "rejected",
            Self::Hold => "hold",
            Self::NoFigure => "no_figure",
            Self::SavesNothing => "saves_nothing",
            Self::AvoidsNothing => "avoids_nothing",
            Self::OverBudget => "over_budget",
        }
    }

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Rejected => "could not be scored",
            Self::Hold => "on hold: the work must not start",
            Self::NoFigure => "a figure is missing in the table",
            Self::SavesNothing => "the fill saves nothing",
            Self::AvoidsNothing => "no CO2e is avoided",
            Self::OverBudget => "costs more than was left when its turn came",
        }
    }
}

/// A house on the list.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    /// Its place among all houses that could be chosen, from 1. A number is missing in the list
    /// where a house did not fit.
    pub rank: u64,
    /// Its row in the table, from 1.
    pub row: u64,
    /// What it costs, after rebate and tax credit.
    pub net_cost: f64,
    /// What the list costs up to and with this house: the exact sum, rounded.
    pub running_cost: f64,
    /// A `check`: someone must look before the work starts.
    pub look_first: bool,
    /// Saved in the first year.
    pub annual_savings: f64,
    /// Savings-to-investment ratio; none where nothing is paid.
    pub sir: Option<f64>,
    /// Net cost of a tonne of CO2e avoided over the life.
    pub cost_per_tonne: Option<f64>,
}

/// A house that is not on the list.
#[derive(Clone, Debug, PartialEq)]
pub struct NotChosen {
    /// Its row in the table, from 1.
    pub row: u64,
    /// Why.
    pub reason: LeftOut,
    /// The same with its particulars: the finding that holds, the fault, the money left.
    pub why: String,
    /// Its place among the houses that could be chosen, where it is one.
    pub rank: Option<u64>,
    /// What it costs, where that is known.
    pub net_cost: Option<f64>,
}

/// The houses to treat first under a budget, and those left out.
///
/// Houses that could be scored, are not on hold and save something are put in order by [`Rank`],
/// equal ones in the order of the table. The list takes them in this order and passes over a house
/// that costs more than is left. This is a greedy choice, not the best that any list could do with
/// the money: that is a knapsack problem, whose answer drops a better house for two worse ones and
/// changes altogether with a small change of the budget. Here every choice has a reason that can be
/// told to the owner: the rank, and the money left.
#[derive(Clone, Debug)]
pub struct Selection {
    batches: Vec<RecordBatch>,
    schema: SchemaRef,
    budget: f64,
    by: Rank,
    chosen: Vec<Chosen>,
    left_out: Vec<NotChosen>,
    ids: Vec<Option<String>>,
    total: Totals,
}

/// What the list comes to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Totals {
    /// Houses on the list.
    pub houses: u64,
    /// Of them, those where someone must look first.
    pub look_first: u64,
    /// Of them, those whose savings over the life, discounted, do not return the cost.
    pub below_one: u64,
    /// What they cost.
    pub net_cost: f64,
    /// What is left of the budget.
    pub left: f64,
    /// Saved in the first year.
    pub annual_savings: f64,
    /// Saved over the lives, not discounted.
    pub lifetime_savings: f64,
    /// Avoided over the lives, tonnes CO2e.
    pub lifetime_co2e_t: f64,
    /// Rows of the table whose `house_id` an earlier row has too.
    pub repeated_ids: u64,
}

/// The columns that a selection reads, in this order.
const NUMBERS: [&str; 6] =
    ["net_cost", "annual_savings", "sir", "cost_per_tonne", "lifetime_savings", "lifetime_co2e_kg"];

/// Columns that the list has before those of the table.
const OWN: [&str; 4] = ["rank", "row", "running_cost", "look_first"];

/// A row that may be chosen.
struct Candidate {
    place: usize,
    /// Lower is better.
    order: f64,
    look_first: bool,
    numbers: [Option<f64>; NUMBERS.len()],
    net_cost: f64,
}

/// Chooses the houses to treat first; see [`Selection`]. The batches are one table in order.
///
/// # Errors
/// [`SchemaError`] for a budget that is none, for columns that are missing or have a name that the
/// list needs, for a cell that cannot be what its column is.
pub fn select(
    schema: &SchemaRef,
    batches: Vec<RecordBatch>,
    budget: f64,
    by: Rank,
) -> Result<Selection, SchemaError> {
    let mut faults = Vec::new();
    if !(budget.is_finite() && budget >= 0.0) {
        faults.push(format!("budget = {budget}: must be a number, 0 or more"));
    }
    let places = Places::new(schema, &NUMBERS, &mut faults);
    for name in OWN {
        if find(schema, name, &mut faults).is_some() {
            faults
                .push(format!("the table has a column {name}, which the list has too; rename it"));
        }
    }
    if !faults.is_empty() {
        return Err(SchemaError { faults });
    }
    let mut sorting = Sorting { by, candidates: Vec::new(), left_out: Vec::new(), ids: Vec::new() };
    for batch in &batches {
        sorting.read(&places, batch)?;
    }
    Ok(sorting.choose(schema, batches, budget))
}

struct Sorting {
    by: Rank,
    candidates: Vec<Candidate>,
    left_out: Vec<NotChosen>,
    /// Of every row.
    ids: Vec<Option<String>>,
}

impl Sorting {
    /// Reads a batch: each row may be chosen, or is left out for a reason.
    fn read(&mut self, places: &Places, batch: &RecordBatch) -> Result<(), SchemaError> {
        let before = self.ids.len() as u64;
        let readiness = readiness(batch.column(places.readiness), before)?;
        let numbers = places.numbers(batch, before)?;
        let read = |place: Option<usize>, name| {
            place.map(|place| words(batch.column(place), name)).transpose()
        };
        let ids = read(places.house_id, "house_id")?;
        let codes = read(places.findings, "findings")?;
        let faults = read(places.faults, super::arrow::FAULTS)?;
        let cell = |array: &Option<StringArray>, row| {
            array.as_ref().and_then(|array| text(array, row)).map(str::to_owned)
        };
        for (row, readiness) in readiness.into_iter().enumerate() {
            let place = self.ids.len();
            self.ids.push(cell(&ids, row));
            let mut figures = [None; NUMBERS.len()];
            for (figure, numbers) in figures.iter_mut().zip(&numbers) {
                *figure = some(numbers, row);
            }
            let out = |reason: LeftOut, more: Option<String>| NotChosen {
                row: place as u64 + 1,
                reason,
                why: match more {
                    Some(more) => format!("{}: {more}", reason.words()),
                    None => reason.words().to_owned(),
                },
                rank: None,
                net_cost: figures[0],
            };
            match self.judge(readiness, &figures) {
                Ok((look_first, net_cost, order)) => self.candidates.push(Candidate {
                    place,
                    order,
                    look_first,
                    numbers: figures,
                    net_cost,
                }),
                Err((reason @ LeftOut::Rejected, _)) => {
                    self.left_out.push(out(reason, cell(&faults, row)));
                }
                Err((reason @ LeftOut::Hold, _)) => {
                    self.left_out.push(out(reason, cell(&codes, row).and_then(|c| holds(&c))));
                }
                Err((reason, missing)) => {
                    self.left_out.push(out(reason, missing.map(str::to_owned)));
                }
            }
        }
        Ok(())
    }

    /// Whether someone must look first, the cost, and what the house is ranked by; or why it
    /// cannot be chosen.
    fn judge(
        &self,
        readiness: Option<Readiness>,
        figures: &[Option<f64>; NUMBERS.len()],
    ) -> Result<(bool, f64, f64), (LeftOut, Option<&'static str>)> {
        let [net_cost, annual_savings, sir, cost_per_tonne, _, co2e_kg] = *figures;
        let look_first = match readiness {
            None => return Err((LeftOut::Rejected, None)),
            Some(Readiness::Hold) => return Err((LeftOut::Hold, None)),
            Some(readiness) => readiness == Readiness::Check,
        };
        let missing = |name| (LeftOut::NoFigure, Some(name));
        let net_cost = net_cost.filter(|cost| cost.is_finite() && *cost >= 0.0);
        let net_cost = net_cost.ok_or(missing("net_cost"))?;
        if annual_savings.ok_or(missing("annual_savings"))? <= 0.0 {
            return Err((LeftOut::SavesNothing, None));
        }
        let order = match self.by {
            // What costs nothing has no ratio, and comes first.
            Rank::Sir if net_cost == 0.0 => f64::NEG_INFINITY,
            Rank::Sir => -sir.ok_or(missing("sir"))?,
            Rank::CostPerTonne => match cost_per_tonne {
                Some(cost) => cost,
                None if co2e_kg.is_some_and(|co2e| co2e > 0.0) => {
                    return Err(missing("cost_per_tonne"));
                }
                None => return Err((LeftOut::AvoidsNothing, None)),
            },
        };
        // −0 is 0.
        Ok((look_first, net_cost, order + 0.0))
    }

    /// Takes the houses in order of rank while they fit.
    fn choose(self, schema: &SchemaRef, batches: Vec<RecordBatch>, budget: f64) -> Selection {
        let Self { by, mut candidates, mut left_out, ids } = self;
        // Stable: equal ones stay in the order of the table.
        candidates.sort_by(|a, b| a.order.total_cmp(&b.order));
        let mut chosen = Vec::new();
        let [mut cost, mut annual, mut lifetime, mut co2e] = <[ExactSum; 4]>::default();
        let mut left = ExactSum::default();
        left.add(budget);
        let mut total = Totals::default();
        for (rank, candidate) in (1..).zip(candidates) {
            let Candidate { place, look_first, numbers, net_cost, .. } = candidate;
            let row = place as u64 + 1;
            let mut with = cost.clone();
            with.add(net_cost);
            // As a reader would check it: the sum as it is printed, against the budget.
            let running_cost = with.value();
            if running_cost > budget {
                let why = format!(
                    "costs {} when {} were left",
                    grouped(net_cost, 2),
                    grouped(left.value(), 2)
                );
                left_out.push(NotChosen {
                    row,
                    reason: LeftOut::OverBudget,
                    why,
                    rank: Some(rank),
                    net_cost: Some(net_cost),
                });
                continue;
            }
            cost = with;
            left.subtract(net_cost);
            let [_, annual_savings, sir, cost_per_tonne, lifetime_savings, co2e_kg] = numbers;
            let annual_savings = annual_savings.unwrap_or(0.0);
            annual.add(annual_savings);
            lifetime.add(lifetime_savings.unwrap_or(0.0));
            co2e.add(co2e_kg.unwrap_or(0.0));
            total.houses += 1;
            total.look_first += u64::from(look_first);
            total.below_one += u64::from(sir.is_some_and(|sir| sir < 1.0));
            chosen.push(Chosen {
                rank,
                row,
                net_cost,
                running_cost,
                look_first,
                annual_savings,
                sir,
                cost_per_tonne,
            });
        }
        left_out.sort_by_key(|house| house.row);
        total.net_cost = cost.value();
        // The rounded sum may have met the budget by rounding.
        total.left = left.value().max(0.0);
        total.annual_savings = annual.value();
        total.lifetime_savings = lifetime.value();
        total.lifetime_co2e_t = co2e.value() / 1000.0;
        let mut seen = HashSet::new();
        let again = ids.iter().flatten().filter(|id| !seen.insert(id.as_str())).count();
        total.repeated_ids = again as u64;
        drop(seen);
        let schema = Arc::clone(schema);
        Selection { batches, schema, budget, by, chosen, left_out, ids, total }
    }
}

/// The findings that hold the work, of all codes.
fn holds(codes: &str) -> Option<String> {
    let holds: Vec<&str> = findings(codes)
        .iter()
        .filter(|finding| finding.def().weight == Weight::Hold)
        .map(crate::readiness::Finding::code)
        .collect();
    (!holds.is_empty()).then(|| holds.join(", "))
}

impl Selection {
    /// The budget.
    pub fn budget(&self) -> f64 {
        self.budget
    }

    /// What the houses are ranked by.
    pub fn by(&self) -> Rank {
        self.by
    }

    /// The houses to treat, in the order of their rank.
    pub fn chosen(&self) -> &[Chosen] {
        &self.chosen
    }

    /// The houses left out, in the order of the table.
    pub fn left_out(&self) -> &[NotChosen] {
        &self.left_out
    }

    /// What the list comes to.
    pub fn total(&self) -> &Totals {
        &self.total
    }

    /// The `house_id` of a row, counted from 1, where the table has one.
    pub fn house_id(&self, row: u64) -> Option<&str> {
        let place = usize::try_from(row.checked_sub(1)?).ok()?;
        self.ids.get(place)?.as_deref()
    }

    /// How many are left out, by reason; every reason that occurs.
    pub fn counts(&self) -> Vec<(LeftOut, u64)> {
        let count =
            |reason| self.left_out.iter().filter(|house| house.reason == reason).count() as u64;
        LeftOut::ALL.into_iter().map(|r| (r, count(r))).filter(|(_, n)| *n > 0).collect()
    }

    /// The list as a table: `rank`, `row`, `running_cost`, `look_first`, then every column of the
    /// table that was given, but for its faults.
    ///
    /// # Errors
    /// [`ArrowError`] never in practice.
    pub fn chosen_table(&self) -> Result<RecordBatch, ArrowError> {
        let kept: Vec<usize> = (0..self.schema.fields().len())
            .filter(|place| self.schema.field(*place).name() != super::arrow::FAULTS)
            .collect();
        let mut firsts = Vec::with_capacity(self.batches.len());
        let mut batches = Vec::with_capacity(self.batches.len());
        let mut first = 0;
        for batch in &self.batches {
            firsts.push(first);
            first += batch.num_rows();
            batches.push(batch.project(&kept)?);
        }
        let schema = Arc::new(self.schema.project(&kept)?);
        let place = |row: u64| {
            let place = usize::try_from(row - 1).unwrap_or(usize::MAX);
            let batch = firsts.partition_point(|first| *first <= place) - 1;
            (batch, place - firsts[batch])
        };
        let places: Vec<(usize, usize)> = self.chosen.iter().map(|c| place(c.row)).collect();
        let rows = if places.is_empty() {
            RecordBatch::new_empty(Arc::clone(&schema))
        } else {
            let batches: Vec<&RecordBatch> = batches.iter().collect();
            interleave_record_batch(&batches, &places)?
        };
        let whole = |of: fn(&Chosen) -> u64| -> ArrayRef {
            Arc::new(self.chosen.iter().map(|c| i64::try_from(of(c)).ok()).collect::<Int64Array>())
        };
        let mut columns = vec![
            whole(|chosen| chosen.rank),
            whole(|chosen| chosen.row),
            Arc::new(Float64Array::from_iter_values(self.chosen.iter().map(|c| c.running_cost))),
            Arc::new(self.chosen.iter().map(|c| Some(c.look_first)).collect::<BooleanArray>()),
        ];
        let mut fields: Vec<Arc<Field>> = OWN
            .iter()
            .zip(&columns)
            .map(|(name, column)| Arc::new(Field::new(*name, column.data_type().clone(), true)))
            .collect();
        fields.extend(schema.fields().iter().map(Arc::clone));
        columns.extend(rows.columns().iter().map(Arc::clone));
        RecordBatch::try_new(Arc::new(Schema::new(fields)), columns)
    }

    /// Those left out as a table: `row`, `house_id`, `reason`, `why`, `rank`, `net_cost`.
    ///
    /// # Errors
    /// [`ArrowError`] never in practice.
    pub fn left_out_table(&self) -> Result<RecordBatch, ArrowError> {
        let out = || self.left_out.iter();
        let whole = |number: u64| i64::try_from(number).ok();
        let columns: [(&str, ArrayRef); 6] = [
            ("row", Arc::new(out().map(|house| whole(house.row)).collect::<Int64Array>())),
            ("house_id", Arc::new(out().map(|h| self.house_id(h.row)).collect::<StringArray>())),
            ("reason", Arc::new(StringArray::from_iter_values(out().map(|h| h.reason.code())))),
            ("why", Arc::new(StringArray::from_iter_values(out().map(|house| &house.why)))),
            ("rank", Arc::new(out().map(|h| h.rank.and_then(whole)).collect::<Int64Array>())),
            ("net_cost", Arc::new(out().map(|house| house.net_cost).collect::<Float64Array>())),
        ];
        let fields: Vec<Field> = columns
            .iter()
            .map(|(name, column)| {
                let data_type: &DataType = column.data_type();
                Field::new(*name, data_type.clone(), true)
            })
            .collect();
        let columns = columns.into_iter().map(|(_, column)| column).collect();
        RecordBatch::try_new(Arc::new(Schema::new(fields)), columns)
    }
}
