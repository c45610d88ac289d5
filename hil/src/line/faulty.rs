//! A line that damages what passes over another: bytes dropped, repeated, swapped, flipped in a bit, a stretch cut
//! out, a silence. Where and how comes from a seed, by the count of bytes in both directions together: the same bytes are
//! damaged in the same way. (Answers hold the measured cost of a step, whose length in bytes is not the same in every run.)

use super::Line;
use std::{
    collections::VecDeque,
    io,
    sync::{Arc, Mutex, PoisonError},
    time::Duration,
};
use stillframe::noise::NoiseSource;

/// What can happen to bytes on a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// One byte is lost.
    Dropped,
    /// One byte comes twice.
    Repeated,
    /// Two neighbours change places.
    Swapped,
    /// One bit of one byte is turned over.
    Flipped,
    /// Up to 40 bytes are missing.
    Cut,
    /// Up to 200 bytes are missing: a frame or two and more.
    Silence,
}

impl Fault {
    /// All kinds.
    pub const ALL: [Self; 6] = [Self::Dropped, Self::Repeated, Self::Swapped, Self::Flipped, Self::Cut, Self::Silence];

    /// Name in tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Dropped => "byte dropped",
            Self::Repeated => "byte repeated",
            Self::Swapped => "bytes swapped",
            Self::Flipped => "bit flipped",
            Self::Cut => "stretch cut out",
            Self::Silence => "silence",
        }
    }
}

/// Direction of a byte.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// To the board.
    Up,
    /// From the board.
    Down,
}

/// Faults as they are injected, shared between the line and whoever watches.
#[derive(Clone, Debug, Default)]
pub struct FaultLog(Arc<Mutex<Vec<(Fault, Way)>>>);

impl FaultLog {
    /// Faults since the last call.
    pub fn take(&self) -> Vec<(Fault, Way)> {
        std::mem::take(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }

    fn note(&self, fault: Fault, way: Way) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).push((fault, way));
    }
}

/// How often faults come.
#[derive(Clone, Copy, Debug)]
pub struct Plan {
    /// Seed of all draws.
    pub seed: u64,
    /// Bytes that pass unharmed after each fault, at least.
    pub least_gap: u64,
    /// Mean of the further bytes until the next.
    pub mean_gap: u64,
}

/// Longest stretch lost by a cut, bytes.
const CUT: u64 = 40;
/// Longest stretch lost by a silence, bytes.
const SILENCE: u64 = 200;

/// A line that damages.
pub struct Faulty<L> {
    line: L,
    injector: Injector,
    /// Received bytes after damage.
    damaged: VecDeque<u8>,
}

impl<L: Line> Faulty<L> {
    /// Damages what passes over `line`, and notes it in `log`.
    pub fn new(line: L, plan: Plan, log: FaultLog) -> Self {
        let noise = NoiseSource::new(plan.seed, 0, "wire faults", 0);
        let mut injector = Injector { plan, noise, draws: 0, passed: 0, next: 0, lose: 0, held: None, log };
        injector.plan_next();
        Self { line, injector, damaged: VecDeque::new() }
    }
}

impl<L: Line> Line for Faulty<L> {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut out = Vec::with_capacity(bytes.len() + 1);
        for &byte in bytes {
            self.injector.pass(byte, Way::Up, &mut |byte| out.push(byte));
        }
        self.injector.let_go(&mut |byte| out.push(byte));
        self.line.send(&out)
    }

    fn receive(&mut self, into: &mut [u8], patience: Duration) -> io::Result<usize> {
        let mut bytes = [0; 4_096];
        let count = self.line.receive(&mut bytes, patience)?;
        for &byte in &bytes[..count] {
            self.injector.pass(byte, Way::Down, &mut |byte| self.damaged.push_back(byte));
        }
        self.injector.let_go(&mut |byte| self.damaged.push_back(byte));
        io::Read::read(&mut self.damaged, into)
    }
}

struct Injector {
    plan: Plan,
    noise: NoiseSource,
    draws: u64,
    /// Bytes that have passed in both directions.
    passed: u64,
    /// Count at which the next fault comes.
    next: u64,
    /// Bytes still to be lost.
    lose: u64,
    /// A byte kept back to change places with the next.
    held: Option<u8>,
    log: FaultLog,
}

impl Injector {
    fn draw(&mut self) -> f64 {
        self.draws += 1;
        self.noise.uniform(self.draws)
    }

    fn plan_next(&mut self) {
        let further = -self.draw().max(1e-9).ln() * self.plan.mean_gap as f64;
        self.next = self.passed + self.plan.least_gap + further as u64;
    }

    fn pass(&mut self, byte: u8, way: Way, out: &mut impl FnMut(u8)) {
        self.passed += 1;
        if self.lose > 0 {
            self.lose -= 1;
            if self.lose == 0 {
                self.plan_next();
            }
            return;
        }
        if self.passed < self.next {
            out(byte);
            self.let_go(out);
            return;
        }
        let fault = Fault::ALL[(self.draw() * Fault::ALL.len() as f64) as usize % Fault::ALL.len()];
        self.log.note(fault, way);
        self.plan_next();
        match fault {
            Fault::Dropped => {}
            Fault::Repeated => {
                out(byte);
                out(byte);
            }
            Fault::Swapped => self.held = Some(byte),
            Fault::Flipped => out(byte ^ 1 << ((self.draw() * 8.0) as u32 % 8)),
            Fault::Cut => self.lose = 1 + (self.draw() * CUT as f64) as u64,
            Fault::Silence => self.lose = 1 + (self.draw() * SILENCE as f64) as u64,
        }
    }

    /// Gives out a byte that was kept back: after its neighbour, or at the end of what was handed over together.
    fn let_go(&mut self, out: &mut impl FnMut(u8)) {
        if let Some(held) = self.held.take() {
            out(held);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gives back what it is sent.
    #[derive(Default)]
    struct Mirror(VecDeque<u8>);

    impl Line for Mirror {
        fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
            self.0.extend(bytes);
            Ok(())
        }

        fn receive(&mut self, into: &mut [u8], _: Duration) -> io::Result<usize> {
            io::Read::read(&mut self.0, into)
        }
    }

    fn through(seed: u64, mean_gap: u64, bytes: &[u8]) -> (Vec<u8>, Vec<(Fault, Way)>) {
        let log = FaultLog::default();
        let mut line = Faulty::new(Mirror::default(), Plan { seed, least_gap: 100, mean_gap }, log.clone());
        let mut back = Vec::new();
        for piece in bytes.chunks(100) {
            line.send(piece).expect("a mirror takes all");
            let mut into = [0; 4_096];
            let count = line.receive(&mut into, Duration::ZERO).expect("a mirror gives all");
            back.extend_from_slice(&into[..count]);
        }
        (back, log.take())
    }

    #[test]
    fn every_kind_comes_both_ways_and_the_seed_decides() {
        let bytes: Vec<u8> = (0..100_000_u32).map(|n| (n * 7 + n / 256) as u8).collect();
        let (back, faults) = through(3, 100, &bytes);
        assert_ne!(back, bytes);
        for kind in Fault::ALL {
            for way in [Way::Up, Way::Down] {
                assert!(faults.contains(&(kind, way)), "{kind:?} {way:?}");
            }
        }
        assert_eq!(through(3, 100, &bytes), (back.clone(), faults));
        assert_ne!(through(4, 100, &bytes).0, back);
    }

    #[test]
    fn without_faults_nothing_changes() {
        let bytes: Vec<u8> = (0..10_000_u32).map(|n| n as u8).collect();
        let (back, faults) = through(1, u64::from(u32::MAX), &bytes);
        assert_eq!((back, faults.len()), (bytes, 0));
    }
}
