//! A load that is wrong on purpose, to show what a refusal looks like.

use stillframe_controller::programme::load::{Command, Entry, Load};

/// A good load with the mistakes that have lost pictures: an old counter, a camera-off forgotten, speeds for another
/// lens, two lines exchanged, a time before the clock's start, a slit for another light, a slip of the hand that
/// cuts the film early.
pub fn spoil(load: &Load) -> Load {
    let mut wrong = load.clone();
    wrong.counter = 0;
    let ons: Vec<usize> = positions(&wrong, |command| matches!(command, Command::CameraOn { .. }));
    // A slit at the other end of the row.
    if let Some(Entry { command: Command::CameraOn { slit, .. }, .. }) =
        at(&ons, 0).and_then(|k| wrong.entries.get_mut(k))
    {
        *slit = if *slit < 2 { 3 } else { 0 };
    }
    // Speeds of the second pass as for a lens a tenth longer.
    if let (Some(from), Some(to)) = (at(&ons, 1), at(&ons, 2)) {
        let before = at(&ons, 0).unwrap_or(0);
        let first = (before..from)
            .rev()
            .find(|&k| matches!(wrong.entries.get(k), Some(Entry { command: Command::CameraOff, .. })));
        for entry in wrong.entries.iter_mut().take(to).skip(first.unwrap_or(from)) {
            let inside = entry.tick <= load.entries.get(to).map_or(0, |next| next.tick.saturating_sub(600));
            if let (true, Command::Speed(step)) = (inside, &mut entry.command) {
                *step = (u32::from(*step) * 11 / 10) as u16;
            }
        }
    }
    // The clock's start subtracted once too often.
    if let Some(entry) = at(&ons, 3).and_then(|k| wrong.entries.get_mut(k)) {
        entry.tick = entry.tick.wrapping_sub(16_000_000);
    }
    let offs: Vec<usize> = positions(&wrong, |command| matches!(command, Command::CameraOff));
    if let Some(last) = offs.last().copied() {
        wrong.entries.remove(last);
    }
    if let Some(k) = at(&offs, 4).filter(|&k| k + 1 < wrong.entries.len()) {
        let cut = Entry { tick: wrong.entries[k].tick + 500, command: Command::Secure };
        // The store has room for what was taken out.
        let _ = wrong.entries.insert(k + 1, cut);
    }
    if let Some(k) = at(&ons, 2).filter(|&k| k > 0 && k < wrong.entries.len()) {
        wrong.entries.swap(k - 1, k);
    }
    wrong
}

fn positions(load: &Load, wanted: impl Fn(Command) -> bool) -> Vec<usize> {
    load.entries.iter().enumerate().filter(|(_, entry)| wanted(entry.command)).map(|(index, _)| index).collect()
}

fn at(list: &[usize], index: usize) -> Option<usize> {
    list.get(index).copied()
}
