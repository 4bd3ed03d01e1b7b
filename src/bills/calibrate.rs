//! The model of a house beside its bills: what can be compared, and what the difference says.
//!
//! The model knows the surfaces that are to be filled and nothing else: no windows, roof, cellar or
//! air. So its use cannot be laid beside the billed use as such. What can be compared:
//!
//! - what the whole house loses for each degree, by the slope of the bills, against what the
//!   modelled surfaces lose now: their share must be that of walls;
//! - the degree-days of a usual year at the change point of the bills, against those in the house
//!   file, which are usually at 65 °F;
//! - the modelled saving against the billed heating use.
//!
//! Where these are plausible, the house is assessed again with the bills' own degree-days and
//! heating use, and the ratio of the two savings is the factor. Where they are not, there is no
//! factor: something is wrong that scaling would hide.

use super::finding::{Finding, gravest};
use super::fit::{Fit, Form, Params};
use super::judge::Verdict;
use super::normal::NormalYear;
use super::{Weight, proof::Ranged};
use crate::error::{InputError, Issue, IssueCode};
use crate::house::{Field, House, Surfaces, assess};
use crate::tables::{SAVED_SHARE_LIMIT, WALLS_SHARE_HIGH, WALLS_SHARE_LOW};
use crate::units::DegreeDays;

/// A house file whose degree-days differ by more than this from those at the change point is looked
/// at again (judgement).
const FACTOR_RANGE: std::ops::RangeInclusive<f64> = 0.5..=1.5;
/// Degree-days that a house may have, as in its field.
const MOST_DEGREE_DAYS: f64 = 25_000.0;

/// A model beside its bills. Use is in the fuel's unit.
#[derive(Clone, Debug)]
pub struct Calibration {
    /// Loss of the whole house for each degree, by the bills, Btu/h·°F: slope × heat content ×
    /// efficiency / 24.
    pub house_loss_btu_h_f: Ranged,
    /// Loss of the modelled surfaces as they are now, Btu/h·°F.
    pub walls_loss_btu_h_f: f64,
    /// The modelled surfaces' share of the whole.
    pub walls_share: f64,
    /// Heating use of a usual year by the bills: what `billed_heating_fuel` means.
    pub heating_fuel: Ranged,
    /// Degree-days of a usual year at the change point, °F·day.
    pub degree_days_f: f64,
    /// Those of the house file.
    pub house_degree_days_f: f64,
    /// Fuel saved a year by the model with the house file's degree-days, not held to any bills.
    pub modelled_fuel_saved: f64,
    /// That over the billed heating use.
    pub modelled_share: f64,
    /// The house with the degree-days and the heating use of its bills; `None` where model and bills
    /// do not fit together.
    pub house: Option<House>,
    /// Fuel saved a year by that house.
    pub fuel_saved: Option<f64>,
    /// `fuel_saved` over `modelled_fuel_saved`.
    pub factor: Option<f64>,
    /// What the reader must know.
    pub findings: Vec<Finding>,
}

/// Lays the model of a house beside its bills.
///
/// # Errors
/// [`InputError`] where the bills are of another fuel than the house's, and for a straight line,
/// which has no heating use.
pub fn calibrate(house: &House, fit: &Fit, normal: &NormalYear) -> Result<Calibration, InputError> {
    let fuel = house.plant().fuel;
    if fuel != fit.fuel {
        let reason = format!("the bills are of it, the house burns {}", fuel.row().key);
        return Err(Issue::new(IssueCode::Conflict, "fuel", fit.fuel.row().key, reason).into());
    }
    if fit.options.form == Form::Straight {
        let reason = "a straight line does not tell heating from base load: fit heating".to_owned();
        return Err(Issue::new(IssueCode::Refused, "form", "straight", reason).into());
    }
    let efficiency = house.plant().heating_efficiency;
    let per_slope = fuel.row().mmbtu_per_unit * 1e6 * efficiency / 24.0;
    let loss = |params: &Params| params.heating_slope * per_slope;
    let house_loss = Ranged::new(loss(&fit.params), fit.interval(loss));
    let heating = |params: &Params| normal.annual(fit.options.form, params).heating;
    let heating_fuel = Ranged::new(heating(&fit.params), fit.interval(heating));
    let walls_loss = walls_loss(house);
    let walls_share = walls_loss / house_loss.value;
    let mut unbilled = house.clone();
    unbilled.plant.billed_heating_fuel = None;
    let modelled_fuel_saved = assess(&unbilled).fuel_saved;
    let mut calibration = Calibration {
        house_loss_btu_h_f: house_loss,
        walls_loss_btu_h_f: walls_loss,
        walls_share,
        heating_fuel,
        degree_days_f: normal.heating_degree_days_f(fit.params.heating_change_f),
        house_degree_days_f: house.climate().heating_degree_days.ip(),
        modelled_fuel_saved,
        modelled_share: modelled_fuel_saved / heating_fuel.value,
        house: None,
        fuel_saved: None,
        factor: None,
        findings: Vec::new(),
    };
    calibration.findings = findings(&calibration, fit);
    if gravest(&calibration.findings) != Some(Weight::Refuse) {
        let mut billed = house.clone();
        billed.climate.heating_degree_days = DegreeDays::checked(calibration.degree_days_f);
        billed.plant.billed_heating_fuel = Some(heating_fuel.value);
        for field in [Field::HeatingDegreeDays, Field::BilledHeatingFuel] {
            billed.given.insert(field);
        }
        let saved = assess(&billed).fuel_saved;
        calibration.fuel_saved = Some(saved);
        calibration.factor = (modelled_fuel_saved > 0.0).then(|| saved / modelled_fuel_saved);
        calibration.house = Some(billed);
        if let Some(factor) = calibration.factor
            && !FACTOR_RANGE.contains(&factor)
        {
            let text = format!(
                "The bills' own degree-days, {:.0} at {:.1} °F, change the saving by a factor of \
                 {factor:.2} from that with the {:.0} of the house file: are those of this place, \
                 in °F, and at this base?",
                calibration.degree_days_f,
                fit.params.heating_change_f,
                calibration.house_degree_days_f
            );
            calibration.findings.push(Finding::doubt("degree_days_differ", text));
        }
    }
    Ok(calibration)
}

/// What the surfaces lose for each degree now: each assessed as a house of its own.
fn walls_loss(house: &House) -> f64 {
    let loss = |surface: &crate::house::Surface| {
        let alone = House { surfaces: Surfaces::One(surface.clone()), ..house.clone() };
        surface.temperature_factor().ip() * surface.area().ip() * assess(&alone).u_before.ip()
    };
    house.surfaces().iter().map(loss).sum()
}

fn findings(calibration: &Calibration, fit: &Fit) -> Vec<Finding> {
    let mut found = Vec::new();
    match fit.verdict() {
        Verdict::Sound => {}
        Verdict::Doubtful => found.push(Finding::doubt(
            "fit_doubtful",
            "The fit of the bills is doubtful; so is everything that rests on it.",
        )),
        Verdict::Unusable => {
            found.push(Finding::refuse("fit_unusable", "The fit of the bills must not be used."));
        }
    }
    let Calibration { walls_loss_btu_h_f: walls, walls_share: share, .. } = *calibration;
    let whole = calibration.house_loss_btu_h_f.value;
    if !(share <= 1.0) {
        found.push(Finding::refuse(
            "walls_exceed_house",
            format!(
                "The walls as modelled lose {walls:.0} Btu/h·°F, more than the {whole:.0} that the \
                 whole house loses by its bills. The area or the layers are wrong, the efficiency is, \
                 part of the house is not heated, or other heat (a wood stove, electric heaters) is \
                 not on this meter. Nothing was scaled."
            ),
        ));
    } else if share > WALLS_SHARE_HIGH.value {
        found.push(Finding::doubt(
            "walls_dominate",
            format!(
                "The walls as modelled make up {:.0} % of what the house loses by its bills; windows, \
                 roof and air must have their part. Look at the area, the layers, the efficiency, and \
                 for heat that is not on this meter (a wood stove, rooms that are not heated).",
                100.0 * share
            ),
        ));
    } else if share < WALLS_SHARE_LOW.value {
        found.push(Finding::doubt(
            "walls_slight",
            format!(
                "The walls as modelled make up only {:.1} % of what the house loses by its bills: is \
                 the area complete, are the bills of this house alone, is something else on the meter?",
                100.0 * share
            ),
        ));
    }
    if calibration.modelled_share > SAVED_SHARE_LIMIT.value {
        found.push(Finding::doubt(
            "saved_share_high",
            format!(
                "The modelled saving is {:.0} % of the billed heating use: more than the {:.0} % that \
                 walls alone are believed to save.",
                100.0 * calibration.modelled_share,
                100.0 * SAVED_SHARE_LIMIT.value
            ),
        ));
    }
    if !(0.0..=MOST_DEGREE_DAYS).contains(&calibration.degree_days_f) {
        found.push(Finding::refuse(
            "degree_days_out_of_range",
            "A usual year has no degree-days at the change point of the bills.",
        ));
    }
    if !(calibration.heating_fuel.value > 0.0) {
        found.push(Finding::refuse(
            "no_heating_use",
            "A usual year has no heating use by this fit.",
        ));
    }
    found
}
