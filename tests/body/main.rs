//! Rigid body.
