//! A surface of the house: framing, layers, the batt that is there, and the fill to come.

use super::fields::FieldSet;
use crate::assembly::HeatFlow;
use crate::tables::{self, AIR_GAP_LEVELS, Film, MATERIALS, Material};
use crate::units::{Area, Density, Fraction, Length, RValue, Resistivity};

/// What kind of surface.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SurfaceKind {
    /// An outside wall: heat flows sideways.
    Wall,
    /// A sloped ceiling packed between rafters: heat flows up.
    Slope,
    /// A floor over an unheated space: heat flows down.
    Floor,
    /// The open floor of an attic: heat flows up, fibre is blown over what is there.
    AtticFloor,
}

impl SurfaceKind {
    /// Every kind, in the order of the registry's list.
    pub const ALL: [Self; 4] = [Self::Wall, Self::Slope, Self::Floor, Self::AtticFloor];

    /// The word that a user writes.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Wall => "wall",
            Self::Slope => "slope",
            Self::Floor => "floor",
            Self::AtticFloor => "attic_floor",
        }
    }

    pub(crate) const fn heat_flow(self) -> HeatFlow {
        match self {
            Self::Wall => HeatFlow::Horizontal,
            Self::Slope | Self::AtticFloor => HeatFlow::Up,
            Self::Floor => HeatFlow::Down,
        }
    }

    /// The films on the room side and on the far side. Beyond a floor or an attic floor the air
    /// is still, so the film there is that of a room.
    pub(crate) fn films(self) -> [&'static Film; 2] {
        match self {
            Self::Wall => [&tables::FILM_INSIDE_WALL, &tables::FILM_OUTSIDE_WINTER],
            Self::Slope => [&tables::FILM_INSIDE_SLOPE, &tables::FILM_OUTSIDE_WINTER],
            Self::Floor => [&tables::FILM_INSIDE_FLOOR, &tables::FILM_INSIDE_FLOOR],
            Self::AtticFloor => [&tables::FILM_INSIDE_CEILING, &tables::FILM_INSIDE_CEILING],
        }
    }
}

/// Studs, joists or rafters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Framing {
    /// Share of the area.
    pub fraction: Fraction,
    /// Depth along the heat flow: of the cavity, or the height of an attic's joists.
    pub depth: Length,
    /// Resistance of each inch.
    pub resistivity: Resistivity,
}

/// A layer outside the cavity.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// The user's name for it.
    pub name: Option<String>,
    /// What it is.
    pub body: LayerBody,
}

/// What a layer is.
#[derive(Clone, Copy, Debug)]
pub enum LayerBody {
    /// A resistance by number.
    Resistance(RValue),
    /// A material of the table.
    Material(&'static Material),
    /// A thickness of something.
    Slab(Length, Resistivity),
}

impl PartialEq for LayerBody {
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Resistance(a), Self::Resistance(b)) => a == b,
            (Self::Material(a), Self::Material(b)) => a.key == b.key,
            (Self::Slab(a, b), Self::Slab(c, d)) => a == c && b == d,
            _ => false,
        }
    }
}

impl Layer {
    /// Its resistance.
    pub fn r(&self) -> RValue {
        match self.body {
            LayerBody::Resistance(r) => r,
            LayerBody::Material(material) => RValue::checked(material.r_h_ft2_f_btu),
            LayerBody::Slab(thickness, resistivity) => {
                RValue::checked(thickness.ip() * resistivity.ip())
            }
        }
    }
}

/// Everything outside the cavity.
#[derive(Clone, Debug, PartialEq)]
pub enum Series {
    /// One number, films included.
    Total(RValue),
    /// Places in the materials table, outside first; the kind's films are added. Shorter lists
    /// end with `None`.
    Materials([Option<usize>; 3]),
    /// Layers; the kind's films are added.
    Layers(Vec<Layer>),
}

impl Series {
    pub(crate) fn materials(places: [Option<usize>; 3]) -> impl Iterator<Item = &'static Material> {
        places.into_iter().flatten().map(|place| &MATERIALS[place])
    }
}

/// How well a batt fits: ISO 6946's levels of air-void correction.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum AirGapLevel {
    /// No gaps that reach across the insulation.
    #[default]
    None,
    /// Gaps that reach across it.
    Bridging,
    /// Gaps that reach across it, with air free to move on the warm side.
    Circulating,
}

impl AirGapLevel {
    pub(crate) const ALL: [Self; 3] = [Self::None, Self::Bridging, Self::Circulating];

    /// The correction, W/m²K.
    pub fn delta_u_si(self) -> f64 {
        AIR_GAP_LEVELS[self as usize].0
    }
}

/// The insulation that is there now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Batt {
    /// Its thickness; 0 for an empty cavity.
    pub thickness: Length,
    /// Resistance of each inch.
    pub resistivity: Resistivity,
    /// Share of the cavity area without it.
    pub missing: Fraction,
    /// How well it fits.
    pub air_gap_level: AirGapLevel,
}

/// Fibre packed into an enclosed cavity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PackedFill {
    /// At least 3.0 lb/ft³.
    pub density: Density,
    /// Resistance of each inch, where given.
    pub resistivity: Option<Resistivity>,
    /// Share of the batt's thickness by which it is squeezed.
    pub batt_compression: Fraction,
    /// Share of the cavity area that is missed.
    pub missed: Fraction,
    /// Resistance of the air in the cavity before, where given.
    pub air_space: Option<RValue>,
}

/// Fibre blown over an open attic floor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OpenFill {
    /// Depth after settling.
    pub depth: Length,
    /// Density after settling, at most 2.2 lb/ft³.
    pub settled_density: Density,
    /// Resistance of each inch, where given.
    pub resistivity: Option<Resistivity>,
    /// Share of the blown depth by which it settles.
    pub settling: Fraction,
    /// Share of the area that is missed.
    pub missed: Fraction,
}

impl OpenFill {
    /// Depth that the crew blows, before settling.
    pub fn blown_depth(&self) -> Length {
        Length::checked(self.depth.ip() / (1.0 - self.settling.ip()))
    }
}

/// The fill to come: two different things that must not be confused.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fill {
    /// Dense-packed into a cavity.
    Packed(PackedFill),
    /// Blown over an open floor.
    Open(OpenFill),
}

/// A surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    pub(crate) name: Option<String>,
    pub(crate) kind: SurfaceKind,
    pub(crate) area: Area,
    pub(crate) temperature_factor: Fraction,
    pub(crate) framing: Framing,
    pub(crate) series: Series,
    pub(crate) batt: Batt,
    pub(crate) fill: Fill,
    /// Whether the batt is taken out before the fill: an option, never a house file, says so.
    pub(crate) batt_removed: bool,
    pub(crate) given: FieldSet,
    pub(crate) given_si: FieldSet,
}

impl Surface {
    /// The user's name for it.
    pub fn name(&self) -> Option<&str> {
        self.name.as_deref()
    }

    /// What kind of surface.
    pub fn kind(&self) -> SurfaceKind {
        self.kind
    }

    /// Net area.
    pub fn area(&self) -> Area {
        self.area
    }

    /// Net area of the cavities, the framing taken off.
    pub fn cavity_area(&self) -> Area {
        Area::checked(self.area.ip() * (1.0 - self.framing.fraction.ip()))
    }

    /// Share of the temperature difference that stands across it.
    pub fn temperature_factor(&self) -> Fraction {
        self.temperature_factor
    }

    /// Its framing.
    pub fn framing(&self) -> &Framing {
        &self.framing
    }

    /// Everything outside the cavity.
    pub fn series(&self) -> &Series {
        &self.series
    }

    /// The insulation that is there now.
    pub fn batt(&self) -> &Batt {
        &self.batt
    }

    /// Whether the batt is taken out before the cavity is filled.
    pub fn batt_removed(&self) -> bool {
        self.batt_removed
    }

    /// The fill to come.
    pub fn fill(&self) -> &Fill {
        &self.fill
    }
}
