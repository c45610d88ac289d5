//! What takes from resolution, by name, and which of it is switched on.

use std::fmt;

/// Something that costs resolution and can be switched off to see its worth.
#[derive(Clone, Copy, Debug, Eq, Hash, Ord, PartialEq, PartialOrd)]
#[repr(u8)]
pub enum Term {
    /// The aperture's edge.
    Diffraction,
    /// What the lens leaves uncorrected.
    Aberration,
    /// Focus moved by temperature.
    ThermalFocus,
    /// Film off its plane.
    FilmFlatness,
    /// Focus set wrongly.
    FocusSetting,
    /// Film's own resolution.
    Film,
    /// Image speed known wrongly.
    VOverH,
    /// Film speed off the speed asked for.
    FilmSpeed,
    /// Ground higher or lower than assumed.
    Relief,
    /// Pitch rate.
    PitchRate,
    /// Roll rate.
    RollRate,
    /// Yaw off the image's direction.
    Yaw,
    /// Vibration.
    Vibration,
}

/// Number of terms.
pub const TERMS: usize = 13;

impl Term {
    /// All, in the order of the budget.
    pub const ALL: [Self; TERMS] = [
        Self::Diffraction,
        Self::Aberration,
        Self::ThermalFocus,
        Self::FilmFlatness,
        Self::FocusSetting,
        Self::Film,
        Self::VOverH,
        Self::FilmSpeed,
        Self::Relief,
        Self::PitchRate,
        Self::RollRate,
        Self::Yaw,
        Self::Vibration,
    ];

    /// Its name on the command line and in files.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Diffraction => "diffraction",
            Self::Aberration => "aberration",
            Self::ThermalFocus => "thermal-focus",
            Self::FilmFlatness => "film-flatness",
            Self::FocusSetting => "focus-setting",
            Self::Film => "film",
            Self::VOverH => "v-over-h",
            Self::FilmSpeed => "film-speed",
            Self::Relief => "relief",
            Self::PitchRate => "pitch-rate",
            Self::RollRate => "roll-rate",
            Self::Yaw => "yaw",
            Self::Vibration => "vibration",
        }
    }

    /// Its name for people.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Diffraction => "diffraction",
            Self::Aberration => "aberration of the lens",
            Self::ThermalFocus => "focus, by temperature",
            Self::FilmFlatness => "focus, film off its plane",
            Self::FocusSetting => "focus, as set",
            Self::Film => "film",
            Self::VOverH => "V/h known wrongly",
            Self::FilmSpeed => "film speed uneven",
            Self::Relief => "relief",
            Self::PitchRate => "pitch rate",
            Self::RollRate => "roll rate",
            Self::Yaw => "yaw angle",
            Self::Vibration => "vibration",
        }
    }

    /// The term of that name.
    pub fn find(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|term| term.word() == word)
    }

    const fn bit(self) -> u16 {
        1 << self as u16
    }
}

impl fmt::Display for Term {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A set of terms: those that count.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub struct Terms(u16);

impl Default for Terms {
    fn default() -> Self {
        Self::ALL
    }
}

impl Terms {
    /// All of them.
    pub const ALL: Self = Self((1 << TERMS) - 1);
    /// Those of lens, focus and film: the picture of a camera at rest.
    pub const STATIC: Self = Self((1 << (Term::Film as u16 + 1)) - 1);

    /// Without one.
    #[must_use]
    pub const fn without(self, term: Term) -> Self {
        Self(self.0 & !term.bit())
    }

    /// What is in both.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// Whether a term counts.
    pub const fn has(self, term: Term) -> bool {
        self.0 & term.bit() != 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_find_their_terms_and_sets_lose_one_at_a_time() {
        for term in Term::ALL {
            assert_eq!(Term::find(term.word()), Some(term));
            let less = Terms::ALL.without(term);
            assert!(Terms::ALL.has(term) && !less.has(term));
            assert_eq!(Term::ALL.iter().filter(|other| less.has(**other)).count(), TERMS - 1);
        }
        assert!(Terms::STATIC.has(Term::Film) && !Terms::STATIC.has(Term::VOverH));
    }
}
