//! What a load does, in sentences for the two people who sign for it.

use super::{Checked, ledgers::Stores, pictures::Picture, words::hold_word};
use stillframe_controller::programme::load::{Command, Load};

/// The load in sentences, in order of time.
pub fn sentences(load: &Load, checked: &Checked) -> Vec<String> {
    let mut lines = vec![arrival(load, checked)];
    let mut stores = checked.stores.iter();
    let mut pictures: Vec<(f64, String)> = (checked.pictures.iter())
        .map(|picture| (picture.on_s, sentence(picture, stores.find(|stores| stores.entry == picture.entry))))
        .collect();
    for entry in &load.entries {
        let at_s = f64::from(entry.tick) / 100.0;
        match entry.command {
            Command::Hold(hold) => {
                pictures.push((at_s, format!("At {at_s:.0} s the attitude hold becomes {}.", hold_word(hold))))
            }
            Command::Secure => {
                pictures.push((at_s, format!("At {at_s:.0} s film is cut and sealed. This cannot be undone.")));
            }
            _ => {}
        }
    }
    pictures.sort_by(|a, b| a.0.total_cmp(&b.0));
    lines.extend(pictures.into_iter().map(|(_, line)| line));
    lines.push(listening(checked));
    lines
}

fn arrival(load: &Load, checked: &Checked) -> String {
    let by = match checked.delivery.by.as_str() {
        "pad" => "over the test connector on the pad".to_owned(),
        "nowhere" => "by no contact that is predicted".to_owned(),
        station => format!("through {station}, {:.1} s of sending", checked.delivery.sending_s),
    };
    format!(
        "Load {} goes up {by}, takes effect {:.0} s after the start and replaces the load before it whole.",
        load.counter, checked.delivery.arrives_s
    )
}

fn sentence(picture: &Picture, stores: Option<&Stores>) -> String {
    let place =
        picture.area.clone().unwrap_or_else(|| format!("{:.2}° {:.2}°", picture.latitude_deg, picture.longitude_deg));
    let exposed = picture.exposure_ms.map_or(String::new(), |ms| format!(", exposed {ms:.2} ms"));
    let film = stores.map_or(String::new(), |stores| format!(", {:.2} m of film", stores.film_m));
    format!(
        "{place}: camera on at {} for {:.2} s, film at {:.2} to {:.2} mm/s{exposed}, the Sun {:.0}° high{film}.",
        picture.on_utc, picture.for_s, picture.speed_mm_s[0], picture.speed_mm_s[1], picture.sun_deg
    )
}

fn listening(checked: &Checked) -> String {
    let heard = checked.contacts.iter().filter(|contact| contact.heard()).count();
    let least = checked.contacts.iter().map(|contact| contact.margin_s).fold(f64::INFINITY, f64::min);
    if checked.contacts.is_empty() {
        return "No contact is predicted after it takes effect.".to_owned();
    }
    format!(
        "The vehicle listens in {heard} of {} contacts that follow; the least margin is {least:.0} s.",
        checked.contacts.len()
    )
}
