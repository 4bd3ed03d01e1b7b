//! The job sheet: what the crew brings, opens, packs and checks.
//!
//! Fibre and bags are those of [`assess`]: per surface by [`surface_fills`], which it adds up.

mod access;
mod bays;
mod days;
mod document;
mod steps;
mod words;

pub(crate) use access::PRACTICE;
pub use access::{AccessBasis, CLADDING_ACCESS, CladdingAccess, WayIn};
pub use bays::Bays;
pub use days::{CrewDays, Production};
pub use steps::{Stage, Step};
pub(crate) use words::days_words;

use crate::house::{
    Access, Assessment, Fill, FillBy, House, JobPlan, Surface, SurfaceKind, Surfaces, assess,
    surface_fills,
};
use crate::job::bags;
use crate::numeric::Plain;
use crate::tables::{FILL_DENSITY_DEFAULT, SPARE_FRACTION_DEFAULT, TUBE_CLEARANCE_IN};
use crate::units::{Area, Density, Fraction, Length, Mass};

/// Fibre and the bags that hold it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fibre {
    /// Its mass.
    pub mass: Mass,
    /// Whole bags.
    pub bags: f64,
}

/// A surface on the job sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct SurfaceSheet {
    /// What it is called.
    pub label: String,
    /// What kind.
    pub kind: SurfaceKind,
    /// Net area, openings off.
    pub area: Area,
    /// Net area of the cavities, framing off.
    pub cavity_area: Area,
    /// Depth of the cavity; of an attic floor, the depth to blow, before it settles.
    pub depth: Length,
    /// Depth once settled, of an attic floor.
    pub settled_depth: Option<Length>,
    /// Density of the fill; of an attic floor, once settled.
    pub density: Density,
    /// Volume of the fibre when every cavity is filled, ft³.
    pub volume_ft3: f64,
    /// Fibre when every cavity is filled, and bags for this surface alone.
    pub fibre: Fibre,
    /// Fibre that the assessment counts, which leaves out what it expects to be missed.
    pub assessed: Fibre,
    /// The way in; none for an open floor and where nothing says how.
    pub way_in: Option<WayIn>,
    /// Tube or short hose: as planned, or a tube where one passes beside the batt.
    pub fill_by: FillBy,
    /// Cavities, pockets and openings, where spacing and height are given.
    pub bays: Option<Bays>,
    /// Rows of blocking across the cavities, where it is said.
    pub blocking_rows: Option<u8>,
}

impl SurfaceSheet {
    /// Whether it is blown open, and not packed.
    pub fn open(&self) -> bool {
        self.kind == SurfaceKind::AtticFloor
    }

    /// Length of the courses that are taken off, ft.
    pub fn course_ft(&self) -> Option<f64> {
        let bays = self.bays?;
        (self.way_in?.access == Access::RemoveCourse).then_some(bays.run_ft * bays.bands)
    }

    /// Plugs: one for each opening.
    pub fn plugs(&self) -> Option<f64> {
        self.way_in.and(self.bays).map(|bays| bays.openings)
    }

    /// Fibre in a pocket, lb: what the crew leader can check while it runs.
    pub fn fibre_per_pocket_lb(&self) -> Option<f64> {
        self.bays.map(|bays| self.fibre.mass.ip() / bays.pockets)
    }
}

/// Something on the sheet that somebody should look at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SheetFinding {
    /// Nothing says how the cavity is reached.
    AccessUndecided,
    /// The openings cannot be counted.
    OpeningsNotCounted,
    /// The framing share is less than the studs alone take.
    FramingBelowStuds,
    /// Asbestos cement would be opened.
    AsbestosOpened,
    /// Blocking was not looked for.
    BlockingNotSaid,
    /// The plan fills by tube where hardly one passes.
    TooTightForTube,
    /// Packed under what careful crews pack to.
    UnderCarefulPractice,
}

impl SheetFinding {
    /// Its code, stable for programs.
    pub const fn code(self) -> &'static str {
        match self {
            Self::AccessUndecided => "access_undecided",
            Self::OpeningsNotCounted => "openings_not_counted",
            Self::FramingBelowStuds => "framing_below_studs",
            Self::AsbestosOpened => "asbestos_opened",
            Self::BlockingNotSaid => "blocking_not_said",
            Self::TooTightForTube => "too_tight_for_tube",
            Self::UnderCarefulPractice => "under_careful_practice",
        }
    }

    /// What it means and what to do.
    pub const fn words(self) -> &'static str {
        match self {
            Self::AccessUndecided => {
                "Nothing says how the cavity is reached: name the cladding, or give access in [job]"
            }
            Self::OpeningsNotCounted => {
                "The openings are not counted: give stud_spacing_in and wall_height_ft in [job]"
            }
            Self::FramingBelowStuds => {
                "The framing share is less than the studs alone take at this spacing: one of the \
                 two is wrong, and with it the fibre"
            }
            Self::AsbestosOpened => {
                "The plan opens asbestos cement from outside: it is not to be drilled, cut or \
                 broken without the rules for asbestos"
            }
            Self::UnderCarefulPractice => {
                "Careful crews never pack under 4.0 lb/ft³ (64 kg/m³), whatever the maker's least \
                 density is (common practice, no source)"
            }
            Self::TooTightForTube => {
                "The gap beside the batt is hardly wide enough for a fill tube: try one cavity, or \
                 plan a short hose and more openings"
            }
            Self::BlockingNotSaid => {
                "Blocking and fire stops are taken as none: give blocking_rows in [job]; every row \
                 takes another opening in each cavity"
            }
        }
    }
}

/// The job sheet of a house.
#[derive(Clone, Debug, PartialEq)]
pub struct JobSheet {
    /// The house.
    pub house_id: String,
    /// The surfaces, in the order of the house.
    pub surfaces: Vec<SurfaceSheet>,
    /// Weight of a bag.
    pub bag_weight: Mass,
    /// Fibre and bags of the assessment, which the offer rests on.
    pub assessed: Fibre,
    /// Fibre and bags when every cavity is filled: what the crew works to.
    pub fibre: Fibre,
    /// The part of it that is packed.
    pub packed: Fibre,
    /// The part of it that is blown open, at another setting of the machine.
    pub open: Fibre,
    /// Fibre brought beyond what the job takes, as a share of it.
    pub spare_fraction: f64,
    /// Whether the share was given.
    pub spare_given: bool,
    /// Bags to bring, the spare with them.
    pub bags_to_bring: f64,
    /// How long the crew takes.
    pub days: CrewDays,
    /// What is checked before, during and after, in order.
    pub steps: Vec<Step>,
    /// What somebody should look at, with the surface by its place in the list.
    pub findings: Vec<(SheetFinding, usize)>,
    /// Names in `[job]` that this sheet does not read.
    pub unread: Vec<String>,
    pub(crate) walk: crate::walk::Walk,
}

/// The house with no cavity left out.
fn nothing_missed(house: &House) -> House {
    let mut house = house.clone();
    for surface in house.surfaces.as_mut_slice() {
        match &mut surface.fill {
            Fill::Packed(fill) => fill.missed = Fraction::checked(0.0),
            Fill::Open(fill) => fill.missed = Fraction::checked(0.0),
        }
    }
    house
}

/// The house with those surfaces only that are packed, or only those that are blown open; `None`
/// where there is none.
fn only(house: &House, open: bool) -> Option<House> {
    let wanted = |surface: &&Surface| matches!(surface.fill, Fill::Open(_)) == open;
    let surfaces: Vec<Surface> = house.surfaces().iter().filter(wanted).cloned().collect();
    if surfaces.is_empty() {
        return None;
    }
    let mut part = house.clone();
    part.surfaces = Surfaces::Many(surfaces);
    Some(part)
}

fn fibre_of(assessment: &Assessment) -> Fibre {
    Fibre { mass: assessment.fill_mass, bags: assessment.bags }
}

/// Makes the job sheet of a house, by its own plan where the house file has one.
pub fn job_sheet(house: &House, production: &Production) -> JobSheet {
    let full = nothing_missed(house);
    let assessed = assess(house);
    let filled = assess(&full);
    let bag = house.bag_weight();
    let whole_bags = |mass: Mass| bags(&Plain, mass.ip(), bag.ip());
    let plan = house.job_plan().cloned().unwrap_or_default();
    let spare = plan.spare_fraction.unwrap_or(SPARE_FRACTION_DEFAULT.value);
    let with_spare = Mass::checked(filled.fill_mass.ip() * (1.0 + spare));
    let none = Fibre { mass: Mass::checked(0.0), bags: 0.0 };
    let part = |open| only(&full, open).map_or(none, |part| fibre_of(&assess(&part)));

    let mut findings = Vec::new();
    let fills = surface_fills(&full);
    let counted = surface_fills(house);
    let surfaces: Vec<SurfaceSheet> = house
        .surfaces()
        .iter()
        .zip(fills.iter().zip(&counted))
        .enumerate()
        .map(|(index, (surface, (fill, counted)))| {
            let fibre = Fibre { mass: fill.mass, bags: whole_bags(fill.mass) };
            let assessed = Fibre { mass: counted.mass, bags: whole_bags(counted.mass) };
            let label = house.surface_label(index);
            let mut sheet = surface_sheet(surface, label, &plan, fibre, assessed);
            sheet.volume_ft3 = fill.volume_ft3;
            findings.extend(look_at(surface, &sheet).into_iter().map(|found| (found, index)));
            sheet
        })
        .collect();
    let area =
        |open: bool| surfaces.iter().filter(|s| s.open() == open).map(|s| s.area.ip()).sum::<f64>();
    let days = days::crew_days(area(false), area(true), production);
    let walk = crate::walk::walk(house);
    let steps = steps::steps(house, &surfaces, &walk);
    JobSheet {
        house_id: house.house_id().to_owned(),
        bag_weight: bag,
        assessed: fibre_of(&assessed),
        fibre: fibre_of(&filled),
        packed: part(false),
        open: part(true),
        spare_fraction: spare,
        spare_given: plan.spare_fraction.is_some(),
        bags_to_bring: whole_bags(with_spare),
        days,
        steps,
        findings,
        unread: plan.unread,
        surfaces,
        walk,
    }
}

fn surface_sheet(
    surface: &Surface,
    label: String,
    plan: &JobPlan,
    fibre: Fibre,
    assessed: Fibre,
) -> SurfaceSheet {
    let own = plan.surface(&label);
    let (depth, settled_depth, density) = match surface.fill() {
        Fill::Packed(fill) => (surface.framing().depth, None, fill.density),
        Fill::Open(fill) => (fill.blown_depth(), Some(fill.depth), fill.settled_density),
    };
    let fill_by =
        own.fill_by.unwrap_or(if tube_passes(surface) { FillBy::Tube } else { FillBy::ShortHose });
    let packed = settled_depth.is_none();
    let bays = match (own.stud_spacing_in, own.wall_height_ft) {
        (Some(spacing), Some(height)) if packed => Some(bays::count(
            surface.area().ip(),
            spacing,
            height,
            own.blocking_rows.unwrap_or(0),
            fill_by,
        )),
        _ => None,
    };
    SurfaceSheet {
        label,
        kind: surface.kind(),
        area: surface.area(),
        cavity_area: surface.cavity_area(),
        depth,
        settled_depth,
        density,
        volume_ft3: 0.0,
        fibre,
        assessed,
        way_in: access::way_in(surface, own.access),
        fill_by,
        bays,
        blocking_rows: own.blocking_rows.filter(|_| packed),
    }
}

/// Whether a fill tube passes beside the batt.
fn tube_passes(surface: &Surface) -> bool {
    let batt = surface.batt();
    let gap = surface.framing().depth.ip() - batt.thickness.ip();
    batt.missing.ip() >= 1.0 || gap >= TUBE_CLEARANCE_IN.value
}

fn look_at(surface: &Surface, sheet: &SurfaceSheet) -> Vec<SheetFinding> {
    let mut found = Vec::new();
    if sheet.open() {
        return found;
    }
    let asbestos =
        access::cladding(surface).is_some_and(|material| material.key == "asbestos_cement_shingle");
    match sheet.way_in {
        None => found.push(SheetFinding::AccessUndecided),
        Some(way) if asbestos && way.access != Access::FromInside => {
            found.push(SheetFinding::AsbestosOpened);
        }
        Some(_) => {}
    }
    if sheet.density.ip() < FILL_DENSITY_DEFAULT.value {
        found.push(SheetFinding::UnderCarefulPractice);
    }
    if sheet.fill_by == FillBy::Tube && !tube_passes(surface) {
        found.push(SheetFinding::TooTightForTube);
    }
    match sheet.bays {
        None => found.push(SheetFinding::OpeningsNotCounted),
        Some(bays) => {
            if surface.framing().fraction.ip() < bays::stud_share(bays.spacing_in) {
                found.push(SheetFinding::FramingBelowStuds);
            }
            if sheet.blocking_rows.is_none() {
                found.push(SheetFinding::BlockingNotSaid);
            }
        }
    }
    found
}
