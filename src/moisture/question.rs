//! What a moisture check is asked, and its faults.

use super::{IndoorHumidity, OutdoorMonth};
use crate::comfort::{BattSide, Given, OUTDOOR_RANGE_C, Temperature, indoor, share_fault};
use crate::error::{InputError, Issue, IssueCode, nearest};
use crate::tables::{PERMEANCES, PermeanceRole, PermeanceRow};

/// The word for a face that has no coat.
pub const NONE: &str = "none";
/// Permeances that are taken, US perms.
const PERMS: (f64, f64) = (0.001, 200.0);

/// A moisture check as a person asks for it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RawQuestion {
    /// Place of the wall in the house's list of surfaces; the only wall where it is left out.
    pub surface: Option<usize>,
    /// Mean outdoor temperatures of the twelve months from January on, °F; or
    /// [`Self::outdoor_c`].
    pub outdoor_f: Option<Vec<f64>>,
    /// The same in °C.
    pub outdoor_c: Option<Vec<f64>>,
    /// Mean outdoor relative humidities of the twelve months, 0 to 1.
    pub outdoor_rh: Vec<f64>,
    /// Room temperature, 5 to 35 °C; 68 °F where none is given.
    pub indoor: Given,
    /// Relative humidity of the room all year, 0 to 1; or [`Self::indoor_class`].
    pub indoor_rh: Option<f64>,
    /// One of [`IndoorHumidity::KEYS`].
    pub indoor_class: Option<String>,
    /// Paint or paper on the room side: a coat of the table of permeances, or `none`; `none` where
    /// it is left out, which lets most vapour in.
    pub interior_coat: Option<String>,
    /// Paint on the outside: a coat of the table, or `none`; must be said.
    pub exterior_coat: Option<String>,
    /// Sheet on the room side of the batt: a facing of the table, or `none`, the default.
    pub batt_facing: Option<String>,
    /// Which side of the cavity the batt lies on.
    pub batt_side: BattSide,
    /// Permeance of the cladding where it is known, US perms.
    pub cladding_perms: Option<f64>,
    /// Permeance of the sheathing where it is known.
    pub sheathing_perms: Option<f64>,
    /// Permeance of the interior finish where it is known.
    pub interior_finish_perms: Option<f64>,
}

/// A moisture check whose inputs are sound.
#[derive(Clone, Debug)]
pub struct Question {
    pub(super) surface: Option<usize>,
    pub(super) outdoor: [OutdoorMonth; 12],
    pub(super) room: Temperature,
    pub(super) indoor: IndoorHumidity,
    pub(super) interior_coat: Option<&'static PermeanceRow>,
    pub(super) exterior_coat: Option<&'static PermeanceRow>,
    pub(super) batt_facing: Option<&'static PermeanceRow>,
    pub(super) batt_side: BattSide,
    /// Cladding, sheathing, interior finish.
    pub(super) known_perms: [Option<f64>; 3],
}

impl Question {
    /// Room temperature.
    pub fn room(&self) -> Temperature {
        self.room
    }

    /// How damp the rooms are.
    pub fn indoor(&self) -> IndoorHumidity {
        self.indoor
    }

    /// Outdoor air of the twelve months.
    pub fn outdoor(&self) -> &[OutdoorMonth; 12] {
        &self.outdoor
    }
}

impl RawQuestion {
    /// Checks every value.
    ///
    /// # Errors
    /// [`InputError`] with every fault.
    pub fn check(&self) -> Result<Question, InputError> {
        let mut issues = Vec::new();
        let outdoor = self.outdoor(&mut issues);
        let room = indoor(&mut issues, self.indoor);
        let humidity = self.humidity(&mut issues);
        let mut coat = |name, key: &Option<String>, role| {
            let key =
                key.as_deref().map(str::trim).filter(|key| !key.is_empty() && *key != NONE)?;
            of_role(name, key, role).map_err(|issue| issues.push(issue)).ok()
        };
        let interior_coat = coat("interior_coat", &self.interior_coat, PermeanceRole::Coat);
        let exterior_coat = coat("exterior_coat", &self.exterior_coat, PermeanceRole::Coat);
        let batt_facing = coat("batt_facing", &self.batt_facing, PermeanceRole::Facing);
        if self.exterior_coat.as_deref().is_none_or(|key| key.trim().is_empty()) {
            let reason = format!(
                "must be said, because it decides whether the wall dries outward: {}",
                keys(PermeanceRole::Coat)
            );
            issues.push(Issue::new(IssueCode::Missing, "exterior_coat", "", reason));
        }
        let known_perms = [
            ("cladding_perms", self.cladding_perms),
            ("sheathing_perms", self.sheathing_perms),
            ("interior_finish_perms", self.interior_finish_perms),
        ];
        for (name, perms) in known_perms {
            let Some(perms) = perms else { continue };
            if !(PERMS.0..=PERMS.1).contains(&perms) {
                let code =
                    if perms.is_finite() { IssueCode::OutOfRange } else { IssueCode::NotANumber };
                let reason = format!("allowed is {} to {} US perms", PERMS.0, PERMS.1);
                issues.push(Issue::new(code, name, perms.to_string(), reason));
            }
        }
        match (outdoor, room, humidity, issues.is_empty()) {
            (Some(outdoor), Some(room), Some(indoor), true) => Ok(Question {
                surface: self.surface,
                outdoor,
                room,
                indoor,
                interior_coat,
                exterior_coat,
                batt_facing,
                batt_side: self.batt_side,
                known_perms: known_perms.map(|(_, perms)| perms),
            }),
            _ => Err(InputError { issues }),
        }
    }

    fn outdoor(&self, issues: &mut Vec<Issue>) -> Option<[OutdoorMonth; 12]> {
        let (name, values) = match (&self.outdoor_f, &self.outdoor_c) {
            (Some(_), Some(_)) => {
                let reason = "given twice, as outdoor_f and as outdoor_c";
                issues.push(Issue::new(IssueCode::GivenTwice, "outdoor_f", "", reason));
                return None;
            }
            (None, None) => {
                let reason = "twelve monthly means must be given, in °F or as outdoor_c in °C";
                issues.push(Issue::new(IssueCode::Missing, "outdoor_f", "", reason));
                return None;
            }
            (Some(f), None) => ("outdoor_f", f),
            (None, Some(c)) => ("outdoor_c", c),
        };
        let before = issues.len();
        for (name, values) in [(name, values), ("outdoor_rh", &self.outdoor_rh)] {
            if values.len() != 12 {
                let reason = "must hold twelve values, January to December";
                let value = format!("{} values", values.len());
                issues.push(Issue::new(IssueCode::WrongType, name, value, reason));
            }
        }
        let (low, high) = OUTDOOR_RANGE_C;
        let fahrenheit = self.outdoor_f.is_some();
        let months: Vec<OutdoorMonth> = values
            .iter()
            .zip(&self.outdoor_rh)
            .enumerate()
            .filter_map(|(place, (&value, &rh))| {
                let given = if fahrenheit {
                    Given { f: Some(value), c: None }
                } else {
                    Given { f: None, c: Some(value) }
                };
                let temperature = given
                    .check("outdoor", low, high)
                    .map_err(|mut issue| {
                        issue.field = format!("{name}[{place}]");
                        issues.push(issue);
                    })
                    .ok()
                    .flatten();
                if let Some(issue) = share_fault(&format!("outdoor_rh[{place}]"), rh) {
                    issues.push(issue);
                }
                Some(OutdoorMonth { temperature: temperature?, rh })
            })
            .collect();
        if issues.len() > before { None } else { months.try_into().ok() }
    }

    fn humidity(&self, issues: &mut Vec<Issue>) -> Option<IndoorHumidity> {
        match (self.indoor_rh, self.indoor_class.as_deref().map(str::trim)) {
            (Some(rh), None) => {
                let fault = share_fault("indoor_rh", rh);
                let sound = fault.is_none();
                issues.extend(fault);
                sound.then_some(IndoorHumidity::Fixed(rh))
            }
            (None, Some(key)) => {
                let found = IndoorHumidity::from_key(key);
                if found.is_none() {
                    let reason = format!("must be one of {}", IndoorHumidity::KEYS.join(", "));
                    issues.push(Issue::new(IssueCode::NotAChoice, "indoor_class", key, reason));
                }
                found
            }
            (Some(rh), Some(_)) => {
                let reason = "stands beside indoor_class; only one of them can hold";
                issues.push(Issue::new(IssueCode::Conflict, "indoor_rh", rh.to_string(), reason));
                None
            }
            (None, None) => {
                let reason = format!(
                    "how damp the rooms are must be said: indoor_rh from 0 to 1, or indoor_class, \
                     one of {}",
                    IndoorHumidity::KEYS.join(", ")
                );
                issues.push(Issue::new(IssueCode::Missing, "indoor_rh", "", reason));
                None
            }
        }
    }
}

fn keys(role: PermeanceRole) -> String {
    let keys: Vec<&str> =
        PERMEANCES.iter().filter(|row| row.role == role).map(|row| row.key).collect();
    format!("{NONE}, {}", keys.join(", "))
}

fn of_role(name: &str, key: &str, role: PermeanceRole) -> Result<&'static PermeanceRow, Issue> {
    let rows = || PERMEANCES.iter().filter(|row| row.role == role);
    rows().find(|row| row.key == key).ok_or_else(|| {
        let hint = nearest(key, rows().map(|row| row.key))
            .map(|near| format!("; is {near} meant?"))
            .unwrap_or_default();
        let reason = format!("must be one of {}{hint}", keys(role));
        Issue::new(IssueCode::NotAChoice, name, key, reason)
    })
}
