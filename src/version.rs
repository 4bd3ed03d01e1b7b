//! Which studbay this is: its version, and the commit that it was built from.

/// The version of the package.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// The commit that it was built from, as in `1a2b3c4d5e6f`, with `+changes` where files had been changed since; none where it was not built
/// in a checkout, as from a source package.
pub const COMMIT: Option<&str> = {
    let commit = env!("STUDBAY_COMMIT");
    if commit.is_empty() { None } else { Some(commit) }
};

/// Version and commit, as in `0.1.0 (1a2b3c4d5e6f)`.
pub fn version() -> String {
    match COMMIT {
        Some(commit) => format!("{VERSION} ({commit})"),
        None => VERSION.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_commit_is_twelve_digits() {
        if let Some(commit) = COMMIT {
            let digits = commit.strip_suffix("+changes").unwrap_or(commit);
            assert!(
                digits.len() == 12 && digits.bytes().all(|b| b.is_ascii_hexdigit()),
                "{commit}"
            );
        }
        assert!(version().starts_with(VERSION));
    }
}
