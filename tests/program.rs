//! The built command. It belongs to another package, so cargo does not build it for these tests by itself.

use std::path::{Path, PathBuf};
use std::process::Command as Process;
use std::sync::OnceLock;

/// Path of the command, built on first use.
pub fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| {
        let profile: &[&str] = if cfg!(debug_assertions) { &[] } else { &["--release"] };
        let built = Process::new(env!("CARGO"))
            .args(["build", "--quiet", "--package", "stillframe", "--bin", "stillframe"])
            .args(profile)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .status();
        assert!(built.is_ok_and(|status| status.success()), "the command does not build");
        let test = std::env::current_exe().expect("own path");
        let folder = test.ancestors().nth(2).expect("target folder");
        folder.join(format!("stillframe{}", std::env::consts::EXE_SUFFIX))
    })
}
