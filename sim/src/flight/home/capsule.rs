//! The capsule: its computer (the flight code's own), its circuit, and what its sensors meet on the way down.
//!
//! Between leaving and ignition the capsule is taken to be where the vehicle is: the springs part them by a metre a second,
//! 40 m by then. Spin keeps the thrust axis where it pointed as the capsule left.

use crate::{
    descent::{
        AtRetro, Model,
        dispersions::Off,
        fall::{End, Fall, What},
        integrate::Closeness,
        recovery::Timers,
    },
    plant::ordnance::{self, Around, Circuit},
    world::Vec3,
};
use stillframe_controller::{
    io::OrdnanceDrive,
    ordnance::{
        Event, OrdnanceSettings, Side, Status,
        capsule::{Capsule, CapsuleSensors},
        order::ORDER_BYTES,
    },
};

/// What is wrong with the capsule, apart from its circuit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CapsuleFaults {
    /// Spin reached, as a share of what is wanted, if not all of it.
    pub spin_share: Option<f64>,
    /// The deceleration switch is closed all the time.
    pub g_switch_closed: bool,
    /// The deceleration switch never closes.
    pub g_switch_dead: bool,
    /// The backup timer never runs out.
    pub timer_dead: bool,
    /// The umbilical's contact still says that it is closed.
    pub umbilical_stuck: bool,
}

/// Deceleration on the way down, for the switch.
#[derive(Clone, Copy, Debug)]
struct Deceleration {
    /// Times at which the switch closes and opens, s.
    from_s: f64,
    to_s: f64,
}

/// The capsule.
#[derive(Clone, Debug)]
pub struct CapsuleSide {
    computer: Capsule,
    /// Its circuit.
    pub circuit: Circuit,
    /// Faults in force.
    pub faults: CapsuleFaults,
    model: Model,
    backup_s: f64,
    acting: OrdnanceDrive,
    left_s: Option<f64>,
    axis: Vec3,
    spin_rad_s: f64,
    ignition: Option<AtRetro>,
    deceleration: Option<Deceleration>,
    fired_s: [Option<f64>; 8],
}

impl CapsuleSide {
    /// In the vehicle.
    ///
    /// `backup_s`: what the timer beside its processor was set to before launch, from its leaving.
    pub fn new(settings: OrdnanceSettings, model: Model, backup_s: f64) -> Self {
        let mut circuit = Circuit::new(Side::Capsule);
        circuit.around = Around { off_carrier: true, ..Around::default() };
        Self {
            backup_s,
            computer: Capsule::new(settings),
            circuit,
            faults: CapsuleFaults::default(),
            model,
            acting: OrdnanceDrive::REST,
            left_s: None,
            axis: Vec3::x(),
            spin_rad_s: 0.0,
            ignition: None,
            deceleration: None,
            fired_s: [None; 8],
        }
    }

    /// As its computer tells.
    pub fn status(&self) -> &Status {
        self.computer.status()
    }

    /// It has left the vehicle.
    pub fn left(&self) -> bool {
        self.left_s.is_some()
    }

    /// The vehicle lets go of it, its thrust axis along `axis`.
    pub fn leave(&mut self, time_s: f64, axis: Vec3) {
        self.left_s.get_or_insert(time_s);
        self.circuit.around.left = true;
        self.axis = axis;
    }

    /// State at ignition.
    pub fn ignition(&self) -> Option<&AtRetro> {
        self.ignition.as_ref()
    }

    /// Time at which an event fired, s.
    pub fn fired_s(&self, event: Event) -> Option<f64> {
        self.fired_s.get(usize::from(event.index())).copied().flatten()
    }

    /// One tick, with an order that its receiver brings; bits of the events that happen. `state` gives the inertial position and velocity
    /// here, and is asked for at ignition only.
    pub fn tick(&mut self, time_s: f64, order: Option<[u8; ORDER_BYTES]>, state: impl FnOnce() -> (Vec3, Vec3)) -> u8 {
        let happened = self.circuit.take(&self.acting);
        for event in ordnance::events(happened) {
            if let Some(place) = self.fired_s.get_mut(usize::from(event.index())) {
                *place = Some(time_s);
            }
        }
        if happened & Event::Spin.bit() != 0 {
            self.spin_rad_s = self.model.capsule.spin_rad_s * self.faults.spin_share.unwrap_or(1.0);
        }
        if happened & Event::RetroIgnition.bit() != 0 {
            let (position_m, velocity_m_s) = state();
            self.light(AtRetro { time_s, position_m, velocity_m_s, axis: self.axis, spin_rad_s: self.spin_rad_s });
        }
        if happened & Event::Despin.bit() != 0 {
            self.spin_rad_s = 0.0;
        }
        let sensors = self.sensors(time_s, order);
        self.acting = self.computer.step(&sensors);
        happened
    }

    fn sensors(&self, time_s: f64, order: Option<[u8; ORDER_BYTES]>) -> CapsuleSensors {
        CapsuleSensors {
            order,
            ordnance: self.circuit.sample(),
            off_vehicle: self.left(),
            umbilical_open: self.left() && !self.faults.umbilical_stuck,
            spin_rad_s: self.spin_rad_s as f32,
            g_switch: self.g_switch(time_s),
            timer_out: !self.faults.timer_dead && self.left_s.is_some_and(|left_s| time_s >= left_s + self.backup_s),
        }
    }

    fn g_switch(&self, time_s: f64) -> bool {
        let closed = self.deceleration.is_some_and(|d| (d.from_s..d.to_s).contains(&time_s));
        self.faults.g_switch_closed || closed && !self.faults.g_switch_dead
    }

    /// The motor burns: from here on the way down is known, canopies apart.
    fn light(&mut self, at: AtRetro) {
        self.ignition = Some(at);
        let bare = Timers { separation_s: self.model.plan.separation_s, ..Timers::default() };
        let fall = self.model.fall(&at, &Off::default(), &bare, Closeness::SHOWN, true);
        let level = self.model.plan.drogue.g_switch;
        let closes = fall.at(What::GSwitch).map(|moment| moment.at.t_s);
        self.deceleration = closes.map(|from_s| {
            let opens = fall.rows.iter().find(|row| row.at.t_s > from_s + 1.0 && row.g < level);
            Deceleration { from_s, to_s: opens.map_or(fall.last.at.t_s, |row| row.at.t_s) }
        });
    }

    /// The way down as it went: canopies when its computer fired them, dead where it did not.
    pub fn fall(&self) -> Option<Fall> {
        let at = self.ignition.as_ref()?;
        let after = |event| self.fired_s(event).map(|fired_s| fired_s - at.time_s);
        let timers = Timers {
            separation_s: 0.0,
            drogue_backup_s: after(Event::Drogue),
            main_backup_s: after(Event::Main),
            g_switch_dead: true,
            drogue_dead: after(Event::Drogue).is_none(),
            main_dead: after(Event::Main).is_none(),
            ..Timers::default()
        };
        let fall = self.model.fall(at, &Off::default(), &timers, Closeness::SHOWN, true);
        (fall.end == End::Down).then_some(fall)
    }
}
