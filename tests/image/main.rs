//! The board's image: what the linked file holds, and the emulated board in step with the desk to the bit.

mod elf;
mod emulator;
mod image;
mod lockstep;
mod pipes;
mod proof;
mod thumb;
