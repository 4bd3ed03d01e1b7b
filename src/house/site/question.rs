//! What is asked on a walk through the house, of each surface or of the house as a whole.

use super::role::{Requirement, Role, requirement};
use crate::house::{Fill, House, LayerBody, Series, Surface, SurfaceKind};
use crate::readiness::{Answer, Finding, SpillageTest, Weight};
use crate::source::{Citation, Mark};
use crate::tables::{LEAD_YEAR, MATERIALS, MIN_FILL_DENSITY, Role as Place};

/// How far an answer reaches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// The surface it was given for.
    Surface,
    /// A yes anywhere counts for every surface: what was found in one runs on into the others.
    Crosses,
    /// The house as a whole.
    House,
}

/// A point that is asked on the walk only, and is no finding of an assessment.
#[derive(Clone, Copy, Debug)]
pub struct SitePoint {
    /// What a yes means.
    pub yes: &'static str,
    /// What not knowing means.
    pub unknown: &'static str,
    /// Who may clear it, in words.
    pub cleared_by: &'static str,
    /// Who may clear it.
    pub requirement: Requirement,
    /// Where the rule comes from.
    pub citation: Citation,
}

/// What a question gives rise to.
#[derive(Clone, Copy, Debug)]
pub enum Raises {
    /// Findings of the assessment: for a yes, and for an answer that is not known.
    Findings(Finding, Option<Finding>),
    /// A point of the walk.
    Point(&'static SitePoint),
}

/// The definition of a question.
#[derive(Clone, Copy, Debug)]
pub struct QuestionDef {
    /// The question.
    pub question: Question,
    /// Its code, stable for programs and house files.
    pub code: &'static str,
    /// What it is about, in a word or two.
    pub topic: &'static str,
    /// The question in words.
    pub asks: &'static str,
    /// How far a yes reaches.
    pub reach: Reach,
    /// What it gives rise to.
    pub raises: Raises,
}

macro_rules! questions {
    ($($question:ident { $code:literal, $topic:literal, $asks:literal, $reach:ident, $raises:expr })*) => {
        /// A question of the walk.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        #[repr(u8)]
        pub enum Question {
            $(
                #[doc = $asks]
                $question,
            )*
        }

        /// Every question, in the order of the walk.
        pub static QUESTIONS: &[QuestionDef] = &[
            $(QuestionDef {
                question: Question::$question,
                code: $code,
                topic: $topic,
                asks: $asks,
                reach: Reach::$reach,
                raises: $raises,
            },)*
        ];
    };
}

use Raises::{Findings, Point};

questions! {
    KnobAndTube { "knob_and_tube", "knob-and-tube wiring",
        "Is there knob-and-tube wiring in it, or may it cross it?", Crosses,
        Findings(Finding::KnobAndTube, Some(Finding::KnobAndTubeUnknown)) }
    Vermiculite { "vermiculite", "vermiculite",
        "Is there vermiculite in it, or above it so that it may have run in?", Crosses,
        Findings(Finding::Vermiculite, Some(Finding::VermiculiteUnknown)) }
    Moisture { "moisture_problem", "water",
        "Are there leaks, damp, stains, rot or peeling paint?", Surface,
        Findings(Finding::MoistureProblem, Some(Finding::MoistureUnknown)) }
    InteriorFinish { "loose_interior_finish", "interior finish",
        "Is the interior finish loose, cracked through or weak?", Surface,
        Findings(Finding::LooseInteriorFinish, Some(Finding::InteriorFinishUnknown)) }
    HeatSources { "recessed_lights_or_flues", "recessed lights and flues",
        "Are there recessed lights, flues or chimneys where the fill would go?", Surface,
        Findings(Finding::HeatSources, Some(Finding::HeatSourcesUnknown)) }
    FillDensity { "fill_density", "fill density",
        "Is it to be packed under the usual minimum density?", Surface,
        Findings(Finding::FillDensityLow, None) }
    OpenCavity { "open_cavity", "open cavities",
        "Is any cavity open above or below, as in a balloon frame, or into a chase or cupboard?", Surface,
        Point(&OPEN_CAVITY) }
    AsbestosCladding { "asbestos_cladding", "asbestos-cement cladding",
        "May the cladding be asbestos cement?", Surface, Point(&ASBESTOS_CLADDING) }
    ThinFinish { "thin_interior_finish", "thin interior finish",
        "Is the interior finish thinner than 1/2 in. gypsum board, or thin panelling?", Surface,
        Point(&THIN_FINISH) }
    Spillage { "spillage_test", "draught and spillage test",
        "Does every appliance that draws its air from the house pass its draught and spillage test?", House,
        Findings(Finding::SpillageFailed, Some(Finding::SpillageNotDone)) }
    LeadPaint { "lead_safe_work", "lead-safe work",
        "Was the house built before 1978, so that cutting painted surfaces is lead-safe work?", House,
        Findings(Finding::LeadSafeWork, Some(Finding::YearBuiltUnknown)) }
}

static OPEN_CAVITY: SitePoint = SitePoint {
    yes: "Cavities are open above or below: fire and fibre both run through, so they are blocked or \
          stopped before they are filled",
    unknown: "Nobody has looked whether the cavities are closed above and below",
    cleared_by: "the crew leader, once stops are in; the local code official says which stops fire",
    requirement: Requirement {
        groups: &[&[Role::CrewLeader, Role::LocalCodeOfficial]],
        in_order: false,
    },
    citation: Citation::new("common_practice", "", Mark::Practice),
};

static ASBESTOS_CLADDING: SitePoint = SitePoint {
    yes: "The cladding is asbestos cement: not to be drilled, cut or broken without the rules for \
          asbestos",
    unknown: "The cladding is not named: rule out asbestos cement before it is drilled or taken off",
    cleared_by: "a licensed asbestos professional; a trained surveyor where it is plainly something \
                 else",
    requirement: Requirement {
        groups: &[&[Role::LicensedAsbestosProfessional, Role::TrainedSurveyor]],
        in_order: false,
    },
    citation: Citation::new("common_practice", "", Mark::Practice),
};

static THIN_FINISH: SitePoint = SitePoint {
    yes: "The interior finish is thin: it can bulge or blow out while the cavity is packed",
    unknown: "The interior finish is not named: thin board or panelling can blow out while the \
              cavity is packed",
    cleared_by: "the crew leader, who braces it or packs with less pressure and watches the room",
    requirement: Requirement {
        groups: &[&[Role::CrewLeader, Role::FinishContractor]],
        in_order: false,
    },
    citation: Citation::new(
        "state_field_guide",
        "interior surfaces before blowing",
        Mark::SecondHand,
    ),
};

/// Finishes that can give way (state field guide, seen quoted: gypsum board under 1/2 in., thin
/// panelling).
const THIN: [&str; 2] = ["gypsum_board_3_8in", "wood_panelling_1_4in"];

impl Question {
    /// Its definition.
    pub fn def(self) -> &'static QuestionDef {
        &QUESTIONS[self as usize]
    }

    /// The question of a code: its own, or that of one of its findings.
    pub(crate) fn from_code(code: &str) -> Option<Self> {
        QUESTIONS
            .iter()
            .find(|def| {
                def.code == code || def.findings().into_iter().flatten().any(|f| f.code() == code)
            })
            .map(|def| def.question)
    }

    /// What the house file says of a surface, or of the house; `None` where the question has no
    /// sense.
    pub(crate) fn said(self, house: &House, surface: Option<&Surface>) -> Option<Answer> {
        let hazards = house.hazards();
        let Some(surface) = surface else {
            return match self {
                Self::Spillage => Some(match hazards.spillage_test {
                    SpillageTest::Failed => Answer::Yes,
                    SpillageTest::NotDone => Answer::Unknown,
                    SpillageTest::Passed | SpillageTest::NoneNeeded => Answer::No,
                }),
                Self::LeadPaint => Some(match hazards.year_built {
                    None => Answer::Unknown,
                    Some(year) if f64::from(year) < LEAD_YEAR.value => Answer::Yes,
                    Some(_) => Answer::No,
                }),
                _ => None,
            };
        };
        let packed = matches!(surface.fill(), Fill::Packed(_));
        match self {
            Self::KnobAndTube => Some(hazards.knob_and_tube),
            Self::Vermiculite => Some(hazards.vermiculite),
            Self::Moisture => Some(hazards.moisture_problem),
            Self::InteriorFinish => Some(hazards.loose_interior_finish),
            Self::HeatSources => Some(hazards.heat_sources),
            Self::FillDensity => match surface.fill() {
                Fill::Packed(fill) if fill.density.ip() < MIN_FILL_DENSITY.value => {
                    Some(Answer::Yes)
                }
                _ => None,
            },
            Self::OpenCavity => packed.then_some(Answer::Unknown),
            Self::AsbestosCladding => (surface.kind() == SurfaceKind::Wall)
                .then(|| of_material(surface, Place::Cladding, &["asbestos_cement_shingle"])),
            Self::ThinFinish => packed.then(|| of_material(surface, Place::InteriorFinish, &THIN)),
            Self::Spillage | Self::LeadPaint => None,
        }
    }
}

/// Whether the surface has one of these materials at a place; unknown where nothing there is named.
fn of_material(surface: &Surface, place: Place, keys: &[&str]) -> Answer {
    let mut named = false;
    let mut found = false;
    let mut look = |material: &'static crate::tables::Material| {
        named |= material.role == place;
        found |= keys.contains(&material.key);
    };
    match surface.series() {
        Series::Total(_) => {}
        Series::Materials(places) => {
            places.iter().flatten().filter_map(|place| MATERIALS.get(*place)).for_each(&mut look);
        }
        Series::Layers(layers) => {
            for layer in layers {
                if let LayerBody::Material(material) = layer.body {
                    look(material);
                }
            }
        }
    }
    match (found, named) {
        (true, _) => Answer::Yes,
        (false, true) => Answer::No,
        (false, false) => Answer::Unknown,
    }
}

impl QuestionDef {
    /// The findings for a yes and for an answer that is not known.
    pub fn findings(&self) -> [Option<Finding>; 2] {
        match self.raises {
            Raises::Findings(yes, unknown) => [Some(yes), unknown],
            Raises::Point(_) => [None, None],
        }
    }

    fn finding(&self, answer: Answer) -> Option<Finding> {
        let [yes, unknown] = self.findings();
        match answer {
            Answer::Yes => yes,
            Answer::Unknown => unknown,
            Answer::No => None,
        }
    }

    /// What clearing it takes while the answer stands as it does.
    pub fn requirement(&self, answer: Answer) -> Requirement {
        match (self.raises, self.finding(answer)) {
            (Raises::Point(point), _) => point.requirement,
            (_, Some(finding)) => requirement(finding),
            (_, None) => Requirement { groups: &[], in_order: false },
        }
    }

    /// How much an answer weighs; nobody having looked is never less than a check.
    pub fn weight(&self, answer: Answer) -> Option<Weight> {
        match answer {
            Answer::No => None,
            Answer::Yes | Answer::Unknown => Some(match self.finding(answer) {
                Some(finding) => finding.def().weight.max(Weight::Check),
                None => Weight::Check,
            }),
        }
    }

    /// What an answer means and why it matters; empty where nothing stands in the way.
    pub fn reason(&self, answer: Answer) -> &'static str {
        match (self.raises, answer, self.finding(answer)) {
            (_, Answer::No, _) => "",
            (Raises::Point(point), Answer::Yes, _) => point.yes,
            (Raises::Point(point), Answer::Unknown, _) => point.unknown,
            (_, _, Some(finding)) => finding.def().reason,
            (_, _, None) => "Nobody has looked",
        }
    }

    /// Who may clear it, in words.
    pub fn cleared_by(&self, answer: Answer) -> &'static str {
        match (self.raises, self.finding(answer)) {
            (_, None) if answer == Answer::No => "",
            (Raises::Point(point), _) => point.cleared_by,
            // A note names nobody; a painted house of unknown age is taken for an old one.
            (_, Some(Finding::YearBuiltUnknown)) => Finding::LeadSafeWork.def().cleared_by,
            (_, Some(finding)) => finding.def().cleared_by,
            (_, None) => "",
        }
    }

    /// Where the rule comes from.
    pub fn citation(&self, answer: Answer) -> Option<Citation> {
        match self.raises {
            Raises::Point(point) => Some(point.citation),
            Raises::Findings(yes, _) => self.finding(answer).unwrap_or(yes).def().citation,
        }
    }

    /// Every role that may clear it, whatever the answer is now.
    pub(crate) fn roles(&self) -> Vec<Role> {
        let mut roles: Vec<Role> = Vec::new();
        for answer in [Answer::Yes, Answer::Unknown] {
            for role in self.requirement(answer).groups.iter().flat_map(|group| group.iter()) {
                if !roles.contains(role) {
                    roles.push(*role);
                }
            }
        }
        roles
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn questions_are_in_their_places_and_have_their_own_codes() {
        for (place, def) in QUESTIONS.iter().enumerate() {
            assert_eq!(def.question as usize, place);
            assert_eq!(Question::from_code(def.code), Some(def.question));
            assert!(!def.roles().is_empty(), "{} can never be cleared", def.code);
            for answer in [Answer::Yes, Answer::Unknown] {
                // Fill density is known; nothing else may be left without a word.
                if def.question != Question::FillDensity || answer == Answer::Yes {
                    assert!(!def.reason(answer).is_empty() && !def.cleared_by(answer).is_empty());
                    assert!(def.citation(answer).is_some(), "{}", def.code);
                }
            }
        }
    }
}
