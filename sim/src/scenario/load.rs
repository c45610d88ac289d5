//! Files to scenarios.

use std::collections::BTreeMap;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::read::Record;
use super::read::context::Context;
use super::read::number::plain_number;
use super::read::problem::{Problem, Refusal};
use super::read::spread::Spread;
use super::read::table::read_record;
use super::winds::{first_not_rising, read_winds};
use super::{FORMAT, Scenario, check};

/// Largest file read, bytes.
const LARGEST: u64 = 4_000_000;

/// Where the files that a scenario names are found.
pub trait Neighbours {
    /// Text of the file called `name`.
    ///
    /// # Errors
    /// Whatever kept the file from being read, not being UTF-8 included.
    fn read(&self, name: &str) -> io::Result<String>;
}

/// Files in a folder.
#[derive(Clone, Debug)]
pub struct Folder(pub PathBuf);

impl Neighbours for Folder {
    fn read(&self, name: &str) -> io::Result<String> {
        let bytes = limited(&self.0.join(name))?;
        String::from_utf8(bytes).map_err(|error| io::Error::new(io::ErrorKind::InvalidData, error))
    }
}

/// Files held by the program, by name.
#[derive(Clone, Copy, Debug)]
pub struct BuiltIn(pub &'static [(&'static str, &'static str)]);

impl Neighbours for BuiltIn {
    fn read(&self, name: &str) -> io::Result<String> {
        let found = self.0.iter().find(|(held, _)| *held == name);
        found
            .map(|(_, text)| (*text).to_owned())
            .ok_or_else(|| io::Error::new(io::ErrorKind::NotFound, "there is no such file"))
    }
}

/// A scenario that passed every check, with what it was read from.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The scenario, in SI.
    pub scenario: Scenario,
    /// Numbers that a campaign may vary.
    pub spreads: Vec<Spread>,
    /// File name, as shown in messages.
    pub name: String,
    /// The file's text.
    pub text: String,
    /// Name and text of the settings file, if the scenario names one.
    pub settings: Option<(String, String)>,
    /// The published element set the orbit starts from, if any.
    pub element_set: Option<sgp4::Elements>,
    neighbours: BTreeMap<String, String>,
}

impl Loaded {
    /// The same scenario with other numbers in place of some: by key, in file units. For campaigns.
    ///
    /// # Errors
    /// As for [`read`]: a draw may break a rule that joins several keys.
    pub fn redraw(&self, drawn: BTreeMap<String, f64>) -> Result<Self, Box<Refusal>> {
        read_with(&self.name, &self.text, &self.neighbours, drawn)
    }

    /// Text of a file beside the scenario that was read with it; empty if none of that name was.
    pub fn neighbour(&self, name: &str) -> &str {
        self.neighbours.get(name).map_or("", String::as_str)
    }
}

impl Neighbours for BTreeMap<String, String> {
    fn read(&self, name: &str) -> io::Result<String> {
        self.get(name).cloned().ok_or_else(|| io::Error::new(io::ErrorKind::NotFound, "there is no such file"))
    }
}

/// Reads and checks the scenario file at `path`.
///
/// # Errors
/// A [`Refusal`] with everything found wrong in the file, or why it could not be read.
pub fn load(path: &Path) -> Result<Loaded, Box<Refusal>> {
    let (name, text) = text_of(path, "Check the path. `stillframe new FILE` writes a scenario to start from.")?;
    let folder = path.parent().map_or_else(PathBuf::new, Path::to_path_buf);
    read(&name, &text, &Folder(folder))
}

/// Name and text of the file at `path`, for messages and for reading; `help` is told if there is none.
///
/// # Errors
/// Why the file could not be read.
pub fn text_of(path: &Path, help: &str) -> Result<(String, String), Box<Refusal>> {
    let name = path.display().to_string();
    let bytes =
        limited(path).map_err(|error| Refusal::of_file(&name, format!("{name} cannot be read: {error}"), help))?;
    let text = String::from_utf8(bytes).map_err(|error| not_utf8(&name, &error))?;
    Ok((name, text))
}

/// Reads a file of ours that is no scenario, by the same rules: `format` first, every problem told at once. Its numbers
/// take no spreads: no campaign reads it.
///
/// # Errors
/// A [`Refusal`] with everything found wrong.
pub fn read_plain<R: Record>(name: &str, text: &str) -> Result<R, Box<Refusal>> {
    let refuse = |problems: Vec<Problem>| Box::new(Refusal::new(name, text, problems));
    let (value, mut cx) = document(text, BTreeMap::new()).map_err(refuse)?;
    let record = read_record::<R>(&value, "", &mut cx);
    for key in cx.spreads.iter().map(|spread| spread.key.clone()).collect::<Vec<_>>() {
        let help = "Spreads are drawn by campaigns of flights, which do not read this file.";
        cx.refuse(&key, format!("{key} carries a spread"), "write one number", help);
    }
    match record {
        Some(record) if cx.problems.is_empty() => Ok(record),
        _ => Err(refuse(cx.problems)),
    }
}

/// A text as a TOML table whose format is known, and the reading begun on it.
fn document(text: &str, drawn: BTreeMap<String, f64>) -> Result<(Spanned<DeValue<'_>>, Context), Vec<Problem>> {
    let table = DeTable::parse(text).map_err(|error| vec![syntax(text, &error)])?;
    let end = text.trim_end().len();
    let mut cx = Context::new(end, drawn);
    if !format_known(&table, &mut cx) {
        return Err(cx.problems);
    }
    Ok((Spanned::new(end..end, DeValue::Table(table.into_inner())), cx))
}

fn not_utf8(name: &str, error: &std::string::FromUtf8Error) -> Box<Refusal> {
    let at = error.utf8_error().valid_up_to();
    let line = error.as_bytes().iter().take(at).filter(|byte| **byte == b'\n').count() + 1;
    let message = format!("{name} is not UTF-8 text: line {line}, byte {at}");
    Box::new(Refusal::of_file(name, message, "Save the file as UTF-8; TOML allows nothing else."))
}

fn limited(path: &Path) -> io::Result<Vec<u8>> {
    if path.is_dir() {
        return Err(io::Error::other("it is a folder"));
    }
    let mut bytes = Vec::new();
    std::fs::File::open(path)?.take(LARGEST + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > LARGEST {
        return Err(io::Error::other(format!("it is larger than {} MB", LARGEST / 1_000_000)));
    }
    Ok(bytes)
}

/// Reads and checks the scenario `text`; `name` is used in messages, `neighbours` to find files it names.
///
/// # Errors
/// A [`Refusal`] with everything found wrong.
pub fn read(name: &str, text: &str, neighbours: &dyn Neighbours) -> Result<Loaded, Box<Refusal>> {
    read_with(name, text, neighbours, BTreeMap::new())
}

fn read_with(
    name: &str,
    text: &str,
    neighbours: &dyn Neighbours,
    drawn: BTreeMap<String, f64>,
) -> Result<Loaded, Box<Refusal>> {
    let refuse = |problems: Vec<Problem>| Box::new(Refusal::new(name, text, problems));
    let (value, mut cx) = document(text, drawn).map_err(refuse)?;
    let Some(mut scenario) = read_record::<Scenario>(&value, "", &mut cx) else {
        return Err(refuse(cx.problems));
    };
    let mut files = BTreeMap::new();
    let settings = scenario.run.settings.clone().and_then(|file| {
        let text = neighbour(neighbours, "run.settings", &file, &mut files, &mut cx)?;
        Some((file, text))
    });
    let element_set = element_set(&scenario, neighbours, &mut files, &mut cx);
    winds(&mut scenario, neighbours, &mut files, &mut cx);
    check::check(&scenario, element_set.as_ref(), &mut cx);
    if !cx.problems.is_empty() {
        return Err(refuse(cx.problems));
    }
    let (name, text, spreads) = (name.to_owned(), text.to_owned(), cx.spreads);
    Ok(Loaded { scenario, spreads, name, text, settings, element_set, neighbours: files })
}

/// A TOML error as a problem.
pub(super) fn syntax(text: &str, error: &toml::de::Error) -> Problem {
    let span = error.span().unwrap_or(text.len()..text.len());
    let at_end = span.start >= text.trim_end().len();
    let help = if at_end {
        "The file ends in the middle of something: it may have been cut short."
    } else {
        "The file is not TOML here. Text needs quotes, lists need [ ], and every line is `key = value` or a [table]."
    };
    Problem {
        key: String::new(),
        span: Some(span),
        message: format!("not valid TOML: {}", error.message().trim()),
        label: "here".to_owned(),
        help: help.to_owned(),
    }
}

fn format_known(table: &Spanned<DeTable<'_>>, cx: &mut Context) -> bool {
    let help =
        format!("Write `format = {FORMAT}` as the first line; it tells which version of this file format is used.");
    let Some(value) = table.get_ref().get("format") else {
        cx.refuse_at(
            "format",
            Some(0..0),
            "format is missing".to_owned(),
            format!("`format = {FORMAT}` belongs here"),
            help,
        );
        return false;
    };
    let Some(found) = plain_number(value, "format", cx) else {
        return false;
    };
    if found != FORMAT as f64 {
        let message = format!("format = {found} is not known to this program");
        cx.refuse_at("format", Some(value.span()), message, format!("allowed: {FORMAT}"), help);
        return false;
    }
    true
}

fn neighbour(
    neighbours: &dyn Neighbours,
    key: &str,
    file: &str,
    files: &mut BTreeMap<String, String>,
    cx: &mut Context,
) -> Option<String> {
    match neighbours.read(file) {
        Ok(text) => {
            files.insert(file.to_owned(), text.clone());
            Some(text)
        }
        Err(error) => {
            let message = format!("{key} = \"{file}\" cannot be read: {error}");
            let help = "Files are looked for beside the scenario. Check the name, or take the key away.";
            cx.refuse(key, message, "must name a text file that exists", help);
            None
        }
    }
}

/// Winds from their file, if one is named, and in rising order from either.
fn winds(scenario: &mut Scenario, neighbours: &dyn Neighbours, files: &mut BTreeMap<String, String>, cx: &mut Context) {
    let named = scenario.descent.as_ref().and_then(|descent| descent.winds_file.clone());
    let key = "return.winds_file";
    if let Some(file) = &named {
        let Some(text) = neighbour(neighbours, key, file, files, cx) else { return };
        if !scenario.winds.is_empty() {
            let message = format!("{key} is given, and winds in the scenario too");
            cx.refuse(key, message, "allowed: one of the two", "Take the file's name or the [[wind]] tables away.");
        }
        match read_winds(&text) {
            Ok(winds) => scenario.winds = winds,
            Err(why) => cx.refuse(
                key,
                format!("{key} = \"{file}\" cannot be used: {why}"),
                "must be a table of winds",
                "Comma-separated, with a header naming height_km, east_m_s, north_m_s and, if known, sigma_m_s.",
            ),
        }
    }
    if let Some(place) = first_not_rising(&scenario.winds) {
        let key = if named.is_some() { key.to_owned() } else { format!("wind[{place}].height_km") };
        cx.refuse(
            &key,
            format!("{key}: winds do not rise in height at entry {place}"),
            "must rise",
            "Sort them by height.",
        );
    }
}

fn element_set(
    scenario: &Scenario,
    neighbours: &dyn Neighbours,
    files: &mut BTreeMap<String, String>,
    cx: &mut Context,
) -> Option<sgp4::Elements> {
    let set = scenario.orbit.element_set.as_ref()?;
    if let (Some(line1), Some(line2)) = (&set.line1, &set.line2) {
        return two_lines(line1, line2, cx);
    }
    let key = "orbit.element_set.omm";
    let text = neighbour(neighbours, key, set.omm.as_ref()?, files, cx)?;
    let one = serde_json::from_str::<sgp4::Elements>(&text);
    let found: Result<sgp4::Elements, serde_json::Error> = one.or_else(|error| {
        let list = serde_json::from_str::<Vec<sgp4::Elements>>(&text).map_err(|_| error)?;
        let count = list.len();
        let mut list = list.into_iter();
        match (list.next(), count) {
            (Some(set), 1) => Ok(set),
            _ => Err(serde::de::Error::custom(format!("it holds {count} element sets, not one"))),
        }
    });
    found
        .map_err(|error| {
            let message = format!("{key} holds no orbit: {error}");
            let help = "An OMM file in JSON, one element set, with the keywords of CCSDS 502.0 (MEAN_MOTION, ECCENTRICITY, …).";
            cx.refuse(key, message, "must be an OMM file in JSON", help);
        })
        .ok()
}

fn two_lines(line1: &str, line2: &str, cx: &mut Context) -> Option<sgp4::Elements> {
    for (line, key) in [(line1, "orbit.element_set.line1"), (line2, "orbit.element_set.line2")] {
        // The crate cuts lines by bytes, so that only plain ASCII of the right length may reach it.
        if !line.is_ascii() || line.len() != 69 {
            let message = format!("{key} has {} characters", line.chars().count());
            let help = "Copy the line exactly as published, with its blanks and its last digit, the check sum.";
            cx.refuse(key, message, "allowed: 69 plain characters", help);
            return None;
        }
    }
    let found = sgp4::Elements::from_tle(None, line1.as_bytes(), line2.as_bytes());
    found
        .map_err(|error| {
            let text = error.to_string().replace("TLE parse error: ", "");
            let line = if text.contains("line 2") { "line2" } else { "line1" };
            let help = "Copy both lines exactly as published; the last digit of each is its check sum (digits added up, minus signs as 1, modulo 10).";
            let key = format!("orbit.element_set.{line}");
            cx.refuse(&key, format!("{key} is not an element set: {text}"), "must be as published", help);
        })
        .ok()
}
