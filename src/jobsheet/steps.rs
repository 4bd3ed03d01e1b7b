//! What is checked before, during and after, in order.

use super::{PRACTICE, SurfaceSheet};
use crate::house::{Access, Fill, House, SurfaceKind};
use crate::readiness::{Answer, Readiness, SpillageTest, Weight};
use crate::source::{Citation, Mark};
use crate::tables::{LEAD_YEAR, MIN_FILL_DENSITY};
use crate::walk::Walk;

/// When.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Before any fibre is blown.
    Before,
    /// While it is blown.
    During,
    /// Once it is in.
    After,
}

impl Stage {
    /// `before`, `during` or `after`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Before => "before",
            Self::During => "during",
            Self::After => "after",
        }
    }
}

/// A check.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// When.
    pub stage: Stage,
    /// What is done.
    pub text: String,
    /// Where it comes from.
    pub citation: Citation,
}

const SPEC: Citation =
    Citation::new("gov_weatherization_spec", "preparation before blowing", Mark::Seen);
const NIOSH: Citation = Citation::new("niosh_2001", "sampled dust against the limit", Mark::Seen);
const SMOULDER: Citation = Citation::new("cpsc_16cfr1209", "smouldering test", Mark::Seen);
const LEAD: Citation = Citation::new("epa_rrp_40cfr745", "745.83", Mark::SecondHand);
const DRAUGHT: Citation = Citation::new(
    "building_analyst_standard",
    "draught and carbon monoxide after tightening",
    Mark::SecondHand,
);
const CHIMNEY: Citation = Citation::new("irc_r1003", "R1003.18", Mark::SecondHand);
const LIGHTS: Citation = Citation::new("nfpa_70", "410.116(B)", Mark::SecondHand);
const RECEIPT: Citation = Citation::new("ftc_16cfr460", "460.17", Mark::Memory);
const AIR: Citation = Citation::new("ashrae_62_2", "total ventilation rate", Mark::Memory);

pub(crate) fn steps(house: &House, surfaces: &[SurfaceSheet], walk: &Walk) -> Vec<Step> {
    let mut steps = Vec::new();
    before(house, surfaces, walk, &mut |text, citation| {
        steps.push(Step { stage: Stage::Before, text, citation });
    });
    during(house, surfaces, &mut |text, citation| {
        steps.push(Step { stage: Stage::During, text, citation });
    });
    after(house, surfaces, &mut |text, citation| {
        steps.push(Step { stage: Stage::After, text, citation });
    });
    steps
}

type Push<'p> = &'p mut dyn FnMut(String, Citation);

fn before(house: &House, surfaces: &[SurfaceSheet], walk: &Walk, push: Push<'_>) {
    let holds = walk.of_weight(Weight::Hold).count();
    let checks = walk.of_weight(Weight::Check).count();
    match walk.readiness {
        Readiness::Hold => push(
            format!(
                "The work must not start: {holds} of the points of the walk are on hold, {checks} \
                 more must be looked at; clear them first, each by the one it names"
            ),
            SPEC,
        ),
        Readiness::Check => push(
            format!("Have {checks} points of the walk looked at, each by the one it names"),
            SPEC,
        ),
        Readiness::Clear => push(
            "Walk the house once more against its list: what is answered may have changed"
                .to_owned(),
            SPEC,
        ),
    }
    let packed = surfaces.iter().any(|surface| !surface.open());
    let open = surfaces.iter().any(SurfaceSheet::open);
    if packed {
        push(
            "Find wiring, boxes, pipes, ducts and flues; keep fibre out of every space that is not \
             to be filled: block it first"
                .to_owned(),
            SPEC,
        );
        push(
            "From indoors, look at every surface that will be packed: brace or mend what is loose \
             or thin"
                .to_owned(),
            Citation::new(
                "state_field_guide",
                "interior surfaces before blowing",
                Mark::SecondHand,
            ),
        );
    }
    push(
        "Scan every surface from indoors with a thermal camera while it is cold outside, and keep \
         the pictures: which cavities are cold now"
            .to_owned(),
        PRACTICE,
    );
    let painted = house.hazards().year_built.is_none_or(|year| f64::from(year) < LEAD_YEAR.value);
    if painted && packed {
        push(
            "Set up for lead-safe work before a painted surface is cut or drilled: the house was \
             built before 1978, or nobody knows"
                .to_owned(),
            LEAD,
        );
    }
    push(
        "Read the chart on the bag; it governs. The label says that the fibre passes the \
         smouldering test"
            .to_owned(),
        SMOULDER,
    );
    if packed {
        push(
            "Pack the calibration box at the setting to be used, weigh it, and write date, volume, \
             weight and setting down: once or twice a week, and whenever bag, hose or setting change"
                .to_owned(),
            PRACTICE,
        );
    }
    if open {
        push(
            "For the attic floor, set the machine for open blowing: more air, less fibre. It is not \
             the setting of the walls, and its density is not theirs"
                .to_owned(),
            PRACTICE,
        );
        push(
            "Set depth markers over the attic floor; keep fibre off recessed lights that are not \
             rated for it"
                .to_owned(),
            LIGHTS,
        );
    }
    if house.leakage().before.is_some() {
        push(
            "The leakage test before the work is on record; the one after is made with the same \
             doors open"
                .to_owned(),
            PRACTICE,
        );
    }
}

fn during(house: &House, surfaces: &[SurfaceSheet], push: Push<'_>) {
    push(
        "Respirator and eye protection, for everyone at the machine and the hose".to_owned(),
        NIOSH,
    );
    let packed: Vec<&SurfaceSheet> = surfaces.iter().filter(|surface| !surface.open()).collect();
    if !packed.is_empty() {
        push(
            "Probe every cavity before it is filled: depth, blocking, fire stops, wires. Each pocket \
             above or below a block has its own opening"
                .to_owned(),
            PRACTICE,
        );
        push(
            format!(
                "Pack every pocket until the fibre stands by itself and the hose stops: never under \
                 the target of the sheet, and {} lb/ft³ is the usual minimum",
                MIN_FILL_DENSITY.value
            ),
            MIN_FILL_DENSITY.citation,
        );
        push(
            "Count the bags of each surface as they are opened and write them down: halfway through \
             the area, half the bags are gone, or the density is not what it should be"
                .to_owned(),
            PRACTICE,
        );
        push(
            "Someone watches the rooms behind: stop at once where a finish bulges, fibre comes \
             through, or a wire of the old kind shows"
                .to_owned(),
            PRACTICE,
        );
    }
    if surfaces.iter().any(SurfaceSheet::open) {
        push(
            "Blow the attic floor level to the depth before settling; count its bags apart from \
             those of the walls"
                .to_owned(),
            PRACTICE,
        );
    }
    let near_heat = house.hazards().heat_sources != Answer::No
        || house.surfaces().iter().any(|s| s.kind() != SurfaceKind::Wall);
    if near_heat {
        push(
            "Keep 2 in. clear of a masonry chimney, and what the maker says of a flue".to_owned(),
            CHIMNEY,
        );
    }
}

fn after(house: &House, surfaces: &[SurfaceSheet], push: Push<'_>) {
    push(
        "Scan the same surfaces again from the same places; open and fill every cavity that is \
         still cold, and count what was missed"
            .to_owned(),
        PRACTICE,
    );
    for surface in surfaces {
        if let Some(way) = surface.way_in {
            let removed = if way.access == Access::RemoveCourse { "course" } else { "holes" };
            push(format!("{} ({removed}): {}", surface.label, way.make_good), PRACTICE);
        }
    }
    if house.hazards().spillage_test == SpillageTest::NoneNeeded {
        push(
            "If any appliance draws its air from the house after all, test draught and carbon \
             monoxide the same day"
                .to_owned(),
            DRAUGHT,
        );
    } else {
        push(
            "Test draught, spillage and carbon monoxide the same day; above 35 ppm in a room, stop \
             and get everyone out"
                .to_owned(),
            DRAUGHT,
        );
    }
    if house.leakage().before.is_some() {
        push(
            "Repeat the leakage test: no saving of air is counted without it".to_owned(),
            PRACTICE,
        );
    }
    push(
        "A tighter house needs its air: check how it is ventilated against the current standard"
            .to_owned(),
        AIR,
    );
    let attic = house.surfaces().iter().any(|s| matches!(s.fill(), Fill::Open(_)));
    let depth = if attic { ", settled thickness" } else { ", thickness" };
    push(
        format!(
            "Weigh in: bags used, area{depth}, R and date on the receipt that the owner keeps; check \
             the current rule"
        ),
        RECEIPT,
    );
}
