//! Byte streams of the operating system.

use super::Line;
use serialport::SerialPort;
use std::{
    io::{self, Read, Write},
    net::TcpStream,
    os::unix::net::UnixStream,
    time::Duration,
};

/// A stream whose reads can be given a limit of time.
pub trait Patient: Read + Write + Send {
    /// Reads give up after this long.
    ///
    /// # Errors
    /// If the system refuses.
    fn set_patience(&mut self, patience: Duration) -> io::Result<()>;
}

impl Patient for UnixStream {
    fn set_patience(&mut self, patience: Duration) -> io::Result<()> {
        self.set_read_timeout(Some(patience))
    }
}

impl Patient for TcpStream {
    fn set_patience(&mut self, patience: Duration) -> io::Result<()> {
        self.set_read_timeout(Some(patience))
    }
}

impl Patient for Box<dyn SerialPort> {
    fn set_patience(&mut self, patience: Duration) -> io::Result<()> {
        Ok(self.set_timeout(patience)?)
    }
}

/// A line over a stream.
#[derive(Debug)]
pub struct Stream<S> {
    stream: S,
    patience: Duration,
}

impl<S: Patient> Stream<S> {
    /// A line over `stream`.
    pub fn new(stream: S) -> Self {
        Self { stream, patience: Duration::ZERO }
    }
}

impl Stream<TcpStream> {
    /// A line over TCP.
    ///
    /// # Errors
    /// If nobody answers there.
    pub fn tcp(place: &str) -> io::Result<Self> {
        let stream = TcpStream::connect(place)?;
        // A frame waits for nothing: without this the sender holds it back until the last one is acknowledged.
        stream.set_nodelay(true)?;
        Ok(Self::new(stream))
    }
}

impl<S: Patient> Line for Stream<S> {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.stream.write_all(bytes)?;
        self.stream.flush()
    }

    fn receive(&mut self, into: &mut [u8], patience: Duration) -> io::Result<usize> {
        // A read without limit would be asked for by zero.
        let patience = patience.max(Duration::from_millis(1));
        if patience != self.patience {
            self.stream.set_patience(patience)?;
            self.patience = patience;
        }
        match self.stream.read(into) {
            Ok(0) => Err(io::Error::new(io::ErrorKind::UnexpectedEof, "the other end has closed the line")),
            Ok(count) => Ok(count),
            Err(error) => match error.kind() {
                io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut | io::ErrorKind::Interrupted => Ok(0),
                _ => Err(error),
            },
        }
    }
}
