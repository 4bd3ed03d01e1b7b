//! A house as a list of names and values, so that one house can go through every door.

use std::fmt::Write as _;
use studbay::error::InputError;
use studbay::house::{Cell, Field, House, HouseBuilder, Layer, SurfaceBuilder};
use studbay::units::{Quantity, UnitSystem};

/// A value of a field.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Value {
    Number(f64),
    Word(String),
}

impl From<f64> for Value {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}

impl From<&str> for Value {
    fn from(word: &str) -> Self {
        Self::Word(word.to_owned())
    }
}

impl Value {
    pub(crate) fn cell(&self) -> Cell<'_> {
        match self {
            Self::Number(number) => Cell::Number(*number),
            Self::Word(word) => Cell::Text(word),
        }
    }

    /// As TOML and JSON both write it; the shortest digits that read back as the same number.
    fn literal(&self) -> String {
        match self {
            Self::Number(number) => format!("{number:?}"),
            Self::Word(word) => format!("{word:?}"),
        }
    }

    /// As a table cell or a form writes it.
    fn text(&self) -> String {
        match self {
            Self::Number(number) => format!("{number}"),
            Self::Word(word) => word.clone(),
        }
    }
}

/// Names with their values, in order.
#[derive(Clone, Debug, Default)]
pub(crate) struct Fields(pub(crate) Vec<(&'static str, Value)>);

impl Fields {
    pub(crate) fn with(mut self, name: &'static str, value: impl Into<Value>) -> Self {
        self.set(name, value);
        self
    }

    pub(crate) fn maybe<V: Into<Value>>(self, name: &'static str, value: Option<V>) -> Self {
        match value {
            Some(value) => self.with(name, value),
            None => self,
        }
    }

    pub(crate) fn set(&mut self, name: &'static str, value: impl Into<Value>) {
        let value = value.into();
        match self.0.iter_mut().find(|(known, _)| *known == name) {
            Some((_, old)) => *old = value,
            None => self.0.push((name, value)),
        }
    }

    pub(crate) fn unset(&mut self, name: &str) {
        self.0.retain(|(known, _)| *known != name);
    }

    pub(crate) fn number(&self, name: &str) -> Option<f64> {
        self.0.iter().find_map(|(known, value)| match value {
            Value::Number(number) if *known == name => Some(*number),
            _ => None,
        })
    }

    pub(crate) fn scale(&mut self, name: &'static str, factor: f64) {
        let number = self.number(name).unwrap();
        self.set(name, number * factor);
    }

    fn to_si(&self) -> Self {
        Self(self.0.iter().map(|(name, value)| si_pair(name, value)).collect())
    }

    fn toml(&self, text: &mut String) {
        for (name, value) in &self.0 {
            let _ = writeln!(text, "{name} = {}", value.literal());
        }
    }

    fn json(&self, text: &mut String) {
        for (name, value) in &self.0 {
            let _ = write!(text, "\"{name}\": {}, ", value.literal());
        }
    }
}

/// Names of a layer: inch-pound, SI, what kind of number.
const LAYER: [(&str, &str, Quantity); 3] = [
    ("r", "rsi", Quantity::Resistance),
    ("thickness_in", "thickness_mm", Quantity::Length),
    ("r_per_in", "k_w_mk", Quantity::Resistivity),
];

/// The field's quantity and SI name, if SI writes another number.
pub(crate) fn si_name(ip: &str) -> Option<(&'static str, Quantity)> {
    if let Some((_, si, quantity)) = LAYER.iter().find(|(name, _, _)| *name == ip) {
        return Some((si, *quantity));
    }
    let def = Field::from_name(ip)?.0.def();
    Some((def.si?, def.quantity))
}

fn si_pair(name: &'static str, value: &Value) -> (&'static str, Value) {
    match (si_name(name), value) {
        (Some((si, quantity)), Value::Number(ip)) => (si, quantity.si_from_ip(*ip).into()),
        _ => (name, value.clone()),
    }
}

/// A surface of a list.
#[derive(Clone, Debug, Default)]
pub(crate) struct SurfaceSpec {
    pub(crate) fields: Fields,
    pub(crate) layers: Vec<Fields>,
}

/// A house; flat where it lists no surfaces.
#[derive(Clone, Debug, Default)]
pub(crate) struct Spec {
    pub(crate) head: Fields,
    pub(crate) surfaces: Vec<SurfaceSpec>,
}

impl Spec {
    pub(crate) fn flat(fields: &[(&'static str, Value)]) -> Self {
        Self { head: Fields(fields.to_vec()), surfaces: Vec::new() }
    }

    pub(crate) fn with(mut self, name: &'static str, value: impl Into<Value>) -> Self {
        self.head.set(name, value);
        self
    }

    pub(crate) fn without(mut self, name: &str) -> Self {
        self.head.unset(name);
        self
    }

    /// The same house under SI names.
    pub(crate) fn to_si(&self) -> Self {
        let surface = |s: &SurfaceSpec| SurfaceSpec {
            fields: s.fields.to_si(),
            layers: s.layers.iter().map(Fields::to_si).collect(),
        };
        Self { head: self.head.to_si(), surfaces: self.surfaces.iter().map(surface).collect() }
    }

    /// Through the builder, each value as the number or word that it is.
    pub(crate) fn try_build(&self) -> Result<House, InputError> {
        self.begin().build()
    }

    pub(crate) fn build(&self) -> House {
        self.try_build().unwrap_or_else(|error| panic!("{self:?}\nmust be valid: {error}"))
    }

    /// Through the builder, each value as text.
    pub(crate) fn build_from_text(&self) -> House {
        self.builder(|value| Value::Word(value.text())).build().unwrap()
    }

    /// The builder with everything in it, to add to.
    pub(crate) fn begin(&self) -> HouseBuilder {
        self.builder(Value::clone)
    }

    fn builder(&self, door: impl Fn(&Value) -> Value) -> HouseBuilder {
        let mut house = House::builder();
        if !self.surfaces.is_empty() {
            house.list_surfaces();
        }
        for (name, value) in &self.head.0 {
            house.give(name, door(value).cell());
        }
        for surface in &self.surfaces {
            let mut builder = SurfaceBuilder::default();
            for (name, value) in &surface.fields.0 {
                builder.give(name, door(value).cell());
            }
            for (place, layer) in surface.layers.iter().enumerate() {
                let cells: Vec<_> = layer.0.iter().map(|(n, v)| (*n, door(v))).collect();
                match Layer::from_cells(cells.iter().map(|(name, value)| (*name, value.cell()))) {
                    Ok(layer) => builder.add_layer(layer),
                    Err(issues) => {
                        let path = format!("layers[{place}]");
                        for issue in issues {
                            builder.fault(issue.within(&path));
                        }
                    }
                }
            }
            house.add_surface(builder);
        }
        house
    }

    pub(crate) fn to_toml(&self) -> String {
        let mut text = String::new();
        self.head.toml(&mut text);
        for surface in &self.surfaces {
            text.push_str("\n[[surfaces]]\n");
            surface.fields.toml(&mut text);
            for layer in &surface.layers {
                text.push_str("[[surfaces.layers]]\n");
                layer.toml(&mut text);
            }
        }
        text
    }

    pub(crate) fn to_json(&self) -> String {
        let list = |items: Vec<String>| format!("[{}]", items.join(", "));
        let object = |fields: &Fields, rest: &str| {
            let mut text = "{".to_owned();
            fields.json(&mut text);
            text.push_str(rest);
            format!("{}}}", text.trim_end_matches(", "))
        };
        let surface = |surface: &SurfaceSpec| {
            let layers: Vec<_> = surface.layers.iter().map(|layer| object(layer, "")).collect();
            let rest = if layers.is_empty() { String::new() } else { "\"layers\": ".to_owned() };
            let rest = if rest.is_empty() { rest } else { rest + &list(layers) };
            object(&surface.fields, &rest)
        };
        let surfaces: Vec<_> = self.surfaces.iter().map(surface).collect();
        let rest = if surfaces.is_empty() {
            String::new()
        } else {
            format!("\"surfaces\": {}", list(surfaces))
        };
        object(&self.head, &rest)
    }

    /// Every group of fields: the head, each surface, each layer.
    pub(crate) fn groups(&mut self) -> Vec<&mut Fields> {
        let mut groups = vec![&mut self.head];
        for surface in &mut self.surfaces {
            groups.push(&mut surface.fields);
            groups.extend(surface.layers.iter_mut());
        }
        groups
    }

    /// The house as a list of one wall, where it is flat.
    pub(crate) fn listed(&self) -> Self {
        let mut head = Fields::default();
        let mut fields = Fields::default();
        for (name, value) in &self.head.0 {
            use studbay::house::Scope;
            match Field::from_name(name).unwrap().0.def().scope {
                Scope::House => head.0.push((name, value.clone())),
                Scope::FlatOnly => fields.set("area_ft2", value.clone()),
                Scope::Wall | Scope::SurfaceOnly => fields.0.push((name, value.clone())),
            }
        }
        Self { head, surfaces: vec![SurfaceSpec { fields, layers: Vec::new() }] }
    }
}

/// Results of a house by their inch-pound names; words left out.
pub(crate) fn numbers(house: &House) -> Vec<(&'static str, Option<f64>)> {
    use studbay::house::{ResultValue, assess};
    let figures = |(name, value)| match value {
        ResultValue::Number(number) => Some((name, number)),
        ResultValue::Word(_) | ResultValue::Words(_) => None,
    };
    assess(house).results(UnitSystem::Ip).filter_map(figures).collect()
}

/// The same, as bits, with the words.
pub(crate) fn bits(house: &House) -> Vec<String> {
    use studbay::house::{ResultValue, assess};
    let line = |(name, value)| match value {
        ResultValue::Number(number) => format!("{name} {:?}", number.map(f64::to_bits)),
        other => format!("{name} {other:?}"),
    };
    assess(house).results(UnitSystem::Ip).map(line).collect()
}
