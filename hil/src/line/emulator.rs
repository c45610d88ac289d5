//! The machine emulator: started on the board's image, stopped when the bench is done with it.

use super::{Line, pipes::Pipes, stream::Stream};
use std::{
    ffi::OsString,
    io,
    os::unix::net::UnixStream,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
    thread::sleep,
    time::{Duration, Instant},
};
use stillframe_wire::{FromBoard, ToBoard, Unframer, frame};

/// The emulator's program.
pub const PROGRAM: &str = "qemu-system-arm";
/// Its STM32F405 machine.
pub const MACHINE: &str = "netduinoplus2";
/// Longest wait for the emulator's serial line.
const PATIENCE: Duration = Duration::from_secs(20);

/// How to start the emulator.
#[derive(Clone, Debug)]
pub struct Order {
    /// The board's image.
    pub image: PathBuf,
    /// Instructions are counted: simulated time goes on by 2^n ns with each.
    pub count_shift: Option<u8>,
    /// A debug port is opened.
    pub debug: bool,
    /// The image may use pipes of the host through semihosting.
    pub pipes: bool,
}

/// A running emulator and the line to the board's first serial port.
#[derive(Debug)]
pub struct Emulator {
    child: Child,
    line: Stream<UnixStream>,
    pipes: Option<Pipes>,
    folder: PathBuf,
}

impl Emulator {
    /// Starts the emulator on an image and connects to serial port 1; serial port 2 goes to a file.
    ///
    /// # Errors
    /// If the emulator isn't installed, the image isn't there, or the serial line doesn't come up.
    pub fn start(order: &Order) -> io::Result<Self> {
        if !order.image.is_file() {
            let text = format!(
                "there is no image at {}: run firmware/build in the project's root, and the bench from there",
                order.image.display()
            );
            return Err(io::Error::new(io::ErrorKind::NotFound, text));
        }
        let folder = fresh_folder()?;
        let socket = folder.join("serial");
        let mut child = command(order, &folder)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(std::fs::File::create(folder.join("emulator.txt"))?)
            .spawn()
            .map_err(|error| {
                let text = format!("{PROGRAM} cannot be started ({error}); on Debian: apt-get install qemu-system-arm");
                io::Error::new(error.kind(), text)
            })?;
        match connect(&socket, &mut child, &folder) {
            Ok(stream) => Ok(Self { child, line: Stream::new(stream), pipes: None, folder }),
            Err(error) => {
                stop(&mut child);
                _ = std::fs::remove_dir_all(&folder);
                Err(error)
            }
        }
    }

    /// File into which the bytes of the board's second serial line go: its log. It goes with the emulator.
    pub fn log_file(&self) -> PathBuf {
        self.folder.join("log")
    }

    /// Leaves the serial line for a pair of pipes through the emulator's debug channel: a hundred times as fast, but not
    /// the path that a real board has. This process and the emulator then share one core, which is faster still.
    ///
    /// # Errors
    /// If the image cannot do it.
    pub fn change_to_pipes(&mut self) -> io::Result<()> {
        let pipes = Pipes::make(&self.folder)?;
        let path = |path: &Path| heapless::String::try_from(path.display().to_string().as_str());
        let (Ok(to_board), Ok(from_board)) = (path(&pipes.up_path), path(&pipes.down_path)) else {
            return Err(io::Error::other(format!("{} is too long a path for the board", self.folder.display())));
        };
        // What is sent before the image is up is lost.
        let began = Instant::now();
        while self.ask(&ToBoard::Hello, Duration::from_millis(200))?.is_none() {
            if began.elapsed() > PATIENCE {
                return Err(io::Error::new(io::ErrorKind::TimedOut, "the image does not answer on its serial line"));
            }
        }
        match self.ask(&ToBoard::Channel { to_board, from_board }, PATIENCE)? {
            Some(FromBoard::Done) => {
                self.pipes = Some(pipes);
                share_core();
                Ok(())
            }
            other => {
                let text = format!("the image has no debug channel ({other:?}): build it anew, or leave out --fast");
                Err(io::Error::other(text))
            }
        }
    }

    /// Asks over the serial line; the first sound answer within `patience` that is not one to a greeting of before.
    fn ask(&mut self, question: &ToBoard, patience: Duration) -> io::Result<Option<FromBoard>> {
        let bytes = frame(question).map_err(|_| io::Error::other("the question does not fit"))?;
        self.line.send(&bytes)?;
        let (until, mut unframer, mut bytes) = (Instant::now() + patience, Unframer::new(), [0; 512]);
        while let left = until.saturating_duration_since(Instant::now())
            && !left.is_zero()
        {
            let count = self.line.receive(&mut bytes, left)?;
            for &byte in &bytes[..count] {
                let Some(Ok(answer)) = unframer.push(byte) else { continue };
                if *question == ToBoard::Hello || !matches!(answer, FromBoard::Hello { .. }) {
                    return Ok(Some(answer));
                }
            }
        }
        Ok(None)
    }

    /// Closes the pipes, so that the board goes back to its serial line, where it also is after a reset.
    pub fn leave_pipes(&mut self) {
        self.pipes = None;
    }

    /// Socket of the debug port, if one was asked for.
    pub fn debug_socket(&self) -> PathBuf {
        self.folder.join("debug")
    }
}

impl Drop for Emulator {
    fn drop(&mut self) {
        stop(&mut self.child);
        _ = std::fs::remove_dir_all(&self.folder);
    }
}

impl Line for Emulator {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        match &mut self.pipes {
            Some(pipes) => pipes.send(bytes),
            None => self.line.send(bytes),
        }
    }

    fn receive(&mut self, into: &mut [u8], patience: Duration) -> io::Result<usize> {
        match &mut self.pipes {
            Some(pipes) => pipes.receive(into, patience),
            None => self.line.receive(into, patience),
        }
    }
}

/// An emulator that a board's line and somebody else both have in hand.
#[derive(Clone, Debug)]
pub struct Shared(Arc<Mutex<Emulator>>);

impl Shared {
    /// Shares an emulator.
    pub fn new(emulator: Emulator) -> Self {
        Self(Arc::new(Mutex::new(emulator)))
    }

    /// The emulator.
    pub fn get(&self) -> MutexGuard<'_, Emulator> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Line for Shared {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.get().send(bytes)
    }

    fn receive(&mut self, into: &mut [u8], patience: Duration) -> io::Result<usize> {
        self.get().receive(into, patience)
    }
}

/// The emulator's command line, behind `setpriv` (it must not outlive the bench, whatever ends that) and `taskset`
/// (bytes pass between two of its threads, twice as fast on one core) where they are installed.
fn command(order: &Order, folder: &Path) -> Command {
    let mut words: Vec<OsString> = Vec::new();
    let mut add = |text: &[&str]| words.extend(text.iter().map(OsString::from));
    if installed("setpriv") {
        add(&["setpriv", "--pdeathsig", "KILL"]);
    }
    if installed("taskset") {
        add(&["taskset", "-c", &core().to_string()]);
    }
    let path = |name: &str| folder.join(name).display().to_string();
    add(&[PROGRAM, "-machine", MACHINE, "-nographic", "-monitor", "none", "-kernel"]);
    add(&[&order.image.display().to_string()]);
    add(&["-serial", &format!("unix:{},server=on,wait=off", path("serial"))]);
    add(&["-serial", &format!("file:{}", path("log"))]);
    if let Some(shift) = order.count_shift {
        add(&["-icount", &format!("shift={shift}")]);
    }
    if order.pipes {
        add(&["-semihosting-config", "enable=on,target=native"]);
    }
    if order.debug {
        let socket = format!("socket,path={},server=on,wait=off,id=debug", path("debug"));
        add(&["-chardev", &socket, "-gdb", "chardev:debug"]);
    }
    let mut words = words.into_iter();
    let mut command = Command::new(words.next().unwrap_or_default());
    command.args(words);
    command
}

/// The core that the emulator is bound to: the last.
fn core() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from) - 1
}

/// Binds this thread to the emulator's core. Where that is refused the run is slower, and nothing else.
fn share_core() {
    let mut cores = rustix::thread::CpuSet::new();
    cores.set(core());
    _ = rustix::thread::sched_setaffinity(None, &cores);
}

fn installed(program: &str) -> bool {
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path).any(|folder| folder.join(program).is_file())
}

fn connect(socket: &Path, child: &mut Child, folder: &Path) -> io::Result<UnixStream> {
    let began = Instant::now();
    loop {
        match UnixStream::connect(socket) {
            Ok(stream) => return Ok(stream),
            Err(error) if began.elapsed() > PATIENCE => return Err(error),
            Err(_) => {}
        }
        if let Some(status) = child.try_wait()? {
            let said = std::fs::read_to_string(folder.join("emulator.txt")).unwrap_or_default();
            return Err(io::Error::other(format!("{PROGRAM} ended at once ({status}): {}", said.trim())));
        }
        sleep(Duration::from_millis(10));
    }
}

fn stop(child: &mut Child) {
    _ = child.kill();
    _ = child.wait();
}

/// A folder of our own; short, since socket names are limited to about a hundred characters.
fn fresh_folder() -> io::Result<PathBuf> {
    let parent = std::env::temp_dir();
    for number in 0..10_000 {
        let folder = parent.join(format!("stillframe-{}-{number}", std::process::id()));
        match std::fs::create_dir(&folder) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            made => return made.map(|()| folder),
        }
    }
    Err(io::Error::other(format!("{} is full of emulator folders", parent.display())))
}
