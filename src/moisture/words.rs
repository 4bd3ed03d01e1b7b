//! A moisture check in words.

use super::{
    CheckedPath, IndoorHumidity, Moisture, MoistureFinding, Mould, MouldPath, TRACE_KG_M2,
};
use crate::comfort::words::{degrees, path_words, percent};
use crate::holds::holds;
use crate::house::House;
use crate::readiness::{Finding, Weight};
use crate::tables::MOULD_HUMIDITY;
use crate::units::UnitSystem;
use crate::units::factor::{KG_PER_LB, M2_PER_FT2};
use crate::words::MONTHS;
use crate::words::{Block, Tone, grouped};

/// What the check leaves out; printed with every result.
pub const LIMITS: &[&str] = &[
    "Vapour diffusion only. Air that leaks through the wall can carry far more water than diffusion: \
     gaps round outlets, trim and plates must be closed whatever is printed here.",
    "No liquid water: no driving rain, no leak at a flashing, no rising damp, no capillary suction. A \
     wet wall must be mended and dry before it is filled.",
    "No storage: wood and cellulose take up and give back water, which softens peaks and delays drying.",
    "Steady monthly means in one dimension, no sun on the wall, no latent heat; permeances and \
     conductivities do not change with moisture. Framing, corners and lapped joints are not followed.",
    "A coat of paint is taken as unbroken, also over lapped siding, whose joints let vapour out: there \
     the check errs to the wet side. Give cladding_perms for cladding and paint together where known.",
    "Permeances vary several times over from product to product and with damp; most here are from memory.",
    "A screen after ISO 13788 (from memory), not proof: no result of it is a certificate. Local code and \
     licensed practice decide.",
];

/// A month in words.
pub fn month_name(month: u8) -> &'static str {
    MONTHS.get(usize::from(month).wrapping_sub(1)).copied().unwrap_or("?")
}

/// Ounces in a square foot for 1 kg/m².
const OZ_FT2_PER_KG_M2: f64 = 16.0 / KG_PER_LB * M2_PER_FT2;

/// Water on an area.
fn water(kg_m2: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Ip => format!("{} oz/ft²", grouped(kg_m2 * OZ_FT2_PER_KG_M2, 2)),
        UnitSystem::Si => format!("{} g/m²", grouped(kg_m2 * 1000.0, 0)),
    }
}

impl Moisture {
    /// The check in words: the house's holds first, then the findings, the months, the surface,
    /// what it rests on, and what it leaves out.
    pub fn account(&self, house: &House, units: UnitSystem) -> Vec<Block> {
        let mut blocks: Vec<Block> = holds(house).collect();
        blocks.extend(unknown_water(house));
        blocks.extend(self.finding_blocks());
        blocks.push(self.answer(units));
        blocks.extend(self.months(units));
        blocks.push(surfaces(&self.mould, units));
        blocks.push(self.basis(units));
        let mut block = Block::new(Tone::Plain, "What this check leaves out");
        for limit in LIMITS {
            block.line("", *limit);
        }
        blocks.push(block);
        blocks
    }

    fn finding_blocks(&self) -> Vec<Block> {
        let of = |weight: Weight, tone, title: &str| {
            let mut block = Block::new(tone, title);
            let found = self.findings.iter().map(|f: &MoistureFinding| f.def());
            for def in found.filter(|def| def.weight == weight) {
                block.line("", format!("{}. [{}]", def.reason, def.citation));
                if !def.cleared_by.is_empty() {
                    block.line("May be cleared by", def.cleared_by);
                }
            }
            (!block.lines.is_empty()).then_some(block)
        };
        let check =
            of(Weight::Check, Tone::Check, "CHECK: moisture, look before the wall is filled");
        let note = of(Weight::Note, Tone::Plain, "Moisture, worth knowing");
        check.into_iter().chain(note).collect()
    }

    fn answer(&self, units: UnitSystem) -> Block {
        let title = "Vapour that condenses inside the wall (modelled, diffusion only)";
        let mut block = Block::new(Tone::Answer, title);
        for path in self.before.iter().chain(&self.after) {
            let label = format!("{}, {}", path_words(path.place, path.state), percent(path.share));
            block.line(label, gathers(path, units));
        }
        block
    }

    /// The months of the filled path that gets wettest, where any does.
    fn months(&self, units: UnitSystem) -> Option<Block> {
        let peak = |path: &&CheckedPath| path.year.peak_kg_m2();
        let wettest = self.after.iter().max_by(|a, b| peak(a).total_cmp(&peak(b)))?;
        if wettest.year.peak_kg_m2() <= TRACE_KG_M2 {
            return None;
        }
        let words = path_words(wettest.place, wettest.state).to_lowercase();
        let mut block = Block::new(Tone::Plain, format!("Month by month, {words}"));
        for month in &wettest.year.months {
            let gained = month.gained_in_all();
            let change = if gained.abs() <= TRACE_KG_M2 {
                "nothing gathers".to_owned()
            } else {
                let verb = if gained < 0.0 { "dries" } else { "gathers" };
                format!("{verb} {}", water(gained.abs(), units))
            };
            let text = format!(
                "{} and {} outdoors; {change}, holds {}",
                degrees(month.outdoor.temperature, units),
                percent(month.outdoor.rh),
                water(month.held_in_all(), units)
            );
            block.line(month_name(month.month), text);
        }
        Some(block)
    }

    fn basis(&self, units: UnitSystem) -> Block {
        let mut block = Block::new(Tone::Plain, "What it rests on");
        let indoor = match self.question.indoor() {
            IndoorHumidity::Fixed(rh) => format!("{} humid all year", percent(rh)),
            IndoorHumidity::Class(class) => {
                format!("humidity class {class} of ISO 13788, its upper limit [from memory]")
            }
            IndoorHumidity::ByOutdoor { crowded } => format!(
                "humidity by the outdoor temperature, {} use (EN 15026) [from memory]",
                if crowded { "crowded" } else { "normal" }
            ),
        };
        block.line("Room", format!("{}, {indoor}", degrees(self.question.room(), units)));
        let Some(path) = self.after.first() else { return block };
        block.line("Layers", "from the room outward, in the first filled path:");
        for layer in &path.layers {
            let r = match units {
                UnitSystem::Ip => format!("R {}", grouped(layer.r.ip(), 2)),
                UnitSystem::Si => format!("R {} m²K/W", grouped(layer.r.si(), 2)),
            };
            let hindrance = match units {
                UnitSystem::Ip => match layer.perms {
                    Some(perms) => format!("{} perm", grouped(perms, 2)),
                    None => format!("as {} m of still air", grouped(layer.sd_m, 2)),
                },
                UnitSystem::Si => format!("s_d {} m", grouped(layer.sd_m, 2)),
            };
            let source = match (layer.row, layer.perms) {
                (Some(row), _) => row.citation.to_string(),
                (None, Some(_)) => "given".to_owned(),
                (None, None) => "ISO 13788 [from memory]".to_owned(),
            };
            block.line(format!("  {}", layer.name), format!("{hindrance}, {r} ({source})"));
        }
        block
    }
}

/// No figure here says anything about a wall in which nobody has looked for water.
fn unknown_water(house: &House) -> Option<Block> {
    let unknown = Finding::MoistureUnknown;
    house.hazards().findings().contains(unknown).then(|| {
        let mut block = Block::new(Tone::Check, "CHECK: look for water first");
        block.line("", format!("{}.", unknown.def().reason));
        block.line("May be cleared by", unknown.def().cleared_by);
        block
    })
}

fn gathers(path: &CheckedPath, units: UnitSystem) -> String {
    let year = &path.year;
    let peak = year.peak_kg_m2();
    if peak <= TRACE_KG_M2 {
        return "no condensation by this method".to_owned();
    }
    let wettest = year.months.iter().find(|month| month.held_in_all() >= peak);
    let at = wettest
        .and_then(|month| {
            let held = month.held_kg_m2.iter().zip(path.section.nodes());
            held.max_by(|a, b| a.0.total_cmp(b.0)).map(|(_, node)| node.place.clone())
        })
        .unwrap_or_default();
    let month = wettest.map_or("?", |month| month_name(month.month));
    let dries = match (year.dry_by(), year.left_kg_m2()) {
        (_, left) if left > TRACE_KG_M2 => {
            format!("{} are left after a year", water(left, units))
        }
        (Some(month), _) => format!("dry again by the end of {}", month_name(month)),
        (None, _) => "dry again within the year".to_owned(),
    };
    format!("{} at the end of {month}, most at {at}; {dries}", water(peak, units))
}

fn surfaces(mould: &Mould, units: UnitSystem) -> Block {
    let most = percent(MOULD_HUMIDITY.value);
    let Some(month) = mould.month else {
        let title = "Humidity at the inside surface";
        let mut block = Block::new(Tone::Plain, title);
        block.line("", "No month is colder than the room.");
        return block;
    };
    let title =
        format!("Humidity at the inside surface in {}, the critical month", month_name(month));
    let mut block = Block::new(Tone::Plain, title);
    block.line("Temperature factor needed", grouped(mould.factor_needed, 2));
    let list = |path: &MouldPath| {
        let risk =
            if path.at_risk() { format!(", over {most}: mould can grow") } else { String::new() };
        let share = if path.share > 0.0 { percent(path.share) } else { "none expected".to_owned() };
        let rh = if path.surface_rh > 1.0 {
            "vapour condenses".to_owned()
        } else {
            format!("{} humid", percent(path.surface_rh))
        };
        (
            format!("{}, {share}", path_words(path.place, path.state)),
            format!("factor {}, {rh}{risk}", grouped(path.factor, 2)),
        )
    };
    for (when, paths) in [("Now", &mould.before), ("After the fill", &mould.after)] {
        block.line(when, "at each path:");
        for (label, text) in paths.iter().map(list) {
            block.line(format!("  {label}"), text);
        }
    }
    let film = match units {
        UnitSystem::Ip => "R 1.42",
        UnitSystem::Si => "0.25 m²K/W",
    };
    block.line(
        "",
        format!(
            "With an inside film of {film}, as behind furniture (ISO 13788, from memory); corners and \
             sills are colder."
        ),
    );
    block
}
