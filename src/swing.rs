//! What would change the payback most: one assumption at a time, to either end of its range.

use crate::doubt::{Input, groups, inputs};
use crate::house::{House, assess};

/// What happens to the payback when one assumption moves, and with it what moves with it.
#[derive(Clone, Debug)]
pub struct Swing {
    /// The assumption.
    pub input: Input,
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

/// Every assumption that moves the payback, the one that moves it most first.
///
/// Each is moved alone to either end of its range, with all others as they are, through the same
/// [`assess`]. The ranges are the house's own, or the usual ones of `tables/spreads.csv`, most of
/// them judgement: they say where to look, not how likely.
///
/// # Examples
/// ```
/// # #[cfg(feature = "house-file")] {
/// use studbay::{house::House, swing::swings};
///
/// let house = House::from_file("demo-data/house.toml")?;
/// let swings = swings(&house);
/// assert!(swings.windows(2).all(|pair| pair[0].width() >= pair[1].width()));
/// # }
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn swings(house: &House) -> Vec<Swing> {
    let mut swings: Vec<Swing> = groups(inputs(house, false))
        .into_iter()
        .filter_map(|(_, group)| {
            let input = group.first()?.clone();
            let [at_low, at_high] = input.end_shares().map(|share| {
                // The share of the one that the group is named for, whichever way the others move.
                let u = input.share(share);
                let mut house = house.clone();
                for input in &group {
                    input.write(&mut house, u);
                }
                assess(&house).simple_payback_years
            });
            Some(Swing { input, at_low, at_high })
        })
        .filter(|swing| swing.width() > 0.0)
        .collect();
    swings.sort_by(|a, b| b.width().total_cmp(&a.width()));
    swings
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::samples::any_house;
    use proptest::prelude::*;

    #[test]
    fn every_spread_names_a_field_that_can_move() {
        use crate::house::{Cell, Field};
        use crate::tables::SPREADS;
        let house = House::builder()
            .id("sample")
            .named("wall_area_ft2", Cell::Number(1000.0))
            .named("series_r", Cell::Number(3.0))
            .named("batt_thickness_in", Cell::Number(1.5))
            .named("heating_degree_days_f", Cell::Number(5600.0))
            .named("cooling_degree_days_f", Cell::Number(600.0))
            .named("cooling_seer", Cell::Number(13.0))
            .named("electricity_price", Cell::Number(0.2))
            .named("heating_efficiency", Cell::Number(0.8))
            .named("fuel", Cell::Text("natural_gas"))
            .named("fuel_price", Cell::Number(1.5))
            .named("installed_cost", Cell::Number(3000.0))
            .build()
            .unwrap();
        let inputs = inputs(&house, false);
        for spread in SPREADS {
            assert!(Field::from_name(spread.field).is_some(), "{}", spread.field);
        }
        assert_eq!(inputs.len(), SPREADS.len());
        // One weather for both seasons.
        assert_eq!(swings(&house).len(), SPREADS.len() - 1);
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
