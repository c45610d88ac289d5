//! Where a board is, as written on the command line.

use super::{
    Line,
    emulator::{Emulator, Order},
    stand_in::StandIn,
    stream::Stream,
};
use crate::log::BoardLog;
use std::{fmt, io, os::unix::net::UnixStream, path::PathBuf, str::FromStr, time::Duration};

/// Speed of the board's serial port, bit/s: divides exactly from its internal oscillator.
pub const BAUD: u32 = 1_000_000;
/// Image that `emulator` stands for if none is named, from the project's root: what `firmware/build` makes.
pub const IMAGE: &str = "target/image/stillframe-board.elf";

/// Where a board is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Address {
    /// In this process.
    StandIn,
    /// On a Unix socket.
    Unix(PathBuf),
    /// On a TCP port.
    Tcp(String),
    /// On a serial port.
    Serial {
        /// Device.
        device: String,
        /// Speed, bit/s.
        baud: u32,
    },
    /// In the emulator, to be started on this image.
    Emulator(PathBuf),
}

/// An open line and what is at its end.
pub struct Opened {
    /// The line.
    pub line: Box<dyn Line>,
    /// Wait for the answer to a question asked for the first time; it doubles with each repetition.
    pub patience: Duration,
    /// What a unit of step cost is.
    pub cost_unit: &'static str,
    /// Its log, where there is one.
    pub log: Option<BoardLog>,
}

/// How an emulator is to be run; nothing of it concerns other boards.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct How {
    /// Count instructions.
    pub count: bool,
    /// Talk over the debug channel in place of the serial line.
    pub fast: bool,
}

impl Address {
    /// Opens the line.
    ///
    /// # Errors
    /// If it cannot be opened; the text says what to do.
    pub fn open(&self, how: How) -> io::Result<Opened> {
        let mut log = None;
        let (line, cost_unit): (Box<dyn Line>, _) = match self {
            Self::StandIn => (Box::new(StandIn::new()), "ns of the host's clock"),
            Self::Unix(path) => (Box::new(Stream::new(UnixStream::connect(path)?)), "timer ticks"),
            Self::Tcp(place) => (Box::new(Stream::tcp(place)?), "timer ticks"),
            Self::Serial { device, baud } => {
                let port = serialport::new(device, *baud).timeout(Duration::from_secs(1)).open()?;
                (Box::new(Stream::new(port)), "processor cycles")
            }
            Self::Emulator(image) => {
                let count_shift = how.count.then_some(0);
                let order = Order { image: image.clone(), count_shift, debug: false, pipes: how.fast };
                let mut emulator = Emulator::start(&order)?;
                // An image without log has none.
                log = BoardLog::open(&emulator.log_file(), image).ok();
                if how.fast {
                    emulator.change_to_pipes()?;
                }
                let unit = if how.count { "instructions" } else { "timer ticks of an uncounted emulator" };
                (Box::new(emulator), unit)
            }
        };
        let patience = match self {
            Self::StandIn => Duration::ZERO,
            _ => Duration::from_millis(50),
        };
        Ok(Opened { line, patience, cost_unit, log })
    }
}

impl FromStr for Address {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (kind, rest) = text.split_once(':').unwrap_or((text, ""));
        match (kind, rest) {
            ("stand-in", "") => Ok(Self::StandIn),
            ("unix", path) if !path.is_empty() => Ok(Self::Unix(path.into())),
            ("tcp", place) if place.contains(':') => Ok(Self::Tcp(place.to_owned())),
            ("serial", device) if !device.is_empty() => serial(device),
            ("emulator", "") => Ok(Self::Emulator(IMAGE.into())),
            ("emulator", image) => Ok(Self::Emulator(image.into())),
            _ => Err("write one of: stand-in, emulator, emulator:IMAGE, serial:/dev/ttyUSB0, \
                      serial:/dev/ttyUSB0@1000000, unix:/path/to/socket, tcp:localhost:4000"
                .to_owned()),
        }
    }
}

fn serial(text: &str) -> Result<Address, String> {
    let Some((device, baud)) = text.split_once('@') else {
        return Ok(Address::Serial { device: text.to_owned(), baud: BAUD });
    };
    let baud = baud.parse().map_err(|_| format!("{baud} is no speed in bit/s, such as {BAUD}"))?;
    Ok(Address::Serial { device: device.to_owned(), baud })
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::StandIn => write!(f, "stand-in"),
            Self::Unix(path) => write!(f, "unix:{}", path.display()),
            Self::Tcp(place) => write!(f, "tcp:{place}"),
            Self::Serial { device, baud } => write!(f, "serial:{device}@{baud}"),
            Self::Emulator(image) => write!(f, "emulator:{}", image.display()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_read_as_they_are_written() {
        for text in ["stand-in", "unix:/tmp/a", "tcp:localhost:4000", "serial:/dev/ttyUSB0@115200", "emulator:a.elf"] {
            assert_eq!(text.parse::<Address>().map(|address| address.to_string()), Ok(text.to_owned()));
        }
        let named = "serial:/dev/ttyACM0".parse();
        assert_eq!(named, Ok(Address::Serial { device: "/dev/ttyACM0".into(), baud: BAUD }));
        for text in ["", "unix:", "tcp:4000", "stand-in:x", "serial:/dev/ttyS0@fast", "usb:1"] {
            assert!(text.parse::<Address>().is_err(), "{text}");
        }
    }
}
