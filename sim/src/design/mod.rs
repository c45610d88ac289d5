//! Design studies: numbers an engineer settles before anything flies.

pub mod attitude;
