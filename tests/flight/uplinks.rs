//! What the ground sends: loads in two telecommands, loads with mistakes, telecommands that come twice.

use stillframe::{
    flight::outgoing::{Make, rest_of},
    scenario::parts::uplink::Mistake,
};
use stillframe_controller::{
    attitude::{mode::Hold, orbit::Ephemeris},
    programme::{
        check::Against,
        load::{Command, Entry, Load, LoadError},
    },
};

use crate::{
    link_faults::{next_load, opened_s, over_a_station},
    rig::{Rig, camera},
};

fn notes(rig: &Rig, of: &str) -> Vec<String> {
    rig.flight.link.ground.notes.iter().filter(|note| note.contains(of)).cloned().collect()
}

#[test]
fn every_load_with_a_mistake_is_refused_on_board_and_changes_nothing() {
    let mistakes = [
        ("camera_left_on", "LeftOn"),
        ("time_past", "Past(0)"),
        ("time_rolled_over", "Far("),
        ("camera_twice", "Camera("),
        ("film_beyond_reserve", "Film("),
        ("receiver_left_off", "Receiver("),
        ("silence_too_long", "Timer("),
        ("camera_after_cut", "Phase("),
    ];
    let tail: String = mistakes
        .iter()
        .map(|(name, _)| format!("[[uplink]]\nsend = \"wrong_load\"\nat_h = 0.0\nmistake = \"{name}\"\n"))
        .collect();
    let mut rig = over_a_station(&tail);
    rig.run(1.0);
    let before = rig.flight.controller.against(0);
    rig.run(110.0);
    let told = notes(&rig, "refused on board");
    assert_eq!(told.len(), mistakes.len(), "{:?}", rig.flight.link.ground.notes);
    for ((name, why), note) in mistakes.iter().zip(&told) {
        assert!(note.contains(why), "{name}: {note}");
    }
    let uplink = rig.telemetry().uplink;
    assert_eq!((uplink.in_force.map(|name| name.counter), uplink.waiting), (Some(1), None));
    assert_eq!(rig.flight.controller.against(0), before, "camera, hold and film are as they were");
    assert!(rig.flight.link.contact().is_some(), "the contact was long enough for all of them");
}

/// The rest of the programme as a new load, beside the wrong ones: a sound one does come into force.
#[test]
fn a_load_from_the_scenario_comes_into_force_by_its_commit() {
    let tail = camera(0.45, 5.0) + "[[uplink]]\nsend = \"programme\"\nat_h = 0.003\n";
    let mut rig = over_a_station(&tail);
    rig.run(10.0);
    assert_eq!(rig.telemetry().load_counter, 1);
    rig.run(60.0);
    assert_eq!(rig.telemetry().load_counter, 2, "{:?}", rig.flight.link.ground.notes);
    assert_eq!((notes(&rig, "read back").len(), notes(&rig, "seen in force").len()), (1, 1));
}

#[test]
fn telecommands_that_come_twice_or_out_of_order_do_nothing_more() {
    let flown = |faults: &str| {
        let mut rig = over_a_station(&(camera(0.45, 5.0) + faults));
        let load = next_load(&rig);
        rig.flight.link.send(&load);
        let opened = opened_s(&mut rig, 300.0);
        (rig.telemetry().load_counter, opened, rig.flight.output_digest(), *rig.telemetry())
    };
    let kind = |kind: &str| format!("[[fault]]\nkind = \"{kind}\"\nat_h = 0.0\n");
    let (counter, opened, digest, clean) = flown("");
    assert_eq!((counter, opened, clean.loads_refused), (2, None, 0));
    for faults in
        [kind("uplink_repeated"), kind("uplink_out_of_order"), kind("uplink_repeated") + &kind("uplink_out_of_order")]
    {
        let (counter, opened, again, told) = flown(&faults);
        assert_eq!((counter, opened, again), (2, None, digest), "{faults}");
        assert!(told.loads_refused >= 2 && told.last_refusal == Some(LoadError::Sequence), "{faults}: {told:?}");
        assert_eq!(told.uplink.telecommands, clean.uplink.telecommands, "{faults}");
    }
}

fn programme() -> Load {
    let on = Command::CameraOn { slit: 1, interval_ticks: 0 };
    let commands = [
        (10_000, Command::Hold(Hold::Coarse)),
        (20_000, Command::Hold(Hold::Fine)),
        (30_000, Command::Speed(300)),
        (30_500, on),
        (31_000, Command::Speed(301)),
        (33_500, Command::CameraOff),
        (40_000, Command::Speed(310)),
        (40_500, on),
        (43_500, Command::CameraOff),
    ];
    let ephemeris = Ephemeris {
        epoch_tick: 0,
        phase: 0,
        phase_per_tick: 527_000_000,
        half_acceleration_rad_s2: 0.0,
        inclination_rad: 1.4,
        radius_ratio2: 0.93,
    };
    Load {
        counter: 1,
        ephemeris,
        entries: commands.map(|(tick, command)| Entry { tick, command }).into_iter().collect(),
    }
}

#[test]
fn the_rest_of_a_programme_begins_between_bursts_and_would_be_taken_at_any_time() {
    assert_eq!(rest_of(&programme(), 0).entries.len(), 9);
    let coarse = rest_of(&programme(), 9_000);
    assert_eq!(coarse.entries[0], Entry { tick: 15_000, command: Command::Hold(Hold::Coarse) });
    assert_eq!(coarse.entries.len(), 9);
    // In the middle of the first burst only the second is left, with the speed that the first ended with.
    let second = rest_of(&programme(), 30_700 - 6_000);
    let ticks: Vec<u32> = second.entries.iter().map(|entry| entry.tick).collect();
    assert_eq!((second.entries[0].command, ticks), (Command::Speed(301), vec![30_700, 40_000, 40_500, 43_500]));
    for now in (0..45_000).step_by(100) {
        let rest = rest_of(&programme(), now);
        assert_eq!(rest.check(&Against::alone(now)), Ok(()), "{now}: {rest:?}");
    }
    assert!(rest_of(&programme(), 41_000).entries.is_empty());
}

#[test]
fn every_mistake_is_one() {
    let make = |mistake| Make { programme: programme(), mistake, longest_ticks: 60_000, most_speed: 1_500 };
    let mut against = Against { most_speed: 1_500, ..Against::alone(8_000) };
    against.film.left_m = 885.0;
    assert_eq!(make(None).load(2, 8_000).check(&against), Ok(()));
    let refused = |mistake| make(Some(mistake)).load(2, 8_000).check(&against).unwrap_err();
    assert_eq!(refused(Mistake::CameraLeftOn), LoadError::LeftOn);
    assert_eq!(refused(Mistake::TimePast), LoadError::Past(0));
    assert_eq!(refused(Mistake::TimeRolledOver), LoadError::Far(9));
    assert_eq!(refused(Mistake::CameraTwice), LoadError::Camera(11));
    // 600 s at 0.15 m/s are 90 m: the tenth is too much.
    assert_eq!(refused(Mistake::FilmBeyondReserve), LoadError::Film(19));
    assert_eq!(refused(Mistake::ReceiverLeftOff), LoadError::Receiver(9));
    assert_eq!(refused(Mistake::SilenceTooLong), LoadError::Timer(9));
    assert_eq!(refused(Mistake::CameraAfterCut), LoadError::Phase(11));
}
