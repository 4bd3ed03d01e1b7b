//! Humidity at the inside surface: where mould could grow.
//!
//! # Formula
//! The surface must be so warm that its air stays at 80 %: `p_sat(t_min) = p_i/0.8`, and
//! `f_min = (t_min - t_e)/(t_i - t_e)`. The month with the greatest `f_min` is critical. A path
//! has `f = 1 - 0.25/R`, with R its resistance in which the inside film is 0.25 m²K/W, as in
//! corners and behind furniture.
//!
//! # Source
//! ISO 13788, surface humidity (from memory). Where three dimensions meet (corners, sills) a wall
//! is colder than any path here.

use super::{IndoorHumidity, OutdoorMonth, dew_point_c, saturation_pressure_pa};
use crate::comfort::{Path, Place, State, Temperature};
use crate::tables::{MOULD_FILM_R, MOULD_HUMIDITY};

/// What the inside surfaces need in the critical month.
#[derive(Clone, Debug, PartialEq)]
pub struct Mould {
    /// The critical month, 1 to 12; `None` where no month is colder than the room.
    pub month: Option<u8>,
    /// Temperature factor that the surface needs in it; above 1, the room itself is too damp.
    pub factor_needed: f64,
    /// The paths before the work.
    pub before: Vec<MouldPath>,
    /// The paths after the work.
    pub after: Vec<MouldPath>,
}

/// A path's inside surface in the critical month.
#[derive(Clone, Debug, PartialEq)]
pub struct MouldPath {
    /// Where it runs.
    pub place: Place,
    /// What the work does to it.
    pub state: State,
    /// Its share of the wall.
    pub share: f64,
    /// Its temperature factor.
    pub factor: f64,
    /// Humidity of the air at the surface, 0 and up; above 1 the vapour condenses.
    pub surface_rh: f64,
}

impl MouldPath {
    /// Whether the surface is more humid than mould needs.
    pub fn at_risk(&self) -> bool {
        self.surface_rh > MOULD_HUMIDITY.value
    }
}

/// The temperature factor that a surface needs in a month; `None` where it is not colder outside.
pub fn factor_needed(
    room: Temperature,
    indoor: IndoorHumidity,
    outdoor: &OutdoorMonth,
) -> Option<f64> {
    let fall = room.c() - outdoor.temperature.c();
    if fall <= 0.0 {
        return None;
    }
    // A room without any vapour needs no warmth at all.
    let pressure = (indoor.pressure_pa(room, outdoor) / MOULD_HUMIDITY.value).max(1e-3);
    Some((dew_point_c(pressure) - outdoor.temperature.c()) / fall)
}

pub(super) fn mould(
    [before, after]: [&[Path]; 2],
    room: Temperature,
    indoor: IndoorHumidity,
    months: &[OutdoorMonth; 12],
) -> Mould {
    let mut critical: Option<(u8, &OutdoorMonth, f64)> = None;
    for (number, month) in (1_u8..).zip(months) {
        if let Some(needed) = factor_needed(room, indoor, month)
            && critical.is_none_or(|(_, _, most)| needed > most)
        {
            critical = Some((number, month, needed));
        }
    }
    let of = |paths: &[Path]| {
        let Some((_, outdoor, _)) = critical else { return Vec::new() };
        let pressure = indoor.pressure_pa(room, outdoor);
        let fall = room.c() - outdoor.temperature.c();
        paths
            .iter()
            .map(|path| {
                let film = path.layers.first().map_or(0.0, |layer| layer.r.si());
                let r = 1.0 / path.u.si() - film + MOULD_FILM_R.value;
                let factor = 1.0 - MOULD_FILM_R.value / r;
                let surface = outdoor.temperature.c() + factor * fall;
                MouldPath {
                    place: path.place,
                    state: path.state,
                    share: path.share,
                    factor,
                    surface_rh: pressure / saturation_pressure_pa(surface),
                }
            })
            .collect()
    };
    Mould {
        month: critical.map(|(number, ..)| number),
        factor_needed: critical.map_or(0.0, |(_, _, needed)| needed),
        before: of(before),
        after: of(after),
    }
}
