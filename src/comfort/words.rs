//! Inside surface temperatures in words.

use super::{Comfort, PathComfort, Place, State, SurfaceComfort, Temperature};
use crate::holds::holds;
use crate::house::{House, SurfaceKind};
use crate::units::UnitSystem;
use crate::words::{Block, Tone, grouped};

/// What the temperatures leave out; printed with every result.
pub const LIMITS: &[&str] = &[
    "Steady state in one dimension: heat goes straight through each path, so the edge of a stud is \
     blurred in a real wall and corners, sills and plates are colder than any figure here.",
    "No air leaks through the wall: a draught in a missed bay makes it colder still.",
    "One film on the room side: behind furniture and curtains the surface is colder.",
    "A thermal scan shows differences of this size only with some 10 °C (18 °F) between indoors and \
     outdoors, after hours without sun on the wall [common practice, no source].",
];

/// A temperature with its unit.
pub(crate) fn degrees(temperature: Temperature, units: UnitSystem) -> String {
    let unit = match units {
        UnitSystem::Ip => "°F",
        UnitSystem::Si => "°C",
    };
    format!("{} {unit}", grouped(temperature.express(units), 1))
}

/// A difference of temperatures with its unit.
fn apart(warm: Temperature, cold: Temperature, units: UnitSystem) -> String {
    let (difference, unit) = match units {
        UnitSystem::Ip => (warm.f() - cold.f(), "°F"),
        UnitSystem::Si => (warm.c() - cold.c(), "°C"),
    };
    format!("{} {unit}", grouped(difference.abs(), 1))
}

/// A path in words.
pub(crate) fn path_words(place: Place, state: State) -> &'static str {
    match (place, state) {
        (Place::Framing, State::Found) => "Framing",
        (Place::Framing, State::Filled) => "Framing, covered",
        (Place::Framing, State::Missed) => "Framing, missed",
        (Place::Bay, State::Found) => "Bay as found",
        (Place::Bay, State::Filled) => "Filled bay",
        (Place::Bay, State::Missed) => "Missed bay",
        (Place::BareBay, State::Found) => "Bay without its batt",
        (Place::BareBay, State::Filled) => "Filled bay without its batt",
        (Place::BareBay, State::Missed) => "Missed bay without its batt",
    }
}

/// A share in per cent.
pub(crate) fn percent(share: f64) -> String {
    let text = grouped(share * 100.0, 1);
    format!("{} %", text.strip_suffix(".0").unwrap_or(&text))
}

impl Comfort {
    /// The temperatures in words: the house's holds first, then each surface, then the limits.
    pub fn account(&self, house: &House, units: UnitSystem) -> Vec<Block> {
        let mut blocks: Vec<Block> = holds(house).collect();
        for (index, surface) in self.surfaces.iter().enumerate() {
            blocks.push(self.surface(index, surface, units));
        }
        let mut block = Block::new(Tone::Plain, "What these temperatures leave out");
        for limit in LIMITS {
            block.line("", *limit);
        }
        blocks.push(block);
        blocks
    }

    fn surface(&self, index: usize, surface: &SurfaceComfort, units: UnitSystem) -> Block {
        let kind = match surface.kind {
            SurfaceKind::Wall => "wall",
            SurfaceKind::Slope => "slope",
            SurfaceKind::Floor => "floor",
            SurfaceKind::AtticFloor => "attic floor",
        };
        let name = surface.name.as_ref().map_or_else(
            || {
                if self.surfaces.len() > 1 {
                    format!("{kind} {}", index + 1)
                } else {
                    kind.to_owned()
                }
            },
            |name| format!("{name} ({kind})"),
        );
        let title = format!(
            "Inside surface temperature, {name}: {} in the room, {} outdoors (modelled)",
            degrees(self.design.indoor(), units),
            degrees(self.design.outdoor(), units)
        );
        let mut block = Block::new(Tone::Answer, title);
        if surface.far_side != self.design.outdoor() {
            let far = degrees(surface.far_side, units);
            block.line("Beyond it", format!("{far}, by its temperature factor"));
        }
        let mut list = |when: &str, paths: &[PathComfort], mean: Temperature| {
            block.line(when, format!("{} on average", degrees(mean, units)));
            for path in paths {
                let words = path_words(path.path.place, path.path.state);
                let share = match percent(path.path.share).as_str() {
                    "0 %" => "none expected".to_owned(),
                    share => format!("{share} of the area"),
                };
                let humid = match path.surface_rh {
                    None => String::new(),
                    Some(rh) if rh > 1.0 => "; the room's vapour condenses on it".to_owned(),
                    Some(rh) => format!("; air at it {} humid", percent(rh)),
                };
                let text = format!("{} ({share}{humid})", degrees(path.surface, units));
                block.line(format!("  {words}"), text);
            }
        };
        list("Now", &surface.before, surface.mean_before());
        list("After the fill", &surface.after, surface.mean_after());
        let found = |paths: &[PathComfort], states: &[State], place| {
            paths
                .iter()
                .find(|path| path.path.place == place && states.contains(&path.path.state))
                .map(|path| path.surface)
        };
        // Where every bay lacks its batt, that is the bay to speak of.
        let bay = |state| {
            found(&surface.after, &[state], Place::Bay)
                .or_else(|| found(&surface.after, &[state], Place::BareBay))
        };
        let framing = found(&surface.after, &[State::Found, State::Filled], Place::Framing);
        if let (Some(filled), Some(framing), Some(missed)) =
            (bay(State::Filled), framing, bay(State::Missed))
        {
            let side = |other: Temperature| if other < filled { "colder" } else { "warmer" };
            let text = format!(
                "beside a filled bay the framing is {} {}, a missed bay {} {}",
                apart(filled, framing, units),
                side(framing),
                apart(filled, missed, units),
                side(missed)
            );
            block.line("A thermal scan would show", text);
        }
        if !surface.ordered {
            block.line(
                "",
                "The order of the layers is not known here, so there is no profile through them.",
            );
        }
        block
    }
}
