//! Pages: what they say, in which order, and that what comes from a file stays text.

use studbay::house::House;
use studbay::page::{PageOptions, report};

fn demo() -> House {
    House::from_toml(include_str!("../../demo-data/house.toml")).unwrap()
}

fn still() -> PageOptions {
    PageOptions { live: false, date: Some("25 November 2026".to_owned()), ..PageOptions::default() }
}

#[test]
fn write_pages_for_looking() {
    let Ok(folder) = std::env::var("STUDBAY_PAGES") else { return };
    let folder = std::path::Path::new(&folder);
    std::fs::write(folder.join("demo.html"), report(&demo(), PageOptions { live: true, ..still() }).unwrap()).unwrap();
}
