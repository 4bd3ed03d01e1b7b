//! CSV files in and out: the bits of the scalar door, no row lost, whatever the bytes.

use crate::tabular::{Expected, Folder, Table, holds, records, score, table};
use proptest::prelude::*;
use std::io::{Read, Write};
use std::ops::ControlFlow;
use std::path::Path;
use studbay::batch::csv::{HouseRow, MOST_RECORD_BYTES, ScoredRow, read_rows};
use studbay::batch::files::{FileError, FileOptions, Progress, score_file};
use studbay::house::{House, RESULTS, assess};
use studbay::units::UnitSystem;

const HEADER: &str = "house_id,wall_area_ft2,series_r,heating_degree_days_f,heating_efficiency,\
                      fuel,fuel_price,installed_cost,note";

/// A row that is in order.
fn good(id: &str, note: &str) -> String {
    format!("{id},1200,3.06,5600,0.8,natural_gas,1.5,2400,{note}")
}

fn lines(rows: &[String]) -> Vec<u8> {
    format!("{HEADER}\n{}\n", rows.join("\n")).into_bytes()
}

fn check(table: &Table, units: UnitSystem, scored: &[u8], rejects: Option<&[u8]>) {
    let scored = records(scored);
    let rejects = rejects.map(records).unwrap_or_default();
    let carried = table.carried();
    let names = carried.iter().map(|place| table.names[*place].as_str());
    let names: Vec<&str> = names.chain(RESULTS.iter().map(|def| def.name(units))).collect();
    assert_eq!(scored[0], names);
    let (mut scored, mut rejects) = (scored[1..].iter(), rejects.iter().skip(1));
    for (place, expected) in table.expected(units).into_iter().enumerate() {
        match expected {
            Expected::Scored { carried, results } => {
                let row = scored.next().unwrap();
                assert_eq!(row[..carried.len()], carried);
                for (cell, value) in row[carried.len()..].iter().zip(&results) {
                    assert!(holds(cell, value), "row {}: {cell} for {value:?}", place + 1);
                }
            }
            Expected::Rejected { faults } => {
                let row = rejects.next().unwrap();
                assert_eq!(row[0], (place + 1).to_string());
                assert_eq!(row[2], faults);
                assert_eq!(row[3..], table.rows[place]);
            }
        }
    }
    assert!(scored.next().is_none() && rejects.next().is_none(), "rows too many");
}

#[test]
fn the_bits_and_faults_of_the_scalar_door() {
    let table = table(1200);
    for units in [UnitSystem::Ip, UnitSystem::Si] {
        let folder = Folder::new();
        let input = folder.write("in.csv", &table.csv());
        let options = FileOptions { units, ..FileOptions::default() };
        let report = score(&input, &folder.at("out.csv"), &options).unwrap();
        assert_eq!(report.counts.read, 1200);
        assert_eq!(report.counts.scored + report.counts.rejected, 1200);
        assert!(report.counts.rejected > 100 && report.counts.on_hold > 100, "{report:?}");
        assert_eq!(report.rejects, Some(folder.at("out.rejects.csv")));
        let scored = std::fs::read(folder.at("out.csv")).unwrap();
        let rejects = std::fs::read(folder.at("out.rejects.csv")).unwrap();
        check(&table, units, &scored, Some(&rejects));
    }
}

#[test]
fn threads_and_pieces_change_no_byte() {
    let table = table(800);
    let folder = Folder::new();
    let input = folder.write("in.csv", &table.csv());
    let mut first: Option<(Vec<u8>, Vec<u8>)> = None;
    for threads in [1, 2, 4] {
        for piece_bytes in [1, 700, 1 << 14, 1 << 20] {
            let options =
                FileOptions { threads, piece_bytes, force: true, ..FileOptions::default() };
            score(&input, &folder.at("out.csv"), &options).unwrap();
            let read = |name: &str| std::fs::read(folder.at(name)).unwrap();
            let made = (read("out.csv"), read("out.rejects.csv"));
            assert!(first.get_or_insert_with(|| made.clone()) == &made, "{threads} {piece_bytes}");
        }
    }
}

#[test]
fn packed_files_hold_the_same() {
    let table = table(500);
    let folder = Folder::new();
    let input = folder.write("in.csv", &table.csv());
    score(&input, &folder.at("plain.csv"), &FileOptions::default()).unwrap();
    let plain = std::fs::read(folder.at("plain.csv")).unwrap();
    // The input packed, in two members where the format allows it.
    let (one, other) = table.csv().split_at(1000).into_owned();
    let mut gzip = Vec::new();
    let mut zstd_bytes = Vec::new();
    for part in [one, other] {
        let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
        encoder.write_all(&part).unwrap();
        gzip.extend(encoder.finish().unwrap());
        zstd_bytes.extend(zstd::encode_all(part.as_slice(), 1).unwrap());
    }
    folder.write("in.csv.gz", &gzip);
    folder.write("in.csv.zst", &zstd_bytes);
    for (from, to) in [("in.csv.gz", "a.csv.zst"), ("in.csv.zst", "a.csv.gz")] {
        score(&folder.at(from), &folder.at(to), &FileOptions::default()).unwrap();
        assert!(folder.names().contains(&"a.rejects.csv".to_owned()));
        std::fs::remove_file(folder.at("a.rejects.csv")).unwrap();
    }
    let mut read = Vec::new();
    let gzip = std::fs::read(folder.at("a.csv.gz")).unwrap();
    flate2::read::MultiGzDecoder::new(gzip.as_slice()).read_to_end(&mut read).unwrap();
    assert!(read == plain);
    let read = zstd::decode_all(std::fs::File::open(folder.at("a.csv.zst")).unwrap()).unwrap();
    assert!(read == plain);
}

/// `split_at` with parts of their own.
trait IntoOwned {
    fn into_owned(self) -> (Vec<u8>, Vec<u8>);
}

impl IntoOwned for (&[u8], &[u8]) {
    fn into_owned(self) -> (Vec<u8>, Vec<u8>) {
        (self.0.to_vec(), self.1.to_vec())
    }
}

/// Scores bytes; gives the report, the output and the rejects.
fn run(bytes: &[u8]) -> (studbay::batch::files::FileReport, Vec<Vec<String>>, Vec<Vec<String>>) {
    let folder = Folder::new();
    let input = folder.write("in.csv", bytes);
    let report = score(&input, &folder.at("out.csv"), &FileOptions::default()).unwrap();
    let rejects = std::fs::read(folder.at("out.rejects.csv")).unwrap_or_default();
    (report, records(&std::fs::read(folder.at("out.csv")).unwrap()), records(&rejects))
}

#[test]
fn formulas_come_out_as_text() {
    let rows = [
        good("=1+1", "-12.5"),
        good("a", "=HYPERLINK(\"x\")"),
        good("b", "\"@sum,1\""),
        good("c", "+4"),
        good("d", "-cmd"),
        "e,nothing,3.06,5600,0.8,natural_gas,1.5,2400,=2+2".to_owned(),
    ];
    let (report, scored, rejects) = run(&lines(&rows));
    assert_eq!((report.counts.scored, report.counts.rejected), (5, 1));
    let cells: Vec<(&str, &str)> =
        scored[1..].iter().map(|row| (row[0].as_str(), row[1].as_str())).collect();
    let neutral = [
        ("'=1+1", "-12.5"),
        ("a", "'=HYPERLINK(\"x\")"),
        ("b", "'@sum,1"),
        ("c", "+4"),
        ("d", "'-cmd"),
    ];
    assert_eq!(cells, neutral);
    assert_eq!(rejects[1].last().unwrap(), "'=2+2");
}

#[test]
fn byte_order_mark_line_ends_and_blank_lines() {
    for end in ["\n", "\r\n", "\r", "\n\n", "\r\n\r\n"] {
        let text = format!("\u{feff}{HEADER}{end}{}{end}{}", good("a", "x"), good("b", ""));
        let (report, scored, _) = run(text.as_bytes());
        assert_eq!((report.counts.read, report.counts.scored), (2, 2), "{end:?}");
        assert_eq!(scored[2][..2], ["b", ""]);
    }
}

#[test]
fn rows_that_are_no_text_or_have_no_shape_are_rejected_with_their_reason() {
    let long = "x".repeat(3 * MOST_RECORD_BYTES);
    let mut bytes = Vec::new();
    bytes.extend_from_slice(format!("{HEADER}\n").as_bytes());
    bytes.extend_from_slice(format!("{}\n", good("one", "\"two\nlines\"")).as_bytes());
    bytes.extend_from_slice(b"two,1200\n");
    bytes.extend_from_slice(format!("{},more,and more\n", good("three", "x")).as_bytes());
    bytes.extend_from_slice(b"four,oops,3.06,5600,0.8,natural_gas,1.5,2400,caf\xe9\n");
    bytes.extend_from_slice(b"fi\0ve,1200,3.06,5600,0.8,natural_gas,1.5,2400,x\n");
    bytes.extend_from_slice(format!("{}\n", good("six", &long)).as_bytes());
    bytes.extend_from_slice(format!("{}\n", good("seven", "\"never closed")).as_bytes());
    bytes.extend_from_slice(format!("{}\n", good("eight", "fine")).as_bytes());
    let (report, scored, rejects) = run(&bytes);
    assert_eq!((report.counts.read, report.counts.scored), (8, 2));
    assert_eq!([&scored[1][0], &scored[2][0]], ["one", "eight"]);
    let told: Vec<[&str; 4]> = rejects[1..]
        .iter()
        .map(|row| [row[0].as_str(), row[1].as_str(), row[2].as_str(), row[3].as_str()])
        .collect();
    let limit = "row: longer than 1 MiB; its cells are not repeated here";
    let expected = [
        ["2", "4", "row: has 2 cells, the header 9", "two"],
        [
            "3",
            "5",
            "row: has 11 cells, the header 9; the surplus is put into the last column",
            "three",
        ],
        [
            "4",
            "6",
            "wall_area_ft2 = oops: is not a number; allowed is above 0 to 1000000 ft²; \
             note = café: is not UTF-8; shown as Latin-1",
            "four",
        ],
        ["5", "7", "house_id = fi\u{fffd}ve: holds a NUL byte", "fi\0ve"],
        ["6", "8", limit, ""],
        ["7", "9", "row: a cell opens a quote that is never closed", "seven"],
    ];
    // Faults of single cells come in the order in which they were met.
    for (told, expected) in told.iter().zip(expected) {
        assert_eq!(*told, expected);
    }
    assert_eq!(rejects[2].last().unwrap(), "x,more,and more");
    assert_eq!(rejects[3].last().unwrap(), "café");
    let first = &report.first_rejects[0];
    assert_eq!((first.row, first.line), (2, Some(4)));
}

/// Errors of the whole file, and what must be said.
#[test]
fn inputs_that_cannot_be_used_leave_nothing() {
    let mut gzip = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    gzip.write_all(&lines(&(0..2000).map(|n| good(&format!("h{n}"), "x")).collect::<Vec<_>>()))
        .unwrap();
    let gzip = gzip.finish().unwrap();
    let zst = zstd::encode_all(lines(&[good("a", "x")]).as_slice(), 1).unwrap();
    let header = |names: &str| format!("{names}\n").into_bytes();
    let long = "x".repeat(2 * MOST_RECORD_BYTES);
    let cases: Vec<(&str, Vec<u8>, &str)> = vec![
        ("in.csv", vec![], "in.csv: the file is empty"),
        ("in.csv", b"\n\n".to_vec(), "the file is empty"),
        ("in.csv", header("house_id;fuel"), "stand between semicolons"),
        ("in.csv", header("house_id\tfuel"), "stand between tabs"),
        ("in.csv", header("house_id,fuel"), "there is no column wall_area_ft2 or wall_area_m2"),
        ("in.csv", header(&format!("{HEADER},fuel")), "the column fuel stands twice"),
        ("in.csv", header(&format!("{HEADER},npv")), "a name that a result takes"),
        ("in.csv", header(&format!("{HEADER},\"x")), "the header opens a quote"),
        ("in.csv", header(&long), "the header is longer than 1 MiB"),
        ("in.csv", b"house_id,caf\xe9\n".to_vec(), "the header is not UTF-8 text"),
        ("in.csv", b"\xff\xfeh\0".to_vec(), "this is UTF-16"),
        ("in.csv", b"PK\x03\x04".to_vec(), "a zip file or a spreadsheet"),
        ("in.csv", gzip.clone(), "this is gzip; the name must end in .csv.gz"),
        ("in.csv.gz", gzip[..gzip.len() / 2].to_vec(), "the file is cut short"),
        ("in.csv.gz", gzip[..gzip.len() - 4].to_vec(), "the file is cut short"),
        ("in.csv.gz", lines(&[]), "the file cannot be unpacked"),
        ("in.csv.gz", vec![], "the file is"),
        ("in.csv.zst", zst[..zst.len() - 2].to_vec(), "the file is cut short"),
        ("in.csv.zst", lines(&[]), "the file cannot be unpacked"),
        ("in.txt", lines(&[]), "the name must end in .csv, .csv.gz, .csv.zst or .parquet"),
    ];
    for (name, bytes, message) in cases {
        let folder = Folder::new();
        let input = folder.write(name, &bytes);
        let error = score(&input, &folder.at("out.csv"), &FileOptions::default()).unwrap_err();
        let text = error.to_string();
        assert!(text.contains(message), "{name}: {text}");
        assert!(!text.contains('\n'), "{text}");
        assert_eq!(folder.names(), [name], "{text}");
    }
}

#[test]
fn a_header_alone_is_a_table_without_rows() {
    for text in [HEADER.to_owned(), format!("{HEADER}\r\n"), format!("\u{feff}{HEADER}\n\n")] {
        let (report, scored, rejects) = run(text.as_bytes());
        assert_eq!(report.counts.read, 0);
        assert_eq!((scored.len(), rejects.len()), (1, 0));
        assert_eq!(report.rejects, None);
    }
}

#[test]
fn paths_that_cannot_be_used() {
    let folder = Folder::new();
    let input = folder.write("in.csv", &lines(&[good("a", "x")]));
    let kept = folder.write("kept.csv", b"do not touch");
    std::fs::create_dir(folder.at("folder.csv")).unwrap();
    let plain = FileOptions::default();
    let force = FileOptions { force: true, ..FileOptions::default() };
    let to = |name: &str| FileOptions { rejects: Some(folder.at(name)), ..force.clone() };
    let cases: Vec<(&Path, &str, &FileOptions, &str)> = vec![
        (&input, "kept.csv", &plain, "the file exists already"),
        (&input, "in.csv", &force, "this file is also the input"),
        (&input, "folder.csv", &force, "directory"),
        (&input, "nowhere/out.csv", &force, "No such file"),
        (&input, "out.txt", &force, "the name must end in"),
    ];
    for (input, output, options, message) in cases {
        let error = score(input, &folder.at(output), options).unwrap_err().to_string();
        assert!(error.contains(message), "{output}: {error}");
    }
    for (rejects, message) in
        [("in.csv", "also the input"), ("out.csv", "also the output"), ("x.txt", "must end in")]
    {
        let error = score(&input, &folder.at("out.csv"), &to(rejects)).unwrap_err().to_string();
        assert!(error.contains(message), "{rejects}: {error}");
    }
    for (input, message) in [("missing.csv", "No such file"), ("folder.csv", "directory")] {
        let error = score(&folder.at(input), &folder.at("out.csv"), &plain).unwrap_err();
        assert!(matches!(error, FileError::Io { .. }));
        assert!(error.to_string().contains(message), "{error}");
    }
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(&input, folder.at("link.csv")).unwrap();
        std::fs::hard_link(&input, folder.at("hard.csv")).unwrap();
        for name in ["link.csv", "hard.csv"] {
            let error = score(&input, &folder.at(name), &force).unwrap_err().to_string();
            assert!(error.contains("this file is also the input"), "{error}");
        }
        let error = score(&input, Path::new("/dev/null"), &force).unwrap_err().to_string();
        assert!(error.contains("the name must end in"), "{error}");
    }
    assert_eq!(std::fs::read(kept).unwrap(), b"do not touch");
    assert!(folder.names().iter().all(|name| !name.contains("part") && !name.contains("out")));
}

#[test]
fn force_replaces_and_removes_rejects_of_an_earlier_run() {
    let folder = Folder::new();
    let input = folder.write("in.csv", &lines(&[good("a", "x"), "b,1".to_owned()]));
    let force = FileOptions { force: true, ..FileOptions::default() };
    score(&input, &folder.at("out.csv"), &force).unwrap();
    assert_eq!(folder.names(), ["in.csv", "out.csv", "out.rejects.csv"]);
    let error = score(
        &input,
        &folder.at("other.csv"),
        &FileOptions { rejects: Some(folder.at("out.rejects.csv")), ..FileOptions::default() },
    );
    assert!(matches!(error.unwrap_err(), FileError::Exists { .. }));
    folder.write("in.csv", &lines(&[good("a", "x")]));
    let report = score(&input, &folder.at("out.csv"), &force).unwrap();
    assert_eq!(report.rejects, None);
    assert_eq!(folder.names(), ["in.csv", "out.csv"]);
    // Asked for by name, the second table is there even when it is empty.
    let asked = FileOptions { rejects: Some(folder.at("r.csv")), ..force };
    score(&input, &folder.at("out.csv"), &asked).unwrap();
    assert_eq!(records(&std::fs::read(folder.at("r.csv")).unwrap()).len(), 1);
}

/// Stops after so many calls.
struct Stop(std::cell::Cell<u32>);

impl Progress for Stop {
    fn advance(&self, _: u64, _: u64, done: u64, total: Option<u64>) -> ControlFlow<()> {
        assert!(total.is_none_or(|total| done <= total));
        self.0.set(self.0.get().saturating_sub(1));
        if self.0.get() == 0 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    }
}

#[test]
fn a_run_that_is_stopped_leaves_what_was_there() {
    let rows: Vec<String> = (0..40_000).map(|n| good(&format!("h{n}"), "x")).collect();
    let folder = Folder::new();
    let input = folder.write("in.csv", &lines(&rows));
    folder.write("out.csv", b"earlier");
    for threads in [1, 2] {
        let options = FileOptions { force: true, threads, ..FileOptions::default() };
        let stop = Stop(std::cell::Cell::new(1));
        let error = score_file(&input, &folder.at("out.csv"), &options, &stop).unwrap_err();
        assert!(matches!(error, FileError::Cancelled), "{error}");
        let options = options.clone();
        options.cancel.cancel();
        let error = score(&input, &folder.at("out.csv"), &options).unwrap_err();
        assert!(matches!(error, FileError::Cancelled), "{error}");
    }
    assert_eq!(folder.names(), ["in.csv", "out.csv"]);
    assert_eq!(std::fs::read(folder.at("out.csv")).unwrap(), b"earlier");
}

#[test]
fn the_row_model_writes_and_reads_such_tables() {
    let row = HouseRow {
        house_id: "two-family".to_owned(),
        wall_area_ft2: 1200.0,
        series_r: Some(3.06),
        heating_degree_days_f: 5600.0,
        heating_efficiency: 0.8,
        fuel: "natural_gas".to_owned(),
        fuel_price: Some(1.5),
        installed_cost: 2400.0,
        knob_and_tube: Some("yes".to_owned()),
        ..HouseRow::default()
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.serialize(&row).unwrap();
    let folder = Folder::new();
    let input = folder.write("in.csv", &writer.into_inner().unwrap());
    score(&input, &folder.at("out.csv"), &FileOptions::default()).unwrap();
    let written = std::fs::read(folder.at("out.csv")).unwrap();
    let scored: Vec<ScoredRow> = read_rows(written.as_slice()).collect::<Result<_, _>>().unwrap();
    let house = House::builder()
        .id("two-family")
        .named("wall_area_ft2", 1200.0.into_cell())
        .named("series_r", 3.06.into_cell())
        .named("heating_degree_days_f", 5600.0.into_cell())
        .named("heating_efficiency", 0.8.into_cell())
        .named("fuel", studbay::house::Cell::Text("natural_gas"))
        .named("fuel_price", 1.5.into_cell())
        .named("installed_cost", 2400.0.into_cell())
        .named("knob_and_tube", studbay::house::Cell::Text("yes"))
        .build()
        .unwrap();
    let figures = assess(&house);
    assert_eq!(scored[0].npv, Some(figures.npv));
    assert_eq!(scored[0].irr, figures.irr);
    assert_eq!(scored[0].readiness, "hold");
}

trait IntoCell {
    fn into_cell(self) -> studbay::house::Cell<'static>;
}

impl IntoCell for f64 {
    fn into_cell(self) -> studbay::house::Cell<'static> {
        studbay::house::Cell::Number(self)
    }
}

/// Places and bytes to put there.
fn damage() -> impl Strategy<Value = Vec<(prop::sample::Index, Vec<u8>)>> {
    let bytes = prop_oneof![
        Just(b"\"".to_vec()),
        Just(b",".to_vec()),
        Just(b"\n".to_vec()),
        Just(b"\r".to_vec()),
        Just(b"\0".to_vec()),
        Just(b"\xe9".to_vec()),
        Just(b"\"\"".to_vec()),
        prop::collection::vec(any::<u8>(), 0..4),
    ];
    prop::collection::vec((any::<prop::sample::Index>(), bytes), 0..12)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Whatever is done to the bytes, every row is scored or rejected, in order, and the numbers
    /// of the rows say so.
    #[test]
    fn no_row_is_lost(damage in damage(), piece_bytes in 1_usize..3000, threads in 1_usize..3) {
        let rows: Vec<String> = (0..60).map(|n| good(&format!("h{n}"), "\"a, b\"")).collect();
        let mut bytes = lines(&rows);
        let header = HEADER.len() + 1;
        for (place, part) in damage {
            let at = header + place.index(bytes.len() - header);
            bytes.splice(at..at, part);
        }
        let folder = Folder::new();
        let input = folder.write("in.csv", &bytes);
        let options = FileOptions { piece_bytes, threads, ..FileOptions::default() };
        let report = score(&input, &folder.at("out.csv"), &options).unwrap();
        let scored = records(&std::fs::read(folder.at("out.csv")).unwrap());
        let rejects = std::fs::read(folder.at("out.rejects.csv")).unwrap_or_default();
        let rejects = records(&rejects);
        let counts = report.counts;
        prop_assert_eq!(counts.scored + counts.rejected, counts.read);
        prop_assert_eq!(scored.len() as u64 - 1, counts.scored);
        prop_assert_eq!(rejects.len().saturating_sub(1) as u64, counts.rejected);
        let numbers: Vec<u64> = rejects.iter().skip(1).map(|row| row[0].parse().unwrap()).collect();
        prop_assert!(numbers.is_sorted_by(|a, b| a < b) && numbers.iter().all(|n| *n <= counts.read));
        let known = |row: &Vec<String>| row[0].strip_prefix('h')?.parse::<u64>().ok();
        let order: Vec<u64> = scored[1..].iter().filter_map(known).filter(|n| *n < 60).collect();
        let untouched = order.windows(2).filter(|pair| pair[0] >= pair[1]).count();
        prop_assert!(untouched <= 12, "{:?}", order);
        // Where no quote stays open, the csv crate counts the same rows.
        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(bytes.as_slice());
        let odd = rejects.iter().any(|row| row[2].contains("never closed"));
        if !odd {
            prop_assert_eq!(reader.byte_records().count() as u64, counts.read);
        }
    }
}
