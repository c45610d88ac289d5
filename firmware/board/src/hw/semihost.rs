//! Pipes of the host that runs the emulator, through semihosting (Arm, *Semihosting for AArch32 and AArch64*, IHI
//! 0109): open, read, write and close, by a breakpoint that the emulator answers.

use cortex_m::asm::semihosting_syscall;
use stillframe_wire::message::MAX_PATH;

const OPEN: u32 = 0x01;
const CLOSE: u32 = 0x02;
const WRITE: u32 = 0x05;
const READ: u32 = 0x06;
const READ_BINARY: u32 = 1;
const WRITE_BINARY: u32 = 5;
const FAILED: u32 = u32::MAX;

/// A pair of open pipes.
#[derive(Clone, Copy, Debug)]
pub struct Channel {
    from: u32,
    to: u32,
}

impl Channel {
    /// Opens both; waits until the driver has opened its ends, in the same order.
    pub fn open(from: &str, to: &str) -> Option<Self> {
        let from = open(from, READ_BINARY)?;
        let Some(to) = open(to, WRITE_BINARY) else {
            close(from);
            return None;
        };
        Some(Self { from, to })
    }

    /// Reads what is there, waiting for at least a byte; nothing if the other end is closed.
    pub fn read<'a>(&self, into: &'a mut [u8]) -> &'a [u8] {
        let room = into.len() as u32;
        let block = [self.from, into.as_mut_ptr() as u32, room];
        // SAFETY: the block tells where `into` is and how long.
        let left = unsafe { semihosting_syscall(READ, block.as_ptr() as u32) };
        into.get(..room.saturating_sub(left) as usize).unwrap_or_default()
    }

    /// Writes all of it; `false` if that failed.
    pub fn write(&self, bytes: &[u8]) -> bool {
        let block = [self.to, bytes.as_ptr() as u32, bytes.len() as u32];
        // SAFETY: the block tells where `bytes` are and how many.
        unsafe { semihosting_syscall(WRITE, block.as_ptr() as u32) == 0 }
    }

    /// Closes both.
    pub fn close(self) {
        close(self.from);
        close(self.to);
    }
}

fn open(path: &str, mode: u32) -> Option<u32> {
    let mut name = [0_u8; MAX_PATH + 1];
    if path.len() > MAX_PATH {
        return None;
    }
    for (to, byte) in name.iter_mut().zip(path.bytes()) {
        *to = byte;
    }
    let block = [name.as_ptr() as u32, mode, path.len() as u32];
    // SAFETY: the block tells where the name is, which ends in a zero, and how long.
    let handle = unsafe { semihosting_syscall(OPEN, block.as_ptr() as u32) };
    (handle != FAILED).then_some(handle)
}

fn close(handle: u32) {
    let block = [handle];
    // SAFETY: the block holds the handle.
    unsafe { semihosting_syscall(CLOSE, block.as_ptr() as u32) };
}
