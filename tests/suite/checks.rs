//! Every check against the outside, written down while the tests run. `tests/generate/make_checks.py`
//! makes the table of the method book from it.

use std::io::Write as _;

/// One value beside what somebody else has for it.
pub(crate) struct Check<'t> {
    pub topic: &'t str,
    pub quantity: &'t str,
    pub unit: &'t str,
    pub ours: f64,
    pub theirs: f64,
    /// Greatest difference allowed.
    pub within: f64,
    pub source: &'t str,
    pub place: &'t str,
    pub mark: &'t str,
}

impl Check<'_> {
    /// Asserts, and with `STUDBAY_CHECKS` set appends a line to that file.
    pub(crate) fn assert(&self) {
        let Self { topic, quantity, unit, ours, theirs, within, source, place, mark } = self;
        let error = (ours - theirs).abs();
        assert!(
            error <= *within,
            "{quantity}: {ours}, {source} has {theirs}, off by {error:e}, allowed {within:e}"
        );
        let Some(path) = std::env::var_os("STUDBAY_CHECKS") else { return };
        let quoted =
            [topic, quantity, unit].map(|text| format!("\"{}\"", text.replace('"', "\"\"")));
        let cited = [source, place, mark].map(|text| format!("\"{}\"", text.replace('"', "\"\"")));
        let line =
            format!("{},{ours:e},{theirs:e},{within:e},{}\n", quoted.join(","), cited.join(","));
        // One write a line: tests run side by side.
        let mut file = std::fs::File::options().create(true).append(true).open(path).unwrap();
        file.write_all(line.as_bytes()).unwrap();
    }
}
