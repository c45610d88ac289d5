//! The stepped machine: [`Sensors`] in, [`Actuators`] out, once every base tick.
//!
//! One call of [`Controller::step`], top to bottom: inputs checked ([`crate::health`]) → uplink and stored
//! programme ([`crate::programme`]) → attitude on every second tick ([`crate::attitude`]) → exposure sequence
//! and film ([`crate::exposure`], [`crate::film`]) → ledgers and telemetry once a second. What comes out
//! takes effect at the next tick's boundary.

mod wake;

pub use wake::Memory;

use crate::{
    attitude::{
        Attitude, Input as AttitudeInput,
        mode::{Hold, Mode},
        quiet::Burst,
        rotation::Vec3,
    },
    contact::{self, Contact},
    exposure::{EXPOSURE_SETTINGS, Ending, ExposureStatus, FrameMark, Input as ExposureInput, Phase, Sequencer},
    film::{self, Fault, Transport},
    health::{
        balance::MomentumBalance,
        flags::{Flag, Flags},
        gas::Gas,
        inputs::Inputs,
    },
    io::{ATTITUDE_TICKS, Actuators, BANKS, FilmDrive, HorizonSample, OrdnanceDrive, Sensors, TICK_S, TICKS_PER_S},
    keep::ComputerStatus,
    ordnance::{readiness::Readiness, vehicle::Vehicle},
    programme::{
        Programme,
        check::{Against, FilmLeft},
        load::LoadError,
        telecommand::Correlation,
    },
    settings::{Settings, SettingsError},
    telemetry::{Telemetry, Uplink},
};

/// Ticks for which the separation sense must hold before it is believed.
const SEPARATION_TICKS: u8 = 10;

/// The flight code.
#[derive(Clone, Debug, PartialEq)]
pub struct Controller {
    settings: Settings,
    inputs: Inputs,
    separated_ticks: u8,
    programme: Programme,
    contact: Contact,
    /// Telecommands taken.
    telecommands: u16,
    /// What the ground's correlation adds to the clock's reading, ticks; wraps.
    clock_ahead: u32,
    /// Tick of the separation, once it has happened.
    separated_tick: Option<u32>,
    /// The vehicle has been in fine hold.
    captured: bool,
    attitude: Attitude,
    transport: Transport,
    sequencer: Sequencer,
    gas: Gas,
    momentum: MomentumBalance,
    flags: Flags,
    /// Ticks stepped through. The rate groups count these, so that a clock that jumps or stands still changes
    /// neither the length of an attitude step nor the interval of the ledgers.
    cycle: u32,
    gyro_rad_s: Vec3,
    horizon: HorizonSample,
    frame: Option<FrameMark>,
    ordnance: Vehicle,
    computer: ComputerStatus,
    /// Memory does not agree with itself.
    unsound: bool,
    /// Pulses fired inside quiet times before the load in force.
    quiet_broken_before: u32,
    telemetry: Telemetry,
}

impl Controller {
    /// A controller as it wakes on the pad.
    ///
    /// # Errors
    /// Refuses settings that fail [`Settings::check`].
    pub fn new(settings: Settings) -> Result<Self, SettingsError> {
        settings.check()?;
        let attitude = Attitude::new(&settings);
        let transport = Transport::new(&settings.film);
        let telemetry = Telemetry::at_start(attitude.status());
        Ok(Self {
            inputs: Inputs::default(),
            separated_ticks: 0,
            programme: Programme::default(),
            contact: Contact::default(),
            telecommands: 0,
            clock_ahead: 0,
            separated_tick: None,
            captured: false,
            sequencer: Sequencer::new(&settings.camera, &settings.film),
            gas: Gas::new(settings.gas),
            momentum: MomentumBalance::default(),
            flags: Flags::default(),
            cycle: 0,
            gyro_rad_s: Vec3::zeros(),
            horizon: HorizonSample::default(),
            frame: None,
            ordnance: Vehicle::new(settings.ordnance),
            computer: ComputerStatus::default(),
            unsound: false,
            quiet_broken_before: 0,
            attitude,
            transport,
            telemetry,
            settings,
        })
    }

    /// Puts a load in force without the radio: on the pad, over the test connector.
    ///
    /// # Errors
    /// Why it was refused; the load in force is untouched.
    pub fn load(&mut self, bytes: &[u8], tick: u32) -> Result<(), LoadError> {
        let against = self.against(tick);
        self.programme.adopt_bytes(bytes, &against)?;
        self.acknowledge();
        self.contact.heard();
        Ok(())
    }

    /// Whether the vehicle flies: the separation sense has held for a tenth of a second once. From then on it is
    /// latched, for a vehicle that has left its carrier does not come back, and a glitch of the sense must not
    /// shut its valves behind the valve timers' back.
    fn flying(&mut self, separated: bool) -> bool {
        if self.separated_ticks < SEPARATION_TICKS {
            self.separated_ticks = if separated { self.separated_ticks + 1 } else { 0 };
        }
        self.separated_ticks >= SEPARATION_TICKS
    }

    /// One base tick.
    pub fn step(&mut self, sensors: &Sensors) -> Actuators {
        self.scrub();
        let actuators = if self.unsound { self.at_rest() } else { self.tick(sensors) };
        self.cycle = self.cycle.wrapping_add(1);
        actuators
    }

    fn tick(&mut self, sensors: &Sensors) -> Actuators {
        self.frame = None;
        self.take_in(sensors);
        self.listen(sensors);
        let tick = self.tick_of(sensors);
        self.programme.step(tick);
        let listen = self.contact.listen();
        let flying = self.flying(sensors.separated);
        if !flying {
            let tank = self.inputs.tank(sensors, &mut self.flags);
            self.gas.open(&tank);
            let ordnance = self.send_home(sensors, flying);
            return Actuators { transmit: true, listen, ordnance, ..Actuators::SAFE };
        }
        self.separated_tick.get_or_insert(tick);
        self.captured |= self.attitude.mode() == Mode::Fine;
        if self.cycle.is_multiple_of(ATTITUDE_TICKS) {
            self.attitude_step(tick);
        }
        let jets = self.attitude.valves();
        let (film, shutter, slit) = self.photograph(tick, sensors);
        let ordnance = self.send_home(sensors, flying);
        if self.cycle.is_multiple_of(TICKS_PER_S) {
            self.second(sensors);
        }
        Actuators { jets, latch_open: self.attitude.latches(), film, shutter, slit, transmit: true, listen, ordnance }
    }

    /// On-board time: the clock's reading, corrected by the ground's correlation.
    fn tick_of(&self, sensors: &Sensors) -> u32 {
        sensors.tick.wrapping_add(self.clock_ahead)
    }

    /// Telecommands, and what silence leads to.
    fn listen(&mut self, sensors: &Sensors) {
        if !sensors.uplink.is_empty() {
            let against = self.against(self.tick_of(sensors));
            let received = self.programme.receive(&sensors.uplink, &against);
            if received.telecommands > 0 {
                self.telecommands = self.telecommands.saturating_add(received.telecommands);
                self.contact.heard();
            }
            if received.in_force {
                self.acknowledge();
            }
            if let Some(which) = received.receiver {
                self.contact.choose(which);
            }
            if let Some(Correlation { clock_tick, true_tick }) = received.correlation {
                self.clock_ahead = true_tick.wrapping_sub(clock_tick);
                self.programme.resume();
            }
        }
        // By cycles: no clock has a part in it.
        if self.cycle.is_multiple_of(TICKS_PER_S) {
            self.contact.second(self.contact_wanted());
            self.programme.second();
            if self.contact.lost() {
                self.programme.forget_counts();
            }
        }
        self.programme.hold_back(self.contact.lost());
    }

    fn contact_wanted(&self) -> contact::Wanted {
        let commanded = self.programme.commanded();
        let seconds = |told: Option<u16>, set: u32| told.map_or(set, u32::from).saturating_mul(60);
        contact::Wanted {
            on: commanded.receiver,
            open_after_s: seconds(commanded.open_after_min, self.settings.contact.open_after_min),
            safe_after_s: seconds(commanded.safe_after_min, self.settings.contact.safe_after_min),
        }
    }

    fn take_in(&mut self, sensors: &Sensors) {
        if !self.inputs.clock(sensors) && self.programme.loaded() {
            self.programme.suspend();
        }
        if self.cycle.is_multiple_of(ATTITUDE_TICKS) {
            let range = self.settings.observer.gyro_range_deg_s;
            self.gyro_rad_s = self.inputs.gyro(sensors, range, self.captured, &mut self.flags);
            self.horizon = self.inputs.horizon(sensors, &mut self.flags);
        }
    }

    fn attitude_step(&mut self, tick: u32) {
        let input = self.attitude_input(tick);
        self.attitude.step(&input);
    }

    /// What the attitude loop is told at `tick`; for whoever times or replays the loop alone.
    pub fn attitude_input(&self, tick: u32) -> AttitudeInput {
        // Reels that speed up, slow down or follow their loops trade momentum with the body all the while.
        let film_kick =
            !matches!(self.transport.status().state, film::State::Braked | film::State::Stopped | film::State::Secured);
        AttitudeInput {
            tick,
            cycle: self.cycle,
            gyro_rad_s: self.gyro_rad_s,
            horizon: self.horizon,
            ephemeris: self.programme.ephemeris(),
            // With contact lost, the hold that costs little gas and keeps the antennas towards the Earth.
            wanted: if self.contact.lost() { Hold::Coarse } else { self.programme.commanded().hold },
            burst: self.programme.burst(),
            film_kick,
            film_momentum_nms: self.transport.status().momentum_nms,
            film_kick_nms: self.film_kick_to_come_nms(),
            gas_allowed: self.gas.allowed(),
            allowance_jet_s: self.gas.allowance_jet_s(),
            gas_left_kg: self.gas.known_left_kg(),
            gyro_fresh: self.inputs.gyro_fresh(),
            gyro_live: self.inputs.gyro_live(),
        }
    }

    /// Change of the film's momentum still to come when the next burst's film is up to its mean speed.
    fn film_kick_to_come_nms(&self) -> f32 {
        let camera = &self.settings.camera;
        let coming = self.programme.coming();
        let speed_m_s = if camera.kind != 0 {
            let interval_s = f32::from(coming.interval_ticks).max(1.0) * TICK_S;
            camera.advance_length_m / interval_s
        } else {
            f32::from(coming.speed_step) * camera.speed_step_m_s
        };
        self.transport.momentum_change_nms(speed_m_s)
    }

    /// Exposure sequence and film transport.
    fn photograph(&mut self, tick: u32, sensors: &Sensors) -> (FilmDrive, crate::io::Edges, u8) {
        let lead = self.settings.camera.lead_ticks;
        let burst = self.programme.burst();
        // Film starts ahead of the commanded time, so that it is valid when the time has come.
        let soon =
            burst.is_some_and(|Burst { on_tick, off_tick }| tick.saturating_add(lead) >= on_tick && tick < off_tick);
        let commanded = if soon { self.programme.coming() } else { self.programme.commanded() };
        let allowed = self.fit_to_photograph() && !commanded.secure && !self.sheds();
        let film = *self.transport.status();
        let output = self.sequencer.step(&ExposureInput {
            tick,
            camera_commanded_on: soon || commanded.camera_on,
            not_before: burst.map_or(tick, |burst| burst.on_tick),
            cycle_ticks: u32::from(commanded.interval_ticks),
            speed_step: commanded.speed_step,
            slit: commanded.slit,
            allowed,
            shutter_open: sensors.film.shutter_open,
            sweep_rad: sensors.film.sweep_rad,
            film: &film,
        });
        self.flags.put(Flag::CameraWithheld, (soon || commanded.camera_on) && !allowed);
        self.frame = output.frame_event;
        let secure = commanded.secure && self.sequencer.status().phase == Phase::Off;
        let demand = if secure { film::Demand::Secure } else { output.demand };
        let mut drive = self.transport.step(&sensors.film, demand);
        drive.clamp |= output.clamp;
        drive.platen_step = output.platen_step;
        drive.sweep_step = output.sweep_step;
        (drive, output.shutter, output.slit)
    }

    /// The ordnance sequence, on the ground's direct orders alone: nothing of the stored programme reaches it.
    fn send_home(&mut self, sensors: &Sensors, flying: bool) -> OrdnanceDrive {
        let order = self.programme.take_order();
        let mut readiness = Readiness {
            film_sealed: self.transport.status().state == film::State::Secured,
            capsule_armed: sensors.ordnance.capsule_armed,
            ..Readiness::default()
        };
        // Only in the attitude it was commanded to turn to, and by what it may be off at worst. Nowhere else is the moment
        // right, and nowhere else is the attitude asked.
        if self.attitude.mode() == Mode::Turned {
            let status = self.attitude.status();
            let turn = &status.turn;
            readiness.settled = turn.settled && status.doubts.believable();
            readiness.pointing_error_rad = turn.error_rad + turn.known_to_rad;
            readiness.rate_rad_s = turn.rate_rad_s;
        }
        self.ordnance.step(order, sensors.ordnance, flying, readiness)
    }

    fn fit_to_photograph(&self) -> bool {
        self.attitude.mode() == Mode::Fine && self.gas.allowed() && !self.gas.at_reserve()
    }

    /// Ledgers, flags and the telemetry snapshot.
    fn second(&mut self, sensors: &Sensors) {
        let tank = self.inputs.tank(sensors, &mut self.flags);
        let holding = matches!(self.attitude.mode(), Mode::Coarse | Mode::Fine);
        self.gas.second(&self.settings.jets, self.attitude.firing().used_us(), &tank, holding);
        if self.cycle.is_multiple_of(60 * TICKS_PER_S) {
            self.weigh();
        }
        let momentum = self.attitude.momentum();
        self.momentum.jets(&momentum.jets_nms);
        self.momentum.second(&momentum.body_nms, &momentum.disturbance_nm);
        let status = self.attitude.status();
        self.raise_flags(&status);
        self.telemetry = self.snapshot(sensors.tick, status);
    }

    /// Tells the attitude loop where film and gas have gone, by the metered film and the tank's gauges.
    fn weigh(&mut self) {
        let film = &self.settings.film;
        let metered_m = self.transport.status().metered_counts as f32 * film.count_m();
        let film_kg = film.film_kg_m * (metered_m - 0.5 * film.load_length_m);
        self.attitude.weigh(film_kg, self.gas.gone_kg());
    }

    fn raise_flags(&mut self, status: &crate::attitude::Status) {
        let film = self.transport.status();
        let [lost_a, lost_b]: [bool; BANKS] = status.bank_lost;
        let quiet_broken = status.quiet_broken > self.quiet_broken_before;
        let flags = &mut self.flags;
        flags.put(Flag::HorizonDistrusted, status.heading_known && !status.horizon_trusted);
        flags.put(Flag::EarthLost, matches!(status.mode, Mode::Search));
        flags.put(Flag::HeadingUnknown, !status.heading_known);
        flags.put(Flag::BankALost, lost_a);
        flags.put(Flag::BankBLost, lost_b);
        flags.put(Flag::GasGuard, !self.gas.allowed());
        flags.put(Flag::GasReserve, self.gas.at_reserve());
        flags.put(Flag::FilmStuck, matches!(film.fault, Some(Fault::Stuck | Fault::CounterDead | Fault::Gauges)));
        flags.put(Flag::FilmBroken, matches!(film.fault, Some(Fault::Broken | Fault::Empty)));
        flags.put(Flag::FilmLoop, matches!(film.fault, Some(Fault::Slack | Fault::Tight | Fault::Overrun)));
        flags.put(Flag::FilmRunaway, film.fault == Some(Fault::Runaway));
        flags.put(Flag::KickReversed, status.kick_reversed);
        flags.put(Flag::SpeedDoubtful, self.programme.speed_doubtful(&self.settings.camera));
        let ending = self.sequencer.status().ending;
        flags.put(Flag::CameraLimit, matches!(ending, Ending::TooLong | Ending::TooMuchFilm));
        flags.put(Flag::FilmEmpty, film.reserve_reached);
        flags.put(Flag::FilmImbalance, film.disagreement);
        flags.put(Flag::ShutterFault, self.sequencer.status().shutter_fault);
        flags.put(Flag::ClockJumped, self.programme.suspended());
        flags.put(Flag::LoadRefused, self.programme.last_refusal.is_some());
        flags.put(Flag::QuietBroken, quiet_broken);
        let doubts = &status.doubts;
        flags.put(Flag::GyroDoubtful, doubts.gyro);
        flags.put(Flag::YawDoubtful, doubts.yaw);
        flags.put(Flag::HorizonNoisy, doubts.horizon_noisy);
        flags.put(Flag::PulsesFrequent, doubts.pulses);
        flags.put(Flag::ThrustOdd, doubts.thrust);
        flags.put(Flag::GasTrend, self.gas.going_fast());
        flags.put(Flag::AttitudeDiverged, doubts.diverged);
    }

    fn snapshot(&self, tick: u32, attitude: crate::attitude::Status) -> Telemetry {
        let film = self.transport.status();
        let commanded = self.programme.commanded();
        Telemetry {
            tick,
            attitude,
            flags: self.flags,
            camera_commanded: commanded.camera_on,
            exposing: self.sequencer.status().phase == Phase::Exposing,
            speed_step: commanded.speed_step,
            film_speed_m_s: film.speed_m_s,
            film_metered_m: film.metered_counts as f32 * self.settings.film.count_m(),
            film_secured: film.state == film::State::Secured,
            frames: self.sequencer.status().frame,
            load_counter: self.programme.counter(),
            loads_refused: self.programme.refused,
            last_refusal: self.programme.last_refusal,
            gas_left_kg: self.gas.left_kg(),
            gas_used_kg: self.gas.used_kg(),
            gas_residual_kg: self.gas.residual_kg(),
            momentum_residual_nms: self.momentum.residual_nms,
            momentum_through_nms: self.momentum.through_nms,
            film_residual: film.residual,
            uplink: self.uplink(),
            ordnance: *self.ordnance.status(),
            computer: self.computer,
        }
    }

    fn uplink(&self) -> Uplink {
        Uplink {
            listen: self.contact.listen(),
            silent_s: self.contact.silent_s(),
            lost: self.contact.lost(),
            telecommands: self.telecommands,
            counts: self.programme.counts(),
            in_force: self.programme.in_force(),
            waiting: self.programme.waiting(),
            late: self.programme.late,
            clock_ahead_ticks: self.clock_ahead.cast_signed(),
        }
    }

    /// What a load is held against now, at on-board time `tick`; the ground may ask a copy of the vehicle the same.
    pub fn against(&self, tick: u32) -> Against {
        let camera = &self.settings.camera;
        let film = &self.settings.film;
        let commanded = self.programme.commanded();
        let metered_m = self.transport.status().metered_counts as f32 * film.count_m();
        let settle_ticks = (self.settings.observer.settle_s * TICKS_PER_S as f32) as u32;
        Against {
            tick,
            counter: None,
            speed: commanded.speed_step,
            hold: commanded.hold,
            secured: commanded.secure || self.transport.status().state == film::State::Secured,
            // Fine hold takes the gyrocompass its settling time at least.
            ready_tick: if self.captured {
                0
            } else {
                self.separated_tick.unwrap_or(tick).saturating_add(settle_ticks)
            },
            film: FilmLeft {
                left_m: film.load_length_m - film.reserve_length_m - metered_m,
                step_m_s: (camera.kind == 0).then_some(camera.speed_step_m_s),
                advance_m: camera.advance_length_m,
                cycle_ticks: camera.cycle_min_ticks.min(u32::from(u16::MAX)) as u16,
                lead_ticks: camera.lead_ticks,
            },
            longest_camera_s: camera.on_limit_ticks as f32 / TICKS_PER_S as f32,
            slits: EXPOSURE_SETTINGS,
            most_speed: camera.speed_step_max.min(u32::from(u16::MAX)) as u16,
        }
    }
}

/// Views for whoever drives the controller: the host's recorder, the board's telemetry.
impl Controller {
    /// The snapshot of the last whole second.
    pub fn telemetry(&self) -> &Telemetry {
        &self.telemetry
    }

    /// The frame that ended in the last step, if one did.
    pub fn frame(&self) -> Option<FrameMark> {
        self.frame
    }

    /// Attitude mode as of the last step.
    pub fn mode(&self) -> Mode {
        self.attitude.mode()
    }

    /// Attitude loop as of the last step.
    pub fn attitude(&self) -> crate::attitude::Status {
        self.attitude.status()
    }

    /// The attitude loop itself.
    pub fn attitude_loop(&self) -> &Attitude {
        &self.attitude
    }

    /// Where the centre of mass is by the vehicle's own account, m from where the settings have it.
    pub fn centre_m(&self) -> [f32; 3] {
        self.attitude.centre_m().into()
    }

    /// Film transport as of the last step.
    pub fn film(&self) -> &film::Status {
        self.transport.status()
    }

    /// Exposure sequence as of the last step.
    pub fn exposure(&self) -> &ExposureStatus {
        self.sequencer.status()
    }

    /// Image speed commanded now, or for the burst that is being prepared, in speed steps.
    pub fn commanded_speed_step(&self) -> u16 {
        self.programme.commanded().speed_step
    }

    /// Silence and receivers.
    pub fn contact(&self) -> &Contact {
        &self.contact
    }

    /// Hold asked for by the programme.
    pub fn wanted_hold(&self) -> Hold {
        self.programme.commanded().hold
    }

    /// Ordnance sequence as of the last step.
    pub fn ordnance(&self) -> &crate::ordnance::Status {
        self.ordnance.status()
    }

    /// Settings in force.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::{
        io::{FilmSample, TankSample},
        settings::tests::two_banks,
    };

    #[test]
    fn a_clock_that_stands_still_stops_neither_the_attitude_loop_nor_the_ledgers() {
        let mut controller = Controller::new(two_banks()).unwrap();
        let sensors = Sensors {
            tick: 51,
            gyro_rad_s: [0.0; 3],
            horizon: HorizonSample::default(),
            tank: TankSample::default(),
            film: FilmSample::default(),
            uplink: heapless::Vec::new(),
            separated: true,
            ordnance: crate::io::OrdnanceSample::default(),
        };
        for _ in 0..=TICKS_PER_S {
            controller.step(&sensors);
        }
        assert_eq!(controller.mode(), Mode::Damp);
        assert_eq!(controller.telemetry().tick, 51);
        assert!(controller.telemetry().flags.has(Flag::TankInvalid));
    }
}
