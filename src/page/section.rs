//! A section through a surface, now and after: thickness to scale, one band for each path that heat can take.

use super::markup::{Drawing, short};
use super::speech::Speech;
use crate::house::{Fill, House, LayerBody, Series, Surface, SurfaceKind};
use crate::numeric::notes::Notes;
use crate::tables::{MATERIALS, Material, Role};
use crate::units::Quantity;

/// A layer outside the cavity, as it is drawn.
#[cfg_attr(not(feature = "page"), expect(dead_code, reason = "the page around it names them"))]
#[derive(Debug)]
pub(crate) struct Skin {
    /// What it is; user text or a material's label.
    pub(crate) label: String,
    /// Its resistance, h·ft²·°F/Btu; none where only a sum is known.
    pub(crate) r: Option<f64>,
    matter: Matter,
    thickness_in: Option<f64>,
}

/// What is drawn, each with a pattern of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Matter {
    Cladding,
    Board,
    Finish,
    Frame,
    Batt,
    Air,
    Fill,
    Unknown,
}

impl Matter {
    const ALL: [Self; 8] = [
        Self::Cladding,
        Self::Board,
        Self::Finish,
        Self::Frame,
        Self::Batt,
        Self::Air,
        Self::Fill,
        Self::Unknown,
    ];

    const fn name(self) -> &'static str {
        match self {
            Self::Cladding => "cladding",
            Self::Board => "board",
            Self::Finish => "finish",
            Self::Frame => "frame",
            Self::Batt => "batt",
            Self::Air => "air",
            Self::Fill => "fill",
            Self::Unknown => "unknown",
        }
    }

    /// Ground colour, and the marks on it.
    const fn pattern(self) -> (&'static str, &'static str) {
        match self {
            Self::Cladding => ("#cdb693", "<path d=\"M0 6h12\" stroke=\"#6b5433\"/>"),
            Self::Board => {
                ("#e3d3b4", "<path d=\"M0 12 12 0\" stroke=\"#8a7148\" stroke-width=\".8\"/>")
            }
            Self::Finish => ("#e9e6df", "<circle cx=\"3\" cy=\"3\" r=\".8\" fill=\"#77726a\"/>"),
            Self::Frame => (
                "#d9bf8f",
                "<path d=\"M0 0 12 12M12 0 0 12\" stroke=\"#80632c\" stroke-width=\".8\"/>",
            ),
            Self::Batt => {
                ("#f3e3a1", "<path d=\"M0 6q3-6 6 0t6 0\" fill=\"none\" stroke=\"#7d6a1c\"/>")
            }
            Self::Air => ("#ffffff", ""),
            Self::Fill => (
                "#b9c6cc",
                "<circle cx=\"3\" cy=\"3\" r=\"1.1\" fill=\"#3d5560\"/><circle cx=\"9\" cy=\"8\" r=\"1.1\" fill=\"#3d5560\"/>",
            ),
            Self::Unknown => {
                ("#f2f2f2", "<path d=\"M2 10l2-2\" stroke=\"#555\" stroke-width=\".8\"/>")
            }
        }
    }
}

/// One way for the heat, from outside in.
struct Path {
    name: &'static str,
    share: f64,
    /// None where the drawing has no figure for it.
    r: Option<f64>,
    /// From, to (inches from the outer face), and what is there.
    parts: Vec<(f64, f64, Matter)>,
}

/// A layer without a thickness is drawn this thick, with broken edges.
const NOMINAL_IN: f64 = 0.375;

/// The layers outside the cavity: those towards the outside and those towards the room, each from outside in.
pub(crate) fn skins(speech: &Speech, surface: &Surface) -> (Vec<Skin>, Vec<Skin>) {
    let of = |material: &'static Material| Skin {
        label: speech.words.or(&format!("material:{}", material.key), material.label).to_owned(),
        r: Some(material.r_h_ft2_f_btu),
        matter: match material.role {
            Role::Cladding => Matter::Cladding,
            Role::Sheathing | Role::Other => Matter::Board,
            Role::InteriorFinish => Matter::Finish,
        },
        thickness_in: material.thickness_in,
    };
    match surface.series() {
        Series::Total(_) => {
            let unknown = || Skin {
                label: speech.words.get("layers_unknown").to_owned(),
                r: None,
                matter: Matter::Unknown,
                thickness_in: None,
            };
            (vec![unknown()], vec![unknown()])
        }
        Series::Materials(places) => {
            let there = |material: &&'static Material| material.r_h_ft2_f_btu > 0.0;
            let all = places.iter().flatten().filter_map(|place| MATERIALS.get(*place));
            let (inner, outer): (Vec<_>, Vec<_>) =
                all.filter(there).partition(|material| material.role == Role::InteriorFinish);
            (outer.into_iter().map(of).collect(), inner.into_iter().map(of).collect())
        }
        Series::Layers(layers) => {
            let is_finish = |body: &LayerBody| matches!(body, LayerBody::Material(m) if m.role == Role::InteriorFinish);
            // Where the cavity stands in the list is not said: before the first interior finish, or before the last layer.
            let split = layers
                .iter()
                .position(|layer| is_finish(&layer.body))
                .unwrap_or(layers.len().saturating_sub(1));
            let skin = |(place, layer): (usize, &crate::house::Layer)| {
                let base = match layer.body {
                    LayerBody::Material(material) => of(material),
                    LayerBody::Resistance(r) => Skin {
                        label: speech.words.get("layer_unnamed").to_owned(),
                        r: Some(r.ip()),
                        matter: Matter::Unknown,
                        thickness_in: None,
                    },
                    LayerBody::Slab(thickness, _) => Skin {
                        label: speech.words.get("layer_unnamed").to_owned(),
                        r: Some(layer.r().ip()),
                        matter: if place < split { Matter::Board } else { Matter::Finish },
                        thickness_in: Some(thickness.ip()),
                    },
                };
                match &layer.name {
                    Some(name) => Skin { label: name.clone(), ..base },
                    None => base,
                }
            };
            let mut first: Vec<Skin> = layers.iter().enumerate().map(skin).collect();
            let mut last = first.split_off(split.min(first.len()));
            if surface.kind() == SurfaceKind::Floor {
                // A floor is listed from its top: the room is first, the ceiling below is last.
                first.reverse();
                last.reverse();
                return (last, first);
            }
            (first, last)
        }
    }
}

/// The drawings of a surface, now and after.
pub(crate) fn section(
    speech: &Speech,
    house: &House,
    notes: &Notes,
    place: usize,
    id: &str,
) -> [String; 2] {
    let Some(surface) = house.surfaces().get(place) else {
        return [String::new(), String::new()];
    };
    let (outer, inner) = skins(speech, surface);
    let note = |symbol: &str| notes.figure(Some(place), symbol);
    let (now, after, deep) = match surface.fill() {
        Fill::Packed(fill) => packed(surface, fill.missed.ip(), &note),
        Fill::Open(fill) => open(surface, fill.depth.ip(), fill.missed.ip(), &note),
    };
    let draw = |paths: Vec<Path>, when: &str| {
        let cut =
            Cut { speech, surface, outer: &outer, inner: &inner, deep, id: format!("{id}-{when}") };
        cut.draw(&paths, when)
    };
    [draw(now, "now"), draw(after, "after")]
}

type Note<'n> = &'n dyn Fn(&str) -> Option<f64>;

/// The paths of a packed cavity. Where in it the batt lies is not known; it is drawn against the room side.
fn packed(surface: &Surface, missed: f64, note: Note<'_>) -> (Vec<Path>, Vec<Path>, f64) {
    let depth = surface.framing().depth.ip();
    let (frame, cavity) = shares(surface);
    let missing =
        if surface.batt().thickness.ip() > 0.0 { surface.batt().missing.ip() } else { 1.0 };
    let (batt_now, batt_after) =
        (surface.batt().thickness.ip(), note("batt_thickness_after_in").unwrap_or(0.0));
    let behind = |batt: f64, matter| {
        let mut parts = vec![(0.0, depth - batt, matter), (depth - batt, depth, Matter::Batt)];
        parts.retain(|part| part.1 - part.0 > 1e-9);
        parts
    };
    let framing = || Path {
        name: "path_frame",
        share: frame,
        r: note("r_frame"),
        parts: vec![(0.0, depth, Matter::Frame)],
    };
    let over = |u: Option<f64>| u.map(|u| 1.0 / u);
    let now = vec![
        framing(),
        Path {
            name: "path_batt",
            share: cavity * (1.0 - missing),
            // What gaps round the batt let through is in it.
            r: over(note("u_batt_path")),
            parts: behind(batt_now, Matter::Air),
        },
        Path {
            name: if batt_now > 0.0 { "path_no_batt" } else { "path_empty" },
            share: cavity * missing,
            r: note("r_void_path"),
            parts: vec![(0.0, depth, Matter::Air)],
        },
    ];
    let filled = cavity * (1.0 - missed);
    let after = vec![
        framing(),
        Path {
            name: "path_batt_fill",
            share: filled * (1.0 - missing),
            r: note("r_fill_batt"),
            parts: behind(batt_after, Matter::Fill),
        },
        Path {
            name: "path_fill",
            share: filled * missing,
            r: note("r_fill_void"),
            parts: vec![(0.0, depth, Matter::Fill)],
        },
        Path {
            name: "path_missed",
            share: cavity * missed,
            r: over(note("u_cavity_before")),
            parts: if missing < 1.0 {
                behind(batt_now, Matter::Air)
            } else {
                vec![(0.0, depth, Matter::Air)]
            },
        },
    ];
    (present(now), present(after), depth)
}

/// The paths of an open floor, from the top of the fill down to the ceiling.
fn open(surface: &Surface, fill: f64, missed: f64, note: Note<'_>) -> (Vec<Path>, Vec<Path>, f64) {
    let joist = surface.framing().depth.ip();
    let batt = surface.batt().thickness.ip();
    let (frame, bay) = shares(surface);
    let missing = if batt > 0.0 { surface.batt().missing.ip() } else { 1.0 };
    let deep = joist.max(batt + fill);
    // Heights above the ceiling become depths below the top.
    let stack = |layers: &[(f64, Matter)]| {
        let mut at = deep;
        let mut parts = Vec::new();
        for (height, matter) in layers {
            parts.push((at - height, at, *matter));
            at -= height;
        }
        parts.push((0.0, at, Matter::Air));
        parts.retain(|part| part.1 - part.0 > 1e-9);
        parts
    };
    let cover = (batt - joist).max(0.0);
    let fill_cover = note("joist_cover_fill_in").unwrap_or(0.0);
    let path =
        |name, share, r, layers: &[(f64, Matter)]| Path { name, share, r, parts: stack(layers) };
    let over = |u: Option<f64>| u.map(|u| 1.0 / u);
    let series = note("series_r");
    let joist_now = [(joist, Matter::Frame), (cover, Matter::Batt)];
    let now = vec![
        path("path_frame", frame, note("r_joist"), &joist_now),
        path("path_old", bay * (1.0 - missing), over(note("u_bay")), &[(batt, Matter::Batt)]),
        path("path_bare", bay * missing, series, &[]),
    ];
    let kept = 1.0 - missed;
    let joist_after = [(joist, Matter::Frame), (cover, Matter::Batt), (fill_cover, Matter::Fill)];
    let after = vec![
        path("path_frame", frame * kept, note("r_joist_after"), &joist_after),
        path(
            "path_old_fill",
            bay * (1.0 - missing) * kept,
            note("r_bay_after"),
            &[(batt, Matter::Batt), (fill, Matter::Fill)],
        ),
        path(
            "path_fill",
            bay * missing * kept,
            note("r_void_after"),
            &[(batt + fill, Matter::Fill)],
        ),
        path("path_missed", missed, over(note("u_before")), &[(batt, Matter::Batt)]),
    ];
    (present(now), present(after), deep)
}

fn shares(surface: &Surface) -> (f64, f64) {
    let frame = surface.framing().fraction.ip();
    (frame, 1.0 - frame)
}

fn present(mut paths: Vec<Path>) -> Vec<Path> {
    paths.retain(|path| path.share > 1e-9);
    paths
}

/// The cut that is drawn.
struct Cut<'c> {
    speech: &'c Speech,
    surface: &'c Surface,
    outer: &'c [Skin],
    inner: &'c [Skin],
    deep: f64,
    id: String,
}

const WIDTH: f64 = 340.0;
/// Least height of a band: two lines of text.
const BAND: f64 = 36.0;
const TOP: f64 = 50.0;

impl Cut<'_> {
    /// A wall is cut with the outside on the left; what lies flat is drawn lying flat.
    fn draw(&self, paths: &[Path], when: &str) -> String {
        let standing = self.surface.kind() == SurfaceKind::Wall;
        let thick = |skin: &Skin| skin.thickness_in.unwrap_or(NOMINAL_IN);
        let outer: f64 = self.outer.iter().map(thick).sum();
        let inner: f64 = self.inner.iter().map(thick).sum();
        let total = outer + self.deep + inner;
        let room = if standing { 205.0 } else { 190.0 };
        let scale = (room / total).min(34.0);
        let span = scale * total;
        let bands = bands(paths, if standing { 168.0 } else { WIDTH - 82.0 }, standing);
        let across: f64 = bands.iter().sum();
        // From depth and band to a rectangle.
        let floor = self.surface.kind() == SurfaceKind::Floor;
        let (left, top) = if standing { (4.0, TOP) } else { (74.0, 22.0) };
        let rect = |from: f64, to: f64, at: f64, size: f64| {
            if standing {
                [left + from * scale, top + at, (to - from) * scale, size]
            } else if floor {
                [left + at, top + span - to * scale, size, (to - from) * scale]
            } else {
                [left + at, top + from * scale, size, (to - from) * scale]
            }
        };
        let mut drawing = Drawing::default();
        self.patterns(&mut drawing);
        let mut number = 0;
        let mut at = 0.0;
        let outer_skins = self.outer.iter();
        let mut skin = |drawing: &mut Drawing, skin: &Skin, at: &mut f64| {
            let next = *at + thick(skin);
            let place = rect(*at, next, 0.0, across);
            let broken = if skin.thickness_in.is_none() { " stroke-dasharray=\"3 2\"" } else { "" };
            drawing.rect("edge", place, &self.fill(skin.matter, broken));
            number += 1;
            let label = number.to_string();
            if standing {
                // Two rows, so that thin neighbours keep apart.
                let y = top - if number % 2 == 0 { 18.0 } else { 4.0 };
                drawing.text("no", place[0] + place[2] / 2.0, y, "middle", &label);
            } else {
                let x = left - if number % 2 == 0 { 16.0 } else { 5.0 };
                drawing.text("no", x, place[1] + place[3] / 2.0 + 4.5, "end", &label);
            }
            *at = next;
        };
        for one in outer_skins {
            skin(&mut drawing, one, &mut at);
        }
        let cavity = at;
        at += self.deep;
        for one in self.inner {
            skin(&mut drawing, one, &mut at);
        }
        let mut along = 0.0;
        for (path, size) in paths.iter().zip(&bands) {
            for (from, to, matter) in &path.parts {
                let place = rect(cavity + from, cavity + to, along, *size);
                drawing.rect("edge", place, &self.fill(*matter, ""));
            }
            let (x, y, anchor) = if standing {
                (left + span + 8.0, top + along + size / 2.0 - 3.0, "start")
            } else {
                (left + along + size / 2.0, top + span + 18.0, "middle")
            };
            let r = path.r.map_or_else(|| "–".to_owned(), |r| self.speech.r(r));
            drawing.text("path", x, y, anchor, self.speech.words.get(path.name));
            drawing.text(
                "path strong",
                x,
                y + 15.0,
                anchor,
                &format!("{r} · {}", self.speech.percent(path.share, 0)),
            );
            along += size;
        }
        self.ends(&mut drawing, standing, floor, [left, top, span, across]);
        self.ruler(&mut drawing, standing, [left, top, scale, cavity, across, span]);
        let height = if standing { top + across + 44.0 } else { top + span + 62.0 };
        drawing.finish(WIDTH, height, &self.description(paths, when))
    }

    /// Where the outside and the room are.
    fn ends(
        &self,
        drawing: &mut Drawing,
        standing: bool,
        floor: bool,
        [left, top, span, across]: [f64; 4],
    ) {
        let words = &self.speech.words;
        let far = match self.surface.kind() {
            SurfaceKind::Wall | SurfaceKind::Slope => words.get("side_outside"),
            SurfaceKind::Floor => words.get("side_unheated"),
            SurfaceKind::AtticFloor => words.get("side_attic"),
        };
        let room = words.get("side_room");
        if standing {
            drawing.text("side", left, 13.0, "start", far);
            drawing.text("side", left + span, 13.0, "end", room);
        } else {
            let (above, below) = if floor { (room, far) } else { (far, room) };
            drawing.text("side", left + across / 2.0, 14.0, "middle", above);
            drawing.text("side", left + across / 2.0, top + span + 54.0, "middle", below);
        }
    }

    /// The depth of the cavity, as a measure to judge the rest by.
    fn ruler(
        &self,
        drawing: &mut Drawing,
        standing: bool,
        [left, top, scale, cavity, across, span]: [f64; 6],
    ) {
        let depth = self.surface.framing().depth.ip();
        let label = self.speech.quantity_figure(Quantity::Length, depth, 2);
        if standing {
            let (x1, x2) = (left + cavity * scale, left + (cavity + depth) * scale);
            let y = top + across + 10.0;
            for line in [[x1, y, x2, y], [x1, y - 4.0, x1, y + 4.0], [x2, y - 4.0, x2, y + 4.0]] {
                drawing.line("rule", line, "stroke=\"#1d2a30\"");
            }
            drawing.text("measure", f64::midpoint(x1, x2), y + 17.0, "middle", &label);
            return;
        }
        let inner = span - (cavity + self.deep) * scale;
        let floor = self.surface.kind() == SurfaceKind::Floor;
        let (y1, y2) = if floor {
            (top + inner, top + inner + depth * scale)
        } else {
            let y2 = top + (cavity + self.deep) * scale;
            (y2 - depth * scale, y2)
        };
        let x = left - 20.0;
        for line in [[x, y1, x, y2], [x - 4.0, y1, x + 4.0, y1], [x - 4.0, y2, x + 4.0, y2]] {
            drawing.line("rule", line, "stroke=\"#1d2a30\"");
        }
        drawing.text("measure", x - 6.0, f64::midpoint(y1, y2) + 4.5, "end", &label);
    }

    fn fill(&self, matter: Matter, more: &str) -> String {
        format!("fill=\"url(#{}-{})\" stroke=\"#1d2a30\"{more}", self.id, matter.name())
    }

    fn patterns(&self, drawing: &mut Drawing) {
        drawing.raw("<defs>");
        for matter in Matter::ALL {
            let (ground, marks) = matter.pattern();
            drawing.raw(&format!(
                "<pattern id=\"{}-{}\" width=\"12\" height=\"12\" patternUnits=\"userSpaceOnUse\">\
                 <rect width=\"12\" height=\"12\" fill=\"{ground}\"/>{marks}</pattern>",
                self.id,
                matter.name()
            ));
        }
        drawing.raw("</defs>");
    }

    /// What the drawing shows, in words.
    fn description(&self, paths: &[Path], when: &str) -> String {
        let words = &self.speech.words;
        let each: Vec<String> = paths
            .iter()
            .map(|path| {
                let r = path.r.map_or_else(|| "–".to_owned(), |r| self.speech.r(r));
                let share = self.speech.percent(path.share, 0);
                format!("{}: {r}, {share}", words.get(path.name))
            })
            .collect();
        words.fill(&format!("section_{when}_says"), &[("paths", &each.join("; "))])
    }
}

/// Band sizes: their shares, but none thinner than its label.
fn bands(paths: &[Path], across: f64, standing: bool) -> Vec<f64> {
    let least = if standing { BAND } else { (across / 4.0).min(78.0) };
    let count = f64::from(u8::try_from(paths.len()).unwrap_or(u8::MAX));
    let free = (across - least * count).max(0.0);
    let whole: f64 = paths.iter().map(|path| path.share).sum();
    paths.iter().map(|path| least + free * path.share / whole).collect()
}

/// The signs of the drawing with what they mean, in one small drawing each.
#[cfg(feature = "page")]
pub(crate) fn legend(speech: &Speech) -> Vec<(String, String)> {
    Matter::ALL
        .iter()
        .map(|matter| {
            let (ground, marks) = matter.pattern();
            let name = matter.name();
            let sign = format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"sign\" viewBox=\"0 0 28 18\" width=\"28\" height=\"18\" aria-hidden=\"true\">\
                 <defs><pattern id=\"sign-{name}\" width=\"12\" height=\"12\" patternUnits=\"userSpaceOnUse\">\
                 <rect width=\"12\" height=\"12\" fill=\"{ground}\"/>{marks}</pattern></defs>\
                 <rect x=\".5\" y=\".5\" width=\"27\" height=\"17\" fill=\"url(#sign-{name})\" stroke=\"#1d2a30\"/></svg>"
            );
            (sign, speech.words.get(&format!("matter_{name}")).to_owned())
        })
        .collect()
}

/// A bar of a swing between the two paybacks, the payback itself marked; all bars of a page run from `least` to `most`.
pub(crate) fn swing_bar(ends: [Option<f64>; 2], at: f64, [least, most]: [f64; 2]) -> String {
    let place = |years: Option<f64>| {
        let years = years.unwrap_or(most).clamp(least, most);
        2.0 + 96.0 * (years - least) / (most - least)
    };
    let (from, to) = (place(ends[0]), place(ends[1]));
    let endless = if ends.contains(&None) {
        "<path d=\"M95 1l4 5-4 5\" fill=\"none\" stroke=\"#0d5c63\" vector-effect=\"non-scaling-stroke\"/>"
    } else {
        ""
    };
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"bar\" viewBox=\"0 0 100 12\" preserveAspectRatio=\"none\" aria-hidden=\"true\">\
         <rect class=\"swing\" x=\"{}\" y=\"3\" width=\"{}\" height=\"6\" fill=\"#4b8f96\"/>\
         <line class=\"mid\" x1=\"{at}\" y1=\"0\" x2=\"{at}\" y2=\"12\" stroke=\"#1d2a30\" vector-effect=\"non-scaling-stroke\"/>{endless}</svg>",
        short(from.min(to)),
        short((to - from).abs().max(0.5)),
        at = short(place(Some(at))),
    )
}
