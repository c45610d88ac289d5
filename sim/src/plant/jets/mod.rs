//! Gas jets: valves with delays, thrust that rises and decays, edges at exact times, faults.
//!
//! - [`built`]: a jet as drawn, and as the workshop made it;
//! - `valve`: commands become openings and closings;
//! - [`feed`]: regulator or blowdown, latch valves, lines;
//! - [`plenum`]: filling and emptying between valve and throat;
//! - [`thrust`]: what all of it does to the vehicle over a stretch of time.
//!
//! [`Jets::tick`] plans a tick: which seats begin and cease to pass gas, and which latches move, when. The plant cuts
//! its steps there and tells each event back ([`Jets::apply`]); between two events everything is an exponential, taken
//! in closed form over steps of any length ([`Jets::advance`]).

pub mod built;
pub mod feed;
pub mod plenum;
pub mod thrust;
mod valve;

pub use built::{JetParameters, Workmanship};
pub use feed::{Feed, FeedParameters, Scheme};
pub use thrust::Push;

use self::valve::{TICK_S, Valve};
use stillframe_controller::io::{BANKS, Edges, MAX_JETS};

pub use crate::nitrogen::nozzle::G0_M_S2;

/// What is wrong with a jet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum JetFault {
    /// Valve never opens.
    StuckClosed,
    /// Valve never shuts.
    StuckOpen,
    /// Thrust times this share.
    Thrust(f64),
}

/// A change of some jet's flow inside a tick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowEdge {
    /// Time from the tick's start, s.
    pub at_s: f64,
    /// Which jet.
    pub jet: usize,
    /// On or off.
    pub on: bool,
}

/// Something that happens inside a tick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// A seat begins or ceases to pass gas.
    Seat(FlowEdge),
    /// A latch valve moves.
    Latch {
        /// Time from the tick's start, s.
        at_s: f64,
        /// Which bank's.
        bank: usize,
        /// Opens or shuts.
        open: bool,
    },
}

impl Event {
    /// Time from the tick's start, s.
    pub fn at_s(&self) -> f64 {
        match *self {
            Self::Seat(FlowEdge { at_s, .. }) | Self::Latch { at_s, .. } => at_s,
        }
    }

    /// The flow edge, if it is one.
    pub fn edge(&self) -> Option<FlowEdge> {
        if let Self::Seat(edge) = self { Some(*edge) } else { None }
    }
}

/// A move that a tick brings: a latch (first) or a valve.
#[derive(Clone, Copy, Debug)]
enum Move {
    Latch(usize, bool),
    Valve(usize, bool),
}

/// A latch valve's planned state.
#[derive(Clone, Copy, Debug, Default)]
struct Latch {
    moves_in_s: Option<f64>,
    open: bool,
}

/// All jets of the vehicle.
#[derive(Clone, Debug)]
pub struct Jets {
    parameters: Vec<JetParameters>,
    valves: Vec<Valve>,
    /// Where each valve stands, and whether its seat will pass gas, as planned to the end of the present tick.
    open: Vec<bool>,
    planned: u32,
    /// Where the latches were last told to stand.
    told: [bool; BANKS],
    latches: [Latch; BANKS],
    moves: Vec<(f64, Move)>,
    active: bool,
    feed: Feed,
    /// Seats that pass gas at the body's own time, and each plenum's pressure as a share of the rated.
    flowing: u32,
    plenums: Vec<f64>,
    /// Whether gas moves anywhere.
    live: bool,
    /// Temperature of the gas, K.
    temperature_k: f64,
    on_time_s: Vec<f64>,
    impulse_ns: Vec<f64>,
}

impl Jets {
    /// All shut.
    pub fn new(parameters: Vec<JetParameters>, feed: FeedParameters) -> Self {
        let count = parameters.len();
        Self {
            valves: parameters.iter().enumerate().map(|(command, built)| Valve::new(built, command)).collect(),
            open: vec![false; count],
            planned: 0,
            told: [false; BANKS],
            latches: [Latch::default(); BANKS],
            moves: Vec::new(),
            active: false,
            temperature_k: feed.temperature_k,
            feed: Feed::new(feed),
            flowing: 0,
            plenums: vec![0.0; count],
            live: false,
            on_time_s: vec![0.0; count],
            impulse_ns: vec![0.0; count],
            parameters,
        }
    }

    /// The jets as built.
    pub fn parameters(&self) -> &[JetParameters] {
        &self.parameters
    }

    /// Regulator, latches and lines.
    pub fn feed(&self) -> &Feed {
        &self.feed
    }

    /// Sets or clears a fault.
    pub fn set_fault(&mut self, jet: usize, fault: Option<JetFault>) {
        if let Some(valve) = self.valves.get_mut(jet) {
            valve.fault = fault;
            self.active = true;
        }
    }

    /// Crosses the wires of two jets; done again, it sets them right.
    pub fn cross_wires(&mut self, one: usize, other: usize) {
        if one != other && one.max(other) < self.valves.len() {
            let command = self.valves[one].command;
            self.valves[one].command = self.valves[other].command;
            self.valves[other].command = command;
        }
    }

    /// Makes a valve open and shut later than built, s.
    pub fn set_late(&mut self, jet: usize, late_s: [f64; 2]) {
        if let Some(valve) = self.valves.get_mut(jet) {
            valve.late_s = late_s;
        }
    }

    /// Multiplies the regulator's set point by `share`.
    pub fn set_pressure_share(&mut self, share: f64) {
        self.feed.set_off(share);
        self.live = true;
    }

    /// Tells what stands behind the feed: the tank's pressure, Pa, and the gas's temperature, K.
    pub fn set_supply(&mut self, pressure_pa: f64, temperature_k: f64) {
        self.feed.set_supply(pressure_pa);
        self.temperature_k = temperature_k;
    }

    /// Takes the commands of one tick and gives what happens in it, in order of time.
    pub fn tick(&mut self, commands: &[Edges; MAX_JETS], latch_open: [bool; BANKS], events: &mut Vec<Event>) {
        events.clear();
        let commanded = commands.iter().any(|edge| *edge != Edges::NONE);
        if !self.active && !commanded && self.told == latch_open {
            return;
        }
        self.active = false;
        let mut moves = std::mem::take(&mut self.moves);
        moves.clear();
        self.latch_moves(latch_open, &mut moves);
        for (jet, (valve, built)) in self.valves.iter_mut().zip(&self.parameters).enumerate() {
            let command = commands.get(valve.command).copied().unwrap_or(Edges::NONE);
            valve.tick(command, built, |at_s, open| moves.push((at_s, Move::Valve(jet, open))));
            self.active |= valve.busy();
        }
        // Stable: what falls together keeps its order, latches first.
        moves.sort_by(|a, b| a.0.total_cmp(&b.0));
        // A fault that came or went, or a line that has run empty, acts at the tick's start.
        self.plan(0.0, events);
        for &(at_s, moved) in &moves {
            match moved {
                Move::Latch(bank, open) => {
                    self.latches[bank].open = open;
                    events.push(Event::Latch { at_s, bank, open });
                }
                Move::Valve(jet, open) => self.open[jet] = open,
            }
            self.plan(at_s, events);
        }
        self.moves = moves;
    }

    /// Latches that are told to move do so after their delay.
    fn latch_moves(&mut self, wanted: [bool; BANKS], moves: &mut Vec<(f64, Move)>) {
        for (bank, latch) in self.latches.iter_mut().enumerate() {
            if self.told[bank] != wanted[bank] {
                self.told[bank] = wanted[bank];
                latch.moves_in_s = Some(self.feed.parameters().latch_delay_s);
            }
            if let Some(in_s) = latch.moves_in_s {
                if in_s < TICK_S {
                    moves.push((in_s, Move::Latch(bank, wanted[bank])));
                }
                latch.moves_in_s = (in_s >= TICK_S).then_some(in_s - TICK_S);
                self.active |= latch.moves_in_s.is_some();
            }
        }
    }

    /// Finds which seats pass gas as valves and latches now stand, and gives those that changed.
    fn plan(&mut self, at_s: f64, events: &mut Vec<Event>) {
        for jet in 0..self.valves.len() {
            let bank = self.parameters[jet].bank;
            let gas = self.latches[bank].open || (self.feed.parameters().line_kg > 0.0 && self.feed.share(bank) > 0.0);
            let on = gas && self.valves[jet].passes(self.open[jet]);
            if on != (self.planned & (1 << jet) != 0) {
                self.planned ^= 1 << jet;
                events.push(Event::Seat(FlowEdge { at_s, jet, on }));
            }
        }
    }

    /// Lets an event of the plan happen.
    pub fn apply(&mut self, event: &Event) {
        self.live = true;
        match *event {
            Event::Seat(FlowEdge { jet, on, .. }) => {
                self.flowing = if on { self.flowing | 1 << jet } else { self.flowing & !(1 << jet) }
            }
            Event::Latch { bank, open, .. } => self.feed.set_latch(bank, open),
        }
    }

    /// Bit mask of the jets whose valves pass gas at the body's own time.
    pub fn flowing(&self) -> u32 {
        self.flowing
    }

    /// Whether gas moves anywhere between tank and nozzles; if not, [`Jets::advance`] has nothing to do.
    #[inline]
    pub fn live(&self) -> bool {
        self.live
    }

    /// Time for which each jet's valve has passed gas so far, s.
    pub fn on_times_s(&self) -> impl Iterator<Item = f64> + '_ {
        self.on_time_s.iter().copied()
    }

    /// Impulse that each jet's gas has taken along so far, N·s.
    pub fn impulses_ns(&self) -> &[f64] {
        &self.impulse_ns
    }
}

#[cfg(test)]
mod tests;
