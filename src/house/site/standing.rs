//! How each point of the walk stands once every look is counted.

use super::clearance::{Clearance, Place};
use super::question::{QUESTIONS, Question, Reach};
use super::role::{Requirement, Role};
use crate::house::{Field, House, SurfaceKind};
use crate::readiness::{Answer, FindingSet};
use chrono::NaiveDate;

/// How a question stands for one surface, or for the house.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// What is asked.
    pub question: Question,
    /// Of which surface, by its place in the list; `None` is the house as a whole.
    pub surface: Option<usize>,
    /// What the house file answers without the looks.
    pub said: Answer,
    /// Whether that answer was not given but taken, as where only walls are filled.
    pub taken: bool,
    /// How it stands once the looks are counted.
    pub answer: Answer,
    /// Who must still clear it, one role of each group.
    pub needed: Vec<&'static [Role]>,
    /// The looks that were counted, by their places in the list, oldest first.
    pub looks: Vec<usize>,
}

impl Standing {
    /// Whether looks have cleared what stood in the way.
    pub fn cleared(&self) -> bool {
        self.answer == Answer::No && !self.looks.is_empty()
    }
}

/// Every question of every surface it has a sense for, in the order of the walk: for the house, then
/// surface by surface.
pub(crate) fn standings(house: &House, looks: &[Clearance]) -> Vec<Standing> {
    let surfaces = house.surfaces();
    let mut all = Vec::new();
    for place in std::iter::once(None).chain((0..surfaces.len()).map(Some)) {
        for def in QUESTIONS {
            let surface = place.and_then(|index| surfaces.get(index));
            if let Some(said) = def.question.said(house, surface) {
                all.push(stand(house, looks, def.question, place, said));
            }
        }
    }
    all
}

fn stand(
    house: &House,
    looks: &[Clearance],
    question: Question,
    surface: Option<usize>,
    said: Answer,
) -> Standing {
    let def = question.def();
    let counts = |look: &Clearance| {
        look.question == question
            && match (look.place, surface) {
                (Place::All, _) => true,
                (Place::Surface(index), Some(here)) => {
                    index == here || (def.reach == Reach::Crosses && look.answer == Answer::Yes)
                }
                (Place::Surface(_), None) => false,
            }
    };
    let mut order: Vec<usize> =
        (0..looks.len()).filter(|index| looks.get(*index).is_some_and(counts)).collect();
    // On one day a repair comes before the look at it, whatever the order in the file.
    let groups = def.requirement(Answer::Yes).groups;
    let rank = |look: &Clearance| {
        let group = |role| groups.iter().position(|group| group.contains(&role));
        (look.date, look.cleared_by.and_then(group))
    };
    order.sort_by_key(|index| looks.get(*index).map(rank));

    let mut state = State::new(question, said);
    for look in order.iter().filter_map(|index| looks.get(*index)) {
        state.count(look);
    }
    let taken = question == Question::HeatSources
        && !house.was_given(Field::HeatSources)
        && house.surfaces().iter().all(|surface| surface.kind() == SurfaceKind::Wall);
    Standing {
        question,
        surface,
        said,
        taken,
        answer: state.answer,
        needed: state.needed(),
        looks: order,
    }
}

/// What has been cleared of a requirement.
struct Met {
    requirement: Requirement,
    days: Vec<Option<NaiveDate>>,
}

impl Met {
    fn new(requirement: Requirement) -> Self {
        Self { requirement, days: vec![None; requirement.groups.len()] }
    }

    fn count(&mut self, role: Role, day: NaiveDate) {
        for (place, group) in self.requirement.groups.iter().enumerate() {
            let earlier_open = self.days.iter().take(place).any(Option::is_none);
            if group.contains(&role)
                && !(self.requirement.in_order && earlier_open)
                && let Some(slot) = self.days.get_mut(place)
            {
                slot.get_or_insert(day);
            }
        }
    }

    fn all(&self) -> bool {
        !self.days.is_empty() && self.days.iter().all(Option::is_some)
    }

    fn needed(&self) -> Vec<&'static [Role]> {
        let open =
            |(group, day): (&&'static [Role], &Option<NaiveDate>)| day.is_none().then_some(*group);
        self.requirement.groups.iter().zip(&self.days).filter_map(open).collect()
    }
}

struct State {
    question: Question,
    answer: Answer,
    yes: Met,
    unknown: Met,
}

impl State {
    fn new(question: Question, answer: Answer) -> Self {
        let def = question.def();
        Self {
            question,
            answer,
            yes: Met::new(def.requirement(Answer::Yes)),
            unknown: Met::new(def.requirement(Answer::Unknown)),
        }
    }

    fn count(&mut self, look: &Clearance) {
        match look.answer {
            Answer::Yes => *self = Self::new(self.question, Answer::Yes),
            // Who could not tell does not lift what another has found.
            Answer::Unknown if self.answer == Answer::Yes => {}
            Answer::Unknown => *self = Self::new(self.question, Answer::Unknown),
            Answer::No => {
                let Some(role) = look.cleared_by else { return };
                self.yes.count(role, look.date);
                self.unknown.count(role, look.date);
                let cleared = match self.answer {
                    Answer::Yes => self.yes.all(),
                    Answer::Unknown => self.unknown.all() || self.yes.all(),
                    Answer::No => true,
                };
                if cleared {
                    self.answer = Answer::No;
                }
            }
        }
    }

    fn needed(&self) -> Vec<&'static [Role]> {
        match self.answer {
            Answer::No => Vec::new(),
            Answer::Yes => self.yes.needed(),
            Answer::Unknown => self.unknown.needed(),
        }
    }
}

/// The findings that the looks take away from the assessment, and those that they add.
pub(crate) fn changes(house: &House, looks: &[Clearance]) -> (FindingSet, FindingSet) {
    let (mut before, mut after) = (FindingSet::default(), FindingSet::default());
    for standing in standings(house, looks) {
        let [yes, unknown] = standing.question.def().findings();
        for (answer, set) in [(standing.said, &mut before), (standing.answer, &mut after)] {
            match answer {
                Answer::Yes => yes.into_iter().for_each(|finding| set.add(finding)),
                Answer::Unknown => unknown.into_iter().for_each(|finding| set.add(finding)),
                Answer::No => {}
            }
        }
    }
    (before.without(after), after.without(before))
}
