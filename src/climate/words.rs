//! Weather, degree-days, places and balance points in words. Every English sentence about the
//! climate that a person reads at length is here.

use super::balance::{BalanceSaving, CountedSaving};
use super::degree_days::{Count, DayRule, DegreeDaySums, Sum, USUAL_BASE_F, UsualYear};
use super::error::ClimateError;
use super::places::FROM_MEMORY;
use super::remark::Gravity;
use super::weather::{Day, Weather, stretch};
use super::zone::ZONE_CAVEAT;
use crate::source::Mark;
use crate::tables::{Cited, Place};
use crate::units::factor::K_PER_F;
use crate::units::{Quantity, UnitSystem};
use crate::words::MONTHS;
use crate::words::{Block, Tone, grouped, years};

/// How a person reads temperatures and degree-days.
#[derive(Clone, Copy, Debug)]
struct Pen(UnitSystem);

impl Pen {
    fn temperature(self, f: f64) -> String {
        let minus = |value: f64, unit: &str| format!("{} {unit}", grouped(value, 1));
        match self.0 {
            UnitSystem::Ip => minus(f, "°F"),
            UnitSystem::Si => minus((f - 32.0) * K_PER_F, "°C"),
        }
    }

    fn quantity(self, quantity: Quantity, ip: f64, decimals: usize) -> String {
        let unit = quantity.unit(self.0);
        format!("{} {unit}", grouped(quantity.express(ip, self.0), decimals))
    }

    fn days(self, ip: f64) -> String {
        self.quantity(Quantity::DegreeDays, ip, 0)
    }

    /// `base 65.0 °F, (maximum + minimum) / 2 of each day against the base`.
    fn count(self, count: Count) -> String {
        let whole = if count.whole_degrees() { ", in whole degrees Fahrenheit" } else { "" };
        format!("base {}, {}{whole}", self.temperature(count.base_f()), count.rule().words())
    }
}

fn block(tone: Tone, title: impl Into<String>) -> Block {
    Block { tone, title: title.into(), lines: Vec::new() }
}

fn line(block: &mut Block, label: impl Into<String>, text: impl Into<String>) {
    block.lines.push((label.into(), text.into()));
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|letter| letter.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), letters.as_str())
}

/// Which spans a report of degree-days lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spans {
    /// Months for a single year, years for more.
    Fitting,
    /// Every month.
    Months,
    /// Every year.
    Years,
}

/// The report on a weather file: what it is, what was noticed, what degree-days it gives.
///
/// # Errors
/// [`ClimateError::Refused`] where the file has not what the rule needs.
pub fn weather_blocks(
    weather: &Weather,
    count: Count,
    spans: Spans,
    units: UnitSystem,
) -> Result<Vec<Block>, ClimateError> {
    let pen = Pen(units);
    let sums = weather.degree_days(count)?;
    let mut blocks = vec![found(weather, pen)];
    blocks.extend(noticed(weather));
    blocks.push(year(weather, count, pen));
    blocks.push(listed(weather, &sums, spans, pen));
    Ok(blocks)
}

fn found(weather: &Weather, pen: Pen) -> Block {
    let site = weather.site();
    let mut block = block(Tone::Plain, format!("Weather of {}", site.name));
    let form = match weather.format() {
        super::Format::Tmy3 => "TMY3",
        super::Format::Epw => "EPW",
        super::Format::Table => "table with named columns",
    };
    let grain = match (weather.is_hourly(), weather.has_extremes(), weather.has_means()) {
        (true, ..) => "hours",
        (_, true, true) => "daily maxima, minima and means",
        (_, true, false) => "daily maxima and minima",
        _ => "daily means",
    };
    line(&mut block, "Form", format!("{form}, {grain}, in {}", weather.unit().words()));
    let period = if weather.is_typical() {
        format!("a typical year, {}", stretch(weather.first(), weather.last(), true))
    } else {
        stretch(weather.first(), weather.last(), false)
    };
    line(&mut block, "Period", period);
    let days = weather.days().len();
    let there = weather.days_with_value();
    let whole = |count: usize| grouped(super::monthly::number(count), 0);
    let days = if there == days {
        format!("{}, each with a value", whole(days))
    } else {
        format!(
            "{}, of which {} have a value; the others are not filled",
            whole(days),
            whole(there)
        )
    };
    line(&mut block, "Days", format!("{days}; from {} readings", whole(weather.readings())));
    if let Some(feet) = site.elevation_ft {
        line(&mut block, "Height", pen.quantity(Quantity::Elevation, feet, 0));
    }
    block
}

/// What was noticed, the gravest first.
fn noticed(weather: &Weather) -> Option<Block> {
    let gravest = weather.remarks().first()?.gravity;
    let (tone, title) = match gravest {
        Gravity::Grave => (Tone::Hold, "Do not use this file for a house as it is"),
        Gravity::Warning => (Tone::Check, "Noticed while reading: look at it"),
        Gravity::Note => (Tone::Plain, "Noticed while reading"),
    };
    let mut block = block(tone, title);
    for remark in weather.remarks() {
        let label = match remark.gravity {
            Gravity::Grave => "Grave",
            Gravity::Warning => "Warning",
            Gravity::Note => "Note",
        };
        line(&mut block, label, sentence(&remark.text));
    }
    Some(block)
}

fn year(weather: &Weather, count: Count, pen: Pen) -> Block {
    let usual = match weather.usual_year(count) {
        Err(error) => {
            let mut block = block(Tone::Check, "No degree-days of a usual year");
            line(&mut block, "", sentence(&error.to_string()));
            return block;
        }
        Ok(usual) => usual,
    };
    let UsualYear { heating, cooling, .. } = usual;
    let title = format!(
        "Degree-days of a usual year: heating {}, cooling {}",
        grouped(Quantity::DegreeDays.express(heating, pen.0), 0),
        pen.days(cooling)
    );
    let mut block = block(Tone::Answer, title);
    line(&mut block, "Counted as", pen.count(count));
    line(&mut block, "", count.rule().explanation());
    line(&mut block, "Made of", usual.basis_words());
    if usual.missing > 0 {
        let most = format!(
            "what is missing would add {} of heating at most; nothing is filled",
            pen.days(usual.missing_at_most)
        );
        line(&mut block, "Missing", most);
    }
    if let Ok(zone) = weather.climate_zone(count.rule()) {
        line(&mut block, "Climate zone", format!("{} by degree-days", zone.words()));
        line(&mut block, "", ZONE_CAVEAT);
    }
    block
}

fn month_name(month: u32) -> &'static str {
    usize::try_from(month)
        .ok()
        .and_then(|month| MONTHS.get(month.checked_sub(1)?))
        .copied()
        .unwrap_or("?")
}

fn listed(weather: &Weather, sums: &DegreeDaySums, spans: Spans, pen: Pen) -> Block {
    let months = match spans {
        Spans::Months => true,
        Spans::Years => false,
        Spans::Fitting => sums.years.len() == 1,
    };
    let title = if months { "By month" } else { "By year" };
    let mut block = block(Tone::Plain, format!("{title}, {}", pen.unit()));
    let row = |sum: &Sum| {
        let missing = match sum.missing {
            0 => String::new(),
            days => format!(", {days} missing"),
        };
        let express = |value| grouped(Quantity::DegreeDays.express(value, pen.0), 1);
        format!(
            "heating {}, cooling {}, {} days{missing}",
            express(sum.heating),
            express(sum.cooling),
            sum.days
        )
    };
    let several = sums.years.len() > 1;
    for sum in if months { &sums.months } else { &sums.years } {
        let label = match (sum.month, weather.is_typical() || !several) {
            (Some(month), true) => month_name(month).to_owned(),
            (Some(month), false) => format!("{} {}", month_name(month), sum.year),
            (None, _) if weather.is_typical() => "The year".to_owned(),
            (None, _) => sum.year.to_string(),
        };
        line(&mut block, label, row(sum));
    }
    if months || several {
        line(&mut block, "In all", row(&sums.total));
    }
    block
}

impl Pen {
    fn unit(self) -> &'static str {
        Quantity::DegreeDays.unit(self.0)
    }
}

/// How the degree-days come about, on the coldest day of the file, step by step.
///
/// # Errors
/// [`ClimateError::Refused`] where the file has not what the rule needs.
pub fn explain_weather(weather: &Weather, count: Count) -> Result<Vec<Block>, ClimateError> {
    let sums = weather.degree_days(count)?;
    let mut block = block(Tone::Plain, "How the degree-days are counted");
    line(&mut block, "Rule", format!("{} [NOAA, definition of degree-days, seen]", count.words()));
    line(&mut block, "Heating of a day", "max(base − temperature, 0)");
    line(&mut block, "Cooling of a day", "max(temperature − base, 0)");
    line(&mut block, "A missing day", "counts nothing and is named; it is never filled");
    let value = |day: &Day| match count.rule() {
        DayRule::MaxMin => day.middle_f(),
        DayRule::Mean | DayRule::Hours => day.mean_f,
    };
    let coldest = weather
        .days()
        .iter()
        .filter(|day| value(day).is_finite())
        .min_by(|one, next| value(one).total_cmp(&value(next)));
    if let Some(day) = coldest {
        line(&mut block, "The coldest day", worked(day, count, weather.is_typical()));
    }
    let month = |sum: &Sum| {
        let name = sum.month.map_or("", month_name);
        format!("{} {}", name, grouped(sum.heating, 1))
    };
    if sums.months.len() <= 12 {
        let parts: Vec<String> = sums.months.iter().map(month).collect();
        let sum = format!("{} = {}", parts.join(" + "), grouped(sums.total.heating, 1));
        line(&mut block, "Heating, °F·day", sum);
    } else {
        let year = |sum: &Sum| format!("{} in {}", grouped(sum.heating, 1), sum.year);
        let parts: Vec<String> = sums.years.iter().map(year).collect();
        line(&mut block, "Heating, °F·day", parts.join(", "));
    }
    Ok(vec![block])
}

fn worked(day: &Day, count: Count, nominal: bool) -> String {
    let date = stretch(day.date, day.date, nominal);
    let base = count.base_f();
    match count.rule() {
        DayRule::MaxMin => {
            let whole = |value: f64| {
                if count.whole_degrees() { libm::floor(value + 0.5) } else { value }
            };
            let (max, min) = (whole(day.max_f), whole(day.min_f));
            let middle = whole(f64::midpoint(max, min));
            format!(
                "{date}: ({} + {}) / 2 = {}; {base} − {} = {} °F·day",
                grouped(max, 2),
                grouped(min, 2),
                grouped(middle, 2),
                grouped(middle, 2),
                grouped((base - middle).max(0.0), 2)
            )
        }
        DayRule::Mean => format!(
            "{date}: {base} − {} = {} °F·day",
            grouped(day.mean_f, 2),
            grouped((base - day.mean_f).max(0.0), 2)
        ),
        DayRule::Hours => format!(
            "{date}: the sum of max({base} − hour, 0) over {} hours, divided by as many",
            day.hours
        ),
    }
}

fn cited(text: &str, cited: &Cited) -> String {
    match cited.citation.mark {
        Mark::Memory => format!("{text} ({FROM_MEMORY})"),
        _ => format!("{text} [{}]", cited.citation),
    }
}

/// The places, a block each.
pub fn place_blocks<'p>(places: impl Iterator<Item = &'p Place>, units: UnitSystem) -> Vec<Block> {
    let pen = Pen(units);
    let mut blocks: Vec<Block> = places.map(|place| place_block(place, pen)).collect();
    let mut caution = block(Tone::Check, "A first guess");
    line(&mut caution, "", "A weather file of the place always wins over this table.");
    line(
        &mut caution,
        "",
        "What is marked from memory has not been looked up: check it locally before it decides \
         anything.",
    );
    line(&mut caution, "", ZONE_CAVEAT);
    blocks.push(caution);
    blocks
}

fn place_block(place: &Place, pen: Pen) -> Block {
    let mut block = block(Tone::Plain, format!("{} ({})", place.full_name(), place.key));
    let days = |days: &Cited| cited(&pen.days(days.value), days);
    let base = pen.temperature(place.base_f);
    line(&mut block, format!("Heating, base {base}"), days(&place.heating));
    line(&mut block, format!("Cooling, base {base}"), days(&place.cooling));
    let feet = &place.elevation_ft;
    line(&mut block, "Height", cited(&pen.quantity(Quantity::Elevation, feet.value, 0), feet));
    let zone = match place.zone_citation.mark {
        Mark::Memory => format!("{} ({FROM_MEMORY})", place.zone),
        _ => format!("{} [{}]", place.zone, place.zone_citation),
    };
    line(&mut block, "Climate zone", zone);
    if !place.note.is_empty() {
        line(&mut block, "", sentence(place.note));
    }
    block
}

/// Where the climate of a house comes from, for the end of its account.
pub fn origin_block(notes: &[String]) -> Block {
    let mut block = block(Tone::Plain, "Where the degree-days come from");
    for note in notes {
        line(&mut block, "", sentence(note));
    }
    block
}

/// The saving with a balance point that falls, beside that at a fixed base, both explained.
pub fn balance_blocks(saving: &BalanceSaving, units: UnitSystem, currency: &str) -> Vec<Block> {
    let pen = Pen(units);
    vec![balance_point(saving, pen), three_counts(saving, pen, currency), derived(saving, pen)]
}

fn balance_point(saving: &BalanceSaving, pen: Pen) -> Block {
    let BalanceSaving { before, after, .. } = saving;
    let title = format!(
        "Balance point {} now, {} after the fill (modelled)",
        pen.temperature(before.balance_point_f()),
        pen.temperature(after.balance_point_f())
    );
    let mut block = block(Tone::Answer, title);
    line(
        &mut block,
        "",
        "Below its balance point a house must be heated; above it, people, appliances and sun are \
         enough. A house that loses less is carried further by the same gains, so its balance \
         point falls and its heating season grows shorter.",
    );
    let loss = |value| pen.quantity(Quantity::Conductance, value, 0);
    line(&mut block, "Set point", pen.temperature(before.indoor_f()));
    let gains = match pen.0 {
        UnitSystem::Ip => format!("{} Btu/h", grouped(before.gains_btu_h(), 0)),
        UnitSystem::Si => {
            let watts = before.gains_btu_h() / crate::units::factor::BTU_PER_WH;
            format!("{} W", grouped(watts, 0))
        }
    };
    line(&mut block, "Gains", format!("{gains}, the same before and after"));
    line(&mut block, "Loss of the whole house", loss(before.loss_btu_h_f()));
    line(&mut block, "Saved by the fill", loss(saving.conductance_saved));
    let share = saving.conductance_saved / before.loss_btu_h_f();
    line(&mut block, "Share of the loss", format!("{} %", grouped(share * 100.0, 0)));
    if share > 0.4 {
        line(
            &mut block,
            "",
            "That is much for walls alone: look again at the area and at the loss coefficient.",
        );
    }
    block
}

fn three_counts(saving: &BalanceSaving, pen: Pen, currency: &str) -> Block {
    let mut block = block(Tone::Answer, "The saving by three counts (modelled, not measured)");
    let text = |counted: &CountedSaving| {
        let assessment = &counted.assessment;
        let row = assessment.fuel.row();
        let unit = if row.unit == "gal" { "gallons" } else { row.unit };
        let payback = assessment
            .simple_payback_years
            .map_or("no payback".to_owned(), |value| format!("modelled payback {}", years(value)));
        format!(
            "{} a year, {} {unit}, {currency}{} a year, {payback}",
            pen.quantity(Quantity::Heat, assessment.heat_saved.ip(), 1),
            grouped(assessment.fuel_saved, 1),
            grouped(assessment.annual_savings, 0),
        )
    };
    let falling = saving.falling.assessment.heat_saved.ip();
    let beside = |counted: &CountedSaving| {
        let odds = counted.assessment.heat_saved.ip() / falling - 1.0;
        let percent = grouped(odds.abs() * 100.0, 0);
        match percent.as_str() {
            "0" => "the same as with the falling balance point".to_owned(),
            _ if odds > 0.0 => format!("{percent} % more than with the falling balance point"),
            _ => format!("{percent} % less than with the falling balance point"),
        }
    };
    line(&mut block, "Falling balance point", text(&saving.falling));
    line(
        &mut block,
        "",
        "The one to use where the loss of the whole house is known. On every day that is heated \
         the wall saves each degree from the set point down to the air outside, and the season \
         grows shorter as well.",
    );
    line(&mut block, "Balance point as now", text(&saving.held));
    line(
        &mut block,
        "",
        format!(
            "As if the season stayed and each degree counted from the balance point only: {}. It \
             leaves out that the same gains carry a tighter house further, so it is always too low.",
            beside(&saving.held)
        ),
    );
    let base = pen.temperature(USUAL_BASE_F);
    line(&mut block, format!("Fixed base of {base}"), text(&saving.fixed));
    line(
        &mut block,
        "",
        format!(
            "The usual figure, which knows nothing of this house: each degree counted from {base}, \
             on every day below it: {}. It may be too high or too low.",
            beside(&saving.fixed)
        ),
    );
    block
}

fn derived(saving: &BalanceSaving, pen: Pen) -> Block {
    let BalanceSaving { before, after, conductance_saved, years, falling, .. } = saving;
    let [now, then] = years;
    let mut block = block(Tone::Plain, "How they come about");
    let loss = |value| grouped(value, 1);
    line(
        &mut block,
        "Balance point now",
        format!(
            "set point − gains / loss = {} − {} / {} = {} °F",
            grouped(before.indoor_f(), 1),
            loss(before.gains_btu_h()),
            loss(before.loss_btu_h_f()),
            grouped(before.balance_point_f(), 2)
        ),
    );
    line(
        &mut block,
        "Balance point after",
        format!(
            "{} − {} / ({} − {}) = {} °F",
            grouped(after.indoor_f(), 1),
            loss(after.gains_btu_h()),
            loss(before.loss_btu_h_f()),
            loss(*conductance_saved),
            grouped(after.balance_point_f(), 2)
        ),
    );
    line(
        &mut block,
        "Heating degree-days",
        format!(
            "{} at the balance point now, {} at that after, {} at {} ({})",
            pen.days(now.heating),
            pen.days(then.heating),
            pen.days(saving.fixed.heating_degree_days),
            pen.temperature(USUAL_BASE_F),
            now.count.rule().words()
        ),
    );
    line(
        &mut block,
        "Degree-days of the saving",
        format!(
            "(loss × now − (loss − saved) × after) / saved = ({} × {} − {} × {}) / {} = {} °F·day",
            loss(before.loss_btu_h_f()),
            grouped(now.heating, 1),
            loss(after.loss_btu_h_f()),
            grouped(then.heating, 1),
            loss(*conductance_saved),
            grouped(falling.heating_degree_days, 1)
        ),
    );
    line(
        &mut block,
        "",
        "With these degree-days the house was assessed; everything else in it is unchanged.",
    );
    line(&mut block, "Made of", now.basis_words());
    line(
        &mut block,
        "Taken as given",
        "the gains are the same all season and all of use; the house is warm throughout and all \
         day long",
    );
    block
}
