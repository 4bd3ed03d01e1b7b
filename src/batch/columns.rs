//! A block of rows as columns of validated inch-pound numbers.
//!
//! A column holds NaN where nothing was given and no default applies. A row in which anything is
//! out of the ordinary is marked as suspect; the scalar door decides what it is.

use super::wide::{all, all_pairs, wide};
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
    any_suspect: bool,
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
            any_suspect: false,
            rows: 0,
        }
    }

    /// Begins a block of so many rows, at most [`BLOCK_ROWS`].
    pub(crate) fn begin(&mut self, rows: usize) {
        debug_assert!(rows <= BLOCK_ROWS);
        self.rows = rows;
        self.filled = [0; FIELD_COUNT];
        self.partial = [false; FIELD_COUNT];
        if std::mem::take(&mut self.any_suspect) {
            self.suspect.fill(false);
        }
    }

    pub(crate) const fn rows(&self) -> usize {
        self.rows
    }

    /// Marks a row for the scalar door.
    #[inline]
    pub(crate) fn suspect(&mut self, row: usize) {
        self.suspect[row] = true;
        self.any_suspect = true;
    }

    /// Whether any row is marked for the scalar door.
    pub(crate) const fn has_suspects(&self) -> bool {
        self.any_suspect
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

    /// Fills a field from one column of the table that has a value in every row. A choice comes as
    /// its place in the list, NaN for no place. Whatever is not a number in range is left for the
    /// scalar door.
    #[inline]
    pub(crate) fn fill_all(&mut self, field: Field, units: UnitSystem, values: &[f64]) {
        debug_assert_eq!(values.len(), self.rows);
        if self.filled[field as usize] > 0 {
            return self.fill(field, units, |row| values[row], |_| true);
        }
        self.filled[field as usize] = 1;
        let column = &mut self.fields[field as usize].each()[..self.rows];
        wide(|| match conversion(field, units) {
            Conversion::Same => column.copy_from_slice(values),
            Conversion::Times(f) => column.iter_mut().zip(values).for_each(|(to, v)| *to = v / f),
            Conversion::Over(f) => column.iter_mut().zip(values).for_each(|(to, v)| *to = f / v),
        });
        self.check(field, units, |_| true);
    }

    /// Fills a field from one column of the table, where `given(row)` is false for nothing given.
    #[inline]
    pub(crate) fn fill(
        &mut self,
        field: Field,
        units: UnitSystem,
        number: impl Fn(usize) -> f64,
        given: impl Fn(usize) -> bool,
    ) {
        let place = field as usize;
        let convert = |value: f64| match conversion(field, units) {
            Conversion::Same => value,
            Conversion::Times(f) => value / f,
            Conversion::Over(f) => f / value,
        };
        let first = self.filled[place] == 0;
        self.filled[place] += 1;
        let column = &mut self.fields[place].each()[..self.rows];
        if first {
            let mut all = true;
            for (row, value) in column.iter_mut().enumerate() {
                let given = given(row);
                *value = if given { convert(number(row)) } else { f64::NAN };
                all &= given;
            }
            self.partial[place] = !all;
        } else {
            // The second column of a field: a row may have filled only one of them.
            for (row, value) in column.iter_mut().enumerate() {
                if given(row) {
                    if !value.is_nan() {
                        self.suspect[row] = true;
                        self.any_suspect = true;
                    }
                    *value = convert(number(row));
                }
            }
            self.partial[place] = column.iter().any(|value| value.is_nan());
        }
        self.check(field, units, given);
    }

    /// Leaves to the scalar door what is given and no number in range, or not whole where it must
    /// be.
    #[inline]
    fn check(&mut self, field: Field, units: UnitSystem, given: impl Fn(usize) -> bool) {
        let def = field.def();
        let (low, high) = def.bounds(units);
        let whole = def.kind == Kind::Whole;
        let column = &mut self.fields[field as usize].each()[..self.rows];
        #[expect(
            clippy::needless_bitwise_bool,
            reason = "a branch would keep the loop out of vectors"
        )]
        let good = |value: f64| (low <= value) & (value <= high);
        let sound = all(column, good) && (!whole || all(column, is_whole));
        if !sound {
            for (row, (value, suspect)) in column.iter().zip(&mut *self.suspect).enumerate() {
                let odd = !good(*value) || (whole && !is_whole(*value));
                *suspect |= odd && given(row);
            }
            self.any_suspect |= self.suspect.contains(&true);
        }
        if units == UnitSystem::Si {
            // Back inside by the rounding that the bounds forgive.
            wide(|| {
                for value in column {
                    *value = if *value < def.low { def.low } else { *value };
                    *value = if *value > def.high { def.high } else { *value };
                }
            });
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
                    self.any_suspect |= *suspect;
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
    #[inline]
    fn odd(&mut self, one: Field, other: Field, odd: impl Fn(f64, f64) -> bool) {
        let rows = self.rows;
        let even = |a, b| !odd(a, b);
        let sound = match (&self.fields[one as usize], &self.fields[other as usize]) {
            (Column::All(a), Column::All(b)) => even(*a, *b),
            (Column::Each(a), Column::All(b)) => all(&a[..rows], |a| even(a, *b)),
            (Column::All(a), Column::Each(b)) => all(&b[..rows], |b| even(*a, b)),
            (Column::Each(a), Column::Each(b)) => all_pairs(&a[..rows], &b[..rows], even),
        };
        if sound {
            return;
        }
        for row in 0..rows {
            if odd(self.at(one, row), self.at(other, row)) {
                self.suspect(row);
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
        if !self.any_suspect {
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
            if found.is_none() {
                self.suspect[row] = true;
                self.any_suspect = true;
            }
        }
        self.derived[Derived::HeatingPrice as usize] = prices;
    }

    /// What follows from the fuel.
    fn fuel(&mut self) {
        let Self { fields, derived, rows, .. } = self;
        let fuels = match &fields[Field::Fuel as usize] {
            Column::Each(fuels) => &fuels[..*rows],
            // A table without fuels is refused before any block.
            Column::All(_) => return,
        };
        let mut follow = |what: Derived, value: fn(&FuelRow) -> f64| {
            let list: Vec<f64> = FUELS.iter().map(value).collect();
            look_up(&list, fuels, derived[what as usize].each());
        };
        follow(Derived::MmbtuPerUnit, |fuel| fuel.mmbtu_per_unit);
        follow(Derived::KgCo2ePerMmbtu, |fuel| fuel.kg_co2e_per_mmbtu.unwrap_or(0.0));
        follow(Derived::Electric, |fuel| f64::from(u8::from(fuel.kg_co2e_per_mmbtu.is_none())));
        let electric = match &derived[Derived::Electric as usize] {
            Column::Each(electric) => electric.clone(),
            Column::All(electric) => Box::new([*electric; BLOCK_ROWS]),
        };
        let of_fuel = &fields[Field::FuelEscalation as usize];
        let of_electricity = &fields[Field::ElectricityEscalation as usize];
        let column = &mut derived[Derived::HeatingEscalation as usize].each()[..*rows];
        let choose = |electric: f64, fuel: f64, electricity: f64| {
            if electric == 0.0 { fuel } else { electricity }
        };
        wide(|| match (of_fuel, of_electricity) {
            (Column::Each(fuel), Column::Each(electricity)) => {
                let sources = electric.iter().zip(fuel.iter()).zip(electricity.iter());
                for (value, ((electric, fuel), electricity)) in column.iter_mut().zip(sources) {
                    *value = choose(*electric, *fuel, *electricity);
                }
            }
            _ => {
                for (row, (value, electric)) in column.iter_mut().zip(electric.iter()).enumerate() {
                    *value = choose(*electric, of_fuel.at(row), of_electricity.at(row));
                }
            }
        });
    }

    fn set(&mut self, derived: Derived, row: usize, value: f64) {
        self.derived[derived as usize].each()[row] = value;
    }

    fn gap_delta_u(&mut self) {
        let corrections: Vec<f64> =
            AIR_GAP_LEVELS.iter().map(|level| level.0 / USI_PER_U).collect();
        let derived = &mut self.derived[Derived::GapDeltaU as usize];
        match &self.fields[Field::AirGapLevel as usize] {
            Column::All(level) => {
                let value = corrections.get(place(*level)).copied();
                *derived = Column::All(value.unwrap_or(f64::NAN));
            }
            Column::Each(levels) => look_up(&corrections, &levels[..self.rows], derived.each()),
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

fn conversion(field: Field, units: UnitSystem) -> Conversion {
    match units {
        UnitSystem::Ip => Conversion::Same,
        UnitSystem::Si => field.def().quantity.conversion(),
    }
}

/// What stands in a short list at each code; NaN for no place in it.
#[inline]
fn look_up(list: &[f64], codes: &[f64], out: &mut [f64; BLOCK_ROWS]) {
    for (value, code) in out.iter_mut().zip(codes) {
        *value = list.get(place(*code)).copied().unwrap_or(f64::NAN);
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
