//! How a crew gets at a cavity, by what the surface is clad with. Common practice, no source.

use crate::house::{Access, Fill, LayerBody, Series, Surface, SurfaceKind};
use crate::source::{Citation, Mark};
use crate::tables::{MATERIALS, Material, Role};

/// Common practice, no source.
pub(crate) const PRACTICE: Citation = Citation::new("common_practice", "", Mark::Practice);

/// How a cladding is usually opened and made good.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CladdingAccess {
    /// Key of the cladding in the materials table.
    pub cladding: &'static str,
    /// How the cavity is usually reached.
    pub access: Access,
    /// What is done to make it good.
    pub make_good: &'static str,
    /// Whether what is put back is painted at its nails or plugs.
    pub repaint: bool,
}

const fn row(
    cladding: &'static str,
    access: Access,
    make_good: &'static str,
    repaint: bool,
) -> CladdingAccess {
    CladdingAccess { cladding, access, make_good, repaint }
}

use Access::{DrillOutside, FromInside, RemoveCourse};

const NAILS: &str = "plug the sheathing, put the course back, fill the nail holes and paint them";
const PLUGS: &str = "plug, fill and paint each hole";

/// Every cladding of the materials table (common practice, no source).
pub static CLADDING_ACCESS: &[CladdingAccess] = &[
    row("no_cladding", DrillOutside, "plug each hole in the sheathing", false),
    row("wood_bevel_siding_1_2in", RemoveCourse, NAILS, true),
    row("wood_bevel_siding_3_4in", RemoveCourse, NAILS, true),
    row("wood_drop_siding_1in", RemoveCourse, NAILS, true),
    row("wood_shingles", RemoveCourse, NAILS, true),
    row("wood_shingles_double", RemoveCourse, NAILS, true),
    row("plywood_siding_3_8in", DrillOutside, PLUGS, true),
    row("hardboard_siding_7_16in", DrillOutside, PLUGS, true),
    row(
        "hollow_backed_siding",
        RemoveCourse,
        "plug the sheathing and snap the course back; nothing is seen afterwards",
        false,
    ),
    row(
        "insulating_backed_siding_3_8in",
        RemoveCourse,
        "plug the sheathing and snap the course back; nothing is seen afterwards",
        false,
    ),
    row("stucco_3_4in", DrillOutside, "plug each hole and patch the stucco to match", true),
    row("face_brick_4in", FromInside, "plug and patch each hole in the interior finish", true),
    row("common_brick_4in", FromInside, "plug and patch each hole in the interior finish", true),
    row(
        "asbestos_cement_shingle",
        FromInside,
        "leave the cladding alone; plug and patch each hole in the interior finish",
        true,
    ),
    row("fibre_cement_siding_5_16in", RemoveCourse, NAILS, true),
    row(
        "asphalt_insulating_siding_1_2in",
        DrillOutside,
        "plug each hole and patch it to match",
        false,
    ),
    row("asphalt_roll_siding", DrillOutside, "plug each hole and patch it to match", false),
];

/// The cladding of a surface, where it is named.
pub(crate) fn cladding(surface: &Surface) -> Option<&'static Material> {
    let is_cladding = |material: &&'static Material| material.role == Role::Cladding;
    match surface.series() {
        Series::Total(_) => None,
        Series::Materials(places) => {
            places.iter().flatten().filter_map(|place| MATERIALS.get(*place)).find(is_cladding)
        }
        Series::Layers(layers) => layers
            .iter()
            .filter_map(|layer| match layer.body {
                LayerBody::Material(material) => Some(material),
                LayerBody::Resistance(_) | LayerBody::Slab(..) => None,
            })
            .find(is_cladding),
    }
}

/// Where the way in comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AccessBasis {
    /// The plan says so.
    Plan,
    /// The cladding is usually opened like this.
    Cladding,
    /// This kind of surface usually is.
    Kind,
}

/// The way into a cavity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WayIn {
    /// How it is reached.
    pub access: Access,
    /// Who says so.
    pub basis: AccessBasis,
    /// What is done to make it good.
    pub make_good: &'static str,
    /// Whether it is painted.
    pub repaint: bool,
}

/// The way in; `None` for an open floor, and where nothing says how.
pub(crate) fn way_in(surface: &Surface, planned: Option<Access>) -> Option<WayIn> {
    if matches!(surface.fill(), Fill::Open(_)) {
        return None;
    }
    let by_cladding = cladding(surface)
        .and_then(|material| CLADDING_ACCESS.iter().find(|row| row.cladding == material.key));
    match (planned, by_cladding, surface.kind()) {
        (Some(access), by_cladding, _) => {
            let same = by_cladding.filter(|row| row.access == access);
            let (make_good, repaint) = same.map_or(
                match access {
                    RemoveCourse => (NAILS, true),
                    DrillOutside => (PLUGS, true),
                    FromInside => ("plug and patch each hole in the interior finish", true),
                },
                |row| (row.make_good, row.repaint),
            );
            Some(WayIn { access, basis: AccessBasis::Plan, make_good, repaint })
        }
        (None, _, SurfaceKind::Slope | SurfaceKind::Floor) => Some(WayIn {
            access: FromInside,
            basis: AccessBasis::Kind,
            make_good: "plug and patch each hole in the finish below",
            repaint: true,
        }),
        (None, Some(row), _) => Some(WayIn {
            access: row.access,
            basis: AccessBasis::Cladding,
            make_good: row.make_good,
            repaint: row.repaint,
        }),
        (None, None, _) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cladding_has_its_way_in() {
        for material in MATERIALS.iter().filter(|material| material.role == Role::Cladding) {
            let rows = CLADDING_ACCESS.iter().filter(|row| row.cladding == material.key).count();
            assert_eq!(rows, 1, "{}", material.key);
        }
        for row in CLADDING_ACCESS {
            assert!(crate::tables::material(row.cladding).is_some(), "{}", row.cladding);
        }
    }

    /// Common practice, no source: vinyl comes off and goes back unseen, wood siding needs its nail
    /// holes painted.
    #[test]
    fn siding_is_put_back_as_the_trade_does() {
        let of = |key| CLADDING_ACCESS.iter().find(|row| row.cladding == key).copied();
        let vinyl = of("hollow_backed_siding").map(|row| (row.access, row.repaint));
        assert_eq!(vinyl, Some((RemoveCourse, false)));
        let wood = of("wood_bevel_siding_1_2in").map(|row| (row.access, row.repaint));
        assert_eq!(wood, Some((RemoveCourse, true)));
        // Not to be drilled or broken without the rules for asbestos.
        assert_eq!(of("asbestos_cement_shingle").map(|row| row.access), Some(FromInside));
    }
}
