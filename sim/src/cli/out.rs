//! The folder for the results.

use std::io;
use std::path::{Path, PathBuf};

/// Longest run of numbered folders tried.
const MOST: u32 = 100_000;

/// Makes the folder `asked`, or a fresh one called after the run.
///
/// # Errors
/// `asked` holds something already, or the folder cannot be made.
pub fn folder(asked: Option<&Path>, name: &str, seed: u64) -> io::Result<PathBuf> {
    match asked {
        Some(asked) => fresh_or_empty(asked).map(|()| asked.to_path_buf()),
        None => numbered(Path::new("results"), &format!("{}-{seed}", file_name(name))),
    }
}

/// Makes the folder `asked`, or a fresh one called after what was done and its name.
///
/// # Errors
/// As for [`folder`].
pub fn folder_for(asked: Option<&Path>, what: &str, name: &str) -> io::Result<PathBuf> {
    match asked {
        Some(asked) => fresh_or_empty(asked).map(|()| asked.to_path_buf()),
        None => numbered(Path::new("results"), &format!("{what}-{}", file_name(name))),
    }
}

fn fresh_or_empty(folder: &Path) -> io::Result<()> {
    if folder.exists() && !folder.is_dir() {
        return Err(io::Error::other(format!("{} is a file, not a folder", folder.display())));
    }
    if folder.is_dir() && std::fs::read_dir(folder)?.next().is_some() {
        let text = format!(
            "{} holds something already and is left alone. Choose another --out, or empty it",
            folder.display()
        );
        return Err(io::Error::other(text));
    }
    std::fs::create_dir_all(folder)
}

fn numbered(parent: &Path, base: &str) -> io::Result<PathBuf> {
    std::fs::create_dir_all(parent)?;
    for number in 1..MOST {
        let folder = parent.join(if number == 1 { base.to_owned() } else { format!("{base}-{number}") });
        // Making it is the test: two runs at once cannot get the same folder.
        match std::fs::create_dir(&folder) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            made => return made.map(|()| folder),
        }
    }
    Err(io::Error::other(format!("{} holds too many runs of {base}", parent.display())))
}

/// The run's name with everything but letters, digits, `-` and `_` turned into `-`.
fn file_name(name: &str) -> String {
    let plain = |c: char| {
        if c.is_alphanumeric() || c == '_' { c } else { '-' }
    };
    name.chars().map(plain).collect::<String>().trim_matches('-').to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_become_plain_folder_names() {
        assert_eq!(file_name("Whimbrel / day 1"), "whimbrel---day-1");
        assert_eq!(file_name("../up"), "up");
    }

    #[test]
    fn a_taken_name_is_numbered_and_a_full_folder_refused() {
        let parent = std::env::temp_dir().join(format!("stillframe-out-{}", std::process::id()));
        let made: Vec<_> = (0..3).map(|_| numbered(&parent, "day-7").ok()).collect();
        let wanted: Vec<_> = ["day-7", "day-7-2", "day-7-3"].iter().map(|name| Some(parent.join(name))).collect();
        let empty_is_good = folder(Some(&parent.join("day-7")), "", 0).is_ok();
        let full_is_refused = folder(Some(&parent), "", 0).is_err();
        let cleared = std::fs::remove_dir_all(&parent);
        assert_eq!(made, wanted);
        assert!(empty_is_good && full_is_refused && cleared.is_ok());
    }
}
