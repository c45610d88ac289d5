//! Which pin does what. Pins are set up from these tables and from nothing else, so that a pin that stands here as no
//! output never becomes one. There are no ordnance lines: their table has no room for a pin.

/// A pin of the chip: port (0 for A, 1 for B, 2 for C) and number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Port.
    pub port: u8,
    /// Number, 0 to 15.
    pub number: u8,
}

const fn a(number: u8) -> Place {
    Place { port: 0, number }
}

const fn b(number: u8) -> Place {
    Place { port: 1, number }
}

const fn c(number: u8) -> Place {
    Place { port: 2, number }
}

/// Valves of the jets, in the order of the settings' jet table.
pub const VALVES: [Place; 16] =
    [b(0), b(1), b(2), b(3), b(4), b(5), b(6), b(7), b(8), b(9), b(10), b(11), b(12), b(13), b(14), b(15)];
/// Latch valves of banks A and B.
pub const LATCHES: [Place; 2] = [c(0), c(1)];
/// Shutter.
pub const SHUTTER: Place = c(12);
/// Slit or exposure setting, low bit first.
pub const SLIT: [Place; 2] = [a(11), a(12)];
/// Transmitter.
pub const TRANSMIT: Place = a(8);
/// Brakes off.
pub const BRAKE_OFF: Place = c(11);
/// Clamp off.
pub const CLAMP_OFF: Place = c(10);
/// Roller, supply and take-up motor backwards.
pub const REVERSE: [Place; 3] = [c(2), c(3), c(4)];

/// Arming relay, firing lines and commit switch: no pin. The drivers take no other table for them.
pub const ORDNANCE: [Place; 0] = [];

/// Pins handed to a peripheral, with the number of its function: log and link lines (7), and the duties of roller,
/// supply and take-up motor and platen on timer 8 (3).
pub const FUNCTIONS: [(Place, u8); 8] =
    [(a(2), 7), (a(3), 7), (a(9), 7), (a(10), 7), (c(6), 3), (c(7), 3), (c(8), 3), (c(9), 3)];

/// All output lines.
pub const OUTPUTS: [&[Place]; 8] =
    [&VALVES, &LATCHES, &[SHUTTER], &SLIT, &[TRANSMIT], &[BRAKE_OFF], &[CLAMP_OFF], &REVERSE];

/// Two bits of every pin of a port: 01 output, 10 function, and whatever the chip has at reset elsewhere (its debug
/// pins).
pub const fn modes(port: u8, at_reset: u32) -> u32 {
    let mut modes = at_reset;
    let mut group = 0;
    while group < OUTPUTS.len() {
        let mut index = 0;
        while index < OUTPUTS[group].len() {
            let place = OUTPUTS[group][index];
            if place.port == port {
                modes = modes & !(3 << (2 * place.number)) | 1 << (2 * place.number);
            }
            index += 1;
        }
        group += 1;
    }
    let mut index = 0;
    while index < FUNCTIONS.len() {
        let (place, _) = FUNCTIONS[index];
        if place.port == port {
            modes = modes & !(3 << (2 * place.number)) | 2 << (2 * place.number);
        }
        index += 1;
    }
    modes
}

/// Numbers of the functions of a port's lower (`half` 0) or upper eight pins, four bits each.
pub const fn functions(port: u8, half: u8) -> u32 {
    let mut bits = 0;
    let mut index = 0;
    while index < FUNCTIONS.len() {
        let (place, function) = FUNCTIONS[index];
        if place.port == port && place.number / 8 == half {
            bits |= (function as u32) << (4 * (place.number % 8));
        }
        index += 1;
    }
    bits
}

/// Mask of a port's output pins.
pub const fn outputs(port: u8) -> u32 {
    let mut mask = 0;
    let mut number = 0;
    while number < 16 {
        // Counted from no pin set up at all, what has mode 01 is an output.
        mask |= (modes(port, 0) >> (2 * number) & 1) << number;
        number += 1;
    }
    mask
}
