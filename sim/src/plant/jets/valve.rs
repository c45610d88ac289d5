//! One valve: commands become openings and closings, each with its delay.

use stillframe_controller::io::Edges;

use super::{JetFault, JetParameters};

/// Length of a base tick, s.
pub(super) const TICK_S: f64 = 0.01;

/// A valve and what waits for it.
#[derive(Clone, Debug)]
pub(super) struct Valve {
    /// Moments at which it will open and shut, s from the present tick's start.
    opens_in_s: Option<f64>,
    closes_in_s: Option<f64>,
    /// When it last opened, s from the present tick's start.
    opened_in_s: f64,
    /// Where it will stand when the tick's moves are done.
    open: bool,
    /// Pulses begun, and the delays of the last.
    pulses: u64,
    delays_s: [f64; 2],
    pub(super) fault: Option<JetFault>,
    /// By a fault: opening and closing come so much later, s.
    pub(super) late_s: [f64; 2],
    /// Which command the valve obeys: its own, unless wires are crossed.
    pub(super) command: usize,
}

impl Valve {
    /// Shut.
    pub(super) fn new(built: &JetParameters, command: usize) -> Self {
        Self {
            opens_in_s: None,
            closes_in_s: None,
            opened_in_s: f64::NEG_INFINITY,
            open: false,
            pulses: 0,
            delays_s: built.delays_s(0),
            fault: None,
            late_s: [0.0; 2],
            command,
        }
    }

    /// Takes the command of a tick and calls `moved` for what the valve does in it, in order of time.
    pub(super) fn tick(&mut self, command: Edges, built: &JetParameters, mut moved: impl FnMut(f64, bool)) {
        if let Some(us) = command.open_us {
            self.delays_s = built.delays_s(self.pulses);
            self.pulses += 1;
            self.opens_in_s = Some(f64::from(us) * 1e-6 + self.delays_s[0] + self.late_s[0]);
        }
        let opened_in_s = self.opens_in_s.unwrap_or(self.opened_in_s);
        if let Some(us) = command.close_us {
            let asked_s = f64::from(us) * 1e-6 + self.delays_s[1] + self.late_s[1];
            self.closes_in_s = Some(asked_s.max(opened_in_s + built.minimum_pulse_s));
        }
        // Whichever comes first in this tick goes first; both may fall into it.
        for _ in 0..2 {
            let due = |at: Option<f64>| at.filter(|&s| s < TICK_S);
            let opening = match (due(self.opens_in_s), due(self.closes_in_s)) {
                (Some(open), Some(close)) => open < close || (open == close && !self.open),
                (Some(_), None) => true,
                (None, Some(_)) => false,
                (None, None) => break,
            };
            let slot = if opening { &mut self.opens_in_s } else { &mut self.closes_in_s };
            let at_s = slot.take().unwrap_or_default();
            self.open = opening;
            if opening {
                self.opened_in_s = at_s;
            }
            moved(at_s, opening);
        }
        for at in [&mut self.opens_in_s, &mut self.closes_in_s].into_iter().flatten() {
            *at -= TICK_S;
        }
        self.opened_in_s -= TICK_S;
    }

    /// Whether the next tick must look at it again.
    pub(super) fn busy(&self) -> bool {
        let stuck = matches!(self.fault, Some(JetFault::StuckOpen));
        self.open || stuck || self.opens_in_s.is_some() || self.closes_in_s.is_some()
    }

    /// Whether it lets gas through when it was told to stand `open`.
    pub(super) fn passes(&self, open: bool) -> bool {
        match self.fault {
            Some(JetFault::StuckClosed) => false,
            Some(JetFault::StuckOpen) => true,
            _ => open,
        }
    }

    /// Share of its thrust and flow that the jet has left.
    pub(super) fn strength(&self) -> f64 {
        match self.fault {
            Some(JetFault::Thrust(share)) => share,
            _ => 1.0,
        }
    }
}
