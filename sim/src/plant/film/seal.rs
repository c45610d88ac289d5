//! Cut and seal: what the knife leaves, and the closure of the film's way into the capsule.
//!
//! The knife stands between gate and take-up reel. What is on the reel's side of it, the tail, hangs loose until
//! the reel has wound it in; what is on the gate's side stays there, slack. The closure shuts light and water
//! out. Shut upon a tail it pinches the film and does not seal, and it cannot be opened again.

use super::FilmPlant;
use stillframe_controller::io::FilmDrive;

/// Tail, m, over which the closure still seals: less than it is thick.
const CLEAR_M: f64 = 2e-3;

/// The closure of the film's way into the capsule.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
pub enum Seal {
    /// Open: film may pass.
    #[default]
    Open,
    /// Shut and tight.
    Tight,
    /// Shut upon film: neither tight nor to be opened again.
    Pinched,
}

impl FilmPlant {
    /// Whether `drive` asks for something of knife or closure that has not been done yet.
    pub(super) fn severs(&self, drive: &FilmDrive) -> bool {
        (drive.cut && !self.is_cut()) || (drive.seal && self.seal == Seal::Open)
    }

    /// Knife and closure act once and for all.
    pub(super) fn cut_and_seal(&mut self, drive: &FilmDrive) {
        if drive.cut && !self.is_cut() {
            let loop_ = &mut self.motion.take_up_loop;
            let stub_m = self.film.knife_m.min(loop_.film_m);
            // Film that had parted before has no tail that anyone knows the length of; what is in the loop is it.
            self.motion.tail_m = Some(loop_.film_m - stub_m);
            loop_.film_m = stub_m;
            loop_.broken = true;
        }
        if drive.seal && self.seal == Seal::Open {
            let clear = self.is_cut() && self.tail_m() < CLEAR_M;
            self.seal = if clear { Seal::Tight } else { Seal::Pinched };
        }
        if self.seal == Seal::Pinched {
            // Film in the closure does not move; once it has been cut, it is the tail that is caught.
            self.faults.take_up_stalled = true;
            if !self.is_cut() {
                self.faults.jam = Some(super::Jam::Web);
            }
        }
    }
}
