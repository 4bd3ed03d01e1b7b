//! The job sheet for programs: named values in the order in which they are read.

use super::{Fibre, JobSheet, SurfaceSheet};
use crate::house::Raw;
use crate::units::{Quantity, UnitSystem};
use crate::walk::document::{table, text};

struct Writer(UnitSystem);

impl Writer {
    /// A number under the name of its unit.
    fn number(&self, stem: &str, quantity: Quantity, ip: f64) -> (String, Raw) {
        let unit = match (quantity, self.0) {
            (Quantity::Area, UnitSystem::Ip) => "_ft2",
            (Quantity::Area, UnitSystem::Si) => "_m2",
            (Quantity::Length, UnitSystem::Ip) => "_in",
            (Quantity::Length, UnitSystem::Si) => "_mm",
            (Quantity::Elevation, UnitSystem::Ip) => "_ft",
            (Quantity::Elevation, UnitSystem::Si) => "_m",
            (Quantity::Density, UnitSystem::Ip) => "_lb_ft3",
            (Quantity::Density, UnitSystem::Si) => "_kg_m3",
            (Quantity::Mass, UnitSystem::Ip) => "_lb",
            (Quantity::Mass, UnitSystem::Si) => "_kg",
            (Quantity::Volume, UnitSystem::Ip) => "_ft3",
            (Quantity::Volume, UnitSystem::Si) => "_m3",
            _ => "",
        };
        (format!("{stem}{unit}"), Raw::Number(quantity.express(ip, self.0)))
    }

    fn maybe(&self, stem: &str, quantity: Quantity, ip: Option<f64>) -> (String, Raw) {
        let (name, value) = self.number(stem, quantity, ip.unwrap_or(0.0));
        (name, if ip.is_some() { value } else { Raw::Null })
    }

    fn fibre(&self, stem: &str, fibre: Fibre) -> [(String, Raw); 2] {
        [
            self.number(&format!("{stem}_mass"), Quantity::Mass, fibre.mass.ip()),
            (format!("{stem}_bags"), Raw::Number(fibre.bags)),
        ]
    }

    fn surface(&self, surface: &SurfaceSheet) -> Raw {
        let bays = surface.bays;
        let count = |value: Option<f64>| value.map_or(Raw::Null, Raw::Number);
        let named = |name: &str, value: Raw| (name.to_owned(), value);
        let mut entries = vec![
            named("name", text(&surface.label)),
            named("kind", text(surface.kind.as_str())),
            self.number("area", Quantity::Area, surface.area.ip()),
            self.number("cavity_area", Quantity::Area, surface.cavity_area.ip()),
            self.number("depth", Quantity::Length, surface.depth.ip()),
            self.maybe(
                "settled_depth",
                Quantity::Length,
                surface.settled_depth.map(crate::units::Length::ip),
            ),
            self.number("density", Quantity::Density, surface.density.ip()),
            self.number("fill_volume", Quantity::Volume, surface.volume_ft3),
        ];
        entries.extend(self.fibre("fill", surface.fibre));
        entries.extend(self.fibre("assessed_fill", surface.assessed));
        let access = surface.way_in.map_or(Raw::Null, |way| text(way.access.key()));
        entries.extend([
            named("access", access),
            named("make_good", surface.way_in.map_or(Raw::Null, |way| text(way.make_good))),
            named("fill_by", if surface.open() { Raw::Null } else { text(surface.fill_by.key()) }),
            self.maybe("run", Quantity::Elevation, bays.map(|b| b.run_ft)),
            named("bays", count(bays.map(|b| b.bays))),
            named("pockets", count(bays.map(|b| b.pockets))),
            named("openings", count(bays.map(|b| b.openings))),
            named("plugs", count(surface.plugs())),
            self.maybe("course", Quantity::Elevation, surface.course_ft()),
            self.maybe("fill_mass_per_pocket", Quantity::Mass, surface.fibre_per_pocket_lb()),
        ]);
        Raw::Table(entries)
    }
}

impl JobSheet {
    /// Every value under its name, with the unit in the name.
    pub fn document(&self, units: UnitSystem) -> Raw {
        let writer = Writer(units);
        let named = |name: &str, value: Raw| (name.to_owned(), value);
        let mut entries = vec![
            named("house_id", text(&self.house_id)),
            named("readiness", text(self.walk.readiness.as_str())),
            writer.number("bag_weight", Quantity::Mass, self.bag_weight.ip()),
        ];
        entries.extend(writer.fibre("fill", self.fibre));
        entries.extend(writer.fibre("packed", self.packed));
        entries.extend(writer.fibre("open", self.open));
        entries.extend(writer.fibre("assessed_fill", self.assessed));
        let days = &self.days;
        let steps = self.steps.iter().map(|step| {
            table(vec![
                ("stage", text(step.stage.as_str())),
                ("text", text(&step.text)),
                ("source", text(step.citation.to_string())),
            ])
        });
        let findings = self.findings.iter().map(|(finding, index)| {
            let surface = self.surfaces.get(*index).map_or("", |s| s.label.as_str());
            table(vec![
                ("code", text(finding.code())),
                ("surface", text(surface)),
                ("text", text(finding.words())),
            ])
        });
        entries.extend([
            named("spare_fraction", Raw::Number(self.spare_fraction)),
            named("bags_to_bring", Raw::Number(self.bags_to_bring)),
            named("crew_days_low", Raw::Number(days.low)),
            named("crew_days_high", Raw::Number(days.high)),
            named("crew_days_own", Raw::Bool(days.own)),
            named("surfaces", Raw::List(self.surfaces.iter().map(|s| writer.surface(s)).collect())),
            named("steps", Raw::List(steps.collect())),
            named("findings", Raw::List(findings.collect())),
        ]);
        Raw::Table(entries)
    }
}
