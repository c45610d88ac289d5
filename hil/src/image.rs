//! What an image takes up, from its ELF file.

use object::{Object, ObjectSegment, ObjectSymbol, elf, read::elf::ElfFile32};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::{io, path::Path};

/// Where the STM32F405 has flash and RAM (RM0090, *Memory map*).
const FLASH: std::ops::Range<u64> = 0x0800_0000..0x0810_0000;
const RAM: std::ops::Range<u64> = 0x2000_0000..0x2002_0000;

/// Sizes of an image.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Sizes {
    /// Bytes of flash, starting values of RAM included.
    pub flash_bytes: u64,
    /// Bytes of RAM that are always in use, the stack's own region not included where it is set apart.
    pub ram_bytes: u64,
}

/// Reads an image's sizes.
///
/// # Errors
/// If the file cannot be read or is no 32-bit ELF.
pub fn sizes(path: &Path) -> io::Result<Sizes> {
    let bytes = std::fs::read(path)?;
    let file = parse(path, &bytes)?;
    let mut sizes = Sizes { flash_bytes: 0, ram_bytes: 0 };
    for segment in file.segments() {
        let header = segment.elf_program_header();
        let (endian, _) = (file.endian(), ());
        let loaded_at = u64::from(header.p_paddr.get(endian));
        if header.p_type.get(endian) == elf::PT_LOAD && FLASH.contains(&loaded_at) {
            sizes.flash_bytes += u64::from(header.p_filesz.get(endian));
        }
        if RAM.contains(&segment.address()) {
            sizes.ram_bytes += segment.size();
        }
    }
    Ok(sizes)
}

/// Stretches of RAM that hold something: from the first of RAM's segments to the last's end, by address.
///
/// # Errors
/// As for [`sizes`].
pub fn ram(path: &Path) -> io::Result<Vec<std::ops::Range<u32>>> {
    let bytes = std::fs::read(path)?;
    let file = parse(path, &bytes)?;
    let inside = file.segments().filter(|segment| RAM.contains(&segment.address()) && segment.size() > 0);
    Ok(inside.map(|segment| segment.address() as u32..(segment.address() + segment.size()) as u32).collect())
}

/// Address of a symbol.
///
/// # Errors
/// As for [`sizes`].
pub fn symbol(path: &Path, name: &str) -> io::Result<Option<u32>> {
    let bytes = std::fs::read(path)?;
    let file = parse(path, &bytes)?;
    let found = file.symbols().find(|symbol| symbol.name() == Ok(name)).map(|symbol| symbol.address() as u32);
    Ok(found)
}

fn parse<'a>(path: &Path, bytes: &'a [u8]) -> io::Result<ElfFile32<'a>> {
    ElfFile32::parse(bytes).map_err(|error| io::Error::other(format!("{} is no image: {error}", path.display())))
}
