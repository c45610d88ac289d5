//! The board's image in the emulator: it boots, answers, and does to the bit what the desk does.

mod emulator;
mod image;
mod lockstep;
