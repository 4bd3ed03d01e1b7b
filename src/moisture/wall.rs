//! A wall of a house as sections: which layers stand in the way of vapour, and how much.

use super::question::Question;
use super::section::{Section, VapourLayer};
use crate::comfort::{Path, Substance};
use crate::error::{Issue, IssueCode};
use crate::tables::{AIR_LAYER_SD, PermeanceRow, Role, VAPOUR_PERMEABILITY_AIR, permeance};
use crate::units::factor::{KG_PER_LB, M2_PER_FT2, S_PER_H};
use crate::units::{Length, RValue};

/// Pascals in an inch of mercury at 0 °C (NIST Special Publication 811, from memory).
const PA_PER_INHG: f64 = 3386.389;
/// kg/(s m² Pa) in one US perm, a grain an hour for each square foot and inch of mercury: 7,000
/// grains are a pound.
pub const KG_S_M2_PA_PER_PERM: f64 = KG_PER_LB / 7000.0 / S_PER_H / M2_PER_FT2 / PA_PER_INHG;

/// Thickness of still air, m, that hinders vapour as much as a layer of this permeance (US perms).
pub fn sd_m(perms: f64) -> f64 {
    VAPOUR_PERMEABILITY_AIR.value / (perms * KG_S_M2_PA_PER_PERM)
}

/// A layer's hindrance and where the number comes from.
#[derive(Clone, Debug)]
pub struct Hindrance {
    /// What it is, in words.
    pub name: String,
    /// Permeance, US perms; `None` for an air space, which has a fixed equivalent thickness.
    pub perms: Option<f64>,
    /// Equivalent air thickness, m.
    pub sd_m: f64,
    /// Thermal resistance; 0 for a coat.
    pub r: RValue,
    /// The row of the table; `None` where the user gave the number, and for an air space.
    pub row: Option<&'static PermeanceRow>,
}

/// The layers of a path between its films, with their hindrance.
pub(super) fn hindrances(path: &Path, question: &Question) -> Result<Vec<Hindrance>, Issue> {
    let mut layers = Vec::new();
    layers.extend(question.interior_coat.map(coat));
    for layer in &path.layers {
        let (row, perms) = match layer.substance {
            Substance::Film => continue,
            Substance::Lumped | Substance::Framing => return Err(order_unknown()),
            Substance::Air => {
                layers.push(Hindrance {
                    name: layer.name.clone(),
                    perms: None,
                    sd_m: AIR_LAYER_SD.value,
                    r: layer.r,
                    row: None,
                });
                continue;
            }
            Substance::Material(material) => {
                let [cladding, sheathing, finish] = question.known_perms;
                let known = match material.role {
                    Role::Cladding => cladding,
                    Role::Sheathing => sheathing,
                    Role::InteriorFinish => finish,
                    Role::Other => None,
                };
                match (known, permeance(material.key)) {
                    (Some(perms), _) => (None, perms),
                    (None, Some(row)) => (Some(row), row.perms),
                    (None, None) => {
                        let reason = format!("no permeance is known of {}", material.key);
                        return Err(Issue::new(IssueCode::Refused, "surface", "", reason));
                    }
                }
            }
            Substance::Batt(thickness) => {
                layers.extend(question.batt_facing.map(coat));
                by_inch("glass_fibre_batt", thickness)?
            }
            Substance::Fill(thickness) => by_inch("cellulose_fill", thickness)?,
        };
        layers.push(Hindrance {
            name: layer.name.clone(),
            perms: Some(perms),
            sd_m: sd_m(perms),
            r: layer.r,
            row,
        });
    }
    layers.extend(question.exterior_coat.map(coat));
    Ok(layers)
}

fn coat(row: &'static PermeanceRow) -> Hindrance {
    Hindrance {
        name: row.label.to_owned(),
        perms: Some(row.perms),
        sd_m: sd_m(row.perms),
        r: RValue::checked(0.0),
        row: Some(row),
    }
}

fn by_inch(key: &str, thickness: Length) -> Result<(Option<&'static PermeanceRow>, f64), Issue> {
    let row = permeance(key).ok_or_else(|| {
        Issue::new(IssueCode::Refused, "surface", "", format!("no permeance is known of {key}"))
    })?;
    // A sliver of a batt hinders nothing; the least thickness keeps the number finite.
    Ok((Some(row), row.perms / thickness.ip().max(1e-3)))
}

pub(super) fn order_unknown() -> Issue {
    let reason = "a moisture check needs to know which layer lies where: give cladding, sheathing \
                  and interior_finish instead of series_r, or layers that are materials of the \
                  table with such a role";
    Issue::new(IssueCode::Refused, "series_r", "", reason)
}

/// The section of a path.
pub(super) fn section(path: &Path, layers: &[Hindrance]) -> Result<Section, Issue> {
    let film = |layer: Option<&crate::comfort::PathLayer>| layer.map_or(0.0, |l| l.r.si());
    let vapour: Vec<VapourLayer> = layers
        .iter()
        .map(|layer| VapourLayer {
            name: layer.name.clone(),
            r_m2k_w: layer.r.si(),
            sd_m: layer.sd_m,
        })
        .collect();
    Section::new(film(path.layers.first()), film(path.layers.last()), &vapour)
        .ok_or_else(order_unknown)
}
