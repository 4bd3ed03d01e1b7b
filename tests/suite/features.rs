//! What may stand where in the source tree.

use std::path::{Path, PathBuf};

/// Every Rust file under a folder of the crate, with its text.
pub(crate) fn sources(folder: &str) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    let mut open = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join(folder)];
    while let Some(path) = open.pop() {
        if path.is_dir() {
            open.extend(std::fs::read_dir(&path).unwrap().map(|entry| entry.unwrap().path()));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            let text = std::fs::read_to_string(&path).unwrap();
            found.push((path, text));
        }
    }
    assert!(!found.is_empty(), "{folder} has no Rust files");
    found
}

/// The path below `src`, with `/` on every system.
fn below_src(path: &Path) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    path.strip_prefix(root).unwrap().to_string_lossy().replace('\\', "/")
}

/// The core knows nothing of Python.
#[test]
fn pyo3_stays_in_its_folder() {
    for (path, text) in sources("src") {
        let place = below_src(&path);
        if !place.starts_with("python/") {
            assert!(!text.contains("pyo3"), "src/{place} mentions pyo3");
        }
    }
}

/// The same bits on every target: no fused multiply-add, and no function whose last bit the
/// platform's own library decides. Powers and the like come from the pure-Rust `libm`.
#[test]
fn the_arithmetic_is_the_same_everywhere() {
    const NUMERIC: &[&str] = &[
        "assembly/",
        "batch/",
        "bills/",
        "climate/",
        "distribution.rs",
        "doubt/",
        "numeric/",
        "energy.rs",
        "money.rs",
        "carbon.rs",
        "job.rs",
        "house/assess.rs",
        "choices/",
        "goal/",
        "lending/",
    ];
    const FORBIDDEN: [&str; 22] = [
        "mul_add", "powf", "powi", "exp", "exp2", "exp_m1", "ln", "ln_1p", "log", "log2", "log10",
        "cbrt", "hypot", "sin", "cos", "tan", "asin", "acos", "atan", "atan2", "sinh", "tanh",
    ];
    let mut seen = 0;
    for (path, text) in sources("src") {
        let place = below_src(&path);
        if !NUMERIC.iter().any(|numeric| place.starts_with(numeric)) {
            continue;
        }
        seen += 1;
        // What a test or a comment does is no part of a result.
        let code = text.split("#[cfg(test)]").next().unwrap();
        for (line, code) in code.lines().enumerate() {
            let code = code.split("//").next().unwrap();
            for name in FORBIDDEN {
                let found = code.contains(&format!(".{name}("))
                    || code.contains(&format!("f64::{name}"))
                    || code.contains(&format!("f32::{name}"));
                assert!(!found, "src/{place}:{}: {name}", line + 1);
            }
            // Vector libraries have it under longer names.
            for fused in ["mul_add", "fmadd"] {
                assert!(!code.contains(fused), "src/{place}:{}: {fused}", line + 1);
            }
        }
    }
    assert!(seen >= 12, "{seen} numeric files");
}
