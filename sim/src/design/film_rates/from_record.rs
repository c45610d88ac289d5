//! stub
use super::{Options, Study, study::FilmRatesError};
use crate::scenario::Loaded;
use std::path::Path;
/// stub
pub fn study(_loaded: &Loaded, _folder: &Path, _options: &Options) -> Result<Study, FilmRatesError> { Err(FilmRatesError::Record("no".into())) }
