//! Draws of one house, and what they come to.

use super::Sampling;
use super::further;
use super::inputs::{Input, inputs};
use super::quantile::{Band, quantile};
use super::sample::{Stream, latin_hypercube};
use crate::house::{House, Judged, RESULTS, ResultDef, cash, judged};
use std::sync::{Arc, OnceLock};

/// A figure that draws are judged by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Figure {
    /// Fuel saved a year at the meter.
    FuelSaved,
    /// Saved a year at today's prices.
    AnnualSavings,
    /// Cost after rebate and tax credit.
    NetCost,
    /// Net cost over yearly savings; beyond every number where nothing is saved.
    SimplePayback,
    /// Net present value over the life.
    Npv,
    /// Avoided in the first year.
    AnnualCo2e,
    /// Avoided over the life.
    LifetimeCo2e,
}

/// How many figures there are.
const COUNT: usize = 7;

/// Every figure that draws are judged by.
pub const FIGURES: [Figure; COUNT] = [
    Figure::FuelSaved,
    Figure::AnnualSavings,
    Figure::NetCost,
    Figure::SimplePayback,
    Figure::Npv,
    Figure::AnnualCo2e,
    Figure::LifetimeCo2e,
];

impl Figure {
    /// Its name among the results.
    pub const fn name(self) -> &'static str {
        match self {
            Self::FuelSaved => "fuel_saved",
            Self::AnnualSavings => "annual_savings",
            Self::NetCost => "net_cost",
            Self::SimplePayback => "simple_payback_years",
            Self::Npv => "npv",
            Self::AnnualCo2e => "annual_co2e_kg",
            Self::LifetimeCo2e => "lifetime_co2e_kg",
        }
    }

    /// The figure of this name.
    pub fn from_name(name: &str) -> Option<Self> {
        FIGURES.into_iter().find(|figure| figure.name() == name)
    }

    /// Its definition among the results.
    pub fn def(self) -> Option<&'static ResultDef> {
        RESULTS.iter().find(|def| def.ip == self.name())
    }

    /// Reads it; a payback that does not exist is beyond every number.
    #[inline]
    pub(crate) fn of(self, judged: &Judged) -> f64 {
        match self {
            Self::FuelSaved => judged.fuel_saved,
            Self::AnnualSavings => judged.annual_savings,
            Self::NetCost => judged.net_cost,
            Self::SimplePayback if judged.simple_payback_years.is_nan() => f64::INFINITY,
            Self::SimplePayback => judged.simple_payback_years,
            Self::Npv => judged.npv,
            Self::AnnualCo2e => judged.annual_co2e_kg,
            Self::LifetimeCo2e => judged.lifetime_co2e_kg,
        }
    }
}

/// What has come back by the end of a year, the cost taken off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CashYear {
    /// The year, 0 for the day of the work.
    pub year: u8,
    /// As the house stands.
    pub point: f64,
    /// Of the draws.
    pub band: Band,
    /// As the house stands, discounted.
    pub discounted_point: f64,
    /// Of the draws, discounted.
    pub discounted: Band,
}

/// The shares that inputs draw from, by stream. Houses of a table share them.
#[derive(Clone, Debug, Default)]
pub(crate) struct Streams(Vec<(Stream, Arc<[f64]>)>);

impl Streams {
    /// The shares of a stream, made when first asked for.
    pub(crate) fn get(&mut self, sampling: &Sampling, stream: Stream) -> Arc<[f64]> {
        if let Some((_, shares)) = self.0.iter().find(|(known, _)| *known == stream) {
            return Arc::clone(shares);
        }
        let shares: Arc<[f64]> = latin_hypercube(sampling.seed, stream, sampling.count()).into();
        self.0.push((stream, Arc::clone(&shares)));
        shares
    }
}

/// Draws of a house with all that may be off moved together.
#[derive(Clone, Debug)]
pub struct Doubt {
    house: House,
    sampling: Sampling,
    inputs: Vec<Input>,
    /// The shares of each input, before mirroring.
    shares: Vec<Arc<[f64]>>,
    point: Judged,
    figures: [Vec<f64>; COUNT],
    /// Made when first asked for.
    pub(super) returns: OnceLock<further::Columns>,
}

/// Draws everything that may be off in the house, all together, and assesses every draw.
///
/// # Examples
/// ```
/// use studbay::doubt::{Figure, Sampling, doubt};
/// # use studbay::house::{Cell, House};
/// # let house = House::builder()
/// #     .id("example-1")
/// #     .named("wall_area_ft2", Cell::Number(1200.0))
/// #     .named("series_r", Cell::Number(3.06))
/// #     .named("heating_degree_days_f", Cell::Number(5600.0))
/// #     .named("heating_efficiency", Cell::Number(0.8))
/// #     .named("fuel", Cell::Text("natural_gas"))
/// #     .named("fuel_price", Cell::Number(1.5))
/// #     .named("installed_cost", Cell::Number(2400.0))
/// #     .build()?;
/// let drawn = doubt(&house, &Sampling { draws: 1000, ..Sampling::default() });
/// let payback = drawn.band(Figure::SimplePayback);
/// assert!(payback.p10 < payback.p50 && payback.p50 < payback.p90);
/// assert!(drawn.chance_of_payback_within(30.0) > 0.5);
/// # Ok::<(), studbay::error::InputError>(())
/// ```
pub fn doubt(house: &House, sampling: &Sampling) -> Doubt {
    doubt_with(house, sampling, &mut Streams::default())
}

pub(crate) fn doubt_with(house: &House, sampling: &Sampling, streams: &mut Streams) -> Doubt {
    let inputs = inputs(house, sampling.own_only);
    let shares: Vec<_> = inputs.iter().map(|input| streams.get(sampling, input.stream)).collect();
    let count = sampling.count() as usize;
    let mut figures: [Vec<f64>; COUNT] = std::array::from_fn(|_| Vec::with_capacity(count));
    let mut drawn = house.clone();
    for draw in 0..count {
        put(&inputs, &shares, draw, &mut drawn);
        let judged = judged(&drawn);
        for (column, figure) in figures.iter_mut().zip(FIGURES) {
            column.push(figure.of(&judged));
        }
    }
    Doubt {
        house: house.clone(),
        sampling: *sampling,
        inputs,
        shares,
        point: judged(house),
        figures,
        returns: OnceLock::new(),
    }
}

/// Puts one draw of everything into the house.
#[inline]
fn put(inputs: &[Input], shares: &[Arc<[f64]>], draw: usize, house: &mut House) {
    for (input, shares) in inputs.iter().zip(shares) {
        if let Some(u) = shares.get(draw) {
            input.write(house, *u);
        }
    }
}

impl Doubt {
    /// The house as it stands.
    pub fn house(&self) -> &House {
        &self.house
    }

    /// How it was sampled.
    pub fn sampling(&self) -> &Sampling {
        &self.sampling
    }

    /// What may be off, in the order of the registry.
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    /// How many draws there are.
    pub fn draws(&self) -> usize {
        self.figures[0].len()
    }

    /// The figure of every draw, in their order; a payback that does not exist is infinite.
    pub fn values(&self, figure: Figure) -> &[f64] {
        &self.figures[figure as usize]
    }

    /// The figure of the house as it stands; a payback that does not exist is infinite.
    pub fn point(&self, figure: Figure) -> f64 {
        figure.of(&self.point)
    }

    /// The house of one draw: [`assess`](crate::house::assess) of it gives the figures of the draw to
    /// the bit. `None` beyond the last draw.
    pub fn house_of(&self, draw: usize) -> Option<House> {
        (draw < self.draws()).then(|| {
            let mut house = self.house.clone();
            put(&self.inputs, &self.shares, draw, &mut house);
            house
        })
    }

    /// Calls for the house of every draw, in their order.
    pub(super) fn each_house(&self, mut one: impl FnMut(&House)) {
        let mut house = self.house.clone();
        for draw in 0..self.draws() {
            put(&self.inputs, &self.shares, draw, &mut house);
            one(&house);
        }
    }

    /// What an input is in every draw, at the first place where it stands, inch-pound.
    pub fn drawn(&self, input: usize) -> Vec<f64> {
        let (Some(input), Some(shares)) = (self.inputs.get(input), self.shares.get(input)) else {
            return Vec::new();
        };
        let Some(place) = input.places.first() else { return Vec::new() };
        shares.iter().map(|u| place.at(input.share(*u))).collect()
    }

    /// The quantile of a figure at a share from 0 to 1; `None` where it lies beyond every number.
    pub fn quantile(&self, figure: Figure, share: f64) -> Option<f64> {
        quantile(&mut self.values(figure).to_vec(), share)
    }

    /// P10, P50 and P90 of a figure.
    pub fn band(&self, figure: Figure) -> Band {
        Band::of(&mut self.values(figure).to_vec())
    }

    /// The share of draws of which a figure holds.
    fn chance(&self, figure: Figure, holds: impl Fn(f64) -> bool) -> f64 {
        let values = self.values(figure);
        let many = values.iter().filter(|value| holds(**value)).count();
        #[expect(clippy::cast_precision_loss, reason = "far fewer than 2^53 draws")]
        let share = many as f64 / values.len() as f64;
        share
    }

    /// The share of draws that pay back within so many years, not discounted.
    pub fn chance_of_payback_within(&self, years: f64) -> f64 {
        self.chance(Figure::SimplePayback, |payback| payback <= years)
    }

    /// The share of draws that never pay back, because nothing is saved.
    pub fn chance_of_no_payback(&self) -> f64 {
        self.chance(Figure::SimplePayback, f64::is_infinite)
    }

    /// The share of draws whose net present value is above 0.
    pub fn chance_of_gain(&self) -> f64 {
        self.chance(Figure::Npv, |npv| npv > 0.0)
    }

    /// What has come back by the end of each year, from the day of the work to the end of the life:
    /// of the house as it stands, and P10, P50 and P90 of the draws. Of a draw with a shorter life
    /// the last year stays.
    pub fn cash(&self) -> Vec<CashYear> {
        let draws = self.draws();
        let own = self.house.offer.life_years;
        let mut plain: Vec<Vec<f64>> =
            vec![self.values(Figure::NetCost).iter().map(|c| -c).collect()];
        let mut discounted = plain.clone();
        let mut house = self.house.clone();
        for draw in 0..draws {
            put(&self.inputs, &self.shares, draw, &mut house);
            let mut reached = 0;
            cash(&house, |year, worth, sum| {
                reached = usize::from(year);
                for (years, value) in [(&mut plain, sum), (&mut discounted, worth)] {
                    if years.len() <= reached {
                        years.push(vec![f64::NAN; draws]);
                    }
                    years[reached][draw] = value;
                }
            });
        }
        for years in [&mut plain, &mut discounted] {
            for year in 1..years.len() {
                let (before, rest) = years.split_at_mut(year);
                for (value, before) in rest[0].iter_mut().zip(&before[year - 1]) {
                    if value.is_nan() {
                        *value = *before;
                    }
                }
            }
        }
        let mut points = vec![(-self.point.net_cost, -self.point.net_cost)];
        cash(&self.house, |_, worth, sum| points.push((sum, worth)));
        let last = points[usize::from(own)];
        (0_u8..)
            .zip(plain.iter_mut().zip(&mut discounted))
            .map(|(year, (plain, discounted))| {
                let (point, discounted_point) =
                    points.get(usize::from(year)).copied().unwrap_or(last);
                CashYear {
                    year,
                    point,
                    band: Band::of(plain),
                    discounted_point,
                    discounted: Band::of(discounted),
                }
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::assess;
    use crate::house::samples::any_house;
    use crate::units::UnitSystem;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Whatever the house: every draw is a house within the registry's ranges, its figures are
        /// those of its assessment, and the bands are in order.
        #[test]
        fn any_house_can_be_drawn(house in any_house(), seed: u64) {
            let drawn = doubt(&house, &Sampling { draws: 48, seed, own_only: false });
            for (place, input) in drawn.inputs().iter().enumerate() {
                let def = input.field().def();
                prop_assert!(drawn.drawn(place).iter().all(|v| def.allows(*v, UnitSystem::Ip)), "{}", def.ip);
            }
            for draw in 0..drawn.draws() {
                let assessment = assess(&drawn.house_of(draw).unwrap());
                prop_assert_eq!(drawn.values(Figure::Npv)[draw].to_bits(), assessment.npv.to_bits());
                let payback = assessment.simple_payback_years.unwrap_or(f64::INFINITY);
                prop_assert_eq!(drawn.values(Figure::SimplePayback)[draw].to_bits(), payback.to_bits());
                prop_assert!(drawn.values(Figure::LifetimeCo2e)[draw].is_finite());
            }
            for figure in FIGURES {
                let Band { p10, p50, p90 } = drawn.band(figure);
                let order = |a: Option<f64>, b: Option<f64>| b.is_none_or(|b| a.is_some_and(|a| a <= b));
                prop_assert!(order(p10, p50) && order(p50, p90), "{:?} {p10:?} {p50:?} {p90:?}", figure);
            }
            let cash = drawn.cash();
            prop_assert_eq!(cash.len(), usize::from(house.offer.life_years) + 1);
            let last = cash[cash.len() - 1];
            prop_assert_eq!(last.discounted, drawn.band(Figure::Npv));
        }
    }
}
