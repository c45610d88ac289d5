//! Just enough of the Thumb-2 instruction set (Arm, *ARMv7-M Architecture Reference Manual*, DDI 0403, chapter A7) to
//! follow calls and to add up what a function takes from the stack.

/// What an instruction means for calls and stack.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Meaning {
    /// Goes to an address, with or without coming back.
    Branch(u32),
    /// Goes where a register or memory says.
    Indirect,
    /// Takes bytes from the stack.
    Takes(u32),
    /// Moves the stack pointer in a way that cannot be told from the instruction.
    WildStack,
    /// Waits for an interrupt.
    Sleeps,
    /// Nothing to do with any of these.
    Other,
}

/// Length in bytes and meaning of the instruction at `at`, whose half-words are given.
pub fn decode(at: u32, first: u16, second: u16) -> (u32, Meaning) {
    if first >> 11 >= 0b11101 { (4, long(at, u32::from(first), u32::from(second))) } else { (2, short(at, first)) }
}

fn short(at: u32, h: u16) -> Meaning {
    let relative = |bits: u32, value: u32| {
        let shift = 32 - bits;
        at.wrapping_add(4).wrapping_add_signed((value << shift) as i32 >> shift << 1)
    };
    match h {
        // Condition 14 is undefined, 15 a supervisor call.
        _ if h >> 12 == 0b1101 && h >> 8 & 15 < 14 => Meaning::Branch(relative(8, u32::from(h & 0xff))),
        _ if h >> 11 == 0b11100 => Meaning::Branch(relative(11, u32::from(h & 0x7ff))),
        0xbf30 => Meaning::Sleeps,
        // BX lr is a return.
        0x4770 => Meaning::Other,
        _ if h & 0xff07 == 0x4700 || h & 0xff87 == 0x4687 || h & 0xff87 == 0x4487 => Meaning::Indirect,
        _ if h & 0xfe00 == 0xb400 => Meaning::Takes(4 * (h & 0x1ff).count_ones()),
        _ if h & 0xff80 == 0xb080 => Meaning::Takes(4 * u32::from(h & 0x7f)),
        _ if h & 0xff87 == 0x4685 || h & 0xff87 == 0x4485 => Meaning::WildStack,
        _ => Meaning::Other,
    }
}

fn long(at: u32, h1: u32, h2: u32) -> Meaning {
    if h1 >> 11 == 0b11110 && h2 >> 15 == 1 {
        return branch(at, h1, h2);
    }
    let to_sp = h2 & 0x8f00 == 0x0d00;
    match h1 {
        0xe92d => Meaning::Takes(4 * h2.count_ones()),
        _ if h1 & 0xffbf == 0xed2d => Meaning::Takes(4 * (h2 & 0xff)),
        _ if h1 & 0xfbef == 0xf1ad && to_sp => Meaning::Takes(expand(h1, h2)),
        _ if h1 & 0xfbff == 0xf2ad && to_sp => Meaning::Takes(plain(h1, h2)),
        // Stores that move the stack pointer down before they write.
        0xf84d if h2 & 0x0f00 == 0x0d00 => Meaning::Takes(h2 & 0xff),
        0xe96d => Meaning::Takes(4 * (h2 & 0xff)),
        // Subtracting a register from the stack pointer, or computing it from another.
        _ if h1 & 0xffef == 0xebad && to_sp => Meaning::WildStack,
        // A load of the program counter; from the stack it is a return.
        _ if h1 & 0xff70 == 0xf850 && h2 >> 12 == 15 && h1 & 15 != 13 => Meaning::Indirect,
        _ => Meaning::Other,
    }
}

fn branch(at: u32, h1: u32, h2: u32) -> Meaning {
    let (s, j1, j2) = (h1 >> 10 & 1, h2 >> 13 & 1, h2 >> 11 & 1);
    let offset = match (h2 >> 14 & 1, h2 >> 12 & 1) {
        // To ARM code, which this processor does not have.
        (1, 0) => return Meaning::Indirect,
        (_, 1) => {
            let (i1, i2) = (!(j1 ^ s) & 1, !(j2 ^ s) & 1);
            sign(s << 24 | i1 << 23 | i2 << 22 | (h1 & 0x3ff) << 12 | (h2 & 0x7ff) << 1, 25)
        }
        // Conditional; conditions 14 and 15 are barriers, hints and moves to special registers.
        _ if h1 >> 6 & 15 >= 14 => return Meaning::Other,
        _ => sign(s << 20 | j2 << 19 | j1 << 18 | (h1 & 0x3f) << 12 | (h2 & 0x7ff) << 1, 21),
    };
    Meaning::Branch(at.wrapping_add(4).wrapping_add_signed(offset))
}

fn sign(value: u32, bits: u32) -> i32 {
    (value << (32 - bits)) as i32 >> (32 - bits)
}

fn plain(h1: u32, h2: u32) -> u32 {
    (h1 >> 10 & 1) << 11 | (h2 >> 12 & 7) << 8 | h2 & 0xff
}

/// A modified immediate constant (A5.3.2).
fn expand(h1: u32, h2: u32) -> u32 {
    let (bits, low) = (plain(h1, h2), h2 & 0xff);
    match bits >> 8 & 15 {
        0 => low,
        1 => low << 16 | low,
        2 => low << 24 | low << 8,
        3 => low * 0x0101_0101,
        _ => (0x80 | bits & 0x7f).rotate_right(bits >> 7),
    }
}

/// Encodings as the LLVM assembler gives them.
#[test]
fn known_instructions() {
    let at = 0x0800_1000;
    let is = |first, second, length, meaning| assert_eq!(decode(at, first, second), (length, meaning), "{first:04x}");
    is(0xf000, 0xf800, 4, Meaning::Branch(at + 4)); // bl .+4
    is(0xf7ff, 0xfffe, 4, Meaning::Branch(at)); // bl .
    is(0xe7fe, 0, 2, Meaning::Branch(at)); // b .
    is(0xd0fe, 0, 2, Meaning::Branch(at)); // beq .
    is(0xf43f, 0xaffe, 4, Meaning::Branch(at)); // beq.w .
    is(0xf7ff, 0xbffe, 4, Meaning::Branch(at)); // b.w .
    is(0xbf30, 0, 2, Meaning::Sleeps); // wfi
    is(0x4770, 0, 2, Meaning::Other); // bx lr
    is(0x4798, 0, 2, Meaning::Indirect); // blx r3
    is(0x4718, 0, 2, Meaning::Indirect); // bx r3
    is(0xb5f0, 0, 2, Meaning::Takes(20)); // push {r4-r7, lr}
    is(0xe92d, 0x4ff0, 4, Meaning::Takes(36)); // push.w {r4-r11, lr}
    is(0xb082, 0, 2, Meaning::Takes(8)); // sub sp, #8
    is(0xf5ad, 0x5d80, 4, Meaning::Takes(0x1000)); // sub.w sp, sp, #4096
    is(0xf6ad, 0x7dfc, 4, Meaning::Takes(0xffc)); // subw sp, sp, #4092
    is(0xed2d, 0x8b10, 4, Meaning::Takes(64)); // vpush {d8-d15}
    is(0xf84d, 0x8d04, 4, Meaning::Takes(4)); // str r8, [sp, #-4]!
    is(0x46a5, 0, 2, Meaning::WildStack); // mov sp, r4
    is(0xf3ef, 0x8010, 4, Meaning::Other); // mrs r0, primask
    is(0xf380, 0x8808, 4, Meaning::Other); // msr msp, r0
}
