//! One house file through every stage: nothing is lost, older files load, days are in order.

use proptest::prelude::*;
use studbay::house::{House, HouseFileError, Raw, assess};
use studbay::stages::{HouseFile, Stage, Value, changes};

fn demo() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/house.toml");
    std::fs::read_to_string(path).unwrap()
}

fn toml(text: &str) -> HouseFile {
    HouseFile::from_toml(text).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

fn day(text: &str) -> Value {
    Value::Date(text.parse().unwrap())
}

fn faults(error: &HouseFileError) -> String {
    error.to_string()
}

/// The lines of the first stand in the second, in their order.
fn keeps_every_line(before: &str, after: &str) -> Result<(), String> {
    let mut rest = after.lines();
    for line in before.lines() {
        if !rest.any(|other| other == line) {
            return Err(format!("lost: {line:?}\n--- before\n{before}\n--- after\n{after}"));
        }
    }
    Ok(())
}

#[test]
fn the_plain_house_file_is_a_survey_of_version_one() {
    let file = toml(&demo());
    assert_eq!(file.schema_version().unwrap(), 1);
    assert_eq!(file.stages().unwrap(), [(Stage::Survey, None)]);
    assert_eq!(file.promised().unwrap(), House::from_toml(&demo()).unwrap());
    assert_eq!(file.text(), demo());

    let new = file.upgraded().unwrap();
    assert_eq!(new.schema_version().unwrap(), 2);
    assert_eq!(new.promised().unwrap(), House::from_toml(&demo()).unwrap());
    keeps_every_line(&demo(), new.text()).unwrap();
    assert_eq!(new.text().lines().count(), demo().lines().count() + 1);
    assert_eq!(new.upgraded().unwrap(), new);
}

#[test]
fn a_newer_file_is_carried_but_not_read() {
    let text = format!("schema_version = 3\nfrom_the_future = {{ a = 1 }}\n{}", demo());
    let file = toml(&text);
    assert_eq!(file.text(), text);
    assert!(file.schema_version().is_err());
    let error = faults(&file.promised().unwrap_err());
    assert!(error.contains("schema_version = 3") && error.contains("newer"), "{error}");
    assert!(file.upgraded().is_err());
    for wrong in ["0", "1.5", "\"two\"", "true"] {
        let text = format!("schema_version = {wrong}\n{}", demo());
        assert!(House::from_toml(&text).is_err(), "{wrong}");
    }
}

#[test]
fn the_offer_says_something_else_than_the_survey() {
    let text = format!(
        "{}\n[offer]\ndate = 2026-03-02\ninstalled_cost = 5000\nwall_area_m2 = 170\n",
        demo()
    );
    let (plain, offered) = (House::from_toml(&demo()).unwrap(), House::from_toml(&text).unwrap());
    assert_eq!(assess(&plain).net_cost, 3200.0);
    assert_eq!(assess(&offered).net_cost, 3600.0);
    assert!((offered.surfaces()[0].area().si() - 170.0).abs() < 1e-9);
    // A slip in the offer is told and not passed over; a key of another's is.
    let slip = format!("{}\n[offer]\ninstaled_cost = 5000\n", demo());
    let error = faults(&House::from_toml(&slip).unwrap_err());
    assert!(
        error.contains("offer.instaled_cost") && error.contains("is installed_cost meant"),
        "{error}"
    );
    let wrong = format!("{}\n[offer]\ninstalled_cost = \"much\"\n", demo());
    assert!(House::from_toml(&wrong).is_err());
    let own =
        format!("{}\n[offer]\nvalid_for_days = 30\n[notes]\nkey_under = \"the mat\"\n", demo());
    assert_eq!(assess(&House::from_toml(&own).unwrap()).net_cost, 3200.0);
}

#[test]
fn a_stage_that_is_no_table_is_a_fault() {
    for stage in ["survey", "offer", "job", "as_built", "follow_up"] {
        let text = format!("{stage} = 4\n{}", demo());
        let error = faults(&House::from_toml(&text).unwrap_err());
        assert!(error.contains(stage), "{error}");
        assert!(toml(&text).stages().is_err());
    }
}

#[test]
fn days_out_of_order_say_which_two() {
    let text = "[survey]\ndate = 2026-03-02\n[offer]\ndate = 2026-03-01\n[as_built]\ndate = \"2026-02-30\"\n";
    let error = toml(text).stages().unwrap_err().to_string();
    assert!(
        error.contains("offer.date = 2026-03-01: is before survey.date = 2026-03-02"),
        "{error}"
    );
    assert!(error.contains("as_built.date = 2026-02-30: must be a day"), "{error}");
    let right =
        "[survey]\ndate = 2026-03-02\n[job]\ndate = 2026-03-02\n[follow_up]\ndate = 2027-05-01\n";
    assert_eq!(toml(right).stages().unwrap().len(), 3);
    for odd in ["20260302", "26-03-02", "2 March 2026", "2026-3-2"] {
        assert!(toml(&format!("[survey]\ndate = \"{odd}\"\n")).stages().is_err(), "{odd}");
    }
    // A time of day is no day.
    assert!(toml("[survey]\ndate = 2026-03-02T10:00:00Z\n").stages().is_err());
}

#[test]
fn json_keeps_its_letters() {
    let text = "{\n  \"house_id\": \"a\",\n  \"odd\"  :  [1.50, 2e3 , {\"x\":null}],\n  \"as_built\": {\"own\": 7}\n}\n";
    let file = HouseFile::from_json(text).unwrap();
    let dated = file.with_value(Some(Stage::AsBuilt), "date", &day("2026-10-02")).unwrap();
    assert_eq!(
        dated.text(),
        text.replace("{\"own\": 7}", "{\"own\": 7, \"date\": \"2026-10-02\"}")
    );
    let row = [
        ("mass_lb".to_owned(), Value::Number(8.25)),
        ("setting".to_owned(), Value::Text("wall \"a\"".into())),
    ];
    let one = dated.with_row(Stage::AsBuilt, "calibration", &row).unwrap();
    let two = one.with_row(Stage::AsBuilt, "calibration", &row).unwrap();
    assert!(
        two.text()
            .contains("[{ \"mass_lb\": 8.25, \"setting\": \"wall \\\"a\\\"\" }, { \"mass_lb\""),
        "{}",
        two.text()
    );
    assert!(
        two.text()
            .starts_with("{\n  \"house_id\": \"a\",\n  \"odd\"  :  [1.50, 2e3 , {\"x\":null}],")
    );
    let empty = HouseFile::from_json("{ }").unwrap();
    assert_eq!(empty.upgraded().unwrap().text(), "{\"schema_version\": 2}");
    assert!(HouseFile::from_json("[1]").is_err());
}

#[test]
fn a_comment_behind_a_value_outlives_its_change() {
    let text = "# head\r\nfuel_price = 3.60   # a gallon\r\n\r\n[as_built] # done\r\nbags = 40 # by the crew\r\n";
    let file = toml(text);
    let new = file.with_value(None, "fuel_price", &Value::Number(3.9)).unwrap();
    let new = new.with_value(Some(Stage::AsBuilt), "bags", &Value::Number(41.0)).unwrap();
    assert_eq!(new.text(), text.replace("3.60", "3.9").replace("40", "41"));
    let told: Vec<String> = changes(&file, &new).iter().map(ToString::to_string).collect();
    assert_eq!(told, ["fuel_price: 3.6 -> 3.9", "as_built.bags: 40 -> 41"]);
}

#[test]
fn what_cannot_be_written_is_refused() {
    let file = toml("surfaces = []\n[as_built]\nsurfaces = 3\n");
    let number = Value::Number(1.0);
    assert!(file.with_value(None, "surfaces", &number).is_err());
    assert!(file.with_value(None, "as_built", &number).is_err());
    assert!(file.with_value(None, "a key", &number).is_err());
    assert!(file.with_row(Stage::AsBuilt, "surfaces", &[]).is_err());
    assert!(file.save("house.json").is_err());
}

/// A key that may be a field, a stage's, or nobody's.
fn any_key() -> impl Strategy<Value = String> {
    prop_oneof![
        Just("bags".to_owned()),
        Just("date".to_owned()),
        Just("installed_cost".to_owned()),
        "[a-z][a-z0-9_]{0,12}",
    ]
}

fn any_value() -> impl Strategy<Value = Raw> {
    let leaf = prop_oneof![
        any::<bool>().prop_map(Raw::Bool),
        (-1_000_000..1_000_000_i32).prop_map(|n| Raw::Number(f64::from(n) / 8.0)),
        "[ -~äß€\n\"]{0,20}".prop_map(Raw::Text),
    ];
    leaf.prop_recursive(2, 12, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Raw::List),
            prop::collection::btree_map(any_key(), inner, 0..4)
                .prop_map(|table| Raw::Table(table.into_iter().collect())),
        ]
    })
}

fn inline(raw: &Raw) -> String {
    match raw {
        Raw::Bool(value) => value.to_string(),
        Raw::Number(number) => format!("{number:?}"),
        Raw::Text(text) => serde_like(text),
        Raw::List(items) => {
            format!("[{}]", items.iter().map(inline).collect::<Vec<_>>().join(", "))
        }
        Raw::Table(table) => {
            let members: Vec<String> =
                table.iter().map(|(key, value)| format!("{key} = {}", inline(value))).collect();
            format!("{{ {} }}", members.join(", "))
        }
        other => panic!("{other:?}"),
    }
}

/// A string that TOML and JSON both read.
fn serde_like(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            other => out.push(other),
        }
    }
    out.push('"');
    out
}

fn json(raw: &Raw) -> String {
    match raw {
        Raw::List(items) => format!("[{}]", items.iter().map(json).collect::<Vec<_>>().join(" ,")),
        Raw::Table(table) => {
            let members: Vec<String> =
                table.iter().map(|(key, value)| format!("\"{key}\" :{}", json(value))).collect();
            format!("{{\n {}}}", members.join(",\n"))
        }
        other => inline(other),
    }
}

type Lines = Vec<(String, Raw, Option<String>)>;

/// Lines of a table: key, value, and perhaps a comment behind it or before it.
fn any_table() -> impl Strategy<Value = Lines> {
    let line = (any_value(), prop::option::of("[ -~ä]{0,12}"));
    prop::collection::btree_map(any_key(), line, 0..6)
        .prop_map(|table| table.into_iter().map(|(k, (v, c))| (k, v, c)).collect())
}

fn written(lines: &Lines, before: bool) -> String {
    lines.iter().fold(String::new(), |out, (key, value, comment)| {
        let value = inline(value);
        match comment {
            Some(text) if before => format!("{out}#{text}\n\n{key}   ={value}\n"),
            Some(text) => format!("{out}  {key} = {value}  #{text}\n"),
            None => format!("{out}{key} = {value}\n"),
        }
    })
}

/// A whole document, with the stage tables under their names and others beside.
fn any_document() -> impl Strategy<Value = String> {
    let stage = || prop::option::of((any_table(), any::<bool>()));
    (any_table(), [stage(), stage(), stage(), stage()], any::<bool>()).prop_map(
        |(head, stages, before)| {
            let mut text =
                written(&head.into_iter().filter(|(key, ..)| key.len() > 3).collect(), before);
            for (name, stage) in
                ["survey", "as_built", "unknown_table", "follow_up"].iter().zip(stages)
            {
                if let Some((table, before)) = stage {
                    text = format!(
                        "{text}\n# of {name}\n[{name}]   # here\n{}",
                        written(&table, before)
                    );
                }
            }
            format!("{text}# the end\n")
        },
    )
}

fn same_but(before: &HouseFile, after: &HouseFile, path: &str) -> Result<(), TestCaseError> {
    for change in changes(before, after) {
        // A table that had nothing in it has something now.
        let filled = change.before.as_deref() == Some("{}") && path.starts_with(&change.path);
        prop_assert!(
            filled || change.path.starts_with(path),
            "{change} beside {path}\n{}",
            after.text()
        );
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    /// Reading and writing gives the text back, and a change leaves every other line.
    #[test]
    fn nothing_is_lost_in_toml(text in any_document(), stage in 0..5_usize, number in -1e6..1e6_f64) {
        let Ok(file) = HouseFile::from_toml(&text) else { return Ok(()) };
        prop_assert_eq!(file.text(), &text);
        let stage = Stage::ALL[stage];
        // A key that was not there: every line stays.
        let new = file.with_value(Some(stage), "new-key", &Value::Number(number)).unwrap();
        keeps_every_line(&text, new.text()).map_err(TestCaseError::fail)?;
        let path = format!("{}.new-key", stage.as_str());
        let found = changes(&file, &new);
        same_but(&file, &new, stage.as_str())?;
        prop_assert!(found.iter().any(|c| c.path == path && c.before.is_none()), "{:?}", found);
        // It can be taken as what it was.
        let value = new.stage(stage).unwrap().unwrap().iter().find(|(key, _)| key == "new-key");
        prop_assert_eq!(&value.unwrap().1, &Raw::Number(number));
        // A row of a list, twice.
        let row = [("mass_lb".to_owned(), Value::Number(number)), ("date".to_owned(), day("2026-10-02"))];
        let one = new.with_row(stage, "new-rows", &row).unwrap();
        let two = one.with_row(stage, "new-rows", &row).unwrap();
        keeps_every_line(&text, two.text()).map_err(TestCaseError::fail)?;
        same_but(&new, &two, &format!("{}.new-rows", stage.as_str()))?;
        prop_assert_eq!(changes(&new, &two).len(), 4);
        // At the head.
        let head = two.with_value(None, "new-head", &day("2026-10-02")).unwrap();
        keeps_every_line(&text, head.text()).map_err(TestCaseError::fail)?;
        prop_assert_eq!(changes(&two, &head).len(), 1);
        prop_assert!(studbay::stages::date_of(head.get("new-head").unwrap()).is_ok());
    }

    /// A changed value leaves every other one, and every comment.
    #[test]
    fn a_changed_value_changes_nothing_else(text in any_document(), number in -1e6..1e6_f64) {
        let Ok(file) = HouseFile::from_toml(&text) else { return Ok(()) };
        for stage in Stage::ALL {
            let keys: Vec<String> = file.stage(stage).unwrap().unwrap_or_default().iter()
                .filter(|(_, value)| !matches!(value, Raw::List(_) | Raw::Table(_)))
                .map(|(key, _)| key.clone()).collect();
            for key in keys {
                let new = file.with_value(Some(stage), &key, &Value::Number(number)).unwrap();
                let found = changes(&file, &new);
                prop_assert!(found.len() <= 1, "{found:?}");
                let comments = |text: &str| text.lines().filter(|l| l.trim_start().starts_with('#')).count();
                prop_assert_eq!(comments(&text), comments(new.text()));
                prop_assert_eq!(text.lines().count(), new.text().lines().count());
            }
        }
    }

    #[test]
    fn nothing_is_lost_in_json(
        head in prop::collection::vec(("[a-z_]{4,9}", any_value()), 0..5),
        stage in prop::option::of(any_value()),
        number in -1e6..1e6_f64,
    ) {
        let mut table = head;
        table.extend(stage.map(|value| ("as_built".to_owned(), value)));
        let text = format!(" {}\n", json(&Raw::Table(table)));
        let file = HouseFile::from_json(&text).unwrap();
        prop_assert_eq!(file.text(), &text);
        let new = file.with_value(None, "new", &Value::Number(number)).unwrap();
        prop_assert_eq!(new.get("new"), Some(&Raw::Number(number)));
        // Taking the new letters out gives the old text.
        let added = new.text().len() - text.len();
        let kept = (0..=text.len()).any(|at| text.is_char_boundary(at)
            && new.text().get(..at) == text.get(..at)
            && new.text().get(at + added..) == text.get(at..));
        prop_assert!(kept || text.trim() == "{\n }", "{}\n{}", text, new.text());
        let row = [("a".to_owned(), Value::Number(number))];
        let rows = matches!(file.get("as_built"), None | Some(Raw::Table(_)));
        let pushed = new.with_row(Stage::AsBuilt, "new-rows", &row);
        prop_assert_eq!(pushed.is_ok(), rows);
        if let Ok(one) = pushed {
            let two = one.with_row(Stage::AsBuilt, "new-rows", &row).unwrap();
            let Some(Raw::Table(table)) = two.get("as_built") else { panic!("{}", two.text()) };
            let list = &table.iter().find(|(key, _)| key == "new-rows").unwrap().1;
            prop_assert!(matches!(list, Raw::List(rows) if rows.len() == 2));
        }
    }

    /// No text at all makes it panic.
    #[test]
    fn any_text_is_a_file_or_an_error(text in "\\PC{0,80}") {
        let _ = HouseFile::from_toml(&text).map(|file| file.stages());
        let _ = HouseFile::from_json(&text).map(|file| file.stages());
    }
}

#[test]
fn a_file_is_saved_whole() {
    let folder = std::env::temp_dir().join(format!("stages-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("house.toml");
    let file = toml(&demo()).upgraded().unwrap();
    file.save(&path).unwrap();
    assert_eq!(HouseFile::from_file(&path).unwrap(), file);
    assert_eq!(std::fs::read_dir(&folder).unwrap().count(), 1, "no draft is left");
    assert!(file.save(folder.join("no/such/folder/house.toml")).is_err());
    std::fs::remove_dir_all(&folder).unwrap();
}
