//! The columns of a record batch, read as the few types that blocks are filled from.

use super::decimal;
use super::wide::all_finite;
use super::words::Words;
use crate::house::Cell;
use arrow_array::{
    Array, ArrayRef, BooleanArray, Float64Array, GenericStringArray, Int64Array, LargeStringArray,
    OffsetSizeTrait, StringArray, StringViewArray,
};
use arrow_schema::{ArrowError, DataType};
use std::ops::Range;

/// A column in one of the few types that the blocks are filled from.
pub(super) enum Data {
    Number(Float64Array),
    Whole(Int64Array),
    Text(Text),
    Bool(BooleanArray),
    Nothing,
}

/// A column of text as it came: no string is copied.
pub(super) enum Text {
    Small(StringArray),
    Large(LargeStringArray),
    View(StringViewArray),
    /// Places in a list of distinct strings.
    Coded(Int64Array, Box<Text>),
}

impl Text {
    fn read(array: &ArrayRef) -> Result<Self, ArrowError> {
        use arrow_array::cast::AsArray;
        Ok(match array.data_type() {
            DataType::Utf8 => Self::Small(array.as_string().clone()),
            DataType::LargeUtf8 => Self::Large(array.as_string().clone()),
            DataType::Utf8View => Self::View(array.as_string_view().clone()),
            _ => {
                let Some(coded) = array.as_any_dictionary_opt() else {
                    let text = arrow_cast::cast(array, &DataType::Utf8)?;
                    return Ok(Self::Small(text.as_string().clone()));
                };
                let places = arrow_cast::cast(coded.keys(), &DataType::Int64)?;
                let words = Self::read(coded.values())?;
                Self::Coded(places.as_primitive().clone(), Box::new(words))
            }
        })
    }

    fn len(&self) -> usize {
        match self {
            Self::Small(array) => array.len(),
            Self::Large(array) => array.len(),
            Self::View(array) => array.len(),
            Self::Coded(places, _) => places.len(),
        }
    }

    /// The text of a row; `None` for null.
    #[inline]
    pub(super) fn get(&self, row: usize) -> Option<&str> {
        match self {
            Self::Small(array) => array.is_valid(row).then(|| array.value(row)),
            Self::Large(array) => array.is_valid(row).then(|| array.value(row)),
            Self::View(array) => array.is_valid(row).then(|| array.value(row)),
            Self::Coded(places, words) => {
                let place = places.is_valid(row).then(|| places.value(row))?;
                words.get(usize::try_from(place).ok()?)
            }
        }
    }
}

impl Text {
    /// The places of words in their list. False where some row has no plain word of the list: then
    /// its code is NaN where it has none at all, and each row has to be looked at.
    pub(super) fn codes(&self, words: &Words, rows: Range<usize>, codes: &mut [f64]) -> bool {
        let code = |text: Option<&str>| match text {
            Some(text) if !blank(text) => words.code(text.as_bytes()),
            _ => f64::NAN,
        };
        let base = rows.start;
        match self {
            // A short list of distinct words is looked up once, and not for each row.
            Self::Coded(places, distinct) if distinct.len() <= 64 => {
                let known: Vec<f64> = (0..distinct.len()).map(|i| code(distinct.get(i))).collect();
                for (slot, row) in codes.iter_mut().zip(rows) {
                    let place = places.is_valid(row).then(|| places.value(row));
                    let place = place.and_then(|place| usize::try_from(place).ok());
                    *slot = place.and_then(|p| known.get(p)).copied().unwrap_or(f64::NAN);
                }
            }
            Self::Small(array) if array.null_count() == 0 => {
                words.plain_codes(array.value_data(), &array.value_offsets()[base..], codes);
            }
            Self::Large(array) if array.null_count() == 0 => {
                words.plain_codes(array.value_data(), &array.value_offsets()[base..], codes);
            }
            _ => {
                for (slot, row) in codes.iter_mut().zip(rows.clone()) {
                    *slot = code(self.get(row));
                }
            }
        }
        if !all_finite(codes) {
            // Capitals, spaces: what is no plain word may still be a word.
            for (row, slot) in codes.iter_mut().enumerate() {
                if slot.is_nan() {
                    *slot = code(self.get(base + row));
                }
            }
        }
        all_finite(codes)
    }

    /// Whether all of these are plainly names of houses: neither missing, long nor blank.
    pub(super) fn are_plain_ids(&self, rows: Range<usize>) -> bool {
        fn plain<O: OffsetSizeTrait>(array: &GenericStringArray<O>, rows: Range<usize>) -> bool {
            let (offsets, bytes) = (array.value_offsets(), array.value_data());
            array.null_count() == 0
                && rows.fold(true, |plain, row| {
                    let (from, to) = (offsets[row].as_usize(), offsets[row + 1].as_usize());
                    let first = bytes.get(from).copied().unwrap_or(b' ');
                    plain & (1..=200).contains(&(to - from)) & first.is_ascii_graphic()
                })
        }
        match self {
            Self::Small(array) => plain(array, rows),
            Self::Large(array) => plain(array, rows),
            Self::View(_) | Self::Coded(..) => false,
        }
    }
}

/// The nearest `f64`.
#[expect(clippy::cast_precision_loss, reason = "the declared rule beyond 2^53")]
pub(super) const fn nearest(whole: i64) -> f64 {
    whole as f64
}

impl Data {
    /// Casts a column by the declared rules. Integers beyond 2^53 and decimals take the nearest
    /// `f64`.
    pub(super) fn cast(array: &ArrayRef) -> Result<Self, ArrowError> {
        use arrow_array::cast::AsArray;
        let cast = |to: &DataType| arrow_cast::cast(array, to);
        Ok(match sort(array.data_type()) {
            Some(Sort::Number) => Self::Number(match array.data_type() {
                DataType::Dictionary(_, values) => {
                    // A cast of its own first: from there the rules are those of the values.
                    return Self::cast(&cast(values)?);
                }
                DataType::Int64 => return Ok(Self::Whole(array.as_primitive().clone())),
                kind if kind.is_decimal() => decimal::nearest(array)?,
                _ => cast(&DataType::Float64)?.as_primitive().clone(),
            }),
            Some(Sort::Text) => Self::Text(Text::read(array)?),
            Some(Sort::Bool) => Self::Bool(array.as_boolean().clone()),
            Some(Sort::Nothing) | None => Self::Nothing,
        })
    }

    pub(super) fn cell(&self, row: usize) -> Cell<'_> {
        match self {
            Self::Number(array) if array.is_valid(row) => Cell::Number(array.value(row)),
            Self::Whole(array) if array.is_valid(row) => Cell::Number(nearest(array.value(row))),
            Self::Text(text) => text.get(row).map_or(Cell::Blank, Cell::Text),
            Self::Bool(array) if array.is_valid(row) => Cell::Bool(array.value(row)),
            _ => Cell::Blank,
        }
    }
}

pub(super) enum Sort {
    Number,
    Text,
    Bool,
    Nothing,
}

/// What a type is read as; `None` for what no field can hold.
pub(super) fn sort(data_type: &DataType) -> Option<Sort> {
    Some(match data_type {
        DataType::Null => Sort::Nothing,
        DataType::Boolean => Sort::Bool,
        DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => Sort::Text,
        DataType::Decimal32(..)
        | DataType::Decimal64(..)
        | DataType::Decimal128(..)
        | DataType::Decimal256(..) => Sort::Number,
        other if other.is_numeric() => Sort::Number,
        DataType::Dictionary(_, values) => match sort(values)? {
            Sort::Bool => return None,
            sort => sort,
        },
        _ => return None,
    })
}

pub(super) fn blank(text: &str) -> bool {
    // Most cells show what they are by their first byte.
    text.as_bytes().first().is_none_or(|first| !first.is_ascii_graphic()) && text.trim().is_empty()
}
