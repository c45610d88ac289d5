//! All settings of the flight code in one validated structure.
//!
//! The groups' tables ([`crate::settings_table`]) hold every key, unit, range, default and meaning; this
//! file only puts the groups together and checks what no single number can show.

use crate::{
    attitude::{
        jet_table::JetTable,
        response::ResponseSettings,
        settings::{
            BodySettings, JetSettings, ObserverSettings, PitchSwitching, RollSwitching, SteeringSettings, TurnSettings,
            YawSwitching,
        },
        switching::AxisLaw,
    },
    contact::ContactSettings,
    exposure::settings::CameraSettings,
    film::settings::FilmSettings,
    health::gas::GasSettings,
    io::{BANKS, MAX_JETS},
    math,
    math::DEG,
    ordnance::OrdnanceSettings,
    settings_table::{Group, OutOfRange},
};
use heapless::Vec;

/// Everything the ground can set.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Settings {
    /// Mass properties as the law believes them.
    pub body: BodySettings,
    /// Attitude and rate estimates.
    pub observer: ObserverSettings,
    /// Slews, searches, quiet times.
    pub steering: SteeringSettings,
    /// Roll switching law.
    pub roll: RollSwitching,
    /// Pitch switching law.
    pub pitch: PitchSwitching,
    /// Yaw switching law.
    pub yaw: YawSwitching,
    /// The commanded turn.
    pub turn: TurnSettings,
    /// When jets are taken to have failed.
    pub response: ResponseSettings,
    /// Gas ledger and guard.
    pub gas: GasSettings,
    /// Film transport.
    pub film: FilmSettings,
    /// Camera and exposure sequence.
    pub camera: CameraSettings,
    /// What silence leads to.
    pub contact: ContactSettings,
    /// Ordnance sequence.
    pub ordnance: OrdnanceSettings,
    /// Jets, in the order of the valve outputs.
    pub jets: Vec<JetSettings, MAX_JETS>,
}

/// Walks over all groups in file order: the host's reader, its writer and its hash are visitors.
pub trait Visitor {
    /// One group.
    fn group<G: Group>(&mut self, group: &mut G);
    /// The jet table.
    fn jets(&mut self, jets: &mut Vec<JetSettings, MAX_JETS>);
}

/// Why settings are refused.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SettingsError {
    /// A number outside its range.
    Range(OutOfRange),
    /// No jet of this bank turns the vehicle this way about this axis (0 roll, 1 pitch, 2 yaw).
    NoTorque {
        /// Bank, 0 or 1.
        bank: u8,
        /// Axis.
        axis: u8,
        /// Direction.
        positive: bool,
    },
    /// A jet's push is not a unit vector (within 1 %).
    Push {
        /// Jet, counted from zero.
        jet: u8,
    },
    /// Three moments of inertia that no body can have.
    Inertia,
    /// Two settings that contradict each other: the first must stay below the second.
    Order {
        /// Group and key of the one that must be smaller.
        small: (&'static str, &'static str),
        /// Group and key of the one that must be larger.
        large: (&'static str, &'static str),
    },
}

/// One axis' law in SI, from its settings group.
macro_rules! law {
    ($group:expr) => {
        AxisLaw {
            deadband_rad: $group.deadband_deg * DEG,
            lead_s: $group.lead_s,
            rate_limit_rad_s: $group.rate_limit_deg_s * DEG,
            fill: $group.fill,
            minimum_us: $group.minimum_pulse_ms.saturating_mul(1000),
            longest_us: $group.longest_pulse_ms.saturating_mul(1000),
            lockout_us: $group.lockout_ms.saturating_mul(1000),
        }
    };
}

impl Settings {
    /// Shows every group to a visitor.
    pub fn visit(&mut self, visitor: &mut impl Visitor) {
        visitor.group(&mut self.body);
        visitor.group(&mut self.observer);
        visitor.group(&mut self.steering);
        visitor.group(&mut self.roll);
        visitor.group(&mut self.pitch);
        visitor.group(&mut self.yaw);
        visitor.group(&mut self.turn);
        visitor.group(&mut self.response);
        visitor.group(&mut self.gas);
        visitor.group(&mut self.film);
        visitor.group(&mut self.camera);
        visitor.group(&mut self.contact);
        visitor.group(&mut self.ordnance);
        visitor.jets(&mut self.jets);
    }

    /// Refuses settings that the controller must not fly.
    ///
    /// # Errors
    /// The first thing wrong.
    pub fn check(&self) -> Result<(), SettingsError> {
        let range = SettingsError::Range;
        self.body.check().map_err(range)?;
        self.observer.check().map_err(range)?;
        self.steering.check().map_err(range)?;
        self.roll.check().map_err(range)?;
        self.pitch.check().map_err(range)?;
        self.yaw.check().map_err(range)?;
        self.turn.check().map_err(range)?;
        self.response.check().map_err(range)?;
        self.gas.check().map_err(range)?;
        self.film.check().map_err(range)?;
        self.camera.check().map_err(range)?;
        self.contact.check().map_err(range)?;
        self.ordnance.check().map_err(range)?;
        self.check_inertia()?;
        self.check_order()?;
        self.check_jets()
    }

    fn check_inertia(&self) -> Result<(), SettingsError> {
        let BodySettings { inertia_roll_kg_m2: x, inertia_pitch_kg_m2: y, inertia_yaw_kg_m2: z, .. } = self.body;
        let possible = x <= y + z && y <= z + x && z <= x + y;
        if possible { Ok(()) } else { Err(SettingsError::Inertia) }
    }

    /// Pairs of which the first must be smaller.
    fn check_order(&self) -> Result<(), SettingsError> {
        let (film, camera, turn, observer) = (&self.film, &self.camera, &self.turn, &self.observer);
        let ordnance = &self.ordnance;
        let longest_m = i32::MAX as f32 * film.count_m();
        let pairs = [
            (film.tension_min_n < film.tension_n, ("film", "tension_min_n"), ("film", "tension_n")),
            (film.tension_n < film.tension_max_n, ("film", "tension_n"), ("film", "tension_max_n")),
            (film.reserve_length_m < film.load_length_m, ("film", "reserve_length_m"), ("film", "load_length_m")),
            (film.wound_length_m < film.load_length_m, ("film", "wound_length_m"), ("film", "load_length_m")),
            // The roller's count of a whole load must fit its 32 bits.
            (film.load_length_m < longest_m, ("film", "load_length_m"), ("film", "roller_radius_m")),
            // A gyro at its end cannot carry an attitude on.
            (
                turn.rate_deg_s < 0.9 * observer.gyro_range_deg_s,
                ("turn", "rate_deg_s"),
                ("observer", "gyro_range_deg_s"),
            ),
            (camera.speed_step_min < camera.speed_step_max, ("camera", "speed_step_min"), ("camera", "speed_step_max")),
            (ordnance.spin_min_rpm < ordnance.spin_max_rpm, ("ordnance", "spin_min_rpm"), ("ordnance", "spin_max_rpm")),
            (ordnance.g_open_ticks < ordnance.drogue_ticks, ("ordnance", "g_open_ticks"), ("ordnance", "drogue_ticks")),
        ];
        match pairs.iter().find(|(sound, ..)| !sound) {
            Some(&(_, small, large)) => Err(SettingsError::Order { small, large }),
            None => Ok(()),
        }
    }

    fn check_jets(&self) -> Result<(), SettingsError> {
        for (number, jet) in self.jets.iter().enumerate() {
            jet.check().map_err(SettingsError::Range)?;
            let length2 = jet.push_x * jet.push_x + jet.push_y * jet.push_y + jet.push_z * jet.push_z;
            let unit = math::abs(length2 - 1.0) < 0.02;
            if !unit {
                return Err(SettingsError::Push { jet: number as u8 });
            }
        }
        for bank in 0..BANKS {
            let table = JetTable::build(&self.jets, self.bank_mask(bank));
            for axis in 0..3 {
                for positive in [false, true] {
                    if table.select(axis, positive).is_none() {
                        return Err(SettingsError::NoTorque { bank: bank as u8, axis: axis as u8, positive });
                    }
                }
            }
        }
        Ok(())
    }

    fn bank_mask(&self, bank: usize) -> u16 {
        self.jets
            .iter()
            .enumerate()
            .filter(|(_, jet)| jet.bank as usize == bank)
            .fold(0, |mask, (number, _)| mask | 1 << (number & 15))
    }

    /// Roll law in SI.
    pub fn roll_law(&self) -> AxisLaw {
        law!(self.roll)
    }

    /// Pitch law in SI.
    pub fn pitch_law(&self) -> AxisLaw {
        law!(self.pitch)
    }

    /// Yaw law in SI.
    pub fn yaw_law(&self) -> AxisLaw {
        law!(self.yaw)
    }
}

#[cfg(test)]
pub(crate) mod tests {
    extern crate std;
    use super::*;

    // A file of its own: tests of the link want the same vehicle.
    include!("two_banks.rs");

    #[test]
    fn defaults_with_two_banks_are_fit_to_fly() {
        assert_eq!(two_banks().check(), Ok(()));
    }

    #[test]
    fn settings_that_contradict_each_other_are_refused() {
        let mut settings = two_banks();
        settings.film.tension_min_n = 8.0;
        let named = SettingsError::Order { small: ("film", "tension_min_n"), large: ("film", "tension_n") };
        assert_eq!(settings.check(), Err(named));
        let mut settings = two_banks();
        (settings.film.roller_counts_per_turn, settings.film.load_length_m) = (4_194_304, 8_000.0);
        settings.film.roller_radius_m = 0.002;
        assert!(matches!(settings.check(), Err(SettingsError::Order { large: ("film", "roller_radius_m"), .. })));
    }

    #[test]
    fn a_bank_that_cannot_turn_one_way_is_refused() {
        let mut settings = two_banks();
        settings.jets[12].push_z = -1.0;
        assert_eq!(settings.check(), Err(SettingsError::NoTorque { bank: 1, axis: 1, positive: true }));
    }

    #[test]
    fn every_field_refuses_what_lies_outside_its_range() {
        struct Edges;
        impl Visitor for Edges {
            fn group<G: Group>(&mut self, group: &mut G) {
                let untouched = group.get(0);
                for (index, field) in G::FIELDS.iter().enumerate() {
                    assert!(group.set(index, field.min) && group.set(index, field.max), "{}", field.key);
                    let step = (field.max - field.min).max(1.0);
                    for bad in [field.min - step, field.max + step, f64::NAN, f64::INFINITY] {
                        assert!(!group.set(index, bad), "{} took {bad}", field.key);
                    }
                    assert!(group.set(index, field.default), "default of {}", field.key);
                    assert_eq!(group.get(index).map(|v| v as f32), Some(field.default as f32));
                }
                assert_eq!(group.get(0).is_some(), untouched.is_some());
                assert!(group.get(G::FIELDS.len()).is_none() && !group.set(G::FIELDS.len(), 0.0));
            }
            fn jets(&mut self, jets: &mut Vec<JetSettings, MAX_JETS>) {
                for jet in jets {
                    assert_eq!(jet.check(), Ok(()));
                }
            }
        }
        two_banks().visit(&mut Edges);
    }
}
