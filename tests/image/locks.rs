//! The board has a lock file of its own. What it shares with the workspace's must be the same version: the desk would
//! otherwise fly other code than the board.

use crate::image;
use std::collections::{BTreeMap, BTreeSet};

/// What the flight code and the messages are made of.
const FLOWN: [&str; 9] =
    ["cobs", "crc", "embedded-hal", "heapless", "libm", "micromath", "nalgebra", "postcard", "serde"];

/// Versions of every package, by the series in which cargo takes them to be compatible.
fn versions(lock: &str) -> BTreeMap<(String, String), BTreeSet<String>> {
    let table: toml::Table = toml::from_str(lock).unwrap();
    let mut found = BTreeMap::<_, BTreeSet<String>>::new();
    for package in table["package"].as_array().unwrap() {
        let text = |key: &str| package[key].as_str().unwrap().to_owned();
        let version = text("version");
        let parts: Vec<&str> = version.split('.').collect();
        // The first part that is not zero decides.
        let series = if parts[0] == "0" { format!("0.{}", parts[1]) } else { parts[0].to_owned() };
        found.entry((text("name"), series)).or_default().insert(version);
    }
    found
}

/// Packages that both lock files hold in one series, but in different versions; and how many agree.
fn differing(board: &str, workspace: &str) -> (Vec<String>, BTreeSet<String>) {
    let (board, workspace) = (versions(board), versions(workspace));
    let (mut differ, mut agree) = (Vec::new(), BTreeSet::new());
    for ((name, series), here) in &board {
        match workspace.get(&(name.clone(), series.clone())) {
            Some(there) if here == there => _ = agree.insert(name.clone()),
            Some(there) => differ.push(format!("{name}: board {here:?}, workspace {there:?}")),
            None => {}
        }
    }
    (differ, agree)
}

#[test]
fn both_lock_files_hold_the_same_versions() {
    let read = |name: &str| std::fs::read_to_string(image::root().join(name)).unwrap();
    let (board, workspace) = (read("firmware/board/Cargo.lock"), read("Cargo.lock"));
    let (differ, agree) = differing(&board, &workspace);
    assert!(differ.is_empty(), "cargo update --precise in firmware/board or in the root: {differ:#?}");
    for name in FLOWN {
        assert!(agree.contains(name), "{name} is not in both lock files in the same series");
    }
    // A version that differs is seen.
    let other = board.replace("name = \"libm\"\nversion = \"0.2.", "name = \"libm\"\nversion = \"0.2.9");
    assert_eq!(differing(&other, &workspace).0.len(), 1);
}
