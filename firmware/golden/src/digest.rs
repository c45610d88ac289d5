//! Bits of the answers become a number (FNV-1a, 64 bits).
//!
//! Structures are taken apart without `..`, so that a field that is added and not digested does not compile. The many
//! bit patterns of *not a number* count as one: processors choose among them differently.

use stillframe_controller::{
    attitude::{Doubts, Status, turn::Phase},
    io::{Actuators, Edges, FilmDrive},
    keep::ComputerStatus,
    ordnance::Status as Ordnance,
    programme::{load::LoadError, waiting::LoadName},
    telemetry::{Telemetry, Uplink},
};

/// A digest in the making.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Digest(u64);

impl Default for Digest {
    fn default() -> Self {
        Self::new()
    }
}

impl Digest {
    /// Of nothing.
    pub const fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

    /// The number.
    pub fn value(&self) -> u64 {
        self.0
    }

    fn byte(&mut self, byte: u8) {
        self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
    }

    fn flag(&mut self, flag: bool) {
        self.byte(u8::from(flag));
    }

    fn number(&mut self, number: u32) {
        number.to_le_bytes().into_iter().for_each(|byte| self.byte(byte));
    }

    /// One real number.
    pub fn real(&mut self, number: f32) {
        self.number(if number.is_nan() { f32::NAN.to_bits() & 0x7fff_ffff } else { number.to_bits() });
    }

    fn reals(&mut self, numbers: &[f32]) {
        numbers.iter().for_each(|&number| self.real(number));
    }

    fn edges(&mut self, edges: Edges) {
        let Edges { open_us, close_us } = edges;
        for us in [open_us, close_us] {
            self.flag(us.is_some());
            self.number(us.unwrap_or(0).into());
        }
    }

    /// The outputs of a tick.
    pub fn actuators(&mut self, actuators: &Actuators) {
        let Actuators { jets, latch_open, film, shutter, slit, transmit, listen, ordnance } = actuators;
        jets.iter().chain([shutter]).for_each(|edges| self.edges(*edges));
        latch_open.iter().chain([transmit]).for_each(|on| self.flag(*on));
        let FilmDrive { roller_duty, supply_duty, take_up_duty, brake, clamp, platen_step, sweep_step, cut, seal } =
            *film;
        self.reals(&[roller_duty, supply_duty, take_up_duty]);
        [brake, clamp, cut, seal].into_iter().for_each(|on| self.flag(on));
        self.number(platen_step.into());
        // A camera that does not sweep keeps the digest it had before any could.
        if sweep_step != 0 {
            self.number(sweep_step.cast_unsigned().into());
        }
        self.byte(*slit);
        self.byte(*listen as u8);
        // The sequence at rest, with the word that it retains from waking on, keeps the digest from before there was one.
        if (ordnance.arm(), ordnance.lines(), ordnance.commits(), ordnance.abort()) != (false, 0, false, false) {
            [ordnance.arm(), ordnance.commits(), ordnance.abort()].into_iter().for_each(|on| self.flag(on));
            self.byte(ordnance.lines());
            self.number(ordnance.retain().into());
            self.number(ordnance.retain_ticks());
        }
    }

    /// A snapshot.
    pub fn telemetry(&mut self, telemetry: &Telemetry) {
        let Telemetry {
            tick,
            attitude,
            flags,
            camera_commanded,
            exposing,
            speed_step,
            film_speed_m_s,
            film_metered_m,
            film_secured,
            frames,
            load_counter,
            loads_refused,
            last_refusal,
            gas_left_kg,
            gas_used_kg,
            gas_residual_kg,
            momentum_residual_nms,
            momentum_through_nms,
            film_residual,
            uplink,
            ordnance,
            computer,
        } = telemetry;
        self.attitude(attitude);
        self.flag(*camera_commanded);
        self.flag(*exposing);
        self.flag(*film_secured);
        for number in [*tick, flags.0, (*speed_step).into(), *frames, (*load_counter).into(), (*loads_refused).into()] {
            self.number(number);
        }
        self.refusal(*last_refusal);
        self.reals(&[*film_speed_m_s, *film_metered_m, *gas_left_kg, *gas_used_kg, *gas_residual_kg]);
        self.reals(momentum_residual_nms);
        self.reals(momentum_through_nms);
        for residual in film_residual {
            self.flag(residual.is_some());
            self.real(residual.unwrap_or(0.0));
        }
        self.uplink(uplink);
        self.ordnance(ordnance);
        self.computer(*computer);
    }

    /// A computer that never failed keeps the digest it had before any could.
    fn computer(&mut self, status: ComputerStatus) {
        if status == ComputerStatus::default() {
            return;
        }
        let ComputerStatus { resets, cause, overruns, shed_under, kept_refused } = status;
        self.byte(cause as u8);
        self.flag(kept_refused);
        [resets, overruns, shed_under.map_or(0, |counter| counter.wrapping_add(1))]
            .into_iter()
            .for_each(|number| self.number(number.into()));
    }

    fn uplink(&mut self, uplink: &Uplink) {
        let Uplink { listen, silent_s, lost, telecommands, counts, in_force, waiting, late, clock_ahead_ticks } =
            *uplink;
        self.byte(listen as u8);
        self.flag(lost);
        for number in [silent_s, telecommands.into(), late.into(), clock_ahead_ticks.cast_unsigned()] {
            self.number(number);
        }
        for count in counts {
            self.flag(count.is_some());
            self.number(count.unwrap_or(0).into());
        }
        for name in [in_force, waiting] {
            self.flag(name.is_some());
            let LoadName { counter, sum, entries } = name.unwrap_or(LoadName { counter: 0, sum: 0, entries: 0 });
            [counter, sum, entries].into_iter().for_each(|number| self.number(number.into()));
        }
    }

    fn ordnance(&mut self, status: &Ordnance) {
        let Ordnance { count, inhibits, armed, aborted, echo, alarms, refused } = status;
        [*count, *inhibits, u8::from(*armed), u8::from(*aborted)].into_iter().for_each(|byte| self.byte(byte));
        self.number(*echo);
        self.number(alarms.0.into());
        self.number((*refused).into());
    }

    fn attitude(&mut self, status: &Status) {
        let Status {
            mode,
            error_rad,
            rate_error_rad_s,
            quaternion,
            drift_rad_s,
            disturbance_nm,
            steering_rad,
            steering_rate_rad_s,
            horizon_trusted,
            heading_known,
            phase,
            quiet_broken,
            pulses,
            bank_lost,
            kick_reversed,
            turn,
            doubts,
        } = status;
        let Doubts { gyro, yaw, horizon_noisy, pulses: frequent, thrust, diverged } = doubts;
        self.byte(mode.code());
        self.byte(*phase as u8);
        self.reals(error_rad);
        self.reals(rate_error_rad_s);
        self.reals(quaternion);
        self.reals(drift_rad_s);
        self.reals(disturbance_nm);
        self.reals(&[*steering_rad, *steering_rate_rad_s]);
        [horizon_trusted, heading_known, kick_reversed, gyro, yaw, horizon_noisy, frequent, thrust, diverged]
            .into_iter()
            .chain(bank_lost)
            .for_each(|on| self.flag(*on));
        self.number(*quiet_broken);
        self.number(*pulses);
        // A vehicle that does not turn keeps the digest it had before any could.
        if turn.phase != Phase::None {
            self.byte(turn.phase as u8);
            self.flag(turn.settled);
            self.reals(&[turn.error_rad, turn.rate_rad_s, turn.known_to_rad]);
            self.reals(&turn.wanted);
        }
    }

    fn refusal(&mut self, refusal: Option<LoadError>) {
        let (kind, entry) = match refusal {
            None => (0, 0),
            Some(LoadError::Length) => (1, 0),
            Some(LoadError::Mark) => (2, 0),
            Some(LoadError::Checksum) => (3, 0),
            Some(LoadError::TooMany) => (4, 0),
            Some(LoadError::Entry(entry)) => (5, entry),
            Some(LoadError::Ephemeris) => (6, 0),
            Some(LoadError::Counter) => (7, 0),
            Some(LoadError::Order(entry)) => (8, entry),
            Some(LoadError::Past(entry)) => (9, entry),
            Some(LoadError::Camera(entry)) => (10, entry),
            Some(LoadError::TooLong(entry)) => (11, entry),
            Some(LoadError::LeftOn) => (12, 0),
            Some(LoadError::Packet) => (13, 0),
            Some(LoadError::Far(entry)) => (14, entry),
            Some(LoadError::Film(entry)) => (15, entry),
            Some(LoadError::Phase(entry)) => (16, entry),
            Some(LoadError::Receiver(entry)) => (17, entry),
            Some(LoadError::Timer(entry)) => (18, entry),
            Some(LoadError::Sequence) => (19, 0),
            Some(LoadError::Commit) => (20, 0),
            Some(LoadError::Expired) => (21, 0),
            Some(LoadError::Busy) => (22, 0),
        };
        self.byte(kind);
        self.number(entry.into());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(number: f32) -> u64 {
        let mut digest = Digest::new();
        digest.real(number);
        digest.value()
    }

    /// FNV-1a of "foobar" as in the list of the function's authors (G. Fowler, L. C. Noll, P. Vo).
    #[test]
    fn known_value() {
        let mut digest = Digest::new();
        b"foobar".iter().for_each(|&byte| digest.byte(byte));
        assert_eq!(digest.value(), 0x8594_4171_f739_67e8);
    }

    #[test]
    fn every_bit_of_a_number_counts_but_for_those_of_no_number() {
        for bit in 0..32 {
            let (before, after) = (1.5_f32, f32::from_bits(1.5_f32.to_bits() ^ 1 << bit));
            assert_ne!(of(before), of(after), "bit {bit}");
        }
        assert_ne!(of(0.0), of(-0.0));
        assert_eq!(of(f32::NAN), of(-f32::NAN));
        assert_eq!(of(f32::NAN), of(f32::from_bits(0x7f80_0001)));
        assert_ne!(of(f32::NAN), of(f32::INFINITY));
    }
}
