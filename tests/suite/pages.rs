//! Pages: what they say, in which order, and that what comes from a file stays text.

use std::path::Path;
use studbay::house::{House, assess};
use studbay::page::live::Live;
use studbay::page::words::Words;
use studbay::page::{PageOptions, report};
use studbay::units::UnitSystem;

const DEMO: &str = include_str!("../../demo-data/house.toml");

fn demo() -> House {
    House::from_toml(DEMO).unwrap()
}

fn still() -> PageOptions {
    PageOptions { live: false, date: Some("1 May 2026".to_owned()), ..PageOptions::default() }
}

/// The text of a page: tags away, space as one.
fn text(page: &str) -> String {
    let body = page.split_once("<body>").unwrap().1;
    let mut out = String::new();
    for piece in body.split('<') {
        out.push(' ');
        out.push_str(piece.split_once('>').map_or(piece, |(_, text)| text));
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_a_person_needs_first_comes_first() {
    let held = DEMO.replace("knob_and_tube = \"no\"", "knob_and_tube = \"yes\"");
    let page = text(&report(&House::from_toml(&held).unwrap(), still()).unwrap());
    let order = [
        "HOLD: the work must not start",
        "a licensed electrician",
        "What is in the wall, now and after",
        "Pays back in about 6.0 years",
        "Likely range 5.6 to 9.8 years",
        "Avoided a year",
        "3,760 miles",
        "Do nothing",
        "Money over the years",
        "What would change it most",
        "What must be checked, and by whom",
        "a trained surveyor",
        "What it rests on",
        "40 CFR part 98",
        "House harrow-mills-14",
    ];
    let mut from = 0;
    for words in order {
        let found =
            page[from..].find(words).unwrap_or_else(|| panic!("{words} is not in its place"));
        from += found;
    }
    assert!(page.matches("modelled, not measured").count() >= 4);
}

/// A page is a letter to its reader: what it says is kept here, and a change of it is seen.
#[test]
fn the_words_of_the_page_are_these() {
    let page = text(&report(&demo(), still()).unwrap());
    let from = page.find("The answer").unwrap();
    let to = page.find("What would change it most").unwrap();
    kept("page_answer.txt", &page[from..to]);
}

/// What a file of the reference folder holds; with STUDBAY_DRAW set it is written anew, to be read before it is committed.
fn kept(name: &str, now: &str) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference").join(name);
    if std::env::var_os("STUDBAY_DRAW").is_some() {
        std::fs::write(&file, now).unwrap();
    }
    assert_eq!(std::fs::read_to_string(&file).unwrap(), now, "{name}");
}

#[test]
fn the_drawings_are_these() {
    let live = Live::new(&demo(), None, Words::of("en").unwrap(), UnitSystem::Ip, "$").unwrap();
    let shown: serde_json::Value = serde_json::from_str(&live.show("[]")).unwrap();
    for name in ["section_0_now", "section_0_after", "cash"] {
        let drawing = shown["drawing"][name].as_str().unwrap();
        kept(&format!("page_{name}.svg"), drawing);
    }
}

/// Depths in the drawing are depths in the wall: batt and gap to the same scale as the cavity.
#[test]
fn thickness_is_to_scale() {
    let live = Live::new(&demo(), None, Words::of("en").unwrap(), UnitSystem::Ip, "$").unwrap();
    let shown: serde_json::Value = serde_json::from_str(&live.show("[]")).unwrap();
    let drawing = shown["drawing"]["section_0_now"].as_str().unwrap();
    let widths: Vec<(String, f64)> = drawing
        .split("<rect class=\"edge\"")
        .skip(1)
        .map(|rect| {
            let of = |name: &str| {
                rect.split_once(&format!(" {name}=\"")).unwrap().1.split_once('"').unwrap().0
            };
            let matter = of("fill").rsplit_once('-').unwrap().1.trim_end_matches(')');
            (matter.to_owned(), of("width").parse().unwrap())
        })
        .collect();
    let width = |matter: &str| widths.iter().find(|(name, _)| name == matter).unwrap().1;
    let inch = width("frame") / 3.75;
    for (matter, inches) in
        [("cladding", 0.5), ("board", 0.75), ("batt", 1.5), ("air", 2.25), ("finish", 0.75)]
    {
        assert!((width(matter) - inches * inch).abs() < 0.02, "{matter}");
    }
}

#[test]
fn text_from_a_file_is_data_everywhere() {
    let hostile = r#"</script><script>alert(1)</script>'"><img src=x onerror=1>{{ 1 }}"#;
    let file = DEMO.replace("harrow-mills-14", &hostile.replace('"', "\\\""));
    let house = House::from_toml(&file).unwrap();
    for live in [true, false] {
        let page =
            report(&house, PageOptions { live, currency: "<i>&".to_owned(), ..still() }).unwrap();
        for bad in ["<script>alert", "<img", "<i>"] {
            assert!(!page.contains(bad), "{bad}");
        }
        assert!(page.contains("{{ 1 }}"), "a text is no template");
        assert_eq!(page.matches("</script>").count(), if live { 3 } else { 0 });
    }
}

/// Two figures of the page that no other test reads, against `assess`.
#[test]
fn the_table_of_years_ends_at_the_life() {
    let house = demo();
    let a = assess(&house);
    let page = text(&report(&house, still()).unwrap());
    let left = format!("{:.0}", a.lifetime_savings - a.net_cost);
    assert!(page.contains(&format!("${},{}", &left[..2], &left[2..])), "{left}");
}

/// What docs/PAGE.md quotes is what the page says today.
#[test]
fn the_document_quotes_the_page() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/PAGE.md");
    let document = std::fs::read_to_string(file).unwrap();
    let quoted =
        document.split_once("<!-- page -->").unwrap().1.split_once("<!-- /page -->").unwrap().0;
    let page = text(&report(&demo(), still()).unwrap()).replace("&#x27;", "'");
    let lines: Vec<&str> =
        quoted.lines().filter(|line| !line.is_empty() && !line.starts_with("```")).collect();
    assert_eq!(lines.len(), 8);
    for line in lines {
        assert!(page.contains(line), "{line}");
    }
}
