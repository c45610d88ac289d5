//! The stored programme: time-tagged commands from a checked load.
//!
//! Bytes from the radio become telecommands ([`receiver`], [`telecommand`]); a load is judged ([`mod@check`]), held and
//! committed ([`waiting`]); here its commands are carried out.

pub mod check;
pub mod kept;
pub mod load;
pub mod receiver;
pub mod telecommand;
pub mod waiting;

use self::{
    check::Against,
    load::{Command, Load, LoadError, View},
    receiver::Receiver,
    waiting::Waiting,
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
    /// Of the load in force.
    counter: Option<u16>,
    /// Its check sum.
    sum: u16,
    /// A load that waits for its commit; without meaning where none does.
    second_store: Load,
    waiting: Option<Waiting>,
    next: usize,
    receiver: Receiver,
    /// Direct orders that wait to be handed on to the ordnance sequence, the first to come in front.
    orders: [Option<[u8; ORDER_BYTES]>; 2],
    burst: Option<Burst>,
    start_of_burst: Commanded,
    state: Commanded,
    /// Loads and other telecommands refused since the start.
    pub refused: u16,
    /// Why the last one was refused.
    pub last_refusal: Option<LoadError>,
    /// Commands discarded because their time had passed.
    pub late: u16,
    suspended: bool,
    held_back: bool,
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
    /// Receiver on, as far as the programme is asked ([`crate::contact`]).
    pub receiver: bool,
    /// Silence after which the receiver opens by itself, minutes; none: as set.
    pub open_after_min: Option<u16>,
    /// Silence after which the vehicle makes itself safe, minutes; none: as set.
    pub safe_after_min: Option<u16>,
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

/// An empty store.
const NO_LOAD: Load = Load { counter: 0, ephemeris: NO_EPHEMERIS, entries: heapless::Vec::new() };

/// Before any command.
const NOTHING: Commanded = Commanded {
    camera_on: false,
    slit: 0,
    interval_ticks: 0,
    speed_step: 0,
    hold: Hold::Fine,
    secure: false,
    receiver: true,
    open_after_min: None,
    safe_after_min: None,
};

impl Default for Programme {
    fn default() -> Self {
        Self {
            load: NO_LOAD,
            second_store: NO_LOAD,
            counter: None,
            sum: 0,
            waiting: None,
            next: 0,
            receiver: Receiver::default(),
            orders: [None; 2],
            burst: None,
            start_of_burst: NOTHING,
            state: NOTHING,
            refused: 0,
            last_refusal: None,
            late: 0,
            suspended: false,
            held_back: false,
            expected: None,
        }
    }
}

impl Programme {
    /// The direct order to the ordnance sequence that came first, if one waits.
    pub fn take_order(&mut self) -> Option<[u8; ORDER_BYTES]> {
        let [first, second] = self.orders;
        self.orders = [second, None];
        first
    }

    /// Keeps a direct order for the ordnance sequence. A third in one tick, which the link cannot bring, would be lost.
    pub(super) fn keep(&mut self, order: [u8; ORDER_BYTES]) {
        if let Some(free) = self.orders.iter_mut().find(|place| place.is_none()) {
            *free = Some(order);
        }
    }

    /// Puts a load in force at once, whole, or leaves everything as it was: over the test connector.
    ///
    /// # Errors
    /// Why it was refused.
    pub fn adopt(&mut self, load: Load, against: &Against) -> Result<(), LoadError> {
        load.check(&Against { counter: self.counter, ..*against })?;
        self.load = load;
        self.begin();
        Ok(())
    }

    /// As [`Programme::adopt`], from the load's bytes.
    ///
    /// # Errors
    /// Why it was refused.
    pub fn adopt_bytes(&mut self, bytes: &[u8], against: &Against) -> Result<(), LoadError> {
        let view = View::of(bytes)?;
        view.check(&Against { counter: self.counter, ..*against })?;
        view.copy_into(&mut self.load);
        self.begin();
        Ok(())
    }

    /// The load that has just come into force begins: receiver on, times of silence as set.
    fn begin(&mut self) {
        self.counter = Some(self.load.counter);
        self.sum = self.load.checksum();
        self.next = 0;
        self.state =
            Commanded { camera_on: false, receiver: true, open_after_min: None, safe_after_min: None, ..self.state };
        self.suspended = false;
        self.last_refusal = None;
        self.expected = None;
        self.look_ahead();
    }

    /// Carries out what is due. A suspended programme stands still: its clock tells nothing of what is due.
    pub fn step(&mut self, tick: u32) {
        if self.suspended {
            return;
        }
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
        let refuse = late || self.held_back;
        match command {
            Command::CameraOff => self.state.camera_on = false,
            Command::Receiver(true) => self.state.receiver = true,
            // A state, like the speed: the last one found is the one that holds. While contact is lost it waits.
            Command::Hold(hold) => self.state.hold = hold,
            Command::Speed(step) => self.state.speed_step = step,
            _ if refuse => self.late = self.late.saturating_add(1),
            Command::CameraOn { slit, interval_ticks } => {
                self.state = Commanded { camera_on: true, slit, interval_ticks, ..self.state };
            }
            Command::Secure => self.state.secure = true,
            Command::Expect(v_over_h) => self.expected = Some((v_over_h, self.state.speed_step)),
            Command::Receiver(false) => self.state.receiver = false,
            Command::OpenAfter(minutes) => self.state.open_after_min = Some(minutes),
            Command::SafeAfter(minutes) => self.state.safe_after_min = Some(minutes),
        }
    }

    /// The clock cannot be trusted: nothing is carried out until the clock is correlated or a new load comes into
    /// force. What makes safe is done now, for its time may not be known again: the camera goes off, and the receiver
    /// on, for only the ground can help.
    pub fn suspend(&mut self) {
        self.suspended = true;
        self.state.camera_on = false;
        self.state.receiver = true;
        self.burst = None;
    }

    /// The clock has been correlated: the next step finds what has passed meanwhile late, and goes on with what is
    /// still to come.
    pub fn resume(&mut self) {
        self.suspended = false;
        self.look_ahead();
    }

    /// While contact is lost nothing is carried out either, except what makes safe; afterwards the programme goes on
    /// with what is still to come.
    pub fn hold_back(&mut self, back: bool) {
        if back && !self.held_back {
            self.state.camera_on = false;
            self.burst = None;
        }
        if !back && self.held_back {
            self.look_ahead();
        }
        self.held_back = back;
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
        if self.suspended || self.held_back { None } else { self.burst }
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
                _ => {}
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
                _ => {}
            }
        }
        None
    }
}

#[cfg(test)]
mod tests;
