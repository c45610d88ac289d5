//! The machine emulator: started on the board's image, stopped when the bench is done with it.

use super::{Line, stream::Stream};
use std::{
    ffi::OsString,
    io,
    os::unix::net::UnixStream,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    thread::sleep,
    time::{Duration, Instant},
};

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
    /// A debug port to be opened on this Unix socket.
    pub debug: bool,
}

/// A running emulator and the line to the board's first serial port.
#[derive(Debug)]
pub struct Emulator {
    child: Child,
    line: Stream<UnixStream>,
    folder: PathBuf,
}

impl Emulator {
    /// Starts the emulator on an image and connects to serial port 1; serial port 2 goes to a file.
    ///
    /// # Errors
    /// If the emulator isn't installed, the image isn't there, or the serial line doesn't come up.
    pub fn start(order: &Order) -> io::Result<Self> {
        if !order.image.is_file() {
            let text = format!("there is no image at {}: build it first (docs: bench)", order.image.display());
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
            Ok(stream) => Ok(Self { child, line: Stream::new(stream), folder }),
            Err(error) => {
                stop(&mut child);
                _ = std::fs::remove_dir_all(&folder);
                Err(error)
            }
        }
    }

    /// Bytes of the board's log so far.
    ///
    /// # Errors
    /// If the log cannot be read.
    pub fn log(&self) -> io::Result<Vec<u8>> {
        std::fs::read(self.folder.join("log"))
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
        self.line.send(bytes)
    }

    fn receive(&mut self, into: &mut [u8], patience: Duration) -> io::Result<usize> {
        self.line.receive(into, patience)
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
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        add(&["taskset", "-c", &(cores - 1).to_string()]);
    }
    let path = |name: &str| folder.join(name).display().to_string();
    add(&[PROGRAM, "-machine", MACHINE, "-nographic", "-monitor", "none", "-kernel"]);
    add(&[&order.image.display().to_string()]);
    add(&["-serial", &format!("unix:{},server=on,wait=off", path("serial"))]);
    add(&["-serial", &format!("file:{}", path("log"))]);
    if let Some(shift) = order.count_shift {
        add(&["-icount", &format!("shift={shift}")]);
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
