//! What a receipt for loose-fill insulation has to say by 16 CFR 460.17, part of the house by part.
//!
//! The rule, as seen: a contract or receipt, dated and signed by the installer; for loose-fill the
//! coverage area, the initial installed thickness, the least settled thickness, the R-value and the
//! number of bags used; each part of the house by itself, areas and R-values never added up; the
//! R-value by the maker's data, never an inch's R-value times the inches.

use super::built::Proof;
use super::density::fill_volume_ft3;
use super::record::{AsBuilt, surface_label};
use crate::house::Fill;
use crate::source::{Citation, Mark};
use crate::units::{Area, Length, Mass, RValue};
use chrono::NaiveDate;

/// Where the list of entries comes from.
pub const RULE: Citation = Citation::new("ftc_16cfr460", "460.17", Mark::Seen);

/// One part of the house.
#[derive(Clone, Debug, PartialEq)]
pub struct ReceiptPart {
    /// What it is called.
    pub part: String,
    /// Area that was insulated, openings taken off, framing counted in.
    pub coverage: Area,
    /// Thickness when installed.
    pub initial_thickness: Option<Length>,
    /// Least thickness after settling.
    pub settled_thickness: Option<Length>,
    /// R-value by the maker's data; `None` until somebody reads it from the chart.
    pub r_by_maker: Option<RValue>,
    /// Bags used.
    pub bags: Option<f64>,
    /// Their weight together.
    pub mass: Option<Mass>,
}

/// The receipt's entries.
#[derive(Clone, Debug, PartialEq)]
pub struct Receipt {
    /// The house.
    pub house_id: String,
    /// The day the work was done.
    pub date: Option<NaiveDate>,
    /// Weight of a bag.
    pub bag_weight: Mass,
    /// The parts, each by itself.
    pub parts: Vec<ReceiptPart>,
}

impl Receipt {
    /// The entries from the house and what was written down.
    pub fn new(proof: &Proof, as_built: &AsBuilt) -> Self {
        let house = &proof.promised;
        let bag_weight = as_built.bag_weight.unwrap_or(house.bag_weight());
        let parts = house.surfaces().iter().enumerate().map(|(index, surface)| {
            let record = as_built.surfaces.iter().find(|record| record.surface == index);
            let bags = record.and_then(|record| record.bags);
            // Packed fibre fills the cavity and stays; fibre on an attic floor settles.
            let (initial, settled) = match surface.fill() {
                Fill::Packed(_) => {
                    let cavities = surface.area().ip() * (1.0 - surface.framing().fraction.ip());
                    let mean = fill_volume_ft3(house, surface, 0.0) / cavities * 12.0;
                    let mean = Length::from_ip(mean).ok();
                    (mean, mean)
                }
                Fill::Open(fill) => (Some(fill.blown_depth()), Some(fill.depth)),
            };
            ReceiptPart {
                part: surface_label(house, index),
                coverage: surface.area(),
                initial_thickness: record.and_then(|r| r.initial_thickness).or(initial),
                settled_thickness: record.and_then(|r| r.settled_thickness).or(settled),
                r_by_maker: record.and_then(|record| record.r_by_maker),
                bags,
                mass: bags.map(|bags| Mass::checked(bags * bag_weight.ip())),
            }
        });
        Self {
            house_id: house.house_id().to_owned(),
            date: as_built.date,
            bag_weight,
            parts: parts.collect(),
        }
    }

    /// What is still to be filled in by hand, besides the signature.
    pub fn missing(&self) -> Vec<String> {
        let mut missing = Vec::new();
        if self.date.is_none() {
            missing.push("date".to_owned());
        }
        for part in &self.parts {
            let entries = [
                ("R-value by the maker's data", part.r_by_maker.is_none()),
                ("bags", part.bags.is_none()),
                ("initial thickness", part.initial_thickness.is_none()),
                ("settled thickness", part.settled_thickness.is_none()),
            ];
            let open = entries.iter().filter(|(_, open)| *open);
            missing.extend(open.map(|(what, _)| format!("{}: {what}", part.part)));
        }
        missing
    }
}
