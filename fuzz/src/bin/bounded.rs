//! A bounded run of every target on a stable toolchain, the same each time: seeds, changed by a
//! generator of fixed start. It finds less than a fuzzer that watches coverage, but it needs no
//! nightly compiler, ends when it should, and a failure comes back.
//!
//! ```console
//! cargo run --manifest-path fuzz/Cargo.toml --no-default-features --bin bounded -- 2000
//! cargo run --manifest-path fuzz/Cargo.toml --no-default-features --bin bounded -- 2000 csv
//! ```
//!
//! The first number is how many inputs each target gets; names after it choose targets. An input
//! that breaks a promise is kept under `fuzz/artifacts/` and the run ends with status 1; so it does
//! where a target takes none of its seeds: then all that it was given was turned away at the door,
//! and the run has tried nothing.

use std::panic::catch_unwind;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Instant;
use studbay_fuzz::{TARGETS, Target};

/// SplitMix64: a public-domain generator of a few lines.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, most: usize) -> usize {
        usize::try_from(self.next() % (most.max(1) as u64)).unwrap_or(0)
    }

    fn of<'l, T>(&mut self, list: &'l [T]) -> &'l T {
        &list[self.below(list.len())]
    }
}

/// What a parser may trip over.
const TOKENS: &[&str] = &[
    "NaN",
    "inf",
    "-inf",
    "-0",
    "0",
    "1e308",
    "1e-320",
    "-1",
    "99999999999999999999",
    "1,5",
    "0x1F",
    "null",
    "true",
    "\"",
    "\"\"",
    "'",
    "\n",
    "\r\n",
    "\r",
    ",",
    ";",
    "\t",
    "\0",
    "\u{feff}",
    "\u{2028}",
    "\u{202e}",
    "=1+1",
    "@x",
    "[[surfaces]]",
    "layers = [",
    "{",
    "}",
    "[",
    "]",
    "{\"r\":1}",
    "é",
    "💧",
    "house_id",
    "wall_area_ft2",
    "wall_area_m2",
    "series_r",
    "fuel",
    "surfaces",
    "material",
    "  ",
    "#REF!",
    "LOCATION,",
    "Date (MM/DD/YYYY)",
    "2026-02-29",
    "0000-00-00",
    "9999-12-31",
    "24:00",
    "9999",
    "99.9",
    "mean_f",
    "[as_built]",
    "[[options]]",
    "ranges = {",
    "{% for x in y %}",
    "{{",
    "PAR1",
];
/// Nothing here is worth more.
const MOST_BYTES: usize = 1 << 14;

fn changed(seeds: &[Vec<u8>], chance: &mut Chance) -> Vec<u8> {
    let mut data = if seeds.is_empty() { Vec::new() } else { chance.of(seeds).clone() };
    // Half of them once only: what is changed often is seldom taken.
    let more = if chance.below(2) == 0 { 0 } else { chance.below(6) };
    for _ in 0..=more {
        let at = chance.below(data.len() + 1);
        match chance.below(9) {
            0 if !data.is_empty() => {
                let at = chance.below(data.len());
                data[at] ^= 1 << chance.below(8);
            }
            1 if !data.is_empty() => {
                let at = chance.below(data.len());
                data[at] = chance.next().to_le_bytes()[0];
            }
            2 => data.insert(at, chance.next().to_le_bytes()[0]),
            3 => {
                let until = (at + chance.below(16)).min(data.len());
                data.drain(at..until);
            }
            4 => {
                let token = chance.of(TOKENS).as_bytes();
                data.splice(at..at, token.iter().copied());
            }
            5 => {
                let until = (at + chance.below(64)).min(data.len());
                let piece = data[at..until].to_vec();
                let to = chance.below(data.len() + 1);
                data.splice(to..to, piece);
            }
            6 if !seeds.is_empty() => {
                let other = chance.of(seeds).clone();
                let from = chance.below(other.len() + 1);
                data.truncate(at);
                data.extend_from_slice(&other[from..]);
            }
            7 => data.truncate(at),
            _ => {
                let token = chance.of(TOKENS).as_bytes();
                let until = (at + token.len()).min(data.len());
                data.splice(at..until, token.iter().copied());
            }
        }
    }
    data.truncate(MOST_BYTES);
    data
}

fn seeds(folder: &Path) -> Vec<Vec<u8>> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)
        .map(|entries| entries.flatten().map(|entry| entry.path()).collect())
        .unwrap_or_default();
    paths.sort();
    paths.iter().filter_map(|path| std::fs::read(path).ok()).collect()
}

/// What became of inputs.
#[derive(Default)]
struct Counts {
    taken: usize,
    refused: usize,
    broken: usize,
}

impl Counts {
    fn try_one(&mut self, target: &Target, data: &[u8], here: &Path, number: usize) {
        match catch_unwind(|| (target.run)(data)) {
            Ok(true) => self.taken += 1,
            Ok(false) => self.refused += 1,
            Err(_) => {
                self.broken += 1;
                let folder = here.join("artifacts").join(target.name);
                let path = folder.join(format!("bounded-{number}"));
                let kept =
                    std::fs::create_dir_all(&folder).and_then(|()| std::fs::write(&path, data));
                let name = target.name;
                eprintln!("{name}: input {number} breaks a promise; kept: {}", kept.is_ok());
            }
        }
    }
}

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let count = arguments.next().and_then(|text| text.parse().ok()).unwrap_or(2000_usize);
    let wanted: Vec<String> = arguments.collect();
    if let Some(name) = wanted.iter().find(|name| TARGETS.iter().all(|t| t.name != **name)) {
        eprintln!("there is no target {name}");
        return ExitCode::FAILURE;
    }
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut failed = false;
    for target in TARGETS {
        if !wanted.is_empty() && !wanted.iter().any(|name| name == target.name) {
            continue;
        }
        let start = Instant::now();
        let seeds = seeds(&here.join("seeds").join(target.name));
        let mut of_seeds = Counts::default();
        for (number, data) in seeds.iter().enumerate() {
            of_seeds.try_one(target, data, here, number);
        }
        let mut chance = Chance(0x5eed);
        let mut of_changed = Counts::default();
        for number in 0..count {
            let data = changed(&seeds, &mut chance);
            of_changed.try_one(target, &data, here, seeds.len() + number);
        }
        let Counts { taken, refused, broken } = of_changed;
        println!(
            "{:14} {} of {} seeds taken; {count} inputs: {taken} taken, {refused} refused, {} broken; {:.1} s",
            target.name,
            of_seeds.taken,
            seeds.len(),
            broken + of_seeds.broken,
            start.elapsed().as_secs_f64(),
        );
        if of_seeds.taken == 0 {
            eprintln!(
                "{}: takes none of its seeds, so nothing behind its door was tried",
                target.name
            );
        }
        failed |= broken + of_seeds.broken > 0 || of_seeds.taken == 0;
    }
    if failed { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}
