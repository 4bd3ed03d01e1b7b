//! Turns the published-number tables in `src/tables/*.csv` into constants.
//!
//! The numbers stay in plain files, one column a quantity, with mark, source and locator beside
//! each row; the library carries them as `static` data, so that nothing is parsed at run time.
//! A malformed table stops the build with the file and line.

#![expect(
    clippy::panic,
    clippy::expect_used,
    reason = "a malformed table must stop the build, and this is how"
)]

use std::collections::HashSet;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

type Row = csv::StringRecord;

struct Table {
    name: &'static str,
    header: Row,
    rows: Vec<Row>,
}

impl Table {
    fn read(name: &'static str) -> Self {
        let path = Path::new("src/tables").join(format!("{name}.csv"));
        println!("cargo:rerun-if-changed={}", path.display());
        let mut reader = csv::Reader::from_path(&path)
            .unwrap_or_else(|e| panic!("cannot read {}: {e}", path.display()));
        let header = reader.headers().unwrap_or_else(|e| panic!("{name}.csv: {e}")).clone();
        let rows =
            reader.records().map(|r| r.unwrap_or_else(|e| panic!("{name}.csv: {e}"))).collect();
        Self { name, header, rows }
    }

    fn column(&self, name: &str) -> usize {
        self.header
            .iter()
            .position(|h| h == name)
            .unwrap_or_else(|| panic!("{}.csv has no column {name}", self.name))
    }

    fn text<'r>(&self, row: &'r Row, column: &str) -> &'r str {
        row[self.column(column)].trim()
    }

    fn number(&self, row: &Row, column: &str) -> String {
        self.optional(row, column)
            .unwrap_or_else(|| panic!("{}.csv: {column} is blank in {row:?}", self.name))
    }

    /// The cell as a Rust `f64` literal; `None` when it is blank.
    fn optional(&self, row: &Row, column: &str) -> Option<String> {
        let cell = self.text(row, column);
        (!cell.is_empty()).then(|| {
            let value: f64 = cell
                .parse()
                .unwrap_or_else(|e| panic!("{}.csv: {column} = {cell:?}: {e}", self.name));
            assert!(value.is_finite(), "{}.csv: {column} = {cell}", self.name);
            format!("{value:?}")
        })
    }

    fn option(&self, row: &Row, column: &str) -> String {
        match self.optional(row, column) {
            Some(value) => format!("Some({value})"),
            None => "None".to_owned(),
        }
    }

    /// `Citation { .. }` for the row's mark, source and locator.
    fn citation(&self, row: &Row, sources: &HashSet<String>) -> String {
        let columns = ["mark", "source_id", "locator"].map(|column| self.text(row, column));
        self.cite(columns, sources)
    }

    /// `Cited { .. }`: a value with a mark and a source of its own.
    fn cited(&self, row: &Row, value: &str, name: &str, sources: &HashSet<String>) -> String {
        let mark = self.text(row, &format!("{name}_mark"));
        let source = self.text(row, &format!("{name}_source_id"));
        let citation = self.cite([mark, source, ""], sources);
        format!("Cited {{ value: {}, citation: {citation} }}", self.number(row, value))
    }

    fn cite(&self, [mark, id, locator]: [&str; 3], sources: &HashSet<String>) -> String {
        assert!(sources.contains(id), "{}.csv: unknown source_id {id:?}", self.name);
        let mark = match mark {
            "S" => "Seen",
            "S2" => "SecondHand",
            "M" => "Memory",
            "T" => "Practice",
            "D" => "Derived",
            "J" => "Judgement",
            other => panic!("{}.csv: unknown mark {other:?}", self.name),
        };
        format!("Citation {{ source: SourceId({id:?}), locator: {locator:?}, mark: Mark::{mark} }}")
    }
}

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rustc-env=STUDBAY_COMMIT={}", commit().unwrap_or_default());
    let mut out = String::new();
    let sources = sources(&mut out);
    materials(&mut out, &sources);
    roles(&mut out);
    films(&mut out, &sources);
    air_spaces(&mut out, &sources);
    air_gap_levels(&mut out, &sources);
    fuels(&mut out, &sources);
    grid(&mut out, &sources);
    constants(&mut out, &sources);
    spreads(&mut out, &sources);
    access(&mut out, &sources);
    permeances(&mut out, &sources);
    places(&mut out, &sources);
    let dir = std::env::var_os("OUT_DIR").map(PathBuf::from).expect("cargo sets OUT_DIR");
    std::fs::write(dir.join("tables.rs"), out).expect("the build folder can be written");
}

/// The commit that is built, with `+changes` where files of the checkout had been changed; nothing in a source package, where git is missing,
/// and in a debug build, which would otherwise be made anew after every commit.
fn commit() -> Option<String> {
    println!("cargo:rerun-if-env-changed=PROFILE");
    // A package may lie unpacked inside somebody else's checkout: only one that begins here counts.
    if !Path::new(".git").exists() || std::env::var("PROFILE").ok()? != "release" {
        return None;
    }
    let git = |arguments: &[&str]| {
        let done = std::process::Command::new("git").args(arguments).output().ok()?;
        let text = String::from_utf8(done.stdout).ok()?;
        done.status.success().then(|| text.trim().to_owned())
    };
    let folder = git(&["rev-parse", "--absolute-git-dir"])?;
    // A commit writes the one, an edit touches the other.
    for watched in [&format!("{folder}/logs/HEAD"), "src"] {
        if Path::new(watched).exists() {
            println!("cargo:rerun-if-changed={watched}");
        }
    }
    let commit = git(&["rev-parse", "--short=12", "HEAD"])?;
    let changes = git(&["status", "--porcelain", "--untracked-files=no"])?;
    let commit = commit.get(..12)?;
    Some(if changes.is_empty() { commit.to_owned() } else { format!("{commit}+changes") })
}

fn sources(out: &mut String) -> HashSet<String> {
    let table = Table::read("sources");
    let mut ids = HashSet::new();
    emit(out, "SOURCES", "Source", &table.rows, |row| {
        let id = table.text(row, "id");
        assert!(ids.insert(id.to_owned()), "sources.csv: {id} stands twice");
        format!(
            "Source {{ id: SourceId({id:?}), document: {:?}, edition: {:?} }}",
            table.text(row, "document"),
            table.text(row, "edition")
        )
    });
    ids
}

fn materials(out: &mut String, sources: &HashSet<String>) {
    let table = Table::read("materials");
    emit(out, "MATERIALS", "Material", &table.rows, |row| {
        let role = match table.text(row, "role") {
            "cladding" => "Cladding",
            "sheathing" => "Sheathing",
            "interior_finish" => "InteriorFinish",
            "other" => "Other",
            other => panic!("materials.csv: unknown role {other:?}"),
        };
        format!(
            "Material {{ key: {:?}, label: {:?}, role: Role::{role}, thickness_in: {}, \
             r_h_ft2_f_btu: {}, low: {}, high: {}, citation: {} }}",
            table.text(row, "key"),
            table.text(row, "label"),
            table.option(row, "thickness_in"),
            table.number(row, "r_h_ft2_f_btu"),
            table.number(row, "low"),
            table.number(row, "high"),
            table.citation(row, sources)
        )
    });
}

/// `CLADDINGS`, `CLADDING_KEYS` and so on: the materials of a role, and their keys.
fn roles(out: &mut String) {
    let table = Table::read("materials");
    for (role, name) in [
        ("cladding", "CLADDING"),
        ("sheathing", "SHEATHING"),
        ("interior_finish", "INTERIOR_FINISH"),
    ] {
        let places: Vec<usize> =
            (0..table.rows.len()).filter(|&i| table.text(&table.rows[i], "role") == role).collect();
        let list = |item: &dyn Fn(usize) -> String| {
            places.iter().map(|&i| item(i)).collect::<Vec<_>>().join(", ")
        };
        let _ = writeln!(
            out,
            "pub(crate) static {name}_KEYS: &[&str] = &[{}];",
            list(&|i| format!("{:?}", table.text(&table.rows[i], "key")))
        );
        let _ = writeln!(
            out,
            "pub(crate) static {name}_PLACES: &[usize] = &[{}];",
            list(&|i| i.to_string())
        );
    }
}

fn keys(out: &mut String, table: &Table, column: &str, name: &str) {
    let keys: Vec<String> =
        table.rows.iter().map(|row| format!("{:?}", table.text(row, column))).collect();
    let _ = writeln!(out, "pub(crate) static {name}: &[&str] = &[{}];", keys.join(", "));
}

fn films(out: &mut String, sources: &HashSet<String>) {
    let table = Table::read("films");
    for row in &table.rows {
        let _ = writeln!(
            out,
            "pub(crate) static FILM_{}: Film = Film {{ key: {:?}, r_h_ft2_f_btu: {}, citation: {} }};",
            table.text(row, "key").to_uppercase(),
            table.text(row, "key"),
            table.number(row, "r_h_ft2_f_btu"),
            table.citation(row, sources)
        );
    }
    let all: Vec<String> = table
        .rows
        .iter()
        .map(|row| format!("&FILM_{}", table.text(row, "key").to_uppercase()))
        .collect();
    let _ = writeln!(
        out,
        "/// Every surface film.\npub static FILMS: &[&Film] = &[{}];",
        all.join(", ")
    );
}

fn air_spaces(out: &mut String, sources: &HashSet<String>) {
    let table = Table::read("air_spaces");
    for flow in ["horizontal", "up", "down"] {
        let rows: Vec<&Row> =
            table.rows.iter().filter(|row| table.text(row, "heat_flow") == flow).collect();
        let name = flow.to_uppercase();
        let _ = writeln!(
            out,
            "pub(crate) static AIR_SPACE_{name}: &[(f64, f64)] = &[{}];",
            rows.iter()
                .map(|r| format!("({}, {})", table.number(r, "gap_mm"), table.number(r, "r_m2k_w")))
                .collect::<Vec<_>>()
                .join(", ")
        );
        let _ = writeln!(
            out,
            "pub(crate) const AIR_SPACE_{name}_CITATION: Citation = {};",
            table.citation(rows[0], sources)
        );
    }
}

fn air_gap_levels(out: &mut String, sources: &HashSet<String>) {
    let table = Table::read("air_gap_levels");
    emit(out, "AIR_GAP_LEVELS", "(f64, Citation)", &table.rows, |row| {
        format!("({}, {})", table.number(row, "delta_u_w_m2k"), table.citation(row, sources))
    });
}

fn fuels(out: &mut String, sources: &HashSet<String>) {
    let table = Table::read("fuels");
    keys(out, &table, "key", "FUEL_KEYS");
    emit(out, "FUELS", "FuelRow", &table.rows, |row| {
        format!(
            "FuelRow {{ key: {:?}, label: {:?}, unit: {:?}, mmbtu_per_unit: {}, \
             kg_co2e_per_mmbtu: {}, citation: {} }}",
            table.text(row, "key"),
            table.text(row, "label"),
            table.text(row, "unit"),
            table.number(row, "mmbtu_per_unit"),
            table.option(row, "kg_co2e_per_mmbtu"),
            table.citation(row, sources)
        )
    });
}

fn grid(out: &mut String, sources: &HashSet<String>) {
    let table = Table::read("grid");
    keys(out, &table, "region", "GRID_REGIONS");
    emit(out, "GRID", "GridRow", &table.rows, |row| {
        format!(
            "GridRow {{ region: {:?}, label: {:?}, average_lb_co2e_per_mwh: {}, \
             non_baseload_lb_co2_per_mwh: {}, non_baseload_lb_co2e_per_mwh: {}, \
             data_year: {:?}, citation: {} }}",
            table.text(row, "region"),
            table.text(row, "label"),
            table.number(row, "average_lb_co2e_per_mwh"),
            table.number(row, "non_baseload_lb_co2_per_mwh"),
            table.number(row, "non_baseload_lb_co2e_per_mwh"),
            table.text(row, "data_year"),
            table.citation(row, sources)
        )
    });
}

fn spreads(out: &mut String, sources: &HashSet<String>) {
    let table = Table::read("spreads");
    emit(out, "SPREADS", "Spread", &table.rows, |row| {
        let mode = match table.text(row, "mode") {
            "factor" => "Factor",
            "add" => "Add",
            "value" => "Value",
            other => panic!("spreads.csv: unknown mode {other:?}"),
        };
        let shape = match table.text(row, "distribution") {
            "triangular" => "Triangular",
            "uniform" => "Uniform",
            other => panic!("spreads.csv: unknown distribution {other:?}"),
        };
        let against = match table.text(row, "moves_against") {
            "" => "None".to_owned(),
            field => format!("Some({field:?})"),
        };
        format!(
            "Spread {{ field: {:?}, mode: SpreadMode::{mode}, low: {}, likely: {}, high: {}, \
             shape: SpreadShape::{shape}, moves_against: {against}, words: {:?}, advice: {:?}, \
             citation: {} }}",
            table.text(row, "field"),
            table.number(row, "low"),
            table.option(row, "likely"),
            table.number(row, "high"),
            table.text(row, "words"),
            table.text(row, "advice"),
            table.citation(row, sources)
        )
    });
}

fn access(out: &mut String, sources: &HashSet<String>) {
    let table = Table::read("access");
    keys(out, &table, "key", "ACCESS_KEYS");
    emit(out, "ACCESS", "Access", &table.rows, |row| {
        let claddings: Vec<&str> = table.text(row, "claddings").split(';').collect();
        format!(
            "Access {{ key: {:?}, label: {:?}, repair_share: {}, removal_share: {}, \
             claddings: &{claddings:?}, citation: {} }}",
            table.text(row, "key"),
            table.text(row, "label"),
            table.number(row, "repair_share"),
            table.number(row, "removal_share"),
            table.citation(row, sources)
        )
    });
}

fn permeances(out: &mut String, sources: &HashSet<String>) {
    let table = Table::read("permeances");
    emit(out, "PERMEANCES", "PermeanceRow", &table.rows, |row| {
        let role = match table.text(row, "use") {
            "layer" => "Layer",
            "per_inch" => "PerInch",
            "coat" => "Coat",
            "facing" => "Facing",
            other => panic!("permeances.csv: unknown use {other:?}"),
        };
        format!(
            "PermeanceRow {{ key: {:?}, label: {:?}, role: PermeanceRole::{role}, perms: {}, \
             low: {}, high: {}, citation: {} }}",
            table.text(row, "key"),
            table.text(row, "label"),
            table.number(row, "perms"),
            table.number(row, "low"),
            table.number(row, "high"),
            table.citation(row, sources)
        )
    });
}

fn places(out: &mut String, sources: &HashSet<String>) {
    let table = Table::read("places");
    emit(out, "PLACES", "Place", &table.rows, |row| {
        let zone_mark = table.text(row, "zone_mark");
        format!(
            "Place {{ key: {:?}, name: {:?}, region: {:?}, country: {:?}, elevation_ft: {}, \
             base_f: {}, heating: {}, cooling: {}, zone: {:?}, zone_citation: {}, note: {:?} }}",
            table.text(row, "key"),
            table.text(row, "name"),
            table.text(row, "region"),
            table.text(row, "country"),
            table.cited(row, "elevation_ft", "elevation", sources),
            table.number(row, "base_f"),
            table.cited(row, "hdd_f", "hdd", sources),
            table.cited(row, "cdd_f", "cdd", sources),
            table.text(row, "zone"),
            table.cite([zone_mark, table.text(row, "zone_source_id"), "counties"], sources),
            table.text(row, "note")
        )
    });
}

/// Each constant becomes `pub static KEY: Constant`.
fn constants(out: &mut String, sources: &HashSet<String>) {
    let table = Table::read("constants");
    for row in &table.rows {
        let key = table.text(row, "key");
        let _ = writeln!(
            out,
            "/// {} ({}).\npub static {}: Constant = Constant {{ key: {key:?}, value: {}, unit: {:?}, citation: {} }};",
            key.replace('_', " "),
            table.text(row, "unit"),
            key.to_uppercase(),
            table.number(row, "value"),
            table.text(row, "unit"),
            table.citation(row, sources)
        );
    }
    let all: Vec<String> = table
        .rows
        .iter()
        .map(|row| format!("&{}", table.text(row, "key").to_uppercase()))
        .collect();
    let _ = writeln!(
        out,
        "/// Every scalar constant of the method.\npub static CONSTANTS: &[&Constant] = &[{}];",
        all.join(", ")
    );
}

fn emit(
    out: &mut String,
    name: &str,
    kind: &str,
    rows: &[Row],
    mut render: impl FnMut(&Row) -> String,
) {
    let visibility = if kind.starts_with('(') { "pub(crate)" } else { "pub" };
    let _ = writeln!(out, "/// The rows of the table, in the order of its file.");
    let _ = writeln!(out, "{visibility} static {name}: &[{kind}] = &[");
    for row in rows {
        let _ = writeln!(out, "    {},", render(row));
    }
    let _ = writeln!(out, "];");
}
