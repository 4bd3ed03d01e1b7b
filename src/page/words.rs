//! The words of a page: one file a language. A programme can replace any of them.

use std::collections::BTreeMap;

const ENGLISH: &str = include_str!("words/en.json");
const SPANISH: &str = include_str!("words/es.json");
/// The words about many houses, apart: the core in a page needs none of them.
#[cfg(feature = "page")]
const ENGLISH_MANY: &str = include_str!("words/portfolio_en.json");
#[cfg(feature = "page")]
const SPANISH_MANY: &str = include_str!("words/portfolio_es.json");
/// What the names of the words about many houses begin with.
#[cfg(feature = "page")]
const MANY: &str = "many_";

/// The languages that come with the crate, by their tags.
pub const LANGUAGES: [&str; 2] = ["en", "es"];

/// The words of a page in one language.
///
/// A text may hold places such as `{years}`, filled when it is used. Texts of the registries (findings, fuels, materials, fields) are
/// English unless a language has its own under `finding:`, `cleared:`, `fuel:`, `material:`, `spread:`, `field:`, `unit:` and the key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words {
    texts: BTreeMap<String, String>,
}

/// A file of words that is none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BadWords(
    /// What is wrong with it.
    pub String,
);

impl std::fmt::Display for BadWords {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for BadWords {}

impl Words {
    /// The words of a language; `None` where the crate has none.
    pub fn of(language: &str) -> Option<Self> {
        let text = match language {
            "en" => ENGLISH,
            "es" => SPANISH,
            _ => return None,
        };
        let mut words = Self::parse(ENGLISH).ok()?;
        words.texts.extend(Self::parse(text).ok()?.texts);
        Some(words)
    }

    /// The words of a language, those about many houses among them; `None` where the crate has none.
    #[cfg(feature = "page")]
    pub(crate) fn of_all_pages(language: &str) -> Option<Self> {
        let mut words = Self::of(language)?;
        words.texts.extend(Self::parse(ENGLISH_MANY).ok()?.texts);
        if language == "es" {
            words.texts.extend(Self::parse(SPANISH_MANY).ok()?.texts);
        }
        Some(words)
    }

    /// The words that the page of one house needs.
    #[cfg(feature = "page")]
    pub(crate) fn of_a_house(mut self) -> Self {
        self.texts.retain(|name, _| !name.starts_with(MANY));
        self
    }

    /// Words from JSON: an object of texts, as the page itself carries them.
    ///
    /// # Errors
    /// [`BadWords`] where it is no object of texts.
    pub fn parse(json: &str) -> Result<Self, BadWords> {
        serde_json::from_str(json)
            .map(|texts| Self { texts })
            .map_err(|error| BadWords(format!("not an object of texts: {error}")))
    }

    /// Words by their names.
    pub fn from_texts(texts: BTreeMap<String, String>) -> Self {
        Self { texts }
    }

    /// The same words with some of them replaced.
    ///
    /// # Errors
    /// [`BadWords`] for a name that no page uses, and for a text that lacks a place of the one it replaces.
    pub fn replaced(mut self, by: &Self) -> Result<Self, BadWords> {
        for (name, text) in &by.texts {
            let of_registry = REGISTRIES.iter().any(|prefix| name.starts_with(prefix));
            match self.texts.get(name) {
                None if !of_registry => {
                    let known = self.texts.keys().map(String::as_str);
                    let hint = crate::error::nearest(name, known)
                        .map(|near| format!("; is {near} meant?"))
                        .unwrap_or_default();
                    return Err(BadWords(format!("{name}: no page has this text{hint}")));
                }
                Some(old) if places(old).any(|place| !text.contains(place)) => {
                    let wanted: Vec<&str> = places(old).collect();
                    return Err(BadWords(format!("{name}: must hold {}", wanted.join(" and "))));
                }
                _ => {}
            }
            self.texts.insert(name.clone(), text.clone());
        }
        Ok(self)
    }

    /// The text of a name; the name itself where there is none, so that a gap shows.
    pub(crate) fn get<'w>(&'w self, name: &'w str) -> &'w str {
        self.texts.get(name).map_or(name, String::as_str)
    }

    /// The text of a name, or another.
    pub(crate) fn or<'w>(&'w self, name: &str, otherwise: &'w str) -> &'w str {
        self.texts.get(name).map_or(otherwise, String::as_str)
    }

    /// The text of a name with its places filled.
    pub(crate) fn fill(&self, name: &str, with: &[(&str, &str)]) -> String {
        let mut rest = self.get(name);
        let mut out = String::with_capacity(rest.len() + 16);
        // In one pass, so that what is filled in is never taken for a place.
        while let Some((before, from)) = rest.split_once('{') {
            out.push_str(before);
            let Some((place, after)) = from.split_once('}') else {
                out.push('{');
                rest = from;
                continue;
            };
            match with.iter().find(|(name, _)| *name == place) {
                Some((_, text)) => out.push_str(text),
                None => {
                    out.push('{');
                    out.push_str(place);
                    out.push('}');
                }
            }
            rest = after;
        }
        out.push_str(rest);
        out
    }

    #[cfg(feature = "page")]
    pub(crate) fn texts(&self) -> &BTreeMap<String, String> {
        &self.texts
    }
}

/// Names that stand for a key of a registry.
const REGISTRIES: [&str; 7] =
    ["finding:", "cleared:", "fuel:", "material:", "spread:", "field:", "unit:"];

/// The places of a text: `{years}`.
fn places(text: &str) -> impl Iterator<Item = &str> {
    text.match_indices('{').filter_map(|(start, _)| {
        let rest = &text[start..];
        rest.find('}').map(|end| &rest[..=end])
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readiness::FINDINGS;
    use crate::tables::{FUELS, MATERIALS, SPREADS};

    fn own(text: &str) -> BTreeMap<String, String> {
        Words::parse(text).unwrap().texts
    }

    #[test]
    fn the_other_language_lacks_nothing() {
        let (english, spanish) = (own(ENGLISH), own(SPANISH));
        for (name, text) in &english {
            let other = spanish.get(name).unwrap_or_else(|| panic!("{name} is not translated"));
            for place in places(text) {
                assert!(other.contains(place), "{name} lacks {place}");
            }
        }
        let registries = FINDINGS
            .iter()
            .map(|def| format!("finding:{}", def.code))
            .chain(
                FINDINGS
                    .iter()
                    .filter(|def| !def.cleared_by.is_empty())
                    .map(|def| format!("cleared:{}", def.code)),
            )
            .chain(FUELS.iter().map(|row| format!("fuel:{}", row.key)))
            .chain(MATERIALS.iter().map(|row| format!("material:{}", row.key)))
            .chain(SPREADS.iter().map(|row| format!("spread:{}", row.field)));
        for name in registries {
            assert!(spanish.contains_key(&name), "{name} is not translated");
        }
        for name in spanish.keys() {
            let registry = REGISTRIES.iter().any(|prefix| name.starts_with(prefix));
            assert!(registry || english.contains_key(name), "{name} is not used");
        }
    }

    #[test]
    #[cfg(feature = "page")]
    fn the_words_about_many_houses_are_translated() {
        let (english, spanish) = (own(ENGLISH_MANY), own(SPANISH_MANY));
        assert!(english.keys().eq(spanish.keys()));
        for (name, text) in &english {
            assert!(name.starts_with(MANY), "{name}");
            let other = spanish.get(name).unwrap();
            for place in places(text) {
                assert!(other.contains(place), "{name} lacks {place}");
            }
        }
    }

    #[test]
    fn what_is_filled_in_is_never_a_place() {
        let words = Words::parse(r#"{"a": "{x} and {y}, {z"}"#).unwrap();
        assert_eq!(words.fill("a", &[("x", "{y}"), ("y", "2")]), "{y} and 2, {z");
    }

    #[test]
    fn a_replacement_must_exist_and_keep_its_places() {
        let words = || Words::of("en").unwrap();
        let by = |json| words().replaced(&Words::parse(json).unwrap()).map_err(|e| e.0);
        assert!(by(r#"{"titel": "x"}"#).unwrap_err().contains("is title meant?"));
        assert!(by(r#"{"range": "x"}"#).unwrap_err().contains("must hold {short} and {long}"));
        assert_eq!(by(r#"{"title": "Ours"}"#).unwrap().get("title"), "Ours");
        assert_eq!(by(r#"{"fuel:propane": "LP"}"#).unwrap().or("fuel:propane", ""), "LP");
    }
}
