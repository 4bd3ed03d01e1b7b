//! An option as a user states it.

use crate::error::{Issue, IssueCode, nearest};
use crate::house::{Cell, Field};
use crate::tables::{ACCESS, ACCESS_KEYS, Access};

/// Options that one comparison may have.
pub const MOST_OPTIONS: usize = 50;
/// Characters that the name of an option may have.
const MOST_NAME: usize = 100;
/// No price is larger in any currency.
const MOST_MONEY: f64 = 1e15;

/// What is done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Work {
    /// Nothing.
    Nothing,
    /// The cavity is filled, over the batt where there is one; an attic floor is blown over.
    #[default]
    TopUp,
    /// The batt is taken out and the whole cavity filled.
    RemoveAndFill,
}

impl Work {
    /// Every kind of work.
    pub const ALL: [Self; 3] = [Self::Nothing, Self::TopUp, Self::RemoveAndFill];
    const KEYS: [&'static str; 3] = ["nothing", "top_up", "remove_and_fill"];

    /// The word that a user writes.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::TopUp => "top_up",
            Self::RemoveAndFill => "remove_and_fill",
        }
    }
}

/// Fields that describe the work and not the house: what an option may change.
pub(super) const WORK_FIELDS: [Field; 20] = [
    Field::FillDensity,
    Field::FillR,
    Field::BattCompression,
    Field::Missed,
    Field::FillDepth,
    Field::Settling,
    Field::Cfm50After,
    Field::InstalledCost,
    Field::Rebate,
    Field::TaxCreditFraction,
    Field::TaxCreditCap,
    Field::FillEmbodied,
    Field::BagWeight,
    Field::KnobAndTube,
    Field::Vermiculite,
    Field::MoistureProblem,
    Field::LooseInteriorFinish,
    Field::SpillageTest,
    Field::HeatSources,
    Field::YearBuilt,
];

/// A value that an option keeps.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Kept {
    Number(f64),
    Text(String),
    Bool(bool),
}

impl Kept {
    fn new(cell: Cell<'_>) -> Option<Self> {
        match cell {
            Cell::Number(number) => Some(Self::Number(number)),
            Cell::Text(text) if text.trim().is_empty() => None,
            Cell::Text(text) => Some(Self::Text(text.to_owned())),
            Cell::Bool(value) => Some(Self::Bool(value)),
            Cell::Blank => None,
        }
    }

    pub(super) fn cell(&self) -> Cell<'_> {
        match self {
            Self::Number(number) => Cell::Number(*number),
            Self::Text(text) => Cell::Text(text),
            Self::Bool(value) => Cell::Bool(*value),
        }
    }
}

/// An option: its name, what is done, and what differs from the house.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OptionSpec {
    /// Its name; several options need names that differ.
    pub name: String,
    /// What is done.
    pub work: Work,
    /// Names of the surfaces that are treated; `None` for all. A surface without a name is called
    /// by its place, counted from 1.
    pub surfaces: Option<Vec<String>>,
    /// How the fibre gets in.
    pub access: Option<&'static Access>,
    /// Drilling and making good.
    pub repair_cost: Option<f64>,
    /// Taking the batt out.
    pub removal_cost: Option<f64>,
    /// Other fields of the work, under the names that were written.
    pub(super) fields: Vec<(String, Kept)>,
}

impl OptionSpec {
    /// An option of this name.
    pub fn new(name: impl Into<String>, work: Work) -> Self {
        Self { name: name.into(), work, ..Self::default() }
    }

    /// The same for these surfaces only, by name or by place counted from 1.
    #[must_use]
    pub fn on<N: Into<String>>(mut self, surfaces: impl IntoIterator<Item = N>) -> Self {
        self.surfaces = Some(surfaces.into_iter().map(Into::into).collect());
        self
    }

    /// The same with one more value, as [`Self::give`] takes it.
    ///
    /// # Errors
    /// An [`Issue`] that names the value and what is allowed.
    pub fn with(mut self, name: &str, cell: Cell<'_>) -> Result<Self, Issue> {
        self.give(name, cell)?;
        Ok(self)
    }

    /// Takes a value in: `name`, `work`, `access`, `repair_cost`, `removal_cost`, or a field of the
    /// work by its name in either unit system. Whether the number is in range is found when the
    /// option is put to a house.
    ///
    /// # Errors
    /// An [`Issue`] that names the value and what is allowed.
    pub fn give(&mut self, name: &str, cell: Cell<'_>) -> Result<(), Issue> {
        if Kept::new(cell).is_none() {
            return Ok(());
        }
        match name {
            "name" => self.name = text(name, cell)?,
            "work" => {
                let written = text(name, cell)?;
                let known = Work::KEYS.iter().position(|key| *key == written);
                self.work = *known
                    .and_then(|place| Work::ALL.get(place))
                    .ok_or_else(|| not_a_choice(name, &written, &Work::KEYS))?;
            }
            "access" => {
                let written = text(name, cell)?;
                let known = ACCESS.iter().find(|access| access.key == written);
                self.access = Some(known.ok_or_else(|| not_a_choice(name, &written, ACCESS_KEYS))?);
            }
            "repair_cost" => self.repair_cost = Some(amount(name, cell)?),
            "removal_cost" => self.removal_cost = Some(amount(name, cell)?),
            _ => match Field::from_name(name) {
                Some((field, _)) if WORK_FIELDS.contains(&field) => {
                    if self.gives(field) {
                        let reason = "given twice";
                        return Err(Issue::new(IssueCode::GivenTwice, name, cell.shown(), reason));
                    }
                    if field == Field::InstalledCost {
                        amount(name, cell)?;
                    }
                    self.fields.extend(Kept::new(cell).map(|kept| (name.to_owned(), kept)));
                }
                Some(_) => {
                    let reason = "is of the house and not of the work: an option cannot change it, \
                                  or its figures could not be compared";
                    return Err(Issue::new(IssueCode::Misplaced, name, cell.shown(), reason));
                }
                None => return Err(unknown(name, cell)),
            },
        }
        Ok(())
    }

    /// Whether the option gives this field.
    pub(super) fn gives(&self, field: Field) -> bool {
        self.fields.iter().any(|(name, _)| Field::from_name(name).is_some_and(|(f, _)| f == field))
    }

    /// The price of the whole of it, where the option states one.
    pub(super) fn stated_price(&self) -> Option<f64> {
        let name = Field::InstalledCost.def().ip;
        self.fields.iter().find(|(known, _)| known == name).and_then(|(_, kept)| match kept {
            Kept::Number(cost) => Some(*cost),
            Kept::Text(text) => text.trim().parse().ok(),
            Kept::Bool(_) => None,
        })
    }

    /// Reads an option from a table of named values.
    ///
    /// # Errors
    /// Every fault, each under its name in the option.
    #[cfg(feature = "house-file")]
    pub fn from_raw(raw: &crate::house::Raw) -> Result<Self, Vec<Issue>> {
        use crate::house::Raw;
        let wrong = |key: &str, wanted: &str| {
            Issue::new(IssueCode::WrongType, key, "", format!("must be {wanted}"))
        };
        let Raw::Table(table) = raw else {
            return Err(vec![wrong("", "a table of named values")]);
        };
        let mut option = Self::default();
        let mut issues = Vec::new();
        let mut seen: Vec<&str> = Vec::new();
        for (key, value) in table {
            if seen.contains(&key.as_str()) {
                issues.push(Issue::new(IssueCode::GivenTwice, key, "", "given twice"));
                continue;
            }
            seen.push(key);
            let cell = match value {
                Raw::Null => Cell::Blank,
                Raw::Bool(value) => Cell::Bool(*value),
                Raw::Number(number) => Cell::Number(*number),
                Raw::Text(text) => Cell::Text(text),
                Raw::List(items) if key == "surfaces" => {
                    let names = items.iter().map(|item| match item {
                        Raw::Text(name) => Some(name.trim().to_owned()),
                        Raw::Number(place) => Some(format!("{place}")),
                        _ => None,
                    });
                    match names.collect() {
                        Some(names) => option.surfaces = Some(names),
                        None => issues.push(wrong(key, "a list of names of surfaces")),
                    }
                    continue;
                }
                Raw::List(_) | Raw::Table(_) | Raw::Other(_) => {
                    issues.push(wrong(key, "a single value"));
                    continue;
                }
            };
            if key == "surfaces" {
                match cell {
                    Cell::Text(name) => option.surfaces = Some(vec![name.trim().to_owned()]),
                    Cell::Blank => {}
                    _ => issues.push(wrong(key, "a list of names of surfaces")),
                }
                continue;
            }
            issues.extend(option.give(key, cell).err());
        }
        if option.name.is_empty() && !issues.iter().any(|issue| issue.field == "name") {
            let reason = format!("must be given: 1 to {MOST_NAME} characters");
            issues.push(Issue::new(IssueCode::Missing, "name", "", reason));
        }
        if issues.is_empty() { Ok(option) } else { Err(issues) }
    }
}

fn text(name: &str, cell: Cell<'_>) -> Result<String, Issue> {
    let Cell::Text(text) = cell else {
        return Err(Issue::new(IssueCode::NotText, name, cell.shown(), "must be text"));
    };
    let text = text.trim();
    if text.chars().count() > MOST_NAME {
        let reason = format!("allowed is 1 to {MOST_NAME} characters");
        return Err(Issue::new(IssueCode::OutOfRange, name, text, reason));
    }
    Ok(text.to_owned())
}

fn amount(name: &str, cell: Cell<'_>) -> Result<f64, Issue> {
    let number = match cell {
        Cell::Number(number) => Some(number),
        Cell::Text(text) => text.trim().parse().ok(),
        Cell::Bool(_) | Cell::Blank => None,
    };
    let fault = |code, reason| Err(Issue::new(code, name, cell.shown(), reason));
    match number.filter(|number| number.is_finite()) {
        None => fault(IssueCode::NotANumber, "is not a number; allowed is 0 or more"),
        Some(number) if !(0.0..=MOST_MONEY).contains(&number) => {
            fault(IssueCode::OutOfRange, "allowed is 0 or more")
        }
        Some(number) => Ok(number),
    }
}

fn not_a_choice(name: &str, written: &str, keys: &[&'static str]) -> Issue {
    let hint = nearest(written, keys.iter().copied())
        .map(|near| format!("; is {near} meant?"))
        .unwrap_or_default();
    let reason = format!("must be one of {}{hint}", keys.join(", "));
    Issue::new(IssueCode::NotAChoice, name, written, reason)
}

fn unknown(name: &str, cell: Cell<'_>) -> Issue {
    let own = ["name", "work", "surfaces", "access", "repair_cost", "removal_cost"];
    let fields =
        WORK_FIELDS.iter().flat_map(|field| std::iter::once(field.def().ip).chain(field.def().si));
    let hint = nearest(name, own.into_iter().chain(fields))
        .map(|near| format!("; is {near} meant?"))
        .unwrap_or_default();
    let reason = format!("an option has no value of this name{hint}");
    Issue::new(IssueCode::UnknownName, name, cell.shown(), reason)
}

/// The options that a house document states, in their order; none where it has no `options`.
///
/// # Errors
/// [`InputError`](crate::error::InputError) with every fault of every option under its path.
#[cfg(feature = "house-file")]
pub fn stated(raw: &crate::house::Raw) -> Result<Vec<OptionSpec>, crate::error::InputError> {
    crate::house::beside(raw, crate::house::OPTIONS, OptionSpec::from_raw)
}
