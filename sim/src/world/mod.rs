//! The Earth, its field, its air, the Sun, time and frames.
