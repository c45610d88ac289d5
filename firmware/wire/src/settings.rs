//! The controller's settings as a row of numbers, in the order of their tables.
//!
//! Both ends hold the same tables, so that names need not travel. The row's own check sum covers the tables'
//! keys as well: two programs with different tables cannot misread each other.

use crc::{CRC_32_ISO_HDLC, Crc, Table};
use heapless::Vec;
use stillframe_controller::{
    attitude::settings::JetSettings,
    io::MAX_JETS,
    settings::{Settings, Visitor},
    settings_table::Group,
};

/// Most numbers in a row.
pub const MAX_NUMBERS: usize = 448;
const CHECKSUM: Crc<u32, Table<1>> = Crc::<u32, Table<1>>::new(&CRC_32_ISO_HDLC);

/// A row of settings.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct SettingsRow {
    /// Number of jets, whose groups stand at the end.
    pub jets: u8,
    /// CRC-32/ISO-HDLC over the keys of all tables.
    pub keys: u32,
    /// The numbers; counts are exact in `f32` up to 16 million, which every table's range respects.
    pub numbers: Vec<f32, MAX_NUMBERS>,
}

/// Why a row is refused.
#[derive(Clone, Copy, Debug, Eq, PartialEq, serde::Serialize, serde::Deserialize)]
pub enum RowError {
    /// The other end has other tables.
    Keys,
    /// Too few or too many numbers.
    Length,
    /// This number, counted from zero, is outside its range.
    Range(u16),
}

impl SettingsRow {
    /// A row from settings; `None` if they do not fit.
    pub fn write(settings: &Settings) -> Option<Self> {
        let mut settings = settings.clone();
        let mut writer = Writer { numbers: Vec::new(), fits: true };
        settings.visit(&mut writer);
        let jets = settings.jets.len() as u8;
        writer.fits.then_some(Self { jets, keys: keys(), numbers: writer.numbers })
    }

    /// Settings from a row. Each number is checked against its table; the whole is the controller's to check.
    ///
    /// # Errors
    /// [`RowError`].
    #[inline(never)]
    pub fn read(&self) -> Result<Settings, RowError> {
        if self.keys != keys() {
            return Err(RowError::Keys);
        }
        if usize::from(self.jets) > MAX_JETS {
            return Err(RowError::Length);
        }
        let mut settings = Settings::default();
        let mut reader = Reader { row: self, next: 0, error: None };
        settings.visit(&mut reader);
        match reader.error {
            Some(error) => Err(error),
            None if reader.next == self.numbers.len() => Ok(settings),
            None => Err(RowError::Length),
        }
    }
}

/// Check sum over the keys of all tables.
#[inline(never)]
pub fn keys() -> u32 {
    struct Keys(crc::Digest<'static, u32, Table<1>>);
    impl Keys {
        fn add<G: Group>(&mut self) {
            self.0.update(G::NAME.as_bytes());
            for field in G::FIELDS {
                self.0.update(field.key.as_bytes());
            }
        }
    }
    impl Visitor for Keys {
        fn group<G: Group>(&mut self, _: &mut G) {
            self.add::<G>();
        }
        fn jets(&mut self, _: &mut Vec<JetSettings, MAX_JETS>) {
            self.add::<JetSettings>();
        }
    }
    static CRC: Crc<u32, Table<1>> = CHECKSUM;
    let mut visitor = Keys(CRC.digest());
    Settings::default().visit(&mut visitor);
    visitor.0.finalize()
}

struct Writer {
    numbers: Vec<f32, MAX_NUMBERS>,
    fits: bool,
}

impl Visitor for Writer {
    fn group<G: Group>(&mut self, group: &mut G) {
        for index in 0..G::FIELDS.len() {
            let number = group.get(index).unwrap_or(0.0) as f32;
            self.fits &= self.numbers.push(number).is_ok();
        }
    }

    fn jets(&mut self, jets: &mut Vec<JetSettings, MAX_JETS>) {
        for jet in jets {
            self.group(jet);
        }
    }
}

struct Reader<'a> {
    row: &'a SettingsRow,
    next: usize,
    error: Option<RowError>,
}

impl Visitor for Reader<'_> {
    fn group<G: Group>(&mut self, group: &mut G) {
        for index in 0..G::FIELDS.len() {
            let taken = self.row.numbers.get(self.next).map(|&number| group.set(index, f64::from(number)));
            let error = match taken {
                Some(true) => None,
                Some(false) => Some(RowError::Range(self.next as u16)),
                None => Some(RowError::Length),
            };
            self.error = self.error.or(error);
            self.next += 1;
        }
    }

    fn jets(&mut self, jets: &mut Vec<JetSettings, MAX_JETS>) {
        for _ in 0..self.row.jets {
            let mut jet = JetSettings::default();
            self.group(&mut jet);
            if jets.push(jet).is_err() {
                self.error = self.error.or(Some(RowError::Length));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    fn settings() -> Settings {
        let mut settings = Settings::default();
        settings.body.inertia_pitch_kg_m2 = 317.25;
        settings.camera.on_limit_ticks = 4_000_000;
        for bank in 0..2 {
            settings.jets.push(JetSettings { bank, push_z: 1.0, thrust_n: 0.45, ..JetSettings::default() }).unwrap();
        }
        settings
    }

    #[test]
    fn settings_come_back_to_the_bit() {
        let row = SettingsRow::write(&settings()).unwrap();
        assert_eq!(row.read(), Ok(settings()));
    }

    #[test]
    fn other_tables_short_rows_and_wild_numbers_are_refused() {
        let row = SettingsRow::write(&settings()).unwrap();
        assert_eq!(SettingsRow { keys: row.keys ^ 1, ..row.clone() }.read(), Err(RowError::Keys));
        let mut short = row.clone();
        short.numbers.pop();
        assert_eq!(short.read(), Err(RowError::Length));
        let mut wild = row.clone();
        wild.numbers[3] = f32::NAN;
        assert_eq!(wild.read(), Err(RowError::Range(3)));
        assert_eq!(SettingsRow { jets: 17, ..row }.read(), Err(RowError::Length));
    }
}
