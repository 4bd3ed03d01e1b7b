//! Why rows were rejected, so that they can be counted.

use crate::error::IssueCode;

/// The first fault of a rejected row: its field and the sort of fault.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Reason {
    /// The field; empty where the fault is not one of a field.
    pub field: String,
    /// The code of the fault, as in [`IssueCode::as_str`]; empty where it has none.
    pub code: &'static str,
}

/// How the reasons of a flat row's faults begin. The longer before what it begins with.
const BEGINNINGS: &[(&str, IssueCode)] = &[
    ("must be given", IssueCode::Missing),
    ("must be text", IssueCode::NotText),
    ("must be ", IssueCode::NotAChoice),
    ("must not exceed", IssueCode::OutOfRange),
    ("allowed is", IssueCode::OutOfRange),
    ("is not a number", IssueCode::NotANumber),
    ("is not a finite number", IssueCode::NotANumber),
    ("given twice", IssueCode::GivenTwice),
    ("give ", IssueCode::GivenTwice),
    ("metal framing", IssueCode::Refused),
    ("fibre ", IssueCode::Refused),
    ("is for ", IssueCode::Misplaced),
    ("belongs ", IssueCode::Misplaced),
];

impl Reason {
    /// Reads the first fault of a text of faults, as in `fuel = gas: must be one of …`.
    pub fn of(faults: &str) -> Self {
        let end = [" = ", ": "].iter().filter_map(|mark| faults.find(mark)).min();
        // A name has no blanks: anything else is a sentence about the row.
        let Some(field) = end.map(|end| &faults[..end]).filter(|field| !field.contains(' ')) else {
            return Self { field: String::new(), code: "" };
        };
        // The value may hold anything: the reason begins at the first beginning that is known.
        let rest = &faults[field.len()..];
        let code = rest
            .match_indices(": ")
            .find_map(|(place, mark)| {
                let reason = &rest[place + mark.len()..];
                BEGINNINGS.iter().find(|(beginning, _)| reason.starts_with(beginning))
            })
            .map_or("", |(_, code)| code.as_str());
        Self { field: field.to_owned(), code }
    }

    /// The reason that none is given for.
    pub(crate) const fn unknown() -> Self {
        Self { field: String::new(), code: "" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::{Cell, House, samples::any_row};
    use proptest::prelude::*;

    #[test]
    fn the_first_fault_is_told_by_field_and_code() {
        let of = |text| {
            let Reason { field, code } = Reason::of(text);
            (field, code)
        };
        let text =
            "fuel = natral_gas: must be one of natural_gas; is natural_gas meant?; rebate: x";
        assert_eq!(of(text), ("fuel".to_owned(), "not_a_choice"));
        let text = "rebate = =A1: allowed is: allowed is 0 or more";
        assert_eq!(of(text), ("rebate".to_owned(), "out_of_range"));
        assert_eq!(of("the row has 3 cells, the table 5"), (String::new(), ""));
        assert_eq!(of(""), (String::new(), ""));
    }

    proptest! {
        #[test]
        fn every_fault_of_a_row_keeps_its_code(row in any_row()) {
            let mut house = House::builder();
            for (name, text) in &row {
                house.give(name, Cell::Text(text));
            }
            if let Err(error) = house.build() {
                for issue in error.issues {
                    let reason = Reason::of(&issue.to_string());
                    prop_assert_eq!(reason.field, issue.field.clone());
                    prop_assert_eq!(reason.code, issue.code.as_str(), "{}", issue);
                }
            }
        }
    }
}
