//! Where a number comes from.

use crate::tables::SOURCES;
use std::fmt;

/// The name of a document in the table of sources.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct SourceId(pub &'static str);

/// A document that numbers are taken from.
#[derive(Clone, Copy, Debug)]
pub struct Source {
    /// Its name in the other tables.
    pub id: SourceId,
    /// Its title.
    pub document: &'static str,
    /// Its edition or year.
    pub edition: &'static str,
}

/// How well a number is known to stand in its source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Seen in a stored copy of the document.
    Seen,
    /// Seen quoted in a secondary page.
    SecondHand,
    /// From memory, to be checked before it is quoted.
    Memory,
    /// Common practice, no source.
    Practice,
    /// Derived in this project.
    Derived,
    /// Judged by this project, no source.
    Judgement,
}

impl Mark {
    /// The mark in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Seen => "seen in the document",
            Self::SecondHand => "seen quoted",
            Self::Memory => "from memory",
            Self::Practice => "common practice, no source",
            Self::Derived => "derived here",
            Self::Judgement => "judgement of this project, no source",
        }
    }
}

/// A place in a document, and how well it is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Citation {
    /// The document.
    pub source: SourceId,
    /// Table, section or equation; may be empty.
    pub locator: &'static str,
    /// How well the number is known.
    pub mark: Mark,
}

impl Citation {
    /// A place in a document of the table of sources.
    pub const fn new(source: &'static str, locator: &'static str, mark: Mark) -> Self {
        Self { source: SourceId(source), locator, mark }
    }

    /// The document, when the table of sources has it (a test sees to it that it always has).
    pub fn document(&self) -> Option<&'static Source> {
        SOURCES.iter().find(|source| source.id == self.source)
    }
}

impl fmt::Display for Citation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let document = self.document().map_or(self.source.0, |source| source.document);
        if matches!(self.mark, Mark::Practice | Mark::Judgement) {
            return f.write_str(self.mark.words());
        }
        f.write_str(document)?;
        if !self.locator.is_empty() {
            write!(f, ", {}", self.locator)?;
        }
        write!(f, " [{}]", self.mark.words())
    }
}
