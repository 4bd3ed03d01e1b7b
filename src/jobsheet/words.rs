//! The job sheet in words.

use super::{AccessBasis, Bays, CrewDays, JobSheet, Stage, SurfaceSheet};
use crate::house::{Access, FillBy, SurfaceKind};
use crate::readiness::{Readiness, Weight};
use crate::source::Citation;
use crate::tables::SPARE_FRACTION_DEFAULT;
use crate::units::{Quantity, UnitSystem};
use crate::walk::Reader;
use crate::words::{Block, LOCAL_CODE, Tone, figure, grouped, percent, sentence};

impl JobSheet {
    /// The sheet in words: holds first, then fibre, surfaces, days, and the checks in order.
    pub fn account(&self, units: UnitSystem) -> Vec<Block> {
        let teller = Teller { sheet: self, units };
        let mut blocks = teller.readiness();
        blocks.push(teller.fibre());
        blocks.extend(self.surfaces.iter().map(|surface| teller.surface(surface)));
        blocks.push(teller.days());
        blocks.extend(teller.findings());
        blocks.extend(
            [
                (Stage::Before, "Before"),
                (Stage::During, "While it is blown"),
                (Stage::After, "After"),
            ]
            .map(|(stage, title)| teller.stage(stage, title)),
        );
        blocks.push(teller.sources());
        blocks
    }
}

struct Teller<'s> {
    sheet: &'s JobSheet,
    units: UnitSystem,
}

impl Teller<'_> {
    fn readiness(&self) -> Vec<Block> {
        let walk = &self.sheet.walk;
        if walk.readiness == Readiness::Hold {
            // A hold is told in full; the checks have a line, and the walk has the rest.
            let mut blocks = walk.account(Reader::Owner);
            blocks.truncate(1);
            return blocks;
        }
        let checks = walk.of_weight(Weight::Check).count();
        if checks == 0 {
            return Vec::new();
        }
        let mut block = Block::new(Tone::Check, "CHECK: someone must look before the work starts");
        let unknown = walk.unknown();
        block.line(
            "",
            format!(
                "{checks} points of the walk, {unknown} of them because nobody knows; the walk says \
                 who may look."
            ),
        );
        block.line("", LOCAL_CODE);
        vec![block]
    }

    fn fibre(&self) -> Block {
        let sheet = self.sheet;
        let bag = self.quantity(Quantity::Mass, sheet.bag_weight.ip(), 1);
        let mut block =
            Block::new(Tone::Answer, format!("Bring {} bags", grouped(sheet.bags_to_bring, 0)));
        let whole = |fibre: super::Fibre| {
            format!(
                "{}, {} bags of {bag}",
                self.quantity(Quantity::Mass, fibre.mass.ip(), 0),
                grouped(fibre.bags, 0)
            )
        };
        block.line("To fill every cavity", whole(sheet.fibre));
        if sheet.open.bags > 0.0 && sheet.packed.bags > 0.0 {
            block.line("Packed", format!("{}, at the packing setting", whole(sheet.packed)));
            block.line("Open attic floor", format!("{}, at the open setting", whole(sheet.open)));
        }
        let origin = if sheet.spare_given {
            "as given".to_owned()
        } else {
            format!("by default [{}]", SPARE_FRACTION_DEFAULT.citation)
        };
        block.line("Spare", format!("{}, {origin}", percent(sheet.spare_fraction)));
        if sheet.assessed.mass != sheet.fibre.mass {
            block.line(
                "In the assessment",
                format!("{}: it leaves out what it expects to be missed", whole(sheet.assessed)),
            );
        }
        block.line(
            "",
            "Bags are rounded up once for the job; a surface's own bags are rounded up for it alone. \
             The chart on the bag governs.",
        );
        block
    }

    fn surface(&self, surface: &SurfaceSheet) -> Block {
        let kind = match surface.kind {
            SurfaceKind::Wall => "wall",
            SurfaceKind::Slope => "slope",
            SurfaceKind::Floor => "floor",
            SurfaceKind::AtticFloor => "attic floor, blown open",
        };
        let mut block = Block::new(Tone::Plain, format!("{} ({kind})", surface.label));
        let length = |ip| self.quantity(Quantity::Length, ip, 2);
        block.line("Net area", self.quantity(Quantity::Area, surface.area.ip(), 0));
        let density = self.quantity(Quantity::Density, surface.density.ip(), 1);
        if let Some(settled) = surface.settled_depth {
            block.line(
                "Depth",
                format!(
                    "blow {}, it settles to {}",
                    length(surface.depth.ip()),
                    length(settled.ip())
                ),
            );
            block.line("Density", format!("{density} once settled; not the setting of the walls"));
        } else {
            block.line(
                "Cavities",
                format!(
                    "{} net, {} deep",
                    self.quantity(Quantity::Area, surface.cavity_area.ip(), 0),
                    length(surface.depth.ip())
                ),
            );
            block.line("Target density", density);
        }
        block.line(
            "Fibre",
            format!(
                "{} in {}, {} bags",
                self.quantity(Quantity::Mass, surface.fibre.mass.ip(), 0),
                self.quantity(Quantity::Volume, surface.volume_ft3, 1),
                grouped(surface.fibre.bags, 0)
            ),
        );
        if !surface.open() {
            block.line("Way in", way_in(surface));
            if let Some(bays) = surface.bays {
                self.bays(&mut block, surface, &bays);
            }
        }
        block
    }

    fn bays(&self, block: &mut Block, surface: &SurfaceSheet, bays: &Bays) {
        let rows = surface.blocking_rows.unwrap_or(0);
        let pockets = match rows {
            0 => format!("{} cavities", grouped(bays.bays, 0)),
            1 => format!(
                "{} cavities, a row of blocking makes {} pockets of them",
                grouped(bays.bays, 0),
                grouped(bays.pockets, 0)
            ),
            rows => format!(
                "{} cavities, {rows} rows of blocking make {} pockets of them",
                grouped(bays.bays, 0),
                grouped(bays.pockets, 0)
            ),
        };
        block.line("Counted", format!("{pockets}; those round windows come on top"));
        let (each, what) = match surface.fill_by {
            FillBy::Tube => ("one", "runs of the tube"),
            FillBy::ShortHose if bays.openings_each <= 1.0 => ("one", "stops of the short hose"),
            FillBy::ShortHose => ("", "stops of the short hose"),
        };
        let each = if each.is_empty() { grouped(bays.openings_each, 0) } else { each.to_owned() };
        block.line(
            "Openings",
            format!("{} {what}, {each} to a pocket; as many plugs", grouped(bays.openings, 0)),
        );
        if let Some(ft) = surface.course_ft() {
            let bands = if bays.bands <= 1.0 {
                "in one band".to_owned()
            } else {
                format!("in {} bands", grouped(bays.bands, 0))
            };
            block.line(
                "Courses off",
                format!("{} {bands}", self.quantity(Quantity::Elevation, ft, 0)),
            );
        }
        if let Some(lb) = surface.fibre_per_pocket_lb() {
            block.line(
                "A full pocket",
                format!("about {} of fibre", self.quantity(Quantity::Mass, lb, 1)),
            );
        }
    }

    fn days(&self) -> Block {
        let days = &self.sheet.days;
        let mut block = Block::new(Tone::Plain, "Days of the crew");
        block.line("Days", days_words(days));
        if let Some(citation) = days.citation() {
            block.line(
                "Rests on",
                format!("{} [{citation}]; give your own rates", citation.locator),
            );
        }
        if days.attic_left_out {
            block.line("", "The attic floor is not in the days: no rate is given for it.");
        }
        block
    }

    fn findings(&self) -> Option<Block> {
        let mut block = Block::new(Tone::Check, "To look at on this sheet");
        let mut told: Vec<super::SheetFinding> = Vec::new();
        for (finding, _) in &self.sheet.findings {
            if told.contains(finding) {
                continue;
            }
            told.push(*finding);
            let places: Vec<&str> = self
                .sheet
                .findings
                .iter()
                .filter(|(other, _)| other == finding)
                .filter_map(|(_, index)| self.sheet.surfaces.get(*index))
                .map(|surface| surface.label.as_str())
                .collect();
            block.line(places.join(", "), sentence(finding.words()));
        }
        if !self.sheet.unread.is_empty() {
            let names = self.sheet.unread.join(", ");
            block.line("[job]", format!("Not read by this sheet: {names}."));
        }
        (!block.lines.is_empty()).then_some(block)
    }

    fn stage(&self, stage: Stage, title: &str) -> Block {
        let mut block = Block::new(Tone::Plain, title);
        let steps = self.sheet.steps.iter().filter(|step| step.stage == stage);
        for (number, step) in steps.enumerate() {
            let source = self.citations().iter().position(|known| *known == step.citation);
            let source = source.map_or(String::new(), |place| format!(" [{}]", place + 1));
            block.line(format!("[ ] {}", number + 1), format!("{}.{source}", step.text));
        }
        block
    }

    /// What the checks rest on, each once, in the order in which they come.
    fn citations(&self) -> Vec<Citation> {
        let mut citations: Vec<Citation> = Vec::new();
        for step in &self.sheet.steps {
            if !citations.contains(&step.citation) {
                citations.push(step.citation);
            }
        }
        citations
    }

    fn sources(&self) -> Block {
        let mut block = Block::new(Tone::Plain, "What the checks rest on");
        for (place, citation) in self.citations().iter().enumerate() {
            block.line(format!("[{}]", place + 1), citation.to_string());
        }
        block
    }

    fn quantity(&self, quantity: Quantity, ip: f64, decimals: usize) -> String {
        let value = quantity.express(ip, self.units);
        let decimals = match (self.units, quantity) {
            (UnitSystem::Si, Quantity::Length | Quantity::Density) => 0,
            (UnitSystem::Si, Quantity::Volume) => decimals + 1,
            _ => decimals,
        };
        let number = match quantity {
            Quantity::Density => grouped(value, decimals),
            _ => figure(value, decimals),
        };
        format!("{number} {}", quantity.unit(self.units))
    }
}

fn way_in(surface: &SurfaceSheet) -> String {
    let Some(way) = surface.way_in else {
        return "not decided: see below".to_owned();
    };
    let how = match (way.access, surface.kind) {
        (Access::RemoveCourse, _) => "a course of the cladding comes off",
        (Access::DrillOutside, _) => "drill and plug from outside",
        (Access::FromInside, SurfaceKind::Floor) => "from below, through the finish",
        (Access::FromInside, _) => "from inside, through the finish",
    };
    let by = match surface.fill_by {
        FillBy::Tube => "fill by tube",
        FillBy::ShortHose => "fill by short hose",
    };
    let basis = match way.basis {
        AccessBasis::Plan => "as planned",
        AccessBasis::Cladding => "as usual for the cladding [common practice, no source]",
        AccessBasis::Kind => "as usual for this kind [common practice, no source]",
    };
    format!("{how}; {by}; {basis}")
}

/// `1.5 to 2 days`, in quarters of a day.
pub(crate) fn days_words(days: &CrewDays) -> String {
    let quarters = |value: f64| figure((value * 4.0).ceil() / 4.0, 2);
    let (low, high) = (quarters(days.low), quarters(days.high));
    if low == high {
        format!("{high} {}, rounded up to a quarter", if high == "1" { "day" } else { "days" })
    } else {
        format!("{low} to {high} days, rounded up to quarters")
    }
}
