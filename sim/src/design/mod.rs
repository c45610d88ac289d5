//! Design studies: what is found out before anything flies.

pub mod film_rates;
