//! What is wrong with a file, told so that it can be mended: where, what, the limit, and what to do.

use std::fmt;
use std::ops::Range;

use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode};

/// Most problems shown at once: more would hide the first ones.
const SHOWN: usize = 20;

/// One thing that must be changed in a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// Key from the top of the file, e.g. `jet[2].thrust_n`; empty for the file as a whole.
    pub key: String,
    /// Place in the file, bytes; `None` where there is no text to point at.
    pub span: Option<Range<usize>>,
    /// What was found.
    pub message: String,
    /// What would be allowed there.
    pub label: String,
    /// Why, and what to do.
    pub help: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Problem {}

impl Diagnostic for Problem {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        (!self.help.is_empty()).then(|| Box::new(&self.help) as Box<dyn fmt::Display>)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let span = self.span.clone()?;
        let label = LabeledSpan::new_with_span(Some(self.label.clone()), span);
        Some(Box::new(std::iter::once(label)))
    }
}

/// A file that was refused, with everything found wrong in it. Nothing has been run.
#[derive(Debug)]
pub struct Refusal {
    name: String,
    source: NamedSource<String>,
    text: String,
    /// Everything found, in the order of the file.
    pub problems: Vec<Problem>,
}

impl Refusal {
    /// Gathers `problems` of the file `name` that holds `text`.
    pub fn new(name: &str, text: &str, mut problems: Vec<Problem>) -> Self {
        problems.sort_by_key(|problem| problem.span.as_ref().map_or(0, |span| span.start));
        let source = NamedSource::new(name, text.to_owned());
        Self { name: name.to_owned(), source, text: text.to_owned(), problems }
    }

    /// A refusal of a file as a whole.
    pub fn of_file(name: &str, message: impl Into<String>, help: impl Into<String>) -> Self {
        let problem = Problem {
            key: String::new(),
            span: None,
            message: message.into(),
            label: String::new(),
            help: help.into(),
        };
        Self::new(name, "", vec![problem])
    }

    /// Line of a problem, counted from 1.
    pub fn line(&self, problem: &Problem) -> Option<usize> {
        let start = problem.span.as_ref()?.start;
        let before = self.text.as_bytes().get(..start.min(self.text.len()))?;
        Some(before.iter().filter(|byte| **byte == b'\n').count() + 1)
    }

    /// The text a person reads; `colour` only for terminals that have it.
    pub fn render(&self, width: usize, colour: bool) -> String {
        let theme = if colour { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
        let handler = GraphicalReportHandler::new_themed(theme).with_width(width).with_links(false);
        let mut text = String::new();
        if handler.render_report(&mut text, self).is_err() {
            text = self.to_string();
        }
        text
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let count = self.problems.len();
        let noun = if count == 1 { "problem" } else { "problems" };
        write!(f, "{} is refused: {count} {noun}. Nothing was run.", self.name)?;
        if count > SHOWN {
            write!(f, " The first {SHOWN} are shown.")?;
        }
        Ok(())
    }
}

impl std::error::Error for Refusal {}

impl Diagnostic for Refusal {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&self.source)
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        Some(Box::new(self.problems.iter().take(SHOWN).map(|problem| problem as &dyn Diagnostic)))
    }
}
