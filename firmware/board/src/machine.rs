//! The board as the server wants it: clock, cost, outputs, counters.

use crate::{
    failure,
    hw::{
        clock,
        edge_timer::Alarm,
        gpio::{self, Pin, Pulse},
        priority,
        semihost::Channel,
        serial, stack, timers,
    },
    watchdog,
};
use core::{cell::RefCell, sync::atomic::Ordering};
use critical_section::Mutex;
use stillframe_controller::io::Actuators;
use stillframe_drivers::outputs::Outputs;
use stillframe_wire::{Cost, Machine, PinEdge, PinImage, PostMortem, Stats};

/// The output lines: the work's between ticks, the edge timer's inside them.
static OUTPUTS: Mutex<RefCell<Option<Outputs<Pin, Pulse, Alarm>>>> = Mutex::new(RefCell::new(None));

/// Works on the outputs with the edge timer held off; nothing before start-up. The pins of a chip never fail.
fn with_outputs<R>(work: impl FnOnce(&mut Outputs<Pin, Pulse, Alarm>) -> R) -> Option<R> {
    critical_section::with(|section| {
        // The only other user is held off, so that the borrow is always free.
        let mut outputs = OUTPUTS.borrow(section).try_borrow_mut().ok()?;
        outputs.as_mut().map(work)
    })
}

/// An edge is due: called from the timer's interrupt.
pub fn edge_due() {
    let _ = with_outputs(Outputs::due);
}

/// The board.
pub struct Board {
    ticks_seen: u32,
    started: u32,
    /// Outputs are in their safe state and stay there until a step moves them.
    pub safe: bool,
    /// The debug channel of an emulator, when the driver has asked for it.
    pub channel: Option<Channel>,
}

impl Board {
    /// Brings everything up, outputs safe.
    pub fn start() -> Self {
        clock::start();
        let pins = gpio::start(clock::clock_hz());
        serial::start();
        timers::start();
        let Ok(outputs) = Outputs::new(pins, Alarm::start());
        critical_section::with(|section| {
            if let Ok(mut place) = OUTPUTS.borrow(section).try_borrow_mut() {
                *place = Some(outputs);
            }
        });
        watchdog::start();
        Self { ticks_seen: timers::ticks(), started: 0, safe: true, channel: None }
    }

    /// A base tick has gone by on the board's own timer; each is told once.
    pub fn tick_passed(&mut self) -> bool {
        let passed = self.ticks_seen != timers::ticks();
        if passed {
            self.ticks_seen = self.ticks_seen.wrapping_add(1);
        }
        passed
    }
}

impl Machine for Board {
    fn clock_hz(&self) -> u32 {
        clock::clock_hz()
    }

    fn start(&mut self) {
        if clock::emulated() {
            // Counted instructions are those of the step alone.
            priority::hold();
            timers::let_tick_pass();
            self.started = timers::fine();
        } else {
            self.started = clock::cycles();
        }
    }

    fn cost(&mut self) -> Cost {
        let cost = if clock::emulated() {
            let ended = timers::fine();
            priority::resume();
            Cost::TimerTicks(ended.wrapping_sub(self.started))
        } else {
            Cost::Cycles(clock::cycles().wrapping_sub(self.started))
        };
        failure::STEPS.store(failure::STEPS.load(Ordering::Relaxed).wrapping_add(1), Ordering::Relaxed);
        watchdog::feed();
        cost
    }

    fn put_out(&mut self, actuators: &Actuators) {
        self.safe = *actuators == Actuators::SAFE;
        let _ = with_outputs(|outputs| if self.safe { outputs.safe() } else { outputs.tick(actuators) });
    }

    fn stats(&self, stats: &mut Stats) {
        stats.lost_bytes = serial::LINK.lost();
        (stats.stack_used, stats.stack_size) = stack::used_and_size();
        stats.reset_flags = clock::reset_flags();
    }

    fn pins(&self) -> PinImage {
        let Some(echo) = with_outputs(|outputs| outputs.echo()) else {
            return PinImage::default();
        };
        let mut image = PinImage {
            levels: echo.levels,
            duties: echo.duties,
            duty_most: echo.duty_most,
            ticks: echo.ticks,
            ..PinImage::default()
        };
        for edge in &echo.edges {
            let (asked, done_us) = (edge.asked, edge.done_us);
            let edge = PinEdge { line: asked.line, open: asked.open, asked_us: asked.at_us, done_us };
            // Both lists have the same room. Collecting would keep a panic for the case that they had not.
            let _ = image.edges.push(edge);
        }
        image
    }

    fn change_channel(&mut self, to_board: &str, from_board: &str) -> bool {
        if clock::emulated() {
            self.channel = Channel::open(to_board, from_board);
        }
        self.channel.is_some()
    }

    fn post_mortem(&self) -> Option<PostMortem> {
        failure::post_mortem()
    }
}
