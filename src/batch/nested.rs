//! Houses with several surfaces in a table: the list-of-struct column `surfaces`.
//!
//! Such a table goes row by row through the scalar door. A row whose list is null is a flat house.

use super::data::{Data, sort};
use super::plan::{Plan, Role};
use crate::error::{InputError, Issue, IssueCode};
use crate::house::{
    Assessment, Cell, Field, House, LAYERS, Layer, SURFACES, SurfaceBuilder, assess,
};
use arrow_array::cast::AsArray;
use arrow_array::{Array, ArrayRef, LargeListArray};
use arrow_buffer::NullBuffer;
use arrow_schema::{ArrowError, DataType, FieldRef, Schema};
use std::ops::Range;
use std::sync::Arc;

/// The type of a list's elements.
fn element(data_type: &DataType) -> Option<&FieldRef> {
    match data_type {
        DataType::List(field)
        | DataType::LargeList(field)
        | DataType::FixedSizeList(field, _)
        | DataType::ListView(field)
        | DataType::LargeListView(field) => Some(field),
        _ => None,
    }
}

/// The place of the column `surfaces`; nothing where the table has none, or only nulls in it. A
/// table of flat houses, each with its wall's area, may have a column of that name that is no list:
/// it is the user's own, as in a file of text.
pub(super) fn column(schema: &Schema) -> Option<usize> {
    let area = |field: &FieldRef| {
        Field::from_name(field.name().trim()).is_some_and(|(field, _)| field == Field::WallArea)
    };
    let flat = schema.fields().iter().any(area);
    let is_list = |data_type: &DataType| match data_type {
        DataType::Null => false,
        other => !flat || element(other).is_some(),
    };
    let fields = schema.fields().iter();
    fields.enumerate().find_map(|(place, field)| {
        (field.name().trim() == SURFACES && is_list(field.data_type())).then_some(place)
    })
}

/// What is wrong with the column at this place.
pub(super) fn faults(schema: &Schema, place: usize) -> Vec<String> {
    let data_type = schema.field(place).data_type();
    if schema.fields().iter().skip(place + 1).any(|field| field.name().trim() == SURFACES) {
        return vec![format!("the column {SURFACES} stands twice")];
    }
    let Some(DataType::Struct(fields)) = element(data_type).map(|field| field.data_type()) else {
        let reason = "a list of surfaces, each a struct of named values, was expected";
        return vec![format!("{SURFACES} is {data_type}: {reason}")];
    };
    let single = |outer: &str, field: &FieldRef| {
        let known = sort(field.data_type()).is_some();
        let reason = "a number, text, or true and false was expected";
        (!known).then(|| format!("{outer}.{} is {}: {reason}", field.name(), field.data_type()))
    };
    let mut faults = Vec::new();
    for field in fields {
        if field.name().trim() != LAYERS || *field.data_type() == DataType::Null {
            faults.extend(single(SURFACES, field));
            continue;
        }
        match element(field.data_type()).map(|field| field.data_type()) {
            Some(DataType::Struct(fields)) => {
                let outer = format!("{SURFACES}.{LAYERS}");
                faults.extend(fields.iter().filter_map(|field| single(&outer, field)));
            }
            Some(other) if sort(other).is_some() => {}
            _ => {
                let reason = "a list of layers was expected, each a struct of named values, a \
                              material's key or a resistance";
                faults.push(format!("{SURFACES}.{LAYERS} is {}: {reason}", field.data_type()));
            }
        }
    }
    faults
}

/// Lists, by where the elements of each begin and end.
struct Lists {
    offsets: Vec<usize>,
    nulls: Option<NullBuffer>,
}

impl Lists {
    /// The lists of a column, and their elements one after the other.
    fn read(array: &ArrayRef) -> Result<(Self, ArrayRef), ArrowError> {
        let Some(field) = element(array.data_type()) else {
            return Err(ArrowError::SchemaError(format!("{} is no list", array.data_type())));
        };
        let array = arrow_cast::cast(array, &DataType::LargeList(Arc::clone(field)))?;
        let lists: &LargeListArray = array.as_list();
        let ends = lists.value_offsets();
        let place = |offset: i64| usize::try_from(offset).unwrap_or(0);
        let first = place(ends.first().copied().unwrap_or(0));
        let last = place(ends.last().copied().unwrap_or(0));
        let offsets = ends.iter().map(|offset| place(*offset) - first).collect();
        // A slice of a long column must not carry the elements of all of it.
        let values = lists.values().slice(first, last - first);
        Ok((Self { offsets, nulls: lists.nulls().cloned() }, values))
    }

    fn at(&self, row: usize) -> Option<Range<usize>> {
        let valid = self.nulls.as_ref().is_none_or(|nulls| nulls.is_valid(row));
        let range = || Some(*self.offsets.get(row)?..*self.offsets.get(row + 1)?);
        if valid { range() } else { None }
    }
}

/// Structs of named values, one column for each name.
struct Named {
    columns: Vec<(String, Data)>,
    nulls: Option<NullBuffer>,
}

impl Named {
    fn read(array: &ArrayRef, but: &str) -> Result<Self, ArrowError> {
        let Some(table) = array.as_struct_opt() else {
            return Err(ArrowError::SchemaError(format!("{} is no struct", array.data_type())));
        };
        let columns = table.fields().iter().zip(table.columns());
        let columns = columns
            .filter(|(field, _)| field.name().trim() != but)
            .map(|(field, column)| Ok((field.name().trim().to_owned(), Data::cast(column)?)))
            .collect::<Result<_, ArrowError>>()?;
        Ok(Self { columns, nulls: table.nulls().cloned() })
    }

    fn is_null(&self, row: usize) -> bool {
        self.nulls.as_ref().is_some_and(|nulls| nulls.is_null(row))
    }

    /// What is given in a row.
    fn cells(&self, row: usize) -> impl Iterator<Item = (&str, Cell<'_>)> {
        let cells = self.columns.iter().map(move |(name, data)| (name.as_str(), data.cell(row)));
        cells.filter(|(_, cell)| !blank(*cell))
    }
}

/// The layers of surfaces.
enum Layers {
    Named(Lists, Named),
    /// Each a material's key or a resistance.
    Short(Lists, Data),
}

/// The column `surfaces`, read so that each row can be made into a house.
pub(super) struct Surfaces {
    lists: Lists,
    fields: Named,
    layers: Option<Layers>,
}

impl Surfaces {
    pub(super) fn read(array: &ArrayRef) -> Result<Self, ArrowError> {
        let (lists, surfaces) = Lists::read(array)?;
        let fields = Named::read(&surfaces, LAYERS)?;
        let layers = surfaces.as_struct_opt().and_then(|table| {
            let place = table.fields().iter().position(|field| field.name().trim() == LAYERS)?;
            Some(table.column(place)).filter(|column| *column.data_type() != DataType::Null)
        });
        let layers = layers.map(|column| {
            let (lists, layers) = Lists::read(column)?;
            Ok::<_, ArrowError>(match layers.data_type() {
                DataType::Struct(_) => Layers::Named(lists, Named::read(&layers, "")?),
                _ => Layers::Short(lists, Data::cast(&layers)?),
            })
        });
        Ok(Self { lists, fields, layers: layers.transpose()? })
    }

    /// Assesses the house of a row.
    pub(super) fn assess(
        &self,
        plan: &Plan,
        data: &[Data],
        row: usize,
    ) -> Result<Assessment, InputError> {
        let mut house = House::builder();
        let list = self.lists.at(row);
        if list.is_some() {
            house.list_surfaces();
        }
        for ((name, role), data) in plan.names().iter().zip(plan.roles()).zip(data) {
            let cell = data.cell(row);
            // A column of a flat house is blank where surfaces are listed.
            if *role != Role::Pass && !blank(cell) {
                house.give(name.trim(), cell);
            }
        }
        for surface in list.into_iter().flatten() {
            house.add_surface(self.surface(surface));
        }
        house.build().map(|house| assess(&house))
    }

    fn surface(&self, place: usize) -> SurfaceBuilder {
        let mut surface = SurfaceBuilder::default();
        if self.fields.is_null(place) {
            let reason = "must be a table of named values, this is nothing";
            surface.fault(Issue::new(IssueCode::WrongType, "", "", reason));
            return surface;
        }
        for (name, cell) in self.fields.cells(place) {
            surface.give(name, cell);
        }
        let (lists, named, short) = match &self.layers {
            None => return surface,
            Some(Layers::Named(lists, named)) => (lists, Some(named), None),
            Some(Layers::Short(lists, short)) => (lists, None, Some(short)),
        };
        let Some(list) = lists.at(place) else { return surface };
        surface.list_layers();
        for (index, layer) in list.enumerate() {
            let layer = match (named, short.map(|data| data.cell(layer))) {
                (Some(named), _) => Layer::from_cells(named.cells(layer)),
                (None, Some(cell @ Cell::Text(_))) => Layer::from_cells([("material", cell)]),
                (None, cell) => Layer::from_cells([("r", cell.unwrap_or(Cell::Blank))]),
            };
            match layer {
                Ok(layer) => surface.add_layer(layer),
                Err(issues) => {
                    let path = format!("{LAYERS}[{index}]");
                    for issue in issues {
                        surface.fault(issue.within(&path));
                    }
                }
            }
        }
        surface
    }
}

fn blank(cell: Cell<'_>) -> bool {
    match cell {
        Cell::Blank => true,
        Cell::Text(text) => text.trim().is_empty(),
        Cell::Number(_) | Cell::Bool(_) => false,
    }
}
