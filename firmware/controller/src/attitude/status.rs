//! What the attitude loop tells the rest of the vehicle and the ground.

use super::{
    Attitude, axis::Axis, firing::Firing, mode::Mode, observer::Heading, quiet::Phase, rotation, rotation::Vec3, turn,
};
use crate::io::BANKS;

/// Angular momentum by the vehicle's own measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Momentum {
    /// Inertia times estimated rate, N·m·s.
    pub body_nms: Vec3,
    /// Impulse commanded from the jets since the last look, N·m·s.
    pub jets_nms: Vec3,
    /// Disturbance as estimated, N·m.
    pub disturbance_nm: Vec3,
}

/// What the attitude loop tells the rest of the vehicle and the ground.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Status {
    /// Present mode.
    pub mode: Mode,
    /// Errors against the wanted attitude about x, y, z, rad.
    pub error_rad: [f32; 3],
    /// Rate errors about x, y, z, rad/s.
    pub rate_error_rad_s: [f32; 3],
    /// Estimated attitude against the local orbital frame, scalar first.
    pub quaternion: [f32; 4],
    /// Gyro drift, rad/s.
    pub drift_rad_s: [f32; 3],
    /// Disturbance torque, N·m.
    pub disturbance_nm: [f32; 3],
    /// Wanted yaw, rad.
    pub steering_rad: f32,
    /// Rate of the wanted yaw, rad/s.
    pub steering_rate_rad_s: f32,
    /// Horizon sensor believed.
    pub horizon_trusted: bool,
    /// Heading known.
    pub heading_known: bool,
    /// Where the loop stands around a burst.
    pub phase: Phase,
    /// Pulses fired inside quiet times.
    pub quiet_broken: u32,
    /// Pulses fired in all.
    pub pulses: u32,
    /// Banks given up.
    pub bank_lost: [bool; BANKS],
    /// Film's kick came with the other sign than the one told; it is not told any more.
    pub kick_reversed: bool,
    /// The commanded turn.
    pub turn: turn::Status,
    /// Everything that is doubted.
    pub doubts: Doubts,
}

/// What the attitude loop doubts.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Doubts {
    /// A gyro tells nothing, or drifts by more than it should.
    pub gyro: bool,
    /// The compass has moved yaw further than the gyros allow.
    pub yaw: bool,
    /// The horizon sensor is noisy.
    pub horizon_noisy: bool,
    /// Pulses follow each other too fast.
    pub pulses: bool,
    /// Jets give more or less than told.
    pub thrust: bool,
    /// Capture and hold have failed again and again: jets stay shut until a new load comes.
    pub diverged: bool,
}

impl Doubts {
    /// Whether the attitude may be believed where there is no way back: a gyro, yaw and the hold itself stand undoubted.
    pub fn believable(&self) -> bool {
        !self.gyro && !self.yaw && !self.diverged
    }
}

impl Attitude {
    /// Snapshot for telemetry and for the exposure sequencer.
    pub fn status(&self) -> Status {
        let torque = |axis: &Axis| axis.rates.disturbance_rad_s2 * axis.inertia_kg_m2;
        let [roll, pitch, yaw] = &self.axes;
        let q = &self.observer.q;
        Status {
            mode: self.mode,
            error_rad: self.error.into(),
            rate_error_rad_s: self.rate_error.into(),
            quaternion: [q.w, q.i, q.j, q.k],
            drift_rad_s: self.observer.drift_rad_s.into(),
            disturbance_nm: [torque(roll), torque(pitch), torque(yaw)],
            steering_rad: rotation::yaw(&self.level),
            steering_rate_rad_s: self.steering_rate_rad_s,
            horizon_trusted: self.observer.trust.trusted,
            heading_known: matches!(self.observer.heading, Heading::Known(_)),
            phase: self.phase,
            quiet_broken: self.quiet_broken,
            pulses: self.pulses,
            bank_lost: self.banks.lost(),
            kick_reversed: self.kick.reversed,
            turn: self.turn.status(&self.error, &self.rate_error),
            doubts: self.doubts(),
        }
    }

    /// Momentum as the vehicle sees it; takes the jets' impulse since the last call with it.
    pub fn momentum(&mut self) -> Momentum {
        let [roll, pitch, yaw] = &self.axes;
        let of = |axis: &Axis| axis.rates.rate_rad_s * axis.inertia_kg_m2;
        let torque = |axis: &Axis| axis.rates.disturbance_rad_s2 * axis.inertia_kg_m2;
        let momentum = Momentum {
            body_nms: Vec3::new(of(roll), of(pitch), of(yaw)),
            jets_nms: self.jets_nms,
            disturbance_nm: Vec3::new(torque(roll), torque(pitch), torque(yaw)),
        };
        self.jets_nms = Vec3::zeros();
        momentum
    }

    /// Present mode.
    pub fn mode(&self) -> Mode {
        self.mode
    }

    /// Latch valves: the bank in use, while jets may fire at all.
    pub fn latches(&self) -> [bool; BANKS] {
        if self.mode == Mode::Drift { [false; BANKS] } else { self.banks.latches() }
    }

    /// Valve timers, for the gas ledger.
    pub fn firing(&self) -> &Firing {
        &self.firing
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        attitude::{Input, mode::Hold, orbit::Ephemeris},
        io::HorizonSample,
        settings::tests::two_banks,
    };

    fn nothing_new() -> Input {
        Input {
            tick: 0,
            cycle: 0,
            gyro_rad_s: Vec3::zeros(),
            horizon: HorizonSample::default(),
            ephemeris: Ephemeris {
                epoch_tick: 0,
                phase: 0,
                phase_per_tick: 527_000_000,
                half_acceleration_rad_s2: 0.0,
                inclination_rad: 1.43,
                radius_ratio2: 0.93,
            },
            wanted: Hold::Fine,
            burst: None,
            film_kick: false,
            film_momentum_nms: 0.0,
            film_kick_nms: 0.0,
            gas_allowed: true,
            allowance_jet_s: 0.0,
            gas_left_kg: None,
            gyro_fresh: [true; 3],
            gyro_live: [true; 3],
        }
    }

    /// What yaw was doubted by is forgotten with the doubt, or it would be back in the next step.
    #[test]
    fn a_doubt_of_yaw_that_the_ground_has_seen_does_not_come_back_by_itself() {
        let mut attitude = Attitude::new(&two_banks());
        attitude.observer.yaw_moved_rad = 0.1;
        attitude.look_after(&nothing_new());
        assert!(attitude.status().doubts.yaw);
        attitude.acknowledge();
        attitude.look_after(&nothing_new());
        assert!(!attitude.status().doubts.yaw);
    }

    #[test]
    fn an_attitude_is_not_believed_with_a_gyro_yaw_or_the_hold_in_doubt() {
        let none = Doubts::default();
        assert!(none.believable());
        assert!(Doubts { horizon_noisy: true, pulses: true, thrust: true, ..none }.believable());
        for doubts in [Doubts { gyro: true, ..none }, Doubts { yaw: true, ..none }, Doubts { diverged: true, ..none }] {
            assert!(!doubts.believable(), "{doubts:?}");
        }
    }
}
