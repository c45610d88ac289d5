//! The emulator's journal of executed instructions, cut into turns: from the interrupt that wakes the board to its sleep.

use crate::{emulator::Emulator, image};
use std::{
    fs::File,
    io::{BufRead, BufReader},
    process::Command,
    sync::{
        Arc,
        atomic::{AtomicU32, Ordering},
    },
    thread,
    time::{Duration, Instant},
};

/// What the board did between two sleeps.
#[derive(Clone, Copy, Debug, Default)]
pub struct Turn {
    pub instructions: u32,
    /// Bytes that came in.
    pub bytes: u32,
}

/// Bytes that a board has taken in and, asleep again, is done with.
#[derive(Clone, Default)]
pub struct Done(Arc<AtomicU32>);

impl Done {
    /// How many.
    pub fn bytes(&self) -> u32 {
        self.0.load(Ordering::Relaxed)
    }

    /// Waits until there are so many, or all but one and nothing more has come for three seconds: of a row sent at once, a
    /// byte that comes while the one before it is being taken in can be taken in with it.
    pub fn wait_for(&self, bytes: u32) {
        let began = Instant::now();
        while self.bytes() < bytes {
            let waited = began.elapsed();
            if self.bytes() + 1 == bytes && waited > Duration::from_secs(3) {
                return;
            }
            assert!(waited < Duration::from_secs(30), "{} of {bytes} bytes taken in", self.bytes());
            thread::sleep(Duration::from_millis(1));
        }
    }

    /// Waits until nothing more comes for half a second.
    pub fn settle(&self) {
        let mut before = None;
        while before != Some(self.bytes()) {
            before = Some(self.bytes());
            thread::sleep(Duration::from_millis(500));
        }
    }
}

/// All turns of a board while `work` goes on with it. `places`: addresses of the link's interrupt and of
/// the instruction that sleeps. With `more`, the emulator's words for counting instructions, or time runs away
/// from a board that is slowed down so much.
pub fn turns(more: &[&str], places: [u32; 2], work: impl FnOnce(&mut Emulator, &Done)) -> Vec<Turn> {
    let folder = tempfile::tempdir().unwrap();
    // A pipe: the journal of a few seconds is hundreds of megabytes.
    let pipe = folder.path().join("journal");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let done = Done::default();
    let reader = {
        let (pipe, done) = (pipe.clone(), done.clone());
        thread::spawn(move || cut(BufReader::new(File::open(pipe).unwrap()), places, &done))
    };
    let journal = ["-singlestep", "-d", "exec,nochain", "-D", pipe.to_str().unwrap()];
    let words: Vec<&str> = more.iter().copied().chain(journal).collect();
    let mut board = Emulator::start(image::elf(), &words);
    work(&mut board, &done);
    board.quit();
    reader.join().unwrap()
}

/// Lines are `Trace 0: 0x7f35 [flags/PC/flags/flags] name`, one for each instruction; one that touches a device stands
/// there twice, with `cpu_io_recompile` in between.
fn cut(journal: impl BufRead, [byte, sleep]: [u32; 2], done: &Done) -> Vec<Turn> {
    let (mut turns, mut turn) = (Vec::new(), Turn::default());
    for line in journal.split(b'\n').map_while(Result::ok) {
        if line.starts_with(b"cpu_io_recompile") {
            turn.instructions -= 1;
            continue;
        }
        let pc = line.splitn(3, |&c| c == b'/').nth(1).and_then(|hex| std::str::from_utf8(hex).ok());
        let Some(pc) = pc.and_then(|hex| u32::from_str_radix(hex, 16).ok()) else { continue };
        if pc == sleep {
            done.0.fetch_add(turn.bytes, Ordering::Relaxed);
            turns.push(std::mem::take(&mut turn));
            continue;
        }
        turn.instructions += 1;
        turn.bytes += u32::from(pc == byte);
    }
    turns
}
