//! May the work start? Hazards, findings, and who may clear each.
//!
//! People can be hurt: fibre packed round live knob-and-tube wiring can start a fire. A finding
//! never certifies anything; local code and licensed practice decide.

use crate::numeric::Num;
use crate::source::{Citation, Mark};

/// Whether fibre may be blown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Readiness {
    /// Nothing that was asked about stands in the way.
    Clear,
    /// Someone must look before the work starts.
    Check,
    /// The work must not start until this is cleared.
    Hold,
}

impl Readiness {
    /// `clear`, `check` or `hold`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Clear => "clear",
            Self::Check => "check",
            Self::Hold => "hold",
        }
    }
}

/// An answer to a question about the house.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Answer {
    /// It is not so.
    No,
    /// It is so.
    Yes,
    /// Nobody has looked.
    #[default]
    Unknown,
}

/// The combustion-safety test of natural-draught appliances after tightening.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SpillageTest {
    /// No such appliance.
    #[default]
    NoneNeeded,
    /// Tested, draws well.
    Passed,
    /// Tested, spills.
    Failed,
    /// There is such an appliance and nobody has tested it.
    NotDone,
}

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Worth knowing when reading the figures.
    Note,
    /// Someone must look.
    Check,
    /// The work must not start.
    Hold,
}

impl Weight {
    /// `note`, `check` or `hold`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Check => "check",
            Self::Hold => "hold",
        }
    }
}

/// What a finding says.
#[derive(Clone, Copy, Debug)]
pub struct FindingDef {
    /// The finding.
    pub finding: Finding,
    /// Its code, stable for programs.
    pub code: &'static str,
    /// How much it weighs.
    pub weight: Weight,
    /// What was found and why it matters.
    pub reason: &'static str,
    /// Who may clear it; empty for a note that nobody need clear.
    pub cleared_by: &'static str,
    /// Where the rule comes from.
    pub citation: Option<Citation>,
}

macro_rules! findings {
    ($($finding:ident { $code:literal, $weight:ident, $reason:literal, $cleared_by:literal, $citation:expr })*) => {
        /// Something that the reader of an assessment must know.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[repr(u8)]
        pub enum Finding {
            $(
                #[doc = $reason]
                $finding,
            )*
        }

        /// Every finding, the gravest first.
        pub static FINDINGS: &[FindingDef] = &[
            $(FindingDef {
                finding: Finding::$finding,
                code: $code,
                weight: Weight::$weight,
                reason: $reason,
                cleared_by: $cleared_by,
                citation: $citation,
            },)*
        ];
    };
}

#[expect(clippy::unnecessary_wraps, reason = "beside it stands `None`")]
const fn cite(source: &'static str, locator: &'static str, mark: Mark) -> Option<Citation> {
    Some(Citation::new(source, locator, mark))
}

findings! {
    KnobAndTube { "knob_and_tube", Hold,
        "There is knob-and-tube wiring where the fill would go: buried in fibre it cannot shed its heat and can start a fire",
        "a licensed electrician, who replaces or disconnects it, and the local code official",
        cite("nfpa_70", "394.12(5)", Mark::SecondHand) }
    Vermiculite { "vermiculite", Hold,
        "There is vermiculite: treat it as asbestos and do not disturb it",
        "a licensed asbestos professional",
        cite("epa_vermiculite", "", Mark::SecondHand) }
    MoistureProblem { "moisture_problem", Hold,
        "There is a water problem: a wet wall must be mended and dry before it is filled",
        "a contractor who finds and stops the water, and a second look once it is dry",
        cite("gov_weatherization_spec", "water problems first", Mark::Seen) }
    LooseInteriorFinish { "loose_interior_finish", Hold,
        "The interior finish is loose or weak: packing can blow it into the room",
        "a contractor who fastens or replaces it",
        cite("state_field_guide", "interior surfaces before blowing", Mark::SecondHand) }
    SpillageFailed { "spillage_failed", Hold,
        "A combustion appliance failed its draught and spillage test: carbon monoxide can reach the rooms",
        "a licensed heating contractor, and a passed test afterwards",
        cite("building_analyst_standard", "draught and carbon monoxide after tightening", Mark::SecondHand) }
    KnobAndTubeUnknown { "knob_and_tube_unknown", Check,
        "Nobody has looked for knob-and-tube wiring",
        "a licensed electrician",
        cite("nfpa_70", "394.12(5)", Mark::SecondHand) }
    VermiculiteUnknown { "vermiculite_unknown", Check,
        "Nobody has looked for vermiculite",
        "someone trained to recognise it, without disturbing it",
        cite("epa_vermiculite", "", Mark::SecondHand) }
    MoistureUnknown { "moisture_unknown", Check,
        "Nobody has looked for leaks, damp or rot",
        "a trained surveyor",
        cite("gov_weatherization_spec", "water problems first", Mark::Seen) }
    InteriorFinishUnknown { "interior_finish_unknown", Check,
        "Nobody has checked that the interior finish can bear the packing",
        "a trained surveyor",
        cite("state_field_guide", "interior surfaces before blowing", Mark::SecondHand) }
    SpillageNotDone { "spillage_not_done", Check,
        "A natural-draught appliance must be tested for draught and carbon monoxide the day the house is tightened",
        "a trained combustion-safety tester",
        cite("building_analyst_standard", "draught and carbon monoxide after tightening", Mark::SecondHand) }
    LeadSafeWork { "lead_safe_work", Check,
        "The house was built before 1978: cutting painted surfaces is lead-safe work",
        "a certified renovation firm",
        cite("epa_rrp_40cfr745", "745.83", Mark::SecondHand) }
    HeatSources { "heat_sources", Check,
        "There are recessed lights or flues where the fill would go: they need clearance or a barrier",
        "a licensed electrician for the lights, the local code official for flues and chimneys",
        cite("nfpa_70", "410.116(B); also IRC R1003.18", Mark::SecondHand) }
    HeatSourcesUnknown { "heat_sources_unknown", Check,
        "Nobody has looked for recessed lights or flues where the fill would go",
        "a trained surveyor",
        cite("nfpa_70", "410.116(B); also IRC R1003.18", Mark::SecondHand) }
    FillDensityLow { "fill_density_low", Check,
        "The fill is packed under 3.5 lb/ft3, the usual minimum for dense-packed cellulose: it may settle",
        "the crew leader, by the chart on the bag",
        cite("gov_weatherization_spec", "dense-packed cellulose", Mark::Seen) }
    NoSaving { "no_saving", Note,
        "The fill saves nothing here, so there is no payback",
        "", None }
    SavedShareHigh { "saved_share_high", Note,
        "The saving is above 40 % of what the bills say heating used: look at area, batt and efficiency again",
        "", cite("common_practice", "", Mark::Practice) }
    HeldToBills { "held_to_bills", Note,
        "The model saves more fuel than the bills say heating used, so the saving is held to the bills",
        "", cite("derived", "method, energy", Mark::Derived) }
    PaybackBeyondLife { "payback_beyond_life", Note,
        "The cost does not come back within the years counted",
        "", None }
    LeakageTestIncomplete { "leakage_test_incomplete", Note,
        "Only one leakage test is given: no credit for air without both",
        "", None }
    LeakageRose { "leakage_rose", Note,
        "The house leaks more after the work than before: find out why",
        "", None }
    YearBuiltUnknown { "year_built_unknown", Note,
        "The year built is not given: take painted surfaces for lead paint until it is known to be 1978 or later",
        "", cite("epa_rrp_40cfr745", "745.83", Mark::SecondHand) }
    CoolingNotCounted { "cooling_not_counted", Note,
        "Cooling degree-days are given but no efficiency of the cooling, so no cooling is counted",
        "", None }
}

impl Finding {
    /// What the finding says.
    pub fn def(self) -> &'static FindingDef {
        &FINDINGS[self as usize]
    }

    /// Its place in a set of flags.
    pub(crate) const fn flag(self) -> u32 {
        1 << self as u8
    }

    /// Its code.
    pub fn code(self) -> &'static str {
        self.def().code
    }
}

/// A set of findings, gravest first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct FindingSet(u32);

impl FindingSet {
    pub(crate) const fn from_flags(flags: u32) -> Self {
        Self(flags)
    }

    #[cfg(feature = "house-file")]
    pub(crate) const fn add(&mut self, finding: Finding) {
        self.0 |= finding.flag();
    }

    /// The flags as they are.
    #[cfg(feature = "arrow")]
    pub(crate) const fn flags(self) -> u32 {
        self.0
    }

    /// Whether the finding is in the set.
    pub const fn contains(self, finding: Finding) -> bool {
        self.0 & finding.flag() != 0
    }

    /// The findings that another set does not have.
    #[must_use]
    pub const fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// The findings of both sets.
    #[must_use]
    pub const fn with(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// The findings, gravest first.
    pub fn iter(self) -> impl Iterator<Item = Finding> {
        let mut left = self.0;
        std::iter::from_fn(move || {
            let def = FINDINGS.get(left.trailing_zeros() as usize)?;
            left &= left - 1;
            Some(def.finding)
        })
    }

    /// The codes with `;` between them.
    pub fn codes(self) -> String {
        let mut codes = String::with_capacity(24 * self.0.count_ones() as usize);
        for finding in self.iter() {
            if !codes.is_empty() {
                codes.push(';');
            }
            codes.push_str(finding.code());
        }
        codes
    }

    /// The gravest finding decides: it is the first.
    pub fn readiness(self) -> Readiness {
        match self.iter().next().map(|finding| finding.def().weight) {
            Some(Weight::Hold) => Readiness::Hold,
            Some(Weight::Check) => Readiness::Check,
            Some(Weight::Note) | None => Readiness::Clear,
        }
    }
}

/// What was answered about hazards.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Hazards {
    /// Knob-and-tube wiring where the fill would go.
    pub knob_and_tube: Answer,
    /// Vermiculite.
    pub vermiculite: Answer,
    /// Leaks, damp or rot.
    pub moisture_problem: Answer,
    /// Loose or weak interior finish.
    pub loose_interior_finish: Answer,
    /// Draught and spillage test.
    pub spillage_test: SpillageTest,
    /// Recessed lights or flues where the fill would go.
    pub heat_sources: Answer,
    /// Year built.
    pub year_built: Option<u16>,
}

/// The answers as numbers, of one house or of several side by side: the place of each word in its
/// list, and the year, NaN where it is not known.
#[derive(Clone, Copy, Debug)]
pub(crate) struct HazardCodes<N> {
    pub(crate) knob_and_tube: N,
    pub(crate) vermiculite: N,
    pub(crate) moisture_problem: N,
    pub(crate) loose_interior_finish: N,
    pub(crate) heat_sources: N,
    pub(crate) spillage_test: N,
    pub(crate) year_built: N,
}

/// Whether an answer is a certain word.
#[inline(always)]
fn is<N: Num>(code: N, word: u8) -> N::Mask {
    let word = code.like(f64::from(word));
    code.at_most(word) & word.at_most(code)
}

#[inline(always)]
fn answer<N: Num>(code: N, yes: Finding, unknown: Finding) -> N::Flags {
    raise::<N>(is(code, Answer::Yes as u8), yes)
        | raise::<N>(is(code, Answer::Unknown as u8), unknown)
}

/// A finding where it holds. Functions and not closures: a closure may be left out of line, where
/// vectors do not reach.
#[inline(always)]
pub(crate) fn raise<N: Num>(holds: N::Mask, finding: Finding) -> N::Flags {
    N::flags(holds, finding.flag())
}

impl<N: Num> HazardCodes<N> {
    /// The findings that the answers give rise to, as flags.
    #[inline(always)]
    pub(crate) fn findings(&self) -> N::Flags {
        let spillage = self.spillage_test;
        let year = self.year_built;
        let lead_year = year.like(crate::tables::LEAD_YEAR.value);
        answer(self.knob_and_tube, Finding::KnobAndTube, Finding::KnobAndTubeUnknown)
            | answer(self.vermiculite, Finding::Vermiculite, Finding::VermiculiteUnknown)
            | answer(self.moisture_problem, Finding::MoistureProblem, Finding::MoistureUnknown)
            | answer(
                self.loose_interior_finish,
                Finding::LooseInteriorFinish,
                Finding::InteriorFinishUnknown,
            )
            | answer(self.heat_sources, Finding::HeatSources, Finding::HeatSourcesUnknown)
            | raise::<N>(is(spillage, SpillageTest::Failed as u8), Finding::SpillageFailed)
            | raise::<N>(is(spillage, SpillageTest::NotDone as u8), Finding::SpillageNotDone)
            | raise::<N>(year.less(lead_year), Finding::LeadSafeWork)
            | raise::<N>(!year.at_most(year), Finding::YearBuiltUnknown)
    }
}

impl Hazards {
    #[inline]
    pub(crate) fn codes(&self) -> HazardCodes<f64> {
        let answer = |answer: Answer| f64::from(answer as u8);
        HazardCodes {
            knob_and_tube: answer(self.knob_and_tube),
            vermiculite: answer(self.vermiculite),
            moisture_problem: answer(self.moisture_problem),
            loose_interior_finish: answer(self.loose_interior_finish),
            heat_sources: answer(self.heat_sources),
            spillage_test: f64::from(self.spillage_test as u8),
            year_built: self.year_built.map_or(f64::NAN, f64::from),
        }
    }

    /// The findings that the answers give rise to.
    #[inline]
    pub fn findings(&self) -> FindingSet {
        FindingSet(self.codes().findings())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn findings_are_in_order_of_weight_and_complete() {
        let mut last = Weight::Hold;
        for (index, def) in FINDINGS.iter().enumerate() {
            assert_eq!(def.finding as usize, index);
            assert!(def.weight <= last, "{} stands too low", def.code);
            last = def.weight;
            assert_eq!(def.cleared_by.is_empty(), def.weight == Weight::Note, "{}", def.code);
        }
    }

    #[test]
    fn unknown_is_never_silently_fine() {
        let findings = Hazards::default().findings();
        assert_eq!(findings.readiness(), Readiness::Check);
        assert!(findings.contains(Finding::KnobAndTubeUnknown));
    }
}
