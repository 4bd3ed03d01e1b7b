//! The walk through the house: every question of every surface, how it stands, and who may clear it.
//!
//! It repeats what was answered and recorded. It has seen nothing and certifies nothing.

pub(crate) mod document;
mod record;
mod words;

pub use record::{Entry, recorded};
pub use words::Reader;

use crate::house::{Clearance, House, Question, Standing, assess};
use crate::readiness::{Answer, Readiness, Weight};

/// A question of a surface, or of the house, and how it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// How it stands.
    pub standing: Standing,
    /// What the surface is called; `the house` for the house as a whole.
    pub label: String,
    /// How much it weighs as it stands; `None` where nothing is in the way.
    pub weight: Option<Weight>,
}

impl Point {
    /// What is asked.
    pub fn question(&self) -> Question {
        self.standing.question
    }
}

/// The walk through a house.
#[derive(Clone, Debug, PartialEq)]
pub struct Walk {
    /// The house.
    pub house_id: String,
    /// Every point: of the house, then surface by surface.
    pub points: Vec<Point>,
    /// The looks that are recorded.
    pub looks: Vec<Clearance>,
    /// The gravest point, never less grave than the assessment.
    pub readiness: Readiness,
    /// Readiness of the assessment.
    pub assessed: Readiness,
}

/// What a point without a surface is about.
pub(crate) const WHOLE: &str = "the house";

/// Walks through a house.
pub fn walk(house: &House) -> Walk {
    let points: Vec<Point> = house
        .standings()
        .into_iter()
        .map(|standing| {
            let label =
                standing.surface.map_or(WHOLE.to_owned(), |index| house.surface_label(index));
            let weight = standing.question.def().weight(standing.answer);
            Point { standing, label, weight }
        })
        .collect();
    let gravest = match points.iter().filter_map(|point| point.weight).max() {
        Some(Weight::Hold) => Readiness::Hold,
        Some(Weight::Check) => Readiness::Check,
        Some(Weight::Note) | None => Readiness::Clear,
    };
    let assessed = assess(house).readiness();
    Walk {
        house_id: house.house_id().to_owned(),
        points,
        looks: house.clearances().to_vec(),
        readiness: gravest.max(assessed),
        assessed,
    }
}

impl Walk {
    /// The points of one weight.
    pub fn of_weight(&self, weight: Weight) -> impl Iterator<Item = &Point> {
        self.points.iter().filter(move |point| point.weight == Some(weight))
    }

    /// How a surface stands by itself, by its place in the list; what holds the house holds it too.
    pub fn surface_readiness(&self, index: usize) -> Readiness {
        let here = |point: &&Point| point.standing.surface.is_none_or(|place| place == index);
        match self.points.iter().filter(here).filter_map(|point| point.weight).max() {
            Some(Weight::Hold) => Readiness::Hold,
            Some(Weight::Check) => Readiness::Check,
            Some(Weight::Note) | None => Readiness::Clear,
        }
    }

    /// Points whose answer is not known.
    pub fn unknown(&self) -> usize {
        self.points.iter().filter(|point| point.standing.answer == Answer::Unknown).count()
    }
}
