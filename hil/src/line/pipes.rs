//! A pair of named pipes: the emulator's debug channel.

use super::Line;
use rustix::{
    event::{PollFd, PollFlags, Timespec, poll},
    fs::{CWD, FileType, Mode, mknodat},
};
use std::{
    fs::{File, OpenOptions},
    io::{self, Read, Write},
    path::{Path, PathBuf},
    time::Duration,
};

/// Both pipes, open.
#[derive(Debug)]
pub struct Pipes {
    up: File,
    down: File,
    /// Path of the pipe to the board.
    pub up_path: PathBuf,
    /// Path of the pipe from the board.
    pub down_path: PathBuf,
}

impl Pipes {
    /// Makes both pipes in a folder.
    ///
    /// # Errors
    /// If they cannot be made or opened.
    pub fn make(folder: &Path) -> io::Result<Self> {
        let (up_path, down_path) = (folder.join("up"), folder.join("down"));
        for path in [&up_path, &down_path] {
            mknodat(CWD, path, FileType::Fifo, Mode::RUSR | Mode::WUSR, 0)?;
        }
        // Opened both ways, so that opening waits for nobody.
        let open = |path: &Path| OpenOptions::new().read(true).write(true).open(path);
        Ok(Self { up: open(&up_path)?, down: open(&down_path)?, up_path, down_path })
    }
}

impl Drop for Pipes {
    fn drop(&mut self) {
        _ = std::fs::remove_file(&self.up_path);
        _ = std::fs::remove_file(&self.down_path);
    }
}

impl Line for Pipes {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.up.write_all(bytes)
    }

    fn receive(&mut self, into: &mut [u8], patience: Duration) -> io::Result<usize> {
        let limit = Timespec { tv_sec: patience.as_secs() as i64, tv_nsec: i64::from(patience.subsec_nanos()) };
        let mut waiting = [PollFd::new(&self.down, PollFlags::IN)];
        match poll(&mut waiting, Some(&limit)) {
            Ok(0) | Err(rustix::io::Errno::INTR) => Ok(0),
            Ok(_) => self.down.read(into),
            Err(error) => Err(error.into()),
        }
    }
}
