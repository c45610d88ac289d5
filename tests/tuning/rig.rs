//! Things to study.

use std::sync::Mutex;

use stillframe::{
    design::attitude::study::{Listener, Options},
    scenario::{Loaded, demo::Demo},
};

/// The strip demonstration.
pub fn demonstration() -> Loaded {
    Demo::Strip.load().expect("the demonstration is sound")
}

/// A study of seconds.
pub fn small(out: &std::path::Path) -> Options {
    Options {
        seed: 1,
        goals: Default::default(),
        points: 2,
        knobs: Vec::new(),
        map_side: 0,
        captures: 3,
        rounds: 0,
        held_s: 4.2 * 3600.0,
        take: None,
        out: out.to_owned(),
    }
}

/// Notes what it hears.
#[derive(Default)]
pub struct Ear {
    pub parts: Mutex<Vec<(String, u64)>>,
    pub steps: Mutex<u64>,
}

impl Listener for Ear {
    fn part(&self, name: &str, steps: u64) {
        self.parts.lock().expect("unpoisoned").push((name.to_owned(), steps));
    }

    fn step(&self) {
        *self.steps.lock().expect("unpoisoned") += 1;
    }
}
