//! What a reading gathers on its way: problems, places of keys, spreads.

use std::collections::BTreeMap;
use std::ops::Range;

use super::problem::Problem;
use super::spread::Spread;

/// Places of one key in the file, bytes.
#[derive(Clone, Debug)]
struct Place {
    key: Range<usize>,
    value: Range<usize>,
}

/// State of one reading.
#[derive(Debug, Default)]
pub struct Context {
    /// Found so far.
    pub problems: Vec<Problem>,
    /// Numbers that carry a spread, in file order of the tables.
    pub spreads: Vec<Spread>,
    /// Values that replace those of the file, in file units, by key.
    pub(super) drawn: BTreeMap<String, f64>,
    /// End of the text, bytes: where something that is missing from the whole file should stand.
    end: usize,
    places: BTreeMap<String, Place>,
}

impl Context {
    /// Begins the reading of a text that ends at byte `end`; `drawn` replaces numbers of it.
    pub fn new(end: usize, drawn: BTreeMap<String, f64>) -> Self {
        Self { end, drawn, ..Self::default() }
    }

    /// Notes where a key stands.
    pub fn note(&mut self, key: &str, key_span: Range<usize>, value_span: Range<usize>) {
        self.places.insert(key.to_owned(), Place { key: key_span, value: value_span });
    }

    /// Whether the file says something about `key`.
    pub fn says(&self, key: &str) -> bool {
        self.places.contains_key(key)
    }

    /// Place of the value of `key`, or of the nearest table around it that the file holds, or the file's end.
    pub fn span(&self, key: &str) -> Option<Range<usize>> {
        if let Some(place) = self.places.get(key) {
            return Some(place.value.clone());
        }
        let mut rest = key;
        while let Some(cut) = rest.rfind(['.', '[']) {
            rest = rest.get(..cut)?;
            if let Some(place) = self.places.get(rest) {
                return Some(place.key.clone());
            }
        }
        Some(self.end..self.end)
    }

    /// Adds a problem at the value of `key`.
    pub fn refuse(&mut self, key: &str, message: String, label: impl Into<String>, help: impl Into<String>) {
        let span = self.span(key);
        self.refuse_at(key, span, message, label, help);
    }

    /// Adds a problem at a known place.
    pub fn refuse_at(
        &mut self,
        key: &str,
        span: Option<Range<usize>>,
        message: String,
        label: impl Into<String>,
        help: impl Into<String>,
    ) {
        let problem = Problem { key: key.to_owned(), span, message, label: label.into(), help: help.into() };
        self.problems.push(problem);
    }
}
