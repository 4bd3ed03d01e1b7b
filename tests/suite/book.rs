//! The pages of the method book that are made from the registries. Each is kept in `docs/`, so that
//! it can be read without building anything, and compared here, so that it cannot go stale.
//! With `STUDBAY_DRAW` set they are written anew.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::Path;
use studbay::error::ISSUE_CODES;
use studbay::house::{Absent, FIELDS, Kind, RESULTS, Scope};
use studbay::readiness::FINDINGS;
use studbay::units::UnitSystem;

const MADE: &str = "<!-- Made by tests/suite/book.rs from the code: do not edit. -->\n\n";

/// Compares a page with what it must be, or writes it.
fn kept(name: &str, page: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs").join(name);
    if std::env::var_os("STUDBAY_DRAW").is_some() {
        std::fs::write(&path, page).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap().replace("\r\n", "\n");
    assert!(
        kept == page,
        "docs/{name} is stale: STUDBAY_DRAW=1 cargo test --test suite book, then read the difference"
    );
}

/// A cell of a table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('\n', " ")
}

fn code_names(ip: &str, si: Option<&str>) -> String {
    si.map_or_else(|| format!("`{ip}`"), |si| format!("`{ip}`<br>`{si}`"))
}

#[test]
fn the_field_reference() {
    let mut page = format!(
        "{MADE}# Field reference\n\nEvery input of a house, as `studbay fields` prints it. A field with two names may be given under \
         either, never under both in one row; the range stands in the unit of each name. \
         Words that a choice takes are listed by `studbay fields` too.\n"
    );
    for (scope, title) in [
        (Scope::House, "Of the house"),
        (Scope::Wall, "Of a wall, in a flat row, or of a surface in a house file"),
        (Scope::FlatOnly, "Only in a flat row"),
        (Scope::SurfaceOnly, "Only in a surface of a house file"),
    ] {
        let fields = FIELDS.iter().filter(|def| def.scope == scope).collect::<Vec<_>>();
        if fields.is_empty() {
            continue;
        }
        write!(
            page,
            "\n## {title}\n\n| name | range | if left out | what it is |\n|---|---|---|---|\n"
        )
        .unwrap();
        for def in fields {
            let (ip, si) = (UnitSystem::Ip, UnitSystem::Si);
            let range = match def.kind {
                Kind::Number | Kind::Whole if def.si.is_some() => {
                    format!("{}<br>{}", def.range(ip), def.range(si))
                }
                Kind::Number | Kind::Whole => def.range(ip),
                Kind::Choice(_) => "one of its words".to_owned(),
                Kind::Text => "1 to 200 characters".to_owned(),
            };
            let absent = match def.absent {
                Absent::Number(_) if def.si.is_some() => {
                    format!("{}<br>{}", def.default_text(ip), def.default_text(si))
                }
                _ => def.default_text(ip),
            };
            let source = if def.source.is_empty() {
                String::new()
            } else {
                format!(" Default: {}.", def.source.trim_end_matches('.'))
            };
            writeln!(
                page,
                "| {} | {} | {} | {} |",
                code_names(def.ip, def.si),
                cell(&range),
                cell(&absent),
                cell(&format!("{}{source}", def.help)),
            )
            .unwrap();
        }
    }
    kept("FIELDS.md", &page);
}

#[test]
fn the_result_reference() {
    let mut page = format!(
        "{MADE}# Result reference\n\nEvery figure that an assessment gives, in the order in which tables carry them. A figure that does \
         not exist is empty in a table and `None` in Python, never a large number.\n\n| name | unit | what it is |\n|---|---|---|\n"
    );
    for def in RESULTS {
        let unit = |units| def.quantity.unit(units);
        let unit = match def.si {
            Some(_) => format!("{}<br>{}", unit(UnitSystem::Ip), unit(UnitSystem::Si)),
            None => unit(UnitSystem::Ip).to_owned(),
        };
        writeln!(page, "| {} | {} | {} |", code_names(def.ip, def.si), cell(&unit), cell(def.help))
            .unwrap();
    }
    kept("RESULTS.md", &page);
}

#[test]
fn the_error_and_finding_reference() {
    let mut page = format!(
        "{MADE}# Errors and findings\n\nTwo different things. An **error** says that an input cannot be used: nothing is computed for that \
         house, and all its faults are told at once. A **finding** says something about a house whose figures stand.\n\n\
         ## Errors\n\nEach fault has a stable `code`, the field with its path, the value as given, and a sentence with what is allowed. \
         In Python it is an entry of `InputError.issues`; `score` writes it to the rejects with the row's number.\n\n\
         | code | meaning | for example | what to do |\n|---|---|---|---|\n"
    );
    for def in ISSUE_CODES {
        writeln!(
            page,
            "| `{}` | {} | {} | {} |",
            def.code.as_str(),
            cell(def.meaning),
            cell(def.example),
            cell(def.remedy)
        )
        .unwrap();
    }
    page.push_str(
        "\n## Findings\n\n`hold`: the work must not start. `check`: someone must look. `note`: worth knowing when reading the figures. \
         studbay repeats answers and rules; local code and licensed practice decide.\n\n\
         | code | weight | what it says | who may clear it | source |\n|---|---|---|---|---|\n",
    );
    for def in FINDINGS {
        writeln!(
            page,
            "| `{}` | {} | {} | {} | {} |",
            def.code,
            def.weight.as_str(),
            cell(def.reason),
            cell(def.cleared_by),
            cell(&def.citation.map_or_else(String::new, |citation| citation.to_string())),
        )
        .unwrap();
    }
    kept("ERRORS.md", &page);
}

/// The list of codes is the enumeration itself, so none can be missing; each must say something.
#[test]
fn every_code_says_what_it_means_and_what_to_do() {
    let mut seen = BTreeSet::new();
    for def in ISSUE_CODES {
        assert!(seen.insert(def.code.as_str()), "{} stands twice", def.code.as_str());
        for text in [def.meaning, def.example, def.remedy] {
            assert!(text.trim().len() > 10, "{}: {text}", def.code.as_str());
        }
    }
}
