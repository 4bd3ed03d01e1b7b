//! Random houses for the tests, valid and not.

use super::{Cell, Choices, FIELDS, Field, House, Kind, Scope};
use proptest::prelude::*;

/// A flat row: names and cells as text.
pub(crate) type Row = Vec<(&'static str, String)>;

/// Numbers of a field that are likely in practice, so that most rows are valid.
fn usual(field: Field) -> (f64, f64) {
    match field {
        Field::WallArea => (1.0, 5000.0),
        Field::FillDensity => (3.0, 6.0),
        Field::HeatingDegreeDays => (0.0, 12_000.0),
        Field::CavityDepth => (3.0, 12.0),
        Field::BattThickness => (0.0, 4.0),
        Field::InstalledCost | Field::BilledHeatingFuel | Field::TaxCreditCap => (0.0, 20_000.0),
        Field::Rebate => (0.0, 500.0),
        Field::FuelPrice | Field::ElectricityPrice => (0.0, 6.0),
        Field::DiscountRate | Field::FuelEscalation | Field::ElectricityEscalation => (-0.15, 0.3),
        other => (other.def().low, other.def().high),
    }
}

fn cell(field: Field) -> BoxedStrategy<String> {
    let def = field.def();
    let (low, high) = usual(field);
    match def.kind {
        Kind::Text => Just("sample".to_owned()).boxed(),
        Kind::Choice(choices) => {
            // Metal is refused; a random choice would refuse half the rows.
            let words: Vec<&'static str> = match choices {
                Choices::FramingMaterial => vec!["wood"],
                other => other.words().to_vec(),
            };
            prop::sample::select(words).prop_map(str::to_owned).boxed()
        }
        Kind::Whole => {
            #[expect(clippy::cast_possible_truncation, reason = "registry ranges are small")]
            let range = (low as i32)..=(high as i32);
            range.prop_map(|whole| whole.to_string()).boxed()
        }
        Kind::Number => (low..high).prop_map(|number| number.to_string()).boxed(),
    }
}

/// Cells that are wrong, or at least odd, anywhere.
#[cfg(feature = "arrow")]
fn odd() -> impl Strategy<Value = String> {
    prop::sample::select(vec!["", " ", "NaN", "-1", "inf", "1e300", "25%", "maybe", "0", "1,5"])
        .prop_map(str::to_owned)
}

/// Fields that a flat row can have and that do not exclude one another.
fn together() -> impl Iterator<Item = Field> {
    let apart = [
        Field::Cladding,
        Field::Sheathing,
        Field::InteriorFinish,
        Field::GridRegion,
        Field::GridRate,
    ];
    FIELDS
        .iter()
        .filter(|def| def.scope != Scope::SurfaceOnly)
        .map(|def| def.field)
        .filter(move |field| !apart.contains(field))
}

fn required(field: Field) -> bool {
    matches!(
        field,
        Field::HouseId
            | Field::WallArea
            | Field::SeriesR
            | Field::HeatingDegreeDays
            | Field::HeatingEfficiency
            | Field::Fuel
            | Field::FuelPrice
            | Field::InstalledCost
    )
}

/// A row, mostly valid: all required fields, each optional one as likely as not.
fn valid_row() -> impl Strategy<Value = Row> {
    let cells: Vec<BoxedStrategy<Option<(&'static str, String)>>> = together()
        .map(|field| {
            let name = field.def().ip;
            let given = cell(field).prop_map(move |text| (name, text));
            if required(field) {
                given.prop_map(Some).boxed()
            } else {
                prop::option::of(given).boxed()
            }
        })
        .collect();
    let materials = prop::option::weighted(
        0.2,
        [Choices::Cladding, Choices::Sheathing, Choices::InteriorFinish]
            .map(|choices| prop::sample::select(choices.words().to_vec())),
    );
    let grid = prop::option::weighted(
        0.3,
        (
            prop::sample::select(Choices::GridRegion.words().to_vec()),
            prop::sample::select(Choices::GridRate.words().to_vec()),
        ),
    );
    (cells, materials, grid).prop_map(|(cells, materials, grid)| {
        let mut row: Row = cells.into_iter().flatten().collect();
        let drop = |row: &mut Row, field: Field| row.retain(|(name, _)| *name != field.def().ip);
        if let Some(words) = materials {
            drop(&mut row, Field::SeriesR);
            for (name, word) in ["cladding", "sheathing", "interior_finish"].into_iter().zip(words)
            {
                row.push((name, word.to_owned()));
            }
        }
        if let Some((region, rate)) = grid {
            drop(&mut row, Field::GridFactor);
            row.push(("grid_region", region.to_owned()));
            row.push(("grid_rate", rate.to_owned()));
        }
        // What the registry cannot know: the two limits that depend on another field.
        let number = |row: &Row, field: Field| {
            row.iter().find(|(name, _)| *name == field.def().ip).and_then(|(_, t)| t.parse().ok())
        };
        let depth: f64 = number(&row, Field::CavityDepth).unwrap_or(3.5);
        if number(&row, Field::BattThickness).is_some_and(|t: f64| t > depth) {
            drop(&mut row, Field::BattThickness);
        }
        let cost: f64 = number(&row, Field::InstalledCost).unwrap_or(0.0);
        if number(&row, Field::Rebate).is_some_and(|rebate: f64| rebate > cost) {
            drop(&mut row, Field::Rebate);
        }
        row
    })
}

/// A row of which one in four has odd cells.
#[cfg(feature = "arrow")]
pub(crate) fn any_row() -> impl Strategy<Value = Row> {
    let spoiled = prop::collection::vec((any::<prop::sample::Index>(), odd()), 1..3);
    (valid_row(), prop::option::weighted(0.25, spoiled)).prop_map(|(mut row, spoiled)| {
        for (place, text) in spoiled.into_iter().flatten() {
            let place = place.index(row.len());
            row[place].1 = text;
        }
        row
    })
}

/// Any flat house that the registry allows, with optional fields given or not.
pub(crate) fn any_house() -> impl Strategy<Value = House> {
    valid_row().prop_map(|row| {
        let mut house = House::builder();
        for (name, text) in &row {
            house.give(name, Cell::Text(text));
        }
        house.build().unwrap_or_else(|e| unreachable!("a sample must be valid: {e}"))
    })
}
