//! Files that are no house files: one clear message, no panic, no long wait.

use crate::samples::{house, plain};
use proptest::prelude::*;
use std::path::PathBuf;
use std::time::Instant;
use studbay::error::IssueCode;
use studbay::house::{House, HouseFileError, Raw, assess, explain};

/// A folder of this test's own, removed with everything in it.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("studbay-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn file(&self, name: &str, content: &[u8]) -> PathBuf {
        let path = self.0.join(name);
        std::fs::write(&path, content).unwrap();
        path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn refusal(path: &PathBuf) -> String {
    House::from_file(path).map(|_| ()).unwrap_err().to_string()
}

#[test]
fn what_is_no_file_of_a_house_is_said_in_one_line() {
    let folder = Folder::new("bad-file");
    let good = plain().to_toml();
    let mut latin = good.clone().into_bytes();
    latin.extend(b"# caf\xe9\n");
    let marked = format!("\u{feff}{good}");
    let wide: Vec<u8> = marked.encode_utf16().flat_map(u16::to_le_bytes).collect();
    for (name, content, words) in [
        ("empty.toml", b"".as_slice(), "the file is empty"),
        ("blank.json", b" \n\t\n", "the file is empty"),
        ("mark.toml", b"\xef\xbb\xbf\n", "the file is empty"),
        ("latin.toml", &latin, "not UTF-8 text: the byte at"),
        ("wide.toml", &wide, "not UTF-8 text"),
        ("wide-odd.json", b"\xff\xfe{", "not UTF-8 text: the byte at 0"),
        ("house.yaml", b"a: 1\n", "ends in .toml or .json"),
        ("house", good.as_bytes(), "ends in .toml or .json"),
        ("swapped.json", good.as_bytes(), "not valid JSON, line 1, column 1"),
        ("swapped.toml", b"{\"house_id\": 1}", "not valid TOML, line 1"),
        ("text.json", b"\"house\"", "a house is a table of named values, this is text"),
        ("list.json", b"[1, 2]", "a house is a table of named values, this is a list"),
        ("nul.json", b"\0\0\0\0", "not valid JSON"),
        ("nul.toml", b"\0\0\0\0", "not valid TOML"),
        ("open.json", b"{\"house_id\": \"a\"", "not valid JSON, line 1"),
    ] {
        let path = folder.file(name, content);
        let message = refusal(&path);
        assert!(message.contains(words), "{name}: {message}");
        assert_eq!(message.lines().count(), 1, "{name}: {message}");
    }
    let folder_as_file = folder.0.join("folder.toml");
    std::fs::create_dir(&folder_as_file).unwrap();
    assert!(refusal(&folder_as_file).contains("this is a folder"));
    assert!(refusal(&folder.0).contains("this is a folder"));
    let missing = refusal(&folder.0.join("missing.toml"));
    assert!(missing.contains("missing.toml: cannot be read"), "{missing}");
    let missing = refusal(&folder.0.join("missing"));
    assert!(missing.contains("cannot be read"), "{missing}");
}

/// 100 MB of anything is refused without being read: quickly, and by its size.
#[test]
fn junk_of_a_hundred_megabytes_is_refused_at_once() {
    let folder = Folder::new("junk");
    for name in ["junk.toml", "junk.json", "junk"] {
        let path = folder.0.join(name);
        let file = std::fs::File::create(&path).unwrap();
        // Sparse: takes no room on the disk.
        file.set_len(100_000_000).unwrap();
        let start = Instant::now();
        let message = refusal(&path);
        let words = if name == "junk" { "ends in" } else { "larger than 1048576 bytes" };
        assert!(message.contains(words), "{message}");
        assert!(start.elapsed().as_secs() < 5, "took {:?}", start.elapsed());
    }
}

/// As much junk as is read at all is answered within seconds, whatever it is made of.
#[test]
fn a_megabyte_of_nonsense_is_answered_soon() {
    let size = 1 << 20;
    let nest = |open: &str, close: &str| {
        let depth = size / 2 / (open.len() + close.len()).max(1) - 64;
        format!("{}1{}", open.repeat(depth), close.repeat(depth))
    };
    let texts = [
        ("deep JSON lists", nest("[", "]")),
        ("deep JSON tables", nest("{\"a\":", "}")),
        ("deep JSON in a field", format!("{{\"surfaces\": {}}}", nest("[", "]"))),
        ("deep TOML lists", format!("a = {}", nest("[", "]"))),
        ("deep TOML tables", format!("a = {}", nest("{a = ", "}"))),
        ("a deep TOML key", format!("{}a = 1", "a.".repeat(size / 4))),
        ("a deep TOML heading", format!("[{}a]", "a.".repeat(size / 4))),
        ("open JSON lists", "[".repeat(size - 1)),
        ("open TOML lists", format!("a = {}", "[".repeat(size - 8))),
        ("a long number", format!("{{\"fuel_price\": {}}}", "9".repeat(size - 32))),
        ("a long text", format!("house_id = \"{}\"", "x".repeat(size - 32))),
        ("letters", "x".repeat(size - 1)),
        ("line ends", "\n".repeat(size - 1)),
    ];
    for (name, text) in texts {
        assert!(text.len() <= size, "{name}");
        for (format, read) in
            [("TOML", House::from_toml as fn(&str) -> _), ("JSON", House::from_json)]
        {
            let start = Instant::now();
            let error: HouseFileError = read(&text).map(|_| ()).unwrap_err();
            let message = error.to_string();
            assert!(message.len() < 100_000, "{name} as {format}: {} bytes", message.len());
            let seconds = start.elapsed().as_secs_f64();
            println!("{name:22} as {format}: {seconds:6.3} s");
            assert!(seconds < 20.0, "{name} as {format} took {seconds} s");
        }
    }
}

fn faults(error: HouseFileError) -> Vec<(IssueCode, String)> {
    match error {
        HouseFileError::Input(error) => {
            error.issues.into_iter().map(|issue| (issue.code, issue.field)).collect()
        }
        other => panic!("{other}"),
    }
}

#[test]
fn a_key_that_stands_twice_is_a_fault() {
    let json = plain().to_json().replacen('{', "{\"fuel_price\": 2.0, ", 1);
    let error = House::from_json(&json).unwrap_err();
    assert_eq!(faults(error), [(IssueCode::GivenTwice, "fuel_price".to_owned())]);
    let json = plain().to_json().replacen('{', "{\"house_id\": \"other\", ", 1);
    let error = House::from_json(&json).unwrap_err();
    assert_eq!(faults(error), [(IssueCode::GivenTwice, "house_id".to_owned())]);
    let one = "{\"surfaces\": [{\"area_ft2\": 9, \"series_r\": 3}], ";
    let surfaces = plain().listed().to_json().replacen('{', one, 1);
    let error = House::from_json(&surfaces).unwrap_err();
    assert_eq!(faults(error), [(IssueCode::GivenTwice, "surfaces".to_owned())]);
    // TOML forbids it itself.
    let toml = format!("fuel_price = 2.0\n{}", plain().to_toml());
    let error = House::from_toml(&toml).unwrap_err().to_string();
    assert!(error.contains("not valid TOML, line 8") && error.contains("duplicate"), "{error}");
}

#[test]
fn a_value_of_the_wrong_sort_is_a_fault_of_its_field() {
    let with = |pair: &str| {
        House::from_json(&plain().to_json().replacen('{', &format!("{{{pair}, "), 1)).unwrap_err()
    };
    for (pair, code, field) in [
        ("\"rebate\": [1]", IssueCode::WrongType, "rebate"),
        ("\"rebate\": {\"a\": 1}", IssueCode::WrongType, "rebate"),
        ("\"rebate\": \"much\"", IssueCode::NotANumber, "rebate"),
        ("\"rebate\": true", IssueCode::NotANumber, "rebate"),
        ("\"knob_and_tube\": 1", IssueCode::NotAChoice, "knob_and_tube"),
        ("\"colour\": [1]", IssueCode::WrongType, "colour"),
        ("\"\": 1", IssueCode::UnknownName, ""),
    ] {
        assert_eq!(faults(with(pair)), [(code, field.to_owned())], "{pair}");
    }
    for (surfaces, field) in [
        ("1", "surfaces"),
        ("\"wall\"", "surfaces"),
        ("{\"kind\": \"wall\"}", "surfaces"),
        ("[1]", "surfaces[0]"),
        ("[{\"area_ft2\": 1, \"series_r\": 2, \"layers\": 3}]", "surfaces[0].layers"),
        ("[{\"area_ft2\": 1, \"layers\": [[1]]}]", "surfaces[0].layers[0]"),
        ("[{\"area_ft2\": 1, \"layers\": [{\"r\": [1]}]}]", "surfaces[0].layers[0].r"),
    ] {
        let mut spec = plain().without("wall_area_ft2").without("series_r").to_json();
        spec.insert_str(1, &format!("\"surfaces\": {surfaces}, "));
        let found = faults(House::from_json(&spec).unwrap_err());
        assert!(found.contains(&(IssueCode::WrongType, field.to_owned())), "{surfaces}: {found:?}");
    }
}

#[test]
fn numbers_that_are_none_are_refused() {
    for number in ["nan", "inf", "-inf", "+nan"] {
        let toml = plain().without("fuel_price").to_toml() + &format!("fuel_price = {number}\n");
        let error = faults(House::from_toml(&toml).unwrap_err());
        assert_eq!(error, [(IssueCode::NotANumber, "fuel_price".to_owned())], "{number}");
    }
    // JSON has none; an overflowing one is no number either.
    for number in ["NaN", "1e999", "-Infinity"] {
        let json =
            plain().to_json().replace("\"fuel_price\": 1.5", &format!("\"fuel_price\": {number}"));
        let error = House::from_json(&json).unwrap_err().to_string();
        assert!(error.contains("not valid JSON, line 1"), "{error}");
    }
}

/// A change to a text: at a place, cut some bytes and put others in.
fn damaged(text: &str, cuts: &[(prop::sample::Index, usize, String)]) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    for (place, cut, more) in cuts {
        let from = place.index(chars.len() + 1).min(chars.len());
        let to = (from + cut).min(chars.len());
        chars.splice(from..to, more.chars());
    }
    chars.into_iter().collect()
}

fn read_and_use(text: &str) {
    for house in [House::from_toml(text), House::from_json(text)].into_iter().flatten() {
        let _ = assess(&house);
        let _ = explain(&house);
    }
}

fn cuts() -> impl Strategy<Value = Vec<(prop::sample::Index, usize, String)>> {
    let more = prop_oneof![
        Just(String::new()),
        "[\\[\\]{}\"',=:.\\-0-9eE#\n]{1,3}",
        "\\PC{1,6}",
        Just("1e308".to_owned()),
        Just("[[surfaces]]\n".to_owned()),
    ];
    prop::collection::vec((any::<prop::sample::Index>(), 0_usize..20, more), 1..5)
}

fn any_raw() -> impl Strategy<Value = Raw> {
    let leaf = prop_oneof![
        Just(Raw::Null),
        any::<bool>().prop_map(Raw::Bool),
        prop::num::f64::ANY.prop_map(Raw::Number),
        (0.0..4000.0_f64).prop_map(Raw::Number),
        "\\PC{0,8}".prop_map(Raw::Text),
        prop::sample::select(vec!["natural_gas", "wall", "attic_floor", "yes", "metal"])
            .prop_map(|word| Raw::Text(word.to_owned())),
    ];
    let mut names: Vec<&str> = studbay::house::FIELDS.iter().map(|def| def.ip).collect();
    names.extend(["surfaces", "layers", "r", "rsi", "material", "thickness_in", "name", "", "a.b"]);
    let name = prop::sample::select(names).prop_map(str::to_owned);
    leaf.prop_recursive(5, 60, 12, move |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..5).prop_map(Raw::List),
            prop::collection::vec((name.clone(), inner), 0..12).prop_map(Raw::Table),
        ]
    })
}

proptest! {
    #[test]
    fn no_text_panics(text in "\\PC{0,400}") {
        read_and_use(&text);
    }

    #[test]
    fn no_text_of_the_right_letters_panics(text in "[a-z_\\[\\]{}\"'=:,.0-9eE+\\-# \n]{0,400}") {
        read_and_use(&text);
    }

    #[test]
    fn no_damaged_file_panics(spec in house(), cuts in cuts()) {
        read_and_use(&damaged(&spec.to_toml(), &cuts));
        read_and_use(&damaged(&spec.to_json(), &cuts));
    }

    #[test]
    fn no_document_panics(raw in any_raw()) {
        if let Ok(house) = House::from_raw(&raw) {
            let _ = explain(&house);
        }
    }

    /// Bytes that need not be text at all, through the file door.
    #[test]
    fn no_bytes_panic(bytes in prop::collection::vec(any::<u8>(), 0..200), toml in any::<bool>()) {
        let folder = Folder::new("bytes");
        let name = if toml { "house.toml" } else { "house.json" };
        prop_assert!(House::from_file(folder.file(name, &bytes)).is_err());
    }
}
