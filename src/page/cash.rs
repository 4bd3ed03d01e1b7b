//! Money in hand over the years, less what was paid, with its band.

use super::band::cash;
use super::markup::{Drawing, short};
use super::speech::Speech;
use crate::doubt::CashYear;
use crate::house::House;

/// What has come in by the end of a year, less the net cost: least, likely, most.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Standing {
    pub(crate) year: u8,
    pub(crate) low: f64,
    pub(crate) middle: f64,
    pub(crate) high: f64,
}

/// From the start to the end of the life.
pub(crate) fn course(house: &House) -> Vec<Standing> {
    let standing = |year: CashYear| Standing {
        year: year.year,
        low: year.band.p10.unwrap_or(year.point),
        middle: year.point,
        high: year.band.p90.unwrap_or(year.point),
    };
    cash(house).into_iter().map(standing).collect()
}

const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 240.0;
const LEFT: f64 = 76.0;
const RIGHT: f64 = 14.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 40.0;

/// The course as a drawing.
pub(crate) fn chart(speech: &Speech, course: &[Standing], title: &str) -> String {
    let mut drawing = Drawing::default();
    let Some(last) = course.last() else {
        return drawing.finish(WIDTH, HEIGHT, title);
    };
    let end = f64::from(last.year).max(1.0);
    let (mut low, mut high) = (0.0_f64, 0.0_f64);
    for one in course {
        low = low.min(one.low).min(one.middle);
        high = high.max(one.high).max(one.middle);
    }
    // What no drawing can hold is cut off at its edge.
    let (low, high) = (low.max(-MOST), high.min(MOST));
    let step = tick((high - low) / 4.0);
    let (low, high) = (libm::floor(low / step) * step, libm::ceil(high / step).max(1.0) * step);
    let x = |year: f64| LEFT + (WIDTH - LEFT - RIGHT) * year / end;
    let y =
        |money: f64| TOP + (HEIGHT - TOP - BOTTOM) * (high - money.clamp(low, high)) / (high - low);
    for place in 0..=MOST_TICKS {
        let money = low + f64::from(place) * step;
        if money > high + step / 2.0 {
            break;
        }
        // Dust of the steps round 0 is 0.
        let value = if money.abs() < step / 2.0 { 0.0 } else { money };
        drawing.line("grid", [LEFT, y(value), WIDTH - RIGHT, y(value)], "stroke=\"#c9cdc8\"");
        drawing.text("tick", LEFT - 6.0, y(value) + 4.5, "end", &tick_label(speech, value));
    }
    let stride = if end <= 12.0 {
        2.0
    } else if end <= 30.0 {
        5.0
    } else {
        10.0
    };
    let years = (0..=MOST_TICKS).map(|place| f64::from(place) * stride);
    for year in years.take_while(|year| *year <= end) {
        drawing.text("tick", x(year), HEIGHT - BOTTOM + 17.0, "middle", &speech.number(year, 0));
    }
    drawing.text("tick", x(end), HEIGHT - 6.0, "end", speech.words.get("cash_axis"));
    let points = |of: fn(&Standing) -> f64| {
        course
            .iter()
            .map(move |one| format!("{},{}", short(x(f64::from(one.year))), short(y(of(one)))))
    };
    let upper: Vec<String> = points(|one| one.high).collect();
    let lower: Vec<String> = points(|one| one.low).collect();
    let middle: Vec<String> = points(|one| one.middle).collect();
    let mut round = upper.clone();
    round.extend(lower.iter().rev().cloned());
    drawing.shape(
        "polygon",
        &format!(
            "class=\"band\" points=\"{}\" fill=\"#4b8f96\" fill-opacity=\".22\"",
            round.join(" ")
        ),
    );
    for edge in [upper, lower] {
        drawing.shape(
            "polyline",
            &format!(
                "class=\"edge-of-band\" points=\"{}\" fill=\"none\" stroke=\"#0d5c63\" stroke-dasharray=\"4 3\"",
                edge.join(" ")
            ),
        );
    }
    drawing.shape(
        "polyline",
        &format!(
            "class=\"course\" points=\"{}\" fill=\"none\" stroke=\"#0d5c63\" stroke-width=\"2.5\"",
            middle.join(" ")
        ),
    );
    drawing.line(
        "zero",
        [LEFT, y(0.0), WIDTH - RIGHT, y(0.0)],
        "stroke=\"#1d2a30\" stroke-width=\"1.5\"",
    );
    drawing.finish(WIDTH, HEIGHT, title)
}

/// Larger amounts are drawn at the edge.
const MOST: f64 = 1e18;
/// Marks on an axis, at most.
const MOST_TICKS: u8 = 12;

/// An amount beside the axis; what would not fit there is written with a power of ten.
fn tick_label(speech: &Speech, value: f64) -> String {
    if value.abs() < 1e7 { speech.amount(value) } else { format!("{value:.0e}") }
}

/// 1, 2 or 5 times a power of ten, not under a size.
fn tick(size: f64) -> f64 {
    // `MOST` bounds it from above; NaN gives 1.
    if !(1e-3..=MOST).contains(&size) {
        return 1.0;
    }
    let mut unit = 1e-3;
    while unit * 10.0 <= size {
        unit *= 10.0;
    }
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * unit)
        .find(|step| *step >= size)
        .unwrap_or(size)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round() {
        assert_eq!(tick(3700.0), 5000.0);
        assert_eq!(tick(0.0), 1.0);
        assert!((tick(1e12) - 1e12).abs() < 1.0);
    }

    #[test]
    fn the_course_ends_at_the_figures_of_the_house() {
        let house = House::from_toml(include_str!("../../demo-data/house.toml")).unwrap();
        let a = crate::house::assess(&house);
        let course = course(&house);
        let last = course.last().unwrap();
        assert_eq!(last.middle, a.lifetime_savings - a.net_cost);
        assert_eq!(course.len(), 41);
    }
}
