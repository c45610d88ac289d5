//! A line that damages what passes over another: bytes dropped, repeated, swapped, flipped in a bit, stretches cut out,
//! and silences so long that the board must give the link up. Where and how comes from a seed, by the count of bytes in both directions together: the same bytes are
//! damaged in the same way. (Answers hold the measured cost of a step, whose length in bytes is not the same in every run.)

use super::Line;
use std::{
    collections::VecDeque,
    io,
    sync::{Arc, Mutex, PoisonError},
    time::Duration,
};
use stillframe::noise::NoiseSource;
use stillframe_wire::LINK_LOSS_TICKS;

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
    LongCut,
    /// What is under way is lost, and then nothing passes for 25 to 100 base ticks: outputs must go safe.
    Silence,
}

impl Fault {
    /// All kinds.
    pub const ALL: [Self; 7] =
        [Self::Dropped, Self::Repeated, Self::Swapped, Self::Flipped, Self::Cut, Self::LongCut, Self::Silence];

    /// Name in tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Dropped => "byte dropped",
            Self::Repeated => "byte repeated",
            Self::Swapped => "bytes swapped",
            Self::Flipped => "bit flipped",
            Self::Cut => "up to 40 cut out",
            Self::LongCut => "up to 200 cut out",
            Self::Silence => "long silence",
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
/// Longest stretch lost by a long cut, bytes.
const LONG_CUT: u64 = 200;
/// Shortest and longest silence, base ticks: longer than the board bridges.
const SILENCE: [u32; 2] = [LINK_LOSS_TICKS + 5, 100];

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
        let mut injector =
            Injector { plan, noise, draws: 0, passed: 0, next: 0, lose: 0, silence: None, held: None, log };
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
        self.line.send(&out)?;
        self.fall_silent();
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], patience: Duration) -> io::Result<usize> {
        let mut bytes = [0; 4_096];
        let count = self.line.receive(&mut bytes, patience)?;
        for &byte in &bytes[..count] {
            self.injector.pass(byte, Way::Down, &mut |byte| self.damaged.push_back(byte));
        }
        self.injector.let_go(&mut |byte| self.damaged.push_back(byte));
        self.fall_silent();
        io::Read::read(&mut self.damaged, into)
    }

    fn idle(&mut self, ticks: u32) {
        self.line.idle(ticks);
    }
}

impl<L: Line> Faulty<L> {
    fn fall_silent(&mut self) {
        if let Some(ticks) = self.injector.silence.take() {
            self.line.idle(ticks);
        }
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
    /// Ticks of a silence: what is handed over together is lost from its beginning on.
    silence: Option<u32>,
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
        if self.silence.is_some() {
            return;
        }
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
            Fault::LongCut => self.lose = 1 + (self.draw() * LONG_CUT as f64) as u64,
            Fault::Silence => {
                let [shortest, longest] = SILENCE;
                self.silence = Some(shortest + (self.draw() * f64::from(longest - shortest)) as u32);
            }
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
    struct Mirror(VecDeque<u8>, Arc<Mutex<Vec<u32>>>);

    impl Line for Mirror {
        fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
            self.0.extend(bytes);
            Ok(())
        }

        fn receive(&mut self, into: &mut [u8], _: Duration) -> io::Result<usize> {
            io::Read::read(&mut self.0, into)
        }

        fn idle(&mut self, ticks: u32) {
            self.1.lock().expect("one thread").push(ticks);
        }
    }

    fn through(seed: u64, mean_gap: u64, bytes: &[u8]) -> (Vec<u8>, Vec<(Fault, Way)>) {
        let log = FaultLog::default();
        let silences = Arc::<Mutex<Vec<u32>>>::default();
        let mirror = Mirror(VecDeque::new(), silences.clone());
        let mut line = Faulty::new(mirror, Plan { seed, least_gap: 100, mean_gap }, log.clone());
        let mut back = Vec::new();
        for piece in bytes.chunks(100) {
            line.send(piece).expect("a mirror takes all");
            let mut into = [0; 4_096];
            let count = line.receive(&mut into, Duration::ZERO).expect("a mirror gives all");
            back.extend_from_slice(&into[..count]);
        }
        let faults = log.take();
        let silences = silences.lock().expect("one thread");
        assert_eq!(silences.len(), faults.iter().filter(|(fault, _)| *fault == Fault::Silence).count());
        assert!(silences.iter().all(|ticks| (25..=100).contains(ticks)));
        (back, faults)
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
