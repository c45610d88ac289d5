#![no_std]
#![forbid(unsafe_code)]
//! The flight code.
pub mod exposure;
pub mod film;
pub mod io;
pub mod math;
pub mod settings_table;
