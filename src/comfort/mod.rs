//! How warm the inside of a surface is, before and after the work, by heat-flow path: what a
//! thermal scan of the wall would show, and what a person beside it feels.
//!
//! Steady state, one dimension, at a design outdoor temperature. The paths and their resistances
//! are those of the assessment.

mod paths;
mod temperature;
pub mod words;

pub use paths::{BattSide, Path, PathLayer, Paths, Place, State, Substance, paths};
pub use temperature::{Given, Temperature};

use crate::error::{InputError, Issue, IssueCode};
use crate::house::{House, Surface, SurfaceKind};
use crate::vapour::saturation_pressure_pa;

/// Room temperature where none is given, °F (common practice, no source).
pub const INDOOR_F: f64 = 68.0;
/// Outdoor temperatures that are taken, °C.
pub(crate) const OUTDOOR_RANGE_C: (f64, f64) = (-60.0, 50.0);
/// Indoor temperatures that are taken, °C.
pub(crate) const INDOOR_RANGE_C: (f64, f64) = (5.0, 35.0);

/// The air on both sides, as a person gives it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RawDesign {
    /// Design outdoor temperature; required, -60 to 50 °C.
    pub outdoor: Given,
    /// Room temperature, 5 to 35 °C; 68 °F where none is given.
    pub indoor: Given,
    /// Relative humidity of the room, 0 to 1; none is needed for temperatures.
    pub indoor_rh: Option<f64>,
    /// Which side of the cavity the batt lies on.
    pub batt_side: BattSide,
}

/// The air on both sides, checked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Design {
    outdoor: Temperature,
    indoor: Temperature,
    indoor_rh: Option<f64>,
    batt_side: BattSide,
}

impl RawDesign {
    /// Checks every value.
    ///
    /// # Errors
    /// [`InputError`] with every fault.
    pub fn check(&self) -> Result<Design, InputError> {
        let mut issues = Vec::new();
        let (low, high) = OUTDOOR_RANGE_C;
        let outdoor = noted(&mut issues, self.outdoor.check("outdoor", low, high));
        if self.outdoor == Given::default() {
            let reason = "a design outdoor temperature must be given, in °F or as outdoor_c in °C";
            issues.push(Issue::new(IssueCode::Missing, "outdoor_f", "", reason));
        }
        let indoor = indoor(&mut issues, self.indoor);
        if let Some(rh) = self.indoor_rh {
            issues.extend(share_fault("indoor_rh", rh));
        }
        match (outdoor, indoor, issues.is_empty()) {
            (Some(outdoor), Some(indoor), true) => {
                Ok(Design { outdoor, indoor, indoor_rh: self.indoor_rh, batt_side: self.batt_side })
            }
            _ => Err(InputError { issues }),
        }
    }
}

/// The room's temperature, or the usual one.
pub(crate) fn indoor(issues: &mut Vec<Issue>, given: Given) -> Option<Temperature> {
    let (low, high) = INDOOR_RANGE_C;
    match given.check("indoor", low, high) {
        Ok(Some(indoor)) => Some(indoor),
        Ok(None) => Temperature::from_f(INDOOR_F),
        Err(issue) => {
            issues.push(issue);
            None
        }
    }
}

fn noted<T>(issues: &mut Vec<Issue>, checked: Result<Option<T>, Issue>) -> Option<T> {
    checked.unwrap_or_else(|issue| {
        issues.push(issue);
        None
    })
}

/// What is wrong with a share from 0 to 1.
pub(crate) fn share_fault(name: &str, share: f64) -> Option<Issue> {
    if (0.0..=1.0).contains(&share) {
        return None;
    }
    let code = if share.is_finite() { IssueCode::OutOfRange } else { IssueCode::NotANumber };
    let hint = if (1.0..=100.0).contains(&share) { "; 60 % is 0.6" } else { "" };
    Some(Issue::new(code, name, share.to_string(), format!("allowed is 0 to 1{hint}")))
}

impl Design {
    /// Design outdoor temperature.
    pub fn outdoor(&self) -> Temperature {
        self.outdoor
    }

    /// Room temperature.
    pub fn indoor(&self) -> Temperature {
        self.indoor
    }

    /// Relative humidity of the room, where given.
    pub fn indoor_rh(&self) -> Option<f64> {
        self.indoor_rh
    }
}

/// Temperatures of a path.
#[derive(Clone, Debug)]
pub struct PathComfort {
    /// The path.
    pub path: Path,
    /// Temperature of its inside surface.
    pub surface: Temperature,
    /// (surface − far side)/(room − far side), with the film of the assessment.
    pub temperature_factor: f64,
    /// Temperatures from the room's air to the far side's, one more than there are layers.
    pub profile: Vec<Temperature>,
    /// Relative humidity of the air at the surface, where that of the room is given; above 1, the
    /// room's vapour condenses there.
    pub surface_rh: Option<f64>,
}

/// Temperatures of a surface.
#[derive(Clone, Debug)]
pub struct SurfaceComfort {
    /// The user's name for it.
    pub name: Option<String>,
    /// What kind of surface.
    pub kind: SurfaceKind,
    /// Temperature on its far side: outdoors, or in the unheated space beyond.
    pub far_side: Temperature,
    /// Whether the order of its layers is known, so that profiles show each of them.
    pub ordered: bool,
    /// Its paths as found.
    pub before: Vec<PathComfort>,
    /// Its paths after the work.
    pub after: Vec<PathComfort>,
}

impl SurfaceComfort {
    /// Mean inside temperature by area, before.
    pub fn mean_before(&self) -> Temperature {
        mean(&self.before)
    }

    /// Mean inside temperature by area, after.
    pub fn mean_after(&self) -> Temperature {
        mean(&self.after)
    }
}

fn mean(paths: &[PathComfort]) -> Temperature {
    Temperature::of_c(paths.iter().map(|path| path.path.share * path.surface.c()).sum())
}

/// Inside surface temperatures of a house.
#[derive(Clone, Debug)]
pub struct Comfort {
    /// The air on both sides.
    pub design: Design,
    /// One entry for each surface, in the order of the house.
    pub surfaces: Vec<SurfaceComfort>,
}

/// Temperatures through layers in series, from the room's air to the far side's.
///
/// # Formula
/// `T_k = T_room - (T_room - T_far) * (R_1 + ... + R_k) / R`: the fall over each layer is in
/// proportion to its resistance (ISO 6946 and ISO 13788, from memory; the heat flow is the same
/// through each).
pub fn profile(layers: &[PathLayer], room: Temperature, far: Temperature) -> Vec<Temperature> {
    let total: f64 = layers.iter().map(|layer| layer.r.ip()).sum();
    let (least, most) = (room.c().min(far.c()), room.c().max(far.c()));
    let mut passed = 0.0;
    let mut temperatures = vec![room];
    temperatures.extend(layers.iter().map(|layer| {
        passed += layer.r.ip();
        let fall = (room.c() - far.c()) * (passed / total);
        Temperature::of_c((room.c() - fall).clamp(least, most))
    }));
    temperatures
}

impl Comfort {
    /// Inside surface temperatures of a house at a design outdoor temperature.
    ///
    /// # Errors
    /// [`InputError`] where a surface's `series_r` is too small to hold the films.
    pub fn of(house: &House, design: &Design) -> Result<Self, InputError> {
        let (mut issues, mut surfaces) = (Vec::new(), Vec::new());
        let many = house.surfaces().len() > 1;
        for (index, surface) in house.surfaces().iter().enumerate() {
            match surface_comfort(surface, design) {
                Ok(comfort) => surfaces.push(comfort),
                Err(issue) if many => issues.push(issue.within(&format!("surfaces[{index}]"))),
                Err(issue) => issues.push(issue),
            }
        }
        if issues.is_empty() {
            Ok(Self { design: *design, surfaces })
        } else {
            Err(InputError { issues })
        }
    }
}

fn surface_comfort(surface: &Surface, design: &Design) -> Result<SurfaceComfort, Issue> {
    let Paths { before, after, ordered } = paths(surface, design.batt_side)?;
    let room = design.indoor;
    let fall = surface.temperature_factor().ip() * (room.c() - design.outdoor.c());
    let far_side = Temperature::of_c(room.c() - fall);
    let vapour = design.indoor_rh.map(|rh| rh * saturation_pressure_pa(room.c()));
    let of = |path: Path| {
        let profile = profile(&path.layers, room, far_side);
        let surface = profile.get(1).copied().unwrap_or(room);
        let film = path.layers.first().map_or(0.0, |layer| layer.r.ip());
        PathComfort {
            temperature_factor: 1.0 - film * path.u.ip(),
            surface_rh: vapour.map(|vapour| vapour / saturation_pressure_pa(surface.c())),
            path,
            surface,
            profile,
        }
    };
    Ok(SurfaceComfort {
        name: surface.name().map(str::to_owned),
        kind: surface.kind(),
        far_side,
        ordered,
        before: before.into_iter().map(of).collect(),
        after: after.into_iter().map(of).collect(),
    })
}
