//! One tick of the closed loop.

use super::{computer::Computer, home::Home, link::Link, stray_orders::StrayOrders};
use crate::{
    imaging::sample::TruthSample,
    plant::{
        Plant, PlantError,
        faults::{Change, FaultSchedule},
        film::shutter::OpenIntervals,
    },
};
use stillframe_controller::{
    Controller,
    io::{Actuators, Sensors},
};

/// Plant, controller, link and faults, tick by tick.
#[derive(Clone, Debug)]
pub struct ClosedLoop {
    /// What really happens.
    pub plant: Plant,
    /// The flight code.
    pub controller: Controller,
    /// Stations and what they have heard.
    pub link: Link,
    /// The way home, if the run has one.
    pub home: Option<Home>,
    faults: FaultSchedule,
    stray: StrayOrders,
    /// The computer, in runs in which it fails.
    computer: Option<Computer>,
    /// Commands that take effect in the coming tick.
    pending: Actuators,
    /// Faults that began or ended in the last tick.
    pub changes: Vec<Change>,
    digest: Digest,
}

/// What one tick brought.
pub struct TickOutcome {
    /// Stretches of the tick in which the shutter was open.
    pub open: OpenIntervals,
    /// What the controller asked for; it acts in the next tick.
    pub commanded: Actuators,
}

impl ClosedLoop {
    /// A loop at the start of its run.
    pub fn new(plant: Plant, controller: Controller, link: Link, faults: FaultSchedule) -> Self {
        let computer = Computer::of(&faults);
        Self {
            plant,
            controller,
            link,
            home: None,
            faults,
            stray: StrayOrders::default(),
            computer,
            pending: Actuators::SAFE,
            changes: Vec::new(),
            digest: Digest::new(),
        }
    }

    /// The same with a way home.
    pub fn with_home(self, home: Option<Home>) -> Self {
        Self { home, ..self }
    }

    /// Time of the coming tick's start, s.
    pub fn time_s(&self) -> f64 {
        self.plant.ticks() as f64 * crate::plant::TICK_S
    }

    /// Commands that take effect in the coming tick.
    pub fn pending(&self) -> &Actuators {
        &self.pending
    }

    /// Goes through one tick. `watch` gets the truth at every one of `instants_s` inside it.
    ///
    /// # Errors
    /// If the plant cannot go on.
    pub fn tick(
        &mut self,
        instants_s: &[f64],
        watch: &mut impl FnMut(usize, TruthSample),
    ) -> Result<TickOutcome, PlantError> {
        let sensors = self.sense();
        let commanded = self.interrupted().unwrap_or_else(|| self.controller.step(&sensors));
        self.act(&sensors, commanded, instants_s, watch)
    }

    /// First half of a tick: what the sensors say at its boundary.
    pub fn sense(&mut self) -> Sensors {
        let time_s = self.time_s();
        self.changes.clear();
        self.faults.apply(time_s, &mut self.plant, &mut self.changes);
        self.plant.switch_ordnance(&self.pending);
        let mut uplink = self.link.uplink(time_s, self.pending.listen, &self.faults);
        if uplink.is_empty() {
            uplink = self.stray.uplink(&self.faults);
        }
        self.plant.sensors(&uplink)
    }

    /// What comes out of the computer in place of the flight code's answer, if a fault keeps it from giving one.
    pub fn interrupted(&mut self) -> Option<Actuators> {
        let computer = self.computer.as_mut()?;
        computer.interrupt(&mut self.controller, &self.plant, &self.pending, &self.faults)
    }

    /// Second half of a tick: the plant moves, and what a controller made of `sensors` waits for the next tick.
    ///
    /// # Errors
    /// If the plant cannot go on.
    pub fn act(
        &mut self,
        sensors: &Sensors,
        commanded: Actuators,
        instants_s: &[f64],
        watch: &mut impl FnMut(usize, TruthSample),
    ) -> Result<TickOutcome, PlantError> {
        let time_s = self.time_s();
        let open = self.plant.tick(&self.pending, instants_s, watch)?;
        self.digest.take(sensors, &commanded);
        // A computer that is starting sends nothing.
        if !self.computer.as_ref().is_some_and(Computer::down) {
            self.link.listen(time_s, &self.controller, &mut self.plant, &self.faults);
        }
        if let Some(home) = &mut self.home {
            if !self.changes.is_empty() {
                home.suffer(&self.faults, &self.plant);
            }
            home.tick(&self.controller, &mut self.plant, &mut self.link);
        }
        self.pending = commanded.clone();
        Ok(TickOutcome { open, commanded })
    }

    /// Digest of everything the controller put out: equal runs have equal digests.
    pub fn output_digest(&self) -> u64 {
        self.digest.value
    }
}

/// FNV-1a over the controller's valve edges, film duties and shutter edges (G. Fowler, L. Noll, K.-P. Vo).
#[derive(Clone, Debug)]
struct Digest {
    value: u64,
}

impl Digest {
    fn new() -> Self {
        Self { value: 0xcbf2_9ce4_8422_2325 }
    }

    fn take(&mut self, sensors: &Sensors, commanded: &Actuators) {
        if commanded.film == stillframe_controller::io::FilmDrive::REST
            && commanded.jets.iter().all(|edge| edge.open_us.is_none() && edge.close_us.is_none())
        {
            return;
        }
        self.word(sensors.tick);
        for edge in &commanded.jets {
            self.word(u32::from(edge.open_us.unwrap_or(u16::MAX)) << 16 | u32::from(edge.close_us.unwrap_or(u16::MAX)));
        }
        let film = &commanded.film;
        for duty in [film.roller_duty, film.supply_duty, film.take_up_duty] {
            self.word(duty.to_bits());
        }
        let shutter = commanded.shutter;
        self.word(
            u32::from(shutter.open_us.unwrap_or(u16::MAX)) << 16 | u32::from(shutter.close_us.unwrap_or(u16::MAX)),
        );
    }

    fn word(&mut self, word: u32) {
        self.value = (self.value ^ u64::from(word)).wrapping_mul(0x0000_0100_0000_01b3);
    }
}
