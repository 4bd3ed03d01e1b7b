//! What every text is made of: titled blocks, numbers and units as a person writes them, and the
//! sentences that stand in more than one place.

/// The months by name, January first.
pub(crate) const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// How a block is to be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// The work must not start.
    Hold,
    /// Someone must look.
    Check,
    /// The answer to the question that was asked.
    Answer,
    /// Everything else.
    Plain,
}

impl Tone {
    /// `hold`, `check`, `answer` or `plain`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Hold => "hold",
            Self::Check => "check",
            Self::Answer => "answer",
            Self::Plain => "plain",
        }
    }
}

/// A titled part of the account.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    /// How it is to be taken.
    pub tone: Tone,
    /// Its title.
    pub title: String,
    /// Label and text of each line; the label may be empty.
    pub lines: Vec<(String, String)>,
}

impl Block {
    pub(crate) fn new(tone: Tone, title: impl Into<String>) -> Self {
        Self { tone, title: title.into(), lines: Vec::new() }
    }

    pub(crate) fn line(&mut self, label: impl Into<String>, text: impl Into<String>) {
        self.lines.push((label.into(), text.into()));
    }
}

pub(crate) const LOCAL_CODE: &str =
    "Local code and licensed practice decide; a finding here is no certificate.";
pub(crate) const REALISED: &str = "Measured savings often fall short of modelled ones: 39 % of them in one \
    programme with a mix of measures (Fowlie, Greenstone and Wolfram 2018), 30 % less use than \
    rated before any work (Sunikka-Blank and Galvin 2012). The bills afterwards decide.";

pub(crate) fn cautions() -> Block {
    let mut block = Block::new(Tone::Plain, "Before anyone blows fibre");
    block.line("", LOCAL_CODE);
    block.line(
        "",
        "Fibre must be made to pass the smouldering test of 16 CFR 1209; installers wear a \
         respirator and eye protection (NIOSH 2001).",
    );
    block.line(
        "",
        "After tightening, draught and carbon monoxide are tested the same day wherever an \
         appliance draws its air from the house.",
    );
    block
}

/// A sentence from a clause without a full stop.
pub(crate) fn sentence(clause: &str) -> String {
    format!("{clause}.")
}

pub(crate) fn or_none(value: Option<f64>, words: impl Fn(f64) -> String) -> String {
    value.map_or("none".to_owned(), words)
}

/// Longer paybacks are all the same to a reader.
const LONG: f64 = 200.0;

/// `3.4 years`; weeks and centuries are said as such.
pub(crate) fn years(value: f64) -> String {
    if value >= LONG {
        return format!("over {LONG} years");
    }
    let text = grouped(value, usize::from(value < 100.0));
    if text == "1.0" { "1 year".to_owned() } else { format!("{text} years") }
}

pub(crate) fn percent(share: f64) -> String {
    format!("{} %", grouped(share * 100.0, 0))
}

pub(crate) fn percent_fine(share: f64) -> String {
    format!("{} %", grouped(share * 100.0, 1))
}

/// Decimals that an amount of this size deserves.
pub(crate) fn decimals(value: f64) -> usize {
    if value.abs() >= 100.0 || value == 0.0 { 0 } else { 2 }
}

/// Money as a person writes it: no cents from a hundred up.
pub(crate) fn amount(value: f64, currency: &str) -> String {
    let sign = if value < 0.0 { "−" } else { "" };
    format!("{sign}{currency}{}", grouped(value.abs(), decimals(value)))
}

/// A fuel's unit in a sentence.
pub(crate) fn singular(unit: &str) -> &str {
    if unit == "gal" { "gallon" } else { unit }
}

pub(crate) fn plural(unit: &str) -> String {
    if unit == "kWh" { unit.to_owned() } else { format!("{}s", singular(unit)) }
}

/// A number with at most so many decimals, no trailing zeros.
pub(crate) fn figure(value: f64, decimals: usize) -> String {
    let text = grouped(value, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A number with so many decimals and its thousands set apart.
pub(crate) fn grouped(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let (whole, rest) = text.find('.').map_or((text.as_str(), ""), |dot| text.split_at(dot));
    let mut out = String::new();
    // −0.00 is 0.
    if value < 0.0 && text.chars().any(|c| ('1'..='9').contains(&c)) {
        out.push('−');
    }
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_as_a_person_writes_them() {
        assert_eq!(grouped(1_234_567.0, 0), "1,234,567");
        assert_eq!(grouped(-999.5, 1), "−999.5");
        assert_eq!(grouped(-0.001, 2), "0.00");
        assert_eq!(years(3.44), "3.4 years");
        assert_eq!(years(1e16), "over 200 years");
    }
}
