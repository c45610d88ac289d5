//! stub
use super::Study;
use std::path::Path;
/// stub
pub fn write_folder(folder: &Path, made: &Study) -> Result<(), crate::record::RecordError> { let _ = std::fs::write(folder.join("rates.json"), made.summary.to_json()); Ok(()) }
