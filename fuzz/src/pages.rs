//! What a page is made of: its words, its templates, and what it carries.

use crate::{PLAIN, refused_file};
use std::collections::BTreeMap;
use studbay::house::{Cell, House};
use studbay::page::live::{Live, figures};
use studbay::page::words::Words;
use studbay::page::{PageOptions, Printer, report};

fn plain() -> House {
    let mut builder = House::builder();
    for (name, cell) in PLAIN.into_iter().filter(|(name, _)| *name != "house_id") {
        builder.give(name, cell);
    }
    // What a page shows of a house is escaped.
    builder.give("house_id", Cell::Text("<script>&\"'"));
    let Ok(house) = builder.build() else { panic!("a house that is in order is refused") };
    house
}

/// Words of one's own: refused, or a page has them, and they start nothing.
pub fn words(data: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(data) else { return false };
    let words = match Words::parse(text) {
        Ok(words) => words,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return false;
        }
    };
    let options = PageOptions { words: Some(words), live: false, ..PageOptions::default() };
    match report(&plain(), options) {
        Ok(page) => {
            let page = page.to_ascii_lowercase();
            assert!(!page.contains("<script"), "words of a page are text");
            true
        }
        Err(error) => {
            assert!(!error.to_string().is_empty());
            false
        }
    }
}

/// What a page carries, and where its sliders stand: it answers in JSON whatever it is given.
pub fn live(data: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(data) else { return false };
    let (at, page) = text.split_once('\n').unwrap_or(("[]", text));
    let answer = figures(page);
    let json: Result<serde_json::Value, _> = serde_json::from_str(&answer);
    assert!(json.is_ok(), "{answer}");
    let figures_are_there = json.is_ok_and(|json| json.get("error").is_none());
    match Live::from_page(page) {
        Ok(live) => {
            let shown = live.show(at);
            let json: Result<serde_json::Value, _> = serde_json::from_str(&shown);
            assert!(json.is_ok(), "{shown}");
            json.is_ok_and(|json| json.get("error").is_none())
        }
        Err(error) => {
            refused_file(&error);
            figures_are_there
        }
    }
}

/// A template of one's own is read or refused. It is trusted, so it is not filled here: a template
/// may count as long as it likes.
pub fn template(data: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(data) else { return false };
    let templates = BTreeMap::from([("letterhead.html".to_owned(), text.to_owned())]);
    match Printer::new(PageOptions { templates, ..PageOptions::default() }) {
        Ok(_) => true,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            false
        }
    }
}
