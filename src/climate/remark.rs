//! What a reader noticed in a weather file.

/// How much a remark matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gravity {
    /// Good to know.
    Note,
    /// The figures may be off by it.
    Warning,
    /// Degree-days from this file are not to be used for a house.
    Grave,
}

impl Gravity {
    /// `note`, `warning` or `grave`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Grave => "grave",
        }
    }
}

/// One thing that a reader noticed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// The sort, stable for programs.
    pub code: &'static str,
    /// How much it matters.
    pub gravity: Gravity,
    /// How often it was met; 1 where counting has no meaning.
    pub count: usize,
    /// In words, a sentence without a full stop.
    pub text: String,
}

impl Remark {
    pub(super) fn new(
        code: &'static str,
        gravity: Gravity,
        count: usize,
        text: impl Into<String>,
    ) -> Self {
        Self { code, gravity, count, text: text.into() }
    }
}

/// Counts what is wrong and keeps the first few places of it.
#[derive(Clone, Debug, Default)]
pub(super) struct Tally {
    pub(super) count: usize,
    first: Vec<String>,
}

impl Tally {
    /// Places that a message names.
    const SHOWN: usize = 3;

    pub(super) fn note(&mut self, place: impl FnOnce() -> String) {
        self.count += 1;
        if self.first.len() < Self::SHOWN {
            self.first.push(place());
        }
    }

    /// `line 3, line 9 and 12 more`.
    pub(super) fn places(&self) -> String {
        let shown = self.first.join(", ");
        match self.count.saturating_sub(self.first.len()) {
            0 => shown,
            more => format!("{shown} and {more} more"),
        }
    }
}
