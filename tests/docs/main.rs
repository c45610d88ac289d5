//! The handbook kept true: tables made from the source, worked examples, links, the two commands.

use std::fs;
use std::path::{Path, PathBuf};

mod commands;
mod examples;
mod faults_flown;
#[allow(dead_code, reason = "one of its measures is published here")]
#[path = "../flight/film_start.rs"]
mod film_start;
mod film_starts;
mod links;
#[allow(dead_code, reason = "film_start flies on it")]
#[path = "../flight/rig.rs"]
mod rig;
mod tables;

/// The repository's root.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("tests/ lies in the repository").to_owned()
}

/// Text of a file, by its path from the root.
fn text(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// Compares a generated chapter with the published one; with STILLFRAME_BLESS set, writes it.
#[track_caller]
fn assert_published(name: &str, now: &str) {
    let path = root().join("docs/src").join(name);
    if std::env::var_os("STILLFRAME_BLESS").is_some() {
        fs::write(&path, now).expect("written");
    }
    let published = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        published == now,
        "docs/src/{name} is out of date; run the tests once with STILLFRAME_BLESS=1 and look at the change"
    );
}

/// A cell of a Markdown table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('\n', " ")
}
