//! A house with sliders: what runs inside the page, and what fills it before it is shown.

use super::sliders::{Slider, sliders};
use super::speech::Speech;
use super::view::{View, view};
use super::words::Words;
use crate::choices::OptionSpec;
use crate::error::{InputError, Issue, IssueCode};
use crate::house::{Field, House, HouseFileError, Raw, SURFACES, assess};
use crate::units::UnitSystem;
use serde::{Deserialize, Serialize};

/// What a live page begins with, as the page carries it.
#[derive(Debug, Serialize, Deserialize)]
pub(crate) struct Beginning {
    /// A JSON house file.
    pub(crate) house: String,
    /// The options that the survey states, as a house file lists them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) options: Option<Raw>,
    /// `ip` or `si`.
    pub(crate) units: String,
    /// The label in front of amounts.
    pub(crate) currency: String,
    /// The words of the page.
    pub(crate) words: String,
}

/// A house with sliders, in the words, units and currency of its page.
#[cfg_attr(not(feature = "page"), expect(dead_code, reason = "the page around it reads the house"))]
#[derive(Debug)]
pub struct Live {
    speech: Speech,
    file: Raw,
    house: House,
    sliders: Vec<Slider>,
    /// The options that the survey states.
    stated: Option<Raw>,
    /// What can be done with the house as surveyed: what is stated, or what is usual.
    specs: Vec<OptionSpec>,
}

fn refused(reason: String) -> HouseFileError {
    HouseFileError::Unreadable { reason }
}

impl Live {
    /// A house to be moved, with the list of options that its file states, if it does.
    ///
    /// # Errors
    /// [`HouseFileError`] for options that are none; also where the house cannot be written as a house file and read again, a defect of this crate.
    pub fn new(
        house: &House,
        stated: Option<&Raw>,
        words: Words,
        units: UnitSystem,
        currency: &str,
    ) -> Result<Self, HouseFileError> {
        let speech = Speech { words, units, currency: currency.to_owned() };
        Self::of(speech, &house.to_json(), stated.cloned())
    }

    fn of(speech: Speech, json: &str, stated: Option<Raw>) -> Result<Self, HouseFileError> {
        let file: Raw = serde_json::from_str(json).map_err(|error| refused(error.to_string()))?;
        let house = House::from_raw(&file)?;
        let sliders = sliders(&speech, &house);
        let specs = super::options::specs(&house, stated.as_ref())?;
        Ok(Self { speech, file, house, sliders, stated, specs })
    }

    /// A house to be moved, from what the page carries.
    ///
    /// # Errors
    /// [`HouseFileError`] where it is not what a page carries.
    pub fn from_page(json: &str) -> Result<Self, HouseFileError> {
        let beginning: Beginning =
            serde_json::from_str(json).map_err(|error| refused(error.to_string()))?;
        let units = UnitSystem::from_key(&beginning.units)
            .ok_or_else(|| refused("units are ip or si".to_owned()))?;
        let words = Words::parse(&beginning.words).map_err(|error| refused(error.0))?;
        let speech = Speech { words, units, currency: beginning.currency };
        Self::of(speech, &beginning.house, beginning.options)
    }

    /// The house with its sliders at these stops; a slider without one stays as surveyed.
    ///
    /// # Errors
    /// [`InputError`] where the moved fields do not fit together.
    pub fn moved(&self, at: &[usize]) -> Result<House, InputError> {
        let mut file = self.file.clone();
        for (slider, stop) in self.sliders.iter().zip(at) {
            if let (Raw::Table(table), Some(value)) = (&mut file, slider.stops.get(*stop))
                && *stop != slider.start
            {
                set(table, slider, *value);
            }
        }
        // No rebate is larger than the price: it is held to it.
        if let Raw::Table(table) = &mut file {
            hold_rebate(table);
        }
        House::from_raw(&file).map_err(|error| match error {
            HouseFileError::Input(error) => error,
            other => InputError {
                issues: vec![Issue::new(IssueCode::Conflict, "", "", other.to_string())],
            },
        })
    }

    /// The options that the survey states, as a house file lists them.
    #[cfg_attr(not(feature = "page"), expect(dead_code, reason = "for the page around it"))]
    pub(crate) fn stated(&self) -> Option<&Raw> {
        self.stated.as_ref()
    }

    pub(crate) fn view(&self, at: &[usize]) -> Result<View, InputError> {
        Ok(view(&self.speech, &self.moved(at)?, &self.specs, &self.sliders, at))
    }

    /// What the page shows with its sliders at these stops (a JSON list of whole numbers), as JSON: texts, lists, drawings, parts; or
    /// `{"error": ...}` where the moved fields do not fit together.
    pub fn show(&self, at: &str) -> String {
        let answer = serde_json::from_str::<Vec<usize>>(at)
            .map_err(|error| error.to_string())
            .and_then(|at| self.view(&at).map_err(|error| error.to_string()))
            .and_then(|view| serde_json::to_string(&view).map_err(|error| error.to_string()));
        answer.unwrap_or_else(|error| serde_json::json!({ "error": error }).to_string())
    }

    #[cfg(feature = "page")]
    pub(crate) fn speech(&self) -> &Speech {
        &self.speech
    }

    #[cfg(feature = "page")]
    pub(crate) fn house(&self) -> &House {
        &self.house
    }

    #[cfg(feature = "page")]
    pub(crate) fn specs(&self) -> &[OptionSpec] {
        &self.specs
    }

    #[cfg(any(test, feature = "page"))]
    pub(crate) fn sliders(&self) -> &[Slider] {
        &self.sliders
    }
}

/// The results of a JSON house file in inch-pound units, as JSON under their names, every number with all its digits; or `{"error": ...}`.
pub fn figures(json: &str) -> String {
    let answer = House::from_json(json).map_err(|error| error.to_string()).and_then(|house| {
        let results: std::collections::BTreeMap<_, _> =
            assess(&house).results(UnitSystem::Ip).collect();
        serde_json::to_string(&results).map_err(|error| error.to_string())
    });
    answer.unwrap_or_else(|error| serde_json::json!({ "error": error }).to_string())
}

type Table = Vec<(String, Raw)>;

/// Gives a field of the table a value, whatever name it had.
fn give(table: &mut Table, field: Field, value: f64) {
    let def = field.def();
    table.retain(|(name, _)| name != def.ip && Some(name.as_str()) != def.si);
    table.push((def.ip.to_owned(), Raw::Number(value)));
}

fn set(table: &mut Table, slider: &Slider, value: f64) {
    let Some(place) = slider.surface else {
        give(table, slider.field, value);
        return;
    };
    let surfaces = table.iter_mut().find(|(name, _)| name == SURFACES);
    if let Some((_, Raw::List(surfaces))) = surfaces
        && let Some(Raw::Table(surface)) = surfaces.get_mut(place)
    {
        give(surface, slider.field, value);
    }
}

fn hold_rebate(table: &mut Table) {
    let number = |table: &Table, field: Field| {
        table.iter().find_map(|(name, value)| match value {
            Raw::Number(number) if name == field.def().ip => Some(*number),
            _ => None,
        })
    };
    if let (Some(cost), Some(rebate)) =
        (number(table, Field::InstalledCost), number(table, Field::Rebate))
        && rebate > cost
    {
        give(table, Field::Rebate, cost);
    }
}
