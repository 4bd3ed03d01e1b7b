//! What can be wrong with an input, told so that it can be mended.

use std::fmt;

macro_rules! issue_codes {
    ($($code:ident { $text:literal, $meaning:literal, $example:literal, $remedy:literal })*) => {
        /// The sort of a fault, stable for programs.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        #[cfg_attr(feature = "house-file", derive(serde::Serialize), serde(rename_all = "snake_case"))]
        #[non_exhaustive]
        pub enum IssueCode {
            $(
                #[doc = $meaning]
                $code,
            )*
        }

        /// Every code, in the order of the error reference, which is made from this list.
        pub static ISSUE_CODES: &[IssueCodeDef] = &[
            $(IssueCodeDef {
                code: IssueCode::$code,
                meaning: $meaning,
                example: $example,
                remedy: $remedy,
            },)*
        ];

        impl IssueCode {
            /// The code as text.
            pub const fn as_str(self) -> &'static str {
                match self {
                    $(Self::$code => $text,)*
                }
            }
        }
    };
}

/// What the error reference says of a code.
#[derive(Clone, Copy, Debug)]
pub struct IssueCodeDef {
    /// The code.
    pub code: IssueCode,
    /// What it means.
    pub meaning: &'static str,
    /// An input that gives rise to it.
    pub example: &'static str,
    /// What to do.
    pub remedy: &'static str,
}

issue_codes! {
    Missing { "missing",
        "A field that must be given is not.",
        "a house without `wall_area_ft2`",
        "Give the field; `studbay fields` says which are required and which have a default."
    }
    UnknownName { "unknown_name",
        "A name that no field has.",
        "`fuel_prise = 1.6`",
        "Look at the name that the message offers; `studbay fields` lists all."
    }
    Misplaced { "misplaced",
        "A field that does not belong where it stands.",
        "`fuel_price` inside a surface, or `wall_area_ft2` beside a list of surfaces",
        "Move the line to where the message says, or take it out."
    }
    WrongType { "wrong_type",
        "A list where a single value is meant, or the like.",
        "`wall_area_ft2 = [1200, 300]`",
        "Write one value; several walls are several `[[surfaces]]`."
    }
    NotANumber { "not_a_number",
        "Not a number, or not finite.",
        "`wall_area_ft2 = \"about 1200\"`",
        "Write digits alone, with a point before the decimals and the unit in the field's name."
    }
    NotText { "not_text",
        "Not text where text is meant.",
        "`house_id = true` in a house file",
        "Put the value in quotation marks."
    }
    OutOfRange { "out_of_range",
        "Outside the allowed range.",
        "`framing_fraction = 25`",
        "See the range in the message; most often the unit is another one, or per cent were written for a share."
    }
    NotAChoice { "not_a_choice",
        "Not one of the allowed words.",
        "`fuel = \"gas\"`",
        "Take one of the words that the message lists."
    }
    GivenTwice { "given_twice",
        "Given twice, under both unit names or by two rules.",
        "`wall_area_ft2` beside `wall_area_m2`, or `series_r` beside `cladding`",
        "Keep one of them."
    }
    Conflict { "conflict",
        "Two statements that cannot both hold.",
        "a range under `[ranges]` for a field that is not given",
        "Look at both places that the message names; one of them is wrong or missing."
    }
    Refused { "refused",
        "Something that the method does not cover.",
        "`framing_material = \"metal\"`",
        "No figure would be right: have this case calculated by a professional."
    }
    Unreadable { "unreadable",
        "A line or file that cannot be read as what it should be.",
        "a line of a JSON Lines file that breaks off",
        "Mend the line that the message names, or save the file again as UTF-8 text. A whole house file that is no TOML raises `HouseFileError` with line and column."
    }
}

/// One fault of an input.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "house-file", derive(serde::Serialize))]
pub struct Issue {
    /// The sort of fault.
    pub code: IssueCode,
    /// The field with its path, as in `surfaces[1].layers[2].r`.
    pub field: String,
    /// The value as given; empty when nothing was given.
    pub value: String,
    /// What is wrong and what is allowed, in a sentence without a full stop.
    pub reason: String,
}

impl Issue {
    /// A fault of a field.
    pub fn new(
        code: IssueCode,
        field: impl Into<String>,
        value: impl Into<String>,
        reason: impl Into<String>,
    ) -> Self {
        Self { code, field: clip(field.into()), value: clip(value.into()), reason: reason.into() }
    }

    /// The same fault one level further in: `surfaces[1]` before `fuel_price`.
    #[must_use]
    pub fn within(mut self, outer: &str) -> Self {
        self.field = match (outer.is_empty(), self.field.is_empty()) {
            (true, _) => self.field,
            (false, true) => outer.to_owned(),
            (false, false) => format!("{outer}.{}", self.field),
        };
        self
    }
}

/// Long values are cut: a message is for reading.
fn clip(value: String) -> String {
    const MOST: usize = 60;
    if value.chars().count() <= MOST {
        return value;
    }
    let mut cut: String = value.chars().take(MOST).collect();
    cut.push('…');
    cut
}

impl fmt::Display for Issue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.field.is_empty() {
            f.write_str(&printable(&self.field))?;
            if !self.value.is_empty() {
                write!(f, " = {}", printable(&self.value))?;
            }
            f.write_str(": ")?;
        }
        f.write_str(&self.reason)
    }
}

/// Control characters would garble a terminal.
fn printable(value: &str) -> String {
    value.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect()
}

/// Everything that is wrong with one house, all at once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InputError {
    /// The faults, in the order in which they were met; never empty.
    pub issues: Vec<Issue>,
}

impl InputError {
    /// A single fault.
    pub fn one(issue: Issue) -> Self {
        Self { issues: vec![issue] }
    }
}

impl fmt::Display for InputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const MOST: usize = 100;
        for (i, issue) in self.issues.iter().take(MOST).enumerate() {
            if i > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{issue}")?;
        }
        match self.issues.len().saturating_sub(MOST) {
            0 => Ok(()),
            more => write!(f, "\nand {more} more faults"),
        }
    }
}

impl std::error::Error for InputError {}

impl From<Issue> for InputError {
    fn from(issue: Issue) -> Self {
        Self::one(issue)
    }
}

/// The known name nearest to a wrong one, when it is near enough to be what was meant.
pub(crate) fn nearest<'n>(wrong: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let length = wrong.chars().count();
    known
        // A distance is at least the difference in length; a very long name is not worth the work.
        .filter(|name| length.abs_diff(name.chars().count()) <= 1 + name.len().max(wrong.len()) / 4)
        .map(|name| (strsim::damerau_levenshtein(wrong, name), name))
        .filter(|(distance, name)| *distance <= 1 + name.len().max(wrong.len()) / 4)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// At most six significant digits, no trailing zeros: for ranges and defaults.
pub(crate) fn short(value: f64) -> String {
    let rounded: f64 = format!("{value:.5e}").parse().unwrap_or(value);
    format!("{rounded}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_name_is_offered_only_when_near() {
        let known = ["fuel_price", "fuel", "wall_area_ft2"];
        assert_eq!(nearest("feul_price", known.into_iter()), Some("fuel_price"));
        assert_eq!(nearest("colour_of_door", known.into_iter()), None);
    }

    #[test]
    fn a_path_grows_from_the_inside_out() {
        let issue = Issue::new(IssueCode::OutOfRange, "r", "-1", "allowed is 0 to 60");
        let issue = issue.within("layers[2]").within("surfaces[1]");
        assert_eq!(issue.to_string(), "surfaces[1].layers[2].r = -1: allowed is 0 to 60");
    }
}
