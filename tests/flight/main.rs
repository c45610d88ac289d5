//! The whole loop.
