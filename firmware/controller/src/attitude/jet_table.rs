//! Which jets to open for a turn about each axis, worked out from where they sit.

use super::{rotation::Vec3, settings::JetSettings};
use crate::{io::MAX_JETS, math};

/// Jets that together turn the vehicle one way about one axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Selection {
    /// Bit n stands for jet n of the settings' table.
    pub jets: u16,
    /// Torque on the vehicle, N·m, body axes.
    pub torque_nm: Vec3,
    /// Magnitude of the torque about the wanted axis, N·m.
    pub axis_torque_nm: f32,
}

/// For each axis (roll, pitch, yaw), the jets for a negative and a positive turn.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct JetTable {
    rows: [[Option<Selection>; 2]; 3],
}

impl JetTable {
    /// Chooses for every axis and direction the best single jet or pair out of `usable` (a bit mask).
    ///
    /// Best is the least sum of: torque about other axes, over torque about the wanted one; net force, over
    /// the jets' summed thrust (weight 0.3: a push on the orbit is a nuisance, not an error); and thrust
    /// spent for the torque won. A true couple therefore wins wherever there is one.
    pub fn build(jets: &[JetSettings], usable: u16) -> Self {
        let mut table = Self::default();
        for (axis, row) in table.rows.iter_mut().enumerate() {
            for (direction, cell) in row.iter_mut().enumerate() {
                let sign = if direction == 0 { -1.0 } else { 1.0 };
                *cell = best(jets, usable, axis, sign);
            }
        }
        table
    }

    /// Jets for a turn about `axis` (0 roll, 1 pitch, 2 yaw), if any usable jet gives one.
    pub fn select(&self, axis: usize, positive: bool) -> Option<Selection> {
        self.rows.get(axis)?.get(usize::from(positive)).copied().flatten()
    }

    /// Works out the torques of the jets chosen anew, for a centre of mass that has moved by `shift_m`. The choice stays:
    /// centimetres of shift change torques by percents.
    pub fn reweigh(&mut self, jets: &[JetSettings], shift_m: &Vec3) {
        for (axis, row) in self.rows.iter_mut().enumerate() {
            for selection in row.iter_mut().flatten() {
                let mut torque = Vec3::zeros();
                for (index, jet) in jets.iter().take(MAX_JETS).enumerate() {
                    if selection.jets & (1 << (index & 15)) != 0 {
                        let (arm, force) = arm_and_force(jet);
                        torque += (arm - shift_m).cross(&force);
                    }
                }
                selection.torque_nm = torque;
                selection.axis_torque_nm = math::abs(torque.get(axis).copied().unwrap_or(0.0));
            }
        }
    }

    /// Whether both directions of all three axes can be had.
    pub fn complete(&self) -> bool {
        self.rows.iter().flatten().all(Option::is_some)
    }
}

/// Place and push of one jet in vector form.
fn arm_and_force(jet: &JetSettings) -> (Vec3, Vec3) {
    let arm = Vec3::new(jet.x_m, jet.y_m, jet.z_m);
    let force = Vec3::new(jet.push_x, jet.push_y, jet.push_z) * jet.thrust_n;
    (arm, force)
}

fn best(jets: &[JetSettings], usable: u16, axis: usize, sign: f32) -> Option<Selection> {
    let mut winner: Option<(f32, Selection)> = None;
    for (a, first) in jets.iter().take(MAX_JETS).enumerate() {
        for (b, second) in jets.iter().take(MAX_JETS).enumerate().skip(a) {
            let bits = (1_u16 << (a & 15)) | (1_u16 << (b & 15));
            if bits & usable != bits {
                continue;
            }
            let second = (b != a).then_some(second);
            if let Some((score, selection)) = judge(first, second, bits, axis, sign)
                && winner.is_none_or(|(least, _)| score < least)
            {
                winner = Some((score, selection));
            }
        }
    }
    winner.map(|(_, selection)| selection)
}

fn judge(
    first: &JetSettings,
    second: Option<&JetSettings>,
    jets: u16,
    axis: usize,
    sign: f32,
) -> Option<(f32, Selection)> {
    let (arm, mut force) = arm_and_force(first);
    let mut torque = arm.cross(&force);
    let mut thrust = first.thrust_n;
    let mut longest = arm.norm_squared();
    if let Some(jet) = second {
        let (arm, push) = arm_and_force(jet);
        torque += arm.cross(&push);
        force += push;
        thrust += jet.thrust_n;
        longest = if arm.norm_squared() > longest { arm.norm_squared() } else { longest };
    }
    let about = torque.get(axis).copied()? * sign;
    let reach = thrust * math::sqrt(longest);
    // Below a twentieth of what the arm could give, a jet is not meant for this axis.
    if about < 0.05 * reach {
        return None;
    }
    let across = math::sqrt(math::clamp(torque.norm_squared() - about * about, 0.0, f32::MAX));
    let score = across / about + 0.3 * math::sqrt(force.norm_squared()) / thrust + 0.1 * reach / about;
    Some((score, Selection { jets, torque_nm: torque, axis_torque_nm: about }))
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    fn jet(place: [f32; 3], push: [f32; 3]) -> JetSettings {
        JetSettings {
            x_m: place[0],
            y_m: place[1],
            z_m: place[2],
            push_x: push[0],
            push_y: push[1],
            push_z: push[2],
            ..JetSettings::default()
        }
    }

    /// Roll couples at y = ±0.6 m, pitch and yaw singles 1.2 m behind the centre of mass.
    fn bank() -> [JetSettings; 8] {
        [
            jet([0.0, 0.6, 0.0], [0.0, 0.0, 1.0]),
            jet([0.0, -0.6, 0.0], [0.0, 0.0, -1.0]),
            jet([0.0, 0.6, 0.0], [0.0, 0.0, -1.0]),
            jet([0.0, -0.6, 0.0], [0.0, 0.0, 1.0]),
            jet([-1.2, 0.0, 0.0], [0.0, 0.0, 1.0]),
            jet([-1.2, 0.0, 0.0], [0.0, 0.0, -1.0]),
            jet([-1.2, 0.0, 0.0], [0.0, -1.0, 0.0]),
            jet([-1.2, 0.0, 0.0], [0.0, 1.0, 0.0]),
        ]
    }

    #[test]
    fn couples_are_found_for_roll_and_singles_for_pitch_and_yaw() {
        let table = JetTable::build(&bank(), 0xff);
        assert!(table.complete());
        let roll = table.select(0, true).unwrap();
        assert_eq!(roll.jets, 0b11);
        assert!((roll.axis_torque_nm - 0.6).abs() < 1e-6);
        let pitch = table.select(1, true).unwrap();
        assert_eq!(pitch.jets, 0b1_0000);
        assert!((pitch.torque_nm.y - 0.6).abs() < 1e-6);
        assert_eq!(table.select(2, true).unwrap().jets, 0b100_0000);
        assert_eq!(table.select(2, false).unwrap().jets, 0b1000_0000);
    }

    #[test]
    fn a_centre_that_moves_toward_the_jets_shortens_their_arm() {
        let mut table = JetTable::build(&bank(), 0xff);
        table.reweigh(&bank(), &Vec3::new(-0.12, 0.0, 0.0));
        // 1.08 m of 1.2 m for the single jets; a couple does not care.
        assert!((table.select(1, true).unwrap().axis_torque_nm - 0.54).abs() < 1e-6);
        assert!((table.select(2, false).unwrap().torque_nm.z + 0.54).abs() < 1e-6);
        assert!((table.select(0, true).unwrap().axis_torque_nm - 0.6).abs() < 1e-6);
    }

    #[test]
    fn a_lost_couple_jet_leaves_the_other_and_a_lost_single_leaves_nothing() {
        let table = JetTable::build(&bank(), 0xff & !0b1);
        assert_eq!(table.select(0, true).unwrap().jets, 0b10);
        let table = JetTable::build(&bank(), 0xff & !0b1_0000);
        assert!(table.select(1, true).is_none() && !table.complete());
    }
}
