//! Water vapour in a filled wall: a steady-state diffusion check by month.
//!
//! The form is that of ISO 13788, known as the Glaser method: where vapour on its way out meets a
//! place too cold to hold it, how much water gathers there through the winter, and whether it
//! dries by summer. It is a screen, not a proof: [`words::LIMITS`] says what it leaves out, and is
//! printed with every result. Its outcome is a list of findings, never a certificate.

mod air;
mod findings;
mod glaser;
mod mould;
mod question;
mod section;
mod wall;
pub mod words;

pub use crate::vapour::{dew_point_c, saturation_pressure_pa};
pub use air::{IndoorHumidity, OutdoorMonth, monthly_means};
pub use findings::{MOISTURE_FINDINGS, MoistureFinding, MoistureFindingDef};
pub use glaser::{Month, TRACE_KG_M2, Year, year};
pub use mould::{Mould, MouldPath, factor_needed};
pub use question::{NONE, Question, RawQuestion};
pub use section::{Node, Section, VapourLayer};
pub use wall::{Hindrance, KG_S_M2_PA_PER_PERM, sd_m};

use crate::comfort::{Path, Paths, Place, State, paths};
use crate::error::{InputError, Issue, IssueCode};
use crate::house::{House, Surface, SurfaceKind};

/// A path of the wall, checked through the year.
#[derive(Clone, Debug)]
pub struct CheckedPath {
    /// Where it runs.
    pub place: Place,
    /// As found or filled.
    pub state: State,
    /// Its share of the wall.
    pub share: f64,
    /// Its layers from the room outward, films apart.
    pub layers: Vec<Hindrance>,
    /// The section that was calculated.
    pub section: Section,
    /// The year.
    pub year: Year,
}

/// A moisture check of a wall.
#[derive(Clone, Debug)]
pub struct Moisture {
    /// The inputs.
    pub question: Question,
    /// The user's name for the wall.
    pub surface: Option<String>,
    /// The bays as found.
    pub before: Vec<CheckedPath>,
    /// The bays once filled.
    pub after: Vec<CheckedPath>,
    /// Humidity at the inside surface of every path.
    pub mould: Mould,
    /// What was found, the gravest first; never empty.
    pub findings: Vec<MoistureFinding>,
}

impl Moisture {
    /// Checks a wall of a house.
    ///
    /// # Errors
    /// [`InputError`] where the house has no such wall, and where the order of the wall's layers
    /// is not known.
    pub fn of(house: &House, question: &Question) -> Result<Self, InputError> {
        let surface = wall(house, question.surface)?;
        let Paths { before, after, ordered } = paths(surface, question.batt_side)?;
        if !ordered {
            return Err(wall::order_unknown().into());
        }
        let checked = |paths: &[Path]| -> Result<Vec<CheckedPath>, Issue> {
            paths
                .iter()
                .filter(|path| path.place != Place::Framing && path.state != State::Missed)
                .map(|path| {
                    let layers = wall::hindrances(path, question)?;
                    let section = wall::section(path, &layers)?;
                    let year = year(&section, question.room, question.indoor, &question.outdoor);
                    Ok(CheckedPath {
                        place: path.place,
                        state: path.state,
                        share: path.share,
                        layers,
                        section,
                        year,
                    })
                })
                .collect()
        };
        let mould =
            mould::mould([&before, &after], question.room, question.indoor, &question.outdoor);
        let (before, after) = (checked(&before)?, checked(&after)?);
        let findings = findings::findings(&before, &after, &mould);
        Ok(Self {
            question: question.clone(),
            surface: surface.name().map(str::to_owned),
            before,
            after,
            mould,
            findings,
        })
    }
}

/// The wall that is asked about.
fn wall(house: &House, place: Option<usize>) -> Result<&Surface, Issue> {
    let fault =
        |value: String, reason: String| Issue::new(IssueCode::Refused, "surface", value, reason);
    if let Some(place) = place {
        let count = house.surfaces().len();
        let surface = house.surfaces().get(place).ok_or_else(|| {
            let reason = format!("the house has {count}, counted from 0");
            fault(place.to_string(), reason)
        })?;
        return match surface.kind() {
            SurfaceKind::Wall => Ok(surface),
            other => Err(fault(
                place.to_string(),
                format!("is a {}: the check is for walls only", other.as_str()),
            )),
        };
    }
    let mut walls = house.surfaces().iter().filter(|s| s.kind() == SurfaceKind::Wall);
    match (walls.next(), walls.next()) {
        (Some(wall), None) => Ok(wall),
        (None, _) => Err(fault(String::new(), "the house has no wall".to_owned())),
        (Some(_), Some(_)) => Err(fault(
            String::new(),
            "the house has several walls: say which, counted from 0 among its surfaces".to_owned(),
        )),
    }
}
