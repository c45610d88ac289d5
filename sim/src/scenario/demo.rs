//! The built-in scenarios of *Whimbrel*, an invented survey satellite.

use super::load::{BuiltIn, Loaded, read};
use super::read::problem::Refusal;
use crate::choice;

choice! {
    /// A built-in scenario.
    Demo {
        /// With a strip camera.
        Strip = "strip",
        /// With a framing camera.
        Frame = "frame",
        /// With a panoramic camera.
        Sweep = "sweep",
    }
}

impl Demo {
    /// Its text.
    pub const fn text(self) -> &'static str {
        match self {
            Self::Strip => include_str!("../../scenarios/whimbrel-strip.toml"),
            Self::Frame => include_str!("../../scenarios/whimbrel-frame.toml"),
            Self::Sweep => include_str!("../../scenarios/whimbrel-sweep.toml"),
        }
    }

    /// Its file name.
    pub const fn file(self) -> &'static str {
        match self {
            Self::Strip => "whimbrel-strip.toml",
            Self::Frame => "whimbrel-frame.toml",
            Self::Sweep => "whimbrel-sweep.toml",
        }
    }

    /// Reads it.
    ///
    /// # Errors
    /// None in a sound build: the tests read both.
    pub fn load(self) -> Result<Loaded, Box<Refusal>> {
        read(self.file(), self.text(), &BuiltIn(&[]))
    }
}
