//! Many jobs, a row each: which lie outside the limits of density or coverage, by crew and machine.

use super::built::{Proof, prove};
use super::finding::{Found, ProofFinding};
use super::machine::{MachineChart, machine_charts};
use super::record::{AsBuilt, BoxCheck, JobRecord};
use super::share::{Confidence, Count, Interval};
use crate::batch::SchemaError;
use crate::batch::csv::put_text;
use crate::error::{Issue, IssueCode, nearest};
use crate::house::{Field, HouseFileError, Raw};
use crate::readiness::{Readiness, Weight};
use crate::stages::HouseFile;
use crate::tables::MISSED_LIMIT;
use chrono::NaiveDate;
use std::fmt;
use std::io::Read;

/// A column of evidence: its name, and where it stands in a house file.
const COLUMNS: [(&str, Part, &str); 31] = [
    ("crew", Part::AsBuilt, "crew"),
    ("machine", Part::AsBuilt, "machine"),
    ("work_date", Part::AsBuilt, "date"),
    ("bags_delivered", Part::AsBuilt, "bags_delivered"),
    ("cost_as_built", Part::AsBuilt, "installed_cost"),
    ("rebate_as_built", Part::AsBuilt, "rebate"),
    ("bags_used", Part::Surface, "bags"),
    ("bays", Part::Surface, "bays"),
    ("bays_scanned", Part::Surface, "bays_scanned"),
    ("cold_before", Part::Surface, "cold_before"),
    ("cold_after", Part::Surface, "cold_after"),
    ("r_by_maker", Part::Surface, "r_by_maker"),
    ("rsi_by_maker", Part::Surface, "rsi_by_maker"),
    ("initial_thickness_in", Part::Surface, "initial_thickness_in"),
    ("initial_thickness_mm", Part::Surface, "initial_thickness_mm"),
    ("settled_thickness_in", Part::Surface, "settled_thickness_in"),
    ("settled_thickness_mm", Part::Surface, "settled_thickness_mm"),
    ("scan_date", Part::Scan, "date"),
    ("inside_f", Part::Scan, "inside_f"),
    ("inside_c", Part::Scan, "inside_c"),
    ("outside_f", Part::Scan, "outside_f"),
    ("outside_c", Part::Scan, "outside_c"),
    ("wind_mph", Part::Scan, "wind_mph"),
    ("wind_kmh", Part::Scan, "wind_kmh"),
    ("sun_free_hours", Part::Scan, "sun_free_hours"),
    ("box_date", Part::Box, "date"),
    ("box_volume_ft3", Part::Box, "box_volume_ft3"),
    ("box_volume_m3", Part::Box, "box_volume_m3"),
    ("box_mass_lb", Part::Box, "box_mass_lb"),
    ("box_mass_kg", Part::Box, "box_mass_kg"),
    ("box_setting", Part::Box, "setting"),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    AsBuilt,
    Surface,
    Scan,
    Box,
}

/// What a column is.
#[derive(Clone, Copy, Debug)]
enum Column {
    House,
    Evidence(Part, &'static str),
    Other,
}

/// The names of the columns of evidence.
pub fn job_columns() -> impl Iterator<Item = &'static str> {
    COLUMNS.iter().map(|(name, ..)| *name)
}

fn columns(names: &csv::StringRecord) -> Result<Vec<Column>, SchemaError> {
    let mut faults = Vec::new();
    for (place, name) in names.iter().enumerate() {
        if !name.is_empty() && names.iter().take(place).any(|other| other == name) {
            faults.push(format!("the column {name} stands twice"));
        }
    }
    let of = |name: &str| {
        if let Some((_, part, key)) = COLUMNS.iter().find(|(known, ..)| *known == name) {
            Column::Evidence(*part, key)
        } else if Field::from_name(name).is_some() {
            Column::House
        } else {
            Column::Other
        }
    };
    let found: Vec<Column> = names.iter().map(of).collect();
    for (name, column) in names.iter().zip(&found) {
        let near = match column {
            Column::Other => nearest(name, job_columns()),
            _ => None,
        };
        // A slip in a name would pass for missing evidence.
        if let Some(near) = near.filter(|near| !names.iter().any(|other| other == *near)) {
            faults.push(format!("no column is called {name}; is {near} meant?"));
        }
    }
    if !found.iter().any(|column| matches!(column, Column::Evidence(..))) {
        let few = ["bags_used", "bays_scanned", "cold_after", "crew", "machine"].join(", ");
        faults.push(format!("no column of evidence, as in {few}"));
    }
    if faults.is_empty() { Ok(found) } else { Err(SchemaError { faults }) }
}

/// Findings that say that nobody can tell.
const fn not_shown(finding: ProofFinding) -> bool {
    matches!(
        finding,
        ProofFinding::MachineLow
            | ProofFinding::MachineUnchecked
            | ProofFinding::ScanNotValid
            | ProofFinding::ScanUnknown
            | ProofFinding::ScanMissing
            | ProofFinding::BagsMissing
    )
}

/// How a job stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum JobStanding {
    /// Within the limits, as far as anybody looked.
    Within,
    /// Evidence is missing or does not count.
    NotShown,
    /// Outside the limits of density or of coverage.
    Outside,
}

impl JobStanding {
    /// `within`, `not_shown` or `outside`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::NotShown => "not_shown",
            Self::Outside => "outside",
        }
    }
}

/// A job that could be read.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Its row, the first after the header being 1.
    pub row: u64,
    /// The house.
    pub house_id: String,
    /// The crew; empty where none is named.
    pub crew: String,
    /// The machine; empty where none is named.
    pub machine: String,
    /// The day of the work.
    pub date: Option<NaiveDate>,
    /// Density that the bags make, lb/ft³.
    pub density_lb_ft3: Option<f64>,
    /// Density that was promised, lb/ft³.
    pub promised_density_lb_ft3: f64,
    /// Bays that were cold and bays that were seen, in a scan that counts.
    pub cold: Option<Count>,
    /// Whether the density lies outside its limits.
    pub density_outside: bool,
    /// Whether more than the limit of its bays was missed.
    pub coverage_outside: bool,
    /// What was found.
    pub findings: Vec<Found>,
    /// Whether the house itself was on hold.
    pub readiness: Readiness,
}

impl Job {
    /// How it stands.
    pub fn standing(&self) -> JobStanding {
        if self.density_outside || self.coverage_outside {
            JobStanding::Outside
        } else if self.findings.iter().any(|found| not_shown(found.finding)) {
            JobStanding::NotShown
        } else {
            JobStanding::Within
        }
    }

    /// Whether cold bays were found that nobody has filled yet, whatever their share.
    pub fn to_fill(&self) -> bool {
        self.findings.iter().any(|found| found.finding == ProofFinding::BaysMissed)
    }

    /// The codes of what was found, `;` between them.
    pub fn codes(&self) -> String {
        let codes: Vec<&str> = self.findings.iter().map(Found::code).collect();
        codes.join(";")
    }
}

/// A row that is no job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RejectedJob {
    /// Its row, the first after the header being 1.
    pub row: u64,
    /// The house, where it can be read.
    pub house_id: String,
    /// Every fault.
    pub issues: Vec<Issue>,
}

/// Jobs of one crew or of one machine.
#[derive(Clone, Debug, PartialEq)]
pub struct JobGroup {
    /// The crew or machine; empty for those without a name.
    pub name: String,
    /// Jobs.
    pub jobs: u64,
    /// Of them, outside the limits of density.
    pub density_outside: u64,
    /// Outside the limit of coverage.
    pub coverage_outside: u64,
    /// Within, but not shown.
    pub not_shown: u64,
    /// Mean density of those whose bags were counted, lb/ft³.
    pub mean_density_lb_ft3: Option<f64>,
    /// Cold bays and bays seen, in scans that count, all jobs together.
    pub cold: Option<Count>,
    /// Wilson's interval of their share.
    pub interval: Option<Interval>,
}

/// What many jobs come to.
#[derive(Clone, Debug, PartialEq)]
pub struct JobsReview {
    /// The jobs, in the order of the rows.
    pub jobs: Vec<Job>,
    /// Rows that are no jobs.
    pub rejects: Vec<RejectedJob>,
    /// By crew, the one with most jobs outside the limits first.
    pub crews: Vec<JobGroup>,
    /// By machine, in the same order.
    pub machines: Vec<JobGroup>,
    /// The boxes of every machine over all jobs, in the order of days.
    pub charts: Vec<MachineChart>,
}

/// Why a file of jobs cannot be read.
#[derive(Debug)]
#[non_exhaustive]
pub enum JobsError {
    /// The system says so.
    Io(std::io::Error),
    /// Its columns.
    Schema(SchemaError),
}

impl fmt::Display for JobsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Io(error) => write!(f, "{error}"),
            Self::Schema(error) => write!(f, "{error}"),
        }
    }
}

impl std::error::Error for JobsError {}

/// Reads a CSV file of jobs, a row each: the fields of a house with one wall, and the columns of
/// [`job_columns`]. Other columns are passed over.
///
/// # Errors
/// [`JobsError`] where the file cannot be read or its columns are no use; what is wrong with a row
/// rejects the row.
pub fn review_jobs(csv: impl Read, confidence: Confidence) -> Result<JobsReview, JobsError> {
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(csv);
    let schema = |fault: String| JobsError::Schema(fault.into());
    let names = match reader.headers() {
        Ok(names) => names.clone(),
        Err(error) => return Err(unreadable(error)),
    };
    let names: csv::StringRecord =
        names.iter().map(|name| name.trim_start_matches('\u{feff}').trim()).collect();
    if names.is_empty() {
        return Err(schema("the file is empty".to_owned()));
    }
    let columns = columns(&names).map_err(JobsError::Schema)?;
    let mut jobs = Vec::new();
    let mut rejects = Vec::new();
    let mut log = Vec::new();
    let mut cells = csv::ByteRecord::new();
    let mut row = 0;
    loop {
        match reader.read_byte_record(&mut cells) {
            Ok(true) => row += 1,
            Ok(false) => break,
            Err(error) => return Err(unreadable(error)),
        }
        match read_row(&names, &columns, &cells) {
            Ok(record) => {
                if let Some(as_built) = &record.as_built {
                    log.extend(as_built.calibration.iter().cloned());
                }
                jobs.push(job(row, &record, confidence));
            }
            Err((house_id, issues)) => rejects.push(RejectedJob { row, house_id, issues }),
        }
    }
    log.sort_by_key(|check: &BoxCheck| check.date);
    Ok(JobsReview {
        crews: groups(&jobs, |job| &job.crew, confidence),
        machines: groups(&jobs, |job| &job.machine, confidence),
        charts: machine_charts(&log, None),
        jobs,
        rejects,
    })
}

fn unreadable(error: csv::Error) -> JobsError {
    let text = error.to_string();
    match error.into_kind() {
        csv::ErrorKind::Io(error) => JobsError::Io(error),
        csv::ErrorKind::Utf8 { .. } => {
            JobsError::Schema("the header is not UTF-8 text".to_owned().into())
        }
        _ => JobsError::Schema(text.into()),
    }
}

type Refused = (String, Vec<Issue>);

/// The row as the house file that it would be.
fn read_row(
    names: &csv::StringRecord,
    columns: &[Column],
    cells: &csv::ByteRecord,
) -> Result<JobRecord, Refused> {
    let whole = |code, reason: String| Issue::new(code, "", "", reason);
    if cells.len() != names.len() {
        let reason = format!("the row has {} cells, the header {}", cells.len(), names.len());
        return Err((String::new(), vec![whole(IssueCode::Unreadable, reason)]));
    }
    let Ok(cells) = csv::StringRecord::from_byte_record(cells.clone()) else {
        let reason = "the row is not UTF-8 text".to_owned();
        return Err((String::new(), vec![whole(IssueCode::Unreadable, reason)]));
    };
    let mut head = Vec::new();
    let (mut as_built, mut surface) = (Vec::new(), Vec::new());
    let (mut scan, mut check) = (Vec::new(), Vec::new());
    let mut house_id = String::new();
    for ((name, column), cell) in names.iter().zip(columns).zip(&cells) {
        let cell = cell.trim();
        if cell.is_empty() {
            continue;
        }
        let value = Raw::Text(cell.to_owned());
        match column {
            Column::House => {
                if name == Field::HouseId.def().ip {
                    cell.clone_into(&mut house_id);
                }
                head.push((name.to_owned(), value));
            }
            Column::Evidence(part, key) => {
                let table = match part {
                    Part::AsBuilt => &mut as_built,
                    Part::Surface => &mut surface,
                    Part::Scan => &mut scan,
                    Part::Box => &mut check,
                };
                table.push(((*key).to_owned(), value));
            }
            Column::Other => {}
        }
    }
    if !check.is_empty() {
        // A box without a day or a machine of its own is the job's.
        for (key, from) in [("date", "date"), ("machine", "machine")] {
            if !check.iter().any(|(known, _)| known == key)
                && let Some((_, value)) = as_built.iter().find(|(known, _)| known == from)
            {
                check.push((key.to_owned(), value.clone()));
            }
        }
        as_built.push(("calibration".to_owned(), Raw::List(vec![Raw::Table(check)])));
    }
    as_built.push(("surfaces".to_owned(), Raw::List(vec![Raw::Table(surface)])));
    as_built.push(("scan".to_owned(), Raw::Table(scan)));
    head.push(("as_built".to_owned(), Raw::Table(as_built)));
    JobRecord::read(&HouseFile::of_values(Raw::Table(head))).map_err(|error| {
        let issues = match error {
            HouseFileError::Input(error) => error.issues.into_iter().map(as_column).collect(),
            other => vec![whole(IssueCode::Unreadable, other.to_string())],
        };
        (house_id, issues)
    })
}

/// A fault under the name of its column.
fn as_column(mut issue: Issue) -> Issue {
    let inner = [
        ("as_built.surfaces[0].", Part::Surface),
        ("as_built.scan.", Part::Scan),
        ("as_built.calibration[0].", Part::Box),
        ("as_built.", Part::AsBuilt),
    ];
    for (path, part) in inner {
        if let Some(key) = issue.field.strip_prefix(path) {
            let column = COLUMNS.iter().find(|(_, of, known)| *of == part && *known == key);
            issue.field = column.map_or(key, |(name, ..)| name).to_owned();
            break;
        }
    }
    issue
}

fn job(row: u64, record: &JobRecord, confidence: Confidence) -> Job {
    let proof = prove(record, confidence);
    let as_built = record.as_built.as_ref();
    let name = |get: fn(&AsBuilt) -> Option<String>| as_built.and_then(get).unwrap_or_default();
    let shown = proof.missed.first().is_some_and(|missed| missed.shown);
    let cold = proof.tallies.first().filter(|_| shown).map(|tally| tally.cold_after);
    Job {
        row,
        house_id: record.promised.house_id().to_owned(),
        crew: name(|as_built| as_built.crew.clone()),
        machine: name(|as_built| as_built.machine.clone()),
        date: as_built.and_then(|as_built| as_built.date),
        density_lb_ft3: proof.densities.first().map(|found| found.density.ip()),
        promised_density_lb_ft3: super::built::density_pair(&proof, 0).map_or(0.0, |pair| pair.0),
        cold,
        density_outside: density_outside(&proof),
        // Cold bays count against a job even where the scan would not count for it.
        coverage_outside: proof.tallies.iter().any(|tally| tally.share() > MISSED_LIMIT.value),
        readiness: proof.promised_figures.readiness(),
        findings: proof
            .findings
            .into_iter()
            .filter(|found| found.weight() >= Weight::Check)
            .collect(),
    }
}

fn density_outside(proof: &Proof) -> bool {
    use ProofFinding::{
        DensityBeyondWall, DensityBlowOut, DensityLow, DensityNotPacked, DensityOpenHigh,
    };
    let of_density =
        [DensityBeyondWall, DensityBlowOut, DensityLow, DensityNotPacked, DensityOpenHigh];
    proof.findings.iter().any(|found| of_density.contains(&found.finding))
}

#[expect(clippy::cast_precision_loss, reason = "a count of jobs")]
fn groups(jobs: &[Job], key: impl Fn(&Job) -> &String, confidence: Confidence) -> Vec<JobGroup> {
    let mut names: Vec<&String> = jobs.iter().map(&key).collect();
    names.sort();
    names.dedup();
    let mut groups: Vec<JobGroup> = names
        .into_iter()
        .map(|name| {
            let of: Vec<&Job> = jobs.iter().filter(|job| key(job) == name).collect();
            let count = |test: &dyn Fn(&Job) -> bool| of.iter().filter(|job| test(job)).count();
            let densities: Vec<f64> = of.iter().filter_map(|job| job.density_lb_ft3).collect();
            let mean = densities.iter().sum::<f64>() / densities.len() as f64;
            let sum = |get: fn(Count) -> u32| {
                of.iter().filter_map(|job| job.cold).map(get).fold(0, u32::saturating_add)
            };
            let cold = Count::new(sum(Count::found), sum(Count::seen)).ok();
            JobGroup {
                name: name.clone(),
                jobs: of.len() as u64,
                density_outside: count(&|job| job.density_outside) as u64,
                coverage_outside: count(&|job| job.coverage_outside) as u64,
                not_shown: count(&|job| job.standing() == JobStanding::NotShown) as u64,
                mean_density_lb_ft3: (!densities.is_empty()).then_some(mean),
                cold,
                interval: cold.map(|cold| cold.wilson(confidence)),
            }
        })
        .collect();
    let outside = |group: &JobGroup| group.density_outside + group.coverage_outside;
    groups.sort_by_key(|group| std::cmp::Reverse(outside(group)));
    groups
}

impl JobsReview {
    /// The jobs outside the limits, then those not shown to be within, each in the order of rows.
    pub fn listed(&self) -> Vec<&Job> {
        let of =
            |standing: JobStanding| self.jobs.iter().filter(move |job| job.standing() == standing);
        of(JobStanding::Outside).chain(of(JobStanding::NotShown)).collect()
    }

    /// The list as CSV; text that a spreadsheet would run is made plain.
    pub fn csv(&self) -> String {
        let mut out = b"row,house_id,crew,machine,work_date,standing,density_lb_ft3,\
            promised_density_lb_ft3,cold_after,bays_scanned,density_outside,coverage_outside,\
            readiness,findings\n"
            .to_vec();
        for job in self.listed() {
            let number = |value: Option<f64>| value.map(|v| format!("{v}")).unwrap_or_default();
            let count = |get: fn(Count) -> u32| {
                job.cold.map(|cold| get(cold).to_string()).unwrap_or_default()
            };
            let yes = |value: bool| if value { "yes" } else { "no" }.to_owned();
            let cells = [
                job.row.to_string(),
                job.house_id.clone(),
                job.crew.clone(),
                job.machine.clone(),
                job.date.map(|date| date.to_string()).unwrap_or_default(),
                job.standing().as_str().to_owned(),
                number(job.density_lb_ft3),
                number(Some(job.promised_density_lb_ft3)),
                count(Count::found),
                count(Count::seen),
                yes(job.density_outside),
                yes(job.coverage_outside),
                job.readiness.as_str().to_owned(),
                job.codes(),
            ];
            for (place, cell) in cells.iter().enumerate() {
                if place > 0 {
                    out.push(b',');
                }
                put_text(&mut out, cell.as_bytes());
            }
            out.extend_from_slice(b"\n");
        }
        String::from_utf8_lossy(&out).into_owned()
    }
}
