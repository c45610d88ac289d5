//! The controller's settings file: read, written and digested from the controller's own table.
//!
//! Whoever composes the settings lists its groups once, in [`SettingsList::visit`]; reading, writing and
//! digesting are visitors over that one list.

mod digest;
mod read;
mod write;

pub use digest::{digest, text_digest};
pub use read::read_settings;
pub use write::write_settings;

use stillframe_controller::settings_table::Group;

/// What is done to each group of the settings, in file order.
pub trait GroupVisitor {
    /// A table `[NAME]`.
    fn group<G: Group>(&mut self, group: &mut G);
    /// A list of tables `[[NAME]]`, at most `max` of them.
    fn array<G, A>(&mut self, items: &mut A, max: usize)
    where
        G: Group,
        A: AsRef<[G]> + Default + Extend<G>;
}

/// Settings made of groups.
pub trait SettingsList: Default {
    /// Shows every group to `visitor`, always in the same order.
    fn visit<V: GroupVisitor>(&mut self, visitor: &mut V);

    /// Judges groups against each other once all were read: key, what is wrong, what to do. Empty if sound.
    fn faults(&self) -> Vec<(String, String, String)> {
        Vec::new()
    }
}
