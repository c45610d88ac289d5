//! The image, built once in a test run.

use std::{
    path::{Path, PathBuf},
    process::Command,
    sync::OnceLock,
};

pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap()
}

/// Path of the image's ELF, built by the script that people use.
pub fn elf() -> &'static Path {
    static ELF: OnceLock<PathBuf> = OnceLock::new();
    ELF.get_or_init(|| build(""))
}

/// Builds a variant of the image and gives its path.
pub fn build(variant: &str) -> PathBuf {
    let script = root().join("firmware/build");
    let arguments = [variant].into_iter().filter(|variant| !variant.is_empty());
    let output = Command::new(&script).args(arguments).output().expect("firmware/build can be run");
    assert!(output.status.success(), "firmware/build failed:\n{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    PathBuf::from(text.lines().next().expect("the script's first line is the path"))
}
