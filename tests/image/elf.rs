//! An image's functions, who calls whom, and what each takes from the stack.

use crate::thumb::{Meaning, decode};
use object::{Object, ObjectSection, ObjectSymbol, SectionFlags, SymbolKind};
use std::{
    collections::{BTreeMap, BTreeSet},
    path::Path,
};

/// A function of an image.
#[derive(Debug)]
pub struct Function {
    pub name: String,
    end: u32,
    /// Functions it goes to.
    pub calls: BTreeSet<u32>,
    /// Upper bound of what it takes from the stack, without its callees.
    pub frame: u32,
    /// Addresses of what makes it impossible to follow.
    pub unclear: Vec<u32>,
    /// Addresses at which it waits for an interrupt.
    pub sleeps: Vec<u32>,
}

/// An image.
pub struct Image {
    /// By address.
    pub functions: BTreeMap<u32, Function>,
    /// Vectors without the first word, which is the stack pointer; address of the function each.
    pub vectors: Vec<u32>,
    /// Name, address and size of what is loaded or reserved.
    pub sections: Vec<(String, u32, u32)>,
    /// All symbols, with their values.
    pub symbols: BTreeMap<String, u32>,
    /// What the compiler says functions take from the stack, where it was asked to.
    pub stack_sizes: BTreeMap<u32, u32>,
}

impl Image {
    pub fn read(path: &Path) -> Self {
        let bytes = std::fs::read(path).unwrap();
        let file = object::File::parse(&*bytes).unwrap();
        let loaded =
            |section: &object::Section| matches!(section.flags(), SectionFlags::Elf { sh_flags } if sh_flags & 2 != 0);
        let sections = file
            .sections()
            .filter(loaded)
            .map(|s| (s.name().unwrap().to_owned(), s.address() as u32, s.size() as u32))
            .collect();
        let symbols = file.symbols().map(|s| (s.name().unwrap().to_owned(), s.address() as u32)).collect();
        let words = |name: &str| -> Vec<u32> {
            let section = file.section_by_name(name).unwrap();
            section.data().unwrap().chunks_exact(4).map(|w| u32::from_le_bytes(w.try_into().unwrap())).collect()
        };
        let text = file.section_by_name(".text").unwrap();
        let code = Code { start: text.address() as u32, bytes: text.data().unwrap(), data: data_ranges(&file) };
        Self {
            functions: functions(&file, &code),
            vectors: words(".vector_table").into_iter().skip(1).filter(|&word| word != 0).map(|w| w & !1).collect(),
            sections,
            symbols,
            stack_sizes: stack_sizes(&file),
        }
    }

    /// Content of a section.
    pub fn section(path: &Path, name: &str) -> Vec<u8> {
        let bytes = std::fs::read(path).unwrap();
        let file = object::File::parse(&*bytes).unwrap();
        file.section_by_name(name).map(|section| section.data().unwrap().to_vec()).unwrap_or_default()
    }

    /// Function in which an address lies.
    pub fn function_at(&self, address: u32) -> Option<(u32, &Function)> {
        let (start, function) = self.functions.range(..=address).next_back()?;
        (address < function.end).then_some((*start, function))
    }

    /// Everything that can be reached from `from`.
    pub fn reachable(&self, from: &[u32]) -> BTreeSet<u32> {
        let (mut seen, mut open) = (BTreeSet::new(), from.to_vec());
        while let Some(address) = open.pop() {
            if seen.insert(address) {
                open.extend(self.functions.get(&address).into_iter().flat_map(|function| &function.calls));
            }
        }
        seen
    }

    /// Deepest stack from a function on, with the way there; the way round if it calls itself, directly or not.
    pub fn deepest(&self, from: u32) -> Result<(u32, Vec<u32>), Vec<u32>> {
        self.dig(from, &mut Vec::new(), &mut BTreeMap::new())
    }

    fn dig(
        &self,
        at: u32,
        way: &mut Vec<u32>,
        known: &mut BTreeMap<u32, (u32, Vec<u32>)>,
    ) -> Result<(u32, Vec<u32>), Vec<u32>> {
        if let Some(place) = way.iter().position(|&step| step == at) {
            return Err(way[place..].to_vec());
        }
        if let Some(found) = known.get(&at) {
            return Ok(found.clone());
        }
        let function = &self.functions[&at];
        way.push(at);
        let mut deepest = (0, Vec::new());
        for &callee in &function.calls {
            let found = self.dig(callee, way, known)?;
            if found.0 > deepest.0 {
                deepest = found;
            }
        }
        way.pop();
        deepest.0 += function.frame;
        deepest.1.insert(0, at);
        known.insert(at, deepest.clone());
        Ok(deepest)
    }

    pub fn names(&self, way: &[u32]) -> Vec<&str> {
        way.iter().map(|address| self.functions[address].name.as_str()).collect()
    }

    /// Address of the only instruction that waits for an interrupt.
    pub fn sleep(&self) -> u32 {
        let mut found = self.functions.values().flat_map(|function| &function.sleeps);
        let sleep = *found.next().expect("the processor sleeps somewhere");
        assert_eq!(found.next(), None, "and only there");
        sleep
    }

    /// Size of the sections whose names are given.
    pub fn size(&self, names: &[&str]) -> u32 {
        self.sections.iter().filter(|(name, ..)| names.contains(&name.as_str())).map(|(.., size)| size).sum()
    }
}

struct Code<'a> {
    start: u32,
    bytes: &'a [u8],
    /// Stretches that are no instructions.
    data: Vec<(u32, u32)>,
}

impl Code<'_> {
    fn half_word(&self, at: u32) -> u16 {
        let offset = (at - self.start) as usize;
        self.bytes.get(offset..offset + 2).map_or(0, |pair| u16::from_le_bytes(pair.try_into().unwrap()))
    }

    /// End of the data in which an address lies.
    fn data_end(&self, at: u32) -> Option<u32> {
        self.data.iter().find(|&&(start, end)| (start..end).contains(&at)).map(|&(_, end)| end)
    }
}

/// From the mapping symbols `$d` and `$t` (Arm, *ELF for the Arm Architecture*, IHI 0044, 5.5.5).
fn data_ranges(file: &object::File) -> Vec<(u32, u32)> {
    let marks = file.symbols().filter_map(|symbol| {
        let name = symbol.name().unwrap();
        let data = name == "$d" || name.starts_with("$d.");
        (data || name == "$t" || name.starts_with("$t.")).then_some((symbol.address() as u32, data))
    });
    let marks: BTreeMap<u32, bool> = marks.collect();
    let ends = marks.keys().skip(1).copied().chain([u32::MAX]);
    marks.iter().zip(ends).filter(|((_, data), _)| **data).map(|((start, _), end)| (*start, end)).collect()
}

fn functions(file: &object::File, code: &Code) -> BTreeMap<u32, Function> {
    let text = code.start..code.start + code.bytes.len() as u32;
    let mut starts: BTreeMap<u32, String> = BTreeMap::new();
    for symbol in file.symbols().filter(|symbol| symbol.kind() == SymbolKind::Text) {
        let (address, name) = (symbol.address() as u32 & !1, symbol.name().unwrap());
        if text.contains(&address) && !name.starts_with('$') {
            starts.insert(address, name.to_owned());
        }
    }
    // A function reaches to the next: what lies between them is padding and constants.
    let ends: Vec<u32> = starts.keys().skip(1).copied().chain([text.end]).collect();
    let find = |address: u32| starts.range(..=address).next_back().map(|(start, _)| *start);
    let read = |((&start, name), end): ((&u32, &String), u32)| {
        let mut function = Function {
            name: format!("{:#}", rustc_demangle::demangle(name)),
            end,
            calls: BTreeSet::new(),
            frame: 0,
            unclear: Vec::new(),
            sleeps: Vec::new(),
        };
        let mut at = start;
        while at < end {
            if let Some(after) = code.data_end(at) {
                at = after;
                continue;
            }
            let (length, meaning) = decode(at, code.half_word(at), code.half_word(at + 2));
            match meaning {
                Meaning::Branch(to) if (start + 1..end).contains(&to) => {}
                Meaning::Branch(to) => match find(to).filter(|_| text.contains(&to)) {
                    // A branch back to one's own first instruction is a loop, unless it is a call.
                    Some(own) if own == start && code.half_word(at) >> 11 != 0b11110 => {}
                    Some(callee) => _ = function.calls.insert(callee),
                    None => function.unclear.push(at),
                },
                Meaning::Takes(bytes) => function.frame += bytes,
                Meaning::Indirect | Meaning::WildStack => function.unclear.push(at),
                Meaning::Sleeps => function.sleeps.push(at),
                Meaning::Other => {}
            }
            at += length;
        }
        (start, function)
    };
    starts.iter().zip(ends).map(read).collect()
}

/// The section holds a function's address and its frame in unsigned LEB128, over and over.
fn stack_sizes(file: &object::File) -> BTreeMap<u32, u32> {
    let Some(section) = file.section_by_name(".stack_sizes") else { return BTreeMap::new() };
    let (mut bytes, mut sizes) = (section.data().unwrap(), BTreeMap::new());
    while let Some((address, mut rest)) = bytes.split_first_chunk::<4>() {
        let (mut size, mut shift) = (0, 0);
        loop {
            let (byte, after) = rest.split_first().unwrap();
            rest = after;
            size |= u32::from(byte & 0x7f) << shift;
            shift += 7;
            if byte & 0x80 == 0 {
                break;
            }
        }
        sizes.insert(u32::from_le_bytes(*address) & !1, size);
        bytes = rest;
    }
    sizes
}
