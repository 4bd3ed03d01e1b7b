//! What the evidence gives rise to, and what to look at.

use crate::readiness::Weight;
use crate::source::{Citation, Mark};

/// What a finding of the evidence says.
#[derive(Clone, Copy, Debug)]
pub struct ProofDef {
    /// The finding.
    pub finding: ProofFinding,
    /// Its code, stable for programs.
    pub code: &'static str,
    /// A hold: do not work until it is mended. A check: someone must look.
    pub weight: Weight,
    /// What was found and why it matters.
    pub reason: &'static str,
    /// What to look at, or to do.
    pub look: &'static str,
    /// Where the rule comes from.
    pub citation: Option<Citation>,
}

macro_rules! findings {
    ($($finding:ident { $code:literal, $weight:ident, $reason:literal, $look:literal, $citation:expr })*) => {
        /// Something that the reader of the evidence must know.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum ProofFinding {
            $(
                #[doc = $reason]
                $finding,
            )*
        }

        /// Every finding of the evidence, the gravest first.
        pub static PROOF_FINDINGS: &[ProofDef] = &[
            $(ProofDef {
                finding: ProofFinding::$finding,
                code: $code,
                weight: Weight::$weight,
                reason: $reason,
                look: $look,
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
    MachineLow { "machine_low", Hold,
        "The machine packs the box under 3.5 lb/ft3, the usual minimum for dense-packed cellulose",
        "do not work until it is adjusted and the box shows the target again: air against feed, seals, hose, voltage, fibre",
        cite("gov_weatherization_spec", "dense-packed cellulose", Mark::Seen) }
    MachineOut { "machine_out", Hold,
        "The last box lies outside the limits of this machine's own chart, or jumped",
        "do not work until it is adjusted and the box shows the target again; weigh a second box first, to rule out a slip",
        cite("control_chart_tables", "subgroups of two", Mark::SecondHand) }
    MachineDrift { "machine_drift", Hold,
        "The machine drifts: eight boxes in a row on one side of the centre, or six in a row one way",
        "do not work until it is adjusted and the box shows the target again: worn seals and a slipping feed drift slowly",
        cite("western_electric_rules", "runs", Mark::Memory) }
    MachineUnchecked { "machine_unchecked", Check,
        "No box was weighed in the week before the work",
        "weigh a box before the next house; careful crews do so once or twice a week",
        cite("common_practice", "", Mark::Practice) }
    DensityBeyondWall { "density_beyond_wall", Check,
        "More fibre was used than the cavities can hold",
        "look at the count and weight of bags, at the area and depth of the wall, and for fibre that ran into a floor, a chase or a room",
        cite("derived", "the field's range ends at 6 lb/ft3", Mark::Derived) }
    DensityNotPacked { "density_not_packed", Check,
        "The fibre used does not pack these cavities: it will settle, or bays are empty",
        "scan, open a cold bay and fill again; until then no figure after the work holds",
        cite("cellulose_trade_practice", "least density in a wall", Mark::SecondHand) }
    DensityBlowOut { "density_blow_out", Check,
        "Packed above what this interior finish is known to bear",
        "look along the inside of the wall for bulges, cracks and popped fasteners, and for fibre that went elsewhere",
        cite("state_field_guide", "interior surfaces before blowing; the density is a judgement here", Mark::SecondHand) }
    DensityLow { "density_low", Check,
        "Packed under 3.5 lb/ft3, the usual minimum for dense-packed cellulose: it may settle",
        "compare with the chart on the bag; top up, or look for bays that were passed over",
        cite("gov_weatherization_spec", "dense-packed cellulose", Mark::Seen) }
    DensityOpenHigh { "density_open_high", Check,
        "More fibre was used than an open attic floor of this depth takes",
        "look at the count of bags, at the depth, and whether bags of a wall were put down here",
        cite("common_practice", "", Mark::Practice) }
    BaysMissed { "bays_missed", Check,
        "Bays are cold after the work",
        "open them, look what is in the way, fill and scan again",
        None }
    ScanNotValid { "scan_not_valid", Check,
        "The scan does not count: the conditions hide or feign cold bays",
        "scan again: 18 F (10 K) or more between inside and outside, wind of 15 miles an hour at most, no sun on the wall for 3 hours, on masonry for 8",
        cite("astm_c1060", "conditions of an inspection", Mark::SecondHand) }
    ScanUnknown { "scan_unknown", Check,
        "The conditions of the scan are not written down, so nobody can say whether it counts",
        "write down both temperatures, the wind and the hours since the sun stood on the wall, or scan again",
        cite("astm_c1060", "conditions of an inspection", Mark::SecondHand) }
    ScanMissing { "scan_missing", Check,
        "No scan after the work: that no bay was missed is assumed, not shown",
        "scan on a cold day, every bay",
        None }
    BagsMissing { "bags_missing", Check,
        "No count of bags: the density is assumed, not shown",
        "count the empty bags for each surface before they are thrown away",
        None }
    ScanPart { "scan_part", Note,
        "Only part of the bays was seen: the share missed is an estimate, and the bays that nobody saw are often the hard ones",
        "", None }
    DensityUnderTarget { "density_under_target", Note,
        "Packed above the minimum and under what was promised",
        "", None }
    LimitsProvisional { "limits_provisional", Note,
        "The machine's limits rest on few boxes: they will move",
        "", cite("western_electric_rules", "number of values", Mark::Memory) }
    LeakageNotTested { "leakage_not_tested", Note,
        "No leakage test after the work: nothing is counted for air",
        "", None }
    Unread { "unread", Note,
        "Names in the table as_built that nothing here reads; they are kept",
        "", None }
    NothingMeasured { "nothing_measured", Note,
        "The bills have not been compared yet: the saving is modelled",
        "", None }
}

impl ProofFinding {
    /// What the finding says.
    pub fn def(self) -> &'static ProofDef {
        &PROOF_FINDINGS[self as usize]
    }
}

/// A finding with where it was made.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// What was found.
    pub finding: ProofFinding,
    /// The surface or the machine; empty for the whole job.
    pub place: String,
    /// The figures behind it, in words; may be empty.
    pub detail: String,
}

impl Found {
    pub(crate) fn new(
        finding: ProofFinding,
        place: impl Into<String>,
        detail: impl Into<String>,
    ) -> Self {
        Self { finding, place: place.into(), detail: detail.into() }
    }

    /// Its code.
    pub fn code(&self) -> &'static str {
        self.finding.def().code
    }

    /// How much it weighs.
    pub fn weight(&self) -> Weight {
        self.finding.def().weight
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn findings_are_in_order_of_weight_and_say_what_to_look_at() {
        let mut last = Weight::Hold;
        for (index, def) in PROOF_FINDINGS.iter().enumerate() {
            assert_eq!(def.finding as usize, index);
            assert!(def.weight <= last, "{} stands too low", def.code);
            last = def.weight;
            assert_eq!(def.look.is_empty(), def.weight == Weight::Note, "{}", def.code);
            assert_eq!(def.weight == Weight::Hold, def.look.starts_with("do not work until"));
        }
    }
}
