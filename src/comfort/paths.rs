//! The heat-flow paths of a surface as layers one behind the other, before and after the work.
//!
//! Every resistance is that of the assessment: the paths come from the functions that
//! [`crate::house::assess`] calls, and are only taken apart here.

use crate::assembly::{attic_paths_after, attic_paths_before, paths_after, paths_before};
use crate::error::{Issue, IssueCode};
use crate::house::{Body, LayerBody, Series, Surface, Terms};
use crate::numeric::Plain;
use crate::tables::{Material, Role};
use crate::units::{Length, RValue, UValue};

/// Where in the surface a path runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// Through a stud, rafter or joist.
    Framing,
    /// Through a bay with whatever batt there is.
    Bay,
    /// Through a bay without the batt that the others have.
    BareBay,
}

impl Place {
    /// The code, stable for programs.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Framing => "framing",
            Self::Bay => "bay",
            Self::BareBay => "bare_bay",
        }
    }
}

/// What the work does to a path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// As the surveyor found it.
    Found,
    /// Filled, or covered with fill.
    Filled,
    /// Part of the work, but missed: as it was found.
    Missed,
}

impl State {
    /// The code, stable for programs.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Found => "found",
            Self::Filled => "filled",
            Self::Missed => "missed",
        }
    }
}

/// Which side of the cavity the batt lies on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum BattSide {
    /// Behind the interior finish: the usual way, stapled from the room.
    #[default]
    Inside,
    /// Against the sheathing.
    Outside,
}

impl BattSide {
    /// Reads `inside` or `outside`.
    pub fn from_key(key: &str) -> Option<Self> {
        match key {
            "inside" => Some(Self::Inside),
            "outside" => Some(Self::Outside),
            _ => None,
        }
    }
}

/// What a layer of a path is.
#[derive(Clone, Copy, Debug)]
#[non_exhaustive]
pub enum Substance {
    /// A surface film.
    Film,
    /// A material of the table.
    Material(&'static Material),
    /// Stud, rafter or joist.
    Framing,
    /// The batt, gaps round it counted.
    Batt(Length),
    /// Air in the cavity.
    Air,
    /// Fibre.
    Fill(Length),
    /// Layers whose order is not known.
    Lumped,
}

/// A layer of a path.
#[derive(Clone, Debug)]
pub struct PathLayer {
    /// What it is, in words.
    pub name: String,
    /// Its resistance.
    pub r: RValue,
    /// What it is.
    pub substance: Substance,
}

/// A heat-flow path from the room to the far side.
#[derive(Clone, Debug)]
pub struct Path {
    /// Where it runs.
    pub place: Place,
    /// What the work does to it.
    pub state: State,
    /// Its share of the surface; 0 for a missed bay where none is expected.
    pub share: f64,
    /// Its transmittance, gaps round a batt counted, as the assessment has it.
    pub u: UValue,
    /// Its layers from the room outward, both films included; their resistances sum to `1/u`.
    pub layers: Vec<PathLayer>,
}

/// The paths of a surface before and after the work.
#[derive(Clone, Debug)]
pub struct Paths {
    /// As found.
    pub before: Vec<Path>,
    /// After the work, a missed bay among them.
    pub after: Vec<Path>,
    /// Whether the order of the layers is known: the surface names its cladding, sheathing and
    /// interior finish.
    pub ordered: bool,
}

/// What lies on either side of the cavity, films apart.
struct Around {
    inside: Vec<&'static Material>,
    outside: Vec<&'static Material>,
}

/// The layers by side, where every one of them says by its role where it belongs.
fn around(surface: &Surface) -> Option<Around> {
    let materials: Vec<&'static Material> = match surface.series() {
        Series::Total(_) => return None,
        Series::Materials(places) => Series::materials(*places).collect(),
        Series::Layers(layers) => layers
            .iter()
            .map(|layer| match layer.body {
                LayerBody::Material(material) => Some(material),
                LayerBody::Resistance(_) | LayerBody::Slab(..) => None,
            })
            .collect::<Option<_>>()?,
    };
    let of = |role| materials.iter().copied().filter(move |m| m.role == role);
    if of(Role::Other).next().is_some() {
        return None;
    }
    let solid = |material: &&Material| material.r_h_ft2_f_btu > 0.0;
    Some(Around {
        inside: of(Role::InteriorFinish).filter(solid).collect(),
        outside: of(Role::Sheathing).chain(of(Role::Cladding)).filter(solid).collect(),
    })
}

/// Puts films and layers round what is in the cavity.
struct Stack {
    film_inside: f64,
    film_outside: f64,
    around: Option<Around>,
}

impl Stack {
    fn path(&self, place: Place, state: State, share: f64, u: f64, core: &[PathLayer]) -> Path {
        let layer = |name: &str, r, substance| PathLayer {
            name: name.to_owned(),
            r: RValue::checked(r),
            substance,
        };
        let material =
            |m: &&'static Material| layer(m.label, m.r_h_ft2_f_btu, Substance::Material(m));
        let mut layers = vec![layer("air film, room side", self.film_inside, Substance::Film)];
        match &self.around {
            Some(around) => {
                layers.extend(around.inside.iter().map(material));
                layers.extend(core.iter().filter(|layer| layer.r.ip() > 0.0).cloned());
                layers.extend(around.outside.iter().map(material));
            }
            None => {
                let rest = (1.0 / u - self.film_inside - self.film_outside).max(0.0);
                layers.push(layer("layers and cavity together", rest, Substance::Lumped));
            }
        }
        layers.push(layer("air film, far side", self.film_outside, Substance::Film));
        Path { place, state, share, u: UValue::checked(u), layers }
    }
}

fn piece(name: &str, r: f64, substance: Substance) -> PathLayer {
    PathLayer { name: name.to_owned(), r: RValue::checked(r.max(0.0)), substance }
}

/// The paths of a surface.
///
/// # Errors
/// An [`Issue`] where `series_r` is less than the two surface films that must be in it.
pub fn paths(surface: &Surface, batt_side: BattSide) -> Result<Paths, Issue> {
    let [inside, outside] = surface.kind().films();
    let films = inside.r_h_ft2_f_btu + outside.r_h_ft2_f_btu;
    if surface.series_r().ip() < films - 1e-9 {
        let reason = format!(
            "must hold both surface films, {films:.2} h·ft²·°F/Btu together, for a temperature of \
             the surface"
        );
        let value = format!("{}", surface.series_r().ip());
        return Err(Issue::new(IssueCode::OutOfRange, "series_r", value, reason));
    }
    let stack = |around| Stack {
        film_inside: inside.r_h_ft2_f_btu,
        film_outside: outside.r_h_ft2_f_btu,
        around,
    };
    match Terms::read(&Plain, surface).body {
        Body::Packed(terms) => {
            let stack = stack(around(surface));
            let before = paths_before(&Plain, &terms);
            let after = paths_after(&Plain, &terms, before.r_batt);
            let batt =
                |name, r: f64, in_: f64| piece(name, r, Substance::Batt(Length::checked(in_)));
            let fill = |r: f64, in_: f64| {
                piece("dense-packed cellulose", r, Substance::Fill(Length::checked(in_)))
            };
            let sided = |batt: PathLayer, rest: PathLayer| match batt_side {
                BattSide::Inside => [batt, rest],
                BattSide::Outside => [rest, batt],
            };
            let depth = terms.depth_in;
            let frame = [piece("framing", before.frame - terms.series_r, Substance::Framing)];
            let air = before.batt - terms.series_r - before.r_batt;
            // What gaps cost is taken from the batt, so that the layers sum to the path's value.
            let r_batt = 1.0 / before.u_batt - (before.batt - before.r_batt);
            let found = sided(
                batt("batt, gaps counted", r_batt, terms.batt_thickness_in),
                piece("air space", air, Substance::Air),
            );
            let bare = [piece("air space", before.void - terms.series_r, Substance::Air)];
            let squeezed = if terms.batt_compression > 0.0 { "batt, squeezed" } else { "batt" };
            let filled = sided(
                batt(squeezed, after.r_batt, depth - after.fill_beside_batt),
                fill(after.batt - terms.series_r - after.r_batt, after.fill_beside_batt),
            );
            let filled_bare = [fill(after.void - terms.series_r, depth)];
            let bays = Bays {
                phi: terms.framing_fraction,
                missing: if terms.batt_thickness_in > 0.0 {
                    terms.batt_missing_fraction
                } else {
                    0.0
                },
                missed: terms.missed_fraction,
            };
            let frame_u = 1.0 / before.frame;
            Ok(bays.paths(
                &stack,
                [(frame_u, &frame), (frame_u, &frame)],
                [(before.u_batt, &found), (1.0 / before.void, &bare)],
                [(1.0 / after.batt, &filled), (1.0 / after.void, &filled_bare)],
            ))
        }
        Body::Open(terms) => {
            // Old insulation, fill and joists overlap in height: the layers stay together.
            let stack = stack(None);
            let before = attic_paths_before(&Plain, &terms);
            let after = attic_paths_after(&Plain, &terms, &before);
            let bays = Bays {
                phi: terms.framing_fraction,
                missing: if terms.batt_thickness_in > 0.0 {
                    terms.batt_missing_fraction
                } else {
                    0.0
                },
                missed: terms.missed_fraction,
            };
            Ok(bays.paths(
                &stack,
                [(1.0 / before.joist, &[]), (1.0 / after.joist, &[])],
                [(before.u_bay, &[]), (1.0 / terms.series_r, &[])],
                [(1.0 / after.bay, &[]), (1.0 / after.void, &[])],
            ))
        }
    }
}

/// Shares of a surface.
struct Bays {
    phi: f64,
    missing: f64,
    missed: f64,
}

/// Transmittance of a path, and what is in its cavity.
type Core<'c> = (f64, &'c [PathLayer]);

impl Bays {
    /// The framing found and after, bay and bare bay found, bay and bare bay filled.
    fn paths(
        &self,
        stack: &Stack,
        [framing, framing_after]: [Core<'_>; 2],
        found: [Core<'_>; 2],
        filled: [Core<'_>; 2],
    ) -> Paths {
        use Place::{BareBay, Bay, Framing};
        let Self { phi, missing, missed } = *self;
        let bays = |state, part: f64, cores: [Core<'_>; 2]| {
            let shares = [(Bay, 1.0 - missing), (BareBay, missing)];
            shares
                .into_iter()
                .zip(cores)
                .filter(|((_, share), _)| *share > 0.0)
                .map(|((place, share), (u, core))| {
                    stack.path(place, state, (1.0 - phi) * part * share, u, core)
                })
                .collect::<Vec<_>>()
        };
        // What is missed at the joists of an attic stays too.
        let frame = |state, share, (u, core): Core<'_>| stack.path(Framing, state, share, u, core);
        let mut before = vec![frame(State::Found, phi, framing)];
        before.extend(bays(State::Found, 1.0, found));
        let covered = framing_after.0 < framing.0;
        let mut after = if covered {
            vec![
                frame(State::Filled, phi * (1.0 - missed), framing_after),
                frame(State::Missed, phi * missed, framing),
            ]
        } else {
            vec![frame(State::Found, phi, framing)]
        };
        after.extend(bays(State::Filled, 1.0 - missed, filled));
        after.extend(bays(State::Missed, missed, found));
        Paths { before, after, ordered: stack.around.is_some() }
    }
}
