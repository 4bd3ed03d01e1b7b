//! Doubt in words: what is likely, where the doubt comes from, what was taken to be off.

use super::{Band, Doubt, Figure, Input, Origin, RETURNS, Return, Shares};
use crate::holds::holds_and_checks;
use crate::house::{Field, assess};
use crate::units::UnitSystem;
use crate::words::{Block, Tone, figure, grouped, percent, percent_fine, years};

/// The years within which a payback is asked for, beside the life.
const WITHIN: [f64; 4] = [5.0, 10.0, 15.0, 20.0];
/// How advice begins where there is none.
const NOBODY: &str = "nobody";
/// A smaller part of the doubt is not told by itself.
const LEAST_SHARE: f64 = 0.01;

/// From where to where an input is moved: `1 to 2 in`, or on several surfaces `0.85 to 1.15 times`.
pub(crate) fn extent(input: &Input, units: UnitSystem) -> String {
    use crate::doubt::Origin;
    use crate::tables::SpreadMode;
    let def = input.field().def();
    let unit = def.quantity.unit(units);
    let gap = if unit.is_empty() { "" } else { " " };
    let number = |ip: f64| figure(def.quantity.express(ip, units), 3);
    match (input.places(), input.origin()) {
        ([_, _, ..], Origin::Usual(spread)) if spread.mode == SpreadMode::Factor => {
            format!("{} to {} times what was taken", spread.low, spread.high)
        }
        ([_, _, ..], Origin::Usual(spread)) if spread.mode == SpreadMode::Add => {
            format!("{} to +{}{gap}{unit}", number(spread.low), number(spread.high))
        }
        (places, _) => {
            let [low, high] = input.end_shares();
            let at = |u| places.first().map_or(f64::NAN, |place| place.at(u));
            let (a, b) = (number(at(low)), number(at(high)));
            format!("{a} to {b}{gap}{unit}")
        }
    }
}

/// The account of a house's doubt: holds and checks first, then the range of each figure, then where
/// the doubt comes from, then everything that was taken to be off, with its sources.
///
/// `currency` is a label in front of amounts; it converts nothing.
pub fn report(
    doubt: &Doubt,
    shares: Option<&Shares>,
    units: UnitSystem,
    currency: &str,
) -> Vec<Block> {
    let mut blocks = holds_and_checks(&assess(doubt.house()));
    blocks.push(answer(doubt, currency));
    blocks.extend(shares.map(origins));
    blocks.push(realised(doubt));
    blocks.push(taken(doubt, units));
    blocks
}

fn block(tone: Tone, title: impl Into<String>) -> Block {
    Block { tone, title: title.into(), lines: Vec::new() }
}

fn answer(doubt: &Doubt, currency: &str) -> Block {
    let band = doubt.band(Figure::SimplePayback);
    let mut answer = block(
        Tone::Answer,
        format!("Payback {}, {} (modelled, not measured)", within(band), halfway(band)),
    );
    let mut line = |label: &str, text: String| answer.lines.push((label.to_owned(), text));
    line(
        "",
        format!(
            "From {} draws of all that may be off, together; a tenth of them lie below the first number \
         of each range and a tenth above the last.",
            grouped(whole(doubt.draws()), 0)
        ),
    );
    let point = doubt.point(Figure::SimplePayback);
    let own = if point.is_finite() { years(point) } else { "no payback".to_owned() };
    line(
        "As the house stands",
        format!(
            "{own}, if everything is as it was given and all of the modelled saving is realised as given"
        ),
    );
    let life = f64::from(doubt.house().offer().life_years);
    let asked = WITHIN.into_iter().filter(|n| *n < life).chain([life]);
    let chances: Vec<String> = asked
        .map(|n| {
            let name = if n >= life { " (the life)" } else { "" };
            format!("{} years{name} {}", grouped(n, 0), chance(doubt.chance_of_payback_within(n)))
        })
        .collect();
    line("Chance of payback within", chances.join(", "));
    if doubt.chance_of_no_payback() > 0.0 {
        line("Chance of no payback", chance(doubt.chance_of_no_payback()));
    }
    line(
        "Chance that it is worth more than it costs",
        format!("{} (net present value above 0)", chance(doubt.chance_of_gain())),
    );
    let money = |value: f64| {
        let sign = if value < 0.0 { "−" } else { "" };
        format!("{sign}{currency}{}", grouped(value.abs(), 0))
    };
    let row = doubt.house().plant().fuel.row();
    for (label, figure) in [
        ("Saved a year", Figure::AnnualSavings),
        ("Net cost", Figure::NetCost),
        ("Net present value", Figure::Npv),
    ] {
        line(label, spread(doubt.band(figure), money));
    }
    for (label, text) in returned(doubt) {
        line(label, text);
    }
    line(
        "Fuel saved a year",
        spread(doubt.band(Figure::FuelSaved), |units| {
            format!("{} {}", grouped(units, 0), row.unit)
        }),
    );
    line(
        "CO2e avoided a year",
        spread(doubt.band(Figure::AnnualCo2e), |kg| format!("{} kg", grouped(kg, 0))),
    );
    line(
        "CO2e avoided over the life",
        spread(doubt.band(Figure::LifetimeCo2e), |kg| format!("{} t", grouped(kg / 1000.0, 1))),
    );
    answer
}

/// What comes back on the money, and in how many draws nothing can be said of it.
fn returned(doubt: &Doubt) -> [(&'static str, String); 3] {
    let without = |figure: Return, why: &str| match doubt.share_without(figure) {
        none if none <= 0.0 => String::new(),
        share => format!("; {} {why}", chance(share)),
    };
    let [late, ratio, rate] = RETURNS.map(|figure| doubt.return_band(figure));
    let late_text = |value: Option<f64>| value.map_or("not within the life".to_owned(), years);
    let late = format!(
        "{} to {}, middle {}{}",
        late_text(late.p10),
        late_text(late.p90),
        late_text(late.p50),
        without(Return::DiscountedPayback, "not within the life")
    );
    let ratio = match ratio.p50 {
        None => "in none of the draws: nothing is paid".to_owned(),
        Some(_) => {
            let without = without(Return::Sir, "have none, because nothing is paid");
            format!("{}{without}", spread(ratio, |value| figure(value, 2)))
        }
    };
    let rate = match rate.p50 {
        None => "in none of the draws: nothing is paid or nothing is saved".to_owned(),
        Some(_) => {
            let without = without(Return::Irr, "have none, because nothing is paid or saved");
            format!("{}{without}", spread(rate, percent_fine))
        }
    };
    [
        ("Discounted payback", late),
        ("Savings-to-investment ratio", ratio),
        ("Internal rate of return", rate),
    ]
}

/// A count as a number that can be printed.
fn whole(count: usize) -> f64 {
    u32::try_from(count).map_or(f64::INFINITY, f64::from)
}

/// `6.3 to 13.1 years`; the end may be no payback at all.
pub(crate) fn within(band: Band) -> String {
    let end = |value: Option<f64>| value.map_or("no payback at all".to_owned(), years);
    match (band.p10, band.p90) {
        (Some(low), Some(high)) => {
            let (short, long) = (years(low), years(high));
            match short.strip_suffix(" years").filter(|_| long.ends_with(" years")) {
                Some(number) if short != long && !long.starts_with("over") => {
                    format!("{number} to {long}")
                }
                _ if short == long => short,
                _ => format!("{short} to {long}"),
            }
        }
        (low, high) if low == high => end(low),
        (low, high) => format!("{} to {}", end(low), end(high)),
    }
}

fn halfway(band: Band) -> String {
    band.p50.map_or("more often than not none".to_owned(), |half| {
        format!("as often within {} as later", years(half))
    })
}

/// P10, P50 and P90 of a figure.
fn spread(band: Band, text: impl Fn(f64) -> String) -> String {
    let end = |value: Option<f64>| value.map_or("none".to_owned(), &text);
    format!("{} to {}, middle {}", end(band.p10), end(band.p90), end(band.p50))
}

/// A chance as a person says it: nothing that was drawn is impossible or certain.
fn chance(share: f64) -> String {
    match share {
        none if none <= 0.0 => "none of the draws".to_owned(),
        all if all >= 1.0 => "all of the draws".to_owned(),
        few if few < 0.005 => "under 1 %".to_owned(),
        most if most > 0.995 => "over 99 %".to_owned(),
        share => percent(share),
    }
}

/// A share as a person says it.
fn fraction(share: f64) -> String {
    let name = match share {
        s if s >= 0.90 => "nearly all",
        s if s >= 0.71 => "three quarters",
        s if s >= 0.58 => "two thirds",
        s if s >= 0.45 => "half",
        s if s >= 0.37 => "two fifths",
        s if s >= 0.29 => "a third",
        s if s >= 0.22 => "a quarter",
        s if s >= 0.18 => "a fifth",
        s => return percent(s),
    };
    name.to_owned()
}

/// What a figure is called in a sentence.
fn called(figure: Figure) -> &'static str {
    match figure {
        Figure::FuelSaved => "the fuel saved",
        Figure::AnnualSavings => "what is saved a year",
        Figure::NetCost => "the net cost",
        Figure::SimplePayback => "the payback",
        Figure::Npv => "the net present value",
        Figure::AnnualCo2e => "the CO2e avoided a year",
        Figure::LifetimeCo2e => "the CO2e avoided over the life",
    }
}

/// "Half of the doubt is how much of the cavity has no batt: look into the wall before you sign".
pub fn headline(shares: &Shares) -> Option<String> {
    let first = shares.shares.first()?;
    let mut name = fraction(first.first.clamp(0.0, 1.0));
    if let Some(letter) = name.get(..1).map(str::to_uppercase) {
        name.replace_range(..1, &letter);
    }
    let advice =
        if first.advice.is_empty() { String::new() } else { format!(": {}", first.advice) };
    Some(format!("{name} of the doubt about {} is {}{advice}.", called(shares.figure), first.words))
}

/// What one piece of advice would settle, where it settles more than the largest share alone: "A
/// third of it goes for whoever will look into the wall before you sign: ...".
fn settled(shares: &Shares) -> Option<String> {
    let mut advice: Vec<(&str, f64, Vec<&str>)> = Vec::new();
    for share in shares.shares.iter().filter(|s| !s.advice.is_empty() && s.first > 0.0) {
        if share.advice.starts_with(NOBODY) {
            continue;
        }
        match advice.iter_mut().find(|(known, ..)| *known == share.advice) {
            Some((_, sum, words)) => {
                *sum += share.first;
                words.push(share.words);
            }
            None => advice.push((share.advice, share.first, vec![share.words])),
        }
    }
    let (advice, sum, words) = advice.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let largest = shares.shares.first()?;
    if largest.advice == advice && words.len() == 1 {
        return None;
    }
    Some(format!(
        "What settles most of it: {advice} ({}), about {} of the doubt.",
        words.join("; "),
        fraction(sum.clamp(0.0, 1.0))
    ))
}

fn origins(shares: &Shares) -> Block {
    let mut origins =
        block(Tone::Plain, format!("Where the doubt about {} comes from", called(shares.figure)));
    origins.lines.extend(headline(shares).map(|text| (String::new(), text)));
    origins.lines.extend(settled(shares).map(|text| (String::new(), text)));
    for share in shares.shares.iter().filter(|share| share.total >= LEAST_SHARE) {
        let advice =
            if share.advice.is_empty() { String::new() } else { format!("; {}", share.advice) };
        let text = format!(
            "{} of the variance by itself, {} with what it does together with others{advice}",
            percent(share.first.clamp(0.0, 1.0)),
            percent(share.total),
        );
        origins.lines.push((share.words.to_owned(), text));
    }
    let errors = shares.shares.iter().map(|share| share.first_error.max(share.total_error));
    let text = format!(
        "Shares of the variance (Saltelli and others 2010), by sampling: a standard error of {} at \
         most. They depend on the ranges that were taken.",
        percent_fine(errors.fold(0.0, f64::max))
    );
    origins.lines.push((String::new(), text));
    origins
}

/// Where the range of the realised share comes from.
fn realised(doubt: &Doubt) -> Block {
    let house = doubt.house();
    let mut realised = block(Tone::Plain, "How much of the modelled saving shows on the meter");
    let mut line =
        |label: &str, text: &str| realised.lines.push((label.to_owned(), text.to_owned()));
    let input = doubt.inputs().iter().find(|input| input.field() == Field::RealizationRate);
    match input {
        None => line(
            "",
            "Not among what was drawn here, since only the house's own ranges were asked \
                          for: published evidence says that savings often fall short of the model.",
        ),
        Some(input) => {
            let range = input.places().first().map_or_else(String::new, |place| {
                let distribution = place.distribution();
                let number = |value: f64| figure(value, 2);
                match (distribution.likely(), distribution.ends()) {
                    (Some(likely), (low, high)) => {
                        let (low, high) = (number(low), number(high));
                        format!("{low} to {high}, most likely {}", number(likely))
                    }
                    _ => distribution.to_string(),
                }
            });
            line("Drawn from", &format!("{range} times the modelled saving"));
            match input.origin() {
                Origin::Own => line("", "The house's own range, in place of the published one."),
                Origin::Usual(_) if house.plant().billed_heating_fuel.is_some() => line(
                    "Narrowed by the house's own bills",
                    "the use before the work is its own and no draw saves more than that, so what \
                     strangers' houses used is left out; what is left is the use after the work, 2 % \
                     above the rated one in a published study, which weighs the more the smaller the \
                     saving is beside the bill",
                ),
                Origin::Usual(_) => line(
                    "",
                    "Without bills of the house this is what was found in other houses. Its own bills \
                     (billed_heating_fuel) take their place and narrow it.",
                ),
            }
            if house.was_given(Field::RealizationRate) && !matches!(input.origin(), Origin::Own) {
                line("", "The most likely value is the house's own realization_rate.");
            }
        }
    }
    line(
        "Fowlie, Greenstone and Wolfram 2018",
        "39 % of the modelled savings measured, for a mix of measures in one programme (seen)",
    );
    line(
        "Sunikka-Blank and Galvin 2012",
        "homes use 30 % less than rated before any work, on average, so that there is less to save (seen)",
    );
    line(
        "Cozza and others 2020",
        "23 % below the rated use before the work, 2 % above it after (seen)",
    );
    line("", "The bills afterwards decide.");
    realised
}

/// The range of an input as a reader can check it, with its source.
pub fn input_text(input: &Input, units: UnitSystem) -> String {
    let source =
        input.citation().map_or(" [the house's own range]".to_owned(), |c| format!(" [{c}]"));
    let moves = match input.moves() {
        Some((field, true)) => format!(", moving against {}", field.def().ip),
        Some((field, false)) => format!(", moving with {}", field.def().ip),
        None => String::new(),
    };
    let range = match (input.origin(), input.places()) {
        (Origin::Own, [place, ..]) => {
            let unit = input.field().def().quantity.unit(place.units());
            let gap = if unit.is_empty() { "" } else { " " };
            format!("{}{gap}{unit}", place.distribution())
        }
        _ => extent(input, units),
    };
    format!("{range}{moves}{source}")
}

fn taken(doubt: &Doubt, units: UnitSystem) -> Block {
    let mut taken = block(Tone::Plain, "What was taken to be off, and by how much");
    for input in doubt.inputs() {
        let label = match input.origin() {
            Origin::Own => format!("{} ({})", input.words(), input.name()),
            Origin::Usual(_) => input.words().to_owned(),
        };
        taken.lines.push((label, input_text(input, units)));
    }
    let text = "Each falls off in a straight line from its most likely value to both ends, unless it \
                says otherwise, and is independent of the others but where it says that it moves with \
                one. What is not in this list was taken as exact.";
    taken.lines.push((String::new(), text.to_owned()));
    taken
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_and_chances_are_said_as_a_person_says_them() {
        let band = |p10, p50, p90| Band { p10, p50, p90 };
        assert_eq!(within(band(Some(6.31), Some(8.0), Some(13.14))), "6.3 to 13.1 years");
        assert_eq!(within(band(Some(6.31), Some(8.0), None)), "6.3 years to no payback at all");
        assert_eq!(within(band(None, None, None)), "no payback at all");
        assert_eq!(within(band(Some(6.0), Some(8.0), Some(400.0))), "6.0 years to over 200 years");
        assert_eq!(within(band(Some(0.0), Some(0.0), Some(0.0))), "0.0 years");
        assert_eq!(chance(0.0), "none of the draws");
        assert_eq!(chance(0.004), "under 1 %");
        assert_eq!(chance(0.62), "62 %");
        assert_eq!(chance(1.0), "all of the draws");
        assert_eq!(fraction(0.5), "half");
        assert_eq!(fraction(0.13), "13 %");
    }
}
