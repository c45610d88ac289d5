//! The pins in place of the answer: what the board last wrote to its output lines, read back after every tick and turned
//! into what hangs on them.
//!
//! An emulator has no pins to look at, so that the board's pin layer echoes what it wrote: levels, duties, and the edges
//! inside the tick with the times at which they were asked for and done. In lockstep a tick may be followed at once by the
//! next; here the next waits until all of its edges have come. Over an emulator's debug channel they would not come: its
//! timers stand still while the channel waits.

use crate::board::{Board, BoardError};
use stillframe_controller::io::{Actuators, BANKS, Edges, FilmDrive, MAX_JETS, TICK_US};
use stillframe_wire::{LINK_LOSS_TICKS, PinImage};

/// Lines of the pin image after the valves ([`PinImage::levels`]).
const LATCH: usize = MAX_JETS;
const SHUTTER_LEVEL: usize = LATCH + BANKS;
const SLIT: usize = SHUTTER_LEVEL + 1;
const TRANSMIT: usize = SLIT + 2;
const BRAKE_OFF: usize = TRANSMIT + 1;
const CLAMP_OFF: usize = BRAKE_OFF + 1;
const REVERSE: usize = CLAMP_OFF + 1;
/// The shutter's number among lines with edges ([`stillframe_wire::PinEdge::line`]).
const SHUTTER: usize = MAX_JETS;
/// Times that the pins are read for the edges of one tick, a tick apart: well before the board gives up the link, which
/// would change the lines.
const READS: u32 = LINK_LOSS_TICKS / 2;

/// Reads pins after each tick and keeps account.
#[derive(Clone, Debug, Default)]
pub struct Pins {
    /// Ticks in which something was asked of the lines, and they were read.
    pub ticks: u64,
    /// Edges seen in them.
    pub edges: u64,
    /// Ticks in which lines, duties or edges were not what the answer asked for.
    pub wrong: u64,
    /// Counts that are the whole of the supply voltage.
    pub duty_most: u16,
    /// What was read last; lines of which nothing new is asked stay as they are.
    last: Option<Actuators>,
}

impl Pins {
    /// Pins of a board that has some.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn of(board: &mut Board) -> Result<Option<Self>, BoardError> {
        let duty_most = board.pins()?.duty_most;
        Ok((duty_most > 0).then(|| Self { duty_most, ..Self::default() }))
    }

    /// What stands on the lines after a tick in which the board answered `asked`.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn after(&mut self, board: &mut Board, asked: &Actuators) -> Result<Actuators, BoardError> {
        let wanted = as_pins_have_it(asked, self.duty_most);
        if let Some(last) = self.last.as_ref().filter(|last| still_the_same(last, &wanted)) {
            return Ok(Actuators { jets: [Edges::NONE; MAX_JETS], shutter: Edges::NONE, ..last.clone() });
        }
        let expected: usize = asked.jets.iter().chain([&asked.shutter]).map(edges_of).sum();
        let mut image = board.pins()?;
        for _ in 0..READS {
            if image.edges.len() >= expected {
                break;
            }
            board.idle(1);
            image = board.pins()?;
        }
        self.ticks += 1;
        self.edges += image.edges.len() as u64;
        let read = actuators(&image, asked);
        self.wrong += u64::from(read != wanted);
        self.last = Some(read.clone());
        Ok(read)
    }

    /// A board that begins anew has its lines as at its reset.
    pub fn begin(&mut self) {
        self.last = None;
    }
}

/// Nothing is asked that does not stand on the lines already.
fn still_the_same(last: &Actuators, wanted: &Actuators) -> bool {
    let quiet = wanted.jets.iter().chain([&wanted.shutter]).all(|edges| edges_of(edges) == 0);
    let rest = |of: &Actuators| Actuators { jets: [Edges::NONE; MAX_JETS], shutter: Edges::NONE, ..of.clone() };
    quiet && rest(last) == rest(wanted)
}

/// Edges that a line has in a tick: a pulse without length only closes.
fn edges_of(edges: &Edges) -> usize {
    let opens = edges.open_us.is_some() && edges.open_us != edges.close_us;
    usize::from(opens) + usize::from(edges.close_us.is_some())
}

fn high(image: &PinImage, line: usize) -> bool {
    image.levels >> line & 1 != 0
}

/// Duty of a motor, by its counts and direction.
fn duty(image: &PinImage, motor: usize) -> f32 {
    let share = f32::from(image.duties[motor]) / f32::from(image.duty_most.max(1));
    if high(image, REVERSE + motor) { -share } else { share }
}

/// What hangs on the lines, by what stands on them. A platen's step cannot be told from its duty; it is the answer's if
/// the platen is driven. Knife, seal, a sweep's drive, receivers and ordnance have no lines: they are the answer's.
fn actuators(image: &PinImage, answer: &Actuators) -> Actuators {
    let asked = &answer.film;
    let edges = |line: usize| {
        let at = |open| image.edges.iter().find(|e| usize::from(e.line) == line && e.open == open).map(|e| e.asked_us);
        Edges { open_us: at(true), close_us: at(false) }
    };
    Actuators {
        jets: std::array::from_fn(edges),
        latch_open: std::array::from_fn(|bank| high(image, LATCH + bank)),
        film: FilmDrive {
            roller_duty: duty(image, 0),
            supply_duty: duty(image, 1),
            take_up_duty: duty(image, 2),
            brake: !high(image, BRAKE_OFF),
            clamp: !high(image, CLAMP_OFF),
            platen_step: if image.duties[3] > 0 { asked.platen_step } else { 0 },
            ..*asked
        },
        shutter: edges(SHUTTER),
        slit: u8::from(high(image, SLIT)) | u8::from(high(image, SLIT + 1)) << 1,
        transmit: high(image, TRANSMIT),
        listen: answer.listen,
        ordnance: answer.ordnance,
    }
}

/// An answer as its pins show it: duties in whole counts, edges inside the tick, two bits of the slit.
pub fn as_pins_have_it(asked: &Actuators, duty_most: u16) -> Actuators {
    let edges = |edges: &Edges| {
        let inside = |us: u16| us.min(TICK_US as u16 - 1);
        let open_us = edges.open_us.filter(|_| edges.open_us != edges.close_us);
        Edges { open_us: open_us.map(inside), close_us: edges.close_us.map(inside) }
    };
    let most = f32::from(duty_most.max(1));
    let whole = |duty: f32| ((duty.abs() * most + 0.5) as u16).min(duty_most) as f32 / most * duty.signum();
    let film = &asked.film;
    Actuators {
        jets: asked.jets.each_ref().map(edges),
        shutter: edges(&asked.shutter),
        film: FilmDrive {
            roller_duty: whole(film.roller_duty),
            supply_duty: whole(film.supply_duty),
            take_up_duty: whole(film.take_up_duty),
            ..*film
        },
        slit: asked.slit & 3,
        ..asked.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use stillframe_wire::PinEdge;

    #[test]
    fn lines_become_what_hangs_on_them() {
        let edge = |line, open, asked_us| PinEdge { line, open, asked_us, done_us: asked_us + 3 };
        let edges = [edge(0, true, 200), edge(0, false, 700), edge(16, true, 5_000)];
        let image = PinImage {
            // Latch A, slit 2, transmitter, brake off, supply motor backwards.
            levels: 1 << 16 | 1 << 20 | 1 << 21 | 1 << 22 | 1 << 25,
            duties: [400, 200, 0, 0],
            duty_most: 800,
            edges: heapless::Vec::from_slice(&edges).expect("three edges"),
            ticks: 1,
        };
        let read =
            actuators(&image, &Actuators { film: FilmDrive { platen_step: 7, ..FilmDrive::REST }, ..Actuators::SAFE });
        assert_eq!(read.jets[0], Edges { open_us: Some(200), close_us: Some(700) });
        assert_eq!((read.jets[1], read.shutter.open_us), (Edges::NONE, Some(5_000)));
        assert_eq!((read.latch_open, read.slit, read.transmit), ([true, false], 2, true));
        let film =
            FilmDrive { roller_duty: 0.5, supply_duty: -0.25, take_up_duty: 0.0, brake: false, ..FilmDrive::REST };
        assert_eq!(read.film, film);
        // And back: an answer that asks for just that reads the same.
        assert_eq!(as_pins_have_it(&read, 800), read);
        let finer = FilmDrive { roller_duty: 0.500_1, ..film };
        assert_eq!(as_pins_have_it(&Actuators { film: finer, ..read.clone() }, 800), read);
    }
}
