//! The emulator's debug port: a small client of the GDB remote serial protocol (*Debugging with GDB*, appendix
//! *Remote Serial Protocol*): stop, go on, read and write memory and registers.

use std::{
    io::{self, Read, Write},
    os::unix::net::UnixStream,
    path::Path,
    time::Duration,
};

/// Longest wait for a reply.
const PATIENCE: Duration = Duration::from_secs(5);
const INTERRUPT: u8 = 3;

/// A connection to the debug port. The processor stands still from the connection on until it is told to go on.
#[derive(Debug)]
pub struct DebugPort {
    stream: UnixStream,
}

impl DebugPort {
    /// Connects.
    ///
    /// # Errors
    /// If nobody listens.
    pub fn connect(socket: &Path) -> io::Result<Self> {
        let stream = UnixStream::connect(socket)?;
        stream.set_read_timeout(Some(PATIENCE))?;
        let mut port = Self { stream };
        // Why it stands still; an emulator that has just stopped for the connection may say so unasked as well.
        port.ask("?")?;
        port.drop_unasked()?;
        Ok(port)
    }

    /// Lets the processor run.
    ///
    /// # Errors
    /// If the port is gone.
    pub fn go_on(&mut self) -> io::Result<()> {
        self.send("c")
    }

    /// Stops the processor.
    ///
    /// # Errors
    /// If it does not stop.
    pub fn stop(&mut self) -> io::Result<()> {
        self.stream.write_all(&[INTERRUPT])?;
        self.reply().map(|_| ())
    }

    /// Reads a byte of memory.
    ///
    /// # Errors
    /// If there is no memory there.
    pub fn read(&mut self, address: u32) -> io::Result<u8> {
        let reply = self.ask(&format!("m{address:x},1"))?;
        u8::from_str_radix(&reply, 16).map_err(|_| refused("reading", address, &reply))
    }

    /// Writes a byte of memory.
    ///
    /// # Errors
    /// If there is no memory there.
    pub fn write(&mut self, address: u32, byte: u8) -> io::Result<()> {
        let reply = self.ask(&format!("M{address:x},1:{byte:02x}"))?;
        if reply == "OK" { Ok(()) } else { Err(refused("writing", address, &reply)) }
    }

    /// Turns over a bit of one of the sixteen core registers.
    ///
    /// # Errors
    /// If registers cannot be read and written.
    pub fn flip_register(&mut self, register: usize, bit: u32) -> io::Result<()> {
        let all = self.ask("g")?;
        // Eight digits a register, the least byte first.
        let at = 8 * register + 2 * (bit / 8) as usize;
        let byte = all.get(at..at + 2).and_then(|digits| u8::from_str_radix(digits, 16).ok());
        let byte = byte.ok_or_else(|| refused("reading register", register as u32, &all))?;
        let changed = format!("{}{:02x}{}", &all[..at], byte ^ (1 << (bit % 8)), &all[at + 2..]);
        let reply = self.ask(&format!("G{changed}"))?;
        if reply == "OK" { Ok(()) } else { Err(refused("writing register", register as u32, &reply)) }
    }

    fn ask(&mut self, question: &str) -> io::Result<String> {
        self.send(question)?;
        self.reply()
    }

    fn send(&mut self, text: &str) -> io::Result<()> {
        let sum = text.bytes().fold(0_u8, u8::wrapping_add);
        self.stream.write_all(format!("${text}#{sum:02x}").as_bytes())
    }

    /// The next packet, acknowledged.
    fn reply(&mut self) -> io::Result<String> {
        while self.byte()? != b'$' {}
        let mut text = String::new();
        loop {
            match self.byte()? {
                b'#' => break,
                byte => text.push(char::from(byte)),
            }
        }
        // The line between two processes loses nothing: its check sum is not looked at.
        self.byte()?;
        self.byte()?;
        self.stream.write_all(b"+")?;
        Ok(text)
    }

    fn drop_unasked(&mut self) -> io::Result<()> {
        self.stream.set_read_timeout(Some(Duration::from_millis(50)))?;
        let mut bytes = [0; 256];
        while matches!(self.stream.read(&mut bytes), Ok(count) if count > 0) {
            self.stream.write_all(b"+")?;
        }
        self.stream.set_read_timeout(Some(PATIENCE))
    }

    fn byte(&mut self) -> io::Result<u8> {
        let mut byte = [0];
        self.stream.read_exact(&mut byte)?;
        Ok(byte[0])
    }
}

fn refused(what: &str, at: u32, reply: &str) -> io::Error {
    io::Error::other(format!("the debug port refused {what} {at:#x}: {reply}"))
}
