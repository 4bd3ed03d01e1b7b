//! The build-up for programs.

use super::{BuildUp, Line, Part};
use crate::house::{Assessment, Raw};
use crate::walk::document::{table, text};

impl BuildUp {
    /// Every value under its name; money in the user's own.
    pub fn document(&self) -> Raw {
        let payback = |assessment: &Assessment| {
            assessment.simple_payback_years.map_or(Raw::Null, Raw::Number)
        };
        let parts = Part::ALL.map(|part| (part.as_str(), Raw::Number(self.part(part))));
        let findings = self.findings.iter().map(|finding| {
            table(vec![("code", text(finding.code())), ("text", text(finding.words()))])
        });
        table(vec![
            ("house_id", text(&self.house_id)),
            ("installed_cost", Raw::Number(self.installed_cost)),
            ("parts", table(parts.to_vec())),
            ("quoted", self.quoted.map_or(Raw::Null, Raw::Number)),
            ("crew_days", Raw::Number(self.days.middle())),
            (
                "simple_payback_years_quoted",
                self.quoted.map_or(Raw::Null, |_| payback(&self.at_quote)),
            ),
            ("simple_payback_years", self.at_build_up.as_ref().map_or(Raw::Null, payback)),
            ("readiness", text(self.at_quote.readiness().as_str())),
            ("lines", Raw::List(self.lines.iter().map(line).collect())),
            ("findings", Raw::List(findings.collect())),
        ])
    }
}

fn line(line: &Line) -> Raw {
    let rate = line.rate;
    table(vec![
        ("part", text(line.part.as_str())),
        ("what", text(&line.what)),
        ("quantity", Raw::Number(line.quantity)),
        ("unit", text(line.unit)),
        ("rate", text(rate.rate.def().name())),
        ("at", Raw::Number(rate.value)),
        ("default", rate.default.map_or(Raw::Null, text)),
        ("amount", Raw::Number(line.amount)),
    ])
}
