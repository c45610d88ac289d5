//! The board's image: what the linked file holds, and the emulated board in step with the desk to the bit.

mod cost;
mod debugger;
mod elf;
mod emulator;
mod failures;
mod golden;
mod image;
mod locks;
mod lockstep;
mod pins;
mod pipes;
#[path = "../program.rs"]
mod program;
mod proof;
mod real_time;
mod thumb;
mod trace;
