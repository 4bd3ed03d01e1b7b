//! Ranges as house files and keyword arguments write them.

use super::document::Raw;
use super::ranges::GivenRange;
use super::record::Cell;
use crate::distribution::{self, Distribution, NoDistribution};
use crate::error::{Issue, IssueCode, nearest};

/// What stands under `ranges`.
pub(super) const RANGES_ARE: &str = "a table of field names, each with its range";

/// What a range may be written as.
const RANGE_FORMS: &str = "must be [low, high], [low, likely, high], or a table such as \
    { distribution = \"normal\", mean = 3.6, sd = 0.4 }";

/// Names in the table of a range: those of the distribution, and whom it moves with.
const RANGE_NAMES: [&str; 11] = [
    "distribution",
    "low",
    "likely",
    "high",
    "mean",
    "sd",
    "median",
    "gsd",
    "values",
    "weights",
    "moves_with",
];
const MOVES_WITH: &str = "moves_with";
const MOVES_AGAINST: &str = "moves_against";

/// A list of two or three numbers, or a table.
pub(super) fn range(raw: &Raw) -> Result<GivenRange, Vec<Issue>> {
    let one = |issue: Issue| vec![issue];
    match raw {
        Raw::List(items) => {
            let numbers = numbers("", items)?;
            let made = match numbers.as_slice() {
                [low, high] => Distribution::uniform(*low, *high),
                [low, likely, high] => Distribution::triangular(*low, *likely, *high),
                other => {
                    let count = other.len();
                    let value = format!("{count} number{}", if count == 1 { "" } else { "s" });
                    return Err(one(Issue::new(IssueCode::WrongType, "", value, RANGE_FORMS)));
                }
            };
            let shown = numbers.iter().map(f64::to_string).collect::<Vec<_>>().join(", ");
            Ok(made.map_err(|error| one(no_distribution(&error, shown)))?.into())
        }
        Raw::Table(table) => named_range(table),
        other => {
            let reason = format!("{RANGE_FORMS}; this is {}", other.sort());
            Err(one(Issue::new(IssueCode::WrongType, "", "", reason)))
        }
    }
}

fn no_distribution(error: &NoDistribution, shown: impl Into<String>) -> Issue {
    Issue::new(IssueCode::OutOfRange, "", shown, error.reason.clone())
}

/// Numbers of a list; text that is a number is one.
fn numbers(key: &str, items: &[Raw]) -> Result<Vec<f64>, Vec<Issue>> {
    items
        .iter()
        .map(|item| {
            number(item).ok_or_else(|| {
                let shown = item.cell().map_or_else(|| item.sort().to_owned(), Cell::shown);
                vec![Issue::new(IssueCode::NotANumber, key, shown, "is not a number")]
            })
        })
        .collect()
}

fn number(raw: &Raw) -> Option<f64> {
    match raw {
        Raw::Number(number) => Some(*number),
        Raw::Text(text) => text.trim().parse().ok(),
        _ => None,
    }
}

/// The entries of a range's table.
#[derive(Default)]
struct Parts<'r> {
    name: Option<&'r str>,
    numbers: Vec<(&'r str, f64)>,
    values: Option<Vec<f64>>,
    weights: Option<Vec<f64>>,
    moves: Option<(String, bool)>,
}

impl Parts<'_> {
    fn take(&self, key: &str) -> Option<f64> {
        self.numbers.iter().find(|(known, _)| *known == key).map(|(_, number)| *number)
    }

    /// The parameters that a distribution has to have.
    fn needed<const N: usize>(&self, keys: [&'static str; N]) -> Result<[f64; N], Issue> {
        let mut found = [0.0; N];
        for (slot, key) in found.iter_mut().zip(keys) {
            *slot = self.take(key).ok_or_else(|| {
                let reason = format!("must be given for a {} distribution", self.kind());
                Issue::new(IssueCode::Missing, key, "", reason)
            })?;
        }
        Ok(found)
    }

    /// The distribution's name: as given, or by the numbers that are there.
    fn kind(&self) -> &str {
        self.name.unwrap_or(match (self.take("likely"), &self.values) {
            (_, Some(_)) => "discrete",
            (Some(_), _) => "triangular",
            _ => "uniform",
        })
    }

    fn allowed(&self) -> &'static [&'static str] {
        match self.kind() {
            "triangular" => &["low", "likely", "high"],
            "normal" => &["mean", "sd", "low", "high"],
            "lognormal" => &["median", "gsd", "low", "high"],
            "discrete" => &[],
            _ => &["low", "high"],
        }
    }

    fn shown(&self) -> String {
        let numbers = self.numbers.iter().map(|(key, number)| format!("{key} = {number}"));
        numbers.collect::<Vec<_>>().join(", ")
    }
}

fn named_range(table: &[(String, Raw)]) -> Result<GivenRange, Vec<Issue>> {
    let mut parts = Parts::default();
    let mut issues = Vec::new();
    for (key, raw) in table {
        match (key.as_str(), raw) {
            (_, Raw::Null) => {}
            ("distribution", Raw::Text(name)) => match distribution::NAMES
                .into_iter()
                .find(|known| known.eq_ignore_ascii_case(name.trim()))
            {
                Some(known) => parts.name = Some(known),
                None => {
                    let hint = nearest(name.trim(), distribution::NAMES.into_iter())
                        .map(|near| format!("; is {near} meant?"))
                        .unwrap_or_default();
                    let list = distribution::NAMES.join(", ");
                    let reason = format!("must be one of {list}{hint}");
                    issues.push(Issue::new(IssueCode::NotAChoice, key, name, reason));
                }
            },
            (MOVES_WITH | MOVES_AGAINST, Raw::Text(other)) => {
                parts.moves = Some((other.trim().to_owned(), key == MOVES_AGAINST));
            }
            ("values" | "weights", Raw::List(items)) => match numbers(key, items) {
                Ok(list) if key == "values" => parts.values = Some(list),
                Ok(list) => parts.weights = Some(list),
                Err(faults) => issues.extend(faults),
            },
            (known, raw) if RANGE_NAMES.contains(&known) || known == MOVES_AGAINST => {
                match number(raw) {
                    Some(number)
                        if !["distribution", "values", "weights", MOVES_WITH, MOVES_AGAINST]
                            .contains(&known) =>
                    {
                        parts.numbers.push((known, number));
                    }
                    _ => {
                        let shown = raw.cell().map_or_else(|| raw.sort().to_owned(), Cell::shown);
                        let wanted = match known {
                            "distribution" | MOVES_WITH | MOVES_AGAINST => "must be text",
                            "values" | "weights" => "must be a list of numbers",
                            _ => "is not a number",
                        };
                        issues.push(Issue::new(IssueCode::WrongType, known, shown, wanted));
                    }
                }
            }
            (unknown, _) => {
                let names = RANGE_NAMES.into_iter().chain([MOVES_AGAINST]);
                let hint = nearest(unknown, names).map(|near| format!("; is {near} meant?"));
                let reason = format!("a range has no such part{}", hint.unwrap_or_default());
                issues.push(Issue::new(IssueCode::UnknownName, unknown, "", reason));
            }
        }
    }
    if !issues.is_empty() {
        return Err(issues);
    }
    let kind = parts.kind().to_owned();
    for (key, number) in &parts.numbers {
        if !parts.allowed().contains(key) {
            let reason = format!("is no part of a {kind} distribution");
            issues.push(Issue::new(IssueCode::Misplaced, *key, number.to_string(), reason));
        }
    }
    if !issues.is_empty() {
        return Err(issues);
    }
    let one = |issue: Issue| vec![issue];
    let (low, high) = (parts.take("low"), parts.take("high"));
    let made = match kind.as_str() {
        "triangular" => {
            let [low, likely, high] = parts.needed(["low", "likely", "high"]).map_err(one)?;
            Distribution::triangular(low, likely, high)
        }
        "normal" => {
            let [mean, sd] = parts.needed(["mean", "sd"]).map_err(one)?;
            Distribution::normal(mean, sd, low, high)
        }
        "lognormal" => {
            let [median, gsd] = parts.needed(["median", "gsd"]).map_err(one)?;
            Distribution::lognormal(median, gsd, low, high)
        }
        "discrete" => {
            let values = parts.values.clone().unwrap_or_default();
            Distribution::discrete(&values, parts.weights.as_deref())
        }
        _ => {
            let [low, high] = parts.needed(["low", "high"]).map_err(one)?;
            Distribution::uniform(low, high)
        }
    };
    let distribution = made.map_err(|error| one(no_distribution(&error, parts.shown())))?;
    Ok(GivenRange { distribution, moves: parts.moves })
}
