//! What the linked image holds: nothing that panics, calls itself, or takes more than its budget.
//!
//! What this does not show: that the processor does not fault on a bad address (all code but the few lines under
//! `firmware/board/src/hw` is safe Rust), and that loops end. Frames are bounded from above: every instruction of a
//! function that takes from the stack is counted once.

use crate::{elf::Image, image};
use std::collections::{BTreeMap, BTreeSet};

/// Pushed at the entry of an interrupt: 26 words, and one to align.
const ENTRY_BYTES: u32 = 27 * 4;
const SECTIONS: [&str; 7] = [".vector_table", ".text", ".rodata", ".data", ".gnu.sgstubs", ".bss", ".uninit"];
const PANICS: [&str; 5] = ["panic", "unwrap_failed", "expect_failed", "begin_unwind", "index_fail"];

#[derive(serde::Deserialize)]
struct Budget {
    margin: f64,
    flash_bytes: f64,
    ram_bytes: f64,
    stack_bytes: f64,
}

fn budget() -> Budget {
    let text = std::fs::read_to_string(image::root().join("firmware/board/budget.toml")).unwrap();
    toml::from_str(&text).unwrap()
}

/// Functions reachable from the vector table that panic, as (name, callers).
fn panics(image: &Image) -> Vec<String> {
    let reachable = image.reachable(&image.vectors);
    let named = reachable.iter().filter_map(|address| image.functions.get(address)).map(|f| f.name.clone());
    named.filter(|name| PANICS.iter().any(|word| name.contains(word))).collect()
}

/// Stack in the worst case: the main program and every interrupt's level on top of it.
fn worst_stack(image: &Image) -> Result<u32, Vec<u32>> {
    let entry = image.vectors[0];
    let (mut worst, way) = image.deepest(entry)?;
    println!("main program: {worst} bytes by way of {:#?}", image.names(&way));
    // Each interrupt has a priority of its own, so that all may be nested. The fault handler starts a new stack.
    let handlers: BTreeSet<u32> = image.vectors[1..].iter().copied().collect();
    for handler in handlers {
        let (depth, way) = image.deepest(handler)?;
        println!("{}: {depth} bytes", image.names(&way)[0]);
        worst += depth + ENTRY_BYTES;
    }
    Ok(worst)
}

#[test]
fn nothing_in_the_image_can_panic() {
    // The linker's proof: the panic handler calls what does not exist.
    let proof = Image::read(&image::build("proof"));
    let inside: Vec<_> = proof.functions.values().filter(|f| PANICS.iter().any(|word| f.name.contains(word))).collect();
    assert!(inside.is_empty(), "{inside:?}");
    // With the log, dead code of its library keeps panics in the image; none can be reached.
    assert_eq!(panics(&Image::read(image::elf())), [""; 0]);
}

#[test]
fn everything_reachable_can_be_followed() {
    let image = Image::read(image::elf());
    for address in image.reachable(&image.vectors) {
        let (start, function) = image.function_at(address).expect("calls end in functions");
        assert_eq!(start, address, "{} is entered in its middle", function.name);
        assert!(function.unclear.is_empty(), "{}: {:08x?}", function.name, function.unclear);
    }
}

#[test]
fn no_heap_and_no_unexpected_section() {
    let image = Image::read(image::elf());
    for (name, ..) in &image.sections {
        assert!(SECTIONS.contains(&name.as_str()), "{name}");
    }
    for name in image.symbols.keys() {
        assert!(!name.contains("rust_alloc") && !name.contains("malloc"), "{name}");
    }
}

#[test]
fn image_and_stack_stay_inside_the_budget() {
    let (image, budget) = (Image::read(image::elf()), budget());
    let stack = worst_stack(&image).unwrap_or_else(|way| panic!("recursion: {:#?}", image.names(&way)));
    let flash = image.size(&[".vector_table", ".text", ".rodata", ".data", ".gnu.sgstubs"]);
    let ram = image.size(&[".data", ".bss", ".uninit"]);
    println!("flash {flash}, RAM {ram}, worst stack {stack}");
    let region = image.symbols["_stack_start"] - image.symbols["_stack_end"];
    assert_eq!(f64::from(region), budget.stack_bytes, "the linker's stack is the budget's");
    for (what, used, most) in
        [("flash", flash, budget.flash_bytes), ("RAM", ram, budget.ram_bytes), ("stack", stack, budget.stack_bytes)]
    {
        let allowed = most * (1.0 - budget.margin);
        assert!(f64::from(used) <= allowed, "{what}: {used} of {most} bytes leave less than the margin");
    }
}

/// The frames added up here are no smaller than what the compiler says of them. With the compiler's own sizes in the
/// image (a build of the core library has them) that is all of a frame; without, what the call-frame information for
/// debuggers tells: the registers saved. The rest is then held against a run by the lockstep tests ([`worst`]).
#[test]
fn frames_agree_with_the_compiler() {
    let image = Image::read(image::elf());
    let (what, known) = match image.stack_sizes.len() {
        0 => ("saved registers", saved_registers(&Image::section(image::elf(), ".debug_frame"))),
        _ => ("frame", image.stack_sizes.clone()),
    };
    let mut compared = 0;
    for (address, size) in &known {
        let Some(function) = image.functions.get(address) else { continue };
        assert!(function.frame >= *size, "{}: {} here, {what} {size} by the compiler", function.name, function.frame);
        compared += u32::from(*size > 0);
    }
    println!("{what} of {compared} functions compared");
    assert!(compared >= 40, "only {compared} functions to compare: nothing is shown");
}

/// Depth to which each function saves registers, from the call-frame information (DWARF 5, 6.4).
fn saved_registers(section: &[u8]) -> BTreeMap<u32, u32> {
    use gimli::{BaseAddresses, CieOrFde, DebugFrame, LittleEndian, RegisterRule, UnwindContext, UnwindSection};
    let mut frames = DebugFrame::new(section, LittleEndian);
    frames.set_address_size(4);
    let (bases, mut found) = (BaseAddresses::default(), BTreeMap::new());
    let mut entries = frames.entries(&bases);
    while let Some(entry) = entries.next().unwrap() {
        let CieOrFde::Fde(partial) = entry else { continue };
        let fde = partial.parse(|_, bases, offset| frames.cie_from_offset(bases, offset)).unwrap();
        let (mut context, mut deepest) = (UnwindContext::new(), 0);
        let mut rows = fde.rows(&frames, &bases, &mut context).unwrap();
        while let Some(row) = rows.next_row().unwrap() {
            let saved = row.registers().filter_map(|(_, rule)| match rule {
                RegisterRule::Offset(offset) => u32::try_from(-offset).ok(),
                _ => None,
            });
            deepest = saved.fold(deepest, u32::max);
        }
        found.insert(fde.initial_address() as u32, deepest);
    }
    found
}

/// Stack in the worst case, for those who have measured it.
pub fn worst() -> u32 {
    let image = Image::read(image::elf());
    worst_stack(&image).unwrap_or_else(|way| panic!("recursion: {:#?}", image.names(&way)))
}

/// A crystal that does not start leaves the board on its internal oscillator. The emulator has no oscillators at all, so
/// that this is what the variant for a crystal shows there; at 64 MHz it has not run anywhere yet.
#[test]
fn the_variant_for_a_crystal_is_sound_and_comes_up_without_one() {
    let elf = image::build("crystal");
    let image = Image::read(&elf);
    assert_eq!(panics(&image), [""; 0]);
    let mut board = crate::emulator::Emulator::start(&elf, &[]);
    let hello = board.ask(&stillframe_wire::ToBoard::Hello);
    assert!(matches!(hello, stillframe_wire::FromBoard::Hello { clock_hz: 16_000_000, .. }), "{hello:?}");
}

/// An image with a panic and a recursion on purpose fails the checks: they can fail.
#[test]
fn a_faulty_image_is_found_out() {
    let faulty = Image::read(&image::build("faulty"));
    assert!(!panics(&faulty).is_empty());
    let way = worst_stack(&faulty).unwrap_err();
    assert!(faulty.names(&way).iter().any(|name| name.contains("faulty")), "{:?}", faulty.names(&way));
}
