//! Links and paths in the texts lead somewhere.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use super::{root, text};

/// All texts of ours, by their path from the root.
fn texts() -> Vec<String> {
    let mut all: Vec<String> =
        ["README.md", "DEVELOPERS.md", "hil/README.md", "sim/assets/README.md"].map(str::to_owned).to_vec();
    all.extend(chapters().iter().map(|name| format!("docs/src/{name}")));
    all
}

fn chapters() -> BTreeSet<String> {
    let names = fs::read_dir(root().join("docs/src")).expect("docs/src").map(|entry| entry.expect("entry").file_name());
    names.filter_map(|name| name.into_string().ok()).filter(|name| name.ends_with(".md")).collect()
}

/// Targets of `[text](target)` and `![text](target)`.
fn targets(markdown: &str) -> Vec<&str> {
    markdown.split("](").skip(1).filter_map(|rest| rest.split(')').next()).collect()
}

#[test]
fn every_relative_link_leads_to_a_file() {
    let mut followed = 0;
    for from in texts() {
        let markdown = text(&from);
        for target in targets(&markdown) {
            let file = target.split('#').next().unwrap_or_default();
            if file.is_empty() || file.starts_with("http") {
                continue;
            }
            let at = root().join(&from).parent().expect("a folder").join(file);
            assert!(at.exists(), "{from} links to {target}, which is not there");
            followed += 1;
        }
    }
    assert!(followed > 40, "only {followed} links were found: is the reader of links broken?");
}

#[test]
fn every_heading_linked_to_exists() {
    for from in texts() {
        let markdown = text(&from);
        for target in targets(&markdown).into_iter().filter(|target| !target.starts_with("http")) {
            let Some((file, anchor)) = target.split_once('#') else { continue };
            let at = if file.is_empty() { root().join(&from) } else { root().join(&from).with_file_name(file) };
            let there = fs::read_to_string(&at).unwrap_or_else(|error| panic!("{from} → {target}: {error}"));
            assert!(headings(&there).contains(anchor), "{from} links to {target}: no such heading");
        }
    }
}

/// Anchors of a text's headings, as mdBook and the usual hosts make them.
fn headings(markdown: &str) -> BTreeSet<String> {
    let heading = |line: &str| line.starts_with('#').then(|| line.trim_start_matches('#').trim().to_lowercase());
    let anchor = |text: String| {
        text.chars()
            .filter_map(|c| match c {
                ' ' => Some('-'),
                c if c.is_alphanumeric() || c == '-' || c == '_' => Some(c),
                _ => None,
            })
            .collect()
    };
    markdown.lines().filter_map(heading).map(anchor).collect()
}

#[test]
fn summary_lists_every_chapter_once() {
    let summary = text("docs/src/SUMMARY.md");
    let listed: Vec<&str> = targets(&summary);
    let once: BTreeSet<String> = listed.iter().map(|&name| name.to_owned()).collect();
    assert_eq!(listed.len(), once.len(), "a chapter stands in SUMMARY.md twice");
    let mut written = chapters();
    written.remove("SUMMARY.md");
    assert_eq!(once, written);
}

#[test]
fn paths_named_in_the_texts_exist() {
    let mut seen = 0;
    for from in texts() {
        let markdown = text(&from);
        for word in markdown.split('`').skip(1).step_by(2) {
            let ours = ["sim/", "firmware/", "tests/", "docs/", "hil"].iter().any(|start| word.starts_with(start));
            if ours && !word.contains(['*', ' ', '<', '…']) {
                assert!(root().join(word).exists(), "{from} names `{word}`, which is not there");
                seen += 1;
            }
        }
    }
    assert!(seen > 30, "only {seen} paths were found");
}

#[test]
fn pictures_are_small_and_used() {
    let all: String = texts().iter().map(|name| text(name)).collect();
    for entry in fs::read_dir(root().join("docs/src/pictures")).expect("pictures") {
        let path = entry.expect("entry").path();
        let name = path.file_name().and_then(|name| name.to_str()).expect("a plain name");
        assert!(all.contains(&format!("pictures/{name}")), "{name} is used nowhere");
        assert!(size(&path) < 150_000, "{name} has {} bytes", size(&path));
    }
}

fn size(path: &Path) -> u64 {
    fs::metadata(path).expect("metadata").len()
}
