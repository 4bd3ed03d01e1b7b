//! The walk for programs: named values in the order in which they are read.

use super::{Point, Walk};
use crate::house::{Clearance, Place, Raw, Role};
use crate::readiness::Answer;

pub(crate) fn text(value: impl Into<String>) -> Raw {
    Raw::Text(value.into())
}

pub(crate) fn table(entries: Vec<(&str, Raw)>) -> Raw {
    Raw::Table(entries.into_iter().map(|(key, value)| (key.to_owned(), value)).collect())
}

/// The word of an answer.
pub(crate) const fn word(answer: Answer) -> &'static str {
    match answer {
        Answer::No => "no",
        Answer::Yes => "yes",
        Answer::Unknown => "unknown",
    }
}

impl Walk {
    /// Every value under its name.
    pub fn document(&self) -> Raw {
        table(vec![
            ("house_id", text(&self.house_id)),
            ("readiness", text(self.readiness.as_str())),
            ("readiness_assessed", text(self.assessed.as_str())),
            ("points", Raw::List(self.points.iter().map(point).collect())),
            ("looks", Raw::List(self.looks.iter().map(|look| self.look_document(look)).collect())),
        ])
    }
}

fn point(point: &Point) -> Raw {
    let standing = &point.standing;
    let def = standing.question.def();
    let roles = |roles: &[Role]| Raw::List(roles.iter().map(|role| text(role.key())).collect());
    table(vec![
        ("finding", text(def.code)),
        ("surface", standing.surface.map_or(Raw::Null, |_| text(&point.label))),
        ("asks", text(def.asks)),
        ("said", text(word(standing.said))),
        ("answer", text(word(standing.answer))),
        ("taken", Raw::Bool(standing.taken)),
        ("weight", point.weight.map_or(Raw::Null, |weight| text(weight.as_str()))),
        ("reason", text(def.reason(standing.answer))),
        ("cleared_by", text(def.cleared_by(standing.answer))),
        ("needed", Raw::List(standing.needed.iter().map(|group| roles(group)).collect())),
        (
            "source",
            def.citation(standing.answer).map_or(Raw::Null, |citation| text(citation.to_string())),
        ),
    ])
}

impl Walk {
    fn look_document(&self, look: &Clearance) -> Raw {
        let here = |index| self.points.iter().find(|p| p.standing.surface == Some(index));
        let surface = match look.place {
            Place::All => Some("all"),
            Place::Surface(index) => here(index).map(|point| point.label.as_str()),
        };
        table(vec![
            ("finding", text(look.question.def().code)),
            ("surface", surface.map_or(Raw::Null, text)),
            ("answer", text(word(look.answer))),
            ("cleared_by", look.cleared_by.map_or(Raw::Null, |role| text(role.key()))),
            ("date", text(look.date.to_string())),
            ("evidence", look.evidence.as_ref().map_or(Raw::Null, text)),
        ])
    }
}
