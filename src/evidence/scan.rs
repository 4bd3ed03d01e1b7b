//! The thermal scan: bays seen and bays cold, under conditions that let a camera tell.

use super::record::{ScanRecord, SurfaceRecord, surface_label};
use super::share::{Confidence, Count, Interval};
use crate::house::{House, LayerBody, Series};
use crate::tables::{
    Role, SCAN_DIFFERENCE_F, SCAN_SUN_FREE_HOURS, SCAN_SUN_FREE_HOURS_MASONRY, SCAN_WIND_MPH,
};

/// Whether a scan counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ScanStanding {
    /// The conditions were such that cold bays show.
    Valid,
    /// Something was not written down: what.
    Unknown(Vec<&'static str>),
    /// The conditions hide or feign cold bays: which.
    NotValid(Vec<String>),
}

/// Claddings that keep the sun's heat for long.
const MASONRY: [&str; 3] = ["face_brick_4in", "common_brick_4in", "stucco_3_4in"];

fn masonry(house: &House) -> bool {
    house.surfaces().iter().any(|surface| match surface.series() {
        Series::Total(_) => false,
        Series::Materials(places) => Series::materials(*places)
            .any(|material| material.role == Role::Cladding && MASONRY.contains(&material.key)),
        Series::Layers(layers) => layers.iter().any(|layer| match layer.body {
            LayerBody::Material(material) => MASONRY.contains(&material.key),
            _ => false,
        }),
    })
}

/// Whether the conditions let a camera tell a cold bay from a warm one.
pub fn standing(house: &House, scan: Option<&ScanRecord>) -> ScanStanding {
    let none = ScanRecord::default();
    let scan = scan.unwrap_or(&none);
    let mut unknown = Vec::new();
    let mut wrong = Vec::new();
    match (scan.inside_f, scan.outside_f) {
        (Some(inside), Some(outside)) => {
            let difference = (inside - outside).abs();
            // A degree Celsius is 1.8 of these but for rounding.
            if difference < SCAN_DIFFERENCE_F.value - 1e-9 {
                let least = SCAN_DIFFERENCE_F.value;
                wrong.push(format!(
                    "{difference:.0} °F between inside and outside, least {least} °F (10 K)"
                ));
            }
        }
        _ => unknown.push("temperatures"),
    }
    match scan.wind_mph {
        Some(wind) if wind > SCAN_WIND_MPH.value => {
            wrong.push(format!("wind of {wind:.0} miles an hour, most {}", SCAN_WIND_MPH.value));
        }
        Some(_) => {}
        None => unknown.push("wind"),
    }
    let hours = if masonry(house) { &SCAN_SUN_FREE_HOURS_MASONRY } else { &SCAN_SUN_FREE_HOURS };
    match scan.sun_free_hours {
        Some(free) if free < hours.value => {
            wrong.push(format!("sun on the wall {free} hours before, least {}", hours.value));
        }
        Some(_) => {}
        None => unknown.push("hours since the sun stood on the wall"),
    }
    match (wrong.is_empty(), unknown.is_empty()) {
        (false, _) => ScanStanding::NotValid(wrong),
        (true, false) => ScanStanding::Unknown(unknown),
        (true, true) => ScanStanding::Valid,
    }
}

/// What the camera counted in one surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Tally {
    /// The surface's place in the house.
    pub surface: usize,
    /// Its name.
    pub label: String,
    /// Bays that it has, where they were counted.
    pub bays: Option<u32>,
    /// Of those seen, cold before the work.
    pub cold_before: Option<u32>,
    /// Cold after the work, out of those seen.
    pub cold_after: Count,
    /// The interval of Wilson.
    pub wilson: Interval,
    /// The exact interval.
    pub exact: Interval,
    /// How many of all the bays may be cold: the exact interval of a draw without putting back.
    pub of_all: Option<(u32, u32)>,
}

impl Tally {
    /// The tally of a surface whose cold bays were counted after the work.
    pub fn new(house: &House, record: &SurfaceRecord, confidence: Confidence) -> Option<Self> {
        let cold_after = Count::new(record.cold_after?, record.bays_scanned?).ok()?;
        Some(Self {
            surface: record.surface,
            label: surface_label(house, record.surface),
            bays: record.bays,
            cold_before: record.cold_before,
            cold_after,
            wilson: cold_after.wilson(confidence),
            exact: cold_after.exact(confidence),
            of_all: record.bays.and_then(|bays| cold_after.of_finite(bays, confidence).ok()),
        })
    }

    /// The share missed, by the bays that were seen.
    pub fn share(&self) -> f64 {
        self.cold_after.share()
    }

    /// Whether every bay was seen, so that nothing is left to guess.
    pub fn complete(&self) -> bool {
        self.bays == Some(self.cold_after.seen())
    }

    /// The ends between which the share missed of all bays lies.
    pub fn range(&self) -> Interval {
        match (self.of_all, self.bays) {
            (Some((low, high)), Some(bays)) => Interval {
                low: f64::from(low) / f64::from(bays),
                high: f64::from(high) / f64::from(bays),
            },
            _ => self.exact,
        }
    }
}
