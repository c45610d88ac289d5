//! The two banks of jets: one in use, the other behind its shut latch valve.

use super::{
    jet_table::{JetTable, Selection},
    response::Verdict,
    rotation::Vec3,
    settings::JetSettings,
};
use crate::io::BANKS;

/// Which bank is in use, which are lost, and the selection tables of both.
#[derive(Clone, Debug, PartialEq)]
pub struct Banks {
    tables: [JetTable; BANKS],
    active: usize,
    lost: [Option<Verdict>; BANKS],
}

impl Banks {
    /// Starts on the first bank. The tables of both are made now: making one takes ten steps' time.
    pub fn new(jets: &[JetSettings]) -> Self {
        let of = |bank: usize| {
            let inside = jets.iter().enumerate().filter(|(_, jet)| jet.bank as usize == bank);
            inside.fold(0_u16, |mask, (index, _)| mask | 1 << (index & 15))
        };
        Self { tables: core::array::from_fn(|bank| JetTable::build(jets, of(bank))), active: 0, lost: [None; BANKS] }
    }

    /// Gives up the bank in use: its latch valve stays shut from now on, and the other takes over if it is
    /// sound. With both lost nothing can fire.
    ///
    /// Two banks that are weak alike have the same cause, the gas they are fed with: then neither is lost. Tells
    /// whether that is so; the jets' thrust must then be taken for less.
    pub fn give_up(&mut self, why: Verdict) -> bool {
        if why == Verdict::Weak && self.lost.contains(&Some(Verdict::Weak)) {
            self.lost = [None; BANKS];
            return true;
        }
        if let Some(slot) = self.lost.get_mut(self.active) {
            *slot = Some(why);
        }
        self.active = (self.active + 1) % BANKS;
        false
    }

    fn sound(&self) -> bool {
        self.lost.get(self.active).is_some_and(Option::is_none)
    }

    /// The centre of mass has moved by `shift_m` from where the settings have it.
    pub fn reweigh(&mut self, shift_m: Vec3, jets: &[JetSettings]) {
        for table in &mut self.tables {
            table.reweigh(jets, &shift_m);
        }
    }

    /// Whether a sound bank is left.
    pub fn any_left(&self) -> bool {
        self.lost.iter().any(Option::is_none)
    }

    /// Jets for a turn about an axis.
    pub fn select(&self, axis: usize, positive: bool) -> Option<Selection> {
        self.tables.get(self.active).filter(|_| self.sound())?.select(axis, positive)
    }

    /// Latch valve states: only a sound bank in use is open.
    pub fn latches(&self) -> [bool; BANKS] {
        let mut open = [false; BANKS];
        if let Some(latch) = open.get_mut(self.active) {
            *latch = self.sound();
        }
        open
    }

    /// Banks given up, and why: kept through a reset.
    pub fn given_up(&self) -> [Option<Verdict>; BANKS] {
        self.lost
    }

    /// Gives up the same banks again after a reset; the first sound one is in use.
    pub fn give_up_again(&mut self, lost: [Option<Verdict>; BANKS]) {
        self.lost = lost;
        self.active = lost.iter().position(Option::is_none).unwrap_or(0);
    }

    /// Banks given up.
    pub fn lost(&self) -> [bool; BANKS] {
        self.lost.map(|why| why.is_some())
    }
}
