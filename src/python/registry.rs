//! The registries: fields, results, materials.

use crate::house::{Absent, FIELDS, FieldDef, Kind, RESULTS, ResultDef, Scope};
use crate::tables::{MATERIALS, Role};
use crate::units::{Quantity, UnitSystem};
use pyo3::prelude::*;
use pyo3::types::PyTuple;

/// A field of a house.
#[pyclass(frozen, get_all, module = "studbay", name = "Field")]
pub(crate) struct Field {
    /// Its name, with the inch-pound unit where it has one.
    name_ip: &'static str,
    /// Its name with the SI unit; `None` where both systems write the same number.
    name_si: Option<&'static str>,
    /// The inch-pound unit; empty for a pure number, money, text.
    unit_ip: &'static str,
    /// The SI unit.
    unit_si: &'static str,
    /// What is allowed, in the inch-pound unit.
    range_ip: String,
    /// What is allowed, in the SI unit.
    range_si: String,
    /// What is taken when it is not given, inch-pound; `required` where nothing is.
    default: String,
    /// The same in the SI unit.
    default_si: String,
    /// Whether a house cannot be assessed without it.
    required: bool,
    /// `number`, `whole`, `choice` or `text`.
    kind: &'static str,
    /// Where it may stand: `flat`, `house`, `surface`, or two of them with a comma between.
    ///
    /// `flat`: keywords, or a row of a table. `house`: the head of a house with a list of
    /// surfaces. `surface`: in such a list.
    #[pyo3(name = "where")]
    place: &'static str,
    /// What it means.
    help: &'static str,
    /// Where the default comes from; empty where there is nothing to cite.
    source: &'static str,
    /// The words that may be written, for a choice.
    choices: Py<PyTuple>,
}

impl Field {
    fn new(py: Python<'_>, def: &FieldDef) -> PyResult<Self> {
        let (kind, choices): (_, &[&str]) = match def.kind {
            Kind::Number => ("number", &[]),
            Kind::Whole => ("whole", &[]),
            Kind::Choice(choices) => ("choice", choices.words()),
            Kind::Text => ("text", &[]),
        };
        Ok(Self {
            name_ip: def.ip,
            name_si: def.si,
            unit_ip: def.quantity.unit(UnitSystem::Ip),
            unit_si: def.quantity.unit(UnitSystem::Si),
            range_ip: def.range(UnitSystem::Ip),
            range_si: def.range(UnitSystem::Si),
            default: def.default_text(UnitSystem::Ip),
            default_si: def.default_text(UnitSystem::Si),
            required: matches!(def.absent, Absent::Refused),
            kind,
            place: match def.scope {
                Scope::House => "flat, house",
                Scope::Wall => "flat, surface",
                Scope::FlatOnly => "flat",
                Scope::SurfaceOnly => "surface",
            },
            help: def.help,
            source: def.source,
            choices: PyTuple::new(py, choices)?.unbind(),
        })
    }
}

#[pymethods]
impl Field {
    fn __repr__(&self) -> String {
        format!("<Field {}: {}>", self.name_ip, self.range_ip)
    }
}

/// A result of an assessment.
#[pyclass(frozen, get_all, module = "studbay", name = "Result")]
pub(crate) struct Result {
    /// Its name, with the inch-pound unit where it has one.
    name_ip: &'static str,
    /// Its name with the SI unit; `None` where both systems write the same number.
    name_si: Option<&'static str>,
    /// The inch-pound unit; empty for a pure number, money, words.
    unit_ip: &'static str,
    /// The SI unit.
    unit_si: &'static str,
    /// What it means.
    help: &'static str,
}

impl From<&ResultDef> for Result {
    fn from(def: &ResultDef) -> Self {
        Self {
            name_ip: def.ip,
            name_si: def.si,
            unit_ip: def.quantity.unit(UnitSystem::Ip),
            unit_si: def.quantity.unit(UnitSystem::Si),
            help: def.help,
        }
    }
}

#[pymethods]
impl Result {
    fn __repr__(&self) -> String {
        format!("<Result {}>", self.name_ip)
    }
}

/// A material that a surface may name. Its resistance is that of the whole layer.
#[pyclass(frozen, get_all, module = "studbay", name = "Material")]
pub(crate) struct Material {
    /// The key that a house gives.
    key: &'static str,
    /// What it is, in words.
    label: &'static str,
    /// Where it belongs: `cladding`, `sheathing`, `interior_finish` or `other`.
    role: &'static str,
    /// The thickness that the resistance is for, in; `None` where it has no meaning.
    thickness_in: Option<f64>,
    /// The same, mm.
    thickness_mm: Option<f64>,
    /// Thermal resistance of the layer, h·ft²·°F/Btu.
    r_h_ft2_f_btu: f64,
    /// The same, m²K/W.
    r_m2k_w: f64,
    /// The least resistance that such a product plausibly has, h·ft²·°F/Btu.
    low: f64,
    /// The greatest.
    high: f64,
    /// Where the number comes from, and how well it is known.
    source: String,
}

impl From<&crate::tables::Material> for Material {
    fn from(material: &crate::tables::Material) -> Self {
        Self {
            key: material.key,
            label: material.label,
            role: match material.role {
                Role::Cladding => "cladding",
                Role::Sheathing => "sheathing",
                Role::InteriorFinish => "interior_finish",
                Role::Other => "other",
            },
            thickness_in: material.thickness_in,
            thickness_mm: material.thickness_in.map(|ip| Quantity::Length.si_from_ip(ip)),
            r_h_ft2_f_btu: material.r_h_ft2_f_btu,
            r_m2k_w: Quantity::Resistance.si_from_ip(material.r_h_ft2_f_btu),
            low: material.low,
            high: material.high,
            source: material.citation.to_string(),
        }
    }
}

#[pymethods]
impl Material {
    fn __repr__(&self) -> String {
        format!("<Material {}: R {}>", self.key, self.r_h_ft2_f_btu)
    }
}

/// Every field that a house may have.
///
/// Returns:
///     The fields, in the order of the field reference.
#[pyfunction]
pub(crate) fn fields(py: Python<'_>) -> PyResult<Vec<Field>> {
    FIELDS.iter().map(|def| Field::new(py, def)).collect()
}

/// Every result of an assessment.
///
/// Returns:
///     The results, in the order in which tables carry them.
#[pyfunction]
pub(crate) fn results() -> Vec<Result> {
    RESULTS.iter().map(Result::from).collect()
}

/// Every material that a surface may name.
///
/// Returns:
///     The materials, in the order of their table.
#[pyfunction]
pub(crate) fn materials() -> Vec<Material> {
    MATERIALS.iter().map(Material::from).collect()
}
