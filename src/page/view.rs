//! All that a page shows of a house and that moves with the sliders: texts, lists and drawings, ready to be put in place.

use super::band::{Band, band};
use super::cash::{chart, course};
use super::options::{ROWS, options};
use super::section::{section, swing_bar};
use super::sliders::Slider;
use super::speech::Speech;
use crate::choices::OptionSpec;
use crate::doubt::Origin;
use crate::house::{Assessment, Field, House, assess, notes};
use crate::readiness::{Finding, Readiness, Weight};
use crate::swing::{Swing, swings};
use crate::tables::{CAR_CO2_KG_PER_MILE, SPREADS, SpreadMode};
use crate::units::{Quantity, UnitSystem};
use serde::Serialize;
use std::collections::BTreeMap;

/// A line of a list: its texts and drawings by name.
pub(crate) type Line = BTreeMap<&'static str, String>;

/// What a page shows.
#[derive(Debug, Default, Serialize)]
pub(crate) struct View {
    /// Texts by name.
    pub(crate) text: BTreeMap<String, String>,
    /// Lists by name.
    pub(crate) list: BTreeMap<&'static str, Vec<Line>>,
    /// Drawings by name.
    pub(crate) drawing: BTreeMap<String, String>,
    /// Parts that are shown or not.
    pub(crate) part: BTreeMap<&'static str, bool>,
}

/// What a house with its sliders at `moved` shows; `home` is the house as surveyed.
pub(crate) fn view(
    speech: &Speech,
    house: &House,
    specs: &[OptionSpec],
    sliders: &[Slider],
    at: &[usize],
) -> View {
    let a = assess(house);
    let swings = swings(house);
    let band = band(house, &a);
    let mut view = View::default();
    let teller = Teller { speech, house, a: &a, swings: &swings, band: band.as_ref() };
    teller.readiness(&mut view);
    teller.sections(&mut view);
    teller.answer(&mut view);
    teller.carbon(&mut view);
    teller.options(&mut view, specs);
    teller.cash(&mut view);
    teller.swings(&mut view);
    teller.moved(&mut view, sliders, at);
    view
}

fn put(view: &mut View, name: &str, text: String) {
    view.text.insert(name.to_owned(), text);
}

struct Teller<'v> {
    speech: &'v Speech,
    house: &'v House,
    a: &'v Assessment,
    swings: &'v [Swing],
    band: Option<&'v Band>,
}

impl Teller<'_> {
    /// What stands in the way, and who may clear it.
    fn readiness(&self, view: &mut View) {
        let words = &self.speech.words;
        let lines = |weight: Weight| -> Vec<Line> {
            let of_weight = move |finding: &Finding| finding.def().weight == weight;
            let line = |finding: Finding| {
                let def = finding.def();
                let reason = words.or(&format!("finding:{}", def.code), def.reason);
                let who = words.or(&format!("cleared:{}", def.code), def.cleared_by);
                let source = def.citation.map(|citation| citation.to_string()).unwrap_or_default();
                Line::from([
                    ("what", format!("{reason}.")),
                    ("who", who.to_owned()),
                    ("source", source),
                ])
            };
            self.a.findings.iter().filter(of_weight).map(line).collect()
        };
        let (holds, checks) = (lines(Weight::Hold), lines(Weight::Check));
        let readiness = self.a.readiness();
        let count = match readiness {
            Readiness::Hold => holds.len(),
            Readiness::Check => checks.len(),
            Readiness::Clear => 0,
        };
        let name = match (readiness, count) {
            (Readiness::Hold, _) => "head_hold",
            (Readiness::Check, 1) => "head_check_one",
            (Readiness::Check, _) => "head_check",
            (Readiness::Clear, _) => "head_clear",
        };
        put(view, "readiness", words.fill(name, &[("count", &count.to_string())]));
        view.part.insert("hold", readiness == Readiness::Hold);
        view.part.insert("check", readiness == Readiness::Check);
        view.part.insert("clear", readiness == Readiness::Clear);
        view.part.insert("any_checks", !checks.is_empty());
        view.part.insert("no_checks", checks.is_empty() && holds.is_empty());
        let notes = lines(Weight::Note);
        view.part.insert("any_notes", !notes.is_empty());
        view.list.insert("holds", holds);
        view.list.insert("checks", checks);
        view.list.insert("notes", notes);
    }

    fn sections(&self, view: &mut View) {
        let notes = notes(self.house);
        for place in 0..self.house.surfaces().len().min(MOST_SECTIONS) {
            let id = format!("section-{place}");
            let [now, after] = section(self.speech, self.house, &notes, place, &id);
            view.drawing.insert(format!("section_{place}_now"), now);
            view.drawing.insert(format!("section_{place}_after"), after);
        }
        let u = |u: f64| {
            let r = self.speech.quantity(Quantity::Resistance, 1.0 / u, 1);
            let u = self.speech.quantity(Quantity::Transmittance, u, 3);
            self.speech.words.fill("r_and_u", &[("r", &r), ("u", &u)])
        };
        put(view, "u_before", u(self.a.u_before.ip()));
        put(view, "u_after", u(self.a.u_after.ip()));
    }

    fn answer(&self, view: &mut View) {
        let (speech, a) = (self.speech, self.a);
        let words = &speech.words;
        let none = || words.get("none").to_owned();
        let headline = match a.simple_payback_years {
            Some(years) if years > 0.0 => {
                words.fill("payback_about", &[("years", &speech.years(years))])
            }
            Some(_) => words.get("payback_at_once").to_owned(),
            None => words.get("payback_none").to_owned(),
        };
        put(view, "payback", headline);
        let range = match self.band {
            Some(band) => {
                let range = speech.range(band.payback.0, band.payback.1);
                words.fill("payback_range", &[("range", &range)])
            }
            None => String::new(),
        };
        put(view, "payback_range", range);
        let half = self.band.map_or_else(String::new, |band| match band.half {
            Some(years) => words.fill("payback_half", &[("years", &speech.years(years))]),
            None => words.get("payback_half_none").to_owned(),
        });
        put(view, "payback_half", half);
        view.part.insert("range", self.band.is_some());
        let years = |value: Option<f64>| value.map_or_else(none, |value| speech.years(value));
        let rate = |value: Option<f64>| {
            value.map_or_else(none, |value| {
                words.fill("a_year", &[("what", &speech.percent(value, 1))])
            })
        };
        put(view, "simple_payback_years", years(a.simple_payback_years));
        put(view, "discounted_payback_years", years(a.discounted_payback_years));
        put(view, "net_cost", speech.amount(a.net_cost));
        put(view, "installed_cost", speech.amount(self.house.offer().installed_cost));
        put(view, "annual_savings", speech.amount(a.annual_savings));
        put(view, "lifetime_savings", speech.amount(a.lifetime_savings));
        put(view, "npv", speech.amount(a.npv));
        put(view, "sir", a.sir.map_or_else(none, |sir| speech.number(sir, 2)));
        put(view, "irr", rate(a.irr));
        put(view, "life_years", speech.whole_years(f64::from(self.house.offer().life_years)));
        put(view, "heat_saved", speech.quantity(Quantity::Heat, a.heat_saved.ip(), 1));
        put(view, "fuel_saved", speech.fuel(a.fuel.row().unit, a.fuel_saved));
        let kwh = speech.quantity(Quantity::Electricity, a.electricity_saved_kwh, 0);
        put(view, "electricity_saved_kwh", kwh);
        view.part.insert("cooling", a.electricity_saved_kwh != 0.0);
        let share = a.saved_share.map_or_else(none, |share| speech.percent(share, 0));
        put(view, "saved_share", share);
        view.part.insert("bills", a.saved_share.is_some());
        let bag = speech.quantity(Quantity::Mass, self.house.bag_weight().ip(), 1);
        put(
            view,
            "bags",
            words.fill("bags_of", &[("count", &speech.number(a.bags, 0)), ("bag", &bag)]),
        );
        put(view, "fill_mass", speech.quantity(Quantity::Mass, a.fill_mass.ip(), 0));
    }

    fn carbon(&self, view: &mut View) {
        let (speech, a) = (self.speech, self.a);
        let kg = |value: f64| speech.quantity(Quantity::Co2e, value, 0);
        let tonnes = speech.number(a.lifetime_co2e_kg / 1000.0, 1);
        put(view, "annual_co2e_kg", kg(a.annual_co2e_kg));
        put(view, "embodied_co2e_kg", kg(a.embodied_co2e_kg));
        put(view, "lifetime_co2e_kg", speech.words.fill("tonnes", &[("number", &tonnes)]));
        let miles = a.annual_co2e_kg / CAR_CO2_KG_PER_MILE.value;
        let (distance, unit) = match speech.units {
            UnitSystem::Ip => (miles, "miles"),
            UnitSystem::Si => (miles * crate::units::factor::KM_PER_MILE, "kilometres"),
        };
        let unit = speech.words.get(unit);
        let distance = format!("{} {unit}", speech.number(three_digits(distance), 0));
        put(view, "driving", distance);
    }

    fn options(&self, view: &mut View, specs: &[OptionSpec]) {
        let (choices, taken) = options(self.speech, self.house, self.a, specs);
        view.part.insert("taken", !taken.is_empty());
        view.list.insert("taken", taken);
        for (column, choice) in choices.into_iter().enumerate() {
            view.text.insert(format!("option_{column}"), choice.title);
            for (row, value) in ROWS.iter().zip(choice.values) {
                view.text.insert(format!("{row}_{column}"), value);
            }
        }
    }

    fn cash(&self, view: &mut View) {
        let speech = self.speech;
        let course = course(self.house);
        let title = speech.words.get("cash_says");
        view.drawing.insert("cash".to_owned(), chart(speech, &course, title));
        let last = course.len().saturating_sub(1);
        let stride = if last <= 12 { 2 } else { 5 };
        let lines = course.iter().enumerate().filter(|(at, _)| at % stride == 0 || *at == last);
        let lines = lines
            .map(|(_, one)| {
                Line::from([
                    ("year", speech.number(f64::from(one.year), 0)),
                    ("low", speech.amount(one.low)),
                    ("middle", speech.amount(one.middle)),
                    ("high", speech.amount(one.high)),
                ])
            })
            .collect();
        view.list.insert("cash", lines);
        let band = self.band.map_or("band_none", |band| band.name);
        put(view, "band", speech.words.get(band).to_owned());
    }

    /// What would change the payback most.
    fn swings(&self, view: &mut View) {
        let speech = self.speech;
        let words = &speech.words;
        let payback = self.a.simple_payback_years.unwrap_or(0.0);
        let shown = self.swings.iter().take(MOST_SWINGS);
        let ends = shown.clone().flat_map(|swing| [swing.at_low, swing.at_high]).flatten();
        let (least, most) =
            ends.fold((payback, payback), |(least, most), end| (least.min(end), most.max(end)));
        // Some width, where nothing else gives any.
        let scale = [least, most.max(least * 1.01 + 1e-9)];
        let end = |years: Option<f64>| {
            years.map_or_else(|| words.get("no_payback").to_owned(), |years| speech.years(years))
        };
        let lines: Vec<Line> = shown
            .map(|swing| {
                let input = &swing.input;
                let usual = SPREADS.iter().find(|spread| spread.words == input.words());
                let key = usual.map_or(input.words(), |spread| spread.field);
                let source = input.citation().map(|citation| citation.to_string());
                let what = words.or(&format!("spread:{key}"), input.words());
                Line::from([
                    ("what", what.to_owned()),
                    ("spread", self.spread(swing)),
                    ("low", end(swing.at_low)),
                    ("high", end(swing.at_high)),
                    ("source", source.unwrap_or_else(|| words.get("own_range").to_owned())),
                    ("bar", swing_bar([swing.at_low, swing.at_high], payback, scale)),
                ])
            })
            .collect();
        view.part.insert("swings", !lines.is_empty());
        view.list.insert("swings", lines);
    }

    /// From where to where an input is moved, as in `1 to 2 in`, or on several surfaces `0.85 to 1.15 times`.
    fn spread(&self, swing: &Swing) -> String {
        let (speech, input) = (self.speech, &swing.input);
        let words = &speech.words;
        let def = input.field().def();
        let share = def.ip.ends_with("_fraction") || input.field() == Field::RealizationRate;
        let say = |value: f64| {
            if share {
                speech.percent(value, 0)
            } else {
                speech.quantity_figure(def.quantity, value, 2)
            }
        };
        let plus = |value: f64| if value > 0.0 { format!("+{}", say(value)) } else { say(value) };
        match (input.places(), input.origin()) {
            ([_, _, ..], Origin::Usual(spread)) if spread.mode == SpreadMode::Factor => words.fill(
                "spread_times",
                &[("low", &speech.figure(spread.low, 2)), ("high", &speech.figure(spread.high, 2))],
            ),
            ([_, _, ..], Origin::Usual(spread)) if spread.mode == SpreadMode::Add => words
                .fill("spread_add", &[("low", &plus(spread.low)), ("high", &plus(spread.high))]),
            (places, _) => {
                let [low, high] = input.end_shares();
                let at = |share| say(places.first().map_or(f64::NAN, |place| place.at(share)));
                words.fill("spread_add", &[("low", &at(low)), ("high", &at(high))])
            }
        }
    }

    /// Where each slider stands, and which of them stand elsewhere than surveyed.
    fn moved(&self, view: &mut View, sliders: &[Slider], at: &[usize]) {
        let mut lines = Vec::new();
        for (place, slider) in sliders.iter().enumerate() {
            let now = at.get(place).copied().unwrap_or(slider.start);
            let value = |stop: usize| {
                let ip = slider.stops.get(stop).copied().unwrap_or_default();
                slider_value(self.speech, slider.field, ip)
            };
            view.text.insert(format!("slider_{place}"), value(now));
            if now != slider.start {
                lines.push(Line::from([
                    ("what", slider_label(self.speech, self.house, slider.field)),
                    ("from", value(slider.start)),
                    ("to", value(now)),
                ]));
            }
        }
        view.part.insert("moved", !lines.is_empty());
        view.list.insert("moved", lines);
    }
}

/// What a slider moves.
pub(crate) fn slider_label(speech: &Speech, house: &House, field: Field) -> String {
    let unit = house.plant().fuel.row().unit;
    let unit = speech.words.or(&format!("fuel_unit:{unit}"), unit);
    speech.words.fill(&format!("slide_{}", field.def().ip), &[("unit", unit)])
}

fn slider_value(speech: &Speech, field: Field, ip: f64) -> String {
    if field == Field::AirGapLevel {
        let name = if ip < 0.5 {
            "gaps_0"
        } else if ip < 1.5 {
            "gaps_1"
        } else {
            "gaps_2"
        };
        return speech.words.get(name).to_owned();
    }
    speech.field(field.def(), ip)
}

/// Surfaces that are drawn.
pub(crate) const MOST_SECTIONS: usize = 8;
/// Assumptions of the list of what would change the payback most.
const MOST_SWINGS: usize = 6;

/// To three digits: a picture is no measurement.
fn three_digits(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use crate::house::House;
    use crate::house::samples::any_house;
    use crate::page::live::Live;
    use crate::page::words::Words;
    use crate::units::UnitSystem;
    use proptest::prelude::*;

    fn live(house: &House, units: UnitSystem) -> Live {
        Live::new(house, None, Words::of("en").unwrap(), units, "$").unwrap()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Whatever the house and wherever the sliders: every text has words, and no number that is none.
        #[test]
        fn any_house_is_told_at_any_stop(house in any_house(), share in prop::collection::vec(0.0..1.0_f64, 10)) {
            for units in [UnitSystem::Ip, UnitSystem::Si] {
                let live = live(&house, units);
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
                let at: Vec<usize> = live.sliders().iter().zip(&share)
                    .map(|(slider, share)| (share * slider.stops.len() as f64) as usize).collect();
                for at in [Vec::new(), at] {
                    let view = live.view(&at).map_err(|e| e.to_string()).unwrap();
                    for (name, text) in view.text.iter().chain(&view.drawing) {
                        prop_assert!(!text.contains("NaN") && !text.contains(">inf") && !text.contains('{'), "{name}: {text}");
                    }
                }
            }
        }

        /// At rest the page shows the house as it was surveyed, to the bit.
        #[test]
        fn at_rest_the_house_is_the_house(house in any_house()) {
            let live = live(&house, UnitSystem::Ip);
            let starts: Vec<usize> = live.sliders().iter().map(|slider| slider.start).collect();
            let moved = live.moved(&starts).map_err(|e| e.to_string()).unwrap();
            for ((name, a), (_, b)) in crate::house::assess(&house).results(UnitSystem::Ip)
                .zip(crate::house::assess(&moved).results(UnitSystem::Ip)) {
                prop_assert_eq!(a, b, "{}", name);
            }
        }
    }
}
