//! Summaries and selections of scored tables: invented rows small enough to reckon by hand, and
//! what must hold of any.

use arrow_array::{Array, ArrayRef, Float64Array, Int64Array, RecordBatch, StringArray};
use arrow_array::{BooleanArray, DictionaryArray, types::Int32Type};
use proptest::prelude::*;
use std::sync::Arc;
use studbay::batch::selection::{LeftOut, Rank, Selection, select};
use studbay::batch::summary::{Key, QUANTILES, Summary, Sums};
use studbay::readiness::Finding;

#[derive(Clone, Debug)]
struct Row {
    id: &'static str,
    county: Option<&'static str>,
    readiness: Option<&'static str>,
    findings: &'static str,
    /// net_cost, annual_savings, lifetime_savings, lifetime_co2e_kg, bags.
    figures: [Option<f64>; 5],
    payback: Option<f64>,
    sir: Option<f64>,
    per_tonne: Option<f64>,
    faults: Option<&'static str>,
}

fn scored(
    id: &'static str,
    county: Option<&'static str>,
    readiness: (&'static str, &'static str),
    figures: [f64; 5],
    ratios: [Option<f64>; 3],
) -> Row {
    let [payback, sir, per_tonne] = ratios;
    let (readiness, findings) = (Some(readiness.0), readiness.1);
    Row {
        id,
        county,
        readiness,
        findings,
        figures: figures.map(Some),
        payback,
        sir,
        per_tonne,
        faults: None,
    }
}

fn rejected(id: &'static str, county: &'static str, faults: &'static str) -> Row {
    let (county, faults) = (Some(county), Some(faults));
    let none = None;
    Row {
        id,
        county,
        readiness: none,
        findings: "",
        figures: [None; 5],
        payback: None,
        sir: None,
        per_tonne: None,
        faults,
    }
}

/// Eight rows with round numbers.
fn rows() -> Vec<Row> {
    let (north, south) = (Some("North"), Some("South"));
    let held = ("hold", "knob_and_tube;vermiculite;lead_safe_work");
    let choice =
        "fuel = coal: must be one of natural_gas, propane; rebate = -1: allowed is 0 or more";
    vec![
        scored(
            "a",
            north,
            ("clear", ""),
            [1000.0, 100.0, 3000.0, 10_000.0, 10.0],
            [Some(10.0), Some(2.0), Some(100.0)],
        ),
        scored(
            "b",
            north,
            ("check", "lead_safe_work"),
            [2000.0, 100.0, 3000.0, 20_000.0, 20.0],
            [Some(20.0), Some(1.0), Some(100.0)],
        ),
        scored(
            "c",
            south,
            held,
            [500.0, 500.0, 15_000.0, 50_000.0, 5.0],
            [Some(1.0), Some(20.0), Some(10.0)],
        ),
        scored(
            "d",
            south,
            ("clear", "no_saving"),
            [3000.0, 0.0, 0.0, -100.0, 30.0],
            [None, Some(0.0), None],
        ),
        rejected("e", "South", choice),
        scored(
            "f",
            None,
            ("check", ""),
            [4000.0, 400.0, 12_000.0, 40_000.0, 40.0],
            [Some(10.0), Some(2.0), Some(100.0)],
        ),
        rejected("g", "North", "installed_cost: must be given: 0 or more"),
        scored(
            "h",
            south,
            ("clear", ""),
            [0.0, 50.0, 1500.0, 1000.0, 8.0],
            [Some(0.0), None, Some(0.0)],
        ),
    ]
}

fn number(rows: &[Row], of: impl Fn(&Row) -> Option<f64>) -> ArrayRef {
    Arc::new(rows.iter().map(of).collect::<Float64Array>())
}

fn word<'r>(rows: &'r [Row], of: impl Fn(&'r Row) -> Option<&'r str>) -> ArrayRef {
    Arc::new(rows.iter().map(of).collect::<StringArray>())
}

fn columns(rows: &[Row]) -> Vec<(&'static str, ArrayRef)> {
    vec![
        ("house_id", word(rows, |row| Some(row.id))),
        ("county", word(rows, |row| row.county)),
        ("readiness", word(rows, |row| row.readiness)),
        ("findings", word(rows, |row| row.readiness.map(|_| row.findings))),
        ("net_cost", number(rows, |row| row.figures[0])),
        ("annual_savings", number(rows, |row| row.figures[1])),
        ("lifetime_savings", number(rows, |row| row.figures[2])),
        ("lifetime_co2e_kg", number(rows, |row| row.figures[3])),
        ("bags", number(rows, |row| row.figures[4])),
        ("simple_payback_years", number(rows, |row| row.payback)),
        ("sir", number(rows, |row| row.sir)),
        ("cost_per_tonne", number(rows, |row| row.per_tonne)),
        ("faults", word(rows, |row| row.faults)),
    ]
}

fn table(columns: Vec<(&'static str, ArrayRef)>) -> RecordBatch {
    let columns = columns.into_iter().map(|(name, array)| (name, array, true));
    RecordBatch::try_from_iter_with_nullable(columns).unwrap()
}

fn batch(rows: &[Row]) -> RecordBatch {
    table(columns(rows))
}

fn with(name: &'static str, array: ArrayRef) -> RecordBatch {
    let mut columns = columns(&rows());
    match columns.iter_mut().find(|(other, _)| *other == name) {
        Some(column) => column.1 = array,
        None => columns.push((name, array)),
    }
    table(columns)
}

fn summary(batch: &RecordBatch, by: Option<&str>) -> Result<Summary, String> {
    let mut summary = Summary::new(batch.schema_ref(), by).map_err(|error| error.to_string())?;
    summary.push(batch).map_err(|error| error.to_string())?;
    Ok(summary)
}

fn chosen(batch: &RecordBatch, budget: f64, by: Rank) -> Selection {
    select(batch.schema_ref(), vec![batch.clone()], budget, by).unwrap()
}

fn column<'b, T: Array + 'static>(batch: &'b RecordBatch, name: &str) -> &'b T {
    batch.column_by_name(name).unwrap().as_any().downcast_ref().unwrap()
}

#[test]
fn every_figure_of_eight_rows() {
    let summary = summary(&batch(&rows()), None).unwrap();
    let total = summary.total();
    assert_eq!((total.read, total.rejected, total.scored.houses), (8, 2, 6));
    assert_eq!((total.hold, total.check, total.clear), (1, 2, 3));
    assert_eq!(
        total.scored,
        Sums {
            houses: 6,
            net_cost: 10_500.0,
            annual_savings: 1150.0,
            lifetime_savings: 34_500.0,
            lifetime_co2e_t: 120.9,
            bags: 113.0,
        }
    );
    assert_eq!(
        total.on_hold,
        Sums {
            houses: 1,
            net_cost: 500.0,
            annual_savings: 500.0,
            lifetime_savings: 15_000.0,
            lifetime_co2e_t: 50.0,
            bags: 5.0,
        }
    );
    // Of 0, 1, 10, 10, 20: ranks 0.4, 1, 2, 3 and 3.6 from 0.
    assert_eq!((total.with_payback, total.without_payback), (5, 1));
    assert_eq!(total.payback_years, [0.4, 1.0, 10.0, 10.0, 16.0].map(Some));
    let reasons: Vec<_> =
        summary.reasons().into_iter().map(|(reason, n)| (reason.field, reason.code, n)).collect();
    assert_eq!(
        reasons,
        [("fuel".to_owned(), "not_a_choice", 1), ("installed_cost".to_owned(), "missing", 1)]
    );
    assert_eq!(summary.holds(), [(Finding::KnobAndTube, 1), (Finding::Vermiculite, 1)]);
}

#[test]
fn groups_by_a_column_stand_in_order() {
    let summary = summary(&batch(&rows()), Some("county")).unwrap();
    let groups = summary.groups();
    let names: Vec<String> = groups.iter().map(|(key, _)| key.to_string()).collect();
    assert_eq!(names, ["North", "South", "not given"]);
    let counts: Vec<_> =
        groups.iter().map(|(_, f)| (f.read, f.rejected, f.hold, f.check, f.clear)).collect();
    assert_eq!(counts, [(3, 1, 0, 1, 1), (4, 1, 1, 0, 2), (1, 0, 0, 1, 0)]);
    assert_eq!(groups[0].1.scored.net_cost, 3000.0);
    assert_eq!(groups[0].1.payback_years, [11.0, 12.5, 15.0, 17.5, 19.0].map(Some));
    assert_eq!(groups[1].1.on_hold.lifetime_co2e_t, 50.0);
    assert_eq!(groups[2].1.payback_years, [Some(10.0); QUANTILES.len()]);
    assert_eq!(summary.total().scored.net_cost, 10_500.0);

    let table = summary.table().unwrap();
    assert_eq!(
        column::<StringArray>(&table, "county").iter().collect::<Vec<_>>(),
        [Some("North"), Some("South"), None]
    );
    assert_eq!(column::<Int64Array>(&table, "houses_scored").values(), &[2, 3, 1]);
    assert_eq!(column::<Float64Array>(&table, "bags_sum").values(), &[30.0, 43.0, 40.0]);
    assert_eq!(column::<Float64Array>(&table, "payback_years_p50").value(1), 0.5);
    assert_eq!(summary.reason_table().unwrap().num_rows(), 2);
}

#[test]
fn keys_keep_their_type_and_sort_by_size() {
    let by = |array: ArrayRef| {
        let summary = summary(&with("key", array), Some("key")).unwrap();
        let names: Vec<String> = summary.groups().iter().map(|(key, _)| key.to_string()).collect();
        (names.join(" "), summary.table().unwrap().column(0).data_type().to_string())
    };
    let whole = Int64Array::from(vec![
        Some(10),
        Some(9),
        None,
        Some(-1),
        Some(9),
        Some(9),
        Some(9),
        Some(9),
    ]);
    assert_eq!(by(Arc::new(whole)), ("-1 9 10 not given".to_owned(), "Int64".to_owned()));
    let number = Float64Array::from(vec![0.5, -0.0, 0.0, f64::NAN, 10.0, 9.0, 9.0, 9.0]);
    assert_eq!(by(Arc::new(number)), ("0 0.5 9 10 not given".to_owned(), "Float64".to_owned()));
    let flag = BooleanArray::from(vec![true, false, true, true, true, true, true, true]);
    assert_eq!(by(Arc::new(flag)), ("false true".to_owned(), "Boolean".to_owned()));
    // A CSV reader leaves numbers as text.
    let text = StringArray::from(vec!["10", "9", " ", "old", "new", "9.5", "9", "9"]);
    assert_eq!(by(Arc::new(text)), ("9 9.5 10 new old not given".to_owned(), "Utf8".to_owned()));
    let dictionary: DictionaryArray<Int32Type> =
        vec!["b", "a", "b", "a", "b", "a", "b", "a"].into_iter().collect();
    assert_eq!(by(Arc::new(dictionary)), ("a b".to_owned(), "Utf8".to_owned()));
}

#[test]
fn one_group_or_none_and_no_rows() {
    let batch = batch(&rows());
    let one = summary(&batch, None).unwrap();
    assert_eq!(one.groups(), vec![(Key::Nothing, one.total())]);
    assert_eq!(one.table().unwrap().num_rows(), 1);
    let empty = summary(&batch.slice(0, 0), Some("county")).unwrap();
    assert_eq!(empty.total().scored, Sums::default());
    assert_eq!(empty.total().payback_years, [None; QUANTILES.len()]);
    assert_eq!(empty.table().unwrap().num_rows(), 0);
    assert_eq!(chosen(&batch.slice(0, 0), 1.0, Rank::Sir).chosen_table().unwrap().num_rows(), 0);
}

#[test]
fn a_table_that_was_a_csv_file_gives_the_same() {
    let batch = batch(&rows());
    let text = columns(&rows()).into_iter().map(|(name, array)| {
        let cast = arrow_cast::cast(&array, &arrow_schema::DataType::Utf8).unwrap();
        let cells: StringArray = cast
            .as_any()
            .downcast_ref::<StringArray>()
            .unwrap()
            .iter()
            .map(|c| c.or(Some("")))
            .collect();
        (name, Arc::new(cells) as ArrayRef)
    });
    let text = table(text.collect());
    let (a, b) =
        (summary(&batch, Some("county")).unwrap(), summary(&text, Some("county")).unwrap());
    assert_eq!(a.groups(), b.groups());
    assert_eq!(a.reasons(), b.reasons());
    let (a, b) = (chosen(&batch, 4500.0, Rank::Sir), chosen(&text, 4500.0, Rank::Sir));
    assert_eq!(a.chosen(), b.chosen());
    assert_eq!(a.left_out(), b.left_out());
}

#[test]
fn what_is_no_scored_table_is_refused() {
    let refused = |batch: &RecordBatch, by| summary(batch, by).unwrap_err();
    let text = refused(&batch(&rows()).project(&[0, 1, 2]).unwrap(), None);
    assert!(text.contains("there is no column net_cost"), "{text}");
    assert!(text.contains("score the houses first"), "{text}");
    let text = refused(&batch(&rows()), Some("conty"));
    assert_eq!(text, "there is no column conty to group by; is county meant?");
    // A hold under another name must never count as clear.
    let words = StringArray::from(vec!["clear", "HOLD", "", "", "", "", "", ""]);
    let text = refused(&with("readiness", Arc::new(words)), None);
    assert_eq!(text, "readiness in row 2 is HOLD: hold, check or clear is expected");
    let words = StringArray::from(vec!["1", "2", "3,5", "", "", "", "", ""]);
    let text = refused(&with("bags", Arc::new(words)), None);
    assert_eq!(text, "bags in row 3 is not a number: 3,5");
    let text = refused(&with("bags_sum", Arc::new(Int64Array::from(vec![1; 8]))), Some("bags_sum"));
    assert!(text.contains("rename"), "{text}");
    let batch = batch(&rows());
    for budget in [-1.0, f64::NAN, f64::INFINITY] {
        let error = select(batch.schema_ref(), vec![batch.clone()], budget, Rank::Sir).unwrap_err();
        assert!(error.to_string().starts_with("budget = "), "{error}");
    }
    let ranked = with("rank", Arc::new(Int64Array::from(vec![1; 8])));
    let error = select(ranked.schema_ref(), vec![ranked.clone()], 1.0, Rank::Sir).unwrap_err();
    assert!(error.to_string().contains("rename"), "{error}");
}

#[test]
fn a_missing_figure_is_counted_and_adds_nothing() {
    let cells =
        Float64Array::from(vec![None, Some(2000.0), None, None, None, Some(-4.0), None, Some(0.0)]);
    let batch = with("net_cost", Arc::new(cells));
    let total = summary(&batch, None).unwrap().total();
    assert_eq!((total.incomplete, total.scored.net_cost), (3, 1996.0));
    let selection = chosen(&batch, 5000.0, Rank::Sir);
    assert_eq!(selection.chosen().iter().map(|c| c.row).collect::<Vec<_>>(), [8, 2]);
    assert!(selection.counts().contains(&(LeftOut::NoFigure, 3)));
}

#[test]
fn by_ratio_a_house_that_no_longer_fits_is_passed_over() {
    let selection = chosen(&batch(&rows()), 4500.0, Rank::Sir);
    // The free house, then ratios 2.0 (a), 2.0 (f: 4,000 when 3,500 are left), 1.0 (b).
    let list: Vec<_> = selection
        .chosen()
        .iter()
        .map(|c| (selection.house_id(c.row).unwrap(), c.rank, c.running_cost, c.look_first))
        .collect();
    assert_eq!(list, [("h", 1, 0.0, false), ("a", 2, 1000.0, false), ("b", 4, 3000.0, true)]);
    let out: Vec<_> = selection
        .left_out()
        .iter()
        .map(|h| (selection.house_id(h.row).unwrap(), h.reason.code(), h.rank))
        .collect();
    assert_eq!(
        out,
        [
            ("c", "hold", None),
            ("d", "saves_nothing", None),
            ("e", "rejected", None),
            ("f", "over_budget", Some(3)),
            ("g", "rejected", None),
        ]
    );
    let why: Vec<&str> = selection.left_out().iter().map(|house| house.why.as_str()).collect();
    assert_eq!(why[0], "on hold: the work must not start: knob_and_tube, vermiculite");
    assert_eq!(why[3], "costs 4,000.00 when 3,500.00 were left");
    assert_eq!(why[4], "could not be scored: installed_cost: must be given: 0 or more");
    let total = selection.total();
    assert_eq!((total.houses, total.look_first, total.below_one, total.repeated_ids), (3, 1, 0, 0));
    assert_eq!((total.net_cost, total.left), (3000.0, 1500.0));
    assert_eq!((total.annual_savings, total.lifetime_savings), (250.0, 7500.0));
    assert_eq!(total.lifetime_co2e_t, 31.0);

    let table = selection.chosen_table().unwrap();
    assert_eq!(column::<Int64Array>(&table, "rank").values(), &[1, 2, 4]);
    assert_eq!(column::<Int64Array>(&table, "row").values(), &[8, 1, 2]);
    assert_eq!(column::<StringArray>(&table, "county").value(0), "South");
    assert_eq!(column::<Float64Array>(&table, "net_cost").values(), &[0.0, 1000.0, 2000.0]);
    assert!(column::<BooleanArray>(&table, "look_first").value(2));
    assert!(table.column_by_name("faults").is_none());
    assert_eq!(selection.left_out_table().unwrap().num_rows(), 5);
}

#[test]
fn a_budget_met_to_the_cent_is_met() {
    let selection = chosen(&batch(&rows()), 5000.0, Rank::Sir);
    let list: Vec<_> = selection.chosen().iter().map(|c| c.rank).collect();
    assert_eq!((list, selection.total().left), (vec![1, 2, 3], 0.0));
    let selection = chosen(&batch(&rows()), 0.0, Rank::Sir);
    assert_eq!(selection.chosen().iter().map(|c| c.row).collect::<Vec<_>>(), [8]);
}

#[test]
fn by_tonne_equal_ones_stay_in_the_order_of_the_table() {
    let selection = chosen(&batch(&rows()), 3500.0, Rank::CostPerTonne);
    let list: Vec<_> = selection.chosen().iter().map(|c| (c.row, c.rank)).collect();
    assert_eq!(list, [(8, 1), (1, 2), (2, 3)]);
    assert_eq!(selection.total().left, 500.0);
    let cells =
        Float64Array::from(vec![Some(100.0), None, None, None, None, Some(1.0), None, None]);
    let selection = chosen(&with("cost_per_tonne", Arc::new(cells)), 3500.0, Rank::CostPerTonne);
    assert_eq!(selection.counts().iter().find(|(r, _)| *r == LeftOut::NoFigure).unwrap().1, 2);
    let cells = Float64Array::from(vec![-1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0]);
    let batch = with("lifetime_co2e_kg", Arc::new(cells));
    let no_tonne = Float64Array::from(vec![None, Some(1.0), None, None, None, None, None, None]);
    let mut all: Vec<_> = batch.columns().to_vec();
    all[11] = Arc::new(no_tonne);
    let batch = RecordBatch::try_new(batch.schema(), all).unwrap();
    let selection = chosen(&batch, 3500.0, Rank::CostPerTonne);
    assert!(selection.counts().contains(&(LeftOut::AvoidsNothing, 1)));
}

#[test]
fn a_house_id_that_stands_twice_is_counted() {
    let ids = StringArray::from(vec!["a", "b", "a", "a", "x", "y", "z", "b"]);
    let selection = chosen(&with("house_id", Arc::new(ids)), 1.0, Rank::Sir);
    assert_eq!(selection.total().repeated_ids, 3);
}

/// A cost as people write it, to the cent; now and then a wild number.
fn amount() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => (0..2_000_000_u32).prop_map(|cents| f64::from(cents) / 100.0),
        1 => -1e6..1e6_f64,
        1 => prop::num::f64::ANY,
    ]
}

fn any_row() -> impl Strategy<Value = Row> {
    let county = prop::sample::select(vec![None, Some(""), Some("North"), Some("9"), Some("10")]);
    let readiness = prop::sample::select(vec![
        (None, ""),
        (Some("hold"), "moisture_problem"),
        (Some("check"), "lead_safe_work"),
        (Some("clear"), ""),
    ]);
    let figures = prop::array::uniform5(prop::option::weighted(0.95, amount()));
    let ratios = prop::array::uniform3(prop::option::weighted(
        0.9,
        prop_oneof![(-3..9_i8).prop_map(f64::from), -1.0..9.0_f64],
    ));
    (county, readiness, figures, ratios).prop_map(
        |(county, (readiness, findings), figures, ratios)| {
            let [payback, sir, per_tonne] = ratios;
            let faults = readiness.is_none().then_some("fuel: must be given: one of coal");
            Row { id: "x", county, readiness, findings, figures, payback, sir, per_tonne, faults }
        },
    )
}

/// Every figure of every group, to the bit.
fn bits(summary: &Summary) -> Vec<String> {
    let total = [(Key::Text("total".into()), summary.total())];
    let all = summary.groups().into_iter().chain(total);
    all.flat_map(|(key, figures)| {
        figures.named().map(|(name, figure)| match figure {
            studbay::batch::summary::Figure::Count(count) => format!("{key} {name} {count}"),
            studbay::batch::summary::Figure::Amount(amount) => {
                format!("{key} {name} {:?}", amount.map(f64::to_bits))
            }
        })
    })
    .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    /// Rows in any order, cut into any batches, counted by any number of threads: the same bits.
    #[test]
    fn order_batches_and_threads_do_not_move_a_bit(
        (rows, shuffled) in prop::collection::vec(any_row(), 1..60)
            .prop_flat_map(|rows| (Just(rows.clone()), Just(rows).prop_shuffle())),
        length in 1..20_usize,
    ) {
        let whole = summary(&batch(&rows), Some("county")).unwrap();
        let mut one = Summary::new(batch(&rows).schema_ref(), Some("county")).unwrap();
        let parts: Vec<Summary> = std::thread::scope(|scope| {
            let work: Vec<_> = shuffled
                .chunks(length)
                .map(|rows| scope.spawn(move || summary(&batch(rows), Some("county")).unwrap()))
                .collect();
            work.into_iter().map(|work| work.join().unwrap()).collect()
        });
        for part in parts {
            one.merge(part).unwrap();
        }
        prop_assert_eq!(bits(&whole), bits(&one));
        prop_assert_eq!(whole.reasons(), one.reasons());
        let total = whole.total();
        prop_assert_eq!(total.read, rows.len() as u64);
        prop_assert_eq!(total.scored.houses + total.rejected, total.read);
        prop_assert_eq!(total.hold + total.check + total.clear, total.scored.houses);
    }

    /// The list keeps to the budget, loses no house, takes none on hold, and a house is passed
    /// over only where it did not fit.
    #[test]
    fn a_list_keeps_to_its_budget_and_its_order(
        rows in prop::collection::vec(any_row(), 0..60),
        budget in prop_oneof![Just(0.0), 0.0..200_000.0_f64],
        by in prop::sample::select(Rank::ALL.to_vec()),
        length in 1..20_usize,
    ) {
        let whole = batch(&rows);
        let batches = (0..rows.len()).step_by(length).map(|from| whole.slice(from, length.min(rows.len() - from)));
        let selection = select(whole.schema_ref(), batches.collect(), budget, by).unwrap();
        let again = chosen(&whole, budget, by);
        prop_assert_eq!(selection.chosen(), again.chosen());
        prop_assert_eq!(selection.left_out(), again.left_out());
        let total = selection.total();
        prop_assert!(total.net_cost <= budget && total.left >= 0.0);
        prop_assert_eq!(selection.chosen().len() + selection.left_out().len(), rows.len());
        let scored = rows.iter().filter(|row| row.readiness.is_some()).count();
        let rejected = selection.left_out().iter().filter(|h| h.reason == LeftOut::Rejected).count();
        prop_assert_eq!(scored + rejected, rows.len());
        let mut seen: Vec<u64> = selection.chosen().iter().map(|c| c.row)
            .chain(selection.left_out().iter().map(|h| h.row)).collect();
        seen.sort_unstable();
        prop_assert!(seen.into_iter().eq(1..=rows.len() as u64));
        let mut ranks: Vec<u64> = selection.chosen().iter().map(|c| c.rank)
            .chain(selection.left_out().iter().filter_map(|h| h.rank)).collect();
        ranks.sort_unstable();
        let most = ranks.len() as u64;
        prop_assert!(ranks.into_iter().eq(1..=most));
        for pair in selection.chosen().windows(2) {
            prop_assert!(pair[0].rank < pair[1].rank);
            prop_assert!(pair[0].running_cost <= pair[1].running_cost);
        }
        for house in selection.chosen() {
            let row = &rows[usize::try_from(house.row).unwrap() - 1];
            prop_assert!(row.readiness != Some("hold") && row.figures[1].unwrap() > 0.0);
            prop_assert_eq!(house.look_first, row.readiness == Some("check"));
        }
        for house in selection.left_out().iter().filter(|h| h.reason == LeftOut::OverBudget) {
            let before = selection.chosen().iter().rfind(|c| Some(c.rank) < house.rank);
            let spent = before.map_or(0.0, |c| c.running_cost);
            prop_assert!(spent + house.net_cost.unwrap() > budget);
        }
        let table = selection.chosen_table().unwrap();
        prop_assert_eq!(table.num_rows(), selection.chosen().len());
    }
}
