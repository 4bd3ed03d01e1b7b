//! The documents are held to the library: tables, worked numbers, house files, messages, commands
//! and links.

use std::path::{Path, PathBuf};
use studbay::Step;
use studbay::account::account;
use studbay::house::{House, ResultValue, assess, explain};
use studbay::units::UnitSystem;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn read(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

fn demo() -> String {
    read("demo-data/house.toml")
}

fn house(toml: &str) -> House {
    House::from_toml(toml).unwrap_or_else(|error| panic!("{error}"))
}

/// What stands between `<!-- name -->` and `<!-- /name -->`.
fn section<'t>(text: &'t str, name: &str) -> &'t str {
    let (open, close) = (format!("<!-- {name} -->"), format!("<!-- /{name} -->"));
    let (_, rest) = text.split_once(&open).unwrap_or_else(|| panic!("there is no {open}"));
    rest.split_once(&close).unwrap_or_else(|| panic!("there is no {close}")).0
}

/// The first code block of this language.
fn code<'t>(text: &'t str, language: &str) -> &'t str {
    let open = format!("```{language}\n");
    let (_, rest) = text.split_once(&open).unwrap_or_else(|| panic!("there is no {open}"));
    rest.split_once("```").expect("a code block ends").0
}

/// Whether the value, rounded to the decimals printed, is what is printed.
fn agrees(printed: &str, value: f64) -> bool {
    let decimals = printed.split_once('.').map_or(0, |(_, rest)| rest.len());
    let number: f64 = printed.parse().unwrap_or_else(|_| panic!("{printed} is not a number"));
    let last = 10_f64.powi(-i32::try_from(decimals).unwrap());
    (value - number).abs() <= 0.5 * last * (1.0 + 1e-9)
}

#[test]
fn the_worked_house_is_the_house() {
    const LEAST_ROWS: usize = 10;
    let readme = read("README.md");
    let results: Vec<_> = assess(&house(&demo())).results(UnitSystem::Ip).collect();
    let rows: Vec<(&str, &str)> = section(&readme, "worked house")
        .lines()
        .filter_map(|line| line.strip_prefix("| `")?.strip_suffix(" |")?.split_once("` | "))
        .collect();
    assert!(rows.len() >= LEAST_ROWS, "the table has {} rows", rows.len());
    for (name, printed) in rows {
        let found = results.iter().find(|(known, _)| *known == name);
        let (_, value) = found.unwrap_or_else(|| panic!("no result is called {name}"));
        let same = match value {
            ResultValue::Number(Some(number)) => agrees(printed, *number),
            ResultValue::Number(None) => printed == "none",
            ResultValue::Word(word) => printed == *word,
            ResultValue::Words(words) => printed == words,
        };
        assert!(same, "README says {name} is {printed}, the library says {value:?}");
    }
}

#[test]
fn the_account_is_quoted_as_it_is_printed() {
    let readme = read("README.md");
    let printed: Vec<String> = account(&house(&demo()), UnitSystem::Ip, "$")
        .into_iter()
        .flat_map(|block| {
            let lines = block.lines.into_iter().map(|(label, text)| {
                if label.is_empty() { format!("  {text}") } else { format!("  {label}: {text}") }
            });
            std::iter::once(block.title).chain(lines).collect::<Vec<_>>()
        })
        .collect();
    let quoted = code(section(&readme, "account"), "text");
    assert!(quoted.lines().count() >= 3);
    for line in quoted.lines() {
        assert!(printed.iter().any(|known| known == line), "not in the account: {line}");
    }
}

#[test]
fn the_doubt_is_quoted_as_it_is_printed() {
    use studbay::doubt::{Figure, Sampling, doubt, shares, words};
    let house = house(&demo());
    let drawn = doubt(&house, &Sampling::default());
    let base = Sampling { draws: 4096, ..Sampling::default() };
    let found = shares(&house, &base, Figure::Npv).expect("it varies");
    let printed: Vec<String> = words::report(&drawn, Some(&found), UnitSystem::Ip, "$")
        .into_iter()
        .flat_map(|block| {
            let lines = block.lines.into_iter().map(|(label, text)| {
                if label.is_empty() { format!("  {text}") } else { format!("  {label}: {text}") }
            });
            std::iter::once(block.title).chain(lines).collect::<Vec<_>>()
        })
        .collect();
    let document = read("docs/DOUBT.md");
    let quoted = code(section(&document, "doubt"), "text");
    assert!(quoted.lines().count() >= 10);
    for line in quoted.lines() {
        assert!(printed.iter().any(|known| known == line), "not printed: {line}");
    }
    // The ranges that the document shows are ranges.
    let shown = format!("{}\n{}", demo(), code(&document, "toml"));
    assert_eq!(self::house(&shown).ranges().len(), 6);
}

#[test]
fn the_faulty_house_is_answered_as_quoted() {
    let readme = read("README.md");
    let part = section(&readme, "faulty");
    let error = House::from_toml(code(part, "toml")).expect_err("it is faulty").to_string();
    let mut found: Vec<_> = error.lines().map(|line| format!("  {line}")).collect();
    let mut quoted: Vec<_> = code(part, "text").lines().map(str::to_owned).collect();
    let head = quoted.remove(0);
    assert!(head.ends_with(&format!(": {} faults", found.len())), "{head}");
    found.sort();
    quoted.sort();
    assert_eq!(quoted, found);
}

#[test]
fn the_readme_names_every_command() {
    let cli = read("python/studbay/cli.py");
    let mut commands = Vec::new();
    let mut lines = cli.lines();
    while let Some(line) = lines.next() {
        let Some(decorator) = line.strip_prefix("@app.command(") else { continue };
        let given = decorator.split('"').nth(1).map(str::to_owned);
        let function = lines.by_ref().find_map(|line| line.strip_prefix("def "));
        let name = function.and_then(|rest| rest.split_once('(')).map(|(name, _)| name);
        commands.push(given.unwrap_or_else(|| name.expect("a function").replace('_', "-")));
    }
    assert!(commands.len() >= 2, "{commands:?}");
    let readme = read("README.md");
    for command in commands {
        assert!(readme.contains(&format!("studbay {command}")), "README omits studbay {command}");
    }
}

/// Code spans that hold `symbol = number`.
fn equations(text: &str) -> Vec<(&str, &str)> {
    text.split('`').skip(1).step_by(2).filter_map(|span| span.split_once(" = ")).collect()
}

/// The paragraphs of a text that start with a word.
fn paragraphs<'t>(text: &'t str, start: &'t str) -> impl Iterator<Item = &'t str> {
    text.split("\n\n").filter(move |paragraph| paragraph.starts_with(start))
}

fn check(equations: &[(&str, &str)], steps: &[Step], least: usize) {
    assert!(equations.len() >= least, "only {} worked numbers", equations.len());
    for (symbol, printed) in equations {
        let step = steps.iter().find(|step| step.symbol == *symbol);
        let step = step.unwrap_or_else(|| panic!("no figure is called {symbol}"));
        let value = step.value.expect("a number");
        assert!(agrees(printed, value), "METHOD says {symbol} = {printed}, it is {value}");
    }
}

#[test]
fn the_worked_numbers_of_the_method_are_right() {
    let method = read("docs/METHOD.md");
    let of = |start| paragraphs(&method, start).flat_map(equations).collect::<Vec<_>>();
    check(&of("**Worked**"), &explain(&house(&demo())), 35);

    let variant = format!("{}\n{}", demo(), code(section(&method, "variant"), "toml"));
    check(&of("**Variant**"), &explain(&house(&variant)), 8);

    let readme = read("README.md");
    let listed = house(code(section(&readme, "surfaces"), "toml"));
    let last = listed.surfaces().len() - 1;
    assert_eq!(listed.surfaces()[last].name(), Some("attic floor"));
    let steps: Vec<_> =
        explain(&listed).into_iter().filter(|step| step.surface == Some(last)).collect();
    check(&equations(section(&method, "attic")), &steps, 8);
}

#[test]
fn links_lead_somewhere() {
    for document in
        ["README.md", "DEVELOPERS.md", "docs/METHOD.md", "docs/SOURCES.md", "docs/DOUBT.md"]
    {
        let text = read(document);
        let folder = root().join(Path::new(document).parent().expect("a file has a folder"));
        let targets = text.split("](").skip(1).filter_map(|rest| rest.split_once(')'));
        for (target, _) in targets {
            let path = target.split('#').next().unwrap_or_default();
            let elsewhere = path.is_empty() || path.contains("://");
            assert!(elsewhere || folder.join(path).exists(), "{document} links to {target}");
        }
    }
}
