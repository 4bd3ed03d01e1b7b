//! A wall as vapour sees it: layers with thermal resistance and equivalent air thickness.

use crate::tables::STRIP_R_MAX;

/// A layer of a section.
#[derive(Clone, Debug, PartialEq)]
pub struct VapourLayer {
    /// What it is, in words.
    pub name: String,
    /// Thermal resistance, m²K/W; 0 for a coat of paint.
    pub r_m2k_w: f64,
    /// Thickness of still air that hinders vapour as much, m.
    pub sd_m: f64,
}

/// Layers from the room outward between two surface films.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    film_inside: f64,
    film_outside: f64,
    nodes: Vec<Node>,
}

/// A face between two layers or strips, a surface at either end.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Where it is, in words.
    pub place: String,
    /// Thermal resistance from the room's air to it, m²K/W.
    pub r_m2k_w: f64,
    /// Equivalent air thickness from the inside surface to it, m.
    pub sd_m: f64,
}

/// Strips of one layer, at most.
const MOST_STRIPS: f64 = 200.0;

impl Section {
    /// A section of these layers; those thicker than 0.25 m²K/W are cut into equal strips, as
    /// ISO 13788 has it (from memory). `None` where a resistance is not finite or below 0, an
    /// equivalent air thickness is not finite or not above 0, or there is no layer at all.
    pub fn new(film_inside: f64, film_outside: f64, layers: &[VapourLayer]) -> Option<Self> {
        let film = |r: f64| r.is_finite() && r > 0.0;
        let sound = |layer: &VapourLayer| {
            layer.r_m2k_w.is_finite()
                && layer.r_m2k_w >= 0.0
                && layer.sd_m.is_finite()
                && layer.sd_m >= 1e-9
        };
        if layers.is_empty()
            || !film(film_inside)
            || !film(film_outside)
            || !layers.iter().all(sound)
        {
            return None;
        }
        let (mut r, mut sd) = (film_inside, 0.0);
        let mut nodes = vec![Node { place: "inside surface".to_owned(), r_m2k_w: r, sd_m: sd }];
        for (index, layer) in layers.iter().enumerate() {
            let strips = libm::ceil(layer.r_m2k_w / STRIP_R_MAX.value).clamp(1.0, MOST_STRIPS);
            let mut strip = 1.0;
            while strip <= strips {
                let place = match layers.get(index + 1) {
                    _ if strip < strips => format!("within {}", layer.name),
                    Some(next) => format!("{} | {}", layer.name, next.name),
                    None => "outside surface".to_owned(),
                };
                nodes.push(Node {
                    place,
                    r_m2k_w: r + layer.r_m2k_w * (strip / strips),
                    sd_m: sd + layer.sd_m * (strip / strips),
                });
                strip += 1.0;
            }
            r += layer.r_m2k_w;
            sd += layer.sd_m;
        }
        Some(Self { film_inside, film_outside, nodes })
    }

    /// The nodes, from the inside surface to the outside surface.
    pub fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// Resistance from air to air, m²K/W.
    pub fn r_m2k_w(&self) -> f64 {
        self.nodes.last().map_or(self.film_inside, |node| node.r_m2k_w) + self.film_outside
    }

    /// Temperatures of the nodes, °C.
    pub fn temperatures_c(&self, inside_c: f64, outside_c: f64) -> Vec<f64> {
        let total = self.r_m2k_w();
        let fall = inside_c - outside_c;
        self.nodes.iter().map(|node| inside_c - fall * (node.r_m2k_w / total)).collect()
    }
}
