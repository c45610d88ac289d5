//! What crosses the boundary: [`Sensors`] in, [`Actuators`] out, once every base tick.
//!
//! These types are the whole interface of the flight code. A simulator, a board, a replay and a test all
//! speak them, and nothing else. Body axes: +x along track, +y opposite the orbit normal, +z down.

use crate::ordnance::{event::Event, fire::Fire};

/// Length of the base tick, s. Fixed: only its divisors are settings.
pub const TICK_S: f32 = 0.01;
/// Length of the base tick, µs.
pub const TICK_US: u32 = 10_000;
/// Base ticks in a second.
pub const TICKS_PER_S: u32 = 100;
/// Base ticks between attitude steps (50 Hz).
pub const ATTITUDE_TICKS: u32 = 2;
/// Length of an attitude step, s.
pub const ATTITUDE_STEP_S: f32 = 0.02;
/// Most jets a vehicle may carry.
pub const MAX_JETS: usize = 16;
/// Upstream latch valves, one for each bank of jets.
pub const BANKS: usize = 2;

/// Everything that reaches the vehicle in one base tick.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Sensors {
    /// Base ticks since the on-board clock was started.
    pub tick: u32,
    /// Rate gyros about body x, y, z, rad/s; read every attitude step.
    pub gyro_rad_s: [f32; 3],
    /// The horizon sensor's latest answer.
    pub horizon: HorizonSample,
    /// Gas tank.
    pub tank: TankSample,
    /// Film transport and camera.
    pub film: FilmSample,
    /// Bytes that came up the radio link in this tick.
    pub uplink: heapless::Vec<u8, 32>,
    /// The mechanical sense that the vehicle has left its carrier. Nothing fires before it opens.
    pub separated: bool,
    /// Ordnance circuit, and what retained memory holds of the sequence.
    pub ordnance: OrdnanceSample,
}

/// Readbacks of an ordnance circuit. Contacts are second poles, mechanically bound to those in the firing path (mirror
/// contacts, common practice in safety relays): what sticks there sticks here. The default is that of the pad.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct OrdnanceSample {
    /// The carrier's loop is open: a contact in series with the firing path, held apart by the carrier.
    pub off_carrier: bool,
    /// Voltage of the recovery battery behind its switch, V. The receiver's own decoder throws the switch.
    pub recovery_v: f32,
    /// The arming relay is closed.
    pub relay_closed: bool,
    /// The commit switch, which gives current to the line that is closed, is closed.
    pub commit_closed: bool,
    /// Firing lines that are closed, a bit an event ([`crate::ordnance::event::Event`]).
    pub lines_closed: u8,
    /// Bridgewires that read open, a bit an event; measured with far less than the current that could fire them.
    pub spent: u8,
    /// Contacts that an event's effect has thrown over, a bit an event.
    pub done: u8,
    /// Latching relays that an abort has thrown: one in the relay's coil, one across the firing lines.
    pub abort_latched: [bool; 2],
    /// The capsule tells through the umbilical that it is armed. Always false in the capsule itself.
    pub capsule_armed: bool,
    /// The word that was last to be retained ([`OrdnanceDrive::retain`]), as memory holds it through a reset.
    pub retained: u16,
    /// Likewise the count ([`OrdnanceDrive::retain_ticks`]).
    pub retained_ticks: u32,
}

/// Horizon sensor: tilt of the body against the Earth's limb.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct HorizonSample {
    /// Rises by one with every new sample (10 Hz); wraps.
    pub sequence: u8,
    /// Both edges of the Earth found inside the sensor's range.
    pub locked: bool,
    /// Roll, rad: positive when the body is turned about +x.
    pub roll_rad: f32,
    /// Pitch, rad: positive when the body is turned about +y.
    pub pitch_rad: f32,
}

/// Gas tank gauges.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct TankSample {
    /// Pressure, Pa.
    pub pressure_pa: f32,
    /// Temperature, K.
    pub temperature_k: f32,
}

/// Film transport and camera gauges.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct FilmSample {
    /// Counts of the metering roller's encoder; film forward counts up; wraps.
    pub roller_counts: u32,
    /// Counts of the supply reel's coarse encoder; unwinding counts up; wraps.
    pub supply_counts: u32,
    /// Counts of the take-up reel's coarse encoder; winding counts up; wraps.
    pub take_up_counts: u32,
    /// Displacement of the supply tension arm from its middle, m; more film in the loop is positive.
    pub supply_arm_m: f32,
    /// Displacement of the take-up tension arm from its middle, m; more film in the loop is positive.
    pub take_up_arm_m: f32,
    /// Current of the metering roller's motor, A; positive drives film forward.
    pub roller_current_a: f32,
    /// Light sensed behind the shutter: `true` while it is open.
    pub shutter_open: bool,
    /// Angle of the line of sight from body +z towards +y, from the sweep's own sensor, rad (panoramic camera).
    pub sweep_rad: f32,
}

/// Edges of one on/off actuator inside the coming tick: at most one opening and one closing.
///
/// Delays count in µs from the tick boundary at which the output takes effect and lie in 0…9,999. An
/// actuator with no edge keeps its state, so a pulse may span ticks.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Edges {
    /// Delay of the opening edge, if there is one.
    pub open_us: Option<u16>,
    /// Delay of the closing edge, if there is one.
    pub close_us: Option<u16>,
}

impl Edges {
    /// No edge in this tick.
    pub const NONE: Self = Self { open_us: None, close_us: None };
    /// Closing at once: the safe state of every valve and of the shutter.
    pub const CLOSE: Self = Self { open_us: None, close_us: Some(0) };
}

/// What the vehicle is to do in the coming tick.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Actuators {
    /// Edges of each jet's valve, in the order of the settings' jet table.
    pub jets: [Edges; MAX_JETS],
    /// Upstream latch valve of each bank: `true` lets gas through.
    pub latch_open: [bool; BANKS],
    /// Film motors, brakes and clamp.
    pub film: FilmDrive,
    /// Shutter (capping shutter of a strip camera).
    pub shutter: Edges,
    /// Which of the camera's slits is in place (strip and panoramic camera), or exposure setting (framing camera).
    pub slit: u8,
    /// Transmitter on.
    pub transmit: bool,
    /// Which receiver listens. Bytes come up the link only through it.
    pub listen: Listen,
    /// Ordnance circuit.
    pub ordnance: OrdnanceDrive,
}

impl Actuators {
    /// Everything safe: valves and latches shut, film stopped under its brakes, shutter closed.
    pub const SAFE: Self = Self {
        jets: [Edges::CLOSE; MAX_JETS],
        latch_open: [false; BANKS],
        film: FilmDrive::REST,
        shutter: Edges::CLOSE,
        slit: 0,
        transmit: false,
        listen: Listen::Main,
        ordnance: OrdnanceDrive::REST,
    };
}

/// Which receiver listens.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Listen {
    /// The one that listens at launch. What is safe: a vehicle that hears nothing cannot be helped.
    #[default]
    Main,
    /// The other one.
    Alternate,
    /// None.
    Off,
}

/// What an ordnance circuit is to do. Lines and the commit switch can be closed by a [`Fire`] alone, which only the proofs
/// of all inhibits make.
#[derive(Clone, Copy, Debug, Default, Eq, Hash, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct OrdnanceDrive {
    arm: bool,
    lines: u8,
    commit: bool,
    abort: bool,
    retain: u16,
    retain_ticks: u32,
}

impl OrdnanceDrive {
    /// Everything open, nothing to be retained.
    pub const REST: Self = Self { arm: false, lines: 0, commit: false, abort: false, retain: 0, retain_ticks: 0 };

    pub(crate) fn resting(arm: bool, abort: bool, (retain, retain_ticks): (u16, u32)) -> Self {
        Self { arm, abort, retain, retain_ticks, ..Self::REST }
    }

    pub(crate) fn select(&mut self, fire: &Fire) {
        self.lines = fire.event().bit();
    }

    pub(crate) fn commit(&mut self, _: &Fire) {
        self.commit = true;
    }

    /// The arming relay is closed.
    pub fn arm(&self) -> bool {
        self.arm
    }

    /// Firing lines that are closed, a bit an event.
    pub fn lines(&self) -> u8 {
        self.lines
    }

    /// The commit switch is closed.
    pub fn commits(&self) -> bool {
        self.commit
    }

    /// The event that gets current.
    pub fn fired(&self) -> Option<Event> {
        let event = Event::at(self.lines.trailing_zeros() as u8);
        if self.commit { event } else { None }
    }

    /// The abort's latching relays are thrown.
    pub fn abort(&self) -> bool {
        self.abort
    }

    /// The word to be retained through a reset.
    pub fn retain(&self) -> u16 {
        self.retain
    }

    /// Ticks since retro ignition, counted from one, to be retained through a reset; zero before it. The two highest
    /// bits keep what was seen of the deceleration.
    pub fn retain_ticks(&self) -> u32 {
        self.retain_ticks
    }
}

/// Film motors, brakes and clamp.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct FilmDrive {
    /// Share of the supply voltage on the metering roller's motor, −1…1; positive drives film forward.
    pub roller_duty: f32,
    /// Share of the supply voltage on the supply reel's motor, −1…1; positive unwinds.
    pub supply_duty: f32,
    /// Share of the supply voltage on the take-up reel's motor, −1…1; positive winds.
    pub take_up_duty: f32,
    /// Holding brakes of both reels and the roller; on when the power is off.
    pub brake: bool,
    /// Clamp that holds the film flat to the platen (framing camera).
    pub clamp: bool,
    /// Speed asked of the compensating platen, in steps of the camera's speed step (framing and panoramic camera).
    pub platen_step: u16,
    /// Rate asked of the sweep's drive, in steps of the camera's sweep step; positive towards +y (panoramic camera).
    pub sweep_step: i16,
    /// The knife severs the film between gate and take-up reel. It cannot be undone.
    pub cut: bool,
    /// The film's way into the capsule is shut, against light and water. It cannot be undone.
    pub seal: bool,
}

impl FilmDrive {
    /// Motors off, brakes and clamp on.
    pub const REST: Self = Self {
        roller_duty: 0.0,
        supply_duty: 0.0,
        take_up_duty: 0.0,
        brake: true,
        clamp: true,
        platen_step: 0,
        sweep_step: 0,
        cut: false,
        seal: false,
    };
}
