//! Health: inputs validated, gas guarded, balances closed from measured quantities.

pub mod balance;
pub mod flags;
pub mod gas;
pub mod inputs;
