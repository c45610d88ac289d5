//! The emulator's debug port, as far as it takes to break a board: stop, breakpoint, registers, go on.
//!
//! Remote serial protocol of the GNU debugger (its manual, appendix E): `$text#sum`, answered by `+`.

use std::{
    io::{Read, Write},
    os::unix::net::UnixStream,
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

/// Places of registers in the protocol's list, in words. Eight of an old floating-point unit, three words each, and its
/// status stand between the program counter and the program status.
pub const R0: usize = 0;
pub const SP: usize = 13;
pub const PC: usize = 15;
pub const XPSR: usize = PC + 1 + 8 * 3 + 1;

/// Words for the emulator's command line that open a debug port in a folder.
pub fn words(folder: &Path) -> [String; 4] {
    let socket = format!("socket,path={},server=on,wait=off,id=debug", socket(folder).display());
    ["-chardev".into(), socket, "-gdb".into(), "chardev:debug".into()]
}

fn socket(folder: &Path) -> PathBuf {
    folder.join("debug")
}

pub struct Debugger(UnixStream);

impl Debugger {
    /// Connects, which stops the board.
    pub fn stop(folder: &Path) -> Self {
        let stream = UnixStream::connect(socket(folder)).unwrap();
        stream.set_read_timeout(Some(Duration::from_millis(300))).unwrap();
        let mut debugger = Self(stream);
        // What it says of its own accord on connecting is not an answer to anything.
        debugger.drain();
        debugger
    }

    /// Sets a register.
    pub fn set(&mut self, register: usize, value: u32) {
        let registers = self.ask("g");
        let place = 8 * register..8 * register + 8;
        let digits: String = value.to_le_bytes().iter().map(|byte| format!("{byte:02x}")).collect();
        let mut changed = registers.clone();
        changed.replace_range(place, &digits);
        assert_eq!(self.ask(&format!("G{changed}")), "OK");
    }

    /// Lets the board go on until it comes to an address; meanwhile `poke` gives it a reason to.
    pub fn run_to(&mut self, address: u32, poke: impl FnOnce()) {
        assert_eq!(self.ask(&format!("Z0,{address:x},2")), "OK");
        self.send("c");
        poke();
        let stop = self.answer("the breakpoint");
        assert!(stop.starts_with("T05"), "stopped for another reason: {stop}");
        assert_eq!(self.ask(&format!("z0,{address:x},2")), "OK");
        assert_eq!(self.get(PC), address, "stopped somewhere else");
    }

    /// Value of a register.
    pub fn get(&mut self, register: usize) -> u32 {
        let registers = self.ask("g");
        u32::from_str_radix(&registers[8 * register..8 * register + 8], 16).unwrap().swap_bytes()
    }

    /// Lets the board go on and leaves it alone.
    pub fn go_on(mut self) {
        assert_eq!(self.ask("D"), "OK");
    }

    fn ask(&mut self, text: &str) -> String {
        self.send(text);
        self.answer(text)
    }

    fn send(&mut self, text: &str) {
        let sum = text.bytes().fold(0_u8, |sum, byte| sum.wrapping_add(byte));
        self.0.write_all(format!("${text}#{sum:02x}").as_bytes()).unwrap();
    }

    fn answer(&mut self, to: &str) -> String {
        let (began, mut got) = (Instant::now(), String::new());
        loop {
            assert!(began.elapsed() < Duration::from_secs(20), "no answer to {to}: {got}");
            got += &self.drain();
            if let Some((answer, _)) = got.split_once('$').and_then(|(_, rest)| rest.split_once('#')) {
                self.0.write_all(b"+").unwrap();
                return answer.to_owned();
            }
        }
    }

    fn drain(&mut self) -> String {
        let (mut all, mut bytes) = (String::new(), [0; 4_096]);
        while let Ok(got @ 1..) = self.0.read(&mut bytes) {
            all += std::str::from_utf8(&bytes[..got]).unwrap();
            if all.contains('#') {
                break;
            }
        }
        all
    }
}
