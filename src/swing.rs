//! What would change the payback most: one assumption at a time, to either end of its usual range.

use crate::house::{Fill, House, Series, assess};
use crate::tables::{SPREADS, Spread, SpreadMode};
use crate::units::{Area, DegreeDays, Fraction, Length, RValue};

/// What happens to the payback when one assumption moves.
#[derive(Clone, Copy, Debug)]
pub struct Swing {
    /// The assumption and how far it is commonly off.
    pub spread: &'static Spread,
    /// Simple payback with the assumption at the low end of its range; `None`: no payback.
    pub at_low: Option<f64>,
    /// At the high end.
    pub at_high: Option<f64>,
}

impl Swing {
    /// How far apart the two paybacks are; endless when one of them does not exist.
    pub fn width(&self) -> f64 {
        match (self.at_low, self.at_high) {
            (Some(low), Some(high)) => (high - low).abs(),
            (None, None) => 0.0,
            _ => f64::INFINITY,
        }
    }

    /// The paybacks from the shorter to the longer; `None` at the end for no payback at all.
    pub fn range(&self) -> (Option<f64>, Option<f64>) {
        match (self.at_low, self.at_high) {
            (Some(low), Some(high)) => (Some(low.min(high)), Some(low.max(high))),
            (low, high) => (low.or(high), None),
        }
    }
}

/// The payback's range with all doubts taken together, as if they were independent: the root of the
/// summed squares of their logarithmic swings, each side by itself. `None` at the end: one
/// assumption alone can leave no payback.
///
/// A first-order range from judged spreads, not a confidence interval.
pub fn combined_range(payback: f64, swings: &[Swing]) -> (f64, Option<f64>) {
    let side = |end: fn(&Swing) -> Option<f64>, sign: f64| {
        let mut squares = 0.0;
        for swing in swings {
            let step = (libm::log(end(swing)? / payback) * sign).max(0.0);
            squares += step * step;
        }
        Some(payback * libm::exp(sign * libm::sqrt(squares)))
    };
    let shorter = side(|swing| swing.range().0, -1.0);
    (shorter.unwrap_or(payback), side(|swing| swing.range().1, 1.0))
}

/// Every assumption that moves the payback, the one that moves it most first.
///
/// Each is moved alone, with all others as they are, through the same [`assess`]. The spreads are
/// those of `tables/spreads.csv`, most of them judgement: they say where to look, not how likely.
pub fn swings(house: &House) -> Vec<Swing> {
    let payback = |end: Option<House>| {
        end.as_ref().map_or_else(
            || assess(house).simple_payback_years,
            |house| assess(house).simple_payback_years,
        )
    };
    let mut swings: Vec<Swing> = SPREADS
        .iter()
        .map(|spread| Swing {
            spread,
            at_low: payback(varied(house, spread, spread.low)),
            at_high: payback(varied(house, spread, spread.high)),
        })
        .filter(|swing| swing.width() > 0.0)
        .collect();
    swings.sort_by(|a, b| b.width().total_cmp(&a.width()));
    swings
}

/// The house with one assumption at an end of its range; `None` when it plays no part.
pub(crate) fn varied(house: &House, spread: &Spread, end: f64) -> Option<House> {
    let moved = |value: f64| match spread.mode {
        SpreadMode::Factor => value * end,
        SpreadMode::Add => value + end,
    };
    let share = |fraction: Fraction| Fraction::checked(moved(fraction.ip()).clamp(0.0, 1.0));
    let mut house = house.clone();
    match spread.field {
        "realization_rate" => house.plant.realization_rate = moved(house.plant.realization_rate),
        "heating_degree_days_f" => {
            let days = &mut house.climate.heating_degree_days;
            *days = DegreeDays::checked(moved(days.ip()));
        }
        "heating_efficiency" => {
            house.plant.heating_efficiency = moved(house.plant.heating_efficiency);
        }
        "fuel_price" => house.plant.fuel_price = moved(house.plant.fuel_price),
        "installed_cost" => {
            let cost = &mut house.offer.installed_cost;
            *cost = moved(*cost).max(house.offer.rebate);
        }
        field => {
            for surface in house.surfaces.as_mut_slice() {
                match field {
                    "area_ft2" => surface.area = Area::checked(moved(surface.area.ip())),
                    "framing_fraction" => {
                        let fraction = moved(surface.framing.fraction.ip()).clamp(0.0, 0.6);
                        surface.framing.fraction = Fraction::checked(fraction);
                    }
                    "batt_thickness_in" => {
                        let batt = &mut surface.batt;
                        let most = match surface.fill {
                            Fill::Packed(_) => surface.framing.depth.ip(),
                            Fill::Open(_) => f64::INFINITY,
                        };
                        batt.thickness =
                            Length::checked(moved(batt.thickness.ip()).clamp(0.0, most));
                    }
                    // An empty cavity has no batt that could be missing.
                    "batt_missing_fraction" if surface.batt.thickness.ip() > 0.0 => {
                        surface.batt.missing = share(surface.batt.missing);
                    }
                    "missed_fraction" => match &mut surface.fill {
                        Fill::Packed(fill) => fill.missed = share(fill.missed),
                        Fill::Open(fill) => fill.missed = share(fill.missed),
                    },
                    "series_r" => {
                        surface.series =
                            Series::Total(RValue::checked(moved(surface.series_r().ip())));
                    }
                    _ => return None,
                }
            }
        }
    }
    Some(house)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::samples::any_house;
    use proptest::prelude::*;

    #[test]
    fn every_spread_names_a_field_that_can_move() {
        use crate::house::{Cell, Field};
        let house = House::builder()
            .id("sample")
            .named("wall_area_ft2", Cell::Number(1000.0))
            .named("series_r", Cell::Number(3.0))
            .named("batt_thickness_in", Cell::Number(1.5))
            .named("heating_degree_days_f", Cell::Number(5600.0))
            .named("heating_efficiency", Cell::Number(0.8))
            .named("fuel", Cell::Text("natural_gas"))
            .named("fuel_price", Cell::Number(1.5))
            .named("installed_cost", Cell::Number(3000.0))
            .build()
            .unwrap();
        for spread in SPREADS {
            assert!(Field::from_name(spread.field).is_some(), "{}", spread.field);
            assert!(varied(&house, spread, spread.low).is_some(), "{}", spread.field);
        }
        assert_eq!(swings(&house).len(), SPREADS.len());
    }

    proptest! {
        #[test]
        fn sorted_and_finite_or_none(house in any_house()) {
            let swings = swings(&house);
            for pair in swings.windows(2) {
                prop_assert!(pair[0].width() >= pair[1].width());
            }
            for end in swings.iter().flat_map(|s| [s.at_low, s.at_high]).flatten() {
                prop_assert!(end >= 0.0);
            }
        }
    }
}
