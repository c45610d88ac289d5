//! The emulated board, with the link on a socket; it ends with the test.

use std::{
    io::{Read, Write},
    os::unix::net::UnixStream,
    path::Path,
    process::{Child, Command, Stdio},
    sync::{
        OnceLock,
        atomic::{AtomicBool, AtomicUsize, Ordering},
    },
    time::{Duration, Instant},
};
use stillframe_wire::{FrameError, FromBoard, PostMortem, ToBoard, Unframer, frame};
use tempfile::TempDir;

/// Longest wait for an answer, real time: the machine may be busy with other things.
const PATIENCE: Duration = Duration::from_secs(20);

/// A board in the emulator.
pub struct Emulator {
    child: Child,
    link: UnixStream,
    unframer: Unframer,
    pub folder: TempDir,
}

impl Emulator {
    /// Starts the image. `more` goes on the emulator's command line.
    pub fn start(elf: &Path, more: &[&str]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let socket = folder.path().join("link");
        let log = folder.path().join("log.bin");
        // Both ends bound to one core: they take turns anyway, and a wake-up across cores costs more than both do.
        bind_to_a_core();
        // The emulator is killed when this thread ends, however it ends.
        let child = Command::new("setpriv")
            .args(["--pdeathsig", "KILL", "qemu-system-arm", "-M", "netduinoplus2", "-nographic"])
            .args(["-monitor", "none", "-kernel"])
            .arg(elf)
            .args(["-serial", &format!("unix:{},server=on,wait=on", socket.display())])
            .args(["-serial", &format!("file:{}", log.display())])
            .args(more)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .spawn()
            .expect("setpriv and qemu-system-arm are there (Debian: util-linux, qemu-system-arm)");
        let started = Instant::now();
        let link = loop {
            match UnixStream::connect(&socket) {
                Ok(link) => break link,
                Err(error) if started.elapsed() > PATIENCE => panic!("the emulator does not listen: {error}"),
                Err(_) => std::thread::sleep(Duration::from_millis(5)),
            }
        };
        let mut board = Self { child, link, unframer: Unframer::new(), folder };
        board.greet();
        board
    }

    /// Says hello until the board answers that: what comes in before its serial line is up is lost, and what it was
    /// saying before a reset is torn off.
    pub fn greet(&mut self) {
        let began = Instant::now();
        self.unframer = Unframer::new();
        loop {
            assert!(began.elapsed() < PATIENCE, "the board does not come up");
            self.send(&frame(&ToBoard::Hello).unwrap());
            if self.hears(|answer| matches!(answer, FromBoard::Hello { .. })) {
                break;
            }
        }
        // Answers to the other greetings.
        self.hears(|_| false);
        self.link.set_read_timeout(Some(PATIENCE)).unwrap();
    }

    /// Whether such a message comes before a fifth of a second of silence.
    fn hears(&mut self, wanted: impl Fn(&FromBoard) -> bool) -> bool {
        self.link.set_read_timeout(Some(Duration::from_millis(200))).unwrap();
        let mut bytes = [0; 1];
        while matches!(self.link.read(&mut bytes), Ok(1)) {
            if self.unframer.push(bytes[0]).is_some_and(|message| message.is_ok_and(|message| wanted(&message))) {
                return true;
            }
        }
        false
    }

    /// Waits until a board is back from its failure number `count` and gives the record that it left.
    pub fn come_back(&mut self, count: u32) -> PostMortem {
        let began = Instant::now();
        loop {
            self.greet();
            match self.ask(&ToBoard::PostMortem) {
                FromBoard::PostMortem(Some(record)) if record.count >= count => return record,
                _ => {}
            }
            assert!(began.elapsed() < PATIENCE, "the board goes on as if nothing had happened");
        }
    }

    /// Sends bytes as they are.
    pub fn send(&mut self, bytes: &[u8]) {
        self.link.write_all(bytes).unwrap();
    }

    /// Does something while whatever the board says is thrown away. The socket holds some hundreds of single bytes: a board
    /// that fills it waits, and the whole emulator with it, its debug port too.
    pub fn unheard<T>(&self, what: impl FnOnce() -> T) -> T {
        let (began, done) = (Instant::now(), AtomicBool::new(false));
        let mut link = self.link.try_clone().unwrap();
        link.set_read_timeout(Some(Duration::from_millis(20))).unwrap();
        std::thread::scope(|scope| {
            scope.spawn(|| {
                while !done.load(Ordering::Relaxed) && began.elapsed() < 2 * PATIENCE {
                    let _ = link.read(&mut [0; 4_096]);
                }
            });
            let got = what();
            done.store(true, Ordering::Relaxed);
            got
        })
    }

    /// Next message from the board.
    pub fn receive(&mut self) -> Result<FromBoard, FrameError> {
        let mut bytes = [0; 1];
        loop {
            let got = self.link.read(&mut bytes).expect("the board answers in time");
            assert_eq!(got, 1, "the emulator hung up");
            if let Some(result) = self.unframer.push(bytes[0]) {
                return result;
            }
        }
    }

    /// Has the emulator end by itself, with all that it writes written.
    pub fn quit(mut self) {
        // Whatever the board was about to do after its answer.
        std::thread::sleep(Duration::from_millis(300));
        assert!(Command::new("kill").arg(self.child.id().to_string()).status().unwrap().success());
        self.child.wait().unwrap();
    }

    /// Says something and gives the answer.
    pub fn ask(&mut self, message: &ToBoard) -> FromBoard {
        self.send(&frame(message).unwrap());
        self.receive().expect("a sound answer")
    }
}

/// Binds this thread, and what it starts, to one core: the next of those that there are.
fn bind_to_a_core() {
    use rustix::thread::{CpuSet, sched_getaffinity, sched_setaffinity};
    static ALL: OnceLock<CpuSet> = OnceLock::new();
    static NEXT: AtomicUsize = AtomicUsize::new(0);
    let all = ALL.get_or_init(|| sched_getaffinity(None).unwrap());
    let cores: Vec<usize> = (0..CpuSet::MAX_CPU).filter(|&core| all.is_set(core)).collect();
    let mut one = CpuSet::new();
    one.set(cores[NEXT.fetch_add(1, Ordering::Relaxed) % cores.len()]);
    sched_setaffinity(None, &one).unwrap();
}

impl Drop for Emulator {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
