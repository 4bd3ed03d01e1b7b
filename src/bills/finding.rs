//! What a reader of bills must know before they believe a figure.

use std::fmt;

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Weight {
    /// Something was mended or left out; the figures stand.
    Note,
    /// The figures may be wrong.
    Doubt,
    /// The figures must not be used.
    Refuse,
}

impl Weight {
    /// `note`, `doubt` or `refuse`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Doubt => "doubt",
            Self::Refuse => "refuse",
        }
    }
}

/// One thing found in bills, in a fit, or in a comparison.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Stable for programs.
    pub code: &'static str,
    /// How much it weighs.
    pub weight: Weight,
    /// What was found, in a sentence.
    pub text: String,
}

impl Finding {
    pub(crate) fn note(code: &'static str, text: impl Into<String>) -> Self {
        Self { code, weight: Weight::Note, text: text.into() }
    }

    pub(crate) fn doubt(code: &'static str, text: impl Into<String>) -> Self {
        Self { code, weight: Weight::Doubt, text: text.into() }
    }

    pub(crate) fn refuse(code: &'static str, text: impl Into<String>) -> Self {
        Self { code, weight: Weight::Refuse, text: text.into() }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.weight.as_str(), self.text)
    }
}

/// The gravest of them; `None` where there is none.
pub fn gravest(findings: &[Finding]) -> Option<Weight> {
    findings.iter().map(|finding| finding.weight).max()
}
