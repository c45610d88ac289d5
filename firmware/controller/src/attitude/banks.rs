//! The two banks of jets: one in use, the other behind its shut latch valve.

use super::{
    jet_table::{JetTable, Selection},
    response::Verdict,
    rotation::Vec3,
    settings::JetSettings,
};
use crate::io::BANKS;

/// Which bank is in use, which are lost, and the selection table of the one in use.
#[derive(Clone, Debug, PartialEq)]
pub struct Banks {
    table: JetTable,
    active: usize,
    lost: [Option<Verdict>; BANKS],
    shift_m: Vec3,
}

impl Banks {
    /// Starts on the first bank.
    pub fn new(jets: &[JetSettings]) -> Self {
        let mut banks = Self { table: JetTable::default(), active: 0, lost: [None; BANKS], shift_m: Vec3::zeros() };
        banks.rebuild(jets);
        banks
    }

    /// Gives up the bank in use: its latch valve stays shut from now on, and the other takes over if it is
    /// sound. With both lost nothing can fire.
    ///
    /// Two banks that are weak alike have the same cause, the gas they are fed with: then neither is lost. Tells
    /// whether that is so; the jets' thrust must then be taken for less.
    pub fn give_up(&mut self, why: Verdict, jets: &[JetSettings]) -> bool {
        if why == Verdict::Weak && self.lost.contains(&Some(Verdict::Weak)) {
            self.lost = [None; BANKS];
            return true;
        }
        if let Some(slot) = self.lost.get_mut(self.active) {
            *slot = Some(why);
        }
        self.active = (self.active + 1) % BANKS;
        self.rebuild(jets);
        false
    }

    fn rebuild(&mut self, jets: &[JetSettings]) {
        let mut usable = 0_u16;
        for (index, jet) in jets.iter().enumerate() {
            if jet.bank as usize == self.active {
                usable |= 1 << (index & 15);
            }
        }
        let sound = self.lost.get(self.active).is_some_and(Option::is_none);
        self.table = JetTable::build(jets, if sound { usable } else { 0 });
        self.table.reweigh(jets, &self.shift_m);
    }

    /// The centre of mass has moved by `shift_m` from where the settings have it.
    pub fn reweigh(&mut self, shift_m: Vec3, jets: &[JetSettings]) {
        self.shift_m = shift_m;
        self.table.reweigh(jets, &shift_m);
    }

    /// Whether a sound bank is left.
    pub fn any_left(&self) -> bool {
        self.lost.iter().any(Option::is_none)
    }

    /// Jets for a turn about an axis.
    pub fn select(&self, axis: usize, positive: bool) -> Option<Selection> {
        self.table.select(axis, positive)
    }

    /// Latch valve states: only a sound bank in use is open.
    pub fn latches(&self) -> [bool; BANKS] {
        let mut open = [false; BANKS];
        let sound = self.lost.get(self.active).is_some_and(Option::is_none);
        if let Some(latch) = open.get_mut(self.active) {
            *latch = sound;
        }
        open
    }

    /// Banks given up.
    pub fn lost(&self) -> [bool; BANKS] {
        self.lost.map(|why| why.is_some())
    }
}
