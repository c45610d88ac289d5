//! Flights over a line that damages what passes: the board must act on sound frames only, say that it got others,
//! and be back in step soon.

use crate::{
    board::{Board, BoardError, Counts},
    line::{
        Address, How,
        faulty::{Fault, FaultLog, Faulty, Plan, Way},
    },
    lockstep::{self, Found, LockstepError, Order},
};
use schemars::JsonSchema;
use serde::Serialize;
use stillframe::scenario::Loaded;
use stillframe_wire::Stats;

/// Questions within which the answer has come when a fault has hit an exchange. A step is 60 bytes or more, so that the
/// longest cut, 200 bytes, touches at most five questions; the sixth may be refused for what a torn one left standing
/// before it; the seventh is answered.
pub const RECOVERY_FRAMES: u32 = 7;
/// Bytes that pass unharmed after each fault: enough for the exchange to recover before the next.
const LEAST_GAP: u64 = 1_500;
const MEAN_GAP: u64 = 500;

/// What became of faults of one kind in one direction.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Row {
    /// Kind.
    pub fault: String,
    /// `up` to the board, `down` from it.
    pub way: String,
    /// Injected.
    pub injected: u64,
    /// The exchange went through at the first asking: the fault hit a byte that carries nothing, such as one of two
    /// zeros between frames.
    pub no_effect: u64,
    /// The board said that a frame was no message.
    pub board_said_so: u64,
    /// The bench found the answer damaged.
    pub bench_said_so: u64,
    /// Nothing came, and the question was asked again.
    pub nothing_came: u64,
    /// Most questions that an answer took.
    pub most_attempts: u32,
}

/// What a campaign of wire faults came to.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct WireFaults {
    /// Seed.
    pub seed: u64,
    /// Faults injected.
    pub faults: u64,
    /// Flights flown.
    pub flights: u64,
    /// Base ticks flown and compared.
    pub ticks: u64,
    /// Steps that the board took; equal to the ticks if it acted on nothing else.
    pub board_steps: u64,
    /// Every answer was the desk's, bit for bit.
    pub equal: bool,
    /// Where it was not.
    pub first_difference: Option<String>,
    /// Most questions asked for one answer, and the number allowed.
    pub most_attempts: u32,
    /// Allowed.
    pub allowed_attempts: u32,
    /// Long silences while the board was in the loop.
    pub silences: u64,
    /// Times that the board's outputs went safe because the link fell silent; at least as many.
    pub link_losses: u64,
    /// By kind and direction.
    pub rows: Vec<Row>,
    /// The line's counts.
    pub line: Counts,
}

impl WireFaults {
    /// Nothing unsafe happened, and the board was always back in step in time.
    pub fn good(&self) -> bool {
        self.equal
            && self.board_steps == self.ticks
            && self.most_attempts <= self.allowed_attempts
            && self.link_losses >= self.silences
    }
}

/// Flies `loaded` again and again over a damaging line until `faults` have been injected. `progress` gets their
/// number.
///
/// # Errors
/// [`LockstepError`]; a board that is never heard again is one.
pub fn campaign(
    address: &Address,
    loaded: &Loaded,
    order: &Order,
    (seed, faults): (u64, u64),
    progress: &mut dyn FnMut(u64),
) -> Result<WireFaults, LockstepError> {
    let gone = |error: BoardError| LockstepError::Board { tick: 0, error };
    let log = FaultLog::default();
    let mut opened = address.open(How::default()).map_err(|error| gone(error.into()))?;
    opened.line =
        Box::new(Faulty::new(opened.line, Plan { seed, least_gap: LEAST_GAP, mean_gap: MEAN_GAP }, log.clone()));
    let mut board = Board::over(opened);
    board.greet().map_err(gone)?;
    let before = board.stats().map_err(gone)?;
    let mut table = Table::new(board.counts);
    let (mut flights, mut ticks, mut found) = (0, 0, None);
    while table.injected() < faults && found.is_none() {
        flights += 1;
        let mut order = order.clone();
        order.options.out = order.options.out.join(format!("flight-{flights}"));
        order.options.seed = order.options.seed.wrapping_add(flights);
        let outcome = lockstep::fly(&mut board, loaded, &order, &mut |ticks, counts| {
            // What came before the first answer may have come before the loop.
            table.look(&log, counts, ticks > 1);
            progress(table.injected());
        })?;
        ticks += outcome.ticks;
        found = outcome.found;
    }
    let stats: Stats = board.stats().map_err(gone)?;
    board.end().map_err(gone)?;
    table.look(&log, &board.counts, false);
    Ok(WireFaults {
        seed,
        faults: table.injected(),
        flights,
        ticks,
        board_steps: u64::from(stats.steps.wrapping_sub(before.steps)),
        equal: found.is_none(),
        first_difference: found.map(|found: Found| format!("tick {}: {}", found.tick, found.difference.field)),
        most_attempts: board.counts.most_attempts,
        allowed_attempts: RECOVERY_FRAMES,
        silences: table.silences,
        link_losses: u64::from(stats.link_losses.wrapping_sub(before.link_losses)),
        rows: table.rows,
        line: board.counts,
    })
}

struct Table {
    rows: Vec<Row>,
    silences: u64,
    before: Counts,
}

impl Table {
    fn new(before: Counts) -> Self {
        let ways = [(Way::Up, "up"), (Way::Down, "down")];
        let row = |(fault, way): (Fault, &str)| Row {
            fault: fault.name().into(),
            way: way.into(),
            injected: 0,
            no_effect: 0,
            board_said_so: 0,
            bench_said_so: 0,
            nothing_came: 0,
            most_attempts: 0,
        };
        let rows = Fault::ALL.iter().flat_map(|fault| ways.map(|(_, name)| row((*fault, name)))).collect();
        Self { rows, silences: 0, before }
    }

    fn injected(&self) -> u64 {
        self.rows.iter().map(|row| row.injected).sum()
    }

    /// After an exchange: what did the faults within it do?
    fn look(&mut self, log: &FaultLog, now: &Counts, in_loop: bool) {
        let attempts = 1 + now.asked_again.saturating_sub(self.before.asked_again) as u32;
        for (fault, way) in log.take() {
            self.silences += u64::from(in_loop && fault == Fault::Silence);
            let kind = Fault::ALL.iter().position(|other| *other == fault).unwrap_or(0);
            let Some(row) = self.rows.get_mut(2 * kind + usize::from(way == Way::Down)) else { continue };
            row.injected += 1;
            if in_loop {
                row.most_attempts = row.most_attempts.max(attempts);
            }
            let moved = |count: fn(&Counts) -> u64| count(now) > count(&self.before);
            if moved(|counts| counts.refused_by_board) {
                row.board_said_so += 1;
            } else if moved(|counts| counts.bad_from_board) {
                row.bench_said_so += 1;
            } else if moved(|counts| counts.asked_again) {
                row.nothing_came += 1;
            } else {
                row.no_effect += 1;
            }
        }
        self.before = *now;
    }
}
