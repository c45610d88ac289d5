//! Contacts and margins against independent figures.

use stillframe::passes::check::{
    contacts::{predict, send_s, uncertain_s},
    receiver::{Listening, Programme as ReceiverProgramme},
    state::{Stage, State},
};
use stillframe_controller::{
    Controller,
    contact::{Contact, Wanted},
    io::Listen,
    programme::load::{Command, Entry, MAX_BYTES},
};

use crate::{changed, checked, checked_from, day, on_pad, ons, refusals};
use stillframe::passes::check::finding::Rule;

/// 15 % of drag in 16 revolutions at 220 km with 169 kg/m² comes to 42 km along the track (hand calculation:
/// decay of the half axis by 2π a² ρ C_dA/m a revolution, the phase's acceleration from it), or 5.4 s at 7.77 km/s.
/// The demonstration flies at 235 km with 169 kg/m² (C_d A of 2.49 m² on 420 kg), where the standard air is thinner by
/// a factor exp(−15/36) = 0.66.
#[test]
fn uncertainty_grows_with_the_square_of_time_as_drag_does() {
    let load = &day().1.load;
    let sixteen_revs_s = 16.0 * 5_334.0;
    let found_s = uncertain_s(load, sixteen_revs_s) - 0.1 * sixteen_revs_s / 86_400.0;
    let wanted_s = 5.4 * 0.66;
    assert!((found_s / wanted_s - 1.0).abs() < 0.35, "{found_s} s against {wanted_s} s");
    let clockless = |t: f64| uncertain_s(load, t) - 0.1 * t / 86_400.0;
    assert!((clockless(2e4) / clockless(1e4) - 4.0).abs() < 1e-9);
}

/// A pass straight overhead at 235 km above a 5° mask lasts at most 2λ·P/360 = 2 · 11.2° · 5,351 s / 360 = 333 s,
/// λ = acos(R cos 5°/r) − 5° with R = 6,371 km; the Earth's turning adds a few per cent at most.
#[test]
fn contacts_are_no_longer_than_geometry_allows_and_all_are_told() {
    let (loaded, built) = day();
    let found = checked(&built.load);
    let lambda_deg = (6_371.0 * 5.0_f64.to_radians().cos() / 6_613.0).acos().to_degrees() - 5.0;
    let most_s = 2.0 * lambda_deg * 5_351.0 / 360.0 * 1.06;
    let lengths: Vec<f64> = found.contacts.iter().map(|contact| contact.los_s - contact.aos_s).collect();
    assert!(lengths.iter().all(|s| *s > 0.0 && *s < most_s), "{lengths:?} against {most_s}");
    // Fine steps through the day, station by station, by nothing but the angle above the horizon.
    let mut seen = 0;
    for station in &loaded.scenario.stations {
        let up = |t: f64| {
            let r = built.prediction.earth.to_fixed(t, &built.prediction.path.position(t));
            let (lat, lon) = (station.latitude_rad, station.longitude_rad);
            let up = nalgebra::Vector3::new(lat.cos() * lon.cos(), lat.cos() * lon.sin(), lat.sin());
            // WGS-84: N = a/√(1 − e² sin² φ).
            let (a, e2) = (6_378_137.0, 6.694_379_990_14e-3);
            let n = a / (1.0_f64 - e2 * lat.sin() * lat.sin()).sqrt();
            let h = station.height_m;
            let at = nalgebra::Vector3::new(
                (n + h) * lat.cos() * lon.cos(),
                (n + h) * lat.cos() * lon.sin(),
                (n * (1.0 - e2) + h) * lat.sin(),
            );
            let line = r - at;
            (line.dot(&up) / line.norm()).asin() > station.mask_rad
        };
        let mut was = false;
        for k in 0..97_200 {
            let now = f64::from(k) >= station.from_s && up(f64::from(k));
            seen += usize::from(now && !was);
            was = now;
        }
    }
    assert_eq!(found.contacts.len(), seen);
    assert!(found.contacts.iter().all(|contact| contact.heard()));
}

/// The longest load is 2,592 bytes: 10.4 s at 2 kbit/s.
#[test]
fn sending_takes_as_long_as_the_bits_do() {
    let bits = MAX_BYTES as f64 * 8.0;
    let found = send_s(MAX_BYTES);
    // Three seconds for the answer and the commit.
    assert!(found >= bits / 2_000.0 + 3.0 && found < bits / 2_000.0 + 3.2, "{found}");
}

/// The flight code's own contact logic, second by second, against the stretches foretold for the same load.
#[test]
fn the_receiver_listens_when_the_flight_code_says_so() {
    let load = changed(|load| {
        let commands = [
            (100_000, Command::Receiver(false)),
            (700_000, Command::Receiver(true)),
            (800_000, Command::Receiver(false)),
            (900_000, Command::OpenAfter(60)),
            (1_500_000, Command::OpenAfter(400)),
            (4_000_000, Command::Receiver(true)),
        ];
        load.entries = commands.into_iter().map(|(tick, command)| Entry { tick, command }).collect();
    });
    let settings = &day().1.settings;
    let foretold = ReceiverProgramme::of(&load, &settings.contact, 86_400.0).silent_from(50.0);
    let mut controller = Controller::new(settings.clone()).expect("sound");
    let mut contact = Contact::default();
    contact.heard();
    controller.load(&load.encode(), 0).expect("accepted");
    let mut wanted = Wanted {
        on: true,
        open_after_s: settings.contact.open_after_min * 60,
        safe_after_s: settings.contact.safe_after_min * 60,
    };
    let mut differing = 0;
    for second in 51..86_000_u32 {
        for entry in load.entries.iter().filter(|entry| entry.tick == second * 100) {
            match entry.command {
                Command::Receiver(on) => wanted.on = on,
                Command::OpenAfter(minutes) => wanted.open_after_s = u32::from(minutes) * 60,
                _ => {}
            }
        }
        contact.second(wanted);
        let at_s = f64::from(second) + 0.5;
        let open = foretold.overlap_s(at_s, at_s + 1e-3) > 0.0;
        differing += u32::from(open != (contact.listen() != Listen::Off));
    }
    // A second either way at each of the edges.
    assert!(differing <= 8, "{differing} seconds differ; {:?}", foretold.open);
    assert!(foretold.open.len() >= 4, "{:?}", foretold.open);
}

/// A receiver off over every contact left of the day, with a silence timer too long to help: refused, with the
/// seconds missing at each.
#[test]
fn a_vehicle_that_would_be_deaf_at_every_contact_is_refused_with_each_margin() {
    let own = checked(&day().1.load);
    let last = own.contacts.len() - 3;
    let from_s = own.contacts[last].aos_s - 2_400.0;
    let end_s = own.contacts.last().expect("contacts").los_s + 60.0;
    let deaf = changed(|load| {
        load.counter = 2;
        let tick = |s: f64| (s * 100.0) as u32;
        load.entries.clear();
        for (at_s, command) in [
            (from_s + 100.0, Command::OpenAfter(720)),
            (from_s + 100.0, Command::Receiver(false)),
            (end_s.min(86_399.0), Command::Receiver(true)),
        ] {
            load.entries.push(Entry { tick: tick(at_s), command }).expect("room");
        }
    });
    let state = State { now_tick: (from_s * 100.0) as u32, ..on_pad() };
    let found = checked_from(&deaf, &state);
    assert_eq!(found.contacts.len(), 3);
    assert!(
        found.contacts.iter().all(|contact| contact.margin_s < 0.0 && contact.open_s == 0.0),
        "{:#?}",
        found.contacts
    );
    let named = refusals(&found, Rule::Contact);
    assert!(named.iter().any(|f| f.reason.contains("deaf at every one of 3")), "{:#?}", found.findings);
    // With the receiver on again over one of them, it is only a caution.
    let opened = changed(|load| {
        load.entries = deaf.entries.clone();
        load.counter = 2;
        load.entries[2].tick = ((own.contacts[last + 1].los_s + 60.0) * 100.0) as u32;
        load.entries[2].tick = load.entries[2].tick.min(((own.contacts[last + 1].aos_s - 60.0) * 100.0) as u32);
    });
    let found = checked_from(&opened, &state);
    assert!(found.good(), "{:#?}", found.findings);
    assert!(!found.contacts[0].heard() && found.contacts[1].heard());
}

#[test]
fn receiver_and_timers_out_of_bounds_are_refused() {
    let with = |commands: &[(u32, Command)]| {
        checked(&changed(|load| {
            load.entries = commands.iter().map(|&(tick, command)| Entry { tick, command }).collect();
        }))
    };
    for (commands, entry, words) in [
        (vec![(1_000, Command::OpenAfter(20))], 1, "allows 30 to 720 min"),
        (vec![(1_000, Command::SafeAfter(3_000))], 1, "allows 60 to 2880 min"),
        (vec![(1_000, Command::Receiver(false))], 1, "left off"),
        (
            vec![
                (1_000, Command::Receiver(false)),
                (2_000, Command::Receiver(false)),
                (3_000, Command::Receiver(true)),
            ],
            2,
            "off already",
        ),
        (vec![(1_000, Command::Receiver(false)), (4_400_000, Command::Receiver(true))], 1, "stays off for 43990.00 s"),
    ] {
        let found = with(&commands);
        let named = refusals(&found, Rule::Contact);
        assert!(
            named.iter().any(|f| f.entry == Some(entry) && f.reason.contains(words)),
            "{words}: {:#?}",
            found.findings
        );
        assert!(!found.on_board.accepted, "{words}");
    }
}

#[test]
fn stretches_join_and_overlap_as_on_paper() {
    let listening = Listening::from_spans(vec![[50.0, 60.0], [0.0, 10.0], [5.0, 20.0], [30.0, 30.0]]);
    assert_eq!(listening.open, [[0.0, 20.0], [50.0, 60.0]]);
    assert_eq!(listening.overlap_s(15.0, 55.0), 10.0);
    assert_eq!(listening.nearest(21.0, 22.0), Some([0.0, 20.0]));
    assert_eq!(listening.nearest(55.0, 70.0), Some([50.0, 60.0]));
}

/// In flight a load waits for a contact; what is due before it is there is past, on the ground as on board.
#[test]
fn in_flight_a_load_takes_effect_in_the_first_contact_and_not_before() {
    let (loaded, built) = day();
    let first = predict(&loaded.scenario, &built.prediction, 0.0, 86_400.0).remove(0);
    let flying = State { stage: Stage::Flying, now_tick: 100, ..on_pad() };
    let on = ons(&built.load)[0];
    let soon = changed(|load| {
        load.counter = 2;
        load.entries[0].tick = ((first.span_s[0] + 1.0) * 100.0) as u32;
    });
    let found = checked_from(&soon, &flying);
    assert_eq!(found.delivery.by, first.station);
    assert!((found.delivery.arrives_s - first.span_s[0] - send_s(soon.encode().len())).abs() < 1e-6);
    assert!(refusals(&found, Rule::Time).iter().any(|f| f.entry == Some(1)), "{:#?}", found.findings);
    assert!(!found.on_board.accepted);
    // And without that one it passes.
    let without = changed(|load| {
        load.counter = 2;
        load.entries.remove(0);
        assert!(on > 0);
    });
    let _ = checked_from(&without, &flying);
    // After the last contact of the run there is no way up.
    let late = State { stage: Stage::Flying, now_tick: 9_719_000, ..on_pad() };
    assert!(!refusals(&checked_from(&built.load, &late), Rule::Contact).is_empty());
}
