//! What a moisture check finds.

use super::{CheckedPath, Mould, TRACE_KG_M2};
use crate::readiness::Weight;
use crate::source::{Citation, Mark};
use crate::tables::CONDENSATE_DOUBT;

/// What a finding says.
#[derive(Clone, Copy, Debug)]
pub struct MoistureFindingDef {
    /// The finding.
    pub finding: MoistureFinding,
    /// Its code, stable for programs.
    pub code: &'static str,
    /// Check or note: what must hold the work is for the house's own findings.
    pub weight: Weight,
    /// What was found and why it matters.
    pub reason: &'static str,
    /// Who may clear it; empty for a note.
    pub cleared_by: &'static str,
    /// Where the rule comes from.
    pub citation: Citation,
}

macro_rules! moisture_findings {
    ($($finding:ident { $code:literal, $weight:ident, $reason:literal, $cleared_by:literal, $place:literal })*) => {
        /// Something that a moisture check finds. None of them is a pass.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[repr(u8)]
        pub enum MoistureFinding {
            $(
                #[doc = $reason]
                $finding,
            )*
        }

        /// Every finding, the gravest first.
        pub static MOISTURE_FINDINGS: &[MoistureFindingDef] = &[
            $(MoistureFindingDef {
                finding: MoistureFinding::$finding,
                code: $code,
                weight: Weight::$weight,
                reason: $reason,
                cleared_by: $cleared_by,
                citation: Citation::new("iso_13788", $place, Mark::Memory),
            },)*
        ];
    };
}

moisture_findings! {
    NeverDries { "never_dries", Check,
        "Water gathers in the filled wall and does not dry within the year: by this method there is more each year",
        "someone who plans moisture safety of walls, before the wall is filled",
        "interstitial condensation, yearly balance" }
    HeavyCondensation { "heavy_condensation", Check,
        "More than half a kilogram of water gathers in each square metre of the filled wall before it dries",
        "someone who plans moisture safety of walls, before the wall is filled",
        "interstitial condensation; the amount from DIN 4108-3" }
    SurfaceCondensation { "surface_condensation", Check,
        "In a monthly mean the room's vapour condenses on the inside of the wall itself",
        "a trained surveyor: less vapour, more ventilation or heat",
        "surface condensation" }
    MouldRisk { "mould_risk", Check,
        "After the work a part of the inside surface stays above 80 % humidity in the critical month: mould can grow there",
        "a trained surveyor: less vapour, more ventilation, and a second look for missed bays",
        "critical surface humidity" }
    CondensationDries { "condensation_dries", Note,
        "Water gathers in the filled wall in the cold months and dries by this method within the year",
        "",
        "interstitial condensation, yearly balance" }
    MoreThanBefore { "more_than_before", Note,
        "More water gathers than in the wall as it was found: fill keeps the outer layers colder",
        "",
        "interstitial condensation" }
    MouldRiskNow { "mould_risk_now", Note,
        "Before the work a part of the inside surface stays above 80 % humidity in the critical month",
        "",
        "critical surface humidity" }
    NoneFound { "none_found", Note,
        "This method finds no condensation in the filled wall; that is no proof that it stays dry",
        "",
        "interstitial condensation" }
}

impl MoistureFinding {
    /// What the finding says.
    pub fn def(self) -> &'static MoistureFindingDef {
        &MOISTURE_FINDINGS[self as usize]
    }

    /// Its code.
    pub fn code(self) -> &'static str {
        self.def().code
    }
}

fn worst(paths: &[CheckedPath]) -> f64 {
    paths.iter().map(|path| path.year.peak_kg_m2()).fold(0.0, f64::max)
}

pub(super) fn findings(
    before: &[CheckedPath],
    after: &[CheckedPath],
    mould: &Mould,
) -> Vec<MoistureFinding> {
    use MoistureFinding as F;
    let peak = worst(after);
    let wet = peak > TRACE_KG_M2;
    let stays = after.iter().any(|path| path.year.left_kg_m2() > TRACE_KG_M2);
    let at_risk = |paths: &[super::MouldPath]| paths.iter().any(|p| p.share > 0.0 && p.at_risk());
    let on_surface = after.iter().any(|path| path.year.months.iter().any(|m| m.surface_wet));
    [
        (stays, F::NeverDries),
        (peak > CONDENSATE_DOUBT.value, F::HeavyCondensation),
        (on_surface, F::SurfaceCondensation),
        (at_risk(&mould.after), F::MouldRisk),
        (wet && !stays, F::CondensationDries),
        (wet && peak > worst(before), F::MoreThanBefore),
        (at_risk(&mould.before), F::MouldRiskNow),
        (!wet, F::NoneFound),
    ]
    .into_iter()
    .filter_map(|(holds, finding)| holds.then_some(finding))
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn findings_stand_in_order_of_weight_and_none_is_a_pass() {
        let mut last = Weight::Hold;
        for (index, def) in MOISTURE_FINDINGS.iter().enumerate() {
            assert_eq!(def.finding as usize, index);
            assert!(def.weight <= last, "{} stands too low", def.code);
            last = def.weight;
            assert_eq!(def.cleared_by.is_empty(), def.weight == Weight::Note, "{}", def.code);
            let text = def.reason.to_lowercase();
            assert!(!["pass", "safe", "approved", "certif"].iter().any(|word| text.contains(word)));
        }
    }
}
