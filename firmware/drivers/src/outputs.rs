//! What the flight code asks for, put on the lines in a safe order, and what was put there.

use crate::{
    edges::{Edge, EdgeTimer, MAX_EDGES, Plan},
    film::{DriveError, Film, Motor},
    line::Line,
};
use embedded_hal::{digital::OutputPin, pwm::SetDutyCycle};
use heapless::Vec;
use stillframe_controller::io::{Actuators, BANKS, FilmDrive, MAX_JETS};

/// Lines in all, numbered in the order of [`Pins`].
pub const LINES: usize = MAX_JETS + BANKS + 9;

/// The pins of a board, by what hangs on them. High opens, releases or switches on.
#[derive(Debug)]
pub struct Pins<P, M> {
    /// Valves of the jets: lines 0 to 15.
    pub valves: [P; MAX_JETS],
    /// Latch valves of the banks: lines 16 and 17.
    pub latches: [P; BANKS],
    /// Shutter: line 18.
    pub shutter: P,
    /// Slit or exposure setting, two bits: lines 19 and 20.
    pub slit: [P; 2],
    /// Transmitter: line 21.
    pub transmit: P,
    /// Brakes off: line 22.
    pub brake_off: P,
    /// Clamp off: line 23.
    pub clamp_off: P,
    /// Motors backwards, roller, supply and take-up: lines 24 to 26.
    pub reverse: [P; 3],
    /// Arming relay, firing lines and commit switch: no lines, on any board that is driven from here. The type has room
    /// for none, so that a bench, whoever drives it, can never reach a live item.
    pub ordnance: [P; 0],
    /// Duty of roller, supply and take-up motor and of the platen.
    pub duties: [M; 4],
}

/// An edge as it was put on its line.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub struct DoneEdge {
    /// What was asked for.
    pub asked: Edge,
    /// When it was done, µs after the tick's beginning.
    pub done_us: u16,
}

/// Levels as last written, and the edges of the last tick.
#[derive(Clone, Debug, Default)]
pub struct Echo {
    /// Levels, one bit for each line in the order of [`Pins`].
    pub levels: u32,
    /// Duties of roller, supply and take-up motor and of the platen, in counts.
    pub duties: [u16; 4],
    /// Counts that are the whole of the supply voltage.
    pub duty_most: u16,
    /// Edges done since the last tick's beginning.
    pub edges: Vec<DoneEdge, MAX_EDGES>,
    /// Ticks put out since the start; wraps.
    pub ticks: u32,
}

type Error<P, M> =
    DriveError<<P as embedded_hal::digital::ErrorType>::Error, <M as embedded_hal::pwm::ErrorType>::Error>;

/// All outputs of a board.
#[derive(Debug)]
pub struct Outputs<P, M, T> {
    valves: [Line<P>; MAX_JETS],
    latches: [Line<P>; BANKS],
    shutter: Line<P>,
    slit: [Line<P>; 2],
    transmit: Line<P>,
    film: Film<P, M>,
    timer: T,
    plan: Plan,
    done: Vec<DoneEdge, MAX_EDGES>,
    ticks: u32,
}

impl<P: OutputPin, M: SetDutyCycle, T: EdgeTimer> Outputs<P, M, T> {
    /// Takes over the pins and makes everything safe, as [`Outputs::safe`].
    ///
    /// # Errors
    /// The first pin that could not be written.
    pub fn new(pins: Pins<P, M>, timer: T) -> Result<Self, Error<P, M>> {
        let [roller, supply, take_up, platen] = pins.duties;
        let [roller_back, supply_back, take_up_back] = pins.reverse;
        let [] = pins.ordnance;
        let motors =
            [Motor::new(roller, roller_back), Motor::new(supply, supply_back), Motor::new(take_up, take_up_back)];
        let mut outputs = Self {
            valves: pins.valves.map(Line::new),
            latches: pins.latches.map(Line::new),
            shutter: Line::new(pins.shutter),
            slit: pins.slit.map(Line::new),
            transmit: Line::new(pins.transmit),
            film: Film::new(motors, platen, Line::new(pins.brake_off), Line::new(pins.clamp_off)),
            timer,
            plan: Plan::new(),
            done: Vec::new(),
            ticks: 0,
        };
        outputs.safe()?;
        Ok(outputs)
    }

    /// A tick begins: what is asked for takes effect now, edges at their times.
    ///
    /// Edges of the tick before that have not come are done first. Of what has no edges, everything that goes safe
    /// goes before anything that does not.
    ///
    /// # Errors
    /// The first output that could not be written; the rest is left as it was.
    pub fn tick(&mut self, actuators: &Actuators) -> Result<(), Error<P, M>> {
        self.timer.disarm();
        self.run_until(u16::MAX)?;
        self.plan = Plan::of(actuators);
        self.done.clear();
        self.ticks = self.ticks.wrapping_add(1);
        for pass in [false, true] {
            for (latch, &open) in self.latches.iter_mut().zip(&actuators.latch_open) {
                if open == pass {
                    latch.set(open).map_err(DriveError::Pin)?;
                }
            }
            if actuators.film.brake != pass {
                self.film.set(&actuators.film)?;
            }
        }
        for (bit, line) in self.slit.iter_mut().enumerate() {
            line.set(actuators.slit >> bit & 1 != 0).map_err(DriveError::Pin)?;
        }
        self.transmit.set(actuators.transmit).map_err(DriveError::Pin)?;
        self.timer.restart();
        self.due()
    }

    /// Does the edges whose time has come and asks the timer for the next.
    ///
    /// # Errors
    /// As [`Outputs::tick`].
    pub fn due(&mut self) -> Result<(), Error<P, M>> {
        self.run_until(self.timer.now_us())?;
        match self.plan.next_us() {
            Some(at_us) => self.timer.arm(at_us),
            None => self.timer.disarm(),
        }
        Ok(())
    }

    /// Everything safe at once, whatever was planned: valves, latches, shutter, then film and the rest. All lines are
    /// tried, even if one fails.
    ///
    /// # Errors
    /// The last output that could not be written.
    pub fn safe(&mut self) -> Result<(), Error<P, M>> {
        self.timer.disarm();
        self.plan = Plan::new();
        let mut result = Ok(());
        let lines = self.valves.iter_mut().chain(&mut self.latches).chain([&mut self.shutter]);
        for line in lines {
            result = line.set(false).map_err(DriveError::Pin).and(result);
        }
        result = self.film.set(&FilmDrive::REST).and(result);
        for line in self.slit.iter_mut().chain([&mut self.transmit]) {
            result = line.set(false).map_err(DriveError::Pin).and(result);
        }
        result
    }

    fn run_until(&mut self, now_us: u16) -> Result<(), Error<P, M>> {
        while let Some(edge) = self.plan.due(now_us) {
            let line = self.valves.get_mut(usize::from(edge.line)).unwrap_or(&mut self.shutter);
            line.set(edge.open).map_err(DriveError::Pin)?;
            // There is room for all edges of a plan.
            let _ = self.done.push(DoneEdge { asked: edge, done_us: self.timer.now_us() });
        }
        Ok(())
    }

    /// What was written last.
    pub fn echo(&self) -> Echo {
        let film = &self.film;
        let [roller, supply, take_up] = &film.motors;
        let lines = self.valves.iter().chain(&self.latches).chain([&self.shutter]).chain(&self.slit);
        let lines = lines.chain([&self.transmit, &film.brake_off, &film.clamp_off]).map(Line::is_high);
        let lines = lines.chain([roller.reversed(), supply.reversed(), take_up.reversed()]);
        Echo {
            levels: lines.zip(0_u32..).fold(0, |levels, (high, bit)| levels | u32::from(high) << (bit & 31)),
            duties: film.counts(),
            duty_most: film.platen.max_duty_cycle(),
            edges: self.done.clone(),
            ticks: self.ticks,
        }
    }
}

#[cfg(test)]
mod tests;
