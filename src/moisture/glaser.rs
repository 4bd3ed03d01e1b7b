//! The monthly calculation: where vapour condenses, how much, and whether it dries.
//!
//! # Formula
//! Vapour flows as `g = delta_0 (p_1 - p_2) / s_d`, with `delta_0 = 2e-10 kg/(m s Pa)`. Over the
//! equivalent air thickness the pressure is a straight line where nothing condenses. Where that
//! line would rise above saturation it is drawn as a string below the saturation curve: it touches
//! the curve where vapour condenses, at the rate by which more flows in than out. Where water is
//! held the pressure is at saturation, and the rate may be negative: it dries.
//!
//! # Source
//! ISO 13788, interstitial condensation (from memory). A month in which a place dries up is cut at
//! that moment, as the standard has it.

use super::section::Section;
use super::{IndoorHumidity, OutdoorMonth, saturation_pressure_pa};
use crate::comfort::Temperature;
use crate::tables::VAPOUR_PERMEABILITY_AIR;

/// Days of the months of a year without a leap day.
const DAYS: [f64; 12] = [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0];
const SECONDS_PER_DAY: f64 = 86_400.0;
/// Less than this (kg/m² in a month) is the rounding of the arithmetic, not water.
pub const TRACE_KG_M2: f64 = 1e-9;

/// A month of the calculation. Lists have one entry for each node of the section.
#[derive(Clone, Debug, PartialEq)]
pub struct Month {
    /// 1 to 12.
    pub month: u8,
    /// Mean outdoor air.
    pub outdoor: OutdoorMonth,
    /// Vapour pressure outdoors, Pa.
    pub outdoor_pa: f64,
    /// Vapour pressure of the room, Pa.
    pub indoor_pa: f64,
    /// Temperatures, °C.
    pub temperature_c: Vec<f64>,
    /// Saturation pressures, Pa.
    pub saturation_pa: Vec<f64>,
    /// Vapour pressures at the beginning of the month, Pa.
    pub pressure_pa: Vec<f64>,
    /// Water that came in the month, kg/m²; negative where it dried.
    pub gained_kg_m2: Vec<f64>,
    /// Water held at its end, kg/m².
    pub held_kg_m2: Vec<f64>,
    /// Vapour that came in through the inside surface, kg/m².
    pub vapour_in_kg_m2: f64,
    /// Vapour that left through the outside surface, kg/m².
    pub vapour_out_kg_m2: f64,
    /// Whether the room's vapour condenses on the inside surface itself.
    pub surface_wet: bool,
}

impl Month {
    /// Water held at the end of the month in the whole section, kg/m².
    pub fn held_in_all(&self) -> f64 {
        self.held_kg_m2.iter().sum()
    }

    /// Water that came in the month in the whole section, kg/m².
    pub fn gained_in_all(&self) -> f64 {
        self.gained_kg_m2.iter().sum()
    }
}

/// Twelve months, in the order in which they were calculated.
#[derive(Clone, Debug, PartialEq)]
pub struct Year {
    /// From the first month with condensation on; January where there is none, or always.
    pub months: Vec<Month>,
}

impl Year {
    /// The most water that is held at the end of a month, kg/m².
    pub fn peak_kg_m2(&self) -> f64 {
        self.months.iter().map(Month::held_in_all).fold(0.0, f64::max)
    }

    /// Water still held after twelve months, kg/m².
    pub fn left_kg_m2(&self) -> f64 {
        self.months.last().map_or(0.0, Month::held_in_all)
    }

    /// The month (1 to 12) by whose end all has dried, counted from the wettest; `None` where
    /// nothing condensed or it does not dry.
    pub fn dry_by(&self) -> Option<u8> {
        let peak = self.peak_kg_m2();
        let wettest = self.months.iter().position(|month| month.held_in_all() >= peak)?;
        if peak <= TRACE_KG_M2 {
            return None;
        }
        let after = self.months.iter().skip(wettest);
        after.into_iter().find(|month| month.held_in_all() <= TRACE_KG_M2).map(|month| month.month)
    }
}

/// The year of a section, from dry.
pub fn year(
    section: &Section,
    room: Temperature,
    indoor: IndoorHumidity,
    outdoor: &[OutdoorMonth; 12],
) -> Year {
    let run = |start: usize| {
        let mut held = vec![0.0; section.nodes().len()];
        let months = (0..12)
            .filter_map(|step| {
                let place = (start + step) % 12;
                Some(month(section, room, indoor, place, outdoor.get(place)?, &mut held))
            })
            .collect();
        Year { months }
    };
    let condenses: Vec<bool> = outdoor
        .iter()
        .enumerate()
        .map(|(place, air)| {
            let mut dry = vec![0.0; section.nodes().len()];
            month(section, room, indoor, place, air, &mut dry);
            dry.iter().sum::<f64>() > TRACE_KG_M2
        })
        .collect();
    // The year begins with a month that condenses after one that does not.
    let starts = (0..12).filter(|&m| {
        let before = condenses.get((m + 11) % 12).copied().unwrap_or(false);
        condenses.get(m).copied().unwrap_or(false) && !before
    });
    let mut best: Option<Year> = None;
    for start in starts {
        let year = run(start);
        // Where there are several wet seasons, the one that leaves least is the true beginning.
        if best.as_ref().is_none_or(|best| year.left_kg_m2() < best.left_kg_m2()) {
            best = Some(year);
        }
    }
    best.unwrap_or_else(|| run(0))
}

fn month(
    section: &Section,
    room: Temperature,
    indoor: IndoorHumidity,
    place: usize,
    outdoor: &OutdoorMonth,
    held: &mut [f64],
) -> Month {
    let temperature_c = section.temperatures_c(room.c(), outdoor.temperature.c());
    let saturation_pa: Vec<f64> =
        temperature_c.iter().map(|&celsius| saturation_pressure_pa(celsius)).collect();
    let sd: Vec<f64> = section.nodes().iter().map(|node| node.sd_m).collect();
    let (indoor_pa, outdoor_pa) = (indoor.pressure_pa(room, outdoor), outdoor.pressure_pa());
    let mut flow = Flow::new(&sd, &saturation_pa, indoor_pa, outdoor_pa);
    let seconds = DAYS.get(place).copied().unwrap_or(30.0) * SECONDS_PER_DAY;
    let pressure_pa = flow.pressures(held);
    let before = held.to_vec();
    flow.run(seconds, held);
    Month {
        month: u8::try_from(place + 1).unwrap_or(0),
        outdoor: *outdoor,
        outdoor_pa,
        indoor_pa,
        gained_kg_m2: held.iter().zip(&before).map(|(now, then)| now - then).collect(),
        held_kg_m2: held.to_vec(),
        vapour_in_kg_m2: flow.vapour_in,
        vapour_out_kg_m2: flow.vapour_out,
        surface_wet: saturation_pa.first().is_some_and(|&most| indoor_pa > most),
        temperature_c,
        saturation_pa,
        pressure_pa,
    }
}

/// Vapour through a section between two pressures.
struct Flow<'s> {
    sd: &'s [f64],
    /// Most that the pressure can be at each node; at the ends, what it is.
    limit: Vec<f64>,
    vapour_in: f64,
    vapour_out: f64,
}

impl<'s> Flow<'s> {
    fn new(sd: &'s [f64], saturation: &[f64], inside: f64, outside: f64) -> Self {
        let mut limit = saturation.to_vec();
        // What condenses on a surface is not in the wall.
        for (end, pressure) in [(0, inside), (limit.len().saturating_sub(1), outside)] {
            if let Some(limit) = limit.get_mut(end) {
                *limit = limit.min(pressure);
            }
        }
        Self { sd, limit, vapour_in: 0.0, vapour_out: 0.0 }
    }

    fn point(&self, node: usize) -> (f64, f64) {
        let of = |list: &[f64]| list.get(node).copied().unwrap_or(0.0);
        (of(self.sd), of(&self.limit))
    }

    fn last(&self) -> usize {
        self.sd.len().saturating_sub(1)
    }

    /// The nodes at which the pressure line bends: the string under the saturation curve between
    /// each two places where water is held.
    fn bends(&self, held: &[f64]) -> Vec<usize> {
        let mut bends: Vec<usize> = vec![0];
        let mut pinned = 1;
        for node in 1..=self.last() {
            while bends.len() > pinned {
                let (Some(&mid), Some(&from)) =
                    (bends.last(), bends.get(bends.len().wrapping_sub(2)))
                else {
                    break;
                };
                let ((x0, y0), (x1, y1), (x2, y2)) =
                    (self.point(from), self.point(mid), self.point(node));
                // The middle point lies on or above the line from its neighbour to this node.
                if (y1 - y0) * (x2 - x0) < (y2 - y0) * (x1 - x0) {
                    break;
                }
                bends.pop();
            }
            bends.push(node);
            if held.get(node).is_some_and(|&water| water > 0.0) {
                pinned = bends.len();
            }
        }
        bends
    }

    /// Flow between two nodes, kg/(m² s), outward.
    fn rate(&self, from: usize, to: usize) -> f64 {
        let ((x0, y0), (x1, y1)) = (self.point(from), self.point(to));
        VAPOUR_PERMEABILITY_AIR.value * (y0 - y1) / (x1 - x0)
    }

    /// Pressures at the nodes.
    fn pressures(&self, held: &[f64]) -> Vec<f64> {
        let mut pressures = self.limit.clone();
        for pair in self.bends(held).windows(2) {
            let &[from, to] = pair else { continue };
            let ((x0, y0), (x1, y1)) = (self.point(from), self.point(to));
            for node in from + 1..to {
                let (x, _) = self.point(node);
                if let Some(pressure) = pressures.get_mut(node) {
                    *pressure = (y0 + (y1 - y0) * ((x - x0) / (x1 - x0))).min(*pressure);
                }
            }
        }
        pressures
    }

    /// Lets so many seconds pass. Whatever dries up on the way lets go of the pressure there.
    fn run(&mut self, seconds: f64, held: &mut [f64]) {
        let mut left = seconds;
        // Each round dries up one place at least, and no place twice.
        for _ in 0..=2 * self.sd.len() {
            let bends = self.bends(held);
            let flows: Vec<f64> = bends
                .windows(2)
                .map(|pair| match *pair {
                    [from, to] => self.rate(from, to),
                    _ => 0.0,
                })
                .collect();
            let rates: Vec<(usize, f64)> = flows
                .windows(2)
                .zip(bends.iter().skip(1))
                .map(|(pair, &node)| match *pair {
                    [inward, outward] => (node, inward - outward),
                    _ => (node, 0.0),
                })
                .collect();
            let water = |held: &[f64], node: usize| held.get(node).copied().unwrap_or(0.0);
            let dry_in = |held: &[f64], (node, rate): (usize, f64)| {
                (rate < 0.0).then(|| water(held, node) / -rate)
            };
            let first =
                rates.iter().filter_map(|&at| dry_in(held, at)).fold(f64::INFINITY, f64::min);
            let step = first.min(left);
            self.vapour_in += flows.first().copied().unwrap_or(0.0) * step;
            self.vapour_out += flows.last().copied().unwrap_or(0.0) * step;
            for &(node, rate) in &rates {
                let dries = dry_in(held, (node, rate)).is_some_and(|time| time <= step);
                if let Some(water) = held.get_mut(node) {
                    *water = if dries { 0.0 } else { (*water + rate * step).max(0.0) };
                }
            }
            left -= step;
            if left <= 0.0 {
                return;
            }
        }
    }
}
