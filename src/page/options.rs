//! Options side by side, doing nothing first.
//!
//! Two today: leave it, and the fill that was offered. Others are columns more: a title, and a value for each row.

use super::speech::Speech;
use crate::house::{Assessment, House};
use crate::units::Quantity;

/// One option: its title, and a value for each of [`ROWS`].
#[derive(Debug)]
pub(crate) struct Choice {
    pub(crate) title: String,
    pub(crate) values: [String; ROWS.len()],
}

/// The names of the rows, in the words of the page.
pub(crate) const ROWS: [&str; 7] = [
    "option_pay",
    "option_year",
    "option_life",
    "option_left",
    "option_r",
    "option_co2",
    "option_work",
];

/// The options of a house.
pub(crate) fn options(speech: &Speech, house: &House, a: &Assessment) -> Vec<Choice> {
    let words = &speech.words;
    let none = || speech.amount(0.0);
    let tonnes = |kg: f64| words.fill("tonnes", &[("number", &speech.number(kg / 1000.0, 1))]);
    let r = |u: f64| speech.quantity(Quantity::Resistance, 1.0 / u, 1);
    let readiness = match a.readiness() {
        crate::readiness::Readiness::Hold => "option_hold",
        crate::readiness::Readiness::Check => "option_check",
        crate::readiness::Readiness::Clear => "option_clear",
    };
    let years = speech.whole_years(f64::from(house.offer().life_years));
    let left = a.lifetime_savings - a.net_cost;
    vec![
        Choice {
            title: words.get("option_nothing").to_owned(),
            values: [
                none(),
                none(),
                none(),
                none(),
                r(a.u_before.ip()),
                words.fill("tonnes", &[("number", &speech.number(0.0, 0))]),
                words.get("option_no_work").to_owned(),
            ],
        },
        Choice {
            title: words.fill("option_fill", &[("years", &years)]),
            values: [
                speech.amount(a.net_cost),
                speech.amount(a.annual_savings),
                speech.amount(a.lifetime_savings),
                speech.amount(left),
                r(a.u_after.ip()),
                tonnes(a.lifetime_co2e_kg),
                words.get(readiness).to_owned(),
            ],
        },
    ]
}
