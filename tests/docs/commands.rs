//! The README's two commands are what the build server runs.

use super::text;

/// Lines of the first `sh` block of a text, without comments.
fn first_commands(markdown: &str) -> Vec<String> {
    let block =
        markdown.split("```sh\n").nth(1).and_then(|rest| rest.split("```").next()).expect("a block of commands");
    block.lines().map(|line| line.split('#').next().unwrap_or_default().trim().to_owned()).collect()
}

#[test]
fn the_readme_names_two_commands_and_the_build_server_runs_both() {
    assert_eq!(first_commands(&text("README.md")), ["cargo run --release", "tests/run"]);
    let server = text(".ci/run");
    assert!(server.lines().any(|line| line.starts_with("exec ") && line.contains("/../tests/run\"")));
    let script = text("tests/run");
    assert!(script.lines().any(|line| line.contains("&& cargo run --release --manifest-path")));
    assert!(script.lines().any(|line| line == "step \"demonstration\" demonstration"));
}

#[cfg(unix)]
#[test]
fn scripts_may_be_run() {
    use std::os::unix::fs::PermissionsExt;
    for name in [".ci/run", "tests/run"] {
        let mode = std::fs::metadata(super::root().join(name)).expect(name).permissions().mode();
        assert_eq!(mode & 0o111, 0o111, "{name} is not executable");
    }
}
