//! The user's own rates: every one named with its unit, none made up.

use crate::error::{InputError, Issue, IssueCode};
use crate::house::form::{Convert, Form, MOST_MONEY, NumberDef};
use crate::house::{HouseFileError, Raw, parse_toml};
use crate::jobsheet::Production;
use crate::tables::{Constant, HOURS_PER_DAY_DEFAULT};
use crate::units::Quantity;
use crate::units::factor::{M_PER_FT, M2_PER_FT2};
use std::path::Path;

/// A file of rates larger than this is not one.
const MOST_BYTES: u64 = 1 << 20;

/// The definition of a rate.
#[derive(Clone, Copy, Debug)]
pub struct RateDef {
    /// The rate.
    pub rate: Rate,
    pub(crate) number: NumberDef,
    /// What it means.
    pub help: &'static str,
    /// What is taken where it is not given; `None`: nothing is.
    pub default: Option<&'static Constant>,
}

impl RateDef {
    /// Its name, with the inch-pound unit where it has one.
    pub fn name(&self) -> &'static str {
        self.number.ip
    }

    /// Its name with the SI unit.
    pub fn name_si(&self) -> Option<&'static str> {
        self.number.si.map(|(name, _)| name)
    }

    /// What is allowed, inch-pound.
    pub fn range(&self) -> String {
        self.number.range(crate::units::UnitSystem::Ip)
    }
}

macro_rules! rates {
    ($($rate:ident { $number:expr, $help:literal, $default:expr })*) => {
        /// A rate of the user's own.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        #[repr(u8)]
        pub enum Rate {
            $(
                #[doc = $help]
                $rate,
            )*
        }

        /// Every rate, in the order in which they are asked.
        pub static RATES: &[RateDef] = &[
            $(RateDef { rate: Rate::$rate, number: $number, help: $help, default: $default },)*
        ];

        const COUNT: usize = [$(Rate::$rate),*].len();
    };
}

const fn money(name: &'static str) -> NumberDef {
    NumberDef::new(name, 0.0, MOST_MONEY)
}

rates! {
    CrewSize { NumberDef::new("crew_size_people", 1.0, 50.0),
        "People on the job.", None }
    Wage { money("wage_per_person_hour"),
        "What an hour of one of them costs, with what is paid on top of the wage.", None }
    HoursPerDay { NumberDef::new("hours_per_day", 1.0, 24.0),
        "Hours of a working day.", Some(&HOURS_PER_DAY_DEFAULT) }
    PackedPerDay { NumberDef::new("packed_ft2_per_crew_day", 10.0, 100_000.0)
            .si("packed_m2_per_crew_day", Convert::By(Quantity::Area)),
        "Net area of walls, slopes and floors that the crew opens, packs and closes in a day.", None }
    AtticPerDay { NumberDef::new("attic_ft2_per_crew_day", 10.0, 100_000.0)
            .si("attic_m2_per_crew_day", Convert::By(Quantity::Area)),
        "Area of open attic floor that the crew blows in a day.", None }
    SetupDays { NumberDef::new("setup_days_per_job", 0.0, 30.0),
        "Days of each job that no area explains: setting up, clearing up.", None }
    Machine { money("machine_per_day"),
        "Machine, hoses and lorry for a day.", None }
    Bag { money("fibre_per_bag"),
        "A bag of fibre, delivered.", None }
    Plug { money("plug_per_piece"),
        "A plug for an opening.", None }
    Course { money("course_off_and_on_per_ft")
            .si("course_off_and_on_per_m", Convert::Times(M_PER_FT)),
        "A foot of a course of cladding taken off and put back, beyond the crew's days.", None }
    Repaint { money("repaint_per_ft").si("repaint_per_m", Convert::Times(M_PER_FT)),
        "A foot of course with its nail holes filled and painted.", None }
    DrillOutside { money("outside_hole_per_piece"),
        "An opening drilled, patched and painted from outside, beyond the crew's days.", None }
    FromInside { money("inside_hole_per_piece"),
        "An opening drilled, patched and painted from inside, beyond the crew's days.", None }
    AccessByArea { money("access_and_repair_per_ft2")
            .si("access_and_repair_per_m2", Convert::Times(M2_PER_FT2)),
        "Getting in and making good for a square foot of net area: used where the openings are not \
         counted.", None }
    Fixed { money("fixed_per_job"),
        "What each job costs whatever its size: travel, permit, waste.", None }
    Tests { money("tests_per_job"),
        "Tests and scans before and after.", None }
    Overhead { NumberDef::new("overhead_fraction", 0.0, 3.0),
        "Overhead as a share of labour, material, access and fixed cost.", None }
    Margin { NumberDef::new("margin_fraction", 0.0, 0.9),
        "Margin as a share of the price.", None }
}

/// Rates, each given or not.
#[derive(Clone, Debug, PartialEq)]
pub struct Rates {
    given: [Option<f64>; COUNT],
}

/// A rate that is used, and where it comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Used {
    /// The rate.
    pub rate: Rate,
    /// Its value, inch-pound.
    pub value: f64,
    /// The constant that stands in where it was not given.
    pub default: Option<&'static str>,
}

impl Rate {
    /// Its definition.
    pub fn def(self) -> &'static RateDef {
        &RATES[self as usize]
    }
}

impl Rates {
    /// Reads a table of rates.
    ///
    /// # Errors
    /// [`InputError`] with every fault: a name that no rate has, a number below nothing.
    pub fn from_raw(raw: &Raw) -> Result<Self, InputError> {
        let mut form = Form::new(raw);
        let mut given = [None; COUNT];
        for (slot, def) in given.iter_mut().zip(RATES) {
            *slot = form.number(&def.number);
        }
        let (issues, _) = form.finish(true);
        if issues.is_empty() { Ok(Self { given }) } else { Err(InputError { issues }) }
    }

    /// Reads TOML text.
    ///
    /// # Errors
    /// [`HouseFileError`] with the place of a syntax error, or every fault.
    pub fn from_toml(text: &str) -> Result<Self, HouseFileError> {
        Ok(Self::from_raw(&parse_toml(text)?)?)
    }

    /// Reads a file that ends in `.toml`.
    ///
    /// # Errors
    /// As for [`Self::from_toml`], and for a file that cannot be read.
    pub fn from_file(path: impl AsRef<Path>) -> Result<Self, HouseFileError> {
        let path = path.as_ref();
        let io = |source| HouseFileError::Io { path: path.to_owned(), source };
        let unreadable = |reason: &str| HouseFileError::Unreadable { reason: reason.to_owned() };
        if std::fs::metadata(path).map_err(io)?.len() > MOST_BYTES {
            return Err(unreadable("too large for a file of rates"));
        }
        let bytes = std::fs::read(path).map_err(io)?;
        let text = String::from_utf8(bytes).map_err(|_| unreadable("not UTF-8 text"))?;
        Self::from_toml(text.strip_prefix('\u{feff}').unwrap_or(&text))
    }

    /// The rate, or its default.
    pub fn get(&self, rate: Rate) -> Option<Used> {
        let def = rate.def();
        match (self.given.get(rate as usize).copied().flatten(), def.default) {
            (Some(value), _) => Some(Used { rate, value, default: None }),
            (None, Some(constant)) => Some(Used {
                rate,
                value: constant.value,
                default: Some(constant.citation.mark.words()),
            }),
            (None, None) => None,
        }
    }

    /// The rate, or the fault that it is missing, with what it is needed for.
    pub(crate) fn need(&self, rate: Rate, why: &str, issues: &mut Vec<Issue>) -> Option<Used> {
        let found = self.get(rate);
        let def = rate.def();
        if found.is_none() && !issues.iter().any(|issue| issue.field == def.name()) {
            let also = def.name_si().map(|si| format!(" (or {si})")).unwrap_or_default();
            let reason = format!("must be given{also}, {why}: {}", def.range());
            issues.push(Issue::new(IssueCode::Missing, def.name(), "", reason));
        }
        found
    }

    /// What the crew does in a day.
    pub fn production(&self) -> Production {
        let value = |rate| self.get(rate).map(|used| used.value);
        Production {
            packed_ft2_per_day: value(Rate::PackedPerDay),
            attic_ft2_per_day: value(Rate::AtticPerDay),
            setup_days: value(Rate::SetupDays).unwrap_or(0.0),
        }
    }
}
