//! From bags to the density in the wall, and what it is held against.

use super::finding::{Found, ProofFinding};
use super::record::surface_label;
use crate::house::{Fill, House, LayerBody, Series, Surface, Surfaces, assess};
use crate::readiness::Answer;
use crate::tables::{
    BLOW_OUT_DENSITY_SOUND, BLOW_OUT_DENSITY_WEAK, MIN_FILL_DENSITY, Material,
    REFUSAL_DENSITY_ENCLOSED, REFUSAL_DENSITY_OPEN_ATTIC, Role,
};
use crate::units::{Density, Fraction, Mass};
use std::fmt::Write as _;

/// The density that the bags used make.
#[derive(Clone, Debug, PartialEq)]
pub struct Achieved {
    /// The surface's place in the house.
    pub surface: usize,
    /// Its name.
    pub label: String,
    /// The fibre that went in.
    pub mass: Mass,
    /// The volume that it filled, ft³: cavities less batts, missed bays taken off.
    pub volume_ft3: f64,
    /// The two divided.
    pub density: Density,
    /// The density that was promised.
    pub target: Density,
    /// The least that holds; `None` for an open attic, where the chart on the bag governs.
    pub least: Option<f64>,
    /// The most that the interior finish is taken to bear; of an open attic, what it can have.
    pub most: f64,
    /// Whether the fibre was blown over an open floor.
    pub open: bool,
}

/// The density of a fill, as promised.
pub(crate) fn promised_density(fill: &Fill) -> Density {
    match fill {
        Fill::Packed(fill) => fill.density,
        Fill::Open(fill) => fill.settled_density,
    }
}

pub(crate) fn missed(fill: &Fill) -> Fraction {
    match fill {
        Fill::Packed(fill) => fill.missed,
        Fill::Open(fill) => fill.missed,
    }
}

pub(crate) fn set_missed(fill: &mut Fill, share: f64) {
    let share = Fraction::checked(share.clamp(0.0, 1.0));
    match fill {
        Fill::Packed(fill) => fill.missed = share,
        Fill::Open(fill) => fill.missed = share,
    }
}

/// The volume that fibre takes in one surface where a share of it is missed, ft³: the house's own
/// calculation, for a house of this surface alone.
pub fn fill_volume_ft3(house: &House, surface: &Surface, share_missed: f64) -> f64 {
    let mut surface = surface.clone();
    set_missed(&mut surface.fill, share_missed);
    let density = promised_density(&surface.fill).ip();
    let mut alone = house.clone();
    alone.surfaces = Surfaces::One(surface);
    assess(&alone).fill_mass.ip() / density
}

/// What the bags of a surface come to, where a share of it is missed; `None` where nothing of it
/// was filled.
pub fn achieved(
    house: &House,
    surface: usize,
    bags: f64,
    bag_weight: Mass,
    share_missed: f64,
) -> Option<Achieved> {
    let label = surface_label(house, surface);
    let part = house.surfaces().get(surface)?;
    let volume_ft3 = fill_volume_ft3(house, part, share_missed);
    let mass = Mass::checked(bags * bag_weight.ip());
    let density = mass.ip() / volume_ft3;
    let open = matches!(part.fill, Fill::Open(_));
    (volume_ft3 > 0.0 && density.is_finite()).then(|| Achieved {
        surface,
        label,
        mass,
        volume_ft3,
        density: Density::checked(density),
        target: promised_density(&part.fill),
        least: (!open).then_some(MIN_FILL_DENSITY.value),
        most: if open { REFUSAL_DENSITY_OPEN_ATTIC.value } else { bears(house, part) },
        open,
    })
}

/// Finishes that give way before others: thin board and panelling. The field guide names them and
/// gives no density.
const WEAK: [&str; 4] = [
    "gypsum_board_3_8in",
    "wood_panelling_1_4in",
    "fibreboard_interior_1_2in",
    "no_interior_finish",
];

/// The finish that faces the room, where the surface names it.
fn finish(surface: &Surface) -> Option<&'static Material> {
    let is_finish = |material: &&'static Material| material.role == Role::InteriorFinish;
    match surface.series() {
        Series::Total(_) => None,
        Series::Materials(places) => Series::materials(*places).find(is_finish),
        Series::Layers(layers) => layers
            .iter()
            .filter_map(|layer| match layer.body {
                LayerBody::Material(material) => Some(material),
                _ => None,
            })
            .find(is_finish),
    }
}

/// The density above which the finish should be looked at. One that nobody named or looked at is
/// taken for a weak one.
pub fn bears(house: &House, surface: &Surface) -> f64 {
    let sound = finish(surface).is_some_and(|finish| !WEAK.contains(&finish.key))
        && house.hazards().loose_interior_finish == Answer::No;
    if sound { BLOW_OUT_DENSITY_SOUND.value } else { BLOW_OUT_DENSITY_WEAK.value }
}

/// The greatest density that a field can hold: beyond it no wall was packed.
pub(crate) fn beyond_wall() -> f64 {
    crate::house::Field::FillDensity.def().high
}

impl Achieved {
    /// What it is held against: what a wall holds, what the finish bears, the least, the promise.
    pub fn finding(&self) -> Option<Found> {
        let density = self.density.ip();
        let finding = if self.open {
            (density > self.most).then_some(ProofFinding::DensityOpenHigh)
        } else if density > beyond_wall() {
            Some(ProofFinding::DensityBeyondWall)
        } else if density > self.most * (1.0 + SLACK) {
            Some(ProofFinding::DensityBlowOut)
        } else if density < REFUSAL_DENSITY_ENCLOSED.value {
            Some(ProofFinding::DensityNotPacked)
        } else if density < MIN_FILL_DENSITY.value {
            Some(ProofFinding::DensityLow)
        } else if density < self.target.ip() * (1.0 - SLACK) {
            Some(ProofFinding::DensityUnderTarget)
        } else {
            None
        }?;
        let mut detail = format!("{density:.2} lb/ft³, promised {:.2}", self.target.ip());
        match finding {
            ProofFinding::DensityBlowOut | ProofFinding::DensityOpenHigh => {
                let _ = write!(detail, ", limit {:.1}", self.most);
            }
            ProofFinding::DensityNotPacked | ProofFinding::DensityLow => {
                let empty = 100.0 * (1.0 - density / self.target.ip()).max(0.0);
                let _ = write!(
                    detail,
                    "; at the promised density {empty:.0} % of the volume would be empty"
                );
            }
            _ => {}
        }
        Some(Found::new(finding, self.label.clone(), detail))
    }

    /// Whether a house can be assessed at this density.
    pub(crate) fn usable(&self) -> bool {
        let density = self.density.ip();
        if self.open {
            (crate::house::Field::FillDensity.def().low..=self.most).contains(&density)
        } else {
            (REFUSAL_DENSITY_ENCLOSED.value..=beyond_wall()).contains(&density)
        }
    }
}

/// Within a hundredth is as promised: bags are counted, and weigh what they weigh.
const SLACK: f64 = 0.01;
