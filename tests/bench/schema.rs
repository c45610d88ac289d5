//! The schema of `bench.json` in the handbook is the program's.

#[test]
fn the_published_schema_is_the_programs_own() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/src/bench.schema.json");
    let published: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let own = stillframe_hil::summary::schema();
    assert_eq!(published, own, "renew it: stillframe-bench schema > docs/src/bench.schema.json");
}
