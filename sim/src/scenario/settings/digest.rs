//! A number that names the effective settings.

use crc::{CRC_32_ISO_HDLC, Crc, Digest, Table};
use stillframe_controller::settings_table::Group;

use super::{GroupVisitor, SettingsList};

static CRC: Crc<u32, Table<1>> = Crc::<u32, Table<1>>::new(&CRC_32_ISO_HDLC);

/// CRC-32/ISO-HDLC over every group's name and every key with its `f64` bits, little end first, in the order
/// of the tables. It depends on the values only, not on the file they came from; two settings with the
/// same digest are the same settings but for one chance in four thousand million.
pub fn digest<S: SettingsList + Clone>(settings: &S) -> u32 {
    let mut visitor = Digester(CRC.digest());
    settings.clone().visit(&mut visitor);
    visitor.0.finalize()
}

/// CRC-32/ISO-HDLC of a file's text.
pub fn text_digest(text: &str) -> u32 {
    CRC.checksum(text.as_bytes())
}

struct Digester(Digest<'static, u32, Table<1>>);

impl Digester {
    fn values<G: Group>(&mut self, group: &G) {
        self.0.update(G::NAME.as_bytes());
        for (index, field) in G::FIELDS.iter().enumerate() {
            self.0.update(field.key.as_bytes());
            self.0.update(&group.get(index).unwrap_or(f64::NAN).to_bits().to_le_bytes());
        }
    }
}

impl GroupVisitor for Digester {
    fn group<G: Group>(&mut self, group: &mut G) {
        self.values(group);
    }

    fn array<G, A>(&mut self, items: &mut A, _: usize)
    where
        G: Group,
        A: AsRef<[G]> + Default + Extend<G>,
    {
        for item in items.as_ref() {
            self.values(item);
        }
    }
}
