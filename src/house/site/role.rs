//! Who may clear what: a trade or an office, never a person.

use crate::readiness::Finding;

macro_rules! roles {
    ($($role:ident { $key:literal, $words:literal })*) => {
        /// Who looked, or who clears: a trade or an office, never a person's name.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        #[repr(u8)]
        pub enum Role {
            $(
                #[doc = $words]
                $role,
            )*
        }

        impl Role {
            /// Every role.
            pub const ALL: &[Self] = &[$(Self::$role),*];
            /// The word that a user writes for each.
            pub const KEYS: &[&'static str] = &[$($key),*];

            /// The word that a user writes.
            pub const fn key(self) -> &'static str {
                match self { $(Self::$role => $key),* }
            }

            /// The role in a sentence.
            pub const fn words(self) -> &'static str {
                match self { $(Self::$role => $words),* }
            }
        }
    };
}

roles! {
    LicensedElectrician { "licensed_electrician", "a licensed electrician" }
    LocalCodeOfficial { "local_code_official", "the local code official" }
    LicensedAsbestosProfessional { "licensed_asbestos_professional", "a licensed asbestos professional" }
    WaterRepairContractor { "water_repair_contractor", "a contractor who finds and stops the water" }
    FinishContractor { "finish_contractor", "a contractor who fastens or replaces it" }
    LicensedHeatingContractor { "licensed_heating_contractor", "a licensed heating contractor" }
    CombustionSafetyTester { "combustion_safety_tester", "a trained combustion-safety tester" }
    CertifiedRenovationFirm { "certified_renovation_firm", "a certified renovation firm" }
    TrainedSurveyor { "trained_surveyor", "a trained surveyor" }
    CrewLeader { "crew_leader", "the crew leader" }
    Homeowner { "homeowner", "the owner" }
}

/// What clearing takes: one role of each group.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Requirement {
    /// Groups of roles; one role of each group must have cleared it.
    pub groups: &'static [&'static [Role]],
    /// Whether a later group must not be dated before an earlier one: a second look comes after
    /// the repair.
    pub in_order: bool,
}

const fn any(groups: &'static [&'static [Role]]) -> Requirement {
    Requirement { groups, in_order: false }
}

const fn then(groups: &'static [&'static [Role]]) -> Requirement {
    Requirement { groups, in_order: true }
}

/// What clearing a finding takes; it says in roles what the finding's `cleared_by` says in words.
/// A note that nobody need clear takes nothing.
pub fn requirement(finding: Finding) -> Requirement {
    use Role::{
        CertifiedRenovationFirm, CombustionSafetyTester, CrewLeader, FinishContractor,
        LicensedAsbestosProfessional, LicensedElectrician, LicensedHeatingContractor,
        LocalCodeOfficial, TrainedSurveyor, WaterRepairContractor,
    };
    match finding {
        Finding::KnobAndTube => then(&[&[LicensedElectrician], &[LocalCodeOfficial]]),
        Finding::Vermiculite => any(&[&[LicensedAsbestosProfessional]]),
        Finding::MoistureProblem => then(&[&[WaterRepairContractor], &[TrainedSurveyor]]),
        Finding::LooseInteriorFinish => any(&[&[FinishContractor]]),
        Finding::SpillageFailed => then(&[&[LicensedHeatingContractor], &[CombustionSafetyTester]]),
        Finding::KnobAndTubeUnknown => any(&[&[LicensedElectrician]]),
        Finding::VermiculiteUnknown => any(&[&[TrainedSurveyor, LicensedAsbestosProfessional]]),
        Finding::MoistureUnknown | Finding::InteriorFinishUnknown | Finding::HeatSourcesUnknown => {
            any(&[&[TrainedSurveyor]])
        }
        Finding::SpillageNotDone => any(&[&[CombustionSafetyTester]]),
        Finding::LeadSafeWork | Finding::YearBuiltUnknown => any(&[&[CertifiedRenovationFirm]]),
        Finding::HeatSources => any(&[&[LicensedElectrician], &[LocalCodeOfficial]]),
        Finding::FillDensityLow => any(&[&[CrewLeader]]),
        Finding::NoSaving
        | Finding::SavedShareHigh
        | Finding::HeldToBills
        | Finding::PaybackBeyondLife
        | Finding::LeakageTestIncomplete
        | Finding::LeakageRose
        | Finding::CoolingNotCounted => any(&[]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readiness::{FINDINGS, Weight};

    #[test]
    fn roles_say_what_the_findings_say() {
        for def in FINDINGS.iter().filter(|def| def.weight != Weight::Note) {
            let groups = requirement(def.finding).groups;
            assert!(!groups.is_empty(), "{} can never be cleared", def.code);
            for group in groups {
                let said = |role: &Role| {
                    let words = role.words();
                    let bare = words.split_once(' ').map_or(words, |(_, bare)| bare);
                    // The findings put some of them in a sentence of their own.
                    def.cleared_by.contains(bare)
                        || match role {
                            Role::TrainedSurveyor => {
                                def.cleared_by.contains("trained to recognise it")
                                    || def.cleared_by.contains("a second look")
                            }
                            Role::CombustionSafetyTester => {
                                def.cleared_by.contains("a passed test afterwards")
                            }
                            _ => false,
                        }
                };
                assert!(group.iter().any(said), "{}: {group:?}: {}", def.code, def.cleared_by);
            }
        }
    }
}
