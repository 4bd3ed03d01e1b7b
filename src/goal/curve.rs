//! The payback, and what goes with it, along the range of one input.

use super::{Goal, Input, seek};
use crate::doubt::{Figure, Sampling, doubt};
use crate::error::{InputError, Issue, IssueCode};
use crate::house::{Field, House, Kind, assess};

/// Enough draws for the edges of a picture.
const SAMPLING: Sampling = Sampling { draws: 2_000, seed: 1, own_only: false };
/// Points that a curve may have.
pub const MOST_POINTS: usize = 2000;

/// The figures of a house at one value of the input.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvePoint {
    /// The value, in the unit of the input's name.
    pub value: f64,
    /// Saved a year, at today's prices.
    pub annual_savings: f64,
    /// Simple payback; `None` where nothing is saved.
    pub simple_payback_years: Option<f64>,
    /// The shorter end of its range, every doubt of the model taken together.
    pub payback_short: Option<f64>,
    /// The longer end; `None` where it may never pay back.
    pub payback_long: Option<f64>,
    /// Discounted payback; `None` when not within the life.
    pub discounted_payback_years: Option<f64>,
    /// Net present value.
    pub npv: f64,
    /// Savings-to-investment ratio; `None` where nothing is paid.
    pub sir: Option<f64>,
}

/// Payback and worth of a house along one input.
#[derive(Clone, Debug)]
pub struct Curve {
    /// The input.
    pub input: Input,
    /// The points, in their order; values at which no such house can be are left out.
    pub points: Vec<CurvePoint>,
    /// The value that the house has now.
    pub now: Option<f64>,
    /// Its payback now; `None` where nothing is saved.
    pub payback_now: Option<f64>,
    /// Years that are counted.
    pub life_years: u8,
    /// Where the net present value is 0, in their order.
    pub break_even: Vec<f64>,
    /// Whether the fill is worth its cost as the house is now.
    pub worth_now: bool,
}

/// The curve of payback and worth along an input, at so many even steps of its range.
///
/// # Errors
/// [`InputError`] for a range that is none, too few or too many points, and a field without an end.
pub fn curve(
    house: &House,
    input: Input,
    low: Option<f64>,
    high: Option<f64>,
    points: usize,
) -> Result<Curve, InputError> {
    if !(2..=MOST_POINTS).contains(&points) {
        let reason = format!("allowed is 2 to {MOST_POINTS}");
        return Err(Issue::new(IssueCode::OutOfRange, "points", points.to_string(), reason).into());
    }
    let [first, last] = input.range(house, [low, high])?;
    if last >= 1e15 && high.is_none() {
        let reason = "must be given: this field has no upper end to draw to";
        return Err(Issue::new(IssueCode::Missing, "high", "", reason).into());
    }
    let whole = input.field.def().kind == Kind::Whole;
    let steps = f64::from(u32::try_from(points - 1).unwrap_or(u32::MAX));
    let mut values: Vec<f64> = (0..points)
        .map(|i| f64::from(u32::try_from(i).unwrap_or(u32::MAX)) / steps)
        .map(|share| if share < 1.0 { first + share * (last - first) } else { last })
        .map(|x| if whole { libm::floor(x + 0.5) } else { x })
        .collect();
    values.dedup();
    let point = |ip: f64| {
        let house = input.at(house, ip).ok()?;
        let a = assess(&house);
        let range = a.simple_payback_years.filter(|years| *years > 0.0);
        let range = range.map(|_| doubt(&house, &SAMPLING).band(Figure::SimplePayback));
        Some(CurvePoint {
            value: input.shown(ip),
            annual_savings: a.annual_savings,
            simple_payback_years: a.simple_payback_years,
            payback_short: range.and_then(|band| band.p10),
            payback_long: range.and_then(|band| band.p90),
            discounted_payback_years: a.discounted_payback_years,
            npv: a.npv,
            sir: a.sir,
        })
    };
    let mut points: Vec<CurvePoint> = values.into_iter().filter_map(point).collect();
    points.sort_by(|a, b| a.value.total_cmp(&b.value));
    let breaks = seek(house, input, Goal::Npv, low, high)?;
    let now = assess(house);
    Ok(Curve {
        input,
        points,
        now: input.now(house),
        payback_now: now.simple_payback_years,
        life_years: house.offer().life_years,
        break_even: breaks.values,
        worth_now: now.npv >= 0.0,
    })
}

/// The input of the question "is my batt too thick?".
///
/// # Errors
/// As for [`Input::named`]: a house with several surfaces must say which.
pub fn batt_thickness(house: &House, surface: Option<&str>, si: bool) -> Result<Input, Issue> {
    let def = Field::BattThickness.def();
    let name = if si { def.si.unwrap_or(def.ip) } else { def.ip };
    Input::named(house, name, surface)
}
