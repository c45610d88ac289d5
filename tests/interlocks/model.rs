//! The sequencer with its circuit and everything that can be done to it, as a graph of states.
//!
//! The sequencer is the flight code's own, stepped one base tick at a time. What is kept beside it (`Witness`) is a
//! second account of what the ground has asked for, made without looking into the sequencer.

use crate::{
    circuit::{Circuit, Fall},
    stuck::{Faults, Part, events},
};
use stateright::{Model, Property};
use stillframe_controller::ordnance::{
    Event, Input, OrdnanceSettings, Sequencer, Side,
    order::{Arrival, Order},
    readiness::Readiness,
};

/// The token that the ground arms with, and another.
const TOKEN: u32 = 1;
const WRONG: u32 = 2;

/// What can happen.
#[derive(Clone, Copy, Debug, Eq, Hash, PartialEq)]
pub enum Action {
    /// A base tick with what came by radio and the readings of the moment.
    Tick(Option<Arrival>, Moment),
    /// The carrier lets the vehicle go.
    Launch,
    /// The receiver's own decoder throws the recovery battery's switch.
    Battery(bool),
    /// The capsule leaves the vehicle.
    Leave,
    /// The processor is reset.
    Reset,
}

/// Readings of the moment.
#[derive(Clone, Copy, Debug, Eq, Hash, PartialEq)]
pub enum Moment {
    /// All as it should be.
    Good,
    /// Attitude or rates, or in the capsule the spin, outside the limits.
    Unsteady,
    /// Film not sealed.
    Unsealed,
    /// The capsule is not armed.
    Unarmed,
}

/// What the ground has asked for, by the witness's account.
#[derive(Clone, Copy, Debug, Default, Eq, Hash, PartialEq)]
pub struct Witness {
    /// Ticks since an offer to arm.
    offered: Option<u32>,
    /// Ticks since the echo came back right; counted no further once the capsule has left.
    armed: Option<u32>,
    /// Events asked for, a bit each; in the capsule the leaving counts as asking for all.
    asked: u8,
    running: bool,
    aborted: bool,
    /// Items whose lines were closed: they have had their turn, whether they fired or not.
    turns: u8,
}

/// Rules, as bits of what was broken in the last action.
pub mod rule {
    /// Current on the pad.
    pub const PAD: u8 = 1;
    /// Current though an inhibit was in place, or was not removed by what should remove it.
    pub const INHIBITS: u8 = 2;
    /// Current out of order.
    pub const ORDER: u8 = 4;
    /// Current after an abort.
    pub const ABORT: u8 = 8;
    /// Drogue outside its box, with at most one part stuck.
    pub const BOX: u8 = 16;
    /// All of them.
    pub const ALL: [(u8, &str); 5] = [
        (PAD, "no current on the pad"),
        (INHIBITS, "no current unless every inhibit that does not stick was removed by what should remove it"),
        (ORDER, "no current out of order"),
        (ABORT, "no current after an abort"),
        (BOX, "no drogue outside its box, with at most one part stuck"),
    ];
}

/// A state.
#[derive(Clone, Copy, Debug, Eq, Hash, PartialEq)]
pub struct State<const PLANTED: bool> {
    /// Parts that stick.
    pub faults: Faults,
    /// The flight code.
    pub sequencer: Sequencer<PLANTED>,
    /// Circuit and surroundings.
    pub circuit: Circuit,
    /// What the ground has asked for.
    pub witness: Witness,
    /// Rules broken in the action that led here.
    pub broken: u8,
}

impl<const PLANTED: bool> State<PLANTED> {
    /// An abort was carried out.
    pub fn aborted(&self) -> bool {
        self.witness.aborted || self.sequencer.aborted()
    }
}

/// The graph.
#[derive(Clone)]
pub struct Graph<const PLANTED: bool> {
    /// Vehicle or capsule.
    pub side: Side,
    /// Lives and times, of few ticks.
    pub settings: OrdnanceSettings,
    /// The way down.
    pub fall: Fall,
    /// Where it begins: on the pad, with these parts stuck.
    pub faults: Vec<Faults>,
    /// A sequencer as it wakes.
    pub wake: fn(Side) -> Sequencer<PLANTED>,
}

/// Lives and times of few ticks: the code compares its counts with them and with zero, and nothing else, so that few
/// ticks show every order in which they can run out.
pub fn few_ticks(fall: &Fall) -> OrdnanceSettings {
    OrdnanceSettings {
        confirm_life_ticks: 1,
        arm_life_ticks: 8,
        capsule_arm_life_ticks: 2,
        wave_off_ticks: 3,
        pulse_ticks: 1,
        show_ticks: 1,
        window_ticks: 1,
        spin_delay_ticks: 1,
        retro_delay_ticks: 1,
        despin_delay_ticks: 1,
        release_delay_ticks: 1,
        g_open_ticks: 1,
        g_hold_ticks: 1,
        drogue_ticks: u32::from(fall.box_from),
        main_delay_ticks: 1,
        ..OrdnanceSettings::default()
    }
}

impl<const PLANTED: bool> Graph<PLANTED> {
    /// The state in which it begins: on the pad, the computer awake.
    pub fn pad(&self, faults: Faults) -> State<PLANTED> {
        let mut state = State {
            faults,
            sequencer: (self.wake)(self.side),
            circuit: Circuit::default(),
            witness: Witness::default(),
            broken: 0,
        };
        self.tick(&mut state, None, Moment::Good);
        state
    }

    /// Inhibits in place in the tick after a state, as the sequencer tells them.
    pub fn inhibits(&self, state: &State<PLANTED>) -> u8 {
        state.sequencer.inhibits(&self.settings, &self.input(state, None, Moment::Good))
    }

    /// Everything of this side has fired.
    pub fn home(&self, state: &State<PLANTED>) -> bool {
        state.circuit.fired & self.side.events() == self.side.events()
    }

    fn arrivals(&self) -> Vec<Option<Arrival>> {
        let mut orders =
            vec![Order::Arm(TOKEN), Order::Confirm(TOKEN), Order::Confirm(WRONG), Order::Safe, Order::Abort];
        orders.extend(events(self.side).map(|event| Order::Go(event, TOKEN)));
        orders.extend(events(self.side).take(1).map(|event| Order::Go(event, WRONG)));
        let foreign = if self.side == Side::Vehicle { Event::Spin } else { Event::CoverRelease };
        orders.push(Order::Go(foreign, TOKEN));
        let mut arrivals = vec![None, Some(Arrival::Garbled)];
        arrivals.extend(orders.into_iter().map(|order| Some(Arrival::Order(order))));
        arrivals
    }

    /// Readings beside an order. They matter where something may fire in the same tick: with a go of the vehicle, or
    /// with no order, while an event is under way. Every other order disarms or leaves what is under way as it is; a
    /// capsule's go waits for a tick at least.
    fn moments(&self, arrival: Option<Arrival>) -> &'static [Moment] {
        match (self.side, arrival) {
            (Side::Vehicle, None | Some(Arrival::Order(Order::Go(..)))) => {
                &[Moment::Good, Moment::Unsteady, Moment::Unsealed, Moment::Unarmed]
            }
            (Side::Capsule, None) => &[Moment::Good, Moment::Unsteady],
            _ => &[Moment::Good],
        }
    }

    fn input(&self, state: &State<PLANTED>, arrival: Option<Arrival>, moment: Moment) -> Input {
        let (faults, circuit) = (&state.faults, &state.circuit);
        let vehicle = self.side == Side::Vehicle;
        let steady = faults.of(Part::Attitude, moment != Moment::Unsteady && circuit.flown);
        let spins = faults.of(Part::Spin, moment != Moment::Unsteady);
        let sample = circuit.sample(faults, vehicle && moment != Moment::Unarmed);
        Input {
            arrival,
            sample,
            left: faults.of(Part::Left, if vehicle { circuit.flown } else { circuit.left }),
            apart: vehicle || faults.of(Part::Umbilical, circuit.left),
            readiness: Readiness {
                film_sealed: faults.of(Part::Film, moment != Moment::Unsealed),
                settled: steady,
                pointing_error_rad: if steady { 0.01 } else { 0.1 },
                rate_rad_s: 0.0,
                capsule_armed: sample.capsule_armed,
                spin_rad_s: if spins { std::f32::consts::TAU } else { 3.0 },
                g_switch: circuit.deceleration(faults, &self.fall),
                timer_out: circuit.timer(faults, &self.fall),
            },
        }
    }

    fn tick(&self, state: &mut State<PLANTED>, arrival: Option<Arrival>, moment: Moment) {
        let input = self.input(state, arrival, moment);
        let (drive, _) = state.sequencer.step(&self.settings, &input);
        self.witness(state, arrival);
        // Whatever made it let the relay go: from then on new orders are wanted.
        if !drive.arm() {
            (state.witness.armed, state.witness.running) = (None, false);
        }
        state.witness.turns |= drive.lines();
        if drive.lines() == 0 {
            state.witness.asked = 0;
        }
        state.circuit.drive(&drive);
        self.flow(state, moment);
        state.circuit.fall(&self.fall);
    }

    /// The second account.
    fn witness(&self, state: &mut State<PLANTED>, arrival: Option<Arrival>) {
        let settings = &self.settings;
        let life_ticks = match self.side {
            Side::Vehicle => settings.arm_life_ticks,
            Side::Capsule => settings.capsule_arm_life_ticks,
        };
        let witness = &mut state.witness;
        let bound = self.side == Side::Capsule && witness.running;
        let older = |age: Option<u32>, life: u32| age.map(|age| age + 1).filter(|age| *age <= life);
        witness.offered = older(witness.offered, settings.confirm_life_ticks);
        if !bound {
            witness.armed = older(witness.armed, life_ticks);
        }
        let Some(Arrival::Order(order)) = arrival else { return };
        match order {
            // Taken to be offered even where the sequencer refuses: then its relay shows that it did.
            Order::Arm(_) => witness.offered = Some(0),
            Order::Confirm(token) => {
                let right = token == TOKEN && witness.offered.take().is_some();
                (witness.armed, witness.running) = (right.then_some(0), false);
            }
            Order::Safe => {
                (witness.offered, witness.armed, witness.running) = (None, None, false);
            }
            Order::Abort => {
                // Once the motor is lit there is nothing left to call off.
                if state.circuit.fired & Event::RetroIgnition.bit() == 0 {
                    witness.aborted = true;
                    (witness.offered, witness.armed, witness.running) = (None, None, false);
                }
            }
            Order::Go(event, token) if token == TOKEN && witness.armed.is_some() => {
                // Everything before has had its turn; what has had its own may be asked for again.
                let mine = event.before() & self.side.events();
                let turned = state.circuit.fired | witness.turns;
                let next = turned & mine == mine && event.bit() & self.side.events() != 0;
                if self.side == Side::Vehicle {
                    witness.asked |= if next { event.bit() } else { 0 };
                } else {
                    witness.running |= next;
                }
            }
            Order::Go(..) => {}
        }
    }

    /// Current flows, and is judged.
    fn flow(&self, state: &mut State<PLANTED>, moment: Moment) {
        let before = state.circuit.fired;
        let through = state.circuit.current(&state.faults, self.side);
        for event in Event::ALL.into_iter().filter(|event| through & event.bit() != 0) {
            if before & event.bit() == 0 {
                state.broken |= self.judge(state, event, before, moment);
            }
        }
    }

    fn judge(&self, state: &State<PLANTED>, event: Event, before: u8, moment: Moment) -> u8 {
        let State { faults, circuit, witness, .. } = state;
        let mut broken = 0;
        let mut need = |so: bool, rule: u8| broken |= if so { 0 } else { rule };
        need(circuit.flown, rule::PAD);
        // Contacts.
        need(circuit.flown || faults.on(Part::Carrier), rule::INHIBITS);
        need(self.side == Side::Vehicle || circuit.left || faults.on(Part::Left), rule::INHIBITS);
        need(self.side == Side::Vehicle || circuit.left || faults.on(Part::Umbilical), rule::INHIBITS);
        // Battery.
        need(circuit.battery || faults.on(Part::Battery), rule::INHIBITS);
        // Two orders with an echo, whatever the relay does.
        need(witness.armed.is_some(), rule::INHIBITS);
        // Asked for.
        let asked = match self.side {
            Side::Vehicle => witness.asked & event.bit() != 0,
            Side::Capsule => witness.running,
        };
        need(asked, rule::INHIBITS);
        // The moment.
        let steady = moment != Moment::Unsteady;
        let right = match event {
            Event::CoverRelease => self.vehicle_ready(faults, moment, false),
            Event::CapsuleSeparation => self.vehicle_ready(faults, moment, true),
            Event::RetroIgnition => steady || faults.on(Part::Spin),
            _ => true,
        };
        need(right, rule::INHIBITS);
        // Order: everything before has fired, or past the return has had its turn.
        let mine = event.before() & self.side.events();
        let to_retro = mine & Event::Despin.before();
        need(before & to_retro == to_retro, rule::ORDER);
        need((before | witness.turns) & mine == mine, rule::ORDER);
        need(!witness.aborted, rule::ABORT);
        if event == Event::Drogue && faults.number() < 2 {
            need(circuit.age >= self.fall.box_from, rule::BOX);
        }
        broken
    }

    fn vehicle_ready(&self, faults: &Faults, moment: Moment, capsule: bool) -> bool {
        (moment != Moment::Unsteady || faults.on(Part::Attitude))
            && (moment != Moment::Unsealed || faults.on(Part::Film))
            && (!capsule || moment != Moment::Unarmed || faults.on(Part::CapsuleArmed))
    }
}

impl<const PLANTED: bool> Model for Graph<PLANTED> {
    type State = State<PLANTED>;
    type Action = Action;

    fn init_states(&self) -> Vec<Self::State> {
        self.faults.iter().map(|faults| self.pad(*faults)).collect()
    }

    fn actions(&self, state: &Self::State, actions: &mut Vec<Action>) {
        // When all has fired nothing is left that could.
        if self.home(state) {
            return;
        }
        let circuit = &state.circuit;
        for arrival in self.arrivals() {
            actions.extend(self.moments(arrival).iter().map(|moment| Action::Tick(arrival, *moment)));
        }
        if !circuit.flown {
            actions.push(Action::Launch);
        }
        if self.side == Side::Capsule && circuit.flown && !circuit.left {
            actions.push(Action::Leave);
        }
        actions.extend([Action::Battery(!circuit.battery), Action::Reset]);
    }

    fn next_state(&self, last: &Self::State, action: Action) -> Option<Self::State> {
        let mut state = *last;
        state.broken = 0;
        match action {
            Action::Tick(arrival, moment) => self.tick(&mut state, arrival, moment),
            Action::Launch => state.circuit.flown = true,
            Action::Battery(on) => state.circuit.battery = on,
            Action::Leave => {
                state.circuit.left = true;
                state.witness.running |= state.witness.armed.is_some();
            }
            Action::Reset => {
                state.sequencer = (self.wake)(self.side);
                state.circuit.reset();
                let witness = &mut state.witness;
                (witness.offered, witness.armed, witness.asked, witness.running) = (None, None, 0, false);
            }
        }
        if !matches!(action, Action::Tick(..)) {
            self.flow(&mut state, Moment::Good);
        }
        Some(state)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        let mut properties = vec![
            Property::always(rule::ALL[0].1, |_, state: &State<PLANTED>| state.broken & rule::PAD == 0),
            Property::always(rule::ALL[1].1, |_, state: &State<PLANTED>| state.broken & rule::INHIBITS == 0),
            Property::always(rule::ALL[2].1, |_, state: &State<PLANTED>| state.broken & rule::ORDER == 0),
            Property::always(rule::ALL[3].1, |_, state: &State<PLANTED>| state.broken & rule::ABORT == 0),
        ];
        if self.side == Side::Capsule {
            properties
                .push(Property::always(rule::ALL[4].1, |_, state: &State<PLANTED>| state.broken & rule::BOX == 0));
        }
        properties
    }
}
