//! A block of rows as columns of validated inch-pound numbers.
//!
//! A column holds NaN where nothing was given and no default applies. A row in which anything is
//! out of the ordinary is marked as suspect; the scalar door decides what it is.

use crate::house::{
    Absent, FIELD_COUNT, FIELDS, Field, GridSource, Kind, heating_price, materials_r,
};
use crate::tables::{
    AIR_GAP_LEVELS, CLADDING_PLACES, FUELS, FuelRow, GRID_DEFAULT_KG_PER_KWH,
    INTERIOR_FINISH_PLACES, REFUSAL_DENSITY_ENCLOSED, SHEATHING_PLACES,
};
use crate::units::factor::USI_PER_U;
use crate::units::{Conversion, UnitSystem};

/// Rows in a block: small enough that all columns of a block stay in the cache.
pub(crate) const BLOCK_ROWS: usize = 512;

type Rows = Box<[f64; BLOCK_ROWS]>;

/// One number for the whole block, or one for each row.
#[derive(Clone, Debug)]
pub(crate) enum Column {
    All(f64),
    Each(Rows),
}

impl Column {
    #[inline]
    pub(crate) fn at(&self, row: usize) -> f64 {
        match self {
            Self::All(value) => *value,
            Self::Each(rows) => rows[row],
        }
    }

    fn each(&mut self) -> &mut [f64; BLOCK_ROWS] {
        if let Self::All(value) = *self {
            *self = Self::Each(Box::new([value; BLOCK_ROWS]));
        }
        match self {
            Self::Each(rows) => rows,
            Self::All(_) => unreachable!("made rows of it above"),
        }
    }
}

/// Columns that follow from others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub(crate) enum Derived {
    GapDeltaU,
    MmbtuPerUnit,
    /// 0 for electricity.
    KgCo2ePerMmbtu,
    /// 1 for electricity.
    Electric,
    /// Of the heating fuel: the electricity's where that is electricity.
    HeatingPrice,
    HeatingEscalation,
    GridFactor,
}

const DERIVED: usize = 7;

/// A block of rows as columns.
#[derive(Debug)]
pub(crate) struct Columns {
    fields: Vec<Column>,
    derived: Vec<Column>,
    /// How many columns of the table fill the field.
    sources: [u8; FIELD_COUNT],
    filled: [u8; FIELD_COUNT],
    /// Whether some row of the block has nothing in the field.
    partial: [bool; FIELD_COUNT],
    suspect: Box<[bool; BLOCK_ROWS]>,
    rows: usize,
}

/// The number that stands for "nothing given" before the block is finished.
fn default_number(field: Field) -> f64 {
    let def = field.def();
    match (def.absent, def.kind) {
        (Absent::Number(number), _) => number,
        (Absent::Word(word), Kind::Choice(choices)) => {
            choices.find(word).and_then(|p| u32::try_from(p).ok()).map_or(f64::NAN, f64::from)
        }
        // A flat row is a wall, where recessed lights and flues are not expected.
        _ if field == Field::HeatSources => 0.0,
        _ => f64::NAN,
    }
}

impl Columns {
    /// Columns for a table that has these fields, one entry for each column that fills one.
    pub(crate) fn new(fields: impl Iterator<Item = Field>) -> Self {
        let mut sources = [0; FIELD_COUNT];
        for field in fields {
            sources[field as usize] += 1;
        }
        let column = |def: &crate::house::FieldDef| match sources[def.field as usize] {
            0 => Column::All(default_number(def.field)),
            _ => Column::Each(Box::new([f64::NAN; BLOCK_ROWS])),
        };
        Self {
            fields: FIELDS.iter().map(column).collect(),
            derived: vec![Column::All(f64::NAN); DERIVED],
            sources,
            filled: [0; FIELD_COUNT],
            partial: [false; FIELD_COUNT],
            suspect: Box::new([false; BLOCK_ROWS]),
            rows: 0,
        }
    }

    /// Begins a block of so many rows, at most [`BLOCK_ROWS`].
    pub(crate) fn begin(&mut self, rows: usize) {
        debug_assert!(rows <= BLOCK_ROWS);
        self.rows = rows;
        self.filled = [0; FIELD_COUNT];
        self.partial = [false; FIELD_COUNT];
        self.suspect.fill(false);
    }

    pub(crate) const fn rows(&self) -> usize {
        self.rows
    }

    /// Marks a row for the scalar door.
    #[inline]
    pub(crate) fn suspect(&mut self, row: usize) {
        self.suspect[row] = true;
    }

    #[inline]
    pub(crate) fn is_suspect(&self, row: usize) -> bool {
        self.suspect[row]
    }

    #[inline]
    pub(crate) fn at(&self, field: Field, row: usize) -> f64 {
        self.fields[field as usize].at(row)
    }

    #[inline]
    pub(crate) fn column(&self, field: Field) -> &Column {
        &self.fields[field as usize]
    }

    #[inline]
    pub(crate) fn derived(&self, derived: Derived) -> &Column {
        &self.derived[derived as usize]
    }

    /// Fills a field from one column of the table: `given(row)` is false for nothing given. A
    /// choice comes as its place in the list, NaN for no place. Whatever is not a number in range
    /// is left for the scalar door.
    #[inline]
    pub(crate) fn fill(
        &mut self,
        field: Field,
        units: UnitSystem,
        number: impl Fn(usize) -> f64,
        given: impl Fn(usize) -> bool,
    ) {
        let conversion = match units {
            UnitSystem::Ip => Conversion::Same,
            UnitSystem::Si => field.def().quantity.conversion(),
        };
        // One loop for each conversion, so that none decides anything row by row.
        match conversion {
            Conversion::Same => self.fill_ip(field, units, number, given),
            Conversion::Times(f) => self.fill_ip(field, units, |row| number(row) / f, given),
            Conversion::Over(f) => self.fill_ip(field, units, |row| f / number(row), given),
        }
    }

    #[inline]
    #[expect(clippy::needless_bitwise_bool, reason = "a branch would keep the loop out of vectors")]
    fn fill_ip(
        &mut self,
        field: Field,
        units: UnitSystem,
        number: impl Fn(usize) -> f64,
        given: impl Fn(usize) -> bool,
    ) {
        let (def, place, rows) = (field.def(), field as usize, self.rows);
        let (low, high) = def.bounds(units);
        let first = self.filled[place] == 0;
        self.filled[place] += 1;
        let column = &mut self.fields[place].each()[..rows];
        let suspect = &mut self.suspect[..rows];
        if first {
            let mut all = true;
            for (row, (value, suspect)) in column.iter_mut().zip(&mut *suspect).enumerate() {
                let (ip, given) = (number(row), given(row));
                *suspect |= given & !((low <= ip) & (ip <= high));
                *value = if given { ip } else { f64::NAN };
                all &= given;
            }
            self.partial[place] = !all;
        } else {
            // The second column of a field: a row may have filled only one of them.
            for (row, (value, suspect)) in column.iter_mut().zip(&mut *suspect).enumerate() {
                if given(row) {
                    let ip = number(row);
                    *suspect |= !((low <= ip) & (ip <= high)) | !value.is_nan();
                    *value = ip;
                }
            }
            self.partial[place] = column.iter().any(|value| value.is_nan());
        }
        if def.kind == Kind::Whole {
            for (value, suspect) in column.iter().zip(&mut *suspect) {
                *suspect |= !value.is_nan() & !is_whole(*value);
            }
        }
        if units == UnitSystem::Si {
            // Back inside by the rounding that the bounds forgive.
            for value in column {
                *value = if *value < def.low { def.low } else { *value };
                *value = if *value > def.high { def.high } else { *value };
            }
        }
    }

    /// Applies the defaults and what follows from several fields together.
    pub(crate) fn finish(&mut self) {
        // Before defaults: which of two rules was used is seen by what was given.
        self.series_r();
        self.heating_price();
        self.grid();
        for def in FIELDS {
            let place = def.field as usize;
            if self.sources[place] == 0 {
                continue;
            }
            if !self.partial[place] {
                continue;
            }
            let default = default_number(def.field);
            let rows = self.rows;
            let column = self.fields[place].each();
            if def.absent == Absent::Refused {
                for (suspect, value) in self.suspect.iter_mut().zip(column.iter()).take(rows) {
                    *suspect |= value.is_nan();
                }
            } else if !default.is_nan() {
                for value in &mut column[..rows] {
                    *value = if value.is_nan() { default } else { *value };
                }
            }
        }
        self.fuel();
        self.gap_delta_u();
        self.together();
    }

    /// Leaves to the scalar door the rows in which two fields are odd together.
    fn odd(&mut self, one: Field, other: Field, odd: impl Fn(f64, f64) -> bool) {
        let suspect = &mut self.suspect[..self.rows];
        match (&self.fields[one as usize], &self.fields[other as usize]) {
            (Column::All(a), Column::All(b)) => {
                if odd(*a, *b) {
                    suspect.fill(true);
                }
            }
            (Column::Each(a), Column::All(b)) => {
                suspect.iter_mut().zip(a.iter()).for_each(|(s, a)| *s |= odd(*a, *b));
            }
            (Column::All(a), Column::Each(b)) => {
                suspect.iter_mut().zip(b.iter()).for_each(|(s, b)| *s |= odd(*a, *b));
            }
            (Column::Each(a), Column::Each(b)) => {
                let pairs = a.iter().zip(b.iter());
                suspect.iter_mut().zip(pairs).for_each(|(s, (a, b))| *s |= odd(*a, *b));
            }
        }
    }

    /// What the scalar door refuses for two fields together.
    fn together(&mut self) {
        self.odd(Field::BattThickness, Field::CavityDepth, |batt, depth| batt > depth);
        self.odd(Field::Rebate, Field::InstalledCost, |rebate, cost| rebate > cost);
        let least = REFUSAL_DENSITY_ENCLOSED.value;
        self.odd(Field::FillDensity, Field::FillDensity, |density, _| density < least);
        self.odd(Field::FramingMaterial, Field::FramingMaterial, |material, _| material != 0.0);
        self.odd(Field::SeriesR, Field::SeriesR, |r, _| r.is_nan());
        // The vectors run over suspect rows too: they are given numbers that end quickly.
        if !self.suspect[..self.rows].contains(&true) {
            return;
        }
        for row in (0..self.rows).filter(|row| self.suspect[*row]) {
            for column in self.fields.iter_mut().chain(&mut self.derived) {
                if let Column::Each(rows) = column {
                    rows[row] = 1.0;
                }
            }
        }
    }

    /// `series_r` from materials by name where it is not given.
    fn series_r(&mut self) {
        const NAMES: [(Field, &[usize]); 3] = [
            (Field::Cladding, CLADDING_PLACES),
            (Field::Sheathing, SHEATHING_PLACES),
            (Field::InteriorFinish, INTERIOR_FINISH_PLACES),
        ];
        if NAMES.iter().all(|(field, _)| self.sources[*field as usize] == 0) {
            return;
        }
        for row in 0..self.rows {
            let codes = NAMES.map(|(field, _)| self.fields[field as usize].at(row));
            let named = codes.iter().filter(|code| !code.is_nan()).count();
            let given = !self.at(Field::SeriesR, row).is_nan();
            if named == 0 {
                continue;
            }
            if named < 3 || given {
                self.suspect(row);
                continue;
            }
            let mut places = [None; 3];
            for (slot, (_, materials)) in NAMES.iter().enumerate() {
                places[slot] = materials.get(place(codes[slot])).copied();
            }
            self.fields[Field::SeriesR as usize].each()[row] = materials_r(places);
        }
        // A table without the column has no source to reset it: it is filled anew each time.
        if self.sources[Field::SeriesR as usize] == 0 {
            for row in 0..self.rows {
                let codes = NAMES.map(|(field, _)| self.fields[field as usize].at(row));
                if codes.iter().any(|code| code.is_nan()) {
                    self.fields[Field::SeriesR as usize].each()[row] = f64::NAN;
                }
            }
        }
    }

    fn heating_price(&mut self) {
        let rows = self.rows;
        let own = Field::FuelPrice as usize;
        if self.sources[own] > 0 && !self.partial[own] {
            // Every row has its own: the rule below would take just that.
            let Self { fields, derived, .. } = self;
            let price = derived[Derived::HeatingPrice as usize].each();
            price[..rows].copy_from_slice(&fields[own].each()[..rows]);
            return;
        }
        let mut prices = std::mem::replace(
            &mut self.derived[Derived::HeatingPrice as usize],
            Column::All(f64::NAN),
        );
        let column = prices.each();
        for (row, price) in column.iter_mut().enumerate().take(rows) {
            let fuel = self.at(Field::Fuel, row);
            let electric =
                FUELS.get(place(fuel)).is_some_and(|row| row.kg_co2e_per_mmbtu.is_none());
            let given = |field: Field| {
                let value = self.at(field, row);
                (self.sources[field as usize] > 0 && !value.is_nan()).then_some(value)
            };
            let found =
                heating_price(electric, given(Field::FuelPrice), given(Field::ElectricityPrice));
            *price = found.unwrap_or(f64::NAN);
            self.suspect[row] |= found.is_none();
        }
        self.derived[Derived::HeatingPrice as usize] = prices;
    }

    fn fuel(&mut self) {
        let Self { fields, derived, rows, .. } = self;
        let fuels = match &fields[Field::Fuel as usize] {
            Column::Each(fuels) => &fuels[..*rows],
            // A table without fuels is refused before any block.
            Column::All(_) => return,
        };
        // Suspect rows may have no fuel: they take the first, and are not read.
        let row_of = |fuel: f64| &FUELS[place(fuel).min(FUELS.len() - 1)];
        let mut follow = |what: Derived, value: fn(&FuelRow) -> f64| {
            let column = derived[what as usize].each();
            for (value_of_row, fuel) in column.iter_mut().zip(fuels) {
                *value_of_row = value(row_of(*fuel));
            }
        };
        follow(Derived::MmbtuPerUnit, |fuel| fuel.mmbtu_per_unit);
        follow(Derived::KgCo2ePerMmbtu, |fuel| fuel.kg_co2e_per_mmbtu.unwrap_or(0.0));
        let is_electric = |fuel: &FuelRow| f64::from(u8::from(fuel.kg_co2e_per_mmbtu.is_none()));
        follow(Derived::Electric, is_electric);
        let column = derived[Derived::HeatingEscalation as usize].each();
        let of_fuel = &fields[Field::FuelEscalation as usize];
        let of_electricity = &fields[Field::ElectricityEscalation as usize];
        for (row, (escalation, fuel)) in column.iter_mut().zip(fuels).enumerate() {
            let electric = is_electric(row_of(*fuel)) != 0.0;
            *escalation = if electric { of_electricity.at(row) } else { of_fuel.at(row) };
        }
    }

    fn set(&mut self, derived: Derived, row: usize, value: f64) {
        self.derived[derived as usize].each()[row] = value;
    }

    fn gap_delta_u(&mut self) {
        let correction =
            |level: f64| AIR_GAP_LEVELS.get(place(level)).map_or(f64::NAN, |l| l.0 / USI_PER_U);
        if let Column::All(level) = self.fields[Field::AirGapLevel as usize] {
            self.derived[Derived::GapDeltaU as usize] = Column::All(correction(level));
            return;
        }
        for row in 0..self.rows {
            let value = correction(self.at(Field::AirGapLevel, row));
            self.set(Derived::GapDeltaU, row, value);
        }
    }

    fn grid(&mut self) {
        let fields = [Field::GridFactor, Field::GridRegion, Field::GridRate];
        if fields.iter().all(|field| self.sources[*field as usize] == 0) {
            self.derived[Derived::GridFactor as usize] = Column::All(GRID_DEFAULT_KG_PER_KWH.value);
            return;
        }
        for row in 0..self.rows {
            let given = |field: Field| {
                let value = self.at(field, row);
                (self.sources[field as usize] > 0 && !value.is_nan()).then_some(value)
            };
            let [factor, region, rate] = fields.map(given);
            match GridSource::resolve(factor, region.map(place), rate.map(place)) {
                Some(source) => self.set(Derived::GridFactor, row, source.kg_per_kwh()),
                None => self.suspect(row),
            }
        }
    }
}

/// A choice's place in its list; out of every list for NaN.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a choice is a small whole number, or NaN"
)]
fn place(code: f64) -> usize {
    if code.is_nan() { usize::MAX } else { code as usize }
}

/// Whether a number within ±2^51 is whole: what adding and taking off 2^52 leaves as it is.
#[expect(clippy::float_cmp, reason = "exactly whole")]
fn is_whole(value: f64) -> bool {
    const SHIFT: f64 = 4_503_599_627_370_496.0;
    (value.abs() + SHIFT) - SHIFT == value.abs()
}
