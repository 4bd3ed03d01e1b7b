//! What was written down of the work: the tables `[as_built]` and `[follow_up]` of a house file.

use crate::error::{InputError, Issue, IssueCode};
use crate::house::form::{Convert, Form, NumberDef};
use crate::house::{House, HouseFileError, Raw};
use crate::stages::{HouseFile, Stage};
use crate::units::factor::M_PER_FT;
use crate::units::{Airflow, Length, Mass, Quantity, RValue};
use chrono::NaiveDate;

/// What was counted in one surface.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SurfaceRecord {
    /// Its place in the house.
    pub surface: usize,
    /// Bags that went into it, parts of a bag included.
    pub bags: Option<f64>,
    /// Bays that it has.
    pub bays: Option<u32>,
    /// Bays that the camera saw after the work.
    pub bays_scanned: Option<u32>,
    /// Of those, cold before the work.
    pub cold_before: Option<u32>,
    /// Of those, cold after the work.
    pub cold_after: Option<u32>,
    /// Resistance by the maker's data, for the receipt.
    pub r_by_maker: Option<RValue>,
    /// Thickness when installed, for the receipt.
    pub initial_thickness: Option<Length>,
    /// Least thickness after settling, for the receipt.
    pub settled_thickness: Option<Length>,
}

/// A box of known volume, filled by the machine and weighed.
#[derive(Clone, Debug, PartialEq)]
pub struct BoxCheck {
    /// The day.
    pub date: NaiveDate,
    /// The machine, where several are at work.
    pub machine: Option<String>,
    /// How it was set: walls and open attics are set apart.
    pub setting: Option<String>,
    /// Volume of the box, ft³.
    pub volume_ft3: f64,
    /// Fibre in it.
    pub mass: Mass,
}

impl BoxCheck {
    /// Density in the box, lb/ft³.
    pub fn density_lb_ft3(&self) -> f64 {
        self.mass.ip() / self.volume_ft3
    }
}

/// What it was like when the house was scanned.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ScanRecord {
    /// The day.
    pub date: Option<NaiveDate>,
    /// Indoor temperature, °F.
    pub inside_f: Option<f64>,
    /// Outdoor temperature, °F.
    pub outside_f: Option<f64>,
    /// Wind, miles an hour.
    pub wind_mph: Option<f64>,
    /// Hours since the sun last stood on the walls.
    pub sun_free_hours: Option<f64>,
}

/// The table `[as_built]`.
#[derive(Clone, Debug, PartialEq)]
pub struct AsBuilt {
    /// The day the work was done.
    pub date: Option<NaiveDate>,
    /// The crew, by your own name for it; never a person's.
    pub crew: Option<String>,
    /// The machine, by your own name for it.
    pub machine: Option<String>,
    /// Bags that were brought to the house.
    pub bags_delivered: Option<f64>,
    /// Weight of a bag, where it was not the offer's.
    pub bag_weight: Option<Mass>,
    /// What the job cost in the end.
    pub installed_cost: Option<f64>,
    /// The rebate in the end.
    pub rebate: Option<f64>,
    /// Air leakage at 50 Pa before, where it was tested again.
    pub cfm50_before: Option<Airflow>,
    /// Air leakage at 50 Pa afterwards.
    pub cfm50_after: Option<Airflow>,
    /// What was counted, surface by surface.
    pub surfaces: Vec<SurfaceRecord>,
    /// The log of the machine.
    pub calibration: Vec<BoxCheck>,
    /// The conditions of the scan.
    pub scan: Option<ScanRecord>,
    /// Names in the table that are not read here.
    pub unread: Vec<String>,
}

/// The table `[follow_up]`: what the bills said, worked out elsewhere.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FollowUp {
    /// The day.
    pub date: Option<NaiveDate>,
    /// Fuel saved a year by the bills, in the fuel's unit; less than nothing where more is used.
    pub fuel_saved: f64,
    /// The ends of its interval.
    pub interval: Option<(f64, f64)>,
}

/// A house with everything that was written down of it.
#[derive(Clone, Debug, PartialEq)]
pub struct JobRecord {
    /// The house as it was promised.
    pub promised: House,
    /// What was done; `None` before the work.
    pub as_built: Option<AsBuilt>,
    /// What the bills said; `None` before they came.
    pub follow_up: Option<FollowUp>,
}

impl JobRecord {
    /// Reads every stage of a house file.
    ///
    /// # Errors
    /// [`HouseFileError::Input`] with every fault: of the house, of the stages and their days, and
    /// of what cannot be: more bags used than were brought, more bays scanned than there are.
    pub fn read(file: &HouseFile) -> Result<Self, HouseFileError> {
        let mut issues = Vec::new();
        let mut note = |found: Result<(), InputError>| {
            if let Err(error) = found {
                issues.extend(error.issues);
            }
        };
        note(file.schema_version().map(|_| ()));
        let stages = file.stages();
        note(stages.as_ref().map(|_| ()).map_err(Clone::clone));
        let promised = match file.promised() {
            Ok(house) => Some(house),
            Err(HouseFileError::Input(error)) => {
                note(Err(error));
                None
            }
            Err(other) => return Err(other),
        };
        let table = |stage: Stage| file.get(stage.as_str());
        let mut as_built = None;
        if let (Some(house), Some(raw @ Raw::Table(_))) = (&promised, table(Stage::AsBuilt)) {
            match read_as_built(raw, house) {
                Ok(found) => as_built = Some(found),
                Err(found) => {
                    let found = found.into_iter().map(|issue| issue.within("as_built")).collect();
                    note(Err(InputError { issues: found }));
                }
            }
        }
        let mut follow_up = None;
        if let Some(raw @ Raw::Table(_)) = table(Stage::FollowUp) {
            match read_follow_up(raw) {
                Ok(found) => follow_up = Some(found),
                Err(found) => {
                    let found = found.into_iter().map(|issue| issue.within("follow_up")).collect();
                    note(Err(InputError { issues: found }));
                }
            }
        }
        // A day is read as a stage's and as a table's: its fault is told once.
        let mut told: Vec<String> = Vec::new();
        issues.retain(|issue| {
            let again =
                issue.field.rsplit('.').next() == Some("date") && told.contains(&issue.field);
            told.push(issue.field.clone());
            !again
        });
        match promised {
            Some(promised) if issues.is_empty() => Ok(Self { promised, as_built, follow_up }),
            _ => Err(InputError { issues }.into()),
        }
    }
}

const MOST_BAYS: f64 = super::MOST_COUNT as f64;
const MOST_ROWS: usize = 5_000;

const BAGS: NumberDef = NumberDef::new("bags", 0.0, 100_000.0);
const BAGS_DELIVERED: NumberDef = NumberDef::new("bags_delivered", 0.0, 100_000.0);
const BAG_WEIGHT: NumberDef =
    NumberDef::new("bag_weight_lb", 5.0, 100.0).si("bag_weight_kg", Convert::By(Quantity::Mass));
const COST: NumberDef = NumberDef::new("installed_cost", 0.0, 1e12);
const REBATE: NumberDef = NumberDef::new("rebate", 0.0, 1e12);
const BEFORE: NumberDef = NumberDef::new("cfm50_before", 0.0, 50_000.0)
    .si("m3h50_before", Convert::By(Quantity::Airflow));
const AFTER: NumberDef =
    NumberDef::new("cfm50_after", 0.0, 50_000.0).si("m3h50_after", Convert::By(Quantity::Airflow));
const BAYS: NumberDef = NumberDef::new("bays", 1.0, MOST_BAYS).whole();
const SCANNED: NumberDef = NumberDef::new("bays_scanned", 0.0, MOST_BAYS).whole();
const COLD_BEFORE: NumberDef = NumberDef::new("cold_before", 0.0, MOST_BAYS).whole();
const COLD_AFTER: NumberDef = NumberDef::new("cold_after", 0.0, MOST_BAYS).whole();
const R_BY_MAKER: NumberDef =
    NumberDef::new("r_by_maker", 0.1, 100.0).si("rsi_by_maker", Convert::By(Quantity::Resistance));
const INITIAL: NumberDef = NumberDef::new("initial_thickness_in", 0.1, 60.0)
    .si("initial_thickness_mm", Convert::By(Quantity::Length));
const SETTLED: NumberDef = NumberDef::new("settled_thickness_in", 0.1, 60.0)
    .si("settled_thickness_mm", Convert::By(Quantity::Length));
const BOX_VOLUME: NumberDef = NumberDef::new("box_volume_ft3", 0.05, 100.0)
    .si("box_volume_m3", Convert::By(Quantity::Volume));
const BOX_MASS: NumberDef =
    NumberDef::new("box_mass_lb", 0.01, 2_000.0).si("box_mass_kg", Convert::By(Quantity::Mass));
const WIND: NumberDef =
    NumberDef::new("wind_mph", 0.0, 200.0).si("wind_kmh", Convert::Times(1.0 / (5.28 * M_PER_FT)));
const SUN_FREE: NumberDef = NumberDef::new("sun_free_hours", 0.0, 1_000.0);
const FUEL_SAVED: NumberDef = NumberDef::new("fuel_saved", -1e9, 1e9);
const FUEL_LOW: NumberDef = NumberDef::new("fuel_saved_low", -1e9, 1e9);
const FUEL_HIGH: NumberDef = NumberDef::new("fuel_saved_high", -1e9, 1e9);

const SCAN: &str = "scan";

/// A name of the user's own: a crew, a machine, a setting.
const MOST_NAME: usize = 80;

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the form bounds it to whole numbers below a hundred thousand"
)]
fn count(form: &mut Form<'_>, def: &NumberDef) -> Option<u32> {
    form.number(def).map(|number| number as u32)
}

/// A temperature under its name in °F or in °C.
fn temperature(
    form: &mut Form<'_>,
    fahrenheit: &'static str,
    celsius: &'static str,
) -> Option<f64> {
    let f = form.number(&NumberDef::new(fahrenheit, -80.0, 140.0));
    let c = form.number(&NumberDef::new(celsius, -62.0, 60.0));
    if f.is_some() && c.is_some() {
        let reason = format!("given twice: write {fahrenheit} or {celsius}, not both");
        form.fault(IssueCode::GivenTwice, celsius, "", reason);
    }
    f.or(c.map(|c| c * 1.8 + 32.0))
}

/// A count that is more than it can be.
fn more_than(
    form: &mut Form<'_>,
    (name, value): (&str, Option<f64>),
    (than, limit): (&str, Option<f64>),
    look: &str,
) {
    if let (Some(value), Some(limit)) = (value, limit)
        && value > limit
    {
        let reason = format!("is more than {than} = {limit}: {look}");
        form.fault(IssueCode::Conflict, name, value.to_string(), reason);
    }
}

fn read_surface(raw: &Raw, house: &House, several: bool) -> Result<SurfaceRecord, Vec<Issue>> {
    let mut form = Form::new(raw);
    let name = form.text("name", 200);
    let surface = place(&mut form, name.as_deref(), house, several);
    let record = SurfaceRecord {
        surface: surface.unwrap_or_default(),
        bags: form.number(&BAGS),
        bays: count(&mut form, &BAYS),
        bays_scanned: count(&mut form, &SCANNED),
        cold_before: count(&mut form, &COLD_BEFORE),
        cold_after: count(&mut form, &COLD_AFTER),
        r_by_maker: form.number(&R_BY_MAKER).map(RValue::checked),
        initial_thickness: form.number(&INITIAL).map(Length::checked),
        settled_thickness: form.number(&SETTLED).map(Length::checked),
    };
    let n = |count: Option<u32>| count.map(f64::from);
    let (scanned, bays) = (n(record.bays_scanned), n(record.bays));
    more_than(
        &mut form,
        ("bays_scanned", scanned),
        ("bays", bays),
        "no camera sees more bays than there are; count both again",
    );
    for (name, cold) in [("cold_before", record.cold_before), ("cold_after", record.cold_after)] {
        more_than(
            &mut form,
            (name, n(cold)),
            ("bays_scanned", scanned),
            "a bay that was not seen cannot be called cold; count both again",
        );
        if cold.is_some() && record.bays_scanned.is_none() {
            let reason = "must be given: without the bays that were seen, cold bays say nothing";
            form.fault(IssueCode::Missing, "bays_scanned", "", reason);
        }
    }
    let (settled, initial) = (record.settled_thickness, record.initial_thickness);
    more_than(
        &mut form,
        ("settled_thickness_in", settled.map(Length::ip)),
        ("initial_thickness_in", initial.map(Length::ip)),
        "fibre settles and does not rise; look at both",
    );
    let (issues, _) = form.finish(false);
    if issues.is_empty() { Ok(record) } else { Err(issues) }
}

/// The surface of this name; where the house has only one it needs none.
fn place(form: &mut Form<'_>, name: Option<&str>, house: &House, several: bool) -> Option<usize> {
    let surfaces = house.surfaces();
    let label = |index: usize| surface_label(house, index);
    let labels: Vec<String> = (0..surfaces.len()).map(label).collect();
    let Some(name) = name else {
        if surfaces.len() == 1 && !several {
            return Some(0);
        }
        let reason = format!("must be given: the name of a surface, one of {}", labels.join(", "));
        form.fault(IssueCode::Missing, "name", "", reason);
        return None;
    };
    let mut same = labels.iter().enumerate().filter(|(_, l)| l.eq_ignore_ascii_case(name));
    match (same.next(), same.next()) {
        (Some((place, _)), None) => Some(place),
        (None, _) => {
            let reason =
                format!("no surface of the house has this name; known are {}", labels.join(", "));
            form.fault(IssueCode::NotAChoice, "name", name, reason);
            None
        }
        (Some(_), Some(_)) => {
            let reason = "more than one surface has this name: give each its own";
            form.fault(IssueCode::Conflict, "name", name, reason);
            None
        }
    }
}

/// What a surface is called: its own name, or its kind with its place where there are several.
pub(crate) fn surface_label(house: &House, index: usize) -> String {
    let Some(surface) = house.surfaces().get(index) else { return String::new() };
    let kind = surface.kind().as_str().replace('_', " ");
    match surface.name() {
        Some(name) => name.to_owned(),
        None if house.surfaces().len() == 1 => kind,
        None => format!("{kind} {}", index + 1),
    }
}

fn read_check(raw: &Raw) -> Result<BoxCheck, Vec<Issue>> {
    let mut form = Form::new(raw);
    let date = form.day("date");
    let (machine, setting) = (form.text("machine", MOST_NAME), form.text("setting", MOST_NAME));
    let (volume, mass) = (form.number(&BOX_VOLUME), form.number(&BOX_MASS));
    let missing = [
        ("date", date.is_none(), "a day, as in 2026-10-02"),
        ("box_volume_ft3", volume.is_none(), "the box's volume (or box_volume_m3)"),
        ("box_mass_lb", mass.is_none(), "the fibre in the box (or box_mass_kg)"),
    ];
    for (name, missing, what) in missing {
        if missing && form.issues.is_empty() {
            form.fault(IssueCode::Missing, name, "", format!("must be given: {what}"));
        }
    }
    let (issues, _) = form.finish(false);
    match (date, volume, mass) {
        (Some(date), Some(volume_ft3), Some(mass)) if issues.is_empty() => {
            Ok(BoxCheck { date, machine, setting, volume_ft3, mass: Mass::checked(mass) })
        }
        _ => Err(issues),
    }
}

fn read_scan(raw: &Raw) -> Result<ScanRecord, Vec<Issue>> {
    let mut form = Form::new(raw);
    let scan = ScanRecord {
        date: form.day("date"),
        inside_f: temperature(&mut form, "inside_f", "inside_c"),
        outside_f: temperature(&mut form, "outside_f", "outside_c"),
        wind_mph: form.number(&WIND),
        sun_free_hours: form.number(&SUN_FREE),
    };
    let (issues, _) = form.finish(false);
    if issues.is_empty() { Ok(scan) } else { Err(issues) }
}

/// Each table of a list, and the faults of all of them with their places.
fn rows<T>(
    form: &mut Form<'_>,
    name: &'static str,
    read: impl Fn(&Raw) -> Result<T, Vec<Issue>>,
) -> Vec<T> {
    let items = form.list(name);
    if items.len() > MOST_ROWS {
        let reason = format!("allowed is a list of at most {MOST_ROWS}");
        form.fault(IssueCode::OutOfRange, name, format!("{} entries", items.len()), reason);
        return Vec::new();
    }
    let mut found = Vec::with_capacity(items.len());
    for (index, item) in items.iter().enumerate() {
        match read(item) {
            Ok(row) => found.push(row),
            Err(issues) => {
                let path = format!("{name}[{index}]");
                form.issues.extend(issues.into_iter().map(|issue| issue.within(&path)));
            }
        }
    }
    found
}

fn read_as_built(raw: &Raw, house: &House) -> Result<AsBuilt, Vec<Issue>> {
    let mut form = Form::new(raw);
    let several = matches!(raw, Raw::Table(table) if table.iter()
        .any(|(key, value)| key == "surfaces" && matches!(value, Raw::List(rows) if rows.len() > 1)));
    let date = form.day("date");
    let crew = form.text("crew", MOST_NAME);
    let machine = form.text("machine", MOST_NAME);
    let bags_delivered = form.number(&BAGS_DELIVERED);
    let bag_weight = form.number(&BAG_WEIGHT).map(Mass::checked);
    let (installed_cost, rebate) = (form.number(&COST), form.number(&REBATE));
    let before = form.number(&BEFORE).map(Airflow::checked);
    let after = form.number(&AFTER).map(Airflow::checked);
    let surfaces = rows(&mut form, "surfaces", |row| read_surface(row, house, several));
    let calibration = rows(&mut form, "calibration", read_check);
    let table = if let Raw::Table(table) = raw { table.as_slice() } else { &[] };
    let scan = match table.iter().find(|(key, _)| key == SCAN) {
        None => None,
        Some((_, raw)) => match read_scan(raw) {
            Ok(scan) => Some(scan),
            Err(issues) => {
                form.issues.extend(issues.into_iter().map(|issue| issue.within(SCAN)));
                None
            }
        },
    };
    for (index, record) in surfaces.iter().enumerate() {
        if surfaces.iter().take(index).any(|other| other.surface == record.surface) {
            let path = format!("surfaces[{index}].name");
            let name = surface_label(house, record.surface);
            form.fault(IssueCode::GivenTwice, &path, name, "given twice: one table a surface");
        }
    }
    let used: f64 = surfaces.iter().filter_map(|record| record.bags).sum();
    if let Some(delivered) = bags_delivered.filter(|delivered| used > *delivered) {
        let reason = format!(
            "fewer than the bags used, {used}: look at the count of bags and at the delivery notes; bags of another job, or of another weight?"
        );
        form.fault(IssueCode::Conflict, BAGS_DELIVERED.ip, delivered.to_string(), reason);
    }
    let cost = installed_cost.unwrap_or(house.offer().installed_cost);
    let paid = rebate.unwrap_or(house.offer().rebate);
    if paid > cost {
        let reason = format!("must not exceed installed_cost = {cost}");
        form.fault(IssueCode::OutOfRange, "rebate", paid.to_string(), reason);
    }
    days_in_order(&mut form, date, scan.as_ref(), &calibration);
    form.leave(SCAN);
    let (issues, unread) = form.finish(false);
    if !issues.is_empty() {
        return Err(issues);
    }
    Ok(AsBuilt {
        date,
        crew,
        machine,
        bags_delivered,
        bag_weight,
        installed_cost,
        rebate,
        cfm50_before: before,
        cfm50_after: after,
        surfaces,
        calibration,
        scan,
        unread,
    })
}

/// A scan that proves the fill comes after it; the log of a machine is in the order of its days.
fn days_in_order(
    form: &mut Form<'_>,
    built: Option<NaiveDate>,
    scan: Option<&ScanRecord>,
    calibration: &[BoxCheck],
) {
    if let (Some(built), Some(scan)) = (built, scan.and_then(|scan| scan.date))
        && scan < built
    {
        let reason = format!(
            "is before the work was done, as_built.date = {built}: it cannot show the fill; look at both dates"
        );
        form.fault(IssueCode::Conflict, "scan.date", scan.to_string(), reason);
    }
    for (index, pair) in calibration.windows(2).enumerate() {
        if let [first, second] = pair
            && first.date > second.date
        {
            let path = format!("calibration[{}].date", index + 1);
            let reason =
                format!("is before the one above it, {}: the log is in order of days", first.date);
            form.fault(IssueCode::Conflict, &path, second.date.to_string(), reason);
        }
    }
}

fn read_follow_up(raw: &Raw) -> Result<FollowUp, Vec<Issue>> {
    let mut form = Form::new(raw);
    let date = form.day("date");
    let saved = form.number(&FUEL_SAVED);
    let (low, high) = (form.number(&FUEL_LOW), form.number(&FUEL_HIGH));
    if saved.is_none() && form.issues.is_empty() {
        let reason = "must be given: fuel saved a year by the bills, in the fuel's unit";
        form.fault(IssueCode::Missing, "fuel_saved", "", reason);
    }
    if low.is_some() != high.is_some() {
        let name = if low.is_some() { "fuel_saved_high" } else { "fuel_saved_low" };
        form.fault(IssueCode::Missing, name, "", "must be given: an interval has two ends");
    }
    more_than(&mut form, ("fuel_saved_low", low), ("fuel_saved", saved), "the interval holds it");
    more_than(&mut form, ("fuel_saved", saved), ("fuel_saved_high", high), "the interval holds it");
    let (issues, _) = form.finish(false);
    match saved {
        Some(fuel_saved) if issues.is_empty() => {
            Ok(FollowUp { date, fuel_saved, interval: low.zip(high) })
        }
        _ => Err(issues),
    }
}
