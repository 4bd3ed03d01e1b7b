//! What can be moved on a page, and to where.
//!
//! A slider has stops, one of them the value as surveyed, so that the page at rest shows the very figures of the house. The page's script
//! only says which stop was taken; the value of a stop is written here.

use super::speech::Speech;
use crate::house::{Field, Fill, House, Surfaces};
use crate::units::UnitSystem;

/// Something that can be moved.
#[derive(Clone, Debug)]
pub(crate) struct Slider {
    /// The field.
    pub(crate) field: Field,
    /// The surface it belongs to; `None` for the house, and in a house with one wall.
    pub(crate) surface: Option<usize>,
    /// The values it can take, in inch-pound units, rising.
    pub(crate) stops: Vec<f64>,
    /// Which of them is the value as surveyed.
    pub(crate) start: usize,
}

/// A span of stops: least, most, step.
type Span = (f64, f64, f64);

/// The sliders of a house. Those of a wall belong to the largest packed surface.
pub(crate) fn sliders(speech: &Speech, house: &House) -> Vec<Slider> {
    let si = speech.units == UnitSystem::Si;
    let plant = house.plant();
    let offer = house.offer();
    let electric = plant.fuel.is_electricity();
    let price = if electric && !house.was_given(Field::FuelPrice) {
        Field::ElectricityPrice
    } else {
        Field::FuelPrice
    };
    let escalation = if electric { Field::ElectricityEscalation } else { Field::FuelEscalation };
    let rise = if electric { offer.electricity_escalation } else { offer.fuel_escalation };
    let (cost_step, price_step) =
        (round_step(offer.installed_cost / 25.0), round_step(plant.fuel_price / 20.0));
    let dear = (offer.installed_cost * 2.0).max(cost_step * 20.0);
    let mut wanted: Vec<(Field, Option<usize>, f64, Span)> = vec![
        (price, None, plant.fuel_price, (0.0, plant.fuel_price.max(price_step) * 2.5, price_step)),
        (Field::InstalledCost, None, offer.installed_cost, (0.0, dear, cost_step)),
        (Field::Rebate, None, offer.rebate, (0.0, dear, cost_step)),
        (escalation, None, rise, (-0.05, 0.10, 0.005)),
        (Field::LifeYears, None, f64::from(offer.life_years), (1.0, 60.0, 1.0)),
    ];
    if let Some((place, surface)) = moved_surface(house) {
        let at = matches!(house.surfaces, Surfaces::Many(_)).then_some(place);
        let batt = surface.batt();
        let depth = surface.framing().depth.ip();
        if let Fill::Packed(fill) = surface.fill() {
            let inch = if si { 5.0 / crate::units::factor::MM_PER_IN } else { 0.25 };
            let (least, dense, finest) = if si {
                let kg = 1.0 / crate::units::factor::KG_M3_PER_LB_FT3;
                (49.0 * kg, 81.0 * kg, kg)
            } else {
                (3.0, 5.0, 0.1)
            };
            wanted.extend([
                (Field::FillDensity, at, fill.density.ip(), (least, dense, finest)),
                (Field::BattThickness, at, batt.thickness.ip(), (0.0, depth, inch)),
                (Field::BattMissing, at, batt.missing.ip(), (0.0, 1.0, 0.05)),
                (Field::AirGapLevel, at, f64::from(batt.air_gap_level as u8), (0.0, 2.0, 1.0)),
                (Field::Missed, at, fill.missed.ip(), (0.0, 0.3, 0.01)),
            ]);
        }
    }
    wanted
        .into_iter()
        .map(|(field, surface, value, span)| {
            let (stops, start) = stops(value, span);
            Slider { field, surface, stops, start }
        })
        .collect()
}

/// The largest packed surface.
pub(crate) fn moved_surface(house: &House) -> Option<(usize, &crate::house::Surface)> {
    let packed = house
        .surfaces()
        .iter()
        .enumerate()
        .filter(|(_, surface)| matches!(surface.fill(), Fill::Packed(_)));
    packed.max_by(|a, b| a.1.area().ip().total_cmp(&b.1.area().ip()).then(b.0.cmp(&a.0)))
}

/// 1, 2 or 5 times a power of ten, near a size.
fn round_step(size: f64) -> f64 {
    if !(1e-6..=1e18).contains(&size) {
        return 1.0;
    }
    let mut unit = 1e-6;
    while unit * 10.0 <= size {
        unit *= 10.0;
    }
    // From the whole number, so that a step of 0.1 is that of its own digits.
    let times = size / unit;
    let digits = if times < 2.0 {
        1.0
    } else if times < 5.0 {
        2.0
    } else {
        5.0
    };
    format!("{:e}", digits * unit).parse().map_or(1.0, |step: f64| rounded(step))
}

/// Without the dust of a multiplication: ten significant digits.
fn rounded(value: f64) -> f64 {
    format!("{value:.9e}").parse().unwrap_or(value)
}

/// Most stops that a slider has.
const MOST_STOPS: u16 = 400;

fn stops(value: f64, (low, high, step): Span) -> (Vec<f64>, usize) {
    let mut stops: Vec<f64> = (0..MOST_STOPS)
        .map(|place| rounded(low + f64::from(place) * step))
        .take_while(|stop| *stop <= high)
        .collect();
    if !stops.contains(&high) && stops.last().is_some_and(|last| high - last < step * 0.999) {
        stops.push(high);
    }
    // A stop beside the value as surveyed, and no farther than the rounding, is that value.
    stops.retain(|stop| (stop - value).abs() > step * 1e-6);
    let start = stops.partition_point(|stop| *stop < value);
    stops.insert(start, value);
    (stops, start)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_value_as_surveyed_is_a_stop_to_the_bit() {
        let (stops, start) = stops(0.123_456_789_012_3, (0.0, 0.3, 0.01));
        assert_eq!(stops[start].to_bits(), 0.123_456_789_012_3_f64.to_bits());
        assert!(stops.windows(2).all(|pair| pair[0] < pair[1]));
        assert_eq!(super::stops(3.75, (0.0, 3.75, 0.25)).0.len(), 16);
        assert_eq!(super::stops(9.0, (0.0, 2.0, 1.0)), (vec![0.0, 1.0, 2.0, 9.0], 3));
    }

    #[test]
    fn steps_are_round() {
        assert_eq!(round_step(184.0), 100.0);
        assert_eq!(round_step(0.18), 0.1);
        assert_eq!(round_step(0.07), 0.05);
        assert_eq!(round_step(0.0), 1.0);
    }
}
