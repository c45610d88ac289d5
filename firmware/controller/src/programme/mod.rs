//! The stored programme: time-tagged commands from a checked load.

pub mod load;
pub mod receiver;

use self::{
    load::{Against, Command, Load, LoadError},
    receiver::Receiver,
};
use crate::{
    attitude::{mode::Hold, orbit::Ephemeris, quiet::Burst},
    exposure::CameraSettings,
    io::TICKS_PER_S,
    math,
    ordnance::order::ORDER_BYTES,
};

/// Most that a rounded image speed may differ from the exact one, in steps: half of one, and what two ways of
/// working it out may differ.
const ROUNDED_STEPS: f32 = 0.52;

/// A command found later than this is not carried out, unless it makes safe. s.
const LATE_S: u32 = 1;

/// The programme in force and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Programme {
    load: Load,
    counter: Option<u16>,
    next: usize,
    receiver: Receiver,
    burst: Option<Burst>,
    start_of_burst: Commanded,
    state: Commanded,
    /// Loads refused since the start.
    pub refused: u16,
    /// Why the last one was refused.
    pub last_refusal: Option<LoadError>,
    /// Commands discarded because their time had passed.
    pub late: u16,
    suspended: bool,
    /// V/h that came with the load for one moment, in 10 nrad/s, and the image speed then in force.
    expected: Option<(u32, u16)>,
}

/// What has been commanded, up to now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Commanded {
    /// Camera on.
    pub camera_on: bool,
    /// Slit or shutter setting.
    pub slit: u8,
    /// Ticks between frames of a framing camera.
    pub interval_ticks: u16,
    /// Image speed, in the camera's speed steps.
    pub speed_step: u16,
    /// Attitude hold.
    pub hold: Hold,
    /// Film to be cut and sealed.
    pub secure: bool,
}

/// Orbit constants before any load: they keep a low polar orbit's rate and ask for no crab to matter.
const NO_EPHEMERIS: Ephemeris = Ephemeris {
    epoch_tick: 0,
    phase: 0,
    phase_per_tick: 527_000_000,
    half_acceleration_rad_s2: 0.0,
    inclination_rad: 0.0,
    radius_ratio2: 0.93,
};

/// Before any command.
const NOTHING: Commanded =
    Commanded { camera_on: false, slit: 0, interval_ticks: 0, speed_step: 0, hold: Hold::Fine, secure: false };

impl Default for Programme {
    fn default() -> Self {
        Self {
            load: Load { counter: 0, ephemeris: NO_EPHEMERIS, entries: heapless::Vec::new() },
            counter: None,
            next: 0,
            receiver: Receiver::default(),
            burst: None,
            start_of_burst: NOTHING,
            state: NOTHING,
            refused: 0,
            last_refusal: None,
            late: 0,
            suspended: false,
            expected: None,
        }
    }
}

impl Programme {
    /// Takes uplinked bytes.
    pub fn receive(&mut self, bytes: &[u8], against: &Against) {
        for &byte in bytes {
            if let Some(result) = self.receiver.push(byte) {
                let outcome = result.and_then(|load| self.adopt(load, against));
                if let Err(why) = outcome {
                    self.refused = self.refused.saturating_add(1);
                    self.last_refusal = Some(why);
                }
            }
        }
    }

    /// The direct order that came first, if one waits.
    pub fn take_order(&mut self) -> Option<[u8; ORDER_BYTES]> {
        self.receiver.take_order()
    }

    /// Puts a load in force, whole, or leaves everything as it was.
    ///
    /// # Errors
    /// Why it was refused.
    pub fn adopt(&mut self, load: Load, against: &Against) -> Result<(), LoadError> {
        load.check(&Against { counter: self.counter, ..*against })?;
        self.counter = Some(load.counter);
        self.load = load;
        self.next = 0;
        self.state.camera_on = false;
        self.suspended = false;
        self.look_ahead();
        Ok(())
    }

    /// Carries out what is due.
    pub fn step(&mut self, tick: u32) {
        while let Some(entry) = self.load.entries.get(self.next).copied() {
            if entry.tick > tick {
                break;
            }
            self.next += 1;
            let late = tick - entry.tick > LATE_S * TICKS_PER_S;
            self.carry_out(entry.command, late);
            self.look_ahead();
        }
    }

    fn carry_out(&mut self, command: Command, late: bool) {
        let refuse = late || self.suspended;
        match command {
            Command::CameraOff => self.state.camera_on = false,
            Command::Speed(step) => self.state.speed_step = step,
            _ if refuse => self.late = self.late.saturating_add(1),
            Command::CameraOn { slit, interval_ticks } => {
                self.state = Commanded { camera_on: true, slit, interval_ticks, ..self.state };
            }
            Command::Hold(hold) => self.state.hold = hold,
            Command::Secure => self.state.secure = true,
            Command::Expect(v_over_h) => self.expected = Some((v_over_h, self.state.speed_step)),
        }
    }

    /// The clock cannot be trusted: nothing is carried out, except what makes safe, until a new load comes.
    pub fn suspend(&mut self) {
        self.suspended = true;
        self.state.camera_on = false;
        self.burst = None;
    }

    /// What has been commanded.
    pub fn commanded(&self) -> Commanded {
        self.state
    }

    /// Orbit constants in force.
    pub fn ephemeris(&self) -> Ephemeris {
        self.load.ephemeris
    }

    /// Whether a load has ever been accepted.
    pub fn loaded(&self) -> bool {
        self.counter.is_some()
    }

    /// Counter of the load in force, zero before the first.
    pub fn counter(&self) -> u16 {
        self.counter.unwrap_or(0)
    }

    /// Whether the image speed in force when a V/h came for comparison is another than that V/h makes through the
    /// lens, by more than rounding to a whole step explains. The two come from the ground by separate roads.
    pub fn speed_doubtful(&self, camera: &CameraSettings) -> bool {
        let Some((v_over_h, speed_step)) = self.expected else { return false };
        let wanted_steps = v_over_h as f32 * 1e-8 * camera.focal_length_m / camera.speed_step_m_s;
        let off = math::abs(wanted_steps - f32::from(speed_step));
        off > ROUNDED_STEPS || off.is_nan()
    }

    /// Whether the programme is suspended.
    pub fn suspended(&self) -> bool {
        self.suspended
    }

    /// The burst that is running or comes next.
    pub fn burst(&self) -> Option<Burst> {
        if self.suspended { None } else { self.burst }
    }

    /// What is commanded while the camera is on; before that, what the next burst will begin with.
    pub fn coming(&self) -> Commanded {
        if self.state.camera_on { self.state } else { self.start_of_burst }
    }

    /// Looks for the next burst; only when an entry has gone by, for it walks the store.
    fn look_ahead(&mut self) {
        self.burst = self.find_burst();
        self.start_of_burst = self.find_start();
    }

    fn find_start(&self) -> Commanded {
        let mut coming = self.state;
        for entry in self.load.entries.iter().skip(self.next) {
            match entry.command {
                Command::Speed(step) => coming.speed_step = step,
                Command::CameraOn { slit, interval_ticks } => {
                    return Commanded { camera_on: true, slit, interval_ticks, ..coming };
                }
                Command::CameraOff | Command::Hold(_) | Command::Secure | Command::Expect(_) => {}
            }
        }
        coming
    }

    fn find_burst(&self) -> Option<Burst> {
        let mut on_tick = if self.state.camera_on { self.burst.map(|burst| burst.on_tick) } else { None };
        for entry in self.load.entries.iter().skip(self.next) {
            match entry.command {
                Command::CameraOn { .. } => on_tick = Some(entry.tick),
                Command::CameraOff => {
                    if let Some(on_tick) = on_tick {
                        return Some(Burst { on_tick, off_tick: entry.tick });
                    }
                }
                Command::Speed(_) | Command::Hold(_) | Command::Secure | Command::Expect(_) => {}
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::{
        load::{Entry, MAX_BYTES},
        *,
    };
    use crate::packet;
    use heapless::Vec;

    fn against(tick: u32) -> Against {
        Against { tick, counter: None, longest_camera_s: 300.0, slits: 4, most_speed: 1000 }
    }

    fn load(counter: u16) -> Load {
        let on = Command::CameraOn { slit: 2, interval_ticks: 0 };
        let commands =
            [(50, Command::Speed(340)), (100, on), (1_500, Command::Speed(342)), (3_100, Command::CameraOff)];
        let entries = commands.into_iter().map(|(tick, command)| Entry { tick, command }).collect();
        Load { counter, ephemeris: NO_EPHEMERIS, entries }
    }

    fn frame(load: &Load) -> std::vec::Vec<u8> {
        let bytes: Vec<u8, { MAX_BYTES + 8 }> = packet::write(packet::TELECOMMAND, &[&load.encode()]).unwrap();
        let mut out = std::vec![0_u8; bytes.len() + bytes.len() / 254 + 3];
        let n = cobs::encode(&bytes, &mut out[1..]);
        out.truncate(n + 2);
        out
    }

    #[test]
    fn a_load_received_byte_by_byte_runs_on_time() {
        let mut programme = Programme::default();
        for byte in frame(&load(1)) {
            programme.receive(&[byte], &against(0));
        }
        assert!(programme.loaded());
        assert_eq!(programme.burst(), Some(Burst { on_tick: 100, off_tick: 3_100 }));
        programme.step(99);
        assert!(!programme.commanded().camera_on);
        assert_eq!(programme.commanded().speed_step, 340);
        programme.step(100);
        assert!(programme.commanded().camera_on);
        assert_eq!(programme.burst(), Some(Burst { on_tick: 100, off_tick: 3_100 }));
        programme.step(3_100);
        assert!(!programme.commanded().camera_on);
        assert_eq!(programme.burst(), None);
    }

    #[test]
    fn a_bad_load_leaves_the_old_one_in_force() {
        let mut programme = Programme::default();
        programme.adopt(load(5), &against(0)).unwrap();
        let before = programme.clone();
        let mut bytes = frame(&load(6));
        bytes[20] ^= 4;
        programme.receive(&bytes, &against(0));
        assert_eq!(programme.refused, 1);
        assert_eq!(programme.counter(), 5);
        assert_eq!(programme.burst(), before.burst());
        programme.receive(&frame(&load(5)), &against(0));
        assert_eq!(programme.last_refusal, Some(LoadError::Counter));
    }

    #[test]
    fn commands_found_late_are_discarded_but_camera_off_is_not() {
        let mut programme = Programme::default();
        programme.adopt(load(1), &against(0)).unwrap();
        programme.step(100);
        programme.step(3_900);
        assert!(!programme.commanded().camera_on);
        let mut programme = Programme::default();
        programme.adopt(load(1), &against(0)).unwrap();
        programme.step(1_000);
        assert!(!programme.commanded().camera_on, "an old camera-on must not act");
        assert_eq!(programme.late, 1);
    }

    #[test]
    fn a_suspended_programme_switches_nothing_on() {
        let mut programme = Programme::default();
        programme.adopt(load(1), &against(0)).unwrap();
        programme.suspend();
        programme.step(100);
        assert!(!programme.commanded().camera_on);
        assert_eq!(programme.burst(), None);
    }
}
