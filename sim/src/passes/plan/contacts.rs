//! When to listen, and when a load can be on board.

use super::uncertainty::Uncertainty;
use crate::passes::{check::contacts::send_s, contacts::Pass};
use stillframe_controller::programme::load::MAX_BYTES;

/// A link is looked for once a second.
const LOOK_S: f64 = 1.0;

/// When the receiver should listen: every contact, earlier and later by what its time may be off, joined where they meet.
pub fn receiver_windows(contacts: &[Pass], uncertainty: &Uncertainty, end_s: f64) -> Vec<[f64; 2]> {
    let mut windows: Vec<[f64; 2]> = Vec::new();
    for Pass { contact, .. } in contacts {
        let from_s = (contact.aos_s - uncertainty.padding_s(contact.aos_s)).max(0.0);
        let to_s = (contact.los_s + uncertainty.padding_s(contact.los_s)).min(end_s);
        match windows.last_mut() {
            Some(last) if from_s <= last[1] => last[1] = last[1].max(to_s),
            _ => windows.push([from_s, to_s]),
        }
    }
    windows
}

/// Time that the longest load takes to be heard, sent and put in force, s.
pub fn longest_send_s() -> f64 {
    send_s(MAX_BYTES) + LOOK_S
}

/// When a load sent in the first contact that is long enough for it is on board at the latest, s.
pub fn loaded_s(contacts: &[Pass], uncertainty: &Uncertainty) -> Option<f64> {
    let long_enough = contacts.iter().find(|pass| pass.contact.duration_s() >= longest_send_s())?;
    let rise_s = long_enough.contact.aos_s;
    Some(rise_s + longest_send_s() + uncertainty.padding_s(rise_s))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::world::track::Contact;

    fn pass(aos_s: f64, los_s: f64) -> Pass {
        let contact = Contact { aos_s, los_s, culmination_s: 0.5 * (aos_s + los_s), highest_elevation_rad: 0.5 };
        Pass { station: 0, contact, azimuth_rad: 0.0 }
    }

    #[test]
    fn windows_are_widened_and_joined() {
        let uncertainty = Uncertainty { sigmas: 2.0, clock_drift: 0.01, ..Uncertainty::default() };
        let windows =
            receiver_windows(&[pass(100.0, 200.0), pass(203.0, 300.0), pass(900.0, 995.0)], &uncertainty, 1e3);
        assert_eq!(windows, [[98.0, 306.0], [882.0, 1000.0]]);
    }

    /// 30 + 8·320 + 2 bytes alone take 10.368 s at 2 kbit/s.
    #[test]
    fn a_short_contact_carries_no_load() {
        assert!((10.368..20.0).contains(&longest_send_s()));
        let loaded = loaded_s(&[pass(100.0, 105.0), pass(900.0, 995.0)], &Uncertainty::default());
        assert_eq!(loaded, Some(900.0 + longest_send_s()));
        assert_eq!(loaded_s(&[pass(100.0, 105.0)], &Uncertainty::default()), None);
    }
}
